"""
Strength and level over time, worked out to coordinates; chart.html draws them.

A chart is drawn twice, for a phone and for a desk, so that its letters keep their size.
Nothing here knows a language: words come in with the chart, numbers go out as numbers.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, TypeAlias
from zoneinfo import ZoneInfo

POINTS_MAX = 400
READINGS_MAX = 200
EVENTS_MAX = 200
STOPS_MAX = 50
SPREAD_MIN = 0.01
LABEL_LANES = 3
LETTER_WIDTH = 6.7
LINE_GAP = 13.0
HOURS = (1, 2, 3, 6, 12)
DAYS = (1, 2, 3, 7, 14, 28, 56, 91, 182, 364)

LineKind: TypeAlias = Literal["target", "look-again", "do-not-use", "brim", "laying"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """What is thought at one moment; low to high is the band (values in the chart's unit)."""

    at: datetime
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement with its doubt; kept apart when it was not believed."""

    at: datetime
    value: float
    low: float
    high: float
    applied: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A level line: the target, where to look again, where not to use it, the brim."""

    value: float
    kind: LineKind
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something done to the bath; few words."""

    at: datetime
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A time in which the bath was stopped; without `until_at` it still is."""

    from_at: datetime
    until_at: datetime | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BathChart:
    """
    One figure of a bath over time, as the page knows it.

    `key` is unique on the page (letters, digits, hyphens); `description` says in a sentence
    or two what the picture shows; every moment carries its zone; `from_at` is before
    `until_at`. On a phone the words of lines stand in the key, on a desk beside the plot.
    """

    key: str
    title: str
    description: str
    unit: str
    zone: ZoneInfo
    from_at: datetime
    until_at: datetime
    curve: tuple[CurvePoint, ...]
    readings: tuple[Reading, ...] = ()
    lines: tuple[Line, ...] = ()
    events: tuple[Event, ...] = ()
    stops: tuple[Stop, ...] = ()
    seed_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A place on an axis; `text` for times, `value` and `digits` for figures."""

    place: float
    text: str = ""
    value: float = 0.0
    digits: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A reading's place, with the ends of its doubt."""

    x: float
    y: float
    y_low: float
    y_high: float
    reading: Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelLine:
    """A line across, and where its words stand."""

    y: float
    y_words: float
    line: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class EventTick:
    """A tick under the plot; words only where there is room (`lane` from 0, else none)."""

    x: float
    x_words: float
    lane: int | None
    event: Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A hatched time."""

    x: float
    width: float
    stop: Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Coordinates in CSS pixels, for one width."""

    look: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    band: str
    middle: str
    marks: tuple[Mark, ...]
    lines: tuple[LevelLine, ...]
    events: tuple[EventTick, ...]
    spans: tuple[Span, ...]
    lanes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnChart:
    """A chart with its two drawings and how many decimals its figures need."""

    chart: BathChart
    digits: int
    drawings: tuple[Drawing, Drawing]


def draw_chart(chart: BathChart) -> DrawnChart:
    """
    Work out where everything stands.

    Raises:
        ValueError: The times are in the wrong order, a moment has no zone, a figure is not
            finite, or there is more of something than its limit.
    """
    _check(chart)
    narrow = _drawing(chart, look="narrow", width=320.0, height=230.0, x_ticks=4, y_ticks=5)
    wide = _drawing(chart, look="wide", width=760.0, height=290.0, x_ticks=8, y_ticks=5)
    digits = max((tick.digits for tick in wide.y_ticks), default=0)
    return DrawnChart(chart=chart, digits=max(digits, 1), drawings=(narrow, wide))


def _check(chart: BathChart) -> None:
    moments = [chart.from_at, chart.until_at]
    moments += [point.at for point in chart.curve]
    moments += [reading.at for reading in chart.readings]
    moments += [event.at for event in chart.events]
    moments += [stop.from_at for stop in chart.stops]
    moments += [stop.until_at for stop in chart.stops if stop.until_at is not None]
    if any(moment.tzinfo is None for moment in moments):
        raise ValueError("chart: every moment must carry its zone")
    if chart.from_at >= chart.until_at:
        raise ValueError("chart: from_at must be before until_at")
    if not all(math.isfinite(value) for value in _values(chart)):
        raise ValueError("chart: every figure must be finite")
    for name, things, limit in (
        ("curve", chart.curve, POINTS_MAX),
        ("readings", chart.readings, READINGS_MAX),
        ("events", chart.events, EVENTS_MAX),
        ("stops", chart.stops, STOPS_MAX),
    ):
        if len(things) > limit:
            raise ValueError(f"chart: {name} must be at most {limit}, not {len(things)}")


def _values(chart: BathChart) -> list[float]:
    return [
        *(value for point in chart.curve for value in (point.low, point.middle, point.high)),
        *(value for mark in chart.readings for value in (mark.low, mark.value, mark.high)),
        *(line.value for line in chart.lines),
    ]


def _drawing(
    chart: BathChart, *, look: str, width: float, height: float, x_ticks: int, y_ticks: int
) -> Drawing:
    digits, steps = nice_steps(0.0, max([*_values(chart), 0.0]) * 1.04, y_ticks)
    longest = max(len(f"{step:.{digits}f}") for step in steps)
    words = max((len(line.words) for line in chart.lines), default=0) if look == "wide" else 0
    left, right = 10.0 + LETTER_WIDTH * longest, width - 8.0 - LETTER_WIDTH * words
    x = _scale(chart.from_at.timestamp(), chart.until_at.timestamp(), left, right)
    events = _event_ticks(chart.events, lambda at: x(at.timestamp()), left, right)
    lanes = 1 + max((tick.lane for tick in events if tick.lane is not None), default=-1)
    top, bottom = 10.0, height - 24.0 - 15.0 * lanes - (8.0 if chart.events else 0.0)
    y = _scale(steps[0], steps[-1], bottom, top)
    band, middle = _curve(chart.curve, x, y)
    return Drawing(
        look=look,
        width=width,
        height=height,
        left=round(left, 1),
        right=round(right, 1),
        top=top,
        bottom=bottom,
        x_ticks=time_ticks(chart, x_ticks, lambda at: x(at.timestamp())),
        y_ticks=tuple(Tick(place=y(step), value=step, digits=digits) for step in steps),
        band=band,
        middle=middle,
        marks=tuple(_mark(reading, x, y) for reading in chart.readings),
        lines=_level_lines(chart.lines, y, top),
        events=events,
        spans=tuple(_span(stop, chart, x) for stop in chart.stops),
        lanes=lanes,
    )


def nice_steps(low: float, high: float, count: int) -> tuple[int, tuple[float, ...]]:
    """Return decimals and steps of 1, 2 or 5 times a power of ten, from low's to past high."""
    spread = max(high - low, SPREAD_MIN)
    power = math.floor(math.log10(spread / count))
    size = next(m for m in (1, 2, 5, 10, 20) if spread / (m * 10.0**power) <= count)
    if size >= 10:
        size, power = size // 10, power + 1
    step = size * 10.0**power
    first, last = math.floor(low / step), math.ceil(low / step + spread / step - 1e-9)
    return max(0, -power), tuple(round(n * step, 12) for n in range(first, last + 1))


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    return lambda value: round(start + (value - low) / (high - low) * (end - start), 1)


def _event_ticks(
    events: Sequence[Event], x: Callable[[datetime], float], left: float, right: float
) -> tuple[EventTick, ...]:
    """Give each event's words the first lane where they fit; else only a tick."""
    free = [left - 4.0] * LABEL_LANES
    ticks = []
    for event in sorted(events, key=lambda event: event.at):
        half = len(event.words) * LETTER_WIDTH / 2
        middle = min(max(x(event.at), left + half), right - half)
        lane = next((n for n, edge in enumerate(free) if middle - half >= edge), None)
        if lane is not None:
            free[lane] = middle + half + 8.0
        ticks.append(EventTick(x=x(event.at), x_words=round(middle, 1), lane=lane, event=event))
    return tuple(ticks)


def _curve(
    points: Sequence[CurvePoint], x: Callable[[float], float], y: Callable[[float], float]
) -> tuple[str, str]:
    """Return the band and the middle line as lists of points; empty when nothing is known."""
    places = [(x(point.at.timestamp()), point) for point in points]
    upper = [f"{place},{y(point.high)}" for place, point in places]
    lower = [f"{place},{y(point.low)}" for place, point in reversed(places)]
    return " ".join(upper + lower), " ".join(f"{at},{y(point.middle)}" for at, point in places)


def time_ticks(
    chart: BathChart, count: int, x: Callable[[datetime], float]
) -> tuple[Tick, ...]:
    """Return about `count` midnights (month-day), or hours when all is within two days."""
    span = chart.until_at - chart.from_at
    short = span <= timedelta(days=2)
    unit = timedelta(hours=1) if short else timedelta(days=1)
    choices = HOURS if short else DAYS
    step = next((n for n in choices if span / (unit * n) <= count), choices[-1])
    local = chart.from_at.astimezone(chart.zone).replace(
        hour=0, minute=0, second=0, microsecond=0
    )
    ticks = []
    for number in range(int(span / (unit * step)) + 26):
        at = _later(local, step * number, short)
        if chart.from_at <= at <= chart.until_at:
            ticks.append(Tick(place=x(at), text=at.strftime("%H:%M" if short else "%m-%d")))
    return tuple(ticks[:: max(1, math.ceil(len(ticks) / (count + 1)))])


def _later(local: datetime, amount: int, hours: bool) -> datetime:
    """Step by hours that pass, or by days of the calendar, so that midnight stays midnight."""
    if hours:
        return (local.astimezone(_UTC) + timedelta(hours=amount)).astimezone(local.tzinfo)
    return local + timedelta(days=amount)


_UTC = ZoneInfo("UTC")


def _mark(reading: Reading, x: Callable[[float], float], y: Callable[[float], float]) -> Mark:
    return Mark(
        x=x(reading.at.timestamp()),
        y=y(reading.value),
        y_low=y(reading.low),
        y_high=y(reading.high),
        reading=reading,
    )


def _level_lines(
    lines: Sequence[Line], y: Callable[[float], float], top: float
) -> tuple[LevelLine, ...]:
    """Put each line's words beside it, and lower ones lower where they would touch."""
    placed: list[LevelLine] = []
    lowest = top
    for line in sorted(lines, key=lambda line: -line.value):
        words = max(y(line.value) + 4.0, lowest)
        lowest = words + LINE_GAP
        placed.append(LevelLine(y=y(line.value), y_words=round(words, 1), line=line))
    return tuple(placed)


def _span(stop: Stop, chart: BathChart, x: Callable[[float], float]) -> Span:
    start = max(stop.from_at, chart.from_at).timestamp()
    end = min(stop.until_at or chart.until_at, chart.until_at).timestamp()
    return Span(x=x(start), width=round(max(x(end) - x(start), 1.0), 1), stop=stop)
