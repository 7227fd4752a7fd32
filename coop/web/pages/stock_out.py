"""The shelf as a table for a spreadsheet."""

from decimal import Decimal
from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.ledger import accounts
from coop.ledger.states import LotState, PaperState, StudioState, SupplierState, SupplyState
from coop.web.csv_out import Cell, csv_answer
from coop.web.page import desk, needs, zone
from coop.web.powder import LIQUID, in_its_unit

pages = Blueprint("stock_out", __name__)

HEADING: Final = (
    "studio", "what", "of", "name", "packs", "amount", "unit", "left", "supplier",
    "received", "best before", "opened",
)  # fmt: skip
PER_UNIT: Final = {
    "weight": ("g", accounts.UG_PER_G),
    "volume": ("mL", accounts.UL_PER_ML),
    "sheets": ("sheets", accounts.QUARTERS["full"]),
    "pieces": ("pieces", 1),
}
THOUSANDTH: Final = Decimal("0.001")


@pages.get("/shelf.csv")
@needs("read")
def shelf() -> Response:
    """Give every lot that is not used up; amounts are of one pack, as they are taken in."""
    journal = desk().journal
    looks = lots_on_hand(journal)
    studios: dict[str, StudioState] = {one.id: one for one in journal.listed("studio")}
    suppliers: dict[str, SupplierState] = {
        one.id: one for one in journal.listed("supplier", live=False)
    }
    supplies = journal.states("supply", {look.lot.substance for look in looks})
    rows = [
        (
            studios[look.lot.studio].name if look.lot.studio in studios else "",
            look.lot.what,
            _of(look.lot, look.paper, supplies.get(look.lot.substance)),
            *_amounts(look),
            _sold_by(look.lot, suppliers),
            *_days(look.lot),
        )
        for look in looks
    ]
    return csv_answer("shelf", HEADING, rows)


def _of(lot: LotState, paper: PaperState | None, supply: SupplyState | None) -> str:
    """Return what a lot is of, as an opening stock says it."""
    if lot.what == "paper":
        return paper.name if paper else ""
    if lot.what == "supply":
        return supply.name if supply else ""
    return lot.salt or lot.carrageenan or ""


def _amounts(look: LotLook) -> tuple[Cell, ...]:
    unit, per_unit = _unit_of(look.lot)
    pack, left = (_exact(amount, per_unit) for amount in (look.lot.pack, look.left))
    return look.lot.name, look.lot.pack_count, pack, unit, left


def _unit_of(lot: LotState) -> tuple[str, float]:
    """Return the unit of a lot, and how much of its rows is one: gall is poured by the mL."""
    if lot.what == LIQUID:
        return "mL", accounts.UG_PER_G / in_its_unit(LIQUID, 1)
    return PER_UNIT[lot.measure]


def _exact(amount: int, per_unit: float) -> Decimal:
    """Return an amount to a thousandth, without noughts that say nothing."""
    exact = (Decimal(amount) / Decimal(per_unit)).quantize(THOUSANDTH)
    return exact.to_integral() if exact == exact.to_integral() else exact.normalize()


def _sold_by(lot: LotState, suppliers: dict[str, SupplierState]) -> str:
    known = suppliers.get(lot.sold_by or "")
    return known.name if known else lot.supplier


def _days(lot: LotState) -> tuple[Cell, ...]:
    opened = lot.opened_at.astimezone(zone()).date() if lot.opened_at else None
    return lot.received_at.astimezone(zone()).date(), lot.best_before, opened
