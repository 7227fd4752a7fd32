"""What is done with a lot: opened, spoons weighed, moved, put right, priced, cut."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Any, ClassVar, Final

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField
from wtforms.validators import InputRequired

from coop.actions.see_lots import CutPlan, lots_alike, plan_cut
from coop.actions.see_shelf import LotLook, look_at_lots
from coop.actions.spoons import is_odd
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.accounts import QUARTERS, UG_PER_G, UL_PER_ML
from coop.ledger.entries import read_content
from coop.ledger.lots import amount_of, base_amount
from coop.ledger.measure import spoon_default
from coop.ledger.schema import Refused, Slip
from coop.ledger.states import LotState, StudioState
from coop.ledger.table import KINDS
from coop.rules.one_tub import NOT_KNOWN
from coop.units.kinds import FAMILIES
from coop.units.number import wire
from coop.web import amounts
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card_of
from coop.web.fields import POURED, WEIGHTS, MoneyField, NumberField, UnitField
from coop.web.forms import EntryForm, Happened, Noted, options, written
from coop.web.i18n import N_
from coop.web.lots import LotSaid, house_spoon, is_spooned, lot_said, much
from coop.web.page import desk, known, needs, show, today, words, writing
from coop.web.recipes import odd_spoon_text
from coop.web.salt import SPOONS

pages = Blueprint("lot_acts", __name__)

SPOONS_USUAL = "10"
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
    tare_unit = UnitField(N_("Unit"), name="tare.unit", units=WEIGHTS, default="g")


class DoubtedForm(EntryForm, Happened):
    """What is written after a question, if there is one; `warned` is what was asked."""

    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    warned = HiddenField()
    question: str = ""

    def ask(self, question: str) -> bool:
        """Say whether this must be asked first; what was asked once is meant."""
        self.question = question
        asks = question not in ("", self.warned.data)
        self.warned.data = question
        return asks

    def said(self, **fixed: Any) -> Any:
        """Return the content it says; None where it is not right, and the form says so."""
        try:
            return read_content(KINDS[self.kind], self.body() | fixed, "")
        except Slip as slip:
            self.take(slip.refused)
            return None


class SpoonForm(DoubtedForm):
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
    weight_unit = UnitField(N_("Unit"), name="weight.unit", units=WEIGHTS, default="g")


class MuchForm(DoubtedForm, Noted):
    """An amount of a lot: by weight or volume, or counted."""

    amount_typed = StringField(N_("How much"), name="amount.typed")
    amount_unit = UnitField(N_("Unit"), name="amount.unit")
    count = NumberField(N_("How many"))

    def measure(self, lot: LotState) -> None:
        """Ask what the lot is measured in, and nothing else."""
        if lot.measure in UNITS_OF:
            del self.count
            self.amount_unit.offer(UNITS_OF[lot.measure])
        else:
            del self.amount_typed, self.amount_unit
            if lot.measure == "sheets":
                self.count.description = N_("Full sheets; a half sheet counts 0.5.")


class MoveForm(MuchForm):
    """`to` is a studio, or a lot that it is put to; `offered` has what each is called."""

    kind: ClassVar[str] = "lot.moved"
    beside: ClassVar[frozenset[str]] = frozenset({"how", "to", "warned"})

    to = RadioField(N_("Where to?"), validate_choice=False)
    how = RadioField(
        N_("All of it?"),
        choices=options(()),
        default=ALL,
        validators=[InputRequired()],
    )
    offered: Mapping[str, str] = MappingProxyType({})

    def offer(self, offered: Mapping[str, str]) -> None:
        """Fill the list; of one place only that one is chosen."""
        self.offered = offered
        self.to.choices = options(offered.items())
        if len(offered) == 1 and not self.to.data:
            (self.to.data,) = offered

    def validate(self, extra_validators: Any = None) -> bool:
        """Ask how much a part is, where it goes, and what a number with all of it means."""
        fit = bool(super().validate(extra_validators))
        name = "amount" if "amount_typed" in self else "count"
        field = self[f"{name}_typed"] if name == "amount" else self[name]
        typed = str(field.data or "").strip()
        if self.how.data == PART and not typed and not field.errors:
            self.take(Refused(field=name, code="missing"))
            fit = False
        if self.how.data == ALL and typed:
            self.how.errors = [*self.how.errors, _all_or(typed)]
            fit = False
        if self.to.data not in self.offered:
            self.take(Refused(field="to", code="not-a-choice"))
            fit = False
        return fit

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if self.how.data == PART or name.partition(".")[0] not in ("amount", "count"):
                yield name, value


def _all_or(typed: str) -> str:
    return words().gettext(
        "All of it, or %(typed)s? For a part choose “a part”; for all of it take the number "
        "out.",
        typed=typed,
    )


class AdjustForm(MuchForm):
    kind: ClassVar[str] = "lot.adjusted"

    way = RadioField(N_("Which way?"), validators=[InputRequired()])
    cause = RadioField(N_("Why?"), validators=[InputRequired()])


class PriceForm(EntryForm):
    kind: ClassVar[str] = "lot.priced"

    price = MoneyField(
        N_("Price of all of it"),
        validators=[InputRequired()],
        description=N_("What all packs of this lot cost together, in the house's money."),
    )


class CutForm(DoubtedForm, Noted):
    kind: ClassVar[str] = "lot.cut"
    beside: ClassVar[frozenset[str]] = frozenset({"paper", "warned"})

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
        fields: Names of the form's fields in their order.
        backs: What is read back before it is written, each with the field and values beside
            which it is shown, as `data-beside` has them; empty for always.
        picks: The id of the choice that an amount picks while it is typed; empty for none.
        question: What is asked before it is written; empty for nothing.
        card: What to take care of; None where nothing can hurt.
        stuck: Why there is nothing to fill in; empty where there is.
    """

    title: str
    lead: str
    lot: LotSaid
    form: EntryForm
    fields: tuple[str, ...]
    backs: tuple[tuple[str, str], ...]
    picks: str = ""
    question: str = ""
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
        "fields": ("tare.typed", "tare.unit", "happened_at"),
        "backs": ((words().gettext("%(lot)s: opened", lot=state.name), ""),),
        "card": _card(state),
    }
    return _shown(state, page)


