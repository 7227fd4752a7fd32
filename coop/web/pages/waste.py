"""Get rid of it: all that waits in a studio, the end of a day, what is carried elsewhere."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ClassVar, Final
from urllib.parse import urlencode

from flask import Blueprint, abort, flash, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectMultipleField, StringField

from coop.actions.correct_entry import may_undo, see_entry
from coop.actions.drain_facts import WASTE_OF
from coop.actions.see_drain import kept
from coop.actions.see_jars import see_jars
from coop.actions.see_jugs import jugs_to_go
from coop.actions.see_waste import (
    BATH,
    EVENING,
    FLOC,
    JAR,
    JUG,
    RINSE,
    Evening,
    StudioWaste,
    Waiting,
    bath_tonight,
    into_jar,
    rinse_sheet_count,
    rinse_tonight,
    see_evening,
    see_waste,
    takers,
    to_carry,
)
from coop.actions.sites import Site, see_site
from coop.actions.waste_needs import baths_to_go
from coop.actions.write import Draft, Outcome, Written, write
from coop.ids import EntryId, Subject, is_uuid
from coop.ledger.any_bath import AnyBath
from coop.ledger.kinds import SHEETS_MAX
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.states import JarState, StudioState
from coop.ledger.ways_out import listed_under, to_go
from coop.people.may import may
from coop.rules.liquid_looks import LiquidLook
from coop.rules.packs import words as codes
from coop.rules.packs.decisions import Decision
from coop.rules.packs.words import LOCAL_TIERS
from coop.store.desk import Desk
from coop.web import amounts, drain_words
from coop.web import words as say
from coop.web.answers import Undo, undo_one
from coop.web.cautions import SafetyCard, safety_card
from coop.web.drains import heading, told
from coop.web.fields import NEEDED, longest
from coop.web.forms import EntryForm, PageForm, options, written
from coop.web.i18n import N_
from coop.web.jars import JarRow, jar_row
from coop.web.page import (
    desk,
    known,
    needs,
    new_id,
    now,
    salt,
    show,
    site,
    who,
    words,
    writing,
    zone,
)
from coop.web.told import kept_text

DONE: Final = "disposal.done"
CARRIED: Final = "waste.carried"
CARRIED_IN_MAX: Final = 40
GONE_MAX: Final = 100
"""So many old baths are said to be gone at once."""
DRAIN: Final = "drain"
SURE: Final = "sure"
"""What is sent along with a tap that finishes what somebody may still want."""
KEEPING: Final = ("covered", "chilled")

pages = Blueprint("waste", __name__)


# ---- which studio


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A studio to choose, and how much waits there: old baths, and jugs somebody knows."""

    name: str
    url: str
    waits: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacesPage:
    studios: tuple[Place, ...]


@pages.get("/waste")
@needs("read")
def overview() -> Response:
    """Show the only studio at once; of several, the choice."""
    every: tuple[StudioState, ...] = desk().journal.listed("studio")
    if len(every) == 1:
        return redirect(_url("studio", every[0].id), 303)
    journal = desk().journal
    counts = Counter(one.studio for one in (*baths_to_go(journal), *jugs_to_go(journal)))
    places = tuple(
        Place(
            name=one.name,
            url=_url("studio", one.id),
            waits=words().ngettext(
                "%(num)d thing waits", "%(num)d things wait", counts[one.id]
            ),
        )
        for one in sorted(every, key=lambda one: (-counts[one.id], one.name, one.id))
    )
    return show("waste.html", page=PlacesPage(studios=places), nav="waste")


def _url(endpoint: str, studio: Subject) -> str:
    return url_for(f"waste.{endpoint}", studio=studio)


