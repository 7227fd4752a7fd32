"""Worked examples of Help for what is got rid of, made with the sums and the rules."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from coop.ledger import kinds
from coop.rules import jars, retention
from coop.rules.packs.amounts import MASS_PER_VOLUME, MEASURES, PH
from coop.rules.packs.evaluation import CHECK_EVERY_DAYS
from coop.rules.packs.words import Outcome
from coop.science import alum, neutralising, waste_bounds
from coop.science.defaults import value
from coop.web import amounts, drain_words
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.records import RecordsSaid, records_of

HOURS_A_DAY: Final = 24
ML_PER_L: Final = 1_000
G_PER_KG: Final = 1_000
GRAMS_DIGITS: Final = 3

# A spent bath of aluminium sulfate, and the jar of soda beside it.
BATH_L, BATH_SALT, BATH_SALT_G, BATH_BASE = 5.8, "aluminium_sulfate_14", 232, "bicarbonate"
# A colour that declares its metal, in rinse water.
COLOUR_ML, COLOUR_MG_PER_ML, COLOUR_IN_L = 30, 50, 12
# A size: so much gum in a litre.
GUM_G_PER_L: Final = 5
# Baking soda a thirtieth under and over the full dose, stirred out in the open.
OFF_LOW_PH, OFF_HIGH_PH = 5.4, 8.7
"""PHREEQC, potash alum, open to air: a dose is never worked out from a pH."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteSums:
    """
    A waste judged, an alum bath neutralised, a jar, a record; all as texts.

    Attributes:
        answers: From mild to strict.
        bases: What each column of `doses` is in grams of, for a gram of the salt of its row.
        records: What each answer to how long records are kept keeps, and why.
    """

    answers: tuple[str, ...]
    ph_h: str
    laboratory_days: str
    check_days: str
    colour: str
    colour_holds: str
    colour_in: str
    metal: str
    gum: str
    gum_oxygen: str
    bases: tuple[str, ...]
    doses: tuple[tuple[str, ...], ...]
    bath: str
    salt: str
    dose: str
    bucket: str
    cup: str
    first: str
    rest: str
    cup_share: str
    gas: str
    floc: str
    sulfate: str
    off_low: str
    off_high: str
    soon_days: str
    records: tuple[RecordsSaid, ...]


def waste_sums(words: Words) -> WasteSums:
    """Take a waste through the rules, a bath through soda, a jar through its days."""
    whom = words.gettext("whoever is in charge of the drain")
    return WasteSums(
        answers=tuple(words.gettext(drain_words.HEADINGS[one], whom=whom) for one in Outcome),
        ph_h=words.number(MEASURES[PH].fresh_h),
        laboratory_days=words.number(MEASURES[MASS_PER_VOLUME].fresh_h / HOURS_A_DAY),
        bases=tuple(say.choice(words, "neutraliser", one) for one in neutralising.BASES),
        doses=tuple(_doses(words)),
        check_days=words.number(CHECK_EVERY_DAYS),
        soon_days=words.number(jars.SOON_DAYS),
        records=tuple(records_of(one) for one in retention.CHOICES),
        **_bounds(words),
        **_walk(words),
    )


def _bounds(words: Words) -> dict[str, str]:
    metal = waste_bounds.colour_metal(
        content_mg_per_ml=COLOUR_MG_PER_ML, most_ml=COLOUR_ML, least_l=COLOUR_IN_L
    )
    oxygen = GUM_G_PER_L * value("carrageenan_oxygen_g_per_g")
    return {
        "colour": words.number(COLOUR_ML),
        "colour_holds": words.number(COLOUR_MG_PER_ML),
        "colour_in": words.number(COLOUR_IN_L),
        "metal": words.number(metal.most_mg_per_l),
        "gum": words.number(GUM_G_PER_L),
        "gum_oxygen": words.number(oxygen, 1),
    }


def _doses(words: Words) -> Iterator[tuple[str, ...]]:
    """Give the grams of each base for a gram of each salt that may be neutralised."""
    bases = neutralising.BASES
    for salt in kinds.SALTS:
        if any(neutralising.stop(salt=salt, base=one, vessel_open=True) for one in bases):
            continue
        grams = (
            alum.substance_g_per_g(salt=salt, substance=one.substance) for one in bases.values()
        )
        name = say.choice(words, "salt", salt)
        yield name, *(words.number(one, GRAMS_DIGITS) for one in grams)


def _walk(words: Words) -> dict[str, str]:
    bucket_l = neutralising.least_bucket_l(volume_l=BATH_L)
    walk = neutralising.walk(
        salt_g=BATH_SALT_G, salt=BATH_SALT, base=BATH_BASE, volume_l=BATH_L, bucket_l=bucket_l
    )
    flakes = neutralising.floc(salt_g=BATH_SALT_G, salt=BATH_SALT)
    left = neutralising.sulfate_left_mg_per_l(
        salt_g=BATH_SALT_G, salt=BATH_SALT, volume_l=BATH_L
    )
    parts = walk.parts
    return {
        "bath": amounts.volume(words, BATH_L * ML_PER_L, 1),
        "salt": amounts.weight(words, BATH_SALT_G),
        "dose": amounts.weight(words, parts.dose_g),
        "bucket": amounts.volume(words, bucket_l * ML_PER_L, 0),
        "cup": amounts.volume(words, walk.kept_cup_l * ML_PER_L, 1),
        "first": amounts.weight(words, parts.first_g),
        "rest": ", ".join(_each(words, parts.rest_g)),
        "cup_share": amounts.weight(words, parts.cup_share_g),
        "gas": amounts.volume(words, walk.gas_l * ML_PER_L, 0),
        "floc": _floc(words, flakes.strained_g),
        "sulfate": words.number(left / 1000, 1),
        "off_low": words.number(OFF_LOW_PH, 1),
        "off_high": words.number(OFF_HIGH_PH, 1),
    }


def _each(words: Words, weights_g: Sequence[float]) -> Iterator[str]:
    """Give weights in one unit, which stands behind the last."""
    *others, last = weights_g
    yield from (amounts.weight_figure(words, one, by_g=last) for one in others)
    yield amounts.weight(words, last)


def _floc(words: Words, weight_g: float) -> str:
    if words.us:
        return amounts.weight(words, weight_g)
    return words.gettext("%(kilograms)s kg", kilograms=words.number(weight_g / G_PER_KG, 1))
