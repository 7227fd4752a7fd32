"""
What a device keeps of one thing somebody wrote: a text that every later release can read.

The device made it from a form and never looks inside again; version, entry and note stand
in it. See `fixtures/wire/outbox` for every form that was ever shipped.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coop.ids import Digest, Subject, is_uuid
from coop.ledger import canon
from coop.ledger.canon import NotCanonical
from coop.ledger.entries import Entry, read_entry
from coop.ledger.ports import NOTE_BYTES_MAX, Attachment
from coop.ledger.schema import Refused, Slip
from coop.sync.limits import OUTBOX_BYTES_MAX, WHOLE_MAX

OUTBOX_VERSION = 1
_NAME = re.compile(r"[0-9a-f]{64}")
_SALT = re.compile(r"[0-9a-f]{32}")
_KEYS = frozenset({"v", "entry", "note"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One text read: the entry it makes, with its note."""

    text: str
    entry: Entry
    note: Attachment | None

    @property
    def id(self) -> str:
        return self.entry.id

    @property
    def device(self) -> Subject | None:
        return None if self.entry.device is None else Subject(self.entry.device)

    @property
    def device_seq(self) -> int | None:
        return self.entry.device_seq


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A text that makes no entry, with as much of it as could be read."""

    text: str
    id: str
    device: Subject | None
    device_seq: int | None
    note: Attachment | None
    refused: Refused


def name_of(text: str) -> Digest:
    """Return the SHA-256 of a text, by which a server tells two of them apart."""
    return Digest(hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest())


def storable(text: str) -> str:
    """
    Return a text as any database can keep it.

    Half of a surrogate pair and NUL become the escapes that mean them in JSON (RFC 8259,
    section 7); a text that a page of ours made holds neither. A longer one than any that
    can be read is cut off.
    """
    plain = text.replace("\0", "\\u0000").encode("utf-8", "backslashreplace")
    return plain[:OUTBOX_BYTES_MAX].decode("utf-8", "ignore")


def without_note(text: str) -> str:
    """
    Return a text that `read_outbox` could read with no free note in it; the entry names it.

    >>> without_note('{"v":1,"entry":{},"note":{"text":"drips"}}')
    '{"v":1,"entry":{}}'
    """
    record = json.loads(text)
    if "note" not in record:
        return text
    del record["note"]
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"))


def read_outbox(text: str) -> Kept | Unread:
    """Read a text into its entry and note, or say what in it cannot be read."""
    try:
        record = _parsed(text)
        entry = read_entry(_part(record, "entry"))
        name = getattr(entry.content, "note", "")
        return Kept(text=text, entry=entry, note=_note(record, name))
    except Slip as slip:
        refused = slip.refused
    except NotCanonical as fault:
        refused = Refused(field=fault.where, code=fault.code)
    made, device, count = _known_by(text)
    note = _note_beside(text)
    return Unread(
        text=text, id=made, device=device, device_seq=count, note=note, refused=refused
    )


def _parsed(text: str) -> dict[str, Any]:
    record: dict[str, Any] = canon.parse(_bytes(text, ""), longest=OUTBOX_BYTES_MAX)
    if record.get("v") != OUTBOX_VERSION:
        raise Slip("v", "unknown-outbox-version")
    for key in sorted(record.keys() - _KEYS):
        raise Slip(key, "unknown-field")
    return record


def _bytes(text: str, where: str) -> bytes:
    try:
        return text.encode()
    except UnicodeEncodeError:
        raise NotCanonical("lone-surrogate", where) from None


def _part(record: Mapping[str, Any], key: str) -> dict[str, Any]:
    part = record.get(key)
    if not isinstance(part, dict):
        raise Slip(key, "missing" if part is None else "not-a-record")
    return part


def note_named(text: str) -> str:
    """Return the name of the note that a text speaks of, whatever else is wrong with it."""
    try:
        name = json.loads(text)["entry"]["body"]["note"]
    except (ValueError, RecursionError, KeyError, TypeError):
        return ""
    return name if isinstance(name, str) and _NAME.fullmatch(name) else ""


def _note_beside(text: str) -> Attachment | None:
    """Return the note of a text that makes no entry; None where it is none of its own."""
    name = note_named(text)
    if not name:
        return None
    try:
        return _note(json.loads(text), name)
    except (Slip, NotCanonical):
        return None


def _note(record: Mapping[str, Any], name: str) -> Attachment | None:
    """Return the note of this name; a name whose bytes are elsewhere is left so."""
    if "note" not in record:
        return None
    note = _part(record, "note")
    salt, text = note.get("salt"), note.get("text")
    if not isinstance(salt, str) or not _SALT.fullmatch(salt) or not isinstance(text, str):
        raise Slip("note", "not-an-attachment")
    data = _bytes(text, "note")
    if len(data) > NOTE_BYTES_MAX:
        raise Slip("note", "too-long", longest=NOTE_BYTES_MAX)
    if hashlib.sha256(bytes.fromhex(salt) + data).hexdigest() != name:
        raise Slip("note", "not-an-attachment")
    return Attachment(
        name=name,
        content_type="text/plain",
        reach="personal",
        salt=bytes.fromhex(salt),
        data=data,
    )


def _known_by(text: str) -> tuple[str, Subject | None, int | None]:
    """Return what a text is known by: id, device and its count, whatever else is wrong."""
    try:
        entry = json.loads(text)["entry"]
        made, device, count = (entry.get(key) for key in ("id", "device", "device_seq"))
    except (ValueError, RecursionError, KeyError, TypeError, AttributeError):
        return "", None, None
    is_count = type(count) is int and 1 <= count <= WHOLE_MAX
    return (
        made if isinstance(made, str) and is_uuid(made) else "",
        Subject(device) if isinstance(device, str) and is_uuid(device) else None,
        count if is_count else None,
    )
