"""The demo's stories, told: at whatever hour, in order, and no line half understood."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.follow import alerts
from coop.actions.see_baths import see_any
from coop.actions.see_stacks import see_stacks
from coop.actions.tell import (
    Member,
    StoryError,
    by_calendar,
    by_day,
    read_story,
    tell,
    weeks_until,
)
from coop.cli import invented
from coop.ids import LedgerId, NodeId
from coop.ledger.ports import Journal
from tests.support.memory import MemoryJournal
from tests.support.sayings import LEDGER, NODE
from tests.support.story import AFTERWARDS, BERLIN, told

DAYS = [datetime(2026, 11, 23, tzinfo=BERLIN) + timedelta(days=n) for n in range(7)]
twenty_years_h = st.integers(0, 20 * 365 * 24)
moments = twenty_years_h.map(
    lambda hours: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hours)
)
MOMENTS = [day.replace(hour=hour) for day in DAYS for hour in (7, 23)]


@pytest.mark.parametrize("now", MOMENTS, ids=lambda now: f"{now:%a-%H}")
def test_the_demo_shows_every_word_at_whatever_hour_somebody_looks(
    now: datetime, tmp_path: Path
) -> None:
    """Five words among alum and sizes; and a tub is free for the visitor's own bath."""
    with told(tmp_path, now, seed=now.isoformat()) as store, store.reading() as desk:
        journal = desk.journal
        baths = journal.listed("bath", live=False)
        looks = [(one.what, see_any(journal, one, now=now)) for one in baths]
        tubs = {one.name: one for one in journal.listed("vessel", live=False)}
        sealed = [one for bath in baths for one in journal.touching(bath.id)]

    words: dict[str, set[str]] = {"alum": set(), "size": set()}
    for what, look in looks:
        words[what].add(look.answer.word.value)
    assert words["alum"] == {"good", "look-again", "do-not-use", "finished"}
    assert words["size"] == {"good", "look-again", "resting", "finished"}
    assert tubs["spare tub"].last_bath is None
    assert all(one.entry.happened_at <= one.first.admitted_at <= now for one in sealed)
    late = [one for one in sealed if one.first.admitted_at > one.entry.happened_at]
    assert {one.entry.kind for one in late} >= {"bath.topped_up", "sheets.through"}


@pytest.mark.parametrize("now", [MOMENTS[0], MOMENTS[-1]], ids=lambda now: f"{now:%a-%H}")
def test_stacks_wait_on_the_rack_in_a_bag_and_too_long_in_the_open(
    now: datetime, tmp_path: Path
) -> None:
    """A visitor finds one of each, one of a bath that was stopped, and a size that is kept."""
    with told(tmp_path, now) as store, store.reading() as desk:
        stacks = see_stacks(desk.journal, now=now)
        told_of = alerts(
            desk.journal, desk.journal.listed("bath"), desk.journal.listed("stack")
        )
        kept = [one for one in desk.journal.listed("bath") if one.kept_for]

    found = {(one.state.state, one.state.dried): one for one in stacks}
    assert set(found) == {
        ("bagged", "line"), ("bagged", "rack"), ("open", "blotters"), ("open", "rack"),
    }  # fmt: skip
    assert found["open", "blotters"].stale
    assert not found["bagged", "line"].stale
    of_stopped = found["bagged", "rack"]
    assert [one.code for one in of_stopped.answer.reasons] == ["its-bath-was-stopped"]
    assert [one.people for one in told_of] == [((of_stopped.state.by, False),)]
    assert [(one.what, one.kept_for.session) for one in kept] == [("size", "Saturday class")]


@given(moments)
def test_the_weeks_keep_their_weekdays_and_end_last_week(now: datetime) -> None:
    """Saturdays stay Saturdays; the last day is the Sunday before this week's Monday."""
    today = now.astimezone(BERLIN).date()
    place = by_calendar(BERLIN, weeks_until(invented.STORY_END, today))
    last = place("2025-11-09 17:00")

    assert place("2025-11-08 10:00").weekday() == 5
    assert last.weekday() == 6
    assert timedelta(0) < today - last.date() <= timedelta(days=7)
    assert last < now


@given(moments)
def test_yesterday_is_the_day_before_by_the_studios_clock(now: datetime) -> None:
    today = now.astimezone(BERLIN).date()
    placed = by_day(BERLIN, now)("-1d 18:40")

    assert today - placed.date() == timedelta(days=1)
    assert (placed.hour, placed.minute) == (18, 40)


@given(moments)
def test_three_hours_ago_is_so_whatever_the_clock_did(now: datetime) -> None:
    """Also over the night in which the clocks change; to the minute."""
    placed = by_day(BERLIN, now)("-3h")

    assert timedelta(0) <= now - placed - timedelta(hours=3) < timedelta(minutes=1)
    assert placed.tzinfo is BERLIN


@given(moments)
def test_the_class_to_come_is_on_the_next_saturday(now: datetime) -> None:
    """Also when somebody looks on a Saturday: today's would have begun."""
    placed = by_day(BERLIN, now)("sat 10:00")

    assert (placed.isoweekday(), placed.hour, placed.minute) == (6, 10, 0)
    assert 1 <= (placed.date() - now.astimezone(BERLIN).date()).days <= 7


def test_days_and_moments_within_a_line_are_moved_with_it() -> None:
    """A class is on a Saturday in the story, so it is on one in the demo."""
    body = {
        "starts": "@2025-10-04 10:00",
        "needs": [{"by": "@2025-10-03"}],
        "name": "4 people @ 10",
    }
    record = PAPER | {"body": body}
    (line,) = read_story(json.dumps(record), by_calendar(BERLIN, timedelta(weeks=5)))

    assert line.body == {
        "starts": "2025-11-08T10:00:00+01:00",
        "needs": [{"by": "2025-11-07"}],
        "name": "4 people @ 10",
    }


CAST = (Member(key="amina", name="Amina K.", initials="AK", roles=("member", "coordinator")),)
PAPER = {
    "at": "2025-09-01 09:00",
    "who": "amina",
    "kind": "lot.received",
    "body": {"studio": "$nowhere", "what": "paper", "name": "P-31", "sheet_count": "60"},
}


def retell(*records: dict[str, object]) -> Journal:
    journal = MemoryJournal(ledger=LedgerId(LEDGER), node=NodeId(NODE))
    text = "\n".join(json.dumps(one) for one in records)
    lines = read_story(text, by_calendar(BERLIN, timedelta(0)))
    tell(
        journal, lines, CAST, name="Test", zone="Europe/Berlin", now=AFTERWARDS,
        random=Random(1).randbytes,
    )  # fmt: skip
    return journal


@pytest.mark.parametrize(
    ("record", "why"),
    [
        (PAPER, "'nowhere' was not told of before"),
        (PAPER | {"who": "zelda"}, "nobody is called zelda"),
        (PAPER | {"kind": "lot.sung", "body": {}}, "2025-09-01 09:00 lot.sung"),
        ({"at": "2025-09-01 09:00"}, "line 1: 'who' is missing"),
        (PAPER | {"at": "some day"}, "line 1: .*some day"),
        (PAPER | {"body": {"starts": "@some day"}}, "line 1: .*some day"),
    ],
)
def test_a_line_that_cannot_be_told_is_named(record: dict[str, object], why: str) -> None:
    """Half a story told is worse than none: the teller stops at the line."""
    with pytest.raises(StoryError, match=why):
        retell(record)


def test_a_story_of_nothing_still_opens_the_ledger() -> None:
    journal = retell()

    assert [one.roles for one in journal.listed("member")] == [("member", "coordinator")]
