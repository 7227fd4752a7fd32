"""What is done with a lot: opened, spoons weighed, moved, put right, priced, cut."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, ClassVar, Final

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField
from wtforms.validators import InputRequired

from coop.actions.see_lots import CutPlan, lots_alike, plan_cut
from coop.actions.see_shelf import LotLook, look_at_lots
from coop.ids import Subject
from coop.ledger.accounts import QUARTERS, UG_PER_G, UL_PER_ML
from coop.ledger.measure import spoon_default
from coop.ledger.schema import Refused
from coop.ledger.states import LotState, StudioState
from coop.units.kinds import FAMILIES
from coop.units.number import wire
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card_of
from coop.web.fields import NumberField
from coop.web.forms import EntryForm, Happened, Noted, options, written
from coop.web.i18n import N_
from coop.web.lots import LotSaid, house_spoon, is_spooned, lot_said, much
from coop.web.page import desk, known, needs, show, words, writing
from coop.web.salt import SPOONS

pages = Blueprint("lot_acts", __name__)

SPOONS_USUAL = "10"
WEIGHTS = options((("g", "g"), ("kg", "kg"), ("lb", "lb"), ("oz", "oz")))
POURED = options((("ml", "mL"), ("l", "L")))
UNITS_OF: Final = {"weight": WEIGHTS, "volume": POURED}
ALL, PART = "all", "part"
COUNT_DIGITS_MAX: Final = 9
"""A count of sheets with more digits is read by nobody."""


class OpenForm(EntryForm, Happened):
    kind: ClassVar[str] = "lot.opened"

    tare_typed = StringField(
        N_("The empty tub weighs"),
        name="tare.typed",
        description=N_("If you know it: whoever counts takes it off. Leave it empty if not."),
    )
    tare_unit = SelectField(N_("Unit"), name="tare.unit", choices=WEIGHTS, default="g")


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


class MuchForm(EntryForm, Happened, Noted):
    """An amount of a lot: by weight or volume, or counted."""

    amount_typed = StringField(N_("How much"), name="amount.typed")
    amount_unit = SelectField(N_("Unit"), name="amount.unit")
    count = NumberField(N_("How many"))

    def measure(self, lot: LotState) -> None:
        """Ask what the lot is measured in, and nothing else."""
        if lot.measure in UNITS_OF:
            del self.count
            self.amount_unit.choices = UNITS_OF[lot.measure]
        else:
            del self.amount_typed, self.amount_unit
            if lot.measure == "sheets":
                self.count.description = N_("Full sheets; a half sheet counts 0.5.")


class MoveForm(MuchForm):
    kind: ClassVar[str] = "lot.moved"
    beside: ClassVar[frozenset[str]] = frozenset({"how"})

    how = RadioField(
        N_("All of it?"),
        choices=options(()),
        default=ALL,
        validators=[InputRequired()],
    )
    studio = RadioField(N_("To which studio?"), validate_choice=False)
    into = SelectField(
        N_("Put together with a lot there?"),
        description=N_("Only what is the same and as old should stand in one tub."),
        validate_choice=False,
    )

    def validate(self, extra_validators: Any = None) -> bool:
        """Ask how much a part is: sent without it, all would be moved."""
        fit = super().validate(extra_validators)
        name = "amount" if "amount_typed" in self else "count"
        field = self[f"{name}_typed"] if name == "amount" else self[name]
        if self.how.data == PART and not str(field.data or "").strip() and not field.errors:
            self.take(Refused(field=name, code="missing"))
            return False
        return bool(fit)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if self.how.data == PART or name.partition(".")[0] not in ("amount", "count"):
                yield name, value


class AdjustForm(MuchForm):
    kind: ClassVar[str] = "lot.adjusted"

    way = RadioField(N_("Which way?"), validators=[InputRequired()])
    cause = RadioField(N_("Why?"), validators=[InputRequired()])


class PriceForm(EntryForm):
    kind: ClassVar[str] = "lot.priced"

    price = NumberField(
        N_("Price of all of it"),
        validators=[InputRequired()],
        description=N_("What all packs of this lot cost together, in the house's money."),
    )


class CutForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "lot.cut"

    paper = RadioField(N_("To which sheets?"), validators=[InputRequired()])
    sheet_count = StringField(N_("Parent sheets that are cut"), validators=[InputRequired()])
    made_count = StringField(
        N_("Sheets that came out"),
        description=N_("Leave it empty if every parent sheet gave what is said above."),
    )
    name = StringField(
        N_("Name of the new lot"),
        validators=[InputRequired()],
        description=N_("What you write on the parcel."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ActPage:
    """
    A form about one lot.

    Attributes:
        fields: Names of the form's fields in their order, each with the field and values
            beside which it is shown, as `data-beside` has them; empty for always.
        back: What is read back before it is written.
        card: What to take care of; None where nothing can hurt.
        stuck: Why there is nothing to fill in; empty where there is.
    """

    title: str
    lead: str
    lot: LotSaid
    form: EntryForm
    fields: tuple[tuple[str, str], ...]
    back: str
    card: SafetyCard | None = None
    stuck: str = ""


def _look(state: LotState) -> LotLook:
    (look,) = look_at_lots(desk().journal, (state,))
    return look


def _shown(state: LotState, page: dict[str, Any]) -> Response:
    lot = lot_said(words(), _look(state), spoon=house_spoon())
    status = 422 if request.method == "POST" else 200
    return show("lot_act.html", page=ActPage(lot=lot, **page), nav="shelf", status=status)


def _wrote(form: EntryForm, done: str, **fixed: Any) -> Response | None:
    """Write an entry about a lot and go back to it; None when it was refused."""
    with writing() as here:
        outcome = form.record(here, **fixed)
    if not written(outcome, done):
        return None
    return redirect(url_for("lots.lot", lot=fixed["lot"]), 303)


@pages.route("/lots/<lot>/open", methods=["GET", "POST"])
@needs("lot.opened")
def open_it(lot: str) -> Response:
    state: LotState = known("lot", lot)
    form = OpenForm()
    if form.validate_on_submit():
        done = _wrote(form, words().gettext("Opened. Write the day on it."), lot=lot)
        if done:
            return done
    page = {
        "title": words().gettext("Open %(lot)s", lot=state.name),
        "lead": words().gettext("From today its days once opened count."),
        "form": form,
        "fields": (("tare.typed", ""), ("tare.unit", ""), ("happened_at", "")),
        "back": words().gettext("%(lot)s: opened", lot=state.name),
        "card": _card(state),
    }
    return _shown(state, page)


def _card(state: LotState) -> SafetyCard | None:
    """Return what to take care of when a powder is opened or weighed."""
    if not is_spooned(state):
        return None
    studio: StudioState | None = desk().journal.state("studio", state.studio)
    return safety_card_of(words(), (state.what,), studio)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoonPage:
    """Weighing spoons; `range_text` says what a spoon of such a powder weighs elsewhere."""

    form: SpoonForm
    lot: LotSaid
    range_text: str
    card: SafetyCard | None


@pages.route("/lots/<lot>/spoons", methods=["GET", "POST"])
@needs("lot.spoon_weighed")
def spoons(lot: str) -> Response:
    state: LotState = known("lot", lot)
    if not is_spooned(state):
        abort(404)
    form = SpoonForm()
    form.spoon.choices = options((code, say.unit(words(), code)) for code in SPOONS)
    if not form.is_submitted():
        form.spoon.data = FAMILIES["tbsp"][house_spoon()]
    if form.validate_on_submit():
        told = words().gettext("Weighed. Every bath from this lot is reckoned anew.")
        done = _wrote(form, told, lot=lot)
        if done:
            return done
    page = SpoonPage(
        form=form,
        lot=lot_said(words(), _look(state), spoon=house_spoon()),
        range_text=_usual_spoon(state),
        card=_card(state),
    )
    status = 422 if request.method == "POST" else 200
    return show("spoons.html", page=page, nav="shelf", status=status)


def _usual_spoon(lot: LotState) -> str:
    """Say what a level US tablespoon of such a powder weighs by the published range."""
    usual = spoon_default(lot.what)
    return words().gettext(
        "A US tablespoon of %(powder)s weighs %(low)s to %(high)s g.",
        powder=say.choice(words(), "supply", lot.what),
        low=words().number(usual.low),
        high=words().number(usual.high),
    )


@pages.route("/lots/<lot>/move", methods=["GET", "POST"])
@needs("lot.moved")
def move(lot: str) -> Response:
    state: LotState = known("lot", lot)
    look = _look(state)
    form = MoveForm()
    form.measure(state)
    somewhere = _offer(form, state)
    if form.validate_on_submit():
        fixed = _moved(form, look)
        done = _wrote(form, words().gettext("Moved."), lot=lot, **fixed)
        if done:
            return done
    page = {
        "title": words().gettext("Move %(lot)s", lot=state.name),
        "lead": "",
        "form": form,
        "fields": (
            ("studio", ""),
            ("how", ""),
            *((name, f"how={PART}") for name in _much_fields(state)),
            ("into", ""),
            ("happened_at", ""),
            ("note", ""),
        ),
        "back": words().gettext("%(lot)s: {how}, to {studio}", lot=state.name),
        "stuck": ""
        if somewhere
        else words().gettext("There is no other studio to move it to."),
    }
    return _shown(state, page)


def _much_fields(lot: LotState) -> tuple[str, ...]:
    return ("amount.typed", "amount.unit") if lot.measure in UNITS_OF else ("count",)


def _offer(form: MoveForm, state: LotState) -> bool:
    """Offer other studios, and lots of the same supply that are not used up, if there are."""
    journal = desk().journal
    names = {one.id: one.name for one in journal.listed("studio")}
    others = [(one, name) for one, name in names.items() if one != state.studio]
    form.studio.choices = options(others)
    form.how.choices = options(
        ((ALL, words().gettext("all of it")), (PART, words().gettext("a part")))
    )
    alike = [
        (one.id, f"{one.name}, {names.get(one.studio, '')}")
        for one in lots_alike(journal, state)
    ]
    own = "", words().gettext("no, it stays a lot of its own")
    form.into.choices = options((own, *alike))
    if len(others) == 1 and not form.studio.data:
        form.studio.data = others[0][0]
    return bool(others or alike)


def _moved(form: MoveForm, look: LotLook) -> dict[str, Any]:
    """Return what follows from the choices: a lot's own studio, and all that is left."""
    taker: LotState | None = desk().journal.state("lot", Subject(form.into.data or ""))
    if taker is None:
        return {}
    fixed: dict[str, Any] = {"studio": taker.studio}
    return fixed | (_all_left(look) if form.how.data == ALL else {})


