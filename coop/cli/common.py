"""What several commands need: the folder, plain output, one line for what went wrong."""

import argparse
import json
import os
import sys
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from coop.rules.cautions import of_act
from coop.settings import ANY_ADDRESS, Settings, from_environment

PORT_MAX = 65_535

FINE = 0
FAILED = 1
MISUSE = 2
UNSETTLED = 3
STOPPED_BY_HAND = 130  # 128 + SIGINT, as shells show it
OUTPUT_CLOSED = 141  # 128 + SIGPIPE
TERMINATED = 143  # 128 + SIGTERM


class Stopped(Exception):
    """A command cannot go on; the text is the one line that a person gets."""


def parser(command: str, told: str, *, epilog: str = "") -> argparse.ArgumentParser:
    """Return the parser of a command."""
    return argparse.ArgumentParser(
        prog=f"coop {command}",
        description=told,
        epilog=epilog,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def add_folder(
    asked: argparse.ArgumentParser, *, default: str = "COOP_DATA, or data in this folder"
) -> None:
    """Ask for the ledger's folder; COOP_DATA stands in for it."""
    asked.add_argument(
        "folder",
        nargs="?",
        type=Path,
        help=f"folder of the ledger (default: {default})",
    )


def port(typed: str) -> int:
    """Return a port as typed; 0 is for those commands that can take any."""
    if typed.isascii() and typed.isdigit() and int(typed) <= PORT_MAX:
        return int(typed)
    raise argparse.ArgumentTypeError(f"{typed!r} is no whole number up to {PORT_MAX}")


def settings_for(folder: Path | None, **more: str) -> Settings:
    """Return the environment's settings, with the folder and these values in their place."""
    values = dict(os.environ) | more
    if folder is not None:
        values["COOP_DATA"] = str(folder)
    return from_environment(values)


def origin_of(settings: Settings) -> str:
    """Return the address at which a browser finds the server: by name where it has one."""
    host = settings.host
    if settings.host_names and (settings.is_tls or host in ANY_ADDRESS):
        host = min(settings.host_names)  # a certificate is for names rather than addresses
    scheme = "https" if settings.is_tls else "http"
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{settings.port}"


def say(text: str) -> None:
    """Print one line now, also into a pipe."""
    print(text, flush=True)


def complain(text: object) -> int:
    """Print one line on what went wrong; return the exit code for it."""
    print(f"coop: {text}", file=sys.stderr)
    return FAILED


def as_json(values: Mapping[str, Any]) -> str:
    """Return one JSON object, keys in the order given."""
    return json.dumps(values, ensure_ascii=False, indent=2, allow_nan=False)


def cautions_of(act: str, salts: Collection[str | None] = ()) -> list[dict[str, str]]:
    """Return the cautions of an act with these salts: code and sentence, in metric measures."""
    from babel.support import NullTranslations  # slow to load, and --help needs none

    from coop.web.cautions import cautions
    from coop.web.i18n import DEFAULT_LANGUAGE, Words

    words = Words(DEFAULT_LANGUAGE, ZoneInfo("UTC"), NullTranslations())
    told = zip(of_act(act, salts), cautions(words, act, salts), strict=True)
    return [{"code": code, "text": text} for code, text in told]
