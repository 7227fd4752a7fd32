"""
The main job in a real browser: mix, sheets through, and the next evening "is it still good?".

Told twice: from an empty ledger set up by pages alone on a phone, and in the demo. The test
moves the clock; the pages are looked at by axe as they come.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from secrets import token_bytes

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from coop.app import create_app
from coop.cli import invented
from coop.cli.init import prepare
from coop.settings import Settings, from_environment
from coop.store.members import Passwords
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.server import serving

QUICK = Passwords(time_cost=1, memory_kib=8)
PASSWORD = "a long enough sentence"
MONDAY = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)


class Clock:
    """A clock that stands until the test moves it."""

    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def __call__(self) -> datetime:
        return self.moment

    def later(self, **by: float) -> None:
        self.moment += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    return Clock(MONDAY)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return from_environment({"COOP_DATA": str(tmp_path / "ledger")})


def app_of(settings: Settings, clock: Clock) -> Flask:
    return create_app(settings, clock=clock, passwords=QUICK)


def quick(page: Page) -> Page:
    """Give up sooner than the browser would by itself."""
    page.set_default_timeout(10_000)
    return page


def type_in(page: Page, typed: Mapping[str, str | list[str]]) -> None:
    """Fill in a form by its fields' names: text, choice or ticks."""
    for name, value in typed.items():
        field = page.locator(f'main [name="{name}"]')
        kind = field.first.get_attribute("type") or field.first.evaluate("e => e.localName")
        if kind in ("radio", "checkbox"):
            for one in [value] if isinstance(value, str) else value:
                page.locator(f'main [name="{name}"][value="{one}"]').check(force=True)
        elif kind == "select":
            field.select_option(value)
        else:
            assert isinstance(value, str)
            if not field.is_visible():
                page.locator("details", has=field).locator("summary").click()
            field.fill(value)


def send(page: Page, text: str) -> None:
    """Press the button with these words."""
    page.get_by_role("main").get_by_role("button", name=text, exact=True).click()


def look(page: Page, name: str) -> None:
    """Look at a page as somebody who cannot see it, and keep its picture."""
    assert_accessible(page)
    screenshot(page, name)


def sign_in(page: Page, name: str, password: str = PASSWORD) -> None:
    page.goto("/sign-in")
    type_in(page, {"sign_in_name": name, "password": password})
    send(page, "Sign in")
    expect(page.get_by_role("heading", level=1)).to_have_text("In the room")


OPENING = {
    "name": "Test studio",
    "zone": "Europe/Berlin",
    "member_name": "Amina K.",
    "initials": "AK",
    "sign_in_name": "amina",
    "password": PASSWORD,
}
DESCRIBED: dict[str, dict[str, str | list[str]]] = {
    "/house/studios/new": {
        "name": "Ropewalk",
        "letter": "R",
        "drain": "sewer",
        "instruments": ["strip_print", "tape_line", "hydrometer", "thermometer"],
        "emergency": "112",
        "poison": "0555 0100",
    },
    "/house/tubs/new": {
        "name": "big tub",
        "inside_length.typed": "740",
        "inside_width.typed": "540",
        "brim.typed": "16",
        "lidded": "yes",
    },
    "/house/papers/new": {
        "name": "P-31",
        "length.typed": "700",
        "width.typed": "500",
        "weight_g_per_m2": "100",
        "chalk": "not_known",
    },
    "/house/limits": {
        "target_g_per_l": "40",
        "target_salt": "aluminium_sulfate_14",
        "gallon": "us",
        "cup": "us",
        "spoon": "us",
    },
}


def set_up(page: Page, address: str) -> str:
    """From the one-use address to a house that can answer; return the newcomer's address."""
    page.goto(address)
    look(page, "empty-open")
    type_in(page, OPENING)
    send(page, "Open the ledger")
    expect(page).to_have_url(re.compile("/house$"))
    look(page, "empty-house")
    for there, typed in DESCRIBED.items():
        page.goto(there)
        look(page, f"empty{there.replace('/', '-')}")
        type_in(page, typed)
        page.get_by_role("main").locator("form.form button.main").click()
        expect(page).to_have_url(re.compile("/house"))
    receive(page)
    page.goto("/people/invite")
    look(page, "empty-invite")
    type_in(page, {"roles": ["member"]})
    page.get_by_role("main").locator("form.form button.main").click()
    found = re.search(r"/join/[\w-]+", page.content())
    assert found
    return found[0]


