"""Doses in the co-operative's tongues, and what the powder has to say to them."""

import pytest

from coop.actions.read_dose import TONGUES, understand, understand_goods
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds

US = Kinds(gallon="us", cup="us", spoon="us")


@pytest.mark.parametrize("tongue", TONGUES)
@pytest.mark.parametrize("typed", ["30 g per litre", "litreye 30 g", "%3", "3 %"])
def test_a_dose_in_either_tongue_is_read_in_the_other(typed: str, tongue: str) -> None:
    """Cards are copied from books in any tongue."""
    found = understand(typed, US, tongue=tongue).g_per_l

    assert found is not None
    assert found.middle == 30


@pytest.mark.parametrize("tongue", TONGUES)
@pytest.mark.parametrize("typed", ["15 % owg", "kumasin %15'i"])
def test_so_is_one_by_the_weight_of_the_cloth(typed: str, tongue: str) -> None:
    assert float(understand_goods(typed, tongue=tongue).middle) == 0.15


@pytest.mark.parametrize(("tongue", "part"), [("en", "litreye"), ("tr", "frob")])
def test_the_fault_is_that_of_the_first_tongue(tongue: str, part: str) -> None:
    with pytest.raises(NotUnderstood) as caught:
        understand("litreye 30 g frob", US, tongue=tongue)

    assert caught.value.part == part


@pytest.mark.parametrize(
    ("powder", "typed", "over_g_per_l"),
    [
        ("carrageenan", "12 g/L", None),
        ("carrageenan", "12.1 g/L", 12),
        ("methylcellulose", "13 g/L", None),
        ("methylcellulose", "13.1 g/L", 13),
        ("tragacanth", "14.1 g/L", 14),
        ("gall", "1:7", None),
        ("alum", "30 g/L", None),
    ],
)
def test_a_size_that_nobody_lays_is_a_concentrate(
    powder: str, typed: str, over_g_per_l: float | None
) -> None:
    """
    Common practice, no source: carrageenan is laid at 2.8 to 8.9 g/L, and 30 g/L is diluted;
    tragacanth is laid at up to 13.3 g/L.
    """
    notes = {one.code: dict(one.fields) for one in understand(typed, US, of=powder).notes}

    assert notes.get("concentrate", {}).get("over_g_per_l") == over_g_per_l
