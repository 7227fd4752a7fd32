"""Read a dose as people write it, with the house's kinds and a lot's own spoon."""

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from types import MappingProxyType
from typing import TypeVar

from coop.ledger.measure import US_TBSP_ML, spoon_default
from coop.ledger.states import HouseState, LotState, RecipeState
from coop.science.defaults import default, value
from coop.units.dose import DoseReading, read_dose
from coop.units.fault import NotUnderstood
from coop.units.goods import GoodsDose, read_goods_dose
from coop.units.kinds import QUESTIONS, Kinds, read_in
from coop.units.names import ENGLISH, Language
from coop.units.notes import DILUTED_TO_WHAT, Note
from coop.units.number import unwire
from coop.units.quantity import Quantity
from coop.units.strength import WEIGHED, Bulk, Statement
from coop.units.turkish import TURKISH

_Found = TypeVar("_Found")
ASKED_ONCE = ("gallon", "cup", "spoon")
"""What is asked of a house, and may be otherwise to a member; an ounce is asked every time."""
TONGUES: Mapping[str, Language] = MappingProxyType({"en": ENGLISH, "tr": TURKISH})
"""Languages of the pages that have words of their own for measures."""
SAME_PART = Fraction(1, 10**6)
"""So far apart are a fraction and its decimals on the wire, at most."""
SIZE_POWDERS = ("carrageenan", "methylcellulose", "tragacanth")
PARTS = re.compile(r"\s*([0-9]{1,3})\s*:\s*([0-9]{1,4})\s*")
"""Parts by volume: only of gall, which is a liquid; of a powder they could be by weight too."""


def understand(
    typed: str,
    kinds: Kinds | None,
    lot: LotState | None = None,
    *,
    of: str = "alum",
    tongue: str = "en",
) -> DoseReading:
    """
    Return what a dose means here, in whichever tongue it is written.

    Args:
        typed: As people write it, "8 tbsp per gallon".
        kinds: What a bare gallon, cup and spoon is; None returns every reading and asks.
        lot: The tub the powder comes from; with a weighed spoon it narrows the range.
        of: What it is a dose of, where no lot says it: alum or a powder. Gall may be said in
            parts of gall to parts of water, "1:7".
        tongue: One of `TONGUES`, which is tried first, and whose fault is told.

    Raises:
        NotUnderstood: Some part of it cannot be read.
    """
    parts = PARTS.fullmatch(typed) if of == "gall" else None
    said = f"{parts[1]} mL to {parts[2]} mL" if parts else typed
    what = lot.what if lot is not None else of
    bulk = bulk_of(lot, of)
    reading = in_any_tongue(lambda words: read_dose(said, kinds, bulk, words=words), tongue)
    return _concentrate(reading, what)


def understand_goods(typed: str, *, tongue: str = "en") -> GoodsDose:
    """
    Return a dose by the weight of the cloth, in whichever tongue it is written.

    Raises:
        NotUnderstood: It is none.
    """
    return in_any_tongue(lambda words: read_goods_dose(typed, words=words), tongue)


def goods_of_card(recipe: RecipeState) -> GoodsDose:
    """
    Return the dose by the weight of the cloth that was understood of a card that has one.

    The ledger keeps its middle; a range comes from the card's own words, where they still mean
    the same.
    """
    amount = Quantity("", unwire(recipe.amount_n), recipe.amount_unit)
    cloth = Quantity("", unwire(recipe.per_n), recipe.per_unit)
    part = amount.base / cloth.base
    with suppress(NotUnderstood):
        found = understand_goods(recipe.dose)
        if abs(found.middle - part) <= SAME_PART:
            return found
    return GoodsDose(recipe.dose, part, part)


def in_any_tongue(reader: Callable[[Language], _Found], first: str) -> _Found:
    """Read in the first tongue, else in another; a text means the same in both."""
    try:
        return reader(TONGUES[first])
    except NotUnderstood:
        for tongue, words in TONGUES.items():
            if tongue != first:
                with suppress(NotUnderstood):
                    return reader(words)
        raise


def _concentrate(reading: DoseReading, what: str) -> DoseReading:
    """Note a dose that no size is laid at: it is diluted first."""
    if what not in SIZE_POWDERS or any(one.code == DILUTED_TO_WHAT for one in reading.notes):
        return reading
    over = max(value("concentrate_over_g_per_l"), default(f"size_{what}_g_per_l").high)
    if reading.g_per_l is None or reading.g_per_l.middle <= over:
        return reading
    note = Note("concentrate", (("over_g_per_l", Fraction(over)),))
    return replace(reading, notes=(*reading.notes, note))


