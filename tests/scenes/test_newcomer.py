"""
The old card in the drawer, from a photo to a tag on the tub, and the tag's pencil back again.

Somebody new holds a card that says two things. It is photographed, typed as it stands, settled;
the tub of powder is weighed by its spoon; the bath is mixed, its tag printed and hung, its code
read with a phone; and what stood on the tag in pencil is copied back.
"""

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, expect

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished
from tests.support.server import serving, sign_in

pytestmark = pytest.mark.browser

CARD = "8 tbsp (1/3 cup) per gallon"
SCAN_DPI = 150


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


@pytest.fixture
def origin(house: Opened) -> Iterator[str]:
    with serving(house.app()) as origin:
        yield origin


def photo(folder: Path) -> Path:
    """Take a picture, as a phone would of a card."""
    file, made = folder / "card.jpg", BytesIO()
    Image.new("RGB", (1200, 900), "#f4ecd8").save(made, "JPEG")
    file.write_bytes(made.getvalue())
    return file


def tick(page: Page, name: str, value: str) -> None:
    page.locator(f'main [name="{name}"][value="{value}"]').check(force=True)


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def publish(page: Page, folder: Path) -> None:
    """Type the card as it stands: it is not taken before somebody says which half holds."""
    page.goto("/house/recipes/new")
    page.get_by_label("Name of the card").fill("Drawer card")
    page.get_by_label("The dose, as it is written").fill(CARD)
    tick(page, "salt", "aluminium_sulfate_14")
    page.locator('input[type="file"]').set_input_files(photo(folder))
    press(page, "Publish it")

    expect(page.locator("main")).to_contain_text("a third apart")
    expect(page.get_by_label("The dose, as it is written")).to_have_value(CARD)
    assert_accessible(page)
    screenshot(page, "newcomer-contradiction")
    page.get_by_label(re.compile("8 US tablespoons to 1 US gallon")).check(force=True)
    page.locator('input[type="file"]').set_input_files(photo(folder))
    press(page, "Publish it")
    expect(page.locator("main")).to_contain_text("Drawer card is published")


def weigh_the_spoon(page: Page, house: Opened) -> None:
    """Ten level spoons of this tub weigh 148 g, so a spoon is 14.8 g and no guess any more."""
    page.goto(f"/lots/{house.made['alum']}/spoons")
    page.locator('main [name="weight.typed"]').fill("148")
    press(page, "Write it")


def mix(page: Page, house: Opened) -> str:
    """Mix twelve litres by the card; return the bath's address."""
    page.goto(f"/mix/{house.made['tub']}")
    page.get_by_label(re.compile("Drawer card")).check(force=True)
    page.get_by_label("How much?").fill("12")
    press(page, "Work it out")
    expect(page.locator("main")).to_contain_text("Weigh")
    screenshot(page, "newcomer-mix")
    press(page, "Write it")
    expect(page).to_have_url(re.compile("/baths/"))
    return page.url.partition("?")[0].partition("#")[0]


def codes_of(page: Page, bath: str) -> set[str]:
    """Print the tag, and read its codes as a phone's camera would."""
    page.goto(f"/tags?bath={bath.rpartition('/')[2]}&per=1&paper=a4")
    document = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
    try:
        sheets = [one.render(scale=SCAN_DPI / 72).to_pil().convert("L") for one in document]
    finally:
        document.close()
    return {str(code.text) for sheet in sheets for code in zxingcpp.read_barcodes(sheet)}


def copy_back(page: Page, bath: str) -> None:
    """Two pencil rows of today: forty half sheets of Amina's, sixty of one's own."""
    page.goto(f"{bath}/card")
    for number, (count, day, by) in enumerate((("40", "today", "AK"), ("60", "today", "KR"))):
        line = page.locator("[data-line]").nth(number)
        if line.get_attribute("open") is None:
            line.locator("summary").first.click()
        line.get_by_label("sheets through", exact=True).check(force=True)
        line.get_by_role("textbox", name="How many sheets?").fill(count)
        if number:
            line.get_by_text("Another day or initials than the line above").click()
        line.get_by_label(day, exact=True).check(force=True)
        line.get_by_label(by, exact=True).check(force=True)
    screenshot(page, "newcomer-card")
    assert_accessible(page)
    press(page, "Write all lines")


def test_an_old_card_becomes_a_tag_and_its_pencil_comes_back(
    house: Opened, origin: str, pages: Pages, tmp_path: Path
) -> None:
    pages.expect(r"422 \(UNPROCESSABLE ENTITY\)")
    amina = pages.desk(origin)
    sign_in(amina, "amina", PASSWORD)
    publish(amina, tmp_path)

    kahu = pages.phone(origin)
    sign_in(kahu, "kahu", PASSWORD)
    kahu.goto("/recipes")
    kahu.get_by_role("link", name="Drawer card").first.click()
    expect(kahu.locator("main")).to_contain_text(CARD)
    expect(kahu.locator("main img").first).to_be_visible()
    weigh_the_spoon(kahu, house)
    bath = mix(kahu, house)

    read = codes_of(kahu, bath)
    assert bath in read
    kahu.goto(bath)
    expect(kahu.locator("h1")).to_contain_text("R-A1")
    expect(kahu.locator("main")).to_contain_text(re.compile(r"31(\.\d)? g/L"))

    copy_back(kahu, bath)
    expect(kahu.locator("main")).to_contain_text("100 half sheets")
    state = house.state("bath", bath.rpartition("/")[2])
    by = {one.sheet_count: one.by for one in state.through}
    assert by == {40: house.members["amina"].member, 60: house.members["kahu"].member}
