"""
How a supply is stored, what must not stand beside it, and how long it keeps.

Usual precautions of the trade as codes. The product's own safety sheet and local rules come
before all of them. Alum stands for every salt of it, by the stricter of what is said of each.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from coop.science.defaults import (
    COMMON_PRACTICE,
    COMPUTED,
    FROM_MEMORY,
    PUBLISHED,
    value,
)

_ICSC_1191: Final = "ILO/WHO International Chemical Safety Card 1191 (2010), aluminium sulfate"
_TRADE: Final = "what studios do"
_SAFETY_SHEET: Final = "UN GHS, annex 4: section 7 of a safety data sheet, handling and storage"


@dataclass(frozen=True, slots=True)
class Rule:
    """One way to store a thing: a code, where it is from and its mark."""

    code: str
    source: str = _TRADE
    mark: str = COMMON_PRACTICE


def _by_the_card(code: str) -> Rule:
    return Rule(code, _ICSC_1191, PUBLISHED)


_DRY: Final = Rule("dry_closed")
_COOL: Final = Rule("cool")
_COOL_DARK: Final = Rule("cool_dark")
_CLEAN: Final = Rule("clean_and_dry")
_CHILDREN: Final = Rule("children_away")
_NO_ACID: Final = Rule(
    "away_from_acids", "40 CFR 264, appendix V, groups 1-A and 1-B: heat, spatter", PUBLISHED
)
_NO_BLEACH: Final = Rule(
    "never_with_bleach",
    "a training sheet on bleach, at second hand; for alum reasoned from its pH",
)
_SHEET: Final = Rule("its_sheet_first", _SAFETY_SHEET, FROM_MEMORY)
_POWDER: Final = (_DRY, _SHEET)
_SODA: Final = (_DRY, _NO_ACID, _CHILDREN)

STORAGE: Final[Mapping[str, tuple[Rule, ...]]] = MappingProxyType(
    {
        "alum": (
            _by_the_card("dry_closed"),
            Rule(
                "cool",
                "BP and USP, monograph of aluminium potassium sulfate: in warmth it loses "
                "water, and weight with it",
                PUBLISHED,
            ),
            _by_the_card("plastic_not_metal"),
            _by_the_card("away_from_bases"),
            _by_the_card("no_drain_nearby"),
            _NO_BLEACH,
            _CHILDREN,
            _SHEET,
        ),
        "paper": (Rule("flat_dry_air"),),
        "carrageenan": (_DRY, _COOL, _SHEET),
        "methylcellulose": _POWDER,
        "tragacanth": _POWDER,
        "gum": _POWDER,
        "gall": (_COOL_DARK, _SHEET),
        "starch": _POWDER,
        "softener": (*_SODA, _SHEET),
        "soda": (Rule("form_on_jar"), *_SODA, _SHEET),
        "lime": (*_SODA, _SHEET),
        "borax": (
            _DRY,
            _CHILDREN,
            Rule(
                "not_when_pregnant",
                "Regulation (EC) 1272/2008, annex VI: Repr. 1B, H360FD; report on its "
                "harmonised classification, 2018",
                PUBLISHED,
            ),
            _SHEET,
        ),
        "ammonia": (
            Rule("vented"),
            _COOL,
            _NO_BLEACH,
            _NO_ACID,
            _CHILDREN,
            _SHEET,
        ),
        "bleach": (Rule("bleach_alone"), Rule("vented"), _COOL_DARK, _CHILDREN, _SHEET),
        "colour": (Rule("no_frost"), _CHILDREN, _SHEET),
        "water": (Rule("covered"),),
        "gloves": (_COOL_DARK,),
        "masks": (_CLEAN,),
        "strips": (_DRY, _COOL_DARK),
        "filters": (_CLEAN,),
        "tool": (_CLEAN,),
        "other": (_SHEET,),
    }
)
"""Every supply the ledger knows, and how it is stored."""


@dataclass(frozen=True, slots=True)
class Apart:
    """Two supplies that must not stand together: why, as a code, its source and mark."""

    first: str
    second: str
    why: str
    source: str
    mark: str


_BLEACH_SHEET: Final = "a training sheet on bleach, at second hand"
_FOAM: Final = "0.076 L of gas from 1 g of potash alum and its sodium carbonate, at 20 C"

APART: Final = (
    Apart("ammonia", "bleach", "chloramine_gas", _BLEACH_SHEET, COMMON_PRACTICE),
    Apart(
        "alum",
        "bleach",
        "chlorine_gas",
        f"{_BLEACH_SHEET}; reasoned from its pH",
        COMMON_PRACTICE,
    ),
    Apart("alum", "lime", "acid_with_base", _ICSC_1191, PUBLISHED),
    Apart("alum", "ammonia", "acid_with_base", _ICSC_1191, PUBLISHED),
    Apart("alum", "soda", "acid_with_soda", _FOAM, COMPUTED),
    Apart("alum", "softener", "acid_with_soda", _FOAM, COMPUTED),
)
"""Pairs of supplies that must stand apart, what hurts most first."""

_KEEPS: Final[Mapping[str, tuple[str | None, str | None]]] = MappingProxyType(
    {
        "carrageenan": ("carrageenan_sealed_days", "carrageenan_opened_days"),
        "gall": ("gall_sealed_days", "gall_opened_days"),
        "colour": ("colour_sealed_days", "colour_opened_days"),
        "ammonia": ("ammonia_days", "ammonia_days"),
        "strips": (None, "strips_opened_days"),
    }
)


def storage_of(what: str) -> tuple[str, ...]:
    """
    Return how a supply is stored, as codes; `STORAGE` names the source of each.

    >>> storage_of("gall")
    ('cool_dark', 'its_sheet_first')
    """
    return tuple(rule.code for rule in STORAGE[what])


def kept_apart(whats: Iterable[str]) -> tuple[Apart, ...]:
    """
    Return which supplies of one studio must not stand together, what hurts most first.

    >>> [(one.first, one.second, one.why) for one in kept_apart(["soda", "paper", "alum"])]
    [('alum', 'soda', 'acid_with_soda')]
    """
    here = set(whats)
    assert here <= STORAGE.keys(), f"no supplies: {sorted(here - STORAGE.keys())}"
    return tuple(one for one in APART if {one.first, one.second} <= here)


def keeps_days(what: str, *, opened: bool) -> int | None:
    """
    Return how long a supply keeps [day], None where nothing is known to spoil it.

    Common practice, no source; a house's own figure comes first.

    >>> keeps_days("carrageenan", opened=False), keeps_days("alum", opened=True)
    (1460, None)
    """
    assert what in STORAGE, f"{what} is no supply"
    sealed_name, opened_name = _KEEPS.get(what, (None, None))
    name = opened_name if opened else sealed_name
    return None if name is None else int(value(name))
