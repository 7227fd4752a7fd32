"""
The phone on the stairs: no signal, nothing lost, nothing twice.

A real browser with a real worker; the server is stopped, set back, upgraded, and answers what
networks and full disks make it answer. What was written is counted in the ledger at the end.
"""

import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from coop.web.pages import offline as offline_page
from coop.web.pages import push as push_page
from tests.support import programs
from tests.support.browser import ARGUMENTS, PHONE, Pages, assert_accessible, screenshot
from tests.support.cellar import Cellar, reload, wait_for_states
from tests.support.opened import PASSWORD, furnished
from tests.support.outbox_page import until
from tests.support.server import sign_in

pytestmark = pytest.mark.browser

TRAY_TARGET_PX = 64
OPENS_WITHIN_S = 1.0
OPENED_TIMES = 5
KEPT_TEXTS = """async () => {
    const found = [];
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const request of await cache.keys()) {
            const answer = await cache.match(request);
            if (!/image/.test(answer.headers.get("Content-Type") ?? ""))
                found.push([request.url, await answer.text()]);
        }
    }
    return found.filter(([address]) => !/\\.(js|css)$/.test(address));
}"""
NO_SIGNAL = "ERR_INTERNET_DISCONNECTED"
STOPPED = "ERR_(CONNECTION_REFUSED|CONNECTION_RESET|EMPTY_RESPONSE|SOCKET_NOT_CONNECTED)"


@pytest.fixture
def cellar(tmp_path: Path, pages: Pages) -> Iterator[Cellar]:
    pages.expect(NO_SIGNAL)
    pages.expect(STOPPED)
    made = Cellar(furnished(tmp_path), pages)
    yield made
    made.close()


def open_sheets(page: Page) -> None:
    page.locator("article.bath").get_by_role("link", name="Sheets through").first.click()


def write_sheets(page: Page, count: int) -> None:
    """Write half sheets down with the number pad."""
    open_sheets(page)
    page.get_by_role("button", name=str(count), exact=True).click()
    page.get_by_role("button", name="Write it").click()
    expect(page.locator("#notices")).to_contain_text(f"{count} half sheets, dip, P-31: ")


def test_sixty_half_sheets_on_the_stairs_arrive_the_next_day(cellar: Cellar) -> None:
    """The tab is closed in the cellar; the phone finds a signal in the morning."""
    page = cellar.phone()
    with cellar.no_signal(page):
        page.goto("/")
        expect(page.get_by_role("heading", level=1)).to_have_text("In the room")
        write_sheets(page, 60)
        waits = "+ 60 half sheets, dip, P-31: waiting on this phone"
        expect(page.locator("article.bath")).to_contain_text(waits)
        assert_accessible(page)
        screenshot(page, "stairs-waiting")
        context = page.context
        page.close()
    assert cellar.half_sheets() == 0

    cellar.later(context, days=1)
    page = context.new_page()
    page.goto("/device/offline")
    wait_for_states(page, "studio")
    assert cellar.half_sheets() == 60

    desk = cellar.pages.desk(cellar.origin)
    sign_in(desk, "amina", PASSWORD)
    expect(desk.locator("article.bath")).to_contain_text("Kahu R., 24 h ago")
    desk.goto("/shelf")
    expect(desk.get_by_role("main")).to_contain_text("970")


def test_an_answer_that_is_lost_after_it_was_kept_makes_no_second_entry(
    cellar: Cellar,
) -> None:
    """The studio wrote it down; the phone never heard so, and asks again."""
    cellar.pages.expect("502")
    page = cellar.phone()
    cellar.door.loses = True
    write_sheets(page, 20)
    expect(page.locator("article.bath")).to_contain_text("waiting on this phone")
    until(page, "async () => (await coop.outbox.about('reached_ms')) > 0")
    cellar.door.pushes = 0
    reload(page)
    cellar.wait_for_a_push(page)
    assert cellar.half_sheets() == 20

    cellar.door.loses = False
    reload(page)
    wait_for_states(page, "studio")

    assert cellar.half_sheets() == 20
    assert cellar.door.pushes >= 2


