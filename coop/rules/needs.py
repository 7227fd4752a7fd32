"""
What needs somebody today: when each thing falls due, in which order it is shown, and which
booked sessions will find too little on the shelf.

Days are those of the co-operative's own calendar.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from coop.ids import Subject
from coop.science.defaults import value

EXPIRING_DAYS: Final = 14
"""What expires is told so many days before: a choice of this ledger."""

SHORT_DAYS: Final = 14
"""A session that will be short is told so many days before: a choice of this ledger."""

RESTED_DAYS: Final = 2
"""A rest that is over is told for so many days: a choice of this ledger."""

HARD: Final = "do-not-use"

_URGENCY: Final = (
    HARD,
    "session-short",
    "order",
    "stack-stale",
    "look-at-bath",
    "resting-over",
    "arrival",
    "expiring",
    "gap",
    "count",
    "zero",
    "permission",
    "limits",
)
"""What hurts most comes first: a bath that ruins sheets, a class that cannot be held."""

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


def limits_due(set_on: date) -> date:
    """
    Return when the house limits are to be looked over again.

    >>> limits_due(date(2025, 1, 1)).isoformat()
    '2026-01-01'
    """
    return set_on + _days("limits_review_days")


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
class Call:
    """What a booked session will still draw of a supply, in whole units of its rows."""

    session: Subject
    supply: Subject
    day: date
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """What an order brings of a supply, and on which day."""

    supply: Subject
    day: date
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What a session will find of a supply, at most what it calls for, and what is missing."""

    call: Call
    there: int

    @property
    def short(self) -> int:
        return self.call.amount - self.there


def shares(
    calls: Iterable[Call], on_hand: Mapping[Subject, int], coming: Sequence[Coming]
) -> tuple[Share, ...]:
    """
    Return what each session will find: the earlier ones draw first.

    What arrives on the day itself counts. What is used besides sessions does not: the order
    list reckons with that.

    >>> size = Subject("powder:carrageenan")
    >>> call = Call(session=Subject("s"), supply=size, day=date(2025, 10, 4), amount=240)
    >>> [one.short for one in shares([call], {size: 200}, ())]
    [40]
    """
    stock = {supply: max(0, amount) for supply, amount in on_hand.items()}
    waiting = sorted(coming, key=lambda one: one.day, reverse=True)
    found = []
    for call in sorted(calls, key=lambda one: (one.day, one.session, one.supply)):
        while waiting and waiting[-1].day <= call.day:
            arrived = waiting.pop()
            stock[arrived.supply] = stock.get(arrived.supply, 0) + arrived.amount
        there = min(call.amount, stock.get(call.supply, 0))
        stock[call.supply] = stock.get(call.supply, 0) - there
        found.append(Share(call=call, there=there))
    return tuple(found)
