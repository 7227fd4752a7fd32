"""
When members were here: a visit begins with the first page after hours without one.

How far this node's chain reached is kept beside the time, so that what came in since is found
by its number: what a phone wrote days ago and handed in this morning is new, too. Written
every ten minutes at most, so what was seen in the last ten may be shown as new once more.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, bindparam, case, literal, or_, select
from sqlalchemy.dialects import postgresql, sqlite

from coop.ids import MemberId, NodeId
from coop.store.tables import seal, visit

VISIT_GAP = timedelta(hours=4)
NOTE_EVERY = timedelta(minutes=10)
AHEAD = timedelta(days=1)  # a visit so far in the future was noted by a wrong clock


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A moment, and the last number of this node's chain then."""

    at: datetime
    seq: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """
    What a page knows of a member's visits.

    Attributes:
        head: The last number of the chain, in the page's own view of the database.
        last: When a page was last noted; `before` the end of the visit before that one.
    """

    head: int
    last: Point | None = None
    before: Point | None = None

    def since(self, now: datetime) -> Point | None:
        """Return where the member's last visit ended; None for who was never here before."""
        if self.last is not None and now - self.last.at >= VISIT_GAP:
            return self.last
        return self.before

    def note_is_due(self, now: datetime) -> bool:
        """Say whether this page is to be noted."""
        if self.last is None or self.last.at - now >= AHEAD:
            return True
        return now - self.last.at >= NOTE_EVERY


_HEAD = (
    select(seal.c.seq)
    .where(seal.c.node == bindparam("node"))
    .order_by(seal.c.seq.desc())
    .limit(1)
    .scalar_subquery()
    .label("head")
)
_ONE = select(literal(1).label("one")).subquery()
_LOOK = select(_HEAD, visit).select_from(
    _ONE.outerjoin(visit, visit.c.member == bindparam("member"))
)


def look(connection: Connection, *, node: NodeId, member: MemberId) -> Seen:
    """Return how far the chain reaches and when the member was here, in one question."""
    row = connection.execute(_LOOK, {"node": node, "member": member}).one()
    return Seen(
        head=row.head or 0,
        last=_point(row.seen_at, row.seen_seq),
        before=_point(row.before_at, row.before_seq),
    )


def _point(at: datetime | None, seq: int | None) -> Point | None:
    return None if at is None or seq is None else Point(at=at, seq=seq)


def note(connection: Connection, member: MemberId, here: Point) -> None:
    """
    Write that a member saw a page: the visit goes on, or a new one begins.

    What is written already is never put back in time, whatever page comes last, but for what
    was written by a wrong clock.
    """
    row = {"member": member, "seen_at": here.at, "seen_seq": here.seq}
    edges = {"edge": here.at - VISIT_GAP, "ahead": here.at + AHEAD}
    connection.execute(_NOTES[connection.dialect.name], row | edges)


def _note(dialect: Any) -> Any:
    made = dialect.insert(visit).values(
        {name: bindparam(name) for name in ("member", "seen_at", "seen_seq")}
    )
    moment = visit.c.seen_at.type
    is_new = visit.c.seen_at <= bindparam("edge", type_=moment)
    is_ahead = visit.c.seen_at >= bindparam("ahead", type_=moment)
    return made.on_conflict_do_update(
        index_elements=[visit.c.member],
        set_={
            "seen_at": made.excluded.seen_at,
            "seen_seq": made.excluded.seen_seq,
            "before_at": case((is_new, visit.c.seen_at), else_=visit.c.before_at),
            "before_seq": case((is_new, visit.c.seen_seq), else_=visit.c.before_seq),
        },
        where=or_(visit.c.seen_at < made.excluded.seen_at, is_ahead),
    )


_NOTES = {"sqlite": _note(sqlite), "postgresql": _note(postgresql)}
