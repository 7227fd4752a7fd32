"""
What is believed of an alum bath and how a move changes it: an extended Kalman filter's state.

The state is the litres, the logarithm of the strength, and the bath's own factor on pick-up.
Each move carries the state by its exact balance and the covariance by that balance's slopes,
then adds the move's own doubt as independent errors, so the covariance stays symmetric (only
one half is kept) and never negative.

Some errors are the same each time: how much a paper drinks, the weight of a lot's spoon, how
dry the room is, a hydrometer's zero. Taken for independent they would average out, and the
doubt would be too small. Each goes along under its name with its covariance to the state, but
is itself never learned: what one paper showed is not believed of another (Schmidt's filter).
"""

from collections.abc import Sequence
from functools import lru_cache, partial
from math import exp, log, sqrt
from typing import Final, NamedTuple, TypeAlias

from coop.science.estimate import lognormal_spread

ML_PER_L: Final = 1000.0

Triple: TypeAlias = tuple[float, float, float]

VOLUME_MIN_ML: Final = 1.0
"""An emptied vessel still holds this: a strength needs a liquid."""

STRENGTH_MIN_G_PER_L: Final = 1e-3
BOUND_MAX_FRACTION: Final = 0.9
"""One entry of sheets binds at most this part of the salt: a bath is never quite without."""

LN_C_MIN: Final = -30.0
"""The logarithm of the strength stops here, far below anything that could be read."""

LN_SD_MAX: Final = 3.0
"""Doubt of the strength stops here: twenty times more or less says "not known"."""

LN_VARIANCE_MAX: Final = LN_SD_MAX**2

AIR: Final = "air"
"""Name of the error that lasts of how fast the room dries a bath."""

HYDROMETER: Final = "hydrometer"
"""Name of the error that lasts of the hydrometer's zero and the density curve."""

LASTING_MAX: Final = 24
"""Lasting errors of one bath; a further one counts as drawn anew each time."""


Lasting: TypeAlias = tuple[str, float, float, float]
"""An error that stays the same for the life of a bath, of variance 1 and never learned: its
name and its covariances with volume [mL], ln c [1] and factor [1]."""

Load: TypeAlias = tuple[str, float, float]
"""What a lasting error of one sd, by its name, does to volume [mL] and ln c [1] in one move."""


class Belief(NamedTuple):
    """
    State of a bath and its covariance.

    `volume_ml` is water (at marbling strengths the solution is 1 to 4 % more), `ln_c` the
    logarithm of g/L of water put in, `factor` this bath's own factor on pick-up. Covariances
    are named by two of v (mL), c (logarithm) and f (factor); those with the errors that last
    stand in `lasting`.
    """

    volume_ml: float
    ln_c: float
    factor: float
    vv: float
    vc: float
    vf: float
    cc: float
    cf: float
    ff: float
    lasting: tuple[Lasting, ...] = ()

    @property
    def strength_g_per_l(self) -> float:
        """Middle strength [g/L of water put in]."""
        return exp(self.ln_c)

    @property
    def salt_g(self) -> float:
        """Salt at the middle strength and volume [g]."""
        return exp(self.ln_c) * self.volume_ml / ML_PER_L


_belief = partial(tuple.__new__, Belief)
"""Makes one of all its fields in half the time: a fold makes a thousand."""


class Part(NamedTuple):
    """
    What is put in: water [mL], salt [g], and independent errors of both [mL, g] as sd.

    With `lasts`, the name of an error that lasts, the errors are that one's.
    """

    water_ml: float
    salt_g: float
    errors: tuple[tuple[float, float], ...]
    lasts: str = ""


Slopes: TypeAlias = tuple[float, float, float, float]
"""Slopes of a move: volume by factor, ln c by volume, ln c by ln c, ln c by factor."""

NO_SLOPES: Final[Slopes] = (0.0, 0.0, 1.0, 0.0)


