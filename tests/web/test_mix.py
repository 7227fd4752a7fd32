"""Mix: from a card as people write it to a bath in the ledger."""

import re
from typing import Any

import pytest

from tests.support.opened import Opened, mixed, post, quantity

CARD = "6 tbsp (1/4 cup) per gallon"
FIRST = "6_1us_tbsp/1_1us_gallon"


@pytest.fixture
def tub(house: Opened) -> str:
    return f"/mix/{house.made['tub']}"


@pytest.fixture
def recipe(house: Opened) -> str:
    """The house's own card: 40 g/L, and to be judged by it."""
    return house.say(
        "recipe.published",
        name="House alum",
        dose="40 g/L",
        amount=quantity(40, "g"),
        per=quantity(1, "l"),
        salt="aluminium_sulfate_14",
        target_g_per_l="40",
    )


def weigh(house: Opened, ten_g: int) -> None:
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(ten_g, "g"),
    )


def put_in(house: Opened, **changes: str) -> dict[str, str]:
    fields = {
        "name": "R-A1",
        "water.typed": "12",
        "water.unit": "l",
        "salt.0.lot": house.made["alum"],
        "salt.0.amount.typed": "480",
        "salt.0.amount.unit": "g",
        "salt.0.amount.heap": "level",
        "salt.1.lot": "",
        "salt.1.amount.typed": "",
        "salt.1.amount.unit": "g",
        "salt.1.amount.heap": "level",
        "guessed": "no",
    }
    return fields | changes


def bath_of(house: Opened, answer: Any) -> Any:
    assert answer.status_code == 303, answer.text
    return house.state("bath", answer.headers["Location"].removeprefix("/baths/"))


def test_the_tubs_of_each_studio_are_offered(house: Opened) -> None:
    page = house.client("kahu").get("/mix").text

    assert "Ropewalk" in page
    assert f'href="/mix/{house.made["tub"]}"' in page


def test_a_tub_that_holds_a_bath_is_shown_but_cannot_be_chosen(house: Opened) -> None:
    """Else two baths would stand in one tub, and nobody knew which."""
    mixed(house)

    page = house.client("kahu").get("/mix").text

    assert "R-A1 is in it" in page
    assert f'href="/mix/{house.made["tub"]}"' not in page


def test_where_every_tub_is_full_each_bath_can_be_finished(house: Opened) -> None:
    """Else the page is a dead end; while a tub is empty nobody is led to finish one."""
    bath = mixed(house)
    client = house.client("kahu")
    full = client.get("/mix").text
    house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="spare tub",
        brim=quantity(16, "l"),
        lidded="yes",
        place="2",
    )

    assert f'href="/baths/{bath}/finish"' in full
    assert client.get(f"/baths/{bath}/finish").status_code == 200
    assert "/finish" not in client.get("/mix").text


def test_a_recipe_says_how_its_card_is_read(house: Opened, tub: str, recipe: str) -> None:
    """The card says two things and somebody picked one; 40 g/L can only be read one way."""
    house.say(
        "recipe.published",
        name="The old card",
        dose=CARD,
        amount=quantity(6, "us_tbsp"),
        per=quantity(1, "us_gallon"),
        salt="aluminium_sulfate_14",
    )

    page = house.client("kahu").get(tub).text

    read = "read as 6 US tablespoons to 1 US gallon"
    assert f"The old card: 6 tbsp (1/4 cup) per gallon, {read}" in page
    assert "House alum: 40 g/L<" in page


def test_a_tub_that_holds_a_bath_sends_one_to_it(house: Opened, tub: str) -> None:
    bath = mixed(house)

    page = house.client("kahu").get(tub)

    assert page.status_code == 200
    assert f"/baths/{bath}" in page.text
    assert 'name="water.typed"' not in page.text


def test_a_recipe_says_grams_first_then_spoons_of_the_lot(
    house: Opened, tub: str, recipe: str
) -> None:
    """480 g at 14.8 g a spoon are 32.4 spoons, said to the half."""
    weigh(house, 148)

    page = house.client("kahu").get(f"{tub}?recipe={recipe}&much=12&measure=l").text

    assert "Weigh 480 g of AS-24" in page
    assert "32 1/2 level US tablespoons of AS-24, weighed at 14.8 g each" in page
    assert page.index("Weigh 480 g") < page.index("32 1/2 level")


def test_a_spoon_nobody_weighed_is_a_range_and_a_request(
    house: Opened, tub: str, recipe: str
) -> None:
    """11 to 20 g a tablespoon: 24 to 44 of them."""
    page = house.client("kahu").get(f"{tub}?recipe={recipe}&much=12&measure=l").text

    assert "24 to 44 level US tablespoons" in page
    assert "Weigh ten level ones first" in page


