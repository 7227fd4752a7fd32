"""A waste jar in words: its row in a list, what is in it, what it needs, what packs ask."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from flask import url_for

from coop.actions.see_jars import JarSeen
from coop.ledger.states import JarPart, JarState
from coop.ledger.wastes import LITTLE_G, RINSE_ML_PER_SHEET
from coop.ledger.ways_out import LITTLE_ML
from coop.rules import jars
from coop.rules.jars import Clock, JarLook
from coop.rules.packs.decisions import RuleSaid
from coop.web import amounts, drains
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.i18n import N_, Words
from coop.web.page import desk, face
from coop.web.told import bath_url, telling

ML_PER_L = 1000.0
G_PER_KG = 1000.0

NEEDS: Mapping[str, str] = MappingProxyType(
    {
        jars.MUST_NOT_MEET: N_("What must never come together is in it."),
        jars.OVERDUE: N_("Its day is past."),
        jars.NOT_STARTED: N_("Something is in it, and nobody wrote since when."),
        jars.NO_LABEL: N_("Its label does not show all that is asked."),
        jars.DUE_SOON: N_("Its day is near."),
        jars.FULL_SOON: N_("It is full, or soon will be."),
    }
)
"""Why a jar needs a person, by the codes of `coop.rules.jars.NEEDS`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JarRow:
    """
    A waste jar in a list; the macro `jar_row` of jar_parts.html draws it.

    Attributes:
        told: What it is and for what: 'drum for rinse water'.
        litres: How much is in it, of how much: '54.0 of 60.0 L'.
        level_l, holds_l: The same as figures, for its picture.
        due: The day that comes first, with the days left; empty where there is none.
        needs: Why it needs a person, the most pressing first.
    """

    id: str
    name: str
    url: str
    told: str
    place: str
    litres: str
    level_l: float
    holds_l: float
    due: str
    needs: tuple[str, ...]


def jar_row(words: Words, seen: JarSeen) -> JarRow:
    """Return a jar as a list shows it."""
    jar = seen.state
    return JarRow(
        id=jar.id,
        name=jar.name,
        url=url_for("jars.jar", jar=jar.id),
        told=jar_told(words, jar),
        place=jar.place,
        litres=litres_of(words, jar),
        level_l=(jar.holds_ml if jar.full_on else jar.volume_ml) / ML_PER_L,
        holds_l=jar.holds_ml / ML_PER_L,
        due=due_text(words, seen.look),
        needs=needs_of(words, seen.look),
    )


def jar_told(words: Words, jar: JarState) -> str:
    """Say what a jar is and for what: 'drum for rinse water, colour and cup rinse'."""
    return words.gettext(
        "%(sort)s for %(wastes)s",
        sort=say.choice(words, "jar_sort", jar.sort),
        wastes=wastes_text(words, jar.wastes),
    )


def wastes_text(words: Words, wastes: tuple[str, ...]) -> str:
    """Name several wastes in one line."""
    return ", ".join(say.choice(words, "waste", one) for one in wastes)


def litres_of(words: Words, jar: JarState) -> str:
    """
    Say how full a jar is: '54.0 of 60.0 L', with what was weighed into it.

    Where all of it was weighed: '3.11 kg in 20.0 L'; how full that is only a person can say.
    """
    holds = amounts.volume(words, jar.holds_ml, 1)
    said = {"weight": weight_of(words, jar.weight_g), "holds": holds}
    full = amounts.volume_figure(words, jar.volume_ml, by_ml=jar.holds_ml)
    if jar.weight_g < LITTLE_G:
        text = words.gettext("%(full)s of %(holds)s", full=full, holds=holds)
    elif jar.volume_ml < LITTLE_ML:
        text = words.gettext("%(weight)s in %(holds)s", **said)
    else:
        text = words.gettext("%(full)s of %(holds)s, %(weight)s weighed", **said, full=full)
    return words.gettext("%(much)s, full", much=text) if jar.full_on else text


def weight_of(words: Words, weight_g: float) -> str:
    """Say a weight in kilograms from one kilogram on: '3.11 kg', '240 g'."""
    if words.us or weight_g < G_PER_KG:
        return amounts.weight(words, weight_g)
    return words.gettext("%(kg)s kg", kg=words.number(weight_g / G_PER_KG, 2))


def due_text(words: Words, look: JarLook) -> str:
    """Say which day comes first, with the days left; empty where there is none."""
    if look.due_on is None or look.days_left is None:
        return ""
    return day_left(words, look.due_on, look.days_left)


def day_left(words: Words, day: date, days_left: int) -> str:
    """Say a day and how far off it is: '2025-12-01, 14 days left'."""
    told_with = {"day": words.day(day)}
    if days_left < 0:
        return words.ngettext(
            "%(day)s, %(num)d day past", "%(day)s, %(num)d days past", -days_left, **told_with
        )
    return words.ngettext(
        "%(day)s, %(num)d day left", "%(day)s, %(num)d days left", days_left, **told_with
    )


