"""A bath that is not alum step by step: its entries, its thickness, and what a test did."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import exp, hypot

from coop.actions.see_baths import Read
from coop.actions.see_entries import entries_of
from coop.actions.see_liquids import around_liquid
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.entries import Sealed
from coop.ledger.force import InForce, Struck
from coop.ledger.liquids import LiquidState, LiquidStep, liquid_steps
from coop.ledger.measure import bare_spoon, level_of
from coop.ledger.ports import Journal
from coop.rules.liquid_looks import LiquidLook, look_at_liquid
from coop.science.defaults import Z_90, value

LEVEL = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidHistory:
    """
    A bath's entries in force with what each made of it, and what corrections changed.

    Attributes:
        reads: Levels that were read, with their doubt.
        struck: Entries that a correction took out.
        moved: Entries that a correction gave to another bath.
        corrections: All corrections of its entries, by their ids.
        judged: (code, entry) of what is odd and was judged.
    """

    steps: tuple[LiquidStep, ...]
    reads: tuple[Read, ...]
    struck: tuple[Struck, ...]
    moved: tuple[InForce, ...]
    corrections: dict[EntryId, Sealed]
    judged: frozenset[tuple[str, str]]


def see_liquid_history(journal: Journal, bath: Subject) -> LiquidHistory:
    """Return such a bath step by step."""
    found = entries_of(journal, bath)
    journal.states("stack", _stacks(found.here))  # all at once, not one by one in the fold
    steps = tuple(liquid_steps(bath, found.here, journal.view()))
    reads = (_level(journal, step) for step in steps)
    return LiquidHistory(
        steps=steps,
        reads=tuple(read for read in reads if read is not None),
        struck=found.struck,
        moved=found.moved,
        corrections=found.corrections,
        judged=found.judged,
    )


def _stacks(entries: Iterable[InForce]) -> set[Subject]:
    said = (one.content for one in entries)
    return {one.stack for one in said if isinstance(one, kinds.SheetsThrough) and one.stack}


def _level(journal: Journal, step: LiquidStep) -> Read | None:
    said = step.entry.content
    if not isinstance(said, kinds.ReadingTaken) or not (said.depth or said.litres):
        return None
    measured = level_of(said, journal.state("vessel", step.state.vessel))
    if measured is None:
        return None
    return Read(
        entry=step.entry.id,
        quantity=LEVEL,
        instrument=said.instrument,
        at=step.entry.at,
        value=measured.volume_ml,
        half=measured.sd_ml * Z_90,
        applied=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Thickness:
    """Powder in a litre [g/L], with the 90 % range of how it was measured out."""

    middle_g_per_l: float
    low_g_per_l: float
    high_g_per_l: float


def thickness(state: LiquidState) -> Thickness | None:
    """
    Return the powder in a litre of a bath; None of one without powder or litres.

    The range is that of powder and water as they were measured out, on the logarithm. What
    leaves with a sheet takes powder and water alike and adds no doubt.
    """
    middle = state.dose_g_per_l
    if middle is None:
        return None
    factor = exp(hypot(_powder_doubt(state), value("water_measured_fraction")))
    return Thickness(
        middle_g_per_l=middle, low_g_per_l=middle / factor, high_g_per_l=middle * factor
    )


def _powder_doubt(state: LiquidState) -> float:
    """Return half the 90 % range of the powder, on the logarithm."""
    match state.how:
        case "weighed":
            return value("weighed_fraction")
        case "spoon-weighed":
            return value("lot_spoon_fraction")
        case "spooned":
            return bare_spoon(state.of)[1] * Z_90
        case _:
            return value("guess_fraction")


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidMoved:
    """What one test did: the bath just before it and just after; `findings` are codes."""

    said: kinds.ReadingTaken
    before: LiquidLook
    after: LiquidLook
    findings: tuple[str, ...]


def see_liquid_moved(journal: Journal, bath: LiquidState, entry: str) -> LiquidMoved | None:
    """Return what a test did to the answer; None for an entry that is no test of this bath."""
    steps = see_liquid_history(journal, bath.id).steps
    for before, step in pairwise(steps):
        said = step.entry.content
        if step.entry.id == entry and isinstance(said, kinds.ReadingTaken):
            around = around_liquid(journal, bath)
            at = step.state.at
            return LiquidMoved(
                said=said,
                before=look_at_liquid(before.state, around, at=at),
                after=look_at_liquid(step.state, around, at=at),
                findings=tuple(one.code for one in step.findings),
            )
    return None
