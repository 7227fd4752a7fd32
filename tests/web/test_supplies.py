"""Supplies: what the house says of each, in the unit of its measure, and what was learned."""

import re
from typing import Any

import pytest

from coop.actions.write import Written
from coop.ledger.schema import Refused
from tests.support.forms import Typed, form_of, forms_of, send
from tests.support.opened import Opened, quantity
from tests.web.test_matrix import UNKNOWN_ID

CARRAGEENAN = "/supplies/powder:carrageenan"


def described(house: Opened, what: str, **more: Any) -> str:
    """Describe a supply that is no salt, powder or paper; return its key."""
    return f"supply:{house.say('supply.described', what=what, **more)}"


def facts_of(house: Opened, there: str, who: str = "kahu") -> str:
    page: str = house.client(who).get(there).text
    return page


# The list.


def test_the_list_holds_what_came_in_and_what_was_described(house: Opened) -> None:
    """Alum and paper are there since they came in; gloves since somebody described them."""
    described(house, "gloves", name="nitrile gloves, M", measure="pieces")
    page = facts_of(house, "/supplies")

    for name in ("aluminium sulfate", "P-31", "nitrile gloves, M"):
        assert f">{name}</a></h2>" in page
    assert "carrageenan" not in page
    assert page.index("aluminium sulfate") < page.index("P-31") < page.index("nitrile")


def test_each_says_what_the_house_says_of_it(house: Opened) -> None:
    by = house.say("supplier.described", name="Kettle and Rye", days_to_arrive="12")
    house.say(
        "supply.described",
        what="carrageenan",
        floor=quantity(150, "g"),
        pack=quantity(454, "g"),
        review_days="3",
        sealed_days="1460",
        opened_days="365",
        count_days="30",
        sold_by=by,
        ordered="no",
    )
    page = facts_of(house, "/supplies")

    for told in ("150 g", "454 g", "12 days", "3 days", "4 years", "1 year", "30 days",
                 "Kettle and Rye", "not on the order list"):  # fmt: skip
        assert f"<dd>{told}</dd>" in page, told


def test_days_to_arrive_are_learned_from_orders(house: Opened) -> None:
    """Three orders took 7, 8 and 9 days: that is said before what was written."""
    house.say("supply.described", what="carrageenan", days_to_arrive="14")
    for took_days in (7, 8, 9):
        order = house.say("order.placed", what="carrageenan", packs="1")
        house.later(days=took_days)
        house.say("lot.received", studio=house.made["studio"], what="carrageenan", name="K",
                  weight=quantity(454, "g"), order=order)  # fmt: skip
    page = facts_of(house, CARRAGEENAN)
    form = facts_of(house, f"{CARRAGEENAN}/describe", "amina")

    assert "8 days, learned from 3 orders (written: 14 days)" in page
    assert "What its orders took counts before what is written: 8 days." in form


def test_an_empty_list_says_so(bare: Opened) -> None:
    assert "Nothing has come in" in bare.client("kahu").get("/supplies").text


# One supply.


def test_its_page_shows_what_stands_on_the_shelf(house: Opened) -> None:
    page = facts_of(house, "/supplies/salt:aluminium_sulfate_14")

    assert f'<a href="/lots/{house.made["alum"]}"><b>AS-24</b></a>: <b>5000 g</b>' in page
    assert "Keeping alum" in page
    assert "/shelf/receive/alum?supply=salt:aluminium_sulfate_14" in page
    assert "/orders/place?supply=salt:aluminium_sulfate_14" in page


def test_a_powder_has_a_page_before_any_of_it_came(house: Opened) -> None:
    """Whoever wants to order it for the first time finds it under its name."""
    page = facts_of(house, CARRAGEENAN)

    assert "None of it." in page
    assert "Nobody has said yet" in page
    assert "/shelf/receive/powder?supply=powder:carrageenan" in page


@pytest.mark.parametrize("key", ["salt:table", "powder:soup", f"paper:{UNKNOWN_ID}", "supply:",
                                 f"supply:{UNKNOWN_ID}", "soup"])  # fmt: skip
