"""
Which baths of the ledger are like a jug that nobody knows.

A likeness says whom to ask, never what is in the jug: only a person can say that. What each
kind of bath looks like through a jug's side is common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coop.science.defaults import value

LOOK_BACK_DAYS: Final = value("jug_look_back_days")
BY_EYE_FRACTION: Final = value("jug_by_eye_fraction")
RIGHT_FROM: Final = 0.5
"""A jug with less than so much of the most that could be left is a part of it, however little
is known of the least: a choice of this ledger."""
NOT_LOOKED: Final = "not_looked"

LOOKS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "alum": frozenset({"clear", "cloudy"}),
        "size": frozenset({"clear", "thick", "cloudy", "coloured"}),
        "gall_water": frozenset({"clear", "cloudy", "coloured"}),
        "rinse": frozenset({"clear", "cloudy", "coloured"}),
        "paste": frozenset({"thick", "cloudy"}),
        "softener": frozenset({"clear"}),
    }
)
"""What each kind of bath may look like from outside."""


class Litres(StrEnum):
    """How the litres of a jug go with what could be left of a bath."""

    RIGHT = "right"
    PART = "part"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True, kw_only=True)
class JugFacts:
    """A jug as it was found: litres by eye [L, None if nobody said], look, where, when."""

    studio: str
    volume_l: float | None
    look: str
    found_at: datetime

    def __post_init__(self) -> None:
        assert self.volume_l is None or self.volume_l > 0, "a jug holds something"
        assert self.found_at.utcoffset() is not None, "the time carries its zone"


@dataclass(frozen=True, slots=True, kw_only=True)
class BathFacts:
    """A bath: what could be left of it, least and most [L], and since when it is all gone."""

    what: str
    studio: str
    mixed_at: datetime
    finished_at: datetime | None
    low_l: float
    high_l: float
    gone_at: datetime | None = None

    def __post_init__(self) -> None:
        assert self.what in LOOKS, f"{self.what} is no bath"
        assert 0 <= self.low_l <= self.high_l, "litres are 0 or more, the least first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """How a bath is like a jug: its litres, its look, and days from the making [day]."""

    litres: Litres
    looked_at: bool
    age_days: float


def likeness(jug: JugFacts, bath: BathFacts) -> Likeness | None:
    """
    Return how a bath is like a jug, None where it is not.

    It must be of the same studio, made before the jug was found, open or finished not long
    ago, and not gone to the last litre by then; the jug must hold no more than could be left
    of it, and look like its kind.

    >>> from datetime import UTC
    >>> made = datetime(2025, 10, 6, 10, tzinfo=UTC)
    >>> jug = JugFacts(studio="R", volume_l=9, look="thick", found_at=made + timedelta(days=7))
    >>> size = BathFacts(what="size", studio="R", mixed_at=made, finished_at=None, low_l=8.5,
    ...     high_l=9.5)
    >>> likeness(jug, size)
    Likeness(litres=<Litres.RIGHT: 'right'>, looked_at=True, age_days=7.0)
    """
    made, last = bath.mixed_at, bath.finished_at
    if bath.studio != jug.studio:
        return None
    if not there_then(jug.found_at, mixed_at=made, finished_at=last):
        return None
    if bath.gone_at is not None and bath.gone_at <= jug.found_at:
        return None
    looked_at = jug.look != NOT_LOOKED
    if looked_at and jug.look not in LOOKS[bath.what]:
        return None
    litres = _litres(jug.volume_l, bath)
    if litres is None:
        return None
    age = jug.found_at - made
    return Likeness(litres=litres, looked_at=looked_at, age_days=age / timedelta(days=1))


def there_then(found_at: datetime, *, mixed_at: datetime, finished_at: datetime | None) -> bool:
    """Return whether a bath was made, and open or finished not long ago, at a moment."""
    if mixed_at > found_at:
        return False
    return finished_at is None or found_at - finished_at <= timedelta(days=LOOK_BACK_DAYS)


def _litres(volume_l: float | None, bath: BathFacts) -> Litres | None:
    """Compare litres; None where the jug holds more than could be left."""
    if volume_l is None:
        return Litres.NOT_KNOWN
    if volume_l * (1 - BY_EYE_FRACTION) > bath.high_l:
        return None
    least_l = max(bath.low_l, RIGHT_FROM * bath.high_l)
    return Litres.RIGHT if volume_l * (1 + BY_EYE_FRACTION) >= least_l else Litres.PART


def rank(found: Likeness) -> tuple[bool, float]:
    """Order likenesses: the right litres first, then the youngest."""
    return found.litres is not Litres.RIGHT, found.age_days
