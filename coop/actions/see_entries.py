"""What was written about a bath: what holds, what a correction took out, what was judged."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.entries import Sealed
from coop.ledger.force import InForce, Struck, resolve
from coop.ledger.ports import Journal
from coop.ledger.table import Touch, judged


@dataclass(frozen=True, slots=True, kw_only=True)
class BathEntries:
    """
    A bath's entries, in their order.

    Attributes:
        here: Entries in force.
        struck: Entries that a correction took out.
        moved: Entries that a correction gave to another bath.
        corrections: All corrections of its entries, by their ids.
        judged: (code, entry) of what is odd and was judged.
    """

    here: tuple[InForce, ...]
    struck: tuple[Struck, ...]
    moved: tuple[InForce, ...]
    corrections: dict[EntryId, Sealed]
    judged: frozenset[tuple[str, str]]


def entries_of(journal: Journal, bath: Subject) -> BathEntries:
    """Return what was written about a bath of any kind."""
    sealed = journal.touching(bath)
    resolved = resolve(sealed)
    others = [one for one in resolved.in_force if ("bath", bath) not in one.touches]
    judgement = journal.state("judgement", judged(bath))
    return BathEntries(
        here=tuple(one for one in resolved.in_force if ("bath", bath) in one.touches),
        struck=tuple(
            one
            for one in resolved.struck
            if not _takes_it_for_another(one.original.entry.touches, bath)
        ),
        moved=tuple(one for one in others if not _takes_it_for_another(one.touches, bath)),
        corrections={
            one.entry.id: one
            for one in sealed
            if isinstance(one.entry.content, kinds.EntryCorrected)
        },
        judged=frozenset(judgement.seen) if judgement else frozenset(),
    )


def _takes_it_for_another(touches: Iterable[Touch], bath: Subject) -> bool:
    """Say whether an entry names a bath, but as something that it is not."""
    sorts = {sort for sort, subject in touches if subject == bath}
    return bool(sorts) and "bath" not in sorts
