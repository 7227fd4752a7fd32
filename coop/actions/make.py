"""Plan a size, gall water, rinse, paste or softener: powder, water, rest, how long it keeps."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from coop.actions.mix import Water, middle_of, name_after, see_tubs
from coop.actions.on_hand import OnHand, Share, share_out
from coop.actions.reckon import Range, unlike
from coop.actions.see_shelf import GELS
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import SALT_UNKNOWN
from coop.ledger.liquids import SIZE, LiquidState, rests_until
from coop.ledger.measure import laying_ml, powder_grams
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, LotState, RecipeState, StudioState, VesselState
from coop.ledger.ways_out import to_go
from coop.rules.baths import limits_of
from coop.science import alum, soda
from coop.science.defaults import default, value
from coop.science.size import DOSE_MAX_G_PER_L, thinned
from coop.science.size import VOLUME_MAX_ML as SIZE_MAX_ML
from coop.units.strength import Statement

POWDERS_OF: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "size": ("carrageenan", "methylcellulose", "tragacanth", "gum"),
        "gall_water": ("gall",),
        "rinse": (),
        "paste": ("starch",),
        "softener": ("softener",),
    }
)
"""What each bath that is not alum can be made of; a rinse is water alone."""
SIZE_DOSES: Mapping[str, str] = MappingProxyType(
    {
        "carrageenan": "size_carrageenan_g_per_l",
        "methylcellulose": "size_methylcellulose_g_per_l",
        "tragacanth": "size_tragacanth_g_per_l",
    }
)
WORTH_WEIGHING_G = 0.05
WASHING_SODA = "anhydrous"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    What is to be made.

    Attributes:
        statement: The one reading of the card; None where nobody says a dose.
        lots: The lots to take, in turn.
        at: When it is made.
        recipes: The recipes of its kind, to compare a dose with.
    """

    what: str
    powder: str
    statement: Statement | None
    recipe: RecipeState | None
    water: Water
    lots: tuple[OnHand, ...]
    house: HouseState | None
    at: datetime
    recipes: tuple[RecipeState, ...] = ()

    @property
    def own_doses(self) -> list[float]:
        """The doses of the other recipes of its powder [g/L]."""
        of = [one for one in self.recipes if one.powder == self.powder]
        chosen = self.recipe.id if self.recipe else None
        return [middle_of(one) for one in of if one.id != chosen]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dilution:
    """Water that makes a size of a concentrate [mL], what it is then [mL], and its dose."""

    water_ml: float
    volume_ml: float
    dose_g_per_l: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Softens:
    """What washing soda in water does: alum it turns into floc [g/L of the salt], sodium."""

    salt: str
    salt_g_per_l: float
    sodium_mmol_per_l: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """
    How long a bath that is not alum keeps.

    A size goes by warm days to look again and not to use, and days from its making to the
    end; any other by days to look again, then `warm_days` and `do_not_use_warm_days` are None.
    """

    days: float
    warm_days: float | None = None
    do_not_use_warm_days: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MakePlan:
    """
    What a bath takes.

    Attributes:
        dose_g_per_l: Powder by the litre as the card means it; None without a dose.
        by_volume: Whether the card measures its powder by the spoon or cup.
        shares: What to take from which lot; `missing_g` is what they do not hold.
        rest_until: Not to be used before; None where it needs no rest.
        unlike: From and to which doses [g/L] sizes of this powder go, where this is none.
        dilution: What makes a size to lay on of it, where it is a concentrate.
        too_thick: Whether it is over any dose that is known, of a concentrate too.
        too_low: Whether it stands too low in its vessel to lay a sheet.
        much_softener: Whether it is softened more than `softener_high_g_per_l`.
        softens: What so much washing soda does; None of what is no softener.
    """

    what: str
    powder: str
    water: Water
    dose_g_per_l: Range | None
    by_volume: bool
    powder_g: float
    shares: tuple[Share, ...]
    missing_g: float
    rest_until: datetime | None
    keeping: Keeping
    unlike: tuple[float, float] | None
    dilution: Dilution | None
    too_thick: bool
    too_low: bool
    much_softener: bool
    softens: Softens | None

    @property
    def lots(self) -> tuple[LotState, ...]:
        """The lots it is made of."""
        return tuple(one.lot for one in self.shares)

    @property
    def gels(self) -> tuple[LotState, ...]:
        """Lots of carrageenan that would set."""
        return tuple(lot for lot in self.lots if lot.carrageenan in GELS)

    @property
    def may_gel(self) -> tuple[LotState, ...]:
        """Lots of carrageenan of which nobody knows the type."""
        return tuple(
            lot
            for lot in self.lots
            if lot.what == "carrageenan" and lot.carrageenan in (None, "not_known")
        )


