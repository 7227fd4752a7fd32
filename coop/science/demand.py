"""When to order, how much, and what use to expect when use comes now and then."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from math import inf, sqrt
from statistics import NormalDist, fmean
from typing import Final, Literal

from coop.science.defaults import value

PERIODS_MAX: Final = 10_000
USE_WEEKS: Final = round(value("use_weeks"))
USE_EVERY_WEEKS: Final = value("use_every_weeks")
USE_SMOOTHING: Final = value("use_smoothing")
TWO_FIGURES: Final = Context(prec=2, rounding=ROUND_HALF_UP)

STANDARD: Final = NormalDist()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadUse:
    """What is used from ordering to arriving: mean and standard deviation, one unit."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderPoint:
    """Stock at which to order, and the part of it that is there for bad luck, one unit."""

    point: float
    safety: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderSize:
    """What to order at a time [the stock's unit], and what ordering and keeping then cost."""

    quantity: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeeklyUse:
    """
    What is used in a week [any unit], and by what it was found.

    `week_count` weeks were looked at, in `used_week_count` of them some was used.
    """

    per_week: float
    by: Literal["mean", "fading"]
    week_count: int
    used_week_count: int


def lead_use(
    *, per_day: float, lead_days: float, per_day_sd: float = 0.0, lead_sd_days: float = 0.0
) -> LeadUse:
    """
    Return what is used from ordering to arriving.

    Args:
        per_day: Use [any unit/day], not under 0.
        lead_days: Days from ordering to arriving [day], not under 0.
        per_day_sd: Standard deviation of one day's use [the same unit/day], not under 0.
        lead_sd_days: Standard deviation of the days to arriving [day], not under 0.

    Returns:
        Mean and standard deviation [LeadUse, the unit]. ValueError outside the ranges.

    Valid for:
        Days that know nothing of one another, nor of the days to arriving; weeks do as well
        as days where all four are by the week.

    Source:
        W. J. Stevenson, Operations Management, reorder point with variable use and lead
        time: sqrt(L sd^2 + d^2 sL^2).

    Example:
        >>> use = lead_use(per_day=150, per_day_sd=2, lead_days=4, lead_sd_days=0.5)
        >>> use.mean, round(use.sd, 5)
        (600, 75.10659)
    """
    for name, number in (
        ("per_day", per_day),
        ("lead_days", lead_days),
        ("per_day_sd", per_day_sd),
        ("lead_sd_days", lead_sd_days),
    ):
        _refuse_under_zero(name, number)
    variance = lead_days * per_day_sd**2 + per_day**2 * lead_sd_days**2
    return LeadUse(mean=per_day * lead_days, sd=sqrt(variance))


def _refuse_under_zero(name: str, number: float) -> None:
    if not 0 <= number < inf:
        raise ValueError(f"{name}: must be a number, not under 0, is {number:g}")


def _refuse_not_over_zero(name: str, number: float) -> None:
    if not 0 < number < inf:
        raise ValueError(f"{name}: must be a number over 0, is {number:g}")


def reorder_point(*, use: LeadUse, z: float) -> ReorderPoint:
    """
    Return the stock at which to order.

    Args:
        use: What is used until it arrives [LeadUse, any unit].
        z: Standard deviations kept for bad luck [1], not under 0; see `service_z`.

    Returns:
        Reorder point and safety stock [ReorderPoint, the unit]. ValueError outside the
        ranges.

    Valid for:
        Use until arrival that is near normal, stock known at every moment.

    Source:
        W. J. Stevenson, Operations Management, chapter on inventory: mean + z sd.

    Example:
        >>> found = reorder_point(use=LeadUse(mean=50, sd=5), z=1.88)
        >>> round(found.point, 2), round(found.safety, 2)
        (59.4, 9.4)
    """
    _refuse_under_zero("use.mean", use.mean)
    _refuse_under_zero("use.sd", use.sd)
    _refuse_under_zero("z", z)
    return ReorderPoint(point=use.mean + z * use.sd, safety=z * use.sd)


def service_z(*, service_fraction: float) -> float:
    """
    Return how many standard deviations keep stock from running out so often.

    Args:
        service_fraction: Orders that arrive in time [fraction], over 0, under 1.

    Returns:
        Standard deviations [1]. ValueError outside the range.

    Valid for:
        Normal quantities.

    Source:
        Quantile of the standard normal distribution.

    Example:
        >>> round(service_z(service_fraction=0.97), 4)
        1.8808
    """
    if not 0 < service_fraction < 1:
        raise ValueError(
            f"service_fraction: must be over 0 and under 1, is {service_fraction:g}"
        )
    return STANDARD.inv_cdf(service_fraction)