def test_two_tabs_send_each_line_once(cellar: Cellar) -> None:
    page = cellar.phone()
    with cellar.no_signal(page):
        write_sheets(page, 10)
        other = page.context.new_page()
        other.goto("/device/offline")
        write_sheets(other, 20)
        wait_for_states(page, "waiting", "waiting")
    reload(page)
    reload(other)

    for tab in (page, other):
        wait_for_states(tab, "studio", "studio")
    assert cellar.half_sheets() == 30
    seqs = "(await coop.outbox.all()).map((one) => one.device_seq).join()"
    until(page, f"async () => {seqs} === '1,2'")


def test_a_browser_started_again_without_a_signal_still_has_it(
    cellar: Cellar, tmp_path: Path, chromium: Browser
) -> None:
    """The battery was empty; the phone is started again in the cellar."""

    def start() -> BrowserContext:
        context = chromium.browser_type.launch_persistent_context(
            tmp_path / "profile",
            executable_path=programs.chromium(),
            args=ARGUMENTS,
            base_url=cellar.origin,
            **PHONE,
        )
        context.set_default_timeout(15_000)
        cellar.tell_time(context)
        return context

    context = start()
    page = context.new_page()
    cellar.set_up(page, "kahu")
    cellar.open_kept(page)
    context.set_offline(True)
    write_sheets(page, 40)
    context.close()

    cellar.stop()
    context = start()
    page = context.new_page()
    page.goto("/")
    expect(page.locator("article.bath")).to_contain_text("+ 40 half sheets")
    cellar.start()
    reload(page)
    wait_for_states(page, "studio")
    context.close()

    assert cellar.half_sheets() == 40


def test_a_server_that_stopped_is_not_believed_to_have_it(cellar: Cellar) -> None:
    """The browser believes it is online; only an answer counts."""
    page = cellar.phone()
    cellar.stop()
    assert page.evaluate("navigator.onLine")
    write_sheets(page, 50)
    page.goto("/shelf")
    expect(page.get_by_role("heading", level=1)).to_have_text("In the room")
    expect(page.locator("article.bath")).to_contain_text("+ 50 half sheets")

    cellar.start()
    reload(page)
    wait_for_states(page, "studio")

    assert cellar.half_sheets() == 50


KEEP_MANY = """async ([bath, author, count]) => {
    for (let n = 0; n < count; n += 1) await coop.outbox.put({
        kind: "sheets.through", v: 1, author, bath, told: "1 half sheet, dip",
        body: {bath, sheet_count: "1", sheet_format: "half", method: "dip"},
    });
}"""


def test_a_thousand_lines_after_a_month_all_arrive(cellar: Cellar) -> None:
    page = cellar.phone()
    author = cellar.house.members["kahu"].member
    with cellar.no_signal(page):
        page.evaluate(KEEP_MANY, [cellar.bath, author, 1000])
        cellar.later(page.context, days=31)
        reload(page)
        expect(page.locator("#notices")).to_contain_text("Some of it has waited on this phone")
        screenshot(page, "stairs-a-month")
    cellar.door.pushes = 0

    reload(page)
    until(
        page,
        "async () => (await coop.outbox.all()).every((one) => one.state === 'studio')",
    )

    assert cellar.half_sheets() == 1000
    assert cellar.door.pushes <= 8


@pytest.mark.parametrize("off", [-3650, -1, 1, 3650], ids=lambda days: f"{days} days")
def test_a_clock_that_is_off_is_measured_and_flagged_never_refused(
    cellar: Cellar, off: int
) -> None:
    page = cellar.phone()
    truth = cellar.house.moment
    page.context.clock.set_system_time(truth + timedelta(days=off))
    reload(page)
    with cellar.no_signal(page):
        write_sheets(page, 30)
    reload(page)
    wait_for_states(page, "studio")

    at = cellar.house.state("bath", cellar.bath).through[-1].at
    assert abs(at - truth) < timedelta(minutes=2)
    desk = cellar.pages.desk(cellar.origin)
    sign_in(desk, "amina", PASSWORD)
    desk.goto("/devices")
    desk.get_by_role("link", name="Kahu's phone").click()
    expect(desk.get_by_role("main")).to_contain_text("ahead" if off > 0 else "behind")


