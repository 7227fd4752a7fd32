"""
What a recipe's card comes to, whom it fits, how two differ, and what if something else holds.

All of it is pure: a recipe's state goes in, numbers and codes come out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

from coop.actions.make import SIZE_DOSES
from coop.actions.mix import statement_of
from coop.actions.read_dose import bulk_of, goods_of_card, understand
from coop.actions.reckon import STORE_C, Range
from coop.actions.set_up import amount_of, water_of
from coop.ledger.liquids import SIZE
from coop.ledger.states import HouseState, LotState, RecipeState
from coop.rules.baths import limits_of
from coop.rules.limits import Target, target_of
from coop.science import alum
from coop.science.defaults import default, value
from coop.units.dose import DoseReading
from coop.units.fault import NotUnderstood
from coop.units.kinds import FAMILIES, QUESTIONS, Kinds, Name, family_of
from coop.units.notes import DILUTED_TO_WHAT
from coop.units.strength import DISAGREE_OVER, HEAP_TIMES, SPOONED, WEIGHED, Statement
from coop.units.table import UNITS, VOLUME

PAPER: Final = "paper"
ALUM: Final = "alum"
PASTE: Final = "paste"
SOFTENER: Final = "softener"
READINGS_KEPT: Final = 1_000
"""So many doses, once read, are not read again: a list shows the same ones every time."""


# ---- a card, read as it was when it was published


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """
    A recipe's card as it is understood.

    Attributes:
        picked: The reading that holds; None where the dose goes by the weight of the cloth.
        others: What else the card says, in turn.
        reading: All of the card, read in `kinds`; None for what this reader cannot read.
        kinds: What a bare gallon, cup, spoon or ounce was taken to be.
    """

    recipe: RecipeState
    picked: Statement | None
    others: tuple[Statement, ...] = ()
    reading: DoseReading | None = None
    kinds: Kinds

    @property
    def g_per_l(self) -> Range | None:
        """The strength [g/L of water put in], None where it goes by cloth."""
        if self.picked is None:
            return None
        found = self.picked.g_per_l
        return Range(low=float(found.low), middle=float(found.middle), high=float(found.high))

    @property
    def g_per_g(self) -> float | None:
        """Grams of powder for a gram of dry cloth, None where it goes by litres."""
        if not self.recipe.by_cloth:
            return None
        return float(goods_of_card(self.recipe).middle)

    @property
    def al_mmol_per_l(self) -> float | None:
        """Aluminium [mmol Al/L]; None for what is no alum in water."""
        if self.g_per_l is None or not self.recipe.salt:
            return None
        return self.g_per_l.middle * alum.SALTS[self.recipe.salt].mmol_al_per_g

    @property
    def contradicts(self) -> bool:
        """Whether the card says two things, so that a person had to pick."""
        return self.reading is not None and self.reading.contradiction is not None

    @property
    def to_be_diluted(self) -> bool:
        """Whether the card itself calls what it makes a concentrate."""
        notes = self.reading.notes if self.reading is not None else ()
        return any(one.code == DILUTED_TO_WHAT for one in notes)


def read_card(recipe: RecipeState, house: HouseState | None) -> Card:
    """
    Return a recipe's card as it was read when it was published.

    What the picked reading takes a gallon, a cup or a spoon for holds, whatever the house or a
    member takes them for now; the house's kinds hold for what the picked one leaves open.
    """
    kinds = _kinds_of(recipe, house)
    if recipe.by_cloth:
        return Card(recipe=recipe, picked=None, kinds=kinds)
    reading = _reading(recipe.dose, kinds, recipe.powder or ALUM)
    said = _wire(recipe)
    found = reading.statements if reading else ()
    place = next((at for at, one in enumerate(found) if _says(one) == said), None)
    picked = statement_of(recipe) if place is None else found[place]
    others = tuple(one for at, one in enumerate(found) if at != place)
    return Card(recipe=recipe, picked=picked, others=others, reading=reading, kinds=kinds)


def _kinds_of(recipe: RecipeState, house: HouseState | None) -> Kinds:
    said: dict[str, Any] = {"gallon": "us", "cup": "us", "spoon": "us"}
    if house is not None:
        said = {question: getattr(house, question) for question in said}
    for unit in (recipe.amount_unit, recipe.per_unit):
        family = family_of(unit)
        for question in Name(family).questions if family else ():
            if FAMILIES[family].get(said[question]) != unit:
                said[question] = _system(family, unit)
    fluid = recipe.amount_unit.endswith("fl_oz")
    by_volume = UNITS[recipe.amount_unit].dimension == VOLUME
    return Kinds(
        **said,
        ounce="fluid" if fluid else "mass",
        parts="fluid" if by_volume else "mass",
    )


def _system(family: str, unit: str) -> str:
    return next(system for system, code in FAMILIES[family].items() if code == unit)


@lru_cache(maxsize=READINGS_KEPT)
def _reading(dose: str, kinds: Kinds, of: str) -> DoseReading | None:
    try:
        return understand(dose, kinds, of=of)
    except NotUnderstood:
        return None


def _wire(recipe: RecipeState) -> tuple[str, str, str, str]:
    return recipe.amount_n, recipe.amount_unit, recipe.per_n, recipe.per_unit


def _says(one: Statement) -> tuple[str, str, str, str]:
    amount, water = amount_of(one), water_of(one)
    return amount["n"], amount["unit"], water["n"], water["unit"]


# ---- whom it fits


def fits(recipe: RecipeState, goods: str) -> str:
    """
    Return why a recipe is not for what is to be treated; empty where it is for just that.

    Args:
        goods: paper, fabric or rinse_water (`coop.ledger.kinds.MADE_FOR`).

    Returns:
        "for-paper", "for-fabric" or "for-rinse_water": what it is for instead. A recipe of
        alum that is for another thing is never proposed by itself.
    """
    return "" if recipe.made_for == goods else f"for-{recipe.made_for}"


def target_for(recipe: RecipeState, house: HouseState | None) -> Target | None:
    """
    Return what baths by a recipe of alum are judged by: its own strength, else the house's.

    The house's strength is one for paper: None for what is for something else.
    """
    if recipe.what != ALUM:
        return None
    own = None
    if recipe.target_g_per_l is not None and recipe.salt is not None:
        own = recipe.target_g_per_l, recipe.salt
    return target_of(own, limits_of(house).target, for_paper=not fits(recipe, PAPER))


@dataclass(frozen=True, slots=True, kw_only=True)
class Caveat:
    """Something to know before a bath is made by a card: a code and its numbers."""

    code: str
    numbers: Mapping[str, float] = field(default_factory=dict)


def caveats_of(card: Card, *, store_c: float = STORE_C) -> tuple[Caveat, ...]:
    """
    Return what to know before a bath is made by a card.

    Args:
        store_c: How cold the coldest store gets [deg C], 0 to 40.

    Source: `concentrate_over_g_per_l`, `softener_high_g_per_l`, `solubility_warn_fraction` of
    `coop.science.defaults`.
    """
    recipe, found = card.recipe, list[Caveat]()
    if recipe.what == ALUM and fits(recipe, PAPER):
        found.append(Caveat(code=fits(recipe, PAPER)))
    if recipe.what == PASTE:
        found.append(Caveat(code="paste-no-mordant"))
    if card.g_per_l is not None:
        found += _of_strength(recipe, card.g_per_l.middle, store_c)
    if card.to_be_diluted and all(one.code != "concentrate" for one in found):
        found.append(Caveat(code="to-be-diluted"))
    return tuple(found)


def _of_strength(recipe: RecipeState, g_per_l: float, store_c: float) -> Iterator[Caveat]:
    if recipe.what == SIZE and recipe.powder is not None and recipe.powder in SIZE_DOSES:
        usual = default(SIZE_DOSES[recipe.powder])
        if g_per_l > max(value("concentrate_over_g_per_l"), usual.high):
            numbers = {"usual_g_per_l": usual.value, "times": g_per_l / usual.value}
            yield Caveat(code="concentrate", numbers=numbers)
    high = value("softener_high_g_per_l")
    if recipe.what == SOFTENER and g_per_l > high:
        yield Caveat(code="softener-strong", numbers={"high_g_per_l": high})
    if recipe.what == ALUM and recipe.salt:
        fraction = _of_what_dissolves(g_per_l, recipe.salt, store_c)
        if fraction > value("solubility_warn_fraction"):
            numbers = {"fraction": fraction, "store_c": store_c}
            yield Caveat(code="near-solubility", numbers=numbers)


def _of_what_dissolves(g_per_l: float, salt: str, store_c: float) -> float:
    """Return a strength over what dissolves; of more than is known to dissolve the least."""
    known = min(g_per_l, alum.STRENGTH_MAX_G_PER_L)
    return alum.solubility_fraction(dose_g_per_l_water=known, salt=salt, liquid_c=store_c)


# ---- how two differ

Said = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What differs between two cards: a code, and what its sentence is filled with."""

    code: str
    said: Said = field(default_factory=dict)


