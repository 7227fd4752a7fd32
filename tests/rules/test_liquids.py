"""May I use this size, this gall water? Every rule at, just under and just over its limit."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from coop.rules import liquids
from coop.rules.limits import Limits
from coop.rules.liquids import (
    LIQUIDS,
    Drop,
    Keeps,
    KeptFor,
    LiquidFacts,
    Look,
    Looked,
    RunOut,
    Smell,
    Smelled,
    Warmth,
    answer_liquid,
)
from coop.rules.reasons import REASONS, Word
from coop.rules.use import Answer, HowKnown, Known, turns_at
from tests.rules.at_hand import FIRE_LIQUIDS, HOUSE, NOW, STOP, drop, other, size

DAY, HOUR, MINUTE = timedelta(days=1), timedelta(hours=1), timedelta(minutes=1)
YESTERDAY = NOW - DAY


def ask(limits: Limits = HOUSE, **changes: Any) -> Answer:
    return answer_liquid(size(**changes), limits, NOW)


def codes(got: Answer) -> list[str]:
    return [reason.code for reason in got.reasons]


def test_a_size_with_nothing_against_it_is_good():
    """Nothing to do; a drop test would settle it."""
    got = ask()

    assert (got.word, got.reasons, got.next_acts) == (Word.GOOD, (), ())
    assert (got.at, got.limits_edition, got.usable_l) == (NOW, "second", 6.0)
    assert (got.lines, got.settles) == (None, "drop-test")
    assert got.how_known == HowKnown(Known.BY_DAYS, NOW - 2 * DAY)


def test_an_entry_finishes_a_size_whatever_else_is_the_matter():
    """What is finished only waits to be got rid of: that it is old or low is no reason."""
    got = ask(finished_at=NOW, stop=STOP, age_days=20.0)

    assert (got.word, got.settles) == (Word.FINISHED, None)
    assert codes(got) == ["finished"]
    assert got.next_acts == ("get-rid-of-it",)
    assert ask(finished_at=NOW, volume_l=0.0).next_acts == ()


def test_a_size_rests_until_its_time_and_not_a_minute_longer():
    """Carrageenan rests overnight before it lays a sheet."""
    assert ask(rest_until=NOW + MINUTE).word is Word.RESTING
    assert ask(rest_until=NOW + MINUTE).next_acts == ("wait",)
    assert ask(rest_until=NOW).word is Word.GOOD


def test_nothing_settles_what_rests_or_was_just_tested():
    """A drop that was round just now is the test; a day of warmth later it is asked again."""
    fresh = drop(Drop.ROUND, then=2.0)

    assert ask(rest_until=NOW + MINUTE).settles is None
    assert ask(warm_days=2.5, drop=fresh).settles is None
    assert ask(warm_days=3.0, drop=fresh).settles == "drop-test"
    assert ask(warm_days=2.5, drop=fresh, stop=STOP).settles == "drop-test"
    assert ask(warm_days=2.5, drop=fresh, volume_l=1.0).settles == "read-level"


def test_a_stopped_liquid_waits_for_its_own_test_and_a_person():
    """A size is tested by a drop, anything else by looking."""
    stopped = ask(stop=STOP)
    paste = answer_liquid(other("paste", stop=STOP), HOUSE, NOW)

    assert stopped.word is paste.word is Word.DO_NOT_USE
    assert stopped.reasons[0].value("stopped_by") == "oluwaseun"
    assert stopped.next_acts == ("drop-test", "allow-again")
    assert paste.next_acts == ("look-at-it", "allow-again")
    assert paste.settles == "look-at-it"


@pytest.mark.parametrize(
    ("warm_days", "word", "fired"),
    [
        (3.99, Word.GOOD, []),
        (4.0, Word.LOOK_AGAIN, ["size-warm-days"]),
        (5.99, Word.LOOK_AGAIN, ["size-warm-days"]),
        (6.0, Word.DO_NOT_USE, ["size-past-warm-days", "size-warm-days"]),
    ],
)
def test_warm_days_are_held_against_both_lines(warm_days, word, fired):
    """Instruction pages give 3 to 4 days at room warmth; six are common practice, no source."""
    got = ask(warm_days=warm_days, age_days=warm_days)

    assert (got.word, codes(got)) == (word, fired)


def test_warm_days_say_what_they_are_made_of():
    """Made five days ago, one of them chilled: like 4.2 warm days of 4."""
    got = ask(warm_days=4.2, age_days=5.0, chilled_days=1.0)

    assert got.reasons[0].numbers == (
        ("warm_days", 4.2),
        ("line_days", 4.0),
        ("age_days", 5.0),
        ("chilled_days", 1.0),
    )
    assert got.reasons[0].source == "house limits"
    assert got.next_acts == ("drop-test",)


@pytest.mark.parametrize(
    ("age_days", "word"), [(9.99, Word.GOOD), (10.0, Word.DO_NOT_USE), (11.0, Word.DO_NOT_USE)]
)
def test_past_its_cap_a_size_is_never_used_however_cold_it_stood(age_days, word):
    """Ten days from making; the warm days are few, as it was chilled."""
    assert ask(age_days=age_days, warm_days=2.0, chilled_days=8.0).word is word


def test_no_drop_test_outranks_the_cap():
    """Round and 50 mm, a minute ago: still ten days old."""
    got = ask(age_days=10.0, warm_days=2.0, drop=drop(then=2.0))

    assert (got.word, codes(got)) == (Word.DO_NOT_USE, ["size-past-cap"])
    assert (got.next_acts, got.settles) == (("get-rid-of-it",), None)


@pytest.mark.parametrize("spread_mm", [None, 40.0, 50.0, 60.0])
@pytest.mark.parametrize(
    ("warm_days", "word"),
    [
        (6.5, Word.GOOD),
        (7.49, Word.GOOD),
        (7.5, Word.DO_NOT_USE),
        (8.0, Word.DO_NOT_USE),
    ],
)
def test_a_good_drop_test_outranks_the_warm_days_for_one_of_them(spread_mm, warm_days, word):
    """Tested good at 6 1/2 warm days: good until 7 1/2."""
    got = ask(warm_days=warm_days, age_days=8.0, drop=drop(spread_mm=spread_mm, then=6.5))

    assert got.word is word


@pytest.mark.parametrize(
    "bad", [drop(Drop.RAGGED, then=6.5), drop(spread_mm=39.0, then=6.5), drop(Drop.BLOB)]
)
def test_a_drop_test_that_is_not_good_outranks_nothing(bad):
    """The calendar still speaks beside it."""
    assert "size-past-warm-days" in codes(ask(warm_days=6.5, age_days=7.0, drop=bad))


@pytest.mark.parametrize(
    ("outcome", "word", "code"),
    [
        (Drop.CLOUDY_THREAD, Word.DO_NOT_USE, "drop-cloudy-thread"),
        (Drop.RAGGED, Word.LOOK_AGAIN, "drop-ragged"),
        (Drop.BLOB, Word.LOOK_AGAIN, "drop-blob"),
    ],
)
def test_a_bad_drop_test_speaks_whatever_the_calendar_says(outcome, word, code):
    """
    Cloudy thread: sour. Ragged: too old. Blob at the bottom: too thin, or too heavy a drop.

    Source: Halfer, The Progress of the Marbling Art, 1893; Adam, Practical Bookbinding.
    """
    got = ask(warm_days=0.5, age_days=0.5, drop=drop(outcome, None))

    assert (got.word, codes(got)) == (word, [code])
    assert got.reasons[0].value("tested_at") == YESTERDAY
    assert got.how_known == HowKnown(Known.DROP_TESTED, YESTERDAY)


@pytest.mark.parametrize(
    ("spread_mm", "word", "fired"),
    [
        (24.9, Word.DO_NOT_USE, ["drop-spread-far-off", "drop-spread-off"]),
        (25.0, Word.LOOK_AGAIN, ["drop-spread-off"]),
        (39.9, Word.LOOK_AGAIN, ["drop-spread-off"]),
        (40.0, Word.GOOD, []),
        (60.0, Word.GOOD, []),
        (60.1, Word.LOOK_AGAIN, ["drop-spread-off"]),
        (80.0, Word.LOOK_AGAIN, ["drop-spread-off"]),
        (80.1, Word.DO_NOT_USE, ["drop-spread-far-off", "drop-spread-off"]),
    ],
)
def test_a_drop_spreads_40_to_60_mm_on_good_size(spread_mm, word, fired):
    """Under 25 and over 80 mm nothing is laid on it: common practice, no source."""
    got = ask(drop=drop(spread_mm=spread_mm))

    assert (got.word, codes(got)) == (word, fired)


def test_a_wide_drop_wants_thicker_size_and_a_small_one_thinner_or_warmer():
    """Mending comes first, getting rid of it last."""
    assert ask(drop=drop(spread_mm=70.0)).next_acts == ("thicken-it", "drop-test")
    assert ask(drop=drop(spread_mm=30.0)).next_acts == ("thin-it", "drop-test")
    assert ask(drop=drop(spread_mm=30.0), chilled_days=1.0).next_acts == (
        "thin-it",
        "bring-to-room",
        "drop-test",
    )
    assert ask(drop=drop(spread_mm=20.0)).next_acts == (
        "thin-it",
        "stop-it",
        "drop-test",
        "get-rid-of-it",
    )


@pytest.mark.parametrize(
    ("smell", "word"),
    [
        (Smell.NONE, Word.GOOD),
        (Smell.SEA, Word.GOOD),
        (Smell.SHARP, Word.LOOK_AGAIN),
        (Smell.SOUR, Word.DO_NOT_USE),
        (Smell.ROTTEN, Word.DO_NOT_USE),
    ],
)
@pytest.mark.parametrize("kind", LIQUIDS)
def test_a_liquid_that_smells_sour_is_not_used(kind, smell, word):
    """Sea or nothing is right, sharp is a warning: common practice, no source."""
    facts = other(kind, smell=Smelled(smell, YESTERDAY))

    assert answer_liquid(facts, HOUSE, NOW).word is word


@pytest.mark.parametrize("look", Look)
@pytest.mark.parametrize("kind", LIQUIDS)
def test_mould_forbids_and_what_else_looks_odd_asks_for_another_look(kind, look):
    """Skin, threads, lumps, watery, tinted: common practice, no source."""
    got = answer_liquid(other(kind, look=Looked(look, YESTERDAY)), HOUSE, NOW)
    words = {Look.FINE: Word.GOOD, Look.MOULD: Word.DO_NOT_USE}

    assert got.word is words.get(look, Word.LOOK_AGAIN)
    assert got.how_known == HowKnown(Known.LOOKED_AT, YESTERDAY)


def test_what_looks_odd_is_mended_by_its_kind():
    """Only size is blended with thicker size."""
    watery = Looked(Look.WATERY, YESTERDAY)

    assert ask(look=Looked(Look.SKIN, YESTERDAY)).next_acts == ("strain-it", "drop-test")
    assert ask(look=watery).next_acts == ("thicken-it", "drop-test", "get-rid-of-it")
    assert answer_liquid(other("paste", look=watery), HOUSE, NOW).next_acts == (
        "look-at-it",
        "get-rid-of-it",
    )


@pytest.mark.parametrize(
    ("kind", "days"), [("gall_water", 14), ("rinse", 7), ("paste", 14), ("softener", 30)]
)
def test_other_liquids_are_looked_at_at_their_age_and_not_used_at_twice_that(kind, days):
    """The days of each kind are common practice, no source; so is twice of them."""
    words = {
        days - 0.01: Word.GOOD,
        float(days): Word.LOOK_AGAIN,
        2 * days - 0.01: Word.LOOK_AGAIN,
        2.0 * days: Word.DO_NOT_USE,
    }
    for age_days, word in words.items():
        got = answer_liquid(other(kind, age_days=age_days), HOUSE, NOW)
        assert got.word is word
        assert got.settles == (None if word is Word.DO_NOT_USE else "look-at-it")


def test_the_house_and_the_recipe_draw_the_lines():
    """A recipe is asked before the house, line by line."""
    milder = replace(HOUSE, size_look_again_warm_days=5, size_do_not_use_warm_days=8)
    card = Keeps(look_again_warm_days=3)

    assert ask(milder, warm_days=4.5).word is Word.GOOD
    assert ask(milder, warm_days=6.5, age_days=6.5).word is Word.LOOK_AGAIN
    got = ask(milder, warm_days=3.0, recipe=card)
    assert (got.word, got.reasons[0].source) == (Word.LOOK_AGAIN, "recipe")
    assert ask(milder, warm_days=6.5, age_days=6.5, recipe=card).word is Word.LOOK_AGAIN
    assert ask(recipe=Keeps(do_not_use_warm_days=2)).word is Word.DO_NOT_USE
    assert ask(recipe=Keeps(cap_days=2)).reasons[0].source == "recipe"
    assert ask(age_days=20.0, recipe=Keeps(cap_days=28)).word is Word.GOOD
    assert (
        answer_liquid(other("rinse", age_days=3.0), replace(HOUSE, rinse_days=3), NOW).word
        is Word.LOOK_AGAIN
    )


@pytest.mark.parametrize(
    ("volume_l", "word"),
    [(2.99, Word.DO_NOT_USE), (3.0, Word.GOOD), (None, Word.GOOD)],
)
def test_a_size_too_low_to_lay_a_sheet_is_not_used(volume_l, word):
    """What nobody measured is held against nobody."""
    assert ask(volume_l=volume_l).word is word


def test_a_low_size_is_filled_up_or_measured_before_it_is_thrown_away():
    got = ask(volume_l=2.0)

    assert got.next_acts == ("mend-it", "read-level", "get-rid-of-it")
    assert (got.settles, got.usable_l) == ("read-level", 0.0)


def test_a_size_without_a_laying_depth_asks_for_it():
    """Neither too low nor litres to use can be said."""
    got = ask(laying_l=None)

    assert (got.usable_l, got.next_acts) == (None, ("say-laying-litres",))


def run_out(seconds: float, low: float | None = 20.0, high: float | None = 24.0) -> RunOut:
    return RunOut(seconds, "Funnel 2", low, high, YESTERDAY)


@pytest.mark.parametrize(
    ("told", "fired"),
    [
        ({"run_out": run_out(19.9)}, ["run-out-unlike-good-days"]),
        ({"run_out": run_out(20.0)}, []),
        ({"run_out": run_out(24.0)}, []),
        ({"run_out": run_out(24.1)}, ["run-out-unlike-good-days"]),
        ({"run_out": run_out(90.0, None, None)}, []),
        ({"alum_carried_g": (0.0, 0.0)}, []),
        ({"alum_carried_g": (0.0, 1.2)}, ["alum-carried-in"]),
        ({"kept_for": KeptFor(session="Saturday class")}, ["kept-for"]),
        ({"kept_for": KeptFor(member="m", until=NOW + MINUTE)}, ["kept-for"]),
        ({"kept_for": KeptFor(member="m", until=NOW)}, []),
    ],
)
def test_notes_are_told_and_change_no_word(told, fired):
    """Run-out by the middle half of good days, alum carried in, kept for somebody."""
    got = ask(**told)

    assert (got.word, codes(got)) == (Word.GOOD, fired)


def test_the_newest_test_is_how_it_is_known():
    """A look this morning comes after yesterday's drop."""
    got = ask(drop=drop(), look=Looked(Look.FINE, NOW), smell=Smelled(Smell.SEA, YESTERDAY))

    assert got.how_known == HowKnown(Known.LOOKED_AT, NOW)


