"""
How fast things spoil with warmth: three laws of rate, effective age, mean kinetic temperature.

The ledger judges a size by warm days, which is one line of arithmetic; the laws stand beside it
so that a house with a thermometer can see what its own room does. No rate of marbling size has
been published: each law is borrowed, and they part below 10 C.
"""

from collections.abc import Callable, Sequence
from math import exp, log
from typing import Final, NamedTuple

from coop.science.defaults import value
from coop.science.water import KELVIN_AT_0_C

GAS_KJ_PER_MOL_K: Final = 8.3144e-3
"""As USP <1160> rounds it, so that its 83.144 kJ/mol is 10000 K exactly; CODATA 8.314463e-3."""

AT_MIN_C: Final = -20.0
AT_MAX_C: Final = 60.0
HOURS_MAX: Final = 24.0 * 366
HOURS_PER_DAY: Final = 24.0
KEPT_MAX: Final = 1_000
Q10_MAX: Final = 10.0
ACTIVATION_MIN_KJ_PER_MOL: Final = 1.0
ACTIVATION_MAX_KJ_PER_MOL: Final = 200.0

CHILLED_FRACTION: Final = value("chilled_fraction")
SPOILING_REF_C: Final = value("spoiling_ref_c")
SPOILING_MIN_C: Final = value("spoiling_min_c")
SPOILING_Q10: Final = value("spoiling_q10")
SPOILING_KJ_PER_MOL: Final = value("spoiling_kj_per_mol")


class Kept(NamedTuple):
    """A stretch of time at one temperature: hours [h] and temperature [deg C]."""

    hours: float
    at_c: float


def _within(name: str, number: float, low: float, high: float) -> None:
    if not low <= number <= high:
        raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")


def warm_days(
    *, room_h: float, chilled_h: float, chilled_fraction: float = CHILLED_FRACTION
) -> float:
    """
    Return the age of a size in days at room warmth: chilled time counts for less.

    Args:
        room_h: Time at room warmth since it was made [h], 0 to 8784 (a leap year).
        chilled_h: Time in the cold since it was made [h], 0 to 8784.
        chilled_fraction: What a chilled day counts of a warm one [1], 0 to 1; the default
            chilled_fraction is 0.2, with 0.05 to 0.5.

    Returns:
        Age [warm days]. ValueError outside the ranges.

    Valid for:
        A room in use, 18 to 22 C, and a refrigerator. The cap in days from making stands
        beside it: no chilling makes a size last for ever.

    Source:
        Our own choice, no source; the laws below give 0.11 to 0.33 at 4 C.

    Example:
        >>> warm_days(room_h=24, chilled_h=48)
        1.4
    """
    _within("room_h", room_h, 0, HOURS_MAX)
    _within("chilled_h", chilled_h, 0, HOURS_MAX)
    _within("chilled_fraction", chilled_fraction, 0, 1)
    return (room_h + chilled_fraction * chilled_h) / HOURS_PER_DAY


def q10_rate(*, at_c: float, ref_c: float = SPOILING_REF_C, q10: float = SPOILING_Q10) -> float:
    """
    Return the rate against a reference, so many times faster for ten degrees.

    Args:
        at_c: Temperature [deg C], -20 to 60.
        ref_c: Temperature at which the rate is one [deg C], -20 to 60; 20 by default.
        q10: How many times faster for 10 C more [1], 1 to 10; the default spoiling_q10 is
            2.5, with 2 to 4.

    Returns:
        Rate [1]. ValueError outside the ranges.

    Valid for:
        Some twenty degrees around the reference.

    Source:
        k(T) = k(ref) q^((T - ref)/10), the definition.

    Example:
        >>> q10_rate(at_c=30, ref_c=20, q10=2)
        2.0
    """
    _within("at_c", at_c, AT_MIN_C, AT_MAX_C)
    _within("ref_c", ref_c, AT_MIN_C, AT_MAX_C)
    _within("q10", q10, 1, Q10_MAX)
    return exp(log(q10) * (at_c - ref_c) / 10)


def activation_of_q10_kj_per_mol(*, q10: float, from_c: float) -> float:
    """
    Return the activation energy that a factor for ten degrees stands for.

    Args:
        q10: How many times faster for 10 C more [1], 1 to 10.
        from_c: The cooler of the two temperatures [deg C], -20 to 60.

    Returns:
        Activation energy [kJ/mol]. ValueError outside the ranges.

    Valid for:
        Those ten degrees; the same energy is another factor elsewhere.

    Source:
        Ea = R ln q / (1/T - 1/(T + 10)), from both definitions.

    Example:
        >>> round(activation_of_q10_kj_per_mol(q10=2, from_c=20), 1)
        51.2
    """
    _within("q10", q10, 1, Q10_MAX)
    _within("from_c", from_c, AT_MIN_C, AT_MAX_C)
    return GAS_KJ_PER_MOL_K * log(q10) / (1 / _kelvin(from_c) - 1 / _kelvin(from_c + 10))


def _kelvin(at_c: float) -> float:
    return at_c + KELVIN_AT_0_C


