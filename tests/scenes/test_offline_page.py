"""At the tray without a signal: taps, what waits, what is refused, who writes, what is loud."""

import json
import re
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import Page, expect

from coop.store import devices
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.enrolled import enrolled
from tests.support.opened import Opened
from tests.support.outbox_page import until
from tests.support.server import live as live
from tests.support.tray import OFFLINE, in_use, open_page, with_size

pytestmark = pytest.mark.browser

OPENS_WITHIN_S = 1.0
SENT_WITHIN_MS = 10_000
VIEWS = ("sheets", "lay", "top-up", "test", "stop", "care", "finish")
TWENTY = "20 half sheets, dip, P-31"
HALVES = "60 half sheets, dip, P-31"
HALF_A_MINUTE = timedelta(seconds=30)
"""A browser's clock may start a moment early: in the middle of a minute that shows nowhere."""
Live = Callable[[Flask], str]


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return in_use(tmp_path)


@pytest.fixture(autouse=True)
def no_signal(pages: Pages) -> None:
    """Let the browser complain that there is none."""
    pages.expect("net::ERR_")


def on_the_stairs(page: Page, client: FlaskClient, moment: datetime) -> Page:
    """Open the page where there is a signal, wait until it is kept, and lose the signal."""
    page.clock.install(time=moment + HALF_A_MINUTE)
    open_page(page, client)
    page.evaluate("navigator.serviceWorker.ready.then(() => coop.refresh())")
    page.context.set_offline(True)
    return page


def card(page: Page, bath: str) -> Any:
    return page.locator(f'[data-bath="{bath}"]')


def screen(page: Page) -> Any:
    """Return the one screen that is shown."""
    return page.locator("[data-view]:visible")


def through(house: Opened, bath: str = "bath") -> list[int]:
    """Return the counts of sheets the ledger knows of a bath."""
    state = house.state("bath", house.made[bath])
    return sorted(one.sheet_count for one in state.through)


