"""What people move: balanced rows between accounts, in whole numbers."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from functools import lru_cache
from typing import NamedTuple

from coop.ids import EntryId, Subject

UG_PER_G = 1_000_000
UL_PER_ML = 1_000
QUARTERS = {"full": 4, "half": 2, "quarter": 1}

SUPPLIER = "supplier"
TAP = "tap"
GOOD = "good"
SPOILED = "spoiled"
BINNED = "binned"
OWN_PAPER = "own-paper"
WATER = "water"


class Move(NamedTuple):
    """
    One row: both ends in it, so that it balances by construction.

    Attributes:
        amount: Whole micrograms of a salt, microlitres of water, or quarters of a parent
            sheet of paper, above zero.
        doubt: Half of the 90 % interval, in the same unit.
        week: ISO week in which it happened, '2025-W38'.
    """

    entry: EntryId
    substance: str
    from_account: str
    to_account: str
    amount: int
    doubt: int
    week: str


def account(sort: str, subject: Subject) -> str:
    """Return the account of a lot, bath or stack."""
    return f"{sort}:{subject}"


def salt(code: str) -> str:
    """Return the substance name of a salt of alum."""
    return f"salt:{code}"


def powder(what: str) -> str:
    """Return the substance name of what a bath other than alum is made of."""
    return f"powder:{what}"


def paper(subject: Subject | None) -> str:
    """Return the substance name of a paper; a member's own has no name here."""
    return f"paper:{subject}" if subject else OWN_PAPER


def week(at: datetime) -> str:
    """
    Return the ISO 8601 week of a moment.

    >>> week(datetime.fromisoformat("2025-09-17T18:00+02:00"))
    '2025-W38'
    """
    return _week_of(at.date())


@lru_cache(maxsize=1_024)
def _week_of(day: date) -> str:
    year, number, _ = day.isocalendar()
    return f"{year}-W{number:02d}"


def posted(*moves: Move) -> tuple[Move, ...]:
    """Return the rows without those that come to nothing in whole units."""
    return tuple(move for move in moves if move.amount > 0)


def balances(moves: Iterable[Move]) -> dict[tuple[str, str], int]:
    """Return what each (account, substance) holds; sums to zero over all accounts."""
    held: dict[tuple[str, str], int] = defaultdict(int)
    for move in moves:
        held[move.from_account, move.substance] -= move.amount
        held[move.to_account, move.substance] += move.amount
    return dict(held)
