"""Throw every cache away and work it out again from the journal."""

from collections.abc import Iterator

from sqlalchemy import Connection, delete, select

from coop.ledger.entries import Sealed
from coop.ledger.ports import BATCH_MAX
from coop.ledger.table import TOUCH_VERSION
from coop.store import settings_table, tables
from coop.store.desk import Store
from coop.store.folds import recount_arrivals
from coop.store.journal import SqlJournal

_ALL = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.entry, tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .order_by(tables.entry.c.digest)
)


def rebuild(store: Store) -> int:
    """
    Empty the caches, link every entry, and fold everything; return how many folds that were.

    Which entries concern whom is written in one unit of work; from then on pages fold in
    memory what is not kept yet, so the ledger reads the same while this goes on.
    """
    with store.writing() as desk:
        for table in tables.CACHES:
            desk.connection.execute(delete(table))
        for part in every_entry(desk.connection, desk.journal):
            desk.journal.link(part, fold=False)
        recount_arrivals(desk.connection)
        settings_table.write(desk.connection, settings_table.TOUCHES, TOUCH_VERSION)
    return refold_all(store)


def bring_up(store: Store) -> int:
    """
    Work out what an older release left otherwise; return how many folds that were.

    What entries touch is written anew where this release says otherwise: without it an old
    lot would stand in no supply, and the order list would not know of it.
    """
    with store.reading() as desk:
        new = settings_table.has_new_touches(desk.connection)
    return refold_all(store) if new else rebuild(store)


def refold_all(store: Store) -> int:
    """Fold what is stale, one part in each unit of work; return how many folds that were."""
    count = 0
    while True:
        with store.writing() as desk:
            folded = desk.journal.refold()
        if not folded:
            return count
        count += folded


def every_entry(connection: Connection, journal: SqlJournal) -> Iterator[tuple[Sealed, ...]]:
    """Read every entry with its seals, in parts; entries of a part are whole."""
    rows = connection.execute(_ALL, execution_options={"yield_per": BATCH_MAX})
    for part in rows.partitions():
        yield journal.sealed(part)
