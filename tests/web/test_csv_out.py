"""Tables as files: what a spreadsheet opens must not run, and must come back as it was."""

import csv
from datetime import UTC, date, datetime
from decimal import Decimal
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.web.csv_out import BYTE_ORDER_MARK, csv_answer, csv_text, safe


@pytest.mark.parametrize("begin", ["=1+1", "+1", "-1", "@sum(a1)", "\t=1", "\r=1"])
def test_what_somebody_typed_is_never_a_formula(begin: str) -> None:
    """OWASP, CSV Injection: these six signs begin a formula in common spreadsheets."""
    assert safe(begin) == f"'{begin}"


def test_our_own_numbers_stay_numbers() -> None:
    """A gap of -40 is to be summed, not read as text."""
    assert [safe(one) for one in (-40, -0.5, Decimal("-1.20"), 0)] == [
        "-40", "-0.5", "-1.20", "0",
    ]  # fmt: skip


def test_days_and_moments_are_iso_8601() -> None:
    assert safe(date(2025, 10, 1)) == "2025-10-01"
    assert safe(datetime(2025, 10, 1, 9, 30, tzinfo=UTC)) == "2025-10-01T09:30:00+00:00"


def test_lines_end_as_rfc_4180_wants() -> None:
    """RFC 4180, section 2: CRLF, and quotes doubled inside quotes."""
    assert csv_text(["a"], [['say "x", y']]) == 'a\r\n"say ""x"", y"\r\n'


@given(st.lists(st.tuples(st.text(), st.integers()), max_size=8))
def test_what_is_written_reads_back(rows: list[tuple[str, int]]) -> None:
    text = csv_text(["name", "count"], rows)

    read = list(csv.reader(StringIO(text, newline="")))
    assert read[1:] == [[safe(name), str(count)] for name, count in rows]


def test_the_file_says_what_it_is() -> None:
    answer = csv_answer("order-list", ["a"], [["ç"]])

    assert answer.mimetype == "text/csv"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="order-list.csv"'
    assert answer.get_data(as_text=True) == f"{BYTE_ORDER_MARK}a\r\nç\r\n"


def test_a_row_of_another_width_is_our_own_mistake() -> None:
    with pytest.raises(AssertionError, match="as wide"):
        csv_text(["a", "b"], [["x"]])
