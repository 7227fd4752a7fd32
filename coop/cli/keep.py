"""`coop upgrade`, `coop verify`, `coop rebuild`: keeping a ledger's database in order."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping, Sequence
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
from coop.cli.ledgers import opened, refuse_unready, standing_of, told
from coop.settings import Settings
from coop.store import migrate
from coop.store.copies import copy_sqlite
from coop.store.engines import checked_address, sqlite_file
from coop.store.rebuild import rebuild, refold_all
from coop.store.standing import Standing
from coop.store.verify import Report, verify


class Command(NamedTuple):
    """What a command is for, what else may be said, its arguments, and what it does."""

    told: str
    epilog: str
    ask: Callable[[ArgumentParser], None]
    act: Callable[[Settings, Namespace], int]


def run(command: str, arguments: Sequence[str]) -> int:
    """Run one of the three."""
    wanted = COMMANDS[command]
    asked = parser(command, wanted.told, epilog=wanted.epilog)
    add_folder(asked)
    wanted.ask(asked)
    given = asked.parse_args(arguments)
    return wanted.act(settings_for(given.folder), given)


def _ask_nothing(asked: ArgumentParser) -> None:
    """Only the folder is asked for."""


def _ask_copied(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--copied",
        action="store_true",
        help="you made a copy yourself; PostgreSQL is upgraded only then (pg_dump makes one)",
    )


def _upgrade(settings: Settings, given: Namespace) -> int:
    """Copy, bring to the newest step, fold anew what that made stale, and verify."""
    found = standing_of(settings)
    if found is Standing.EMPTY:
        refuse_unready(settings)
    if found is Standing.OLDER:
        _migrate(settings, copied=given.copied)
    else:
        say(f"The database is at step {migrate.newest(settings.database)}, the newest.")
    with opened(settings) as store:
        folded = refold_all(store)
    if folded:
        say(f"Folds worked out anew: {folded}")
    return _tell(_looked(settings))


def _migrate(settings: Settings, *, copied: bool) -> None:
    with told():
        file = sqlite_file(checked_address(settings.database))
        before = migrate.current(settings.database)
    if file is not None:
        target = file.with_name(f"{file.stem}-before-upgrade-{clock():%Y%m%dT%H%M%SZ}.db")
        say(f"Copied to {target} ({copy_sqlite(file, target)} bytes)")
    elif not copied:
        raise Stopped("make a copy first (pg_dump), then say so with --copied")
    with told():
        migrate.upgrade(settings.database)
        say(f"Brought from step {before} to step {migrate.current(settings.database)}")


def _ask_json(asked: ArgumentParser) -> None:
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


COMMANDS: Mapping[str, Command] = {
    "upgrade": Command(
        "Bring a ledger's database up to this release.",
        "Stop the server first. A SQLite database is copied beside itself before it is\n"
        "changed; the copy is the way back.",
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
        _ask_nothing,
        _rebuild,
    ),
}
