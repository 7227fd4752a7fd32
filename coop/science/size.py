"""Size: powder for litres, thinner and thicker, what sheets take, warmth, the good days."""

from collections.abc import Sequence
from math import exp, floor
from statistics import quantiles
from typing import Final, NamedTuple

from coop.science.defaults import default, value
from coop.science.keeping import GAS_KJ_PER_MOL_K
from coop.science.water import KELVIN_AT_0_C

VOLUME_MAX_ML: Final = 1_000_000.0
DOSE_MAX_G_PER_L: Final = 60.0
AREA_MAX_M2: Final = 10.0
SHEETS_MAX: Final = 100_000
FLOW_MIN_C: Final = 5.0
FLOW_MAX_C: Final = 40.0
FLOW_MIN_KJ_PER_MOL: Final = 10.0
FLOW_MAX_KJ_PER_MOL: Final = 60.0
RUN_OUT_MAX_S: Final = 900.0
READINGS_MAX: Final = 10_000

SIZE_FLOW_KJ_PER_MOL: Final = value("size_flow_kj_per_mol")


class Blend(NamedTuple):
    """A size that was thinned or thickened: what to add [mL], and what stands then [mL]."""

    add_ml: float
    volume_ml: float


class SheetsHint(NamedTuple):
    """Sheets that a size may still carry: middle, and low where much leaves with each."""

    middle: int
    low: int


def _over_nought(name: str, number: float, high: float) -> None:
    if not 0 < number <= high:
        raise ValueError(f"{name}: must be over 0 and at most {high:.7g}, is {number:g}")


def powder_g(*, volume_ml: float, dose_g_per_l: float) -> float:
    """
    Return the powder for so much size.

    Args:
        volume_ml: Size to make [mL], over 0, at most 1000000.
        dose_g_per_l: Powder in a litre [g/L], over 0, at most 60.

    Returns:
        Powder [g]. ValueError outside the ranges.

    Valid for:
        Doses said for a litre of water or of size; at these doses that is one to a hundredth.

    Source:
        Mass balance.

    Example:
        >>> powder_g(volume_ml=17_000, dose_g_per_l=5)
        85.0
    """
    _over_nought("volume_ml", volume_ml, VOLUME_MAX_ML)
    _over_nought("dose_g_per_l", dose_g_per_l, DOSE_MAX_G_PER_L)
    return volume_ml / 1000 * dose_g_per_l


def thinned(*, volume_ml: float, dose_g_per_l: float, wanted_g_per_l: float) -> Blend:
    """
    Return the water that brings a size to a lower dose.

    Args:
        volume_ml: Size that stands there [mL], over 0, at most 1000000.
        dose_g_per_l: Its powder in a litre [g/L], over 0, at most 60.
        wanted_g_per_l: Powder in a litre that is wanted [g/L], over 0, at most the dose.

    Returns:
        Water to add and volume after [Blend, mL]; nothing to add at the dose itself.
        ValueError outside the ranges, also where the volume after would be.

    Valid for:
        One powder; the run-out time falls faster than the dose, so half of it first.

    Source:
        Mass balance, volumes add. A little clean water into what is too thick is common
        practice, no source.

    Example:
        >>> thinned(volume_ml=9000, dose_g_per_l=6, wanted_g_per_l=5)
        Blend(add_ml=1800.0, volume_ml=10800.0)
    """
    _over_nought("volume_ml", volume_ml, VOLUME_MAX_ML)
    _over_nought("dose_g_per_l", dose_g_per_l, DOSE_MAX_G_PER_L)
    _over_nought("wanted_g_per_l", wanted_g_per_l, DOSE_MAX_G_PER_L)
    if wanted_g_per_l > dose_g_per_l:
        raise ValueError(
            f"wanted_g_per_l: water only thins; must be at most {dose_g_per_l:g}, "
            f"is {wanted_g_per_l:g}"
        )
    return _blend(volume_ml, volume_ml * (dose_g_per_l - wanted_g_per_l) / wanted_g_per_l)


def _blend(volume_ml: float, add_ml: float) -> Blend:
    after_ml = volume_ml + add_ml
    if after_ml > VOLUME_MAX_ML:
        raise ValueError(
            f"wanted_g_per_l: the volume after must be at most {VOLUME_MAX_ML:.7g} mL, "
            f"is {after_ml:.7g}"
        )
    return Blend(add_ml=add_ml, volume_ml=after_ml)


def thickened(
    *, volume_ml: float, dose_g_per_l: float, thicker_g_per_l: float, wanted_g_per_l: float
) -> Blend:
    """
    Return how much of a thicker size brings a size to a higher dose.

    Dry powder never goes into a ready size: it clumps, and the lumps do not dissolve.

    Args:
        volume_ml: Size that stands there [mL], over 0, at most 1000000.
        dose_g_per_l: Its powder in a litre [g/L], over 0, at most 60.
        thicker_g_per_l: Powder in a litre of the thicker size [g/L], over what is wanted, at
            most 60; rested like any other.
        wanted_g_per_l: Powder in a litre that is wanted [g/L], at least the dose.

    Returns:
        Thicker size to blend in and volume after [Blend, mL]; nothing to add at the dose
        itself. ValueError outside the ranges, also where the volume after would be.

    Valid for:
        Both sizes of one powder.

    Source:
        Mass balance, volumes add. That nothing but a thicker size helps is common practice,
        no source.

    Example:
        >>> thickened(volume_ml=9000, dose_g_per_l=4, thicker_g_per_l=8, wanted_g_per_l=5)
        Blend(add_ml=3000.0, volume_ml=12000.0)
    """
    _over_nought("volume_ml", volume_ml, VOLUME_MAX_ML)
    _over_nought("dose_g_per_l", dose_g_per_l, DOSE_MAX_G_PER_L)
    _over_nought("thicker_g_per_l", thicker_g_per_l, DOSE_MAX_G_PER_L)
    if not dose_g_per_l <= wanted_g_per_l < thicker_g_per_l:
        raise ValueError(
            f"wanted_g_per_l: must be from the dose, {dose_g_per_l:g}, to under that of the "
            f"thicker size, {thicker_g_per_l:g}, is {wanted_g_per_l:g}"
        )
    missing_g_per_l = wanted_g_per_l - dose_g_per_l
    return _blend(volume_ml, volume_ml * missing_g_per_l / (thicker_g_per_l - wanted_g_per_l))


