"""May I use it? One test for each rule, at, just under and just over its limit."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.rules.limits import Limits
from coop.rules.liquids import answer_liquid
from coop.rules.reasons import REASONS, Word
from coop.rules.use import (
    ACTS,
    Answer,
    Disagreement,
    HowKnown,
    Known,
    Outcome,
    PaperFloor,
    answer,
    for_papers,
    lines_of,
    what_would_settle,
)
from tests.rules.at_hand import (
    FIRE_LIQUIDS,
    FIRE_STACKS,
    HOUSE,
    MIXED,
    NOW,
    POTASH,
    STOP,
    SULFATE,
    bath,
    other,
    printed,
)

MINUTE = timedelta(minutes=1)
OFF = Disagreement(
    instrument="hydrometer",
    at=NOW - timedelta(hours=2),
    off_sigma=4.1,
    read=23.0,
    low=21.0,
    high=25.0,
    reckoned=40.0,
)


def ask(limits: Limits = HOUSE, now: datetime = NOW, **changes: Any) -> Answer:
    return answer(bath(**changes), limits, now)


def codes(got: Answer) -> list[str]:
    return [reason.code for reason in got.reasons]


def test_a_bath_with_nothing_against_it_is_good():
    """No reason, nothing to do."""
    got = ask()

    assert (got.word, got.reasons, got.next_acts) == (Word.GOOD, (), ())
    assert (got.at, got.limits_edition, got.usable_l) == (NOW, "second", 6.0)
    assert got.how_known == HowKnown(Known.WEIGHED, MIXED)


def test_an_entry_finishes_a_bath():
    """What is finished only waits to be got rid of: that it is weak or low is no reason."""
    got = ask(finished_at=NOW, strength_g_per_l=10.0, stop=STOP)

    assert got.word is Word.FINISHED
    assert codes(got) == ["finished"]
    assert got.next_acts == ("get-rid-of-it",)
    assert got.settles is None
    assert ask(finished_at=NOW, volume_l=0.0).next_acts == ()


def test_a_bath_rests_until_its_time_and_not_a_minute_longer():
    """At the very minute it is good."""
    assert ask(rest_until=NOW + MINUTE).word is Word.RESTING
    assert ask(rest_until=NOW + MINUTE).next_acts == ("wait",)
    assert ask(rest_until=NOW).word is Word.GOOD


def test_a_stopped_bath_is_not_to_be_used_and_says_who_stopped_it():
    """Somebody else looks, then allows it again."""
    got = ask(stop=STOP)

    assert got.word is Word.DO_NOT_USE
    assert got.reasons[0].as_json()["numbers"] == {
        "stopped_by": "oluwaseun",
        "stopped_at": "2025-09-19T09:00:00+00:00",
        "stop_reason": "washed_off",
        "poured_from": "",
        "poured_in_at": "",
    }
    assert got.next_acts == ("strip-print", "allow-again")


def test_a_failed_strip_print_forbids_a_bath_even_after_a_sharp_one():
    """Only salt, or taking the entry back, undoes it."""
    failed, sharp = printed(Outcome.FAILED), printed(Outcome.SHARP, days_ago=0.1)
    got = ask(strip_prints=(failed, sharp))

    assert (got.word, codes(got)) == (Word.DO_NOT_USE, ["strip-print-failed"])
    assert got.reasons[0].value("printed_at") == failed.at
    assert got.next_acts == ("mend-it", "stop-it", "get-rid-of-it")
    assert ask(strip_prints=(sharp,)).word is Word.GOOD


def test_the_newest_of_several_failed_prints_is_named():
    old, new = printed(Outcome.FAILED, days_ago=3), printed(Outcome.FAILED)

    assert ask(strip_prints=(new, old)).reasons[0].value("printed_at") == new.at


@pytest.mark.parametrize(
    ("strength", "word"),
    [
        (24.999, Word.DO_NOT_USE),
        (25.0, Word.LOOK_AGAIN),
        (29.999, Word.LOOK_AGAIN),
        (30.0, Word.GOOD),
        (40.0, Word.GOOD),
    ],
)
def test_the_middle_is_held_against_both_lines(strength, word):
    """40 g/L with lines at 30 and 25 g/L: common practice, no source."""
    assert ask(strength_g_per_l=strength).word is word


def test_a_bath_under_the_lower_line_says_both_lines_and_the_water_only_top_ups():
    """Two water-only top-ups since the last test: about 18 g/L, not to be used under 25."""
    got = ask(strength_g_per_l=18.2, water_only_count=2)

    assert codes(got) == [
        "under-do-not-use-line",
        "under-look-again-line",
        "may-be-under-do-not-use-line",
        "water-only-top-ups",
    ]
    assert got.reasons[0].numbers == (
        ("c_g_per_l", 18.2),
        ("line_g_per_l", 25.0),
        ("water_only_count", 2),
    )
    assert got.reasons[1].value("line_g_per_l") == 30.0
    assert (got.next_acts[0], got.next_acts[-1]) == ("mend-it", "get-rid-of-it")


@pytest.mark.parametrize(
    ("low", "word"), [(24.999, Word.LOOK_AGAIN), (25.0, Word.GOOD), (25.001, Word.GOOD)]
)
def test_one_chance_in_five_of_being_too_weak_asks_for_another_look(low, word):
    """A good middle does not help if the doubt is wide."""
    got = ask(strength_g_per_l=31.0, strength_low_g_per_l=low)

    assert got.word is word
    if got.reasons:
        assert codes(got) == ["may-be-under-do-not-use-line"]
        assert got.reasons[0].value("chance") == 0.2


def test_a_strength_in_doubt_is_measured_where_the_studio_can():
    """A hydrometer and a density curve, else a strip print."""
    doubtful: dict[str, Any] = {"strength_g_per_l": 31.0, "strength_low_g_per_l": 20.0}

    assert ask(**doubtful).next_acts == ("strip-print",)
    assert ask(**doubtful, gravity_readable=True).next_acts == ("specific-gravity",)


@pytest.mark.parametrize(
    ("volume_l", "word"), [(5.999, Word.DO_NOT_USE), (6.0, Word.GOOD), (6.001, Word.GOOD)]
)
def test_a_bath_too_low_to_lay_a_sheet_is_not_to_be_used(volume_l, word):
    """Mend it first, get rid of it last."""
    got = ask(volume_l=volume_l)

    assert got.word is word
    assert got.usable_l == pytest.approx(max(0.0, volume_l - 6.0))
    if word is Word.DO_NOT_USE:
        assert got.next_acts == ("mend-it", "read-level", "get-rid-of-it")
        assert got.settles == "read-level"


def test_without_a_laying_depth_a_bath_is_neither_too_low_nor_deep_enough():
    """A jug described by its litres only: the litres to lay a sheet are asked for."""
    got = ask(laying_l=None, volume_l=0.5)

    assert (got.word, got.usable_l) == (Word.GOOD, None)
    assert got.next_acts == ("say-laying-litres",)


def test_a_reading_that_disagrees_asks_for_a_second_one():
    """It is kept and not applied; the newest is named and how many there are."""
    older = replace(OFF, instrument="dipstick", at=NOW - timedelta(days=1), off_sigma=3.2)
    got = ask(disagreements=(OFF, older))

    assert (got.word, codes(got)) == (Word.LOOK_AGAIN, ["reading-disagrees"])
    assert got.reasons[0].as_json()["numbers"] == {
        "reading_count": 2,
        "instrument": "hydrometer",
        "read_at": OFF.at.isoformat(),
        "read": 23.0,
        "read_low": 21.0,
        "read_high": 25.0,
        "reckoned": 40.0,
        "off_sigma": 4.1,
        "line_sigma": 3,
    }
    assert got.next_acts == ("second-reading",)
    assert got.settles == "second-reading"


@pytest.mark.parametrize(
    ("count", "word"),
    [(0, Word.GOOD), (1, Word.GOOD), (2, Word.LOOK_AGAIN), (3, Word.LOOK_AGAIN)],
)
def test_the_second_water_only_top_up_asks_for_another_look(count, word):
    got = ask(water_only_count=count)

    assert got.word is word
    if word is Word.LOOK_AGAIN:
        assert codes(got) == ["water-only-top-ups"]
        assert got.next_acts == ("strip-print",)


@pytest.mark.parametrize(("count", "word"), [(0, Word.GOOD), (1, Word.LOOK_AGAIN)])
def test_sheets_through_a_stopped_bath_ask_for_another_look(count, word):
    """Nobody knows what the stop was about to prevent."""
    got = ask(sheets_while_stopped_count=count)

    assert got.word is word
    assert codes(got) == (["used-while-stopped"] if count else [])


def test_a_soft_strip_print_asks_for_another_look():
    got = ask(strip_prints=(printed(Outcome.SOFT),))

    assert (got.word, codes(got)) == (Word.LOOK_AGAIN, ["strip-print-soft"])
    assert got.next_acts == ("mend-it", "strip-print")


@pytest.mark.parametrize(
    ("made", "word"),
    [
        (timedelta(days=28) - MINUTE, Word.GOOD),
        (timedelta(days=28), Word.LOOK_AGAIN),
        (timedelta(days=33), Word.LOOK_AGAIN),
    ],
)
def test_after_28_days_a_strip_print_is_due(made, word):
    """Alum does not rot; the print is the proof that it still is what it was."""
    got = ask(mixed_at=NOW - made)

    assert got.word is word
    if word is Word.LOOK_AGAIN:
        assert codes(got) == ["strip-print-due"]
        assert got.reasons[0].value("days") == made.days
        assert got.reasons[0].value("since") == "mixed"
        assert got.next_acts == ("strip-print",)


def test_a_passed_strip_print_buys_28_more_days():
    """Also one made before salt was last added; the newest counts."""
    old = NOW - timedelta(days=100)
    recent = NOW - timedelta(days=27)

    assert ask(mixed_at=old).word is Word.LOOK_AGAIN
    assert ask(mixed_at=old, passed_strip_print_at=recent).word is Word.GOOD
    sharp = printed(Outcome.SHARP, days_ago=27)
    assert ask(mixed_at=old, strip_prints=(sharp,)).word is Word.GOOD
    late = ask(mixed_at=old, passed_strip_print_at=NOW - timedelta(days=28))
    assert late.reasons[0].value("since") == "strip-print"


def test_28_days_are_counted_in_hours_not_by_the_clock_on_the_wall():
    """European clocks go back on 26 October: nine o'clock is an hour later than it looks."""
    studio = ZoneInfo("Europe/Vienna")
    mixed = datetime(2025, 9, 30, 9, 0, tzinfo=studio)

    assert (
        ask(mixed_at=mixed, now=datetime(2025, 10, 28, 7, 59, tzinfo=studio)).word is Word.GOOD
    )
    due = ask(mixed_at=mixed, now=datetime(2025, 10, 28, 8, 0, tzinfo=studio))
    assert codes(due) == ["strip-print-due"]


