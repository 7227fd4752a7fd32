"""Thin or thicken a bath that is not alum, and see first what it would be."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode

from flask import Blueprint, jsonify, redirect, request
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, StringField
from wtforms.validators import InputRequired

from coop.actions.liquid_mend import (
    BLEND,
    Way,
    can_reckon,
    givers_for,
    look_ahead,
    ways_to,
)
from coop.actions.make import powder_of
from coop.actions.mix import statement_of
from coop.actions.on_hand import OnHand, powder_on_hand
from coop.actions.see_liquids import see_liquid
from coop.ledger import kinds
from coop.ledger.liquids import SIZE
from coop.ledger.schema import Refused, Slip, read_record
from coop.rules.liquid_looks import LiquidLook
from coop.science.size import DOSE_MAX_G_PER_L
from coop.units.number import unwire
from coop.units.table import UNITS
from coop.web import amounts
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import MeasuredField, UnitField, own_order
from coop.web.forms import EntryForm, Happened, Noted, PageForm, options, written
from coop.web.i18n import N_, AsItIs
from coop.web.liquid_mending import (
    LiquidAheadSaid,
    WaySaid,
    dose_text,
    giver_text,
    liquid_ahead_said,
    way_said,
)
from coop.web.page import desk, known_liquid, needs, now, show, today, words, writing
from coop.web.powder import PowderForm, lots_of
from coop.web.salt import WATERS

WANTED_MIN_G_PER_L = 0.1

DRY = "dry"

pages = Blueprint("liquid_mend", __name__)


class WantedForm(PageForm):
    """The dose that is wanted; it writes nothing and stands in the page's address."""

    class Meta:
        csrf = False

    wanted = MeasuredField(N_("How thick should it be?"), unit="g_per_l")
    thicker = MeasuredField(
        N_("How thick is what you make in a jug?"),
        unit="g_per_l",
        description=N_("Left open: twice as thick as what is wanted."),
    )


class ThinForm(Happened, Noted, PowderForm):
    """
    Water, or a thicker one made in a jug, went in.

    Dry powder into a ready size is warned of once: `warned` says that it was.
    """

    kind: ClassVar[str] = "bath.topped_up"
    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    warned = HiddenField()

    def enough(self, *, is_size: bool) -> bool:
        """Say beside its field what is missing; dry powder belongs into no ready size."""
        if is_size and self.has_powder and not self.has_water and self.warned.data != DRY:
            self.warned.data = DRY
            self.powder_0_typed.errors = [
                words().gettext(
                    "Dry powder clumps in a ready size. Blend it into water in a jug, let it "
                    "rest, and say that water too. Is it in already? Send this once more, and "
                    "strain the size."
                )
            ]
            return False
        if not self.has_powder and not self.has_water:
            self.take(Refused(field="water", code="missing"))
            return False
        return True


