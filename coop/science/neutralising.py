"""
Neutralising an old alum bath: doses, gas, floc, buckets, and the parts of a slow walk.

All of it follows from the grams of salt and the base in the jar. Nothing here takes or gives a
pH: three parts in a hundred of a dose too little or too much are an acid bath or an alkaline
one, so no dose is ever trimmed by one. Eyes, lungs and drains can be hurt: goggles and gloves,
an open bucket in an aired room; local rules and licensed advice come first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, log
from types import MappingProxyType
from typing import Final, NamedTuple

from coop.science import alum
from coop.science.defaults import default, value
from coop.science.estimate import ln_sd_of_fraction, lognormal_interval
from coop.science.water import AIR_MAX_C, AIR_MIN_C, KELVIN_AT_0_C, SEA_LEVEL_PA

SALT_MIN_G: Final = 1.0
VOLUME_MIN_L: Final = 0.1
VOLUME_MAX_L: Final = 1_000.0
BUCKET_MIN_L: Final = 0.5
BUCKET_MAX_L: Final = 5_000.0
DOUBT_MAX_FRACTION: Final = 0.5
GOES_MAX: Final = 20
"""Buckets one after another; for more, a larger bucket."""

SCALE_STEPS_G: Final = (1.0, 0.1, 0.01)
STEPS_IN_A_PART: Final = 5
"""A part of the rest is at least so many steps of the scale, where there is such a scale."""

WHOLE_DIGITS: Final = 9
"""Decimals past which a count is whole: 3 x 5.8 of a binary computer is 17.4."""

GAS_J_PER_MOL_K: Final = 8.314463
"""CODATA, from memory."""

SULFATE_G_PER_MOL: Final = alum.molar_mass_g_per_mol(atoms={"S": 1, "O": 4})
SULFATE_PER_AL: Final[Mapping[str, float]] = MappingProxyType(
    {code: 1.5 if code.startswith("aluminium_sulfate") else 2.0 for code in alum.SALTS}
)
"""Moles of sulfate for each of aluminium: Al2(SO4)3, or MAl(SO4)2 of the double salts."""

AMMONIA_GAS: Final = "ammonia-gas"
GAS_IN_CLOSED_VESSEL: Final = "gas-in-closed-vessel"
BUCKET_TOO_SMALL: Final = "bucket-too-small"
TOO_LITTLE_TO_WEIGH: Final = "too-little-to-weigh"


class NeutralisingRefused(ValueError):
    """What must not be done, or not like this; `code` says why."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(f"{code}: {detail}")
        self.code = code


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """What is in the jar: its substance in `alum.SUBSTANCES`, and whether it gives off CO2."""

    code: str
    substance: str
    gives_gas: bool


BASES: Final[Mapping[str, Base]] = MappingProxyType(
    {
        row.code: row
        for row in (
            Base(code="bicarbonate", substance="sodium_bicarbonate", gives_gas=True),
            Base(code="anhydrous", substance="sodium_carbonate", gives_gas=True),
            Base(code="monohydrate", substance="sodium_carbonate_1", gives_gas=True),
            Base(code="crystals", substance="sodium_carbonate_10", gives_gas=True),
            Base(code="lime", substance="calcium_hydroxide", gives_gas=False),
        )
    }
)
"""Baking soda, three forms of washing soda, hydrated lime."""


