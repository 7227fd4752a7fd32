"""Plan a bath before anything is weighed: which tub, how much water, how much salt of what."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from types import MappingProxyType

from coop.actions.on_hand import OnHand, Share, share_out
from coop.actions.read_dose import bulk_of
from coop.actions.reckon import (
    InStore,
    Range,
    depth_ml,
    in_store,
    sheets_ml,
    taken_by_water,
    unlike,
)
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import SALT_UNKNOWN
from coop.ledger.measure import in_salt, laying_ml, salt_grams
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, LotState, RecipeState, StudioState, VesselState
from coop.rules.baths import limits_of
from coop.rules.limits import Strength, Target, differs_fraction, target_of
from coop.science import alum, bath, bath_answers
from coop.science.bath import SaltPart
from coop.science.defaults import Z_90, default, value
from coop.science.hard_water import Spent
from coop.science.paper import sheet_area_m2
from coop.units.number import unwire
from coop.units.quantity import Quantity
from coop.units.strength import Statement, state
from coop.units.table import UNITS, VOLUME

MM = "mm"
HALF_SHEETS = "half_sheets"
ROUND_UP_ML = 100
CARD = "card"
HOUSE = "house"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tub:
    """A tub in use, and the open bath that stands in it."""

    vessel: VesselState
    holds: AnyBath | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioTubs:
    """One studio and its tubs, in the order they stand."""

    studio: StudioState
    tubs: tuple[Tub, ...]

    @property
    def full(self) -> bool:
        """Whether there are tubs, and a bath stands in every one."""
        return bool(self.tubs) and all(tub.holds is not None for tub in self.tubs)


def see_tubs(journal: Journal) -> tuple[StudioTubs, ...]:
    """Return every studio with its tubs in use; those with an open bath say which."""
    open_baths = {one.vessel: one for one in journal.listed("bath")}
    vessels: tuple[VesselState, ...] = journal.listed("vessel")
    return tuple(
        StudioTubs(
            studio=studio,
            tubs=tuple(
                Tub(vessel=one, holds=open_baths.get(one.id))
                for one in vessels
                if one.studio == studio.id and one.in_use
            ),
        )
        for studio in sorted(journal.listed("studio"), key=lambda one: one.name)
    )


NAME_LETTERS: Mapping[str, str] = MappingProxyType(
    {"alum": "A", "size": "S", "gall_water": "G", "rinse": "R", "paste": "P", "softener": "W"}
)
"""The letter by which a bath's name says what it is."""


def next_name(journal: Journal, studio: StudioState) -> str:
    """Return the studio's letter, "-A" and the number after the last bath's in any tub."""
    return name_after(last_names(journal), studio)


def last_names(journal: Journal) -> tuple[str, ...]:
    """Return the names of the last baths of all tubs."""
    vessels: tuple[VesselState, ...] = journal.listed("vessel", live=False)
    found = journal.states("bath", {one.last_bath for one in vessels if one.last_bath})
    return tuple(last.name for last in found.values())


