"""
The demo's stories: their figures against the worked story they were written from.

The story of three weeks in an invented studio was reckoned by hand and by a small script of
its own: 140 mL of bath leave with a square metre dipped, full sheets are 0.35 m2 and halves
0.175 m2, and a level tablespoon of the fine powder weighs 11.1 g. Its table is `WEEKS` below.
All of it is invented; the sums are plain book-keeping.
"""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.see_baths import look_at_all, see_past
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
from coop.ids import LedgerId, NodeId, Subject
from coop.ledger.accounts import UG_PER_G, account
from coop.ledger.ports import Journal
from coop.rules.baths import BathLook
from coop.science.bath_answers import balances
from coop.store import migrate
from coop.store.desk import Store, start_ledger
from tests.support.memory import MemoryJournal
from tests.support.sayings import LEDGER, NODE

BERLIN = ZoneInfo("Europe/Berlin")
# The last day of the week after the story's own: nothing of it has to be moved, and what
# "yesterday" tells comes after the story's last top-up.
AFTERWARDS = datetime(2025, 9, 28, 12, 0, tzinfo=BERLIN)

# When, bath, litres, strength [g/L]: as the bath stands after that day's entry.
WEEKS = (
    ("2025-09-01 12:00", "R-A1", 12.0, 40.0),
    ("2025-09-02 12:00", "R-A1", 10.04, 40.0),
    ("2025-09-04 20:00", "R-A1", 8.57, 40.0),
    ("2025-09-05 12:00", "B-A1", 8.0, 40.0),
    ("2025-09-06 12:00", "B-A1", 7.12, 40.0),
    ("2025-09-09 20:00", "R-A1", 7.39, 40.0),
    ("2025-09-10 12:00", "R-A1", 11.39, 40.0),
    ("2025-09-11 12:00", "R-A1", 8.94, 40.0),
    ("2025-09-13 12:00", "B-A1", 6.38, 40.0),
    ("2025-09-16 12:00", "R-A1", 7.47, 40.0),
    ("2025-09-17 20:00", "R-A2", 11.36, 23.5),
    ("2025-09-18 18:30", "R-A2", 10.38, 23.5),
    ("2025-09-18 20:00", "R-A2", 13.38, 18.2),
    ("2025-09-20 12:00", "R-A2", 12.25, 18.2),
)
ALUM_LEFT = (
    ("2025-09-01 12:00", 2720),
    ("2025-09-05 12:00", 2400),
    ("2025-09-10 12:00", 2240),
    ("2025-09-12 12:00", 7240),
    ("2025-09-17 20:00", 6974),
)
DAYS = [datetime(2026, 11, 23, tzinfo=BERLIN) + timedelta(days=n) for n in range(7)]
twenty_years_h = st.integers(0, 20 * 365 * 24)
moments = twenty_years_h.map(
    lambda hours: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hours)
)
MOMENTS = [day.replace(hour=hour) for day in DAYS for hour in (7, 23)]


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN)


