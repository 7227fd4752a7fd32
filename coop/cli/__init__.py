"""The commands."""

import argparse

from coop import __version__


def main(argv: list[str] | None = None) -> int:
    """Run one command; return the exit status."""
    parser = argparse.ArgumentParser(
        prog="coop", description="A shared studio ledger for a marbling co-operative."
    )
    parser.add_argument("--version", action="version", version=f"coop {__version__}")
    parser.parse_args(argv)
    parser.print_help()
    return 0
