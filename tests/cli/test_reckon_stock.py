"""`coop reckon reorder`, `batch` and `forecast`: printed answers, files, refusals that help."""

from pathlib import Path
from typing import Any

import pytest

from coop.cli import reckon_stock
from coop.cli.common import FINE, MISUSE
from coop.science import demand
from tests.cli.said import here
from tests.science.handbook import as_printed, rows

Capture = pytest.CaptureFixture[str]
NOW_AND_THEN = "0 0 2 0 3 0 0 0 1 4 0 2"
BOTH_VARY = ("reorder", "--use=150", "--use-sd=2", "--lead-days=4", "--lead-sd=0.5")
BATCH = ("batch", "--order-cost=8", "--keeping-cost=0.225")


def reckoned(capsys: Capture, *arguments: str) -> Any:
    said = here(capsys, "reckon", *arguments, "--json")
    assert said.code == FINE, said.err
    assert said.json["cautions"] == []
    return said.json


def lines(capsys: Capture, *arguments: str) -> list[str]:
    said = here(capsys, "reckon", *arguments)
    assert said.code == FINE, said.err
    return said.out.splitlines()


def refused(capsys: Capture, *arguments: str) -> str:
    said = here(capsys, "reckon", *arguments)
    assert said.code == MISUSE
    assert said.out == ""
    return said.err


@pytest.mark.parametrize("row", rows("reorder_points"), ids=lambda row: row["form"])
def test_a_reorder_point_is_the_printed_one(row: dict[str, str], capsys: Capture) -> None:
    """The books' own examples, typed in as a person would."""
    told = reckoned(
        capsys,
        "reorder",
        f"--use={row['per_day']}",
        f"--use-sd={row['per_day_sd']}",
        f"--lead-days={row['lead_days']}",
        f"--lead-sd={row['lead_sd_days']}",
        f"--z={row['z']}",
    )

    assert as_printed(told["reorder_point"], row["point"])
    assert as_printed(told["safety_stock"], row["safety"])
    assert told["service_fraction"] is None


def test_a_service_in_percent_has_its_z_and_what_is_short(capsys: Capture) -> None:
    """Table of the normal distribution: 1.6449 for 95 %, and a loss of 0.02089 at 1.645."""
    told = reckoned(capsys, *BOTH_VARY, "--service=95")

    assert (told["service_fraction"], told["z"]) == (0.95, 1.6449)
    assert as_printed(told["lead_use_sd"], "75.1066")
    assert told["mean_shortage"] == pytest.approx(0.02089 * 75.10659, rel=1e-3)


def test_an_order_size_is_the_printed_one(capsys: Capture) -> None:
    """Snyder and Shen, Fundamentals of Supply Chain Theory, example 3.1."""
    told = reckoned(capsys, *BATCH, "--use=1300")

    assert as_printed(told["order_size"], "304.0468")
    assert as_printed(told["cost"], "68.4105")
    assert told["order_count"] == pytest.approx(1300 / 304.0468, abs=1e-4)


def test_what_is_not_used_is_not_ordered(capsys: Capture) -> None:
    """Nothing over nothing is no number of orders."""
    told = reckoned(capsys, *BATCH, "--use=0")

    assert (told["order_size"], told["order_count"], told["cost"]) == (0, None, 0)
    assert lines(capsys, *BATCH, "--use=0")[1] == "ordering and keeping cost in it: 0"


def test_a_list_of_uses_has_its_four_forecasts(capsys: Capture) -> None:
    """Worked by hand, equal in two public forecast libraries; the mean is 12 in 12 weeks."""
    told = reckoned(capsys, "forecast", f"--uses={NOW_AND_THEN}")

    assert (told["week_count"], told["used_week_count"]) == (12, 5)
    assert told["mean_per_week"] == 1
    assert as_printed(told["croston_per_week"], "0.7961")
    assert as_printed(told["croston_unbiased_per_week"], "0.7563")
    assert as_printed(told["fading_per_week"], "0.7395")


def test_the_order_list_says_which_figure_it_takes_and_why(capsys: Capture) -> None:
    """Four of the last eight weeks had a use: one in two weeks, seldom enough to fade."""
    told = reckoned(capsys, "forecast", f"--uses={NOW_AND_THEN}")["order_list"]
    by_hand = demand.weekly_use(uses=[3, 0, 0, 0, 1, 4, 0, 2])

    assert (told["by"], told["week_count"], told["used_week_count"]) == ("fading", 8, 4)
    assert told["per_week"] == pytest.approx(by_hand.per_week, abs=1e-4)
    assert told["said_per_week"] == 1.5


@pytest.mark.parametrize(
    ("uses", "told"),
    [
        (
            "100 120 90 0 130 110 120 95",
            "the order list says: 96 a week, by the mean, for some was used in 7 of 8 weeks, "
            "every 1.14 weeks: not over 1.32",
        ),
        (
            "0; 0",
            "the order list says: 0 a week, by the mean, for none was used in 2 weeks",
        ),
    ],
)
def test_steady_use_and_none_have_their_mean(uses: str, told: str, capsys: Capture) -> None:
    assert lines(capsys, "forecast", f"--uses={uses}")[4] == told