def test_without_a_target_strength_is_not_judged_but_everything_else_is():
    """Nobody said how strong it should be."""
    house = replace(HOUSE, target_g_per_l=None, target_salt=None)

    got = ask(house, strength_g_per_l=1.0)
    assert (got.word, codes(got), got.lines) == (Word.GOOD, ["not-judged"], None)
    assert got.next_acts == ("say-target",)
    stopped = ask(house, strength_g_per_l=1.0, stop=STOP)
    assert (stopped.word, codes(stopped)) == (Word.DO_NOT_USE, ["stopped", "not-judged"])


def test_a_strength_nobody_knows_is_said_and_everything_else_is_judged():
    """Two unknown jugs joined: the litres are known, the grams are not."""
    got = ask(strength_g_per_l=None, water_only_count=2)

    assert (got.word, codes(got)) == (
        Word.LOOK_AGAIN,
        ["water-only-top-ups", "strength-not-known"],
    )
    assert ask(strength_g_per_l=None, gravity_readable=True).next_acts == ("specific-gravity",)


def test_the_recipe_judges_before_the_house_does():
    """A card that means 23 g/L makes 20 g/L a good bath; the reason names the card."""
    assert ask(strength_g_per_l=20.0, recipe_target=(23.0, SULFATE)).word is Word.GOOD
    weak = ask(strength_g_per_l=17.0, recipe_target=(23.0, SULFATE))
    assert weak.word is Word.LOOK_AGAIN
    assert weak.reasons[0].source == "recipe"
    assert ask(strength_g_per_l=17.0).reasons[0].source == "house limits"


