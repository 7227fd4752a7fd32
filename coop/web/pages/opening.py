"""The first visit: the ledger is opened by its first coordinator, through a one-use address."""

from dataclasses import dataclass

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.web.page import PUBLIC, needs, show

pages = Blueprint("opening", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedPage:
    pass


@pages.get("/not-open")
@needs(PUBLIC)
def closed() -> Response:
    return show("closed.html", page=ClosedPage(), status=503)
