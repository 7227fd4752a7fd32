"""Sheets of paper: formats, areas, weight per area, and the chalk a sheet may hold."""

from collections.abc import Mapping
from math import prod
from types import MappingProxyType
from typing import Final, TypeVar

_Row = TypeVar("_Row")

MM_PER_IN: Final = 25.4
G_PER_LB: Final = 453.59237

SIDE_MAX_MM: Final = 3_000.0
WEIGHT_MAX_G_PER_M2: Final = 1_000.0
BASIS_WEIGHT_MAX_LB: Final = 500.0
RESERVE_MAX_MOL_ACID_PER_KG: Final = 5.0

SIDE_SLACK: Final = 1e-9
"""Half of 22 inches goes twice into 22 inches, whatever the last digit of a float says."""

OH_PER_AL: Final = 3.0
"""Acid that one aluminium carries: Al3+ + 3 OH- -> Al(OH)3."""

SHEET_FORMATS: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "full": (500, 700),
        "half": (350, 500),
        "quarter": (250, 350),
        "500x700": (500, 700),
        "640x900": (640, 900),
        "700x1000": (700, 1000),
        "19x25in": (19 * MM_PER_IN, 25 * MM_PER_IN),
        "22x30in": (22 * MM_PER_IN, 30 * MM_PER_IN),
        "23x35in": (23 * MM_PER_IN, 35 * MM_PER_IN),
        "25x38in": (25 * MM_PER_IN, 38 * MM_PER_IN),
        "18x24in": (18 * MM_PER_IN, 24 * MM_PER_IN),
        "12x18in": (12 * MM_PER_IN, 18 * MM_PER_IN),
        "11x17in": (11 * MM_PER_IN, 17 * MM_PER_IN),
        "8.5x11in": (8.5 * MM_PER_IN, 11 * MM_PER_IN),
        "A0": (841, 1189),
        "A1": (594, 841),
        "A2": (420, 594),
        "A3": (297, 420),
        "A4": (210, 297),
        "B1": (707, 1000),
        "B2": (500, 707),
        "RA0": (860, 1220),
        "RA1": (610, 860),
        "RA2": (430, 610),
        "RA3": (305, 430),
        "RA4": (215, 305),
        "SRA0": (900, 1280),
        "SRA1": (640, 900),
        "SRA2": (450, 640),
        "SRA3": (320, 450),
        "SRA4": (225, 320),
    }
)
"""Width and height in mm, short side first. `full`, `half` and `quarter` are cuts of the
common 500 x 700 mm parent sheet; another parent sheet gives its own by `cut_mm`. The others
are parent sheets of the trade, ISO 216 (A, B), ISO 217 (RA, SRA) and inch formats."""

CUTS: Final[Mapping[str, int]] = MappingProxyType({"full": 1, "half": 2, "quarter": 4})
"""Pieces that a parent sheet gives."""

GRADES: Final[Mapping[str, tuple[int, float, float]]] = MappingProxyType(
    {
        "bond": (500, 17, 22),
        "cover": (500, 20, 26),
        "text": (500, 25, 38),
        "tag": (500, 24, 36),
        "index": (500, 25.5, 30.5),
        "bristol": (500, 22.5, 28.5),
        "blotting": (500, 19, 24),
        "board": (1000, 12, 12),
    }
)
"""Sheets in the weighed pile and their basic size in inches. `bond` is also writing and
ledger, `text` also book and offset, `tag` also newsprint; `board` is 1000 square feet."""


def _within(name: str, number: float, high: float) -> None:
    if not 0 < number <= high:
        raise ValueError(f"{name}: must be over 0 and at most {high:g}, is {number:g}")


def _one_of(name: str, key: str, table: Mapping[str, _Row]) -> _Row:
    if key not in table:
        raise ValueError(f"{name}: must be one of {', '.join(table)}, is {key}")
    return table[key]


def area_m2(*, width_mm: float, height_mm: float) -> float:
    """
    Return the area of one side of a sheet.

    Args:
        width_mm: One side [mm], over 0, at most 3000.
        height_mm: The other side [mm], over 0, at most 3000.

    Returns:
        Area [m2]. ValueError outside the ranges.

    Valid for:
        Rectangles; paper is cut to about +-1 mm.

    Source:
        Geometry.

    Example:
        >>> area_m2(width_mm=500, height_mm=700)
        0.35
    """
    _within("width_mm", width_mm, SIDE_MAX_MM)
    _within("height_mm", height_mm, SIDE_MAX_MM)
    return width_mm * height_mm * 1e-6


