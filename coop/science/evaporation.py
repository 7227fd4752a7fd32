"""Water that leaves an open vessel: one default scaled by the room, three printed formulas."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from coop.science import defaults, water

HOURS_PER_DAY: Final = 24.0
AREA_MAX_M2: Final = 100.0
OPEN_MAX_HOURS: Final = 24.0 * 366
RATE_MAX_MM_PER_DAY: Final = 50.0
AIR_SPEED_MAX_M_PER_S: Final = 5.0

LATENT_HEAT_20_C_J_PER_KG: Final = 2_453_500.0
DRY_AIR_J_PER_KG_K: Final = 287.055

SHAH_C_STRONG: Final = 35.0
SHAH_C_WEAK: Final = 40.0
SHAH_WEAK_KG_PER_M3: Final = 0.02
SHAH_FLOOR_KG_PER_H_M2_PA: Final = 5e-5


def evaporation_mm_per_day(
    *, water_c: float, room_c: float, room_rh: float, base_mm_per_day: float
) -> float:
    """
    Return the water that leaves an open, still vessel.

    Args:
        water_c: Temperature of the liquid's surface [deg C], -20 to 50.
        room_c: Temperature of the room [deg C], -20 to 50.
        room_rh: Relative humidity of the room [fraction], 0 to 1.
        base_mm_per_day: Loss at 20 C and 50 % RH [mm/day], 0 to 50; the default
            evaporation_mm_per_day is 2, with 1 to 4.5 for nine vessels in ten.

    Returns:
        Loss [mm/day], which is kg/m2 a day; never below 0. ValueError outside the ranges.

    Valid for:
        Vessels without a lid, in a room without a fan. Only water leaves, so a bath left
        open becomes stronger.

    Source:
        Scaled by the vapour-pressure deficit (Dalton); the base is between the formulas of
        `still_air_mm_per_day` and is ours (computed).

    Example:
        >>> evaporation_mm_per_day(water_c=20, room_c=20, room_rh=0.5, base_mm_per_day=2)
        2.0
    """
    if not 0 <= base_mm_per_day <= RATE_MAX_MM_PER_DAY:
        raise ValueError(
            f"base_mm_per_day: must be from 0 to {RATE_MAX_MM_PER_DAY:g}, "
            f"is {base_mm_per_day:g}"
        )
    here_pa = water.vapour_deficit_pa(water_c=water_c, room_c=room_c, room_rh=room_rh)
    ref_c = defaults.value("evaporation_ref_c")
    ref_rh = defaults.value("evaporation_ref_rh")
    ref_pa = water.vapour_deficit_pa(water_c=ref_c, room_c=ref_c, room_rh=ref_rh)
    return max(0.0, base_mm_per_day * here_pa / ref_pa)


def evaporated_ml(*, area_m2: float, open_hours: float, rate_mm_per_day: float) -> float:
    """
    Return the water that an open vessel has lost.

    Args:
        area_m2: Surface of the liquid [m2], 0 to 100.
        open_hours: Time without a lid [h], 0 to 8784 (a leap year).
        rate_mm_per_day: Loss [mm/day], 0 to 50.

    Returns:
        Water [mL]. ValueError outside the ranges.

    Valid for:
        Vessels with upright walls.

    Source:
        1 mm over 1 m2 is 1 L.

    Example:
        >>> round(evaporated_ml(area_m2=0.27, open_hours=24, rate_mm_per_day=2))
        540
    """
    for name, number, high in (
        ("area_m2", area_m2, AREA_MAX_M2),
        ("open_hours", open_hours, OPEN_MAX_HOURS),
        ("rate_mm_per_day", rate_mm_per_day, RATE_MAX_MM_PER_DAY),
    ):
        if not 0 <= number <= high:
            raise ValueError(f"{name}: must be from 0 to {high:g}, is {number:g}")
    return 1000 * area_m2 * rate_mm_per_day * open_hours / HOURS_PER_DAY


def air_speed_kg_per_h(
    *, area_m2: float, air_m_per_s: float, surface_kg_per_kg: float, room_kg_per_kg: float
) -> float:
    """
    Return the evaporation by the rule with air speed and humidity ratios.

    Args:
        area_m2: Surface of the liquid [m2].
        air_m_per_s: Speed of the air over it [m/s], 0 to 5.
        surface_kg_per_kg: Humidity ratio of saturated air at the surface [kg/kg].
        room_kg_per_kg: Humidity ratio of the room's air [kg/kg].

    Returns:
        Water lost [kg/h]. ValueError for an air speed outside the range.

    Valid for:
        Pools; about twice what still studio air takes.

    Source:
        (25 + 19 v) A (xs - x), as read on a copy of an engineering reference page.

    Example:
        >>> round(air_speed_kg_per_h(area_m2=1, air_m_per_s=0, surface_kg_per_kg=0.025,
        ...     room_kg_per_kg=0.010), 3)
        0.375
    """
    if not 0 <= air_m_per_s <= AIR_SPEED_MAX_M_PER_S:
        raise ValueError(
            f"air_m_per_s: must be from 0 to {AIR_SPEED_MAX_M_PER_S:g}, is {air_m_per_s:g}"
        )
    return (25 + 19 * air_m_per_s) * area_m2 * (surface_kg_per_kg - room_kg_per_kg)


def still_air_mm_per_day(
    *, water_c: float, room_c: float, room_rh: float
) -> Mapping[str, float]:
    """
    Return what each printed formula says of an open vessel in still air.

    They disagree by more than two to one and are not averaged.

    Args:
        water_c: Temperature of the liquid's surface [deg C], -20 to 50.
        room_c: Temperature of the room [deg C], -20 to 50.
        room_rh: Relative humidity of the room [fraction], 0 to 1.

    Returns:
        Loss by each of `shah`, `shah_floor`, `ashrae`, `air_speed` [mm/day]; below zero
        where the room wets the liquid. ValueError outside the ranges.

    Valid for:
        No fan, no people moving past. Shah's forms were best of eleven (mean deviation
        18 %); the larger of `shah` and `shah_floor` counts.

    Source:
        Shah 2002, HVAC&R Research 8(1):125-131, coefficients from memory; the ASHRAE form
        (0.0888 + 0.0783 v) W/(m2 Pa) at v = 0; (25 + 19 v) at v = 0.

    Example:
        >>> rates = still_air_mm_per_day(water_c=20, room_c=20, room_rh=0.5)
        >>> {name: round(rate, 1) for name, rate in rates.items()}
        {'shah': 2.0, 'shah_floor': 1.4, 'ashrae': 3.7, 'air_speed': 4.5}
    """
    deficit_pa = water.vapour_deficit_pa(water_c=water_c, room_c=room_c, room_rh=room_rh)
    surface_pa = water.saturation_pressure_pa(air_c=water_c)
    room_pa = surface_pa - deficit_pa
    per_h = {
        "shah": _shah_kg_per_h_m2(water_c, surface_pa, room_c, room_pa),
        "shah_floor": SHAH_FLOOR_KG_PER_H_M2_PA * deficit_pa,
        "ashrae": 0.0888 * deficit_pa * 3600 / LATENT_HEAT_20_C_J_PER_KG,
        "air_speed": air_speed_kg_per_h(
            area_m2=1,
            air_m_per_s=0,
            surface_kg_per_kg=water.humidity_ratio_kg_per_kg(vapour_pa=surface_pa),
            room_kg_per_kg=water.humidity_ratio_kg_per_kg(vapour_pa=room_pa),
        ),
    }
    return MappingProxyType({name: HOURS_PER_DAY * rate for name, rate in per_h.items()})


def _shah_kg_per_h_m2(
    water_c: float, surface_pa: float, room_c: float, room_pa: float
) -> float:
    surface_kg_per_m3 = _dry_air_kg_per_m3(water_c, surface_pa)
    lift_kg_per_m3 = _dry_air_kg_per_m3(room_c, room_pa) - surface_kg_per_m3
    if lift_kg_per_m3 <= 0:
        return 0.0
    c = SHAH_C_WEAK if lift_kg_per_m3 < SHAH_WEAK_KG_PER_M3 else SHAH_C_STRONG
    ratio_difference = water.humidity_ratio_kg_per_kg(
        vapour_pa=surface_pa
    ) - water.humidity_ratio_kg_per_kg(vapour_pa=room_pa)
    cube_root: float = lift_kg_per_m3 ** (1 / 3)
    return c * surface_kg_per_m3 * cube_root * ratio_difference


def _dry_air_kg_per_m3(air_c: float, vapour_pa: float) -> float:
    return (water.SEA_LEVEL_PA - vapour_pa) / (
        DRY_AIR_J_PER_KG_K * (air_c + water.KELVIN_AT_0_C)
    )
