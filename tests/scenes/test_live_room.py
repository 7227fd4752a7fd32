"""
Members at once: what one writes, the others' open pages tell within seconds.

Nothing typed is lost by it; the room, which is only looked at, shows it by itself.
"""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from flask import Flask
from playwright.sync_api import Dialog, Page, Request, Route, expect

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished, mixed
from tests.support.server import sign_in

WITHIN_MS = 6_000
POLL_S, LONG_S = 5, 600
LINE = "R-A1: 60 half sheets, KR, just now"


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    house = furnished(tmp_path)
    house.made["bath"] = mixed(house)
    house.made["form"] = f"/baths/{house.made['bath']}/sheets"
    return house


@pytest.fixture
def origin(house: Opened, live: Callable[[Flask], str]) -> str:
    return live(house.app())


def write(house: Opened, count: int = 60, who: str = "kahu") -> None:
    house.say(
        "sheets.through", who, bath=house.made["bath"], sheet_count=str(count),
        sheet_format="half", method="dip", lot=house.made["parcel"],
    )  # fmt: skip


def asked(page: Page) -> list[str]:
    """Collect what a page asks for by itself from now on."""
    found: list[str] = []

    def note(request: Request) -> None:
        if urlsplit(request.url).path == "/news":
            found.append(request.url)

    page.on("request", note)
    return found


def count_of(page: Page) -> str:
    return page.locator('main input[name="sheet_count"]').first.input_value()


def send_sixty(page: Page, there: str) -> None:
    """Write sixty half sheets down as a person does."""
    page.goto(there)
    page.locator('main input[name="sheet_count"]').first.fill("60")
    for name, value in (("sheet_format", "half"), ("method", "dip")):
        page.locator(f'main [name="{name}"][value="{value}"]').check(force=True)
    page.locator('main [name="lot"]').first.check(force=True)
    page.get_by_role("main").get_by_role("button", name="Write it", exact=True).click()
    expect(page.locator(".flash.written")).to_be_visible()


def test_what_another_writes_is_told_and_what_is_typed_stays(
    house: Opened, origin: str, pages: Pages
) -> None:
    """One at the tray, one at the other tray, and the room open on the coordinator's desk."""
    tray, other, desk = pages.phone(origin), pages.phone(origin), pages.desk(origin)
    sign_in(tray, "oluwaseun", PASSWORD)
    sign_in(other, "kahu", PASSWORD)
    sign_in(desk, "amina", PASSWORD)
    litres = desk.locator(".numbers").first.inner_text()
    tray.goto(house.made["form"])
    tray.locator('main input[name="sheet_count"]').first.fill("35")
    send_sixty(other, house.made["form"])

    expect(tray.locator("[data-news-lines]")).to_have_text(LINE, timeout=WITHIN_MS)
    assert count_of(tray) == "35"
    expect(tray.get_by_role("link", name="Show what is new")).to_be_visible()
    expect(desk.locator(".numbers").first).not_to_have_text(litres, timeout=WITHIN_MS)
    assert_accessible(tray)
    screenshot(tray, "live-line")
    expect(other.locator(".news")).not_to_contain_text("60")


def test_a_room_that_somebody_works_in_is_not_loaded_under_them(
    house: Opened, origin: str, pages: Pages
) -> None:
    """Whoever goes through it by keys would be put back to its top."""
    page = pages.desk(origin)
    sign_in(page, "amina", PASSWORD)
    page.get_by_role("link", name="All baths").focus()
    write(house)

    expect(page.locator("[data-news-lines]")).to_have_text(LINE, timeout=WITHIN_MS)
    expect(page.get_by_role("link", name="All baths")).to_be_focused()
    assert "60 half" not in page.locator(".numbers").first.inner_text()

    page.get_by_role("link", name="Show what is new").click()
    expect(page.locator(".numbers").first).to_contain_text("Kahu R.")
    expect(page.locator("[data-news-lines]")).to_be_empty()


def test_showing_what_is_new_asks_first_where_something_is_typed(
    house: Opened, origin: str, pages: Pages
) -> None:
    page = pages.phone(origin)
    questions: list[str] = []

    def decline(dialog: Dialog) -> None:
        questions.append(dialog.message)
        dialog.dismiss()

    sign_in(page, "amina", PASSWORD)
    page.goto(house.made["form"])
    page.on("dialog", decline)
    page.locator('main input[name="sheet_count"]').first.fill("35")
    write(house)
    page.get_by_role("link", name="Show what is new").click(timeout=2 * WITHIN_MS)

    assert len(questions) == 1
    assert "not written yet" in questions[0]
    assert count_of(page) == "35"


def test_a_page_out_of_sight_asks_for_nothing_and_at_once_when_it_is_back(
    house: Opened, origin: str, pages: Pages
) -> None:
    """A phone in a pocket keeps its battery."""
    page = pages.phone(origin)
    page.add_init_script(
        "let sight = 'visible';"
        "Object.defineProperty(document, 'visibilityState', {get: () => sight});"
        "addEventListener('message', (m) => {"
        "  sight = m.data; document.dispatchEvent(new Event('visibilitychange')); });"
    )
    sign_in(page, "amina", PASSWORD)
    page.clock.install()
    page.goto("/shelf")
    page.evaluate("postMessage('hidden')")
    found = asked(page)
    page.clock.run_for(POLL_S * 1000 * 4)
    assert found == []

    write(house)
    page.evaluate("postMessage('visible')")
    page.clock.run_for(100)
    expect(page.locator("[data-news-lines]")).to_have_text(LINE)


