"""
A studio in miniature for the phone's scripts: it takes in what is pushed, and can misbehave.

Pages have the application's own content policy; the push follows the same protocol.
"""

import copy
import hashlib
import json
import re
import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from flask import Flask, Response, abort, jsonify, request
from playwright.sync_api import Error, Page

from coop.web.assets import install_assets, packaged
from coop.web.security import CONTENT_SECURITY_POLICY
from tests.support.sayings import an_id

LEDGER, DEVICE, AUTHOR = an_id(1), an_id(99), an_id(2)
SCRIPTS = ("vendor/idb.js", "wire.js", "outbox.js")
FORM = """<form method="post"><input name="entry_id" value="one"><input name="said">
<button>Write it</button></form>
<form method="post" action="/sign-out"><button>Out</button></form>"""
PAGE = """<!doctype html><html lang="en"><head><title>{title}</title>{scripts}</head>
<body><main><h1>{title}</h1>{more}</main></body></html>"""
UNHEARD = """<template data-unheard="" data-title="No answer"><h1>No answer</h1>
<form method="post"><button>Again</button></form></template>
<template data-unheard="/sign-out" data-title="Still in"><h1>Still in</h1></template>"""
HTML = {"Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-store",
        "Content-Security-Policy": CONTENT_SECURITY_POLICY}  # fmt: skip
DRAFTS_MAX = 200
CHARS_MAX = 700_000
PATIENCE_S = 10.0

Judge = Callable[[dict[str, Any]], dict[str, Any] | None]


@dataclass
class Held:
    """What the studio has on its disk, and what a backup of it has."""

    node: str = an_id(3)
    sealed: dict[str, tuple[str, int]] = field(default_factory=dict)  # id: digest, seq
    waits: dict[str, dict[str, Any]] = field(default_factory=dict)
    given_up: list[str] = field(default_factory=list)


@dataclass
class Studio:
    """
    The studio, and how it behaves.

    Attributes:
        status: What a push is answered with, 200 for as it should be.
        pause_s: For how long it asks for a pause then.
        drops: Which pushes lose their answer after everything was written, counted from 1.
        refuses: Called with an entry; what it returns is the answer instead of sealing.
        bytes_max: A push over it is 413.
        pushes: Every push that was read, in order.
        forms: What arrived of the form, at each time it was asked for.
        page: The document for the stairs: status and what it says.
        stalls_s: How long the document is kept back; `wakes` ends it.
        now: Its clock; by default it agrees with the phone's.
        worker_edition: What makes one worker differ from the next.
    """

    held: Held = field(default_factory=Held)
    status: int = 200
    pause_s: int = 1
    drops: frozenset[int] = frozenset()
    refuses: Judge = lambda entry: None
    bytes_max: int = 1024 * 1024
    release: str = "1"
    forms: list[dict[str, str]] = field(default_factory=list)
    two_places: dict[str, int] = field(default_factory=dict)
    settled: list[dict[str, Any]] = field(default_factory=list)
    pushes: list[dict[str, Any]] = field(default_factory=list)
    arrivals: list[str] = field(default_factory=list)
    page: tuple[int, str] = (200, "As of Wednesday")
    worker_edition: str = ""
    now: str = ""
    stalls_s: float = 0
    wakes: threading.Event = field(default_factory=threading.Event)
    lock: Any = field(default_factory=threading.Lock)

    def backup(self) -> Held:
        return copy.deepcopy(self.held)

    def set_back(self, held: Held, node: str) -> None:
        """Restore a copy; a server set back is another node."""
        self.held = copy.deepcopy(held)
        self.held.node = node

    @property
    def vector(self) -> dict[str, int]:
        return {self.held.node: len(self.held.sealed)} if self.held.sealed else {}

    def push(self, message: dict[str, Any]) -> dict[str, Any]:
        with self.lock:
            assert len(message["drafts"]) <= DRAFTS_MAX
            assert sum(map(len, message["drafts"])) <= CHARS_MAX
            self.pushes.append(message)
            answers = [self._take(json.loads(text)["entry"]) for text in message["drafts"]]
            offered = [one for one, _ in message["kept"]] + message["asked"]
            here = self.held.sealed.keys() | self.held.waits.keys()
            self.held.given_up += message["given_up"]
            given_up = [json.loads(text)["entry"]["id"] for text in message["given_up"]]
            return {
                "v": 1, "now": self.now or message["now"], "release": self.release,
                "answers": answers,
                "settled": [one for one in self.settled if one["id"] in message["asked"]]
                + [{"id": one, "outcome": "given-up"} for one in given_up],
                "lacks": [one for one in offered if one not in here],
                "vector": self.vector, "two_places": self.two_places,
                "behind": any(self.vector.get(n, 0) < s for n, s in message["heard"].items()),
            }  # fmt: skip

    def _take(self, entry: dict[str, Any]) -> dict[str, Any]:
        self.arrivals.append(entry["id"])
        said = self.refuses(entry)
        if said is not None:
            if said["outcome"] == "waiting":
                self.held.waits[entry["id"]] = entry
            return {"id": entry["id"], "field": "", "text": "Not so.", **said}
        outcome = "already" if entry["id"] in self.held.sealed else "sealed"
        digest = hashlib.sha256(json.dumps(entry).encode()).hexdigest()
        number = len(self.held.sealed) + 1
        digest, number = self.held.sealed.setdefault(entry["id"], (digest, number))
        seal = [self.held.node, number]
        return {"id": entry["id"], "outcome": outcome, "digest": digest, "seal": seal}


