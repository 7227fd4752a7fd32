"""
Sodas: one form for another, how they dissolve, and what washing soda does to a bath.

Washing soda is sold against hard water. In an alum bath it destroys alum, in a size its
sodium thins carrageenan.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from coop.science import alum
from coop.science.neutralising import BASES

WEIGHT_MAX_G: Final = 1_000_000.0
SODA_MAX_G_PER_L: Final = 1_000.0
SODA_C: Final = (0.0, 30.0)

SODIUM_PER_MOL: Final[Mapping[str, int]] = MappingProxyType(
    {"bicarbonate": 1, "anhydrous": 2, "monohydrate": 2, "crystals": 2}
)
"""Sodium in a mole of each soda; codes of `neutralising.BASES`."""

SOLUBILITY_MASS_PERCENT: Final[Mapping[str, tuple[tuple[float, float], ...]]] = (
    MappingProxyType(
        {
            "bicarbonate": ((0, 6.48), (10, 7.59), (20, 8.73), (25, 9.32), (30, 9.91)),
            "anhydrous": ((0, 6.44), (10, 10.8), (20, 17.9), (25, 23.5), (30, 28.7)),
        }
    )
)
"""CRC Handbook of Chemistry and Physics, 98th edition: grams in 100 g of solution, of baking
soda and of washing soda without its crystal water."""


class Destroyed(NamedTuple):
    """
    What a soda does in a litre of bath.

    Attributes:
        al_mmol_per_l: Aluminium it can turn into floc [mmol Al/L], at most what is there.
        salt_g_per_l: The same as the salt of the tub [g/L].
        fraction: Over the strength [fraction], 0 to 1.
    """

    al_mmol_per_l: float
    salt_g_per_l: float
    fraction: float


def same_alkalinity_g(*, weight_g: float, base: str, other_base: str) -> float:
    """
    Return the weight of another soda, or lime, that takes up the same acid.

    Args:
        weight_g: Weight of the first [g], 0 to 1000000.
        base: What was weighed [one of neutralising.BASES].
        other_base: What to take in its place [one of neutralising.BASES].

    Returns:
        Weight of the other [g]. ValueError outside the range or for an unknown base.

    Valid for:
        Pure forms. Open soda crystals lose their water and are stronger than they look: a
        white powder on them is another form. Lime is fierce: never without asking.

    Source:
        Computed from atomic masses, carbonate ending as CO2; 10-hydrate to anhydrous 2.70.

    Example:
        >>> round(same_alkalinity_g(weight_g=100, base="anhydrous", other_base="crystals"))
        270
    """
    _within("weight_g", weight_g, WEIGHT_MAX_G)
    return weight_g * _acid_mol_per_g("base", base) / _acid_mol_per_g("other_base", other_base)


def destroyed_by_soda(
    *, soda_g_per_l: float, base: str, strength_g_per_l: float, salt: str
) -> Destroyed:
    """
    Return how much of an alum bath a soda turns into floc.

    Args:
        soda_g_per_l: Soda in the water [g/L], 0 to 1000.
        base: Which soda, or lime [one of neutralising.BASES].
        strength_g_per_l: Strength of the bath [g/L], over 0, at most 2000.
        salt: Which alum [one of alum.SALTS].

    Returns:
        Aluminium, salt and part of the strength [Destroyed]; no more than there is.
        ValueError outside the ranges or for an unknown code.

    Valid for:
        Full reaction, gas stirred out; real floc takes 2.5 to 3 hydroxides for each
        aluminium, so up to a fifth more can be lost. Ammonium alum gives off ammonia gas.

    Source:
        Al3+ + 3 OH- -> Al(OH)3 (computed).

    Example:
        >>> gone = destroyed_by_soda(
        ...     soda_g_per_l=2, base="anhydrous", strength_g_per_l=30, salt="potash_alum")
        >>> round(gone.al_mmol_per_l, 1), round(gone.salt_g_per_l, 1), round(gone.fraction, 2)
        (12.6, 6.0, 0.2)
    """
    _within("soda_g_per_l", soda_g_per_l, SODA_MAX_G_PER_L)
    there_mmol = alum.mmol_al_per_l(strength_g_per_l=strength_g_per_l, salt=salt)
    if not there_mmol:
        raise ValueError("strength_g_per_l: must be over 0, is 0")
    can_mmol = 1000 * soda_g_per_l * _acid_mol_per_g("base", base) / alum.OH_PER_AL
    fraction = min(1.0, can_mmol / there_mmol)
    return Destroyed(fraction * there_mmol, fraction * strength_g_per_l, fraction)


def sodium_mmol_per_l(*, soda_g_per_l: float, base: str) -> float:
    """
    Return the sodium that a soda brings into a litre.

    Args:
        soda_g_per_l: Soda in the water [g/L], 0 to 1000.
        base: Which soda [one of SODIUM_PER_MOL].

    Returns:
        Sodium [mmol/L]. ValueError outside the range or for an unknown soda.

    Valid for:
        Judging whether carrageenan will be thinner: 20 mmol/L move the dose at which its
        chains begin to overlap from 2.1 to 3.8 g/L (defaults carrageenan_overlap_g_per_l and
        carrageenan_overlap_salty_g_per_l). How thin a size becomes is not reckoned.

    Source:
        Computed from atomic masses.

    Example:
        >>> round(sodium_mmol_per_l(soda_g_per_l=1.06, base="anhydrous"), 1)
        20.0
    """
    _within("soda_g_per_l", soda_g_per_l, SODA_MAX_G_PER_L)
    if base not in SODIUM_PER_MOL:
        raise ValueError(f"base: must be one of {', '.join(SODIUM_PER_MOL)}, is {base}")
    return 1000 * soda_g_per_l * SODIUM_PER_MOL[base] / _g_per_mol(base)


def soda_solubility_g_per_kg_water(*, base: str, liquid_c: float) -> float:
    """
    Return how much of a soda dissolves in added water.

    Args:
        base: Which soda [one of SODIUM_PER_MOL].
        liquid_c: Temperature of the water [deg C], 0 to 30.

    Returns:
        Soda as it comes from the jar [g/kg of added water]; between the points of the table
        straight on the logarithm. ValueError outside the range or for an unknown soda.

    Valid for:
        Clean water, time and stirring.

    Source:
        CRC Handbook of Chemistry and Physics, 98th edition; crystal water by
        `alum.hydrate_g_per_kg_water`.

    Example:
        >>> round(soda_solubility_g_per_kg_water(base="bicarbonate", liquid_c=20), 1)
        95.7
    """
    if base not in SODIUM_PER_MOL:
        raise ValueError(f"base: must be one of {', '.join(SODIUM_PER_MOL)}, is {base}")
    low_c, high_c = SODA_C
    if not low_c <= liquid_c <= high_c:
        raise ValueError(f"liquid_c: must be from {low_c:g} to {high_c:g}, is {liquid_c:g}")
    plain = "bicarbonate" if base == "bicarbonate" else "anhydrous"
    percent = alum.interpolated(points=SOLUBILITY_MASS_PERCENT[plain], at=liquid_c)
    return alum.hydrate_g_per_kg_water(
        anhydrous_g_per_kg_water=1000 * percent / (100 - percent),
        anhydrous_fraction=_g_per_mol(plain) / _g_per_mol(base),
    )


def _acid_mol_per_g(name: str, base: str) -> float:
    """Return the acid that a gram takes up [mol H+/g]."""
    if base not in BASES:
        raise ValueError(f"{name}: must be one of {', '.join(BASES)}, is {base}")
    row = alum.SUBSTANCES[BASES[base].substance]
    return alum.OH_PER_AL / row.mol_per_mol_al / row.molar_mass_g_per_mol


def _g_per_mol(base: str) -> float:
    return alum.SUBSTANCES[BASES[base].substance].molar_mass_g_per_mol


def _within(name: str, number: float, high: float) -> None:
    if not 0 <= number <= high:
        raise ValueError(f"{name}: must be from 0 to {high:.9g}, is {number:g}")