def test_a_card_that_says_two_things_stops_mixing_with_both_readings(
    house: Opened, tub: str
) -> None:
    """A quarter of a cup is 4 tablespoons, not 6: 23.4 against 15.6 mL/L."""
    page = house.client("kahu").get(tub, query_string={"dose": CARD, "much": "12"}).text

    assert "23.4 mL/L" in page
    assert "15.6 mL/L" in page
    assert "a third apart" in page
    assert f'value="{FIRST}"' in page
    assert 'name="water.typed"' not in page


def test_a_contradictory_card_cannot_be_posted_past(house: Opened, tub: str) -> None:
    """The page is shown again, with what was typed, and nothing is written."""
    client = house.client("kahu")
    there = f"{tub}?dose=6+tbsp+(1/4+cup)+per+gallon&much=12&measure=l"

    answer = post(client, there, **put_in(house))

    assert answer.status_code == 422
    assert "The card says two things" in answer.text
    assert 'value="480"' in answer.text
    assert house.state("vessel", house.made["tub"]).last_bath is None


def test_a_picked_reading_can_be_mixed(house: Opened, tub: str) -> None:
    client = house.client("kahu")
    there = f"{tub}?dose=6+tbsp+(1/4+cup)+per+gallon&much=12&measure=l&by=card&pick={FIRST}"
    page = client.get(there).text
    assert "Weigh 282 g" in page

    answer = post(client, there, **put_in(house, **{"salt.0.amount.typed": "282"}))

    assert bath_of(house, answer).dose == CARD


def test_what_is_weighed_is_known_better_than_what_a_card_means(
    house: Opened, tub: str
) -> None:
    """
    Grams +-3 % in water +-2 % are 22.6 to 24.3 g/L; only the card's spoons leave 17 to 32.
    """
    there = f"{tub}?dose=6+tbsp+(1/4+cup)+per+gallon&much=12&measure=l&by=card&pick={FIRST}"
    client = house.client("kahu")

    page = client.get(there).text

    assert "Weighed so, this is about 23 g/L (23 to 24)" in page
    assert "The card&#39;s spoons could mean 17 to 32 g/L." in page
    asked = there.replace(tub, f"{tub}/reckoned")
    assert client.get(asked).get_json()["card"].endswith("17 to 32 g/L.")


def test_a_weighed_card_leaves_nothing_open(house: Opened, tub: str, recipe: str) -> None:
    page = house.client("kahu").get(f"{tub}?recipe={recipe}&much=12&measure=l").text

    assert "Weighed so, this is about 40 g/L (39 to 41)" in page
    assert "could mean" not in page


def test_a_bath_is_written_as_it_was_put_in(house: Opened, tub: str, recipe: str) -> None:
    """480 g in 12 L are 40 g/L; the recipe's own target is kept with it."""
    client = house.client("kahu")

    answer = post(client, f"{tub}?recipe={recipe}&much=12&measure=l", **put_in(house))
    bath = bath_of(house, answer)

    assert bath.name == "R-A1"
    assert bath.recipe == recipe
    assert bath.estimate.belief.strength_g_per_l == pytest.approx(40, abs=0.1)
    assert "hang its tag" in client.get("/").text


def test_spoons_are_written_as_spoons(house: Opened, tub: str) -> None:
    """24 spoons of 11.1 g in 3 US gallons (11.36 L) are 266.4 g, 23.5 g/L."""
    weigh(house, 111)
    client = house.client("kahu")
    spooned = put_in(
        house,
        **{
            "water.typed": "3",
            "water.unit": "us_gallon",
            "salt.0.amount.typed": "24",
            "salt.0.amount.unit": "us_tbsp",
        },
    )

    answer = post(
        client, f"{tub}?dose=8+tbsp+per+gallon&much=3&measure=us_gallon&by=card", **spooned
    )
    bath = bath_of(house, answer)

    assert bath.estimate.belief.strength_g_per_l == pytest.approx(23.5, abs=0.1)
    assert bath.how == "spoon-weighed"


def test_two_lots_go_into_one_bath(house: Opened, tub: str) -> None:
    other = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AS-25",
        salt="aluminium_sulfate_14",
        weight=quantity(5, "kg"),
    )
    second = {"salt.1.lot": other, "salt.1.amount.typed": "120", "salt.0.amount.typed": "360"}

    answer = post(house.client("kahu"), f"{tub}?recipe=none", **put_in(house, **second))

    strength = bath_of(house, answer).estimate.belief.strength_g_per_l
    assert strength == pytest.approx(40, abs=0.1)