def _all_left(look: LotLook) -> dict[str, Any]:
    """Return all that is left of a lot as an amount that is said."""
    lot, left = look.lot, max(0, look.left)
    if lot.measure in UNITS_OF:
        per, unit = (UG_PER_G, "g") if lot.measure == "weight" else (UL_PER_ML, "ml")
        n = wire(Fraction(left, per))
        return {"amount": {"typed": n, "n": n, "unit": unit}}
    each = QUARTERS["full"] if lot.measure == "sheets" else 1
    return {"count": wire(Fraction(left, each))}


@pages.route("/lots/<lot>/adjust", methods=["GET", "POST"])
@needs("set-up")
def adjust(lot: str) -> Response:
    state: LotState = known("lot", lot)
    form = AdjustForm()
    form.measure(state)
    form.way.choices = options(
        (
            ("out", words().gettext("less is there than written")),
            ("in", words().gettext("more is there than written")),
        )
    )
    form.cause.choices = options(say.choices(words(), "gap_cause"))
    if form.validate_on_submit():
        done = _wrote(form, words().gettext("Put right. What stood before is kept."), lot=lot)
        if done:
            return done
    much_said = "{count}" if state.measure not in UNITS_OF else "{amount.typed} {amount.unit}"
    page = {
        "title": words().gettext("Put right what is left of %(lot)s", lot=state.name),
        "lead": words().gettext(
            "By the ledger: %(left)s. Count it first if you can: a count says what was seen.",
            left=much(words(), state, _look(state).left),
        ),
        "form": form,
        "fields": (
            ("way", ""),
            *((name, "") for name in _much_fields(state)),
            ("cause", ""),
            ("happened_at", ""),
            ("note", ""),
        ),
        "back": f"{state.name}: {{way}}, {much_said}, {{cause}}",
    }
    return _shown(state, page)


