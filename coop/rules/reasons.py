"""
Reasons: a code, its numbers and where its limit comes from; the text is made elsewhere.

`REASONS` is the closed table of all codes. Its order is the order of the rules: the first
reason that leads to a word decides it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Final, Self

Value = int | float | str | datetime
"""What a reason may carry: a finite number, a code or name, a time with its zone."""

HOUSE: Final = "house limits"
RECIPE: Final = "recipe"
PAPER: Final = "paper"
VESSEL: Final = "vessel"
TEST: Final = "test"
PERSON: Final = "person"
ENTRIES: Final = "entries"
DEFAULTS: Final = "defaults"
SOURCES: Final = frozenset({HOUSE, RECIPE, PAPER, VESSEL, TEST, PERSON, ENTRIES, DEFAULTS})


class Word(StrEnum):
    """The answer to "may I use it?"."""

    GOOD = "good"
    LOOK_AGAIN = "look-again"
    DO_NOT_USE = "do-not-use"
    RESTING = "resting"
    FINISHED = "finished"

    @property
    def rank(self) -> int:
        """
        Return how far from use the word is [0 to 4]: good 0, finished 4.

        >>> Word.GOOD.rank < Word.LOOK_AGAIN.rank < Word.DO_NOT_USE.rank
        True
        """
        return tuple(Word).index(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    One line of the table: a code and the names of its numbers, in order.

    `word` is the word the code leads to, None for a note that changes no word. `sources`
    are the places its limit may come from; the first one holds if nothing else is said.
    """

    code: str
    names: tuple[str, ...]
    word: Word | None
    sources: tuple[str, ...]


def _row(code: str, word: Word | None, sources: tuple[str, ...], *names: str) -> Row:
    assert sources, f"{code} has no source"
    assert SOURCES.issuperset(sources), f"{code} has an unknown source"
    return Row(code=code, names=names, word=word, sources=sources)


def _strength(code: str, word: Word) -> Row:
    names = ("c_g_per_l", "line_g_per_l", "water_only_count")
    return _row(code, word, (HOUSE, RECIPE), *names)


def _warm(code: str, word: Word) -> Row:
    names = ("warm_days", "line_days", "age_days", "chilled_days")
    return _row(code, word, (HOUSE, RECIPE), *names)


def _spread(code: str, word: Word) -> Row:
    return _row(code, word, (DEFAULTS,), "spread_mm", "low_mm", "high_mm", "tested_at")


_AGE: Final = ("age_days", "line_days")
_STOP: Final = ("stopped_by", "stopped_at", "stop_reason", "poured_from", "poured_in_at")

_ROWS: Final = (
    _row("finished", Word.FINISHED, (PERSON,), "finished_at"),
    _row("none-left", Word.FINISHED, (ENTRIES,), "sheet_count", "binned_count"),
    _row("resting", Word.RESTING, (RECIPE, HOUSE), "rest_until"),
    _row("stopped", Word.DO_NOT_USE, (PERSON,), *_STOP),
    _row("strip-print-failed", Word.DO_NOT_USE, (TEST,), "printed_at"),
    _strength("under-do-not-use-line", Word.DO_NOT_USE),
    _row("size-past-cap", Word.DO_NOT_USE, (HOUSE, RECIPE), *_AGE),
    _row("drop-cloudy-thread", Word.DO_NOT_USE, (TEST,), "tested_at"),
    _spread("drop-spread-far-off", Word.DO_NOT_USE),
    _row("smells-sour", Word.DO_NOT_USE, (TEST,), "noticed_at"),
    _row("mould", Word.DO_NOT_USE, (TEST,), "noticed_at"),
    _warm("size-past-warm-days", Word.DO_NOT_USE),
    _row("long-past-its-days", Word.DO_NOT_USE, (HOUSE,), *_AGE),
    _row("stack-hard-stop", Word.DO_NOT_USE, (HOUSE,), *_AGE),
    _row("too-low", Word.DO_NOT_USE, (VESSEL,), "volume_l", "laying_l"),
    _strength("under-look-again-line", Word.LOOK_AGAIN),
    _row(
        "may-be-under-do-not-use-line",
        Word.LOOK_AGAIN,
        (HOUSE, RECIPE),
        "low_g_per_l",
        "line_g_per_l",
        "chance",
    ),
    _row(
        "reading-disagrees",
        Word.LOOK_AGAIN,
        (DEFAULTS,),
        "reading_count",
        "instrument",
        "read_at",
        "read",
        "read_low",
        "read_high",
        "reckoned",
        "off_sigma",
        "line_sigma",
    ),
    _row("water-only-top-ups", Word.LOOK_AGAIN, (HOUSE,), "water_only_count", "line_count"),
    _row("used-while-stopped", Word.LOOK_AGAIN, (PERSON,), "sheet_count"),
    _row("strip-print-soft", Word.LOOK_AGAIN, (TEST,), "printed_at"),
    _row(
        "strip-print-due", Word.LOOK_AGAIN, (HOUSE,), "days", "line_days", "since", "since_at"
    ),
    _warm("size-warm-days", Word.LOOK_AGAIN),
    _row("past-its-days", Word.LOOK_AGAIN, (HOUSE,), *_AGE),
    _row("drop-ragged", Word.LOOK_AGAIN, (TEST,), "tested_at"),
    _row("drop-blob", Word.LOOK_AGAIN, (TEST,), "tested_at"),
    _spread("drop-spread-off", Word.LOOK_AGAIN),
    _row("smells-sharp", Word.LOOK_AGAIN, (TEST,), "noticed_at"),
    _row("looks-odd", Word.LOOK_AGAIN, (TEST,), "look", "noticed_at"),
    _row(
        "temperature-off",
        Word.LOOK_AGAIN,
        (DEFAULTS,),
        "temperature_c",
        "low_c",
        "high_c",
        "read_at",
    ),
    _row("its-bath-was-stopped", Word.LOOK_AGAIN, (PERSON,), *_STOP),
    _row("stack-past-use-by", Word.LOOK_AGAIN, (HOUSE,), "kept", "use_by", *_AGE),
    _row("corner-print-sharp", None, (TEST,), "printed_at", "stopped_at"),
    _row("not-judged", None, (HOUSE,)),
    _row("strength-not-known", None, (ENTRIES,)),
    _row("under-paper-floor", None, (PAPER,), "paper", "c_g_per_l", "floor_g_per_l"),
    _row(
        "run-out-unlike-good-days",
        None,
        (TEST,),
        "run_out_s",
        "low_s",
        "high_s",
        "funnel",
        "tested_at",
    ),
    _row("stands-cold", None, (ENTRIES,)),
    _row("alum-carried-in", None, (ENTRIES,), "low_g", "high_g"),
    _row("kept-for", None, (PERSON,), "member", "session", "kept_until"),
)


