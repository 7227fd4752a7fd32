"""
Strength and level over time, worked out to coordinates; chart.html draws them.

A chart is drawn twice, for a phone and for a desk, so that its letters keep their size; both
show one curve, from which points are dropped that nobody would see.
Nothing here knows a language: words come in with the chart, numbers go out as numbers.
"""

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from math import asin, atan2, cos, hypot, pi, sin
from operator import itemgetter
from typing import Literal, NamedTuple, TypeAlias
from zoneinfo import ZoneInfo

POINTS_MAX = 400
READINGS_MAX = 200
EVENTS_MAX = 200
STOPS_MAX = 50
ROWS_MAX = 40
EVENT_ROWS_MAX = ROWS_MAX - 1
SEEN_PX = 0.5
SLACK_PX = 0.38  # the rest is for rounding and for ends that fall short
AIM_PX = 1.5
TICK_GAP_PX = 2.0
SPREAD_MIN = 0.01
LABEL_LANES = 3
Y_STEPS = 5
LETTER_WIDTH = 6.7
LINE_GAP = 13.0
HOURS = (1, 2, 3, 6, 12)
DAYS = (1, 2, 3, 7, 14, 28, 56, 91, 182, 364)

Place: TypeAlias = tuple[float, float]
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
    """Something done to the bath; few words. `told` is its moment, if not to the minute."""

    at: datetime
    words: str
    told: str = ""


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


