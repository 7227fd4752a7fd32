"""One-use addresses: the ledger is opened, a member joins, a forgotten password is set anew."""

from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, g, redirect, request
from werkzeug.wrappers import Response
from wtforms import HiddenField, PasswordField, SelectField, StringField

from coop.actions.open_ledger import open_ledger
from coop.actions.people import INITIALS_MAX, NAME_MAX, join
from coop.actions.write import Outcome, Written, card
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.ports import Attachment
from coop.ledger.schema import Refused
from coop.ledger.states import MemberState
from coop.store import invites, members
from coop.store import sessions as kept_sessions
from coop.store.desk import Desk
from coop.store.invites import Invite, Standing
from coop.store.members import MemberSecret
from coop.web import sessions
from coop.web import words as say
from coop.web.accounts import name_refusals, password_refusals
from coop.web.fields import NEEDED, longest
from coop.web.forms import EntryForm
from coop.web.i18n import N_
from coop.web.page import PUBLIC, desk, needs, new_id, now, salt, show, words, writing
from coop.web.security_log import note
from coop.web.zones import UTC, zone_choices

GONE = 410
NOT_FOUND = 404

pages = Blueprint("opening", __name__)


class _Undone(Exception):
    """Raised to undo the unit of work; carries what is to be said beside the form."""

    def __init__(self, refused: Refused | None) -> None:
        super().__init__(refused)
        self.refused = refused


class PasswordForm(EntryForm):
    kind: ClassVar[str] = "member.joined"

    sign_in_name = StringField(N_("Sign-in name"), [NEEDED])
    password = PasswordField(N_("Password"), [NEEDED])

    def is_fit(self) -> bool:
        """Say whether all is filled in and the password will do; if not, it says so itself."""
        if not self.validate_on_submit():
            return False
        name, password = str(self.sign_in_name.data), str(self.password.data)
        for refused in name_refusals(name) + password_refusals(password, sign_in_name=name):
            self.take(refused)
        return self.refused is None


class JoinForm(PasswordForm):
    member_name = StringField(
        N_("Your name"),
        [NEEDED, longest(NAME_MAX)],
        description=N_("As the others call you. All members see it."),
    )
    initials = StringField(
        N_("Initials"),
        [NEEDED, longest(INITIALS_MAX)],
        description=N_("Up to four letters, as you write them on a tally card."),
    )

    def card(self) -> Attachment:
        """Return the member's card, as the fields say it."""
        name, initials = str(self.member_name.data), str(self.initials.data)
        return card(name=name.strip(), initials=initials.strip(), salt=salt())


