"""Follow a sheet: back from a fault to what it came from, forward to the sheets at risk."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from heapq import heapify, heappop, heappush

from coop.actions.see_baths import see_past
from coop.actions.see_faults import size_then, stacks_of_lot
from coop.ids import EntryId, MemberId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.any_bath import AnyBath, givers
from coop.ledger.baths import BathState
from coop.ledger.force import InForce
from coop.ledger.ports import Journal
from coop.ledger.states import LaidOn, LotState, StackState
from coop.ledger.table import HOUSE
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidAround, LiquidLook, look_at_liquid

BATHS_FOLLOWED_MAX = 200
"""So many baths are followed from one lot: what was poured apart and together included."""
EVER = datetime.min.replace(tzinfo=UTC)
"""Since when what is followed from the first is of concern: all of it."""
ASK_AFTER = timedelta(hours=12)
ASK_UNTIL = timedelta(days=60)
"""How sheets came out is asked when they are dry, and not for ever: ours, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidThen:
    """Sheets that were laid on a size, and what that size was like at that moment."""

    laid: LaidOn
    look: LiquidLook | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Backward:
    """
    What a stack came from.

    Attributes:
        said: The alum as the ledger said it was when the sheets went through.
        known: The same by all that is known now.
        entries: What was done to the alum until then, the newest first.
        lots: Lots the alum in it was taken from.
        paper_lot: The lot its paper was taken from, if it was one of the house.
    """

    stack: StackState
    bath: AnyBath | None
    said: BathLook | None
    known: BathLook | None
    entries: tuple[InForce, ...]
    lots: tuple[LotState, ...]
    paper_lot: LotState | None
    laid: tuple[LaidThen, ...]


def follow_back(journal: Journal, stack: StackState) -> Backward:
    """Return what a stack came from, as it was then."""
    entries = _done_until(journal, stack)
    lots = journal.states("lot", _lots_in(journal, stack, entries))
    return Backward(
        stack=stack,
        bath=journal.state("bath", stack.alum),
        said=see_past(journal, stack.alum, at=stack.alumed_at, known=True),
        known=see_past(journal, stack.alum, at=stack.alumed_at, known=False),
        entries=tuple(reversed(entries)),
        lots=tuple(sorted(lots.values(), key=lambda lot: (lot.received_at, lot.id))),
        paper_lot=journal.state("lot", stack.lot),
        laid=tuple(LaidThen(laid=one, look=_size_look(journal, one)) for one in stack.laid),
    )


def _done_until(journal: Journal, stack: StackState) -> tuple[InForce, ...]:
    """Return the entries of a stack's alum up to the stack itself, the oldest first."""
    every = journal.view().resolved(stack.alum, at=stack.alumed_at).in_force
    itself = stack.again.entry if stack.again else stack.id
    return tuple(one for one in _own(every, stack.alum) if one.id != itself)


def _own(entries: Iterable[InForce], bath: Subject) -> tuple[InForce, ...]:
    return tuple(one for one in entries if ("bath", bath) in one.touches)


def _lots_in(journal: Journal, stack: StackState, entries: tuple[InForce, ...]) -> set[Subject]:
    """Return the lots of a stack's alum, and of what that was poured off or together from."""
    view, lots = journal.view(), set[Subject]()
    wanted, found = [(stack.alum, entries)], set[tuple[Subject, EntryId]]()
    while wanted:
        bath, done = wanted.pop()
        lots |= {lot for one in done for lot in _lots_of(one)}
        moments = {one.id: one.at for one in done}
        for handover in givers(bath, done):
            if handover not in found and len(found) < BATHS_FOLLOWED_MAX:
                found.add(handover)
                giver, entry = handover
                before = view.resolved(giver, at=moments[entry]).in_force
                wanted.append((giver, _own(before, giver)))
    return lots


def _lots_of(one: InForce) -> Iterator[Subject]:
    match one.content:
        case kinds.BathMixed(salt=parts) | kinds.BathToppedUp(salt=parts):
            yield from (part.lot for part in parts)
        case _:
            pass


