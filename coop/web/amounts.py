"""
Amounts as they are shown: metric, or US customary for the member who chose so.

What goes in is SI as the core holds it; what comes out carries its unit, and a gallon its kind.
A strength in US measures is avoirdupois ounces to the US gallon.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from math import floor, log10
from types import MappingProxyType
from typing import Final

from coop.science.paper import lb_from_g_per_m2
from coop.units.table import UNITS
from coop.web.i18n import N_, Words

US_GALLON_ML: Final = float(UNITS["us_gallon"].factor)
US_QUART_ML: Final = float(UNITS["us_quart"].factor)
US_FL_OZ_ML: Final = float(UNITS["us_fl_oz"].factor)
OZ_G: Final = float(UNITS["oz"].factor)
LB_G: Final = float(UNITS["lb"].factor)
INCH_MM: Final = float(UNITS["inch"].factor)
FAHRENHEIT_PER_CELSIUS: Final = float(1 / UNITS["fahrenheit"].factor)
FREEZING_F: Final = 32
SQUARE_FOOT_M2: Final = float((12 * UNITS["inch"].factor / 1000) ** 2)
GRAIN_MG: Final = 1000 * LB_G / 7000
"""Grains: 7000 to the avoirdupois pound (NIST Handbook 44, appendix C, from memory)."""
G_PER_L_OF_OZ_PER_GAL: Final = OZ_G / (US_GALLON_ML / 1000)
KILOGRAMS_FROM_G: Final = 10_000
DECIMALS_MAX: Final = 4
NO_STEP: Final = 1e-9
"""So much of a step is the error of a float: 1.01 gal is a hundred and one hundredths."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A unit: its text with `%(n)s`, what one of it is in SI, and how many decimals it has."""

    text: str
    one: float
    digits: int


VOLUMES: Final = (
    Scale(N_("%(n)s US gal"), US_GALLON_ML, 2),
    Scale(N_("%(n)s US qt"), US_QUART_ML, 2),
    Scale(N_("%(n)s US fl oz"), US_FL_OZ_ML, 1),
)
WEIGHTS: Final = (Scale(N_("%(n)s lb"), LB_G, 2), Scale(N_("%(n)s oz"), OZ_G, 2))


def largest(scales: tuple[Scale, ...], base: float) -> Scale:
    """Return the largest unit of which there is one [mL, g]; the smallest for less."""
    return next((one for one in scales if abs(base) >= one.one), scales[-1])


def decimals_of(value: float) -> int:
    """Return how many decimals a figure has, four at most."""
    exponent = Decimal(str(round(value, DECIMALS_MAX))).normalize().as_tuple().exponent
    assert isinstance(exponent, int), "a figure is finite"
    return max(0, -exponent)


def metric(words: Words) -> Words:
    """Return the same words in metric measures: for papers that are handed to others."""
    return replace(words, us=False)


def volume(words: Words, volume_ml: float, digits: int | None = None) -> str:
    """
    Return a volume: litres with one decimal, two under one litre.

    In US measures gallons, quarts or fluid ounces, whichever there is one of.
    """
    if words.us:
        scale = largest(VOLUMES, volume_ml)
        said = words.number(volume_ml / scale.one, scale.digits)
        return words.gettext(scale.text, n=said)
    value = volume_ml / 1000
    places = digits if digits is not None else (1 if abs(value) >= 1 else 2)
    return words.gettext("%(litres)s L", litres=words.number(value, places))


def volume_figure(words: Words, volume_ml: float, *, by_ml: float, digits: int = 1) -> str:
    """Return the bare number of a volume in the unit that `by_ml` is said in."""
    scale = largest(VOLUMES, by_ml) if words.us else Scale("", 1000, digits)
    return words.number(volume_ml / scale.one, scale.digits)


def volume_down(words: Words, volume_ml: float) -> str:
    """Return a volume rounded down to what a jug shows: what may still go is never more."""
    scale = largest(VOLUMES, volume_ml) if words.us else Scale("", 1000, 1)
    step_ml = scale.one / 10**scale.digits
    steps = floor(volume_ml / step_ml + NO_STEP)
    return volume(words, steps * step_ml, scale.digits)


def small_figure(words: Words, volume_ml: float, digits: int = 0) -> str:
    """Return the bare number of a small volume, in millilitres or in US fluid ounces."""
    if words.us:
        return words.number(volume_ml / US_FL_OZ_ML, digits + 1)
    return words.number(volume_ml, digits)


def small_volume(words: Words, volume_ml: float, digits: int = 0) -> str:
    """Return a small volume: millilitres, or US fluid ounces."""
    said = small_figure(words, volume_ml, digits)
    if words.us:
        return words.gettext("%(n)s US fl oz", n=said)
    return words.gettext("%(millilitres)s mL", millilitres=said)


