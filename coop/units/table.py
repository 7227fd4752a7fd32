"""
The closed table of units: code, dimension, exact factor to the dimension's base unit.

Base units: volume mL, mass g, length mm, area m2, temperature degree Celsius, count one
sheet, ratio 1. Whatever is not exact by definition (a ream, a drop, a spoon's grams) is not
in here.

Definitions:
- inch 25.4 mm, pound 453.59237 g: international yard and pound agreement of 1959 (from memory).
- US gallon 231 cubic inches; quart, pint, cup, fluid ounce, tablespoon, teaspoon are its 4th,
  8th, 16th, 128th, 256th, 768th part: NIST Handbook 44, appendix C (from memory).
- Imperial gallon 4.54609 L; quart, pint, fluid ounce are its 4th, 8th, 160th part: Weights and
  Measures Act 1985, schedule 1 (from memory). The imperial cup (half a pint), tablespoon (5/8
  of a fluid ounce) and teaspoon (a third of that) are common practice, no source.
- Apothecary ounce 480 grains of 64.79891 mg: NIST Handbook 44, appendix C (from memory).
- Metric cup 250 mL, spoons 15 and 5 mL, Australian tablespoon 20 mL, Turkish (water)
  glass 200 mL: common practice, no source.
- 0 degree Celsius is 273.15 K, 1 degree Fahrenheit is 5/9 K and 32 F is 0 C: the SI brochure
  and NIST SP 811 (from memory).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

VOLUME: Final = "volume"
MASS: Final = "mass"
LENGTH: Final = "length"
AREA: Final = "area"
TEMPERATURE: Final = "temperature"
COUNT: Final = "count"
RATIO: Final = "ratio"
BASE_UNITS: Final = MappingProxyType(
    {
        VOLUME: "ml",
        MASS: "g",
        LENGTH: "mm",
        AREA: "m2",
        TEMPERATURE: "celsius",
        COUNT: "sheet",
        RATIO: "one",
    }
)


@dataclass(frozen=True, slots=True)
class Unit:
    """
    One unit: `base = n * factor + offset`; `one` and `many` are its written names.

    `offset` is 0 but for the Fahrenheit scale.
    """

    code: str
    dimension: str
    factor: Fraction
    one: str
    many: str
    offset: Fraction = Fraction(0)


_INCH_MM = Fraction("25.4")
_US_GALLON_ML = 231 * _INCH_MM**3 / 1000
_IMP_GALLON_ML = Fraction("4546.09")
_POUND_G = Fraction("453.59237")
_GRAIN_G = Fraction("0.06479891")


def _symbol(code: str, dimension: str, factor: Fraction | int, symbol: str) -> Unit:
    return Unit(code, dimension, Fraction(factor), symbol, symbol)


def _named(code: str, dimension: str, factor: Fraction | int, one: str) -> Unit:
    return Unit(code, dimension, Fraction(factor), one, one + "s")


def _us(name: str, code: str, parts: int) -> Unit:
    return _named(f"us_{code}", VOLUME, _US_GALLON_ML / parts, f"US {name}")


def _imp(name: str, code: str, parts: Fraction | int) -> Unit:
    return _named(f"imp_{code}", VOLUME, _IMP_GALLON_ML / parts, f"imperial {name}")


_LIST: Final = (
    _symbol("ml", VOLUME, 1, "mL"),
    _symbol("cl", VOLUME, 10, "cL"),
    _symbol("dl", VOLUME, 100, "dL"),
    _symbol("l", VOLUME, 1000, "L"),
    _us("gallon", "gallon", 1),
    _us("quart", "quart", 4),
    _us("pint", "pint", 8),
    _us("cup", "cup", 16),
    _us("fluid ounce", "fl_oz", 128),
    _us("tablespoon", "tbsp", 256),
    _us("teaspoon", "tsp", 768),
    _imp("gallon", "gallon", 1),
    _imp("quart", "quart", 4),
    _imp("pint", "pint", 8),
    _imp("cup", "cup", 16),
    _imp("fluid ounce", "fl_oz", 160),
    _imp("tablespoon", "tbsp", 256),
    _imp("teaspoon", "tsp", 768),
    _named("metric_cup", VOLUME, 250, "metric cup"),
    Unit("tr_cup", VOLUME, Fraction(200), "Turkish glass", "Turkish glasses"),
    _named("metric_tbsp", VOLUME, 15, "metric tablespoon"),
    _named("metric_tsp", VOLUME, 5, "metric teaspoon"),
    _named("au_tbsp", VOLUME, 20, "Australian tablespoon"),
    _symbol("mg", MASS, Fraction(1, 1000), "mg"),
    _symbol("g", MASS, 1, "g"),
    _symbol("kg", MASS, 1000, "kg"),
    _symbol("lb", MASS, _POUND_G, "lb"),
    _symbol("oz", MASS, _POUND_G / 16, "oz (weight)"),
    _named("apoth_oz", MASS, 480 * _GRAIN_G, "apothecary ounce"),
    _symbol("mm", LENGTH, 1, "mm"),
    _symbol("cm", LENGTH, 10, "cm"),
    _symbol("m", LENGTH, 1000, "m"),
    Unit("inch", LENGTH, _INCH_MM, "inch", "inches"),
    _symbol("cm2", AREA, Fraction(1, 10_000), "cm²"),
    _symbol("m2", AREA, 1, "m²"),
    _symbol("celsius", TEMPERATURE, 1, "°C"),
    Unit("fahrenheit", TEMPERATURE, Fraction(5, 9), "°F", "°F", Fraction(-160, 9)),
    _named("sheet", COUNT, 1, "sheet"),
    _symbol("percent", RATIO, Fraction(1, 100), "%"),
)


def _by_code(units: Iterable[Unit]) -> Mapping[str, Unit]:
    return MappingProxyType({unit.code: unit for unit in units})


UNITS: Final = _by_code(_LIST)
"""Every unit by its code."""
