"""
Tables as files for a spreadsheet: RFC 4180, UTF-8 with a mark, and no cell that is a formula.

What people typed may begin like a formula; a spreadsheet would run it. Such a text gets an
apostrophe in front (OWASP, CSV Injection); numbers of our own are left as they are.
"""

import csv
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import StringIO
from typing import Final

from flask import Response

BYTE_ORDER_MARK: Final = "\ufeff"
BEGINS_A_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")

Cell = str | int | float | Decimal | date | datetime | None


def csv_answer(name: str, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Response:
    """
    Return a table as a file to be kept under a name.

    Args:
        name: Of letters, digits and hyphens, without `.csv`.
        header: One text a column.
        rows: As wide as the header; days and moments in ISO 8601, nothing for None.
    """
    return Response(
        BYTE_ORDER_MARK + csv_text(header, rows),
        mimetype="text/csv",
        headers={
            "Content-Disposition": f'attachment; filename="{name}.csv"',
            "Cache-Control": "no-store",
        },
    )


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    r"""
    Return a table as the text of a file.

    >>> csv_text(["lot", "left"], [["=1+1", -3], ["P-31", Decimal("0.50")]])
    "lot,left\r\n'=1+1,-3\r\nP-31,0.50\r\n"
    """
    text = StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([safe(cell) for cell in header])
    for row in rows:
        assert len(row) == len(header), "a row is as wide as its header"
        writer.writerow([safe(cell) for cell in row])
    return text.getvalue()


def safe(cell: Cell) -> str:
    """
    Return a cell that no spreadsheet runs.

    >>> safe("@sum"), safe("A-4"), safe(-4), safe(None)
    ("'@sum", 'A-4', '-4', '')
    """
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(BEGINS_A_FORMULA) else cell
    if isinstance(cell, date):
        return cell.isoformat()
    return "" if cell is None else str(cell)
