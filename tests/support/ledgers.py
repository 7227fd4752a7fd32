"""Empty ledgers in memory, on SQLite, on PostgreSQL: migrated once, then copied."""

import secrets
import shutil
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

import psycopg
import pytest
from psycopg import sql

from coop.ledger.entries import Entry, Sealed
from coop.ledger.ports import Admission, Journal
from coop.store.desk import Store, start_ledger
from coop.store.journal import SqlJournal
from coop.store.migrate import upgrade
from tests.support.memory import MemoryJournal
from tests.support.sayings import AMINA, LEDGER, NODE, on

KINDS = ["memory", "sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]
LATE = on(30, 20)


class Book(Protocol):
    """A ledger to write in and read from, one unit of work at a time."""

    def writing(self) -> AbstractContextManager[Journal]: ...

    def reading(self) -> AbstractContextManager[Journal]: ...


class MemoryBook:
    """The journal in memory has no units of work."""

    def __init__(self) -> None:
        self._journal = MemoryJournal(ledger=LEDGER, node=NODE)

    @contextmanager
    def writing(self) -> Iterator[Journal]:
        yield self._journal

    reading = writing


@dataclass
class SqlBook:
    """A journal in a database."""

    store: Store

    @contextmanager
    def writing(self) -> Iterator[SqlJournal]:
        with self.store.writing() as desk:
            yield desk.journal

    @contextmanager
    def reading(self) -> Iterator[SqlJournal]:
        with self.store.reading() as desk:
            yield desk.journal


def take_in(
    book: Book, entries: Iterable[Entry], *, at: datetime = LATE, fold: bool = True
) -> tuple[Sealed, ...]:
    """Seal entries in one unit of work."""
    with book.writing() as journal:
        return journal.append(list(entries), Admission(at=at, by=AMINA), fold=fold)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("template") / "coop.db"
    upgrade(f"sqlite:///{file}")
    return file


@contextmanager
def sqlite_book(template: Path, folder: Path, *, sync: bool = False) -> Iterator[SqlBook]:
    """Give an empty ledger in a folder; without `sync` a power cut would lose of it."""
    file = folder / f"{secrets.token_hex(6)}.db"
    shutil.copy(template, file)
    store = start_ledger(f"sqlite:///{file}", ledger=LEDGER, node=NODE)
    if not sync:
        _never_sync(store)
    try:
        yield SqlBook(store)
    finally:
        store.close()


def _never_sync(store: Store) -> None:
    """Spare the disk: what a power cut would lose is no matter here."""
    connection = store.engines.writer.raw_connection()
    connection.cursor().execute("PRAGMA synchronous=off")
    connection.close()


@pytest.fixture(scope="session")
def pg_template(pg_server: str) -> str:
    name = f"coop_{secrets.token_hex(6)}"
    _run(pg_server, "CREATE DATABASE {}", name)
    upgrade(f"{pg_server}/{name}")
    return name


@contextmanager
def pg_book(pg_server: str, template: str) -> Iterator[SqlBook]:
    """Give an empty ledger in a database that goes with the block."""
    name = f"coop_{secrets.token_hex(6)}"
    _run(pg_server, "CREATE DATABASE {} TEMPLATE {}", name, template)
    store = start_ledger(f"{pg_server}/{name}", ledger=LEDGER, node=NODE)
    try:
        yield SqlBook(store)
    finally:
        store.close()
        _run(pg_server, "DROP DATABASE {} WITH (FORCE)", name)


def _run(pg_server: str, statement: str, *names: str) -> None:
    with psycopg.connect(f"{pg_server}/postgres", autocommit=True) as server:
        server.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


@pytest.fixture
def sqlite(sqlite_template: Path, tmp_path: Path) -> Iterator[SqlBook]:
    with sqlite_book(sqlite_template, tmp_path) as book:
        yield book


@pytest.fixture
def postgresql(pg_server: str, pg_template: str) -> Iterator[SqlBook]:
    with pg_book(pg_server, pg_template) as book:
        yield book


@pytest.fixture
def memory() -> MemoryBook:
    return MemoryBook()


@pytest.fixture(params=KINDS)
def book(request: pytest.FixtureRequest) -> Book:
    """Give an empty ledger of each sort: one specification for all."""
    found: Book = request.getfixturevalue(request.param)
    return found
