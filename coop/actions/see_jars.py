"""Look at waste jars: how each stands, what may go into it, and what was handed over."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction

from coop.actions.drain_facts import WASTE_OF, Asked, facts_of
from coop.actions.see_drain import ask_drain
from coop.actions.see_entries import BathEntries, entries_of
from coop.actions.see_jugs import by_themselves
from coop.actions.sites import Site
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import (
    DisposalState,
    JarState,
    JugState,
    LotState,
    StudioState,
    SupplyState,
)
from coop.ledger.wastes import fold_jar
from coop.ledger.ways_out import to_go
from coop.rules import jars
from coop.rules.jars import JarFacts, JarLook
from coop.rules.packs import words
from coop.rules.packs.conditions import asked_of
from coop.rules.packs.decisions import Decision, RuleSaid
from coop.rules.packs.facts import Facts
from coop.rules.packs.stops import stops
from coop.rules.packs.words import Verdict
from coop.rules.to_call import has_numbers

HAZARDOUS = "hazardous"
ACUTE = "acute"
AREA = "jar_area"
OFFERED_MAX = 40
"""So many old baths, jugs or lots are offered to be put into a jar."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JarSeen:
    """A jar, its studio, and how it stands today by the rules in force there."""

    state: JarState
    studio: StudioState
    look: JarLook
    facts: Facts


def see_jars(journal: Journal, site: Site) -> tuple[JarSeen, ...]:
    """Return the jars that stand in a studio, by their names."""
    found: tuple[JarState, ...] = journal.listed("jar", home=site.studio.id)
    return tuple(see_jar(journal, site, one) for one in sorted(found, key=_named))


def _named(jar: JarState) -> tuple[str, Subject]:
    return jar.name.casefold(), jar.id


def see_jar(journal: Journal, site: Site, jar: JarState) -> JarSeen:
    """Return how a jar stands today."""
    facts = facts_of(journal, site, Asked(studio=jar.studio, outlet=words.JAR, jar=jar.id))
    stands = jar_facts(jar, facts, site)
    stands = replace(stands, shown=_shown(stands, site.studio))
    return JarSeen(
        state=jar,
        studio=site.studio,
        facts=facts,
        look=jars.look(site.packs, stands, facts, today=site.day, now=site.now, demo=site.demo),
    )


def jar_facts(jar: JarState, facts: Facts, site: Site) -> JarFacts:
    """Return a jar as the rules see it; its label is looked at by itself."""
    return JarFacts(
        wastes=jar.wastes,
        contents=facts.contents,
        volume_ml=_exact(jar.volume_ml),
        mass_g=_exact(jar.weight_g),
        holds_ml=_exact(jar.holds_ml),
        started_on=_day(jar.started_at, site),
        first_drop_on=jar.first_on,
        full_on=jar.full_on,
        full_by=jar.full_by,
        collect_by=jar.collect_by,
        place=jar.place,
        tags=jar.tags,
        area=jar.area,
    )


def _exact(amount: float) -> Fraction:
    return Fraction(round(amount * 1000), 1000)


def _day(moment: datetime, site: Site) -> date:
    return moment.astimezone(site.now.tzinfo).date()


def _shown(jar: JarFacts, studio: StudioState) -> tuple[str, ...]:
    """Return what the label of a jar shows: all but what nobody wrote down yet."""
    not_known = {
        words.STARTED_ON: jar.first_drop_on is None,
        "full_by": jar.full_by is None,
        "emergency_number": not has_numbers(studio),
    }
    return tuple(one for one in words.SHOWN if not not_known.get(one))


def asks_area(site: Site) -> bool:
    """Say whether a rule in force there goes by where a jar stands."""
    kinds_asking = {words.CLOCK, words.LABEL, words.TOTAL}
    return any(
        AREA in asked_of(rule.when)
        for pack in site.packs
        if pack.in_force(site.day) and pack.speaks_of(site.area)
        for rule in pack.rules
        if rule.kind in kinds_asking
    )


# ---- what may go in


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """What of a studio may go into a jar: old baths, jugs, leftover lots, other jars."""

    baths: tuple[AnyBath, ...]
    jugs: tuple[JugState, ...]
    lots: tuple[LotState, ...]
    jars: tuple[JarState, ...]


