"""Look at counts: what was expected, what was seen, and what may lie behind the gap."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from coop.actions.see_devices import judged_pairs
from coop.actions.see_shelf import zone_of
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
from coop.rules.one_tub import are_alike

COUNT_GAP = "count-gap"
"""The code under which a person judges a count that differs."""
TWIN = "likely-twin"

SPOONED = ("weight", "volume")
"""Measures of what is drawn roughly; sheets and pieces are counted out."""

Held = Mapping[tuple[str, str], int]
"""What accounts hold, by account and substance, in the unit of their rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GapLook:
    """
    A lot, one of its counts, and how the two go together, in the unit of the lot's rows.

    `day` is that of the count in the co-operative's own zone.
    """

    lot: LotState
    count: LotCount
    day: date
    gap: Gap

    @property
    def in_noise(self) -> bool:
        return within_noise(self.gap)

    @property
    def counted(self) -> Counted:
        """Return it as the rule about causes takes it."""
        return Counted(lot=self.lot.id, studio=self.lot.studio, day=self.day, gap=self.gap)


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
    comes late and tells of before the count changes it. A few questions, however many lots,
    see `_drawn_doubts`.

    Args:
        held: What lots hold, where it was read already.
    """
    newest = {lot: lot.counts[-1] for lot in lots if lot.counts}
    if not newest:
        return ()
    seen = {lot: (one.seen, one.doubt) for lot, one in newest.items()}
    gaps = _gaps(journal, seen, {lot: one.at for lot, one in newest.items()}, held)
    zone = zone_of(journal)
    return tuple(
        GapLook(lot=lot, count=one, day=one.at.astimezone(zone).date(), gap=gaps[lot.id])
        for lot, one in newest.items()
    )


def _gaps(
    journal: Journal,
    seen: Mapping[LotState, tuple[int, int]],
    moments: Mapping[LotState, datetime],
    held: Held | None = None,
) -> Mapping[Subject, Gap]:
    """
    Return the gaps of lots by what was seen of each, with its doubt, at a moment of its own.

    What was drawn by rough measure is asked for only where that matters.
    """
    written = _written_at(journal, moments, held)
    gaps = {
        lot.id: Gap(measure=lot.measure, expected=written[lot.id][0], seen=amount, doubt=doubt)
        for lot, (amount, doubt) in seen.items()
    }
    asked = [lot for lot in seen if lot.measure in SPOONED and not within_noise(gaps[lot.id])]
    drawn = _drawn_doubts(journal, {lot: (moments[lot], written[lot.id][1]) for lot in asked})
    return gaps | {
        lot: replace(gaps[lot], doubt=gaps[lot].doubt + doubt) for lot, doubt in drawn.items()
    }


def _written_at(
    journal: Journal, moments: Mapping[LotState, datetime], held: Held | None
) -> Mapping[Subject, tuple[int, int]]:
    """Return what was written of each lot as of a moment of its own, and what came since."""
    named = {lot: accounts.account("lot", lot.id) for lot in moments}
    if held is None:
        held = journal.held(named.values())
    since = journal.since({named[lot]: at for lot, at in moments.items()})
    keys = {lot.id: (name, str(lot.substance)) for lot, name in named.items()}
    return {
        lot: (held.get(key, 0) - since.get(key, 0), since.get(key, 0))
        for lot, key in keys.items()
    }


def _drawn_doubts(
    journal: Journal, asked: Mapping[LotState, tuple[datetime, int]]
) -> Mapping[Subject, int]:
    """
    Return how far what was drawn may be off, from when a count last put a lot right.

    Doubts are added as they are: one spoon measures out a whole lot, so it errs one way. All
    are asked for at once; rows are read of those lots only of which a part of it counts.

    Args:
        asked: Lots by the moment of the count, and by what came to them since.
    """
    names = {lot: accounts.account("lot", lot.id) for lot in asked}
    whole = journal.doubts(names.values()) if names else {}
    found = {}
    for lot, (at, since) in asked.items():
        doubt = whole.get((names[lot], str(lot.substance)), 0)
        right = [one.at for one in lot.counts if one.put_right is not None and one.at < at]
        if doubt and (right or since):
            doubt = _doubt_of_rows(journal, names[lot], right, at)
        found[lot.id] = doubt
    return found


def _doubt_of_rows(
    journal: Journal, account: str, right: Sequence[datetime], at: datetime
) -> int:
    return sum(
        move.doubt
        for move in journal.moves(account)
        if move.from_account == account and move.at <= at and (not right or move.at > right[-1])
    )


def look_ahead(journal: Journal, lot: LotState, said: kinds.LotCounted, *, at: datetime) -> Gap:
    """Return what a count would come to if it were written."""
    return _gaps(journal, {lot: seen_of(lot, said)}, {lot: at})[lot.id]


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
            one.counted for one in others if one.lot.id != lot.id and are_alike(one.lot, lot)
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
