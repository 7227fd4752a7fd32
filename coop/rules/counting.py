"""When a lot is to be counted again."""

from datetime import date, tzinfo

from coop.ledger.states import LotState, SupplyState
from coop.science.defaults import value


def count_due(
    lot: LotState, supply: SupplyState | None, *, today: date, zone: tzinfo
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
    """
    days = supply.count_days if supply is not None else None
    every = int(value("count_days")) if days is None else days
    last = lot.counts[-1].at if lot.counts else lot.received_at
    late = (today - last.astimezone(zone).date()).days - every
    return late if late >= 0 else None
