"""May this go down this drain? The answer, what it hangs on, and what was done."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from flask import Blueprint, abort, flash, redirect, request, url_for
from werkzeug.wrappers import Response

from coop.actions.ask_about_waste import FREE
from coop.actions.see_baths import see_any
from coop.actions.see_drain import ask_drain, decided
from coop.actions.see_jugs import by_themselves
from coop.actions.sites import Site, packs_of, see_site
from coop.actions.write import Outcome as WriteOutcome
from coop.actions.write import Written
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.entries import Sealed
from coop.ledger.kinds import METALS, WASTES
from coop.ledger.schema import Slip
from coop.ledger.states import JarState, JugState, StudioState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.rules.packs import whys
from coop.rules.packs.changes import Change, differing
from coop.rules.packs.decisions import Decision, freeze
from coop.rules.packs.words import CLASSIFY, NOT_KNOWN, Outcome
from coop.units.number import wire
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.drain_asked import (
    LOOKS,
    Answers,
    Thing,
    address,
    answers,
    facts_of,
    of_bath,
    of_jar,
    of_jug,
    of_other,
    outlet_of,
    outlets,
    wants,
)
from coop.web.drain_forms import (
    READ_BY,
    READINGS,
    DrainReadingForm,
    GoneForm,
    JudgedForm,
    reading_form,
    sent,
)
from coop.web.drains import DrainSaid, MeasureSaid, over_its_sum, told
from coop.web.floc import floc_ways
from coop.web.forms import written
from coop.web.history import note_named
from coop.web.i18n import N_
from coop.web.page import desk, face, known, needs, now, show, site, words, writing, zone
from coop.web.told import Names, kept_text
from coop.web.told import told as told_entry
from coop.web.wasted import judged_later

QUESTIONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "sewer": N_("May this go down this drain?"),
        "septic": N_("May this go down this drain?"),
        "storm": N_("May this go down this drain?"),
        "ground": N_("May this go onto the ground?"),
        "bin": N_("May this go into the bin?"),
        "hauled": N_("May this go with the truck?"),
        "jar": N_("May this go into a waste jar?"),
    }
)
CAUTIONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "alum_bath": "pour",
        "floc": "pour",
        "leftover": "pour",
        "gall_water": "pour-gall_water",
        "softener": "pour-softener",
        "not_known": "jug",
    }
)
"""The act whose cautions go with each waste; any other is water with something in it."""
ANSWERED_AT: Final = "disposal.judged"
NEUTRALISE, INTO_A_JAR, CARRY = "neutralise", "into_a_jar", "carry"
JARS_MAX: Final = 3
"""So many jars are offered to put something into."""
LETTER, WHO_AGREED, RULES, MISHAP = "letter", "who_agreed", "rules", "mishap"

pages = Blueprint("drain", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A way that can be chosen, as a link; `marked` is the one chosen, or one that helps."""

    name: str
    url: str
    marked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """
    What the rules say, for the page.

    Attributes:
        tint: One of the five of "May I use it?"; the shape is that of `said.outcome`.
        measure: What is to be read, but for the looks that are answered among `asked`.
        asked: The fields of the questions that are open or were answered here.
        more: Those of what nobody asks, and that can be said all the same.
        unasked: Questions that are not answered here, each in a sentence.
        colours: A field for each colour that declares metals or sulfides.
        metals: Whether they matter here, so that they are not folded away.
        review: Titles of packs that are due to be held against their source again.
    """

    said: DrainSaid
    tint: str
    measure: tuple[MeasureSaid, ...]
    asked: tuple[Any, ...]
    more: tuple[Any, ...]
    unasked: tuple[str, ...]
    colours: tuple[Any, ...]
    metals: bool
    review: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainPage:
    """
    The question of one thing at one outlet.

    Attributes:
        here: The address with all that was answered; the forms are sent to it.
        no_drain: Why no drain is among the outlets, in a sentence; empty where one is.
        hidden: (name, value) of what the address says besides the answers.
        path: The same without them: what is said of the thing is asked there by GET.
        reading, judged, gone: The forms; None where there is nothing to write with it.
        word, kept_for: May it be used, as a code, and for whom it is kept; of a bath in use.
        free: Whether it may go as far as anybody recorded, with its steps.
        in_parts: Whether only the litres of a day or a month stand against all of it.
        ways: Where to go on, the most pressing first.
        floc: Where what was strained off it goes; none once it went.
    """

    thing: Thing
    question: str
    here: str
    path: str
    hidden: tuple[tuple[str, str], ...]
    outlets: tuple[Choice, ...]
    no_drain: str
    answers: Answers
    answer: Answer
    instruments: tuple[Choice, ...]
    reading: DrainReadingForm | None
    judged: JudgedForm
    gone: GoneForm | None
    word: str
    kept_for: str
    free: bool
    in_parts: bool
    ways: tuple[Choice, ...]
    floc: tuple[tuple[str, str], ...]
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoosePage:
    """Which waste of a studio it is, where the address does not say."""

    studio: str
    url: str
    wastes: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OverPage:
    """What is gone, was taken away, or stands closed because nobody knows it."""

    thing: Thing
    leave_it: str
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPage:
    """
    An answer that was kept, as it was.

    Attributes:
        said: None where the answer itself is not here.
        judged_later: When it was given, where that was after what it speaks of; else empty.
        line: What was written with it.
        today: What today's rules would answer, where that is another thing; else empty.
        newly: The sources of what speaks otherwise today.
    """

    name: str
    url: str
    by: str
    at: str
    line: str
    note: str
    said: DrainSaid | None
    judged_later: str
    tint: str
    today: str
    newly: tuple[str, ...]
    rules_url: str


