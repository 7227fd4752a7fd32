"""`export`, `import`: a whole journal as lines, and an empty folder filled from them."""

import shlex
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, NamedTuple

from coop.app import clock
from coop.cli.common import (
    FAILED,
    FINE,
    Stopped,
    add_folder,
    as_json,
    origin_of,
    parser,
    say,
    settings_for,
)
from coop.cli.ledgers import opened, standing_of, told
from coop.cli.nodes import new_node
from coop.ids import Digest, EntryId
from coop.ledger.states import MemberState
from coop.settings import Settings, make_data_folder, read_key
from coop.store import invites, members, migrate, settings_table
from coop.store.copies import COPY_MODE
from coop.store.desk import Store, open_store
from coop.store.engines import open_engines
from coop.store.exchange import (
    LINE_BYTES_MAX,
    Faulty,
    digest_of,
    fill,
    ledger_of,
    write_out,
)
from coop.store.rebuild import rebuild
from coop.store.standing import Standing
from coop.store.tokens import new_token
from coop.store.verify import verify

COORDINATOR = "coordinator"


class Command(NamedTuple):
    """What a command is for, what else may be said, its arguments, and what it does."""

    told: str
    epilog: str
    ask: Callable[[ArgumentParser], None]
    act: Callable[[Namespace], int]


def run(command: str, arguments: Sequence[str]) -> int:
    """Run one of the two."""
    wanted = COMMANDS[command]
    asked = parser(command, wanted.told, epilog=wanted.epilog)
    wanted.ask(asked)
    return wanted.act(asked.parse_args(arguments))


def _ask_out(asked: ArgumentParser) -> None:
    add_folder(asked)
    asked.add_argument("file", type=Path, help="the file to make; one that is there stays")
    asked.add_argument("--json", action="store_true", help="one JSON object")


def _export(given: Namespace) -> int:
    """Write a ledger's journal to a file that its owner alone may read."""
    settings = settings_for(given.folder)
    with opened(settings) as store, store.reading() as desk, _made(given.file) as file:
        counts = write_out(desk.connection, store.ledger, file.write)
        digest = digest_of(desk.connection, store.ledger)
    return _tell(given, {**counts, "file": str(given.file), "state_digest": digest})


@contextmanager
def _made(target: Path) -> Iterator[BinaryIO]:
    """Make a file under its name only when all of it is written."""
    if target.exists():
        raise Stopped(f"{target}: is there already; name another file")
    draft = target.with_name(f"{target.name}.part")
    try:
        with draft.open("xb") as file:
            draft.chmod(COPY_MODE)
            yield file
        draft.rename(target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def _ask_in(asked: ArgumentParser) -> None:
    asked.add_argument("file", type=Path, help="what coop export made")
    add_folder(asked)
    asked.add_argument("--json", action="store_true", help="one JSON object")


def _import(given: Namespace) -> int:
    """Fill an empty folder from an export, as a new node."""
    if not given.file.is_file():
        raise Stopped(f"{given.file}: there is no such file")
    settings = settings_for(given.folder)
    begun = _is_begun(settings, given.file)
    now = clock()
    make_data_folder(settings)
    with told():
        migrate.upgrade(settings.database)
        counts = {} if begun else _filled(settings, given.file, now)
        store = open_store(settings.database)
    read_key(settings)
    try:
        rebuild(store)
        with store.reading() as desk:
            problems = verify(desk.connection, store.ledger).problems
            digest = digest_of(desk.connection, store.ledger)
        addresses = [] if problems else _let_in(store, settings, now)
    finally:
        store.close()
    found = {"problems": [f"{one.code}: {one.where}" for one in problems]}
    code = _tell(given, {**counts, "state_digest": digest, **found, "addresses": addresses})
    return FAILED if problems else code


def _is_begun(settings: Settings, file: Path) -> bool:
    """
    Say whether this file was taken in here, and then something was cut off.

    Stops where there is another ledger, or one that somebody uses; a database that a faulty
    file left empty is none.
    """
    if standing_of(settings) is Standing.EMPTY:
        return False
    engines = open_engines(settings.database)
    try:
        with engines.reading() as connection:
            there = settings_table.ledger_id(connection)
            used = members.is_anybody(connection)
    finally:
        engines.close()
    if there is None:
        return False
    with file.open("rb") as lines:
        same = ledger_of(_lines(lines)) == there
    if used or not same:
        raise Stopped(f"{settings.data}: holds a ledger already; name an empty folder")
    return True


def _filled(settings: Settings, file: Path, now: datetime) -> Mapping[str, int]:
    """Fill the database in one transaction; a faulty line leaves it as empty as before."""
    engines = open_engines(settings.database)
    try:
        with file.open("rb") as lines, engines.writing() as connection:
            return fill(connection, _lines(lines), node=new_node(now))
    except Faulty as fault:
        raise Stopped(f"{file}: {fault}; nothing was taken in") from fault
    finally:
        engines.close()


def _lines(file: BinaryIO) -> Iterator[bytes]:
    """Read line by line, none of them longer than one can be."""
    while line := file.readline(LINE_BYTES_MAX + 1):
        yield line


def _let_in(store: Store, settings: Settings, now: datetime) -> list[str]:
    """Give each coordinator a one-use address: passwords are in no export."""
    made = []
    with store.writing() as desk:
        everybody: tuple[MemberState, ...] = desk.journal.listed("member")
        for one in everybody:
            if COORDINATOR in one.roles and one.left_at is None and one.joined_at is not None:
                token, entry = new_token(), EntryId(one.id)
                invites.make(
                    desk.connection, token=token, purpose="member", now=now, entry=entry
                )
                made.append(f"{origin_of(settings)}/join/{token}")
    return made


def _tell(given: Namespace, found: Mapping[str, int | str | Digest | list[str]]) -> int:
    if given.json:
        say(as_json(dict(found)))
        return FINE
    for name, value in found.items():
        if isinstance(value, list):
            for one in value:
                say(f"{'problem' if name == 'problems' else 'address'}: {one}")
        else:
            say(f"{name.replace('_', ' ')}: {value}")
    if found.get("addresses"):
        say(
            "Passwords are in no export: each coordinator opens one address and sets a new one,"
        )
        say("then lets the others in under People. Start it first:")
        say(f"   coop serve {shlex.quote(str(settings_for(given.folder).data))}")
    return FINE


COMMANDS: Mapping[str, Command] = {
    "export": Command(
        "Write everything anybody wrote, with photos and notes, as lines of JSON.",
        "The server may run. Each line says what it is called by, so that a changed byte is\n"
        "found. Passwords, sessions and phones are not in it: for those make a backup.",
        _ask_out,
        _export,
    ),
    "import": Command(
        "Fill an empty folder from an export: coop import FILE FOLDER.",
        "A faulty line is named by its number and nothing is taken in. Cut off later, it goes\n"
        "on when it is run again. The state digest is that of the ledger it came from. From\n"
        "then on it seals as a new node.",
        _ask_in,
        _import,
    ),
}