def test_what_was_mixed_without_a_card_can_be_written(house: Opened, tub: str) -> None:
    """Nothing that a person did is refused afterwards."""
    guess = put_in(house, guessed="yes")

    answer = post(house.client("kahu"), f"{tub}?recipe=none", **guess)

    assert bath_of(house, answer).how == "guessed"


def test_a_card_unlike_the_house_asks_once(house: Opened, tub: str) -> None:
    """23 g/L where the house mixes 40: somebody must say which was meant."""
    client = house.client("kahu")
    there = f"{tub}?dose=6+tbsp+per+gallon&much=12&measure=l"

    asked = client.get(there).text
    answered = client.get(f"{there}&by=house").text

    assert "This card means 23 g/L, the house mixes 40" in asked
    assert 'name="water.typed"' not in asked
    assert "Weigh 480 g" in answered
    assert 'name="water.typed"' in answered


def test_a_weak_strength_is_said_with_a_decimal(house: Opened, tub: str) -> None:
    """As about 3 g/L (3 to 3) it would tell nothing of a card that means 2.6."""
    client = house.client("kahu")
    there = f"{tub}?dose=1+tsp+per+half+gallon&much=10&measure=l"
    told = re.search(
        r"Weighed so, this is about 2\.6 g/L \((\d\.\d) to (\d\.\d)\)",
        client.get(f"{there}&by=card").text,
    )

    assert "This card means 2.6 g/L, the house mixes 40" in client.get(there).text
    assert told
    assert float(told[1]) < 2.6 < float(told[2])


def test_what_one_lot_does_not_hold_is_not_spooned_out_of_it(house: Opened, tub: str) -> None:
    """The spoons are those of what is left in the lot, not of all that is to be weighed."""
    there = f"{tub}?dose=600+g/L&much=10&measure=l&by=card"
    page = house.client("kahu").get(there).text

    assert re.search(r"Weigh 6000 g: \d+ g of AS-24", page)


def test_a_light_powder_is_warned_of(house: Opened, tub: str) -> None:
    """8 tablespoons of 11.1 g to a gallon are 23 g/L, not the card's 31."""
    weigh(house, 111)

    page = house.client("kahu").get(f"{tub}?dose=8+tbsp+per+gallon&much=12&measure=l").text

    assert "would give about 23 g/L, not 31" in page


def test_nothing_is_planned_past_the_brim(house: Opened, tub: str, recipe: str) -> None:
    page = house.client("kahu").get(f"{tub}?recipe={recipe}&much=17&measure=l").text

    assert "over the brim: 16.0 L fit, it would be 17.0 L" in page
    assert 'name="water.typed"' not in page


def test_what_goes_over_the_brim_is_refused_beside_the_water(house: Opened, tub: str) -> None:
    answer = post(
        house.client("kahu"), f"{tub}?recipe=none", **put_in(house, **{"water.typed": "17"})
    )

    assert answer.status_code == 422
    assert "16.0 L fit, it would be 17.0 L" in answer.text
    assert 'value="17"' in answer.text


def test_a_depth_and_a_number_of_sheets_say_litres(
    house: Opened, tub: str, recipe: str
) -> None:
    """30 mm over 0.3996 m2 are 12.0 L; 60 half sheets take 1.5 L, and 6.0 L must stand."""
    client = house.client("kahu")

    deep = client.get(f"{tub}?recipe={recipe}&much=30&measure=mm").text
    sheets = client.get(f"{tub}?recipe={recipe}&much=60&measure=half_sheets").text

    assert "into 12.0 L of water" in deep
    assert "into 7.5 L of water: the sheets take about 1.5 L, and 6.0 L must stand" in sheets


def test_two_cards_at_once_are_asked_about(house: Opened, tub: str, recipe: str) -> None:
    """Else the typed card would be passed over in silence."""
    page = house.client("kahu").get(f"{tub}?recipe={recipe}&dose=30+g/L&much=12").text

    assert "Two cards" in page
    assert "Weigh" not in page.split('class="live"')[1].split("</div>")[0]
    assert 'name="water.typed"' not in page


def test_typing_a_dose_picks_the_typed_card(house: Opened, tub: str, recipe: str) -> None:
    """A declared behaviour of forms: the field names the choice it stands for."""
    page = house.client("kahu").get(f"{tub}?recipe={recipe}").text
    chosen = re.search(r'data-selects="([^"]+)"', page)

    assert chosen
    assert re.search(rf'id="{chosen[1]}"[^>]*value="typed"', page)
    assert chosen[0] in re.findall(r'<input[^>]*name="dose"[^>]*>', page)[0]


