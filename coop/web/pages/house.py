"""The house: what is set up, and for a coordinator what is still to do."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest

from flask import Blueprint, url_for
from werkzeug.wrappers import Response

from coop.actions.set_up import Step, editions, still_to_do
from coop.ids import Subject
from coop.ledger.descriptions import fold_house
from coop.ledger.force import InForce
from coop.ledger.states import HouseState, PaperState, RecipeState, StudioState, VesselState
from coop.ledger.table import HOUSE
from coop.people.may import may
from coop.rules.baths import limits_of
from coop.rules.limits import Limits
from coop.web import amounts
from coop.web import words as say
from coop.web.defaults_text import KEEPS, OTHER_BATHS, PLAIN, in_use, short, value_text
from coop.web.page import desk, face, needs, show, who, words
from coop.web.records import RecordsSaid, records_said
from coop.web.zones import country_name

pages = Blueprint("house", __name__)

Fact = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Something described: its name, what matters of it, where it is changed."""

    name: str
    told: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRow:
    """A studio with its numbers and its tubs in the order they stand."""

    name: str
    facts: tuple[tuple[str, str], ...]
    tubs: tuple[Row, ...]
    url: str
    new_tub_url: str
    permission_url: str
    rules_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """Something still to do: its code, what it is about, where it is done."""

    code: str
    about: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    when: str
    by: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HousePage:
    """The house; `steps` are empty for all but coordinators, and once all is done."""

    steps: tuple[StepRow, ...]
    studios: tuple[StudioRow, ...]
    papers: tuple[Row, ...]
    recipes: tuple[Row, ...]
    limits: tuple[tuple[str, str], ...]
    limits_set: str
    editions: tuple[Edition, ...]
    records: RecordsSaid
    may_set_up: bool


@pages.get("/house")
@needs("read")
def house() -> Response:
    journal = desk().journal
    state: HouseState | None = journal.state("house", HOUSE)
    set_up = may(who().roles, "set-up")
    page = HousePage(
        steps=tuple(_step(one) for one in still_to_do(journal)) if set_up else (),
        studios=tuple(_studios()),
        papers=tuple(_paper(one) for one in journal.listed("paper")),
        recipes=tuple(_recipe(one) for one in journal.listed("recipe")),
        limits=tuple(_limits(limits_of(state), state)),
        limits_set=words().day(state.set_at) if state else "",
        editions=tuple(_editions(editions(journal, HOUSE))),
        records=records_said(),
        may_set_up=set_up,
    )
    return show("house.html", page=page, nav="house")


def _step(step: Step) -> StepRow:
    url = {
        "studio": "/house/studios/new",
        "tub": url_for("studios.new_tub", studio=step.subject or None),
        "paper": "/house/papers/new",
        "limits": "/house/limits",
        "strength": "/house/recipes/new",
        "alum": "/shelf/receive/alum",
        "spoons": f"/lots/{step.subject}/spoons",
        "members": "/people/invite",
    }[step.code]
    sort = {"tub": "studio", "spoons": "lot"}.get(step.code, "")
    about = desk().journal.state(sort, Subject(step.subject)) if sort and step.subject else None
    return StepRow(code=step.code, about=about.name if about else "", url=url)


def _studios() -> Iterator[StudioRow]:
    vessels = desk().journal.listed("vessel", live=False)
    for studio in sorted(desk().journal.listed("studio"), key=lambda one: str(one.name)):
        here = [one for one in vessels if one.studio == studio.id]
        yield StudioRow(
            name=f"{studio.name} ({studio.letter})",
            facts=tuple(_facts(studio)),
            tubs=tuple(_tub(one) for one in sorted(here, key=_standing)),
            url=url_for("studios.studio", studio=studio.id),
            new_tub_url=url_for("studios.new_tub", studio=studio.id),
            permission_url=url_for("permission.permission", studio=studio.id),
            rules_url=url_for("rules.studio", studio=studio.id),
        )


def _standing(tub: VesselState) -> tuple[bool, int]:
    """Order tubs by place, those out of use last."""
    return not tub.in_use, tub.place


def _facts(studio: StudioState) -> Iterator[tuple[str, str]]:
    yield words().gettext("Emergency number"), studio.emergency
    yield words().gettext("Poison centre"), studio.poison
    yield words().gettext("Where it is"), _joined(studio.premises, _country(studio))
    drain = say.choice(words(), "drain", studio.drain)
    yield words().gettext("Drains to"), _joined(drain, studio.drain_note)
    rinse = say.choice(words(), "rinse_way", studio.rinse_way)
    yield words().gettext("Rinse water goes to"), _joined(rinse, studio.rinse_agreed)
    if studio.premises_are:
        whose = say.choice(words(), "premises", studio.premises_are)
        yield words().gettext("Its waste is"), whose
    named = [say.choice(words(), "instrument", one) for one in studio.instruments]
    yield words().gettext("In the drawer"), ", ".join(named)
    yield words().gettext("On its sheets"), say.choice(words(), "side", studio.side_rule)
    if studio.hardness_mg_per_l is not None:
        hardness = amounts.hardness(words(), studio.hardness_mg_per_l)
        yield words().gettext("Tap water"), hardness
    if studio.store_coldest_c is not None:
        coldest = amounts.warmth(words(), studio.store_coldest_c)
        yield words().gettext("Coldest where baths stand"), coldest


