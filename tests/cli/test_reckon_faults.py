"""`coop reckon faults` and `pickup`: figures that are checked elsewhere, refusals that help."""

import re
from math import log
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from tests.cli.said import here

Capture = pytest.CaptureFixture[str]
THURSDAY = ("faults", "--spoiled=7", "--of=40")
LIKE = "litres gone, a colon, m² of sheets; a space between pairs: 2.45:17.5 0.98:7"


def reckoned(capsys: Capture, *arguments: str) -> Any:
    said = here(capsys, "reckon", *arguments, "--json")
    assert said.code == FINE, said.err
    return said.json


def lines(capsys: Capture, *arguments: str) -> list[str]:
    said = here(capsys, "reckon", *arguments)
    assert said.code == FINE, said.err
    return said.out.splitlines()


def test_seven_of_forty_against_26_of_294_are_no_news(capsys: Capture) -> None:
    """By every way counted one by one, apart from this code: 0.0812791."""
    told = reckoned(capsys, *THURSDAY, "--usual=26", "--usual-of=294")

    assert told["chance"] == 0.08128
    assert (told["one_time_in"], told["speaks"]) == (12, False)
    assert told["usual_sheet_count"] == pytest.approx(40 * 26 / 294, abs=1e-4)
    assert told["spoiled_fraction"] == {"low": 0.0978, "middle": 0.175, "high": 0.2934}


def test_seven_of_forty_against_a_seldom_fault_are_told(capsys: Capture) -> None:
    told = lines(capsys, *THURSDAY, "--usual=9", "--usual-of=294")

    assert told[1] == "usual here: about 1.2 of 40"
    assert re.fullmatch(r"so many or more by chance: one time in \d+", told[2])
    assert told[3] == "worth telling: yes (yes under one time in 20, from 4 sheets)"


def test_tea_tasted_right_eight_times_is_one_in_seventy(capsys: Capture) -> None:
    """R. A. Fisher, The Design of Experiments, 1935, from memory."""
    told = reckoned(capsys, "faults", "--spoiled=4", "--of=4", "--usual=0", "--usual-of=4")

    assert (told["one_time_in"], told["speaks"]) == (70, True)


def test_what_never_happens_by_chance_has_an_end(capsys: Capture) -> None:
    told = lines(capsys, "faults", "--spoiled=31", "--of=46", "--usual=33", "--usual-of=334")

    assert told[2] == "so many or more by chance: one time in 1000000 or more"


def test_too_few_pairs_say_how_many_more_are_wanted(capsys: Capture) -> None:
    """The usual pick-up holds until then; a figure of three pairs would be believed."""
    told = lines(capsys, "pickup", "--pairs=2.45:17.5, 0.98:7; 1,1:8")

    assert told[:3] == [
        "pairs: 3",
        "more pairs wanted: 27, to have 30",
        "how known: from level readings",
    ]


def test_thirty_pairs_have_their_geometric_mean(capsys: Capture) -> None:
    """By hand: half took 120 and half 168 mL/m2: near sqrt(120 x 168), spread half their ln."""
    told = reckoned(capsys, "pickup", "--pairs=" + "1.2:10 1.68:10 " * 15)
    found = told["pickup_ml_per_m2"]

    assert (told["pair_count"], told["more_pairs_wanted_count"]) == (30, 0)
    assert found["middle"] == pytest.approx((120 * 168) ** 0.5, rel=0.002)
    half = log(found["high"] / found["middle"])
    assert half == pytest.approx(1.645 * 0.5 * log(168 / 120), rel=0.08)
    assert told["middle_ml_per_m2"]["low"] > found["low"]


def test_the_readings_own_doubt_makes_the_range_narrower(capsys: Capture) -> None:
    """Part of what the pairs differ by is the stick, not the paper."""
    pairs = "--pairs=" + "1.2:10 1.68:10 " * 15
    rough = reckoned(capsys, "pickup", pairs)["pickup_ml_per_m2"]
    fine = reckoned(capsys, "pickup", pairs, "--tub-floor=0.1")["pickup_ml_per_m2"]

    assert fine["low"] > rough["low"]
    assert fine["high"] < rough["high"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            ("faults", "--spoiled=41", "--of=40", "--usual=1", "--usual-of=9"),
            "--spoiled: must be from 0 to 40, as --of says, is 41",
        ),
        (
            (*THURSDAY, "--usual=10", "--usual-of=9"),
            "--usual: must be from 0 to 9, as --usual-of says, is 10",
        ),
        ((*THURSDAY, "--usual=0", "--usual-of=0"), "no whole number from 1 to 100000"),
        ((*THURSDAY, "--usual=2.5", "--usual-of=9"), "no whole number from 0 to 100000"),
        (("pickup", "--pairs=2.45"), f"--pairs: 2.45: {LIKE}"),
        (("pickup", "--pairs=2.45:17.5,0.98:7"), LIKE),
        (("pickup", "--pairs=2.45:0"), "the sheets' area must be over 0"),
        (("pickup", "--pairs=2.45:much"), LIKE),
        (("pickup", "--pairs=2000:7"), "must lie from -1000 to 1000"),
        (("pickup", "--pairs= "), f"--pairs: 1 to 10000 of {LIKE}"),
        (("pickup", "--pairs=" + "-1:10 " * 30), "the tub did not go down"),
        (("pickup", "--pairs=1:10", "--tub-floor=0"), "must lie from 0.01 to 10"),
    ],
)
def test_what_cannot_be_reckoned_says_what_would_do(
    arguments: tuple[str, ...], told: str, capsys: Capture
) -> None:
    said = here(capsys, "reckon", *arguments)

    assert said.code == MISUSE
    assert said.out == ""
    assert told in said.err
