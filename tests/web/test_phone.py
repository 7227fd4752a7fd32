"""A phone in the browser: set up, opened without a signal, what it says on every page."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask import Flask, Response
from playwright.sync_api import Browser, Dialog, Page, Request, expect

from coop.ids import Subject
from coop.store import devices
from coop.web.assets import packaged
from coop.web.page import PUBLIC, needs
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, mixed, opened
from tests.support.outbox_page import until
from tests.support.server import serving, sign_in

pytestmark = pytest.mark.browser

HOUR_MS, DAY_MS = 3_600_000, 86_400_000
NOW_MS = 1_758_124_800_000
Serve = Callable[[Flask], str]

PUT = """([bath, author, count]) => coop.outbox.put({
    kind: "sheets.through", v: 1, author, told: `${count} half sheets, dip`, bath,
    body: {bath, sheet_count: count, sheet_format: "half", method: "dip"},
})"""
CACHED = """async () => {
    const found = [];
    for (const name of await caches.keys())
        for (const one of await (await caches.open(name)).keys()) found.push(one.url);
    return found.map((url) => new URL(url).pathname);
}"""


def set_up(page: Page, whose: str = "mine: only I write on it") -> None:
    """Sign in, make this browser a phone, and wait until all is there."""
    page.set_default_timeout(10_000)
    sign_in(page, "kahu", PASSWORD)
    page.goto("/device/enrol")
    page.get_by_text(whose).click()
    page.get_by_role("button", name="Set it up").click()
    expect(page.get_by_role("heading", name="It opens without a signal now")).to_be_visible()


def write_sheets(page: Page, house: Opened, bath: str, count: str = "20") -> None:
    page.evaluate(PUT, [bath, house.members["kahu"].member, count])


def line(page: Page) -> Any:
    return page.locator("[data-phone] a")


# --- setting up -------------------------------------------------------------------------


def test_a_phone_is_set_up_and_then_opens_without_a_signal(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """Kahu on the stairs: whatever address is asked for, the kept page opens."""
    pages.expect("ERR_INTERNET_DISCONNECTED")
    page = pages.phone(live(house.app()))
    set_up(page)
    assert_accessible(page)
    screenshot(page, "phone-set-up")

    page.context.set_offline(True)
    for there in ("/", "/shelf", "/device/offline"):
        page.goto(there)
        expect(page.get_by_text("What others wrote since is not here.")).to_be_visible()


def test_the_form_proposes_a_name_that_follows_whose_it_is(
    house: Opened, live: Serve, pages: Pages
) -> None:
    page = pages.phone(live(house.app()))
    sign_in(page, "kahu", PASSWORD)
    page.goto("/device/enrol")
    assert_accessible(page)
    screenshot(page, "phone-enrol")
    name = page.get_by_label("What it is called")
    page.get_by_text("the studio's: several of us").click()
    expect(name).to_have_value("Studio tablet")
    page.get_by_text("mine: only I").click()
    expect(name).to_have_value("Kahu's phone")
    name.fill("cellar")
    page.get_by_text("the studio's: several of us").click()
    expect(name).to_have_value("cellar")


def test_what_is_missing_is_said_with_its_reason(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """It never says that it opens without a signal unless it does."""
    pages.expect("500")
    page = pages.phone(live(house.app()))
    set_up(page)
    house.app().view_functions["offline.offline"] = needs(PUBLIC)(
        lambda: Response("no", status=500)
    )
    page.goto("/device/enrol")

    expect(page.get_by_role("heading", name="It does not open")).to_be_visible()
    expect(page.get_by_text("The studio did not hand them out just now.")).to_be_visible()
    expect(page.get_by_text("By the same address as always")).to_be_visible()


def test_the_phone_keeps_no_page_of_a_member(house: Opened, live: Serve, pages: Pages) -> None:
    """A shared tablet passes from hand to hand; only the one page and its files are kept."""
    page = pages.phone(live(house.app()))
    set_up(page)
    for there in ("/", "/shelf", "/people", "/me", "/device/enrol"):
        page.goto(there)
    page.wait_for_load_state("networkidle")
    kept = page.evaluate(CACHED)

    assert "/device/offline" in kept
    others = {one for one in kept if not one.startswith(("/static/", "/strip/"))}
    assert others == {"/device/offline", "/device/offline-files"}


def test_digits_are_set_on_the_tablet_itself(house: Opened, live: Serve, pages: Pages) -> None:
    pages.expect("422")
    page = pages.phone(live(house.app()))
    set_up(page, "the studio's: several of us")
    page.get_by_role("link", name="My four digits").click()
    assert_accessible(page)
    page.get_by_label("Your four digits").fill("1234")
    page.get_by_role("button", name="Set them").click()
    expect(page.get_by_role("alert")).to_contain_text("Everybody tries these first")
    assert_accessible(page)
    screenshot(page, "phone-digits")
    page.get_by_label("Your four digits").fill("7049")
    page.get_by_role("button", name="Set them").click()
    expect(page.get_by_text("Set. Tap your initials")).to_be_visible()


# --- what it says on every page ---------------------------------------------------------

NOTHING = {"waiting": 0, "needs": 0, "refused": 0, "oldest_ms": 0}


@pytest.mark.parametrize(
    ("counts", "unknown", "code", "num", "loud"),
    [
        ({}, False, "nothing", 1, ""),
        ({"waiting": 3, "oldest_ms": NOW_MS - 24 * HOUR_MS + 1}, False, "waiting", 3, ""),
        ({"waiting": 3, "oldest_ms": NOW_MS - 24 * HOUR_MS}, False, "day", 3, "day"),
        ({"waiting": 3, "oldest_ms": NOW_MS - 72 * HOUR_MS + 1}, False, "day", 3, "day"),
        ({"waiting": 3, "oldest_ms": NOW_MS - 72 * HOUR_MS}, False, "days", 3, "days"),
        ({"waiting": 1, "oldest_ms": NOW_MS + DAY_MS}, False, "waiting", 1, ""),
        ({"needs": 2}, False, "needs", 2, ""),
        ({"needs": 2, "waiting": 1, "oldest_ms": NOW_MS}, False, "waiting", 1, ""),
        ({"refused": 1, "waiting": 4, "oldest_ms": NOW_MS}, False, "refused", 1, "day"),
        ({"waiting": 1, "oldest_ms": NOW_MS}, True, "unknown", 1, "days"),
    ],
)
def test_the_worst_is_said_and_after_three_days_loudly(
    scripts: Page, counts: dict[str, int], unknown: bool, code: str, num: int, loud: str
) -> None:
    said = scripts.evaluate(
        "([counts, now, unknown]) => coop.phone.standing(counts, now, unknown)",
        [NOTHING | counts, NOW_MS, unknown],
    )

    assert (said["code"], said["num"], said["loud"]) == (code, num, loud)
    if code == "days":
        assert said["days"] == 3


@pytest.fixture(scope="module")
def scripts(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A page with the scripts of a phone, in a browser that says it is one."""
    house = opened(tmp_path_factory.mktemp("scripts"))
    with serving(house.app()) as origin:
        context = chromium.new_context(base_url=origin)
        context.add_cookies([{"name": "coop-phone", "value": house.new_id(), "url": origin}])
        page = context.new_page()
        page.goto("/sign-in")
        yield page
        context.close()


