"""
Whether the doubt is honest: simulated baths against what the estimate said of them.

What is hidden is drawn by `tests.bench.simulated`, what people wrote goes through the fold of
the ledger, and what a member would be shown is held against the truth.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from statistics import median

from coop.ids import Subject
from coop.ledger.baths import BathState, bath_steps, brought_to, resume_bath
from coop.ledger.entries import Entry, Sealed
from coop.ledger.force import InForce, resolve
from coop.ledger.measure import PICKUPS, habit_name
from coop.ledger.view import View, touches_within
from coop.science.bath_answers import SheetsLeft, Strength, sheets_left, strength
from coop.science.bath_belief import ML_PER_L
from coop.science.bath_readings import KEPT, ReadingOutcome
from coop.science.defaults import value
from tests.bench.figures import line
from tests.bench.simulated import AREA_M2, PAPERS, SHEET_M2, START, Simulated, described, lived
from tests.support.sayings import BATH, sealed

BATHS = 2_000
FIRST_SEED = 2_026
TAKEN_IN = START + timedelta(days=90)
FORMAT = "half"
LAYING_ML = value("laying_depth_mm") * AREA_M2 * ML_PER_L
FORGOTTEN_INTO_ML = (8_000, 12_000)
FORGOTTEN_ML = (2_000, 4_000)
FEW = 5
"""Under so many sheets left, one more or less is a large part."""

COVERS = (0.85, 0.95)
LOW_HOLDS = (0.90, 1.0)
UNBIASED = (0.95, 1.05)
FLAGGED = (0.90, 1.0)
FALSE_ALARMS = (0.0, 0.02)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Sheets of one paper: how many the estimate said, and how many there were."""

    said: SheetsLeft
    laid: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One bath: what was true of it, and what was said."""

    mixing: str
    reads: bool
    tested: bool
    paper_count: int
    strength_g_per_l: float
    volume_l: float
    said: Strength
    readings: tuple[ReadingOutcome, ...]
    again: Asked
    other: Asked | None
    forgotten_flagged: bool | None

    @property
    def strength_covered(self) -> bool:
        return self.said.low_g_per_l <= self.strength_g_per_l <= self.said.high_g_per_l

    @property
    def litres_covered(self) -> bool:
        return self.said.volume_low_l <= self.volume_l <= self.said.volume_high_l


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One line of the report: a share or ratio, of how many, and what is wanted of it."""

    what: str
    count: int
    value: float
    wanted: tuple[float, float] | None

    @property
    def holds(self) -> bool:
        return self.wanted is None or self.wanted[0] <= self.value <= self.wanted[1]


def measure() -> None:
    """Simulate all baths and print the figures."""
    for one in figures(found(BATHS)):
        wanted = f"{one.wanted[0]:.0%} to {one.wanted[1]:.0%}" if one.wanted else "stated"
        line(one.what, f"{one.value:.1%} of {one.count:,}", wanted)


def found(count: int) -> list[Found]:
    """Simulate so many baths."""
    return [_found(lived(FIRST_SEED + n)) for n in range(count)]


def _found(one: Simulated) -> Found:
    view, entries = _ledger(one.entries)
    steps = tuple(bath_steps(BATH, entries, view))
    now = brought_to(steps[-1].state, one.now, area_m2=AREA_M2)
    others = [paper for paper in range(len(PAPERS)) if paper not in dict(one.papers)]
    return Found(
        mixing=one.mixing,
        reads=one.reads,
        tested=now.gravity_at is not None,
        paper_count=len(one.papers),
        strength_g_per_l=one.truth.strength_g_per_l,
        volume_l=one.truth.water_ml / ML_PER_L,
        said=strength(estimate=now.estimate),
        readings=tuple(step.reading for step in steps if step.reading),
        again=_asked(one, now, *one.papers[-1], view),
        other=_asked(one, now, others[0], "dip", view) if others else None,
        forgotten_flagged=_water_forgotten(one, steps[-1].state, view),
    )


def _ledger(entries: Iterable[Entry]) -> tuple[View, tuple[InForce, ...]]:
    """Return the folds of a studio with these entries, and those in force for the bath."""
    touching: defaultdict[Subject, list[Sealed]] = defaultdict(list, _standing())
    for entry in entries:
        for _, subject in touches_within(entry, [entry]):
            touching[subject] = [*touching[subject], sealed(entry, at=TAKEN_IN)]
    view = View(lambda subject: touching[subject])
    return view, view.resolved(BATH).in_force


