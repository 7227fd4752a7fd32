"""The alum bath's steps: balances that add up, doubt that covers, the checks by hand."""

from itertools import product
from math import exp, hypot, isclose, isfinite, log
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import bath_belief
from coop.science.alum import SALTS
from coop.science.bath import (
    BINDS_NOTHING,
    EVAPORATION_MM_PER_DAY,
    PICKUP_DIP_ML_PER_M2,
    PICKUP_SPONGE_ML_PER_M2,
    WATER_SD_FRACTION,
    Measured,
    Paper,
    SaltPart,
    Spread,
    handover,
    mixed,
    poured_out,
    sheets_through,
    time_passed,
    topped_up,
)
from coop.science.bath_answers import WEIGHED_LN_SD, balances, strength
from coop.science.bath_belief import Belief, Carried, Part
from coop.science.bath_readings import gravity_read, level_read
from coop.science.defaults import Z_90
from coop.science.estimate import ln_sd_of_fraction, ln_sd_of_range

SULFATE = "aluminium_sulfate_14"
FULL_M2, HALF_M2, QUARTER_M2 = 0.35, 0.175, 0.0875
BARE_SPOON = SaltPart(24 * 14.8, ln_sd_of_range(low=11, high=20))
WEIGHED_SPOON = SaltPart(24 * 11.1, ln_sd_of_fraction(fraction=0.05))


def bath_of(litres=12.0, grams=480.0, ln_sd=WEIGHED_LN_SD):
    return mixed(
        water_ml=1000 * litres, salt_parts=[SaltPart(grams, ln_sd)], salt=SULFATE, at_h=0
    )


def thursday_and_saturday(spoons):
    """24 spoons in 3 US gallons, 40 half sheets, 3 L of plain water, 46 half sheets."""
    mix = mixed(water_ml=11_360, salt_parts=[spoons], salt=SULFATE, at_h=0)
    dipped = sheets_through(estimate=mix, sheet_area_m2=HALF_M2, sheet_count=40)
    watered = topped_up(estimate=dipped, water_ml=3000)
    saturday = sheets_through(estimate=watered, sheet_area_m2=HALF_M2, sheet_count=46)
    return mix, dipped, watered, saturday


def test_a_bath_by_bare_spoons_is_about_31_and_after_water_about_24():
    """Worked by hand: 24 x 14.8 g in 11.36 L, a spoon between 11 and 20 g."""
    mix, _, watered, _ = thursday_and_saturday(BARE_SPOON)

    now, then = strength(estimate=mix), strength(estimate=watered)

    assert round(now.middle_g_per_l) == 31
    assert (round(now.low_g_per_l), round(now.high_g_per_l)) == (23, 42)
    assert round(then.middle_g_per_l) == 24


def test_ten_weighed_spoons_bring_the_middle_to_the_balance_by_hand():
    """11.1 g a spoon: 23.5 g/L, then 18.2 g/L, worked by hand; fibre takes under 0.3."""
    mix, dipped, watered, saturday = thursday_and_saturday(WEIGHED_SPOON)

    assert round(mix.plain.strength_g_per_l, 1) == 23.5
    assert round(watered.plain.strength_g_per_l, 1) == 18.2
    assert [round(at.plain.volume_ml / 1000, 2) for at in (dipped, watered, saturday)] == [
        10.38,
        13.38,
        12.25,
    ]
    for at in (mix, dipped, watered, saturday):
        now = strength(estimate=at)
        assert now.middle_g_per_l == pytest.approx(at.plain.strength_g_per_l, abs=0.3)
        assert now.low_g_per_l < at.plain.strength_g_per_l < now.high_g_per_l
        assert now.volume_low_l < at.plain.volume_ml / 1000 < now.volume_high_l


