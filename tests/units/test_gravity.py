"""What a hydrometer says, by the scale it says it on."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.units.fault import NotUnderstood
from coop.units.gravity import BAUME, GRAVITY_MAX, SG, TWADDELL, on_scale, read_gravity
from tests.science.handbook import as_printed


@pytest.mark.parametrize(
    ("typed", "scale", "sg"),
    [
        ("1.021", SG, "1.021"),
        ("1,021", SG, "1.021"),
        ("1.02", SG, "1.02"),
        ("1.000", SG, "1.000"),
        ("SG 1.021", SG, "1.021"),
        ("1.021 SG", SG, "1.021"),
        ("sp. gr. 1.05", SG, "1.05"),
        ("specific gravity 1.2", SG, "1.2"),
        ("2.9 Be", BAUME, "1.0204"),
        ("2,9 °Bé", BAUME, "1.0204"),
        ("Baumé 2.9", BAUME, "1.0204"),
        ("2.9 degrees Baume", BAUME, "1.0204"),
        ("0 Be", BAUME, "1"),
        ("4.2 Tw", TWADDELL, "1.021"),
        ("4.2º Tw", TWADDELL, "1.021"),
        ("4.2 deg Twaddell", TWADDELL, "1.021"),
    ],
)
def test_a_reading_with_its_scale_is_a_specific_gravity(typed, scale, sg):
    """SG = 145 / (145 - Be) and 1 + Tw / 200 (from memory), by hand."""
    found = read_gravity(typed)

    assert found.scale == scale
    assert as_printed(float(found.sg), sg)


def test_the_three_scales_meet_as_printed():
    """Common practice, no source: SG 1.021 is 2.9 Be, cut off from 2.98, and 4.2 Tw."""
    sg = Fraction("1.021")

    assert as_printed(float(on_scale(sg, BAUME)), "2.98")
    assert on_scale(sg, TWADDELL) == Fraction("4.2")


def test_alum_liquor_of_the_trade_is_as_heavy_as_printed():
    """36.4 Be is SG 1.335 at 60 F (Hendricks, Water Treatment Unit Processes, appendix F)."""
    assert as_printed(float(read_gravity("36.4 Be").sg), "1.335")
    assert as_printed(float(on_scale(Fraction("1.335"), BAUME)), "36.4")


@given(
    st.sampled_from([SG, BAUME, TWADDELL]), st.fractions(1, GRAVITY_MAX, max_denominator=500)
)
def test_there_and_back_is_the_same(scale, sg):
    n = on_scale(sg, scale)
    typed = {SG: "SG {}/{}", BAUME: "{}/{} Be", TWADDELL: "{}/{} Tw"}[scale]
    fits = n.numerator <= 100 and n.denominator <= 100
    if fits:
        assert read_gravity(typed.format(n.numerator, n.denominator)).sg == sg
    assert 0 <= n <= 100


@pytest.mark.parametrize(
    ("typed", "code", "options"),
    [
        ("2.9", "which-scale", ("2.9 °Bé", "2.9 °Tw")),
        ("1.2", "which-scale", ("SG 1.2", "1.2 °Bé", "1.2 °Tw")),
        ("50", "which-scale", ("50 °Tw",)),
        ("1021", "out-of-range", ("SG 0.98 to 1.4",)),
        ("0.5 SG", "out-of-range", ("SG 0.98 to 1.4",)),
        ("50 Be", "out-of-range", ("0 to 41.4 °Bé",)),
        ("200 Tw", "out-of-range", ("0 to 80 °Tw",)),
        ("145 Be", "out-of-range", ("0 to 41.4 °Bé",)),
        ("Be", "number-missing", ()),
        ("", "empty", ()),
        ("1.021 frob", "unknown-word", ()),
        ("-2 Be", "does-not-fit", ()),
    ],
)
def test_a_number_without_its_scale_is_asked_about(typed, code, options):
    """The same 2.9 is 1.021 or 1.0145: 42 or 29 g/L of alum."""
    with pytest.raises(NotUnderstood) as caught:
        read_gravity(typed)

    assert (caught.value.code, caught.value.options) == (code, options)
