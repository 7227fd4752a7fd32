"""What goes along with waste: a handover record on one sheet, labels, the carry list."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished, quantity
from tests.support.server import serving

PARTS = 5


def entered(page: Page) -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "kahu")
    page.fill("[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    return page


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A bucket with five lots of floc, handed over; a drum of rinse water where no sewer is."""
    house = furnished(tmp_path)
    made = house.made
    made["bucket"] = jar(house, made["studio"], "floc bucket", "floc")
    for _ in range(PARTS):
        house.later(days=2)
        house.say("waste.added", "kahu", studio=made["studio"], jar=made["bucket"],
                  waste="floc", weight=quantity(600, "g"))  # fmt: skip
    house.later(days=1)
    made["handover"] = house.say(
        "waste.collected", studio=made["studio"], jar=made["bucket"], by="the round",
        to="the works", reference="note 212",
    )  # fmt: skip
    made["barn"] = house.say("studio.described", name="Orchard Barn", letter="B",
                             drain="septic", emergency="112", poison="0555 0100")  # fmt: skip
    made["drum"] = jar(house, made["barn"], "rinse drum", "rinse_water")
    house.say("waste.added", studio=made["barn"], jar=made["drum"], waste="rinse_water",
              litres=quantity(18, "l"))  # fmt: skip
    return house


def jar(house: Opened, studio: str, name: str, waste: str) -> str:
    return house.say("waste.started", studio=studio, name=name, sort="drum",
                     holds=quantity(20, "l"), wastes=[waste])  # fmt: skip


def test_a_handover_of_five_lines_is_one_sheet_to_sign(house: Opened, pages: Pages) -> None:
    """Whoever signs signs what stands on the same sheet."""
    with serving(house.app()) as origin:
        page = entered(pages.desk(origin))
        page.goto(f"/jars/{house.made['bucket']}/handovers/{house.made['handover']}")
        data: bytes = page.pdf(format="A4", prefer_css_page_size=True)
        page.emulate_media(media="print")
        screenshot(page, "handover-print")
        assert page.get_by_text("Taken, name and signature").is_visible()

    assert len(re.findall(rb"/MediaBox", data)) == 1


def test_a_label_prints_no_word_about_words_nobody_ticked(house: Opened, pages: Pages) -> None:
    with serving(house.app()) as origin:
        page = entered(pages.desk(origin))
        page.goto(f"/jars/{house.made['drum']}/label")
        told = page.get_by_text("No hazard word was ticked for it.")
        assert told.is_visible()
        page.emulate_media(media="print")
        assert not told.is_visible()
        assert page.get_by_role("heading", name="rinse drum").is_visible()


def test_a_phone_shows_the_whole_carry_list(house: Opened, pages: Pages) -> None:
    """By when it is to be gone stood out of sight, in a table wider than the phone."""
    with serving(house.app()) as origin:
        page = entered(pages.phone(origin))
        page.goto(f"/waste/{house.made['barn']}/carry")
        wide = page.viewport_size["width"] if page.viewport_size else 0
        cells = page.locator("table.stacked td")
        ends = cells.evaluate_all("all => all.map(one => one.getBoundingClientRect().right)")
        screenshot(page, "carry-phone")
        assert_accessible(page)

    assert len(ends) == 5
    assert max(ends) <= wide
