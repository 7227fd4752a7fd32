"""What an estimate of an alum bath says: strength, litres, sheets left, what to add."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, inf, sqrt
from typing import Final

from coop.science import bath
from coop.science.bath import (
    EVAPORATION_MM_PER_DAY,
    PICKUP_DIP_ML_PER_M2,
    Account,
    BathEstimate,
    SaltPart,
    Spread,
)
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import Z_90, value
from coop.science.estimate import (
    Z_20_PERCENT,
    ln_sd_of_fraction,
    lognormal_interval,
    lognormal_quantile,
)

WEIGHED_LN_SD: Final = ln_sd_of_fraction(fraction=value("weighed_fraction"))
SHEETS_LEFT_MAX: Final = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """
    Strength and litres of a bath: middle and 90 % interval.

    `low20_g_per_l` is the strength it is under one time in five.
    """

    middle_g_per_l: float
    low_g_per_l: float
    high_g_per_l: float
    low20_g_per_l: float
    volume_l: float
    volume_low_l: float
    volume_high_l: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """
    Where an amount went [mL of water or g of salt].

    `left` is `came_in` less what went `off_with_sheets`, `to_air`, `bound` and `poured_out`,
    plus `unexplained`, which is what readings found more (or, under 0, less).
    """

    came_in: float
    off_with_sheets: float
    to_air: float
    bound: float
    poured_out: float
    unexplained: float
    left: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsLeft:
    """Sheets that still fit: middle, and what nine and a half baths in ten give."""

    middle: int
    low: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ToTarget:
    """What to add, and what the bath then is."""

    salt_g: float
    water_ml: float
    strength_g_per_l: float
    volume_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mending:
    """A bath before and after an addition."""

    before: Strength
    after: Strength


def strength(*, estimate: BathEstimate) -> Strength:
    """
    Return how strong a bath is and how much there is of it.

    Args:
        estimate: The bath [BathEstimate].

    Returns:
        Middle, 5 %, 95 % and 20 % figures [Strength, g/L of water put in, L].

    Valid for:
        The estimate's moment; see `at_moment`.

    Source:
        Log-normal strength, normal litres cut off at 0.

    Example:
        >>> mix = bath.mixed(water_ml=12_000, salt_parts=[SaltPart(480, 0.018)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> now = strength(estimate=mix)
        >>> round(now.low_g_per_l, 1), round(now.middle_g_per_l, 1), round(now.high_g_per_l, 1)
        (38.6, 40.0, 41.5)
    """
    belief = estimate.belief
    ln_sd = sqrt(belief.cc)
    low, high = lognormal_interval(ln_mean=belief.ln_c, ln_sd=ln_sd)
    spread_ml = Z_90 * sqrt(belief.vv)
    return Strength(
        middle_g_per_l=belief.strength_g_per_l,
        low_g_per_l=low,
        high_g_per_l=high,
        low20_g_per_l=lognormal_quantile(ln_mean=belief.ln_c, ln_sd=ln_sd, z=-Z_20_PERCENT),
        volume_l=belief.volume_ml / ML_PER_L,
        volume_low_l=max(0.0, belief.volume_ml - spread_ml) / ML_PER_L,
        volume_high_l=(belief.volume_ml + spread_ml) / ML_PER_L,
    )


def balances(*, estimate: BathEstimate) -> tuple[Balance, Balance]:
    """
    Return where the water and the salt of a bath went.

    Args:
        estimate: The bath [BathEstimate].

    Returns:
        Water and salt [Balance, mL; Balance, g]; each adds up exactly.

    Valid for:
        All that happened since mixing.

    Source:
        Mass balance.

    Example:
        >>> mix = bath.mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> water, salt = balances(estimate=bath.poured_out(estimate=mix, volume_ml=1000))
        >>> round(water.left), round(salt.left), round(salt.poured_out)
        (9000, 360, 40)
    """
    belief = estimate.belief
    return (
        _balance(estimate.water_ml, belief.volume_ml),
        _balance(estimate.salt_g, belief.salt_g),
    )


def _balance(account: Account, left: float) -> Balance:
    return Balance(left=left, **account._asdict())


def sheets_left(
    *,
    estimate: BathEstimate,
    laying_depth_ml: float,
    sheet_area_m2: float,
    pickup_ml_per_m2: Spread = PICKUP_DIP_ML_PER_M2,
    sides: int = 1,
    lasts: str = "",
) -> SheetsLeft:
    """
    Return how many sheets still fit before a bath is too low to lay one.

    Args:
        estimate: The bath [BathEstimate].
        laying_depth_ml: Liquid that must stand to lay a sheet [mL], not under 0.
        sheet_area_m2: Area of one side of a sheet [m2], over 0.
        pickup_ml_per_m2: Liquid a sheet takes with it, per area of the sheet [Spread, mL/m2].
        sides: Sides sponged or brushed [count], 1 or 2; 1 for a dip.
        lasts: Name of paper and method as in `bath.sheets_through` [text]: when the same sheets
            went through before, too few litres and too thirsty a paper go together.

    Returns:
        Whole sheets, middle and low [SheetsLeft]: in nineteen baths of twenty the low figure
        fits. At most 100000. ValueError outside the ranges.

    Valid for:
        One format and method; strength is another question.

    Source:
        (volume - laying depth) / (area x pick-up x factor); the low figure is the largest
        whose margin is 1.645 of its own standard deviations.

    Example:
        >>> mix = bath.mixed(water_ml=12_000, salt_parts=[SaltPart(480, 0.018)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> left = sheets_left(estimate=mix, laying_depth_ml=6000, sheet_area_m2=0.175)
        >>> left.middle, left.low
        (244, 189)
    """
    if not 0 <= laying_depth_ml < inf:
        raise ValueError(f"laying_depth_ml: must not be under 0, is {laying_depth_ml:g}")
    if not 0 < sheet_area_m2 < inf:
        raise ValueError(f"sheet_area_m2: must be over 0, is {sheet_area_m2:g}")
    belief = estimate.belief
    usable_ml = belief.volume_ml - laying_depth_ml
    per_sheet_ml = sheet_area_m2 * sides * pickup_ml_per_m2.middle
    if usable_ml <= 0:
        return SheetsLeft(middle=0, low=0)
    middle = usable_ml / (per_sheet_ml * belief.factor)
    z2, factor, ln_sd = Z_90 * Z_90, belief.factor, pickup_ml_per_m2.ln_sd
    by_v, by_f = next(((v, f) for name, v, _, f in belief.lasting if name == lasts), (0.0, 0.0))
    start = usable_ml * usable_ml - z2 * belief.vv
    if start <= 0:
        return SheetsLeft(middle=_whole(middle), low=0)
    shared = belief.vf + factor * ln_sd * by_v
    slope = 2 * per_sheet_ml * (z2 * shared - usable_ml * factor)
    own = belief.ff + factor * ln_sd * (2 * by_f + factor * ln_sd)
    square = per_sheet_ml * per_sheet_ml * (factor * factor - z2 * own)
    root = sqrt(max(0.0, slope * slope - 4 * square * start))
    low = 2 * start / (root - slope)
    return SheetsLeft(middle=_whole(middle), low=min(_whole(low), _whole(middle)))


def _whole(sheets: float) -> int:
    return min(SHEETS_LEFT_MAX, floor(sheets))


def to_target(
    *,
    estimate: BathEstimate,
    target_g_per_l: float,
    volume_goal_ml: float = 0.0,
    brim_ml: float = inf,
) -> ToTarget:
    """
    Return what to add so that a bath is at its target again.

    Args:
        estimate: The bath [BathEstimate].
        target_g_per_l: Strength wanted [g/L of the bath's salt], over 0.
        volume_goal_ml: Volume wanted [mL], not under 0; 0 for "as it is".
        brim_ml: What the vessel holds [mL].

    Returns:
        Salt, water, and the middle strength and volume after [ToTarget]. A bath under its
        target never gets water alone; one over it gets water towards the goal and salt only
        where the water would take it under. ValueError outside the ranges.

    Valid for:
        The middle figures; weigh the salt, dissolve it in hand-hot water (45 C at most)
        first, gloves and goggles on.

    Source:
        Mass balance.

    Example:
        >>> weak = bath.mixed(water_ml=10_000, salt_parts=[SaltPart(200, 0.02)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> add = to_target(estimate=weak, target_g_per_l=40, volume_goal_ml=12_000)
        >>> round(add.salt_g), round(add.water_ml)
        (280, 2000)
    """
    if not 0 < target_g_per_l < inf:
        raise ValueError(f"target_g_per_l: must be over 0, is {target_g_per_l:g}")
    if not 0 <= volume_goal_ml < inf:
        raise ValueError(f"volume_goal_ml: must not be under 0, is {volume_goal_ml:g}")
    belief = estimate.belief
    volume_ml = max(belief.volume_ml, min(volume_goal_ml, brim_ml))
    salt_g = max(0.0, target_g_per_l * volume_ml / ML_PER_L - belief.salt_g)
    return ToTarget(
        salt_g=salt_g,
        water_ml=volume_ml - belief.volume_ml,
        strength_g_per_l=ML_PER_L * (belief.salt_g + salt_g) / volume_ml,
        volume_ml=volume_ml,
    )


def at_moment(
    *,
    estimate: BathEstimate,
    hours: float,
    open_hours: float = 0.0,
    area_m2: float = 0.0,
    rate_mm_per_day: Spread = EVAPORATION_MM_PER_DAY,
) -> BathEstimate:
    """
    Return a bath as it will be if nothing happens but time.

    Args:
        estimate: The bath [BathEstimate].
        hours: How far ahead [h], not under 0.
        open_hours: Part of it without a lid [h], not under 0.
        area_m2: Surface of the liquid [m2], needed only when open.
        rate_mm_per_day: Loss when open [Spread, mm/day].

    Returns:
        The estimate at that moment [BathEstimate]. ValueError for a number under 0.

    Valid for:
        As `bath.time_passed`.

    Source:
        As `bath.time_passed`.

    Example:
        >>> mix = bath.mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> round(at_moment(estimate=mix, hours=168).belief.volume_ml)
        10000
    """
    return bath.time_passed(
        estimate=estimate,
        hours=hours,
        open_hours=open_hours,
        area_m2=area_m2,
        rate_mm_per_day=rate_mm_per_day,
    )


def mending(
    *,
    estimate: BathEstimate,
    water_ml: float,
    salt_parts: Sequence[SaltPart],
) -> Mending:
    """
    Return what an addition would make of a bath.

    Args:
        estimate: The bath [BathEstimate].
        water_ml: Water to add [mL], not under 0.
        salt_parts: Salt to add, of the bath's salt [SaltPart]; WEIGHED_LN_SD when weighed.

    Returns:
        The bath before and after [Mending]. ValueError for an amount under 0.

    Valid for:
        Looking before pouring; nothing is written.

    Source:
        As `bath.topped_up`.

    Example:
        >>> weak = bath.mixed(water_ml=10_000, salt_parts=[SaltPart(200, 0.02)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> seen = mending(
        ...     estimate=weak, water_ml=2000, salt_parts=[SaltPart(280, WEIGHED_LN_SD)])
        >>> round(seen.before.middle_g_per_l), round(seen.after.middle_g_per_l)
        (20, 40)
    """
    after = bath.topped_up(estimate=estimate, water_ml=water_ml, salt_parts=salt_parts)
    return Mending(before=strength(estimate=estimate), after=strength(estimate=after))
