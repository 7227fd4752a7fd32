"""Shelf: what is left; receive a lot; weigh ten level spoons."""

import html
import re

import pytest

from coop.units.kinds import FAMILIES
from tests.support.opened import Opened, mixed, post, quantity, token


def test_the_shelf_shows_what_is_left_of_every_lot(house: Opened):
    """480 g were weighed out of 5 kg: 4.52 kg are left."""
    mixed(house)
    page = house.client("kahu").get("/shelf").text

    assert "AS-24" in page
    assert "4520 g" in page
    assert "1000 full sheets" in page


def test_half_sheets_through_a_bath_leave_the_shelf_as_halves(house: Opened):
    """Paper is drawn once, when it is alumed; 41 half sheets are 20.5 full ones."""
    bath = mixed(house)
    house.say(
        "sheets.through",
        bath=bath,
        sheet_count="41",
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )

    assert "979.5 full sheets" in house.client("kahu").get("/shelf").text


def test_a_member_receives_alum(house: Opened):
    client = house.client("kahu")
    answer = post(
        client,
        "/shelf/receive/alum",
        studio=house.made["studio"],
        name="AS-31",
        salt="potash_alum",
        **{"weight.typed": "2,5", "weight.unit": "kg"},
    )

    assert answer.status_code == 303
    page = client.get("/shelf").text
    assert "AS-31" in page
    assert "2500 g" in page
    assert "Received: AS-31, 2500 g." in page


def test_a_member_receives_paper(house: Opened):
    client = house.client("kahu")
    answer = post(
        client,
        "/shelf/receive/paper",
        studio=house.made["studio"],
        name="P-31 second",
        paper=house.made["paper"],
        sheet_count="480",
    )

    assert answer.status_code == 303
    assert "480 full sheets" in client.get("/shelf").text


def test_a_slip_is_said_beside_the_field_and_nothing_typed_is_lost(house: Opened):
    """A weight that is no number is the commonest slip on a phone."""
    client = house.client("kahu")
    answer = post(
        client,
        "/shelf/receive/alum",
        studio=house.made["studio"],
        name="AS-31",
        salt="potash_alum",
        **{"weight.typed": "two bags", "weight.unit": "kg"},
    )

    assert answer.status_code == 422
    assert "A number, please" in answer.text
    assert 'value="two bags"' in answer.text
    assert 'value="AS-31"' in answer.text


def test_ten_spoons_weighed_change_what_is_known_of_the_lot(house: Opened):
    """Ten level tablespoons of AS-24 weigh 111 g: 11.1 g each."""
    client = house.client("kahu")
    before = client.get(f"/lots/{house.made['alum']}").text
    answer = post(
        client,
        f"/lots/{house.made['alum']}/spoons",
        spoon_count="10",
        spoon="us_tbsp",
        **{"weight.typed": "111", "weight.unit": "g"},
    )

    assert "Nobody has weighed a spoon of it." in before
    assert answer.status_code == 303
    assert "11.1 g a level US tablespoon" in client.get(f"/lots/{house.made['alum']}").text


@pytest.mark.parametrize(("grams", "each"), [("11", "1.1 g"), ("1110", "111 g")])
def test_one_spoon_written_as_ten_is_asked_about_first(house: Opened, grams: str, each: str):
    """
    A level US tablespoon of alum weighs 11 to 20 g (common practice, no source); a tenth or
    ten times that makes every bath of the lot wrong by as much.
    """
    client = house.client("kahu")
    there = f"/lots/{house.made['alum']}/spoons"
    fields = {
        "spoon_count": "10",
        "spoon": "us_tbsp",
        "weight.typed": grams,
        "weight.unit": "g",
    }
    asked = post(client, there, **fields)
    found = re.search(r'name="warned"[^>]*value="([^"]+)"', asked.text)
    assert found is not None
    warned = html.unescape(found[1])
    before = house.state("lot", house.made["alum"]).spoon
    meant = post(client, there, **fields, warned=warned)

    assert asked.status_code == 422
    assert f"A level US tablespoon of it would weigh {each}; 11 to 20 g is usual." in asked.text
    assert f'value="{grams}"' in asked.text
    assert before is None
    assert meant.status_code == 303
    assert house.state("lot", house.made["alum"]).spoon is not None