class EventWords(NamedTuple):
    """The words of an event that have room under the plot (`lane` from 0)."""

    x: float
    lane: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A hatched time."""

    x: float
    width: float
    stop: Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """
    The band and the middle line as SVG path data, one decimal, drawn by both drawings.

    The origin is the plot's upper left, `width` and `height` its size on a desk (CSS pixels).
    No point given lies more than `SEEN_PX` off what is drawn.
    """

    width: float
    height: float
    band: str
    middle: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """
    Coordinates in CSS pixels, for one width.

    `place` moves the curve into the plot; `grid`, `axis`, `ticks` and `doubt` are path data;
    `more` counts the events that have a tick, alone or with others, and no words.
    """

    look: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    place: str
    grid: str
    axis: str
    ticks: str
    doubt: str
    doubt_apart: str
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    marks: tuple[Mark, ...]
    lines: tuple[LevelLine, ...]
    events: tuple[EventWords, ...]
    more: int
    spans: tuple[Span, ...]
    lanes: int


class Row(NamedTuple):
    """
    A row of a table: when (ISO 8601, in the chart's zone), what, and three figures.

    For the curve it is what is thought just after an event or at the start of a day, for a
    reading what was read; the figures are the middle, the low and the high.
    """

    at: str
    words: str
    figures: tuple[float, float, float]
    applied: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnChart:
    """
    A chart with its two drawings, the rows of its table, and how many decimals they need.

    `rows` and `readings` have at most `ROWS_MAX`, newest last; what is left out is counted.
    """

    chart: BathChart
    digits: int
    curve: Curve
    drawings: tuple[Drawing, Drawing]
    rows: tuple[Row, ...]
    events_left_out: int
    readings: tuple[Row, ...]
    readings_left_out: int

    def told(
        self, rows: Sequence[Row], mark: str
    ) -> list[tuple[str, str, str, str, str, bool]]:
        """Return the cells of rows, with `mark` before the decimals."""
        form = f"%.{self.digits}f"
        return [
            (row.at, row.words, about, low, high, row.applied)
            for row in rows
            for about, low, high in [
                [(form % (figure + 0.0)).replace(".", mark) for figure in row.figures]
            ]
        ]


def draw_chart(chart: BathChart) -> DrawnChart:
    """
    Work out where everything stands.

    Raises:
        ValueError: The times are in the wrong order, a moment has no zone, a figure is not
            finite, or there is more of something than its limit.
    """
    values = _values(chart)
    _check(chart, values)
    seen = _timed(chart, max(values, default=0.0))
    wide = _frame(seen, look="wide", width=760.0, height=290.0)
    narrow = _frame(seen, look="narrow", width=320.0, height=230.0)
    curve = _curve(seen, wide)
    return DrawnChart(
        chart=chart,
        digits=max(wide.digits, 1),
        curve=curve,
        drawings=(_drawing(seen, narrow, curve, 4), _drawing(seen, wide, curve, 8)),
        rows=_rows(seen),
        events_left_out=max(0, len(chart.events) - EVENT_ROWS_MAX) if chart.curve else 0,
        readings=_reading_rows(chart),
        readings_left_out=max(0, len(chart.readings) - ROWS_MAX),
    )


def _values(chart: BathChart) -> list[float]:
    return [
        *(value for point in chart.curve for value in (point.low, point.middle, point.high)),
        *(value for mark in chart.readings for value in (mark.low, mark.value, mark.high)),
        *(line.value for line in chart.lines),
    ]


def _check(chart: BathChart, values: Sequence[float]) -> None:
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
    if not all(map(math.isfinite, values)):
        raise ValueError("chart: every figure must be finite")
    for name, things, limit in (
        ("curve", chart.curve, POINTS_MAX),
        ("readings", chart.readings, READINGS_MAX),
        ("events", chart.events, EVENTS_MAX),
        ("stops", chart.stops, STOPS_MAX),
    ):
        if len(things) > limit:
            raise ValueError(f"chart: {name} must be at most {limit}, not {len(things)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Timed:
    """A chart with its points and events in the order of their times (POSIX seconds)."""

    chart: BathChart
    high: float
    start: float
    end: float
    points: Sequence[CurvePoint]
    point_times: Sequence[float]
    events: Sequence[Event]
    event_times: Sequence[float]


def _timed(chart: BathChart, high: float) -> _Timed:
    points = sorted(((point.at.timestamp(), point) for point in chart.curve), key=_first)
    events = sorted(((event.at.timestamp(), event) for event in chart.events), key=_first)
    return _Timed(
        chart=chart,
        high=max(high, 0.0),
        start=chart.from_at.timestamp(),
        end=chart.until_at.timestamp(),
        points=[point for _, point in points],
        point_times=[time for time, _ in points],
        events=[event for _, event in events],
        event_times=[time for time, _ in events],
    )


_first = itemgetter(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """A drawing's size, where its plot lies, and the scales of its axes."""

    look: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    digits: int
    steps: tuple[float, ...]
    events: tuple[EventWords, ...]
    events_x: Sequence[float]
    lanes: int
    x: Callable[[float], float]
    y: Callable[[float], float]


def _frame(seen: _Timed, *, look: str, width: float, height: float) -> _Frame:
    digits, steps = nice_steps(0.0, seen.high * 1.04, Y_STEPS)
    longest = max(len(f"{step:.{digits}f}") for step in steps)
    lines = seen.chart.lines if look == "wide" else ()
    words = max((len(line.words) for line in lines), default=0)
    left = round(10.0 + LETTER_WIDTH * longest, 1)
    right = round(width - 8.0 - LETTER_WIDTH * words, 1)
    x = _scale(seen.start, seen.end, left, right)
    pace = (right - left) / (seen.end - seen.start)
    events_x = [left + (time - seen.start) * pace for time in seen.event_times]
    events = _event_words(seen.events, events_x, left, right)
    lanes = 1 + max((event.lane for event in events), default=-1)
    top, bottom = 10.0, height - 24.0 - 15.0 * lanes - (8.0 if seen.events else 0.0)
    return _Frame(
        look=look,
        width=width,
        height=height,
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        digits=digits,
        steps=steps,
        events=events,
        events_x=events_x,
        lanes=lanes,
        x=x,
        y=_scale(steps[0], steps[-1], bottom, top),
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


def _event_words(
    events: Sequence[Event], places: Sequence[float], left: float, right: float
) -> tuple[EventWords, ...]:
    """Give each event's words the first lane where they fit; the others go without."""
    free = [left - 4.0] * LABEL_LANES
    soonest = left - 4.0
    placed = []
    for event, place in zip(events, places, strict=True):
        half = len(event.words) * LETTER_WIDTH / 2
        middle = max(left + half, min(place, right - half))
        start = middle - half
        if start < soonest:
            continue
        lane = next(n for n, edge in enumerate(free) if start >= edge)
        free[lane] = middle + half + 8.0
        soonest = min(free)
        placed.append(EventWords(round(middle, 1), lane, event.words))
    return tuple(placed)


def _curve(seen: _Timed, frame: _Frame) -> Curve:
    """Return the curve in the plot of a desk; the plot of a phone is never larger."""
    width, height = frame.right - frame.left, frame.bottom - frame.top
    across = width / (seen.end - seen.start)
    top, down = frame.steps[-1], height / (frame.steps[-1] - frame.steps[0])
    xs = [(time - seen.start) * across for time in seen.point_times]

    low = simplified(xs, [(top - point.low) * down for point in seen.points])
    middle = simplified(xs, [(top - point.middle) * down for point in seen.points])
    high = simplified(xs, [(top - point.high) * down for point in seen.points])
    return Curve(
        width=width,
        height=height,
        band=_path([*high, *reversed(low)]),
        middle=_path(middle),
    )


def simplified(xs: Sequence[float], ys: Sequence[float]) -> list[Place]:
    """
    Drop the places that nobody misses: none lies more than `SLACK_PX` off what is left.

    From the last place kept a fan opens of the directions that pass near enough to every place
    since. A place that would close it, or is nearer than one before, ends it at the place
    before. So a lone step keeps its height, and steps too fine to be told apart become a slope.
    `xs` never falls (CSS pixels).
    """
    kept = [*zip(xs[:1], ys[:1], strict=True)]
    last = x, y = kept[0] if kept else (0.0, 0.0)
    low, high, far = -pi, pi, 0.0
    for place in zip(xs, ys, strict=True):
        ahead, off = place[0] - x, place[1] - y
        away, way = hypot(ahead, off), atan2(off, ahead)
        leeway = asin(SLACK_PX / away) if away > AIM_PX else 0.0
        if away < far or way + leeway < low or way - leeway > high:
            x, y = _aimed((x, y), last, low, high)
            kept.append((x, y))
            low, high, far = -pi, pi, 0.0
            ahead, off = place[0] - x, place[1] - y
            away, way = hypot(ahead, off), atan2(off, ahead)
        if away > SLACK_PX:
            fan, far = asin(SLACK_PX / away), away
            low = way - fan if way - fan > low else low
            high = way + fan if way + fan < high else high
        last = place
    return [*kept, _aimed((x, y), last, low, high)] if kept else kept


def _aimed(start: Place, place: Place, low: float, high: float) -> Place:
    """Return a place, or where it comes nearest to the fan that opens from the start."""
    ahead, off = place[0] - start[0], place[1] - start[1]
    way = atan2(off, ahead)
    if low <= way <= high:
        return place
    aim = low if way < low else high
    length = hypot(ahead, off) * cos(way - aim)
    return start[0] + length * cos(aim), start[1] + length * sin(aim)


def _path(places: Sequence[Place]) -> str:
    return "M" + "L".join([f"{x:.1f} {y:.1f}" for x, y in places]) if places else ""


def _rows(seen: _Timed) -> tuple[Row, ...]:
    """Return rows for the last events, for days where there is room, and for the end."""
    if not seen.points:
        return ()
    events = seen.events[-EVENT_ROWS_MAX:]
    zone = seen.chart.zone
    moments = [
        (time, event.told or _moment(event.at, zone), event.words)
        for time, event in zip(seen.event_times[-EVENT_ROWS_MAX:], events, strict=True)
    ]
    days = (*_days(seen.chart, len(events)), seen.points[-1].at)
    moments += [(day.timestamp(), _moment(day, zone), "") for day in days]
    moments.sort(key=_first)
    return tuple([Row(at, words, _figures_at(seen, time)) for time, at, words in moments])


def _days(chart: BathChart, taken: int) -> list[datetime]:
    """Return midnights, every one or every so many, no more than there is room."""
    room = EVENT_ROWS_MAX - taken
    if not room:
        return []
    first = _midnight(chart)
    step = math.ceil(((chart.until_at - first).days + 1) / room)
    days = [first + timedelta(days=step * number) for number in range(1, room + 1)]
    return [day for day in days if chart.from_at < day < chart.until_at]


def _midnight(chart: BathChart) -> datetime:
    local = chart.from_at.astimezone(chart.zone)
    return local.replace(hour=0, minute=0, second=0, microsecond=0)


def _moment(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(" ", "minutes")[:16]


def _figures_at(seen: _Timed, time: float) -> tuple[float, float, float]:
    """Return middle, low and high of the last point at a time, else of the line between two."""
    times = seen.point_times
    after = bisect_right(times, time)
    here = seen.points[max(after - 1, 0)]
    if after in (0, len(times)) or times[after - 1] == time:
        return here.middle, here.low, here.high
    then = seen.points[after]
    part = (time - times[after - 1]) / (times[after] - times[after - 1])
    return (
        here.middle + part * (then.middle - here.middle),
        here.low + part * (then.low - here.low),
        here.high + part * (then.high - here.high),
    )


def _reading_rows(chart: BathChart) -> tuple[Row, ...]:
    return tuple(
        Row(
            at=_moment(reading.at, chart.zone),
            words=reading.words,
            figures=(reading.value, reading.low, reading.high),
            applied=reading.applied,
        )
        for reading in chart.readings[-ROWS_MAX:]
    )


def _drawing(seen: _Timed, frame: _Frame, curve: Curve, count: int) -> Drawing:
    chart, x, y = seen.chart, frame.x, frame.y
    marks = tuple(_mark(reading, x, y) for reading in chart.readings)
    x_ticks = time_ticks(chart, count, lambda at: x(at.timestamp()))
    y_ticks = tuple(
        Tick(place=y(step), value=step, digits=frame.digits) for step in frame.steps
    )
    across = (frame.right - frame.left) / curve.width
    down = (frame.bottom - frame.top) / curve.height
    level = [f"M{frame.left:g} {tick.place:g}H{frame.right:g}" for tick in y_ticks]
    below = "".join(f"M{tick.place:g} {frame.bottom:g}v4" for tick in x_ticks)
    return Drawing(
        look=frame.look,
        width=frame.width,
        height=frame.height,
        left=frame.left,
        right=frame.right,
        top=frame.top,
        bottom=frame.bottom,
        place=f"translate({frame.left:g} {frame.top:g}) scale({across:.5g} {down:.5g})",
        grid="".join(level[1:]),
        axis=level[0] + below,
        ticks=_ticks(frame.events_x, frame.bottom + 21.0),
        doubt=_doubt([mark for mark in marks if mark.reading.applied]),
        doubt_apart=_doubt([mark for mark in marks if not mark.reading.applied]),
        x_ticks=x_ticks,
        y_ticks=y_ticks,
        marks=marks,
        lines=_level_lines(chart.lines, y, frame.top),
        events=frame.events,
        more=len(chart.events) - len(frame.events),
        spans=tuple(_span(stop, chart, x) for stop in chart.stops),
        lanes=frame.lanes,
    )


def _mark(reading: Reading, x: Callable[[float], float], y: Callable[[float], float]) -> Mark:
    return Mark(
        x=x(reading.at.timestamp()),
        y=y(reading.value),
        y_low=y(reading.low),
        y_high=y(reading.high),
        reading=reading,
    )


def time_ticks(
    chart: BathChart, count: int, x: Callable[[datetime], float]
) -> tuple[Tick, ...]:
    """
    Return about `count` midnights (month-day), or hours when all is within two days.

    Among hours midnight is its day; where there is no midnight, the first hour has its day.
    """
    span = chart.until_at - chart.from_at
    short = span <= timedelta(days=2)
    unit = timedelta(hours=1) if short else timedelta(days=1)
    choices = HOURS if short else DAYS
    step = next((n for n in choices if span / (unit * n) <= count), choices[-1])
    local = _midnight(chart)
    steps = range(int((chart.until_at - local) / (unit * step)) + 3)
    every = [_later(local, step * number, short) for number in steps]
    moments = [at for at in every if chart.from_at <= at <= chart.until_at]
    shown = moments[:: max(1, math.ceil(len(moments) / (count + 1)))]
    days = [at for at in shown if not short or at.time() == time.min] or shown[:1]
    return tuple(Tick(place=x(at), text=_tick_text(at, short, at in days)) for at in shown)


def _tick_text(at: datetime, short: bool, with_day: bool) -> str:
    if not with_day:
        return at.strftime("%H:%M")
    return at.strftime("%m-%d %H:%M" if short and at.time() != time.min else "%m-%d")


def _later(local: datetime, amount: int, hours: bool) -> datetime:
    """Step by hours that pass, or by days of the calendar, so that midnight stays midnight."""
    if hours:
        return (local.astimezone(_UTC) + timedelta(hours=amount)).astimezone(local.tzinfo)
    return local + timedelta(days=amount)


_UTC = ZoneInfo("UTC")


def _ticks(places: Sequence[float], y: float) -> str:
    """Return ticks as path data; events that stand too close for two ticks share one."""
    kept: list[float] = []
    for place in places:
        if not kept or place - kept[-1] >= TICK_GAP_PX:
            kept.append(place)
    return "".join(f"M{place:.1f} {y:g}v6" for place in kept)


def _doubt(marks: Sequence[Mark]) -> str:
    """Return uprights from low to high with a bar at each end, as path data."""
    return "".join(
        f"M{mark.x:g} {mark.y_low:g}V{mark.y_high:g}"
        f"M{mark.x - 3:g} {mark.y_low:g}h6M{mark.x - 3:g} {mark.y_high:g}h6"
        for mark in marks
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
