"""
Our sums beside reference libraries: water by CoolProp, doubt by uncertainties, doses by
PHREEQC. The figures in fixtures and in brackets were computed with them apart from this code.
"""

from math import cos, sin

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import correlated_values_norm, correlation_matrix, umath

from coop.science import alum, estimate, water
from tests.science.handbook import as_printed, rows
from tests.science.phreeqc import FIZZING, FLOC, GYPSUM, OPEN_AIR, bath_of, dose_mmol, engine

KELVIN_AT_0_C = 273.15
TRIPLE_POINT_C = 0.01
SEA_LEVEL_PA = 101_325

# Water: CoolProp runs IAPWS-95, and IAPWS 2008 for viscosity.


def at_sea_level(name: str, c: float) -> float:
    return PropsSI(name, "T", c + KELVIN_AT_0_C, "P", SEA_LEVEL_PA, "Water")


def saturated_pa(c: float) -> float:
    return PropsSI("P", "T", c + KELVIN_AT_0_C, "Q", 0, "Water")


@pytest.mark.parametrize(
    "row", [row for row in rows("water") if row["saturation_pa"]], ids=lambda row: row["c"]
)
def test_the_table_of_water_is_what_the_library_says(row):
    """To its last digit: the table that our closed forms are held to was copied rightly."""
    c = float(row["c"])
    density, viscosity = at_sea_level("D", c), 1000 * at_sea_level("V", c)

    assert as_printed(density, row["density_kg_per_m3"])
    assert as_printed(viscosity, row["viscosity_mpa_s"])
    assert as_printed(1000 * viscosity / density, row["kinematic_mm2_per_s"])
    assert as_printed(saturated_pa(c), row["saturation_pa"])


def test_the_library_has_no_water_at_nought_degrees():
    """0 C lies just under the melting line: so that row is held to the printed table only."""
    with pytest.raises(ValueError, match=r"273\.15"):
        at_sea_level("D", 0)


@given(c=st.floats(TRIPLE_POINT_C + 0.01, 99.9))
def test_hot_water_is_as_heavy_as_the_library_says(c):
    """Kell 1975, on an older scale of temperature, against IAPWS-95 at sea level."""
    density = water.hot_density_kg_per_m3(water_c=c)

    assert density == pytest.approx(at_sea_level("D", c), abs=0.02)


@given(c=st.floats(TRIPLE_POINT_C, 40))
def test_between_the_points_of_the_table_the_closed_forms_keep_their_promise(c):
    """A form that is right at every fifth degree only would be found here."""
    assert water.density_kg_per_m3(water_c=c) == pytest.approx(at_sea_level("D", c), abs=0.0013)
    assert water.viscosity_mpa_s(water_c=c) == pytest.approx(
        1000 * at_sea_level("V", c), rel=0.0001
    )
    assert water.saturation_pressure_pa(air_c=c) == pytest.approx(saturated_pa(c), rel=0.0005)


