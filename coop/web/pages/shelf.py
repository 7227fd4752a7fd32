"""Shelf: what is left of alum and paper; receive a lot, weigh ten spoons of it."""

from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField
from wtforms.validators import InputRequired, Optional

from coop.actions.see_shelf import LotLook, LotMove, look_at_lots, see_lot_moves, see_shelf
from coop.ids import Subject
from coop.ledger.accounts import QUARTERS, UG_PER_G
from coop.ledger.states import LotState, StudioState
from coop.units.kinds import FAMILIES
from coop.units.table import UNITS
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import EntryForm, Happened, options, written
from coop.web.i18n import N_
from coop.web.page import desk, face, known, needs, show, words, writing
from coop.web.salt import SPOONS

pages = Blueprint("shelf", __name__)

SPOONS_USUAL = "10"
WEIGHTS = options((("g", "g"), ("kg", "kg"), ("lb", "lb"), ("oz", "oz")))


class ReceiveAlumForm(EntryForm, Happened):
    kind: ClassVar[str] = "lot.received"

    studio = RadioField(N_("Studio"), validators=[InputRequired()])
    name = StringField(
        N_("Name of the lot"),
        validators=[InputRequired()],
        description=N_("What you write on the tub, for example AS-24."),
    )
    salt = RadioField(N_("Which salt"), validators=[InputRequired()])
    weight_typed = StringField(N_("Weight"), name="weight.typed", validators=[InputRequired()])
    weight_unit = SelectField(N_("Unit"), name="weight.unit", choices=WEIGHTS, default="kg")
    supplier = StringField(N_("Supplier"), validators=[Optional()])


class ReceivePaperForm(EntryForm, Happened):
    kind: ClassVar[str] = "lot.received"

    studio = RadioField(N_("Studio"), validators=[InputRequired()])
    name = StringField(N_("Name of the lot"), validators=[InputRequired()])
    paper = RadioField(N_("Which paper"), validators=[InputRequired()])
    sheet_count = StringField(
        N_("Full sheets"),
        validators=[InputRequired()],
        description=N_("Count them: a ream is 500 sheets here and 480 there."),
    )
    supplier = StringField(N_("Supplier"), validators=[Optional()])


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
    paper: tuple[LotRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPage:
    studios: tuple[StudioRows, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceivePage:
    form: EntryForm
    what: str
    card: SafetyCard
    nothing_to_choose: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoonPage:
    form: SpoonForm
    lot: LotRow
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


@pages.get("/shelf")
@needs("read")
def shelf() -> Response:
    studios = tuple(
        StudioRows(
            name=one.studio.name,
            alum=tuple(_row(look) for look in one.alum),
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
        unweighed=lot.what == "alum" and lot.spoon is None,
    )


def _what(look: LotLook) -> str:
    if look.lot.salt:
        return say.choice(words(), "salt_short", look.lot.salt)
    return look.paper.name if look.paper else ""


def _left(look: LotLook) -> str:
    if look.lot.salt:
        return say.grams(words(), look.left_g)
    return say.full_sheets(words(), look.left_sheets)


def _spoon(lot: LotState) -> str:
    """Say what a level spoon of the lot weighs, in the spoon the house means."""
    if lot.salt is None:
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


@pages.route("/shelf/receive/<any(alum, paper):what>", methods=["GET", "POST"])
@needs("lot.received")
def receive(what: str) -> Response:
    form = ReceiveAlumForm() if what == "alum" else ReceivePaperForm()
    choices = _offer(form, what)
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, what=what)
        if written(outcome, words().gettext("Received.")):
            return redirect(url_for("shelf.shelf"), 303)
        _offer(form, what)
        status = 422
    elif request.method == "POST":
        status = 422
    page = ReceivePage(
        form=form,
        what=what,
        card=safety_card(words(), "weigh-spoons", _only_studio()),
        nothing_to_choose=not choices,
    )
    return show("receive.html", page=page, nav="shelf", status=status)


def _offer(form: Any, what: str) -> bool:
    """Fill in the choices; a single one is chosen already."""
    journal = desk().journal
    form.studio.choices = options((one.id, one.name) for one in journal.listed("studio"))
    if what == "alum":
        form.salt.choices = options(say.choices(words(), "salt"))
        things = form.salt.choices
    else:
        form.paper.choices = options((one.id, one.name) for one in journal.listed("paper"))
        things = form.paper.choices
        _only(form.paper)
    _only(form.studio)
    return bool(form.studio.choices and things)


def _only_studio() -> StudioState | None:
    """Return the studio, where there is only one whose numbers could be meant."""
    studios = desk().journal.listed("studio")
    return studios[0] if len(studios) == 1 else None


def _only(field: Any) -> None:
    if len(field.choices) == 1 and not field.data:
        field.data = field.choices[0].value


@pages.route("/lots/<lot>/spoons", methods=["GET", "POST"])
@needs("lot.spoon_weighed")
def spoons(lot: str) -> Response:
    state: LotState = known("lot", lot)
    if state.salt is None:
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
    card = safety_card(words(), "weigh-spoons", studio)
    page = SpoonPage(form=form, lot=_row(look), card=card)
    return show("spoons.html", page=page, nav="shelf", status=status)


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
    )
    return show("lot.html", page=page, nav="shelf")


def _move_row(one: LotMove, look: LotLook) -> MoveRow:
    if look.lot.salt:
        amount = say.grams(words(), abs(one.amount) / UG_PER_G)
    else:
        amount = say.full_sheets(words(), abs(one.amount) / QUARTERS["full"])
    if one.amount < 0:
        amount = f"\u2212{amount}"
    told = {
        "supplier": words().gettext("from the supplier"),
        "bath": words().gettext("into %(bath)s", bath=one.into),
        "stack": words().gettext("through a bath, to a stack"),
    }.get(one.sort, one.sort)
    url = f"/baths/{one.subject}" if one.sort == "bath" else ""
    return MoveRow(amount=amount, told=told, url=url)
