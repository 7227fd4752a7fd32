"""When the word would change if nobody does anything."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.reasons import Word
from coop.rules.use import HORIZON_MAX_DAYS, answer, turning_points, turns_at
from tests.rules.at_hand import HOUSE, NOW, bath

DAY, MINUTE = timedelta(days=1), timedelta(minutes=1)
HORIZON = 60


def turns(facts, *, now=NOW, horizon_days=HORIZON):
    return turns_at(
        lambda moment: answer(facts, HOUSE, moment),
        now,
        turning_points(facts, HOUSE),
        horizon_days,
    )


def drying(*, from_l, l_per_day):
    """Return the answer of an open bath that loses so much water a day."""

    def answer_at(moment):
        gone = (moment - NOW) / DAY * l_per_day
        left = max(0.0, from_l - gone)
        return answer(bath(volume_l=left, strength_g_per_l=40.0), HOUSE, moment)

    return answer_at


def test_a_resting_bath_turns_good_at_the_very_minute():
    """The offline page says from when on it may be used."""
    ready = NOW + timedelta(hours=7, minutes=23)
    moment, then = turns(bath(rest_until=ready))

    assert (moment, then.word, then.at) == (ready, Word.GOOD, ready)


def test_a_good_bath_turns_28_days_after_it_was_mixed():
    """Not a minute earlier."""
    moment, then = turns(bath())

    assert moment == bath().mixed_at + 28 * DAY
    assert then.reasons[0].code == "strip-print-due"
    assert answer(bath(), HOUSE, moment - MINUTE).word is Word.GOOD


def test_a_passed_strip_print_moves_the_turn():
    passed = bath(mixed_at=NOW - 50 * DAY, passed_strip_print_at=NOW - 3 * DAY)

    assert turns(passed)[0] == NOW + 25 * DAY


def test_a_stopped_or_finished_bath_does_not_turn_by_itself():
    """Only a person allows it again."""
    assert turns(bath(finished_at=NOW)) is None
    assert turns(bath(strength_g_per_l=20.0)) is None


def test_beyond_the_horizon_nobody_looks():
    assert turns(bath(), horizon_days=26) is None
    assert turns(bath(), horizon_days=27) is not None


def test_what_has_passed_is_no_turn():
    """The rest was over yesterday."""
    moment, _ = turns(bath(rest_until=NOW - DAY))

    assert moment == bath().mixed_at + 28 * DAY


def test_only_the_first_of_several_turns_is_told():
    """Resting, then good, then look again: tonight's turn matters."""
    facts = bath(rest_until=NOW + timedelta(hours=2))

    assert turns(facts)[0] == NOW + timedelta(hours=2)


@given(from_l=st.floats(6.01, 14), l_per_day=st.floats(0.05, 3))
def test_drying_up_is_found_to_the_minute(from_l, l_per_day):
    """An open bath gets too low between two days; nobody named the moment before."""
    true = NOW + (from_l - 6.0) / l_per_day * DAY
    answer_at = drying(from_l=from_l, l_per_day=l_per_day)
    found = turns_at(answer_at, NOW, (), HORIZON)

    if true > min(NOW + HORIZON * DAY, bath().mixed_at + 28 * DAY):
        assert found is None or found[1].reasons[0].code == "strip-print-due"
    else:
        assert found is not None
        assert found[1].word is Word.DO_NOT_USE
        assert timedelta(0) <= found[0] - true + timedelta(seconds=1) <= 2 * MINUTE


def test_the_turn_is_told_in_the_zone_that_was_asked_in():
    """Across the end of summer time, when one hour comes twice."""
    studio = ZoneInfo("Europe/Vienna")
    now = datetime(2025, 10, 25, 20, 0, tzinfo=studio)
    ready = datetime(2025, 10, 26, 1, 30, tzinfo=UTC)
    moment, then = turns(bath(mixed_at=now, rest_until=ready), now=now)

    assert moment.tzinfo is studio
    assert (moment.utcoffset(), moment.hour, moment.fold) == (timedelta(hours=1), 2, 1)
    assert moment.astimezone(UTC) == ready
    assert then.word is Word.GOOD


@pytest.mark.parametrize("days", [0, -1, HORIZON_MAX_DAYS + 1])
def test_a_horizon_has_its_limit(days):
    with pytest.raises(AssertionError, match="1 to 366 days"):
        turns(bath(), horizon_days=days)


def test_a_year_ahead_asks_at_most_once_a_day_and_then_halves():
    """The snapshot asks this for every open bath."""
    asked = []

    def answer_at(moment):
        asked.append(moment)
        return answer(bath(strength_g_per_l=20.0), HOUSE, moment)

    assert turns_at(answer_at, NOW, (), HORIZON_MAX_DAYS) is None
    assert len(asked) == HORIZON_MAX_DAYS + 1