# ---- all that waits in a studio


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Something that must still go; `walk` is where it is just being neutralised."""

    name: str
    facts: str
    since: str
    outcome: str
    told: str
    tint: str
    url: str
    walk: str


class GoneForm(PageForm):
    """Old baths that were gone before this log was kept."""

    gone = SelectMultipleField(N_("Which are gone?"), validate_choice=False)

    def offer(self, waiting: Iterable[Waiting]) -> None:
        """Offer old baths, each with the id of the entry that would say so."""
        self.gone.choices = options(
            (f"{one.id}:{new_id()}", f"{_name(one)}, {_facts(one)}")
            for one in waiting
            if one.sort == BATH
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioPage:
    """All that waits in a studio, and its jars; `gone` where this member may say what is."""

    id: str
    studio: str
    drain: str
    lines: tuple[Line, ...]
    jars: tuple[JarRow, ...]
    carry: bool
    gone: GoneForm | None
    card: SafetyCard
    closing: str


@pages.get("/waste/<uuid:studio>")
@needs("read")
def studio(studio: object) -> Response:
    state: StudioState = known("studio", str(studio))
    seen = _see(desk().journal, state)
    gone = None
    if may(who().roles, "sort-out") and any(one.sort == BATH for one in seen.waiting):
        gone = GoneForm(formdata=None)
        gone.offer(seen.waiting)
    page = StudioPage(
        id=state.id,
        studio=state.name,
        drain=say.choice(words(), "drain", state.drain),
        lines=tuple(_line(one, seen) for one in seen.waiting),
        jars=tuple(jar_row(words(), one) for one in see_jars(desk().journal, seen.site)),
        carry=bool(to_carry(seen)),
        gone=gone,
        card=safety_card(words(), "finish", state),
        closing=_closing(),
    )
    return show("waste_studio.html", page=page, nav="waste")


def _see(journal: Journal, state: StudioState) -> StudioWaste:
    return see_waste(journal, state, now=now().astimezone(zone()), demo=site().settings.demo)


def _closing() -> str:
    return words().gettext(drain_words.CLOSING)


def _line(one: Waiting, seen: StudioWaste) -> Line:
    return Line(
        name=_name(one),
        facts=_facts(one),
        since=words().day(one.since),
        outcome=one.outcome.value,
        told=say.choice(words(), "outcome_of_drain", one.outcome),
        tint=drain_words.TINTS[one.outcome],
        url=_decision_url(one, seen),
        walk=f"/{one.sort}s/{one.id}/neutralise" if one.going_on else "",
    )


def _name(one: Waiting) -> str:
    """Say what it is: 'Size R-S4', 'Jug: shelf by the door', 'Rinse water of today'."""
    if one.sort == BATH:
        return say.bath_name(words(), _WHATS[one.waste], one.name)
    if one.sort == RINSE:
        return words().gettext("Rinse water of today")
    if one.sort == FLOC:
        return words().gettext("Floc strained off %(name)s", name=one.name)
    if one.sort == JUG:
        return words().gettext("Jug: %(where)s", where=one.name)
    return words().gettext("Waste jar %(name)s", name=one.name)


_WHATS: Mapping[str, str] = MappingProxyType({waste: what for what, waste in WASTE_OF.items()})


def _facts(one: Waiting) -> str:
    """Say how much of what: '4.2 L, alum bath, big tub'."""
    parts = []
    if one.sheet_count:
        parts.append(words().ngettext("%(num)d sheet", "%(num)d sheets", one.sheet_count))
    if one.volume_ml is not None:
        parts.append(amounts.volume(words(), one.volume_ml))
    if one.weight_g:
        parts.append(amounts.weight(words(), one.weight_g))
    if one.sort in (JAR, JUG):
        parts.append(say.choice(words(), "waste", one.waste))
    if one.sort == BATH and one.vessel:
        parts.append(one.vessel)
    if one.taken_away:
        parts.append(words().gettext("said to be taken away: which line is wrong?"))
    return ", ".join(parts)


def _decision_url(one: Waiting, seen: StudioWaste) -> str:
    """Return the page that tells what may happen to it, and why."""
    if one.sort == JUG and one.waste == codes.NOT_KNOWN:
        return f"/jugs/{one.id}"
    if one.taken_away:
        return f"/jars/{one.id}"
    if one.sort in (BATH, JAR, JUG):
        return f"/drain/{one.sort}/{one.id}"
    return _other_url(seen.studio, one.waste)


def _other_url(state: StudioState, waste: str) -> str:
    return f"/drain/other?{urlencode({'studio': state.id, 'waste': waste})}"


@pages.post("/waste/<uuid:studio>/gone-before")
@needs("sort-out")
def gone_before(studio: object) -> Response:
    """Write of old baths that they were gone before this log was kept."""
    state: StudioState = known("studio", str(studio))
    form = GoneForm()
    said = (form.gone.data or [])[:GONE_MAX] if form.validate() else []
    count = 0
    with writing() as place:
        for key in said:
            bath, _, entry = key.partition(":")
            count += _told_gone(place.journal, state, bath, entry)
    if count:
        text = words().ngettext(
            "Written of %(num)d bath: gone before this log was kept.",
            "Written of %(num)d baths: gone before this log was kept.",
            count,
        )
        flash(text, "written")
    else:
        flash(words().gettext("Tap the baths that are gone, then send it again."), "warning")
    return redirect(_url("studio", state.id), 303)


def _told_gone(journal: Journal, state: StudioState, bath: str, entry: str) -> bool:
    old: AnyBath | None = journal.state("bath", Subject(bath))
    if old is None or not is_uuid(entry):
        abort(400)
    if listed_under(old) != to_go(state.id) and not journal.by_id(EntryId(entry)):
        return False
    body = {
        "studio": state.id,
        "waste": WASTE_OF[old.what],
        "outlet": "not_known",
        "bath": old.id,
    }
    here = now().astimezone(zone())
    draft = Draft(id=EntryId(entry), kind=DONE, body=body, happened_at=here)
    return isinstance(write(journal, who(), draft, now=now()), Written)


# ---- the end of the day


class TonightForm(EntryForm):
    """One tap: it went down the drain, by the decision taken just then."""

    kind: ClassVar[str] = DONE
    decision: Decision | None = None

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        """Keep the decision with what was done by it."""
        assert self.decision is not None, "it was taken before"
        return {"decision": kept(self.decision, salt=salt())}


class IntoJarForm(EntryForm):
    """One tap: the rinse water went into the studio's jar."""

    kind: ClassVar[str] = "waste.added"


