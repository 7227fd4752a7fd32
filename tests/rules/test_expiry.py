"""Until when a lot is good, and by what."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import MemberId, Subject
from coop.ledger.states import LotState, SupplyState
from coop.rules.expiry import GoodUntil, good_until, open_pack_until, spoiled

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
    assert good_until(LOT, zone=UTC) == GoodUntil(day=date(2029, 8, 31), by="sealed")


def test_the_day_on_the_label_counts_before_any_rule():
    """Who made it knows it best."""
    lot = replace(LOT, best_before=date(2027, 1, 1))

    assert good_until(lot, zone=UTC) == GoodUntil(day=date(2027, 1, 1), by="label")
    assert good_until(lot, HOUSE, zone=UTC) == GoodUntil(day=date(2027, 1, 1), by="label")


def test_once_opened_the_days_from_then_count_too():
    """A year from opening: common practice, no source."""
    lot = replace(LOT, opened_at=CAME + timedelta(days=10))

    assert good_until(lot, zone=UTC) == GoodUntil(day=date(2026, 9, 11), by="opened")


def test_what_is_opened_late_is_not_younger_for_it():
    """A label's day is not put off by opening the tub just before."""
    lot = replace(LOT, best_before=date(2025, 9, 20), opened_at=CAME + timedelta(days=18))

    assert good_until(lot, zone=UTC) == GoodUntil(day=date(2025, 9, 20), by="label")


def test_the_house_says_it_before_the_usual_figure_and_the_lot_before_the_house():
    opened = replace(LOT, opened_at=CAME)

    assert good_until(LOT, HOUSE, zone=UTC) == GoodUntil(day=date(2025, 12, 10), by="sealed")
    assert good_until(opened, HOUSE, zone=UTC) == GoodUntil(day=date(2025, 10, 1), by="opened")
    own = replace(opened, opened_days=5)
    assert good_until(own, HOUSE, zone=UTC) == GoodUntil(day=date(2025, 9, 6), by="opened")


@pytest.mark.parametrize("what", ["alum", "paper", "starch", "supply"])
def test_what_nothing_is_known_to_spoil_has_no_day(what: str):
    """No date is invented: alum keeps as long as it is dry."""
    assert good_until(replace(LOT, what=what, opened_at=CAME), zone=UTC) is None


def test_it_is_good_through_the_day_itself():
    last = GoodUntil(day=date(2025, 9, 20), by="label")

    assert not last.past(date(2025, 9, 20))
    assert last.past(date(2025, 9, 21))


GALL = replace(
    LOT,
    what="gall",
    pack_count=4,
    pack=100,
    received=400,
    best_before=date(2026, 9, 1),
    opened_at=CAME,
    opened_days=30,
)
"""Four bottles of 100 g, one of them opened on 1 Sept; the others are sealed."""


def test_of_several_packs_only_the_open_one_ages_by_its_days() -> None:
    """Three sealed bottles do not go off because a fourth was opened."""
    assert good_until(GALL, zone=UTC) == GoodUntil(day=date(2026, 9, 1), by="label")
    assert open_pack_until(GALL, left=350, zone=UTC) == GoodUntil(
        day=date(2025, 10, 1), by="open_pack"
    )


@pytest.mark.parametrize("left", [300, 120, 0, -5])
def test_once_the_first_pack_is_used_up_nobody_knows_which_is_open(left: int) -> None:
    """Only the first opening is written; no day is invented for the next pack."""
    assert open_pack_until(GALL, left=left, zone=UTC) is None


def test_a_lot_of_one_pack_has_no_day_of_its_open_pack() -> None:
    assert open_pack_until(replace(GALL, pack_count=1), left=50, zone=UTC) is None


@pytest.mark.parametrize(
    ("today", "left", "gone"),
    [
        (date(2025, 10, 1), 350, 0),
        (date(2025, 10, 2), 350, 50),
        (date(2025, 10, 2), 300, 0),
        (date(2026, 9, 2), 300, 300),
        (date(2026, 9, 2), -5, 0),
    ],
)
def test_what_is_spoiled_is_the_open_pack_and_past_the_label_all(
    today: date, left: int, gone: int
) -> None:
    assert spoiled(GALL, left=left, today=today, zone=UTC) == gone


def test_a_lot_that_is_good_has_nothing_spoiled() -> None:
    assert spoiled(LOT, left=1, today=date(2029, 8, 31), zone=UTC) == 0
    assert spoiled(LOT, left=1, today=date(2029, 9, 1), zone=UTC) == 1


def test_days_are_those_of_the_co_operatives_zone() -> None:
    """Opened at nine in the evening in New York: in UTC it is the next day already."""
    late = replace(LOT, received_at=datetime(2025, 9, 1, 23, 30, tzinfo=UTC), opened_days=1)
    opened = replace(late, opened_at=datetime(2025, 9, 2, 1, 0, tzinfo=UTC))

    assert good_until(opened, zone=ZoneInfo("America/New_York")) == GoodUntil(
        day=date(2025, 9, 2), by="opened"
    )
    assert good_until(opened, zone=UTC) == GoodUntil(day=date(2025, 9, 3), by="opened")


@given(days=st.integers(0, 5_000), label=st.none() | st.dates(date(2025, 1, 1)))
def test_opening_never_makes_a_lot_good_for_longer(days: int, label: date | None):
    """Or one would open a tub to keep it."""
    sealed = replace(LOT, best_before=label)
    opened = replace(sealed, opened_at=CAME + timedelta(days=days))
    first, then = good_until(sealed, zone=UTC), good_until(opened, zone=UTC)

    assert first is not None
    assert then is not None
    assert then.day <= first.day
