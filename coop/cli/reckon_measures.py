"""`coop reckon hot-start`, `soda-form`, `spoon`, `gsm`: from one measure to another."""

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from typing import Final

from coop.actions.reckon import Range
from coop.cli.figures import about, plain
from coop.cli.reckon_soda import base_name
from coop.cli.reckoning import (
    SPOONS_MAX_G,
    Answer,
    Question,
    add_dose,
    amount,
    bulk_of_spoons,
    figure,
    in_celsius,
    in_ml,
    options,
    ranged,
    rounded,
    stated,
    whole,
)
from coop.science import hot_start, neutralising, paper, soda
from coop.science.defaults import value
from coop.units.strength import Statement
from coop.units.table import UNITS

PERCENT_MIN, PERCENT_MAX = 1, 99
SHEETS_MAX: Final = 100_000
SODA_MAX_KG: Final = soda.WEIGHT_MAX_G / 1000
SPOONS: Final = tuple(code for code in UNITS if code.endswith(("_tbsp", "_tsp")))
"""Every spoon there is."""


def _ask_hot_start(asked: ArgumentParser) -> None:
    asked.add_argument("--water", required=True, metavar="'10 L'", help="hot and cold together")
    asked.add_argument("--cold", required=True, metavar="'12 C'", help="the cold water")
    asked.add_argument("--hot", required=True, metavar="'58 C'", help="the hot water")
    wanted = asked.add_mutually_exclusive_group(required=True)
    wanted.add_argument("--target", metavar="'40 C'", help="what they are to be together")
    wanted.add_argument(
        "--hot-percent", metavar="PERCENT", type=figure(PERCENT_MIN, PERCENT_MAX),
        help="or: so much of the litres is hot",
    )  # fmt: skip
    asked.add_argument(
        "--jug", metavar="'60 C'", default=f"{hot_start.HDPE_HOT_C:g} C",
        help=f"hottest liquid for the jug (default: HDPE, {hot_start.HDPE_HOT_C:g} C)",
    )  # fmt: skip
    asked.add_argument(
        "--potash-alum", metavar="G_PER_L", type=figure(0, hot_start.DOSE_MAX_G_PER_L),
        help="potash alum to dissolve in it, which cools it",
    )  # fmt: skip


def _reckon_hot_start(given: Namespace) -> Answer:
    target_c = None if given.target is None else in_celsius(given, "target")
    with options(
        total_l="water", cold_c="cold", hot_c="hot", target_c="target", jug_max_c="jug"
    ):
        found = hot_start.hot_start(
            total_l=in_ml(given, "water") / 1000,
            cold_c=in_celsius(given, "cold"),
            hot_c=in_celsius(given, "hot"),
            target_c=target_c,
            hot_fraction=given.hot_percent and given.hot_percent / 100,
            jug_max_c=in_celsius(given, "jug"),
        )
    cools = None
    if given.potash_alum is not None:
        cooling = hot_start.potash_alum_cools(dose_g_per_l_water=given.potash_alum)
        cools = {"low": rounded(cooling.least_k), "high": rounded(cooling.most_k)}
    return {
        "hot_l": rounded(found.hot_l),
        "hot_c": rounded(in_celsius(given, "hot")),
        "cold_l": rounded(found.cold_l),
        "cold_c": rounded(in_celsius(given, "cold")),
        "mixed_c": rounded(found.mixed_c),
        "hand_hot_c": value("hand_hot_water_c"),
        "jug_max_c": rounded(in_celsius(given, "jug")),
        "dissolving_cools_k": cools,
        "how_known": "a heat balance by mass; the vessel takes some of it",
    }


def _hot_start_lines(told: Answer) -> list[str]:
    hand_hot = plain(told["hand_hot_c"], 1)
    stir = (
        f"over hand-hot ({hand_hot} °C), hands stay out"
        if told["mixed_c"] > told["hand_hot_c"]
        else f"not over hand-hot ({hand_hot} °C)"
    )
    lines = [
        f"cold, first: {plain(told['cold_l'])} L at {plain(told['cold_c'], 1)} °C",
        f"hot, into it: {plain(told['hot_l'])} L at {plain(told['hot_c'], 1)} °C, in a jug "
        f"for {plain(told['jug_max_c'], 1)} °C",
        f"together: {plain(told['mixed_c'], 1)} °C, {stir}",
    ]
    cools = told["dissolving_cools_k"]
    if cools is None:
        return lines
    return [
        *lines,
        f"dissolving cools it by: {plain(cools['low'], 1)} to {plain(cools['high'], 1)} °C",
    ]