def _country(studio: StudioState) -> str:
    return country_name(words().lang, studio.country)


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _tub(tub: VesselState) -> Row:
    brim = words().gettext(
        "%(litres)s to the brim", litres=amounts.volume(words(), tub.brim_ml)
    )
    lid = words().gettext("with a lid") if tub.lidded else words().gettext("no lid")
    use = "" if tub.in_use else words().gettext("out of use")
    area = ""
    if tub.area_m2 is not None:
        area = words().gettext("floor %(area)s", area=amounts.area(words(), tub.area_m2, 2))
    return Row(
        name=tub.name,
        told=_joined(brim, area, lid, use),
        url=url_for("studios.tub", tub=tub.id),
    )


def _paper(paper: PaperState) -> Row:
    sheet = words().gettext(
        "%(length)s x %(width)s",
        length=amounts.length_figure(words(), paper.length_mm),
        width=amounts.length(words(), paper.width_mm),
    )
    weight = ""
    if paper.weight_g_per_m2 is not None:
        weight = amounts.paper_weight(words(), paper.weight_g_per_m2)
    floor = ""
    if paper.floor_g_per_l is not None and paper.floor_salt is not None:
        floor = words().gettext(
            "wants %(strength)s %(salt)s",
            strength=amounts.strength_as_said(words(), paper.floor_g_per_l),
            salt=say.choice(words(), "salt_short", paper.floor_salt),
        )
    chalk = (
        words().gettext("chalk not known")
        if paper.chalk == "not_known"
        else say.choice(words(), "chalk", paper.chalk)
    )
    return Row(
        name=paper.name,
        told=_joined(sheet, weight, chalk, floor),
        url=url_for("papers.paper", paper=paper.id),
    )


def _recipe(recipe: RecipeState) -> Row:
    salt = ""
    if recipe.salt is not None:
        salt = say.choice(words(), "salt_short", recipe.salt)
    elif recipe.powder is not None:
        salt = say.choice(words(), "powder", recipe.powder)
    judged = ""
    if recipe.what == "alum":
        judged = words().gettext("judged by the house's strength")
    if recipe.target_g_per_l is not None:
        strength = amounts.strength_as_said(words(), recipe.target_g_per_l)
        judged = words().gettext("judged by %(strength)s", strength=strength)
    return Row(
        name=recipe.name,
        told=_joined(recipe.dose, salt, judged, recipe.source),
        url=url_for("recipes.recipe", recipe=recipe.id),
    )


def _limits(limits: Limits, house: HouseState | None) -> Iterator[Fact]:
    yield words().gettext("Strength"), _strength(limits)
    for label, fraction in (
        (words().gettext("Look again under"), limits.look_again_fraction),
        (words().gettext("Do not use under"), limits.do_not_use_fraction),
    ):
        yield label, _line(fraction, limits.target_g_per_l)
    yield (
        words().gettext("A strip print holds"),
        words().ngettext("%(num)d day", "%(num)d days", limits.strip_print_days),
    )
    yield (
        words().gettext("Depth to lay a sheet"),
        amounts.length(
            words(), limits.laying_depth_mm, amounts.decimals_of(limits.laying_depth_mm)
        ),
    )
    for _, names in KEEPS:
        for name in names:
            days = value_text(words(), in_use(name, limits))
            if name in OTHER_BATHS:
                days = words().gettext("%(days)s, not used at twice that", days=days)
            yield words().gettext(PLAIN[name].label), days
    if house is not None:
        kinds_said = [
            say.choice(words(), f"kinds_{one}", getattr(house, one))
            for one in ("gallon", "cup", "spoon")
        ]
        yield words().gettext("Measures"), "; ".join(kinds_said)


def _strength(limits: Limits) -> str:
    if limits.target_g_per_l is None or limits.target_salt is None:
        return words().gettext("none: only cards say one")
    return words().gettext(
        "%(strength)s %(salt)s",
        strength=amounts.strength_as_said(words(), limits.target_g_per_l),
        salt=say.choice(words(), "salt_short", limits.target_salt),
    )


def _line(fraction: float, target_g_per_l: float | None) -> str:
    percent = words().gettext("%(percent)s %%", percent=short(words(), fraction * 100))
    if target_g_per_l is None:
        return words().gettext("%(percent)s of the strength", percent=percent)
    strength = amounts.strength_as_said(words(), round(fraction * target_g_per_l, 1))
    return words().gettext("%(strength)s (%(percent)s)", strength=strength, percent=percent)


def _editions(found: tuple[InForce, ...]) -> Iterator[Edition]:
    """Say what each edition changed against the one before; all of the first."""
    told = [tuple(_set_at(one)) for one in found]
    steps = zip_longest(told, told[1:], fillvalue=())
    for one, (here, before) in zip(found, steps, strict=True):
        yield Edition(
            when=words().moment(one.at),
            by=face(one.author).name,
            told=_changes(here, dict(before)) or words().gettext("Nothing was changed."),
        )


def _set_at(one: InForce) -> Iterator[Fact]:
    """Return all that an edition sets."""
    state = fold_house(HOUSE, (one,), desk().journal.view()).state
    yield from _limits(limits_of(state), state)
    if state is not None and state.records_kept:
        kept = say.choice(words(), "retention", state.records_kept)
        yield words().gettext("For whom records are kept"), kept


def _changes(here: tuple[Fact, ...], before: Mapping[str, str]) -> str:
    return "; ".join(
        words().gettext(
            "%(label)s: %(value)s, before it was %(before)s",
            label=label,
            value=value,
            before=before[label],
        )
        if label in before
        else f"{label}: {value}"
        for label, value in here
        if before.get(label) != value
    )
