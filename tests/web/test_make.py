"""Make: a size, gall water, rinse, paste or softener, from what a card says to the ledger."""

import re
from typing import Any

import pytest

from tests.support.forms import forms_of
from tests.support.opened import Opened, mixed, post, quantity

PLAN = "what=size&powder=carrageenan&recipe=typed&measure=l"


@pytest.fixture
def tray(house: Opened) -> str:
    """A full tray, 530 x 730 mm inside, beside the tub of alum."""
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="full tray",
        inside_length=quantity(730, "mm"),
        inside_width=quantity(530, "mm"),
        brim=quantity(24, "l"),
        laying=quantity(12, "l"),
        lidded="yes",
        place="2",
    )


@pytest.fixture
def lot(house: Opened) -> str:
    return powder_lot(house, "K-3", "lambda")


def powder_lot(house: Opened, name: str, carrageenan: str, grams: int = 500) -> str:
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name=name,
        carrageenan=carrageenan,
        weight=quantity(grams, "g"),
    )


def plan(tray: str, dose: str = "5+g/L", much: str = "17", **more: str) -> str:
    said = "".join(f"&{name}={value}" for name, value in more.items())
    return f"/make?{PLAN}&vessel={tray}&dose={dose}&much={much}{said}"


def put_in(tray: str, lot: str, house: Opened, **changes: str) -> dict[str, str]:
    fields = {
        "studio": house.made["studio"],
        "vessel": tray,
        "name": "R-S1",
        "water.typed": "17",
        "water.unit": "l",
        "powder.0.powder": "carrageenan",
        "powder.0.lot": lot,
        "powder.0.amount.typed": "85",
        "powder.0.amount.unit": "g",
        "powder.0.amount.heap": "level",
        "powder.1.powder": "carrageenan",
        "powder.1.lot": "",
        "powder.1.amount.typed": "",
        "powder.1.amount.unit": "g",
        "powder.1.amount.heap": "level",
        "guessed": "no",
    }
    return fields | changes


def made_of(house: Opened, answer: Any) -> Any:
    assert answer.status_code == 303, answer.text
    return house.state("bath", answer.headers["Location"].removeprefix("/liquids/"))


def live(page: str) -> str:
    """Return the text of the live box of a page's plan."""
    found = re.search(r'data-live-box.*?data-live-part="figure".*?</div>', page, re.DOTALL)
    assert found, page
    return found[0]


def test_each_kind_of_bath_but_alum_is_offered(house: Opened) -> None:
    """Alum has a page of its own: it goes by strength, these go by age."""
    page = house.client("kahu").get("/make").text

    for what in ("size", "gall_water", "rinse", "paste", "softener"):
        assert f'href="/make?what={what}"' in page
    assert "what=alum" not in page


def test_grams_come_first_then_spoons_of_the_lot(house: Opened, tray: str, lot: str) -> None:
    """
    17 L at 5 g/L are 85 g, a full tray 44 mm deep.

    Source of the check: design table of trays, litres and grams of carrageenan at 5 g/L,
    computed: 0.53 m x 0.73 m x 44 mm is 17.0 L.
    """
    house.say(
        "lot.spoon_weighed",
        lot=lot,
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(85, "g"),
    )
    page = house.client("kahu").get(plan(tray)).text

    assert "Weigh 85 g of K-3" in page
    assert "10 level US tablespoons of K-3, weighed at 8.5 g each" in page
    assert page.index("Weigh 85 g") < page.index("10 level")
    assert "into 17.0 L of water, 44 mm deep in this tub" in page


def test_a_card_by_the_spoon_is_read_by_the_powders_own_weight(
    house: Opened, tray: str, lot: str
) -> None:
    """
    Two level tablespoons to a US gallon: 8.4 g each in 3.785 L is 4.4 g/L.

    Source: '1 lb makes 27 gallons at 2 tablespoons a gallon' of an instruction page, the
    same that `carrageenan_g_per_us_tbsp` has; by alum's spoon it would be 7.8 g/L.
    """
    page = house.client("kahu").get(plan(tray, dose="2+level+tbsp+per+gallon")).text

    assert "Weigh 75.4 g of K-3" in page
    assert "Weighed so, this is 4.4 g/L; the card&#39;s spoons could mean 3.7 to 5.3" in page


