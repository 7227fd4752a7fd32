"""What of wastes needs somebody: old baths, waste jars, rules of a drain to be looked over."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from coop.actions.see_jars import JarSeen, see_jar
from coop.actions.sites import Site, see_site
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import JarState, RulesState, StudioState
from coop.ledger.ways_out import to_go
from coop.rules.jars import DUE_SOON, FULL_SOON, OVERDUE, JarLook
from coop.rules.needs import rules_due, waiting_due


@dataclass(frozen=True, slots=True, kw_only=True)
class OldBath:
    """A bath that is over, since when, and when it is told of that it still waits."""

    bath: AnyBath
    since: date
    due: date


@dataclass(frozen=True, slots=True, kw_only=True)
class WantingJar:
    """A waste jar, for what it needs somebody (`coop.rules.jars.NEEDS`), and the day of it."""

    seen: JarSeen
    code: str
    due: date

    @property
    def name(self) -> str:
        """The jar's."""
        return self.seen.state.name


@dataclass(frozen=True, slots=True, kw_only=True)
class OldRules:
    """Rules of a studio's drain that are to be held against their source again."""

    rules: RulesState
    studio: StudioState
    due: date

    @property
    def name(self) -> str:
        """The studio's: a studio's rules have none of their own."""
        return self.studio.name


def baths_to_go(journal: Journal) -> tuple[AnyBath, ...]:
    """Return the baths of all studios that are over and that nobody got rid of."""
    homes = tuple(to_go(one.id) for one in journal.listed("studio"))
    baths: tuple[AnyBath, ...] = journal.listed_in("bath", homes)
    return baths


def old_baths(baths: Iterable[AnyBath], *, zone: tzinfo) -> Iterator[OldBath]:
    """Give baths that must still go, each with the day on which it is told of."""
    for bath in baths:
        since = (bath.finished_at or bath.at).astimezone(zone).date()
        yield OldBath(bath=bath, since=since, due=waiting_due(since))


def wanting_jars(journal: Journal, *, now: datetime, demo: bool) -> Iterator[WantingJar]:
    """
    Give what each waste jar needs, the most pressing first.

    Args:
        now: In the ledger's zone.
        demo: Whether invented rules count.
    """
    jars: tuple[JarState, ...] = journal.listed("jar")
    ruled = {one.studio for one in journal.listed("rules")}
    for studio in journal.listed("studio"):
        here = [one for one in jars if one.studio == studio.id]
        if not here:
            continue
        reads = see_site if studio.id in ruled else _without_rules
        site = reads(journal, studio, now=now, demo=demo)
        for jar in here:
            seen = see_jar(journal, site, jar)
            for code in seen.look.needs:
                yield WantingJar(seen=seen, code=code, due=_due(code, seen.look, site.day))


def _without_rules(_: Journal, studio: StudioState, *, now: datetime, demo: bool) -> Site:
    """Return what counts of a studio without rules for its jars; nothing is read for it."""
    return Site(
        studio=studio,
        packs=(),
        missing=(),
        permissions=(),
        tallies=(),
        counted_since=now.date(),
        day=now.date(),
        now=now,
        demo=demo,
    )


def _due(code: str, look: JarLook, today: date) -> date:
    if code in (OVERDUE, DUE_SOON):
        return look.due_on or today
    if code == FULL_SOON and look.jar.full_by is not None and look.jar.full_on is None:
        return look.jar.full_by
    return today


def rules_to_review(journal: Journal) -> Iterator[OldRules]:
    """Give the rules in use, each with the day on which it is to be looked over."""
    studios = {one.id: one for one in journal.listed("studio")}
    rules: tuple[RulesState, ...] = journal.listed("rules")
    for one in rules:
        if one.last.in_use and one.studio in studios:
            due = rules_due(one.last.checked_on, one.last.review_on)
            yield OldRules(rules=one, studio=studios[one.studio], due=due)
