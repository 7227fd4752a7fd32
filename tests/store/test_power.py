"""
The plug is pulled: what was acknowledged is there, and nothing is half there.

SQLite promises it at `synchronous=FULL` (documentation of PRAGMA synchronous, from memory) and
does not at NORMAL in WAL mode: the same record of a run at NORMAL must show losses here, or
this file would prove nothing.
"""

import os
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from coop.ids import EntryId
from coop.store.desk import open_store
from coop.store.verify import verify
from tests.support import power
from tests.support.ledgers import sqlite_book, take_in
from tests.support.sayings import LEDGER, described, mixed, on

ENTRIES = 60
"""Enough for the log beside the database to be written back into it, and begun anew."""


@dataclass(frozen=True, slots=True)
class Run:
    """What the disk held when the writer began, what it did, and the seed of it all."""

    file: str
    before: dict[str, bytes]
    events: Sequence[power.Event]
    seed: int


def run(template: Path, folder: Path, *, sync: str = "") -> Run:
    seed = int(os.environ.get("COOP_TEST_SEED", random.SystemRandom().randrange(2**32)))
    with sqlite_book(template, folder, sync=True) as book:
        take_in(book, [*described(), mixed(at=on(17))])
        address = book.store.engines.writer.url.render_as_string(hide_password=False)
    file = address.removeprefix("sqlite:///")
    before = {file: Path(file).read_bytes()}
    assert not Path(f"{file}-wal").exists(), "closed, the database is one file"
    events = power.recorded(address, seed, count=ENTRIES, trace=folder / "trace", sync=sync)
    assert len(power.acknowledged(events)) == ENTRIES
    return Run(file, before, events, seed)


def lost(found: Run, folder: Path, *, cuts: int) -> tuple[int, int]:
    """Cut a run in many places; return entries lost in all, and at most at once."""
    chance = random.Random(found.seed)
    places = sorted(chance.choices(range(1, len(found.events) + 1), k=cuts))
    disk, done, losses = power.Disk(dict(found.before)), 0, []
    for n, place in enumerate(places):
        for event in found.events[done:place]:
            disk.take(event)
        done = place
        said = power.acknowledged(found.events[:place])
        left = disk.after_a_cut(chance)
        there = folder / f"cut-{n}"
        losses.append(_missing(found, left, said, there))
    return sum(losses), max(losses)


def _missing(found: Run, left: dict[str, bytes], said: list[str], there: Path) -> int:
    """Open what a cut left as a server would; count what was said and is not there."""
    there.mkdir()
    for path, data in left.items():
        (there / Path(path).name).write_bytes(data)
    file = there / Path(found.file).name
    store = open_store(f"sqlite:///{file}")
    try:
        with store.reading() as desk:
            report = verify(desk.connection, LEDGER)
            lost_ids = [one for one in said if not desk.journal.by_id(EntryId(one))]
    finally:
        store.close()
    assert report.clean, f"seed {found.seed}, {there.name}: {report.problems}"
    for one in there.iterdir():
        one.unlink()
    return len(lost_ids)


@pytest.mark.long
def test_fifty_power_cuts_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    found = run(sqlite_template, tmp_path)

    assert lost(found, tmp_path, cuts=50) == (0, 0), f"seed {found.seed}"


@pytest.mark.long
def test_the_same_cuts_at_a_weaker_setting_do_lose_some(
    sqlite_template: Path, tmp_path: Path
) -> None:
    """Were nothing lost at NORMAL either, the cuts would cut nothing."""
    found = run(sqlite_template, tmp_path, sync="normal")
    in_all, at_most = lost(found, tmp_path, cuts=20)

    assert in_all > 0, f"seed {found.seed}"
    assert at_most > 1, f"seed {found.seed}"


@pytest.mark.long
def test_a_thousand_power_cuts_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    found = run(sqlite_template, tmp_path)

    assert lost(found, tmp_path, cuts=1_000) == (0, 0), f"seed {found.seed}"
