"""`coop reckon WHAT`: the sums of the pages, for one question at a time."""

from argparse import ArgumentParser, Namespace, RawDescriptionHelpFormatter
from collections.abc import Mapping, Sequence
from textwrap import indent
from typing import Any

from coop.actions import reckon
from coop.actions.read_dose import bulk_of
from coop.cli import (
    figures,
    reckon_drain,
    reckon_faults,
    reckon_measures,
    reckon_salts,
    reckon_size,
    reckon_soda,
    reckon_stock,
)
from coop.cli.common import FINE, MISUSE, as_json, cautions_of, complain, parser
from coop.cli.read import add_kinds
from coop.cli.reckon_examples import EXAMPLES
from coop.cli.reckoning import (
    SPOONS_MAX_G,
    Answer,
    Question,
    add_dose,
    add_salt,
    amount,
    bulk_of_spoons,
    figure,
    in_ml,
    ranged,
    rounded,
    stated,
)
from coop.ledger.measure import PICKUPS
from coop.science import bath_answers
from coop.science.bath import SaltPart
from coop.science.defaults import Z_90, value
from coop.science.paper import sheet_area_m2

STRENGTH_MAX_G_PER_L = 200
DOUBT_MAX_PERCENT = 100
BRIM_SLACK_L = 0.0005


def run(command: str, arguments: Sequence[str]) -> int:
    """Reckon one thing; --json prints one object with units in its keys."""
    asked = parser(
        command,
        "Reckon one thing, with the same sums as the pages.",
        epilog="coop reckon WHAT --help tells what to say. Ranges are 90 % intervals.",
    )
    questions = asked.add_subparsers(dest="what", required=True, metavar="what")
    for name, question in QUESTIONS.items():
        _add(questions, name, question)
    given = asked.parse_args(arguments)
    question = QUESTIONS[given.what]
    try:
        answer = question.answer(given)
    except ValueError as why:  # NotUnderstood is one
        complain(why)
        return MISUSE
    salts = [getattr(given, name, None) for name in ("salt", "other")]
    cautions = cautions_of(question.act, salts) if question.act else []
    if given.json:
        print(as_json(answer | {"cautions": cautions}))
    else:
        known = f"how known: {answer['how_known']}"
        warned = (f"Caution: {one['text']}" for one in cautions)
        print("\n".join([*question.tell(answer), known, *warned]))
    return FINE


def _add(questions: Any, name: str, question: Question) -> None:
    after = "\n\nIts cautions follow." if question.act else ""
    made: ArgumentParser = questions.add_parser(
        name,
        help=question.told,
        description=f"Reckon {question.told}.",
        epilog=f"Example:\n\n{indent(EXAMPLES[name], '  ')}{after}",
        formatter_class=RawDescriptionHelpFormatter,
    )
    made.add_argument("--json", action="store_true", help="one JSON object, units in its keys")
    question.ask(made)


def _strength(found: bath_answers.Strength) -> Answer:
    return {
        "low_g_per_l": rounded(found.low_g_per_l),
        "middle_g_per_l": rounded(found.middle_g_per_l),
        "high_g_per_l": rounded(found.high_g_per_l),
        "volume_l": rounded(found.volume_l),
    }


def _ask_mix(asked: ArgumentParser) -> None:
    add_dose(asked, required=True)
    asked.add_argument("--water", required=True, metavar="'12 L'", help="water to put in")
    asked.add_argument(
        "--ten-spoons-g",
        type=figure(1, SPOONS_MAX_G),
        metavar="GRAMS",
        help="weight of ten level US tablespoons of this powder",
    )
    add_salt(asked, default=reckon_salts.SALT)


def _reckon_mix(given: Namespace) -> Answer:
    bulk = bulk_of(None)
    if given.ten_spoons_g is not None:
        bulk = bulk_of_spoons(given.ten_spoons_g, "us_tbsp")
    plan = reckon.plan_mix(stated(given, bulk), water_ml=in_ml(given, "water"), salt=given.salt)
    return {
        "salt_g": ranged(plan.salt_g),
        "strength_g_per_l": ranged(plan.strength_g_per_l),
        "water_l": rounded(plan.water_ml / 1000),
        "spoon_count": plan.spoon_count and rounded(plan.spoon_count),
        "spoon": plan.spoon or None,
        "store_c": reckon.STORE_C,
        "solubility_fraction": rounded(plan.solubility_fraction),
        "warn_fraction": value("solubility_warn_fraction"),
        "how_known": plan.how,
    }


