"""Make a size, gall water, rinse, paste or softener, from a dose as people write it."""

from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any, ClassVar
from urllib.parse import urlencode

from flask import Blueprint, abort, jsonify, redirect, request
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField
from wtforms.validators import InputRequired

from coop.actions.make import (
    POWDERS_OF,
    Asked,
    MakePlan,
    Place,
    free_tubs,
    make_again,
    next_liquid_name,
    plan_liquid,
    put_in_g_per_l,
)
from coop.actions.mix import MM, Water, statement_of, water_for
from coop.actions.on_hand import OnHand, powder_on_hand
from coop.actions.see_shelf import GELS
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.liquids import SIZE
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused, Slip, read_record
from coop.ledger.states import HouseState, RecipeState, VesselState
from coop.ledger.table import HOUSE
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.strength import Statement
from coop.web import amounts
from coop.web import words as say
from coop.web.booked import ForSession
from coop.web.cautions import SafetyCard, safety_card
from coop.web.doses import (
    DOSE_LENGTH_MAX,
    UNIT_NAMES,
    DoseReader,
    fault_text,
    open_text,
    read_typed,
)
from coop.web.fields import own_order
from coop.web.forms import Happened, Noted, options, written
from coop.web.held import vessel_named
from coop.web.how_much import read_much
from coop.web.i18n import N_
from coop.web.making import TITLES, MakingSaid, making_said, steps
from coop.web.measures import ReadAs, house_as_read
from coop.web.mixing import recipe_text, worked_key
from coop.web.page import desk, known, needs, now, show, today, words, writing
from coop.web.powder import PowderForm, lot_text, lots_of
from coop.web.told import bath_url

TYPED = "typed"
NO_CARD = "none"
DOSE_EXAMPLES = MappingProxyType(
    {
        "size": N_("For example: 5 g/L, or 2 level tbsp per gallon."),
        "gall_water": N_("For example: 1:7, or 1 mL to 7 mL."),
        "rinse": "",
        "paste": N_("For example: 60 g/L, or 4 level tbsp per pint."),
        "softener": N_("For example: 1 g/L, or 1 level tsp per gallon."),
    }
)

pages = Blueprint("make", __name__)


class PlanForm(ReadAs):
    """What is to be made; it writes nothing and stands in the page's address."""

    class Meta:
        csrf = False

    what = HiddenField()
    powder = RadioField(
        N_("Of which powder?"),
        description=N_("Carrageenan must be lambda: kappa and iota set, not for marbling."),
    )
    vessel = RadioField(N_("In which tub?"))
    recipe = RadioField(N_("By which card?"))
    dose = StringField(N_("The dose, as it is written"))
    pick = RadioField(N_("Which one holds?"))
    much = StringField(N_("How much?"))
    measure = RadioField(N_("Of what"), default="l")
    lot = SelectField(N_("Powder from"))
    other_lot = SelectField(N_("And, if that is not enough, from"))
    sure = RadioField(N_("Is that meant?"))


class MakeForm(ForSession, Happened, Noted, PowderForm):
    """What was really put in."""

    kind: ClassVar[str] = "bath.mixed"

    name = StringField(N_("Its name"), validators=[InputRequired()])
    guessed = RadioField(N_("How do you know?"), default="no")


@dataclass(frozen=True, slots=True, kw_only=True)
class KindRow:
    """A kind of bath that can be made here."""

    text: str
    url: str
    here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MakePage:
    """
    Making a bath that is not alum; `what` is empty while nobody has said which.

    `holds` says what still stands in the tub that was asked for; `put_in` is the form for what
    was put in, shown once that is `ready`, and filled by what `worked` names; `fixed` what
    the page adds to it.
    """

    what: str
    title: str
    kinds: tuple[KindRow, ...]
    holds: str
    holds_url: str
    no_tub: bool
    form: PlanForm
    reader: DoseReader
    plan: MakingSaid
    asks: bool
    put_in: MakeForm
    fixed: tuple[tuple[str, str], ...]
    ready: bool
    worked: str
    url: str
    send_url: str
    steps: tuple[str, ...]
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What something is made with: where, of what, by which cards, out of which lots."""

    what: str
    places: tuple[Place, ...]
    place: Place | None
    house: HouseState | None
    recipes: tuple[RecipeState, ...]
    recipe: RecipeState | None
    powder: str
    lots: tuple[OnHand, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """What a plan form comes to, as far as it is said."""

    reader: DoseReader
    plan: MakePlan | None = None
    no_card: bool = False
    sure: bool = False
    problems: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether the dose is unlike any size, but could be a concentrate."""
        return self.plan is not None and self.plan.unlike is not None

    @property
    def settled(self) -> bool:
        """Whether something may be made by it."""
        if self.problems or (self.plan is not None and self.plan.too_thick):
            return False
        dosed = self.plan is not None and (
            self.plan.dose_g_per_l is not None or self.plan.what == "rinse"
        )
        return self.no_card or (dosed and (self.sure or not self.asks))