def differences(
    first: Card, second: Card, house: HouseState | None = None
) -> tuple[Difference, ...]:
    """
    Return what differs between two cards, the strength first.

    Alum is compared by its aluminium, all else only with the same powder. Where one is weighed
    and the other spooned, what the spoon would weigh if both meant the same is given.

    Args:
        house: By whose strength baths by a card without one are judged.
    """
    one, other = first.recipe, second.recipe
    found = list(_of_doses(first, second))
    if one.made_for != other.made_for:
        found.append(_pair("made-for", one.made_for, other.made_for))
    for name in ("rest_hours", "look_again_warm_days", "do_not_use_warm_days", "cap_days"):
        if getattr(one, name) != getattr(other, name):
            found.append(_pair(name, getattr(one, name), getattr(other, name)))
    if one.side != other.side and one.side and other.side:
        found.append(_pair("side", one.side, other.side))
    if one.what == other.what:
        found += _of_targets(target_for(one, house), target_for(other, house))
    return tuple(found)


def _pair(code: str, first: object, second: object) -> Difference:
    return Difference(code=code, said={"first": first, "second": second})


def _of_doses(first: Card, second: Card) -> Iterator[Difference]:
    one, other = first.recipe, second.recipe
    if one.what != other.what:
        yield _pair("what", one.what, other.what)
    elif one.powder != other.powder:
        yield _pair("powder", one.powder, other.powder)
    elif one.by_cloth != other.by_cloth:
        yield Difference(code="cloth-and-litres")
    else:
        yield from _of_strengths(first, second)


