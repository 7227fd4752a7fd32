"""A copy of a whole database beside it, complete and checked before it gets its name."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from secrets import token_hex

from coop.store.engines import UnfitDatabase

COPY_MODE = 0o600


def copy_sqlite(file: Path, target: Path) -> int:
    """
    Copy a SQLite database while others may read and write it; return the bytes of the copy.

    `VACUUM INTO` takes what is still in the write-ahead log along, which a copy of the file
    leaves out. The copy is its owner's only, checked, on the disk, and then named `target`.

    Raises:
        UnfitDatabase: The copy did not pass SQLite's own check; it is removed.
        FileExistsError: There is a file of that name; it is left as it is.
    """
    draft = target.with_name(f"{target.name}.{token_hex(8)}")
    os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_RDWR, COPY_MODE))
    try:
        _fill(file, draft)
        _check(draft)
        os.link(draft, target)
    finally:
        draft.unlink()
    _write_through(target.parent)
    return target.stat().st_size


def _fill(file: Path, draft: Path) -> None:
    with closing(sqlite3.connect(file)) as source:
        source.execute("VACUUM INTO ?", (str(draft),))
    _write_through(draft)


def _check(draft: Path) -> None:
    with closing(sqlite3.connect(draft)) as copied:
        (said,) = copied.execute("PRAGMA integrity_check(1)").fetchone()
    if said != "ok":
        raise UnfitDatabase(f"database: the copy is damaged: {said}")


def _write_through(place: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    descriptor = os.open(place, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
