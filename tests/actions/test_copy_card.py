"""Copying a card: the order in which its rows come in changes nothing; all of it or nothing."""

import tempfile
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.actions.copy_card import (
    TO_COME,
    TOO_EARLY,
    TOO_OLD,
    CardLine,
    Copied,
    NotAll,
    copy_card,
    why_not_then,
)
from coop.actions.see_baths import volume_ml
from coop.ids import EntryId, Subject
from coop.ledger.entries import read_content
from coop.ledger.schema import Refused
from coop.ledger.table import KINDS
from tests.support.opened import Opened, furnished, mixed

BERLIN = ZoneInfo("Europe/Berlin")
DAYS = (date(2025, 9, 18), date(2025, 9, 18), date(2025, 9, 19))
PARTS = ("", "evening", "morning", "afternoon")
ROWS = 8


def opened(folder: str) -> tuple[Opened, str]:
    """Return a ledger with a bath mixed on Wednesday; it is Saturday."""
    house = furnished(Path(folder))
    bath = mixed(house)
    house.later(days=3)
    return house, bath


def line(house: Opened, bath: str, row: int, **changes: Any) -> CardLine:
    """Return a row of a card, each with another count."""
    body = {
        "bath": bath,
        "sheet_count": str(3 * row),
        "sheet_format": "half",
        "method": "dip",
        "lot": house.made["parcel"],
    }
    return CardLine(
        id=EntryId(house.new_id()),
        row=row,
        kind="sheets.through",
        day=DAYS[row % len(DAYS)],
        part=PARTS[row % len(PARTS)],
        initials="",
        body=body | changes,
        content=read_content(KINDS["sheets.through"], body | changes, ""),
    )


def copied(house: Opened, bath: str, lines: Iterable[CardLine]) -> Copied:
    with house.store.writing() as desk:
        journal = desk.journal
        return copy_card(
            journal,
            house.members["kahu"],
            journal.state("bath", Subject(bath)),
            tuple(lines),
            zone=BERLIN,
            now=house.moment,
        )


def told(house: Opened, bath: str) -> tuple[Any, ...]:
    """Return what the bath came to, without the ids of entries, which are made anew."""
    state = house.state("bath", bath)
    through = [(one.at, one.sheet_count, one.sheet_format) for one in state.through]
    return state.estimate.belief, state.estimate.plain, state.half_count, through


@settings(max_examples=12, deadline=None)
@given(st.permutations(range(ROWS)))
def test_rows_in_any_order_give_the_same_bath(order: list[int]) -> None:
    """A draft is folded by when it happened, not by when it was handed in."""
    found = []
    for turn in (range(ROWS), order):
        with tempfile.TemporaryDirectory() as folder:
            house, bath = opened(folder)
            lines = [line(house, bath, row) for row in range(1, ROWS + 1)]
            copied(house, bath, (lines[place] for place in turn))
            found.append(told(house, bath))
            house.store.close()

    assert found[0] == found[1]


@settings(max_examples=12, deadline=None)
@given(st.permutations(range(1, ROWS + 1)))
def test_where_a_row_stands_on_the_card_moves_the_bath_by_a_hair(rows: list[int]) -> None:
    """Nobody knows the order within a day; it must not matter to what may be used."""
    strengths = []
    for turn in (range(1, ROWS + 1), rows):
        with tempfile.TemporaryDirectory() as folder:
            house, bath = opened(folder)
            lines = [line(house, bath, row) for row in range(1, ROWS + 1)]
            copied(
                house,
                bath,
                (replace(one, row=place) for one, place in zip(lines, turn, strict=True)),
            )
            strengths.append(house.state("bath", bath).estimate.belief.strength_g_per_l)
            house.store.close()

    assert strengths[0] == pytest.approx(strengths[1], rel=1e-3)


def test_one_row_that_is_refused_keeps_the_others_out(tmp_path: Path) -> None:
    """The unit of work is undone; each wrong row is named by its own entry."""
    house, bath = opened(str(tmp_path))
    unknown = bath[:-4] + "0000"
    lines = [line(house, bath, 1), line(house, bath, 2, lot=unknown), line(house, bath, 3)]

    with pytest.raises(NotAll) as fault:
        copied(house, bath, lines)

    refused = {lines[1].id: Refused(field="lot", code="not-known")}
    assert dict(fault.value.outcomes) == refused
    assert house.state("bath", bath).half_count == 0


def test_what_was_written_before_is_not_written_again(tmp_path: Path) -> None:
    house, bath = opened(str(tmp_path))
    lines = [line(house, bath, 1), line(house, bath, 2)]
    first = copied(house, bath, lines)
    again = copied(house, bath, [*lines, line(house, bath, 3)])

    assert [one.already for one in first.written] == [False, False]
    assert sorted(one.already for one in again.written) == [False, True, True]
    assert house.state("bath", bath).half_count == 3 + 6 + 9


def test_a_card_says_how_the_bath_stood_before_it_and_after_it(tmp_path: Path) -> None:
    house, bath = opened(str(tmp_path))
    done = copied(house, bath, [line(house, bath, 1)])

    assert volume_ml(done.before) > volume_ml(done.after)
    assert done.after.at == done.before.at == house.moment


@pytest.mark.parametrize(
    ("day", "part", "code"),
    [
        (date(2025, 9, 16), "", TOO_EARLY),
        (date(2025, 9, 17), "morning", TOO_EARLY),
        (date(2025, 9, 17), "evening", ""),
        (date(2025, 9, 20), "", ""),
        (date(2025, 9, 20), "evening", ""),
        (date(2025, 9, 21), "", TO_COME),
        (date(2024, 9, 17), "", TOO_OLD),
    ],
)
def test_when_a_row_cannot_have_been(tmp_path: Path, day: date, part: str, code: str) -> None:
    """The bath was mixed on the 17th at 18:00; it is the 20th, 18:00."""
    house, bath = opened(str(tmp_path))

    state = house.state("bath", bath)

    assert why_not_then(state, day, part, zone=BERLIN, now=house.moment) == code


def test_a_card_that_came_late_is_told_where_it_changed_the_word(tmp_path: Path) -> None:
    """Somebody relied on what the page said before the card was copied."""
    house, bath = opened(str(tmp_path))
    many = [line(house, bath, row, sheet_count="60") for row in range(1, 11)]

    done = copied(house, bath, many)

    assert done.before.answer.word != done.after.answer.word
    with house.desk() as desk:
        (late,) = desk.journal.late(since=house.moment)
    assert (late.count, late.before, late.after) == (
        10,
        done.before.answer.word.value,
        done.after.answer.word.value,
    )
