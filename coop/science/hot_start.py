"""
A hot start: how much hot water to how much cold, and what dissolving takes back.

For doses near what dissolves and for cold stores. Hot water scalds and softens plastic: it
goes only into a vessel that stands it, hot into cold, never over powder, and hands stay out
above hand-hot.
"""

from typing import Final, NamedTuple

from coop.science import alum, water
from coop.science.defaults import default, value

VOLUME_MAX_L: Final = 1_000.0
DOSE_MAX_G_PER_L: Final = 200.0
JUG_MIN_C: Final = 40.0
JUG_MAX_C: Final = 100.0
HDPE_HOT_C: Final = value("hdpe_hot_c")


class HotStart(NamedTuple):
    """
    What to pour together.

    Attributes:
        hot_l: Hot water, as a jug shows it hot [L].
        cold_l: Cold water, as a jug shows it cold [L].
        hot_fraction: Hot over both [fraction].
        mixed_c: Temperature of both together [deg C].
    """

    hot_l: float
    cold_l: float
    hot_fraction: float
    mixed_c: float


class Cooling(NamedTuple):
    """By how much dissolving cools the water: least and most [K]."""

    least_k: float
    most_k: float


def mixed_c(*, hot_l: float, hot_c: float, cold_l: float, cold_c: float) -> float:
    """
    Return the temperature of hot and cold water poured together.

    Args:
        hot_l: Hot water [L], 0 to 1000.
        hot_c: Its temperature [deg C], 0 to 100.
        cold_l: Cold water [L], 0 to 1000, not both 0.
        cold_c: Its temperature [deg C], 0 to 100.

    Returns:
        Temperature [deg C], by mass; litres alone would say up to 0.9 more. ValueError
        outside the ranges.

    Valid for:
        Water in a vessel that takes no warmth from it; a cold tub takes a degree or two.

    Source:
        Heat balance with one heat capacity and `water.hot_density_kg_per_m3` (computed).

    Example:
        >>> round(mixed_c(hot_l=1, hot_c=95, cold_l=3, cold_c=15), 1)
        34.4
    """
    _litres("hot_l", hot_l)
    _litres("cold_l", cold_l)
    hot_kg, cold_kg = hot_l * _kg_per_l(hot_c), cold_l * _kg_per_l(cold_c)
    if not hot_kg + cold_kg:
        raise ValueError("hot_l, cold_l: must be over 0 together")
    return (hot_kg * hot_c + cold_kg * cold_c) / (hot_kg + cold_kg)


def hot_start(
    *,
    total_l: float,
    cold_c: float,
    hot_c: float,
    target_c: float | None = None,
    hot_fraction: float | None = None,
    jug_max_c: float = HDPE_HOT_C,
) -> HotStart:
    """
    Return how much hot water to how much cold, for a temperature or for a part of hot water.

    Args:
        total_l: Water in all, each measured as it is poured [L], over 0, at most 1000.
        cold_c: Temperature of the cold water [deg C], 0 to under the hot water's.
        hot_c: Temperature of the hot water [deg C], at most jug_max_c.
        target_c: What they are to be together [deg C], over cold_c and under hot_c.
        hot_fraction: Or: part of hot water [fraction of the litres], over 0, under 1.
        jug_max_c: Hottest liquid for the vessel the hot water goes into [deg C], 40 to 100;
            default hdpe_hot_c, 60, for jugs of HDPE.

    Returns:
        Hot and cold, and both together [HotStart]. ValueError outside the ranges, saying
        what would be right, and where not exactly one of target and part is given.

    Valid for:
        As `mixed_c`.

    Source:
        `mixed_c` turned round; the default's own source for the jug.

    Example:
        >>> start = hot_start(total_l=10, cold_c=12, hot_c=58, target_c=40)
        >>> round(start.hot_l, 2), round(start.cold_l, 2)
        (6.12, 3.88)
    """
    _refuse_volume(total_l)
    _refuse_hot(cold_c, hot_c, jug_max_c)
    if (target_c is None) == (hot_fraction is None):
        raise ValueError("target_c, hot_fraction: exactly one of them must be given")
    if hot_fraction is None:
        assert target_c is not None
        hot_fraction = _fraction_for(target_c, cold_c, hot_c)
    elif not 0 < hot_fraction < 1:
        raise ValueError(f"hot_fraction: must be over 0 and under 1, is {hot_fraction:g}")
    hot_l, cold_l = hot_fraction * total_l, (1 - hot_fraction) * total_l
    together_c = mixed_c(hot_l=hot_l, hot_c=hot_c, cold_l=cold_l, cold_c=cold_c)
    return HotStart(hot_l, cold_l, hot_fraction, together_c)


