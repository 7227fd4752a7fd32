"""What a reading did to the estimate of a bath, and when a hydrometer's zero is due."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.see_baths import Read, see_history
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.baths import Step
from coop.ledger.ports import Journal
from coop.ledger.states import StudioState, Zero
from coop.science import alum, bath_answers
from coop.science.bath_answers import Strength

CHECK_EVERY = timedelta(days=30)
"""A hydrometer's zero is good for about a month: common practice, no source."""
READ_WITH = ("strip_print", "tape_line", "dipstick", "hydrometer")
"""Instruments a bath is tested with, in the order they are offered."""
BY_THE_WAY = ("thermometer", "look")
"""What is written of a bath without moving a figure; to look takes no instrument."""
STRENGTH = "strength"
LEVEL = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """
    What one reading did.

    Attributes:
        instrument: What was read with.
        outcome: How a strip print came out; empty for other readings.
        verdict: applied, kept or settled; the code of a finding where it could not be read;
            empty for a strip print, which moves no estimate.
        quantity: "strength" or "level".
        read: What it measured; None for a strip print and for what could not be read.
    """

    instrument: str
    outcome: str
    verdict: str
    quantity: str
    before: Strength
    after: Strength
    read: Read | None


def see_moved(journal: Journal, bath: Subject, entry: str) -> Moved | None:
    """Return what a reading did to its bath; None for an entry that is no reading of it."""
    history = see_history(journal, bath)
    reads = {one.entry: one for one in history.reads}
    found = (step for step in history.steps if _is(step, entry))
    return next((_moved(step, reads.get(step.entry.id)) for step in found), None)


def _is(step: Step, entry: str) -> bool:
    return step.entry.id == entry and isinstance(step.entry.content, kinds.ReadingTaken)


def _moved(step: Step, measured: Read | None) -> Moved:
    said = step.entry.content
    assert isinstance(said, kinds.ReadingTaken)
    assert step.before is not None, "a reading comes after the mixing"
    read = step.reading
    odd = step.findings[-1].code if step.findings else ""
    return Moved(
        instrument=said.instrument,
        outcome=said.outcome or "",
        verdict=read.outcome if read else odd,
        quantity=STRENGTH if said.instrument == "hydrometer" else LEVEL,
        before=bath_answers.strength(estimate=step.before),
        after=bath_answers.strength(estimate=step.state.estimate),
        read=measured,
    )


def drawer_of(studio: StudioState | None) -> tuple[str, ...]:
    """Return what a bath can be tested with in a studio, strip print first."""
    drawer = studio.instruments if studio else ()
    return tuple(code for code in READ_WITH if code in drawer)


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroLook:
    """A hydrometer's last check; `offset_sg` is what it shows too much."""

    last: Zero | None
    offset_sg: float
    overdue: bool


def look_at_zero(studio: StudioState, *, now: datetime) -> ZeroLook:
    """Return when a studio's hydrometer was last read in tap water, and what it showed."""
    if not studio.zeros:
        return ZeroLook(last=None, offset_sg=0.0, overdue=True)
    last = studio.zeros[-1]
    return ZeroLook(
        last=last,
        offset_sg=alum.hydrometer_zero(
            reading_sg=last.gravity,
            water_c=last.water_c,
            scale_c=studio.hydrometer_scale_c,
        ),
        overdue=now - last.at > CHECK_EVERY,
    )
