"""Something went wrong: whom to call and what to do at once; then what happened."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField

from coop.actions.drain_facts import WASTE_OF
from coop.actions.photos import PHOTO_BYTES_MAX
from coop.actions.see_waste_log import month_before, see_line_moved
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.kinds import MISHAPS
from coop.ledger.ports import Journal
from coop.ledger.states import DisposalState, JarState, StudioState
from coop.ledger.wastes import log_home
from coop.ledger.ways_out import to_go
from coop.rules.months import month_of
from coop.web import amounts
from coop.web import words as say
from coop.web.fields import NEEDED, VOLUMES, ManyField, UnitField, longest
from coop.web.forms import Happened, Noted, options, written
from coop.web.history import note_named
from coop.web.i18n import N_
from coop.web.mishap_help import (
    NEVER_ADD,
    Call,
    ToDo,
    first_aid,
    to_do,
    whom_to_call,
)
from coop.web.page import desk, face, faces, known, needs, now, show, site, words, writing, zone
from coop.web.photographed import PhotoForm, photo_url
from coop.web.security import FORM_BYTES_MAX, body_limit
from coop.web.told import bath_names

CALLED_LENGTH_MAX = 60
SORTS = ("bath", "jar")
NOT_KNOWN = "not_known"
LIST_MONTHS = 12
LIST_MAX = 50
"""So many mishaps of the last months, the newest, stand in a studio's list."""

pages = Blueprint("mishaps", __name__)


class MishapForm(PhotoForm, Happened, Noted):
    """What went wrong; of what it was is one list of baths and jars."""

    kind: ClassVar[str] = "mishap.noted"
    beside: ClassVar[frozenset[str]] = frozenset({"photo", "of"})

    studio = RadioField(N_("Where?"), [NEEDED], validate_choice=False)
    what = RadioField(N_("What happened?"), [NEEDED], validate_choice=False)
    of = SelectField(N_("Out of which bath or jar?"), validate_choice=False)
    waste = SelectField(N_("What was it?"), validate_choice=False)
    litres_typed = StringField(
        N_("About how many litres?"),
        [longest(40)],
        name="litres.typed",
        description=N_("A guess will do. Leave it empty when nobody knows."),
    )
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    outlet = SelectField(N_("Down which drain?"), validate_choice=False)
    done = ManyField(N_("What was done?"), validate_choice=False)
    called = StringField(
        N_("Whom did somebody call?"),
        [longest(CALLED_LENGTH_MAX)],
        description=N_("The office or the number, not who was hurt."),
    )

    def offer(self, studios: tuple[StudioState, ...], given: list[tuple[str, str]]) -> None:
        """Fill the lists in the member's language; the one studio there is stands chosen."""
        self.studio.choices = options((str(one.id), one.name) for one in studios)
        self.what.choices = options(say.choices(words(), "mishap"))
        self.of.choices = options([("", words().gettext("none of them")), *given])
        nobody = ("", words().gettext("what was in it, or nobody knows"))
        known = (one for one in say.choices(words(), "waste") if one[0] != NOT_KNOWN)
        self.waste.choices = options([nobody, *known])
        no_drain = ("", words().gettext("down none"))
        self.outlet.choices = options([no_drain, *say.choices(words(), "outlet")])
        self.done.choices = options(say.choices(words(), "done_about_it"))


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPage:
    """Whom to call, what to do, and the form."""

    calls: tuple[Call, ...]
    to_do: tuple[ToDo, ...]
    first_aid: tuple[str, ...]
    form: MishapForm
    photo_again: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MishapRow:
    """A mishap in a list: what happened, what it was and where it went, when and by whom."""

    url: str
    what: str
    about: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPage:
    """The mishaps of a studio in the last months."""

    studio: str
    studio_id: str
    rows: tuple[MishapRow, ...]
    months: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MishapPage:
    """
    What was noted, and whom to call once more.

    Attributes:
        never_add: Whether it went where nothing is to be put after it.
        log_url: The month's log, in which it counts.
    """

    title: str
    where: str
    by: str
    facts: tuple[tuple[str, str], ...]
    note: str
    photo: str
    call: Call
    to_do: ToDo
    first_aid: tuple[str, ...]
    never_add: bool
    counted: str
    log_url: str


@pages.route("/mishaps/new", methods=["GET", "POST"])
@body_limit(PHOTO_BYTES_MAX + FORM_BYTES_MAX)
@needs("mishap.noted")
def new() -> Response:
    form = MishapForm()
    studios = _studios()
    form.offer(studios, list(_given(desk().journal, studios)))
    if not form.is_submitted():
        form.studio.data = str(studios[0].id) if _is_sure(studios) else ""
        form.of.data = request.args.get("of", "")
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate() and form.take_photo():
            fixed = _out_of(form)
            with writing() as place:
                outcome = form.record(place, **fixed)
            if written(outcome, words().gettext("Written. Thank you for saying so.")):
                assert isinstance(outcome, Written)
                entry = outcome.sealed.entry.id
                return redirect(url_for("mishaps.mishap", mishap=entry), 303)
    page = NewPage(
        calls=tuple(_call(one) for one in studios),
        to_do=to_do(words()),
        first_aid=first_aid(words()),
        form=form,
        photo_again=form.is_submitted() and form.taken is not None,
    )
    return show("mishap_new.html", page=page, nav="room", status=status)


