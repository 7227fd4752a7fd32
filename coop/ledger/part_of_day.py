"""
Times said as a day or as a part of one: the moment they are folded at, and which part it is.

A day is noon, a morning 09:00, an afternoon 15:00, an evening 19:00: choices of this ledger.
"""

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta, tzinfo
from types import MappingProxyType
from typing import NamedTuple

MINUTE, PART_OF_DAY, DAY = "minute", "part_of_day", "day"
"""How exact a time is that somebody said."""
SECOND = timedelta(seconds=1)


class Hours(NamedTuple):
    """From which hour of a day to which other it may have been, and which one is taken."""

    begins: int
    usual: int
    ends: int


HOURS: Mapping[str, Hours] = MappingProxyType(
    {
        "": Hours(0, 12, 24),
        "morning": Hours(0, 9, 12),
        "afternoon": Hours(12, 15, 18),
        "evening": Hours(18, 19, 24),
    }
)
"""By the part of a day; the empty one is a day of which no part was said."""
PARTS = tuple(part for part in HOURS if part)


def precision_of(part: str) -> str:
    """Return how exact a part of a day is; an empty one is the whole day."""
    return PART_OF_DAY if part else DAY


def part_of(local: datetime) -> str:
    """
    Return the part of its day that a moment of the studio's clock lies in.

    >>> part_of(datetime(2025, 9, 12, 19, 0))
    'evening'
    """
    return next(part for part in PARTS if local.hour < HOURS[part].ends)


def window(day: date, part: str, zone: tzinfo) -> tuple[datetime, datetime]:
    """Return the first and the last second of a part of a day."""
    hours = HOURS[part]
    return _at(day, hours.begins, zone), _at(day, hours.ends, zone) - SECOND


def placed(
    day: date,
    part: str,
    *,
    zone: tzinfo,
    since: datetime,
    until: datetime,
    turn: tuple[int, int] = (0, 0),
) -> datetime:
    """
    Return the moment at which something is folded that was done in a part of a day.

    It is the usual hour, moved only as far as it must be to lie between `since` and `until`;
    what was done in turns within that part stays in that order, a second apart.

    Args:
        since: It cannot have been before this; no later than the part ends.
        until: It cannot have been after this; no earlier than the part begins.
        turn: Which of how many it was, from 1.
    """
    number, of = turn
    begins, ends = window(day, part, zone)
    first, last = max(begins, since), min(ends, until)
    usual = min(_at(day, HOURS[part].usual, zone), last - of * SECOND)
    return min(max(first, usual) + number * SECOND, last).astimezone(zone)


def _at(day: date, hour: int, zone: tzinfo) -> datetime:
    if hour == HOURS[""].ends:
        return datetime.combine(day + timedelta(days=1), time(), zone)
    return datetime.combine(day, time(hour), zone)
