"""A bath: may I use it, and what do I do?"""

from dataclasses import dataclass

from flask import Blueprint, request
from werkzeug.wrappers import Response

from coop.actions.bath_ways import out_of_lots
from coop.actions.chalk import chalky
from coop.actions.follow import alert_of, stopped_since
from coop.actions.look_back import said_before, spoons_weighed, stacks_of
from coop.actions.mend import made_by
from coop.actions.mend import remedies as reckon_remedies
from coop.actions.on_hand import alum_on_hand
from coop.actions.see_baths import BathHistory, look_at_every, see_bath, see_history
from coop.actions.see_faults import see_faults
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.rules.baths import BathLook, turns_at
from coop.rules.reasons import Word
from coop.science.bath_answers import balances
from coop.web import amounts, back, course, history, reasons
from coop.web import words as say
from coop.web.alerts import AlertSaid, WarningSaid, alert_said, warning_said
from coop.web.answers import (
    Undo,
    Why,
    copy_card,
    every_reason,
    go_on,
    may_allow,
    undo_of_bath,
    way_out,
    where,
)
from coop.web.back import BeforeSaid, StacksSaid
from coop.web.charts import DrawnChart
from coop.web.cold_store import bath_text
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.history import Line
from coop.web.liquid_facts import temperature
from coop.web.lots import WaySaid
from coop.web.mending import RemedySaid, remedy_said
from coop.web.moments import Asked, asked
from coop.web.page import desk, known_alum, needs, new_id, now, show, today, words
from coop.web.paper_notes import chalk_texts
from coop.web.pouring import Flow, flows
from coop.web.reasons import Telling
from coop.web.told import bath_url, kept_text, tag_act, telling, to_hang
from coop.web.went import lots_said

HISTORY_SHOWN = 40
FINISHED_SHOWN = 200
SALT_WORTH_SAYING_G = 10.0
WATER_WORTH_SAYING_ML = 500.0

pages = Blueprint("bath", __name__)