def test_a_bath_for_cloth_is_not_judged_by_what_paper_wants():
    """16 g/L of a fabric leaflet is no weak paper bath; its own strength would judge it."""
    assert ask(strength_g_per_l=16.0).word is Word.DO_NOT_USE
    got = ask(strength_g_per_l=16.0, for_paper=False)
    assert (got.word, got.lines) == (Word.GOOD, None)
    assert "not-judged" in codes(got)
    own = ask(strength_g_per_l=9.0, for_paper=False, recipe_target=(16.0, SULFATE))
    assert own.word is Word.DO_NOT_USE


def test_strength_is_compared_by_aluminium_and_said_in_the_salt_of_the_tub():
    """
    30 g/L of the 14-hydrate are 47.9 of potash alum; gram for gram would be a 37 % cut.

    Molar masses: 474.37 printed in the BP/USP monograph on potash alum; 594.34 from memory.
    """
    line = 30 * 474.37 / (594.34 / 2)

    good = ask(salt=POTASH, strength_g_per_l=line * 1.001)
    weak = ask(salt=POTASH, strength_g_per_l=line * 0.999)

    assert (good.word, weak.word) == (Word.GOOD, Word.LOOK_AGAIN)
    assert weak.reasons[0].value("line_g_per_l") == pytest.approx(47.9, abs=0.05)
    assert ask(salt=POTASH, strength_g_per_l=39.9).lines == lines_of(bath(salt=POTASH), HOUSE)
    assert ask(salt=POTASH, strength_g_per_l=39.9).word is Word.DO_NOT_USE


