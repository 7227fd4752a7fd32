"""What is known of a studio's outlets: its rules, whom it asked, and what it poured before."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache

from coop.actions.tallies import (
    LOGGED,
    by_entry,
    day_of,
    summed_by_day,
    tallies_of_log,
    tallies_on_hand,
    ways_out,
)
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.ports import Journal
from coop.ledger.states import (
    DisposalState,
    JarState,
    PackEdition,
    PermissionState,
    RulesState,
    StudioState,
)
from coop.ledger.wastes import log_home
from coop.rules.packs import words
from coop.rules.packs.documents import pack_in
from coop.rules.packs.facts import Permission, Tally
from coop.rules.packs.reading import SPAN_DAYS_MAX
from coop.rules.packs.schema import Pack

TALLY_DAYS_MIN = 62
"""What went is looked at at least so many days back: this month and the last one."""
A_MOMENT = timedelta(seconds=1)
ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """
    What is known of a studio's outlets, read once for many questions.

    `missing` are rules of which a document is not here yet, or cannot be read; `tallies` are
    all there are of `counted` from `counted_since` on.
    """

    studio: StudioState
    packs: tuple[Pack, ...]
    missing: tuple[str, ...]
    permissions: tuple[Permission, ...]
    tallies: tuple[Tally, ...]
    counted_since: date
    day: date
    now: datetime
    demo: bool

    @property
    def counted(self) -> tuple[str, ...]:
        """The sums that the tallies make up."""
        return (*LOGGED, words.HAZARDOUS_ON_HAND)

    @property
    def area(self) -> tuple[str, ...]:
        """The studio's area, from wide to narrow."""
        return site_area(self.studio)


def site_area(studio: StudioState) -> tuple[str, str]:
    """Return a studio's area: its country, then itself."""
    return studio.country or ELSEWHERE, f"studio-{studio.id}"


def see_site(journal: Journal, studio: StudioState, *, now: datetime, demo: bool) -> Site:
    """
    Return what is known of a studio's outlets.

    Args:
        now: In the zone of the studio: its date is the day the rules are asked for.
    """
    packs, missing = packs_of(journal, studio, demo=demo)
    jars: tuple[JarState, ...] = journal.listed("jar", home=studio.id)
    since = _counted_since(packs, jars, now.date())
    poured = tallies_of(journal, studio.id, since=since, now=now)
    return Site(
        studio=studio,
        packs=packs,
        missing=missing,
        permissions=tuple(_permissions(journal, studio, now.tzinfo)),
        tallies=(*poured, *tallies_on_hand(jars, now.date())),
        counted_since=since,
        day=now.date(),
        now=now,
        demo=demo,
    )


def packs_of(
    journal: Journal, studio: StudioState, *, demo: bool
) -> tuple[tuple[Pack, ...], tuple[str, ...]]:
    """
    Return the editions of a studio's rules, and the names of those that cannot be read.

    Rules that were put out of use take all their editions of before with them. Two documents
    that say they are the same edition are none. A pack speaks in the area for which it was
    published, also where the studio is said to lie elsewhere since.
    """
    every: tuple[RulesState, ...] = journal.listed("rules", home=studio.id)
    published = [(one.pack, each) for one in every for each in _standing(one)]
    there = journal.attachments(each.document for _, each in published)
    packs: list[Pack] = []
    missing: list[str] = []
    for name, edition in published:
        found = there.get(edition.document)
        pack = _pack(found.data, edition.document, demo) if found else None
        if pack is None:
            missing.append(name)
        else:
            packs.append(pack)
    unclear = _said_twice(packs)
    missing += unclear
    clear = tuple(one for one in packs if one.id not in unclear)
    return clear, tuple(dict.fromkeys(missing))


def _standing(rules: RulesState) -> tuple[PackEdition, ...]:
    """Return the editions published since the rules were last put out of use."""
    since = max((n for n, one in enumerate(rules.editions) if not one.in_use), default=-1)
    return rules.editions[since + 1 :]


