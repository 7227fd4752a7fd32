"""What a paper takes with it, learned from pairs of level readings in the baths of the past."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.baths import BathState, Step, bath_steps
from coop.ledger.force import InForce
from coop.ledger.measure import PICKUPS, area_of_m2, level_of
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState, Pickup
from coop.ledger.view import View
from coop.science import alum, bath
from coop.science.bath import Measured, Spread
from coop.science.bath_readings import KEPT
from coop.science.pickup import AREA_MAX_M2, PAIRS_MAX, PAIRS_MIN, Learned, Pair, learned

BATHS_READ_MAX = 150
"""So many baths of alum, the newest, are read for pairs: our own bound on a page's time."""

USUAL = "dip"
LEVELS = frozenset({"dipstick", "tape_line"})
STILL = (
    kinds.BathCared,
    kinds.BathKeptFor,
    kinds.BathStopped,
    kinds.BathCleared,
)
"""Entries between two readings that move no liquid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupLook:
    """
    What readings show of a paper and a method.

    Attributes:
        pair_count: Pairs of level readings found; `wanted` are needed.
        now: What counts at present.
        found: What the pairs show; None while there are too few.
        taken: What a coordinator took over, if anybody did.
    """

    method: str
    pair_count: int
    wanted: int
    now: Spread
    found: Learned | None
    taken: Pickup | None

    @property
    def news(self) -> Learned | None:
        """What there is to take over: not again before as many pairs more as it wants."""
        if self.taken and self.pair_count < self.taken.pair_count + self.wanted:
            return None
        return self.found


def see_pickups(journal: Journal, paper: PaperState) -> tuple[PickupLook, ...]:
    """Return what readings show of a paper: by dip, and by what else was read a pair of."""
    pairs = _pairs(journal, paper)
    taken = {one.method: one for one in paper.pickups}
    return tuple(
        PickupLook(
            method=method,
            pair_count=len(pairs.get(method, ())),
            wanted=PAIRS_MIN,
            now=_counts_now(taken.get(method), method),
            found=learned(pairs=pairs.get(method, ())),
            taken=taken.get(method),
        )
        for method in PICKUPS
        if method == USUAL or method in pairs or method in taken
    )


def _counts_now(taken: Pickup | None, method: str) -> Spread:
    if taken is None:
        return PICKUPS[method]
    return Spread(taken.ml_per_m2, taken.low_ml_per_m2, taken.high_ml_per_m2)


def _pairs(journal: Journal, paper: PaperState) -> dict[str, list[Pair]]:
    """Return the pairs of a paper by method, of the newest baths of alum."""
    every = journal.listed("bath", live=False)
    baths = [one for one in every if isinstance(one, BathState)]
    baths.sort(key=lambda one: (one.at, one.id), reverse=True)
    view, found = journal.view(), dict[str, list[Pair]]()
    for one in baths[:BATHS_READ_MAX]:
        entries = view.resolved(one.id).in_force
        if _worth_reading(entries):
            for method, pair in pairs_of(bath_steps(one.id, entries, view), view, paper):
                found.setdefault(method, []).append(pair)
    return {method: list(islice(pairs, PAIRS_MAX)) for method, pairs in found.items()}


def _worth_reading(entries: Iterable[InForce]) -> bool:
    """Say whether a bath was read twice and dipped in: to fold one in vain takes time."""
    contents = [one.content for one in entries]
    levels = sum(_is_level(one) for one in contents)
    return levels > 1 and any(isinstance(one, kinds.SheetsThrough) for one in contents)


def _is_level(said: kinds.Content) -> bool:
    return isinstance(said, kinds.ReadingTaken) and said.instrument in LEVELS


@dataclass(frozen=True, slots=True, kw_only=True)
class _Open:
    """A level that waits for the next one, and what went through meanwhile."""

    level: Measured
    to_air_ml: float
    area_m2: float = 0.0
    method: str = ""


def pairs_of(
    steps: Iterable[Step], view: View, paper: PaperState
) -> Iterator[tuple[str, Pair]]:
    """
    Give (method, pair) of level readings with only sheets of one paper between them.

    What dried up between them, by the bath's own account, is taken off, with its doubt; all
    in water, as the bath's estimate has its litres. A reading that was kept and not applied
    makes no pair: something else may have happened.
    """
    start: _Open | None = None
    for step in steps:
        said = step.entry.content
        if _is_level(said):
            end = _level(step, said, view)
            if start is not None and end is not None and start.area_m2:
                yield start.method, _pair(start, end)
            start = end
        elif isinstance(said, kinds.SheetsThrough):
            start = _dipped(start, said, view, paper)
        elif not isinstance(said, (kinds.ReadingTaken, *STILL)):
            start = None


def _level(step: Step, said: kinds.Content, view: View) -> _Open | None:
    """Return a level as it was read, in water; None for one that was not believed."""
    assert isinstance(said, kinds.ReadingTaken)
    read = level_of(said, view.state("vessel", step.state.vessel))
    if read is None or step.reading is None or step.reading.outcome == KEPT:
        return None
    estimate = step.state.estimate
    strength = estimate.belief.strength_g_per_l
    part = alum.water_fraction(strength_g_per_l=strength, salt=step.state.salt)
    return _Open(
        level=Measured(read.volume_ml * part, read.sd_ml * part),
        to_air_ml=estimate.water_ml.to_air,
    )


def _pair(start: _Open, end: _Open) -> Pair:
    dried_ml = end.to_air_ml - start.to_air_ml
    noise = (start.level.sd_ml**2 + end.level.sd_ml**2) ** 0.5
    dried_sd_ml = dried_ml * bath.EVAPORATION_MM_PER_DAY.ln_sd
    return Pair(
        area_m2=start.area_m2,
        gone_ml=start.level.volume_ml - end.level.volume_ml - dried_ml,
        sd_ml=(noise**2 + dried_sd_ml**2) ** 0.5,
    )


def _dipped(
    start: _Open | None, said: kinds.SheetsThrough, view: View, paper: PaperState
) -> _Open | None:
    """Count sheets in; None where they are of another paper, or by another method."""
    if start is None or _paper_of(said, view) != paper.id:
        return None
    if start.method not in ("", said.method):
        return None
    area_m2 = start.area_m2 + said.sheet_count * area_of_m2(paper, said.sheet_format)
    if area_m2 > AREA_MAX_M2:
        return None
    return _Open(
        level=start.level, to_air_ml=start.to_air_ml, area_m2=area_m2, method=said.method
    )


def _paper_of(said: kinds.SheetsThrough, view: View) -> Subject | None:
    lot: LotState | None = view.state("lot", said.lot)
    return lot.paper if lot else said.paper