def _of_strengths(first: Card, second: Card) -> Iterator[Difference]:
    one, other = _measure(first), _measure(second)
    yield _ratio(one, other)
    salt, other_salt = first.recipe.salt, second.recipe.salt
    if salt and other_salt and salt != other_salt and first.g_per_l and second.g_per_l:
        for card, into in ((first, other_salt), (second, salt)):
            yield Difference(code="in-the-other-salt", said=_in_salt(card, into))
    spoon = implied_spoon(first, second)
    if spoon is not None:
        yield spoon


def _measure(card: Card) -> float:
    """Return what two cards are compared by: mmol Al/L, g/L, or g for a gram of cloth."""
    if card.g_per_l is None:
        assert card.g_per_g is not None, "a dose goes by litres or by cloth"
        al_per_g = alum.SALTS[card.recipe.salt].mmol_al_per_g if card.recipe.salt else 1.0
        return card.g_per_g * al_per_g
    return card.al_mmol_per_l or card.g_per_l.middle


def _ratio(one: float, other: float) -> Difference:
    if abs(one - other) <= float(DISAGREE_OVER) * max(one, other):
        return Difference(code="as-strong")
    if other > one:
        return Difference(code="second-stronger", said={"times": other / one})
    return Difference(code="first-stronger", said={"times": one / other})