def _ask_soda_form(asked: ArgumentParser) -> None:
    asked.add_argument("--soda", required=True, metavar="'124 g'", help="what is asked for")
    for name, told in (("--base", "the form it means"), ("--other", "the form in the jar")):
        asked.add_argument(
            name, choices=tuple(neutralising.BASES), required=True, metavar="BASE",
            help=f"{told}: {', '.join(neutralising.BASES)}",
        )  # fmt: skip
    asked.add_argument(
        "--at", default="20 C", metavar="'20 C'", help="water to dissolve it in (default 20 C)"
    )


def _reckon_soda_form(given: Namespace) -> Answer:
    grams = float(amount(given, "soda", "mass").base)
    if not 0 < grams <= soda.WEIGHT_MAX_G:
        raise ValueError(f"--soda: over 0 and at most {SODA_MAX_KG:g} kg, as '124 g'")
    other_g = soda.same_alkalinity_g(weight_g=grams, base=given.base, other_base=given.other)
    at_c = in_celsius(given, "at")
    dissolves_in_kg = None
    if given.other in soda.SODIUM_PER_MOL:
        with options(liquid_c="at"):
            dissolves_in_kg = other_g / soda.soda_solubility_g_per_kg_water(
                base=given.other, liquid_c=at_c
            )
    return {
        "base": given.base,
        "base_g": rounded(grams),
        "other_base": given.other,
        "other_base_g": rounded(other_g),
        "times": rounded(other_g / grams),
        "at_c": rounded(at_c),
        "dissolves_in_l": dissolves_in_kg and rounded(dissolves_in_kg),
        "how_known": "computed from the formulas, of pure and unopened forms",
    }


def _soda_form_lines(told: Answer) -> list[str]:
    lines = [
        f"take: {plain(told['other_base_g'], 1)} g of {base_name(told['other_base'])}",
        f"for: {plain(told['base_g'], 1)} g of {base_name(told['base'])}",
        f"times the grams: {plain(told['times'])}",
    ]
    if told["dissolves_in_l"] is None:
        return lines
    water = f"{plain(told['dissolves_in_l'])} L of water at {plain(told['at_c'], 1)} °C"
    return [*lines, f"dissolves in: {water}, no less"]


def _ask_spoon(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--ten-spoons-g", type=figure(1, SPOONS_MAX_G), metavar="GRAMS", required=True,
        help="weight of ten level spoons of this powder",
    )  # fmt: skip
    asked.add_argument(
        "--spoon", choices=SPOONS, default="us_tbsp", metavar="SPOON",
        help=f"which spoon: {', '.join(SPOONS)} (default: us_tbsp)",
    )  # fmt: skip
    add_dose(asked, required=False)


def _reckon_spoon(given: Namespace) -> Answer:
    if given.dose is None and given.pick is not None:
        raise ValueError("--pick: goes with --dose, as --dose '8 tbsp per gallon'")
    bulk = bulk_of_spoons(given.ten_spoons_g, given.spoon)
    statement = stated(given, bulk) if given.dose is not None else None
    return {
        "spoon": given.spoon,
        "bulk_g_per_ml": rounded(float(bulk.middle_g_per_ml)),
        "spoons_g": {
            code: rounded(float(bulk.middle_g_per_ml * UNITS[code].factor)) for code in SPOONS
        },
        "dose": given.dose,
        "dose_g_per_l": statement and _dose(statement),
        "how_known": "ten level spoons weighed, give or take "
        f"{100 * value('lot_spoon_fraction'):g} %",
    }


def _dose(statement: Statement) -> Answer:
    found = statement.g_per_l
    return ranged(
        Range(low=float(found.low), middle=float(found.middle), high=float(found.high))
    )


def _spoon_lines(told: Answer) -> list[str]:
    lines = [
        f"bulk density: {plain(told['bulk_g_per_ml'])} g/mL",
        *(
            f"a level {UNITS[code].one}: {plain(grams, 1)} g"
            for code, grams in told["spoons_g"].items()
        ),
    ]
    if told["dose_g_per_l"] is None:
        return lines
    return [*lines, f"{told['dose']}: {about(told['dose_g_per_l'], 'g/L')}"]


