"""What chalk takes: against atomic weights by hand, and never more than there is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science.bath import Paper, SaltPart, mixed
from coop.science.chalk import chalk_limits, chalk_takes_g

# Molar masses by IUPAC atomic weights, from memory: CaCO3 100.09; Al2(SO4)3.14H2O 594.4 with
# two aluminium; KAl(SO4)2.12H2O 474.4 with one.
BY_HAND = [
    ("aluminium_sulfate_14", 594.4 / (3 * 100.09)),
    ("potash_alum", 474.4 / (1.5 * 100.09)),
]


@pytest.mark.parametrize(("salt", "g_per_g"), BY_HAND)
def test_a_gram_of_chalk_takes_its_equivalent(salt: str, g_per_g: float) -> None:
    """3 CaCO3 for each Al2(SO4)3: half its weight in chalk destroys a sulfate."""
    assert chalk_takes_g(area_m2=1, chalk_g_per_m2=1, salt=salt) == pytest.approx(
        g_per_g, rel=1e-3
    )


def bath(grams: float = 480, salt: str = "aluminium_sulfate_14"):
    return mixed(water_ml=12_000, salt_parts=[SaltPart(grams, 0.02)], salt=salt, at_h=0)


def limits(grams: float = 480, chalk: float = 2.0, count: int = 60, **more):
    paper = Paper(chalk_g_per_m2=chalk, **more)
    return chalk_limits(
        estimate=bath(grams), sheet_area_m2=0.175, sheet_count=count, paper=paper
    )


def test_sixty_half_sheets_of_a_lasting_paper_take_nothing_to_42_grams() -> None:
    """ISO 9706 wants 0.4 mol/kg of reserve: 2 g/m2 of chalk in 100 g/m2, 21 g in 10.5 m2."""
    found = limits()

    assert found.least_g == 0
    assert found.most_g == pytest.approx(21 * 594.4 / 300.27, rel=1e-3)
    assert found.now_g_per_l == pytest.approx(40)
    assert found.low_g_per_l < found.high_g_per_l <= found.now_g_per_l


def test_with_nothing_but_chalk_the_strong_end_is_the_strength_of_now() -> None:
    """Sheets carry liquid away as it is; only what is bound makes it weaker."""
    found = limits(fibre_al_mg_per_g=0.0)

    assert found.high_g_per_l == pytest.approx(found.now_g_per_l)


@given(st.floats(0.1, 400), st.floats(0.1, 50), st.integers(1, 300))
def test_no_bath_gives_more_than_it_has(grams: float, chalk: float, count: int) -> None:
    found = limits(grams, chalk, count)

    assert 0 <= found.most_g <= grams
    assert 0 < found.low_g_per_l <= found.high_g_per_l * (1 + 1e-9)


@given(st.floats(0.1, 20), st.floats(0.1, 20))
def test_more_chalk_never_takes_less(one: float, other: float) -> None:
    low, high = sorted((one, other))

    assert limits(chalk=low).most_g <= limits(chalk=high).most_g + 1e-9


def test_what_is_out_of_range_is_refused() -> None:
    for area, chalk in ((-1.0, 1.0), (10_001.0, 1.0), (1.0, -1.0), (1.0, float("inf"))):
        with pytest.raises(ValueError, match="must"):
            chalk_takes_g(area_m2=area, chalk_g_per_m2=chalk, salt="potash_alum")
