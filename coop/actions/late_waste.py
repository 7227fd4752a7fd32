"""
What came into a log of wastes late, and what that changes: a total, a category, duties.

Both are kept: what was known when the month was over (or the day), and what is known now.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime

from coop.actions.drain_facts import Asked, facts_of
from coop.actions.see_waste_log import (
    LogLine,
    WasteLog,
    begins,
    happened_at,
    month_after,
    month_before,
    see_log,
)
from coop.actions.sites import Site, see_site
from coop.actions.tallies import LOGGED, by_entry, tallies_of_log, ways_out
from coop.ids import EntryId, Subject
from coop.ledger.entries import Sealed
from coop.ledger.ports import Journal
from coop.ledger.states import DisposalState, JarState, StudioState
from coop.ledger.view import View
from coop.ledger.wastes import log_home
from coop.rules.months import Follows, Standing, month_of, standing, totals
from coop.rules.packs import words
from coop.rules.packs.facts import Facts, Start, Tally

NEVER_JUDGED = frozenset({words.NOT_KNOWN})
"""Outlets that no rule speaks of: it went nobody knows where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """
    A total of a month, or of a day, that came out otherwise than it was known at its end.

    `day` is the day, None where it is the month's; `until` when it was over.
    """

    day: date | None
    until: datetime
    follows: Follows


def what_changed(journal: Journal, site: Site, log: WasteLog) -> tuple[Changed, ...]:
    """
    Return the totals of a month that late entries changed: its own first, then its days'.

    A month that lasts has no end yet, so only its days are looked at.
    """
    facts = tuple(_facts(journal, site, log))
    found = []
    end = begins(month_after(log.month), site.now.tzinfo)
    if end <= site.now and _any_late(log, end):
        known = tuple(_known(journal, site, log, _subjects(log.lines), until=end))
        found.append(_changed(site, log, facts, known, day=None, until=end))
    for day in sorted({one.on for one in log.lines if one.late_on}):
        lines = [one for one in log.lines if one.on == day]
        end = begins(_next(day), site.now.tzinfo)
        others = [one for one in log.tallies if one.on != day]
        known = tuple(_known(journal, site, log, _subjects(lines), until=end))
        here = [one for one in known if one.on == day]
        found.append(_changed(site, log, facts, [*others, *here], day=day, until=end))
    return tuple(one for one in found if one.follows.total_before != one.follows.total_after)


def _next(day: date) -> date:
    return date.fromordinal(day.toordinal() + 1)


def _any_late(log: WasteLog, end: datetime) -> bool:
    """Say whether anything that a month hangs on happened before its end and came after it."""
    every = (one for each in log.touched.values() for one in each)
    return any(_is_late(one, end) for one in every)


def _is_late(one: Sealed, end: datetime) -> bool:
    """Say whether it is of before and came after; a correction may be of anything."""
    mends = one.entry.kind == "entry.corrected"
    return one.first.admitted_at > end and (mends or happened_at(one) < end)


def _subjects(lines: Iterable[LogLine]) -> dict[tuple[str, Subject], None]:
    """Return what the rows of lines are posted with."""
    return {
        (sort, subject): None
        for one in lines
        for sort, subject in (
            ("disposal", one.said.id),
            ("bath", one.said.bath),
            ("jar", one.said.jar),
            ("jar", one.said.from_jar),
        )
        if subject
    }


def _known(
    journal: Journal,
    site: Site,
    log: WasteLog,
    subjects: Iterable[tuple[str, Subject]],
    *,
    until: datetime,
) -> Iterator[Tally]:
    """Give what a month's lines counted for by what was known at a moment."""

    def touching(subject: Subject) -> Iterable[Sealed]:
        return log.touched[subject] if subject in log.touched else journal.touching(subject)

    view = View(lambda subject: tuple(touching(subject)), known=until)
    folded = {(sort, subject): view.folded(sort, subject) for sort, subject in subjects}
    lines: list[DisposalState] = [
        one.state
        for (sort, _), one in folded.items()
        if sort == "disposal" and one.state is not None and one.state.studio == log.studio.id
    ]
    wanted = ways_out(log.studio.id, lines)
    rows = [row for one in folded.values() for row in one.moves if row.to_account in wanted]
    yield from tallies_of_log(
        lines, by_entry(rows, {EntryId(one.id) for one in lines}), site.now.tzinfo
    )


