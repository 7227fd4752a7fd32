"""Waste jars and drums: set one up, put something in, have it collected, label it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response

from coop.actions.drain_facts import Asked
from coop.actions.see_entries import BathEntries
from coop.actions.see_jars import (
    Coming,
    Handover,
    JarSeen,
    asks_area,
    coming,
    handovers,
    jar_entries,
    never_together,
    see_handover,
    see_jar,
)
from coop.actions.sites import Site, see_site
from coop.actions.write import Outcome, Written
from coop.ledger import kinds
from coop.ledger.states import JarState, StudioState
from coop.ledger.wastes import RINSE_ML_PER_SHEET
from coop.ledger.ways_out import LITTLE_ML
from coop.rules.packs.whys import CLOSED_NOT_SAID
from coop.rules.packs.words import JAR, Verdict
from coop.science.defaults import Z_90
from coop.store.desk import Desk
from coop.web import amounts, drain_words, history, jar_sources
from coop.web import words as say
from coop.web.answers import Undo, go_on, undo
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import written
from coop.web.history import Line, note_named
from coop.web.jar_forms import AddForm, CollectForm, RinseForm, StartForm
from coop.web.jar_label import LabelSaid, label_said
from coop.web.jar_sources import Source, Ways
from coop.web.jars import (
    AskedSaid,
    JarRow,
    PartSaid,
    asked_said,
    jar_row,
    neutralisable,
    parts_of,
    rinse_text,
    wastes_text,
    weight_of,
)
from coop.web.page import (
    desk,
    face,
    faces,
    known,
    needs,
    now,
    show,
    site,
    words,
    writing,
    zone,
)
from coop.web.told import telling
from coop.web.told_wastes import drain_reading

pages = Blueprint("jars", __name__)

HISTORY_SHOWN = 12
HISTORY_MAX = 200
HANDOVERS_SHOWN = 12
RINSED = (6, 12, 18, 24, 36, 48)
"""So many rinsed sheets have a button of their own: a choice of this ledger."""
RINSE = "rinse_water"

Link = tuple[str, str]
Fact = tuple[str, str]
Act = tuple[str, str, bool]


def _site(studio: StudioState, place: Desk | None = None) -> Site:
    """Return what is known of a studio's outlets, by this page's desk or the writer's."""
    journal = (place or desk()).journal
    local = now().astimezone(zone())
    return see_site(journal, studio, now=local, demo=site().settings.demo)


def _seen(jar: str) -> JarSeen:
    state: JarState = known("jar", jar)
    return see_jar(desk().journal, _site(known("studio", state.studio)), state)


# ---- set one up


@dataclass(frozen=True, slots=True, kw_only=True)
class NewJarPage:
    """A new jar; without a studio its choice comes first."""

    form: StartForm
    studio: str
    studios: tuple[Link, ...]
    card: SafetyCard


@pages.route("/jars/new", methods=["GET", "POST"])
@needs("waste.started")
def new() -> Response:
    studios: tuple[StudioState, ...] = desk().journal.listed("studio")
    studio = _studio_asked(studios)
    form = StartForm()
    form.offer(area=studio is not None and asks_area(_site(studio)))
    if studio is not None and form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, studio=studio.id)
        if written(outcome, words().gettext("Written. Now print its label and hang it on.")):
            assert isinstance(outcome, Written)
            return redirect(url_for("jars.jar", jar=outcome.sealed.entry.id), 303)
    page = NewJarPage(
        form=form,
        studio=studio.name if studio else "",
        studios=tuple((one.name, f"{url_for('jars.new')}?studio={one.id}") for one in studios),
        card=safety_card(words(), "waste-jar", studio),
    )
    return show(
        "jar_new.html", page=page, nav="waste", status=422 if form.is_submitted() else 200
    )


def _studio_asked(studios: tuple[StudioState, ...]) -> StudioState | None:
    """Return the studio that the address names, or the only one there is."""
    asked = request.args.get("studio", "")
    if asked:
        studio: StudioState = known("studio", asked)
        return studio
    return studios[0] if len(studios) == 1 else None


