"""`coop reckon WHAT`: the sums of the pages, for one question at a time."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from coop.actions import reckon
from coop.actions.read_dose import bulk_of
from coop.cli.common import FINE, MISUSE, as_json, complain, parser
from coop.cli.read import add_kinds
from coop.ledger.measure import PICKUPS, US_TBSP_ML
from coop.rules.cautions import CAUTIONS
from coop.science import alum, bath_answers
from coop.science.bath import SaltPart
from coop.science.defaults import Z_90, value
from coop.science.paper import area_m2, g_per_m2_from_lb, sheet_area_m2
from coop.units.amount import read_amount
from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.quantity import Quantity

Answer = Mapping[str, Any]
DECIMALS = 4
METRIC = Kinds(gallon="us", cup="metric", spoon="metric")


def run(command: str, arguments: Sequence[str]) -> int:
    """Reckon one thing; --json prints one object with units in its keys."""
    asked = parser(command, "Reckon one thing, with the same sums as the pages.")
    questions = asked.add_subparsers(dest="what", required=True, metavar="what")
    for name, (told, ask, _) in QUESTIONS.items():
        ask(_question(questions, name, told))
    given = asked.parse_args(arguments)
    try:
        answer = QUESTIONS[given.what][2](given)
    except (NotUnderstood, ValueError) as why:
        complain(why)
        return MISUSE
    print(as_json(answer) if given.json else "\n".join(_told(answer)))
    return FINE


def _question(questions: Any, name: str, told: str) -> ArgumentParser:
    made: ArgumentParser = questions.add_parser(name, help=told, description=told)
    made.add_argument("--json", action="store_true", help="one JSON object")
    return made


def _told(answer: Answer) -> list[str]:
    lines = []
    for key, found in answer.items():
        if isinstance(found, Mapping):
            found = ", ".join(f"{name} {figure}" for name, figure in found.items())
        if isinstance(found, list):
            found = ", ".join(map(str, found))
        lines.append(f"{key}: {found}")
    return lines


def _amount(typed: str, dimension: str) -> Quantity:
    return read_amount(typed, METRIC, dimension)


def _ml(typed: str) -> float:
    return float(_amount(typed, "volume").base)


def _round(figure: float) -> float:
    return round(figure, DECIMALS)


def _strength(found: bath_answers.Strength) -> dict[str, float]:
    return {
        "middle_g_per_l": _round(found.middle_g_per_l),
        "low_g_per_l": _round(found.low_g_per_l),
        "high_g_per_l": _round(found.high_g_per_l),
        "volume_l": _round(found.volume_l),
    }


def _salt(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--salt",
        choices=[code for code in alum.SALTS],
        default="aluminium_sulfate_14",
        help="which salt (default: %(default)s)",
    )


def _ask_strength(asked: ArgumentParser) -> None:
    asked.add_argument("--sg", type=float, required=True, help="hydrometer in the bath")
    asked.add_argument("--at", required=True, help='its temperature: "24 C"')
    asked.add_argument("--zero-sg", type=float, help="hydrometer in plain tap water")
    asked.add_argument("--zero-at", default="20 C", help="temperature of that water")
    asked.add_argument("--scale", default="20 C", help="temperature on the scale")
    _salt(asked)


def _reckon_strength(given: Namespace) -> Answer:
    scale_c = float(_amount(given.scale, "temperature").base)
    offset = 0.0
    if given.zero_sg is not None:
        offset = alum.hydrometer_zero(
            reading_sg=given.zero_sg,
            water_c=float(_amount(given.zero_at, "temperature").base),
            scale_c=scale_c,
        )
    found = alum.gravity_strength_g_per_l(
        reading_sg=given.sg,
        liquid_c=float(_amount(given.at, "temperature").base),
        zero_offset_sg=offset,
        scale_c=scale_c,
        salt=given.salt,
    )
    water = alum.strength_of_water_g_per_l(
        strength_g_per_l=found.strength_g_per_l, salt=given.salt
    )
    return {
        "strength_g_per_l": {
            "middle_g_per_l": _round(water),
            "low_g_per_l": _round(max(0.0, water - Z_90 * found.sd_g_per_l)),
            "high_g_per_l": _round(water + Z_90 * found.sd_g_per_l),
        },
        "salt": given.salt,
        "zero_offset_sg": _round(offset),
        "how_known": "tested: specific gravity",
        "cautions": list(CAUTIONS["test"]),
    }


def _ask_mix(asked: ArgumentParser) -> None:
    asked.add_argument("--dose", required=True, help='as written: "8 tbsp per gallon"')
    asked.add_argument("--water", required=True, help='"12 L"')
    asked.add_argument("--ten-spoons-g", type=float, help="weight of ten level tablespoons")
    asked.add_argument("--pick", type=int, help="which reading of a contradictory card, from 1")
    add_kinds(asked)
    _salt(asked)


def _reckon_mix(given: Namespace) -> Answer:
    bulk = bulk_of(None)
    if given.ten_spoons_g:
        density = Fraction(given.ten_spoons_g / 10 / US_TBSP_ML).limit_denominator(10**6)
        doubt = Fraction(str(value("lot_spoon_fraction")))
        bulk = type(bulk)(density * (1 - doubt), density, density * (1 + doubt))
    reading = read_dose(given.dose, given.kinds, bulk)
    if given.pick is not None:
        if not 1 <= given.pick <= len(reading.statements):
            raise ValueError(f"--pick: from 1 to {len(reading.statements)}, please")
        reading = reading.picked(given.pick - 1)
    if reading.g_per_l is None:
        raise ValueError(f"{given.dose}: not settled; see coop read, then --kinds or --pick")
    plan = reckon.plan_mix(reading.statements[0], water_ml=_ml(given.water), salt=given.salt)
    return {
        "salt_g": _range(plan.salt_g),
        "strength_g_per_l": _range(plan.strength_g_per_l),
        "water_ml": _round(plan.water_ml),
        "spoon_count": plan.spoon_count and _round(plan.spoon_count),
        "spoon": plan.spoon or None,
        "solubility_fraction": _round(plan.solubility_fraction),
        "how_known": plan.how,
        "cautions": list(CAUTIONS["mix"]),
    }


def _range(found: reckon.Range) -> dict[str, float]:
    return {
        "low": _round(found.low),
        "middle": _round(found.middle),
        "high": _round(found.high),
    }


def _ask_topup(asked: ArgumentParser) -> None:
    asked.add_argument("--litres", required=True, help='what is in the tub: "10.4 L"')
    asked.add_argument("--strength", type=float, required=True, help="its strength [g/L]")
    asked.add_argument("--doubt", type=float, default=5.0, help="of the strength [%%]")
    asked.add_argument("--water", default="0 L", help="water to add")
    asked.add_argument("--alum", default="0 g", help="salt to add")
    asked.add_argument("--target", type=float, help="strength to come back to [g/L]")
    asked.add_argument("--goal", help="litres to come back to")
    asked.add_argument("--brim", help="litres that the tub holds")
    _salt(asked)


def _reckon_topup(given: Namespace) -> Answer:
    estimate = reckon.estimate_of(
        volume_ml=_ml(given.litres),
        strength_g_per_l=given.strength,
        doubt_fraction=given.doubt / 100,
        salt=given.salt,
    )
    grams = float(_amount(given.alum, "mass").base)
    parts = [SaltPart(grams, value("weighed_fraction") / Z_90)] if grams else []
    change = bath_answers.mending(
        estimate=estimate, water_ml=_ml(given.water), salt_parts=parts
    )
    answer: dict[str, Any] = {
        "before": _strength(change.before),
        "after": _strength(change.after),
    }
    if given.target:
        back = bath_answers.to_target(
            estimate=estimate,
            target_g_per_l=given.target,
            volume_goal_ml=_ml(given.goal) if given.goal else 0.0,
            brim_ml=_ml(given.brim) if given.brim else float("inf"),
        )
        answer["to_target"] = {
            "salt_g": _round(back.salt_g),
            "water_ml": _round(back.water_ml),
            "strength_g_per_l": _round(back.strength_g_per_l),
            "volume_ml": _round(back.volume_ml),
        }
    return answer | {"how_known": "as given", "cautions": list(CAUTIONS["top-up"])}


def _ask_sheets(asked: ArgumentParser) -> None:
    asked.add_argument("--litres", required=True, help='what is in the tub: "12 L"')
    asked.add_argument("--laying", required=True, help='what must stand in it: "6 L"')
    asked.add_argument("--format", choices=("full", "half", "quarter"), default="half")
    asked.add_argument("--method", choices=tuple(PICKUPS), default="dip")
    _salt(asked)


def _reckon_sheets(given: Namespace) -> Answer:
    estimate = reckon.estimate_of(
        volume_ml=_ml(given.litres), strength_g_per_l=40, doubt_fraction=0.05, salt=given.salt
    )
    left = bath_answers.sheets_left(
        estimate=estimate,
        laying_depth_ml=_ml(given.laying),
        sheet_area_m2=sheet_area_m2(sheet_format=given.format),
        pickup_ml_per_m2=PICKUPS[given.method],
    )
    return {
        "sheet_count": left.middle,
        "sheet_count_low": left.low,
        "sheet_format": given.format,
        "method": given.method,
        "how_known": "usual pick-up",
        "cautions": list(CAUTIONS["sheets"]),
    }


def _ask_paper(asked: ArgumentParser) -> None:
    asked.add_argument("--width", required=True, help='"500 mm"')
    asked.add_argument("--length", required=True, help='"700 mm"')
    asked.add_argument("--g-per-m2", type=float, help="weight")
    asked.add_argument("--lb", type=float, help="US basis weight [lb]; with --grade")
    asked.add_argument("--grade", help="bond, text, cover, ...")


def _reckon_paper(given: Namespace) -> Answer:
    weight = given.g_per_m2
    if weight is None and given.lb is not None:
        weight = g_per_m2_from_lb(basis_weight_lb=given.lb, grade=given.grade or "text")
    sheet = area_m2(
        width_mm=float(_amount(given.width, "length").base),
        height_mm=float(_amount(given.length, "length").base),
    )
    return {
        "area_m2": _round(sheet),
        "half_area_m2": _round(sheet / 2),
        "quarter_area_m2": _round(sheet / 4),
        "weight_g_per_m2": weight and round(weight, 2),
        "sheet_g": weight and _round(weight * sheet),
        "how_known": "as given",
    }


QUESTIONS: Mapping[
    str, tuple[str, Callable[[ArgumentParser], None], Callable[[Namespace], Answer]]
] = {
    "strength": ("strength from a hydrometer reading", _ask_strength, _reckon_strength),
    "mix": ("salt for a dose and so much water", _ask_mix, _reckon_mix),
    "topup": ("strength before and after a top-up", _ask_topup, _reckon_topup),
    "sheets-left": ("how many more sheets a tub lays", _ask_sheets, _reckon_sheets),
    "paper": ("area and weight of a sheet", _ask_paper, _reckon_paper),
}
