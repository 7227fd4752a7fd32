"""What hard water takes from a bath, and what a softener gives in its place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, hard_water
from tests.science.handbook import as_printed


@pytest.mark.parametrize(("strength", "percent"), [(30, "1.6"), (5, "9.5")])
def test_water_of_150_milligrams_spends_half_a_gram(strength, percent):
    """0.474 g/L of potash alum: 1.6 % of 30 g/L, 9.5 % of 5; computed apart from this code."""
    spent = hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=150, strength_g_per_l=strength, salt="potash_alum"
    )

    assert as_printed(spent.al_mmol_per_l, "1.0")
    assert as_printed(spent.salt_g_per_l, "0.474")
    assert as_printed(100 * spent.fraction, percent)


def test_two_milliequivalents_spend_a_fifth_of_a_gram_of_sulfate():
    """Working figure of the trade: 0.2 g/L, half a per cent of the usual 40."""
    spent = hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=100, strength_g_per_l=40, salt="aluminium_sulfate_14"
    )

    assert as_printed(spent.salt_g_per_l, "0.2")
    assert as_printed(100 * spent.fraction, "0.5")


@given(
    alkalinity=st.floats(0, 1000),
    strength=st.floats(0.1, 500),
    salt=st.sampled_from(sorted(alum.SALTS)),
)
def test_water_spends_no_more_alum_than_there_is(alkalinity, strength, salt):
    spent = hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=alkalinity, strength_g_per_l=strength, salt=salt
    )

    full = alum.al_spent_mmol_per_l(alkalinity_mg_per_l=alkalinity)
    there = alum.mmol_al_per_l(strength_g_per_l=strength, salt=salt)
    assert spent.al_mmol_per_l == pytest.approx(min(full, there))
    assert spent.salt_g_per_l == pytest.approx(spent.fraction * strength)
    assert spent.fraction <= 1


def test_a_softener_of_very_hard_water_leaves_under_half_the_sodium_that_was_tried():
    """1 mmol/L of calcium is 100.09 mg/L of chalk and becomes 2 mmol/L of sodium, by hand."""
    assert hard_water.softener_sodium_mmol_per_l(hardness_mg_per_l=100.09) == pytest.approx(
        2, abs=0.0001
    )
    assert hard_water.softener_sodium_mmol_per_l(hardness_mg_per_l=350) < 20 / 2


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (
            lambda: hard_water.spent_on_alkalinity(
                alkalinity_mg_per_l=1500, strength_g_per_l=30, salt="potash_alum"
            ),
            "alkalinity_mg_per_l: must be from 0 to 1000, is 1500",
        ),
        (
            lambda: hard_water.spent_on_alkalinity(
                alkalinity_mg_per_l=150, strength_g_per_l=0, salt="potash_alum"
            ),
            "strength_g_per_l: must be over 0, is 0",
        ),
        (
            lambda: hard_water.softener_sodium_mmol_per_l(hardness_mg_per_l=-1),
            "hardness_mg_per_l: must be from 0 to 2000, is -1",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