# ---- the four things that are asked about


@pages.route("/drain/bath/<bath>", methods=["GET", "POST"], endpoint="of_bath")
@needs(ANSWERED_AT)
def show_bath(bath: str) -> Response:
    state: AnyBath = known("bath", bath)
    return _ask(of_bath(state, _studio(state.studio)), "drain.of_bath", {"bath": bath})


@pages.route("/drain/jar/<jar>", methods=["GET", "POST"], endpoint="of_jar")
@needs(ANSWERED_AT)
def show_jar(jar: str) -> Response:
    state: JarState = known("jar", jar)
    return _ask(of_jar(state, _studio(state.studio)), "drain.of_jar", {"jar": jar})


@pages.route("/drain/jug/<jug>", methods=["GET", "POST"], endpoint="of_jug")
@needs(ANSWERED_AT)
def show_jug(jug: str) -> Response:
    state: JugState = known("jug", jug)
    alone = state.waste and by_themselves(desk().journal, [state])
    if state.bath is not None and not alone:
        return redirect(url_for("drain.of_bath", bath=state.bath), 303)
    return _ask(of_jug(state, _studio(state.studio)), "drain.of_jug", {"jug": jug})


@pages.route("/drain/other", methods=["GET", "POST"], endpoint="of_other")
@needs(ANSWERED_AT)
def show_other() -> Response:
    studio = _studio(Subject(request.args.get("studio", "")))
    lot = request.args.get("lot", "")
    waste = request.args.get("waste", "leftover" if lot else "")
    if waste not in WASTES:
        return _choose(studio)
    found = known("lot", lot) if lot else None
    return _ask(of_other(waste, studio, found), "drain.of_other", {})


def _studio(studio: Subject) -> StudioState:
    state: StudioState = known("studio", studio)
    return state


def _choose(studio: StudioState) -> Response:
    page = ChoosePage(
        studio=studio.name,
        url=f"/waste/{studio.id}",
        wastes=tuple(
            Choice(name=text, url=url_for("drain.of_other", studio=studio.id, waste=code))
            for code, text in texts.choices(words(), "waste")
        ),
    )
    return show("drain_choose.html", page=page, nav="waste")


# ---- asking and writing