def test_water_may_be_said_by_its_depth(house: Opened, tray: str, lot: str) -> None:
    """45 mm in 0.3869 m2 are 17.4 L, and 87 g at 5 g/L."""
    there = plan(tray, much="45").replace("measure=l", "measure=mm")
    page = house.client("kahu").get(there).text

    assert "into 17.4 L of water, 45 mm deep" in page
    assert "Weigh 87.1 g of K-3" in page


def test_when_it_has_rested_and_how_long_it_keeps(house: Opened, tray: str, lot: str) -> None:
    """Made on Wednesday at 18:00, 12 h of rest: not before Thursday 06:00."""
    page = house.client("kahu").get(plan(tray)).text

    assert "Not before Thursday 06:00." in page
    assert "look again after 4 days, do not use it from 6 on" in page
    assert "never past 10 days" in page


def test_a_recipe_says_dose_rest_and_days(house: Opened, tray: str, lot: str) -> None:
    recipe = house.say(
        "recipe.published",
        name="House size",
        dose="6 g/L",
        amount=quantity(6, "g"),
        per=quantity(1, "l"),
        what="size",
        powder="carrageenan",
        rest_hours="15",
        look_again_warm_days="3",
        do_not_use_warm_days="5",
        cap_days="9",
    )
    there = f"/make?what=size&vessel={tray}&recipe={recipe}&much=10&measure=l"
    page = house.client("kahu").get(there).text

    assert "Weigh 60 g of K-3" in page
    assert "Not before Thursday 09:00." in page
    assert "look again after 3 days, do not use it from 5 on" in page
    assert "never past 9 days" in page


def test_recipes_of_alum_and_of_size_do_not_meet(house: Opened, tray: str) -> None:
    """A card for size on the page for alum would be weighed as alum."""
    cards: dict[str, dict[str, Any]] = {
        "size": {"powder": "gum"}, "alum": {"salt": "potash_alum"},
    }  # fmt: skip
    for what, more in cards.items():
        house.say(
            "recipe.published",
            name=f"card of {what}",
            dose="8 g/L",
            amount=quantity(8, "g"),
            per=quantity(1, "l"),
            what=what,
            **more,
        )
    client = house.client("kahu")

    assert "card of alum" not in client.get(f"/make?what=size&vessel={tray}").text
    assert "card of size" not in client.get(f"/mix/{house.made['tub']}").text


def test_a_dose_unlike_any_size_is_asked_about(house: Opened, tray: str, lot: str) -> None:
    """30 g/L is a concentrate or a slip of the pen; only a person knows which."""
    client = house.client("kahu")
    page = client.get(plan(tray, dose="30+g/L", much="10")).text
    sure = client.get(plan(tray, dose="30+g/L", much="10", sure="yes")).text

    assert "A size of carrageenan has 2.5 to 10.0 g/L; this card means 30.0" in page
    assert 'name="water.typed"' not in page
    assert 'name="sure"' in page
    assert 'name="water.typed"' in sure


def test_a_concentrate_says_how_much_water_makes_a_size_of_it(
    house: Opened, tray: str, lot: str
) -> None:
    """
    10 L at 30 g/L hold what 60 L at 5 g/L hold: 50 L of water more (mass balance).

    Source: a leaflet's concentrate of an ounce to a quart, 30 g/L, "then dilute", beside
    sizes of 4 to 9 g/L.
    """
    client = house.client("kahu")
    page = client.get(plan(tray, dose="30+g/L", much="10")).text
    thin = client.get(plan(tray, dose="11+g/L", much="10")).text

    said = "with 50.0 L of water more it is 60.0 L of a size of 5.0 g/L"
    assert said in page
    assert "As a concentrate" not in thin


def test_a_concentrate_is_diluted_to_the_houses_own_dose(
    house: Opened, tray: str, lot: str
) -> None:
    house.say(
        "recipe.published",
        name="House size",
        dose="6 g/L",
        amount=quantity(6, "g"),
        per=quantity(1, "l"),
        what="size",
        powder="carrageenan",
    )
    page = house.client("kahu").get(plan(tray, dose="30+g/L", much="10")).text

    assert "it is 50.0 L of a size of 6.0 g/L" in page


def test_a_vat_of_concentrate_is_no_fault_of_the_server(house: Opened, lot: str) -> None:
    """200 L at 59 g/L would be 2360 L of size: nobody dilutes that at once."""
    vat = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="vat",
        brim=quantity(250, "l"),
        lidded="yes",
        place="4",
    )
    page = house.client("kahu").get(plan(vat, dose="59+g/L", much="200"))

    assert page.status_code == 200
    assert "As a concentrate" not in page.text