def _card(state: LotState) -> SafetyCard | None:
    """Return what to take care of when a powder is opened or weighed."""
    if not is_spooned(state):
        return None
    studio: StudioState | None = desk().journal.state("studio", state.studio)
    return safety_card_of(words(), (state.what,), studio, (state.salt,))


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoonPage:
    """
    Weighing spoons.

    `range_text` says what a spoon of such a powder weighs elsewhere; `question` asks about a
    weight that is far from it, empty where it is not.
    """

    form: SpoonForm
    lot: LotSaid
    range_text: str
    question: str
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
        done = _weighed(form, state)
        if done:
            return done
    page = SpoonPage(
        form=form,
        lot=lot_said(words(), _look(state), spoon=house_spoon()),
        range_text=_usual_spoon(state),
        question=form.question,
        card=_card(state),
    )
    status = 422 if request.method == "POST" else 200
    return show("spoons.html", page=page, nav="shelf", status=status)


def _weighed(form: SpoonForm, lot: LotState) -> Response | None:
    """Write weighed spoons; a weight that no such powder has is asked about first."""
    said: kinds.LotSpoonWeighed | None = form.said(lot=lot.id)
    if said is None:
        return None
    spoon_g = float(said.weight.base) / said.spoon_count
    odd = is_odd(spoon_g, lot.what, said.spoon)
    if form.ask(odd_spoon_text(words(), spoon_g, lot.what, said.spoon) if odd else ""):
        return None
    told = words().gettext("Weighed. Every bath from this lot is reckoned anew.")
    return _wrote(form, told, lot=lot.id)


def _usual_spoon(lot: LotState) -> str:
    """Say what a level US tablespoon of such a powder weighs by the published range."""
    usual = spoon_default(lot.what)
    return words().gettext(
        "A US tablespoon of %(powder)s weighs %(weight)s.",
        powder=say.choice(words(), "supply", lot.what),
        weight=amounts.weight_span(words(), usual.low, usual.high),
    )


@pages.route("/lots/<lot>/move", methods=["GET", "POST"])
@needs("lot.moved")
def move(lot: str) -> Response:
    state: LotState = known("lot", lot)
    look = _look(state)
    form = MoveForm()
    form.measure(state)
    form.offer(_places(state))
    form.how.choices = options(
        ((ALL, words().gettext("all of it")), (PART, words().gettext("a part")))
    )
    if form.validate_on_submit():
        done = _move(form, look)
        if done:
            return done
    page = {
        "title": words().gettext("Move %(lot)s", lot=state.name),
        "lead": "",
        "form": form,
        "fields": ("to", "how", *_much_fields(state), "happened_at", "note"),
        "picks": "how-1",
        "backs": _moved_backs(look),
        "question": form.question,
        "stuck": ""
        if form.offered
        else words().gettext("There is no other studio to move it to."),
    }
    return _shown(state, page)


