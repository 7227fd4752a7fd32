"""What can be put into a waste jar: the ways that are offered, and the one that was chosen."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from flask import url_for

from coop.actions.drain_facts import WASTE_OF, Asked
from coop.actions.liquid_rows import stood_ml
from coop.actions.see_jars import offered, substances_of_lot, wastes_in
from coop.actions.see_jugs import by_themselves
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.states import JarState, JugState, LotState
from coop.rules.packs.words import JAR
from coop.web import amounts
from coop.web import words as say
from coop.web.jars import litres_of
from coop.web.page import desk, words

SOLIDS: Final = frozenset({"floc", "paste", "leftover"})
"""Wastes that may be weighed instead of measured in litres."""
SOURCES: Final = ("bath", "jug", "lot", "from_jar", "waste")


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Something that may go into the jar: what it is, how much, and where it is asked."""

    text: str
    told: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """All that may go into a jar, by where it comes from."""

    baths: tuple[Way, ...]
    jugs: tuple[Way, ...]
    lots: tuple[Way, ...]
    jars: tuple[Way, ...]
    wastes: tuple[Way, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """
    What was chosen.

    Attributes:
        told: What it is, and how much there is.
        waste: Which waste it is.
        fixed: Parts of the entry that the page knows.
        asked: What the rules are asked about.
        all_ml: How much there is, where all of it may go without being measured [mL].
        litres, weight: How it may be measured.
    """

    told: str
    waste: str
    fixed: Mapping[str, Any]
    asked: Asked
    all_ml: float | None = None
    litres: bool = True
    weight: bool = False


def ways(jar: JarState) -> Ways:
    """Return all that may go into a jar."""
    found = offered(desk().journal, jar)
    gettext = words().gettext
    return Ways(
        baths=tuple(_way(jar, "bath", one.id, _bath_told(one)) for one in found.baths),
        jugs=tuple(_way(jar, "jug", one.id, _jug_told(one)) for one in found.jugs),
        lots=tuple(_way(jar, "lot", one.id, (one.name, "")) for one in found.lots),
        jars=tuple(
            _way(jar, "from_jar", one.id, (one.name, litres_of(words(), one)))
            for one in found.jars
        ),
        wastes=tuple(
            _way(
                jar,
                "waste",
                code,
                (gettext("so much %(waste)s", waste=say.choice(words(), "waste", code)), ""),
            )
            for code in jar.wastes
        ),
    )


def _way(jar: JarState, source: str, subject: str, told: tuple[str, str]) -> Way:
    url = f"{url_for('jars.add', jar=jar.id)}?{source}={subject}"
    return Way(text=told[0], told=told[1], url=url)


def _bath_told(bath: AnyBath) -> tuple[str, str]:
    name = say.bath_name(words(), bath.what, bath.name)
    return name, amounts.volume(words(), stood_ml(bath))


def _jug_told(jug: JugState) -> tuple[str, str]:
    name = words().gettext(
        "a jug, %(where)s: %(waste)s",
        where=jug.where,
        waste=say.choice(words(), "waste", jug.waste),
    )
    return name, "" if jug.volume_ml is None else amounts.volume(words(), jug.volume_ml)


def chosen(jar: JarState, args: Mapping[str, str]) -> Source | None:
    """Return what was chosen in an address; None where it is nothing that this jar takes."""
    for name in SOURCES:
        if args.get(name):
            return next(_SOURCES[name](jar, args[name]), None)
    return None


def _of_bath(jar: JarState, subject: str) -> Iterator[Source]:
    bath: AnyBath | None = desk().journal.state("bath", Subject(subject))
    if bath is None or bath.gone_at is not None or WASTE_OF[bath.what] not in jar.wastes:
        return
    waste = WASTE_OF[bath.what]
    name, litres = _bath_told(bath)
    yield Source(
        told=f"{name}, {litres}",
        waste=waste,
        fixed={"bath": bath.id},
        asked=Asked(studio=jar.studio, outlet=JAR, waste=waste, bath=bath.id),
        all_ml=stood_ml(bath),
    )


def _of_jug(jar: JarState, subject: str) -> Iterator[Source]:
    jug: JugState | None = desk().journal.state("jug", Subject(subject))
    if jug is None or jug.gone_at is not None or jug.waste not in jar.wastes:
        return
    if not by_themselves(desk().journal, [jug]):
        return
    name, litres = _jug_told(jug)
    yield Source(
        told=", ".join(filter(None, (name, litres))),
        waste=jug.waste,
        fixed={"jug": jug.id},
        asked=Asked(studio=jar.studio, outlet=JAR, waste=jug.waste, jug=jug.id),
        all_ml=jug.volume_ml,
    )


def _of_lot(jar: JarState, subject: str) -> Iterator[Source]:
    lot: LotState | None = desk().journal.state("lot", Subject(subject))
    if lot is None or "leftover" not in jar.wastes or lot.measure not in ("weight", "volume"):
        return
    inside = substances_of_lot(lot, desk().journal.state("supply", lot.substance))
    yield Source(
        told=lot.name,
        waste="leftover",
        fixed={"lot": lot.id},
        asked=Asked(studio=jar.studio, outlet=JAR, waste="leftover", substances=inside),
        litres=lot.measure == "volume",
        weight=lot.measure == "weight",
    )


def _of_jar(jar: JarState, subject: str) -> Iterator[Source]:
    giver: JarState | None = desk().journal.state("jar", Subject(subject))
    if giver is None or giver.id == jar.id or not giver.wastes_in:
        return
    inside = wastes_in(giver)
    if not set(inside) <= set(jar.wastes):
        return
    fixed: dict[str, Any] = {"from_jar": giver.id, "wastes": list(inside)}
    if giver.first_on is not None:
        fixed["since"] = giver.first_on.isoformat()
    if giver.metal_pigments == "yes":
        fixed["metal_pigments"] = "yes"
    yield Source(
        told=f"{giver.name}, {litres_of(words(), giver)}",
        waste=inside[0],
        fixed=fixed,
        asked=Asked(studio=jar.studio, outlet=JAR, jar=giver.id),
        all_ml=giver.volume_ml,
    )


def _of_waste(jar: JarState, code: str) -> Iterator[Source]:
    if code in jar.wastes:
        yield Source(
            told=say.choice(words(), "waste", code),
            waste=code,
            fixed={},
            asked=Asked(studio=jar.studio, outlet=JAR, waste=code),
            weight=code in SOLIDS,
        )


_SOURCES: Final = {
    "bath": _of_bath,
    "jug": _of_jug,
    "lot": _of_lot,
    "from_jar": _of_jar,
    "waste": _of_waste,
}
