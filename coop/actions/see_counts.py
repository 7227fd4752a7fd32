"""Look at counts: what was expected, what was seen, and what may lie behind the gap."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from coop.actions.see_devices import judged_pairs
from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.lots import seen_of
from coop.ledger.ports import Journal
from coop.ledger.states import LotCount, LotState
from coop.rules.gaps import (
    Counted,
    Gap,
    PackSize,
    Suggestion,
    Twin,
    suggestions,
    within_noise,
)

COUNT_GAP = "count-gap"
"""The code under which a person judges a count that differs."""
TWIN = "likely-twin"

SPOONED = ("weight", "volume")
"""Measures of what is drawn roughly; sheets and pieces are counted out."""

Held = Mapping[tuple[str, str], int]
"""What accounts hold, by account and substance, in the unit of their rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GapLook:
    """A lot, one of its counts, and how the two go together, in the unit of the lot's rows."""

    lot: LotState
    count: LotCount
    gap: Gap

    @property
    def in_noise(self) -> bool:
        return within_noise(self.gap)

    @property
    def counted(self) -> Counted:
        """Return it as the rule about causes takes it."""
        return Counted(
            lot=self.lot.id, studio=self.lot.studio, day=self.count.at.date(), gap=self.gap
        )


def see_gap(journal: Journal, lot: LotState) -> GapLook | None:
    """Return the newest count of a lot against what is written now; None without a count."""
    looks = see_gaps(journal, (lot,))
    return looks[0] if looks else None


def see_gaps(
    journal: Journal, lots: Iterable[LotState], held: Held | None = None
) -> tuple[GapLook, ...]:
    """
    Return the newest count of each lot that was ever counted, whatever its gap.

    What was expected is what is left now without what came and went since: an entry that
    comes late and tells of before the count changes it. Two questions, however many lots.

    Args:
        held: What lots hold, where it was read already.
    """
    newest = {lot: lot.counts[-1] for lot in lots if lot.counts}
    if not newest:
        return ()
    there = _there_at(journal, {lot: count.at for lot, count in newest.items()}, held)
    return tuple(_gap_look(journal, lot, count, there[lot.id]) for lot, count in newest.items())


def _there_at(
    journal: Journal, moments: Mapping[LotState, datetime], held: Held | None = None
) -> Mapping[Subject, int]:
    """Return what was written of each lot as of a moment of its own."""
    named = {lot: accounts.account("lot", lot.id) for lot in moments}
    if held is None:
        held = journal.held(named.values())
    since = journal.since({named[lot]: at for lot, at in moments.items()})
    keys = {lot.id: (name, str(lot.substance)) for lot, name in named.items()}
    return {lot: held.get(key, 0) - since.get(key, 0) for lot, key in keys.items()}


def _gap_look(journal: Journal, lot: LotState, count: LotCount, expected: int) -> GapLook:
    gap = _gap(journal, lot, (count.seen, count.doubt), count.at, expected)
    return GapLook(lot=lot, count=count, gap=gap)


def _gap(
    journal: Journal, lot: LotState, seen: tuple[int, int], at: datetime, expected: int
) -> Gap:
    """Return a gap; what was drawn by rough measure is asked for only where that matters."""
    gap = Gap(measure=lot.measure, expected=expected, seen=seen[0], doubt=seen[1])
    if within_noise(gap) or lot.measure not in SPOONED:
        return gap
    return replace(gap, doubt=gap.doubt + _drawn_doubt(journal, lot, at))


def _drawn_doubt(journal: Journal, lot: LotState, at: datetime) -> int:
    """
    Return how far what was drawn may be off since a count last put the lot right.

    Doubts are added as they are: one spoon measures out a whole lot, so it errs one way.
    """
    right = [one.at for one in lot.counts if one.put_right is not None and one.at < at]
    account = accounts.account("lot", lot.id)
    return sum(
        move.doubt
        for move in journal.moves(account)
        if move.from_account == account and move.at <= at and (not right or move.at > right[-1])
    )


