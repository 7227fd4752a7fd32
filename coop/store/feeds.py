"""
Calendars that members follow from elsewhere: a secret address each, and what it last told.

The address holds 256 random bits, the row their hash. What was told of an event is kept as a
digest, so that its number rises exactly when what it says changes (RFC 5545, 3.8.7.4).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, and_, delete, select

from coop.ids import MemberId
from coop.store.tables import calendar_event, calendar_feed
from coop.store.tokens import hash_of

TOLD_KEPT = timedelta(days=400)
"""What was told of an event that is no longer there is forgotten after so long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A member's calendar; `lang` is the language that its events speak."""

    member: MemberId
    lang: str
    made_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a calendar was last told of an event: its number, and since when it says so."""

    digest: str
    sequence: int
    changed_at: datetime


def make(
    connection: Connection, *, token: str, member: MemberId, lang: str, now: datetime
) -> None:
    """Open a member's calendar under a new secret; the one before opens nothing any more."""
    end(connection, member)
    row = {"member": member, "token_hash": hash_of(token), "lang": lang, "made_at": now}
    connection.execute(calendar_feed.insert().values(row))


def end(connection: Connection, member: MemberId) -> bool:
    """
    Close a member's calendar; False when there was none.

    What events were told stays, so that a renewed calendar goes on counting.
    """
    return connection.execute(_of(member)).rowcount == 1


def _of(member: MemberId) -> Any:
    return delete(calendar_feed).where(calendar_feed.c.member == member)


def forget(connection: Connection, member: MemberId) -> None:
    """Close the calendar of a member who left, and forget what it was told."""
    end(connection, member)
    connection.execute(delete(calendar_event).where(calendar_event.c.member == member))


def find(connection: Connection, token: str) -> Feed | None:
    """Return the calendar that a secret opens."""
    return _feed(connection, calendar_feed.c.token_hash == hash_of(token))


def of_member(connection: Connection, member: MemberId) -> Feed | None:
    """Return a member's calendar; the secret itself is nowhere kept."""
    return _feed(connection, calendar_feed.c.member == member)


def _feed(connection: Connection, where: Any) -> Feed | None:
    row = connection.execute(select(calendar_feed).where(where)).first()
    if row is None:
        return None
    return Feed(member=MemberId(row.member), lang=row.lang, made_at=row.made_at)


def told(connection: Connection, member: MemberId) -> dict[str, Told]:
    """Return what a calendar was last told, by the event's lasting name."""
    rows = connection.execute(select(calendar_event).where(calendar_event.c.member == member))
    return {row.uid: _told(row) for row in rows}


def _told(row: Row[Any]) -> Told:
    return Told(digest=row.digest, sequence=row.sequence, changed_at=row.changed_at)


def renumbered(
    before: Mapping[str, Told], digests: Mapping[str, str], now: datetime
) -> dict[str, Told]:
    """
    Return what is told of each event now: its number is one higher where it says another.

    An event that was gone and is back goes on from the number it had.
    """
    return {uid: _next(before.get(uid), digest, now) for uid, digest in digests.items()}


def _next(before: Told | None, digest: str, now: datetime) -> Told:
    if before is None:
        return Told(digest=digest, sequence=0, changed_at=now)
    if before.digest == digest:
        return before
    return Told(digest=digest, sequence=before.sequence + 1, changed_at=now)


def tell(
    connection: Connection, member: MemberId, digests: Mapping[str, str], now: datetime
) -> dict[str, Told]:
    """
    Write down and return what a calendar is told now.

    What is long gone from it is forgotten.
    """
    before = told(connection, member)
    after = renumbered(before, digests, now)
    changed = {uid: one for uid, one in after.items() if before.get(uid) != one}
    gone = [
        uid
        for uid, one in before.items()
        if uid not in after and now - one.changed_at > TOLD_KEPT
    ]
    mine = calendar_event.c.member == member
    connection.execute(
        delete(calendar_event).where(and_(mine, calendar_event.c.uid.in_([*changed, *gone])))
    )
    rows = [
        {
            "member": member,
            "uid": uid,
            "digest": one.digest,
            "sequence": one.sequence,
            "changed_at": one.changed_at,
        }
        for uid, one in changed.items()
    ]
    if rows:
        connection.execute(calendar_event.insert(), rows)
    return after
