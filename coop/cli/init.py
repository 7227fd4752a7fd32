"""`coop init FOLDER`: database, key and a one-use address; all else is pages."""

import secrets
from collections.abc import Sequence

from coop.app import clock
from coop.cli.common import FINE, SettingsError, complain, parser, settings_for
from coop.ids import RANDOM_BYTES, LedgerId, NodeId, uuid7
from coop.settings import Settings, make_data_folder, read_key
from coop.store import invites, migrate, settings_table
from coop.store.desk import open_store, start_ledger
from coop.store.engines import open_engines
from coop.store.tokens import new_token


def run(command: str, arguments: Sequence[str]) -> int:
    """Make the folder; a second time only a fresh address for a ledger nobody opened yet."""
    asked = parser(command, "Make a folder for a new ledger and a one-use address for it.")
    asked.add_argument("folder", help="folder to make; it may exist and be empty")
    given = asked.parse_args(arguments)
    try:
        settings = settings_for(given.folder)
        token = prepare(settings)
    except SettingsError as why:
        return complain(why)
    if token is None:
        return complain(f"{settings.data}: this ledger is open already; run coop serve")
    print(f"A new ledger lies in {settings.data}")
    print(f"1. Start it:     coop serve {given.folder}")
    print("2. Open this address once, as the first coordinator:")
    print(f"   http://{settings.host}:{settings.port}/join/{token}")
    return FINE


def prepare(settings: Settings) -> str | None:
    """Make folder, key and database; return a one-use token, or None if it is open."""
    make_data_folder(settings)
    read_key(settings)
    migrate.upgrade(settings.database)
    now = clock()
    engines = open_engines(settings.database)
    with engines.reading() as connection:
        known = settings_table.ledger_id(connection)
    engines.close()
    if known is None:
        ms = int(now.timestamp() * 1000)
        store = start_ledger(
            settings.database,
            ledger=LedgerId(uuid7(now_ms=ms, random=secrets.token_bytes(RANDOM_BYTES))),
            node=NodeId(uuid7(now_ms=ms, random=secrets.token_bytes(RANDOM_BYTES))),
        )
    else:
        store = open_store(settings.database)
    token = new_token()
    try:
        with store.writing() as desk:
            if desk.journal.head()[0]:
                return None
            invites.make(desk.connection, token=token, purpose="first", now=now)
    finally:
        store.close()
    return token
