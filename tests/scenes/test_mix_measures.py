"""Mix in a browser: the plan follows each tap, with a script and without one."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from coop.store import measures
from coop.store.measures import Measures
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.opened import PASSWORD, Opened, furnished, quantity
from tests.support.server import serving

OUNCES = "6 oz (weight) per gallon"


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A cold studio with hard water, a card of potash alum, and alum of both salts."""
    house = furnished(tmp_path)
    studio = house.made["studio"]
    house.say(
        "studio.described", studio=studio, supersedes=house.state("studio", studio).edition,
        name="Ropewalk", letter="R", drain="septic", emergency="112", poison="0555 0100",
        hardness_mg_per_l="280", store_coldest=quantity(8, "celsius"),
    )  # fmt: skip
    house.made["potash"] = house.say(
        "lot.received", studio=studio, what="alum", name="PA-7", salt="potash_alum",
        weight=quantity(10, "kg"),
    )  # fmt: skip
    house.made["strong"] = house.say(
        "recipe.published", name="Strong potash", dose="85 g/L", amount=quantity(85, "g"),
        per=quantity(1, "l"), salt="potash_alum", target_g_per_l="85",
    )  # fmt: skip
    house.made["cloth"] = house.say(
        "recipe.published", name="Cotton", dose="15 % of the dry weight",
        amount=quantity(15, "g"), per=quantity(100, "g"), salt="potash_alum",
        made_for="fabric",
    )  # fmt: skip
    return house


@pytest.fixture
def origin(house: Opened) -> Iterator[str]:
    with serving(house.app()) as there:
        yield there


