"""Receiving: packs as they were bought, what an order still brings, what stands beside it."""

from typing import Any

import pytest

from tests.support.forms import Typed, form_of, send, send_again
from tests.support.opened import Opened, post, quantity
from tests.web.test_matrix import UNKNOWN_ID

PACK_G = 454  # the avoirdupois pound, 453.592 37 g (NIST SP 811, appendix B), as packs say it


def lot_named(house: Opened, name: str) -> Any:
    with house.desk() as desk:
        return next(one for one in desk.journal.listed("lot") if one.name == name)


def supplier(house: Opened, **more: str) -> str:
    said: dict[str, Any] = {"name": "Kettle and Rye"}
    return house.say("supplier.described", **(said | more))


def supply(house: Opened, what: str, measure: str, name: str, **more: Any) -> str:
    """Describe a supply that is no salt, powder or paper; return its key."""
    made = house.say("supply.described", what=what, measure=measure, name=name, **more)
    return f"supply:{made}"


def order(house: Opened, **said: Any) -> str:
    usual = {"what": "carrageenan", "packs": "2", "pack": quantity(PACK_G, "g")}
    return house.say("order.placed", **(usual | said))


def receive(house: Opened, there: str, who: str = "kahu", **typed: str) -> Any:
    fields = {"studio": house.made["studio"], "name": "lot"} | typed
    return post(house.client(who), f"/shelf/receive/{there}", **fields)


def grams(typed: str, unit: str = "g", **more: str) -> dict[str, str]:
    return {"weight.typed": typed, "weight.unit": unit, **more}


# Packs as they were bought.


def test_two_packs_of_a_powder_are_one_lot_of_both(house: Opened) -> None:
    """A pack of 454 g is what the supplier sells; the lot is what came in the parcel."""
    typed = grams("454", what="carrageenan", carrageenan="lambda", pack_count="2")

    assert receive(house, "powder", name="K-3", **typed).status_code == 303
    lot = lot_named(house, "K-3")
    assert (lot.pack_count, lot.pack, lot.received) == (2, 454_000_000, 908_000_000)


def test_two_reams_of_480_are_960_full_sheets(house: Opened) -> None:
    """Who counts a ream as 500 and gets 480 is 40 sheets short on two."""
    typed = {"paper": house.made["paper"], "pack_count": "2", "sheet_count": "480"}
    answer = receive(house, "paper", name="P-7", grain="long", **typed)
    lot = lot_named(house, "P-7")

    assert answer.status_code == 303
    assert (lot.received, lot.grain) == (960 * 4, "long")
    assert "960 full sheets" in house.client("kahu").get("/shelf").text


def read(house: Opened, there: str, **typed: str) -> str:
    client = house.client("kahu")
    said: str = post(client, f"/shelf/receive/{there}", f"/shelf/receive/{there}/read", **typed)
    return str(said.get_json()["figure"])  # type: ignore[attr-defined]  # a response


@pytest.mark.parametrize(
    ("there", "typed", "said"),
    [
        ("paper", {"pack_count": "2", "sheet_count": "480"},
         "2 of 480 full sheets: 960 full sheets in all."),
        ("alum", grams("2,5", "kg", pack_count="4"), "4 of 2.5 kg: 10 kg in all."),
        ("alum", grams("2,5", "kg", pack_count="1"), ""),
        ("alum", grams("", "kg", pack_count="4"), ""),
        ("alum", grams("2", "furlong", pack_count="4"), "4 of 2: 8 in all."),
        ("powder", grams("many", pack_count="4"), ""),
    ],
)  # fmt: skip
def test_what_all_packs_hold_is_said_back_while_it_is_typed(
    house: Opened, there: str, typed: dict[str, str], said: str
) -> None:
    """Packs times size is a sum that is easily done wrong with a parcel in hand."""
    assert read(house, there, **typed) == said


def test_the_total_stands_there_without_script_too(house: Opened) -> None:
    """After a slip the page comes back, and says what it understood."""
    typed = {"paper": house.made["paper"], "pack_count": "3", "sheet_count": "500"}
    answer = receive(house, "paper", name="", **typed)

    assert answer.status_code == 422
    assert "3 of 500 full sheets: 1500 full sheets in all." in answer.text


