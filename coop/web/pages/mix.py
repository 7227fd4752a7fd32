"""Mix: make a bath from a recipe as people write it."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, ClassVar

from flask import Blueprint, jsonify, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, StringField
from wtforms.validators import InputRequired

from coop.actions.mix import (
    CARD,
    HALF_SHEETS,
    HOUSE,
    MM,
    Asked,
    BathPlan,
    StudioTubs,
    Water,
    measures_of,
    next_name,
    plan_bath,
    put_in,
    see_tubs,
    statement_of,
    water_for,
)
from coop.actions.on_hand import OnHand, alum_on_hand, salts_on_hand
from coop.actions.write import Written
from coop.ledger import kinds
from coop.ledger.baths import BathState
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused, Slip, read_record
from coop.ledger.states import HouseState, RecipeState, StudioState, VesselState
from coop.ledger.table import HOUSE as HOUSE_SUBJECT
from coop.units.fault import NotUnderstood
from coop.units.goods import GoodsDose
from coop.units.kinds import Kinds
from coop.units.number import unwire
from coop.units.strength import Statement
from coop.web import amounts
from coop.web.booked import ForSession
from coop.web.by_cloth import goods_of, goods_reader, statement_by_cloth
from coop.web.cautions import SafetyCard, hand_hot, safety_card
from coop.web.doses import (
    DOSE_LENGTH_MAX,
    UNIT_NAMES,
    DoseReader,
    fault_text,
    open_text,
    read_typed,
)
from coop.web.fields import MeasuredField, own_order
from coop.web.forms import Happened, Noted, options, written
from coop.web.held import held_last
from coop.web.hot_start import HotForm, hot_poured, hot_said
from coop.web.how_much import read_much
from coop.web.i18n import N_
from coop.web.measures import ReadAs, house_as_read
from coop.web.mixing import PlanSaid, plan_said, recipe_text, worked_key
from coop.web.page import desk, known, needs, show, today, words, writing
from coop.web.salt import SaltForm, lot_of, lot_text

TYPED = "typed"
NO_CARD = "none"

pages = Blueprint("mix", __name__)


class PlanForm(HotForm, ReadAs):
    """What is to be mixed; it writes nothing and stands in the page's address."""

    class Meta:
        csrf = False

    recipe = RadioField(N_("By which card?"))
    dose = StringField(
        N_("The dose, as it is written"),
        description=N_("For example: 8 tbsp per gallon, 30 g/L, 1 lb makes 3 gallons."),
    )
    pick = RadioField(N_("Which one holds?"))
    meant_so = RadioField(N_("Is that meant?"))
    cloth = MeasuredField(
        N_("Weight of the dry cloth"),
        unit="g",
        description=N_("This dose goes by the cloth, whatever the water."),
    )
    much = StringField(N_("How much?"))
    measure = RadioField(N_("Of what"))
    lot = SelectField(N_("Alum from"))
    other_lot = SelectField(N_("And, if that is not enough, from"))
    instead = RadioField(N_("Take another salt?"), default="")
    by = RadioField(N_("Mix it by"))


class MixForm(ForSession, Happened, Noted, SaltForm):
    """What was really put in."""

    kind: ClassVar[str] = "bath.mixed"

    name = StringField(N_("Name of the bath"), validators=[InputRequired()])
    guessed = RadioField(N_("How do you know?"), default="no")


