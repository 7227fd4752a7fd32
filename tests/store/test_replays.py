"""Answers about a drain come out again of what they were given by, years later."""

import os
from pathlib import Path
from typing import Any

import msgspec
import pytest

from coop.actions.see_drain import pack_kept
from coop.rules.packs.decisions import freeze
from coop.store.verify import Report, verify
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import decision, permit, publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio on a sewer, with a letter, a permission and a tub of alum that was read."""
    made = furnished(tmp_path)
    publish(made, "ropewalk-sewer")
    permit(made)
    made.made["bath"] = mixed(made)
    made.later(hours=1)
    made.say("reading.taken", bath=made.made["bath"], instrument="ph_strip", ph="3.3",
             step="0.5")  # fmt: skip
    return made


def poured_by(house: Opened, **changed: Any) -> str:
    """
    Pour a litre by the answer of now, or by one that was tampered with; return the line.

    The answer comes after the line that names it, as it may from a phone.
    """
    frozen = freeze(decision(house, bath=house.made["bath"])) | changed
    kept = pack_kept(msgspec.json.encode(frozen), salt=os.urandom(16))
    line = house.say(
        "disposal.done", studio=house.made["studio"], bath=house.made["bath"],
        waste="alum_bath", outlet="sewer", litres=quantity(1, "l"), decision=kept.name,
        outcome=str(frozen["outcome"]), reason="other",
    )  # fmt: skip
    with house.store.writing() as desk:
        desk.journal.keep(kept)
    return line


def looked(house: Opened) -> Report:
    with house.desk() as desk:
        return verify(desk.connection, house.store.ledger)


def problems(house: Opened) -> list[tuple[str, str]]:
    return [(one.code, one.where) for one in looked(house).problems]


def test_a_decision_comes_out_again_whatever_was_published_since(house: Opened) -> None:
    """By the documents of its own day: the studio moved, and its rules are other ones."""
    poured_by(house)
    house.later(days=3)
    studio = house.state("studio", house.made["studio"])
    house.say("studio.described", studio=studio.id, supersedes=studio.edition,
              name="Ropewalk", letter="R", drain="sewer", instruments=["scale"],
              emergency="112", poison="0555 0100", country="us")  # fmt: skip
    publish(house, "us-federal-floor")

    found = looked(house)

    assert found.clean, found.problems
    assert found.counts["decisions"] == 1


def test_an_answer_that_does_not_come_of_its_facts_is_named(house: Opened) -> None:
    line = poured_by(house, outcome="nothing_forbids")

    (found,) = looked(house).problems

    assert (found.code, found.where) == ("decision-differs", f"disposal {line}")
    assert found.detail == "nothing_forbids was kept, not_yet comes of it"


def test_an_answer_of_which_the_rules_are_not_here_is_named(house: Opened) -> None:
    frozen: dict[str, Any] = freeze(decision(house, bath=house.made["bath"]))
    (pack,) = frozen["packs"]
    line = poured_by(house, packs=[{**pack, "digest": "0" * 64}])

    assert problems(house) == [("decision-without-rules", f"disposal {line}")]


@pytest.mark.parametrize(
    "changed", [{"facts": "none"}, {"now": "2025-09-17T18:00:00"}, {"day": "yesterday"}]
)
def test_an_answer_that_cannot_be_read_is_named(house: Opened, changed: dict[str, Any]) -> None:
    line = poured_by(house, **changed)

    assert problems(house) == [("decision-unreadable", f"disposal {line}")]


def test_facts_that_cannot_be_are_no_decision(house: Opened) -> None:
    """A phone that was broken into may send a waste that there is not."""
    frozen: dict[str, Any] = freeze(decision(house, bath=house.made["bath"]))
    line = poured_by(house, facts={**frozen["facts"], "waste": "gold"})

    assert problems(house) == [("decision-unreadable", f"disposal {line}")]


def test_what_an_evaluation_of_before_decided_is_only_counted(house: Opened) -> None:
    """It cannot be done again; that is nobody's fault."""
    poured_by(house, evaluator="0")

    found = looked(house)

    assert found.clean
    assert found.counts["decisions not replayed"] == 1