@cache
def _standing() -> dict[Subject, list[Sealed]]:
    return {
        subject: [sealed(entry, at=TAKEN_IN)]
        for entry in described()
        for _, subject in touches_within(entry, [entry])
        if str(subject) == entry.id
    }


def _asked(one: Simulated, now: BathState, paper: int, method: str, view: View) -> Asked:
    """Ask for the sheets left of a paper, and lay them."""
    said = sheets_left(
        estimate=now.estimate,
        laying_depth_ml=LAYING_ML,
        sheet_area_m2=SHEET_M2[FORMAT],
        pickup_ml_per_m2=PICKUPS[method],
        lasts=habit_name(view.state("paper", PAPERS[paper]), method),
    )
    laid = one.truth.sheets_until(LAYING_ML, SHEET_M2[FORMAT], paper, method)
    return Asked(said=said, laid=laid)


def _water_forgotten(one: Simulated, last: BathState, view: View) -> bool | None:
    """
    Pour water that nobody writes down, read the gravity: was that kept and not applied?

    None where the tub holds another amount than the promise speaks of.
    """
    if not FORGOTTEN_INTO_ML[0] <= one.truth.liquid_ml <= FORGOTTEN_INTO_ML[1]:
        return None
    one.truth.water_ml += one.draw.uniform(*FORGOTTEN_ML)
    one.read_gravity()
    (read,) = resolve([sealed(one.entries[-1], at=TAKEN_IN)]).in_force
    after = resume_bath(last, read, view)
    return after is not None and any(kept.entry == read.id for kept in after.state.kept)


def figures(baths: Sequence[Found]) -> list[Figure]:
    """Return all that is held against what is wanted."""
    return [*_covered(baths), *_sheets(baths), *_flagged(baths)]


GROUPS: dict[str, Callable[[Found], bool]] = {
    "all baths": lambda bath: True,
    "without readings": lambda bath: not bath.reads,
    "with readings": lambda bath: bath.reads,
    "one paper": lambda bath: bath.paper_count == 1,
    "two papers": lambda bath: bath.paper_count == 2,
    "three papers": lambda bath: bath.paper_count == 3,
    "weighed": lambda bath: bath.mixing == "weighed",
    "by the lot's weighed spoon": lambda bath: bath.mixing == "spoon of the lot",
    "by bare spoons": lambda bath: bath.mixing == "bare spoon",
}


def _covered(baths: Sequence[Found]) -> Iterable[Figure]:
    for group, belongs in GROUPS.items():
        some = [bath for bath in baths if belongs(bath)]
        covered = [bath.strength_covered for bath in some]
        yield _share(f"strength lies in its interval, {group}", covered, COVERS)
        covered = [bath.litres_covered for bath in some]
        yield _share(f"litres lie in their interval, {group}", covered, COVERS)


def _share(what: str, found: Sequence[bool], wanted: tuple[float, float] | None) -> Figure:
    return Figure(what=what, count=len(found), value=sum(found) / len(found), wanted=wanted)


def _sheets(baths: Sequence[Found]) -> Iterable[Figure]:
    papers = {
        "the same paper": [bath.again for bath in baths],
        "a paper new to the bath": [bath.other for bath in baths if bath.other],
    }
    for paper, asked in papers.items():
        held = [one.laid >= one.said.low for one in asked]
        yield _share(f"at least the low sheets left, {paper}", held, LOW_HOLDS)
        ratios = [one.laid / one.said.middle for one in asked if one.said.middle > FEW]
        what = f"sheets laid over the middle, median, {paper}"
        yield Figure(what=what, count=len(ratios), value=median(ratios), wanted=UNBIASED)


def _flagged(baths: Sequence[Found]) -> Iterable[Figure]:
    flagged: defaultdict[str, list[bool]] = defaultdict(list)
    for bath in baths:
        if bath.forgotten_flagged is not None:
            group = "read before" if bath.tested else f"never read, {bath.mixing}"
            flagged[group].append(bath.forgotten_flagged)
    for group, found in sorted(flagged.items(), reverse=True):
        wanted = FLAGGED if group == "read before" else None
        yield _share(f"water forgotten is flagged, {group}", found, wanted)
    kept = [one.outcome == KEPT for bath in baths for one in bath.readings]
    yield _share("readings flagged when nothing was forgotten", kept, FALSE_ALARMS)
