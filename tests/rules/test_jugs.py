"""A jug nobody knows: which baths are like it, so that their makers can be asked."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from coop.rules.jugs import (
    LOOK_BACK_DAYS,
    LOOKS,
    BathFacts,
    JugFacts,
    Likeness,
    Litres,
    likeness,
    rank,
)

MADE = datetime(2025, 10, 6, 10, tzinfo=UTC)
JUG = JugFacts(studio="R", volume_l=9, look="thick", found_at=MADE + timedelta(days=7))
SIZE = BathFacts(
    what="size", studio="R", mixed_at=MADE, finished_at=None, low_l=8.6, high_l=9.4
)


def test_the_jug_of_week_seven_is_like_the_size_of_week_six():
    """9 L, right place, 7 days: incident D of the ten weeks (reference, trade.md 9.3)."""
    assert likeness(JUG, SIZE) == Likeness(litres=Litres.RIGHT, looked_at=True, age_days=7)


def test_a_bath_of_another_studio_is_not_asked_about():
    assert likeness(JUG, replace(SIZE, studio="M")) is None


def test_what_was_made_after_the_jug_was_found_is_not_in_it():
    later = JUG.found_at + timedelta(seconds=1)

    assert likeness(JUG, replace(SIZE, mixed_at=later)) is None


@pytest.mark.parametrize(
    ("days", "asked"), [(LOOK_BACK_DAYS, True), (LOOK_BACK_DAYS + 1, False)]
)
def test_a_bath_finished_long_ago_is_not_asked_about(days: float, asked: bool):
    jug = replace(JUG, found_at=MADE + timedelta(days=days))

    assert (likeness(jug, replace(SIZE, finished_at=MADE)) is not None) is asked


def test_an_open_bath_is_asked_about_however_old():
    """Who never wrote that it is finished may still have it on a shelf."""
    old = likeness(replace(JUG, found_at=MADE + timedelta(days=300)), SIZE)

    assert old is not None
    assert old.age_days == 300


@pytest.mark.parametrize(
    ("volume_l", "litres"),
    [
        (None, Litres.NOT_KNOWN),
        (3, Litres.PART),
        (7.1, Litres.PART),  # 7.1 and a fifth are 8.52, under 8.6
        (7.2, Litres.RIGHT),  # 7.2 and a fifth are 8.64
        (11.7, Litres.RIGHT),  # 11.7 less a fifth are 9.36
        (11.8, None),  # 11.8 less a fifth are 9.44, over 9.4
    ],
)
def test_a_jug_holds_no_more_than_could_be_left(volume_l: float | None, litres: Litres | None):
    """Litres read by eye are a fifth out either way (worked out by hand)."""
    found = likeness(replace(JUG, volume_l=volume_l), SIZE)

    assert (found.litres if found else None) == litres


def test_a_bath_that_was_gone_by_then_is_not_in_it():
    """Nothing was left of it; one that went later may be just this jug."""
    gone = replace(SIZE, finished_at=MADE, gone_at=JUG.found_at)
    later = replace(gone, gone_at=JUG.found_at + timedelta(seconds=1))

    assert likeness(JUG, gone) is None
    assert likeness(JUG, later) is not None


@pytest.mark.parametrize(
    ("volume_l", "litres"), [(4.1, Litres.PART), (4.2, Litres.RIGHT), (9.4, Litres.RIGHT)]
)
def test_little_known_of_what_is_left_makes_no_jug_right(volume_l: float, litres: Litres):
    """Of 0 to 10 L the right jug has half of it: 4.1 and a fifth are 4.92, 4.2 are 5.04."""
    found = likeness(replace(JUG, volume_l=volume_l), replace(SIZE, low_l=0, high_l=10))

    assert found is not None
    assert found.litres is litres


@pytest.mark.parametrize("what", LOOKS)
def test_what_does_not_look_like_it_is_left_out_and_what_nobody_looked_at_is_not(what: str):
    bath = replace(SIZE, what=what)
    for look in ("clear", "thick", "cloudy", "coloured"):
        found = likeness(replace(JUG, look=look), bath)
        assert (found is not None) is (look in LOOKS[what])
    unlooked = likeness(replace(JUG, look="not_looked"), bath)
    assert unlooked is not None
    assert not unlooked.looked_at


def test_the_right_litres_come_first_and_then_the_youngest():
    old = Likeness(litres=Litres.RIGHT, looked_at=True, age_days=9)
    young = Likeness(litres=Litres.RIGHT, looked_at=True, age_days=2)
    part = Likeness(litres=Litres.PART, looked_at=True, age_days=1)

    assert sorted([part, old, young], key=rank) == [young, old, part]
