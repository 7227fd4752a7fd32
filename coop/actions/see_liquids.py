"""Look at baths that are not alum: several with what stands around them, or one."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime

from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import SIZE, LiquidState, RunOut
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, StackState
from coop.ledger.table import HOUSE
from coop.rules.liquid_looks import LiquidAround, LiquidLook, look_at_liquid
from coop.science.defaults import value
from coop.science.size import like_good_days

PRINTED_WELL = 0.9
"""A size printed well when so many of its sorted sheets were not ragged: ours, no source."""


def alum_of(baths: Iterable[AnyBath]) -> tuple[BathState, ...]:
    """Return the baths of alum among baths of any kind."""
    return tuple(one for one in baths if isinstance(one, BathState))


def liquids_of(baths: Iterable[AnyBath]) -> tuple[LiquidState, ...]:
    """Return the baths that are not alum among baths of any kind."""
    return tuple(one for one in baths if isinstance(one, LiquidState))


def look_at_liquids(
    journal: Journal, baths: Iterable[LiquidState], *, now: datetime
) -> tuple[LiquidLook, ...]:
    """Look at several baths that are not alum, with what stands around them read once."""
    wanted = tuple(baths)
    if not wanted:
        return ()
    vessels = {one.id: one for one in journal.listed("vessel", live=False)}
    studios = {one.id: one for one in journal.listed("studio")}
    recipes = {one.id: one for one in journal.listed("recipe", live=False)}
    house = journal.state("house", HOUSE)
    return tuple(
        look_at_liquid(
            bath,
            LiquidAround(
                vessel=vessels.get(bath.vessel),
                studio=studios.get(bath.studio),
                recipe=recipes.get(bath.recipe) if bath.recipe else None,
                house=house,
            ),
            at=now,
        )
        for bath in wanted
    )


def house_of(journal: Journal, bath: AnyBath) -> HouseState | None:
    """Return the limits a bath is told by: today's, of a finished one those of its end."""
    if bath.finished_at is None:
        house: HouseState | None = journal.state("house", HOUSE)
        return house
    then: HouseState | None = journal.view().see("house", HOUSE, at=bath.finished_at).state
    return then


def around_liquid(journal: Journal, bath: LiquidState) -> LiquidAround:
    """Return what stands around one bath that is not alum."""
    return LiquidAround(
        vessel=journal.state("vessel", bath.vessel),
        studio=journal.state("studio", bath.studio),
        recipe=journal.state("recipe", bath.recipe),
        house=house_of(journal, bath),
        good_days=good_days(journal) if bath.what == SIZE and bath.run_outs else {},
    )


def see_liquid(journal: Journal, bath: LiquidState, *, now: datetime) -> LiquidLook:
    """Return one such bath as it is now, or as it will be if nothing happens until then."""
    return look_at_liquid(bath, around_liquid(journal, bath), at=now)


def see_liquid_past(
    journal: Journal, bath: Subject, *, at: datetime, known: bool
) -> LiquidLook | None:
    """
    Return such a bath as it was at a moment that has passed; None before it was made.

    The times of good days are left out: they are made of what is known now.

    Args:
        known: Take only what the ledger knew at that moment; else all that it knows now.
    """
    view = journal.view(known=at) if known else journal.view()
    state = view.see("bath", bath, at=at).state
    if not isinstance(state, LiquidState):
        return None
    around = LiquidAround(
        vessel=view.state("vessel", state.vessel),
        studio=view.state("studio", state.studio),
        recipe=view.state("recipe", state.recipe),
        house=view.see("house", HOUSE, at=at).state,
    )
    return look_at_liquid(state, around, at=at)


def good_days(journal: Journal) -> Mapping[str, tuple[float, float]]:
    """Return the run-out times [s] by funnel of sizes that printed well, their middle half."""
    lines = {
        funnel: like_good_days(run_outs_s=read)
        for funnel, read in good_run_outs(journal).items()
    }
    return {funnel: line for funnel, line in lines.items() if line is not None}


def good_run_outs(journal: Journal) -> Mapping[str, list[float]]:
    """
    Return all run-out times [s] by funnel of sizes that printed well.

    What was timed in the cold or the heat is left out: it compares with nothing.
    """
    sizes = [one for one in liquids_of(journal.listed("bath", live=False)) if one.run_outs]
    stacks = stacks_of(journal, sizes)
    seconds: dict[str, list[float]] = defaultdict(list)
    for size in sizes:
        if _printed_well(size, stacks):
            for read in filter(_compares, size.run_outs):
                seconds[read.funnel].append(read.seconds)
    return seconds


def _compares(read: RunOut) -> bool:
    """Say whether a time was taken at the warmth of a room, as far as somebody said."""
    at_c = read.temperature_c
    return at_c is None or value("run_out_low_c") <= at_c <= value("run_out_high_c")


def stacks_of(journal: Journal, sizes: Iterable[LiquidState]) -> Mapping[Subject, StackState]:
    """Return the stacks that were laid on sizes."""
    wanted = {laid.stack for size in sizes for laid in size.laid}
    return journal.states("stack", wanted)


def _printed_well(size: LiquidState, stacks: Mapping[Subject, StackState]) -> bool:
    good = ragged = 0
    for stack in {laid.stack for laid in size.laid} & stacks.keys():
        for part in stacks[stack].parts:
            if part.size == size.id:
                good += part.good
                ragged += dict(part.spoiled).get("ragged", 0)
    return good > 0 and good >= PRINTED_WELL * (good + ragged)
