"""See what sorted sheets warn of: open baths that nobody has tested since."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from coop.actions.see_faults import Unusual, unusual_words
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Journal
from coop.ledger.states import StackState
from coop.science.counts import FAULT_SHEETS_MIN

WASHED_OFF = "washed_off"
RAGGED = "ragged"


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultWarning:
    """Sheets of a bath came out badly, more than is usual; `at` is when that was sorted."""

    found: Unusual
    at: datetime


def see_warnings(journal: Journal, baths: Iterable[AnyBath]) -> Mapping[Subject, FaultWarning]:
    """
    Return the newest warning of each open bath that no test has answered since.

    Sheets that washed off warn of their alum until a strip print; ragged ones of what they
    were laid on until a drop test.
    """
    open_ones = [bath for bath in baths if bath.finished_at is None]
    stacks = _stacks(journal, open_ones)
    found = {bath.id: _newest(journal, bath, stacks) for bath in open_ones}
    return {bath: one for bath, one in found.items() if one is not None}


def _stacks(journal: Journal, baths: Iterable[AnyBath]) -> tuple[StackState, ...]:
    """Return all stacks that went through these baths or lay on them, read at once."""
    alum = {bath.id for bath in baths if isinstance(bath, BathState)}
    others = {stack for bath in baths for stack in _not_its_own(bath)}
    through: tuple[StackState, ...] = journal.listed_in("stack", alum)
    return (*through, *journal.states("stack", others - {one.id for one in through}).values())


def _not_its_own(bath: AnyBath) -> Iterable[Subject]:
    """Return the stacks laid on a liquid, or alumed once more in an alum."""
    if isinstance(bath, BathState):
        return bath.again
    return (one.stack for one in bath.laid)


def _newest(
    journal: Journal, bath: AnyBath, stacks: Iterable[StackState]
) -> FaultWarning | None:
    found = [
        FaultWarning(found=one, at=at)
        for stack in stacks
        if (at := _sorted_at(bath, stack)) is not None and not _tested_since(bath, at)
        for one in unusual_words(journal, stack, {_word(bath)})
    ]
    return max(found, key=lambda one: one.at, default=None)


def _sorted_at(bath: AnyBath, stack: StackState) -> datetime | None:
    """Return when enough of a bath's own sheets in a stack were last sorted as its word."""
    word = _word(bath)
    parts = [
        (dict(part.spoiled)[word], part.at)
        for part in stack.parts
        if word in dict(part.spoiled) and bath.id in (stack.bath, stack.alum, part.size)
    ]
    if sum(count for count, _ in parts) < FAULT_SHEETS_MIN:
        return None
    return max(at for _, at in parts)


def _word(bath: AnyBath) -> str:
    return RAGGED if isinstance(bath, LiquidState) else WASHED_OFF


def _tested_since(bath: AnyBath, at: datetime) -> bool:
    if isinstance(bath, LiquidState):
        return any(one.at > at for one in bath.drops)
    passed = () if bath.passed_at is None else (bath.passed_at,)
    return any(tested_at > at for tested_at in (*passed, *(one.at for one in bath.prints)))
