"""What one paper takes with it by one method, learned from how far a tub went down."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import Final

from coop.science.defaults import Z_90, value
from coop.science.estimate import ln_sd_of_fraction, lognormal_interval, lognormal_quantile

AREA_MAX_M2: Final = 1_000.0
GONE_MAX_ML: Final = 1_000_000.0
PAIRS_MAX: Final = 10_000

PAIRS_MIN: Final = round(value("pickup_pairs_min"))
LN_SD_MIN: Final = ln_sd_of_fraction(fraction=value("pickup_spread_min_fraction"))
"""Spread of one entry's factor that no learning goes under, on the logarithm."""

HALVINGS: Final = 40
VARIANCE_MIN: Final = 1e-12
"""Where the search begins for readings that are all the same."""
WIDER: Final = (1 + Z_90 * Z_90) / 4
"""A normal interval with an uncertain variance V covers its 90 % with V + WIDER var(V) / V."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """
    Two level readings of one tub with only sheets of one paper and method between them.

    `area_m2` is the area of those sheets, `gone_ml` what left the tub with them (after what
    dried up), `sd_ml` the standard deviation of that difference; 0 where nobody knows.
    """

    area_m2: float
    gone_ml: float
    sd_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Consensus:
    """What several readings agree on: mean, its variance, the variance between the things."""

    mean: float
    mean_variance: float
    between_variance: float
    between_sd: float
    """Standard deviation of `between_variance` itself [the readings' unit squared]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """
    A paper's own pick-up, all in mL per m2 of sheets.

    Attributes:
        middle_ml_per_m2: Geometric mean.
        low_ml_per_m2: A later entry lies between this ...
        high_ml_per_m2: ... and this nine times in ten.
        middle_low_ml_per_m2: The middle itself lies between this ...
        middle_high_ml_per_m2: ... and this nine times in ten.
        ln_sd: Spread of one later entry on the logarithm [1], as the range above has it.
        pair_count: How many pairs taught it.
    """

    middle_ml_per_m2: float
    low_ml_per_m2: float
    high_ml_per_m2: float
    middle_low_ml_per_m2: float
    middle_high_ml_per_m2: float
    ln_sd: float
    pair_count: int


def learned(*, pairs: Sequence[Pair], pairs_min: int = PAIRS_MIN) -> Learned | None:
    """
    Return what a paper takes with it by one method, once there are pairs enough.

    Args:
        pairs: Pairs of level readings, all of one paper and method [Pair]: area over 0 to
            1,000 m2, gone within 1,000,000 mL (the readings' noise may put it under 0), sd
            not under 0; 10,000 pairs at most.
        pairs_min: Pairs wanted [count], 2 or more.

    Returns:
        Middle and ranges [Learned, mL/m2]; None with fewer pairs than wanted, or where the
        tub did not go down. ValueError outside the ranges.

    Valid for:
        Entries whose own factors are log-normal around the paper's. Simulated, 30 pairs of
        4 to 18 m2, true spread 0.10 to 0.25, noise up to 520 mL: middle off by under 1 % on
        average, and the range of a later entry holds it 89 to 93 times in 100.

    Source:
        `consensus` on mL/m2; the later entry's range is widened for a variance that few
        pairs teach badly (second order, at most doubled), and never narrower than
        pickup_spread_min_fraction, our own.

    Example:
        >>> dipped = [Pair(area_m2=10, gone_ml=ml, sd_ml=60) for ml in (1200, 1400, 1640)]
        >>> found = learned(pairs=dipped * 10)
        >>> round(found.middle_ml_per_m2), round(found.low_ml_per_m2), found.pair_count
        (140, 114, 30)
        >>> learned(pairs=dipped) is None
        True
    """
    _refuse(pairs, pairs_min)
    if len(pairs) < pairs_min:
        return None
    agreed = consensus(
        readings=[(one.gone_ml / one.area_m2, (one.sd_ml / one.area_m2) ** 2) for one in pairs]
    )
    return _in_logarithms(agreed, len(pairs)) if agreed.mean > 0 else None


def _refuse(pairs: Sequence[Pair], pairs_min: int) -> None:
    if pairs_min < 2:
        raise ValueError(f"pairs_min: must be 2 or more, is {pairs_min}")
    if len(pairs) > PAIRS_MAX:
        raise ValueError(f"pairs: must be {PAIRS_MAX} at most, is {len(pairs)}")
    for one in pairs:
        if not 0 < one.area_m2 <= AREA_MAX_M2:
            raise ValueError(f"area_m2: must be over 0, to {AREA_MAX_M2:g}, is {one.area_m2:g}")
        for name, number, low in (
            ("gone_ml", one.gone_ml, -GONE_MAX_ML),
            ("sd_ml", one.sd_ml, 0.0),
        ):
            if not low <= number <= GONE_MAX_ML:
                raise ValueError(
                    f"{name}: must be from {low:.0f} to {GONE_MAX_ML:.0f}, is {number:g}"
                )


def _in_logarithms(agreed: Consensus, pair_count: int) -> Learned:
    """Turn mean and variance of a log-normal factor into its middle and its ranges."""
    square = agreed.mean * agreed.mean
    ln_variance = log(1 + agreed.between_variance / square)
    ln_mean = log(agreed.mean) - ln_variance / 2
    middle_sd = sqrt(agreed.mean_variance / square)
    floored = max(ln_variance, LN_SD_MIN * LN_SD_MIN)
    unsure = WIDER * (agreed.between_sd / square) ** 2 / floored
    ln_sd = sqrt(floored + min(unsure, floored) + middle_sd * middle_sd)
    low, high = lognormal_interval(ln_mean=ln_mean, ln_sd=ln_sd)
    middle_low, middle_high = lognormal_interval(ln_mean=ln_mean, ln_sd=middle_sd)
    return Learned(
        middle_ml_per_m2=lognormal_quantile(ln_mean=ln_mean, ln_sd=ln_sd, z=0),
        low_ml_per_m2=low,
        high_ml_per_m2=high,
        middle_low_ml_per_m2=middle_low,
        middle_high_ml_per_m2=middle_high,
        ln_sd=ln_sd,
        pair_count=pair_count,
    )


def consensus(*, readings: Sequence[tuple[float, float]]) -> Consensus:
    """
    Return the mean of things that differ, each read with a noise of its own.

    Args:
        readings: Pairs of value [any unit] and variance of its reading [unit squared, not
            under 0], 2 or more.

    Returns:
        Mean, and how much the things themselves differ with the readings' noise taken off
        [Consensus, unit and unit squared]. ValueError outside the ranges.

    Valid for:
        Readings that know nothing of one another. Two pairs that share a level reading know
        of one another a little; the middle stays right.

    Source:
        R. C. Paule and J. Mandel 1982, J Res Natl Bur Stand 87:377-385: the variance between
        is what makes the weighted squares sum to one less than the readings.

    Example:
        >>> agreed = consensus(readings=[(10, 1), (14, 1), (12, 1), (20, 4)])
        >>> round(agreed.mean, 2), round(agreed.between_variance, 2)
        (13.76, 15.77)
    """
    if len(readings) < 2:
        raise ValueError(f"readings: must be 2 or more, is {len(readings)}")
    if not all(variance >= 0 for _, variance in readings):
        raise ValueError("readings: no variance must be under 0")
    values = [value for value, _ in readings]
    low = 0.0
    high = max((max(values) - min(values)) ** 2, VARIANCE_MIN)  # the true one is never larger
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _excess(readings, middle) > 0:
            low = middle
        else:
            high = middle
    return _agreed(readings, high)


def _excess(readings: Sequence[tuple[float, float]], between: float) -> float:
    """Return the weighted squares over what they should sum to; falls as `between` grows."""
    mean = _agreed(readings, between).mean
    squares = sum((value - mean) ** 2 / (between + noise) for value, noise in readings)
    return squares - (len(readings) - 1)


def _agreed(readings: Sequence[tuple[float, float]], between: float) -> Consensus:
    weights = [1 / (between + noise) for _, noise in readings]
    total = sum(weights)
    mean = sum(w * value for w, (value, _) in zip(weights, readings, strict=True)) / total
    return Consensus(
        mean=mean,
        mean_variance=1 / total,
        between_variance=between,
        between_sd=sqrt(2 * (len(readings) - 1)) / total,
    )
