"""My own page: card, password, sign-in name, mail address, and where I am signed in."""

from collections.abc import Iterator
from dataclasses import dataclass

from flask import Blueprint, flash, g, redirect, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField, PasswordField, RadioField, StringField

from coop.actions.read_dose import ASKED_ONCE
from coop.actions.see_faults import see_faults
from coop.ids import Subject
from coop.ledger.schema import Refused
from coop.ledger.states import MemberState
from coop.store import mail as mails
from coop.store import measures, members, sessions
from coop.store.measures import Measures
from coop.store.members import MemberSecret
from coop.store.throttle import Throttled
from coop.web import sessions as door
from coop.web import words as say
from coop.web.accounts import mail_refusals, name_refusals, password_refusals, too_often
from coop.web.devices import may_work_offline
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.fields import NEEDED
from coop.web.forms import PageForm, options
from coop.web.i18n import N_
from coop.web.measures import own_measures
from coop.web.page import desk, face, needs, now, show, who, words, writing
from coop.web.security_log import note

TOO_MANY = 429
UNFIT = 422

pages = Blueprint("me", __name__)


class PasswordForm(PageForm):
    old_password = PasswordField(N_("The password you have"), [NEEDED])
    password = PasswordField(N_("The new one"), [NEEDED])


class NameForm(PageForm):
    sign_in_name = StringField(
        N_("Sign-in name"), [NEEDED], description=N_("Only you and this ledger know it.")
    )


class MailForm(PageForm):
    mail = StringField(
        N_("Mail address"),
        description=N_("You and the coordinators see it, nobody else. It may be left empty."),
    )


class DigestForm(PageForm):
    wanted = BooleanField(N_("Send me a mail on days when something needs me"))


class MeasuresForm(PageForm):
    shown = RadioField(N_("Amounts are shown in"), default=measures.METRIC)
    gallon = RadioField(N_("A gallon that nobody says more of is"), default="")
    cup = RadioField(N_("A cup is"), default="")
    spoon = RadioField(N_("A spoon is"), default="")

    def offer(self) -> None:
        """Fill the lists in the member's language; nothing chosen is the house's."""
        self.shown.choices = options(say.choices(words(), "shown_in"))
        for question in ASKED_ONCE:
            chosen = ("", words().gettext("what the house says"))
            self[question].choices = options(
                (chosen, *say.choices(words(), f"kinds_{question}"))
            )

    @property
    def chosen(self) -> Measures:
        """What was chosen."""
        kinds = {one: str(self[one].data or "") or None for one in ASKED_ONCE}
        return Measures(shown=str(self.shown.data), **kinds)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionRow:
    """A browser one is signed in on."""

    browser: str
    since: str
    seen: str
    here: bool
    end_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MePage:
    name: str
    initials: str
    roles: str
    joined: str
    password: PasswordForm
    sign_in_name: NameForm
    mail: MailForm
    digest: DigestForm
    measures: MeasuresForm
    has_mail: bool
    wrong: PageForm | None
    sessions: tuple[SessionRow, ...]
    password_min: int
    can_set_up: bool
    faults: FaultsSaid | None
    lang: str


def _me(wrong: PageForm | None = None, status: int = 200) -> Response:
    """Show the page; the form that was sent is shown as it was sent."""
    secret = _secret()
    given: dict[type[PageForm], PageForm] = {type(wrong): wrong} if wrong else {}
    state: MemberState = desk().journal.state("member", Subject(secret.member))
    seen = face(secret.member)
    page = MePage(
        name=seen.name,
        initials=seen.initials,
        roles=", ".join(say.choice(words(), "role", one) for one in state.roles),
        joined=words().day(state.joined_at) if state.joined_at else "",
        password=given.get(PasswordForm) or PasswordForm(None),
        sign_in_name=given.get(NameForm)
        or NameForm(None, data={"sign_in_name": secret.sign_in_name}),
        mail=given.get(MailForm) or MailForm(None, data={"mail": secret.mail}),
        digest=DigestForm(
            None, data={"wanted": mails.chosen(desk().connection, secret.member)}
        ),
        measures=given.get(MeasuresForm) or _measures_form(),
        has_mail=secret.mail is not None,
        wrong=wrong,
        sessions=tuple(_sessions()),
        password_min=members.PASSWORD_CHARACTERS_MIN,
        can_set_up=may_work_offline(),
        faults=faults_said(words(), see_faults(desk().journal, "member", secret.member)),
        lang=words().lang,
    )
    return show("me.html", page=page, status=status)