def _in_salt(card: Card, into: str) -> Said:
    assert card.g_per_l is not None
    assert card.recipe.salt is not None
    dose = card.g_per_l.middle
    return {
        "salt": card.recipe.salt,
        "g_per_l": dose,
        "other_salt": into,
        "other_g_per_l": alum.same_strength_g(
            weight_g=dose, salt=card.recipe.salt, other_salt=into
        ),
    }


def implied_spoon(first: Card, second: Card) -> Difference | None:
    """
    Return what a level spoon weighs if a weighed and a spooned card mean the same.

    None where both are weighed or both spooned. "spoon-fits" where it lies within what is
    published of the powder, else "spoon-does-not-fit": then they do not mean the same.
    """
    cards = {card.picked.how: card for card in (first, second) if card.picked is not None}
    if set(cards) != {WEIGHED, SPOONED}:
        return None
    weighed, spooned = cards[WEIGHED], cards[SPOONED]
    assert weighed.g_per_l is not None
    assert spooned.picked is not None
    assert spooned.picked.ml_per_l is not None
    grams = weighed.g_per_l.middle
    if weighed.recipe.salt and spooned.recipe.salt:
        grams = float(_in_salt(weighed, spooned.recipe.salt)["other_g_per_l"])
    amount = spooned.picked.amount
    level_ml_per_l = float(spooned.picked.ml_per_l.middle * HEAP_TIMES[amount.heap])
    spoon_ml = float(UNITS[amount.unit].factor)
    bulk = bulk_of(None, spooned.recipe.powder or ALUM)
    g_per_spoon = grams / level_ml_per_l * spoon_ml
    low_g, high_g = (float(one) * spoon_ml for one in (bulk.low_g_per_ml, bulk.high_g_per_ml))
    return Difference(
        code="spoon-fits" if low_g <= g_per_spoon <= high_g else "spoon-does-not-fit",
        said={
            "unit": amount.unit,
            "g_per_spoon": g_per_spoon,
            "low_g": low_g,
            "high_g": high_g,
        },
    )


def _of_targets(one: Target | None, other: Target | None) -> Iterator[Difference]:
    if one != other:
        yield _pair("target", one, other)


# ---- what if


@dataclass(frozen=True, slots=True, kw_only=True)
class InSalt:
    """
    A card in one of the salts, by the same aluminium.

    Attributes:
        own: Whether it is the salt that the card names.
        dose_g_per_l: None where the dose goes by cloth.
        target_g_per_l: What its baths are judged by; None where nobody said.
        near_solubility: Whether it is over the share of what dissolves that is warned of.
    """

    salt: str
    own: bool
    dose_g_per_l: float | None
    target_g_per_l: float | None
    g_per_g: float | None
    near_solubility: bool = False


def in_every_salt(
    card: Card, target: Target | None, *, store_c: float = STORE_C
) -> tuple[InSalt, ...]:
    """Return a card of alum in every salt, its own first; nothing for what is no alum."""
    own = card.recipe.salt
    if card.recipe.what != ALUM or own is None:
        return ()
    every = sorted(alum.SALTS, key=lambda salt: salt != own)
    return tuple(_in_one(card, own, salt, target, store_c) for salt in every)


def _in_one(card: Card, own: str, salt: str, target: Target | None, store_c: float) -> InSalt:
    times = alum.same_strength_g(weight_g=1, salt=own, other_salt=salt)
    dose = card.g_per_l.middle * times if card.g_per_l is not None else None
    found = InSalt(
        salt=salt,
        own=salt == own,
        dose_g_per_l=dose,
        target_g_per_l=target.in_salt(salt) if target is not None else None,
        g_per_g=card.g_per_g * times if card.g_per_g is not None else None,
    )
    if dose is None:
        return found
    fraction = _of_what_dissolves(dose, salt, store_c)
    return replace(found, near_solubility=fraction > value("solubility_warn_fraction"))


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherKind:
    """A card if a bare gallon, cup or spoon is of one kind; `taken` marks the one it was."""

    question: str
    kind: str
    taken: bool
    g_per_l: float


