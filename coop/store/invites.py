"""
Links that let somebody in once: the first coordinator, then each invited member.

The link holds a random secret, the row its hash; used up by one sign-up, dead after 14 days.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from sqlalchemy import Connection, delete, select, update

from coop.ids import EntryId, MemberId
from coop.store.tables import invite
from coop.store.tokens import hash_of

INVITE_LIFE = timedelta(days=14)

Purpose = Literal["first", "member"]
Standing = Literal["good", "used", "over", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Invite:
    """
    An open invitation; `entry` is the member it is for, none for the first coordinator.

    A member who has not joined joins by it; one who has joined sets a new password by it.
    """

    token_hash: str
    purpose: Purpose
    entry: EntryId | None
    made_by: MemberId | None
    expires_at: datetime


def make(
    connection: Connection,
    *,
    token: str,
    purpose: Purpose,
    now: datetime,
    entry: EntryId | None = None,
    made_by: MemberId | None = None,
) -> Invite:
    """Open an invitation; a new one for the first coordinator closes the one before."""
    if purpose == "first":
        connection.execute(delete(invite).where(invite.c.purpose == "first", _unused()))
    made = Invite(
        token_hash=hash_of(token),
        purpose=purpose,
        entry=entry,
        made_by=made_by,
        expires_at=now + INVITE_LIFE,
    )
    values = {name: getattr(made, name) for name in Invite.__dataclass_fields__}
    connection.execute(invite.insert().values(values))
    return made


def _unused() -> Any:
    return invite.c.used_at.is_(None)


def look(connection: Connection, token: str, now: datetime) -> Invite | None:
    """Return the invitation of a token while it is good; looking does not use it up."""
    columns = [invite.c[name] for name in Invite.__dataclass_fields__]
    row = connection.execute(select(*columns).where(*_good(token, now))).first()
    return None if row is None else Invite(**row._asdict())


def _good(token: str, now: datetime) -> tuple[Any, ...]:
    return (invite.c.token_hash == hash_of(token), _unused(), invite.c.expires_at > now)


def standing(connection: Connection, token: str, now: datetime) -> Standing:
    """Say how a token stands; one that was taken back is unknown."""
    where = invite.c.token_hash == hash_of(token)
    row = connection.execute(select(invite.c.used_at, invite.c.expires_at).where(where)).first()
    if row is None:
        return "unknown"
    if row.used_at is not None:
        return "used"
    return "good" if row.expires_at > now else "over"


def use(connection: Connection, token: str, now: datetime) -> Invite | None:
    """Use an invitation up and return it; None when it is used, over or unknown."""
    found = look(connection, token, now)
    taken = connection.execute(update(invite).where(*_good(token, now)).values(used_at=now))
    return found if taken.rowcount == 1 else None


def close(connection: Connection, token_hash: str) -> bool:
    """Take an unused invitation back; False when there is none."""
    closed = connection.execute(
        delete(invite).where(invite.c.token_hash == token_hash, _unused())
    )
    return closed.rowcount == 1


def close_of(connection: Connection, entry: EntryId) -> int:
    """Take all unused invitations of one member back; returns how many there were."""
    closed = connection.execute(delete(invite).where(invite.c.entry == entry, _unused()))
    return closed.rowcount


def open_ones(connection: Connection, now: datetime) -> list[Invite]:
    """List the invitations that still let somebody in, first to end first."""
    columns = [invite.c[name] for name in Invite.__dataclass_fields__]
    rows = connection.execute(
        select(*columns)
        .where(_unused(), invite.c.expires_at > now)
        .order_by(invite.c.expires_at, invite.c.token_hash)
    )
    return [Invite(**row._asdict()) for row in rows]
