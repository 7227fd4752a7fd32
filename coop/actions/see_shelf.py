"""Look at the shelf: what is on hand of every lot, and until when it is good."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Final
from zoneinfo import ZoneInfo

from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.kinds import POWDERS
from coop.ledger.ports import Journal
from coop.ledger.states import LedgerState, LotState, PaperState, StudioState, SupplyState
from coop.ledger.table import LEDGER
from coop.rules.expiry import GoodUntil, good_until, open_pack_until, spoiled

GELS: Final = frozenset({"kappa", "iota"})
"""Carrageenans that set to a jelly: not for marbling."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLook:
    """
    A lot with what is left of it.

    Attributes:
        left: In the unit of the lot's rows; below zero when more was written out than came
            in.
        zone: The co-operative's own, whose days count.
    """

    lot: LotState
    left: int
    zone: tzinfo
    paper: PaperState | None = None
    supply: SupplyState | None = None

    @property
    def good_until(self) -> GoodUntil | None:
        """The last day on which it is good; None where nothing is known to spoil it."""
        return good_until(self.lot, self.supply, zone=self.zone)

    @property
    def open_pack_until(self) -> GoodUntil | None:
        """The last day on which the open one of several packs is good; None if not known."""
        return open_pack_until(self.lot, self.supply, left=self.left, zone=self.zone)

    def spoiled(self, today: date) -> int:
        """Return how much of what is left is past its day, in the unit of the lot's rows."""
        return spoiled(self.lot, self.supply, left=self.left, today=today, zone=self.zone)

    @property
    def gelling(self) -> int:
        """How much of what is left sets to a jelly, in the unit of the lot's rows."""
        return self.left if self.lot.carrageenan in GELS else 0

    def usable(self, today: date) -> int:
        """Return what is left, without what sets to a jelly or is past its day."""
        return 0 if self.gelling else self.left - self.spoiled(today)

    def is_past(self, today: date) -> bool:
        """Say whether the day of all of it, or of its open pack, is over."""
        days = (self.good_until, self.open_pack_until)
        return any(one is not None and one.past(today) for one in days)

    @property
    def left_g(self) -> float:
        return self.left / accounts.UG_PER_G

    @property
    def left_sheets(self) -> float:
        """Full sheets; a half sheet counts a half."""
        return self.left / accounts.QUARTERS["full"]

    @property
    def what(self) -> str:
        """What it is of, one of `kinds.SUPPLIES`; `supply` where nobody described it."""
        return self.supply.what if self.supply else self.lot.what


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioShelf:
    """One studio's lots, the oldest first; `others` are of no salt, powder or paper."""

    studio: StudioState
    alum: tuple[LotLook, ...]
    paper: tuple[LotLook, ...]
    powders: tuple[LotLook, ...]
    others: tuple[LotLook, ...]

    @property
    def every(self) -> tuple[LotLook, ...]:
        return (*self.alum, *self.powders, *self.paper, *self.others)


def see_shelf(journal: Journal) -> tuple[StudioShelf, ...]:
    """Return the lots of every studio that are not used up, with what is left."""
    studios: list[StudioState] = sorted(journal.listed("studio"), key=lambda one: one.name)
    looks = lots_on_hand(journal)
    return tuple(
        StudioShelf(
            studio=studio,
            alum=_of(looks, studio, ("alum",)),
            paper=_of(looks, studio, ("paper",)),
            powders=_of(looks, studio, POWDERS),
            others=_of(looks, studio, ("supply",)),
        )
        for studio in studios
    )


def lots_on_hand(
    journal: Journal, supplies: Collection[str] | None = None
) -> tuple[LotLook, ...]:
    """
    Return the lots with something left, or under nothing, the oldest first.

    Args:
        supplies: Only lots of these, by their keys; None for all lots.
    """
    holding = journal.holding("lot")
    prefix = accounts.account("lot", Subject(""))
    ids = [
        Subject(account.removeprefix(prefix))
        for account, substance in holding
        if supplies is None or substance in supplies
    ]
    return _looks(journal, tuple(journal.states("lot", ids).values()), holding)


def look_at_lots(journal: Journal, lots: tuple[LotState, ...]) -> tuple[LotLook, ...]:
    """Return lots with what is left, the oldest first."""
    held = journal.held(accounts.account("lot", lot.id) for lot in lots)
    return _looks(journal, lots, held)


def _looks(
    journal: Journal, lots: tuple[LotState, ...], held: dict[tuple[str, str], int]
) -> tuple[LotLook, ...]:
    papers = {one.id: one for one in journal.listed("paper", live=False)}
    supplies = journal.states("supply", {lot.substance for lot in lots})
    zone = zone_of(journal)
    looks = [
        LotLook(
            lot=lot,
            left=held.get((accounts.account("lot", lot.id), lot.substance), 0),
            zone=zone,
            paper=papers.get(lot.paper) if lot.paper else None,
            supply=supplies.get(lot.substance),
        )
        for lot in lots
    ]
    return tuple(sorted(looks, key=lambda look: (look.lot.received_at, look.lot.id)))


def zone_of(journal: Journal) -> ZoneInfo:
    """Return the co-operative's own zone."""
    ledger: LedgerState = journal.state("ledger", LEDGER)
    return ZoneInfo(ledger.zone)


def _of(
    looks: tuple[LotLook, ...], studio: StudioState, what: tuple[str, ...]
) -> tuple[LotLook, ...]:
    return tuple(
        look for look in looks if look.lot.studio == studio.id and look.lot.what in what
    )