def arrhenius_rate(
    *,
    at_c: float,
    ref_c: float = SPOILING_REF_C,
    activation_kj_per_mol: float = SPOILING_KJ_PER_MOL,
) -> float:
    """
    Return the rate against a reference by an activation energy.

    Args:
        at_c: Temperature [deg C], -20 to 60.
        ref_c: Temperature at which the rate is one [deg C], -20 to 60; 20 by default.
        activation_kj_per_mol: Activation energy [kJ/mol], 1 to 200; 83.144 by default, that
            of the mean kinetic temperature.

    Returns:
        Rate [1]. ValueError outside the ranges.

    Valid for:
        Chemical decay, as of a gum's chains; growth stops in the cold, which this does not.

    Source:
        Arrhenius; 83.144 kJ/mol and R of USP <1160>.

    Example:
        >>> round(arrhenius_rate(at_c=25, ref_c=20), 3)
        1.772
    """
    _within("at_c", at_c, AT_MIN_C, AT_MAX_C)
    _within("ref_c", ref_c, AT_MIN_C, AT_MAX_C)
    low, high = ACTIVATION_MIN_KJ_PER_MOL, ACTIVATION_MAX_KJ_PER_MOL
    _within("activation_kj_per_mol", activation_kj_per_mol, low, high)
    ratio_k = activation_kj_per_mol / GAS_KJ_PER_MOL_K
    return exp(ratio_k * (1 / _kelvin(ref_c) - 1 / _kelvin(at_c)))


def square_root_rate(
    *, at_c: float, ref_c: float = SPOILING_REF_C, min_c: float = SPOILING_MIN_C
) -> float:
    """
    Return the rate of growth against a reference: its root is a straight line.

    Args:
        at_c: Temperature [deg C], -20 to 60.
        ref_c: Temperature at which the rate is one [deg C], over min_c, at most 60; 20 by
            default.
        min_c: Temperature under which nothing grows [deg C], -20 to 60; the default
            spoiling_min_c is -10, with -10 to 0.

    Returns:
        Rate [1], 0 under min_c. ValueError outside the ranges.

    Valid for:
        Growth in the cold and at room warmth, up to about 35 C.

    Source:
        sqrt(k) = b (T - Tmin), the square-root law (Ratkowsky et al. 1982, from memory).

    Example:
        >>> square_root_rate(at_c=20, ref_c=0, min_c=-10)
        9.0
    """
    _within("at_c", at_c, AT_MIN_C, AT_MAX_C)
    _within("min_c", min_c, AT_MIN_C, AT_MAX_C)
    if not min_c < ref_c <= AT_MAX_C:
        raise ValueError(
            f"ref_c: must be over min_c, {min_c:g}, and at most {AT_MAX_C:g}, is {ref_c:g}"
        )
    root: float = max(0.0, at_c - min_c) / (ref_c - min_c)
    return root * root


def effective_age_h(*, kept: Sequence[Kept], rate: Callable[[float], float]) -> float:
    """
    Return the age that a thing kept at changing temperatures has, as if at the reference.

    Args:
        kept: Stretches of time, each at one temperature [h, deg C], 1 to 1000 of them, 0 to
            8784 h together.
        rate: Rate against the reference at a temperature [function of deg C, 1], such as one
            of this module's laws.

    Returns:
        Age [h at the reference]. ValueError outside the ranges.

    Valid for:
        Spoiling that depends on nothing but warmth and time.

    Source:
        Sum of dt k(T)/k(ref), the definition.

    Example:
        >>> day = [Kept(8, 25), Kept(16, 5)]
        >>> round(effective_age_h(kept=day, rate=lambda at_c: q10_rate(at_c=at_c, q10=2)), 4)
        16.9706
    """
    _hours_of(kept)
    return sum(one.hours * rate(one.at_c) for one in kept)


def _hours_of(kept: Sequence[Kept]) -> float:
    if not 1 <= len(kept) <= KEPT_MAX:
        raise ValueError(f"kept: must be 1 to {KEPT_MAX} stretches of time, is {len(kept)}")
    for one in kept:
        _within("hours", one.hours, 0, HOURS_MAX)
        _within("at_c", one.at_c, AT_MIN_C, AT_MAX_C)
    hours = sum(one.hours for one in kept)
    _within("hours together", hours, 0, HOURS_MAX)
    return hours


def mean_kinetic_c(
    *, kept: Sequence[Kept], activation_kj_per_mol: float = SPOILING_KJ_PER_MOL
) -> float:
    """
    Return the one temperature that would have aged a thing as much as the changing ones.

    Args:
        kept: Stretches of time, each at one temperature [h, deg C], 1 to 1000 of them, over
            0 to 8784 h together.
        activation_kj_per_mol: Activation energy [kJ/mol], 1 to 200; 83.144 by default.

    Returns:
        Mean kinetic temperature [deg C], never under the plain mean. ValueError outside the
        ranges.

    Valid for:
        Chemical decay. Made for stored goods over 30 days or more; USP takes the same time
        for each temperature, here each counts its own hours.

    Source:
        USP <1160>: T = (dH/R) / -ln(mean of exp(-dH/RT)), dH = 83.144 kJ/mol,
        R = 8.3144e-3 kJ/(mol K); Haynes 1971.

    Example:
        >>> round(mean_kinetic_c(kept=[Kept(12, 20), Kept(12, 30)]), 4)
        26.2599
    """
    hours = _hours_of(kept)
    if hours <= 0:
        raise ValueError("hours together: must be over 0 for a mean, is 0")
    ref_c = max(one.at_c for one in kept)
    mean = sum(
        one.hours
        * arrhenius_rate(
            at_c=one.at_c, ref_c=ref_c, activation_kj_per_mol=activation_kj_per_mol
        )
        for one in kept
    )
    per_k = log(mean / hours) * GAS_KJ_PER_MOL_K / activation_kj_per_mol
    return 1 / (1 / _kelvin(ref_c) - per_k) - KELVIN_AT_0_C
