"""Sodas against the trade's factors, a handbook's solubilities and the sums of the walk."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, defaults, neutralising, soda
from tests.science.handbook import as_printed, rows

bases = st.sampled_from(sorted(neutralising.BASES))
salts = st.sampled_from(sorted(alum.SALTS))


@pytest.mark.parametrize(
    ("base", "other", "times"),
    [
        ("anhydrous", "crystals", "2.70"),  # trap of the trade: the form on the jar
        ("anhydrous", "bicarbonate", "1.59"),  # washing soda against baking soda
        ("anhydrous", "monohydrate", "1.17"),  # 124.00 / 105.99
        ("bicarbonate", "lime", "0.441"),  # 0.2343 / 0.5313 for a gram of potash alum
    ],
)
def test_one_form_is_so_many_times_another(base, other, times):
    """Working figures of the trade, computed apart from this code."""
    found = soda.same_alkalinity_g(weight_g=1, base=base, other_base=other)

    assert as_printed(found, times)


@given(grams=st.floats(0.1, 1e5), base=bases, other=bases, salt=salts)
def test_equal_alkalinity_takes_the_same_alum(grams, base, other, salt):
    """The table of doses for a gram of salt leads from one soda to the other as well."""
    there = soda.same_alkalinity_g(weight_g=grams, base=base, other_base=other)

    per_g, other_per_g = (
        alum.substance_g_per_g(salt=salt, substance=neutralising.BASES[one].substance)
        for one in (base, other)
    )
    assert there / other_per_g == pytest.approx(grams / per_g)


@pytest.mark.parametrize("row", rows("soda_solubility"), ids=lambda r: f"{r['base']}-{r['c']}")
def test_a_soda_dissolves_as_the_handbook_says(row):
    """CRC Handbook, 98th edition, to its last digit."""
    found = soda.soda_solubility_g_per_kg_water(base=row["base"], liquid_c=float(row["c"]))

    assert as_printed(100 * found / (1000 + found), row["mass_percent"])


def test_baking_soda_dissolves_to_95_7_grams_in_a_kilogram():
    """8.73 % by mass."""
    found = soda.soda_solubility_g_per_kg_water(base="bicarbonate", liquid_c=20)

    assert as_printed(found, "95.7")


@given(base=st.sampled_from(sorted(soda.SODIUM_PER_MOL)), c=st.floats(0, 30))
def test_forms_of_washing_soda_make_one_solution(base, c):
    """A kilogram of water with its fill of crystals holds carbonate and water as the table."""
    plain = "bicarbonate" if base == "bicarbonate" else "anhydrous"
    grams = soda.soda_solubility_g_per_kg_water(base=base, liquid_c=c)
    share = soda.same_alkalinity_g(weight_g=1, base=base, other_base=plain)

    dry = grams * share
    water_g = 1000 + grams - dry
    of_the_dry = soda.soda_solubility_g_per_kg_water(base=plain, liquid_c=c)
    assert dry / water_g == pytest.approx(of_the_dry / 1000)


def test_washing_soda_in_the_water_eats_a_fifth_of_a_bath():
    """2 g/L of anhydrous soda over 0.3351 g for a gram of potash alum is 5.97 of 30 g/L."""
    gone = soda.destroyed_by_soda(
        soda_g_per_l=2, base="anhydrous", strength_g_per_l=30, salt="potash_alum"
    )

    assert as_printed(gone.salt_g_per_l, "5.97")
    assert as_printed(gone.al_mmol_per_l, "12.6")
    assert as_printed(100 * gone.fraction, "20")


@given(grams=st.floats(0, 1000), base=bases, strength=st.floats(0.1, 1000), salt=salts)
def test_no_soda_destroys_more_alum_than_there_is(grams, base, strength, salt):
    gone = soda.destroyed_by_soda(
        soda_g_per_l=grams, base=base, strength_g_per_l=strength, salt=salt
    )

    there = alum.mmol_al_per_l(strength_g_per_l=strength, salt=salt)
    assert 0 <= gone.fraction <= 1
    assert gone.salt_g_per_l == pytest.approx(gone.fraction * strength)
    assert gone.al_mmol_per_l == pytest.approx(gone.fraction * there)


@pytest.mark.parametrize(
    ("base", "g_per_l", "mmol"),
    [("anhydrous", 1.06, "20.0"), ("crystals", 2.86, "20.0"), ("bicarbonate", 1.68, "20.0")],
)
def test_so_much_soda_is_the_sodium_that_thinned_carrageenan(base, g_per_l, mmol):
    """20 mmol/L in Rivera del Rio et al. 2017; by hand 10 x 105.99, 10 x 286.14, 20 x 84.01."""
    assert as_printed(soda.sodium_mmol_per_l(soda_g_per_l=g_per_l, base=base), mmol)


def test_carrageenan_needs_nearly_twice_as_much_in_salty_water():
    """0.21 and 0.38 %: Rivera del Rio et al. 2017, doi 10.5772/65785."""
    pure = defaults.value("carrageenan_overlap_g_per_l")
    salty = defaults.value("carrageenan_overlap_salty_g_per_l")

    assert (pure, salty) == (2.1, 3.8)
    assert defaults.default("size_carrageenan_g_per_l").value > salty


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (
            lambda: soda.same_alkalinity_g(weight_g=-1, base="lime", other_base="crystals"),
            "weight_g: must be from 0 to 1000000, is -1",
        ),
        (
            lambda: soda.same_alkalinity_g(weight_g=1, base="lye", other_base="crystals"),
            "^base: must be one of bicarbonate, .*, is lye",
        ),
        (
            lambda: soda.same_alkalinity_g(weight_g=1, base="lime", other_base="lye"),
            "^other_base: must be one of bicarbonate, .*, is lye",
        ),
        (
            lambda: soda.sodium_mmol_per_l(soda_g_per_l=1, base="lime"),
            "base: must be one of bicarbonate, anhydrous, monohydrate, crystals, is lime",
        ),
        (
            lambda: soda.sodium_mmol_per_l(soda_g_per_l=2000, base="crystals"),
            "soda_g_per_l: must be from 0 to 1000, is 2000",
        ),
        (
            lambda: soda.soda_solubility_g_per_kg_water(base="crystals", liquid_c=31),
            "liquid_c: must be from 0 to 30, is 31",
        ),
        (
            lambda: soda.soda_solubility_g_per_kg_water(base="lime", liquid_c=20),
            "base: must be one of",
        ),
        (
            lambda: soda.destroyed_by_soda(
                soda_g_per_l=1, base="lime", strength_g_per_l=0, salt="potash_alum"
            ),
            "strength_g_per_l: must be over 0, is 0",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
