"""What a pack of rules is: immutable, dated, and known by its digest."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from coop.rules.packs import words
from coop.rules.packs.words import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Cite:
    """Where a rule stands written, and whether somebody read it there."""

    document: str
    section: str
    evidence: str
    read_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """
    When a rule applies: `op` is all, any or not of `parts`, or is or is_not of a fact.

    An empty `all` holds.
    """

    op: str
    fact: str = ""
    value: str = ""
    parts: tuple["Condition", ...] = ()


ALWAYS = Condition(op="all")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """
    One rule of a pack; which fields a kind has stands in `reading.KEYS`.

    Attributes:
        wastes: What it speaks of; empty means everything.
        needed_when: When a reading is demanded; one that is there counts in any case.
        holds_if: How the reading must stand to `low` and `high`, in `unit`, for the rule to
            hold; for CLASSIFY, for what it `sets` to be true.
        low_in, high_in: Whether that end itself belongs to what is within, or outside.
        of: The analyte, or the look that is answered yes or no.
        value: The answer wanted of a look.
        fresh_h: How long a reading stands [h].
        bounds_count: Whether a figure reckoned from what was put in may stand for a reading.
        if_fails, if_unknown, if_stale: The outcome then.
        steps: What has to be done so that the rule holds while pouring.
        span_days: Of rolling days; a span ends with the day itself.
    """

    id: str
    kind: str
    outlets: tuple[str, ...]
    cite: Cite
    wastes: tuple[str, ...] = ()
    when: Condition = ALWAYS
    needed_when: Condition = ALWAYS
    says: str = ""
    duties: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    quantity: str = ""
    of: str = ""
    basis: str = words.TOTAL_BASIS
    holds_if: str = ""
    low: Fraction | None = None
    high: Fraction | None = None
    low_in: bool = True
    high_in: bool = True
    value: str = ""
    unit: str = ""
    point: str = "end_of_pipe"
    span: str = words.INSTANT
    span_days: int = 0
    readings_min: int = 1
    fresh_h: int = 0
    bounds_count: bool = False
    sum_of: str = ""
    if_fails: Outcome = Outcome.NOT_DOWN_HERE
    if_unknown: Outcome = Outcome.ASK_FIRST
    if_stale: Outcome = Outcome.MEASURE_FIRST
    sets: tuple[tuple[str, str], ...] = ()
    starts: str = ""
    days: int = 0
    first_day_counts: bool = False
    warn_days: int = 0
    shows: tuple[str, ...] = ()
    keep_years: int = 0
    records: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """
    One edition of an authority's rules; a change is a new edition.

    Attributes:
        area: From wide to narrow; it speaks of every site whose own area begins so. What was
            made for one studio goes on speaking of it wherever that is said to lie.
        valid_from, valid_until: Local dates; the last one is the first day it no longer holds.
        checked_on: When somebody last held it against its source.
        review_on: When somebody should again.
        digest: SHA-256 over the canonical form of what is written in it (FIPS 180-4).
    """

    id: str
    edition: int
    title: str
    authority: str
    area: tuple[str, ...]
    tier: str
    evidence: str
    valid_from: date
    checked_on: date
    review_on: date
    rules: tuple[Rule, ...]
    digest: str
    valid_until: date | None = None

    def in_force(self, day: date) -> bool:
        """Return whether it holds on a day."""
        return self.valid_from <= day and (self.valid_until is None or day < self.valid_until)

    def speaks_of(self, area: tuple[str, ...]) -> bool:
        """Return whether a site lies in the pack's area, or is the studio it was made for."""
        return area[: len(self.area)] == self.area or self.is_from_elsewhere(area)

    def is_from_elsewhere(self, area: tuple[str, ...]) -> bool:
        """Return whether it was made for this very studio while that lay in another country."""
        own = self.area[-1].startswith(words.STUDIO_AREA)
        return own and self.area[-1:] == area[-1:] and self.area != area
