"""Look at a bath that is not alum: from its folded state to the word, litres and age."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType

from coop.ledger import states
from coop.ledger.liquids import SIZE, DropTest, LiquidState, brought_to
from coop.ledger.measure import area_of_m2, laying_ml
from coop.ledger.states import HouseState, PaperState, RecipeState, StudioState, VesselState
from coop.rules import liquids, use
from coop.rules.baths import TURNS_WITHIN_DAYS, limits_of, stop_of
from coop.rules.liquids import Keeps, LiquidFacts, answer_liquid
from coop.rules.use import Answer
from coop.science.bath import PICKUP_DIP_ML_PER_M2
from coop.science.defaults import default
from coop.science.keeping import HOURS_MAX, warm_days
from coop.science.size import VOLUME_MAX_ML, SheetsHint, sheets_hint

HOURS_PER_DAY = 24
GoodDays = Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidAround:
    """
    What such a bath is judged by besides itself; what is None was never said.

    `good_days` are the run-out times [s] of sizes that printed well, by funnel.
    """

    vessel: VesselState | None = None
    studio: StudioState | None = None
    recipe: RecipeState | None = None
    house: HouseState | None = None
    paper: PaperState | None = None
    good_days: GoodDays = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidLook:
    """
    A bath that is not alum at a moment.

    Attributes:
        state: The bath, brought to `at` as if nothing had been done since its last entry.
        warm_days: What its age comes to, a chilled day counting less [day].
        sheets_left: A hint of sheets of `sheet_format` that a size still lays.
    """

    at: datetime
    state: LiquidState
    around: LiquidAround
    answer: Answer
    age_days: float
    warm_days: float
    chilled_days: float
    sheets_left: SheetsHint | None
    sheet_format: str


def look_again_warm_days(look: LiquidLook) -> float:
    """Return the warm days at which a size is looked at again: its recipe's, or the house's."""
    of_recipe = _keeps(look.around.recipe).look_again_warm_days
    if of_recipe is not None:
        return of_recipe
    return limits_of(look.around.house).size_look_again_warm_days


def look_at_liquid(state: LiquidState, around: LiquidAround, *, at: datetime) -> LiquidLook:
    """Return such a bath at a moment, with its word, numbers and reasons."""
    moved = _moved(state, around, at)
    facts = facts_of(moved, around)
    last = moved.through[-1] if moved.through else None
    sheet_format = last.sheet_format if last else "half"
    return LiquidLook(
        at=at,
        state=moved,
        around=around,
        answer=answer_liquid(facts, limits_of(around.house), at),
        age_days=facts.age_days,
        warm_days=facts.warm_days,
        chilled_days=facts.chilled_days,
        sheets_left=_sheets_left(moved, around, sheet_format),
        sheet_format=sheet_format,
    )


def _moved(state: LiquidState, around: LiquidAround, at: datetime) -> LiquidState:
    area = around.vessel.area_m2 if around.vessel else None
    return brought_to(state, at, area_m2=area)


def facts_of(state: LiquidState, around: LiquidAround) -> LiquidFacts:
    """Return what the rules ask for of a state that was brought to its moment."""
    is_size = state.what == SIZE
    drop = state.drops[-1] if state.drops else None
    return LiquidFacts(
        kind=state.what,
        mixed_at=state.mixed_at,
        age_days=(state.at - state.mixed_at).total_seconds() / 3600 / HOURS_PER_DAY,
        warm_days=_warm(state.room_h, state.chilled_h) if is_size else 0.0,
        chilled_days=state.chilled_h / HOURS_PER_DAY if is_size else 0.0,
        volume_l=state.volume_ml / 1000,
        laying_l=size_laying_l(around) if is_size else None,
        finished_at=state.finished_at,
        rest_until=state.rest_until,
        stop=None if state.stop is None else stop_of(state.stop),
        kept_for=_kept_for(state.kept_for, state.at),
        drop=_drop(drop) if drop and is_size else None,
        look=_looked(state.looked),
        smell=_smelled(state.smelled),
        run_out=_run_out(state, around) if is_size else None,
        warmth=_warmth(state) if is_size else None,
        chilled=state.chilled,
        alum_carried_g=_alum_carried(state, around) if is_size else None,
        recipe=_keeps(around.recipe),
    )


def _warm(room_h: float, chilled_h: float) -> float:
    """Return warm days; what was forgotten for years is as old as it can be told."""
    return warm_days(room_h=min(room_h, HOURS_MAX), chilled_h=min(chilled_h, HOURS_MAX))


def size_laying_l(around: LiquidAround) -> float | None:
    """Return what must stand in a tray to lay a sheet: by the vessel, or the house's depth."""
    found = laying_ml(around.vessel, depth_mm=limits_of(around.house).laying_depth_mm)
    return None if found is None else found / 1000


