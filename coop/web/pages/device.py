"""A phone or shared tablet that writes without a signal: set up, told apart, taken off."""

import re
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, abort, flash, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField, StringField, ValidationError

from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.states import DeviceState
from coop.people.may import may
from coop.store import devices
from coop.store.desk import Desk
from coop.store.devices import PIN_DIGITS, Device
from coop.store.tokens import new_token
from coop.web.devices import (
    forget_cookies,
    may_work_offline,
    needed_device,
    set_cookie,
    set_phone_cookie,
    this_device,
)
from coop.web.fields import NEEDED
from coop.web.forms import EntryForm, looked_up, written
from coop.web.i18n import N_
from coop.web.page import (
    desk,
    face,
    needs,
    now,
    salt,
    shell,
    show,
    site,
    who,
    words,
    writing,
)
from coop.web.sessions import agent_label

UNFIT = 422
NOT_HERE = 409
HERE = "/device/enrol"
GUESSED_FIRST = frozenset({"1234"})
_DIGITS = re.compile(rf"[0-9]{{{PIN_DIGITS}}}")

pages = Blueprint("device", __name__)


class EnrolForm(EntryForm):
    kind: ClassVar[str] = "device.enrolled"

    shared = RadioField(
        N_("Whose is it?"),
        [NEEDED],
        choices=looked_up(
            [
                ("no", N_("mine: only I write on it")),
                ("yes", N_("the studio's: several of us write on it")),
            ]
        ),
        validate_choice=False,
    )
    name = StringField(N_("What it is called"), [NEEDED], description=N_("Members see it."))


class DigitsForm(EntryForm):
    kind: ClassVar[str] = "device.member_added"
    beside: ClassVar[frozenset[str]] = frozenset({"digits"})

    digits = StringField(
        N_("Your four digits"),
        [NEEDED],
        description=N_("No password of yours. They keep members from mixing each other up."),
    )

    def validate_digits(self, field: StringField) -> None:
        typed = str(field.data or "").strip()
        if not _DIGITS.fullmatch(typed):
            raise ValidationError(N_("Four digits, please: 0 to 9."))
        if typed in GUESSED_FIRST or len(set(typed)) == 1:
            raise ValidationError(N_("Everybody tries these first. Take others, please."))


class LeaveForm(EntryForm):
    kind: ClassVar[str] = "device.member_removed"


class OffForm(EntryForm):
    kind: ClassVar[str] = "device.revoked"


@dataclass(frozen=True, slots=True, kw_only=True)
class EnrolPage:
    """`form` is None where pages come in the clear; `known_before`: it was set up once."""

    form: EnrolForm | None
    known_before: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HerePage:
    """
    The phone or tablet that the page is seen on.

    Attributes:
        hands: Name and initials of who writes on it, and whether they have set digits.
        on_it: Whether who asks writes on it.
        off: The form that takes it off, None for who may not.
    """

    device: str
    ledger: str
    last_seq: int
    name: str
    since: str
    by: str
    shared: bool
    hands: tuple[tuple[str, str, bool], ...]
    on_it: bool
    off: OffForm | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DigitsPage:
    """`form` is None in a browser that is not the studio's tablet."""

    form: DigitsForm | None
    leave: LeaveForm
    name: str
    own_phone: bool
    on_it: bool
    has_digits: bool


# --- setting up -------------------------------------------------------------------------


@pages.route(HERE, methods=["GET", "POST"])
@needs("device.enrolled")
def enrol() -> Response:
    """Make this browser a phone or tablet of the ledger; who is one sees which."""
    found = this_device()
    if found is not None:
        return _here(*found)
    if not may_work_offline():
        page = EnrolPage(form=None, known_before=False)
        return show("enrol.html", page=page, status=NOT_HERE if _is_sent() else 200)
    form = EnrolForm()
    if form.validate_on_submit():
        answer = _enrolled(form)
        if answer is not None:
            return answer
    elif not _is_sent():
        form.shared.data = "no"
        first = face(who().member).name.split()[0]
        form.name.data = words().gettext("%(name)s's phone", name=first)
    page = EnrolPage(form=form, known_before=bool(shell().phone))
    return show("enrol.html", page=page, status=UNFIT if _is_sent() else 200)


def _is_sent() -> bool:
    return request.method == "POST"


