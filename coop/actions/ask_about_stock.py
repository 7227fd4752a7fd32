"""What is asked before something is written about lots, orders and sessions."""

from coop.actions.see_shelf import look_at_lots
from coop.ledger import kinds
from coop.ledger.entries import Entry
from coop.ledger.lots import base_amount
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused
from coop.ledger.states import LotState, OrderState, SupplyState
from coop.ledger.supplies import group_of, measure_of
from coop.ledger.table import supply_of
from coop.rules.gaps import Gap, within_noise
from coop.units.table import MASS, VOLUME

MEASURED_BY = {"weight": MASS, "volume": VOLUME, "sheets": "", "pieces": ""}
NOISE = "counting_noise"


def about_stock(journal: Journal, entry: Entry, roles: frozenset[str]) -> Refused | None:
    """Return what must be put right before a lot, an order or a session is written."""
    match entry.content:
        case kinds.SupplyDescribed() as said:
            return _described(journal, said)
        case kinds.LotReceived() as said:
            return _received(journal, said)
        case kinds.LotMoved(lot=lot) | kinds.LotAdjusted(lot=lot) as said:
            of: LotState = journal.state("lot", lot)
            odd = _of_measure(of.what, of.measure, said.amount, said.count)
            return odd or _by_whom(journal, said, roles) or _into(journal, said)
        case kinds.LotCut(lot=lot):
            paper = journal.state("lot", lot).what == "paper"
            return None if paper else Refused(field="lot", code="not-a-choice")
        case kinds.OrderPlaced() as said:
            measure = _measure(journal, said)
            return _of_measure(said.what, measure, said.pack, said.pack_count, "pack")
        case kinds.OrderCancelled(order=order):
            state: OrderState = journal.state("order", order)
            return None if state.open_packs else Refused(field="order", code="finished")
        case kinds.SessionPlanned() as said:
            return _session(journal, said)
        case _:
            return None


def _described(journal: Journal, said: kinds.SupplyDescribed) -> Refused | None:
    """Keep a supply what it is: its lots are in the unit of its first measure."""
    state: SupplyState | None = journal.state("supply", supply_of(said))
    if state is not None and state.what != said.what:
        return Refused(field="what", code="not-a-choice")
    measure = measure_of(said.what, said.measure)
    if state is not None and state.measure != measure:
        return Refused(field="measure", code="not-of-this-measure")
    what = group_of(said.what)
    floor = _of_measure(what, measure, said.floor, said.floor_count, "floor")
    return floor or _of_measure(what, measure, said.pack, said.pack_count, "pack")


def _received(journal: Journal, said: kinds.LotReceived) -> Refused | None:
    if said.order is not None:
        order: OrderState = journal.state("order", said.order)
        if order.supply != supply_of(said):
            return Refused(field="order", code="not-a-choice")
    if said.what != "supply":
        return None
    measure = _measure(journal, said)
    names = {"weight": "weight", "volume": "volume", "pieces": "piece_count"}
    there = getattr(said, names[measure])
    return None if there is not None else Refused(field=names[measure], code="missing")


def _measure(
    journal: Journal, said: kinds.LotReceived | kinds.OrderPlaced | kinds.SessionNeed
) -> str:
    state: SupplyState | None = journal.state("supply", supply_of(said))
    return state.measure if state else measure_of(said.what)


def _of_measure(
    what: str, measure: str, amount: object, count: object, field: str = "amount"
) -> Refused | None:
    """Refuse grams of what is counted, pieces of what is weighed, and so on."""
    wanted = MEASURED_BY[measure]
    if not wanted:
        return None if amount is None else Refused(field=field, code="not-of-this-measure")
    if count is not None:
        counted = "count" if field == "amount" else f"{field}_count"
        return Refused(field=counted, code="not-of-this-measure")
    by_spoon = measure == "weight" and what != "supply"
    spooned = by_spoon and getattr(amount, "dimension", wanted) == VOLUME
    if getattr(amount, "dimension", wanted) != wanted and not spooned:
        return Refused(field=field, code="not-of-this-measure")
    return None


def _by_whom(
    journal: Journal, said: kinds.LotMoved | kinds.LotAdjusted, roles: frozenset[str]
) -> Refused | None:
    """Let anybody write off counting noise; the rest wants a coordinator."""
    if not isinstance(said, kinds.LotAdjusted) or "coordinator" in roles:
        return None
    if said.cause != NOISE:
        return Refused(field="cause", code="not-allowed")
    lot: LotState = journal.state("lot", said.lot)
    (look,) = look_at_lots(journal, (lot,))
    density = lot.spoon.g_per_ml if lot.spoon else None
    amount = base_amount(lot.what, said.amount, said.count, g_per_ml=density)
    seen = look.left + (amount if said.way == "in" else -amount)
    gap = Gap(measure=lot.measure, expected=look.left, seen=max(0, seen), doubt=0)
    return None if within_noise(gap) else Refused(field="amount", code="not-in-noise")


def _into(journal: Journal, said: kinds.LotMoved | kinds.LotAdjusted) -> Refused | None:
    """Put a part only to a lot of the same supply that stands where it goes."""
    if not isinstance(said, kinds.LotMoved) or said.into is None:
        return None
    giver: LotState = journal.state("lot", said.lot)
    taker: LotState = journal.state("lot", said.into)
    fits = taker.substance == giver.substance and taker.studio == said.studio
    return None if fits else Refused(field="into", code="not-a-choice")


def _session(journal: Journal, said: kinds.SessionPlanned) -> Refused | None:
    for place, need in enumerate(said.needs):
        odd = _of_measure(need.what, _measure(journal, need), need.amount, need.count)
        if odd is not None:
            return Refused(field=f"needs.{place}.{odd.field}", code=odd.code)
    return None
