"""What several commands need: the folder, plain output, one line for what went wrong."""

import argparse
import json
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from coop.settings import Settings, SettingsError, from_environment

MISUSE = 2
FAILED = 1
FINE = 0


def parser(command: str, told: str) -> argparse.ArgumentParser:
    """Return the parser of a command."""
    return argparse.ArgumentParser(prog=f"coop {command}", description=told)


def add_folder(asked: argparse.ArgumentParser) -> None:
    """Ask for the ledger's folder; COOP_DATA stands in for it."""
    asked.add_argument(
        "folder", nargs="?", type=Path, help="folder of the ledger (default: COOP_DATA)"
    )


def settings_for(folder: Path | None, **more: str) -> Settings:
    """Return the environment's settings, with the folder and these values in their place."""
    values = dict(os.environ) | more
    if folder is not None:
        values["COOP_DATA"] = str(folder)
    return from_environment(values)


def complain(text: object) -> int:
    """Print one line on what went wrong; return the exit code for it."""
    print(f"coop: {text}", file=sys.stderr)
    return FAILED


def as_json(values: Mapping[str, Any]) -> str:
    """Return one JSON object, keys in the order given."""
    return json.dumps(values, ensure_ascii=False, indent=2)


__all__ = [
    "FAILED",
    "FINE",
    "MISUSE",
    "SettingsError",
    "add_folder",
    "as_json",
    "complain",
    "parser",
    "settings_for",
]
