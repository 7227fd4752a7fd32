"""Where what is in a bath came from, and where the water and powder of one not of alum went."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coop.ids import Subject
from coop.ledger import accounts, kinds
from coop.ledger.force import InForce
from coop.ledger.liquids import LiquidState, LiquidStep, brought_to
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, VesselState

CAME_IN: Final = "came_in"
OFF_WITH_SHEETS: Final = "off_with_sheets"
TO_AIR: Final = "to_air"
POURED_OUT: Final = "poured_out"
UNEXPLAINED: Final = "unexplained"
WAYS: Final = (CAME_IN, OFF_WITH_SHEETS, TO_AIR, POURED_OUT, UNEXPLAINED)


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfLot:
    """What a bath took of a lot, in the unit of the lot's rows."""

    lot: LotState
    amount: int


def out_of_lots(journal: Journal, bath: Subject) -> tuple[OutOfLot, ...]:
    """Return what a bath took out of which lots itself, the first one first."""
    account = accounts.account("bath", bath)
    prefix = accounts.account("lot", Subject(""))
    taken: dict[Subject, int] = {}
    for move in sorted(journal.moves(account), key=lambda move: (move.at, move.entry)):
        if move.to_account == account and move.from_account.startswith(prefix):
            lot = Subject(move.from_account.removeprefix(prefix))
            taken[lot] = taken.get(lot, 0) + move.amount
    lots = journal.states("lot", taken)
    return tuple(OutOfLot(lot=lots[one], amount=taken[one]) for one in taken if one in lots)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Liquid [mL], and the powder in it [g]."""

    volume_ml: float
    powder_g: float


def liquid_ways(
    journal: Journal, steps: Sequence[LiquidStep], end: LiquidState
) -> dict[str, Part]:
    """
    Return where a bath that is not alum went, by each of `WAYS`.

    What came in and, over or under zero, what readings could not explain, less what went by
    the other three, is what is left.

    Args:
        steps: The bath after each of its entries, the mixing first.
        end: The bath at the moment that is asked about.
    """
    volumes, powders = dict.fromkeys(WAYS, 0.0), dict.fromkeys(WAYS, 0.0)
    first = steps[0].state
    volumes[CAME_IN], powders[CAME_IN] = first.volume_ml, first.powder_g
    last = first
    for step in steps[1:]:
        dry = brought_to(last, step.entry.at, area_m2=_area_m2(journal, last))
        way = _way(step.entry, first.id)
        sign = 1.0 if way in (CAME_IN, UNEXPLAINED) else -1.0
        volumes[TO_AIR] += last.volume_ml - dry.volume_ml
        volumes[way] += sign * (step.state.volume_ml - dry.volume_ml)
        powders[way] += sign * (step.state.powder_g - dry.powder_g)
        last = step.state
    volumes[TO_AIR] += last.volume_ml - end.volume_ml
    return {way: Part(volume_ml=volumes[way], powder_g=powders[way]) for way in WAYS}


def _area_m2(journal: Journal, state: LiquidState) -> float | None:
    vessel: VesselState | None = journal.state("vessel", state.vessel)
    return vessel.area_m2 if vessel else None


def _way(one: InForce, bath: Subject) -> str:
    """Return by which way an entry changes what is in a bath."""
    match one.content:
        case kinds.BathToppedUp():
            return CAME_IN
        case kinds.SheetsThrough():
            return OFF_WITH_SHEETS
        case kinds.BathSplit():
            return POURED_OUT
        case kinds.BathJoined(giver=giver):
            return POURED_OUT if giver == bath else CAME_IN
        case _:
            return UNEXPLAINED