def _by_code(rows: tuple[Row, ...]) -> Mapping[str, Row]:
    kept = {row.code: row for row in rows}
    assert len(kept) == len(rows), "a code stands twice"
    return MappingProxyType(kept)


REASONS: Final[Mapping[str, Row]] = _by_code(_ROWS)
"""Every code there is, in the order of the rules."""

_PLACE: Final[Mapping[str, int]] = MappingProxyType(
    {code: place for place, code in enumerate(REASONS)}
)


@dataclass(frozen=True, slots=True)
class Reason:
    """
    Why a word was given: code, (name, value) pairs in the table's order, source.

    A code, name or source that is not in `REASONS` is a programmer's mistake and fails.
    Reasons sort in the order of the rules.
    """

    code: str
    numbers: tuple[tuple[str, Value], ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        assert self.code in REASONS, f"no reason is called {self.code}"
        row = REASONS[self.code]
        assert tuple(name for name, _ in self.numbers) == row.names, (
            f"{self.code} carries {', '.join(row.names) or 'no numbers'}"
        )
        assert all(_is_plain(value) for _, value in self.numbers), f"{self.code}: odd value"
        if not self.source:
            object.__setattr__(self, "source", row.sources[0])
        assert self.source in row.sources, f"{self.code} does not come from {self.source}"

    @classmethod
    def of(cls, code: str, *, source: str = "", **numbers: Value) -> Self:
        """
        Return the reason with these numbers, in whatever order they are named.

        >>> weak = Reason.of(
        ...     "under-do-not-use-line", water_only_count=2, c_g_per_l=18.2, line_g_per_l=25.0
        ... )
        >>> weak.numbers
        (('c_g_per_l', 18.2), ('line_g_per_l', 25.0), ('water_only_count', 2))
        >>> weak.source
        'house limits'
        """
        assert code in REASONS, f"no reason is called {code}"
        names = REASONS[code].names
        assert set(numbers) == set(names), f"{code} carries {', '.join(names) or 'no numbers'}"
        return cls(code, tuple((name, numbers[name]) for name in names), source)

    @property
    def word(self) -> Word | None:
        """Return the word this reason leads to; None for a note."""
        return REASONS[self.code].word

    def value(self, name: str) -> Value:
        """Return one number by its name; another name raises KeyError."""
        return dict(self.numbers)[name]

    def as_json(self) -> dict[str, object]:
        """
        Return the reason as plain values; times as ISO text with their offset.

        >>> Reason.of("water-only-top-ups", water_only_count=2, line_count=2).as_json()
        {'code': 'water-only-top-ups', 'word': 'look-again',
         'numbers': {'water_only_count': 2, 'line_count': 2}, 'source': 'house limits'}
        """
        return {
            "code": self.code,
            "word": None if self.word is None else str(self.word),
            "numbers": {
                name: value.isoformat() if isinstance(value, datetime) else value
                for name, value in self.numbers
            },
            "source": self.source,
        }

    def __lt__(self, other: Self) -> bool:
        """Return whether this rule stands before the other's; numbers settle a tie."""
        if self.code != other.code:
            return _PLACE[self.code] < _PLACE[other.code]
        return (self.numbers, self.source) < (other.numbers, other.source)


def _is_plain(value: object) -> bool:
    if isinstance(value, datetime):
        return value.utcoffset() is not None
    if isinstance(value, float):
        return math.isfinite(value)
    return isinstance(value, int | str) and not isinstance(value, bool)
