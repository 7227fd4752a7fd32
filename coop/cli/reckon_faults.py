"""`coop reckon faults` and `coop reckon pickup`: what counts and level readings teach."""

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from math import sqrt
from typing import Final

from coop.cli import figures
from coop.cli.reckoning import Answer, Question, figure, rounded, whole
from coop.science import counts, pickup
from coop.science.defaults import Z_90, value
from coop.units.fault import NotUnderstood
from coop.units.number import read_number

TUB_FLOOR_MIN_M2: Final = 0.01
TUB_FLOOR_MAX_M2: Final = 10
GONE_MAX_L: Final = 1_000
AREA_MAX_M2: Final = 1_000
CHANCE_DIGITS: Final = 4
PAIR_LIKE: Final = "litres gone, a colon, m² of sheets; a space between pairs: 2.45:17.5 0.98:7"


def _ask_faults(asked: ArgumentParser) -> None:
    sheets = whole(1, counts.SHEETS_MAX)
    spoiled = whole(0, counts.SHEETS_MAX)
    asked.add_argument(
        "--spoiled", type=spoiled, required=True, metavar="SHEETS", help="sheets with this word"
    )
    asked.add_argument(
        "--of", type=sheets, required=True, metavar="SHEETS", help="sheets of this part, sorted"
    )
    asked.add_argument(
        "--usual",
        type=spoiled,
        required=True,
        metavar="SHEETS",
        help="all other sheets here with the same word",
    )
    asked.add_argument(
        "--usual-of",
        type=sheets,
        required=True,
        metavar="SHEETS",
        help="all other sheets here, sorted",
    )


def _reckon_faults(given: Namespace) -> Answer:
    _refuse_more("--spoiled", given.spoiled, "--of", given.of)
    _refuse_more("--usual", given.usual, "--usual-of", given.usual_of)
    found = counts.compared(
        fault_count=given.spoiled,
        sheet_count=given.of,
        rest_fault_count=given.usual,
        rest_sheet_count=given.usual_of,
    )
    low, high = counts.wilson_interval(fault_count=given.spoiled, sheet_count=given.of)
    return {
        "spoiled_sheet_count": given.spoiled,
        "sheet_count": given.of,
        "usual_sheet_count": rounded(found.usual_count),
        "chance": float(f"{found.chance:.{CHANCE_DIGITS}g}"),
        "one_time_in": found.one_in,
        "speaks": found.speaks,
        "speaks_under": counts.SPEAKS_UNDER,
        "speaks_from_sheet_count": counts.FAULT_SHEETS_MIN,
        "spoiled_fraction": {
            "low": rounded(low),
            "middle": rounded(given.spoiled / given.of),
            "high": rounded(high),
        },
        "how_known": "as counted",
    }


def _refuse_more(part: str, part_count: int, whole_name: str, whole_count: int) -> None:
    if part_count > whole_count:
        raise ValueError(
            f"{part}: must be from 0 to {whole_count}, as {whole_name} says, is {part_count}"
        )


def _ask_pickup(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--pairs",
        required=True,
        metavar="'2.45:17.5 0.98:7'",
        help="of one paper and method: litres gone between two level readings : m² of sheets",
    )
    asked.add_argument(
        "--tub-floor",
        type=figure(TUB_FLOOR_MIN_M2, TUB_FLOOR_MAX_M2),
        metavar="M2",
        help="inside floor of the tub: takes the readings' own doubt off the range",
    )


def _reckon_pickup(given: Namespace) -> Answer:
    pairs = _pairs(given.pairs, _sd_ml(given.tub_floor))
    found = pickup.learned(pairs=pairs)
    if found is None and len(pairs) >= pickup.PAIRS_MIN:
        raise ValueError("--pairs: the tub did not go down; litres gone must be over 0 in all")
    return {
        "pair_count": len(pairs),
        "pairs_wanted_count": pickup.PAIRS_MIN,
        "more_pairs_wanted_count": max(0, pickup.PAIRS_MIN - len(pairs)),
        "pickup_ml_per_m2": found
        and {
            "low": rounded(found.low_ml_per_m2),
            "middle": rounded(found.middle_ml_per_m2),
            "high": rounded(found.high_ml_per_m2),
        },
        "middle_ml_per_m2": found
        and {
            "low": rounded(found.middle_low_ml_per_m2),
            "high": rounded(found.middle_high_ml_per_m2),
        },
        "how_known": "from level readings",
    }


def _sd_ml(tub_floor_m2: float | None) -> float:
    """Return the standard deviation of a difference of two level readings; 0: not said."""
    if tub_floor_m2 is None:
        return 0.0
    return sqrt(2) * value("level_mm") / Z_90 * tub_floor_m2 * 1000


def _pairs(typed: str, sd_ml: float) -> list[pickup.Pair]:
    texts = [text.rstrip(",") for text in re.split(r"[;\s]+", typed) if text.rstrip(",")]
    if not 1 <= len(texts) <= pickup.PAIRS_MAX:
        raise ValueError(f"--pairs: 1 to {pickup.PAIRS_MAX} of {PAIR_LIKE}")
    return [_pair(text, sd_ml) for text in texts]


def _pair(text: str, sd_ml: float) -> pickup.Pair:
    gone, colon, area = text.partition(":")
    if not colon:
        raise ValueError(f"--pairs: {text}: {PAIR_LIKE}")
    try:
        gone_l = read_number(gone, low=-GONE_MAX_L, high=GONE_MAX_L)
        area_m2 = read_number(area, high=AREA_MAX_M2)
    except NotUnderstood as why:
        raise ValueError(f"--pairs: {text}: {why}; {PAIR_LIKE}") from why
    if not area_m2:
        raise ValueError(f"--pairs: {text}: the sheets' area must be over 0; {PAIR_LIKE}")
    return pickup.Pair(area_m2=float(area_m2), gone_ml=float(gone_l * 1000), sd_ml=sd_ml)


QUESTIONS: Mapping[str, Question] = {
    "faults": Question(
        "whether so many spoiled sheets are more than usual",
        _ask_faults,
        _reckon_faults,
        "",
        figures.faults_lines,
    ),
    "pickup": Question(
        "what a paper takes with it, from level readings",
        _ask_pickup,
        _reckon_pickup,
        "sheets",
        figures.pickup_lines,
    ),
}
