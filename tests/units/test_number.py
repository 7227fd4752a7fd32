"""Numbers as people write them, and their one form on the wire."""

from fractions import Fraction
from unicodedata import normalize

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coop.units.fault import NotUnderstood
from coop.units.number import FRACTION_MAX, NUMBER_MAX, read_number, unwire, wire
from coop.units.quantity import number_text
from coop.units.stream import VULGAR

numbers = st.fractions(-NUMBER_MAX, NUMBER_MAX, max_denominator=10**6)
simple = st.fractions(0, 1000, max_denominator=FRACTION_MAX)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("60", "60"),
        ("0,5", "1/2"),
        ("0.5", "1/2"),
        (".5", "1/2"),
        ("0,125", "1/8"),
        ("1,25", "5/4"),
        ("1.000,5", "2001/2"),
        ("1,000.5", "2001/2"),
        ("1.000.000", "1000000"),
        ("12,5", "25/2"),
        ("1/3", "1/3"),
        ("1 / 3", "1/3"),
        ("1\u20443", "1/3"),
        ("8/3", "8/3"),
        ("2 1/2", "5/2"),
        ("2-1/2", "5/2"),
        ("2\u20131/2", "5/2"),
        ("2 and 1/2", "5/2"),
        ("2 & ½", "5/2"),
        ("½", "1/2"),
        ("1½", "3/2"),
        ("1 ½", "3/2"),
        ("1\u00a0½", "3/2"),
        ("2⅔", "8/3"),
        ("one", "1"),
        ("Twelve", "12"),
        ("half", "1/2"),
        ("a half", "1/2"),
        ("half a", "1/2"),
        ("one half", "1/2"),
        ("one-half", "1/2"),
        ("quarter", "1/4"),
        ("a third of a", "1/3"),
        ("three quarters", "3/4"),
        ("two-thirds", "2/3"),
        ("one and a half", "3/2"),
        ("2 and a half", "5/2"),
        ("six and three quarters", "27/4"),
        ("a", "1"),
    ],
)
def test_a_number_is_read_as_written(typed, expected):
    assert read_number(typed) == Fraction(expected)


@pytest.mark.parametrize("typed", ["1,250", "1.250"])
def test_what_may_be_thousands_or_decimals_is_asked_about(typed):
    """A comma and a point mean one thing in one country and the other in the next."""
    with pytest.raises(NotUnderstood) as caught:
        read_number(typed)

    assert caught.value.code == "thousands-or-decimals"
    assert caught.value.options == ("1.25", "1250")


@pytest.mark.parametrize("sign", VULGAR)
def test_every_fraction_sign_is_what_it_shows(sign):
    """U+00BC and following; their digits stand in their compatibility decomposition."""
    above, below = normalize("NFKC", sign).split("\u2044")

    assert read_number(sign) == Fraction(int(above), int(below))
    assert read_number(f"1{sign}") == 1 + Fraction(int(above), int(below))


@pytest.mark.parametrize("typed", ["1,021", "1.021"])
def test_limits_settle_what_could_be_thousands(typed):
    """A hydrometer reads from 1.000 to 1.100: nobody means a thousand and twenty-one."""
    assert read_number(typed, low=Fraction("0.9"), high=2) == Fraction("1.021")


def test_limits_settle_it_the_other_way_too():
    assert read_number("1,021", low=100, high=5000) == 1021


def test_a_temperature_may_be_below_nothing_and_nothing_else_may():
    assert read_number("-5", low=-20) == -5
    assert read_number("\u22122½", low=-20) == Fraction(-5, 2)
    with pytest.raises(NotUnderstood) as caught:
        read_number("-5")
    assert caught.value.code == "negative"


@pytest.mark.parametrize(
    ("typed", "code", "part"),
    [
        ("", "empty", ""),
        ("  ", "empty", ""),
        ("-", "number-missing", ""),
        ("nan", "unknown-word", "nan"),
        ("inf", "unknown-word", "inf"),
        ("1e400", "unknown-word", "e"),
        ("9**9**9", "unknown-sign", "*"),
        ("1 000", "two-numbers", "000"),
        ("2 3/2", "two-numbers", "3/2"),
        ("½ ½", "two-numbers", "½"),
        ("1.5 1/2", "two-numbers", "1"),
        ("1/0", "odd-fraction", "1/0"),
        ("1/101", "odd-fraction", "1/101"),
        ("1,5/2", "odd-fraction", "1,5/2"),
        ("1/2/3", "does-not-fit", "/"),
        ("1,2,3", "odd-number", "1,2,3"),
        ("1.00,0.0", "odd-number", "1.00,0.0"),
        ("1000001", "out-of-range", "1000001"),
        ("9" * 70, "out-of-range", "9" * 70),
        ("8 " * 60, "too-long", None),
        ("٣", "unknown-sign", "٣"),
        ("8 tbsp", "does-not-fit", "tbsp"),
        ("eightish", "unknown-word", "eightish"),
    ],
)
def test_what_is_no_number_is_said_with_its_part(typed, code, part):
    with pytest.raises(NotUnderstood) as caught:
        read_number(typed)

    assert caught.value.code == code
    assert part is None or caught.value.part == part


@pytest.mark.parametrize(
    ("number", "written"),
    [
        ("60", "60"),
        ("0", "0"),
        ("1/2", "0.5"),
        ("-5/2", "-2.5"),
        ("-1/4", "-0.25"),
        ("8/3", "8/3"),
        ("-1/3", "-1/3"),
        ("1/64", "0.015625"),
        ("1/128", "1/128"),
        ("1000000", "1000000"),
    ],
)
def test_the_wire_form_is_the_shortest_exact_one(number, written):
    assert wire(Fraction(number)) == written
    assert unwire(written) == Fraction(number)


@given(numbers)
def test_every_number_comes_back_from_the_wire(number):
    assert unwire(wire(number)) == number


@given(st.one_of(st.text(max_size=12), st.from_regex(r"-?[0-9]{0,4}[./]?[0-9]{0,7}")))
def test_the_wire_has_one_form_for_each_number(written):
    """'0.50', '6/2', '+1' or '1e3' would be second forms, and second digests."""
    try:
        number = unwire(written)
    except NotUnderstood:
        return
    assert wire(number) == written


@pytest.mark.parametrize("written", ["0.50", "6/2", "4/1", "1/0", "-0", "+1", "1e3", "", "½"])
def test_a_second_form_is_refused(written):
    with pytest.raises(NotUnderstood):
        unwire(written)


@given(simple)
def test_what_is_shown_to_people_can_be_typed_again(number):
    """Also 1.375, which is shown as 1.3750, so that nobody takes it for thousands."""
    assume(number.denominator <= FRACTION_MAX)

    assert read_number(number_text(number)) == number


@given(st.integers(1, 500), st.integers(1, 99), st.sampled_from([" ", "-", " and "]))
def test_a_mixed_number_is_the_sum_of_its_parts(whole, above, joined):
    """1,000 such texts came out wrong in general-purpose readers: '2 1/2' as 1."""
    assert read_number(f"{whole}{joined}{above}/100") == whole + Fraction(above, 100)


@given(st.text(max_size=90))
def test_any_text_is_a_number_in_range_or_not_understood(typed):
    try:
        number = read_number(typed)
    except NotUnderstood:
        return
    assert 0 <= number <= NUMBER_MAX
