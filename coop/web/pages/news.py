"""What is new: asked every few seconds by a page that is open, answered in JSON."""

from flask import Blueprint, jsonify, request
from werkzeug.wrappers import Response

from coop.actions.see_news import News, see_news
from coop.actions.see_since import Doings
from coop.ids import MemberId
from coop.ledger.schema import Slip, whole
from coop.web.errors import problem
from coop.web.lately import news_line
from coop.web.page import desk, faces, needs, who
from coop.web.sessions import unnoticed

SEQ_MAX = 999_999_999
UNFIT = 422

pages = Blueprint("news", __name__)


@pages.get("/news")
@unnoticed
@needs("read")
def news() -> Response:
    """Answer `{"head": 812, "lines": ["R-A4: 60 half sheets, KR, just now"], "more": 0}`."""
    try:
        after = whole(0, SEQ_MAX)(request.args.get("after", ""), "after")
    except Slip as slip:
        return problem(UNFIT, slip.refused)
    found = see_news(desk().journal, who().member, after=after)
    faces().gather(_hands(found))
    lines = [news_line(one) for one in found.told]
    return jsonify(head=found.head, lines=lines, more=found.more_count)


def _hands(found: News) -> list[MemberId]:
    """Return who is named, to read their cards at once."""
    return [
        member
        for one in found.told
        for member in (one.by if isinstance(one, Doings) else (one.author,))
    ]
