"""The commands. Each stands in its own module and is loaded when it is called."""

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

COMMANDS = {
    "demo": ("coop.cli.demo", "start a ledger with invented people, baths and figures"),
    "init": ("coop.cli.init", "make a folder for a new ledger and a one-use address for it"),
    "serve": ("coop.cli.serve", "serve the ledger of a folder"),
    "upgrade": ("coop.cli.keep", "bring a ledger's database up to this release"),
    "verify": ("coop.cli.keep", "check every entry, seal, row and fold of a ledger"),
    "rebuild": ("coop.cli.keep", "work every fold out anew from the entries"),
    "read": ("coop.cli.read", "say what a dose means: coop read '8 tbsp per gallon'"),
    "reckon": ("coop.cli.reckon", "reckon strength, mix, topup, sheets-left or paper"),
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return its exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    parser = argparse.ArgumentParser(
        prog="coop",
        description="A shared studio ledger for a marbling co-operative.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="commands:\n" + _listing(),
    )
    parser.add_argument("command", choices=COMMANDS, metavar="command", help="see below")
    parser.add_argument("arguments", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)
    asked = parser.parse_args(arguments[:1] or ["--help"])
    module = import_module(COMMANDS[asked.command][0])
    code: int = module.run(asked.command, arguments[1:])
    return code


def _listing() -> str:
    return "\n".join(f"  {name:<9} {told}" for name, (_, told) in COMMANDS.items())
