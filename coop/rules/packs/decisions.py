"""A decision: the outcome, every rule that spoke, and the form in which it is frozen."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import Any, Final, TypeAlias

import msgspec

from coop.rules.packs import words
from coop.rules.packs.facts import Facts, Reading
from coop.rules.packs.whys import OF_RULES, WHYS
from coop.rules.packs.words import Outcome, Verdict
from coop.units.number import wire

EVALUATOR: Final = 1
"""Which evaluation this is; a change that alters an answer raises it."""

_KEPT: Final = "contents"
"""What is written even where it is empty: nothing in it is not the same as nobody said."""

Plain: TypeAlias = "str | list[Plain] | dict[str, Plain]"


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSaid:
    """
    What one rule said.

    Attributes:
        pack: Its pack's id; empty for what holds at every drain, pack or none.
        outcome: What it asks for; a rule that is only advice asks for nothing.
        advice: Whether it holds somewhere else than at this outlet, as at the plant's inlet.
        devices: What the missing reading can be read with; empty if none is missing.
        facts: What somebody has to say before it is known.
        total: The sum it went by, in the first unit of its quantity.
        span: Over which days a sum of what is poured is taken; empty for any other rule.
    """

    rule: str
    kind: str
    verdict: Verdict
    outcome: Outcome
    pack: str = ""
    why: str = ""
    document: str = ""
    section: str = ""
    evidence: str = words.RECALLED
    says: str = ""
    advice: bool = False
    quantity: str = ""
    of: str = ""
    basis: str = ""
    holds_if: str = ""
    low: Fraction | None = None
    high: Fraction | None = None
    value: str = ""
    unit: str = ""
    used: tuple[Reading, ...] = ()
    total: Fraction | None = None
    span: str = ""
    devices: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    duties: tuple[str, ...] = ()
    sets: tuple[tuple[str, str], ...] = ()
    started_on: date | None = None
    due_on: date | None = None
    warn_on: date | None = None
    keep_years: int = 0
    records: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        assert self.why in WHYS, self.why


@dataclass(frozen=True, slots=True, kw_only=True)
class PackUsed:
    """Which edition spoke, and whether it is due to be held against its source again."""

    id: str
    edition: int
    digest: str
    tier: str
    evidence: str
    title: str
    authority: str
    review_due: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """
    What may happen to one liquid at one outlet, and all that led to it.

    `spoken` stand strictest first; `conditions` are those of the permission.
    """

    outcome: Outcome
    facts: Facts
    day: date
    now: datetime
    spoken: tuple[RuleSaid, ...] = ()
    duties: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    conditions: str = ""
    packs: tuple[PackUsed, ...] = ()
    demo: bool = False
    evaluator: int = EVALUATOR

    @property
    def classes(self) -> tuple[tuple[str, str], ...]:
        """Return what the waste was found to be, as fact and value."""
        sure = [one for one in self.spoken if one.verdict is Verdict.HOLDS]
        return tuple(sorted({pair for one in sure for pair in one.sets}))

    @property
    def recalled(self) -> tuple[RuleSaid, ...]:
        """Return the rules of packs that nobody read at their source."""
        said = (one for one in self.spoken if one.pack and one.why not in OF_RULES)
        return tuple(one for one in said if one.evidence == words.RECALLED)

    @property
    def authorities(self) -> tuple[str, ...]:
        """Return whom to ask: who made the local packs."""
        local = [one.authority for one in self.packs if one.tier in words.LOCAL_TIERS]
        return tuple(dict.fromkeys(local))


def freeze(decision: Decision) -> dict[str, Plain]:
    """
    Return a decision as text, lists and records of text alone.

    What says nothing is left out: None, an empty text or list, false, no years.
    """
    found = _said(msgspec.to_builtins(decision, enc_hook=_fraction))
    assert isinstance(found, dict)
    return found


def _fraction(value: object) -> str:
    assert isinstance(value, Fraction), type(value)
    return wire(value)


def _said(value: Any) -> Plain:
    match value:
        case dict():
            return {key: _said(one) for key, one in value.items() if _says(key, one)}
        case list() | tuple():
            return [_said(one) for one in value]
        case bool():
            return "true" if value else "false"
    return str(value)


def _says(key: str, value: Any) -> bool:
    return bool(value) or (key == _KEPT and value is not None)


def thaw(frozen: Mapping[str, Plain]) -> Decision:
    """
    Return the decision that was frozen.

    Raises:
        ValueError: It is none.
    """
    try:
        found = msgspec.convert(frozen, type=Decision, strict=False, dec_hook=_number)
    except AssertionError as odd:  # what a phone sent names a waste that there is not
        raise ValueError(f"no decision: {odd}") from odd
    if found.now.utcoffset() is None:
        raise ValueError("no decision: its moment has no zone")
    return found


def _number(kind: type, value: object) -> Fraction:
    assert kind is Fraction, kind
    return Fraction(str(value))
