"""Set a house up: what is still to do before the first answer, and what stands now."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from coop.actions.read_dose import choices_of, understand
from coop.actions.see_shelf import lots_on_hand
from coop.ids import EntryId, Subject
from coop.ledger.force import InForce
from coop.ledger.kinds import LENGTH_MAX_MM, WEIGHED, Content
from coop.ledger.ports import Journal
from coop.ledger.schema import quantity, read_record, said
from coop.ledger.states import LotState, RecipeState
from coop.ledger.table import HOUSE
from coop.science.defaults import value
from coop.science.paper import g_per_m2_from_lb
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.number import wire
from coop.units.quantity import Quantity
from coop.units.strength import Statement
from coop.units.table import MASS, UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Something still to do: a code, and the studio or lot it is about."""

    code: str
    subject: str = ""


def still_to_do(journal: Journal) -> tuple[Step, ...]:
    """Return what is missing for the first answer to "may I use it?", in sensible order."""
    studios = journal.listed("studio")
    homes = {one.studio for one in journal.listed("vessel")}
    recipes = journal.listed("recipe")
    lots = [look.lot for look in lots_on_hand(journal) if look.lot.what == "alum"]
    empty = next((one.id for one in studios if one.id not in homes), Subject(""))
    unweighed = _unweighed(recipes, lots)
    steps = (
        (not studios, Step(code="studio")),
        (not homes or bool(empty), Step(code="tub", subject=empty)),
        (not journal.listed("paper"), Step(code="paper")),
        (journal.state("house", HOUSE) is None, Step(code="limits")),
        (not _has_target(journal, recipes), Step(code="strength")),
        (not lots, Step(code="alum")),
        (unweighed is not None, Step(code="spoons", subject=unweighed or "")),
        (len(journal.listed("member")) < 2, Step(code="members")),
    )
    return tuple(step for open_still, step in steps if open_still)


def _has_target(journal: Journal, recipes: tuple[RecipeState, ...]) -> bool:
    house = journal.state("house", HOUSE)
    if house is not None and house.target_g_per_l is not None:
        return True
    return any(one.target_g_per_l is not None for one in recipes)


def _unweighed(recipes: tuple[RecipeState, ...], lots: list[LotState]) -> Subject | None:
    """Return a lot that a card takes by the spoon and whose spoon nobody weighed."""
    spooned = {one.salt for one in recipes if one.amount_unit not in WEIGHED}
    return next((one.id for one in lots if one.salt in spooned and one.spoon is None), None)


def content_of(journal: Journal, subject: Subject, edition: EntryId) -> Content:
    """Return what the edition in force says, as it was typed."""
    return next(one.content for one in editions(journal, subject) if one.id == edition)


def editions(journal: Journal, subject: Subject) -> tuple[InForce, ...]:
    """Return the editions of what is described, the newest first."""
    in_force = journal.view().resolved(subject).in_force
    return tuple(reversed([one for one in in_force if hasattr(one.content, "supersedes")]))


def is_current(edition: EntryId | None, *, supersedes: str, entry: str) -> bool:
    """
    Say whether a page was made from the edition that stands.

    Args:
        edition: The edition in force; None when there is none.
        supersedes: The edition the page was made from; empty for none.
        entry: The page's own entry: a second post finds it standing already.
    """
    return edition in (entry, supersedes or None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """What the inside of a tub holds: floor [m2], litres a centimetre, litres to lay."""

    area_m2: float
    litres_per_cm: float
    laying_l: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Inside:
    inside_length: Quantity = said(quantity("length", high=LENGTH_MAX_MM))
    inside_width: Quantity = said(quantity("length", high=LENGTH_MAX_MM))


def read_floor(body: Mapping[str, Any], *, laying_depth_mm: float) -> Floor:
    """
    Return what the inside floor of a tub being described holds.

    Raises:
        Slip: Length or width is missing or not in its form.
    """
    sides = ("inside_length", "inside_width")
    inside = read_record(_Inside, {side: body[side] for side in sides if side in body})
    area_m2 = float(inside.inside_length.base * inside.inside_width.base) / 1e6
    return Floor(
        area_m2=area_m2, litres_per_cm=area_m2 * 10, laying_l=area_m2 * laying_depth_mm
    )


def laying_depth_mm(journal: Journal) -> float:
    """Return the house's laying depth, or the default."""
    house = journal.state("house", HOUSE)
    return float(house.laying_depth_mm) if house else value("laying_depth_mm")


def weight_from_lb(basis_weight_lb: Fraction, grade: str) -> str:
    """
    Return the weight per area [g/m2] of a paper sold by the pound, to a tenth, for the wire.

    Raises:
        ValueError: The grade is not known, or the weight is not over 0 and at most 500 lb.
    """
    weight = g_per_m2_from_lb(basis_weight_lb=float(basis_weight_lb), grade=grade)
    return wire(Fraction(round(weight * 10), 10))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """What the two lines come to at a target: look again under, do not use under [g/L]."""

    look_again_g_per_l: float
    do_not_use_g_per_l: float


def lines_at(
    *, target_g_per_l: float, look_again_fraction: float, do_not_use_fraction: float
) -> Lines:
    """Return the lines [g/L] that fractions of a target [g/L] come to."""
    return Lines(
        look_again_g_per_l=target_g_per_l * look_again_fraction,
        do_not_use_g_per_l=target_g_per_l * do_not_use_fraction,
    )


def amount_of(statement: Statement) -> dict[str, str]:
    """
    Return the powder of a picked reading for a recipe's body; of a range its middle.

    What is weighed by a unit that the ledger does not keep is said in grams.
    """
    amount = _middle(statement.amount, statement.amount_upto)
    if amount.dimension == MASS and amount.unit not in WEIGHED:
        amount = Quantity(amount.typed, amount.base, "g")
    return amount.to_wire()


def water_of(statement: Statement) -> dict[str, str]:
    """Return the water of a picked reading for a recipe's body; of a range its middle."""
    return _middle(statement.water, statement.water_upto).to_wire()


def _middle(low: Quantity, high: Quantity | None) -> Quantity:
    if high is None:
        return low
    middle = (low.base + high.base) / 2
    return replace(low, n=middle / UNITS[low.unit].factor)


def target_of_card(statement: Statement) -> str:
    """Return the middle of what a card comes to [g/L], to a tenth, for the wire."""
    return wire(Fraction(round(statement.g_per_l.middle * 10), 10))


def picked_key(recipe: RecipeState, kinds: Kinds | None) -> str:
    """Return the key of the reading that a recipe was published by; empty if none was open."""
    try:
        found = choices_of(understand(recipe.dose, kinds))
    except NotUnderstood:
        return ""
    said = (recipe.amount_n, recipe.amount_unit, recipe.per_n, recipe.per_unit)
    return next((one.key for one in found if _says(one.statement) == said), "")


def _says(one: Statement) -> tuple[str, str, str, str]:
    amount, water = amount_of(one), water_of(one)
    return amount["n"], amount["unit"], water["n"], water["unit"]
