"""The shelf of drafts that wait for a person, in the database."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, Row, func, select, update

from coop.ids import Subject
from coop.ledger.schema import Refused
from coop.store.folds import ignore_twice, in_parts
from coop.store.tables import device, waiting_draft
from coop.sync.outbox import without_note
from coop.sync.ports import UNSETTLED, WAITING, Held

SHOWN_MAX = 200


class SqlShelf:
    """The `Shelf` of one unit of work on one connection."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def hold(self, one: Held) -> None:
        ignore_twice(self._connection, waiting_draft, [_row(one)])

    def held(self, draft_id: str) -> tuple[Held, ...]:
        rows = select(waiting_draft).where(waiting_draft.c.id == draft_id)
        return _all(self._connection.execute(rows.order_by(waiting_draft.c.received_at)))

    def held_any(self, draft_ids: Iterable[str]) -> tuple[Held, ...]:
        return tuple(
            held
            for part in in_parts(draft_ids)
            for held in _all(
                self._connection.execute(
                    select(waiting_draft).where(waiting_draft.c.id.in_(part))
                )
            )
        )

    def left_by(self, sender: Subject) -> int:
        rows = select(func.count()).where(
            waiting_draft.c.sender == sender, waiting_draft.c.outcome.in_(UNSETTLED)
        )
        return int(self._connection.scalar(rows) or 0)

    def settle(self, one: Held, outcome: str) -> None:
        """Write down what was made of it; its free note is no longer on the shelf then."""
        self._connection.execute(
            update(waiting_draft)
            .where(waiting_draft.c.id == one.id, waiting_draft.c.digest == one.digest)
            .values(outcome=outcome, text=without_note(one.text))
        )

    def offsets(self, device_ids: Iterable[Subject]) -> Mapping[Subject, int]:
        return {
            Subject(row.id): row.offset_ms
            for part in in_parts(device_ids)
            for row in self._connection.execute(
                select(device.c.id, device.c.offset_ms).where(device.c.id.in_(part))
            )
        }

    def waiting_count(self) -> int:
        """Return how many wait for a person."""
        rows = select(func.count()).where(waiting_draft.c.outcome == WAITING)
        return int(self._connection.scalar(rows) or 0)

    def waiting(self) -> tuple[Held, ...]:
        """Return what waits for a person, the oldest first, at most `SHOWN_MAX`."""
        rows = (
            select(waiting_draft)
            .where(waiting_draft.c.outcome == WAITING)
            .order_by(waiting_draft.c.received_at, waiting_draft.c.id)
            .limit(SHOWN_MAX)
        )
        return _all(self._connection.execute(rows))


def _row(one: Held) -> dict[str, Any]:
    return {
        "id": one.id,
        "digest": one.digest,
        "sender": one.sender,
        "device": one.device,
        "device_seq": one.device_seq,
        "text": one.text,
        "field": one.refused.field,
        "code": one.refused.code,
        "received_at": one.received_at,
        "offset_ms": one.offset_ms,
        "outcome": one.outcome,
    }


def _all(rows: Iterable[Row[Any]]) -> tuple[Held, ...]:
    return tuple(
        Held(
            id=row.id,
            digest=row.digest,
            sender=Subject(row.sender),
            device=Subject(row.device),
            device_seq=row.device_seq,
            text=row.text,
            refused=Refused(field=row.field, code=row.code),
            received_at=row.received_at,
            offset_ms=row.offset_ms,
            outcome=row.outcome,
        )
        for row in rows
    )
