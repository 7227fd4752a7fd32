"""Charts: pure coordinates from a bath's figures."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.web.charts import (
    EVENTS_MAX,
    BathChart,
    CurvePoint,
    Drawing,
    Event,
    Line,
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
    """A bath mixed this morning has no midnights yet."""
    drawing = wide(bath_chart(until_at=at(8), curve=()))

    assert [tick.text for tick in drawing.x_ticks][:2] == ["09:00", "10:00"]


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


@given(st.lists(st.floats(0, 168), max_size=30))
def test_words_of_events_never_overlap_and_no_event_loses_its_tick(hours: list[float]) -> None:
    """A busy Saturday has more acts than room."""
    events = tuple(Event(at=at(hour), words="60 half sheets") for hour in hours)
    for drawing in draw_chart(bath_chart(events=events)).drawings:
        assert len(drawing.events) == len(events)
        for lane in range(drawing.lanes):
            places = sorted(tick.x_words for tick in drawing.events if tick.lane == lane)
            apart = [b - a for a, b in pairwise(places)]
            assert min(apart, default=99) >= 14 * 6


def test_a_stop_that_still_stands_reaches_to_the_end() -> None:
    """Nobody has allowed it again."""
    stop = Stop(from_at=at(100), until_at=None, words="stopped")
    drawing = wide(bath_chart(stops=(stop,)))
    (span,) = drawing.spans

    assert span.x + span.width == pytest.approx(drawing.right, abs=0.2)


@given(
    st.lists(
        st.tuples(st.floats(0, 168), st.floats(0, 200), st.floats(0, 20)),
        min_size=1,
        max_size=40,
    )
)
def test_everything_stays_inside_the_picture(points: list[tuple[float, float, float]]) -> None:
    """Whatever the estimate says."""
    curve = tuple(
        CurvePoint(at=at(hour), low=max(0, value - doubt), middle=value, high=value + doubt)
        for hour, value, doubt in sorted(points)
    )
    for drawing in draw_chart(bath_chart(curve=curve)).drawings:
        for pair in f"{drawing.band} {drawing.middle}".split():
            x, y = map(float, pair.split(","))
            assert drawing.left <= x <= drawing.right
            assert drawing.top <= y <= drawing.bottom


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
