"""Pour a bath apart, pour two together, carry one to another vessel or studio."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from flask import Blueprint, jsonify, redirect, request
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField

from coop.actions.pour import (
    AnyLook,
    Free,
    apart,
    free_vessels,
    givers,
    names_ahead,
    other_studios,
    reach,
    together,
)
from coop.actions.see_baths import see_any, volume_ml
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.kinds import PARTS_OF_SPLIT_MAX
from coop.ledger.schema import Refused
from coop.rules.baths import BathLook
from coop.units.fault import NotUnderstood
from coop.units.number import read_number
from coop.units.quantity import Quantity
from coop.units.table import UNITS, VOLUME
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import UnitField
from coop.web.forms import EntryForm, Happened, Noted, options, written
from coop.web.held import vessel_named
from coop.web.i18n import N_
from coop.web.mending import strength_text
from coop.web.page import desk, known, needs, now, show, words, writing
from coop.web.pouring import PouredSaid, apart_said, giver_text, together_said
from coop.web.salt import WATERS
from coop.web.told import bath_names, bath_url, telling

pages = Blueprint("pour", __name__)

POURING = {"alum": "pour", "gall_water": "pour-gall_water", "softener": "pour-softener"}
"""Acts whose cautions hold for pouring a bath; of any other it is like water."""
ROWS = range(PARTS_OF_SPLIT_MAX)


class ApartForm(EntryForm, Happened, Noted):
    """Up to four parts; a row without a vessel and litres is left out."""

    kind: ClassVar[str] = "bath.split"

    def rows(self) -> tuple[tuple[SelectField, StringField, StringField, SelectField], ...]:
        """Return the fields of each row: vessel, name, litres, unit."""
        ends = ("vessel", "name", "litres", "unit")
        return tuple(tuple(self[f"part_{n}_{end}"] for end in ends) for n in ROWS)

    def offer(self, vessels: list[tuple[str, str]]) -> None:
        """Fill the lists."""
        none = ("", words().gettext("Choose …"))
        for vessel, _, _, _ in self.rows():
            vessel.choices = options([none, *vessels])

    def fill(self, names: tuple[str, ...]) -> None:
        """Propose the names."""
        for (_, name, _, _), text in zip(self.rows(), names, strict=False):
            name.data = text

    def _pairs(self) -> Iterator[tuple[str, str]]:
        out = {name.name for vessel, name, _, _ in self.rows() if not vessel.data}
        yield from ((name, value) for name, value in super()._pairs() if name not in out)

    def take(self, refused: Refused) -> None:
        """Put a refusal beside its row: the body counts only those that say something."""
        filled = [n for n, row in zip(ROWS, self.rows(), strict=True) if _says(*row[::2])]
        head, _, rest = refused.field.partition(".")
        place, _, field = rest.partition(".")
        if head == "parts" and place.isdigit() and int(place) < len(filled):
            there = f"parts.{filled[int(place)]}.{field}".rstrip(".")
            refused = Refused(field=there, code=refused.code, limits=refused.limits)
        elif head == "parts":
            refused = Refused(field="parts.0.vessel", code=refused.code, limits=refused.limits)
        super().take(refused)


def _says(*fields: SelectField | StringField) -> bool:
    return any(str(one.data or "").strip() for one in fields)


def _add_rows() -> None:
    """Give the form its rows; the names of the fields are the keys of the body."""
    for n in ROWS:
        fields = {
            "vessel": SelectField(
                N_("Into which vessel?"), name=f"parts.{n}.vessel", validate_choice=False
            ),
            "name": StringField(
                N_("Its name"),
                name=f"parts.{n}.name",
                description=N_("The next one of this studio; change it as you like."),
            ),
            "litres": StringField(N_("How much?"), name=f"parts.{n}.litres.typed"),
            "unit": UnitField(
                N_("Measured in"),
                name=f"parts.{n}.litres.unit",
                units=WATERS,
                default="l",
                validate_choice=False,
            ),
        }
        for end, field in fields.items():
            setattr(ApartForm, f"part_{n}_{end}", field)


_add_rows()


@dataclass(frozen=True, slots=True, kw_only=True)
class PourPage:
    """
    Pouring apart, together or carrying.

    Attributes:
        here: Which of the three: "pour", "together" or "carry".
        nothing: Why it cannot be done now; empty where it can.
        notes: What to know about names in other studios.
    """

    id: str
    name: str
    url: str
    word: str
    why: str
    level: str
    here: str
    form: EntryForm
    nothing: str
    notes: tuple[str, ...]
    ahead: PouredSaid
    card: SafetyCard


@pages.route("/baths/<bath>/pour", methods=["GET", "POST"])
@needs("bath.split")
def pour(bath: str) -> Response:
    state: AnyBath = known("bath", bath)
    frees = free_vessels(desk().journal, state)
    form = _apart_form(frees, state.what)
    if form.is_submitted() and form.validate():
        told = words().gettext("Poured off. Hang a tag on each tub now.")
        done = _write(form, state, told)
        if done is not None:
            return done
    elif request.method == "GET":
        _propose(form, state)
    look = see_any(desk().journal, state, now=now())
    nothing = "" if frees else words().gettext("Every vessel holds a bath: none is free.")
    notes = tuple(
        words().gettext(
            "In %(studio)s the next one is %(name)s.",
            studio=studio.name,
            name=names_ahead(desk().journal, state, studio, 1)[0],
        )
        for studio in other_studios(frees, state)
    )
    ahead = _apart_ahead(look, frees, form)
    page = _page(look, "pour", form, nothing=nothing, notes=notes, ahead=ahead)
    return _show("pour.html", page)


def _apart_form(frees: tuple[Free, ...], what: str) -> ApartForm:
    form = ApartForm() if request.method == "POST" else ApartForm(request.args)
    form.offer([(str(one.vessel.id), _vessel_text(one, what)) for one in frees])
    return form


def _vessel_text(one: Free, what: str) -> str:
    return words().gettext(
        "%(vessel)s (%(studio)s), holds %(brim)s",
        vessel=vessel_named(one.vessel, what),
        studio=one.studio.name,
        brim=amounts.volume(words(), one.vessel.brim_ml),
    )


def _propose(form: ApartForm, state: AnyBath) -> None:
    studio = desk().journal.state("studio", state.studio)
    if studio is not None and not request.args:
        form.fill(names_ahead(desk().journal, state, studio, PARTS_OF_SPLIT_MAX))


def _write(form: EntryForm, state: AnyBath, told: str) -> Response | None:
    """Write the entry and go back to the bath; None when it was refused."""
    with writing() as place:
        outcome = form.record(place, bath=state.id)
    if written(outcome, told) and isinstance(outcome, Written):
        entry = outcome.sealed.entry.id
        return redirect(f"{bath_url(state)}?written={entry}", code=303)
    return None


def _apart_ahead(look: AnyLook, frees: tuple[Free, ...], form: ApartForm) -> PouredSaid:
    vessels = reach(frees)
    parts = [
        (str(name.data or "").strip(), vessels[Subject(vessel.data)], volume)
        for vessel, name, litres, unit in form.rows()
        if vessel.data in vessels and (volume := _volume_ml(litres, unit)) is not None
    ]
    return apart_said(words(), apart(look, parts)) if parts else PouredSaid()


def _volume_ml(litres: StringField, unit: SelectField | HiddenField) -> float | None:
    """Return what is typed [mL]; None while it is no amount."""
    typed, code = str(litres.data or "").strip(), str(unit.data or "")
    if not typed or code not in UNITS or UNITS[code].dimension != VOLUME:
        return None
    try:
        return float(Quantity(typed, read_number(typed, low=0), code).base)
    except NotUnderstood:
        return None


def _page(
    look: AnyLook,
    here: str,
    form: EntryForm,
    *,
    nothing: str,
    notes: tuple[str, ...] = (),
    ahead: PouredSaid | None = None,
) -> PourPage:
    state = look.state
    if state.finished_at is not None:
        nothing = words().gettext("This bath is finished.")
    return PourPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        url=bath_url(state),
        word=look.answer.word.value,
        why=reasons.why(telling(), look),
        level=_level(look),
        here=here,
        form=form,
        nothing=nothing,
        notes=notes,
        ahead=ahead or PouredSaid(),
        card=safety_card(words(), POURING.get(state.what, "pour-water"), look.around.studio),
    )


def _level(look: AnyLook) -> str:
    litres = amounts.volume(words(), volume_ml(look))
    if not isinstance(look, BathLook):
        return litres
    strength = strength_text(words(), look.strength)
    return words().gettext("%(litres)s, %(strength)s.", litres=litres, strength=strength)


def _show(template: str, page: PourPage) -> Response:
    status = 422 if request.method == "POST" else 200
    return show(template, page=page, nav="room", status=status)


@pages.get("/baths/<bath>/pour/ahead")
@needs("bath.split")
def pour_ahead(bath: str) -> Response:
    """Say what stands where before and after, while it is being typed."""
    state: AnyBath = known("bath", bath)
    frees = free_vessels(desk().journal, state)
    look = see_any(desk().journal, state, now=now())
    return jsonify(_apart_ahead(look, frees, _apart_form(frees, state.what)).live())


class TogetherForm(EntryForm, Happened, Noted):
    """
    One bath poured into another. What is against the other is shown once before it is
    written: `warned` names the bath whose warning was shown.
    """

    kind: ClassVar[str] = "bath.joined"
    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    giver = RadioField(N_("Which bath goes in?"), validate_choice=False)
    litres_typed = StringField(
        N_("How much of it?"),
        name="litres.typed",
        description=N_("Left empty, all of it: then that bath is finished."),
    )
    litres_unit = UnitField(
        N_("Measured in"),
        name="litres.unit",
        units=WATERS,
        default="l",
        validate_choice=False,
    )
    warned = HiddenField()


@pages.route("/baths/<bath>/together", methods=["GET", "POST"])
@needs("bath.joined")
def pour_together(bath: str) -> Response:
    state: AnyBath = known("bath", bath)
    look = see_any(desk().journal, state, now=now())
    others = givers(desk().journal, state, now=now())
    form = _together_form(others, state)
    ahead = _together_ahead(look, others, form)
    unseen = bool(ahead.warned) and form.warned.data != ahead.warned
    form.warned.data = ahead.warned
    if form.is_submitted() and form.validate() and not unseen:
        told = words().gettext("Poured together. Stir it well, and change the tags.")
        done = _write(form, state, told)
        if done is not None:
            return done
    nothing = "" if others else words().gettext("There is no other bath of its kind.")
    return _show("together.html", _page(look, "together", form, nothing=nothing, ahead=ahead))


def _together_form(others: tuple[AnyLook, ...], state: AnyBath) -> TogetherForm:
    form = TogetherForm() if request.method == "POST" else TogetherForm(request.args)
    names = dict(bath_names(one.state for one in others))
    form.giver.choices = options(
        (str(one.state.id), giver_text(words(), one, names, _elsewhere(one, state)))
        for one in others
    )

    return form


def _elsewhere(one: AnyLook, state: AnyBath) -> str:
    """Return the studio a bath stands in where that is another one; else empty."""
    studio = one.around.studio
    return studio.name if studio and studio.id != state.studio else ""


def _together_ahead(
    look: AnyLook, others: tuple[AnyLook, ...], form: TogetherForm
) -> PouredSaid:
    giver = next((one for one in others if one.state.id == form.giver.data), None)
    asked_ml = _volume_ml(form.litres_typed, form.litres_unit)
    if giver is None or (asked_ml is None and _says(form.litres_typed)):
        return PouredSaid()
    return together_said(words(), look, giver, together(look, giver, asked_ml))


@pages.get("/baths/<bath>/together/ahead")
@needs("bath.joined")
def together_live(bath: str) -> Response:
    """Say what the mixture would be, while it is being typed."""
    state: AnyBath = known("bath", bath)
    look = see_any(desk().journal, state, now=now())
    others = givers(desk().journal, state, now=now())
    return jsonify(_together_ahead(look, others, _together_form(others, state)).live())


class CarryForm(EntryForm, Happened, Noted):
    kind: ClassVar[str] = "bath.carried"

    vessel = RadioField(N_("Into which vessel?"), validate_choice=False)


@pages.route("/baths/<bath>/carry", methods=["GET", "POST"])
@needs("bath.carried")
def carry(bath: str) -> Response:
    state: AnyBath = known("bath", bath)
    frees = free_vessels(desk().journal, state)
    form = CarryForm()
    form.vessel.choices = options(
        (str(one.vessel.id), _vessel_text(one, state.what)) for one in frees
    )
    if form.is_submitted() and form.validate():
        done = _write(form, state, words().gettext("Carried. Take its tag along."))
        if done is not None:
            return done
    look = see_any(desk().journal, state, now=now())
    nothing = "" if frees else words().gettext("Every vessel holds a bath: none is free.")
    return _show("carry.html", _page(look, "carry", form, nothing=nothing))
