"""A bath as it is looked at: brought to a moment, measured against its lines, answered."""

from dataclasses import dataclass
from datetime import datetime

from coop.ledger.baths import BathState, brought_to
from coop.ledger.descriptions import WHOLE_DAYS
from coop.ledger.measure import FRACTION_OF_PARENT, habit_name, laying_ml, pickup_of
from coop.ledger.states import (
    HouseState,
    PaperState,
    RecipeState,
    Stop,
    StudioState,
    VesselState,
)
from coop.rules import use
from coop.rules.limits import Limits, Strength
from coop.rules.use import Answer, HowKnown, Known, PaperAnswer, PaperFloor, UseFacts
from coop.science import bath_answers
from coop.science.bath_answers import SheetsLeft, ToTarget
from coop.science.paper import sheet_area_m2

TURNS_WITHIN_DAYS = 60
OPTIONAL_LIMITS = (
    "size_look_again_warm_days",
    "size_do_not_use_warm_days",
    *WHOLE_DAYS,
)
FAR_OVER_TIMES, FAR_OVER_SHEETS = 2, 30
"""A count over so many times what is left, and so many sheets over it, is asked about."""
NO_CURVE = frozenset({"ammonium_alum"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a bath is judged by besides itself; what is None was never said."""

    vessel: VesselState | None = None
    studio: StudioState | None = None
    recipe: RecipeState | None = None
    house: HouseState | None = None
    papers: tuple[PaperState, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BathLook:
    """
    A bath at a moment.

    Attributes:
        state: The bath, brought to `at` as if nothing had been done since its last entry.
        sheets_left: How many sheets of `sheet_format` by `method` it still lays, of the
            format and method last used; None when nobody said how deep it must stand.
    """

    at: datetime
    state: BathState
    around: Around
    strength: bath_answers.Strength
    answer: Answer
    papers: tuple[PaperAnswer, ...]
    sheets_left: SheetsLeft | None
    sheet_format: str
    method: str


def look_at(state: BathState, around: Around, *, at: datetime) -> BathLook:
    """Return a bath at a moment, with its word, numbers and reasons."""
    moved = brought_to(state, at, area_m2=around.vessel.area_m2 if around.vessel else None)
    limits = limits_of(around.house)
    facts = _facts(moved, around, limits)
    last = moved.through[-1] if moved.through else None
    sheet_format = last.sheet_format if last else "half"
    method = last.method if last else "dip"
    return BathLook(
        at=at,
        state=moved,
        around=around,
        strength=bath_answers.strength(estimate=moved.estimate),
        answer=use.answer(facts, limits, at),
        papers=use.for_papers(facts, tuple(_floor(paper) for paper in around.papers)),
        sheets_left=sheets_left(moved, around, sheet_format=sheet_format, method=method),
        sheet_format=sheet_format,
        method=method,
    )


def limits_of(house: HouseState | None) -> Limits:
    """Return the house's limits; the defaults while nobody has set any."""
    if house is None:
        return Limits()
    return Limits(
        edition=house.edition,
        target_g_per_l=house.target_g_per_l,
        target_salt=house.target_salt,
        look_again_fraction=house.look_again_fraction,
        do_not_use_fraction=house.do_not_use_fraction,
        strip_print_days=house.strip_print_days,
        laying_depth_mm=house.laying_depth_mm,
        **{
            name: said for name in OPTIONAL_LIMITS if (said := getattr(house, name)) is not None
        },
    )


def _facts(state: BathState, around: Around, limits: Limits) -> UseFacts:
    strength = bath_answers.strength(estimate=state.estimate)
    laying = laying_ml(around.vessel, depth_mm=limits.laying_depth_mm)
    return UseFacts(
        mixed_at=state.mixed_at,
        how_known=_how(state),
        volume_l=strength.volume_l,
        salt=state.salt,
        strength_g_per_l=strength.middle_g_per_l,
        strength_low_g_per_l=strength.low20_g_per_l,
        recipe_target=_recipe_target(around.recipe),
        for_paper=around.recipe is None or around.recipe.for_paper,
        laying_l=None if laying is None else laying / 1000,
        finished_at=state.finished_at,
        stop=None if state.stop is None else stop_of(state.stop),
        strip_prints=tuple(
            use.StripPrint(use.Outcome(one.outcome), one.at) for one in state.prints
        ),
        passed_strip_print_at=state.passed_at,
        disagreements=tuple(
            use.Disagreement(
                instrument=one.instrument,
                at=one.at,
                off_sigma=one.off_sigma,
                read=one.read,
                low=one.low,
                high=one.high,
                reckoned=one.reckoned,
            )
            for one in state.kept
        ),
        water_only_count=state.water_only_count,
        sheets_while_stopped_count=state.stopped_sheet_count,
        only_spooned=bool(state.bare_lots) and state.gravity_at is None,
        gravity_readable=_gravity_readable(state, around),
    )


def _how(state: BathState) -> HowKnown:
    if state.gravity_at is not None and state.gravity_at >= state.how_at:
        return HowKnown(Known.TESTED, state.gravity_at)
    return HowKnown(Known(state.how), state.how_at)


def _recipe_target(recipe: RecipeState | None) -> Strength | None:
    if recipe is None or recipe.target_g_per_l is None or recipe.salt is None:
        return None
    return recipe.target_g_per_l, recipe.salt


def stop_of(stop: Stop) -> use.Stop:
    """Return a stop as the rules ask for it."""
    return use.Stop(
        by=stop.by,
        at=stop.at,
        reason=stop.reason,
        poured_from=stop.poured_from,
        poured_in_at=stop.poured_in_at,
    )


def _gravity_readable(state: BathState, around: Around) -> bool:
    drawer = around.studio.instruments if around.studio else ()
    return "hydrometer" in drawer and state.salt not in NO_CURVE


def _floor(paper: PaperState) -> PaperFloor:
    if paper.floor_g_per_l is None or paper.floor_salt is None:
        return PaperFloor(paper.name)
    return PaperFloor(paper.name, (paper.floor_g_per_l, paper.floor_salt))


def sheets_left(
    state: BathState, around: Around, *, sheet_format: str, method: str
) -> SheetsLeft | None:
    """Return how many more sheets of a format and method the bath lays, if that is known."""
    limits = limits_of(around.house)
    laying = laying_ml(around.vessel, depth_mm=limits.laying_depth_mm)
    if laying is None:
        return None
    paper = _last_paper(state, around)
    if paper is not None:
        area = paper.area_m2 * FRACTION_OF_PARENT[sheet_format]
    else:
        area = sheet_area_m2(sheet_format=sheet_format)
    return bath_answers.sheets_left(
        estimate=state.estimate,
        laying_depth_ml=laying,
        sheet_area_m2=area,
        pickup_ml_per_m2=pickup_of(paper, method),
        lasts=habit_name(paper, method),
    )


def far_over_left(
    look: BathLook, sheet_count: int, *, sheet_format: str, method: str
) -> int | None:
    """
    Return how many sheets a bath still lays, where a count is far over that; else None.

    What is left is a reckoning, so that a count is asked about only where a slip of the finger
    is likelier: over `FAR_OVER_TIMES` of it, and by more than `FAR_OVER_SHEETS`. Of a bath that
    is finished, and of one of which nobody knows what is left, nothing can be said.
    """
    if look.state.finished_at is not None:
        return None
    left = sheets_left(look.state, look.around, sheet_format=sheet_format, method=method)
    if left is None:
        return None
    far = max(FAR_OVER_TIMES * left.middle, left.middle + FAR_OVER_SHEETS)
    return left.middle if sheet_count > far else None


def _last_paper(state: BathState, around: Around) -> PaperState | None:
    last = state.through[-1].paper if state.through else None
    return next((paper for paper in around.papers if paper.id == last), None)


def to_mend(look: BathLook, *, goal_ml: float) -> ToTarget | None:
    """
    Return salt and water that bring a bath back to its target at `goal_ml`, within the brim.

    None when nobody said how strong it should be.
    """
    lines = look.answer.lines
    if lines is None:
        return None
    brim = look.around.vessel.brim_ml if look.around.vessel else float("inf")
    return bath_answers.to_target(
        estimate=look.state.estimate,
        target_g_per_l=lines.target_g_per_l,
        volume_goal_ml=goal_ml,
        brim_ml=brim,
    )


def turns_at(
    state: BathState,
    around: Around,
    *,
    now: datetime,
    within_days: int = TURNS_WITHIN_DAYS,
) -> tuple[datetime, Answer] | None:
    """Return when the word would change if nobody did anything, and the answer from then."""
    limits = limits_of(around.house)
    area = around.vessel.area_m2 if around.vessel else None

    def answer_at(at: datetime) -> Answer:
        facts = _facts(brought_to(state, at, area_m2=area), around, limits)
        return use.answer(facts, limits, at)

    candidates = use.turning_points(_facts(state, around, limits), limits)
    return use.turns_at(answer_at, now, candidates, within_days)
