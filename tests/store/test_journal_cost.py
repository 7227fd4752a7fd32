"""What the journal costs does not grow with what is in it."""

import pytest

from coop.ledger.entries import Entry
from coop.ledger.ports import Admission
from coop.ledger.ways_out import to_go
from coop.store.engines import count_queries
from tests.support.ledgers import LATE, SqlBook, take_in
from tests.support.sayings import (
    AMINA,
    BATH,
    STUDIO,
    an_id,
    described,
    mixed,
    on,
    say,
    through,
)

STATEMENTS_MAX = 22


def filled(book: SqlBook, count: int) -> None:
    take_in(book, [*described(), mixed()])
    take_in(book, sheets(count))


def sheets(count: int) -> list[Entry]:
    return [through(an_id(100 + n), 1, at=on(18, n % 24, n // 24)) for n in range(count)]


def statements_of_a_write(book: SqlBook) -> list[str]:
    last = through(an_id(999), 20, at=on(28))
    with count_queries(book.store.engines.writer) as counted, book.writing() as journal:
        journal.append([last], Admission(at=LATE, by=AMINA))
    with book.reading() as journal:
        assert journal.folded("bath", BATH).state.through[-1].entry == last.id
    return counted.statements


@pytest.mark.parametrize("count", [1, 60])
def test_logging_sheets_takes_the_same_statements_at_any_length_of_a_bath(
    sqlite: SqlBook, count: int
) -> None:
    """A day at the tub: sixty entries, and the sixtieth is as quick as the first."""
    filled(sqlite, count)

    assert len(statements_of_a_write(sqlite)) <= STATEMENTS_MAX


def test_a_bath_is_not_read_again_to_add_to_its_end(sqlite: SqlBook) -> None:
    filled(sqlite, 60)
    reads = [one for one in statements_of_a_write(sqlite) if "touch.subject" in one]

    assert not [one for one in reads if one.startswith("SELECT entry.bytes")]


def test_a_batch_is_folded_in_few_statements(sqlite: SqlBook) -> None:
    """Two hundred stacks are kept with one statement to a table, not eight to a stack."""
    take_in(sqlite, [*described(), mixed()])
    take_in(sqlite, sheets(100), fold=False)
    with count_queries(sqlite.store.engines.writer) as counted, sqlite.writing() as journal:
        folded = journal.refold()

    assert folded == 101
    assert counted.count <= 40


def test_what_several_lists_have_read_is_not_read_again(sqlite: SqlBook) -> None:
    """A page lists the old baths, then asks of each by itself what may become of it."""
    end = say("bath.finished", an_id(44), at=on(19), bath=BATH, reason="too_weak")
    take_in(sqlite, [*described(), mixed(), end])
    with count_queries(sqlite.store.engines.reader) as counted, sqlite.reading() as journal:
        (bath,) = journal.listed_in("bath", (to_go(STUDIO),))
        listing = counted.count
        assert journal.state("bath", BATH) == bath
        assert counted.count == listing
        journal.view().see("bath", BATH, at=on(18))
        seen = counted.count
        journal.view().see("bath", BATH, at=on(19))

    assert counted.count == seen, "its history is read once, to see it as it was"


@pytest.mark.parametrize("what", ["stale", "listed"])
def test_lists_are_found_by_an_index(sqlite: SqlBook, what: str) -> None:
    """In a ledger of a hundred thousand entries the room asks for five baths, not for all."""
    filled(sqlite, 1)
    with count_queries(sqlite.store.engines.reader) as counted, sqlite.reading() as journal:
        journal.listed("bath")
    with sqlite.store.reading() as desk:
        plans = [
            " ".join(
                row.detail
                for row in desk.connection.exec_driver_sql(
                    f"EXPLAIN QUERY PLAN {statement}", ("bath",) * statement.count("?")
                )
            )
            for statement in counted.statements
        ]

    found = {"listed": "ix_fold_sort", "stale": "ix_fold_stale"}[what]
    assert [plan for plan in plans if found in plan]
    assert not [plan for plan in plans if plan.startswith("SCAN fold") and "INDEX" not in plan]
