"""Propose what a session takes, of the supplies that the house has."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from typing import Final

from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, SupplyState
from coop.ledger.table import HOUSE
from coop.science.alum import same_strength_g
from coop.science.defaults import value
from coop.science.session_needs import session_needs

PAPER: Final = "paper"
ALUM: Final = "alum"
POWDER: Final = "carrageenan"
GLOVES: Final = "gloves"
GLOVES_OF_A_PAIR: Final = 2
DEFAULT_SALT: Final = "aluminium_sulfate_14"
"""Of which salt the default strength is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    How many people come, on which format they work, and how the alum goes on.

    `paper` is the supply of paper they lay, None while nobody chose one.
    """

    head_count: int
    sheet_format: str
    method: str
    paper: Subject | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """So much of a supply: grams of what is weighed, full sheets, or pieces."""

    supply: Subject
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """
    What is proposed; `missing` names what the house has no supply of.

    `unsure` names that of which there are several, and only a person can say which is meant.
    """

    lines: tuple[Line, ...]
    missing: tuple[str, ...]
    unsure: tuple[str, ...]


def propose(journal: Journal, asked: Asked) -> Plan:
    """
    Return what a session takes: paper, alum, powder for size, and gloves.

    The alum is the salt of the house's strength; where the house has none of it, the salt of
    which most is on hand, as much of it as holds the same aluminium. Paper is proposed when
    there is one, or when it was chosen; of several powders or gloves that is taken of which
    most is on hand.
    """
    house: HouseState | None = journal.state("house", HOUSE)
    target_g_per_l, salt = _strength(house)
    takes = session_needs(
        head_count=asked.head_count,
        sheet_format=asked.sheet_format,
        method=asked.method,
        alum_g_per_l=target_g_per_l,
    )
    supplies = _by_kind(journal)
    there = _chosen(journal, supplies, {PAPER: asked.paper, ALUM: accounts.salt(salt)})
    quarters = takes.sheet_count * accounts.QUARTERS[asked.sheet_format]
    wanted = {
        PAPER: ceil(quarters / accounts.QUARTERS["full"]),
        ALUM: ceil(_grams_of(there.get(ALUM), takes.alum_g, salt)),
        POWDER: ceil(takes.size_powder_g),
        GLOVES: GLOVES_OF_A_PAIR * takes.gloves_pair_count,
    }
    return Plan(
        lines=tuple(
            Line(supply=there[what].id, number=number)
            for what, number in wanted.items()
            if what in there
        ),
        missing=tuple(what for what in wanted if what not in supplies),
        unsure=tuple(what for what in wanted if what in supplies and what not in there),
    )


def _strength(house: HouseState | None) -> tuple[float, str]:
    """Return how strong the house mixes [g/L], and of which salt."""
    if house is None or house.target_g_per_l is None or house.target_salt is None:
        return value("target_g_per_l"), DEFAULT_SALT
    return house.target_g_per_l, house.target_salt


def _by_kind(journal: Journal) -> Mapping[str, list[SupplyState]]:
    """Return the supplies that the house has of each kind, none empty."""
    found: dict[str, list[SupplyState]] = defaultdict(list)
    for one in journal.listed("supply"):
        found[one.what].append(one)
    return found


def _chosen(
    journal: Journal,
    supplies: Mapping[str, list[SupplyState]],
    firsts: Mapping[str, str | None],
) -> dict[str, SupplyState]:
    """Return the supply of each kind to be taken; of several papers only the first choice."""
    held: Counter[str] = Counter()
    for (_, substance), amount in journal.holding("lot").items():
        held[substance] += amount
    chosen: dict[str, SupplyState] = {}
    for what, several in supplies.items():
        first = firsts.get(what)
        best = max(several, key=lambda one: (one.id == first, held[one.id], one.id))
        if what != PAPER or len(several) == 1 or best.id == first:
            chosen[what] = best
    return chosen


def _grams_of(alum: SupplyState | None, weight_g: float, salt: str) -> float:
    """Return how much of the salt of a supply holds the aluminium of so much of another."""
    if alum is None or alum.salt is None:
        return weight_g
    return same_strength_g(weight_g=weight_g, salt=salt, other_salt=alum.salt)
