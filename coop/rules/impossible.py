"""
What cannot be: two baths in one tub or of one name, more out of a lot than came in, a lot of
two supplies, a bath stronger than its salt dissolves.

Nothing of it is refused: a bath that was mixed where nobody could look it up has been mixed.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final

from coop.ids import EntryId, Subject
from coop.ledger.table import entry_of
from coop.rules.limits import TARGET_MAX_G_PER_L
from coop.science import alum, water
from coop.science.defaults import value

TUB_HOLDS_TWO: Final = "tub-holds-two"
NAMES_ALIKE: Final = "names-alike"
STRONGER_THAN_CAN_BE: Final = "stronger-than-can-be"
LOT_BELOW_ZERO: Final = "lot-below-zero"
LOT_OF_TWO: Final = "lot-of-two-supplies"
CODES: Final = frozenset(
    {TUB_HOLDS_TWO, NAMES_ALIKE, STRONGER_THAN_CAN_BE, LOT_BELOW_ZERO, LOT_OF_TWO}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenBath:
    """
    A bath that is not finished; nineteen in twenty like it are over `low_g_per_l`.

    One that is not alum has no salt and no strength.
    """

    id: Subject
    name: str
    vessel: Subject
    mixed_at: datetime
    salt: str = ""
    low_g_per_l: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLeft:
    """
    What came in of a lot, what is left, and how far that may be off, in one unit.

    `own` says that it is of the lot's own supply, not of another put to it.
    """

    id: Subject
    came_in: int
    left: int
    doubt: int
    own: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Impossible:
    """
    What cannot be.

    Attributes:
        entry: The later mix, or the lot's receiving.
        other: The earlier one of two baths, else empty.
    """

    subject: Subject
    code: str
    entry: EntryId
    other: str = ""


def impossible_baths(baths: Iterable[OpenBath]) -> Iterator[Impossible]:
    """Give what cannot be about the open baths."""
    in_turn = sorted(baths, key=lambda one: (one.mixed_at, one.id))
    yield from _pairs(in_turn, TUB_HOLDS_TWO, lambda one: one.vessel)
    yield from _pairs(in_turn, NAMES_ALIKE, lambda one: read_alike(one.name))
    for one in in_turn:
        if one.salt and one.low_g_per_l > strongest_g_per_l(salt=one.salt):
            yield Impossible(subject=one.id, code=STRONGER_THAN_CAN_BE, entry=entry_of(one.id))


def _pairs(
    in_turn: Iterable[OpenBath], code: str, same: Callable[[OpenBath], str]
) -> Iterator[Impossible]:
    together: dict[str, list[OpenBath]] = defaultdict(list)
    for one in in_turn:
        together[same(one)].append(one)
    for some in together.values():
        for earlier, later in pairwise(some):
            yield Impossible(
                subject=later.id, code=code, entry=entry_of(later.id), other=earlier.id
            )


def read_alike(name: str) -> str:
    """
    Return what names that are read alike have in common.

    >>> read_alike(" r-a1 ") == read_alike("R-A1")
    True
    """
    return " ".join(name.casefold().split())


def strongest_g_per_l(*, salt: str) -> float:
    """
    Return the strength over which a bath is not believed.

    Args:
        salt: Which salt [one of alum.SALTS].

    Returns:
        What dissolves in water nobody warmed, at most what a house may aim at [g/L of water
        put in]. ValueError for an unknown salt.

    Valid for:
        Water at the default room_c; a warm bath holds more, which comes out as it cools.

    Source:
        alum.SOLUBILITY, the first table of the salt, and the water's density; the strongest
        aim TARGET_MAX_G_PER_L is our own choice, no source.

    Example:
        >>> round(strongest_g_per_l(salt="potash_alum"))
        114
        >>> strongest_g_per_l(salt="aluminium_sulfate_14")
        200.0
    """
    cold_c = value("room_c")
    dissolves = alum.solubility_g_per_kg_water(salt=salt, liquid_c=cold_c)
    return min(TARGET_MAX_G_PER_L, dissolves * water.density_kg_per_m3(water_c=cold_c) / 1000)


def impossible_lots(lots: Iterable[LotLeft]) -> Iterator[Impossible]:
    """
    Give the lots more was taken from than came in, and those that hold another supply too.

    One nobody counted in is left out.
    """
    for one in lots:
        if not one.own:
            yield Impossible(subject=one.id, code=LOT_OF_TWO, entry=EntryId(one.id))
        elif one.came_in and one.left < -one.doubt:
            yield Impossible(subject=one.id, code=LOT_BELOW_ZERO, entry=EntryId(one.id))