def name_after(names: tuple[str, ...], studio: StudioState, what: str = "alum") -> str:
    """Return the name that follows on these in a studio, of a bath of that kind."""
    stem = f"{studio.letter}-{NAME_LETTERS[what]}"
    pattern = re.compile(re.escape(stem) + r"([0-9]{1,6})")
    found = filter(None, map(pattern.fullmatch, names))
    return f"{stem}{max((int(one[1]) for one in found), default=0) + 1}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """
    Water to put in [mL]. `sheets` is the range that so many sheets may need; `laying_ml` is
    what must stand to lay one; both None where that was not asked or is not known.
    """

    volume_ml: float
    laying_ml: float | None
    brim_ml: float
    sheets: Range | None = None

    @property
    def over_the_brim(self) -> bool:
        return self.volume_ml > self.brim_ml

    @property
    def too_low(self) -> bool:
        return self.laying_ml is not None and self.volume_ml < self.laying_ml


def measures_of(vessel: VesselState, house: HouseState | None) -> tuple[str, ...]:
    """Return how an amount of water can be said in a tub: units, "mm", "half_sheets"."""
    depth = (MM,) if vessel.area_m2 else ()
    sheets = (HALF_SHEETS,) if _laying(vessel, house) is not None else ()
    gallon = f"{house.gallon}_gallon" if house else "us_gallon"
    return ("l", *depth, *sheets, gallon)


def _laying(vessel: VesselState, house: HouseState | None) -> float | None:
    return laying_ml(vessel, depth_mm=limits_of(house).laying_depth_mm)


def water_for(
    much: Fraction, measure: str, vessel: VesselState, house: HouseState | None
) -> Water | None:
    """
    Return the water that is meant by so much of a measure; None for one that does not fit.

    Args:
        measure: One of `measures_of`. Sheets are rounded up to 100 mL.
    """
    laying = _laying(vessel, house)
    sheets = None
    if measure == MM and vessel.area_m2:
        volume = depth_ml(depth_mm=float(much), area_m2=vessel.area_m2)
    elif measure == HALF_SHEETS and laying is not None:
        sheets = sheets_ml(
            sheet_count=ceil(much),
            sheet_area_m2=sheet_area_m2(sheet_format="half"),
            laying_ml=laying,
        )
        volume = ceil(sheets.middle / ROUND_UP_ML) * ROUND_UP_ML
    elif measure in UNITS and UNITS[measure].dimension == VOLUME:
        volume = float(Quantity("", much, measure).base)
    else:
        return None
    return Water(volume_ml=volume, laying_ml=laying, brim_ml=vessel.brim_ml, sheets=sheets)


def statement_of(recipe: RecipeState) -> Statement:
    """Return the reading of a recipe that was picked when it was published."""
    amount = Quantity("", unwire(recipe.amount_n), recipe.amount_unit, recipe.amount_heap)
    per = Quantity("", unwire(recipe.per_n), recipe.per_unit)
    return state(recipe.dose, amount, None, per, None, bulk_of(None, recipe.powder or "alum"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    What is to be mixed.

    Attributes:
        statement: The one reading of the card.
        lots: The lots to take, in turn; of another salt than the recipe's if so wished.
        by: "card", "house" or empty: what a person said when the two differ.
        others: Lots of other salts than the recipe's, that could be taken in their place.
        recipes: The recipes there are, to compare a dose with.
        for_paper: Whether the card is one for paper: only such a one is compared with others.
    """

    statement: Statement
    recipe: RecipeState | None
    water: Water
    lots: tuple[OnHand, ...]
    house: HouseState | None
    by: str = ""
    studio: StudioState | None = None
    others: tuple[OnHand, ...] = ()
    recipes: tuple[RecipeState, ...] = ()
    for_paper: bool = True

    @property
    def salt(self) -> str:
        """The salt the bath is made of: the lots', else the recipe's, else the house's."""
        first = self.lots[0].lot.salt if self.lots else None
        of_house = self.house.target_salt if self.house else None
        return first or _salt_of_card(self.recipe) or of_house or SALT_UNKNOWN

    @property
    def card_salt(self) -> str:
        """The salt the card means."""
        return _salt_of_card(self.recipe) or self.salt

    @property
    def card_g_per_l(self) -> Range:
        """What the card means, in grams of the salt the bath is made of."""
        found = self.statement.g_per_l
        ends = (
            _as_salt(float(one), self.card_salt, self.salt)
            for one in (found.low, found.middle, found.high)
        )
        low, middle, high = ends
        return Range(low=low, middle=middle, high=high)

    @property
    def too_strong(self) -> bool:
        """Whether it is stronger than anything dissolves."""
        return self.card_g_per_l.middle > alum.STRENGTH_MAX_G_PER_L


def _salt_of_card(recipe: RecipeState | None) -> str | None:
    return recipe.salt if recipe is not None else None


def _as_salt(weight: float, salt: str, other_salt: str) -> float:
    """Return the grams of another salt that hold the same aluminium."""
    return weight * alum.same_strength_g(weight_g=1.0, salt=salt, other_salt=other_salt)