def outbox_app(studio: Studio) -> Flask:
    """Return the application of a studio that behaves as it is told."""
    app = Flask(__name__, static_folder=None)
    install_assets(app)
    asset: Callable[[str], str] = app.jinja_env.globals["asset"]  # type: ignore[assignment]

    def html(title: str, more: str = "", status: int = 200) -> Response:
        scripts = "".join(f'<script src="{asset(name)}" defer></script>' for name in SCRIPTS)
        icon = f'<link rel="icon" href="{asset("icon.svg")}">'
        text = PAGE.format(title=title, scripts=icon + scripts, more=more)
        return Response(text, status=status, headers=HTML)

    app.add_url_rule("/", view_func=lambda: html("Any page"), endpoint="any")
    app.add_url_rule("/of-a-member", view_func=lambda: html("Of Amina"), endpoint="member")

    @app.route("/form", methods=["GET", "POST"])
    def form() -> Response:
        studio.forms.append(request.form.to_dict())
        return html("A form", FORM)

    @app.get("/device/offline")
    def stairs() -> Response:
        studio.wakes.wait(studio.stalls_s)
        status, said = studio.page
        return html("On the stairs", f"<p>{said}</p>{UNHEARD}", status)

    @app.get("/sw.js")
    def worker() -> Response:
        script = packaged()["sw.js"].content + studio.worker_edition.encode()
        return Response(script, content_type="text/javascript")

    @app.post("/device/push")
    def push() -> Response:
        return _pushed(studio)

    return app


def _pushed(studio: Studio) -> Response:
    body = request.get_data()
    assert request.headers["Sec-Fetch-Site"] == "same-origin"
    assert request.mimetype == "application/json"
    if studio.status != 200:
        answer = jsonify(status=studio.status, title="Not now")
        answer.status_code = studio.status
        answer.headers["Retry-After"] = str(studio.pause_s)
        return answer
    if len(body) > studio.bytes_max:
        abort(413)
    answer = jsonify(studio.push(json.loads(body)))
    if len(studio.pushes) in studio.drops:
        request.environ["werkzeug.socket"].shutdown(socket.SHUT_RDWR)
    return answer


FUNCTION = re.compile(r"\s*(async\s*)?(\([^()]*\)|\w+)\s*=>")

# No answer is awaited across the wire: of a page that loads itself anew it may never come.
POLL = """([name, arg]) => {
    const asked = (globalThis.coopAsked ??= {});
    const one = (asked[name] ??= {isBusy: false, value: null, fault: null});
    if (!one.isBusy) {
        one.isBusy = true;
        Promise.resolve().then(() => (%s)(arg)).then(
            (value) => Object.assign(one, {value, isBusy: false}),
            (fault) => Object.assign(one, {fault: String(fault), isBusy: false}),
        );
    }
    if (one.fault) throw new Error(one.fault);
    return one.value;
}"""


# What a page says that has gone, or whose scripts are not read yet.
BETWEEN_PAGES = ("navigation", "context was destroyed", "coop is not defined")


def until(page: Page, ask: str, arg: object = None, *, patience_s: float = PATIENCE_S) -> None:
    """
    Wait until a page's script answers yes; it may be one that waits itself.

    A page that loads itself anew meanwhile is asked again.
    """
    name = f"{time.monotonic_ns()}"
    asked = POLL % (ask if FUNCTION.match(ask) else f"async () => ({ask})")
    ends = time.monotonic() + patience_s
    while not _answer(page, asked, [name, arg]):
        assert time.monotonic() < ends, f"never: {ask}"
        page.wait_for_timeout(30)


def _answer(page: Page, asked: str, arg: object) -> object:
    try:
        return page.evaluate(asked, arg)
    except Error as fault:
        if not any(passing in str(fault) for passing in BETWEEN_PAGES):
            raise
        return None
