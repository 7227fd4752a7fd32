"""Which lots may stand in one tub: what is the same by all that their labels say."""

from collections.abc import Mapping
from typing import Any, Final

from coop.ledger.states import LotState

NOT_KNOWN: Final = "not_known"
MADE_OF: Final = ("salt", "carrageenan", "chalk", "chalk_g_per_m2", "grain", "soda")
"""What a label says besides the supply: what one says and another does not, differs."""


def are_alike(one: LotState, other: LotState) -> bool:
    """
    Return whether two lots are of one supply and one make.

    Kappa gels and lambda does not; chalk takes up alum; paper of two grains curls two ways:
    what was mixed is not told apart any more. Common practice, no source.
    """
    return one.substance == other.substance and _made_of(one) == _made_of(other)


def _made_of(lot: LotState) -> Mapping[str, Any]:
    said = {name: getattr(lot, name) for name in MADE_OF}
    return {name: None if value == NOT_KNOWN else value for name, value in said.items()}