@dataclass(frozen=True, slots=True, kw_only=True)
class Instead:
    """So much of a lot's own salt does what so much [g] of the card's does: the same Al."""

    lot: LotState
    salt: str
    salt_g: float
    card_salt: str
    card_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPlan:
    """
    What a bath takes.

    Attributes:
        card_g_per_l: What the card means [g/L of `salt`].
        by_volume: Whether the card measures its powder by the spoon or cup.
        aim_g_per_l: What is mixed: the card's middle, a recipe's target, or the house's.
        weighed_g_per_l: What the bath is when so many grams are weighed, nine times in ten.
        shares: What to take from which lot; `missing_g` is what they do not hold.
        target: What the bath will be judged by; None where nobody said.
        house_g_per_l: The house's target in this salt.
        asks: The card differs over 20 % from the house, and nobody has said by which to mix.
        by_own_spoons_g_per_l: What the card's spoons give with the first lot's own spoon.
        store: What becomes of it where its tub stands.
        taken: What the tap water takes of it; None where nobody said how hard it is.
        instead: Which salt stands for which, where it is not the card's own.
        offered: A lot of another salt to be had, where the card's own does not reach.
        unlike: From and to which strengths [g/L] cards of its kind go, where it is none such.
        for_paper: Whether its card is one for paper, as the house's strength is.
    """

    water: Water
    salt: str
    card_g_per_l: Range
    by_volume: bool
    aim_g_per_l: Range
    weighed_g_per_l: Range
    salt_g: float
    shares: tuple[Share, ...]
    missing_g: float
    target: Target | None
    house_g_per_l: float | None
    differs_fraction: float
    asks: bool
    by_own_spoons_g_per_l: float | None
    store: InStore
    taken: Spent | None
    instead: Instead | None
    offered: Instead | None
    unlike: tuple[float, float] | None
    for_paper: bool

    @property
    def two_salts(self) -> bool:
        return len({one.lot.salt for one in self.shares}) > 1


def plan_bath(asked: Asked) -> BathPlan:
    """Return what to weigh: grams for the middle of what is aimed at, out of which lots."""
    salt, card = asked.salt, asked.card_g_per_l
    limits = limits_of(asked.house)
    target = target_of(_recipe_target(asked.recipe), limits.target, for_paper=asked.for_paper)
    house_g_per_l = (
        Target(*limits.target, "house limits").in_salt(salt) if limits.target else None
    )
    differs = differs_fraction((card.middle, salt), limits.target) if limits.target else 0.0
    aim = _aim(asked, card, salt, target)
    salt_g = aim.middle * asked.water.volume_ml / 1000
    shares, missing_g = share_out(salt_g, asked.lots, asked.house)
    hardness = asked.studio.hardness_mg_per_l if asked.studio else None
    return BathPlan(
        water=asked.water,
        salt=salt,
        card_g_per_l=card,
        by_volume=asked.statement.ml_per_l is not None,
        aim_g_per_l=aim,
        weighed_g_per_l=_weighed(salt_g, salt, asked.water),
        salt_g=salt_g,
        shares=shares,
        missing_g=missing_g,
        target=target,
        house_g_per_l=house_g_per_l,
        differs_fraction=differs,
        asks=_asks(asked, target, differs),
        by_own_spoons_g_per_l=_by_own_spoons(asked),
        store=in_store(
            aim.middle, salt, asked.studio.store_coldest_c if asked.studio else None
        ),
        taken=taken_by_water(aim.middle, salt, hardness),
        instead=_instead(asked, shares[:1], salt_g),
        offered=_offered(asked, salt_g) if missing_g > 0 else None,
        unlike=_unlike(asked, card.middle) if asked.for_paper else None,
        for_paper=asked.for_paper,
    )


def _asks(asked: Asked, target: Target | None, differs: float) -> bool:
    """Return whether somebody must say by which to mix; the house's strength is for paper."""
    by_house = target is not None and _recipe_target(asked.recipe) is None
    unlike = differs > value("target_differs_fraction")
    return unlike and by_house and asked.for_paper and asked.by not in (CARD, HOUSE)


def _instead(asked: Asked, shares: tuple[Share, ...], salt_g: float) -> Instead | None:
    if not shares or asked.salt == asked.card_salt:
        return None
    return Instead(
        lot=shares[0].lot,
        salt=asked.salt,
        salt_g=salt_g,
        card_salt=asked.card_salt,
        card_g=_as_salt(salt_g, asked.salt, asked.card_salt),
    )