def test_a_studio_that_does_not_answer_is_asked_less_and_less(
    house: Opened, origin: str, pages: Pages
) -> None:
    """After 10, 20, 40, then every 60 seconds; one answer, and it is every 5 again."""
    pages.expect(r"status of 503")
    page = pages.phone(origin)
    sign_in(page, "amina", PASSWORD)
    page.clock.install()
    page.goto("/shelf")
    at_ms: list[int] = []
    answered: list[int] = []
    is_well = False

    def answer(route: Route) -> None:
        at_ms.append(page.evaluate("Date.now()"))
        if is_well:
            route.fulfill(json={"head": 0, "lines": [], "more": 0})
        else:
            route.fulfill(status=503)

    page.route("**/news?*", answer)
    page.on("response", lambda _: answered.append(1))
    run_until(page, 6, at_ms, answered)
    is_well = True
    run_until(page, 9, at_ms, answered)
    gaps_s = [(later - before) / 1_000 for before, later in pairwise(at_ms)]

    for gap_s, wait_s in zip(gaps_s, [10, 20, 40, 60, 60, 60, 5, 5], strict=True):
        assert wait_s <= gap_s < 2 * wait_s, gaps_s


def test_an_answer_that_never_comes_is_waited_for_twenty_seconds(
    house: Opened, origin: str, pages: Pages
) -> None:
    """A signal that dies half way would stop the page's asking for ever."""
    pages.expect("net::ERR_")
    page = pages.phone(origin)
    sign_in(page, "amina", PASSWORD)
    page.clock.install()
    page.goto("/shelf")
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/news?*", hold)
    waited_s = 0
    while len(held) < 2 and waited_s < LONG_S:
        page.clock.run_for(1_000)
        page.wait_for_timeout(20)
        waited_s += 1

    assert POLL_S + 20 + POLL_S < waited_s < LONG_S


def test_a_room_left_open_shows_a_word_that_turned_by_itself(
    house: Opened, origin: str, pages: Pages
) -> None:
    """Nobody wrote anything: after twenty-eight days without a test one looks again."""
    house.later(days=27, hours=22)
    page = pages.desk(origin)
    sign_in(page, "kahu", PASSWORD)
    page.clock.install()
    page.goto("/")
    bath = page.locator(".bath", has_text="R-A1").locator(".word")
    expect(bath).to_have_text("good")

    house.later(hours=3)
    page.clock.fast_forward("01:00:00")
    expect(bath).to_have_text("good")
    page.clock.fast_forward("02:00:00")
    page.clock.run_for(2 * POLL_S * 1000)

    expect(bath).to_have_text("look again")


def run_until(page: Page, count: int, asked_at: list[int], answered: list[int]) -> None:
    """Let the page's clock run, second by second; it stands while an answer is on its way."""
    for _ in range(LONG_S):
        while len(answered) < len(asked_at):
            page.wait_for_timeout(10)
        if len(asked_at) == count:
            return
        page.clock.run_for(1_000)
    pytest.fail("it never came")


def test_who_is_signed_out_meanwhile_is_asked_no_more_and_told_so(
    house: Opened, origin: str, pages: Pages
) -> None:
    """A page that stands still must not look like one that is kept up to date."""
    page = pages.phone(origin)
    sign_in(page, "amina", PASSWORD)
    page.clock.install()
    page.goto(house.made["form"])
    page.context.clear_cookies()
    found = asked(page)
    write(house)
    for _ in range(4 * POLL_S):
        page.clock.run_for(1_000)

    assert len(found) == 1
    expect(page.locator("[data-news-lines]")).to_have_text(
        "This page is not kept up to date any more: load it again."
    )
    assert page.url.endswith(house.made["form"])


def test_without_script_there_is_no_line_and_nothing_else_is_missing(
    house: Opened, origin: str, pages: Pages
) -> None:
    page = pages.phone(origin, java_script_enabled=False)
    sign_in(page, "amina", PASSWORD)

    expect(page.get_by_text("Show what is new")).to_be_hidden()
    expect(page.locator(".numbers").first).to_be_visible()


def test_a_date_is_not_broken_at_its_hyphens(house: Opened, origin: str, pages: Pages) -> None:
    """2025-09-17 over two lines is read as a sum."""
    house.later(days=3)
    page = pages.phone(origin)
    sign_in(page, "kahu", PASSWORD)
    page.goto(f"/baths/{house.made['bath']}")
    whole = page.locator("main .at", has_text="2025-09-17")

    assert whole.count() > 1
    for number in range(whole.count()):
        lines = whole.nth(number).evaluate("one => one.getClientRects().length")
        assert lines <= 1


def test_the_ways_of_a_member_stand_in_one_row_on_a_phone(origin: str, pages: Pages) -> None:
    """
    A second row for one word takes the room's first bath off the screen.

    To what must go lead two big buttons of each studio in the room.
    """
    page = pages.phone(origin)
    sign_in(page, "kahu", PASSWORD)
    shown = page.locator(".ways a").filter(visible=True)
    tops = shown.evaluate_all("all => all.map((one) => one.offsetTop)")

    assert len(tops) == 7
    assert len(set(tops)) == 1
