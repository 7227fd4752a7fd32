"""`coop reckon`: the keys it promises, and sums that can be checked elsewhere."""

import re
import shlex
from textwrap import dedent
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from coop.cli.figures import plain
from coop.cli.reckon import QUESTIONS
from coop.rules.cautions import CAUTIONS
from coop.store.paths import packaged
from tests.cli.said import here
from tests.science.handbook import as_printed, rows
from tests.support.files import ROOT

KEYS = {
    "strength": {"strength_g_per_l", "salt", "zero_offset_sg", "how_known", "cautions"},
    "mix": {
        "salt_g", "strength_g_per_l", "water_l", "spoon_count", "spoon", "store_c",
        "solubility_fraction", "warn_fraction", "how_known", "cautions",
    },
    "topup": {"before", "after", "to_target", "how_known", "cautions"},
    "sheets-left": {
        "sheet_count", "sheet_count_low", "sheet_format", "method", "how_known", "cautions",
    },
    "gravity": {
        "sg", "baume", "twaddell", "scale_c", "salt", "strength_g_per_l", "how_known",
        "cautions",
    },
    "equal-salt": {
        "salt", "salt_g", "other_salt", "other_salt_g", "times", "al_g", "al_mmol",
        "same_grams_al_fraction", "how_known", "cautions",
    },
    "crystals": {
        "salt", "strength_g_per_l", "store_c", "solubility_fraction", "warn_fraction",
        "dissolves_g_per_l", "dissolved_g_per_l", "crystals_g_per_l", "crystals_g",
        "clear_down_to_c", "how_known", "cautions",
    },
    "hardness": {
        "salt", "strength_g_per_l", "al_spent_mmol_per_l", "salt_spent_g_per_l",
        "spent_fraction", "softener_sodium_mmol_per_l", "soda",
        "carrageenan_overlap_g_per_l", "carrageenan_overlap_salty_g_per_l", "how_known",
        "cautions",
    },
    "hot-start": {
        "hot_l", "hot_c", "cold_l", "cold_c", "mixed_c", "hand_hot_c", "jug_max_c",
        "dissolving_cools_k", "how_known", "cautions",
    },
    "soda-form": {
        "base", "base_g", "other_base", "other_base_g", "times", "at_c", "dissolves_in_l",
        "how_known", "cautions",
    },
    "spoon": {
        "spoon", "bulk_g_per_ml", "spoons_g", "dose", "dose_g_per_l", "how_known", "cautions",
    },
    "gsm": {
        "weight_g_per_m2", "basis_weight_lb", "area_m2", "half_area_m2", "quarter_area_m2",
        "sheet_count", "sheets_g", "how_known", "cautions",
    },
    "cup": {
        "cup", "run_out_s", "viscosity_mm2_per_s", "window_low_s", "window_high_s",
        "holds_at_c", "ratio_to_water", "how_known", "cautions",
    },
    "keeps": {
        "kept_h", "effective_age_h", "ref_c", "mean_kinetic_c", "law", "min_c", "q10",
        "activation_kj_per_mol", "left_to_look_again_h", "left_to_do_not_use_h",
        "how_known", "cautions",
    },
    "warm-days": {
        "age_days", "chilled_days", "chilled_fraction", "warm_days",
        "look_again_at_warm_days", "do_not_use_at_warm_days", "cap_days", "how_known",
        "cautions",
    },
    "faults": {
        "spoiled_sheet_count", "sheet_count", "usual_sheet_count", "chance", "one_time_in",
        "speaks", "speaks_under", "speaks_from_sheet_count", "spoiled_fraction", "how_known",
        "cautions",
    },
    "pickup": {
        "pair_count", "pairs_wanted_count", "more_pairs_wanted_count", "pickup_ml_per_m2",
        "middle_ml_per_m2", "how_known", "cautions",
    },
    "reorder": {
        "lead_use", "lead_use_sd", "service_fraction", "z", "safety_stock", "reorder_point",
        "mean_shortage", "how_known", "cautions",
    },
    "batch": {"order_size", "order_count", "cost", "how_known", "cautions"},
    "forecast": {
        "week_count", "used_week_count", "smoothing", "mean_per_week", "croston_per_week",
        "croston_unbiased_per_week", "fading_per_week", "order_list", "how_known", "cautions",
    },
    "drain": {
        "outcome", "outcome_text", "waste", "outlet", "day", "ask", "steps", "conditions",
        "duties", "measure", "say", "classes", "rules", "recalled", "packs", "how_known",
        "cautions",
    },
    "soda": {
        "salt", "base", "salt_g", "volume_l", "dose_g", "floc_dry_g", "floc_strained_g",
        "sulfate_left_mg_per_l", "gas_l", "bucket_l", "go_count", "each_go",
        "first_may_pass", "outdoors", "steps", "how_known", "cautions",
    },
}  # fmt: skip
ASKED = {
    "strength": ("--sg=1.015", "--at=20 C"),
    "mix": ("--dose=8 tbsp per gallon", "--kinds=us,us,us", "--water=3 gallons"),
    "topup": ("--litres=10.38 L", "--strength=23.5", "--water=3 L", "--target=40"),
    "sheets-left": ("--litres=12 L", "--laying=6 L"),
    "gravity": ("--reading=2.9 Be",),
    "equal-salt": ("--alum=100 g", "--salt=potash_alum", "--other=aluminium_sulfate_14"),
    "crystals": ("--strength=80", "--salt=potash_alum", "--store=20 C"),
    "hardness": ("--alkalinity=150", "--strength=5", "--salt=potash_alum"),
    "hot-start": (
        "--water=4 L",
        "--cold=15 C",
        "--hot=95 C",
        "--hot-percent=25",
        "--jug=100 C",
    ),
    "soda-form": ("--soda=100 g", "--base=bicarbonate", "--other=lime"),
    "spoon": ("--ten-spoons-g=148",),
    "gsm": ("--width=500 mm", "--length=700 mm", "--g-per-m2=100"),
    "cup": ("--cup=iso-4", "--seconds=50"),
    "keeps": ("--kept=8 h@25 C", "--kept=16 h@5 C"),
    "warm-days": ("--room-hours=24", "--chilled-hours=48"),
    "faults": ("--spoiled=7", "--of=40", "--usual=26", "--usual-of=294"),
    "pickup": ("--pairs=" + "1.2:10, 1.68:10, " * 15, "--tub-floor=0.2"),
    "reorder": ("--use=30", "--use-sd=5", "--lead-days=10", "--z=1,65"),
    "batch": ("--use=1300", "--order-cost=8", "--keeping-cost=0.225"),
    "forecast": ("--uses=0 0 2 0 3 0 0 0 1 4 0 2",),
    "drain": (
        "--demo",
        f"--facts={packaged('fixtures')}/drain/old-alum-bath.toml",
        f"--pack={packaged('fixtures')}/rules/ropewalk-sewer.toml",
    ),
    "soda": (
        "--salt=aluminium_sulfate_14",
        "--base=crystals",
        "--litres=5.8 L",
        "--alum=232 g",
    ),
}
FUNNEL = ("cup", "--seconds=18", "--water-seconds=12")
KEPT = ("keeps", "--kept=8 h@25 C")
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
    assert not any("%(" in one["text"] for one in told["cautions"])


