"""Litres of liquid as a person measures them: the accounts hold water and salt apart."""

from collections import defaultdict
from collections.abc import Iterable

from coop.ledger import accounts
from coop.ledger.accounts import Move
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.science import alum
from coop.science.bath_belief import ML_PER_L

SALT = accounts.salt("")
TENTH = 1
"""Litres are known to a tenth of a millilitre at best."""


def liquid_ml(rows: Iterable[Move]) -> float:
    """
    Return what rows of one line come to as a person measures it: water with its salt [mL].

    The accounts hold the water that was put in; a litre of bath is less than a litre of it.
    """
    water_ml = 0.0
    salts: dict[str, float] = defaultdict(float)
    for row in rows:
        if row.substance == accounts.WATER:
            water_ml += row.amount / accounts.UL_PER_ML
        elif row.substance.startswith(SALT):
            salts[row.substance.removeprefix(SALT)] += row.amount / accounts.UG_PER_G
    if not water_ml:
        return 0.0
    over = (
        1 / alum.water_fraction(strength_g_per_l=grams * ML_PER_L / water_ml, salt=salt) - 1
        for salt, grams in salts.items()
    )
    return round(water_ml * (1 + sum(over)), TENTH)


def stood_ml(bath: AnyBath) -> float:
    """Return what stands in a bath as a person measures it: water with its salt [mL]."""
    if not isinstance(bath, BathState):
        return bath.volume_ml
    belief = bath.estimate.belief
    part = alum.water_fraction(strength_g_per_l=belief.strength_g_per_l, salt=bath.salt)
    return round(belief.volume_ml / part, TENTH)
