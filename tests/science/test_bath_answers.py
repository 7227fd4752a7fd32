"""What an estimate says: intervals, sheets left, what to add, a look ahead."""

from math import log
from random import Random
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science.bath import (
    PICKUP_DIP_ML_PER_M2,
    PICKUP_SPONGE_ML_PER_M2,
    SaltPart,
    Spread,
    mixed,
    poured_out,
    sheets_through,
    time_passed,
    topped_up,
)
from coop.science.bath_answers import (
    WEIGHED_LN_SD,
    at_moment,
    mending,
    sheets_left,
    strength,
    to_target,
)


def bath_of(litres=12.0, grams=480.0, ln_sd=WEIGHED_LN_SD):
    return mixed(
        water_ml=1000 * litres,
        salt_parts=[SaltPart(grams, ln_sd)],
        salt="aluminium_sulfate_14",
        at_h=0,
    )


@given(st.floats(1, 100), st.floats(0.01, 0.5))
def test_the_four_strengths_are_quantiles_of_one_spread(g_per_l, ln_sd):
    """Held against the standard library's normal distribution."""
    mix = bath_of(litres=10, grams=10 * g_per_l, ln_sd=ln_sd)
    now, normal = strength(estimate=mix), NormalDist(log(g_per_l), mix.belief.cc**0.5)

    for figure, chance in (
        (now.low_g_per_l, 0.05),
        (now.low20_g_per_l, 0.20),
        (now.middle_g_per_l, 0.50),
        (now.high_g_per_l, 0.95),
    ):
        assert normal.cdf(log(figure)) == pytest.approx(chance, abs=1e-4)


def test_a_bath_poured_nearly_dry_never_holds_less_than_nothing():
    """An interval of litres under nought would be nonsense on a page."""
    now = strength(estimate=poured_out(estimate=bath_of(), volume_ml=11_990, sd_ml=200))

    assert now.volume_low_l == 0
    assert now.volume_l == pytest.approx(0.01)


def test_sheets_left_is_the_usable_liquid_over_what_a_sheet_takes():
    """12 L over a laying depth of 6 L at 0.0245 L a half sheet, worked by hand: 244."""
    left = sheets_left(estimate=bath_of(), laying_depth_ml=6000, sheet_area_m2=0.175)

    assert left.middle == 244


def test_after_the_low_number_of_sheets_nineteen_invented_baths_in_twenty_still_do():
    """The low figure is what somebody plans a day by."""
    low = sheets_left(estimate=bath_of(), laying_depth_ml=6000, sheet_area_m2=0.175).low
    draw, enough, count = Random(7), 0, 4000
    for _ in range(count):
        water_ml = 12_000 * draw.gauss(1, 0.02 / 1.645)
        habit = draw.gauss(1, 0.15 / 1.645)
        own = draw.lognormvariate(0, PICKUP_DIP_ML_PER_M2.ln_sd)
        enough += water_ml - low * 0.175 * 140 * habit * own >= 6000

    assert 0.92 <= enough / count <= 0.97


@given(st.integers(0, 260))
def test_sheets_left_counts_down_with_the_sheets(count):
    """What is through is no longer left, and an empty bath has none."""
    at = bath_of()
    if count:
        at = sheets_through(estimate=at, sheet_area_m2=0.175, sheet_count=count)

    left = sheets_left(estimate=at, laying_depth_ml=6000, sheet_area_m2=0.175)

    assert left.middle == max(0, 244 - count)
    assert 0 <= left.low <= left.middle


def test_a_doubtful_bath_has_fewer_sheets_in_its_low_figure():
    """Same middle, wider pick-up."""
    kept = {"estimate": bath_of(), "laying_depth_ml": 6000, "sheet_area_m2": 0.175}

    sure = sheets_left(**kept, pickup_ml_per_m2=Spread(140, 135, 145))
    unsure = sheets_left(**kept, pickup_ml_per_m2=Spread(140, 40, 490))

    assert sure.middle == unsure.middle == 244
    assert unsure.low < 120 < sure.low


