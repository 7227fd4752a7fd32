"""What waits for a coordinator's word: drafts, gaps, late arrivals, twins, what else is odd."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Protocol

from coop.actions.see_counts import COUNT_GAP, GapLook, Held, lots_of, open_gaps
from coop.actions.see_devices import (
    MISSING,
    TWICE,
    DeviceLook,
    Known,
    code_of,
    judged_pairs,
    look_at_devices,
)
from coop.ids import EntryId, Subject
from coop.ledger import accounts
from coop.ledger.entries import Sealed
from coop.ledger.force import Finding, InForce, resolve
from coop.ledger.ports import Journal, Late
from coop.ledger.states import LotState
from coop.ledger.table import target
from coop.rules.baths import BathLook
from coop.rules.impossible import (
    Impossible,
    LotLeft,
    OpenBath,
    impossible_baths,
    impossible_lots,
)
from coop.rules.liquid_looks import LiquidLook

LATE_FOR = timedelta(days=30)
LATE, TWIN = "late-changed", "likely-twin"


class OddJournal(Journal, Protocol):
    """A journal that answers for many at once."""

    def touching_any(self, subjects: Iterable[Subject]) -> dict[Subject, tuple[Sealed, ...]]:
        """Return the entries that concern each of many subjects."""
        ...

    def by_ids(self, ids: Iterable[EntryId]) -> dict[EntryId, tuple[Sealed, ...]]:
        """Return all entries with each of many ids."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Odd:
    """
    Something a person may judge: what it concerns, under which code, at which entry.

    `detail` is the other of two: the earlier twin, or the bath that was there first.
    """

    subject: Subject
    code: str
    entry: EntryId
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsettled:
    """
    What nobody has settled yet; of the findings the newest first.

    Attributes:
        draft_count: How many drafts wait for a person.
        gaps: Devices with counts that never came or came twice.
        late: Late arrivals that changed an answer.
        twins: What was likely written twice.
        counts: Counts of lots that differ beyond noise.
        others: What is odd in other ways.
    """

    draft_count: int
    gaps: tuple[DeviceLook, ...]
    late: tuple[Late, ...]
    twins: tuple[Odd, ...]
    counts: tuple[GapLook, ...]
    others: tuple[Odd, ...]

    @property
    def count(self) -> int:
        odd = (self.gaps, self.late, self.twins, self.counts, self.others)
        return self.draft_count + sum(map(len, odd))

    def find(self, subject: str, code: str, entry: str) -> bool:
        """Say whether this still waits to be judged."""
        return (subject, code, entry) in {
            (one.subject, one.code, one.entry) for one in self._judgeable()
        }

    def _judgeable(self) -> Iterable[Odd]:
        yield from self.twins
        yield from self.others
        yield from (odd for one in self.gaps for odd in odd_counts(one))
        yield from (odd_late(one) for one in self.late)
        yield from (odd_count(one) for one in self.counts)


def see_odd(
    journal: OddJournal,
    known: Known,
    looks: Iterable[BathLook | LiquidLook],
    *,
    draft_count: int,
    now: datetime,
) -> Unsettled:
    """
    Return all that waits for a coordinator's word.

    What an open bath's own answer says already is left out.

    Args:
        looks: The open baths as they are now.
    """
    judged = judged_pairs(journal)
    open_baths = tuple(looks)
    found = _findings(journal, judged, open_baths)
    held = journal.holding("lot")
    lots = lots_of(journal, held)
    cannot_be = _impossible(open_baths, _odd_lots(journal, held, lots))
    others = (
        *(one for one in found if one.code != TWIN),
        *(one for one in cannot_be if (one.code, one.entry) not in judged),
    )
    return Unsettled(
        draft_count=draft_count,
        gaps=tuple(
            one for one in look_at_devices(journal, known, judged) if one.missing or one.twice
        ),
        late=tuple(
            one
            for one in journal.late(since=now - LATE_FOR)
            if (LATE, str(one.entry)) not in judged
        ),
        twins=tuple(one for one in found if one.code == TWIN),
        counts=open_gaps(journal, lots, held=held, judged=judged),
        others=tuple(sorted(others, key=_newest, reverse=True)),
    )


