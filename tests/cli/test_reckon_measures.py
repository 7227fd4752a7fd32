"""`coop reckon` from one measure to another: hot and cold, sodas, spoons, weights of paper."""

import re
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from tests.cli.said import here
from tests.science.handbook import as_printed, rows

Capture = pytest.CaptureFixture[str]
START = ("hot-start", "--water=10 L", "--cold=12 C")


def reckoned(capsys: Capture, what: str, *arguments: str) -> Any:
    said = here(capsys, "reckon", what, "--json", *arguments)
    assert said.code == FINE, said.err
    return said.json


@pytest.mark.parametrize("row", rows("hot_cold"), ids=lambda r: f"{r['hot_l']}x{r['hot_c']}")
def test_hot_and_cold_together_are_as_warm_as_the_table_says(
    row: dict[str, str], capsys: Capture
) -> None:
    """A heat balance by mass, computed apart from this code, in a pan that stands it."""
    hot_l, cold_l = float(row["hot_l"]), float(row["cold_l"])
    told = reckoned(
        capsys, "hot-start", f"--water={hot_l + cold_l} L", f"--cold={row['cold_c']} C",
        f"--hot={row['hot_c']} C", f"--hot-percent={100 * hot_l / (hot_l + cold_l)}",
        "--jug=100 C",
    )  # fmt: skip

    assert as_printed(told["mixed_c"], row["mixed_c"])
    assert told["hot_l"] == pytest.approx(hot_l)


def test_thirty_grams_of_potash_alum_cool_by_half_a_degree(capsys: Capture) -> None:
    """30.2 to 42 kJ/mol: 0.5 to 0.6 C, chemistry of the salt rather than of the trade."""
    asked = (*START, "--hot=50 C", "--target=40 C", "--potash-alum=30")

    assert "dissolving cools it by: 0.5 to 0.6 °C" in here(capsys, "reckon", *asked).out


def test_a_hot_start_says_what_scalds_and_where_hands_stay_out(capsys: Capture) -> None:
    said = here(capsys, "reckon", *START, "--hot=60 C", "--target=50 C").out

    assert "together: 50 °C, over hand-hot (45 °C), hands stay out" in said
    assert "scald" in said
    assert "an HDPE jug bears 60 °C at most" in said


@pytest.mark.parametrize(
    ("base", "other", "times"),
    [
        ("anhydrous", "crystals", "2.70"),
        ("anhydrous", "bicarbonate", "1.59"),
        ("crystals", "anhydrous", "0.370"),
    ],
)
def test_the_form_on_the_jar_makes_the_grams(
    base: str, other: str, times: str, capsys: Capture
) -> None:
    """Traps of the trade: x 2.70 and x 1.59; 124 g anhydrous are 335 g of crystals."""
    told = reckoned(capsys, "soda-form", "--soda=124 g", f"--base={base}", f"--other={other}")

    assert as_printed(told["times"], times)
    if (base, other) == ("anhydrous", "crystals"):
        assert as_printed(told["other_base_g"], "335")


@pytest.mark.parametrize("row", rows("soda_solubility"), ids=lambda r: f"{r['base']}-{r['c']}")
def test_soda_wants_so_much_water(row: dict[str, str], capsys: Capture) -> None:
    """CRC Handbook, 98th edition: so many grams in 100 g of solution."""
    told = reckoned(
        capsys, "soda-form", "--soda=1 kg", f"--base={row['base']}",
        f"--other={row['base']}", f"--at={row['c']} C",
    )  # fmt: skip
    percent = float(row["mass_percent"])

    assert told["dissolves_in_l"] == pytest.approx((100 - percent) / percent, rel=0.001)


@pytest.mark.parametrize(
    ("ten_g", "g_per_ml"), [(111, 0.75), (130, 0.88), (148, 1.0), (189, 1.28), (200, 1.35)]
)
def test_a_tablespoon_of_what(ten_g: int, g_per_ml: float, capsys: Capture) -> None:
    """11.1, 13.0, 14.8, 18.9 and 20.0 g: pulverised, lump, granular and trade spoons."""
    told = reckoned(capsys, "spoon", f"--ten-spoons-g={ten_g}")

    assert told["bulk_g_per_ml"] == pytest.approx(g_per_ml, abs=0.006)
    assert told["spoons_g"]["us_tbsp"] == pytest.approx(ten_g / 10)


def test_other_spoons_hold_what_they_are_larger(capsys: Capture) -> None:
    """A US tablespoon is 14.79 mL, a metric one 15, an Australian 20, a US teaspoon a third."""
    spoons = reckoned(capsys, "spoon", "--ten-spoons-g=60", "--spoon=metric_tsp")["spoons_g"]

    assert spoons["metric_tsp"] == pytest.approx(6)
    assert spoons["metric_tbsp"] == pytest.approx(18)
    assert spoons["au_tbsp"] == pytest.approx(24)
    assert spoons["us_tbsp"] == pytest.approx(3 * spoons["us_tsp"], abs=0.001)
    assert spoons["us_tbsp"] == pytest.approx(14.7868 * 1.2, abs=0.001)