class KeepForm(EntryForm):
    """One tap: it was covered, or put into the cold, for tomorrow."""

    kind: ClassVar[str] = "bath.cared"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tonight:
    """
    A size, a rinse or rinse water at the end of the day.

    Attributes:
        tap: What one tap says; empty where it cannot be tapped, then `why` says why.
        into: The same for the studio's jar.
        keeps: What else is done to it, as code and text.
        id: Of the bath, or `RINSE`.
        word: May it be used, as a code, and `told` its age and for whom it is kept; empty of
            what is not in use.
        wanted: Whether somebody may want it tomorrow: then keeping it comes first.
    """

    id: str
    word: str
    told: str
    wanted: bool
    name: str
    facts: str
    heading: str
    outcome: str
    tint: str
    tap: str
    conditions: str
    into: str
    why: str
    url: str
    keeps: tuple[tuple[str, str], ...]
    entry_id: str
    sheet_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EveningPage:
    id: str
    studio: str
    lines: tuple[Tonight, ...]
    card: SafetyCard
    closing: str
    undo: Undo | None


@pages.route("/waste/<uuid:studio>/end-of-day", methods=["GET", "POST"])
@needs(DONE)
def end_of_day(studio: object) -> Response:
    state: StudioState = known("studio", str(studio))
    if request.method == "POST":
        return _tapped(state)
    here = _site(desk().journal, state)
    lines = tuple(_tonight(one, here) for one in see_evening(desk().journal, here))
    page = EveningPage(
        id=state.id,
        studio=state.name,
        lines=lines,
        card=safety_card(words(), "pour-water", state),
        closing=_closing(),
        undo=_undo(),
    )
    return show("waste_evening.html", page=page, nav="waste")