class Dose(NamedTuple):
    """Grams of a base: middle and 90 % interval [g]."""

    low_g: float
    middle_g: float
    high_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Floc:
    """
    The white flakes that form [g].

    Attributes:
        dry_low_g: Dry, as Al(OH)3.
        dry_high_g: Dry, as water works reckon it, as Al(OH)3.3H2O.
        strained_low_g, strained_g, strained_high_g: As it comes off a cloth, a wide range.
    """

    dry_low_g: float
    dry_high_g: float
    strained_low_g: float
    strained_g: float
    strained_high_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """
    A dose as it is weighed, in whole steps of the scale, adding up to `dose_g` [g].

    Attributes:
        dose_g: All of it.
        first_g: The first part for what is in the bucket.
        rest_g: The parts of the rest, one by one, with a reading between them.
        cup_share_g: What goes in with the cup kept back.
        scale_step_g: What the scale must show.
    """

    dose_g: float
    first_g: float
    rest_g: tuple[float, ...]
    cup_share_g: float
    scale_step_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """
    Neutralising step by step: figures of one go, all goes being alike.

    Attributes:
        go_count: Buckets one after another.
        go_l: Old bath of one go, the cup with it [L].
        kept_cup_l: Of that kept back, the brake [L].
        bucket_l: What the bucket holds to its brim [L].
        parts: What to weigh.
        gas_l: Carbon dioxide of one go [L].
        outdoors: Whether that is more than a small room bears.
        first_may_pass: Whether the first part is over the low end of the dose, because the
            grams of salt are known too roughly.
    """

    go_count: int
    go_l: float
    kept_cup_l: float
    bucket_l: float
    parts: Parts
    gas_l: float
    outdoors: bool
    first_may_pass: bool


def _within(name: str, number: float, low: float, high: float) -> None:
    if not low <= number <= high:
        raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")


def _base_of(code: str) -> Base:
    if code not in BASES:
        raise ValueError(f"base: must be one of {', '.join(BASES)}, is {code}")
    return BASES[code]


def full_dose(
    *,
    salt_g: float,
    salt: str,
    base: str,
    doubt_fraction: float = value("weighed_fraction"),
) -> Dose:
    """
    Return the base that takes all the acid of a salt once the gas is stirred out.

    Args:
        salt_g: Salt of alum in the bath [g], 1 to 1000000.
        salt: Which salt [one of alum.SALTS].
        base: What is in the jar [one of BASES].
        doubt_fraction: +- of the grams of salt, nine times in ten [1], 0 to 0.5; the default
            weighed_fraction is 0.03.

    Returns:
        Base [Dose, g]. ValueError outside the ranges or for an unknown code.

    Valid for:
        Pure salt and pure base. Sums only: ammonium alum is never neutralised, see `stop`.
        Soda crystals that have fallen to a dry white powder are monohydrate or less, and a
        gram of it does more than twice as much (from memory).

    Source:
        Al3+ + 3 OH- -> Al(OH)3, carbonate ending as CO2: computed from atomic masses; Davis,
        Water and Wastewater Engineering, eq. 6-8, has the reaction. PHREEQC, open to air,
        wants 1.000 to 1.004 times it for pH 6.5 at 1 to 30 g/kg of potash alum.

    Example:
        >>> [round(one, 1) for one in full_dose(salt_g=232, salt="aluminium_sulfate_14",
        ...     base="crystals")]
        [325.2, 335.1, 345.3]
    """
    _within("salt_g", salt_g, SALT_MIN_G, alum.WEIGHT_MAX_G)
    _within("doubt_fraction", doubt_fraction, 0, DOUBT_MAX_FRACTION)
    substance = _base_of(base).substance
    middle_g = salt_g * alum.substance_g_per_g(salt=salt, substance=substance)
    low_g, high_g = lognormal_interval(
        ln_mean=log(middle_g), ln_sd=ln_sd_of_fraction(fraction=doubt_fraction)
    )
    return Dose(low_g, middle_g, high_g)


def gas_l(*, salt_g: float, salt: str, base: str, room_c: float = value("room_c")) -> float:
    """
    Return the carbon dioxide that a full dose gives off.

    Args:
        salt_g: Salt of alum in the bath [g], 1 to 1000000.
        salt: Which salt [one of alum.SALTS].
        base: What is in the jar [one of BASES].
        room_c: Temperature of the room [deg C], -20 to 50.

    Returns:
        Dry gas at sea level [L]; 0 of lime. ValueError outside the ranges or for an unknown
        code.

    Valid for:
        All of it, by the next morning; about a litre for each litre of bath stays dissolved
        until it is stirred out (from memory). It is heavier than air and sinks.

    Source:
        Ideal gas; a molar volume of 24.06 L at 20 C.

    Example:
        >>> round(gas_l(salt_g=232, salt="aluminium_sulfate_14", base="crystals", room_c=20))
        28
    """
    _within("salt_g", salt_g, SALT_MIN_G, alum.WEIGHT_MAX_G)
    _within("room_c", room_c, AIR_MIN_C, AIR_MAX_C)
    row = _base_of(base)
    base_g = salt_g * alum.substance_g_per_g(salt=salt, substance=row.substance)
    if not row.gives_gas:
        return 0.0
    moles = base_g / alum.SUBSTANCES[row.substance].molar_mass_g_per_mol
    return 1000 * moles * GAS_J_PER_MOL_K * (room_c + KELVIN_AT_0_C) / SEA_LEVEL_PA


