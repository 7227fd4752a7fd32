"""Control charts: which parts of a run lie outside what the run itself has as usual."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

LIMIT_SIGMA: Final = 3.0
"""Half width of the usual limits in standard deviations (Shewhart; in every book)."""

POINTS_MAX: Final = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class SharePoint:
    """A part's share of spoiled sheets with its own limits, all [fraction]."""

    share: float
    low: float
    high: float

    @property
    def out(self) -> bool:
        """Whether it lies outside its limits."""
        return not self.low <= self.share <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareChart:
    """The share of all sheets [fraction], and each part in its order."""

    centre: float
    points: tuple[SharePoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AverageChart:
    """A weighted average after each reading, its limits, and the places that lie outside."""

    low: float
    high: float
    averages: tuple[float, ...]
    out: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SumPoint:
    """
    The sums after one reading, all in the reading's unit.

    Attributes:
        over: What has gathered over the target, never under 0.
        under: What has gathered under it, never under 0.
        plain: Every difference from the target summed.
        over_count: Readings since `over` was last 0.
        under_count: Readings since `under` was last 0.
        out: Whether `over` or `under` is past the limit.
    """

    over: float
    under: float
    plain: float
    over_count: int
    under_count: int
    out: bool


def share_chart(*, parts: Sequence[tuple[int, int]]) -> ShareChart:
    """
    Return the p-chart of parts that were sorted.

    Args:
        parts: Spoiled and sorted sheets of each part [count], 1 to 10,000 parts.

    Returns:
        The share of all and each part within its limits [ShareChart]. ValueError outside the
        ranges.

    Valid for:
        Twenty parts or more. With few spoiled sheets the limits are rough: the exact sum of
        `coop.science.counts` is not.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3.2: p +- 3 sqrt(p (1 - p) / n).

    Example:
        >>> chart = share_chart(parts=[(2, 50), (4, 50), (20, 50)])
        >>> round(chart.centre, 4), [point.out for point in chart.points]
        (0.1733, [False, False, True])
    """
    _refuse_length("parts", len(parts))
    for fault_count, sheet_count in parts:
        if not 0 <= fault_count <= sheet_count or sheet_count < 1:
            raise ValueError(
                f"parts: must be spoiled sheets out of 1 or more sorted, is {fault_count} "
                f"of {sheet_count}"
            )
    centre = sum(faults for faults, _ in parts) / sum(sheets for _, sheets in parts)
    return ShareChart(
        centre=centre, points=tuple(_share_point(centre, *part) for part in parts)
    )


def _refuse_length(name: str, count: int) -> None:
    if not 1 <= count <= POINTS_MAX:
        raise ValueError(f"{name}: must be 1 to {POINTS_MAX}, is {count}")


def _share_point(centre: float, fault_count: int, sheet_count: int) -> SharePoint:
    half = LIMIT_SIGMA * sqrt(centre * (1 - centre) / sheet_count)
    return SharePoint(
        share=fault_count / sheet_count,
        low=max(0.0, centre - half),
        high=min(1.0, centre + half),
    )


def average_chart(
    *,
    readings: Sequence[float],
    start: float,
    sd: float,
    newest_weight: float,
    limit_sigma: float = LIMIT_SIGMA,
) -> AverageChart:
    """
    Return the exponentially weighted average of a run of readings (EWMA).

    Args:
        readings: In their order [any unit], 1 to 10,000.
        start: Average before the first, as a rule the target [the same unit].
        sd: Standard deviation of one reading [the same unit], over 0.
        newest_weight: Weight of the newest reading [1], over 0 to 1.
        limit_sigma: Half width of the limits in standard deviations [1], over 0.

    Returns:
        Steady limits, averages, places outside from 0 [AverageChart, unit of the readings].
        ValueError outside the ranges.

    Valid for:
        Small lasting shifts. Before the tenth reading or so the steady limits are wide.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4.

    Example:
        >>> chart = average_chart(readings=[52, 47], start=50, sd=2.0539, newest_weight=0.3)
        >>> [round(average, 2) for average in chart.averages], round(chart.high, 2)
        ([50.6, 49.52], 52.59)
    """
    _refuse_length("readings", len(readings))
    _refuse_not_over_zero("sd", sd)
    _refuse_not_over_zero("limit_sigma", limit_sigma)
    if not 0 < newest_weight <= 1:
        raise ValueError(f"newest_weight: must be over 0, to 1, is {newest_weight:g}")
    half = limit_sigma * sd * sqrt(newest_weight / (2 - newest_weight))
    averages, average = [], start
    for reading in readings:
        average += newest_weight * (reading - average)
        averages.append(average)
    return AverageChart(
        low=start - half,
        high=start + half,
        averages=tuple(averages),
        out=tuple(at for at, one in enumerate(averages) if abs(one - start) > half),
    )


def _refuse_not_over_zero(name: str, number: float) -> None:
    if not number > 0:
        raise ValueError(f"{name}: must be over 0, is {number:g}")


def sum_chart(
    *, readings: Sequence[float], target: float, slack: float, limit: float
) -> tuple[SumPoint, ...]:
    """
    Return the two running sums of differences from a target (tabular CUSUM).

    Args:
        readings: In their order [any unit], 1 to 10,000.
        target: What they should be [the same unit].
        slack: What each difference is forgiven, as a rule half the shift to be found
            [the same unit], not under 0.
        limit: Sum that is too much [the same unit], over 0.

    Returns:
        The sums after each reading [SumPoint, unit of the readings]. ValueError outside the
        ranges.

    Valid for:
        Small lasting shifts. The shift began just after the sum was last 0, and the readings
        since lie about target + slack + over / over_count.

    Source:
        NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3; D. C. Montgomery,
        Introduction to Statistical Quality Control, chapter 9.

    Example:
        >>> points = sum_chart(readings=[10.2, 11.8, 12.6], target=10, slack=0.5, limit=3)
        >>> [(round(point.over, 1), point.out) for point in points]
        [(0.0, False), (1.3, False), (3.4, True)]
    """
    _refuse_length("readings", len(readings))
    _refuse_not_over_zero("limit", limit)
    if not slack >= 0:
        raise ValueError(f"slack: must not be under 0, is {slack:g}")
    points = []
    point = SumPoint(over=0, under=0, plain=0, over_count=0, under_count=0, out=False)
    for reading in readings:
        point = _summed(point, reading - target, slack, limit)
        points.append(point)
    return tuple(points)


def _summed(before: SumPoint, difference: float, slack: float, limit: float) -> SumPoint:
    over = max(0.0, before.over + difference - slack)
    under = max(0.0, before.under - difference - slack)
    return SumPoint(
        over=over,
        under=under,
        plain=before.plain + difference,
        over_count=before.over_count + 1 if over else 0,
        under_count=before.under_count + 1 if under else 0,
        out=max(over, under) > limit,
    )
