"""What was written on a phone is there until the studio has it, whatever happens in between."""

import gzip
import json
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page, expect

from coop.sync.limits import RESCUE_BYTES_MAX, RESCUE_LINES_MAX
from coop.web.assets import packaged
from tests.support.browser import ARGUMENTS, Pages
from tests.support.outbox_page import AUTHOR, DEVICE, LEDGER, SCRIPTS, Studio, outbox_app, until
from tests.support.programs import chromium as program
from tests.support.sayings import an_id
from tests.support.server import serving

pytestmark = pytest.mark.browser

Live = Callable[[Flask], str]

SCRIPT_BYTES_MAX = 14_000  # of the three together, compressed
BATH = an_id(10)
PAGE = {"ledger": LEDGER, "device": DEVICE, "lastSeq": 0}
FLUSH = "() => coop.outbox.flush({ pushUrl: '/device/push', release: '1' })"
NOT_TAKEN = [401, 403, 404, 413, 415, 422, 429, 500, 502, 503, 507]
NEW_NODE = an_id(4)


@pytest.fixture
def studio() -> Studio:
    return Studio()


@pytest.fixture
def origin(studio: Studio, live: Live) -> str:
    return live(outbox_app(studio))


@pytest.fixture
def phone(pages: Pages, origin: str) -> Page:
    pages.expect(r"Failed to load resource")  # what the studio refuses or loses
    return opened(pages.phone(origin))


def opened(page: Page, **more: Any) -> Page:
    """Open a page of a device, as the document for the stairs does."""
    page.goto("/")
    page.evaluate("page => coop.outbox.open(page)", PAGE | more)
    return page


def write(page: Page, count: str = "20", **more: Any) -> dict[str, Any]:
    """Keep some sheets; return the record."""
    body = {"bath": BATH, "sheet_count": count}
    said = {"kind": "sheets.through", "v": 1, "body": body, "author": AUTHOR,
            "told": f"{count} half sheets", "bath": BATH} | more  # fmt: skip
    record: dict[str, Any] = page.evaluate("said => coop.outbox.put(said)", said)
    return record


