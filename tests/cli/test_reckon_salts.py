"""`coop reckon` about salts of alum: other salts, cold stores, hard water, hydrometers."""

import re
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from coop.cli.reckon_salts import QUESTIONS
from coop.rules.cautions import GROWS_HOT
from coop.science import alum
from tests.cli.said import here
from tests.science.handbook import as_printed, rows

Capture = pytest.CaptureFixture[str]
POTASH = "--salt=potash_alum"


def reckoned(capsys: Capture, what: str, *arguments: str) -> Any:
    said = here(capsys, "reckon", what, "--json", *arguments)
    assert said.code == FINE, said.err
    return said.json


@pytest.mark.parametrize("row", rows("alum_per_gram"), ids=lambda row: row["salt"])
def test_a_gram_of_each_salt_is_so_much_potash_alum(
    row: dict[str, str], capsys: Capture
) -> None:
    """The table's last column, from atomic masses apart from this code."""
    told = reckoned(
        capsys, "equal-salt", "--alum=1000 g", f"--salt={row['salt']}", "--other=potash_alum"
    )

    assert as_printed(told["other_salt_g"] / 1000, row["as_potash_alum"])
    assert as_printed(told["al_g"] / 1000, row["al_g"])
    assert as_printed(told["al_mmol"] / 1000, row["al_mmol"])


def test_no_sum_about_salts_ends_without_its_cautions() -> None:
    """Whoever asks what crystallises is about to weigh, or to stir a tub up again."""
    assert all(one.act for one in QUESTIONS.values())


@pytest.mark.parametrize(("salt", "says"), [("anhydrous", True), ("18", False)])
def test_anhydrous_salt_comes_with_a_caution_of_its_own(
    salt: str, capsys: Capture, *, says: bool
) -> None:
    """It warms its water instead of cooling it, and may spit."""
    asked = ("--dose=40 g/L", "--water=10 L", f"--salt=aluminium_sulfate_{salt}")
    told = reckoned(capsys, "mix", *asked)["cautions"]

    assert (told[0]["code"] == GROWS_HOT) is says


def test_the_same_weight_of_potash_alum_is_a_cut_of_37_per_cent(capsys: Capture) -> None:
    """Common figure of the trade, computed; nobody should find it out on the paper."""
    asked = ("--alum=100 g", "--salt=aluminium_sulfate_14", "--other=potash_alum")

    assert (
        "the same grams would hold: 37 % less aluminium"
        in here(capsys, "reckon", "equal-salt", *asked).out
    )
    assert reckoned(capsys, "equal-salt", *asked)["times"] == pytest.approx(1.6, abs=0.005)


@pytest.mark.parametrize("salt", alum.SALTS)
def test_every_salt_has_a_name_for_people(salt: str, capsys: Capture) -> None:
    """The same salt for itself: as much aluminium, whatever it is called."""
    said = here(
        capsys, "reckon", "equal-salt", "--alum=1 lb", f"--salt={salt}", f"--other={salt}"
    )

    assert said.code == FINE
    assert re.search(r"^take: 453\.6 g of (aluminium sulfate|potash|ammonium)", said.out)
    assert "the same grams would hold: as much aluminium" in said.out


@pytest.mark.parametrize(
    ("strength", "store", "falls_g_per_l", "clear"),
    [
        ("125", "10 C", 49, "down to 23 °C"),
        ("62.5", "10 C", 0, "down to 4 °C"),
        ("50", "0 C", 0, "down to 0 °C"),
        ("250", "20 C", 136, "not even at 40 °C"),
    ],
)
def test_recipes_of_the_trade_in_a_cold_store(
    strength: str, store: str, falls_g_per_l: float, clear: str, capsys: Capture
) -> None:
    """Two, one and four tablespoons a cup; 76 and 114 g/L dissolve at 10 and 20 C (Perry)."""
    asked = (f"--strength={strength}", POTASH, f"--store={store}", "--litres=10 L")
    told = reckoned(capsys, "crystals", *asked)

    assert told["crystals_g_per_l"] == pytest.approx(falls_g_per_l, abs=0.6)
    assert told["crystals_g"] == pytest.approx(10 * told["crystals_g_per_l"], abs=0.01)
    assert (
        f"all of it stays dissolved: {clear}" in here(capsys, "reckon", "crystals", *asked).out
    )


