"""Where what is in a bath came from and went: it adds up, and lots are named."""

import re
from typing import Any

import pytest

from tests.support.opened import Opened, mixed, quantity

MINUS = "\u2212"
CELLS = re.compile(r'<th scope="row">(.*?)</th>((?:<td.*?>.*?</td>\s*)+)', re.DOTALL)


@pytest.fixture
def tub(house: Opened) -> str:
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(600, "g"),
    )


@pytest.fixture
def tray(house: Opened) -> str:
    """An open tray: what stands in it dries up."""
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="full tray",
        inside_length=quantity(730, "mm"),
        inside_width=quantity(530, "mm"),
        brim=quantity(24, "l"),
        lidded="no",
        place="2",
    )


def size_of(house: Opened, tub: str, tray: str) -> str:
    return house.say(
        "bath.mixed",
        name="R-S1",
        what="size",
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(16, "l"),
        powder=[{"powder": "carrageenan", "lot": tub, "amount": quantity(80, "g")}],
    )


def rows(page: str) -> dict[str, list[float]]:
    went = page.split('id="went"')[1].split("</table>")[0]
    return {
        what: [
            float(one.replace(MINUS, "-"))
            for one in re.findall(rf">\s*({MINUS}?[\d.]+)\s*</td>", cells)
        ]
        for what, cells in CELLS.findall(went)
    }


def adds_up(found: dict[str, list[float]], column: int) -> float:
    """Return what the lines come to, less what is said to be left."""
    of = {what: cells[column] for what, cells in found.items()}
    gone = of["off with sheets"] + of["dried up"] + of["poured out"]
    return of["put in"] + of["unexplained by readings"] - gone - of["left"]


def use(house: Opened, size: str) -> None:
    """Lay sheets on it, thin it, read its level, pour some of it apart."""
    stack = house.say(
        "sheets.through",
        bath=mixed(house),
        sheet_count="10",
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
        reason="test_sheets",
    )
    house.later(hours=20)
    laid: dict[str, Any] = {"sheet_count": "8", "sheet_format": "half", "reason": "test_sheets"}
    house.say("sheets.through", size=size, stack=stack, **laid)
    house.say("bath.topped_up", bath=size, water=quantity(2, "l"))
    house.say("reading.taken", bath=size, instrument="dipstick", depth=quantity(40, "mm"))
    jar: dict[str, Any] = {
        "name": "jar",
        "brim": quantity(9, "l"),
        "lidded": "yes",
        "place": "3",
    }
    spare = house.say("vessel.described", studio=house.made["studio"], **jar)
    part: dict[str, Any] = {"name": "R-S2", "vessel": spare, "litres": quantity(3, "l")}
    house.say("bath.split", bath=size, parts=[part])
    house.later(hours=20)


def test_the_water_and_powder_of_a_size_add_up(house: Opened, tub: str, tray: str):
    """Laid on, dried up, thinned, poured apart, read: no litre and no gram is a blank."""
    size = size_of(house, tub, tray)
    use(house, size)
    page = house.client("kahu").get(f"/liquids/{size}").text
    found = rows(page)

    assert found["put in"] == [18, 80]
    assert found["poured out"][0] == 3
    assert all(found[what][0] > 0 for what in ("off with sheets", "dried up"))
    assert found["dried up"][1] == 0, "powder does not dry up"
    assert adds_up(found, 0) == pytest.approx(0, abs=1e-9), "as they are printed"
    assert adds_up(found, 1) == pytest.approx(0, abs=1e-9), "as they are printed"
    assert f'<b>80 g</b> <a href="/lots/{tub}">out of K-3</a>' in page


def test_what_is_poured_in_is_put_in(house: Opened, tub: str, tray: str):
    """Both baths say what went over: the one as put in, the other as poured out."""
    size = size_of(house, tub, tray)
    other = house.say(
        "bath.mixed",
        name="R-S2",
        what="size",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        water=quantity(8, "l"),
        powder=[{"powder": "carrageenan", "lot": tub, "amount": quantity(40, "g")}],
    )
    house.say("bath.joined", bath=size, giver=other, litres=quantity(2, "l"))
    client = house.client("kahu")
    taker, giver = (rows(client.get(f"/liquids/{one}").text) for one in (size, other))

    assert taker["put in"] == [18, 90]
    assert giver["poured out"] == [2, 10]
    assert giver["left"] == [6, 30]


def test_water_alone_has_no_column_of_powder(house: Opened, tray: str):
    rinse = house.say(
        "bath.mixed",
        name="R-R1",
        what="rinse",
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(10, "l"),
    )
    page = house.client("kahu").get(f"/liquids/{rinse}").text

    assert "Where its water went" in page
    assert rows(page)["put in"] == [10]


def test_a_bath_of_alum_names_the_lots_it_took(house: Opened):
    """480 g at the start and 20 g later are 500 g of one lot."""
    bath = mixed(house)
    house.later(minutes=1)
    house.say(
        "bath.topped_up",
        bath=bath,
        salt=[{"lot": house.made["alum"], "amount": quantity(20, "g")}],
    )
    page = house.client("kahu").get(f"/baths/{bath}").text

    assert f'<b>500 g</b> <a href="/lots/{house.made["alum"]}">out of AS-24</a>' in page
