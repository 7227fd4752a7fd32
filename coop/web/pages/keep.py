"""Keep a bath for somebody or for a session, and give it free again."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response
from wtforms import Field, SelectField, StringField
from wtforms.validators import ValidationError

from coop.actions.see_baths import see_any
from coop.actions.write import Written
from coop.ids import MemberId
from coop.ledger.any_bath import AnyBath
from coop.ledger.states import MemberState
from coop.web import reasons
from coop.web import words as say
from coop.web.booked import booked_near
from coop.web.fields import longest
from coop.web.forms import EntryForm, options, written
from coop.web.i18n import N_
from coop.web.page import desk, face, faces, known, needs, now, show, who, words, writing, zone
from coop.web.told import bath_url, kept_text, telling

SESSION_LENGTH_MAX = 40
FREE = "free"

pages = Blueprint("keep", __name__)


class KeepForm(EntryForm):
    kind: ClassVar[str] = "bath.kept_for"

    member = SelectField(N_("For whom?"), validate_choice=False)
    session = StringField(
        N_("Or for which session?"),
        validators=[longest(SESSION_LENGTH_MAX)],
        description=N_("In a few words: Saturday's class."),
    )
    until = StringField(
        N_("Until when?"),
        description=N_("Leave it empty if nobody knows."),
        render_kw={"type": "datetime-local"},
    )

    def validate_session(self, field: Field) -> None:
        """Want somebody to keep it for."""
        if not (self.member.data or str(field.data or "").strip()):
            raise ValidationError(N_("Choose a member, or write down the session."))

    def validate_until(self, field: Field) -> None:
        """Want a moment that is still to come."""
        typed = str(field.data or "").strip()
        if not typed:
            return
        at = _moment(typed)
        if at is None:
            raise ValidationError(N_("A date and a time, please: 2026-11-25 18:30."))
        if at <= now():
            raise ValidationError(N_("That is over already. Choose a moment to come."))

    def body(self) -> dict[str, Any]:
        said = super().body()
        at = _moment(str(self.until.data or "").strip())
        return said if at is None else said | {"until": at.isoformat()}


class FreeForm(EntryForm):
    """The same entry without anybody: free for everybody again."""

    kind: ClassVar[str] = "bath.kept_for"


def _moment(typed: str) -> datetime | None:
    try:
        local = datetime.fromisoformat(typed)
    except ValueError:
        return None
    return local if local.tzinfo else local.replace(tzinfo=zone())


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepPage:
    """
    Keeping a bath; `kept` says for whom it is kept now, empty for nobody.

    `booked` are the sessions it may be kept for.
    """

    id: str
    name: str
    url: str
    word: str
    why: str
    kept: str
    finished: bool
    form: EntryForm
    free: FreeForm
    booked: tuple[str, ...]


@pages.route("/baths/<bath>/keep", methods=["GET", "POST"])
@needs("bath.kept_for")
def keep(bath: str) -> Response:
    state: AnyBath = known("bath", bath)
    form = KeepForm()
    form.member.choices = options(_members())
    given_free = FREE in request.form
    asked: EntryForm = FreeForm() if given_free else form
    if asked.is_submitted() and asked.validate():
        with writing() as place:
            outcome = asked.record(place, bath=state.id)
        told = words().gettext("It is free for everybody again.") if given_free else _kept()
        if written(outcome, told) and isinstance(outcome, Written):
            entry = outcome.sealed.entry.id
            return redirect(f"{bath_url(state)}?written={entry}", code=303)
    status = 422 if request.method == "POST" else 200
    return show("keep.html", page=_page(state, form), nav="room", status=status)


def _kept() -> str:
    return words().gettext("Kept. Write it on the tag too: the tub is what others see.")


def _members() -> list[tuple[str, str]]:
    """Return who a bath can be kept for, oneself first."""
    states: tuple[MemberState, ...] = desk().journal.listed("member")
    here = [one.id for one in states if one.joined_at is not None and one.left_at is None]
    faces().gather(here)
    named = sorted((one for one in here if one != who().member), key=_name)
    myself = words().gettext("%(name)s (me)", name=_name(who().member))
    return [
        ("", words().gettext("nobody by name")),
        (str(who().member), myself),
        *((str(one), _name(one)) for one in named),
    ]


def _name(member: MemberId) -> str:
    return face(member).name


def _page(state: AnyBath, form: EntryForm) -> KeepPage:
    look = see_any(desk().journal, state, now=now())
    return KeepPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        url=bath_url(state),
        word=look.answer.word.value,
        why=reasons.why(telling(), look),
        kept=kept_text(state.kept_for),
        finished=state.finished_at is not None,
        form=form,
        free=FreeForm(formdata=None),
        booked=tuple(dict.fromkeys(one.name for one in booked_near(state.studio))),
    )
