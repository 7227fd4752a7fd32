"""A form posted the ordinary way on a phone: its copy is kept until the studio has it."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coop.ids import EntryId, Subject
from coop.ledger.schema import read_record
from coop.ledger.table import KINDS
from tests.support.browser import Pages
from tests.support.opened import PASSWORD, Opened, mixed, quantity
from tests.support.outbox_page import until
from tests.support.server import serving, sign_in
from tests.support.tray import with_size

pytestmark = pytest.mark.browser

COPIES = """async () => (await coop.outbox.about("device")) && new Promise((done, fail) => {
    const asked = indexedDB.open("coop");
    asked.onerror = fail;
    asked.onsuccess = () => {
        const range = IDBKeyRange.bound("copy:", "copy;");
        const found = asked.result.transaction("about").objectStore("about").getAll(range);
        found.onsuccess = () => done(found.result.map((one) => one.value));
        asked.result.close();
    };
})"""
PUSH = "/device/push"
LINES = "() => coop.outbox.all().then((all) => all.map((one) => [one.told, one.state]))"
STUDIO_HAS_IT = """async () => {
    const all = await coop.outbox.all();
    return all.length === 1 && all[0].state === "studio";
}"""
NEVER_KEPT = """() => {
    coop.outbox.setAside = (said) => {
        sessionStorage.setItem("salt", said.salt);
        return new Promise(() => undefined);
    };
}"""
SAID = "form => coop.body(form)"


@dataclass
class Tray:
    """Kahu's phone at the tray: a page, the house, and the server that can be stopped."""

    house: Opened
    page: Page
    bath: str
    stack: ExitStack
    origin: str

    def open(self, act: str) -> None:
        self.page.goto(act if act.startswith("/") else f"/baths/{self.bath}/{act}")

    def stop(self) -> None:
        """Stop the server: the browser believes it is online, nobody answers."""
        self.stack.close()

    def start(self) -> None:
        port = int(self.origin.rpartition(":")[2])
        self.stack.enter_context(serving(self.house.app(), port=port))

    def write(self, name: str = "Write it") -> None:
        self.page.get_by_role("button", name=name, exact=True).last.click()

    def later(self) -> None:
        """Let the time pass in which an answer may still come."""
        now = datetime.fromtimestamp(self.page.evaluate("Date.now()") / 1000, UTC)
        self.page.clock.set_system_time(now + timedelta(seconds=21))

    def half_sheets(self) -> int:
        return int(self.house.state("bath", self.bath).half_count)

    def lose_answers(self) -> None:
        """Let every form arrive, and its answer get lost on the way back."""
        app = self.house.app()
        whole = app.wsgi_app

        def losing(environ: dict[str, Any], start: Any) -> Iterable[bytes]:
            if environ["REQUEST_METHOD"] != "POST" or environ["PATH_INFO"] == PUSH:
                return whole(environ, start)
            for _ in whole(environ, lambda *_: lambda _: None):
                pass
            start("502 Lost", [("Content-Type", "text/plain")])
            return [b"lost"]

        app.wsgi_app = losing  # type: ignore[assignment,method-assign]  # Flask's own way

    def lines(self) -> Any:
        """Return what is on the phone: what is said of each line, and where it stands."""
        return self.page.evaluate(LINES)

    def copies(self) -> Any:
        return self.page.evaluate(COPIES)


@pytest.fixture
def tray(house: Opened, pages: Pages) -> Iterator[Tray]:
    pages.expect("Failed to load resource")
    bath = mixed(house)
    with ExitStack() as stack:
        origin = stack.enter_context(serving(house.app()))
        page = pages.phone(origin)
        page.set_default_timeout(10_000)
        sign_in(page, "kahu", PASSWORD)
        page.goto("/device/enrol")
        page.get_by_role("button", name="Set it up").click()
        expect(page.get_by_role("heading", name="It opens without a signal")).to_be_visible()
        yield Tray(house, page, bath, stack, origin)


# --- the copy says what the studio writes -----------------------------------------------


def fill_sheets(page: Page) -> None:
    page.get_by_label("How many sheets?").first.fill("20")
    page.get_by_text("Sponge dish, open hours").click()
    page.get_by_label("Took out into the dish").fill("1,5")
    page.get_by_label("Put back from the dish").fill("½")
    page.get_by_label("Hours it stood open").fill("1 1/2")


def fill_own_paper(page: Page) -> None:
    page.get_by_label("How many sheets?").first.fill("7")
    page.get_by_text("my own paper").last.click()
    page.get_by_text("Own paper: which one?").click()
    page.get_by_label("Which paper is your own?").select_option(label="P-31")


def fill_other_paper(page: Page) -> None:
    """A paper chosen of one's own counts for nothing beside a lot of the studio's."""
    page.get_by_label("How many sheets?").first.fill("7")
    page.get_by_text("Own paper: which one?").click()
    page.get_by_label("Which paper is your own?").select_option(label="P-31")


