"""Readings of an alum bath: weighed in, kept when they disagree, settled by a second one."""

from math import hypot, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import estimate as doubt
from coop.science.bath import (
    BINDS_NOTHING,
    SaltPart,
    mixed,
    sheets_through,
    topped_up,
)
from coop.science.bath_answers import WEIGHED_LN_SD
from coop.science.bath_readings import (
    APPLIED,
    KEPT,
    PENDING_MAX,
    SETTLED,
    gravity_read,
    level_read,
    volume_by_area,
    volume_by_table,
)

BARE_LN_SD = doubt.ln_sd_of_range(low=11, high=20)


def bath_of(litres=12.0, grams=480.0, ln_sd=WEIGHED_LN_SD):
    return mixed(
        water_ml=1000 * litres,
        salt_parts=[SaltPart(grams, ln_sd)],
        salt="potash_alum",
        at_h=0,
    )


def gravity(at, g_per_l, label="g", sd=1.2):
    return gravity_read(estimate=at, strength_g_per_l=g_per_l, sd_g_per_l=sd, label=label)


def level(at, litres, label="l", sd_litres=0.3):
    return level_read(estimate=at, volume_ml=1000 * litres, sd_ml=1000 * sd_litres, label=label)


def test_a_level_is_weighed_in_as_by_the_scalar_filter():
    """One reading of one component is the scalar filter, which holds to a printed table."""
    mix = bath_of()

    after, outcome = level(mix, 12.3)

    scalar = doubt.kalman_updated(
        mean=12_000, variance=mix.belief.vv, reading=12_300, reading_variance=300**2
    )
    assert outcome.outcome == APPLIED
    assert (outcome.before, outcome.after) == (12_000, after.belief.volume_ml)
    assert after.belief.volume_ml == pytest.approx(scalar.mean)
    assert after.belief.vv == pytest.approx(scalar.variance)


def test_more_water_than_thought_means_a_weaker_bath():
    """At mixing the strength's doubt comes from the water too, so a level speaks of both."""
    more, _ = level(bath_of(), 12.2)
    less, _ = level(bath_of(), 11.8)

    assert more.belief.strength_g_per_l < 40 < less.belief.strength_g_per_l


def test_a_second_reading_does_not_halve_what_the_hydrometer_always_shows_too_much():
    """Many readings average their own errors away, never the zero's and the curve's."""
    at = bath_of(ln_sd=BARE_LN_SD)

    for n in range(40):
        at, _ = gravity_read(
            estimate=at,
            strength_g_per_l=40,
            sd_g_per_l=1.25,
            lasting_sd_g_per_l=1.0,
            label=f"g{n}",
        )

    assert 40 * at.belief.cc**0.5 == pytest.approx(1.0, rel=0.05)


def test_the_same_hydrometer_finds_a_change_better_than_a_strength():
    """What it always shows too much goes out of the difference of two readings."""

    def sigma_of_the_second(lasting):
        at, _ = gravity_read(
            estimate=bath_of(ln_sd=BARE_LN_SD),
            strength_g_per_l=40,
            sd_g_per_l=1.5,
            lasting_sd_g_per_l=lasting,
            label="first",
        )
        _, found = gravity_read(
            estimate=at,
            strength_g_per_l=36,
            sd_g_per_l=1.5,
            lasting_sd_g_per_l=lasting,
            label="second",
        )
        return found.sigma

    assert sigma_of_the_second(1.2) > 1.4 * sigma_of_the_second(0)


@pytest.mark.parametrize("lasting", [-0.1, 1.2, float("nan")])
def test_what_lasts_of_an_error_is_a_part_of_it(lasting):
    with pytest.raises(ValueError, match=r"lasting_sd_g_per_l: must be from 0 to under"):
        gravity_read(
            estimate=bath_of(),
            strength_g_per_l=40,
            sd_g_per_l=1.2,
            lasting_sd_g_per_l=lasting,
            label="g",
        )


@given(st.floats(0.7, 1.3), st.floats(0.005, 0.03))
def test_a_sharp_gravity_is_weighed_in_by_precision_on_the_logarithm(ratio, fraction):
    """For small doubts g/L and its logarithm agree, so the published weights must come out."""
    mix = bath_of(ln_sd=0.2)
    read = 40 * ratio

    after, outcome = gravity(mix, read, sd=fraction * read)

    mean, variance = doubt.weighted_mean(
        readings=[(log(40), mix.belief.cc), (log(read), fraction**2)]
    )
    assert outcome.outcome == APPLIED
    assert after.belief.ln_c == pytest.approx(mean, abs=0.003)
    assert after.belief.cc == pytest.approx(variance, rel=0.05)


