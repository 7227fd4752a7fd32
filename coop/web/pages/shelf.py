"""Shelf: what is left of alum, powders and paper; weigh ten spoons of a lot."""

from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import SelectField, StringField
from wtforms.validators import InputRequired

from coop.actions.see_faults import see_faults
from coop.actions.see_shelf import LotLook, LotMove, look_at_lots, see_lot_moves, see_shelf
from coop.ids import Subject
from coop.ledger.accounts import QUARTERS, UG_PER_G
from coop.ledger.measure import spoon_default
from coop.ledger.states import LotState, StudioState
from coop.units.kinds import FAMILIES
from coop.units.table import UNITS
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.forms import EntryForm, Happened, options, written
from coop.web.i18n import N_
from coop.web.page import desk, face, known, needs, show, words, writing
from coop.web.powder import fine_grams
from coop.web.salt import SPOONS
from coop.web.told import bath_url

pages = Blueprint("shelf", __name__)

SPOONS_USUAL = "10"
WEIGHTS = options((("g", "g"), ("kg", "kg"), ("lb", "lb"), ("oz", "oz")))


class SpoonForm(EntryForm, Happened):
    kind: ClassVar[str] = "lot.spoon_weighed"

    spoon_count = StringField(
        N_("Level spoons weighed together"),
        validators=[InputRequired()],
        default=SPOONS_USUAL,
    )
    spoon = SelectField(N_("Which spoon"), validators=[InputRequired()])
    weight_typed = StringField(
        N_("They weigh"), name="weight.typed", validators=[InputRequired()]
    )
    weight_unit = SelectField(N_("Unit"), name="weight.unit", choices=WEIGHTS, default="g")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot as the shelf shows it."""

    id: str
    name: str
    told: str
    left: str
    received: str
    spoon: str
    unweighed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRows:
    name: str
    alum: tuple[LotRow, ...]
    powders: tuple[LotRow, ...]
    paper: tuple[LotRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPage:
    studios: tuple[StudioRows, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoonPage:
    """Weighing spoons; `range_text` says what a spoon of such a powder weighs elsewhere."""

    form: SpoonForm
    lot: LotRow
    range_text: str
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveRow:
    amount: str
    told: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPage:
    lot: LotRow
    facts: tuple[tuple[str, str], ...]
    moves: tuple[MoveRow, ...]
    older_count: int
    faults: FaultsSaid | None


@pages.get("/shelf")
@needs("read")
def shelf() -> Response:
    studios = tuple(
        StudioRows(
            name=one.studio.name,
            alum=tuple(_row(look) for look in one.alum),
            powders=tuple(_row(look) for look in one.powders),
            paper=tuple(_row(look) for look in one.paper),
        )
        for one in see_shelf(desk().journal)
    )
    return show("shelf.html", page=ShelfPage(studios=studios), nav="shelf")


def _row(look: LotLook) -> LotRow:
    lot = look.lot
    return LotRow(
        id=lot.id,
        name=lot.name,
        told=_what(look),
        left=_left(look),
        received=say.day_by(words(), lot.received_at, face(lot.received_by).name),
        spoon=_spoon(lot),
        unweighed=_is_powder(lot) and lot.spoon is None,
    )


def _is_powder(lot: LotState) -> bool:
    return lot.what != "paper"


def _what(look: LotLook) -> str:
    lot = look.lot
    if lot.salt:
        return say.choice(words(), "salt_short", lot.salt)
    if lot.what == "paper":
        chalk = _chalk(lot)
        name = look.paper.name if look.paper else ""
        return ", ".join(part for part in (name, chalk) if part)
    if lot.what == "alum":
        return ""
    powder = say.choice(words(), "powder", lot.what)
    if not lot.carrageenan:
        return powder
    return f"{powder}, {say.choice(words(), 'carrageenan', lot.carrageenan)}"


def _chalk(lot: LotState) -> str:
    """Say the chalk of a lot of paper, where the lot says it."""
    if lot.chalk_g_per_m2:
        return words().gettext(
            "%(chalk)s g/m² of chalk", chalk=words().number(lot.chalk_g_per_m2, 1)
        )
    return say.choice(words(), "chalk", lot.chalk) if lot.chalk else ""


def _left(look: LotLook) -> str:
    if look.lot.salt:
        return say.grams(words(), look.left_g)
    if _is_powder(look.lot):
        return fine_grams(words(), look.left_g)
    return say.full_sheets(words(), look.left_sheets)


def _spoon(lot: LotState) -> str:
    """Say what a level spoon of the lot weighs, in the spoon the house means."""
    if not _is_powder(lot):
        return ""
    if lot.spoon is None:
        return words().gettext("Nobody has weighed a spoon of it.")
    spoon = FAMILIES["tbsp"][_house_spoon()]
    weight_g = lot.spoon.g_per_ml * float(UNITS[spoon].factor)
    return words().gettext(
        "%(weight)s g a level %(spoon)s, weighed %(day)s by %(who)s",
        weight=words().number(weight_g, 1),
        spoon=say.unit(words(), spoon),
        day=words().day(lot.spoon.at),
        who=face(lot.spoon.by).name,
    )


def _house_spoon() -> str:
    house = desk().journal.state("house", Subject("house"))
    return house.spoon if house else "us"


def _card_for(what: str, studio: StudioState | None) -> SafetyCard:
    """Return what to take care of when a spoon of alum, or of another powder, is weighed."""
    return safety_card(words(), "weigh-spoons" if what == "alum" else "weigh-powder", studio)


@pages.route("/lots/<lot>/spoons", methods=["GET", "POST"])
@needs("lot.spoon_weighed")
def spoons(lot: str) -> Response:
    state: LotState = known("lot", lot)
    if not _is_powder(state):
        abort(404)
    form = SpoonForm()
    form.spoon.choices = options((code, say.unit(words(), code)) for code in SPOONS)
    if not form.is_submitted():
        form.spoon.data = FAMILIES["tbsp"][_house_spoon()]
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, lot=lot)
        done = words().gettext("Weighed. Every bath from this lot is reckoned anew.")
        if written(outcome, done):
            return redirect(url_for("shelf.lot", lot=lot), 303)
        status = 422
    elif request.method == "POST":
        status = 422
    (look,) = look_at_lots(desk().journal, (state,))
    studio: StudioState = desk().journal.state("studio", state.studio)
    page = SpoonPage(
        form=form,
        lot=_row(look),
        range_text=_usual_spoon(state),
        card=_card_for(state.what, studio),
    )
    return show("spoons.html", page=page, nav="shelf", status=status)


def _usual_spoon(lot: LotState) -> str:
    """Say what a level US tablespoon of such a powder weighs by the published range."""
    usual = spoon_default(lot.what)
    return words().gettext(
        "A US tablespoon of %(powder)s weighs %(low)s to %(high)s g.",
        powder=say.choice(words(), "bath", "alum")
        if lot.what == "alum"
        else say.choice(words(), "powder", lot.what),
        low=words().number(usual.low),
        high=words().number(usual.high),
    )


@pages.get("/lots/<lot>")
@needs("read")
def lot(lot: str) -> Response:
    state: LotState = known("lot", lot)
    journal = desk().journal
    (look,) = look_at_lots(journal, (state,))
    row = _row(look)
    studio: StudioState | None = journal.state("studio", state.studio)
    facts = (
        (words().gettext("On hand"), row.left),
        (words().gettext("What"), row.told),
        (words().gettext("Received"), row.received),
        (words().gettext("Supplier"), state.supplier),
        (words().gettext("Studio"), studio.name if studio else ""),
    )
    moves, older_count = see_lot_moves(journal, state)
    page = LotPage(
        lot=row,
        facts=facts,
        moves=tuple(_move_row(one, look) for one in moves),
        older_count=older_count,
        faults=_faults(state),
    )
    return show("lot.html", page=page, nav="shelf")


def _faults(lot: LotState) -> FaultsSaid | None:
    """Say how the sheets of a paper lot came out."""
    if lot.what != "paper":
        return None
    return faults_said(words(), see_faults(desk().journal, "lot", lot.id))


def _move_row(one: LotMove, look: LotLook) -> MoveRow:
    if _is_powder(look.lot):
        amount = fine_grams(words(), abs(one.amount) / UG_PER_G)
    else:
        amount = say.full_sheets(words(), abs(one.amount) / QUARTERS["full"])
    if one.amount < 0:
        amount = f"\u2212{amount}"
    told = {
        "supplier": words().gettext("from the supplier"),
        "bath": words().gettext("into %(bath)s", bath=one.bath.name if one.bath else ""),
        "stack": words().gettext("through a bath, to a stack"),
    }.get(one.sort, one.sort)
    url = bath_url(one.bath) if one.bath else ""
    return MoveRow(amount=amount, told=told, url=url)