def test_a_house_may_move_its_lines():
    """The same bath, another edition."""
    strict = replace(HOUSE, look_again_fraction=0.9, edition="third")

    assert ask(strength_g_per_l=35.0).word is Word.GOOD
    got = ask(strict, strength_g_per_l=35.0)
    assert (got.word, got.limits_edition) == (Word.LOOK_AGAIN, "third")


def test_good_but_only_spooned_offers_one_small_act():
    """Weigh ten level spoons of this tub: this doubt goes for every bath from it."""
    spooned = HowKnown(Known.SPOONED, MIXED)
    got = ask(
        strength_g_per_l=31.0, strength_low_g_per_l=26.6, how_known=spooned, only_spooned=True
    )

    assert (got.word, got.reasons) == (Word.GOOD, ())
    assert got.next_acts == ("weigh-ten-spoons",)
    assert got.settles == "weigh-ten-spoons"


def test_the_weak_bath_of_the_light_powder_is_found_step_by_step():
    """
    24 level spoons in 11.36 L; 3 L of water into the 10.38 L left; a strip print that fails.

    By a spoon nobody weighed the middle was 31 g/L, then 24; ten spoons weighed 111 g, so it
    was 266.4 g: 23.5 g/L, then 18.2. Figures of the invented ten weeks, reckoned by hand.
    """
    spooned: dict[str, Any] = {
        "how_known": HowKnown(Known.SPOONED, MIXED),
        "only_spooned": True,
    }
    weighed_before, weighed_after = 266.4 / 11.36, 266.4 * (10.38 / 11.36) / 13.38

    thursday = ask(strength_g_per_l=31.0, strength_low_g_per_l=26.6, **spooned)
    synced = ask(
        strength_g_per_l=24.0, strength_low_g_per_l=20.6, water_only_count=1, **spooned
    )
    sunday = ask(
        strength_g_per_l=24.0,
        strength_low_g_per_l=20.6,
        water_only_count=1,
        strip_prints=(printed(Outcome.FAILED),),
        stop=STOP,
        **spooned,
    )

    assert thursday.word is Word.GOOD
    assert (synced.word, codes(synced)[0]) == (Word.DO_NOT_USE, "under-do-not-use-line")
    assert synced.next_acts[:3] == ("mend-it", "stop-it", "weigh-ten-spoons")
    assert synced.next_acts[-1] == "get-rid-of-it"
    assert codes(sunday)[:3] == ["stopped", "strip-print-failed", "under-do-not-use-line"]
    assert "stop-it" not in sunday.next_acts
    assert ask(strength_g_per_l=weighed_before).word is Word.DO_NOT_USE
    assert weighed_after == pytest.approx(18.2, abs=0.05)


