"""Names and initials of members, from the cards their joining named."""

import json
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

    def of(self, member: MemberId) -> Face:
        """Return a member's name and initials; a dash for a card that is not here."""
        if member not in self._read:
            state = self._journal.state("member", Subject(member))
            card = self._journal.attachment(state.card) if state and state.card else None
            self._read[member] = _face(card.data) if card else NOBODY
        return self._read[member]


def _face(data: bytes) -> Face:
    card = json.loads(data)
    return Face(name=card["name"], initials=card["initials"])