def floc(*, salt_g: float, salt: str) -> Floc:
    """
    Return the floc of a neutralised bath, dry and as it comes off a cloth.

    Args:
        salt_g: Salt of alum in the bath [g], 1 to 1000000.
        salt: Which salt [one of alum.SALTS].

    Returns:
        Floc [Floc, g]. ValueError outside the range or for an unknown salt.

    Valid for:
        Clean baths, all aluminium out. The strained range is a default's, from memory: it
        says which vessel to have ready, no more.

    Source:
        Al(OH)3, 0.2625 g for each gram of aluminium sulfate 14-hydrate; with three waters
        0.4444, as Lang et al. 1985 reckon sludge (0.44). Over floc_solids_fraction.

    Example:
        >>> flakes = floc(salt_g=232, salt="aluminium_sulfate_14")
        >>> round(flakes.dry_low_g), round(flakes.dry_high_g), round(flakes.strained_g, -2)
        (61, 103, 1200.0)
    """
    _within("salt_g", salt_g, SALT_MIN_G, alum.WEIGHT_MAX_G)
    dry_g, watery_g = (
        salt_g * alum.substance_g_per_g(salt=salt, substance=code)
        for code in ("aluminium_hydroxide", "aluminium_hydroxide_3")
    )
    solids = default("floc_solids_fraction")
    return Floc(
        dry_low_g=dry_g,
        dry_high_g=watery_g,
        strained_low_g=dry_g / solids.high,
        strained_g=dry_g / solids.value,
        strained_high_g=dry_g / solids.low,
    )


def sulfate_left_mg_per_l(*, salt_g: float, salt: str, volume_l: float) -> float:
    """
    Return the sulfate of a bath, which neutralising does not take away.

    Args:
        salt_g: Salt of alum in the bath [g], 1 to 1000000.
        salt: Which salt [one of alum.SALTS].
        volume_l: Litres of the bath [L], 0.1 to 1000.

    Returns:
        Sulfate as SO4 [mg/L]. ValueError outside the ranges, for more than 2000 g/L or for an
        unknown salt.

    Valid for:
        Sodas. Lime drops a part of it as gypsum, down to about 1500 mg/L (from memory): an
        upper bound then.

    Source:
        Computed from atomic masses: 40.5 % of potash alum.

    Example:
        >>> round(sulfate_left_mg_per_l(salt_g=300, salt="potash_alum", volume_l=10), -1)
        12150.0
    """
    _within("salt_g", salt_g, SALT_MIN_G, alum.WEIGHT_MAX_G)
    _within("volume_l", volume_l, VOLUME_MIN_L, VOLUME_MAX_L)
    al_mmol_per_l = alum.mmol_al_per_l(strength_g_per_l=salt_g / volume_l, salt=salt)
    return al_mmol_per_l * SULFATE_PER_AL[salt] * SULFATE_G_PER_MOL


def least_bucket_l(*, volume_l: float) -> int:
    """
    Return the smallest bucket that takes an old bath in one go.

    Args:
        volume_l: Litres of the bath [L], 0.1 to 1000.

    Returns:
        What the bucket must hold to its brim [L], whole litres. ValueError outside the range.

    Valid for:
        Open buckets, a third full at most (the default bucket_times).

    Source:
        Common practice, no source: a carbonate in an acid bath foams.

    Example:
        >>> least_bucket_l(volume_l=5.8)
        18
    """
    _within("volume_l", volume_l, VOLUME_MIN_L, VOLUME_MAX_L)
    return ceil(round(value("bucket_times") * volume_l, WHOLE_DIGITS))


