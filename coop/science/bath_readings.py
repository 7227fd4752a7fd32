"""
Readings of an alum bath: level and strength by gravity, and what to do when one disagrees.

A reading beyond three standard deviations is kept and not applied: a top-up nobody wrote, an
entry written twice, another salt, a dirty bath or an unchecked hydrometer may be behind it.
It waits with the belief that would hold had it been right. A second reading settles it when
it lies within two standard deviations of that belief and nearer to it than to the estimate;
then both are applied, from the readings' own doubt. A reading of the other quantity settles
it by the salt: a weaker bath by gravity and the higher level that the same salt in more water
would have. Readings that a later one of the same quantity outvotes are set aside.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import exp, hypot, inf, log, sqrt
from typing import Final, NamedTuple

from coop.science.bath import BathEstimate, Measured, Pending
from coop.science.bath_belief import (
    HYDROMETER,
    LASTING_MAX,
    LN_C_MIN,
    ML_PER_L,
    VOLUME_MIN_ML,
    Belief,
    Lasting,
    Triple,
)
from coop.science.defaults import Z_90, value

LEVEL: Final = "level"
GRAVITY: Final = "gravity"

APPLIED: Final = "applied"
KEPT: Final = "kept"
SETTLED: Final = "settled"

DISAGREE_SIGMA: Final = value("disagree_sigma")
AGREE_SIGMA: Final = value("agree_sigma")
LEVEL_SD_MM: Final = value("level_mm") / Z_90

PENDING_MAX: Final = 8
"""Readings that wait; the oldest makes room."""

FACTOR_MIN: Final = 0.2
FACTOR_MAX: Final = 5.0
LN_RATIO_MAX: Final = 50.0
_STEPS_MAX: Final = 80
_STEP_END: Final = 1e-12
_HALF: Final = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


class _Reading(NamedTuple):
    """`sd` is the error of this reading alone, `lasting_sd` that of all of its instrument."""

    quantity: str
    value: float
    sd: float
    lasting_sd: float = 0.0


class ReadingOutcome(NamedTuple):
    """
    What became of a reading.

    `outcome` is applied, kept or settled; `sigma` how far it lay from the estimate in
    standard deviations; `before` and `after` the estimate's middle of what was read (mL or
    g/L); `settled` the label of the waiting reading it settled, empty if none; `set_aside`
    the labels of waiting readings it outvoted.
    """

    label: str
    quantity: str
    outcome: str
    sigma: float
    before: float
    after: float
    settled: str = ""
    set_aside: tuple[str, ...] = ()


def volume_by_area(
    *, level_mm: float, area_m2: float, level_sd_mm: float = LEVEL_SD_MM
) -> Measured:
    """
    Return the volume at a level in a vessel with upright walls.

    Args:
        level_mm: Depth of the liquid [mm], not under 0.
        area_m2: Inside area of the floor [m2], over 0.
        level_sd_mm: Standard deviation of the depth [mm]; +-2 mm nine times in ten.

    Returns:
        Volume and its standard deviation [Measured, mL]. ValueError outside the ranges.

    Valid for:
        Upright walls, a level floor.

    Source:
        1 mm over 1 m2 is 1 L.

    Example:
        >>> round(volume_by_area(level_mm=30, area_m2=0.4).volume_ml)
        12000
    """
    if not 0 <= level_mm < inf:
        raise ValueError(f"level_mm: must not be under 0, is {level_mm:g}")
    if not 0 < area_m2 < inf:
        raise ValueError(f"area_m2: must be over 0, is {area_m2:g}")
    per_mm = ML_PER_L * area_m2
    return Measured(per_mm * level_mm, per_mm * level_sd_mm)


def volume_by_table(
    *,
    level_mm: float,
    table: tuple[tuple[float, float], ...],
    level_sd_mm: float = LEVEL_SD_MM,
) -> Measured:
    """
    Return the volume at a level in a vessel that was filled by marks.

    Args:
        level_mm: Depth of the liquid [mm], within the table.
        table: Depth [mm] and volume [mL], both rising, at least two rows.
        level_sd_mm: Standard deviation of the depth [mm]; +-2 mm nine times in ten.

    Returns:
        Volume and its standard deviation [Measured, mL]. ValueError outside the table or
        for a table that does not rise.

    Valid for:
        Between the marks, straight from one to the next.

    Source:
        Linear interpolation.

    Example:
        >>> tapering = ((0, 0), (20, 7000), (40, 16_000))
        >>> round(volume_by_table(level_mm=30, table=tapering).volume_ml)
        11500
    """
    rows = list(pairwise(table))
    if not rows or not all(b[0] > a[0] and b[1] > a[1] for a, b in rows):
        raise ValueError("table: must have two rows or more, depth and volume rising")
    if not table[0][0] <= level_mm <= table[-1][0]:
        raise ValueError(
            f"level_mm: must be from {table[0][0]:g} to {table[-1][0]:g}, is {level_mm:g}"
        )
    low, high = next(row for row in rows if level_mm <= row[1][0])
    per_mm = (high[1] - low[1]) / (high[0] - low[0])
    return Measured(low[1] + per_mm * (level_mm - low[0]), per_mm * level_sd_mm)


def level_read(
    *,
    estimate: BathEstimate,
    volume_ml: float,
    sd_ml: float,
    label: str,
    disagree_sigma: float = DISAGREE_SIGMA,
    agree_sigma: float = AGREE_SIGMA,
) -> tuple[BathEstimate, ReadingOutcome]:
    """
    Return the estimate after a level was read, and what became of the reading.

    Args:
        estimate: The bath before [BathEstimate].
        volume_ml: Volume at that level [mL], not under 0, as by `volume_by_area`.
        sd_ml: Its standard deviation [mL], over 0.
        label: The reading's name, given back in outcomes [text].
        disagree_sigma: Beyond this it is kept and not applied [sd].
        agree_sigma: Within this of a waiting reading it settles that one [sd].

    Returns:
        The estimate [BathEstimate] and the outcome [ReadingOutcome, mL]. ValueError outside
        the ranges.

    Valid for:
        Still liquid.

    Source:
        Kalman update in the form of Joseph, with a test of the innovation.

    Example:
        >>> from coop.science.bath import SaltPart, mixed
        >>> bath = mixed(water_ml=12_000, salt_parts=[SaltPart(480, 0.02)],
        ...     salt="potash_alum", at_h=0)
        >>> _, outcome = level_read(estimate=bath, volume_ml=15_000, sd_ml=300, label="r1")
        >>> outcome.outcome, round(outcome.after)
        ('kept', 12000)
    """
    if not 0 <= volume_ml < inf:
        raise ValueError(f"volume_ml: must not be under 0, is {volume_ml:g}")
    reading = _Reading(LEVEL, max(VOLUME_MIN_ML, volume_ml), sd_ml)
    return _read(estimate, reading, label, disagree_sigma, agree_sigma)


def gravity_read(
    *,
    estimate: BathEstimate,
    strength_g_per_l: float,
    sd_g_per_l: float,
    label: str,
    lasting_sd_g_per_l: float = 0.0,
    disagree_sigma: float = DISAGREE_SIGMA,
    agree_sigma: float = AGREE_SIGMA,
) -> tuple[BathEstimate, ReadingOutcome]:
    """
    Return the estimate after the strength was read, and what became of the reading.

    Args:
        estimate: The bath before [BathEstimate].
        strength_g_per_l: Strength by specific gravity and temperature [g/L of the bath's
            salt, for water put in]; may be 0 or a little under for plain water.
        sd_g_per_l: Its standard deviation [g/L], over 0.
        label: The reading's name, given back in outcomes [text].
        lasting_sd_g_per_l: Part of that which every reading with this hydrometer shares, by
            its zero and the density curve [g/L], not under 0 and under sd_g_per_l: a second
            reading does not halve it.
        disagree_sigma: Beyond this it is kept and not applied [sd].
        agree_sigma: Within this of a waiting reading it settles that one [sd].

    Returns:
        The estimate [BathEstimate] and the outcome [ReadingOutcome, g/L]. ValueError outside
        the ranges.

    Valid for:
        Clean baths of a salt with a density curve; never from pH.

    Source:
        Iterated extended Kalman update: normal in g/L for the reading, normal in ln g/L for
        the estimate; the test is on the least sum of squares of both. What lasts of the error
        is weighed and not learned (Schmidt 1966, from memory).

    Example:
        >>> from coop.science.bath import SaltPart, mixed
        >>> bath = mixed(water_ml=11_360, salt_parts=[SaltPart(355, 0.18)],
        ...     salt="potash_alum", at_h=0)
        >>> _, outcome = gravity_read(
        ...     estimate=bath, strength_g_per_l=24, sd_g_per_l=1.2, label="r1")
        >>> outcome.outcome, round(outcome.before), round(outcome.after)
        ('applied', 31, 24)
    """
    if not -inf < strength_g_per_l < inf:
        raise ValueError(f"strength_g_per_l: must be a number, is {strength_g_per_l:g}")
    if not 0 <= lasting_sd_g_per_l < sd_g_per_l:
        raise ValueError(
            f"lasting_sd_g_per_l: must be from 0 to under sd_g_per_l ({sd_g_per_l:g}), "
            f"is {lasting_sd_g_per_l:g}"
        )
    own_sd = sqrt(sd_g_per_l**2 - lasting_sd_g_per_l**2)
    reading = _Reading(GRAVITY, strength_g_per_l, own_sd, lasting_sd_g_per_l)
    return _read(estimate, reading, label, disagree_sigma, agree_sigma)


class _Verdict(NamedTuple):
    outcome: str
    after: Belief
    settled: Pending | None = None
    outvoted: tuple[Pending, ...] = ()


def _read(
    estimate: BathEstimate,
    reading: _Reading,
    label: str,
    disagree_sigma: float,
    agree_sigma: float,
) -> tuple[BathEstimate, ReadingOutcome]:
    if not 0 < reading.sd < inf:
        raise ValueError(f"sd: must be over 0, is {reading.sd:g}")
    sigma = _sigma(estimate.belief, reading)
    verdict = _settled(estimate, reading, sigma, agree_sigma)
    if verdict is None and sigma > disagree_sigma:
        verdict = _Verdict(KEPT, estimate.belief)
    elif verdict is None:
        verdict = _applied(estimate, reading, sigma, agree_sigma)
    return _noted(estimate, reading, label, verdict), ReadingOutcome(
        label=label,
        quantity=reading.quantity,
        outcome=verdict.outcome,
        sigma=sigma,
        before=_middle(estimate.belief, reading.quantity),
        after=_middle(verdict.after, reading.quantity),
        settled=verdict.settled.label if verdict.settled else "",
        set_aside=tuple(kept.label for kept in verdict.outvoted),
    )


def _sigma(belief: Belief, reading: _Reading) -> float:
    """How far a reading lies from a belief, in standard deviations of both together."""
    if reading.quantity == LEVEL:
        return abs(reading.value - belief.volume_ml) / hypot(belief.vv**0.5, reading.sd)
    seen = _seen(belief, reading)
    off_reading = (reading.value - exp(seen.most_likely)) / reading.sd
    off_belief = (seen.most_likely - belief.ln_c) / sqrt(seen.yy) if seen.yy > 0 else 0.0
    return hypot(off_reading, off_belief)


class _Seen(NamedTuple):
    """
    What a hydrometer shows on average: ln c with its lasting error, of variance `yy`.

    `load` is one sd of that error [1]; `most_likely` where belief and reading meet.
    """

    most_likely: float
    yy: float
    load: float


@lru_cache(maxsize=64)  # asked for twice: whether a reading agrees, and what it changes
def _seen(belief: Belief, reading: _Reading) -> _Seen:
    middle, cc, read, sd = belief.ln_c, belief.cc, reading.value, reading.sd
    if not reading.lasting_sd:
        return _Seen(_most_likely_ln_c(middle, cc, read, sd), cc, 0.0)
    about = _most_likely_ln_c(middle, cc, read, hypot(sd, reading.lasting_sd))
    load = reading.lasting_sd / exp(about)
    _, _, own_c, _ = _hydrometer_of(belief)
    yy = max(0.0, cc + load * (2 * own_c + load))
    return _Seen(_most_likely_ln_c(middle, yy, read, sd), yy, load)


def _hydrometer_of(belief: Belief) -> Lasting:
    found = (one for one in belief.lasting if one[0] == HYDROMETER)
    return next(found, (HYDROMETER, 0.0, 0.0, 0.0))


def _most_likely_ln_c(middle: float, cc: float, read: float, sd: float) -> float:
    """The ln c with the least sum of squares: Newton's steps, halving where they leave."""
    if cc <= 0:
        return middle
    variance, c = sd**2, exp(middle)
    if read > c:
        low, high = middle, log(read)
    else:
        low, high = max(LN_C_MIN, middle - cc * (c - read) * c / variance), middle
    at = middle
    for _ in range(_STEPS_MAX):
        here = exp(at)
        slope = (at - middle) / cc - (read - here) * here / variance
        low, high = (low, at) if slope > 0 else (at, high)
        bend = 1 / cc - (read - 2 * here) * here / variance
        step = slope / bend if bend > 0 else inf
        if min(abs(step), high - low) < _STEP_END:
            return at
        at = at - step if low < at - step < high else (low + high) / 2
    return at