@pages.route("/make", methods=["GET", "POST"])
@needs("bath.mixed")
def make() -> Response:
    if request.method == "GET" and request.args.get("again"):
        return _again(request.args["again"])
    form = PlanForm(request.args)
    if not form.what.data:
        return show("make.html", page=_kinds_page(form), nav="mix")
    bench = _bench(form)
    found = work_out(form, bench)
    put_in = _put_in_form(bench)
    status = 200
    if request.method == "POST":
        status = 422
        if bench.place is None or not found.settled:
            _say_what_is_open(form, bench, found)
            put_in.form_errors.append(
                words().gettext("Something above is still open. Put it right, then write it.")
            )
        elif put_in.validate_on_submit():
            with writing() as here:
                outcome = put_in.record(here, **_fixed(bench, found))
            told = words().gettext(
                "%(name)s is written. Now hang its tag on it.", name=str(put_in.name.data)
            )
            if written(outcome, told) and isinstance(outcome, Written):
                return redirect(f"/liquids/{outcome.sealed.entry.id}", 303)
    else:
        _say_what_is_open(form, bench, found)
        _prefill(put_in, bench, found)
    page = _page(form, bench, found, put_in)
    return show("make.html", page=page, nav="mix", status=status)


def _again(bath: str) -> Response:
    """Go to the page that makes a bath like an earlier one, with everything filled in."""
    found = make_again(desk().journal, known("bath", bath))
    said = {
        "recipe": found.recipe or (TYPED if found.dose else NO_CARD),
        "dose": found.dose,
        "much": f"{found.volume_ml / 1000:.1f}",
        "measure": "l",
    }
    if found.what == "alum":
        there = f"/mix/{found.vessel}?{urlencode(said)}" if found.vessel else "/mix"
        return redirect(there, 303)
    said |= {"what": found.what, "powder": found.powder, "vessel": found.vessel or ""}
    return redirect(f"/make?{urlencode(said)}", 303)


def _kinds_page(form: PlanForm) -> MakePage:
    return MakePage(
        what="",
        title=words().gettext("Make a size or another bath"),
        kinds=_kinds(""),
        holds="",
        holds_url="",
        no_tub=False,
        form=form,
        reader=DoseReader(typed=""),
        plan=MakingSaid(),
        asks=False,
        put_in=MakeForm(),
        fixed=(),
        ready=False,
        worked="",
        url="",
        send_url="",
        steps=(),
        card=safety_card(words(), "make-size", None),
    )


def _kinds(here: str) -> tuple[KindRow, ...]:
    kept = {name: said for name in ("studio", "vessel") if (said := request.args.get(name))}
    return tuple(
        KindRow(
            text=say.choice(words(), "bath", what),
            url=f"/make?{urlencode({'what': what} | kept)}",
            here=what == here,
        )
        for what in POWDERS_OF
    )


def _bench(form: PlanForm) -> Bench:
    """Return what stands around, and fill in what can be chosen in the plan's form."""
    what = str(form.what.data)
    if what not in POWDERS_OF:
        abort(404)
    journal = desk().journal
    studio = request.args.get("studio", "")
    places = tuple(one for one in free_tubs(journal) if studio in ("", one.studio.id))
    recipes = tuple(
        one for one in journal.listed("recipe") if one.what == what and not one.by_cloth
    )
    recipe = next((one for one in recipes if one.id == form.recipe.data), None)
    powder = _powder(form, what, recipe)
    place = _sent(places) if request.method == "POST" else _place(form, places)
    lots = _lots(journal, place, powder)
    bench = Bench(
        what=what,
        places=places,
        place=place,
        house=house_as_read(journal.state("house", HOUSE)),
        recipes=recipes,
        recipe=recipe,
        powder=powder,
        lots=lots,
    )
    _offer(form, bench)
    return bench


