"""What of a dose crystallises in a cold store, and how cold a bath of it stays clear."""

from typing import Final, NamedTuple

from coop.science import alum, water

STEPS: Final = 30
"""Halvings of 40 degrees: far under a thousandth of one."""


class Crystals(NamedTuple):
    """
    A dose at the temperature of its store.

    Attributes:
        fraction: Dose over what dissolves [fraction]; over 1 some falls out.
        dissolves_g_per_l: What dissolves at most [g/L of water put in].
        dissolved_g_per_l: What of the dose stays dissolved [g/L of water put in].
        crystals_g_per_l: What of it crystallises [g/L of water put in].
    """

    fraction: float
    dissolves_g_per_l: float
    dissolved_g_per_l: float
    crystals_g_per_l: float


def crystals(*, dose_g_per_l_water: float, salt: str, store_c: float) -> Crystals:
    """
    Return what of a dose stays dissolved in a store, and what crystallises.

    Args:
        dose_g_per_l_water: Salt [g/L of water put in], over 0, at most 2000.
        salt: Which salt [one of alum.SALTS].
        store_c: Temperature of the store [deg C], 0 to 40.

    Returns:
        Fraction of what dissolves, and g/L of water put in [Crystals]. ValueError outside
        the ranges or for an unknown salt.

    Valid for:
        A bath left standing until nothing more falls out, which takes days; it may stay clear
        for a while. Both alums crystallise as they came, so the grams are exact; a hydrate of
        aluminium sulfate may take up or leave some water.

    Source:
        `alum.solubility_fraction`, first table of the salt, and a mass balance.

    Example:
        >>> cold = crystals(dose_g_per_l_water=125, salt="potash_alum", store_c=10)
        >>> round(cold.dissolved_g_per_l), round(cold.crystals_g_per_l)
        (76, 49)
    """
    _over_nothing(dose_g_per_l_water)
    fraction = alum.solubility_fraction(
        dose_g_per_l_water=dose_g_per_l_water, salt=salt, liquid_c=store_c
    )
    dissolves = dose_g_per_l_water / fraction
    dissolved = min(dose_g_per_l_water, dissolves)
    return Crystals(fraction, dissolves, dissolved, dose_g_per_l_water - dissolved)


def clear_down_to_c(*, dose_g_per_l_water: float, salt: str) -> float | None:
    """
    Return the temperature at which a dose just dissolves.

    Args:
        dose_g_per_l_water: Salt [g/L of water put in], over 0, at most 2000.
        salt: Which salt [one of alum.SALTS].

    Returns:
        Lowest temperature at which nothing falls out [deg C]: 0 for a dose that dissolves in
        ice water, None for one that does not dissolve at 40 C. ValueError outside the range
        or for an unknown salt.

    Valid for:
        As `crystals`.

    Source:
        `alum.solubility_fraction`, turned round by halving.

    Example:
        >>> round(clear_down_to_c(dose_g_per_l_water=62.5, salt="potash_alum"), 1)
        3.4
    """
    _over_nothing(dose_g_per_l_water)

    def clear(liquid_c: float) -> bool:
        share = alum.solubility_fraction(
            dose_g_per_l_water=dose_g_per_l_water, salt=salt, liquid_c=liquid_c
        )
        return share <= 1

    cold_c, warm_c = water.WATER_MIN_C, water.WATER_MAX_C
    if clear(cold_c):
        return cold_c
    if not clear(warm_c):
        return None
    for _ in range(STEPS):
        middle_c = (cold_c + warm_c) / 2
        cold_c, warm_c = (cold_c, middle_c) if clear(middle_c) else (middle_c, warm_c)
    return warm_c


def _over_nothing(dose_g_per_l_water: float) -> None:
    if not 0 < dose_g_per_l_water <= alum.STRENGTH_MAX_G_PER_L:
        raise ValueError(
            f"dose_g_per_l_water: must be over 0 and at most {alum.STRENGTH_MAX_G_PER_L:g}, "
            f"is {dose_g_per_l_water:g}"
        )