def test_a_stopped_size_is_not_stopped_once_more():
    sour = ask(stop=STOP, smell=Smelled(Smell.SOUR, YESTERDAY))

    assert "stop-it" not in sour.next_acts
    assert sour.next_acts[-1] == "get-rid-of-it"


def test_a_half_tray_of_two_days_with_a_ragged_drop_is_looked_at_again():
    """The demonstration's size: two days old, 9 L, ragged; nothing else against it."""
    got = ask(drop=drop(Drop.RAGGED, None, then=1.0))

    assert (got.word, codes(got)) == (Word.LOOK_AGAIN, ["drop-ragged"])
    assert got.next_acts == ("drop-test", "get-rid-of-it")


@pytest.mark.parametrize(
    ("do_not_use_warm_days", "word"), [(7.0, Word.LOOK_AGAIN), (6.0, Word.DO_NOT_USE)]
)
def test_the_size_of_six_days_was_past_its_date(do_not_use_warm_days, word):
    """
    A size made on the 10th and used on the 16th, where the house looks again at 5 warm days.

    14 of 48 sheets came out ragged; the drop test would have shown it. Invented figures.
    """
    house = replace(
        HOUSE, size_look_again_warm_days=5, size_do_not_use_warm_days=do_not_use_warm_days
    )
    six = {"age_days": 6.0, "warm_days": 6.0, "volume_l": 17.0, "laying_l": 6.0}

    assert ask(house, **six).word is word
    assert ask(house, **six).next_acts[0] == "drop-test"
    assert ask(house, **six, drop=drop(Drop.RAGGED, None, then=6.0)).word is word
    assert ask(house, **six, drop=drop(then=6.0)).word is Word.GOOD


