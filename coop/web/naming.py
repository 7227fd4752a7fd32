"""What a supply or a lot is called where it stands alone: far from the shelf, or in a list."""

import re

from coop.ledger.states import LotState, PaperState, SupplyState
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.stock import supply_name

UNSAID = frozenset({"supply", "other"})
"""Kinds of a supply that tell nobody what it is."""

_WORD = re.compile(r"\w{3,}")


def with_kind(words: Words, name: str, what: str) -> str:
    """
    Return a name with what it is of: 'G-3, gall'; alone where it says so: 'Gloves, August'.

    Args:
        what: One of `kinds.SUPPLIES`, or `supply` where nobody described it.
    """
    if what in UNSAID:
        return name
    kind = say.choice(words, "supply", what)
    if set(_WORD.findall(name.casefold())) & set(_WORD.findall(kind.casefold())):
        return name
    return words.gettext("%(name)s, %(what)s", name=name, what=kind)


def supply_told(words: Words, supply: SupplyState, paper: PaperState | None = None) -> str:
    """Return what a supply is called, with what it is: 'White, colour'."""
    name = supply_name(words, supply, paper)
    return name if supply.salt else with_kind(words, name, supply.what)


def lot_told(words: Words, lot: LotState, *, what: str, studio: str = "") -> str:
    """
    Return a lot's name, with what it is and where it stands: 'G-3, gall (Ropewalk)'.

    Args:
        what: What it is of, one of `kinds.SUPPLIES`; `supply` where nobody described it.
        studio: Where it stands; empty where there is only one.
    """
    name = with_kind(words, lot.name, what)
    return words.gettext("%(lot)s (%(studio)s)", lot=name, studio=studio) if studio else name
