"""
How far the ledger reached when a page was shown, and when its member was here before.

Both come in one question, in the page's own view of the database: what is written while the
page is made is new to it. A visit is noted after the answer has gone.
"""

from flask import Flask, Response, g

from coop.ids import MemberId
from coop.store import visits
from coop.store.engines import Busy, Engines, Unkept
from coop.store.visits import Point, Seen
from coop.web.page import desk, now, site, who


def install(app: Flask) -> None:
    """Note visits; give templates `seen_seq()`, the last number that a page knows of."""
    app.jinja_env.globals["seen_seq"] = _seen_seq
    app.after_request(_note_visit)


def seen() -> Seen:
    """Return how far the ledger reaches on this page, and the member's visits."""
    if "seen" not in g:
        journal = desk().journal
        g.seen = visits.look(desk().connection, node=journal.node, member=who().member)
    found: Seen = g.seen
    return found


def _seen_seq() -> int:
    return seen().head


def _note_visit(response: Response) -> Response:
    """Note a page that was shown to a member, when that is due."""
    found: Seen | None = g.get("seen")
    if found is not None and found.note_is_due(now()):
        engines, member = site().store.engines, who().member
        here = Point(at=now(), seq=found.head)
        response.call_on_close(lambda: _note(engines, member, here))
    return response


def _note(engines: Engines, member: MemberId, here: Point) -> None:
    try:
        with engines.writing(wait_s=0) as connection:
            visits.note(connection, member, here)
    except (Busy, Unkept):
        return  # the next page notes it