def _size_look(journal: Journal, laid: LaidOn) -> LiquidLook | None:
    state = size_then(journal, laid.size, at=laid.at)
    if state is None:
        return None
    view = journal.view()
    around = LiquidAround(
        vessel=view.state("vessel", state.vessel),
        studio=view.state("studio", state.studio),
        recipe=view.state("recipe", state.recipe),
        house=view.see("house", HOUSE, at=laid.at).state,
    )
    return look_at_liquid(state, around, at=laid.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Forward:
    """The baths that hold something of what is followed, and the stacks they made."""

    baths: tuple[AnyBath, ...]
    stacks: tuple[StackState, ...]


def follow_bath(journal: Journal, bath: AnyBath) -> Forward:
    """Return the stacks that went through a bath or lay on it, or on what it was poured to."""
    return _forward(journal, [(EVER, bath.id)], frozenset())


def follow_lot(journal: Journal, lot: LotState) -> Forward:
    """Return the stacks that are of a lot of paper, or of baths a powder went into."""
    out = accounts.account("lot", lot.id)
    return _forward(journal, _fed(journal, out, EVER), stacks_of_lot(journal, lot.id))


def _fed(journal: Journal, out: str, since: datetime) -> Iterator[tuple[datetime, Subject]]:
    """Give the baths that an account gave something to since a moment, with when it began."""
    start = accounts.account("bath", Subject(""))
    moved = dict[Subject, set[EntryId]]()
    for move in journal.moves(out):
        if move.from_account == out and move.to_account.startswith(start):
            taker = Subject(move.to_account.removeprefix(start))
            moved.setdefault(taker, set()).add(move.entry)
    for taker, entries in moved.items():
        done = journal.view().resolved(taker).in_force
        times = [one.at for one in done if one.id in entries and one.at >= since]
        if times:
            yield min(times), taker


def _forward(
    journal: Journal, first: Iterable[tuple[datetime, Subject]], stacks: frozenset[Subject]
) -> Forward:
    """Follow liquid from bath to bath, the earliest first: sheets before it came are clear."""
    wanted, found = list(first), dict[Subject, datetime]()
    heapify(wanted)
    while wanted and len(found) < BATHS_FOLLOWED_MAX:
        since, bath = heappop(wanted)
        if bath not in found:
            found[bath] = since
            for fed in _fed(journal, accounts.account("bath", bath), since):
                heappush(wanted, fed)
    baths: Mapping[Subject, AnyBath] = journal.states("bath", found)
    every = dict[Subject, StackState](journal.states("stack", stacks))
    for one in baths.values():
        every |= {stack.id: stack for stack in stacks_from(journal, one, found[one.id])}
    newest = sorted(every.values(), key=lambda stack: (stack.at, stack.id), reverse=True)
    return Forward(
        baths=tuple(baths[one] for one in found if one in baths), stacks=tuple(newest)
    )


def stacks_from(journal: Journal, bath: AnyBath, since: datetime) -> tuple[StackState, ...]:
    """Return the stacks that went through an alum, or lay on a size, since a moment."""
    if isinstance(bath, BathState):
        made: tuple[StackState, ...] = journal.listed("stack", home=bath.id, live=False)
        every = {one.id: one for one in made} | dict(journal.states("stack", bath.again))
        return tuple(one for one in every.values() if _through_at(one, bath) >= since)
    stacks = journal.states("stack", {laid.stack for laid in bath.laid if laid.at >= since})
    return tuple(stacks.values())


def _through_at(stack: StackState, bath: BathState) -> datetime:
    """Return when a stack went through a bath last."""
    again = stack.again
    return again.at if again and again.bath == bath.id else stack.at


def stopped_since(bath: AnyBath) -> datetime:
    """Return since when sheets are concerned by a stop: all, unless it was poured in."""
    return (bath.stop.poured_in_at if bath.stop else None) or EVER


def at_risk(stack: StackState, bath: AnyBath) -> tuple[int, int]:
    """
    Return the sheets that a stopped bath concerns: those not sorted yet, those found good.

    Of sheets laid before a stop was poured in, those that are sorted are taken to be the first.
    """
    since = stopped_since(bath)
    if isinstance(bath, BathState):
        if _through_at(stack, bath) < since:
            return 0, 0
        unsorted = max(0, stack.sheet_count - stack.binned_count - stack.sorted_count)
        return min(unsorted, _through_count(stack, bath)), stack.good
    on_it = [one for one in stack.laid if one.size == bath.id]
    clear = sum(one.sheet_count for one in on_it if one.at < since)
    concerned = sum(one.sheet_count for one in on_it) - clear
    parts = [part for part in stack.parts if part.size == bath.id]
    sorted_count = max(0, sum(part.sheet_count for part in parts) - clear)
    good = min(sum(part.good for part in parts), sorted_count)
    return max(0, concerned - sorted_count), good


def _through_count(stack: StackState, bath: BathState) -> int:
    """Return the sheets a bath alumed; what was alumed once more elsewhere is not its."""
    again = stack.again
    if again is None or again.bath == stack.bath:
        return stack.sheet_count
    if again.bath == bath.id:
        return again.sheet_count
    return sum(one.sheet_count for one in stack.laid if one.at < again.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alert:
    """
    A bath that a person stopped, and the stacks at risk.

    People concerned are who alumed a stack and who laid it. Who stopped the bath knows, unless
    it was another bath that somebody poured into this one.
    """

    bath: AnyBath
    stacks: tuple[StackState, ...]

    @property
    def people(self) -> tuple[tuple[MemberId, bool], ...]:
        """Return the people concerned, and whether each has seen it for all their stacks."""
        every = dict.fromkeys(one for stack in self.stacks for one in hands_of(stack))
        return tuple((one, not self.unseen(one)) for one in every)

    @property
    def unseen_by(self) -> tuple[MemberId, ...]:
        """Return who has not seen it yet."""
        return tuple(one for one, seen in self.people if not seen)

    def unseen(self, member: MemberId) -> tuple[StackState, ...]:
        """Return a member's stacks for which they have not said that they saw it."""
        assert self.bath.stop is not None
        if member == self.bath.stop.by and self.bath.stop.poured_in_at is None:
            return ()
        mark = member, str(self.bath.stop.entry)
        return tuple(
            stack
            for stack in self.stacks
            if member in hands_of(stack) and mark not in stack.seen
        )


def hands_of(stack: StackState) -> tuple[MemberId, ...]:
    """Return who alumed a stack and who laid sheets of it, each once."""
    return tuple(dict.fromkeys((stack.by, *(one.by for one in stack.laid))))


def alert_of(journal: Journal, bath: AnyBath) -> Alert | None:
    """Return whom a stop of a bath concerns; None when it is not stopped or nobody."""
    if bath.stop is None:
        return None
    every = stacks_from(journal, bath, stopped_since(bath))
    stacks = tuple(one for one in every if any(at_risk(one, bath)))
    return Alert(bath=bath, stacks=stacks) if stacks else None


def alerts(
    journal: Journal, open_baths: Iterable[AnyBath], unsorted: Iterable[StackState]
) -> tuple[Alert, ...]:
    """
    Return the stops that concern somebody: of open baths, and of finished ones whose sheets
    are not all sorted yet.
    """
    baths: dict[Subject, AnyBath] = {one.id: one for one in open_baths}
    others = {one for stack in unsorted for one in _baths_of(stack)} - baths.keys()
    baths |= journal.states("bath", others)
    found = (alert_of(journal, one) for one in baths.values())
    return tuple(one for one in found if one is not None)


def _baths_of(stack: StackState) -> set[Subject]:
    return {stack.bath, stack.alum, *(one.size for one in stack.laid)}


def to_sort(
    unsorted: Iterable[StackState], member: MemberId, *, now: datetime
) -> tuple[StackState, ...]:
    """Return a member's own stacks that should be dry and are not all sorted, oldest first."""
    mine = [stack for stack in unsorted if member in hands_of(stack) and to_sort_count(stack)]
    due = [stack for stack in mine if ASK_AFTER <= now - _laid_at(stack) <= ASK_UNTIL]
    return tuple(sorted(due, key=lambda stack: (_laid_at(stack), stack.id)))


def to_sort_count(stack: StackState) -> int:
    """Return how many sheets wait to be sorted: of those laid, if any were said to be laid."""
    laid = sum(one.sheet_count for one in stack.laid) or stack.sheet_count
    return max(0, min(laid, stack.sheet_count - stack.binned_count) - stack.sorted_count)


def _laid_at(stack: StackState) -> datetime:
    return max((one.at for one in stack.laid), default=stack.at)
