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
CUT = "cut"
MADE = "made"
"""
What comes from nothing that is written down: floc, what was scraped together; and by which
something of a lot turns into litres or grams of waste.
"""
USED = "used"
GAP = "gap"
CLASS = "class"
"""A cause of a gap: a class used it; it stands in the place of the booked session."""
IN_USE = frozenset({"used", "class", "not_written_down", "spoiled", "sold"})
"""Causes of a gap by which the supply was used; by any other it was not."""


class Move(NamedTuple):
    """
    One row: both ends in it, so that it balances by construction.

    Attributes:
        amount: Whole micrograms of a salt or powder, microlitres of water or another
            liquid, quarters of a parent sheet of paper, or pieces; above zero.
        doubt: Half of the 90 % interval, in the same unit.
        week: ISO week in which it happened, '2025-W38'.
        at: When it happened.
        session: The booked session it was drawn for; empty for none.
    """

    entry: EntryId
    substance: str
    from_account: str
    to_account: str
    amount: int
    doubt: int
    week: str
    at: datetime
    session: str = ""


def row(
    *,
    entry: EntryId,
    at: datetime,
    substance: str,
    from_account: str,
    to_account: str,
    amount: int,
    doubt: int = 0,
    session: Subject | None = None,
) -> Move:
    """Return a row with the week it falls in."""
    return Move(
        entry=entry,
        substance=substance,
        from_account=from_account,
        to_account=to_account,
        amount=amount,
        doubt=doubt,
        week=week(at),
        at=at,
        session=session or "",
    )


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


def other(subject: Subject | None) -> str:
    """Return the name of a supply that is no salt, powder or paper."""
    return f"supply:{subject or ''}"


def waste(what: str) -> str:
    """Return the substance name of a waste that was weighed."""
    return f"waste:{what}"


def drain(studio: Subject, outlet: str, waste: str) -> str:
    """Return the account of what went out of a studio by an outlet, a waste for itself."""
    return f"drain:{studio}:{outlet}:{waste}"


def collected(studio: Subject) -> str:
    """Return the account of what was taken away from a studio in jars."""
    return f"collected:{studio}"


def spill(studio: Subject) -> str:
    """Return the account of what went astray in a studio."""
    return f"spill:{studio}"


def cause(code: str) -> str:
    """
    Return the account on the other end when a lot is put right.

    >>> cause("class"), cause("lost")
    ('used:class', 'gap:lost')
    """
    return f"{USED if code in IN_USE else GAP}:{code}"


def is_use(move: Move) -> bool:
    """Say whether a row uses something of a lot: not moved, lost or miscounted."""
    taker = move.to_account.partition(":")[0]
    return move.from_account.startswith("lot:") and taker not in ("lot", GAP)


def session_of(move: Move) -> str:
    """Return the booked session a row was drawn for, `CLASS` where a count told of a class."""
    return CLASS if move.to_account == cause(CLASS) else move.session


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