@dataclass(frozen=True, slots=True, kw_only=True)
class Meant:
    """
    What a bare gallon, cup and spoon mean to who reads, and by whose word.

    `kinds` is None while somebody has to say; `whose` says of each question "house", "own" or
    "here".
    """

    kinds: Kinds | None = None
    whose: Mapping[str, str] = field(default_factory=dict)


def meant(
    house: HouseState | None,
    own: Mapping[str, str | None] | None = None,
    here: Mapping[str, str | None] | None = None,
) -> Meant:
    """
    Return what bare names mean: as chosen here, else to the member, else in the house.

    Args:
        house: Its limits; None where there are none yet.
        own: What the member chose for good, by question; None for the house's.
        here: What was chosen for this text alone.
    """
    said: dict[str, str] = {}
    whose: dict[str, str] = {}
    by_house = {name: getattr(house, name) for name in ASKED_ONCE} if house else {}
    for word, kinds in (("house", by_house), ("own", own or {}), ("here", here or {})):
        for question in ASKED_ONCE:
            kind = kinds.get(question)
            new = word != "here" or said.get(question) != kind
            if new and kind and kind in QUESTIONS[question]:
                said[question], whose[question] = kind, word
    if set(said) != set(ASKED_ONCE):
        return Meant()
    return Meant(kinds=Kinds(**said), whose=whose)  # type: ignore[arg-type]  # closed choices


def read_as(recipe: RecipeState) -> dict[str, str | None]:
    """
    Return which kinds a recipe's dose was read in, by question.

    Whoever opens it later, with whatever kinds of their own, reads it so.
    """
    found = (read_in(unit) for unit in (recipe.amount_unit, recipe.per_unit))
    return {question: kind for question, kind in found if question}


def bulk_of(lot: LotState | None, of: str = "alum") -> Bulk:
    """
    Return the bulk density of a powder: the lot's own, or the published range.

    Source: `alum_g_per_us_tbsp` (11 to 20 g, middle 14.8), its like of other powders, and
    `lot_spoon_fraction` (+-5 %) of `coop.science.defaults`.
    """
    if lot is not None and lot.spoon is not None:
        middle = lot.spoon.g_per_ml
        doubt = value("lot_spoon_fraction")
        return _bulk(middle * (1 - doubt), middle, middle * (1 + doubt))
    spoon = spoon_default(lot.what if lot is not None else of)
    return _bulk(spoon.low / US_TBSP_ML, spoon.value / US_TBSP_ML, spoon.high / US_TBSP_ML)


def _bulk(low: float, middle: float, high: float) -> Bulk:
    places = 10**6
    exact = [Fraction(round(one * places), places) for one in (low, middle, high)]
    return Bulk(*exact)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """
    One of several readings of a dose, to be picked by a person.

    `key` says in units what it reads, so that it fits no other text than one that may be read
    so; `answers` are the (question, kind) that lead to it.
    """

    key: str
    statement: Statement
    answers: tuple[tuple[str, str], ...] = ()


def choices_of(reading: DoseReading) -> tuple[Choice, ...]:
    """Return the readings to pick from; none where the dose is settled by itself."""
    if reading.alternatives:
        found = [
            Choice(key=_key(one), statement=one, answers=way.answers)
            for way in reading.alternatives
            for one in _statements(way.reading)
        ]
    elif reading.contradiction is not None:
        found = [Choice(key=_key(one), statement=one) for one in reading.statements]
    else:
        found = []
    return tuple({one.key: one for one in reversed(found)}.values())[::-1]


def _statements(reading: DoseReading) -> tuple[Statement, ...]:
    return reading.statements if reading.contradiction else (_foremost(reading),)


def _foremost(reading: DoseReading) -> Statement:
    """Return the statement a settled reading is taken by: a weighed one, else the first."""
    weighed = (one for one in reading.statements if one.how == WEIGHED)
    return next(weighed, reading.statements[0])


def _key(one: Statement) -> str:
    ends = (one.amount, one.amount_upto, one.water, one.water_upto)
    return "/".join(_end(end) for end in ends if end is not None)


def _end(end: Quantity) -> str:
    return f"{end.heap}{end.n.numerator}_{end.n.denominator}{end.unit}"


def settle(reading: DoseReading, pick: str) -> Statement | None:
    """Return what a dose is mixed by: its only reading, or the picked one; None while open."""
    if reading.g_per_l is not None:
        return _foremost(reading)
    chosen = (one.statement for one in choices_of(reading) if one.key == pick)
    return next(chosen, None)


def can_be_misread(typed: str) -> bool:
    """Return whether a dose says two things, or asks, where no kinds of measure are set."""
    try:
        return bool(choices_of(understand(typed, None)))
    except NotUnderstood:
        return True