def _ask(thing: Thing, endpoint: str, values: Mapping[str, str]) -> Response:
    """Show the answer; of what was sent, write it or show it again with what is wrong."""
    if thing.over or thing.shut:
        leave_it = words().gettext(texts.NOT_KNOWN_NEXT)
        page = OverPage(thing=thing, leave_it=leave_it, card=_card(thing, thing.waste))
        return show("drain_over.html", page=page, nav="waste", status=_shown_again())
    asking = _Asking(thing, endpoint, values)
    if request.method == "POST" and request.args.get("outlet", "") not in ("", asking.outlet):
        flash(words().gettext("There is no such way out here: look again."), "warning")
        return redirect(asking.here, 303)
    forms = _forms(asking)
    done = _write(asking, forms)
    if done is not None:
        return redirect(done, 303)
    return show("drain.html", page=_page(asking, forms), nav="waste", status=_shown_again())


def _shown_again() -> int:
    return 422 if request.method == "POST" else 200


class _Asking:
    """One question: the thing, the outlet, what was answered, and what the rules say."""

    def __init__(self, thing: Thing, endpoint: str, values: Mapping[str, str]) -> None:
        self.thing, self.endpoint, self.values = thing, endpoint, values
        self.outlet = outlet_of(thing, request.args.get("outlet", ""))
        self.answers = answers(desk().journal)
        self.volume_ml = self.answers.volume_ml(thing)
        self.decision = self.decide(self.volume_ml)

    def decide(self, volume_ml: float | None, at: datetime | None = None) -> Decision:
        """Ask the rules, of so much of it or of all; as of now, or of a moment before."""
        asked = self.answers.asked(self.thing, self.outlet, volume_ml)
        return ask_drain(desk().journal, _site(self.thing.studio, at), asked)

    @property
    def here(self) -> str:
        return address(self.endpoint, self.values, outlet=self.outlet)

    @property
    def body(self) -> dict[str, Any]:
        """What every line about it says, besides what the answer says."""
        return {"studio": str(self.thing.studio.id), **self.thing.refs}


def _site(studio: StudioState, at: datetime | None) -> Site:
    """Return what was known of a studio's outlets at a moment, now at the latest."""
    here = min(at or now(), now()).astimezone(zone())
    return see_site(desk().journal, studio, now=here, demo=site().settings.demo)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Forms:
    reading: DrainReadingForm | None
    judged: JudgedForm
    gone: GoneForm | None


def _forms(asking: _Asking) -> _Forms:
    form = JudgedForm(prefix="judged") if sent("judged") else JudgedForm(None, prefix="judged")
    return _Forms(reading=_reading(asking), judged=form, gone=_gone(asking))


def _reading(asking: _Asking) -> DrainReadingForm | None:
    """Return the form of the instrument that was sent or chosen, else of what is wanted."""
    if not asking.thing.readable:
        return None
    was_sent = next((one for one in READINGS if sent(one)), "")
    chosen = request.args.get("by", "")
    wanted, of = _wanted(asking.decision)
    by = was_sent or (chosen if chosen in READINGS else wanted)
    if not by:
        return None
    form = reading_form(by)
    if by == "laboratory" and not was_sent and of:
        form["of"].data = of
    return form


def _wanted(decision: Decision) -> tuple[str, str]:
    """Return the instrument of the first reading that is missing, and of what it is."""
    for one in decision.spoken:
        if one.kind != CLASSIFY and not one.advice:
            for device in one.devices:
                if device in READ_BY:
                    return READ_BY[device], one.of
    return "", ""


def _gone(asking: _Asking) -> GoneForm | None:
    """Return the form of what went; into a jar it is put on the jar's own page."""
    if asking.outlet == "jar":
        return None
    form = GoneForm(prefix="gone") if sent("gone") else GoneForm(None, prefix="gone")
    thing = asking.thing
    if thing.sort in ("bath", "jug"):
        del form.weight_typed, form.weight_unit
    if thing.refs or not asking.decision.facts.waste.endswith("_water"):
        del form.sheet_count
    form.begin_with(asking.decision.steps)
    if not form.is_submitted() or not sent("gone"):
        form.steps.data = []
    return form


def _write(asking: _Asking, forms: _Forms) -> str | None:
    """Write what was sent; return the address to go to then, or None."""
    if forms.reading is not None and sent(forms.reading["instrument"].data):
        return _write_reading(asking, forms.reading)
    if sent("judged"):
        return _write_judged(asking, forms.judged)
    if forms.gone is not None and sent("gone"):
        return _write_gone(asking, forms.gone)
    return None


