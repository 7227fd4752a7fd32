"""Supplies: what is ordered and kept, what the house says of each, and describing one."""

from dataclasses import dataclass
from typing import Any

from flask import Blueprint, abort, redirect, url_for
from werkzeug.wrappers import Response

from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.actions.see_supplies import SupplyLook, not_yet_there, see_supplies, see_supply
from coop.actions.set_up import content_of
from coop.ids import Subject
from coop.ledger.accounts import other
from coop.ledger.kinds import OTHER_SUPPLIES
from coop.ledger.states import SupplierState, SupplyState
from coop.people.may import may
from coop.web import words as say
from coop.web.editions import edit, publish
from coop.web.forms import written
from coop.web.page import desk, needs, show, who, words
from coop.web.receiving import Kept, kept, page_of
from coop.web.stock import amount_text, supply_name
from coop.web.supplying import Fact, NewSupplyForm, SupplyForm, facts, form_of, rows_said, usual

pages = Blueprint("supplies", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyRow:
    """A supply in the list; `wants_floor` while nobody has said how much should be there."""

    name: str
    kind: str
    url: str
    facts: tuple[Fact, ...]
    wants_floor: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliesPage:
    rows: tuple[SupplyRow, ...]
    may_describe: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    name: str
    left: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyPage:
    """One supply: what is said of it, what stands on the shelf, how it is kept."""

    row: SupplyRow
    lots: tuple[LotRow, ...]
    kept: Kept
    describe_url: str
    receive_url: str
    order_url: str
    may_describe: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPage:
    """A new supply; `others` are salts, powders and papers of which nothing is said yet."""

    form: NewSupplyForm
    others: tuple[SupplyRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormPage:
    """A supply being described; `hints` say what an empty field counts as, by its name."""

    form: SupplyForm
    row: SupplyRow
    hints: dict[str, str]
    counted_in: str


@pages.get("/supplies")
@needs("read")
def supplies() -> Response:
    page = SuppliesPage(
        rows=tuple(_row(look) for look in see_supplies(desk().journal)),
        may_describe=_may_describe(),
    )
    return show("supplies.html", page=page, nav="shelf")


def _may_describe() -> bool:
    return may(who().roles, "supply.described")


def _row(look: SupplyLook) -> SupplyRow:
    supply = look.supply
    name = supply_name(words(), supply, look.paper)
    kind = say.choice(words(), "supply", supply.what)
    return SupplyRow(
        name=name,
        kind="" if kind == name else kind,
        url=url_for("supplies.supply", key=supply.id),
        facts=facts(words(), look),
        wants_floor=supply.ordered and supply.floor is None,
    )


@pages.route("/supplies/new", methods=["GET", "POST"])
@needs("supply.described")
def new_supply() -> Response:
    form = NewSupplyForm()
    form.offer(words())
    if form.validate_on_submit():
        outcome = publish(form, "supply", None)
        told = words().gettext("Written. Say now how much of it should always be there.")
        if written(outcome, told):
            key = other(Subject(str(form.entry_id.data)))
            return redirect(url_for("supplies.describe", key=key), 303)
    page = NewPage(
        form=form, others=tuple(_row(look) for look in not_yet_there(desk().journal))
    )
    status = 422 if form.is_submitted() else 200
    return show("supply_new.html", page=page, nav="shelf", status=status)


@pages.get("/supplies/<key>")
@needs("read")
def supply(key: str) -> Response:
    look = _known(key)
    state = look.supply
    page = SupplyPage(
        row=_row(look),
        lots=_lots(state),
        kept=kept(words(), state.what, state),
        describe_url=url_for("supplies.describe", key=state.id),
        receive_url=url_for("receive.receive", what=page_of(look), supply=state.id),
        order_url=f"/orders/place?supply={state.id}",
        may_describe=_may_describe(),
    )
    return show("supply.html", page=page, nav="shelf")


def _known(key: str) -> SupplyLook:
    look = see_supply(desk().journal, key)
    if look is None:
        abort(404)
    return look


def _lots(supply: SupplyState) -> tuple[LotRow, ...]:
    """Return what stands on the shelves of a supply, the oldest first."""
    return tuple(
        LotRow(name=look.lot.name, left=_left(look), url=f"/lots/{look.lot.id}")
        for look in lots_on_hand(desk().journal)
        if look.lot.substance == supply.id
    )


def _left(look: LotLook) -> str:
    return amount_text(words(), look.lot.what, look.lot.measure, look.left)


@pages.route("/supplies/<key>/describe", methods=["GET", "POST"])
@needs("supply.described")
def describe(key: str) -> Response:
    look = _known(key)
    state = look.supply
    form = _form(state)
    form.offer(words(), state, _sellers(look))
    if form.validate_on_submit():
        outcome = publish(form, "supply", state.id, **_fixed(state))
        row = _row(_known(key))
        if written(outcome, words().gettext("%(name)s is described.", name=row.name)):
            return redirect(row.url, 303)
    page = FormPage(
        form=form,
        row=_row(look),
        hints=usual(words(), look),
        counted_in=_counted_in(state),
    )
    status = 422 if form.is_submitted() else 200
    return show("supply_form.html", page=page, nav="shelf", status=status)


def _form(supply: SupplyState) -> SupplyForm:
    """Return the form that fits, with what stands."""
    form = form_of(supply)
    if supply.edition is None:
        return form()
    said = content_of(desk().journal, supply.id, supply.edition)
    return edit(form, supply, supply.id, **rows_said(said))


def _sellers(look: SupplyLook) -> tuple[SupplierState, ...]:
    """Return the suppliers in use, and the one it is from though it is not in use any more."""
    found: tuple[SupplierState, ...] = desk().journal.listed("supplier")
    if look.supplier is None or any(one.id == look.supplier.id for one in found):
        return found
    return (*found, look.supplier)


def _fixed(supply: SupplyState) -> dict[str, Any]:
    """Return the parts of the body that say which supply it is."""
    if supply.what in OTHER_SUPPLIES:
        of = supply.id.partition(":")[2]
        return {"what": supply.what, "supply": of, "measure": supply.measure}
    if supply.what == "alum":
        return {"what": supply.what, "salt": supply.salt}
    return {"what": supply.what} | ({"paper": str(supply.paper)} if supply.paper else {})


def _counted_in(supply: SupplyState) -> str:
    if supply.measure == "sheets":
        return words().gettext("full sheets")
    return words().gettext("pieces")
