"""Undo a copied card: take out in one tap all the lines of it, or none."""

from collections.abc import Callable, Iterable
from datetime import datetime

from coop.actions.correct_entry import CORRECTION, may_undo, see_entry, void
from coop.actions.write import Draft, Who, Written, write
from coop.ids import EntryId
from coop.ledger.entries import Sealed
from coop.ledger.part_of_day import MINUTE
from coop.ledger.ports import Journal

UNDONE = "undone"


class NotUndone(Exception):
    """A line was not taken out; whoever opened the unit of work undoes it by this."""


def lines_of_card(copied: EntryId, here: Iterable[Sealed]) -> tuple[Sealed, ...]:
    """
    Return the lines that were copied with one, among the entries of their bath; it is one.

    Lines of one card were taken in at the same instant, of one writer, and are known to a day
    or a part of one.
    """
    there = tuple(here)
    found = next((one for one in there if one.entry.id == copied), None)
    if found is None:
        return ()
    return tuple(one for one in there if _is_of_card(one) and _copied(one) == _copied(found))


def _is_of_card(one: Sealed) -> bool:
    said = one.entry.said
    return said is not None and said.precision != MINUTE


def _copied(one: Sealed) -> tuple[object, ...]:
    return one.first.admitted_at, one.entry.author


def may_undo_all(who: Who, lines: Iterable[Sealed], *, now: datetime) -> bool:
    """Say whether somebody may take out each of some lines in one tap."""
    return all(may_undo(who, one, now=now) for one in lines)


def undo_card(
    journal: Journal,
    who: Who,
    lines: Iterable[Sealed],
    *,
    new_id: Callable[[], EntryId],
    now: datetime,
) -> tuple[Written, ...]:
    """
    Take lines out, the last one first, within one unit of work; those that are out stay so.

    Raises:
        NotUndone: A line was not taken out.
    """
    done = []
    for one in reversed(tuple(lines)):
        standing = see_entry(journal, one.entry.id)
        if standing is None or standing.in_force is None:
            continue
        said = void(standing, reason=UNDONE, seen=standing.seen)
        outcome = write(journal, who, Draft(id=new_id(), kind=CORRECTION, body=said), now=now)
        if not isinstance(outcome, Written):
            raise NotUndone(one.entry.id)
        done.append(outcome)
    return tuple(done)
