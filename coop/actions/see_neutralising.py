"""Look at an old alum bath, or a jar of alum, on its walk to be neutralised."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from coop.actions.drain_facts import Asked
from coop.actions.see_baths import around_bath
from coop.actions.see_drain import ask_drain
from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.actions.sites import Site
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.baths import BathState
from coop.ledger.ports import Journal
from coop.ledger.states import DrainReading, JarState, Treated
from coop.rules.baths import BathLook, look_at
from coop.rules.neutralising import (
    Stand,
    Window,
    go_of,
    is_limited,
    ph_window,
    stand,
)
from coop.rules.packs import words
from coop.rules.packs.decisions import Decision
from coop.science import alum, neutralising
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import value
from coop.science.neutralising import Dose, Floc, NeutralisingRefused, Walk

LIME = "lime"
JAR_DOUBT_FRACTION = 0.1
"""+- of the grams of salt in a jar, nine times in ten: our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Old:
    """
    What is to be neutralised.

    Attributes:
        sort: bath or jar.
        salt, salt_g: Its salt; of several, all of them as so much of the one there is most of.
        doubt_fraction: +- of the grams, nine times in ten [1].
        sulfate_mg_per_l: What stays in it once it is neutralised.
        grams_known: Whether the grams of all the alum in it are, and are of one salt or
            reckoned as one; else there is no dose.
        ammonia: Whether ammonium alum is in it, and how much of it or not never matters.
        metals, not_known: Whether metal colours went in, or something nobody knows.
        in_use: Whether it is a bath that is still used.
        gone: Whether nothing is left of it.
    """

    sort: str
    id: Subject
    name: str
    studio: Subject
    salt: str
    salt_g: float
    doubt_fraction: float
    volume_l: float
    sulfate_mg_per_l: float
    grams_known: bool
    ammonia: bool
    metals: bool
    not_known: bool
    in_use: bool
    gone: bool
    treated: tuple[Treated, ...]
    readings: tuple[DrainReading, ...]

    @property
    def begun(self) -> bool:
        """Say whether a cup was kept back, or something put in."""
        return go_of(self.treated).number > 0

    @property
    def enough(self) -> bool:
        """Say whether there is anything in it to neutralise, and a dose for it."""
        return (
            not self.gone
            and self.grams_known
            and self.salt_g >= neutralising.SALT_MIN_G
            and neutralising.VOLUME_MIN_L <= self.volume_l <= neutralising.VOLUME_MAX_L
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Jar:
    """Soda or lime of the shelf: its lot, and which base that is."""

    lot: LotLook
    base: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """
    The figures of one bath with one base in one bucket, and where the walk stands.

    Attributes:
        dose: Base for all of it; `floc` of all of it.
        walk: Of one bucket.
        refused: Why there is no walk, a code of `coop.science.neutralising`; then the rest of
            it is None.
    """

    base: str
    refused: str = ""
    dose: Dose | None = None
    floc: Floc | None = None
    walk: Walk | None = None
    stand: Stand | None = None


def old_bath(journal: Journal, bath: BathState, *, site: Site) -> Old:
    """Return an alum bath as what is to be neutralised."""
    return of_look(look_at(bath, around_bath(journal, bath), at=site.now))


def of_look(look: BathLook) -> Old:
    """Return an alum bath that was looked at as what is to be neutralised."""
    bath, known = look.state, look.strength
    half_g_per_l = (known.high_g_per_l - known.low_g_per_l) / 2
    middle = known.middle_g_per_l
    doubt = half_g_per_l / middle if middle > 0 else 0.0
    return Old(
        sort="bath",
        id=bath.id,
        name=bath.name,
        studio=bath.studio,
        salt=bath.salt,
        salt_g=middle * known.volume_l,
        doubt_fraction=min(doubt, neutralising.DOUBT_MAX_FRACTION),
        volume_l=known.volume_l,
        sulfate_mg_per_l=_sulfate([(bath.salt, middle * known.volume_l)], known.volume_l),
        grams_known=len(set(bath.salts_in)) <= 1,
        ammonia="ammonium_alum" in bath.salts_in,
        metals=False,
        not_known=False,
        in_use=bath.finished_at is None,
        gone=bath.gone_at is not None,
        treated=bath.treated,
        readings=bath.drain_readings,
    )


def old_jar(jar: JarState) -> Old:
    """Return a waste jar as what is to be neutralised."""
    salt, salt_g = _as_one_salt(jar.salts)
    volume_l = jar.volume_ml / ML_PER_L
    named = {*jar.substances_in, *(salt for salt, _ in jar.salts)}
    return Old(
        sort="jar",
        id=jar.id,
        name=jar.name,
        studio=jar.studio,
        salt=salt,
        salt_g=salt_g,
        doubt_fraction=JAR_DOUBT_FRACTION,
        volume_l=volume_l,
        sulfate_mg_per_l=_sulfate(jar.salts, volume_l),
        grams_known=jar.salts_known,
        ammonia="ammonium_alum" in named,
        metals=jar.metal_pigments == words.YES,
        not_known=words.NOT_KNOWN in jar.wastes_in,
        in_use=False,
        gone=jar.ended_at is not None or jar.volume_ml <= 0,
        treated=jar.treated,
        readings=jar.readings,
    )


def _as_one_salt(salts: tuple[tuple[str, float], ...]) -> tuple[str, float]:
    """Return the salt there is most of, and all of them as so much of it, by their acid [g]."""
    if not salts:
        return "", 0.0
    most, _ = max(salts, key=lambda one: one[1])
    acid = {salt: alum.substance_g_per_g(salt=salt, substance=_ANY) for salt, _ in salts}
    return most, sum(grams * acid[salt] for salt, grams in salts) / acid[most]


_ANY = neutralising.BASES[LIME].substance
"""Any base will do: how much of it a gram of a salt takes says how much acid it is."""


def _sulfate(salts: Any, volume_l: float) -> float:
    if volume_l < neutralising.VOLUME_MIN_L:
        return 0.0
    return sum(
        neutralising.sulfate_left_mg_per_l(salt_g=grams, salt=salt, volume_l=volume_l)
        for salt, grams in salts
        if grams >= neutralising.SALT_MIN_G
    )


def window_of(site: Site) -> Window:
    """Return between which pH a neutralised bath has to come out in a studio."""
    return ph_window(
        site.packs, area=site.area, outlet=outlet_of(site), day=site.day, demo=site.demo
    )


def sulfate_limited(site: Site) -> bool:
    """Say whether a rule of the place limits sulfate, which neutralising does not take out."""
    return is_limited(
        site.packs, "sulfate", area=site.area, outlet=outlet_of(site), day=site.day
    )


def outlet_of(site: Site) -> str:
    """Return the studio's own drain as an outlet; a sewer where it says none."""
    return site.studio.drain if site.studio.drain in kinds.OUTLETS else "sewer"


def jars_of_base(journal: Journal, studio: Subject) -> tuple[Jar, ...]:
    """Return the soda and the lime on a studio's shelf of which it is known what they are."""
    return jars_among(lots_on_hand(journal), studio)


def jars_among(looks: Iterable[LotLook], studio: Subject) -> tuple[Jar, ...]:
    """Return the soda and the lime of a studio among lots that were looked at."""
    return tuple(_jars(looks, studio))


def _jars(looks: Iterable[LotLook], studio: Subject) -> Iterator[Jar]:
    for look in looks:
        what = look.supply.what if look.supply else ""
        base = {"soda": look.lot.soda, LIME: LIME}.get(what)
        if base is not None and look.lot.studio == studio and look.left > 0:
            yield Jar(lot=look, base=base)


def base_begun(old: Old) -> str:
    """Return what was put in already; empty while nothing was."""
    return next((one.base for one in reversed(old.treated) if one.base), "")


def least_bucket_l(old: Old) -> float:
    """Return the smallest open bucket for one go [L]."""
    return float(neutralising.least_bucket_l(volume_l=old.volume_l))


def plan_of(
    old: Old, base: str, bucket_l: float, window: Window, *, reads_before: bool = True
) -> Plan:
    """
    Return the figures of a walk and where it stands.

    Once a cup was kept back, it says how many goes there are, whatever bucket is named.
    """
    try:
        walk = _walk(old, base, _bucket_begun_l(old) or bucket_l)
    except NeutralisingRefused as refused:
        return Plan(base=base, refused=refused.code)
    salt_g, salt = old.salt_g, old.salt
    return Plan(
        base=base,
        dose=neutralising.full_dose(
            salt_g=salt_g, salt=salt, base=base, doubt_fraction=old.doubt_fraction
        ),
        floc=neutralising.floc(salt_g=salt_g, salt=salt),
        walk=walk,
        stand=stand(old.treated, old.readings, walk, window, reads_before=reads_before),
    )


def _walk(old: Old, base: str, bucket_l: float) -> Walk:
    if old.ammonia:
        raise NeutralisingRefused(neutralising.AMMONIA_GAS, "it is in there")
    return neutralising.walk(
        salt_g=old.salt_g,
        salt=old.salt,
        base=base,
        volume_l=old.volume_l,
        bucket_l=bucket_l,
        doubt_fraction=old.doubt_fraction,
    )


def _bucket_begun_l(old: Old) -> float:
    """Return the bucket that the cup kept back tells of; 0 where it tells of none [L]."""
    go = go_of(old.treated)
    if not go.kept_ml:
        return 0.0
    go_l = go.kept_ml / ML_PER_L / value("kept_cup_fraction")
    return value("bucket_times") * old.volume_l / max(1, round(old.volume_l / go_l))


def ask_stops(journal: Journal, site: Site, old: Old, base: str, also: str = "") -> Decision:
    """Return what the rules say of a base that is to go into all that is known to be in it."""
    asked = Asked(
        studio=old.studio,
        outlet=outlet_of(site),
        bath=old.id if old.sort == "bath" else None,
        jar=old.id if old.sort == "jar" else None,
        substances=(also,) if also else (),
        adding=(LIME if base == LIME else "soda",),
        closed="no",
    )
    return ask_drain(journal, site, asked)