def fill_onto_size(page: Page) -> None:
    """Straight onto a size: what is said of damp goes with it."""
    page.get_by_label("How many sheets?").first.fill("7")
    page.locator("main .chip", has_text="onto R-S1").click()


def fill_lay(page: Page) -> None:
    """The stack that is chosen says format and paper."""
    page.get_by_label("How many sheets?").first.fill("5")
    page.locator("main .chip", has_text="damp").click()


def fill_top_up(page: Page) -> None:
    page.get_by_label("How much alum").fill("4")
    page.get_by_label("Measured in", exact=True).first.select_option("us_tbsp")
    page.get_by_label("Spoons", exact=True).first.select_option("heaped")
    page.get_by_label("Water", exact=True).fill("0,5")


def fill_weighed(page: Page) -> None:
    page.get_by_label("How much alum").fill("12.5")
    page.get_by_text("Another time, a note").click()
    page.get_by_label("Note").fill("a scoop\nof the old tub")


def choose(text: str) -> Callable[[Page], None]:
    return lambda page: page.locator("main .chip", has_text=text).first.click()


def fill_gravity(page: Page) -> None:
    page.get_by_label("Specific gravity").fill("1,021")
    page.get_by_label("Temperature of the bath").fill("19")


def fill_tape(page: Page) -> None:
    page.get_by_label("Litres at the tape line").fill("11,8")


def fill_dipstick(page: Page) -> None:
    page.get_by_label("Depth by the dipstick").fill("3")
    page.get_by_label("Unit").select_option("cm")


FORMS: list[Any] = [
    ("sheets", fill_sheets, "Write it"),
    ("sheets", fill_own_paper, "Write it"),
    ("sheets", fill_other_paper, "Write it"),
    ("mend", fill_top_up, "Write it"),
    ("mend", fill_weighed, "Write it"),
    ("test?by=strip_print", choose("soft or pale"), "Write it"),
    ("test?by=hydrometer", fill_gravity, "Write it"),
    ("test?by=tape_line", fill_tape, "Write it"),
    ("test?by=dipstick", fill_dipstick, "Write it"),
    ("care", choose("strained"), "Write it"),
    ("stop", choose("it looks wrong"), "Stop it"),
    ("finish", choose("used up"), "Finish it"),
]


@pytest.mark.parametrize(("act", "fill", "button"), FORMS)
def test_the_copy_of_a_form_says_what_the_studio_writes(
    tray: Tray, act: str, fill: Callable[[Page], None], button: str
) -> None:
    """Else the same thing, handed in by both ways, would be two."""
    check_copy(tray, act, fill, button)


def check_copy(tray: Tray, act: str, fill: Callable[[Page], None], button: str) -> None:
    """Fill in the last form of a page and post it; its copy must say what was written."""
    tray.open(act)
    fill(tray.page)
    form = tray.page.locator("main form[data-outbox]").last
    said, shown = form.evaluate(SAID), form.locator("[name=entry_id]").input_value()
    tray.write(button)
    expect(tray.page.locator("[data-written]")).to_have_count(1)

    with tray.house.desk() as desk:
        (sealed,) = desk.journal.by_id(EntryId(shown))
    kind = KINDS[sealed.entry.kind]
    body = said["body"]
    if said["note"]:
        body["note"] = sealed.entry.content.note  # type: ignore[union-attr]  # it has one
    assert (said["kind"], said["v"]) == (kind.code, kind.v)
    assert read_record(kind.content, body) == sealed.entry.content
    assert tray.copies() == []


@pytest.mark.parametrize(
    ("act", "fill"), [("sheets", fill_onto_size), ("/liquids/{size}/lay", fill_lay)]
)
def test_the_copy_of_sheets_laid_says_what_the_studio_writes(
    tray: Tray, act: str, fill: Callable[[Page], None]
) -> None:
    """Format and paper are the stack's, which the form does not ask."""
    house = tray.house
    size = with_size(house)
    house.say(
        "sheets.through", "kahu", bath=tray.bath, sheet_count="30", sheet_format="quarter",
        method="dip", lot=house.made["parcel"],
    )  # fmt: skip

    check_copy(tray, act.format(size=size), fill, "Write it")


def test_all_that_is_left_is_kept_like_any_other(tray: Tray) -> None:
    house = tray.house
    size = with_size(house)
    stack = house.say(
        "sheets.through", "kahu", bath=tray.bath, sheet_count="30", sheet_format="half",
        method="dip", paper=house.made["paper"],
    )  # fmt: skip
    tray.open(f"/liquids/{size}/lay")
    tray.stop()
    tray.page.get_by_role("button", name="All 30 half sheets").click()
    expect(tray.page.get_by_text("What others wrote since is not here.")).to_be_visible()
    until(tray.page, "() => coop.outbox.counts().then((found) => found.waiting === 1)")
    ((told, state),) = tray.lines()
    assert told.startswith("All 30 half sheets of R-A1, yours")
    assert state == "waiting"

    tray.start()
    tray.page.goto("/")
    expect(tray.page.locator("[data-phone] a")).to_have_text("Nothing waits on this phone")
    assert house.state("stack", stack).left_count == 0


