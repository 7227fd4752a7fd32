"""Doses by the weight of the cloth, and not by litres."""

from fractions import Fraction

import pytest

from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.goods import read_goods_dose
from coop.units.quantity import Quantity
from tests.units.house import ALUM, US

COTTON = Quantity("500 g", Fraction(500), "g")


@pytest.mark.parametrize(
    ("typed", "powder_g"),
    [
        ("15 % of the dry weight", 75),
        ("15 % of dry weight", 75),
        ("15% of weight of fabric", 75),
        ("alum: 15 % on the weight of the goods", 75),
        ("15 % alum of the dry weight of the cloth", 75),
        ("8 % owg", 40),
        ("8 % OWF", 40),
        ("8 percent of the silk", 40),
        ("8-15 % owg", Fraction(115, 2)),
        ("7,5 % wof", Fraction(75, 2)),
    ],
)
def test_cloth_says_how_much_powder_whatever_the_litres(typed, powder_g):
    """Common practice, no source: 15 % of 500 g of cotton is 75 g of alum, of silk 8 %."""
    assert read_goods_dose(typed).powder_g(COTTON) == powder_g


@pytest.mark.parametrize("typed", ["15 % of dry weight", "8 % owg", "15% of weight of fabric"])
def test_it_is_never_taken_for_a_dose_in_water(typed):
    """150 g/L for what is 15 g to 100 g of cloth would be a bath that crystallises."""
    with pytest.raises(NotUnderstood) as caught:
        read_dose(typed, US, ALUM)

    assert caught.value.code == "by-weight-of-goods"


@pytest.mark.parametrize(
    ("typed", "code", "part"),
    [
        ("3 %", "percent-of-what", "3 %"),
        ("3 % w/w", "percent-of-what", "3 % w/w"),
        ("15 % of weight", "percent-of-what", "15 % of weight"),
        ("15 g owg", "wrong-dimension", "15 g"),
        ("150 % owg", "out-of-range", "150 %"),
        ("0 % owg", "out-of-range", "0 %"),
        ("15 % owg per litre", "does-not-fit", "per"),
        ("15 % of dry weight daily", "unknown-word", "daily"),
        ("owg", "number-missing", ""),
    ],
)
def test_what_is_no_part_of_the_cloth_is_refused(typed, code, part):
    with pytest.raises(NotUnderstood) as caught:
        read_goods_dose(typed)

    assert (caught.value.code, caught.value.part) == (code, part)