# ---- one jar


@dataclass(frozen=True, slots=True, kw_only=True)
class JarPage:
    """
    One jar.

    Attributes:
        asked: What packs ask of it.
        handovers: (what was handed over, its record).
    """

    id: str
    row: JarRow
    where: str
    facts: tuple[Fact, ...]
    asked: AskedSaid
    parts: tuple[PartSaid, ...]
    readings: tuple[str, ...]
    acts: tuple[Act, ...]
    handovers: tuple[Link, ...]
    ended: bool
    card: SafetyCard
    history: tuple[Line, ...]
    older_count: int
    undo: Undo | None


@pages.get("/jars/<jar>")
@needs("read")
def jar(jar: str) -> Response:
    seen = _seen(jar)
    state = seen.state
    entries = jar_entries(desk().journal, state.id)
    faces().gather({state.started_by, *(one.by for one in state.parts)})
    items = history.items_of(entries)
    shown = items[: HISTORY_MAX if request.args.get("all") == "1" else HISTORY_SHOWN]
    page = JarPage(
        id=state.id,
        row=jar_row(words(), seen),
        where=", ".join(filter(None, (seen.studio.name, state.place))),
        facts=tuple(_facts(seen)),
        asked=asked_said(words(), seen.look),
        parts=tuple(parts_of(words(), state)),
        readings=tuple(_readings(state, entries)),
        acts=() if state.ended_at else tuple(_acts(state)),
        handovers=tuple(_handed(state, entries)),
        ended=state.ended_at is not None,
        card=safety_card(words(), "waste-jar", seen.studio),
        history=history.lines(shown),
        older_count=len(items) - len(shown),
        undo=undo(shown),
    )
    return show("jar.html", page=page, nav="waste")


def _facts(seen: JarSeen) -> Iterator[Fact]:
    jar, gettext = seen.state, words().gettext
    yield gettext("What goes in"), wastes_text(words(), jar.wastes)
    yield gettext("In it since"), words().day(jar.first_on) if jar.first_on else ""
    yield gettext("Full since"), words().day(jar.full_on) if jar.full_on else ""
    yield gettext("Full by"), words().day(jar.full_by) if jar.full_by else ""
    yield gettext("Collected by"), words().day(jar.collect_by) if jar.collect_by else ""
    yield gettext("Hazard words"), _tags(jar)
    yield gettext("Place"), say.choice(words(), "jar_area", jar.area) if jar.area else ""
    yield (
        gettext("Set up"),
        say.day_by(words(), jar.started_at, face(jar.started_by).name),
    )
    yield gettext("Taken away"), words().day(jar.ended_at) if jar.ended_at else ""


def _tags(jar: JarState) -> str:
    return ", ".join(say.choice(words(), "hazard_tag", one) for one in jar.tags)


def _readings(jar: JarState, entries: BathEntries) -> Iterator[str]:
    """Give what was read of a jar since something last went in, the newest first."""
    said = {one.id: one for one in entries.here}
    last = max((one.at for one in jar.parts), default=jar.started_at)
    for reading in (one for one in reversed(jar.readings) if one.at >= last):
        one = said.get(reading.entry)
        if one is not None and isinstance(one.content, kinds.ReadingTaken):
            with_what = say.choice(words(), "instrument", one.content.instrument)
            found = drain_reading(words(), one.content)
            when, by = telling().when(one.at), face(one.author).name
            yield f"{with_what}, {found}: {when}, {by}"


def _acts(jar: JarState) -> Iterator[Act]:
    """Give what may be done with a jar: text, address, and whether it is the main one."""
    gettext = words().gettext
    yield gettext("Put something in"), url_for("jars.add", jar=jar.id), True
    if jar.volume_ml > 0 or jar.weight_g > 0:
        yield gettext("Empty it"), url_for("drain.of_jar", jar=jar.id), False
        if neutralisable(jar):
            begun = go_on(jar)
            yield begun[0] if begun else (
                gettext("Neutralise it"), url_for("neutralise.jar", jar=jar.id), False
            )  # fmt: skip
        yield gettext("Collected"), url_for("jars.collect", jar=jar.id), False
        yield gettext("Carry it"), url_for("waste.carry", studio=jar.studio), False
    else:
        to = url_for("waste.carry", studio=jar.studio, jar=jar.id)
        yield gettext("Carry it, empty"), to, False
    yield gettext("Label"), url_for("jars.label", jar=jar.id), False


