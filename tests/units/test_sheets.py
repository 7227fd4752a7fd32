"""Sheets by the ream and the quire, which are not one number."""

import pytest

from coop.science.defaults import value
from coop.units.fault import NotUnderstood
from coop.units.names import QUIRES, REAMS
from coop.units.sheets import read_sheets


@pytest.mark.parametrize(
    ("typed", "sheets", "holds"),
    [
        ("500", 500, None),
        ("12 sheets", 12, None),
        ("one sheet", 1, None),
        ("1 ream of 480", 480, 480),
        ("2 reams of 480 sheets", 960, 480),
        ("a ream of 500", 500, 500),
        ("half a ream of 500", 250, 500),
        ("1 ream (516)", 516, 516),
        ("1 ream (516 sheets)", 516, 516),
        ("2 quires of 24", 48, 24),
    ],
)
def test_sheets_are_counted(typed, sheets, holds):
    found = read_sheets(typed)

    assert (found.sheets, found.holds) == (sheets, holds)


@pytest.mark.parametrize(
    ("typed", "code", "options"),
    [
        ("1 ream", "which-ream", ("480", "500", "516")),
        ("2 quires", "which-ream", ("24", "25")),
        ("1 ream of", "which-ream", ("480", "500", "516")),
        ("1/7 ream of 500", "not-whole", ()),
        ("2.5 sheets", "not-whole", ()),
        ("1 ream of 5000", "out-of-range", ("1 to 1000",)),
        ("250 reams of 500", "out-of-range", ("0 to 100000",)),
        ("1 ream (500", "bracket", ()),
        ("3 packs", "no-fixed-size", ()),
        ("500 g", "does-not-fit", ()),
        ("500 sheets 12", "two-numbers", ()),
        ("ream", "no-fixed-size", ()),
        ("1 ream of 500 frob", "unknown-word", ()),
        ("2 quires of 25 sheets each", "does-not-fit", ()),
    ],
)
def test_a_ream_that_does_not_say_what_it_holds_is_asked_about(typed, code, options):
    """Common practice, no source: 480, 500 or 516 sheets; a quire 24 or 25."""
    with pytest.raises(NotUnderstood) as caught:
        read_sheets(typed)

    assert (caught.value.code, caught.value.options) == (code, options)


def test_the_usual_reams_are_those_that_explain_a_gap():
    """A shelf that is short by 20 was counted in another ream."""
    names = ("old_ream_sheets", "ream_sheets", "printers_ream_sheets")

    assert [int(one) for one in REAMS] == [value(name) for name in names]
    assert [20 * int(one) for one in QUIRES] == [int(one) for one in REAMS[:2]]