def _findings(
    journal: OddJournal,
    judged: frozenset[tuple[str, str]],
    looks: Iterable[BathLook | LiquidLook],
) -> list[Odd]:
    said = {(look.state.id, reason.code) for look in looks for reason in look.answer.reasons}
    left = [
        _odd(subject, finding)
        for subject, finding in journal.findings()
        if (finding.code, finding.entry) not in judged and (subject, finding.code) not in said
    ]
    return sorted(left, key=_newest, reverse=True)


def _newest(one: Odd) -> EntryId:
    return one.entry


def _impossible(
    looks: Iterable[BathLook | LiquidLook], below: Iterable[LotLeft]
) -> Iterator[Odd]:
    """Give what cannot be as it stands now: it goes by itself once it is mended."""
    found: tuple[Impossible, ...] = (
        *impossible_baths(_open_bath(look) for look in looks),
        *impossible_lots(below),
    )
    for one in found:
        yield Odd(subject=one.subject, code=one.code, entry=one.entry, detail=one.other)


def _open_bath(look: BathLook | LiquidLook) -> OpenBath:
    state = look.state
    bath = OpenBath(id=state.id, name=state.name, vessel=state.vessel, mixed_at=state.mixed_at)
    if isinstance(look, LiquidLook):
        return bath
    return replace(bath, salt=look.state.salt, low_g_per_l=look.strength.low_g_per_l)


def _odd_lots(
    journal: OddJournal, held: Held, on_hand: Iterable[LotState]
) -> tuple[LotLeft, ...]:
    """
    Return the lots that came to less than nothing, with how far that may be off, and those
    that hold of another supply.
    """
    lots = {accounts.account("lot", one.id): one for one in on_hand}
    odd = {
        key: left
        for key, left in held.items()
        if key[0] in lots and (left < 0 or lots[key[0]].substance != key[1])
    }
    doubts = journal.doubts(name for name, _ in odd)
    return tuple(
        LotLeft(
            id=lots[key[0]].id,
            came_in=lots[key[0]].received,
            left=left,
            doubt=doubts.get(key, 0),
            own=lots[key[0]].substance == key[1],
        )
        for key, left in odd.items()
    )


def _odd(subject: Subject, finding: Finding) -> Odd:
    return Odd(subject=subject, code=finding.code, entry=finding.entry, detail=finding.detail)


def odd_late(one: Late) -> Odd:
    """Return a late arrival as something to be judged."""
    return Odd(subject=one.bath, code=LATE, entry=one.entry)


def odd_count(look: GapLook) -> Odd:
    """Return a count that differs as something to be judged."""
    return Odd(subject=look.lot.id, code=COUNT_GAP, entry=look.count.entry)


def odd_counts(look: DeviceLook) -> tuple[Odd, ...]:
    """Return what is odd about a device's counts as something to be judged."""
    device = look.state.id
    runs = {MISSING: look.missing, TWICE: tuple((one, one) for one in look.twice)}
    return tuple(
        Odd(subject=device, code=code_of(what, some), entry=EntryId(device))
        for what, some in runs.items()
        if some
    )


def in_force(journal: OddJournal, ids: Iterable[EntryId]) -> dict[EntryId, InForce]:
    """Return entries as they count now; those that are not here or taken out are left out."""
    wanted = tuple(dict.fromkeys(ids))
    if not wanted:
        return {}
    originals = journal.by_ids(wanted)
    corrections = journal.touching_any([target(one) for one in wanted])
    together = {
        one.entry.digest: one
        for some in (*originals.values(), *corrections.values())
        for one in some
    }
    found = {one.id: one for one in resolve(together.values()).in_force}
    return {one: found[one] for one in wanted if one in found}