def _offered(asked: Asked, salt_g: float) -> Instead | None:
    """Return the first lot of another salt of which there is enough for so much of this [g]."""
    for one in asked.others:
        other = one.lot.salt or SALT_UNKNOWN
        other_g = _as_salt(salt_g, asked.salt, other)
        if one.left_g >= other_g and other != asked.salt:
            return Instead(
                lot=one.lot, salt=other, salt_g=other_g, card_salt=asked.salt, card_g=salt_g
            )
    return None


def _unlike(asked: Asked, card_g_per_l: float) -> tuple[float, float] | None:
    """Return the band of cards for paper [g/L of the bath's salt], where this is outside."""
    own = [
        _as_salt(middle_of(one), one.salt or SALT_UNKNOWN, asked.salt)
        for one in asked.recipes
        if one.for_paper and not one.by_cloth
    ]
    return unlike(card_g_per_l, own, default("alum_card_g_per_l"))


def middle_of(recipe: RecipeState) -> float:
    """Return what a recipe's card means [g/L]."""
    return float(statement_of(recipe).g_per_l.middle)


def _recipe_target(recipe: RecipeState | None) -> Strength | None:
    if recipe is None or recipe.target_g_per_l is None or recipe.salt is None:
        return None
    return recipe.target_g_per_l, recipe.salt


def _aim(asked: Asked, card: Range, salt: str, target: Target | None) -> Range:
    """Return what to mix: a recipe's own target, the house's if wanted, else the card."""
    wanted = _recipe_target(asked.recipe) is not None or asked.by == HOUSE
    if target is None or not wanted:
        return card
    exact = target.in_salt(salt)
    return Range(low=exact, middle=exact, high=exact)


def _weighed(salt_g: float, salt: str, water: Water) -> Range:
    """Return the strength of so much weighed salt [g/L]: `weighed_fraction` and the water's."""
    weighed = SaltPart(salt_g, value("weighed_fraction") / Z_90)
    found = bath_answers.strength(
        estimate=bath.mixed(water_ml=water.volume_ml, salt_parts=[weighed], salt=salt, at_h=0.0)
    )
    return Range(low=found.low_g_per_l, middle=found.middle_g_per_l, high=found.high_g_per_l)


def _by_own_spoons(asked: Asked) -> float | None:
    """Return the strength the card's spoons give in the first lot [g/L], if it was weighed."""
    lot = asked.lots[0].lot if asked.lots else None
    card = asked.statement
    if lot is None or lot.spoon is None or card.ml_per_l is None:
        return None
    ends = (card.amount, card.amount_upto, card.water, card.water_upto)
    return float(state(card.typed, *ends, bulk_of(lot)).g_per_l.middle)


def put_in(
    water: Quantity,
    salt: tuple[kinds.SaltPart, ...],
    lots: dict[Subject, LotState],
    *,
    guessed: bool,
) -> bath_answers.Strength:
    """Return how strong a bath is of what was really put in, as the ledger will have it."""
    bath_salt = _salt_of(lots.get(salt[0].lot))
    return bath_answers.strength(
        estimate=bath.mixed(
            water_ml=float(water.base),
            salt_parts=salt_parts(salt, lots, bath_salt, guessed=guessed),
            salt=bath_salt,
            at_h=0.0,
        )
    )


def salt_parts(
    salt: tuple[kinds.SaltPart, ...],
    lots: dict[Subject, LotState],
    bath_salt: str,
    *,
    guessed: bool = False,
) -> list[SaltPart]:
    """Return parts as the sums take them: grams of the bath's salt, and their doubt."""
    found = []
    for part in salt:
        lot = lots.get(part.lot)
        grams = salt_grams(part, lot, guessed=guessed)
        weight_g = in_salt(grams, lot_salt=_salt_of(lot), bath_salt=bath_salt)
        found.append(SaltPart(weight_g, grams.ln_sd))
    return found


def _salt_of(lot: LotState | None) -> str:
    return lot.salt if lot is not None and lot.salt else SALT_UNKNOWN
