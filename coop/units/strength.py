"""From an amount of powder and an amount of water to a strength, with its doubt."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.units.quantity import HEAPED, LEVEL, ROUNDED, SCANT, UNSAID, Quantity
from coop.units.table import MASS, UNITS

HEAP_TIMES: Final[Mapping[str, Fraction]] = MappingProxyType(
    {
        UNSAID: Fraction(1),
        LEVEL: Fraction(1),
        HEAPED: Fraction(3, 2),
        ROUNDED: Fraction(5, 4),
        SCANT: Fraction(9, 10),
    }
)
"""
What a spoon holds of a level one: heaped 1.5 x is common practice, no source; rounded (half
way to heaped) and scant (just short of the rim) are our own choice, no source.
"""
HEAP_DOUBT: Final[Mapping[str, Fraction]] = MappingProxyType(
    {
        UNSAID: Fraction(0),
        LEVEL: Fraction(0),
        HEAPED: Fraction(1, 4),
        ROUNDED: Fraction(1, 5),
        SCANT: Fraction(1, 10),
    }
)
"""... give or take so much of it: our own choice, no source."""
DISAGREE_OVER: Final = Fraction(1, 20)
"""Two ways of saying a dose disagree over 5 % of the larger: our own choice, no source."""
WEIGHED: Final = "weighed"
SPOONED: Final = "spooned"
_EXACT_TO: Final = 10**9


@dataclass(frozen=True, slots=True)
class Spread:
    """A number with its 90 % interval: low, middle, high."""

    low: Fraction
    middle: Fraction
    high: Fraction

    def times(self, factor: Fraction) -> "Spread":
        """Return it with every number multiplied by a positive factor."""
        return Spread(self.low * factor, self.middle * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Bulk:
    """
    The bulk density of a powder [g/mL], a 90 % interval, 0 < low <= middle <= high.

    The caller's: the published spread of the powder, or that of the lot in hand.
    """

    low_g_per_ml: Fraction
    middle_g_per_ml: Fraction
    high_g_per_ml: Fraction

    def __post_init__(self) -> None:
        assert 0 < self.low_g_per_ml <= self.middle_g_per_ml <= self.high_g_per_ml

    @classmethod
    def of_us_tablespoon(cls, low_g: Fraction, middle_g: Fraction, high_g: Fraction) -> "Bulk":
        """Return the bulk density of a powder by the grams of a level US tablespoon."""
        spoon_ml = UNITS["us_tbsp"].factor
        return cls(low_g / spoon_ml, middle_g / spoon_ml, high_g / spoon_ml)


@dataclass(frozen=True, slots=True)
class Statement:
    """
    One way in which a dose is said.

    `amount` and `water` are what was understood, `amount_upto` and `water_upto` the far ends
    of ranges. `ml_per_l` is level powder per litre of water, None where it was weighed.
    """

    typed: str
    amount: Quantity
    amount_upto: Quantity | None
    water: Quantity
    water_upto: Quantity | None
    how: str
    ml_per_l: Spread | None
    g_per_l: Spread


def state(
    typed: str,
    amount: Quantity,
    amount_upto: Quantity | None,
    water: Quantity,
    water_upto: Quantity | None,
    bulk: Bulk,
) -> Statement:
    """
    Return the statement of so much powder in so much water.

    A weighed amount has no doubt but its own range. A spooned one has that of the bulk
    density, and of the heap; doubts from several sides are joined on the logarithm.
    """
    least, most = amount.base, (amount_upto or amount).base
    little, much = water.base, (water_upto or water).base
    per_l = Spread(
        1000 * least / much,
        1000 * (least + most) / (little + much),
        1000 * most / little,
    )
    if amount.dimension == MASS:
        return Statement(typed, amount, amount_upto, water, water_upto, WEIGHED, None, per_l)
    grams = _grams(per_l, bulk, amount.heap)
    return Statement(typed, amount, amount_upto, water, water_upto, SPOONED, per_l, grams)


def _grams(ml_per_l: Spread, bulk: Bulk, heap: str) -> Spread:
    middle = ml_per_l.middle * bulk.middle_g_per_ml * HEAP_TIMES[heap]
    doubt = HEAP_DOUBT[heap]
    down = (
        ml_per_l.low / ml_per_l.middle,
        bulk.low_g_per_ml / bulk.middle_g_per_ml,
        1 - doubt,
    )
    up = (
        ml_per_l.high / ml_per_l.middle,
        bulk.high_g_per_ml / bulk.middle_g_per_ml,
        1 + doubt,
    )
    return Spread(middle * _joined(down), middle, middle * _joined(up))


def _joined(ratios: tuple[Fraction, ...]) -> Fraction:
    """Return ratios, all at most 1 or all at least 1, joined in quadrature on the logarithm."""
    doubts = [ratio for ratio in ratios if ratio != 1]
    if len(doubts) < 2:
        return doubts[0] if doubts else Fraction(1)
    half_width = math.hypot(*(math.log(ratio) for ratio in doubts))
    joined = math.exp(half_width if doubts[0] > 1 else -half_width)
    return Fraction(joined).limit_denominator(_EXACT_TO)


def apart(one: Statement, other: Statement) -> Fraction:
    """
    Return by what part of the larger two statements miss each other, 0 if they agree.

    Two of a kind are compared by what was said, heaps counted; a weighed with a spooned one
    by whether the weight lies within what the spoons may hold, then by the middles.
    """
    if one.how == other.how:
        first, second = _said(one), _said(other)
        return _gap(first, second)
    if _gap(one.g_per_l, other.g_per_l) == 0:
        return Fraction(0)
    middles = one.g_per_l.middle, other.g_per_l.middle
    return (max(middles) - min(middles)) / max(middles)


def _said(statement: Statement) -> Spread:
    if statement.ml_per_l is None:
        return statement.g_per_l
    return statement.ml_per_l.times(HEAP_TIMES[statement.amount.heap])


def _gap(one: Spread, other: Spread) -> Fraction:
    lower, upper = sorted((one, other), key=lambda spread: spread.middle)
    return max(Fraction(0), upper.low - lower.high) / upper.low