@pytest.mark.parametrize(
    ("typed", "sheets"),
    [("1 ream of 480", 480), ("2 quires of 24", 48), ("1 ream (516)", 516), ("500", 500)],
)
def test_reams_and_quires_that_say_what_they_hold_are_counted(
    house: Opened, typed: str, sheets: int
) -> None:
    """A printer's ream holds 516, one of old 480 (from memory); the lot counts quarters."""
    said: Typed = {"paper": house.made["paper"], "name": "P-9", "sheet_count": typed}
    answer = send(house.client("kahu"), "/shelf/receive/paper", said)

    assert answer.status_code == 303, answer.text
    assert lot_named(house, "P-9").received == 4 * sheets


@pytest.mark.parametrize(
    ("typed", "asked"), [("1 ream", "480 or 500 or 516"), ("2 quires", "24 or 25")]
)
def test_a_bare_ream_is_asked_how_many_it_holds(house: Opened, typed: str, asked: str) -> None:
    said: Typed = {"paper": house.made["paper"], "name": "P-9", "sheet_count": typed}
    answer = send(house.client("kahu"), "/shelf/receive/paper", said)

    assert answer.status_code == 422
    assert f"“{typed}”: of how many sheets, {asked}?" in answer.text
    assert form_of(answer.text).fields["sheet_count"] == [typed]


def test_a_supplier_says_how_many_sheets_are_in_its_ream(house: Opened) -> None:
    supplier(house, ream_sheets="516")
    page = house.client("kahu").get("/shelf/receive/paper").text

    assert "A ream of Kettle and Rye holds 516 full sheets." in page
    for sheets in ("480", "500", "516"):
        assert f'data-fill="{sheets}"' in page


def test_gall_is_received_by_the_bottle_too(house: Opened) -> None:
    """It is a liquid: 250 mL stands on the bottle, and 250 g is another thing."""
    poured = {"what": "gall", "weight.typed": "250", "weight.unit": "ml"}

    assert receive(house, "powder", name="G-1", **poured).status_code == 303
    assert receive(house, "powder", name="G-2", **grams("250", what="gall")).status_code == 303
    assert lot_named(house, "G-1").received != lot_named(house, "G-2").received


def test_no_other_powder_comes_by_volume(house: Opened) -> None:
    typed = {"what": "starch", "weight.typed": "250", "weight.unit": "ml"}
    answer = receive(house, "powder", name="S-1", **typed)

    assert answer.status_code == 422
    assert "This unit does not fit here." in answer.text


def test_too_much_gall_is_told_where_it_was_typed(house: Opened) -> None:
    """The entry calls it volume; the page has one box for both."""
    poured = {"what": "gall", "weight.typed": "5000", "weight.unit": "l"}
    answer = receive(house, "powder", name="G-1", **poured)

    assert answer.status_code == 422
    assert "Each holds: " in answer.text


def test_a_softener_says_which_soda_it_is(house: Opened) -> None:
    """Crystals are more than half water: 2.7 times as much of them is weighed."""
    typed = grams("500", what="softener", soda="crystals")
    other = grams("500", what="starch", soda="crystals")

    assert receive(house, "powder", name="SO-1", **typed).status_code == 303
    assert receive(house, "powder", name="ST-1", **other).status_code == 303
    assert lot_named(house, "SO-1").soda == "crystals"
    assert lot_named(house, "ST-1").soda is None


def test_tare_label_and_life_once_opened_are_kept(house: Opened) -> None:
    typed = grams("454", what="carrageenan", carrageenan="lambda", best_before="2027-06-30",
                  opened_days="400") | {"tare.typed": "62", "tare.unit": "g"}  # fmt: skip

    assert receive(house, "powder", name="K-4", **typed).status_code == 303
    lot = lot_named(house, "K-4")
    assert (lot.tare_g, str(lot.best_before), lot.opened_days) == (62, "2027-06-30", 400)


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("pack_count", "0", "Packs: From 1 to 1000, please."),
        ("best_before", "soon", "Best before, as the label says: A day, please: 2026-11-25."),
        ("opened_days", "ever", "Keeps once opened: A whole number from 1 to 36500, please."),
        ("tare.typed", "light", "The empty tub weighs: A number, please"),
        ("sold_by", UNKNOWN_ID, "Supplier: "),
    ],
)
def test_a_slip_is_told_beside_its_field(
    house: Opened, field: str, typed: str, told: str
) -> None:
    """Nothing of it is written, and what was typed stays."""
    said = grams("454", what="starch") | {"tare.unit": "g", field: typed}
    answer = receive(house, "powder", name="K-5", **said)

    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="K-5"' in answer.text


