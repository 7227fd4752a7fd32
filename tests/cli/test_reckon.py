"""`coop reckon`: the keys it promises, and sums that can be checked elsewhere."""

import re
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from coop.cli.reckon import QUESTIONS
from coop.rules.cautions import CAUTIONS
from tests.cli.said import here
from tests.science.handbook import rows

KEYS = {
    "strength": {"strength_g_per_l", "salt", "zero_offset_sg", "how_known", "cautions"},
    "mix": {
        "salt_g", "strength_g_per_l", "water_l", "spoon_count", "spoon",
        "solubility_fraction", "how_known", "cautions",
    },
    "topup": {"before", "after", "to_target", "how_known", "cautions"},
    "sheets-left": {
        "sheet_count", "sheet_count_low", "sheet_format", "method", "how_known", "cautions",
    },
    "paper": {
        "area_m2", "half_area_m2", "quarter_area_m2", "weight_g_per_m2", "sheet_g",
        "how_known", "cautions",
    },
}  # fmt: skip
ASKED = {
    "strength": ("--sg=1.015", "--at=20 C"),
    "mix": ("--dose=8 tbsp per gallon", "--kinds=us,us,us", "--water=3 gallons"),
    "topup": ("--litres=10.38 L", "--strength=23.5", "--water=3 L", "--target=40"),
    "sheets-left": ("--litres=12 L", "--laying=6 L"),
    "paper": ("--width=500 mm", "--length=700 mm", "--g-per-m2=100"),
}
TOP_UP = ("topup", "--litres=10.4 L", "--strength=23.5")
Capture = pytest.CaptureFixture[str]


def reckoned(capsys: Capture, what: str, *arguments: str) -> Any:
    said = here(capsys, "reckon", what, "--json", *arguments)
    assert said.code == FINE, said.err
    return said.json


@pytest.mark.parametrize("what", QUESTIONS)
def test_the_keys_are_promised_and_name_their_units(what: str, capsys: Capture) -> None:
    told = reckoned(capsys, what, *ASKED[what])

    assert set(told) == KEYS[what]
    act = QUESTIONS[what].act
    codes = tuple(one["code"] for one in told["cautions"])
    assert codes == (CAUTIONS[act] if act else ())


LINES = {
    "strength": [
        r"strength: about 26\.\d g/L \(\d+\.\d to \d+\.\d\)",
        r"salt: aluminium sulfate, 14-hydrate \(papermaker's alum\)",
        r"zero of the hydrometer: \+0\.0000",
        "how known: tested: specific gravity",
    ],
    "mix": [
        r"water: 11\.36 L",
        r"salt: about \d+ g \(\d+ to \d+\)",
        r"strength: about \d+\.\d g/L \(\d+\.\d to \d+\.\d\)",
        "level spoons: 24 US tablespoons",
        r"of what dissolves: \d+ %",
        "how known: spooned",
    ],
    "topup": [
        r"before: about 23\.5 g/L \(22\.3 to 24\.8\) in 10\.4 L",
        r"after: about 18\.2 g/L \(\d+\.\d to \d+\.\d\) in 13\.4 L",
        r"back to the target: add 171 g of salt and 0 L of water; then 40\.0 g/L in 10\.38 L",
        "how known: as given",
    ],
    "sheets-left": [
        r"sheets left: about 244 half sheets \(at least \d+\)",
        "method: dip",
        "how known: usual pick-up",
    ],
    "paper": [
        "full sheet: 0.35 m²",
        "half sheet: 0.175 m²",
        "quarter sheet: 0.0875 m²",
        "weight: 100 g/m²",
        "a full sheet weighs: 35 g",
        "how known: as given",
    ],
}


@pytest.mark.parametrize("what", QUESTIONS)
def test_a_person_reads_figures_with_their_units(what: str, capsys: Capture) -> None:
    said = here(capsys, "reckon", what, *ASKED[what])

    assert said.code == FINE
    lines = [one for one in said.out.splitlines() if not one.startswith("Caution: ")]
    assert len(lines) == len(LINES[what])
    for line, wanted in zip(lines, LINES[what], strict=True):
        assert re.fullmatch(wanted, line), line
    assert ("Caution: " in said.out) == bool(QUESTIONS[what].act)


@pytest.mark.parametrize("what", QUESTIONS)
def test_one_kind_of_figure_has_one_unit(what: str, capsys: Capture) -> None:
    """Litres in one key and millilitres in the next are misread sooner or later."""
    said = here(capsys, "reckon", what, "--json", *ASKED[what]).out

    assert not re.search(r'_(ml|kg|mg|cm|mm)"', said)


