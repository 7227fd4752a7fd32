"""What to say beside a dose that was understood: codes and numbers, no sentences."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from coop.units.kinds import (
    FAMILIES,
    OUNCE,
    PART,
    QUESTIONS,
    SPOONS,
    Kinds,
    family_of,
    sister,
)
from coop.units.quantity import HEAPED, ROUNDED, SCANT, UNSAID, Quantity
from coop.units.sentence import Rate
from coop.units.strength import (
    HEAP_DOUBT,
    HEAP_TIMES,
    SPOONED,
    WEIGHED,
    Bulk,
    Spread,
    Statement,
    state,
)
from coop.units.table import MASS, RATIO, UNITS

Field = tuple[str, Fraction | str]
InKinds = Callable[[Kinds], tuple[Statement, ...]]

READ_AS: Final = frozenset(
    f"{question}-read-as-{kind}" for question, kinds in QUESTIONS.items() for kind in kinds
)
LOOK_ALIKES: Final = (
    ("teaspoon-per-cup", "tsp", "cup"),
    ("tablespoon-per-gallon", "tbsp", "gallon"),
    ("tablespoon-per-cup", "tbsp", "cup"),
)
"""Doses that are mistaken for one another, with the families of powder and water."""
DILUTED_TO_WHAT: Final = "diluted-to-what"
NOTES: Final = READ_AS | {
    "level-unsaid",
    "heaped-read-as",
    "rounded-read-as",
    "scant-read-as",
    "implied-spoon",
    "percent-read-as-g-per-100-ml",
    "percent-read-as-g-per-100-g",
    "water-read-as-1-g-per-ml",
    "apothecary-ounce",
    "concentrate",
    DILUTED_TO_WHAT,
}
"""Every code of a `Note`."""


@dataclass(frozen=True, slots=True)
class Note:
    """
    A code of `NOTES` with its fields.

    `<question>-read-as-<kind>`: for each other kind, by what part the dose would be stronger
    (below nothing: weaker). "level-unsaid": `heaped_times`. `<heap>-read-as`: `times`,
    `give_or_take`. "implied-spoon": `unit`, `g_per_spoon`, `g_per_ml`.
    "concentrate", which takes the name of the powder to say: `over_g_per_l`. "diluted-to-what"
    asks: the text says that the dose is diluted before it is used.
    """

    code: str
    fields: tuple[Field, ...] = ()


@dataclass(frozen=True, slots=True)
class LookAlike:
    """One of three doses that are easily mistaken; `entered` marks the one that was typed."""

    code: str
    amount: Quantity
    water: Quantity
    g_per_l: Spread
    entered: bool


def notes_of(
    rates: tuple[Rate, ...],
    statements: tuple[Statement, ...],
    kinds: Kinds,
    unsaid: Iterable[str],
    in_kinds: InKinds,
) -> tuple[Note, ...]:
    """
    Return the notes on a dose read in `kinds`, of which `unsaid` were not in the text.

    `in_kinds` states the same dose in other kinds.
    """
    read_as = [_read_as(statements, kinds, question, in_kinds) for question in unsaid]
    return (
        *(note for note in read_as if note is not None),
        *_water_ounces(rates),
        *_said_parts(rates),
        *_heap_notes(statements),
        *_implied_spoons(statements),
        *_plain_notes(rates, statements),
    )


def _read_as(
    statements: tuple[Statement, ...], kinds: Kinds, question: str, in_kinds: InKinds
) -> Note | None:
    """Note a kind nobody said, and how much stronger each other would be; None if no matter."""
    taken = kinds.of(question)
    changes: list[Field] = []
    for other in QUESTIONS[question]:
        if other != taken:
            answer: dict[str, Any] = {question: other}
            others = in_kinds(replace(kinds, **answer))
            changes.append((other, _change(statements, others)))
    if not any(change for _, change in changes):
        return None
    return Note(f"{question}-read-as-{taken}", tuple(changes))


def _change(statements: tuple[Statement, ...], others: tuple[Statement, ...]) -> Fraction:
    ratios = (
        other.g_per_l.middle / one.g_per_l.middle - 1
        for one, other in zip(statements, others, strict=True)
    )
    return next((ratio for ratio in ratios if ratio), Fraction(0))


def _water_ounces(rates: tuple[Rate, ...]) -> tuple[Note, ...]:
    """Note that bare ounces of water were taken as fluid ones."""
    return (Note(f"{OUNCE}-read-as-fluid"),) if any(one.bare_ounces for one in rates) else ()


def _said_parts(rates: tuple[Rate, ...]) -> tuple[Note, ...]:
    """Note of what the parts of a ratio were said to be."""
    names = [name for rate in rates for said in rate.amounts for name in said.names]
    kinds = dict.fromkeys(one.system for one in names if one.family == PART and one.system)
    return tuple(Note(f"parts-read-as-{kind}") for kind in kinds)


def _heap_notes(statements: tuple[Statement, ...]) -> tuple[Note, ...]:
    spooned = [one.amount for one in statements if one.how == SPOONED]
    notes = []
    if any(one.heap == UNSAID and one.unit in SPOONS for one in spooned):
        notes.append(Note("level-unsaid", (("heaped_times", HEAP_TIMES[HEAPED]),)))
    for heap in (HEAPED, ROUNDED, SCANT):
        if any(one.heap == heap for one in spooned):
            times, doubt = HEAP_TIMES[heap], HEAP_DOUBT[heap]
            notes.append(Note(f"{heap}-read-as", (("times", times), ("give_or_take", doubt))))
    return tuple(notes)


def _implied_spoons(statements: tuple[Statement, ...]) -> tuple[Note, ...]:
    """Note the grams of a level spoon that a weight beside it implies."""
    weighed = next((one for one in statements if one.how == WEIGHED), None)
    spooned = next((one for one in statements if one.how == SPOONED), None)
    if weighed is None or spooned is None or spooned.ml_per_l is None:
        return ()
    times = HEAP_TIMES[spooned.amount.heap]
    g_per_ml = weighed.g_per_l.middle / (spooned.ml_per_l.middle * times)
    unit = spooned.amount.unit
    g_per_spoon = g_per_ml * UNITS[unit].factor
    fields = (("unit", unit), ("g_per_spoon", g_per_spoon), ("g_per_ml", g_per_ml))
    return (Note("implied-spoon", fields),)


def _plain_notes(
    rates: tuple[Rate, ...], statements: tuple[Statement, ...]
) -> tuple[Note, ...]:
    waters = [said.dimension for rate in rates for said in rate.water]
    percents = {
        rate.of_whole for rate in rates for said in rate.amounts if said.dimension == RATIO
    }
    found = {
        "percent-read-as-g-per-100-ml": False in percents,
        "percent-read-as-g-per-100-g": True in percents,
        "water-read-as-1-g-per-ml": MASS in waters,
        "apothecary-ounce": any(one.amount.unit == "apoth_oz" for one in statements),
    }
    return tuple(Note(code) for code, true in found.items() if true)


def look_alikes_of(
    statements: tuple[Statement, ...], kinds: Kinds | None, bulk: Bulk
) -> tuple[LookAlike, ...]:
    """Return the three look-alikes, if one of them is what was typed first; else nothing."""
    for one in statements:
        families = family_of(one.amount.unit), family_of(one.water.unit)
        if families in [(powder, water) for _, powder, water in LOOK_ALIKES]:
            rows = (_look_alike(one, row, kinds, bulk) for row in LOOK_ALIKES)
            return tuple(row for row in rows if row is not None)
    return ()


def _look_alike(
    entered: Statement, row: tuple[str, str, str], kinds: Kinds | None, bulk: Bulk
) -> LookAlike | None:
    """Return the same numbers in other units; None where the system has no such unit."""
    code, powder, water = row
    spoon = sister(entered.amount.unit, powder)
    vessel = sister(entered.water.unit, water)
    if not vessel and kinds is not None:
        vessel = FAMILIES[water][kinds.of(water)]
    if not spoon or not vessel:
        return None
    amount = Quantity("", entered.amount.n, spoon, entered.amount.heap)
    liquid = Quantity("", entered.water.n, vessel)
    found = state("", amount, None, liquid, None, bulk)
    same = (spoon, vessel) == (entered.amount.unit, entered.water.unit)
    return LookAlike(code, amount, liquid, found.g_per_l, same)
