"""Copies that count as a second place, and databases brought back from them."""

import errno
import json
import shutil
import sqlite3
import stat
import tempfile
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, insert

from coop.ids import EntryId, NodeId
from coop.store import migrate, sessions, settings_table, tables
from coop.store.backups import last_copy, look_for_place, two_places, vector
from coop.store.copies import DAMAGED, Backup, back_up, check
from coop.store.desk import Store, open_store
from coop.store.engines import Engines, UnfitDatabase, open_engines
from coop.store.migrate import upgrade
from coop.store.restore import alone, begin_anew, refuse_others, restore
from coop.store.verify import Report, verify
from tests.support.ledgers import SqlBook, take_in
from tests.support.opened import START, Opened, furnished
from tests.support.opened import mixed as mixed_in
from tests.support.sayings import LEDGER, NODE, an_id, described, mixed, on

ANEW = NodeId(an_id(77))


def sealed(connection: Connection, node: str, count: int) -> None:
    """Write so many seals of a node; only their node and seq are read here."""
    connection.execute(
        insert(tables.seal),
        [
            {
                "digest": f"{node}-{seq}",
                "entry": f"e{seq}",
                "node": node,
                "seq": seq,
                "bytes": b"",
            }
            for seq in range(1, count + 1)
        ],
    )


def test_the_vector_names_every_node_and_the_end_of_its_chain(engines: Engines) -> None:
    with engines.writing() as connection:
        assert vector(connection) == {}
        for node, count in (("b", 3), ("a", 1), ("c", 200)):
            sealed(connection, node, count)

    with engines.reading() as connection:
        assert vector(connection) == {"a": 1, "b": 3, "c": 200}


def steps(connection: Connection) -> int:
    """Count what SQLite's machine does to find the vector, in steps of its own."""
    counted = 0

    def count() -> int:
        nonlocal counted
        counted += 1
        return 0

    machine: Any = connection.connection.dbapi_connection
    machine.set_progress_handler(count, 1)
    vector(connection)
    machine.set_progress_handler(None, 0)
    return counted


def test_the_vector_does_not_read_every_seal(sqlite_url: str) -> None:
    """Every answer to a phone holds it; a chain a hundred times as long costs no more."""
    upgrade(sqlite_url)
    engines = open_engines(sqlite_url)
    with engines.writing() as connection:
        sealed(connection, "a", 100)
        sealed(connection, "b", 1)
        short = steps(connection)
        sealed(connection, "c", 10_000)
        long = steps(connection)
        assert vector(connection) == {"a": 100, "b": 1, "c": 10_000}
    engines.close()

    assert short < 200
    assert long < short * 2


def test_nothing_is_in_two_places_before_a_backup(engines: Engines) -> None:
    with engines.writing() as connection:
        sealed(connection, "a", 3)
        assert two_places(connection) == {}

        mark = {"at": "2025-09-17T18:00:00+02:00", "vector": {"a": 2}, "name": "coop.db"}
        settings_table.write(connection, settings_table.BACKED_UP, json.dumps(mark))
        assert two_places(connection) == {NodeId("a"): 2}


# --- copies ---------------------------------------------------------------------------


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Opened]:
    """An open ledger with a bath in it and somebody signed in."""
    house = furnished(tmp_path)
    house.made["bath"] = mixed_in(house)
    who = house.members["amina"].member
    with house.store.writing() as desk:
        sessions.create(desk.connection, token="t", member=who, agent="tablet", now=START)
    yield house
    house.store.close()


def through(house: Opened) -> str:
    """Write one entry more."""
    return house.say(
        "sheets.through",
        bath=house.made["bath"],
        sheet_count="3",
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )


def copied(house: Opened) -> Backup:
    file = house.folder / "coop.db"
    kept = house.folder / "kept.db"
    return back_up(house.store, file, kept, now=house.moment, counts=True)


def rows(file: Path, statement: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(file)) as database:
        return database.execute(statement).fetchall()