def test_every_slip_is_told_at_once_and_what_would_be_right(house: Opened) -> None:
    """Whoever learns of one slip after the other sends the form five times."""
    typed = {"studio": "", "name": "", "what": "starch", "pack_count": "0",
             "weight.typed": "a lot", "weight.unit": "g", "best_before": "soon"}  # fmt: skip
    page = receive(house, "powder", **typed).text

    assert "5 things to put right" in page
    for told in (
        "Studio: Choose the studio that it came to.",
        "Name of the lot: Say what you write on it",
        "Packs: From 1 to 1000, please.",
        "Each holds: A number, please",
        "Best before, as the label says: A day, please",
    ):
        assert told in page
    assert "This field is required" not in page


@pytest.mark.parametrize(
    ("there", "told"),
    [
        ("alum", "Choose the salt that stands on the tub."),
        ("powder", "Choose the powder that came."),
        ("paper", "Say how many full sheets one of them holds"),
    ],
)
def test_what_is_left_open_says_what_would_be_right(
    house: Opened, there: str, told: str
) -> None:
    """A page that only says that something is needed has not said what."""
    page = receive(house, there).text

    assert told in page
    assert "This field is required" not in page


def test_a_softener_and_a_soda_must_say_which_soda_they_are(house: Opened) -> None:
    """By the crystals' weight anhydrous soda is almost three times too strong."""
    key = supply(house, "soda", "weight", "washing soda")
    silent = receive(house, "powder", name="SO-1", **grams("500", what="softener"))
    other = receive(house, f"supply?supply={key}", name="SO-2", **grams("500"))

    for page in (silent, other):
        assert page.status_code == 422
        assert "Choose the soda that stands on the jar." in page.text


def test_a_softener_may_be_no_soda(house: Opened) -> None:
    typed = grams("500", what="softener", soda="none")

    assert receive(house, "powder", name="SO-1", **typed).status_code == 303
    assert lot_named(house, "SO-1").soda is None


def test_which_soda_a_supply_is_said_once(house: Opened) -> None:
    """Its name may say it; else its last lot has said it."""
    crystals = supply(house, "soda", "weight", "Soda crystals, fine")
    washing = supply(house, "soda", "weight", "washing soda")
    client = house.client("kahu")

    def proposed(key: str) -> list[str]:
        page = client.get(f"/shelf/receive/supply?supply={key}").text
        return form_of(page).fields.get("soda", [])

    assert (proposed(crystals), proposed(washing)) == (["crystals"], [])
    typed = grams("1", "kg", soda="anhydrous")
    receive(house, f"supply?supply={washing}", name="W-1", **typed)
    assert proposed(washing) == ["anhydrous"]


# What it cost.


def priced(house: Opened, price: str, who: str = "teodor") -> Any:
    if "teodor" not in house.members:
        house.join("Teodor V.", "member", "treasurer")
    return receive(house, "powder", who, **grams("454", what="starch", name="S-9", price=price))


def test_the_treasurer_writes_what_it_cost_with_the_lot(house: Opened) -> None:
    """The bill lies in the parcel: nobody looks the lot up again for it."""
    assert priced(house, "31.78").status_code == 303
    assert str(lot_named(house, "S-9").price) == "31.78"
    assert 'name="price"' not in house.client("kahu").get("/shelf/receive/powder").text


def test_a_price_from_somebody_else_is_not_taken(house: Opened) -> None:
    assert priced(house, "31.78", "kahu").status_code == 303
    assert lot_named(house, "S-9").price is None


@pytest.mark.parametrize("price", ["12,345.678", "0.125"])
def test_a_price_is_not_rounded_in_silence(house: Opened, price: str) -> None:
    """And nothing of the lot is written either."""
    answer = priced(house, price)

    assert answer.status_code == 422
    assert "At most two decimals, please" in answer.text
    with house.desk() as desk:
        assert "S-9" not in {one.name for one in desk.journal.listed("lot")}


def test_sent_twice_the_lot_and_its_price_are_written_once(house: Opened) -> None:
    """A tap on a slow line, and another."""
    house.join("Teodor V.", "member", "treasurer")
    client, there = house.client("teodor"), "/shelf/receive/powder"
    form = form_of(client.get(there).text)
    typed = grams("454", what="starch", name="S-9", price="31.78")
    fields = form.fields | {"studio": [house.made["studio"]]}
    fields |= {name: [value] for name, value in typed.items()}

    for _ in range(2):
        assert client.post(there, data=fields).status_code == 303
    lot = lot_named(house, "S-9")
    page = client.get(f"/lots/{lot.id}").text

    assert str(lot.price) == "31.78"
    assert page.count("wrote the price of S-9") == 1


