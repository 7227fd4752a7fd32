"""
QR codes of addresses, as one path of an SVG.

The code itself is segno's (ISO/IEC 18004). A path in a template needs no style attribute, so
the content policy stays as it is, and one path prints without hair lines between its squares.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

import segno

QUIET_MODULES = 4
"""Empty modules around a code: ISO/IEC 18004 asks for four (from memory)."""
LEVEL = "m"
"""15 % of a code may be lost (ISO/IEC 18004, from memory): a tag hangs where it is wet."""


@dataclass(frozen=True, slots=True)
class QrCode:
    """A code: what it says, its side [modules, with the quiet zone], its dark squares."""

    text: str
    side: int
    path: str


def qr_code(text: str) -> QrCode:
    """
    Return the code of a text, at the highest level that its size has room for.

    Raises:
        segno.DataOverflowError: No code holds so much text.
    """
    made = segno.make_qr(text, error=LEVEL, boost_error=True)
    side = len(made.matrix) + 2 * QUIET_MODULES
    rows = enumerate(made.matrix, start=QUIET_MODULES)
    return QrCode(text, side, "".join(part for y, row in rows for part in _bars(row, y)))


def _bars(row: Iterable[int], y: int) -> Iterator[str]:
    """Give the dark bars of a row."""
    x = QUIET_MODULES
    for dark, group in groupby(row):
        length = sum(1 for _ in group)
        if dark:
            yield f"M{x} {y}h{length}v1h-{length}z"
        x += length
