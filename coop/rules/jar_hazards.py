"""
What a waste jar can do to a person, by what is in it: the hazards of all its parts together.

Of parts that are harmful by themselves the stricter class holds, as on a card; how thin it
is does not count, for nobody measured it. Waste that gives another hazard by a supplier's own
safety sheet carries the words that somebody stated.
"""

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

from coop.ledger.kinds import SALTS, SODAS
from coop.rules.hazards import (
    CARDS,
    CORROSIVE,
    HARMFUL,
    PICTOGRAMS,
    Card,
    Cell,
    Hazard,
    hazards,
    pictograms_of,
)
from coop.science.defaults import COMMON_PRACTICE

_ALUMS: Final = tuple(code for code in SALTS if code != "ammonium_alum")
_METALS: Final = ("cadmium", "cobalt", "chromium", "lead", "copper", "zinc")

CARDS_OF_SUBSTANCE: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "alum": _ALUMS,
        "ammonium_alum": ("ammonium_alum",),
        "ammonia": ("ammonia",),
        "bleach": ("bleach",),
        "soda": tuple(f"soda_{form}" for form in SODAS),
        "lime": ("lime",),
        "sulfide_pigment": ("colour_cadmium", "colour_ultramarine"),
    }
)
"""The cards of a substance; of several that it may be all count."""

CARDS_OF_METALS: Final = tuple(f"colour_{metal}" for metal in _METALS)
"""The cards of metal colours; which of them it was nobody said, so all count."""

PICTOGRAM_OF_TAG: Final[Mapping[str, str]] = MappingProxyType(
    {"corrosive": CORROSIVE, "irritant": HARMFUL}
)
"""The diamond of a stated hazard; the others have words alone."""


def jar_hazards(
    substances: Iterable[str], *, metal_pigments: str, salts: Iterable[str] = ()
) -> tuple[Hazard, ...]:
    """
    Return the hazards of substances that stand together, the strictest of each harm.

    Args:
        substances: Codes of `coop.ledger.kinds.SUBSTANCES`.
        metal_pigments: yes where somebody said that metal colours are in it.
        salts: Codes of `coop.ledger.kinds.SALTS`, where the salt of alum is known.

    >>> [one.code for one in jar_hazards(["lime"], metal_pigments="no")]
    ['H318', 'H315', 'H335']
    """
    codes = dict.fromkeys(_cards(substances, metal_pigments, tuple(salts)))
    classes = tuple(cell for code in codes for cell in CARDS[code].classes)
    none = Cell((), "trade", COMMON_PRACTICE)
    return hazards(
        Card(code="jar", what="jar", classes=classes, gear=(), first_aid=none, spills=none)
    )


def _cards(
    substances: Iterable[str], metal_pigments: str, salts: tuple[str, ...]
) -> Iterator[str]:
    for one in substances:
        if one == "alum" and salts:
            yield from (salt for salt in salts if salt in CARDS)
        else:
            yield from CARDS_OF_SUBSTANCE.get(one, ())
    if metal_pigments == "yes":
        yield from CARDS_OF_METALS


def diamonds(codes: Iterable[str], tags: Iterable[str]) -> tuple[str, ...]:
    """
    Return the pictograms of hazard codes and of stated hazards, each once.

    >>> diamonds(["H319"], ["corrosive"]), diamonds([], ["flammable"])
    (('corrosive', 'harmful'), ())
    """
    shown = {*pictograms_of(codes), *(PICTOGRAM_OF_TAG.get(tag, "") for tag in tags)}
    return tuple(one for one in PICTOGRAMS if one in shown)