def test_what_is_no_supply_is_not_found(house: Opened, key: str) -> None:
    client = house.client("amina")

    assert client.get(f"/supplies/{key}").status_code == 404
    assert client.get(f"/supplies/{key}/describe").status_code == 404


# Describing.


def test_a_floor_and_a_pack_are_written_in_its_unit(house: Opened) -> None:
    """150 g of carrageenan are always there, and it is sold by 454 g."""
    client, there = house.client("amina"), f"{CARRAGEENAN}/describe"
    said: Typed = {
        "floor.typed": "150",
        "floor.unit": "g",
        "pack.typed": "1",
        "pack.unit": "lb",
    }
    answer = send(client, there, said)
    state = house.state("supply", "powder:carrageenan")

    assert answer.headers["Location"] == CARRAGEENAN
    assert (state.floor, state.pack) == (150_000_000, 453_592_370)
    assert (state.days_to_arrive, state.ordered) == (None, True)
    fields = form_of(client.get(there).text).fields
    assert (fields["pack.typed"], fields["pack.unit"]) == (["1"], ["lb"])


def test_paper_is_counted_in_full_sheets(house: Opened) -> None:
    client, there = house.client("amina"), f"/supplies/paper:{house.made['paper']}"
    answer = send(client, f"{there}/describe", {"floor_count": "200", "pack_count": "480"})

    assert answer.status_code == 303
    page = client.get(there).text
    assert "<dd>200 full sheets</dd>" in page
    assert "<dd>480 full sheets</dd>" in page


def test_gall_may_be_written_in_millilitres(house: Opened) -> None:
    client, there = house.client("amina"), "/supplies/powder:gall"
    said: Typed = {"floor.typed": "100", "floor.unit": "ml"}

    assert send(client, f"{there}/describe", said).status_code == 303
    assert "<dd>100 mL</dd>" in client.get(there).text


def test_a_new_supply_is_named_and_then_described(house: Opened) -> None:
    """Its measure is said first: by it the rest is asked, and every lot is kept."""
    client = house.client("amina")
    first = send(client, "/supplies/new",
                 {"what": "gloves", "name": "gloves, M", "measure": "pieces"})  # fmt: skip
    there = first.headers["Location"]
    second = send(client, there, {"floor_count": "50", "pack_count": "100"})
    page = client.get(second.headers["Location"]).text

    assert there.endswith("/describe")
    assert "<dd>50 pieces</dd>" in page
    assert "gloves, M" in page


def test_a_described_supply_is_renamed_and_stays_what_it_is(house: Opened) -> None:
    key = described(house, "water", name="rain water", measure="volume")
    client = house.client("amina")
    said: Typed = {"name": "distilled water", "floor.typed": "2", "floor.unit": "l"}

    assert send(client, f"/supplies/{key}/describe", said).status_code == 303
    state = house.state("supply", key)
    assert (state.name, state.what, state.floor) == ("distilled water", "water", 2_000_000)
    assert "<dd>2.0 L</dd>" in client.get(f"/supplies/{key}").text


def test_the_page_of_new_ones_leads_to_those_with_a_name_already(house: Opened) -> None:
    """Nobody describes carrageenan a second time under 'something else'."""
    page = facts_of(house, "/supplies/new", "amina")

    assert f'<a href="{CARRAGEENAN}">carrageenan</a>' in page
    assert '/supplies/salt:aluminium_sulfate_14"' not in page


@pytest.mark.parametrize(
    ("there", "said", "told"),
    [
        (f"{CARRAGEENAN}/describe", {"floor.typed": "some", "floor.unit": "g"},
         "At least so much on the shelf: A number, please"),
        (f"{CARRAGEENAN}/describe", {"days_to_arrive": "400"},
         "Days to arrive: From 0 to 365, please."),
        (f"{CARRAGEENAN}/describe", {"sealed_days": "0"}, "Keeps sealed: From 1 to 36500"),
        ("/supplies/new", {"what": "gloves", "name": "", "measure": "pieces"},
         "Name: This is needed."),
        ("/supplies/new", {"what": "gloves", "name": "gloves"}, "It is kept: This is needed."),
        ("/supplies/new", {"what": "carrageenan", "name": "moss", "measure": "weight"},
         "What it is: "),
    ],
)  # fmt: skip
def test_a_slip_is_told_and_what_was_typed_stays(
    house: Opened, there: str, said: Typed, told: str
) -> None:
    answer = send(house.client("amina"), there, said)

    assert answer.status_code == 422
    assert told in answer.text