def _kept_for(kept: states.KeptFor | None, at: datetime) -> liquids.KeptFor | None:
    """Return for whom a bath is kept, unless that is over."""
    if kept is None or (kept.until is not None and kept.until <= at):
        return None
    return liquids.KeptFor(member=kept.member or "", session=kept.session, until=kept.until)


def _drop(test: DropTest) -> liquids.DropTest:
    return liquids.DropTest(
        outcome=liquids.Drop(test.outcome),
        spread_mm=test.spread_mm,
        at=test.at,
        warm_days_then=_warm(test.room_h, test.chilled_h),
    )


def _looked(seen: states.Seen | None) -> liquids.Looked | None:
    return None if seen is None else liquids.Looked(liquids.Look(seen.outcome), seen.at)


def _smelled(seen: states.Seen | None) -> liquids.Smelled | None:
    return None if seen is None else liquids.Smelled(liquids.Smell(seen.outcome), seen.at)


def _warmth(state: LiquidState) -> liquids.Warmth | None:
    if state.temperature_c is None or state.temperature_at is None:
        return None
    return liquids.Warmth(state.temperature_c, state.temperature_at)


def _run_out(state: LiquidState, around: LiquidAround) -> liquids.RunOut | None:
    if not state.run_outs:
        return None
    last = state.run_outs[-1]
    low_s, high_s = around.good_days.get(last.funnel, (None, None))
    return liquids.RunOut(
        run_out_s=last.seconds, funnel=last.funnel, low_s=low_s, high_s=high_s, at=last.at
    )


def _alum_carried(state: LiquidState, around: LiquidAround) -> tuple[float, float] | None:
    """Return grams of alum that damp sheets may have left in a size, least and most."""
    limits = limits_of(around.house)
    if not state.damp_m2 or limits.target_g_per_l is None:
        return None
    share = default("alum_carried_damp_fraction")
    on_sheets_g = state.damp_m2 * PICKUP_DIP_ML_PER_M2.middle / 1000 * limits.target_g_per_l
    return on_sheets_g * share.low, on_sheets_g * share.high


def _keeps(recipe: RecipeState | None) -> Keeps:
    if recipe is None:
        return Keeps()
    return Keeps(
        look_again_warm_days=recipe.look_again_warm_days,
        do_not_use_warm_days=recipe.do_not_use_warm_days,
        cap_days=recipe.cap_days,
    )


def _sheets_left(
    state: LiquidState, around: LiquidAround, sheet_format: str
) -> SheetsHint | None:
    laying_l = size_laying_l(around)
    if state.what != SIZE or laying_l is None:
        return None
    return sheets_hint(
        volume_ml=min(state.volume_ml, VOLUME_MAX_ML),
        laying_ml=laying_l * 1000,
        sheet_area_m2=area_of_m2(around.paper, sheet_format),
    )


def liquid_turns_at(
    state: LiquidState,
    around: LiquidAround,
    *,
    now: datetime,
    within_days: int = TURNS_WITHIN_DAYS,
) -> tuple[datetime, Answer] | None:
    """Return when the word would change if nobody did anything, and the answer from then."""
    limits = limits_of(around.house)

    def answer_at(at: datetime) -> Answer:
        return answer_liquid(facts_of(_moved(state, around, at), around), limits, at)

    facts = facts_of(_moved(state, around, now), around)
    return use.turns_at(answer_at, now, liquids.turning_points(facts, limits, now), within_days)
