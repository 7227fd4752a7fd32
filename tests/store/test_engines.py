"""Readers and the writer: what is kept, what is undone, who waits for whom."""

import threading
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import func, insert, select
from sqlalchemy.exc import DBAPIError, StatementError

from coop.store.engines import (
    Engines,
    UnfitDatabase,
    WriterBusy,
    count_queries,
    open_engines,
)
from coop.store.tables import invite, setting


def put(connection, key, value="x"):
    connection.execute(insert(setting).values(key=key, value=value))


def count_up_once(connection):
    value = connection.execute(select(setting.c.value)).scalar_one()
    connection.execute(setting.update().values(value=str(int(value) + 1)))


def keys(engines):
    with engines.reading() as connection:
        return sorted(connection.scalars(select(setting.c.key)))


def test_a_unit_of_work_is_kept_when_its_block_ends(engines):
    with engines.writing() as connection:
        put(connection, "a")

    assert keys(engines) == ["a"]


def test_a_unit_of_work_is_undone_when_it_raises(engines):
    """Return to keep, raise to undo: nothing half-written stays."""

    def slip():
        with engines.writing() as connection:
            put(connection, "a")
            raise RuntimeError("slip")

    with pytest.raises(RuntimeError, match="slip"):
        slip()

    assert keys(engines) == []


def test_the_writer_is_free_again_after_an_undone_unit(engines):
    with pytest.raises(RuntimeError), engines.writing():
        raise RuntimeError
    with engines.writing(wait_s=0) as connection:
        put(connection, "b")

    assert keys(engines) == ["b"]


def test_the_reader_cannot_write(engines):
    with (
        pytest.raises(DBAPIError, match=r"readonly|read-only"),
        engines.reading() as connection,
    ):
        put(connection, "a")

    assert keys(engines) == []


def test_a_reader_keeps_its_view_while_the_writer_writes(engines):
    """A page adds up from one moment, whatever is written meanwhile."""
    with engines.reading() as reader:
        before = reader.scalar(select(func.count()).select_from(setting))
        with engines.writing() as writer:
            put(writer, "a")
        after = reader.scalar(select(func.count()).select_from(setting))

    assert (before, after) == (0, 0)
    assert keys(engines) == ["a"]


def test_a_second_unit_of_work_is_told_when_to_come_back(engines):
    with (
        engines.writing(),
        pytest.raises(WriterBusy) as refused,
        engines.writing(wait_s=0),
    ):
        raise AssertionError("two writers at once")

    assert refused.value.retry_after_s >= 1


def test_another_process_holding_the_writer_counts_as_busy(url, monkeypatch):
    """A command and the server are two processes: only the database sees both."""
    monkeypatch.setattr("coop.store.engines.WRITER_WAIT_S", 1)
    monkeypatch.setattr(
        "coop.store.engines._SQLITE_PRAGMAS", ("journal_mode=wal", "busy_timeout=50")
    )
    server, command = open_engines(url), open_engines(url)
    try:
        with server.writing() as connection:
            put(connection, "server")
            with pytest.raises(WriterBusy), command.writing():
                raise AssertionError("two writers at once")
        with command.writing() as connection:
            put(connection, "command")
        assert keys(server) == ["command", "server"]
    finally:
        server.close()
        command.close()


def test_no_update_is_lost_between_threads(engines):
    """Reading the last number and writing the next one is one unit of work."""
    with engines.writing() as connection:
        put(connection, "n", "0")

    def count_up():
        for _ in range(15):
            with engines.writing() as connection:
                count_up_once(connection)

    threads = [threading.Thread(target=count_up) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    with engines.reading() as connection:
        assert connection.scalar(select(setting.c.value)) == "60"


def test_no_update_is_lost_between_two_servers_on_one_database(url):
    both = [open_engines(url), open_engines(url)]
    with both[0].writing() as connection:
        put(connection, "n", "0")

    def count_up(engines: Engines):
        for _ in range(15):
            with engines.writing() as connection:
                count_up_once(connection)

    threads = [threading.Thread(target=count_up, args=(engines,)) for engines in both]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    with both[1].reading() as connection:
        assert connection.scalar(select(setting.c.value)) == "30"
    for engines in both:
        engines.close()


def test_sqlite_waits_for_the_disk_at_each_commit(tmp_path):
    """At NORMAL a power cut loses what was acknowledged; FULL is 2 in SQLite's pragma."""
    engines = open_engines(f"sqlite:///{tmp_path / 'coop.db'}")
    with engines.writing() as connection:
        told = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }
    engines.close()

    assert told == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }


