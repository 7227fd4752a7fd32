"""
Who is signed in on which browser.

The cookie holds a random secret, the row its hash; ending a session deletes the row, so it
ends at once. Ends after 30 days, or after 14 days without a visit (common practice, no
source); and where it would last for longer, as the clock was wrong when it began.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, delete, not_, or_, select, update

from coop.ids import MemberId
from coop.store import measures
from coop.store.measures import Measures
from coop.store.tables import member_measures, session
from coop.store.tokens import hash_of

LIFE = timedelta(days=30)
IDLE_MAX = timedelta(days=14)
TOUCH_EVERY = timedelta(minutes=10)
CLOCK_BACK_MAX = timedelta(days=2)  # a clock put right by more had made sessions too long
PER_MEMBER_MAX = 20
AGENT_CHARACTERS_MAX = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One signed-in browser; `id_hash` names it on pages and is no secret."""

    id_hash: str
    member: MemberId
    created_at: datetime
    last_seen_at: datetime
    ends_at: datetime
    agent: str
    measures: Measures = field(default_factory=Measures)


def create(
    connection: Connection, *, token: str, member: MemberId, agent: str, now: datetime
) -> Session:
    """Sign a member in under a new token; what is over is swept away on the way."""
    connection.execute(delete(session).where(or_(*_over(now))))
    _make_room(connection, member, now)
    made = Session(
        id_hash=hash_of(token),
        member=member,
        created_at=now,
        last_seen_at=now,
        ends_at=now + LIFE,
        agent=agent[:AGENT_CHARACTERS_MAX],
    )
    values = {column.name: getattr(made, column.name) for column in session.c}
    connection.execute(session.insert().values(values))
    return made


def _over(now: datetime) -> tuple[Any, ...]:
    return (
        session.c.ends_at <= now,
        session.c.ends_at > now + LIFE + CLOCK_BACK_MAX,
        session.c.last_seen_at <= now - IDLE_MAX,
    )


def _make_room(connection: Connection, member: MemberId, now: datetime) -> None:
    """End the member's longest unseen sessions when there are too many."""
    kept = list_of(connection, member, now)[: PER_MEMBER_MAX - 1]
    connection.execute(
        delete(session).where(
            session.c.member == member,
            session.c.id_hash.not_in([one.id_hash for one in kept]),
        )
    )


def find(connection: Connection, token: str, now: datetime) -> Session | None:
    """Return the session of a token, unless it is ended, over or idle for too long."""
    of_member = member_measures.c.member == session.c.member
    row = connection.execute(
        select(session, *measures.COLUMNS)
        .outerjoin(member_measures, of_member)
        .where(session.c.id_hash == hash_of(token), *_on(now))
    ).first()
    return None if row is None else _from(row, measures.from_row(row))


def _on(now: datetime) -> tuple[Any, ...]:
    return tuple(not_(over) for over in _over(now))


def _from(row: Row[Any], chosen: Measures | None = None) -> Session:
    values = {column.name: getattr(row, column.name) for column in session.c}
    said = values | {"member": MemberId(row.member)}
    return Session(**said, measures=chosen or Measures())


def list_of(connection: Connection, member: MemberId, now: datetime) -> list[Session]:
    """List where a member is signed in, last seen first."""
    rows = connection.execute(
        select(session)
        .where(session.c.member == member, *_on(now))
        .order_by(session.c.last_seen_at.desc(), session.c.id_hash)
    )
    return [_from(row) for row in rows]


def touch_is_due(one: Session, now: datetime) -> bool:
    """Say whether "last seen" is old enough to be written again."""
    return now - one.last_seen_at >= TOUCH_EVERY


def touch(connection: Connection, id_hash: str, now: datetime) -> None:
    """Write when a session was last seen; never earlier than it stands."""
    connection.execute(
        update(session)
        .where(session.c.id_hash == id_hash, session.c.last_seen_at < now)
        .values(last_seen_at=now)
    )


def end(connection: Connection, id_hash: str, *, member: MemberId) -> bool:
    """End one session of a member; False when the member has none of that name."""
    ended = connection.execute(
        delete(session).where(session.c.id_hash == id_hash, session.c.member == member)
    )
    return ended.rowcount == 1


def end_all(connection: Connection, member: MemberId, *, but: str | None = None) -> int:
    """End every session of a member, but one if named by its hash; returns how many."""
    where = [session.c.member == member]
    if but is not None:
        where.append(session.c.id_hash != but)
    return connection.execute(delete(session).where(*where)).rowcount