# --- what becomes of it -----------------------------------------------------------------


def test_what_was_sent_to_a_stopped_server_waits_and_arrives_once(tray: Tray) -> None:
    """The browser believed that it was online, and so did Kahu."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("20")
    tray.stop()
    tray.write()

    expect(tray.page.get_by_text("What others wrote since is not here.")).to_be_visible()
    expect(tray.page.locator("[data-here]").first).to_contain_text("20 half sheets, dip")
    ((told, state),) = tray.lines()
    assert told.startswith("20 half sheets, dip")
    assert state == "waiting"
    assert tray.copies() == []

    tray.start()
    tray.page.goto("/")
    expect(tray.page.locator("[data-phone] a")).to_have_text("Nothing waits on this phone")
    assert tray.half_sheets() == 20


@pytest.mark.parametrize(
    ("act", "fill", "button"),
    [FORMS[0], FORMS[1], FORMS[3], FORMS[4], FORMS[6], FORMS[10]],
)
def test_an_answer_that_was_lost_makes_no_second_line(
    tray: Tray, act: str, fill: Callable[[Page], None], button: str
) -> None:
    """It came in, and nobody was told: the copy comes in as the same."""
    tray.open(act)
    fill(tray.page)
    tray.lose_answers()
    tray.write(button)
    expect(tray.page.locator("body")).to_have_text("lost")
    tray.later()
    tray.page.goto("/device/offline")
    until(tray.page, STUDIO_HAS_IT)

    with tray.house.desk() as desk:
        written = list(desk.journal.touching(Subject(tray.bath)))
    assert len(written) == 2  # it was mixed, and this


@pytest.mark.parametrize("published", [True, False])
def test_a_bath_mixed_is_one_bath_though_its_answer_was_lost(
    tray: Tray, published: bool
) -> None:
    """What the page knows of it, tub and card, is said by the copy as well."""
    house = tray.house
    tub = house.say(
        "vessel.described", studio=house.made["studio"], name="low tub",
        brim=quantity(10, "l"), lidded="no", place="2",
    )  # fmt: skip
    card = "dose=40+g%2FL&recipe=typed"
    if published:
        recipe = house.say(
            "recipe.published", name="the old card", dose="40 g/L", amount=quantity(40, "g"),
            per=quantity(1, "l"), salt="aluminium_sulfate_14",
        )  # fmt: skip
        card = f"recipe={recipe}"
    tray.open(f"/mix/{tub}?{card}&much=5&measure=l")
    tray.lose_answers()
    tray.write()
    expect(tray.page.locator("body")).to_have_text("lost")
    tray.later()
    tray.page.goto("/device/offline")
    until(tray.page, STUDIO_HAS_IT)

    with house.desk() as desk:
        baths = desk.journal.listed("bath", live=False)
    assert sorted(one.name for one in baths) == ["R-A1", "R-A2"]
    assert {one.vessel for one in baths} == {house.made["tub"], tub}


def test_the_same_as_last_time_is_kept_like_any_other(tray: Tray) -> None:
    tray.house.say(
        "sheets.through", "kahu", bath=tray.bath, sheet_count="30", sheet_format="half",
        method="dip", paper=tray.house.made["paper"],
    )  # fmt: skip
    tray.open("sheets")
    tray.stop()
    tray.page.get_by_role("button", name="30 half sheets").click()
    expect(tray.page.get_by_text("What others wrote since is not here.")).to_be_visible()
    tray.page.wait_for_function(
        "() => coop.outbox.counts().then((found) => found.waiting === 1)"
    )
    tray.start()
    tray.page.goto("/")
    expect(tray.page.locator("[data-phone] a")).to_have_text("Nothing waits on this phone")

    through = tray.house.state("bath", tray.bath).through
    assert [(one.sheet_count, one.paper) for one in through] == [
        (30, tray.house.made["paper"])
    ] * 2


def test_a_copy_that_comes_late_holds_nothing_up_and_names_the_note_alike(tray: Tray) -> None:
    """Another tab may hold the phone's store shut; the form goes, and its salt with it."""
    tray.open("mend")
    fill_weighed(tray.page)
    shown = tray.page.locator("[name=entry_id]").last.input_value()
    tray.page.evaluate(NEVER_KEPT)
    tray.write()
    expect(tray.page.locator("[data-written]")).to_have_count(1)

    with tray.house.desk() as desk:
        (sealed,) = desk.journal.by_id(EntryId(shown))
        note = desk.journal.attachment(sealed.entry.content.note)  # type: ignore[union-attr]
    assert note is not None
    assert note.salt.hex() == tray.page.evaluate("sessionStorage.getItem('salt')")