def _handed(jar: JarState, entries: BathEntries) -> Iterator[Link]:
    said = {one.id: one for one in entries.here}
    for entry in [*handovers(entries)][:HANDOVERS_SHOWN]:
        text = words().gettext("Handover record, %(day)s", day=words().day(said[entry].at))
        yield text, url_for("jars.handover", jar=jar.id, entry=entry)


# ---- put something in


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysPage:
    """
    What may be put into a jar.

    `quick` are the buttons of rinsed sheets, (count, sum); `rinse_url` is empty where no rinse
    water goes in.
    """

    row: JarRow
    rinse_url: str
    form: RinseForm
    quick: tuple[tuple[int, str], ...]
    ways: Ways
    nothing: str
    card: SafetyCard


@dataclass(frozen=True, slots=True, kw_only=True)
class AddPage:
    """Something that is put into a jar; `all_of_it` is what an empty amount means."""

    row: JarRow
    form: AddForm
    told: str
    url: str
    mishap_url: str
    all_of_it: str
    stops: tuple[str, ...]
    card: SafetyCard


@pages.route("/jars/<jar>/add", methods=["GET", "POST"])
@needs("waste.added")
def add(jar: str) -> Response:
    state: JarState = known("jar", jar)
    if state.ended_at is not None:
        return redirect(url_for("jars.jar", jar=state.id), 303)
    source = jar_sources.chosen(state, request.args)
    if source is None:
        return _ways(state, RinseForm(formdata=None), refused=bool(request.args))
    form = AddForm()
    form.offer(litres=source.litres, weight=source.weight)
    stops: tuple[str, ...] = ()
    if form.validate_on_submit():
        with writing() as place:
            stops, outcome = _put_in(place, state, source, form)
        if outcome is not None and written(outcome, words().gettext("Written.")):
            return _back_to(state, outcome)
    return _add(state, source, form, stops)


def _put_in(
    place: Desk, jar: JarState, source: Source, form: AddForm
) -> tuple[tuple[str, ...], Outcome | None]:
    """Write it, unless it must never come to what is in the jar, or does not fit."""
    here = _site(_studio_of(place, jar), place)
    found = coming(place.journal, here, _asked(source, form))
    stops = _stops(place, here, jar, found, form)
    _fits(jar, source, form)
    if stops or form.errors:
        return stops, None
    fixed = dict(source.fixed) | {
        "studio": jar.studio,
        "jar": jar.id,
        "waste": source.waste,
        "substances": list(found.substances),
        "hazardous": found.hazardous,
        "acute": "yes" if found.acute else "no",
    }
    if "from_jar" in fixed and not str(form.litres_typed.data or "").strip():
        whole = str(round(source.all_ml or 0.0))
        fixed["litres"] = {"typed": whole, "n": whole, "unit": "ml"}
    return (), form.record(place, **fixed)


def _studio_of(place: Desk, jar: JarState) -> StudioState:
    studio: StudioState | None = place.journal.state("studio", jar.studio)
    return studio or abort(404)


def _asked(source: Source, form: AddForm) -> Asked:
    """Return what the rules are asked about: the source with what the member says of it."""
    metals = str(form.metal_pigments.data or "")
    typed = form.typed_ml()
    return replace(
        source.asked,
        substances=(*(source.asked.substances or ()), *(form.substances.data or ())),
        metal_pigments="" if metals == "not_known" else metals,
        volume_ml=source.all_ml if typed is None else typed,
    )


