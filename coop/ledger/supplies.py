"""Folds of supplies, suppliers, orders, booked sessions, and of what was put off."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.descriptions import edition_of
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import InForce
from coop.ledger.lots import CENTS, base_amount, pack_of
from coop.ledger.states import (
    Needed,
    OrderState,
    PermissionState,
    PutOffState,
    SessionState,
    SupplierState,
    SupplyState,
)
from coop.ledger.table import supply_of

ARRIVALS_KEPT = 5
MONTH = "%Y-%m"
A_DAY = timedelta(days=1)


def fold_supply(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """
    The last edition counts; orders with their first arrivals tell how long it takes.

    A salt, powder or paper is a supply as soon as a lot or an order names it; of anything
    else that nobody described it is only known how it is measured.
    """
    edition, findings = edition_of(entries, kinds.SupplyDescribed)
    if edition is not None:
        assert isinstance(edition.content, kinds.SupplyDescribed)
        state = _described(subject, edition, edition.content)
    elif entries:
        state = _by_use(subject, entries[0])
    else:
        return NOTHING
    state = replace(state, arrival_days=_arrival_days(entries))
    return Folded(state=state, findings=findings, live=True)


def _described(subject: Subject, edition: InForce, said: kinds.SupplyDescribed) -> SupplyState:
    group = group_of(said.what)
    floor = said.floor is not None or said.floor_count is not None
    pack = said.pack is not None or said.pack_count is not None
    return SupplyState(
        id=subject,
        edition=edition.id,
        what=said.what,
        salt=said.salt,
        paper=said.paper,
        name=said.name,
        measure=measure_of(said.what, said.measure),
        floor=base_amount(group, said.floor, said.floor_count) if floor else None,
        pack=base_amount(group, said.pack, said.pack_count) if pack else None,
        days_to_arrive=said.days_to_arrive,
        review_days=said.review_days,
        sealed_days=said.sealed_days,
        opened_days=said.opened_days,
        count_days=said.count_days,
        sold_by=said.sold_by,
        ordered=said.ordered == "yes",
        metals=tuple((one.metal, float(one.mg_per_ml)) for one in said.metals),
        sulfide=said.sulfide == "yes",
    )


def group_of(what: str) -> str:
    """Return what lots and orders of a supply are of: `supply` for all but trade's own."""
    return "supply" if what in kinds.OTHER_SUPPLIES else what


def measure_of(what: str, said: str | None = None) -> str:
    """Return how a supply is measured: paper in sheets, salts and powders by weight."""
    if what == "paper":
        return "sheets"
    return said or "pieces" if group_of(what) == "supply" else "weight"


def _by_use(subject: Subject, one: InForce) -> SupplyState:
    """Return a supply of which nobody has said anything but that it came or was ordered."""
    said = one.content
    if isinstance(said, kinds.LotCut):
        return SupplyState(
            id=subject, what="paper", salt=None, paper=said.paper, measure="sheets"
        )
    assert isinstance(said, kinds.LotReceived | kinds.OrderPlaced)
    measure = pack_of(said)[0] if isinstance(said, kinds.LotReceived) else None
    return SupplyState(
        id=subject,
        what="other" if said.what == "supply" else said.what,
        salt=said.salt,
        paper=said.paper,
        measure=measure_of(said.what, measure),
    )


def _arrival_days(entries: tuple[InForce, ...]) -> tuple[int, ...]:
    """
    Return the days that the last orders took to begin to arrive, the oldest first.

    Whole days of 24 hours, rounded: whose clock stood in which zone makes no difference.
    """
    placed: dict[Subject, datetime] = {}
    took: dict[Subject, int] = {}
    for one in entries:
        match one.content:
            case kinds.OrderPlaced():
                placed[Subject(one.id)] = one.at
            case kinds.LotReceived(order=order) if order in placed and order not in took:
                took[order] = max(0, round((one.at - placed[order]) / A_DAY))
            case _:
                pass
    return tuple(took.values())[-ARRIVALS_KEPT:]


def fold_supplier(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = edition_of(entries, kinds.SupplierDescribed)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.SupplierDescribed)
    state = SupplierState(
        id=subject,
        edition=edition.id,
        name=said.name,
        order_by=said.order_by,
        ream_sheets=said.ream_sheets,
        days_to_arrive=said.days_to_arrive,
        in_use=said.in_use == "yes",
    )
    return Folded(state=state, findings=findings, live=state.in_use)


