"""What is asked before something is written about lots, orders and sessions."""

from collections.abc import Mapping
from datetime import date, datetime
from fractions import Fraction
from types import MappingProxyType

from coop.actions.see_counts import GapLook, see_gap
from coop.actions.see_shelf import look_at_lots
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.entries import Entry
from coop.ledger.lots import base_amount
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused
from coop.ledger.states import LotState, OrderState, SupplyState
from coop.ledger.supplies import group_of, measure_of
from coop.ledger.table import supply_of
from coop.rules.one_tub import are_alike
from coop.units.table import MASS, VOLUME

MEASURED_BY = {"weight": MASS, "volume": VOLUME, "sheets": "", "pieces": ""}
SEEN_BY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "weight": ("weight", "level"),
        "volume": ("volume", "level"),
        "sheets": ("loose",),
        "pieces": ("loose",),
    }
)
"""What can be said of the open pack, by the measure of the lot."""
NOISE = "counting_noise"
PUT_OFF_MAX_DAYS = 31
"""So many days something may be put off at once: a choice of this ledger."""


def about_stock(journal: Journal, entry: Entry, roles: frozenset[str]) -> Refused | None:
    """Return what must be put right before a lot, an order or a session is written."""
    match entry.content:
        case kinds.SupplyDescribed() as said:
            return _described(journal, said)
        case kinds.LotReceived() as said:
            return _received(journal, said)
        case kinds.LotCounted() | kinds.LotMoved() | kinds.LotAdjusted() as said:
            return _of_lot(journal, said, entry, roles)
        case kinds.LotCut(lot=lot):
            paper = journal.state("lot", lot).what == "paper"
            return None if paper else Refused(field="lot", code="not-a-choice")
        case kinds.OrderPlaced() as said:
            measure = _measure(journal, said)
            return _of_measure(said.what, measure, said.pack, said.pack_count, "pack")
        case kinds.OrderCancelled(order=order):
            state: OrderState = journal.state("order", order)
            return None if state.open_packs else Refused(field="order", code="finished")
        case kinds.SessionPlanned() | kinds.NeedPutOff() as said:
            return _planned(journal, said, entry.happened_at.date())
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


def _of_lot(
    journal: Journal,
    said: kinds.LotCounted | kinds.LotMoved | kinds.LotAdjusted,
    entry: Entry,
    roles: frozenset[str],
) -> Refused | None:
    lot: LotState = journal.state("lot", said.lot)
    if isinstance(said, kinds.LotCounted):
        alone = said.counted_with == Subject(entry.author)
        same = Refused(field="counted_with", code="the-same-person") if alone else None
        return same or _counted(lot, said)
    odd = _of_measure(lot.what, lot.measure, said.amount, said.count)
    return odd or _by_whom(journal, said, roles) or _into(journal, said, entry.happened_at)


def _counted(lot: LotState, said: kinds.LotCounted) -> Refused | None:
    """Refuse grams of what is counted, and a scale that shows less than the empty tub."""
    fits = SEEN_BY[lot.measure]
    for name in ("weight", "volume", "level", "loose"):
        by_spoon = name == "volume" and lot.measure == "weight" and lot.what != "supply"
        if getattr(said, name) is not None and name not in fits and not by_spoon:
            return Refused(field=name, code="not-of-this-measure")
    if said.weight is None or said.tare is not None or lot.tare_g is None:
        return None
    over = said.weight.base < Fraction(lot.tare_g)
    return Refused(field="tare", code="more-than-weighed") if over else None


def _by_whom(
    journal: Journal, said: kinds.LotMoved | kinds.LotAdjusted, roles: frozenset[str]
) -> Refused | None:
    """Let anybody write off counting noise; the rest wants a coordinator."""
    if not isinstance(said, kinds.LotAdjusted) or "coordinator" in roles:
        return None
    if said.cause != NOISE:
        return Refused(field="cause", code="not-allowed")
    if said.counted is None:
        return Refused(field="counted", code="missing")
    lot: LotState = journal.state("lot", said.lot)
    look = see_gap(journal, lot)
    density = lot.spoon.g_per_ml if lot.spoon else None
    amount = base_amount(lot.what, said.amount, said.count, g_per_ml=density)
    more = amount if said.way == "in" else -amount
    fits = look is not None and _closes(look, said.counted, more)
    return None if fits else Refused(field="amount", code="not-in-noise")


def _closes(look: GapLook, counted: Subject, more: int) -> bool:
    """Say whether an amount closes what the newest count differs by, within its noise."""
    newest = Subject(look.count.entry) == counted
    return newest and look.in_noise and more == look.gap.difference


def _into(
    journal: Journal, said: kinds.LotMoved | kinds.LotAdjusted, at: datetime
) -> Refused | None:
    """Put a part only to a lot that is the same, is good, and stands where the part goes."""
    if not isinstance(said, kinds.LotMoved) or said.into is None:
        return None
    giver: LotState = journal.state("lot", said.lot)
    taker: LotState = journal.state("lot", said.into)
    if taker.substance != giver.substance:
        return Refused(field="into", code="not-a-choice")
    if taker.studio != said.studio:
        return Refused(field="into", code="not-in-that-studio")
    if not are_alike(giver, taker):
        return Refused(field="into", code="not-the-same-make")
    looks = look_at_lots(journal, (giver, taker))
    past = any(look.is_past(at.astimezone(look.zone).date()) for look in looks)
    return Refused(field="into", code="past-its-day") if past else None


def _planned(
    journal: Journal, said: kinds.SessionPlanned | kinds.NeedPutOff, day: date
) -> Refused | None:
    """Let nothing be put off for ever, and measure what a session needs as its supplies are."""
    if isinstance(said, kinds.NeedPutOff):
        soon = 0 < (said.until - day).days <= PUT_OFF_MAX_DAYS
        return None if soon else Refused(field="until", code="not-a-choice")
    for place, need in enumerate(said.needs):
        odd = _need(journal, need)
        if odd is not None:
            return Refused(field=f"needs.{place}.{odd.field}", code=odd.code)
    return None


def _need(journal: Journal, need: kinds.SessionNeed) -> Refused | None:
    """Want a paper or a supply that is described, measured as it is."""
    if need.what == "paper" and journal.state("paper", need.paper) is None:
        return Refused(field="paper", code="not-known")
    if need.what == "supply" and journal.state("supply", supply_of(need)) is None:
        return Refused(field="supply", code="not-known")
    return _of_measure(need.what, _measure(journal, need), need.amount, need.count)
