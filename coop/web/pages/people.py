"""People: who is in, in which roles; inviting, roles, leaving, erasing a card."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, abort, flash, g, redirect, url_for
from flask_wtf import FlaskForm
from werkzeug.wrappers import Response
from wtforms import RadioField

from coop.actions.people import erased, roster, switch_off_phones
from coop.actions.write import Outcome, Written
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.schema import Refused
from coop.ledger.states import MemberState
from coop.people.may import may
from coop.store import devices, feeds, invites, mail, measures, members, sessions
from coop.store.desk import Desk
from coop.store.tokens import new_token
from coop.web import words as say
from coop.web.fields import ManyField
from coop.web.forms import EntryForm, options, written
from coop.web.i18n import N_
from coop.web.page import (
    desk,
    face,
    known,
    needs,
    new_id,
    now,
    show,
    who,
    words,
    writing,
)
from coop.web.phones import PhoneRow, see_phones
from coop.web.security_log import note

PHONES_SHOWN = 4

pages = Blueprint("people", __name__)

ERASE_REASONS = {
    "asked_by_the_person": N_("the person asked for it"),
    "mistake": N_("it was a mistake"),
    "other": N_("something else"),
}


class RolesForm(EntryForm):
    kind: ClassVar[str] = "member.role_set"

    roles = ManyField(N_("Roles"), validate_choice=False)

    def offer(self) -> None:
        """Fill the list in the member's language."""
        self.roles.choices = options(say.choices(words(), "role"))

    def is_fit(self) -> bool:
        """Say whether at least one role is ticked; if not, it says so itself."""
        if not self.validate_on_submit():
            return False
        if not self.roles.data:
            self.take(Refused(field="roles", code="missing"))
        return self.refused is None


class InviteForm(RolesForm):
    kind: ClassVar[str] = "member.invited"


class LeftForm(EntryForm):
    kind: ClassVar[str] = "member.left"


