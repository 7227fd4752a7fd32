"""
Reckoning without a ledger: what a mix takes, what a top-up does, what a reading means.

The screens and `coop reckon` use these same functions.
"""

from dataclasses import dataclass
from math import log

from coop.science import alum, bath, crystals, hard_water, water
from coop.science.bath import BathEstimate, SaltPart
from coop.science.defaults import Z_90, Default, value
from coop.units.strength import Bulk, Statement
from coop.units.table import UNITS

WEIGHED = "weighed"
STORE_C = 20.0
"""The store of a studio that says nothing of it: our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A figure with its 90 % interval."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPlan:
    """
    What a bath takes.

    Attributes:
        water_ml: Water to put in [mL].
        salt_g: Salt to weigh [g]: the middle is what to weigh, the range what spoons give.
        spoon_count: How many of `spoon` that is, when the dose is by the spoon.
        how: "weighed" or "spooned": how the dose states its salt.
        solubility_fraction: Strength over what dissolves at the store's temperature [1].
    """

    water_ml: float
    salt_g: Range
    strength_g_per_l: Range
    spoon_count: float | None
    spoon: str
    how: str
    solubility_fraction: float

    @property
    def near_solubility(self) -> bool:
        """Whether it is over the share of solubility that is warned of."""
        return self.solubility_fraction > value("solubility_warn_fraction")


def plan_mix(
    statement: Statement, *, water_ml: float, salt: str, store_c: float = STORE_C
) -> MixPlan:
    """Return what a dose takes for so much water [mL], of a salt, in a store of `store_c`."""
    litres = water_ml / 1000
    strength = Range(
        low=float(statement.g_per_l.low),
        middle=float(statement.g_per_l.middle),
        high=float(statement.g_per_l.high),
    )
    spoon_count, spoon = None, ""
    if statement.how != WEIGHED and statement.ml_per_l is not None:
        spoon = statement.amount.unit
        per_litre_ml = float(statement.ml_per_l.middle)
        spoon_count = per_litre_ml * litres / float(UNITS[spoon].factor)
    return MixPlan(
        water_ml=water_ml,
        salt_g=Range(
            low=strength.low * litres,
            middle=strength.middle * litres,
            high=strength.high * litres,
        ),
        strength_g_per_l=strength,
        spoon_count=spoon_count,
        spoon=spoon,
        how=statement.how,
        solubility_fraction=alum.solubility_fraction(
            dose_g_per_l_water=strength.middle, salt=salt, liquid_c=store_c
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class InStore:
    """
    A strength where its tub stands.

    Attributes:
        store_c: How cold it gets there [deg C].
        fraction: Strength over what dissolves there [1]; over 1 some crystallises.
        crystals_g_per_l: What crystallises [g/L].
        clear_c: How cold it may get with nothing falling out [deg C]; None where it
            does not dissolve at 40 C either.
    """

    store_c: float
    fraction: float
    crystals_g_per_l: float
    clear_c: float | None

    @property
    def near_solubility(self) -> bool:
        """Whether it is over the share of solubility that is warned of."""
        return self.fraction > value("solubility_warn_fraction")


def within_tables(store_c: float | None) -> float:
    """Return a store's warmth as the tables of solubility know it [deg C]: 0 to 40."""
    here_c = STORE_C if store_c is None else store_c
    return min(max(here_c, water.WATER_MIN_C), water.WATER_MAX_C)


def in_store(strength_g_per_l: float, salt: str, store_c: float | None) -> InStore:
    """
    Return what becomes of a strength [g/L, over 0] in a store, by default one of `STORE_C`.

    A colder or warmer store than the tables reach counts as their end: 0 and 40 C.
    """
    here_c = within_tables(store_c)
    found = crystals.crystals(dose_g_per_l_water=strength_g_per_l, salt=salt, store_c=here_c)
    return InStore(
        store_c=here_c,
        fraction=found.fraction,
        crystals_g_per_l=found.crystals_g_per_l,
        clear_c=crystals.clear_down_to_c(dose_g_per_l_water=strength_g_per_l, salt=salt),
    )