def test_a_gravity_tells_a_spooned_bath_what_it_is():
    """The doubt of bare spoons goes; an estimate may move far without disagreeing."""
    spooned = bath_of(litres=11.36, grams=24 * 14.8, ln_sd=BARE_LN_SD)

    after, outcome = gravity(spooned, 24)

    assert outcome.outcome == APPLIED
    assert after.belief.strength_g_per_l == pytest.approx(24, abs=0.5)
    assert after.belief.cc**0.5 < 0.055
    assert outcome.sigma < 3


def test_what_readings_find_is_booked_as_unexplained():
    """The balance must still add up after a reading moves it."""
    after, _ = level(bath_of(), 11.7)

    assert after.water_ml.unexplained == pytest.approx(after.belief.volume_ml - 12_000)
    assert after.salt_g.unexplained == pytest.approx(after.belief.salt_g - 480)


def test_a_reading_beyond_three_sigma_is_kept_and_moves_nothing():
    """An unwritten top-up or a dirty bath must be looked at, not averaged in."""
    mix = bath_of()

    after, outcome = gravity(mix, 30, label="odd")

    assert outcome.outcome == KEPT
    assert outcome.sigma > 3
    assert outcome.before == outcome.after
    assert after.belief == mix.belief
    assert [kept.label for kept in after.pending] == ["odd"]


@pytest.mark.parametrize(("off_ml", "outcome"), [(2.99, APPLIED), (3.01, KEPT)])
def test_the_line_is_at_three_standard_deviations_of_both_together(off_ml, outcome):
    """The reading's own doubt counts as much as the estimate's."""
    mix = bath_of()
    both_ml = hypot(mix.belief.vv**0.5, 300)

    _, said = level(mix, (12_000 + off_ml * both_ml) / 1000)

    assert said.outcome == outcome
    assert said.sigma == pytest.approx(off_ml)


def test_plain_water_in_a_strong_bath_disagrees():
    """A gravity of nothing is far off however doubtful in per cent."""
    for read in (0, -1, 0.5):
        _, outcome = gravity(bath_of(ln_sd=BARE_LN_SD), read)
        assert outcome.outcome == KEPT


def test_a_second_gravity_that_agrees_settles_the_first():
    """Both are applied, from the readings' own doubt: the mean of the two."""
    waiting, _ = gravity(bath_of(), 30, label="first")

    after, outcome = gravity(waiting, 31, label="second")

    assert (outcome.outcome, outcome.settled) == (SETTLED, "first")
    assert after.belief.strength_g_per_l == pytest.approx(30.5, abs=0.1)
    assert after.belief.strength_g_per_l * after.belief.cc**0.5 == pytest.approx(
        1.2 / 2**0.5, rel=0.05
    )
    assert after.belief.volume_ml == pytest.approx(12_000)
    assert after.pending == ()


def test_a_second_level_that_agrees_settles_the_first():
    """Somebody poured in 3 L and wrote nothing."""
    waiting, _ = level(bath_of(), 15.0, label="first")

    after, outcome = level(waiting, 15.2, label="second")

    assert (outcome.outcome, outcome.settled) == (SETTLED, "first")
    assert after.belief.volume_ml == pytest.approx(15_100, abs=1)
    assert after.water_ml.unexplained == pytest.approx(3_100, abs=1)


def test_a_level_settles_a_gravity_when_the_same_salt_fills_it():
    """4 L of water nobody wrote: 480 g at 30 g/L fill 16 L, and the dipstick says 16 L."""
    waiting, _ = gravity(bath_of(), 30, label="weak")

    after, outcome = level(waiting, 16.1)

    assert (outcome.outcome, outcome.settled) == (SETTLED, "weak")
    assert after.belief.strength_g_per_l == pytest.approx(30)
    assert after.belief.volume_ml == pytest.approx(16_100)


def test_a_gravity_settles_a_level_when_the_same_salt_fills_it():
    """The same story with the dipstick first."""
    waiting, _ = level(bath_of(), 16.0, label="high")

    after, outcome = gravity(waiting, 30)

    assert (outcome.outcome, outcome.settled) == (SETTLED, "high")
    assert after.belief.volume_ml == pytest.approx(16_000)
    assert after.belief.strength_g_per_l == pytest.approx(30)


def test_a_level_that_is_as_expected_does_not_settle_an_odd_gravity():
    """It says nothing for the weak reading, so that one goes on waiting."""
    waiting, _ = gravity(bath_of(), 30, label="weak")

    after, outcome = level(waiting, 12.05)

    assert outcome.outcome == APPLIED
    assert [kept.label for kept in after.pending] == ["weak"]
    assert after.belief.strength_g_per_l == pytest.approx(40, rel=0.01)


def test_a_second_gravity_that_agrees_with_the_bath_outvotes_the_first():
    """Two against one: the hydrometer stood against the wall."""
    waiting, _ = gravity(bath_of(), 30, label="weak")

    after, outcome = gravity(waiting, 39.5)

    assert outcome.outcome == APPLIED
    assert outcome.set_aside == ("weak",)
    assert after.pending == ()


