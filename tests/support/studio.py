"""
A server for simulations: the real taking-in on a journal in memory, with backups and restores.

What it was before is kept whole, so that setting it back forgets exactly what came after.
"""

import copy
import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from coop.actions.push_drafts import push_drafts
from coop.ids import LedgerId, NodeId, Subject
from coop.ledger.ports import Admission
from coop.ledger.schema import Refused
from coop.sync.message import Reach, answer_to, read_push
from coop.sync.ports import WAITING, Held
from tests.support.memory import MemoryJournal


class MemoryShelf:
    """The `Shelf` in memory."""

    def __init__(self) -> None:
        self._held: dict[tuple[str, str], Held] = {}

    def hold(self, one: Held) -> None:
        self._held.setdefault((one.id, one.digest), one)

    def held(self, draft_id: str) -> tuple[Held, ...]:
        return tuple(one for one in self._held.values() if one.id == draft_id)

    def settle(self, one: Held, outcome: str) -> None:
        self._held[one.id, one.digest] = replace(one, outcome=outcome)

    def waiting(self) -> tuple[Held, ...]:
        return tuple(one for one in self._held.values() if one.outcome == WAITING)


@dataclass
class Studio:
    """
    One server and what it was.

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

    def receive(self, device: str, message: Any, *, now: datetime) -> dict[str, Any]:
        """Take a push in, as the address that devices push to does."""
        push = read_push(json.dumps(message).encode())
        pushed = push_drafts(self.journal, self.shelf, Subject(device), push, now=now)
        reach = Reach(here=self.vector(), two_places=self.two_places)
        told = answer_to(push, pushed, reach, say=_code, release="0.1.0", now=now)
        return dict(json.loads(json.dumps(told)))

    def vector(self) -> dict[NodeId, int]:
        """Return how far each node's seals are here."""
        reach: dict[NodeId, int] = {}
        for one in self.journal.everything():
            for seal in one.seals:
                reach[seal.node] = max(reach.get(seal.node, 0), seal.seq)
        return reach

    def back_up(self) -> None:
        """Keep a copy in a second place."""
        self.two_places = self.vector()
        self.backups.append((self.journal.copy(), copy.deepcopy(self.shelf), self.two_places))

    def set_back(self, backup: int) -> None:
        """Be what a backup was, as a new node; what is in the backup is in two places."""
        journal, shelf, reach = self.backups[backup]
        self.journal, self.shelf = journal.copy(), copy.deepcopy(shelf)
        self.two_places = reach
        if self.renews_node:
            self.journal.node = NodeId(self.new_id())

    def say(self, *entries: Any, now: datetime) -> None:
        """Seal entries of a page."""
        by = entries[0].author
        self.journal.append(list(entries), Admission(at=now, by=by))


def _code(refused: Refused) -> str:
    return refused.code
