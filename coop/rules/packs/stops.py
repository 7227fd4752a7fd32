"""
What must never come together, whatever a pack says: rules of chemistry, not of a place.

The usual cautions of the trade; a product's own safety sheet and licensed advice come first.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from coop.rules.packs import whys, words
from coop.rules.packs.decisions import RuleSaid
from coop.rules.packs.facts import Facts
from coop.rules.packs.words import Outcome, Verdict

ACIDS: Final = frozenset({"alum", "ammonium_alum", "acid", "vinegar"})
CARBONATES: Final = frozenset({"soda", "chalk"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Two groups that must not meet, what comes of it, and where that is written."""

    rule: str
    one: frozenset[str]
    other: frozenset[str]
    document: str
    section: str = ""
    closed_only: bool = False


STOPS: Final = (
    Stop(
        rule="stop-chlorine-gas",
        one=frozenset({"bleach"}),
        other=ACIDS,
        document="common practice: bleach and any acid give chlorine",
    ),
    Stop(
        rule="stop-chloramine-gas",
        one=frozenset({"bleach"}),
        other=frozenset({"ammonia", "ammonium_alum"}),
        document="common practice: bleach and ammonia give chloramines",
    ),
    Stop(
        rule="stop-hydrogen-sulfide",
        one=frozenset({"sulfide_pigment"}),
        other=ACIDS,
        document="40 CFR 265 appendix V",
        section="group 5",
    ),
    Stop(
        rule="stop-ammonia-gas",
        one=frozenset({"ammonium_alum"}),
        other=words.BASES_ADDED,
        document="common practice: a base sets ammonia free from its salts",
    ),
    Stop(
        rule="stop-gas-in-closed-vessel",
        one=CARBONATES,
        other=ACIDS,
        document="common practice: acid and a carbonate give carbon dioxide",
        closed_only=True,
    ),
)
"""The stops; all from memory or a secondary summary, no figure in them."""


def stops(facts: Facts) -> Iterator[RuleSaid]:
    """Give the stops of what is in the vessel together with what is to go in."""
    if facts.contents is None:
        if facts.adding:
            yield _rule_said(
                Stop(rule="stop-not-known", one=ACIDS, other=ACIDS, document="common practice"),
                Verdict.UNKNOWN,
                whys.CONTENTS_NOT_SAID,
            )
        return
    together = {*facts.contents, *facts.adding}
    for stop in STOPS:
        if not (stop.one & together and stop.other & together):
            continue
        if not stop.closed_only or facts.closed == words.YES:
            yield _rule_said(stop, Verdict.FAILS, "")
        elif not facts.closed and (facts.adding or facts.outlet == words.JAR):
            yield _rule_said(stop, Verdict.UNKNOWN, whys.CLOSED_NOT_SAID)


def _rule_said(stop: Stop, verdict: Verdict, why: str) -> RuleSaid:
    fails = verdict is Verdict.FAILS
    return RuleSaid(
        rule=stop.rule,
        kind=words.BAN,
        verdict=verdict,
        outcome=Outcome.NOT_DOWN_HERE if fails else Outcome.ASK_FIRST,
        why=why,
        document=stop.document,
        section=stop.section,
        facts=("contents",) if why == whys.CONTENTS_NOT_SAID else ("closed",) if why else (),
        duties=("stop_mix",) if fails else (),
    )
