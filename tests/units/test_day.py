"""Days, written so that nobody can turn them round."""

from datetime import date

import pytest

from coop.units.day import read_day
from coop.units.fault import NotUnderstood


@pytest.mark.parametrize("typed", ["2025-10-04", " 2025-10-04 "])
def test_a_day_of_iso_8601_is_read(typed):
    """ISO 8601-1, extended form of a calendar date."""
    assert read_day(typed) == date(2025, 10, 4)


@pytest.mark.parametrize(
    ("typed", "code", "options"),
    [
        ("04/10", "which-day", ("YYYY-10-04", "YYYY-04-10")),
        ("4.10.", "which-day", ("YYYY-10-04", "YYYY-04-10")),
        ("04/10/2025", "which-day", ("2025-10-04", "2025-04-10")),
        ("4-10-2025", "which-day", ("2025-10-04", "2025-04-10")),
        ("4/4/2025", "which-day", ("2025-04-04",)),
        ("13/10/2025", "which-day", ("2025-10-13",)),
        ("29/02", "which-day", ("YYYY-02-29",)),
        ("29/02/2025", "no-day", ("2025-10-04",)),
        ("40/40", "no-day", ("2025-10-04",)),
        ("4 October 2025", "no-day", ("2025-10-04",)),
        ("20251004", "no-day", ("2025-10-04",)),
        ("2025-13-01", "no-day", ("2025-10-04",)),
        ("", "no-day", ("2025-10-04",)),
        ("1" * 81, "too-long", ("80",)),
    ],
)
def test_a_day_in_any_other_order_is_refused_with_both_readings(typed, code, options):
    """Common practice, no source: 04/10 is 4 October here and 10 April there."""
    with pytest.raises(NotUnderstood) as caught:
        read_day(typed)

    assert (caught.value.code, caught.value.options) == (code, options)


@pytest.mark.parametrize("typed", ["last Friday", "4 Ekim 2025"])
def test_what_is_no_day_is_quoted_whole(typed):
    """Half a word in a message makes the reader look for a slip that is not there."""
    with pytest.raises(NotUnderstood, match=f'^"{typed}": '):
        read_day(typed)