def test_a_lot_is_from_a_supplier_that_is_known_or_from_a_name(house: Opened) -> None:
    """A name typed before one was chosen from the list does not contradict it."""
    known = supplier(house)
    by_choice = grams("454", what="starch", sold_by=known, supplier="Someone")
    by_name = grams("454", what="starch", supplier="Someone")

    assert receive(house, "powder", name="S-1", **by_choice).status_code == 303
    assert receive(house, "powder", name="S-2", **by_name).status_code == 303
    chosen, named = lot_named(house, "S-1"), lot_named(house, "S-2")
    assert (chosen.sold_by, chosen.supplier) == (known, "")
    assert (named.sold_by, named.supplier) == (None, "Someone")


# Other supplies.


@pytest.mark.parametrize(
    ("what", "measure", "typed", "received"),
    [
        ("soda", "weight", grams("1", "kg", soda="crystals"), 1_000_000_000),
        ("lime", "weight", grams("25", "kg"), 25_000_000_000),
        ("water", "volume", {"volume.typed": "5", "volume.unit": "l", "pack_count": "2"},
         10_000_000),
        ("gloves", "pieces", {"piece_count": "100", "pack_count": "3"}, 300),
    ],
)  # fmt: skip
def test_what_else_stands_on_the_shelf_is_received_by_its_measure(
    house: Opened, what: str, measure: str, typed: dict[str, str], received: int
) -> None:
    """Soda by weight, distilled water by volume, gloves by the box of a hundred."""
    key = supply(house, what, measure, "the usual one")

    assert receive(house, f"supply?supply={key}", name="X-1", **typed).status_code == 303
    lot = lot_named(house, "X-1")
    assert (lot.substance, lot.measure, lot.received) == (key, measure, received)


def test_which_supply_came_in_is_asked_first(house: Opened) -> None:
    """Its measure decides what is asked, and what it is decides what to take care of."""
    client = house.client("kahu")
    assert "is described yet" in client.get("/shelf/receive/supply").text
    key = supply(house, "gloves", "pieces", "nitrile gloves, M")
    page = client.get("/shelf/receive/supply").text

    assert "nitrile gloves, M" in page
    assert f"/shelf/receive/supply?supply={key}" in page
    assert "/supplies/new" not in page
    assert "/supplies/new" in house.client("amina").get("/shelf/receive/supply").text


def test_what_must_stand_apart_is_said_before_it_is_put_on_the_shelf(house: Opened) -> None:
    """Alum stands there: bleach beside it gives off chlorine, soda foams."""
    bleach = supply(house, "bleach", "volume", "bleach")
    soda = supply(house, "soda", "weight", "washing soda")
    client = house.client("kahu")
    page = client.get(f"/shelf/receive/supply?supply={bleach}").text

    assert "Alum and bleach stand in different rooms" in page
    assert "the vapour burns eyes and lungs" in page
    assert "Alum stands apart from soda and softener" not in page
    assert "Alum stands apart from soda and softener" in (
        client.get(f"/shelf/receive/supply?supply={soda}").text
    )
    assert "Alum stands apart from soda" not in client.get("/shelf/receive/alum").text


def test_paper_and_gloves_have_no_safety_card(house: Opened) -> None:
    """A card on everything is read on nothing."""
    key = supply(house, "gloves", "pieces", "gloves")
    client = house.client("kahu")

    for there in ("paper", f"supply?supply={key}"):
        page = client.get(f"/shelf/receive/{there}").text
        assert "Keeping" in page
        assert "in the eye" not in page.lower()


def test_only_what_is_in_hand_is_cautioned_of(house: Opened) -> None:
    """Goggles for soda on a tub of carrageenan, and soon nobody reads any of it."""
    client = house.client("kahu")

    def told(what: str) -> str:
        return client.get(f"/shelf/receive/powder?supply=powder:{what}").text

    assert "dust mask on" in told("carrageenan")
    assert "Gall: gloves and goggles" not in told("carrageenan")
    assert "burns eyes and skin" not in told("carrageenan")
    assert "Gall: gloves and goggles" in told("gall")
    assert "dust mask on" not in told("gall")
    assert "burns eyes and skin" in told("softener")
    any_powder = client.get("/shelf/receive/powder").text
    assert (
        'data-beside="what=gall"><aside class="caution" aria-label="Take care with gall"'
        in (any_powder.replace("\n", "").replace("  ", ""))
    )