def sheet_area_m2(*, sheet_format: str) -> float:
    """
    Return the area of one side of a sheet of a named format.

    Args:
        sheet_format: Name of the format [one of SHEET_FORMATS].

    Returns:
        Area [m2]. ValueError for an unknown format, naming the known ones.

    Valid for:
        Untrimmed formats; 2 to 4 % is trimmed from a parent sheet.

    Source:
        ISO 216 and ISO 217 as read in tables of both; studio cuts are common practice.

    Example:
        >>> sheet_area_m2(sheet_format="quarter")
        0.0875
    """
    width_mm, height_mm = _one_of("sheet_format", sheet_format, SHEET_FORMATS)
    return area_m2(width_mm=width_mm, height_mm=height_mm)


def cut_mm(*, width_mm: float, height_mm: float, cut: str) -> tuple[float, float]:
    """
    Return the sides of a piece cut from a parent sheet.

    Args:
        width_mm: One side of the parent sheet [mm], over 0, at most 3000.
        height_mm: The other side [mm], over 0, at most 3000.
        cut: Which piece [one of CUTS]: full, half (across the long side) or quarter.

    Returns:
        Short and long side of the piece [mm, mm]. ValueError outside the ranges.

    Valid for:
        Cuts without trimming.

    Source:
        Geometry; the three cuts are common practice.

    Example:
        >>> cut_mm(width_mm=640, height_mm=900, cut="half")
        (450.0, 640)
    """
    _within("width_mm", width_mm, SIDE_MAX_MM)
    _within("height_mm", height_mm, SIDE_MAX_MM)
    pieces = _one_of("cut", cut, CUTS)
    short, long = sorted((width_mm, height_mm))
    while pieces > 1:
        short, long = sorted((short, long / 2))
        pieces //= 2
    return short, long


def sheets_out_of(
    *, parent_mm: tuple[float, float], sheet_mm: tuple[float, float], turned: bool
) -> tuple[int, float]:
    """
    Return how many sheets come out of a parent sheet one way round, and what is left of it.

    Args:
        parent_mm: Both sides of the parent sheet [mm, mm], over 0, at most 3000.
        sheet_mm: Both sides of the sheets [mm, mm], over 0, at most 3000.
        turned: Whether their long side lies across the parent's [yes or no]: fibres along
            the one then run across the other.

    Returns:
        Sheets [count] and offcut [m2]. ValueError outside the ranges.

    Valid for:
        Straight cuts through the whole sheet without trimming, all sheets laid the same way.

    Source:
        Geometry.

    Example:
        >>> for turned in (False, True):
        ...     count, offcut_m2 = sheets_out_of(
        ...         parent_mm=(700, 1000), sheet_mm=(350, 480), turned=turned)
        ...     count, round(offcut_m2, 3)
        (4, 0.028)
        (2, 0.364)
    """
    for name, side in (("parent_mm", parent_mm), ("sheet_mm", sheet_mm)):
        for length in side:
            _within(name, length, SIDE_MAX_MM)
    along = zip(sorted(parent_mm), sorted(sheet_mm, reverse=turned), strict=True)
    count = prod(int(whole / part + SIDE_SLACK) for whole, part in along)
    parent_m2, sheet_m2 = (
        area_m2(width_mm=one, height_mm=other) for one, other in (parent_mm, sheet_mm)
    )
    return count, max(0.0, parent_m2 - count * sheet_m2)


