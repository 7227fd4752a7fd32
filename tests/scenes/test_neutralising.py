"""An old alum bath at the bucket: step by step on a phone, and where no signal is."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.enrolled import enrolled
from tests.support.opened import PASSWORD, Opened, quantity
from tests.support.server import live as live
from tests.support.tray import in_use, open_page, with_old

pytestmark = pytest.mark.browser

SENT_WITHIN_MS = 10_000
MINUTE_MS = 60_000
Live = Callable[[Flask], str]


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    house = in_use(tmp_path)
    with_old(house)
    return house


def tap(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def signed_in(page: Page) -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "kahu")
    page.fill("[name=password]", PASSWORD)
    page.click("main button.main")
    return page


def old(house: Opened) -> Any:
    return house.state("bath", house.made["old"])


def test_the_walk_asks_one_thing_at_a_time(house: Opened, pages: Pages, live: Live) -> None:
    """Soda, bucket, what else is in it, the cup, the first part: each by one tap."""
    page = signed_in(pages.phone(live(house.app())))
    page.goto(f"/baths/{house.made['old']}/neutralise")
    here = page.locator("#here")

    assert_accessible(page)
    here.get_by_text("soda crystals (10-hydrate)").click()
    tap(page, "Work it out")
    expect(page.get_by_text("335 g of soda crystals")).to_be_visible()
    here.get_by_text("neither").click()
    tap(page, "Go on")
    here.get_by_label("pH", exact=True).fill("3,5")
    assert_accessible(page)
    screenshot(page, "neutralise-before")
    tap(page, "Write the reading")
    expect(here.get_by_label("How much of it")).to_have_value("290")
    assert_accessible(page)
    screenshot(page, "neutralise-cup")
    tap(page, "The cup is kept back")
    house.later(minutes=1)
    expect(here.get_by_label("Weighed")).to_have_value("255")
    tap(page, "It is in")

    expect(here.get_by_role("timer")).to_contain_text("30 min.")
    assert page.locator("details.step[open]").count() == 1
    assert_accessible(page)
    screenshot(page, "neutralise-read")
    assert [one.weight_g for one in old(house).treated] == [0.0, 255.0]


def test_how_long_to_stir_is_counted_by_the_studios_clock(
    house: Opened, pages: Pages, live: Live
) -> None:
    """Half an hour with a spoon in the hand is long; a phone's own clock may be wrong."""
    made = house.made
    cup: dict[str, Any] = {"step": "kept_back", "litres": quantity(290, "ml")}
    soda: dict[str, Any] = {"step": "base_in", "base": "crystals", "weight": quantity(255, "g")}
    for said in (cup, soda):
        house.later(minutes=1)
        house.say("disposal.treated", "kahu", studio=made["studio"], bath=made["old"], **said)
    house.later(minutes=10)
    page = pages.phone(live(house.app()))
    page.clock.install(time=house.moment + timedelta(hours=5))
    signed_in(page).goto(f"/baths/{made['old']}/neutralise?soda=crystals")
    timer = page.locator("#here").get_by_role("timer")

    expect(timer).to_contain_text("20 min.")
    page.clock.run_for(12 * MINUTE_MS)
    expect(timer).to_contain_text("8 min.")
    page.clock.run_for(9 * MINUTE_MS)
    expect(timer).to_have_text("Read it now.")


def in_the_yard(house: Opened, pages: Pages, origin: str) -> Page:
    """Open the page of a phone where there is a signal, and lose it."""
    pages.expect("net::ERR_")
    _, client = enrolled(house)
    page = pages.phone(origin)
    page.clock.install(time=house.moment)
    open_page(page, client)
    page.evaluate("navigator.serviceWorker.ready.then(() => coop.refresh())")
    page.context.set_offline(True)
    return page


def upstairs(page: Page) -> None:
    """Hear the studio again, and wait until it has everything."""
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator('[data-sort="written"]')).to_contain_text(
        "the studio has it", timeout=SENT_WITHIN_MS
    )
    expect(page.locator("[data-here] li")).to_have_count(0, timeout=SENT_WITHIN_MS)


