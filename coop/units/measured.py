"""A number of one unit, as people write it: bare, or with any unit of its sort behind it."""

from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.units.amount import read_amount
from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.kinds import BY_WEIGHT, Kinds
from coop.units.names import ENGLISH, Language
from coop.units.number import NUMBER_MAX, read_number
from coop.units.quantity import Quantity
from coop.units.strength import WEIGHED, Bulk, Statement
from coop.units.table import MASS, UNITS

G_PER_L: Final = "g_per_l"
OZ_PER_US_GALLON: Final = "oz_per_us_gallon"
US_OF: Final = MappingProxyType(
    {
        G_PER_L: OZ_PER_US_GALLON,
        "l": "us_gallon",
        "ml": "us_fl_oz",
        "g": "oz",
        "kg": "lb",
        "mm": "inch",
        "celsius": "fahrenheit",
    }
)
"""The US customary unit that stands for each metric one."""
_OF_STRENGTH: Final = MappingProxyType(
    {
        G_PER_L: Fraction(1),
        OZ_PER_US_GALLON: 1000 * UNITS["oz"].factor / UNITS["us_gallon"].factor,
    }
)
_NO_BULK: Final = Bulk(Fraction(1), Fraction(1), Fraction(1))
_EITHER: Final = (
    Kinds(gallon="us", cup="us", spoon="us"),
    Kinds(gallon="imp", cup="imp", spoon="imp"),
)
_MARKS: Final = frozenset('°"″%')


@dataclass(frozen=True, slots=True)
class Measured:
    """
    A number as understood, in the unit it was asked in.

    `said`: the amounts that were named, a weight and a volume for a strength; () of a bare
    number.
    """

    number: Fraction
    said: tuple[Quantity, ...] = ()


def convert(number: Fraction, unit: str, to: str) -> Fraction:
    """
    Return a number of one unit in another of its sort, exactly.

    >>> convert(Fraction(1), "inch", "mm"), convert(Fraction(50), "fahrenheit", "celsius")
    (Fraction(127, 5), Fraction(10, 1))
    """
    if unit in _OF_STRENGTH:
        return number * _OF_STRENGTH[unit] / _OF_STRENGTH[to]
    return (Quantity("", number, unit).base - UNITS[to].offset) / UNITS[to].factor


def names_a_unit(typed: str) -> bool:
    """Return whether more than a number is written."""
    try:
        read_number(typed, low=-NUMBER_MAX)
    except NotUnderstood:
        return any(one.isalpha() or one in _MARKS for one in typed)
    return False


def read_measured(
    typed: str, unit: str, *, bare: str, kinds: Kinds | None, words: Language = ENGLISH
) -> Measured:
    """
    Read a number of one unit.

    Args:
        typed: At most 80 characters: "40", "40 g/L", "5.3 oz/gal", "1 1/2 in".
        unit: In which it is returned: a key of `US_OF`.
        bare: The unit of a number alone.
        kinds: What a bare gallon is, where one is named; None: nobody said.
        words: The tongue it is written in.

    Raises:
        NotUnderstood: It is neither a number nor an amount of that sort.

    >>> read_measured("5", "mm", bare="inch", kinds=None).number
    Fraction(127, 1)
    """
    if not names_a_unit(typed):
        low = -NUMBER_MAX if unit == "celsius" else 0
        return Measured(convert(read_number(typed, low=low), bare, unit))
    if unit in _OF_STRENGTH:
        return _strength(typed, kinds, words)
    said = read_amount(typed, kinds, UNITS[unit].dimension, words=words)
    return Measured(convert(said.n, said.unit, unit), (said,))


def _strength(typed: str, kinds: Kinds | None, words: Language) -> Measured:
    """Read one weighed amount in one volume of water [g/L]."""
    by_weight = [replace(one, ounce=BY_WEIGHT) for one in ((kinds,) if kinds else _EITHER)]
    first, *others = (_statement(typed, one, words) for one in by_weight)
    whole = (0, len(typed))
    if any(other.g_per_l != first.g_per_l for other in others):
        raise NotUnderstood("which-kind", typed, whole, ("us_gallon", "imp_gallon"))
    if first.how != WEIGHED:
        raise NotUnderstood("wrong-dimension", typed, whole, (MASS,))
    if first.g_per_l.low != first.g_per_l.high:
        raise NotUnderstood("two-numbers", typed, whole)
    return Measured(first.g_per_l.middle, (first.amount, first.water))


def _statement(typed: str, kinds: Kinds, words: Language) -> Statement:
    """Return the one way in which a strength is said."""
    found = read_dose(typed, kinds, _NO_BULK, words=words)
    if len(found.statements) > 1:
        raise NotUnderstood("two-numbers", typed, (0, len(typed)))
    return found.statements[0]