def _stops(
    place: Desk, here: Site, jar: JarState, found: Coming, form: AddForm
) -> tuple[str, ...]:
    """Return what must never come together; the lid is asked where it decides."""
    said = never_together(
        place.journal, here, jar, found.substances, closed=str(form.closed.data or "")
    )
    stops = tuple(
        words().gettext(drain_words.STOPS[one.rule])
        for one in said
        if one.verdict is Verdict.FAILS
    )
    if stops:
        form.form_errors.append(words().gettext("Not written: this must not go in there."))
    elif any(one.why == CLOSED_NOT_SAID for one in said):
        form.closed.errors = [
            words().gettext("Together they can give off gas: say whether the lid is closed.")
        ]
    return stops


def _fits(jar: JarState, source: Source, form: AddForm) -> None:
    """Refuse litres that do not fit into the jar."""
    typed = form.typed_ml()
    coming_ml = source.all_ml if typed is None else typed
    if source.litres and coming_ml is not None and coming_ml > _room_ml(jar):
        form.litres_typed.errors = [_no_room(jar)]


def _room_ml(jar: JarState) -> float:
    """Return how much more a jar takes, as far as what is in it is in doubt [mL]."""
    return max(0.0, jar.holds_ml - jar.volume_ml + Z_90 * jar.volume_sd_ml)


def _no_room(jar: JarState) -> str:
    free = amounts.volume(words(), _room_ml(jar))
    return words().gettext(
        "It does not fit: %(free)s are free in it. Say how much really went in.", free=free
    )


def _back_to(jar: JarState, outcome: Outcome) -> Response:
    assert isinstance(outcome, Written)
    there = url_for("jars.jar", jar=jar.id)
    return redirect(f"{there}?written={outcome.sealed.entry.id}", 303)


def _add(jar: JarState, source: Source, form: AddForm, stops: tuple[str, ...]) -> Response:
    seen = _seen(jar.id)
    all_of_it = "" if source.all_ml is None else amounts.volume(words(), source.all_ml)
    page = AddPage(
        row=jar_row(words(), seen),
        form=form,
        told=source.told,
        url=url_for("jars.add", jar=jar.id),
        mishap_url=url_for("mishaps.new", studio=jar.studio),
        all_of_it=all_of_it,
        stops=stops,
        card=safety_card(words(), "waste-jar", seen.studio),
    )
    return show(
        "jar_add.html", page=page, nav="waste", status=422 if form.is_submitted() else 200
    )


def _ways(jar: JarState, form: RinseForm, *, refused: bool = False) -> Response:
    seen = _seen(jar.id)
    form.offer(jar)
    nothing = words().gettext("That does not go into this jar. Choose what does.")
    page = WaysPage(
        row=jar_row(words(), seen),
        rinse_url=url_for("jars.rinse", jar=jar.id) if RINSE in jar.wastes else "",
        form=form,
        quick=tuple(
            (count, rinse_text(words(), count))
            for count in RINSED
            if count * RINSE_ML_PER_SHEET <= _room_ml(jar)
        ),
        ways=jar_sources.ways(jar),
        nothing=nothing if refused else "",
        card=safety_card(words(), "waste-jar", seen.studio),
    )
    wrong = refused or form.is_submitted()
    return show("jar_ways.html", page=page, nav="waste", status=422 if wrong else 200)


@pages.post("/jars/<jar>/rinse")
@needs("waste.added")
def rinse(jar: str) -> Response:
    """Put the rinse water of so many sheets in: a litre and a half each, by default."""
    state: JarState = known("jar", jar)
    if RINSE not in state.wastes:
        abort(404)
    form = RinseForm()
    form.offer(state)
    if form.validate() and form.fits(_room_ml(state), _no_room(state)):
        with writing() as place:
            outcome = _rinsed(place, state, form)
        if isinstance(outcome, Written):
            said = outcome.sealed.entry.content
            assert isinstance(said, kinds.WasteAdded)
            written(outcome, rinse_text(words(), said.sheet_count or 0))
            return _back_to(state, outcome)
    return _ways(state, form)


