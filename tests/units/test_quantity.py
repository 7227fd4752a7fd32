"""Quantities on the wire and in words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.number import FRACTION_MAX
from coop.units.quantity import HEAPS, Quantity, text
from coop.units.table import UNITS

SPOONS = [code for code in UNITS if code.endswith(("tbsp", "tsp", "cup"))]
amounts = st.fractions(Fraction(1, 100), 999, max_denominator=FRACTION_MAX)


@st.composite
def quantities(draw) -> Quantity:
    unit = draw(st.sampled_from(sorted(UNITS)))
    heap = draw(st.sampled_from(sorted(HEAPS))) if unit in SPOONS else ""
    return Quantity(draw(st.sampled_from(["", "8 tbsp", "½"])), draw(amounts), unit, heap)


def test_a_quantity_is_stored_as_its_text_its_number_and_its_unit():
    typed = Quantity("8 tbsp", Fraction(8), "us_tbsp", "level")

    assert typed.to_wire() == {"typed": "8 tbsp", "n": "8", "unit": "us_tbsp", "heap": "level"}
    assert Quantity("", Fraction(8, 3), "g").to_wire() == {"n": "8/3", "unit": "g"}


@given(quantities())
def test_a_quantity_comes_back_from_the_wire(quantity):
    assert Quantity.from_wire(quantity.to_wire()) == quantity


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"n": "0.50"}, "0.50"),
        ({"n": 8}, "n"),
        ({"n": ""}, "n"),
        ({"unit": "tbsp"}, "unit"),
        ({"unit": "9**9**9 g"}, "unit"),
        ({"heap": "generous"}, "heap"),
        ({"heap": ""}, "heap"),
        ({"g": "118"}, "g"),
        ({"typed": "x" * 81}, "typed"),
        ({"typed": "8\ntbsp"}, "typed"),
        ({"n": "-8"}, "-8"),
    ],
)
def test_anything_but_the_written_form_is_refused(change, part):
    with pytest.raises(NotUnderstood) as caught:
        Quantity.from_wire({"typed": "8 tbsp", "n": "8", "unit": "us_tbsp"} | change)

    assert caught.value.part == part


def test_a_temperature_may_be_below_nothing():
    frost = Quantity.from_wire({"n": "-5", "unit": "celsius"})

    assert frost.base == -5


@pytest.mark.parametrize(
    ("n", "unit", "heap", "expected"),
    [
        ("8", "us_tbsp", "", "8 US tablespoons"),
        ("1", "imp_gallon", "", "1 imperial gallon"),
        ("5/2", "metric_tsp", "heaped", "2.5 heaped metric teaspoons"),
        ("1/3", "us_cup", "level", "1/3 level US cup"),
        ("8/3", "l", "", "2 2/3 L"),
        ("1.375", "kg", "", "1.3750 kg"),
        ("4", "oz", "", "4 oz (weight)"),
        ("68", "fahrenheit", "", "68 °F"),
        ("12", "sheet", "", "12 sheets"),
        ("20", "inch", "", "20 inches"),
        ("3", "percent", "", "3 %"),
    ],
)
def test_a_quantity_has_one_text(n, unit, heap, expected):
    assert text(Quantity("as it was", Fraction(n), unit, heap)) == expected


@given(quantities())
def test_its_text_is_read_as_the_same_quantity_in_any_house(quantity):
    """The text names its kind, so it needs no house rule."""
    again = read_amount(text(quantity), None)

    assert (again.n, again.unit, again.heap) == (quantity.n, quantity.unit, quantity.heap)