class OpenForm(JoinForm):
    kind: ClassVar[str] = "ledger.opened"

    joined_id = HiddenField(default=new_id)
    name = StringField(N_("Name of the co-operative"), [NEEDED, longest(NAME_MAX)])
    zone = SelectField(
        N_("Where its studios are"),
        [NEEDED],
        description=N_("All times are shown in this zone. It cannot be changed later."),
        validate_choice=False,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedPage:
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPage:
    form: OpenForm
    password_min: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinPage:
    form: JoinForm
    roles: tuple[str, ...]
    password_min: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPasswordPage:
    """A password is asked for; with an empty `sign_in_name` the name is asked for too."""

    form: PasswordForm
    sign_in_name: str
    password_min: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GonePage:
    standing: Standing
    ledger_open: bool


@pages.get("/not-open")
@needs(PUBLIC)
def closed() -> Response:
    return show("closed.html", page=ClosedPage(), status=503)


@pages.route("/join/<token>", methods=["GET", "POST"])
@needs(PUBLIC)
def come_in(token: str) -> Response:
    standing = invites.standing(desk().connection, token, now())
    found = invites.look(desk().connection, token, now())
    if found is None:
        return _sent_twice() or _gone(standing)
    if found.purpose == "first":
        return _open(token)
    state = desk().journal.state("member", Subject(found.entry or ""))
    if state is None or not state.roles or state.left_at is not None or g.ledger is None:
        return _gone("unknown")
    if state.joined_at is None:
        return _join(token, state)
    secret = members.find(desk().connection, state.id)
    return _new_password(token, secret) if secret else _first_password(token, state.id)


def _sent_twice() -> Response | None:
    """Sign in whoever sends the form a second time: the first one has used the address up."""
    if request.method != "POST":
        return None
    name, password = request.form.get("sign_in_name", ""), request.form.get("password", "")
    member = sessions.check_sign_in(name, password) if name and password else None
    return _signed_in(MemberId(member), "/") if isinstance(member, str) else None


def _gone(standing: Standing) -> Response:
    note("address-unknown")
    page = GonePage(standing=standing, ledger_open=g.ledger is not None)
    status = NOT_FOUND if standing == "unknown" else GONE
    return show("gone.html", page=page, status=status)


def _signed_in(member: MemberId, there: str) -> Response:
    response = redirect(there, 303)
    sessions.sign_in(response, member)
    return response


def _open(token: str) -> Response:
    form = OpenForm()
    form.zone.choices = [("", words().gettext("Choose …")), (UTC, UTC)]
    form.zone.choices += zone_choices(words().lang)
    if form.is_fit():
        try:
            return _signed_in(_opened(token, form), "/house")
        except _Undone as why:
            _tell(form, why)
    page = OpenPage(form=form, password_min=members.PASSWORD_CHARACTERS_MIN)
    return show("open.html", page=page, status=_status(form))


def _opened(token: str, form: OpenForm) -> MemberId:
    """Open the ledger, let its first coordinator in, use the address up: all or nothing."""
    member = MemberId(new_id())
    hashed = sessions.hash_password(str(form.password.data))
    with writing() as unit:
        outcome = open_ledger(
            unit.journal,
            entry_ids=(EntryId(str(form.entry_id.data)), EntryId(str(form.joined_id.data))),
            member=member,
            name=str(form.name.data).strip(),
            zone=str(form.zone.data),
            card=form.card(),
            now=now(),
        )
        _demand(outcome)
        _let_in(unit, token, _secret(member, str(form.sign_in_name.data), hashed))
    return member


def _demand(outcome: Outcome) -> None:
    """Undo it all unless it was written."""
    if not isinstance(outcome, Written):
        raise _Undone(outcome if isinstance(outcome, Refused) else None)


def _let_in(unit: Desk, token: str, secret: MemberSecret) -> None:
    """Keep what lets a member in and use the address up; else undo it all."""
    if not members.add(unit.connection, secret):
        raise _Undone(Refused(field="sign_in_name", code="sign-in-name-taken"))
    _use(unit, token)
    note("let-in", secret.member)


def _use(unit: Desk, token: str) -> Invite:
    used = invites.use(unit.connection, token, now())
    if used is None:
        raise _Undone(None)
    return used


def _secret(member: MemberId, sign_in_name: str, password_hash: str) -> MemberSecret:
    return MemberSecret(
        member=member,
        sign_in_name=sign_in_name,
        mail=None,
        password_hash=password_hash,
        changed_at=now(),
    )


def _tell(form: PasswordForm, why: _Undone) -> None:
    if why.refused is not None:
        form.take(why.refused)
    else:
        form.form_errors.append(
            words().gettext("This address was used meanwhile. Load the page again.")
        )


def _status(form: PasswordForm) -> int:
    return 422 if form.is_submitted() else 200


def _join(token: str, invited: MemberState) -> Response:
    form = JoinForm()
    if form.is_fit():
        try:
            return _signed_in(_joined(token, form, invited.id), "/")
        except _Undone as why:
            _tell(form, why)
    page = JoinPage(
        form=form,
        roles=tuple(say.choice(words(), "role", role) for role in invited.roles),
        password_min=members.PASSWORD_CHARACTERS_MIN,
    )
    return show("join.html", page=page, status=_status(form))


def _joined(token: str, form: JoinForm, member: MemberId) -> MemberId:
    hashed = sessions.hash_password(str(form.password.data))
    with writing() as unit:
        outcome = join(
            unit.journal,
            member,
            entry_id=EntryId(str(form.entry_id.data)),
            card=form.card(),
            now=now(),
        )
        _demand(outcome)
        _let_in(unit, token, _secret(member, str(form.sign_in_name.data), hashed))
    return member


def _new_password(token: str, secret: MemberSecret) -> Response:
    form = PasswordForm()
    form.sign_in_name.data = secret.sign_in_name
    if form.is_fit():
        try:
            _set_password(token, secret.member, str(form.password.data))
        except _Undone as why:
            _tell(form, why)
        else:
            return _signed_in(secret.member, "/")
    return _ask_password(form, secret.sign_in_name)


def _ask_password(form: PasswordForm, sign_in_name: str) -> Response:
    page = NewPasswordPage(
        form=form, sign_in_name=sign_in_name, password_min=members.PASSWORD_CHARACTERS_MIN
    )
    return show("new_password.html", page=page, status=_status(form))


def _set_password(token: str, member: MemberId, password: str) -> None:
    """Put a new password in place; whoever knew the old one is signed out everywhere."""
    hashed = sessions.hash_password(password)
    with writing() as unit:
        _use(unit, token)
        members.set_password_hash(unit.connection, member, hashed, now=now())
        kept_sessions.end_all(unit.connection, member)
    note("password-changed", member)


def _first_password(token: str, member: MemberId) -> Response:
    """Let a member in who joined and cannot sign in: their name and password are made here."""
    form = PasswordForm()
    if form.is_fit():
        try:
            _add_secret(token, form, member)
        except _Undone as why:
            _tell(form, why)
        else:
            return _signed_in(member, "/")
    return _ask_password(form, "")


def _add_secret(token: str, form: PasswordForm, member: MemberId) -> None:
    hashed = sessions.hash_password(str(form.password.data))
    with writing() as unit:
        _let_in(unit, token, _secret(member, str(form.sign_in_name.data), hashed))