def _refuse_volume(total_l: float) -> None:
    if not 0 < total_l <= VOLUME_MAX_L:
        raise ValueError(
            f"total_l: must be over 0 and at most {VOLUME_MAX_L:g}, is {total_l:g}"
        )


def _refuse_hot(cold_c: float, hot_c: float, jug_max_c: float) -> None:
    if not JUG_MIN_C <= jug_max_c <= JUG_MAX_C:
        raise ValueError(
            f"jug_max_c: must be from {JUG_MIN_C:g} to {JUG_MAX_C:g}, is {jug_max_c:g}"
        )
    if not hot_c <= jug_max_c:
        raise ValueError(
            f"hot_c: must be at most {jug_max_c:g}, the jug's limit, is {hot_c:g}; let it "
            "cool, or take a vessel that stands it and say its limit as jug_max_c"
        )
    if not 0 <= cold_c < hot_c:
        raise ValueError(
            f"cold_c: must be from 0 to under {hot_c:g}, the hot water, is {cold_c:g}"
        )


def _fraction_for(target_c: float, cold_c: float, hot_c: float) -> float:
    if not cold_c < target_c < hot_c:
        raise ValueError(
            f"target_c: must be over {cold_c:g}, the cold water, and under {hot_c:g}, the hot, "
            f"is {target_c:g}"
        )
    hot_mass = (target_c - cold_c) / (hot_c - cold_c)
    hot_room, cold_room = hot_mass / _kg_per_l(hot_c), (1 - hot_mass) / _kg_per_l(cold_c)
    return hot_room / (hot_room + cold_room)


def potash_alum_cools(*, dose_g_per_l_water: float) -> Cooling:
    """
    Return by how much dissolving potash alum cools its water.

    Args:
        dose_g_per_l_water: Potash alum [g/L of water put in], 0 to 200.

    Returns:
        Least and most [K]. ValueError outside the range.

    Valid for:
        The 12-hydrate; partly dried alum and anhydrous aluminium sulfate warm the water
        instead, and may spit. No figure was found for the other salts.

    Source:
        Default alum_dissolving_kj_per_mol, shared by 1000 g of water and the salt; a page of
        the trade that says alum warms the water is wrong for it.

    Example:
        >>> cools = potash_alum_cools(dose_g_per_l_water=30)
        >>> round(cools.least_k, 1), round(cools.most_k, 1)
        (0.5, 0.6)
    """
    if not 0 <= dose_g_per_l_water <= DOSE_MAX_G_PER_L:
        raise ValueError(
            f"dose_g_per_l_water: must be from 0 to {DOSE_MAX_G_PER_L:g}, "
            f"is {dose_g_per_l_water:g}"
        )
    heat = default("alum_dissolving_kj_per_mol")
    mmol = 1000 * dose_g_per_l_water / alum.SALTS["potash_alum"].molar_mass_g_per_mol
    j_per_k = 1000 * water.HEAT_CAPACITY_J_PER_G_K
    return Cooling(mmol * heat.low / j_per_k, mmol * heat.high / j_per_k)


def _litres(name: str, volume_l: float) -> None:
    if not 0 <= volume_l <= VOLUME_MAX_L:
        raise ValueError(f"{name}: must be from 0 to {VOLUME_MAX_L:g}, is {volume_l:g}")


def _kg_per_l(water_c: float) -> float:
    return water.hot_density_kg_per_m3(water_c=water_c) / 1000
