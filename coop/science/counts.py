"""Spoiled sheets counted: is it more than usual here, and how sure is a share of so few."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Final

from coop.science.defaults import Z_90, value

SHEETS_MAX: Final = 100_000
ONE_IN_MAX: Final = 1_000_000

SPEAKS_UNDER: Final = value("fault_speaks_under")
FAULT_SHEETS_MIN: Final = round(value("fault_sheets_min"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """
    A part of the sheets against all others that were sorted.

    Attributes:
        chance: Of so many or more in this part, were it no different from the rest [1].
        one_in: The same as "one time in so many" [count], 1 to 1,000,000.
        usual_count: What so many sheets usually give, by the rest [sheets].
        speaks: Whether people are told of it.
    """

    chance: float
    one_in: int
    usual_count: float
    speaks: bool


def compared(
    *,
    fault_count: int,
    sheet_count: int,
    rest_fault_count: int,
    rest_sheet_count: int,
    speaks_under: float = SPEAKS_UNDER,
    fault_sheets_min: int = FAULT_SHEETS_MIN,
) -> Compared:
    """
    Return how a part of the sheets compares with everything else sorted here.

    Args:
        fault_count: Sheets of this part with one word [count], 0 to sheet_count.
        sheet_count: Sheets of this part that were sorted [count], 1 to 100,000.
        rest_fault_count: All other sheets with that word [count], 0 to rest_sheet_count.
        rest_sheet_count: All other sheets that were sorted [count], 1 to 100,000.
        speaks_under: Chance under which people are told [1].
        fault_sheets_min: Sheets with the word before people are told [count].

    Returns:
        Chance, one time in, what is usual, whether it speaks [Compared]. ValueError outside
        the ranges.

    Valid for:
        Sheets that are spoiled one by one when nothing is wrong. Of many parts looked at, one
        in twenty lies under one in twenty by chance alone.

    Source:
        `chance_of_so_many`; the lines fault_speaks_under and fault_sheets_min are our own.

    Example:
        >>> found = compared(
        ...     fault_count=7, sheet_count=40, rest_fault_count=20, rest_sheet_count=294)
        >>> found.one_in, round(found.usual_count, 1), found.speaks
        (34, 2.7, True)
    """
    chance = chance_of_so_many(
        fault_count=fault_count,
        sheet_count=sheet_count,
        rest_fault_count=rest_fault_count,
        rest_sheet_count=rest_sheet_count,
    )
    return Compared(
        chance=chance,
        one_in=round(1 / max(chance, 1 / ONE_IN_MAX)),
        usual_count=sheet_count * rest_fault_count / rest_sheet_count,
        speaks=chance < speaks_under and fault_count >= fault_sheets_min,
    )


def chance_of_so_many(
    *, fault_count: int, sheet_count: int, rest_fault_count: int, rest_sheet_count: int
) -> float:
    """
    Return the chance of so many faults or more in a part that is no different from the rest.

    Args:
        fault_count: Sheets of this part with the fault [count], 0 to sheet_count.
        sheet_count: Sheets of this part [count], 1 to 100,000.
        rest_fault_count: All other sheets with it [count], 0 to rest_sheet_count.
        rest_sheet_count: All other sheets [count], 1 to 100,000.

    Returns:
        Chance [1], 0 to 1; to 12 digits down to 1e-300. ValueError outside the ranges.

    Valid for:
        Sheets that are all as likely to be spoiled as one another, the totals as they are.

    Source:
        Upper tail of the hypergeometric distribution, R. A. Fisher's exact test (The Design
        of Experiments, 1935, chapter II); summed outwards from the likeliest count.

    Example:
        >>> tea = chance_of_so_many(
        ...     fault_count=4, sheet_count=4, rest_fault_count=0, rest_sheet_count=4)
        >>> round(1 / tea)
        70
    """
    _refuse("", fault_count, sheet_count)
    _refuse("rest_", rest_fault_count, rest_sheet_count)
    marked = fault_count + rest_fault_count
    whole = rest_sheet_count - marked  # of the rest, were every marked sheet in it
    likeliest = (marked + 1) * (sheet_count + 1) // (sheet_count + rest_sheet_count + 2)

    def up(count: int) -> float:
        return (marked - count) * (sheet_count - count) / ((count + 1) * (whole + count + 1))

    def down(count: int) -> float:
        return 1 / up(count - 1)

    weights = {likeliest: 1.0}
    weights.update(_run(likeliest, min(sheet_count, marked), 1, up))
    weights.update(_run(likeliest, max(0, -whole), -1, down))
    so_many = fsum(weight for count, weight in weights.items() if count >= fault_count)
    return so_many / fsum(weights.values())


def _refuse(which: str, fault_count: int, sheet_count: int) -> None:
    if not 1 <= sheet_count <= SHEETS_MAX:
        raise ValueError(
            f"{which}sheet_count: must be from 1 to {SHEETS_MAX}, is {sheet_count}"
        )
    if not 0 <= fault_count <= sheet_count:
        raise ValueError(
            f"{which}fault_count: must be from 0 to {sheet_count}, is {fault_count}"
        )


def _run(
    start: int, end: int, step: int, ratio: Callable[[int], float]
) -> Iterator[tuple[int, float]]:
    """Yield the counts from `start` to `end` with their weights, while there is any."""
    weight = 1.0
    for count in range(start, end, step):
        weight *= ratio(count)
        if not weight:
            return
        yield count + step, weight


def wilson_interval(
    *, fault_count: int, sheet_count: int, z: float = Z_90
) -> tuple[float, float]:
    """
    Return where the true share lies, from what was counted.

    Args:
        fault_count: Sheets with the fault [count], 0 to sheet_count.
        sheet_count: Sheets that were sorted [count], 1 to 100,000.
        z: Half width in standard deviations [1], over 0; 1.645 is the 90 % interval.

    Returns:
        Low and high end [fraction], 0 to 1. ValueError outside the ranges.

    Valid for:
        Sheets that are spoiled one by one; also where none or all are.

    Source:
        E. B. Wilson 1927, J Am Stat Assoc 22:209-212, as printed on influentialpoints.com.

    Example:
        >>> low, high = wilson_interval(fault_count=7, sheet_count=40)
        >>> round(low, 3), round(high, 3)
        (0.098, 0.293)
    """
    _refuse("", fault_count, sheet_count)
    if not z > 0:
        raise ValueError(f"z: must be over 0, is {z:g}")
    share = fault_count / sheet_count
    spread = z * z / sheet_count
    middle = (share + spread / 2) / (1 + spread)
    half = sqrt(spread * share * (1 - share) + spread * spread / 4) / (1 + spread)
    low = 0.0 if fault_count == 0 else middle - half
    high = 1.0 if fault_count == sheet_count else middle + half
    return low, high