def moved(
    *,
    belief: Belief,
    volume_ml: float,
    ln_c: float,
    slopes: Slopes,
    errors: Sequence[tuple[float, float]],
    loads: Sequence[Load] = (),
) -> Belief:
    """
    Return a belief after a move.

    Args:
        belief: What was believed [Belief].
        volume_ml: Volume after the move [mL]; held at 1 mL or more.
        ln_c: Logarithm of the strength after the move [ln g/L].
        slopes: Slopes of the move [Slopes].
        errors: Independent errors of the move on volume and ln c [mL, 1], one sd each.
        loads: What errors that last do in this move [Load].

    Returns:
        The belief after the move [Belief]; spread of ln c at most 3.

    Valid for:
        Moves nearly straight over one standard deviation.

    Source:
        Extended Kalman filter, prediction: F P F' + sum of e e'; for what lasts, with s its
        covariance to the state, s becomes F s + e (Schmidt 1966, from memory).

    Example:
        >>> before = Belief(1000, 3, 1, 100, 0, 0, 0.01, 0, 0)
        >>> moved(belief=before, volume_ml=900, ln_c=3, slopes=NO_SLOPES, errors=[(5, 0)]).vv
        125.0
    """
    a, p, q, r = slopes
    _, _, factor, vv, vc, vf, cc, cf, ff, lasting = belief
    v_v, v_c, v_f = vv + a * vf, vc + a * cf, vf + a * ff
    c_v, c_c, c_f = p * vv + q * vc + r * vf, p * vc + q * cc + r * cf, p * vf + q * cf + r * ff
    new_vv = v_v + a * v_f
    new_vc = p * v_v + q * v_c + r * v_f
    new_cc = p * c_v + q * c_c + r * c_f
    for error_v, error_c in errors:
        new_vv += error_v * error_v
        new_vc += error_v * error_c
        new_cc += error_c * error_c
    kept = list(lasting)
    if slopes != NO_SLOPES:
        kept = [(name, v + a * f, p * v + q * c + r * f, f) for name, v, c, f in lasting]
    for name, by_v, by_c in loads:
        v, c, f = _loaded(kept, name, by_v, by_c)
        new_vv += by_v * (2 * v + by_v)
        new_vc += by_v * c + by_c * v + by_v * by_c
        new_cc += by_c * (2 * c + by_c)
        v_f += by_v * f
        c_f += by_c * f
    if new_cc > LN_VARIANCE_MAX:
        scale = LN_SD_MAX / sqrt(new_cc)
        new_vc, new_cc, c_f = new_vc * scale, new_cc * scale * scale, c_f * scale
        kept = [(name, v, c * scale, f) for name, v, c, f in kept]
    volume_ml = volume_ml if volume_ml > VOLUME_MIN_ML else VOLUME_MIN_ML
    ln_c = ln_c if ln_c > LN_C_MIN else LN_C_MIN
    new_vv = new_vv if new_vv > 0 else 0.0
    new_cc = new_cc if new_cc > 0 else 0.0
    half = new_vv, new_vc, v_f, new_cc, c_f, ff
    return _belief((volume_ml, ln_c, factor, *half, tuple(kept)))


def _loaded(kept: list[Lasting], load_name: str, by_v: float, by_c: float) -> Triple:
    """Return a lasting error's covariances before a load, and keep what they are after."""
    for place, (name, v, c, f) in enumerate(kept):
        if name == load_name:
            kept[place] = name, v + by_v, c + by_c, f
            return v, c, f
    if len(kept) < LASTING_MAX:
        kept.append((load_name, by_v, by_c, 0.0))
    return 0.0, 0.0, 0.0


def mixed_from(*, parts: Sequence[Part], factor_variance: float) -> Belief:
    """
    Return the belief of a bath that starts from an empty vessel.

    Args:
        parts: What is put in [Part], together over 1 mL and over 0 g.
        factor_variance: Variance of the bath's own factor on pick-up around 1 [1].

    Returns:
        The belief [Belief]. ValueError without water or without salt.

    Valid for:
        Salt that dissolves; strength is grams per litre of water put in.

    Source:
        Mass balance.

    Example:
        >>> bath = mixed_from(parts=[Part(12_000, 480, ((100, 0), (0, 5)))], factor_variance=0)
        >>> round(bath.strength_g_per_l), round(bath.volume_ml)
        (40, 12000)
    """
    volume_ml = sum(part.water_ml for part in parts)
    salt_g = sum(part.salt_g for part in parts)
    if not volume_ml >= VOLUME_MIN_ML:
        raise ValueError(f"water: must be at least {VOLUME_MIN_ML:g} mL, is {volume_ml:g} mL")
    if not salt_g > 0:
        raise ValueError(f"salt: must be over 0 g, is {salt_g:g} g")
    return moved(
        belief=Belief(volume_ml, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, factor_variance),
        volume_ml=volume_ml,
        ln_c=log(ML_PER_L * salt_g / volume_ml),
        slopes=NO_SLOPES,
        errors=_errors_of(parts, volume_ml, salt_g),
        loads=_loads_of(parts, volume_ml, salt_g),
    )