def test_a_colour_declares_the_metals_of_its_pigment(house: Opened) -> None:
    """Without a script, row by row; what is left empty says nothing."""
    client = house.client("amina")
    key = described(house, "colour", name="night blue", measure="volume")
    typed: Typed = {
        "metals.1.metal": "cobalt",
        "metals.1.mg_per_ml": "12,5",
        "metals.4.metal": "zinc",
        "metals.4.mg_per_ml": "100/3",
        "sulfide": "yes",
    }
    answer = send(client, f"/supplies/{key}/describe", typed)
    page = facts_of(house, f"/supplies/{key}")

    assert answer.status_code == 303, answer.text
    state = house.state("supply", key)
    assert state.metals == (("cobalt", 12.5), ("zinc", pytest.approx(100 / 3)))
    assert state.sulfide
    assert "<dd>Cobalt at most 12.5 mg/mL, Zinc at most 33.33 mg/mL</dd>" in page
    assert "<dd>gives off hydrogen sulfide, a poisonous gas</dd>" in page
    shown = form_of(facts_of(house, f"/supplies/{key}/describe", "amina")).fields
    assert (shown["metals.0.metal"], shown["metals.0.mg_per_ml"]) == (["cobalt"], ["12.5"])
    assert (shown["metals.1.metal"], shown["metals.1.mg_per_ml"]) == (["zinc"], ["100/3"])
    assert shown["sulfide"] == ["yes"]


@pytest.mark.parametrize(
    ("wrong", "field", "told"),
    [
        ({"metals.3.metal": "lead"}, "metals.3.mg_per_ml", "This is needed."),
        ({"metals.3.mg_per_ml": "5"}, "metals.3.metal", "This is needed."),
        ({"metals.3.metal": "lead", "metals.3.mg_per_ml": "5001"}, "metals.3.mg_per_ml",
         "From 0 to 5000, please."),
        ({"metals.3.metal": "lead", "metals.3.mg_per_ml": "much"}, "metals.3.mg_per_ml",
         "A number, please"),
    ],
)  # fmt: skip
def test_a_slip_about_a_metal_is_told_in_its_own_row(
    house: Opened, wrong: Typed, field: str, told: str
) -> None:
    """The rows before it are empty: the body knows only one metal, the page six."""
    key = described(house, "colour", name="night blue", measure="pieces")
    answer = send(house.client("amina"), f"/supplies/{key}/describe", wrong)

    assert answer.status_code == 422
    told_there = re.search(rf'id="{re.escape(field)}-error">(.*?)</p>', answer.text, re.DOTALL)
    assert told_there
    assert told in told_there[1]
    kept = form_of(answer.text).fields
    assert all(kept[name] == [value] for name, value in wrong.items())


def test_only_colours_are_asked_for_metals(house: Opened) -> None:
    key = described(house, "soda", name="washing soda", measure="weight")

    assert "metals.0.metal" not in facts_of(house, f"/supplies/{key}/describe", "amina")


def test_two_coordinators_do_not_write_over_one_another(house: Opened) -> None:
    """The second sees that somebody changed it meanwhile, with all they typed."""
    client, there = house.client("amina"), f"{CARRAGEENAN}/describe"
    form = form_of(client.get(there).text)
    house.say("supply.described", what="carrageenan", floor=quantity(100, "g"))
    answer = client.post(there, data={**form.fields, "days_to_arrive": "9"})

    assert answer.status_code == 422
    assert "Somebody else changed this meanwhile" in answer.text
    assert 'value="9"' in answer.text


