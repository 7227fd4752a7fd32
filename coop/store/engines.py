"""
The two ways into the database: many readers, one writer.

Return to keep, raise to undo: a unit of work commits when its block ends and rolls back
on an exception. No other place commits.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, ExceptionContext, make_url

WRITER_WAIT_S = 10.0
BUSY_RETRY_AFTER_S = 5
BUSY_TIMEOUT_MS = 5_000
WRITER_CACHE_KIB = 32_768  # entries lie by their digest, that is anywhere in the file
READERS_KEPT = 4
READERS_MAX = 16
READER_WAIT_S = 10.0
SQLITE_OLDEST = (3, 37, 0)  # the first with STRICT tables
POSTGRESQL_OLDEST = (15,)

# One writer at a time over all processes: a number of our own for PostgreSQL's lock.
WRITER_LOCK_KEY = 0x636F6F70

_SQLITE_PRAGMAS = (
    "journal_mode=wal",
    "synchronous=full",
    f"busy_timeout={BUSY_TIMEOUT_MS}",
    "foreign_keys=on",
    "recursive_triggers=on",  # or INSERT OR REPLACE would pass by the DELETE guards
)
# What a database says when it cannot go on: SQLite's result codes (sqlite.org, "Result and
# Error Codes"), PostgreSQL's SQLSTATEs (its manual, appendix A); from memory. On a full disk
# SQLite 3.40 cannot make its shared memory, and says SHMSIZE, as seen.
_SAYS_BUSY = frozenset({sqlite3.SQLITE_BUSY, "55P03"})
_SAYS_FULL = frozenset({sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_SHMSIZE, "53100"})
_SAYS_UNWRITABLE = frozenset(
    {
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_PERM,
        "25006",
        "58030",
    }
)
_PRIMARY = 0xFF  # an extended code of SQLite's holds its primary one in the lowest byte


class Busy(Exception):
    """What was asked must wait; nothing was written."""

    def __init__(self, what: str, *, retry_after_s: int = BUSY_RETRY_AFTER_S) -> None:
        super().__init__(f"{what}: busy, try again in {retry_after_s} s")
        self.retry_after_s = retry_after_s


class WriterBusy(Busy):
    """Another unit of work held the writer for longer than the limit."""


class Unkept(Exception):
    """
    The disk did not take it: the unit of work is undone, and reading goes on.

    Where it was the sync that failed, SQLite's log holds what was refused: until the next unit
    of work is kept, a crash brings it back. Its id sees to it that it never counts twice.
    """


class NoRoom(Unkept):
    """The disk is full."""

    def __init__(self, where: str) -> None:
        super().__init__(f"{where}: the disk is full, nothing was written; make room there")


class NotWritable(Unkept):
    """The disk or the file is read-only, or faulty."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"{where}: the disk takes nothing; see whether the folder and its files may be "
            "written by this user, and whether the disk is sound"
        )


class UnfitDatabase(Exception):
    """The address or the server behind it cannot hold a ledger; the text says why."""


