"""The store opened: a desk with the journal on it, for one unit of work."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from sqlalchemy import Connection

from coop.ids import LedgerId, NodeId
from coop.ledger.table import TOUCH_VERSION
from coop.store import settings_table
from coop.store.engines import Engines, open_engines
from coop.store.folds import mark_old_folds
from coop.store.journal import EntryMemory, SqlJournal


class NotInitialised(Exception):
    """The database holds no ledger yet."""


@dataclass(frozen=True, slots=True)
class Desk:
    """One unit of work: the journal, and the connection for what is not in it."""

    connection: Connection
    journal: SqlJournal


@dataclass(frozen=True, slots=True)
class Store:
    """A database that holds a ledger, open for many readers and one writer."""

    engines: Engines
    ledger: LedgerId
    node: NodeId
    _memory: EntryMemory = field(default_factory=EntryMemory)

    @contextmanager
    def reading(self) -> Iterator[Desk]:
        """Give one unchanging view."""
        with self.engines.reading() as connection:
            yield self._desk(connection)

    @contextmanager
    def writing(self) -> Iterator[Desk]:
        """Give the one writer: return to keep, raise to undo."""
        with self.engines.writing() as connection:
            yield self._desk(connection)

    def close(self) -> None:
        """Let go of all connections."""
        self.engines.close()

    def _desk(self, connection: Connection) -> Desk:
        journal = SqlJournal(
            connection, ledger=self.ledger, node=self.node, memory=self._memory
        )
        return Desk(connection, journal)


def open_store(url: str) -> Store:
    """
    Open a database that `start_ledger` has prepared; folds of another version go stale.

    Raises:
        NotInitialised: There is no ledger in it.
    """
    engines = open_engines(url)
    try:
        with engines.writing() as connection:
            ledger = settings_table.ledger_id(connection)
            node = settings_table.node_id(connection)
            if ledger is None or node is None:
                raise NotInitialised(url)
            mark_old_folds(connection)
    except Exception:
        engines.close()
        raise
    return Store(engines, ledger, node)


def start_ledger(url: str, *, ledger: LedgerId, node: NodeId) -> Store:
    """Give an empty, migrated database its ledger and node ids, and open it."""
    engines = open_engines(url)
    with engines.writing() as connection:
        settings_table.write(connection, settings_table.LEDGER_ID, ledger)
        settings_table.write(connection, settings_table.NODE_ID, node)
        settings_table.write(connection, settings_table.TOUCHES, TOUCH_VERSION)
    engines.close()
    return open_store(url)
