"""What is shown when a page cannot be: what went wrong, that nothing is lost, what to do."""

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from flask import Flask, Response, current_app, g, jsonify, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, InternalServerError
from werkzeug.wrappers import Response as AnyResponse

from coop.ledger.schema import Refused
from coop.store.engines import NoRoom, NotWritable
from coop.web import words as say
from coop.web.devices import may_work_offline
from coop.web.i18n import N_
from coop.web.page import Shell, shell, site, words
from coop.web.security_log import note

OPEN_TOO_LONG = "open-too-long"
IN_THE_CLEAR = "in-the-clear"
NO_ROOM = "no-room"
NOT_WRITABLE = "not-writable"
KEPT_HEADERS = ("Allow", "Retry-After")
JSON = "application/json"
PROBLEM = "application/problem+json"  # RFC 9457
PROBLEM_TYPE = "about:blank"  # RFC 9457 4.2.1: the status says it all
SECRETS = frozenset({"password", "old_password"})  # never in a page again


@dataclass(frozen=True, slots=True)
class Told:
    """
    What a page of an error says: its heading, what to do, and where.

    `again` is what to do where the page holds what was typed, ready to be sent once more.
    """

    title: str
    advice: str
    way: tuple[str, str] | None = None
    again: str | None = None


class InsufficientStorage(HTTPException):
    """The server cannot store what was sent (RFC 4918, 11.5)."""

    code = 507


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
            again=N_(
                "Nothing is lost, what you typed is here: wait a moment, then send it again."
            ),
        ),
        NO_ROOM: Told(
            N_("The server's disk is full"),
            N_(
                "Nothing was written. Whatever was written before is safe and can be read. "
                "Tell whoever runs the server to make room; then go back and send it again."
            ),
            again=N_(
                "Nothing was written. Whatever was written before is safe and can be read. "
                "Tell whoever runs the server to make room. What you typed is here: send it "
                "again then, or note it on paper."
            ),
        ),
        NOT_WRITABLE: Told(
            N_("The server's disk takes nothing"),
            N_(
                "What you sent was not taken. Whatever was written before can be read. Tell "
                "whoever runs the server: its disk or its folder is read-only, or faulty. Then "
                "go back, look whether what you sent stands, and if not, send it again."
            ),
            again=N_(
                "What you sent was not taken. Whatever was written before can be read. Tell "
                "whoever runs the server: its disk or its folder is read-only, or faulty. What "
                "you typed is here: send it again then, it never counts twice; or note it on "
                "paper."
            ),
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorPage:
    """
    What the page of an error shows.

    `way` is the text and the address of a button, beside the one to the room; `typed` what a
    form held, name and value of each field, to be sent again to where it was sent and as it
    was sent: `sent_as` is its media type.
    """

    title: str
    advice: str
    way: tuple[str, str] | None
    typed: tuple[tuple[str, str], ...]
    sent_as: str


def install(app: Flask) -> None:
    """Answer every error in words."""
    for code in TOLD:
        if isinstance(code, int):
            app.register_error_handler(code, _answer)
    app.register_error_handler(401, _answer_unknown_device)
    app.register_error_handler(CSRFError, _answer_open_too_long)
    app.register_error_handler(NoRoom, _answer_no_room)
    app.register_error_handler(NotWritable, _answer_not_writable)


def _answer(error: HTTPException) -> AnyResponse:
    return _answered(error, TOLD[error.code or InternalServerError.code])


def _answer_unknown_device(error: HTTPException) -> AnyResponse:
    return _answered(error, TOLD[401 if may_work_offline() else IN_THE_CLEAR])


def _answer_open_too_long(error: HTTPException) -> AnyResponse:
    note("form-token-wrong")
    return _answered(error, TOLD[OPEN_TOO_LONG])


def _answer_no_room(error: NoRoom) -> AnyResponse:
    return _answer_unkept(TOLD[NO_ROOM])


def _answer_not_writable(error: NotWritable) -> AnyResponse:
    return _answer_unkept(TOLD[NOT_WRITABLE])


def _answer_unkept(told: Told) -> AnyResponse:
    """Answer that the disk took nothing; whoever runs the server finds it in the log."""
    current_app.log_exception(sys.exc_info())
    return _answered(InsufficientStorage(), told)


def _answered(error: HTTPException, told: Told) -> AnyResponse:
    status = error.code or InternalServerError.code
    response = _as_problem(told, status) if _wants_json() else _as_page(told, status)
    response.status_code = status
    for name, value in error.get_headers():
        if name in KEPT_HEADERS:
            response.headers[name] = value
    return response


def _as_problem(told: Told, status: int) -> AnyResponse:
    title, advice = words().gettext(told.title), words().gettext(told.advice)
    response = jsonify(type=PROBLEM_TYPE, title=title, detail=advice, status=status)
    response.mimetype = PROBLEM
    return response


def _as_page(told: Told, status: int) -> AnyResponse:
    typed = _typed() if told.again else ()
    page = ErrorPage(
        title=words().gettext(told.title),
        advice=words().gettext(told.again if typed and told.again else told.advice),
        way=(words().gettext(told.way[0]), told.way[1]) if told.way else None,
        typed=typed,
        sent_as=request.mimetype,
    )
    around = shell() if status < InternalServerError.code else _bare_shell()
    return Response(
        render_template("error.html", page=page, shell=around), mimetype="text/html"
    )


def _typed() -> tuple[tuple[str, str], ...]:
    """
    Return what a member's form held; nothing where the page cannot give it back whole.

    Only what the guards let pass is given back, its token with it: who is a member is found
    out after them. Files stay with the browser, secrets are not written into a page.
    """
    if g.get("member") is None or request.method != "POST" or _has_files():
        return ()
    return () if SECRETS & request.form.keys() else tuple(request.form.items(multi=True))


def _has_files() -> bool:
    return any(one.filename for part in request.files.listvalues() for one in part)


def problem(status: int, refused: Refused) -> AnyResponse:
    """Answer a script that something it sent cannot be read: which field, and what is right."""
    told = {
        "type": PROBLEM_TYPE,
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