def offered(journal: Journal, jar: JarState) -> Offered:
    """Return what is there and is of a waste that this jar takes."""
    baths: tuple[AnyBath, ...] = journal.listed_in("bath", (to_go(jar.studio),))
    jugs: tuple[JugState, ...] = journal.listed("jug", home=jar.studio)
    others: tuple[JarState, ...] = journal.listed("jar", home=jar.studio)
    lots: tuple[LotState, ...] = ()
    if "leftover" in jar.wastes:
        lots = journal.listed("lot", home=jar.studio)
    return Offered(
        baths=tuple(one for one in baths if WASTE_OF[one.what] in jar.wastes)[:OFFERED_MAX],
        jugs=by_themselves(journal, (one for one in jugs if one.waste in jar.wastes))[
            :OFFERED_MAX
        ],
        lots=tuple(one for one in lots if one.measure in kinds.MEASURES[:2])[:OFFERED_MAX],
        jars=tuple(
            one
            for one in others
            if one.id != jar.id and one.wastes_in and set(wastes_in(one)) <= set(jar.wastes)
        ),
    )


def wastes_in(jar: JarState) -> tuple[str, ...]:
    """Return of which wastes there is something in a jar."""
    return tuple(one for one in kinds.WASTES if one in jar.wastes_in)


SUBSTANCE_OF_SUPPLY = {
    "soda": "soda",
    "softener": "soda",
    "lime": "lime",
    "ammonia": "ammonia",
    "bleach": "bleach",
    "colour": "colour",
}
"""What a supply is of the substances that must not meet; any other is something else."""


def substances_of_lot(lot: LotState, supply: SupplyState | None) -> tuple[str, ...]:
    """Return the substances of a lot on the shelf."""
    what = supply.what if supply is not None else lot.what
    if what == "alum":
        return ("ammonium_alum" if lot.salt == "ammonium_alum" else "alum",)
    found = (SUBSTANCE_OF_SUPPLY.get(what, "other"),)
    return (*found, "sulfide_pigment") if supply is not None and supply.sulfide else found


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """
    What comes into a jar, as the rules make it out.

    Attributes:
        substances: All that is in it.
        hazardous: yes, no, or not_known where no rule in force says.
        acute: Whether a rule finds it acutely hazardous.
    """

    substances: tuple[str, ...]
    hazardous: str
    acute: bool


def coming(journal: Journal, site: Site, asked: Asked) -> Coming:
    """
    Return what rules in force make of something at the mouth of a waste jar.

    Raises:
        Slip: What was asked about is not known.
    """
    decision = ask_drain(journal, site, replace(asked, outlet=words.JAR))
    return Coming(
        substances=decision.facts.contents or (),
        hazardous=hazardous_by(decision),
        acute=(ACUTE, words.YES) in decision.classes,
    )


def hazardous_by(decision: Decision) -> str:
    """Say whether it is hazardous waste: yes if a rule holds, no if all of them fail."""
    sets = [
        one.verdict
        for one in decision.spoken
        if one.kind == words.CLASSIFY and (HAZARDOUS, words.YES) in one.sets
    ]
    if Verdict.HOLDS in sets:
        return words.YES
    return words.NO if sets and set(sets) == {Verdict.FAILS} else words.NOT_KNOWN


def never_together(
    journal: Journal, site: Site, jar: JarState, adding: Iterable[str], *, closed: str
) -> tuple[RuleSaid, ...]:
    """Return what must never come together if something is put into a jar."""
    asked = Asked(
        studio=jar.studio, outlet=words.JAR, jar=jar.id, adding=tuple(adding), closed=closed
    )
    return tuple(stops(facts_of(journal, site, asked)))


# ---- its history, and what was handed over


def jar_entries(journal: Journal, jar: Subject) -> BathEntries:
    """Return what was written about a jar."""
    return entries_of(journal, jar, sort="jar")


@dataclass(frozen=True, slots=True, kw_only=True)
class Handover:
    """A jar's contents as they were when somebody took them away."""

    line: DisposalState
    before: JarState
    all_of_it: bool
    jar_gone: bool


def handovers(entries: BathEntries) -> Iterator[EntryId]:
    """Give the entries by which something was collected, the newest first."""
    for one in reversed(entries.here):
        if isinstance(one.content, kinds.WasteCollected):
            yield one.id


def see_handover(journal: Journal, jar: JarState, entry: str) -> Handover | None:
    """Return what was handed over by an entry; None where it hands nothing of this jar over."""
    here = jar_entries(journal, jar.id).here
    place = next((n for n, one in enumerate(here) if one.id == entry), None)
    line: DisposalState | None = journal.state("disposal", Subject(entry))
    if place is None or line is None:
        return None
    said = here[place].content
    if not isinstance(said, kinds.WasteCollected):
        return None
    before: JarState | None = fold_jar(jar.id, here[:place], journal.view()).state
    if before is None:
        return None
    gone = said.jar_gone == "yes"
    return Handover(
        line=line,
        before=before,
        all_of_it=gone or said.litres is None,
        jar_gone=gone,
    )