@pages.route("/lots/<lot>/price", methods=["GET", "POST"])
@needs("lot.priced")
def price(lot: str) -> Response:
    state: LotState = known("lot", lot)
    form = PriceForm()
    if request.method == "GET" and state.price is not None:
        form.price.typed = str(state.price)
    if form.validate_on_submit():
        done = _wrote(form, words().gettext("Written."), lot=lot)
        if done:
            return done
    page = {
        "title": words().gettext("Price of %(lot)s", lot=state.name),
        "lead": words().gettext("%(much)s came in.", much=much(words(), state, state.received)),
        "form": form,
        "fields": (("price", ""),),
        "back": words().gettext("%(lot)s cost {price}", lot=state.name),
    }
    return _shown(state, page)


@pages.route("/lots/<lot>/cut", methods=["GET", "POST"])
@needs("lot.cut")
def cut(lot: str) -> Response:
    state: LotState = known("lot", lot)
    if state.what != "paper":
        abort(404)
    plans = {str(one.paper.id): one for one in plan_cut(desk().journal, state)}
    form = CutForm()
    form.paper.choices = options((key, _plan_text(one)) for key, one in plans.items())
    if form.validate_on_submit():
        done = _cut(form, state, plans)
        if done:
            return done
    page = {
        "title": words().gettext("Cut sheets of %(lot)s", lot=state.name),
        "lead": words().gettext("Straight cuts, all sheets the same way round."),
        "form": form,
        "fields": (
            ("paper", ""),
            ("sheet_count", ""),
            ("made_count", ""),
            ("name", ""),
            ("happened_at", ""),
            ("note", ""),
        ),
        "back": words().gettext(
            "{sheet_count} parent sheets of %(lot)s cut to {paper}: {name}", lot=state.name
        ),
        "stuck": _nothing_smaller(plans),
    }
    return _shown(state, page)


