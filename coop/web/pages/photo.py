"""One photo: of a fault, or of a beauty."""

from flask import Blueprint, Response, abort, request
from werkzeug.wrappers import Response as AnyResponse

from coop.actions.write import PHOTO_TYPE
from coop.web.page import desk, needs
from coop.web.security import keepable

pages = Blueprint("photo", __name__)


@pages.get("/photo/<name>")
@keepable
@needs("read")
def photo(name: str) -> AnyResponse:
    """Answer with the photo; a browser that has it asks each time, as it may be erased."""
    kept = desk().journal.attachment(name)
    if kept is None or kept.content_type != PHOTO_TYPE:
        abort(404)
    answer = Response(kept.data, mimetype=PHOTO_TYPE)
    answer.headers["Content-Disposition"] = "inline"
    answer.set_etag(name)
    return answer.make_conditional(request)
