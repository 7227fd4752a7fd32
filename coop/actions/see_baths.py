"""Look at baths: several with what stands around them, or one with its whole history."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.see_entries import entries_of
from coop.actions.see_liquids import (
    alum_of,
    house_of,
    liquids_of,
    look_at_liquids,
    see_liquid,
)
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState, Step, bath_steps, brought_to
from coop.ledger.entries import Sealed
from coop.ledger.force import InForce, Struck
from coop.ledger.liquids import LiquidState
from coop.ledger.measure import laying_ml, level_of, zero_of
from coop.ledger.ports import Journal
from coop.ledger.states import PaperState, StudioState
from coop.ledger.table import HOUSE
from coop.ledger.view import View
from coop.rules.baths import Around, BathLook, limits_of, look_at
from coop.rules.liquid_looks import LiquidLook
from coop.science import alum, bath_answers
from coop.science.bath_readings import KEPT
from coop.science.defaults import Z_90
from coop.science.defaults import value as default_value


def look_at_all(
    journal: Journal, baths: Iterable[BathState], *, now: datetime
) -> tuple[BathLook, ...]:
    """Look at several baths with what stands around them read once."""
    vessels = {one.id: one for one in journal.listed("vessel", live=False)}
    studios = {one.id: one for one in journal.listed("studio")}
    recipes = {one.id: one for one in journal.listed("recipe", live=False)}
    papers: tuple[PaperState, ...] = journal.listed("paper")
    house = journal.state("house", HOUSE)
    return tuple(
        look_at(
            bath,
            Around(
                vessel=vessels.get(bath.vessel),
                studio=studios.get(bath.studio),
                recipe=recipes.get(bath.recipe) if bath.recipe else None,
                house=house,
                papers=papers,
            ),
            at=now,
        )
        for bath in baths
    )


def look_at_every(
    journal: Journal, baths: Iterable[AnyBath], *, now: datetime
) -> tuple[BathLook | LiquidLook, ...]:
    """Look at several baths of any kind, alum first."""
    every = tuple(baths)
    return (
        *look_at_all(journal, alum_of(every), now=now),
        *look_at_liquids(journal, liquids_of(every), now=now),
    )


def around_bath(journal: Journal, bath: BathState) -> Around:
    """Return what stands around one bath."""
    return Around(
        vessel=journal.state("vessel", bath.vessel),
        studio=journal.state("studio", bath.studio),
        recipe=journal.state("recipe", bath.recipe),
        house=house_of(journal, bath),
        papers=journal.listed("paper"),
    )


def gather_around(journal: Journal, baths: Iterable[AnyBath]) -> None:
    """Read at once what stands around several baths, for whoever asks of each by itself."""
    every = tuple(baths)
    named = {
        "vessel": {one.vessel for one in every},
        "recipe": {one.recipe for one in every if one.recipe},
    }
    for sort, subjects in named.items():
        if subjects:
            journal.states(sort, subjects)


def see_any(journal: Journal, bath: AnyBath, *, now: datetime) -> BathLook | LiquidLook:
    """Return a bath of any kind as it is now."""
    if isinstance(bath, LiquidState):
        return see_liquid(journal, bath, now=now)
    return see_bath(journal, bath, now=now)


def volume_ml(look: BathLook | LiquidLook) -> float:
    """Return the litres believed to be in a bath [mL]."""
    if isinstance(look, LiquidLook):
        return look.state.volume_ml
    return look.strength.volume_l * 1000


def water_part(look: BathLook | LiquidLook) -> float:
    """Return what of a bath's measured litres is the water put in, as it is believed [1]."""
    if isinstance(look, LiquidLook):
        return 1.0
    strength_g_per_l = look.state.estimate.belief.strength_g_per_l
    return alum.water_fraction(strength_g_per_l=strength_g_per_l, salt=look.state.salt)


def see_bath(journal: Journal, bath: BathState, *, now: datetime) -> BathLook:
    """Return one bath as it is now, or as it will be if nothing happens until then."""
    return look_at(bath, around_bath(journal, bath), at=now)


def laying_l(look: BathLook) -> float | None:
    """Return the litres that must stand in a bath's tub to lay a sheet, if that is known."""
    depth_mm = limits_of(look.around.house).laying_depth_mm
    found = laying_ml(look.around.vessel, depth_mm=depth_mm)
    return None if found is None else found / 1000