def _plan_text(plan: CutPlan) -> str:
    """Say how many sheets come out of a parent, and what of it is offcut."""
    return words().gettext(
        "%(paper)s (%(length)s by %(width)s mm): %(count)s out of each, offcut %(area)s m² "
        "(%(percent)s %%)",
        paper=plan.paper.name,
        length=words().number(plan.paper.length_mm),
        width=words().number(plan.paper.width_mm),
        count=plan.count,
        area=words().number(plan.offcut_m2, 3),
        percent=words().number(100 * plan.offcut_part),
    )


def _cut(form: CutForm, state: LotState, plans: dict[str, CutPlan]) -> Response | None:
    """Write sheets cut; the number that came out follows where nobody typed it."""
    fixed: dict[str, Any] = {"lot": state.id}
    parents = str(form.sheet_count.data or "").strip()
    if not str(form.made_count.data or "").strip():
        if not parents.isdecimal() or len(parents) > COUNT_DIGITS_MAX:
            form.take(Refused(field="sheet_count", code="not-a-number"))
            return None
        fixed["made_count"] = str(int(parents) * plans[str(form.paper.data)].count)
    return _wrote(form, words().gettext("Cut. The sheets are a lot of their own."), **fixed)


def _nothing_smaller(plans: dict[str, CutPlan]) -> str:
    if plans:
        return ""
    return words().gettext(
        "No paper that comes out of these sheets is described. Describe the cut sheets as a "
        "paper first."
    )