def _facts(journal: Journal, site: Site, log: WasteLog) -> Iterator[Facts]:
    """Give the facts by which the rules look at a month: of the site, and of each jar."""
    studio = site.studio
    waste = log.tallies[0].waste if log.tallies else words.NOT_KNOWN
    yield facts_of(journal, site, Asked(studio=studio.id, outlet=words.JAR, waste=waste))
    jars: tuple[JarState, ...] = journal.listed("jar", home=studio.id)
    for jar in jars:
        if any(one.hazardous == "yes" for one in jar.parts):
            asked = Asked(studio=studio.id, outlet=words.JAR, jar=jar.id)
            yield _of_jar(facts_of(journal, site, asked), jar)


def _of_jar(facts: Facts, jar: JarState) -> Facts:
    """Return a jar's facts with where it stands and since when."""
    stated = dict(facts.stated)
    if jar.area:
        stated["jar_area"] = (jar.area,)
    begun = (("first_drop", jar.first_on), ("full", jar.full_on))
    starts = tuple(Start(event=event, on=on) for event, on in begun if on)
    return replace(facts, stated=tuple(stated.items()), starts=starts)


def stands(
    site: Site, facts: Iterable[Facts], tallies: Iterable[Tally], *, month: date, today: date
) -> Standing:
    """Return what the rules in force say of a month: of the site, and of each of its jars."""
    judged = [one for one in tallies if one.outlet not in NEVER_JUDGED]
    counted: tuple[str, ...] = LOGGED
    if month_of(month) == month_of(site.day):
        judged += [one for one in site.tallies if one.what == words.HAZARDOUS_ON_HAND]
        counted = site.counted
    told = [
        standing(
            site.packs,
            replace(
                one,
                tallies=tuple(judged),
                counted=counted,
                counted_since=month_of(month),
            ),
            month=month,
            today=today,
            now=site.now,
            demo=site.demo,
        )
        for one in facts
    ]
    said = sorted(
        (one for each in told for one in each.said),
        key=lambda one: (-one.outcome.rank, one.pack, one.rule),
    )
    return Standing(
        categories=tuple(sorted({pair for each in told for pair in each.categories})),
        said=tuple(dict.fromkeys(said)),
    )


def standing_of(journal: Journal, site: Site, log: WasteLog) -> Standing:
    """Return what the rules in force say of a month as it is known now."""
    facts = tuple(_facts(journal, site, log))
    return stands(site, facts, log.tallies, month=log.month, today=site.day)


def _changed(
    site: Site,
    log: WasteLog,
    facts: tuple[Facts, ...],
    known: Iterable[Tally],
    *,
    day: date | None,
    until: datetime,
) -> Changed:
    """Set a month, or a day, as it was known at its end beside what is known of it now."""
    before, after = tuple(known), log.tallies
    counted = [
        tuple(one for one in each if day is None or one.on == day) for each in (before, after)
    ]
    asked = [
        tuple(one for one in each if day is None or one.on <= day) for each in (before, after)
    ]
    told = [stands(site, facts, each, month=log.month, today=day or site.day) for each in asked]
    return Changed(
        day=day,
        until=until,
        follows=Follows(
            month=log.month,
            total_before=totals(counted[0], log.month),
            total_after=totals(counted[1], log.month),
            before=told[0],
            after=told[1],
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LateLog:
    """A studio whose last month's total came out otherwise since that month was over."""

    studio: StudioState
    changed: Changed

    @property
    def name(self) -> str:
        """The studio's: its log has none of its own."""
        return self.studio.name


def late_logs(journal: Journal, *, now: datetime, demo: bool) -> Iterator[LateLog]:
    """
    Give the studios whose last month changed since it was over.

    Args:
        now: In the ledger's zone.
        demo: Whether invented rules count.
    """
    month = month_before(now.date())
    end = begins(month_after(month), now.tzinfo)
    for studio in _came_late(journal, month, end=end):
        site = see_site(journal, studio, now=now, demo=demo)
        for one in what_changed(journal, site, see_log(journal, site, month)):
            if one.day is None:
                yield LateLog(studio=studio, changed=one)


def _came_late(journal: Journal, month: date, *, end: datetime) -> tuple[StudioState, ...]:
    """Return the studios with a line of a month that came in, or was put right, after it."""
    studios: tuple[StudioState, ...] = journal.listed("studio")
    homes = tuple(log_home(one.id, month) for one in studios)
    lines: tuple[DisposalState, ...] = journal.listed_in("disposal", homes)
    sealed = journal.touching_any([one.id for one in lines]) if lines else {}
    late = {one.studio for one in lines if any(_is_late(each, end) for each in sealed[one.id])}
    return tuple(one for one in studios if one.id in late)