def _write_reading(asking: _Asking, form: DrainReadingForm) -> str | None:
    if not form.validate():
        return None
    with writing() as place:
        outcome = form.record(place, **asking.thing.refs)
    return asking.here if written(outcome, words().gettext("Written.")) else None


def _write_judged(asking: _Asking, form: JudgedForm) -> str | None:
    if not form.validate():
        return None
    with writing() as place:
        outcome = form.record_with(
            place, asking.decision, **asking.body, **_litres(asking.volume_ml)
        )
    return _kept_at(outcome, words().gettext("Written down as it is now."))


def _litres(volume_ml: float | None) -> dict[str, Any]:
    """Return the litres that were judged as they are written; none where it was all."""
    if volume_ml is None:
        return {}
    n = wire(Fraction(round(1000 * volume_ml), 1000))
    return {"litres": {"typed": n, "n": n, "unit": "ml"}}


def _write_gone(asking: _Asking, form: GoneForm) -> str | None:
    """Take the answer anew, for as much as went and as of then, and write both."""
    if not form.validate():
        return None
    said_before = None if form.says_how_much else asking.volume_ml
    try:
        decision = asking.decide(form.volume_ml() or said_before, form.moment())
    except Slip as slip:
        form.take(slip.refused)
        return None
    undone = form.undone(decision.steps) if decision.outcome in FREE else ()
    if form.ask_about(undone):
        return None
    body = {**asking.body, **_litres(said_before), "without": list(undone)}
    with writing() as place:
        outcome = form.record_with(place, decision, **body)
    return _kept_at(outcome, words().gettext("Written: it is gone."))


def _kept_at(outcome: WriteOutcome, message: str) -> str | None:
    if not written(outcome, message):
        return None
    assert isinstance(outcome, Written)
    return url_for("drain.decision", entry=outcome.sealed.entry.id)


# ---- what is shown


def _page(asking: _Asking, forms: _Forms) -> DrainPage:
    thing = asking.thing
    by = forms.reading["instrument"].data if forms.reading else ""
    look = _in_use(thing)
    return DrainPage(
        thing=thing,
        question=words().gettext(QUESTIONS[asking.outlet]),
        here=asking.here,
        path=request.path,
        hidden=tuple(_hidden(asking)),
        outlets=tuple(_outlets(asking)),
        no_drain=_no_drain(thing.studio),
        answers=asking.answers,
        answer=_answer(asking),
        instruments=tuple(_instruments(asking, by)) if thing.readable else (),
        reading=forms.reading,
        judged=forms.judged,
        gone=forms.gone,
        word=look.answer.word.value if look else "",
        kept_for=kept_text(look.state.kept_for) if look else "",
        free=_is_free(asking),
        in_parts=over_its_sum(asking.decision) is not None,
        ways=tuple(_ways(asking)),
        floc=floc_ways(_site(thing.studio, None), thing.id) if thing.strained else (),
        card=_card(thing, asking.decision.facts.waste),
    )


def _in_use(thing: Thing) -> BathLook | LiquidLook | None:
    """Return how a bath stands that nobody finished: good ones are poured away by mistake."""
    journal = desk().journal
    state: AnyBath | None = journal.state("bath", _bath_of(thing))
    if state is None or state.finished_at is not None:
        return None
    return see_any(journal, state, now=now())


def _bath_of(thing: Thing) -> Subject | None:
    return Subject(thing.id) if thing.sort == "bath" else None


def _hidden(asking: _Asking) -> Iterator[tuple[str, str]]:
    yield "outlet", asking.outlet
    if asking.thing.sort == "other":
        yield "studio", asking.thing.studio.id
        yield "waste", asking.thing.waste
        if asking.thing.id:
            yield "lot", asking.thing.id


def _outlets(asking: _Asking) -> Iterator[Choice]:
    for code in outlets(asking.thing):
        yield Choice(
            name=texts.choice(words(), "outlet", code),
            url=address(asking.endpoint, asking.values, outlet=code),
            marked=code == asking.outlet,
        )


