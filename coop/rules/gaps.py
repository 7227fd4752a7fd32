"""
What may lie behind the gap between what was written of a lot and what was counted.

Causes are offered with their figures, never taken: a person who looked says which it was.
Amounts are whole numbers in the unit of the ledger's rows: micrograms, microlitres, quarters of
a full sheet, or pieces.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import ClassVar, Final

from coop.ids import EntryId, Subject
from coop.ledger.accounts import QUARTERS, UG_PER_G
from coop.ledger.kinds import MEASURES
from coop.science.defaults import value
from coop.units.table import UNITS

WEIGHT, VOLUME, SHEETS, PIECES = MEASURES

OFFERED_MAX: Final = 3
"""So many counts of other studios, and so many twins, are offered for one gap."""

PACK_TYPED_FRACTION: Final = 0.01
"""A pack typed this near a usual size is of that size: 1 lb is typed as 454 g, or as 450."""

_ROWS_PER_COUNT: Final = {SHEETS: QUARTERS["full"], PIECES: 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What was written of a lot and what was seen; `doubt` is half of a 90 % interval."""

    measure: str
    expected: int
    seen: int
    doubt: int

    def __post_init__(self) -> None:
        assert self.measure in MEASURES, f"{self.measure} is no measure of a lot"
        assert self.seen >= 0, "nobody sees less than nothing"
        assert self.doubt >= 0, "a doubt is 0 or more"

    @property
    def difference(self) -> int:
        """Return how much more was seen than was written; under zero the lot is short."""
        return self.seen - self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """A gap, of which lot, where and when."""

    lot: Subject
    studio: Subject
    day: date
    gap: Gap


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """An entry that may be written twice, not judged yet, and what it drew from the lot."""

    entry: EntryId
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackSize:
    """All packs of the lot hold `likely` and not `typed`: 480 sheets in a ream, not 500."""

    code: ClassVar[str] = "pack_size"
    pack_count: int
    typed: int
    likely: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What is missing in one studio is over in another: it was carried and not written."""

    code: ClassVar[str] = "moved"
    other: Counted


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenTwice:
    """More is there than was written: one draw may stand twice."""

    code: ClassVar[str] = "written_twice"
    twin: Twin


@dataclass(frozen=True, slots=True, kw_only=True)
class NotWrittenDown:
    """So much was taken, or under zero came in, and nobody wrote it."""

    code: ClassVar[str] = "not_written_down"
    amount: int


Suggestion = PackSize | Moved | WrittenTwice | NotWrittenDown

CODES: Final = tuple(one.code for one in (PackSize, Moved, WrittenTwice, NotWrittenDown))
"""The order in which causes are offered."""


def within_noise(gap: Gap) -> bool:
    """
    Return whether a gap is counting noise, closed without a cause.

    Up to 2 % of what was expected, or 5 sheets or pieces, or the doubt of the count,
    whichever is the most. Common practice, no source: `count_noise_fraction` and
    `count_noise_count` of `coop.science.defaults`.

    >>> within_noise(Gap(measure="weight", expected=577, seen=566, doubt=0))
    True
    """
    return abs(gap.difference) <= noise_of(gap)


def noise_of(gap: Gap) -> float:
    """Return how far a count may be off, in the unit of the gap: see `within_noise`."""
    counts = value("count_noise_count") * _ROWS_PER_COUNT.get(gap.measure, 0)
    return max(abs(gap.expected) * value("count_noise_fraction"), counts, gap.doubt)


def suggestions(
    counted: Counted,
    *,
    pack: int,
    pack_count: int,
    others: Iterable[Counted],
    twins: Iterable[Twin],
) -> tuple[Suggestion, ...]:
    """
    Return what may lie behind a gap, the most telling first; nothing for counting noise.

    Args:
        counted: The gap to explain.
        pack: What one pack of the lot was typed to hold, above zero.
        pack_count: Packs of the lot, above zero.
        others: Last counts of lots of the same supply, wherever they are.
        twins: Open findings of an entry written twice that drew from this lot.
    """
    assert pack > 0, "a pack holds something"
    assert pack_count > 0, "a lot is of one pack or more"
    if within_noise(counted.gap):
        return ()
    found: list[Suggestion] = [*_pack_sizes(counted.gap, pack, pack_count)]
    found += _moved(counted, others)
    found += _written_twice(counted.gap, twins)
    return (*found, NotWrittenDown(amount=-counted.gap.difference))


def _pack_sizes(gap: Gap, pack: int, pack_count: int) -> Iterator[PackSize]:
    for sizes in _usual_packs(gap.measure):
        if not any(_same_pack(pack, size) for size in sizes):
            continue
        for size in sizes:
            explained = (size - pack) * pack_count
            if _alike(gap, explained):
                yield PackSize(pack_count=pack_count, typed=pack, likely=size)


def _usual_packs(measure: str) -> tuple[tuple[int, ...], ...]:
    """
    Return packs that are taken for one another.

    Reams of 500, 480 and 516 sheets, from memory; the pound of 453.59237 g (exact by the
    international yard and pound agreement of 1959) against half a kilogram, and their usual
    parts and multiples, common practice, no source.
    """
    if measure == SHEETS:
        reams = ("ream_sheets", "old_ream_sheets", "printers_ream_sheets")
        return (tuple(int(value(name)) * QUARTERS["full"] for name in reams),)
    if measure != WEIGHT:
        return ()
    pounds = Fraction(1, 2), Fraction(1), Fraction(2), Fraction(5), Fraction(10)
    pound_g, half_kilo_g = UNITS["lb"].factor, 500
    return tuple(
        (round(much * pound_g * UG_PER_G), round(much * half_kilo_g * UG_PER_G))
        for much in pounds
    )


def _same_pack(typed: int, size: int) -> bool:
    return abs(typed - size) <= size * PACK_TYPED_FRACTION


def _alike(gap: Gap, explained: int) -> bool:
    """Say whether an amount explains a gap: within its noise, and never far from its size."""
    apart = abs(gap.difference - explained)
    largest = max(abs(gap.difference), abs(explained))
    return apart <= min(noise_of(gap), largest * value("gap_alike_fraction"))


def _moved(counted: Counted, others: Iterable[Counted]) -> list[Moved]:
    """Return the mirrored gaps of other studios, the nearest in amount first."""
    within_days = value("moved_within_days")
    mirrored = [
        other
        for other in others
        if other.studio != counted.studio
        and other.gap.measure == counted.gap.measure
        and abs((other.day - counted.day).days) <= within_days
        and not within_noise(other.gap)
        and _alike(counted.gap, -other.gap.difference)
    ]
    left = counted.gap.difference
    mirrored.sort(key=lambda one: (abs(left + one.gap.difference), one.day, one.lot))
    return [Moved(other=one) for one in mirrored[:OFFERED_MAX]]


def _written_twice(gap: Gap, twins: Iterable[Twin]) -> list[WrittenTwice]:
    """Return the draws that would bring the lot back: only what is over can be one."""
    alike = [twin for twin in twins if _alike(gap, twin.amount)]
    alike.sort(key=lambda twin: (abs(gap.difference - twin.amount), twin.entry))
    return [WrittenTwice(twin=twin) for twin in alike[:OFFERED_MAX]]
