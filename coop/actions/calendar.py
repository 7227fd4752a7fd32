"""Look ahead for a member's calendar: what is booked, and what will need them on which day."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from coop.actions.see_needs import Need, see_needs
from coop.ids import MemberId, Subject
from coop.ledger.ports import Journal
from coop.ledger.states import (
    LedgerState,
    PaperState,
    SessionState,
    StudioState,
    SupplyState,
)
from coop.ledger.supplies import month_of
from coop.ledger.table import LEDGER

BACK_DAYS = 30
"""So long ago sessions still stand in a calendar, those called off too."""
SESSIONS_DAYS = 366
"""So far ahead sessions stand in a calendar."""
NEEDS_DAYS = 28
"""So far ahead it tells what will need somebody: baths change by use, later is a guess."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarLook:
    """
    What stands in a member's calendar.

    Attributes:
        sessions: Booked sessions by their start, those called off too.
        dated: What will need the member with its day, or the day it was put off to.
    """

    ledger: LedgerState
    at: datetime
    sessions: tuple[SessionState, ...]
    studios: Mapping[Subject, StudioState]
    supplies: Mapping[Subject, SupplyState]
    papers: Mapping[Subject, PaperState]
    dated: tuple[tuple[date, Need], ...]


def see_calendar(
    journal: Journal,
    member: MemberId,
    roles: frozenset[str],
    *,
    now: datetime,
    demo: bool = False,
) -> CalendarLook:
    """
    Return what is booked, and what will need a member by roles and own work.

    Args:
        demo: Whether invented rules of a drain count.
    """
    ledger: LedgerState = journal.state("ledger", LEDGER)
    here = now.astimezone(ZoneInfo(ledger.zone))
    sessions = _sessions(journal, here)
    supplies: Mapping[Subject, SupplyState] = journal.states(
        "supply", {need.supply for one in sessions for need in one.needs}
    )
    needs = see_needs(journal, member, roles, now=now, ahead_days=NEEDS_DAYS, demo=demo)
    return CalendarLook(
        ledger=ledger,
        at=here,
        sessions=sessions,
        studios={one.id: one for one in journal.listed("studio", live=False)},
        supplies=supplies,
        papers=journal.states("paper", {one.paper for one in supplies.values() if one.paper}),
        dated=tuple(_dated((*needs.open, *needs.put_off))),
    )


def _sessions(journal: Journal, here: datetime) -> tuple[SessionState, ...]:
    first, last = here - timedelta(days=BACK_DAYS), here + timedelta(days=SESSIONS_DAYS)
    # A month is said in the zone of whoever booked: a day more on both sides holds all.
    days = range(-BACK_DAYS - 1, SESSIONS_DAYS + 2)
    months = {month_of(here + timedelta(days=ahead)) for ahead in days}
    found: Iterable[SessionState] = journal.listed_in("session", months)
    near = (one for one in found if first <= one.starts_at <= last)
    return tuple(sorted(near, key=lambda one: (one.starts_at, one.id)))


def _dated(needs: Iterable[Need]) -> list[tuple[date, Need]]:
    """Return needs with their days, the earliest first."""
    found = [(one.put_off.until if one.put_off else one.due, one) for one in needs]
    return sorted(found, key=lambda pair: (pair[0], pair[1].code, pair[1].about))
