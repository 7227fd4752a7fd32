"""Charts: pure coordinates from a bath's figures."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from coop.web.charts import (
    EVENTS_MAX,
    ROWS_MAX,
    SEEN_PX,
    TICK_GAP_PX,
    BathChart,
    CurvePoint,
    Drawing,
    DrawnChart,
    Event,
    Line,
    Place,
    Reading,
    Stop,
    draw_chart,
    nice_steps,
)

ZONE = ZoneInfo("Europe/Istanbul")
START = datetime(2025, 9, 19, 9, 0, tzinfo=ZONE)


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def bath_chart(**changed: object) -> BathChart:
    chart = BathChart(
        key="strength",
        title="Strength",
        description="From 40 to 30 g/L.",
        unit="g/L",
        zone=ZONE,
        from_at=at(0),
        until_at=at(168),
        curve=(
            CurvePoint(at=at(0), low=39, middle=40, high=41),
            CurvePoint(at=at(168), low=26, middle=30, high=34),
        ),
    )
    return replace(chart, **changed)  # type: ignore[arg-type]  # names checked by replace


def wide(chart: BathChart) -> Drawing:
    return draw_chart(chart).drawings[1]


def path(data: str) -> list[Place]:
    return [(float(x), float(y)) for x, y in re.findall(r"[ML](\S+) ([^L]+)", data)]


def exactly(
    drawn: DrawnChart, drawing: Drawing, points: Sequence[tuple[datetime, float]]
) -> list[Place]:
    """Where points stand in the plot of a drawing, nothing dropped and nothing rounded."""
    width, height = drawing.right - drawing.left, drawing.bottom - drawing.top
    chart, top = drawn.chart, drawing.y_ticks[-1].value
    span = chart.until_at - chart.from_at
    return [
        ((moment - chart.from_at) / span * width, (1 - value / top) * height)
        for moment, value in points
    ]


def shown(drawn: DrawnChart, drawing: Drawing, data: str) -> list[Place]:
    """Where a path lies in the plot of a drawing, once it is moved there."""
    _, _, across, down = map(float, re.findall(r"[\d.]+", drawing.place))
    return [(x * across, y * down) for x, y in path(data)]


def off(place: Place, line: Sequence[Place]) -> float:
    """How far a place lies from a line through places."""
    nearest = math.dist(place, line[0])
    for (ax, ay), (bx, by) in pairwise(line):
        length = (bx - ax) ** 2 + (by - ay) ** 2
        if length:
            part = ((place[0] - ax) * (bx - ax) + (place[1] - ay) * (by - ay)) / length
            part = min(1.0, max(0.0, part))
            foot = (ax + part * (bx - ax), ay + part * (by - ay))
            nearest = min(nearest, math.dist(place, foot))
    return nearest


@st.composite
def curves(draw: st.DrawFn) -> tuple[CurvePoint, ...]:
    """Histories with still days, crowded hours, steps, and doubt that comes and goes."""
    hours = draw(
        st.lists(
            st.one_of(
                st.floats(0, 168), st.floats(80, 84), st.sampled_from([0.0, 82.0, 168.0])
            ),
            min_size=1,
            max_size=30,
        )
    )
    points, value, doubt = [], draw(st.floats(0, 60)), 1.0
    for hour in sorted(hours):
        value = max(0.0, value + draw(st.one_of(st.floats(-0.5, 0.3), st.floats(-20, 20))))
        doubt = draw(st.one_of(st.just(doubt), st.floats(0, 5)))
        points.append(
            CurvePoint(at=at(hour), low=max(0, value - doubt), middle=value, high=value + doubt)
        )
    return tuple(points)


def test_the_axis_starts_at_nothing_and_passes_the_largest_figure() -> None:
    """An axis cut off at the bottom would make a small fall look like a ruin."""
    drawing = wide(bath_chart())
    values = [tick.value for tick in drawing.y_ticks]

    assert values == [0, 10, 20, 30, 40, 50]
    assert drawing.y_ticks[0].place == drawing.bottom
    assert drawing.y_ticks[-1].place == drawing.top


@given(st.floats(0.01, 1e6), st.integers(3, 8))
def test_steps_are_one_two_or_five_times_a_power_of_ten(high: float, count: int) -> None:
    """Steps people can count along (common practice, no source)."""
    digits, steps = nice_steps(0.0, high, count)
    step = steps[1] - steps[0]
    leading = round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6)

    assert leading in (1, 2, 5)
    assert steps[-1] >= high * (1 - 1e-6)
    assert len(steps) <= count + 2
    assert all(round(value, digits) == pytest.approx(value) for value in steps)


def test_days_begin_at_midnight_where_the_studio_is() -> None:
    """The clocks go back in Paris on 2025-10-26 at 03:00 (European summer time rules)."""
    paris = ZoneInfo("Europe/Paris")
    chart = bath_chart(
        zone=paris,
        from_at=datetime(2025, 10, 24, 22, 30, tzinfo=UTC),
        until_at=datetime(2025, 10, 28, 12, 0, tzinfo=UTC),
        curve=(),
    )
    drawing = wide(chart)
    spread = [b.place - a.place for a, b in pairwise(drawing.x_ticks)]

    assert [tick.text for tick in drawing.x_ticks] == ["10-26", "10-27", "10-28"]
    assert spread[0] / spread[1] == pytest.approx(25 / 24, rel=0.01)


def test_a_day_is_told_by_its_hours() -> None:
    """A bath mixed this morning has no midnights yet: the first hour says which day it is."""
    drawing = wide(bath_chart(until_at=at(8), curve=()))

    assert [tick.text for tick in drawing.x_ticks][:2] == ["09-19 09:00", "10:00"]


def test_midnight_among_hours_is_told_by_its_day() -> None:
    """12:00, 00:00, 12:00 could be any two days."""
    drawing = wide(bath_chart(until_at=at(40), curve=()))
    told = [tick.text for tick in drawing.x_ticks]

    assert "09-20" in told
    assert "12:00" in told
    assert "00:00" not in told


def test_a_reading_stands_within_its_doubt() -> None:
    """Up is more."""
    reading = Reading(at=at(84), value=36, low=34, high=38, applied=True, words="hydrometer")
    (mark,) = wide(bath_chart(readings=(reading,))).marks

    assert mark.y_high < mark.y < mark.y_low


def test_a_reading_kept_apart_still_fits_on_the_page() -> None:
    """It was kept, so it is shown, however far off it is."""
    reading = Reading(at=at(84), value=90, low=85, high=95, applied=False, words="hydrometer")
    drawing = wide(bath_chart(readings=(reading,)))

    assert drawing.marks[0].y_high >= drawing.top


def test_the_words_of_lines_close_together_do_not_touch() -> None:
    """Look again and do not use often stand near each other."""
    lines = (
        Line(value=25, kind="do-not-use", words="do not use 25"),
        Line(value=26, kind="look-again", words="look again 26"),
    )
    first, second = wide(bath_chart(lines=lines)).lines

    assert first.line.value > second.line.value
    assert second.y_words - first.y_words >= 12


@given(st.lists(st.floats(0, 168), max_size=60))
def test_words_of_events_never_overlap_and_no_event_loses_its_tick(hours: list[float]) -> None:
    """A busy Saturday has more acts than room: the others are counted and share ticks."""
    events = tuple(Event(at=at(hour), words="60 half sheets") for hour in hours)
    for drawing in draw_chart(bath_chart(events=events)).drawings:
        assert len(drawing.events) + drawing.more == len(events)
        for lane in range(drawing.lanes):
            places = sorted(tick.x for tick in drawing.events if tick.lane == lane)
            apart = [b - a for a, b in pairwise(places)]
            assert min(apart, default=99) >= 14 * 6
        ticks = [float(x) for x in re.findall(r"M(\S+)", drawing.ticks)]
        assert all(b - a >= TICK_GAP_PX - 0.11 for a, b in pairwise(ticks))
        for hour in hours:
            place = drawing.left + hour / 168 * (drawing.right - drawing.left)
            assert min(abs(tick - place) for tick in ticks) <= TICK_GAP_PX + 0.11


@given(curves())
def test_the_curve_drawn_is_never_half_a_pixel_off_the_one_given(
    curve: tuple[CurvePoint, ...],
) -> None:
    """Points are dropped, none that anybody would see: on a desk and on a phone."""
    drawn = draw_chart(bath_chart(curve=curve))
    for drawing in drawn.drawings:
        given_middle = exactly(drawn, drawing, [(point.at, point.middle) for point in curve])
        given_band = exactly(
            drawn,
            drawing,
            [(point.at, point.high) for point in curve]
            + [(point.at, point.low) for point in reversed(curve)],
        )
        for data, given_line in (
            (drawn.curve.middle, given_middle),
            (drawn.curve.band, given_band),
        ):
            line = shown(drawn, drawing, data)
            assert max(off(place, line) for place in given_line) <= SEEN_PX
            assert max(off(place, given_line) for place in line) <= SEEN_PX


def test_a_step_keeps_its_height_and_a_straight_line_its_ends() -> None:
    """40 to 36 g/L at one moment are 4 of 50 g/L of the plot; the hours between say nothing."""
    hours = [*range(0, 85), *range(84, 169)]
    curve = tuple(
        CurvePoint(at=at(hour), low=middle, middle=middle, high=middle)
        for hour, middle in zip(hours, [40.0] * 85 + [36.0] * 85, strict=True)
    )
    drawn = draw_chart(bath_chart(curve=curve))
    start, before, after, end = path(drawn.curve.middle)

    assert before[0] == after[0] == pytest.approx(drawn.curve.width / 2, abs=0.05)
    assert after[1] - before[1] == pytest.approx(4 / 50 * drawn.curve.height, abs=0.1)
    assert (start[1], end[1]) == (before[1], after[1])


def test_steps_too_fine_to_be_told_apart_become_a_slope() -> None:
    """100 sheets one by one: 0.05 of 50 g/L is about a quarter of a pixel."""
    curve = tuple(
        CurvePoint(at=at(number), low=value, middle=value, high=value)
        for number in range(100)
        for value in (40 - number * 0.05, 40 - number * 0.05 - 0.05)
    )

    assert len(path(draw_chart(bath_chart(curve=curve)).curve.middle)) <= 4


def test_the_table_has_the_last_events_and_says_how_many_it_leaves_out() -> None:
    """Newest last; beside an event stands what is thought just after it."""
    curve = tuple(
        CurvePoint(at=at(hour), low=value - 1, middle=value, high=value + 1)
        for hour in range(60)
        for value in (60.0 - hour, 59.0 - hour)
    )
    events = tuple(Event(at=at(hour), words=f"act {hour}") for hour in range(60))
    drawn = draw_chart(bath_chart(curve=curve, events=events))

    assert len(drawn.rows) == ROWS_MAX
    assert drawn.events_left_out == 60 - (ROWS_MAX - 1)
    assert [row.words for row in drawn.rows] == [*(f"act {n}" for n in range(21, 60)), ""]
    assert drawn.rows[0].figures == (38.0, 37.0, 39.0)
    assert drawn.told(drawn.rows, ",")[0] == (
        "2025-09-20 06:00",
        "act 21",
        "38,0",
        "37,0",
        "39,0",
        True,
    )


def test_days_without_an_event_have_a_row_at_midnight() -> None:
    """40 to 30 g/L in 7 days, read off the straight line: 15 of 168 hours lost 0.9 g/L."""
    events = (Event(at=at(0), words="mixed"),)
    drawn = draw_chart(bath_chart(events=events))
    told = [(row.at, row.words) for row in drawn.rows]

    assert told[:2] == [("2025-09-19 09:00", "mixed"), ("2025-09-20 00:00", "")]
    assert told[-2:] == [("2025-09-26 00:00", ""), ("2025-09-26 09:00", "")]
    assert len(told) == 9
    assert drawn.rows[1].figures[0] == pytest.approx(40 - 10 * 15 / 168)


@given(st.integers(0, 80), st.integers(1, 3000))
def test_a_table_is_never_longer_than_its_limit(event_count: int, day_count: int) -> None:
    """Years of days or a crowd of events."""
    events = tuple(
        Event(at=at(24 * day_count * n / 80), words="act") for n in range(event_count)
    )
    drawn = draw_chart(bath_chart(until_at=at(24 * day_count), events=events))

    assert len(drawn.rows) <= ROWS_MAX
    assert sum(row.words == "act" for row in drawn.rows) + drawn.events_left_out == event_count
    assert [row.at for row in drawn.rows] == sorted(row.at for row in drawn.rows)


def test_only_the_last_readings_have_a_row() -> None:
    """All have their mark."""
    readings = tuple(
        Reading(at=at(n), value=36, low=34, high=38, applied=n % 9 > 0, words=f"read {n}")
        for n in range(50)
    )
    drawn = draw_chart(bath_chart(readings=readings))

    assert [row.words for row in drawn.readings] == [f"read {n}" for n in range(10, 50)]
    assert drawn.readings_left_out == 10
    assert len(drawn.drawings[0].marks) == 50


def test_a_stop_that_still_stands_reaches_to_the_end() -> None:
    """Nobody has allowed it again."""
    stop = Stop(from_at=at(100), until_at=None, words="stopped")
    drawing = wide(bath_chart(stops=(stop,)))
    (span,) = drawing.spans

    assert span.x + span.width == pytest.approx(drawing.right, abs=0.2)


@example([(0.0, 28.0, 20.0), (65.0, 0.0, 13.0), (89.5, 0.0, 0.0)])
@given(
    st.lists(
        st.tuples(st.floats(0, 168), st.floats(0, 200), st.floats(0, 20)),
        min_size=1,
        max_size=40,
    )
)
def test_everything_stays_inside_the_picture(points: list[tuple[float, float, float]]) -> None:
    """Whatever the estimate says; what is left out of the line may shift it unseen."""
    curve = tuple(
        CurvePoint(at=at(hour), low=max(0, value - doubt), middle=value, high=value + doubt)
        for hour, value, doubt in sorted(points)
    )
    drawn = draw_chart(bath_chart(curve=curve))
    for x, y in path(drawn.curve.band) + path(drawn.curve.middle):
        assert -SEEN_PX <= x <= drawn.curve.width + SEEN_PX
        assert -SEEN_PX <= y <= drawn.curve.height + SEEN_PX


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"from_at": at(200)}, "from_at must be before until_at"),
        ({"until_at": datetime(2025, 9, 30, 9, 0)}, "must carry its zone"),  # noqa: DTZ001 -- the mistake looked for
        (
            {"curve": (CurvePoint(at=at(1), low=0, middle=math.nan, high=1),)},
            "every figure must be finite",
        ),
        (
            {"events": (Event(at=at(1), words="x"),) * (EVENTS_MAX + 1)},
            "events must be at most 200, not 201",
        ),
    ],
)
def test_a_chart_that_cannot_be_drawn_says_why(changed: dict[str, object], says: str) -> None:
    """What, where and what would be right."""
    with pytest.raises(ValueError, match=says):
        draw_chart(bath_chart(**changed))
