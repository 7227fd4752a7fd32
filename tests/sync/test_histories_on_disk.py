"""
The seeded histories once more on the real store: what holds in memory holds in a database.

On SQLite the server is backed up and restored as an operator does it; on PostgreSQL that is
the work of its own tools, so there it is never set back.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import select

from coop.actions.push_drafts import push_drafts
from coop.ids import LedgerId, NodeId, Subject
from coop.ledger.entries import Sealed
from coop.ledger.ports import Journal
from coop.store import tables
from coop.store.backups import count_as_place, two_places, vector
from coop.store.copies import back_up
from coop.store.desk import Store, open_store, start_ledger
from coop.store.restore import restore
from coop.store.verify import verify
from coop.store.waiting import SqlShelf
from coop.sync.message import Reach, read_push
from coop.sync.outbox import name_of
from coop.sync.ports import Held, Shelf
from tests.support.ledgers import SqlBook, pg_book
from tests.support.sayings import BATH, LEDGER, an_id, on
from tests.support.stairs import Stairs
from tests.support.studio import Studio

SEEDS = 10
_EVERYTHING = select(tables.entry.c.bytes, tables.seal.c.bytes).join_from(
    tables.entry, tables.seal, tables.seal.c.entry == tables.entry.c.digest
)


class StoreStudio(Studio):
    """A server on a database that is open already, never set back."""

    def __init__(self, ledger: LedgerId, new_id: Callable[[], str], store: Store) -> None:
        self.ledger, self.new_id, self.store = ledger, new_id, store

    @contextmanager
    def unit(self) -> Iterator[tuple[Journal, Shelf]]:
        with self.store.writing() as desk:
            yield desk.journal, SqlShelf(desk.connection)

    def everything(self) -> tuple[Sealed, ...]:
        with self.store.reading() as desk:
            return desk.journal.sealed(desk.connection.execute(_EVERYTHING))

    def reach(self) -> Reach:
        with self.store.reading() as desk:
            return Reach(here=vector(desk.connection), two_places=two_places(desk.connection))

    def waiting(self) -> tuple[Held, ...]:
        with self.store.reading() as desk:
            return SqlShelf(desk.connection).waiting()

    def back_up(self, *, now) -> None:
        """Say that a second place has all there is, as a replica would."""
        with self.store.writing() as desk:
            here = vector(desk.connection)
            count_as_place(desk.connection, name="replica", reach=here, now=now)

    def set_back(self, *, now) -> None:
        raise AssertionError("not on this database")


class FileStudio(StoreStudio):
    """A server on a SQLite file, backed up and restored as an operator does it."""

    def __init__(self, ledger: LedgerId, new_id: Callable[[], str], template: Path, file: Path):
        self.file, self.backups = file, 0
        file.write_bytes(template.read_bytes())
        store = start_ledger(self.url, ledger=ledger, node=NodeId(new_id()))
        super().__init__(ledger, new_id, store)

    @property
    def url(self) -> str:
        return f"sqlite:///{self.file}"

    def beside(self, name: str) -> Path:
        return self.file.with_name(f"{name}-{self.backups}.db")

    def back_up(self, *, now) -> None:
        self.backups += 1
        done = back_up(self.store, self.file, self.beside("backup"), now=now, counts=True)
        assert done.report.clean, done.report.problems

    def set_back(self, *, now) -> None:
        """Restore the last backup; what it replaces is not asked for again."""
        self.store.close()
        aside = self.beside("aside")
        node = NodeId(self.new_id())
        kept = self.beside("backup")
        report = restore(kept, self.file, node=node, now=now, aside=aside, counts=True)
        assert report.clean, report.problems
        aside.unlink()
        self.store = open_store(self.url)


def assert_as_in_memory(history: Stairs, store: Callable[[], Store]) -> None:
    """Play a history out in a database and in memory; both must come to the same."""
    twin = Stairs(history.seed, goes_back=history.goes_back)
    twin.run()
    history.run()
    assert not history.lost(), history.seed
    assert not history.unsettled(), history.seed
    assert not history.twice(), history.seed
    assert not history.unaccounted(), history.seed
    assert history.studio.state("bath", BATH) == twin.studio.state("bath", BATH), history.seed
    seals = [{seal.digest for one in each.studio.everything() for seal in one.seals}
             for each in (history, twin)]  # fmt: skip
    assert seals[0] == seals[1], history.seed
    assert history.studio.reach() == twin.studio.reach(), history.seed
    assert history.studio.waiting() == twin.studio.waiting(), history.seed
    with store().reading() as desk:
        found = verify(desk.connection, LEDGER)
    assert found.clean, (history.seed, found.problems[:3])


@pytest.mark.parametrize("seed", range(SEEDS))
def test_a_history_on_sqlite_comes_to_what_it_does_in_memory(
    seed: int, sqlite_template: Path, tmp_path: Path
) -> None:
    """With real backups, real restores, every fold and finding kept on the way."""
    opened: list[FileStudio] = []

    def in_a_file(ledger: LedgerId, new_id: Callable[[], str]) -> Studio:
        opened.append(FileStudio(ledger, new_id, sqlite_template, tmp_path / "coop.db"))
        return opened[0]

    history = Stairs(seed, open=in_a_file)

    assert_as_in_memory(history, lambda: opened[0].store)
    opened[0].store.close()


@pytest.mark.postgresql
@pytest.mark.parametrize("seed", range(SEEDS))
def test_a_history_on_postgresql_comes_to_what_it_does_in_memory(
    seed: int, pg_server: str, pg_template: str
) -> None:
    with pg_book(pg_server, pg_template) as book:
        url = book.store.engines.writer.url.render_as_string(hide_password=False)
        stores: list[Store] = []

        def in_a_database(ledger: LedgerId, new_id: Callable[[], str]) -> Studio:
            stores.append(start_ledger(url, ledger=ledger, node=NodeId(new_id())))
            return StoreStudio(ledger, new_id, stores[0])

        history = Stairs(seed, open=in_a_database, goes_back=False)
        with closing_all(stores):
            assert_as_in_memory(history, lambda: stores[0])


@contextmanager
def closing_all(stores: list[Store]) -> Iterator[None]:
    try:
        yield
    finally:
        for store in stores:
            store.close()


@pytest.mark.postgresql
def test_an_odd_text_given_up_is_kept_in_postgresql(postgresql: SqlBook) -> None:
    """It takes no NUL into a text, and nothing takes half a surrogate pair."""
    odd, device = "\ud800 and \0", an_id(9)
    message = {"v": 1, "now": on(18).isoformat(), "last_seq": 1, "heard": {}, "kept_count": 0}
    push = read_push(json.dumps({**message, "given_up": [odd]}).encode())
    with postgresql.store.writing() as desk:
        shelf = SqlShelf(desk.connection)
        told = push_drafts(desk.journal, shelf, Subject(device), push, now=on(18))
        (held,) = shelf.held(name_of(odd))

    assert [one.outcome for one in told.settled] == ["given-up"]
    assert held.text == "\\ud800 and \\u0000"