@pytest.mark.parametrize("code", FIRE_LIQUIDS)
def test_each_code_decides_where_it_is_the_worst(code):
    """The deciding reason stands first and leads to the word."""
    got = answer_liquid(FIRE_LIQUIDS[code], HOUSE, NOW)

    assert got.reasons[0].code == code
    assert got.word is (REASONS[code].word or Word.GOOD)


def growing_old(facts: LiquidFacts, *, warm_per_day: float = 1.0):
    """Return the answer at a later moment of a liquid that is left alone."""

    def answer_at(at):
        later = (at - NOW) / DAY
        moved = replace(
            facts,
            age_days=facts.age_days + later,
            warm_days=facts.warm_days + later * warm_per_day,
        )
        return answer_liquid(moved, HOUSE, at)

    return answer_at


def turns(facts: LiquidFacts, **changes: float):
    points = liquids.turning_points(facts, HOUSE, NOW)
    return turns_at(growing_old(facts, **changes), NOW, points, 60)


def test_a_size_turns_when_its_warm_days_are_over():
    """Two of four gone, at room warmth: in two days, to the minute."""
    moment, then = turns(size())

    assert timedelta(0) <= moment - (NOW + 2 * DAY) <= MINUTE
    assert then.word is Word.LOOK_AGAIN