def test_members_read_and_do_not_describe(house: Opened) -> None:
    client = house.client("kahu")

    assert "/describe" not in client.get(CARRAGEENAN).text
    assert "/supplies/new" not in client.get("/supplies").text
    assert client.get(f"{CARRAGEENAN}/describe").status_code == 403
    assert client.get("/supplies/new").status_code == 403
    assert house.client().get("/supplies").status_code == 302


# What the ledger itself keeps to.


def test_a_supply_stays_in_its_measure(house: Opened) -> None:
    """Its lots are kept in millilitres: in grams they would be other amounts."""
    key = described(house, "water", name="rain water", measure="volume")
    again: dict[str, Any] = {
        "what": "water",
        "name": "rain water",
        "supply": key.partition(":")[2],
    }

    assert isinstance(house.try_say("supply.described", **again, measure="volume"), Written)
    assert house.try_say("supply.described", **again, measure="weight") == Refused(
        field="measure", code="not-of-this-measure"
    )
    other = again | {"what": "bleach"}
    assert house.try_say("supply.described", **other, measure="volume") == Refused(
        field="what", code="not-a-choice"
    )


@pytest.mark.parametrize(
    ("measure", "said", "field"),
    [
        ("weight", {"floor": quantity(2, "l")}, "floor"),
        ("weight", {"floor": quantity(2, "us_tbsp")}, "floor"),
        ("weight", {"pack_count": "3"}, "pack_count"),
        ("weight", {"floor_count": "3"}, "floor_count"),
        ("volume", {"pack": quantity(2, "kg")}, "pack"),
        ("pieces", {"pack": quantity(2, "kg")}, "pack"),
    ],
)
def test_a_floor_and_a_pack_are_of_its_measure(
    house: Opened, measure: str, said: dict[str, Any], field: str
) -> None:
    """Two litres of what is weighed would be kept as two grams."""
    outcome = house.try_say(
        "supply.described", what="soda", name="soda", measure=measure, **said
    )

    assert outcome == Refused(field=field, code="not-of-this-measure")


# Suppliers.


def test_a_supplier_is_described_and_changed(house: Opened) -> None:
    client = house.client("amina")
    said: Typed = {"name": "Kettle and Rye", "order_by": "by post", "ream_sheets": "480",
            "days_to_arrive": "8"}  # fmt: skip

    assert send(client, "/suppliers/new", said).headers["Location"] == "/suppliers"
    page = client.get("/suppliers").text
    for told in ("by post", "480 full sheets", "8 days"):
        assert f"<dd>{told}</dd>" in page
    with house.desk() as desk:
        (state,) = desk.journal.listed("supplier")
    there = f"/suppliers/{state.id}"
    assert send(client, there, {"in_use": "no"}).status_code == 303
    assert "not any more" in client.get("/suppliers").text
    with house.desk() as desk:
        assert desk.journal.listed("supplier") == ()


def test_a_supply_keeps_a_supplier_that_is_not_in_use_any_more(house: Opened) -> None:
    """Else changing its floor would want another supplier first."""
    by = house.say("supplier.described", name="Kettle and Rye")
    house.say("supply.described", what="carrageenan", sold_by=by)
    house.say("supplier.described", name="Kettle and Rye", supplier=by, in_use="no")
    client, there = house.client("amina"), f"{CARRAGEENAN}/describe"

    assert send(client, there, {"review_days": "5"}).status_code == 303
    assert house.state("supply", "powder:carrageenan").sold_by == by


def test_a_suppliers_slips_are_told(house: Opened) -> None:
    client = house.client("amina")
    answer = send(client, "/suppliers/new", {"name": "", "ream_sheets": "many"})

    assert answer.status_code == 422
    assert "Name: This is needed." in answer.text
    assert client.get(f"/suppliers/{UNKNOWN_ID}").status_code == 404
    assert client.post("/suppliers").status_code == 405


def test_members_read_suppliers_and_do_not_describe_them(house: Opened) -> None:
    house.say("supplier.described", name="Kettle and Rye", order_by="by post")
    client = house.client("kahu")
    page = client.get("/suppliers").text

    assert "by post" in page
    assert len(forms_of(page)) == len(forms_of(client.get("/shelf").text))
    assert "/suppliers/new" not in page
    assert client.get("/suppliers/new").status_code == 403
