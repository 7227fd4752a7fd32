"""Temperatures where people can be, and the scale they are on."""

import pytest

from coop.units.fault import NotUnderstood
from coop.units.temperature import read_temperature
from tests.science.handbook import as_printed


@pytest.mark.parametrize(
    ("typed", "celsius"),
    [("68 F", "20"), ("20 C", "20"), ("20,5 °C", "20.5"), ("41 °F", "5"), ("104 f", "40")],
)
def test_a_temperature_of_a_studio_is_read(typed, celsius):
    """F = 9/5 C + 32: NIST SP 811, appendix B (from memory)."""
    assert as_printed(float(read_temperature(typed).base), celsius)


@pytest.mark.parametrize(
    ("typed", "code", "options"),
    [
        ("20 F", "other-scale", ("-6.7 °C", "20 °C")),
        ("68 C", "other-scale", ("154.4 °F", "68 °F")),
        ("200 C", "too-cold-or-hot", ("392 °F", "5 °C", "40 °C")),
        ("300 F", "too-cold-or-hot", ("148.9 °C", "41 °F", "104 °F")),
        ("-3 C", "too-cold-or-hot", ("26.6 °F", "5 °C", "40 °C")),
        ("20", "which-unit", ("celsius", "fahrenheit")),
        ("20 degrees", "which-unit", ("celsius", "fahrenheit")),
        ("20 g", "wrong-dimension", ("temperature",)),
    ],
)
def test_a_slip_of_the_scale_is_asked_about(typed, code, options):
    """A size at 20 F is ice."""
    with pytest.raises(NotUnderstood) as caught:
        read_temperature(typed)

    assert (caught.value.code, caught.value.options) == (code, options)
    assert all(option in str(caught.value) for option in options)


def test_the_limits_are_the_callers():
    """A fridge is colder than a room."""
    assert read_temperature("3 C", 0, 10).base == 3
    with pytest.raises(NotUnderstood):
        read_temperature("20 C", 0, 10)
