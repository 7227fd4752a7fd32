"""
The facts by which the rules judge something at an outlet.

What a person says just now (that it runs, that no metal colour was used) comes in `Asked`;
the rest the ledger knows: litres, salt, readings, what was put in.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from typing import Any

from coop.actions.liquid_rows import stood_ml
from coop.actions.see_baths import around_bath
from coop.actions.sites import Site
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Journal
from coop.ledger.schema import Slip
from coop.ledger.states import DrainReading, JarState, JugState, PutIn, SupplyState
from coop.ledger.ways_out import alum_in
from coop.rules.baths import look_at
from coop.rules.packs import amounts, words
from coop.rules.packs.facts import Added, Facts, Reading
from coop.science import waste_bounds
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import Z_90, value
from coop.science.neutralising import VOLUME_MIN_L

WASTE_OF = {
    "alum": "alum_bath",
    "size": "size",
    "gall_water": "gall_water",
    "rinse": "rinse_water",
    "paste": "paste",
    "softener": "softener",
}
"""What each kind of bath is when it has to be got rid of."""
ALUMS = ("alum", "ammonium_alum")
BASES = ("soda", "lime", "chalk")
SUBSTANCE_OF_WASTE = {"alum_bath": "alum", "colour_rinse": "colour", "size": "colour"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """A colour that declares metals, and the most of it that can have come in [mL]."""

    supply: Subject
    most_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    What somebody wants to get rid of, and what they say of it just now.

    Attributes:
        bath, jar, jug: What it is of, and then which waste it is; of none of them, `waste` and
            `volume_ml` say all.
        substances: What else is in it; None where nobody was asked.
        metal_pigments: yes, no, or empty where nobody was asked.
        tags: Hazard words that somebody stated; None where nobody was asked.
        lumps, runs: yes, no, or empty where nobody looked.
        adding: What is about to be put in; `closed` whether the vessel will be closed.
    """

    studio: Subject
    outlet: str
    waste: str = ""
    bath: Subject | None = None
    jar: Subject | None = None
    jug: Subject | None = None
    volume_ml: float | None = None
    substances: tuple[str, ...] | None = None
    metal_pigments: str = ""
    tags: tuple[str, ...] | None = None
    colours: tuple[Colour, ...] = ()
    lumps: str = ""
    runs: str = ""
    acid_put_in: str = ""
    adding: tuple[str, ...] = ()
    closed: str = ""


