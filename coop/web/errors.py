"""What is shown when a page cannot be: what went wrong, that nothing is lost, what to do."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from flask import Flask, Response, g, jsonify, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, InternalServerError
from werkzeug.wrappers import Response as AnyResponse

from coop.ledger.schema import Refused
from coop.web import words as say
from coop.web.devices import may_work_offline
from coop.web.i18n import N_
from coop.web.page import Shell, shell, site, words
from coop.web.security_log import note

OPEN_TOO_LONG = "open-too-long"
IN_THE_CLEAR = "in-the-clear"
KEPT_HEADERS = ("Allow", "Retry-After")
JSON = "application/json"
PROBLEM = "application/problem+json"  # RFC 9457


@dataclass(frozen=True, slots=True)
class Told:
    """What a page of an error says: its heading, what to do, and where."""

    title: str
    advice: str
    way: tuple[str, str] | None = None


TOLD: Mapping[int | str, Told] = MappingProxyType(
    {
        OPEN_TOO_LONG: Told(
            N_("This page was open too long"),
            N_(
                "Nothing is lost: go back in your browser, load the page again and send what "
                "you typed once more."
            ),
        ),
        400: Told(
            N_("This could not be read"),
            N_("Go back, load the page again and send it once more."),
        ),
        401: Told(
            N_("This phone or tablet is not known here"),
            N_(
                "What it keeps stays on it. Set it up anew, signed in, or save what waits as a "
                "file and hand that in."
            ),
            (N_("Hand in a file"), "/rescue"),
        ),
        IN_THE_CLEAR: Told(
            N_("This phone or tablet is not known here"),
            N_(
                "This page came without encryption, and nothing is set up from such a page. "
                "What a phone keeps stays on it: open the ledger there by its https address, "
                "or save what waits as a file and hand that in."
            ),
            (N_("Hand in a file"), "/rescue"),
        ),
        403: Told(
            N_("Your roles do not let you do this"),
            N_("Ask a coordinator: they may do it, or give you the role."),
        ),
        404: Told(
            N_("There is no such page"),
            N_("The address may have lost a part. Start from what is in the room."),
        ),
        405: Told(
            N_("This page is not asked for in this way"),
            N_("Go to the page itself and send its form again."),
        ),
        413: Told(
            N_("That was too much at once"),
            N_("Go back and send a shorter text, a smaller picture, or the file in parts."),
        ),
        415: Told(
            N_("This is not sent in this form"),
            N_("Load the page again and send it once more."),
        ),
        421: Told(
            N_("This server does not go by that name"),
            N_("Open the ledger by the address that the studio gave you."),
        ),
        429: Told(
            N_("Too many tries"),
            N_("Wait a quarter of an hour, then try again."),
        ),
        500: Told(
            N_("Something went wrong on the server"),
            N_(
                "What was written before is safe. Go back and look whether what you wrote "
                "last stands; if not, send it again. Tell whoever runs the server."
            ),
        ),
        503: Told(
            N_("The ledger is busy"),
            N_("Nothing is lost: wait a moment, go back and send it again."),
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorPage:
    """`way` is the text and the address of a button, beside the one to the room."""

    title: str
    advice: str
    way: tuple[str, str] | None


def install(app: Flask) -> None:
    """Answer every error in words."""
    for code in TOLD:
        if isinstance(code, int):
            app.register_error_handler(code, _answer)
    app.register_error_handler(401, _answer_unknown_device)
    app.register_error_handler(CSRFError, _answer_open_too_long)


def _answer(error: HTTPException) -> AnyResponse:
    return _answered(error, TOLD[error.code or InternalServerError.code])


def _answer_unknown_device(error: HTTPException) -> AnyResponse:
    return _answered(error, TOLD[401 if may_work_offline() else IN_THE_CLEAR])


def _answer_open_too_long(error: HTTPException) -> AnyResponse:
    note("form-token-wrong")
    return _answered(error, TOLD[OPEN_TOO_LONG])


def _answered(error: HTTPException, told: Told) -> AnyResponse:
    status = error.code or InternalServerError.code
    title, advice = words().gettext(told.title), words().gettext(told.advice)
    if _wants_json():
        response: Any = jsonify(title=title, detail=advice, status=status)
        response.mimetype = PROBLEM
    else:
        way = (words().gettext(told.way[0]), told.way[1]) if told.way else None
        page = ErrorPage(title=title, advice=advice, way=way)
        around = shell() if status < InternalServerError.code else _bare_shell()
        response = Response(
            render_template("error.html", page=page, shell=around), mimetype="text/html"
        )
    response.status_code = status
    for name, value in error.get_headers():
        if name in KEPT_HEADERS:
            response.headers[name] = value
    return response  # type: ignore[no-any-return]  # jsonify and Response are both answers


def problem(status: int, refused: Refused) -> AnyResponse:
    """Answer a script that something it sent cannot be read: which field, and what is right."""
    told = {
        "title": words().gettext(TOLD[400].title),
        "detail": say.refusal(words(), refused),
        "status": status,
        "code": refused.code,
        "field": refused.field,
    }
    response: AnyResponse = jsonify(told)
    response.mimetype = PROBLEM
    response.status_code = status
    return response


def _wants_json() -> bool:
    """Say whether a script asks: it would rather have JSON than a page."""
    best = request.accept_mimetypes.best_match(["text/html", JSON])
    return best == JSON


def _bare_shell() -> Shell:
    """Return what stands around a page when the database may not answer."""
    opened = g.get("ledger")
    return Shell(
        ledger_name=opened.name if opened else words().gettext("Studio ledger"),
        member_name="",
        roles=frozenset(),
        signed_in=False,
        demo=site().settings.demo,
        lang=words().lang,
        plain_http_banner=False,
        nav_here="",
    )
