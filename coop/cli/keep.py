"""`upgrade`, `verify`, `rebuild`, `backup`, `restore`: keeping a ledger's database."""

import shlex
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from coop.app import clock
from coop.cli.common import (
    FAILED,
    FINE,
    Stopped,
    add_folder,
    as_json,
    parser,
    say,
    settings_for,
)
from coop.cli.ledgers import (
    opened,
    opened_as_it_is,
    refuse_unready,
    standing_of,
    told,
)
from coop.cli.nodes import new_node
from coop.settings import FOLDER_MODE, Settings, make_data_folder, read_key
from coop.store import migrate
from coop.store.copies import back_up, check, copy_sqlite
from coop.store.engines import checked_address, sqlite_file
from coop.store.rebuild import bring_up, rebuild
from coop.store.restore import alone, begin_anew, refuse_others, restore
from coop.store.standing import Standing
from coop.store.verify import Report, verify

STAMP = "%Y%m%dT%H%M%SZ"
BACKUPS = "coop-????????T??????Z.db"
ON_POSTGRESQL = (
    "a PostgreSQL database is copied with pg_dump, as: pg_dump --format=custom "
    "--file=coop.dump NAME; coop does not see that copy, so what is written counts as kept "
    "in one place"
)


class Command(NamedTuple):
    """What a command is for, what else may be said, its arguments, and what it does."""

    told: str
    epilog: str
    ask: Callable[[ArgumentParser], None]
    act: Callable[[Settings, Namespace], int]


def run(command: str, arguments: Sequence[str]) -> int:
    """Run one of the five."""
    wanted = COMMANDS[command]
    asked = parser(command, wanted.told, epilog=wanted.epilog)
    wanted.ask(asked)
    given = asked.parse_args(arguments)
    return wanted.act(settings_for(given.folder), given)


def _ask_copied(asked: ArgumentParser) -> None:
    add_folder(asked)
    asked.add_argument(
        "--copied",
        action="store_true",
        help="you made a copy yourself; PostgreSQL is upgraded only then (pg_dump makes one)",
    )


def _upgrade(settings: Settings, given: Namespace) -> int:
    """Copy, bring to the newest step, work out anew what that made stale, and verify."""
    found = standing_of(settings)
    if found is Standing.EMPTY:
        refuse_unready(settings)
    if found is Standing.OLDER:
        _migrate(settings, copied=given.copied)
    else:
        say(f"The database is at step {migrate.newest(settings.database)}, the newest.")
    with opened_as_it_is(settings) as store:
        folded = bring_up(store)
    if folded:
        say(f"Folds worked out anew: {folded}")
    return _tell(_looked(settings))


def _migrate(settings: Settings, *, copied: bool) -> None:
    with told():
        file = sqlite_file(checked_address(settings.database))
        before = migrate.current(settings.database)
    if file is not None:
        target = file.with_name(f"{file.stem}-before-upgrade-{clock():{STAMP}}.db")
        with told():
            byte_count = copy_sqlite(file, target)
        say(f"Copied to {target} ({byte_count} bytes)")
    elif not copied:
        raise Stopped("make a copy first (pg_dump), then say so with --copied")
    with told():
        migrate.upgrade(settings.database)
        say(f"Brought from step {before} to step {migrate.current(settings.database)}")


def _ask_json(asked: ArgumentParser) -> None:
    add_folder(asked)
    asked.add_argument("--json", action="store_true", help="one JSON object")


def _verify(settings: Settings, given: Namespace) -> int:
    report = _looked(settings)
    if not given.json:
        return _tell(report)
    problems = [
        {"code": one.code, "where": one.where, "detail": one.detail} for one in report.problems
    ]
    say(as_json({"clean": report.clean, "counts": dict(report.counts), "problems": problems}))
    return FINE if report.clean else FAILED


def _looked(settings: Settings) -> Report:
    """Look the whole database through; nothing in it is changed."""
    with opened(settings) as store, store.reading() as desk:
        return verify(desk.connection, store.ledger)


def _tell(report: Report) -> int:
    """Print what was looked at and every problem; return the exit code."""
    for name, count in report.counts.items():
        say(f"{name}: {count}")
    for one in report.problems:
        say(": ".join(part for part in ("problem", one.code, one.where, one.detail) if part))
    more = report.counts.get("problems", 0) - len(report.problems)
    if more > 0:
        say(f"problem: and {more} more of them")
    if report.clean:
        say("No problem found.")
    return FINE if report.clean else FAILED


def _rebuild(settings: Settings, given: Namespace) -> int:
    with opened(settings) as store:
        folded = rebuild(store)
    say(f"Folds worked out anew: {folded}")
    return _tell(_looked(settings))


def _ask_target(asked: ArgumentParser) -> None:
    add_folder(asked)
    asked.add_argument(
        "target",
        nargs="?",
        type=Path,
        help="file to make, or folder to make it in (default: backups in the ledger's folder)",
    )
    _ask_counts(asked)


def _ask_counts(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--counts",
        action="store_true",
        help="let it count as a second place even on the ledger's own disk, as where that disk "
        "is kept twice",
    )


def _backup(settings: Settings, given: Namespace) -> int:
    """Copy, look all of the copy through, and say whether it counts as the second place."""
    file, now = _file_of(settings, ON_POSTGRESQL), clock()
    refuse_unready(settings)
    target = _target(settings, given.target, now)
    with opened(settings) as store, told():
        made = back_up(store, file, target, now=now, counts=given.counts)
    code = _tell(made.report)
    say(f"{'Copied to' if made.report.clean else 'A damaged copy lies in'} {made.file}")
    say(f"bytes: {made.byte_count}")
    there = set(made.file.parent.glob(BACKUPS)) | ({made.file} if made.report.clean else set())
    say(f"backups in {made.file.parent}: {len(there)} (none is removed by coop)")
    if made.report.clean and not made.counts:
        say(
            "It lies on the disk of the ledger itself, so it does not count as a second place: "
            f"coop backup {shlex.quote(str(settings.data))} FOLDER, with a folder on another "
            "disk, or --counts if this one is kept twice"
        )
    return code


