"""When a lot is to be counted again."""

from datetime import date, datetime, tzinfo

from coop.ledger.states import LotState, SupplyState
from coop.science.defaults import value


def count_due(
    lot: LotState,
    supply: SupplyState | None,
    *,
    today: date,
    zone: tzinfo,
    known_at: datetime | None = None,
) -> int | None:
    """
    Return for how many days a count has been due, 0 on the first; None while it is not due.

    Counted from the last count, or from the day the lot came in. Once a month, by two, unless
    its supply says otherwise: common practice, no source (`count_days` of
    `coop.science.defaults`). An unopened lot is counted like any other: a missing pack is the
    largest gap there is.

    Args:
        supply: What the lot is of; None where nobody described it.
        today: The day in `zone`.
        zone: The co-operative's own: its days count.
        known_at: When it was written down, where that is known.
    """
    days = supply.count_days if supply is not None else None
    every = int(value("count_days")) if days is None else days
    late = (today - seen_on(lot, zone=zone, known_at=known_at)).days - every
    return late if late >= 0 else None


def seen_on(lot: LotState, *, zone: tzinfo, known_at: datetime | None = None) -> date:
    """
    Return the day on which somebody last saw how much of a lot is there, in `zone`.

    That is its last count, else the day it came in; what came long before it was written
    down, as an opening stock did, was looked at when it was written down.
    """
    came = max(lot.received_at, known_at) if known_at else lot.received_at
    last = lot.counts[-1].at if lot.counts else came
    return last.astimezone(zone).date()
