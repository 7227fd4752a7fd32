"""What cannot be: nobody was refused, so a person is told."""

from dataclasses import replace
from datetime import timedelta

import pytest

from coop.ids import Subject
from coop.rules.impossible import LotLeft, OpenBath, impossible_baths, impossible_lots
from tests.rules.at_hand import MIXED, POTASH, SULFATE

FIRST = OpenBath(
    id=Subject("first"),
    name="R-A1",
    vessel=Subject("big tub"),
    salt=SULFATE,
    mixed_at=MIXED,
    low_g_per_l=38.6,
)
SECOND = replace(
    FIRST,
    id=Subject("second"),
    name="R-A2",
    vessel=Subject("small tub"),
    mixed_at=MIXED + timedelta(hours=1),
)


def found(*baths: OpenBath) -> list[tuple[str, str, str]]:
    return [(one.subject, one.code, one.other) for one in impossible_baths(baths)]


def test_baths_apart_are_possible():
    assert found(FIRST, SECOND) == []
    assert found() == []


def test_two_in_one_tub_are_told_of_the_later_one():
    """In whatever order they arrived: the phone on the stairs comes hours late."""
    both = FIRST, replace(SECOND, vessel=FIRST.vessel)

    assert found(*both) == found(*reversed(both)) == [("second", "tub-holds-two", "first")]


def test_a_size_in_the_tub_of_an_alum_is_told_too():
    """It has no salt, so no strength that would be too much."""
    size = OpenBath(id=Subject("size"), name="R-S1", vessel=FIRST.vessel,
                    mixed_at=SECOND.mixed_at)  # fmt: skip

    assert found(FIRST, size) == [("size", "tub-holds-two", "first")]
    assert found(size) == []


def test_three_in_one_tub_are_told_pair_by_pair():
    """Each earlier one is named once, so that each can be finished."""
    third = replace(FIRST, id=Subject("third"), name="R-A3", mixed_at=MIXED + timedelta(days=1))

    assert found(third, FIRST, replace(SECOND, vessel=FIRST.vessel)) == [
        ("second", "tub-holds-two", "first"),
        ("third", "tub-holds-two", "second"),
    ]


@pytest.mark.parametrize("name", ["R-A1", "r-a1", " R-A1  "])
def test_names_that_are_read_alike_are_alike(name: str):
    """Said across a room nobody hears a capital or a space."""
    assert found(FIRST, replace(SECOND, name=name)) == [("second", "names-alike", "first")]


@pytest.mark.parametrize(
    ("salt", "strength", "odd"),
    [
        (SULFATE, 200.0, False),
        (SULFATE, 200.1, True),
        # A reagent supplier's table: 6.01 g of anhydrous potash alum in 100 g of water at
        # 20 C, which is 116 g of the salt with its crystal water.
        (POTASH, 110.0, False),
        (POTASH, 117.0, True),
        # ECHA dossier 13568: 107 g/L of ammonium alum in the saturated solution at 20 C,
        # 1.0464 g/mL, which is 114 g in a kilogram of water.
        ("ammonium_alum", 110.0, False),
        ("ammonium_alum", 115.0, True),
    ],
)
def test_a_bath_is_no_stronger_than_its_salt_dissolves(salt: str, strength: float, odd: bool):
    """A slipped point makes 400 g/L out of 40; the lowest it may be is what counts."""
    bath = replace(FIRST, salt=salt, low_g_per_l=strength)

    assert found(bath) == ([("first", "stronger-than-can-be", "")] if odd else [])


@pytest.mark.parametrize(
    ("left", "doubt", "odd"),
    [(1, 0, False), (0, 0, False), (-1, 0, True), (-50, 50, False), (-51, 50, True)],
)
def test_a_lot_comes_to_less_than_nothing_by_more_than_its_doubt(left, doubt, odd):
    """Spoons are guessed: a tub that is nearly empty may come to a little under nothing."""
    lot = LotLeft(id=Subject("tub"), came_in=5000, left=left, doubt=doubt)

    codes = [(one.subject, one.entry, one.code) for one in impossible_lots([lot])]

    assert codes == ([("tub", "tub", "lot-below-zero")] if odd else [])


def test_a_lot_that_something_else_was_put_to_is_told_however_much_it_is():
    """A phone without signal may name any lot; what it moved must not drop out of sight."""
    lot = LotLeft(id=Subject("tub"), came_in=5000, left=500, doubt=0, own=False)

    assert [(one.code, one.entry) for one in impossible_lots([lot])] == [
        ("lot-of-two-supplies", "tub")
    ]


def test_a_lot_that_nobody_counted_in_comes_to_nothing_that_can_be_judged():
    lot = LotLeft(id=Subject("tub"), came_in=0, left=-51, doubt=0)

    assert list(impossible_lots([lot])) == []