def test_a_contradictory_card_sent_without_a_choice_is_summed_up(
    house: Opened, tub: str
) -> None:
    """On top and beside the choice, as everywhere else; a slip likewise."""
    client = house.client("kahu")
    there = {"recipe": "typed", "dose": CARD, "much": "12"}

    page = client.get(tub, query_string=there).text
    slip = client.get(tub, query_string=there | {"dose": "6 blobs"}).text
    picked = client.get(tub, query_string=there | {"pick": FIRST}).text

    assert "One thing to put right" in page
    assert page.index("The card says two things") < page.index('name="dose"')
    assert 'href="#pick-0"' in page
    assert 'href="#dose"' in slip
    assert "to put right" not in picked


@pytest.mark.parametrize("dose", ["10 oz per gal", "1:8"])
def test_one_thing_that_can_mean_two_is_not_called_a_contradiction(
    house: Opened, tub: str, dose: str
) -> None:
    """The card says one thing; whoever reads it has to say which."""
    there = {"recipe": "typed", "dose": dose, "much": "12"}

    page = house.client("kahu").get(tub, query_string=there).text

    assert "This can mean more than one thing. Pick the one that is meant." in page
    assert "The card says two things" not in page


def test_what_can_be_picked_is_answered_while_it_is_typed(house: Opened, tub: str) -> None:
    """Else there is nothing to tap before the form was sent."""
    client = house.client("kahu")

    def picks(dose: str) -> list[str]:
        answer = client.get(f"{tub}/reckoned", query_string={"dose": dose}).get_json()
        return [one["key"] for one in answer["choices"]]

    assert picks(CARD)[0] == FIRST
    assert picks("1:8") == ["1_1g/8_1ml", "1_1ml/8_1ml"]
    assert picks("30 g/L") == []
    assert picks("6 blobs") == []


def test_a_concentrate_is_mixed_by_its_dose_and_asked_how_far_it_is_diluted(
    house: Opened, tub: str
) -> None:
    """An ounce in a US quart is 30 g/L; of how far it is diluted the card says nothing."""
    dose = "1 oz (weight) per quart, then dilute to taste"
    there = {"recipe": "typed", "dose": dose, "much": "10", "measure": "l", "by": "card"}

    page = house.client("kahu").get(tub, query_string=there).text

    assert "A concentrate, to be diluted: to what?" in page
    assert "Weigh 300 g of AS-24" in page


def test_an_amount_is_understood_as_the_ledger_itself_writes_it(
    house: Opened, tub: str
) -> None:
    """5.3 avoirdupois ounces in a US gallon are 39.7 g/L: nothing is left to ask."""
    there = {"recipe": "typed", "dose": "5.3 oz wt/US gal", "much": "10", "measure": "l"}

    answer = house.client("kahu").get(f"{tub}/reckoned", query_string=there).get_json()

    assert answer["understood"] == ["5.3 oz (weight) to 1 US gallon: 40 g/L"]
    assert answer["choices"] == []


@pytest.mark.parametrize(
    ("much", "measure", "said"),
    [
        ("3 gal", "l", "into 11.4 L of water"),
        ("3 imperial gallons", "l", "into 13.6 L of water"),
        ("10 L", "us_gallon", "into 10.0 L of water"),
        ("10", "l", "into 10.0 L of water"),
    ],
)
def test_a_unit_that_is_typed_beats_the_one_that_is_ticked(
    house: Opened, tub: str, much: str, measure: str, said: str
) -> None:
    """A US gallon is 3.785 L, an imperial one 4.546 L (NIST Handbook 44, from memory)."""
    there = {"recipe": "typed", "dose": "30 g/L", "by": "card", "much": much}

    page = house.client("kahu").get(tub, query_string=there | {"measure": measure}).text

    assert said in page
    assert f'value="{much}"' in page


@pytest.mark.parametrize("much", ["3 gallops", "3 kg", "0 L", "-2"])
def test_how_much_that_is_not_understood_is_said_at_its_field(
    house: Opened, tub: str, much: str
) -> None:
    """Not below another question, as what is typed and what is told must stand together."""
    there = {"recipe": "typed", "dose": "30 g/L", "by": "card", "much": much, "measure": "l"}
    client = house.client("kahu")

    page = client.get(tub, query_string=there).text
    live = client.get(f"{tub}/reckoned", query_string=there).get_json()

    assert 'href="#much"' in page
    assert 'id="much-error"' in page
    assert live["much"]
    assert live["worked"] == ""


