"""
A member's calendar as iCalendar text: RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986.

It names no member, and says nothing that is not on the pages of every member. An event keeps
its UID; its SEQUENCE rises when what it says changes (`coop.store.feeds`).
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from hashlib import sha256

from icalendar import Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from coop import __version__
from coop.actions.calendar import CalendarLook
from coop.ids import LedgerId
from coop.ledger.states import Needed, SessionState, SupplyState
from coop.ledger.supplies import measure_of
from coop.store.feeds import Told
from coop.web.errands import Errand, errands, kind_name
from coop.web.i18n import Words
from coop.web.stock import amount_text, supply_name

CALENDAR_TYPE = "text/calendar"
REFRESH_EVERY = timedelta(hours=6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """
    An event of a calendar.

    Attributes:
        uid: Its lasting name.
        starts: A day for one that lasts all day, else a moment in the ledger's zone.
        ends: None for a day, and where nobody said.
        path: The page that tells more; `busy` says that who comes has no time for others.
    """

    uid: str
    summary: str
    starts: date | datetime
    path: str
    ends: datetime | None = None
    description: str = ""
    location: str = ""
    cancelled: bool = False
    busy: bool = False

    @property
    def digest(self) -> str:
        """What tells whether it says another thing than before."""
        said = [
            self.summary,
            self.starts.isoformat(),
            self.ends.isoformat() if self.ends else "",
            self.description,
            self.location,
            self.cancelled,
        ]
        return sha256(json.dumps(said).encode()).hexdigest()


def dated(words: Words, look: CalendarLook, ledger: LedgerId) -> tuple[Dated, ...]:
    """Return the events of a calendar, each once."""
    sessions = (_session(words, look, one, ledger) for one in look.sessions)
    dues = errands(words, look.dated, look.studios)
    return (*sessions, *(_due(words, one, ledger) for one in dues))


def uid_of(about: str, code: str, ledger: LedgerId) -> str:
    """Return an event's lasting name: what it is about, which sort it is, whose ledger."""
    return f"{about}-{code}@{ledger}"


def _session(words: Words, look: CalendarLook, one: SessionState, ledger: LedgerId) -> Dated:
    studio = look.studios.get(one.studio)
    return Dated(
        uid=uid_of(one.id, "session", ledger),
        summary=one.name,
        starts=one.starts_at.astimezone(words.zone),
        ends=one.ends_at.astimezone(words.zone) if one.ends_at else None,
        description="\n".join(_about(words, look, one)),
        location=studio.name if studio else "",
        path=f"/sessions/{one.id}",
        cancelled=one.called_off,
        busy=True,
    )


def _about(words: Words, look: CalendarLook, one: SessionState) -> Iterator[str]:
    yield words.ngettext("%(num)d person comes.", "%(num)d people come.", one.head_count)
    if one.under_16:
        yield words.gettext("Some are under 16.")
    if one.needs:
        needs = ", ".join(_needed(words, look, need) for need in one.needs)
        yield words.gettext("It takes %(needs)s.", needs=needs)


def _needed(words: Words, look: CalendarLook, need: Needed) -> str:
    supply = look.supplies.get(need.supply)
    measure = supply.measure if supply else measure_of(need.what)
    amount = amount_text(words, need.what, measure, need.amount)
    name = _name(words, look, need, supply)
    if not name:
        return amount
    return words.gettext("%(amount)s of %(supply)s", amount=amount, supply=name)


def _name(words: Words, look: CalendarLook, need: Needed, supply: SupplyState | None) -> str:
    """Return what is needed; what nobody has received or described goes by its sort."""
    if supply is not None:
        paper = look.papers.get(supply.paper) if supply.paper else None
        return supply_name(words, supply, paper)
    return kind_name(words, need.what)


def _due(words: Words, one: Errand, ledger: LedgerId) -> Dated:
    return Dated(
        uid=uid_of(one.about, one.code, ledger),
        summary=one.text,
        starts=one.at.astimezone(words.zone) if one.at else one.day,
        path=one.path,
    )


def digests(events: tuple[Dated, ...]) -> dict[str, str]:
    """Return what each event says, by its lasting name."""
    return {one.uid: one.digest for one in events}


def as_ical(
    events: tuple[Dated, ...],
    told: Mapping[str, Told],
    *,
    words: Words,
    name: str,
    origin: str,
) -> bytes:
    """
    Return a calendar as it goes over the wire.

    Args:
        events: What stands in it.
        told: The number of each event, and since when it says what it says.
        name: What the calendar is called.
        origin: The address of the ledger, without a slash at its end.
    """
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", f"-//coop//studio ledger {__version__}//EN")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", name)
    calendar.add("refresh-interval", REFRESH_EVERY, parameters={"VALUE": "DURATION"})
    if any(isinstance(one.starts, datetime) for one in events):
        calendar.add_component(_zone_of(words, events))
    for one in events:
        calendar.add_component(_event(one, told[one.uid], words.lang, origin))
    return bytes(calendar.to_ical())


def _event(one: Dated, told: Told, lang: str, origin: str) -> Event:
    """Without a METHOD, DTSTAMP is when it was last changed (RFC 5545, 3.8.7.2)."""
    event = Event()
    speaks = {"LANGUAGE": lang}
    event.add("uid", one.uid)
    event.add("dtstamp", told.changed_at)
    event.add("last-modified", told.changed_at)
    event.add("sequence", told.sequence)
    event.add("dtstart", one.starts)
    if one.ends:
        event.add("dtend", one.ends)
    event.add("summary", one.summary, parameters=speaks)
    if one.description:
        event.add("description", one.description, parameters=speaks)
    if one.location:
        event.add("location", one.location, parameters=speaks)
    event.add("status", "CANCELLED" if one.cancelled else "CONFIRMED")
    event.add("transp", "OPAQUE" if one.busy and not one.cancelled else "TRANSPARENT")
    event.add("url", origin + one.path)
    return event


def _zone_of(words: Words, events: tuple[Dated, ...]) -> Timezone:
    years = [one.starts.year for one in events]
    return zone_rules(str(words.zone), min(years) - 1, max(years) + 2)


@cache
def zone_rules(name: str, first_year: int, last_year: int) -> Timezone:
    """
    Return a zone's rules from the first day of a year to that of another.

    The library says when a clock goes forward by the time after it; RFC 5545, 3.6.5, wants
    the time before, as its example does (New York, 2007-03-11, 02:00).
    """
    made = Timezone.from_tzid(
        name, first_date=date(first_year, 1, 1), last_date=date(last_year, 1, 1)
    )
    parts: list[TimezoneStandard | TimezoneDaylight] = [*made.standard, *made.daylight]
    for part in parts:
        ahead = part.TZOFFSETTO - part.TZOFFSETFROM
        if ahead > timedelta():
            _put_back(part, ahead)
    return made


def _put_back(part: TimezoneStandard | TimezoneDaylight, by: timedelta) -> None:
    later = [one - by for one, *_ in part.rdates]
    part.DTSTART = part.DTSTART - by
    part.pop("RDATE", None)
    if later:
        part.add("RDATE", later)