def _studios() -> tuple[StudioState, ...]:
    """Return the studios, the one that was asked for first."""
    every: tuple[StudioState, ...] = desk().journal.listed("studio")
    asked = request.args.get("studio", "")
    return tuple(sorted(every, key=lambda one: (one.id != asked, one.name)))


def _is_sure(studios: tuple[StudioState, ...]) -> bool:
    """Say whether it is known in which studio somebody stands."""
    asked = request.args.get("studio", "")
    return bool(studios) and (len(studios) == 1 or studios[0].id == asked)


def _call(studio: StudioState) -> Call:
    return whom_to_call(words(), desk().journal, studio, demo=site().settings.demo)


def _given(journal: Journal, studios: tuple[StudioState, ...]) -> Iterator[tuple[str, str]]:
    """Give the baths and jars that stand in the studios, as choices of the form."""
    homes = [one.id for one in studios]
    old = journal.listed_in("bath", [to_go(one) for one in homes])
    baths: tuple[AnyBath, ...] = (*journal.listed("bath"), *old)
    names = bath_names(baths)
    for one in baths:
        yield f"bath:{one.id}", say.bath_name(words(), one.what, names[one.id])
    jars: tuple[JarState, ...] = journal.listed("jar")
    yield from ((f"jar:{one.id}", one.name) for one in jars)


def _out_of(form: MishapForm) -> dict[str, str]:
    """Return which bath or jar it came out of, and what that holds where nobody said."""
    sort, _, subject = str(form.of.data or "").partition(":")
    there = {sort: subject} if sort in SORTS else {}
    waste = str(form.waste.data or "")
    if not waste and there:
        waste = _waste_of(sort, Subject(subject))
    if not waste and form.what.data == "wrong_drain":
        waste = NOT_KNOWN
    return {**there, "waste": waste} if waste else there


def _waste_of(sort: str, subject: Subject) -> str:
    """Return what a bath or a jar of one waste holds; empty for what is not known."""
    state: Any = desk().journal.state(sort, subject)
    if state is None:
        return ""
    if isinstance(state, JarState):
        return state.wastes[0] if len(state.wastes) == 1 else ""
    return WASTE_OF[state.what]


@pages.get("/mishaps/<mishap>")
@needs("read")
def mishap(mishap: str) -> Response:
    line: DisposalState = known("disposal", mishap)
    if line.kind != "mishap.noted" or line.what not in MISHAPS:
        abort(404)
    studio: StudioState = known("studio", line.studio)
    (what,) = to_do(words(), [line.what])
    page = MishapPage(
        title=what.title,
        where=studio.name,
        by=say.day_by(words(), line.at, face(line.by).name),
        facts=tuple(_facts(line)),
        note=note_named(line.note),
        photo=photo_url(line.photo),
        call=_call(studio),
        to_do=what,
        first_aid=first_aid(words()),
        never_add=line.outlet in NEVER_ADD,
        counted=_counted(line),
        log_url=url_for(
            "waste_log.month", studio=studio.id, month=f"{line.at.astimezone(zone()):%Y-%m}"
        ),
    )
    return show("mishap.html", page=page, nav="room")


@pages.get("/waste/<studio>/mishaps")
@needs("read")
def of_studio(studio: str) -> Response:
    """List what went wrong in a studio in the last months, the newest first."""
    state: StudioState = known("studio", studio)
    lines = _mishaps(state, now().astimezone(zone()).date())
    faces().gather(one.by for one in lines)
    page = ListPage(
        studio=state.name,
        studio_id=str(state.id),
        rows=tuple(_row(one) for one in lines),
        months=LIST_MONTHS,
    )
    return show("mishaps.html", page=page, nav="room")


def _mishaps(studio: StudioState, today: date) -> tuple[DisposalState, ...]:
    months = [month_of(today)]
    while len(months) < LIST_MONTHS:
        months.append(month_before(months[-1]))
    homes = [log_home(studio.id, month) for month in months]
    lines: tuple[DisposalState, ...] = desk().journal.listed_in("disposal", homes)
    found = [one for one in lines if one.kind == "mishap.noted"]
    newest = sorted(found, key=lambda one: (one.at, one.id), reverse=True)
    return tuple(newest[:LIST_MAX])


def _row(line: DisposalState) -> MishapRow:
    went = say.choice(words(), "outlet", line.outlet) if line.outlet else ""
    waste = say.choice(words(), "waste", line.waste) if line.waste else ""
    return MishapRow(
        url=f"/mishaps/{line.id}",
        what=say.choice(words(), "mishap", line.what),
        about=", ".join(filter(None, (waste, went))),
        told=say.day_by(words(), line.at, face(line.by).name),
    )


def _facts(line: DisposalState) -> Iterator[tuple[str, str]]:
    if line.waste:
        yield words().gettext("What it was"), say.choice(words(), "waste", line.waste)
    for sort, subject in (("bath", line.bath), ("jar", line.jar)):
        state: Any = desk().journal.state(sort, subject)
        if state is not None:
            yield words().gettext("Out of"), str(state.name)
    if line.outlet:
        yield words().gettext("Down which drain"), say.choice(words(), "outlet", line.outlet)
    if line.done:
        done = [say.choice(words(), "done_about_it", one) for one in line.done]
        yield words().gettext("What was done"), ", ".join(done)
    if line.who:
        yield words().gettext("Who was called"), line.who


def _counted(line: DisposalState) -> str:
    """Say how much of it counts, by the accounts; empty where nobody knows."""
    volume_ml = see_line_moved(desk().journal, line)
    if volume_ml is None:
        return ""
    return amounts.volume(words(), volume_ml)
