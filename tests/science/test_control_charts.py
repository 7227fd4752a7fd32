"""Control charts against the examples that the handbooks print."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import control_charts as charts
from tests.science.handbook import as_printed, rows

COUNTS = {row["part"]: row for row in rows("share_chart_counts")}
RUNS = {row["run"]: row for row in rows("run_charts")}


def sorted_parts(part: str) -> list[tuple[int, int]]:
    row = COUNTS[part]
    return [(int(count), int(row["each"])) for count in row["counts"].split()]


def readings(run: str) -> list[float]:
    return [float(text) for text in RUNS[run]["readings"].split()]


def places(chart: charts.ShareChart) -> list[int]:
    return [at for at, point in enumerate(chart.points, 1) if point.out]


def average(run: str, **more: float) -> charts.AverageChart:
    settings = {"start": 50.0, "sd": 2.0539, "newest_weight": 0.3} | more
    return charts.average_chart(readings=readings(run), **settings)


def test_the_wafers_of_the_handbook_have_its_limits():
    """NIST/SEMATECH 6.3.3.2: 0.2313; limits and places from memory."""
    chart = charts.share_chart(parts=sorted_parts("wafers"))

    assert as_printed(chart.centre, "0.2313")
    assert as_printed(chart.points[0].low, "0.05243")
    assert as_printed(chart.points[0].high, "0.41024")
    assert as_printed((chart.points[0].high - chart.centre) / 3, "0.059635")
    assert places(chart) == [15, 23]
    assert [point.share for point in chart.points if point.out] == [0.44, 0.48]


def test_the_limits_are_drawn_again_without_the_wafers_outside():
    """The same page, from memory: 0.2150, 0.0407 and 0.3893."""
    parts = [part for at, part in enumerate(sorted_parts("wafers"), 1) if at not in {15, 23}]
    chart = charts.share_chart(parts=parts)

    assert as_printed(chart.centre, "0.2150")
    assert as_printed(chart.points[0].low, "0.0407")
    assert as_printed(chart.points[0].high, "0.3893")


def test_the_lots_of_the_lesson_never_leave_their_limits():
    """A lesson on rstudio-pubs: share 0.0357, limits 15.01184 and 0 pieces of 200."""
    chart = charts.share_chart(parts=sorted_parts("lots"))
    point = chart.points[0]

    assert as_printed(chart.centre, "0.0357")
    assert as_printed(200 * chart.centre, "7.14")
    assert as_printed(200 * point.high, "15.01184")
    assert as_printed(200 * (point.high - chart.centre) / 3, "2.6239")
    assert point.low == 0
    assert places(chart) == []


def test_a_textbook_share_of_two_fifths_has_its_limits():
    """Montgomery and Runger, Applied Statistics, example 16-4: 800 of 20 x 100."""
    chart = charts.share_chart(parts=[(40, 100)] * 20)

    assert chart.centre == pytest.approx(0.40)
    assert as_printed(chart.points[0].low, "0.2530")
    assert as_printed(chart.points[0].high, "0.5470")


def test_a_small_part_has_wider_limits_than_a_large_one():
    """One sheet of three is a third, and says nothing."""
    small, large = charts.share_chart(parts=[(1, 3), (9, 90)]).points

    assert small.high > large.high
    assert not small.out


@given(
    parts=st.lists(
        st.integers(1, 99).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
        min_size=1,
        max_size=30,
    )
)
def test_limits_stay_shares_around_the_centre(parts):
    chart = charts.share_chart(parts=parts)

    for point in chart.points:
        assert 0 <= point.low <= chart.centre <= point.high <= 1


def test_the_handbook_s_weighted_averages_come_out():
    """NIST/SEMATECH 6.3.2.4, from memory: limits 52.5884 and 47.4115, nothing outside."""
    chart = average("nist_ewma")
    printed = RUNS["nist_ewma"]["printed"].split()

    assert len(printed) == len(chart.averages) == 20
    for found, text in zip(chart.averages, printed, strict=True):
        assert as_printed(found, text), text
    assert as_printed(chart.high, "52.5884")
    assert as_printed(chart.low, "47.4115", digits=2)  # printed cut off, not rounded
    assert chart.out == ()


def test_montgomery_s_averages_leave_their_limits_at_the_29th():
    """Montgomery, Statistical Quality Control: weight 0.1, 2.7 sigma, mean 10, sd 1."""
    chart = average("montgomery", start=10, sd=1, newest_weight=0.1, limit_sigma=2.7)

    for at, text in {
        1: "9.945", 2: "9.7495", 3: "9.70355", 29: "10.64682", 30: "10.63414",
    }.items():  # fmt: skip
        assert as_printed(chart.averages[at - 1], text)
    assert as_printed(chart.high, "10.619")
    assert [at + 1 for at in chart.out] == [29, 30]


def test_a_run_that_falls_leaves_its_limits_where_one_that_rises_does():
    settings = {"start": 0.0, "sd": 1.0, "newest_weight": 0.1, "limit_sigma": 2.7}
    rising = [one - 10 for one in readings("montgomery")]
    falling = charts.average_chart(readings=[-one for one in rising], **settings)

    assert falling.out == charts.average_chart(readings=rising, **settings).out == (28, 29)


def test_a_weight_of_one_is_the_reading_itself():
    chart = average("montgomery", start=10, sd=1, newest_weight=1)

    assert chart.averages == pytest.approx(readings("montgomery"))
    assert (chart.low, chart.high) == (7, 13)


def test_montgomery_s_sums_signal_at_the_29th_and_date_the_shift():
    """Half a sigma of slack, limit 5, from memory: 5.28 at 29, 7 since 0, new mean 11.25."""
    points = charts.sum_chart(readings=readings("montgomery"), target=10, slack=0.5, limit=5)
    texts = ["1.79", "2.79", "2.89", "3.47", "3.35", "4.47", "5.28", "5.30"]

    for point, text in zip(points[22:], texts, strict=True):
        assert as_printed(point.over, text), text
    first = next(at for at, point in enumerate(points, 1) if point.out)
    signal = points[first - 1]
    assert (first, signal.over_count, first - signal.over_count) == (29, 7, 22)
    assert as_printed(10 + 0.5 + signal.over / signal.over_count, "11.25")


def test_the_handbook_s_sums_signal_at_the_14th():
    """NIST/SEMATECH 6.3.2.3, from memory: target 325, k 0.3175, h 4.1959."""
    points = charts.sum_chart(
        readings=readings("nist_cusum"), target=325, slack=0.3175, limit=4.1959
    )
    printed = RUNS["nist_cusum"]["printed"].split()

    for point, text in zip(points, printed, strict=True):
        assert as_printed(point.over, text), text
    under = [point.under for point in points]
    assert under.index(max(under)) + 1 == 8
    assert as_printed(max(under), "0.72")
    assert as_printed(points[-1].plain, "19.075")
    assert [at for at, point in enumerate(points, 1) if point.out] == list(range(14, 21))


@given(run=st.lists(st.floats(-100, 100), min_size=1, max_size=40))
def test_the_mirrored_run_has_the_mirrored_sums(run):
    """Too much and too little are found alike."""
    there = charts.sum_chart(readings=run, target=0, slack=0.5, limit=5)
    back = charts.sum_chart(readings=[-one for one in run], target=0, slack=0.5, limit=5)

    assert [point.over for point in there] == [point.under for point in back]
    assert [point.out for point in there] == [point.out for point in back]


def test_a_run_on_its_target_gathers_nothing():
    points = charts.sum_chart(readings=[10.0] * 50, target=10, slack=0.5, limit=5)

    assert {(point.over, point.under, point.out) for point in points} == {(0, 0, False)}


def test_a_sum_at_its_limit_is_not_past_it():
    at, past = charts.sum_chart(readings=[5.5, 0.75], target=0, slack=0.5, limit=5)

    assert (at.over, at.out, past.over, past.out) == (5, False, 5.25, True)


def test_limits_of_the_average_are_narrower_than_of_one_reading():
    chart = average("nist_ewma", start=0, sd=1, newest_weight=0.2)

    assert chart.high == pytest.approx(3 * sqrt(1 / 9))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: charts.share_chart(parts=[]), "^parts: must be 1 to 10000, is 0"),
        (lambda: charts.share_chart(parts=[(3, 2)]), "^parts: .* is 3 of 2"),
        (lambda: charts.share_chart(parts=[(0, 0)]), "^parts: .* is 0 of 0"),
        (lambda: average("nist_ewma", sd=0), "^sd: must be over 0, is 0"),
        (lambda: average("nist_ewma", newest_weight=1.1), "^newest_weight: .* is 1.1"),
        (lambda: average("nist_ewma", limit_sigma=0), "^limit_sigma: must be over 0"),
        (
            lambda: charts.sum_chart(readings=[1.0], target=0, slack=-1, limit=5),
            "^slack: must not be under 0, is -1",
        ),
        (
            lambda: charts.sum_chart(readings=[1.0], target=0, slack=0, limit=0),
            "^limit: must be over 0, is 0",
        ),
    ],
)
def test_a_chart_that_cannot_be_drawn_says_why(call, message):
    with pytest.raises(ValueError, match=message):
        call()
