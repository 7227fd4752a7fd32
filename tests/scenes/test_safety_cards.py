"""Safety cards on paper: one page of A5 each, and none without a number to call."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page

from coop.rules.hazards import CARDS
from tests.support.browser import Pages
from tests.support.opened import PASSWORD, Opened, furnished, opened
from tests.support.server import serving

A5_POINTS = (419.5, 595.3)  # ISO 216: 148 mm by 210 mm; 72 points to an inch
A_POINT = 1.0
CODES = (*CARDS, "class")


def entered(page: Page) -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "kahu")
    page.fill("[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    return page


def printed(page: Page, code: str) -> bytes:
    page.goto(f"/safety/{code}")
    data: bytes = page.pdf(prefer_css_page_size=True)
    return data


def paper(data: bytes) -> list[tuple[float, float]]:
    """Return the sheets of a printed document, width and height in points."""
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert len(boxes) == len(re.findall(rb"/Type /Page\b", data))
    return [(float(wide), float(high)) for wide, high in boxes]


@pytest.mark.parametrize("lang", ["en", "tr"])
def test_every_card_is_one_page_of_a5(tmp_path: Path, pages: Pages, lang: str) -> None:
    """A second page would be left in the printer, and with it what must never meet."""
    house = furnished(tmp_path)
    with serving(house.app()) as origin:
        page = entered(pages.desk(origin, locale=lang))
        assert page.locator("html").get_attribute("lang") == lang
        for code in CODES:
            sheets = paper(printed(page, code))

            assert len(sheets) == 1, f"{code}: {len(sheets)} pages"
            assert sheets[0] == pytest.approx(A5_POINTS, abs=A_POINT), code


def shown_on_paper(house: Opened, pages: Pages) -> tuple[bool, bool]:
    """Return whether a card, and why it does not print, would be seen on paper."""
    with serving(house.app()) as origin:
        page = entered(pages.desk(origin))
        page.goto("/safety/lime")
        page.emulate_media(media="print")
        refusal = page.get_by_text("This card does not print")
        return page.locator("article.card").is_visible(), refusal.count() == 1


def test_without_a_number_to_call_only_the_reason_is_printed(
    tmp_path: Path, pages: Pages
) -> None:
    assert shown_on_paper(opened(tmp_path), pages) == (False, True)


def test_with_the_numbers_the_card_is_printed(tmp_path: Path, pages: Pages) -> None:
    assert shown_on_paper(furnished(tmp_path), pages) == (True, False)
