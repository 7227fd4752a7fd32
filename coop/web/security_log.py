"""
The security log: what concerns the doors, a line each, apart from the ledger and from faults.

A line says when, what, which route and answer, from which address, who asks and whom it
concerns, both by their ids. It holds no name, no mail address, no secret and nothing typed:
people type passwords into the field above. Every part is checked against its form or out of
a closed list, so that nobody writes a line of their own (OWASP ASVS 5.0, 16.2.1, 16.3.1 to
16.3.3 and 16.4.1; the numbers from memory).
"""

import logging
from collections.abc import Mapping
from ipaddress import ip_address
from types import MappingProxyType
from typing import TextIO

from flask import Flask, Response, g, request

from coop.ids import is_uuid
from coop.ledger.entries import Entry
from coop.web.faults import line_handler

LOGGER = "coop.security"
NOBODY = "-"
METHODS = frozenset({"GET", "HEAD", "OPTIONS", "POST"})

REFUSED = frozenset(
    {
        "address-unknown",
        "calendar-unknown",
        "device-unknown",
        "form-token-wrong",
        "name-unknown",
        "not-allowed",
        "sign-in-refused",
        "too-often",
    }
)
DONE = frozenset(
    {
        "address-closed",
        "address-made",
        "calendar-closed",
        "calendar-made",
        "let-in",
        "mail-changed",
        "password-changed",
        "session-ended",
        "sessions-ended",
        "sign-in-name-changed",
        "signed-in",
        "signed-out",
    }
)
KINDS = frozenset(
    {
        "attachment.erased",
        "device.enrolled",
        "device.member_added",
        "device.member_removed",
        "device.revoked",
        "entry.corrected",
        "member.invited",
        "member.left",
        "member.role_set",
    }
)
"""Entries that change who may do what, or take away what was written."""

BY_STATUS: Mapping[int, str] = MappingProxyType(
    {401: "device-unknown", 403: "not-allowed", 421: "name-unknown", 429: "too-often"}
)

logging.getLogger(LOGGER).addHandler(logging.NullHandler())


def install(app: Flask) -> None:
    """Write what a request noted once its answer is known."""
    app.after_request(_write)


def write_to(stream: TextIO, level: str) -> None:
    """Send the lines to a stream; without it they go nowhere."""
    logger = logging.getLogger(LOGGER)
    logger.handlers = [line_handler(stream)]
    logger.setLevel(level)
    logger.propagate = False


def note(event: str, about: str = "") -> None:
    """Remember for the log what this request did, or was refused, and whom it concerns."""
    assert event in REFUSED | DONE | KINDS, event
    g.setdefault("security_notes", []).append((event, about))


def note_entry(entry: Entry) -> None:
    """Remember an entry that was written, when it is of a kind that concerns the doors."""
    if entry.kind in KINDS:
        named = (getattr(entry.content, name, None) for name in ("target", "device", "member"))
        note(entry.kind, next(filter(None, named), entry.id))


def _write(response: Response) -> Response:
    noted: list[tuple[str, str]] = g.pop("security_notes", [])
    status = response.status_code
    if not noted and status in BY_STATUS:
        noted = [(BY_STATUS[status], "")]
    for event, about in noted:
        level = logging.WARNING if event in REFUSED else logging.INFO
        logging.getLogger(LOGGER).log(
            level,
            "%s: %s %s %d from %s by %s about %s",
            event, _method(), _route(), status, _address(), _who(), _id(about),
        )  # fmt: skip
    return response


def _method() -> str:
    return request.method if request.method in METHODS else NOBODY


def _route() -> str:
    """Return the route and not the path, which may hold a one-use token; in one word."""
    return request.url_rule.rule.replace(" ", "") if request.url_rule else "no-route"


def _address() -> str:
    """Return the address asked from; behind a proxy it is text that somebody sent."""
    try:
        return str(ip_address(request.remote_addr or ""))
    except ValueError:
        return NOBODY


def _who() -> str:
    """Return the member who asks, or else the phone."""
    session, device = g.get("who"), g.get("device")
    if session is not None:
        return _id(session.member)
    return _id(device[0].id) if device is not None else NOBODY


def _id(said: str) -> str:
    return said if is_uuid(said) else NOBODY