def test_a_light_powder_is_no_slip(house: Opened):
    """Fine flakes of 8 g a tablespoon are out of the published range, and may well be."""
    there = f"/lots/{house.made['alum']}/spoons"
    fields = {"spoon_count": "10", "spoon": "us_tbsp", "weight.typed": "80", "weight.unit": "g"}

    assert post(house.client("kahu"), there, **fields).status_code == 303


def test_a_lot_says_where_it_went(house: Opened):
    """No gram is left without an answer: in from the supplier, out into R-A1."""
    mixed(house)
    page = house.client("kahu").get(f"/lots/{house.made['alum']}").text

    assert "from the supplier" in page
    assert "into R-A1" in page
    assert "\u2212480 g" in page


def test_every_kind_of_spoon_that_a_house_may_mean_can_be_weighed(house: Opened):
    """A house that means imperial spoons must not weigh them as another kind."""
    client = house.client("kahu")
    page = client.get(f"/lots/{house.made['alum']}/spoons").text

    assert all(f'value="{code}"' in page for code in FAMILIES["tbsp"].values())
    assert "imperial (old British) tablespoon" in page


def test_paper_has_no_spoon_to_weigh(house: Opened):
    assert house.client("kahu").get(f"/lots/{house.made['parcel']}/spoons").status_code == 404


def test_an_unknown_lot_is_not_found(house: Opened):
    assert house.client("kahu").get(f"/lots/{house.made['tub']}x").status_code == 404


def test_who_is_not_signed_in_is_sent_to_the_door(house: Opened):
    assert house.client().get("/shelf").status_code == 302


def test_an_empty_ledger_says_what_comes_first(bare: Opened):
    client = bare.client("kahu")

    assert "No studio is described yet." in client.get("/shelf").text
    assert "Describe the studio first" in client.get("/shelf/receive/alum").text


def test_the_same_form_sent_twice_receives_one_lot(house: Opened):
    """A phone on bad signal sends the form again."""
    client = house.client("kahu")
    page = client.get("/shelf/receive/alum").text

    entry_id = page.split('name="entry_id"')[1].split('value="')[1].split('"')[0]
    fields = {
        "csrf_token": token(page),
        "entry_id": entry_id,
        "studio": house.made["studio"],
        "name": "AS-31",
        "salt": "potash_alum",
        "weight.typed": "1",
        "weight.unit": "kg",
    }
    first = client.post("/shelf/receive/alum", data=fields)
    second = client.post("/shelf/receive/alum", data=fields)

    assert (first.status_code, second.status_code) == (303, 303)
    with house.desk() as desk:
        assert len(desk.journal.listed("lot")) == 3
    changed = client.post("/shelf/receive/alum", data=fields | {"name": "AS-32"})
    assert changed.status_code == 422
    assert "Something else was written" in changed.text
    assert 'value="AS-32"' in changed.text


def test_a_lot_may_have_come_in_earlier_than_it_is_written(house: Opened):
    """The paper buyer writes up on Sunday what came on Friday."""
    client = house.client("kahu")
    post(
        client,
        "/shelf/receive/paper",
        studio=house.made["studio"],
        name="P-40",
        paper=house.made["paper"],
        sheet_count="100",
        happened_at="2025-09-12T10:00",
    )

    assert "2025-09-12, Kahu R." in client.get("/shelf").text


def test_weights_may_be_in_pounds(house: Opened):
    """One pound is 453.59237 g exactly (international yard and pound agreement, 1959)."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AS-1",
        salt="potash_alum",
        weight=quantity(1, "lb"),
    )

    assert "454 g" in house.client("kahu").get("/shelf").text


def test_the_name_of_a_lot_is_never_translated(house: Opened):
    """Somebody may well call a parcel 'sponge'; in Turkish it keeps its name."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="paper",
        name="sponge",
        paper=house.made["paper"],
        sheet_count="10",
    )
    bath = mixed(house)
    client = house.client("kahu")
    client.set_cookie("coop-lang", "tr")

    page = client.get(f"/baths/{bath}/sheets").text

    assert page.count("<span>sponge</span>") == 1


def receive_powder(house: Opened, **changes: str):
    fields = {
        "studio": house.made["studio"],
        "what": "carrageenan",
        "carrageenan": "lambda",
        "name": "K-3",
        "weight.typed": "500",
        "weight.unit": "g",
    }
    return post(house.client("kahu"), "/shelf/receive/powder", **(fields | changes))


