"""The order list: what to order today and later, and why; orders placed, in part, cancelled."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, ClassVar, Final

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField

from coop.actions.see_orders import OrderLine, OrderList, order_list, see_order_line
from coop.actions.see_shelf import look_at_lots
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.kinds import OrderCancelled
from coop.ledger.states import OrderState, SupplyState
from coop.ledger.supplies import group_of
from coop.people.may import may
from coop.units.number import wire
from coop.units.table import UNITS
from coop.web import ordering
from coop.web import words as say
from coop.web.csv_out import Cell, csv_answer
from coop.web.fields import NEEDED, POURED, WEIGHTS, MoneyField, NumberField, UnitField
from coop.web.forms import EntryForm, Happened, Noted, options, written
from coop.web.history import note_named
from coop.web.i18n import N_
from coop.web.page import desk, face, known, needs, now, show, who, words, writing, zone
from coop.web.powder import LIQUID, in_its_unit
from coop.web.stock import amount_text, supply_name

pages = Blueprint("orders", __name__)

DUE: Final = "due"
UNITS_OF: Final = {"weight": WEIGHTS, "volume": POURED}
US_UNITS: Final = ("lb", "oz", "us_gallon", "us_fl_oz")
COUNTED: Final = frozenset({"sheets", "pieces"})


class PlaceForm(Noted, Happened, EntryForm):
    kind: ClassVar[str] = "order.placed"

    packs = NumberField(N_("How many packs?"), [NEEDED])
    pack_typed = StringField(N_("What is in one pack?"), name="pack.typed")
    pack_unit = UnitField(N_("Unit"), name="pack.unit", validate_choice=False)
    pack_count = NumberField(N_("How many are in one pack?"))
    sold_by = SelectField(N_("Ordered from"), validate_choice=False)
    expected = StringField(
        N_("When should it come?"),
        description=N_("Left empty it is reckoned by the days to arrive."),
        render_kw={"type": "date"},
    )
    price = MoneyField(N_("What does all of it cost?"))

    def offer(self, line: OrderLine) -> None:
        """Fill the lists, and what is proposed where nothing was typed."""
        suppliers = desk().journal.listed("supplier")
        self.sold_by.choices = options(
            [*((str(one.id), one.name) for one in suppliers), ("", words().gettext("not said"))]
        )
        units = _units(line.supply)
        self.pack_unit.offer(units)
        if not self.is_submitted():
            self._propose(line, units)

    def _propose(self, line: OrderLine, units: tuple[str, ...]) -> None:
        plan, pack = line.plan, line.facts.pack
        if plan is not None and plan.amount and not plan.packs:
            pack = plan.amount
        self.packs.process_data(max(1, plan.packs) if plan else 1)
        self.sold_by.data = line.supply.sold_by or ""
        self.expected.data = (_today() + timedelta(days=line.facts.lead_days)).isoformat()
        if pack is None:
            return
        if units:
            self.pack_unit.data, self.pack_typed.data = _pack(line.supply, pack, units)
        else:
            self.pack_count.process_data(_counted(line.supply, pack))

    def _pairs(self) -> Iterator[tuple[str, str]]:
        left_out = set() if self.pack_typed.data else {"pack.typed", "pack.unit"}
        yield from ((name, value) for name, value in super()._pairs() if name not in left_out)


class CancelForm(Noted, Happened, EntryForm):
    kind: ClassVar[str] = "order.cancelled"

    reason = RadioField(N_("Why will it not come?"), [NEEDED], validate_choice=False)


def _today() -> date:
    return now().astimezone(zone()).date()


def _units(supply: SupplyState) -> tuple[str, ...]:
    """Return the units of a pack: gall is bought by volume; none for what is counted."""
    if supply.what == LIQUID:
        return UNITS_OF["volume"]
    return UNITS_OF.get(supply.measure, ())


def _pack(supply: SupplyState, pack: int, units: tuple[str, ...]) -> tuple[str, str]:
    """Return what a pack holds with its unit: the member's own where it is not rounded."""
    per = accounts.UL_PER_ML if supply.measure == "volume" else accounts.UG_PER_G
    for unit in US_UNITS if words().us and supply.what != LIQUID else ():
        number = Fraction(pack, per) / UNITS[unit].factor
        if unit in units and (number * 100).denominator == 1:
            return unit, wire(number)
    return units[0], _number(_in_unit(supply, pack))


