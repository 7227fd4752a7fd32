"""What a class or a session takes, from how many people come."""

from dataclasses import dataclass
from math import ceil
from typing import Final

from coop.science import size
from coop.science.alum import STRENGTH_MAX_G_PER_L
from coop.science.bath import PICKUPS
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import value
from coop.science.paper import sheet_area_m2

HEADS_MAX: Final = 200
SHEETS_EACH_MAX: Final = 500.0
SIZE_EACH_MAX_L: Final = 100.0
LAYING_MAX_L: Final = 1_000.0
GLOVES_PAIRS_EACH_MAX: Final = 20.0
WHOLE_DIGITS: Final = 9
"""Decimals past which a count is whole: 10 x 0.7 of a binary computer is 7, not 8."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionNeeds:
    """
    What a session takes.

    Attributes:
        sheet_count: Sheets, whole.
        area_m2: One side of all of them [m2].
        alum_drawn_l: Alum solution that leaves with the sheets [L].
        alum_l: That, and what must stand to lay a sheet [L].
        alum_g: Alum in it [g].
        size_l: Size, one filling of each tray [L].
        size_powder_g: Powder in it, carrageenan at the usual dose [g].
        gloves_pair_count: Pairs of gloves, whole.
    """

    sheet_count: int
    area_m2: float
    alum_drawn_l: float
    alum_l: float
    alum_g: float
    size_l: float
    size_powder_g: float
    gloves_pair_count: int


def session_needs(
    *,
    head_count: int,
    sheet_format: str,
    method: str,
    laying_l: float = 0.0,
    sheets_each: float = value("session_sheets_each"),
    size_l_each: float = value("session_size_l_each"),
    size_g_per_l: float = value("size_carrageenan_g_per_l"),
    alum_g_per_l: float = value("target_g_per_l"),
    gloves_pairs_each: float = value("session_gloves_pairs_each"),
) -> SessionNeeds:
    """
    Return what a session takes.

    Args:
        head_count: People who lay sheets [count], 1 to 200.
        sheet_format: Format of the sheets [one of paper.SHEET_FORMATS].
        method: How the alum goes on [one of bath.PICKUPS].
        laying_l: Alum solution that must stand to lay a sheet [L], 0 to 1000; none under a
            sponge or a brush.
        sheets_each: Sheets a person lays [count], over 0, at most 500.
        size_l_each: Size for a person [L], over 0, at most 100.
        size_g_per_l: Powder in a litre of size [g/L], over 0, at most 60.
        alum_g_per_l: Alum in a litre [g/L], over 0, at most 2000.
        gloves_pairs_each: Pairs of gloves for a person [count], over 0, at most 20.

    Returns:
        What it takes [SessionNeeds, units in its names]. ValueError outside the ranges.

    Valid for:
        Sheets that are alumed for the session, with the usual pick-up; the middle of a wide
        range. One filling of each tray; nothing is kept back for spills.

    Source:
        Multiplication; each default names its own source.

    Example:
        >>> needs = session_needs(head_count=12, sheet_format="quarter", method="sponge")
        >>> needs.sheet_count, needs.size_l, needs.size_powder_g, round(needs.alum_l, 2)
        (150, 48, 240, 1.05)
    """
    _refuse("head_count", head_count, HEADS_MAX)
    _refuse("sheets_each", sheets_each, SHEETS_EACH_MAX)
    _refuse("size_l_each", size_l_each, SIZE_EACH_MAX_L)
    _refuse("size_g_per_l", size_g_per_l, size.DOSE_MAX_G_PER_L)
    _refuse("alum_g_per_l", alum_g_per_l, STRENGTH_MAX_G_PER_L)
    _refuse("gloves_pairs_each", gloves_pairs_each, GLOVES_PAIRS_EACH_MAX)
    if not 0 <= laying_l <= LAYING_MAX_L:
        raise ValueError(f"laying_l: must be from 0 to {LAYING_MAX_L:g}, is {laying_l:g}")
    if method not in PICKUPS:
        raise ValueError(f"method: must be one of {', '.join(PICKUPS)}, is {method}")
    sheet_count = _whole(head_count * sheets_each)
    area_m2 = sheet_count * sheet_area_m2(sheet_format=sheet_format)
    drawn_l = area_m2 * PICKUPS[method].middle / ML_PER_L
    size_l = head_count * size_l_each
    return SessionNeeds(
        sheet_count=sheet_count,
        area_m2=area_m2,
        alum_drawn_l=drawn_l,
        alum_l=drawn_l + laying_l,
        alum_g=(drawn_l + laying_l) * alum_g_per_l,
        size_l=size_l,
        size_powder_g=size_l * size_g_per_l,
        gloves_pair_count=_whole(head_count * gloves_pairs_each),
    )


def _refuse(name: str, number: float, high: float) -> None:
    if not 0 < number <= high:
        raise ValueError(f"{name}: must be over 0 and at most {high:g}, is {number:g}")


def _whole(number: float) -> int:
    """Return the whole number that is enough."""
    return ceil(round(number, WHOLE_DIGITS))
