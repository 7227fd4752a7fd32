"""What was written about a bath: what holds, what a correction took out, what was judged."""

from dataclasses import dataclass

from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.entries import Sealed
from coop.ledger.force import InForce, Struck, resolve
from coop.ledger.ports import Journal
from coop.ledger.table import judged


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
    here = tuple(one for one in resolved.in_force if _is_about(one, bath))
    judgement = journal.state("judgement", judged(bath))
    return BathEntries(
        here=here,
        struck=resolved.struck,
        moved=tuple(one for one in resolved.in_force if not _is_about(one, bath)),
        corrections={
            one.entry.id: one
            for one in sealed
            if isinstance(one.entry.content, kinds.EntryCorrected)
        },
        judged=frozenset(judgement.seen) if judgement else frozenset(),
    )


def _is_about(one: InForce, bath: Subject) -> bool:
    return any(subject == bath for _, subject in one.touches)
