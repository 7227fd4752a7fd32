"""`coop reckon drain`: packs and facts from files, the whole answer, and what it never says."""

import re
from pathlib import Path
from typing import Any

import pytest

from coop.cli import drain_lines
from coop.cli.common import FINE, MISUSE
from coop.cli.reckon_drain import PACKS_MAX
from coop.rules.packs import whys, words
from coop.rules.packs.amounts import MEASURES
from coop.rules.packs.words import Outcome
from coop.store.paths import packaged
from tests.cli.said import here

Capture = pytest.CaptureFixture[str]
RULES = packaged("fixtures") / "rules"
FACTS = packaged("fixtures") / "drain" / "old-alum-bath.toml"
PACKS = [str(path) for path in sorted(RULES.glob("*.toml"))]
NEVER = re.compile(r"\b(allowed|legal|legally|safe|safely|compliant|compliance)\b", re.I)


def with_facts(folder: Path, *changes: tuple[str, str]) -> str:
    text = FACTS.read_text()
    for change in changes:
        assert change[0] in text
        text = text.replace(*change)
    path = folder / "facts.toml"
    path.write_text(text)
    return str(path)


def asked(capsys: Capture, facts: str, *more: str) -> Any:
    said = here(capsys, "reckon", "drain", "--pack", *PACKS, "--facts", facts, *more)
    assert said.code == FINE, said.err
    return said


def test_an_old_bath_is_told_with_every_rule_that_spoke(capsys: Capture) -> None:
    lines = asked(capsys, str(FACTS), "--demo").out.splitlines()

    assert lines[0] == "Not yet: treat it, then measure again."
    assert "fails: us-federal-floor/sewer-ph; pH: at least 5; found 3.5; " in "\n".join(lines)
    assert "holds: ropewalk-sewer/alum-a-day; volume: at most 20 L; together 10.5 L; " in (
        "\n".join(lines)
    )
    assert "it is not: us-federal-waste/corrosive; pH: outside 2 to 12.5; found 3.5" in (
        "\n".join(lines)
    )
    assert "how known: as given; your local authority decides" in lines
    assert lines[-1].startswith("Caution: ")


def test_the_same_bath_neutralised_goes_after_its_steps(
    tmp_path: Path, capsys: Capture
) -> None:
    """Ropewalk's letter, invented, takes it strained from pH 6.0; a strip must read 6.5."""
    told = asked(capsys, with_facts(tmp_path, ("n = 3.5", "n = 6.5")), "--demo", "--json").json

    assert told["outcome"] == "after_steps"
    assert told["steps"] == ["strain_through_cloth", "solids_stay_out"]
    assert {one["id"] for one in told["packs"]} == {
        "us-federal-floor",
        "us-federal-waste",
        "ropewalk-sewer",
    }
    assert told["cautions"][0]["code"] == "ask-the-drain-rules"


def test_what_is_to_be_measured_is_told_with_what(tmp_path: Path, capsys: Capture) -> None:
    near = with_facts(tmp_path, ("n = 3.5", "n = 6.0"))
    told = asked(capsys, near, "--demo", "--json").json

    assert told["outcome_text"] == "Measure first"
    assert told["measure"] == ["pH (with a pH strip in half steps or a meter checked today)"]


def test_whom_to_ask_and_what_to_state_is_told(tmp_path: Path, capsys: Capture) -> None:
    good = ("n = 3.5", "n = 7.0")
    unasked = with_facts(tmp_path, good, ("asked_on = 2026-09-02", "asked_on = 2027-09-02"))
    lines = asked(capsys, unasked, "--demo").out.splitlines()
    assert lines[0] == "Ask first: Ropewalk sewer board (invented)."

    lumpy = ('answer = "no"', 'answer = "yes"')
    blank = with_facts(tmp_path, lumpy, ("premises", "# premises"))
    lines = asked(capsys, blank, "--demo").out.splitlines()
    assert "say: premises" in lines


def test_recalled_rules_are_named(tmp_path: Path, capsys: Capture) -> None:
    street = with_facts(tmp_path, ('outlet = "sewer"', 'outlet = "storm"'))
    told = asked(capsys, street, "--demo").out

    assert told.startswith("Not down here.")
    assert "recalled, nobody read them: us-federal-floor/storm-and-ground" in told