def test_resting_wins_over_a_stop_and_both_are_listed():
    """The first rule gives the word, the others stay visible."""
    got = ask(rest_until=NOW + MINUTE, stop=STOP)

    assert (got.word, codes(got)) == (Word.RESTING, ["resting", "stopped"])


def test_a_rounding_error_is_not_under_the_line():
    """Replicas agree to one part in 10^9, so must their words."""
    assert ask(strength_g_per_l=30.0 * (1 - 1e-12)).word is Word.GOOD
    assert ask(strength_g_per_l=30.0 * (1 - 1e-8)).word is Word.LOOK_AGAIN
    assert ask(volume_l=6.0 * (1 - 1e-12)).word is Word.GOOD


FIRES: dict[str, dict[str, Any]] = {
    "finished": {"finished_at": NOW},
    "resting": {"rest_until": NOW + MINUTE},
    "stopped": {"stop": STOP},
    "strip-print-failed": {"strip_prints": (printed(Outcome.FAILED),)},
    "under-do-not-use-line": {"strength_g_per_l": 20.0},
    "too-low": {"volume_l": 5.0},
    "under-look-again-line": {"strength_g_per_l": 27.0},
    "may-be-under-do-not-use-line": {"strength_low_g_per_l": 20.0},
    "reading-disagrees": {"disagreements": (OFF,)},
    "water-only-top-ups": {"water_only_count": 2},
    "used-while-stopped": {"sheets_while_stopped_count": 1},
    "strip-print-soft": {"strip_prints": (printed(Outcome.SOFT),)},
    "strip-print-due": {"mixed_at": NOW - timedelta(days=28)},
    "not-judged": {},
    "strength-not-known": {"strength_g_per_l": None},
    "under-paper-floor": {},
}


def fired(code):
    if code == "under-paper-floor":
        (got,) = for_papers(bath(), (PaperFloor("P-31", (50.0, SULFATE)),))
        return [got.reason]
    house = Limits() if code == "not-judged" else HOUSE
    return list(ask(house, **FIRES[code]).reasons)


def test_every_code_of_the_table_is_tried():
    """A code that no facts lead to would be a word nobody ever reads."""
    assert FIRES.keys() | FIRE_LIQUIDS.keys() | FIRE_STACKS.keys() == REASONS.keys()


@pytest.mark.parametrize("code", FIRES)
def test_each_code_decides_where_it_is_the_worst(code):
    """The deciding reason stands first and leads to the word."""
    reasons = fired(code)

    assert reasons[0].code == code
    if REASONS[code].word is not None:
        assert ask(**FIRES[code]).word is REASONS[code].word


def test_every_next_act_is_offered_by_something_and_no_other_is():
    """The list of acts is closed, as the list of reasons is."""
    answers = [ask(**changes) for code, changes in FIRES.items()]
    answers += [
        ask(Limits()),
        ask(laying_l=None),
        ask(only_spooned=True),
        ask(strength_g_per_l=None, gravity_readable=True),
        *(answer_liquid(facts, HOUSE, NOW) for facts in FIRE_LIQUIDS.values()),
        answer_liquid(other("paste", stop=STOP), HOUSE, NOW),
    ]

    assert {act for got in answers for act in got.next_acts} == set(ACTS)
    assert {got.settles for got in answers} - {None} <= set(ACTS)