def test_five_weeks_of_a_bath_follow_the_litres_worked_by_hand():
    """12 L at 40 g/L; dip at 0.14 and sponge at 0.08 L/m2, worked by hand."""
    at = bath_of()
    entries = [
        (FULL_M2, 45, PICKUP_DIP_ML_PER_M2, 9.795),
        (HALF_M2, 40, PICKUP_DIP_ML_PER_M2, 8.815),
        (FULL_M2, 40, PICKUP_DIP_ML_PER_M2, 6.855),
        (QUARTER_M2, 150, PICKUP_SPONGE_ML_PER_M2, 5.805),
    ]

    for area_m2, count, pickup, litres in entries:
        at = sheets_through(
            estimate=at, sheet_area_m2=area_m2, sheet_count=count, pickup_ml_per_m2=pickup
        )
        assert at.plain.volume_ml == pytest.approx(1000 * litres, abs=0.5)
        assert at.plain.strength_g_per_l == pytest.approx(40)
        assert at.belief.volume_ml == pytest.approx(at.plain.volume_ml)
        now = strength(estimate=at)
        assert now.low_g_per_l < 40 < now.high_g_per_l


def test_the_recurrence_gives_the_exact_figure_and_its_smooth_form():
    """4 L, 50 g/L, 100 sheets, 0.010 L and 0.138 g each: 46.0242 and 46.0300 (computed)."""
    exact = bath_belief.strength_after_sheets_g_per_l(
        strength_g_per_l=50,
        volume_ml=4000,
        sheet_count=100,
        carried_ml_per_sheet=10,
        bound_g_per_sheet=0.138,
    )
    smooth = bath_belief.strength_after_sheets_smooth_g_per_l(
        strength_g_per_l=50, volume_ml=4000, carried_ml=1000, bound_g=13.8
    )

    assert exact == pytest.approx(46.0242, abs=0.5e-4)
    assert smooth == pytest.approx(46.0300, abs=0.5e-4)


def test_the_recurrence_is_what_a_hundred_single_steps_give():
    """Independent of the sum in the code: liquid and salt carried away sheet by sheet."""
    volume_ml, salt_g = 4000.0, 200.0
    for _ in range(100):
        carried_g = 10 * salt_g / volume_ml
        salt_g -= carried_g + 0.138
        volume_ml -= 10

    after, bound_g = bath_belief.sheets_taken(
        belief=Belief(4000, log(50), 1, 0, 0, 0, 0, 0, 0),
        sheet_count=100,
        carried=Carried(1000, 0, 0),
        bound_g=13.8,
        bound_sd_g=0,
    )

    assert after.volume_ml == pytest.approx(volume_ml)
    assert after.salt_g == pytest.approx(salt_g, rel=1e-12)
    assert bound_g == 13.8


def test_without_binding_a_count_of_sheets_takes_litres_and_no_strength():
    """Sheets carry liquid at the bath's strength; only fibre and chalk weaken it."""
    after = sheets_through(
        estimate=bath_of(), sheet_area_m2=HALF_M2, sheet_count=200, paper=BINDS_NOTHING
    )

    assert after.belief.strength_g_per_l == pytest.approx(40)
    assert after.belief.volume_ml == pytest.approx(12_000 - 200 * 0.175 * 140)


def test_chalk_of_permanent_paper_takes_69_g_from_a_hundred_half_sheets():
    """
    17.5 m2 at 40 meq/m2 is 700 meq or 69 g of the 14-hydrate, and 12 L at 40 g/L fall to
    31 to 34 g/L (worked by hand; ISO 9706: 20 g CaCO3 per kg, 2 g/m2 at 100 g/m2).
    """
    buffered = Paper(
        fibre_al_mg_per_g=0,
        fibre_al_sd_mg_per_g=0,
        chalk_g_per_m2=2.0,
        chalk_reached=1,
        chalk_reached_sd=0,
    )

    after = sheets_through(
        estimate=bath_of(), sheet_area_m2=HALF_M2, sheet_count=100, paper=buffered
    )

    assert after.salt_g.bound == pytest.approx(69, abs=0.5)
    assert 31 < after.belief.strength_g_per_l < 34


def test_fibre_takes_a_fifth_of_a_milligram_of_aluminium_per_gram():
    """10 m2 of 100 g/m2 at 0.2 mg/g is 0.2 g of aluminium, 2.2 g of the 14-hydrate."""
    after = sheets_through(estimate=bath_of(), sheet_area_m2=0.1, sheet_count=100)

    assert after.salt_g.bound == pytest.approx(0.2 / SALTS[SULFATE].al_fraction, rel=1e-6)
    assert after.salt_g.bound == pytest.approx(2.2, abs=0.05)