def test_how_long_it_keeps_is_said_as_the_house_says_it(house: Opened) -> None:
    """Four years sealed and one once opened are usual; the house may know better."""
    client = house.client("kahu")
    there = "/shelf/receive/powder?supply=powder:carrageenan"
    usual = client.get(there).text
    house.say("supply.described", what="carrageenan", sealed_days="700")
    own = client.get(there).text

    assert "It keeps 4 years sealed and 1 year once opened" in usual
    assert "It keeps 700 days sealed and 1 year once opened" in own


# Orders that arrive.


def test_an_order_fills_in_what_is_still_to_come(house: Opened) -> None:
    """Whoever opens the parcel types a name and a type, and nothing twice."""
    by = supplier(house)
    made = order(house, sold_by=by)
    page = house.client("kahu").get(f"/shelf/receive/powder?order={made}").text
    fields = form_of(page).fields

    assert "2 packs of 2 are still to come" in page
    assert fields["what"] == ["carrageenan"]
    assert fields["pack_count"] == ["2"]
    assert (fields["weight.typed"], fields["weight.unit"]) == (["454"], ["g"])
    assert fields["sold_by"] == [by]


def test_an_order_arrives_in_parts(house: Opened) -> None:
    """One tub came, the other is still to come; the second lot closes the order."""
    made = order(house)
    client, there = house.client("kahu"), f"/shelf/receive/powder?order={made}"
    first = send(client, there, {"name": "K-3", "carrageenan": "lambda", "pack_count": "1"})
    after = client.get("/shelf").text

    assert first.status_code == 303
    assert "1 pack of the order is still to come." in after
    assert form_of(client.get(there).text).fields["pack_count"] == ["1"]
    assert send(client, there, {"name": "K-4", "carrageenan": "lambda"}).status_code == 303
    assert house.state("order", made).open_packs == 0
    assert "still to come" not in client.get("/shelf").text


def test_an_order_of_something_else_has_its_own_page(house: Opened) -> None:
    """A link with the wrong kind in it still leads to the right form."""
    made = order(house, what="alum", salt="potash_alum")
    answer = house.client("kahu").get(f"/shelf/receive/paper?order={made}")

    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/shelf/receive/alum?order={made}"


def test_a_powder_by_its_name_has_the_form_of_powders(house: Opened) -> None:
    made = order(house)
    client = house.client("kahu")
    plain, arriving = (
        client.get(f"/shelf/receive/carrageenan{query}") for query in ("", f"?order={made}")
    )

    there = "/shelf/receive/powder?supply=powder:carrageenan"
    assert plain.headers["Location"] == there
    assert arriving.headers["Location"] == f"/shelf/receive/powder?order={made}"


def test_what_was_ordered_is_what_arrives(house: Opened) -> None:
    """A lot of another salt is received by itself; the order is not closed by it."""
    made = order(house, what="alum", salt="potash_alum", pack=quantity(1, "kg"))
    typed = grams("1", "kg", salt="ammonium_alum")
    answer = receive(house, f"alum?order={made}", **typed)

    assert answer.status_code == 422
    assert house.state("order", made).open_packs == 2


def test_an_order_of_a_described_supply_is_received_by_its_measure(house: Opened) -> None:
    key = supply(house, "gloves", "pieces", "gloves", pack_count="100")
    made = house.say("order.placed", what="supply", supply=key.partition(":")[2], packs="3")
    page = house.client("kahu").get(f"/shelf/receive/supply?order={made}").text
    fields = form_of(page).fields

    assert (fields["pack_count"], fields["piece_count"]) == (["3"], ["100"])


def test_a_ream_is_proposed_as_the_supplier_sells_it(house: Opened) -> None:
    """What the order says of a pack goes before what the supplier usually puts in one."""
    by = supplier(house, ream_sheets="480")
    paper: dict[str, Any] = {
        "what": "paper",
        "paper": house.made["paper"],
        "packs": "2",
        "sold_by": by,
    }
    plain = house.say("order.placed", **paper)
    exact = house.say("order.placed", **paper, pack_count="250")
    client = house.client("kahu")

    for made, sheets in ((plain, "480"), (exact, "250")):
        page = client.get(f"/shelf/receive/paper?order={made}").text
        assert form_of(page).fields["sheet_count"] == [sheets]