@given(room_c=st.floats(5, 35), rh=st.floats(0.05, 1))
def test_the_water_in_a_room_s_air_is_that_of_the_air_library(room_c, rh):
    """psychrolib, which follows the ASHRAE Handbook: humidity ratio from 5 to 35 C."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    vapour_pa = rh * water.saturation_pressure_pa(air_c=room_c)

    theirs = psychrolib.GetHumRatioFromRelHum(room_c, rh, SEA_LEVEL_PA)
    assert water.humidity_ratio_kg_per_kg(vapour_pa=vapour_pa) == pytest.approx(
        theirs, rel=0.0005
    )


# Doubt: JCGM 100:2008 (GUM) example H.2 with the rounded inputs of the GTC documentation.

READ = {"v": (4.999, 0.0032), "i": (19.661, 0.0095), "phi": (1.04446, 0.00075)}
TOGETHER = {("v", "i"): -0.36, ("v", "phi"): 0.86, ("i", "phi"): -0.65}
MATRIX = [[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]]


def impedance(of, sine, cosine):
    """Return resistance, reactance and impedance [ohm] from volts, milliamps, radians."""
    whole = 1000 * of["v"] / of["i"]
    return whole * cosine(of["phi"]), whole * sine(of["phi"]), whole


def by_the_library():
    readings = correlated_values_norm(list(READ.values()), MATRIX)
    return impedance(dict(zip(READ, readings, strict=True)), umath.sin, umath.cos)


@pytest.mark.parametrize(
    ("part", "value", "sd"),
    [(0, "127.732", "0.06998"), (1, "219.847", "0.29572"), (2, "254.260", "0.23660")],
    ids=["resistance", "reactance", "impedance"],
)
def test_readings_that_err_together_agree_with_an_independent_library(part, value, sd):
    """The uncertainties package has exact slopes and the whole matrix, ours pairs of names."""
    theirs = by_the_library()[part]
    ours = estimate.uncertainty_budget(
        function=lambda of: impedance(of, sin, cos)[part], inputs=READ, correlations=TOGETHER
    )

    assert as_printed(theirs.nominal_value, value)
    assert as_printed(theirs.std_dev, sd)
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.sd == pytest.approx(theirs.std_dev, rel=1e-6)


def test_the_library_s_results_err_together_as_the_guide_says():
    """-0.5915, -0.4906 and 0.9928: so the matrix went in as it stands in the example."""
    matrix = correlation_matrix(by_the_library())

    assert as_printed(matrix[0][1], "-0.5915")
    assert as_printed(matrix[0][2], "-0.4906")
    assert as_printed(matrix[1][2], "0.9928")


# Doses: PHREEQC.

CODES = {
    "NaHCO3": "sodium_bicarbonate",
    "Na2CO3": "sodium_carbonate",
    "NaOH": "sodium_hydroxide",
    "Ca(OH)2": "calcium_hydroxide",
    "CaCO3": "calcium_carbonate",
}


@pytest.fixture(scope="module")
def phreeqc():
    return engine()


def full_dose_mmol(g_per_kg, base):
    """Return our own sum: grams of the base for the alum, in mmol."""
    code = CODES[base]
    grams = g_per_kg * alum.substance_g_per_g(salt="potash_alum", substance=code)
    return 1000 * grams / alum.SUBSTANCES[code].molar_mass_g_per_mol


@pytest.mark.parametrize(
    ("g_per_kg", "density"),
    [
        (1, "0.99872"),
        (5, "1.00072"),
        (10, "1.00322"),
        (20, "1.00818"),
        (30, "1.01310"),
        (50, "1.02278"),
        (100, "1.04620"),
    ],
)
def test_the_density_of_alum_is_near_the_model_s(phreeqc, g_per_kg, density):
    """Two models of density: within the +-3 % of strength that our curve promises."""
    theirs = bath_of(phreeqc, g_per_kg).density
    strength_g_per_l = alum.g_per_l_of_solution(
        dose_g_per_kg_water=g_per_kg, solution_kg_per_m3=1000 * theirs
    )
    ours = alum.density_kg_per_m3(
        strength_g_per_l=strength_g_per_l, salt="potash_alum", liquid_c=20
    )
    of_the_salt = ours - water.density_kg_per_m3(water_c=20)

    assert as_printed(theirs, density)
    assert ours == pytest.approx(1000 * theirs, abs=0.01 + 0.03 * of_the_salt)


@pytest.mark.parametrize(
    ("g_per_kg", "base", "printed"),
    [
        (1, "NaHCO3", "6.35"),
        (5, "NaHCO3", "31.64"),
        (20, "NaHCO3", "126.51"),
        (30, "NaHCO3", "189.75"),
        (5, "Na2CO3", "15.82"),
        (30, "Na2CO3", "94.87"),
        (50, "Na2CO3", "158.11"),
    ],
)
def test_a_full_dose_of_soda_takes_the_acid_once_the_gas_is_out(
    phreeqc, g_per_kg, base, printed
):
    """Our sum is three hydroxides an aluminium; in open air the model wants that, to 0.4 %."""
    theirs = dose_mmol(phreeqc, g_per_kg, base, (FLOC, OPEN_AIR))

    assert as_printed(theirs, printed)
    assert full_dose_mmol(g_per_kg, base) == pytest.approx(theirs, rel=0.004)


@pytest.mark.parametrize(
    ("base", "phases", "printed"),
    [("NaOH", (FLOC,), "189.72"), ("Ca(OH)2", (FLOC, GYPSUM), "94.86")],
)
def test_a_full_dose_of_lye_or_lime_is_the_model_s(phreeqc, base, phases, printed):
    """No gas in it: 30 g/kg to pH 6.5."""
    theirs = dose_mmol(phreeqc, 30, base, phases)

    assert as_printed(theirs, printed)
    assert full_dose_mmol(30, base) == pytest.approx(theirs, rel=0.001)


def test_a_full_dose_of_soda_looks_too_small_until_the_gas_is_stirred_out(phreeqc):
    """5.21 in a closed jar, 5.38 while it fizzes: whoever trims by that pH adds too much."""
    dose = full_dose_mmol(30, "NaHCO3")

    closed = bath_of(phreeqc, 30, "NaHCO3", dose, (FLOC,))
    fizzing = bath_of(phreeqc, 30, "NaHCO3", dose, (FLOC, FIZZING))
    stirred = bath_of(phreeqc, 30, "NaHCO3", dose, (FLOC, OPEN_AIR))

    assert closed.pH == pytest.approx(5.207, abs=0.01)
    assert fizzing.pH == pytest.approx(5.380, abs=0.01)
    assert stirred.pH > 6
    assert dose_mmol(phreeqc, 30, "NaHCO3", (FLOC, FIZZING)) > 1.4 * dose


@pytest.mark.parametrize(
    ("part", "ph", "settled_fraction"), [(1, 6.19, 0.9998), (0.5, 4.86, 0.50)]
)
def test_chalk_destroys_the_aluminium_that_our_sum_says(phreeqc, part, ph, settled_fraction):
    """
    30 g/kg with all the chalk of the sum, and with half of it; gypsum may form. At all of it
    the pH climbs so steeply that a hair of chalk is a tenth.
    """
    chalk = part * full_dose_mmol(30, "CaCO3")
    al_mmol = 30 * alum.SALTS["potash_alum"].mmol_al_per_g

    left = bath_of(phreeqc, 30, "CaCO3", chalk, (FLOC, OPEN_AIR, GYPSUM))

    settled = 1 - left.total_element("Al") / al_mmol
    assert left.pH == pytest.approx(ph, abs=0.1)
    assert settled == pytest.approx(settled_fraction, abs=0.005)


@pytest.mark.parametrize(("g_per_kg", "printed"), [(5, 0.83), (30, 0.65)])
def test_hard_water_spends_less_alum_than_the_full_sum(phreeqc, g_per_kg, printed):
    """150 mg/L as chalk: so our sum is the most that such water can spend, not the least."""
    full_mmol = alum.al_spent_mmol_per_l(alkalinity_mg_per_l=150)
    al_mmol = g_per_kg * alum.SALTS["potash_alum"].mmol_al_per_g

    left = bath_of(phreeqc, g_per_kg, "NaHCO3", 3 * full_mmol, (FLOC, OPEN_AIR))

    spent_mmol = al_mmol - left.total_element("Al")
    assert spent_mmol / full_mmol == pytest.approx(printed, abs=0.01)


def test_the_model_s_acidity_is_its_own_and_not_that_of_a_real_bath(phreeqc):
    """4.123 at 30 g/kg, where pharmacopoeias measure 3.0 to 3.5: doses only, never a pH."""
    bath = bath_of(phreeqc, 30)

    assert bath.pH == pytest.approx(4.123, abs=0.005)
    assert bath.pH > 3.5
