"""Thin or thicken a bath that is not alum: what it would be, and what brings it to a dose."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from coop.actions.see_liquids import liquids_of, look_at_liquids
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Journal
from coop.rules.liquid_looks import LiquidLook
from coop.science.size import DOSE_MAX_G_PER_L, Blend, powder_g, thickened, thinned

WATER, BLEND, CONCENTRATE = "water", "blend", "concentrate"
WORTH_ADDING_ML = 20.0
TIMES_THICKER = 2.0
"""A concentrate is offered at so many times the wanted dose: our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """
    One way to a wanted dose.

    Attributes:
        how: "water", "blend" of a size that stands there, "concentrate" made in a jug.
        out_ml: What must be taken out first, so that it fits; 0 where there is room.
        add_ml: What to pour in; a concentrate is so much water with `powder_g` of powder.
        after_ml: What stands there then, the brim at most.
        short_ml: What the giver has too little of; 0 where it is enough.
    """

    how: str
    out_ml: float
    add_ml: float
    after_ml: float
    giver: LiquidLook | None = None
    short_ml: float = 0.0
    thicker_g_per_l: float | None = None
    powder_g: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A bath before and after an addition that nobody has written yet; None: dose not known."""

    before_g_per_l: float | None
    after_g_per_l: float | None
    before_ml: float
    after_ml: float
    over_brim_ml: float


def can_reckon(bath: LiquidState) -> bool:
    """Return whether a dose can be aimed at: it has one, in the range of sizes."""
    dose = bath.dose_g_per_l
    return dose is not None and dose <= DOSE_MAX_G_PER_L and bath.volume_ml > 0


def ways_to(
    look: LiquidLook,
    givers: Iterable[LiquidLook],
    *,
    wanted_g_per_l: float,
    thicker_g_per_l: float | None = None,
) -> tuple[Way, ...]:
    """
    Return what brings a bath to a dose: water, or a thicker one of the same powder.

    Args:
        givers: Other baths of the same kind and powder.
        wanted_g_per_l: Over 0, at most 60.
        thicker_g_per_l: Dose of a concentrate to make; twice the wanted one unless said.

    Raises:
        ValueError: It would take more than any vessel holds.
    """
    dose = look.state.dose_g_per_l
    if dose is None or not can_reckon(look.state):
        return ()
    volume_ml = look.state.volume_ml
    if wanted_g_per_l <= dose:
        blend = thinned(volume_ml=volume_ml, dose_g_per_l=dose, wanted_g_per_l=wanted_g_per_l)
        out_ml, blend = _fitted(look, blend)
        found = [Way(how=WATER, out_ml=out_ml, add_ml=blend.add_ml, after_ml=blend.volume_ml)]
    else:
        thick = _thick_enough(givers, wanted_g_per_l)
        found = [_blend(look, giver, dose, wanted_g_per_l) for giver in thick]
        found += _concentrate(look, dose, wanted_g_per_l, thicker_g_per_l)
    return tuple(way for way in found if way.add_ml >= WORTH_ADDING_ML)


def _fitted(look: LiquidLook, blend: Blend) -> tuple[float, Blend]:
    """
    Return what to take out first [mL], and the blend of what is left.

    Of less size less is added in the same proportion, so that both together fill the vessel.
    """
    vessel = look.around.vessel
    if vessel is None or blend.volume_ml <= vessel.brim_ml:
        return 0.0, blend
    share = vessel.brim_ml / blend.volume_ml
    out_ml = look.state.volume_ml * (1 - share)
    return out_ml, Blend(add_ml=blend.add_ml * share, volume_ml=vessel.brim_ml)


def _thick_enough(givers: Iterable[LiquidLook], wanted_g_per_l: float) -> list[LiquidLook]:
    return [
        one
        for one in givers
        if can_reckon(one.state) and (one.state.dose_g_per_l or 0.0) > wanted_g_per_l
    ]


def _blend(look: LiquidLook, giver: LiquidLook, dose: float, wanted_g_per_l: float) -> Way:
    thicker = giver.state.dose_g_per_l
    assert thicker is not None, "only what has a dose is thick enough"
    blend = thickened(
        volume_ml=look.state.volume_ml,
        dose_g_per_l=dose,
        thicker_g_per_l=thicker,
        wanted_g_per_l=wanted_g_per_l,
    )
    out_ml, blend = _fitted(look, blend)
    return Way(
        how=BLEND,
        out_ml=out_ml,
        add_ml=blend.add_ml,
        after_ml=blend.volume_ml,
        giver=giver,
        short_ml=max(0.0, blend.add_ml - giver.state.volume_ml),
        thicker_g_per_l=thicker,
    )


def _concentrate(
    look: LiquidLook, dose: float, wanted_g_per_l: float, thicker_g_per_l: float | None
) -> list[Way]:
    thicker = thicker_g_per_l or min(DOSE_MAX_G_PER_L, TIMES_THICKER * wanted_g_per_l)
    if thicker <= wanted_g_per_l:
        return []
    blend = thickened(
        volume_ml=look.state.volume_ml,
        dose_g_per_l=dose,
        thicker_g_per_l=thicker,
        wanted_g_per_l=wanted_g_per_l,
    )
    if blend.add_ml < WORTH_ADDING_ML:
        return []
    out_ml, blend = _fitted(look, blend)
    return [
        Way(
            how=CONCENTRATE,
            out_ml=out_ml,
            add_ml=blend.add_ml,
            after_ml=blend.volume_ml,
            thicker_g_per_l=thicker,
            powder_g=powder_g(volume_ml=blend.add_ml, dose_g_per_l=thicker),
        )
    ]


def look_ahead(look: LiquidLook, *, add_ml: float, add_g: float) -> Ahead:
    """Return what so much liquid with so much powder in it would make of a bath."""
    bath, vessel = look.state, look.around.vessel
    after_ml = bath.volume_ml + add_ml
    after_g = bath.powder_g + add_g
    return Ahead(
        before_g_per_l=bath.dose_g_per_l,
        after_g_per_l=1000 * after_g / after_ml if after_g and after_ml else None,
        before_ml=bath.volume_ml,
        after_ml=after_ml,
        over_brim_ml=max(0.0, after_ml - vessel.brim_ml) if vessel else 0.0,
    )


def givers_for(journal: Journal, bath: LiquidState, *, now: datetime) -> tuple[LiquidLook, ...]:
    """Return the other open baths of the same kind and powder, in their studio's order."""
    alike = (
        one
        for one in liquids_of(journal.listed("bath"))
        if one.id != bath.id and (one.what, one.of) == (bath.what, bath.of)
    )
    looks = look_at_liquids(journal, alike, now=now)
    return tuple(one for one in looks if one.state.volume_ml > 0)