class BlendForm(Happened, Noted, EntryForm):
    """Liquid of another bath went in."""

    kind: ClassVar[str] = "bath.joined"

    giver = RadioField(N_("Out of which one?"), validators=[InputRequired()])
    litres_typed = StringField(
        N_("How much of it"), name="litres.typed", validators=[InputRequired()]
    )
    litres_unit = UnitField(N_("Measured in"), name="litres.unit", units=WATERS, default="l")


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRow:
    """A way to the wanted dose, and the address that fills it into a form."""

    said: WaySaid
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidMendPage:
    """
    Thinning and thickening; `reckons` says whether a dose can be aimed at, `wrong` what is
    wrong with the one that was typed.
    """

    id: str
    name: str
    url: str
    word: str
    litres: str
    dose: str
    finished: bool
    is_size: bool
    has_powder: bool
    reckons: bool
    wanted: WantedForm
    wrong: str
    ways: tuple[WayRow, ...]
    thin: ThinForm
    blend: BlendForm
    ahead: LiquidAheadSaid
    care: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A bath with what could go into it."""

    look: LiquidLook
    givers: tuple[LiquidLook, ...]
    lots: tuple[OnHand, ...]


@pages.route("/liquids/<bath>/mend", methods=["GET", "POST"])
@needs("bath.topped_up")
def mend(bath: str) -> Response:
    bench = _bench(bath)
    thin, blend = _thin_form(bench), _blend_form(bench)
    if request.method == "POST":
        is_size = bench.look.state.what == SIZE
        if thin.validate_on_submit() and thin.enough(is_size=is_size):
            with writing() as here:
                outcome = thin.record(here, bath=bath)
            if written(outcome, words().gettext("Written. Stir it, and try a drop.")):
                return redirect(f"/liquids/{bath}", 303)
        return _shown(bench, thin, blend, status=422)
    return _shown(bench, thin, blend)


@pages.post("/liquids/<bath>/mend/blend")
@needs("bath.joined")
def blended(bath: str) -> Response:
    bench = _bench(bath)
    thin, blend = _thin_form(bench, empty=True), _blend_form(bench)
    if blend.validate_on_submit():
        with writing() as here:
            outcome = blend.record(here, bath=bath)
        if written(outcome, words().gettext("Written. Stir it, and try a drop.")):
            return redirect(f"/liquids/{bath}", 303)
    return _shown(bench, thin, blend, status=422)


def _bench(bath: str) -> Bench:
    state = known_liquid(bath)
    journal = desk().journal
    return Bench(
        look=see_liquid(journal, state, now=now()),
        givers=givers_for(journal, state, now=now()),
        lots=powder_on_hand(journal, state.studio, state.of, today=today()) if state.of else (),
    )


def _thin_form(bench: Bench, *, empty: bool = False) -> ThinForm:
    """Return the form for water and powder; `empty` where another form was sent."""
    form = ThinForm(None) if empty else ThinForm()
    if request.method == "GET":
        form = ThinForm(request.args)
    form.offer(words(), bench.look.state.of, bench.lots, bench.look.around.house)
    return form


def _blend_form(bench: Bench) -> BlendForm:
    is_ours = request.endpoint == f"{pages.name}.{blended.__name__}"
    form = BlendForm() if is_ours else BlendForm(request.args)
    form.giver.choices = options(
        (str(one.state.id), giver_text(words(), one)) for one in bench.givers
    )

    for name in ("csrf_token", "entry_id", "happened_at", "note"):
        form[name].id = f"blend-{name}"  # the other form of the page has these too
    return form


def _shown(bench: Bench, thin: ThinForm, blend: BlendForm, *, status: int = 200) -> Response:
    state = bench.look.state
    wanted = _wanted_form(bench)
    ways, wrong = _ways(bench, wanted)
    page = LiquidMendPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        url=f"/liquids/{state.id}",
        word=bench.look.answer.word.value,
        litres=amounts.volume(words(), state.volume_ml),
        dose=dose_text(words(), state.dose_g_per_l) if state.of else "",
        finished=state.finished_at is not None,
        is_size=state.what == SIZE,
        has_powder=bool(state.of),
        reckons=can_reckon(state),
        wanted=wanted,
        wrong=wrong,
        ways=tuple(_row(bench, way) for way in ways),
        thin=thin,
        blend=blend,
        ahead=_ahead(bench, thin),
        care=safety_card(words(), f"make-{state.what}", bench.look.around.studio),
    )
    return show("liquid_mend.html", page=page, nav="room", status=status)


def _wanted_form(bench: Bench) -> WantedForm:
    """Return the form of the wanted dose; the recipe's stands in it until another is typed."""
    form = WantedForm(request.args)
    recipe = bench.look.around.recipe
    if "wanted" not in request.args and recipe is not None:
        dose_g_per_l = float(statement_of(recipe).g_per_l.middle)
        form.wanted.process_formdata([amounts.strength_figure(words(), dose_g_per_l, 1)])
    return form


def _ways(bench: Bench, form: WantedForm) -> tuple[tuple[Way, ...], str]:
    """Return the ways to what is wanted, or what is wrong with it."""
    wrong = [text for text in (_wrong(form.wanted), _wrong(form.thicker)) if text]
    if wrong:
        return (), wrong[0]
    wanted, thicker = _number(form.wanted), _number(form.thicker)
    if wanted is None:
        return (), ""
    if thicker is not None and thicker <= wanted:
        return (), words().gettext("What is made in a jug must be thicker than what is wanted.")
    try:
        found = ways_to(
            bench.look, bench.givers, wanted_g_per_l=wanted, thicker_g_per_l=thicker
        )
    except ValueError:
        return (), words().gettext("No vessel holds what that would make. Make a new one.")
    if not found and can_reckon(bench.look.state):
        return (), words().gettext("It is so already.")
    return found, ""


