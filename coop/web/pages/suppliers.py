"""Suppliers: how to order there, how many sheets a ream holds, how long it takes."""

from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, redirect, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, StringField

from coop.ledger.states import SupplierState
from coop.people.may import may
from coop.web import words as say
from coop.web.editions import EditionForm, edit, publish
from coop.web.fields import NEEDED
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, show, who, words
from coop.web.stock import days_text
from coop.web.supplying import Fact

pages = Blueprint("suppliers", __name__)


class SupplierForm(EditionForm):
    kind: ClassVar[str] = "supplier.described"

    name = StringField(N_("Name"), [NEEDED])
    order_by = StringField(
        N_("How to order"),
        description=N_("Where to write or ring, our customer number, the least they send."),
    )
    ream_sheets = StringField(
        N_("A ream holds"),
        description=N_("Count one: 500 sheets here and 480 there. Only where paper is sold."),
    )
    days_to_arrive = StringField(
        N_("Days to arrive"),
        description=N_("Holds until orders have shown how long it takes."),
    )
    in_use = RadioField(N_("Still bought from"), default="yes", validate_choice=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierRow:
    name: str
    facts: tuple[Fact, ...]
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliersPage:
    rows: tuple[SupplierRow, ...]
    may_describe: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierPage:
    """A supplier being described; `name` is empty for a new one."""

    form: SupplierForm
    name: str


@pages.get("/suppliers")
@needs("read")
def suppliers() -> Response:
    states: tuple[SupplierState, ...] = desk().journal.listed("supplier", live=False)
    by_use = sorted(states, key=lambda one: (not one.in_use, one.name.casefold(), one.id))
    page = SuppliersPage(
        rows=tuple(_row(one) for one in by_use),
        may_describe=may(who().roles, "supplier.described"),
    )
    return show("suppliers.html", page=page, nav="shelf")


def _row(supplier: SupplierState) -> SupplierRow:
    ream = supplier.ream_sheets
    return SupplierRow(
        name=supplier.name,
        facts=(
            (words().gettext("How to order"), supplier.order_by),
            (words().gettext("A ream"), say.full_sheets(words(), ream) if ream else ""),
            (words().gettext("Arrives"), days_text(words(), supplier.days_to_arrive)),
            (
                words().gettext("In use"),
                "" if supplier.in_use else words().gettext("not any more"),
            ),
        ),
        url=url_for("suppliers.supplier", supplier=supplier.id),
    )


@pages.route("/suppliers/new", methods=["GET", "POST"])
@needs("supplier.described")
def new_supplier() -> Response:
    return _supplier(SupplierForm(), None)


@pages.route("/suppliers/<supplier>", methods=["GET", "POST"])
@needs("supplier.described")
def supplier(supplier: str) -> Response:
    state: SupplierState = known("supplier", supplier)
    return _supplier(edit(SupplierForm, state, state.id), state)


def _supplier(form: SupplierForm, state: SupplierState | None) -> Response:
    form.in_use.choices = options(say.choices(words(), "yes_no"))
    subject = state.id if state else None
    if form.validate_on_submit():
        fixed = {"supplier": subject} if subject else {}
        outcome = publish(form, "supplier", subject, **fixed)
        name = str(form.name.data).strip()
        if written(outcome, words().gettext("%(name)s is described.", name=name)):
            return redirect(url_for("suppliers.suppliers"), 303)
    page = SupplierPage(form=form, name=state.name if state else "")
    status = 422 if form.is_submitted() else 200
    return show("supplier_form.html", page=page, nav="shelf", status=status)
