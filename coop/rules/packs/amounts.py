"""Quantities of rules and readings, their units, and the devices that read them."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.rules.packs import words
from coop.units.table import UNITS

PH: Final = "ph"
TEMPERATURE: Final = "temperature"
FLASH_POINT: Final = "flash_point"
MASS_PER_VOLUME: Final = "mass_per_volume"
MASS_FRACTION: Final = "mass_fraction"
VOLUME_FRACTION: Final = "volume_fraction"
MASS: Final = "mass"
VOLUME: Final = "volume"
YES_NO: Final = "yes_no"

_ONE = Fraction(1)
_HOURS_OF_90_DAYS: Final = 90 * 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """
    One quantity: its units with factor and offset to the first, its range in the first.

    `fresh_h` is how long a reading stands at most; `devices` is what reads it.
    """

    units: Mapping[str, tuple[Fraction, Fraction]]
    low: Fraction
    high: Fraction
    fresh_h: int
    devices: tuple[str, ...]


def _of_table(*codes: str) -> Mapping[str, tuple[Fraction, Fraction]]:
    return MappingProxyType({code: (UNITS[code].factor, UNITS[code].offset) for code in codes})


def _plain(**factors: Fraction) -> Mapping[str, tuple[Fraction, Fraction]]:
    return MappingProxyType({code: (one, Fraction(0)) for code, one in factors.items()})


_DEGREES = _of_table("celsius", "fahrenheit")
_MILLION = 10**6

MEASURES: Final[Mapping[str, Measure]] = MappingProxyType(
    {
        PH: Measure(
            units=_plain(ph=_ONE),
            low=Fraction(0),
            high=Fraction(14),
            fresh_h=24,
            devices=(words.STRIP, words.METER),
        ),
        TEMPERATURE: Measure(
            units=_DEGREES,
            low=Fraction(-20),
            high=Fraction(120),
            fresh_h=24,
            devices=(words.THERMOMETER,),
        ),
        FLASH_POINT: Measure(
            units=_DEGREES,
            low=Fraction(-100),
            high=Fraction(400),
            fresh_h=_HOURS_OF_90_DAYS,
            devices=(words.SAFETY_SHEET, words.LABORATORY),
        ),
        MASS_PER_VOLUME: Measure(
            units=_plain(
                mg_per_l=_ONE,
                ug_per_l=Fraction(1, 1000),
                g_per_l=Fraction(1000),
                g_per_m3=_ONE,
            ),
            low=Fraction(0),
            high=Fraction(2 * _MILLION),
            fresh_h=_HOURS_OF_90_DAYS,
            devices=(words.LABORATORY,),
        ),
        MASS_FRACTION: Measure(
            units=_plain(percent_by_mass=_ONE),
            low=Fraction(0),
            high=Fraction(100),
            fresh_h=_HOURS_OF_90_DAYS,
            devices=(words.SAFETY_SHEET, words.SCALE),
        ),
        VOLUME_FRACTION: Measure(
            units=_plain(percent_by_volume=_ONE),
            low=Fraction(0),
            high=Fraction(100),
            fresh_h=_HOURS_OF_90_DAYS,
            devices=(words.SAFETY_SHEET, words.DIPSTICK),
        ),
        MASS: Measure(
            units=_of_table("g", "mg", "kg", "lb", "oz"),
            low=Fraction(0),
            high=Fraction(100 * _MILLION),
            fresh_h=24,
            devices=(words.SCALE,),
        ),
        VOLUME: Measure(
            units=MappingProxyType(
                {
                    **_of_table("ml", "l", "us_gallon", "imp_gallon"),
                    "m3": (Fraction(_MILLION), Fraction(0)),
                }
            ),
            low=Fraction(0),
            high=Fraction(100 * _MILLION),
            fresh_h=24,
            devices=(words.DIPSTICK,),
        ),
        YES_NO: Measure(
            units=MappingProxyType({}),
            low=Fraction(0),
            high=Fraction(0),
            fresh_h=24,
            devices=(words.EYE,),
        ),
    }
)
"""
Every quantity.

A pH, a temperature and a look stand 24 h at most: common practice, no source, and stricter
than nothing. A laboratory's figure stands 90 days for one recipe: our own choice, no source.
"""

ANALYSED: Final = frozenset({MASS_PER_VOLUME, MASS_FRACTION, VOLUME_FRACTION})
"""The quantities of something: they name an analyte."""
DILUTABLE: Final = frozenset({PH, MASS_PER_VOLUME, MASS_FRACTION, VOLUME_FRACTION})
"""The quantities that water alone brings over a limit."""

AMMONIA_G_PER_G_N: Final = Fraction("17.031") / Fraction("14.007")
"""Ammonia per nitrogen, 1.216: atomic weights N 14.007, H 1.008, IUPAC (from memory)."""


def in_base(n: Fraction, *, quantity: str, unit: str) -> Fraction:
    """
    Return a figure in the first unit of its quantity.

    Source:
        coop.units.table; the Fahrenheit scale is affine.

    >>> round(float(in_base(Fraction(150), quantity="temperature", unit="fahrenheit")), 1)
    65.6
    """
    factor, offset = MEASURES[quantity].units[unit]
    return n * factor + offset


def gap_in_base(gap: Fraction, *, quantity: str, unit: str) -> Fraction:
    """
    Return a difference, as a step of a scale, in the first unit of its quantity.

    >>> gap_in_base(Fraction(9), quantity="temperature", unit="fahrenheit")
    Fraction(5, 1)
    """
    return gap * MEASURES[quantity].units[unit][0]
