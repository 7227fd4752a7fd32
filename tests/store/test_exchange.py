"""A whole journal as lines, and back: nothing is lost, and a changed byte has a name."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.ids import NodeId
from coop.store.desk import Store, open_store
from coop.store.engines import open_engines
from coop.store.exchange import Counts, Faulty, digest_of, fill, write_out
from coop.store.migrate import upgrade
from coop.store.rebuild import rebuild
from coop.store.verify import verify
from tests.store.test_verify import NAME, story
from tests.store.test_verify import fill as tell_the_story
from tests.support.ledgers import SqlBook, pg_book, sqlite_book
from tests.support.sayings import LEDGER, an_id

NEW_NODE = NodeId(an_id(990))


@pytest.fixture(scope="module")
def full(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SqlBook]:
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("export")) as book:
        tell_the_story(book)
        yield book


@pytest.fixture(scope="module")
def lines(full: SqlBook) -> list[bytes]:
    return written(full.store)


def written(store: Store) -> list[bytes]:
    found: list[bytes] = []
    with store.reading() as desk:
        write_out(desk.connection, store.ledger, found.append)
    return found


def taken_in(lines: list[bytes], url: str) -> Counts:
    upgrade(url)
    engines = open_engines(url)
    try:
        with engines.writing() as connection:
            return fill(connection, iter(lines), node=NEW_NODE)
    finally:
        engines.close()


def refused(lines: list[bytes], folder: Path) -> Faulty:
    with pytest.raises(Faulty) as caught:
        taken_in(lines, f"sqlite:///{folder}/coop.db")
    return caught.value


def digest(store: Store) -> str:
    with store.reading() as desk:
        return digest_of(desk.connection, LEDGER)


def test_every_entry_seal_and_attachment_is_a_line(lines: list[bytes]) -> None:
    """Anybody can read it with what reads JSON: no program of ours is needed for that."""
    records = [json.loads(line) for line in lines]

    assert records[0] == {"form": "coop journal", "v": 1, "ledger": LEDGER}
    kinds = sorted(one["entry"]["kind"] for one in records if "entry" in one)
    assert kinds == sorted(one.kind for one in story())
    assert [one["attachment"] for one in records if "attachment" in one] == [NAME]
    count = len(story())
    assert records[-1]["end"] == {"entries": count, "seals": count, "attachments": 1}


def test_an_empty_ledger_filled_from_it_comes_to_the_same(
    full: SqlBook, lines: list[bytes], tmp_path: Path
) -> None:
    """Same entries, same seals, same states; only what it seals as is new."""
    url = f"sqlite:///{tmp_path}/coop.db"
    taken_in(lines, url)
    store = open_store(url)
    rebuild(store)

    with store.reading() as desk:
        found = verify(desk.connection, LEDGER)
    assert found.problems == ()
    assert store.node == NEW_NODE
    assert digest(store) == digest(full.store)
    assert written(store) == lines
    store.close()


@pytest.mark.postgresql
def test_the_other_engine_comes_to_the_same_digest(
    full: SqlBook, lines: list[bytes], pg_server: str, pg_template: str
) -> None:
    """A co-operative may grow out of one machine and take everything along."""
    with pg_book(pg_server, pg_template) as book:
        with book.store.engines.writing() as connection:
            fill(connection, iter(lines), node=NEW_NODE)
        rebuild(book.store)

        assert digest(book.store) == digest(full.store)
        assert written(book.store) == lines


def test_what_was_erased_stays_erased(
    sqlite: SqlBook, sqlite_template: Path, tmp_path: Path
) -> None:
    """The name of the note travels, the note does not come back."""
    tell_the_story(sqlite)
    with sqlite.writing() as journal:
        journal.erase(NAME)
    (line,) = [one for one in written(sqlite.store) if b'"attachment"' in one]

    assert set(json.loads(line)) == {"attachment", "content_type", "reach"}


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_byte_changed_anywhere_is_found_and_its_line_named(
    lines: list[bytes], tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Where an entry or a seal was changed, its own name is said too."""
    place = data.draw(st.integers(0, len(lines) - 1))
    line = lines[place]
    at = data.draw(st.integers(0, len(line) - 1))
    by = data.draw(st.integers(1, 255))
    changed = [*lines]
    changed[place] = line[:at] + bytes([line[at] ^ by]) + line[at + 1 :]

    fault = refused(b"".join(changed).splitlines(keepends=True), folder_of(tmp_path_factory))

    assert place + 1 <= fault.line <= len(lines) + 1
    if fault.code in ("entry-digest", "seal-digest"):
        assert fault.line == place + 1
        assert re.search(r"[0-9a-f]{40,}", fault.where)


def folder_of(factory: pytest.TempPathFactory) -> Path:
    return factory.mktemp("changed")


@pytest.mark.parametrize("cut", [1, 5, -2, -1])
def test_a_file_that_was_cut_off_is_refused(
    lines: list[bytes], tmp_path: Path, cut: int
) -> None:
    """A stick that was pulled out too early: without its last line nothing is taken in."""
    assert refused(lines[:cut], tmp_path).code == "cut-off"


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda lines: [*lines[:3], *lines[4:]], "lines-missing"),
        (lambda lines: [*lines[:3], lines[2], *lines[3:]], "twice-or-out-of-order"),
        (lambda lines: [*lines, b"{}\n"], "after-the-end"),
        (lambda lines: lines[1:], "not-an-export"),
        (
            lambda lines: [lines[0].replace(b'"v":1', b'"v":2'), *lines[1:]],
            "of-a-newer-release",
        ),
        (lambda lines: [lines[0], b"[]\n", *lines[1:]], "not-as-written"),
        (lambda lines: [lines[0], b'{"colour":"red"}\n', *lines[1:]], "not-a-record"),
        (lambda lines: [lines[0], b"so what\n", *lines[1:]], "not-json"),
        (lambda lines: [lines[0], b'{"a":"\\ud800"}\n', *lines[1:]], "not-json"),
        (lambda lines: [lines[0], b"[" * 9_000 + b"\n", *lines[1:]], "not-json"),
        (lambda lines: [*lines[:-2], lines[-3], *lines[-2:]], "twice-or-out-of-order"),
        (lambda lines: [*lines[:-1], lines[1], lines[-1]], "twice-or-out-of-order"),
        (
            lambda lines: [*lines[:-2], lines[-2].replace(b"text/plain", b"<p>"), lines[-1]],
            "attachment-not-understood",
        ),
        (
            lambda lines: [*lines[:-2], lines[-2].replace(b'"73737373', b'"737373'), lines[-1]],
            "attachment-not-understood",
        ),
        (
            lambda lines: [lines[0].replace(LEDGER.encode(), b"ours"), *lines[1:]],
            "not-an-export",
        ),
        (
            lambda lines: [lines[0].replace(LEDGER.encode(), an_id(77).encode()), *lines[1:]],
            "entry-other-ledger",
        ),
    ],
)
def test_what_is_no_export_or_another_is_refused_by_name(
    lines: list[bytes], tmp_path: Path, spoil: object, code: str
) -> None:
    assert callable(spoil)
    assert refused(spoil(lines), tmp_path).code == code


def test_a_refused_file_leaves_the_database_as_empty_as_before(
    lines: list[bytes], tmp_path: Path
) -> None:
    """So that the right file can be taken in at once."""
    refused(lines[:-1], tmp_path)

    url = f"sqlite:///{tmp_path}/coop.db"
    assert taken_in(lines, url)["entries"] == len(story())
