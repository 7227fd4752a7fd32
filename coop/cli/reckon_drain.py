"""`coop reckon drain`: what the rules of some packs say of a liquid at a drain."""

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from coop.cli import drain_lines
from coop.cli.reckoning import Answer, Question
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts_file import read_facts
from coop.rules.packs.faults import Refused
from coop.rules.packs.reading import read_pack
from coop.rules.packs.tables import BYTES_MAX

PACKS_MAX: Final = 20


def _ask_drain(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--pack",
        dest="packs",
        type=Path,
        nargs="+",
        required=True,
        metavar="FILE",
        help=f"rules, as TOML; up to {PACKS_MAX} files",
    )
    asked.add_argument(
        "--facts",
        type=Path,
        required=True,
        metavar="FILE",
        help="what is known of the liquid, as TOML",
    )
    asked.add_argument(
        "--demo", action="store_true", help="take invented figures too, to try it out"
    )


def _reckon_drain(given: Namespace) -> Answer:
    if len(given.packs) > PACKS_MAX:
        raise ValueError(f"--pack: at most {PACKS_MAX} files")
    packs = [
        read_pack(_text("--pack", file), name=str(file), demo=given.demo)
        for file in given.packs
    ]
    facts, at = read_facts(_text("--facts", given.facts), name=str(given.facts))
    decision = evaluate(packs, facts, day=at.date(), now=at, demo=given.demo)
    return drain_lines.answer(decision)


def _text(option: str, file: Path) -> str:
    try:
        with file.open("rb") as opened:
            found = opened.read(BYTES_MAX + 1)
    except OSError as why:
        raise ValueError(f"{option}: {file}: {why.strerror}") from why
    if len(found) > BYTES_MAX:
        raise Refused("too-long", name=str(file), options=(str(BYTES_MAX),))
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        raise Refused("not-text", name=str(file)) from why


QUESTIONS: Mapping[str, Question] = {
    "drain": Question(
        "what rules say of a liquid at a drain",
        _ask_drain,
        _reckon_drain,
        "finish",
        drain_lines.lines,
    )
}