def _no_drain(studio: StudioState) -> str:
    if studio.drain == "none":
        return words().gettext("There is no drain here")
    if studio.drain == "not_known":
        return words().gettext("Nobody wrote down where this drain goes")
    return ""


def _instruments(asking: _Asking, by: str) -> Iterator[Choice]:
    for code in READINGS:
        yield Choice(
            name=say.choice(words(), "instrument", code),
            url=address(asking.endpoint, asking.values, outlet=asking.outlet, by=code)
            + "#read",
            marked=code == by,
        )


def _answer(asking: _Asking) -> Answer:
    decision, form = asking.decision, asking.answers.form
    said = told(words(), decision)
    open_now = wants(decision) | asking.answers.answered
    said_here = [form[one] for one in facts_of(asking.thing)]
    looked_at = {
        texts.choice(words(), "look", one.name) for one in said_here if one.name in LOOKS
    }
    amount = [] if asking.thing.measured else [form.litres]
    metals = "metal_pigments" in open_now or any(one.of in METALS for one in decision.spoken)
    colours = asking.answers.colour_fields
    return Answer(
        said=said,
        tint=texts.TINTS[said.outcome],
        measure=tuple(one for one in said.measure if one.what not in looked_at),
        asked=(*amount, *(one for one in said_here if one.name in open_now)),
        more=tuple(one for one in said_here if one.name not in open_now),
        unasked=tuple(one.question for one in said.questions if one.fact not in form),
        colours=colours,
        metals=metals or any(one.data or one.errors for one in colours),
        review=tuple(one.title for one in said.packs if one.review_due),
    )


def _ways(asking: _Asking) -> Iterator[Choice]:
    """Give where to go on from this answer; what helps with it is marked and comes first."""
    thing, studio = asking.thing, asking.thing.studio.id
    named = {
        NEUTRALISE: (_neutralise(thing), thing.neutralised_at),
        CARRY: (words().gettext("Carry it"), f"/waste/{studio}/carry"),
        LETTER: (
            words().gettext("Copy the figures from your letter"),
            f"/studios/{studio}/rules/letter",
        ),
        WHO_AGREED: (words().gettext("Who agreed"), f"/studios/{studio}/permission"),
        RULES: (words().gettext("Rules"), f"/studios/{studio}/rules"),
        MISHAP: (words().gettext("Something went wrong"), f"/mishaps/new?studio={studio}"),
    }
    helping = _helping(asking)
    moves = MISHAP not in helping and not _is_free(asking) and not _is_unknown(asking)
    stays = (INTO_A_JAR, CARRY) if moves else ()
    others = (*stays, WHO_AGREED, RULES, MISHAP)
    for code in dict.fromkeys((*helping, *others)):
        if code == INTO_A_JAR:
            yield from _jars(asking, marked=code in helping)
        elif code != CARRY or thing.readable:
            text, url = named[code]
            yield Choice(name=text, url=url, marked=code in helping)


def _neutralise(thing: Thing) -> str:
    if thing.going_on:
        return words().gettext("Go on neutralising")
    return words().gettext("Neutralise it")


def _jars(asking: _Asking, *, marked: bool) -> Iterator[Choice]:
    """Give the jars here that take such waste; where there is none, a new one."""
    thing, waste = asking.thing, asking.decision.facts.waste
    there: tuple[JarState, ...] = desk().journal.listed("jar", home=thing.studio.id)
    fitting = [one for one in there if waste in one.wastes and one.id != thing.id]
    sources = {"jar": "from_jar", "other": "lot" if thing.id else "waste"}
    source = {sources.get(thing.sort, thing.sort): thing.id or waste}
    for one in fitting[:JARS_MAX]:
        yield Choice(
            name=words().gettext("Put it into %(jar)s", jar=one.name),
            url=url_for("jars.add", jar=one.id, **source),  # type: ignore[arg-type]
            marked=marked,
        )
    if not fitting:
        text = words().gettext("Put it into a waste jar")
        yield Choice(name=text, url=url_for("jars.new", studio=thing.studio.id), marked=marked)


