"""The shelf as a table: what stands there, in units of its own, safe for a spreadsheet."""

import csv
from io import StringIO

from coop.actions.import_stock import COLUMNS
from coop.web.pages.stock_out import HEADING
from tests.support.opened import Opened, quantity


def rows(house: Opened) -> list[dict[str, str]]:
    text = house.client("kahu").get("/shelf.csv").get_data(as_text=True)
    return list(csv.DictReader(StringIO(text.removeprefix("\ufeff"), newline="")))


def test_every_lot_stands_in_it_with_what_is_left(house: Opened) -> None:
    house.say("lot.received", studio=house.made["studio"], what="carrageenan", name="=K-3",
              carrageenan="lambda", weight=quantity(454, "g"), pack_count="2",
              best_before="2027-06-30")  # fmt: skip

    found = {row["name"]: row for row in rows(house)}

    size = found["'=K-3"]
    assert (size["packs"], size["amount"], size["unit"], size["left"]) == (
        "2", "454", "g", "908",
    )  # fmt: skip
    assert (size["of"], size["best before"]) == ("lambda", "2027-06-30")
    assert found["AS-24"]["of"] == "aluminium_sulfate_14"


def test_half_sheets_and_halves_of_grams_are_not_rounded_away(house: Opened) -> None:
    house.say("lot.adjusted", lot=house.made["parcel"], way="out", count="0.5", cause="lost")
    house.say("lot.adjusted", lot=house.made["alum"], way="out", amount=quantity("0.25", "g"),
              cause="spoiled")  # fmt: skip

    left = [row["left"] for row in rows(house)]

    assert any(one.endswith(".5") for one in left)
    assert any(one.endswith(".75") for one in left)


def test_gall_stands_in_it_as_it_is_poured(house: Opened) -> None:
    """Half a litre came in: nobody has 507.21 g of it."""
    house.say("lot.received", studio=house.made["studio"], what="gall", name="G-1",
              volume=quantity(500, "ml"))  # fmt: skip

    (gall,) = (row for row in rows(house) if row["name"] == "G-1")
    assert (gall["amount"], gall["unit"], gall["left"]) == ("500", "mL", "500")


def test_a_supply_of_ones_own_is_named(house: Opened) -> None:
    made = house.say("supply.described", what="gloves", name="Gloves M", measure="pieces")
    house.say("lot.received", studio=house.made["studio"], what="supply", supply=made,
              name="box", piece_count="100")  # fmt: skip

    (box,) = (row for row in rows(house) if row["name"] == "box")
    assert (box["of"], box["left"], box["unit"]) == ("Gloves M", "100", "pieces")


def test_what_an_opening_stock_reads_has_the_same_headings() -> None:
    """What one co-operative takes out, another takes in."""
    assert set(HEADING) <= set(COLUMNS)
