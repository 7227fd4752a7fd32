"""Size against instruction pages, mass balance by hand, and water's own viscosity."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import defaults, size, water
from tests.science.handbook import as_printed

US_GAL_ML = 3785.411784
volumes = st.floats(100, 10_000)
doses = st.floats(0.5, 30)


@pytest.mark.parametrize(
    ("tray_mm", "grams"),
    [((270, 370, 40), "20"), ((380, 530, 45), "45"), ((530, 730, 45), "87")],
)
def test_a_tray_takes_so_much_carrageenan_at_five_grams_a_litre(tray_mm, grams):
    """A class, a half and a full tray of the trade, at their usual depth; computed by hand."""
    width_mm, length_mm, depth_mm = tray_mm

    found = size.powder_g(volume_ml=width_mm * length_mm * depth_mm / 1000, dose_g_per_l=5)

    assert as_printed(found, grams)


def test_a_pound_makes_about_27_gallons_at_the_common_dose():
    """An instruction page: a pound makes about 27 US gallons at 4.44 g/L; common practice."""
    found = size.powder_g(volume_ml=27 * US_GAL_ML, dose_g_per_l=4.44)

    assert found == pytest.approx(453.59237, rel=0.005)


@pytest.mark.parametrize(("grams", "dose_g_per_l"), [("20", 6.7), ("40", 13.3)])
def test_three_litres_of_tragacanth_take_what_instruction_pages_say(grams, dose_g_per_l):
    """20 to 40 g for 3 L; common practice, no source."""
    assert as_printed(size.powder_g(volume_ml=3000, dose_g_per_l=dose_g_per_l), grams)


def test_a_size_is_thinned_with_water():
    """9 L at 6 g/L are 54 g; at 5 g/L those are 10.8 L, by hand."""
    found = size.thinned(volume_ml=9000, dose_g_per_l=6, wanted_g_per_l=5)

    assert found == pytest.approx((1800, 10_800))


def test_a_size_is_thickened_with_a_thicker_one():
    """9 L at 4 g/L and 3 L at 8 g/L are 36 + 24 = 60 g in 12 L, by hand."""
    found = size.thickened(volume_ml=9000, dose_g_per_l=4, thicker_g_per_l=8, wanted_g_per_l=5)

    assert found == pytest.approx((3000, 12_000))


@given(volumes, doses, doses)
def test_thinning_loses_no_powder(volume_ml, one, other):
    low, high = sorted((one, other))

    found = size.thinned(volume_ml=volume_ml, dose_g_per_l=high, wanted_g_per_l=low)

    assert found.add_ml >= 0
    assert found.volume_ml * low == pytest.approx(volume_ml * high)


@given(volumes, st.tuples(doses, doses, doses).map(sorted))
def test_thickening_loses_no_powder_and_gains_none(volume_ml, dose):
    low, wanted, high = dose
    high += 1

    found = size.thickened(
        volume_ml=volume_ml, dose_g_per_l=low, thicker_g_per_l=high, wanted_g_per_l=wanted
    )

    assert found.add_ml >= 0
    assert found.volume_ml * wanted == pytest.approx(volume_ml * low + found.add_ml * high)


def test_a_size_that_is_right_needs_nothing():
    thin = size.thinned(volume_ml=9000, dose_g_per_l=5, wanted_g_per_l=5)
    thick = size.thickened(volume_ml=9000, dose_g_per_l=5, thicker_g_per_l=8, wanted_g_per_l=5)

    assert thin == thick == (0, 9000)


def test_sheets_take_size_away_with_them():
    """9 L to spare over 0.35 m2 x 0.35 L/m2 is 73; over 0.35 m2 x 0.8 L/m2 it is 32."""
    found = size.sheets_hint(volume_ml=17_000, laying_ml=8000, sheet_area_m2=0.35)

    assert found == (73, 32)


@given(volumes, volumes, volumes, st.floats(0.01, 1))
def test_the_hint_never_rises_where_less_size_stands(one, other, laying_ml, area_m2):
    """Nor does the low figure ever pass the middle one."""
    less, more = sorted((one, other))

    low = size.sheets_hint(volume_ml=less, laying_ml=laying_ml, sheet_area_m2=area_m2)
    high = size.sheets_hint(volume_ml=more, laying_ml=laying_ml, sheet_area_m2=area_m2)

    assert 0 <= low.low <= low.middle <= high.middle
    assert low.low <= high.low
    assert (less > laying_ml) or low == (0, 0)


def test_a_hint_has_an_end():
    """A drop on each stamp is no promise of a million stamps."""
    found = size.sheets_hint(volume_ml=1_000_000, laying_ml=0, sheet_area_m2=1e-6)

    assert found == (size.SHEETS_MAX, size.SHEETS_MAX)


@pytest.mark.parametrize(
    ("at_c", "ratio"), [(10, "1.336"), (15, "1.153"), (25, "0.871"), (30, "0.763")]
)
def test_a_warmer_size_is_thinner(at_c, ratio):
    """exp(Ea/R (1/T - 1/293.15 K)) at 20 kJ/mol, computed apart from this code."""
    assert as_printed(size.flow_ratio(at_c=at_c, from_c=20), ratio)


def test_the_law_of_warmth_gives_water_its_own_viscosity():
    """16.9 kJ/mol over 20 to 30 C, against IAPWS (CRC Handbook: 1.002 and 0.797 mPa s)."""
    of_water = water.viscosity_mpa_s(water_c=30) / water.viscosity_mpa_s(water_c=20)

    found = size.flow_ratio(at_c=30, from_c=20, activation_kj_per_mol=16.9)

    assert found == pytest.approx(of_water, rel=0.002)
    assert found == pytest.approx(0.797 / 1.002, rel=0.003)


@given(st.floats(5, 40), st.floats(5, 40))
def test_there_and_back_is_the_same_thickness(one, other):
    there = size.flow_ratio(at_c=one, from_c=other)

    assert there * size.flow_ratio(at_c=other, from_c=one) == pytest.approx(1)
    assert (there >= 1) == (one <= other) or there == pytest.approx(1)


def test_the_energy_of_flow_lies_over_water_and_seed_gums():
    """Water 16.9 (computed), the highest of six seed gums 4.3 kcal/mol = 18 kJ/mol (AJAC)."""
    row = defaults.default("size_flow_kj_per_mol")

    assert row.low < 16.9 < as_kj(4.3) < row.value < row.high


def as_kj(kcal):
    return 4.184 * kcal


def test_good_days_are_the_middle_half_of_their_readings():
    """Tukey's hinges of the eleven figures in statistics primers (from memory): 25.5, 42.5."""
    readings = [6, 7, 15, 36, 39, 40, 41, 42, 43, 47, 49]

    assert size.like_good_days(run_outs_s=readings) == (25.5, 42.5)