def see_past(journal: Journal, bath: Subject, *, at: datetime, known: bool) -> BathLook | None:
    """
    Return a bath as it was at a moment that has passed; None before it was mixed.

    Args:
        known: Take only what the ledger knew at that moment; else all that it knows now.
    """
    view = journal.view(known=at) if known else journal.view()
    state = view.see("bath", bath, at=at).state
    if not isinstance(state, BathState):
        return None
    return look_at(state, _around_at(view, state, at), at=at)


def _around_at(view: View, state: BathState, at: datetime) -> Around:
    return Around(
        vessel=view.state("vessel", state.vessel),
        studio=view.state("studio", state.studio),
        recipe=view.state("recipe", state.recipe),
        house=view.see("house", HOUSE, at=at).state,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """What a reading measured [g/L or mL], its 90 % interval, and whether it was believed."""

    entry: EntryId
    quantity: str
    instrument: str
    at: datetime
    value: float
    half: float
    applied: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BathHistory:
    """
    A bath's entries in force with what each did, and what corrections changed.

    Attributes:
        struck: Entries that a correction took out.
        moved: Entries that a correction gave to another bath.
        corrections: All corrections of its entries, by their ids.
        judged: (code, entry) of what is odd and was judged.
    """

    steps: tuple[Step, ...]
    struck: tuple[Struck, ...]
    moved: tuple[InForce, ...]
    corrections: dict[EntryId, Sealed]
    reads: tuple[Read, ...]
    judged: frozenset[tuple[str, str]]


def see_history(journal: Journal, bath: Subject) -> BathHistory:
    """Return a bath step by step."""
    found = entries_of(journal, bath)
    steps = tuple(bath_steps(bath, found.here, journal.view()))
    return BathHistory(
        steps=steps,
        struck=found.struck,
        moved=found.moved,
        corrections=found.corrections,
        reads=_reads(journal, steps),
        judged=found.judged,
    )


def _reads(journal: Journal, steps: tuple[Step, ...]) -> tuple[Read, ...]:
    settled = {step.reading.settled for step in steps if step.reading}
    return tuple(read for step in steps if (read := _read(journal, step, settled)) is not None)


def _read(journal: Journal, step: Step, settled: set[str]) -> Read | None:
    said = step.entry.content
    if not isinstance(said, kinds.ReadingTaken) or step.reading is None:
        return None
    if said.instrument == "hydrometer":
        studio = journal.state("studio", step.state.studio)
        value, sd = _strength_read(said, step, studio)
    else:
        measured = level_of(said, journal.state("vessel", step.state.vessel))
        assert measured is not None, "a level that moved the estimate was measured"
        value, sd = measured
    return Read(
        entry=step.entry.id,
        quantity=step.reading.quantity,
        instrument=said.instrument,
        at=step.entry.at,
        value=value,
        half=sd * Z_90,
        applied=step.reading.outcome != KEPT or step.entry.id in settled,
    )


def _strength_read(
    said: kinds.ReadingTaken, step: Step, studio: StudioState | None
) -> tuple[float, float]:
    """Return what a hydrometer said of strength [g/L], as the fold took it."""
    assert said.gravity is not None
    assert said.temperature is not None
    read = alum.gravity_strength_g_per_l(
        reading_sg=float(said.gravity),
        liquid_c=float(said.temperature.base),
        zero_offset_sg=zero_of(studio, said, step.entry.at),
        scale_c=studio.hydrometer_scale_c if studio else default_value("hydrometer_scale_c"),
        salt=step.state.salt,
    )
    return read.strength_g_per_l, read.sd_g_per_l


@dataclass(frozen=True, slots=True, kw_only=True)
class OverTime:
    """A bath at one moment of its course."""

    at: datetime
    strength: bath_answers.Strength


def course(steps: tuple[Step, ...], around: Around, *, until: datetime) -> tuple[OverTime, ...]:
    """
    Return a bath just before and just after each step, and at the end.

    Between two steps it is looked at once more where the lid goes on: water that dries up
    makes a straight line, and that is where the line bends.
    """
    area = around.vessel.area_m2 if around.vessel else None
    points: list[OverTime] = []
    for step, ends_at in zip(steps, (*(one.entry.at for one in steps[1:]), until), strict=True):
        state = step.state
        for at in _looks(state.at, max(ends_at, state.at), state.open_hours_due):
            points.append(_point(brought_to(state, at, area_m2=area), at))
    return tuple(points)


def _looks(start: datetime, end: datetime, bend_h: float) -> tuple[datetime, ...]:
    bend = start + timedelta(hours=bend_h)
    return tuple(sorted({start, end, *([bend] if start < bend < end else [])}))


def _point(state: BathState, at: datetime) -> OverTime:
    return OverTime(at=at, strength=bath_answers.strength(estimate=state.estimate))
