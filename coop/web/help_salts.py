"""Worked examples of Help for other salts, cold stores, hard and hot water, by the sums."""

from dataclasses import dataclass
from math import ceil

from coop.science import alum, crystals, hard_water, hot_start, soda
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words

WEIGHED_G, SALT, OTHER_SALT = 100, "aluminium_sulfate_14", "potash_alum"
STRONG_G_PER_L, USUAL_G_PER_L, STORE_C = 125, 62.5, 10
MIXED_G_PER_L, ALKALINITY_MG_PER_L, SODA_G_PER_L, SODA = 30, 150, 2, "crystals"
START_L = 10
COLD_C, HOT_C, TARGET_C = 12, 58, 40


@dataclass(frozen=True, slots=True, kw_only=True)
class SaltSums:
    """A salt for another, a bath gone cold, mixed with hard water, and started hot; texts."""

    weighed: str
    salt: str
    other: str
    other_salt: str
    weaker: str
    strong: str
    store: str
    stays: str
    falls: str
    usual: str
    clear: str
    mixed: str
    alkalinity: str
    spent: str
    spent_part: str
    soda: str
    soda_name: str
    destroyed: str
    water: str
    target: str
    cold: str
    cold_c: str
    hot: str
    hot_c: str
    cools: str


def salt_sums(words: Words) -> SaltSums:
    """Take some alum through what the sums do."""
    return SaltSums(**_other(words), **_cold(words), **_hard(words), **_hot(words))


def _other(words: Words) -> dict[str, str]:
    other_g = alum.same_strength_g(weight_g=WEIGHED_G, salt=SALT, other_salt=OTHER_SALT)
    return {
        "weighed": amounts.weight(words, WEIGHED_G),
        "salt": say.choice(words, "salt", SALT),
        "other": amounts.weight(words, other_g),
        "other_salt": say.choice(words, "salt", OTHER_SALT),
        "weaker": words.number(100 * (1 - WEIGHED_G / other_g)),
    }


def _cold(words: Words) -> dict[str, str]:
    found = crystals.crystals(
        dose_g_per_l_water=STRONG_G_PER_L, salt=OTHER_SALT, store_c=STORE_C
    )
    clear_c = crystals.clear_down_to_c(dose_g_per_l_water=USUAL_G_PER_L, salt=OTHER_SALT)
    assert clear_c is not None, "a usual dose dissolves in a warm room"
    return {
        "strong": amounts.g_per_l(words, STRONG_G_PER_L),
        "store": amounts.warmth(words, STORE_C),
        "stays": amounts.g_per_l(words, found.dissolved_g_per_l),
        "falls": amounts.g_per_l(words, found.crystals_g_per_l),
        "usual": amounts.strength_as_said(words, USUAL_G_PER_L),
        "clear": amounts.warmth(words, ceil(clear_c)),
    }


def _hard(words: Words) -> dict[str, str]:
    spent = hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=ALKALINITY_MG_PER_L,
        strength_g_per_l=MIXED_G_PER_L,
        salt=OTHER_SALT,
    )
    gone = soda.destroyed_by_soda(
        soda_g_per_l=SODA_G_PER_L, base=SODA, strength_g_per_l=MIXED_G_PER_L, salt=OTHER_SALT
    )
    return {
        "mixed": amounts.g_per_l(words, MIXED_G_PER_L),
        "alkalinity": words.number(ALKALINITY_MG_PER_L),
        "spent": amounts.g_per_l(words, spent.salt_g_per_l, 1),
        "spent_part": words.number(100 * spent.fraction, 1),
        "soda": amounts.g_per_l(words, SODA_G_PER_L),
        "soda_name": say.choice(words, "soda", SODA),
        "destroyed": amounts.g_per_l(words, gone.salt_g_per_l, 1),
    }


def _hot(words: Words) -> dict[str, str]:
    start = hot_start.hot_start(total_l=START_L, cold_c=COLD_C, hot_c=HOT_C, target_c=TARGET_C)
    cools = hot_start.potash_alum_cools(dose_g_per_l_water=MIXED_G_PER_L)
    return {
        "water": amounts.volume(words, 1000 * START_L),
        "target": amounts.warmth(words, TARGET_C),
        "cold": amounts.volume(words, 1000 * start.cold_l),
        "cold_c": amounts.warmth(words, COLD_C),
        "hot": amounts.volume(words, 1000 * start.hot_l),
        "hot_c": amounts.warmth(words, HOT_C),
        "cools": amounts.warmer(words, (cools.least_k + cools.most_k) / 2, 1),
    }
