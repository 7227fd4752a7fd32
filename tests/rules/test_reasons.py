"""Reasons: a closed table, checked at the moment a reason is made."""

import dataclasses
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest

from coop.rules.reasons import REASONS, SOURCES, Reason, Word

NAIVE = datetime(2025, 9, 20, tzinfo=UTC).replace(tzinfo=None)


def weak(**changes):
    numbers = {"c_g_per_l": 18.2, "line_g_per_l": 25.0, "water_only_count": 2}
    return Reason.of("under-do-not-use-line", **(numbers | changes))


def test_a_code_that_is_not_in_the_table_fails():
    """A typing slip must not reach the page as a reason without words."""
    with pytest.raises(AssertionError, match="no reason is called under-the-line"):
        Reason.of("under-the-line", c_g_per_l=18.2)
    with pytest.raises(AssertionError, match="no reason is called under-the-line"):
        Reason("under-the-line")


@pytest.mark.parametrize(
    "numbers",
    [{}, {"printed_at": datetime(2025, 9, 21, tzinfo=UTC), "days": 1}, {"made_at": 3}],
    ids=["too few", "too many", "another name"],
)
def test_other_names_than_the_table_gives_fail(numbers):
    """The words are written for exactly these numbers."""
    with pytest.raises(AssertionError, match="strip-print-failed carries printed_at"):
        Reason.of("strip-print-failed", **numbers)


def test_pairs_in_another_order_fail_when_a_reason_is_made_by_hand():
    """Two equal reasons must look equal."""
    with pytest.raises(AssertionError, match="too-low carries volume_l, laying_l"):
        Reason("too-low", (("laying_l", 6.0), ("volume_l", 5.8)))


@pytest.mark.parametrize(
    "odd", [float("nan"), float("inf"), True, None, NAIVE], ids=repr
)  # fmt: skip
def test_values_that_cannot_be_said_fail(odd):
    """No endless figure and no time without its zone is ever shown to a person."""
    with pytest.raises(AssertionError, match="odd value"):
        weak(c_g_per_l=odd)


def test_a_source_the_rule_cannot_have_fails():
    """A strip print that failed is not the house's doing."""
    with pytest.raises(AssertionError, match="does not come from house limits"):
        Reason.of("strip-print-failed", source="house limits", printed_at="x")


def test_a_reason_cannot_be_changed():
    """Frozen decisions keep their reasons."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        weak().code = "too-low"


def test_equal_reasons_are_one_in_a_set_whatever_the_order_of_their_names():
    """A page compares what fired yesterday with what fires now."""
    turned = Reason.of(
        "under-do-not-use-line", water_only_count=2, line_g_per_l=25.0, c_g_per_l=18.2
    )

    assert {turned, weak()} == {weak()}
    assert weak() != weak(c_g_per_l=18.3)
    assert weak() != Reason("under-do-not-use-line", weak().numbers, "recipe")


def test_reasons_sort_in_the_order_of_the_rules():
    """What decides stands first."""
    low = Reason.of("too-low", volume_l=5.8, laying_l=6.0)
    used = Reason.of("used-while-stopped", sheet_count=20)

    found = sorted([used, low, weak(), weak(c_g_per_l=17.0)])

    assert found == [weak(c_g_per_l=17.0), weak(), low, used]


def test_a_reason_goes_out_as_plain_values():
    """Times keep their offset, the source is said."""
    summer = timezone(timedelta(hours=2))
    reason = Reason.of("resting", rest_until=datetime(2025, 9, 20, 9, tzinfo=summer))

    assert json.loads(json.dumps(reason.as_json())) == {
        "code": "resting",
        "word": "resting",
        "numbers": {"rest_until": "2025-09-20T09:00:00+02:00"},
        "source": "recipe",
    }
    assert Reason.of("not-judged").as_json()["word"] is None


def test_one_number_can_be_asked_for_by_name():
    assert weak().value("line_g_per_l") == 25.0
    with pytest.raises(KeyError):
        weak().value("line")


def test_the_table_follows_the_rules_from_finished_to_notes():
    """The first reason that leads to a word decides it, so words may only get better."""
    ranks = [row.word.rank if row.word else -1 for row in REASONS.values()]

    assert len(REASONS) > 10
    assert ranks == sorted(ranks, reverse=True)
    assert all(SOURCES.issuperset(row.sources) for row in REASONS.values())


def test_the_words_are_five_from_good_to_finished():
    """They are the trade's, and their order is the order in which rules win."""
    assert [word.value for word in sorted(Word, key=lambda word: word.rank)] == [
        "good",
        "look-again",
        "do-not-use",
        "resting",
        "finished",
    ]
