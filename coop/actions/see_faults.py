"""See how sheets came out: what is spoiled of what was sorted, and whether that is usual."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, TypeAlias

from coop.ids import EntryId, MemberId, Subject
from coop.ledger import accounts
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, Sorted, StackState
from coop.science.counts import FAULT_SHEETS_MIN, Compared, compared

About: TypeAlias = Literal["bath", "size", "lot", "paper", "member"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CameOut:
    """
    How sheets of one stack came out, as far as they were sorted.

    `sheet_count` are those to be sorted: what was thrown away before any colour is none.
    """

    stack: Subject
    at: datetime
    sheet_count: int
    good: int
    spoiled: tuple[tuple[str, int], ...]

    @property
    def spoiled_count(self) -> int:
        return sum(count for _, count in self.spoiled)

    @property
    def sorted_count(self) -> int:
        return self.good + self.spoiled_count


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultRecord:
    """How sheets came out that have one thing in common, stack by stack, the oldest first."""

    stacks: tuple[CameOut, ...]

    @property
    def sorted_count(self) -> int:
        return sum(one.sorted_count for one in self.stacks)

    @property
    def waiting_count(self) -> int:
        """Sheets that nobody has sorted yet."""
        return sum(max(0, one.sheet_count - one.sorted_count) for one in self.stacks)

    @property
    def spoiled(self) -> tuple[tuple[str, int], ...]:
        """Return the words with their sheets, the most frequent first."""
        counts: Counter[str] = Counter()
        for one in self.stacks:
            counts.update(dict(one.spoiled))
        return tuple(sorted(counts.items(), key=lambda one: (-one[1], one[0])))

    @property
    def spoiled_count(self) -> int:
        return sum(one.spoiled_count for one in self.stacks)


def see_faults(journal: Journal, about: About, subject: Subject | MemberId) -> FaultRecord:
    """
    Return how the sheets came out that went through a bath, lay on a size, or were of a lot,
    of a paper, or alumed by a member.
    """
    if about == "size":
        return _of_size(journal, Subject(subject))
    stacks = _stacks_about(journal, about, subject)
    return _record(_came_out(stack) for stack in stacks)


def _of_size(journal: Journal, size: Subject) -> FaultRecord:
    state = journal.state("bath", size)
    if not isinstance(state, LiquidState):
        return FaultRecord(stacks=())
    stacks = journal.states("stack", {laid.stack for laid in state.laid})
    return _record(_came_out_on(stack, size) for stack in stacks.values())


def _record(found: Iterable[CameOut]) -> FaultRecord:
    return FaultRecord(stacks=tuple(sorted(found, key=lambda one: (one.at, one.stack))))


def _came_out_on(stack: StackState, size: Subject) -> CameOut:
    """Return what came out of the sheets of a stack that lay on one size."""
    laid = [one for one in stack.laid if one.size == size]
    parts = [one for one in stack.parts if one.size == size]
    spoiled: Counter[str] = Counter()
    for part in parts:
        spoiled.update(dict(part.spoiled))
    sorted_count = sum(part.sheet_count for part in parts)
    return CameOut(
        stack=stack.id,
        at=min((one.at for one in laid), default=stack.at),
        sheet_count=max(sum(one.sheet_count for one in laid), sorted_count),
        good=sum(part.good for part in parts),
        spoiled=tuple(sorted(spoiled.items())),
    )


def _came_out(stack: StackState) -> CameOut:
    return CameOut(
        stack=stack.id,
        at=stack.at,
        sheet_count=stack.sheet_count - stack.binned_count,
        good=stack.good,
        spoiled=stack.spoiled,
    )


def _stacks_about(
    journal: Journal, about: About, subject: Subject | MemberId
) -> Iterable[StackState]:
    if about == "bath":
        found: tuple[StackState, ...] = journal.listed(
            "stack", home=Subject(subject), live=False
        )
        return found
    if about == "lot":
        return journal.states("stack", stacks_of_lot(journal, Subject(subject))).values()
    every: tuple[StackState, ...] = journal.listed("stack", live=False)
    if about == "member":
        return [stack for stack in every if stack.by == subject]
    lots = _lots_of_paper(journal, Subject(subject))
    return [stack for stack in every if stack.lot in lots or stack.paper == subject]


def stacks_of_lot(journal: Journal, lot: Subject) -> frozenset[Subject]:
    """Return the stacks whose sheets were taken from a lot of paper."""
    out = accounts.account("lot", lot)
    moves = [move for move in journal.moves(out) if move.from_account == out]
    return frozenset(
        Subject(move.entry)
        for move in moves
        if move.to_account == accounts.account("stack", Subject(move.entry))
    )


def _lots_of_paper(journal: Journal, paper: Subject) -> frozenset[Subject]:
    lots: tuple[LotState, ...] = journal.listed("lot", live=False)
    return frozenset(lot.id for lot in lots if lot.paper == paper)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusual:
    """More sheets of a stack than is usual here came out with one word."""

    word: str
    fault_count: int
    sorted_count: int
    rest_fault_count: int
    rest_sheet_count: int
    compared: Compared


def unusual(journal: Journal, stack: StackState, part: Sorted) -> tuple[Unusual, ...]:
    """
    Return what is out of the usual of a stack, for the words of the part just sorted.

    The whole stack as far as it was sorted stands against all else that was sorted in its
    studio: sheets counted in small parts hide nothing. Nothing is compared before anything
    else was sorted there.
    """
    return unusual_words(journal, stack, dict(part.spoiled))


def unusual_words(
    journal: Journal, stack: StackState, wanted: Collection[str]
) -> tuple[Unusual, ...]:
    """Return what is out of the usual of a stack, for these words."""
    words = [
        (word, count)
        for word, count in stack.spoiled
        if word in wanted and count >= FAULT_SHEETS_MIN
    ]
    if not words:
        return ()
    good, spoiled = _all_else(journal, stack)
    rest = good + sum(spoiled.values())
    if not rest:
        return ()
    found = (_against(stack, word, count, spoiled[word], rest) for word, count in words)
    return tuple(one for one in found if one.compared.speaks)


def _all_else(journal: Journal, stack: StackState) -> tuple[int, Counter[str]]:
    """Return what else was sorted in a stack's studio: good ones, and the words' counts."""
    studios = {bath.id: bath.studio for bath in journal.listed("bath", live=False)}
    every: tuple[StackState, ...] = journal.listed("stack", live=False)
    here = studios.get(stack.bath)
    good, spoiled = 0, Counter[str]()
    for one in every:
        if one.id != stack.id and studios.get(one.bath) == here:
            good += one.good
            spoiled.update(dict(one.spoiled))
    return good, spoiled


def _against(stack: StackState, word: str, count: int, rest_count: int, rest: int) -> Unusual:
    return Unusual(
        word=word,
        fault_count=count,
        sorted_count=stack.sorted_count,
        rest_fault_count=rest_count,
        rest_sheet_count=rest,
        compared=compared(
            fault_count=count,
            sheet_count=stack.sorted_count,
            rest_fault_count=rest_count,
            rest_sheet_count=rest,
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOne:
    """
    A sheet worth keeping, and what it came from.

    Attributes:
        bath: The alum it went through.
        size: What it was laid on, as far as that is known; `laid_at` when.
        spread_mm: How far a drop spread in the last test before it was laid.
    """

    part: Sorted
    stack: StackState
    bath: AnyBath | None
    size: LiquidState | None = None
    laid_at: datetime | None = None
    spread_mm: float | None = None

    @property
    def age_days(self) -> float | None:
        """Return how old the size was when the sheet was laid on it [d]."""
        if self.size is None or self.laid_at is None:
            return None
        return (self.laid_at - self.size.mixed_at).total_seconds() / 86_400


def see_kept(journal: Journal, *, most: int) -> tuple[tuple[KeptOne, ...], int]:
    """Return the newest sheets that somebody kept, and how many there are in all."""
    every: tuple[StackState, ...] = journal.listed("stack", live=False)
    found = [(part, stack) for stack in every for part in stack.parts if part.keep]
    found.sort(key=lambda one: (one[0].at, one[0].entry), reverse=True)
    return _kept(journal, found[:most]), len(found)


def kept_of(journal: Journal, stack: StackState) -> tuple[KeptOne, ...]:
    """Return what was kept of one stack."""
    return _kept(journal, [(part, stack) for part in stack.parts if part.keep])


def _kept(journal: Journal, found: list[tuple[Sorted, StackState]]) -> tuple[KeptOne, ...]:
    baths = journal.states("bath", {stack.bath for _, stack in found})
    return tuple(
        _kept_one(journal, part, stack, baths.get(stack.bath)) for part, stack in found
    )


def _kept_one(
    journal: Journal, part: Sorted, stack: StackState, bath: AnyBath | None
) -> KeptOne:
    laid_at = max((one.at for one in stack.laid if one.size == part.size), default=None)
    then = size_then(journal, part.size, at=laid_at or stack.at) if part.size else None
    spreads = [one.spread_mm for one in then.drops if one.spread_mm is not None] if then else []
    return KeptOne(
        part=part,
        stack=stack,
        bath=bath,
        size=then,
        laid_at=laid_at,
        spread_mm=spreads[-1] if spreads else None,
    )


def size_then(journal: Journal, size: Subject, *, at: datetime) -> LiquidState | None:
    """Return a size as it was after its last entry by a moment, by all that is known now."""
    state = journal.view().see("bath", size, at=at).state
    return state if isinstance(state, LiquidState) else None


def part_of_entry(stack: StackState, entry: str) -> Sorted | None:
    """Return the part of a stack that an entry sorted."""
    return next((part for part in stack.parts if part.entry == EntryId(entry)), None)
