"""A bath as it was when it was made: what a tag of paper may say of it for weeks."""

from dataclasses import dataclass

from coop.actions.see_entries import entries_of
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState, bath_steps, maker_of
from coop.ledger.liquids import liquid_steps
from coop.ledger.ports import Journal


@dataclass(frozen=True, slots=True)
class AtFirst:
    """How strong a bath was at first [g/L]; None without salt or powder, or litres."""

    strength_g_per_l: float | None
    poured_off: bool


def see_first(journal: Journal, bath: AnyBath) -> AtFirst:
    """Return how strong a bath was when it was mixed, or poured off from another."""
    here = entries_of(journal, bath.id).here
    maker = maker_of(bath.id, here)
    poured_off = maker is not None and isinstance(maker.content, kinds.BathSplit)
    if isinstance(bath, BathState):
        first = next(bath_steps(bath.id, here, journal.view()))
        return AtFirst(first.state.estimate.belief.strength_g_per_l, poured_off)
    made = next(liquid_steps(bath.id, here, journal.view()))
    return AtFirst(made.state.dose_g_per_l, poured_off)