def _wrong(field: MeasuredField) -> str:
    """Say what is wrong with a dose that was typed; empty for nothing."""
    if field.process_errors:
        text = field.process_errors[0]
        return text if isinstance(text, AsItIs) else words().gettext(str(text))
    found, most = _number(field), float(DOSE_MAX_G_PER_L)
    if found is None or WANTED_MIN_G_PER_L <= found <= most:
        return ""
    return words().gettext(
        "“%(part)s” must lie from %(options)s.",
        part=field.typed,
        options=amounts.strength_span(words(), WANTED_MIN_G_PER_L, most, digits=1),
    )


def _number(field: MeasuredField) -> float | None:
    """Return what was typed [g/L]; None for nothing."""
    return float(unwire(field.data)) if field.data else None


def _row(bench: Bench, way: Way) -> WayRow:
    state = bench.look.state
    typed = {name: request.args.get(name, "") for name in ("wanted", "wanted-in")}
    filled = {**typed, **_filled(way)}
    return WayRow(
        said=way_said(words(), way, powder=state.of, dose_g_per_l=state.dose_g_per_l or 0.0),
        url=f"/liquids/{state.id}/mend?{urlencode(filled)}",
    )


def _filled(way: Way) -> dict[str, str]:
    """Return the fields of the form that a way fills in."""
    (volume,), (weight,) = own_order(("l", "us_gallon"))[:1], own_order(("g", "oz"))[:1]
    poured = _figure(way.add_ml, volume, 2)
    if way.how == BLEND and way.giver is not None:
        giver = str(way.giver.state.id)
        return {"giver": giver, "litres.typed": poured, "litres.unit": volume}
    filled = {"water.typed": poured, "water.unit": volume}
    if way.powder_g:
        filled["powder.0.amount.typed"] = _figure(
            way.powder_g, weight, 1 if weight == "g" else 2
        )
        filled["powder.0.amount.unit"] = weight
    return filled


def _figure(base: float, unit: str, digits: int) -> str:
    """Return mL or grams in another unit, as they stand in a box."""
    return f"{round(base / float(UNITS[unit].factor), digits):g}"


def _ahead(bench: Bench, form: ThinForm) -> LiquidAheadSaid:
    """Return what water and powder as typed would make of it; nothing while half typed."""
    try:
        said = read_record(kinds.BathToppedUp, form.body() | {"bath": bench.look.state.id})
    except Slip:
        return LiquidAheadSaid()
    if said.water is None and not said.powder:
        return LiquidAheadSaid()
    found = look_ahead(
        bench.look,
        add_ml=float(said.water.base) if said.water else 0.0,
        add_g=powder_of(said.powder, lots_of(bench.lots)),
    )
    return liquid_ahead_said(words(), found)


@pages.get("/liquids/<bath>/mend/ahead")
@needs("bath.topped_up")
def ahead(bath: str) -> Response:
    """Say dose and level before and after, while water and powder are being typed."""
    bench = _bench(bath)
    return jsonify(_ahead(bench, _thin_form(bench)).live())


@pages.get("/liquids/<bath>/mend/blended")
@needs("bath.joined")
def blend_ahead(bath: str) -> Response:
    """Say dose and level before and after, while a blend is being typed."""
    bench = _bench(bath)
    form = BlendForm(request.args)
    try:
        said = read_record(kinds.BathJoined, form.body() | {"bath": bath})
    except Slip:
        return jsonify(LiquidAheadSaid().live())
    giver = next((one.state for one in bench.givers if one.state.id == said.giver), None)
    if giver is None or said.litres is None:
        return jsonify(LiquidAheadSaid().live())
    add_ml = min(float(said.litres.base), giver.volume_ml)
    found = look_ahead(
        bench.look, add_ml=add_ml, add_g=giver.powder_g * add_ml / giver.volume_ml
    )
    return jsonify(liquid_ahead_said(words(), found).live())


@pages.get("/liquids/<bath>/mend/ways")
@needs("bath.topped_up")
def ways(bath: str) -> Response:
    """Say what brings it to a dose, while that is being typed."""
    bench = _bench(bath)
    found, wrong = _ways(bench, WantedForm(request.args))
    lines = [wrong] if wrong else []
    for way in found:
        said = _row(bench, way).said
        lines += [said.head, *said.lines]
    return jsonify({"lines": lines})
