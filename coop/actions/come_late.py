"""What came in late, and what it changed of what a bath had been said to be."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.actions.see_baths import see_any
from coop.ids import EntryId, Subject
from coop.ledger.entries import Entry, put_right
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Journal, Late
from coop.ledger.view import family_touches

LATE_AFTER = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Before:
    """A bath's word before late entries were sealed, and those, the earliest first."""

    word: str
    entries: tuple[EntryId, ...]


def words_before(
    journal: Journal, entries: Iterable[tuple[Entry, int]], *, now: datetime
) -> Mapping[Subject, Before]:
    """
    Return, for each bath that late entries are about to touch, what it is said to be.

    Args:
        entries: Each with how far the clock that wrote it was ahead [ms].
    """
    came = [
        (at, entry)
        for entry, offset_ms in entries
        if now - (at := _happened_at(entry, offset_ms)) > LATE_AFTER
    ]
    families = journal.by_ids(filter(None, (_target(entry) for _, entry in came)))
    late: dict[Subject, list[tuple[datetime, EntryId]]] = {}
    for at, entry in came:
        family = [one.entry for one in families.get(_target(entry) or entry.id, ())]
        for sort, subject in family_touches([*family, entry]):
            if sort == "bath" and subject != Subject(entry.id):
                late.setdefault(subject, []).append((at, entry.id))
    return {
        bath: Before(word, tuple(entry for _, entry in sorted(came)))
        for bath, came in late.items()
        if (word := _word(journal, bath, now)) is not None
    }


def _happened_at(entry: Entry, offset_ms: int) -> datetime:
    return entry.happened_at if entry.said else put_right(entry.happened_at, offset_ms)


def _target(entry: Entry) -> EntryId | None:
    """Return the id of what an entry corrects; what that concerns, its correction does too."""
    said = entry.content
    return EntryId(said.target) if isinstance(said, EntryCorrected) else None


def note_changes(journal: Journal, before: Mapping[Subject, Before], *, now: datetime) -> None:
    """Remember which of those baths have another word now that the entries are sealed."""
    for bath, then in before.items():
        word = _word(journal, bath, now)
        if word is not None and word != then.word:
            journal.note_late(
                Late(
                    entry=then.entries[-1],
                    bath=bath,
                    count=len(then.entries),
                    before=then.word,
                    after=word,
                    admitted_at=now,
                )
            )


def _word(journal: Journal, bath: Subject, now: datetime) -> str | None:
    state = journal.state("bath", bath)
    return None if state is None else see_any(journal, state, now=now).answer.word.value
