"""
What the pages for sheets offer: the last entry again, usual counts, paper on hand, sizes that
may be used, stacks that wait.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from coop.actions.ask import WANT_REASON, is_kept
from coop.actions.see_baths import look_at_all
from coop.actions.see_liquids import alum_of, liquids_of, look_at_liquids
from coop.actions.see_shelf import lots_on_hand
from coop.actions.see_stacks import StackLook, look_at_stacks, see_stacks
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import SIZE, LiquidState
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState, StackState, Through
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.rules.reasons import Word

COUNTS_KEPT = 3
LOTS_OFFERED = 12
SIZES_OFFERED = 12
STACKS_OFFERED = 12
ALUMS_OFFERED = 12


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
        sizes: Sizes that may be used and are kept for nobody else, this studio's first.
    """

    last: Through | None
    counts: tuple[int, ...]
    lots: tuple[LotState, ...]
    elsewhere: Mapping[Subject, str]
    papers: tuple[PaperState, ...]
    sizes: tuple[LiquidLook, ...]


def see_usual(journal: Journal, bath: BathState, member: MemberId, *, now: datetime) -> Usual:
    """Return what to offer a member at a bath."""
    last = last_through(bath, member)
    everywhere: tuple[AnyBath, ...] = journal.listed("bath")
    lots = _paper_on_hand(journal, bath.studio, last.lot if last else None)
    return Usual(
        last=last,
        counts=_counts(everywhere, member),
        lots=lots,
        elsewhere=_elsewhere(journal, bath.studio, lots),
        papers=journal.listed("paper"),
        sizes=usable_sizes(journal, bath.studio, member, now=now),
    )


def _counts(baths: Iterable[AnyBath], member: MemberId) -> tuple[int, ...]:
    """Return the member's last different counts, the newest first."""
    mine = sorted(
        (one for state in baths for one in state.through if one.by == member),
        key=lambda one: one.at,
        reverse=True,
    )
    return tuple(dict.fromkeys(one.sheet_count for one in mine))[:COUNTS_KEPT]


def usable_sizes(
    journal: Journal, studio: Subject, member: MemberId, *, now: datetime
) -> tuple[LiquidLook, ...]:
    """Return sizes that may be used and are kept for nobody else, this studio's first."""
    sizes = (one for one in liquids_of(journal.listed("bath")) if one.what == SIZE)
    found = [
        look
        for look in look_at_liquids(journal, sizes, now=now)
        if look.answer.word not in WANT_REASON
        and not is_kept(look.state.kept_for, now, besides=member)
    ]
    found.sort(key=lambda look: look.state.studio != studio)
    return tuple(found[:SIZES_OFFERED])


def usable_alums(
    journal: Journal, stack: StackLook, member: MemberId, *, now: datetime
) -> tuple[BathLook, ...]:
    """Return alum that may be used and is kept for nobody else: this studio's, good first."""
    found = [
        look
        for look in look_at_all(journal, alum_of(journal.listed("bath")), now=now)
        if look.answer.word not in WANT_REASON
        and not is_kept(look.state.kept_for, now, besides=member)
    ]
    studio = stack.studio.id if stack.studio else None
    found.sort(key=lambda look: (look.state.studio != studio, look.answer.word.rank))
    return tuple(found[:ALUMS_OFFERED])


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
    lots = {
        look.lot.id: look.lot
        for look in lots_on_hand(journal)
        if look.lot.what == "paper" and (look.left > 0 or look.lot.id == last)
    }
    if last is not None:
        lots |= journal.states("lot", [last])
    left = list(lots.values())
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Laying:
    """
    What is likely to be laid on a size next.

    Attributes:
        stacks: Stacks with sheets left: the one asked for, the member's own, those of this
            studio; each by use-by, those past every use last.
        counts: The member's last different counts, in whatever bath that is in use.
    """

    stacks: tuple[StackLook, ...]
    counts: tuple[int, ...]


def see_laying(
    journal: Journal,
    size: LiquidState,
    member: MemberId,
    *,
    asked: StackState | None,
    now: datetime,
) -> Laying:
    """Return what to offer a member at a size; the stack `asked` for is offered at any rate."""
    found = [
        look
        for look in see_stacks(journal, now=now)
        if look.state.left_count > 0 and (asked is None or look.state.id != asked.id)
    ]
    found.sort(
        key=lambda look: (
            look.answer.word is Word.DO_NOT_USE,
            look.state.by != member,
            look.studio is None or look.studio.id != size.studio,
        )
    )
    first = look_at_stacks(journal, [asked], now=now) if asked else ()
    return Laying(
        stacks=(*first, *found)[:STACKS_OFFERED],
        counts=_counts(journal.listed("bath"), member),
    )
