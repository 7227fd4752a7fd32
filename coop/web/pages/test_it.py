"""Test it: put a number on a bath, with what is in this studio's drawer."""

from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField
from wtforms.validators import InputRequired

from coop.actions.see_baths import see_bath
from coop.actions.take_reading import (
    BY_THE_WAY,
    READ_WITH,
    Moved,
    drawer_of,
    look_at_zero,
    see_moved,
)
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.baths import BathState
from coop.ledger.states import StudioState
from coop.rules.baths import NO_CURVE, BathLook
from coop.web import amounts
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import EntryForm, Happened, written
from coop.web.i18n import N_
from coop.web.instruments import GravityField, reading_form, temperature_scale
from coop.web.page import desk, known, known_alum, needs, now, show, words, writing
from coop.web.readings import ReadingSaid, reading_said

pages = Blueprint("test_it", __name__)


class ZeroForm(EntryForm, Happened):
    kind: ClassVar[str] = "instrument.checked"

    gravity = GravityField(N_("It shows in plain tap water"), validators=[InputRequired()])
    temperature = StringField(
        N_("Temperature of the water"), name="temperature.typed", validators=[InputRequired()]
    )
    temperature_unit = temperature_scale()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """An instrument of the drawer, as a choice."""

    name: str
    url: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TestPage:
    """
    Testing a bath with one instrument.

    `read` is what the last reading did; `not_by_gravity` says that the salt has no density
    curve; `zero` when the hydrometer was last checked, `zero_due` whether that is too long ago.
    """

    id: str
    name: str
    bath_url: str
    tools: tuple[Tool, ...]
    instrument: str
    form: EntryForm | None
    read: ReadingSaid | None
    not_by_gravity: str
    zero: str
    zero_due: bool
    zero_url: str
    finished: bool
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroPage:
    studio: str
    form: ZeroForm
    zero: str
    scale: str
    back: str


@pages.route("/baths/<bath>/test", methods=["GET", "POST"])
@needs("reading.taken")
def test(bath: str) -> Response:
    look = see_bath(desk().journal, known_alum(bath, "/test"), now=now())
    drawer = drawer_of(look.around.studio) + _by_the_way(look.around.studio)
    instrument = request.args.get("by", drawer[0])
    if instrument not in (*READ_WITH, *BY_THE_WAY):
        abort(404)
    form = reading_form(instrument)
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, bath=bath)
        if written(outcome, words().gettext("Written.")) and isinstance(outcome, Written):
            read = outcome.sealed.entry.id
            there = url_for("test_it.test", bath=bath, read=read, by=instrument)
            return redirect(there, 303)
        status = 422
    elif request.method == "POST":
        status = 422
    return show(
        "test_it.html", page=_page(look, drawer, instrument, form), nav="room", status=status
    )


def _by_the_way(studio: StudioState | None) -> tuple[str, ...]:
    """Return what moves no figure; a thermometer only where the drawer has one."""
    drawer = studio.instruments if studio else ()
    return tuple(code for code in BY_THE_WAY if code == "look" or code in drawer)


def _page(
    look: BathLook, drawer: tuple[str, ...], instrument: str, form: EntryForm
) -> TestPage:
    bath: BathState = look.state
    no_curve = instrument == "hydrometer" and bath.salt in NO_CURVE
    studio = look.around.studio
    zero = instrument == "hydrometer" and studio is not None and not no_curve
    return TestPage(
        id=bath.id,
        name=bath.name,
        bath_url=f"/baths/{bath.id}",
        tools=tuple(
            Tool(
                name=say.choice(words(), "instrument", code),
                url=url_for("test_it.test", bath=bath.id, by=code),
                here=code == instrument,
            )
            for code in drawer
        ),
        instrument=instrument,
        form=None if no_curve else form,
        read=_read(bath, studio),
        not_by_gravity=say.choice(words(), "salt_short", bath.salt) if no_curve else "",
        zero=_zero(studio) if zero and studio is not None else "",
        zero_due=zero and studio is not None and look_at_zero(studio, now=now()).overdue,
        zero_url=url_for("test_it.zero", studio=bath.studio, bath=bath.id),
        finished=bath.finished_at is not None,
        card=safety_card(words(), "test", studio),
    )


def _read(bath: BathState, studio: StudioState | None) -> ReadingSaid | None:
    """Say what the reading in the address did, if there is one."""
    entry = request.args.get("read", "")
    moved: Moved | None = see_moved(desk().journal, bath.id, entry) if entry else None
    return reading_said(words(), moved, bath.salt) if moved else None


def _zero(studio: StudioState) -> str:
    """Say when the hydrometer was checked and what it then showed."""
    look = look_at_zero(studio, now=now())
    if look.last is None:
        return words().gettext("Its zero in plain tap water was never checked.")
    thousandths = abs(round(look.offset_sg * 1000, 1))
    day = say.ago(words(), look.last.at, now())
    if thousandths < 0.05:
        return words().gettext("Its zero was checked %(ago)s: it shows true.", ago=day)
    off = words().number(thousandths / 1000, 4)
    if look.offset_sg > 0:
        return words().gettext(
            "Its zero was checked %(ago)s: it shows %(off)s too much, and is reckoned so.",
            ago=day,
            off=off,
        )
    return words().gettext(
        "Its zero was checked %(ago)s: it shows %(off)s too little, and is reckoned so.",
        ago=day,
        off=off,
    )


@pages.route("/studios/<studio>/hydrometer", methods=["GET", "POST"])
@needs("instrument.checked")
def zero(studio: str) -> Response:
    state: StudioState = known("studio", studio)
    form = ZeroForm()
    back = _back(state)
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, studio=studio, instrument="hydrometer")
        if written(outcome, words().gettext("Checked. Readings are corrected by it.")):
            return redirect(back, 303)
        status = 422
    elif request.method == "POST":
        status = 422
    page = ZeroPage(
        studio=state.name,
        form=form,
        zero=_zero(state),
        scale=amounts.warmth(words(), state.hydrometer_scale_c),
        back=back,
    )
    return show("zero.html", page=page, nav="room", status=status)


def _back(studio: StudioState) -> str:
    """Return the test of the bath that somebody came from; else this page."""
    bath: Any = desk().journal.state("bath", Subject(request.args.get("bath", "")))
    if bath is None:
        return url_for("test_it.zero", studio=studio.id)
    return url_for("test_it.test", bath=bath.id, by="hydrometer")