def test_a_new_database_file_is_its_owners_only(tmp_path):
    """It holds password hashes; SQLite gives its -wal file the same rights."""
    engines = open_engines(f"sqlite:///{tmp_path / 'coop.db'}")
    with engines.writing() as connection:
        connection.exec_driver_sql("CREATE TABLE t (n INTEGER) STRICT")
        rights = {file.name: file.stat().st_mode & 0o777 for file in tmp_path.iterdir()}
    engines.close()

    assert rights.keys() >= {"coop.db", "coop.db-wal"}
    assert set(rights.values()) == {0o600}


@pytest.mark.parametrize(
    ("address", "word"),
    [
        ("sqlite://", "needs a file"),
        ("sqlite:///:memory:", "needs a file"),
        ("mysql://x/y", "mysql"),
    ],
)
def test_an_address_that_cannot_hold_a_ledger_is_refused(address, word):
    with pytest.raises(UnfitDatabase, match=word):
        open_engines(address)


def test_an_old_sqlite_is_refused_with_both_versions(sqlite_url, monkeypatch):
    monkeypatch.setattr("coop.store.engines.SQLITE_OLDEST", (99, 0, 0))
    engines = open_engines(sqlite_url)

    with pytest.raises(UnfitDatabase, match=r"too old, 99\.0\.0 or newer"), engines.writing():
        raise AssertionError("an old database was taken")
    engines.close()


def test_a_counter_sees_the_statements_of_its_block(engines):
    with count_queries(engines.reader) as counted, engines.reading() as connection:
        connection.execute(select(setting))
        connection.execute(select(invite))

    assert counted.count == 2
    keys(engines)
    assert counted.count == 2


def test_a_time_without_zone_is_refused(engines):
    naive = datetime(2026, 3, 1, 12)  # noqa: DTZ001 - that is the point
    row = {"token_hash": "h", "purpose": "first", "expires_at": naive}
    with pytest.raises(StatementError, match="needs its zone"), engines.writing() as connection:
        connection.execute(insert(invite).values(row))


def test_a_time_comes_back_as_the_same_moment_in_utc(engines):
    """02:30 in a zone two hours ahead is 00:30 UTC, not 02:30 of nowhere."""
    ahead = timezone(timedelta(hours=2))
    row = {
        "token_hash": "h",
        "purpose": "first",
        "expires_at": datetime(2026, 3, 1, 2, 30, tzinfo=ahead),
    }
    with engines.writing() as connection:
        connection.execute(insert(invite).values(row))
    with engines.reading() as connection:
        read = connection.execute(select(invite.c.expires_at, invite.c.used_at)).one()

    assert read.expires_at == datetime(2026, 3, 1, 0, 30, tzinfo=UTC)
    assert read.expires_at.utcoffset() == timedelta(0)
    assert read.used_at is None


def test_times_compare_as_moments_inside_the_database(engines):
    """Ten past nine is later than nine and a half second, in any zone and precision."""
    nine = datetime(2026, 3, 1, 9, 0, 0, 500_000, tzinfo=UTC)
    later = datetime(2026, 3, 1, 11, 10, tzinfo=timezone(timedelta(hours=2)))
    with engines.writing() as connection:
        for name, at in (("nine", nine), ("later", later)):
            row = {"token_hash": name, "purpose": "member", "expires_at": at}
            connection.execute(insert(invite).values(row))
    with engines.reading() as connection:
        found = connection.scalars(
            select(invite.c.token_hash).where(invite.c.expires_at > nine)
        )

        assert list(found) == ["later"]