def _settled(
    estimate: BathEstimate, reading: _Reading, sigma: float, agree_sigma: float
) -> _Verdict | None:
    """The newest waiting reading that this one agrees with, better than with the estimate."""
    for kept in reversed(estimate.pending):
        if _sigma_from(kept, estimate.belief, reading) <= min(agree_sigma, sigma):
            same = kept.quantity == reading.quantity
            after = _observed(kept.belief, reading) if same else _as_if(kept.belief, reading)
            outvoted = tuple(
                other
                for other in estimate.pending
                if other is not kept and other.quantity == kept.quantity
            )
            return _Verdict(SETTLED, after, kept, outvoted)
    return None


def _sigma_from(kept: Pending, belief: Belief, reading: _Reading) -> float:
    """How far a reading lies from what a waiting one makes of it."""
    if kept.quantity == reading.quantity:
        return _sigma(kept.belief, reading)
    volume_ml, at = belief.volume_ml, kept.belief
    ln_variance = belief.cc + belief.vv / volume_ml**2 + 2 * belief.vc / volume_ml
    if reading.quantity == LEVEL:
        expected = volume_ml * exp(min(LN_RATIO_MAX, belief.ln_c - at.ln_c))
        ln_variance += at.cc
    else:
        expected = belief.strength_g_per_l * volume_ml / at.volume_ml
        ln_variance += at.vv / at.volume_ml**2
    doubt = expected * sqrt(max(0.0, ln_variance))
    return abs(reading.value - expected) / hypot(reading.sd, doubt)