def test_a_measured_take_out_and_put_back_stands_in_for_the_pick_up():
    """A jug knows better than a default, and teaches nothing about the vessel's habit."""
    after = sheets_through(
        estimate=bath_of(),
        sheet_area_m2=QUARTER_M2,
        sheet_count=150,
        paper=BINDS_NOTHING,
        measured=Measured(1200, 30),
    )

    assert after.belief.volume_ml == pytest.approx(10_800)
    assert after.belief.vv == pytest.approx((12_000 * WATER_SD_FRACTION) ** 2 + 30**2)
    assert after.belief.vf == 0
    assert after.plain.volume_ml == pytest.approx(10_800)


def test_two_sponged_sides_take_twice_the_liquid_of_one():
    """A dip counts both sides already; a sponge does one at a time."""
    one, two = (
        sheets_through(
            estimate=bath_of(),
            sheet_area_m2=HALF_M2,
            sheet_count=40,
            sides=sides,
            pickup_ml_per_m2=PICKUP_SPONGE_ML_PER_M2,
        )
        for sides in (1, 2)
    )

    assert two.water_ml.off_with_sheets == pytest.approx(2 * one.water_ml.off_with_sheets)


def test_each_entry_draws_its_own_factor():
    """Ten entries of ten sheets are less doubtful than one of a hundred; habit is shared."""
    once = sheets_through(
        estimate=bath_of(), sheet_area_m2=HALF_M2, sheet_count=100, paper=BINDS_NOTHING
    )
    often = bath_of()
    for _ in range(10):
        often = sheets_through(
            estimate=often, sheet_area_m2=HALF_M2, sheet_count=10, paper=BINDS_NOTHING
        )

    mixing = (12_000 * WATER_SD_FRACTION) ** 2
    habit = (2450 * 0.15 / Z_90) ** 2
    own = (2450 * PICKUP_DIP_ML_PER_M2.ln_sd) ** 2
    assert once.belief.vv == pytest.approx(mixing + habit + own)
    assert often.belief.vv == pytest.approx(mixing + habit + own / 10)


def dipped(at, count, lasts):
    return sheets_through(
        estimate=at,
        sheet_area_m2=HALF_M2,
        sheet_count=count,
        paper=BINDS_NOTHING,
        lasts=lasts,
    )


def test_one_paper_drinks_the_same_each_time():
    """Ten entries of ten sheets of one paper are as doubtful as one of a hundred."""
    once, often = dipped(bath_of(), 100, "P-30 dip"), bath_of()
    for _ in range(10):
        often = dipped(often, 10, "P-30 dip")

    assert often.belief.vv == pytest.approx(once.belief.vv)
    assert often.belief.volume_ml == pytest.approx(once.belief.volume_ml)


def test_what_one_paper_showed_is_not_believed_of_another():
    """A level after P-30 says how much P-30 drank; P-31 is as doubtful as ever."""
    before = dipped(bath_of(), 60, "P-30 dip")
    level_ml = before.belief.volume_ml
    read, _ = level_read(estimate=before, volume_ml=level_ml, sd_ml=20, label="l")

    other = dipped(read, 60, "P-31 dip")

    own = (HALF_M2 * 60 * 140 * PICKUP_DIP_ML_PER_M2.ln_sd * read.belief.factor) ** 2
    assert read.belief.vv < 25**2
    assert other.belief.vv > own


def test_a_lot_s_spoon_holds_the_same_at_each_top_up():
    """Salt by the same bare spoon again and again does not make the strength surer."""
    ln_sd = ln_sd_of_range(low=11, high=20)

    def after(lasts):
        at = mixed(
            water_ml=10_000,
            salt_parts=[SaltPart(400, ln_sd, lasts)],
            salt=SULFATE,
            at_h=0,
            water_sd_fraction=0,
        )
        for _ in range(4):
            part = SaltPart(400, ln_sd, lasts)
            at = topped_up(estimate=at, water_ml=10_000, salt_parts=[part], water_sd_fraction=0)
        return at.belief.cc**0.5

    assert after("lot") == pytest.approx(ln_sd)
    assert after("") == pytest.approx(ln_sd / 5**0.5)


def test_a_room_dries_the_same_from_week_to_week():
    """Two open days are as doubtful together as one of double length."""
    apart = bath_of()
    for _ in range(2):
        apart = time_passed(estimate=apart, hours=12, open_hours=12, area_m2=0.4)
    once = time_passed(estimate=bath_of(), hours=24, open_hours=24, area_m2=0.4)

    assert apart.belief.vv == pytest.approx(once.belief.vv)