def facts_of(journal: Journal, site: Site, asked: Asked) -> Facts:
    """
    Return all that is known of what was asked about.

    Raises:
        Slip: What was asked about is not known.
    """
    known = _known(journal, site, asked)
    return Facts(
        waste=known.waste,
        mixed_with=known.mixed_with,
        outlet=asked.outlet,
        area=site.area,
        subject=asked.bath or asked.jar or asked.jug or "",
        volume_ml=_exact(known.volume_ml if asked.volume_ml is None else asked.volume_ml),
        stated=tuple(_stated(site, asked, known)),
        readings=(
            *known.readings,
            *_looked(site, asked),
            *_metals(journal, site, asked, known),
        ),
        added=known.added,
        contents=_contents(asked, known),
        adding=asked.adding,
        closed=asked.closed,
        permissions=site.permissions,
        tallies=site.tallies,
        counted=site.counted,
        counted_since=site.counted_since,
        rules_missing=site.missing,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What the ledger itself knows of a liquid; `contents` None where nobody said."""

    waste: str
    mixed_with: tuple[str, ...] = ()
    volume_ml: float | None = None
    contents: tuple[str, ...] | None = None
    readings: tuple[Reading, ...] = ()
    added: tuple[Added, ...] = ()
    salt: str = ""
    metal_pigments: str = ""
    tags: tuple[str, ...] | None = None


def _known(journal: Journal, site: Site, asked: Asked) -> _Known:
    if asked.bath is not None:
        return _of_bath(journal, site, _there(journal, "bath", asked.bath))
    if asked.jar is not None:
        return _of_jar(site, _there(journal, "jar", asked.jar))
    if asked.jug is not None:
        return _of_jug(journal, _there(journal, "jug", asked.jug))
    return _Known(waste=asked.waste, contents=_plainly_in(asked.waste))


def _there(journal: Journal, sort: str, subject: Subject) -> Any:
    found = journal.state(sort, subject)
    if found is None:
        raise Slip(sort, "not-known")
    return found


def _plainly_in(waste: str) -> tuple[str, ...]:
    one = SUBSTANCE_OF_WASTE.get(waste)
    return (one,) if one else ()


# ---- what a bath tells


def _of_bath(journal: Journal, site: Site, bath: AnyBath) -> _Known:
    contents = [*_made_of(bath), *(_neutraliser(one.base) for one in bath.treated if one.base)]
    return _Known(
        waste=WASTE_OF[bath.what],
        volume_ml=stood_ml(bath),
        contents=tuple(dict.fromkeys(contents)),
        readings=(
            *_held_against_base(bath, _readings(bath.drain_readings, site)),
            *_bounds(journal, site, bath),
        ),
        added=_added(bath.put_in, site),
        salt=bath.salt if isinstance(bath, BathState) else "",
    )


def _held_against_base(bath: AnyBath, found: Iterable[Reading]) -> Iterator[Reading]:
    """Doubt each pH that alum cannot have before a base went in."""
    went_in = [one.at for one in bath.put_in if one.what in BASES]
    went_in += [one.at for one in bath.treated if one.base]
    first = min(went_in, default=None)
    for one in found:
        high = isinstance(bath, BathState) and one.quantity == amounts.PH
        high = high and one.high > Fraction(value("untreated_alum_max_ph"))
        sour = first is None or one.read_at < first
        yield replace(one, doubted=True) if high and sour else one


def _made_of(bath: AnyBath) -> Iterator[str]:
    if isinstance(bath, BathState):
        yield from map(alum_in, bath.salts_in)
        return
    yield from (one.what for one in bath.put_in if one.what in ALUMS)
    if bath.laid:
        yield "colour"


def _neutraliser(base: str) -> str:
    return "lime" if base == "lime" else "soda"


def _added(put_in: Iterable[PutIn], site: Site) -> tuple[Added, ...]:
    return tuple(Added(what=one.what, at=one.at) for one in put_in if one.at <= site.now)


def _readings(found: Iterable[DrainReading], site: Site) -> Iterator[Reading]:
    for one in found:
        at = one.at.astimezone(site.now.tzinfo)
        if one.ph:
            yield Reading(
                quantity=amounts.PH,
                read_at=at,
                low=Fraction(one.ph),
                high=Fraction(one.ph),
                unit="ph",
                device=words.STRIP if one.instrument == "ph_strip" else words.METER,
                step=Fraction(one.step or "0"),
                off_at_check=Fraction(one.off_at_check) if one.off_at_check else None,
            )
        if one.celsius:
            yield _warm(one, at)
        yield from _seen(one.lumps, one.runs, at)
        if one.mg_per_l:
            yield _analysed(one, at)


def _warm(one: DrainReading, at: datetime) -> Reading:
    celsius = Fraction(one.celsius)
    return Reading(
        quantity=amounts.TEMPERATURE,
        read_at=at,
        low=celsius,
        high=celsius,
        unit="celsius",
        device=words.THERMOMETER,
        step=Fraction(1),
    )


def _seen(lumps: str, runs: str, at: datetime) -> Iterator[Reading]:
    for look, answer in (("lumps", lumps), ("runs", runs)):
        if answer:
            yield Reading(
                quantity=amounts.YES_NO, of=look, answer=answer, device=words.EYE, read_at=at
            )


def _analysed(one: DrainReading, at: datetime) -> Reading:
    most = Fraction(one.mg_per_l)
    return Reading(
        quantity=amounts.MASS_PER_VOLUME,
        of=one.of,
        how=words.NOT_DETECTED if one.not_detected else words.AS_READ,
        low=Fraction(0) if one.not_detected else most,
        high=most,
        unit="mg_per_l",
        basis=words.AS_N if one.of == "ammonia" else words.TOTAL_BASIS,
        device=words.LABORATORY,
        read_at=at,
    )


def _bounds(journal: Journal, site: Site, bath: AnyBath) -> Iterator[Reading]:
    """Give what can be in it at least and at most, by what was put in."""
    if stood_ml(bath) < ML_PER_L * VOLUME_MIN_L:
        return
    if isinstance(bath, BathState):
        yield from _bounds_of_alum(journal, site, bath)
    elif bath.of in waste_bounds.OXYGEN_DEFAULTS and bath.powder_g:
        low_l, high_l = _ends_l(bath)
        found = waste_bounds.size_oxygen(
            gum=bath.of,
            least_g=bath.powder_g,
            most_g=bath.powder_g,
            least_l=low_l,
            most_l=high_l,
        )
        yield _reckoned("oxygen_demand_chemical", found, site)


def _bounds_of_alum(journal: Journal, site: Site, bath: BathState) -> Iterator[Reading]:
    strength = look_at(bath, around_bath(journal, bath), at=site.now).strength
    bases = [one.base for one in bath.treated if one.base]
    stood_l = stood_ml(bath) / ML_PER_L
    found = waste_bounds.alum_bath(
        salt=bath.salt,
        least_g=strength.low_g_per_l * strength.volume_l,
        most_g=strength.high_g_per_l * strength.volume_l,
        least_l=stood_l,
        most_l=stood_l,
        base=bases[-1] if bases else "",
    )
    if found.aluminium is not None:
        yield _reckoned("aluminium", found.aluminium, site)
    yield _reckoned("sulfate", found.sulfate, site)


def _ends_l(bath: LiquidState) -> tuple[float, float]:
    spread_ml = Z_90 * bath.volume_sd_ml
    low_l = max(VOLUME_MIN_L, (bath.volume_ml - spread_ml) / ML_PER_L)
    return low_l, max(low_l, (bath.volume_ml + spread_ml) / ML_PER_L)


def _reckoned(of: str, content: waste_bounds.Content, site: Site) -> Reading:
    return Reading(
        quantity=amounts.MASS_PER_VOLUME,
        of=of,
        how=words.RECKONED,
        low=_figure(content.least_mg_per_l),
        high=_figure(content.most_mg_per_l),
        unit="mg_per_l",
        read_at=site.now,
    )


def _figure(reckoned: float) -> Fraction:
    return Fraction(round(reckoned * 1000), 1000)


# ---- what jars and jugs tell


def _of_jar(site: Site, jar: JarState) -> _Known:
    bases = [_neutraliser(one.base) for one in jar.treated if one.base]
    waste, *others = jar.wastes_in or jar.wastes
    return _Known(
        waste=waste,
        mixed_with=tuple(others),
        volume_ml=jar.volume_ml,
        contents=tuple(dict.fromkeys([*_in_jar(jar), *bases])),
        readings=tuple(_readings(jar.readings, site)),
        added=_added(jar.put_in, site),
        metal_pigments="" if jar.metal_pigments == "not_known" else jar.metal_pigments,
        tags=jar.tags,
    )


def _in_jar(jar: JarState) -> Iterator[str]:
    yield from jar.substances_in
    for waste in jar.wastes_in:
        yield from _plainly_in(waste)
    yield from (alum_in(salt) for salt, _ in jar.salts)


def _of_jug(journal: Journal, jug: JugState) -> _Known:
    if not jug.waste:
        return _Known(waste=words.NOT_KNOWN, volume_ml=jug.volume_ml)
    return _Known(
        waste=jug.waste,
        volume_ml=jug.volume_ml,
        contents=tuple(dict.fromkeys(_in_jug(journal, jug))),
        metal_pigments="" if jug.metal_pigments == "not_known" else jug.metal_pigments,
    )


def _in_jug(journal: Journal, jug: JugState) -> Iterator[str]:
    """Give what somebody vouched for; of a bath of the ledger, all that ever went in."""
    yield from jug.substances
    bath: AnyBath | None = journal.state("bath", jug.bath)
    if bath is None:
        yield from _plainly_in(jug.waste)
        return
    yield from _made_of(bath)
    yield from (_neutraliser(one.base) for one in bath.treated if one.base)


# ---- what somebody says


def _stated(site: Site, asked: Asked, known: _Known) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give what is stated; a "no" of just now takes back nothing that was written down."""
    if site.studio.premises_are:
        yield "premises", (site.studio.premises_are,)
    if known.salt:
        yield "salt", (known.salt,)
    metals = (known.metal_pigments, asked.metal_pigments)
    if any(metals):
        yield "metal_pigments", (words.YES if words.YES in metals else words.NO,)
    tags = [one for one in (known.tags, asked.tags) if one is not None]
    if tags:
        yield "tags", tuple(dict.fromkeys(tag for one in tags for tag in one))
    if asked.acid_put_in:
        yield "acid_put_in", (asked.acid_put_in,)


def _looked(site: Site, asked: Asked) -> Iterator[Reading]:
    yield from _seen(asked.lumps, asked.runs, site.now)


def _contents(asked: Asked, known: _Known) -> tuple[str, ...] | None:
    if known.contents is None:
        return asked.substances
    return tuple(dict.fromkeys([*known.contents, *(asked.substances or ())]))


def _metals(journal: Journal, site: Site, asked: Asked, known: _Known) -> Iterator[Reading]:
    """Give the most of each metal that colours can have brought in, by what they declare."""
    volume_ml = asked.volume_ml or known.volume_ml
    if not volume_ml or volume_ml < ML_PER_L * VOLUME_MIN_L:
        return
    most: dict[str, float] = {}
    for colour in asked.colours:
        supply: SupplyState | None = journal.state("supply", colour.supply)
        for metal, mg_per_ml in supply.metals if supply else ():
            found = waste_bounds.colour_metal(
                content_mg_per_ml=mg_per_ml,
                most_ml=colour.most_ml,
                least_l=volume_ml / ML_PER_L,
            )
            most[metal] = most.get(metal, 0.0) + found.most_mg_per_l
    for metal, mg_per_l in sorted(most.items()):
        yield _reckoned(metal, waste_bounds.Content(0.0, mg_per_l), site)


def _exact(volume_ml: float | None) -> Fraction | None:
    return None if volume_ml is None else Fraction(round(volume_ml * 1000), 1000)