def test_an_order_that_has_come_says_that_nothing_is_to_come(house: Opened) -> None:
    """A link kept from before still opens; it does not promise packs."""
    made = order(house)
    client, there = house.client("kahu"), f"/shelf/receive/powder?order={made}"
    send(client, there, {"name": "K-3", "carrageenan": "lambda"})
    page = client.get(there).text

    assert "Nothing of the order of 2025-09-17 is still to come." in page
    assert form_of(page).fields["pack_count"] == ["1"]


@pytest.mark.parametrize(
    "there",
    ["soup", "supply?supply=supply:nobody", "powder?supply=powder:soup", "paper?supply=paper:x",
     f"alum?order={UNKNOWN_ID}", "alum?supply=salt:table"],
)  # fmt: skip
def test_what_is_not_there_is_not_found(house: Opened, there: str) -> None:
    assert house.client("kahu").get(f"/shelf/receive/{there}").status_code == 404


def test_a_stranger_query_does_no_harm(house: Opened) -> None:
    """What else stands in the address is not passed on to the form's own."""
    page = house.client("kahu").get("/shelf/receive/alum?_external=1&what=paper&_scheme=x")

    assert page.status_code == 200
    assert 'data-live="/shelf/receive/alum/read"' in page.text


def test_the_live_sum_wants_a_supply(house: Opened) -> None:
    client = house.client("kahu")
    answer = post(client, "/me", "/shelf/receive/supply/read")

    assert answer.status_code == 404
    assert client.get("/shelf/receive/alum/read").status_code == 405


# What was written, told and put right.


def test_what_came_in_is_put_right_in_its_place(house: Opened) -> None:
    """Three packs, not two, and from another supplier: one page, and the stock follows."""
    by = supplier(house)
    lot = house.say("lot.received", "kahu", studio=house.made["studio"], what="carrageenan",
                    name="K-3", pack_count="2", weight=quantity(454, "g"),
                    carrageenan="lambda", supplier="Someone")  # fmt: skip
    client, there = house.client("kahu"), f"/entries/{lot}/correct"
    page = client.get(there).text
    said: Typed = {
        "content.body.pack_count": "3",
        "content.body.sold_by": by,
        "content.body.supplier": "",
        "content.body.best_before": "2027-06-30",
        "content.body.tare.typed": "60",
        "reason": "typing_slip",
        "outcome": "replace",
    }

    assert "received K-3: 2 packs of 454 g" in page
    assert send_again(client, there, page, said).status_code == 303
    state = lot_named(house, "K-3")
    assert (state.received, state.sold_by, state.supplier) == (1_362_000_000, by, "")
    assert (str(state.best_before), state.tare_g) == ("2027-06-30", 60)


@pytest.mark.parametrize(
    ("what", "measure", "held", "asked", "told"),
    [
        ("gloves", "pieces", {"piece_count": "100"}, "piece_count", "100 pieces"),
        ("water", "volume", {"volume": quantity(5, "l")}, "volume.typed", "5 L"),
        ("soda", "weight", {"weight": quantity(1, "kg"), "soda": "crystals"}, "soda", "1 kg"),
    ],
)
def test_a_lot_of_another_supply_is_told_and_asked_by_its_measure(
    house: Opened, what: str, measure: str, held: dict[str, Any], asked: str, told: str
) -> None:
    key = supply(house, what, measure, "the usual one")
    lot = house.say("lot.received", studio=house.made["studio"], what="supply", name="X-1",
                    supply=key.partition(":")[2], **held)  # fmt: skip
    page = house.client("amina").get(f"/entries/{lot}/correct").text

    assert f"received X-1: {told}" in page
    assert f"content.body.{asked}" in form_of(page).names


def test_a_supply_and_a_supplier_are_told_by_their_names(house: Opened) -> None:
    """In a history 'described the supply' alone would not say which."""
    by = supplier(house)
    soda = supply(house, "soda", "weight", "washing soda").partition(":")[2]
    moss = house.say("supply.described", what="carrageenan")
    client = house.client("amina")
    news = {
        by: "described the supplier Kettle and Rye",
        soda: "described the supply washing soda",
        moss: "described the supply carrageenan",
    }

    for entry, told in news.items():
        assert told in client.get(f"/entries/{entry}/correct").text