def test_hours_nobody_wrote_down_are_doubt_of_their_own():
    """Each opening is another guess; together they are less doubtful than one."""

    def opened(at, hours, ln_sd):
        return time_passed(
            estimate=at, hours=hours, open_hours=hours, area_m2=0.4, open_hours_ln_sd=ln_sd
        )

    sure = opened(bath_of(), 2, 0)
    unsure = opened(bath_of(), 2, 0.8)
    twice = opened(opened(bath_of(), 1, 0.8), 1, 0.8)

    assert sure.belief.vv < twice.belief.vv < unsure.belief.vv
    assert sure.belief.volume_ml == pytest.approx(unsure.belief.volume_ml)


def test_more_errors_that_last_than_are_kept_count_as_drawn_anew():
    """A bath of a hundred papers stays small to keep; its doubt is not lost."""
    at = bath_of(litres=100, grams=4000)
    for n in range(2 * bath_belief.LASTING_MAX):
        before = at.belief.vv
        at = sheets_through(
            estimate=at, sheet_area_m2=HALF_M2, sheet_count=1, lasts=f"P-{n} dip"
        )
        assert at.belief.vv > before

    assert len(at.belief.lasting) == bath_belief.LASTING_MAX


def test_a_top_up_with_water_alone_thins_and_one_at_strength_does_not():
    """3 L into 10.4 L takes 23.5 to 18.2 g/L (worked by hand)."""
    weak = bath_of(litres=10.38, grams=10.38 * 23.45)

    thinned = topped_up(estimate=weak, water_ml=3000)
    kept = topped_up(
        estimate=weak, water_ml=3000, salt_parts=[SaltPart(3 * 23.45, WEIGHED_LN_SD)]
    )

    assert round(thinned.belief.strength_g_per_l, 1) == 18.2
    assert kept.belief.strength_g_per_l == pytest.approx(23.45)


def test_an_open_bath_gets_stronger_and_a_lidded_one_only_less_sure():
    """Water alone leaves; 1 mm over 1 m2 is 1 L."""
    mix = bath_of(litres=10, grams=400)

    opened = time_passed(estimate=mix, hours=24, open_hours=24, area_m2=0.4)
    lidded = time_passed(estimate=mix, hours=24 * 7)

    assert opened.belief.volume_ml == pytest.approx(10_000 - 800)
    assert opened.belief.strength_g_per_l == pytest.approx(400 / 9.2)
    assert opened.belief.salt_g == pytest.approx(mix.belief.salt_g)
    assert lidded.belief.volume_ml == mix.belief.volume_ml
    grown = lidded.belief.vv - mix.belief.vv
    assert grown**0.5 == pytest.approx(0.005 * 10_000 / Z_90)


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_two_waits_under_a_lid_are_one(first_h, second_h):
    """How often somebody looks must not change what is believed."""
    mix = bath_of()

    twice = time_passed(estimate=time_passed(estimate=mix, hours=first_h), hours=second_h)
    once = time_passed(estimate=mix, hours=first_h + second_h)

    assert twice.belief[:9] == pytest.approx(once.belief[:9])
    assert twice.belief.lasting == once.belief.lasting == ()
    assert twice.at_h == pytest.approx(once.at_h)


def test_two_halves_joined_again_are_the_bath_they_came_from():
    """Split and join are exact moves of the amounts."""
    mix = bath_of()
    given_away = handover(estimate=mix, volume_ml=6000, sd_ml=0)
    left = poured_out(estimate=mix, volume_ml=6000)

    other = mixed(water_ml=0, salt_parts=[], solutions=[given_away], salt=SULFATE, at_h=0)
    joined = topped_up(estimate=left, solutions=[given_away])

    assert other.belief.volume_ml == pytest.approx(6000)
    assert other.belief.strength_g_per_l == pytest.approx(40)
    assert other.belief.cc == pytest.approx(mix.belief.cc)
    assert joined.belief.volume_ml == pytest.approx(12_000)
    assert joined.belief.salt_g == pytest.approx(480)
    assert joined.salt_g.came_in == pytest.approx(720)
    assert joined.salt_g.poured_out == pytest.approx(240)


