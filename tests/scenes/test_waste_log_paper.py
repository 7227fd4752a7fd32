"""The month's log of wastes on paper: A4 on its side, the studio and the month on each page."""

import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished, mixed, quantity
from tests.support.server import serving

A4_ON_ITS_SIDE_POINTS = (841.9, 595.3)  # ISO 216: 297 mm by 210 mm; 72 points to an inch
A_POINT = 1.0
LINES = 36


def entered(page: Page) -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "kahu")
    page.fill("[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    return page


def used(folder: Path) -> Opened:
    """A studio with a full month: a neutralised bath, rinse water, a mishap, one late."""
    house = furnished(folder)
    studio, bath = house.made["studio"], mixed(house)
    first = house.moment
    house.later(hours=1)
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="3.5", step="0.5")
    house.later(minutes=10)
    house.say("disposal.treated", studio=studio, bath=bath, step="base_in", base="crystals",
              weight=quantity(430, "g"))  # fmt: skip
    house.later(hours=12)
    house.say("reading.taken", bath=bath, instrument="ph_meter", ph="7.1", step="0.1",
              off_at_check="0.1")  # fmt: skip
    done: dict[str, Any] = {"studio": studio, "outlet": "sewer"}
    house.say("disposal.done", bath=bath, waste="alum_bath", litres=quantity(8, "l"),
              steps=["strain_through_cloth", "settle_overnight"], outcome="after_steps",
              **done)  # fmt: skip
    house.say("mishap.noted", "kahu", studio=studio, bath=bath, what="spill",
              waste="alum_bath", litres=quantity(1, "l"), done=["soaked_up"])  # fmt: skip
    for _ in range(LINES):
        house.later(hours=3)
        house.say("disposal.done", "kahu", waste="rinse_water", sheet_count="24", **done)
    house.say("disposal.done", "kahu", waste="size", litres=quantity(6, "l"),
              at=first + timedelta(hours=1), **done)  # fmt: skip
    return house


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return used(tmp_path)


def test_a_full_month_is_printed_with_its_head_on_each_page(
    house: Opened, pages: Pages
) -> None:
    """A group of heading rows comes again on each page, CSS 2.2 section 17.2: none is lost."""
    with serving(house.app()) as origin:
        page = entered(pages.desk(origin))
        page.goto(f"/waste/{house.made['studio']}/log")
        screenshot(page, "waste-log-desk")
        data: bytes = page.pdf(prefer_css_page_size=True)
        page.emulate_media(media="print")
        screenshot(page, "waste-log-print")
        head = page.get_by_text("log of wastes, 2025-09 · printed by Kahu R.")
        assert head.is_visible()
        group = page.locator("table.log thead")
        assert group.evaluate("one => getComputedStyle(one).display") == "table-header-group"
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)

    assert len(boxes) >= 2, "a full month takes more than one page"
    for wide, high in boxes:
        assert (float(wide), float(high)) == pytest.approx(A4_ON_ITS_SIDE_POINTS, abs=A_POINT)


def test_on_a_phone_each_line_stands_under_its_own_headings(
    house: Opened, pages: Pages
) -> None:
    with serving(house.app()) as origin:
        page = entered(pages.phone(origin))
        page.goto(f"/waste/{house.made['studio']}/log")
        width = page.evaluate("document.documentElement.scrollWidth")
        screenshot(page, "waste-log-phone")

        assert width <= page.viewport_size["width"]  # type: ignore[index]  # it has one
        assert_accessible(page)


def test_the_numbers_to_call_are_in_sight_at_once(house: Opened, pages: Pages) -> None:
    """Nobody scrolls with alum in the eye."""
    with serving(house.app()) as origin:
        page = entered(pages.phone(origin))
        page.goto("/")
        screenshot(page, "room-phone")
        page.get_by_role("link", name="Something went wrong").click()
        box = page.get_by_text("0555 0100").first.bounding_box()
        screenshot(page, "mishap-new")

        assert box is not None
        assert box["y"] + box["height"] <= page.viewport_size["height"]  # type: ignore[index]
        assert_accessible(page)


def test_a_mishap_is_written_on_a_phone_and_says_again_whom_to_call(
    house: Opened, pages: Pages
) -> None:
    with serving(house.app()) as origin:
        page = entered(pages.phone(origin))
        page.goto("/mishaps/new")
        page.get_by_text("spilled", exact=True).last.click()
        page.get_by_label("About how many litres?").fill("2")
        page.get_by_role("button", name="Write it").click()
        page.wait_for_url("**/mishaps/0*")
        screenshot(page, "mishap-phone")

        assert page.get_by_text("0555 0100").first.is_visible()
        assert page.get_by_text("It counts in the log of the month: 2.0 L.").is_visible()
        assert_accessible(page)
