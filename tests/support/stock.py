"""What people say of the shelf, made short: entries for tests of lots, orders and sessions."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from coop.ids import Subject
from coop.ledger.accounts import account
from coop.ledger.entries import Entry
from coop.ledger.folding import Folded
from coop.ledger.ports import Admission, Journal
from coop.ledger.states import LotState
from tests.support.memory import MemoryJournal
from tests.support.sayings import AMINA, LEDGER, LONG_AGO, NODE, STUDIO, an_id, on, q, say

BARN, GLOVES, BLACK, SMALL_PAPER = (Subject(an_id(n)) for n in range(60, 64))
TUB, BOXES, BOTTLE, PART, CUT, COUNT, PUT_RIGHT = (Subject(an_id(n)) for n in range(64, 71))
LATER = on(20)


def shelf(entries: Iterable[Entry]) -> MemoryJournal:
    """Return a journal that has taken these in."""
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append(list(entries), Admission(at=on(29), by=AMINA))
    return made


def received(id: str = TUB, *, at: datetime = LONG_AGO, **body: Any) -> Entry:
    """Return a lot that came in: 1 kg of carrageenan, unless another thing is said."""
    usual: dict[str, Any] = {"studio": STUDIO, "what": "carrageenan", "name": "CG-1"}
    if "what" not in body:
        usual["weight"] = q(1, "kg")
    return say("lot.received", id, at=at, **(usual | body))


def moved(id: str, lot: str, *, at: datetime = LATER, studio: str = BARN, **body: Any) -> Entry:
    """Return that a lot was carried to the barn, whole unless an amount or count is said."""
    return say("lot.moved", id, at=at, lot=lot, studio=studio, **body)


def counted(id: str, lot: str, *, at: datetime = LATER, **body: Any) -> Entry:
    """Return what was seen of a lot."""
    return say("lot.counted", id, at=at, lot=lot, **body)


def adjusted(id: str, lot: str, *, at: datetime = LATER, **body: Any) -> Entry:
    """Return that a lot was put right: out of it, unless `way` says in."""
    return say("lot.adjusted", id, at=at, lot=lot, **({"way": "out", "cause": "lost"} | body))


def cut(id: str, lot: str, *, at: datetime = LATER, **body: Any) -> Entry:
    """Return that 25 parent sheets were cut to 100 sheets of the small paper."""
    usual = {"sheet_count": "25", "paper": SMALL_PAPER, "made_count": "100", "name": "cut"}
    return say("lot.cut", id, at=at, lot=lot, **(usual | body))


def small_paper(**body: Any) -> Entry:
    """Return sheets of 250 x 350 mm: four of them in a sheet of 500 x 700."""
    usual = {
        "name": "P-31 small", "length": q(350, "mm"), "width": q(250, "mm"),
        "chalk": "not_known",
    }  # fmt: skip
    return say("paper.described", SMALL_PAPER, at=LONG_AGO, **(usual | body))


def lot_of(journal: Journal, lot: str) -> LotState:
    """Return a lot that is there."""
    state: LotState = journal.state("lot", Subject(lot))
    return state


def fold_of(journal: Journal, lot: str) -> Folded:
    return journal.folded("lot", Subject(lot))


def left(journal: Journal, lot: str) -> int:
    """Return what is left of a lot, in the unit of its rows."""
    name = account("lot", Subject(lot))
    return sum(journal.held([name]).values())
