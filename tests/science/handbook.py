"""Reader of the printed tables in fixtures/handbook."""

import csv
from decimal import Decimal
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "fixtures" / "handbook"


def rows(table: str) -> list[dict[str, str]]:
    """Rows of a table as printed: text, so that its own precision is kept."""
    lines = (FOLDER / f"{table}.csv").read_text().splitlines()
    found = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert found, f"{table} has no rows"
    return found


def half_digit(printed: str) -> float:
    """Half the last printed digit, with a hair for binary fractions."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    return 0.5 * 10.0**exponent * (1 + 1e-6)


def as_printed(computed: float, printed: str, *, digits: float = 1) -> bool:
    """Whether a figure is the printed one to half its last digit, or `digits` such halves."""
    return abs(computed - float(printed)) <= digits * half_digit(printed)
