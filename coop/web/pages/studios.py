"""A studio and the tubs in it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField
from wtforms.validators import ValidationError

from coop.actions.see_stacks import USUAL_SIDE
from coop.actions.set_up import laying_depth_mm, read_floor
from coop.ids import Subject
from coop.ledger.kinds import INSTRUMENTS
from coop.ledger.schema import Slip
from coop.ledger.states import StudioState, VesselState
from coop.rules.to_call import is_to_dial
from coop.web import amounts
from coop.web import words as say
from coop.web.doses import UNIT_NAMES
from coop.web.editions import EditionForm, edit, publish
from coop.web.fields import (
    LENGTHS,
    NEEDED,
    TEMPERATURES,
    VOLUMES,
    ManyField,
    NumberField,
    own_order,
)
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.page import desk, known, needs, show, words, zone
from coop.web.zones import country_choices, country_of

PLACE_MAX = 999

pages = Blueprint("studios", __name__)


class StudioForm(EditionForm):
    kind: ClassVar[str] = "studio.described"

    name = StringField(N_("Name"), [NEEDED])
    letter = StringField(
        N_("Letter"),
        [NEEDED],
        description=N_("Its baths are called by it: R-A1 is the first alum bath of R."),
    )
    premises = StringField(
        N_("Where it is"), description=N_("House, floor, where the key hangs.")
    )
    emergency = StringField(
        N_("Emergency number"),
        [NEEDED],
        description=N_("Stands on every safety card. Nobody looks it up with alum in the eye."),
    )
    poison = StringField(
        N_("Poison centre"),
        [NEEDED],
        description=N_("The number of the one for this place, for a powder swallowed."),
    )
    drain = RadioField(
        N_("Where the sink drains to"),
        [NEEDED],
        description=N_("What may be poured away hangs on it. Ask the landlord or the town."),
        validate_choice=False,
    )
    drain_note = StringField(
        N_("About the drain"), description=N_("Who said so, when, on what terms.")
    )
    country = SelectField(
        N_("Country"),
        coerce=str.upper,
        description=N_("Rules of a country hold for the studios in it."),
    )
    premises_are = RadioField(
        N_("Whose waste is it?"),
        description=N_("Rules for a household's waste are not those for anybody else's."),
        validate_choice=False,
    )
    rinse_way = RadioField(
        N_("Where does your rinse water go?"),
        default="not_known",
        description=N_("It is the most of all that is poured away."),
        validate_choice=False,
    )
    rinse_agreed = StringField(
        N_("Who agreed to it?"),
        description=N_("The office or the company, and when; no name of a private person."),
    )
    hardness_mg_per_l = NumberField(
        N_("Hardness of the tap water"),
        description=N_("As mg of calcium carbonate per litre; the waterworks print it."),
    )
    store_coldest_typed = StringField(
        N_("How cold it gets where baths stand"),
        name="store_coldest.typed",
        description=N_("In the coldest night. Strong alum crystallises in the cold."),
    )
    store_coldest_unit = SelectField(
        N_("Degrees of that"), name="store_coldest.unit", validate_choice=False
    )
    instruments = ManyField(
        N_("Instruments in the drawer"),
        description=N_("Only these are asked for when a bath is tested here."),
        validate_choice=False,
    )
    hydrometer_scale_typed = StringField(
        N_("The hydrometer's scale is for"),
        name="hydrometer_scale.typed",
        description=N_("Printed on it. Left empty: 20 °C."),
    )
    hydrometer_scale_unit = SelectField(
        N_("Degrees"), name="hydrometer_scale.unit", validate_choice=False
    )

    side_rule = RadioField(
        N_("Which side has the mark?"),
        default=USUAL_SIDE,
        description=N_("Of a sheet alumed here; members are told it with every stack."),
        validate_choice=False,
    )

    def validate_emergency(self, field: StringField) -> None:
        """Refuse what nobody can dial."""
        _ask_number(field)

    def validate_poison(self, field: StringField) -> None:
        """Refuse what nobody can dial."""
        _ask_number(field)

    def offer(self) -> None:
        """Fill the lists in the member's language."""
        nowhere = ("", words().gettext("Choose …"))
        self.country.choices = options([nowhere, *country_choices(words().lang)])
        self.premises_are.choices = options(say.choices(words(), "premises"))
        self.drain.choices = options(say.choices(words(), "drain"))
        self.rinse_way.choices = options(say.choices(words(), "rinse_way"))
        self.instruments.choices = options(
            (code, say.choice(words(), "instrument", code)) for code in INSTRUMENTS
        )
        self.side_rule.choices = options(say.choices(words(), "side"))
        self.hydrometer_scale_unit.choices = _units(TEMPERATURES)
        self.store_coldest_unit.choices = _units(TEMPERATURES)


def _ask_number(field: StringField) -> None:
    if not is_to_dial(str(field.data)):
        raise ValidationError(
            words().gettext("A number to dial, please, with its digits; words may follow it.")
        )


