"""A paper: its parent sheet, its weight, the chalk in it and the strength it wants."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import ClassVar

from flask import Blueprint, flash, jsonify, redirect, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField

from coop.actions.chalk import chalk_of_paper
from coop.actions.learn_pickup import PickupLook, see_pickups
from coop.actions.see_faults import see_faults
from coop.actions.set_up import weight_from_lb
from coop.ledger.schema import Refused
from coop.ledger.states import HouseState, PaperState
from coop.ledger.table import HOUSE
from coop.science.paper import BASIS_WEIGHT_MAX_LB
from coop.units.measured import G_PER_L
from coop.units.number import unwire, wire
from coop.web import words as say
from coop.web.editions import EditionForm, edit, publish
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.fields import LENGTHS, NEEDED, MeasuredField, NumberField, UnitField
from coop.web.forms import EntryForm, options, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, new_id, show, words, writing
from coop.web.paper_notes import PickupSaid, paper_chalk_text, pickup_hint, pickup_said

pages = Blueprint("papers", __name__)

GRADES: Mapping[str, str] = MappingProxyType(
    {
        "text": N_("text, book, offset"),
        "cover": N_("cover"),
        "bond": N_("bond, writing, ledger"),
        "bristol": N_("bristol"),
        "index": N_("index"),
        "tag": N_("tag, newsprint"),
        "blotting": N_("blotting"),
        "board": N_("board"),
    }
)
"""The grades of US basis weights, by their codes in `coop.science.paper`."""


class PaperForm(EditionForm):
    kind: ClassVar[str] = "paper.described"
    beside: ClassVar[frozenset[str]] = frozenset({"sheet_unit", "basis_weight_lb", "grade"})

    name = StringField(
        N_("Name"), [NEEDED], description=N_("What it is called on the shelf: P-31.")
    )
    length_typed = StringField(
        N_("Parent sheet, long side"),
        [NEEDED],
        name="length.typed",
        description=N_("The sheet as it is bought: full, half and quarter are cut from it."),
    )
    width_typed = StringField(N_("Parent sheet, short side"), [NEEDED], name="width.typed")
    length_unit = UnitField(
        N_("Measured in"),
        name="sheet_unit",
        units=LENGTHS,
        default="mm",
        validate_choice=False,
    )
    weight_g_per_m2 = NumberField(
        N_("Weight"), description=N_("Left empty it counts as 100 g/m², give or take.")
    )
    basis_weight_lb = NumberField(
        N_("Or its US basis weight"),
        description=N_("80 lb is one thing for text and nearly twice that for cover."),
    )
    grade = SelectField(N_("Of the grade"), validate_choice=False)
    chalk = RadioField(
        N_("Chalk in it"),
        [NEEDED],
        description=N_("Chalk eats alum. Archival papers mostly have it."),
        validate_choice=False,
    )
    chalk_g_per_m2 = NumberField(N_("How much chalk, if you know"))
    floor_g_per_l = MeasuredField(
        N_("Wants a bath of at least"),
        unit=G_PER_L,
        description=N_("Only if your own tests say so. Left empty, the house's lines hold."),
    )
    floor_salt = RadioField(N_("Of which salt"), validate_choice=False)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Say the one unit of length with both sides; a salt only with its strength."""
        for name, value in super()._pairs():
            if name != "floor_salt" or self.floor_g_per_l.data:
                yield name, value
        for side in ("length", "width"):
            yield f"{side}.unit", str(self.length_unit.data or "")

    def offer(self) -> None:
        """Fill the lists in the member's language."""
        grades = [(code, words().gettext(text)) for code, text in GRADES.items()]
        self.grade.choices = [("", words().gettext("Choose …")), *grades]
        self.chalk.choices = options(say.choices(words(), "chalk"))
        self.floor_salt.choices = options(say.choices(words(), "salt"))
        house: HouseState | None = desk().journal.state("house", HOUSE)
        if house is not None and not self.is_submitted() and not self.floor_salt.data:
            self.floor_salt.data = house.target_salt

    def weight_said(self) -> str:
        """Return the weight for the body: as typed, else from the basis weight, else empty."""
        if self.weight_g_per_m2.data:
            return str(self.weight_g_per_m2.data)
        pounds, grade = self.basis_weight_lb.data, self.grade.data
        if not pounds:
            return ""
        if grade not in GRADES:
            self.take(Refused(field="grade", code="missing"))
            return ""
        try:
            return weight_from_lb(unwire(pounds), grade)
        except ValueError:
            limits = (("low", "1"), ("high", f"{BASIS_WEIGHT_MAX_LB:g}"))
            self.take(Refused(field="basis_weight_lb", code="out-of-range", limits=limits))
            return ""


