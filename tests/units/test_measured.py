"""A number of one unit: bare in the reader's own, or with any unit of its sort behind it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.measured import (
    G_PER_L,
    OZ_PER_US_GALLON,
    US_OF,
    convert,
    names_a_unit,
    read_measured,
)

US = Kinds(gallon="us", cup="us", spoon="us")
IMPERIAL = Kinds(gallon="imp", cup="imp", spoon="imp")
ONE_OZ_PER_US_GALLON = Fraction("28.349523125") * 1000 / Fraction("3785.411784")


@pytest.mark.parametrize(
    ("typed", "unit", "expected"),
    [
        ("40", G_PER_L, Fraction(40)),
        ("40 g/L", G_PER_L, Fraction(40)),
        ("5.3 oz/gal", G_PER_L, Fraction("5.3") * ONE_OZ_PER_US_GALLON),
        ("5.3 oz/US gal", G_PER_L, Fraction("5.3") * ONE_OZ_PER_US_GALLON),
        ("8 oz in 2 gal", G_PER_L, 4 * ONE_OZ_PER_US_GALLON),
        ("2 gal", "l", Fraction("7.570823568")),
        ("16 US fl oz", "ml", Fraction("473.176473")),
        ("250 g", "g", Fraction(250)),
        ("1 lb 4 oz", "g", 20 * Fraction("28.349523125")),
        ("1 1/2 in", "mm", Fraction("38.1")),
        ("5 cm", "mm", Fraction(50)),
        ("50 F", "celsius", Fraction(10)),
        ("-40 F", "celsius", Fraction(-40)),
    ],
)
def test_an_amount_in_another_unit_is_read_exactly(
    typed: str, unit: str, expected: Fraction
) -> None:
    """NIST Handbook 44 appendix C and NIST SP 811 (from memory) say what each unit is."""
    assert read_measured(typed, unit, bare=unit, kinds=US).number == expected


@pytest.mark.parametrize(
    ("typed", "unit", "expected"),
    [
        ("1", G_PER_L, ONE_OZ_PER_US_GALLON),
        ("1", "l", Fraction("3.785411784")),
        ("1", "g", Fraction("28.349523125")),
        ("1", "mm", Fraction("25.4")),
        ("14", "celsius", Fraction(-10)),
        ("-40", "celsius", Fraction(-40)),
    ],
)
def test_a_number_alone_is_one_of_the_readers_own_unit(
    typed: str, unit: str, expected: Fraction
) -> None:
    """Who is shown ounces types ounces."""
    found = read_measured(typed, unit, bare=US_OF[unit], kinds=None)
    assert (found.number, found.said) == (expected, ())


@pytest.mark.parametrize(
    ("typed", "unit", "code"),
    [
        ("3 g", "l", "wrong-dimension"),
        ("2 tbsp/gal", G_PER_L, "wrong-dimension"),
        ("3-4 oz/gal", G_PER_L, "two-numbers"),
        ("5 oz/gal or 9 oz/gal", G_PER_L, "two-numbers"),
        ("5.3 oz", G_PER_L, "water-missing"),
        ("20°", "celsius", "which-unit"),
        ("-3", "g", "negative"),
        ("-3 g", "g", "negative"),
        ("1,500", "g", "thousands-or-decimals"),
        ("", "g", "empty"),
    ],
)
def test_what_is_no_amount_of_that_sort_is_refused(typed: str, unit: str, code: str) -> None:
    """A strength is a weight to a water; nothing is guessed."""
    with pytest.raises(NotUnderstood) as refused:
        read_measured(typed, unit, bare=unit, kinds=US)
    assert refused.value.code == code


def test_a_gallon_is_asked_for_where_nobody_said_which_and_it_matters() -> None:
    """One that is named needs no asking."""
    for typed, unit in (("2 gal", "l"), ("5 oz/gal", G_PER_L)):
        with pytest.raises(NotUnderstood) as asked:
            read_measured(typed, unit, bare=unit, kinds=None)
        assert asked.value.options == ("us_gallon", "imp_gallon")
    named = read_measured("1 oz/US gal", G_PER_L, bare=G_PER_L, kinds=None)
    assert named.number == ONE_OZ_PER_US_GALLON
    british = read_measured("1 gal", "l", bare="l", kinds=IMPERIAL)
    assert british.number == Fraction("4.54609"), "Weights and Measures Act 1985, from memory"


@given(
    st.fractions(min_value=-1000, max_value=1000, max_denominator=1000),
    st.sampled_from(sorted(US_OF)),
)
def test_there_and_back_is_the_same_number(number: Fraction, unit: str) -> None:
    """Nothing is rounded between the units."""
    assert convert(convert(number, unit, US_OF[unit]), US_OF[unit], unit) == number


@pytest.mark.parametrize("typed", ["½", "2 1/2", "one and a half", "0,5", "12", "a"])
def test_a_number_names_no_unit_however_it_is_written(typed: str) -> None:
    """Words for numbers are numbers."""
    assert not names_a_unit(typed)


def test_forty_grams_a_litre_are_five_and_a_third_ounces_to_the_us_gallon() -> None:
    """The strength of the trade's cards, by NIST Handbook 44 appendix C (from memory)."""
    assert round(float(convert(Fraction(40), G_PER_L, OZ_PER_US_GALLON)), 2) == 5.34
