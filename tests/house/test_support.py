"""What the tests lean on: pages watch themselves, PostgreSQL is there, long means long."""

import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import urlsplit

import hypothesis
import psycopg
import pytest
from playwright.sync_api import Browser

from tests.support import opened
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.files import ROOT

POLICY = "default-src 'none'; script-src 'self'; img-src *; require-trusted-types-for 'script'"
PAGE = (
    '<!doctype html><html lang="en"><meta name="viewport" content="width=device-width">'
    "<title>Tray</title><main><h1>Tray</h1>{}</main></html>"
)
BODIES = {
    "/good": "<p>Well</p>",
    "/inline": "<script>1</script>",
    "/throws": '<script src="/throws.js"></script>',
    "/elsewhere": '<img alt="" src="http://127.0.0.1:9/dot.png">',
    "/unlabelled": "<input>",
}


class Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        body = BODIES.get(self.path)
        script = self.path == "/throws.js"
        self.send_response(200 if script or body else 404)
        self.send_header("Content-Type", "text/javascript" if script else "text/html")
        self.send_header("Content-Security-Policy", POLICY)
        self.end_headers()
        text = "throw new Error('spilt')" if script else PAGE.format(body or "")
        self.wfile.write(text.encode())

    def log_message(self, format: str, *args: object) -> None:
        """Keep the tests' output clean."""


@pytest.fixture(scope="module")
def origin() -> Iterator[str]:
    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


@pytest.mark.browser
@pytest.mark.parametrize(
    ("path", "fault"),
    [
        ("/inline", "console: .*Content Security Policy"),
        ("/throws", "exception: .*spilt"),
        ("/elsewhere", r"request outside .*: http://127\.0\.0\.1:9/dot\.png"),
        ("/nowhere", "console: .*404"),
    ],
)
def test_a_page_that_misbehaves_is_reported(
    path: str, fault: str, origin: str, chromium: Browser
) -> None:
    """Also when the test looks at something else."""
    pages = Pages(chromium)
    pages.desk(origin).goto(path, wait_until="networkidle")

    faults = pages.close()

    assert any(re.search(fault, found) for found in faults), faults


@pytest.mark.browser
def test_a_good_page_has_no_faults_on_phone_and_desk(origin: str, pages: Pages) -> None:
    phone, desk = pages.phone(origin), pages.desk(origin)
    phone.goto("/good")
    desk.goto("/good")

    assert phone.evaluate("innerWidth") == 390
    assert desk.evaluate("innerWidth") == 1280
    assert_accessible(desk)


@pytest.mark.browser
def test_an_expected_fault_is_let_be(origin: str, pages: Pages) -> None:
    pages.expect("404")

    pages.desk(origin).goto("/nowhere")


@pytest.mark.browser
def test_a_violation_is_told_readably(origin: str, pages: Pages) -> None:
    page = pages.desk(origin)
    page.goto("/unlabelled")

    with pytest.raises(AssertionError, match=r"label \(critical\)(.|\n)*\['input'\]"):
        assert_accessible(page)


@pytest.mark.browser
def test_a_picture_is_kept_only_when_asked_for_and_outside(
    origin: str, pages: Pages, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = pages.phone(origin)
    page.goto("/good")
    monkeypatch.delenv("COOP_SCREENSHOTS", raising=False)
    screenshot(page, "good")
    monkeypatch.setenv("COOP_SCREENSHOTS", str(tmp_path))
    screenshot(page, "good")

    assert (tmp_path / "good.png").read_bytes().startswith(b"\x89PNG")
    monkeypatch.setenv("COOP_SCREENSHOTS", str(ROOT / "pictures"))
    with pytest.raises(AssertionError, match="outside the checkout"):
        screenshot(page, "good")


@pytest.mark.postgresql
def test_each_test_gets_an_empty_database(pg_database: str) -> None:
    with psycopg.connect(pg_database) as connection:
        tables = connection.execute(
            "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
        ).fetchone()

    assert urlsplit(pg_database).path.startswith("/coop_")
    assert tables == (0,)


@pytest.mark.long
def test_the_longer_tier_draws_more_examples() -> None:
    assert hypothesis.settings().max_examples == 2_000


@pytest.mark.parametrize(("option", "found"), [([], False), (["--long"], True)])
def test_long_tests_run_only_when_asked_for(option: list[str], found: bool) -> None:
    """Left out, not skipped: a skip is a check that somebody forgets."""
    own = str(Path(__file__).relative_to(ROOT))
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", *option, own]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)

    assert ("test_the_longer_tier_draws" in done.stdout) is found
    assert "skipped" not in done.stdout


def test_a_ledger_that_tests_copy_leaves_no_folder_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worker that is ended runs nothing at its exit: hundreds of folders stayed."""
    here, made = tmp_path / "temporary", tmp_path / "made"
    here.mkdir()
    made.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(here))
    for once in (opened._opened_once, opened._furnished_once):
        once.cache_clear()

    house = opened.furnished(made)
    house.store.close()

    assert list(here.iterdir()) == []
    assert [one.name for one in made.iterdir()] == [opened.FILE]
