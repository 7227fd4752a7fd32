"""See the rules of a studio: each with its editions, and what another edition would change."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from itertools import islice
from typing import Any

import msgspec

from coop.actions.drain_facts import Asked, facts_of
from coop.actions.see_baths import gather_around
from coop.actions.sites import Site, site_area
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import DisposalState, JarState, PackEdition, RulesState, StudioState
from coop.ledger.wastes import is_filled, log_home
from coop.ledger.ways_out import to_go
from coop.rules.packs import words
from coop.rules.packs.changes import Change, Silenced, changes, differing, silenced
from coop.rules.packs.decisions import Decision, thaw
from coop.rules.packs.documents import data_of, pack_in
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts import Facts
from coop.rules.packs.schema import Pack

OWN_TIERS = frozenset({words.DISTRICT, words.SITE_PERMIT, words.HOUSE})
"""Rules of these tiers speak of the studio that they are published in, of no other."""
PACK_NAME_MAX = 40
"""Signs of a pack's name, as an entry takes it."""
LOOK_BACK_MONTHS = 12
LIQUIDS_MAX = 80
"""So many baths and jars are asked of, the old baths last."""
DECISIONS_MAX = 60
"""So many decisions of the last months, the newest, are looked at again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """An edition that was published; `pack` None where its document cannot be read here."""

    published: PackEdition
    data: Mapping[str, Any] | None
    pack: Pack | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesLook:
    """A studio's rules of one authority, its editions the newest first."""

    state: RulesState
    editions: tuple[Edition, ...]

    @property
    def last(self) -> Edition:
        """The edition published last."""
        return self.editions[0]

    def of(self, number: int) -> Edition | None:
        """Return the edition of a number, as it was published last."""
        found = (one for one in self.editions if one.published.edition == number)
        return next(found, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """A bath that is open or must still go, or a filled waste jar; `facts` at the drain."""

    bath: AnyBath | None
    jar: JarState | None
    facts: Facts

    @property
    def id(self) -> Subject:
        """Its subject."""
        state = self.bath or self.jar
        assert state is not None
        return state.id


@dataclass(frozen=True, slots=True, kw_only=True)
class OldChange:
    """A line of the log whose decision would be another today; it stays as it was."""

    line: DisposalState
    change: Change


@dataclass(frozen=True, slots=True, kw_only=True)
class WouldChange:
    """What other rules would change: for what is open, and for what was decided before."""

    now: tuple[Change, ...]
    before: tuple[OldChange, ...]


def see_rules(journal: Journal, studio: StudioState, *, demo: bool) -> tuple[RulesLook, ...]:
    """Return all rules of a studio, those in use first, each group by the name of its pack."""
    every: tuple[RulesState, ...] = journal.listed("rules", home=studio.id, live=False)
    there = journal.attachments(each.document for one in every for each in one.editions)
    kept = {name: one.data for name, one in there.items()}
    looks = [_look(one, kept, demo) for one in every]
    return tuple(
        sorted(looks, key=lambda one: (not one.state.last.in_use, one.state.pack, one.state.id))
    )


def _look(state: RulesState, kept: Mapping[str, bytes], demo: bool) -> RulesLook:
    editions = (_edition(one, kept.get(one.document), demo) for one in state.editions[::-1])
    return RulesLook(state=state, editions=tuple(editions))


def _edition(published: PackEdition, document: bytes | None, demo: bool) -> Edition:
    if document is None:
        return Edition(published=published, data=None, pack=None)
    try:
        pack = pack_in(document, name=published.document, demo=demo)
    except ValueError:
        return Edition(published=published, data=None, pack=None)
    return Edition(published=published, data=data_of(document), pack=pack)


def anchored(data: Mapping[str, Any], studio: StudioState) -> dict[str, Any]:
    """Return a pack's keys with the studio as its area, where its tier is of one place."""
    own = data["tier"] in OWN_TIERS
    return {**data, "area": list(site_area(studio))} if own else dict(data)


# ---- what the rules say now


def see_liquids(journal: Journal, site: Site) -> tuple[Liquid, ...]:
    """Return what is open in a studio or must still go, as asked of at its own drain."""
    if site.studio.drain not in kinds.OUTLETS:
        return ()
    return tuple(islice(_liquids(journal, site), LIQUIDS_MAX))


def _liquids(journal: Journal, site: Site) -> Iterator[Liquid]:
    studio = site.studio.id
    jars: tuple[JarState, ...] = journal.listed("jar", home=studio)
    baths: list[AnyBath] = [*journal.listed("bath", home=studio)]
    baths += journal.listed_in("bath", (to_go(studio),))
    gather_around(journal, baths[:LIQUIDS_MAX])
    for bath in (one for one in baths if one.finished_at is None):
        yield _of_bath(journal, site, bath)
    for jar in filter(is_filled, jars):
        asked = Asked(studio=studio, outlet=site.studio.drain, jar=jar.id)
        yield Liquid(bath=None, jar=jar, facts=facts_of(journal, site, asked))
    for bath in (one for one in baths if one.finished_at is not None):
        yield _of_bath(journal, site, bath)


def _of_bath(journal: Journal, site: Site, bath: AnyBath) -> Liquid:
    asked = Asked(studio=site.studio.id, outlet=site.studio.drain, bath=bath.id)
    return Liquid(bath=bath, jar=None, facts=facts_of(journal, site, asked))


def told_of(site: Site, liquids: Iterable[Liquid]) -> dict[Subject, Decision]:
    """Return what the rules of today say of each."""
    return {
        one.id: evaluate(site.packs, one.facts, day=site.day, now=site.now, demo=site.demo)
        for one in liquids
    }


# ---- what others would say


def with_edition(site: Site, pack: Pack) -> tuple[Pack, ...]:
    """Return a studio's packs and another edition; of its own number it takes the place."""
    others = (one for one in site.packs if (one.id, one.edition) != (pack.id, pack.edition))
    return (*others, pack)


def without(site: Site, pack_name: str) -> tuple[Pack, ...]:
    """Return a studio's packs but one."""
    return tuple(one for one in site.packs if one.id != pack_name)


def would_change(
    journal: Journal, site: Site, liquids: Iterable[Liquid], after: tuple[Pack, ...]
) -> WouldChange:
    """Return what other packs would change."""
    facts = {str(one.id): one.facts for one in liquids}
    now = changes(
        facts, before=site.packs, after=after, day=site.day, now=site.now, demo=site.demo
    )
    lines = _lines(journal, site)
    then = differing(_frozen(journal, lines), after, today=site.day)
    before = (OldChange(line=lines[one.name], change=one) for one in then)
    return WouldChange(now=now, before=tuple(before))


def would_silence(site: Site, pack: Pack) -> tuple[Silenced, ...]:
    """Return the wastes of which there is a local rule now, and none beside another edition."""
    asked = (
        Facts(
            waste=waste,
            outlet=outlet,
            area=site.area,
            rules_missing=site.missing,
            counted=site.counted,
            counted_since=site.counted_since,
        )
        for outlet in words.OUTLETS
        if outlet in words.ASKED_OUTLETS
        for waste in kinds.WASTES
    )
    return silenced(
        asked,
        before=site.packs,
        after=with_edition(site, pack),
        day=max(site.day, pack.valid_from),
        now=site.now,
        demo=site.demo,
    )


def _lines(journal: Journal, site: Site) -> dict[str, DisposalState]:
    """Return the newest lines of a studio's log that were decided, by their decisions."""
    months = [site.day.replace(day=1)]
    while len(months) <= LOOK_BACK_MONTHS:
        months.append((months[-1] - timedelta(days=1)).replace(day=1))
    homes = [log_home(site.studio.id, month) for month in months]
    found: tuple[DisposalState, ...] = journal.listed_in("disposal", homes)
    decided = sorted((one for one in found if one.decision), key=lambda one: one.at)
    return {one.decision: one for one in decided[-DECISIONS_MAX:]}


def _frozen(journal: Journal, names: Iterable[str]) -> dict[str, Any]:
    """Return the decisions that are here; a document that is none says nothing."""
    found: dict[str, Any] = {}
    for name, one in journal.attachments(names).items():
        try:
            frozen = msgspec.json.decode(one.data)
            thaw(frozen)
        except (msgspec.DecodeError, ValueError):
            continue
        found[name] = frozen
    return found