def _ask_topup(asked: ArgumentParser) -> None:
    strengths = figure(0.1, STRENGTH_MAX_G_PER_L)
    asked.add_argument("--litres", required=True, metavar="'10.4 L'", help="what is in the tub")
    asked.add_argument(
        "--strength", type=strengths, required=True, metavar="G_PER_L", help="how strong it is"
    )
    asked.add_argument(
        "--doubt",
        type=figure(0, DOUBT_MAX_PERCENT),
        default=5.0,
        metavar="PERCENT",
        help="of the strength, 90 %% interval (default 5)",
    )
    asked.add_argument("--water", default="0 L", metavar="'3 L'", help="water to add")
    asked.add_argument("--alum", default="0 g", metavar="'160 g'", help="salt to add")
    asked.add_argument(
        "--target", type=strengths, metavar="G_PER_L", help="strength to come back to"
    )
    asked.add_argument("--goal", metavar="'12 L'", help="litres to come back to")
    asked.add_argument("--brim", metavar="'16 L'", help="what the tub holds")
    add_kinds(asked)
    add_salt(asked, default=reckon_salts.SALT)


def _reckon_topup(given: Namespace) -> Answer:
    estimate = reckon.estimate_of(
        volume_ml=in_ml(given, "litres"),
        strength_g_per_l=given.strength,
        doubt_fraction=given.doubt / 100,
        salt=given.salt,
    )
    grams = float(amount(given, "alum", "mass").base)
    parts = [SaltPart(grams, value("weighed_fraction") / Z_90)] if grams else []
    change = bath_answers.mending(
        estimate=estimate, water_ml=in_ml(given, "water"), salt_parts=parts
    )
    _refuse_over_brim(given, change.after.volume_l)
    answer = {"before": _strength(change.before), "after": _strength(change.after)}
    if given.target is not None:
        back = bath_answers.to_target(
            estimate=estimate,
            target_g_per_l=given.target,
            volume_goal_ml=in_ml(given, "goal") if given.goal else 0.0,
            brim_ml=in_ml(given, "brim") if given.brim else float("inf"),
        )
        answer["to_target"] = {
            "salt_g": rounded(back.salt_g),
            "water_l": rounded(back.water_ml / 1000),
            "strength_g_per_l": rounded(back.strength_g_per_l),
            "volume_l": rounded(back.volume_ml / 1000),
        }
    return answer | {"how_known": "as given"}


def _refuse_over_brim(given: Namespace, after_l: float) -> None:
    """Nothing fits past the brim: neither what is added nor what is to come back to."""
    if given.brim is None:
        return
    brim_l = in_ml(given, "brim") / 1000
    goal_l = in_ml(given, "goal") / 1000 if given.goal else 0.0
    would_l = max(after_l, goal_l)
    if would_l > brim_l + BRIM_SLACK_L:
        raise ValueError(
            f"--brim: over the brim: {brim_l:.4g} L fit, it would be {would_l:.4g} L"
        )


def _ask_sheets(asked: ArgumentParser) -> None:
    asked.add_argument("--litres", required=True, metavar="'12 L'", help="what is in the tub")
    asked.add_argument(
        "--laying", required=True, metavar="'6 L'", help="what must stand in it to lay a sheet"
    )
    asked.add_argument(
        "--format", choices=("full", "half", "quarter"), default="half", help="default half"
    )
    asked.add_argument("--method", choices=tuple(PICKUPS), default="dip", help="default dip")
    add_kinds(asked)


def _reckon_sheets(given: Namespace) -> Answer:
    # How strong the bath is changes nothing in how many sheets its litres wet.
    estimate = reckon.estimate_of(
        volume_ml=in_ml(given, "litres"),
        strength_g_per_l=40,
        doubt_fraction=0.05,
        salt=reckon_salts.SALT,
    )
    left = bath_answers.sheets_left(
        estimate=estimate,
        laying_depth_ml=in_ml(given, "laying"),
        sheet_area_m2=sheet_area_m2(sheet_format=given.format),
        pickup_ml_per_m2=PICKUPS[given.method],
    )
    return {
        "sheet_count": left.middle,
        "sheet_count_low": left.low,
        "sheet_format": given.format,
        "method": given.method,
        "how_known": "usual pick-up",
    }


QUESTIONS: Mapping[str, Question] = {
    **reckon_salts.QUESTIONS,
    "mix": Question(
        "salt for a dose and so much water", _ask_mix, _reckon_mix, "mix", figures.mix_lines
    ),
    "topup": Question(
        "strength before and after a top-up",
        _ask_topup,
        _reckon_topup,
        "top-up",
        figures.topup_lines,
    ),
    "sheets-left": Question(
        "how many more sheets a tub lays",
        _ask_sheets,
        _reckon_sheets,
        "sheets",
        figures.sheets_lines,
    ),
    **reckon_measures.QUESTIONS,
    **reckon_size.QUESTIONS,
    **reckon_faults.QUESTIONS,
    **reckon_stock.QUESTIONS,
    **reckon_drain.QUESTIONS,
    **reckon_soda.QUESTIONS,
}
