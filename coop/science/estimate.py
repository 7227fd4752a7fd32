"""Doubt as numbers: normal and log-normal intervals, a scalar Kalman filter, error budgets."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, expm1, log, sqrt
from types import MappingProxyType
from typing import Final

from coop.science.defaults import Z_90

Z_20_PERCENT: Final = 0.8416
"""A normal quantity lies under mean - 0.8416 sd one time in five."""

STEP_IN_SD: Final = 1e-3
"""Step of the numerical slope in `uncertainty_budget`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScalarEstimate:
    """A normal estimate of one number and the weight its last reading had (0 to 1)."""

    mean: float
    variance: float
    gain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """A value, its standard uncertainty, and what each input puts in (slope times sd)."""

    value: float
    sd: float
    parts: Mapping[str, float]


def _over_zero(name: str, number: float) -> None:
    if not number > 0:
        raise ValueError(f"{name}: must be over 0, is {number:g}")


def _not_under_zero(name: str, number: float) -> None:
    if not number >= 0:
        raise ValueError(f"{name}: must not be under 0, is {number:g}")


def sd_of_half_width(*, half_width: float) -> float:
    """
    Return the standard deviation behind a +- that holds nine times in ten.

    Args:
        half_width: Half of the 90 % interval [any unit], not under 0.

    Returns:
        Standard deviation [the same unit]. ValueError under 0.

    Valid for:
        Normal quantities.

    Source:
        Normal distribution, 95 % quantile 1.645.

    Example:
        >>> round(sd_of_half_width(half_width=2), 3)
        1.216
    """
    _not_under_zero("half_width", half_width)
    return half_width / Z_90


def ln_sd_of_range(*, low: float, high: float) -> float:
    """
    Return the one spread on the logarithm behind a range that holds nine times in ten.

    Args:
        low: Lower end of the 90 % interval [any unit], over 0.
        high: Upper end [the same unit], not under low.

    Returns:
        Standard deviation of the natural logarithm [1]. ValueError outside the ranges.

    Valid for:
        Log-normal quantities; the middle of the range is then about sqrt(low x high).

    Source:
        Normal distribution on the logarithm, 95 % quantile 1.645.

    Example:
        >>> round(ln_sd_of_range(low=11, high=20), 4)
        0.1817
    """
    _over_zero("low", low)
    if not high >= low:
        raise ValueError(f"high: must not be under low ({low:g}), is {high:g}")
    return log(high / low) / (2 * Z_90)


def ln_sd_of_fraction(*, fraction: float) -> float:
    """
    Return the spread on the logarithm behind "+- so many per cent, nine times in ten".

    Args:
        fraction: Half of the 90 % interval as a fraction of the middle [1], 0 to under 1.

    Returns:
        Standard deviation of the natural logarithm [1], by the rule of `ln_sd_of_range`.
        ValueError outside the range.

    Valid for:
        Log-normal quantities; +-50 % becomes 0.58 to 1.73 times the middle.

    Source:
        Normal distribution on the logarithm, 95 % quantile 1.645.

    Example:
        >>> round(ln_sd_of_fraction(fraction=0.05), 4)
        0.0304
    """
    if not 0 <= fraction < 1:
        raise ValueError(f"fraction: must be from 0 to under 1, is {fraction:g}")
    return ln_sd_of_range(low=1 - fraction, high=1 + fraction)


def lognormal_spread(*, ln_sd: float) -> float:
    """
    Return how far a log-normal quantity lies from its middle, as one standard deviation.

    Args:
        ln_sd: Standard deviation of the natural logarithm [1], not under 0.

    Returns:
        Root of the mean square distance from the middle, as a fraction of the middle [1].
        ValueError under 0.

    Valid for:
        Amounts that add up, where the long upper tail counts; for small spreads it is ln_sd.

    Source:
        Moments of the log-normal distribution: E (x / m - 1)2 = exp(2 s2) - 2 exp(s2 / 2) + 1.

    Example:
        >>> round(lognormal_spread(ln_sd=0.1), 3), round(lognormal_spread(ln_sd=0.5), 2)
        (0.101, 0.62)
    """
    _not_under_zero("ln_sd", ln_sd)
    variance = ln_sd * ln_sd
    return sqrt(expm1(2 * variance) - 2 * expm1(variance / 2))


def lognormal_quantile(*, ln_mean: float, ln_sd: float, z: float) -> float:
    """
    Return a quantile of a log-normal quantity.

    Args:
        ln_mean: Mean of the natural logarithm [1].
        ln_sd: Its standard deviation [1], not under 0.
        z: Quantile of the standard normal [1], for example -0.8416 for one in five.

    Returns:
        The quantity [its unit], over 0. ValueError for a spread under 0.

    Valid for:
        Log-normal quantities.

    Source:
        exp(mean + z sd).

    Example:
        >>> round(lognormal_quantile(ln_mean=3.4, ln_sd=0.18, z=-0.8416), 2)
        25.75
    """
    _not_under_zero("ln_sd", ln_sd)
    return exp(ln_mean + z * ln_sd)


