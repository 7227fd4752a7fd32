"""Look at baths: all that stand in the room, or one with its history."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from coop.ids import Subject
from coop.ledger.baths import BathState, Step, bath_steps
from coop.ledger.force import Resolved
from coop.ledger.ports import Journal
from coop.ledger.states import PaperState, StudioState
from coop.ledger.table import HOUSE
from coop.rules.baths import Around, BathLook, look_at


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRoom:
    """One studio and the baths in it, in the order they stand."""

    studio: StudioState
    baths: tuple[BathLook, ...]


def see_room(journal: Journal, *, now: datetime) -> tuple[StudioRoom, ...]:
    """Return every studio with its open baths, by place."""
    studios = sorted(journal.listed("studio"), key=lambda one: one.name)
    looks = look_at_all(journal, journal.listed("bath"), now=now)
    return tuple(
        StudioRoom(
            studio=studio,
            baths=tuple(look for look in looks if look.state.studio == studio.id),
        )
        for studio in studios
    )


def look_at_all(
    journal: Journal, baths: Iterable[BathState], *, now: datetime
) -> tuple[BathLook, ...]:
    """Look at several baths with what stands around them read once."""
    vessels = {one.id: one for one in journal.listed("vessel", live=False)}
    studios = {one.id: one for one in journal.listed("studio")}
    recipes = {one.id: one for one in journal.listed("recipe", live=False)}
    papers: tuple[PaperState, ...] = journal.listed("paper")
    house = journal.state("house", HOUSE)
    return tuple(
        look_at(
            bath,
            Around(
                vessel=vessels.get(bath.vessel),
                studio=studios.get(bath.studio),
                recipe=recipes.get(bath.recipe) if bath.recipe else None,
                house=house,
                papers=papers,
            ),
            at=now,
        )
        for bath in baths
    )


def around_bath(journal: Journal, bath: BathState) -> Around:
    """Return what stands around one bath."""
    return Around(
        vessel=journal.state("vessel", bath.vessel),
        studio=journal.state("studio", bath.studio),
        recipe=journal.state("recipe", bath.recipe),
        house=journal.state("house", HOUSE),
        papers=journal.listed("paper"),
    )


def see_bath(journal: Journal, bath: BathState, *, now: datetime) -> BathLook:
    """Return one bath as it is now."""
    return look_at(bath, around_bath(journal, bath), at=now)


@dataclass(frozen=True, slots=True, kw_only=True)
class BathHistory:
    """A bath's entries in force with what each did, and those that corrections took out."""

    steps: tuple[Step, ...]
    resolved: Resolved


def see_history(journal: Journal, bath: Subject) -> BathHistory:
    """Return a bath step by step."""
    view = journal.view()
    resolved = view.resolved(bath)
    return BathHistory(
        steps=tuple(bath_steps(bath, resolved.in_force, view)), resolved=resolved
    )