def g_per_m2_from_lb(*, basis_weight_lb: float, grade: str) -> float:
    """
    Return the weight per area of a paper sold by the pound.

    Args:
        basis_weight_lb: Weight of the grade's pile of basic sheets [lb], over 0, at most 500.
        grade: Grade whose basic size counts [one of GRADES].

    Returns:
        Weight per area [g/m2]. ValueError outside the ranges.

    Valid for:
        US grades. "80 lb" is 118 g/m2 of text and 216 g/m2 of cover: never without a grade.

    Source:
        lb x 453.59237 / (sheets x area); TAPPI T 410 and ISO 536 are the methods.

    Example:
        >>> round(g_per_m2_from_lb(basis_weight_lb=80, grade="text"), 1)
        118.4
    """
    _within("basis_weight_lb", basis_weight_lb, BASIS_WEIGHT_MAX_LB)
    sheet_count, width_in, height_in = _one_of("grade", grade, GRADES)
    pile_m2 = sheet_count * width_in * height_in * (MM_PER_IN / 1000) ** 2
    return basis_weight_lb * G_PER_LB / pile_m2


def lb_from_g_per_m2(*, weight_g_per_m2: float, grade: str) -> float:
    """
    Return the US basis weight of a paper sold by the metre.

    Args:
        weight_g_per_m2: Weight per area [g/m2], over 0, at most 1000.
        grade: Grade whose basic size counts [one of GRADES].

    Returns:
        Basis weight [lb]. ValueError outside the range or for an unknown grade.

    Valid for:
        As `g_per_m2_from_lb`; the same sheet has another number in each grade.

    Source:
        `g_per_m2_from_lb`, turned round.

    Example:
        >>> round(lb_from_g_per_m2(weight_g_per_m2=118.4, grade="text"))
        80
    """
    _within("weight_g_per_m2", weight_g_per_m2, WEIGHT_MAX_G_PER_M2)
    return weight_g_per_m2 / g_per_m2_from_lb(basis_weight_lb=1, grade=grade)


def chalk_reserve_mmol_acid_per_m2(
    *, reserve_mol_acid_per_kg: float, paper_g_per_m2: float
) -> float:
    """
    Return the acid that the chalk of a buffered sheet can take up, per area.

    Args:
        reserve_mol_acid_per_kg: Alkaline reserve [mol acid/kg paper], over 0, at most 5;
            permanent paper has 0.4 at least, which is 20 g of chalk per kg.
        paper_g_per_m2: Weight of the paper [g/m2], over 0, at most 1000.

    Returns:
        Equivalents [mmol acid/m2], both sides together. ValueError outside the ranges.

    Valid for:
        All of the chalk; a bath reaches a part of it.

    Source:
        ISO 9706 reserve as compared in a Library of Congress appendix.

    Example:
        >>> chalk_reserve_mmol_acid_per_m2(reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100)
        40.0
    """
    _within("reserve_mol_acid_per_kg", reserve_mol_acid_per_kg, RESERVE_MAX_MOL_ACID_PER_KG)
    _within("paper_g_per_m2", paper_g_per_m2, WEIGHT_MAX_G_PER_M2)
    return reserve_mol_acid_per_kg * paper_g_per_m2


def al_destroyed_mmol_per_m2(
    *, reserve_mol_acid_per_kg: float, paper_g_per_m2: float, fraction_reached: float
) -> float:
    """
    Return the aluminium that the chalk of a buffered sheet destroys, per area.

    Args:
        reserve_mol_acid_per_kg: Alkaline reserve [mol acid/kg paper], over 0, at most 5.
        paper_g_per_m2: Weight of the paper [g/m2], over 0, at most 1000.
        fraction_reached: Part of the chalk the bath reaches [fraction], 0 to 1.

    Returns:
        Aluminium [mmol Al/m2]. ValueError outside the ranges.

    Valid for:
        Enough alum for the chalk; three equivalents of acid per aluminium, that is
        1.5 mol of chalk per mol of potash alum.

    Source:
        2 KAl(SO4)2 + 3 CaCO3 + 3 H2O -> 2 Al(OH)3 + 3 CaSO4 + K2SO4 + 3 CO2 (computed).

    Example:
        >>> round(al_destroyed_mmol_per_m2(
        ...     reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100, fraction_reached=1), 2)
        13.33
    """
    if not 0 <= fraction_reached <= 1:
        raise ValueError(f"fraction_reached: must be from 0 to 1, is {fraction_reached:g}")
    reserve_mmol = chalk_reserve_mmol_acid_per_m2(
        reserve_mol_acid_per_kg=reserve_mol_acid_per_kg, paper_g_per_m2=paper_g_per_m2
    )
    return fraction_reached * reserve_mmol / OH_PER_AL