def _file_of(settings: Settings, otherwise: str) -> Path:
    """Return the file of a SQLite database."""
    with told():
        file = sqlite_file(checked_address(settings.database))
    if file is None:
        raise Stopped(otherwise)
    return file


def _target(settings: Settings, wanted: Path | None, now: datetime) -> Path:
    """Say which file to make; only the ledger's own folder of backups is made for it."""
    if wanted is None:
        wanted = settings.data / "backups"
        wanted.mkdir(mode=FOLDER_MODE, exist_ok=True)
    if wanted.is_dir():
        wanted /= f"coop-{now:{STAMP}}.db"
    if not wanted.parent.is_dir():
        raise Stopped(f"{wanted.parent}: there is no such folder")
    if wanted.exists():
        raise Stopped(f"{wanted}: is there already; name another file")
    return wanted


def _ask_restore(asked: ArgumentParser) -> None:
    asked.add_argument("file", nargs="?", type=Path, help="the backup; it is left as it is")
    add_folder(asked)
    asked.add_argument(
        "--replace",
        action="store_true",
        help="a database is there already: keep it under another name",
    )
    asked.add_argument(
        "--restored",
        nargs="?",
        type=Path,
        default=False,
        metavar="FOLDER",
        help="you brought the database back yourself, as with pg_restore; no file is named",
    )
    _ask_counts(asked)


def _restore(settings: Settings, given: Namespace) -> int:
    """Bring a backup back, as a new node."""
    if given.restored is not False:
        return _restored(settings_for(given.restored))
    file = _file_of(
        settings, "bring a PostgreSQL database back with pg_restore, then say --restored FOLDER"
    )
    now = clock()
    aside = _aside(given, file, now)
    with told():
        check(given.file)
        make_data_folder(settings)
        report = restore(
            given.file,
            file,
            node=new_node(now),
            now=now,
            aside=aside,
            counts=given.counts,
        )
    code = _tell(report)
    if code != FINE:
        say(f"{given.file} is not brought back; nothing in {settings.data} was changed.")
        return code
    read_key(settings)
    say(f"The ledger of {given.file} lies in {file}")
    if aside is not None:
        say(f"The one before lies in {aside}")
    _say_next(settings)
    return code


def _aside(given: Namespace, file: Path, now: datetime) -> Path | None:
    """Say under which name what is there is kept; None when there is nothing."""
    if given.file is None:
        raise Stopped("name the backup, as: coop restore FILE FOLDER")
    if not given.file.is_file():
        raise Stopped(f"{given.file}: there is no such file")
    if not file.exists():
        return None
    if given.file.samefile(file):
        raise Stopped(f"{given.file}: is the ledger itself; name a backup of it")
    if not given.replace:
        raise Stopped(f"{file}: is there already; --replace keeps it under another name")
    return file.with_name(f"{file.stem}-before-restore-{now:{STAMP}}.db")


def _restored(settings: Settings) -> int:
    """Give a database that somebody brought back a node id of its own."""
    refuse_unready(settings)
    with told():
        file = sqlite_file(checked_address(settings.database))
        with nullcontext() if file is None else alone(file):
            pass
    with opened(settings) as store, told(), store.writing() as desk:
        if file is None:
            refuse_others(desk.connection)
        begin_anew(desk.connection, new_node(clock()))
    code = _tell(_looked(settings))
    _say_next(settings)
    return code


def _say_next(settings: Settings) -> None:
    """Say what a person does now."""
    say("It seals as a new node from now on, and everybody signs in again. Next:")
    say(f"1. Start it: coop serve {shlex.quote(str(settings.data))}")
    say("2. Open it on every phone: it sends again what it still holds and the backup lacks.")
    say("3. Passwords, roles, members and phones are as they were at the backup: whoever was")
    say("   taken out since is in again. Look at People and devices.")


COMMANDS: Mapping[str, Command] = {
    "upgrade": Command(
        "Bring a ledger's database up to this release.",
        "Stop the server first. A SQLite database is copied beside itself before it is\n"
        "changed; the copy is the way back. 100,000 entries take about two minutes.",
        _ask_copied,
        _upgrade,
    ),
    "verify": Command(
        "Check every entry, seal, row and fold of a ledger; change nothing.",
        "Ends with 0 when all is well, 1 when there is any problem. The server may run.",
        _ask_json,
        _verify,
    ),
    "rebuild": Command(
        "Work every fold out anew from the entries, then verify.",
        "Nothing that anybody wrote is changed. The server may run.",
        add_folder,
        _rebuild,
    ),
    "backup": Command(
        "Copy a ledger, look all of the copy through; on another disk it is a second place.",
        'The server may run. Pages and phones say "kept in two places" of what is in a copy\n'
        "without a problem on another disk than the ledger. A copy with a problem is kept\n"
        "under a name that ends in .damaged.",
        _ask_target,
        _backup,
    ),
    "restore": Command(
        "Bring a backup back: coop restore FILE FOLDER.",
        "Stop the server first. The backup is checked, and brought to this release, before\n"
        "anything is put in its place; a database that is there already is never removed.\n"
        "The server seals as a new node from then on.",
        _ask_restore,
        _restore,
    ),
}
