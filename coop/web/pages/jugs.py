"""A jug nobody knows: what to do now, whom to ask, and what a person says is in it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import ClassVar

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, StringField

from coop.actions.drain_facts import WASTE_OF
from coop.actions.see_jugs import Candidate, JugLook, by_themselves, see_jug, see_jugs
from coop.actions.write import Written
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.states import JugState, StudioState
from coop.rules.jugs import Likeness, Litres
from coop.web import jug_words
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import NEEDED, VOLUMES, ManyField, UnitField
from coop.web.forms import EntryForm, Happened, Noted, options, written
from coop.web.history import note_named
from coop.web.i18n import N_
from coop.web.page import desk, face, faces, known, needs, show, who, words, writing
from coop.web.told import bath_names, bath_url, telling

SHOWN_MAX = 40
"""So many jugs stand in each list of the page."""
SPEAK_FOR_NOBODY = frozenset({"coordinator", "safety_officer"})
"""Roles that may say that nobody knows what is in a jug."""

pages = Blueprint("jugs", __name__)


class FoundForm(Noted, Happened, EntryForm):
    kind: ClassVar[str] = "jug.found"

    studio = RadioField(N_("Studio"), [NEEDED], validate_choice=False)
    where = StringField(
        N_("Where it stands"),
        [NEEDED],
        description=N_("It stays there: shelf, cupboard, under which table."),
    )
    litres_typed = StringField(
        N_("About how much is in it"),
        name="litres.typed",
        description=N_("By eye, from outside. Leave it empty when it cannot be seen."),
    )
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    look = RadioField(
        N_("What it looks like"),
        [NEEDED],
        description=N_("By eye only, through its side, with the lid on."),
        validate_choice=False,
    )

    def offer(self, studios: tuple[StudioState, ...]) -> None:
        """Fill the lists in the member's language; the one studio there is stands chosen."""
        self.studio.choices = options((str(one.id), one.name) for one in studios)
        if len(studios) == 1 and not self.studio.data:
            self.studio.data = str(studios[0].id)
        self.look.choices = options(say.choices(words(), "jug_look"))


class KnownForm(EntryForm):
    """Everybody was asked, and nobody knows what is in a jug."""

    kind: ClassVar[str] = "jug.known"


class VouchForm(Noted, EntryForm):
    """A person vouches for what is in a jug: a bath of their own, or a waste they made."""

    kind: ClassVar[str] = "jar.vouched"

    bath = HiddenField()
    waste = RadioField(N_("What is it?"), validate_choice=False)
    litres_typed = StringField(N_("How much is in it?"), name="litres.typed")
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    substances = ManyField(
        N_("What was put into it?"),
        description=N_("Whatever was put to it as well, even a little."),
        validate_choice=False,
    )
    metal_pigments = RadioField(
        N_("Are metal pigments in it?"),
        description=N_(
            "Cadmium, cobalt, chromium, lead, copper, zinc: see the colour's label."
        ),
        default="not_known",
        validate_choice=False,
    )

    def offer(self) -> None:
        """Fill the lists in the member's language; a jug nobody knows is no answer here."""
        known_ones = (one for one in say.choices(words(), "waste") if one[0] != "not_known")
        self.waste.choices = options(known_ones)
        self.substances.choices = options(say.choices(words(), "substance"))
        self.metal_pigments.choices = options(say.choices(words(), "yes_no_not_known"))


