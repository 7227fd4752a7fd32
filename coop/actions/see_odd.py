"""What waits for a coordinator's word: drafts, gaps, late arrivals, twins, what else is odd."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

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
from coop.ledger.entries import Sealed
from coop.ledger.force import Finding, InForce, resolve
from coop.ledger.ports import Journal, Late
from coop.ledger.table import target
from coop.rules.baths import BathLook

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
    """Something a person may judge: what it concerns, under which code, at which entry."""

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
        others: What is odd in other ways.
    """

    draft_count: int
    gaps: tuple[DeviceLook, ...]
    late: tuple[Late, ...]
    twins: tuple[Odd, ...]
    others: tuple[Odd, ...]

    @property
    def count(self) -> int:
        odd = len(self.gaps) + len(self.late) + len(self.twins) + len(self.others)
        return self.draft_count + odd

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


def see_odd(
    journal: OddJournal,
    known: Known,
    looks: Iterable[BathLook],
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
    found = _findings(journal, judged, looks)
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
        others=tuple(one for one in found if one.code != TWIN),
    )


def _findings(
    journal: OddJournal, judged: frozenset[tuple[str, str]], looks: Iterable[BathLook]
) -> list[Odd]:
    said = {(look.state.id, reason.code) for look in looks for reason in look.answer.reasons}
    left = [
        _odd(subject, finding)
        for subject, finding in journal.findings()
        if (finding.code, finding.entry) not in judged and (subject, finding.code) not in said
    ]
    return sorted(left, key=lambda one: one.entry, reverse=True)


def _odd(subject: Subject, finding: Finding) -> Odd:
    return Odd(subject=subject, code=finding.code, entry=finding.entry, detail=finding.detail)


def odd_late(one: Late) -> Odd:
    """Return a late arrival as something to be judged."""
    return Odd(subject=one.bath, code=LATE, entry=one.entry)


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
