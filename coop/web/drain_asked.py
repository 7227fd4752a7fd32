"""
What a page asks a drain about: the thing, and what somebody says of it in the address.

The answers are asked for by GET, so that a page can be gone back to, sent on and asked anew;
nothing of them is written before a person writes the answer down.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from flask import request, url_for
from werkzeug.datastructures import MultiDict
from wtforms import Field, Form, RadioField
from wtforms.validators import ValidationError

from coop.actions.drain_facts import WASTE_OF, Asked, Colour
from coop.actions.liquid_rows import stood_ml
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.ports import Journal
from coop.ledger.states import JarState, JugState, LotState, StudioState, SupplyState
from coop.ledger.ways_out import NOTHING_LEFT
from coop.rules.neutralising import go_of, is_going_on
from coop.rules.packs.decisions import Decision
from coop.rules.packs.words import HAULED, JAR, NOT_KNOWN
from coop.units.number import unwire
from coop.web import amounts
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.fields import ManyField, MeasuredField
from coop.web.forms import looked_up
from coop.web.i18n import N_, AsItIs, Words
from coop.web.page import words
from coop.web.stock import supply_name
from coop.web.told import bath_url

LITRES_MAX: Final = 1_000
COLOUR_MAX_ML: Final = 100_000
COLOURS_MAX: Final = 40
"""So many colours that declare metals or sulfides are asked about."""
NONE: Final = "none"
"""What is ticked to say that none of a list is in it: nothing ticked is no answer."""
YES_NO = looked_up(say.CHOICES["yes_no"].items())
OWN_DRAINS: Final = ("sewer", "septic")
OTHER_OUTLETS: Final = ("bin", "hauled", "jar", "storm", "ground")
RINSES: Final = frozenset({"rinse_water", "colour_rinse"})
COLOUR: Final = "colour-"
SULFIDE: Final = "sulfide_pigment"
LOOKS: Final = ("lumps", "runs")
FACTS: Final = ("metal_pigments", "acid_put_in", "tags", "contents", *LOOKS)
"""The facts that can be answered in the address."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """
    What is to be got rid of.

    Attributes:
        sort: bath, jar, jug or other.
        id: Its own; of other waste that of its lot, or empty.
        left: How much of it there is, as one says it; empty where nobody knows.
        over: Why nothing can be got rid of, in a sentence; empty where something can.
        shut: Whether nobody knows what it is, so that no outlet is offered.
        measured: Whether the ledger knows how much of it there is.
        neutralised_at: The page on which it is neutralised; empty for what is no alum.
        going_on, strained: Whether it is just being neutralised; its floc is strained off.
    """

    sort: str
    id: str
    name: str
    url: str
    studio: StudioState
    waste: str
    left: str = ""
    over: str = ""
    shut: bool = False
    measured: bool = False
    neutralised_at: str = ""
    going_on: bool = False
    strained: bool = False

    @property
    def readable(self) -> bool:
        """Whether readings of it can be written down."""
        return self.sort in ("bath", "jar")

    @property
    def refs(self) -> dict[str, str]:
        """The fields by which an entry names it."""
        if not self.id:
            return {}
        return {"lot" if self.sort == "other" else self.sort: self.id}


def of_bath(bath: AnyBath, studio: StudioState) -> Thing:
    """Return a bath as what is to be got rid of."""
    alum = isinstance(bath, BathState)
    gone = bath.gone_at is not None or bath.finish_reason in NOTHING_LEFT
    return Thing(
        sort="bath",
        id=bath.id,
        name=say.bath_name(words(), bath.what, bath.name),
        url=bath_url(bath),
        studio=studio,
        waste=WASTE_OF[bath.what],
        left="" if gone else _stands(bath),
        over=words().gettext("Nothing is left of it: it is gone already.") if gone else "",
        measured=True,
        neutralised_at=f"/baths/{bath.id}/neutralise" if alum else "",
        going_on=is_going_on(bath.treated),
        strained=go_of(bath.treated).strained,
    )


def _stands(bath: AnyBath) -> str:
    """Say how much stands in a bath; of alum it is more than the water its strength is of."""
    litres = amounts.volume(words(), stood_ml(bath))
    if not isinstance(bath, BathState):
        return litres
    return words().gettext("%(litres)s with its alum", litres=litres)


def of_jar(jar: JarState, studio: StudioState) -> Thing:
    """Return a waste jar as what is to be emptied."""
    over = ""
    if jar.ended_at is not None:
        over = words().gettext("This jar was taken away.")
    elif not jar.parts and not jar.volume_ml and not jar.weight_g:
        over = words().gettext("This jar is empty.")
    much = [amounts.volume(words(), jar.volume_ml)] if jar.volume_ml else []
    much += [amounts.weight(words(), jar.weight_g)] if jar.weight_g else []
    return Thing(
        sort="jar",
        id=jar.id,
        name=jar.name,
        url=f"/jars/{jar.id}",
        studio=studio,
        waste="",
        left=", ".join(much),
        over=over,
        measured=True,
        neutralised_at=f"/jars/{jar.id}/neutralise" if jar.salts else "",
        going_on=is_going_on(jar.treated),
        strained=go_of(jar.treated).strained,
    )


def of_jug(jug: JugState, studio: StudioState) -> Thing:
    """Return a jug; one that nobody vouched for stays shut."""
    gone = jug.gone_at is not None
    return Thing(
        sort="jug",
        id=jug.id,
        name=words().gettext("The jug: %(where)s", where=jug.where),
        url=f"/jugs/{jug.id}",
        studio=studio,
        waste=jug.waste or "not_known",
        left=amounts.volume(words(), jug.volume_ml) if jug.volume_ml else "",
        over=words().gettext("Nothing is left of it: it is gone already.") if gone else "",
        shut=not jug.waste,
        measured=bool(jug.volume_ml),
    )


def of_other(waste: str, studio: StudioState, lot: LotState | None) -> Thing:
    """Return waste of a studio that stands in no bath, jar or jug."""
    name = texts.choice(words(), "waste", waste)
    return Thing(
        sort="other",
        id=lot.id if lot else "",
        name=f"{name}, {lot.name}" if lot else name,
        url=f"/lots/{lot.id}" if lot else f"/waste/{studio.id}",
        studio=studio,
        waste=waste,
    )


# ---- where it may go


def outlets(thing: Thing) -> tuple[str, ...]:
    """
    Return where a thing may be asked about, the studio's own drain first.

    A drain that a studio does not have, or of which nobody wrote down where it goes, is none;
    what nobody knows goes into no jar.
    """
    own = (thing.studio.drain,) if thing.studio.drain in OWN_DRAINS else ()
    others = (one for one in OTHER_OUTLETS if one != JAR or thing.waste != NOT_KNOWN)
    return (*own, *others)


def outlet_of(thing: Thing, asked: str) -> str:
    """Return the outlet that was asked about, else the one where such a thing goes here."""
    there = outlets(thing)
    if asked in there:
        return asked
    if thing.waste in RINSES and thing.studio.rinse_way in there:
        return thing.studio.rinse_way
    return next(one for one in (thing.studio.drain, JAR, HAULED) if one in there)


# ---- what somebody says of it


def facts_of(thing: Thing) -> tuple[str, ...]:
    """Return what can be answered of a thing: a bath and a jar have readings of their looks."""
    return tuple(one for one in FACTS if not thing.readable or one not in LOOKS)


def _within(high: int, said: Callable[[Words, float, int], str], ml: int) -> Any:
    """Return the guard of a number of litres or millilitres: how many `ml` one of them is."""

    def check(form: Form, field: MeasuredField) -> None:
        if field.data and unwire(field.data) > high:
            most = said(words(), high * ml, 0)
            raise ValidationError(words().gettext("At most %(most)s, please.", most=most))

    return check


class AnswersForm(Form):
    """What somebody says of a thing just now; asked by GET, with nothing to forge."""

    litres = MeasuredField(
        N_("About how much of it"),
        unit="l",
        validators=[_within(LITRES_MAX, amounts.volume, 1000)],
        description=N_("What is poured in a day or a month is counted by it."),
    )
    metal_pigments = RadioField(
        texts.CHOICES["fact"]["metal_pigments"],
        choices=YES_NO,
        validate_choice=False,
        description=N_("Copper, cobalt, chromium, cadmium, lead, zinc and their like."),
    )
    acid_put_in = RadioField(
        texts.CHOICES["fact"]["acid_put_in"], choices=YES_NO, validate_choice=False
    )
    tags = ManyField(
        texts.CHOICES["fact"]["tags"],
        choices=looked_up([*say.CHOICES["hazard_tag"].items(), (NONE, N_("none of these"))]),
        validate_choice=False,
    )
    contents = ManyField(
        texts.CHOICES["fact"]["contents"],
        choices=looked_up([*say.CHOICES["substance"].items(), (NONE, N_("none of these"))]),
        validate_choice=False,
        description=N_("Tick all that is in it: some things must never come together."),
    )
    lumps = RadioField(
        texts.CHOICES["look"]["lumps"],
        choices=YES_NO,
        validate_choice=False,
        description=texts.LOOK_TESTS["lumps"],
    )
    runs = RadioField(
        texts.CHOICES["look"]["runs"],
        choices=YES_NO,
        validate_choice=False,
        description=texts.LOOK_TESTS["runs"],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The answers of an address, and the form that shows them again."""

    form: AnswersForm
    colours: tuple[SupplyState, ...]

    @property
    def colour_fields(self) -> tuple[Field, ...]:
        return tuple(self.form[f"{COLOUR}{one.id}"] for one in self.colours)

    @property
    def answered(self) -> frozenset[str]:
        """The facts that were answered."""
        return frozenset(one for one in FACTS if self.form[one].data)

    def asked(self, thing: Thing, outlet: str, volume_ml: float | None) -> Asked:
        """Return what is asked of the rules, of so much of it; None for all there is."""
        form = self.form
        looks = set(facts_of(thing)) & set(LOOKS)
        return Asked(
            studio=thing.studio.id,
            outlet=outlet,
            waste=thing.waste,
            bath=_named(thing, "bath"),
            jar=_named(thing, "jar"),
            jug=_named(thing, "jug"),
            volume_ml=volume_ml,
            substances=self._substances(),
            metal_pigments=_yes_no(form.metal_pigments),
            tags=_ticked(form.tags, kinds.HAZARD_TAGS),
            colours=tuple(self._colours()),
            lumps=_yes_no(form.lumps) if looks else "",
            runs=_yes_no(form.runs) if looks else "",
            acid_put_in=_yes_no(form.acid_put_in),
        )

    def volume_ml(self, thing: Thing) -> float | None:
        """Return how much somebody says it is [mL]; None for what the ledger measures."""
        if thing.measured:
            return None
        litres = self.form.litres
        return float(unwire(litres.data)) * 1000 if litres.data and not litres.errors else None

    def _substances(self) -> tuple[str, ...] | None:
        """Return what was ticked, with the sulfides of the colours that came into it."""
        ticked = _ticked(self.form.contents, kinds.SUBSTANCES)
        named = zip(self.colours, self.colour_fields, strict=True)
        if any(supply.sulfide and _came_in(amount) for supply, amount in named):
            return (*(ticked or ()), SULFIDE)
        return ticked

    def _colours(self) -> Iterator[Colour]:
        """Give the most of each colour; none at all while one of them cannot be read."""
        if any(one.errors for one in self.colour_fields):
            return
        for supply, amount in zip(self.colours, self.colour_fields, strict=True):
            if amount.data:
                yield Colour(supply=supply.id, most_ml=float(unwire(amount.data)))