def test_a_store_may_be_said_in_fahrenheit(capsys: Capture) -> None:
    """50 F is 10 C."""
    told = reckoned(capsys, "crystals", "--strength=125", POTASH, "--store=50 F")

    assert told["store_c"] == 10
    assert told["crystals_g"] is None


@pytest.mark.parametrize(
    ("strength", "near"),
    [(60, " %"), (80, " %, over 60 %: start hot"), (125, " %: some falls out")],
)
def test_a_mix_says_what_falls_out_in_the_words_of_a_cold_store(
    strength: int, near: str, capsys: Capture
) -> None:
    """Either question may be the one that is asked before it is mixed."""
    mixed = here(capsys, "reckon", "mix", f"--dose={strength} g/L", "--water=10 L", POTASH)
    store = ("crystals", f"--strength={strength}", POTASH, "--store=20 C")
    stored = here(capsys, "reckon", *store)
    (line,) = [one for one in mixed.out.splitlines() if one.startswith("of what dissolves")]

    assert re.fullmatch(r"of what dissolves at 20 °C: \d+" + re.escape(near), line)
    assert line in stored.out


def test_hard_water_takes_a_tenth_of_a_weak_bath(capsys: Capture) -> None:
    """150 mg/L as chalk, 5 g/L: 0.474 g/L, 9.5 %, computed apart from this code."""
    told = reckoned(capsys, "hardness", "--alkalinity=150", "--strength=5", POTASH)

    assert as_printed(told["salt_spent_g_per_l"], "0.474")
    assert as_printed(100 * told["spent_fraction"], "9.5")
    assert told["soda"] is None


def test_softened_water_and_washing_soda_tell_of_sodium(capsys: Capture) -> None:
    """1.06 g/L of anhydrous soda is the 20 mmol/L that Rivera del Rio et al. 2017 tried."""
    asked = (
        "--alkalinity=150", "--strength=30", POTASH, "--softened=300", "--soda=1.06",
        "--base=anhydrous",
    )  # fmt: skip
    told = reckoned(capsys, "hardness", *asked)
    lines = here(capsys, "reckon", "hardness", *asked).out

    assert as_printed(told["softener_sodium_mmol_per_l"], "6.0")
    assert as_printed(told["soda"]["sodium_mmol_per_l"], "20.0")
    assert told["soda"]["salt_destroyed_g_per_l"] == pytest.approx(1.06 / 0.3351, rel=0.001)
    assert "softened: 6 mmol/L of sodium; the alkalinity stays as it was" in lines
    assert "at 2.1 g/L in pure water, at 3.8 with 20 mmol/L" in lines


@pytest.mark.parametrize(
    ("reading", "sg", "baume", "twaddell"),
    [
        ("1.335", "1.335", "36.4", "67.0"),  # liquor of the works: Hendricks, appendix F
        ("1.021", "1.021", "2.98", "4.2"),  # a trap of the trade prints 2.9 and 4.2
        ("4.2 Tw", "1.0210", "2.98", "4.2"),
        ("36.4 Bé", "1.335", "36.4", "67.0"),
    ],
)
def test_one_gravity_on_three_scales(
    reading: str, sg: str, baume: str, twaddell: str, capsys: Capture
) -> None:
    """145 / (145 - Be) and 1 + Tw / 200; 1.335 is 36.4 degrees Baume in print."""
    told = reckoned(capsys, "gravity", f"--reading={reading}")

    assert as_printed(told["sg"], sg)
    assert as_printed(told["baume"], baume)
    assert as_printed(told["twaddell"], twaddell, digits=1.5)
    assert told["strength_g_per_l"] is None


