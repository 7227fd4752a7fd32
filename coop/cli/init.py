"""`coop init FOLDER`: database, key and a one-use address; all else is pages."""

import os
import secrets
import shlex
from argparse import Namespace
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from coop.app import clock
from coop.cli.common import (
    FINE,
    Stopped,
    add_folder,
    origin_of,
    parser,
    port,
    say,
    settings_for,
)
from coop.cli.ledgers import standing_of, told
from coop.ids import RANDOM_BYTES, LedgerId, NodeId, uuid7
from coop.ledger.table import LEDGER
from coop.settings import FOLDER_MODE, Settings, make_data_folder, read_key
from coop.store import invites, migrate, settings_table
from coop.store.desk import Store, open_store, start_ledger
from coop.store.engines import open_engines
from coop.store.standing import Standing
from coop.store.tokens import new_token

OURS = ("coop.db", "coop.db-wal", "coop.db-shm", "key")
EPILOG = (
    "Run again before anybody has opened the ledger, it gives a fresh address in place of\n"
    "the first one, which then no longer works. An open ledger is left as it is."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Make the folder; a second time only a fresh address for a ledger nobody opened yet."""
    asked = parser(
        command, "Make a folder for a new ledger and a one-use address for it.", epilog=EPILOG
    )
    add_folder(asked, default="COOP_DATA, if that is set")
    asked.add_argument("--port", type=port, help="port it will be served at (default 8080)")
    given = asked.parse_args(arguments)
    if given.folder is None and not os.environ.get("COOP_DATA"):
        asked.error("name the folder to make, as: coop init ledger")
    more = {} if given.port is None else {"COOP_PORT": str(given.port)}
    settings = settings_for(given.folder, **more)
    token = prepare(settings)
    say(f"A new ledger lies in {settings.data}")
    say(f"1. Start it:     {_serve(given)}")
    say("2. Open this address once, as the first coordinator:")
    say(f"   {origin_of(settings)}/join/{token}")
    return FINE


def _serve(given: Namespace) -> str:
    """Return the command that serves at the address which is printed."""
    folder = f" {shlex.quote(str(given.folder))}" if given.folder else ""
    return f"coop serve{folder}{'' if given.port is None else f' --port {given.port}'}"


def prepare(settings: Settings) -> str:
    """Make folder, key and database; return a one-use token for the first coordinator."""
    found = standing_of(settings)
    if found is Standing.OLDER:
        raise Stopped(f"{settings.data}: holds a ledger already; run coop upgrade")
    _make_folder(settings, new=found is Standing.EMPTY)
    now = clock()
    with told():
        migrate.upgrade(settings.database)
        store = _started(settings, now)
        try:
            return _invited(store, settings, now)
        finally:
            store.close()


def _make_folder(settings: Settings, *, new: bool) -> None:
    folder = settings.data
    if folder.exists() and not folder.is_dir():
        raise Stopped(f"{folder}: is a file; name a folder to make")
    make_data_folder(settings)
    if new:
        others = sorted(one.name for one in folder.iterdir() if not _is_ours(one))
        if others:
            raise Stopped(f"{folder}: holds {others[0]}; name a new or an empty folder")
        folder.chmod(FOLDER_MODE)
    read_key(settings)


def _is_ours(file: Path) -> bool:
    """Say whether an interrupted start may have left this behind."""
    return file.name in OURS or file.name.startswith("key.")


def _started(settings: Settings, now: datetime) -> Store:
    """Open the database; one that was never started gets its ids first."""
    engines = open_engines(settings.database)
    with engines.reading() as connection:
        known = settings_table.ledger_id(connection)
    engines.close()
    if known is not None:
        return open_store(settings.database)
    ms = int(now.timestamp() * 1000)
    return start_ledger(
        settings.database,
        ledger=LedgerId(uuid7(now_ms=ms, random=secrets.token_bytes(RANDOM_BYTES))),
        node=NodeId(uuid7(now_ms=ms, random=secrets.token_bytes(RANDOM_BYTES))),
    )


def _invited(store: Store, settings: Settings, now: datetime) -> str:
    token = new_token()
    with store.writing() as desk:
        if desk.journal.state("ledger", LEDGER) is not None:
            raise Stopped(f"{settings.data}: this ledger is open already; run coop serve")
        invites.make(desk.connection, token=token, purpose="first", now=now)
    return token