def other_kinds(card: Card) -> tuple[OtherKind, ...]:
    """Return what a card comes to by every kind of each measure its reading leaves open."""
    if card.reading is None or card.picked not in card.reading.statements:
        return ()
    place = card.reading.statements.index(card.picked)
    found = list[OtherKind]()
    for question in _left_open(card.reading):
        every = tuple(_in_kinds(card, question, place))
        if len({one.g_per_l for one in every}) > 1:
            found += every
    return tuple(found)


def _in_kinds(card: Card, question: str, place: int) -> Iterator[OtherKind]:
    """Return a card's reading by each kind of a measure; what nothing dissolves is left out."""
    recipe = card.recipe
    for kind in QUESTIONS[question]:
        answer: dict[str, Any] = {question: kind}
        kinds = replace(card.kinds, **answer)
        other = _reading(recipe.dose, kinds, recipe.powder or ALUM)
        if other is not None:
            yield OtherKind(
                question=question,
                kind=kind,
                taken=kind == card.kinds.of(question),
                g_per_l=float(other.statements[place].g_per_l.middle),
            )


def _left_open(reading: DoseReading) -> tuple[str, ...]:
    """Return the measures whose kind is not said and makes a difference."""
    codes = (note.code.partition("-read-as-") for note in reading.notes)
    return tuple(dict.fromkeys(code for code, taken, _ in codes if taken and code in QUESTIONS))


@dataclass(frozen=True, slots=True, kw_only=True)
class BySpoon:
    """
    A card with a powder whose level spoon is known.

    Attributes:
        g_per_spoon: What a level one of `spoon` weighs [g].
        g_per_l: What the card's spoons come to; None where the card is weighed.
        spoons_per_l: How many level spoons the card's grams are; None where it is spooned.
    """

    spoon: str
    g_per_spoon: float
    g_per_l: float | None
    spoons_per_l: float | None


def by_spoon(card: Card, *, g_per_ml: float, spoon: str) -> BySpoon | None:
    """
    Return what a card comes to with a powder of a bulk density; None where it goes by cloth.

    Args:
        g_per_ml: Bulk density of the powder in level spoons [g/mL], over 0.
        spoon: The unit to say it in, a volume.
    """
    if card.picked is None:
        return None
    ml_per_l, middle = card.picked.ml_per_l, float(card.picked.g_per_l.middle)
    spoon_g = g_per_ml * float(UNITS[spoon].factor)
    if ml_per_l is None:
        return BySpoon(
            spoon=spoon, g_per_spoon=spoon_g, g_per_l=None, spoons_per_l=middle / spoon_g
        )
    level_ml_per_l = float(ml_per_l.middle * HEAP_TIMES[card.picked.amount.heap])
    return BySpoon(
        spoon=spoon, g_per_spoon=spoon_g, g_per_l=level_ml_per_l * g_per_ml, spoons_per_l=None
    )


def spoon_of(card: Card, house: HouseState | None) -> str:
    """Return the unit a card's powder is spooned by: its own, else the house's tablespoon."""
    if card.picked is not None and card.picked.how == SPOONED:
        return card.picked.amount.unit
    return FAMILIES["tbsp"][house.spoon if house is not None else "us"]


def takes(lot: LotState, recipe: RecipeState) -> bool:
    """Say whether a lot is of the very salt or powder that a recipe names."""
    if recipe.what == ALUM:
        return lot.what == ALUM and lot.salt == recipe.salt
    return lot.what == recipe.powder


def powder_for_cloth_g(card: Card, cloth_g: float) -> float | None:
    """Return the powder [g] for so much dry cloth [g]; None where it goes by litres."""
    return None if card.g_per_g is None else card.g_per_g * cloth_g
