"""
A tablet that took in the studio's own CA opens the ledger over TLS as it opens any site.

The browser has a home of its own here, into whose store Debian's `certutil` puts the CA;
nothing tells it to overlook a certificate. studio.example is nobody's name (RFC 2606 3).
"""

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error

from coop.app import clock
from coop.cli.cert import certify
from tests.support import programs
from tests.support.browser import ARGUMENTS, Pages
from tests.support.commands import first_line, free_port, running
from tests.support.opened import PASSWORD, opened
from tests.support.server import sign_in

NAME = "studio.example"
NAMED = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
WHAT_PHONES_NEED = """() => ({
    secure: window.isSecureContext,
    worker: "serviceWorker" in navigator,
    locks: "locks" in navigator,
    ids: typeof crypto.randomUUID === "function",
})"""


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """The folder of a ledger that is open, with a certificate of the studio's own."""
    folder = tmp_path / "ledger"
    folder.mkdir()
    opened(folder).store.close()
    certify(folder / "tls", [NAME], clock())
    return folder


@pytest.fixture
def origin(ledger: Path) -> Iterator[str]:
    """The ledger served over TLS on a loopback port."""
    port = str(free_port())
    files = ["--tls", "tls/studio.crt", "tls/studio.key"]
    with running(ledger, "serve", ".", "--port", port, "--name", NAME, *files) as process:
        first_line(process, f"Serving https://{NAME}:{port} ")
        yield f"https://{NAME}:{port}"


@contextmanager
def tablet(chromium: Browser, home: Path) -> Iterator[Browser]:
    """Start a browser whose store of certificates lies in this home."""
    browser = chromium.browser_type.launch(
        executable_path=programs.chromium(),
        args=[*ARGUMENTS, NAMED],
        env={"HOME": str(home)},
    )
    try:
        yield browser
    finally:
        browser.close()


def take_in(home: Path, ca: Path) -> None:
    """Do what a person does in the settings of a tablet."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    certutil = ["certutil", "-d", f"sql:{store}"]
    subprocess.run([*certutil, "-N", "--empty-password"], check=True)
    subprocess.run([*certutil, "-A", "-t", "C,,", "-n", "studio", "-i", str(ca)], check=True)


@pytest.mark.browser
def test_a_tablet_that_took_in_the_ca_is_signed_in_over_tls(
    chromium: Browser, ledger: Path, origin: str, tmp_path: Path
) -> None:
    """All that offline work needs is there, and each cookie is bound to this host by TLS."""
    take_in(tmp_path / "home", ledger / "tls" / "ca.crt")
    with tablet(chromium, tmp_path / "home") as browser:
        pages = Pages(browser)
        page = pages.phone(origin)
        sign_in(page, "amina", PASSWORD)
        found = page.evaluate(WHAT_PHONES_NEED)
        cookies = {str(one.get("name")): one.get("secure") for one in page.context.cookies()}
        banners = page.locator(".band.plain").count()
        faults = pages.close()

    assert found == dict.fromkeys(("secure", "worker", "locks", "ids"), True)
    assert cookies == {"__Host-coop-form": True, "__Host-coop-session": True}
    assert (banners, faults) == (0, [])


@pytest.mark.browser
def test_a_phone_that_did_not_is_turned_away(
    chromium: Browser, origin: str, tmp_path: Path
) -> None:
    """What a member would see; and that the scene before trusts the CA and nothing else."""
    with tablet(chromium, tmp_path) as browser:
        page = browser.new_page(base_url=origin)
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto("/sign-in")