def test_a_mix_from_independent_errors_has_their_covariance():
    """ln c = ln grams - ln water, so too much water is too little strength."""
    at = mixed(
        water_ml=10_000,
        salt_parts=[SaltPart(300, 0.04), SaltPart(100, 0.2)],
        salt=SULFATE,
        at_h=0,
        water_sd_fraction=0.01,
    ).belief

    salt_sd = hypot(300 * 0.04, 100 * 0.2) / 400
    assert at.vv == pytest.approx(100**2)
    assert at.vc == pytest.approx(-100 * 0.01)
    assert at.cc == pytest.approx(salt_sd**2 + 0.01**2)


START = Belief(9000, log(30), 1.05, 150**2, -1.2, -1.5, 0.09**2, 0.002, 0.08**2)
CARRIED_ML = 1400.0


def _without_noise_of_sheets(at):
    carried = Carried(CARRIED_ML * at.factor, 0, CARRIED_ML)
    after, _ = bath_belief.sheets_taken(
        belief=at, sheet_count=60, carried=carried, bound_g=40, bound_sd_g=0
    )
    return after


MOVES = {
    "sheets": _without_noise_of_sheets,
    "top-up": lambda at: bath_belief.added(belief=at, parts=[Part(2500, 30, ())]),
    "water": lambda at: bath_belief.added(belief=at, parts=[Part(2500, 0, ())]),
    "drying": lambda at: bath_belief.dried(belief=at, water_ml=900, ln_sd=0, drift_sd_ml=0),
    "pouring": lambda at: bath_belief.taken_out(belief=at, volume_ml=900, sd_ml=0),
}


def _matrix(at):
    return [[at.vv, at.vc, at.vf], [at.vc, at.cc, at.cf], [at.vf, at.cf, at.ff]]


def _aside(at, place, step):
    numbers = list(at[:9])
    numbers[place] += step
    return Belief._make((*numbers, at.lasting))


@pytest.mark.parametrize("name", MOVES)
def test_the_slopes_of_every_move_are_those_of_its_own_balance(name):
    """Covariance by differences of the balance itself, F P F', within 1 % of each spread."""
    move, steps = MOVES[name], (1.0, 1e-4, 1e-4)
    columns = []
    for place, step in enumerate(steps):
        up, down = (_aside(START, place, step * sign) for sign in (1, -1))
        pair = zip(move(up)[:3], move(down)[:3], strict=True)
        columns.append([(high - low) / (2 * step) for high, low in pair])
    start = _matrix(START)

    after = _matrix(move(START))

    for i, j in product(range(3), repeat=2):
        expected = sum(
            columns[a][i] * start[a][b] * columns[b][j] for a, b in product(range(3), repeat=2)
        )
        scale = (after[i][i] * after[j][j]) ** 0.5
        assert after[i][j] == pytest.approx(expected, abs=0.01 * scale)


_litres = st.floats(0, 20)
EVENTS = st.one_of(
    st.tuples(
        st.just("sheets"),
        st.integers(1, 300),
        st.floats(0.01, 0.6),
        st.floats(0, 20),
        st.sampled_from(("", "P-30 dip", "P-31 dip")),
    ),
    st.tuples(st.just("time"), st.floats(0, 2000), st.floats(0, 400)),
    st.tuples(
        st.just("top-up"),
        _litres,
        st.floats(0, 2000),
        st.floats(0, 0.4),
        st.sampled_from(("", "lot")),
    ),
    st.tuples(st.just("pour"), _litres, st.floats(0, 500)),
    st.tuples(st.just("join"), _litres, st.floats(0, 100)),
    st.tuples(st.just("level"), _litres, st.floats(10, 1000)),
    st.tuples(st.just("gravity"), st.floats(-2, 120), st.floats(0.2, 5), st.floats(0, 0.95)),
)


