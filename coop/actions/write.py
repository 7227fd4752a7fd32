"""Write one entry: the one path by which a person's word gets into the ledger."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coop.actions.ask import ask
from coop.actions.come_late import note_changes, words_before
from coop.actions.photos import shrunk
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.canon import NotCanonical, canonical
from coop.ledger.entries import Entry, Sealed, draft, read_entry
from coop.ledger.kinds import (
    DeviceMemberAdded,
    DeviceMemberRemoved,
    DeviceRevoked,
    EntryCorrected,
)
from coop.ledger.ports import NOTE_BYTES_MAX, Admission, Attachment, Journal
from coop.ledger.schema import Refused, Slip
from coop.ledger.states import DeviceState
from coop.people.may import may

SALT_BYTES = 16
PHOTO_TYPE = "image/jpeg"


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Somebody signed in: the member and the roles they have now."""

    member: MemberId
    roles: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """
    What a form or a command hands over.

    Attributes:
        id: Made when the form was first shown; the key by which a second post is known.
        happened_at: When it happened; None takes `now`.
        typed: The time as a person typed it, with its precision; empty when not said.
        written_at: The device's clock at writing; None takes `now`.
        attached: Notes, photos and cards that the body names; kept once the entry is sealed.
    """

    id: EntryId
    kind: str
    body: Mapping[str, Any]
    happened_at: datetime | None = None
    typed: str = ""
    precision: str = "minute"
    written_at: datetime | None = None
    attached: tuple[Attachment, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """It is in the ledger; `already` when it was there before."""

    sealed: Sealed
    already: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """The id is taken by something else; nothing was written."""

    existing: Sealed


Outcome = Written | Clash | Refused


def write(journal: Journal, who: Who, said: Draft, *, now: datetime) -> Outcome:
    """
    Seal what was said from a page, or say why not.

    Returns:
        `Written`; `Clash` when the id already stands for something else; `Refused` with
        the field when the draft is not in its form, its author may not write it, or
        something about it must be answered first (`coop.actions.ask`).
    """
    entry = judge(journal, who, said, now=now)
    if not isinstance(entry, Entry):
        return entry
    before = words_before(journal, [(entry, 0)], now=now)
    (sealed,) = journal.append([entry], Admission(at=now, by=who.member))
    for one in said.attached:
        journal.keep(one)
    note_changes(journal, before, now=now)
    return Written(sealed=sealed)


def judge(journal: Journal, who: Who, said: Draft, *, now: datetime) -> Entry | Outcome:
    """Return the entry that would be sealed, or what `write` would say in its place."""
    try:
        entry = _entry(journal, who, said, now)
    except Slip as slip:
        return slip.refused
    except NotCanonical as fault:
        return Refused(field=fault.where, code=fault.code)
    there = journal.by_id(entry.id)
    if there:
        first = same_as(entry, (one.entry for one in there))
        same = next((one for one in there if one.entry is first), None)
        return Written(sealed=same, already=True) if same else Clash(existing=there[0])
    if not may(who.roles, entry.kind, own=own(journal, entry)):
        return Refused(field="kind", code="not-allowed")
    return ask(journal, entry, who.roles, now=now, attached=said.attached) or entry


def _entry(journal: Journal, who: Who, said: Draft, now: datetime) -> Entry:
    typed = {"typed": said.typed, "precision": said.precision} if said.typed else None
    return read_entry(
        draft(
            ledger=journal.ledger,
            id=said.id,
            kind=said.kind,
            body=dict(said.body),
            author=who.member,
            happened_at=said.happened_at or now,
            written_at=said.written_at or now,
            said=typed,
        )
    )


def same_as(entry: Entry, others: Iterable[Entry]) -> Entry | None:
    """Find what says the same under the same id: only times and the way it came may differ."""
    said = (entry.kind, entry.author, entry.content)
    return next((one for one in others if (one.kind, one.author, one.content) == said), None)


def own(journal: Journal, entry: Entry) -> bool:
    """Say whether an entry concerns only what is its author's own."""
    match entry.content:
        case EntryCorrected(target=target):
            return all_by(entry.author, (one.entry for one in journal.by_id(EntryId(target))))
        case DeviceMemberAdded(member=member):
            return MemberId(member) == entry.author
        case DeviceMemberRemoved(device=device, member=member):
            return entry.author in (MemberId(member), _enroller(journal, device))
        case DeviceRevoked(device=device):
            return _enroller(journal, device) == entry.author
        case _:
            return True


def all_by(author: MemberId, entries: Iterable[Entry]) -> bool:
    """Say whether somebody wrote all of some entries; nobody is the author of none."""
    authors = {one.author for one in entries}
    return authors == {author}


def _enroller(journal: Journal, device: Subject) -> MemberId | None:
    state: DeviceState | None = journal.state("device", device)
    return state.enrolled_by if state else None


def note(text: str, *, salt: bytes) -> Attachment | None:
    """
    Return a free note as a personal attachment, or None for an empty one.

    Its name is SHA-256 over 16 random bytes and the text, so that the name in the ledger
    tells nothing once the text is erased.

    Raises:
        Slip: The note is longer than `NOTE_BYTES_MAX`.
    """
    assert len(salt) == SALT_BYTES
    data = text.strip().encode()
    if not data:
        return None
    if len(data) > NOTE_BYTES_MAX:
        raise Slip("note", "too-long", longest=NOTE_BYTES_MAX)
    return Attachment(
        name=hashlib.sha256(salt + data).hexdigest(),
        content_type="text/plain",
        reach="personal",
        salt=salt,
        data=data,
    )


def photo(data: bytes, *, salt: bytes) -> Attachment:
    """
    Return a photo, shrunk and without what the camera wrote in it, as a personal attachment.

    It takes up to a second: make it before the writer is opened.

    Raises:
        Slip: It is no photo, or too large a one (`coop.actions.photos`).
    """
    assert len(salt) == SALT_BYTES
    small = shrunk(data)
    return Attachment(
        name=hashlib.sha256(salt + small).hexdigest(),
        content_type=PHOTO_TYPE,
        reach="personal",
        salt=salt,
        data=small,
    )


def card(*, name: str, initials: str, salt: bytes) -> Attachment:
    """Return a member's card, name and initials, as a personal attachment."""
    assert len(salt) == SALT_BYTES
    data = canonical({"name": name, "initials": initials})
    return Attachment(
        name=hashlib.sha256(salt + data).hexdigest(),
        content_type="application/json",
        reach="personal",
        salt=salt,
        data=data,
    )