Fact = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """Where some of the water and the alum went."""

    what: str
    water: str
    alum: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WentTable:
    """Where the water and the alum went, and out of which lots the alum came."""

    water_unit: str
    alum_unit: str
    rows: tuple[Went, ...]
    lots: tuple[WaySaid, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPage:
    id: str
    name: str
    where: str
    word: str
    why: str
    how: str
    kept_for: str
    reasons: tuple[Why, ...]
    turns: str
    main_acts: tuple[tuple[str, str, bool], ...]
    other_acts: tuple[tuple[str, str], ...]
    finished: bool
    open: bool
    care_id: str
    level_l: float
    brim_l: float | None
    numbers: tuple[Fact, ...]
    papers: tuple[str, ...]
    plain: str
    remedies: tuple[RemedySaid, ...]
    mend_here: bool
    charts: tuple[DrawnChart, ...]
    went: WentTable
    asked: Asked
    before: BeforeSaid | None
    stacks: StacksSaid | None
    flows: tuple[Flow, ...]
    alert: AlertSaid | None
    warning: WarningSaid | None
    faults: FaultsSaid | None
    history: tuple[Line, ...]
    older_count: int
    undo: Undo | None

    @property
    def to_hang(self) -> str:
        """Where its tag is printed while somebody has just to hang it, else nothing."""
        return to_hang(self.id, self.word, len(self.history) + self.older_count)


@pages.get("/baths/<bath>")
@needs("read")
def bath(bath: object) -> Response:
    state = known_alum(str(bath))
    look = see_bath(desk().journal, state, now=now())
    page = _page(look, see_history(desk().journal, state.id))
    return show("bath.html", page=page, nav="room")


def _page(look: BathLook, seen: BathHistory) -> BathPage:
    state, tell, remedies = look.state, telling(), _remedies(look, seen)
    weighed = spoons_weighed(desk().journal, seen)
    items = history.items(seen, weighed)
    shown = items if request.args.get("all") == "1" else items[:HISTORY_SHOWN]
    return BathPage(
        id=state.id,
        name=words().gettext("Alum %(name)s", name=state.name),
        where=where(look),
        word=look.answer.word.value,
        why=reasons.why(tell, look),
        how=reasons.how_known(tell, look.answer.how_known),
        kept_for=kept_text(state.kept_for),
        reasons=every_reason(tell, look),
        turns=_turns(tell, look),
        main_acts=_main_acts(look),
        other_acts=_other_acts(look, remedies),
        finished=state.finished_at is not None,
        open=state.open,
        care_id=new_id(),
        level_l=look.strength.volume_l,
        brim_l=_brim_l(look),
        numbers=_numbers(look),
        papers=_papers(tell, look),
        plain=_plain(look),
        remedies=remedies,
        mend_here=_mend_here(look, remedies),
        charts=course.draw(words(), look, seen, now=now()),
        went=_went(look),
        asked=asked(look),
        before=back.before_said(state.id, said_before(desk().journal, state.id, seen, weighed)),
        stacks=_stacks(tell, state),
        alert=_alert(state),
        warning=warning_said(state),
        faults=faults_said(words(), see_faults(desk().journal, "bath", state.id)),
        flows=flows(words(), state.id, (step.entry for step in seen.steps)),
        history=history.lines(shown),
        older_count=len(items) - len(shown),
        undo=undo_of_bath(state.id, items),
    )


def _brim_l(look: BathLook) -> float | None:
    vessel = look.around.vessel
    return vessel.brim_ml / 1000 if vessel else None


def _alert(state: BathState) -> AlertSaid | None:
    found = alert_of(desk().journal, state)
    return alert_said(found) if found else None


def _turns(tell: Telling, look: BathLook) -> str:
    if look.answer.word in (Word.DO_NOT_USE, Word.FINISHED):
        return ""
    return reasons.turns(tell, turns_at(look.state, look.around, now=now()))


def _main_acts(look: BathLook) -> tuple[tuple[str, str, bool], ...]:
    """Return at most two buttons: what this word asks for, and sheets through."""
    walk = go_on(look.state)
    if walk and look.answer.word is not Word.FINISHED:
        return (*walk, (words().gettext("Test it"), f"/baths/{look.state.id}/test", False))
    here = f"/baths/{look.state.id}"
    sheets = (words().gettext("Sheets through"), f"{here}/sheets")
    test = (words().gettext("Test it"), f"{here}/test")
    word, acts = look.answer.word, look.answer.next_acts
    if word is Word.FINISHED:
        return way_out(look.state)
    if word in (Word.GOOD, Word.RESTING):
        return (*sheets, True), (*test, False)
    if look.state.stop is not None:
        return _acts_of_stopped(look)
    first = reasons.act(words(), acts[0], look.state.id) if acts else test
    return (*first, True), (*sheets, False)


def _acts_of_stopped(look: BathLook) -> tuple[tuple[str, str, bool], ...]:
    """Return what a bath that a person stopped asks for: proof, then to be allowed again."""
    bath = look.state.id
    strip = reasons.act(words(), "strip-print", bath)
    if may_allow(look.state):
        return (*reasons.act(words(), "allow-again", bath), True), (*strip, False)
    return (*strip, True), (words().gettext("Open history"), f"/baths/{bath}#history", False)


def _mend_here(look: BathLook, remedies: tuple[RemedySaid, ...]) -> bool:
    """Say whether the button to mend stands beside the remedies: it stands once on a page."""
    mend = f"/baths/{look.state.id}/mend"
    return bool(remedies) and all(url != mend for _, url, _ in _main_acts(look))


def _other_acts(
    look: BathLook, remedies: tuple[RemedySaid, ...]
) -> tuple[tuple[str, str], ...]:
    if look.answer.word is Word.FINISHED:
        return ()
    here = f"/baths/{look.state.id}"
    every = [
        (words().gettext("Sheets through"), f"{here}/sheets"),
        *copy_card(look.state),
        *(reasons.act(words(), code, look.state.id) for code in look.answer.next_acts),
        (words().gettext("Test it"), f"{here}/test"),
        (words().gettext("Mend it"), f"{here}/mend"),
        (words().gettext("Pour or carry it"), f"{here}/pour"),
        (words().gettext("Keep it for somebody"), f"{here}/keep"),
        (words().gettext("Lid, cold and straining"), f"{here}/care"),
        tag_act(look.state),
        (words().gettext("Finish it"), f"{here}/finish"),
    ]
    if look.state.stop is None:
        every.append((words().gettext("Stop it"), f"{here}/stop"))
    elif may_allow(look.state):
        every.append((words().gettext("Allow it again"), f"{here}/allow"))
    taken = {url for _, url, _ in _main_acts(look)}
    hidden = taken if may_allow(look.state) else {*taken, f"{here}/allow"}
    if _mend_here(look, remedies):
        hidden.add(f"{here}/mend")
    left = {url: text for text, url in reversed(every) if url not in hidden}
    return tuple((text, url) for url, text in reversed(left.items()))


def _numbers(look: BathLook) -> tuple[Fact, ...]:
    known_now = look.strength
    return (
        (
            words().gettext("Strength"),
            amounts.strength(
                words(), known_now.middle_g_per_l, known_now.low_g_per_l, known_now.high_g_per_l
            ),
        ),
        (
            words().gettext("In the tub"),
            amounts.volume_range(
                words(),
                1000 * known_now.volume_l,
                1000 * known_now.volume_low_l,
                1000 * known_now.volume_high_l,
            ),
        ),
        (words().gettext("Sheets left"), _sheets_left(look)),
        (words().gettext("Judged by"), _lines(look)),
        (words().gettext("Salt"), say.choice(words(), "salt", look.state.salt)),
        (words().gettext("In the coldest night"), _cold(look)),
        (words().gettext("Went through"), _through(look.state)),
        (words().gettext("Temperature"), temperature(look.state.temperature_c)),
    )


def _cold(look: BathLook) -> str:
    if look.state.finished_at is not None:
        return ""
    strength = look.strength.middle_g_per_l
    return bath_text(words(), strength, look.state.salt, look.around.studio)


def _sheets_left(look: BathLook) -> str:
    left = look.sheets_left
    if look.state.finished_at is not None:
        return ""
    if left is None:
        return words().gettext("nobody said how deep it must stand to lay a sheet")
    return words().gettext(
        "about %(sheets)s by %(method)s, at least %(low)s",
        sheets=say.sheets(words(), left.middle, look.sheet_format),
        method=say.choice(words(), "method", look.method),
        low=left.low,
    )


def _lines(look: BathLook) -> str:
    lines = look.answer.lines
    if lines is None:
        return words().gettext("nothing: nobody said how strong it should be")
    return words().gettext(
        "target %(target)s, look again under %(look)s, not to be used under %(stop)s "
        "(%(source)s)",
        target=amounts.g_per_l(words(), lines.target_g_per_l),
        look=amounts.strength_figure(words(), lines.look_again_g_per_l),
        stop=amounts.strength_figure(words(), lines.do_not_use_g_per_l),
        source=words().gettext(reasons.SOURCES[lines.source]),
    )


def _through(state: BathState) -> str:
    counts = (
        ("full", state.full_count),
        ("half", state.half_count),
        ("quarter", state.quarter_count),
    )
    told = [say.sheets(words(), count, name) for name, count in counts if count]
    return ", ".join(told) or words().gettext("none")


def _plain(look: BathLook) -> str:
    plain = look.state.estimate.plain
    return words().gettext(
        "By hand, nothing dried up: %(strength)s in %(litres)s.",
        strength=amounts.g_per_l(words(), plain.strength_g_per_l, 1),
        litres=amounts.volume(words(), plain.volume_ml, 1),
    )


def _remedies(look: BathLook, seen: BathHistory) -> tuple[RemedySaid, ...]:
    """Say what brings it back to its target: alum alone, then at the litres it once had."""
    if look.answer.word is Word.FINISHED:
        return ()
    made = made_by(step.entry.content for step in seen.steps)
    lots = alum_on_hand(desk().journal, look.state.studio, today=today())
    house = look.around.house
    found = reckon_remedies(look, lots, house, goal_ml=made.water_ml, own=made.lots)
    return tuple(
        remedy_said(words(), one)
        for one in found
        if one.salt_g >= SALT_WORTH_SAYING_G or one.water_ml >= WATER_WORTH_SAYING_ML
    )


def _went(look: BathLook) -> WentTable:
    water, salt = balances(estimate=look.state.estimate)
    rows = (
        (words().gettext("put in"), "came_in"),
        (words().gettext("off with sheets"), "off_with_sheets"),
        (words().gettext("dried up"), "to_air"),
        (words().gettext("bound by paper and chalk"), "bound"),
        (words().gettext("poured out"), "poured_out"),
        (words().gettext("unexplained by readings"), "unexplained"),
        (words().gettext("left"), "left"),
    )
    litres, grams = amounts.measure(words(), "L", 2), amounts.measure(words(), "g", 1)
    return WentTable(
        water_unit=words().gettext(litres.unit),
        alum_unit=words().gettext(grams.unit),
        rows=tuple(
            Went(
                what=text,
                water=words().number(litres.of(getattr(water, name) / 1000), litres.digits),
                alum=words().number(grams.of(getattr(salt, name)), grams.digits),
            )
            for text, name in rows
        ),
        lots=lots_said(words(), out_of_lots(desk().journal, look.state.id)),
    )


def _papers(tell: Telling, look: BathLook) -> tuple[str, ...]:
    """Say which papers it is good for, and what the chalk of some may take of it."""
    if look.answer.word is Word.FINISHED:
        return ()
    chalk = chalk_texts(words(), chalky(look.state, look.around.papers))
    return (*reasons.papers(tell, look), *chalk)


def _stacks(tell: Telling, state: BathState) -> StacksSaid | None:
    found = stacks_of(desk().journal, state.id)
    return back.stacks_said(tell, found, stopped=stopped_since(state) if state.stop else None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One bath in the list of all."""

    name: str
    url: str
    word: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BathsPage:
    open: tuple[Listed, ...]
    finished: tuple[Listed, ...]
    older_count: int


@pages.get("/baths")
@needs("read")
def baths() -> Response:
    journal = desk().journal
    every: tuple[AnyBath, ...] = journal.listed("bath", live=False)
    newest = sorted(every, key=lambda one: one.mixed_at, reverse=True)
    finished = [one for one in newest if one.finished_at is not None]
    in_use = [one for one in newest if one.finished_at is None]
    looks = look_at_every(journal, in_use, now=now())
    page = BathsPage(
        open=tuple(_listed(one.state, one.answer.word) for one in looks),
        finished=tuple(_listed(one, Word.FINISHED) for one in finished[:FINISHED_SHOWN]),
        older_count=max(0, len(finished) - FINISHED_SHOWN),
    )
    return show("baths.html", page=page, nav="room")


def _listed(state: AnyBath, word: Word) -> Listed:
    if state.finished_at is None:
        text = words().gettext("mixed %(day)s", day=words().day(state.mixed_at))
    else:
        text = words().gettext(
            "mixed %(day)s, finished %(end)s (%(why)s)",
            day=words().day(state.mixed_at),
            end=words().day(state.finished_at),
            why=say.choice(words(), "finish_reason", state.finish_reason),
        )
    return Listed(
        name=say.bath_name(words(), state.what, state.name),
        url=bath_url(state),
        word=word.value,
        text=text,
    )
