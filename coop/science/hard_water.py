"""Hard and softened water: the alum its alkalinity spends, the sodium a softener leaves."""

from typing import Final, NamedTuple

from coop.science import alum

HARDNESS_MAX_MG_PER_L: Final = 2_000.0

SODIUM_PER_CALCIUM: Final = 2
"""A softener with salt gives two sodium for each calcium or magnesium."""


class Spent(NamedTuple):
    """
    What the alkalinity of the water takes from a bath when it is mixed.

    Attributes:
        al_mmol_per_l: Aluminium [mmol Al/L], at most what is there.
        salt_g_per_l: The same as the salt of the tub [g/L].
        fraction: Over the dose [fraction], 0 to 1.
    """

    al_mmol_per_l: float
    salt_g_per_l: float
    fraction: float


def spent_on_alkalinity(
    *, alkalinity_mg_per_l: float, strength_g_per_l: float, salt: str
) -> Spent:
    """
    Return how much of a bath the water itself spends.

    Args:
        alkalinity_mg_per_l: Alkalinity of the water [mg/L as CaCO3], 0 to 1000. A softener
            that runs on salt does not take it out.
        strength_g_per_l: Strength it is mixed at [g/L], over 0, at most 2000.
        salt: Which salt [one of alum.SALTS].

    Returns:
        Aluminium, salt and part of the dose [Spent]; no more than there is. ValueError
        outside the ranges or for an unknown salt.

    Valid for:
        Full reaction, the most it can be; in open air a model spends 0.83 of it at 5 g/L and
        0.63 at 30 g/L.

    Source:
        `alum.al_spent_mmol_per_l`.

    Example:
        >>> spent = spent_on_alkalinity(
        ...     alkalinity_mg_per_l=150, strength_g_per_l=30, salt="potash_alum")
        >>> round(spent.salt_g_per_l, 3), round(100 * spent.fraction, 1)
        (0.474, 1.6)
    """
    there_mmol = alum.mmol_al_per_l(strength_g_per_l=strength_g_per_l, salt=salt)
    if not there_mmol:
        raise ValueError("strength_g_per_l: must be over 0, is 0")
    can_mmol = alum.al_spent_mmol_per_l(alkalinity_mg_per_l=alkalinity_mg_per_l)
    fraction = min(1.0, can_mmol / there_mmol)
    return Spent(fraction * there_mmol, fraction * strength_g_per_l, fraction)


def softener_sodium_mmol_per_l(*, hardness_mg_per_l: float) -> float:
    """
    Return the sodium that a softener running on salt puts in the place of hardness.

    Args:
        hardness_mg_per_l: Hardness it takes out [mg/L as CaCO3], 0 to 2000.

    Returns:
        Sodium [mmol/L]. ValueError outside the range.

    Valid for:
        All of the hardness taken out, on top of the sodium that was there. It thins
        carrageenan; see `soda.sodium_mmol_per_l`.

    Source:
        Two sodium for each calcium (computed from atomic masses).

    Example:
        >>> round(softener_sodium_mmol_per_l(hardness_mg_per_l=300), 1)
        6.0
    """
    if not 0 <= hardness_mg_per_l <= HARDNESS_MAX_MG_PER_L:
        raise ValueError(
            f"hardness_mg_per_l: must be from 0 to {HARDNESS_MAX_MG_PER_L:g}, "
            f"is {hardness_mg_per_l:g}"
        )
    chalk = alum.SUBSTANCES["calcium_carbonate"].molar_mass_g_per_mol
    return hardness_mg_per_l / chalk * SODIUM_PER_CALCIUM
