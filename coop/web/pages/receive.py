"""Receive: a lot of alum, of a powder or of paper as it was bought."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField
from wtforms.validators import InputRequired, Optional

from coop.ledger.schema import Refused
from coop.ledger.states import StudioState
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import NumberField
from coop.web.forms import EntryForm, Happened, options, written
from coop.web.i18n import N_
from coop.web.page import desk, needs, show, words, writing

pages = Blueprint("receive", __name__)

CARRAGEENAN = "carrageenan"
SOME = "some"
WEIGHTS = options((("g", "g"), ("kg", "kg"), ("lb", "lb"), ("oz", "oz")))
CARDS = {"alum": "weigh-spoons", "powder": "weigh-powder", "paper": "weigh-powder"}


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


class ReceivePowderForm(EntryForm, Happened):
    kind: ClassVar[str] = "lot.received"

    studio = RadioField(N_("Studio"), validators=[InputRequired()])
    what = RadioField(N_("Which powder"), validators=[InputRequired()])
    carrageenan = RadioField(
        N_("Which carrageenan"),
        description=N_("Only lambda is for marbling: kappa and iota set to a jelly."),
        validators=[Optional()],
    )
    name = StringField(
        N_("Name of the lot"),
        validators=[InputRequired()],
        description=N_("What you write on the tub, for example K-3."),
    )
    weight_typed = StringField(N_("Weight"), name="weight.typed", validators=[InputRequired()])
    weight_unit = SelectField(N_("Unit"), name="weight.unit", choices=WEIGHTS, default="g")
    supplier = StringField(N_("Supplier"), validators=[Optional()])

    def validate(self, extra_validators: Any = None) -> bool:
        """Ask for the type of a carrageenan: nobody sees it on the tray."""
        fit = super().validate(extra_validators)
        if self.what.data == CARRAGEENAN and not self.carrageenan.data:
            self.take(Refused(field="carrageenan", code="missing"))
            return False
        return bool(fit)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if name != "carrageenan" or self.what.data == CARRAGEENAN:
                yield name, value


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
    chalk = RadioField(
        N_("Chalk in this lot"),
        description=N_("Lots of one paper differ. Left open, it is as the paper says."),
        validators=[Optional()],
    )
    chalk_g_per_m2 = NumberField(
        N_("How much chalk"), description=N_("Where the mill or a test says it.")
    )
    supplier = StringField(N_("Supplier"), validators=[Optional()])

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if name != "chalk_g_per_m2" or self.chalk.data == SOME:
                yield name, value


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceivePage:
    form: EntryForm
    what: str
    card: SafetyCard
    nothing_to_choose: bool


RECEIVE = {
    "alum": ReceiveAlumForm,
    "powder": ReceivePowderForm,
    "paper": ReceivePaperForm,
}


@pages.route("/shelf/receive/<any(alum, powder, paper):what>", methods=["GET", "POST"])
@needs("lot.received")
def receive(what: str) -> Response:
    form = RECEIVE[what]()
    choices = _offer(form, what)
    status = 200
    if form.validate_on_submit():
        with writing() as here:
            outcome = form.record(here, **({} if what == "powder" else {"what": what}))
        if written(outcome, words().gettext("Received.")):
            return redirect(url_for("shelf.shelf"), 303)
        _offer(form, what)
        status = 422
    elif request.method == "POST":
        status = 422
    page = ReceivePage(
        form=form,
        what=what,
        card=safety_card(words(), CARDS[what], _only_studio()),
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
    elif what == "powder":
        form.what.choices = options(say.choices(words(), "powder"))
        form.carrageenan.choices = options(say.choices(words(), "carrageenan"))
        things = form.what.choices
    else:
        form.chalk.choices = options(say.choices(words(), "chalk"))
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
