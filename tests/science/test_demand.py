"""Reorder points, order sizes and use that comes now and then, against printed answers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import demand
from coop.science.demand import LeadUse, WeeklyUse
from tests.science.handbook import as_printed, rows

NOW_AND_THEN = (0, 0, 2, 0, 3, 0, 0, 0, 1, 4, 0, 2)
"""Worked by hand: last size 2.1719, last interval 2.7281 at a smoothing of 0.1."""

NORMAL = rows("normal_distribution")
SCRIPTS = [float(row["used"]) for row in rows("scripts_by_month")]


@pytest.mark.parametrize("row", rows("reorder_points"), ids=lambda row: row["form"])
def test_a_reorder_point_is_the_printed_one(row):
    use = demand.lead_use(
        per_day=float(row["per_day"]),
        per_day_sd=float(row["per_day_sd"]),
        lead_days=float(row["lead_days"]),
        lead_sd_days=float(row["lead_sd_days"]),
    )
    found = demand.reorder_point(use=use, z=float(row["z"]))

    assert as_printed(found.point, row["point"])
    assert as_printed(found.safety, row["safety"])


def test_a_reorder_point_with_a_known_spread_is_the_printed_one():
    """Stevenson, Operations Management, 14th edition, example 8: 59.40, of it 9.40."""
    found = demand.reorder_point(use=LeadUse(mean=50, sd=5), z=1.88)

    assert as_printed(found.point, "59.40")
    assert as_printed(found.safety, "9.40")


def test_the_spread_of_both_is_the_printed_one():
    """Answer page of the same book: 75.10659, and 724 rounded up."""
    use = demand.lead_use(per_day=150, per_day_sd=2, lead_days=4, lead_sd_days=0.5)

    assert as_printed(use.sd, "75.10659")
    assert as_printed(demand.reorder_point(use=use, z=1.65).point, "724")


def test_a_z_from_the_table_and_one_from_here_give_one_reorder_point():
    """Books round 97 % to 1.88: four parts in ten thousand of the safety stock."""
    z = demand.service_z(service_fraction=0.97)

    assert demand.reorder_point(use=LeadUse(mean=50, sd=5), z=z).point == pytest.approx(
        59.40, abs=0.005
    )


@pytest.mark.parametrize(
    "row", [one for one in NORMAL if one["kind"] == "quantile"], ids=lambda row: row["at"]
)
def test_a_service_level_has_its_z(row):
    assert as_printed(demand.service_z(service_fraction=float(row["at"])), row["printed"])


@pytest.mark.parametrize(
    "row", [one for one in NORMAL if one["kind"] == "loss"], ids=lambda row: row["at"]
)
def test_the_unit_normal_loss_is_the_printed_one(row):
    assert as_printed(demand.unit_normal_loss(z=float(row["at"])), row["printed"])


@given(z=st.floats(-6, 6))
def test_a_shortage_and_its_mirror_differ_by_what_is_missing(z):
    """Loss(-z) - loss(z) = z: what is short below is what is left above."""
    assert demand.unit_normal_loss(z=-z) - demand.unit_normal_loss(z=z) == pytest.approx(z)


def test_the_textbook_order_sizes_come_out():
    """
    Snyder and Shen, example 3.1 (docs of a stock library, seen): 304.0467800264 at
    68.4105255059; and 2000 for 10,000 at 150 and 0.75, from memory.
    """
    found = demand.order_size(use=1300, order_cost=8, keeping_cost=0.225)

    assert as_printed(found.quantity, "304.0467800264")
    assert as_printed(found.cost, "68.4105255059")
    round_one = demand.order_size(use=10_000, order_cost=150, keeping_cost=0.75)
    assert round_one.quantity == pytest.approx(2000)


@given(
    use=st.floats(1, 1e5), order=st.floats(0.1, 1e3), keeping=st.floats(0.01, 1e3),
    by=st.floats(0.2, 5),
)  # fmt: skip
def test_no_other_order_size_is_cheaper(use, order, keeping, by):
    best = demand.order_size(use=use, order_cost=order, keeping_cost=keeping)
    other = best.quantity * by

    assert order * use / other + keeping * other / 2 >= best.cost * (1 - 1e-9)


def test_use_now_and_then_has_the_published_figures():
    """The hand vector, equal in two public forecast libraries."""
    found = demand.croston(uses=NOW_AND_THEN, smoothing=0.1)

    assert as_printed(found, "0.796121843")
    assert as_printed(found, f"{2.1719 / 2.7281:.9f}")
    assert as_printed(demand.croston_unbiased(uses=NOW_AND_THEN, smoothing=0.1), "0.756315751")


def test_the_running_figure_is_the_published_one():
    """From the third period on, when the first use came."""
    printed = [
        "0.6667", "0.6667", "0.7241", "0.7241", "0.7241", "0.7241", "0.6611", "0.7800",
        "0.7800", "0.7961",
    ]  # fmt: skip

    for periods, text in enumerate(printed, 3):
        found = demand.croston(uses=NOW_AND_THEN[:periods], smoothing=0.1)
        assert as_printed(found, text), periods


@pytest.mark.parametrize(
    ("smoothing", "printed"), [(0.1, "0.8688921"), (0.5, "0.6754646"), (0.05, "1.405808")]
)
def test_scripts_of_seventeen_years_have_the_published_forecasts(smoothing, printed):
    """R's package forecast, as printed in the tests of the library sktime 1.2.0."""
    assert as_printed(demand.croston(uses=SCRIPTS, smoothing=smoothing), printed)


