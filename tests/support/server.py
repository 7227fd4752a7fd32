"""
The application behind a real socket, in this process: the test moves its clock.

A test asks for `live` and hands it an application: ``origin = live(house.app())``.
"""

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Page, expect
from werkzeug.serving import WSGIRequestHandler, make_server

STOPS_WITHIN_S = 10.0


class _Quiet(WSGIRequestHandler):
    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:
        """Say nothing: a test that fails says more."""


class _Counted:
    """An application that knows how many of its requests are under way."""

    def __init__(self, app: Flask) -> None:
        self._app = app
        self._under_way = 0
        self._changed = threading.Condition()

    def __call__(self, environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        with self._changed:
            self._under_way += 1
        try:
            answer = self._app(environ, start)
            try:
                return list(answer)
            finally:
                if hasattr(answer, "close"):
                    answer.close()
        finally:
            with self._changed:
                self._under_way -= 1
                self._changed.notify_all()

    def wait(self) -> None:
        with self._changed:
            answered = self._changed.wait_for(lambda: not self._under_way, STOPS_WITHIN_S)
        assert answered, "a request never ended"


@contextmanager
def serving(app: Flask, *, port: int = 0) -> Iterator[str]:
    """
    Serve on a loopback port, a free one if 0, with a thread for each request; give the origin.

    At the end it takes no more requests, and waits for those under way: what they write to
    must not be closed before.
    """
    counted = _Counted(app)
    server = make_server("127.0.0.1", port, counted, threaded=True, request_handler=_Quiet)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        counted.wait()
        server.server_close()


@pytest.fixture
def live() -> Iterator[Callable[[Flask], str]]:
    """Serve any application until the test is over; gives its origin."""
    with ExitStack() as stack:
        yield lambda app: stack.enter_context(serving(app))


def sign_in(page: Page, name: str, password: str) -> None:
    """Sign in as a person does; ends in the room."""
    page.goto("/sign-in")
    page.get_by_label("Sign-in name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("main").get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("In the room")
