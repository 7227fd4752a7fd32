"""Packs and facts for the tests: shipped packs, a pack from a few lines, a compliant bath."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

from coop.rules.packs.decisions import Decision, RuleSaid
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts import Facts, Permission, Reading
from coop.rules.packs.reading import read_pack
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import SUMS

FOLDER = Path(__file__).parents[3] / "fixtures" / "rules"
NOW = datetime(2026, 11, 27, 10, 0, tzinfo=UTC)
TODAY = NOW.date()
METALS = ("aluminium", "copper", "cadmium", "lead", "arsenic", "barium")
HEAD = """
id = "{id}"
edition = {edition}
title = "A pack of a test"
authority = "Board (invented)"
area = ["us"]
tier = "{tier}"
evidence = "{evidence}"
valid_from = 2026-01-01
checked_on = 2026-09-01
review_on = 2027-09-01
"""
CITE = 'cite = {{ document = "letter (invented)", section = "1", evidence = "{evidence}" }}'


def shipped(name: str) -> Pack:
    return read_pack((FOLDER / f"{name}.toml").read_text(), name=f"{name}.toml", demo=True)


FLOOR = shipped("us-federal-floor")
WASTE = shipped("us-federal-waste")
DISTRICT_A = shipped("demo-district-a")
ROPEWALK = shipped("ropewalk-sewer")
BARN = shipped("orchard-barn-septic")


def text_of(
    *rules: str,
    id: str = "a-pack",
    tier: str = "district",
    evidence: str = "invented",
    edition: int = 1,
) -> str:
    """Return a pack's text; each rule is its lines but for the cite."""
    head = HEAD.format(id=id, tier=tier, evidence=evidence, edition=edition)
    cite = CITE.format(evidence=evidence)
    return head + "".join(f"\n[[rules]]\n{cite}\n{rule}\n" for rule in rules)


def pack(*rules: str, demo: bool = True, **head: Any) -> Pack:
    return read_pack(text_of(*rules, **head), name="a-pack.toml", demo=demo)


def read(quantity: str, n: str, unit: str, *, ago_h: float = 0.25, **more: Any) -> Reading:
    """Return a laboratory's figure, which has no step, unless another device is said."""
    return Reading(
        quantity=quantity,
        low=Fraction(n),
        high=Fraction(n),
        unit=unit,
        read_at=NOW - timedelta(hours=ago_h),
        **{"device": "laboratory", **more},
    )


def ph(n: str, **more: Any) -> Reading:
    return read("ph", n, "ph", **more)


def strip(n: str, **more: Any) -> Reading:
    return ph(n, device="strip", step=Fraction(1, 2), **more)


def metal(of: str, n: str, **more: Any) -> Reading:
    return read("mass_per_volume", n, "mg_per_l", of=of, **more)


def reckoned(of: str, low: str, high: str, **more: Any) -> Reading:
    """Return the least and most of a metal by what was put in [mg/L]."""
    found = metal(of, high, how="reckoned", **more)
    return replace(found, low=Fraction(low), device="")


def look(of: str, answer: str, *, ago_h: float = 0.25) -> Reading:
    at = NOW - timedelta(hours=ago_h)
    return Reading(quantity="yes_no", of=of, answer=answer, read_at=at, device="eye")


def permission(answer: str = "yes", **more: Any) -> Permission:
    said: dict[str, Any] = {
        "about": "all_of_it",
        "asked": "the desk of the board (invented)",
        "asked_on": date(2026, 9, 2),
        "answer": answer,
    }
    return Permission(**(said | more))


USUAL = (
    read("temperature", "20", "celsius"),
    look("lumps", "no"),
    look("runs", "yes"),
    *(reckoned(of, "0", "0") for of in METALS),
)
STATED = (("premises", ("business",)), ("tags", ()), ("metal_pigments", ("no",)))


def bath(*readings: Reading, **more: Any) -> Facts:
    """
    Return an alum bath for the sewer of demo district A with everything else in order.

    What a reading is given for replaces the usual one.
    """
    given = {(one.quantity, one.of) for one in readings}
    kept = tuple(one for one in USUAL if (one.quantity, one.of) not in given)
    said: dict[str, Any] = {
        "waste": "alum_bath",
        "outlet": "sewer",
        "area": ("us", "demo-district-a"),
        "volume_ml": Fraction(12_000),
        "stated": STATED,
        "permissions": (permission(),),
        "readings": kept + readings,
        "counted": SUMS,
    }
    return Facts(**(said | more))


def without(facts: Facts, quantity: str, of: str = "") -> Facts:
    left = tuple(one for one in facts.readings if (one.quantity, one.of) != (quantity, of))
    return replace(facts, readings=left)


def stating(facts: Facts, **said: str | tuple[str, ...]) -> Facts:
    new = {key: (one,) if isinstance(one, str) else one for key, one in said.items()}
    return replace(facts, stated=tuple((dict(facts.stated) | new).items()))


def decided(facts: Facts, *packs: Pack, day: date = TODAY, demo: bool = True) -> Decision:
    return evaluate(packs, facts, day=day, now=NOW, demo=demo)


def said(decision: Decision, rule: str, of: str | None = None) -> RuleSaid:
    """Return what one rule said, of a certain pack if two have one of that name."""
    found = [one for one in decision.spoken if one.rule == rule and of in (None, one.pack)]
    assert len(found) == 1, f"{rule}: {[one.rule for one in decision.spoken]}"
    return found[0]


def spoke(decision: Decision, verdict: str) -> set[tuple[str, str]]:
    """Return pack and rule of all but classes that came to a verdict."""
    return {
        (one.pack, one.rule)
        for one in decision.spoken
        if one.verdict == verdict and one.kind != "CLASSIFY"
    }
