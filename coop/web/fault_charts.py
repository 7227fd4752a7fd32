"""Spoiled out of sorted: the figures with their doubt, and their picture over time."""

from dataclasses import dataclass
from datetime import timedelta

from coop.actions.see_faults import CameOut, FaultRecord
from coop.science.control_charts import SharePoint, share_chart
from coop.science.counts import wilson_interval
from coop.web import came_out
from coop.web import words as say
from coop.web.charts import (
    BathChart,
    CurvePoint,
    DrawnChart,
    Reading,
    draw_chart,
)
from coop.web.i18n import Words

STACKS_DRAWN = 120
ROWS_SHOWN = 40
PERCENT = 100.0
MARGIN_MIN = timedelta(hours=12)
MARGIN_SHARE = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLine:
    """One word: its sheets, their share of those sorted, and where that share may lie [%]."""

    how: str
    count: str
    share: str
    between: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultRow:
    """One stack in the table under the picture."""

    when: str
    url: str
    sorted: str
    how: str
    share: str
    out: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultsSaid:
    """
    How sheets came out that have one thing in common.

    `counted` says out of how many; `rough` that the limits rest on few stacks.
    """

    key: str
    counted: str
    lines: tuple[FaultLine, ...]
    chart: DrawnChart | None
    rows: tuple[FaultRow, ...]
    more_count: int
    rough: bool


ROUGH_UNDER = 20
"""Under so many stacks the limits of the picture are rough (`share_chart`)."""


def faults_said(words: Words, record: FaultRecord, *, key: str = "faults") -> FaultsSaid | None:
    """
    Say how sheets came out; None where none were put through.

    Args:
        key: A name that no other picture on the page has (letters, digits, hyphens).
    """
    if not record.stacks:
        return None
    sorted_ones = [one for one in record.stacks if one.sorted_count]
    drawn = sorted_ones[-STACKS_DRAWN:]
    points = _points(drawn)
    rows = [_row(words, one, point) for one, point in zip(drawn, points, strict=True)]
    return FaultsSaid(
        key=key,
        counted=counted(words, record),
        lines=tuple(_lines(words, record)),
        chart=_chart(words, drawn, points, key) if len(drawn) > 1 else None,
        rows=tuple(reversed(rows[-ROWS_SHOWN:])),
        more_count=max(0, len(sorted_ones) - ROWS_SHOWN),
        rough=len(drawn) < ROUGH_UNDER,
    )


def _points(stacks: list[CameOut]) -> tuple[SharePoint, ...]:
    if not stacks:
        return ()
    return share_chart(parts=[(one.spoiled_count, one.sorted_count) for one in stacks]).points


def _row(words: Words, one: CameOut, point: SharePoint) -> FaultRow:
    return FaultRow(
        when=words.moment(one.at),
        url=f"/follow?stack={one.stack}",
        sorted=words.gettext(
            "%(count)s of %(every)s", count=one.sorted_count, every=one.sheet_count
        ),
        how=came_out.counts(words, one.good, one.spoiled),
        share=_percent(words, point.share),
        out=point.out,
    )


def _percent(words: Words, share: float) -> str:
    return words.gettext("%(percent)s %%", percent=words.number(share * PERCENT))


def counted(words: Words, record: FaultRecord) -> str:
    """Say '31 of 46 sorted, 15 not yet.'"""
    if not record.waiting_count:
        return words.ngettext(
            "%(num)d sheet sorted: all there is.",
            "%(num)d sheets sorted: all there are.",
            record.sorted_count,
        )
    return words.gettext(
        "%(count)s of %(every)s sorted, %(waiting)s not yet.",
        count=record.sorted_count,
        every=record.sorted_count + record.waiting_count,
        waiting=record.waiting_count,
    )


def _lines(words: Words, record: FaultRecord) -> list[FaultLine]:
    if not record.sorted_count:
        return []
    every = words.gettext("spoiled, all words")
    named = [(say.choice(words, "fault", word), count) for word, count in record.spoiled]
    return [
        _line(words, how, count, record.sorted_count)
        for how, count in ((every, record.spoiled_count), *named)
    ]


def _line(words: Words, how: str, count: int, sheet_count: int) -> FaultLine:
    low, high = wilson_interval(fault_count=count, sheet_count=sheet_count)
    return FaultLine(
        how=how,
        count=words.gettext("%(count)s of %(every)s", count=count, every=sheet_count),
        share=_percent(words, count / sheet_count),
        between=words.gettext(
            "%(low)s to %(high)s %%",
            low=words.number(low * PERCENT),
            high=words.number(high * PERCENT),
        ),
    )


def _chart(
    words: Words, stacks: list[CameOut], points: tuple[SharePoint, ...], key: str
) -> DrawnChart:
    centre = share_chart(parts=[(one.spoiled_count, one.sorted_count) for one in stacks]).centre
    first, last = stacks[0].at, stacks[-1].at
    margin = max(MARGIN_MIN, (last - first) * MARGIN_SHARE)
    return draw_chart(
        BathChart(
            key=key,
            title=words.gettext("Spoiled out of sorted, over time"),
            description=_described(words, stacks, points, centre),
            unit="%",
            zone=words.zone,
            from_at=first - margin,
            until_at=last + margin,
            curve=tuple(
                CurvePoint(
                    at=one.at,
                    low=point.low * PERCENT,
                    middle=centre * PERCENT,
                    high=point.high * PERCENT,
                )
                for one, point in zip(stacks, points, strict=True)
            ),
            readings=tuple(
                _dot(words, one, point) for one, point in zip(stacks, points, strict=True)
            ),
        )
    )


def _described(
    words: Words, stacks: list[CameOut], points: tuple[SharePoint, ...], centre: float
) -> str:
    out = sum(point.out for point in points)
    return words.ngettext(
        "A dot for each of %(stacks)s stacks, about %(centre)s %% spoiled in all; %(num)d lies "
        "outside what stacks of its size usually show.",
        "A dot for each of %(stacks)s stacks, about %(centre)s %% spoiled in all; %(num)d lie "
        "outside what stacks of their size usually show.",
        out,
        stacks=len(stacks),
        centre=words.number(centre * PERCENT),
    )


def _dot(words: Words, one: CameOut, point: SharePoint) -> Reading:
    low, high = wilson_interval(fault_count=one.spoiled_count, sheet_count=one.sorted_count)
    return Reading(
        at=one.at,
        value=point.share * PERCENT,
        low=low * PERCENT,
        high=high * PERCENT,
        applied=not point.out,
        words=came_out.counts(words, one.good, one.spoiled),
    )
