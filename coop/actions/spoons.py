"""What a level spoon of a powder usually weighs, and when a weighing must be a slip."""

from typing import Final

from coop.ledger.measure import SPOONS, US_TBSP_ML, spoon_default
from coop.units.table import UNITS

ODD_TIMES: Final = 2
"""So many times out of the published range is asked about: our own choice, no source. One spoon
written down as ten weighs a tenth, pounds read as grams a few hundredths."""


def usual_spoon_g(what: str, spoon: str) -> tuple[float, float]:
    """
    Return the least and the most [g] that a level spoon of a powder weighs, as published.

    Args:
        what: "alum" or a powder.
        spoon: A unit of volume.

    Source: `alum_g_per_us_tbsp` and its like of `coop.science.defaults`.
    """
    usual, times = spoon_default(what), float(UNITS[spoon].factor) / US_TBSP_ML
    return usual.low * times, usual.high * times


def is_odd(spoon_g: float, what: str, spoon: str) -> bool:
    """Return whether a level spoon of a powder can hardly weigh so much [g]."""
    low_g, high_g = usual_spoon_g(what, spoon)
    return not low_g / ODD_TIMES <= spoon_g <= high_g * ODD_TIMES


def is_no_powder(spoon_g: float, spoon: str) -> bool:
    """Return whether a level spoon of any powder of the trade can hardly weigh so much [g]."""
    return all(is_odd(spoon_g, what, spoon) for what in (*SPOONS, "other"))