class PickupForm(EntryForm):
    """What readings show, taken over: the figures are the ledger's own, `shown` what was."""

    kind: ClassVar[str] = "pickup.learned"
    beside: ClassVar[frozenset[str]] = frozenset({"shown"})

    method = HiddenField()
    shown = HiddenField()


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperNotes:
    """What a paper takes of a bath; `url` and `entry_id` are for taking a figure over."""

    chalk: str
    pickups: tuple[PickupSaid, ...]
    hint: str
    url: str
    entry_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPage:
    form: PaperForm
    name: str
    weight: str
    faults: FaultsSaid | None
    notes: PaperNotes | None


@pages.route("/house/papers/new", methods=["GET", "POST"])
@needs("paper.described")
def new_paper() -> Response:
    return _paper(PaperForm(), None)


@pages.route("/house/papers/<paper>", methods=["GET", "POST"])
@needs("paper.described")
def paper(paper: str) -> Response:
    state: PaperState = known("paper", paper)
    return _paper(edit(PaperForm, state, state.id), state)


def _paper(form: PaperForm, state: PaperState | None) -> Response:
    form.offer()
    subject = state.id if state else None
    if form.validate_on_submit():
        weight = form.weight_said()
        fixed = ({"weight_g_per_m2": weight} if weight else {}) | (
            {"paper": subject} if subject else {}
        )
        outcome = form.refused or publish(form, "paper", subject, **fixed)
        name = str(form.name.data).strip()
        if written(outcome, words().gettext("%(name)s is described.", name=name)):
            return redirect(url_for("house.house"), 303)
    page = PaperPage(
        form=form,
        name=state.name if state else "",
        weight=_weight(form),
        faults=_faults(state),
        notes=_notes(state) if state else None,
    )
    status = 422 if form.is_submitted() else 200
    return show("paper_form.html", page=page, nav="house", status=status)


def _notes(paper: PaperState) -> PaperNotes:
    chalk = chalk_of_paper(paper, desk().journal.state("house", HOUSE))
    looks = see_pickups(desk().journal, paper)
    return PaperNotes(
        chalk=paper_chalk_text(words(), chalk) if chalk else "",
        pickups=tuple(pickup_said(words(), one) for one in looks),
        hint=pickup_hint(words()),
        url=url_for("papers.take_over", paper=paper.id),
        entry_id=new_id(),
    )


def _faults(paper: PaperState | None) -> FaultsSaid | None:
    if paper is None:
        return None
    return faults_said(words(), see_faults(desk().journal, "paper", paper.id))


def _weight(form: PaperForm) -> str:
    """Say what a basis weight comes to; empty while it is not typed."""
    pounds, grade = form.basis_weight_lb.data, form.grade.data
    if not pounds or grade not in GRADES:
        return ""
    try:
        weight = weight_from_lb(unwire(pounds), grade)
    except ValueError:
        return ""
    return words().gettext(
        "%(pounds)s lb %(grade)s is %(weight)s g/m².",
        pounds=form.basis_weight_lb.typed.strip(),
        grade=words().gettext(GRADES[grade]),
        weight=words().number(float(unwire(weight)), 1),
    )


@pages.post("/house/papers/weight")
@needs("paper.described")
def weight() -> Response:
    """Say what a basis weight comes to while it is being typed."""
    return jsonify({"figure": _weight(PaperForm())})


@pages.post("/house/papers/<paper>/pickup")
@needs("pickup.learned")
def take_over(paper: str) -> Response:
    """Take over what readings show of a paper, unless they show something else by now."""
    state: PaperState = known("paper", paper)
    form = PickupForm()
    looks = {one.method: one for one in see_pickups(desk().journal, state)}
    look = looks.get(str(form.method.data))
    figures = _figures(look) if look else {}
    if form.validate_on_submit() and figures.get("ml_per_m2") == form.shown.data:
        with writing() as here:
            outcome = form.record(here, paper=state.id, **figures)
        told = words().gettext("Taken over: every bath counts with it from now on.")
        if written(outcome, told):
            return redirect(url_for("papers.paper", paper=state.id), 303)
    text = words().gettext(
        "The readings show something else by now. Look at the line again before you take it "
        "over."
    )
    flash(text, "warning")
    return redirect(url_for("papers.paper", paper=state.id), 303)


def _figures(look: PickupLook) -> dict[str, str]:
    """Return what the entry says, in whole millilitres; nothing without enough pairs."""
    if look.found is None:
        return {}
    found = look.found
    figures = {
        "ml_per_m2": found.middle_ml_per_m2,
        "low_ml_per_m2": found.low_ml_per_m2,
        "high_ml_per_m2": found.high_ml_per_m2,
        "pair_count": found.pair_count,
    }
    return {name: wire(Fraction(round(figure))) for name, figure in figures.items()}
