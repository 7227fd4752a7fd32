"""What was asked about a studio's drain: the answers recorded, and recording one."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Final

from flask import Blueprint, redirect
from werkzeug.wrappers import Response
from wtforms import Field, HiddenField, RadioField, StringField
from wtforms.validators import ValidationError

from coop.actions.sites import Past, as_described, drain_then, was_described
from coop.ledger.kinds import OUTLETS
from coop.ledger.states import PermissionState, StudioState
from coop.people.may import may
from coop.rules.packs.words import ASKED_OUTLETS
from coop.web import words as say
from coop.web.cautions import cautions
from coop.web.fields import NEEDED
from coop.web.forms import EntryForm, looked_up, written
from coop.web.i18n import N_
from coop.web.page import desk, face, faces, known, needs, now, show, who, words, writing, zone

KIND: Final = "permission.recorded"

pages = Blueprint("permission", __name__)


class PermissionForm(EntryForm):
    kind: ClassVar[str] = KIND
    beside: ClassVar[frozenset[str]] = frozenset({"over_seen"})

    about = RadioField(
        N_("About what?"),
        [NEEDED],
        choices=looked_up(say.CHOICES["permission"].items()),
        validate_choice=False,
    )
    outlet = RadioField(
        N_("Where would it go?"),
        [NEEDED],
        choices=looked_up(
            (code, text)
            for code, text in say.CHOICES["outlet"].items()
            if code in ASKED_OUTLETS
        ),
        description=N_("The studio's own drain, unless you asked about another way."),
        validate_choice=False,
    )
    asked = StringField(
        N_("Who was asked?"),
        [NEEDED],
        description=N_("The office or the company, as it calls itself."),
    )
    asked_on = StringField(N_("When?"), [NEEDED], render_kw={"type": "date"})
    reference = StringField(
        N_("Its letter or number"), description=N_("By which it can be found again.")
    )
    answer = RadioField(
        N_("What did they answer?"),
        [NEEDED],
        choices=looked_up(say.CHOICES["answer"].items()),
        validate_choice=False,
    )
    conditions = StringField(
        N_("On which conditions?"),
        description=N_("In their words: how much, how sour, by whom, at what time."),
    )
    review_on = StringField(
        N_("Ask again on"),
        description=N_("When it ends, or when you want to ask again."),
        render_kw={"type": "date"},
    )
    over_seen = HiddenField()

    def validate_review_on(self, field: Field) -> None:
        """Ask about a day that has come already; whoever sends it again means it."""
        said = str(field.data or "").strip()
        if said == self.over_seen.data or not _has_come(said):
            return
        self.over_seen.data = said
        raise ValidationError(
            words().gettext(
                "That day has come already: it would be asked again at once. Change it, or "
                "send it again if it is meant."
            )
        )


def _has_come(typed: str) -> bool:
    """Say whether a day is over or today; what is no day is refused when it is written."""
    try:
        return date.fromisoformat(typed) <= _today()
    except ValueError:
        return False


def _today() -> date:
    return now().astimezone(zone()).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """One answer; `review` says when to ask again, `over` that the day has come."""

    about: str
    answer: str
    facts: tuple[tuple[str, str], ...]
    review: str
    over: bool
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PermissionPage:
    """A studio's drain, and what was asked about it, the newest first."""

    id: str
    studio: str
    drain: str
    recorded: tuple[Recorded, ...]
    may_record: bool
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordPage:
    id: str
    studio: str
    drain: str
    form: PermissionForm
    cautions: tuple[str, ...]


@pages.get("/studios/<studio>/permission")
@needs("read")
def permission(studio: str) -> Response:
    state: StudioState = known("studio", studio)
    found: tuple[PermissionState, ...] = desk().journal.listed("permission", home=state.id)
    faces().gather([one.recorded_by for one in found])
    newest = sorted(found, key=lambda one: (one.asked_on, one.id), reverse=True)
    past = was_described(desk().journal, state)
    page = PermissionPage(
        id=state.id,
        studio=state.name,
        drain=_drain(state),
        recorded=tuple(_recorded(one, past) for one in newest),
        may_record=may(who().roles, KIND),
        cautions=cautions(words(), "finish"),
    )
    return show("permission.html", page=page, nav="house")


def _drain(state: StudioState) -> str:
    drain = say.choice(words(), "drain", state.drain)
    if not state.drain_note:
        return drain
    return words().gettext("%(drain)s: %(note)s", drain=drain, note=state.drain_note)


def _recorded(one: PermissionState, past: Past) -> Recorded:
    outlet = one.outlet or drain_then(as_described(past, one.asked_on, zone()))
    asked = words().gettext("%(who)s, %(day)s", who=one.asked, day=words().day(one.asked_on))
    return Recorded(
        about=say.choice(words(), "permission", one.about),
        answer=say.choice(words(), "answer", one.answer),
        facts=(
            (words().gettext("Where it would go"), _outlet(outlet)),
            (words().gettext("Asked"), asked),
            (words().gettext("Letter or number"), one.reference),
            (words().gettext("Conditions"), one.conditions),
            (
                words().gettext("Written down"),
                say.day_by(words(), one.recorded_at, face(one.recorded_by).name),
            ),
        ),
        review=words().day(one.review_on) if one.review_on else "",
        over=one.review_on is not None and one.review_on <= _today(),
        url=f"/entries/{one.id}/correct",
    )


def _outlet(code: str) -> str:
    if not code:
        return words().gettext("Nobody wrote it down, and the drain was changed: ask again.")
    return say.choice(words(), "outlet" if code in OUTLETS else "drain", code)


@pages.route("/studios/<studio>/permission/new", methods=["GET", "POST"])
@needs(KIND)
def record(studio: str) -> Response:
    state: StudioState = known("studio", studio)
    form = PermissionForm()
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, studio=state.id)
        if written(outcome, words().gettext("Written down. Keep their letter as well.")):
            return redirect(f"/studios/{state.id}/permission", 303)
    elif not form.is_submitted():
        form.asked_on.data = _today().isoformat()
        form.outlet.data = state.drain
    page = RecordPage(
        id=state.id,
        studio=state.name,
        drain=_drain(state),
        form=form,
        cautions=cautions(words(), "finish"),
    )
    status = 422 if form.is_submitted() else 200
    return show("permission_form.html", page=page, nav="house", status=status)
