"""A copy of a whole database beside it, complete and checked before it gets its name."""

import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from secrets import token_hex

from sqlalchemy import Connection, create_engine
from sqlalchemy.exc import DatabaseError

from coop.ids import LedgerId, NodeId
from coop.store.backups import count_as_place, look_for_place, note_copy, vector
from coop.store.desk import Store
from coop.store.engines import UnfitDatabase
from coop.store.verify import Problem, Report, verify

COPY_MODE = 0o600
DAMAGED = ".damaged"


def copy_sqlite(file: Path, target: Path) -> int:
    """
    Copy a SQLite database while others may read and write it; return the bytes of the copy.

    The copy is its owner's only, checked, on the disk, and then named `target`.

    Raises:
        UnfitDatabase: The copy did not pass SQLite's own check; it is removed.
        FileExistsError: There is a file of that name; it is left as it is.
    """
    with drafted(file, target) as draft:
        check(draft)
        keep_as(draft, target)
    return target.stat().st_size


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A copy that was looked through; `counts` says whether it is a second place."""

    file: Path
    byte_count: int
    report: Report
    counts: bool


def back_up(
    store: Store, file: Path, target: Path, *, now: datetime, counts: bool = False
) -> Backup:
    """
    Copy a ledger's SQLite database, look all of the copy through, and then count it.

    What is counted is read in the copy: what was written meanwhile is not in it. A copy with
    a problem is kept under a name that ends in `DAMAGED`, and is not counted. Nor is one on
    the ledger's own disk: it would go with it.

    Args:
        counts: Count it even there, as where that disk is kept twice.

    Raises:
        UnfitDatabase: The database cannot be copied.
        FileExistsError: There is a file of that name; it is left as it is.
        WriterBusy: The copy is whole and in its place, but is not counted.
    """
    with drafted(file, target) as draft:
        report, reach = _looked_through(draft, store.ledger)
        place = target if report.clean else target.with_name(target.name + DAMAGED)
        keep_as(draft, place)
    counts = report.clean and (counts or is_apart(place, file))
    if report.clean:
        with store.writing() as desk:
            _note(desk.connection, place, reach, now, counts=counts)
    return Backup(file=place, byte_count=place.stat().st_size, report=report, counts=counts)


def _note(
    connection: Connection,
    place: Path,
    reach: Mapping[NodeId, int],
    now: datetime,
    *,
    counts: bool,
) -> None:
    """Write down what a copy is; where it does not count, the one before still may."""
    note_copy(connection, reach=reach, now=now, file=place)
    if counts:
        count_as_place(connection, name=place.name, reach=reach, now=now, file=place)
    else:
        look_for_place(connection)


def is_apart(copy: Path, file: Path) -> bool:
    """Say whether a copy lies on another disk than a database, as the system tells them."""
    return copy.stat().st_dev != file.stat().st_dev


def _looked_through(file: Path, ledger: LedgerId) -> tuple[Report, dict[NodeId, int]]:
    """Verify a database that nobody else has open, and say how far its chains reach."""
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(f"{file.absolute().as_uri()}?immutable=1", uri=True),
    )
    try:
        check(file)
        with engine.connect() as connection:
            return verify(connection, ledger), vector(connection)
    except (UnfitDatabase, DatabaseError) as fault:
        said = fault.orig if isinstance(fault, DatabaseError) else fault
        problem = Problem(code="damaged", where=file.name, detail=str(said))
        return Report(problems=(problem,), counts={"problems": 1}), {}
    finally:
        engine.dispose()


@contextmanager
def drafted(file: Path, target: Path) -> Iterator[Path]:
    """
    Give a copy of a SQLite database, on the disk beside `target` under a passing name.

    `VACUUM INTO` takes what is still in the write-ahead log along, which a copy of the file
    leaves out. The copy goes with the block unless `keep_as` gave it one that stays.
    """
    draft = target.with_name(f"{target.name}.{token_hex(8)}")
    os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_RDWR, COPY_MODE))
    try:
        with _said(file), closing(sqlite3.connect(file)) as source:
            source.execute("VACUUM INTO ?", (str(draft),))
        write_through(draft)
        yield draft
    finally:
        draft.unlink(missing_ok=True)


def keep_as(draft: Path, target: Path) -> None:
    """
    Give a draft the name that stays.

    A hard link would do it in one step, but a memory stick knows none: the name is claimed
    first.

    Raises:
        FileExistsError: There is a file of that name; it is left as it is.
    """
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, COPY_MODE))
    draft.replace(target)
    write_through(target.parent)


def check(file: Path) -> None:
    """Run SQLite's own check; raises UnfitDatabase when it does not pass."""
    with _said(file), closing(sqlite3.connect(file)) as database:
        (said,) = database.execute("PRAGMA integrity_check(1)").fetchone()
    if said != "ok":
        raise UnfitDatabase(f"database: {file.name} is damaged: {said}")


@contextmanager
def _said(file: Path) -> Iterator[None]:
    """Tell in one line why SQLite cannot read or copy a file."""
    try:
        yield
    except sqlite3.DatabaseError as fault:
        raise UnfitDatabase(f"database: {file.name}: {fault}") from fault


def write_through(place: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    descriptor = os.open(place, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
