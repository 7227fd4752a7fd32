"""Correct an entry: void it, put other content in its place, or bring it back."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coop.actions.ask_about import another_kind
from coop.actions.write import Who
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.canon import parse
from coop.ledger.entries import Sealed, read_content
from coop.ledger.force import Finding, InForce, resolve
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Journal
from coop.ledger.schema import Slip
from coop.ledger.table import KINDS, judged, target
from coop.people.may import UNDO_FOR, may_correct

SUPERSEDES_MAX = 50
CORRECTION = "entry.corrected"
BATHS_NAMED = ("bath", "giver", "size")


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """
    An entry as it was written and as it stands now.

    Attributes:
        in_force: What counts now; None when a correction took it out.
        corrections: Every correction of it, the oldest first.
    """

    original: Sealed
    in_force: InForce | None
    corrections: tuple[Sealed, ...]

    @property
    def id(self) -> EntryId:
        return self.original.entry.id

    @property
    def kind(self) -> str:
        return self.original.entry.kind

    @property
    def author(self) -> MemberId:
        return self.in_force.author if self.in_force else self.original.entry.author

    @property
    def at(self) -> datetime:
        return self.in_force.at if self.in_force else self.original.entry.happened_at

    @property
    def precision(self) -> str:
        """How exact that is."""
        return (self.in_force or self.original.entry).precision

    @property
    def seen(self) -> tuple[str, ...]:
        return tuple(one.entry.id for one in self.corrections)[-SUPERSEDES_MAX:]

    def body(self) -> dict[str, Any]:
        """Return the body that stands, or what was written when none does."""
        chosen = self.in_force.correction if self.in_force else None
        for one in self.corrections:
            said = one.entry.content
            assert isinstance(said, EntryCorrected)
            if one.entry.id == chosen and said.content is not None:
                return dict(said.content.body)
        written: Any = parse(self.original.entry.data)["body"]
        return dict(written)


def see_entry(journal: Journal, entry: EntryId) -> Standing | None:
    """Return an entry with its corrections; None when there is none, or it corrects another."""
    originals = journal.by_id(entry)
    if not originals or isinstance(originals[0].entry.content, EntryCorrected):
        return None
    corrections = [
        one
        for one in journal.touching(target(entry))
        if isinstance(one.entry.content, EntryCorrected)
    ]
    resolved = resolve((*originals, *corrections))
    original = (
        resolved.in_force[0].original if resolved.in_force else resolved.struck[0].original
    )
    return Standing(
        original=original,
        in_force=resolved.in_force[0] if resolved.in_force else None,
        corrections=tuple(
            sorted(corrections, key=lambda one: (one.entry.written_at, one.entry.id))
        ),
    )


def may_mend(who: Who, original: Sealed, *, now: datetime) -> bool:
    """Say whether somebody may correct an entry."""
    return may_correct(
        who.roles,
        original.entry.kind,
        own=original.entry.author == who.member,
        age=now - original.first.admitted_at,
        undo=False,
    )


def may_undo(who: Who, original: Sealed, *, now: datetime) -> bool:
    """Say whether somebody may take out in one tap what they have just written."""
    own = original.entry.author == who.member
    recent = now - original.first.admitted_at <= UNDO_FOR
    return own and recent and may_mend(who, original, now=now)


def void(standing: Standing, *, reason: str, seen: tuple[str, ...]) -> dict[str, Any]:
    """Return the body of a correction that takes an entry out; `seen` are those it follows."""
    return _correction(standing, "void", reason, seen)


def restore(standing: Standing, *, reason: str, seen: tuple[str, ...]) -> dict[str, Any]:
    """Return the body of a correction that brings back what was first written."""
    return _correction(standing, "restore", reason, seen)


def put_in_place(
    journal: Journal,
    standing: Standing,
    body: Mapping[str, Any],
    *,
    at: datetime,
    reason: str,
    seen: tuple[str, ...],
) -> dict[str, Any]:
    """
    Return the body of a correction that puts other content in an entry's place.

    Args:
        body: The whole new body, of the entry's own kind.
        at: When it happened.
        seen: The corrections its writer saw.

    Raises:
        Slip: The new body is not in its form, names something the ledger does not know, or
            another bath to which this cannot have been done; the field is named as in the
            correction's body.
    """
    content = read_content(KINDS[standing.kind], body, "content.body")
    for sort, subject in KINDS[standing.kind].touches(standing.id, content):
        if subject != Subject(standing.id) and journal.state(sort, subject) is None:
            raise Slip(f"content.body.{sort}", "not-known")
    before = standing.body()
    odd = another_kind(journal, content)
    if odd is not None and any(body.get(one) != before.get(one) for one in BATHS_NAMED):
        raise Slip(f"content.body.{odd.field}", odd.code)
    placed: dict[str, Any] = {
        "author": standing.author,
        "happened_at": at.isoformat(),
        "body": dict(body),
    }
    said = standing.in_force.said if standing.in_force else standing.original.entry.said
    if said is not None and at == standing.at:
        placed["said"] = {"typed": said.typed, "precision": said.precision}
    return _correction(standing, "replace", reason, seen) | {"content": placed}


def _correction(
    standing: Standing, outcome: str, reason: str, seen: tuple[str, ...]
) -> dict[str, Any]:
    body: dict[str, Any] = {"target": standing.id, "outcome": outcome}
    if reason:
        body["reason"] = reason
    if seen:
        body["supersedes"] = list(seen)
    return body


def odd_about(journal: Journal, entry: EntryId) -> tuple[tuple[Subject, Finding], ...]:
    """Return what is odd about an entry and was not judged by a person."""
    found = []
    for subject, finding in journal.findings():
        if finding.entry != entry:
            continue
        judgement = journal.state("judgement", judged(subject))
        if judgement is None or (finding.code, finding.entry) not in judgement.seen:
            found.append((subject, finding))
    return tuple(found)
