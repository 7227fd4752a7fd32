"""A member's calendar for other programs, behind a secret address of its own."""

from flask import Blueprint, abort, g, request
from werkzeug.exceptions import TooManyRequests
from werkzeug.wrappers import Response

from coop.actions.calendar import see_calendar
from coop.ids import Subject
from coop.ledger.states import MemberState
from coop.store import feeds, throttle
from coop.store.feeds import Feed
from coop.store.throttle import Try
from coop.web import feed as ical
from coop.web.feed import CALENDAR_TYPE, Dated
from coop.web.i18n import Words, read_catalogues
from coop.web.page import PUBLIC, desk, ledger, needs, now, site, writing, zone
from coop.web.security_log import note

pages = Blueprint("calendar", __name__)


@pages.get("/calendar/<secret>.ics")
@needs(PUBLIC)
def calendar(secret: str) -> Response:
    """Answer with the calendar that a secret opens; 404 for any other, whatever it once was."""
    tries = throttle.by_calendar_address(request.remote_addr or "")
    refused = throttle.tried_too_often(desk().connection, tries, now())
    if refused is not None:
        raise TooManyRequests(retry_after=refused.retry_after_s)
    feed = feeds.find(desk().connection, secret)
    member = _member(feed)
    if feed is None or member is None:
        _count(tries)
        note("calendar-unknown")
        abort(404)
    words = Words(feed.lang, zone(), read_catalogues()[feed.lang])
    look = see_calendar(
        desk().journal,
        member.id,
        frozenset(member.roles),
        now=now(),
        demo=site().settings.demo,
    )
    events = ical.dated(words, look, desk().journal.ledger)
    name = ledger().name
    text = ical.as_ical(
        events,
        _told(feed, events),
        words=words,
        name=name,
        origin=request.host_url.rstrip("/"),
    )
    return Response(text, content_type=f"{CALENDAR_TYPE}; charset=utf-8")


def _member(feed: Feed | None) -> MemberState | None:
    """Return the member of a calendar, who must still be in."""
    if feed is None or g.ledger is None:
        return None
    state: MemberState | None = desk().journal.state("member", Subject(feed.member))
    return state if state and state.roles and state.left_at is None else None


def _count(tries: Try) -> None:
    with writing() as unit:
        throttle.count_try(unit.connection, tries, now())


def _told(feed: Feed, events: tuple[Dated, ...]) -> dict[str, feeds.Told]:
    """Return the number of each event; the writer is taken only where one has changed."""
    said = ical.digests(events)
    before = feeds.told(desk().connection, feed.member)
    after = feeds.renumbered(before, said, now())
    if all(before.get(uid) == one for uid, one in after.items()):
        return after
    with writing() as unit:
        return feeds.tell(unit.connection, feed.member, said, now())
