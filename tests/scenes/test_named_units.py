"""A number that names its own unit, typed on a phone: read back and written so."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.support.browser import Pages
from tests.support.opened import PASSWORD, Opened, furnished, mixed, quantity
from tests.support.server import serving


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    house = furnished(tmp_path)
    house.made["moss"] = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(900, "g"),
    )
    return house


@pytest.fixture
def origin(house: Opened) -> Iterator[str]:
    with serving(house.app()) as there:
        yield there


def entered(page: Page, first: str) -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", first)
    page.fill("[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    return page


def test_the_line_read_back_names_the_unit_that_is_typed(
    house: Opened, origin: str, pages: Pages
) -> None:
    """1 lb 4 oz are 566.99 g (NIST Handbook 44); the list says grams, and is not read back."""
    page = entered(pages.phone(origin), "amina")
    page.goto(f"/lots/{house.made['moss']}/adjust")
    page.locator("label.chip", has_text="less is there").click()
    page.locator("label.chip", has_text="spoiled").click()
    page.fill("[name='amount.typed']", "1 lb 4 oz")

    expect(page.locator("[data-read-back]")).to_have_text(
        "K-3: less is there than written, 1 lb 4 oz, spoiled"
    )
    page.click("main button[type=submit]")
    page.wait_for_url(f"**/lots/{house.made['moss']}")

    with house.desk() as desk:
        left = sum(desk.journal.held([f"lot:{house.made['moss']}"]).values())
    assert left / 1_000_000 == pytest.approx(900 - 566.99, abs=0.01)


def test_a_phones_form_hands_degrees_of_its_hydrometer_in(
    house: Opened, origin: str, pages: Pages
) -> None:
    """What its script does not read, the studio does: 2.9 Be and 68 F are 1.020 at 20 C."""
    page = entered(pages.phone(origin), "kahu")
    page.goto(f"/baths/{mixed(house)}/test?by=hydrometer")
    page.fill("[name=gravity]", "2.9 Be")
    page.fill("[name='temperature.typed']", "68 F")
    page.click("main button[type=submit]")
    page.wait_for_url(re.compile("read="))

    expect(page.locator("main")).to_contain_text("hydrometer")
