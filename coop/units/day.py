"""A day as ISO 8601 writes it, 2025-10-04, and no other way: 04/10 is two days."""

import re
from contextlib import suppress
from datetime import date

from coop.units.fault import NotUnderstood
from coop.units.stream import TEXT_MAX

_DAY_LENGTH = 10
_TWO_OF = re.compile(r"([0-9]{1,2})\s*[/.-]\s*([0-9]{1,2})(?:\s*[/.-]\s*([0-9]{4}))?\.?")


def read_day(typed: str) -> date:
    """
    Read a day written as year, month and day (ISO 8601, extended form).

    Raises:
        NotUnderstood: "which-day" for day and month in an order that nobody can know, with
            both readings; "no-day" for anything else.

    >>> read_day("2025-10-04")
    datetime.date(2025, 10, 4)
    """
    if len(typed) > TEXT_MAX:
        raise NotUnderstood("too-long", typed[:20], (0, TEXT_MAX), (str(TEXT_MAX),))
    day = typed.strip()
    if len(day) == _DAY_LENGTH:
        with suppress(ValueError):
            return date.fromisoformat(day)
    both = _readings(day)
    where = (0, len(typed))
    if both:
        raise NotUnderstood("which-day", day, where, both)
    raise NotUnderstood("no-day", day, where, ("2025-10-04",))


def _readings(day: str) -> tuple[str, ...]:
    """Return the days that two numbers may be, by either order."""
    found = _TWO_OF.fullmatch(day)
    if found is None:
        return ()
    year = found[3] or "2024"  # a leap year, so that the 29th of February is a day
    readings: list[str] = []
    for month, number in ((found[2], found[1]), (found[1], found[2])):
        with suppress(ValueError):
            one = date.fromisoformat(f"{year}-{int(month):02}-{int(number):02}").isoformat()
            readings.append(one if found[3] else one.replace(year, "YYYY"))
    return tuple(dict.fromkeys(readings))