def added(*, belief: Belief, parts: Sequence[Part]) -> Belief:
    """
    Return a belief after water, salt or ready-made solution is added.

    Args:
        belief: What was believed [Belief].
        parts: What is put in [Part].

    Returns:
        The belief [Belief].

    Valid for:
        Salt that dissolves.

    Source:
        Mass balance: c' = (c V + g) / (V + w).

    Example:
        >>> before = Belief(10_380, log(23.45), 1, 0, 0, 0, 0.01, 0, 0)
        >>> round(added(belief=before, parts=[Part(3000, 0, ())]).strength_g_per_l, 1)
        18.2
    """
    water_ml = sum(part.water_ml for part in parts)
    added_g = sum(part.salt_g for part in parts)
    volume_ml, before_g = belief.volume_ml + water_ml, belief.salt_g
    salt_g = before_g + added_g
    if added_g == 0 or salt_g == 0:
        kept, ln_c = 1.0, belief.ln_c + log(belief.volume_ml / volume_ml)
    else:
        kept, ln_c = before_g / salt_g, log(ML_PER_L * salt_g / volume_ml)
    slopes = (0.0, kept / belief.volume_ml - 1 / volume_ml, kept, 0.0)
    return moved(
        belief=belief,
        volume_ml=volume_ml,
        ln_c=ln_c,
        slopes=slopes,
        errors=_errors_of(parts, volume_ml, salt_g),
        loads=_loads_of(parts, volume_ml, salt_g),
    )


def _errors_of(
    parts: Sequence[Part], volume_ml: float, salt_g: float
) -> list[tuple[float, float]]:
    return [
        _error_of(error, volume_ml, salt_g)
        for part in parts
        if not part.lasts
        for error in part.errors
    ]


def _loads_of(parts: Sequence[Part], volume_ml: float, salt_g: float) -> list[Load]:
    return [
        (part.lasts, *_error_of(error, volume_ml, salt_g))
        for part in parts
        if part.lasts
        for error in part.errors
    ]


def _error_of(
    error: tuple[float, float], volume_ml: float, salt_g: float
) -> tuple[float, float]:
    water_sd, salt_sd = error
    return water_sd, (salt_sd / salt_g if salt_sd else 0.0) - water_sd / volume_ml


def strength_after_sheets_g_per_l(
    *,
    strength_g_per_l: float,
    volume_ml: float,
    sheet_count: int,
    carried_ml_per_sheet: float,
    bound_g_per_sheet: float,
) -> float:
    """
    Return the strength of a bath after sheets, one by one.

    Each sheet carries liquid away at the bath's strength and binds salt besides, so
    c' = c - a / (V - v).

    Args:
        strength_g_per_l: Strength before [g/L], over 0.
        volume_ml: Volume before [mL], over what the sheets carry.
        sheet_count: Sheets [count], not under 0.
        carried_ml_per_sheet: Liquid that a sheet takes with it [mL/sheet], not under 0.
        bound_g_per_sheet: Salt that a sheet binds besides [g/sheet], not under 0.

    Returns:
        Strength [g/L]; negative where the sheets would bind more than there is.
        ValueError where they would carry the bath empty.

    Valid for:
        Sheets alike; with nothing bound the strength stays as it is.

    Source:
        Exact recurrence (computed): 4 L at 50 g/L, 100 sheets, 0.010 L and 0.138 g each
        leave 46.0242 g/L.

    Example:
        >>> round(strength_after_sheets_g_per_l(strength_g_per_l=50, volume_ml=4000,
        ...     sheet_count=100, carried_ml_per_sheet=10, bound_g_per_sheet=0.138), 4)
        46.0242
    """
    if not volume_ml - sheet_count * carried_ml_per_sheet > 0:
        raise ValueError(
            f"volume_ml: must be over the {sheet_count * carried_ml_per_sheet:g} mL "
            f"that the sheets carry, is {volume_ml:g}"
        )
    inverse = _inverse_sum(volume_ml, sheet_count, carried_ml_per_sheet)
    return strength_g_per_l - ML_PER_L * bound_g_per_sheet * inverse