def _much_fields(lot: LotState) -> tuple[str, ...]:
    return ("amount.typed", "amount.unit") if lot.measure in UNITS_OF else ("count",)


def _places(state: LotState) -> Mapping[str, str]:
    """Return where a lot may go: the other studios, and the lots that it may be put to."""
    journal = desk().journal
    names: dict[str, str] = {one.id: one.name for one in journal.listed("studio")}
    places = {one: name for one, name in names.items() if one != state.studio}
    for one in lots_alike(journal, state, today=today()):
        places[one.id] = words().gettext(
            "%(studio)s, put together with %(lot)s",
            studio=names.get(one.studio, "—"),
            lot=one.name,
        )
    return places


def _moved(form: MoveForm, look: LotLook) -> dict[str, Any]:
    """Return what follows from the choices: a lot's own studio, and all that is left."""
    taker: LotState | None = desk().journal.state("lot", Subject(form.to.data))
    if taker is None:
        return {"studio": form.to.data}
    fixed: dict[str, Any] = {"studio": taker.studio, "into": taker.id}
    return fixed | (_all_left(look) if form.how.data == ALL else {})


def _move(form: MoveForm, look: LotLook) -> Response | None:
    """Write a move and say what was moved: 'Moved: 150 g, to Barn.'"""
    fixed = _moved(form, look) | {"lot": look.lot.id}
    said = form.said(**fixed)
    if said is None:
        return None
    amount = look.left if form.how.data == ALL else amount_of(look.lot, said)
    if form.ask(_more_than_left(look, amount)):
        return None
    place = form.offered[str(form.to.data)]
    told = words().gettext(
        "Moved: %(much)s, to %(place)s.", much=much(words(), look.lot, amount), place=place
    )
    return _wrote(form, told, **fixed)


def _more_than_left(look: LotLook, amount: int) -> str:
    """Ask about more than there is by what is written; empty for less."""
    if amount <= max(0, look.left):
        return ""
    return words().gettext(
        "%(much)s is more than there is: by the ledger %(left)s. Is the number right?",
        much=much(words(), look.lot, amount),
        left=much(words(), look.lot, look.left),
    )


def _moved_backs(look: LotLook) -> tuple[tuple[str, str], ...]:
    """Return what is read back of all of a lot, and of a part of it."""
    named = {"lot": look.lot.name, "left": much(words(), look.lot, look.left)}
    some = _much_back(look.lot)
    part = words().gettext("%(lot)s: %(some)s of %(left)s, to {to}", some=some, **named)
    return (
        (words().gettext("%(lot)s: all of it, %(left)s, to {to}", **named), f"how={ALL}"),
        (part, f"how={PART}"),
    )


def _much_back(lot: LotState) -> str:
    """Return how an amount of a lot is read back while it is typed."""
    return "{amount.typed} {amount.unit}" if lot.measure in UNITS_OF else "{count}"


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
    look = _look(state)
    if form.validate_on_submit():
        done = _adjust(form, look)
        if done:
            return done
    page = {
        "title": words().gettext("Put right what is left of %(lot)s", lot=state.name),
        "lead": words().gettext(
            "By the ledger: %(left)s. Count it first if you can: a count says what was seen.",
            left=much(words(), state, look.left),
        ),
        "form": form,
        "fields": ("way", *_much_fields(state), "cause", "happened_at", "note"),
        "backs": ((f"{state.name}: {{way}}, {_much_back(state)}, {{cause}}", ""),),
        "question": form.question,
    }
    return _shown(state, page)


def _adjust(form: AdjustForm, look: LotLook) -> Response | None:
    """Put a lot right; more than there is is asked about first."""
    said = form.said(lot=look.lot.id)
    if said is None:
        return None
    out = amount_of(look.lot, said) if said.way == "out" else 0
    if form.ask(_more_than_left(look, out)):
        return None
    done = words().gettext("Put right. What stood before is kept.")
    return _wrote(form, done, lot=look.lot.id)


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
        "fields": ("price",),
        "backs": ((words().gettext("%(lot)s cost {price}", lot=state.name), ""),),
    }
    return _shown(state, page)


