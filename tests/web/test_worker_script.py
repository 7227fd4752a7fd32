"""The worker: one page opens without signal, and no page of a member is ever kept."""

import gzip
import re
import time
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coop.web.assets import packaged
from coop.web.strip import STRIP_EDITION
from tests.support.browser import Pages
from tests.support.outbox_page import Studio, outbox_app, until
from tests.support.server import serving

pytestmark = pytest.mark.browser

WORKER_BYTES_MAX = 3_000  # compressed
OPENS_WITHIN_S = 1.0
GIVES_UP_WITHIN_S = 8.0  # it waits three seconds; the machine may be busy
DOCUMENT = "/device/offline"
LISTS = "/device/offline-files"
STRIP = f"/strip/{STRIP_EDITION}/lying/{{}}.svg"
NOT_A_PAGE = [401, 403, 404, 410, 429, 500, 502, 503]


@pytest.fixture
def studio() -> Studio:
    return Studio()


@pytest.fixture
def phone(pages: Pages, studio: Studio, live: Any) -> Page:
    pages.expect(r"Failed to load resource")
    return prepared(pages.phone(live(outbox_app(studio))))


def prepared(page: Page) -> Page:
    """Open a device's page and wait until it would open without signal."""
    page.goto(DOCUMENT)
    page.evaluate("async () => { await coop.registerWorker(); }")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    assert refresh(page) == {"ok": True, "status": 200}
    return page


def refresh(page: Page) -> dict[str, Any]:
    said: dict[str, Any] = page.evaluate("() => coop.refresh()")
    return said


def cached(page: Page) -> set[str]:
    """Return every address in every cache of the browser."""
    found = page.evaluate(
        """async () => { const found = [];
            for (const name of await caches.keys())
                for (const request of await (await caches.open(name)).keys())
                    found.push(new URL(request.url).pathname);
            return found; }"""
    )
    return set(found)


def kept_text(page: Page) -> str:
    """Return all that any cache of the browser holds."""
    text: str = page.evaluate(
        """async () => { let all = "";
            for (const name of await caches.keys()) {
                const cache = await caches.open(name);
                for (const kept of await cache.matchAll()) all += await kept.text();
            }
            return all; }"""
    )
    return text


def words(page: Page) -> str:
    return page.locator("body").inner_text()


@pytest.mark.parametrize("address", ["/", "/of-a-member", DOCUMENT, DOCUMENT + "?bath=1"])
def test_without_signal_every_address_opens_the_one_page(phone: Page, address: str) -> None:
    phone.context.set_offline(True)
    began = time.monotonic()
    phone.goto(address)
    took_s = time.monotonic() - began

    expect(phone.get_by_role("heading")).to_have_text("On the stairs")
    assert phone.evaluate("() => coop.outbox.available()")
    assert took_s < OPENS_WITHIN_S


def test_with_signal_pages_are_the_studios(phone: Page, studio: Studio) -> None:
    studio.page = (200, "As of Thursday")
    phone.goto("/of-a-member")
    assert "Of Amina" in words(phone)

    phone.goto(DOCUMENT)
    assert "As of Thursday" in words(phone)
    kept = "async () => (await (await caches.match('/device/offline')).text())"
    until(phone, kept + ".includes('Thursday')")


def write(phone: Page, said: str = "") -> None:
    phone.locator("[name=said]").fill(said)
    phone.get_by_role("button", name="Write it").click()


def test_a_form_sent_without_signal_ends_on_the_one_page(phone: Page) -> None:
    """Its words are in the phone already; the browser's own error page would frighten."""
    phone.goto("/form")
    phone.evaluate("() => coop.outbox.setAside({ id: 'one' })")
    phone.context.set_offline(True)
    write(phone)

    expect(phone.get_by_role("heading")).to_have_text("On the stairs")
    assert phone.url.endswith(f"{DOCUMENT}#kept/one")


def test_a_form_of_which_there_is_no_copy_says_so_and_is_sent_again(
    phone: Page, studio: Studio
) -> None:
    """The kept page would say that all is well, and what was typed would be gone."""
    phone.goto("/form")
    phone.context.set_offline(True)
    write(phone, said := 'an "answer" <b>&amp; more</b>')
    expect(phone.get_by_role("heading")).to_have_text("No answer")
    title = phone.title()
    phone.get_by_role("button", name="Again").click()
    expect(phone.get_by_role("heading")).to_have_text("No answer")
    phone.context.set_offline(False)
    phone.get_by_role("button", name="Again").click()
    expect(phone.get_by_role("heading")).to_have_text("A form")

    assert title == "No answer"
    assert studio.forms[-1] == {"entry_id": "one", "said": said}


def test_signing_out_without_a_signal_says_that_nobody_is(phone: Page) -> None:
    """The next at the tablet must not read another's pages."""
    phone.goto("/form")
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Out").click()

    expect(phone.get_by_role("heading")).to_have_text("Still in")


def test_the_worker_makes_no_store_of_its_own(phone: Page) -> None:
    """An empty one would keep the page from making the right one."""
    phone.goto("/form")
    assert phone.evaluate("async () => (await indexedDB.databases()).length") == 0
    phone.context.set_offline(True)
    write(phone)
    expect(phone.get_by_role("heading")).to_have_text("No answer")
    phone.context.set_offline(False)
    phone.goto("/")

    assert phone.evaluate("async () => (await coop.outbox.all()).length") == 0


def test_a_form_sent_with_signal_arrives(phone: Page) -> None:
    phone.goto("/form")
    phone.get_by_role("button", name="Write it").click()

    expect(phone.get_by_role("heading")).to_have_text("A form")


