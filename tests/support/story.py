"""The demo's ten weeks, told into a ledger where they were written: no day is moved."""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from coop.actions import tell
from coop.actions.write import Who
from coop.app import create_app
from coop.cli import invented
from coop.ids import LedgerId, MemberId, NodeId, Subject
from coop.ledger.ports import Journal
from coop.settings import from_environment
from coop.store import members, migrate
from coop.store.desk import Store, start_ledger
from coop.store.members import MemberSecret
from coop.store.paths import packaged
from tests.support.opened import PASSWORD, QUICK, Opened
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


def opened_at(folder: Path, moment: datetime, *, demo: bool = False) -> Opened:
    """
    Give the application on a ledger as it stood at a moment of the story.

    With `demo` both stories are told as a visitor finds them then. Members sign in by their
    keys; lots, suppliers and the like are found by name.
    """
    url = f"sqlite:///{folder / 'coop.db'}"
    migrate.upgrade(url)
    store = start_ledger(url, ledger=LedgerId(LEDGER), node=NodeId(NODE))
    random = Random(1).randbytes
    with store.writing() as desk:
        if demo:
            ids = invented.tell_demo(desk.journal, now=moment, random=random)
        else:
            ids = _tell_until(desk.journal, moment, random)
        secrets = [_secret(one, key, moment) for key, one in ids.items()]
        assert all(members.add(desk.connection, one) for one in secrets)
        roles = {one.id: frozenset(one.roles) for one in desk.journal.listed("member")}
    people = {key: Who(member=one, roles=roles[Subject(one)]) for key, one in ids.items()}
    return Opened(store=store, folder=folder, moment=moment, members=people)


def demo_at(folder: Path, moment: datetime) -> Opened:
    """
    Give the application as a demo on the ten weeks as they stood at a moment.

    Only in a demo do the story's invented rules of a drain count.
    """
    house = opened_at(folder, moment)
    settings = from_environment({"COOP_DATA": str(folder), "COOP_DEMO": "yes"})
    house._app = create_app(settings, clock=house.clock, store=house.store, passwords=QUICK)
    house._app.testing = True
    return house


def _tell_until(
    journal: Journal, moment: datetime, random: Callable[[int], bytes]
) -> dict[str, MemberId]:
    """Tell the ten weeks where they were written, up to a moment of them."""
    folder = packaged("fixtures") / invented.STORIES
    cast = json.loads((folder / "cast.json").read_text(encoding="utf-8"))
    place = tell.by_calendar(BERLIN, timedelta(0))
    lines = tell.read_story((folder / "ten-weeks.jsonl").read_text(encoding="utf-8"), place)
    people = [tell.Member(**{**one, "roles": tuple(one["roles"])}) for one in cast["members"]]
    return tell.tell(
        journal, lines, people, name=cast["name"], zone=cast["zone"], now=moment, random=random,
        figures=invented.figures(),
    )  # fmt: skip


def _secret(member: MemberId, name: str, moment: datetime) -> MemberSecret:
    return MemberSecret(
        member=member, sign_in_name=name, mail=None, password_hash=QUICK.hash(PASSWORD),
        changed_at=moment,
    )  # fmt: skip


def bath_of(journal: Journal, name: str) -> Subject:
    """Return the earliest bath of a name."""
    found: list[Subject] = [
        one.id for one in journal.listed("bath", live=False) if one.name == name
    ]
    return min(found)
