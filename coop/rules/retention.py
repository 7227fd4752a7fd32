"""
How long records are kept: three choices, each with its reasons, and when they may be purged.

Nobody is given thirty years in silence: as long as the question is not answered nothing is
purged, and the answer says why. A pack's own rule can only make it longer. What the law asks
of a studio is for its own authority and licensed advice to say. Closed list of this module:
`CHOICES`, the ledger's own; the records are those of `words.RECORDS`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Final

from coop.ledger.kinds import RETENTIONS
from coop.rules.packs import words
from coop.rules.packs.decisions import RuleSaid

EMPLOYEES: Final = "employees"
MEMBERS_ONLY: Final = "members_only"
ASK: Final = "ask"
CHOICES: Final = RETENTIONS
"""Somebody is employed here; members only; nobody has answered yet."""

EXPOSURE: Final = "exposure"
"""
The record that names what somebody worked with, where and when: who made which bath of what.
Where safety sheets are not kept it stands in for them, 29 CFR 1910.1020(d)(1)(ii)(B).
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Some records, how many years they are kept at least, and where that stands written."""

    records: tuple[str, ...]
    years: int
    document: str
    section: str
    evidence: str


_SEWER_USER: Final = Kept(
    records=("readings", "decisions"),
    years=3,
    document="40 CFR",
    section="403.12(o)",
    evidence=words.READ,
)
"""
Three years from when it was written, longer in a dispute or on demand: read in city codes that
repeat the federal words.
"""
_WASTE: Final = Kept(
    records=("waste_determinations", "handovers"),
    years=3,
    document="40 CFR",
    section="262.11(f), 262.40(a)",
    evidence=words.RECALLED,
)
"""Binding from the small category on; kept of all, as a category can rise later on."""
_EMPLOYEES: Final = Kept(
    records=(EXPOSURE,),
    years=30,
    document="29 CFR",
    section="1910.1020(d)(1)(ii)",
    evidence=words.READ,
)
_MEMBERS: Final = Kept(
    records=(EXPOSURE,),
    years=3,
    document="a choice of this ledger, no source: as long as the rest",
    section="",
    evidence=words.RECALLED,
)

KEPT: Final[Mapping[str, tuple[Kept, ...]]] = MappingProxyType(
    {
        EMPLOYEES: (_SEWER_USER, _WASTE, _EMPLOYEES),
        MEMBERS_ONLY: (_SEWER_USER, _WASTE, _MEMBERS),
        ASK: (),
    }
)
"""What each choice keeps; with none, all of it is kept until somebody has chosen."""


def is_answered(choice: str) -> bool:
    """Say whether somebody has said for whom records are kept; empty is no answer."""
    return choice not in ("", ASK)


def earliest_purge(
    choice: str,
    *,
    written_on: date,
    records: Iterable[str],
    said: Iterable[RuleSaid] = (),
    demanded: bool = False,
) -> date | None:
    """
    Return the first day on which a record may be purged; None as long as never.

    Args:
        choice: One of `CHOICES`.
        written_on: When it was last added to; of a handover the day it was shipped.
        records: All that it is, at least one of `words.RECORDS`: the longest counts.
        said: What packs say; a KEEP of theirs can only make it longer.
        demanded: Whether it lies in a dispute, or an authority demands it.

    >>> earliest_purge("members_only", written_on=date(2026, 11, 28), records=["readings"])
    datetime.date(2029, 11, 28)
    >>> earliest_purge("ask", written_on=date(2026, 11, 28), records=["readings"])
    """
    what = set(records)
    assert choice in CHOICES, choice
    assert what, "a record is of some kind"
    assert what <= set(words.RECORDS), what
    if choice == ASK or demanded:
        return None
    years = [one.years for one in KEPT[choice] if what & set(one.records)]
    years += [one.keep_years for one in said if what & set(one.records)]
    return _years_on(written_on, max(years))


def _years_on(day: date, years: int) -> date:
    """Return the same day years later; of 29 February the day after, never the one before."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