def kept(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate("() => coop.outbox.all()")
    return found


def states(page: Page) -> list[str]:
    return [one["state"] for one in kept(page)]


def send(page: Page) -> dict[str, Any]:
    outcome: dict[str, Any] = page.evaluate(FLUSH)
    return outcome


def lines(first: int, last: int, device: str = DEVICE) -> str:
    """Return a rescue file of a device's counts from first to last."""
    said = []
    for seq in range(first, last + 1):
        entry = {
            "ledger": LEDGER, "id": an_id(1000 + seq), "kind": "sheets.through", "v": 1,
            "body": {"bath": BATH, "sheet_count": str(seq)}, "author": AUTHOR, "device": device,
            "device_seq": seq, "happened_at": "2025-09-17T18:00:00+02:00",
            "written_at": "2025-09-17T18:00:00+02:00",
        }  # fmt: skip
        said.append(json.dumps({"v": 1, "entry": entry}))
    return "\n".join(said)


def take_in(page: Page, text: str) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate("text => coop.outbox.takeIn(text)", text)
    return found


# ---- keeping


def test_what_is_written_waits_with_its_own_count(phone: Page) -> None:
    write(phone)
    record = write(phone, "40", note=" foam ", happenedAt="2025-09-17T18:00")
    said = json.loads(record["text"])

    assert [one["device_seq"] for one in kept(phone)] == [1, 2]
    assert (record["state"], record["told"], record["bath"]) == (
        "waiting",
        "40 half sheets",
        BATH,
    )
    assert said["entry"]["device_seq"] == 2
    assert said["entry"]["said"]["typed"] == "2025-09-17T18:00"
    assert said["note"]["text"] == "foam"


def test_it_is_on_the_disk_before_it_is_said_to_be(pages: Pages, origin: str) -> None:
    """W3C Indexed Database API 3.0: `strict` asks for the disk, not for its cache."""
    page = pages.phone(origin)
    page.add_init_script(
        """globalThis.asked = [];
        const plain = IDBDatabase.prototype.transaction;
        IDBDatabase.prototype.transaction = function (names, mode, options) {
            asked.push([mode ?? "readonly", options?.durability ?? "default"]);
            return plain.call(this, names, mode, options);
        };"""
    )
    opened(page)
    write(page)
    send(page)
    asked = {tuple(one) for one in page.evaluate("() => asked")}

    assert ("readwrite", "strict") in asked
    assert {how for mode, how in asked if mode != "readonly"} == {"strict"}


def test_counts_go_on_where_the_studio_last_heard_of(phone: Page) -> None:
    """A browser that lost its store must not give a number twice."""
    opened(phone, lastSeq=12)
    first = write(phone)
    opened(phone, lastSeq=5)

    assert [first["device_seq"], write(phone)["device_seq"]] == [13, 14]


def test_two_tabs_never_give_one_number(phone: Page) -> None:
    other = opened(phone.context.new_page())
    many = """said => { globalThis.kept = Promise.all(
        Array.from({ length: 20 }, () => coop.outbox.put(said))); }"""
    said = {"kind": "bath.cared", "v": 1, "body": {}, "author": AUTHOR, "told": "Strained"}
    for tab in (phone, other):
        tab.evaluate(many, said)
    for tab in (phone, other):
        tab.evaluate("async () => { await kept; }")

    assert [one["device_seq"] for one in kept(phone)] == list(range(1, 41))


def test_what_is_not_kept_uses_no_number(phone: Page) -> None:
    """A number announced and never sent would look like something lost."""
    with pytest.raises(Exception, match="happened_at: not-a-time"):
        write(phone, happenedAt="yesterday")

    assert write(phone)["device_seq"] == 1


def test_a_form_shown_once_is_kept_once(phone: Page) -> None:
    """A thumb hits the button twice."""
    one = write(phone, id=an_id(50), note="foam")

    assert write(phone, id=an_id(50), note="foam") == one
    with pytest.raises(Exception, match="written-already"):
        write(phone, "21", id=an_id(50), note="foam")
    assert len(kept(phone)) == 1


def test_a_bath_shows_what_the_studio_cannot_know(phone: Page, studio: Studio) -> None:
    write(phone, "20")
    send(phone)
    write(phone, "30")
    write(phone, "40", bath=an_id(11))
    waiting = phone.evaluate("bath => coop.outbox.waitingFor(bath)", BATH)
    counts = phone.evaluate("() => coop.outbox.counts()")

    assert [one["told"] for one in waiting] == ["30 half sheets"]
    assert (counts["waiting"], counts["studio"], counts["needs"]) == (2, 1, 0)
    assert counts["oldest_ms"] == waiting[0]["written_ms"]


def test_another_tab_hears_of_it(phone: Page) -> None:
    other = opened(phone.context.new_page())
    other.evaluate(
        """() => document.addEventListener("coop:outbox",
            () => { document.title = "heard"; })"""
    )
    write(phone)

    expect(other).to_have_title("heard")


LACKING = {
    "not-secure": "Object.defineProperty(globalThis, 'isSecureContext', { value: false })",
    "no-database": "Object.defineProperty(globalThis, 'indexedDB', { value: undefined })",
    "no-locks": "Object.defineProperty(Navigator.prototype, 'locks', { value: undefined })",
}


@pytest.mark.parametrize("why", LACKING)
def test_a_browser_that_cannot_keep_says_why(pages: Pages, origin: str, why: str) -> None:
    """Its forms are then posted the ordinary way."""
    page = pages.phone(origin)
    page.add_init_script(LACKING[why])
    page.goto("/")

    assert page.evaluate("() => [coop.outbox.available(), coop.outbox.why()]") == [False, why]
    with pytest.raises(Exception, match=why):
        page.evaluate("() => coop.outbox.all()")


def test_a_browser_closed_without_signal_still_has_it(
    chromium: Browser, origin: str, tmp_path: Path
) -> None:
    """The phone's battery went flat on the stairs."""
    numbers, waiting = [], []
    for _ in range(2):
        browser = chromium.browser_type.launch_persistent_context(
            tmp_path / "profile", executable_path=program(), args=ARGUMENTS, base_url=origin
        )
        page = opened(browser.new_page())
        numbers.append(write(page)["device_seq"])
        waiting = states(page)
        browser.close()

    assert numbers == [1, 2]
    assert waiting == ["waiting", "waiting"]


# ---- sending


def test_what_waits_is_sent_once_and_kept(phone: Page, studio: Studio) -> None:
    record = write(phone)
    first, second = send(phone), send(phone)

    assert (first["reached"], first["status"], first["sent"], first["left"]) == (
        True,
        200,
        1,
        0,
    )
    assert second["sent"] == 0
    assert studio.arrivals == [record["id"]]
    assert studio.pushes[0]["unsent"] == [1]
    assert (studio.pushes[1]["unsent"], studio.pushes[1]["kept_count"]) == ([], 1)
    (one,) = kept(phone)
    assert (one["state"], one["seal"]) == ("studio", [studio.held.node, 1])


@pytest.mark.parametrize("status", NOT_TAKEN)
def test_no_answer_of_the_studio_makes_it_less(
    phone: Page, studio: Studio, status: int
) -> None:
    written = [write(phone, str(count))["text"] for count in (20, 30, 40)]
    studio.status = status
    said = [send(phone) for _ in range(3)]

    assert [(one["reached"], one["status"], one["left"]) for one in said] == [
        (True, status, 3)
    ] * 3
    assert [one["text"] for one in kept(phone)] == written
    assert set(states(phone)) == {"waiting"}
    studio.status = 200
    assert send(phone)["left"] == 0
    assert len(studio.held.sealed) == 3


def test_the_studio_gone_makes_it_no_less(phone: Page, studio: Studio) -> None:
    write(phone)
    phone.context.set_offline(True)
    away = send(phone)
    phone.context.set_offline(False)

    assert (away["reached"], away["status"], away["left"]) == (False, 0, 1)
    assert send(phone)["left"] == 0


def test_a_sign_in_page_of_an_inn_is_no_answer(phone: Page) -> None:
    """Networks for guests answer everything with 200 and a page."""
    write(phone)
    said = phone.evaluate("() => coop.outbox.flush({ pushUrl: '/form', release: '1' })")

    assert (said["reached"], said["status"], said["left"]) == (False, 200, 1)
    assert states(phone) == ["waiting"]


@pytest.mark.parametrize(
    "nonsense",
    [
        [],
        [{"id": an_id(7), "outcome": "sealed"}],
        [{"id": an_id(7), "outcome": "refused", "code": "missing"}],
        [{"id": "", "outcome": "boiled"}],
        [None],
    ],
)
def test_an_answer_about_something_else_changes_nothing(phone: Page, nonsense: Any) -> None:
    write(phone)
    answer = {"v": 1, "release": "1", "answers": nonsense, "vector": {}}
    said = phone.evaluate(
        """answer => coop.outbox.flush({ pushUrl: "/device/push", release: "1",
            fetch: async () => new Response(JSON.stringify(answer)) })""",
        answer,
    )

    assert said["left"] == 1
    assert states(phone) == ["waiting"]


def test_an_answer_lost_after_it_was_written_is_asked_for_again(
    phone: Page, studio: Studio
) -> None:
    record = write(phone)
    studio.drops = frozenset({1})
    lost = send(phone)
    again = send(phone)

    assert (lost["reached"], lost["left"]) == (False, 1)
    assert (again["reached"], again["left"]) == (True, 0)
    assert set(studio.arrivals) == {record["id"]}
    assert len(studio.held.sealed) == 1


def test_two_tabs_at_once_send_each_once(phone: Page, studio: Studio) -> None:
    other = opened(phone.context.new_page())
    take_in(phone, lines(1, 450))
    for tab in (phone, other):
        tab.evaluate(f"() => {{ globalThis.sending = ({FLUSH})(); }}")
    left = [tab.evaluate("async () => (await sending).left") for tab in (phone, other)]

    assert left == [0, 0]
    assert studio.arrivals == [an_id(1000 + seq) for seq in range(1, 451)]


def test_a_month_away_arrives_in_order_and_in_parts(phone: Page, studio: Studio) -> None:
    """A thousand lines: the studio and the network get them in bearable pieces."""
    take_in(phone, lines(1, 1000))
    outcome = send(phone)

    assert (outcome["sent"], outcome["left"]) == (1000, 0)
    assert studio.arrivals == [an_id(1000 + seq) for seq in range(1, 1001)]
    assert [len(push["drafts"]) for push in studio.pushes] == [200] * 5
    assert [push["last_seq"] for push in studio.pushes] == [1000] * 5
    assert studio.pushes[1]["unsent"] == list(range(201, 1001))


def test_long_texts_are_sent_fewer_at_a_time(phone: Page, studio: Studio) -> None:
    """The fake studio counts the characters of each push."""
    for _ in range(3):
        phone.evaluate(
            """async said => {
                for (let place = 0; place < 40; place += 1) await coop.outbox.put(said); }""",
            {"kind": "bath.cared", "v": 1, "body": {"note": "x" * 7_900}, "author": AUTHOR},
        )
    assert send(phone)["left"] == 0

    assert len(studio.pushes) == 2
    assert len(studio.held.sealed) == 120


def test_too_much_at_once_is_halved(phone: Page, studio: Studio) -> None:
    studio.bytes_max = 12_000
    take_in(phone, lines(1, 100))

    assert send(phone)["left"] == 0
    assert studio.arrivals == [an_id(1000 + seq) for seq in range(1, 101)]


def test_a_line_too_slow_for_a_whole_batch_gets_less(phone: Page, studio: Studio) -> None:
    """One bar of signal: 200 at once would time out for ever."""
    take_in(phone, lines(1, 300))
    slow = phone.evaluate(
        """() => { const plain = setTimeout;
            globalThis.setTimeout = (call, ms) => plain(call, ms === 60_000 ? 50 : ms);
            return coop.outbox.flush({ pushUrl: "/device/push", release: "1",
                fetch: (_, { signal }) => new Promise((_, fail) =>
                    signal.addEventListener("abort", () => fail(new Error("late")))) }); }"""
    )
    opened(phone)
    send(phone)

    assert (slow["reached"], slow["left"]) == (False, 300)
    assert [len(push["drafts"]) for push in studio.pushes] == [100, 200]


def test_one_too_big_stays_and_blocks_no_other(phone: Page, studio: Studio) -> None:
    studio.bytes_max = 12_000
    big = write(phone, told="a long one", body={"note": "x" * 12_000})
    others = [write(phone, str(count))["id"] for count in range(1, 6)]
    outcome = send(phone)

    assert outcome["left"] == 1
    assert studio.arrivals == others
    (one,) = [one for one in kept(phone) if one["id"] == big["id"]]
    assert (one["state"], one["answer"]["code"]) == ("waiting", "too-large")
    studio.bytes_max = 1024 * 1024
    assert send(phone)["left"] == 0


def test_one_that_upsets_the_studio_blocks_no_other_for_long(
    phone: Page, studio: Studio
) -> None:
    """A fault of the studio's own with one text must not hold up a month's work."""

    def upset(entry: dict[str, Any]) -> None:
        assert entry["body"]["sheet_count"] != "13"

    studio.refuses = upset
    for count in (*range(10, 20), 20):
        write(phone, str(count))
    for _ in range(12):
        send(phone)

    assert [one["told"] for one in kept(phone) if one["state"] == "waiting"] == [
        "13 half sheets"
    ]


def test_what_needs_a_person_is_asked_after(phone: Page, studio: Studio) -> None:
    studio.refuses = lambda entry: {"outcome": "waiting", "code": "not-on-this-device"}
    one, other = write(phone)["id"], write(phone, "30")["id"]
    send(phone)
    held = states(phone)
    studio.refuses = lambda entry: None
    seal = {"digest": "ab" * 32, "seal": [studio.held.node, 1]}
    left_out = {"outcome": "refused", "code": "left-out", "field": "", "text": "Twice."}
    studio.settled = [
        {"id": one, "outcome": "sealed", **seal},
        {"id": other, **left_out},
    ]
    send(phone)

    assert held == ["needs", "needs"]
    assert set(studio.pushes[-1]["asked"]) == {one, other}
    assert states(phone) == ["studio", "refused"]
    assert kept(phone)[1]["answer"]["text"] == "Twice."


def refuse_many(entry: dict[str, Any]) -> dict[str, Any] | None:
    if int(entry["body"]["sheet_count"]) < 100:
        return None
    return {"outcome": "refused", "code": "out-of-range", "field": "sheet_count"}


def test_what_was_refused_is_put_right_under_its_own_count(phone: Page, studio: Studio) -> None:
    studio.refuses = refuse_many
    wrong = write(phone, "400")
    write(phone, "30")
    send(phone)
    refused = kept(phone)[0]
    right = write(phone, "40", correcting=wrong["id"])
    send(phone)

    assert (refused["state"], refused["answer"]["field"]) == ("refused", "sheet_count")
    assert (right["id"], right["device_seq"]) == (wrong["id"], 1)
    assert states(phone) == ["studio", "studio"]
    with pytest.raises(Exception, match="not-refused"):
        write(phone, "50", correcting=wrong["id"])


def test_what_is_given_up_is_told_to_the_studio_once(phone: Page, studio: Studio) -> None:
    """Its count must not look like something lost."""
    studio.refuses = refuse_many
    wrong = write(phone, "400")
    send(phone)
    phone.evaluate("id => coop.outbox.giveUp(id)", wrong["id"])
    send(phone)
    send(phone)

    assert studio.held.given_up == [wrong["text"]]
    assert studio.pushes[1]["unsent"] == [1]
    assert studio.pushes[2]["unsent"] == []
    assert states(phone) == ["given-up"]


def test_what_an_older_studio_does_not_know_waits_for_a_newer_one(
    phone: Page, studio: Studio
) -> None:
    studio.refuses = lambda entry: {"outcome": "refused", "code": "unknown-kind"}
    write(phone)
    send(phone)
    send(phone)
    tried = len(studio.arrivals)
    studio.refuses, studio.release = lambda entry: None, "2"
    send(phone)

    assert tried == 1
    assert states(phone) == ["studio"]


@pytest.mark.parametrize("many", [8, 620])
def test_a_studio_set_back_is_filled_in_again(phone: Page, studio: Studio, many: int) -> None:
    """It came back from an older copy: the phone still has what is missing."""
    take_in(phone, lines(1, 5))
    send(phone)
    older = studio.backup()
    take_in(phone, lines(6, many))
    send(phone)
    studio.set_back(older, NEW_NODE)
    before = len(studio.pushes)
    outcome = send(phone)

    offered = [len(push["kept"]) for push in studio.pushes[before:]]
    assert sum(offered) == many
    assert max(offered) <= 500
    assert outcome["left"] == 0
    assert len(studio.held.sealed) == many
    assert set(states(phone)) == {"studio"}
    send(phone)
    assert studio.pushes[-1]["heard"] == studio.vector
    assert studio.pushes[-1]["kept"] == []


def test_an_offer_cut_short_is_made_again(phone: Page, studio: Studio) -> None:
    """The signal goes between the first part and the second."""
    take_in(phone, lines(1, 620))
    send(phone)
    studio.set_back(Studio().held, NEW_NODE)
    studio.drops = frozenset({len(studio.pushes) + 2})
    cut = send(phone)
    send(phone)

    assert (cut["reached"], cut["status"]) == (False, 0)
    assert len(studio.held.sealed) == 620


def test_what_waits_for_a_person_is_told_again_to_a_studio_set_back(
    phone: Page, studio: Studio
) -> None:
    """The older copy never heard of it."""
    older = studio.backup()
    studio.refuses = lambda entry: {"outcome": "waiting", "code": "not-on-this-device"}
    record = write(phone)
    send(phone)
    studio.set_back(older, NEW_NODE)
    send(phone)

    assert set(studio.held.waits) == {record["id"]}
    assert states(phone) == ["needs"]


def test_what_two_places_have_is_said_and_kept_a_week(phone: Page, studio: Studio) -> None:
    write(phone)
    send(phone)
    studio.two_places = studio.vector
    send(phone)

    assert states(phone) == ["two"]


@pytest.mark.parametrize(("in_two", "days"), [(True, 8), (False, 31)])
def test_a_phone_long_away_still_fills_a_studio_set_back(
    phone: Page, studio: Studio, in_two: bool, days: int
) -> None:
    """The very answer that says the studio is behind must not let its last copy go."""
    older = studio.backup()
    studio.now = "2025-09-01T10:00:00+00:00"
    studio.two_places = {studio.held.node: 9} if in_two else {}
    lost = write(phone)["id"]
    send(phone)
    before = states(phone)
    studio.set_back(older, NEW_NODE)
    studio.two_places = {}
    later = datetime.fromisoformat(studio.now) + timedelta(days=days)
    studio.now = later.isoformat()
    send(phone)

    assert before == ["two" if in_two else "studio"]
    assert set(studio.held.sealed) == {lost}
    assert states(phone) == ["studio"]


def test_what_a_second_place_has_goes_after_a_week_and_no_earlier_than_it_is_covered(
    phone: Page, studio: Studio
) -> None:
    studio.now = "2025-09-01T10:00:00+00:00"
    write(phone)
    studio.two_places = {studio.held.node: 1}
    send(phone)
    studio.now, studio.two_places = "2025-09-09T10:00:00+00:00", {}
    send(phone)
    uncovered = states(phone)
    studio.two_places = {studio.held.node: 1}
    send(phone)

    assert (uncovered, states(phone)) == (["two"], [])


YEARS_ON = """years => { const plain = Date.now;
    Date.now = () => plain() + years * 365 * 86_400_000; }"""


@pytest.mark.parametrize("years", [-10, 10])
def test_a_clock_years_off_lets_nothing_go(phone: Page, studio: Studio, years: int) -> None:
    """What the studio alone has is kept thirty days by the studio's clock, not the phone's."""
    studio.now = "2025-09-17T18:31:07+02:00"
    write(phone)
    send(phone)
    phone.evaluate(YEARS_ON, years)
    later = write(phone)
    send(phone)

    assert states(phone) == ["studio", "studio"]
    assert later["device_seq"] == 2


def test_a_clock_set_back_does_not_stop_the_sending(phone: Page, studio: Studio) -> None:
    """It is long since the studio was heard, by whatever way the clock went."""
    send(phone)
    phone.evaluate(YEARS_ON, -1)
    phone.evaluate(
        """async () => { globalThis.before = await coop.outbox.about("reached_ms");
            coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
                every_ms: 50 }); }"""
    )
    until(phone, "async () => (await coop.outbox.about('reached_ms')) < before")
    before = len(studio.pushes)
    phone.evaluate(YEARS_ON, -1)
    phone.wait_for_timeout(600)

    assert len(studio.pushes) == before + 1


def test_a_store_cleared_under_an_open_page_gives_no_number_twice(
    pages: Pages, origin: str
) -> None:
    """The number lost with it is a gap that the studio sees."""
    page = opened(pages.phone(origin), lastSeq=7)
    write(page)
    page.evaluate(
        """() => new Promise((done, fail) => {
            const gone = indexedDB.deleteDatabase("coop");
            gone.addEventListener("success", done);
            gone.addEventListener("error", fail);
            gone.addEventListener("blocked", fail);
        })"""
    )

    assert write(page)["device_seq"] == 9
    assert len(kept(page)) == 1


def test_it_is_sent_by_itself(phone: Page, studio: Studio) -> None:
    """Written, then the phone finds a signal: nobody taps anything."""
    studio.status = 503
    phone.evaluate(
        """() => { coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
            every_ms: 100, after: ({ left }) => { document.title = `${left} left`; } }); }"""
    )
    write(phone)
    expect(phone).to_have_title("1 left")
    studio.status = 200
    expect(phone).to_have_title("0 left")

    assert len(studio.held.sealed) == 1
    write(phone)
    until(phone, "async () => (await coop.outbox.counts()).studio === 2")


def test_back_in_reach_it_is_sent_at_once(phone: Page, studio: Studio) -> None:
    phone.evaluate(
        """() => { coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
            every_ms: 3_600_000 }); }"""
    )
    phone.context.set_offline(True)
    write(phone)
    phone.context.set_offline(False)

    until(phone, "async () => (await coop.outbox.counts()).studio === 1")


def test_a_page_without_news_leaves_the_studio_alone(phone: Page, studio: Studio) -> None:
    phone.evaluate(
        """() => { coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
            every_ms: 20 }); }"""
    )
    phone.wait_for_timeout(400)

    assert len(studio.pushes) == 1


# ---- rescue and copies


def test_a_file_saved_from_one_phone_is_sent_by_another(
    phone: Page, studio: Studio, pages: Pages, origin: str
) -> None:
    written = [write(phone, "20", note="foam"), write(phone, "30")]
    text = phone.evaluate("() => coop.outbox.rescueText()")
    other = opened(pages.phone(origin), device=an_id(98))
    own = write(other)
    found, again = take_in(other, text), take_in(other, text)
    send(other)

    assert text.splitlines() == [one["text"] for one in written]
    assert (found["taken"], found["already"], again["taken"], again["already"]) == (2, 0, 0, 2)
    assert set(studio.held.sealed) == {own["id"], *(one["id"] for one in written)}
    assert studio.pushes[0]["unsent"] == [1]
    assert write(other)["device_seq"] == 2
    sent = [json.loads(text)["entry"] for text in studio.pushes[0]["drafts"]]
    assert {one["device"] for one in sent} == {DEVICE, an_id(98)}


def test_a_torn_file_gives_what_it_still_has(phone: Page) -> None:
    good = lines(1, 3).splitlines()
    entry = json.loads(good[2])["entry"]
    bad = [
        good[1][:60],
        "[1]",
        json.dumps({"v": 2, "entry": entry}),
        json.dumps({"v": 1, "entry": entry | {"id": "three"}}),
        json.dumps({"v": 1, "entry": entry | {"device_seq": "3"}}),
        json.dumps({"v": 1, "entry": entry | {"body": None}}),
    ]
    found = take_in(phone, "\ufeff" + "\r\n".join([good[0], *bad, "", good[2], ""]))

    assert (found["taken"], found["already"]) == (2, 0)
    assert found["faults"] == [
        {"line": 2, "why": "not-json"},
        {"line": 3, "why": "not-a-record"},
        {"line": 4, "why": "unknown-outbox-version"},
        {"line": 5, "why": "not-an-id"},
        {"line": 6, "why": "not-a-whole-number"},
        {"line": 7, "why": "not-a-record"},
    ]
    assert [one["device_seq"] for one in kept(phone)] == [1, 3]


def test_a_file_that_says_something_else_is_not_taken_for_the_same(phone: Page) -> None:
    """Two phones under one id, or a file somebody wrote in: nobody may believe it is here."""
    take_in(phone, lines(1, 2))
    changed = lines(1, 2).replace('"sheet_count": "2"', '"sheet_count": "3"')
    found = take_in(phone, changed)

    assert found == {
        "taken": 0,
        "already": 1,
        "faults": [{"line": 2, "why": "written-already"}],
    }


def test_a_file_longer_than_the_studio_takes_is_said_to_be(phone: Page) -> None:
    found = take_in(phone, lines(1, RESCUE_LINES_MAX + 2))
    big = take_in(phone, "x" * (RESCUE_BYTES_MAX + 1))

    assert found["taken"] == RESCUE_LINES_MAX
    assert found["faults"] == [{"line": RESCUE_LINES_MAX + 1, "why": "too-many"}]
    assert big["faults"] == [{"line": 1, "why": "too-large"}]


def test_ones_own_file_taken_in_again_moves_the_count(phone: Page) -> None:
    take_in(phone, lines(1, 9))

    assert write(phone)["device_seq"] == 10


def test_a_form_posted_the_ordinary_way_is_not_lost_with_its_answer(
    phone: Page, studio: Studio
) -> None:
    said = {"kind": "bath.cared", "v": 1, "body": {"bath": BATH}, "author": AUTHOR, "told": ""}
    for id in (an_id(60), an_id(61)):
        phone.evaluate("said => coop.outbox.setAside(said)", said | {"id": id})
    phone.evaluate("id => coop.outbox.confirm(id)", an_id(60))
    phone.evaluate("() => coop.outbox.promote()")
    early = kept(phone)
    began = phone.evaluate("() => Date.now()")
    phone.evaluate(
        """() => { const plain = Date.now; Date.now = () => plain() + 60_000;
            return coop.outbox.promote(); }"""
    )

    assert early == []
    (one,) = kept(phone)
    assert (one["id"], one["state"]) == (an_id(61), "waiting")
    assert one["written_ms"] <= began
    phone.evaluate("() => coop.outbox.promote()")
    assert len(kept(phone)) == 1


CARED = {"kind": "bath.cared", "v": 1, "body": {"bath": BATH}, "author": AUTHOR, "bath": BATH}
ASIDE = "said => coop.outbox.setAside(said)"
NO_ROOM = """() => {
    globalThis.plain ??= IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (value) {
        if (this.name === "drafts") throw new DOMException("full", "QuotaExceededError");
        return plain.call(this, value);
    };
}"""
START = """more => { globalThis.outcomes = [];
    globalThis.sending = coop.outbox.startSending({ pushUrl: "/device/push", release: "1",
        every_ms: 100, copies_ms: 0, after: (heard) => outcomes.push(heard), ...more }); }"""


def test_a_copy_that_cannot_be_read_is_a_line_to_be_put_right(
    phone: Page, studio: Studio
) -> None:
    """A year of five digits in one copy must not keep all later lines on the phone."""
    phone.evaluate(ASIDE, CARED | {"id": an_id(70), "happenedAt": "20255-09-17T18:31"})
    phone.evaluate(ASIDE, CARED | {"id": an_id(71)})
    write(phone)
    phone.evaluate(START, {})
    until(phone, "async () => (await coop.outbox.counts()).studio === 2")
    (odd,) = [one for one in kept(phone) if one["state"] == "refused"]
    right = write(phone, correcting=odd["id"])
    send(phone)

    assert odd["id"] == right["id"] == an_id(70)
    assert (odd["answer"]["field"], odd["answer"]["code"]) == ("happened_at", "not-a-time")
    said = json.loads(odd["text"])["entry"]["said"]
    assert said["typed"] == "20255-09-17T18:31"
    assert len(studio.held.sealed) == 3


def test_a_full_phone_sends_what_it_has_and_saves_what_it_cannot_keep(
    phone: Page, studio: Studio
) -> None:
    """No room for another line; the copy is all there is of it."""
    record = write(phone)
    phone.evaluate(ASIDE, CARED | {"id": an_id(71), "note": "foam", "salt": "ab" * 16})
    phone.evaluate(NO_ROOM)
    phone.evaluate(START, {})
    until(phone, "() => outcomes.length > 0")
    counts = phone.evaluate("() => coop.outbox.counts()")
    saved = [
        json.loads(one) for one in phone.evaluate("coop.outbox.rescueText()").split("\n")[:-1]
    ]
    phone.evaluate("() => { IDBObjectStore.prototype.put = plain; }")
    until(phone, "async () => (await coop.outbox.counts()).studio === 2")

    assert set(studio.arrivals) == {record["id"], an_id(71)}
    assert counts["waiting"] == 2
    assert [(one["entry"]["id"], one["entry"]["device_seq"]) for one in saved] == [
        (record["id"], 1),
        (an_id(71), 2),
    ]
    assert saved[1]["note"]["text"] == "foam"


def test_a_copy_is_counted_and_saved_while_it_waits(phone: Page) -> None:
    """To take the phone off now would lose it."""
    phone.evaluate(ASIDE, CARED | {"id": an_id(71)})
    counts = phone.evaluate("() => coop.outbox.counts()")
    saved = phone.evaluate("coop.outbox.rescueText()")

    assert (counts["waiting"], counts["oldest_ms"] > 0) == (1, True)
    assert json.loads(saved)["entry"]["id"] == an_id(71)


def test_only_the_copy_that_got_no_answer_goes_at_once(phone: Page) -> None:
    """Another's form may be on its way in another tab this very second."""
    for number in (70, 71):
        phone.evaluate(ASIDE, CARED | {"id": an_id(number)})
    phone.evaluate("id => coop.outbox.promote(undefined, id)", an_id(71))

    assert [one["id"] for one in kept(phone)] == [an_id(71)]


def test_two_tabs_make_one_line_of_a_copy(phone: Page) -> None:
    other = opened(phone.context.new_page())
    record = write(phone, id=an_id(70))
    changed = {"kind": "sheets.through", "body": {"bath": BATH, "sheet_count": "21"}}
    phone.evaluate(ASIDE, CARED | changed | {"id": an_id(70)})
    for tab in (phone, other):
        tab.evaluate("() => { globalThis.promoting = coop.outbox.promote(0); }")
    for tab in (phone, other):
        tab.evaluate("async () => { await promoting; }")

    assert [json.loads(one["text"])["entry"]["body"]["sheet_count"] for one in kept(phone)] == [
        "20",
        "21",
    ]
    assert kept(phone)[0]["id"] == record["id"]


def test_who_says_send_it_now_is_answered_whatever_pause_was_asked_for(
    phone: Page, studio: Studio
) -> None:
    """A proxy may ask for a day; by itself the phone waits five minutes at most."""
    write(phone)
    studio.status, studio.pause_s = 503, 86_400
    phone.evaluate(START, {})
    until(phone, "() => outcomes.length === 1")
    phone.wait_for_timeout(400)
    studio.status = 200
    by_itself = phone.evaluate("() => outcomes.length")
    phone.evaluate("async () => { await sending.now(); }")

    assert by_itself == 1
    assert phone.evaluate("() => outcomes.map((one) => one.left)") == [1, 0]


def test_a_pause_ends_after_five_minutes(phone: Page, studio: Studio) -> None:
    write(phone)
    studio.status, studio.pause_s = 503, 86_400
    phone.evaluate(START, {})
    until(phone, "() => outcomes.length === 1")
    studio.status = 200
    phone.evaluate(
        """() => { const plain = performance.now.bind(performance);
            performance.now = () => plain() + 301_000; }"""
    )

    until(phone, "async () => (await coop.outbox.counts()).studio === 1")


def test_a_store_that_breaks_is_said_and_stops_nothing(phone: Page) -> None:
    """The person who asked hears why; the next try is made."""
    phone.evaluate(START, {"every_ms": 3_600_000})
    until(phone, "() => outcomes.length === 1")
    phone.evaluate("() => { navigator.locks.request = async () => { throw new Error(); }; }")
    phone.evaluate("async () => { await sending.now(); }")

    said = phone.evaluate("() => outcomes[1]")
    assert (said["reached"], said["status"], said["fault"]) == (False, 0, "no-database")


# ---- settling: the script against a twin of it

STATES = ["waiting", "studio", "two", "needs", "refused", "given-up"]
NOT_KNOWN_YET = {"unknown-kind", "unknown-version", "unknown-outbox-version"}
NOW_MS = 1_758_126_667_250
DAY_MS = 86_400_000
NODES = [an_id(3), an_id(4)]

names = st.sampled_from([an_id(number) for number in range(200, 206)])
seals = st.tuples(st.sampled_from(NODES), st.integers(1, 9)).map(list)
codes = st.sampled_from(["", "missing", "left-out", *sorted(NOT_KNOWN_YET)])
acked = st.one_of(st.none(), st.integers(0, 40).map(lambda days: NOW_MS - days * DAY_MS))
records = st.fixed_dictionaries(
    {
        "id": names,
        "state": st.sampled_from(STATES),
        "seal": st.one_of(st.none(), seals),
        "acked_ms": acked,
        "text": st.just("{}"),
        "tries": st.integers(0, 2),
    }
)
outcomes = st.sampled_from(["sealed", "already", "waiting", "refused", "given-up", "boiled"])
judged = st.fixed_dictionaries(
    {"id": names, "outcome": outcomes, "code": codes}, optional={"seal": seals}
)
vectors = st.dictionaries(st.sampled_from(NODES), st.integers(0, 9))
cases = st.tuples(
    st.lists(records, max_size=6, unique_by=lambda one: str(one["id"])),
    st.lists(names, max_size=6, unique=True),
    st.fixed_dictionaries(
        {"v": st.just(1), "answers": st.lists(judged, max_size=6)},
        optional={
            "release": st.sampled_from(["1", "2"]),
            "settled": st.lists(judged, max_size=3),
            "lacks": st.lists(names, max_size=3),
            "two_places": vectors,
        },
    ),
)


def told(one: dict[str, Any], release: str) -> dict[str, Any]:
    """Return what one answer makes of a record, by the rules of the protocol."""
    why = {"code": one["code"], "field": "", "text": ""}
    done = {"tries": 0, "refused_by": None}
    match one["outcome"]:
        case "sealed" | "already":
            seal = one.get("seal")
            known = {"state": "studio", "acked_ms": NOW_MS, "digest": None, "seal": seal}
            return done | known | {"answer": None}
        case "waiting":
            return done | {"state": "needs", "answer": why}
        case "refused" if one["code"] in NOT_KNOWN_YET:
            return {"answer": why, "refused_by": release}
        case "refused":
            return done | {"state": "refused", "answer": why}
        case _:
            return {}


def change(
    now: dict[str, dict[str, Any]], name: str, states: set[str], part: dict[str, Any]
) -> None:
    if name in now and now[name]["state"] in states:
        now[name] |= part


def settled(
    before: list[dict[str, Any]], sent: list[str], answer: dict[str, Any]
) -> list[dict[str, Any]]:
    """The twin: the same rules in another language, written from the protocol."""
    now = {one["id"]: dict(one) for one in before}
    release = answer.get("release", "page")
    for name, one in zip(sent, answer["answers"], strict=False):
        if one["id"] == name:
            change(now, name, {"waiting"}, told(one, release))
    for one in answer.get("settled", []):
        change(now, one["id"], {"needs"}, told(one, release))
        if one["outcome"] == "given-up":
            change(now, one["id"], {"given-up"}, {"acked_ms": NOW_MS})
    lost = {"state": "waiting", "digest": None, "seal": None, "acked_ms": None}
    for name in answer.get("lacks", []):
        change(now, name, {"studio", "two", "needs"}, lost)
    for name, one in now.items():
        node, seq = one["seal"] or ("", 1)
        if answer.get("two_places", {}).get(node, 0) >= seq:
            change(now, name, {"studio"}, {"state": "two"})
    return [now[one["id"]] for one in before if now[one["id"]] != one]


SETTLE = f"""cases => cases.map(([records, sent, answer]) =>
    coop.outbox.settle(records, sent, answer, {NOW_MS}, "page"))"""


@pytest.fixture(scope="module")
def script(chromium: Browser) -> Iterator[Page]:
    with serving(outbox_app(Studio())) as origin:
        page = chromium.new_page()
        page.goto(origin)
        yield page
        page.close()


def in_order(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(found, key=lambda one: str(one["id"]))


@settings(
    max_examples=30,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(batch=st.lists(cases, min_size=10, max_size=30))
def test_answers_are_settled_by_the_rules_of_the_protocol(
    script: Page, batch: list[Any]
) -> None:
    """Nothing that the studio did not say it has may stop waiting."""
    found = script.evaluate(SETTLE, batch)

    odd = [
        (case, changed, settled(*case))
        for case, changed in zip(batch, found, strict=True)
        if in_order(changed_only(case, changed)) != in_order(settled(*case))
    ]
    assert odd[:1] == []


def changed_only(case: Any, changed: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Leave out what was written again as it stood."""
    before = {one["id"]: one for one in case[0]}
    return [one for one in changed if one != before[one["id"]]]


@given(before=st.lists(records, max_size=6), two_places=vectors)
@settings(
    max_examples=60, deadline=None, database=None, phases=[Phase.explicit, Phase.generate]
)
def test_only_what_is_safe_elsewhere_is_let_go(
    script: Page, before: list[dict[str, Any]], two_places: dict[str, int]
) -> None:
    ask = f"([records, places]) => coop.outbox.stale(records, {NOW_MS}, places)"
    kept_days = {"two": 7, "studio": 30, "given-up": 7}

    assert script.evaluate(ask, [before, two_places]) == [
        one["id"]
        for one in before
        if one["acked_ms"] is not None
        and one["state"] in kept_days
        and NOW_MS - one["acked_ms"] > kept_days[one["state"]] * DAY_MS
        and (one["state"] != "two" or covers(two_places, one))
    ]


def covers(two_places: dict[str, int], one: dict[str, Any]) -> bool:
    node, seq = one["seal"] or ("", 1)
    return two_places.get(node, 0) >= seq


def test_the_scripts_are_light() -> None:
    """They are fetched once, over whatever signal there is."""
    together = b"".join(packaged()[name].content for name in SCRIPTS)

    assert len(gzip.compress(together, 9)) < SCRIPT_BYTES_MAX
