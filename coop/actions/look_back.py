"""Look back at a bath: what was said of it before more was known, and what went through it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.see_baths import BathHistory, see_past
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.force import InForce, resolve
from coop.ledger.ports import Journal
from coop.ledger.states import StackState
from coop.science.bath_answers import Strength

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the ledger said of a bath's strength at a moment, by what it knew then."""

    at: datetime
    strength: Strength


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What was said of a bath until a spoon was weighed: just after the mixing, and last."""

    until: datetime
    first: Said
    last: Said


def spoons_weighed(journal: Journal, seen: BathHistory) -> tuple[InForce, ...]:
    """Return weighed spoons of a bath's lots that came in after its mixing, oldest first."""
    if not seen.steps:
        return ()
    since = seen.steps[0].entry.original.first.admitted_at
    found = [
        one
        for lot in sorted(_spooned_lots(seen))
        for one in resolve(journal.touching(lot)).in_force
        if isinstance(one.content, kinds.LotSpoonWeighed) and _came(one) > since
    ]
    return tuple(sorted(found, key=lambda one: (_came(one), one.id)))


def _spooned_lots(seen: BathHistory) -> set[Subject]:
    return {
        part.lot
        for step in seen.steps
        if isinstance(step.entry.content, kinds.BathMixed | kinds.BathToppedUp)
        for part in step.entry.content.salt
        if part.amount.dimension != "mass"
    }


def _came(one: InForce) -> datetime:
    return one.original.first.admitted_at


def said_before(
    journal: Journal, bath: Subject, seen: BathHistory, weighed: tuple[InForce, ...]
) -> Before | None:
    """
    Return what was said before the newest weighed spoon; None if that changed little.

    Little is a change within the range: the old figure lies in the new range and the new one
    in the old.
    """
    if not weighed:
        return None
    until = _came(weighed[-1])
    last, after = _said(journal, bath, until - MINUTE), _said(journal, bath, until)
    mixed = seen.steps[0].entry
    first = _said(journal, bath, max(mixed.at, _came(mixed)) + MINUTE)
    if last is None or after is None or first is None or first.at > last.at:
        return None
    if _within(last.strength, after.strength) and _within(after.strength, last.strength):
        return None
    return Before(until=until, first=first, last=last)


def _said(journal: Journal, bath: Subject, at: datetime) -> Said | None:
    look = see_past(journal, bath, at=at, known=True)
    return None if look is None else Said(at=at, strength=look.strength)


def _within(one: Strength, other: Strength) -> bool:
    return other.low_g_per_l <= one.middle_g_per_l <= other.high_g_per_l


def stacks_of(journal: Journal, bath: Subject) -> tuple[StackState, ...]:
    """Return all stacks that went through a bath, the newest first."""
    found: tuple[StackState, ...] = journal.listed("stack", home=bath, live=False)
    return tuple(sorted(found, key=lambda one: (one.at, one.id), reverse=True))
