"""The names of soda: one is 2.70 times as heavy as another for the same acid."""

import pytest

from coop.ledger.kinds import SODAS
from coop.units.fault import NotUnderstood
from coop.units.soda import SODA_FORMS, read_soda


@pytest.mark.parametrize(
    ("typed", "form"),
    [
        ("baking soda", "bicarbonate"),
        ("Bicarbonate of soda", "bicarbonate"),
        ("sodium bicarbonate", "bicarbonate"),
        ("bicarb", "bicarbonate"),
        ("soda ash", "anhydrous"),
        ("anhydrous sodium carbonate", "anhydrous"),
        ("washing soda anhydrous", "anhydrous"),
        ("sodium carbonate monohydrate", "monohydrate"),
        ("washing soda crystals", "crystals"),
        ("sodium carbonate decahydrate", "crystals"),
        ("sal soda", "crystals"),
        ("anhydrous washing soda powder", "anhydrous"),
    ],
)
def test_a_soda_is_known_by_its_names(typed, form):
    """Trade names of the forms: common practice, no source."""
    assert read_soda(typed) == form


@pytest.mark.parametrize(
    ("typed", "code", "options"),
    [
        ("soda", "which-soda", SODA_FORMS),
        ("washing soda", "which-soda", SODA_FORMS[:3]),
        ("sodium carbonate", "which-soda", SODA_FORMS[:3]),
        ("baking soda crystals", "which-soda", SODA_FORMS),
        ("caustic soda", "no-soda", ()),
        ("lye", "no-soda", ()),
        ("baking powder", "no-soda", ()),
        ("salt", "unknown-word", ()),
        ("washing soda, anhydrous", "does-not-fit", ()),
        ("", "empty", ()),
    ],
)
def test_a_soda_that_may_be_several_is_asked_about(typed, code, options):
    """Lye eats skin, and baking powder is half starch and acid."""
    with pytest.raises(NotUnderstood) as caught:
        read_soda(typed)

    assert (caught.value.code, caught.value.options) == (code, options)


def test_the_forms_are_those_of_the_ledger():
    assert SODA_FORMS == SODAS