def _ask_gsm(asked: ArgumentParser) -> None:
    weight = asked.add_mutually_exclusive_group()
    weight.add_argument(
        "--g-per-m2", metavar="G_PER_M2", help="weight of the paper",
        type=figure(1, paper.WEIGHT_MAX_G_PER_M2),
    )  # fmt: skip
    weight.add_argument(
        "--lb", metavar="LB", help="or: its US basis weight; goes with --grade",
        type=figure(1, paper.BASIS_WEIGHT_MAX_LB),
    )  # fmt: skip
    asked.add_argument(
        "--grade", choices=tuple(paper.GRADES), metavar="GRADE",
        help=f"of the basis weight: {', '.join(paper.GRADES)}",
    )  # fmt: skip
    asked.add_argument(
        "--format", choices=tuple(paper.SHEET_FORMATS), metavar="FORMAT",
        help=f"of the full sheet: {', '.join(paper.SHEET_FORMATS)}",
    )  # fmt: skip
    asked.add_argument("--width", metavar="'500 mm'", help="or: of the full sheet")
    asked.add_argument("--length", metavar="'700 mm'", help="goes with --width")
    asked.add_argument(
        "--sheets", type=whole(1, SHEETS_MAX), default=1, metavar="NUMBER",
        help="how many full sheets (default 1)",
    )  # fmt: skip


def _reckon_gsm(given: Namespace) -> Answer:
    if (given.lb is None) != (given.grade is None):
        raise ValueError("--lb: a basis weight means nothing without --grade, nor it alone")
    weight, area = given.g_per_m2, _area_m2(given)
    if given.lb is not None:
        weight = paper.g_per_m2_from_lb(basis_weight_lb=given.lb, grade=given.grade)
    if weight is None and area is None:
        raise ValueError("say a weight (--g-per-m2, or --lb and --grade), a sheet, or both")
    return {
        "weight_g_per_m2": weight and rounded(weight),
        "basis_weight_lb": weight and _in_lb(weight),
        "area_m2": area and rounded(area),
        "half_area_m2": area and rounded(area / 2),
        "quarter_area_m2": area and rounded(area / 4),
        "sheet_count": given.sheets,
        "sheets_g": weight and area and rounded(weight * area * given.sheets),
        "how_known": "as given; printed weights hold to a few per cent",
    }


def _area_m2(given: Namespace) -> float | None:
    if (given.width is None) != (given.length is None):
        raise ValueError("--width: goes with --length, as --width '500 mm' --length '700 mm'")
    if given.width is None:
        return given.format and paper.sheet_area_m2(sheet_format=given.format)
    if given.format is not None:
        raise ValueError("--format: says both sides already; leave --width and --length out")
    with options(width_mm="width", height_mm="length"):
        return paper.area_m2(
            width_mm=float(amount(given, "width", "length").base),
            height_mm=float(amount(given, "length", "length").base),
        )


def _in_lb(weight_g_per_m2: float) -> Answer:
    return {
        grade: rounded(paper.lb_from_g_per_m2(weight_g_per_m2=weight_g_per_m2, grade=grade))
        for grade in paper.GRADES
    }


def _gsm_lines(told: Answer) -> list[str]:
    lines = []
    if told["weight_g_per_m2"] is not None:
        pounds = (f"{grade} {plain(lb, 1)}" for grade, lb in told["basis_weight_lb"].items())
        lines += [
            f"weight: {plain(told['weight_g_per_m2'])} g/m²",
            f"basis weight in lb: {', '.join(pounds)}",
        ]
    if told["area_m2"] is not None:
        lines += [
            f"full sheet: {plain(told['area_m2'], 4)} m²",
            f"half sheet: {plain(told['half_area_m2'], 4)} m²",
            f"quarter sheet: {plain(told['quarter_area_m2'], 4)} m²",
        ]
    if told["sheets_g"] is None:
        return lines
    count = told["sheet_count"]
    sheets = "a full sheet weighs" if count == 1 else f"{count} full sheets weigh"
    return [*lines, f"{sheets}: {plain(told['sheets_g'], 1)} g"]


QUESTIONS: Mapping[str, Question] = {
    "hot-start": Question(
        "how much hot water to how much cold",
        _ask_hot_start,
        _reckon_hot_start,
        "hot-start",
        _hot_start_lines,
    ),
    "soda-form": Question(
        "the same alkalinity from another form of soda",
        _ask_soda_form,
        _reckon_soda_form,
        "neutralise",
        _soda_form_lines,
    ),
    "spoon": Question(
        "grams in each kind of spoon, from ten that were weighed",
        _ask_spoon,
        _reckon_spoon,
        "weigh-spoons",
        _spoon_lines,
    ),
    "gsm": Question(
        "weight of a paper in g/m2 and in pounds, area and weight of its sheets",
        _ask_gsm,
        _reckon_gsm,
        "",
        _gsm_lines,
    ),
}
