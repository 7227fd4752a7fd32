"""
An alum bath, step by step: what is believed of it and where its water and salt went.

Every step takes an estimate and returns the next one; nothing is looked up but the salt's
aluminium. Three things go along: the belief (middle and doubt), two accounts that add up
exactly (water in mL, salt in g), and a plain balance without drying up, chalk or fibre that
a person can check by hand.

A reading that disagreed waits in `pending`, each with the belief that would hold had it been
right. Every later step moves those beliefs too, so that a second reading is compared with
what the first one would mean by then.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache, partial
from math import inf
from types import MappingProxyType
from typing import Any, Final, NamedTuple, Self

from coop.science import alum, bath_belief
from coop.science.bath_belief import ML_PER_L, Belief, Carried, Part
from coop.science.defaults import Z_90, default, value
from coop.science.estimate import ln_sd_of_range

HOURS_PER_DAY: Final = 24.0
HOURS_PER_WEEK: Final = 168.0
MG_PER_MMOL_AL: Final = alum.ATOMIC_MASSES_G_PER_MOL["Al"]
SHEETS_MAX: Final = 2_000

FACTOR_SD: Final = (default("bath_factor").high - default("bath_factor").low) / 2 / Z_90
WATER_SD_FRACTION: Final = value("water_measured_fraction") / Z_90
LIDDED_FRACTION: Final = value("lidded_doubt_fraction_per_week")


class Spread(NamedTuple):
    """A quantity over zero: middle and 90 % interval, one spread on the logarithm."""

    middle: float
    low: float
    high: float

    @property
    def ln_sd(self) -> float:
        """Standard deviation of the natural logarithm [1]."""
        return _ln_sd_of(self.low, self.high)


@lru_cache(maxsize=256)
def _ln_sd_of(low: float, high: float) -> float:
    return ln_sd_of_range(low=low, high=high)


def _spread_of(name: str) -> Spread:
    row = default(name)
    return Spread(row.value, row.low, row.high)


PICKUP_DIP_ML_PER_M2: Final = _spread_of("pickup_dip_ml_per_m2")
PICKUP_SPONGE_ML_PER_M2: Final = _spread_of("pickup_sponge_ml_per_m2")
PICKUP_BRUSH_ML_PER_M2: Final = _spread_of("pickup_brush_ml_per_m2")
PICKUPS: Final[Mapping[str, Spread]] = MappingProxyType(
    {
        "dip": PICKUP_DIP_ML_PER_M2,
        "sponge": PICKUP_SPONGE_ML_PER_M2,
        "brush": PICKUP_BRUSH_ML_PER_M2,
    }
)
"""What a sheet takes with it [mL/m2], by how the alum goes on."""

EVAPORATION_MM_PER_DAY: Final = _spread_of("evaporation_mm_per_day")
OPEN_HOURS: Final = _spread_of("open_hours_per_session")


class SaltPart(NamedTuple):
    """
    Salt put in: middle [g] and spread on the logarithm [1].

    `lasts` names what the spread is the same for each time: a lot's spoon; empty for an
    error of its own.
    """

    salt_g: float
    ln_sd: float
    lasts: str = ""


class Solution(NamedTuple):
    """
    Ready-made liquid of the bath's salt: mL and its sd, g/L and its spread on the log.

    `lasting` says how much of that spread is of errors that last, each by its name [1];
    `said_ml` is what a person measured, for the plain balance: None for `volume_ml`.
    """

    volume_ml: float
    volume_sd_ml: float
    strength_g_per_l: float
    ln_sd: float
    lasting: tuple[tuple[str, float], ...] = ()
    said_ml: float | None = None

    @property
    def plain_ml(self) -> float:
        """Litres for the plain balance [mL]."""
        return self.volume_ml if self.said_ml is None else self.said_ml


class Measured(NamedTuple):
    """Liquid measured by a person: mL and its standard deviation [mL]."""

    volume_ml: float
    sd_ml: float


class Paper(NamedTuple):
    """
    What a sheet binds from the bath it lies in.

    `weight_g_per_m2` of fibre that takes `fibre_al_mg_per_g` (sd beside it, never below 0);
    `chalk_g_per_m2` of chalk, 0 unless buffered, of which `chalk_reached` (0 to 1) counts.
    """

    weight_g_per_m2: float = value("paper_g_per_m2")
    fibre_al_mg_per_g: float = value("fibre_al_mg_per_g")
    fibre_al_sd_mg_per_g: float = value("fibre_al_sd_mg_per_g")
    chalk_g_per_m2: float = 0.0
    chalk_reached: float = value("chalk_fraction_reached")
    chalk_reached_sd: float = 0.5 / Z_90


UNKNOWN_PAPER: Final = Paper()
BINDS_NOTHING: Final = Paper(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
"""For liquid put on by sponge or brush: the sheet binds from what it carried, not from
the vessel."""


class Account(NamedTuple):
    """Where an amount went since mixing, without what is left [mL or g]."""

    came_in: float = 0.0
    off_with_sheets: float = 0.0
    to_air: float = 0.0
    bound: float = 0.0
    poured_out: float = 0.0
    unexplained: float = 0.0


_account = partial(tuple.__new__, Account)
"""Makes one of all its fields in half the time: a fold makes a thousand."""


class Plain(NamedTuple):
    """The balance by hand: no drying up, chalk, fibre or readings."""

    volume_ml: float
    salt_g: float

    @property
    def strength_g_per_l(self) -> float:
        """Strength [g/L of water put in]; 0 without liquid."""
        return ML_PER_L * self.salt_g / self.volume_ml if self.volume_ml > 0 else 0.0


class Pending(NamedTuple):
    """A reading kept and not applied: its name, what it read, the belief had it been right."""

    label: str
    quantity: str
    belief: Belief


@dataclass(frozen=True, kw_only=True)  # no slots: see `changed`
class BathEstimate:
    """
    An alum bath at a moment.

    `salt` is one of alum.SALTS; `at_h` the caller's clock in hours, moved by `time_passed`
    alone; strengths are g/L of water put in and volumes mL of water.
    """

    salt: str
    at_h: float
    belief: Belief
    water_ml: Account
    salt_g: Account
    plain: Plain
    pending: tuple[Pending, ...] = ()

    def changed(self, **changes: Any) -> Self:
        """Do what `replace` does, at a fifth of its cost: a fold does it twice an entry."""
        made = object.__new__(type(self))
        object.__setattr__(made, "__dict__", self.__dict__ | changes)
        assert len(made.__dict__) == _FIELD_COUNT
        return made


_FIELD_COUNT: Final = len(fields(BathEstimate))


def _not_under_zero(name: str, number: float) -> None:
    if not 0 <= number < inf:
        raise ValueError(f"{name}: must be a number, not under 0, is {number:g}")


def mixed(
    *,
    water_ml: float,
    salt_parts: Sequence[SaltPart],
    salt: str,
    at_h: float,
    water_sd_fraction: float = WATER_SD_FRACTION,
    solutions: Sequence[Solution] = (),
    factor_sd: float = FACTOR_SD,
) -> BathEstimate:
    """
    Return the estimate of a bath just mixed.

    Args:
        water_ml: Water put in [mL], not under 0.
        salt_parts: Salt put in, each part with its spread [SaltPart]; one reading of a spoon
            used many times is one part.
        salt: Which salt it is [one of alum.SALTS].
        at_h: Now, on the caller's clock [h].
        water_sd_fraction: Standard deviation of the water as a fraction [1]; +-2 % nine
            times in ten by default.
        solutions: Ready-made liquid put in, of the same salt [Solution].
        factor_sd: Spread of a vessel's own factor on pick-up [1]; +-15 % by default.

    Returns:
        The estimate [BathEstimate]. ValueError without water or salt, for an unknown salt,
        for an amount under 0.

    Valid for:
        Salt that dissolves. Strength is grams per litre of water put in, as recipes mean it;
        a litre of the solution holds 1 to 4 % less at the strengths of the trade.

    Source:
        Mass balance; doubts by the caller, see coop.science.defaults.

    Example:
        >>> weighed = mixed(water_ml=12_000, salt_parts=[SaltPart(480, 0.018)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> round(weighed.belief.strength_g_per_l, 1)
        40.0
    """
    if salt not in alum.SALTS:
        raise ValueError(f"salt: must be one of {', '.join(alum.SALTS)}, is {salt}")
    parts = _parts_of(water_ml, water_sd_fraction, salt_parts, solutions)
    belief = bath_belief.mixed_from(parts=parts, factor_variance=factor_sd * factor_sd)
    came_ml, came_g = sum(part.water_ml for part in parts), sum(part.salt_g for part in parts)
    return BathEstimate(
        salt=salt,
        at_h=at_h,
        belief=belief,
        water_ml=Account(came_in=came_ml),
        salt_g=Account(came_in=came_g),
        plain=_plain_with(Plain(came_ml, came_g), solutions),
    )


def topped_up(
    *,
    estimate: BathEstimate,
    water_ml: float = 0.0,
    salt_parts: Sequence[SaltPart] = (),
    water_sd_fraction: float = WATER_SD_FRACTION,
    solutions: Sequence[Solution] = (),
) -> BathEstimate:
    """
    Return the estimate after water, salt or ready-made liquid is added.

    Args:
        estimate: The bath before [BathEstimate].
        water_ml: Water put in [mL], not under 0.
        salt_parts: Salt put in, of the bath's salt [SaltPart].
        water_sd_fraction: Standard deviation of the water as a fraction [1].
        solutions: Ready-made liquid put in, of the bath's salt [Solution].

    Returns:
        The estimate [BathEstimate]. ValueError for an amount under 0.

    Valid for:
        Salt that dissolves. Another salt is first reckoned into the bath's by the caller.

    Source:
        Mass balance.

    Example:
        >>> bath = mixed(water_ml=10_380, salt_parts=[SaltPart(243.4, 0.03)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> round(topped_up(estimate=bath, water_ml=3000).belief.strength_g_per_l, 1)
        18.2
    """
    parts = _parts_of(water_ml, water_sd_fraction, salt_parts, solutions)
    came_ml, came_g = sum(part.water_ml for part in parts), sum(part.salt_g for part in parts)
    water, salt, plain = estimate.water_ml, estimate.salt_g, estimate.plain
    return estimate.changed(
        belief=bath_belief.added(belief=estimate.belief, parts=parts),
        water_ml=water._replace(came_in=water.came_in + came_ml),
        salt_g=salt._replace(came_in=salt.came_in + came_g),
        plain=_plain_with(Plain(plain.volume_ml + came_ml, plain.salt_g + came_g), solutions),
        pending=_also(estimate, lambda at: bath_belief.added(belief=at, parts=parts)),
    )


def _plain_with(plain: Plain, solutions: Iterable[Solution]) -> Plain:
    """Count ready-made liquid by the litres that a person measured."""
    for one in solutions:
        more_ml = one.plain_ml - one.volume_ml
        more_g = more_ml * one.strength_g_per_l / ML_PER_L
        plain = Plain(plain.volume_ml + more_ml, plain.salt_g + more_g)
    return plain


def _parts_of(
    water_ml: float,
    water_sd_fraction: float,
    salt_parts: Iterable[SaltPart],
    solutions: Iterable[Solution],
) -> list[Part]:
    _not_under_zero("water_ml", water_ml)
    parts = [Part(water_ml, 0.0, ((water_ml * water_sd_fraction, 0.0),))]
    for grams, ln_sd, lasts in salt_parts:
        _not_under_zero("salt_parts", grams)
        parts.append(Part(0.0, grams, ((0.0, grams * ln_sd),), lasts))
    for one in solutions:
        parts += _parts_of_solution(one)
    return parts


def _parts_of_solution(one: Solution) -> list[Part]:
    _not_under_zero("solutions", one.volume_ml)
    _not_under_zero("solutions", one.strength_g_per_l)
    grams = one.volume_ml * one.strength_g_per_l / ML_PER_L
    by_volume = (one.volume_sd_ml, one.volume_sd_ml * one.strength_g_per_l / ML_PER_L)
    own = one.ln_sd * one.ln_sd - sum(ln_c * ln_c for _, ln_c in one.lasting)
    own_sd = max(0.0, own) ** 0.5
    return [
        Part(one.volume_ml, grams, (by_volume, (0.0, grams * own_sd))),
        *(Part(0.0, 0.0, ((0.0, grams * ln_c),), name) for name, ln_c in one.lasting),
    ]


def _also(estimate: BathEstimate, step: Callable[[Belief], Belief]) -> tuple[Pending, ...]:
    return tuple(kept._replace(belief=step(kept.belief)) for kept in estimate.pending)


def sheets_through(
    *,
    estimate: BathEstimate,
    sheet_area_m2: float,
    sheet_count: int,
    pickup_ml_per_m2: Spread = PICKUP_DIP_ML_PER_M2,
    sides: int = 1,
    paper: Paper = UNKNOWN_PAPER,
    measured: Measured | None = None,
    said_ml: float | None = None,
    lasts: str = "",
) -> BathEstimate:
    """
    Return the estimate after one entry of sheets.

    The volume falls by area x pick-up x the bath's own factor x a factor for paper and
    method. That one is doubt on the move and not part of the state: what one paper showed is
    not believed of another. It stays the same under one name in `lasts`, and is drawn anew
    without a name. The strength falls only by what is bound.

    Args:
        estimate: The bath before [BathEstimate].
        sheet_area_m2: Area of one side of a sheet [m2], over 0.
        sheet_count: Sheets [count], 1 to 2000.
        pickup_ml_per_m2: Liquid a sheet takes with it, per area of the sheet [Spread, mL/m2];
            a dip counts both sides already.
        sides: Sides that were sponged or brushed [count], 1 or 2; 1 for a dip.
        paper: What the sheets bind [Paper]; BINDS_NOTHING for sponge and brush.
        measured: Water gone by "took out, put back", in place of area x pick-up [Measured].
        said_ml: The same as a person measured it, for the plain balance [mL].
        lasts: Name of paper and method [text]; empty when nobody knows the paper.

    Returns:
        The estimate [BathEstimate]; at most what there is leaves. ValueError outside the
        ranges.

    Valid for:
        Sheets alike, in one vessel.

    Source:
        Exact recurrence per sheet (computed). Fibre: plateau 0.7 mg Al/g, Kato and Isogai
        1999, J Wood Sci 45:154-160; short dips take less (ours). Chalk: 1.5 mol of CaCO3
        for each mol of aluminium.

    Example:
        >>> bath = mixed(water_ml=11_360, salt_parts=[SaltPart(266.4, 0.03)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> after = sheets_through(estimate=bath, sheet_area_m2=0.175, sheet_count=40)
        >>> round(after.belief.volume_ml), round(after.plain.strength_g_per_l, 1)
        (10380, 23.5)
    """
    _check_sheets(sheet_area_m2, sheet_count, sides)
    area_m2 = sheet_area_m2 * sheet_count
    usual_ml = area_m2 * sides * pickup_ml_per_m2.middle
    bound_g_per_m2, bound_sd_g_per_m2 = _bound_g_per_m2(paper, estimate.salt)
    bound_g, bound_sd_g = bound_g_per_m2 * area_m2, bound_sd_g_per_m2 * area_m2
    ln_sd = pickup_ml_per_m2.ln_sd

    def step(at: Belief) -> tuple[Belief, float]:
        return bath_belief.sheets_taken(
            belief=at,
            sheet_count=sheet_count,
            carried=_carried(at, usual_ml, ln_sd, measured, lasts),
            bound_g=bound_g,
            bound_sd_g=bound_sd_g,
        )

    before = estimate.belief
    after, bound_g_now = step(before)
    off_ml = before.volume_ml - after.volume_ml
    off_g = before.salt_g - after.salt_g - bound_g_now
    gone_ml = usual_ml if measured is None else measured.volume_ml
    return estimate.changed(
        belief=after,
        water_ml=_with_sheets(estimate.water_ml, off_ml, 0.0),
        salt_g=_with_sheets(estimate.salt_g, off_g, bound_g_now),
        plain=_plain_without(estimate.plain, gone_ml if said_ml is None else said_ml),
        pending=_also(estimate, lambda at: step(at)[0]) if estimate.pending else (),
    )


def _with_sheets(account: Account, off: float, bound: float) -> Account:
    came_in, off_before, to_air, bound_before, poured_out, unexplained = account
    off, bound = off_before + off, bound_before + bound
    return _account((came_in, off, to_air, bound, poured_out, unexplained))


def _check_sheets(sheet_area_m2: float, sheet_count: int, sides: int) -> None:
    if not 0 < sheet_area_m2 < inf:
        raise ValueError(f"sheet_area_m2: must be over 0, is {sheet_area_m2:g}")
    if not 1 <= sheet_count <= SHEETS_MAX:
        raise ValueError(f"sheet_count: must be from 1 to {SHEETS_MAX}, is {sheet_count}")
    if sides not in (1, 2):
        raise ValueError(f"sides: must be 1 or 2, is {sides}")


def _carried(
    belief: Belief, usual_ml: float, ln_sd: float, measured: Measured | None, lasts: str
) -> Carried:
    if measured is None:
        return Carried(usual_ml * belief.factor, ln_sd, usual_ml, lasts)
    _not_under_zero("measured", measured.volume_ml)
    volume_ml = max(measured.volume_ml, bath_belief.VOLUME_MIN_ML)
    return Carried(measured.volume_ml, measured.sd_ml / volume_ml, 0.0)


@lru_cache(maxsize=256)
def _bound_g_per_m2(paper: Paper, salt: str) -> tuple[float, float]:
    """What paper binds, and its standard deviation: the same for each of its sheets."""
    g_per_mmol_al = 1 / alum.SALTS[salt].mmol_al_per_g
    fibre_g = paper.weight_g_per_m2 / MG_PER_MMOL_AL * g_per_mmol_al
    chalk_g = 0.0
    if paper.chalk_g_per_m2:
        g_per_g = alum.substance_g_per_g(salt=salt, substance="calcium_carbonate")
        chalk_g = paper.chalk_g_per_m2 / g_per_g
    middle_g = fibre_g * paper.fibre_al_mg_per_g + chalk_g * paper.chalk_reached
    fibre_sd_g = fibre_g * paper.fibre_al_sd_mg_per_g
    chalk_sd_g = chalk_g * paper.chalk_reached_sd
    return middle_g, (fibre_sd_g * fibre_sd_g + chalk_sd_g * chalk_sd_g) ** 0.5


def _plain_without(plain: Plain, gone_ml: float) -> Plain:
    if plain.volume_ml <= gone_ml:
        return Plain(0.0, 0.0)
    left = 1 - gone_ml / plain.volume_ml
    return Plain(plain.volume_ml * left, plain.salt_g * left)


def time_passed(
    *,
    estimate: BathEstimate,
    hours: float,
    open_hours: float = 0.0,
    area_m2: float = 0.0,
    rate_mm_per_day: Spread = EVAPORATION_MM_PER_DAY,
    lidded_fraction_per_week: float = LIDDED_FRACTION,
    open_hours_ln_sd: float = 0.0,
) -> BathEstimate:
    """
    Return the estimate after time, lidded or open.

    Args:
        estimate: The bath before [BathEstimate].
        hours: Time that passed [h], not under 0.
        open_hours: Part of it without a lid [h], not under 0.
        area_m2: Surface of the liquid [m2], needed only when open.
        rate_mm_per_day: Loss when open [Spread, mm/day], scaled to the room by the caller.
        lidded_fraction_per_week: Half width of the 90 % doubt that a week under a lid adds,
            as a fraction of the volume [1].
        open_hours_ln_sd: Spread of the open hours on the logarithm [1]; 0 when they are known.

    Returns:
        The estimate [BathEstimate]; water alone leaves, so an open bath gets stronger.
        ValueError for a number under 0.

    Valid for:
        Upright walls. Doubts of separate weeks under a lid are independent: two half weeks are
        a week. How fast the room dries stays the same for the life of a bath.

    Source:
        1 mm over 1 m2 is 1 L; rates by coop.science.evaporation.

    Example:
        >>> bath = mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> later = time_passed(estimate=bath, hours=48, open_hours=24, area_m2=0.4)
        >>> round(later.belief.volume_ml), round(later.belief.strength_g_per_l, 1)
        (9200, 43.5)
    """
    if not (0 <= hours < inf and 0 <= open_hours < inf and 0 <= area_m2 < inf):
        _not_under_zero("hours", hours)
        _not_under_zero("open_hours", open_hours)
        _not_under_zero("area_m2", area_m2)
    lost_ml = ML_PER_L * area_m2 * rate_mm_per_day.middle * open_hours / HOURS_PER_DAY
    ln_sd = rate_mm_per_day.ln_sd if lost_ml else 0.0
    weeks = max(0.0, hours - open_hours) / HOURS_PER_WEEK
    drift_sd = lidded_fraction_per_week / Z_90 * weeks**0.5

    def step(at: Belief) -> Belief:
        return bath_belief.dried(
            belief=at,
            water_ml=lost_ml,
            ln_sd=ln_sd,
            drift_sd_ml=drift_sd * at.volume_ml,
            hours_ln_sd=open_hours_ln_sd,
        )

    after = step(estimate.belief)
    to_air_ml = estimate.belief.volume_ml - after.volume_ml
    return estimate.changed(
        at_h=estimate.at_h + hours,
        belief=after,
        water_ml=_with_air(estimate.water_ml, to_air_ml),
        pending=_also(estimate, step) if estimate.pending else (),
    )


def _with_air(account: Account, to_air: float) -> Account:
    came_in, off, to_air_before, bound, poured_out, unexplained = account
    return _account((came_in, off, to_air_before + to_air, bound, poured_out, unexplained))


def poured_out(
    *,
    estimate: BathEstimate,
    volume_ml: float,
    sd_ml: float = 0.0,
    said_ml: float | None = None,
) -> BathEstimate:
    """
    Return the estimate after liquid is poured out, split off or carried away.

    Args:
        estimate: The bath before [BathEstimate].
        volume_ml: Water taken out with its salt [mL], not under 0; at most what there is.
        sd_ml: Its standard deviation [mL].
        said_ml: What a person measured, for the plain balance [mL]; None for `volume_ml`.

    Returns:
        The estimate [BathEstimate]; 1 mL always stays. ValueError for a number under 0.

    Valid for:
        Liquid of the bath's strength.

    Source:
        Mass balance.

    Example:
        >>> bath = mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> less = poured_out(estimate=bath, volume_ml=4000)
        >>> round(less.belief.volume_ml), round(less.salt_g.poured_out)
        (6000, 160)
    """
    _not_under_zero("volume_ml", volume_ml)
    _not_under_zero("sd_ml", sd_ml)

    def step(at: Belief) -> Belief:
        return bath_belief.taken_out(belief=at, volume_ml=volume_ml, sd_ml=sd_ml)

    before, after = estimate.belief, step(estimate.belief)
    water, salt = estimate.water_ml, estimate.salt_g
    out_ml, out_g = before.volume_ml - after.volume_ml, before.salt_g - after.salt_g
    return estimate.changed(
        belief=after,
        water_ml=water._replace(poured_out=water.poured_out + out_ml),
        salt_g=salt._replace(poured_out=salt.poured_out + out_g),
        plain=_plain_without(estimate.plain, volume_ml if said_ml is None else said_ml),
        pending=_also(estimate, step),
    )


def handover(
    *, estimate: BathEstimate, volume_ml: float, sd_ml: float, said_ml: float | None = None
) -> Solution:
    """
    Return liquid of a bath as ready-made solution for another one.

    Args:
        estimate: The giver, before it gives [BathEstimate].
        volume_ml: Water handed over with its salt [mL], not under 0.
        sd_ml: Its standard deviation [mL].
        said_ml: What a person measured, for the plain balance [mL]; None for `volume_ml`.

    Returns:
        Litres, strength and their doubts by value, with what of the doubt lasts: a spoon
        that was wrong in the giver is as wrong in the taker [Solution]. ValueError for an
        amount under 0.

    Valid for:
        Split, join, carry and ready-made top-up; pair it with `poured_out` of the giver.
        It depends on nothing that happens to the giver later.

    Source:
        The giver's estimate.

    Example:
        >>> bath = mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> round(handover(estimate=bath, volume_ml=2000, sd_ml=20).strength_g_per_l)
        40
    """
    _not_under_zero("volume_ml", volume_ml)
    belief = estimate.belief
    return Solution(
        volume_ml,
        sd_ml,
        belief.strength_g_per_l,
        belief.cc**0.5,
        tuple((name, c) for name, _, c, _ in belief.lasting if c),
        said_ml,
    )


def poured(*, estimate: BathEstimate, liquid_ml: float) -> Solution:
    """
    Return litres measured out of a bath as ready-made solution, at most what there is.

    Args:
        estimate: The giver, before it gives [BathEstimate].
        liquid_ml: Liquid as a person measured it [mL], not under 0; +-2 % nine times in ten.

    Returns:
        As `handover`: the water in it, with its salt [Solution]. ValueError for an amount
        under 0.

    Valid for:
        As `alum.water_fraction`; 1 mL always stays in the giver.

    Source:
        Mass balance: a litre of bath is 0.96 to 0.99 L of the water put in.

    Example:
        >>> bath = mixed(water_ml=10_000, salt_parts=[SaltPart(400, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> given = poured(estimate=bath, liquid_ml=2000)
        >>> round(given.volume_ml), round(given.plain_ml)
        (1961, 2000)
    """
    _not_under_zero("liquid_ml", liquid_ml)
    belief = estimate.belief
    part = alum.water_fraction(strength_g_per_l=belief.strength_g_per_l, salt=estimate.salt)
    there_ml = max(0.0, belief.volume_ml - bath_belief.VOLUME_MIN_ML)
    volume_ml = min(liquid_ml * part, there_ml)
    return handover(
        estimate=estimate,
        volume_ml=volume_ml,
        sd_ml=liquid_ml * part * WATER_SD_FRACTION,
        said_ml=volume_ml / part,
    )
