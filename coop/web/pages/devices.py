"""Phones and tablets: who writes on each, what it holds, switching one off."""

from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, abort, flash, redirect, request
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.see_devices import DeviceLook
from coop.actions.write import Outcome, Written
from coop.ids import MemberId
from coop.ledger.states import DeviceState
from coop.people.may import may
from coop.store import devices as shelf
from coop.store.devices import Device
from coop.web import phones
from coop.web import words as say
from coop.web.fields import NEEDED
from coop.web.forms import EntryForm, options, written
from coop.web.i18n import N_
from coop.web.page import face, known, needs, new_id, show, who, words, writing
from coop.web.phones import PhoneRow, Phones

REVOKED, REMOVED = "device.revoked", "device.member_removed"
OFF_SHOWN = 50
UNFIT = 422

pages = Blueprint("devices", __name__)


class RevokeForm(EntryForm):
    kind: ClassVar[str] = REVOKED

    reason = RadioField(N_("Why"), [NEEDED], validate_choice=False)

    def offer(self) -> None:
        """Fill the list in the member's language."""
        self.reason.choices = options(say.choices(words(), "revoke_reason"))


class RemoveForm(EntryForm):
    kind: ClassVar[str] = REMOVED


@dataclass(frozen=True, slots=True, kw_only=True)
class DevicesPage:
    """Phones and tablets in use, and those switched off; `off_more` are not shown."""

    on: tuple[PhoneRow, ...]
    off: tuple[PhoneRow, ...]
    off_more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """Somebody who writes on a shared tablet; `entry` is empty for who may not remove them."""

    name: str
    member: str
    entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DevicePage:
    """One phone or tablet; `form` is None for who may not switch it off."""

    id: str
    row: PhoneRow
    facts: tuple[tuple[str, str], ...]
    hands: tuple[Hand, ...]
    form: RevokeForm | None


@pages.get("/devices")
@needs("see-people")
def devices() -> Response:
    seen = phones.see_phones()
    on = [one for one in seen.looks if one.state.revoked_at is None]
    off = [one for one in reversed(seen.looks) if one.state.revoked_at is not None]
    page = DevicesPage(
        on=seen.told(on),
        off=seen.told(off[:OFF_SHOWN]),
        off_more=max(0, len(off) - OFF_SHOWN),
    )
    return show("devices.html", page=page, nav="people")


@pages.get("/devices/<device>")
@needs("see-people")
def device(device: str) -> Response:
    return _device(known("device", device), None)


def _device(state: DeviceState, form: RevokeForm | None) -> Response:
    seen = phones.see_phones()
    look = next(one for one in seen.looks if one.state.id == state.id)
    (row,) = seen.told([look])
    if form is None and state.revoked_at is None and _may_end(state):
        form = RevokeForm(formdata=None)
        form.offer()
    page = DevicePage(
        id=state.id,
        row=row,
        facts=_facts(look, seen),
        hands=_hands(state) if state.shared and state.revoked_at is None else (),
        form=form,
    )
    return show("device.html", page=page, nav="people", status=UNFIT if _is_sent() else 200)


def _is_sent() -> bool:
    return request.method == "POST"


def _may_end(state: DeviceState) -> bool:
    return may(who().roles, REVOKED, own=state.enrolled_by == who().member)


def _facts(look: DeviceLook, seen: Phones) -> tuple[tuple[str, str], ...]:
    """Return what is known of a device; what it says of itself only once it was heard."""
    state, gettext = look.state, words().gettext
    row = seen.rows.get(state.id)
    set_up = say.day_by(words(), state.enrolled_at, face(state.enrolled_by).name)
    first = (
        (gettext("Whose"), phones.whose(look)),
        (gettext("Set up"), set_up),
        (gettext("Switched off"), phones.off(look)),
        (gettext("Heard"), phones.heard(row)),
    )
    return first + _said(look, row) if row and row.heard_at else first


def _said(look: DeviceLook, row: Device) -> tuple[tuple[str, str], ...]:
    gettext = words().gettext
    return (
        (gettext("Still on it"), phones.holds(look) or gettext("nothing waits")),
        (gettext("Kept on it"), _kept(row)),
        (gettext("Never arrived"), phones.missing(look.missing)),
        (gettext("One number twice"), phones.twice(look.twice)),
        (gettext("Without a signal"), _offline(row)),
        (gettext("Its clock"), phones.clock(row)),
        (gettext("Its page"), phones.release(row)),
        (gettext("Browser"), row.agent),
    )


def _kept(row: Device) -> str:
    if not row.kept_count:
        return ""
    return words().ngettext(
        "%(num)d line that the studio has, until it is in two places",
        "%(num)d lines that the studio has, until they are in two places",
        row.kept_count,
    )


def _offline(row: Device) -> str:
    if not row.offline:
        return words().gettext("does not open without a signal yet")
    if row.stored:
        return words().gettext("opens; its browser keeps what waits")
    return words().gettext("opens; its browser did not promise to keep what waits")


def _hands(state: DeviceState) -> tuple[Hand, ...]:
    own = state.enrolled_by == who().member
    return tuple(
        Hand(
            name=face(one).name,
            member=one,
            entry=new_id() if may(who().roles, REMOVED, own=own or one == who().member) else "",
        )
        for one in state.members
    )


@pages.post("/devices/<device>/revoke")
@needs(REVOKED)
def revoke(device: str) -> Response:
    """Write that nothing is taken from a device any more, and close its door at once."""
    state: DeviceState = known("device", device)
    if not _may_end(state):
        abort(403)
    if state.revoked_at is not None:
        flash(words().gettext("It is switched off already."), "written")
        return _back(device)
    form = RevokeForm()
    form.offer()
    if form.validate_on_submit():
        with writing() as unit:
            outcome = form.record(unit, device=state.id)
            if isinstance(outcome, Written):
                shelf.end(unit.connection, state.id)
        if written(outcome, words().gettext("Switched off: nothing is taken from it now.")):
            return _back(device)
    return _device(state, form)


def _back(device: str) -> Response:
    return redirect(f"/devices/{device}", 303)


@pages.post("/devices/<device>/remove")
@needs(REMOVED)
def remove(device: str) -> Response:
    """Take somebody off a shared tablet; their digits are forgotten at once."""
    state: DeviceState = known("device", device)
    member = MemberId(request.form.get("member", ""))
    if member not in state.members:
        flash(words().gettext("They do not write on it."), "warning")
        return _back(device)
    form = RemoveForm()
    outcome: Outcome | None = None
    if form.validate_on_submit():
        with writing() as unit:
            outcome = form.record(unit, device=state.id, member=member)
            if isinstance(outcome, Written):
                shelf.unset_pin(unit.connection, device_id=state.id, member=member)
    if outcome is None or not written(outcome, words().gettext("Taken off this tablet.")):
        flash(words().gettext("That may be done by themselves or a coordinator."), "warning")
    return _back(device)
