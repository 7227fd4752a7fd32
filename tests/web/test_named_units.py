"""A number that names its own unit, in every box that has a list of units beside it."""

from fractions import Fraction

import pytest

from tests.support.forms import Typed, form_of, send
from tests.support.opened import Opened, mixed


@pytest.mark.parametrize(
    ("typed", "said", "grams"),
    [
        ("1 lb 4 oz", "20", Fraction("566.99")),
        ("1.25 lb", "1.25", Fraction("566.99")),
        ("500 g", "500", Fraction(500)),
        ("yarim kilo", "1/2", Fraction(500)),
    ],
)
def test_what_is_typed_wins_over_the_list_beside_it(
    house: Opened, typed: str, said: str, grams: Fraction
):
    """The list says kilograms, as bags of alum are bought; 1 lb is 453.59237 g exactly."""
    there = "/shelf/receive/alum"
    bag: Typed = {"name": "A-9", "salt": "potash_alum", "weight.typed": typed}
    answer = send(house.client("kahu"), there, bag)

    assert answer.status_code == 303, answer.text
    with house.desk() as desk:
        (lot,) = (one for one in desk.journal.listed("lot") if one.name == "A-9")
    assert lot.received / 1_000_000 == pytest.approx(float(grams), abs=0.01), said


def test_what_names_no_weight_is_told_and_kept(house: Opened):
    """Half a litre of a powder is no weight; the box keeps it for whoever typed it."""
    there = "/shelf/receive/alum"
    bag: Typed = {"name": "A-9", "salt": "potash_alum", "weight.typed": "2 L"}
    answer = send(house.client("kahu"), there, bag)

    assert answer.status_code == 422
    assert "is another kind of measure. Right here: a weight." in answer.text
    assert form_of(answer.text).fields["weight.typed"] == ["2 L"]


def test_a_temperature_reads_the_scale_that_it_names(house: Opened):
    """68 F is 20 C; the list beside it says Celsius."""
    there = f"/baths/{mixed(house)}/test?by=thermometer"
    answer = send(house.client("kahu"), there, {"temperature.typed": "68 F"})

    assert answer.status_code == 303, answer.text


def test_degrees_of_the_other_scale_are_asked_about(house: Opened):
    """A bath of 68 C is none; the thermometer reads Fahrenheit."""
    there = f"/baths/{mixed(house)}/test?by=thermometer"
    answer = send(house.client("kahu"), there, {"temperature.typed": "68"})

    assert answer.status_code == 422
    assert "Is 68 °F meant?" in answer.text