def goes(*, volume_l: float, bucket_l: float) -> int:
    """
    Return how many times a bucket must be filled a third to take an old bath.

    Args:
        volume_l: Litres of the bath [L], 0.1 to 1000.
        bucket_l: What the bucket holds to its brim [L], 0.5 to 5000.

    Returns:
        Goes [count], 1 to 20. NeutralisingRefused with code bucket-too-small for more,
        ValueError outside the ranges.

    Valid for:
        Open buckets, a third full at most (the default bucket_times).

    Source:
        Common practice, no source.

    Example:
        >>> goes(volume_l=5.8, bucket_l=18), goes(volume_l=5.8, bucket_l=6)
        (1, 3)
    """
    _within("volume_l", volume_l, VOLUME_MIN_L, VOLUME_MAX_L)
    _within("bucket_l", bucket_l, BUCKET_MIN_L, BUCKET_MAX_L)
    thirds_l = value("bucket_times") * volume_l
    count = ceil(round(thirds_l / bucket_l, WHOLE_DIGITS))
    if count > GOES_MAX:
        raise NeutralisingRefused(
            BUCKET_TOO_SMALL,
            f"{volume_l:g} L take {count} goes of a {bucket_l:g} L bucket, {GOES_MAX} at most; "
            f"a bucket of {ceil(thirds_l / GOES_MAX)} L or more would do",
        )
    return count


def weighed_parts(*, dose_g: float) -> Parts:
    """
    Return a dose in the parts of the walk, in whole steps of a scale.

    Args:
        dose_g: Full dose of the base [g], 0.2 to 5000000.

    Returns:
        Parts that add up [Parts, g]: by default 76 % first (four fifths of what the bucket
        holds), three times 6.3 %, 5 % with the cup. ValueError outside the range.

    Valid for:
        The defaults kept_cup_fraction, first_dose_fraction and rest_part_count. Each part
        ends at the step of the scale nearest to where the dose would, so none is more than
        one step off.

    Source:
        Our own choice; what real floc takes lies between 2.5 and 3 hydroxides for each
        aluminium, and four fifths are 2.4.

    Example:
        >>> parts = weighed_parts(dose_g=335.1)
        >>> parts.dose_g, parts.first_g, parts.rest_g, parts.cup_share_g
        (335.0, 255.0, (21.0, 21.0, 21.0), 17.0)
    """
    _within("dose_g", dose_g, 0.2, 5 * alum.WEIGHT_MAX_G)
    in_bucket = 1 - value("kept_cup_fraction")
    first, count = value("first_dose_fraction"), int(value("rest_part_count"))
    ends = [in_bucket * (first + (1 - first) * part / count) for part in range(count + 1)]
    step_g = _scale_step_g(dose_g * (ends[1] - ends[0]))
    steps = [0, *(round(end * dose_g / step_g) for end in ends), round(dose_g / step_g)]
    first_g, *rest_g, cup_share_g = _in_grams([b - a for a, b in pairwise(steps)], step_g)
    return Parts(
        dose_g=_in_grams(steps[-1:], step_g)[0],
        first_g=first_g,
        rest_g=tuple(rest_g),
        cup_share_g=cup_share_g,
        scale_step_g=step_g,
    )


def _scale_step_g(part_g: float) -> float:
    fine_enough = (step for step in SCALE_STEPS_G if part_g >= STEPS_IN_A_PART * step)
    return next(fine_enough, SCALE_STEPS_G[-1])


def _in_grams(counts: Sequence[int], step_g: float) -> list[float]:
    """Return counted steps in grams, without the dust of binary fractions."""
    return [round(count * step_g, WHOLE_DIGITS) for count in counts]