def _happened(at, event):
    match event:
        case ("sheets", count, area_m2, chalk, lasts):
            paper = Paper(chalk_g_per_m2=chalk)
            return sheets_through(
                estimate=at,
                sheet_area_m2=area_m2,
                sheet_count=count,
                paper=paper,
                lasts=lasts,
            )
        case ("time", hours, open_hours):
            return time_passed(estimate=at, hours=hours, open_hours=open_hours, area_m2=0.4)
        case ("top-up", litres, grams, ln_sd, lasts):
            parts = [SaltPart(grams, ln_sd, lasts)]
            return topped_up(estimate=at, water_ml=1000 * litres, salt_parts=parts)
        case ("pour", litres, sd_ml):
            return poured_out(estimate=at, volume_ml=1000 * litres, sd_ml=sd_ml)
        case ("join", litres, strength_g_per_l):
            other = mixed(
                water_ml=20_000, salt_parts=[SaltPart(1e-3, 0.2)], salt=SULFATE, at_h=0
            )
            solution = handover(estimate=other, volume_ml=1000 * litres, sd_ml=50)
            solution = solution._replace(strength_g_per_l=strength_g_per_l)
            return topped_up(estimate=at, solutions=[solution])
        case ("level", litres, sd_ml):
            return level_read(estimate=at, volume_ml=1000 * litres, sd_ml=sd_ml, label="l")[0]
        case ("gravity", g_per_l, sd, lasting):
            return gravity_read(
                estimate=at,
                strength_g_per_l=g_per_l,
                sd_g_per_l=sd,
                label="g",
                lasting_sd_g_per_l=lasting * sd,
            )[0]
    raise AssertionError(event)


def _least_minor(at):
    """
    Least principal minor of the correlations, less what the errors that last explain; not
    under 0 where state and lasting errors together have a true covariance.
    """
    matrix = _matrix(at)
    spreads = [row[place] ** 0.5 or 1.0 for place, row in enumerate(matrix)]
    for _, *to in at.lasting:
        matrix = [
            [cell - to[i] * to[j] for j, cell in enumerate(row)] for i, row in enumerate(matrix)
        ]
    (a, b, c), (_, d, e), (_, _, f) = (
        [cell / spreads[i] / spreads[j] for j, cell in enumerate(row)]
        for i, row in enumerate(matrix)
    )
    whole = a * (d * f - e * e) - b * (b * f - c * e) + c * (b * e - c * d)
    return min(a, d, f, a * d - b * b, a * f - c * c, d * f - e * e, whole)


@given(st.lists(EVENTS, max_size=40))
def test_whatever_happens_the_estimate_stays_an_estimate(events):
    """Covariance never negative, litres over zero, no number lost, balances add up."""
    at = bath_of()

    for event in events:
        at = _happened(at, event)

        for belief in (at.belief, *(kept.belief for kept in at.pending)):
            assert all(isfinite(number) for number in belief[:9])
            assert all(isfinite(to) for _, *tos in belief.lasting for to in tos)
            assert belief.volume_ml > 0
            assert belief.factor > 0
            assert _least_minor(belief) >= -1e-9
        now = strength(estimate=at)
        assert 0 <= now.low_g_per_l <= now.low20_g_per_l <= now.middle_g_per_l
        assert now.middle_g_per_l <= now.high_g_per_l < float("inf")
        for sums in balances(estimate=at):
            gone = sums.off_with_sheets + sums.to_air + sums.bound + sums.poured_out
            turnover = sums.came_in + gone + abs(sums.unexplained)
            left = sums.came_in - gone + sums.unexplained
            assert isclose(left, sums.left, abs_tol=1e-9 * turnover)


@given(st.lists(EVENTS, max_size=12))
def test_the_same_events_give_the_same_numbers(events):
    """A rebuilt fold must equal the stored one to the last bit."""
    first, second = bath_of(), bath_of()

    for event in events:
        first, second = _happened(first, event), _happened(second, event)

    assert first == second


