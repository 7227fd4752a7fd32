"""A day or a part of one, as somebody said it, becomes a moment within it."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.part_of_day import HOURS, PARTS, part_of, placed, window

BERLIN = ZoneInfo("Europe/Berlin")
LONG_AGO, FAR = datetime(2000, 1, 1, tzinfo=UTC), datetime(2040, 1, 1, tzinfo=UTC)
DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))


@pytest.mark.parametrize(
    ("part", "hour"), [("", 12), ("morning", 9), ("afternoon", 15), ("evening", 19)]
)
def test_each_part_stands_for_its_usual_hour(part: str, hour: int) -> None:
    """Choices of this ledger: noon, 09:00, 15:00, 19:00 by the studio's clock."""
    at = placed(date(2025, 9, 12), part, zone=BERLIN, since=LONG_AGO, until=FAR)

    assert at.isoformat() == f"2025-09-12T{hour:02}:00:00+02:00"


@given(DAYS, st.sampled_from(PARTS), st.integers(1, 12))
def test_what_was_said_of_a_part_reads_as_that_part(day: date, part: str, row: int) -> None:
    """Also on the days on which the clocks are changed."""
    at = placed(day, part, zone=BERLIN, since=LONG_AGO, until=FAR, turn=(row, 12))

    assert (at.date(), part_of(at)) == (day, part)


@given(DAYS, st.sampled_from(sorted(HOURS)), st.integers(0, 86_399), st.integers(0, 86_399))
def test_it_lies_in_its_part_and_where_it_can_have_been(
    day: date, part: str, one: int, other: int
) -> None:
    """After the mixing and before now, whenever these are within that part."""
    begins, ends = window(day, part, BERLIN)
    length = ends.astimezone(UTC) - begins.astimezone(UTC)
    first, second = sorted(
        begins.astimezone(UTC) + min(timedelta(seconds=each), length) for each in (one, other)
    )

    for row in range(1, 13):
        at = placed(day, part, zone=BERLIN, since=first, until=second, turn=(row, 12))
        assert first <= at <= second
        assert begins <= at <= ends


@given(DAYS, st.sampled_from(sorted(HOURS)), st.integers(20, 80_000))
def test_turns_stay_in_their_order(day: date, part: str, seconds: int) -> None:
    """The rows of a card are told apart while there is a second for each."""
    begins, _ = window(day, part, BERLIN)
    until = begins.astimezone(UTC) + timedelta(seconds=seconds)

    at = [
        placed(day, part, zone=BERLIN, since=LONG_AGO, until=until, turn=(row, 12))
        for row in range(1, 13)
    ]

    assert at == sorted(set(at))
