"""See what a lot cost: as was written of it, or its share of the lot that it came out of."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from coop.ids import Subject
from coop.ledger.accounts import QUARTERS
from coop.ledger.kinds import LotCut
from coop.ledger.lots import CENTS
from coop.ledger.ports import Journal
from coop.ledger.states import LotState

GENERATIONS_MAX = 12
"""So many times a part of a part is followed back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What all of a lot cost, in whole cents; `shared_of` is the lot that was paid for."""

    price: Decimal
    shared_of: LotState | None


def cost_of(journal: Journal, lot: LotState) -> Cost | None:
    """
    Return what a lot cost; None where nobody wrote it.

    A part that was moved, and sheets that were cut, cost as much of the price as was taken of
    the lot: offcut is paid for with the sheets. What a lot was paid for stays its own price.
    """
    share, paid = Fraction(1), lot
    for _ in range(GENERATIONS_MAX):
        if paid.price is not None:
            whole = share * Fraction(paid.price)
            price = Decimal(whole.numerator) / Decimal(whole.denominator)
            return Cost(price=price.quantize(CENTS), shared_of=None if paid is lot else paid)
        giver: LotState | None = journal.state("lot", paid.part_of or paid.cut_from)
        if giver is None or giver.received <= 0:
            return None
        share *= Fraction(_taken(journal, paid), giver.received)
        paid = giver
    return None


def _taken(journal: Journal, lot: LotState) -> int:
    """Return how much of its giver a lot was, in the unit of the giver's rows."""
    if lot.part_of is not None:
        return lot.received
    in_force = journal.view().resolved(lot.id).in_force
    said = next(one.content for one in in_force if Subject(one.id) == lot.id)
    assert isinstance(said, LotCut)
    return said.sheet_count * QUARTERS["full"]