@pytest.mark.parametrize("row", rows("gravity_potash_alum")[1:6], ids=lambda r: r["sg_20_20"])
def test_any_scale_leads_to_the_same_strength(row: dict[str, str], capsys: Capture) -> None:
    """Laliberte and Cooper 2004: the strength of a gravity, said in Twaddell as well."""
    degrees = 200 * (float(row["sg_20_20"]) - 1)
    asked = (POTASH, "--at=20 C", "--scale=20 C")
    told = reckoned(capsys, "gravity", f"--reading={degrees:.3f} Tw", *asked)
    by_sg = reckoned(capsys, "strength", f"--sg={row['sg_20_20']}", POTASH, "--at=20 C")

    found = told["strength_g_per_l"]
    assert found["middle"] == pytest.approx(by_sg["strength_g_per_l"]["middle"], abs=0.02)
    expected_g_per_l = 0.9982 * float(row["g_per_kg_water"])
    assert found["low"] < expected_g_per_l < found["high"]


def test_a_hydrometer_in_degrees_is_taken_for_one_made_at_sixty_fahrenheit(
    capsys: Capture,
) -> None:
    told = reckoned(capsys, "gravity", "--reading=2.9 Be")

    assert as_printed(told["scale_c"], "15.56")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("equal-salt", "--alum=100", POTASH, "--other=ammonium_alum"), "--alum: "),
        (("equal-salt", "--alum=0 g", POTASH, "--other=ammonium_alum"), "--alum: over 0 and"),
        (("equal-salt", "--alum=9 L", POTASH, "--other=ammonium_alum"), "--alum: "),
        (("equal-salt", "--alum=1 g", POTASH, "--other=alum"), "--other: .*choose from"),
        (("crystals", "--strength=0", POTASH, "--store=8 C"), "--strength: .* from 0.1 to"),
        (
            ("crystals", "--strength=50", POTASH, "--store=45 C"),
            "--store: must be from 0 to 40 C, is 45 C",
        ),
        (("crystals", "--strength=50", POTASH, "--store=8"), "--store: "),
        (("crystals", "--strength=50", POTASH, "--store=8 C", "--litres="), "--litres: "),
        (("hardness", "--alkalinity=-1", "--strength=5", POTASH), "--alkalinity"),
        (
            ("hardness", "--alkalinity=9", "--strength=5", POTASH, "--soda=2"),
            "--soda: goes with --base, as --soda 2 --base crystals",
        ),
        (
            (
                "hardness", "--alkalinity=9", "--strength=5", "--salt=ammonium_alum",
                "--soda=2", "--base=crystals",
            ),
            "--soda: never with ammonium alum, it gives off ammonia gas",
        ),
        (("gravity", "--reading=2.9"), "--reading: .*; as '1.021', '2.9 Be' or '4.2 Tw'"),
        (("gravity", "--reading=1.9"), "--reading: "),
        (("gravity", "--reading=1.021", POTASH), "--salt: goes with --at"),
        (("gravity", "--reading=1.021", POTASH, "--at=68 C"), "--at: must be from 0 to 40"),
        (
            ("gravity", "--reading=1.021", "--salt=ammonium_alum", "--at=20 C"),
            "--salt: no density curve for ammonium_alum; make a strip print$",
        ),
        (
            ("gravity", "--reading=SG 1.2", POTASH, "--at=20 C"),
            "--salt: a gravity of 1.2.* is no strength of potash_alum; read it again",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_reckoned_says_what_would_do(
    arguments: tuple[str, ...], told: str, capsys: Capture
) -> None:
    said = here(capsys, "reckon", *arguments)

    assert said.code == MISUSE
    assert said.out == ""
    assert re.search(told, said.err), said.err
