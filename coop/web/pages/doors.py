"""Sign in, sign out, choose a language."""

from dataclasses import dataclass
from datetime import timedelta
from urllib.parse import urlsplit

from flask import Blueprint, flash, g, redirect, request, url_for
from werkzeug.wrappers import Response
from wtforms import PasswordField, StringField

from coop.store.throttle import Throttled
from coop.web import sessions
from coop.web.accounts import too_often
from coop.web.fields import NEEDED
from coop.web.forms import PageForm
from coop.web.i18n import LANGUAGE_COOKIE, LANGUAGES, N_
from coop.web.page import PUBLIC, needs, show, words
from coop.web.security import cookies_are_secure

LANGUAGE_LIFE = timedelta(days=400)

pages = Blueprint("doors", __name__)


class SignInForm(PageForm):
    sign_in_name = StringField(N_("Sign-in name"), [NEEDED])
    password = PasswordField(N_("Password"), [NEEDED])


@dataclass(frozen=True, slots=True, kw_only=True)
class SignInPage:
    form: SignInForm


@pages.route("/sign-in", methods=["GET", "POST"])
@needs(PUBLIC)
def sign_in() -> Response:
    if g.ledger is None:
        return redirect(url_for("opening.closed"))
    if g.member is not None and request.method == "GET":
        return redirect(_next())
    form = SignInForm()
    status = 200
    if form.validate_on_submit():
        found = sessions.check_sign_in(form.sign_in_name.data or "", form.password.data or "")
        if isinstance(found, Throttled):
            form.form_errors.append(too_often(words(), found))
            status = 429
        elif found is None:
            form.form_errors.append(words().gettext("The name or the password is wrong."))
            status = 401
        else:
            response = redirect(_next())
            sessions.sign_in(response, found)
            return response
    return show("sign_in.html", page=SignInPage(form=form), status=status)


def _next() -> str:
    """Return the page that was asked for before signing in."""
    return _ours(request.args.get("next", "/"))


def _ours(wanted: str) -> str:
    """Return an address on this server as it is, any other as the first page's."""
    parts = urlsplit(wanted)
    ours = not parts.scheme and not parts.netloc and wanted.startswith("/")
    return wanted if ours and "\\" not in wanted and not wanted.startswith("//") else "/"


@pages.post("/sign-out")
@needs(PUBLIC)
def sign_out() -> Response:
    response = redirect("/sign-in")
    sessions.sign_out(response)
    flash(words().gettext("Signed out."), "written")
    return response


@pages.post("/language")
@needs(PUBLIC)
def language() -> Response:
    came_from = urlsplit(request.referrer or "/")
    response = redirect(_ours(came_from._replace(scheme="", netloc="", fragment="").geturl()))
    lang = request.form.get("lang", "")
    if lang in LANGUAGES:
        response.set_cookie(
            LANGUAGE_COOKIE,
            lang,
            max_age=LANGUAGE_LIFE,
            secure=cookies_are_secure(),
            httponly=True,
            samesite="Lax",
        )
    return response