def _as_if(belief: Belief, reading: _Reading) -> Belief:
    """The belief with what was read in place of what was believed, by its own doubt."""
    if reading.quantity == LEVEL:
        return _with_volume(belief, reading.value, reading.sd**2)
    whole_sd = hypot(reading.sd, reading.lasting_sd)
    c = max(reading.value, whole_sd)
    return _with_ln_c(belief, log(c), (whole_sd / c) ** 2, reading.lasting_sd / c)


def _with_volume(belief: Belief, volume_ml: float, variance: float) -> Belief:
    lasting = tuple((name, 0.0, c, f) for name, _, c, f in belief.lasting)
    return belief._replace(volume_ml=volume_ml, vv=variance, vc=0.0, vf=0.0, lasting=lasting)


def _with_ln_c(belief: Belief, ln_c: float, variance: float, load: float) -> Belief:
    lasting = tuple((name, v, 0.0, f) for name, v, _, f in belief.lasting if name != HYDROMETER)
    _, own_v, _, own_f = _hydrometer_of(belief)
    if load:
        lasting = ((HYDROMETER, own_v, -load, own_f), *lasting)[:LASTING_MAX]
    return belief._replace(
        ln_c=ln_c, cc=variance, vc=-load * own_v, cf=-load * own_f, lasting=lasting
    )