def test_a_chilled_size_turns_at_its_cap():
    """A fifth of a warm day each day: the ten days from making come first."""
    moment, then = turns(size(warm_days=1.0), warm_per_day=0.2)

    assert moment == NOW + 8 * DAY
    assert then.reasons[0].code == "size-past-cap"


def test_a_resting_size_turns_good_and_old_paste_turns_at_its_days():
    ready = NOW + timedelta(hours=7, minutes=23)

    assert turns(size(rest_until=ready))[0] == ready
    assert turns(other("paste", age_days=10.0))[0] == NOW + 4 * DAY
    assert turns(other("paste", age_days=20.3))[0] == NOW + timedelta(days=28 - 20.3)


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "alum"},
        {"age_days": -1.0},
        {"volume_l": -0.1},
        {"kind": "paste"},
    ],
)
def test_facts_that_cannot_be_fail(wrong):
    """A paste has no laying depth, a drop test and a run-out time neither."""
    with pytest.raises(AssertionError):
        size(**wrong)


def test_notes_that_say_nothing_cannot_be_made():
    with pytest.raises(AssertionError, match="a member or a session"):
        KeptFor()
    with pytest.raises(AssertionError, match="both ends"):
        RunOut(20.0, "Funnel 2", 18.0, None, NOW)


