"""
The disk says no: a unit of work is undone whole, reading goes on, and it works again after.

SQLite documents which code it answers (sqlite.org, "Result and Error Codes": SQLITE_FULL,
SQLITE_IOERR, SQLITE_READONLY, SQLITE_BUSY); that nothing half-written stays is what is seen.
"""

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from coop.ids import EntryId
from coop.store import settings_table
from coop.store.desk import open_store
from coop.store.engines import Busy, NoRoom, NotWritable, WriterBusy, open_engines
from coop.store.migrate import upgrade
from coop.store.verify import verify
from tests.cli.said import environment
from tests.support.disks import filled, no_longer_files, no_more_pages, small_disk
from tests.support.files import ROOT
from tests.support.ledgers import SqlBook, sqlite_book, take_in
from tests.support.opened import FILE, opened
from tests.support.sayings import LEDGER, an_id, described, mixed, on, through

BATCH = 400
ENTRIES = 40
WRITES, SYNCS = "pwrite64", "fdatasync,fsync"
ERRORS = ("ENOSPC", "EIO", "EROFS")
# As strace says it: from the ninth on each hundred-and-first; steps that are prime come round
# to every call that an entry needs. Without a step each one fails, and goes on failing.
WHEN = [
    (WRITES, "9+101"),
    (WRITES, "16+103"),
    (WRITES, "30+107"),
    (WRITES, "500+"),
    (SYNCS, "3+2"),
    (SYNCS, "5+7"),
    (SYNCS, "20+"),
]
WITHOUT_POWER = ("setpriv", "--bounding-set=-dac_override,-dac_read_search")


def head(book: SqlBook) -> int:
    with book.store.reading() as desk:
        return desk.journal.head()[0]


def assert_sound(book: SqlBook) -> None:
    with book.store.reading() as desk:
        found = verify(desk.connection, LEDGER)
    assert found.clean, found.problems


@contextmanager
def sound_book(template: Path, folder: Path) -> Iterator[SqlBook]:
    """Give a ledger with a bath in it, on a disk that is waited for."""
    with sqlite_book(template, folder, sync=True) as book:
        take_in(book, [*described(), mixed(at=on(17))])
        yield book


@pytest.fixture
def book(sqlite_template: Path, tmp_path: Path) -> Iterator[SqlBook]:
    with sound_book(sqlite_template, tmp_path) as book:
        yield book


def refuse_a_batch(book: SqlBook, fault: AbstractContextManager[None], sort: type) -> None:
    """Take in what is too much for the disk; see that none of it stays, and that it passes."""
    batch = [through(an_id(5_000 + n), 1, at=on(18, 9, n % 60)) for n in range(BATCH)]
    before = head(book)
    with fault:
        with pytest.raises(sort, match=r"\.db: the disk"):
            take_in(book, batch)
        assert head(book) == before
        assert_sound(book)
    assert len(take_in(book, batch)) == BATCH
    assert head(book) == before + BATCH
    assert_sound(book)


def test_a_batch_that_does_not_fit_leaves_nothing_of_itself(book: SqlBook) -> None:
    """Not even those of its entries for which there was room."""
    refuse_a_batch(book, no_more_pages(book.store.engines), NoRoom)


def test_a_batch_beyond_the_longest_file_leaves_nothing_of_itself(book: SqlBook) -> None:
    refuse_a_batch(book, no_longer_files(book.store.engines), NotWritable)


@pytest.mark.long
def test_a_batch_on_a_full_disk_leaves_nothing_of_itself(
    sqlite_template: Path, tmp_path: Path
) -> None:
    with (
        small_disk(tmp_path / "disk", "12m") as disk,
        sound_book(sqlite_template, disk) as book,
    ):
        refuse_a_batch(book, filled(disk), NoRoom)


# --- calls that fail, one after the other ------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tried:
    """What a writer said under failing calls: ids kept, and ids refused with their sorts."""

    kept: Sequence[str]
    refused: Sequence[tuple[str, str]]


