"""
A phone on the stairs, for scenes: a real browser, a real worker, a server that can be stopped.

The server's clock and the browser's are moved together; what happens to pushes is decided by
`Door`, which stands before the application and knows what a network can do to an answer.
"""

import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from flask import Flask
from playwright.sync_api import BrowserContext, Error, Page, expect

from coop.store.desk import open_store
from coop.store.restore import begin_anew
from tests.support.browser import Pages
from tests.support.opened import PASSWORD, Opened, mixed
from tests.support.outbox_page import until
from tests.support.server import serving, sign_in

PUSH = "/device/push"
CALLS_AGAIN_S = 45.0  # longer than the half minute between two calls of a phone


@dataclass
class Door:
    """
    What stands between the phone and the application.

    Attributes:
        answers: A status that pushes are answered with instead of the application's word.
        loses: Whether the application's answer to a push is lost once it has been worked out.
        pushes: How many pushes came.
    """

    app: Callable[..., Iterable[bytes]]
    answers: int | None = None
    loses: bool = False
    pushes: int = 0

    def __call__(self, environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        if environ["PATH_INFO"] != PUSH:
            return self.app(environ, start)
        self.pushes += 1
        if self.answers is not None:
            start(f"{self.answers} Said by the test", [("Content-Type", "text/plain")])
            return [b"no"]
        if self.loses:
            for _ in self.app(environ, lambda *_: lambda _: None):
                pass
            start("502 Lost", [("Content-Type", "text/plain")])
            return [b"lost"]
        return self.app(environ, start)


@dataclass
class Cellar:
    """A house whose server runs on one port, and phones that come and go."""

    house: Opened
    pages: Pages
    bath: str = ""
    door: Door = field(init=False)
    origin: str = ""
    _stack: ExitStack = field(default_factory=ExitStack)

    def __post_init__(self) -> None:
        self.bath = mixed(self.house)
        self.house.later(hours=1)
        self.start()

    def app(self) -> Flask:
        app = self.house.app()
        if not isinstance(app.wsgi_app, Door):
            app.wsgi_app = Door(app.wsgi_app)  # type: ignore[method-assign,assignment]  # Flask's way
        assert isinstance(app.wsgi_app, Door)
        self.door = app.wsgi_app
        return app

    def start(self) -> None:
        """Serve, on the same port as before."""
        port = int(self.origin.rpartition(":")[2]) if self.origin else 0
        self._stack = ExitStack()
        self.origin = self._stack.enter_context(serving(self.app(), port=port))

    def stop(self) -> None:
        """Stop answering: the browser is not told, its connections are refused."""
        self._stack.close()

    def phone(self, first: str = "kahu", *, shared: bool = False) -> Page:
        """Sign in on a new phone, set it up, and open what it keeps."""
        page = self.pages.phone(self.origin)
        page.set_default_timeout(15_000)
        self.tell_time(page.context)
        self.set_up(page, first, shared=shared)
        self.open_kept(page)
        return page

    def set_up(self, page: Page, first: str, *, shared: bool = False) -> None:
        """Make a browser a phone of the ledger, as a member does."""
        sign_in(page, first, PASSWORD)
        page.goto("/device/enrol")
        whose = "the studio's: several of us" if shared else "mine: only I write on it"
        page.get_by_text(whose).click()
        page.get_by_role("button", name="Set it up").click()
        done = page.get_by_role("heading", name="It opens without a signal now")
        expect(done).to_be_visible()

    def open_kept(self, page: Page) -> None:
        """Open the page that opens without a signal."""
        page.goto("/device/offline")
        expect(page.get_by_role("heading", level=1)).to_have_text("In the room")

    def tell_time(self, context: BrowserContext) -> None:
        """Let a browser's clock say what the server's says."""
        context.clock.set_system_time(self.house.moment)

    def later(self, *contexts: BrowserContext, **by: float) -> None:
        """Move the server's clock on, and those of browsers."""
        self.house.later(**by)
        for context in contexts:
            self.tell_time(context)

    def half_sheets(self) -> int:
        """Return how many half sheets the ledger says went through the bath."""
        return int(self.house.state("bath", self.bath).half_count)

    @contextmanager
    def no_signal(self, page: Page) -> Iterator[None]:
        """Take the signal away for a while."""
        page.context.set_offline(True)
        yield
        page.context.set_offline(False)

    def wait_for_a_push(self, page: Page) -> None:
        """Wait until the studio was called since `door.pushes` was set to 0."""
        ends = time.monotonic() + CALLS_AGAIN_S
        while not self.door.pushes:
            assert time.monotonic() < ends, "nobody called"
            page.wait_for_timeout(30)

    def copy_database(self, name: str) -> Path:
        """Copy the ledger's file while the server runs, as a backup does."""
        file = self.house.folder / name
        source = self.house.folder / "coop.db"
        with closing(sqlite3.connect(source)) as db:
            db.execute("VACUUM INTO ?", (str(file),))
        return file

    def set_back(self, copy: Path) -> None:
        """Serve what a copy holds, as a new node, in place of what was served."""
        self.stop()
        self.house.store.close()
        store = open_store(f"sqlite:///{copy}")
        with store.writing() as desk:
            begin_anew(desk.connection, self.house.new_id())  # type: ignore[arg-type]  # an id
        store.close()
        self.house.store = open_store(f"sqlite:///{copy}")
        self.house.forget_app()
        self.start()

    def close(self) -> None:
        """End it all, the phones first: one that still loads would note a broken connection."""
        self.pages.close()
        self.stop()


def reload(page: Page) -> None:
    """Load a page anew; it may just be doing so by itself."""
    try:
        page.reload()
    except Error as fault:
        if "ERR_ABORTED" not in str(fault):
            raise
        page.wait_for_load_state()


STATES = "async () => (await coop.outbox.all()).map((one) => one.state).join()"


def wait_for_states(page: Page, *wanted: str) -> None:
    """
    Wait until what is on a phone is in these states, in order.

    A phone whose first call fails as its signal comes back calls again after half a minute.
    """
    asked = f"async (wanted) => (await ({STATES})()) === wanted"
    until(page, asked, ",".join(wanted), patience_s=CALLS_AGAIN_S)
