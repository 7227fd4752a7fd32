"""What `coop reckon` found, in lines for people: figures, units, ranges in brackets."""

from collections.abc import Mapping
from typing import Any

from coop.science.counts import ONE_IN_MAX
from coop.units.table import UNITS

Answer = Mapping[str, Any]


def strength_lines(answer: Answer) -> list[str]:
    """Return the lines of a hydrometer reading."""
    return [
        f"strength: {about(answer['strength_g_per_l'], 'g/L')}",
        f"salt: {salt_name(answer['salt'])}",
        f"zero of the hydrometer: {answer['zero_offset_sg']:+.4f}",
    ]


def mix_lines(answer: Answer) -> list[str]:
    """Return the lines of a mix."""
    lines = [
        f"water: {plain(answer['water_l'])} L",
        f"salt: {about(answer['salt_g'], 'g', digits=0)}",
        f"strength: {about(answer['strength_g_per_l'], 'g/L')}",
    ]
    if answer["spoon_count"] is not None:
        unit = UNITS[answer["spoon"]]
        name = unit.one if answer["spoon_count"] == 1 else unit.many
        lines.append(f"level spoons: {plain(answer['spoon_count'])} {name}")
    return [*lines, dissolving(answer)]


def dissolving(answer: Answer) -> str:
    """Return the line of how near a strength is to what dissolves, with what to do then."""
    share, warn = 100 * answer["solubility_fraction"], 100 * answer["warn_fraction"]
    near = ""
    if share > warn:
        near = ": some falls out" if share > 100 else f", over {warn:.0f} %: start hot"
    return f"of what dissolves at {plain(answer['store_c'], 1)} °C: {share:.0f} %{near}"


def topup_lines(answer: Answer) -> list[str]:
    """Return the lines of a top-up."""
    lines = [f"{when}: {_bath(answer[when])}" for when in ("before", "after")]
    back = answer.get("to_target")
    if back is not None:
        lines.append(
            f"back to the target: add {back['salt_g']:.0f} g of salt and "
            f"{plain(back['water_l'])} L of water; then {back['strength_g_per_l']:.1f} g/L "
            f"in {plain(back['volume_l'])} L"
        )
    return lines


def sheets_lines(answer: Answer) -> list[str]:
    """Return the lines of the sheets left."""
    return [
        f"sheets left: about {answer['sheet_count']} {answer['sheet_format']} sheets "
        f"(at least {answer['sheet_count_low']})",
        f"method: {answer['method']}",
    ]


def cup_lines(answer: Answer) -> list[str]:
    """Return the lines of a run-out time."""
    if answer["ratio_to_water"] is not None:
        return [f"runs out: {plain(answer['ratio_to_water'])} times as long as water"]
    low_s, high_s = plain(answer["window_low_s"]), plain(answer["window_high_s"])
    return [
        f"viscosity: {plain(answer['viscosity_mm2_per_s'], 1)} mm²/s (indicative)",
        f"cup: {answer['cup']}, good from {low_s} to {high_s} s at "
        f"{plain(answer['holds_at_c'])} °C",
    ]


def keeps_lines(answer: Answer) -> list[str]:
    """Return the lines of a size kept at changing temperatures."""
    ref = f"{plain(answer['ref_c'])} °C"
    look_again, do_not_use = (
        plain(answer[f"left_to_{line}_h"] / 24, 1) for line in ("look_again", "do_not_use")
    )
    return [
        f"kept: {plain(answer['kept_h'], 1)} h",
        f"as old as: {plain(answer['effective_age_h'], 1)} h at {ref} ({_law(answer)})",
        f"mean kinetic temperature: {plain(answer['mean_kinetic_c'], 1)} °C",
        f"days left at {ref}: {look_again} until look again, {do_not_use} until do not use",
    ]


def _law(answer: Answer) -> str:
    if answer["min_c"] is not None:
        return f"square-root law, nothing grows under {plain(answer['min_c'])} °C"
    if answer["q10"] is not None:
        return f"{plain(answer['q10'])} times faster for 10 °C more"
    return f"activation energy {plain(answer['activation_kj_per_mol'], 3)} kJ/mol"


def warm_days_lines(answer: Answer) -> list[str]:
    """Return the lines of a size's age in warm days."""
    look_again, do_not_use, cap = (
        plain(answer[f"{line}_days"])
        for line in ("look_again_at_warm", "do_not_use_at_warm", "cap")
    )
    return [
        f"age in days: {plain(answer['age_days'])}, chilled {plain(answer['chilled_days'])}",
        f"like: {plain(answer['warm_days'])} warm days (a chilled day counts "
        f"{plain(answer['chilled_fraction'])})",
        f"look again at {look_again} warm days, do not use at {do_not_use}, never past {cap} "
        "days from making",
    ]


