"""Names and initials of members, from the cards their joining named."""

import json
from collections.abc import Iterable
from dataclasses import dataclass

from coop.ids import MemberId, Subject
from coop.ledger.ports import Journal


@dataclass(frozen=True, slots=True)
class Face:
    """What others see of a member; both empty once the card was erased."""

    name: str
    initials: str


NOBODY = Face(name="—", initials="—")


class Faces:
    """Cards read as they are asked for, each once."""

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self._read: dict[MemberId, Face] = {}

    def gather(self, members: Iterable[MemberId]) -> None:
        """Read the cards of several members at once, before they are asked for."""
        wanted = [one for one in dict.fromkeys(members) if one not in self._read]
        states = self._journal.states("member", map(Subject, wanted))
        cards = self._journal.attachments([one.card for one in states.values() if one.card])
        for one in wanted:
            state = states.get(Subject(one))
            card = cards.get(state.card) if state else None
            self._read[one] = _face(card.data) if card else NOBODY

    def of(self, member: MemberId) -> Face:
        """Return a member's name and initials; a dash for a card that is not here."""
        if member not in self._read:
            self.gather([member])
        return self._read[member]


def _face(data: bytes) -> Face:
    card = json.loads(data)
    return Face(name=card["name"], initials=card["initials"])