def test_one_recipe_is_23_or_40_grams_by_the_spoon(capsys: Capture) -> None:
    """8 tbsp per gallon: 31.25 mL/L, so 23.4 g/L at 11.1 g a spoon and 39.9 at 18.9."""
    dose = ("--dose=8 tbsp per gallon", "--kinds=us,us,us")
    light = reckoned(capsys, "spoon", "--ten-spoons-g=111", *dose)["dose_g_per_l"]
    heavy = reckoned(capsys, "spoon", "--ten-spoons-g=189", *dose)["dose_g_per_l"]

    assert light["middle"] == pytest.approx(8 * 11.1 / 3.785411784, rel=1e-4)
    assert as_printed(heavy["middle"], "39.9")
    assert light["high"] == pytest.approx(1.05 * light["middle"], rel=1e-3)


@pytest.mark.parametrize(
    "row",
    [one for one in rows("paper_weight_examples") if one["mark"] == "computed"],
    ids=lambda r: f"{r['grade']}-{r['lb']}",
)
def test_pounds_are_turned_into_grams_and_back(row: dict[str, str], capsys: Capture) -> None:
    """80 lb is 118 g/m2 of text and 216 of cover."""
    there = reckoned(capsys, "gsm", f"--lb={row['lb']}", f"--grade={row['grade']}")
    back = reckoned(capsys, "gsm", f"--g-per-m2={row['g_per_m2']}")

    assert as_printed(there["weight_g_per_m2"], row["g_per_m2"])
    assert back["basis_weight_lb"][row["grade"]] == pytest.approx(float(row["lb"]), rel=1e-4)
    assert there["area_m2"] is None


@pytest.mark.parametrize(
    "row", [one for one in rows("paper_formats") if one["area_m2"]], ids=lambda r: r["area_m2"]
)
def test_a_named_sheet_has_its_printed_area(row: dict[str, str], capsys: Capture) -> None:
    """ISO 216, US sheets and the cuts of the trade; five sheets weigh five times one."""
    told = reckoned(
        capsys, "gsm", f"--format={row['sheet_format']}", "--g-per-m2=100", "--sheets=5"
    )

    assert told["area_m2"] == pytest.approx(float(row["area_m2"]), abs=0.00005)
    assert told["sheets_g"] == pytest.approx(500 * float(row["area_m2"]), abs=0.01)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((*START, "--hot=95 C", "--target=40 C"), "--hot: must be at most 60, .*as --jug$"),
        ((*START, "--hot=38 C", "--target=40 C"), "--target: must be over 12, .* under 38"),
        ((*START, "--hot=10 C", "--hot-percent=50"), "--cold: must be from 0 to under 10"),
        ((*START, "--hot=58 C", "--target=40"), "--target: "),
        ((*START, "--hot=58 C", "--target="), "--target: "),
        ((*START, "--hot=58 C"), "one of the arguments --target --hot-percent is required"),
        ((*START, "--hot=58 C", "--target=40 C", "--jug=20 C"), "--jug: .* from 40 to 100"),
        ((*START, "--hot=58 C", "--hot-percent=100"), "--hot-percent: .* from 1 to 99"),
        (
            ("hot-start", "--water=0 L", "--cold=12 C", "--hot=50 C", "--target=40 C"),
            "--water: must be over 0 and at most 1000",
        ),
        (("soda-form", "--soda=0 g", "--base=lime", "--other=lime"), "--soda: over 0"),
        (("soda-form", "--soda=1 g", "--base=lye", "--other=lime"), "--base: .*choose from"),
        (
            ("soda-form", "--soda=1 g", "--base=lime", "--other=crystals", "--at=40 C"),
            "--at: must be from 0 to 30, is 40",
        ),
        (("spoon", "--ten-spoons-g=0"), "--ten-spoons-g: .* from 1 to 1000"),
        (("spoon", "--ten-spoons-g=5"), "--ten-spoons-g: no powder weighs 0.5 g a level"),
        (("spoon", "--ten-spoons-g=1000"), "no powder weighs 100 g .* Ten spoons, or one"),
        (("spoon", "--ten-spoons-g=111", "--spoon=ladle"), "--spoon: .*choose from"),
        (("spoon", "--ten-spoons-g=111", "--pick=1"), "--pick: goes with --dose"),
        (("spoon", "--ten-spoons-g=111", "--dose=8 tbsp per gallon"), "see coop read"),
        (("gsm",), "say a weight .*, a sheet, or both"),
        (("gsm", "--lb=70"), "--lb: a basis weight means nothing without --grade"),
        (("gsm", "--lb=70", "--grade=silk"), "--grade: .*choose from"),
        (("gsm", "--lb=70", "--g-per-m2=100"), "not allowed with argument"),
        (("gsm", "--width=1 m"), "--width: goes with --length"),
        (("gsm", "--width=1 m", "--length=1 m", "--format=A4"), "--format: says both sides"),
        (("gsm", "--width=9 m", "--length=1 m"), "--width: must be over 0 and at most 3000"),
        (("gsm", "--format=A9"), "--format: .*choose from"),
    ],
)  # fmt: skip
def test_what_cannot_be_reckoned_says_what_would_do(
    arguments: tuple[str, ...], told: str, capsys: Capture
) -> None:
    said = here(capsys, "reckon", *arguments)

    assert said.code == MISUSE
    assert said.out == ""
    assert re.search(told, said.err), said.err