def started(folder: Path) -> Store:
    url = f"sqlite:///{folder / 'coop.db'}"
    migrate.upgrade(url)
    return start_ledger(url, ledger=LedgerId(LEDGER), node=NodeId(NODE))


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Both stories, with the weeks where they were written."""
    store = started(tmp_path_factory.mktemp("told"))
    with store.writing() as desk:
        invented.tell_demo(desk.journal, now=AFTERWARDS, random=Random(1).randbytes)
    yield store
    store.close()


@pytest.fixture
def journal(told: Store) -> Iterator[Journal]:
    with told.reading() as desk:
        yield desk.journal


def bath_of(journal: Journal, name: str) -> Subject:
    found: list[Subject] = [
        one.id for one in journal.listed("bath", live=False) if one.name == name
    ]
    return min(found)  # the earliest of that name


def seen(journal: Journal, name: str, when: datetime, *, known: bool = False) -> BathLook:
    look = see_past(journal, bath_of(journal, name), at=when, known=known)
    assert look is not None
    return look


@pytest.mark.parametrize(("when", "name", "litres", "strength_g_per_l"), WEEKS)
def test_the_balance_by_hand_gives_the_storys_figures(
    journal: Journal, when: str, name: str, litres: float, strength_g_per_l: float
) -> None:
    plain = seen(journal, name, at(when)).state.estimate.plain

    assert plain.volume_ml / 1000 == pytest.approx(litres, abs=0.0051)
    assert plain.strength_g_per_l == pytest.approx(strength_g_per_l, abs=0.051)


@pytest.mark.parametrize(("when", "name", "litres", "strength_g_per_l"), WEEKS)
def test_what_is_believed_of_a_bath_holds_the_storys_figures(
    journal: Journal, when: str, name: str, litres: float, strength_g_per_l: float
) -> None:
    """The 90 % interval, with all that is known now."""
    strength = seen(journal, name, at(when)).strength

    assert strength.low_g_per_l <= strength_g_per_l <= strength.high_g_per_l
    assert strength.volume_low_l <= litres <= strength.volume_high_l


@pytest.mark.parametrize(("when", "grams"), ALUM_LEFT)
def test_the_tubs_of_alum_hold_what_the_story_says(
    journal: Journal, when: str, grams: int
) -> None:
    """Summed over both tubs, the rows of lots and baths as they stood at that moment."""
    view = journal.view()
    lots = {account("lot", one.id) for one in journal.listed("lot", live=False) if one.salt}
    moves = [
        move
        for sort in ("lot", "bath")
        for one in journal.listed(sort, live=False)
        for move in view.see(sort, one.id, at=at(when)).moves
    ]
    came = sum(move.amount for move in moves if move.to_account in lots)
    went = sum(move.amount for move in moves if move.from_account in lots)

    assert len(lots) == 3
    assert round((came - went) / UG_PER_G) == grams


def test_the_weak_bath_was_believed_strong_until_its_spoon_was_weighed(
    journal: Journal,
) -> None:
    """A card that says only "8 tablespoons to a gallon": 31 (23 to 42), by the usual spoon."""
    strength = seen(journal, "R-A2", at("2025-09-17 18:30"), known=True).strength

    assert round(strength.middle_g_per_l) == 31
    assert round(strength.low_g_per_l) == 23
    assert round(strength.high_g_per_l) == 42


def test_water_poured_in_offline_was_not_known_before_its_phone_came_back(
    journal: Journal,
) -> None:
    evening = seen(journal, "R-A2", at("2025-09-18 20:00"), known=True).strength
    morning = seen(journal, "R-A2", at("2025-09-19 08:00"), known=True).strength

    assert round(evening.middle_g_per_l) == 31
    assert round(morning.middle_g_per_l) == 24
    assert morning.volume_l == pytest.approx(evening.volume_l + 3, abs=0.1)


@pytest.mark.parametrize(
    ("when", "weighed_g_per_l"), [("2025-09-17 18:30", 23.5), ("2025-09-20 12:00", 18.2)]
)
def test_a_spoon_weighed_on_sunday_mends_wednesdays_bath(
    journal: Journal, when: str, weighed_g_per_l: float
) -> None:
    """266.4 g in 11.36 L; the page still shows what was believed before."""
    now = seen(journal, "R-A2", at(when)).strength
    then = seen(journal, "R-A2", at(when), known=True).strength

    assert now.middle_g_per_l == pytest.approx(weighed_g_per_l, abs=0.3)
    assert then.middle_g_per_l > now.middle_g_per_l + 5


def test_38_of_86_half_sheets_of_the_weak_bath_came_out_spoiled(journal: Journal) -> None:
    weak = bath_of(journal, "R-A2")
    stacks = [one for one in journal.listed("stack", live=False) if one.bath == weak]

    assert sum(one.sheet_count for one in stacks) == 86
    assert sum(count for one in stacks for _, count in one.spoiled) == 38


def test_228_sheets_went_through_the_bath_that_was_let_go(journal: Journal) -> None:
    state = journal.state("bath", bath_of(journal, "R-A1"))

    assert state.full_count + state.half_count == 228
    assert state.finish_reason == "tinted"


def test_every_bath_adds_up_to_the_last_drop_and_grain(journal: Journal) -> None:
    """Where did it go? In, off with sheets, to air, bound, poured out, unexplained, left."""
    looks = look_at_all(journal, journal.listed("bath", live=False), now=AFTERWARDS)

    assert len(looks) == 7
    for look in looks:
        for one in balances(estimate=look.state.estimate):
            gone = one.off_with_sheets + one.to_air + one.bound + one.poured_out
            assert one.came_in > 0
            assert one.left == pytest.approx(one.came_in - gone + one.unexplained, abs=1e-6)


@pytest.mark.parametrize("now", MOMENTS, ids=lambda now: f"{now:%a-%H}")
def test_the_demo_shows_every_word_at_whatever_hour_somebody_looks(
    now: datetime, tmp_path: Path
) -> None:
    """Good, look again, do not use, finished; and a tub is free for the visitor's own bath."""
    store = started(tmp_path)
    with store.writing() as desk:
        invented.tell_demo(desk.journal, now=now, random=Random(now.isoformat()).randbytes)
        journal = desk.journal
        looks = look_at_all(journal, journal.listed("bath", live=False), now=now)
        tubs = {one.name: one for one in journal.listed("vessel", live=False)}
        sealed = [one for look in looks for one in journal.touching(look.state.id)]
    store.close()

    words = {look.answer.word.value for look in looks if not look.state.finished_at}
    assert words == {"good", "look-again", "do-not-use"}
    assert {look.answer.word.value for look in looks if look.state.finished_at} == {"finished"}
    assert tubs["spare tub"].last_bath is None
    assert all(one.entry.happened_at <= one.first.admitted_at <= now for one in sealed)
    late = [one for one in sealed if one.first.admitted_at > one.entry.happened_at]
    assert {one.entry.kind for one in late} >= {"bath.topped_up", "sheets.through"}


@given(moments)
def test_the_weeks_keep_their_weekdays_and_end_last_week(now: datetime) -> None:
    """Saturdays stay Saturdays; the last day is the Sunday before this week's Monday."""
    today = now.astimezone(BERLIN).date()
    place = by_calendar(BERLIN, weeks_until(invented.STORY_END, today))
    last = place("2025-09-21 11:00")

    assert place("2025-09-20 10:00").weekday() == 5
    assert last.weekday() == 6
    assert timedelta(0) < today - last.date() <= timedelta(days=7)
    assert last < now


@given(moments)
def test_yesterday_is_the_day_before_by_the_studios_clock(now: datetime) -> None:
    today = now.astimezone(BERLIN).date()
    placed = by_day(BERLIN, today)("-1d 18:40")

    assert today - placed.date() == timedelta(days=1)
    assert (placed.hour, placed.minute) == (18, 40)


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
    ],
)
def test_a_line_that_cannot_be_told_is_named(record: dict[str, object], why: str) -> None:
    """Half a story told is worse than none: the teller stops at the line."""
    with pytest.raises(StoryError, match=why):
        retell(record)


def test_a_story_of_nothing_still_opens_the_ledger() -> None:
    journal = retell()

    assert [one.roles for one in journal.listed("member")] == [("member", "coordinator")]