def test_another_smoothing_leaves_the_order_list_as_it_is(capsys: Capture) -> None:
    """What somebody tries out must not look as if the house ordered by it."""
    usual = reckoned(capsys, "forecast", f"--uses={NOW_AND_THEN}")
    tried = reckoned(capsys, "forecast", f"--uses={NOW_AND_THEN}", "--smoothing=0.5")

    assert tried["croston_per_week"] != usual["croston_per_week"]
    assert tried["order_list"] == usual["order_list"]


@pytest.mark.parametrize(
    ("smoothing", "printed"), [("0.1", "0.8689"), ("0.5", "0.6755"), ("0.05", "1.4058")]
)
def test_a_file_of_seventeen_years_has_the_published_forecasts(
    smoothing: str, printed: str, tmp_path: Path, capsys: Capture
) -> None:
    """R's package forecast, as printed in the tests of the library sktime 1.2.0."""
    file = tmp_path / "scripts.csv"
    months = [f"{row['month']};{row['used']}" for row in rows("scripts_by_month")]
    file.write_text("\n".join(["month;scripts", *months]), encoding="utf-8-sig")

    told = reckoned(
        capsys, "forecast", f"--from={file}", "--column=scripts", f"--smoothing={smoothing}"
    )

    assert told["week_count"] == 204
    assert as_printed(told["croston_per_week"], printed)
    assert told["order_list"]["said_per_week"] == 0


def test_a_file_with_commas_and_a_list_are_the_same(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "uses.csv"
    file.write_text('week, used\n1,"1,5"\n2,0\n\n3,2\n')

    by_file = reckoned(capsys, "forecast", f"--from={file}")

    assert by_file == reckoned(capsys, "forecast", "--uses=1,5 0 2")
    assert by_file["mean_per_week"] == pytest.approx(3.5 / 3, abs=1e-4)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"week,used\n1,5\n2,much\n", ", line 3: "),
        (b"week,used\n1,5\n2\n", ", line 3: "),
        (b"week,used\n1,-5\n", "a number from 0 to 1000000000"),
        (b"week,grams\n1,5\n", "no column 'used' in its heading, which has week, grams; say"),
        (b"", "no column 'used' in its heading, which has nothing"),
        (b"used\n", "weeks under the heading: 1 to 10000, there are 0"),
        (b"used\n" + b"1\n" * 10_001, "1 to 10000, there are 10001"),
        (b"used\n\xff\n", "is no text in UTF-8; save it as CSV UTF-8"),
        (b"used\n" + b"1" * 200_000, ", line 1: field larger than field limit"),
        (b"used\n" + b"1" * reckon_stock.FILE_MAX_BYTES, "is over 1000000 bytes"),
    ],
    ids=lambda given: repr(given)[:24],
)
def test_a_file_that_cannot_be_read_says_where_and_what_would_do(
    content: bytes, told: str, tmp_path: Path, capsys: Capture
) -> None:
    file = tmp_path / "uses.csv"
    file.write_bytes(content)

    err = refused(capsys, "forecast", f"--from={file}")

    assert err.startswith(f"coop: --from: {file}")
    assert told in err


def test_a_file_that_is_not_there_is_named(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "nowhere.csv"

    assert f"--from: {file}: No such file" in refused(capsys, "forecast", f"--from={file}")
    assert f"--from: {tmp_path}: Is a dir" in refused(capsys, "forecast", f"--from={tmp_path}")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((*BOTH_VARY,), "one of the arguments --service --z is required"),
        ((*BOTH_VARY, "--service=95", "--z=1.65"), "not allowed with"),
        ((*BOTH_VARY, "--service=100"), "must lie from 50 to 99.9999"),
        ((*BOTH_VARY, "--z=9"), "must lie from 0 to 8"),
        (("reorder", "--use=3", "--lead-days=367", "--z=1"), "must lie from 0 to 366"),
        ((*BATCH, "--use=much"), "a number from 0 to 1e+09"),
        (("batch", "--use=1", "--order-cost=1", "--keeping-cost=0"), "must lie from 0.0001"),
        (("forecast",), "one of the arguments --uses --from is required"),
        (("forecast", "--uses= "), "--uses: numbers with a space between, as '0 0 2 0 3'"),
        (("forecast", "--uses=3 x"), '--uses: "x": this word is not known; a number from 0'),
        (("forecast", "--uses=3", "--column=used"), "--column: names a column of a file"),
        (("forecast", "--uses=3", "--smoothing=0"), "must lie from 0.001 to 1"),
    ],
)
def test_what_cannot_be_reckoned_says_what_would_do(
    arguments: tuple[str, ...], told: str, capsys: Capture
) -> None:
    assert told in refused(capsys, *arguments)
