"""
A waste jar: since when, full by when, collected by when, and what packs ask of it.

Without a pack a jar has those three days and nothing more. Clocks, categories and what its
label must show come from packs alone. Closed list of this module: `NEEDS`, for what a jar
needs a person.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Final

from coop.rules.months import categories, month_of
from coop.rules.packs import words
from coop.rules.packs.changes import as_if_held
from coop.rules.packs.decisions import Decision, RuleSaid
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts import Facts, Start
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import Verdict

FULL_SOON_FRACTION: Final = Fraction(4, 5)
"""A jar so far filled is told of: a choice of this ledger."""

SOON_DAYS: Final = 14
"""A day that somebody set is told of so many days before: a choice of this ledger."""

MONTHS_MAX: Final = 36
"""The last months whose categories are looked at: a choice of this ledger."""

MUST_NOT_MEET: Final = "jar-must-not-meet"
OVERDUE: Final = "jar-overdue"
NOT_STARTED: Final = "jar-not-started"
NO_LABEL: Final = "jar-no-label"
DUE_SOON: Final = "jar-due-soon"
FULL_SOON: Final = "jar-full-soon"
NEEDS: Final = (MUST_NOT_MEET, OVERDUE, NOT_STARTED, NO_LABEL, DUE_SOON, FULL_SOON)
"""
For what a jar needs a person, the most pressing first: what must never come together is in
it; a day is past; something is in it and nobody said since when; its label shows nothing, or
not what a rule asks; a day is near; it is full, nearly so, or its day to be full by is near.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class JarFacts:
    """
    A waste jar as it stands.

    Attributes:
        wastes: What goes into it, at least one of `words.WASTES`.
        contents: The substances in it; None where nobody said.
        volume_ml, mass_g: What is in it, 0 when empty; None where nobody said.
        holds_ml: How much it holds; None where nobody said.
        started_on: When it was set up.
        first_drop_on, full_on: When the first of it went in, and when it was full.
        over_55_us_gallons_on: When what stands in the satellite area passed that.
        full_by, collect_by: The days that somebody set.
        tags: Hazard words, answers to the fact of that name; None where nobody said.
        shown: What its label shows.
        area: An answer to the fact jar_area; empty where it stands in neither.
    """

    wastes: tuple[str, ...]
    started_on: date
    contents: tuple[str, ...] | None = None
    volume_ml: Fraction | None = None
    mass_g: Fraction | None = None
    holds_ml: Fraction | None = None
    first_drop_on: date | None = None
    full_on: date | None = None
    over_55_us_gallons_on: date | None = None
    full_by: date | None = None
    collect_by: date | None = None
    place: str = ""
    tags: tuple[str, ...] | None = None
    shown: tuple[str, ...] = ()
    area: str = ""

    def __post_init__(self) -> None:
        assert self.wastes, "some waste goes into a jar"
        assert set(self.wastes) <= set(words.WASTES), self.wastes
        assert self.area in ("", *words.FACTS["jar_area"]), self.area

    @property
    def filled(self) -> bool:
        """Return whether anything is in it."""
        return bool(self.volume_ml or self.mass_g or self.contents or self.first_drop_on)

    @property
    def is_empty(self) -> bool:
        """Return whether it is known that nothing is in it."""
        return self.volume_ml == 0 and self.mass_g == 0 and not self.filled


