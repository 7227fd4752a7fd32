"""
Who is asking: the session cookie, signing in, signing out.

The cookie is SameSite=Lax, not Strict: a link in a mail or a chat must open the page signed
in, and no page changes anything on a GET; each form carries its own token besides.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from flask import Flask, Response, current_app, g, request
from flask import session as form_cookie
from werkzeug.wrappers import Response as AnyResponse

from coop.ids import MemberId
from coop.store import members, sessions, throttle
from coop.store.engines import Busy, Engines, Unkept
from coop.store.members import MemberSecret, Passwords
from coop.store.sessions import Session
from coop.store.throttle import Throttled
from coop.store.tokens import new_token
from coop.web.security import ASSETS, cookie_name, cookies_are_secure
from coop.web.security_log import note

SESSION_COOKIE = "coop-session"
_EXTENSION = "coop-door"
_UNNOTICED = "coop_unnoticed"
_SYSTEMS = ("iPhone", "iPad", "Android", "Windows", "Macintosh", "CrOS", "Linux")
_BROWSERS = (
    ("Edg", "Edge"),
    ("Firefox", "Firefox"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)

Clock = Callable[[], datetime]
View = TypeVar("View", bound=Callable[..., object])


@dataclass(frozen=True, slots=True)
class Door:
    """What signing in needs."""

    engines: Engines
    passwords: Passwords
    clock: Clock


def install(app: Flask, engines: Engines, passwords: Passwords, clock: Clock) -> None:
    """
    Find out before each view who asks: `g.who` is a Session or None.

    Comes before the security guards, so that their refusals know who asks too.
    """
    assert "csrf" not in app.extensions, "install sessions before security"
    app.extensions[_EXTENSION] = Door(engines, passwords, clock)
    app.before_request(find_who)
    app.after_request(note_seen)


def _door() -> Door:
    door: Door = current_app.extensions[_EXTENSION]
    return door


def find_who() -> None:
    """Put the session of the request's cookie into `g.who`, None for nobody."""
    g.who = None
    token = request.cookies.get(cookie_name(SESSION_COOKIE))
    if token and request.blueprint != ASSETS:
        with _door().engines.reading() as connection:
            g.who = sessions.find(connection, token, _door().clock())


def unnoticed(view: View) -> View:
    """Say that asking for a view is no sign of somebody: pages ask for it by themselves."""
    setattr(view, _UNNOTICED, True)
    return view


def note_seen(response: Response) -> Response:
    """Write "last seen" after the answer has gone, when it is due."""
    who: Session | None = g.get("who")
    view = current_app.view_functions.get(request.endpoint or "")
    if who is None or getattr(view, _UNNOTICED, False):
        return response
    door = _door()
    now = door.clock()
    if sessions.touch_is_due(who, now):
        response.call_on_close(lambda: _touch(door.engines, who.id_hash, now))
    return response


def _touch(engines: Engines, id_hash: str, now: datetime) -> None:
    try:
        with engines.writing(wait_s=0) as connection:
            sessions.touch(connection, id_hash, now)
    except (Busy, Unkept):
        return  # only "last seen" is lost, and the next visit writes it


def check_sign_in(sign_in_name: str, password: str) -> MemberId | Throttled | None:
    """
    Say who signs in; None for a wrong name or password alike, after the same work.

    Counts the try by account and by address first; a good one is given back.
    """
    door = _door()
    now = door.clock()
    name = members.folded(sign_in_name)
    tries = (throttle.by_address(request.remote_addr or ""), throttle.by_account(name))
    with door.engines.writing() as connection:
        for one in tries:
            refused = throttle.count_try(connection, one, now)
            if refused is not None:
                note("too-often")
                return refused
    with door.engines.reading() as connection:
        secret = members.find_by_name(connection, name)
    stored = None if secret is None else secret.password_hash
    if not door.passwords.check(stored, password) or secret is None:
        note("sign-in-refused", "" if secret is None else secret.member)
        return None
    with door.engines.writing() as connection:
        for one in tries:
            throttle.give_back(connection, one, now)
    _renew(door, secret, password)
    return secret.member


def hash_password(password: str) -> str:
    """Hash a new password; slow on purpose, so do it before the writer is taken."""
    return _door().passwords.hash(password)


def _renew(door: Door, secret: MemberSecret, password: str) -> None:
    """Hash the password anew when the parameters have grown since."""
    if door.passwords.is_outdated(secret.password_hash):
        renewed = door.passwords.hash(password)
        with door.engines.writing() as connection:
            members.renew_hash(connection, secret, renewed)


def sign_in(response: AnyResponse, member: MemberId) -> None:
    """Start a new session for a member whose password was right, in place of this browser's."""
    door = _door()
    now = door.clock()
    token = new_token()
    with door.engines.writing() as connection:
        if g.who is not None:
            sessions.end(connection, g.who.id_hash, member=g.who.member)
        g.who = sessions.create(
            connection, token=token, member=member, agent=agent_label(), now=now
        )
    note("signed-in", member)
    response.set_cookie(
        cookie_name(SESSION_COOKIE),
        token,
        max_age=sessions.LIFE,
        secure=cookies_are_secure(),
        httponly=True,
        samesite="Lax",
    )


def agent_label() -> str:
    """Name the browser for the list of sessions, as well as its own word allows."""
    said = request.user_agent.string
    system = next((name for name in _SYSTEMS if name in said), "")
    browser = next((name for mark, name in _BROWSERS if mark in said), "")
    return ", ".join(part for part in (browser, system) if part)


def sign_out(response: AnyResponse) -> None:
    """End this browser's session on the server, and forget its cookies."""
    if g.who is not None:
        with _door().engines.writing() as connection:
            sessions.end(connection, g.who.id_hash, member=g.who.member)
        note("signed-out", g.who.member)
        g.who = None
    form_cookie.clear()
    response.delete_cookie(
        cookie_name(SESSION_COOKIE), secure=cookies_are_secure(), httponly=True, samesite="Lax"
    )