def receive(page: Page) -> None:
    """Receive alum and paper."""
    page.goto("/shelf/receive/alum")
    look(page, "receive-alum")
    alum = {"name": "AS-24", "salt": "aluminium_sulfate_14", "weight.typed": "5"}
    type_in(page, alum)
    send(page, "Write it")
    page.goto("/shelf/receive/paper")
    type_in(page, {"name": "P-31", "sheet_count": "1000"})
    send(page, "Write it")
    expect(page.get_by_role("main")).to_contain_text("1000 full sheets")
    look(page, "shelf")


def weigh_spoons(page: Page, lot: str) -> None:
    """Ten level tablespoons of this granular salt weigh 150 g."""
    page.goto("/shelf")
    page.get_by_role("link", name=lot, exact=True).click()
    page.get_by_role("link", name="Weigh ten level spoons").click()
    look(page, "spoons")
    type_in(page, {"weight.typed": "150"})
    send(page, "Write it")
    expect(page.get_by_role("main")).to_contain_text("15.0 g a level US tablespoon")


def publish_the_card(page: Page) -> None:
    """A card that says two things is stopped until one of them is picked."""
    page.goto("/house/recipes/new")
    type_in(
        page,
        {
            "name": "The old card",
            "dose": "6 tbsp (1/4 cup) per gallon",
            "salt": "aluminium_sulfate_14",
        },
    )
    live = page.locator("[data-live-box]")
    expect(live).to_contain_text("23.4")
    expect(live).to_contain_text("15.6")
    send(page, "Publish it")
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.locator('[name="dose"]')).to_have_value("6 tbsp (1/4 cup) per gallon")
    look(page, "card-stopped")
    page.locator('[name="pick"]').first.check(force=True)
    send(page, "Publish it")
    expect(page).to_have_url(re.compile("/recipes/"))
    expect(page.get_by_role("main")).to_contain_text("This one holds")


def mix(page: Page, tub: str, lot: str) -> str:
    """Mix 12 L by the card with 19 level spoons of a weighed lot; return the bath."""
    page.goto("/mix")
    look(page, "mix-tubs")
    page.get_by_role("main").get_by_role("link", name=re.compile(tub)).first.click()
    page.get_by_label("The old card").check(force=True)
    type_in(page, {"much": "12", "measure": "l"})
    expect(page.locator("[data-live-part=figure]").last).to_contain_text("g of")
    send(page, "Work it out")
    look(page, "mix-worked-out")
    chosen = page.locator('[name="salt.0.lot"]')
    chosen.select_option(chosen.locator("option", has_text=lot).first.get_attribute("value"))
    spoons = {
        "salt.0.amount.typed": "19",
        "salt.0.amount.unit": "us_tbsp",
        "salt.0.amount.heap": "level",
    }
    type_in(page, spoons)
    send(page, "Write it")
    expect(page).to_have_url(re.compile("/baths/[0-9a-f-]{36}$"))
    expect(page.locator(".flash")).to_contain_text("tag")
    look(page, "bath-mixed")
    return page.url


def sixty_half_sheets(page: Page, bath: str) -> None:
    """Three taps on the tray screen: count, paper, button; half and dip stand."""
    page.goto(bath)
    page.get_by_role("link", name="Sheets through").first.click()
    page.get_by_role("button", name="60", exact=True).click()
    lot = page.locator('[name="lot"]')
    taps = 1
    if lot.count() and not page.locator('[name="lot"]:checked').count():
        page.locator(".chip", has=lot).first.click()
        taps += 1
    expect(page.locator("[data-read-back]")).to_contain_text("60 half sheets, dip")
    expect(page.locator(".read-back button")).to_be_in_viewport(ratio=1)
    look(page, "sheets")
    send(page, "Write it")
    taps += 1
    assert taps <= 3
    expect(page.locator(".flash").first).to_contain_text("60 half sheets")
    expect(page.get_by_role("button", name="Undo").first).to_be_visible()


def is_it_still_good(page: Page, bath: str) -> None:
    """The next evening another member reads the answer with all that stands behind it."""
    page.goto(bath)
    main = page.get_by_role("main")
    expect(main.locator(".word").first).to_have_text("good")
    told = (
        "about 24 g/L (22 to 25)",
        "spooned yesterday",
        "by the weighed spoon of its lot",
        "10.5 L",
        "half sheets by dip",
        "Kahu R.",
    )
    for part in told:
        expect(main).to_contain_text(re.compile(re.escape(part), re.IGNORECASE))
    look(page, "bath-next-evening")


