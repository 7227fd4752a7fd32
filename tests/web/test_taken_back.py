"""What was taken back while something still names it breaks no page of the shelf."""

from collections.abc import Iterator
from datetime import timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from coop.actions.write import Written
from tests.support.enrolled import enrolled, over
from tests.support.opened import Kept, Opened, furnished, mixed, quantity, sized

PAGES = (
    "/",
    "/shelf",
    "/shelf.csv",
    "/orders",
    "/orders?show=all",
    "/orders.csv",
    "/supplies",
    "/sessions",
    "/sessions/new",
    "/sort-it-out",
    "/calendar",
)
OF_MOSS: dict[str, Any] = {"what": "carrageenan"}
OF_ONE = {
    "lot": ("/lots/{}", "/lots/{}/count", "/lots/{}/gap"),
    "order": ("/orders/{}",),
    "session": ("/sessions/{}",),
    "supplier": ("/suppliers/{}",),
    "supply": ("/supplies/supply:{}", "/orders/place?supply=supply:{}"),
}


def lived_in(folder: Path) -> Opened:
    """Open a ledger with all that stands on a shelf, each named by something else."""
    house = furnished(folder)
    stocked(house)
    carried_and_booked(house)
    house.later(hours=1)
    drawn_and_counted(house)
    house.later(hours=1)
    return house


def stocked(house: Opened) -> None:
    """Describe, order and receive carrageenan and gloves."""
    studio, made = house.made["studio"], house.made
    made["supplier"] = house.say("supplier.described", name="Supplier B", days_to_arrive="8")
    made["described"] = house.say(
        "supply.described", floor=quantity(150, "g"), sold_by=made["supplier"], **OF_MOSS
    )
    made["gloves"] = house.say(
        "supply.described", what="gloves", name="nitrile gloves", measure="pieces",
        floor_count="20",
    )  # fmt: skip
    made["box"] = house.say(
        "lot.received", studio=studio, name="box", piece_count="100", **of_gloves(house)
    )
    made["awaited"] = house.say("order.placed", packs="2", pack_count="100", **of_gloves(house))
    made["placed"] = house.say("order.placed", packs="2", pack=quantity(454, "g"), **OF_MOSS)
    made["moss"] = house.say(
        "lot.received", studio=studio, name="K-3", weight=quantity(454, "g"),
        order=made["placed"], **OF_MOSS,
    )  # fmt: skip
    made["opening"] = house.say("lot.opened", lot=made["moss"])


def of_gloves(house: Opened) -> dict[str, Any]:
    return {"what": "supply", "supply": house.made["gloves"]}


def carried_and_booked(house: Opened) -> None:
    """Carry a part to another studio, and book a class that takes of all."""
    made = house.made
    made["barn"] = house.say(
        "studio.described", name="Tannery", letter="T", drain="sewer", emergency="112",
        poison="0555 0100",
    )  # fmt: skip
    made["part"] = house.say(
        "lot.moved", lot=made["moss"], studio=made["barn"], amount=quantity(50, "g")
    )
    needs = [{"amount": quantity(90, "g"), **OF_MOSS}, {"count": "16", **of_gloves(house)}]
    made["class"] = house.say(
        "session.planned", studio=made["studio"], name="Saturday class",
        starts=(house.moment + timedelta(days=3)).isoformat(), head_count="8", under_16="no",
        needs=needs,
    )  # fmt: skip
    made["asked"] = house.say(
        "permission.recorded", studio=made["studio"], about="alum_bath",
        asked="The waterworks", asked_on="2025-09-10", answer="yes",
    )  # fmt: skip


def drawn_and_counted(house: Opened) -> None:
    """Make a size and a bath, weigh a spoon, count, and put one count right."""
    made = house.made
    part = {"powder": "carrageenan", "lot": made["moss"], "amount": quantity(45, "g")}
    made["size"] = sized(house, powder=[part], session=made["class"])
    made["bath"] = mixed(house)
    made["spoon"] = house.say(
        "lot.spoon_weighed", lot=made["moss"], spoon_count="10", spoon="us_tbsp",
        weight=quantity(90, "g"),
    )  # fmt: skip
    made["count"] = house.say("lot.counted", lot=made["moss"], weight=quantity(250, "g"))
    made["righted"] = house.say(
        "lot.adjusted", lot=made["moss"], way="out", amount=quantity(109, "g"), cause="class",
        counted=made["count"],
    )  # fmt: skip
    made["boxes"] = house.say("lot.counted", lot=made["box"], packs="0", loose="80")


@cache
def kept() -> Kept:
    with TemporaryDirectory(prefix="coop-lived-in-") as folder:
        return Kept.of(lived_in(Path(folder)))


def pages_of(house: Opened) -> Iterator[str]:
    yield from PAGES
    for sort, name in (
        ("lot", "moss"),
        ("lot", "part"),
        ("lot", "box"),
        ("order", "placed"),
        ("order", "awaited"),
        ("session", "class"),
        ("supplier", "supplier"),
        ("supply", "gloves"),
    ):
        yield from (there.format(house.made[name]) for there in OF_ONE[sort])


def broken(house: Opened) -> list[tuple[str, int]]:
    """Return the pages that neither show nor say that what they are of is not there."""
    client = house.client("amina")
    answers = [(there, client.get(there).status_code) for there in pages_of(house)]
    return [(there, status) for there, status in answers if status not in (200, 303, 404)]


def test_a_shelf_with_all_kinds_of_things_shows_every_page(tmp_path: Path) -> None:
    house = kept().at(tmp_path)

    assert broken(house) == []
    assert house.client("amina").get("/shelf").status_code == 200


@pytest.mark.parametrize(
    "name",
    [
        "studio", "barn", "paper", "alum", "parcel", "supplier", "described", "gloves", "box",
        "awaited", "placed", "moss", "opening", "part", "class", "size", "bath", "spoon",
        "count", "righted", "boxes", "asked",
    ],
)  # fmt: skip
def test_whatever_is_taken_back_no_page_breaks(tmp_path: Path, name: str) -> None:
    """A slip is taken back at any time, and others have built on it by then."""
    house = kept().at(tmp_path)
    outcome = house.try_say(
        "entry.corrected", target=house.made[name], outcome="void", reason="typing_slip"
    )

    assert isinstance(outcome, Written)
    assert broken(house) == []


def test_a_supply_whose_description_was_taken_back_is_said_not_to_be_described(
    tmp_path: Path,
) -> None:
    """A box of it stands there: it is counted and ordered all the same."""
    house = kept().at(tmp_path)
    gloves = house.made["gloves"]
    house.say("entry.corrected", target=gloves, outcome="void", reason="typing_slip")

    for there in ("/orders", "/supplies"):
        assert "a supply nobody described" in house.client("amina").get(there).text


def test_a_lot_of_an_unknown_supply_from_a_phone_breaks_no_page(tmp_path: Path) -> None:
    """A phone may send the box before anybody sent what it is of."""
    house = kept().at(tmp_path)
    phone, client = enrolled(house, "kahu")
    lot = phone.write(
        "lot.received", now=house.moment, studio=house.made["studio"], what="supply",
        supply=house.new_id(), name="another box", piece_count="10",
    )  # fmt: skip
    phone.push(over(client), now=house.moment)

    assert phone.state(lot) == "studio"
    assert broken(house) == []
    assert "a supply nobody described" in house.client("kahu").get("/supplies").text
