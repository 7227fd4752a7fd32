"""A bath that is not alum: may I use this size, and what do I do?"""

from dataclasses import dataclass

from flask import Blueprint, request
from werkzeug.wrappers import Response

from coop.actions.bath_ways import liquid_ways, out_of_lots
from coop.actions.follow import alert_of
from coop.actions.see_faults import see_faults
from coop.actions.see_liquid_history import LiquidHistory, see_liquid_history
from coop.actions.see_liquids import see_liquid
from coop.ledger.liquids import SIZE, Laid, LiquidState
from coop.rules.liquid_looks import LiquidLook, liquid_turns_at
from coop.rules.reasons import Word
from coop.web import history, liquid_course, reasons
from coop.web import words as say
from coop.web.alerts import AlertSaid, WarningSaid, alert_said, warning_said
from coop.web.answers import (
    Undo,
    Why,
    copy_card,
    evening,
    every_reason,
    may_allow,
    undo_of_bath,
    way_out,
    where,
)
from coop.web.charts import DrawnChart
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.history import Line
from coop.web.liquid_facts import Fact, facts, laid_text
from coop.web.moments import Asked, asked
from coop.web.page import (
    desk,
    face,
    faces,
    known_liquid,
    needs,
    new_id,
    now,
    show,
    words,
)
from coop.web.pouring import Flow, flows
from coop.web.reasons import Telling
from coop.web.told import act_on, bath_url, kept_text, tag_act, telling, to_hang
from coop.web.went import LiquidWent, liquid_went

HISTORY_SHOWN = 40
LAID_SHOWN = 40

pages = Blueprint("liquid", __name__)

Act = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidSaid:
    """Sheets that were laid on a size, and the address of their stack."""

    text: str
    url: str
    when: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidList:
    """What was laid on a size: the area of all, the newest line by line."""

    area: str
    lines: tuple[LaidSaid, ...]
    more_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidPage:
    """`care_id` is the id of the entry that a tap on the lid or the cold would write."""

    id: str
    name: str
    where: str
    word: str
    why: str
    age: str
    how: str
    kept_for: str
    reasons: tuple[Why, ...]
    turns: str
    main_acts: tuple[tuple[str, str, bool], ...]
    other_acts: tuple[Act, ...]
    finished: bool
    open: bool
    chilled: bool
    is_size: bool
    card_url: str
    care_id: str
    level_l: float
    brim_l: float | None
    numbers: tuple[Fact, ...]
    charts: tuple[DrawnChart, ...]
    asked: Asked
    went: LiquidWent
    laid: LaidList | None
    alert: AlertSaid | None
    warning: WarningSaid | None
    faults: FaultsSaid | None
    flows: tuple[Flow, ...]
    history: tuple[Line, ...]
    older_count: int
    undo: Undo | None

    @property
    def to_hang(self) -> str:
        """Where its tag is printed while somebody has just to hang it, else nothing."""
        return to_hang(self.id, self.word, len(self.history) + self.older_count)


@pages.get("/liquids/<bath>")
@needs("read")
def liquid(bath: str) -> Response:
    state = known_liquid(bath)
    look = see_liquid(desk().journal, state, now=now())
    page = _page(look, see_liquid_history(desk().journal, state.id))
    return show("liquid.html", page=page, nav="room")


def _page(look: LiquidLook, seen: LiquidHistory) -> LiquidPage:
    state, tell = look.state, telling()
    dropped, laid = ([one.by for one in some] for some in (state.drops, state.laid))
    faces().gather([state.hands.by, *dropped, *laid])
    items = history.items(seen)
    shown = items if request.args.get("all") == "1" else items[:HISTORY_SHOWN]
    return LiquidPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        where=where(look),
        word=look.answer.word.value,
        why=reasons.why(tell, look),
        age="" if _says_its_age(look) else reasons.age(tell, look),
        how=reasons.how_known(tell, look.answer.how_known),
        kept_for=kept_text(state.kept_for),
        reasons=every_reason(tell, look),
        turns=_turns(tell, look),
        main_acts=_main_acts(look),
        other_acts=_other_acts(look),
        finished=state.finished_at is not None,
        open=state.open,
        chilled=state.chilled,
        is_size=state.what == SIZE,
        card_url=f"/safety/bath_{state.what}",
        care_id=new_id(),
        level_l=state.volume_ml / 1000,
        brim_l=_brim_l(look),
        numbers=facts(tell, look),
        charts=liquid_course.draw(words(), look, seen, now=now()),
        asked=asked(look),
        went=_went(state, seen),
        laid=_all_laid(tell, state),
        alert=_alert(state),
        warning=warning_said(state),
        faults=_faults(state),
        flows=flows(words(), state.id, (step.entry for step in seen.steps)),
        history=history.lines(shown),
        older_count=len(items) - len(shown),
        undo=undo_of_bath(state.id, items),
    )


