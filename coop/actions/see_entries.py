"""What was written about a bath or a lot: what holds, what was taken out, what was judged."""

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
    The entries of a bath or a lot, in their order.

    Attributes:
        here: Entries in force.
        struck: Entries that a correction took out.
        moved: Entries that a correction gave to another.
        corrections: All corrections of its entries, by their ids.
        judged: (code, entry) of what is odd and was judged.
    """

    here: tuple[InForce, ...]
    struck: tuple[Struck, ...]
    moved: tuple[InForce, ...]
    corrections: dict[EntryId, Sealed]
    judged: frozenset[tuple[str, str]]


def entries_of(journal: Journal, subject: Subject, *, sort: str = "bath") -> BathEntries:
    """Return what was written about a bath of any kind, or about a lot."""
    sealed = journal.touching(subject)
    resolved = resolve(sealed)
    own = sort, subject
    others = [one for one in resolved.in_force if own not in one.touches]
    judgement = journal.state("judgement", judged(subject))
    return BathEntries(
        here=tuple(one for one in resolved.in_force if own in one.touches),
        struck=tuple(
            one
            for one in resolved.struck
            if not _takes_it_for_another(one.original.entry.touches, own)
        ),
        moved=tuple(one for one in others if not _takes_it_for_another(one.touches, own)),
        corrections={
            one.entry.id: one
            for one in sealed
            if isinstance(one.entry.content, kinds.EntryCorrected)
        },
        judged=frozenset(judgement.seen) if judgement else frozenset(),
    )


def _takes_it_for_another(touches: Iterable[Touch], own: Touch) -> bool:
    """Say whether an entry names a bath or a lot, but as something that it is not."""
    sorts = {sort for sort, subject in touches if subject == own[1]}
    return bool(sorts) and own[0] not in sorts
