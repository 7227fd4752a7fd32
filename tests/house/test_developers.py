"""DEVELOPERS.md names the kinds, commands and settings there are, and no others."""

import re

from coop.cli import COMMANDS
from coop.ledger.table import KINDS
from coop.settings import SETTINGS
from tests.support.files import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROSE_LINES_MAX = 250


def section(title: str) -> str:
    """Return the part of the guide under one heading."""
    found = re.search(rf"^##+ {re.escape(title)}\n(.*?)(?=^## |\Z)", GUIDE, re.M | re.S)
    assert found, title
    return found[1]


def test_every_kind_of_entry_stands_in_the_guide_and_no_other():
    """Who adds a kind says there who may write it."""
    named = re.findall(r"`([a-z]+\.[a-z_]+)`", section("Kinds of entry"))

    assert set(named) == set(KINDS)


def test_every_command_stands_in_the_guide_and_no_other():
    line = section("Commands and settings").split(";")[0]

    assert set(re.findall(r"`([a-z]+)`", line)) == set(COMMANDS)


def test_every_setting_stands_in_the_guide_and_no_other():
    named = re.findall(r"`(COOP_[A-Z_]+)`", section("Commands and settings"))

    assert set(named) == {one.name for one in SETTINGS}


def test_every_problem_that_verify_names_stands_in_the_guide_and_no_other():
    """Who reads a code in the night finds what it means."""
    source = (ROOT / "coop" / "store" / "verify.py").read_text(encoding="utf-8")
    said = set(
        re.findall(
            r'"((?:entry|seal|chain|attachment|guard|touch|touches|fold|move|balance|arrival|decision)-[a-z-]+)"',
            source,
        )
    )

    assert set(re.findall(r"`([a-z]+-[a-z-]+)`", section("What verify says"))) == said


def test_the_guide_stays_short():
    """A guide nobody reads to its end guides nobody; tables are looked up, not read."""
    prose = [line for line in GUIDE.splitlines() if line.strip() and not line.startswith("|")]

    assert len(prose) <= PROSE_LINES_MAX