def _went(state: LiquidState, seen: LiquidHistory) -> LiquidWent:
    """Say where its water and powder went, up to now."""
    journal = desk().journal
    ways = liquid_ways(journal, seen.steps, state)
    return liquid_went(words(), ways, state, out_of_lots(journal, state.id))


def _brim_l(look: LiquidLook) -> float | None:
    vessel = look.around.vessel
    return vessel.brim_ml / 1000 if vessel else None


def _alert(state: LiquidState) -> AlertSaid | None:
    found = alert_of(desk().journal, state)
    return alert_said(found) if found else None


def _faults(state: LiquidState) -> FaultsSaid | None:
    """Say how the sheets came out that were laid on a size."""
    if state.what != SIZE:
        return None
    return faults_said(words(), see_faults(desk().journal, "size", state.id))


def _says_its_age(look: LiquidLook) -> bool:
    """Say whether the sentence why is already about the days, or they do not count."""
    if look.answer.word is Word.FINISHED:
        return True
    return not any(one.word is not None for one in look.answer.reasons)


def _turns(tell: Telling, look: LiquidLook) -> str:
    if look.answer.word in (Word.DO_NOT_USE, Word.FINISHED):
        return ""
    return reasons.turns(tell, liquid_turns_at(look.state, look.around, now=now()))


def _lay(state: LiquidState) -> Act:
    return words().gettext("Lay sheets"), f"{bath_url(state)}/lay"


def _test(state: LiquidState) -> Act:
    return words().gettext("Test it"), f"{bath_url(state)}/test"


def _main_acts(look: LiquidLook) -> tuple[tuple[str, str, bool], ...]:
    """Return at most two buttons: what this word asks for first."""
    state, word, acts = look.state, look.answer.word, _next_acts(look)
    usual = _lay(state) if state.what == SIZE else _test(state)
    if word is Word.FINISHED:
        return way_out(look.state)
    if word is Word.GOOD and look.state.chilled and acts:
        return (*acts[0], True), (*usual, False)
    if word is Word.GOOD:
        return ((*usual, True), *((*one, False) for one in (_test(state),) if one != usual))
    if word is Word.RESTING:
        return ((*_test(state), False),)
    if state.stop is not None:
        return _acts_of_stopped(look)
    first = acts[0] if acts else _test(state)
    return (*first, True), *((*one, False) for one in (usual,) if one[1] != first[1])


def _acts_of_stopped(look: LiquidLook) -> tuple[tuple[str, str, bool], ...]:
    """Return what a bath that a person stopped asks for: proof, then to be allowed again."""
    state = look.state
    test = act_on("drop-test" if state.what == SIZE else "look-at-it", state)
    if may_allow(state):
        return (*act_on("allow-again", state), True), (*test, False)
    opens = words().gettext("Open history"), f"{bath_url(state)}#history"
    return (*test, True), (*opens, False)


def _next_acts(look: LiquidLook) -> tuple[Act, ...]:
    codes = (code for code in look.answer.next_acts if code != "wait")
    return tuple(act_on(code, look.state) for code in codes)


def _other_acts(look: LiquidLook) -> tuple[Act, ...]:
    """Return everything else that may be done, each address once."""
    state = look.state
    if look.answer.word is Word.FINISHED:
        return ()
    here = f"/baths/{state.id}"
    every = [
        *((_lay(state),) if state.what == SIZE else ()),
        *copy_card(state),
        *_next_acts(look),
        _test(state),
        (words().gettext("Mend it"), f"{bath_url(state)}/mend"),
        (words().gettext("Pour or carry it"), f"{here}/pour"),
        (words().gettext("Keep it for somebody"), f"{here}/keep"),
        tag_act(state),
        (words().gettext("Finish it"), f"{here}/finish"),
        *evening(state),
    ]
    if state.stop is None:
        every.append((words().gettext("Stop it"), f"{here}/stop"))
    elif may_allow(state):
        every.append((words().gettext("Allow it again"), f"{here}/allow"))
    hidden = {url for _, url, _ in _main_acts(look)}
    if not may_allow(state):
        hidden.add(f"{here}/allow")
    left = {url: text for text, url in reversed(every) if url not in hidden}
    return tuple((text, url) for url, text in reversed(left.items()))


def _all_laid(tell: Telling, state: LiquidState) -> LaidList | None:
    if not state.laid:
        return None
    return LaidList(
        area=laid_text(state),
        lines=tuple(_laid(tell, one) for one in reversed(state.laid[-LAID_SHOWN:])),
        more_count=max(0, len(state.laid) - LAID_SHOWN),
    )


def _laid(tell: Telling, one: Laid) -> LaidSaid:
    sheets = say.sheets(words(), one.sheet_count, one.sheet_format)
    text = words().gettext("%(sheets)s, damp", sheets=sheets) if one.damp else sheets
    return LaidSaid(
        text=text,
        url=f"/stacks/{one.stack}",
        when=tell.when(one.at, one.precision),
        by=face(one.by).name,
    )