def _said_twice(packs: list[Pack]) -> list[str]:
    """Return the packs of which one edition has several documents that differ."""
    digests: dict[tuple[str, int], str] = {}
    return [
        one.id
        for one in packs
        if digests.setdefault((one.id, one.edition), one.digest) != one.digest
    ]


@lru_cache(maxsize=256)
def _pack(document: bytes, name: str, demo: bool) -> Pack | None:
    """Return a pack, or None of what is no pack here: invented figures want a demo."""
    try:
        return pack_in(document, name=name, demo=demo)
    except ValueError:
        return None


def _permissions(
    journal: Journal, studio: StudioState, zone: tzinfo | None
) -> Iterator[Permission]:
    found: tuple[PermissionState, ...] = journal.listed("permission", home=studio.id)
    past = was_described(journal, studio) if found else ()
    for one in found:
        then = as_described(past, one.asked_on, zone)
        yield Permission(
            about=one.about,
            asked=one.asked,
            asked_on=one.asked_on,
            answer=one.answer,
            outlet=one.outlet or drain_then(then),
            reference=one.reference,
            conditions=one.conditions,
            elsewhere=bool({each.country.lower() for _, each in then} - {"", studio.country}),
        )


Past = tuple[tuple[datetime, kinds.StudioDescribed], ...]


def was_described(journal: Journal, studio: StudioState) -> Past:
    """Return how a studio was described from its first day on, each with its moment."""
    entries = journal.view().resolved(studio.id).in_force
    return tuple(
        (one.at, one.content)
        for one in entries
        if isinstance(one.content, kinds.StudioDescribed)
    )


def as_described(past: Past, day: date, zone: tzinfo | None) -> Past:
    """Return what was said of a studio on a day; of a day before the first, all there is."""
    before = [one for one in past if one[0].astimezone(zone).date() < day][-1:]
    during = [one for one in past if one[0].astimezone(zone).date() == day]
    return (*before, *during) or past


def drain_then(past: Past) -> str:
    """Return the one drain that a studio had; empty where it had several, or none is known."""
    drains = {one.drain for _, one in past}
    return drains.pop() if len(drains) == 1 else ""


def _counted_since(packs: Iterable[Pack], jars: Iterable[JarState], today: date) -> date:
    """Return from which day on sums are needed: the longest span, or the oldest jar's month."""
    spans = [rule.span_days for pack in packs for rule in pack.rules if rule.sum_of]
    drops = [(today - one.first_on.replace(day=1)).days for one in jars if one.first_on]
    days = max((TALLY_DAYS_MIN, *spans, *drops))
    return today - timedelta(days=min(days, SPAN_DAYS_MAX))


def tallies_of(
    journal: Journal, studio: Subject, *, since: date, now: datetime
) -> tuple[Tally, ...]:
    """Return what the lines of a studio's log since a day count for, each on its own date."""
    homes = [log_home(studio, month) for month in _months(since, now.date())]
    found: tuple[DisposalState, ...] = journal.listed_in("disposal", homes)
    lines = [one for one in found if day_of(one, now.tzinfo) >= since and one.at <= now]
    if not lines:
        return ()
    first = min(one.at for one in lines)
    rows = journal.moved_to(ways_out(studio, lines), since=first, until=now + A_MOMENT)
    moves = by_entry(rows, {EntryId(one.id) for one in lines})
    return summed_by_day(tallies_of_log(lines, moves, now.tzinfo))


def _months(since: date, today: date) -> Iterator[date]:
    """Give a day of each month, one more on both sides: lines are listed by another clock."""
    last = today.replace(day=1) + timedelta(days=31)
    month = (since.replace(day=1) - timedelta(days=1)).replace(day=1)
    while month <= last:
        yield month
        month = (month + timedelta(days=31)).replace(day=1)