def lognormal_interval(*, ln_mean: float, ln_sd: float) -> tuple[float, float]:
    """
    Return the 5 % and 95 % quantiles of a log-normal quantity.

    Args:
        ln_mean: Mean of the natural logarithm [1].
        ln_sd: Its standard deviation [1], not under 0.

    Returns:
        Low and high end [its unit]. ValueError for a spread under 0.

    Valid for:
        Log-normal quantities; nine in ten lie between.

    Source:
        Normal distribution on the logarithm, 95 % quantile 1.645.

    Example:
        >>> from math import log
        >>> low, high = lognormal_interval(ln_mean=log(14.8), ln_sd=0.1817)
        >>> round(low), round(high)
        (11, 20)
    """
    return (
        lognormal_quantile(ln_mean=ln_mean, ln_sd=ln_sd, z=-Z_90),
        lognormal_quantile(ln_mean=ln_mean, ln_sd=ln_sd, z=Z_90),
    )


def kalman_predicted(
    *, mean: float, variance: float, moved_by: float, added_variance: float
) -> ScalarEstimate:
    """
    Return an estimate after a known move that brings doubt of its own.

    Args:
        mean: Estimate before [any unit].
        variance: Its variance [unit squared], not under 0.
        moved_by: What is added to it [unit].
        added_variance: Variance of the move [unit squared], not under 0.

    Returns:
        The estimate [ScalarEstimate], gain 0. ValueError for a variance under 0.

    Valid for:
        Moves whose error has nothing to do with the estimate's.

    Source:
        Kalman filter, prediction; worked tables on kalmanfilter.net.

    Example:
        >>> kalman_predicted(mean=10, variance=1, moved_by=-2, added_variance=0.5).variance
        1.5
    """
    _not_under_zero("variance", variance)
    _not_under_zero("added_variance", added_variance)
    return ScalarEstimate(mean=mean + moved_by, variance=variance + added_variance, gain=0.0)


def kalman_updated(
    *, mean: float, variance: float, reading: float, reading_variance: float
) -> ScalarEstimate:
    """
    Return an estimate after a reading.

    Args:
        mean: Estimate before [any unit].
        variance: Its variance [unit squared], not under 0.
        reading: What was read [unit].
        reading_variance: Variance of the reading [unit squared], over 0.

    Returns:
        The estimate and its gain [ScalarEstimate]. ValueError outside the ranges.

    Valid for:
        Readings whose error has nothing to do with the estimate's.

    Source:
        Kalman filter, update in the symmetric form of Joseph; the building-height table on
        kalmanfilter.net.

    Example:
        >>> first = kalman_updated(mean=60, variance=225, reading=48.54, reading_variance=25)
        >>> round(first.gain, 4), round(first.mean, 3), round(first.variance, 1)
        (0.9, 49.686, 22.5)
    """
    _not_under_zero("variance", variance)
    _over_zero("reading_variance", reading_variance)
    gain = variance / (variance + reading_variance)
    return ScalarEstimate(
        mean=mean + gain * (reading - mean),
        variance=(1 - gain) ** 2 * variance + gain**2 * reading_variance,
        gain=gain,
    )


def weighted_mean(*, readings: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """
    Return several readings of one thing as one, each weighted by its precision.

    Args:
        readings: Pairs of value [any unit] and variance [unit squared, over 0], at least one.

    Returns:
        Mean [unit] and its variance [unit squared]. ValueError outside the ranges.

    Valid for:
        Readings with errors of their own.

    Source:
        Least squares; the sum of value / variance over the sum of 1 / variance.

    Example:
        >>> weighted_mean(readings=[(10, 1), (20, 1)])
        (15.0, 0.5)
    """
    if not readings:
        raise ValueError("readings: must be at least one, is none")
    for _, variance in readings:
        _over_zero("variance", variance)
    precision = sum(1 / variance for _, variance in readings)
    return sum(value / variance for value, variance in readings) / precision, 1 / precision


def uncertainty_budget(
    *,
    function: Callable[[Mapping[str, float]], float],
    inputs: Mapping[str, tuple[float, float]],
    correlations: Mapping[tuple[str, str], float] = MappingProxyType({}),
) -> Budget:
    """
    Return a computed value with its standard uncertainty and what each input puts in.

    Args:
        function: Takes all inputs by name, returns the value [any unit].
        inputs: Value and standard uncertainty (not under 0) by name [unit of each].
        correlations: Correlation of two inputs by their names, each pair once [1], -1 to 1.

    Returns:
        Value, uncertainty, and slope times uncertainty by input [Budget, unit of the value].
        ValueError for an uncertainty under 0 or a correlation outside its range.

    Valid for:
        First order: functions nearly straight over one standard uncertainty.

    Source:
        JCGM 100:2008 (GUM) 5.1.2 and 5.2.2, slopes by central differences.

    Example:
        >>> area = uncertainty_budget(
        ...     function=lambda of: of["width"] * of["height"],
        ...     inputs={"width": (3, 0.1), "height": (4, 0.1)})
        >>> area.value, round(area.sd, 2), round(area.parts["width"], 2)
        (12, 0.5, 0.4)
    """
    middle = {name: number for name, (number, _) in inputs.items()}
    parts: dict[str, float] = {}
    for name, (number, sd) in inputs.items():
        _not_under_zero(f"inputs: uncertainty of {name}", sd)
        up = function({**middle, name: number + STEP_IN_SD * sd})
        down = function({**middle, name: number - STEP_IN_SD * sd})
        parts[name] = (up - down) / (2 * STEP_IN_SD)
    variance = sum(part * part for part in parts.values())
    for (first, second), correlation in correlations.items():
        if not -1 <= correlation <= 1:
            raise ValueError(
                f"correlations: {first} with {second} must be from -1 to 1, is {correlation:g}"
            )
        variance += 2 * correlation * parts[first] * parts[second]
    return Budget(
        value=function(middle), sd=sqrt(max(0.0, variance)), parts=MappingProxyType(parts)
    )
