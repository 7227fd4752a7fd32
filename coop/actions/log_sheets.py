"""What the sheets-through page offers: the last entry again, usual counts, paper on hand."""

from collections.abc import Mapping
from dataclasses import dataclass

from coop.ids import MemberId, Subject
from coop.ledger import accounts
from coop.ledger.baths import BathState
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState, Through

COUNTS_KEPT = 3
LOTS_OFFERED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """
    What is likely to be written next.

    Attributes:
        last: The member's own last sheets through this bath, else the bath's last.
        counts: The member's last three different counts, in whatever bath that is in use.
        lots: Lots of paper on hand, the one used last first, then this studio's and the
            newest; those of other studios after them.
        elsewhere: The names of other studios, by id, whose lots are among `lots`.
        papers: Papers a member's own may be of.
    """

    last: Through | None
    counts: tuple[int, ...]
    lots: tuple[LotState, ...]
    elsewhere: Mapping[Subject, str]
    papers: tuple[PaperState, ...]


def see_usual(journal: Journal, bath: BathState, member: MemberId) -> Usual:
    """Return what to offer a member at a bath."""
    last = last_through(bath, member)
    everywhere: tuple[BathState, ...] = journal.listed("bath")
    mine = sorted(
        (one for state in everywhere for one in state.through if one.by == member),
        key=lambda one: one.at,
        reverse=True,
    )
    counts = tuple(dict.fromkeys(one.sheet_count for one in mine))[:COUNTS_KEPT]
    lots = _paper_on_hand(journal, bath.studio, last.lot if last else None)
    return Usual(
        last=last,
        counts=counts,
        lots=lots,
        elsewhere=_elsewhere(journal, bath.studio, lots),
        papers=journal.listed("paper"),
    )


def last_through(bath: BathState, member: MemberId | None) -> Through | None:
    """Return a member's own last sheets through a bath, else the bath's last."""
    own = [one for one in bath.through if one.by == member]
    return next(reversed(own or bath.through), None)


def _paper_on_hand(
    journal: Journal, studio: Subject, last: Subject | None
) -> tuple[LotState, ...]:
    """
    Return lots with sheets left, wherever they stand: paper is carried to a bath.

    The last one used stays, whatever the ledger counts.
    """
    lots: tuple[LotState, ...] = journal.listed("lot")
    paper = [lot for lot in lots if lot.what == "paper"]
    held = journal.held(accounts.account("lot", lot.id) for lot in paper)
    left = [
        lot
        for lot in paper
        if lot.id == last
        or held.get((accounts.account("lot", lot.id), accounts.paper(lot.paper)), 0) > 0
    ]
    left.sort(
        key=lambda lot: (lot.id == last, lot.studio == studio, lot.received_at, lot.id),
        reverse=True,
    )
    return tuple(left[:LOTS_OFFERED])


def _elsewhere(
    journal: Journal, studio: Subject, lots: tuple[LotState, ...]
) -> dict[Subject, str]:
    """Return the names of the studios that lots stand in, but for this one."""
    others = {lot.studio for lot in lots} - {studio}
    return {one.id: one.name for one in journal.listed("studio") if one.id in others}