def _measures_form() -> MeasuresForm:
    chosen = own_measures()
    kinds = {one: getattr(chosen, one) or "" for one in ASKED_ONCE}
    form = MeasuresForm(None, data={"shown": chosen.shown, **kinds})
    form.offer()
    return form


def _secret() -> MemberSecret:
    secret = members.find(desk().connection, who().member)
    assert secret is not None, "who is signed in has a password"
    return secret


def _sessions() -> Iterator[SessionRow]:
    for one in sessions.list_of(desk().connection, who().member, now()):
        yield SessionRow(
            browser=one.agent or words().gettext("a browser"),
            since=words().moment(one.created_at),
            seen=say.when(words(), one.last_seen_at, now()),
            here=one.id_hash == g.who.id_hash,
            end_url=url_for("me.end_session", id_hash=one.id_hash),
        )


@pages.get("/me")
@needs("keep-own-account")
def me() -> Response:
    return _me()


@pages.post("/me/password")
@needs("keep-own-account")
def password() -> Response:
    """Change the password; all other browsers are signed out."""
    form = PasswordForm()
    secret = _secret()
    if not form.validate_on_submit():
        return _me(form, UNFIT)
    new = str(form.password.data)
    for refused in password_refusals(new, sign_in_name=secret.sign_in_name):
        return _refuse(form, refused)
    known = door.check_sign_in(secret.sign_in_name, str(form.old_password.data))
    if isinstance(known, Throttled):
        form.form_errors.append(too_often(words(), known))
        return _me(form, TOO_MANY)
    if known is None:
        return _refuse(form, Refused(field="old_password", code="wrong-password"))
    hashed = door.hash_password(new)
    with writing() as unit:
        members.set_password_hash(unit.connection, secret.member, hashed, now=now())
        sessions.end_all(unit.connection, secret.member, but=g.who.id_hash)
    note("password-changed", secret.member)
    return _done(words().gettext("The password is changed. Other browsers are signed out."))


def _refuse(form: PageForm, refused: Refused) -> Response:
    field = form[refused.field]
    field.errors = [*field.errors, say.refusal(words(), refused)]
    return _me(form, UNFIT)


def _done(message: str) -> Response:
    flash(message, "written")
    return redirect("/me", 303)


@pages.post("/me/sign-in-name")
@needs("keep-own-account")
def sign_in_name() -> Response:
    form = NameForm()
    if not form.validate_on_submit():
        return _me(form, UNFIT)
    name = str(form.sign_in_name.data)
    for refused in name_refusals(name):
        return _refuse(form, refused)
    with writing() as unit:
        renamed = members.rename(unit.connection, who().member, name, now=now())
    if not renamed:
        return _refuse(form, Refused(field="sign_in_name", code="sign-in-name-taken"))
    note("sign-in-name-changed", who().member)
    return _done(words().gettext("From now on you sign in with this name."))


@pages.post("/me/mail")
@needs("keep-own-account")
def mail() -> Response:
    form = MailForm()
    if not form.validate_on_submit():
        return _me(form, UNFIT)
    address = str(form.mail.data or "").strip()
    for refused in mail_refusals(address):
        return _refuse(form, refused)
    with writing() as unit:
        members.set_mail(unit.connection, who().member, address or None, now=now())
    note("mail-changed", who().member)
    return _done(words().gettext("The mail address is kept."))


@pages.post("/me/digest")
@needs("keep-own-account")
def digest() -> Response:
    """Choose whether mails come, in the language that is spoken now."""
    form = DigestForm()
    if not form.validate_on_submit():
        return _me(form, UNFIT)
    wanted = bool(form.wanted.data)
    with writing() as unit:
        mails.choose(unit.connection, who().member, words().lang if wanted else None)
    if wanted:
        return _done(words().gettext("A mail comes on days when something needs you."))
    return _done(words().gettext("No mail comes any more."))


@pages.post("/me/measures")
@needs("keep-own-account")
def choose_measures() -> Response:
    """Choose in which measures amounts are shown, and what bare names of them mean."""
    form = MeasuresForm()
    form.offer()
    if not form.validate_on_submit():
        return _me(form, UNFIT)
    with writing() as unit:
        measures.choose(unit.connection, who().member, form.chosen)
    return _done(words().gettext("Your measures are kept. What is written already stays."))


@pages.post("/me/sessions/<id_hash>/end")
@needs("end-own-session")
def end_session(id_hash: str) -> Response:
    with writing() as unit:
        sessions.end(unit.connection, id_hash, member=who().member)
    note("session-ended", who().member)
    return _done(words().gettext("Signed out there."))