def _either(order: tuple[str, ...], *some: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(one for one in order if any(one in these for these in some))


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """
    A clock that runs, and the rule that set it; under 0 days left its last day is over.

    The rule may have spoken at the end of an earlier month: days left are as of today.
    """

    rule: RuleSaid
    due_on: date
    warn_on: date
    days_left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JarLook:
    """
    A jar as a person sees it.

    Attributes:
        clocks: Those that run, the first that falls due first. One that began under an
            earlier month's category goes on running.
        waiting: The clocks without a day to begin: nobody wrote it, or it has not come.
        labels: The rules that ask something of its label.
        asked, missing: What they ask to be shown, and what of it is not.
        months: What packs set by the sums of each month since the first drop; empty where
            none asks.
        stops: What must never come together and does.
        due_on, days_left: Of the clock, or the day it is collected by, that comes first; None
            of an empty jar.
        warn_on: When the first of them is to be told of.
        duties: Of all that speaks today.
        needs: Of `NEEDS`, the most pressing first.
    """

    jar: JarFacts
    clocks: tuple[Clock, ...]
    waiting: tuple[RuleSaid, ...]
    labels: tuple[RuleSaid, ...]
    asked: tuple[str, ...]
    missing: tuple[str, ...]
    months: tuple[tuple[date, tuple[tuple[str, str], ...]], ...]
    stops: tuple[RuleSaid, ...]
    due_on: date | None
    warn_on: date | None
    days_left: int | None
    duties: tuple[str, ...]
    needs: tuple[str, ...]


def look(
    packs: Iterable[Pack],
    jar: JarFacts,
    site: Facts,
    *,
    today: date,
    now: datetime,
    demo: bool,
) -> JarLook:
    """
    Return how a jar stands today.

    Args:
        packs: All there are; those in force today speak, of earlier months as well.
        jar: The jar.
        site: What is known of its site: area, what is stated, tallies, the starts of the site
            as a whole; and the readings of the jar's contents.
        today: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.
    """
    since = min(today, jar.first_drop_on or jar.started_on)
    held = as_if_held(packs, site, today=today, since=since)

    def told(shown: tuple[str, ...], day: date) -> list[Decision]:
        facts = _facts(replace(jar, shown=shown), site)
        return [evaluate(held, one, day=day, now=now, demo=demo) for one in facts]

    bare = {day: told((), day) for day in _days(since, today)}
    every = [said for these in bare.values() for one in these for said in one.spoken]
    here = [said for one in told(jar.shown, today) for said in one.spoken]
    sets = {
        day: {two for one in these for two in categories(one)} for day, these in bare.items()
    }
    labels = _once(one for one in every if one.kind == words.LABEL)
    asked = _either(words.SHOWN, *(one.shows for one in labels))
    found = JarLook(
        jar=jar,
        clocks=_clocks(every, today),
        waiting=_once(one for one in here if one.kind == words.CLOCK and not one.started_on),
        labels=labels,
        asked=asked,
        missing=tuple(one for one in asked if one not in jar.shown),
        months=tuple((month_of(day), tuple(sorted(two))) for day, two in sets.items() if two),
        stops=_once(one for one in here if _stops(one)),
        due_on=None,
        warn_on=None,
        days_left=None,
        duties=_either(words.DUTIES, *(one.duties for one in here)),
        needs=(),
    )
    return _with_needs(_with_due(found, today), today)


def _facts(jar: JarFacts, site: Facts) -> Iterator[Facts]:
    """Give the facts of a jar for a rule engine, once for each of its wastes."""
    stated = dict(site.stated)
    if jar.tags is not None:
        stated["tags"] = jar.tags
    if jar.area:
        stated["jar_area"] = (jar.area,)
    days = {
        "first_drop": jar.first_drop_on,
        "full": jar.full_on,
        "over_55_us_gallons": jar.over_55_us_gallons_on,
    }
    starts = tuple(Start(event=event, on=on) for event, on in days.items() if on)
    for waste in jar.wastes:
        yield replace(
            site,
            waste=waste,
            mixed_with=(),
            outlet=words.JAR,
            volume_ml=jar.volume_ml,
            mass_g=jar.mass_g,
            contents=jar.contents,
            stated=tuple(stated.items()),
            shown=jar.shown,
            starts=(*site.starts, *starts),
        )


def _days(since: date, today: date) -> tuple[date, ...]:
    """Return the last day of each month from a day on, today for this one; the oldest first."""
    days = [today]
    while len(days) < MONTHS_MAX and month_of(days[-1]) > since:
        days.append(month_of(days[-1]) - timedelta(days=1))
    return tuple(reversed(days))


def _once(said: Iterable[RuleSaid]) -> tuple[RuleSaid, ...]:
    """Return one of each rule, the one that asks most, in the order of packs and rules."""
    found: dict[tuple[str, str], RuleSaid] = {}
    for one in said:
        before = found.setdefault((one.pack, one.rule), one)
        if one.outcome.rank > before.outcome.rank:
            found[one.pack, one.rule] = one
    return tuple(found[key] for key in sorted(found))


def _clocks(said: list[RuleSaid], today: date) -> tuple[Clock, ...]:
    running = _once(one for one in said if one.kind == words.CLOCK)
    found = [
        Clock(
            rule=one,
            due_on=one.due_on,
            warn_on=one.warn_on,
            days_left=(one.due_on - today).days,
        )
        for one in running
        if one.due_on and one.warn_on
    ]
    return tuple(sorted(found, key=lambda one: one.due_on))


def _stops(said: RuleSaid) -> bool:
    return said.verdict is Verdict.FAILS and "stop_mix" in said.duties


def _with_due(found: JarLook, today: date) -> JarLook:
    if found.jar.is_empty:
        return found
    dues = [one.due_on for one in found.clocks]
    warns = [one.warn_on for one in found.clocks]
    if found.jar.collect_by:
        dues.append(found.jar.collect_by)
        warns.append(found.jar.collect_by - timedelta(days=SOON_DAYS))
    if not dues:
        return found
    due_on = min(dues)
    return replace(found, due_on=due_on, warn_on=min(warns), days_left=(due_on - today).days)


def _with_needs(found: JarLook, today: date) -> JarLook:
    jar = found.jar
    needed = {
        MUST_NOT_MEET: bool(found.stops),
        OVERDUE: found.days_left is not None and found.days_left < 0,
        NOT_STARTED: jar.filled and jar.first_drop_on is None,
        NO_LABEL: jar.filled and (not jar.shown or bool(found.missing)),
        DUE_SOON: found.warn_on is not None and found.warn_on <= today,
        FULL_SOON: _full_soon(jar, today),
    }
    if needed[OVERDUE]:
        needed[DUE_SOON] = False
    return replace(found, needs=tuple(one for one in NEEDS if needed[one]))


def _full_soon(jar: JarFacts, today: date) -> bool:
    if jar.is_empty:
        return False
    if jar.full_on or (jar.full_by and today >= jar.full_by - timedelta(days=SOON_DAYS)):
        return True
    if jar.volume_ml is None or jar.holds_ml is None:
        return False
    return jar.volume_ml >= FULL_SOON_FRACTION * jar.holds_ml