def plan_liquid(asked: Asked, vessel: VesselState) -> MakePlan:
    """Return what to weigh for so much of a bath that is not alum, and how it goes on."""
    dose = _dose(asked.statement)
    powder_g = dose.middle * asked.water.volume_ml / 1000 if dose else 0.0
    shares, missing_g = share_out(powder_g, asked.lots, asked.house)
    is_size = asked.what == SIZE
    depth_mm = limits_of(asked.house).laying_depth_mm
    laying = laying_ml(vessel, depth_mm=depth_mm) if is_size else None
    return MakePlan(
        what=asked.what,
        powder=asked.powder,
        water=asked.water,
        dose_g_per_l=dose,
        by_volume=asked.statement is not None and asked.statement.ml_per_l is not None,
        powder_g=powder_g,
        shares=shares,
        missing_g=missing_g if missing_g >= WORTH_WEIGHING_G else 0.0,
        rest_until=rests_until(asked.at, asked.what, asked.powder, asked.recipe),
        keeping=keeping_of(asked.what, asked.recipe, asked.house),
        unlike=_unlike(asked, dose.middle) if dose and is_size else None,
        dilution=_dilution(asked, dose.middle) if dose and is_size else None,
        too_thick=dose is not None and is_size and dose.middle > DOSE_MAX_G_PER_L,
        too_low=laying is not None and asked.water.volume_ml < laying,
        much_softener=asked.what == "softener" and _is_much_softener(dose),
        softens=_softens(asked, dose.middle) if dose and asked.what == "softener" else None,
    )


def _dose(statement: Statement | None) -> Range | None:
    if statement is None:
        return None
    found = statement.g_per_l
    return Range(low=float(found.low), middle=float(found.middle), high=float(found.high))


def _is_much_softener(dose: Range | None) -> bool:
    return dose is not None and dose.middle > value("softener_high_g_per_l")


def _softens(asked: Asked, dose_g_per_l: float) -> Softens | None:
    """Return what a softener does that is washing soda; a dose beyond any is a slip."""
    if not 0 < dose_g_per_l <= soda.SODA_MAX_G_PER_L:
        return None
    salt = (asked.house.target_salt if asked.house else None) or SALT_UNKNOWN
    gone = soda.destroyed_by_soda(
        soda_g_per_l=dose_g_per_l,
        base=WASHING_SODA,
        strength_g_per_l=alum.STRENGTH_MAX_G_PER_L,
        salt=salt,
    )
    sodium = soda.sodium_mmol_per_l(soda_g_per_l=dose_g_per_l, base=WASHING_SODA)
    return Softens(salt=salt, salt_g_per_l=gone.salt_g_per_l, sodium_mmol_per_l=sodium)


def _unlike(asked: Asked, dose_g_per_l: float) -> tuple[float, float] | None:
    """Return the range that doses of a size's powder lie in, where this one does not."""
    known = SIZE_DOSES.get(asked.powder)
    return unlike(dose_g_per_l, asked.own_doses, default(known) if known else None)


def _dilution(asked: Asked, dose_g_per_l: float) -> Dilution | None:
    """Return what makes a concentrate a size of the house's own dose, else of the usual one."""
    if asked.powder not in SIZE_DOSES or dose_g_per_l > DOSE_MAX_G_PER_L:
        return None
    usual = default(SIZE_DOSES[asked.powder])
    if dose_g_per_l <= max(value("concentrate_over_g_per_l"), usual.high):
        return None
    own = (one for one in asked.own_doses if usual.low <= one <= usual.high)
    wanted = next(own, usual.value)
    if asked.water.volume_ml * dose_g_per_l / wanted > SIZE_MAX_ML:
        return None  # more of it than any room holds
    found = thinned(
        volume_ml=asked.water.volume_ml, dose_g_per_l=dose_g_per_l, wanted_g_per_l=wanted
    )
    return Dilution(water_ml=found.add_ml, volume_ml=found.volume_ml, dose_g_per_l=wanted)