def entered(page: Page, first: str = "kahu") -> Page:
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", first)
    page.fill("[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    return page


def figure(page: Page) -> str:
    return page.locator("[data-live-part=figure]").first.inner_text()


def chip(page: Page, text: str) -> None:
    page.locator("label.chip", has_text=text).first.click()


def test_another_gallon_changes_the_plan_at_once(
    house: Opened, origin: str, pages: Pages
) -> None:
    """449 g for 374: the tap is beside the text, and nothing is sent by hand."""
    page = entered(pages.phone(origin))
    page.goto(f"/mix/{house.made['tub']}")
    page.fill("[name=dose]", OUNCES)
    page.fill("[name=much]", "10")
    shown = page.locator("[data-live-part=figure]").first
    expect(shown).to_have_text("Weigh 449 g of AS-24")

    chip(page, "imperial gallon")

    expect(shown).to_have_text("Weigh 374 g of AS-24")
    screenshot(page, "mix-imperial-390")


def test_what_can_mean_two_things_is_picked_while_it_is_typed(
    house: Opened, origin: str, pages: Pages
) -> None:
    """
    Nothing is sent by hand: a card that contradicts itself, then one that leaves it open.

    8 tablespoons in a gallon are 31.25 mL/L, at 14.8 g a level one 31.3 g/L; of the parts of
    1:8 by weight 125 g/L are asked about, by volume 125 mL/L of level powder (by hand).
    """
    page = entered(pages.phone(origin))
    page.goto(f"/mix/{house.made['tub']}")
    page.fill("[name=much]", "10")
    page.fill("[name=dose]", "8 tbsp (1/3 cup) per gallon")
    picks = page.get_by_role("group", name="Which one holds?").get_by_role("radio")
    expect(picks).to_have_count(2)
    assert_accessible(page)

    chip(page, "8 US tablespoons to 1 US gallon")

    shown = page.locator("[data-live-part=figure]").first
    expect(shown).to_have_text("Weigh 313 g of AS-24")
    expect(picks.first).to_be_checked()
    page.fill("[name=dose]", "1:8")
    expect(page.get_by_role("group", name="Which one holds?")).to_contain_text("125 g/L")
    expect(picks.first).not_to_be_checked()
    chip(page, "1 g to 8 mL")
    expect(shown).to_have_text("Weigh 1250 g of AS-24")
    page.fill("[name=dose]", "30 g/L")
    expect(page.get_by_role("group", name="Which one holds?")).to_be_hidden()


def test_the_form_of_what_was_put_in_keeps_no_figures_of_another_plan(
    house: Opened, origin: str, pages: Pages
) -> None:
    """Else a later tap changes the plan, and the ledger gets the water and salt of the old."""
    page = entered(pages.phone(origin))
    page.goto(f"/mix/{house.made['tub']}?recipe=typed&dose=40 g/L&much=10&measure=l&by=card")
    form = page.get_by_role("heading", name="What was really put in")
    anew = page.get_by_text("The plan above is another one now: work it out again.")
    expect(form).to_be_visible()

    page.fill("[name=much]", "8")
    expect(form).to_be_hidden()
    expect(anew).to_be_visible()
    page.fill("[name=much]", "10")
    expect(form).to_be_visible()
    expect(anew).to_be_hidden()

    page.fill("[name=much]", "8")
    expect(form).to_be_hidden()
    page.get_by_role("button", name="Work it out").click()
    expect(form).to_be_visible()
    assert page.locator("[name='water.typed']").input_value() == "8"


def test_a_size_puts_its_form_away_too(house: Opened, origin: str, pages: Pages) -> None:
    """Size, gall and paste are made from the same kind of page."""
    page = entered(pages.phone(origin))
    page.goto(
        f"/make?what=paste&vessel={house.made['tub']}&recipe=typed&dose=60 g/L&much=2&measure=l"
    )
    form = page.get_by_role("heading", name="What was really put in")
    expect(form).to_be_visible()

    page.fill("[name=much]", "3")

    expect(form).to_be_hidden()


def test_a_recipe_is_settled_before_it_is_sent(
    house: Opened, origin: str, pages: Pages
) -> None:
    """A form that was sent lets go of its photo; the choice must not need that round."""
    page = entered(pages.phone(origin), "amina")
    page.goto("/house/recipes/new")

    page.fill("[name=dose]", "6 tbsp (1/4 cup) per gallon")

    picks = page.get_by_role("group", name="Which one holds?").get_by_role("radio")
    expect(picks).to_have_count(2)
    assert_accessible(page)


def test_without_a_script_the_same_tap_is_sent(
    house: Opened, origin: str, pages: Pages
) -> None:
    page = entered(pages.phone(origin, java_script_enabled=False))
    page.goto(f"/mix/{house.made['tub']}?recipe=typed&dose={OUNCES}&much=10&by=card")
    assert figure(page) == "Weigh 449 g of AS-24"

    chip(page, "imperial gallon")
    page.get_by_role("button", name="Work it out").click()

    assert figure(page) == "Weigh 374 g of AS-24"


def test_a_strong_dose_in_the_cold_another_salt_and_cloth(
    house: Opened, origin: str, pages: Pages
) -> None:
    """Everything that can be tapped answers at once, and can be read by everybody."""
    for page, width in ((pages.phone(origin), 390), (pages.desk(origin), 1280)):
        entered(page)
        page.goto(f"/mix/{house.made['tub']}")
        chip(page, "Strong potash")
        page.fill("[name=much]", "10")
        warnings = page.locator("[data-live-part=warnings]")
        expect(warnings).to_contain_text("About 14 g/L will crystallise at 8 °C")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator("details[open] > summary", has_text="Hot start")).to_be_visible()
        page.fill("[name=hot]", "65")
        hot = page.locator("[data-live-part=hot]")
        expect(hot).to_contain_text("65 °C is too hot for this jug, which bears 60 °C")
        page.fill("[name=hot]", "55")
        expect(hot).to_contain_text("55 °C slowly into it: 35 °C together")
        page.locator("summary", has_text="Another salt").click()
        chip(page, "AS-24")
        expect(page.locator("[data-live-part=instead]")).to_contain_text(
            re.compile(r"53\d g of aluminium sulfate do what 850 g of potash alum do")
        )
        assert_accessible(page)
        screenshot(page, f"mix-salts-{width}")
        chip(page, "no, the card's own salt")
        chip(page, "Cotton")
        cloth = page.get_by_label("Weight of the dry cloth")
        cloth.fill("500")
        expect(page.locator("[data-live-part=figure]").first).to_have_text("Weigh 75 g of PA-7")
        screenshot(page, f"mix-cloth-{width}")


def test_in_us_measures_everything_is_shown_in_them(
    house: Opened, origin: str, pages: Pages
) -> None:
    with house.store.writing() as desk:
        chosen = Measures(shown="us")
        measures.choose(desk.connection, house.members["kahu"].member, chosen)
    page = entered(pages.phone(origin))
    page.goto(f"/mix/{house.made['tub']}?recipe={house.made['strong']}&much=3")

    assert figure(page) == "Weigh 2.13 lb of PA-7"
    expect(page.locator("[data-live-part=hot]")).to_contain_text("at 131 °F slowly into it")
    expect(page.locator("select[name='water.unit']")).to_have_value("us_gallon")
    expect(page.locator("select[name='salt.0.amount.unit']")).to_have_value("oz")
    screenshot(page, "mix-us-390")
