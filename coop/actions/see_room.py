"""Look into the room: what may be used, what somebody should know, what needs a person."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.follow import Alert, alerts, at_risk, to_sort
from coop.actions.see_baths import look_at_all
from coop.actions.see_liquids import alum_of, liquids_of, look_at_liquids
from coop.ids import MemberId
from coop.ledger.ports import Journal
from coop.ledger.states import StackState, StudioState
from coop.rules.baths import BathLook, turns_at
from coop.rules.liquid_looks import LiquidLook, liquid_turns_at
from coop.rules.reasons import Word

TURNS_WITHIN_DAYS = 1
"""So far ahead the room looks for a word that turns: a page stays open no longer unread."""
NOT_TO_BE_USED = frozenset({Word.DO_NOT_USE, Word.FINISHED})


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRoom:
    """One studio and the baths in it, in the order they stand: alum, then all others."""

    studio: StudioState
    baths: tuple[BathLook, ...]
    liquids: tuple[LiquidLook, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Warned:
    """
    A stopped bath, and the member's sheets that it concerns, by format.

    `unsorted` wait for colour or for somebody to look at them; `good` were found so.
    """

    alert: Alert
    unsorted: tuple[tuple[str, int], ...]
    good: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """
    All studios, the one where the member worked last before the others.

    `warned` and `to_sort` are the member's own; `alerts` all stops that concern anybody.
    `stacks` are all that are not sorted yet.
    """

    studios: tuple[StudioRoom, ...]
    warned: tuple[Warned, ...]
    stacks: tuple[StackState, ...] = ()
    alerts: tuple[Alert, ...] = ()
    to_sort: tuple[StackState, ...] = ()

    @property
    def baths(self) -> tuple[BathLook, ...]:
        return tuple(look for one in self.studios for look in one.baths)

    @property
    def liquids(self) -> tuple[LiquidLook, ...]:
        return tuple(look for one in self.studios for look in one.liquids)

    @property
    def every(self) -> tuple[BathLook | LiquidLook, ...]:
        """All baths, alum first."""
        return (*self.baths, *self.liquids)

    @property
    def not_to_be_used(self) -> tuple[BathLook | LiquidLook, ...]:
        return tuple(look for look in self.every if look.answer.word in NOT_TO_BE_USED)


def see_room(journal: Journal, member: MemberId, *, now: datetime) -> Room:
    """Return every studio with its open baths, by place, as this member needs to see them."""
    journal.gather(("bath", "jug", "paper", "stack", "studio"))
    journal.gather(("paper", "recipe", "vessel"), live=False)
    every = journal.listed("bath")
    looks = look_at_all(journal, alum_of(every), now=now)
    liquids = look_at_liquids(journal, liquids_of(every), now=now)
    unsorted: tuple[StackState, ...] = journal.listed("stack")
    stops = alerts(journal, every, unsorted)
    return Room(
        studios=by_studio(journal, looks, member, liquids),
        warned=_warned(stops, member),
        stacks=unsorted,
        alerts=stops,
        to_sort=to_sort(unsorted, member, now=now),
    )


def by_studio(
    journal: Journal,
    looks: tuple[BathLook, ...],
    member: MemberId | None,
    liquids: tuple[LiquidLook, ...] = (),
) -> tuple[StudioRoom, ...]:
    """Return every studio with its baths, the one where the member worked last first."""
    every: list[BathLook | LiquidLook] = [*looks, *liquids]
    last = max(
        (look for look in every if look.state.hands.by == member),
        key=lambda look: look.state.hands.at,
        default=None,
    )
    here = last.state.studio if last else None
    studios = sorted(
        journal.listed("studio"), key=lambda one: (one.id != here, one.name, one.id)
    )
    return tuple(
        StudioRoom(
            studio=studio,
            baths=tuple(look for look in looks if look.state.studio == studio.id),
            liquids=tuple(look for look in liquids if look.state.studio == studio.id),
        )
        for studio in studios
    )


def _warned(stops: Iterable[Alert], member: MemberId) -> tuple[Warned, ...]:
    """Find the stops of which a member has not said that they saw them."""
    found = []
    for alert in stops:
        unsorted, good = Counter[str](), Counter[str]()
        for stack in alert.unseen(member):
            counts = at_risk(stack, alert.bath)
            unsorted[stack.sheet_format] += counts[0]
            good[stack.sheet_format] += counts[1]
        if unsorted:
            found.append(Warned(alert=alert, unsorted=_some(unsorted), good=_some(good)))
    return tuple(found)


def _some(counts: Counter[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted((+counts).items()))


def next_turn(room: Room) -> timedelta | None:
    """Return how long all words hold if nobody does anything; None for a day and longer."""
    turns = [
        (look.at, turns_at(look.state, look.around, now=look.at, within_days=TURNS_WITHIN_DAYS))
        for look in room.baths
    ]
    turns += [
        (
            look.at,
            liquid_turns_at(
                look.state, look.around, now=look.at, within_days=TURNS_WITHIN_DAYS
            ),
        )
        for look in room.liquids
    ]
    return min((turn[0] - at for at, turn in turns if turn), default=None)