def keeping_of(what: str, recipe: RecipeState | None, house: HouseState | None) -> Keeping:
    """Return how long a bath keeps: by its recipe where that says it, else by the house."""
    limits = limits_of(house)
    if what != SIZE:
        return Keeping(days=getattr(limits, f"{what}_days"))
    own = recipe.look_again_warm_days if recipe else None
    never = recipe.do_not_use_warm_days if recipe else None
    cap = recipe.cap_days if recipe else None
    return Keeping(
        days=limits.size_cap_days if cap is None else cap,
        warm_days=limits.size_look_again_warm_days if own is None else own,
        do_not_use_warm_days=limits.size_do_not_use_warm_days if never is None else never,
    )


def next_liquid_name(journal: Journal, studio: StudioState, what: str) -> str:
    """Return the name after the last bath of this kind that a studio ever had."""
    here = (studio.id, to_go(studio.id))
    baths: tuple[AnyBath, ...] = journal.listed_in("bath", here)
    return name_after(tuple(one.name for one in baths), studio, what)


def put_in_g_per_l(
    said: kinds.BathMixed | kinds.BathToppedUp, lots: Mapping[Subject, LotState]
) -> float | None:
    """Return the dose of what was really put in [g/L], as the ledger will have it."""
    if said.water is None or not said.powder:
        return None
    return 1000 * powder_of(said.powder, lots) / float(said.water.base)


def powder_of(parts: tuple[kinds.PowderPart, ...], lots: Mapping[Subject, LotState]) -> float:
    """Return the grams of powder of several parts."""
    found = (
        powder_grams(part, lots.get(part.lot) if part.lot else None, guessed=False)
        for part in parts
    )
    return sum(weight_g for weight_g, _, _ in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """
    How an earlier bath was made, to make it again.

    Attributes:
        vessel: Where: its own vessel if that is free, else another free one of its studio.
        dose: As it was written, else what it came to; empty with a recipe or water alone.
    """

    what: str
    powder: str
    vessel: Subject | None
    recipe: Subject | None
    dose: str
    volume_ml: float


def make_again(journal: Journal, bath: AnyBath) -> Again:
    """Return what makes a bath like an earlier one, of any kind."""
    made = [one.content for one in journal.view().resolved(bath.id).in_force]
    said = next((one for one in made if isinstance(one, kinds.BathMixed)), None)
    recipe: RecipeState | None = journal.state("recipe", bath.recipe)
    dose = bath.dose or _came_to(journal, bath, said)
    liquid = bath if isinstance(bath, LiquidState) else None
    return Again(
        what=liquid.what if liquid else "alum",
        powder=liquid.of if liquid else "",
        vessel=_free(journal, bath),
        recipe=recipe.id if recipe else None,
        dose="" if recipe else dose,
        volume_ml=float(said.water.base) if said else _volume_ml(bath),
    )


def _came_to(journal: Journal, bath: AnyBath, said: kinds.BathMixed | None) -> str:
    """Return as a dose what went into a bath; a bath poured off another has that one's."""
    if not isinstance(bath, LiquidState):
        found: float | None = bath.estimate.belief.strength_g_per_l
    elif said is None:
        found = bath.dose_g_per_l
    else:
        lots = journal.states("lot", {one.lot for one in said.powder if one.lot})
        found = put_in_g_per_l(said, lots)
    return "" if found is None else f"{found:.1f} g/L"


def _volume_ml(bath: AnyBath) -> float:
    if isinstance(bath, LiquidState):
        return bath.volume_ml
    return bath.estimate.belief.volume_ml


def _free(journal: Journal, bath: AnyBath) -> Subject | None:
    free = [one.vessel.id for one in free_tubs(journal) if one.studio.id == bath.studio]
    return bath.vessel if bath.vessel in free else next(iter(free), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A vessel in use that holds nothing, and its studio."""

    vessel: VesselState
    studio: StudioState


def free_tubs(journal: Journal) -> tuple[Place, ...]:
    """Return the vessels in which something may be made."""
    return tuple(
        Place(vessel=tub.vessel, studio=one.studio)
        for one in see_tubs(journal)
        for tub in one.tubs
        if tub.holds is None
    )