def _site(journal: Journal, state: StudioState) -> Site:
    return see_site(journal, state, now=now().astimezone(zone()), demo=site().settings.demo)


def _undo() -> Undo | None:
    """Return what takes out the entry just written, named in the address, while it can be."""
    entry = request.args.get("written", "")
    found = see_entry(desk().journal, EntryId(entry)) if is_uuid(entry) else None
    if found is None or found.in_force is None:
        return None
    return undo_one(entry) if may_undo(who(), found.original, now=now()) else None


def _tonight(one: Evening, here: Site) -> Tonight:
    bath, decision = one.bath, one.decision
    into = ""
    if one.jar is not None:
        into = words().gettext("It went into %(jar)s, no metal colours", jar=one.jar.name)
    return Tonight(
        id=bath.id if bath else RINSE,
        word=one.look.answer.word.value if one.look else "",
        told=_told_of(one.look) if one.look else "",
        wanted=one.is_wanted,
        name=_evening_name(one),
        facts=_evening_facts(one),
        heading=heading(words(), decision) if decision else _no_drain(here),
        outcome=one.outcome.value,
        tint=drain_words.TINTS[one.outcome],
        tap=_tap(one) if one.goes and not into else "",
        conditions=decision.conditions if decision and one.goes and not into else "",
        into=into,
        why="" if one.goes or into else _why_not(one, here),
        url=_evening_url(one, here),
        keeps=_keeps(bath),
        entry_id=new_id(),
        sheet_count=one.sheet_count,
    )


def _evening_name(one: Evening) -> str:
    if one.bath is None:
        return words().gettext("Rinse water of today")
    return say.bath_name(words(), one.bath.what, one.bath.name)


def _told_of(look: LiquidLook) -> str:
    """Say how old a size or a rinse is, and for whom it is kept."""
    made = words().gettext("Made %(ago)s.", ago=say.ago(words(), look.state.mixed_at, now()))
    return " ".join(filter(None, (made, kept_text(look.state.kept_for))))


def _evening_facts(one: Evening) -> str:
    litres = amounts.volume(words(), one.volume_ml)
    if not one.sheet_count:
        return litres
    sheets = words().ngettext("%(num)d sheet", "%(num)d sheets", one.sheet_count)
    return f"{sheets}, {litres}"


def _no_drain(here: Site) -> str:
    if here.studio.drain == "none":
        return words().gettext("There is no drain here")
    return words().gettext("Nobody wrote down where this drain goes")


def _tap(one: Evening) -> str:
    """Say all that one tap says; the rule by its name."""
    assert one.decision is not None, "it goes by one"
    rule = ", ".join(pack.title for pack in one.decision.packs if pack.tier in LOCAL_TIERS)
    if one.waste == "size":
        return words().gettext(
            "Finished: strained, thinned until it runs, no metal colours, down the drain by "
            "rule (%(rule)s)",
            rule=rule,
        )
    return words().gettext(
        "Finished: strained, no metal colours, down the drain by rule (%(rule)s)", rule=rule
    )


def _why_not(one: Evening, here: Site) -> str:
    """Say in a sentence why it cannot be tapped."""
    if one.decision is None:
        return words().gettext("It is carried to another studio, or kept in a waste jar.")
    if one.outcome in (codes.Outcome.NOTHING_FORBIDS, codes.Outcome.AFTER_STEPS):
        return " ".join(drain_words.choice(words(), "step", step) for step in one.steps)
    return told(words(), one.decision).why


def _evening_url(one: Evening, here: Site) -> str:
    if one.bath is not None:
        return f"/drain/bath/{one.bath.id}"
    return _other_url(here.studio, one.waste)


def _keeps(bath: AnyBath | None) -> tuple[tuple[str, str], ...]:
    """Return how a size in use is kept for tomorrow."""
    if bath is None or bath.finished_at is not None:
        return ()
    texts = (
        ("covered", words().gettext("Keep it for tomorrow: covered")),
        ("chilled", words().gettext("Keep it for tomorrow: chilled")),
    )
    return texts if bath.what == "size" else texts[:1]