def _lots(journal: Journal, place: Place | None, powder: str) -> tuple[OnHand, ...]:
    if place is None or not powder:
        return ()
    return powder_on_hand(journal, place.studio.id, powder, today=today())


def _powder(form: PlanForm, what: str, recipe: RecipeState | None) -> str:
    """Return what it is made of: chosen, else the card's, else the only one there is."""
    of = POWDERS_OF[what]
    if form.powder.data in of:
        return str(form.powder.data)
    if recipe is not None and recipe.powder in of:
        return recipe.powder or ""
    return of[0] if len(of) == 1 else ""


def _place(form: PlanForm, places: tuple[Place, ...]) -> Place | None:
    if not form.vessel.data and len(places) == 1:
        return places[0]
    return next((one for one in places if one.vessel.id == form.vessel.data), None)


def _sent(places: tuple[Place, ...]) -> Place | None:
    """Return the place of a form that was sent, free or not: it may have been sent before."""
    journal = desk().journal
    vessel: VesselState | None = journal.state(
        "vessel", Subject(request.form.get("vessel", ""))
    )
    if vessel is None:
        return None
    free = (one for one in places if one.vessel.id == vessel.id)
    studio = journal.state("studio", vessel.studio)
    return next(free, Place(vessel=vessel, studio=studio) if studio else None)


def _offer(form: PlanForm, bench: Bench) -> None:
    form.powder.choices = options(
        (code, say.choice(words(), "powder", code)) for code in POWDERS_OF[bench.what]
    )
    form.powder.data = bench.powder or None
    several = len({one.studio.id for one in bench.places}) > 1
    form.vessel.choices = options(
        (
            one.vessel.id,
            (f"{one.studio.name}: " if several else "") + vessel_named(one.vessel, bench.what),
        )
        for one in bench.places
    )
    form.vessel.data = bench.place.vessel.id if bench.place else None
    cards = [(str(one.id), recipe_text(words(), one)) for one in bench.recipes]
    cards += [
        (TYPED, words().gettext("another card, typed below")),
        (NO_CARD, words().gettext("no card: it is made already")),
    ]
    form.recipe.choices = options(cards)
    form.dose.description = words().gettext(DOSE_EXAMPLES[bench.what])
    measures = _measures(bench)
    form.measure.choices = options((code, _measure(code)) for code in measures)
    if "measure" not in request.args or form.measure.data not in measures:
        form.measure.data = measures[0]
    lots = [(str(one.lot.id), lot_text(words(), one)) for one in bench.lots if one.left_g > 0]
    form.lot.choices = options(lots)
    form.other_lot.choices = options([("", words().gettext("no second lot")), *lots])
    form.sure.choices = options(
        [("yes", words().gettext("yes: a concentrate to blend in later, or a trial"))]
    )


def _measures(bench: Bench) -> tuple[str, ...]:
    first = ("ml",) if bench.what == "gall_water" else ()
    gallon = f"{bench.house.gallon if bench.house else 'us'}_gallon"
    return (*first, *own_order(("l", MM, gallon)))


def _measure(code: str) -> str:
    if code == MM:
        return words().gettext("mm deep in this tub")
    if code == "l":
        return words().gettext("litres")
    return words().gettext(UNIT_NAMES[code][1])


def work_out(form: PlanForm, bench: Bench) -> WorkedOut:
    """Return what is planned, as far as it is said; the same for a page and while typing."""
    typed = str(form.dose.data or "").strip()[: DOSE_LENGTH_MAX + 1]
    pick = str(form.pick.data or "")
    meant = form.meant(bench.house)
    reader = read_typed(words(), typed, meant, pick=pick, of=bench.powder or "other")
    form.pick.choices = options(reader.choices)
    no_card = form.recipe.data == NO_CARD
    problems = _two_cards(typed, no_card, bench)
    water = _water(form, bench, meant.kinds, problems)
    statement = reader.statement if bench.recipe is None else statement_of(bench.recipe)
    plan = None
    if bench.place is not None and water is not None and not problems:
        plan = _plan(form, bench, statement, water)
    return WorkedOut(
        reader=reader,
        plan=plan,
        no_card=no_card,
        sure=form.sure.data == "yes",
        problems=tuple(problems),
    )


