"""Look into the room: what may be used, what somebody should know, what needs a person."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.see_baths import look_at_all
from coop.ids import MemberId
from coop.ledger.ports import Journal
from coop.ledger.states import StackState, StudioState
from coop.rules.baths import BathLook, turns_at
from coop.rules.reasons import Word

TURNS_WITHIN_DAYS = 1
"""So far ahead the room looks for a word that turns: a page stays open no longer unread."""
NOT_TO_BE_USED = frozenset({Word.DO_NOT_USE, Word.FINISHED})


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRoom:
    """One studio and the baths in it, in the order they stand."""

    studio: StudioState
    baths: tuple[BathLook, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Warned:
    """A stopped bath, and the member's sheets that went through it and are not yet sorted."""

    look: BathLook
    counts: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """All studios, the one where the member worked last before the others."""

    studios: tuple[StudioRoom, ...]
    warned: tuple[Warned, ...]

    @property
    def baths(self) -> tuple[BathLook, ...]:
        return tuple(look for one in self.studios for look in one.baths)

    @property
    def not_to_be_used(self) -> tuple[BathLook, ...]:
        return tuple(look for look in self.baths if look.answer.word in NOT_TO_BE_USED)


def see_room(journal: Journal, member: MemberId, *, now: datetime) -> Room:
    """Return every studio with its open baths, by place, as this member needs to see them."""
    looks = look_at_all(journal, journal.listed("bath"), now=now)
    return Room(
        studios=by_studio(journal, looks, member),
        warned=_warned(journal, looks, member),
    )


def by_studio(
    journal: Journal, looks: tuple[BathLook, ...], member: MemberId | None
) -> tuple[StudioRoom, ...]:
    """Return every studio with its baths, the one where the member worked last first."""
    last = max(
        (look for look in looks if look.state.hands.by == member),
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
        )
        for studio in studios
    )


def _warned(
    journal: Journal, looks: tuple[BathLook, ...], member: MemberId
) -> tuple[Warned, ...]:
    """Find the member's stacks that went through a bath which is stopped."""
    found = []
    for look in looks:
        if look.state.stop is None:
            continue
        counts: Counter[str] = Counter()
        stacks: tuple[StackState, ...] = journal.listed("stack", home=look.state.id)
        for stack in stacks:
            if stack.by == member:
                counts[stack.sheet_format] += stack.sheet_count - stack.sorted_count
        if counts:
            found.append(Warned(look=look, counts=tuple(sorted(counts.items()))))
    return tuple(found)


def next_turn(room: Room) -> timedelta | None:
    """Return how long all words hold if nobody does anything; None for a day and longer."""
    turns = (
        (look, turns_at(look.state, look.around, now=look.at, within_days=TURNS_WITHIN_DAYS))
        for look in room.baths
    )
    return min((turn[0] - look.at for look, turn in turns if turn), default=None)


def needs_somebody(room: Room) -> tuple[BathLook, ...]:
    """Return baths that want a person, the most pressing first."""
    wanted = [
        look for look in room.baths if look.answer.word in (Word.DO_NOT_USE, Word.LOOK_AGAIN)
    ]
    return tuple(sorted(wanted, key=lambda look: -look.answer.word.rank))
