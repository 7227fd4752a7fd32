"""`coop demo`: a ledger of its own each time, with invented people, baths and figures."""

import json
import secrets
import socket
import sys
import tempfile
from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from coop.actions import tell
from coop.app import clock
from coop.cli.common import FINE, parser, settings_for
from coop.cli.serve import serve
from coop.ids import RANDOM_BYTES, LedgerId, MemberId, NodeId, uuid7
from coop.settings import Settings, make_data_folder, read_key
from coop.store import members, migrate
from coop.store.desk import Desk, Store, start_ledger
from coop.store.members import MemberSecret, Passwords
from coop.store.paths import packaged

STORY_END = date(2025, 9, 21)
STORIES = "journals"
SIGN_INS = ("kahu", "amina")
PORT = "8080"


def run(command: str, arguments: Sequence[str]) -> int:
    """Make the demo in a temporary folder, print how to sign in, and serve it."""
    asked = parser(command, "Start a ledger with invented people, baths and figures.")
    asked.add_argument("--port", default=None, help="port to listen on (default 8080)")
    asked.add_argument(
        "--prepare", action="store_true", help="make it, say so, and stop without serving"
    )
    given = asked.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="coop-demo-") as folder:
        settings = settings_for(
            Path(folder),
            COOP_DEMO="yes",
            COOP_DATABASE="",
            COOP_HOST="127.0.0.1",
            COOP_PORT=given.port or _free_port(),
        )
        _say("Making the demo ...")
        passwords = prepare(settings, now=clock(), random=secrets.token_bytes)
        for name, password in passwords.items():
            _say(f"Sign in as {name:<6} with the password {password}")
        if not given.prepare:
            serve(settings)
    return FINE


def _say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def _free_port() -> str:
    """Return 8080, or a free port when something listens there already."""
    with closing(socket.socket()) as probe:
        if probe.connect_ex(("127.0.0.1", int(PORT))) != 0:
            return PORT
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return str(probe.getsockname()[1])


def prepare(
    settings: Settings, *, now: datetime, random: Callable[[int], bytes]
) -> dict[str, str]:
    """Make the demo's ledger; return the passwords of one member and one coordinator."""
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
        ids = tell_demo(desk, now=now, random=random)
    passwords = _let_in(store, ids, now)
    store.close()
    return passwords


def tell_demo(
    desk: Desk, *, now: datetime, random: Callable[[int], bytes]
) -> dict[str, MemberId]:
    """Tell both stories: the weeks that end last week, and yesterday."""
    folder = packaged("fixtures") / STORIES
    cast = json.loads((folder / "cast.json").read_text(encoding="utf-8"))
    zone = ZoneInfo(cast["zone"])
    today = now.astimezone(zone).date()
    weeks = tell.by_calendar(zone, tell.weeks_until(STORY_END, today))
    lines = tell.read_story((folder / "ten-weeks.jsonl").read_text(encoding="utf-8"), weeks)
    lines += tell.read_story(
        (folder / "yesterday.jsonl").read_text(encoding="utf-8"), tell.by_day(zone, today)
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
        desk.journal,
        lines,
        people,
        name=cast["name"],
        zone=cast["zone"],
        now=now,
        random=random,
    )


def _let_in(store: Store, ids: dict[str, MemberId], now: datetime) -> dict[str, str]:
    """Give one member and one coordinator a password, random for this run."""
    hasher = Passwords()
    passwords = {name: secrets.token_urlsafe(9) for name in SIGN_INS}
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
    return passwords