def _named(thing: Thing, sort: str) -> Subject | None:
    return Subject(thing.id) if thing.sort == sort else None


def _came_in(amount: Field) -> bool:
    """Say whether some of a colour came in, or may have: what cannot be read may be any."""
    return bool(amount.errors) or bool(amount.data and unwire(amount.data))


def _ticked(field: Field, known: tuple[str, ...]) -> tuple[str, ...] | None:
    """Return what was ticked; that it is none of them is an answer too, nothing is not."""
    ticked = [one for one in known if one in (field.data or ())]
    return tuple(ticked) if ticked or NONE in (field.data or ()) else None


def _yes_no(field: Field) -> str:
    return str(field.data) if field.data in kinds.YES_NO else ""


def answers(journal: Journal) -> Answers:
    """Return what the address of this request says, with a field for each colour."""
    described: tuple[SupplyState, ...] = journal.listed("supply")
    colours = tuple(one for one in described if one.metals or one.sulfide)[:COLOURS_MAX]
    fields = {
        f"{COLOUR}{one.id}": MeasuredField(
            AsItIs(supply_name(words(), one, None)),
            unit="ml",
            validators=[_within(COLOUR_MAX_ML, amounts.small_volume, 1)],
        )
        for one in colours
    }
    made = type("AnswersOfColours", (AnswersForm,), fields)
    form: AnswersForm = made(request.args)
    form.validate()
    return Answers(form=form, colours=colours)


KEPT: Final = frozenset({"studio", "waste", "lot", "outlet", "litres", "litres-in", *FACTS})
"""What an address keeps, besides the colours."""


def address(endpoint: str, values: Mapping[str, str], **changed: str) -> str:
    """Return the address of this request with the answers it holds, and what is changed."""
    said: MultiDict[str, str] = MultiDict(
        (name, one)
        for name, one in request.args.items(multi=True)
        if one and (name in KEPT or name.startswith(COLOUR)) and name not in changed
    )
    query: dict[str, Any] = {name: said.getlist(name) for name in said if name not in values}
    query |= {**values, **{name: one for name, one in changed.items() if one}}
    return url_for(endpoint, **query)


def wants(decision: Decision) -> frozenset[str]:
    """Return the facts that have to be answered before the rules know more."""
    looks = (one.of for one in decision.spoken if one.devices and one.of in ("lumps", "runs"))
    facts = (fact for one in decision.spoken for fact in one.facts)
    return frozenset((*looks, *facts))