def test_under_five_readings_there_is_no_line_yet():
    """Four good days may all have been the same warm week."""
    least = int(defaults.value("run_out_readings_min"))

    assert size.like_good_days(run_outs_s=[20] * (least - 1)) is None
    assert size.like_good_days(run_outs_s=[20] * least) == (20, 20)


@given(st.lists(st.floats(1, 900), min_size=5, max_size=60), st.randoms())
def test_in_whatever_order_a_quarter_lies_at_each_end(run_outs_s, chance):
    """The line is of what was read, not of when."""
    shuffled = list(run_outs_s)
    chance.shuffle(shuffled)

    found = size.like_good_days(run_outs_s=shuffled)

    assert found is not None
    assert found == size.like_good_days(run_outs_s=run_outs_s)
    low, high = found
    assert low <= high
    assert 4 * sum(one <= low for one in run_outs_s) >= len(run_outs_s)
    assert 4 * sum(one >= high for one in run_outs_s) >= len(run_outs_s)


THICK = {"volume_ml": 9000, "dose_g_per_l": 4, "thicker_g_per_l": 8, "wanted_g_per_l": 5}
THIN = {"volume_ml": 9000, "dose_g_per_l": 6, "wanted_g_per_l": 5}
SHEETS = {"volume_ml": 17_000, "laying_ml": 8000, "sheet_area_m2": 0.35}
FLOW = {"at_c": 25, "from_c": 20}


@pytest.mark.parametrize(
    ("function", "good", "wrong", "told"),
    [
        (size.powder_g, {"volume_ml": 1000, "dose_g_per_l": 5}, {"volume_ml": 0}, "over 0"),
        (
            size.powder_g,
            {"volume_ml": 1000, "dose_g_per_l": 5},
            {"dose_g_per_l": 61},
            "most 60",
        ),
        (size.thinned, THIN, {"volume_ml": 2_000_000}, "volume_ml: must be over 0"),
        (size.thinned, THIN, {"dose_g_per_l": 0}, "dose_g_per_l: must be over 0"),
        (size.thinned, THIN, {"wanted_g_per_l": 0}, "wanted_g_per_l: must be over 0"),
        (
            size.thinned,
            THIN,
            {"wanted_g_per_l": 7},
            "water only thins; must be at most 6, is 7",
        ),
        (size.thinned, THIN, {"wanted_g_per_l": 0.01}, "the volume after must be at most"),
        (size.thickened, THICK, {"volume_ml": float("nan")}, "volume_ml: must be over 0"),
        (size.thickened, THICK, {"dose_g_per_l": 61}, "dose_g_per_l: must be over 0"),
        (size.thickened, THICK, {"thicker_g_per_l": 61}, "thicker_g_per_l: must be over 0"),
        (size.thickened, THICK, {"wanted_g_per_l": 3}, "from the dose, 4, to under .* 8, is 3"),
        (size.thickened, THICK, {"wanted_g_per_l": 8}, "from the dose, 4, to under .* 8, is 8"),
        (size.thickened, THICK, {"wanted_g_per_l": 7.99}, "the volume after must be at most"),
        (size.sheets_hint, SHEETS, {"volume_ml": -1}, "volume_ml: must be from 0"),
        (size.sheets_hint, SHEETS, {"laying_ml": -1}, "laying_ml: must be from 0"),
        (size.sheets_hint, SHEETS, {"sheet_area_m2": 0}, "sheet_area_m2: must be over 0"),
        (size.flow_ratio, FLOW, {"at_c": 41}, "at_c: must be from 5 to 40"),
        (size.flow_ratio, FLOW, {"from_c": 4}, "from_c: must be from 5 to 40"),
        (size.flow_ratio, FLOW, {"activation_kj_per_mol": 5}, "must be from 10 to 60, is 5"),
        (size.like_good_days, {}, {"run_outs_s": [20, 0]}, "run_outs_s: must be over 0"),
        (size.like_good_days, {}, {"run_outs_s": [20] * 10_001}, "at most 10000 readings"),
    ],
)
def test_what_cannot_be_is_refused_with_what_could(function, good, wrong, told):
    with pytest.raises(ValueError, match=told):
        function(**(good | wrong))