def volume_range(words: Words, middle_ml: float, low_ml: float, high_ml: float) -> str:
    """Return a volume with its range: 'about 10.5 L (10.1 to 10.9)'."""
    scale = largest(VOLUMES, middle_ml) if words.us else Scale(N_("%(n)s L"), 1000, 1)
    middle, low, high = (
        words.number(one / scale.one, scale.digits) for one in (middle_ml, low_ml, high_ml)
    )
    return words.gettext(
        "about %(middle)s (%(low)s to %(high)s)",
        middle=words.gettext(scale.text, n=middle),
        low=low,
        high=high,
    )


def weight(words: Words, weight_g: float, digits: int = 0) -> str:
    """Return a weight: grams, kilograms from 10 kg on; ounces, pounds from a pound on."""
    if words.us:
        scale = largest(WEIGHTS, weight_g)
        n = weight_g / scale.one
        return words.gettext(scale.text, n=words.number(n, _fine_digits(n, scale.digits)))
    if weight_g >= KILOGRAMS_FROM_G:
        return words.gettext("%(kilograms)s kg", kilograms=words.number(weight_g / 1000, 1))
    return words.gettext("%(grams)s g", grams=words.number(weight_g, digits))


def _fine_digits(n: float, digits: int) -> int:
    """Return the decimals of a figure: under a tenth so many that two figures are seen."""
    if not 0 < abs(n) < 0.1:
        return digits
    return min(DECIMALS_MAX, 1 - floor(log10(abs(n))))


def weight_figure(words: Words, weight_g: float, *, by_g: float, digits: int = 0) -> str:
    """Return the bare number of a weight in the unit that `by_g` is said in."""
    if words.us:
        scale = largest(WEIGHTS, by_g)
    else:
        kilograms = by_g >= KILOGRAMS_FROM_G
        scale = Scale("", 1000, 1) if kilograms else Scale("", 1, digits)
    return words.number(weight_g / scale.one, scale.digits)


def weight_span(words: Words, low_g: float, high_g: float, *, digits: int = 0) -> str:
    """Return the ends of a weight: '26 to 36 g'."""
    return words.gettext(
        "%(low)s to %(high)s",
        low=weight_figure(words, low_g, by_g=high_g, digits=digits),
        high=weight(words, high_g, digits),
    )


def strength_figure(words: Words, figure_g_per_l: float, digits: int = 0) -> str:
    """Return the bare number of a strength, in g/L or in oz to the US gallon."""
    if words.us:
        return words.number(figure_g_per_l / G_PER_L_OF_OZ_PER_GAL, digits + 1)
    return words.number(figure_g_per_l, digits)


def g_per_l(words: Words, figure_g_per_l: float, digits: int = 0) -> str:
    """Return a strength: '40 g/L', or '5.3 oz wt/US gal'."""
    return with_strength_unit(words, strength_figure(words, figure_g_per_l, digits))


def strength_as_said(words: Words, figure_g_per_l: float) -> str:
    """Return a strength with the decimals it has: '37.5 g/L', or '5.01 oz wt/US gal'."""
    return g_per_l(words, figure_g_per_l, decimals_of(figure_g_per_l))


def with_strength_unit(words: Words, said: str) -> str:
    """Return the bare number of a strength with its unit."""
    if words.us:
        return words.gettext("%(n)s oz wt/US gal", n=said)
    return words.gettext("%(n)s g/L", n=said)


def strength(words: Words, middle: float, low: float, high: float, *, digits: int = 0) -> str:
    """Return a strength [g/L] with its range: 'about 31 g/L (26 to 36)'."""
    said = [strength_figure(words, one, digits) for one in (middle, low, high)]
    return words.gettext(
        "about %(middle)s (%(low)s to %(high)s)",
        middle=with_strength_unit(words, said[0]),
        low=said[1],
        high=said[2],
    )


def strength_span(words: Words, low: float, high: float, *, digits: int = 0) -> str:
    """Return the ends of a strength [g/L]: '26 to 36 g/L'."""
    said = words.gettext(
        "%(low)s to %(high)s",
        low=strength_figure(words, low, digits),
        high=strength_figure(words, high, digits),
    )
    return with_strength_unit(words, said)


def length_figure(words: Words, length_mm: float, digits: int = 0) -> str:
    """Return the bare number of a length, in millimetres or in inches."""
    if words.us:
        return words.number(length_mm / INCH_MM, digits + 1)
    return words.number(length_mm, digits)