def sheets_hint(*, volume_ml: float, laying_ml: float, sheet_area_m2: float) -> SheetsHint:
    """
    Return how many sheets a size may still carry before it stands too low to lay one.

    Args:
        volume_ml: Size that stands there [mL], 0 to 1000000.
        laying_ml: Size that must stand to lay a sheet [mL], 0 to 1000000.
        sheet_area_m2: Area of one side of a sheet [m2], over 0, at most 10.

    Returns:
        Whole sheets, middle and low [SheetsHint], at most 100000. ValueError outside the
        ranges.

    Valid for:
        A hint and never a reason: what leaves is estimated, and a size spoils before it is
        used up. Size that leaves is size_with_sheet_ml_per_m2, 350 (200 to 800) mL/m2; the
        low figure takes the most.

    Source:
        (volume - laying volume) / (area x what leaves); what leaves is our own, no source.

    Example:
        >>> sheets_hint(volume_ml=17_000, laying_ml=8_000, sheet_area_m2=0.35)
        SheetsHint(middle=73, low=32)
    """
    for name, number in (("volume_ml", volume_ml), ("laying_ml", laying_ml)):
        if not 0 <= number <= VOLUME_MAX_ML:
            raise ValueError(f"{name}: must be from 0 to {VOLUME_MAX_ML:.7g}, is {number:g}")
    _over_nought("sheet_area_m2", sheet_area_m2, AREA_MAX_M2)
    leaves = default("size_with_sheet_ml_per_m2")
    spare_ml_per_m2 = max(0.0, volume_ml - laying_ml) / sheet_area_m2
    return SheetsHint(
        middle=min(SHEETS_MAX, floor(spare_ml_per_m2 / leaves.value)),
        low=min(SHEETS_MAX, floor(spare_ml_per_m2 / leaves.high)),
    )


def flow_ratio(
    *, at_c: float, from_c: float, activation_kj_per_mol: float = SIZE_FLOW_KJ_PER_MOL
) -> float:
    """
    Return how many times thicker a size is at another temperature.

    Args:
        at_c: The other temperature [deg C], 5 to 40.
        from_c: Temperature at which its thickness is known [deg C], 5 to 40.
        activation_kj_per_mol: Activation energy of flow [kJ/mol], 10 to 60; the default
            size_flow_kj_per_mol is 20, with 15 to 30.

    Returns:
        Viscosity at at_c over that at from_c [1]. ValueError outside the ranges.

    Valid for:
        A size that neither sets nor dissolves between the two; kappa and iota carrageenan
        set, methylcellulose sets when hot.

    Source:
        eta(T) = A exp(Ea / RT); the default energy is our own, no source.

    Example:
        >>> round(flow_ratio(at_c=25, from_c=20), 3)
        0.871
    """
    for name, number, low, high in (
        ("at_c", at_c, FLOW_MIN_C, FLOW_MAX_C),
        ("from_c", from_c, FLOW_MIN_C, FLOW_MAX_C),
        (
            "activation_kj_per_mol",
            activation_kj_per_mol,
            FLOW_MIN_KJ_PER_MOL,
            FLOW_MAX_KJ_PER_MOL,
        ),
    ):
        if not low <= number <= high:
            raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")
    per_k = 1 / (at_c + KELVIN_AT_0_C) - 1 / (from_c + KELVIN_AT_0_C)
    return exp(activation_kj_per_mol / GAS_KJ_PER_MOL_K * per_k)


def like_good_days(*, run_outs_s: Sequence[float]) -> tuple[float, float] | None:
    """
    Return between which run-out times sizes of one funnel have printed well.

    Args:
        run_outs_s: Run-out times of one funnel on sizes that printed well [s], each over 0,
            at most 900; at most 10000 of them.

    Returns:
        Lower and upper quartile [s, s], or None under five readings (the default
        run_out_readings_min). ValueError outside the ranges.

    Valid for:
        One funnel of one studio, at 18 to 22 C; no band is known that fits another's.

    Source:
        The middle half; quartiles by straight lines between the readings in order, the
        extremes counted in (type 7 of Hyndman and Fan 1996).

    Example:
        >>> like_good_days(run_outs_s=[20, 24, 22, 30, 23])
        (22.0, 24.0)
    """
    if len(run_outs_s) > READINGS_MAX:
        raise ValueError(
            f"run_outs_s: must be at most {READINGS_MAX} readings, is {len(run_outs_s)}"
        )
    for run_out_s in run_outs_s:
        _over_nought("run_outs_s", run_out_s, RUN_OUT_MAX_S)
    if len(run_outs_s) < value("run_out_readings_min"):
        return None
    low, _, high = quantiles(run_outs_s, n=4, method="inclusive")
    return low, high