def test_invented_packs_want_the_demo(capsys: Capture) -> None:
    said = here(capsys, "reckon", "drain", "--pack", *PACKS, "--facts", str(FACTS))

    assert said.code == MISUSE
    assert "into a demo only; for the command, --demo" in said.err
    assert re.search(r"demo-district-a\.toml, line 9: ", said.err)


@pytest.mark.parametrize(
    ("change", "line", "told"),
    [
        (("step = 0.5\n", ""), 21, "device needs step, over 0: one of its scale"),
        (("n = 3.5", "n = 15"), 19, "n: must lie from 0 to 14 ph"),
        (('device = "strip"', 'device = "nose"'), 21, "must be one of strip, meter"),
        (("+01:00\nwaste", "\nwaste"), 4, "a time says its offset from UTC"),
        (('"alum_bath"', '"bath"'), 5, "waste = bath: must be one of alum_bath, size"),
        (('unit = "l"', 'unit = "gal"'), 8, "right would be ml, l, us_gallon, imp_gallon"),
        (("metal_pigments", "metals"), 14, "metals: there is no such key here"),
        (('answer = "no"', 'answer = "some"'), 28, "answer = some: must be one of yes, no"),
        (('answer = "yes"', 'answer = "fine"'), 36, "must be one of yes, with_conditions, no"),
    ],
)  # fmt: skip
def test_a_slip_in_the_facts_is_told_with_its_line(
    change: tuple[str, str], line: int, told: str, tmp_path: Path, capsys: Capture
) -> None:
    facts = with_facts(tmp_path, change)
    said = here(capsys, "reckon", "drain", "--demo", "--pack", *PACKS, "--facts", facts)

    assert said.code == MISUSE
    assert told in said.err
    assert f"facts.toml, line {line}: " in said.err


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--pack", "nowhere.toml", "--facts", str(FACTS)), "--pack: nowhere.toml: No such"),
        (("--pack", *PACKS[:1], "--facts", "nowhere.toml"), "--facts: nowhere.toml: No such"),
        (("--pack", *PACKS[:1] * (PACKS_MAX + 1), "--facts", str(FACTS)), "at most 20 files"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_taken_are_told(
    more: tuple[str, ...], told: str, capsys: Capture
) -> None:
    said = here(capsys, "reckon", "drain", "--demo", *more)

    assert said.code == MISUSE
    assert told in said.err


def test_a_file_that_is_no_text_or_too_long_is_told(tmp_path: Path, capsys: Capture) -> None:
    for data, told in ((b"\xff\xfe", "no text in UTF-8"), (b"#" * 200_000, "too much to read")):
        path = tmp_path / "pack.toml"
        path.write_bytes(data)
        said = here(capsys, "reckon", "drain", "--pack", str(path), "--facts", str(FACTS))
        assert (said.code, told in said.err) == (MISUSE, True)


@pytest.mark.parametrize("outlet", words.OUTLETS)
@pytest.mark.parametrize("n", ["1.5", "3.5", "6.0", "7.0"])
def test_no_answer_says_that_it_is_permitted_or_without_danger(
    outlet: str, n: str, tmp_path: Path, capsys: Capture
) -> None:
    """Nobody but the authority can say so."""
    facts = with_facts(tmp_path, ("n = 3.5", f"n = {n}"), ('"sewer"', f'"{outlet}"'))
    for more in ((), ("--json",)):
        said = asked(capsys, facts, "--demo", *more).out
        assert not NEVER.search(said)
        assert "your local authority decides" in said


def test_no_words_of_rules_are_missing_and_none_promises_anything() -> None:
    """Each code has its sentence; the shipped packs keep to the same tongue."""
    assert set(drain_lines.OUTCOMES) == set(Outcome)
    assert set(drain_lines.WHYS) == whys.WHYS - {""}
    assert set(drain_lines.STEPS) == set(words.STEPS)
    assert set(drain_lines.DUTIES) == set(words.DUTIES)
    assert set(drain_lines.DEVICES) == set(words.DEVICES)
    assert set(drain_lines.LOOKS) == set(words.LOOKS)
    assert set(drain_lines.UNITS) == {"", *(u for one in MEASURES.values() for u in one.units)}
    tables = (drain_lines.OUTCOMES, drain_lines.WHYS, drain_lines.STEPS, drain_lines.DUTIES)
    texts = [text for table in tables for text in table.values()]
    texts += [path.read_text() for path in RULES.glob("*.toml")]
    assert not [text for text in texts if NEVER.search(text)]
