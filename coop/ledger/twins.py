"""
Likely twins: the same thing written twice, by two people or by one on two devices.

Who does forty sheets in two lots of twenty writes the same twice with one hand: that is no
twin. Nobody is overruled: both count until a person strikes one out.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

from coop.ids import EntryId, MemberId, Subject
from coop.ledger import kinds
from coop.ledger.force import Finding, InForce
from coop.ledger.kinds import Content
from coop.units.quantity import LEVEL, Quantity

TWIN_WITHIN = timedelta(minutes=30)

RECENT_MAX = 32
"""Entries remembered, however many were written within that time; the oldest makes room."""


What = tuple[str | int | None, ...]


class Recent(NamedTuple):
    """
    What was done to a bath a short while ago.

    Attributes:
        device: Where it was typed; None from a browser that keeps nothing.
        what: What was done; alike for two who did the same.
    """

    entry: EntryId
    at: datetime
    by: MemberId
    device: Subject | None
    what: What


def looked_at(
    recent: tuple[Recent, ...], one: InForce
) -> tuple[tuple[Recent, ...], tuple[Finding, ...]]:
    """
    Return what is remembered after an entry, and whether that entry is likely a twin.

    Entries come in fold order. The finding is the later one's; its detail names the nearest
    earlier one that another hand wrote.
    """
    what = _what(one.content)
    if not what:
        return recent, ()
    done = Recent(one.id, one.at, one.author, one.original.entry.device, what)
    if not recent:
        return (done,), ()
    near = _near(recent, one.at)
    for before in reversed(near):
        if before.what == what and (before.by, before.device) != (done.by, done.device):
            odd = Finding(code="likely-twin", entry=one.id, detail=before.entry)
            return (*near, done)[-RECENT_MAX:], (odd,)
    return (*near, done)[-RECENT_MAX:], ()


def _near(recent: tuple[Recent, ...], at: datetime) -> tuple[Recent, ...]:
    since = at - TWIN_WITHIN
    for n, before in enumerate(recent):
        if before.at >= since:
            return recent[n:]
    return ()


def _what(said: Content) -> What:
    """
    Return what two entries have alike if they tell of one deed; empty if none is twice.

    Amounts are compared, not how they were typed: 3 L are 3000 mL. A stop, a finish or a look
    that was written twice changes nothing.
    """
    match said:
        case kinds.SheetsThrough():
            sheets = said.sheet_count, said.sheet_format, said.method
            return *sheets, said.bath, said.lot or said.paper, said.stack
        case kinds.BathToppedUp():
            parts = sorted(f"{part.lot} {_amount(part.amount)}" for part in said.salt)
            parts += sorted(f"{part.powder} {_amount(part.amount)}" for part in said.powder)
            return "water", _amount(said.water), *parts
        case kinds.ReadingTaken(instrument="look" | "smell" | "ph_strip" | "ph_meter"):
            return ()
        case kinds.ReadingTaken(instrument="screen" | "laboratory"):
            return ()
        case kinds.ReadingTaken():
            read = (_amount(one) for one in (said.depth, said.litres, said.temperature))
            numbers = (str(one) for one in (said.gravity, said.seconds, said.spread_mm))
            return said.instrument, *read, *numbers, said.outcome
        case _:
            return ()


def _amount(amount: Quantity | None) -> str:
    if amount is None:
        return ""
    heap = "" if amount.heap == LEVEL else amount.heap
    return f"{amount.base} {amount.dimension} {heap}"
