"""A field of one metric unit: each member types their own, and what is shown is exact."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction

import pytest
from flask import current_app, g
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict
from wtforms import Form

from coop.units.number import wire
from coop.web.fields import MeasuredField, NumberField, PercentField
from tests.support.opened import Opened, furnished


class _Asked(Form):
    strength = MeasuredField("Strength", unit="g_per_l")
    warmth = MeasuredField("Warmth", unit="celsius")
    spread = MeasuredField("Spread", unit="mm")
    water = MeasuredField("Water", unit="l")


class _Plain(Form):
    n = NumberField("Number")
    part = PercentField("Part")


@pytest.fixture(scope="module")
def settled(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    return furnished(tmp_path_factory.mktemp("house"))


@contextmanager
def asked_by(house: Opened, *, us: bool) -> Iterator[None]:
    """Be in a request of a member who is shown one sort of measures."""
    with house.app().test_request_context("/"):
        current_app.preprocess_request()
        g.words = replace(g.words, us=us)
        g.who = None
        yield


def typed(**values: str) -> _Asked:
    form = _Asked(formdata=MultiDict(values))
    form.validate()
    return form


def test_a_bare_number_is_in_the_unit_that_stands_beside_the_box(settled: Opened) -> None:
    """14 is minus ten to who reads Fahrenheit, and fourteen to who reads Celsius."""
    with asked_by(settled, us=True):
        form = typed(warmth="14", spread="2")
        assert (form.warmth.data, form.warmth.unit_text) == ("-10", "°F")
        assert (form.spread.data, form.spread.unit_text) == ("50.8", "in")
    with asked_by(settled, us=False):
        form = typed(warmth="14", spread="2")
        assert (form.warmth.data, form.warmth.unit_text) == ("14", "°C")
        assert (form.spread.data, form.spread.unit_text) == ("2", "mm")


def test_another_unit_is_taken_and_said_back_with_the_kind_of_gallon(settled: Opened) -> None:
    """The box keeps what was typed."""
    with asked_by(settled, us=False):
        form = typed(strength="5.3 oz/gal", water="2 gal", warmth="50 F")
        assert form.strength.data == "39.692504", "the wire keeps a millionth"
        assert form.strength.typed == "5.3 oz/gal"
        assert form.strength.understood == "5.3 oz (weight) to 1 US gallon: 39.7 g/L"
        assert form.water.understood == "2 US gallons: 7.57 L"
        assert (form.warmth.data, form.warmth.understood) == ("10", "50 °F: 10.0 °C")


def test_another_tongue_is_read_too(settled: Opened) -> None:
    """Who keeps the pages in English may still type as in a Turkish book."""
    with asked_by(settled, us=False):
        form = typed(strength="litreye 40 gram", water="iki litre")
        assert (form.strength.data, form.water.data) == ("40", "2")


def test_what_cannot_be_read_is_said_and_kept(settled: Opened) -> None:
    """The sentence says which sort of measure would be right."""
    with asked_by(settled, us=False):
        form = typed(water="3 g", strength="a lot")
        assert "a volume" in form.water.errors[0]
        assert form.strength.errors[0].startswith("A number, please")
        assert (form.water.typed, form.water.data) == ("3 g", "")


@pytest.mark.parametrize(
    ("us", "kept", "shown"),
    [
        (False, "40", "40"),
        (True, "40", "40 g/L"),
        (True, "39.692504", "5.3"),
        (False, "39.692504", "39.692504"),
        (False, "1.375", "1.3750"),
        (False, "8/3", "2 2/3"),
    ],
)
def test_the_box_shows_a_kept_number_exactly(
    settled: Opened, us: bool, kept: str, shown: str
) -> None:
    """Where ounces would be endless, it shows the grams with their unit."""
    with asked_by(settled, us=us):
        assert _Asked(data={"strength": kept}).strength.typed == shown


@pytest.mark.parametrize(
    ("us", "kept", "shown"),
    [(False, "1729.123456", "1729.123456"), (True, "8/101", "8/101 g/L")],
)
def test_a_number_that_no_box_reads_back_names_its_unit(
    settled: Opened, us: bool, kept: str, shown: str
) -> None:
    """Bare in the box of ounces, grams would be taken for seven times as much."""
    with asked_by(settled, us=us):
        assert _Asked(data={"strength": kept}).strength.typed == shown


def test_a_box_never_shows_what_it_would_not_take() -> None:
    """1 1/8 is kept as 1.125, which may be taken for thousands when it is sent again."""
    assert _Plain(data={"n": "1.125"}).n.typed == "1.1250"
    assert _Plain(data={"n": "0.125"}).n.typed == "0.125"
    assert _Plain(data={"part": "0.01125"}).part.typed == "1.1250"


@given(us=st.booleans(), kept=st.decimals("0.001", "999", places=3), unit=st.data())
def test_a_form_that_is_shown_and_sent_unchanged_changes_nothing(
    settled: Opened, us: bool, kept: object, unit: st.DataObject
) -> None:
    """To look at a form and save it must not move what the house mixes by."""
    name = unit.draw(st.sampled_from(("strength", "warmth", "spread", "water")))
    said = wire(Fraction(str(kept)))
    with asked_by(settled, us=us):
        box = getattr(_Asked(data={name: said}), name).typed
        assert typed(**{name: box})[name].data == said


def test_an_address_that_is_passed_on_means_the_same_to_who_reads_other_measures(
    settled: Opened,
) -> None:
    """A bucket of 20 L must not become one of 20 gallons: a bath that is neutralised foams."""
    with asked_by(settled, us=False):
        drawn = str(typed(water="20").water())
        assert '<input name="water-in" type="hidden" value="l">' in drawn
        assert typed(water="20").water.named == "20 L"
    with asked_by(settled, us=True):
        form = typed(**{"water": "20", "water-in": "l"})
        assert form.water.data == "20"
        assert 'value="20 L"' in str(form.water())
        again = typed(**{"water": "20 L", "water-in": "us_gallon"})
        assert again.water.data == "20"
    with asked_by(settled, us=False):
        form = typed(**{"strength": "5.3", "strength-in": "oz_per_us_gallon"})
        assert float(form.strength.data or "") == pytest.approx(39.69, abs=0.01)
        odd = typed(**{"water": "20", "water-in": "barrel"})
        assert odd.water.data == "20"