@dataclass(frozen=True, slots=True, kw_only=True)
class JugRow:
    """A jug in the list."""

    url: str
    where: str
    told: str
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JugsPage:
    form: FoundForm
    cards: tuple[tuple[str, SafetyCard], ...]
    cautions: tuple[str, ...]
    unknown: tuple[JugRow, ...]
    nobody: tuple[JugRow, ...]
    known: tuple[JugRow, ...]
    studios: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Somebody to ask about a jug: who, which bath they made or had last, and why they."""

    people: str
    bath: str
    url: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sayable:
    """What the member may say the jug is, and where it is asked once more."""

    text: str
    why: str
    ask_url: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sure:
    """What is asked once more before it is written: one slip would hang a wrong tag."""

    bath: str
    text: str
    yes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JugPage:
    """
    One jug.

    `said` is who said what is in it, empty while nobody has; `is_of` what that is, `inside`
    what it holds, `bath_url` where its bath leads and `drain_url` where it is got rid of.
    `mine` are the member's own baths that it is like, `other_mine` those it is not like.
    """

    id: str
    form: EntryForm
    vouch: VouchForm
    where: str
    told: str
    note: str
    said: str
    known: bool
    is_of: str
    inside: str
    bath_url: str
    drain_url: str
    gone: str
    mine: tuple[Sayable, ...]
    other_mine: tuple[Sayable, ...]
    sure: Sure | None
    nobody: tuple[Sayable, ...]
    asked: tuple[Asked, ...]
    card: SafetyCard


@pages.route("/jugs", methods=["GET", "POST"])
@needs("jug.found")
def jugs() -> Response:
    form = FoundForm()
    form.offer(desk().journal.listed("studio"))
    if form.validate_on_submit():
        with writing() as place:
            outcome = form.record(place)
        told = words().gettext("Written. Now hang the unknown tag on it, and ask.")
        if written(outcome, told):
            assert isinstance(outcome, Written)
            return redirect(url_for("jugs.jug", jug=outcome.sealed.entry.id), 303)
    studios: tuple[StudioState, ...] = desk().journal.listed("studio")
    every = see_jugs(desk().journal)
    faces().gather(one for jug in every for one in (jug.found_by, jug.known_by) if one)
    page = JugsPage(
        form=form,
        cards=tuple((one.name, safety_card(words(), "jug", one)) for one in studios),
        cautions=safety_card(words(), "jug", None).sentences,
        unknown=_rows(one for one in every if one.known_at is None),
        nobody=_rows(
            one for one in every if one.known_at is not None and not jug_words.is_known(one)
        ),
        known=_rows(one for one in every if jug_words.is_known(one)),
        studios=bool(studios),
    )
    return show("jugs.html", page=page, nav="room", status=422 if form.is_submitted() else 200)


def _rows(wanted: Iterable[JugState]) -> tuple[JugRow, ...]:
    every = tuple(islice(wanted, SHOWN_MAX))
    journal = desk().journal
    studios = journal.states("studio", {one.studio for one in every})
    baths = journal.states("bath", {one.bath for one in every if one.bath})
    return tuple(
        JugRow(
            url=url_for("jugs.jug", jug=one.id),
            where=jug_words.where(one, studios.get(one.studio)),
            told=jug_words.told(one),
            said=_said(one, baths.get(one.bath) if one.bath else None),
        )
        for one in every
    )


def _said(one: JugState, bath: AnyBath | None) -> str:
    """Say who said what is in a jug; nothing while nobody has."""
    if one.known_at is None or one.known_by is None:
        return ""
    said = {"name": face(one.known_by).name, "when": telling().when(one.known_at)}
    if not jug_words.is_known(one):
        return words().gettext("%(name)s said %(when)s: nobody knows what is in it.", **said)
    if one.bath is None:
        waste = say.choice(words(), "waste", one.waste)
        return words().gettext("%(name)s said %(when)s: mine, %(waste)s.", **said, waste=waste)
    called = jug_words.called(bath) if bath else "?"
    if one.made_it:
        return words().gettext(
            "%(name)s said %(when)s: I made it, it is %(bath)s.", **said, bath=called
        )
    return words().gettext("%(name)s said %(when)s: it is %(bath)s.", **said, bath=called)


@pages.get("/jugs/<jug>")
@needs("read")
def jug(jug: str) -> Response:
    return _jug(_look(jug), KnownForm(formdata=None), VouchForm(formdata=None), 200)


def _look(jug: str) -> JugLook:
    state: JugState = known("jug", jug)
    return see_jug(desk().journal, state, member=who().member)


def _jug(look: JugLook, form: EntryForm, vouch: VouchForm, status: int) -> Response:
    one = look.state
    faces().gather(_people(look))
    vouch.offer()
    names = bath_names([*(each.bath for each in look.candidates), *look.other_own])
    page = JugPage(
        id=one.id,
        form=form,
        vouch=vouch,
        where=jug_words.where(one, look.studio),
        told=jug_words.told(one),
        note=note_named(one.note),
        said=_said(one, look.known),
        known=jug_words.is_known(one),
        is_of=jug_words.called(look.known) if look.known else jug_words.waste(one),
        inside=jug_words.inside(one),
        bath_url=bath_url(look.known) if look.known else "",
        drain_url=_drain_url(one),
        gone=telling().when(one.gone_at) if one.gone_at else "",
        mine=tuple(
            _sayable(look, each.bath, names, _why(each.like))
            for each in look.candidates
            if each.own
        ),
        other_mine=tuple(
            _sayable(
                look, each, names, words().gettext("the litres or the look are not like it")
            )
            for each in look.other_own
        ),
        sure=next(_sure(look, names, str(vouch.bath.data or "")), None),
        nobody=tuple(_nobody()),
        asked=tuple(_asked(each, names) for each in look.candidates if not each.own),
        card=safety_card(words(), "jug", look.studio),
    )
    return show("jug.html", page=page, nav="room", status=status)


def _drain_url(one: JugState) -> str:
    """Return where it is asked what may happen to what is in a jug; empty before that."""
    if one.gone_at is not None or not one.waste:
        return ""
    if one.bath is not None and not by_themselves(desk().journal, [one]):
        return url_for("drain.of_bath", bath=one.bath)
    return url_for("drain.of_jug", jug=one.id)


def _people(look: JugLook) -> set[MemberId]:
    baths = [each.bath for each in look.candidates]
    return {member for one in baths for member in (one.mixed_by, one.hands.by)}


def _may_say_nobody() -> bool:
    return bool(who().roles & SPEAK_FOR_NOBODY)


def _nobody() -> Iterator[Sayable]:
    if _may_say_nobody():
        text = words().gettext("Nobody knows what is in it")
        yield Sayable(text=text, why=words().gettext("Once everybody was asked."))


def _sayable(look: JugLook, bath: AnyBath, names: Mapping[Subject, str], why: str) -> Sayable:
    ask_url = url_for("jugs.jug", jug=look.state.id, bath=bath.id)
    return Sayable(text=_is_mine(bath, names), why=why, ask_url=ask_url)


def _sure(look: JugLook, names: Mapping[Subject, str], sent: str) -> Iterator[Sure]:
    """Ask once more about the bath that the member pressed, if it is one of theirs."""
    asked = request.args.get("bath", sent)
    for bath in _own(look):
        if bath.id == asked:
            called = say.bath_name(words(), bath.what, names[bath.id])
            yes = words().gettext("Yes, it is %(bath)s", bath=called)
            yield Sure(bath=bath.id, text=_is_mine(bath, names), yes=yes)


def _is_mine(bath: AnyBath, names: Mapping[Subject, str]) -> str:
    called = say.bath_name(words(), bath.what, names[bath.id])
    if bath.mixed_by == who().member:
        return words().gettext("I made it: it is %(bath)s", bath=called)
    return words().gettext("I had it last: it is %(bath)s", bath=called)


def _why(like: Likeness) -> str:
    """Say how a bath is like a jug: 'right litres, right place, 7 days old'."""
    litres = {
        Litres.RIGHT: words().gettext("right litres"),
        Litres.PART: words().gettext("a part of it would fit"),
        Litres.NOT_KNOWN: words().gettext("litres not known"),
    }[like.litres]
    place = words().gettext("right place")
    days = int(like.age_days)
    age = words().ngettext("%(num)d day old", "%(num)d days old", days)
    look = [words().gettext("looks like it")] if like.looked_at else []
    return ", ".join([litres, place, *look, age])


def _asked(one: Candidate, names: Mapping[Subject, str]) -> Asked:
    made, last = face(one.bath.mixed_by).name, face(one.bath.hands.by).name
    why = words().gettext("%(why)s: made by %(name)s", why=_why(one.like), name=made)
    if last != made:
        why = words().gettext("%(why)s, had last by %(name)s", why=why, name=last)
    return Asked(
        people=made if made == last else f"{made}, {last}",
        bath=say.bath_name(words(), one.bath.what, names[one.bath.id]),
        url=bath_url(one.bath),
        why=why,
    )


@pages.post("/jugs/<jug>/vouch")
@needs("jar.vouched")
def vouch(jug: str) -> Response:
    """Write what a person vouches for: a bath of their own, or a waste they made."""
    look, form = _look(jug), VouchForm()
    form.offer()
    bath = Subject(form.bath.data or "")
    if bath:
        form.waste.data = next((WASTE_OF[one.what] for one in _own(look) if one.id == bath), "")
    if bath and bath not in look.may_be_said:
        told = words().gettext("Only who made it or had it last can say so. Ask them.")
        form.form_errors.append(told)
    elif form.validate():
        with writing() as place:
            outcome = form.record(place, jug=look.state.id, **_made(look, bath))
        if written(
            outcome, words().gettext("Written. Now hang its own tag on it: name, day, maker.")
        ):
            return redirect(url_for("jugs.jug", jug=look.state.id), 303)
    return _jug(_look(jug), form, form, 422)


def _made(look: JugLook, bath: Subject) -> dict[str, str]:
    """Say of a bath whether the member made it or had it last."""
    if not bath:
        return {"made_it": "yes"}
    made = any(one.id == bath and one.mixed_by == who().member for one in _own(look))
    return {"made_it": "yes" if made else "no"}


@pages.post("/jugs/<jug>/known")
@needs("jug.known")
def say_known(jug: str) -> Response:
    """Write that everybody was asked and nobody knows what is in a jug."""
    look, form = _look(jug), KnownForm()
    if not _may_say_nobody():
        form.form_errors.append(
            words().gettext(
                "Only a coordinator or a safety officer can say that nobody knows. "
                "Ask one of them."
            )
        )
    elif form.validate():
        with writing() as place:
            outcome = form.record(place, jug=look.state.id, made_it="no")
        told = words().gettext("Written. It stays closed, with the unknown tag on it.")
        if written(outcome, told):
            return redirect(url_for("jugs.jug", jug=look.state.id), 303)
    return _jug(_look(jug), form, VouchForm(formdata=None), 422)


def _own(look: JugLook) -> Iterator[AnyBath]:
    yield from (one.bath for one in look.candidates if one.own)
    yield from look.other_own