@dataclass(frozen=True, slots=True, kw_only=True)
class TubsPage:
    studios: tuple[StudioTubs, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPage:
    """
    Mixing in one tub.

    `holds` is the bath that still stands in it; `plan` what was worked out; `put_in` the form
    for what was put in, shown once that is `ready`, and filled by what `worked` names; `fixed`
    what the page adds to it; `held` what of another kind stood in the tub last; `hot` says a
    hot start, `poured` its water where it was chosen, `hot_care` what it needs beside the card.
    """

    tub: str
    studio: str
    held: str
    form: PlanForm
    reader: DoseReader
    plan: PlanSaid
    holds: BathState | None
    put_in: MixForm
    fixed: tuple[tuple[str, str], ...]
    ready: bool
    worked: str
    asks: bool
    asks_meant: bool
    asks_cloth: bool
    other_salts: bool
    salts_open: bool
    hot: tuple[str, ...]
    poured: str
    hot_open: bool
    hot_care: tuple[str, ...]
    hand_hot: str
    url: str
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What stands around a tub where something is mixed."""

    vessel: VesselState
    studio: StudioState | None
    holds: BathState | None
    house: HouseState | None
    recipes: tuple[RecipeState, ...]
    lots: tuple[OnHand, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """What a plan form comes to: the card, the water and the plan, as far as they are said."""

    reader: DoseReader
    recipe: RecipeState | None = None
    water: Water | None = None
    plan: BathPlan | None = None
    no_card: bool = False
    goods: GoodsDose | None = None
    question: str = ""
    problems: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether somebody must say by which strength to mix."""
        return self.plan is not None and self.plan.asks

    @property
    def settled(self) -> bool:
        """Whether something may be mixed by it."""
        ready = self.plan is not None and not self.asks and not self.question
        return not self.problems and (ready or self.no_card)


@pages.get("/mix")
@needs("bath.mixed")
def tubs() -> Response:
    return show("mix_tubs.html", page=TubsPage(studios=see_tubs(desk().journal)), nav="mix")


@pages.route("/mix/<vessel>", methods=["GET", "POST"])
@needs("bath.mixed")
def mix(vessel: str) -> Response:
    bench = _bench(desk().journal, known("vessel", vessel))
    form = _plan_form(bench)
    found = work_out(form, bench)
    writing_form = _mix_form(bench)
    status = 200
    if request.method == "POST":
        status = 422
        if not found.settled:
            writing_form.take(Refused(field="dose", code="pick-a-reading"))
        elif writing_form.validate_on_submit():
            with writing() as here:
                outcome = writing_form.record(here, **_fixed(bench, found))
            name = str(writing_form.name.data)
            told = words().gettext(
                "%(name)s is written. Now hang its tag on the tub.", name=name
            )
            if written(outcome, told) and isinstance(outcome, Written):
                form.remember(found.reader.questions, bench.house)
                return redirect(f"/baths/{outcome.sealed.entry.id}", 303)
    else:
        _say_what_is_open(form, found.reader)
        _prefill(writing_form, bench, found)
    return show(
        "mix.html", page=_page(bench, form, found, writing_form), nav="mix", status=status
    )


def _bench(journal: Journal, vessel: VesselState) -> Bench:
    last: BathState | None = journal.state("bath", vessel.last_bath)
    there = last is not None and last.finished_at is None and last.vessel == vessel.id
    return Bench(
        vessel=vessel,
        studio=journal.state("studio", vessel.studio),
        holds=last if there else None,
        house=house_as_read(journal.state("house", HOUSE_SUBJECT)),
        recipes=tuple(one for one in journal.listed("recipe") if one.what == "alum"),
        lots=alum_on_hand(journal, vessel.studio, today=today()),
    )


def _plan_form(bench: Bench) -> PlanForm:
    """Return the form of the address, with what can be chosen at this tub."""
    form = PlanForm(request.args)
    cards = [(str(one.id), recipe_text(words(), one)) for one in bench.recipes]
    cards += [
        (TYPED, words().gettext("another card, typed below")),
        (NO_CARD, words().gettext("no card: it is mixed already")),
    ]
    form.recipe.choices = options(cards)
    measures = own_order(measures_of(bench.vessel, bench.house))
    form.measure.choices = options((code, _measure(code)) for code in measures)
    form.by.choices = options(
        (
            (CARD, words().gettext("the card; it is judged by the house's strength")),
            (HOUSE, words().gettext("the house's strength instead")),
        )
    )
    form.meant_so.choices = options([("yes", words().gettext("yes, it is meant so"))])
    _offer_lots(form, bench)
    if form.measure.data not in measures:
        form.measure.data = measures[0]
    return form


def _offer_lots(form: PlanForm, bench: Bench) -> None:
    lots = [(one.lot.id, lot_text(words(), one)) for one in _fitting(form, bench)]
    form.lot.choices = options(lots)
    form.other_lot.choices = options([("", words().gettext("no second lot")), *lots])
    others = [(str(one.lot.id), lot_text(words(), one)) for one in _others(form, bench)]
    no_other = words().gettext("no, the card's own salt")
    form.instead.choices = options([("", no_other), *others])


def _recipe(form: PlanForm, bench: Bench) -> RecipeState | None:
    return next((one for one in bench.recipes if one.id == form.recipe.data), None)


def _fitting(form: PlanForm, bench: Bench) -> list[OnHand]:
    """Return the lots with something left: of the recipe's salt, or the house's salt first."""
    there = [one for one in bench.lots if one.left_g > 0]
    recipe = _recipe(form, bench)
    if recipe is not None:
        return [one for one in there if one.lot.salt == recipe.salt]
    usual = bench.house.target_salt if bench.house else None
    return sorted(there, key=lambda one: one.lot.salt != usual)


def _others(form: PlanForm, bench: Bench) -> list[OnHand]:
    """Return the lots of other salts than the recipe's, that can stand for it."""
    recipe = _recipe(form, bench)
    if recipe is None or recipe.salt is None:
        return []
    there = (one for one in bench.lots if one.left_g > 0)
    return [one for one in there if one.lot.salt and one.lot.salt != recipe.salt]


def _measure(code: str) -> str:
    if code == MM:
        return words().gettext("mm deep in this tub")
    if code == HALF_SHEETS:
        return words().gettext("half sheets to dip")
    if code == "l":
        return words().gettext("litres")
    return words().gettext(UNIT_NAMES[code][1])


def work_out(form: PlanForm, bench: Bench) -> WorkedOut:
    """Return what is planned, as far as it is said; the same for a page and while typing."""
    typed = str(form.dose.data or "").strip()[: DOSE_LENGTH_MAX + 1]
    recipe = _recipe(form, bench)
    goods = goods_of(words(), recipe, typed)
    meant = form.meant(bench.house)
    if goods is not None and recipe is None:
        reader = goods_reader(words(), goods)
    else:
        reader = read_typed(words(), typed, meant, pick=str(form.pick.data or ""))
    form.pick.choices = options(reader.choices)
    no_card = form.recipe.data == NO_CARD
    problems: list[str] = []
    if typed and (recipe is not None or no_card):
        problems.append(words().gettext("Two cards: choose the one above or the typed one."))
    water = _water(form, bench, meant.kinds, problems)
    if goods is not None:
        statement = _by_cloth(form, goods, water, problems)
    else:
        statement = reader.statement if recipe is None else statement_of(recipe)
    plan = None
    if statement is not None and water is not None and not problems:
        asked = _asked(form, bench, recipe, statement, water)
        plan = _plan(asked, problems)
    return WorkedOut(
        reader=reader,
        recipe=recipe,
        water=water,
        plan=plan,
        no_card=no_card,
        goods=goods,
        question=_made_for(form, recipe),
        problems=tuple(problems),
    )


def _by_cloth(
    form: PlanForm, goods: GoodsDose, water: Water | None, problems: list[str]
) -> Statement | None:
    """Return the dose for the cloth and the water that are said; None while one is missing."""
    problems.extend(str(text) for text in form.cloth.process_errors)
    if water is None or not form.cloth.data:
        return None
    cloth_g, water_ml = unwire(str(form.cloth.data)), Fraction(round(water.volume_ml))
    if not 0 < cloth_g <= kinds.MASS_MAX_G or not water_ml:
        problems.append(words().gettext("How heavy is the dry cloth? Weigh it."))
        return None
    found = statement_by_cloth(goods, cloth_g, water_ml)
    if found is None:
        problems.append(_too_strong())
    return found


def _too_strong() -> str:
    return words().gettext("That is stronger than anything dissolves. A slip?")


def _made_for(form: PlanForm, recipe: RecipeState | None) -> str:
    """Return the question about a card that is not for paper; a weighed cloth answers it."""
    if recipe is None or recipe.for_paper or recipe.by_cloth:
        return ""
    if form.meant_so.data == "yes":
        return ""
    if recipe.made_for == "fabric":
        return words().gettext("This card is for fabric, not for paper. Is that meant?")
    return words().gettext(
        "This card clears rinse water; it does not make alum for paper. Is that meant?"
    )


def _water(
    form: PlanForm, bench: Bench, kinds: Kinds | None, problems: list[str]
) -> Water | None:
    typed = str(form.much.data or "").strip()
    if not typed:
        return None
    try:
        said = read_much(typed, str(form.measure.data), kinds, tongue=words().lang)
    except NotUnderstood as fault:
        form.much.errors = [fault_text(words(), fault)]
        return None
    water = water_for(*said, bench.vessel, bench.house)
    if water is None:
        problems.append(
            words().gettext("Nobody described the inside of this tub: say litres instead.")
        )
        return None
    if water.over_the_brim:
        brim = amounts.volume(words(), water.brim_ml)
        would = amounts.volume(words(), water.volume_ml)
        problems.append(
            words().gettext(
                "That goes over the brim: %(brim)s fit, it would be %(would)s.",
                brim=brim,
                would=would,
            )
        )
        return None
    return water


def _asked(
    form: PlanForm,
    bench: Bench,
    recipe: RecipeState | None,
    statement: Statement,
    water: Water,
) -> Asked:
    fitting, others = _fitting(form, bench), _others(form, bench)
    wanted = (form.lot.data, form.other_lot.data)
    chosen = [one for place in wanted for one in fitting if one.lot.id == place]
    lots = tuple(dict.fromkeys(chosen)) or tuple(fitting[:1])
    instead = tuple(one for one in others if one.lot.id == form.instead.data)
    return Asked(
        statement=statement,
        recipe=recipe,
        water=water,
        lots=instead or lots,
        house=bench.house,
        by=str(form.by.data or ""),
        studio=bench.studio,
        others=() if instead else tuple(others),
        recipes=bench.recipes,
        for_paper=_for_paper(recipe, statement),
    )


def _for_paper(recipe: RecipeState | None, statement: Statement) -> bool:
    if goods_of(words(), recipe, statement.typed) is not None:
        return False
    return recipe is None or recipe.for_paper


def _plan(asked: Asked, problems: list[str]) -> BathPlan | None:
    if asked.too_strong:
        problems.append(_too_strong())
        return None
    return plan_bath(asked)


def _mix_form(bench: Bench) -> MixForm:
    form = MixForm()
    form.offer(words(), bench.lots, bench.house)
    form.offer_sessions(bench.vessel.studio)
    form.guessed.choices = options(
        (
            ("no", words().gettext("weighed, or spoons counted")),
            ("yes", words().gettext("guessed")),
        )
    )
    return form


def _fixed(bench: Bench, found: WorkedOut) -> dict[str, Any]:
    """Return what the page knows of the entry: place and card."""
    fixed: dict[str, Any] = {"studio": bench.vessel.studio, "vessel": bench.vessel.id}
    if found.recipe is not None:
        return fixed | {"recipe": found.recipe.id, "dose": found.recipe.dose}
    return fixed | ({"dose": found.reader.typed} if found.reader.typed else {})


def _say_what_is_open(form: PlanForm, reader: DoseReader) -> None:
    """Put what keeps a typed card from being mixed by beside its field, for the summary."""
    if reader.fault:
        form.dose.errors = [reader.fault]
    elif reader.open and reader.choices:
        form.pick.errors = [open_text(words(), reader)]


def _prefill(form: MixForm, bench: Bench, found: WorkedOut) -> None:
    """Write the plan into the form of what was put in, to be changed where it was not so."""
    if bench.studio is not None:
        form.name.data = next_name(desk().journal, bench.studio)
    if found.plan is not None:
        form.fill_water(found.plan.water.volume_ml)
        form.fill(found.plan.shares)


def _page(bench: Bench, form: PlanForm, found: WorkedOut, writing_form: MixForm) -> MixPage:
    plan = found.plan
    return MixPage(
        tub=bench.vessel.name,
        studio=bench.studio.name if bench.studio else "",
        held=held_last(bench.vessel, "alum"),
        form=form,
        reader=DoseReader(typed="") if form.dose.errors else found.reader,
        plan=_said(bench, found),
        holds=bench.holds,
        put_in=writing_form,
        fixed=tuple(_fixed(bench, found).items()),
        ready=found.settled or request.method == "POST",
        worked=_worked(form, bench, found),
        asks=found.asks or bool(form.by.data),
        asks_meant=bool(found.question or form.meant_so.data),
        asks_cloth=found.goods is not None,
        other_salts=bool(_others(form, bench)),
        salts_open=bool(form.instead.data) or (plan is not None and plan.offered is not None),
        hot=_hot(form, found),
        poured=_poured(form, found),
        hot_open=form.hot_asked or (plan is not None and plan.store.near_solubility),
        hot_care=_hot_care(),
        hand_hot=hand_hot(words()),
        url=url_for("mix.mix", vessel=bench.vessel.id),
        card=safety_card(words(), "mix", bench.studio, salts_on_hand(bench.lots)),
    )


def _said(bench: Bench, found: WorkedOut) -> PlanSaid:
    return plan_said(words(), found.plan, bench.vessel, found.problems, found.question)


def _worked(form: PlanForm, bench: Bench, found: WorkedOut) -> str:
    """Return what the second form is filled by; empty where there is nothing to mix by."""
    if not found.settled:
        return ""
    card = found.recipe.edition if found.recipe else found.reader.typed
    shares = found.plan.shares if found.plan else ()
    return worked_key(bench.vessel.id, card + _poured(form, found), found.water, shares)


def _hot(form: PlanForm, found: WorkedOut) -> tuple[str, ...]:
    """Say a hot start for the water that is planned, once it is known."""
    water_ml = found.water.volume_ml if found.water else None
    return hot_said(words(), form, water_ml, found.plan)


def _poured(form: PlanForm, found: WorkedOut) -> str:
    """Return how the water is poured where a hot start was chosen; empty where it was not."""
    if not form.hot_asked or found.water is None:
        return ""
    return hot_poured(words(), form, found.water.volume_ml)


def _hot_care() -> tuple[str, ...]:
    """Return what to mind at a hot start beyond what stands on the page for every mix."""
    always = safety_card(words(), "mix", None).sentences
    hot = safety_card(words(), "hot-start", None).sentences
    return tuple(one for one in hot if one not in always)


@pages.get("/mix/<vessel>/reckoned")
@needs("bath.mixed")
def reckoned(vessel: str) -> Response:
    """Say what is understood and planned so far, while it is being typed."""
    bench = _bench(desk().journal, known("vessel", vessel))
    form = _plan_form(bench)
    found = work_out(form, bench)
    shown = {
        "hot": _hot(form, found),
        "asks": found.asks or bool(form.by.data),
        "asks_meant": bool(found.question or form.meant_so.data),
        "asks_cloth": found.goods is not None,
        "worked": _worked(form, bench, found),
        "much": form.much.errors,
    }
    return jsonify(found.reader.live() | _said(bench, found).live() | shown)


@pages.get("/mix/<vessel>/strength")
@needs("bath.mixed")
def strength(vessel: str) -> Response:
    """Say how strong a bath is of what is being typed into the form of what was put in."""
    bench = _bench(desk().journal, known("vessel", vessel))
    form = MixForm(request.args, meta={"csrf": False})
    form.offer(words(), bench.lots, bench.house)
    fixed = _fixed(bench, WorkedOut(reader=DoseReader(typed="")))
    try:
        said = read_record(kinds.BathMixed, form.body() | fixed | {"name": "-"})
    except Slip:
        return jsonify({})  # half typed: nothing to say yet
    if not said.salt:
        return jsonify({})  # somebody asks for a bath without alum here
    lots = {one.lot: lot for one in said.salt if (lot := lot_of(bench.lots, one.lot))}
    found = put_in(said.water, said.salt, lots, guessed=said.guessed == "yes")
    return jsonify(
        {
            "figure": amounts.strength(
                words(), found.middle_g_per_l, found.low_g_per_l, found.high_g_per_l
            )
        }
    )