@pytest.mark.parametrize(
    ("number", "digits", "said"), [(100, 0, "100"), (100, 2, "100"), (0.5, 2, "0.5")]
)
def test_a_whole_number_keeps_its_zeros(number: float, digits: int, said: str) -> None:
    """Only the zeros behind the point are idle."""
    assert plain(number, digits) == said


@pytest.mark.parametrize("what", QUESTIONS)
def test_help_ends_with_an_example_that_prints_what_it_shows(
    what: str, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever learns by copying a line gets that line's answer, to the last sign."""
    monkeypatch.chdir(ROOT)
    shown = here(capsys, "reckon", what, "--help").out.partition("Example:\n\n")[2]
    example, _, after = shown.partition("\n\n")
    command, *lines = dedent(example).splitlines()
    prompt, program, *arguments = shlex.split(command)

    said = here(capsys, *arguments)

    assert (prompt, program, *arguments[:2]) == ("$", "coop", "reckon", what)
    assert [one for one in said.out.splitlines() if not one.startswith("Caution: ")] == lines
    assert after.strip() == ("Its cautions follow." if "Caution: " in said.out else "")


def test_the_readme_names_every_question_and_no_other() -> None:
    (told,) = re.findall(
        r"^`coop reckon` knows (.*?);", (ROOT / "README.md").read_text(encoding="utf-8"), re.M
    )

    assert re.findall(r"`([a-z-]+)`", told) == [*QUESTIONS]


@pytest.mark.parametrize("what", ["cup", "keeps", "warm-days"])
def test_questions_about_size_come_without_the_cautions_of_alum(
    what: str, capsys: Capture
) -> None:
    """There is no alum in a size that is well; a caution out of place wears out the rest."""
    told = reckoned(capsys, what, *ASKED[what])["cautions"]

    assert told
    assert not any("alum" in one["text"] for one in told)


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
        r"of what dissolves at 20 °C: \d+ %",
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
    "gravity": [
        r"specific gravity: 1\.0204",
        r"degrees Baumé: 2\.9",
        r"degrees Twaddell: 4\.08",
        r"scale made for: 15\.6 °C",
        r"how known: computed: Baume 145 / \(145 - Be\), Twaddell 1 \+ Tw / 200",
    ],
    "equal-salt": [
        r"take: 62\.6 g of aluminium sulfate, 14-hydrate \(papermaker's alum\)",
        r"for: 100 g of potash alum \(pickling alum\)",
        r"aluminium in either: 5\.69 g, 210\.8 mmol",
        "the same grams would hold: 60 % more aluminium",
        "how known: computed from the formulas; reports from the trade differ .*",
    ],
    "crystals": [
        "of what dissolves at 20 °C: 70 %, over 60 %: start hot",
        "stays dissolved: 80 g to a litre of water put in",
        "crystallises: 0 g of it",
        "all of it stays dissolved: down to 12 °C",
        "how known: Perry's Chemical Engineers' Handbook",
    ],
    "hardness": [
        r"the water spends: 1 mmol/L of aluminium, 0\.47 g/L of potash alum .*",
        r"of 5 g/L that is: 9\.5 %",
        "how known: computed, full reaction: the most it can be",
    ],
    "hot-start": [
        "cold, first: 3 L at 15 °C",
        "hot, into it: 1 L at 95 °C, in a jug for 100 °C",
        r"together: 34\.4 °C, not over hand-hot \(45 °C\)",
        "how known: a heat balance by mass; the vessel takes some of it",
    ],
    "soda-form": [
        r"take: 44\.1 g of hydrated lime",
        "for: 100 g of baking soda.*",
        r"times the grams: 0\.44",
        "how known: computed from the formulas, of pure and unopened forms",
    ],
    "spoon": [
        "bulk density: 1 g/mL",
        r"a level US tablespoon: 14\.8 g",
        r"a level US teaspoon: 4\.9 g",
        r"a level imperial tablespoon: 17\.8 g",
        r"a level imperial teaspoon: 5\.9 g",
        "a level metric tablespoon: 15 g",
        "a level metric teaspoon: 5 g",
        "a level Australian tablespoon: 20 g",
        "how known: ten level spoons weighed, give or take 5 %",
    ],
    "gsm": [
        "weight: 100 g/m²",
        r"basis weight in lb: bond 26\.6, cover 37, text 67\.6, tag 61\.4, index 55\.3, "
        r"bristol 45\.6, blotting 32\.4, board 20\.5",
        r"full sheet: 0\.35 m²",
        r"half sheet: 0\.175 m²",
        r"quarter sheet: 0\.0875 m²",
        "a full sheet weighs: 35 g",
        "how known: as given; printed weights hold to a few per cent",
    ],
    "cup": [
        r"viscosity: 64\.5 mm²/s \(indicative\)",
        "cup: iso-4, good from 30 to 100 s at 23 °C",
        "how known: timed; mm2/s is indicative, for size is shear-thinning",
    ],
    "keeps": [
        "kept: 24 h",
        r"as old as: 14\.9 h at 20 °C \(square-root law, nothing grows under -10 °C\)",
        r"mean kinetic temperature: 16\.9 °C",
        r"days left at 20 °C: 3\.4 until look again, 5\.4 until do not use",
        "how known: a borrowed law: no rate of marbling size is published",
    ],
    "warm-days": [
        "age in days: 3, chilled 2",
        r"like: 1\.4 warm days \(a chilled day counts 0\.2\)",
        "look again at 4 warm days, do not use at 6, never past 10 days from making",
        "how known: usual figures of the trade, no source",
    ],
    "faults": [
        r"spoiled: 7 of 40: about 18 % \(10 to 29\)",
        r"usual here: about 3\.5 of 40",
        "so many or more by chance: one time in 12",
        r"worth telling: no \(yes under one time in 20, from 4 sheets\)",
        "how known: as counted",
    ],
    "pickup": [
        r"this paper takes: about 144 mL/m² \(120 to 173\)",
        "its middle: 134 to 155 mL/m²",
        "pairs: 30",
        "how known: from level readings",
    ],
    "reorder": [
        r"order at: 326\.09, of it 26\.09 for bad luck",
        r"used until it arrives: 300, give or take 15\.81 \(standard deviation\)",
        r"standard deviations kept: 1\.65",
        r"short by the time it arrives, on average: 0\.3263",
        "how known: as given, in the unit of the use",
    ],
    "batch": [
        r"order at a time: 304\.05",
        r"orders in the span: 4\.28",
        r"ordering and keeping cost in it: 68\.41",
        "how known: as given, in the unit of the use; pack sizes and shelf life are not "
        "looked at",
    ],
    "forecast": [
        "weeks: 12, with use in 5",
        "mean: 1 a week",
        r"Croston: 0\.7961 a week, 0\.7563 with its bias off",
        r"falling when use stops \(Teunter, Syntetos and Babai\): 0\.7395 a week",
        r"the order list says: 1\.5 a week, by the figure that falls, for some was used in "
        r"4 of 8 weeks, every 2 weeks: over 1\.32",
        "how known: as given, in the unit of the use",
    ],
    "drain": [
        r"Not yet: treat it, then measure again\.",
        "steps: strain it through cloth; keep the solids out of the drain",
        "fails: ropewalk-sewer/alum-ph; pH: from 6 to 10; found 3.5; .*",
        "holds: permission; .*",
        "holds: ropewalk-sewer/alum-a-day; volume: at most 20 L; together 10.5 L; .*",
        "how known: as given; your local authority decides",
    ],
    "soda": [
        r"take: about 335 g of soda crystals \(10-hydrate\) \(319 to 352\) for 232 g of alum",
        "bucket: 18 L",
        r"weigh: 255 \+ 21 \+ 21 \+ 21 \+ 17 = 335 g, on a scale that shows 1 g",
        "gas: about 28 L of carbon dioxide",
        "floc: 610 to 3000 g off the cloth, 61 to 100 g dry",
        "sulfate left: up to 19400 mg/L; neutralising does not take it away",
        *[rf"{number}\. .+" for number in range(1, 10)],
        "how known: as given; your local authority decides",
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

    assert not re.search(r'(?<!_per)_(ml|kg|mg|cm|mm)"', said)


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
        capsys, "gsm", "--width=25 in", "--length=38 in", f"--lb={row['lb']}", "--grade=text"
    )
    decimals = len(row["g_per_m2"].partition(".")[2])

    assert round(told["weight_g_per_m2"], decimals) == float(row["g_per_m2"])


def test_half_a_full_sheet_is_half_its_area(capsys: Capture) -> None:
    told = reckoned(capsys, "gsm", *ASKED["gsm"])

    assert (told["area_m2"], told["half_area_m2"], told["sheets_g"]) == (0.35, 0.175, 35.0)


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
        (("strength", "--sg=1.01", "--at=20 C", "--salt=ammonium_alum"), "make a strip print$"),
        (("strength", "--sg=9", "--at=20 C"), "must lie from 0.9 to 1.3$"),
        (("strength", "--sg=12", "--at=20 C"), "must lie from 0.9 to 1.3$"),
        (("strength", "--sg=weak", "--at=20 C"), "a number from 0.9 to 1.3$"),
        (("strength", "--sg=1.02", "--at=60 C"), "--at: must be from 0 to 40 C, is 60 C$"),
        (
            ("strength", "--sg=1.02", "--at=20 C", "--zero-sg=1", "--zero-at=60 C"),
            "--zero-at: must be from 0 to 40 C, is 60 C$",
        ),
        ((*TOP_UP, "--water=3 L", "--brim=13 L"), "13 L fit, it would be 13.4 L"),
        ((*TOP_UP, "--brim=10 L"), "10 L fit, it would be 10.4 L"),
        ((*TOP_UP, "--goal=17 L", "--target=40", "--brim=16 L"), "16 L fit, .* be 17 L"),
        (("cup", "--cup=ford-4", "--seconds=16"), "Ford cup 4 holds from 20 to 100 s, is 16"),
        (("cup", "--cup=jar", "--seconds=50"), "choose from 'iso-3', "),
        (("cup", "--cup=iso-4", "--seconds=50", "--at=20 C"), "--at: a standard cup holds at"),
        (("cup", "--seconds=50"), "one of the arguments --cup --water-seconds is required"),
        ((*FUNNEL,), "--water-seconds: means nothing without --at, as --at '20 C'"),
        ((*FUNNEL, "--at=26 C"), "--at: must be from 18 to 22, is 26"),
        (("keeps", "--kept=8 h"), "say hours@temperature, as '8 h@25 C'$"),
        (("keeps", "--kept=x@25 C"), "a number from 0 to 8784; say hours@temperature"),
        (("keeps", "--kept=8 h@25"), "a number of what.*; say hours@temperature"),
        (("keeps", "--kept=8 h@80 C"), "--kept: must be from -20 to 60, is 80"),
        (("keeps", "--kept=0 h@20 C"), "hours together: must be over 0"),
        ((*KEPT, "--law=q10", "--constant=0.5"), "--constant: must be from 1 to 10, is 0.5"),
        ((*KEPT, "--constant=20"), "ref_c: must be over min_c, 20"),
        ((*KEPT, "--law=arrhenius", "--constant=0.5"), "--constant: must be from 1 to 200"),
        (("warm-days", "--room-hours=9000"), "must lie from 0 to 8784$"),
        (("warm-days", "--room-hours=1", "--chilled-fraction=2"), "must lie from 0 to 1$"),
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


@pytest.mark.parametrize(
    "row", rows("cup_vectors"), ids=lambda r: f"{r['cup']}-{r['run_out_s']}"
)
def test_a_cup_is_read_as_printed(row: dict[str, str], capsys: Capture) -> None:
    """Worked conversions of ISO 2431, DIN 53211, ASTM D1200 and D4212, to their last digit."""
    told = reckoned(capsys, "cup", f"--cup={row['cup']}", f"--seconds={row['run_out_s']}")

    assert as_printed(told["viscosity_mm2_per_s"], row["nu_mm2_per_s"])
    assert told["window_low_s"] <= float(row["run_out_s"]) <= told["window_high_s"]
    assert "indicative" in told["how_known"]


def test_a_funnel_of_no_standard_is_held_against_water(capsys: Capture) -> None:
    """18 s of size where water takes 12 s; a jam funnel has no mm2/s."""
    told = reckoned(capsys, *FUNNEL, "--at=20 C")

    assert told["ratio_to_water"] == 1.5
    assert told["viscosity_mm2_per_s"] is None


def test_a_person_reads_how_a_funnel_compares(capsys: Capture) -> None:
    said = here(capsys, "reckon", *FUNNEL, "--at=20 C")

    assert "runs out: 1.5 times as long as water\n" in said.out


@pytest.mark.parametrize(
    "row", rows("keeping_effective_age"), ids=lambda r: f"{r['law']} {r['constant']}"
)
def test_a_size_is_as_old_as_the_laws_say(row: dict[str, str], capsys: Capture) -> None:
    """8 h at 25 C and 16 h at 5 C, run apart from this code; what is left counts from there."""
    told = reckoned(
        capsys, "keeps", *ASKED["keeps"], f"--law={row['law']}", f"--constant={row['constant']}"
    )

    assert as_printed(told["effective_age_h"], row["effective_h"])
    assert told["left_to_look_again_h"] == pytest.approx(4 * 24 - told["effective_age_h"])
    assert told["left_to_do_not_use_h"] == pytest.approx(6 * 24 - told["effective_age_h"])


@pytest.mark.parametrize("row", rows("keeping_mean_kinetic"), ids=lambda row: row["kept"])
def test_its_mean_kinetic_temperature_is_that_of_usp(
    row: dict[str, str], capsys: Capture
) -> None:
    kept = [f"--kept={one.replace('@', ' h@')} C" for one in row["kept"].split()]

    told = reckoned(capsys, "keeps", *kept)

    assert as_printed(told["mean_kinetic_c"], row["mean_kinetic_c"])


@pytest.mark.parametrize(
    ("law", "says"),
    [("q10", "2.5 times faster for 10 °C more"), ("arrhenius", "energy 83.144 kJ/mol")],
)
def test_a_person_reads_which_law_was_taken(law: str, says: str, capsys: Capture) -> None:
    said = here(capsys, "reckon", *KEPT, f"--law={law}")

    assert says in said.out


@pytest.mark.parametrize(
    ("kept", "left_h"),
    [
        ("--kept=216 h@0 C", 24),  # nine days, aged by one: a day to the cap of ten
        ("--kept=240 h@0 C", 0),  # ten days: the cap
        ("--kept=96 h@30 C", 0),  # four days in the heat: long past
    ],
)
def test_no_cold_keeps_a_size_past_its_cap(kept: str, left_h: float, capsys: Capture) -> None:
    """At 0 C the square-root law gives a ninth of the rate; the cap stands all the same."""
    told = reckoned(capsys, "keeps", kept)

    assert told["left_to_do_not_use_h"] == pytest.approx(left_h)


def test_warm_days_count_the_cold_for_less(capsys: Capture) -> None:
    """24 h warm and 48 h chilled, by hand: 1 + 2 x 0.2; at a half 1 + 2 x 0.5."""
    told = reckoned(capsys, "warm-days", *ASKED["warm-days"])
    other = reckoned(capsys, "warm-days", *ASKED["warm-days"], "--chilled-fraction=0,5")

    assert told["warm_days"] == pytest.approx(1.4)
    assert other["warm_days"] == pytest.approx(2)
