"""A ledger in use, and the page that opens without a signal in a real browser."""

from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from playwright.sync_api import Page, expect

from tests.support.opened import Opened, furnished, mixed, quantity

OFFLINE = "/device/offline"


def in_use(folder: Path) -> Opened:
    """
    Return a ledger with a good bath, a stopped one, an empty tub and a recipe.

    made, besides what `furnished` made: bath, stopped, empty, recipe.
    """
    house = furnished(folder)
    made = house.made
    made["bath"] = mixed(house)
    house.say(
        "sheets.through",
        "kahu",
        bath=made["bath"],
        sheet_count="60",
        sheet_format="half",
        method="dip",
        lot=made["parcel"],
    )
    low = _tub(house, "low tub", 2)
    made["empty"] = _tub(house, "small tub", 3)
    made["stopped"] = mixed(house, name="R-A2", vessel=low, water=quantity(8, "l"))
    house.say("bath.stopped", "oluwaseun", bath=made["stopped"], reason="looks_wrong")
    made["recipe"] = house.say(
        "recipe.published",
        name="the old card",
        dose="8 tbsp per gallon",
        amount=quantity(8, "us_tbsp"),
        per=quantity(1, "us_gallon"),
        salt="aluminium_sulfate_14",
    )
    return house


def with_size(house: Opened) -> str:
    """Mix a size in a tray of its own, two days ago; its sheets may be laid now."""
    made = house.made
    made["moss"] = house.say(
        "lot.received",
        studio=made["studio"],
        what="carrageenan",
        name="CG-07",
        carrageenan="lambda",
        weight=quantity(1, "kg"),
    )
    made["tray"] = _tub(house, "half tray", 9)
    made["size"] = house.say(
        "bath.mixed",
        name="R-S1",
        what="size",
        studio=made["studio"],
        vessel=made["tray"],
        water=quantity(9, "l"),
        powder=[
            {"powder": "carrageenan", "lot": made["moss"], "amount": quantity(45, "g")},
        ],
    )
    house.later(days=2)
    return made["size"]


def with_old(house: Opened) -> str:
    """Finish R-A3, 5.80 L with 232 g of aluminium sulfate 14-hydrate, two days ago."""
    made = house.made
    tub = _tub(house, "old tub", 8)
    salt = [{"lot": made["alum"], "amount": quantity(232, "g")}]
    water = quantity("5.8", "l")
    made["old"] = mixed(house, name="R-A3", vessel=tub, water=water, salt=salt)
    house.say("bath.finished", bath=made["old"], reason="too_weak")
    house.later(days=2)
    return made["old"]


def _tub(house: Opened, name: str, place: int) -> str:
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name=name,
        brim=quantity(10, "l"),
        lidded="no",
        place=str(place),
    )


def open_page(page: Page, client: FlaskClient, fragment: str = "") -> Page:
    """Open the device's page with its cookie; wait until the script has shown it."""
    cookie = client.get_cookie("coop-device", path="/device/")
    assert cookie is not None
    page.context.add_cookies(
        [
            {
                "name": "coop-device",
                "value": cookie.value,
                "domain": "127.0.0.1",
                "path": "/device/",
                "httpOnly": True,
                "sameSite": "Strict",
            }
        ]
    )
    answer = page.goto(OFFLINE + fragment)
    assert answer is not None
    assert answer.status == 200
    expect(page.locator("main[data-device]")).to_be_visible()
    return page


def body_of(page: Page, form: str, typed: dict[str, Any]) -> dict[str, Any]:
    """Type into a form of the page as it stands open; give its fields and what it says."""
    said: dict[str, Any] = page.evaluate(
        """([id, typed]) => {
            const form = document.getElementById(id);
            for (const [name, value] of Object.entries(typed)) {
                for (const field of form.elements) {
                    if (field.name !== name) continue;
                    if (field.type === "radio") field.checked = field.value === value;
                    else field.value = value;
                }
            }
            form.dispatchEvent(new Event("input", { bubbles: true }));
            const fields = [...new FormData(form)];
            try { return { fields, ...coop.body(form) } }
            catch (slip) {
                return { fields, field: slip.field, code: slip.code, limits: slip.limits }
            }
        }""",
        [form, typed],
    )
    return said