def _observed(belief: Belief, reading: _Reading) -> Belief:
    """The belief after a reading is weighed in; what lasts of its error is not learned."""
    if reading.quantity == LEVEL:
        place, load, variance = 0, 0.0, reading.sd**2
        off = (reading.value - belief.volume_ml) / (belief.vv + variance)
    else:
        place, (most_likely, yy, load) = 1, _seen(belief, reading)
        variance = (reading.sd / exp(most_likely)) ** 2
        off = (most_likely - belief.ln_c) / yy if yy > 0 else 0.0
    vv, vc, vf, cc, cf, ff = belief[3:9]
    rows = ((vv, vc, vf), (vc, cc, cf), (vf, cf, ff))
    _, *own = _hydrometer_of(belief)
    by = [read + load * mine for read, mine in zip(rows[place], own, strict=True)]
    total = by[place] + load * (own[place] + load) + variance
    gain = [one / total for one in by]
    return Belief(
        max(VOLUME_MIN_ML, belief.volume_ml + off * by[0]),
        max(LN_C_MIN, belief.ln_c + off * by[1]),
        min(FACTOR_MAX, max(FACTOR_MIN, belief.factor + off * by[2])),
        *_covariance(rows, place, gain, own, load, variance),
        lasting=_lasting(belief, place, gain, load),
    )


