"""Entries and seals: their wire form, read and written."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from coop.ids import Digest, EntryId, LedgerId, MemberId, NodeId, Subject, is_uuid
from coop.ledger import canon
from coop.ledger.kinds import Content, SaidTime
from coop.ledger.part_of_day import MINUTE
from coop.ledger.schema import Slip, moment, read_record
from coop.ledger.table import DEVICE_COUNT, KIND_OF, KINDS, Kind, Touch, written_on
from coop.ledger.together import held_together

_ENVELOPE = frozenset(
    {"ledger", "id", "kind", "v", "body", "author", "happened_at", "written_at"}
)
_OPTIONAL = frozenset({"said", "device", "device_seq"})
WHOLE_MAX = 2**53 - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """
    What a person said, as it was written.

    Attributes:
        happened_at: When it happened, with its offset.
        said: How a person typed that time; None when it is the clock's.
        written_at: The clock of the device at writing.
        device: Where it was typed; None from a browser that keeps nothing.
        device_seq: That device's own count, 1 for its first.
        data: The canonical bytes; `digest` is their SHA-256.
    """

    ledger: LedgerId
    id: EntryId
    kind: str
    content: Content
    author: MemberId
    happened_at: datetime
    said: SaidTime | None
    written_at: datetime
    digest: Digest
    data: bytes
    device: Subject | None = None
    device_seq: int | None = None

    @property
    def precision(self) -> str:
        """How exact its time is: a clock's, or as somebody said it."""
        return self.said.precision if self.said else MINUTE

    @property
    def touches(self) -> tuple[Touch, ...]:
        touches = tuple(KINDS[self.kind].touches(self.id, self.content))
        if self.device is None:
            return touches
        return (*touches, (DEVICE_COUNT, written_on(self.device)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """How a server took an entry in: one link of that server's chain."""

    ledger: LedgerId
    node: NodeId
    seq: int
    prev: str
    entry_id: EntryId
    entry: Digest
    admitted_at: datetime
    admitted_by: MemberId
    offset_ms: int
    digest: Digest
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """An entry with every seal it has here, the earliest first."""

    entry: Entry
    seals: tuple[Seal, ...]

    @property
    def first(self) -> Seal:
        return self.seals[0]


def draft(
    *,
    ledger: LedgerId,
    id: EntryId,
    kind: str,
    body: dict[str, Any],
    author: MemberId,
    happened_at: datetime,
    written_at: datetime,
    said: dict[str, str] | None = None,
) -> dict[str, Any]:
    """Return the wire record of a draft; nothing is checked here, `read_entry` does that."""
    record: dict[str, Any] = {
        "ledger": ledger,
        "id": id,
        "kind": kind,
        "v": KINDS[kind].v if kind in KINDS else 1,
        "body": body,
        "author": author,
        "happened_at": happened_at.isoformat(),
        "written_at": written_at.isoformat(),
    }
    if said is not None:
        record["said"] = said
    return record


def read_entry(record: dict[str, Any]) -> Entry:
    """
    Read a wire record into an entry; its bytes are put into canonical form.

    Raises:
        Slip: A field is missing, unknown or not in its form.
        NotCanonical: The record holds what no record may hold.
    """
    return _entry(record, canon.canonical(record))


def stored_entry(data: bytes) -> Entry:
    """Read an entry from the bytes a journal keeps: canonical, as `read_entry` made them."""
    return _entry(json.loads(data), data)


def _entry(record: dict[str, Any], data: bytes) -> Entry:
    _check_envelope(record)
    kind = KINDS.get(record["kind"])
    if kind is None:
        raise Slip("kind", "unknown-kind")
    if record["v"] != kind.v:
        raise Slip("v", "unknown-version")
    content = read_content(kind, record["body"], "")
    said = record.get("said")
    return Entry(
        ledger=LedgerId(record["ledger"]),
        id=EntryId(record["id"]),
        kind=kind.code,
        content=content,
        author=MemberId(record["author"]),
        happened_at=moment(record["happened_at"], "happened_at"),
        said=read_record(SaidTime, said, "said") if said is not None else None,
        written_at=moment(record["written_at"], "written_at"),
        digest=canon.digest(data),
        data=data,
        device=Subject(record["device"]) if "device" in record else None,
        device_seq=record.get("device_seq"),
    )


def _check_envelope(record: dict[str, Any]) -> None:
    for key in sorted(record.keys() - _ENVELOPE - _OPTIONAL):
        raise Slip(key, "unknown-field")
    for key in sorted(_ENVELOPE - record.keys()):
        raise Slip(key, "missing")
    for key, form in _FORMS.items():
        if key in record:
            form(record[key], key)
    for one, other in (("device", "device_seq"), ("device_seq", "device")):
        if one in record and other not in record:
            raise Slip(other, "missing")


def _id(raw: object, where: str) -> None:
    if not isinstance(raw, str) or not is_uuid(raw):
        raise Slip(where, "not-an-id")


def _text(raw: object, where: str) -> None:
    if not isinstance(raw, str):
        raise Slip(where, "not-text")


def _record(raw: object, where: str) -> None:
    if not isinstance(raw, dict):
        raise Slip(where, "not-a-record")


def _whole(raw: object, where: str) -> None:
    if not isinstance(raw, int) or not 1 <= raw <= WHOLE_MAX:
        raise Slip(where, "not-a-whole-number", low=1, high=WHOLE_MAX)


_FORMS: Mapping[str, Callable[[object, str], None]] = {
    "ledger": _id,
    "id": _id,
    "author": _id,
    "device": _id,
    "kind": _text,
    "body": _record,
    "said": _record,
    "v": _whole,
    "device_seq": _whole,
}


def read_content(kind: Kind, body: Mapping[str, object], where: str) -> Content:
    """
    Read a body into its kind's content, and hold together what one field alone cannot say.

    Raises:
        Slip: A field is missing, unknown, not in its form, or at odds with another.
    """
    content: Content = read_record(kind.content, body, where)
    problem = held_together(content)
    if problem is not None:
        at = f"{where}.{problem.field}" if where else problem.field
        raise Slip(at, problem.code, **dict(problem.limits))
    return content


def make_seal(
    *,
    entry: Entry,
    node: NodeId,
    seq: int,
    prev: str,
    admitted_at: datetime,
    admitted_by: MemberId,
    offset_ms: int,
) -> Seal:
    """Seal an entry as number `seq` of a node's chain; `prev` is the digest before it."""
    record = {
        "ledger": entry.ledger,
        "node": node,
        "seq": seq,
        "prev": prev,
        "entry_id": entry.id,
        "entry": entry.digest,
        "admitted_at": admitted_at.isoformat(),
        "admitted_by": admitted_by,
        "offset_ms": offset_ms,
    }
    return read_seal(canon.canonical(record))


def read_seal(data: bytes) -> Seal:
    """Read a seal from its canonical bytes, as `make_seal` made them."""
    record: dict[str, Any] = json.loads(data)
    return Seal(
        ledger=LedgerId(record["ledger"]),
        node=NodeId(record["node"]),
        seq=record["seq"],
        prev=record["prev"],
        entry_id=EntryId(record["entry_id"]),
        entry=Digest(record["entry"]),
        admitted_at=moment(record["admitted_at"], "admitted_at"),
        admitted_by=MemberId(record["admitted_by"]),
        offset_ms=record["offset_ms"],
        digest=canon.digest(data),
        data=data,
    )


def put_right(at: datetime, offset_ms: int) -> datetime:
    """
    Return what a device's clock said as the server's clock would have said it.

    Args:
        offset_ms: How far the device's clock was ahead [ms].

    A time that this would carry beyond the calendar's last year stays as it was.
    """
    try:
        return at - timedelta(milliseconds=offset_ms)
    except OverflowError:
        return at


def seal_order(seal: Seal) -> tuple[datetime, str, int, str]:
    """Order seals of one id: the earliest decides which content is in force."""
    return seal.admitted_at, seal.node, seal.seq, seal.digest


def kind_of(content: Content) -> str:
    """Return the wire name of a content's kind."""
    return KIND_OF[type(content)].code
