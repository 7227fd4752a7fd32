"""Baths as they were when they were made: what a tag of paper may say of them for weeks."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState, bath_steps, maker_of
from coop.ledger.entries import Sealed
from coop.ledger.force import resolve
from coop.ledger.liquids import liquid_steps
from coop.ledger.ports import Journal


@dataclass(frozen=True, slots=True)
class AtFirst:
    """How strong a bath was at first [g/L]; None without salt or powder, or litres."""

    strength_g_per_l: float | None
    poured_off: bool


def see_first(journal: Journal, baths: Iterable[AnyBath]) -> dict[Subject, AtFirst]:
    """Return how strong each bath was when it was mixed, or poured off from another."""
    every = {one.id: one for one in baths}
    touching = journal.touching_any(every) if every else {}
    return {key: _first(journal, one, touching[key]) for key, one in every.items()}


def _first(journal: Journal, bath: AnyBath, sealed: tuple[Sealed, ...]) -> AtFirst:
    own = "bath", bath.id
    here = tuple(one for one in resolve(sealed).in_force if own in one.touches)
    maker = maker_of(bath.id, here)
    poured_off = maker is not None and isinstance(maker.content, kinds.BathSplit)
    if isinstance(bath, BathState):
        first = next(bath_steps(bath.id, here, journal.view()))
        return AtFirst(first.state.estimate.belief.strength_g_per_l, poured_off)
    made = next(liquid_steps(bath.id, here, journal.view()))
    return AtFirst(made.state.dose_g_per_l, poured_off)