class TubForm(EditionForm):
    kind: ClassVar[str] = "vessel.described"
    beside: ClassVar[frozenset[str]] = frozenset({"inside_unit"})

    studio = RadioField(N_("Studio"), [NEEDED], validate_choice=False)
    name = StringField(N_("Name"), [NEEDED], description=N_("As people call it: big tub."))
    inside_length_typed = StringField(
        N_("Inside length of the floor"), name="inside_length.typed"
    )
    inside_width_typed = StringField(N_("Inside width of the floor"), name="inside_width.typed")
    inside_length_unit = SelectField(
        N_("Measured in"), name="inside_unit", validate_choice=False, default="mm"
    )
    brim_typed = StringField(
        N_("Litres to the brim"),
        [NEEDED],
        name="brim.typed",
        description=N_("No more is ever mixed or topped up in it."),
    )
    brim_unit = SelectField(N_("Brim in"), name="brim.unit", validate_choice=False)
    laying_typed = StringField(
        N_("Litres needed to lay a sheet"),
        name="laying.typed",
        description=N_("Left empty, it follows from the floor and the house's laying depth."),
    )
    laying_unit = SelectField(N_("Laying in"), name="laying.unit", validate_choice=False)
    lidded = RadioField(
        N_("Does it have a lid?"),
        [NEEDED],
        description=N_("Under a lid next to nothing dries up."),
        validate_choice=False,
    )
    place = StringField(
        N_("Its place in the room"),
        [NEEDED],
        description=N_("1 for the first from the door: pages list baths in this order."),
    )
    in_use = RadioField(N_("Still in use?"), default="yes", validate_choice=False)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Say the one unit of length with each of the two lengths."""
        yield from super()._pairs()
        for side in ("inside_length", "inside_width"):
            yield f"{side}.unit", str(self.inside_length_unit.data or "")

    def offer(self, studios: tuple[StudioState, ...]) -> None:
        """Fill the lists in the member's language."""
        self.studio.choices = options((str(one.id), one.name) for one in studios)
        self.inside_length_unit.choices = _units(LENGTHS)
        self.brim_unit.choices = _units(VOLUMES)
        self.laying_unit.choices = _units(VOLUMES)
        self.lidded.choices = options(say.choices(words(), "yes_no"))
        self.in_use.choices = options(say.choices(words(), "yes_no"))


def _units(codes: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(code, words().gettext(UNIT_NAMES[code][1])) for code in own_order(codes)]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioPage:
    form: StudioForm
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TubPage:
    """A tub being described; `name` is empty for a new one."""

    form: TubForm
    name: str
    tag_url: str
    floor: tuple[str, ...]
    no_studio: bool


@pages.route("/house/studios/new", methods=["GET", "POST"])
@needs("studio.described")
def new_studio() -> Response:
    return _studio(StudioForm(data={"country": country_of(zone().key)}), None)


@pages.route("/house/studios/<studio>", methods=["GET", "POST"])
@needs("studio.described")
def studio(studio: str) -> Response:
    state: StudioState = known("studio", studio)
    return _studio(edit(StudioForm, state, state.id), state)


def _studio(form: StudioForm, state: StudioState | None) -> Response:
    form.offer()
    subject = state.id if state else None
    if form.validate_on_submit():
        outcome = publish(form, "studio", subject, **({"studio": subject} if subject else {}))
        name = str(form.name.data).strip()
        if written(outcome, words().gettext("%(name)s is described.", name=name)):
            return redirect(url_for("house.house"), 303)
    page = StudioPage(form=form, name=state.name if state else "")
    return show("studio_form.html", page=page, nav="house", status=_status(form))


def _status(form: EditionForm) -> int:
    return 422 if form.is_submitted() else 200


@pages.route("/house/tubs/new", methods=["GET", "POST"])
@needs("vessel.described")
def new_tub() -> Response:
    studios = desk().journal.listed("studio")
    asked = request.args.get("studio", "")
    here = next((one.id for one in studios if one.id == asked), None)
    if here is None and len(studios) == 1:
        here = studios[0].id
    own = {"inside_length_unit": own_order(LENGTHS)[0]}
    form = TubForm(data={"studio": here, "place": _next_place(here)} | own)
    return _tub(form, None, studios)


def _next_place(studio: Subject | None) -> str:
    vessels = desk().journal.listed("vessel")
    taken = [one.place for one in vessels if one.studio == studio]
    return str(min(max(taken, default=0) + 1, PLACE_MAX))


@pages.route("/house/tubs/<tub>", methods=["GET", "POST"])
@needs("vessel.described")
def tub(tub: str) -> Response:
    state: VesselState = known("vessel", tub)
    form = edit(TubForm, state, state.id)
    return _tub(form, state, desk().journal.listed("studio"))


def _tub(
    form: TubForm, state: VesselState | None, studios: tuple[StudioState, ...]
) -> Response:
    form.offer(studios)
    subject = state.id if state else None
    if form.validate_on_submit():
        outcome = publish(form, "vessel", subject, **({"vessel": subject} if subject else {}))
        name = str(form.name.data).strip()
        if written(outcome, words().gettext("%(name)s is described.", name=name)):
            return redirect(url_for("house.house"), 303)
    page = TubPage(
        form=form,
        name=state.name if state else "",
        tag_url=f"/tags?vessel={state.id}" if state else "",
        floor=_floor_said(form),
        no_studio=not studios,
    )
    return show("tub_form.html", page=page, nav="house", status=_status(form))


def _floor_said(form: TubForm) -> tuple[str, ...]:
    """Say what the inside floor comes to; nothing while it is not typed."""
    depth = laying_depth_mm(desk().journal)
    try:
        floor = read_floor(form.body(), laying_depth_mm=depth)
    except Slip:
        return ()  # half typed: the form says it when it is sent
    return (
        words().gettext(
            "Floor %(area)s: a centimetre deep is %(litres)s.",
            area=amounts.area(words(), floor.area_m2, 2),
            litres=amounts.volume(words(), 1000 * floor.litres_per_cm, 1),
        ),
        words().gettext(
            "%(depth)s to lay a sheet is %(litres)s.",
            depth=amounts.length(words(), depth),
            litres=amounts.volume(words(), 1000 * floor.laying_l, 1),
        ),
    )


@pages.post("/house/tubs/floor")
@needs("vessel.described")
def floor() -> Response:
    """Say what a floor comes to while it is being typed."""
    return jsonify({"lines": _floor_said(TubForm())})
