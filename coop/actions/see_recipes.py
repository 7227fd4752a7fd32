"""Look at the recipes of the co-operative: each with its editions, and with what is on hand."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from coop.actions.recipes import Card, read_card, takes
from coop.actions.reckon import within_tables
from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.ids import MemberId, Subject
from coop.ledger.descriptions import edition_of, fold_recipe
from coop.ledger.entries import Sealed
from coop.ledger.force import resolve
from coop.ledger.kinds import BATHS, MADE_FOR, RecipePublished
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, LotState, RecipeState, StudioState
from coop.ledger.table import HOUSE

EDITIONS_MAX: Final = 50
"""So many editions of one card are shown, the newest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """What a card said from a moment on, by whom: who published it settled how it is read."""

    recipe: RecipeState
    by: MemberId
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeLook:
    """
    A recipe by one of its editions.

    Attributes:
        shown: The edition that is looked at; `card` is what it comes to.
        editions: All of them: the one in force, then the others, the newest first.
    """

    shown: Edition
    card: Card
    editions: tuple[Edition, ...]

    @property
    def in_force(self) -> bool:
        """Whether the edition that is looked at is the one baths are made by."""
        return self.shown.recipe.edition == self.editions[0].recipe.edition


def listed_recipes(journal: Journal) -> tuple[RecipeState, ...]:
    """Return every recipe: by what is made, by what it is for, by name."""
    recipes: tuple[RecipeState, ...] = journal.listed("recipe")
    return tuple(sorted(recipes, key=_order))


def _order(one: RecipeState) -> tuple[int, int, str, Subject]:
    return BATHS.index(one.what), MADE_FOR.index(one.made_for), one.name.casefold(), one.id


def look_at_recipes(journal: Journal, recipes: Iterable[RecipeState]) -> tuple[RecipeLook, ...]:
    """Return recipes with their editions, in the order given; two questions for all of them."""
    wanted = {one.id: one for one in recipes}
    house: HouseState | None = journal.state("house", HOUSE)
    touching = journal.touching_any(wanted)
    return tuple(
        _look(editions, editions[0], house)
        for subject in wanted
        if (editions := _editions(journal, subject, touching[subject]))
    )


def see_recipe(journal: Journal, subject: Subject, edition: str = "") -> RecipeLook | None:
    """
    Return a recipe by one of its editions, or None for one that is not known.

    Args:
        edition: The entry it was published by; empty for the one in force.
    """
    editions = _editions(journal, subject, journal.touching(subject))
    shown = next((one for one in editions if edition in ("", one.recipe.edition)), None)
    if shown is None:
        return None
    return _look(editions, shown, journal.state("house", HOUSE))


def _editions(
    journal: Journal, subject: Subject, touching: tuple[Sealed, ...]
) -> tuple[Edition, ...]:
    """Return what counts of a recipe: the edition in force, then the others, newest first."""
    view, found = journal.view(), list[Edition]()
    entries = resolve(touching).in_force
    for one in entries[::-1]:
        if isinstance(one.content, RecipePublished):
            state = fold_recipe(subject, (one,), view).state
            found.append(Edition(recipe=state, by=one.author, at=one.at))
    first, _ = edition_of(entries, RecipePublished)
    found.sort(key=lambda one: first is None or one.recipe.edition != first.id)
    return tuple(found[:EDITIONS_MAX])


def _look(
    editions: tuple[Edition, ...], shown: Edition, house: HouseState | None
) -> RecipeLook:
    return RecipeLook(shown=shown, card=read_card(shown.recipe, house), editions=editions)


# ---- what stands around a recipe


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """
    What a recipe is looked at with.

    Attributes:
        alum: Lots of alum that are on hand.
        own: Lots of the very salt or powder the card names that are on hand.
        store_c: How cold the coldest store gets [deg C], 20 where nobody said.
    """

    house: HouseState | None
    studios: tuple[StudioState, ...]
    alum: tuple[LotState, ...]
    own: tuple[LotState, ...]
    store_c: float

    @property
    def weighed(self) -> tuple[LotState, ...]:
        """The lots of the card's salt or powder whose level spoon was weighed."""
        return tuple(one for one in self.own if one.spoon is not None)


def named_studios(journal: Journal) -> tuple[StudioState, ...]:
    """Return every studio, by its name."""
    return tuple(sorted(journal.listed("studio"), key=lambda one: one.name))


def coldest_store_c(studios: Iterable[StudioState]) -> float:
    """Return how cold the coldest store gets, as far as tables reach; 20 where nobody said."""
    colds = (one.store_coldest_c for one in studios if one.store_coldest_c is not None)
    return within_tables(min(colds, default=None))


def bench_of(journal: Journal, recipe: RecipeState) -> Bench:
    """Return what stands around a recipe: the studios, and what of it is on the shelf."""
    studios = named_studios(journal)
    lots = tuple(look.lot for look in lots_on_hand(journal) if _has_some(look))
    return Bench(
        house=journal.state("house", HOUSE),
        studios=studios,
        alum=tuple(one for one in lots if one.what == "alum"),
        own=tuple(one for one in lots if takes(one, recipe)),
        store_c=coldest_store_c(studios),
    )


def _has_some(look: LotLook) -> bool:
    return look.left > 0


def edition_named(journal: Journal, named: str) -> RecipeLook | None:
    """Return the recipe of a name in an address: its id, or its id, a dot, and an edition."""
    subject, _, edition = named.partition(".")
    return see_recipe(journal, Subject(subject), edition) if subject else None
