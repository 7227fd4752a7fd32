"""What is known of a studio's outlets: its rules, whom it asked, and what it poured before."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from functools import lru_cache

from coop.actions.liquid_rows import liquid_ml
from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.ports import Journal
from coop.ledger.states import PermissionState, RulesState, StudioState
from coop.rules.packs import words
from coop.rules.packs.documents import pack_in
from coop.rules.packs.facts import Permission, Tally
from coop.rules.packs.schema import Pack

TALLY_DAYS = 62
"""What was poured is looked at so many days back: this month and the last one."""
ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """
    What is known of a studio's outlets, read once for many questions.

    `missing` are rules of which a document is not here yet, or cannot be read.
    """

    studio: StudioState
    packs: tuple[Pack, ...]
    missing: tuple[str, ...]
    permissions: tuple[Permission, ...]
    tallies: tuple[Tally, ...]
    day: date
    now: datetime
    demo: bool

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
    return Site(
        studio=studio,
        packs=packs,
        missing=missing,
        permissions=tuple(_permissions(journal, studio)),
        tallies=tallies_of(journal, studio.id, now=now),
        day=now.date(),
        now=now,
        demo=demo,
    )


def packs_of(
    journal: Journal, studio: StudioState, *, demo: bool
) -> tuple[tuple[Pack, ...], tuple[str, ...]]:
    """
    Return the editions of a studio's rules, and the names of those that cannot be read.

    Two documents that say they are the same edition are none.
    """
    every: tuple[RulesState, ...] = journal.listed("rules", home=studio.id)
    there = journal.attachments(each.document for one in every for each in one.editions)
    packs: list[Pack] = []
    missing: list[str] = []
    for one in every:
        for edition in one.editions:
            found = there.get(edition.document)
            pack = _pack(found.data, edition.document, demo) if found else None
            if pack is None:
                missing.append(one.pack)
            elif edition.in_use:
                packs.append(_anchored(pack, studio))
    unclear = _said_twice(packs)
    missing += unclear
    clear = tuple(one for one in packs if one.id not in unclear)
    return clear, tuple(dict.fromkeys(missing))


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


def _anchored(pack: Pack, studio: StudioState) -> Pack:
    """Return a pack that was made for this studio as one of its area, whatever that is now."""
    country, here = site_area(studio)
    if pack.area[-1:] != (here,):
        return pack
    return replace(pack, area=(country, here))


def _permissions(journal: Journal, studio: StudioState) -> Iterator[Permission]:
    found: tuple[PermissionState, ...] = journal.listed("permission", home=studio.id)
    for one in found:
        yield Permission(
            about=one.about,
            asked=one.asked,
            asked_on=one.asked_on,
            answer=one.answer,
            outlet=one.outlet or studio.drain,
            reference=one.reference,
            conditions=one.conditions,
        )


def tallies_of(journal: Journal, studio: Subject, *, now: datetime) -> tuple[Tally, ...]:
    """Return what a studio poured in the last two months, each line on its own date there."""
    ways = {
        accounts.drain(studio, outlet, waste): (outlet, waste)
        for outlet in kinds.OUTLETS
        for waste in kinds.WASTES
    }
    rows = journal.moved_to(
        ways, since=now - timedelta(days=TALLY_DAYS), until=now + timedelta(seconds=1)
    )
    lines: dict[tuple[EntryId, str], list[Move]] = {}
    for row in rows:
        lines.setdefault((row.entry, row.to_account), []).append(row)
    return tuple(
        Tally(
            what=words.POURED,
            waste=ways[account][1],
            on=line[0].at.astimezone(now.tzinfo).date(),
            outlet=ways[account][0],
            volume_ml=Fraction(str(poured_ml)),
        )
        for (_, account), line in lines.items()
        if (poured_ml := liquid_ml(line))
    )
