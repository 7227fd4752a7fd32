"""What falls out of a bath in the cold, against the solubility rule of the trade."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, crystals, defaults, water

SALT = "potash_alum"
salts = st.sampled_from(sorted(alum.SALTS))
doses = st.floats(1, 600)
stores = st.floats(0, 40)


def g_per_l(g_per_kg: float, c: float) -> float:
    return g_per_kg * water.density_kg_per_m3(water_c=c) / 1000


@pytest.mark.parametrize(("g_per_kg", "c"), [(50, 0), (75, 10), (113, 20)])
def test_the_practical_rule_comes_out(g_per_kg, c):
    """50 g/kg stays dissolved down to 0 C, about 75 at 10 C, about 113 at 20 C (computed)."""
    found = crystals.crystals(dose_g_per_l_water=g_per_l(g_per_kg, c), salt=SALT, store_c=c)
    clear_c = crystals.clear_down_to_c(dose_g_per_l_water=g_per_l(g_per_kg, c), salt=SALT)

    assert found.crystals_g_per_l == 0
    assert clear_c is not None
    assert clear_c == pytest.approx(c, abs=0.5)


@pytest.mark.parametrize(
    ("c", "fraction", "dissolved", "crystals_g"),
    [(20, 1.10, 114, 11), (10, 1.65, 76, 49), (0, 2.21, 57, 68)],
)
def test_two_tablespoons_a_cup_of_potash_alum_crystallise_in_a_cold_store(
    c, fraction, dissolved, crystals_g
):
    """125 g/L of a card; 11.40, 7.58 and 5.65 g in 100 g of water, by hand from Perry."""
    found = crystals.crystals(dose_g_per_l_water=125, salt=SALT, store_c=c)

    assert found.fraction == pytest.approx(fraction, abs=0.006)
    assert found.dissolved_g_per_l == pytest.approx(dissolved, abs=0.6)
    assert found.crystals_g_per_l == pytest.approx(crystals_g, abs=0.6)


def test_sulfate_of_the_usual_dose_never_falls_out():
    """40 g/L where ice water takes 900: the risk is that of the two alums alone."""
    found = crystals.crystals(dose_g_per_l_water=40, salt="aluminium_sulfate_14", store_c=0)

    assert found.fraction < defaults.value("solubility_warn_fraction") / 10
    assert crystals.clear_down_to_c(dose_g_per_l_water=40, salt="aluminium_sulfate_14") == 0


@given(dose=doses, salt=salts, c=stores)
def test_what_stays_and_what_falls_out_are_the_dose(dose, salt, c):
    found = crystals.crystals(dose_g_per_l_water=dose, salt=salt, store_c=c)

    assert found.dissolved_g_per_l + found.crystals_g_per_l == pytest.approx(dose)
    assert found.dissolved_g_per_l <= found.dissolves_g_per_l * (1 + 1e-12)
    assert (found.crystals_g_per_l > 0) == (found.fraction > 1)


@given(dose=doses, salt=salts, c=stores)
def test_a_store_is_clear_from_that_temperature_on(dose, salt, c):
    clear_c = crystals.clear_down_to_c(dose_g_per_l_water=dose, salt=salt)
    found = crystals.crystals(dose_g_per_l_water=dose, salt=salt, store_c=c)

    if clear_c is None or c < clear_c - 1e-6:
        assert found.crystals_g_per_l > 0
    if clear_c is not None and c > clear_c:
        assert found.crystals_g_per_l == 0


@given(dose=st.floats(1, 500), more=st.floats(0.5, 100), c=stores, colder=st.floats(0.1, 40))
def test_more_salt_or_more_cold_never_means_fewer_crystals(dose, more, c, colder):
    def falls(grams: float, at_c: float) -> float:
        found = crystals.crystals(dose_g_per_l_water=grams, salt=SALT, store_c=at_c)
        return found.crystals_g_per_l

    assert falls(dose + more, c) >= falls(dose, c)
    assert falls(dose, max(0, c - colder)) >= falls(dose, c)


@pytest.mark.parametrize(
    ("dose", "salt", "c", "told"),
    [
        (0, SALT, 10, "dose_g_per_l_water: must be over 0 and at most 2000, is 0"),
        (float("nan"), SALT, 10, "dose_g_per_l_water: must be over 0"),
        (40, SALT, 46, "water_c: must be from 0 to 40, is 46"),
        (40, "alum", 10, "salt: must be one of aluminium_sulfate_14, "),
    ],
)
def test_a_figure_outside_its_range_is_named(dose, salt, c, told):
    with pytest.raises(ValueError, match=told):
        crystals.crystals(dose_g_per_l_water=dose, salt=salt, store_c=c)