def _tapped(state: StudioState) -> Response:
    """Write what was tapped, by what holds at this moment."""
    there = _url("end_of_day", state.id)
    form: EntryForm = TonightForm()
    if not form.validate():
        abort(400)
    with writing() as place:
        if place.journal.by_id(EntryId(form.entry_id.data or "")):
            flash(words().gettext("Already written."), "written")
            return redirect(there, 303)
        outcome, message = _write(place, state)
    if isinstance(outcome, Written):
        written(outcome, message)
        return redirect(f"{there}?written={outcome.sealed.entry.id}", 303)
    if isinstance(outcome, Refused):
        message = say.refusal(words(), outcome)
    flash(message, "warning")
    return redirect(there, 303)


def _write(place: Desk, state: StudioState) -> tuple[Outcome | None, str]:
    """Return what came of a tap, and what is said of it."""
    do, here = request.form.get("do", ""), _site(place.journal, state)
    one = _asked(place.journal, here)
    if one is None:
        return None, words().gettext("That is gone already, or stands elsewhere by now.")
    name = _evening_name(one)
    if do in KEEPING and one.bath is not None:
        outcome = KeepForm().record(place, bath=one.bath.id, care=do)
        return outcome, words().gettext("%(name)s is kept for tomorrow.", name=name)
    if do == JAR and one.jar is not None:
        body: dict[str, Any] = {
            "studio": state.id,
            "jar": one.jar.id,
            "sheet_count": str(one.sheet_count),
            **into_jar(place.journal, here, one),
        }
        outcome = IntoJarForm().record(place, **body)
        return outcome, words().gettext(
            "Written: into %(jar)s. Close it again.", jar=one.jar.name
        )
    if do != DRAIN:
        abort(400)
    if not one.goes or one.decision is None:
        return None, words().gettext(
            "%(name)s does not go just now: %(why)s", name=name, why=_why_not(one, here)
        )
    if one.is_wanted and request.form.get(SURE) != "yes":
        return None, words().gettext(
            "%(name)s may be wanted still: look at it, then say that it is finished.", name=name
        )
    form = TonightForm()
    form.decision = one.decision
    return form.record(place, **_done(one, state)), words().gettext(
        "Written: %(name)s went down the drain. Keep the solids out of it.", name=name
    )


def _asked(journal: Journal, here: Site) -> Evening | None:
    """Return what was tapped as it is now; of rinse water no more than was shown."""
    said = request.form.get("bath", "")
    if said == RINSE:
        count = min(rinse_sheet_count(journal, here), _shown_count())
        return rinse_tonight(journal, here, count) if count else None
    bath: AnyBath | None = journal.state("bath", Subject(said))
    if not isinstance(bath, LiquidState) or bath.what not in EVENING or bath.gone_at:
        return None
    return bath_tonight(journal, here, bath) if bath.studio == here.studio.id else None


def _shown_count() -> int:
    """Return of how many sheets the page told, 0 where it is no count."""
    shown = request.form.get("sheet_count", "")
    short = len(shown) <= len(str(SHEETS_MAX))
    return min(int(shown), SHEETS_MAX) if short and shown.isdecimal() else 0


def _done(one: Evening, state: StudioState) -> dict[str, Any]:
    assert one.decision is not None, "it goes by one"
    source = {"bath": one.bath.id} if one.bath else {"sheet_count": str(one.sheet_count)}
    return {
        "studio": state.id,
        "waste": one.waste,
        "outlet": one.decision.facts.outlet,
        "steps": list(one.steps),
        "outcome": one.outcome.value,
        **source,
    }


# ---- carried elsewhere