def unit_normal_loss(*, z: float) -> float:
    """
    Return the mean shortage when stock is z standard deviations over the mean.

    Args:
        z: Stock over the mean in standard deviations [1].

    Returns:
        Shortage in standard deviations [1].

    Valid for:
        Normal quantities; z up to 8, past it rounding is larger than the shortage.

    Source:
        Density(z) - z (1 - distribution(z)) of the standard normal.

    Example:
        >>> round(unit_normal_loss(z=1), 5)
        0.08332
    """
    return STANDARD.pdf(z) - z * STANDARD.cdf(-z)


def order_size(*, use: float, order_cost: float, keeping_cost: float) -> OrderSize:
    """
    Return how much to order at a time.

    Args:
        use: Use in a span [any unit], not under 0.
        order_cost: Cost of one order, whatever its size [money], not under 0.
        keeping_cost: Cost of keeping one unit for that span [money/unit], over 0.

    Returns:
        Order size and the cost of ordering and keeping in the span [OrderSize, unit and
        money]. ValueError outside the ranges.

    Valid for:
        Steady use, stock that keeps, one price at every size.

    Source:
        sqrt(2 K D / h), F. W. Harris 1913; examples of Snyder and Shen, Fundamentals of
        Supply Chain Theory.

    Example:
        >>> order_size(use=10_000, order_cost=150, keeping_cost=0.75).quantity
        2000.0
    """
    _refuse_under_zero("use", use)
    _refuse_under_zero("order_cost", order_cost)
    _refuse_not_over_zero("keeping_cost", keeping_cost)
    return OrderSize(
        quantity=sqrt(2 * order_cost * use / keeping_cost),
        cost=sqrt(2 * order_cost * use * keeping_cost),
    )


def croston(*, uses: Sequence[float], smoothing: float) -> float:
    """
    Return the use to expect of a period, from use that comes now and then.

    Args:
        uses: Use of each period in its order [any unit], not under 0; 1 to 10,000 periods.
        smoothing: Weight of the newest use and interval [1], over 0 to 1.

    Returns:
        Use of a period [the unit]; 0 where there was none yet. ValueError outside the ranges.

    Valid for:
        Use that goes on: when it stops, this never falls. It lies a little high; see
        `croston_unbiased`.

    Source:
        J. D. Croston 1972, Oper Res Q 23:289-303, as in R. J. Hyndman's forecast package:
        the first interval runs from the start of the series.

    Example:
        >>> round(croston(uses=[0, 0, 2, 0, 3, 0, 0, 0, 1, 4, 0, 2], smoothing=0.1), 6)
        0.796122
    """
    _refuse_uses(uses, smoothing)
    size = every = 0.0
    for used, interval in _used(uses):
        if not size:
            size, every = used, float(interval)
        else:
            size += smoothing * (used - size)
            every += smoothing * (interval - every)
    return size / every if size else 0.0


def _refuse_uses(uses: Sequence[float], smoothing: float) -> None:
    if not 1 <= len(uses) <= PERIODS_MAX:
        raise ValueError(f"uses: must be 1 to {PERIODS_MAX} periods, is {len(uses)}")
    for use in uses:
        _refuse_under_zero("uses", use)
    _refuse_fraction("smoothing", smoothing)


def _refuse_fraction(name: str, number: float) -> None:
    if not 0 < number <= 1:
        raise ValueError(f"{name}: must be over 0, to 1, is {number:g}")


def _used(uses: Sequence[float]) -> Iterator[tuple[float, int]]:
    """Yield every use with the periods since the one before it."""
    interval = 0
    for use in uses:
        interval += 1
        if use:
            yield use, interval
            interval = 0


def croston_unbiased(*, uses: Sequence[float], smoothing: float) -> float:
    """
    Return Croston's figure with its bias taken off.

    Args:
        uses: Use of each period in its order [any unit], not under 0; 1 to 10,000 periods.
        smoothing: Weight of the newest use and interval [1], over 0 to 1.

    Returns:
        Use of a period [the unit]; 0 where there was none yet. ValueError outside the ranges.

    Valid for:
        As `croston`.

    Source:
        A. A. Syntetos and J. E. Boylan 2005, Int J Forecast 21:303-314: times 1 - half the
        smoothing.

    Example:
        >>> use = [0, 0, 2, 0, 3, 0, 0, 0, 1, 4, 0, 2]
        >>> round(croston_unbiased(uses=use, smoothing=0.1), 6)
        0.756316
    """
    return croston(uses=uses, smoothing=smoothing) * (1 - smoothing / 2)