def read_the_hydrometer(page: Page, bath: str) -> None:
    """1.010 at 24 C, zero 1.000 in water at 20 C: about 19 g/L; the estimate moves to 23."""
    page.goto(bath + "/test?by=hydrometer")
    page.get_by_role("link", name="Check it in tap water").click()
    type_in(page, {"gravity": "1.000", "temperature.typed": "20"})
    look(page, "hydrometer-zero")
    send(page, "Write it")
    page.goto(bath + "/test?by=hydrometer")
    type_in(page, {"gravity": "1.010", "temperature.typed": "24"})
    send(page, "Write it")
    expect(page.locator(".moved")).to_contain_text("24 g/L (22 to 25)")
    expect(page.locator(".moved")).to_contain_text("23 g/L")
    look(page, "hydrometer-read")


def top_up_with_water(page: Page, bath: str) -> None:
    """Water alone is warned of while it is typed, and asked about before it is written."""
    page.goto(bath + "/mend")
    type_in(page, {"water.typed": "4"})
    expect(page.locator("[data-live-box]")).to_contain_text("g/L")
    look(page, "mend-water")
    send(page, "Write it")
    reasons = page.locator('[name="reason"]')
    expect(reasons.first).to_be_attached()
    look(page, "mend-asked")
    page.locator('[name="reason"][value="level_only"]').check(force=True)
    send(page, "Write it")
    expect(page).to_have_url(bath)


def stop_it(page: Page, bath: str) -> None:
    """The coordinator stops it; the tag on the tub is what the next member sees."""
    page.goto(bath + "/stop")
    look(page, "stop")
    page.locator('[name="reason"][value="looks_wrong"]').check(force=True)
    send(page, "Stop it")
    expect(page.get_by_role("main")).to_contain_text("tag")
    page.goto("/")
    expect(page.locator(".not-to-be-used")).to_contain_text("R-A")
    look(page, "room-stopped")


def story(phone: Page, desk: Page, clock: Clock, tub: str, lot: str) -> None:
    """Tell the evening and the next one; `phone` is a member's, `desk` a coordinator's."""
    weigh_spoons(phone, lot)
    publish_the_card(desk)
    bath = mix(phone, tub, lot)
    sixty_half_sheets(phone, bath)
    clock.later(hours=25)
    is_it_still_good(desk, bath)
    read_the_hydrometer(phone, bath)
    top_up_with_water(phone, bath)
    stop_it(desk, bath)
    phone.goto("/")
    look(phone, "room-phone")


@pytest.fixture
def empty(settings: Settings, clock: Clock) -> Iterator[tuple[str, str]]:
    """An empty ledger served: its origin and the one-use address."""
    token = prepare(settings)
    assert token
    with serving(app_of(settings, clock)) as origin:
        yield origin, f"/join/{token}"


@pytest.mark.browser
def test_first_light_from_an_empty_ledger(
    empty: tuple[str, str], pages: Pages, clock: Clock
) -> None:
    """A newcomer gets from nothing to the first answer without the demo."""
    pages.expect("422|status of 4")
    origin, address = empty
    desk, phone = quick(pages.desk(origin)), quick(pages.phone(origin))
    invitation = set_up(desk, address)
    phone.goto(invitation)
    look(phone, "join")
    newcomer = {
        "member_name": "Kahu R.",
        "initials": "KR",
        "sign_in_name": "kahu",
        "password": PASSWORD,
    }
    type_in(phone, newcomer)
    send(phone, "Join")
    expect(phone.get_by_role("heading", level=1)).to_have_text("In the room")
    story(phone, desk, clock, "big tub", "AS-24")


@pytest.mark.browser
def test_first_light_in_the_demo(settings: Settings, pages: Pages) -> None:
    """A visitor does the same among invented people, at nine in the morning of a Wednesday."""
    pages.expect("422|status of 4")
    clock = Clock(datetime(2026, 11, 25, 8, 0, tzinfo=UTC))
    told = invented.prepare(settings, ("amina", "kahu"), now=clock(), random=token_bytes)
    with serving(app_of(settings, clock)) as origin:
        desk, phone = quick(pages.desk(origin)), quick(pages.phone(origin))
        sign_in(desk, "amina", told["amina"])
        sign_in(phone, "kahu", told["kahu"])
        look(phone, "demo-room-phone")
        look(desk, "demo-room-desk")
        story(phone, desk, clock, "spare tub", "AS-21")
