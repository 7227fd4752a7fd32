"""The demo's ledger: both stories told through the actions, and two people let in."""

import json
import tomllib
from collections.abc import Callable, Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from coop.actions import tell
from coop.ids import RANDOM_BYTES, LedgerId, MemberId, NodeId, uuid7
from coop.ledger.ports import Journal
from coop.settings import Settings, make_data_folder, read_key
from coop.store import members, migrate
from coop.store.desk import Store, start_ledger
from coop.store.members import MemberSecret, Passwords
from coop.store.paths import packaged

STORY_END = date(2025, 11, 9)
STORIES = "journals"
PASSWORD_BYTES = 8
INVENTED = ("ropewalk-sewer", "orchard-barn-septic")

Random = Callable[[int], bytes]


def prepare(
    settings: Settings, sign_ins: Iterable[str], *, now: datetime, random: Random
) -> dict[str, str]:
    """Make the demo's ledger; return a password for each of `sign_ins`, random per run."""
    make_data_folder(settings)
    read_key(settings)
    migrate.upgrade(settings.database)
    ms = int(now.timestamp() * 1000)
    store = start_ledger(
        settings.database,
        ledger=LedgerId(uuid7(now_ms=ms, random=random(RANDOM_BYTES))),
        node=NodeId(uuid7(now_ms=ms, random=random(RANDOM_BYTES))),
    )
    with store.writing() as desk:
        ids = tell_demo(desk.journal, now=now, random=random)
    passwords = {name: random(PASSWORD_BYTES).hex() for name in sign_ins}
    _let_in(store, ids, passwords, now)
    store.close()
    return passwords


def tell_demo(journal: Journal, *, now: datetime, random: Random) -> dict[str, MemberId]:
    """Tell both stories: the weeks that end last week, and yesterday. Return the members."""
    folder = packaged("fixtures") / STORIES
    cast = json.loads((folder / "cast.json").read_text(encoding="utf-8"))
    zone = ZoneInfo(cast["zone"])
    today = now.astimezone(zone).date()
    weeks = tell.by_calendar(zone, tell.weeks_until(STORY_END, today))
    lines = tell.read_story((folder / "ten-weeks.jsonl").read_text(encoding="utf-8"), weeks)
    lines += tell.read_story(
        (folder / "yesterday.jsonl").read_text(encoding="utf-8"), tell.by_day(zone, now)
    )
    people = [
        tell.Member(
            key=one["key"],
            name=one["name"],
            initials=one["initials"],
            roles=tuple(one["roles"]),
        )
        for one in cast["members"]
    ]
    return tell.tell(
        journal,
        lines,
        people,
        name=cast["name"],
        zone=cast["zone"],
        now=now,
        random=random,
        figures=figures(),
    )


def figures() -> dict[str, dict[str, Any]]:
    """Return the invented packs of rules, by the names of their files."""
    folder = packaged("fixtures") / "rules"
    return {
        name: tomllib.loads((folder / f"{name}.toml").read_text("utf-8"), parse_float=Decimal)
        for name in INVENTED
    }


def _let_in(
    store: Store, ids: dict[str, MemberId], passwords: dict[str, str], now: datetime
) -> None:
    hasher = Passwords()
    with store.writing() as desk:
        for name, password in passwords.items():
            secret = MemberSecret(
                member=ids[name],
                sign_in_name=name,
                mail=None,
                password_hash=hasher.hash(password),
                changed_at=now,
            )
            assert members.add(desk.connection, secret)
