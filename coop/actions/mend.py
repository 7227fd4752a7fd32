"""Mend a bath: what it would be after water and alum, and what brings it back to its target."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.actions.mix import salt_parts
from coop.actions.on_hand import OnHand, Share, share_out, to_mend_with
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, LotState
from coop.rules.baths import BathLook, to_mend
from coop.science import bath_answers
from coop.science.bath_answers import Mending
from coop.units.quantity import Quantity

SALT_WORTH_ADDING_G = 10.0
WATER_WORTH_ADDING_ML = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """
    A bath before and after an addition that nobody has written yet.

    Attributes:
        water_only: Nothing but water is added.
        over_brim_ml: What would run over [mL]; 0 where it fits.
        other_salt: (lot, grams in the bath's salt that are as strong) for lots of another one.
    """

    change: Mending
    water_only: bool
    over_brim_ml: float
    other_salt: tuple[tuple[LotState, float], ...]


def look_ahead(
    look: BathLook,
    water: Quantity | None,
    salt: tuple[kinds.SaltPart, ...],
    lots: dict[Subject, LotState],
) -> Ahead:
    """Return what water and alum would make of a bath."""
    parts = salt_parts(salt, lots, look.state.salt)
    change = bath_answers.mending(
        estimate=look.state.estimate,
        water_ml=float(water.base) if water else 0.0,
        salt_parts=parts,
    )
    brim_ml = look.around.vessel.brim_ml if look.around.vessel else float("inf")
    return Ahead(
        change=change,
        water_only=not salt and water is not None,
        over_brim_ml=max(0.0, change.after.volume_l * 1000 - brim_ml),
        other_salt=tuple(
            (lots[said.lot], part.salt_g)
            for said, part in zip(salt, parts, strict=True)
            if said.lot in lots and lots[said.lot].salt != look.state.salt
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """Alum and water that bring a bath back to its target, shared out of lots."""

    salt_g: float
    water_ml: float
    shares: tuple[Share, ...]
    missing_g: float
    strength_g_per_l: float
    volume_ml: float


def remedies(
    look: BathLook,
    lots: tuple[OnHand, ...],
    house: HouseState | None,
    *,
    goal_ml: float,
    own: frozenset[Subject] = frozenset(),
) -> tuple[Remedy, ...]:
    """
    Return what would bring a bath back: alum alone, then with the water it was mixed with.

    Args:
        own: Lots the bath was made of: taken first.
        goal_ml: The litres it once had [mL].
    """
    fitting = tuple(one for one in lots if one.lot.salt == look.state.salt)
    found: list[Remedy] = []
    for goal in (0.0, goal_ml):
        add = to_mend(look, goal_ml=goal)
        if add is None or not _worth(add.salt_g, add.water_ml):
            continue
        turn = to_mend_with(fitting, own=own, salt_g=add.salt_g)
        shares, missing_g = share_out(add.salt_g, turn, house)
        one = Remedy(
            salt_g=add.salt_g,
            water_ml=add.water_ml,
            shares=shares,
            missing_g=missing_g,
            strength_g_per_l=add.strength_g_per_l,
            volume_ml=add.volume_ml,
        )
        if not found or add.water_ml >= WATER_WORTH_ADDING_ML:
            found.append(one)
    return tuple(found)


def _worth(salt_g: float, water_ml: float) -> bool:
    return salt_g >= SALT_WORTH_ADDING_G or water_ml >= WATER_WORTH_ADDING_ML


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """The water a bath was mixed with [mL], and the lots of alum that went into it."""

    water_ml: float
    lots: frozenset[Subject]


def made_of(journal: Journal, bath: Subject) -> Made:
    """Return what a bath was made of, corrections taken into account."""
    return made_by(one.content for one in journal.view().resolved(bath).in_force)


def made_by(contents: Iterable[object]) -> Made:
    """Return what a bath was made of by what its entries say, in the order they happened."""
    water_ml, lots = 0.0, set()
    for said in contents:
        if isinstance(said, kinds.BathMixed):
            water_ml = float(said.water.base)
        if isinstance(said, kinds.BathMixed | kinds.BathToppedUp):
            lots |= {part.lot for part in said.salt}
    return Made(water_ml=water_ml, lots=frozenset(lots))