def _two_cards(typed: str, no_card: bool, bench: Bench) -> list[str]:
    found = []
    if typed and (bench.recipe is not None or no_card):
        found.append(words().gettext("Two cards: choose the one above or the typed one."))
    card = bench.recipe.powder if bench.recipe else None
    if card is not None and card != bench.powder:
        found.append(
            words().gettext(
                "This card is of %(card)s, and you chose %(powder)s.",
                card=say.choice(words(), "powder", card),
                powder=say.choice(words(), "powder", bench.powder),
            )
        )
    return found


def _water(
    form: PlanForm, bench: Bench, kinds: Kinds | None, problems: list[str]
) -> Water | None:
    typed = str(form.much.data or "").strip()
    if not typed or bench.place is None:
        return None
    try:
        said = read_much(typed, str(form.measure.data), kinds, tongue=words().lang)
    except NotUnderstood as fault:
        form.much.errors = [fault_text(words(), fault)]
        return None
    water = water_for(*said, bench.place.vessel, bench.house)
    if water is None:
        problems.append(
            words().gettext("Nobody described the inside of this tub: say litres instead.")
        )
    elif water.over_the_brim:
        problems.append(
            words().gettext(
                "That goes over the brim: %(brim)s fit, it would be %(would)s.",
                brim=amounts.volume(words(), water.brim_ml),
                would=amounts.volume(words(), water.volume_ml),
            )
        )
        return None
    return water


def _plan(
    form: PlanForm, bench: Bench, statement: Statement | None, water: Water
) -> MakePlan | None:
    if bench.place is None or (statement is not None and not bench.powder):
        return None
    there = tuple(one for one in bench.lots if one.left_g > 0)
    fitting = tuple(one for one in there if one.lot.carrageenan not in GELS) or there
    wanted = (form.lot.data, form.other_lot.data)
    chosen = [one for place in wanted for one in there if one.lot.id == place]
    return plan_liquid(
        Asked(
            what=bench.what,
            powder=bench.powder,
            statement=statement,
            recipe=bench.recipe,
            water=water,
            lots=tuple(dict.fromkeys(chosen)) or fitting,
            house=bench.house,
            at=now(),
            recipes=bench.recipes,
        ),
        bench.place.vessel,
    )


def _put_in_form(bench: Bench) -> MakeForm:
    form = MakeForm()
    form.offer(words(), bench.powder, bench.lots, bench.house)
    form.offer_sessions(bench.place.vessel.studio if bench.place else None)
    form.guessed.choices = options(
        (
            ("no", words().gettext("weighed, or spoons counted")),
            ("yes", words().gettext("guessed")),
        )
    )
    return form


def _fixed(bench: Bench, found: WorkedOut) -> dict[str, Any]:
    """Return what the page knows of the entry: kind, place and card."""
    fixed: dict[str, Any] = {"what": bench.what}
    if bench.place is not None:
        fixed |= {"studio": bench.place.studio.id, "vessel": bench.place.vessel.id}
    if bench.recipe is not None:
        return fixed | {"recipe": bench.recipe.id, "dose": bench.recipe.dose}
    return fixed | ({"dose": found.reader.typed} if found.reader.typed else {})


def _say_what_is_open(form: PlanForm, bench: Bench, found: WorkedOut) -> None:
    """Put what is still missing beside its field, once the plan was sent."""
    if found.reader.fault:
        form.dose.errors = [found.reader.fault]
    elif found.reader.open and found.reader.choices:
        form.pick.errors = [open_text(words(), found.reader)]
    if "much" not in request.args:
        return
    if bench.place is None:
        form.vessel.errors = [_refusal("missing")]
    if bench.what == SIZE and not bench.powder:
        form.powder.errors = [_refusal("missing")]
    if not str(form.much.data or "").strip() and not found.no_card:
        form.much.errors = [words().gettext("How much water? A dose alone is not enough.")]
    card = found.reader.typed or bench.recipe or found.no_card
    if not card and bench.what != "rinse":
        form.dose.errors = [words().gettext("Write the dose, or choose its card above.")]


