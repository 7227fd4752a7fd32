"""
A server for simulations: the real taking-in on a journal in memory, with backups and restores.

What it was before is kept whole, so that setting it back forgets exactly what came after.
"""

import copy
import json
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from coop import __version__
from coop.actions.push_drafts import push_drafts
from coop.actions.settle_draft import Settling, settle_draft
from coop.actions.write import Who
from coop.ids import LedgerId, NodeId, Subject
from coop.ledger.entries import Sealed
from coop.ledger.ports import Admission, Journal
from coop.ledger.schema import Refused
from coop.sync.message import Reach, answer_to, read_push
from coop.sync.ports import UNSETTLED, WAITING, Held, Shelf
from tests.support.memory import MemoryJournal


class MemoryShelf:
    """The `Shelf` in memory."""

    def __init__(self) -> None:
        self._held: dict[tuple[str, str], Held] = {}

    def hold(self, one: Held) -> None:
        self._held.setdefault((one.id, one.digest), one)

    def held(self, draft_id: str) -> tuple[Held, ...]:
        return self.held_any([draft_id])

    def held_any(self, draft_ids: Iterable[str]) -> tuple[Held, ...]:
        wanted = set(draft_ids)
        found = [one for one in self._held.values() if one.id in wanted]
        return tuple(sorted(found, key=_first_come))

    def left_by(self, sender: Subject) -> int:
        held = self._held.values()
        return sum(one.sender == sender and one.outcome in UNSETTLED for one in held)

    def settle(self, one: Held, outcome: str) -> None:
        self._held[one.id, one.digest] = replace(one, outcome=outcome)

    def offsets(self, device_ids: Iterable[Subject]) -> Mapping[Subject, int]:
        return {}

    def waiting(self) -> tuple[Held, ...]:
        found = [one for one in self._held.values() if one.outcome == WAITING]
        return tuple(sorted(found, key=_first_come))


def _first_come(one: Held) -> tuple[datetime, str]:
    return one.received_at, one.id


class Studio(ABC):
    """
    One server: what it takes in, and how it is asked what it holds.

    Whoever keeps it says where: `unit` gives the journal and the shelf of one unit of work.
    """

    ledger: LedgerId
    new_id: Callable[[], str]

    @abstractmethod
    def unit(self) -> AbstractContextManager[tuple[Journal, Shelf]]: ...

    @abstractmethod
    def everything(self) -> tuple[Sealed, ...]: ...

    @abstractmethod
    def reach(self) -> Reach:
        """Return how far each node's seals are here, and in a second place."""

    @abstractmethod
    def waiting(self) -> tuple[Held, ...]:
        """Return what waits for a person, the oldest first."""

    @abstractmethod
    def back_up(self, *, now: datetime) -> None:
        """Keep a copy in a second place."""

    @abstractmethod
    def set_back(self, *, now: datetime) -> None:
        """Be what the last backup was, as a new node; what is in it is in two places."""

    def receive(self, device: str, message: Any, *, now: datetime) -> dict[str, Any]:
        """Take a push in, as the address that devices push to does."""
        push = read_push(json.dumps(message).encode())
        with self.unit() as (journal, shelf):
            pushed = push_drafts(journal, shelf, Subject(device), push, now=now)
        told = answer_to(push, pushed, self.reach(), say=_code, release=__version__, now=now)
        return dict(json.loads(json.dumps(told)))

    def say(self, *entries: Any, now: datetime) -> None:
        """Seal entries of a page."""
        with self.unit() as (journal, _):
            journal.append(list(entries), Admission(at=now, by=entries[0].author))

    def settle(self, who: Who, one: Held, settling: Settling, *, now: datetime) -> None:
        """Let a person decide on what waits."""
        with self.unit() as (journal, shelf):
            settle_draft(journal, shelf, who, one, settling, now=now)

    def held(self, draft_ids: Iterable[str]) -> tuple[Held, ...]:
        with self.unit() as (_, shelf):
            return shelf.held_any(draft_ids)

    def state(self, sort: str, subject: Subject) -> Any:
        with self.unit() as (journal, _):
            return journal.state(sort, subject)


@dataclass
class MemoryStudio(Studio):
    """
    A server in memory, and what it was.

    `renews_node` off makes the known mistake of sealing as the same node after a restore.
    """

    ledger: LedgerId
    new_id: Callable[[], str]
    renews_node: bool = True
    journal: MemoryJournal = field(init=False)
    shelf: MemoryShelf = field(default_factory=MemoryShelf)
    two_places: dict[NodeId, int] = field(default_factory=dict)
    backups: list[tuple[MemoryJournal, MemoryShelf, dict[NodeId, int]]] = field(
        default_factory=list
    )

    def __post_init__(self) -> None:
        self.journal = MemoryJournal(ledger=self.ledger, node=NodeId(self.new_id()))

    @contextmanager
    def unit(self) -> Iterator[tuple[Journal, Shelf]]:
        yield self.journal, self.shelf

    def everything(self) -> tuple[Sealed, ...]:
        return self.journal.everything()

    def waiting(self) -> tuple[Held, ...]:
        return self.shelf.waiting()

    def reach(self) -> Reach:
        here: dict[NodeId, int] = {}
        for one in self.journal.everything():
            for seal in one.seals:
                here[seal.node] = max(here.get(seal.node, 0), seal.seq)
        return Reach(here=here, two_places=self.two_places)

    def back_up(self, *, now: datetime) -> None:
        self.two_places = dict(self.reach().here)
        self.backups.append((self.journal.copy(), copy.deepcopy(self.shelf), self.two_places))

    def set_back(self, *, now: datetime) -> None:
        journal, shelf, reach = self.backups[-1]
        self.journal, self.shelf = journal.copy(), copy.deepcopy(shelf)
        self.two_places = reach
        if self.renews_node:
            self.journal.node = NodeId(self.new_id())


def _code(refused: Refused) -> str:
    return refused.code
