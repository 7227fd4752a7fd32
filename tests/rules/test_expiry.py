"""Until when a lot is good, and by what."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import MemberId, Subject
from coop.ledger.states import LotState, SupplyState
from coop.rules.expiry import GoodUntil, good_until

CAME = datetime(2025, 9, 1, 9, 0, tzinfo=UTC)
LOT = LotState(
    id=Subject("lot"),
    studio=Subject("studio"),
    what="carrageenan",
    name="K-3",
    salt=None,
    paper=None,
    substance=Subject("powder:carrageenan"),
    measure="weight",
    supplier="",
    received_at=CAME,
    received_by=MemberId("member"),
    pack_count=1,
    pack=1,
    received=1,
)
HOUSE = SupplyState(
    id=Subject("powder:carrageenan"),
    what="carrageenan",
    salt=None,
    paper=None,
    measure="weight",
    sealed_days=100,
    opened_days=30,
)


def test_a_sealed_tub_keeps_as_long_as_such_a_powder_does():
    """Four years dry and sealed: common practice, no source (coop.science.defaults)."""
    assert good_until(LOT) == GoodUntil(day=date(2029, 8, 31), by="sealed")


def test_the_day_on_the_label_counts_before_any_rule():
    """Who made it knows it best."""
    lot = replace(LOT, best_before=date(2027, 1, 1))

    assert good_until(lot) == GoodUntil(day=date(2027, 1, 1), by="label")
    assert good_until(lot, HOUSE) == GoodUntil(day=date(2027, 1, 1), by="label")


def test_once_opened_the_days_from_then_count_too():
    """A year from opening: common practice, no source."""
    lot = replace(LOT, opened_at=CAME + timedelta(days=10))

    assert good_until(lot) == GoodUntil(day=date(2026, 9, 11), by="opened")


def test_what_is_opened_late_is_not_younger_for_it():
    """A label's day is not put off by opening the tub just before."""
    lot = replace(LOT, best_before=date(2025, 9, 20), opened_at=CAME + timedelta(days=18))

    assert good_until(lot) == GoodUntil(day=date(2025, 9, 20), by="label")


def test_the_house_says_it_before_the_usual_figure_and_the_lot_before_the_house():
    opened = replace(LOT, opened_at=CAME)

    assert good_until(LOT, HOUSE) == GoodUntil(day=date(2025, 12, 10), by="sealed")
    assert good_until(opened, HOUSE) == GoodUntil(day=date(2025, 10, 1), by="opened")
    own = replace(opened, opened_days=5)
    assert good_until(own, HOUSE) == GoodUntil(day=date(2025, 9, 6), by="opened")


@pytest.mark.parametrize("what", ["alum", "paper", "starch", "supply"])
def test_what_nothing_is_known_to_spoil_has_no_day(what: str):
    """No date is invented: alum keeps as long as it is dry."""
    assert good_until(replace(LOT, what=what, opened_at=CAME)) is None


def test_it_is_good_through_the_day_itself():
    last = GoodUntil(day=date(2025, 9, 20), by="label")

    assert not last.past(date(2025, 9, 20))
    assert last.past(date(2025, 9, 21))


@given(days=st.integers(0, 5_000), label=st.none() | st.dates(date(2025, 1, 1)))
def test_opening_never_makes_a_lot_good_for_longer(days: int, label: date | None):
    """Or one would open a tub to keep it."""
    sealed = replace(LOT, best_before=label)
    opened = replace(sealed, opened_at=CAME + timedelta(days=days))
    first, then = good_until(sealed), good_until(opened)

    assert first is not None
    assert then is not None
    assert then.day <= first.day
