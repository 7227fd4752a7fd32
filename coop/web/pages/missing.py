"""What is not there, and what is not for everybody: said in words, on a page of the ledger."""

from dataclasses import dataclass

from flask import Blueprint, request
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response

from coop.web.page import show, words
from coop.web.security import ASSETS

pages = Blueprint("missing", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingPage:
    title: str
    text: str


@pages.app_errorhandler(404)
def not_there(error: HTTPException) -> Response | HTTPException:
    if request.blueprint == ASSETS:
        return error
    page = MissingPage(
        title=words().gettext("There is no such page"),
        text=words().gettext(
            "The ledger knows nothing by this address. It may have been mistyped, or the tag "
            "may belong to another co-operative."
        ),
    )
    return show("missing.html", page=page, status=404)


@pages.app_errorhandler(403)
def not_allowed(error: HTTPException) -> Response | HTTPException:
    page = MissingPage(
        title=words().gettext("This is not for your roles"),
        text=words().gettext("Ask a coordinator: they can do it, or give you the role."),
    )
    return show("missing.html", page=page, status=403)