def length(words: Words, length_mm: float, digits: int = 0) -> str:
    """Return a length: millimetres, or inches."""
    said = length_figure(words, length_mm, digits)
    return words.gettext("%(n)s in", n=said) if words.us else words.gettext("%(n)s mm", n=said)


def fahrenheit(warmth_c: float) -> float:
    """Return degrees Celsius in degrees Fahrenheit."""
    return FAHRENHEIT_PER_CELSIUS * warmth_c + FREEZING_F


def warmth_figure(words: Words, warmth_c: float, digits: int = 0) -> str:
    """Return the bare number of a temperature, in degrees Celsius or Fahrenheit."""
    return words.number(fahrenheit(warmth_c) if words.us else warmth_c, digits)


def warmth(words: Words, warmth_c: float, digits: int = 0) -> str:
    """Return a temperature: degrees Celsius, or Fahrenheit."""
    said = warmth_figure(words, warmth_c, digits)
    return words.gettext("%(n)s °F", n=said) if words.us else words.gettext("%(n)s °C", n=said)


def warmer(words: Words, by_c: float, digits: int = 0) -> str:
    """Return how much warmer something is: a difference has no zero to move."""
    if words.us:
        said = words.number(FAHRENHEIT_PER_CELSIUS * by_c, digits)
        return words.gettext("%(n)s °F", n=said)
    return words.gettext("%(n)s °C", n=words.number(by_c, digits))


def area(words: Words, area_m2: float, digits: int = 1) -> str:
    """Return an area: square metres, or square feet."""
    if words.us:
        return words.gettext("%(n)s sq ft", n=words.number(area_m2 / SQUARE_FOOT_M2, digits))
    return words.gettext("%(n)s m²", n=words.number(area_m2, digits))


def paper_weight(words: Words, weight_g_per_m2: float) -> str:
    """Return the weight of a paper: grams to the square metre, and US basis weights beside."""
    digits = decimals_of(round(weight_g_per_m2, 1))
    said = words.gettext("%(figure)s g/m²", figure=words.number(weight_g_per_m2, digits))
    if not words.us:
        return said
    as_text, as_cover = (
        words.number(lb_from_g_per_m2(weight_g_per_m2=weight_g_per_m2, grade=grade))
        for grade in ("text", "cover")
    )
    return words.gettext(
        "%(weight)s (%(as_text)s lb text, %(as_cover)s lb cover)",
        weight=said,
        as_text=as_text,
        as_cover=as_cover,
    )


def hardness(words: Words, mg_per_l: float) -> str:
    """Return a hardness as chalk: milligrams to the litre, and US grains to the gallon."""
    said = words.gettext("%(figure)s mg/L calcium carbonate", figure=words.number(mg_per_l))
    if not words.us:
        return said
    grains = mg_per_l * US_GALLON_ML / 1000 / GRAIN_MG
    return words.gettext(
        "%(hardness)s (%(grains)s grains/US gal)", hardness=said, grains=words.number(grains, 1)
    )


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit that figures are shown in: how to get there from the metric one, its decimals."""

    unit: str
    of: Callable[[float], float]
    digits: int


US_MEASURES: Final[Mapping[str, Measure]] = MappingProxyType(
    {
        "g/L": Measure(N_("oz wt/US gal"), lambda one: one / G_PER_L_OF_OZ_PER_GAL, 1),
        "L": Measure(N_("US gal"), lambda one: 1000 * one / US_GALLON_ML, 2),
        "mL": Measure(N_("US fl oz"), lambda one: one / US_FL_OZ_ML, 1),
        "kg": Measure(N_("lb"), lambda one: 1000 * one / LB_G, 2),
        "g": Measure(N_("oz"), lambda one: one / OZ_G, 2),
        "mm": Measure(N_("in"), lambda one: one / INCH_MM, 2),
        "°C": Measure(N_("°F"), fahrenheit, 0),
    }
)
"""The US customary unit that stands for a metric one, by the symbol of that one."""


def measure(words: Words, unit: str, digits: int) -> Measure:
    """Return in what figures of a metric unit stand in a table; its unit goes into the head."""
    if words.us:
        return US_MEASURES[unit]
    return Measure(unit, lambda one: one, digits)


def sides(words: Words, sides_mm: tuple[float, float]) -> str:
    """Return two sides: '50 x 150 mm'."""
    one, other = sides_mm
    return words.gettext(
        "%(one)s x %(other)s", one=length_figure(words, one), other=length(words, other)
    )


FILTERS: Final = MappingProxyType[str, Callable[..., str]]({"as_sides": sides})
"""What templates say amounts by: `{{ (50, 150) | as_sides }}`."""
