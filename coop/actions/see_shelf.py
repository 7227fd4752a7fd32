"""Look at the shelf: what is on hand of every lot, and where a lot went."""

from dataclasses import dataclass

from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.accounts import Move
from coop.ledger.any_bath import AnyBath
from coop.ledger.kinds import POWDERS
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState, StudioState

MOVES_SHOWN = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLook:
    """
    A lot with what is left of it.

    Attributes:
        left: In the unit of the lot's rows; below zero when more was written out than came
            in.
    """

    lot: LotState
    left: int
    paper: PaperState | None = None

    @property
    def left_g(self) -> float:
        return self.left / accounts.UG_PER_G

    @property
    def left_sheets(self) -> float:
        """Full sheets; a half sheet counts a half."""
        return self.left / accounts.QUARTERS["full"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioShelf:
    """One studio's lots, the oldest first."""

    studio: StudioState
    alum: tuple[LotLook, ...]
    paper: tuple[LotLook, ...]
    powders: tuple[LotLook, ...]


def see_shelf(journal: Journal) -> tuple[StudioShelf, ...]:
    """Return the lots of every studio with what is left."""
    studios: list[StudioState] = sorted(journal.listed("studio"), key=lambda one: one.name)
    looks = lots_on_hand(journal)
    return tuple(
        StudioShelf(
            studio=studio,
            alum=_of(looks, studio, ("alum",)),
            paper=_of(looks, studio, ("paper",)),
            powders=_of(looks, studio, POWDERS),
        )
        for studio in studios
    )


def lots_on_hand(journal: Journal) -> tuple[LotLook, ...]:
    """Return the lots with something left, or under nothing, the oldest first."""
    holding = journal.holding("lot")
    prefix = accounts.account("lot", Subject(""))
    ids = [Subject(account.removeprefix(prefix)) for account, _ in holding]
    return look_at_lots(journal, tuple(journal.states("lot", ids).values()))


def look_at_lots(journal: Journal, lots: tuple[LotState, ...]) -> tuple[LotLook, ...]:
    """Return lots with what is left, the oldest first."""
    papers = {one.id: one for one in journal.listed("paper", live=False)}
    held = journal.held(accounts.account("lot", lot.id) for lot in lots)
    looks = [
        LotLook(
            lot=lot,
            left=held.get((accounts.account("lot", lot.id), lot.substance), 0),
            paper=papers.get(lot.paper) if lot.paper else None,
        )
        for lot in lots
    ]
    return tuple(sorted(looks, key=lambda look: (look.lot.received_at, look.lot.id)))


def _of(
    looks: tuple[LotLook, ...], studio: StudioState, what: tuple[str, ...]
) -> tuple[LotLook, ...]:
    return tuple(
        look for look in looks if look.lot.studio == studio.id and look.lot.what in what
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LotMove:
    """One row of a lot's account; `sort` is what stands on the other end, `bath` which bath."""

    move: Move
    amount: int
    sort: str
    bath: AnyBath | None


def see_lot_moves(journal: Journal, lot: LotState) -> tuple[tuple[LotMove, ...], int]:
    """Return where a lot came from and went, the newest last, and how many older there are."""
    account = accounts.account("lot", lot.id)
    moves = sorted(journal.moves(account), key=lambda move: move.entry)
    shown = tuple(_told(journal, account, move) for move in moves[-MOVES_SHOWN:])
    return shown, len(moves) - len(shown)


def _told(journal: Journal, account: str, move: Move) -> LotMove:
    coming = move.to_account == account
    other = move.from_account if coming else move.to_account
    sort, _, subject = other.partition(":")
    return LotMove(
        move=move,
        amount=move.amount if coming else -move.amount,
        sort=sort,
        bath=journal.state("bath", Subject(subject)) if sort == "bath" else None,
    )