def test_a_softener_says_what_soda_does_to_alum_and_to_size(house: Opened, tray: str) -> None:
    """
    2 g/L of washing soda turn 3.7 g/L of the house's sulfate into floc, and bring sodium.

    Source: 1.06 g/L of anhydrous sodium carbonate are 10 mmol/L, 20 of sodium, and take up 20
    mmol of acid; 3 to an aluminium (computed): 12.6 mmol Al for 2 g/L, 3.74 g of the
    14-hydrate.
    """
    there = f"/make?what=softener&vessel={tray}&recipe=typed&dose=2+g/L&much=10&measure=l"
    page = house.client("kahu").get(there).text

    assert "so much of it turns 3.7 g/L of aluminium sulfate into floc" in page
    assert "its sodium, 37.7 mmol/L, thins a size of carrageenan" in page
    assert "of softener, over" not in page
    much = house.client("kahu").get(there.replace("dose=2", "dose=15.8")).text
    assert "That is 15.8 g/L of softener, over 2. Is it meant?" in much


def test_a_dose_over_any_concentrate_is_not_made(house: Opened, tray: str, lot: str) -> None:
    page = house.client("kahu").get(plan(tray, dose="90+g/L", much="10", sure="yes")).text

    assert "60 is the most for a concentrate too" in page
    assert 'name="water.typed"' not in page


def test_what_is_missing_is_said_beside_its_field(house: Opened, tray: str, lot: str) -> None:
    client = house.client("kahu")
    dry = client.get(plan(tray, dose="2+tbsp", much="10")).text
    unsaid = client.get(plan(tray, much="")).text
    nothing = client.get(f"/make?what=size&vessel={tray}&dose=&much=10").text

    assert "to how much water?" in dry
    assert "How much water? A dose alone is not enough." in unsaid
    assert "Write the dose, or choose its card above." in nothing
    assert "Of which powder?: This is needed." in nothing


def test_nothing_is_poured_over_the_brim(house: Opened, tray: str, lot: str) -> None:
    page = house.client("kahu").get(plan(tray, much="25")).text

    assert "over the brim: 24.0 L fit, it would be 25.0 L" in page
    assert 'name="water.typed"' not in page


def test_too_little_to_lay_a_sheet_is_said(house: Opened, tray: str, lot: str) -> None:
    assert "Too low to lay a sheet" in house.client("kahu").get(plan(tray, much="10")).text


def test_too_little_is_said_of_a_tub_known_by_its_floor_alone(house: Opened, lot: str) -> None:
    """0.40 m2 at the house's 15 mm take 6 L (computed): 4 L are 10 mm."""
    tub = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="spare tub",
        inside_length=quantity(800, "mm"),
        inside_width=quantity(500, "mm"),
        brim=quantity(20, "l"),
        lidded="yes",
        place="3",
    )
    client = house.client("kahu")

    assert "Too low to lay a sheet" in client.get(plan(tub, much="4")).text
    assert "Too low to lay a sheet" not in client.get(plan(tub, much="7")).text


def test_a_tub_in_which_something_stands_is_not_offered(house: Opened, tray: str) -> None:
    bath = mixed(house)
    page = house.client("kahu").get(f"/make?what=rinse&vessel={house.made['tub']}").text

    assert "R-A1 is still in this tub" in page
    assert f'href="/baths/{bath}"' in page
    assert f'value="{house.made["tub"]}"' not in page
    assert f'value="{tray}"' in page


def test_where_nothing_is_free_the_page_says_so(house: Opened) -> None:
    mixed(house)

    assert "Nothing is free here." in house.client("kahu").get("/make?what=rinse").text


def test_kappa_is_warned_of_and_a_type_nobody_knows(house: Opened, tray: str) -> None:
    """Kappa and iota set to a jelly: a tray full of it is lost."""
    first = powder_lot(house, "K-1", "kappa")
    client = house.client("kahu")
    kappa = client.get(plan(tray, lot=first)).text
    other = client.get(plan(tray, lot=powder_lot(house, "K-2", "not_known"))).text

    assert "K-1 is kappa carrageenan: it sets to a jelly" in kappa
    assert "Nobody knows which carrageenan K-2 is." in other


def test_an_older_lot_that_gels_is_not_taken_by_itself(house: Opened, tray: str) -> None:
    """Oldest first is for what is fit for marbling."""
    powder_lot(house, "K-0", "iota")
    house.later(days=1)
    powder_lot(house, "K-1", "lambda")

    assert "Weigh 85 g of K-1" in house.client("kahu").get(plan(tray)).text


