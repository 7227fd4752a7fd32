"""What every fold takes and gives."""

from dataclasses import dataclass
from typing import Any, Protocol

from coop.ids import EntryId, Subject
from coop.ledger.accounts import Move
from coop.ledger.force import Finding, InForce

FOLD_VERSION = 12


class Inputs(Protocol):
    """States of other subjects a fold may ask for; asking makes them its inputs."""

    def state(self, sort: str, subject: Subject | None) -> Any:
        """Return the state of a subject, or None when nothing is known of it."""
        ...

    def given(self, giver: Subject, entry: EntryId) -> Any:
        """
        Return a bath's state just before one of its entries, or None.

        What a bath hands over depends on nothing that happens to it later, so two baths
        may give to one another in turn.
        """
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """
    What a fold comes to.

    Attributes:
        state: The state; None when nothing in force makes the subject.
        moves: Rows this subject owns.
        home: The subject it is listed under (a bath under its studio).
        live: Whether lists of what is in use show it.
        place: Where it stands in such a list.
    """

    state: Any
    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()
    home: str = ""
    live: bool = False
    place: int = 0


NOTHING = Folded(state=None)


class Fold(Protocol):
    """A pure function over what is in force for one subject, in fold order."""

    def __call__(
        self, subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
    ) -> Folded: ...


class Resume(Protocol):
    """
    A fold taken up at its end: from a state, over one entry later than all in it.

    Gives the state that the whole fold would give, with the moves and findings of this entry
    alone; None when the entry is not surely the last in fold order.
    """

    def __call__(self, state: Any, one: InForce, inputs: Inputs) -> Folded | None: ...