def _inverse_sum(volume_ml: float, sheet_count: int, carried_ml: float) -> float:
    total = 0.0
    for k in range(1, sheet_count + 1):
        total += 1 / (volume_ml - k * carried_ml)
    return total


def strength_after_sheets_smooth_g_per_l(
    *,
    strength_g_per_l: float,
    volume_ml: float,
    carried_ml: float,
    bound_g: float,
) -> float:
    """
    Return the strength of a bath after sheets, as if they were one long strip.

    Args:
        strength_g_per_l: Strength before [g/L], over 0.
        volume_ml: Volume before [mL], over carried_ml.
        carried_ml: Liquid that all sheets take with them [mL], over 0.
        bound_g: Salt that all sheets bind besides [g], not under 0.

    Returns:
        Strength [g/L]. ValueError where the sheets would carry the bath empty.

    Valid for:
        Many small sheets: a check on `strength_after_sheets_g_per_l`.

    Source:
        Computed: c + (a / v) ln(1 - n v / V).

    Example:
        >>> round(strength_after_sheets_smooth_g_per_l(
        ...     strength_g_per_l=50, volume_ml=4000, carried_ml=1000, bound_g=13.8), 4)
        46.03
    """
    if not 0 < carried_ml < volume_ml:
        raise ValueError(
            f"carried_ml: must be over 0 and under {volume_ml:g}, is {carried_ml:g}"
        )
    return strength_g_per_l + ML_PER_L * bound_g / carried_ml * log(1 - carried_ml / volume_ml)


class Carried(NamedTuple):
    """Liquid that sheets carry away [mL], its spread on the logarithm, its slope by factor."""

    volume_ml: float
    ln_sd: float
    by_factor_ml: float
    lasts: str = ""


def sheets_taken(
    *,
    belief: Belief,
    sheet_count: int,
    carried: Carried,
    bound_g: float,
    bound_sd_g: float,
) -> tuple[Belief, float]:
    """
    Return a belief after sheets went through, and the salt they bound.

    Args:
        belief: What was believed [Belief].
        sheet_count: Sheets [count], at least 1.
        carried: Liquid that all of them carry away [Carried]; at most what there is.
        bound_g: Salt that all of them bind besides [g]; at most 0.9 of what there is.
        bound_sd_g: Its standard deviation [g].

    Returns:
        The belief [Belief] and the salt bound [g].

    Valid for:
        One entry of sheets alike.

    Source:
        The recurrence of `strength_after_sheets_g_per_l` with its slopes; those by volume
        and pick-up are of its smooth form.

    Example:
        >>> before = Belief(4000, log(50), 1, 0, 0, 0, 0, 0, 0)
        >>> after, bound_g = sheets_taken(belief=before, sheet_count=100,
        ...     carried=Carried(1000, 0, 0), bound_g=13.8, bound_sd_g=0)
        >>> round(after.strength_g_per_l, 4), bound_g
        (46.0242, 13.8)
    """
    volume_ml, ln_c, factor, *_ = belief
    carried_ml, ln_sd, by_factor_ml, lasts = carried
    c, left_ml = exp(ln_c), max(VOLUME_MIN_ML, volume_ml - carried_ml)
    inverse = _inverse_sum(volume_ml, sheet_count, (volume_ml - left_ml) / sheet_count)
    unit = ML_PER_L * bound_g / sheet_count
    loss = unit * inverse
    loss_max = max(0.0, c - max((1 - BOUND_MAX_FRACTION) * c, STRENGTH_MIN_G_PER_L))
    if loss > loss_max:
        bound_g, unit, loss = bound_g * loss_max / loss, 0.0, loss_max
    new_c = c - loss
    by_ln_carried = -unit * max(0.0, sheet_count / left_ml - inverse) / new_c
    per_factor = 1 / factor if by_factor_ml else 0.0
    slopes = (
        -by_factor_ml,
        unit * sheet_count / (volume_ml * left_ml * new_c),
        c / new_c if unit else 1.0,
        by_ln_carried * per_factor,
    )
    bound_error = -min(ML_PER_L * bound_sd_g / sheet_count * inverse / new_c, 1.0)
    carried_error = -carried_ml * ln_sd, by_ln_carried * ln_sd
    loads = _loads_of_sheets(lasts, carried_error, bound_error)
    after = moved(
        belief=belief,
        volume_ml=left_ml,
        ln_c=ln_c + log(new_c / c) if loss else ln_c,
        slopes=slopes,
        errors=() if loads else (carried_error, (0.0, bound_error)),
        loads=loads,
    )
    return after, bound_g