def fold_order(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """An order arrives with the lots that name it, in parts; the rest may be cancelled."""
    placed = next((one for one in entries if Subject(one.id) == subject), None)
    if placed is None or not isinstance(placed.content, kinds.OrderPlaced):
        return NOTHING
    state = _placed(subject, placed, placed.content)
    for one in entries:
        match one.content:
            case kinds.LotReceived() as said:
                state = _arrived(state, one, said)
            case kinds.OrderCancelled(reason=reason):
                state = replace(state, cancelled_at=one.at, cancel_reason=reason)
            case _:
                pass
    return Folded(state=state, home=state.supply, live=state.open_packs > 0)


def _placed(subject: Subject, one: InForce, said: kinds.OrderPlaced) -> OrderState:
    known = said.pack is not None or said.pack_count is not None
    return OrderState(
        id=subject,
        supply=supply_of(said),
        what=said.what,
        salt=said.salt,
        paper=said.paper,
        packs=said.packs,
        pack=base_amount(said.what, said.pack, said.pack_count) if known else None,
        sold_by=said.sold_by,
        placed_at=one.at,
        placed_by=one.author,
        expected=said.expected,
        price=_money(said.price),
        note=said.note,
    )


def _money(price: Fraction | None) -> Decimal | None:
    if price is None:
        return None
    return (Decimal(price.numerator) / Decimal(price.denominator)).quantize(CENTS)


def _arrived(state: OrderState, one: InForce, said: kinds.LotReceived) -> OrderState:
    return replace(
        state,
        arrived_packs=state.arrived_packs + said.pack_count,
        arrived=state.arrived + said.pack_count * pack_of(said)[1],
        first_arrived_at=state.first_arrived_at or one.at,
        lots=(*state.lots, Subject(one.id)),
    )


def fold_session(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts; it is listed under the month in which it starts."""
    edition, findings = edition_of(entries, kinds.SessionPlanned)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.SessionPlanned)
    state = SessionState(
        id=subject,
        edition=edition.id,
        edition_count=len(entries),
        studio=said.studio,
        name=said.name,
        starts_at=said.starts,
        ends_at=said.ends,
        head_count=said.head_count,
        under_16=said.under_16 == "yes",
        needs=tuple(
            Needed(
                supply=supply_of(need),
                what=need.what,
                amount=base_amount(need.what, need.amount, need.count),
            )
            for need in said.needs
        ),
        called_off=said.called_off == "yes",
        planned_by=edition.author,
    )
    return Folded(
        state=state,
        findings=findings,
        home=month_of(said.starts),
        live=not state.called_off,
    )


def month_of(at: datetime) -> Subject:
    """
    Return the subject under which a month's sessions are listed.

    >>> month_of(datetime(2025, 10, 4, 10))
    '2025-10'
    """
    return Subject(at.strftime(MONTH))


def months_of(first: date, last: date) -> tuple[Subject, ...]:
    """
    Return the months from that of one day to that of another, both included.

    >>> months_of(date(2025, 12, 31), date(2026, 1, 1))
    ('2025-12', '2026-01')
    """
    begin, end = (12 * day.year + day.month - 1 for day in (first, last))
    return tuple(Subject(f"{n // 12:04}-{n % 12 + 1:02}") for n in range(begin, end + 1))


def fold_put_off(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last word counts."""
    said = [one for one in entries if isinstance(one.content, kinds.NeedPutOff)]
    if not said:
        return NOTHING
    last = said[-1].content
    assert isinstance(last, kinds.NeedPutOff)
    state = PutOffState(
        need=last.need,
        about=last.about,
        until=last.until,
        reason=last.reason,
        by=said[-1].author,
        at=said[-1].at,
    )
    return Folded(state=state)


def fold_permission(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """What was asked and answered about a studio's drain stands as it was recorded."""
    asked = next((one for one in entries if Subject(one.id) == subject), None)
    if asked is None or not isinstance(asked.content, kinds.PermissionRecorded):
        return NOTHING
    said = asked.content
    state = PermissionState(
        id=subject,
        studio=said.studio,
        about=said.about,
        asked=said.asked,
        asked_on=said.asked_on,
        reference=said.reference,
        answer=said.answer,
        conditions=said.conditions,
        outlet=said.outlet or "",
        review_on=said.review_on,
        recorded_at=asked.at,
        recorded_by=asked.author,
    )
    return Folded(state=state, home=said.studio, live=True)