def tap(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def write_sheets(page: Page, bath: str, count: str = "20") -> None:
    card(page, bath).get_by_role("link", name="Sheets through").click()
    tap(page, count)
    tap(page, "Write it")
    expect(page.locator('[data-sort="written"]')).to_contain_text("waiting on this phone")


def test_the_same_as_last_time_takes_two_taps_and_waits_here(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Wet hands, no signal: a tap for the form, a tap for what it was yesterday."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = house.made["bath"]

    card(page, bath).get_by_role("link", name="Sheets through").click()
    page.get_by_role("button", name=HALVES).click()

    expect(page.get_by_text(f"{HALVES}: waiting on this phone.")).to_be_visible()
    here = card(page, bath).get_by_text(f"+ {HALVES}: waiting on this phone")
    expect(here).to_be_visible()
    screenshot(page, "offline-waiting")
    assert through(house) == [60]


def test_another_count_takes_three_taps_and_arrives_once(
    house: Opened, pages: Pages, live: Live
) -> None:
    """A tap for the form, one for the count, one to write; upstairs it goes by itself."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = house.made["bath"]

    write_sheets(page, bath)
    expect(page.get_by_text(f"{TWENTY}: waiting on this phone.")).to_be_visible()
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")

    said = page.get_by_text(f"{TWENTY}: the studio has it.")
    expect(said).to_be_visible(timeout=SENT_WITHIN_MS)
    expect(page.get_by_text("The studio was heard just now.")).to_be_visible()
    expect(card(page, bath).locator("[data-here]")).to_be_hidden()
    assert through(house) == [20, 60]


def test_sheets_are_laid_on_a_size_and_a_drop_is_tested_there(
    house: Opened, pages: Pages, live: Live
) -> None:
    """The tray of size stands in the same cellar as the tub of alum."""
    size = with_size(house)
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)

    card(page, size).get_by_role("link", name="Lay sheets").click()
    page.get_by_text("60 half sheets of R-A1, KR").click()
    tap(page, "30")
    assert_accessible(page)
    screenshot(page, "offline-lay")
    tap(page, "Write it")
    expect(page.locator('[data-sort="written"]')).to_contain_text("30 laid of")
    card(page, size).get_by_role("link", name="Test it").click()
    expect(page.get_by_text("strip print", exact=True)).to_be_hidden()
    page.get_by_text("ragged edge").click()
    tap(page, "Write it")
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator('[data-sort="written"]')).to_contain_text(
        "the studio has it", timeout=SENT_WITHIN_MS
    )

    state = house.state("bath", size)
    assert [one.sheet_count for one in state.laid] == [30]
    assert [one.outcome for one in state.drops] == ["ragged"]
    assert house.state("stack", state.laid[0].stack).left_count == 30


def test_it_opens_without_a_signal_within_a_second(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Nobody waits at a tray; measured from the tap to the room that can be used."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)

    took_s = []
    for _ in range(3):
        began_s = time.perf_counter()
        page.goto(OFFLINE, wait_until="commit")
        expect(card(page, house.made["bath"]).get_by_role("link").first).to_be_visible()
        took_s.append(time.perf_counter() - began_s)

    assert sorted(took_s)[1] < OPENS_WITHIN_S, took_s
    strip = card(page, house.made["bath"]).locator(".spine img")
    strip.scroll_into_view_if_needed()
    page.wait_for_function(
        "img => img.complete && img.naturalWidth > 0", arg=strip.element_handle()
    )


def test_times_are_said_as_one_speaks_and_nothing_is_good_for_ever(
    house: Opened, pages: Pages, live: Live
) -> None:
    """The next evening it was yesterday; after two weeks one looks again."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = card(page, house.made["bath"])

    expect(page.get_by_text("As of today 18:00. What others wrote")).to_be_visible()
    page.clock.set_system_time(house.moment + timedelta(days=1))
    page.goto(OFFLINE)
    expect(bath.get_by_text("was good yesterday 18:00")).to_be_visible()
    page.clock.set_system_time(house.moment + timedelta(days=15))
    page.goto(OFFLINE)
    expect(bath.get_by_text("look again: was due yesterday 18:00")).to_be_visible()
    expect(bath.get_by_text("was good")).to_be_hidden()
    expect(card(page, house.made["stopped"]).get_by_text("do not use")).to_be_visible()


def test_back_upstairs_the_page_shows_what_was_heard_meanwhile(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Opened from what was kept, it comes anew as soon as the studio answers, once."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    page.goto(OFFLINE)
    house.later(hours=2)
    house.say("bath.stopped", bath=house.made["bath"], reason="wrong_dose")
    page.clock.set_system_time(house.moment)
    expect(page.get_by_text("As of today 18:00.")).to_be_visible()

    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")

    expect(page.get_by_text("As of today 20:00.")).to_be_visible(timeout=SENT_WITHIN_MS)
    bath = card(page, house.made["bath"])
    expect(bath.get_by_text("Stopped by AK, 2025-09-17 20:00: wrong dose.")).to_be_visible()


def test_whatever_address_it_was_opened_for_comes_once_the_studio_answers(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Without a signal it stands in for every page; what it is as of is told all the same."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    until(page, "navigator.serviceWorker.controller !== null")
    page.goto("/shelf")
    expect(page.get_by_text("As of today 18:00.")).to_be_visible()
    house.later(hours=2)

    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")

    expect(page.get_by_label("Sign-in name")).to_be_visible(timeout=SENT_WITHIN_MS)


def test_a_clock_that_is_slow_does_not_make_it_younger(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Ten years behind, it speaks by the studio's clock, and keeps what is written."""
    _, client = enrolled(house)
    page = pages.phone(live(house.app()))
    on_the_stairs(page, client, house.moment - timedelta(days=3653))
    bath = house.made["bath"]

    expect(card(page, bath).get_by_text("was good today 18:00")).to_be_visible()
    write_sheets(page, bath)
    expect(page.get_by_text(f"{TWENTY}: waiting on this phone.")).to_be_visible()


def test_what_was_written_by_mistake_is_undone_and_both_stay(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Within ten minutes, in one tap, without a signal; the studio gets both in order."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    write_sheets(page, house.made["bath"])

    tap(page, "Undo it")

    undone = "undone: 20 half sheets, dip, P-31"
    expect(page.locator("#notices")).to_contain_text(f"{undone}: waiting on this phone.")
    page.get_by_role("link", name="Waiting on this phone: 2").click()
    lines = page.locator("[data-list]")
    expect(lines.get_by_text(f"Alum R-A1: {undone}", exact=True)).to_be_visible()
    expect(
        lines.get_by_text("Alum R-A1: 20 half sheets, dip, P-31", exact=True)
    ).to_be_visible()
    expect(page.get_by_role("button", name="Undo it")).to_have_count(0)
    assert_accessible(page)
    screenshot(page, "offline-undone")
    page.context.set_offline(False)
    tap(page, "Send it now")
    expect(page.locator("[data-list]").get_by_text("the studio has it")).to_have_count(
        2, timeout=SENT_WITHIN_MS
    )
    assert through(house) == [60]


def test_a_slip_is_named_and_what_was_typed_stays(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Nothing is kept that is not right, nothing typed is lost."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    card(page, house.made["bath"]).get_by_role("link", name="Top up").click()

    screen(page).get_by_label("Water", exact=True).fill("1,250")
    page.get_by_text("it was too strong").click()
    tap(page, "Write it")

    expect(page.get_by_text("Thousands or decimals? Write 1.25 / 1250.")).to_be_visible()
    expect(screen(page).get_by_label("Water", exact=True)).to_have_value("1,250")
    expect(screen(page).get_by_label("Water", exact=True)).to_be_focused()
    assert_accessible(page)
    screen(page).get_by_label("Water", exact=True).fill("1,25")
    tap(page, "Write it")
    expect(page.get_by_text("1,25 L of water: waiting on this phone.")).to_be_visible()


def test_what_the_studio_refuses_comes_back_as_it_was_typed(
    house: Opened, pages: Pages, live: Live
) -> None:
    """It stays under its own number, says why, and goes again once it is put right."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    card(page, house.made["bath"]).get_by_role("link", name="Sheets through").click()
    tap(page, "20")
    page.get_by_text("sponge", exact=True).click()
    page.get_by_text("Sponge dish, open hours").click()
    page.get_by_label("Took out into the dish", exact=True).fill("1")
    page.get_by_label("Put back from the dish", exact=True).fill("2")
    tap(page, "Write it")
    page.get_by_role("link", name="Waiting on this phone: 1").click()
    page.context.set_offline(False)
    tap(page, "Send it now")
    expect(page.get_by_text("More put back than was taken out.")).to_be_visible(
        timeout=SENT_WITHIN_MS
    )

    tap(page, "Put it right")
    expect(page.get_by_label("Took out into the dish", exact=True)).to_have_value("1")
    expect(page.get_by_label("How many sheets?").first).to_have_value("20")
    expect(page.get_by_label("sponge")).to_be_checked()
    expect(screen(page).get_by_text("More put back than was taken out.")).to_be_visible()
    page.get_by_label("Put back from the dish", exact=True).fill("0,5")
    tap(page, "Write it")

    expect(page.get_by_text("20 half sheets, sponge, P-31: the studio has it.")).to_be_visible(
        timeout=SENT_WITHIN_MS
    )
    assert through(house) == [20, 60]


def test_a_stopped_bath_asks_why_and_a_stop_ends_at_the_tub(
    house: Opened, pages: Pages, live: Live
) -> None:
    """What a person did is written down all the same; the tag is what the next one sees."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    stopped = card(page, house.made["stopped"])

    stopped.get_by_role("link", name="Sheets through").click()
    expect(screen(page).get_by_text("Not to be used, as of then.")).to_be_visible()
    tap(page, "5")
    tap(page, "Write it")
    expect(page.get_by_text("This is needed.")).to_be_visible()
    screen(page).get_by_text("test sheets").click()
    tap(page, "Write it")
    expect(stopped.get_by_text("+ 5 half sheets, dip, P-31: waiting")).to_be_visible()

    good = card(page, house.made["bath"])
    good.get_by_text("Test it, stop it, lid, finish").click()
    good.get_by_role("link", name="Stop it").click()
    page.get_by_text("wrong dose").click()
    tap(page, "Stop it")
    expect(page.get_by_text("Now hang the do-not-use tag on the tub")).to_be_visible()
    expect(good.get_by_text("+ stopped: wrong dose: waiting on this phone")).to_be_visible()


def test_a_bath_mixed_here_can_be_used_before_anybody_heard_of_it(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Mixed in the cellar, sheets through it in the cellar, both arrive in order."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    page.get_by_role("link", name="Mix a bath").click()
    page.get_by_text("small tub").click()
    page.get_by_text("the old card").click()
    screen(page).get_by_label("Water", exact=True).fill("8")
    screen(page).get_by_label("How much alum", exact=True).fill("320")
    expect(page.get_by_label("Name of the bath")).to_have_value("R-A3")
    tap(page, "Write it")
    expect(page.get_by_text("Now hang its tag on the tub.")).to_be_visible()

    new = page.locator(".bath", has_text="mixed on this phone")
    expect(new.get_by_role("heading")).to_have_text("R-A3")
    new.get_by_role("link", name="Sheets through").click()
    tap(page, "10")
    tap(page, "Write it")
    expect(new.get_by_text("+ 10 half sheets, dip, P-31: waiting")).to_be_visible()

    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("[data-lines]")).to_have_text(
        "What is on this phone", timeout=SENT_WITHIN_MS
    )
    with house.desk() as desk:
        made = next(one for one in desk.journal.listed("bath") if one.name == "R-A3")
    assert [one.sheet_count for one in made.through] == [10]
    assert made.recipe == house.made["recipe"]


def keep(page: Page, house: Opened, who: str, kind: str, **body: str) -> str:
    """Keep a line of somebody on this device, as a form does; return its id."""
    said = {
        "kind": kind, "v": 1, "body": body, "bath": body.get("bath", ""),
        "author": house.members[who].member, "told": kind,
    }  # fmt: skip
    made: dict[str, str] = page.evaluate("said => coop.outbox.put(said)", said)
    return made["id"]


def refuse(page: Page, line: str) -> None:
    """Let a line stand as if the studio had not taken it."""
    page.evaluate(
        """async id => {
            const db = await idb.openDB("coop", 1);
            const answer = { code: "x", field: "", text: "Not so." };
            const line = await db.get("drafts", id);
            await db.put("drafts", { ...line, state: "refused", answer });
            db.close();
            document.dispatchEvent(new CustomEvent("coop:outbox"));
        }""",
        line,
    )


def kept(page: Page) -> list[dict[str, Any]]:
    """Return what is written in the lines kept here."""
    lines = page.evaluate("coop.outbox.all()")
    return [json.loads(one["text"])["entry"] for one in lines]


def test_a_refused_stop_never_becomes_sheets(house: Opened, pages: Pages, live: Live) -> None:
    """Its bath is listed no more: it is put right under that bath, or stays what it is."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    gone = _id(house)
    stop = keep(page, house, "kahu", "bath.stopped", bath=gone, reason="looks_wrong")
    refuse(page, stop)
    page.goto(OFFLINE + "#lines")

    tap(page, "Put it right")
    expect(page.get_by_role("heading", level=1)).to_have_text("Stop it")
    expect(screen(page).locator("[data-about]")).to_have_text("bath.stopped")
    page.goto(OFFLINE + "#room")
    write_sheets(page, house.made["bath"])
    assert [(one["kind"], one["body"]["bath"]) for one in kept(page)] == [
        ("bath.stopped", gone),
        ("sheets.through", house.made["bath"]),
    ]

    page.goto(OFFLINE + "#lines")
    tap(page, "Put it right")
    page.get_by_text("wrong dose").click()
    tap(page, "Stop it")
    until(page, "coop.outbox.all().then(all => all[0].state === 'waiting')")
    first = kept(page)[0]
    assert (first["id"], first["body"]) == (stop, {"bath": gone, "reason": "wrong_dose"})


def test_again_is_not_written_with_another_paper(
    house: Opened, pages: Pages, live: Live
) -> None:
    """A parcel that is offered no more is asked for; the count and the rest stand there."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    page.evaluate(
        "lot => document.querySelector(`[name=lot][value='${lot}']`).parentElement.remove()",
        house.made["parcel"],
    )
    card(page, house.made["bath"]).get_by_role("link", name="Sheets through").click()

    page.get_by_role("button", name=HALVES).click()

    expect(page.get_by_text("This is not offered here any more")).to_be_visible()
    expect(page.get_by_label("How many sheets?").first).to_have_value("60")
    tap(page, "Write it")
    expect(page.get_by_text("This is needed.")).to_be_visible()
    assert kept(page) == []


def test_a_stop_that_waits_here_is_everybodys_warning(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Whoever takes the tablet next sees it, and is asked why before sheets go through."""
    page = on_the_stairs(pages.phone(live(house.app())), shared(house), house.moment)
    bath = card(page, house.made["bath"])
    expect(bath.locator("[data-left]")).to_be_visible()

    stop = keep(
        page, house, "kahu", "bath.stopped", bath=house.made["bath"], reason="wrong_dose"
    )

    expect(bath.get_by_text("stopped on this tablet, today 18:00: do not use")).to_be_visible()
    expect(bath.get_by_text("was good")).to_be_hidden()
    expect(bath.locator("[data-left]")).to_be_hidden()
    expect(bath.get_by_text("bath.stopped")).to_have_count(0)
    bath.get_by_role("link", name="Sheets through").click()
    tap_in(page, "AK", "1122")
    expect(page.get_by_role("button", name=HALVES)).to_be_hidden()
    expect(screen(page).get_by_text("Why use it anyway?")).to_be_visible()

    keep(page, house, "kahu", "entry.corrected", target=stop, outcome="void", reason="undone")
    page.goto(OFFLINE + "#room")
    expect(bath.get_by_text("was good")).to_be_visible()


def test_a_bath_mixed_here_is_there_for_the_next_until_it_is_undone(
    house: Opened, pages: Pages, live: Live
) -> None:
    """One mixes, the other lays; a mix that was undone is no bath."""
    page = on_the_stairs(pages.phone(live(house.app())), shared(house), house.moment)
    new = page.locator(".bath", has_text="mixed on this tablet")
    studio = house.made["studio"]

    mix = keep(page, house, "kahu", "bath.mixed", name="R-A3", studio=studio)
    expect(new.get_by_role("heading")).to_have_text("R-A3")
    new.get_by_role("link", name="Sheets through").click()
    tap_in(page, "AK", "1122")
    expect(screen(page).locator("[data-about]")).to_have_text("R-A3")

    keep(page, house, "kahu", "entry.corrected", target=mix, outcome="void", reason="undone")
    expect(new).to_have_count(0)


def test_lines_of_another_are_not_mine_on_my_own_phone(
    house: Opened, pages: Pages, live: Live
) -> None:
    """A phone that changed hands, or took a file in, shows how many wait, not what they say."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    keep(page, house, "amina", "bath.stopped", bath=house.made["stopped"], reason="smells")
    page.goto(OFFLINE + "#lines")

    expect(page.get_by_text("Lines of others that wait here: 1").last).to_be_visible()
    expect(page.get_by_text("bath.stopped")).to_have_count(0)


def test_a_clock_that_is_ahead_says_nothing_of_tomorrow(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Two days ahead: what was heard, and what is written, was today by the studio's clock."""
    _, client = enrolled(house)
    page = pages.phone(live(house.app()))
    on_the_stairs(page, client, house.moment + timedelta(days=2))
    bath = card(page, house.made["bath"])
    until(page, "coop.outbox.about('ahead_ms').then(ahead => ahead < -86400000)")
    page.goto(OFFLINE)

    expect(bath.get_by_text("was good today 18:00")).to_be_visible()
    bath.get_by_role("link", name="Sheets through").click()
    tap(page, "20")
    page.get_by_text("Another time, a note").locator("visible=true").click()
    screen(page).get_by_label("When").fill("2025-09-18T12:00")
    tap(page, "Write it")
    expect(screen(page).locator(".error")).to_be_visible()
    assert kept(page) == []


def test_who_saw_a_line_refused_and_leaves_it_starts_afresh(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Put right was tapped and thought better of: the next form of its bath is a new line."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = house.made["bath"]
    refuse(page, keep(page, house, "kahu", "bath.stopped", bath=bath, reason="wrong_dose"))
    page.goto(OFFLINE + "#lines")
    tap(page, "Put it right")
    expect(screen(page).get_by_text("Not so.")).to_be_visible()
    expect(screen(page).get_by_label("wrong dose")).to_be_checked()
    page.goto(OFFLINE + "#room")
    page.goto(OFFLINE + f"#stop/{bath}")

    expect(screen(page).get_by_text("Not so.")).to_have_count(0)
    page.get_by_text("wrong dose").click()
    tap(page, "Stop it")
    until(page, "coop.outbox.all().then(all => all.length === 2)")


def test_a_typed_time_is_by_the_studios_clocks_wherever_the_phone_is(
    house: Opened, pages: Pages, live: Live
) -> None:
    """A phone whose zone is ten hours behind: an hour ago is not still to come, nor refused."""
    _, client = enrolled(house)
    phone = pages.phone(live(house.app()), timezone_id="Pacific/Honolulu")
    page = on_the_stairs(phone, client, house.moment)
    bath = card(page, house.made["bath"])

    for typed, lines in (("2025-09-17T17:00", 1), ("2025-09-17T19:00", 1)):
        page.goto(OFFLINE + "#room")
        bath.get_by_role("link", name="Sheets through").click()
        tap(page, "20")
        page.get_by_text("Another time, a note").locator("visible=true").click()
        screen(page).get_by_label("When").fill(typed)
        tap(page, "Write it")
        until(page, "count => coop.outbox.all().then(all => all.length === count)", lines)
    expect(screen(page).locator(".error")).to_be_visible()
    assert kept(page)[0]["happened_at"] == "2025-09-17T17:00:00.000+02:00"


def test_two_quick_taps_undo_it_once(house: Opened, pages: Pages, live: Live) -> None:
    """Wet fingers tap twice; one line has one correction."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    write_sheets(page, house.made["bath"])

    page.get_by_role("button", name="Undo it").evaluate("key => { key.click(); key.click(); }")

    until(page, "coop.outbox.all().then(all => all.length === 2)")
    page.wait_for_timeout(300)
    assert [one["kind"] for one in kept(page)] == ["sheets.through", "entry.corrected"]


def test_a_day_is_said_and_three_days_are_loud(house: Opened, pages: Pages, live: Live) -> None:
    """A phone in a drawer keeps what nobody else knows."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    write_sheets(page, house.made["bath"])
    old = page.locator('[data-sort="old"]')

    expect(old).to_have_count(0)
    page.clock.set_system_time(house.moment + timedelta(hours=25))
    page.goto(OFFLINE)
    expect(old).to_contain_text("Some of it has waited since yesterday 18:00.")
    page.clock.set_system_time(house.moment + timedelta(hours=73))
    page.goto(OFFLINE)
    expect(old).to_contain_text("save the file and hand it on")
    expect(old).to_have_class(re.compile("warning"))


def test_a_phone_that_is_not_known_any_more_loses_nothing(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Switched off by a coordinator, it still gives out what it holds."""
    pages.expect("401")
    phone, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    write_sheets(page, house.made["bath"])
    house.say("device.revoked", device=phone.id, reason="lost")
    page.get_by_role("link", name="Waiting on this phone: 1").click()
    page.context.set_offline(False)

    tap(page, "Send it now")

    expect(page.get_by_text("not known to the studio any more")).to_be_visible(
        timeout=SENT_WITHIN_MS
    )
    page.get_by_text("Save it as a file, take a file in").click()
    with page.expect_download() as saved:
        tap(page, "Save a file")
    lines = Path(saved.value.path()).read_text().splitlines()
    assert re.fullmatch(r"coop-waiting-\d{8}-\d{4}\.jsonl", saved.value.suggested_filename)
    assert [json.loads(one)["entry"]["body"]["sheet_count"] for one in lines] == ["20"]
    assert through(house) == [60]


def test_a_saved_file_is_taken_in_and_its_bad_line_named(
    house: Opened, pages: Pages, live: Live, tmp_path: Path
) -> None:
    """Another phone's page takes it in as it is; what cannot be read is told by its number."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    write_sheets(page, house.made["bath"])
    text = page.evaluate("coop.outbox.rescueText()")
    other = text.replace(page.evaluate("coop.outbox.all().then(all => all[0].id)"), _id(house))
    file = tmp_path / "saved.jsonl"
    file.write_text(text + "no line of ours\n" + other)

    page.get_by_role("link", name="Waiting on this phone: 1").click()
    page.get_by_text("Save it as a file, take a file in").click()
    page.get_by_label("Take a file in").set_input_files(file)

    expect(page.get_by_text("Taken in: 1. Here already: 1.")).to_be_visible()
    expect(page.get_by_text("Not understood, lines 2: keep the file.")).to_be_visible()
    taken = page.locator("[data-list]").get_by_text(
        "Alum R-A1: taken in from a file", exact=True
    )
    expect(taken).to_be_visible()


def _id(house: Opened) -> str:
    return str(house.new_id())


def shared(house: Opened) -> FlaskClient:
    """Enrol a tablet for amina (1122) and kahu (4711); oluwaseun has no digits."""
    phone, client = enrolled(house, "amina", shared=True, name="tablet")
    for first in ("kahu", "oluwaseun"):
        house.say("device.member_added", device=phone.id, member=house.members[first].member)
    for first, digits in (("amina", "1122"), ("kahu", "4711")):
        with house.store.writing() as desk:
            devices.set_pin(
                desk.connection,
                device_id=phone.id,  # type: ignore[arg-type]  # an id
                member=house.members[first].member,
                digits=digits,
                salt=bytes(range(16)),
                now=house.moment,
            )
    return client


def tap_in(page: Page, initials: str, digits: str) -> None:
    page.get_by_role("button", name=initials, exact=True).click()
    page.get_by_label("Your four digits").fill(digits)
    tap(page, "It is me")


def test_on_a_shared_tablet_each_sees_their_own_lines(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Initials and four digits; what another wrote is a number, after me comes nobody."""
    client = shared(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = house.made["bath"]

    card(page, bath).get_by_role("link", name="Sheets through").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Who writes?")
    assert_accessible(page)
    tap_in(page, "KR", "4711")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheets through")
    tap(page, "20")
    tap(page, "Write it")
    expect(card(page, bath).get_by_text("+ 20 half sheets, dip, P-31")).to_be_visible()

    tap(page, "KR writes: not me any more")
    expect(page.get_by_text("20 half sheets")).to_have_count(0)
    expect(card(page, bath).get_by_text("Lines of others that wait here: 1")).to_be_visible()
    card(page, bath).get_by_role("link", name="Top up").click()
    tap_in(page, "AK", "1122")
    page.goto(OFFLINE + "#lines")
    expect(page.get_by_text("20 half sheets")).to_have_count(0)
    text = page.evaluate("coop.outbox.all().then(all => all[0].author)")
    assert text == house.members["kahu"].member


def test_whoever_leaves_the_page_writes_no_more(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Another page, and back by the browser's own button: it asks again who writes."""
    client = shared(house)
    page = pages.phone(live(house.app()))
    page.clock.install(time=house.moment)
    open_page(page, client, f"#top-up/{house.made['bath']}")
    tap_in(page, "AK", "1122")
    screen(page).get_by_label("Water", exact=True).fill("3")

    page.get_by_role("link", name="Test studio").click()
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    page.go_back()

    expect(page.locator("[data-leave]")).to_be_hidden()
    page.goto(f"{OFFLINE}#top-up/{house.made['bath']}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Who writes?")


def test_after_five_minutes_without_a_touch_nobody_writes(
    house: Opened, pages: Pages, live: Live
) -> None:
    """A tablet by the tray is anybody's; what one was typing is not shown to the next."""
    page = on_the_stairs(pages.phone(live(house.app())), shared(house), house.moment)
    card(page, house.made["bath"]).get_by_role("link", name="Stop it")
    page.goto(OFFLINE + f"#stop/{house.made['bath']}")
    tap_in(page, "KR", "4711")
    page.get_by_text("Another time, a note").locator("visible=true").click()
    page.get_by_label("Note").locator("visible=true").fill("smells of vinegar")

    page.clock.run_for("04:00")
    expect(page.get_by_role("button", name="KR writes: not me any more")).to_be_visible()
    page.clock.run_for("02:00")

    expect(page.get_by_role("heading", level=1)).to_have_text("In the room")
    expect(page.locator("[data-leave]")).to_be_hidden()
    assert "vinegar" not in page.evaluate(
        "[...document.querySelectorAll('textarea')].map(one => one.value).join()"
    )


def test_ten_wrong_tries_lock_a_name_until_the_studio_is_heard(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Against a curious finger; reloading the page forgets no try."""
    page = on_the_stairs(pages.phone(live(house.app())), shared(house), house.moment)
    page.goto(OFFLINE + "#who")
    for _ in range(9):
        tap_in(page, "KR", "0001")
        expect(page.get_by_text("These are not the digits of KR.")).to_be_visible()
        expect(page.get_by_label("Your four digits")).to_have_value("")
        page.reload()
    tap_in(page, "KR", "0001")
    expect(page.get_by_text("Ten wrong tries: KR is locked")).to_be_visible()
    page.reload()
    tap_in(page, "KR", "4711")
    expect(page.get_by_text("Ten wrong tries: KR is locked")).to_be_visible()
    tap(page, "OA")
    expect(page.get_by_text("OA has no digits on this tablet yet")).to_be_visible()

    page.context.set_offline(False)
    page.goto(OFFLINE + "#lines")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("[data-heard]")).not_to_have_attribute("hidden", "")
    page.goto(OFFLINE + "#who")
    tap_in(page, "KR", "4711")
    expect(page.get_by_role("button", name="KR writes: not me any more")).to_be_visible()


@pytest.mark.parametrize(
    ("shape", "scheme", "lang"),
    [
        ("phone", "light", "en"),
        ("phone", "dark", "tr"),
        ("desk", "light", "tr"),
        ("desk", "dark", "en"),
    ],
)
def test_every_screen_is_for_everybody(
    house: Opened, pages: Pages, live: Live, shape: str, scheme: str, lang: str
) -> None:
    """Axe is content, nothing is wider than the screen, what is pressed at a tray is big."""
    _, client = enrolled(house)
    page = getattr(pages, shape)(live(house.app()), color_scheme=scheme)
    page.context.add_cookies(
        [{"name": "coop-lang", "value": lang, "domain": "127.0.0.1", "path": "/"}]
    )
    page.clock.install(time=house.moment)
    open_page(page, client)
    bath = house.made["bath"]
    for view in ("room", "mix", "lines", *(f"{one}/{bath}" for one in VIEWS)):
        page.evaluate("there => { location.hash = there }", view)
        page.locator(f'[data-view="{view.partition("/")[0]}"]').wait_for()
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), view
        small = page.evaluate(
            """[...document.querySelectorAll('main .button, main .chip')]
                .filter(one => one.offsetParent && one.offsetHeight < 64)
                .map(one => one.textContent)"""
        )
        assert small == [], view
        screenshot(page, f"offline-{view.partition('/')[0]}-{shape}-{scheme}-{lang}")


def test_what_was_said_of_one_form_does_not_stand_above_another(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Its "Undo it" would be taken for that form's own."""
    _, client = enrolled(house)
    page = on_the_stairs(pages.phone(live(house.app())), client, house.moment)
    bath = house.made["bath"]
    write_sheets(page, bath)
    expect(page.get_by_role("button", name="Undo it")).to_be_visible()

    page.goto(f"/device/offline#stop/{bath}")
    expect(page.get_by_role("heading", level=1, name="Stop it")).to_be_visible()
    expect(page.get_by_role("button", name="Undo it")).to_have_count(0)
    page.goto("/device/offline#room")
    expect(page.get_by_role("button", name="Undo it")).to_be_visible()
