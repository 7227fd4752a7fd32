"""How much water is asked for: a number of what is ticked, or an amount with its own unit."""

from fractions import Fraction
from typing import Final

from coop.actions.mix import MM
from coop.actions.read_dose import in_any_tongue
from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.measured import names_a_unit
from coop.units.number import read_number
from coop.units.table import LENGTH, VOLUME

MUCH_MIN: Final = Fraction(1, 1000)
MUCH_MAX: Final = 100_000


def read_much(
    typed: str, ticked: str, kinds: Kinds | None, *, tongue: str
) -> tuple[Fraction, str]:
    """
    Return how much of which measure is meant: a unit that is typed beats the ticked one.

    Args:
        typed: "10", "3 gal", "50 mm", "2 in": a volume, or how deep in the tub.
        ticked: What a number alone is of.
        kinds: What a bare gallon is; None: nobody said.
        tongue: One of `coop.actions.read_dose.TONGUES`, which is tried first.

    Raises:
        NotUnderstood: It is neither.
    """
    if not names_a_unit(typed):
        return read_number(typed, low=MUCH_MIN, high=MUCH_MAX), ticked
    said = in_any_tongue(lambda words: read_amount(typed, kinds, words=words), tongue)
    whole = (0, len(typed))
    if said.dimension not in (LENGTH, VOLUME):
        raise NotUnderstood("wrong-dimension", typed, whole, (VOLUME, LENGTH))
    much, measure = (said.base, MM) if said.dimension == LENGTH else (said.n, said.unit)
    if not MUCH_MIN <= much <= MUCH_MAX:
        raise NotUnderstood("out-of-range", typed, whole, (f"0.001 to {MUCH_MAX}",))
    return much, measure