@pytest.mark.parametrize(
    ("read_c", "word", "act"),
    [
        (13.9, Word.LOOK_AGAIN, ("bring-to-room",)),
        (14.0, Word.GOOD, ()),
        (27.0, Word.GOOD, ()),
        (27.1, Word.LOOK_AGAIN, ("drop-test",)),
    ],
)
def test_a_size_is_laid_on_at_the_warmth_of_a_room(read_c, word, act):
    """Common practice, no source: good 17 to 24, look again 14 to 17 and 24 to 27."""
    got = answer_liquid(size(warmth=Warmth(read_c, NOW - HOUR)), HOUSE, NOW)

    assert (got.word, got.next_acts) == (word, act)


def test_a_temperature_speaks_for_three_hours():
    """After that a size stands as warm as its room, whatever was read."""
    cold = size(warmth=Warmth(9.0, NOW - 3 * HOUR))

    assert answer_liquid(cold, HOUSE, NOW - MINUTE).word is Word.LOOK_AGAIN
    assert answer_liquid(cold, HOUSE, NOW).word is Word.GOOD


def test_a_chilled_size_is_good_once_it_is_brought_to_the_room():
    """It keeps longer in the cold; nobody lays a sheet on it there."""
    got = answer_liquid(size(chilled=True), HOUSE, NOW)

    assert got.word is Word.GOOD
    assert [one.code for one in got.reasons] == ["stands-cold"]
    assert got.next_acts == ("bring-to-room",)
    assert answer_liquid(other("paste", chilled=True), HOUSE, NOW).reasons == ()