def _covariance(
    rows: Sequence[Triple],
    place: int,
    gain: Sequence[float],
    own: Sequence[float],
    load: float,
    variance: float,
) -> tuple[float, float, float, float, float, float]:
    """Covariances after the part in `place` is read, in the form of Joseph."""
    read = rows[place]
    left = [mine - weight * own[place] for mine, weight in zip(own, gain, strict=True)]
    noise = load * load + variance
    vv, vc, vf, cc, cf, ff = (
        rows[i][j]
        - gain[i] * read[j]
        - gain[j] * (read[i] - gain[i] * read[place])
        - load * (left[i] * gain[j] + left[j] * gain[i])
        + gain[i] * gain[j] * noise
        for i, j in _HALF
    )
    return max(0.0, vv), vc, vf, max(0.0, cc), cf, max(0.0, ff)


def _lasting(
    belief: Belief, place: int, gain: Sequence[float], load: float
) -> tuple[Lasting, ...]:
    """What lasts after the part in `place` is read, the hydrometer's own error among it."""
    lasting = belief.lasting
    if load and all(name != HYDROMETER for name, *_ in lasting):
        lasting = (_hydrometer_of(belief), *lasting)[:LASTING_MAX]
    by_v, by_c, by_f = gain
    kept = []
    for name, v, c, f in lasting:
        read = (v, c)[place] + (load if name == HYDROMETER else 0.0)
        kept.append((name, v - by_v * read, c - by_c * read, f - by_f * read))
    return tuple(kept)


def _applied(
    estimate: BathEstimate, reading: _Reading, sigma: float, agree_sigma: float
) -> _Verdict:
    outvoted: tuple[Pending, ...] = ()
    if sigma <= agree_sigma:
        outvoted = tuple(
            kept
            for kept in estimate.pending
            if kept.quantity == reading.quantity and _sigma(kept.belief, reading) > agree_sigma
        )
    return _Verdict(APPLIED, _observed(estimate.belief, reading), None, outvoted)


def _noted(
    estimate: BathEstimate, reading: _Reading, label: str, verdict: _Verdict
) -> BathEstimate:
    if verdict.outcome == KEPT:
        kept = Pending(label, reading.quantity, _as_if(estimate.belief, reading))
        return estimate.changed(pending=(*estimate.pending, kept)[-PENDING_MAX:])
    before, after = estimate.belief, verdict.after
    water, salt = estimate.water_ml, estimate.salt_g
    more_ml, more_g = after.volume_ml - before.volume_ml, after.salt_g - before.salt_g
    return estimate.changed(
        belief=after,
        water_ml=water._replace(unexplained=water.unexplained + more_ml),
        salt_g=salt._replace(unexplained=salt.unexplained + more_g),
        pending=tuple(
            kept._replace(belief=_rebased(after, kept))
            for kept in estimate.pending
            if kept is not verdict.settled and kept not in verdict.outvoted
        ),
    )


def _rebased(after: Belief, kept: Pending) -> Belief:
    """A waiting reading on top of what is believed now."""
    if kept.quantity == LEVEL:
        return _with_volume(after, kept.belief.volume_ml, kept.belief.vv)
    _, _, own_c, _ = _hydrometer_of(kept.belief)
    return _with_ln_c(after, kept.belief.ln_c, kept.belief.cc, -own_c)


def _middle(belief: Belief, quantity: str) -> float:
    return belief.volume_ml if quantity == LEVEL else belief.strength_g_per_l