def test_scripts_that_stopped_are_told_by_the_falling_figure_alone():
    """The series ends in 38 empty months; figures of two public forecast libraries."""
    unbiased = demand.croston_unbiased(uses=SCRIPTS, smoothing=0.1)
    fading = demand.fading_use(uses=SCRIPTS, smoothing=0.1, chance_smoothing=0.1)

    assert SCRIPTS[-38:] == [0] * 38
    assert SCRIPTS[-39]
    assert as_printed(unbiased, "0.8254475")
    assert as_printed(fading, "0.01519359")


def test_fading_use_has_the_published_figures_from_both_starts():
    """As a public library starts it (by the first period's 0), and from one in three."""
    smoothing = {"smoothing": 0.1, "chance_smoothing": 0.1}

    by_first = demand.fading_use(uses=NOW_AND_THEN, **smoothing)
    from_third = demand.fading_use(uses=NOW_AND_THEN, **smoothing, start_chance=1 / 3)

    assert as_printed(by_first, "0.739470570")
    assert as_printed(from_third, "0.943940140")


def test_when_use_stops_one_figure_falls_and_the_other_never_does():
    """Why the order list asks the falling one: a colour nobody uses is not ordered again."""
    stopped = (*NOW_AND_THEN, *[0] * 38)

    kept = demand.croston(uses=stopped, smoothing=0.1)
    fading = demand.fading_use(uses=stopped, smoothing=0.1, chance_smoothing=0.1)

    assert kept == demand.croston(uses=NOW_AND_THEN, smoothing=0.1)
    assert fading == pytest.approx(0.739470570 * 0.9**38)


@pytest.mark.parametrize("uses", [(0,), (0, 0, 0)])
def test_what_was_never_used_is_not_expected(uses):
    assert demand.croston(uses=uses, smoothing=0.1) == 0
    assert demand.croston_unbiased(uses=uses, smoothing=0.1) == 0
    assert demand.fading_use(uses=uses, smoothing=0.1, chance_smoothing=0.1) == 0


@given(use=st.floats(0.1, 1000), periods=st.integers(1, 40), smoothing=st.floats(0.01, 1))
def test_the_same_use_every_period_is_expected_again(use, periods, smoothing):
    uses = [use] * periods

    assert demand.croston(uses=uses, smoothing=smoothing) == pytest.approx(use)
    assert demand.fading_use(
        uses=uses, smoothing=smoothing, chance_smoothing=smoothing
    ) == pytest.approx(use)


WEEKS = st.lists(st.one_of(st.just(0.0), st.floats(0.1, 1000)), min_size=1, max_size=12)


def test_steady_use_is_the_mean_of_eight_weeks():
    """By hand: 960 in eight weeks; the two weeks before them no longer count."""
    found = demand.weekly_use(uses=[900, 900, 100, 140, 0, 160, 120, 150, 130, 160])

    assert found == WeeklyUse(per_week=120, by="mean", week_count=8, used_week_count=7)


def test_a_few_weeks_have_their_mean_before_there_are_eight():
    assert demand.weekly_use(uses=[30, 50]).per_week == 40


