"""Help: how the numbers are made, who may do what, what the words mean."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.ledger.ports import Journal
from coop.ledger.states import StudioState
from coop.ledger.table import HOUSE, KINDS
from coop.people.may import CORRECT_OWN_FOR, UNDO_FOR
from coop.rules.baths import limits_of
from coop.rules.limits import Limits
from coop.rules.reasons import REASONS, Row
from coop.science import alum, bath, bath_answers, evaporation, paper
from coop.science.bath_readings import volume_by_area
from coop.science.defaults import DEFAULTS, Z_90, default, value
from coop.science.estimate import ln_sd_of_fraction
from coop.store import sessions, throttle
from coop.units.table import UNITS
from coop.web import amounts, cautions, reasons
from coop.web import words as say
from coop.web.defaults_text import (
    GROUPS,
    KIND_ACTS,
    RULES,
    Figure,
    figure,
    range_of,
    values,
    who_may,
)
from coop.web.help_salts import SaltSums, salt_sums
from coop.web.help_stock import StockSums, stock_sums
from coop.web.help_sums import FaultSums, SizeSums, fault_sums, size_sums
from coop.web.help_waste import WasteSums, waste_sums
from coop.web.i18n import N_, Words
from coop.web.page import desk, needs, show, words

pages = Blueprint("help", __name__)

SECTIONS: Final = (
    ("care", N_("Take care")),
    ("use", N_("May I use it?")),
    ("no-signal", N_("Without a signal")),
    ("strength", N_("What a strength says")),
    ("dose", N_("What a dose means")),
    ("spoons", N_("Ten level spoons")),
    ("salts", N_("Another salt, cold, hard and hot water")),
    ("sheets", N_("What sheets take with them")),
    ("weaker", N_("What makes a bath weaker")),
    ("air", N_("Drying up")),
    ("level", N_("Stick and tape line")),
    ("hydrometer", N_("Hydrometer")),
    ("ph", N_("Why not pH")),
    ("strip-print", N_("Strip print")),
    ("size", N_("Size, thinner and thicker")),
    ("keeps", N_("How long a liquid keeps")),
    ("drop-test", N_("Drop test")),
    ("run-out", N_("Run-out time")),
    ("stacks", N_("Alumed sheets that wait")),
    ("faults", N_("How they came out")),
    ("jugs", N_("A jug nobody knows")),
    ("orders", N_("The order list")),
    ("counting", N_("Counting the shelf")),
    ("good-until", N_("How long a lot is good")),
    ("class", N_("What a class takes")),
    ("waste", N_("Getting rid of it")),
    ("neutralising", N_("An old alum bath and soda")),
    ("waste-jars", N_("Waste jars, the log, records")),
    ("statistics", N_("In a statistician's words")),
    ("kept", N_("What is kept about you")),
    ("who", N_("Who may do what")),
    ("words", N_("The words")),
    ("keys", N_("Phone, keyboard and paper")),
    ("figures", N_("Every figure")),
)
"""Anchors and titles, in the order of the page; other pages link to `/help#anchor`."""

# The worked example: a tub, a bath in it, sheets of a common format, one top-up.
TUB_LENGTH_MM, TUB_WIDTH_MM = 740, 540
SHEET_WIDTH_MM, SHEET_HEIGHT_MM, SHEET_COUNT = 350, 500, 60
BATH_WATER_ML, BATH_SALT_G, WATER_ONLY_ML = 12_000, 480, 3_000
BATH_SALT = "aluminium_sulfate_14"
DOSE_TBSP = 8
STRIP_MM = (50, 150)
"""A strip for a test of whether colour holds."""
READ_SG, READ_C, WARM_C, SMALL_SG = 1.020, 20, 30, 0.001
SHOWN = (31, 26, 36)
"""A strength with its range as the pages write it [g/L]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """What eight level tablespoons to a gallon come to."""

    tbsp: str
    middle: str
    low: str
    high: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The example bath: mixed, sheets through, topped up with water; all as texts."""

    water: str
    salt: str
    mixed: str
    sheets: str
    one_sheet: str
    sheets_took: str
    after_sheets: str
    added: str
    after_water: str
    dried: str
    one_mm: str
    sheet_mm: str
    tub_mm: str
    strip: str
    chalk_uses_g: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gravity:
    """How a hydrometer is read: strength per 0.001, and what ten degrees do."""

    step: str
    salts: tuple[tuple[str, str], ...]
    warmer: str
    too_low: str
    aluminium: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseLines:
    """The lines this house has set."""

    set_on: str
    target: str
    look_again: str
    do_not_use: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleGroup:
    """Rules that lead to one word, empty for notes; `first` counts through all rules."""

    word: str
    first: int
    rules: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureGroup:
    anchor: str
    title: str
    note: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KindRow:
    act: str
    who: str
    signed_in_only: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spans:
    """Lengths of time that the ledger keeps to."""

    undo_minutes: str
    correct_days: str
    session_days: str
    idle_days: str
    throttle_minutes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HelpPage:
    sections: Mapping[str, str]
    cautions: tuple[str, ...]
    calls: tuple[tuple[str, str], ...]
    values: Mapping[str, str]
    ranges: Mapping[str, str]
    z_90: str
    lines: HouseLines | None
    rules: tuple[RuleGroup, ...]
    shown: str
    shown_low: str
    shown_high: str
    dose: Dose
    course: Course
    gravity: Gravity
    salts: SaltSums
    size: SizeSums
    faults: FaultSums
    stock: StockSums
    waste: WasteSums
    outcomes: tuple[str, ...]
    spans: Spans
    kinds: tuple[KindRow, ...]
    groups: tuple[FigureGroup, ...]


@pages.get("/help")
@needs("read")
def help_page() -> Response:
    return show("help.html", page=_page(words(), desk().journal), nav="help")


def _page(words: Words, journal: Journal) -> HelpPage:
    house = journal.state("house", HOUSE)
    limits = limits_of(house)
    said = values(words, limits)
    return HelpPage(
        sections={anchor: words.gettext(title) for anchor, title in SECTIONS},
        cautions=tuple(cautions.sentence(words, text) for text in cautions.TEXTS.values()),
        calls=_calls(words, journal),
        values=said,
        ranges={name: range_of(words, row) for name, row in DEFAULTS.items()},
        z_90=words.number(Z_90, 3),
        lines=_lines(words, limits, words.day(house.set_at)) if house else None,
        rules=tuple(_rules(words, said)),
        shown=amounts.strength(words, *SHOWN),
        shown_low=amounts.strength_figure(words, SHOWN[1]),
        shown_high=amounts.strength_figure(words, SHOWN[2]),
        dose=_dose(words),
        course=_course(words),
        gravity=_gravity(words),
        salts=salt_sums(words),
        size=size_sums(words),
        faults=fault_sums(words),
        stock=stock_sums(words),
        waste=waste_sums(words),
        outcomes=tuple(text for _, text in say.choices(words, "outcome")),
        spans=_spans(words),
        kinds=_kinds(words),
        groups=_groups(words, limits),
    )


def _calls(words: Words, journal: Journal) -> tuple[tuple[str, str], ...]:
    studios: list[StudioState] = sorted(journal.listed("studio"), key=lambda one: one.name)
    return tuple((one.name, cautions.safety_card(words, "mix", one).call) for one in studios)


def _lines(words: Words, limits: Limits, set_on: str) -> HouseLines | None:
    if limits.target is None:
        return None
    g_per_l, salt = limits.target
    name = say.choice(words, "salt_short", salt)
    return HouseLines(
        set_on=set_on,
        target=words.gettext(
            "%(strength)s of %(salt)s", strength=amounts.g_per_l(words, g_per_l), salt=name
        ),
        look_again=amounts.g_per_l(words, g_per_l * limits.look_again_fraction),
        do_not_use=amounts.g_per_l(words, g_per_l * limits.do_not_use_fraction),
    )


def _rules(words: Words, said: Mapping[str, str]) -> Iterator[RuleGroup]:
    """Yield the rules of "May I use it?" in their order, those of one word together."""
    first = 1
    for word, rows in groupby(REASONS.values(), key=lambda row: row.word):
        rules = tuple(_rule(words, row, said) for row in rows)
        yield RuleGroup(word=word.value if word else "", first=first, rules=rules)
        first += len(rules)


def _rule(words: Words, row: Row, said: Mapping[str, str]) -> tuple[str, str]:
    places = ", ".join(words.gettext(reasons.SOURCES[source]) for source in row.sources)
    return words.gettext(RULES[row.code], **said), places


def _dose(words: Words) -> Dose:
    spoon = default("alum_g_per_us_tbsp")
    per_l = DOSE_TBSP / float(UNITS["us_gallon"].factor) * 1000
    return Dose(
        tbsp=words.number(DOSE_TBSP),
        middle=amounts.g_per_l(words, spoon.value * per_l),
        low=amounts.strength_figure(words, spoon.low * per_l),
        high=amounts.strength_figure(words, spoon.high * per_l),
    )


def _course(words: Words) -> Course:
    """Take a bath through what the sums do, with the sums themselves."""
    weighed = bath.SaltPart(BATH_SALT_G, ln_sd_of_fraction(fraction=value("weighed_fraction")))
    fresh = bath.mixed(water_ml=BATH_WATER_ML, salt_parts=[weighed], salt=BATH_SALT, at_h=0)
    sheet_m2 = paper.area_m2(width_mm=SHEET_WIDTH_MM, height_mm=SHEET_HEIGHT_MM)
    used = bath.sheets_through(estimate=fresh, sheet_area_m2=sheet_m2, sheet_count=SHEET_COUNT)
    thin = bath.topped_up(estimate=used, water_ml=WATER_ONLY_ML)
    floor_m2 = paper.area_m2(width_mm=TUB_LENGTH_MM, height_mm=TUB_WIDTH_MM)
    dried_ml = evaporation.evaporated_ml(
        area_m2=floor_m2,
        open_hours=evaporation.HOURS_PER_DAY,
        rate_mm_per_day=value("evaporation_mm_per_day"),
    )
    one_mm_ml = volume_by_area(level_mm=1, area_m2=floor_m2).volume_ml
    chalk_g = alum.substance_g_per_g(salt="potash_alum", substance="calcium_carbonate")
    took_ml = fresh.belief.volume_ml - used.belief.volume_ml
    return Course(
        water=amounts.volume(words, BATH_WATER_ML),
        salt=amounts.weight(words, BATH_SALT_G),
        mixed=_about(words, fresh),
        sheets=say.sheets(words, SHEET_COUNT, "half"),
        one_sheet=amounts.small_volume(words, took_ml / SHEET_COUNT, 1),
        sheets_took=amounts.volume(words, took_ml),
        after_sheets=_about(words, used),
        added=amounts.volume(words, WATER_ONLY_ML),
        after_water=_about(words, thin),
        dried=amounts.volume(words, dried_ml),
        one_mm=amounts.volume(words, one_mm_ml),
        sheet_mm=_by(words, SHEET_WIDTH_MM, SHEET_HEIGHT_MM),
        tub_mm=_by(words, TUB_LENGTH_MM, TUB_WIDTH_MM),
        strip=words.gettext("%(one)s × %(other)s", **_sides(words, *STRIP_MM)),  # noqa: RUF001  # the sign is meant
        chalk_uses_g=words.number(1 / chalk_g, 1),
    )


def _by(words: Words, one_mm: float, other_mm: float) -> str:
    return words.gettext("%(one)s by %(other)s", **_sides(words, one_mm, other_mm))


def _sides(words: Words, one_mm: float, other_mm: float) -> dict[str, str]:
    return {
        "one": amounts.length_figure(words, one_mm),
        "other": amounts.length(words, other_mm),
    }


def _about(words: Words, estimate: bath.BathEstimate) -> str:
    known = bath_answers.strength(estimate=estimate)
    return amounts.strength(words, known.middle_g_per_l, known.low_g_per_l, known.high_g_per_l)


def _gravity(words: Words) -> Gravity:
    too_low = _read(READ_SG, WARM_C, BATH_SALT) - _read(READ_SG, READ_C, BATH_SALT)
    per_gram = alum.same_strength_g(weight_g=1, salt=BATH_SALT, other_salt="potash_alum")
    return Gravity(
        step=words.number(SMALL_SG, 3),
        salts=tuple(_salts(words)),
        warmer=amounts.warmer(words, WARM_C - READ_C),
        too_low=amounts.g_per_l(words, too_low),
        aluminium=words.number(per_gram, 2),
    )


def _salts(words: Words) -> Iterator[tuple[str, str]]:
    for salt, name in say.choices(words, "salt"):
        try:
            grams = _read(READ_SG, READ_C, salt) * SMALL_SG / (READ_SG - 1)
        except alum.GravityRefused:
            yield name, words.gettext("not read as strength: no curve is known")
        else:
            yield name, amounts.g_per_l(words, grams, 2)


def _read(reading_sg: float, liquid_c: float, salt: str) -> float:
    """Return the strength [g/L] a hydrometer without fault shows."""
    return alum.gravity_strength_g_per_l(
        reading_sg=reading_sg,
        liquid_c=liquid_c,
        zero_offset_sg=0,
        scale_c=value("hydrometer_scale_c"),
        salt=salt,
    ).strength_g_per_l


def _spans(words: Words) -> Spans:
    return Spans(
        undo_minutes=words.number(UNDO_FOR.total_seconds() / 60),
        correct_days=words.number(CORRECT_OWN_FOR.days),
        session_days=words.number(sessions.LIFE.days),
        idle_days=words.number(sessions.IDLE_MAX.days),
        throttle_minutes=words.number(throttle.WINDOW.total_seconds() / 60),
    )


def _kinds(words: Words) -> tuple[KindRow, ...]:
    return tuple(
        KindRow(
            act=words.gettext(KIND_ACTS[code]),
            who=who_may(words, kind),
            signed_in_only=kind.signed_in_only,
        )
        for code, kind in KINDS.items()
    )


def _groups(words: Words, limits: Limits) -> tuple[FigureGroup, ...]:
    return tuple(
        FigureGroup(
            anchor=group.anchor,
            title=words.gettext(group.title),
            note=words.gettext(group.note),
            figures=tuple(figure(words, name, limits) for name in group.names),
        )
        for group in GROUPS
    )