def _weeks_of_a_bath(draw, with_readings):
    """Two weeks of an invented bath beside its estimate: true g/L, true mL, the estimate."""
    spoons = draw.random() < 0.5
    ln_sd = ln_sd_of_range(low=11, high=20) if spoons else WEIGHED_LN_SD
    at = bath_of(ln_sd=ln_sd)
    volume_ml = 12_000 * (1 + draw.gauss(0, WATER_SD_FRACTION))
    salt_g = 480 * exp(draw.gauss(0, ln_sd))
    habit = draw.gauss(1, 0.15 / Z_90)
    for day in range(8):
        at = time_passed(estimate=at, hours=24, open_hours=2, area_m2=0.4)
        dried = 0.4 * 2 * 1000 * 2 / 24 * exp(draw.gauss(0, EVAPORATION_MM_PER_DAY.ln_sd))
        volume_ml -= dried + draw.gauss(0, 0.005 / Z_90 * (22 / 168) ** 0.5 * volume_ml)
        count = draw.randint(10, 30)
        at = sheets_through(estimate=at, sheet_area_m2=HALF_M2, sheet_count=count)
        own = exp(draw.gauss(0, PICKUP_DIP_ML_PER_M2.ln_sd))
        gone_ml = HALF_M2 * count * 140 * habit * own
        al_mg = HALF_M2 * count * 100 * max(0.0, draw.gauss(0.2, 0.2))
        salt_g -= salt_g * gone_ml / volume_ml + al_mg / 1000 / SALTS[SULFATE].al_fraction
        volume_ml -= gone_ml
        if day == 4:
            at = topped_up(estimate=at, water_ml=2000)
            volume_ml += 2000 * (1 + draw.gauss(0, WATER_SD_FRACTION))
        if with_readings and draw.random() < 0.4:
            read_ml, sd_ml = draw.gauss(volume_ml, 490), 490
            at, _ = level_read(estimate=at, volume_ml=read_ml, sd_ml=sd_ml, label=f"l{day}")
        if with_readings and draw.random() < 0.3:
            true_g_per_l = 1000 * salt_g / volume_ml
            read, sd = draw.gauss(true_g_per_l, 1.3), 1.3
            at, _ = gravity_read(
                estimate=at, strength_g_per_l=read, sd_g_per_l=sd, label=f"g{day}"
            )
    return 1000 * salt_g / volume_ml, volume_ml / 1000, strength(estimate=at)


@pytest.mark.parametrize("with_readings", [False, True])
def test_nine_invented_baths_in_ten_lie_in_their_interval(with_readings):
    """The interval that a member reads must mean what Help says of it."""
    draw = Random(20_251)
    baths = [_weeks_of_a_bath(draw, with_readings) for _ in range(300)]

    strengths = sum(at.low_g_per_l <= c <= at.high_g_per_l for c, _, at in baths)
    litres = sum(at.volume_low_l <= v <= at.volume_high_l for _, v, at in baths)
    under_20 = sum(c < at.low20_g_per_l for c, _, at in baths)

    assert 0.80 <= strengths / len(baths) <= 0.97
    assert 0.80 <= litres / len(baths) <= 0.97
    assert 0.10 <= under_20 / len(baths) <= 0.30


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: mixed(water_ml=0, salt_parts=[], salt=SULFATE, at_h=0), "water"),
        (lambda: mixed(water_ml=1000, salt_parts=[], salt=SULFATE, at_h=0), "salt: must be"),
        (lambda: bath_of(grams=-1), "salt_parts"),
        (lambda: mixed(water_ml=1, salt_parts=[], salt="table salt", at_h=0), "potash_alum"),
        (lambda: topped_up(estimate=bath_of(), water_ml=float("nan")), "water_ml"),
        (lambda: time_passed(estimate=bath_of(), hours=-1), "hours"),
        (lambda: poured_out(estimate=bath_of(), volume_ml=-1), "volume_ml"),
        (
            lambda: sheets_through(estimate=bath_of(), sheet_area_m2=0.1, sheet_count=2001),
            "sheet_count: must be from 1 to 2000, is 2001",
        ),
        (
            lambda: sheets_through(estimate=bath_of(), sheet_area_m2=0, sheet_count=1),
            "sheet_area_m2",
        ),
        (
            lambda: sheets_through(
                estimate=bath_of(), sheet_area_m2=0.1, sheet_count=1, sides=3
            ),
            "sides",
        ),
    ],
)
def test_an_amount_that_cannot_be_is_named(call, says):
    """The message says what and what would be right."""
    with pytest.raises(ValueError, match=says):
        call()


def test_more_sheets_than_liquid_leave_a_nearly_empty_vessel_and_no_error():
    """A count typed too high is for a person to find; the fold must survive it."""
    after = sheets_through(
        estimate=bath_of(litres=1, grams=40),
        sheet_area_m2=FULL_M2,
        sheet_count=2000,
        pickup_ml_per_m2=Spread(140, 110, 180),
    )

    assert after.belief.volume_ml == 1
    assert after.plain.volume_ml == 0
    assert after.salt_g.bound <= 36 + 1e-9
