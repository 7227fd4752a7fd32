"""
What needs somebody today: when each thing falls due, in which order it is shown, and which
booked sessions will find too little on the shelf.

Days are those of the co-operative's own calendar.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from coop.rules import jars, retention
from coop.rules.orders import Booking, SupplyFacts
from coop.rules.packs.evaluation import CHECK_EVERY_DAYS
from coop.science.defaults import value

EXPIRING_DAYS: Final = 14
"""What expires is told so many days before: a choice of this ledger."""

SHORT_DAYS: Final = 14
"""A session that will be short is told so many days before: a choice of this ledger."""

WAITING_DAYS: Final = 7
"""An old bath that waits so many days to be got rid of is told of: a choice of this ledger."""

RESTED_DAYS: Final = 2
"""A rest that is over is told for so many days: a choice of this ledger."""

WEEK_DAYS: Final = 7

HARD: Final = "do-not-use"

_URGENCY: Final = (
    HARD,
    "jar-must-not-meet",
    "jar-overdue",
    "session-short",
    "order",
    "stack-stale",
    "look-at-bath",
    "resting-over",
    "arrival",
    "expiring",
    "jar-not-started",
    "jar-no-label",
    "jar-due-soon",
    "jar-full-soon",
    "waste-waiting",
    "waste-late",
    "gap",
    "count",
    "zero",
    "permission",
    "rules-review",
    "limits",
)
"""What hurts most comes first: a bath that ruins sheets, a class that cannot be held."""

_OF_WASTE: Final = frozenset({"coordinator", "safety_officer"})

WANTED_OF: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "order": frozenset({"coordinator"}),
        "arrival": frozenset({"coordinator"}),
        "expiring": frozenset({"coordinator"}),
        "look-at-bath": frozenset({"coordinator"}),
        "resting-over": frozenset({"coordinator"}),
        "stack-stale": frozenset(),
        "count": frozenset({"coordinator"}),
        "gap": frozenset({"coordinator"}),
        "zero": frozenset({"coordinator"}),
        "permission": frozenset({"coordinator", "safety_officer"}),
        "limits": frozenset({"coordinator"}),
        "session-short": frozenset({"coordinator", "teacher"}),
        **dict.fromkeys(
            (*jars.NEEDS, "waste-waiting", "waste-late", "rules-review"), _OF_WASTE
        ),
    }
)
"""Of which roles each need wants somebody; whoever made a bath or a stack is asked as well."""

DRAINS_ASKED: Final = frozenset({"sewer", "septic"})
"""Drains that somebody else has a say in."""


def urgency(code: str, due: date, *, hard: bool = False) -> tuple[int, date]:
    """
    Return what needs are sorted by, the most pressing first.

    >>> urgency("order", date(2025, 10, 1)) < urgency("count", date(2025, 9, 1))
    True
    """
    return _URGENCY.index(HARD if hard else code), due


def zero_due(zeroed_on: date | None, *, today: date) -> date:
    """
    Return when a hydrometer in use is to be read in tap water: today if it never was.

    >>> zero_due(date(2025, 9, 1), today=date(2025, 9, 20)).isoformat()
    '2025-10-01'
    """
    return today if zeroed_on is None else zeroed_on + _days("zero_check_days")


def limits_due(set_on: date, *, records_kept: str) -> date:
    """
    Return when the house limits are to be looked over again.

    Args:
        records_kept: For whom records are kept, one of `retention.CHOICES` or empty; as long
            as nobody has answered that they are due since they were set.

    >>> limits_due(date(2025, 1, 1), records_kept="members_only").isoformat()
    '2026-01-01'
    >>> limits_due(date(2025, 1, 1), records_kept="ask").isoformat()
    '2025-01-01'
    """
    if not retention.is_answered(records_kept):
        return set_on
    return set_on + _days("limits_review_days")


def waiting_due(over_on: date) -> date:
    """
    Return when it is told of that an old bath still waits to be got rid of.

    >>> waiting_due(date(2025, 9, 17)).isoformat()
    '2025-09-24'
    """
    return over_on + timedelta(days=WAITING_DAYS)


def rules_due(checked_on: date, review_on: date) -> date:
    """
    Return when rules of a drain are to be looked over: their own day, or a year after.

    >>> rules_due(date(2025, 9, 1), date(2028, 9, 1)).isoformat()
    '2026-09-01'
    """
    return min(review_on, checked_on + timedelta(days=CHECK_EVERY_DAYS))


def _days(name: str) -> timedelta:
    return timedelta(days=value(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked about a drain on a day; `review_on` None where nobody set a day."""

    about: str
    asked_on: date
    review_on: date | None


def permission_due(drain: str, asked: Iterable[Asked], *, today: date) -> date | None:
    """
    Return when somebody is to ask about a studio's drain; None if never.

    The last answer about each liquid counts. Today where nobody ever asked and the drain is
    a sewer's or a septic tank's.

    >>> permission_due("sewer", (), today=date(2025, 9, 20)).isoformat()
    '2025-09-20'
    >>> permission_due("none", (), today=date(2025, 9, 20))
    """
    last: dict[str, Asked] = {}
    for one in sorted(asked, key=lambda one: one.asked_on):
        last[one.about] = one
    if not last:
        return today if drain in DRAINS_ASKED else None
    return min((one.review_on for one in last.values() if one.review_on), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What a booked session will find of a supply, at most what it still takes."""

    booking: Booking
    there: int

    @property
    def short(self) -> int:
        """What is missing, 0 or more."""
        return self.booking.amount - self.there


def shares(facts: SupplyFacts, *, today: date) -> tuple[Share, ...]:
    """
    Return what each booked session will find of a supply: the earlier ones draw first.

    What is used besides until then comes off; what arrives on the day itself counts. The
    floor does not: a session may use it up.

    >>> from coop.ids import Subject
    >>> facts = SupplyFacts(on_hand=300, floor=150, per_week=70, lead_days=8, review_days=3,
    ...     pack=454, keeps_days=None, on_the_way=(), bookings=(Booking(day=date(2025, 10, 8),
    ...     amount=240, name="Saturday class", head_count=12, session=Subject("c")),))
    >>> [(one.there, one.short) for one in shares(facts, today=date(2025, 10, 1))]
    [(230, 10)]
    """
    drawn = 0
    found = []
    for booking in sorted(facts.bookings, key=lambda one: (one.day, one.session)):
        days = max(0, (booking.day - today).days)
        arrived = sum(one.amount for one in facts.on_the_way if one.day <= booking.day)
        used = round(facts.per_week * days / WEEK_DAYS)
        left = facts.on_hand + arrived - used - drawn
        there = min(booking.amount, max(0, left))
        drawn += there
        found.append(Share(booking=booking, there=there))
    return tuple(found)