class EraseForm(EntryForm):
    kind: ClassVar[str] = "attachment.erased"

    reason = RadioField(N_("Why"), default="asked_by_the_person", validate_choice=False)

    def offer(self) -> None:
        """Fill the list in the member's language."""
        pairs = [(code, words().gettext(text)) for code, text in ERASE_REASONS.items()]
        self.reason.choices = options(pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberRow:
    """A member in the list; `own` says a word more about oneself."""

    name: str
    initials: str
    roles: str
    joined: str
    left: str
    own: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InvitationRow:
    """An address that still opens; `name` is empty for somebody who has not joined."""

    name: str
    roles: str
    until: str
    by: str
    close_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingRow:
    """Somebody invited whose address ran out."""

    roles: str
    renew_url: str
    close_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PeoplePage:
    members: tuple[MemberRow, ...]
    left: tuple[MemberRow, ...]
    invitations: tuple[InvitationRow, ...]
    waiting: tuple[WaitingRow, ...]
    may_invite: bool
    phones: tuple[PhoneRow, ...]
    phone_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InvitePage:
    form: InviteForm


@dataclass(frozen=True, slots=True, kw_only=True)
class AddressPage:
    """An address that opens once; shown this one time."""

    address: str
    name: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberPage:
    """A member; the forms are there for a coordinator only."""

    id: str
    row: MemberRow
    mail: str
    has_card: bool
    is_in: bool
    session_count: int
    roles: RolesForm | None
    left: LeftForm | None
    erase: EraseForm | None


@pages.get("/people")
@needs("see-people")
def people() -> Response:
    everybody = roster(desk().journal)
    may_invite = may(who().roles, "invite")
    on, rows = _phones()
    page = PeoplePage(
        members=_by_name(everybody.members),
        left=tuple(_row(one) for one in everybody.left) if may_invite else (),
        invitations=tuple(_invitations()) if may_invite else (),
        waiting=tuple(_waiting(everybody.invited)) if may_invite else (),
        may_invite=may_invite,
        phones=rows,
        phone_count=on,
    )
    return show("people.html", page=page, nav="people")


def _phones() -> tuple[int, tuple[PhoneRow, ...]]:
    """
    Return how many phones and tablets are in use, and those to look at first.

    Which counts never came is asked only for who can settle it; the page of a phone tells all.
    """
    seen = see_phones(with_gaps=may(who().roles, "sort-out"))
    on = [one for one in seen.looks if one.state.revoked_at is None]
    return len(on), seen.told(seen.pressing(on)[:PHONES_SHOWN])


def _by_name(members: tuple[MemberState, ...]) -> tuple[MemberRow, ...]:
    rows = (_row(one) for one in members)
    return tuple(sorted(rows, key=lambda row: row.name.casefold()))


def _row(one: MemberState) -> MemberRow:
    seen = face(one.id)
    return MemberRow(
        name=seen.name,
        initials=seen.initials,
        roles=_roles(one),
        joined=words().day(one.joined_at) if one.joined_at else "",
        left=words().day(one.left_at) if one.left_at else "",
        own=_own(one.id),
        url=url_for("people.member", member=one.id),
    )


def _roles(one: MemberState) -> str:
    return ", ".join(say.choice(words(), "role", role) for role in one.roles)


def _own(member: MemberId) -> str:
    """Say where one is signed in oneself; of others nobody is told."""
    if member != who().member:
        return ""
    mine = sessions.list_of(desk().connection, member, now())
    last = max(one.last_seen_at for one in mine)
    return words().ngettext(
        "you, signed in on %(num)d browser, last seen %(when)s",
        "you, signed in on %(num)d browsers, last seen %(when)s",
        len(mine),
        when=say.when(words(), last, now()),
    )


def _invitations() -> Iterator[InvitationRow]:
    for one in invites.open_ones(desk().connection, now()):
        if one.entry is None:
            continue
        state: MemberState | None = desk().journal.state("member", Subject(one.entry))
        yield InvitationRow(
            name=face(state.id).name if state and state.joined_at else "",
            roles=_roles(state) if state else "",
            until=words().moment(one.expires_at),
            by=face(one.made_by).name if one.made_by else "",
            close_url=url_for("people.take_back", entry=one.entry),
        )


def _waiting(invited: tuple[MemberState, ...]) -> Iterator[WaitingRow]:
    still_open = {str(one.entry) for one in invites.open_ones(desk().connection, now())}
    for one in invited:
        if str(one.id) not in still_open:
            yield WaitingRow(
                roles=_roles(one),
                renew_url=url_for("people.new_address", member=one.id),
                close_url=url_for("people.take_back", entry=one.id),
            )


@pages.route("/people/invite", methods=["GET", "POST"])
@needs("member.invited")
def invite() -> Response:
    form = InviteForm(data={"roles": ["member"]})
    form.offer()
    if form.is_fit():
        with writing() as unit:
            outcome = form.record(unit)
            token = _address_for(unit, outcome)
        if isinstance(outcome, Written):
            return _address(token, "")
    status = 422 if form.is_submitted() else 200
    return show("invite.html", page=InvitePage(form=form), nav="people", status=status)


def _address_for(unit: Desk, outcome: Outcome) -> str:
    """Open an invitation for who was just invited; sent twice, the newer address holds."""
    if not isinstance(outcome, Written):
        return ""
    return _new_invitation(unit, outcome.sealed.entry.id)


def _new_invitation(unit: Desk, entry: EntryId) -> str:
    token = new_token()
    note("address-made", entry)
    invites.close_of(unit.connection, entry)
    invites.make(
        unit.connection,
        token=token,
        purpose="member",
        now=now(),
        entry=entry,
        made_by=who().member,
    )
    return token


def _address(token: str, name: str) -> Response:
    page = AddressPage(
        address=url_for("opening.come_in", token=token, _external=True),
        name=name,
        until=words().moment(now() + invites.INVITE_LIFE),
    )
    return show("address.html", page=page, nav="people")


@pages.post("/people/<entry>/take-back")
@needs("invite")
def take_back(entry: str) -> Response:
    """Close an address; who never joined is not waited for any more."""
    state = _somebody(entry)
    form = LeftForm()
    with writing() as unit:
        invites.close_of(unit.connection, EntryId(entry))
        note("address-closed", entry)
        if state.joined_at is None:
            form.record(unit, member=entry)
    flash(words().gettext("Taken back: the address does not open any more."), "written")
    return redirect(url_for("people.people"), 303)


def _somebody(member: str) -> MemberState:
    """Return who was invited or is in; others answer 404."""
    state: MemberState = known("member", member)
    if not state.roles:
        abort(404)
    return state


@pages.get("/people/<member>")
@needs("see-people")
def member(member: str) -> Response:
    return _member(_joined(member), RolesForm(), 200)


def _joined(member: str) -> MemberState:
    state: MemberState = known("member", member)
    if state.joined_at is None:
        abort(404)
    return state


def _member(state: MemberState, form: RolesForm, status: int) -> Response:
    coordinates = may(who().roles, "invite")
    is_in = state.left_at is None
    secret = members.find(desk().connection, state.id)
    left, erase = LeftForm(), EraseForm()
    erase.offer()
    form.offer()
    if not form.is_submitted():
        form.roles.data = list(state.roles)
    has_card = desk().journal.attachment(state.card) is not None
    page = MemberPage(
        id=state.id,
        row=_row(state),
        mail=(secret.mail or "") if secret and coordinates else "",
        has_card=has_card,
        is_in=is_in,
        session_count=len(sessions.list_of(desk().connection, state.id, now())),
        roles=form if coordinates and is_in else None,
        left=left if coordinates and is_in else None,
        erase=erase if coordinates and has_card else None,
    )
    return show("member.html", page=page, nav="people", status=status)


def _back(member: str) -> Response:
    return redirect(url_for("people.member", member=member), 303)


@pages.post("/people/<member>/roles")
@needs("member.role_set")
def roles(member: str) -> Response:
    state = _joined(member)
    form = RolesForm()
    if form.is_fit():
        with writing() as unit:
            outcome = form.record(unit, member=member)
        if written(outcome, words().gettext("The roles are set.")):
            return _back(member)
    return _member(state, form, 422)


@pages.post("/people/<member>/left")
@needs("member.left")
def left(member: str) -> Response:
    """Write that a member left: the door closes everywhere at once."""
    state = _joined(member)
    form = LeftForm()
    outcome: Outcome | None = None
    if form.validate_on_submit():
        with writing() as unit:
            outcome = form.record(unit, member=member)
            if isinstance(outcome, Written):
                _close_door(unit, state.id)
    if outcome is None or not written(outcome, words().gettext("Noted: they have left.")):
        flash(_first_error(form), "warning")
    return _back(member)


def _close_door(unit: Desk, member: MemberId) -> None:
    sessions.end_all(unit.connection, member)
    members.remove(unit.connection, member)
    feeds.forget(unit.connection, member)
    mail.forget(unit.connection, member)
    measures.forget(unit.connection, member)
    invites.close_of(unit.connection, EntryId(member))
    for phone in switch_off_phones(unit.journal, who(), member, new_id=new_id, now=now()):
        devices.end(unit.connection, phone)


def _first_error(form: FlaskForm) -> str:
    said = [str(text) for texts in form.errors.values() for text in texts]
    return said[0] if said else words().gettext("Nothing was written.")


@pages.post("/people/<member>/sessions/end")
@needs("end-any-session")
def end_sessions(member: str) -> Response:
    state = _joined(member)
    with writing() as unit:
        but = g.who.id_hash if state.id == who().member else None
        count = sessions.end_all(unit.connection, state.id, but=but)
    note("sessions-ended", state.id)
    flash(
        words().ngettext(
            "Signed out on %(num)d browser.", "Signed out on %(num)d browsers.", count
        ),
        "written",
    )
    return _back(member)


@pages.post("/people/<member>/new-address")
@needs("invite")
def new_address(member: str) -> Response:
    """Make an address to join by, or, for who has joined, to set a new password by."""
    state = _somebody(member)
    name = face(state.id).name if state.joined_at else ""
    with writing() as unit:
        token = _new_invitation(unit, EntryId(member))
    return _address(token, name)


@pages.post("/people/<member>/card/erase")
@needs("attachment.erased")
def erase_card(member: str) -> Response:
    """Write that a card is erased, and let go of its bytes; what was written stays."""
    state = _joined(member)
    form = EraseForm()
    form.offer()
    outcome: Outcome | None = None
    if form.validate_on_submit():
        with writing() as unit:
            outcome = form.record(unit, attachment=state.card)
            erased(unit.journal, outcome)
    if outcome is None or not written(outcome, words().gettext("The card is erased.")):
        flash(_first_error(form), "warning")
    return _back(member)
