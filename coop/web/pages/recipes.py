"""
Publishing a recipe: the card as it is written, and the reading that holds.

One of alum says by which strength its baths are judged; one of another bath how long it rests
and keeps. One for fabric may go by the weight of the cloth.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, ClassVar

from flask import Blueprint, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField, FileField, RadioField, StringField

from coop.actions.make import POWDERS_OF
from coop.actions.photos import PHOTO_BYTES_MAX
from coop.actions.read_dose import read_as, understand_goods
from coop.actions.set_up import amount_of, picked_key, target_of_card, water_of
from coop.actions.write import photo
from coop.ids import EntryId
from coop.ledger.kinds import RecipePublished
from coop.ledger.liquids import SIZE
from coop.ledger.ports import Attachment
from coop.ledger.schema import Refused, Slip, faults_of
from coop.ledger.states import RecipeState
from coop.ledger.table import HOUSE
from coop.store.desk import Desk
from coop.units.fault import NotUnderstood
from coop.units.goods import GoodsDose
from coop.units.measured import G_PER_L
from coop.units.number import unwire
from coop.units.quantity import Quantity
from coop.units.strength import Statement
from coop.web import words as say
from coop.web.doses import (
    DOSE_LENGTH_MAX,
    DoseReader,
    DoseSaid,
    open_text,
    read_typed,
    strength_text,
)
from coop.web.editions import EditionForm, edit, publish
from coop.web.fields import NEEDED, MeasuredField, NumberField
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.measures import ReadAs, meant_here
from coop.web.page import desk, known, needs, salt, show, words
from coop.web.photographed import as_kept, photo_url, picture_sent
from coop.web.recipes import goods_text
from coop.web.security import FORM_BYTES_MAX, body_limit

BY_CARD, BY_FIGURE, BY_HOUSE = "card", "figure", "house"
ALUM = "alum"
FABRIC = "fabric"
CARD = "card"
GOODS_G = Fraction(100)
"""A dose by the weight of the cloth is kept as grams to so many grams of it."""
WITH_A_DOSE = tuple(what for what, powders in POWDERS_OF.items() if powders)
OF_ALUM = frozenset({"salt", "target_g_per_l"})
OF_SIZE = frozenset({"look_again_warm_days", "do_not_use_warm_days", "cap_days"})
LEFT_OUT = {ALUM: OF_SIZE | {"rest_hours"}, SIZE: OF_ALUM}
"""What a recipe of alum or size does not say; one of any other bath says neither's."""

pages = Blueprint("recipes", __name__)