def needs_of(words: Words, look: JarLook) -> tuple[str, ...]:
    """Say why a jar needs a person."""
    return tuple(words.gettext(NEEDS[one]) for one in look.needs)


def rinse_text(words: Words, sheet_count: int) -> str:
    """Show the sum of rinsed sheets: '36 sheets at 1.5 L: 54.0 L'."""
    return words.ngettext(
        "%(num)d sheet at %(each)s: %(litres)s",
        "%(num)d sheets at %(each)s: %(litres)s",
        sheet_count,
        each=amounts.volume(words, RINSE_ML_PER_SHEET),
        litres=amounts.volume(words, sheet_count * RINSE_ML_PER_SHEET),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSaid:
    """What went into a jar: what and how much, what is in that, when and by whom."""

    text: str
    of: str
    url: str
    inside: str
    when: str
    by: str


def parts_of(words: Words, jar: JarState, *, on_paper: bool = False) -> Iterator[PartSaid]:
    """Give what is in a jar, the newest first; on paper no day is yesterday."""
    baths = desk().journal.states("bath", {one.bath for one in jar.parts if one.bath})
    for one in reversed(jar.parts):
        bath = baths.get(one.bath) if one.bath else None
        yield PartSaid(
            text=_part(words, one),
            of=say.bath_name(words, bath.what, bath.name) if bath else "",
            url=bath_url(bath) if bath else "",
            inside=_inside(words, one),
            when=words.moment(one.at) if on_paper else telling().when(one.at),
            by=face(one.by).name,
        )


def _part(words: Words, one: JarPart) -> str:
    much = [amounts.volume(words, one.volume_ml)] if one.volume_ml > 0 else []
    much += [weight_of(words, one.weight_g)] if one.weight_g > 0 else []
    return ", ".join((say.choice(words, "waste", one.waste), *much))


def _inside(words: Words, one: JarPart) -> str:
    """Say what is in a part, whether metal colours are, and what the rules made of it."""
    found = [texts.choice(words, "substance", code) for code in one.substances]
    if one.metal_pigments == "yes":
        found.append(words.gettext("metal colours"))
    elif one.metal_pigments == "not_known":
        found.append(words.gettext("metal colours not known"))
    if one.acute:
        found.append(words.gettext("acutely hazardous by rule"))
    elif one.hazardous == "yes":
        found.append(words.gettext("hazardous by rule"))
    return ", ".join(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSaid:
    """
    What packs ask of a jar; all empty where none does.

    Attributes:
        stops: What must never come together and does.
        clocks: (what runs, when it is due); `waiting` those without a day to begin.
        categories: What packs set by the sums of a month.
        missing: What its label does not show and a rule asks.
        duties: What else is to be done.
    """

    stops: tuple[str, ...]
    clocks: tuple[tuple[str, str], ...]
    waiting: tuple[str, ...]
    categories: tuple[str, ...]
    labels: tuple[str, ...]
    missing: tuple[str, ...]
    duties: tuple[str, ...]

    @property
    def any(self) -> bool:
        """Say whether packs ask anything."""
        return bool(self.clocks or self.waiting or self.categories or self.labels)


def asked_said(words: Words, look: JarLook) -> AskedSaid:
    """Return what packs ask of a jar, in words."""
    return AskedSaid(
        stops=tuple(words.gettext(texts.STOPS[one.rule]) for one in look.stops),
        clocks=tuple(_clock(words, one) for one in look.clocks),
        waiting=tuple(_rule(words, one) for one in look.waiting),
        categories=tuple(
            f"{month:%Y-%m}: {_class(words, fact, value)}"
            for month, pairs in look.months
            for fact, value in pairs
        ),
        labels=tuple(_rule(words, one) for one in look.labels),
        missing=tuple(texts.choice(words, "shown", one) for one in look.missing),
        duties=tuple(texts.choice(words, "duty", one) for one in look.duties),
    )


def _clock(words: Words, one: Clock) -> tuple[str, str]:
    return _rule(words, one.rule), day_left(words, one.due_on, one.days_left)


def _rule(words: Words, one: RuleSaid) -> str:
    """Name a rule by its own words and where it stands."""
    source = drains.source(words, one)
    return f"{one.says} ({source})" if one.says else source


def _class(words: Words, fact: str, value: str) -> str:
    known = texts.CLASS_VALUES.get(value)
    said = words.gettext(known) if known else value
    text = texts.CLASSES.get(fact)
    return words.gettext(text, value=said) if text else f"{fact.replace('_', ' ')}: {said}"


def neutralisable(jar: JarState) -> bool:
    """Say whether salt of alum is in a jar, so that it can be neutralised."""
    return bool(jar.salts) or any("alum" in one.substances for one in jar.parts)
