"""My calendar: the secret address by which another program follows what is booked and due."""

from dataclasses import dataclass

from flask import Blueprint, flash, redirect, url_for
from werkzeug.wrappers import Response

from coop.store import feeds
from coop.store.tokens import new_token
from coop.web.page import desk, needs, now, show, who, words, writing
from coop.web.security_log import note

pages = Blueprint("my_calendar", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class MyCalendarPage:
    """`since` is empty where there is no address; `address` is there just after it was made."""

    since: str
    address: str


def _page(address: str = "") -> Response:
    feed = feeds.of_member(desk().connection, who().member)
    page = MyCalendarPage(
        since=words().moment(feed.made_at) if feed else "",
        address=address,
    )
    return show("my_calendar.html", page=page)


@pages.get("/me/calendar")
@needs("keep-own-account")
def my_calendar() -> Response:
    return _page()


@pages.post("/me/calendar")
@needs("keep-own-account")
def new_address() -> Response:
    """Make an address, in place of the one before; it is shown this one time."""
    token = new_token()
    with writing() as unit:
        feeds.make(
            unit.connection, token=token, member=who().member, lang=words().lang, now=now()
        )
    note("calendar-made", who().member)
    return _page(url_for("calendar.calendar", secret=token, _external=True))


@pages.post("/me/calendar/end")
@needs("keep-own-account")
def end_address() -> Response:
    with writing() as unit:
        feeds.end(unit.connection, who().member)
    note("calendar-closed", who().member)
    flash(words().gettext("That address opens nothing any more."), "written")
    return redirect(url_for("my_calendar.my_calendar"), 303)
