"""When a lot is to be counted again."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from coop.ids import EntryId, MemberId, Subject
from coop.ledger.states import LotCount, LotState, SupplyState
from coop.rules.counting import count_due, seen_on
from coop.science.defaults import COMMON_PRACTICE, default

CAME = datetime(2025, 9, 1, 10, tzinfo=UTC)
LOT = LotState(
    id=Subject("lot"),
    studio=Subject("ropewalk"),
    what="paper",
    name="P-31",
    salt=None,
    paper=Subject("paper"),
    substance=Subject("paper:paper"),
    measure="sheets",
    supplier="",
    received_at=CAME,
    received_by=MemberId("amina"),
    pack_count=2,
    pack=2_000,
    received=4_000,
)
SUPPLY = SupplyState(
    id=Subject("paper:paper"), what="paper", salt=None, paper=None, measure="sheets"
)


def counted(at: datetime) -> LotState:
    one = LotCount(
        entry=EntryId("count"),
        at=at,
        by=MemberId("amina"),
        counted_with=None,
        seen=1,
        doubt=0,
    )
    return replace(LOT, counts=(one,))


def test_once_a_month_from_the_day_it_came() -> None:
    """Common practice, no source: a figure that says so."""
    assert default("count_days").mark == COMMON_PRACTICE
    assert count_due(LOT, None, today=date(2025, 9, 30), zone=UTC) is None
    assert count_due(LOT, None, today=date(2025, 10, 1), zone=UTC) == 0
    assert count_due(LOT, None, today=date(2025, 10, 5), zone=UTC) == 4


def test_what_was_written_down_long_after_it_came_was_seen_then() -> None:
    """An opening stock is weighed for its list; a lot never comes after it was written."""
    late, early = CAME + timedelta(days=300), CAME - timedelta(days=300)
    due = date(2026, 7, 28)

    assert count_due(LOT, None, today=due - timedelta(days=1), zone=UTC, known_at=late) is None
    assert count_due(LOT, None, today=due, zone=UTC, known_at=late) == 0
    assert seen_on(LOT, zone=UTC, known_at=late) == date(2026, 6, 28)
    assert seen_on(LOT, zone=UTC, known_at=early) == CAME.date()
    assert seen_on(counted(CAME), zone=UTC, known_at=late) == CAME.date()


def test_a_count_puts_it_off() -> None:
    """Whoever counted yesterday is not asked today."""
    again = counted(CAME + timedelta(days=29))

    assert count_due(again, None, today=date(2025, 10, 29), zone=UTC) is None
    assert count_due(again, None, today=date(2025, 10, 30), zone=UTC) == 0


def test_a_supply_may_say_for_itself() -> None:
    """Gold leaf every week, gloves once a quarter."""
    weekly = replace(SUPPLY, count_days=7)

    assert count_due(LOT, weekly, today=date(2025, 9, 7), zone=UTC) is None
    assert count_due(LOT, weekly, today=date(2025, 9, 8), zone=UTC) == 0
    assert count_due(LOT, SUPPLY, today=date(2025, 9, 8), zone=UTC) is None


def test_days_are_those_of_the_co_operatives_zone() -> None:
    """Counted on Sunday evening in New York: in UTC it is Monday already."""
    again = counted(datetime(2025, 9, 1, 1, tzinfo=UTC))
    new_york = ZoneInfo("America/New_York")

    assert count_due(again, None, today=date(2025, 9, 30), zone=new_york) == 0
    assert count_due(again, None, today=date(2025, 9, 30), zone=UTC) is None
