"""What taking drafts in asks of whoever keeps those that wait for a person."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from coop.ids import Subject
from coop.ledger.schema import Refused

WAITING, SEALED, LEFT_OUT, GIVEN_UP = "waiting", "sealed", "left_out", "given_up"
ALREADY = "already"
UNSETTLED = (WAITING, GIVEN_UP)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """
    A draft that the server has, and has not sealed.

    Attributes:
        id: The id of the entry it would be; empty where that could not be read.
        digest: SHA-256 of its text, which is kept as it came.
        sender: The device that brought it, or the member who handed it in.
        device: The device it was written on, or else its sender; `device_seq` its count.
        refused: Why it was not sealed.
        outcome: waiting, sealed, left_out (both by a person), given_up (by its writer), or
            already: what it says came another way, so that its count alone stands here.
    """

    id: str
    digest: str
    sender: Subject
    device: Subject
    device_seq: int | None
    text: str
    refused: Refused
    received_at: datetime
    offset_ms: int
    outcome: str = WAITING


class Shelf(Protocol):
    """Where drafts wait for a person; nothing but settled notes is ever taken off it."""

    def hold(self, one: Held) -> None:
        """Put a draft on the shelf; one with the same id and text is left as it is."""
        ...

    def held(self, draft_id: str) -> tuple[Held, ...]:
        """Return what is held under an id."""
        ...

    def held_any(self, draft_ids: Iterable[str]) -> tuple[Held, ...]:
        """Return what is held under several ids, in no order."""
        ...

    def left_by(self, sender: Subject) -> int:
        """Return how many are held of a sender's that nobody settled."""
        ...

    def settle(self, one: Held, outcome: str) -> None:
        """Write down what a person made of it; whoever does keeps its note elsewhere."""
        ...

    def offsets(self, device_ids: Iterable[Subject]) -> Mapping[Subject, int]:
        """Return how far clocks were ahead when their devices were last heard [ms]."""
        ...
