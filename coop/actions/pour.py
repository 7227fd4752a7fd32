"""Pour baths apart and together: where it can go, and what it would be, before it is poured."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from coop.actions.ask_about import alike
from coop.actions.mix import last_names, name_after, see_tubs
from coop.actions.see_baths import see_any, volume_ml, water_part
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import handed
from coop.ledger.ports import Journal
from coop.ledger.states import StudioState, VesselState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.rules.reasons import Word
from coop.science import bath, bath_answers
from coop.science.bath_answers import Strength
from coop.science.bath_belief import ML_PER_L

AnyLook = BathLook | LiquidLook


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """A vessel in use that holds nothing, and its studio."""

    vessel: VesselState
    studio: StudioState


def free_vessels(journal: Journal, bath: AnyBath) -> tuple[Free, ...]:
    """Return the vessels of every studio that hold nothing, the bath's own studio first."""
    groups = sorted(see_tubs(journal), key=lambda one: one.studio.id != bath.studio)
    return tuple(
        Free(vessel=tub.vessel, studio=group.studio)
        for group in groups
        for tub in group.tubs
        if tub.holds is None
    )


def names_ahead(
    journal: Journal, bath: AnyBath, studio: StudioState, count: int
) -> tuple[str, ...]:
    """Return the next names for baths of this kind in a studio."""
    names = (*last_names(journal), bath.name)
    found: list[str] = []
    for _ in range(count):
        found.append(name_after((*names, *found), studio, bath.what))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAhead:
    """Litres for one vessel [mL], and what of it would run over; 0 where it fits."""

    name: str
    vessel: VesselState
    volume_ml: float
    over_brim_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ApartAhead:
    """
    A bath before and after it is poured apart [mL].

    `short_ml` is what the parts are more than there is.
    """

    before_ml: float
    after_ml: float
    short_ml: float
    parts: tuple[PartAhead, ...]


def apart(look: AnyLook, parts: Iterable[tuple[str, VesselState, float]]) -> ApartAhead:
    """Return what pouring off (name, vessel, mL) would leave."""
    found = tuple(
        PartAhead(
            name=name,
            vessel=vessel,
            volume_ml=volume,
            over_brim_ml=max(0.0, volume - vessel.brim_ml),
        )
        for name, vessel, volume in parts
    )
    before, part = volume_ml(look), water_part(look)
    left = before - sum(one.volume_ml for one in found) * part
    return ApartAhead(
        before_ml=before, after_ml=max(0.0, left), short_ml=max(0.0, -left / part), parts=found
    )


def givers(journal: Journal, bath: AnyBath, *, now: datetime) -> tuple[AnyLook, ...]:
    """Return the open baths that may be poured into one, of its own studio first."""
    every: tuple[AnyBath, ...] = journal.listed("bath")
    fitting = [one for one in every if one.id != bath.id and alike(bath, one)]
    fitting.sort(key=lambda one: (one.studio != bath.studio, one.name))
    return tuple(see_any(journal, one, now=now) for one in fitting)


@dataclass(frozen=True, slots=True, kw_only=True)
class TogetherAhead:
    """
    Two baths before and after one is poured into the other.

    Attributes:
        given_ml: What goes over; `short_ml` is what was asked and is not there.
        left_ml: What the giver has then; 0 where it gave all and is finished.
        before, after: Strength in g/L of an alum bath; None of any other.
        dose_g_per_l: Powder before and after of any other; None where there is none.
        made_at: Since when the mixture counts: the older of the two.
        warned: Whether the giver is stopped, or should not be used as it is.
    """

    given_ml: float
    short_ml: float
    left_ml: float
    before_ml: float
    after_ml: float
    over_brim_ml: float
    before: Strength | None
    after: Strength | None
    dose_g_per_l: tuple[float, float] | None
    made_at: datetime
    warned: bool


def together(look: AnyLook, giver: AnyLook, asked_ml: float | None) -> TogetherAhead:
    """Return what litres of one bath, or all of it, would make of another."""
    there, before = volume_ml(giver), volume_ml(look)
    asked = None if asked_ml is None else asked_ml * water_part(giver)
    given = there if asked is None else min(asked, there)
    vessel = look.around.vessel
    strengths = _strengths(look, giver, asked_ml)
    return TogetherAhead(
        given_ml=given,
        short_ml=max(0.0, (asked or 0.0) - there),
        left_ml=there - given,
        before_ml=before,
        after_ml=before + given,
        over_brim_ml=max(0.0, before + given - vessel.brim_ml) if vessel else 0.0,
        before=strengths[0] if strengths else None,
        after=strengths[1] if strengths else None,
        dose_g_per_l=_doses(look, giver, given),
        made_at=min(look.state.mixed_at, giver.state.mixed_at),
        warned=giver.answer.word in (Word.DO_NOT_USE, Word.LOOK_AGAIN),
    )


def _strengths(
    look: AnyLook, giver: AnyLook, asked_ml: float | None
) -> tuple[Strength, Strength] | None:
    if not (isinstance(look, BathLook) and isinstance(giver, BathLook)):
        return None
    poured = handed(giver.state.estimate, asked_ml)
    after = bath.topped_up(estimate=look.state.estimate, solutions=[poured])
    return look.strength, bath_answers.strength(estimate=after)


def _doses(look: AnyLook, giver: AnyLook, given_ml: float) -> tuple[float, float] | None:
    if not (isinstance(look, LiquidLook) and isinstance(giver, LiquidLook)):
        return None
    one, other = look.state.dose_g_per_l, giver.state.dose_g_per_l
    if one is None or other is None:
        return None
    whole_ml = look.state.volume_ml + given_ml
    powder_g = look.state.powder_g + other * given_ml / ML_PER_L
    return one, ML_PER_L * powder_g / whole_ml


def reach(frees: Iterable[Free]) -> dict[Subject, VesselState]:
    """Return vessels by their ids."""
    return {one.vessel.id: one.vessel for one in frees}


def other_studios(groups: Iterable[Free], bath: AnyBath) -> tuple[StudioState, ...]:
    """Return the other studios among vessels, each once."""
    found = {one.studio.id: one.studio for one in groups if one.studio.id != bath.studio}
    return tuple(found.values())