@pytest.mark.parametrize(
    ("changes", "test"),
    [
        ({}, "strip-print"),
        ({"stop": STOP}, "strip-print"),
        ({"disagreements": (OFF,), "only_spooned": True}, "second-reading"),
        ({"volume_l": 5.0, "only_spooned": True}, "read-level"),
        ({"only_spooned": True, "gravity_readable": True}, "weigh-ten-spoons"),
        ({"strength_g_per_l": None}, "strip-print"),
        ({"strength_g_per_l": None, "gravity_readable": True}, "specific-gravity"),
        ({"how_known": HowKnown(Known.GUESSED, MIXED)}, "strip-print"),
        (
            {"how_known": HowKnown(Known.GUESSED, MIXED), "gravity_readable": True},
            "specific-gravity",
        ),
        ({"strip_prints": (printed(Outcome.FAILED),)}, None),
        ({"finished_at": NOW}, None),
    ],
)
def test_one_test_would_settle_it(changes, test):
    """Yesterday's bath is always answered, with the one test that would settle it."""
    assert what_would_settle(bath(**changes)) == test


def test_a_paper_with_a_floor_of_its_own_is_answered_apart():
    """Good for P-30; not for P-31: it wants 30, this is about 23."""
    p30, p31 = for_papers(
        bath(strength_g_per_l=23.0), (PaperFloor("P-30"), PaperFloor("P-31", (30.0, SULFATE)))
    )

    assert (p30.paper, p30.good, p30.floor_g_per_l, p30.reason) == ("P-30", True, None, None)
    assert (p31.paper, p31.good, p31.floor_g_per_l) == ("P-31", False, 30.0)
    assert p31.reason is not None
    assert p31.reason.as_json()["numbers"] == {
        "paper": "P-31",
        "c_g_per_l": 23.0,
        "floor_g_per_l": 30.0,
    }


@pytest.mark.parametrize(
    ("strength", "good"), [(29.999, False), (30.0, True), (30.001, True), (None, None)]
)
def test_a_paper_s_floor_is_reached_or_not(strength, good):
    """Where nobody knows the strength, nobody says good."""
    floor = PaperFloor("P-31", (30.0, SULFATE))

    assert for_papers(bath(strength_g_per_l=strength), (floor,))[0].good is good


def test_a_floor_is_said_in_the_salt_of_the_tub():
    """Molar masses: 474.37 printed in the BP/USP monograph; 594.34 from memory."""
    floor = PaperFloor("P-31", (30.0, SULFATE))
    (got,) = for_papers(bath(salt=POTASH, strength_g_per_l=40.0), (floor,))

    assert got.good is False
    assert got.floor_g_per_l == pytest.approx(30 * 474.37 / (594.34 / 2), rel=2e-4)


@pytest.mark.parametrize(
    "impossible",
    [
        {"salt": "alum"},
        {"volume_l": -0.1},
        {"laying_l": -0.1},
        {"water_only_count": -1},
        {"sheets_while_stopped_count": -1},
        {"strength_low_g_per_l": 41.0},
        {"strength_low_g_per_l": None},
        {"strength_g_per_l": -1.0},
    ],
)
def test_facts_that_cannot_be_fail(impossible):
    """The fold that made them is wrong, not the member."""
    with pytest.raises(AssertionError):
        bath(**impossible)


def test_a_time_without_its_zone_fails():
    with pytest.raises(AssertionError, match="zone"):
        ask(now=NOW.replace(tzinfo=None))
    with pytest.raises(AssertionError, match="zone"):
        ask(mixed_at=MIXED.replace(tzinfo=None))
    assert ask(now=NOW.astimezone(UTC)).word is Word.GOOD