def test_a_line_is_said_while_it_waits_and_no_longer(
    house: Opened, live: Serve, pages: Pages
) -> None:
    pages.expect("Failed to load resource")
    page = pages.phone(live(house.app()))
    set_up(page)
    expect(line(page)).to_have_text("Nothing waits on this phone")
    bath = mixed(house)

    page.context.route("**/device/push", lambda route: route.abort())
    write_sheets(page, house, bath)
    expect(line(page)).to_have_text("1 line waits on this phone")
    write_sheets(page, house, bath)
    page.goto("/")
    expect(line(page)).to_have_text("2 lines wait on this phone")
    assert_accessible(page)
    screenshot(page, "phone-waits")

    page.context.unroute("**/device/push")
    page.goto("/shelf")
    expect(line(page)).to_have_text("Nothing waits on this phone")
    assert house.state("bath", bath).half_count == 40


def test_a_phone_asks_about_far_too_many_sheets_and_keeps_no_copy_of_them(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """A copy that went in by itself would answer the question for whoever is asked."""
    pages.expect("422")
    page = pages.phone(live(house.app()))
    set_up(page)
    bath = mixed(house)
    page.goto(f"/baths/{bath}/sheets")
    page.get_by_label("How many sheets?").first.fill("700")
    page.get_by_role("button", name="Write it", exact=True).click()
    expect(page.get_by_text("did 700 go through?")).to_be_visible()
    expect(line(page)).to_have_text("Nothing waits on this phone")
    assert_accessible(page)
    assert house.state("bath", bath).half_count == 0

    page.get_by_role("button", name="Write it all the same").click()
    expect(page.get_by_text("Written: 700 half sheets through.")).to_be_visible()
    expect(line(page)).to_have_text("Nothing waits on this phone")
    assert house.state("bath", bath).half_count == 700


def test_the_kept_page_is_fetched_anew_after_something_went_in(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """What it says of the bath must hold what was just handed in."""
    page = pages.phone(live(house.app()))
    set_up(page)
    page.wait_for_load_state("networkidle")
    with page.context.expect_event(
        "request", lambda request: request.url.endswith("/device/offline")
    ):
        write_sheets(page, house, mixed(house))


def test_a_line_that_waited_for_three_days_is_said_loudly(
    house: Opened, live: Serve, pages: Pages
) -> None:
    pages.expect("Failed to load resource")
    page = pages.phone(live(house.app()))
    set_up(page)
    page.context.route("**/device/push", lambda route: route.abort())
    write_sheets(page, house, mixed(house))
    today = datetime.fromtimestamp(page.evaluate("Date.now()") / 1000, UTC)
    page.clock.set_system_time(today + timedelta(days=3, hours=12))
    page.goto("/")

    expect(line(page)).to_have_text(
        "1 line has waited on this phone for 3 days: "
        "open it where there is a signal, or save the file"
    )
    assert_accessible(page)
    screenshot(page, "phone-waits-loudly")


def test_a_phone_that_was_switched_off_says_that_nothing_is_lost(
    house: Opened, live: Serve, pages: Pages
) -> None:
    pages.expect("401")
    page = pages.phone(live(house.app()))
    set_up(page)
    device = page.locator("[data-phone]").get_attribute("data-phone")
    with house.store.writing() as desk:
        devices.end(desk.connection, Subject(str(device)))
    house.say("device.revoked", device=device, reason="lost")
    write_sheets(page, house, mixed(house))
    page.goto("/")

    expect(line(page)).to_contain_text("Nothing on it is lost")
    assert_accessible(page)
    page.goto("/device/enrol")
    expect(page.get_by_text("This browser was set up before")).to_be_visible()
    page.get_by_role("button", name="Set it up").click()
    expect(page.get_by_role("heading", name="It opens without a signal now")).to_be_visible()


def test_signing_out_keeps_what_waits_and_says_so(
    house: Opened, live: Serve, pages: Pages
) -> None:
    pages.expect("Failed to load resource")
    page = pages.phone(live(house.app()))
    set_up(page)
    page.context.route("**/device/push", lambda route: route.abort())
    write_sheets(page, house, mixed(house))
    page.get_by_role("button", name="Sign out").click()

    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    expect(line(page)).to_have_text("1 line waits on this phone")


# --- taking it off ----------------------------------------------------------------------


def take_off(page: Page) -> None:
    page.goto("/device/enrol")
    expect(page.get_by_role("heading", name="It opens without a signal now")).to_be_visible()
    page.locator("summary", has_text="Take it off").click()
    page.get_by_role("button", name="Take it off").click()


def test_it_is_not_taken_off_while_a_line_waits(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """The line would stay on a phone that nothing is taken from."""
    pages.expect("Failed to load resource")
    page = pages.phone(live(house.app()))
    set_up(page)
    page.on("dialog", lambda dialog: dialog.accept())
    page.context.route("**/device/push", lambda route: route.abort())
    write_sheets(page, house, mixed(house))
    take_off(page)
    expect(page.get_by_role("alert")).to_contain_text("1 line has not gone in yet")
    expect(page.get_by_role("alert")).to_contain_text("save it as a file first")
    assert_accessible(page)
    screenshot(page, "phone-not-off")

    page.context.unroute("**/device/push")
    take_off(page)  # it hands the line in first
    expect(page.get_by_text("Taken off")).to_be_visible()


def test_it_is_taken_off_with_its_lines_in_a_file_and_what_went_in_goes(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """A phone to be given away: what the studio has is gone from it, notes too."""
    pages.expect("Failed to load resource")
    page = pages.phone(live(house.app()))
    set_up(page)
    asked: list[str] = []

    def agree(dialog: Dialog) -> None:
        asked.append(dialog.message)
        dialog.accept()

    page.on("dialog", agree)
    bath = mixed(house)
    write_sheets(page, house, bath)
    until(page, "async () => (await coop.outbox.counts()).studio === 1")
    page.context.route("**/device/push", lambda route: route.abort())
    write_sheets(page, house, bath, "30")
    take_off(page)
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the file").first.click()
    page.get_by_role("button", name="Take it off").click()
    expect(page.get_by_text("Taken off")).to_be_visible()
    expect(page.get_by_text("1 line that was written here has not gone in")).to_be_visible()

    assert saved.value.path().read_text("utf-8").count("\n") == 1
    assert any("Is the file saved" in one for one in asked)
    states = "() => coop.outbox.all().then((all) => all.map((one) => one.state))"
    assert page.evaluate(states) == ["waiting"]


def test_taking_it_off_leaves_its_release_as_it_was_told(
    house: Opened, live: Serve, pages: Pages
) -> None:
    """The list of phones shows by what each was heard last."""
    page = pages.phone(live(house.app()))
    set_up(page)
    page.on("dialog", lambda dialog: dialog.accept())
    said: list[str] = []

    def note(one: Request) -> None:
        if "push" in one.url and one.post_data_json is not None:
            said.append(one.post_data_json["release"])

    page.on("request", note)
    take_off(page)
    expect(page.get_by_text("Taken off")).to_be_visible()

    assert len(said) >= 2
    assert all(said)


def test_a_store_that_does_not_open_is_said_where_it_is_set_up(
    house: Opened, live: Serve, pages: Pages
) -> None:
    page = pages.phone(live(house.app()))
    set_up(page)
    page.add_init_script(
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'UnknownError'); };"
    )
    page.goto("/device/enrol")

    expect(page.locator("[data-cannot]")).to_contain_text("This browser keeps nothing")
    expect(page.get_by_text("By the same address as always")).to_be_visible()


def test_taken_off_it_opens_nothing_by_itself_any_more(
    house: Opened, live: Serve, pages: Pages
) -> None:
    page = pages.phone(live(house.app()))
    set_up(page)
    page.on("dialog", lambda dialog: dialog.accept())
    take_off(page)

    expect(page.get_by_text("Taken off")).to_be_visible()
    page.wait_for_function("async () => (await caches.keys()).length === 0")
    registered = "navigator.serviceWorker.getRegistrations().then((all) => all.length)"
    assert page.evaluate(registered) == 0
    assert page.locator("[data-phone]").count() == 0


# --- a newer worker ---------------------------------------------------------------------

UPDATE = """async () => {
    const registration = await navigator.serviceWorker.ready;
    const found = new Promise((done) => registration.addEventListener("updatefound", done));
    await registration.update();
    await found;
}"""
WAITING = "navigator.serviceWorker.ready.then((found) => found.waiting !== null)"


@pytest.mark.parametrize("typed", [True, False])
def test_a_newer_worker_waits_for_what_is_typed(
    house: Opened, live: Serve, pages: Pages, typed: bool
) -> None:
    """A form that is half filled in stays with the page and the worker that it came with."""
    page = pages.phone(live(house.app()))
    set_up(page)
    bath = mixed(house)
    newer = packaged()["sw.js"].content + b"// a newer one"
    page.goto(f"/baths/{bath}/sheets")
    if typed:
        page.get_by_label("How many sheets?").first.fill("20")
    script = Response(newer, mimetype="text/javascript")
    house.app().view_functions["worker.worker"] = needs(PUBLIC)(lambda: script)
    page.evaluate(UPDATE)

    if typed:
        page.wait_for_function(WAITING)
        page.wait_for_timeout(300)
        assert page.evaluate(WAITING)
        page.goto("/")  # nothing typed here
    page.wait_for_function(f"async () => !(await {WAITING})")
