"""What is kept can be looked through from end to end, and what is wrong has a name."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, insert, select, update

from coop.ids import EntryId, LedgerId, NodeId, Subject
from coop.ledger.canon import canonical, digest, parse
from coop.ledger.digest import alike
from coop.ledger.entries import make_seal, read_entry
from coop.ledger.force import Finding
from coop.ledger.ports import Admission, Attachment
from coop.store import states, tables
from coop.store import verify as verifying
from coop.store.rebuild import rebuild
from coop.store.verify import Problem, adds_up, verify
from tests.support.ledgers import LATE, SqlBook, sqlite_book, take_in
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    LEDGER,
    LOT,
    NODE,
    PAPER_LOT,
    STUDIO,
    VESSEL,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    spooned,
    through,
    topped_up,
)

FOLDS = 12
NAME = digest(b"s" * 16 + b"a note")


def story():
    slip = through(an_id(52), 200, at=on(19))
    return [
        *described(),
        spooned(),
        mixed(an_id(20), at=on(10), name="R-A1"),
        through(an_id(50), 40, at=on(18)),
        topped_up(an_id(51), at=on(18, 12), water=q(3, "l")),
        slip,
        corrected(an_id(60), slip, "replace", at=on(20),
                  content=instead(slip, sheet_count="20", bath=an_id(20))),
        say("bath.stopped", an_id(53), at=on(20), bath=BATH, reason="other"),
        through(an_id(54), 3, at=on(21)),
        say("sheets.sorted", an_id(55), at=on(21), stack=an_id(54), good="3"),
        say("lot.spoon_weighed", an_id(56), at=on(22), lot=LOT, spoon_count="10",
            spoon="us_tbsp", weight=q(111, "g")),
    ]  # fmt: skip


def fill(book: SqlBook) -> None:
    for entry in story():
        take_in(book, [entry])
    with book.writing() as journal:
        journal.keep(Attachment(name=NAME, content_type="text/plain", reach="personal",
                                salt=b"s" * 16, data=b"a note"))  # fmt: skip


@pytest.fixture(scope="module")
def full(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SqlBook]:
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("full")) as book:
        fill(book)
        yield book


def report(book: SqlBook):
    with book.store.reading() as desk:
        return verify(desk.connection, LEDGER)


class Undo(Exception):
    """Raised to leave no trace of what was spoilt."""


def spoilt(book: SqlBook, *statements):
    """Return what verify says once somebody has gone around the guards; then undo it all."""
    found: list[Problem] = []

    def spoil():
        with book.store.engines.writing() as connection:
            triggers = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            guards = connection.exec_driver_sql(triggers).all()
            connection.exec_driver_sql("PRAGMA defer_foreign_keys=on")
            for name, _ in guards:
                connection.exec_driver_sql(f"DROP TRIGGER {name}")
            for statement in statements:
                connection.execute(statement)
            for _, made in guards:
                connection.exec_driver_sql(made)
            found.extend(verify(connection, LEDGER).problems)
            raise Undo

    with pytest.raises(Undo):
        spoil()
    return found


def codes(problems):
    return {one.code for one in problems}


def everything(book: SqlBook):
    """Return every row of every cache."""
    with book.store.reading() as desk:
        return {
            table.name: sorted(map(tuple, desk.connection.execute(select(table))), key=repr)
            for table in tables.CACHES
        }


def test_a_sound_ledger_has_no_problems(full: SqlBook) -> None:
    found = report(full)

    assert found.problems == ()
    assert found.clean
    assert found.counts["entries"] == found.counts["seals"] == len(story())
    assert found.counts["folds"] == FOLDS
    assert found.counts["attachments"] == 1
    assert found.counts["stale"] == 0


@pytest.mark.postgresql
def test_a_sound_ledger_has_no_problems_on_postgresql(postgresql: SqlBook) -> None:
    fill(postgresql)

    assert report(postgresql).problems == ()


@pytest.mark.postgresql
def test_postgresql_rebuilds_to_the_same(postgresql: SqlBook) -> None:
    fill(postgresql)
    before = everything(postgresql)
    rebuild(postgresql.store)

    assert everything(postgresql) == before


def test_an_empty_ledger_has_no_problems(sqlite: SqlBook) -> None:
    assert report(sqlite).clean


def test_what_is_stale_is_counted_not_held_against_anybody(sqlite: SqlBook) -> None:
    take_in(sqlite, story(), fold=False)

    assert report(sqlite).problems == ()
    assert report(sqlite).counts["stale"] == FOLDS


COLUMNS = [
    (tables.entry, "bytes"),
    (tables.entry, "id"),
    (tables.entry, "digest"),
    (tables.seal, "bytes"),
    (tables.seal, "digest"),
    (tables.seal, "entry"),
    (tables.seal, "node"),
    (tables.fold, "state"),
    (tables.fold, "home"),
    (tables.fold, "sort"),
    (tables.fold, "subject"),
    (tables.move, "from_account"),
    (tables.move, "to_account"),
    (tables.move, "substance"),
    (tables.move, "entry"),
    (tables.move, "week"),
    (tables.move, "owner"),
    (tables.finding, "code"),
    (tables.fold_input, "input"),
    (tables.touch, "subject"),
    (tables.touch, "entry"),
    (tables.attachment_bytes, "salt"),
    (tables.attachment_bytes, "bytes"),
]


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_byte_flipped_anywhere_is_found(full: SqlBook, data: st.DataObject) -> None:
    """A bad disk, or somebody with the file in hand: by how much does not matter."""
    table, column = data.draw(st.sampled_from(COLUMNS))
    with full.store.reading() as desk:
        rows = desk.connection.execute(select(table)).all()
    row = data.draw(st.sampled_from([row for row in rows if getattr(row, column)]))
    old = getattr(row, column)
    place = data.draw(st.integers(0, len(old) - 1))
    new = flipped(old, place, data.draw(st.integers(1, 127)))
    key = [getattr(table.c, each.name) == getattr(row, each.name) for each in table.primary_key]
    assume(column != "state" or not as_good(row.sort, old, new))

    problems = spoilt(full, update(table).where(*key).values({column: new}))

    assert problems, (table.name, column, place)
    if table in (tables.entry, tables.seal) and column == "bytes":
        assert row.digest in " ".join(one.where for one in problems)


def as_good(sort, old, new):
    """The tenth digit of an estimate is no fact; two machines may differ in it."""
    try:
        return alike(states.load(sort, old), states.load(sort, new))
    except ValueError:
        return False


def flipped(old, place, by):
    if isinstance(old, bytes):
        return old[:place] + bytes([old[place] ^ by]) + old[place + 1 :]
    letter = chr(ord(old[place]) ^ (by & 0x1F or 1))
    return old[:place] + letter + old[place + 1 :]


def row_of(book: SqlBook, table, *wanted):
    with book.store.reading() as desk:
        return desk.connection.execute(select(table).where(*wanted)).first()


def test_a_guard_that_was_taken_away_is_named(sqlite: SqlBook) -> None:
    with sqlite.store.engines.writing() as connection:
        connection.exec_driver_sql("DROP TRIGGER guard_entry_update")
    (one,) = report(sqlite).problems

    assert (one.code, one.where) == ("guard-missing", "guard_entry_update")


def test_an_entry_taken_away_leaves_its_seal_and_its_place(full: SqlBook) -> None:
    row = row_of(full, tables.entry, tables.entry.c.id == an_id(50))
    problems = spoilt(full, delete(tables.entry).where(tables.entry.c.digest == row.digest))

    assert {"seal-without-entry", "touch-without-entry"} <= codes(problems)


def test_a_seal_taken_away_leaves_a_gap_and_an_entry_without_one(full: SqlBook) -> None:
    problems = spoilt(full, delete(tables.seal).where(tables.seal.c.seq == 7))

    assert {"chain-gap", "entry-not-sealed"} <= codes(problems)


def test_an_entry_rewritten_with_its_digest_still_breaks_its_seal(full: SqlBook) -> None:
    """Who rewrites an entry must rewrite every seal after it too."""
    row = row_of(full, tables.entry, tables.entry.c.id == an_id(50))
    record = parse(bytes(row.bytes))
    record["author"] = an_id(77)
    data = canonical(record)
    new = {"bytes": data, "digest": digest(data)}
    problems = spoilt(full, update(tables.entry).where(tables.entry.c.id == row.id).values(new))

    assert {"seal-without-entry", "entry-not-sealed"} <= codes(problems)


def test_a_forged_seal_does_not_fit_its_chain(full: SqlBook) -> None:
    row = row_of(full, tables.seal, tables.seal.c.seq == 7)
    with full.store.reading() as desk:
        found = read_entry(parse(bytes(row_of(full, tables.entry).bytes)))
        assert desk.journal.by_id(found.id)
    forged = make_seal(entry=found, node=NodeId(row.node), seq=7, prev="ab" * 32,
                       admitted_at=LATE, admitted_by=AMINA, offset_ms=0)  # fmt: skip
    new = {"bytes": forged.data, "digest": forged.digest, "entry": found.digest}
    problems = spoilt(full, update(tables.seal).where(tables.seal.c.seq == 7).values(new))

    assert {"chain-broken", "entry-not-sealed"} <= codes(problems)


def test_a_number_given_twice_is_a_fork(full: SqlBook) -> None:
    """A server was set back and went on with its old name."""
    row = row_of(full, tables.entry)
    twice = make_seal(entry=read_entry(parse(bytes(row.bytes))), node=NodeId(an_id(2)), seq=7,
                      prev="", admitted_at=LATE, admitted_by=AMINA, offset_ms=0)  # fmt: skip
    new = {"digest": twice.digest, "entry": row.digest, "node": twice.node, "seq": 7,
           "bytes": twice.data}  # fmt: skip

    assert "chain-forked" in codes(spoilt(full, insert(tables.seal).values(new)))


def test_an_entry_of_another_ledger_is_named(full: SqlBook) -> None:
    with full.store.reading() as desk:
        found = codes(verify(desk.connection, LedgerId(an_id(999))).problems)

    assert found == {"entry-other-ledger", "seal-other-ledger"}


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"amount": 0}, "move-lopsided"),
        ({"doubt": -1}, "move-lopsided"),
        ({"amount": 12}, "fold-differs"),
    ],
)
def test_a_row_that_does_not_balance_or_belong_is_named(full: SqlBook, values, code) -> None:
    mix = (tables.move.c.owner == BATH, tables.move.c.n == 0)

    assert code in codes(spoilt(full, update(tables.move).where(*mix).values(values)))


def test_a_row_with_one_end_is_named(full: SqlBook) -> None:
    same = update(tables.move).values(from_account=tables.move.c.to_account)

    assert "move-lopsided" in codes(spoilt(full, same))


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"live": 0}, "fold-differs"),
        ({"place": 9}, "fold-differs"),
        ({"stale": 2}, "fold-stale-mark"),
        ({"fold_version": 0}, "fold-version"),
        ({"sort": "tray"}, "fold-sort"),
    ],
)
def test_a_fold_that_is_not_what_its_entries_give_is_named(full: SqlBook, values, code) -> None:
    bath = tables.fold.c.subject == BATH

    assert codes(spoilt(full, update(tables.fold).where(bath).values(values))) == {code}


def test_a_fold_that_is_not_there_is_named(full: SqlBook) -> None:
    lot = tables.fold.c.subject == PAPER_LOT
    problems = spoilt(full, delete(tables.fold).where(lot))

    assert ("fold-missing", f"fold {PAPER_LOT}") in {(one.code, one.where) for one in problems}


def test_the_list_of_problems_has_an_end(
    full: SqlBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verifying, "PROBLEMS_MAX", 3)
    with full.store.reading() as desk:
        found = verify(desk.connection, LedgerId(an_id(999)))

    assert len(found.problems) == 3
    assert found.counts["problems"] == 2 * len(story())


def test_caches_thrown_away_come_back_as_they_were(sqlite: SqlBook) -> None:
    """Nothing in them is known from anywhere but the journal."""
    fill(sqlite)
    before = everything(sqlite)
    count = rebuild(sqlite.store)

    assert count == len(before["fold"]) == FOLDS
    assert everything(sqlite) == before
    assert report(sqlite).clean


def test_spoilt_caches_are_mended_by_rebuilding(sqlite: SqlBook) -> None:
    fill(sqlite)
    before = everything(sqlite)
    with sqlite.store.engines.writing() as connection:
        for table in (tables.touch, tables.move, tables.finding):
            connection.execute(delete(table))
        connection.execute(update(tables.fold).values(state=b"{}", sort="bath"))
    assert not report(sqlite).clean
    rebuild(sqlite.store)

    assert everything(sqlite) == before


def test_a_count_of_a_devices_entries_that_drifted_is_named_and_mended(sqlite: SqlBook) -> None:
    """Pages compare it with what the phone says; a line that is here would be missing."""
    slip = through(an_id(50), 200, at=on(18))
    phone = read_entry(parse(slip.data) | {"device": an_id(70), "device_seq": 1})
    take_in(sqlite, [mixed(), phone])
    assert report(sqlite).clean
    with sqlite.store.engines.writing() as connection:
        connection.execute(update(tables.arrival).values(entry_count=2))

    assert [one.code for one in report(sqlite).problems] == ["arrival-differs"]
    rebuild(sqlite.store)
    assert report(sqlite).clean


def test_what_was_counted_out_of_a_stack_stands_in_its_rows(full: SqlBook) -> None:
    """Three sheets were sorted: one more counted, one row less, or four of three is no sum."""
    with full.reading() as journal:
        whole = journal.folded("stack", Subject(an_id(54)))

    assert adds_up(whole)
    assert not adds_up(replace(whole, state=replace(whole.state, good=2)))
    assert not adds_up(replace(whole, state=replace(whole.state, binned_count=1)))
    assert not adds_up(replace(whole, moves=()))
    over = replace(whole, state=replace(whole.state, sheet_count=2))
    assert not adds_up(over)
    odd = Finding(code="sorted-over-the-count", entry=EntryId(an_id(55)))
    assert adds_up(replace(over, findings=(odd,)))


def test_there_is_never_less_than_nothing_in_a_bath_that_is_no_alum() -> None:
    size = say("bath.mixed", BATH, at=on(10), what="size", name="R-S1", studio=STUDIO,
               vessel=VESSEL, water=q(9, "l"),
               powder=[{"powder": "carrageenan", "amount": q(45, "g")}])  # fmt: skip
    journal = MemoryJournal(ledger=LEDGER, node=NODE)
    journal.append([*described(), size], Admission(at=on(17, 19), by=AMINA))
    whole = journal.folded("bath", Subject(BATH))

    assert adds_up(whole)
    assert not adds_up(replace(whole, state=replace(whole.state, volume_ml=-1.0)))
    assert not adds_up(replace(whole, state=replace(whole.state, powder_g=-1.0)))


def test_a_balance_that_is_not_the_sum_of_its_rows_is_named(full: SqlBook) -> None:
    """Pages read what is kept beside the rows; nobody would see that it had drifted."""
    more = update(tables.balance).values(amount=tables.balance.c.amount + 1)

    assert "balance-differs" in codes(spoilt(full, more))