def content(file: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Return every row of every table that comes back from a copy as it was."""
    names = {table.name for table in tables.metadata.sorted_tables} - {"setting", "session"}
    return {name: sorted(rows(file, f"SELECT * FROM {name}"), key=repr) for name in names}


def settings(file: Path) -> dict[str, str]:
    return dict(rows(file, "SELECT key, value FROM setting"))


def flip_a_bit(file: Path) -> str:
    """Spoil one entry in the file, as a disk may do it; return the entry's digest."""
    digest, data = rows(file, "SELECT digest, bytes FROM entry ORDER BY digest LIMIT 1")[0]
    whole = bytearray(file.read_bytes())
    whole[whole.index(data) + len(data) // 2] ^= 1
    file.write_bytes(whole)
    return str(digest)


def test_a_sound_copy_counts_as_a_second_place_as_far_as_it_reaches(house: Opened) -> None:
    before = content(house.folder / "coop.db")

    made = copied(house)
    through(house)

    assert made.report.clean
    assert made.byte_count == made.file.stat().st_size
    assert stat.S_IMODE(made.file.stat().st_mode) == 0o600
    assert content(made.file) == before
    reach = len(before["seal"])
    with house.desk() as desk:
        assert two_places(desk.connection) == {house.store.node: reach}
        assert vector(desk.connection) == {house.store.node: reach + 1}
    assert json.loads(settings(house.folder / "coop.db")[settings_table.BACKED_UP]) == {
        "at": house.moment.isoformat(),
        "vector": {house.store.node: reach},
        "name": "kept.db",
        "file": str(made.file),
        "byte_count": made.byte_count,
        "gone": False,
    }


def test_a_copy_on_the_ledgers_own_disk_is_no_second_place(house: Opened) -> None:
    """It goes with the disk, and phones let go of what they are told is in two places."""
    file = house.folder / "coop.db"
    made = back_up(house.store, file, house.folder / "kept.db", now=house.moment)

    assert (made.report.clean, made.counts) == (True, False)
    with house.desk() as desk:
        assert two_places(desk.connection) == {}
        last = last_copy(desk.connection)
    assert last is not None
    assert last.name == "kept.db"
    back = house.folder / "back.db"
    restore(made.file, back, node=ANEW, now=START, aside=None)
    with closing(open_engines(f"sqlite:///{back}")) as engines, engines.reading() as connection:
        assert two_places(connection) == {}


def test_a_copy_on_another_disk_is_a_second_place(house: Opened, other_disk: Path) -> None:
    file = house.folder / "coop.db"
    made = back_up(house.store, file, other_disk / "kept.db", now=house.moment)

    assert made.counts
    with house.desk() as desk:
        assert two_places(desk.connection) == vector(desk.connection)
    restore(made.file, house.folder / "back.db", node=ANEW, now=START, aside=None)
    mark = json.loads(settings(house.folder / "back.db")[settings_table.BACKED_UP])
    assert mark["file"] == str(other_disk / "kept.db")


@pytest.fixture
def other_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder that the system says lies on another disk: in memory, as Linux has it."""
    memory = Path("/dev/shm")
    if not memory.is_dir() or memory.stat().st_dev == tmp_path.stat().st_dev:
        pytest.fail("no second disk: /dev/shm must lie in memory, as Debian has it")
    with tempfile.TemporaryDirectory(dir=memory) as folder:
        yield Path(folder)


def test_a_second_place_counts_while_it_is_there(house: Opened) -> None:
    """A stick that was taken home, a copy that somebody cleared away or cut short."""
    made = copied(house)
    whole = made.file.read_bytes()

    def look() -> tuple[bool, bool]:
        """Say whether a place is missed, and whether anything is in two places."""
        with house.store.writing() as desk:
            missed = look_for_place(desk.connection)
            return missed is not None, bool(two_places(desk.connection))

    assert look() == (False, True)
    made.file.unlink()
    assert look() == (True, False)
    made.file.write_bytes(whole[:-1])
    assert look() == (True, False)
    made.file.write_bytes(whole)
    assert look() == (False, True)


def test_a_backup_looks_whether_the_place_before_is_there(house: Opened) -> None:
    made = copied(house)
    made.file.unlink()
    file = house.folder / "coop.db"

    assert not back_up(house.store, file, house.folder / "2.db", now=house.moment).counts
    with house.desk() as desk:
        assert two_places(desk.connection) == {}


@contextmanager
def writing(house: Opened) -> Iterator[list[str]]:
    """Write entry after entry beside the test; gives the ids of those that were kept."""
    kept: list[str] = []
    enough, stop = threading.Event(), threading.Event()

    def write() -> None:
        while not stop.is_set():
            kept.append(through(house))
            if len(kept) >= 5:
                enough.set()

    thread = threading.Thread(target=write)
    thread.start()
    try:
        assert enough.wait(30)
        yield kept
    finally:
        stop.set()
        thread.join()


def test_a_copy_made_while_others_write_lacks_nothing_kept_before_it(house: Opened) -> None:
    """And it counts for no more than it holds, however much was written meanwhile."""
    with writing(house) as kept:
        before = list(kept)
        made = copied(house)

    there = {id for (id,) in rows(made.file, "SELECT id FROM entry")}
    assert set(before) <= there
    assert made.report.clean
    reach = rows(made.file, "SELECT max(seq) FROM seal")[0][0]
    with house.desk() as desk:
        assert two_places(desk.connection) == {house.store.node: reach}
        assert all(desk.journal.by_id(EntryId(one)) for one in kept)


def test_a_copy_with_a_problem_is_kept_under_a_name_that_says_so(house: Opened) -> None:
    """It may be all that is left; it counts for nothing."""
    house.store.close()
    digest = flip_a_bit(house.folder / "coop.db")
    house.store = open_store(f"sqlite:///{house.folder / 'coop.db'}")

    made = copied(house)

    assert made.file == house.folder / f"kept.db{DAMAGED}"
    assert ("entry-digest", f"entry {digest}") in named(made.report)
    assert not (house.folder / "kept.db").exists()
    with house.desk() as desk:
        assert two_places(desk.connection) == {}


def named(report: Report) -> set[tuple[str, str]]:
    return {(one.code, one.where) for one in report.problems}


# --- brought back ---------------------------------------------------------------------


def brought_back(copy: Path, *, aside: Path | None = None) -> tuple[Path, Report]:
    """Bring a copy back in a folder of its own."""
    folder = copy.parent / "back"
    folder.mkdir(exist_ok=True)
    file = folder / "coop.db"
    return file, restore(copy, file, node=ANEW, now=START, aside=aside, counts=True)


def reopened(file: Path) -> Store:
    return open_store(f"sqlite:///{file}")


def test_what_comes_back_is_what_was_copied(house: Opened) -> None:
    """Every entry, seal, attachment, fold, row and secret; not who was signed in."""
    before = content(house.folder / "coop.db")
    copy = copied(house).file
    kept_bytes = copy.read_bytes()

    file, report = brought_back(copy)

    assert report.clean
    assert report.counts["entries"] == report.counts["seals"] == len(before["entry"])
    assert content(file) == before
    assert rows(copy, "SELECT count(*) FROM session") == [(1,)]
    assert rows(file, "SELECT count(*) FROM session") == [(0,)]
    assert copy.read_bytes() == kept_bytes
    assert [one.name for one in file.parent.iterdir()] == ["coop.db"]
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_what_comes_back_seals_as_another_node_from_one_on(house: Opened) -> None:
    """Numbers that phones know already are never given to other entries."""
    file, _ = brought_back(copied(house).file)
    chain = rows(file, "SELECT node, seq, digest FROM seal ORDER BY seq")

    house.store.close()
    house.store = reopened(file)
    first, second = through(house), through(house)

    with house.desk() as desk:
        (one,), (two,) = (desk.journal.by_id(EntryId(id)) for id in (first, second))
        assert (one.first.node, one.first.seq, one.first.prev) == (ANEW, 1, "")
        assert (two.first.node, two.first.seq, two.first.prev) == (ANEW, 2, one.first.digest)
        assert verify(desk.connection, house.store.ledger).clean
    old = f"SELECT node, seq, digest FROM seal WHERE node <> '{ANEW}' ORDER BY seq"
    assert rows(file, old) == chain


def test_the_copy_it_came_from_is_its_second_place(house: Opened) -> None:
    """An earlier or later copy that the database spoke of may be gone."""
    copied(house)
    (house.folder / "kept.db").rename(house.folder / "first.db")
    through(house)
    copy = copied(house).file
    assert json.loads(settings(copy)[settings_table.BACKED_UP])["name"] == "kept.db"
    reach = rows(copy, "SELECT max(seq) FROM seal")[0][0]

    file, _ = brought_back(copy)

    assert settings(file)[settings_table.LEDGER_ID] == house.store.ledger
    assert settings(file)[settings_table.NODE_ID] == ANEW
    assert json.loads(settings(file)[settings_table.BACKED_UP]) == {
        "at": START.isoformat(),
        "vector": {house.store.node: reach},
        "name": "kept.db",
        "file": str(copy),
        "byte_count": copy.stat().st_size,
        "gone": False,
    }


def test_a_flipped_bit_in_a_copy_is_found_before_anything_changes(house: Opened) -> None:
    copy = copied(house).file
    digest = flip_a_bit(copy)

    file, report = brought_back(copy)

    assert ("entry-digest", f"entry {digest}") in named(report)
    assert list(file.parent.iterdir()) == []


def test_spoilt_folds_in_a_copy_are_worked_out_anew(house: Opened) -> None:
    """What people wrote is whole; to refuse it for the sake of a cache would help nobody."""
    before = content(house.folder / "coop.db")
    copy = copied(house).file
    with closing(sqlite3.connect(copy)) as database:
        database.execute("DELETE FROM move")
        database.execute("UPDATE fold SET live = 1 - live")
        database.commit()

    file, report = brought_back(copy)

    assert report.clean
    assert content(file)["balance"] == before["balance"]
    assert content(file)["move"] == before["move"]


def test_a_copy_of_an_older_step_is_brought_to_the_newest(house: Opened) -> None:
    before = content(house.folder / "coop.db")
    copy = copied(house).file
    url = f"sqlite:///{copy}"
    newest = migrate.newest(url)
    migrate.downgrade(url, "-1")
    assert migrate.current(url) != newest

    file, report = brought_back(copy)

    assert report.clean
    assert migrate.current(f"sqlite:///{file}") == newest
    assert content(file)["entry"] == before["entry"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE alembic_version SET version_num = '9000'", "made by a newer release"),
        ("DELETE FROM alembic_version", "holds no ledger"),
        ("DELETE FROM setting", "holds no ledger"),
    ],
)
def test_what_is_no_ledger_of_this_release_is_refused(
    house: Opened, change: str, said: str
) -> None:
    copy = copied(house).file
    with closing(sqlite3.connect(copy)) as database:
        database.execute(change)
        database.commit()

    with pytest.raises(UnfitDatabase, match=said):
        brought_back(copy)
    assert list((house.folder / "back").iterdir()) == []


def test_a_spoilt_page_does_not_pass_for_a_copy(house: Opened) -> None:
    copy = copied(house).file
    whole = bytearray(copy.read_bytes())
    whole[4096:8192] = b"\0" * 4096
    copy.write_bytes(whole)

    with pytest.raises(UnfitDatabase, match="kept"):
        check(copy)


def test_the_database_that_was_there_keeps_another_name(house: Opened) -> None:
    """What was written since the copy is in it, and nowhere else if no phone holds it."""
    copy = copied(house).file
    through(house)
    file, aside = house.folder / "coop.db", house.folder / "aside.db"
    before = content(file)
    house.store.close()

    report = restore(copy, file, node=ANEW, now=START, aside=aside)

    assert report.clean
    assert content(aside) == before
    assert len(content(file)["entry"]) == len(before["entry"]) - 1


def test_a_disk_without_hard_links_keeps_the_database_too(
    house: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT and exFAT know none (POSIX link(2): EPERM), and a ledger may live on a stick."""

    def refuse(*names: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    copy = copied(house).file
    through(house)
    file, aside = house.folder / "coop.db", house.folder / "aside.db"
    before = content(file)
    house.store.close()
    monkeypatch.setattr("os.link", refuse)

    assert restore(copy, file, node=ANEW, now=START, aside=aside).clean
    assert content(aside) == before
    assert len(content(file)["entry"]) == len(before["entry"]) - 1


def test_a_later_copy_no_longer_counts_for_a_server_set_back(house: Opened) -> None:
    """What the older copy lacks is in one place only, so phones keep and offer it."""
    older = copied(house).file.rename(house.folder / "older.db")
    reach = rows(older, "SELECT max(seq) FROM seal")[0][0]
    through(house)
    copied(house)
    with house.desk() as desk:
        assert two_places(desk.connection) == {house.store.node: reach + 1}
    node = house.store.node
    house.store.close()

    file, aside = house.folder / "coop.db", house.folder / "aside.db"
    restore(older, file, node=ANEW, now=START, aside=aside, counts=True)

    house.store = reopened(file)
    with house.desk() as desk:
        assert two_places(desk.connection) == vector(desk.connection) == {node: reach}


def test_what_a_killed_server_left_in_its_log_is_kept_aside_too(house: Opened) -> None:
    """The log beside the file is part of it: the last entries may be nowhere else."""
    copy = copied(house).file
    last = through(house)
    crashed = house.folder / "crashed"
    crashed.mkdir()
    for end in ("", "-wal"):
        shutil.copy(house.folder / f"coop.db{end}", crashed / f"coop.db{end}")
    assert (crashed / "coop.db-wal").stat().st_size > 0

    restore(copy, crashed / "coop.db", node=ANEW, now=START, aside=crashed / "aside.db")

    assert sorted(one.name for one in crashed.iterdir()) == ["aside.db", "coop.db"]
    there = f"SELECT count(*) FROM entry WHERE id = '{last}'"
    assert rows(crashed / "aside.db", there) == [(1,)]
    assert rows(crashed / "coop.db", there) == [(0,)]


def test_a_database_too_damaged_to_open_is_moved_aside_by_hand(house: Opened) -> None:
    """SQLite cannot say of it whether a server has it open."""
    copy = copied(house).file
    house.store.close()
    file, aside = house.folder / "coop.db", house.folder / "aside.db"
    file.write_bytes(b"\x55" * 8192)

    with pytest.raises(UnfitDatabase, match="move it and what begins with its name aside"):
        restore(copy, file, node=ANEW, now=START, aside=aside)
    assert file.read_bytes() == b"\x55" * 8192


def test_a_database_that_somebody_has_open_is_left_alone(house: Opened) -> None:
    """Even idle: a server that has not been asked anything for an hour."""
    copy = copied(house).file
    file, aside = house.folder / "coop.db", house.folder / "aside.db"
    before = content(file)

    with pytest.raises(UnfitDatabase, match="stop it first"):
        restore(copy, file, node=ANEW, now=START, aside=aside)

    assert content(file) == before
    assert not aside.exists()
    through(house)


def test_nobody_opens_a_database_while_it_is_exchanged(house: Opened) -> None:
    file = house.folder / "coop.db"
    house.store.close()

    with alone(file), closing(sqlite3.connect(file, timeout=0)) as other:
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("SELECT count(*) FROM entry")
        assert [one.name for one in house.folder.glob("coop.db*")] == ["coop.db"]


def test_a_log_left_by_another_database_is_not_read_into_this_one(house: Opened) -> None:
    """SQLite would take a log of that name for the new file's own."""
    copy = copied(house).file
    (house.folder / "back").mkdir()
    log = house.folder / "back" / "coop.db-wal"
    log.write_bytes(b"somebody's")

    with pytest.raises(UnfitDatabase, match="-wal belongs to another"):
        brought_back(copy)
    assert log.read_bytes() == b"somebody's"


@pytest.mark.postgresql
def test_a_server_database_brought_back_seals_as_another_node(postgresql: SqlBook) -> None:
    """pg_restore brought it back; the chain of before stays, the new one begins at one."""
    take_in(postgresql, [*described(), mixed(at=on(17))])
    address = postgresql.store.engines.writer.url.render_as_string(hide_password=False)
    postgresql.store.close()
    engines = open_engines(address)
    with engines.writing() as connection:
        refuse_others(connection)
        before = vector(connection)
        begin_anew(connection, ANEW)
    engines.close()

    store = open_store(address)
    (sealed,) = take_in(SqlBook(store), [mixed(an_id(500), at=on(18))])

    assert (sealed.first.node, sealed.first.seq, sealed.first.prev) == (ANEW, 1, "")
    with store.reading() as desk:
        assert vector(desk.connection) == {**before, ANEW: 1}
        assert set(before) == {NODE}
        assert verify(desk.connection, LEDGER).clean
    store.close()


@pytest.mark.postgresql
def test_a_server_database_that_others_use_is_left_alone(postgresql: SqlBook) -> None:
    address = postgresql.store.engines.writer.url.render_as_string(hide_password=False)
    engines = open_engines(address)

    with (
        postgresql.store.reading(),
        engines.writing() as connection,
        pytest.raises(UnfitDatabase, match="stop it first"),
    ):
        refuse_others(connection)
    engines.close()