@dataclass(frozen=True, slots=True)
class Engines:
    """Reader and writer on one database, and the lock that lets one unit of work write."""

    reader: Engine
    writer: Engine
    dialect: str
    _lock: Lock = field(default_factory=Lock)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give one unchanging view; writing in it is refused by the database."""
        with self.reader.begin() as connection:
            yield connection

    @contextmanager
    def writing(self, *, wait_s: float = WRITER_WAIT_S) -> Iterator[Connection]:
        """
        Give the one writer: kept when the block ends, undone when it raises.

        Raises:
            WriterBusy: Another unit of work holds it for longer than `wait_s`.
            NoRoom: The disk is full.
            NotWritable: The disk or the file is read-only, or faulty.
        """
        if not self._lock.acquire(timeout=wait_s):
            raise WriterBusy("writing")
        try:
            with self.writer.begin() as connection:
                yield connection
        finally:
            self._lock.release()

    def close(self) -> None:
        """Let every connection go."""
        self.reader.dispose()
        self.writer.dispose()


def open_engines(url: str) -> Engines:
    """
    Open a database by its address: `sqlite:///path` or `postgresql://...`.

    A missing SQLite file is made, readable by its owner only.
    """
    address = checked_address(url)
    return Engines(
        reader=_reader(address),
        writer=writer_engine(url),
        dialect=address.get_backend_name(),
    )


def checked_address(url: str) -> URL:
    """Read a database address; raises UnfitDatabase for one that cannot work."""
    address = make_url(url)
    name = address.get_backend_name()
    if name not in ("sqlite", "postgresql"):
        raise UnfitDatabase(f"database: {name} is not known; use sqlite or postgresql")
    if name == "sqlite" and sqlite_file(address) is None:
        raise UnfitDatabase("database: SQLite needs a file, as in sqlite:///studio/coop.db")
    return address


def sqlite_file(address: URL) -> Path | None:
    """Say which file a SQLite address means; None for PostgreSQL and for memory."""
    if address.get_backend_name() != "sqlite" or address.database in (None, "", ":memory:"):
        return None
    return Path(str(address.database))


def writer_engine(url: str) -> Engine:
    """Make an engine of one connection whose transactions write from their first moment."""
    address = checked_address(url)
    file = sqlite_file(address)
    if file is None:
        engine = create_engine(address, pool_size=1, max_overflow=0)
        event.listen(engine, "begin", _lock_postgresql)
    else:
        _make_private(file)
        engine = create_engine(address, pool_size=1, max_overflow=0)
        event.listen(engine, "connect", _prepare_sqlite_writer)
        event.listen(engine, "begin", _begin_immediate)
    event.listen(engine, "first_connect", _refuse_old)
    why = partial(_say_why_unwritten, where=str(address.database))
    event.listen(engine, "handle_error", why)
    return engine


def _say_why_unwritten(context: ExceptionContext, *, where: str) -> None:
    """Raise what keeps a unit of work from being kept; other faults stay as they are."""
    said = _said(context)
    if said & _SAYS_BUSY:
        raise WriterBusy("writing")
    if said & _SAYS_FULL:
        raise NoRoom(where)
    if said & _SAYS_UNWRITABLE:
        raise NotWritable(where)


def _said(context: ExceptionContext) -> frozenset[int | str]:
    """Return the codes of a refusal: SQLite's own and its primary one, or the SQLSTATE."""
    cause = context.original_exception
    if isinstance(cause, sqlite3.Error):
        code: int | None = getattr(cause, "sqlite_errorcode", None)
        return frozenset() if code is None else frozenset({code, code & _PRIMARY})
    state: str | None = getattr(cause, "sqlstate", None)
    return frozenset() if state is None else frozenset({state})


def _say_busy(context: ExceptionContext) -> None:
    if _said(context) & _SAYS_BUSY:
        raise Busy("reading")


def _reader(address: URL) -> Engine:
    pool = {
        "pool_size": READERS_KEPT,
        "max_overflow": READERS_MAX - READERS_KEPT,
        "pool_timeout": READER_WAIT_S,
    }
    if sqlite_file(address) is None:
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        return create_engine(address, execution_options=options, **pool)
    engine = create_engine(address, **pool)
    event.listen(engine, "connect", _prepare_sqlite_reader)
    event.listen(engine, "begin", _begin_plain)
    event.listen(engine, "handle_error", _say_busy)
    return engine


def _make_private(file: Path) -> None:
    """Make the file before SQLite does: it holds password hashes, so its owner's only."""
    os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))


def _prepare_sqlite(dbapi: sqlite3.Connection, _record: object) -> None:
    dbapi.isolation_level = None  # BEGIN is said here, not guessed by the driver
    for pragma in _SQLITE_PRAGMAS:
        dbapi.execute("PRAGMA " + pragma)


def _prepare_sqlite_writer(dbapi: sqlite3.Connection, record: object) -> None:
    _prepare_sqlite(dbapi, record)
    dbapi.execute(f"PRAGMA cache_size=-{WRITER_CACHE_KIB}")


def _prepare_sqlite_reader(dbapi: sqlite3.Connection, record: object) -> None:
    _prepare_sqlite(dbapi, record)
    dbapi.execute("PRAGMA query_only=on")


def _begin_plain(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN")


def _begin_immediate(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def _lock_postgresql(connection: Connection) -> None:
    connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{int(WRITER_WAIT_S)}s'")
    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITER_LOCK_KEY})")


def _refuse_old(dbapi: Any, _record: object) -> None:
    """Refuse a database older than the statements used here."""
    found: tuple[int, ...]
    oldest: tuple[int, ...]
    if isinstance(dbapi, sqlite3.Connection):
        found, oldest = sqlite3.sqlite_version_info, SQLITE_OLDEST
    else:
        found, oldest = (dbapi.info.server_version // 10_000,), POSTGRESQL_OLDEST
    if found < oldest:
        need, have = (".".join(map(str, version)) for version in (oldest, found))
        raise UnfitDatabase(f"database: version {have} is too old, {need} or newer is needed")


@dataclass(slots=True)
class QueryCount:
    """The statements sent while counting; the bracket around them is not counted."""

    statements: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        return len(self.statements)


@contextmanager
def count_queries(engine: Engine) -> Iterator[QueryCount]:
    """Count what goes through an engine inside the block; for tests and benchmarks."""
    counted = QueryCount()

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        if not statement.startswith(("BEGIN", "SET LOCAL", "SELECT pg_advisory")):
            counted.statements.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield counted
    finally:
        event.remove(engine, "before_cursor_execute", note)