def stop(*, salt: str, base: str, vessel_open: bool) -> str:
    """
    Return why a base must not go into a bath of a salt, or nothing.

    Args:
        salt: Which salt [one of alum.SALTS].
        base: What is in the jar [one of BASES].
        vessel_open: Whether it stands in an open bucket [yes or no]; a jug, a lidded drum
            or a bottle is none.

    Returns:
        A code [AMMONIA_GAS, GAS_IN_CLOSED_VESSEL or empty]. ValueError for an unknown salt
        or base.

    Valid for:
        The salt and the base. What else is in the bath (ultramarine and other sulfides,
        metal colours, bleach) is asked of a person first.

    Source:
        Common practice, no source: a base sets ammonia free from its salts; acid and a
        carbonate give carbon dioxide, and a closed vessel bursts.

    Example:
        >>> stop(salt="ammonium_alum", base="lime", vessel_open=True)
        'ammonia-gas'
        >>> stop(salt="potash_alum", base="bicarbonate", vessel_open=True)
        ''
    """
    if salt not in alum.SALTS:
        raise ValueError(f"salt: must be one of {', '.join(alum.SALTS)}, is {salt}")
    gives_gas = _base_of(base).gives_gas
    if salt == "ammonium_alum":
        return AMMONIA_GAS
    return GAS_IN_CLOSED_VESSEL if gives_gas and not vessel_open else ""


def walk(
    *,
    salt_g: float,
    salt: str,
    base: str,
    volume_l: float,
    bucket_l: float,
    doubt_fraction: float = value("weighed_fraction"),
    room_c: float = value("room_c"),
) -> Walk:
    """
    Return the figures of neutralising an old bath step by step in an open bucket.

    Args:
        salt_g: Salt of alum in the whole bath [g], 1 to 1000000.
        salt: Which salt [one of alum.SALTS].
        base: What is in the jar [one of BASES].
        volume_l: Litres of the whole bath [L], 0.1 to 1000.
        bucket_l: What the bucket holds to its brim [L], 0.5 to 5000.
        doubt_fraction: +- of the grams of salt, nine times in ten [1], 0 to 0.5.
        room_c: Temperature of the room [deg C], -20 to 50.

    Returns:
        Figures of one go [Walk, units in its names]. NeutralisingRefused with code
        ammonia-gas, bucket-too-small or too-little-to-weigh (under 1 g of salt in a go),
        ValueError outside the ranges or for an unknown code.

    Valid for:
        Steps with a reading between them, never a dose worked out from a reading. The cup
        kept back takes back what was one part in twenty too much.

    Source:
        `full_dose`, `weighed_parts`, `goes`, `gas_l`.

    Example:
        >>> steps = walk(salt_g=232, salt="aluminium_sulfate_14", base="anhydrous",
        ...     volume_l=5.8, bucket_l=18, room_c=20)
        >>> steps.go_count, round(steps.kept_cup_l, 2), steps.parts.first_g
        (1, 0.29, 94.0)
    """
    if code := stop(salt=salt, base=base, vessel_open=True):
        raise NeutralisingRefused(
            code, f"{salt} with {base} gives off ammonia; keep it closed, tagged, and ask"
        )
    whole = full_dose(salt_g=salt_g, salt=salt, base=base, doubt_fraction=doubt_fraction)
    go_count = goes(volume_l=volume_l, bucket_l=bucket_l)
    go_salt_g = salt_g / go_count
    if go_salt_g < SALT_MIN_G:
        raise NeutralisingRefused(
            TOO_LITTLE_TO_WEIGH,
            f"{go_salt_g:.2g} g of salt in each of {go_count} goes; a larger bucket would do",
        )
    go_gas_l = gas_l(salt_g=go_salt_g, salt=salt, base=base, room_c=room_c)
    return Walk(
        go_count=go_count,
        go_l=volume_l / go_count,
        kept_cup_l=value("kept_cup_fraction") * volume_l / go_count,
        bucket_l=bucket_l,
        parts=weighed_parts(dose_g=whole.middle_g / go_count),
        gas_l=go_gas_l,
        outdoors=go_gas_l > value("gas_indoors_max_l"),
        first_may_pass=value("first_dose_fraction") * whole.middle_g > whole.low_g,
    )
