"""
Look at what is ordered: stock, use, what is booked and on the way, and when to order.

There is one list for all studios: what stands in one can be carried to the other. Use is
summed by ISO weeks, the present one included, booked sessions apart.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Final, Literal

from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.ports import Drawn, Journal
from coop.ledger.states import (
    LotState,
    OrderState,
    PaperState,
    SessionState,
    SupplierState,
    SupplyState,
)
from coop.ledger.supplies import months_of
from coop.rules.orders import (
    LEAD_MAX_DAYS,
    LOOK_AHEAD_DAYS,
    REVIEW_MAX_DAYS,
    Booking,
    OnTheWay,
    OrderPlan,
    SupplyFacts,
    is_due_within,
    is_over,
    is_overdue,
    lead_days_learned,
    plan_order,
)
from coop.rules.storage import keeps_days
from coop.science.defaults import value
from coop.science.demand import USE_WEEKS, WeeklyUse, two_figures, weekly_use

SHORT_WEEKS: Final = 4
"""Use is also told for so many weeks."""

LASTS_MAX_DAYS: Final = 31
"""A session that began longer ago is not looked for: a longer course is booked in parts."""

_WEEK: Final = timedelta(weeks=1)
_NOTHING: Final = WeeklyUse(per_week=0.0, by="mean", week_count=0, used_week_count=0)

LeadBy = Literal["learned", "supply", "supplier", "default"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """
    What was used of a supply in the last four and eight weeks, in the unit of its rows.

    `booked_short` and `booked_long` went into booked sessions besides. `weekly` is found by
    the weeks since the first use, `per_week` the same with two figures.
    """

    short: int
    long: int
    booked_short: int
    booked_long: int
    weekly: WeeklyUse
    per_week: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """
    A supply on the order list.

    While nobody set a floor `facts` reckon with a floor of nothing, and `plan` is None unless
    use or a booking takes it under that before an order could arrive.
    `lead_by` says who says how long it takes to arrive. `coming` are its open orders, of which
    the `overdue` ones do not count as on the way. What is `spoiled` is not on
    hand, nor are carrageenans that are `gelling`.
    """

    supply: SupplyState
    paper: PaperState | None
    supplier: SupplierState | None
    use: Use
    facts: SupplyFacts
    plan: OrderPlan | None
    lead_by: LeadBy
    coming: tuple[OrderState, ...]
    overdue: tuple[OrderState, ...]
    spoiled: int
    gelling: int

    @property
    def order_by(self) -> date | None:
        """The day by which it is to be ordered, if one is known."""
        return self.plan.order_by if self.plan else None

    @property
    def due(self) -> bool:
        """Whether it is to be ordered today."""
        return self.plan is not None and self.plan.due

    def expected(self, order: OrderState, zone: tzinfo) -> date:
        """Return the day on which an order of it should arrive: as said, else as reckoned."""
        return expected_on(order, self.facts.lead_days, zone)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderList:
    """
    Supplies that are ordered: those with a plan by the day to order, the soonest first.

    Of those `without_floor` nobody can say when to order; they stand apart. `coming` are all of
    which something is on the way, whether they are to be ordered again or not.
    """

    today: date
    lines: tuple[OrderLine, ...]
    without_floor: tuple[OrderLine, ...]
    coming: tuple[OrderLine, ...]

    @property
    def due(self) -> tuple[OrderLine, ...]:
        """What is to be ordered today."""
        return tuple(line for line in self.lines if line.due)

    @property
    def later(self) -> tuple[OrderLine, ...]:
        """What is to be ordered within a year, but not today."""
        return tuple(line for line in self.lines if line.order_by and not line.due)

    @property
    def never(self) -> tuple[OrderLine, ...]:
        """What lasts for a year and longer."""
        return tuple(line for line in self.lines if line.order_by is None)

    @property
    def every(self) -> tuple[OrderLine, ...]:
        """All lines, those without a floor last."""
        return (*self.lines, *self.without_floor)


def order_list(
    journal: Journal, *, now: datetime, zone: tzinfo, within_days: int | None = None
) -> OrderList:
    """
    Return what is to be ordered, with the reasons.

    Args:
        zone: The co-operative's own.
        within_days: What is due within so many days is planned, and no more; None for all.
    """
    today = now.astimezone(zone).date()
    coming = {one.supply for one in journal.listed("order")}
    wanted = [one for one in journal.listed("supply") if one.ordered or one.id in coming]
    lines = sorted(_lines(journal, wanted, now, zone, within_days), key=_by_day)
    ordered = [line for line in lines if line.supply.ordered]
    return OrderList(
        today=today,
        lines=tuple(line for line in ordered if line.plan is not None),
        without_floor=tuple(line for line in ordered if line.plan is None),
        coming=tuple(line for line in lines if line.coming),
    )


def see_order_line(
    journal: Journal, supply: SupplyState, *, now: datetime, zone: tzinfo
) -> OrderLine:
    """Return one supply as the order list has it, whether it is ordered or not."""
    (line,) = see_order_lines(journal, [supply], now=now, zone=zone)
    return line


def see_order_lines(
    journal: Journal, supplies: Sequence[SupplyState], *, now: datetime, zone: tzinfo
) -> list[OrderLine]:
    """Return several supplies as the order list has them, whether they are ordered or not."""
    return _lines(journal, supplies, now, zone)


def expected_on(order: OrderState, lead_days: int, zone: tzinfo) -> date:
    """Return the day on which an order should arrive: as said, else as reckoned."""
    placed = order.placed_at.astimezone(zone).date()
    return order.expected or placed + timedelta(days=lead_days)


def _by_day(line: OrderLine) -> tuple[date, date, Subject]:
    runs_out_on = line.plan.runs_out_on if line.plan else None
    return line.order_by or date.max, runs_out_on or date.max, line.supply.id


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stock:
    """What stands there of a supply: what can be used, what is spoiled, and what gels."""

    usable: int = 0
    spoiled: int = 0
    gelling: int = 0


_NONE: Final = _Stock()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Around:
    """What the lines of many supplies are made of, each read once."""

    now: datetime
    today: date
    zone: tzinfo
    stocks: Mapping[str, _Stock]
    packs: Mapping[str, int]
    drawn: Mapping[str, Sequence[Drawn]]
    uses: Mapping[Subject, Use]
    papers: Mapping[Subject, PaperState]
    suppliers: Mapping[Subject, SupplierState]
    coming: Mapping[Subject, Sequence[OrderState]]
    booked: Mapping[Subject, Mapping[SessionState, int]]
    within_days: int | None = None


def _lines(
    journal: Journal,
    supplies: Sequence[SupplyState],
    now: datetime,
    zone: tzinfo,
    within_days: int | None = None,
) -> list[OrderLine]:
    around = replace(_around(journal, supplies, now, zone), within_days=within_days)
    return [_line(supply, around) for supply in supplies]


def _around(
    journal: Journal, supplies: Sequence[SupplyState], now: datetime, zone: tzinfo
) -> _Around:
    keys, today = [one.id for one in supplies], now.astimezone(zone).date()
    drawn = _drawn(journal, keys, today)
    lots = lots_on_hand(journal, set(keys))
    coming: dict[Subject, list[OrderState]] = defaultdict(list)
    for order in journal.listed("order"):
        coming[order.supply].append(order)
    return _Around(
        now=now,
        today=today,
        zone=zone,
        stocks=_stocks(lots, today),
        packs=_packs(look.lot for look in lots if not look.gelling),
        drawn=drawn,
        uses=_uses(journal, keys, drawn, today),
        papers=journal.states("paper", [one.paper for one in supplies if one.paper]),
        suppliers=journal.states("supplier", {one.sold_by for one in supplies if one.sold_by}),
        coming=coming,
        booked=_booked(_sessions(journal, today, zone)),
    )


def _stocks(lots: Iterable[LotLook], today: date) -> Mapping[str, _Stock]:
    """Return what stands there of each supply."""
    found: dict[str, _Stock] = {}
    for look in lots:
        there = found.get(look.lot.substance, _NONE)
        spoiled = 0 if look.gelling else look.spoiled(today)
        found[look.lot.substance] = _Stock(
            usable=there.usable + look.left - look.gelling - spoiled,
            spoiled=there.spoiled + spoiled,
            gelling=there.gelling + look.gelling,
        )
    return found


def see_uses(
    journal: Journal, supplies: Sequence[Subject], *, today: date
) -> dict[Subject, Use]:
    """Return what was used of several supplies in the last weeks, booked sessions apart."""
    return _uses(journal, supplies, _drawn(journal, supplies, today), today)


def _drawn(
    journal: Journal, supplies: Sequence[Subject], today: date
) -> Mapping[str, Sequence[Drawn]]:
    """Return what was drawn of each supply in the weeks that count."""
    found: dict[str, list[Drawn]] = defaultdict(list)
    for one in journal.drawn(supplies, week=_last_weeks(today)[0]):
        found[one.substance].append(one)
    return found


def _uses(
    journal: Journal,
    supplies: Sequence[Subject],
    drawn: Mapping[str, Sequence[Drawn]],
    today: date,
) -> dict[Subject, Use]:
    weeks, first = _last_weeks(today), journal.first_drawn(supplies)
    return {one: _use(drawn.get(one, ()), weeks, first.get(one)) for one in supplies}


def _last_weeks(today: date) -> tuple[str, ...]:
    """Return the ISO weeks whose use counts, the present one last."""
    noon = datetime.combine(today, time(12))
    return tuple(accounts.week(noon - ago * _WEEK) for ago in reversed(range(USE_WEEKS)))


def _use(drawn: Iterable[Drawn], weeks: Sequence[str], first: str | None) -> Use:
    """Sum what was used by weeks; weeks before the first use say nothing."""
    usual: dict[str, int] = dict.fromkeys(weeks, 0)
    booked: dict[str, int] = dict.fromkeys(weeks, 0)
    for one in drawn:
        if one.week in usual:
            (booked if one.session else usual)[one.week] += one.amount
    counted = [usual[week] for week in weeks if first and week >= first]
    weekly = _weekly(tuple(counted))
    short = weeks[-SHORT_WEEKS:]
    return Use(
        short=sum(usual[week] for week in short),
        long=sum(usual.values()),
        booked_short=sum(booked[week] for week in short),
        booked_long=sum(booked.values()),
        weekly=weekly,
        per_week=two_figures(number=weekly.per_week),
    )


@lru_cache(maxsize=128)
def _weekly(uses: tuple[int, ...]) -> WeeklyUse:
    """Return the weekly use; of most supplies the same, nothing."""
    return weekly_use(uses=uses) if uses else _NOTHING


def _packs(lots: Iterable[LotState]) -> dict[str, int]:
    """Return what a pack of the newest lot on hand holds; a part of a lot is no pack."""
    whole = [one for one in lots if one.part_of is None and one.cut_from is None]
    return {one.substance: one.pack for one in sorted(whole, key=lambda one: one.received_at)}


def _sessions(journal: Journal, today: date, zone: tzinfo) -> tuple[SessionState, ...]:
    """Return the booked sessions as far ahead as orders are told of, those begun among them."""
    begun = today - timedelta(days=LASTS_MAX_DAYS)
    days = LOOK_AHEAD_DAYS + LEAD_MAX_DAYS + REVIEW_MAX_DAYS
    months = months_of(begun, today + timedelta(days=days))
    found: tuple[SessionState, ...] = journal.listed_in("session", months)
    return tuple(
        one
        for one in found
        if not one.called_off and one.starts_at.astimezone(zone).date() >= begun
    )


def _booked(sessions: Iterable[SessionState]) -> Mapping[Subject, Mapping[SessionState, int]]:
    """Return what sessions take of each supply."""
    found: dict[Subject, dict[SessionState, int]] = defaultdict(lambda: defaultdict(int))
    for session in sessions:
        for need in session.needs:
            found[need.supply][session] += need.amount
    return found


def _line(supply: SupplyState, around: _Around) -> OrderLine:
    supplier = around.suppliers.get(supply.sold_by) if supply.sold_by else None
    use = around.uses[supply.id]
    lead_days, lead_by = _lead(supply, supplier)
    pack = supply.pack or around.packs.get(supply.id)
    coming = tuple(around.coming.get(supply.id, ()))
    overdue = _overdue(coming, lead_days, around)
    stock = around.stocks.get(supply.id, _NONE)
    facts = SupplyFacts(
        on_hand=stock.usable,
        floor=supply.floor or 0,
        per_week=use.per_week,
        lead_days=lead_days,
        review_days=round(_else(supply.review_days, value("order_review_days"))),
        pack=pack,
        keeps_days=supply.sealed_days or keeps_days(supply.what, opened=False),
        bookings=_bookings(supply, around),
        on_the_way=_on_the_way(
            (one for one in coming if one not in overdue), pack, lead_days, around.zone
        ),
    )
    return OrderLine(
        supply=supply,
        paper=around.papers.get(supply.paper) if supply.paper else None,
        supplier=supplier,
        use=use,
        facts=facts,
        plan=_plan(supply, facts, around),
        lead_by=lead_by,
        coming=coming,
        overdue=overdue,
        spoiled=stock.spoiled,
        gelling=stock.gelling,
    )


def _overdue(
    orders: Iterable[OrderState], lead_days: int, around: _Around
) -> tuple[OrderState, ...]:
    return tuple(
        one
        for one in orders
        if is_overdue(expected_on(one, lead_days, around.zone), today=around.today)
    )


def _lead(supply: SupplyState, supplier: SupplierState | None) -> tuple[int, LeadBy]:
    """Return the days to arrive: learned, else written of the supply, else of its supplier."""
    written = supply.days_to_arrive
    if written is None and supplier is not None:
        written = supplier.days_to_arrive
    learned = lead_days_learned(supply.arrival_days, written=written)
    if learned is not None:
        return learned, "learned"
    if supply.days_to_arrive is not None:
        return supply.days_to_arrive, "supply"
    if supplier is not None and supplier.days_to_arrive is not None:
        return supplier.days_to_arrive, "supplier"
    return round(value("order_lead_days")), "default"


def _else(said: int | None, usual: float) -> float:
    return usual if said is None else said


def _bookings(supply: SupplyState, around: _Around) -> tuple[Booking, ...]:
    """Return what booked sessions that are not over need and have not drawn yet."""
    drawn: dict[str, int] = defaultdict(int)
    by_count: dict[str, int] = defaultdict(int)
    for one in around.drawn.get(supply.id, ()):
        if one.session == accounts.CLASS:
            by_count[one.week] += one.amount
        else:
            drawn[one.session] += one.amount
    booked = around.booked.get(supply.id, {})
    found = []
    for session in sorted(booked, key=lambda one: (one.starts_at, one.id)):
        amount = booked[session] - drawn[session.id]
        amount -= _counted_out(session, amount, by_count, around)
        if amount > 0 and not is_over(session, now=around.now):
            found.append(_booking(session, amount, around.zone))
    return tuple(found)


def _counted_out(
    session: SessionState, amount: int, by_count: dict[str, int], around: _Around
) -> int:
    """
    Take what counts said that a class used off what a session that has begun still needs.

    A count names no session, only its week: what a week's counts gave goes to the sessions of
    that week in turn, those that are over first.
    """
    taken = 0
    for week in _weeks_of(session, around) if session.starts_at <= around.now else ():
        part = max(0, min(amount - taken, by_count[week]))
        by_count[week] -= part
        taken += part
    return taken


def _weeks_of(session: SessionState, around: _Around) -> tuple[str, ...]:
    """Return the ISO weeks in which a session was held so far."""
    until = min(session.ends_at or session.starts_at, around.now)
    first, last = (one.astimezone(around.zone) for one in (session.starts_at, until))
    days = (last.date() - first.date()).days
    return tuple(
        dict.fromkeys(accounts.week(first + timedelta(days=day)) for day in range(days + 1))
    )


def _booking(session: SessionState, amount: int, zone: tzinfo) -> Booking:
    return Booking(
        day=session.starts_at.astimezone(zone).date(),
        amount=amount,
        name=session.name,
        head_count=session.head_count,
        session=session.id,
    )


def _on_the_way(
    orders: Iterable[OrderState], pack: int | None, lead_days: int, zone: tzinfo
) -> tuple[OnTheWay, ...]:
    """Return what open orders bring; of an order whose pack nobody knows, nothing."""
    return tuple(
        OnTheWay(
            day=expected_on(order, lead_days, zone),
            amount=_still_to_come(order, pack or 0),
            order=order.id,
        )
        for order in orders
    )


def _still_to_come(order: OrderState, pack: int) -> int:
    known = order.open_amount
    return order.open_packs * pack if known is None else known


def _plan(supply: SupplyState, facts: SupplyFacts, around: _Around) -> OrderPlan | None:
    """Return when to order it; without a floor only what runs under nothing is known."""
    today, days = around.today, around.within_days
    if supply.floor is None and not (facts.bookings or facts.per_week):
        return None
    if days is not None and not is_due_within(facts, today=today, days=days):
        return None
    plan = plan_order(facts, today=today)
    if supply.floor is not None or (plan.due and (plan.counted or plan.used_in_span)):
        return plan
    return None
