"""What the ledger asks of whoever keeps it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from coop.ids import Digest, EntryId, LedgerId, MemberId, NodeId, Subject
from coop.ledger.accounts import Move
from coop.ledger.entries import Entry, Sealed
from coop.ledger.folding import Folded
from coop.ledger.force import Finding
from coop.ledger.view import View

BATCH_MAX = 1_000
NOTE_BYTES_MAX = 2_000
ATTACHMENT_BYTES_MAX = 300_000
REFOLD_MAX = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Admission:
    """How a batch is taken in: when, on whose word, and how far the device's clock is off."""

    at: datetime
    by: MemberId
    offset_ms: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """Bytes beside the ledger, under a name that tells nothing about them."""

    name: str
    content_type: str
    reach: str
    salt: bytes
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Late:
    """
    Entries that came in late and changed what a bath had been said to be.

    Attributes:
        entry: The last of them in time; `count` how many there were at once.
        before: The word just before they were sealed, without them; `after` with them.
    """

    entry: EntryId
    bath: Subject
    count: int
    before: str
    after: str
    admitted_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """
    What was used of a supply in a week.

    `session` is the booked one, 'class' where a count told that a class used it, or empty.
    """

    substance: str
    week: str
    session: str
    amount: int


class Journal(Protocol):
    """
    The set of a ledger's entries with its folds, within one unit of work.

    A reader may use everything but `append` and `keep`.
    """

    ledger: LedgerId
    node: NodeId

    def append(
        self, entries: Sequence[Entry], admission: Admission, *, fold: bool = True
    ) -> tuple[Sealed, ...]:
        """
        Seal entries (at most `BATCH_MAX`) and fold what they touch.

        An entry that is already here, content and all, is left as it is. With `fold` off
        the folds are only marked stale; whoever reads them folds in memory.
        """
        ...

    def by_id(self, entry_id: EntryId) -> tuple[Sealed, ...]:
        """Return all entries with this id: none, one, or evidence that somebody erred."""
        ...

    def by_ids(self, ids: Iterable[EntryId]) -> dict[EntryId, tuple[Sealed, ...]]:
        """Return all entries with each of many ids; those that are not here are left out."""
        ...

    def touching(self, subject: Subject) -> tuple[Sealed, ...]:
        """Return the entries that concern a subject, corrections of them included."""
        ...

    def touching_any(self, subjects: Iterable[Subject]) -> dict[Subject, tuple[Sealed, ...]]:
        """Return the entries that concern each of many subjects, corrections included."""
        ...

    def after(self, seq: int, *, most: int) -> tuple[Sealed, ...]:
        """Return what this node sealed after a number of its chain, the newest first."""
        ...

    def view(self, *, known: datetime | None = None) -> View:
        """Return the folds, as of now or as they were known at a moment."""
        ...

    def listed(
        self, sort: str, *, home: Subject | None = None, live: bool = True
    ) -> tuple[Any, ...]:
        """Return the states of one sort, by place and age; only live ones unless asked."""
        ...

    def gather(self, sorts: Iterable[str], *, live: bool = True) -> None:
        """Read what `listed` will be asked for of several sorts, in one question."""
        ...

    def listed_in(self, sort: str, homes: Collection[Subject]) -> tuple[Any, ...]:
        """Return what `listed` gives of several homes, live or not."""
        ...

    def state(self, sort: str, subject: Subject | None) -> Any:
        """Return one subject's state now, or None."""
        ...

    def states(self, sort: str, subjects: Iterable[Subject]) -> dict[Subject, Any]:
        """Return the states of several subjects of one sort; who has none is left out."""
        ...

    def folded(self, sort: str, subject: Subject) -> Folded:
        """Return one subject's fold now."""
        ...

    def findings(self, *, codes: Iterable[str] = ()) -> tuple[tuple[Subject, Finding], ...]:
        """Return what is odd in the history, with the subject it concerns."""
        ...

    def moves(self, account: str) -> tuple[Move, ...]:
        """Return the rows in and out of an account."""
        ...

    def held(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        """Return what accounts hold, by (account, substance); what is empty is left out."""
        ...

    def holding(self, sort: str) -> dict[tuple[str, str], int]:
        """Return what all accounts of one sort hold that are not empty, as `held` does."""
        ...

    def since(self, moments: Mapping[str, datetime]) -> dict[tuple[str, str], int]:
        """Return what came to each account after a moment of its own, less what went out."""
        ...

    def moved_to(
        self, accounts: Iterable[str], *, since: datetime, until: datetime
    ) -> tuple[Move, ...]:
        """Return the rows that came to accounts from a moment on and before another."""
        ...

    def drawn(self, substances: Iterable[str], *, week: str) -> tuple[Drawn, ...]:
        """
        Return what was used of supplies out of lots, from a week on.

        Moved from lot to lot, or put right as lost or miscounted, is not used.
        """
        ...

    def first_drawn(self, substances: Iterable[str]) -> dict[str, str]:
        """Return the week in which each supply was first used, classes left out."""
        ...

    def doubts(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        """
        Return how far what was taken from accounts may be off, by (account, substance).

        Doubts are added as they are: one spoon measures out a whole lot, so it errs one way.
        """
        ...

    def keep(self, attachment: Attachment) -> None:
        """Keep an attachment; one with the same name is left as it is."""
        ...

    def attachment(self, name: str) -> Attachment | None:
        """Return an attachment, or None when it is not here (or was erased)."""
        ...

    def attachments(self, names: Iterable[str]) -> dict[str, Attachment]:
        """Return several attachments by their names; what is not here is left out."""
        ...

    def note_late(self, late: Late) -> None:
        """Remember that a late arrival changed an answer; the same one is noted once."""
        ...

    def late(self, *, since: datetime) -> tuple[Late, ...]:
        """Return late arrivals sealed from a moment on, the newest first."""
        ...

    def head(self) -> tuple[int, Digest | str]:
        """Return the last number and digest of this node's chain; (0, '') at the start."""
        ...