def _is_free(asking: _Asking) -> bool:
    """Say whether nothing that was recorded forbids it, with its steps or without."""
    return asking.decision.outcome in FREE


def _is_unknown(asking: _Asking) -> bool:
    """Say whether nobody knows what it is: then it is left where it stands."""
    facts = asking.decision.facts
    return NOT_KNOWN in (facts.waste, *facts.mixed_with)


def _helping(asking: _Asking) -> tuple[str, ...]:
    """Return what helps with this answer, the most pressing first."""
    outcome, reasons = asking.decision.outcome, {one.why for one in asking.decision.spoken}
    if any("stop_mix" in one.duties for one in asking.decision.spoken):
        return (MISHAP,)
    if _is_unknown(asking):
        return ()
    if over_its_sum(asking.decision) is not None:
        return (CARRY,)
    if asking.thing.going_on and asking.thing.neutralised_at and not _is_free(asking):
        return (NEUTRALISE,)
    if asking.outlet == "jar" or outcome in (Outcome.KEEP_IN_JAR, Outcome.NOT_DOWN_HERE):
        return INTO_A_JAR, CARRY
    if outcome is Outcome.NOT_YET and asking.thing.neutralised_at:
        return (NEUTRALISE,)
    missing = ((LETTER, whys.NO_LOCAL_PACK), (WHO_AGREED, whys.NO_PERMISSION))
    return tuple(code for code, why in missing if why in reasons)


def _card(thing: Thing, waste: str) -> SafetyCard:
    return safety_card(words(), CAUTIONS.get(waste, "pour-water"), thing.studio)


# ---- an answer that was kept


@pages.get("/drain/decision/<entry>")
@needs("read")
def decision(entry: str) -> Response:
    one = _line(entry)
    content = one.entry.content
    assert isinstance(content, kinds.DisposalJudged | kinds.DisposalDone)
    then = _kept(content.decision)
    studio = _studio(content.studio)
    change = _today(then, studio) if then else None
    thing = _thing(content, studio)
    page = KeptPage(
        name=thing.name,
        url=thing.url,
        by=face(one.entry.author).name,
        at=words().moment(one.entry.happened_at),
        line=told_entry(words(), Names(desk().journal), content),
        note=note_named(content.note),
        said=told(words(), then) if then else None,
        judged_later=judged_later(then, one.entry.happened_at) if then else "",
        tint=texts.TINTS[then.outcome] if then else "",
        today=_heading(change.after) if change else "",
        newly=tuple(_sources(change)) if change else (),
        rules_url=f"/studios/{studio.id}/rules",
    )
    return show("drain_kept.html", page=page, nav="waste")


def _line(entry: str) -> Sealed:
    """Return the line that an answer was kept with, or answer 404."""
    for one in desk().journal.by_id(EntryId(entry)):
        content = one.entry.content
        if isinstance(content, kinds.DisposalJudged | kinds.DisposalDone) and content.decision:
            return one
    abort(404)


def _kept(name: str) -> Decision | None:
    """Return the answer; None where it is not here, or what is here is none."""
    try:
        return decided(desk().journal, name)
    except ValueError:
        return None


def _today(then: Decision, studio: StudioState) -> Change | None:
    """Return what today's rules would answer to the same facts, where that differs."""
    packs, _ = packs_of(desk().journal, studio, demo=site().settings.demo)
    day = now().astimezone(zone()).date()
    return next(iter(differing({"": freeze(then)}, packs, today=day)), None)


def _heading(outcome: Outcome) -> str:
    return say.choice(words(), "outcome_of_drain", str(outcome))


def _sources(change: Change) -> Iterator[str]:
    for one in change.newly:
        yield f"{one.document} {one.section}".strip()


def _thing(content: kinds.DisposalJudged | kinds.DisposalDone, studio: StudioState) -> Thing:
    """Return what a line is about, under the name it has now."""
    journal = desk().journal
    for sort, made in (("bath", of_bath), ("jar", of_jar), ("jug", of_jug)):
        state: Any = journal.state(sort, getattr(content, sort))
        if state is not None:
            return made(state, studio)
    return of_other(content.waste, studio, journal.state("lot", content.lot))