def dissolves_warm(strength_g_per_l: float, salt: str, warm_c: float) -> bool | None:
    """
    Return whether a strength [g/L, over 0] dissolves in warm water [deg C, from 0 on].

    None where the table of the salt does not reach so far: 60 C.
    """
    points = alum.SOLUBILITY[alum.SOLUBILITY_TABLES[salt][0]].points
    if warm_c > points[-1][0]:
        return None
    kg_per_l = water.density_kg_per_m3(water_c=STORE_C) / 1000
    most = alum.solubility_g_per_kg_water(salt=salt, liquid_c=warm_c)
    return strength_g_per_l / kg_per_l <= most


def taken_by_water(
    strength_g_per_l: float, salt: str, hardness_mg_per_l: float | None
) -> hard_water.Spent | None:
    """
    Return what tap water takes of a strength [g/L, over 0]; None where nobody said how hard.

    Its hardness stands for its alkalinity, which is what takes the alum: of water that was
    not softened the most it can be, by common practice, no source.
    """
    if hardness_mg_per_l is None:
        return None
    return hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=hardness_mg_per_l, strength_g_per_l=strength_g_per_l, salt=salt
    )


def unlike(
    dose_g_per_l: float, own: list[float], known: Default | None
) -> tuple[float, float] | None:
    """
    Return the band that doses of a kind lie in [g/L], where this one lies outside.

    Args:
        own: The doses of the house's own recipes of the kind. From `own_recipes_min` on they
            widen the band, with `target_differs_fraction` on either side; a house with few
            recipes has not seen all there are, so they never make it narrower.
        known: The band of others' cards, where one is known.
    """
    lows, highs = ([known.low], [known.high]) if known is not None else ([], [])
    if len(own) >= value("own_recipes_min"):
        aside = value("target_differs_fraction")
        lows.append(min(own) * (1 - aside))
        highs.append(max(own) * (1 + aside))
    if not lows:
        return None
    low, high = min(lows), max(highs)
    return None if low <= dose_g_per_l <= high else (low, high)


def spoons(salt_g: float, *, g_per_ml: float, spoon: str = "us_tbsp") -> float:
    """Return how many level spoons a weight [g] of a powder of this bulk density is."""
    return salt_g / (g_per_ml * float(UNITS[spoon].factor))


def estimate_of(
    *, volume_ml: float, strength_g_per_l: float, doubt_fraction: float, salt: str
) -> BathEstimate:
    """Return an estimate from a volume [mL] and a strength [g/L] with its doubt, a fraction."""
    return bath.mixed(
        water_ml=volume_ml,
        salt_parts=[
            SaltPart(volume_ml * strength_g_per_l / 1000, log(1 + doubt_fraction) / Z_90)
        ],
        salt=salt,
        at_h=0.0,
    )


def depth_ml(*, depth_mm: float, area_m2: float) -> float:
    """Return the liquid [mL] that stands so deep [mm] over an inside floor [m2]."""
    return depth_mm * area_m2 * 1000


def sheets_ml(*, sheet_count: int, sheet_area_m2: float, laying_ml: float) -> Range:
    """
    Return the liquid [mL] to dip so many sheets: what they take, and what must stand at last.

    Source: `pickup_dip_ml_per_m2` (140, 110 to 180 mL/m2) of `coop.science.defaults`.
    """
    area_m2 = sheet_count * sheet_area_m2
    pickup = bath.PICKUP_DIP_ML_PER_M2
    return Range(
        low=laying_ml + area_m2 * pickup.low,
        middle=laying_ml + area_m2 * pickup.middle,
        high=laying_ml + area_m2 * pickup.high,
    )


def spoons_for(salt_g: float, *, spoon: str, bulk: Bulk) -> Range:
    """Return how many level spoons a weight [g] is, of a powder of this bulk density."""
    return Range(
        low=spoons(salt_g, g_per_ml=float(bulk.high_g_per_ml), spoon=spoon),
        middle=spoons(salt_g, g_per_ml=float(bulk.middle_g_per_ml), spoon=spoon),
        high=spoons(salt_g, g_per_ml=float(bulk.low_g_per_ml), spoon=spoon),
    )
