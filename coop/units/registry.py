"""
Conversions, done by pint over a registry of our own.

The registry is built once, at import, from the definitions below: explicit names, no
prefixes, no contexts (with a context several threads can get wrong numbers). It only ever
sees codes of the table, never a text that somebody typed. It is written down apart from
`table`, by way of the legal definitions, so each checks the other.
"""

from fractions import Fraction
from typing import Final

import pint

from coop.units.fault import NotUnderstood
from coop.units.quantity import Quantity, text
from coop.units.table import UNITS

DEFINITIONS: Final = (
    "mm = [length]",
    "cm = 10 * mm",
    "m = 1000 * mm",
    "inch = 25.4 * mm",
    "cm2 = cm ** 2",
    "m2 = m ** 2",
    "ml = cm ** 3",
    "cl = 10 * ml",
    "dl = 100 * ml",
    "l = 1000 * ml",
    "us_gallon = 231 * inch ** 3",
    "us_quart = us_gallon / 4",
    "us_pint = us_quart / 2",
    "us_cup = us_pint / 2",
    "us_fl_oz = us_cup / 8",
    "us_tbsp = us_fl_oz / 2",
    "us_tsp = us_tbsp / 3",
    "imp_gallon = 4.54609 * l",
    "imp_quart = imp_gallon / 4",
    "imp_pint = imp_quart / 2",
    "imp_cup = imp_pint / 2",
    "imp_fl_oz = imp_pint / 20",
    "imp_tbsp = 5 * imp_fl_oz / 8",
    "imp_tsp = imp_tbsp / 3",
    "metric_cup = 250 * ml",
    "tr_cup = 200 * ml",
    "metric_tbsp = 15 * ml",
    "metric_tsp = 5 * ml",
    "au_tbsp = 20 * ml",
    "g = [mass]",
    "mg = g / 1000",
    "kg = 1000 * g",
    "lb = 453.59237 * g",
    "oz = lb / 16",
    "apoth_oz = 480 * lb / 7000",
    "kelvin = [temperature]",
    "celsius = kelvin; offset: 273.15",
    "fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9",
    "sheet = [sheet]",
    "one = []",
    "percent = one / 100",
)


def _build() -> pint.UnitRegistry[Fraction]:
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(
        None, non_int_type=Fraction, on_redefinition="raise"
    )
    for line in DEFINITIONS:
        registry.define(line)
    return registry


_REGISTRY: Final = _build()


def convert(quantity: Quantity, unit: str) -> Fraction:
    """
    Return the number of `unit` (a code) that equals the quantity, exactly.

    Raises:
        NotUnderstood: "wrong-dimension", when the two do not measure the same thing.

    >>> convert(Quantity("1 US gallon", Fraction(1), "us_gallon"), "us_tbsp")
    Fraction(256, 1)
    """
    if UNITS[unit].dimension != quantity.dimension:
        part = quantity.typed or text(quantity)
        raise NotUnderstood("wrong-dimension", part, (0, len(part)), (UNITS[unit].dimension,))
    return Fraction(_REGISTRY.Quantity(quantity.n, quantity.unit).m_as(unit))
