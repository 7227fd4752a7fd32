"""Hot and cold water poured together, and what dissolving alum takes back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import defaults, hot_start
from tests.science.handbook import as_printed, rows

BY_LITRES_OFF_C = 0.95  # litres alone say up to 0.9 more


@pytest.mark.parametrize("row", rows("hot_cold"), ids=lambda r: f"{r['hot_l']}x{r['hot_c']}")
def test_hot_into_cold_is_the_table_s_warmth(row):
    """By mass, to the tenth of a degree; a planner who counts litres is a degree too warm."""
    hot_l, cold_l, hot_c, cold_c = (
        float(row[name]) for name in ("hot_l", "cold_l", "hot_c", "cold_c")
    )
    found = hot_start.mixed_c(hot_l=hot_l, hot_c=hot_c, cold_l=cold_l, cold_c=cold_c)
    by_litres = (hot_l * hot_c + cold_l * cold_c) / (hot_l + cold_l)

    assert as_printed(found, row["mixed_c"])
    assert as_printed(by_litres, row["by_litres_c"])
    assert 0 < by_litres - found < BY_LITRES_OFF_C


@pytest.mark.parametrize("row", rows("hot_cold"), ids=lambda r: f"{r['hot_l']}x{r['hot_c']}")
def test_the_part_of_hot_water_comes_back_from_the_warmth(row):
    """The same rows read the other way, for a metal pan that stands boiling water."""
    hot_l, cold_l, hot_c, cold_c = (
        float(row[name]) for name in ("hot_l", "cold_l", "hot_c", "cold_c")
    )
    mixed_c = hot_start.mixed_c(hot_l=hot_l, hot_c=hot_c, cold_l=cold_l, cold_c=cold_c)

    found = hot_start.hot_start(
        total_l=hot_l + cold_l, cold_c=cold_c, hot_c=hot_c, target_c=mixed_c, jug_max_c=100
    )

    assert found.hot_l == pytest.approx(hot_l)
    assert found.cold_l == pytest.approx(cold_l)
    assert found.mixed_c == pytest.approx(mixed_c)


@given(
    total_l=st.floats(0.5, 100),
    cold_c=st.floats(0, 25),
    warmer_c=st.floats(5, 35),
    part=st.floats(0.05, 0.95),
)
def test_a_target_and_a_part_are_two_ways_of_asking(total_l, cold_c, warmer_c, part):
    hot_c = cold_c + warmer_c
    by_part = hot_start.hot_start(
        total_l=total_l, cold_c=cold_c, hot_c=hot_c, hot_fraction=part
    )

    by_target = hot_start.hot_start(
        total_l=total_l, cold_c=cold_c, hot_c=hot_c, target_c=by_part.mixed_c
    )
    assert by_target.hot_fraction == pytest.approx(part)
    assert by_part.hot_l + by_part.cold_l == pytest.approx(total_l)
    assert cold_c < by_part.mixed_c < hot_c


def test_the_jugs_limit_is_that_of_hdpe():
    """Guides for filling bottles hot print 145 F = 62.8 C; the rule keeps to 60."""
    assert hot_start.HDPE_HOT_C == 60 < (145 - 32) * 5 / 9
    assert defaults.value("hdpe_hot_c") == hot_start.HDPE_HOT_C


@pytest.mark.parametrize(
    ("grams", "least", "most"), [(30, "0.5", "0.6"), (0, "0.0", "0.0"), (60, "0.9", "1.3")]
)
def test_dissolving_potash_alum_cools_its_water(grams, least, most):
    """30.2 kJ/mol (minteq.v4) to 42 (from memory): 30 g/L cool by 0.5 to 0.6 C."""
    cools = hot_start.potash_alum_cools(dose_g_per_l_water=grams)

    assert as_printed(cools.least_k, least)
    assert as_printed(cools.most_k, most)


START = {"total_l": 10, "cold_c": 12, "hot_c": 58, "target_c": 40}


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (
            {"hot_c": 95},
            "hot_c: must be at most 60, the jug's limit, is 95; let it cool, or take a vessel",
        ),
        (
            {"hot_c": 38},
            "target_c: must be over 12, the cold water, and under 38, the hot, is 40",
        ),
        ({"target_c": 12}, "target_c: must be over 12, the cold water"),
        ({"target_c": float("nan")}, "target_c: must be over 12, the cold water"),
        ({"cold_c": 60}, "cold_c: must be from 0 to under 58, the hot water, is 60"),
        ({"cold_c": -5}, "cold_c: must be from 0 to under 58, the hot water, is -5"),
        ({"total_l": 0}, "total_l: must be over 0 and at most 1000, is 0"),
        ({"jug_max_c": 120}, "jug_max_c: must be from 40 to 100, is 120"),
        ({"hot_fraction": 0.5}, "exactly one of them must be given"),
        ({"target_c": None}, "exactly one of them must be given"),
        ({"target_c": None, "hot_fraction": 1}, "hot_fraction: must be over 0 and under 1"),
    ],
)
def test_what_cannot_be_poured_is_refused_with_what_would_be_right(more, told):
    with pytest.raises(ValueError, match=told):
        hot_start.hot_start(**(START | more))


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (
            lambda: hot_start.mixed_c(hot_l=0, hot_c=50, cold_l=0, cold_c=15),
            "hot_l, cold_l: must be over 0 together",
        ),
        (
            lambda: hot_start.mixed_c(hot_l=1, hot_c=120, cold_l=1, cold_c=15),
            "water_c: must be from 0 to 100, is 120",
        ),
        (
            lambda: hot_start.mixed_c(hot_l=-1, hot_c=50, cold_l=1, cold_c=15),
            "hot_l: must be from 0 to 1000, is -1",
        ),
        (
            lambda: hot_start.potash_alum_cools(dose_g_per_l_water=250),
            "dose_g_per_l_water: must be from 0 to 200, is 250",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