def _rinsed(place: Desk, jar: JarState, form: RinseForm) -> Outcome:
    here = _site(_studio_of(place, jar), place)
    metals = str(form.metal_pigments.data or "")
    asked = Asked(
        studio=jar.studio,
        outlet=JAR,
        waste=RINSE,
        metal_pigments="" if metals == "not_known" else metals,
    )
    found = coming(place.journal, here, asked)
    return form.record(
        place,
        studio=jar.studio,
        jar=jar.id,
        waste=RINSE,
        hazardous=found.hazardous,
        acute="yes" if found.acute else "no",
    )


# ---- have it collected


@dataclass(frozen=True, slots=True, kw_only=True)
class CollectPage:
    row: JarRow
    form: CollectForm
    card: SafetyCard


@pages.route("/jars/<jar>/collect", methods=["GET", "POST"])
@needs("waste.collected")
def collect(jar: str) -> Response:
    seen = _seen(jar)
    if seen.state.ended_at is not None:
        return redirect(url_for("jars.jar", jar=seen.state.id), 303)
    form = CollectForm()
    form.offer()
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place, studio=seen.state.studio, jar=seen.state.id)
        if written(outcome, words().gettext("Written. This is the record to sign.")):
            assert isinstance(outcome, Written)
            there = url_for("jars.handover", jar=jar, entry=outcome.sealed.entry.id)
            return redirect(there, 303)
    page = CollectPage(
        row=jar_row(words(), seen),
        form=form,
        card=safety_card(words(), "waste-jar", seen.studio),
    )
    return show(
        "jar_collect.html", page=page, nav="waste", status=422 if form.is_submitted() else 200
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverPage:
    """What was handed over, to be printed and signed."""

    jar: str
    url: str
    facts: tuple[Fact, ...]
    parts: tuple[PartSaid, ...]
    note: str
    call: str


@pages.get("/jars/<jar>/handovers/<entry>")
@needs("read")
def handover(jar: str, entry: str) -> Response:
    state: JarState = known("jar", jar)
    found = see_handover(desk().journal, state, entry) or abort(404)
    studio: StudioState | None = desk().journal.state("studio", found.line.studio)
    faces().gather({found.line.by, *(one.by for one in found.before.parts)})
    page = HandoverPage(
        jar=state.name,
        url=url_for("jars.jar", jar=state.id),
        facts=tuple(_facts_of(found, studio)),
        parts=tuple(parts_of(amounts.metric(words()), found.before, on_paper=True)),
        note=note_named(found.line.note),
        call=safety_card(words(), "waste-jar", studio).call,
    )
    return show("jar_handover.html", page=page, nav="waste")


def _facts_of(found: Handover, studio: StudioState | None) -> Iterator[Fact]:
    line, before, gettext = found.line, found.before, words().gettext
    taken_ml = before.volume_ml if line.amount_ml is None or found.all_of_it else line.amount_ml
    paper = amounts.metric(words())
    yield gettext("Handed over by"), face(line.by).name
    yield gettext("When"), words().moment(line.at)
    yield gettext("Studio"), studio.name if studio else ""
    yield gettext("Taken by"), line.who
    yield gettext("Goes to"), line.to
    yield gettext("Their number"), line.reference
    yield (
        gettext("How much"),
        amounts.volume(paper, taken_ml) if taken_ml >= LITTLE_ML else "",
    )
    yield gettext("Weighed"), weight_of(paper, before.weight_g) if before.weight_g else ""
    yield gettext("What went in"), wastes_text(words(), before.wastes)
    yield gettext("Hazard words"), _tags(before)
    yield gettext("In it since"), words().day(before.first_on) if before.first_on else ""
    yield gettext("The jar"), gettext("went too") if found.jar_gone else gettext("stayed")


# ---- its label


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelPage:
    label: LabelSaid
    url: str
    closing: str


@pages.get("/jars/<jar>/label")
@needs("read")
def label(jar: str) -> Response:
    seen = _seen(jar)
    page = LabelPage(
        label=label_said(words(), seen),
        url=url_for("jars.jar", jar=seen.state.id),
        closing=words().gettext(drain_words.CLOSING),
    )
    return show("jar_label.html", page=page, nav="waste")
