"""Until when a lot is good: by its label, by its age sealed, by its age once opened."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from typing import Final

from coop.ledger.states import LotState, SupplyState
from coop.rules.storage import keeps_days

LABEL: Final = "label"
SEALED: Final = "sealed"
OPENED: Final = "opened"
OPEN_PACK: Final = "open_pack"
BY: Final = (LABEL, SEALED, OPENED, OPEN_PACK)
"""By what a day is found: what the label says, the days sealed, the days once opened, and of
one pack of several the days once opened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodUntil:
    """The last day on which a lot is good, and by what: one of `BY`."""

    day: date
    by: str

    def past(self, today: date) -> bool:
        """Say whether that day is over."""
        return today > self.day


def good_until(
    lot: LotState, supply: SupplyState | None = None, *, zone: tzinfo
) -> GoodUntil | None:
    """
    Return until when a lot is good; None where nothing is known to spoil it.

    Sealed, the label's day counts, else the supply's days from when it came in; once opened,
    the days from then as well, and the earlier of the two. Of several packs the others are
    still sealed: see `open_pack_until`. A figure of the lot comes before one of the supply,
    and that before `coop.rules.storage.keeps_days`.

    Args:
        supply: What the house says of the supply, if anything.
        zone: The co-operative's own: its days count.
    """
    found = [_sealed(lot, supply, zone)]
    if lot.pack_count == 1:
        found.append(_opened(lot, supply, OPENED, zone))
    return min((one for one in found if one), key=lambda one: one.day, default=None)


def open_pack_until(
    lot: LotState, supply: SupplyState | None = None, *, left: int, zone: tzinfo
) -> GoodUntil | None:
    """
    Return until when the open one of several packs is good, by the days since it was opened.

    None where that says nothing, and when the pack that was opened first is used up: which
    one is open then, and since when, nobody wrote.

    Args:
        left: What is left of the lot, in the unit of its rows.
    """
    if lot.pack_count == 1 or open_pack_left(lot, left) == 0:
        return None
    return _opened(lot, supply, OPEN_PACK, zone)


def open_pack_left(lot: LotState, left: int) -> int:
    """Return what is left of the pack that was opened first, as if the others were whole."""
    return max(0, left - (lot.pack_count - 1) * lot.pack)


def spoiled(
    lot: LotState,
    supply: SupplyState | None = None,
    *,
    left: int,
    today: date,
    zone: tzinfo,
) -> int:
    """Return how much of what is left is past its day, in the unit of the lot's rows."""
    until = good_until(lot, supply, zone=zone)
    if until is not None and until.past(today):
        return max(0, left)
    until = open_pack_until(lot, supply, left=left, zone=zone)
    return open_pack_left(lot, left) if until is not None and until.past(today) else 0


def _sealed(lot: LotState, supply: SupplyState | None, zone: tzinfo) -> GoodUntil | None:
    if lot.best_before is not None:
        return GoodUntil(day=lot.best_before, by=LABEL)
    said = supply.sealed_days if supply else None
    days = _days(said, _what(lot, supply), opened=False)
    return _from(lot.received_at, days, SEALED, zone)


def _opened(
    lot: LotState, supply: SupplyState | None, by: str, zone: tzinfo
) -> GoodUntil | None:
    said = lot.opened_days or (supply.opened_days if supply else None)
    return _from(lot.opened_at, _days(said, _what(lot, supply), opened=True), by, zone)


def _what(lot: LotState, supply: SupplyState | None) -> str:
    return supply.what if supply else lot.what


def _days(said: int | None, what: str, *, opened: bool) -> int | None:
    if said is not None or what == "supply":
        return said
    return keeps_days(what, opened=opened)


def _from(start: datetime | None, days: int | None, by: str, zone: tzinfo) -> GoodUntil | None:
    if start is None or days is None:
        return None
    return GoodUntil(day=start.astimezone(zone).date() + timedelta(days=days), by=by)