@pages.route("/lots/<lot>/cut", methods=["GET", "POST"])
@needs("lot.cut")
def cut(lot: str) -> Response:
    state: LotState = known("lot", lot)
    if state.what != "paper":
        abort(404)
    plans = {_plan_key(one): one for one in plan_cut(desk().journal, state)}
    form = CutForm()
    form.paper.choices = options((key, _plan_text(one)) for key, one in plans.items())
    if form.validate_on_submit():
        done = _cut(form, _look(state), plans[form.paper.data])
        if done:
            return done
    page = {
        "title": words().gettext("Cut sheets of %(lot)s", lot=state.name),
        "lead": words().gettext("Straight cuts, all sheets the same way round."),
        "form": form,
        "fields": ("paper", "sheet_count", "made_count", "name", "happened_at", "note"),
        "backs": _cut_backs(state),
        "question": form.question,
        "stuck": _nothing_smaller(plans),
    }
    return _shown(state, page)


def _plan_key(plan: CutPlan) -> str:
    return f"{plan.paper.id} turned" if plan.turned else str(plan.paper.id)


def _plan_text(plan: CutPlan) -> str:
    """Say which way round, how many sheets come out of a parent, and what of it is offcut."""
    along = N_(
        "%(paper)s (%(size)s), long side along the parent's: %(count)s out "
        "of each, offcut %(area)s (%(percent)s %%)"
    )
    across = N_(
        "%(paper)s (%(size)s), long side across the parent's: %(count)s out "
        "of each, offcut %(area)s (%(percent)s %%)"
    )
    told = words().gettext(
        across if plan.turned else along,
        paper=plan.paper.name,
        size=words().gettext(
            "%(length)s by %(width)s",
            length=amounts.length_figure(words(), plan.paper.length_mm),
            width=amounts.length(words(), plan.paper.width_mm),
        ),
        count=plan.count,
        area=amounts.area(words(), plan.offcut_m2, 3),
        percent=words().number(100 * plan.offcut_part),
    )
    if plan.grain == NOT_KNOWN:
        return told
    grain = say.choice(words(), "grain", plan.grain)
    return words().gettext("%(plan)s, grain %(grain)s", plan=told, grain=grain)


def _cut_backs(lot: LotState) -> tuple[tuple[str, str], ...]:
    """Return what is read back of a cut, and what came out where somebody typed it."""
    cut_said = words().gettext(
        "{sheet_count} parent sheets of %(lot)s cut to {paper}: {name}", lot=lot.name
    )
    return (cut_said, ""), (words().gettext("{made_count} sheets came out"), "")


def _cut(form: CutForm, look: LotLook, plan: CutPlan) -> Response | None:
    """Write sheets cut; the number that came out follows where nobody typed it."""
    fixed: dict[str, Any] = {
        "lot": look.lot.id,
        "paper": plan.paper.id,
        "turned": "yes" if plan.turned else "no",
    }
    parents = str(form.sheet_count.data or "").strip()
    if not str(form.made_count.data or "").strip():
        if not parents.isdecimal() or len(parents) > COUNT_DIGITS_MAX:
            form.take(Refused(field="sheet_count", code="not-a-number"))
            return None
        fixed["made_count"] = str(int(parents) * plan.count)
    said: kinds.LotCut | None = form.said(**fixed)
    if said is None or form.ask(_is_it_right(look, plan, said)):
        return None
    told = words().gettext(
        "Cut: %(made)s of %(name)s out of %(count)s of %(lot)s.",
        made=said.made_count,
        name=said.name,
        count=said.sheet_count,
        lot=look.lot.name,
    )
    return _wrote(form, told, **fixed)


def _is_it_right(look: LotLook, plan: CutPlan, said: kinds.LotCut) -> str:
    """Ask about parents that are not there, and about sheets that did not come out."""
    more = _more_than_left(look, base_amount("paper", None, said.sheet_count))
    would = said.sheet_count * plan.count
    if more or said.made_count == would:
        return more
    return words().gettext(
        "%(made)s came out; %(count)s parent sheets give %(would)s. Is that right? Write only "
        "the parents that were cut.",
        made=said.made_count,
        count=said.sheet_count,
        would=would,
    )


def _nothing_smaller(plans: Mapping[str, CutPlan]) -> str:
    if plans:
        return ""
    return words().gettext(
        "No paper that comes out of these sheets is described. Describe the cut sheets as a "
        "paper first."
    )