def look_ahead(journal: Journal, lot: LotState, said: kinds.LotCounted, *, at: datetime) -> Gap:
    """Return what a count would come to if it were written."""
    expected = _there_at(journal, {lot: at})[lot.id]
    return _gap(journal, lot, seen_of(lot, said), at, expected)


def gaps_on_hand(journal: Journal) -> tuple[GapLook, ...]:
    """Return the open gaps of all lots of which something is left, or less than nothing."""
    held = journal.holding("lot")
    return open_gaps(journal, lots_of(journal, held), held=held)


def lots_of(journal: Journal, held: Held) -> tuple[LotState, ...]:
    """Return the lots that are among what is held."""
    prefix = accounts.account("lot", Subject(""))
    ids = [Subject(account.removeprefix(prefix)) for account, _ in held]
    return tuple(journal.states("lot", ids).values())


def open_gaps(
    journal: Journal,
    lots: Iterable[LotState],
    *,
    held: Held | None = None,
    judged: frozenset[tuple[str, str]] | None = None,
) -> tuple[GapLook, ...]:
    """
    Return the counts beyond noise that nobody has judged, the newest first.

    A count that was put right and differs again, by what came in late, is among them.

    Args:
        held: What lots hold, where it was read already.
        judged: What persons have judged, where it was read already.
    """
    found = [look for look in see_gaps(journal, lots, held) if not look.in_noise]
    if found and judged is None:
        judged = judged_pairs(journal)
    left = [look for look in found if (COUNT_GAP, look.count.entry) not in (judged or ())]
    return tuple(sorted(left, key=lambda look: look.count.entry, reverse=True))


def causes(
    journal: Journal, looks: Iterable[GapLook], others: Iterable[GapLook]
) -> Mapping[Subject, tuple[Suggestion, ...]]:
    """
    Return by its lot what may lie behind each gap, the most telling first.

    Args:
        others: Open gaps of any lots; those of the same supply are looked at.
    """
    wanted, known = tuple(looks), tuple(others)
    over = any(look.gap.difference > 0 for look in wanted)
    twice = _open_twins(journal) if over else frozenset()
    return {look.lot.id: _causes(journal, look, known, twice) for look in wanted}


def _open_twins(journal: Journal) -> frozenset[EntryId]:
    """Return what was likely written twice and nobody has judged."""
    found = journal.findings(codes=[TWIN])
    judged = judged_pairs(journal) if found else frozenset()
    return frozenset(one.entry for _, one in found if (one.code, one.entry) not in judged)


def _causes(
    journal: Journal, look: GapLook, others: Iterable[GapLook], twice: frozenset[EntryId]
) -> tuple[Suggestion, ...]:
    """
    Return what may lie behind one gap.

    A pack that was counted unopened counted as much as was written of it, so that only those
    that were opened can have held another number. A part that was carried over and sheets
    that were cut came in no pack.
    """
    lot = look.lot
    found = suggestions(
        look.counted,
        pack=lot.pack,
        pack_count=max(1, lot.pack_count - look.count.packs),
        others=[
            one.counted
            for one in others
            if one.lot.substance == lot.substance and one.lot.id != lot.id
        ],
        twins=_twins(journal, look, twice) if look.gap.difference > 0 and twice else (),
    )
    bought = lot.part_of is None and lot.cut_from is None
    return tuple(one for one in found if bought or not isinstance(one, PackSize))


def _twins(journal: Journal, look: GapLook, twice: frozenset[EntryId]) -> tuple[Twin, ...]:
    """Return what may be written twice, before the count, with what it took of the lot."""
    account = accounts.account("lot", look.lot.id)
    drawn: Counter[EntryId] = Counter()
    for move in journal.moves(account):
        if move.entry in twice and _drawn_before(move, account, look.count.at):
            drawn[move.entry] += move.amount
    return tuple(Twin(entry=entry, amount=amount) for entry, amount in drawn.items())


def _drawn_before(move: Move, account: str, at: datetime) -> bool:
    return move.from_account == account and move.at <= at