KEEP_WRONG = """async ([bath, author]) => coop.outbox.put({
    kind: "sheets.through", v: 1, author, bath, told: "2001 half sheets, dip",
    body: {bath, sheet_count: "2001", sheet_format: "half", method: "dip"},
})"""


def test_what_is_refused_stays_is_put_right_and_goes(cellar: Cellar) -> None:
    """An older page let something pass that the studio does not."""
    page = cellar.phone()
    page.evaluate(KEEP_WRONG, [cellar.bath, cellar.house.members["kahu"].member])
    wait_for_states(page, "refused")
    page.goto("/device/offline#lines")
    expect(page.locator("[data-list]")).to_contain_text("From 1 to 2000, please.")
    assert_accessible(page)
    screenshot(page, "stairs-refused")

    page.get_by_role("button", name="Put it right").click()
    count = page.locator("#sheets-count")
    expect(count).to_have_value("2001")
    count.fill("21")
    page.get_by_role("button", name="Write it").click()
    wait_for_states(page, "studio")

    assert cellar.half_sheets() == 21
    until(page, "async () => (await coop.outbox.all())[0].device_seq === 1")


def test_what_is_given_up_is_kept_by_the_studio_and_leaves_no_gap(cellar: Cellar) -> None:
    page = cellar.phone()
    page.evaluate(KEEP_WRONG, [cellar.bath, cellar.house.members["kahu"].member])
    wait_for_states(page, "refused")
    page.goto("/device/offline#lines")
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Give it up").click()

    until(
        page,
        "async () => (await coop.outbox.all()).every((one) => one.state === 'given-up'"
        " && one.acked_ms !== null)",
    )
    desk = cellar.pages.desk(cellar.origin)
    sign_in(desk, "amina", PASSWORD)
    desk.goto("/sort-it-out")
    expect(desk.get_by_role("main")).not_to_contain_text("never arrived")


def test_who_was_taken_off_while_away_waits_for_a_coordinator(cellar: Cellar) -> None:
    """Kahu left the co-operative, and sixty sheets came through the cellar door later."""
    page = cellar.phone()
    with cellar.no_signal(page):
        write_sheets(page, 60)
        cellar.later(page.context, hours=2)
        cellar.house.say("member.left", member=cellar.house.members["kahu"].member)
    reload(page)
    wait_for_states(page, "needs")
    expect(page.locator("article.bath")).to_contain_text("needs a person")

    desk = cellar.pages.desk(cellar.origin)
    sign_in(desk, "amina", PASSWORD)
    desk.goto("/sort-it-out")
    assert_accessible(desk)
    screenshot(desk, "stairs-sort-it-out")
    expect(desk.get_by_role("main")).to_contain_text("60 half sheets")
    desk.get_by_role("link", name="Decide").click()
    assert_accessible(desk)
    desk.get_by_role("button", name="It goes in as it is").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Sort it out")
    assert cellar.half_sheets() == 60
    reload(page)
    wait_for_states(page, "studio")


