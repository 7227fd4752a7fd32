"""
A database brought back from a copy, as a new node.

A server that went back in time and went on sealing as the same node would give the numbers
its phones know already to other entries. So whatever is brought back seals as a node of its
own from then on, and what the copy lacks is heard again from the phones.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, nullcontext
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, delete, text

from coop.ids import NodeId
from coop.store import migrate, settings_table, tables
from coop.store.backups import count_as_place, forget_place, note_copy, vector
from coop.store.copies import drafted, is_apart, keep_as, write_through
from coop.store.desk import NotInitialised, Store, open_store
from coop.store.engines import UnfitDatabase
from coop.store.rebuild import bring_up, rebuild
from coop.store.standing import Standing, standing
from coop.store.verify import Report, verify

_LEFT_BEHIND = ("-wal", "-shm", "-journal")
# Autovacuum and other workers of the server have no user.
_OTHERS = text(
    "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
    "AND pid <> pg_backend_pid() AND usesysid IS NOT NULL"
)


_MENDED_BY_FOLDING = ("fold-", "move-", "balance-", "touch", "arrival-")
_IN_USE = "database: a server has it open; stop it first"


def restore(
    copy: Path,
    file: Path,
    *,
    node: NodeId,
    now: datetime,
    aside: Path | None,
    counts: bool = False,
) -> Report:
    """
    Bring a copy back as the database `file`; return what verifying it said.

    All is done on a draft, which takes its place in one step when it is clean. Folds that
    are not as they must be are worked out anew first.

    Args:
        copy: A file that passed `copies.check`; it is left as it is.
        aside: The name under which a database that is there already is kept; None: there
            must be none.
        counts: Let the copy count as the second place even on the database's own disk.

    Raises:
        UnfitDatabase: The copy cannot be used, or what is there cannot be moved aside, as
            when somebody has it open.
        FileExistsError: A name is taken.
    """
    with nullcontext() if aside is None else alone(file), drafted(copy, file) as draft:
        counts = counts or is_apart(copy, draft)
        report = _made_ours(draft, copy, node, now, counts=counts)
        if not report.clean:
            return report
        _refuse_left_behind(file)
        if aside is None:
            keep_as(draft, file)
        else:
            _exchange(draft, file, aside)
    return report


def _made_ours(draft: Path, copy: Path, node: NodeId, now: datetime, *, counts: bool) -> Report:
    """Bring a draft to the newest step, make it another node's, and verify it."""
    url, name = f"sqlite:///{draft}", copy.name
    found = standing(url)
    if found is Standing.NEWER:
        raise UnfitDatabase(f"database: {name}: made by a newer release of coop; use that one")
    if found is Standing.EMPTY:
        raise UnfitDatabase(f"database: {name}: holds no ledger")
    migrate.upgrade(url)
    try:
        store = open_store(url)
    except NotInitialised as why:
        raise UnfitDatabase(f"database: {name}: holds no ledger") from why
    try:
        with store.writing() as desk:
            begin_anew(desk.connection, node)
            _mark(desk.connection, copy, now, counts=counts)
        report = _verified(store)
        if not all(one.code.startswith(_MENDED_BY_FOLDING) for one in report.problems):
            return report
        if bring_up(store) if report.clean else rebuild(store):
            report = _verified(store)
    finally:
        store.close()
    write_through(draft)
    return report


def begin_anew(connection: Connection, node: NodeId) -> None:
    """
    Seal as another node from now on, and let nobody in by a session of before.

    A session that was ended after the copy was made would be open again; and how far the
    old node's chain reached at a visit says nothing of the new one's.
    """
    settings_table.write(connection, settings_table.NODE_ID, node)
    for table in (tables.session, tables.visit):
        connection.execute(delete(table))


def _mark(connection: Connection, copy: Path, now: datetime, *, counts: bool) -> None:
    """Write down what the database came from; places it speaks of may be long gone."""
    reach = vector(connection)
    note_copy(connection, reach=reach, now=now, file=copy)
    if counts:
        count_as_place(connection, name=copy.name, reach=reach, now=now, file=copy)
    else:
        forget_place(connection)


def _verified(store: Store) -> Report:
    with store.reading() as desk:
        return verify(desk.connection, store.ledger)


def _refuse_left_behind(file: Path) -> None:
    """Refuse what belongs to another database of that name: SQLite would read it into this."""
    for end in _LEFT_BEHIND:
        if (left := file.with_name(file.name + end)).exists():
            raise UnfitDatabase(f"database: {left} belongs to another one; move it aside")


def _exchange(draft: Path, file: Path, aside: Path) -> None:
    """
    Put a draft in the place of a database, which keeps another name; never neither.

    Where a disk knows no hard links, the name is claimed first, and for a moment the database
    has the other name only.
    """
    try:
        os.link(file, aside)
    except FileExistsError:
        raise
    except OSError:
        keep_as(file, aside)
    draft.replace(file)
    write_through(file.parent)


@contextmanager
def alone(file: Path) -> Iterator[None]:
    """
    Have a SQLite database to oneself, with its log taken into the file.

    Whoever has it open, even idle, keeps a shared lock on it; leaving the mode in which
    SQLite writes ahead needs the exclusive one, and is refused until then.

    Raises:
        UnfitDatabase: Somebody has it open, or it is too damaged for SQLite to open.
    """
    with closing(sqlite3.connect(file, timeout=0, isolation_level=None)) as held:
        try:
            held.execute("PRAGMA journal_mode=delete")
            held.execute("PRAGMA journal_mode=memory")  # no file beside it for what follows
            held.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as fault:
            if fault.sqlite_errorcode != sqlite3.SQLITE_BUSY:
                raise UnfitDatabase(f"database: {file.name}: {fault}") from fault
            raise UnfitDatabase(_IN_USE) from fault
        except sqlite3.DatabaseError as fault:
            raise UnfitDatabase(
                f"database: {file.name}: {fault}; stop the server, move it and what begins "
                "with its name aside, then restore again"
            ) from fault
        yield


def refuse_others(connection: Connection) -> None:
    """Refuse a PostgreSQL database that anybody else is connected to; raises UnfitDatabase."""
    if connection.scalar(_OTHERS):
        raise UnfitDatabase(_IN_USE)