def test_the_oldest_lot_is_taken_first_and_what_is_missing_is_said(
    house: Opened, tray: str
) -> None:
    """40 g of the old tub and 30 of the new; 15 of the 85 are nowhere."""
    powder_lot(house, "K-1", "lambda", grams=40)
    house.later(days=1)
    powder_lot(house, "K-2", "lambda", grams=30)
    page = house.client("kahu").get(plan(tray)).text

    assert "Weigh 85 g: 40 g of K-1, 30 g of K-2" in page
    assert "not enough: 15 g must come from another lot" in page


def test_without_any_lot_the_powder_is_named(house: Opened, tray: str) -> None:
    page = house.client("kahu").get(plan(tray)).text

    assert "Weigh 85 g of carrageenan" in page
    assert "No carrageenan is on hand in this studio." in page


def test_the_card_of_care_stands_before_the_powder(house: Opened, tray: str, lot: str) -> None:
    page = house.client("kahu").get(plan(tray)).text

    assert "Powder: dust mask on" in page
    assert "Blender: half full at most" in page
    assert "little by little while it runs" in page
    assert "Emergency: 112." in page
    assert "Powder: dust mask on" not in house.client("kahu").get("/make?what=rinse").text
    assert page.index("Powder: dust mask on") < page.index("Cover it, and let it rest")


@pytest.mark.parametrize(
    ("what", "needed", "idle"),
    [
        ("softener", "gloves and goggles on; soda hurts eyes", "Blender"),
        ("gall_water", "gloves and goggles on; it stings", "hot paste"),
        ("paste", "Hot water and hot paste scald", "Blender"),
        ("size", "Blender: half full at most", "hot paste"),
    ],
)
def test_each_bath_has_the_cautions_of_its_own_stuff(
    house: Opened, tray: str, what: str, needed: str, idle: str
) -> None:
    """
    What is said of everything is read by nobody.

    Sodium carbonate is an eye irritant (H319), dried gall often classed so too: from memory
    of supplier sheets; the sheet of what is really used comes first.
    """
    page = house.client("kahu").get(f"/make?what={what}&vessel={tray}").text

    assert needed in page
    assert idle not in page


def test_a_size_is_written_as_it_was_put_in(house: Opened, tray: str, lot: str) -> None:
    answer = post(house.client("kahu"), plan(tray), **put_in(tray, lot, house))
    size = made_of(house, answer)

    assert (size.what, size.name, size.vessel, size.of) == (
        "size", "R-S1", tray, "carrageenan",
    )  # fmt: skip
    assert (size.powder_g, size.volume_ml, size.how) == (85, 17_000, "weighed")
    assert size.dose == "5 g/L"
    assert size.carrageenan == "lambda"
    assert "415 g" in house.client("kahu").get("/shelf").text


def test_the_same_form_sent_twice_makes_one_size(house: Opened, tray: str, lot: str) -> None:
    """A phone on bad signal sends it again, and the tray is then in use: by this very size."""
    client = house.client("kahu")
    there = plan(tray)
    page = client.get(there).text
    hidden = dict(re.findall(r'name="(entry_id|csrf_token)"[^>]*value="([^"]*)"', page))
    fields = put_in(tray, lot, house) | hidden

    first, second = client.post(there, data=fields), client.post(there, data=fields)

    assert (first.status_code, second.status_code) == (303, 303)
    assert first.headers["Location"] == second.headers["Location"]


def test_a_tub_taken_meanwhile_is_refused_and_nothing_typed_is_lost(
    house: Opened, tray: str, lot: str
) -> None:
    client = house.client("kahu")
    page = client.get(plan(tray)).text
    hidden = dict(re.findall(r'name="(entry_id|csrf_token)"[^>]*value="([^"]*)"', page))
    mixed(house, vessel=tray)

    answer = client.post(plan(tray), data=put_in(tray, lot, house) | hidden)

    assert answer.status_code == 422
    assert "R-A1 is still in this tub" in answer.text
    assert 'value="85"' in answer.text


def test_a_size_of_no_powder_is_refused_beside_the_field(
    house: Opened, tray: str, lot: str
) -> None:
    fields = put_in(tray, lot, house, **{"powder.0.amount.typed": ""})
    answer = post(house.client("kahu"), plan(tray), **fields)

    assert answer.status_code == 422
    assert "How much powder: This is needed." in answer.text