def test_a_paper_that_went_through_leaves_fewer_in_the_low_figure_than_a_new_one():
    """If it is thirstier than thought, there is less liquid than thought as well."""
    dipped = sheets_through(
        estimate=bath_of(), sheet_area_m2=0.175, sheet_count=80, lasts="P-30 dip"
    )
    again, new = (
        sheets_left(estimate=dipped, laying_depth_ml=6000, sheet_area_m2=0.175, lasts=lasts)
        for lasts in ("P-30 dip", "P-31 dip")
    )

    assert again.middle == new.middle
    assert again.low < new.low


def test_two_sponged_sides_halve_the_sheets_left():
    """A sponge takes 80 mL/m2 a side."""
    kept = {"estimate": bath_of(), "laying_depth_ml": 6000, "sheet_area_m2": 0.175}
    one = sheets_left(**kept, pickup_ml_per_m2=PICKUP_SPONGE_ML_PER_M2)
    two = sheets_left(**kept, pickup_ml_per_m2=PICKUP_SPONGE_ML_PER_M2, sides=2)

    assert (one.middle, two.middle) == (428, 214)


@given(
    st.floats(5, 80),
    st.floats(2, 15),
    st.floats(0, 16),
    st.sampled_from([10, 16, float("inf")]),
)
def test_what_is_added_reaches_the_target_and_never_thins_a_weak_bath(
    g_per_l, litres, goal, brim
):
    """Water alone into a weak bath is how a whole Saturday washed off."""
    weak = bath_of(litres=litres, grams=litres * g_per_l)

    add = to_target(
        estimate=weak,
        target_g_per_l=40,
        volume_goal_ml=1000 * goal,
        brim_ml=1000 * brim,
    )
    after = topped_up(
        estimate=weak, water_ml=add.water_ml, salt_parts=[SaltPart(add.salt_g, 0.0)]
    )

    assert add.strength_g_per_l >= 40 - 1e-9
    assert after.belief.strength_g_per_l == pytest.approx(add.strength_g_per_l)
    assert after.belief.volume_ml == pytest.approx(add.volume_ml)
    assert add.volume_ml <= max(1000 * brim, 1000 * litres) + 1e-6
    if g_per_l < 40 - 1e-6:
        assert add.salt_g > 0
        assert add.strength_g_per_l == pytest.approx(40)


def test_the_thinned_bath_of_the_worked_example_asks_for_its_missing_salt():
    """13.38 L at 18.2 g/L to 40 g/L wants 292 g, worked by hand."""
    thinned = bath_of(litres=13.38, grams=13.38 * 18.2)

    add = to_target(estimate=thinned, target_g_per_l=40)

    assert add.salt_g == pytest.approx(13.38 * 21.8)
    assert add.water_ml == 0


def test_mending_shows_before_and_after_and_writes_nothing():
    """The estimate handed in stays as it was."""
    weak = bath_of(grams=240)

    seen = mending(estimate=weak, water_ml=0, salt_parts=[SaltPart(240, WEIGHED_LN_SD)])

    assert seen.before == strength(estimate=weak)
    assert seen.after.middle_g_per_l == pytest.approx(40)
    assert seen.after.low_g_per_l < 40 < seen.after.high_g_per_l


def test_a_look_ahead_is_the_same_as_waiting():
    """Saturday at ten, seen from Thursday."""
    ahead = at_moment(estimate=bath_of(), hours=48, open_hours=4, area_m2=0.4)

    assert ahead == time_passed(estimate=bath_of(), hours=48, open_hours=4, area_m2=0.4)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: sheets_left(estimate=bath_of(), laying_depth_ml=-1, sheet_area_m2=0.1),
            "laying_depth_ml",
        ),
        (
            lambda: sheets_left(estimate=bath_of(), laying_depth_ml=1, sheet_area_m2=0),
            "sheet_area_m2",
        ),
        (lambda: to_target(estimate=bath_of(), target_g_per_l=0), "target_g_per_l"),
        (
            lambda: to_target(estimate=bath_of(), target_g_per_l=1, volume_goal_ml=-1),
            "volume_goal_ml",
        ),
    ],
)
def test_a_question_that_cannot_be_is_named(call, says):
    """The message says what and what would be right."""
    with pytest.raises(ValueError, match=says):
        call()
