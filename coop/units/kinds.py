"""Which gallon, cup, spoon and ounce is meant when nobody said."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from coop.units.table import UNITS

ASK: Final = "ask"
BY_WEIGHT: Final = "mass"
BY_VOLUME: Final = "fluid"
OUNCE: Final = "ounce"
FLUID_OUNCE: Final = "fl_oz"
PART: Final = "part"

QUESTIONS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "gallon": ("us", "imp"),
        "cup": ("us", "metric", "imp"),
        "spoon": ("us", "metric", "imp", "au"),
        "ounce": (BY_WEIGHT, BY_VOLUME),
        "parts": (BY_WEIGHT, BY_VOLUME),
    }
)
"""
What can be unsaid, with its kinds. Quart, pint and fluid ounce follow the gallon; parts, as in
"1:8", are of weight or of volume.
"""

_GALLON = MappingProxyType({"us": "us_gallon", "imp": "imp_gallon", "uk": "imp_gallon"})


def _of_gallon(name: str) -> Mapping[str, str]:
    return MappingProxyType({system: code[:-6] + name for system, code in _GALLON.items()})


FAMILIES: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "gallon": _GALLON,
        "quart": _of_gallon("quart"),
        "pint": _of_gallon("pint"),
        FLUID_OUNCE: _of_gallon("fl_oz"),
        "cup": MappingProxyType(
            {"us": "us_cup", "metric": "metric_cup", "imp": "imp_cup", "au": "metric_cup"}
        ),
        "tbsp": MappingProxyType(
            {"us": "us_tbsp", "metric": "metric_tbsp", "imp": "imp_tbsp", "au": "au_tbsp"}
        ),
        "tsp": MappingProxyType(
            {"us": "us_tsp", "metric": "metric_tsp", "imp": "imp_tsp", "au": "metric_tsp"}
        ),
    }
)
"""The unit of each shared name by system. No "uk" cup or spoon: old and new ones differ."""

_QUESTION_OF = MappingProxyType(
    dict.fromkeys(("gallon", "quart", "pint", FLUID_OUNCE), "gallon")
    | {"cup": "cup", "tbsp": "spoon", "tsp": "spoon"}
)

_SHARED = ("cup", "tbsp", "tsp")
SPOONS: Final = frozenset(
    {"tr_cup", *(unit for one in _SHARED for unit in FAMILIES[one].values())}
)
"""Every spoon and cup: what powder is measured in, level or heaped."""
HEAPABLE: Final = SPOONS | frozenset(_SHARED)
"""They and the names they share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinds:
    """What bare names mean; `ounce` and `parts` are asked every time unless settled."""

    gallon: Literal["us", "imp"]
    cup: Literal["us", "metric", "imp"]
    spoon: Literal["us", "metric", "imp", "au"]
    ounce: Literal["ask", "mass", "fluid"] = "ask"
    parts: Literal["ask", "mass", "fluid"] = "ask"

    def of(self, question: str) -> str:
        """Return the kind that answers one of the `QUESTIONS`."""
        return str(getattr(self, question))


@dataclass(frozen=True, slots=True)
class Name:
    """
    The name of a unit as said: its family, and its system ("" when nobody said).

    The system of a part is what it is a part of: weight or volume.
    """

    family: str
    system: str = ""

    @property
    def dimension(self) -> str:
        """The dimension; an ounce or a part that may be either is "mass or volume"."""
        if self.family in (OUNCE, PART):
            return "mass or volume"
        return "volume" if self.family in FAMILIES else UNITS[self.family].dimension

    @property
    def questions(self) -> tuple[str, ...]:
        """What must be known to pick the unit, beyond what was said."""
        if self.family == OUNCE:
            return (OUNCE,) if self.system else (OUNCE, "gallon")
        if self.family == PART:
            return () if self.system else ("parts",)
        unsaid = self.family in FAMILIES and not self.system
        return (_QUESTION_OF[self.family],) if unsaid else ()

    @property
    def options(self) -> tuple[str, ...]:
        """Every unit that the bare name may mean, the likeliest first."""
        if self.family == OUNCE:
            return ("oz", *Name(FLUID_OUNCE, self.system).options)
        if self.family not in FAMILIES:
            return (self.family,)
        units = FAMILIES[self.family]
        return (units[self.system],) if self.system else tuple(dict.fromkeys(units.values()))

    def unit(self, kinds: Kinds) -> str:
        """Return the unit's code; an ounce or part that is to be asked counts as weight."""
        if self.family == OUNCE:
            fluid = kinds.ounce == BY_VOLUME
            return Name(FLUID_OUNCE, self.system).unit(kinds) if fluid else "oz"
        if self.family == PART:
            return "ml" if (self.system or kinds.parts) == BY_VOLUME else "g"
        if self.family not in FAMILIES:
            return self.family
        return FAMILIES[self.family][self.system or kinds.of(_QUESTION_OF[self.family])]


def sister(unit: str, family: str) -> str:
    """
    Return the unit of another shared name in the same system, "" if there is none.

    >>> sister("us_tbsp", "tsp"), sister("metric_cup", "gallon")
    ('us_tsp', '')
    """
    system = unit.partition("_")[0]
    return FAMILIES[family].get(system, "")


def family_of(unit: str) -> str:
    """
    Return the shared name of a unit, "" if it has one of its own.

    >>> family_of("imp_cup"), family_of("g")
    ('cup', '')
    """
    return next((name for name, units in FAMILIES.items() if unit in units.values()), "")


def read_in(unit: str) -> tuple[str, str]:
    """
    Return the question that a unit answers, and how: ("", "") for one that answers none.

    >>> read_in("imp_quart"), read_in("au_tbsp"), read_in("l")
    (('gallon', 'imp'), ('spoon', 'au'), ('', ''))
    """
    question, system = _QUESTION_OF.get(family_of(unit), ""), unit.partition("_")[0]
    return (question, system) if system in QUESTIONS.get(question, ()) else ("", "")