def test_powder_needs_no_lot(house: Opened, tray: str) -> None:
    """A member brings half a bag: it is in the size, and on no shelf."""
    fields = put_in(tray, "", house)

    assert made_of(house, post(house.client("kahu"), plan(tray), **fields)).powder_g == 85


@pytest.mark.parametrize(
    ("what", "name", "powder"),
    [
        ("gall_water", "R-G1", "gall"),
        ("rinse", "R-R1", ""),
        ("paste", "R-P1", "starch"),
        ("softener", "R-W1", "softener"),
    ],
)
def test_the_other_baths_are_made_without_a_card(
    house: Opened, tray: str, what: str, name: str, powder: str
) -> None:
    client = house.client("kahu")
    there = f"/make?what={what}&vessel={tray}&recipe=none&much=8&measure=l"
    page = client.get(there).text
    assert f'value="{name}"' in page
    assert "Look again after" in page

    fields = put_in(tray, "", house, name=name, **{"powder.0.powder": powder})
    fields |= {"water.typed": "8", "powder.0.amount.typed": "9" if powder else ""}
    bath = made_of(house, post(client, there, **fields))

    assert (bath.what, bath.name, bath.volume_ml) == (what, name, 8000)


@pytest.mark.parametrize("what", ["gall_water", "paste", "softener"])
def test_water_alone_is_a_rinse_and_nothing_else(house: Opened, tray: str, what: str) -> None:
    """Gall water without gall would stand in the room as good, and spread no colour."""
    client = house.client("kahu")
    there = f"/make?what={what}&vessel={tray}&recipe=none&much=8&measure=l"
    fields = put_in(tray, "", house, name="R-X1", **{"powder.0.amount.typed": ""})
    answer = post(client, there, **fields)

    assert answer.status_code == 422
    assert "This is needed." in answer.text
    assert 'value="R-X1"' in answer.text


@pytest.mark.parametrize("dose", ["1:7", "1 mL to 7 mL"])
def test_gall_is_measured_by_the_ml(house: Opened, tray: str, dose: str) -> None:
    """
    One part of gall to seven of water: 0.7 L take 100 mL.

    Source of the check: gall water of an instruction page for the vein colours, 1 part gall
    to 7 parts water. Gall is a liquid; nobody weighs it.
    """
    client = house.client("kahu")
    start = f"/make?what=gall_water&vessel={tray}"
    there = f"{start}&recipe=typed&dose={dose}&much=700&measure=ml"
    page = client.get(there).text

    assert 'id="measure-0" name="measure" type="radio" value="ml"' in client.get(start).text
    assert "For example: 1:7, or 1 mL to 7 mL." in page
    assert "Measure 100 mL of gall" in page
    assert "This is 143 mL of gall to a litre of water." in page
    assert "Weigh" not in live(page)
    assert "How much gall" in page
    assert "How much powder" not in page

    amount = {"powder.0.amount.typed": "100", "powder.0.amount.unit": "ml"}
    fields = put_in(tray, "", house, name="R-G1", **{"powder.0.powder": "gall"}, **amount)
    bath = made_of(house, post(client, there, **fields | {"water.typed": "0.7"}))
    assert bath.dose_g_per_l == pytest.approx(145, abs=1)


