"""What stands between the pages and strangers: names, headers, limits, form tokens, cookies."""

from collections.abc import Callable
from itertools import chain
from typing import Protocol, TypeVar
from urllib.parse import urlsplit

from flask import Flask, Response, current_app, request
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface
from flask_wtf import CSRFProtect
from werkzeug.exceptions import BadRequest, MisdirectedRequest, ServiceUnavailable
from werkzeug.middleware.proxy_fix import ProxyFix
from werkzeug.wrappers import Response as AnyResponse

from coop.store.engines import Busy

FORM_BYTES_MAX = 64 * 1024
FORM_FIELDS_MAX = 500
FORM_COOKIE_LIFE_S = 400 * 24 * 3600  # a page may be left open for months

FORM_COOKIE = "coop-form"
SECURE_PREFIX = "__Host-"  # RFC 6265bis 4.1.3.2: Secure, no Domain, Path=/
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
ASSETS = "assets"  # the blueprint whose files never change under one address

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "font-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types coop",
    )
)
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cross-Origin-Resource-Policy": "same-origin",
}
CROSS_ORIGIN_OPENER_POLICY = "same-origin"
# ASVS 5 3.4.1: a year. Without includeSubDomains: what else stands under a studio's name is
# not ours to shut, and the `__Host-` cookies cannot be planted from there.
STRICT_TRANSPORT_SECURITY = f"max-age={365 * 24 * 3600}"

_CONFIG = "COOP_POSTURE"
_LIMIT = "coop_body_bytes_max"
_FREE = "coop_guards_itself"
_KEEPABLE = "coop_may_be_kept"

View = TypeVar("View", bound=Callable[..., object])


class Posture(Protocol):
    """The settings that decide how careful the server must be."""

    @property
    def allowed_names(self) -> frozenset[str]:
        """Names a request may ask for, lower-case, without port and brackets."""

    @property
    def plain_http(self) -> bool:
        """Whether the operator serves other names than loopback without TLS."""

    @property
    def proxy_count(self) -> int:
        """How many trusted proxies stand in front."""


def install(app: Flask, settings: Posture) -> CSRFProtect:
    """
    Put the guards in place; `app.secret_key` must be set, sessions be installed before.

    Returns the form-token guard, for `free_of_token`.
    """
    assert app.secret_key, "set app.secret_key first"
    app.config |= {
        _CONFIG: settings,
        "MAX_CONTENT_LENGTH": FORM_BYTES_MAX,
        "MAX_FORM_MEMORY_SIZE": FORM_BYTES_MAX,
        "MAX_FORM_PARTS": FORM_FIELDS_MAX,
        "WTF_CSRF_TIME_LIMIT": None,
        "PERMANENT_SESSION_LIFETIME": FORM_COOKIE_LIFE_S,
        "SESSION_REFRESH_EACH_REQUEST": False,
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
    }
    app.session_interface = FormCookies()
    if settings.proxy_count:
        trusted = settings.proxy_count
        proxied = ProxyFix(app.wsgi_app, x_for=trusted, x_proto=trusted)
        app.wsgi_app = proxied  # type: ignore[method-assign]  # Flask's own way to wrap it
    app.before_request(refuse_other_names)
    app.before_request(widen_limit)
    app.before_request(refuse_nul)
    app.after_request(add_headers)
    app.register_error_handler(Busy, _answer_busy)
    return CSRFProtect(app)


class FormCookie(SecureCookieSession):
    """Holds the form token and nothing else; outlives the browser's closing."""

    @property
    def permanent(self) -> bool:
        return True

    @permanent.setter
    def permanent(self, value: bool) -> None:
        raise AttributeError("the form cookie is always permanent")


class FormCookies(SecureCookieSessionInterface):
    """Names the form cookie by how the request came, see `cookie_name`."""

    session_class = FormCookie

    def get_cookie_name(self, app: Flask) -> str:
        return cookie_name(FORM_COOKIE)

    def get_cookie_secure(self, app: Flask) -> bool:
        return cookies_are_secure()


def cookie_name(name: str) -> str:
    """Return the name a cookie goes by: with the `__Host-` prefix where it is Secure."""
    return SECURE_PREFIX + name if cookies_are_secure() else name


def cookies_are_secure() -> bool:
    """Say whether cookies need TLS: not on loopback names, nor where the operator has none."""
    return not (is_loopback() or _posture().plain_http)


def is_loopback() -> bool:
    """Say whether the browser came by a loopback name, which counts as secure."""
    return asked_name() in LOOPBACK_NAMES


def asked_name() -> str:
    """Return the host name the request asks for, lower-case; empty when it is none."""
    try:
        return urlsplit("//" + request.host).hostname or ""
    except ValueError:
        return ""


def _posture() -> Posture:
    posture: Posture = current_app.config[_CONFIG]
    return posture


def refuse_other_names() -> None:
    """Answer to our own names only: a stranger's name pointed here would share our origin."""
    if asked_name() not in _posture().allowed_names:
        raise MisdirectedRequest("This server answers only to the names it was set up with.")


def body_limit(most_bytes: int) -> Callable[[View], View]:
    """Allow one view a bigger body than a form's, for example a photo."""

    def mark(view: View) -> View:
        setattr(view, _LIMIT, most_bytes)
        return view

    return mark


def keepable(view: View) -> View:
    """Let the asker's browser keep what a view answers, and ask each time if it stands."""
    setattr(view, _KEEPABLE, True)
    return view


def token_free(view: View) -> View:
    """Say that a view is guarded otherwise than by a form's token; it must do so itself."""
    setattr(view, _FREE, True)
    return view


def free_of_token(app: Flask, guard: CSRFProtect) -> None:
    """Let the form-token guard pass the views that said so; call once all are there."""
    for view in app.view_functions.values():
        if getattr(view, _FREE, False):
            guard.exempt(view)


def widen_limit() -> None:
    """Set the view's own body limit before anything reads the body."""
    view = current_app.view_functions.get(request.endpoint or "")
    most_bytes: int | None = getattr(view, _LIMIT, None)
    if most_bytes is not None:
        request.max_content_length = most_bytes
        request.max_form_memory_size = most_bytes


def refuse_nul() -> None:
    """Refuse U+0000: nobody types it, and texts of PostgreSQL cannot hold it."""
    given = chain(request.args.lists(), request.form.lists())
    said = chain([request.path], *(values for _, values in given))
    if any("\0" in one for one in said):
        raise BadRequest("A character in it is not for text.")


def add_headers(response: Response) -> Response:
    """Put the headers on an answer; only files that never change may be kept by anybody."""
    for name, value in HEADERS.items():
        response.headers[name] = value
    if request.is_secure or is_loopback():  # elsewhere browsers ignore it, and complain
        response.headers["Cross-Origin-Opener-Policy"] = CROSS_ORIGIN_OPENER_POLICY
    if request.is_secure and cookies_are_secure():
        response.headers["Strict-Transport-Security"] = STRICT_TRANSPORT_SECURITY
    view = current_app.view_functions.get(request.endpoint or "")
    if response.status_code < 400 and getattr(view, _KEEPABLE, False):
        response.headers["Cache-Control"] = "private, no-cache"
    elif request.blueprint != ASSETS or response.status_code >= 400:
        response.headers["Cache-Control"] = "no-store"
    return response


def _answer_busy(error: Busy) -> AnyResponse:
    """Turn "busy" into 503 with Retry-After, through the app's own page for it."""
    answer = ServiceUnavailable(str(error), retry_after=error.retry_after_s)
    return current_app.make_response(current_app.handle_http_exception(answer))
