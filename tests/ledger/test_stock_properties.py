"""Whatever is said of a shelf, in any order of arrival, stock is what it adds up to by hand."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.ledger.accounts import balances
from coop.ledger.entries import Entry
from coop.ledger.ports import Admission, Journal
from coop.store.rebuild import rebuild
from coop.store.verify import verify
from tests.support.histories import batches
from tests.support.ledgers import LATE, SqlBook, pg_book, sqlite_book
from tests.support.sayings import AMINA, LEDGER, on
from tests.support.shelves import SUBSTANCES, AddedUp, shelves
from tests.support.stock import shelf

TAKEN = Admission(at=LATE, by=AMINA)
moments = st.integers(10, 28).map(on)


def assert_adds_up(journal: Journal, sums: AddedUp, asked: dict[str, datetime]) -> None:
    """Hold every question that pages ask about stock against the sum of the entries."""
    held = sums.held()
    lots = {account for account, _ in held}
    of_known = {key for key in held if key[1] in SUBSTANCES.values()}

    assert known(journal.holding("lot")) == {key: held[key] for key in of_known}
    assert known(journal.held(lots)) == {key: held[key] for key in of_known}
    assert known(journal.since(asked)) == known(sums.since(asked))
    for week in ("2025-W30", "2025-W38", "2025-W40"):
        drawn = journal.drawn(SUBSTANCES.values(), week=week)
        found = {(one.substance, one.week, one.session): one.amount for one in drawn}
        assert found == sums.drawn(week)
        assert len(drawn) == len(found)
    assert journal.first_drawn(SUBSTANCES.values()) == sums.first_drawn()
    states = journal.listed("lot", live=False)
    assert {one.id: one.substance for one in states} == {
        id: SUBSTANCES[group] for id in sums.said if (group := sums.group(id)) is not None
    }


def known(sums: dict[tuple[str, str], int]) -> dict[tuple[str, str], int]:
    """Leave out what was said to come from lots that are not there."""
    return {key: amount for key, amount in sums.items() if key[1] in SUBSTANCES.values()}


def ask_of(draw: Any, sums: AddedUp) -> dict[str, datetime]:
    accounts = sorted({row.taker for row in sums.rows if row.taker.startswith("lot:")})
    return {account: draw(moments) for account in accounts}


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_stock_is_what_the_entries_add_up_to(data: st.DataObject) -> None:
    """Received, drawn, moved, put right, cut, and any of it corrected."""
    entries = data.draw(shelves())
    sums = AddedUp(entries)

    assert_adds_up(shelf(data.draw(st.permutations(entries))), sums, ask_of(data.draw, sums))


@settings(max_examples=40)
@given(st.data())
def test_nothing_of_any_supply_is_made_or_lost(data: st.DataObject) -> None:
    """Every gram that left one account came into another."""
    journal = shelf(data.draw(shelves()))
    views = [
        journal.folded(sort, one.id).moves
        for sort in ("lot", "bath", "stack")
        for one in journal.listed(sort, live=False)
    ]
    sums: dict[str, int] = {}
    for (_, substance), amount in balances(m for moves in views for m in moves).items():
        sums[substance] = sums.get(substance, 0) + amount

    assert set(sums.values()) <= {0}


def take_in(book: SqlBook, cut: list[tuple[list[Entry], bool]]) -> None:
    for batch, fold in cut:
        with book.writing() as journal:
            journal.append(batch, TAKEN, fold=fold)


def assert_kept_adds_up(book: SqlBook, data: st.DataObject) -> None:
    """Stale folds among kept ones first, then with all of them folded, then made anew."""
    entries = data.draw(shelves())
    sums = AddedUp(entries)
    asked = ask_of(data.draw, sums)
    take_in(book, data.draw(batches(entries)))

    with book.reading() as journal:
        assert_adds_up(journal, sums, asked)
    with book.writing() as journal:
        while journal.refold():
            pass
    with book.store.reading() as desk:
        assert_adds_up(desk.journal, sums, asked)
        assert verify(desk.connection, LEDGER).problems == ()
    rebuild(book.store)
    with book.reading() as journal:
        assert_adds_up(journal, sums, asked)


@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_what_is_kept_on_sqlite_adds_up(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("book")) as book:
        assert_kept_adds_up(book, data)


@pytest.mark.postgresql
@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.data())
def test_what_is_kept_on_postgresql_adds_up(
    pg_server: str, pg_template: str, data: st.DataObject
) -> None:
    with pg_book(pg_server, pg_template) as book:
        assert_kept_adds_up(book, data)