def fading_use(
    *,
    uses: Sequence[float],
    smoothing: float,
    chance_smoothing: float,
    start_chance: float | None = None,
) -> float:
    """
    Return the use to expect of a period, falling when use stops.

    Args:
        uses: Use of each period in its order [any unit], not under 0; 1 to 10,000 periods.
        smoothing: Weight of the newest use [1], over 0 to 1.
        chance_smoothing: Weight of the newest period in the chance of a use [1], over 0 to 1.
        start_chance: Chance of a use as it stood before the first period [1], 0 to 1; None
            takes it from whether there was one in that period.

    Returns:
        Use of a period [the unit]; 0 where there was none yet. ValueError outside the ranges.

    Valid for:
        Use that comes now and then and may end. Over the first dozen periods the start
        counts: say it where the chance is known.

    Source:
        R. H. Teunter, A. A. Syntetos and M. Z. Babai 2011, Eur J Oper Res 214:606-615.

    Example:
        >>> use = [0, 0, 2, 0, 3, 0, 0, 0, 1, 4, 0, 2]
        >>> round(fading_use(uses=use, smoothing=0.1, chance_smoothing=0.1), 6)
        0.739471
    """
    _refuse_uses(uses, smoothing)
    _refuse_fraction("chance_smoothing", chance_smoothing)
    if start_chance is None:
        start_chance = float(uses[0] > 0)
    if not 0 <= start_chance <= 1:
        raise ValueError(f"start_chance: must be from 0 to 1, is {start_chance:g}")
    chance, size = start_chance, 0.0
    for use in uses:
        chance += chance_smoothing * ((use > 0) - chance)
        if use:
            size = size + smoothing * (use - size) if size else use
    return chance * size


def weekly_use(*, uses: Sequence[float]) -> WeeklyUse:
    """
    Return the use of a week that the next order reckons with.

    Args:
        uses: Use of each week, the present one last [any unit], not under 0; 1 to 10,000
            weeks, of which the newest 8 count.

    Returns:
        Use of a week [WeeklyUse, the unit]. By the mean; but by `fading_use` where more than
        1.32 weeks lie between uses. ValueError outside the ranges.

    Valid for:
        Use without a season. Weeks after the last use count as a longer wait, so that what
        nobody uses any more fades.

    Source:
        The line between the two: A. A. Syntetos, J. E. Boylan and J. D. Croston 2005, J Oper
        Res Soc 56:495-503, from memory. That the chance starts at the share of weeks with a
        use is our own choice: eight weeks are too few to forget another start.

    Example:
        >>> weekly_use(uses=[120, 140, 90, 130]).per_week
        120.0
        >>> weekly_use(uses=[0, 240, 0, 0]).by
        'fading'
    """
    _refuse_uses(uses, USE_SMOOTHING)
    newest = uses[-USE_WEEKS:]
    used_weeks = sum(use > 0 for use in newest)
    by: Literal["mean", "fading"] = "mean"
    per_week = fmean(newest)
    if used_weeks and len(newest) > USE_EVERY_WEEKS * used_weeks:
        by = "fading"
        per_week = fading_use(
            uses=newest,
            smoothing=USE_SMOOTHING,
            chance_smoothing=USE_SMOOTHING,
            start_chance=used_weeks / len(newest),
        )
    return WeeklyUse(
        per_week=per_week, by=by, week_count=len(newest), used_week_count=used_weeks
    )


def two_figures(*, number: float) -> float:
    """
    Return a number as an order list says it, so that its sum can be done again by hand.

    Args:
        number: What to round [any unit], not under 0.

    Returns:
        The number to two significant digits, a half upwards [the unit]. ValueError outside
        the range.

    Valid for:
        What is said and then reckoned with; 125 is 130 although a computer's own rounding
        makes it 120.

    Source:
        Rounding half up, as taught in school.

    Example:
        >>> two_figures(number=132.6), two_figures(number=0.0345)
        (130.0, 0.035)
    """
    _refuse_under_zero("number", number)
    return float(TWO_FIGURES.plus(Decimal(str(number))))