def test_a_bottle_of_gall_is_told_in_ml_and_not_by_the_spoon(house: Opened, tray: str) -> None:
    """'Weigh ten level spoons first' says nothing of a liquid."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="gall",
        name="G-1",
        weight=quantity(507, "g"),
    )
    there = f"/make?what=gall_water&vessel={tray}&recipe=typed&dose=1:7&much=700&measure=ml"
    page = house.client("kahu").get(there).text

    assert "Measure 100 mL of G-1" in page
    assert "G-1, 500 mL left" in page
    assert "level ones first" not in page


def test_parts_are_read_of_gall_alone(house: Opened, tray: str) -> None:
    """Of a powder, parts could be by weight or by the spoon."""
    page = house.client("kahu").get(plan(tray, dose="1:7")).text

    assert 'value="1:7"' in page
    assert "Weigh" not in live(page)
    assert 'name="water.typed"' not in page


def test_much_softener_is_asked_about(house: Opened, tray: str) -> None:
    """
    A tablespoon, 15 g, to a quart: 15.8 g/L.

    Source of the check: a paint maker's leaflet, which says both; that it is a rough dose,
    over pH 11 if it is washing soda, is from memory.
    """
    client = house.client("kahu")
    there = f"/make?what=softener&vessel={tray}&recipe=typed&much=1&measure=l&dose="
    spooned = client.get(f"{there}1+level+tbsp+per+quart").text
    little = client.get(f"{there}2+g/L").text

    assert "Weigh 15.9 g of softener" in spooned
    assert "That is 15.9 g/L of softener, over 2. Is it meant?" in spooned
    assert "Is it meant?" not in little


def test_each_kind_counts_its_own_names(house: Opened, tray: str, lot: str) -> None:
    """R-S1 is finished and its tray took a rinse: the next size is R-S2 all the same."""
    client = house.client("kahu")
    size = made_of(house, post(client, plan(tray), **put_in(tray, lot, house)))
    house.say("bath.finished", bath=size.id, reason="used_up")
    rinse = f"/make?what=rinse&vessel={tray}&much=8&measure=l"
    fields = put_in(tray, "", house, name="R-R1", **{"powder.0.amount.typed": ""})
    drum = made_of(house, post(client, rinse, **fields))
    house.say("bath.finished", bath=drum.id, reason="tinted")

    assert 'value="R-S2"' in client.get(plan(tray)).text
    assert 'value="R-R2"' in client.get(rinse).text


def test_the_answer_comes_while_one_types(house: Opened, tray: str, lot: str) -> None:
    client = house.client("kahu")
    said = client.get(plan(tray).replace("/make?", "/make/reckoned?")).get_json()
    typed = put_in(tray, lot, house, what="size")
    thick = client.get("/make/thickness", query_string=typed).get_json()

    assert said["figure"] == "Weigh 85 g of K-3"
    assert said["rest"] == "Not before Thursday 06:00."
    assert thick == {"figure": "about 5.0 g/L"}
    half = client.get("/make/thickness", query_string=typed | {"water.typed": "1."})
    assert half.get_json() == {}


def test_a_size_is_made_again_with_everything_filled_in(
    house: Opened, tray: str, lot: str
) -> None:
    client = house.client("kahu")
    size = made_of(house, post(client, plan(tray), **put_in(tray, lot, house)))
    house.say("bath.finished", bath=size.id, reason="used_up")

    answer = client.get(f"/make?again={size.id}")
    page = client.get(answer.headers["Location"]).text

    assert answer.status_code == 303
    assert "Weigh 85 g of K-3" in page
    assert 'value="R-S2"' in page
    assert "into 17.0 L of water" in page


def test_made_again_without_a_card_it_has_the_dose_it_came_to(
    house: Opened, tray: str, lot: str
) -> None:
    """Whoever wrote down no card still put 85 g into 17 L."""
    size = house.say(
        "bath.mixed",
        name="R-S1",
        what="size",
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(17, "l"),
        powder=[{"powder": "carrageenan", "lot": lot, "amount": quantity(85, "g")}],
    )
    house.say("bath.topped_up", bath=size, water=quantity(3, "l"))
    client = house.client("kahu")

    page = client.get(client.get(f"/make?again={size}").headers["Location"]).text

    assert 'value="5.0 g/L"' in page
    assert "R-S1 is still in this tub" not in page
    assert f'value="{house.made["tub"]}"' in page


def test_alum_is_made_again_on_its_own_page(house: Opened) -> None:
    bath = mixed(house, dose="40 g/L")
    house.say("bath.finished", bath=bath, reason="used_up")
    client = house.client("kahu")

    answer = client.get(f"/make?again={bath}")

    assert answer.headers["Location"].startswith(f"/mix/{house.made['tub']}?")
    assert "Weigh 480 g of AS-24" in client.get(answer.headers["Location"]).text


def test_what_is_not_known_is_not_found(house: Opened) -> None:
    client = house.client("kahu")

    assert client.get("/make?what=soup").status_code == 404
    assert client.get(f"/make?again={house.made['tub']}").status_code == 404
    assert client.post("/make/reckoned").status_code in (400, 405)


def test_who_is_not_signed_in_is_sent_to_the_door(house: Opened) -> None:
    assert house.client().get("/make").status_code == 302


def test_a_rinse_is_sent_as_its_page_has_it(house: Opened, tray: str) -> None:
    """Its form has no rows for powder."""
    client = house.client("kahu")
    there = f"/make?what=rinse&vessel={tray}&much=8&measure=l"
    form = next(one for one in forms_of(client.get(there).text) if "name" in one.names)
    assert "powder.0.lot" not in form.names

    answer = client.post(form.action, data=form.fields)

    assert made_of(house, answer).volume_ml == 8000