def test_a_vague_reading_nearer_to_the_bath_settles_nothing():
    """A reading that agrees with everything is no witness."""
    waiting, _ = gravity(bath_of(), 30, label="weak")

    after, outcome = gravity(waiting, 37, sd=8)

    assert outcome.outcome == APPLIED
    assert [kept.label for kept in after.pending] == ["weak"]


def test_two_odd_readings_that_disagree_both_wait():
    """Neither is believed until a third speaks for one of them."""
    first, _ = gravity(bath_of(), 30, label="weak", sd=0.6)
    both, outcome = gravity(first, 50, label="strong", sd=0.6)

    after, settled = gravity(both, 49.5, sd=0.6)

    assert outcome.outcome == KEPT
    assert (settled.outcome, settled.settled) == (SETTLED, "strong")
    assert settled.set_aside == ("weak",)
    assert after.belief.strength_g_per_l == pytest.approx(49.75, abs=0.1)
    assert after.pending == ()


def test_a_top_up_after_an_odd_reading_moves_what_it_would_mean():
    """30 g/L in 12 L with 4 L at 60 g/L is 37.5 g/L, and only that speaks for the reading."""
    waiting, _ = gravity(bath_of(), 30, label="weak", sd=0.6)
    topped = topped_up(
        estimate=waiting, water_ml=4000, salt_parts=[SaltPart(240, WEIGHED_LN_SD)]
    )

    settling, yes = gravity(topped, 37.5, sd=0.6)
    _, no = gravity(topped, 30, sd=0.6)

    assert topped.belief.strength_g_per_l == pytest.approx(45)
    assert (yes.outcome, yes.settled) == (SETTLED, "weak")
    assert settling.belief.strength_g_per_l == pytest.approx(37.5, abs=0.1)
    assert no.outcome == KEPT


def test_sheets_after_an_odd_level_move_what_it_would_mean():
    """15 L read, 49 half sheets of 0.0245 L later 13.8 L is the agreeing level."""
    waiting, _ = level(bath_of(), 15.0, label="high")
    later = sheets_through(
        estimate=waiting, sheet_area_m2=0.175, sheet_count=49, paper=BINDS_NOTHING
    )

    after, outcome = level(later, 13.8)

    assert (outcome.outcome, outcome.settled) == (SETTLED, "high")
    assert after.belief.volume_ml == pytest.approx(13_800, abs=10)


def test_a_settled_bath_still_adds_up():
    """What the readings found stands as unexplained, not hidden in another line."""
    waiting, _ = gravity(bath_of(), 30)
    later = sheets_through(estimate=waiting, sheet_area_m2=0.175, sheet_count=40)

    after, _ = gravity(later, 30)

    salt = after.salt_g
    gone = salt.off_with_sheets + salt.bound
    assert after.belief.salt_g == pytest.approx(salt.came_in - gone + salt.unexplained)
    assert salt.unexplained < -100


def test_only_so_many_readings_wait():
    """The oldest makes room; the entries themselves stay in the ledger."""
    at = bath_of()
    for count in range(PENDING_MAX + 2):
        at, outcome = gravity(at, 60 + 15 * count, label=str(count), sd=0.5)
        assert outcome.outcome == KEPT

    assert [kept.label for kept in at.pending] == [str(2 + k) for k in range(PENDING_MAX)]


def test_a_level_through_an_area_or_a_table_gives_the_same_litres():
    """1 mm over 0.3996 m2 is 0.4 L, and +-2 mm is +-0.8 L nine times in ten."""
    by_area = volume_by_area(level_mm=15, area_m2=0.540 * 0.740)
    by_table = volume_by_table(level_mm=15, table=((0, 0), (10, 3996), (40, 15_984)))

    assert by_area.volume_ml == pytest.approx(5994)
    assert by_area.sd_ml == pytest.approx(2 * 399.6 / 1.645)
    assert by_table == pytest.approx(by_area)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: level(bath_of(), -1), "volume_ml"),
        (lambda: level(bath_of(), 12, sd_litres=0), "sd: must be over 0"),
        (lambda: gravity(bath_of(), float("nan")), "strength_g_per_l"),
        (lambda: volume_by_area(level_mm=-1, area_m2=0.4), "level_mm"),
        (lambda: volume_by_area(level_mm=1, area_m2=0), "area_m2"),
        (lambda: volume_by_table(level_mm=50, table=((0, 0), (40, 9))), "from 0 to 40, is 50"),
        (lambda: volume_by_table(level_mm=1, table=((0, 5), (40, 5))), "rising"),
        (lambda: volume_by_table(level_mm=1, table=((0, 5),)), "two rows"),
    ],
)
def test_a_reading_that_cannot_be_is_named(call, says):
    """The message says what and what would be right."""
    with pytest.raises(ValueError, match=says):
        call()