def lot_named(house: Opened, name: str):
    with house.desk() as desk:
        return next(one for one in desk.journal.listed("lot") if one.name == name)


def test_a_powder_is_received_with_its_type(house: Opened):
    """Kappa in a size sets to a jelly: what it is stands on the tub and on the shelf."""
    assert receive_powder(house).status_code == 303
    page = house.client("kahu").get("/shelf").text

    assert lot_named(house, "K-3").carrageenan == "lambda"
    assert "<h3>Powders</h3>" in page
    assert "<b>500 g</b>" in page
    assert "carrageenan, lambda: it thickens" in page


def test_carrageenan_without_a_type_is_asked_for_it(house: Opened):
    """'Not known' is an answer; silence is none."""
    silent = receive_powder(house, carrageenan="")

    assert silent.status_code == 422
    assert "Which carrageenan: Choose the type" in silent.text
    assert receive_powder(house, carrageenan="not_known").status_code == 303


def test_another_powder_has_no_type(house: Opened):
    """A type left ticked from before does not go with methylcellulose."""
    assert receive_powder(house, what="methylcellulose", name="M-1").status_code == 303
    assert lot_named(house, "M-1").carrageenan is None


def test_a_powders_lot_says_what_is_left_and_where_it_went(house: Opened):
    """87.1 g into a size: grams of a powder are said to the tenth under a hundred."""
    receive_powder(house)
    lot = lot_named(house, "K-3").id
    size = house.say(
        "bath.mixed",
        name="R-S1",
        what="size",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        water=quantity(16, "l"),
        powder=[{"powder": "carrageenan", "lot": lot, "amount": quantity("87.1", "g")}],
    )
    page = house.client("kahu").get(f"/lots/{lot}").text

    assert "412.9 g" in page
    assert "\u221287.1 g" in page
    assert f'<a href="/liquids/{size}">into R-S1</a>' in page


def test_spoons_of_a_powder_are_weighed_against_its_own_range(house: Opened):
    """
    Ten level tablespoons of K-3 weigh 85 g; an instruction page's 1 lb for 27 gallons at two
    tablespoons makes 8.4 g each, 7 to 10 with its doubt.
    """
    receive_powder(house)
    lot = lot_named(house, "K-3").id
    client = house.client("kahu")
    page = client.get(f"/lots/{lot}/spoons").text
    answer = post(
        client,
        f"/lots/{lot}/spoons",
        spoon_count="10",
        spoon="us_tbsp",
        **{"weight.typed": "85", "weight.unit": "g"},
    )

    assert "A US tablespoon of carrageenan weighs 7 to 10 g." in page
    assert "alum can damage eyes" not in page
    assert "Powder: dust mask on" in page
    assert answer.status_code == 303
    assert "8.5 g a level US tablespoon" in client.get(f"/lots/{lot}").text


def test_paper_is_received_with_the_chalk_of_this_lot(house: Opened):
    """Two parcels of one paper can differ: one mill run was buffered, the other was not."""
    client = house.client("kahu")
    paper = {"studio": house.made["studio"], "paper": house.made["paper"], "sheet_count": "100"}
    there = "/shelf/receive/paper"
    post(client, there, name="P-1", **paper, chalk="some", chalk_g_per_m2="2,5")
    post(client, there, name="P-2", **paper, chalk="none", chalk_g_per_m2="2")
    post(client, there, name="P-3", **paper)
    page = client.get("/shelf").text

    assert lot_named(house, "P-1").chalk_g_per_m2 == 2.5
    assert "2.5 g/m² of chalk" in page
    assert (lot_named(house, "P-2").chalk, lot_named(house, "P-2").chalk_g_per_m2) == (
        "none",
        None,
    )
    assert "no chalk in it" in page
    assert lot_named(house, "P-3").chalk is None


def test_chalk_that_no_paper_has_is_refused(house: Opened):
    fields = {"studio": house.made["studio"], "paper": house.made["paper"], "name": "P-9"}
    answer = post(
        house.client("kahu"),
        "/shelf/receive/paper",
        **fields,
        sheet_count="10",
        chalk="some",
        chalk_g_per_m2="500",
    )

    assert answer.status_code == 422
    assert "From 0 to 50, please." in answer.text