def _refusal(code: str) -> str:
    return say.refusal(words(), Refused(field="", code=code))


def _prefill(form: MakeForm, bench: Bench, found: WorkedOut) -> None:
    """Write the plan into the form of what was put in, to be changed where it was not so."""
    if bench.place is not None and found.settled:
        form.name.data = next_liquid_name(desk().journal, bench.place.studio, bench.what)
    if found.plan is not None:
        form.fill_water(found.plan.water.volume_ml)
        form.fill(found.plan.shares)
        if found.plan.powder_g and not found.plan.shares:
            form.fill_from_no_lot(found.plan.powder, found.plan.powder_g)


def _page(form: PlanForm, bench: Bench, found: WorkedOut, put_in: MakeForm) -> MakePage:
    holds = _holds(bench)
    studios = {one.studio.id: one.studio for one in bench.places}
    studio = bench.place.studio if bench.place else None
    if studio is None and len(studios) == 1:
        (studio,) = studios.values()
    return MakePage(
        what=bench.what,
        title=words().gettext(TITLES[bench.what]),
        kinds=_kinds(bench.what),
        holds=holds[0],
        holds_url=holds[1],
        no_tub=not bench.places,
        form=form,
        reader=DoseReader(typed="") if form.dose.errors else found.reader,
        plan=_said(bench, found, now()),
        asks=found.asks,
        put_in=put_in,
        fixed=tuple(_fixed(bench, found).items()),
        ready=bench.place is not None and (found.settled or request.method == "POST"),
        worked=_worked(bench, found),
        url="/make",
        send_url=request.full_path,
        steps=steps(words(), bench.what, bench.powder),
        card=safety_card(words(), f"make-{bench.what}", studio),
    )


def _worked(bench: Bench, found: WorkedOut) -> str:
    """Return what the second form is filled by; empty where there is nothing to make by."""
    if bench.place is None or not found.settled:
        return ""
    card = bench.recipe.edition if bench.recipe else found.reader.typed
    water, shares = (found.plan.water, found.plan.shares) if found.plan else (None, ())
    return worked_key(bench.place.vessel.id, card, water, shares)


def _holds(bench: Bench) -> tuple[str, str]:
    """Return what stands in the tub that was asked for, and its address; empty for nothing."""
    asked = request.args.get("vessel", "")
    if not asked or bench.place is not None:
        return "", ""
    for bath in desk().journal.listed("bath"):
        if bath.vessel == Subject(asked):
            return bath.name, bath_url(bath)
    return "", ""


def _said(bench: Bench, found: WorkedOut, at: datetime) -> MakingSaid:
    vessel = bench.place.vessel if bench.place else None
    return making_said(words(), found.plan, vessel, found.problems, now=at)


@pages.get("/make/reckoned")
@needs("bath.mixed")
def reckoned() -> Response:
    """Say what is understood and planned so far, while it is being typed."""
    form = PlanForm(request.args)
    bench = _bench(form)
    found = work_out(form, bench)
    shown = {"worked": _worked(bench, found), "much": form.much.errors}
    return jsonify(found.reader.live() | _said(bench, found, now()).live() | shown)


@pages.get("/make/thickness")
@needs("bath.mixed")
def thickness() -> Response:
    """Say the dose of what is being typed into the form of what was put in."""
    lots = powder_on_hand(
        desk().journal,
        Subject(request.args.get("studio", "")),
        request.args.get("powder.0.powder", ""),
        today=today(),
    )
    form = MakeForm(request.args, meta={"csrf": False})
    form.offer(words(), request.args.get("powder.0.powder", ""), lots, None)
    named = ("what", "studio", "vessel")
    fixed = {name: request.args.get(name, "") for name in named}
    try:
        said = read_record(kinds.BathMixed, form.body() | fixed | {"name": "-"})
    except Slip:
        return jsonify({})  # half typed: nothing to say yet
    found = put_in_g_per_l(said, lots_of(lots))
    if found is None:
        return jsonify({})
    text = words().gettext("about %(dose)s", dose=amounts.g_per_l(words(), found, 1))
    return jsonify({"figure": text})
