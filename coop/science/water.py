"""Water and the air over it: density, viscosity, vapour pressure, drying power of a room."""

from math import exp, pow
from typing import Final

WATER_MIN_C: Final = 0.0
WATER_MAX_C: Final = 40.0
HOT_MAX_C: Final = 100.0
VISCOSITY_MIN_C: Final = -20.0
VISCOSITY_MAX_C: Final = 110.0
AIR_MIN_C: Final = -20.0
AIR_MAX_C: Final = 50.0

KELVIN_AT_0_C: Final = 273.15
SEA_LEVEL_PA: Final = 101_325.0
VAPOUR_MAX_PA: Final = 20_000.0
WATER_TO_AIR_MASS: Final = 0.621945
HEAT_CAPACITY_J_PER_G_K: Final = 4.18
"""Of water; 4.178 to 4.218 from 0 to 100 C, CRC Handbook, from memory."""


def _within(name: str, number: float, low: float, high: float) -> None:
    if not low <= number <= high:
        raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")


def density_kg_per_m3(*, water_c: float) -> float:
    """
    Return the density of clean, air-free water at 101.325 kPa.

    Args:
        water_c: Temperature of the water [deg C], 0 to 40.

    Returns:
        Density [kg/m3]; at most 0.0012 off IAPWS-95 from 0 to 40 C. ValueError outside.

    Valid for:
        Liquid water from 0 to 40 C at sea level; tap water is up to 0.5 kg/m3 heavier.

    Source:
        Tanaka et al. 2001, Metrologia 38:301, constants from memory.

    Example:
        >>> round(density_kg_per_m3(water_c=20), 3)
        998.207
    """
    _within("water_c", water_c, WATER_MIN_C, WATER_MAX_C)
    off = water_c - 3.983035
    return 999.97495 * (1 - off * off * (water_c + 301.797) / (522528.9 * (water_c + 69.34881)))


def hot_density_kg_per_m3(*, water_c: float) -> float:
    """
    Return the density of water up to its boiling point.

    Args:
        water_c: Temperature of the water [deg C], 0 to 100.

    Returns:
        Density [kg/m3]; at most 0.02 off IAPWS-95. ValueError outside.

    Valid for:
        Mixing hot water with cold; instruments go by `density_kg_per_m3`, which is finer.

    Source:
        Kell 1975, J. Chem. Eng. Data 20:97, constants from memory.

    Example:
        >>> round(hot_density_kg_per_m3(water_c=95), 1)
        961.9
    """
    _within("water_c", water_c, WATER_MIN_C, HOT_MAX_C)
    above = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
    top = sum(factor * water_c**power for power, factor in enumerate(above))
    return top / (1 + 16.879850e-3 * water_c)


def viscosity_mpa_s(*, water_c: float) -> float:
    """
    Return the dynamic viscosity of water at 101.325 kPa.

    Args:
        water_c: Temperature of the water [deg C], -20 to 110.

    Returns:
        Dynamic viscosity [mPa s]; within 1 % of measured (0.01 % of the 2008 standard
        from 0 to 40 C). ValueError outside.

    Valid for:
        Liquid water at 0.1 MPa.

    Source:
        IAPWS SR6-08, equation for viscosity at 0.1 MPa, constants from memory.

    Example:
        >>> round(viscosity_mpa_s(water_c=20), 4)
        1.0016
    """
    _within("water_c", water_c, VISCOSITY_MIN_C, VISCOSITY_MAX_C)
    q = (water_c + KELVIN_AT_0_C) / 300
    terms = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40))
    return 1e-3 * sum(factor * pow(q, power) for factor, power in terms)


def kinematic_viscosity_mm2_per_s(*, water_c: float) -> float:
    """
    Return the kinematic viscosity of water, against which funnels are timed.

    Args:
        water_c: Temperature of the water [deg C], 0 to 40.

    Returns:
        Kinematic viscosity [mm2/s]. ValueError outside the range.

    Valid for:
        Clean water from 0 to 40 C at sea level.

    Source:
        Viscosity over density; 1.0034 mm2/s at 20 C is the primary value of ASTM D2162.

    Example:
        >>> round(kinematic_viscosity_mm2_per_s(water_c=20), 4)
        1.0034
    """
    return 1e3 * viscosity_mpa_s(water_c=water_c) / density_kg_per_m3(water_c=water_c)


def saturation_pressure_pa(*, air_c: float) -> float:
    """
    Return the vapour pressure of saturated air over liquid water.

    Args:
        air_c: Temperature [deg C], -20 to 50.

    Returns:
        Pressure [Pa]; about 0.04 % under IAPWS-95 from 5 to 40 C. ValueError outside.

    Valid for:
        Over liquid water. A dissolved bath lowers it by under 1 %, which is left out.

    Source:
        Buck 1996, constants from memory.

    Example:
        >>> round(saturation_pressure_pa(air_c=20))
        2338
    """
    _within("air_c", air_c, AIR_MIN_C, AIR_MAX_C)
    return 611.21 * exp((18.678 - air_c / 234.5) * air_c / (257.14 + air_c))


def saturation_pressure_magnus_pa(*, air_c: float) -> float:
    """
    Return the vapour pressure of saturated air by the shorter formula.

    Args:
        air_c: Temperature [deg C], -20 to 50.

    Returns:
        Pressure [Pa]; up to 0.35 % under IAPWS-95 from 5 to 40 C. ValueError outside.

    Valid for:
        A second opinion on `saturation_pressure_pa`; the two are never mixed.

    Source:
        Magnus form, 611.2 exp(17.62 t / (243.12 + t)), constants from memory.

    Example:
        >>> round(saturation_pressure_magnus_pa(air_c=20))
        2333
    """
    _within("air_c", air_c, AIR_MIN_C, AIR_MAX_C)
    return 611.2 * exp(17.62 * air_c / (243.12 + air_c))


def vapour_deficit_pa(*, water_c: float, room_c: float, room_rh: float) -> float:
    """
    Return how hard a room pulls vapour from a liquid.

    Args:
        water_c: Temperature of the liquid's surface [deg C], -20 to 50.
        room_c: Temperature of the room [deg C], -20 to 50.
        room_rh: Relative humidity of the room [fraction], 0 to 1.

    Returns:
        Vapour pressure at the surface less that in the room [Pa]; below zero where the room
        wets the liquid. ValueError outside the ranges.

    Valid for:
        Open, still liquids in a room.

    Source:
        Dalton's law with `saturation_pressure_pa`.

    Example:
        >>> round(vapour_deficit_pa(water_c=20, room_c=20, room_rh=0.5))
        1169
    """
    _within("room_rh", room_rh, 0, 1)
    over_water = saturation_pressure_pa(air_c=water_c)
    return over_water - room_rh * saturation_pressure_pa(air_c=room_c)


def humidity_ratio_kg_per_kg(*, vapour_pa: float) -> float:
    """
    Return the water that a kilogram of dry air holds at 101.325 kPa.

    Args:
        vapour_pa: Pressure of the vapour [Pa], 0 to 20000.

    Returns:
        Humidity ratio [kg water/kg dry air]. ValueError outside the range.

    Valid for:
        Room air at sea level.

    Source:
        Ideal gases, 0.621945 pv / (p - pv), as in the ASHRAE Handbook, from memory.

    Example:
        >>> round(humidity_ratio_kg_per_kg(vapour_pa=1169), 4)
        0.0073
    """
    _within("vapour_pa", vapour_pa, 0, VAPOUR_MAX_PA)
    return WATER_TO_AIR_MASS * vapour_pa / (SEA_LEVEL_PA - vapour_pa)
