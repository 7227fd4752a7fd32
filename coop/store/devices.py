"""
Phones and tablets as this server knows them: their secret, and what they last said.

Who writes on one, and whether it is revoked, stands in the ledger; ending the row here closes
the door at once.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Text, cast, delete, func, select, update
from sqlalchemy.dialects.postgresql import JSON

from coop.ids import MemberId, Subject
from coop.ledger.table import written_on
from coop.store.folds import in_parts
from coop.store.tables import arrival, device, device_pin, entry, touch, waiting_draft
from coop.store.tokens import hash_of
from coop.sync.message import Push
from coop.sync.ports import ALREADY, GIVEN_UP, LEFT_OUT, WAITING

AGENT_CHARACTERS_MAX = 60
PIN_ROUNDS = 200_000  # a four-digit number is guessed anyway; this slows a curious finger
PIN_SALT_BYTES = 16
PIN_DIGITS = 4
ENDED = "ended"
NOT_SEALED = (WAITING, LEFT_OUT, GIVEN_UP, ALREADY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """
    What a device last said of itself; nothing yet while `heard_at` is None.

    Attributes:
        unsent: Counts it still held then, not taken in.
        offline: Whether it opened its page without a signal.
        stored: Whether its browser promised not to throw its store away.
        offset_ms: How far its clock was ahead.
    """

    id: Subject
    made_at: datetime
    agent: str
    heard_at: datetime | None
    last_seq: int
    unsent: tuple[int, ...]
    kept_count: int
    offline: bool
    stored: bool
    offset_ms: int
    release: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """The check of somebody's four digits on one device (PBKDF2, HMAC-SHA-256)."""

    member: MemberId
    salt: bytes
    rounds: int
    hash: bytes


def enrol(
    connection: Connection, *, device_id: Subject, token: str, agent: str, now: datetime
) -> None:
    """
    Open the door for a device.

    A second time it gets a new secret in place of the old; what was heard of it stays.
    """
    given = {"token_hash": hash_of(token), "agent": agent[:AGENT_CHARACTERS_MAX]}
    again = connection.execute(update(device).where(device.c.id == device_id).values(given))
    if again.rowcount:
        return
    connection.execute(
        device.insert().values(
            **given,
            id=device_id,
            made_at=now,
            last_seq=0,
            unsent="[]",
            kept_count=0,
            offline=0,
            stored=0,
            offset_ms=0,
            release="",
        )
    )


def by_token(connection: Connection, token: str) -> Device | None:
    """Return the device of a secret, None for an unknown or ended one."""
    row = connection.execute(
        select(device).where(device.c.token_hash == hash_of(token))
    ).first()
    return None if row is None else _from(row)


def all_of(connection: Connection) -> dict[Subject, Device]:
    """Return every device that has or had a door here, by its id."""
    return {Subject(row.id): _from(row) for row in connection.execute(select(device))}


def _from(row: Row[Any]) -> Device:
    values = {key: value for key, value in row._asdict().items() if key != "token_hash"}
    return Device(
        **values
        | {
            "id": Subject(row.id),
            "unsent": tuple(json.loads(row.unsent)),
            "offline": bool(row.offline),
            "stored": bool(row.stored),
        }
    )


def heard(
    connection: Connection,
    device_id: Subject,
    push: Push,
    *,
    unsent: Sequence[int],
    offset_ms: int,
    now: datetime,
) -> None:
    """
    Write down what a device said of itself; its last count never goes back.

    Args:
        unsent: What it still holds of what it announced, once this push is answered.
    """
    connection.execute(
        update(device)
        .where(device.c.id == device_id)
        .values(
            heard_at=now,
            last_seq=func.max(device.c.last_seq, push.last_seq)
            if connection.dialect.name == "sqlite"
            else func.greatest(device.c.last_seq, push.last_seq),
            unsent=json.dumps(sorted(unsent)),
            kept_count=push.kept_count,
            offline=int(push.offline),
            stored=int(push.stored),
            offset_ms=offset_ms,
            release=push.release,
        )
    )


