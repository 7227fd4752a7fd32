"""Propose what a session takes, of the supplies that the house has."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil
from typing import Final

from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, SupplyState
from coop.ledger.table import HOUSE
from coop.science.defaults import value
from coop.science.session_needs import session_needs

PAPER: Final = "paper"
ALUM: Final = "alum"
POWDER: Final = "carrageenan"
GLOVES: Final = "gloves"
GLOVES_OF_A_PAIR: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How many people come, on which format they work, and how the alum goes on."""

    head_count: int
    sheet_format: str
    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """So much of a supply: grams of what is weighed, full sheets, or pieces."""

    supply: Subject
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is proposed; `missing` names what the house has no supply of."""

    lines: tuple[Line, ...]
    missing: tuple[str, ...]


def propose(journal: Journal, asked: Asked) -> Plan:
    """
    Return what a session takes: paper, alum, powder for size, and gloves.

    Of several papers or salts that is taken of which most is on hand; of salts, the one of
    the house's strength before the others.
    """
    house: HouseState | None = journal.state("house", HOUSE)
    target = house.target_g_per_l if house else None
    takes = session_needs(
        head_count=asked.head_count,
        sheet_format=asked.sheet_format,
        method=asked.method,
        alum_g_per_l=value("target_g_per_l") if target is None else target,
    )
    quarters = takes.sheet_count * accounts.QUARTERS[asked.sheet_format]
    wanted = {
        PAPER: ceil(quarters / accounts.QUARTERS["full"]),
        ALUM: ceil(takes.alum_g),
        POWDER: ceil(takes.size_powder_g),
        GLOVES: GLOVES_OF_A_PAIR * takes.gloves_pair_count,
    }
    first = accounts.salt(house.target_salt) if house and house.target_salt else ""
    there = _chosen(journal, wanted, first)
    return Plan(
        lines=tuple(
            Line(supply=there[what], number=number)
            for what, number in wanted.items()
            if what in there
        ),
        missing=tuple(what for what in wanted if what not in there),
    )


def _chosen(journal: Journal, wanted: Iterable[str], first: str) -> dict[str, Subject]:
    """Return the supply of each kind to be taken."""
    held: Counter[str] = Counter()
    for (_, substance), amount in journal.holding("lot").items():
        held[substance] += amount
    supplies: tuple[SupplyState, ...] = journal.listed("supply")
    chosen: dict[str, Subject] = {}
    for what in wanted:
        of_kind = [one.id for one in supplies if one.what == what]
        if of_kind:
            chosen[what] = max(of_kind, key=lambda one: (one == first, held[one], one))
    return chosen
