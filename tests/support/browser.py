"""
Debian's Chromium, and pages that watch themselves.

A test asks for `pages` and opens `pages.phone(origin)` or `pages.desk(origin)`.  When the test
is over it fails if any of its pages wrote an error to the console (a breach of the content
security policy is one), let an exception escape, or asked for anything outside its origin.
"""

import os
import re
import secrets
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import (
    Browser,
    BrowserContext,
    BrowserType,
    Error,
    Page,
    Request,
    expect,
    sync_playwright,
)

from tests.support import programs

# No sandbox because the tests may run as root; the rest keeps the browser to itself.
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 3,
    "is_mobile": True,
    "has_touch": True,
}
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}}
# An open page asks for news by itself; when the test's server has just stopped, or the browser
# has no signal, Chromium notes that, and no script can keep it from doing so.
# It also asks by itself for the icon of a page that names none.
ITS_OWN = re.compile(r"net::ERR_\w+ \S*/news\?after=\d+$|/favicon\.ico$")
CLOSES_WITHIN_S = 20.0
SHOWN_WITHIN_MS = 15_000
"""A machine that runs other tests beside needs longer to draw; speed is held elsewhere."""
expect.set_options(timeout=SHOWN_WITHIN_MS)
OWN_SCHEMES = {"data", "blob", "about"}
REPOSITORY = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = programs.chromium()
    if path is None:
        pytest.fail("no Chromium: install Debian's chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


class Launcher:
    """
    A browser for pages, started again when it is gone.

    Now and then Chromium never answers that it closed a profile whose worker is still busy;
    such a browser is ended after `CLOSES_WITHIN_S`, and the next test has a new one.
    """

    def __init__(self, kind: BrowserType) -> None:
        self._kind = kind
        self._mark = f"--coop-pages={os.getpid()}-{secrets.token_hex(4)}"
        self._browser: Browser | None = None

    def browser(self) -> Browser:
        if self._browser is None or not self.browser_is_there:
            path = programs.chromium()
            arguments = [*ARGUMENTS, self._mark]
            self._browser = self._kind.launch(executable_path=path, args=arguments)
        return self._browser

    @property
    def browser_is_there(self) -> bool:
        return self._browser is not None and self._browser.is_connected()

    def close(self, context: BrowserContext) -> None:
        """Close a profile; what does not end in time is ended with its browser."""
        ended = threading.Timer(CLOSES_WITHIN_S, self._end)
        ended.start()
        try:
            context.close()
        except Error:
            if self.browser_is_there:
                raise
        finally:
            ended.cancel()

    def _end(self) -> None:
        for place in Path("/proc").glob("[0-9]*/cmdline"):
            with suppress(OSError):
                if self._mark.encode() in place.read_bytes():
                    os.kill(int(place.parent.name), signal.SIGKILL)


@pytest.fixture(scope="session")
def launcher(chromium: Browser) -> Iterator[Launcher]:
    made = Launcher(chromium.browser_type)
    yield made
    made.browser().close()


@pytest.fixture
def pages(launcher: Launcher, live: object) -> Iterator["Pages"]:
    """
    Pages of one test.

    What `live` serves ends after them: a page that still loads would note a broken connection.
    """
    opened = Pages(launcher.browser(), launcher.close)
    yield opened
    faults = opened.close()
    if faults:
        pytest.fail("a page did what it must not:\n" + "\n".join(faults))


class Pages:
    """Opens pages, each in a fresh profile of its own, and collects what went wrong in them."""

    def __init__(
        self, chromium: Browser, close: Callable[[BrowserContext], None] = BrowserContext.close
    ) -> None:
        self._chromium = chromium
        self._close = close
        self._contexts: list[BrowserContext] = []
        self._expected: list[re.Pattern[str]] = []
        self._faults: list[str] = []

    def phone(self, origin: str, **options: Any) -> Page:
        """Return a blank page of 390 by 844 for fingers; `page.goto("/")` is `origin`."""
        return self._open(origin, {**PHONE, **options})

    def desk(self, origin: str, **options: Any) -> Page:
        """Return a blank page of 1280 by 900; `page.goto("/")` is `origin`."""
        return self._open(origin, {**DESK, **options})

    def expect(self, pattern: str) -> None:
        """Let a fault be that the test brings about, such as a page that is not there."""
        self._expected.append(re.compile(pattern))

    def close(self) -> list[str]:
        """Close every page; return the faults nobody expected, one line each."""
        while self._contexts:
            self._close(self._contexts.pop())
        return [f for f in self._faults if not any(e.search(f) for e in self._expected)]

    def _open(self, origin: str, options: dict[str, Any]) -> Page:
        context = self._chromium.new_context(base_url=origin, **options)
        self._contexts.append(context)
        context.on("request", lambda request: self._note_request(origin, request))
        context.on("weberror", lambda error: self._faults.append(f"exception: {error.error}"))
        context.on("console", self._note_console)
        return context.new_page()

    def _note_console(self, message: Any) -> None:
        where = message.location.get("url", "")
        if message.type == "error" and not ITS_OWN.search(f"{message.text} {where}"):
            self._faults.append(f"console: {message.text} ({where})")

    def _note_request(self, origin: str, request: Request) -> None:
        asked, own = urlsplit(request.url), urlsplit(origin)
        if asked.scheme in OWN_SCHEMES:
            return
        if (asked.scheme, asked.netloc) != (own.scheme, own.netloc):
            self._faults.append(f"request outside {origin}: {request.url}")


def assert_accessible(page: Page) -> None:
    """Fail, naming rule, element and remedy, where axe-core finds a violation on the page."""
    # What fades in is judged once it stands there.
    for _ in range(40):
        if page.evaluate("document.getAnimations().every((a) => a.playState !== 'running')"):
            break
        time.sleep(0.05)
    violations = Axe().run(page).response["violations"]
    lines = [
        f"{v['id']} ({v['impact']}): {v['help']}\n"
        + "\n".join(f"  {n['target']}: {n['failureSummary']}" for n in v["nodes"])
        for v in violations
    ]
    assert not violations, f"{page.url} is not for everybody:\n" + "\n".join(lines)


def screenshot(page: Page, name: str) -> None:
    """Write the whole page as NAME.png into the folder `COOP_SCREENSHOTS`, if that is set."""
    wanted = os.environ.get("COOP_SCREENSHOTS")
    if not wanted:
        return
    folder = Path(wanted).resolve()
    assert not folder.is_relative_to(REPOSITORY), (
        "COOP_SCREENSHOTS: outside the checkout, please"
    )
    folder.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=folder / f"{name}.png", full_page=True)
