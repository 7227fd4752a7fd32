"""The demo's ten weeks, told into a ledger where they were written: no day is moved."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from coop.cli import invented
from coop.ids import LedgerId, NodeId, Subject
from coop.ledger.ports import Journal
from coop.store import migrate
from coop.store.desk import Store, start_ledger
from tests.support.sayings import LEDGER, NODE

BERLIN = ZoneInfo("Europe/Berlin")
# The last day of the week after the story's own: nothing of it has to be moved, and what
# "yesterday" tells comes after the story's last sheets.
AFTERWARDS = datetime(2025, 11, 16, 12, 0, tzinfo=BERLIN)


def at(text: str) -> datetime:
    """Return a moment by the studios' clock."""
    return datetime.fromisoformat(text).replace(tzinfo=BERLIN)


@contextmanager
def told(folder: Path, now: datetime = AFTERWARDS, seed: str = "1") -> Iterator[Store]:
    """Give a ledger with both stories as a visitor finds them at `now`."""
    url = f"sqlite:///{folder / 'coop.db'}"
    migrate.upgrade(url)
    store = start_ledger(url, ledger=LedgerId(LEDGER), node=NodeId(NODE))
    with store.writing() as desk:
        invented.tell_demo(desk.journal, now=now, random=Random(seed).randbytes)
    yield store
    store.close()


def bath_of(journal: Journal, name: str) -> Subject:
    """Return the earliest bath of a name."""
    found: list[Subject] = [
        one.id for one in journal.listed("bath", live=False) if one.name == name
    ]
    return min(found)
