"""Until when a lot is good: by its label, by its age sealed, by its age once opened."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from coop.ledger.states import LotState, SupplyState
from coop.rules.storage import keeps_days

LABEL: Final = "label"
SEALED: Final = "sealed"
OPENED: Final = "opened"
BY: Final = (LABEL, SEALED, OPENED)
"""By what a day is found: what the label says, the days sealed, the days once opened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodUntil:
    """The last day on which a lot is good, and by what: one of `BY`."""

    day: date
    by: str

    def past(self, today: date) -> bool:
        """Say whether that day is over."""
        return today > self.day


def good_until(lot: LotState, supply: SupplyState | None = None) -> GoodUntil | None:
    """
    Return until when a lot is good; None where nothing is known to spoil it.

    Sealed, the label's day counts, else the supply's days from when it came in; once opened,
    the days from then as well, and the earlier of the two. A figure of the lot comes before
    one of the supply, and that before `coop.rules.storage.keeps_days`.

    Args:
        supply: What the house says of the supply, if anything.
    """
    what = supply.what if supply else lot.what
    found = [one for one in (_sealed(lot, supply, what), _opened(lot, supply, what)) if one]
    return min(found, key=lambda one: one.day, default=None)


def _sealed(lot: LotState, supply: SupplyState | None, what: str) -> GoodUntil | None:
    if lot.best_before is not None:
        return GoodUntil(day=lot.best_before, by=LABEL)
    said = supply.sealed_days if supply else None
    return _from(lot.received_at, _days(said, what, opened=False), SEALED)


def _opened(lot: LotState, supply: SupplyState | None, what: str) -> GoodUntil | None:
    said = lot.opened_days or (supply.opened_days if supply else None)
    return _from(lot.opened_at, _days(said, what, opened=True), OPENED)


def _days(said: int | None, what: str, *, opened: bool) -> int | None:
    if said is not None or what == "supply":
        return said
    return keeps_days(what, opened=opened)


def _from(start: datetime | None, days: int | None, by: str) -> GoodUntil | None:
    if start is None or days is None:
        return None
    return GoodUntil(day=start.date() + timedelta(days=days), by=by)
