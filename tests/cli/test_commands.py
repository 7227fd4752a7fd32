"""Every command answers in plain lines: help, a version, one line for what went wrong."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop import __version__
from coop.cli import COMMANDS, main
from coop.cli.common import MISUSE, OUTPUT_CLOSED
from coop.cli.reckon import QUESTIONS
from tests.cli.said import beside, here

typed = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=40)
WORDS = ("8", "½", "tbsp", "cup", "gal", "g", "L", "per", "(", ")", "/", ",", "-", "1e9", "nan")
worded = st.lists(st.sampled_from(WORDS))


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    said = here(capsys, "--help")

    assert said.code == 0
    assert all(f"  {name} " in said.out for name in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_tells_about_itself(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    said = here(capsys, command, "--help")

    assert said.code == 0
    assert said.out.startswith(f"usage: coop {command}")


def test_the_version_is_the_packages(capsys: pytest.CaptureFixture[str]) -> None:
    assert here(capsys, "--version").out == f"coop {__version__}\n"


@pytest.mark.parametrize("wrong", [("sing",), ("read",), ("reckon",), ("reckon", "gold")])
def test_a_command_that_is_none_is_misuse(
    wrong: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    said = here(capsys, *wrong)

    assert said.code == MISUSE
    assert "usage: coop" in said.err


def test_a_reader_that_goes_away_ends_a_command_quietly(tmp_path: Path) -> None:
    """As in `coop read ... | head -0`: no traceback, and the exit code shells expect."""
    command = [sys.executable, "-P", "-m", "coop", "read", "8 tbsp per gallon"]
    running = subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.close()
    err = running.stderr.read()
    running.stderr.close()

    assert running.wait(timeout=60) == OUTPUT_CLOSED
    assert err == ""


def test_signs_that_are_no_text_are_refused_not_tripped_over(tmp_path: Path) -> None:
    """A file name in another encoding, pasted after the command."""
    said = beside(tmp_path, "read", "8 \udcff per gallon")

    assert said.code == 1
    assert "this character is not known" in said.out
    assert said.err == ""


@given(st.one_of(typed, worded.map(" ".join)), st.booleans())
def test_whatever_is_typed_is_read_or_refused_in_words(text: str, as_json: bool) -> None:
    """Never a traceback: people paste anything."""
    ended = ends("read", *(["--json"] if as_json else []), "--", text)

    assert ended in (0, 1, 3)


@given(st.sampled_from([*QUESTIONS]), st.one_of(typed, worded.map(" ".join)), st.data())
def test_whatever_is_reckoned_with_is_taken_or_refused(
    what: str, text: str, data: st.DataObject
) -> None:
    """Each argument in turn is anything, the others are as they should be."""
    good = dict(GOOD[what])
    good[data.draw(st.sampled_from([*good]))] = text
    arguments = [f"{name}={value}" for name, value in good.items()]

    assert ends("reckon", what, *arguments) in (0, MISUSE)


GOOD = {
    "strength": {"--sg": "1.015", "--at": "24 C", "--zero-sg": "1.000", "--scale": "20 C"},
    "mix": {"--dose": "30 g/L", "--water": "12 L", "--ten-spoons-g": "111", "--pick": "1"},
    "topup": {
        "--litres": "10 L", "--strength": "23.5", "--doubt": "5", "--water": "3 L",
        "--alum": "100 g", "--target": "40", "--goal": "12 L", "--brim": "16 L",
    },
    "sheets-left": {"--litres": "12 L", "--laying": "6 L", "--format": "half"},
    "gravity": {
        "--reading": "2.9 Be", "--salt": "potash_alum", "--at": "24 C", "--scale": "60 F"
    },
    "equal-salt": {
        "--alum": "100 g", "--salt": "potash_alum", "--other": "aluminium_sulfate_14_3"
    },
    "crystals": {
        "--strength": "125", "--salt": "potash_alum", "--store": "8 C", "--litres": "10 L"
    },
    "hardness": {
        "--alkalinity": "150", "--strength": "30", "--salt": "potash_alum",
        "--softened": "300", "--soda": "2", "--base": "crystals",
    },
    "hot-start": {
        "--water": "10 L", "--cold": "12 C", "--hot": "58 C", "--target": "40 C",
        "--jug": "60 C", "--potash-alum": "60",
    },
    "soda-form": {
        "--soda": "124 g", "--base": "anhydrous", "--other": "crystals", "--at": "20 C"
    },
    "spoon": {
        "--ten-spoons-g": "111", "--spoon": "us_tbsp", "--dose": "30 g/L",
        "--kinds": "us,us,us", "--pick": "1",
    },
    "gsm": {
        "--width": "500 mm", "--length": "700 mm", "--lb": "70", "--grade": "text",
        "--sheets": "25",
    },
    "cup": {"--seconds": "18", "--water-seconds": "12", "--at": "20 C"},
    "keeps": {"--kept": "8 h@25 C", "--law": "q10", "--constant": "2"},
    "warm-days": {"--room-hours": "24", "--chilled-hours": "48", "--chilled-fraction": "0.2"},
    "faults": {"--spoiled": "7", "--of": "40", "--usual": "26", "--usual-of": "294"},
    "pickup": {"--pairs": "2.45:17.5 0.98:7", "--tub-floor": "0.2"},
    "reorder": {
        "--use": "30", "--use-sd": "5", "--lead-days": "10", "--lead-sd": "1", "--z": "1.65"
    },
    "batch": {"--use": "1300", "--order-cost": "8", "--keeping-cost": "0.225"},
    "forecast": {"--uses": "0 0 2 0 3", "--smoothing": "0.1"},
    "drain": {"--pack": "rules.toml", "--facts": "facts.toml"},
    "soda": {
        "--salt": "potash_alum", "--base": "lime", "--litres": "5.8 L", "--alum": "232 g",
        "--bucket": "12 L", "--doubt": "5", "--room": "20 C",
    },
}  # fmt: skip


def ends(*arguments: str) -> int:
    try:
        return main(arguments)
    except SystemExit as end:
        return int(end.code or 0)
