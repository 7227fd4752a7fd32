"""
A recipe: the card as it is written, and the reading that holds.

One of alum says by which strength its baths are judged; one of another bath how long it rests
and keeps.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, jsonify, redirect, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, StringField

from coop.actions.make import POWDERS_OF
from coop.actions.set_up import amount_of, picked_key, target_of_card, water_of
from coop.ledger.liquids import SIZE
from coop.ledger.schema import Refused
from coop.ledger.states import RecipeState
from coop.ledger.table import HOUSE
from coop.units.number import unwire
from coop.units.strength import Statement
from coop.web import words as say
from coop.web.doses import DOSE_LENGTH_MAX, DoseReader, read_typed, strength_text
from coop.web.editions import EditionForm, edit, publish
from coop.web.fields import NEEDED, NumberField
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.measures import ReadAs, meant_here
from coop.web.page import desk, known, needs, show, words

BY_CARD, BY_FIGURE, BY_HOUSE = "card", "figure", "house"
ALUM = "alum"
WITH_A_DOSE = tuple(what for what, powders in POWDERS_OF.items() if powders)
OF_ALUM = frozenset({"salt", "target_g_per_l"})
OF_SIZE = frozenset({"look_again_warm_days", "do_not_use_warm_days", "cap_days"})
LEFT_OUT = {ALUM: OF_SIZE | {"rest_hours"}, SIZE: OF_ALUM}
"""What a recipe of alum or size does not say; one of any other bath says neither's."""

pages = Blueprint("recipes", __name__)


class RecipeForm(ReadAs, EditionForm):
    kind: ClassVar[str] = "recipe.published"
    beside: ClassVar[frozenset[str]] = frozenset({"pick", "judged_by"}) | ReadAs.OF_KINDS

    name = StringField(
        N_("Name of the card"), [NEEDED], description=N_("As it is asked for: the old card.")
    )
    dose = StringField(
        N_("The dose, as it is written"),
        [NEEDED],
        description=N_("For example: 8 tbsp per gallon, 30 g/L, 1 lb makes 3 gallons."),
    )
    pick = RadioField(N_("Which one holds?"), validate_choice=False)
    what = RadioField(N_("What is made by it?"), default=ALUM, validate_choice=False)
    powder = RadioField(
        N_("Of which powder"),
        description=N_("Carrageenan must be lambda: kappa and iota set, not for marbling."),
        validate_choice=False,
    )
    rest_hours = NumberField(
        N_("Rests before it is used"),
        description=N_("Left open, as long as its powder usually does."),
    )
    look_again_warm_days = NumberField(
        N_("Look again after"),
        description=N_(
            "Of a size: days in the room, a chilled one counts less. Left open, the house's "
            "limits hold."
        ),
    )
    do_not_use_warm_days = NumberField(N_("Do not use it from"))
    cap_days = StringField(
        N_("Never past"), description=N_("Days from its making, however it was kept.")
    )
    salt = RadioField(
        N_("Of which salt"),
        description=N_("Salts differ: 64 g of potash alum do what 40 g of the sulfate do."),
        validate_choice=False,
    )
    judged_by = RadioField(
        N_("Its baths are judged by"),
        default=BY_CARD,
        validate_choice=False,
    )
    target_g_per_l = NumberField(
        N_("Its own strength"), description=N_("Only where it is judged by one of its own.")
    )
    source = StringField(
        N_("Whose card is it?"), description=N_("A person, a book, a sheet in the drawer.")
    )

    @property
    def of(self) -> str:
        """What the dose is of: alum, a powder, or something nobody has said yet."""
        if self.what.data == ALUM:
            return ALUM
        powders = POWDERS_OF.get(str(self.what.data), ())
        only = powders[0] if len(powders) == 1 else ""
        return only or (str(self.powder.data) if self.powder.data in powders else "")

    def _pairs(self) -> Iterator[tuple[str, str]]:
        left_out = LEFT_OUT.get(str(self.what.data), OF_ALUM | OF_SIZE) | {"powder"}
        if self.judged_by.data != BY_FIGURE:
            left_out |= {"target_g_per_l"}
        yield from ((name, value) for name, value in super()._pairs() if name not in left_out)
        if self.what.data != ALUM:
            yield "powder", self.of

    def offer(self, reader: DoseReader) -> None:
        """Fill the lists in the member's language, and the readings to pick from."""
        self.pick.choices = options(reader.choices)
        self.what.choices = options(
            (code, say.choice(words(), "bath", code)) for code in (ALUM, *WITH_A_DOSE)
        )
        self.powder.choices = options(
            (code, say.choice(words(), "powder", code)) for code in POWDERS_OF[SIZE]
        )
        self.salt.choices = options(say.choices(words(), "salt"))
        self.judged_by.choices = options(
            (
                (BY_CARD, words().gettext("what the card comes to")),
                (BY_HOUSE, words().gettext("the house's strength")),
                (BY_FIGURE, words().gettext("a strength of its own")),
            )
        )

    def settled(self, reader: DoseReader) -> Statement | None:
        """Return the reading that holds; None, with the reason beside the field."""
        if reader.fault:
            self.dose.errors = [*self.dose.errors, reader.fault]
        elif reader.open:
            self.take(Refused(field="pick", code="pick-a-reading"))
        for field in self._missing():
            self.take(Refused(field=field, code="missing"))
        out_of_order = self._out_of_order()
        if out_of_order:
            self.do_not_use_warm_days.errors = [
                words().gettext("Not before the days after which it is looked at again.")
            ]
        fit = self.refused is None and not out_of_order
        return reader.statement if fit else None

    def _missing(self) -> Iterator[str]:
        if self.what.data == ALUM:
            if not self.salt.data:
                yield "salt"
            if self.judged_by.data == BY_FIGURE and not self.target_g_per_l.data:
                yield "target_g_per_l"
        elif not self.of:
            yield "powder"

    def _out_of_order(self) -> bool:
        again, never = self.look_again_warm_days, self.do_not_use_warm_days
        if self.what.data != SIZE or not (again.data and never.data):
            return False
        return unwire(never.data) < unwire(again.data)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipePage:
    form: RecipeForm
    name: str
    reader: DoseReader


