"""
Look at what others did since a member was here: to each bath in few words, newest first.

What is new is what this server took in since, whenever it happened: a phone may hand in on
Monday what was done on Saturday.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from coop.actions.come_late import LATE_AFTER
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.entries import Entry, Sealed, put_right
from coop.ledger.force import InForce, resolve
from coop.ledger.kinds import DraftSettled, SheetsThrough
from coop.ledger.ports import Journal, Late
from coop.sync.outbox import Kept, read_outbox
from coop.sync.ports import WAITING, Held, Shelf

READ_MAX = 200
SINCE_SHOWN = 6
SETTLED_SHOWN = 3
TURNED_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class What:
    """What was done: sheets through as (format, count), all else as (kind, how often)."""

    sheets: tuple[tuple[str, int], ...]
    kinds: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doings:
    """
    What others did to one bath.

    Attributes:
        by: Who did it, the last one first.
        at: When the last of it happened; `seq` is the number of what came in last.
    """

    bath: AnyBath
    what: What
    by: tuple[MemberId, ...]
    at: datetime
    seq: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What a person made of something this member wrote on a phone."""

    bath: AnyBath | None
    what: What
    written_at: datetime
    outcome: str
    reason: str
    by: MemberId


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """Late arrivals that changed a bath's word, and when the last of them happened."""

    bath: AnyBath
    late: Late
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """
    What a member missed.

    Attributes:
        more_count: Baths to which something was done and that are not in `done`.
        cut: More came in than was read; what is older is left out.
    """

    done: tuple[Doings, ...] = ()
    more_count: int = 0
    cut: bool = False
    settled: tuple[Settled, ...] = ()
    turned: tuple[Turned, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.done or self.settled or self.turned)


def see_since(
    journal: Journal,
    shelf: Shelf,
    member: MemberId,
    *,
    seq: int,
    open_baths: Iterable[AnyBath],
) -> Since:
    """
    Return what came in after a number of this node's chain and concerns a member.

    Baths are those that are open, that were finished meanwhile, or that the member worked
    at as far as the bath remembers. The number of questions does not grow with what came in.
    """
    found = journal.after(seq, most=READ_MAX + 1)
    sealed = found[:READ_MAX]
    in_force = resolve(sealed).in_force
    others = tuple(one for one in in_force if one.author != member)
    drafts = _settled_drafts(shelf, sealed, member)
    told: list[Entry | InForce] = [*others, *(kept.entry for _, _, kept in drafts)]
    baths = baths_of(journal, map(bath_of, told), open_baths)
    finished = {bath_of(one) for one in others if one.kind == "bath.finished"}
    concerned = {
        subject: bath
        for subject, bath in baths.items()
        if bath.finished_at is None or subject in finished or worked_at(bath, member)
    }
    done = doings(others, concerned)
    return Since(
        done=done[:SINCE_SHOWN],
        more_count=len(done[SINCE_SHOWN:]),
        cut=len(found) > READ_MAX,
        settled=tuple(_settled(*one, baths) for one in drafts[:SETTLED_SHOWN]),
        turned=_turned(journal, in_force, concerned)[:TURNED_SHOWN],
    )


def bath_of(one: Entry | InForce) -> Subject | None:
    """Return the bath that an entry is about."""
    return next((subject for sort, subject in one.touches if sort == "bath"), None)


def baths_of(
    journal: Journal, wanted: Iterable[Subject | None], known: Iterable[AnyBath] = ()
) -> dict[Subject, AnyBath]:
    """Return baths by their ids; those that are known already are not asked for."""
    baths = {one.id: one for one in known}
    missing = {one for one in wanted if one is not None and one not in baths}
    return baths | journal.states("bath", missing)


def worked_at(bath: AnyBath, member: MemberId) -> bool:
    """Say whether a member is among the hands that a bath remembers."""
    tests = bath.prints if isinstance(bath, BathState) else bath.drops
    hands = (bath.through, tests, bath.recent, (bath.hands,))
    return bath.mixed_by == member or any(one.by == member for some in hands for one in some)


def doings(found: Iterable[InForce], baths: Mapping[Subject, AnyBath]) -> tuple[Doings, ...]:
    """Gather what was done to each of these baths, the last done first."""
    by_bath: dict[Subject, list[InForce]] = {}
    for one in sorted(found, key=_seq, reverse=True):
        bath = bath_of(one)
        if bath is not None and bath in baths:
            by_bath.setdefault(bath, []).append(one)
    return tuple(_doings(baths[bath], done) for bath, done in by_bath.items())


def _seq(one: InForce) -> int:
    return one.original.first.seq


def _doings(bath: AnyBath, done: list[InForce]) -> Doings:
    return Doings(
        bath=bath,
        what=what_of(done),
        by=tuple(dict.fromkeys(one.author for one in done)),
        at=max(one.at for one in done),
        seq=_seq(done[0]),
    )


def what_of(done: Iterable[Entry | InForce]) -> What:
    """Count what was done."""
    sheets: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    for one in done:
        if isinstance(one.content, SheetsThrough):
            sheets[one.content.sheet_format] += one.content.sheet_count
        else:
            kinds[one.kind] += 1
    return What(sheets=tuple(sheets.items()), kinds=tuple(kinds.items()))


def _settled_drafts(
    shelf: Shelf, sealed: Iterable[Sealed], member: MemberId
) -> list[tuple[Entry, Held, Kept]]:
    """Return settlings by others of what this member wrote, each with what it was."""
    settlings = {
        str(one.entry.content.draft): one.entry
        for one in sealed
        if isinstance(one.entry.content, DraftSettled) and one.entry.author != member
    }
    found = []
    for held in shelf.held_any(settlings) if settlings else ():
        kept = read_outbox(held.text)
        if held.outcome != WAITING and isinstance(kept, Kept) and kept.entry.author == member:
            found.append((settlings[held.id], held, kept))
    return sorted(found, key=lambda one: one[0].id, reverse=True)


def _settled(
    settling: Entry, held: Held, kept: Kept, baths: Mapping[Subject, AnyBath]
) -> Settled:
    said = settling.content
    assert isinstance(said, DraftSettled)
    bath = bath_of(kept.entry)
    return Settled(
        bath=baths.get(bath) if bath else None,
        what=what_of([kept.entry]),
        written_at=put_right(kept.entry.written_at, held.offset_ms),
        outcome=said.outcome,
        reason=said.reason,
        by=settling.author,
    )


def _turned(
    journal: Journal, in_force: Iterable[InForce], baths: Mapping[Subject, AnyBath]
) -> tuple[Turned, ...]:
    """Return what late arrivals changed; nothing is asked where nothing came late."""
    late = {one.id: one for one in in_force if _taken_in(one) - one.at > LATE_AFTER}
    if not late:
        return ()
    return tuple(
        Turned(bath=baths[one.bath], late=one, at=late[one.entry].at)
        for one in journal.late(since=min(map(_taken_in, late.values())))
        if one.bath in baths and one.entry in late
    )


def _taken_in(one: InForce) -> datetime:
    return one.original.first.admitted_at
