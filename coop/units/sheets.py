"""Sheets of paper by the ream and the quire, which hold what their maker says."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from coop.units.names import ENGLISH, Language
from coop.units.number import take_number
from coop.units.stream import Stream

SHEETS_MAX: Final = 100_000
"""The most sheets that are read at once."""
PACK_SHEETS_MAX: Final = 1_000
"""The most sheets of one ream or quire."""


@dataclass(frozen=True, slots=True)
class Sheets:
    """`sheets` in all; of `packs` that hold `holds` each, None where they were counted."""

    typed: str
    sheets: int
    packs: Fraction | None = None
    holds: int | None = None


def read_sheets(typed: str, *, words: Language = ENGLISH) -> Sheets:
    """
    Read a count of sheets: "500", "12 sheets", "1 ream of 480", "2 quires of 24".

    Raises:
        NotUnderstood: "which-ream" where a ream or a quire does not say what it holds, with
            what they usually do; "not-whole" for a part of a sheet.

    >>> read_sheets("2 reams of 480").sheets
    960
    """
    stream = Stream(typed, words=words)
    n = take_number(stream, (Fraction(0), Fraction(SHEETS_MAX)))
    if n is None:
        raise stream.fault("number-missing") if stream.ended() else stream.unknown()
    usual = words.packs_of_sheets.get(stream.word())
    if usual is None:
        _take_sheet_word(stream)
        return _counted(stream, Sheets(stream.typed, _whole(stream, n)))
    stream.take("unit")
    holds = _take_holds(stream, usual)
    return _counted(stream, Sheets(stream.typed, _whole(stream, n * holds), n, holds))


def _take_sheet_word(stream: Stream) -> None:
    if stream.words.units.get((stream.word(),)) == "sheet":
        stream.take("unit")


def _take_holds(stream: Stream, usual: tuple[str, ...]) -> int:
    """Take "of 480 sheets", "(480)"."""
    end, start, bracket = stream.end(), stream.start(), stream.sees("(")
    if bracket:
        stream.take("bracket")
    elif stream.word() in stream.words.of | stream.words.each:
        stream.take("separator")
    holds = take_number(stream, (Fraction(1), Fraction(PACK_SHEETS_MAX)))
    if holds is None:
        raise stream.fault("which-ream", *usual, start=0, end=end)
    if not 1 <= holds <= PACK_SHEETS_MAX:
        limits = f"1 to {PACK_SHEETS_MAX}"
        raise stream.fault("out-of-range", limits, start=start, end=stream.end())
    _take_sheet_word(stream)
    if bracket and not stream.sees(")"):
        raise stream.fault("bracket", start=start)
    if bracket:
        stream.take("bracket")
    return _whole(stream, holds)


def _whole(stream: Stream, n: Fraction) -> int:
    if n.denominator != 1:
        raise stream.fault("not-whole", start=0, end=stream.end())
    if n > SHEETS_MAX:
        raise stream.fault("out-of-range", f"0 to {SHEETS_MAX}", start=0, end=stream.end())
    return int(n)


def _counted(stream: Stream, found: Sheets) -> Sheets:
    if not stream.ended():
        raise stream.unknown()
    return found