def _in_unit(supply: SupplyState, amount: int) -> float:
    """Return an amount in grams, or in mL of what is poured."""
    if supply.measure == "volume":
        return amount / accounts.UL_PER_ML
    return in_its_unit(supply.what, amount / accounts.UG_PER_G)


def _number(number: float) -> str:
    return f"{round(number, 1):.10g}"


def _counted(supply: SupplyState, amount: int) -> int:
    """Return full sheets or pieces."""
    return round(amount / accounts.QUARTERS["full"]) if supply.measure == "sheets" else amount


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """
    A supply on the list.

    `covers` says for how long the order is enough, `known` what the plan rests on, `sold_by`
    how to order; `has_floor` is whether somebody set one.
    """

    name: str
    url: str
    place_url: str
    when: str
    how_much: str
    covers: str
    has_floor: bool
    why: str
    sold_by: str
    known: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingRow:
    """An order of which something is still to come."""

    url: str
    name: str
    ordered: str
    arrived: str
    expected: str
    late: bool
    placed: str
    receive_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrdersPage:
    """The order list; `only_due` while the filter is set, `never` is not due in a year."""

    today: str
    only_due: bool
    due: tuple[OrderRow, ...]
    later: tuple[OrderRow, ...]
    never: tuple[OrderRow, ...]
    without_floor: tuple[OrderRow, ...]
    coming: tuple[ComingRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacePage:
    form: PlaceForm
    row: OrderRow
    counted: bool
    coming: tuple[ComingRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotOfOrder:
    url: str
    name: str
    amount: str
    received: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPage:
    """An order: `open` while something is to come, `cancelled` the entry that ended it."""

    id: str
    title: str
    facts: tuple[tuple[str, str], ...]
    late: str
    note: str
    lots: tuple[LotOfOrder, ...]
    receive_url: str
    open: bool
    cancelled: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CancelPage:
    form: CancelForm
    id: str
    name: str
    to_come: str


@pages.get("/orders")
@needs("read")
def orders() -> Response:
    found = order_list(desk().journal, now=now(), zone=zone())
    only_due = request.args.get("show") == DUE
    page = OrdersPage(
        today=words().day(found.today),
        only_due=only_due,
        due=_rows(found.due, found.today),
        later=() if only_due else _rows(found.later, found.today),
        never=() if only_due else _rows(found.never, found.today),
        without_floor=() if only_due else _rows(found.without_floor, found.today),
        coming=_coming(found.coming, found.today),
    )
    return show("orders.html", page=page, nav="shelf")


def _rows(lines: tuple[OrderLine, ...], today: date) -> tuple[OrderRow, ...]:
    return tuple(_row(line, today) for line in lines)


def _row(line: OrderLine, today: date) -> OrderRow:
    key = line.supply.id
    planned = line.plan is not None
    return OrderRow(
        name=supply_name(words(), line.supply, line.paper),
        url=f"/supplies/{key}",
        place_url=url_for("orders.place", supply=key),
        when=ordering.when_to_order(words(), line, today) if planned else "",
        how_much=ordering.how_much(words(), line),
        covers=ordering.covers(words(), line),
        has_floor=line.supply.floor is not None,
        why=ordering.why(words(), line, today) if planned else "",
        sold_by=_sold_by(line),
        known=tuple(ordering.known_of(words(), line, today)),
    )


def _sold_by(line: OrderLine) -> str:
    """Say from whom it is ordered, and how they are asked."""
    if line.supplier is None:
        return ""
    if not line.supplier.order_by:
        return words().gettext("From %(name)s.", name=line.supplier.name)
    return words().gettext(
        "From %(name)s: %(how)s.", name=line.supplier.name, how=line.supplier.order_by
    )


def _coming(lines: tuple[OrderLine, ...], today: date) -> tuple[ComingRow, ...]:
    """Return the open orders of these supplies, what is expected first before the others."""
    found = sorted(
        (line.expected(order, zone()), order.id, line, order)
        for line in lines
        for order in line.coming
    )
    return tuple(_coming_row(line, order, day, today) for day, _, line, order in found)


def _coming_row(line: OrderLine, order: OrderState, expected: date, today: date) -> ComingRow:
    supply = line.supply
    return ComingRow(
        url=url_for("orders.order", order=order.id),
        name=supply_name(words(), supply, line.paper),
        ordered=ordering.ordered_text(words(), supply.measure, order),
        arrived=_arrived(order, supply.measure),
        expected=ordering.expected_text(words(), expected, today),
        late=expected < today,
        placed=words().gettext(
            "placed %(when)s",
            when=say.day_by(words(), order.placed_at, face(order.placed_by).name),
        ),
        receive_url=_receive_url(order),
    )


def _receive_url(order: OrderState) -> str:
    return f"/shelf/receive/{order.what}?order={order.id}"


def _arrived(order: OrderState, measure: str) -> str:
    """Say how much has come: in packs, or by amount where packs of another size came."""
    if not order.arrived_packs:
        return ""
    pack = order.pack
    if pack is not None and order.arrived != order.arrived_packs * pack:
        arrived, ordered = (
            amount_text(words(), order.what, measure, amount)
            for amount in (order.arrived, order.packs * pack)
        )
        return words().gettext(
            "%(arrived)s of %(ordered)s have come", arrived=arrived, ordered=ordered
        )
    return words().gettext(
        "%(arrived)s of %(packs)s packs have come",
        arrived=words().number(order.arrived_packs),
        packs=words().number(order.packs),
    )


@pages.get("/orders.csv")
@needs("read")
def table() -> Response:
    found = order_list(desk().journal, now=now(), zone=zone())
    name = f"orders-{found.today.isoformat()}"
    return csv_answer(name, _header(), (_cells(line, found) for line in found.every))


def _header() -> tuple[str, ...]:
    gettext = words().gettext
    return (
        gettext("supply"),
        gettext("order by"),
        gettext("packs"),
        gettext("in one pack"),
        gettext("to order"),
        gettext("unit"),
        gettext("on hand"),
        gettext("floor"),
        gettext("used in four weeks"),
        gettext("used in eight weeks"),
        gettext("classes in four weeks"),
        gettext("classes in eight weeks"),
        gettext("reckoned a week"),
        gettext("days to arrive"),
        gettext("on the way"),
        gettext("why"),
    )


def _cells(line: OrderLine, found: OrderList) -> tuple[Cell, ...]:
    plan, use, facts = line.plan, line.use, line.facts
    return (
        supply_name(words(), line.supply, line.paper),
        plan.order_by if plan else None,
        plan.packs or None if plan else None,
        _plain(line, facts.pack),
        _plain(line, plan.amount if plan else None),
        _unit(line.supply),
        _plain(line, facts.on_hand),
        _plain(line, line.supply.floor),
        _plain(line, use.short),
        _plain(line, use.long),
        _plain(line, use.booked_short),
        _plain(line, use.booked_long),
        _plain(line, use.per_week),
        facts.lead_days,
        _plain(line, sum(one.amount for one in facts.on_the_way)),
        ordering.why(words(), line, found.today) if plan else "",
    )


def _plain(line: OrderLine, amount: float | None) -> float | None:
    """Return an amount as a bare number of the row's unit: gall in mL, as it is poured."""
    if amount is None:
        return None
    if line.supply.what == LIQUID:
        return round(in_its_unit(LIQUID, amount / accounts.UG_PER_G), 2)
    per = {
        "weight": accounts.UG_PER_G,
        "volume": accounts.UL_PER_ML,
        "sheets": accounts.QUARTERS["full"],
    }
    return round(amount / per.get(line.supply.measure, 1), 2)


def _unit(supply: SupplyState) -> str:
    if supply.what == LIQUID:
        return "mL"
    names = {
        "weight": "g",
        "volume": "mL",
        "sheets": words().gettext("full sheets"),
        "pieces": words().gettext("pieces"),
    }
    return names[supply.measure]


@pages.route("/orders/place", methods=["GET", "POST"])
@needs("order.placed")
def place() -> Response:
    key = request.args.get("supply", "")
    if not key:
        return redirect(url_for("orders.orders"), 303)
    supply: SupplyState = known("supply", key)
    line = see_order_line(desk().journal, supply, now=now(), zone=zone())
    form = PlaceForm()
    if not may(who().roles, "see-prices"):
        del form.price
    form.offer(line)
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, **_what(supply))
        if written(outcome, words().gettext("Written: it is on the way.")):
            assert isinstance(outcome, Written)
            return redirect(url_for("orders.order", order=outcome.sealed.entry.id), 303)
        form.offer(line)
        status = 422
    elif request.method == "POST":
        status = 422
    page = PlacePage(
        form=form,
        row=_row(line, _today()),
        counted=supply.measure in COUNTED,
        coming=_coming((line,), _today()),
    )
    return show("order_place.html", page=page, nav="shelf", status=status)


def _what(supply: SupplyState) -> dict[str, Any]:
    """Return what an order of a supply is of, as its entry says it."""
    group = group_of(supply.what)
    thing: dict[str, dict[str, Any]] = {
        "alum": {"salt": supply.salt},
        "paper": {"paper": supply.paper},
        "supply": {"supply": supply.id.partition(":")[2]},
    }
    return {"what": group, **thing.get(group, {})}


@pages.get("/orders/<order>")
@needs("read")
def order(order: str) -> Response:
    state: OrderState = known("order", order)
    line = _line_of(state)
    expected = line.expected(state, zone())
    late = expected < _today() and state.open_packs > 0
    page = OrderPage(
        id=state.id,
        title=supply_name(words(), line.supply, line.paper),
        facts=_facts(state, line, expected),
        late=ordering.expected_text(words(), expected, _today()) if late else "",
        note=note_named(state.note),
        lots=_lots(state),
        receive_url=_receive_url(state),
        open=state.open_packs > 0,
        cancelled=_cancelled(state),
    )
    return show("order.html", page=page, nav="shelf")


def _line_of(state: OrderState) -> OrderLine:
    supply: SupplyState | None = desk().journal.state("supply", state.supply)
    if supply is None:
        abort(404)
    return see_order_line(desk().journal, supply, now=now(), zone=zone())


def _facts(state: OrderState, line: OrderLine, expected: date) -> tuple[tuple[str, str], ...]:
    sold_by = desk().journal.state("supplier", state.sold_by)
    cancelled = ""
    if state.cancelled_at is not None:
        cancelled = words().gettext(
            "%(day)s: %(why)s",
            day=words().day(state.cancelled_at),
            why=say.choice(words(), "cancel_reason", state.cancel_reason),
        )
    return (
        (
            words().gettext("Ordered"),
            ordering.ordered_text(words(), line.supply.measure, state),
        ),
        (
            words().gettext("Placed"),
            say.day_by(words(), state.placed_at, face(state.placed_by).name),
        ),
        (words().gettext("Ordered from"), sold_by.name if sold_by else ""),
        (words().gettext("Expected"), words().day(expected) if state.open_packs else ""),
        (words().gettext("Price"), _price(state)),
        (words().gettext("Come so far"), _arrived(state, line.supply.measure)),
        (words().gettext("The rest will not come"), cancelled),
    )


def _price(state: OrderState) -> str:
    """Return what an order costs, to those who see prices; empty where nobody said."""
    seen = state.price is not None and may(who().roles, "see-prices")
    return f"{state.price:f}" if seen else ""


def _cancelled(state: OrderState) -> str:
    """Return the last entry by which the rest was cancelled; empty while it was not."""
    if state.cancelled_at is None:
        return ""
    said = [
        str(one.entry.id)
        for one in desk().journal.touching(state.id)
        if isinstance(one.entry.content, OrderCancelled)
    ]
    return max(said, default="")


def _lots(state: OrderState) -> tuple[LotOfOrder, ...]:
    journal = desk().journal
    lots = tuple(journal.states("lot", state.lots).values())
    return tuple(
        LotOfOrder(
            url=f"/lots/{look.lot.id}",
            name=look.lot.name,
            amount=amount_text(words(), look.lot.what, look.lot.measure, look.lot.received),
            received=say.day_by(words(), look.lot.received_at, face(look.lot.received_by).name),
        )
        for look in look_at_lots(journal, lots)
    )


@pages.route("/orders/<order>/cancel", methods=["GET", "POST"])
@needs("order.cancelled")
def cancel(order: str) -> Response:
    state: OrderState = known("order", order)
    form = CancelForm()
    form.reason.choices = options(say.choices(words(), "cancel_reason"))
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, order=Subject(order))
        if written(outcome, words().gettext("Written: the rest will not come.")):
            return redirect(url_for("orders.order", order=order), 303)
        status = 422
    elif request.method == "POST":
        status = 422
    line = _line_of(state)
    page = CancelPage(
        form=form,
        id=state.id,
        name=supply_name(words(), line.supply, line.paper),
        to_come=words().ngettext(
            "%(num)d pack is still to come.",
            "%(num)d packs are still to come.",
            state.open_packs,
        ),
    )
    return show("order_cancel.html", page=page, nav="shelf", status=status)
