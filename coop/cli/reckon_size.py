"""`coop reckon cup`, `keeps`, `warm-days`: how thick a size is, and how long it keeps."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Mapping
from typing import NamedTuple

from coop.cli import figures
from coop.cli.reckoning import Answer, Question, figure, in_celsius, options, rounded
from coop.science import cups, keeping
from coop.science.defaults import value
from coop.science.keeping import Kept
from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood

CONSTANT_MIN, CONSTANT_MAX = -20, 200


class Law(NamedTuple):
    """A law of rate: what its constant is called, its usual value, the rate at deg C."""

    constant: str
    usual: float
    rate: Callable[[float, float], float]


LAWS: Mapping[str, Law] = {
    "square-root": Law(
        "min_c",
        keeping.SPOILING_MIN_C,
        lambda at_c, min_c: keeping.square_root_rate(at_c=at_c, min_c=min_c),
    ),
    "q10": Law(
        "q10",
        keeping.SPOILING_Q10,
        lambda at_c, q10: keeping.q10_rate(at_c=at_c, q10=q10),
    ),
    "arrhenius": Law(
        "activation_kj_per_mol",
        keeping.SPOILING_KJ_PER_MOL,
        lambda at_c, energy: keeping.arrhenius_rate(at_c=at_c, activation_kj_per_mol=energy),
    ),
}


def _ask_cup(asked: ArgumentParser) -> None:
    seconds = figure(cups.RUN_OUT_MIN_S, cups.RUN_OUT_MAX_S)
    asked.add_argument(
        "--seconds", type=seconds, required=True, help="run-out time of the size"
    )
    vessel = asked.add_mutually_exclusive_group(required=True)
    vessel.add_argument(
        "--cup",
        choices=tuple(cups.CUPS),
        metavar="CUP",
        help=f"which standard cup: {', '.join(cups.CUPS)}",
    )
    vessel.add_argument(
        "--water-seconds", type=seconds, help="any funnel: run-out time of plain water from it"
    )
    asked.add_argument(
        "--at", metavar="'20 C'", help="temperature of both; goes with --water-seconds"
    )


def _reckon_cup(given: Namespace) -> Answer:
    if given.cup is None:
        return _funnel(given)
    if given.at is not None:
        raise ValueError("--at: a standard cup holds at its own temperature; leave it out")
    nu = cups.cup_viscosity_mm2_per_s(cup=given.cup, run_out_s=given.seconds)
    cup = cups.CUPS[given.cup]
    return {
        "cup": given.cup,
        "run_out_s": given.seconds,
        "viscosity_mm2_per_s": rounded(nu),
        "window_low_s": cup.low_s,
        "window_high_s": cup.high_s,
        "holds_at_c": cup.at_c,
        "ratio_to_water": None,
        "how_known": "timed; mm2/s is indicative, for size is shear-thinning",
    }


def _funnel(given: Namespace) -> Answer:
    if given.at is None:
        raise ValueError("--water-seconds: means nothing without --at, as --at '20 C'")
    liquid_c = in_celsius(given, "at")
    with options(liquid_c="at"):
        ratio = cups.water_ratio(
            run_out_s=given.seconds, water_s=given.water_seconds, liquid_c=liquid_c
        )
    return {
        "cup": None,
        "run_out_s": given.seconds,
        "viscosity_mm2_per_s": None,
        "window_low_s": None,
        "window_high_s": None,
        "holds_at_c": None,
        "ratio_to_water": rounded(ratio),
        "how_known": "timed; compare a funnel with nothing but itself",
    }


def _ask_keeps(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--kept",
        type=_stretch,
        action="append",
        required=True,
        metavar="'8 h@25 C'",
        help="hours@temperature; once for each stretch of time",
    )
    asked.add_argument(
        "--law", choices=tuple(LAWS), default="square-root", help="default square-root"
    )
    asked.add_argument(
        "--constant",
        type=figure(CONSTANT_MIN, CONSTANT_MAX),
        metavar="NUMBER",
        help="of the law: deg C under which nothing grows (square-root, usually "
        f"{keeping.SPOILING_MIN_C:g}); times faster for 10 C more (q10, "
        f"{keeping.SPOILING_Q10:g}); kJ/mol (arrhenius, {keeping.SPOILING_KJ_PER_MOL:g})",
    )


def _stretch(typed: str) -> Kept:
    """Read '8 h@25 C': hours, then a temperature with its unit."""
    hours, _, warmth = typed.partition("@")
    try:
        at_c = float(read_amount(warmth, None, "temperature").base)
        return Kept(figure(0, keeping.HOURS_MAX)(hours.strip().removesuffix("h")), at_c)
    except (NotUnderstood, ArgumentTypeError) as why:
        raise ArgumentTypeError(
            f"{typed!r}: {why}; say hours@temperature, as '8 h@25 C'"
        ) from why


def _reckon_keeps(given: Namespace) -> Answer:
    law = LAWS[given.law]
    constant = law.usual if given.constant is None else given.constant
    with options(at_c="kept", q10="constant", activation_kj_per_mol="constant"):
        age_h = keeping.effective_age_h(
            kept=given.kept, rate=lambda at_c: law.rate(at_c, constant)
        )
    kept_h = sum(one.hours for one in given.kept)
    return {
        "kept_h": rounded(kept_h),
        "effective_age_h": rounded(age_h),
        "ref_c": keeping.SPOILING_REF_C,
        "mean_kinetic_c": rounded(keeping.mean_kinetic_c(kept=given.kept)),
        "law": given.law,
        **{one.constant: None for one in LAWS.values()},
        law.constant: constant,
        "left_to_look_again_h": _left_h("size_look_again_warm_days", age_h, kept_h),
        "left_to_do_not_use_h": _left_h("size_do_not_use_warm_days", age_h, kept_h),
        "how_known": "a borrowed law: no rate of marbling size is published",
    }


def _left_h(limit: str, age_h: float, kept_h: float) -> float:
    """Return what is left at the reference until a limit or the cap, whichever is sooner."""
    day_h = keeping.HOURS_PER_DAY
    to_limit_h = value(limit) * day_h - age_h
    return rounded(max(0.0, min(to_limit_h, value("size_cap_days") * day_h - kept_h)))


def _ask_warm_days(asked: ArgumentParser) -> None:
    hours = figure(0, keeping.HOURS_MAX)
    asked.add_argument(
        "--room-hours", type=hours, required=True, help="at room warmth since it was made"
    )
    asked.add_argument(
        "--chilled-hours", type=hours, default=0.0, help="in the cold since it was made"
    )
    asked.add_argument(
        "--chilled-fraction",
        type=figure(0, 1),
        default=keeping.CHILLED_FRACTION,
        metavar="FRACTION",
        help=f"what a chilled day counts (default {keeping.CHILLED_FRACTION:g})",
    )


def _reckon_warm_days(given: Namespace) -> Answer:
    warm = keeping.warm_days(
        room_h=given.room_hours,
        chilled_h=given.chilled_hours,
        chilled_fraction=given.chilled_fraction,
    )
    age = (given.room_hours + given.chilled_hours) / keeping.HOURS_PER_DAY
    return {
        "age_days": rounded(age),
        "chilled_days": rounded(given.chilled_hours / keeping.HOURS_PER_DAY),
        "chilled_fraction": given.chilled_fraction,
        "warm_days": rounded(warm),
        "look_again_at_warm_days": value("size_look_again_warm_days"),
        "do_not_use_at_warm_days": value("size_do_not_use_warm_days"),
        "cap_days": value("size_cap_days"),
        "how_known": "usual figures of the trade, no source",
    }


QUESTIONS: Mapping[str, Question] = {
    "cup": Question(
        "how thick a size is from its run-out time",
        _ask_cup,
        _reckon_cup,
        "test-liquid",
        figures.cup_lines,
    ),
    "keeps": Question(
        "how old a size is by the warmth it was kept at",
        _ask_keeps,
        _reckon_keeps,
        "test-liquid",
        figures.keeps_lines,
    ),
    "warm-days": Question(
        "how old a size is in warm days",
        _ask_warm_days,
        _reckon_warm_days,
        "test-liquid",
        figures.warm_days_lines,
    ),
}
