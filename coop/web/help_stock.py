"""Worked examples of Help for the shelf and the order list, made with the sums themselves."""

from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import Final

from coop.ids import Subject
from coop.rules.orders import (
    LEARNED_FROM,
    SURE_FROM,
    Booking,
    SupplyFacts,
    cover_weeks,
    plan_order,
)
from coop.science.defaults import value
from coop.science.demand import USE_SMOOTHING, two_figures, weekly_use
from coop.science.session_needs import session_needs
from coop.web import amounts
from coop.web.i18n import Words

# A gum of which a class takes some; all in grams.
TODAY: Final = date(2025, 10, 1)
CLASS_DAY: Final = date(2025, 10, 4)
ON_HAND_G, FLOOR_G, PACK_G, CLASS_G = 577, 150, 454, 240
LEAD_DAYS, REVIEW_DAYS = 8, 3
WEEKS_G: Final = (134.5, 134.5, 170.0, 139.0, 85.0)
SELDOM_G: Final = (240.0, 0.0, 0.0, 0.0)
HEADS: Final = 12
SHEETS_OF_FULL: Final = 4
REAM_COUNT: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class StockSums:
    """A supply planned, counted and booked; all as texts."""

    on_hand: str
    used: str
    span_days: str
    per_week: str
    booked: str
    left: str
    day: str
    floor: str
    cover_use: str
    wanted: str
    packs: str
    pack: str
    covers_weeks: str
    weeks: str
    mean: str
    learned_from: str
    sure_from: str
    seldom: str
    seldom_weeks: str
    chance: str
    step: str
    grown: str
    faded: str
    faded_per_week: str
    noise: str
    close: str
    reams: str
    ream_short: str
    heads: str
    sheets: str
    full_sheets: str
    alum_ml: str
    alum: str
    size: str
    powder: str
    gloves: str


def stock_sums(words: Words) -> StockSums:
    """
    Take a gum through what the order list, a count and a class do.

    Sums that come out even with a pencil are in grams for everybody.
    """
    grams = amounts.metric(words)
    return StockSums(
        **_planned(grams), **_used(grams), **_seldom(grams), **_counted(grams), **_class(words)
    )


def _planned(words: Words) -> dict[str, str]:
    per_week = two_figures(number=weekly_use(uses=WEEKS_G).per_week)
    booking = Booking(
        day=CLASS_DAY, amount=CLASS_G, name="", head_count=HEADS, session=Subject("class")
    )
    facts = SupplyFacts(
        on_hand=ON_HAND_G,
        floor=FLOOR_G,
        per_week=per_week,
        lead_days=LEAD_DAYS,
        review_days=REVIEW_DAYS,
        pack=PACK_G,
        keeps_days=None,
        bookings=(booking,),
        on_the_way=(),
    )
    plan = plan_order(facts, today=TODAY)
    cover_g = round(per_week * value("order_cover_weeks"))
    return {
        "on_hand": amounts.weight(words, ON_HAND_G),
        "used": amounts.weight(words, plan.used_in_span),
        "span_days": words.number(LEAD_DAYS + REVIEW_DAYS),
        "per_week": amounts.weight(words, per_week),
        "booked": amounts.weight(words, CLASS_G),
        "left": amounts.weight(words, plan.left),
        "day": words.day(plan.covers_until),
        "floor": amounts.weight(words, FLOOR_G),
        "cover_use": amounts.weight(words, cover_g),
        "wanted": amounts.weight(words, FLOOR_G + cover_g - plan.left),
        "packs": words.number(plan.packs),
        "pack": amounts.weight(words, PACK_G),
        "covers_weeks": words.number(cover_weeks(facts, plan)),
    }


def _used(words: Words) -> dict[str, str]:
    return {
        "weeks": " + ".join(words.number(one, 1) for one in WEEKS_G),
        "mean": words.number(weekly_use(uses=WEEKS_G).per_week, 1),
        "learned_from": words.number(LEARNED_FROM),
        "sure_from": words.number(SURE_FROM),
    }


def _seldom(words: Words) -> dict[str, str]:
    """Say how the chance of a use grows in the week of the use, and fades in the others."""
    chance = 1 / len(SELDOM_G)
    grown = chance + USE_SMOOTHING * (1 - chance)
    per_week = two_figures(number=weekly_use(uses=SELDOM_G).per_week)
    return {
        "seldom": amounts.weight(words, SELDOM_G[0]),
        "seldom_weeks": words.number(len(SELDOM_G)),
        "chance": words.number(chance, 2),
        "step": words.number(USE_SMOOTHING * 100),
        "grown": words.number(grown, 3),
        "faded": words.number(grown * (1 - USE_SMOOTHING) ** (len(SELDOM_G) - 1), 3),
        "faded_per_week": amounts.weight(words, per_week),
    }


def _counted(words: Words) -> dict[str, str]:
    noise_g = ON_HAND_G * value("count_noise_fraction")
    short_count = REAM_COUNT * (value("ream_sheets") - value("old_ream_sheets"))
    return {
        "noise": amounts.weight(words, noise_g, 1),
        "close": amounts.weight(words, ceil(ON_HAND_G - noise_g)),
        "reams": words.number(REAM_COUNT),
        "ream_short": words.number(short_count),
    }


def _class(words: Words) -> dict[str, str]:
    takes = session_needs(head_count=HEADS, sheet_format="quarter", method="sponge")
    return {
        "heads": words.number(HEADS),
        "sheets": words.number(takes.sheet_count),
        "full_sheets": words.number(ceil(takes.sheet_count / SHEETS_OF_FULL)),
        "alum_ml": amounts.volume(words, takes.alum_l * 1_000),
        "alum": amounts.weight(words, ceil(takes.alum_g)),
        "size": amounts.volume(words, takes.size_l * 1_000),
        "powder": amounts.weight(words, takes.size_powder_g),
        "gloves": words.number(takes.gloves_pair_count),
    }