def _loads_of_sheets(
    lasts: str, carried_error: tuple[float, float], bound_error: float
) -> tuple[Load, ...]:
    if not lasts:
        return ()
    carried = (lasts, *carried_error)
    return (carried, (f"{lasts} binds", 0.0, bound_error)) if bound_error else (carried,)


def dried(
    *,
    belief: Belief,
    water_ml: float,
    ln_sd: float,
    drift_sd_ml: float,
    hours_ln_sd: float = 0.0,
) -> Belief:
    """
    Return a belief after water alone has left.

    Args:
        belief: What was believed [Belief].
        water_ml: Water that left [mL]; at most what there is.
        ln_sd: Its spread on the logarithm [1], by the air of the room: that lasts.
        drift_sd_ml: Doubt of the volume that time alone adds [mL].
        hours_ln_sd: Its spread on the logarithm by the hours it stood open [1].

    Returns:
        The belief [Belief]; the strength rises as the volume falls.

    Valid for:
        Water only; the salt stays.

    Source:
        Mass balance: c' V' = c V.

    Example:
        >>> before = Belief(10_000, log(40), 1, 0, 0, 0, 0, 0, 0)
        >>> after = dried(belief=before, water_ml=2000, ln_sd=0, drift_sd_ml=0)
        >>> round(after.strength_g_per_l)
        50
    """
    before_ml = belief.volume_ml
    after_ml = max(VOLUME_MIN_ML, before_ml - water_ml)
    lost_ml = before_ml - after_ml
    air_ml = lost_ml * _spread_of(ln_sd)
    hours_ml = lost_ml * _spread_of(hours_ln_sd)
    return moved(
        belief=belief,
        volume_ml=after_ml,
        ln_c=belief.ln_c + log(before_ml / after_ml),
        slopes=(0.0, 1 / before_ml - 1 / after_ml, 1.0, 0.0),
        errors=((-hours_ml, hours_ml / after_ml), (drift_sd_ml, -drift_sd_ml / after_ml)),
        loads=((AIR, -air_ml, air_ml / after_ml),) if air_ml else (),
    )


@lru_cache(maxsize=256)
def _spread_of(ln_sd: float) -> float:
    return lognormal_spread(ln_sd=ln_sd)


def taken_out(*, belief: Belief, volume_ml: float, sd_ml: float) -> Belief:
    """
    Return a belief after liquid is taken out at the bath's strength.

    Args:
        belief: What was believed [Belief].
        volume_ml: Liquid taken out [mL]; at most what there is.
        sd_ml: Its standard deviation [mL].

    Returns:
        The belief [Belief]; the strength stays.

    Valid for:
        Pouring, splitting, carrying away.

    Source:
        Mass balance.

    Example:
        >>> before = Belief(10_000, log(40), 1, 0, 0, 0, 0, 0, 0)
        >>> round(taken_out(belief=before, volume_ml=2500, sd_ml=50).volume_ml)
        7500
    """
    return moved(
        belief=belief,
        volume_ml=belief.volume_ml - volume_ml,
        ln_c=belief.ln_c,
        slopes=NO_SLOPES,
        errors=[(sd_ml, 0.0)],
    )
