"""Cards as instruction pages print them, with invented names, published through the ledger."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from coop.actions.write import Written
from tests.support.opened import Opened, quantity

SULFATE, POTASH = "aluminium_sulfate_14", "potash_alum"
ALUM: dict[str, Any] = {"salt": SULFATE}

CARDS: Mapping[str, dict[str, Any]] = MappingProxyType(
    {
        "old": {
            "name": "the old card",
            "dose": "8 tbsp (1/3 cup) per gallon",
            "amount": quantity(8, "us_tbsp"),
            "per": quantity(1, "us_gallon"),
            "target_g_per_l": "31.3",
            "source": "a card in the drawer; potash alum will not do, it says",
            "side": "mark_on_alumed_side",
            **ALUM,
        },
        "weighed": {
            "name": "by weight",
            "dose": "40 g/L",
            "amount": quantity(40, "g"),
            "per": quantity(1, "l"),
            "target_g_per_l": "40",
            **ALUM,
        },
        "potash": {
            "name": "pickling alum",
            "dose": "64 g/L",
            "amount": quantity(64, "g"),
            "per": quantity(1, "l"),
            "salt": POTASH,
            "source": "any alum will do, it says",
        },
        "leaflet": {
            "name": "cloth leaflet",
            "dose": "2 tsp per gallon",
            "amount": quantity(2, "us_tsp"),
            "per": quantity(1, "us_gallon"),
            "made_for": "fabric",
            "printed": "edition A",
            "dated": "2004",
            **ALUM,
        },
        "by_cloth": {
            "name": "cotton by weight",
            "dose": "15 % of the dry weight",
            "amount": quantity(15, "g"),
            "per": quantity(100, "g"),
            "made_for": "fabric",
            "salt": POTASH,
        },
        "clearing": {
            "name": "clear the rinse",
            "dose": "10 g per gallon",
            "amount": quantity(10, "g"),
            "per": quantity(1, "us_gallon"),
            "made_for": "rinse_water",
            **ALUM,
        },
        "concentrate": {
            "name": "thick stock",
            "dose": "1 oz (weight) per quart",
            "what": "size",
            "powder": "carrageenan",
            "amount": quantity(1, "oz"),
            "per": quantity(1, "us_quart"),
        },
        "size": {
            "name": "house size",
            "dose": "5 g/L",
            "what": "size",
            "powder": "carrageenan",
            "amount": quantity(5, "g"),
            "per": quantity(1, "l"),
            "rest_hours": "12",
            "cap_days": "10",
        },
        "softener": {
            "name": "soft water",
            "dose": "15 g per 0.95 L",
            "what": "softener",
            "powder": "softener",
            "amount": quantity(15, "g"),
            "per": quantity("0.95", "l"),
        },
        "paste": {
            "name": "wheat paste",
            "dose": "100 g/L",
            "what": "paste",
            "powder": "starch",
            "amount": quantity(100, "g"),
            "per": quantity(1, "l"),
        },
    }
)
"""
Doses: 8 tbsp (1/3 cup), 2 tsp and 4 tbsp / 60 g per gallon, 15 % of the dry
weight, 10 g per gallon, 1 oz per quart, 15 g per 0.95 L stand so on instruction pages and
leaflets for marbling; names, targets and sources are invented.
"""
EDITION_B: Mapping[str, Any] = MappingProxyType(
    {
        "dose": "60 g per gallon",
        "amount": quantity(60, "g"),
        "printed": "edition B",
        "dated": "2011",
    }
)
"""What a later edition of the cloth leaflet says of the same bath."""


def put_up(house: Opened, *names: str) -> dict[str, str]:
    """Publish cards by their names, all of them if none is said; return their recipes."""
    return {
        name: house.say("recipe.published", **CARDS[name]) for name in names or tuple(CARDS)
    }


def reprint(house: Opened, recipe: str, name: str, **changes: Any) -> str:
    """Publish another edition of a card a day later; return the edition."""
    house.later(days=1)
    state = house.state("recipe", recipe)
    body = CARDS[name] | changes | {"recipe": recipe, "supersedes": state.edition}
    outcome = house.try_say("recipe.published", "amina", **body)
    assert isinstance(outcome, Written), outcome
    return outcome.sealed.entry.id
