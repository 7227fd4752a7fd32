"""
Which device asks: a cookie of its own, which opens the addresses below /device/ only.

It is no session: it says nothing of who holds the device, opens no page of a member, and may
only fetch the device's own page and hand in what was written on it.
"""

from urllib.parse import urlsplit

from flask import Response, abort, after_this_request, g, request
from werkzeug.wrappers import Response as AnyResponse

from coop.ledger.states import DeviceState
from coop.store import devices
from coop.store.devices import Device
from coop.web.page import PHONE_COOKIE, desk, now, site
from coop.web.security import cookie_name as whole_site
from coop.web.security import cookies_are_secure, is_loopback

DEVICE_COOKIE = "coop-device"
DEVICE_PATH = "/device/"
DEVICE_LIFE_S = 400 * 24 * 3600  # the longest a browser keeps a cookie (RFC 6265bis 5.5)
_SECURE_PREFIX = "__Secure-"  # RFC 6265bis 4.1.3.1; __Host- would open every path to it


def cookie_name() -> str:
    """Return the name of the device's cookie: with a prefix where it is Secure."""
    return _SECURE_PREFIX + DEVICE_COOKIE if cookies_are_secure() else DEVICE_COOKIE


def set_cookie(response: AnyResponse, token: str) -> None:
    """Hand the device its secret; no script can read it, no other site send it."""
    response.set_cookie(
        cookie_name(),
        token,
        max_age=DEVICE_LIFE_S,
        path=DEVICE_PATH,
        secure=cookies_are_secure(),
        httponly=True,
        samesite="Strict",
    )


def set_phone_cookie(response: AnyResponse, device: str) -> None:
    """Let every page know that this browser is a phone of the ledger; it opens nothing."""
    response.set_cookie(
        whole_site(PHONE_COOKIE),
        device,
        max_age=DEVICE_LIFE_S,
        secure=cookies_are_secure(),
        httponly=True,
        samesite="Lax",
    )


def forget_cookies(response: AnyResponse) -> None:
    """Let the browser be any browser again."""
    for name, path in ((cookie_name(), DEVICE_PATH), (whole_site(PHONE_COOKIE), "/")):
        response.delete_cookie(name, path=path, secure=cookies_are_secure(), httponly=True)


def may_work_offline() -> bool:
    """Say whether browsers keep anything for pages that come this way: never in the clear."""
    return is_loopback() or request.is_secure or not site().settings.plain_http


def this_device() -> tuple[Device, DeviceState] | None:
    """Return the device of this request's cookie; None where it is unknown or revoked."""
    if "device" not in g:
        g.device = _found(request.cookies.get(cookie_name(), ""))
    found: tuple[Device, DeviceState] | None = g.device
    return found


def _found(token: str) -> tuple[Device, DeviceState] | None:
    row = devices.by_token(desk().connection, token) if token else None
    state: DeviceState | None = desk().journal.state("device", row.id) if row else None
    if row is None or state is None or state.revoked_at is not None:
        return None
    return row, state


def needed_device() -> tuple[Device, DeviceState]:
    """Return the device of this request, or answer 401."""
    found = this_device()
    if found is None:
        abort(401)
    return found


def keep_known(row: Device) -> None:
    """Let the cookies of a phone in use live on from now, once a day with what it hands in."""
    if row.heard_at is not None and row.heard_at.date() == now().date():
        return
    token = request.cookies[cookie_name()]

    @after_this_request
    def renew(response: Response) -> Response:
        set_cookie(response, token)
        set_phone_cookie(response, row.id)
        return response


def refuse_other_sites() -> None:
    """Answer 403 to another site's page: the browser itself says whose page sent it."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        if site != "same-origin":
            abort(403)
        return
    origin = request.headers.get("Origin", "")
    if not origin or urlsplit(origin).netloc != request.host:
        abort(403)
