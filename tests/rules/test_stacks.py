"""May I use this stack of alumed sheets? By its age, how it lies, and its bath."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules import stacks
from coop.rules.limits import Limits
from coop.rules.reasons import REASONS, Word
from coop.rules.stacks import ACTS, Kept, StackFacts, answer_stack, going_stale, use_by
from coop.rules.use import Answer, HowKnown, Known, Outcome, StripPrint, turns_at
from tests.rules.at_hand import FIRE_STACKS, HOUSE, NOW, STOP, stack

DAY, MINUTE = timedelta(days=1), timedelta(minutes=1)


def ask(limits: Limits = HOUSE, **changes: Any) -> Answer:
    return answer_stack(stack(**changes), limits, NOW)


def codes(got: Answer) -> list[str]:
    return [reason.code for reason in got.reasons]


def test_a_fresh_stack_is_good_and_is_best_put_in_a_bag():
    """By its days alone; a strip print of a corner would settle it."""
    got = ask()

    assert (got.word, got.reasons, got.next_acts) == (Word.GOOD, (), ("bag-it",))
    assert (got.settles, got.limits_edition) == ("strip-print", "second")
    assert got.how_known == HowKnown(Known.BY_DAYS, NOW - DAY)
    assert ask(kept=Kept.BAGGED).next_acts == ()
    assert ask(kept=Kept.DAMP, days_ago=0.5).next_acts == ()


def test_a_stack_of_which_nothing_is_left_is_finished():
    """Used or thrown away, whatever its age."""
    got = ask(left_count=0, binned_count=12, days_ago=90, bath_stop=STOP)

    assert (got.word, got.next_acts, got.settles) == (Word.FINISHED, (), None)
    assert got.reasons[0].numbers == (("sheet_count", 60), ("binned_count", 12))
    assert not going_stale(stack(left_count=0, days_ago=90), HOUSE, NOW)


@pytest.mark.parametrize(("kept", "days"), [(Kept.OPEN, 2), (Kept.DAMP, 1), (Kept.BAGGED, 14)])
def test_a_stack_keeps_by_how_it_lies(kept, days):
    """
    Two days in open air, one damp, a week or two in a closed bag.

    Common practice, no source.
    """
    before = ask(kept=kept, days_ago=days - 0.001)
    after = ask(kept=kept, days_ago=days)

    assert before.word is Word.GOOD
    assert (after.word, codes(after)) == (Word.LOOK_AGAIN, ["stack-past-use-by"])
    assert after.reasons[0].numbers == (
        ("kept", kept.value),
        ("use_by", NOW),
        ("age_days", float(days)),
        ("line_days", days),
    )
    assert after.next_acts == ("strip-print", "re-alum", "bin-it")
    assert use_by(stack(kept=kept, days_ago=days), HOUSE) == NOW


@pytest.mark.parametrize(
    ("days_ago", "word"), [(59.999, Word.LOOK_AGAIN), (60, Word.DO_NOT_USE)]
)
def test_past_sixty_days_a_stack_is_not_used_however_it_was_kept(days_ago, word):
    """A couple of months at most, as sheets turn brittle: common practice, no source."""
    got = ask(kept=Kept.BAGGED, days_ago=days_ago)

    assert got.word is word
    if word is Word.DO_NOT_USE:
        assert codes(got) == ["stack-hard-stop", "stack-past-use-by"]
        assert (got.next_acts, got.settles) == (("bin-it",), None)


def test_a_bag_keeps_what_is_left_and_brings_nothing_back():
    """Bagged within its two days: fourteen from the aluming. Bagged later: still its two."""
    alumed_at = NOW - 5 * DAY
    in_time = stack(days_ago=5, kept=Kept.BAGGED, kept_since=alumed_at + 2 * DAY - MINUTE)
    too_late = replace(in_time, kept_since=alumed_at + 2 * DAY)

    assert use_by(in_time, HOUSE) == alumed_at + 14 * DAY
    assert answer_stack(in_time, HOUSE, NOW).word is Word.GOOD
    assert use_by(too_late, HOUSE) == alumed_at + 2 * DAY
    got = answer_stack(too_late, HOUSE, NOW)
    assert (got.word, got.reasons[0].value("kept")) == (Word.LOOK_AGAIN, "open")


def test_out_of_its_bag_a_stack_keeps_as_an_open_one():
    """Taken out on the tenth day, the two days in the open are over."""
    out = stack(days_ago=10, kept=Kept.OPEN, kept_since=NOW)

    assert answer_stack(out, HOUSE, NOW).word is Word.LOOK_AGAIN


def test_a_stack_whose_bath_was_stopped_is_looked_at_again():
    """Colour washed off other sheets of it: a corner strip print says whether these hold."""
    got = ask(bath_stop=STOP)

    assert (got.word, codes(got)) == (Word.LOOK_AGAIN, ["its-bath-was-stopped"])
    assert got.reasons[0].value("stop_reason") == "washed_off"
    assert got.next_acts == ("bag-it", "strip-print", "re-alum", "bin-it")
    assert got.next_acts == ACTS


def test_a_strip_print_that_failed_speaks_for_the_stack_whatever_its_age():
    """What it came out as is known of these very sheets: alum them again, or bin them."""
    got = ask(strip_print=StripPrint(Outcome.FAILED, NOW))

    assert (got.word, codes(got)) == (Word.DO_NOT_USE, ["strip-print-failed"])
    assert (got.next_acts, got.settles) == (("re-alum", "bin-it"), None)
    assert got.how_known == HowKnown(Known.CORNER_PRINTED, NOW)
    assert ask(strip_print=StripPrint(Outcome.SOFT, NOW)).word is Word.LOOK_AGAIN


def test_a_sharp_print_outdoes_the_stop_of_its_bath_that_came_before_it_and_says_so():
    """Not a later stop, and not the days: a corner of today says nothing of next week."""
    since = StripPrint(Outcome.SHARP, STOP.at)
    before = StripPrint(Outcome.SHARP, STOP.at - MINUTE)

    cleared = ask(bath_stop=STOP, strip_print=since)
    assert (cleared.word, codes(cleared)) == (Word.GOOD, ["corner-print-sharp"])
    assert cleared.reasons[0].value("stopped_at") == STOP.at
    again = ask(bath_stop=STOP, strip_print=before)
    assert (again.word, again.reasons[0].code) == (Word.LOOK_AGAIN, "its-bath-was-stopped")
    old = ask(days_ago=3, strip_print=since)
    assert (old.word, codes(old)) == (
        Word.LOOK_AGAIN,
        ["stack-past-use-by", "corner-print-sharp"],
    )


def test_a_stack_is_alumed_once_more_and_not_a_third_time():
    """Re-alum once: common practice, no source."""
    assert "re-alum" in ask(days_ago=3).next_acts
    assert ask(days_ago=3, alumed_again=True).next_acts == ("strip-print", "bin-it")


@pytest.mark.parametrize("code", FIRE_STACKS)
def test_each_code_decides_where_it_is_the_worst(code):
    """The deciding reason stands first and leads to the word."""
    got = answer_stack(FIRE_STACKS[code], HOUSE, NOW)

    assert (got.reasons[0].code, got.word) == (code, REASONS[code].word or Word.GOOD)


def test_every_next_act_of_a_stack_is_offered_by_something():
    """The list of acts is closed, as the list of reasons is."""
    answers = [answer_stack(facts, HOUSE, NOW) for facts in FIRE_STACKS.values()]

    assert {act for got in answers for act in got.next_acts} == set(ACTS)


def test_the_house_draws_the_lines():
    milder = replace(HOUSE, stack_open_days=5, stack_hard_stop_days=6)

    assert ask(milder, days_ago=4.9).word is Word.GOOD
    assert ask(milder, days_ago=5).word is Word.LOOK_AGAIN
    assert ask(milder, days_ago=6).word is Word.DO_NOT_USE


@pytest.mark.parametrize(
    ("days_ago", "stale"), [(12.999, False), (13, True), (14, True), (80, True)]
)
def test_a_stack_goes_stale_a_day_before_its_use_by(days_ago, stale):
    """In time to marble it."""
    assert going_stale(stack(kept=Kept.BAGGED, days_ago=days_ago), HOUSE, NOW) is stale


def test_a_stack_turns_at_its_use_by_and_at_its_hard_stop():
    facts = stack(kept=Kept.BAGGED)

    def turns(now: datetime) -> tuple[datetime, Answer] | None:
        points = stacks.turning_points(facts, HOUSE)
        return turns_at(lambda at: answer_stack(facts, HOUSE, at), now, points, 60)

    first, second = turns(NOW), turns(NOW + 20 * DAY)
    assert first is not None
    assert (first[0], first[1].word) == (NOW + 13 * DAY, Word.LOOK_AGAIN)
    assert second is not None
    assert (second[0], second[1].word) == (NOW + 59 * DAY, Word.DO_NOT_USE)


def test_use_by_is_told_in_the_zone_of_the_aluming():
    """Two days are 48 hours, also when the clocks go back."""
    alumed = datetime(2025, 10, 25, 9, 0, tzinfo=ZoneInfo("Europe/Vienna"))
    until = use_by(stack(alumed_at=alumed, kept_since=alumed), HOUSE)

    assert until.isoformat() == "2025-10-27T08:00:00+01:00"


@pytest.mark.parametrize(
    "wrong",
    [
        {"left_count": -1},
        {"binned_count": -1},
    ],
)
def test_facts_that_cannot_be_fail(wrong):
    with pytest.raises(AssertionError):
        stack(**wrong)


HOURS = st.sampled_from([0, 24, 48, 14 * 24, 60 * 24]) | st.integers(0, 70 * 24)
KEPT = [Kept.DAMP, Kept.OPEN, Kept.BAGGED]
"""From what keeps least to what keeps most."""


prints = st.builds(
    StripPrint, st.sampled_from(Outcome), st.sampled_from([NOW, STOP.at - MINUTE])
)


@st.composite
def cases(draw: st.DrawFn) -> StackFacts:
    """Return a stack of any age, kept in any way since any time."""
    age_h = draw(HOURS)
    alumed_at = NOW - age_h * timedelta(hours=1)
    since = alumed_at + draw(st.integers(0, age_h)) * timedelta(hours=1)
    left = draw(st.integers(0, 60))
    return StackFacts(
        alumed_at=alumed_at,
        kept=draw(st.sampled_from(Kept)),
        kept_since=since,
        sheet_count=60,
        left_count=left,
        binned_count=draw(st.integers(0, 60 - left)),
        bath_stop=draw(st.sampled_from([None, STOP])),
        strip_print=draw(st.none() | prints),
    )


def rank(facts: StackFacts, now: datetime = NOW) -> int:
    return answer_stack(facts, HOUSE, now).word.rank


@given(facts=cases(), later_h=HOURS)
def test_an_older_stack_never_has_a_better_word(facts, later_h):
    """Time alone mends nothing."""
    assert rank(facts, NOW + later_h * timedelta(hours=1)) >= rank(facts)


@given(facts=cases(), later_h=HOURS)
def test_a_stack_alumed_later_never_has_a_worse_word(facts, later_h):
    """Everything about it moved, its age alone counts."""
    moved = replace(
        facts,
        alumed_at=facts.alumed_at - later_h * timedelta(hours=1),
        kept_since=facts.kept_since - later_h * timedelta(hours=1),
    )

    assert rank(facts) <= rank(moved)


@given(facts=cases(), pair=st.tuples(st.sampled_from(KEPT), st.sampled_from(KEPT)))
def test_a_stack_kept_better_never_has_a_worse_word(facts, pair):
    """Damp, open, bagged."""
    worse, better = sorted(pair, key=KEPT.index)

    assert rank(replace(facts, kept=better)) <= rank(replace(facts, kept=worse))


@given(facts=cases(), hours=st.tuples(HOURS, HOURS))
def test_a_stack_bagged_sooner_never_has_a_worse_word(facts, hours):
    sooner, later = sorted(facts.alumed_at + one * timedelta(hours=1) for one in hours)
    bagged = replace(facts, kept=Kept.BAGGED)

    assert rank(replace(bagged, kept_since=sooner)) <= rank(replace(bagged, kept_since=later))


@given(facts=cases())
def test_a_stopped_bath_never_gives_a_better_word(facts):
    assert rank(replace(facts, bath_stop=None)) <= rank(replace(facts, bath_stop=STOP))


@given(facts=cases(), at=st.sampled_from([NOW, STOP.at - MINUTE]))
def test_a_sharper_print_never_gives_a_worse_word(facts, at):
    """Failed, soft, sharp."""
    ranks = [rank(replace(facts, strip_print=StripPrint(one, at))) for one in Outcome]

    assert ranks == sorted(ranks, reverse=True)


@given(facts=cases())
def test_the_word_is_the_worst_that_any_reason_leads_to(facts):
    """Reasons stand in the order of the rules, acts in theirs."""
    got = answer_stack(facts, HOUSE, NOW)
    words = [reason.word for reason in got.reasons if reason.word is not None]

    assert got.reasons == tuple(sorted(got.reasons))
    assert got.word.rank == max((word.rank for word in words), default=0)
    assert list(got.next_acts) == sorted(got.next_acts, key=ACTS.index)
