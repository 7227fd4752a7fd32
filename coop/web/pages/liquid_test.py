"""Test a bath that is not alum: a drop, the run-out time, a look, a smell, the level."""

from dataclasses import dataclass

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response

from coop.actions.see_liquid_history import LiquidMoved, see_liquid_moved
from coop.actions.see_liquids import see_liquid
from coop.actions.write import Written
from coop.ledger.liquids import SIZE
from coop.ledger.states import StudioState
from coop.rules.liquid_looks import LiquidLook
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import written
from coop.web.instruments import FunnelForm, ReadingForm, reading_form
from coop.web.liquid_facts import run_out
from coop.web.page import desk, known_liquid, needs, now, show, words, writing
from coop.web.told import act_on, bath_url, telling

OF_SIZE = ("drop_test", "look", "smell", "funnel", "thermometer", "tape_line", "dipstick")
OF_OTHERS = ("look", "smell", "thermometer", "tape_line", "dipstick")
NO_TOOL = frozenset({"drop_test", "look", "smell"})
"""What takes nothing out of a drawer."""
LEVELS = frozenset({"tape_line", "dipstick"})

pages = Blueprint("liquid_test", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """A way to test, as a choice."""

    name: str
    url: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedSaid:
    """What a test did to the answer: words before and after, why, and what to do next."""

    before: str
    after: str
    why: str
    figures: tuple[str, ...]
    acts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidTestPage:
    """`ask_tag`: before a smell, whether the tag can be read; there is no form until then."""

    id: str
    name: str
    bath_url: str
    tools: tuple[Tool, ...]
    instrument: str
    form: ReadingForm | None
    ask_tag: bool
    tag_read_url: str
    funnels: tuple[str, ...]
    moved: MovedSaid | None
    finished: bool
    card: SafetyCard


@pages.route("/liquids/<bath>/test", methods=["GET", "POST"])
@needs("reading.taken")
def test(bath: str) -> Response:
    look = see_liquid(desk().journal, known_liquid(bath), now=now())
    tools = OF_SIZE if look.state.what == SIZE else OF_OTHERS
    instrument = request.args.get("by", tools[0])
    if instrument not in tools:
        abort(404)
    form = _form(instrument, look)
    if form is not None and form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, bath=bath)
        if written(outcome, words().gettext("Written.")) and isinstance(outcome, Written):
            read = outcome.sealed.entry.id
            there = url_for("liquid_test.test", bath=bath, read=read, by=instrument)
            return redirect(there, 303)
    status = 422 if request.method == "POST" else 200
    return show(
        "liquid_test.html", page=_page(look, tools, instrument, form), nav="room", status=status
    )


def _form(instrument: str, look: LiquidLook) -> ReadingForm | None:
    """Return the form of an instrument; none of a smell before the tag was read."""
    if instrument == "smell" and request.args.get("tag") != "yes":
        return None
    form = reading_form(instrument)
    if isinstance(form, FunnelForm) and not form.is_submitted() and look.state.run_outs:
        form.funnel.data = look.state.run_outs[-1].funnel
    return form


def _page(
    look: LiquidLook, tools: tuple[str, ...], instrument: str, form: ReadingForm | None
) -> LiquidTestPage:
    state, studio = look.state, look.around.studio
    return LiquidTestPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        bath_url=bath_url(state),
        tools=tuple(
            Tool(
                name=say.choice(words(), "instrument", code),
                url=url_for("liquid_test.test", bath=state.id, by=code),
                here=code == instrument,
            )
            for code in _at_hand(tools, studio)
        ),
        instrument=instrument,
        form=form,
        ask_tag=form is None,
        tag_read_url=url_for("liquid_test.test", bath=state.id, by="smell", tag="yes"),
        funnels=tuple(dict.fromkeys(one.funnel for one in reversed(state.run_outs))),
        moved=_moved(look),
        finished=state.finished_at is not None,
        card=safety_card(words(), "test-liquid", studio),
    )


def _at_hand(tools: tuple[str, ...], studio: StudioState | None) -> tuple[str, ...]:
    drawer = studio.instruments if studio else ()
    return tuple(code for code in tools if code in NO_TOOL or code in drawer)


def _moved(look: LiquidLook) -> MovedSaid | None:
    """Say what the test in the address did, if there is one."""
    entry = request.args.get("read", "")
    moved = see_liquid_moved(desk().journal, look.state, entry) if entry else None
    if moved is None:
        return None
    after = moved.after
    acts = (act_on(code, look.state) for code in look.answer.next_acts if code != "wait")
    return MovedSaid(
        before=moved.before.answer.word.value,
        after=after.answer.word.value,
        why=reasons.why(telling(), after),
        figures=_figures(moved),
        acts=tuple(acts),
    )


def _figures(moved: LiquidMoved) -> tuple[str, ...]:
    """Say what the test moved besides the word."""
    if moved.findings:
        return tuple(reasons.finding(words(), code) for code in moved.findings)
    if moved.said.instrument == "funnel":
        return (run_out(telling(), moved.after),)
    if moved.said.instrument in LEVELS:
        told = words().gettext(
            "Before: about %(before)s. Now: about %(after)s.",
            before=amounts.volume(words(), moved.before.state.volume_ml),
            after=amounts.volume(words(), moved.after.state.volume_ml),
        )
        return (told,)
    return ()