def faults_lines(answer: Answer) -> list[str]:
    """Return the lines of a part's spoiled sheets against the others."""
    spoiled, sheets = answer["spoiled_sheet_count"], answer["sheet_count"]
    under, least = plain(1 / answer["speaks_under"]), answer["speaks_from_sheet_count"]
    more = " or more" if answer["one_time_in"] == ONE_IN_MAX else ""
    share = {end: 100 * part for end, part in answer["spoiled_fraction"].items()}
    return [
        f"spoiled: {spoiled} of {sheets}: {about(share, '%', digits=0)}",
        f"usual here: about {plain(answer['usual_sheet_count'], 1)} of {sheets}",
        f"so many or more by chance: one time in {answer['one_time_in']}{more}",
        f"worth telling: {'yes' if answer['speaks'] else 'no'} "
        f"(yes under one time in {under}, from {least} sheets)",
    ]


def pickup_lines(answer: Answer) -> list[str]:
    """Return the lines of a paper's own pick-up, or how many pairs are still wanted."""
    pairs = f"pairs: {answer['pair_count']}"
    if answer["pickup_ml_per_m2"] is None:
        return [
            pairs,
            f"more pairs wanted: {answer['more_pairs_wanted_count']}, "
            f"to have {answer['pairs_wanted_count']}",
        ]
    middle = answer["middle_ml_per_m2"]
    return [
        f"this paper takes: {about(answer['pickup_ml_per_m2'], 'mL/m²', digits=0)}",
        f"its middle: {middle['low']:.0f} to {middle['high']:.0f} mL/m²",
        pairs,
    ]


def reorder_lines(answer: Answer) -> list[str]:
    """Return the lines of a reorder point."""
    point, safety = plain(answer["reorder_point"]), plain(answer["safety_stock"])
    use, spread = plain(answer["lead_use"]), plain(answer["lead_use_sd"])
    return [
        f"order at: {point}, of it {safety} for bad luck",
        f"used until it arrives: {use}, give or take {spread} (standard deviation)",
        f"standard deviations kept: {plain(answer['z'], 4)}",
        f"short by the time it arrives, on average: {plain(answer['mean_shortage'], 4)}",
    ]


def batch_lines(answer: Answer) -> list[str]:
    """Return the lines of an order size."""
    lines = [f"order at a time: {plain(answer['order_size'])}"]
    if answer["order_count"] is not None:
        lines.append(f"orders in the span: {plain(answer['order_count'])}")
    return [*lines, f"ordering and keeping cost in it: {plain(answer['cost'])}"]


def forecast_lines(answer: Answer) -> list[str]:
    """Return the lines of the use to expect, and which figure the order list takes."""
    said = {
        way: plain(answer[f"{way}_per_week"], 4)
        for way in ("mean", "croston", "croston_unbiased", "fading")
    }
    taken = answer["order_list"]
    by = "the mean" if taken["by"] == "mean" else "the figure that falls"
    return [
        f"weeks: {answer['week_count']}, with use in {answer['used_week_count']}",
        f"mean: {said['mean']} a week",
        f"Croston: {said['croston']} a week, {said['croston_unbiased']} with its bias off",
        f"falling when use stops (Teunter, Syntetos and Babai): {said['fading']} a week",
        f"the order list says: {plain(taken['said_per_week'], 4)} a week, by {by}, "
        f"for {_how_often(taken)}",
    ]


def _how_often(taken: Answer) -> str:
    weeks, used = taken["week_count"], taken["used_week_count"]
    if not used:
        return f"none was used in {weeks} weeks"
    line = plain(taken["mean_up_to_every_weeks"])
    over = "over" if taken["by"] == "fading" else "not over"
    every = plain(weeks / used)
    return f"some was used in {used} of {weeks} weeks, every {every} weeks: {over} {line}"


def about(found: Mapping[str, float], unit: str, *, digits: int = 1) -> str:
    """Return a figure with its range, "about 31.0 g/L (26.0 to 36.0)"; alone without one."""
    low, middle, high = (f"{found[end]:.{digits}f}" for end in ("low", "middle", "high"))
    if low == high:
        return f"{middle} {unit}"
    return f"about {middle} {unit} ({low} to {high})"


def _bath(found: Mapping[str, float]) -> str:
    strength = {end: found[f"{end}_g_per_l"] for end in ("low", "middle", "high")}
    return f"{about(strength, 'g/L')} in {found['volume_l']:.1f} L"


def plain(number: float, digits: int = 2) -> str:
    """Return a number with at most so many decimals, and no idle zeros behind the point."""
    said = f"{number:.{digits}f}"
    return said.rstrip("0").rstrip(".") if "." in said else said


def salt_name(code: str) -> str:
    """Return what a salt of `alum.SALTS` is called."""
    from coop.web.words import CHOICES  # slow to load, and --help needs none

    return CHOICES["salt"][code]