def test_use_now_and_then_fades():
    """By hand: in 2 of 8 weeks; chance 0.25 x 0.9^4 + 0.1 = 0.264025, x 0.9^3 + 0.1 =
    0.2924742, x 0.9 = 0.2632268; size 200, then 210."""
    found = demand.weekly_use(uses=[0, 0, 0, 200, 0, 0, 300, 0])

    assert (found.by, found.used_week_count) == ("fading", 2)
    assert found.per_week == pytest.approx(0.2632268 * 210, rel=1e-6)


@pytest.mark.parametrize(
    ("uses", "by"),
    [
        ([5, 5, 5, 5, 5, 5, 5, 0], "mean"),
        ([5, 5, 5, 5, 5, 5, 0, 0], "fading"),
        ([5, 5, 5, 0], "fading"),
        ([0] * 8, "mean"),
    ],
)
def test_the_line_between_steady_and_now_and_then_is_the_published_one(uses, by):
    """Intervals of 8/7 = 1.14 and 4/3 = 1.33 weeks lie at both sides of 1.32."""
    assert demand.weekly_use(uses=uses).by == by


def test_a_use_lately_weighs_more_than_the_same_use_long_ago():
    """A colour that nobody takes any more must not be ordered as one just taken up."""
    lately = demand.weekly_use(uses=[0, 0, 0, 0, 0, 0, 0, 240])
    long_ago = demand.weekly_use(uses=[240, 0, 0, 0, 0, 0, 0, 0])

    assert lately.per_week > 30 > long_ago.per_week


@given(uses=WEEKS)
def test_a_week_s_use_lies_within_what_was_used(uses):
    """Neither way may invent more than the greatest week, nor something out of nothing."""
    found = demand.weekly_use(uses=uses)

    assert 0 <= found.per_week <= max(uses[-8:]) * (1 + 1e-9)
    assert (found.per_week > 0) == any(uses[-8:])


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (132.6, 130), (125, 130), (0.0345, 0.035), (9.96, 10), (995, 1000), (7, 7), (0, 0),
        (0.1 + 0.2, 0.3),
    ],
)  # fmt: skip
def test_two_figures_are_those_a_person_would_write(number, said):
    assert demand.two_figures(number=number) == said


@given(number=st.floats(1e-6, 1e9))
def test_two_figures_lie_within_a_twentieth_and_stay_themselves(number):
    said = demand.two_figures(number=number)

    assert said == pytest.approx(number, rel=0.05)
    assert demand.two_figures(number=said) == said


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: demand.lead_use(per_day=-1, lead_days=2), "^per_day: .* is -1"),
        (lambda: demand.lead_use(per_day=1, lead_days=float("nan")), "^lead_days: .* is nan"),
        (
            lambda: demand.reorder_point(use=LeadUse(mean=1, sd=1), z=-1),
            "^z: must be a number, not under 0, is -1",
        ),
        (
            lambda: demand.service_z(service_fraction=1),
            "^service_fraction: must be over 0 and under 1, is 1",
        ),
        (
            lambda: demand.order_size(use=1, order_cost=1, keeping_cost=0),
            "^keeping_cost: must be a number over 0, is 0",
        ),
        (lambda: demand.croston(uses=[], smoothing=0.1), "^uses: must be 1 to 10000 periods"),
        (lambda: demand.croston(uses=[1, -1], smoothing=0.1), "^uses: .* is -1"),
        (lambda: demand.croston(uses=[1], smoothing=0), "^smoothing: must be over 0, to 1"),
        (
            lambda: demand.fading_use(uses=[1], smoothing=0.1, chance_smoothing=2),
            "^chance_smoothing: must be over 0, to 1, is 2",
        ),
        (lambda: demand.weekly_use(uses=[]), "^uses: must be 1 to 10000 periods, is 0"),
        (lambda: demand.weekly_use(uses=[-1, *[1] * 8]), "^uses: must be a number, not under"),
        (lambda: demand.two_figures(number=-1), "^number: must be a number, not under 0"),
        (
            lambda: demand.fading_use(
                uses=[1], smoothing=0.1, chance_smoothing=0.1, start_chance=-1
            ),
            "^start_chance: must be from 0 to 1, is -1",
        ),
    ],
)
def test_what_cannot_be_reckoned_is_refused_with_its_range(call, message):
    with pytest.raises(ValueError, match=message):
        call()