def end(connection: Connection, device_id: Subject) -> None:
    """
    Close the door: the secret opens nothing any more, the four digits are gone.

    What it last said of itself stays, so that lines it never sent are not forgotten.
    """
    ended = {"token_hash": f"{ENDED} {device_id}"}  # no SHA-256, so no secret has it
    connection.execute(update(device).where(device.c.id == device_id).values(ended))
    connection.execute(delete(device_pin).where(device_pin.c.device == device_id))


def arrived(connection: Connection, device_ids: Iterable[Subject]) -> dict[Subject, int]:
    """Return how many entries here were written on each of many devices; none is counted."""
    named = {written_on(one): one for one in device_ids}
    found: dict[Subject, int] = dict.fromkeys(named.values(), 0)
    for part in in_parts(named):
        rows = select(arrival.c.subject, arrival.c.entry_count).where(
            arrival.c.subject.in_(part)
        )
        for subject, count in connection.execute(rows):
            found[named[subject]] = count
    return found


def counts(
    connection: Connection, device_ids: Iterable[Subject]
) -> dict[Subject, Counter[int]]:
    """
    Return how often each count of some devices is here.

    The database looks into every entry of those devices: asked only where the sums differ.
    """
    named = {written_on(one): one for one in device_ids}
    found: dict[Subject, Counter[int]] = {one: Counter() for one in named.values()}
    count = _COUNT[connection.dialect.name]
    for part in in_parts(named):
        rows = (
            select(touch.c.subject, count)
            .join_from(touch, entry, entry.c.digest == touch.c.entry)
            .where(touch.c.subject.in_(part))
        )
        for subject, number in connection.execute(rows):
            found[named[subject]][int(number)] += 1
    return found


# Text that each database reads as JSON, as the journal keeps bytes.
_COUNT = {
    "sqlite": func.json_extract(cast(entry.c.bytes, Text), "$.device_seq"),
    "postgresql": cast(func.convert_from(entry.c.bytes, "UTF8"), JSON)["device_seq"].astext,
}


def waiting(connection: Connection) -> dict[Subject, frozenset[int]]:
    """Return for each device the counts of what it sent that is not sealed."""
    rows = select(waiting_draft.c.device, waiting_draft.c.device_seq).where(
        waiting_draft.c.device_seq.is_not(None), waiting_draft.c.outcome.in_(NOT_SEALED)
    )
    found: dict[Subject, set[int]] = {}
    for device_id, count in connection.execute(rows):
        found.setdefault(Subject(device_id), set()).add(count)
    return {device_id: frozenset(counts) for device_id, counts in found.items()}


def set_pin(
    connection: Connection,
    *,
    device_id: Subject,
    member: MemberId,
    digits: str,
    salt: bytes,
    now: datetime,
) -> None:
    """Keep the check of somebody's four digits on a device, in place of one before."""
    assert len(digits) == PIN_DIGITS
    assert len(salt) == PIN_SALT_BYTES
    where = (device_pin.c.device == device_id, device_pin.c.member == member)
    connection.execute(delete(device_pin).where(*where))
    connection.execute(
        device_pin.insert().values(
            device=device_id,
            member=member,
            salt=salt,
            rounds=PIN_ROUNDS,
            hash=hashlib.pbkdf2_hmac("sha256", digits.encode(), salt, PIN_ROUNDS),
            set_at=now,
        )
    )


def unset_pin(connection: Connection, *, device_id: Subject, member: MemberId) -> None:
    """Forget somebody's four digits on a device."""
    where = (device_pin.c.device == device_id, device_pin.c.member == member)
    connection.execute(delete(device_pin).where(*where))


def pins(connection: Connection, device_id: Subject) -> dict[MemberId, Pin]:
    """Return the checks of a device's members."""
    rows = connection.execute(select(device_pin).where(device_pin.c.device == device_id))
    return {
        MemberId(row.member): Pin(
            member=MemberId(row.member),
            salt=bytes(row.salt),
            rounds=row.rounds,
            hash=bytes(row.hash),
        )
        for row in rows
    }
