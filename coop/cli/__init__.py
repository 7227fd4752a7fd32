"""The commands. Each stands in its own module and is loaded when it is called."""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper

from coop import __version__
from coop.cli.common import OUTPUT_CLOSED, STOPPED_BY_HAND, Stopped, complain
from coop.settings import SettingsError

COMMANDS = {
    "demo": ("coop.cli.demo", "start a ledger with invented people, baths and figures"),
    "init": ("coop.cli.init", "make a folder for a new ledger and a one-use address for it"),
    "serve": ("coop.cli.serve", "serve the ledger of a folder"),
    "cert": ("coop.cli.cert", "make a certificate for the studio's own tablets"),
    "doctor": ("coop.cli.doctor", "say how a ledger stands and whether phones work offline"),
    "upgrade": ("coop.cli.keep", "bring a ledger's database up to this release"),
    "verify": ("coop.cli.keep", "check every entry, seal, row and fold of a ledger"),
    "rebuild": ("coop.cli.keep", "work every fold out anew from the entries"),
    "backup": ("coop.cli.keep", "copy a ledger, check the copy, count it as a second place"),
    "restore": ("coop.cli.keep", "bring a backup back, as a new node"),
    "export": ("coop.cli.carry", "write everything that anybody wrote as lines of JSON"),
    "import": ("coop.cli.carry", "fill an empty folder from such lines"),
    "digest": ("coop.cli.digest", "tell members by mail what needs them today"),
    "read": ("coop.cli.read", "say what a dose means: coop read '8 tbsp per gallon'"),
    "reckon": (
        "coop.cli.reckon",
        "reckon one thing, by the sums of the pages: coop reckon --help",
    ),
}


def main(argv: Sequence[str] | None = None) -> int:
    """
    Run one command; return its exit code.

    What a person can put right is told in one line. A reader of the output that has gone away
    (`coop ... | head`) ends the command quietly.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        try:
            return _command(arguments)
        finally:
            sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # nobody reads what Python still flushes
        return OUTPUT_CLOSED


def _command(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="coop",
        description="A shared studio ledger for a marbling co-operative.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=f"commands:\n{_listing()}\n\ncoop COMMAND --help tells more about one.",
    )
    parser.add_argument("--version", action="version", version=f"coop {__version__}")
    parser.add_argument("command", choices=COMMANDS, metavar="command", help="see below")
    asked = parser.parse_args(arguments[:1] or ["--help"])
    return _run(asked.command, arguments[1:])


def _listing() -> str:
    return "\n".join(f"  {name:<9} {told}" for name, (_, told) in COMMANDS.items())


def _run(command: str, arguments: list[str]) -> int:
    try:
        module = import_module(COMMANDS[command][0])
        code: int = module.run(command, arguments)
    except BrokenPipeError:
        raise
    except (Stopped, SettingsError) as why:
        return complain(why)
    except OSError as why:
        return complain(f"{why.filename or command}: {why.strerror or why}")
    except KeyboardInterrupt:
        return STOPPED_BY_HAND
    return code