class CarryForm(EntryForm):
    """A bath or a jar was carried to another studio."""

    kind: ClassVar[str] = CARRIED

    studio = RadioField(N_("To where?"), [NEEDED], validate_choice=False)
    carried_in = StringField(
        N_("In what?"),
        validators=[longest(CARRIED_IN_MAX)],
        description=N_("The drum, the canister or the jugs it went in."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Carry:
    """Something to carry; `form` writes that it was. An empty jar is `empty`."""

    sort: str
    id: str
    name: str
    what: str
    litres: str
    vessel: str
    since: str
    by: str
    why: str
    url: str
    form: CarryForm
    empty: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryPage:
    """A carry list; `takers` are the studios it may go to."""

    id: str
    studio: str
    lines: tuple[Carry, ...]
    takers: tuple[str, ...]
    card: SafetyCard
    closing: str


@pages.route("/waste/<uuid:studio>/carry", methods=["GET", "POST"])
@needs(CARRIED)
def carry(studio: object) -> Response:
    state: StudioState = known("studio", str(studio))
    seen = _see(desk().journal, state)
    to = takers(desk().journal, state)
    lines = (*(_carry(one, seen, to) for one in to_carry(seen)), *_empty(state))
    asked = next((one for one in lines if one.id == request.form.get("item")), None)
    if request.method == "POST" and asked is None:
        flash(words().gettext("That is gone already, or stands elsewhere by now."), "warning")
        return redirect(_url("carry", state.id), 303)
    if asked is not None and asked.form.validate() and _carried(asked, seen):
        return redirect(_url("carry", state.id), 303)
    page = CarryPage(
        id=state.id,
        studio=state.name,
        lines=lines,
        takers=tuple(one.name for one in to),
        card=safety_card(words(), "pour", state),
        closing=_closing(),
    )
    status = 422 if asked is not None else 200
    return show("waste_carry.html", page=page, nav="waste", status=status)


def _carry(one: Waiting, seen: StudioWaste, to: tuple[StudioState, ...]) -> Carry:
    return Carry(
        sort=one.sort,
        id=one.id or "",
        name=_name(one),
        what=say.choice(words(), "waste", one.waste),
        litres=amounts.volume(words(), one.volume_ml) if one.volume_ml is not None else "",
        vessel=one.vessel,
        since=words().day(one.since),
        by=words().day(one.by) if one.by else "",
        why=heading(words(), one.decision) if one.decision else _no_drain(seen.site),
        url=_decision_url(one, seen),
        form=_carry_form(one.id or "", one.vessel, to),
    )


def _carry_form(item: str, vessel: str, to: tuple[StudioState, ...]) -> CarryForm:
    """Return the form of one item, filled in until it is sent itself."""
    is_asked = request.form.get("item") == item
    form = CarryForm(prefix=f"{item}-", **({} if is_asked else {"formdata": None}))
    form.studio.choices = options((each.id, each.name) for each in to)
    if not is_asked:
        form.carried_in.data = vessel[:CARRIED_IN_MAX]
        form.studio.data = to[0].id if len(to) == 1 else ""
    return form


def _empty(studio: StudioState) -> Iterator[Carry]:
    """Give the empty jar that the address names: it is carried home, to any studio."""
    asked = request.args.get("jar", "")
    jar: JarState | None = desk().journal.state("jar", Subject(asked)) if asked else None
    if jar is None or jar.studio != studio.id or jar.ended_at or jar.volume_ml or jar.weight_g:
        return
    every: tuple[StudioState, ...] = desk().journal.listed("studio")
    others = tuple(one for one in every if one.id != studio.id)
    yield Carry(
        sort=JAR,
        id=jar.id,
        name=words().gettext("Waste jar %(name)s", name=jar.name),
        what=words().gettext("empty"),
        litres="",
        vessel=jar.name,
        since=words().day(jar.emptied_at or jar.started_at),
        by="",
        why=words().gettext("It is empty: it goes back to where it belongs."),
        url=url_for("jars.jar", jar=jar.id),
        form=_carry_form(jar.id, jar.name, others),
        empty=True,
    )


def _carried(asked: Carry, seen: StudioWaste) -> bool:
    """Write that something was carried, with both ends."""
    with writing() as place:
        ends = {asked.sort: asked.id, "from_studio": seen.studio.id}
        outcome = asked.form.record(place, **ends)
    return written(outcome, words().gettext("%(name)s was carried.", name=asked.name))