def test_an_old_shell_speaks_to_a_new_server(
    cellar: Cellar, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page was kept before the upgrade; what it writes is taken, then it is renewed."""
    page = cellar.phone()
    with cellar.no_signal(page):
        write_sheets(page, 10)
    before = page.locator("main").get_attribute("data-release")
    for module in (push_page, offline_page):
        monkeypatch.setattr(module, "__version__", "99.0.0")
    cellar.later(page.context, minutes=5)

    reload(page)
    wait_for_states(page, "studio")
    expect(page.locator("main")).to_have_attribute("data-release", "99.0.0")

    assert before != "99.0.0"
    assert cellar.half_sheets() == 10


KEEP_LATER_FORM = """async (author) => coop.outbox.put({
    kind: "colour.dropped", v: 1, author, bath: "", told: "a kind of later days",
    body: {drops: "7"},
})"""


def test_a_new_shell_speaks_to_an_old_server_and_waits_for_its_upgrade(
    cellar: Cellar, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The server was set back a release: what it does not know yet is no mistake of anybody."""
    page = cellar.phone()
    page.evaluate(KEEP_LATER_FORM, cellar.house.members["kahu"].member)
    until(page, "async () => (await coop.outbox.all())[0].refused_by")
    wait_for_states(page, "waiting")
    cellar.door.pushes = 0
    write_sheets(page, 5)
    wait_for_states(page, "waiting", "studio")

    monkeypatch.setattr(push_page, "__version__", "99.0.0")
    reload(page)
    until(page, "async () => (await coop.outbox.all())[0].refused_by === '99.0.0'")
    wait_for_states(page, "waiting", "studio")


def test_a_server_set_back_is_filled_again_by_the_phone(cellar: Cellar) -> None:
    """The disk died; yesterday's copy is served again as a new node."""
    page = cellar.phone()
    write_sheets(page, 20)
    wait_for_states(page, "studio")
    copy = cellar.copy_database("yesterday.db")
    write_sheets(page, 40)
    wait_for_states(page, "studio", "studio")
    assert cellar.half_sheets() == 60

    cellar.set_back(copy)
    assert cellar.half_sheets() == 20
    reload(page)
    until(
        page, "async () => Object.keys((await coop.outbox.about('heard')) ?? {}).length === 2"
    )
    wait_for_states(page, "studio", "studio")

    assert cellar.half_sheets() == 60


@pytest.mark.parametrize("status", [401, 403, 404, 413, 429, 500, 502, 503, 507])
def test_no_answer_makes_what_waits_less(cellar: Cellar, status: int) -> None:
    cellar.pages.expect(str(status))
    page = cellar.phone()
    cellar.door.answers = status
    write_sheets(page, 20)
    page.goto("/device/offline#lines")
    page.get_by_role("button", name="Send it now").click()
    expect(page.locator("#notices")).to_contain_text("Nothing is lost")
    wait_for_states(page, "waiting")

    cellar.door.answers = None
    reload(page)
    wait_for_states(page, "studio")

    assert cellar.half_sheets() == 20


@pytest.mark.parametrize(("who", "state"), [("amina", "studio"), ("oluwaseun", "needs")])
def test_a_file_saved_by_hand_is_taken_in_on_another_phone(
    cellar: Cellar, tmp_path: Path, who: str, state: str
) -> None:
    """A coordinator's phone brings it in; on anybody else's a person looks at it first."""
    page = cellar.phone()
    page.context.set_offline(True)
    write_sheets(page, 20)
    page.goto("/device/offline#lines")
    page.get_by_text("Save it as a file").click()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save a file").click()
    file = tmp_path / saved.value.suggested_filename
    saved.value.save_as(file)

    other = cellar.phone(who)
    other.goto("/device/offline#lines")
    other.get_by_text("Save it as a file").click()
    other.get_by_label("Take a file in").set_input_files(file)
    wait_for_states(other, state)
    page.context.set_offline(False)
    reload(page)
    wait_for_states(page, "studio")

    assert file.suffix == ".jsonl"
    assert cellar.half_sheets() == 20


# --- the main path: taps, weight, time ---------------------------------------------------


def test_sixty_half_sheets_are_written_in_three_taps_and_the_same_again_in_two(
    cellar: Cellar,
) -> None:
    """Wet hands, and a queue at the tray: counted from the room on."""
    page = cellar.phone()
    with cellar.no_signal(page):
        taps = tapping(page)
        taps("link", "Sheets through")
        taps("button", "60")
        taps("button", "Write it")
        wait_for_states(page, "waiting")
        taps("link", "Sheets through")
        taps("button", "60 half sheets, dip, P-31")
        wait_for_states(page, "waiting", "waiting")
    reload(page)
    wait_for_states(page, "studio", "studio")

    assert cellar.half_sheets() == 120


def tapping(page: Page) -> Callable[[Literal["link", "button"], str], None]:
    """Return a finger that hits only what is big enough for wet hands."""

    def tap(role: Literal["link", "button"], name: str) -> None:
        found = page.get_by_role(role, name=name, exact=True)
        box = found.bounding_box()
        assert box is not None
        assert box["height"] >= TRAY_TARGET_PX, f"{name}: {box['height']} px"
        found.tap()

    return tap


def test_it_opens_in_a_second_without_a_signal(cellar: Cellar) -> None:
    """From the tap on the icon to the cards of the baths; the best of a few, as others run."""
    page = cellar.phone()
    with cellar.no_signal(page):
        took_s = []
        for _ in range(OPENED_TIMES):
            began = time.monotonic()
            page.goto("/")
            page.locator("article.bath").wait_for()
            took_s.append(time.monotonic() - began)

    assert min(took_s) < OPENS_WITHIN_S


# --- a shared tablet -----------------------------------------------------------------------


def test_nobody_sees_on_a_shared_tablet_what_another_wrote_or_read(cellar: Cellar) -> None:
    """Kahu writes and goes; Oluwaseun takes the tablet. It keeps no page of either."""
    cellar.house.say("bath.stopped", "kahu", bath=cellar.bath, reason="looks_wrong")
    page = cellar.pages.phone(cellar.origin)
    page.set_default_timeout(15_000)
    cellar.tell_time(page.context)
    cellar.set_up(page, "kahu", shared=True)
    for there in ("/me", "/people", f"/baths/{cellar.bath}"):
        page.goto(there)
    set_digits(page, "2580")
    cellar.open_kept(page)
    with cellar.no_signal(page):
        tap_in(page, "KR", "2580")
        write_note(page, "my own mark")
        page.get_by_role("button", name="KR writes: not me any more").click()
        page.goto("/device/offline#lines")

        expect(page.locator("[data-list]")).to_contain_text("Lines of others that wait here: 1")
        expect(page.locator("body")).not_to_contain_text("own mark")
    kept = page.evaluate(KEPT_TEXTS)

    assert kept
    for address, text in kept:
        for secret in ("Kahu", "own mark", "csrf_token", "coop-session", "@"):
            assert secret not in text, f"{secret} in {address}"


def set_digits(page: Page, digits: str) -> None:
    page.goto("/device/digits")
    page.get_by_label("Your four digits").fill(digits)
    page.get_by_role("button", name="Set them").click()


def tap_in(page: Page, initials: str, digits: str) -> None:
    """Say who writes, as one does before the first line."""
    page.locator("article.bath").get_by_role("link", name="Sheets through").first.click()
    page.get_by_role("button", name=initials, exact=True).click()
    page.get_by_label("Your four digits").fill(digits)
    page.get_by_role("button", name="It is me").click()


def write_note(page: Page, text: str) -> None:
    page.locator("#sheets-count").fill("3")
    page.locator("#sheets").get_by_text("only a few sheets").click()
    page.locator("#sheets").get_by_text("Another time, a note").click()
    page.locator("#sheets-note").fill(text)
    page.get_by_role("button", name="Write it").click()
    expect(page.locator("#notices")).to_contain_text("3 half sheets")


def test_a_tablet_belongs_to_nobody_after_five_minutes(cellar: Cellar) -> None:
    page = cellar.pages.phone(cellar.origin)
    page.set_default_timeout(15_000)
    cellar.set_up(page, "kahu", shared=True)
    set_digits(page, "2580")
    page.clock.install(time=cellar.house.moment)
    cellar.open_kept(page)
    tap_in(page, "KR", "2580")
    leave = page.get_by_role("button", name="KR writes: not me any more")
    expect(leave).to_be_visible()

    page.clock.run_for(4 * 60_000)
    expect(leave).to_be_visible()
    page.clock.run_for(2 * 60_000)
    expect(leave).to_be_hidden()


def test_ten_wrong_tries_lock_a_name_until_the_studio_is_heard(cellar: Cellar) -> None:
    page = cellar.pages.phone(cellar.origin)
    page.set_default_timeout(15_000)
    cellar.set_up(page, "kahu", shared=True)
    set_digits(page, "2580")
    cellar.open_kept(page)
    until(page, "async () => (await coop.outbox.about('reached_ms')) > 0")
    with cellar.no_signal(page):
        reload(page)
        for _ in range(10):
            tap_in(page, "KR", "1111")
            expect(page.locator("#notices")).to_contain_text("KR")
            page.goto("/device/offline#room")
        tap_in(page, "KR", "2580")
        expect(page.locator("#notices")).to_contain_text("Ten wrong tries")
        expect(page.get_by_role("heading", level=1)).to_have_text("Who writes?")