def test_a_form_that_is_shown_again_needs_no_copy(tray: Tray) -> None:
    """What was typed stands in it; a copy would come in beside it."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("5000")
    tray.write()
    expect(tray.page.get_by_role("alert")).to_be_visible()
    tray.page.wait_for_function(f"async () => (await ({COPIES})()).length === 0")

    assert tray.lines() == []


def test_a_copy_that_no_page_spoke_of_waits_after_twenty_seconds(tray: Tray) -> None:
    """The studio may still be at it; then it goes by the other way as well."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("20")
    tray.lose_answers()
    tray.write()
    expect(tray.page.locator("body")).to_have_text("lost")
    tray.page.goto("/")
    tray.page.wait_for_load_state("networkidle")
    before = tray.lines()
    tray.later()
    tray.page.goto("/shelf")
    until(tray.page, STUDIO_HAS_IT)

    assert before == []
    assert tray.half_sheets() == 20


def test_a_form_sent_again_with_other_words_leaves_no_copy_behind(tray: Tray) -> None:
    """Back in the browser, another number: the page asks, as without a phone."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("20")
    shown = tray.page.locator("[name=entry_id]").last.input_value()
    tray.write()
    expect(tray.page.locator("[data-written]")).to_have_count(1)
    tray.open("sheets")
    tray.page.locator("[name=entry_id]").last.evaluate(
        "(field, id) => { field.value = id }", shown
    )
    tray.page.get_by_label("How many sheets?").first.fill("30")
    tray.write()
    expect(tray.page.get_by_role("alert")).to_contain_text("Something else was written")
    tray.page.wait_for_function(f"async () => (await ({COPIES})()).length === 0")

    assert tray.half_sheets() == 20


WIPE = """() => new Promise((done, fail) => {
    const gone = indexedDB.deleteDatabase("coop");
    gone.addEventListener("success", done);
    gone.addEventListener("error", fail);
})"""


def test_without_a_signal_a_slip_is_said_at_its_field_and_nothing_is_lost(tray: Tray) -> None:
    """No studio is there to say it; the page that opens instead would not have the text."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("forty")
    tray.page.get_by_text("Another time, a note").last.click()
    tray.page.get_by_label("Note").last.fill("foam")
    tray.page.context.set_offline(True)
    tray.write()
    said = tray.page.locator("[data-slip-said]")
    expect(said).to_contain_text("There is no signal")
    expect(said).to_contain_text("A number, please")

    assert tray.page.url.endswith("/sheets")
    expect(tray.page.get_by_label("Note").last).to_have_value("foam")
    tray.page.get_by_label("How many sheets?").first.fill("40")
    tray.write()
    until(tray.page, "async () => (await coop.outbox.all()).length === 1")
    assert tray.lines()[0][1] == "waiting"


def test_a_store_that_was_wiped_learns_whose_phone_it_is(tray: Tray) -> None:
    """The cookie is still there; without a device no copy would ever become a line."""
    tray.page.goto("/help")
    until(tray.page, "async () => (await coop.outbox.counts()).waiting === 0")
    tray.page.evaluate(WIPE)
    tray.open("sheets")
    until(tray.page, "async () => Boolean(await coop.outbox.about('device'))")
    tray.page.get_by_label("How many sheets?").first.fill("20")
    tray.stop()
    tray.write()
    until(tray.page, "async () => (await coop.outbox.all()).length === 1")

    assert tray.lines()[0][1] == "waiting"


def test_an_answer_that_shows_no_form_says_that_the_copy_goes_in_by_itself(tray: Tray) -> None:
    """The page was open too long: whoever writes it again would write it twice."""
    tray.open("sheets")
    tray.page.get_by_label("How many sheets?").first.fill("20")
    tray.page.locator("[name=csrf_token]").evaluate_all(
        "all => all.forEach((one) => { one.value = 'old' })"
    )
    tray.write()
    expect(tray.page.get_by_text("is kept on this phone and goes in by itself")).to_be_visible()
    tray.later()
    tray.page.goto("/shelf")
    until(tray.page, STUDIO_HAS_IT)

    assert tray.half_sheets() == 20


def test_a_store_that_does_not_open_is_said_and_the_worker_goes_on(tray: Tray) -> None:
    tray.page.add_init_script(
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'UnknownError'); };"
    )
    tray.page.goto("/shelf")

    expect(tray.page.locator("[data-phone] a")).to_contain_text("This browser keeps nothing")
    assert tray.page.evaluate("async () => Boolean(await coop.registerWorker())")
