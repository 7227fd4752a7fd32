"""Count a lot: write what was seen, and the rest off where it is within counting noise."""

from collections.abc import Mapping
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from coop.actions.see_counts import GapLook, see_gap
from coop.actions.write import Draft, Outcome, Who, Written, write
from coop.ids import following
from coop.ledger import accounts
from coop.ledger.kinds import MASS_MIN_G, SPOON_MIN_ML, LotCounted
from coop.ledger.ports import Journal
from coop.ledger.states import LotState
from coop.units.number import wire
from coop.units.quantity import Quantity

NOISE = "counting_noise"
_MEASURED: Mapping[str, tuple[str, int]] = MappingProxyType(
    {"weight": ("g", accounts.UG_PER_G), "volume": ("ml", accounts.UL_PER_ML)}
)
_LEAST: Mapping[str, Fraction] = MappingProxyType(
    {
        "weight": Fraction(MASS_MIN_G) * accounts.UG_PER_G,
        "volume": Fraction(SPOON_MIN_ML) * accounts.UL_PER_ML,
    }
)
"""What is no more than this is not written off: no scale shows it."""
_HELD_BY: Mapping[str, str] = MappingProxyType(
    {
        "weight": "weight",
        "volume": "volume",
        "sheets": "sheet_count",
        "pieces": "piece_count",
    }
)
_HELD = frozenset(_HELD_BY.values())
"""In which field a receiving says what one pack holds."""


class NotBoth(Exception):
    """The count was written and the rest was not: whoever writes must undo the count."""


def count_lot(journal: Journal, who: Who, said: Draft, *, now: datetime) -> Outcome:
    """
    Write a count; within counting noise write the rest off with it.

    Raises:
        NotBoth: The rest could not be written off; the unit of work is to be undone.
    """
    outcome = write(journal, who, said, now=now)
    if not isinstance(outcome, Written) or outcome.already:
        return outcome
    counted = outcome.sealed.entry
    assert isinstance(counted.content, LotCounted)
    look = see_gap(journal, journal.state("lot", counted.content.lot))
    newest = look is not None and look.count.entry == counted.id
    if look is None or not newest or not look.in_noise or is_nothing(look):
        return outcome
    rest = Draft(
        id=following(counted.id),
        kind="lot.adjusted",
        body=put_right(look) | {"cause": NOISE},
    )
    if not isinstance(write(journal, who, rest, now=now), Written):
        raise NotBoth
    return outcome


def is_nothing(look: GapLook) -> bool:
    """Say whether a gap is too small to be written off."""
    return abs(look.gap.difference) <= _LEAST.get(look.lot.measure, 0)


def put_right(look: GapLook) -> dict[str, Any]:
    """Return the body, but for the cause, that brings a lot to what was counted."""
    more = look.gap.difference > 0
    return {
        "lot": str(look.lot.id),
        "way": "in" if more else "out",
        "counted": str(look.count.entry),
        **said_of(look.lot, abs(look.gap.difference)),
    }


def received_in(body: Mapping[str, Any], lot: LotState, pack: int) -> dict[str, Any]:
    """Return the body of a lot's receiving with another amount in each pack."""
    said = said_of(lot, pack)
    held = {name: value for name, value in body.items() if name not in _HELD}
    return held | {_HELD_BY[lot.measure]: said.get("amount", said.get("count"))}


def said_of(lot: LotState, amount: int) -> dict[str, Any]:
    """Return how an amount of a lot, in the unit of its rows, stands in a body."""
    measured = _MEASURED.get(lot.measure)
    if measured is not None:
        unit, per = measured
        return {"amount": Quantity("", Fraction(amount, per), unit).to_wire()}
    per_count = accounts.QUARTERS["full"] if lot.measure == "sheets" else 1
    return {"count": wire(Fraction(amount, per_count))}