def _enrolled(form: EnrolForm) -> Response | None:
    """Write it down, open the door, hand the browser its secret; None for a slip."""
    token = new_token()
    with writing() as unit:
        outcome = form.record(unit)
        if isinstance(outcome, Written):
            devices.enrol(
                unit.connection,
                device_id=Subject(outcome.sealed.entry.id),
                token=token,
                agent=agent_label(),
                now=now(),
            )
    if not isinstance(outcome, Written):
        return None
    flash(words().gettext("Set up. Look below whether all is there."), "written")
    response: Response = redirect(HERE, 303)
    set_cookie(response, token)
    set_phone_cookie(response, outcome.sealed.entry.id)
    return response


def _here(row: Device, state: DeviceState, off: OffForm | None = None) -> Response:
    own = state.enrolled_by == who().member
    digits = devices.pins(desk().connection, row.id) if state.shared else {}
    seen = [(face(one), one in digits) for one in state.members]
    page = HerePage(
        device=row.id,
        ledger=site().store.ledger,
        last_seq=row.last_seq,
        name=state.name,
        since=words().day(state.enrolled_at),
        by=face(state.enrolled_by).name,
        shared=state.shared,
        hands=tuple((one.name, one.initials, has) for one, has in seen),
        on_it=who().member in state.members,
        off=(off or OffForm(None)) if may(who().roles, OffForm.kind, own=own) else None,
    )
    return show("here.html", page=page, status=UNFIT if off else 200)


# --- the tablet of several --------------------------------------------------------------


@pages.route("/device/digits", methods=["GET", "POST"])
@needs("device.member_added")
def digits() -> Response:
    """Set the four digits by which a shared tablet tells one member from another."""
    found = this_device()
    form = DigitsForm()
    if found is None or not found[1].shared:
        page = _digits_page(None, own_phone=found is not None)
        return show("digits.html", page=page, status=NOT_HERE if _is_sent() else 200)
    row, state = found
    if form.validate_on_submit():
        with writing() as unit:
            joined = _joined(unit, form, row)
        if joined:
            told = words().gettext("Set. Tap your initials on the tablet, then these digits.")
            flash(told, "written")
            return redirect(HERE, 303)
    page = _digits_page(form, row, state)
    return show("digits.html", page=page, status=UNFIT if _is_sent() else 200)


def _joined(unit: Desk, form: DigitsForm, row: Device) -> bool:
    """Add who asks if need be, and keep the check of the digits; False for a refusal."""
    state: DeviceState = unit.journal.state("device", row.id)
    if who().member not in state.members:
        outcome = form.record(unit, device=row.id, member=who().member)
        if not isinstance(outcome, Written):
            return False
    devices.set_pin(
        unit.connection,
        device_id=row.id,
        member=who().member,
        digits=str(form.digits.data).strip(),
        salt=salt(),
        now=now(),
    )
    return True


def _digits_page(
    form: DigitsForm | None,
    row: Device | None = None,
    state: DeviceState | None = None,
    *,
    own_phone: bool = False,
) -> DigitsPage:
    me = who().member
    return DigitsPage(
        form=form,
        leave=LeaveForm(None),
        name=state.name if state else "",
        own_phone=own_phone,
        on_it=state is not None and me in state.members,
        has_digits=row is not None and me in devices.pins(desk().connection, row.id),
    )


@pages.post("/device/leave")
@needs("device.member_removed")
def leave() -> Response:
    """Write on the shared tablet no more."""
    row, state = needed_device()
    form = LeaveForm()
    if who().member not in state.members or not form.validate_on_submit():
        return redirect(HERE, 303)
    with writing() as unit:
        outcome = form.record(unit, device=row.id, member=who().member)
        if isinstance(outcome, Written):
            devices.unset_pin(unit.connection, device_id=row.id, member=who().member)
    told = words().gettext("You are off this tablet. What you wrote stays.")
    if written(outcome, told):
        return redirect(HERE, 303)
    page = _digits_page(None, row, state)
    return show("digits.html", page=page, status=UNFIT)


# --- taking it off ----------------------------------------------------------------------


@pages.post("/device/off")
@needs("device.revoked")
def off() -> Response:
    """Take nothing from this phone or tablet any more; its own page asks what still waits."""
    row, state = needed_device()
    if not may(who().roles, OffForm.kind, own=state.enrolled_by == who().member):
        abort(403)
    form = OffForm()
    if not form.validate_on_submit():
        return _here(row, state, form)
    with writing() as unit:
        outcome = form.record(unit, device=row.id, reason="other")
        if isinstance(outcome, Written):
            devices.end(unit.connection, row.id)
    told = words().gettext("Taken off: this is a browser like any other again.")
    if not written(outcome, told):
        return _here(row, state, form)
    response: Response = redirect(HERE, 303)
    forget_cookies(response)
    return response