@pages.route("/house/recipes/new", methods=["GET", "POST"])
@needs("recipe.published")
def new_recipe() -> Response:
    return _recipe(RecipeForm(), None)


@pages.route("/house/recipes/<recipe>", methods=["GET", "POST"])
@needs("recipe.published")
def recipe(recipe: str) -> Response:
    state: RecipeState = known("recipe", recipe)
    house = desk().journal.state("house", HOUSE)
    meant = meant_here(house)
    pick = picked_key(state, meant.kinds)
    reader = read_typed(words(), state.dose, meant, pick=pick, of=state.powder or ALUM)
    form = edit(RecipeForm, state, state.id, pick=pick, judged_by=_judged_by(state, reader))
    return _recipe(form, state)


def _judged_by(state: RecipeState, reader: DoseReader) -> str:
    if state.target_g_per_l is None:
        return BY_HOUSE
    card = target_of_card(reader.statement) if reader.statement else ""
    return BY_CARD if card and float(card) == state.target_g_per_l else BY_FIGURE


def _recipe(form: RecipeForm, state: RecipeState | None) -> Response:
    reader = _read(form)
    form.offer(reader)
    subject = state.id if state else None
    fit = form.validate_on_submit()
    if form.is_submitted():
        statement = form.settled(reader)
        if fit and statement is not None:
            fixed = _fixed(form, statement) | ({"recipe": subject} if subject else {})
            outcome = publish(form, "recipe", subject, **fixed)
            if written(outcome, _told(form, statement)):
                form.remember(reader.questions, desk().journal.state("house", HOUSE))
                return redirect(url_for("house.house"), 303)
    shown = DoseReader(typed="") if form.dose.errors else reader
    page = RecipePage(form=form, name=state.name if state else "", reader=shown)
    status = 422 if form.is_submitted() else 200
    return show("recipe_form.html", page=page, nav="house", status=status)


def _read(form: RecipeForm) -> DoseReader:
    typed = str(form.dose.data or "")[: DOSE_LENGTH_MAX + 1]
    house = desk().journal.state("house", HOUSE)
    pick = str(form.pick.data or "")
    meant = form.meant(house)
    return read_typed(words(), typed, meant, pick=pick, of=form.of or "other")


def _fixed(form: RecipeForm, statement: Statement) -> dict[str, Any]:
    """Return what the picked reading says, and the strength of the card if it is judged by."""
    fixed: dict[str, Any] = {
        "amount": amount_of(statement),
        "per": water_of(statement),
    }
    if form.what.data == ALUM and form.judged_by.data == BY_CARD:
        fixed["target_g_per_l"] = target_of_card(statement)
    return fixed


def _told(form: RecipeForm, statement: Statement) -> str:
    return words().gettext(
        "%(name)s is published: %(strength)s.",
        name=str(form.name.data).strip(),
        strength=strength_text(words(), statement.g_per_l),
    )


@pages.post("/house/recipes/read")
@needs("recipe.published")
def read() -> Response:
    """Say what is understood of a card while it is being typed."""
    return jsonify(_read(RecipeForm()).live())