class RecipeForm(ReadAs, EditionForm):
    kind: ClassVar[str] = "recipe.published"
    beside: ClassVar[frozenset[str]] = (
        frozenset({"pick", "judged_by", CARD, "no_card"}) | ReadAs.OF_KINDS
    )

    name = StringField(
        N_("Name of the card"), [NEEDED], description=N_("As it is asked for: the old card.")
    )
    dose = StringField(
        N_("The dose, as it is written"),
        [NEEDED],
        description=N_(
            "For example: 8 tbsp per gallon, 30 g/L, 1 lb makes 3 gallons; for fabric also "
            "15 percent of the dry weight."
        ),
    )
    made_for = RadioField(
        N_("What is it for?"),
        default="paper",
        description=N_("A card for fabric, or one that clears rinse water, is none for paper."),
        validate_choice=False,
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
    target_g_per_l = MeasuredField(
        N_("Its own strength"),
        unit=G_PER_L,
        description=N_("Only where it is judged by one of its own."),
    )
    source = StringField(
        N_("Whose card is it?"),
        description=N_(
            "A person, a book, a sheet in the drawer. What it says of other salts too: potash "
            "alum only, or none of it."
        ),
    )
    printed = StringField(
        N_("Edition, as it stands on the card"),
        description=N_("Leaflets of one name differ: edition B, third printing."),
    )
    dated = StringField(
        N_("Date of the card"),
        description=N_("The year, the month or the day: 2019, 2019-04 or 2019-04-10."),
    )
    side = RadioField(N_("Which side does the card mark?"), default="", validate_choice=False)
    card = FileField(
        N_("A picture of the card"),
        description=N_(
            "Members can see it, and it is kept with every edition. Where and when it was "
            "taken is left out."
        ),
    )
    no_card = BooleanField(N_("No picture from now on"))
    taken: Attachment | None = None
    """The picture that came with the form, shrunk; a card is no personal thing."""

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
        if self.judged_by.data != BY_FIGURE or self.goods is not None:
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
        self.made_for.choices = options(say.choices(words(), "made_for"))
        sides = [("", words().gettext("it does not say")), *say.choices(words(), "side")]
        self.side.choices = options(sides)
        self.judged_by.choices = options(
            (
                (BY_CARD, words().gettext("what the card comes to")),
                (BY_HOUSE, words().gettext("the house's strength")),
                (BY_FIGURE, words().gettext("a strength of its own")),
            )
        )

    @property
    def goods(self) -> GoodsDose | None:
        """The dose by the weight of the cloth, where it is alum for fabric and written so."""
        typed = str(self.dose.data or "").strip()[: DOSE_LENGTH_MAX + 1]
        if self.what.data != ALUM or self.made_for.data != FABRIC or not typed:
            return None
        try:
            return understand_goods(typed, tongue=words().lang)
        except NotUnderstood:
            return None

    def take_picture(self) -> bool:
        """Shrink the picture that came with the form, if one did; False when it is none."""
        try:
            data = picture_sent(CARD)
            self.taken = replace(photo(data, salt=salt()), reach="public") if data else None
        except Slip as slip:
            self.take(replace(slip.refused, field=CARD))
            return False
        return True

    def ask_for_picture(self) -> None:
        """Say at the picture that it was not kept: a browser sends it once."""
        if self.taken is not None:
            text = words().gettext("Browsers let go of a photo: choose it once more.")
            self.card.errors = [*self.card.errors, text]

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        found = super().attachments(desk, entry_id)
        if self.taken is not None:
            found[CARD] = as_kept(desk.journal, entry_id, CARD, self.taken)
        return found

    def settled(self, reader: DoseReader) -> bool:
        """Say whether all that is asked was said; else the reason is beside its field."""
        if reader.fault:
            self.dose.errors = [*self.dose.errors, reader.fault]
        elif reader.open and self.goods is None:
            self.take(Refused(field="pick", code="pick-a-reading"))
            self.pick.errors = [open_text(words(), reader)]
        for refused in self._refusals():
            field = self._nearest(refused.field)
            if field is None or not field.errors:
                self.take(refused)
        out_of_order = self._out_of_order()
        if out_of_order:
            self.do_not_use_warm_days.errors = [
                words().gettext("Not before the days after which it is looked at again.")
            ]
        return self.refused is None and not reader.fault and not out_of_order

    def _refusals(self) -> Iterator[Refused]:
        """Give all that is missing or would be refused, each field by itself."""
        for field in self._missing():
            yield Refused(field=field, code="missing")
        for refused in faults_of(RecipePublished, self.body()):
            if refused.code != "missing":  # the dose is read by then, or its fault is told
                yield refused

    def _missing(self) -> Iterator[str]:
        if self.what.data == ALUM:
            if not self.salt.data:
                yield "salt"
            by_figure = self.judged_by.data == BY_FIGURE and self.goods is None
            if by_figure and not self.target_g_per_l.data:
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
    """
    A recipe being published; `name` is empty for a new one.

    `picture` is the picture of the edition before.
    """

    form: RecipeForm
    name: str
    reader: DoseReader
    picture: str


@pages.route("/house/recipes/new", methods=["GET", "POST"])
@body_limit(PHOTO_BYTES_MAX + FORM_BYTES_MAX)
@needs("recipe.published")
def new_recipe() -> Response:
    return _recipe(RecipeForm(), None)


@pages.route("/house/recipes/<recipe>", methods=["GET", "POST"])
@body_limit(PHOTO_BYTES_MAX + FORM_BYTES_MAX)
@needs("recipe.published")
def recipe(recipe: str) -> Response:
    state: RecipeState = known("recipe", recipe)
    house = desk().journal.state("house", HOUSE)
    kinds = read_as(state)
    meant = meant_here(house, kinds)
    pick = picked_key(state, meant.kinds)
    reader = read_typed(words(), state.dose, meant, pick=pick, of=state.powder or ALUM)
    shown = {f"read_{question}": kind for question, kind in kinds.items()}
    judged_by = _judged_by(state, reader)
    form = edit(RecipeForm, state, state.id, pick=pick, judged_by=judged_by, **shown)
    return _recipe(form, state)


def _judged_by(state: RecipeState, reader: DoseReader) -> str:
    if state.target_g_per_l is None:
        return BY_HOUSE
    card = target_of_card(reader.statement) if reader.statement else ""
    return BY_CARD if card and float(card) == state.target_g_per_l else BY_FIGURE


def _recipe(form: RecipeForm, state: RecipeState | None) -> Response:
    reader = _read(form)
    form.offer(reader)
    if form.is_submitted():
        published = _published(form, state, reader)
        if published:
            return redirect(url_for("library.recipe", recipe=published), 303)
        form.ask_for_picture()
    page = RecipePage(
        form=form,
        name=state.name if state else "",
        reader=DoseReader(typed="") if form.dose.errors else reader,
        picture=photo_url(state.card) if state else "",
    )
    status = 422 if form.is_submitted() else 200
    return show("recipe_form.html", page=page, nav="house", status=status)


def _published(form: RecipeForm, state: RecipeState | None, reader: DoseReader) -> str:
    """Publish what the form says and return its recipe; empty where something is amiss."""
    fit = form.validate()
    pictured = form.take_picture()
    if not (form.settled(reader) and fit and pictured):
        return ""
    fixed = _fixed(form, reader.statement)
    if state is not None:
        kept = state.card and not form.no_card.data
        fixed |= {"recipe": state.id} | ({CARD: state.card} if kept else {})
    outcome = publish(form, "recipe", state.id if state else None, **fixed)
    if not written(outcome, _told(form, reader)):
        return ""
    shown = read_as(state) if state is not None else None
    form.remember(reader.questions, desk().journal.state("house", HOUSE), shown)
    return state.id if state else str(form.entry_id.data)


def _read(form: RecipeForm) -> DoseReader:
    typed = str(form.dose.data or "")[: DOSE_LENGTH_MAX + 1]
    house = desk().journal.state("house", HOUSE)
    pick = str(form.pick.data or "")
    meant = form.meant(house)
    if form.goods is not None:
        text = goods_text(words(), form.goods.low, form.goods.high)
        said = DoseSaid(
            understood=(text,), contradictions=(), asks=(), notes=(), look_alikes=()
        )
        return DoseReader(typed=typed.strip(), said=said)
    return read_typed(words(), typed, meant, pick=pick, of=form.of or "other")


def _fixed(form: RecipeForm, statement: Statement | None) -> dict[str, Any]:
    """Return what the picked reading says, and the strength of the card if it is judged by."""
    if statement is None:
        assert form.goods is not None, "without a reading it goes by the cloth"
        powder = Quantity("", GOODS_G * form.goods.middle, "g")
        return {"amount": powder.to_wire(), "per": Quantity("", GOODS_G, "g").to_wire()}
    fixed: dict[str, Any] = {
        "amount": amount_of(statement),
        "per": water_of(statement),
    }
    if form.what.data == ALUM and form.judged_by.data == BY_CARD:
        fixed["target_g_per_l"] = target_of_card(statement)
    return fixed


def _told(form: RecipeForm, reader: DoseReader) -> str:
    statement = reader.statement
    comes = strength_text(words(), statement.g_per_l) if statement else _understood(reader)
    return words().gettext(
        "%(name)s is published: %(strength)s.",
        name=str(form.name.data).strip(),
        strength=comes,
    )


def _understood(reader: DoseReader) -> str:
    assert reader.said is not None, "what is published was understood"
    return ", ".join(reader.said.understood)


@pages.get("/house/recipes/read")
@needs("recipe.published")
def read() -> Response:
    """Say what is understood of a card while it is being typed."""
    return jsonify(_read(RecipeForm(request.args)).live())