def test_24_spoons_of_a_weighed_powder_in_three_gallons(capsys: Capture) -> None:
    """24 spoons of 11.1 g in 3 x 3.785411784 L, by hand: 266.4 g, 23.46 g/L; +-5 %."""
    told = reckoned(capsys, "mix", *ASKED["mix"], "--ten-spoons-g=111")

    assert told["salt_g"]["middle"] == pytest.approx(266.4, abs=0.01)
    assert told["strength_g_per_l"]["middle"] == pytest.approx(266.4 / 11.356235, abs=0.001)
    assert told["spoon_count"] == pytest.approx(24)
    assert told["salt_g"]["low"] == pytest.approx(0.95 * 266.4, abs=0.01)


def test_water_alone_weakens_a_bath_by_what_it_adds(capsys: Capture) -> None:
    """266.4 g x (10.38 / 11.36) in 13.38 L is 18.2 g/L, by hand."""
    told = reckoned(capsys, "topup", *ASKED["topup"])

    assert told["after"]["middle_g_per_l"] == pytest.approx(18.2, abs=0.05)
    assert told["after"]["volume_l"] == pytest.approx(13.38)
    assert told["to_target"]["salt_g"] == pytest.approx((40 - 23.5) * 10.38, abs=0.01)


@pytest.mark.parametrize("row", [one for one in rows("gravity_potash_alum")][2:6])
def test_a_hydrometer_is_read_as_the_model_has_it(row: dict[str, str], capsys: Capture) -> None:
    """Laliberte and Cooper 2004, J. Chem. Eng. Data 49:1141, run apart from this code."""
    told = reckoned(
        capsys, "strength", f"--sg={row['sg_20_20']}", "--at=20 C", "--salt=potash_alum"
    )
    water_kg_per_l = 0.9982  # CRC Handbook, 20 C
    expected_g_per_l = float(row["g_per_kg_water"]) * water_kg_per_l

    found = told["strength_g_per_l"]
    assert found["middle"] == pytest.approx(expected_g_per_l, rel=0.03)
    assert found["low"] < expected_g_per_l < found["high"]


@pytest.mark.parametrize(
    "row", [one for one in rows("paper_weight_examples") if one["grade"] == "text"]
)
def test_a_basis_weight_is_turned_into_grams(row: dict[str, str], capsys: Capture) -> None:
    """An open printing encyclopaedia's example, at the precision it prints."""
    told = reckoned(
        capsys, "paper", "--width=25 in", "--length=38 in", f"--lb={row['lb']}", "--grade=text"
    )
    decimals = len(row["g_per_m2"].partition(".")[2])

    assert round(told["weight_g_per_m2"], decimals) == float(row["g_per_m2"])


def test_half_a_full_sheet_is_half_its_area(capsys: Capture) -> None:
    told = reckoned(capsys, "paper", *ASKED["paper"])

    assert (told["area_m2"], told["half_area_m2"], told["sheet_g"]) == (0.35, 0.175, 35.0)


def test_sheets_left_are_what_stands_above_the_laying_line(capsys: Capture) -> None:
    """6 L to spare, 140 mL/m2 and 0.175 m2 a half sheet, by hand: 244.9."""
    told = reckoned(capsys, "sheets-left", *ASKED["sheets-left"])

    assert told["sheet_count"] == 244
    assert told["sheet_count_low"] < 244


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("mix", "--dose=8 tbsp per gallon", "--water=12 L"), "not settled; see coop read"),
        (("mix", "--dose=30 g/L", "--water=3 gal"), "--water: .*say --kinds"),
        (("mix", "--dose=30 g/L", "--water=12 kg"), "--water: "),
        (("mix", "--dose=30 g/L", "--water=12 L", "--pick=2"), "this dose has 1 reading"),
        (("strength", "--sg=1.01", "--at=20 C", "--salt=ammonium_alum"), "no density curve"),
        (("strength", "--sg=9", "--at=20 C"), "must lie from 0.9 to 1.3$"),
        (("strength", "--sg=12", "--at=20 C"), "must lie from 0.9 to 1.3$"),
        (("strength", "--sg=weak", "--at=20 C"), "a number from 0.9 to 1.3$"),
        ((*TOP_UP, "--water=3 L", "--brim=13 L"), "13 L fit, it would be 13.4 L"),
        ((*TOP_UP, "--brim=10 L"), "10 L fit, it would be 10.4 L"),
        ((*TOP_UP, "--goal=17 L", "--target=40", "--brim=16 L"), "16 L fit, .* be 17 L"),
        (("paper", "--width=1 m", "--length=1 m", "--lb=70"), "nothing without --grade"),
        (("paper", "--width=1 m", "--length=1 m", "--lb=70", "--grade=silk"), "grade: must be"),
    ],
)
def test_what_cannot_be_reckoned_says_what_would_do(
    arguments: tuple[str, ...], told: str, capsys: Capture
) -> None:
    said = here(capsys, "reckon", *arguments)

    assert said.code == MISUSE
    assert said.out == ""
    assert re.search(told, said.err)


def test_a_tub_may_be_filled_to_its_brim(capsys: Capture) -> None:
    told = reckoned(capsys, *TOP_UP, "--water=2.6 L", "--brim=13 L")

    assert told["after"]["volume_l"] == pytest.approx(13)
