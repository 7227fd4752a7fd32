"""House limits and the strength a bath is judged by."""

from dataclasses import replace

import pytest

from coop.rules.limits import Limits, Target, check, differs_fraction, target_of
from coop.science.defaults import default
from tests.rules.at_hand import HOUSE, POTASH, SULFATE


def problems(**changes):
    return [(found.field, found.code) for found in check(replace(HOUSE, **changes))]


def test_the_defaults_are_right_and_come_from_the_table_of_defaults():
    """A house that set nothing still has lines, and Help can show where they are from."""
    limits = Limits()

    assert check(limits) == ()
    assert limits.target is None
    for name in (
        "look_again_fraction", "do_not_use_fraction", "strip_print_days",
        "water_only_top_ups_count", "weak_chance", "laying_depth_mm",
        "size_look_again_warm_days", "size_do_not_use_warm_days", "size_cap_days",
        "gall_water_days", "rinse_days", "paste_days", "softener_days",
        "stack_open_days", "stack_damp_days", "stack_bagged_days", "stack_hard_stop_days",
    ):  # fmt: skip
        assert getattr(limits, name) == default(name).value
    assert (limits.look_again_fraction, limits.do_not_use_fraction) == (0.75, 0.6)


def test_a_house_with_a_target_is_right():
    assert check(HOUSE) == ()
    assert HOUSE.target == (40.0, SULFATE)


@pytest.mark.parametrize(
    ("field", "under", "lowest", "highest", "over"),
    [
        ("target_g_per_l", 0.0, 0.1, 200.0, 200.1),
        ("look_again_fraction", 0.09, 0.625, 1.0, 1.01),
        ("do_not_use_fraction", 0.09, 0.1, 0.75, 1.01),
        ("strip_print_days", 0, 1, 365, 366),
        ("water_only_top_ups_count", 0, 1, 20, 21),
        ("weak_chance", 0.0, 0.01, 0.5, 0.51),
        ("laying_depth_mm", 0, 1, 200, 201),
        ("size_look_again_warm_days", 0.4, 0.5, 6, 366),
        ("size_do_not_use_warm_days", 0.4, 4, 365, 366),
        ("size_cap_days", 0, 1, 365, 366),
        ("gall_water_days", 0, 1, 365, 366),
        ("rinse_days", 0, 1, 365, 366),
        ("paste_days", 0, 1, 365, 366),
        ("softener_days", 0, 1, 365, 366),
        ("stack_open_days", 0, 1, 365, 366),
        ("stack_damp_days", 0, 1, 365, 366),
        ("stack_bagged_days", 0, 1, 365, 366),
        ("stack_hard_stop_days", 0, 1, 365, 366),
    ],
)
def test_a_limit_is_held_to_its_bounds(field, under, lowest, highest, over):
    """The refusal names the field; the bounds stand in it."""
    assert problems(**{field: lowest}) == []
    assert problems(**{field: highest}) == []
    assert (field, "out-of-range") in problems(**{field: under})
    assert (field, "out-of-range") in problems(**{field: over})
    assert (field, "out-of-range") in problems(**{field: float("nan")})
    (found,) = [
        bad for bad in check(replace(HOUSE, **{field: over})) if bad.code == "out-of-range"
    ]
    assert found.high is not None
    assert highest <= found.high < over


def test_do_not_use_lies_under_look_again():
    """Else a bath would be forbidden before anybody was asked to look."""
    assert problems(do_not_use_fraction=0.75) == []
    (found,) = check(replace(HOUSE, do_not_use_fraction=0.76))
    assert (found.field, found.code) == ("do_not_use_fraction", "over-look-again")
    assert found.high == 0.75


def test_a_size_is_looked_at_again_before_it_is_forbidden():
    """The lower line comes first in days, as it lies higher in strength."""
    assert problems(size_look_again_warm_days=6) == []
    (found,) = check(replace(HOUSE, size_look_again_warm_days=6.5))
    assert (found.field, found.code) == ("size_do_not_use_warm_days", "under-look-again")
    assert found.low == 6.5


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"target_salt": None}, [("target_salt", "missing")]),
        ({"target_g_per_l": None}, [("target_g_per_l", "missing")]),
        ({"target_g_per_l": None, "target_salt": None}, []),
        ({"target_salt": "alum"}, [("target_salt", "unknown")]),
    ],
)
def test_a_target_names_its_salt(changes, expected):
    """Alum is several salts; 40 g/L of one is 64 of the other."""
    assert problems(**changes) == expected


def test_half_a_target_is_no_target():
    assert replace(HOUSE, target_salt=None).target is None


def test_the_recipe_is_asked_before_the_house():
    """A bath is judged by the card it was mixed from."""
    card = (23.0, POTASH)

    assert target_of(card, HOUSE.target) == Target(23.0, POTASH, "recipe")
    assert target_of(card, None) == Target(23.0, POTASH, "recipe")
    assert target_of(None, HOUSE.target) == Target(40.0, SULFATE, "house limits")
    assert target_of(None, None) is None


def test_a_target_is_said_in_the_salt_of_the_tub():
    """
    Equal aluminium: 474.37 g of potash alum for half of 594.34 g of the 14-hydrate.

    Molar masses: 474.37 printed in the BP/USP monograph on potash alum; 594.34 from memory.
    """
    house = Target(40.0, SULFATE, "house limits")

    assert house.in_salt(POTASH) == pytest.approx(40 * 474.37 / (594.34 / 2), rel=2e-4)
    assert house.in_salt(SULFATE) == 40.0


@pytest.mark.parametrize(
    "wrong",
    [(0.0, SULFATE, "recipe"), (40.0, "alum", "recipe"), (40.0, SULFATE, "paper")],
)
def test_a_target_that_cannot_be_fails(wrong):
    with pytest.raises(AssertionError):
        Target(*wrong)


def test_cards_are_compared_with_the_house_by_aluminium():
    """A card of 64 g/L potash alum means what the house means by 40 g/L of the 14-hydrate."""
    assert differs_fraction((63.85, POTASH), (40.0, SULFATE)) < 0.001
    assert differs_fraction((48.0, SULFATE), (40.0, SULFATE)) == pytest.approx(0.2)
    assert differs_fraction((32.0, SULFATE), (40.0, SULFATE)) == pytest.approx(0.2)