def test_the_studio_stopped_while_the_browser_believes_in_it(
    pages: Pages, studio: Studio
) -> None:
    """`navigator.onLine` knows of cables, not of studios."""
    pages.expect(r"Failed to load resource")
    with serving(outbox_app(studio)) as origin:
        phone = prepared(pages.phone(origin))
    began = time.monotonic()
    phone.goto("/")

    expect(phone.get_by_role("heading")).to_have_text("On the stairs")
    assert phone.evaluate("() => navigator.onLine")
    assert time.monotonic() - began < OPENS_WITHIN_S * 3


def test_a_signal_too_weak_to_load_a_page_opens_the_kept_one(
    phone: Page, studio: Studio
) -> None:
    """One bar on the stairs: the browser alone would wait for minutes."""
    studio.stalls_s = 60
    studio.page = (200, "As of Thursday")
    began = time.monotonic()
    phone.goto(DOCUMENT)
    took_s = time.monotonic() - began
    studio.wakes.set()

    assert "As of Wednesday" in words(phone)
    assert took_s < GIVES_UP_WITHIN_S


def test_only_the_one_page_and_its_files_are_ever_kept(phone: Page) -> None:
    """A shared tablet must not show one member's page to the next."""
    for address in ("/", "/of-a-member", "/form", "/of-a-member", DOCUMENT + "?bath=1"):
        phone.goto(address)
        phone.wait_for_timeout(100)  # for what it might put aside
        assert "Of Amina" not in kept_text(phone)
    kept = cached(phone)

    assert {one for one in kept if not re.match(r"/(static|strip)/", one)} == {DOCUMENT, LISTS}
    assert len(kept) == 6
    assert "As of Wednesday" in kept_text(phone)


@pytest.mark.parametrize("status", NOT_A_PAGE)
def test_a_refusal_never_takes_the_place_of_the_page(
    phone: Page, studio: Studio, status: int
) -> None:
    """Without the page nobody could reach what waits on the phone."""
    studio.page = (status, "Not you, not now")

    assert refresh(phone) == {"ok": False, "status": status}
    phone.goto(DOCUMENT)
    assert "As of Wednesday" in words(phone)
    phone.context.set_offline(True)
    phone.goto("/")
    assert "As of Wednesday" in words(phone)


def test_a_page_whose_files_did_not_all_come_is_not_kept(phone: Page, studio: Studio) -> None:
    """Half a page on the stairs is worse than yesterday's."""
    studio.page = (200, 'As of Thursday <img src="/static/000000000000/gone.svg" alt="">')

    assert refresh(phone) == {"ok": False, "status": 404}
    phone.context.set_offline(True)
    phone.goto("/")
    assert "As of Wednesday" in words(phone)


def test_pictures_of_baths_are_kept_and_those_long_gone_are_not(
    phone: Page, studio: Studio
) -> None:
    """Of the page and of the one before it: an open tab may still ask for its own."""
    held = []
    for names in (["one"], ["one", "two"], ["two"], ["two"], ["three"]):
        pictures = "".join(f'<img src="{STRIP.format(name)}" alt="">' for name in names)
        studio.page = (200, pictures)
        assert refresh(phone)["ok"]
        kept = cached(phone)
        held.append({n for n in ("one", "two", "three") if STRIP.format(n) in kept})

    assert held == [{"one"}, {"one", "two"}, {"one", "two"}, {"one", "two"}, {"two", "three"}]
    phone.context.set_offline(True)
    phone.goto("/")
    drawn = "() => [...document.images].every(image => image.naturalWidth > 0)"
    phone.wait_for_function(drawn)


def test_a_newer_worker_waits_until_it_is_let(phone: Page, studio: Studio) -> None:
    """A form with typed text must not change under somebody's fingers."""
    phone.evaluate(
        """() => { globalThis.told = 0;
            coop.whenWaiting(takeOver => { told += 1; globalThis.takeOver = takeOver; }); }"""
    )
    before = phone.evaluate("() => told")
    studio.worker_edition = "\n// a newer one"
    phone.evaluate("async () => { (await navigator.serviceWorker.ready).update(); }")
    phone.wait_for_function("() => told > 0")
    waits = phone.evaluate(
        """async () => { const one = await navigator.serviceWorker.ready;
            return [one.waiting !== null, one.active.state]; }"""
    )
    phone.evaluate("() => takeOver()")
    until(
        phone,
        """async () => { const one = await navigator.serviceWorker.ready;
            return one.waiting === null && one.active.state === "activated"; }""",
    )

    assert (before, waits) == (0, [True, "activated"])
    assert refresh(phone)["ok"]


def test_the_worker_calls_the_page_when_the_browser_calls_the_worker(
    phone: Page, studio: Studio
) -> None:
    """Background Sync, where there is one, only wakes the page; the page sends."""
    phone.evaluate(
        """() => { coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
            every_ms: 3_600_000 }); }"""
    )
    until(phone, "async () => (await coop.outbox.about('reached_ms')) > 0")
    heard = len(studio.pushes)
    phone.evaluate("async () => { globalThis.before = await coop.outbox.about('reached_ms'); }")
    session = phone.context.new_cdp_session(phone)
    found: list[dict[str, Any]] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda said: found.extend(said["registrations"]),
    )
    session.send("ServiceWorker.enable")
    phone.wait_for_timeout(200)
    session.send(
        "ServiceWorker.dispatchSyncEvent",
        {
            "origin": phone.url.removesuffix(DOCUMENT),
            "registrationId": found[0]["registrationId"],
            "tag": "coop-outbox",
            "lastChance": False,
        },
    )
    until(phone, "async () => (await coop.outbox.about('reached_ms')) > globalThis.before")

    assert len(studio.pushes) == heard + 1


def test_the_worker_is_light() -> None:
    assert len(gzip.compress(packaged()["sw.js"].content, 9)) < WORKER_BYTES_MAX
