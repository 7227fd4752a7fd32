"""
Which cautions go with which act: codes, in the order in which they matter.

Usual precautions of the trade, stricter class first: solid aluminium sulfate is classified
by some notifiers as causing serious eye damage (H318) and by others as an eye irritant; the
stricter of the two holds here, for every salt of alum. Local rules, the product's own safety
sheet and licensed advice come before all of them.
"""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final

from coop.ledger.kinds import POWDERS

WEIGHING = ("dust-mask", "gloves-and-goggles")
POWDER = ("powder-into-water",)
WATER = ("hand-hot-only", *POWDER)
FLOOR = ("wet-floor",)
SODA = "soda-hurts"
UNDER_16 = "session-under-16"
GROWS_HOT: Final = "dry-alum-grows-hot"
"""Anhydrous salt binds water, and warms it instead of cooling it: it may spit."""
ALWAYS = (
    "in-the-eye",
    "never-food-vessels",
    "never-bleach",
    "not-under-16",
    "local-rules-first",
)
RINSE = (*FLOOR, "never-food-vessels", "not-under-16", "local-rules-first")

CAUTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "mix": (*WEIGHING, *WATER, *ALWAYS),
        "top-up": (*WEIGHING, *WATER, *ALWAYS),
        "hot-start": (
            *WEIGHING,
            "scalding",
            "hot-vessel",
            "hot-into-cold",
            *POWDER,
            *FLOOR,
            *ALWAYS,
        ),
        "weigh-spoons": (*WEIGHING, *ALWAYS),
        "make-size": ("dust-mask", "blender", *POWDER, *FLOOR, *ALWAYS),
        "make-gall_water": ("gall-hurts", *FLOOR, *ALWAYS),
        "make-rinse": RINSE,
        "make-paste": ("dust-mask", "scalding", *FLOOR, *ALWAYS),
        "make-softener": ("dust-mask", SODA, *POWDER, *FLOOR, *ALWAYS),
        "pour": ("gloves-and-goggles", "plastic-jugs", *FLOOR, *ALWAYS),
        "pour-water": RINSE,
        "pour-gall_water": ("gall-hurts", *FLOOR, *ALWAYS),
        "pour-softener": (SODA, *FLOOR, *ALWAYS),
        "sheets": ("gloves", *FLOOR, "in-the-eye", "not-under-16", "local-rules-first"),
        "test": ("gloves", "no-sniffing", "in-the-eye", "local-rules-first"),
        "test-liquid": ("read-the-tag", *FLOOR, "local-rules-first"),
        "take-in-base": ("dust-mask", "burns", *ALWAYS),
        "take-in-gall": ("gall-hurts", *ALWAYS),
        "take-in-fumes": ("burns", "fumes", *ALWAYS),
        "take-in-dust": ("dust-mask", *ALWAYS),
        "jug": (
            "no-sniffing",
            "nobody-knows-it",
            "in-the-eye",
            "ask-the-drain-rules",
            "never-bleach",
            "local-rules-first",
        ),
        "waste-jar": (
            "no-sniffing",
            "gloves-and-goggles",
            "ammonium-alum-with-a-base",
            "sulfides-and-metals",
            *FLOOR,
            *ALWAYS,
        ),
        UNDER_16: (
            "alum-the-day-before",
            "none-of-these-under-16",
            "alum-and-soda-elsewhere",
            "never-food-vessels",
            *FLOOR,
            "local-rules-first",
        ),
        "finish": (
            "ask-the-drain-rules",
            "gloves-and-goggles",
            "in-the-eye",
            "local-rules-first",
        ),
        "neutralise": (
            "ask-the-drain-rules",
            "ammonium-alum-with-a-base",
            "sulfides-and-metals",
            "burns",
            "dust-mask",
            "never-a-lid",
            "gas-sinks",
            *ALWAYS,
        ),
    }
)
"""The cautions of each act, by code."""

TAKING_IN: Mapping[str, str] = MappingProxyType(
    {
        "alum": "weigh-spoons",
        **dict.fromkeys((*POWDERS, "borax"), "take-in-dust"),
        "gall": "take-in-gall",
        **dict.fromkeys(("softener", "soda", "lime"), "take-in-base"),
        **dict.fromkeys(("ammonia", "bleach"), "take-in-fumes"),
    }
)
"""
The act whose cautions go with receiving, opening, weighing or counting a supply.

Of any other supply its own safety sheet says all.
"""


def of_act(act: str, salts: Collection[str | None] = ()) -> tuple[str, ...]:
    """
    Return the cautions of an act, by code.

    Args:
        act: A key of `CAUTIONS`.
        salts: The salts of alum that are in hand, as far as they are known.

    >>> of_act("test")[0], of_act("mix", ["aluminium_sulfate_anhydrous"])[0]
    ('gloves', 'dry-alum-grows-hot')
    """
    return (*of_salts(salts), *CAUTIONS[act])


def of_salts(salts: Collection[str | None]) -> tuple[str, ...]:
    """Return what else to mind with these salts of alum, by code."""
    return (GROWS_HOT,) if "aluminium_sulfate_anhydrous" in salts else ()