def act(page: Page, bath: str, name: str) -> None:
    """Open a form of an old bath, a minute after the last one."""
    page.clock.run_for(MINUTE_MS)
    page.locator('[data-view="room"]').wait_for()
    card = page.locator(f'article[data-bath="{bath}"]')
    if not card.is_visible():
        page.get_by_text("Still to be got rid of").click()
    card.get_by_role("link", name=name).click()


def pour_in(page: Page, bath: str) -> None:
    """Keep a cup back, then put 255 g of soda crystals in."""
    act(page, bath, "Neutralise it")
    shown = page.locator("[data-plan-here]")
    expect(shown).to_contain_text("soda crystals (10-hydrate): 255 g, then 21 g, 21 g, 21 g")
    expect(page.locator("#soda [value=kept_back]")).to_be_checked()
    expect(page.locator("#soda-litres")).to_have_value("290")
    assert_accessible(page)
    screenshot(page, "offline-neutralise")
    tap(page, "Write it")
    act(page, bath, "Neutralise it")
    expect(page.locator("#soda [value=base_in]")).to_be_checked()
    expect(page.locator("#soda [name=base]").first).to_have_value("crystals")
    expect(page.locator("#soda [name=base]").first).to_be_checked()
    expect(page.get_by_label("Weighed", exact=True)).to_have_value("255")
    screenshot(page, "offline-soda-next")
    tap(page, "Write it")
    expect(page.locator('[data-sort="written"]')).to_contain_text("base put in, 255 g")


def test_without_a_signal_the_walk_is_written_down_all_the_same(
    house: Opened, pages: Pages, live: Live
) -> None:
    """The bucket stands in the yard; upstairs all of it comes in, and the bath is gone."""
    bath = house.made["old"]
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="3.5", step="0.5")
    supply = house.say("supply.described", what="soda", name="washing soda", measure="weight")
    house.say(
        "lot.received", studio=house.made["studio"], what="supply", supply=supply,
        name="SO-3", soda="crystals", weight=quantity(1, "kg"),
    )  # fmt: skip
    page = in_the_yard(house, pages, live(house.app()))

    pour_in(page, bath)
    page.clock.run_for(40 * MINUTE_MS)
    act(page, bath, "Read the pH")
    page.get_by_label("pH", exact=True).fill("7,0")
    assert_accessible(page)
    tap(page, "Write it")
    act(page, bath, "It is gone")
    expect(page.get_by_text("Without a signal there is no answer")).to_be_visible()
    page.locator("#gone").get_by_text("town sewer").first.click()
    page.locator("#gone-litres").fill("900")
    page.locator("#gone [name='litres.unit']").select_option("ml")
    page.locator("#gone").get_by_text("strained through cloth").click()
    page.locator("#gone").get_by_text("solids kept out").click()
    assert_accessible(page)
    screenshot(page, "offline-gone")
    tap(page, "Write it")
    house.later(minutes=50)
    upstairs(page)

    state = old(house)
    done = [(one.step, one.base, one.weight_g) for one in state.treated]
    assert done == [("kept_back", "", 0.0), ("base_in", "crystals", 255.0)]
    assert [one.ph for one in state.drain_readings] == ["3.5", "7"]
    with house.desk() as desk:
        lines = desk.journal.listed("disposal", live=False)
    (gone,) = (one for one in lines if one.kind == "disposal.done")
    assert (gone.reason, gone.amount_ml) == ("already_done", 900)
    assert gone.steps == ("strain_through_cloth", "solids_stay_out")


def test_a_mishap_is_noted_where_it_happens(house: Opened, pages: Pages, live: Live) -> None:
    """Whom to call stands before the form; what was done is ticked."""
    page = in_the_yard(house, pages, live(house.app()))

    page.get_by_role("link", name="Something went wrong").click()
    expect(page.locator('[data-view="mishap"]')).to_contain_text("Emergency: 112.")
    page.get_by_text("foamed over").click()
    page.get_by_text("windows and doors opened").click()
    page.get_by_text("soaked up").click()
    assert_accessible(page)
    screenshot(page, "offline-mishap")
    tap(page, "Write it")
    upstairs(page)

    with house.desk() as desk:
        (line,) = desk.journal.listed("disposal", live=False)
    assert (line.what, line.done) == ("foamed_over", ("aired", "soaked_up"))