def test_what_is_typed_is_read_while_it_is_typed(house: Opened, tub: str) -> None:
    """The same reading as after sending, so that the two never differ."""
    client = house.client("kahu")

    answer = client.get(
        f"{tub}/reckoned", query_string={"dose": CARD, "much": "12", "measure": "l"}
    ).get_json()

    assert "a third apart" in answer["contradictions"][0]
    assert answer["figure"] == ""


def test_the_strength_of_what_goes_in_is_said_while_it_is_typed(
    house: Opened, tub: str
) -> None:
    client = house.client("kahu")

    whole = client.get(f"{tub}/strength", query_string=put_in(house)).get_json()
    half = client.get(f"{tub}/strength", query_string={"name": "R-A1"}).get_json()

    assert whole["figure"].startswith("about 40 g/L")
    assert half == {}


def test_the_safety_card_stands_before_the_button(house: Opened, tub: str) -> None:
    """With whom to call: the studio's own numbers."""
    page = house.client("kahu").get(f"{tub}?recipe=none").text

    assert "Emergency: 112. Poison centre: 0555 0100." in page
    assert page.index("at least 15 minutes") < page.index("Write it")


def test_the_cautions_stand_open_before_the_plan_and_before_the_steps(
    house: Opened, tub: str, recipe: str
) -> None:
    """A fold that is shut, or a caution after the work, is read by nobody."""
    client = house.client("kahu")

    first = client.get(tub).text
    asked = client.get(f"{tub}?recipe=typed&dose=12+g/L&much=12&measure=l").text
    planned = client.get(f"{tub}?recipe={recipe}&much=12&measure=l").text

    assert "By which do you mix?" in asked
    for page in (first, asked):
        assert page.index('<details class="sheet care" open>') < page.index('name="recipe"')
    caution = planned.index("Powder: dust mask on")
    assert planned.index("Then mix it") < caution < planned.index("<ol>")
    assert "Emergency: 112. Poison centre: 0555 0100." in planned
    assert '<details class="sheet care"' not in planned


def test_a_bad_field_keeps_what_was_typed(house: Opened, tub: str) -> None:
    wrong = put_in(house, **{"salt.0.amount.typed": "a lot", "name": "R-A9"})

    answer = post(house.client("kahu"), f"{tub}?recipe=none", **wrong)

    assert answer.status_code == 422
    assert 'value="a lot"' in answer.text
    assert 'value="R-A9"' in answer.text
    assert "A number, please" in answer.text


def test_a_second_post_writes_nothing_new(house: Opened, tub: str) -> None:
    """A double tap on a slow evening."""
    client = house.client("kahu")
    entry = house.new_id()

    first = post(client, f"{tub}?recipe=none", **put_in(house, entry_id=entry))
    again = post(client, f"{tub}?recipe=none", **put_in(house, entry_id=entry))

    assert first.headers["Location"] == again.headers["Location"]


def test_a_tub_in_a_bare_house_can_be_mixed_in(bare: Opened) -> None:
    """No studio yet: the page says where to begin."""
    page = bare.client("kahu").get("/mix")

    assert page.status_code == 200
    assert "/house" in page.text


def test_nobody_mixes_without_signing_in(house: Opened, tub: str) -> None:
    for there in ("/mix", tub, f"{tub}/reckoned", f"{tub}/strength"):
        answer = house.client().get(there)

        assert answer.status_code == 302
        assert "/sign-in" in answer.headers["Location"]


def test_an_unknown_tub_is_not_found(house: Opened) -> None:
    assert house.client("kahu").get(f"/mix/{house.made['alum']}").status_code == 404


def test_a_wrong_method_is_refused(house: Opened, tub: str) -> None:
    assert house.client("kahu").put(tub).status_code in (400, 405)


@pytest.mark.parametrize(
    "query", ["", "?recipe=none", "?dose=6+tbsp+(1/4+cup)+per+gallon&much=12"]
)
def test_it_is_said_in_turkish(house: Opened, tub: str, query: str) -> None:
    client = house.client("kahu")
    client.set_cookie("coop-lang", "tr")

    page = client.get(f"{tub}{query}")

    assert page.status_code == 200
    assert 'lang="tr"' in page.text


def test_odd_addresses_are_no_fault_of_the_server(house: Opened, tub: str) -> None:
    """An address is typed, cut off or made up."""
    client = house.client("kahu")

    for query in (
        "?much=x&measure=y&recipe=z&lot=q&by=w&pick=1",
        "?dose=" + "9" * 200,
        "?much=1e9",
    ):
        assert client.get(tub + query).status_code == 200
