"""Random histories, in any order and any batches: every copy comes to the same ledger."""

from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from coop.ledger.accounts import balances
from coop.ledger.digest import differences, state_digest
from coop.ledger.entries import Entry
from coop.ledger.ports import Admission, Journal
from coop.ledger.table import Touch
from coop.ledger.view import FOLDS, View, family_touches
from coop.store import tables
from coop.store.journal import SqlJournal
from coop.store.verify import verify
from tests.support.histories import batches, histories
from tests.support.ledgers import LATE, SqlBook, sqlite_book
from tests.support.memory import MemoryJournal
from tests.support.sayings import AMINA, LEDGER, NODE

TAKEN = Admission(at=LATE, by=AMINA)
QUICK = settings(max_examples=40)


def subjects(entries: Iterable[Entry]) -> list[Touch]:
    families: dict[str, list[Entry]] = {}
    for entry in entries:
        families.setdefault(getattr(entry.content, "target", entry.id), []).append(entry)
    touches = dict.fromkeys(t for family in families.values() for t in family_touches(family))
    return [touch for touch in touches if touch[0] in FOLDS]


def digest(journal: Journal, entries: list[Entry]):
    sealed = [one for entry in entries for one in journal.by_id(entry.id)]
    moves = [
        move
        for sort, subject in subjects(entries)
        for move in journal.folded(sort, subject).moves
    ]
    return state_digest({one.entry.digest: one for one in sealed}.values(), moves)


def write(book: SqlBook, cut) -> None:
    for batch, fold in cut:
        with book.writing() as journal:
            journal.append(batch, TAKEN, fold=fold)


def assert_as_from_scratch(journal: SqlJournal, entries: list[Entry]) -> None:
    scratch = View(journal.touching)
    for sort, subject in subjects(entries):
        kept, anew = journal.folded(sort, subject), scratch.folded(sort, subject)
        assert differences(kept.state, anew.state) == [], (sort, subject)
        assert kept.moves == anew.moves, (sort, subject)
        assert kept.findings == anew.findings, (sort, subject)
        assert (kept.home, kept.live, kept.place) == (anew.home, anew.live, anew.place)


@QUICK
@given(st.data())
def test_what_is_kept_is_what_a_fold_from_scratch_gives(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Folds continued, kept, marked stale and folded again must never drift."""
    entries = data.draw(histories())
    cut = data.draw(batches(entries))
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("book")) as book:
        write(book, cut)

        with book.reading() as journal:
            assert_as_from_scratch(journal, entries)
        with book.writing() as journal:
            while journal.refold():
                pass
        with book.store.reading() as desk:
            assert_as_from_scratch(desk.journal, entries)
            assert verify(desk.connection, LEDGER).problems == ()
            rows = desk.connection.execute(select(tables.fold.c.sort, tables.fold.c.subject))
            assert {(sort, subject) for sort, subject in rows} <= set(subjects(entries))


@QUICK
@given(st.data())
def test_arrival_and_batches_change_nothing(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Merging two copies is set union; who was heard first is no fact of the studio."""
    entries = data.draw(histories())
    plain = MemoryJournal(ledger=LEDGER, node=NODE)
    plain.append(entries, TAKEN)
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("book")) as book:
        write(book, data.draw(batches(entries)))

        with book.reading() as journal:
            assert digest(journal, entries) == digest(plain, entries)


@QUICK
@given(st.data())
def test_every_sum_is_the_brute_force_sum_and_all_sums_come_to_nothing(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Every gram and every sheet has an answer to 'where did it go?'."""
    entries = data.draw(histories())
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("book")) as book:
        write(book, data.draw(batches(entries)))

        with book.reading() as journal:
            moves = [
                move
                for sort, subject in subjects(entries)
                for move in View(journal.touching).folded(sort, subject).moves
            ]
            sums = balances(moves)
            held = {key: amount for key, amount in sums.items() if amount}
            assert journal.held({name for name, _ in sums}) == held
            by_substance: Counter[str] = Counter()
            for (_, substance), amount in sums.items():
                by_substance[substance] += amount
            assert set(by_substance.values()) <= {0}
            assert all(m.amount > 0 and m.from_account != m.to_account for m in moves)