def tried(address: str, calls: str, error: str, when: str) -> Tried:
    """Write while some of these calls fail, as strace says which."""
    inject = f"inject={calls}:error={error}:when={when}"
    strace = ["strace", "-f", "-qq", "-o", os.devnull, "-e", f"trace={calls}", "-e", inject]
    writer = [sys.executable, "-m", "tests.support.writer", address, "1", str(ENTRIES)]
    done = subprocess.run(
        [*strace, *writer], cwd=ROOT, input="go\n", text=True, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
    said = [line.split() for line in done.stdout.splitlines() if line != "writing"]
    return Tried(
        kept=[words[0] for words in said if len(words) == 1],
        refused=[(words[1], words[2]) for words in said if len(words) == 3],
    )


@pytest.mark.long
@pytest.mark.parametrize("error", ERRORS)
@pytest.mark.parametrize(("calls", "when"), WHEN)
def test_whichever_call_fails_what_was_kept_is_there_and_nothing_is_half_there(
    sqlite_template: Path, tmp_path: Path, calls: str, when: str, error: str
) -> None:
    with sound_book(sqlite_template, tmp_path) as book:
        address = book.store.engines.writer.url.render_as_string(hide_password=False)
    found = tried(address, calls, error, when)
    again = SqlBook(open_store(address))  # as after a crash: nobody had closed it

    assert len(found.kept) + len(found.refused) == ENTRIES
    assert_sound(again)
    with again.store.reading() as desk:
        lost = [one for one in found.kept if len(desk.journal.by_id(EntryId(one))) != 1]
        there = [one for one, _ in found.refused if desk.journal.by_id(EntryId(one))]
    again.store.close()
    assert not lost
    assert found.refused
    last, _ = found.refused[-1]
    # Written and not synced, the log's last unit of work may come back; it was not promised.
    assert set(there) <= ({last} if calls == SYNCS else set())


# --- a file or a folder that may not be written ------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """Give the folder of a ledger that nobody has open."""
    opened(tmp_path).store.close()
    yield tmp_path
    tmp_path.chmod(0o700)
    (tmp_path / FILE).chmod(0o600)


def said_powerless(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run a command as one who is bound by the rights of files, which root is not."""
    bound = WITHOUT_POWER if os.geteuid() == 0 else ()
    return subprocess.run(
        [*bound, sys.executable, "-P", "-m", "coop", *arguments, str(folder)],
        cwd=ROOT, env=environment({}), text=True, capture_output=True, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("command", ["serve", "verify", "backup"])
@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_command_says_in_one_line_that_it_may_not_write(
    folder: Path, what: str, command: str
) -> None:
    """Where, and what would be right; no report of the program's insides."""
    (folder / FILE).chmod(0o400)
    if what == "folder":
        (folder / FILE).chmod(0o600)
        folder.chmod(0o500)
    done = said_powerless(folder, command)

    assert done.returncode == 1, done.stdout
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"coop: {folder / FILE}: ")
    assert "Permission denied" in line or "may be written by this user" in line


@pytest.mark.long
@pytest.mark.parametrize("command", ["serve", "verify", "backup"])
def test_a_command_says_in_one_line_that_there_is_no_room(tmp_path: Path, command: str) -> None:
    with small_disk(tmp_path / "disk", "12m") as disk:
        opened(disk).store.close()
        with filled(disk):
            done = said_powerless(disk, command)

    assert done.returncode == 1, done.stdout
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"coop: {disk / FILE}: the disk is full")


# --- others -----------------------------------------------------------------------------


@pytest.mark.postgresql
def test_a_database_that_only_reads_says_so(pg_database: str) -> None:
    """A PostgreSQL that stands by for another one is read, and takes nothing (25006)."""
    upgrade(pg_database)
    name = pg_database.rpartition("/")[2]
    with psycopg.connect(pg_database, autocommit=True) as server:
        only = "ALTER DATABASE {} SET default_transaction_read_only = on"
        server.execute(sql.SQL(only).format(sql.Identifier(name)))
    engines = open_engines(pg_database)
    try:
        with pytest.raises(NotWritable), engines.writing() as connection:
            settings_table.write(connection, settings_table.TOUCHES, "1")
        with engines.reading() as connection:
            assert settings_table.ledger_id(connection) is None
    finally:
        engines.close()


@pytest.mark.long
def test_a_database_that_another_process_keeps_to_itself_is_busy(
    sqlite_template: Path, tmp_path: Path
) -> None:
    """Not even a reader comes in: to be told as busy, not as a fault of the program."""
    file = tmp_path / "coop.db"
    shutil.copy(sqlite_template, file)
    engines = open_engines(f"sqlite:///{file}")
    holder = sqlite3.connect(file, isolation_level=None)
    holder.execute("PRAGMA locking_mode=exclusive")
    holder.execute("BEGIN IMMEDIATE")
    try:
        with pytest.raises(Busy), engines.reading():
            raise AssertionError("it was read")
        with pytest.raises(WriterBusy), engines.writing():
            raise AssertionError("it was written")
    finally:
        holder.close()
    with engines.writing() as connection:
        settings_table.write(connection, settings_table.TOUCHES, "1")
    engines.close()
