"""
Sheets of tags: how paper is parted, what goes where, how big a name is written.

A sheet is halved, quartered or cut into eight, as ISO 216 parts it (A4 into A5, A6, A7); US
Letter (8.5 in by 11 in, ANSI/ASME Y14.1, from memory) is parted the same way. So the tags fit
paper that is cut or torn, and sheets of labels that are parted like that.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeVar

EDGE_MM: Final = 5.0
"""White around each frame: common practice, no source; most printers reach that far out."""
READ_AT_MM: Final = 2_000
CAP_MIN_MM: Final = READ_AT_MM / 250
"""Capitals of 1/250 of the distance can be read: common practice, no source."""
LINES_MAX: Final = 4

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Size:
    """A width and a height [mm]."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Layout:
    """
    How a sheet is parted.

    Attributes:
        fold: Along which side of its front a cell is folded: top or side; empty for none.
        name: The box that a bath's name is written into, on either paper.
        plain: The same where a tag without a back has the whole cell.
    """

    columns: int
    rows: int
    fold: str
    name: Size
    plain: Size

    @property
    def count(self) -> int:
        """Cells on a sheet."""
        return self.columns * self.rows


PAPERS: Final[Mapping[str, Size]] = MappingProxyType(
    {"a4": Size(210, 297), "letter": Size(215.9, 279.4)}
)
LAYOUTS: Final[Mapping[str, Layout]] = MappingProxyType(
    {
        "1": Layout(1, 1, "top", Size(112, 46), Size(156, 80)),
        "2": Layout(1, 2, "side", Size(72, 40), Size(156, 40)),
        "4": Layout(2, 2, "top", Size(54, 22), Size(78, 36)),
        "8": Layout(2, 4, "", Size(78, 20), Size(78, 20)),
    }
)
FOLDED: Final = tuple(code for code, layout in LAYOUTS.items() if layout.fold)
"""Layouts that are big enough for a tag with a back."""


def cell(paper: str, layout: str) -> Size:
    """Return what is cut out of a sheet for one tag."""
    sheet, parted = PAPERS[paper], LAYOUTS[layout]
    return Size(sheet.width_mm / parted.columns, sheet.height_mm / parted.rows)


def frame(paper: str, layout: str, *, folded: bool) -> Size:
    """Return the printed frame of one side of a tag."""
    whole, fold = cell(paper, layout), LAYOUTS[layout].fold if folded else ""
    return Size(
        whole.width_mm / (2 if fold == "side" else 1) - 2 * EDGE_MM,
        whole.height_mm / (2 if fold == "top" else 1) - 2 * EDGE_MM,
    )


def laid_out(tags: Sequence[T], per_sheet: int, start: int) -> tuple[tuple[T | None, ...], ...]:
    """
    Put tags into cells from cell `start` of the first sheet on, row by row.

    Cells before it were used before, those after the last tag stay empty. No tag, no sheet.

    >>> laid_out("abc", 2, 2)
    ((None, 'a'), ('b', 'c'))
    >>> laid_out("", 4, 3)
    ()
    """
    assert 1 <= start <= per_sheet
    if not tags:
        return ()
    cells: list[T | None] = [*[None] * (start - 1), *tags]
    cells += [None] * (-len(cells) % per_sheet)
    return tuple(
        tuple(cells[first : first + per_sheet]) for first in range(0, len(cells), per_sheet)
    )


# ---- a name, as big as its box lets it be

CAP_EM: Final = 0.716
"""Height of capitals in common sans-serif faces [em]: Liberation Sans (measured)."""
BASELINE_EM: Final = 0.74
LINE_EM: Final = 0.97
LINE_OF_CAPITALS_EM: Final = 0.78
_NARROW: Final = frozenset("iljtfrI.,:;'|!()[]/ -")
_UPRIGHT: Final = frozenset("0123456789-'/. ")
_WIDE: Final = frozenset("MWmw@%&")


@dataclass(frozen=True, slots=True)
class NameLine:
    """One line of a name: where it stands and how long it is [mm]."""

    text: str
    baseline_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class DrawnName:
    """A name in its box: letters of `size_mm`, capitals of `cap_mm`."""

    box: Size
    size_mm: float
    lines: tuple[NameLine, ...]

    @property
    def cap_mm(self) -> float:
        """Height of its capitals."""
        return self.size_mm * CAP_EM

    @property
    def reads_from_afar(self) -> bool:
        """Whether it can be read at two metres."""
        return self.cap_mm >= CAP_MIN_MM


def drawn_name(name: str, box: Size) -> DrawnName:
    """
    Write a name into a box, in one to four lines: as big as it goes.

    Words are broken only where the name could not be read at two metres otherwise.
    """
    whole = _biggest(name, box, in_words=False)
    if whole.reads_from_afar:
        return whole
    return max(whole, _biggest(name, box, in_words=True), key=_size_mm)


def _biggest(name: str, box: Size, *, in_words: bool) -> DrawnName:
    broken = _broken(name, in_words=in_words)
    return max((_drawn(lines, box) for lines in broken), key=_size_mm)


def _size_mm(drawn: DrawnName) -> float:
    return drawn.size_mm


def _drawn(lines: Sequence[str], box: Size) -> DrawnName:
    longest = max(map(_length_em, lines))
    high_em = LINE_EM * (len(lines) - 1) + _height_em(lines[-1])
    size = min(box.width_mm / longest, box.height_mm / high_em)
    placed = tuple(
        NameLine(
            text=line,
            baseline_mm=round((number * LINE_EM + BASELINE_EM) * size, 2),
            length_mm=round(_length_em(line) * size, 2),
        )
        for number, line in enumerate(lines)
    )
    return DrawnName(Size(box.width_mm, round(high_em * size, 2)), round(size, 2), placed)


def _height_em(line: str) -> float:
    """Return what a last line takes [em]: less where nothing hangs below it."""
    stands = all(sign in _UPRIGHT or (sign.isascii() and sign.isupper()) for sign in line)
    return LINE_OF_CAPITALS_EM if stands and "Q" not in line else LINE_EM


def _length_em(line: str) -> float:
    """Return about how long a line of bold letters is [em]; drawn it is made to be so."""
    return sum(map(_letter_em, line))


def _letter_em(letter: str) -> float:
    if letter in _NARROW:
        return 0.36
    if letter in _WIDE:
        return 0.88
    if ord(letter) >= 0x2E80:  # full-width scripts
        return 1.0
    return 0.72 if letter.isupper() else 0.6


def _broken(name: str, *, in_words: bool) -> Iterator[tuple[str, ...]]:
    """Give a name in one line and, broken near its halves, thirds, fourths, in more."""
    for count in range(1, LINES_MAX + 1):
        lines, rest = [], name
        for left in range(count, 1, -1):
            place = _break_near(rest, len(rest) / left, in_words=in_words)
            lines.append(rest[:place].strip())
            rest = rest[place:].strip()
        lines.append(rest)
        if all(lines):
            yield tuple(lines)


def _break_near(text: str, wanted: float, *, in_words: bool) -> int:
    """Return the place after a space or hyphen nearest to one; 0 for no such place."""
    if in_words:
        return round(wanted)
    places = [place + 1 for place, sign in enumerate(text[:-1]) if sign in " -"]
    return min(places, key=lambda place: abs(place - wanted), default=0)
