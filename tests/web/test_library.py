"""The recipes of the co-operative: the list, one card, two side by side, what if."""

import re
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.cards import CARDS, EDITION_B, POTASH, put_up, reprint
from tests.support.opened import PASSWORD, Opened, quantity
from tests.web.test_measures import choose
from tests.web.test_mix_salts import described
from tests.web.test_queries import asked

STATEMENTS_MAX = 20


def text_of(page: str) -> str:
    """Return what a page says, without its marks, in one line."""
    plain = re.sub(r"<(script|style|svg).*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", plain)).split())


def see(client: FlaskClient, there: str) -> str:
    answer = client.get(there)
    assert answer.status_code == 200, answer.status_code
    return text_of(answer.text)


# ---- the list


def test_every_member_sees_every_recipe_by_what_is_made_and_what_it_is_for(
    house: Opened,
) -> None:
    put_up(house)
    page = see(house.client("kahu"), "/recipes")

    for heading in (
        "Alum, for paper", "Alum, for fabric", "Alum, to clear rinse water", "Size", "Paste",
    ):  # fmt: skip
        assert heading in page
    assert "8 tbsp (1/3 cup) per gallon about 31 g/L (23 to 42)" in page
    assert "8 US tablespoons to 1 US gallon" in page
    assert "The card says two things; this one holds." in page
    assert "15 g to 100 g of dry cloth: 15 % of its weight" in page
    assert "Publish a recipe" not in page


def test_what_to_know_before_stands_at_the_card(house: Opened) -> None:
    """A cloth recipe, a clearing one, a concentrate, a paste and a softener are told apart."""
    put_up(house)
    page = see(house.client("kahu"), "/recipes")

    assert page.count("This card is for fabric, not for paper.") == 2
    assert "This card clears rinse water: no paper or cloth takes colour by it." in page
    assert "it makes about 6 times as much at the usual 5 g/L" in page
    assert "Over 2 g/L: find out first what this softener is." in page
    assert "what is pasted with it still wants its own alum" in page


def test_one_kind_of_bath_can_be_looked_at_alone(house: Opened) -> None:
    put_up(house, "size", "weighed")
    page = see(house.client("kahu"), "/recipes?what=size")

    assert "house size" in page
    assert "by weight" not in page
    assert "by weight" in see(house.client("kahu"), "/recipes?what=nonsense")


def test_a_list_without_recipes_says_so(house: Opened) -> None:
    assert "Nobody has published a recipe yet." in see(house.client("kahu"), "/recipes")


def test_a_long_list_goes_on_and_asks_no_more_of_the_database(house: Opened) -> None:
    """Nine questions for ten recipes, and for three hundred."""
    client = house.client("kahu")
    put_up(house)
    with asked(house) as few:
        client.get("/recipes")
    for number in range(60):
        house.say("recipe.published", **(CARDS["weighed"] | {"name": f"card {number:03}"}))
    with asked(house) as many:
        first = client.get("/recipes").text
    second = client.get("/recipes?page=2").text

    assert len(many) == len(few) <= STATEMENTS_MAX
    assert "On to the next page" in first
    assert "Back one page" in second
    assert first.count("index-card") + second.count("index-card") == 70
    assert client.get("/recipes?page=9999999").status_code == 200


# ---- one card


def test_a_card_stands_as_it_is_written_beside_as_it_is_understood(house: Opened) -> None:
    ids = put_up(house, "old")
    page = see(house.client("kahu"), f"/recipes/{ids['old']}")

    assert "As it is written 8 tbsp (1/3 cup) per gallon" in page
    assert "As it is understood about 31 g/L (23 to 42) 8 US tablespoons to 1 US gallon" in page
    assert "105 mmol of aluminium per litre" in page
    assert "31.3 g/L of aluminium sulfate (the card's)" in page
    assert "potash alum will not do, it says" in page


def test_a_settled_contradiction_stays_in_sight_with_who_settled_it_and_when(
    house: Opened,
) -> None:
    """Eight tablespoons are half a cup: a third of a cup is two thirds of that."""
    ids = put_up(house, "old")
    page = see(house.client("kahu"), f"/recipes/{ids['old']}")

    assert "Which one holds? The card says two things. They are a third apart." in page
    assert "Amina K. settled it on 2025-09-17 18:00." in page
    assert "This one holds 8 US tablespoons to 1 US gallon : about 31 g/L" in page
    assert "Not this one 1/3 US cup to 1 US gallon : about 21 g/L" in page
    assert "A bath by it would have 67 % of the strength." in page


def test_a_side_other_than_the_studios_is_said_in_words_and_by_a_shape(house: Opened) -> None:
    """Most cards mark the bare side, a school kit the coated one: never by colour alone."""
    ids = put_up(house, "old", "weighed")
    client = house.client("kahu")
    answer = client.get(f"/recipes/{ids['old']}").text

    assert (
        "By this card the mark is on the alumed side; in Ropewalk the mark is on the bare "
        "side. Mark and lay as the studio does." in text_of(answer)
    )
    assert re.search(r'side-differs"><svg', answer)
    assert "side-differs" not in client.get(f"/recipes/{ids['weighed']}").text
    listed = client.get("/recipes").text
    beside = client.get(f"/recipes/compare?one={ids['old']}&other={ids['weighed']}").text
    for page in (listed, beside):
        assert page.count("in Ropewalk the mark is on the bare side") == 1


def test_every_salt_stands_with_its_lines_and_what_is_on_the_shelf(house: Opened) -> None:
    """64 g of potash alum do what 40 g of the sulfate do; its lines are 48 and 40."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="PA-3",
        salt=POTASH,
        weight=quantity(2, "kg"),
    )
    ids = put_up(house, "weighed")
    page = see(house.client("kahu"), f"/recipes/{ids['weighed']}")

    assert "potash alum (pickling alum) 64 g/L 64 g/L 48 g/L 40 g/L PA-3, Ropewalk" in page
    assert (
        "aluminium sulfate, 14-hydrate (papermaker's alum) the card's 40 g/L 40 g/L 30 g/L "
        "25 g/L AS-24, Ropewalk" in page
    )
    assert "Nothing is changed by itself" in page


def test_every_kind_of_a_bare_measure_is_said(house: Opened) -> None:
    ids = put_up(house, "old")
    page = see(house.client("kahu"), f"/recipes/{ids['old']}")

    assert "US gallon, 3.785 L as read 31 g/L imperial gallon, 4.546 L 26 g/L" in page
    assert "Australian spoons, tablespoon 20 mL 42 g/L" in page


def what_if(client: FlaskClient, recipe: str, **said: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(
        f"/recipes/{recipe}/what-if", query_string=said
    ).get_json()
    return found


def test_ten_weighed_spoons_say_what_the_cards_spoons_come_to(house: Opened) -> None:
    """11.1 g a tablespoon, 0.75 g/mL: 23.5 g/L by the common table, of the 31.3 wanted."""
    ids = put_up(house, "old", "weighed")
    client = house.client("kahu")
    spooned = what_if(client, ids["old"], ten="111", spoon="us_tbsp")
    weighed = what_if(client, ids["weighed"], ten="148", spoon="us_tbsp")

    assert spooned["spoon"] == (
        "A level US tablespoon of it weighs 11.1 g. The card's spoons come to 23 g/L. That is "
        "75 % of the 31 g/L its baths are judged by."
    )
    assert weighed["spoon"].endswith(
        "The card's grams are 2 1/2 level US tablespoons to the litre."
    )
    assert "23 g/L" in see(client, f"/recipes/{ids['old']}?ten=111")


def test_a_lot_of_that_salt_is_offered_once_its_spoon_was_weighed(house: Opened) -> None:
    ids = put_up(house, "old", "potash")
    client, lot = house.client("kahu"), house.made["alum"]
    before = client.get(f"/recipes/{ids['old']}").text
    house.say(
        "lot.spoon_weighed", lot=lot, spoon_count="10", spoon="us_tbsp",
        weight=quantity(148, "g"),
    )  # fmt: skip
    after = client.get(f"/recipes/{ids['old']}").text

    assert f'value="{lot}"' not in before
    assert f'value="{lot}"' in after
    assert "come to 31 g/L" in what_if(client, ids["old"], lot=lot)["spoon"]
    assert f'value="{lot}"' not in client.get(f"/recipes/{ids['potash']}").text


def test_so_much_cloth_takes_so_much_powder(house: Opened) -> None:
    """15 % of 500 g cotton is 75 g, whatever the litres."""
    ids = put_up(house, "by_cloth")
    client = house.client("kahu")

    assert what_if(client, ids["by_cloth"], cloth="500")["cloth"] == (
        "Weigh 75 g of potash alum for 500 g of dry cloth."
    )
    assert "68 g" in what_if(client, ids["by_cloth"], cloth="1", cloth_unit="lb")["cloth"]


@pytest.mark.parametrize(
    ("card", "said", "fault"),
    [
        ("old", {"ten": "5"}, "would weigh 0.5 g; 11 to 20 g is usual. Ten of them, or one?"),
        ("old", {"ten": "1110"}, "A level US tablespoon of it would weigh 111 g; 11 to 20 g"),
        ("size", {"ten": "8.4"}, "would weigh 0.8 g; 7 to 10 g is usual."),
        ("old", {"ten": "many"}, "A number, please: 12, 0.5, 0,5 or 1/2."),
        ("by_cloth", {"cloth": "200000"}, "More than 0, and at most 100000, please."),
        ("by_cloth", {"cloth": "101", "cloth_unit": "kg"}, "and at most 100, please."),
        ("by_cloth", {"cloth": "0"}, "More than 0, and at most 100000, please."),
        ("by_cloth", {"cloth": "500", "cloth_unit": "us_gallon"}, ""),
        ("old", {"ten": "148", "spoon": "m2"}, ""),
        ("old", {"ten": "2368", "spoon": "us_cup"}, ""),
        ("size", {"ten": "84"}, ""),
    ],
)
def test_what_makes_no_sense_is_said_and_kept(
    house: Opened, card: str, said: dict[str, str], fault: str
) -> None:
    (recipe,) = put_up(house, card).values()
    client = house.client("kahu")
    answer = client.get(f"/recipes/{recipe}", query_string=said)

    assert answer.status_code == 200
    faults = what_if(client, recipe, **said)["faults"]
    assert len(faults) == bool(fault)
    assert fault in "".join(faults)
    assert fault in text_of(answer.text)
    if fault:
        assert f'value="{next(iter(said.values()))}"' in answer.text


def test_us_measures_are_said_to_whoever_chose_them(house: Opened) -> None:
    """15.9 g/L are 2.1 oz to the US gallon: NIST Handbook 44, appendix C."""
    ids = put_up(house, "leaflet", "by_cloth")
    reprint(house, ids["leaflet"], "leaflet", **EDITION_B)
    client = house.client("kahu")
    choose(house, shown="us")
    page = see(client, f"/recipes/{ids['leaflet']}")
    cloth = see(client, f"/recipes/{ids['by_cloth']}?cloth=1&cloth_unit=lb")

    assert "2.1 oz wt/US gal" in page
    assert " g/L" not in page
    assert "Weigh 2.40 oz of potash alum for 1.00 lb of dry cloth." in cloth


def test_in_us_measures_all_goes_by_the_gallon_and_ten_spoons_by_ounces(house: Opened) -> None:
    """An ounce is 28.35 g, a US gallon 3.785 L: NIST Handbook 44, appendix C."""
    ids = put_up(house, "old", "weighed", "concentrate", "by_cloth")
    client = house.client("kahu")
    choose(house, shown="us")
    spooned = what_if(client, ids["old"], ten="5.22", spoon="us_tbsp")["spoon"]
    weighed = what_if(client, ids["weighed"], ten="148 g", spoon="us_tbsp")["spoon"]
    page = see(client, f"/recipes/{ids['concentrate']}")
    cloth = client.get(f"/recipes/{ids['by_cloth']}").text

    assert re.search(r'<select[^>]*name="cloth_unit"[^>]*><option selected value="oz">', cloth)
    assert "come to 4.2 oz wt/US gal" in spooned
    assert weighed.endswith("weight is 10 level US tablespoons to the US gallon.")
    assert "it makes about 6 times as much at the usual 0.7 oz wt/US gal." in page


def test_a_concentrate_is_said_once(house: Opened) -> None:
    ids = put_up(house, "concentrate")

    page = see(house.client("kahu"), f"/recipes/{ids['concentrate']}")
    assert len(re.findall("concentrate", page, re.IGNORECASE)) == 1


def test_a_card_that_calls_itself_a_concentrate_is_said_to_be_one(house: Opened) -> None:
    """40 g/L is a usual dose of alum: only the card's own word tells that it is diluted."""
    body = CARDS["weighed"] | {"dose": "40 g/L concentrate"}
    recipe = house.say("recipe.published", **body)
    client = house.client("kahu")

    for there in ("/recipes", f"/recipes/{recipe}"):
        assert see(client, there).count("The card calls it a concentrate") == 1


def test_older_editions_are_reached_and_say_that_they_are_over(house: Opened) -> None:
    ids = put_up(house, "leaflet")
    reprint(house, ids["leaflet"], "leaflet", **EDITION_B)
    client = house.client("kahu")
    newest = client.get(f"/recipes/{ids['leaflet']}").text
    older = see(client, f"/recipes/{ids['leaflet']}?edition={ids['leaflet']}")

    assert "2 editions" in see(client, "/recipes")
    assert f"/recipes/{ids['leaflet']}?edition={ids['leaflet']}" in newest
    assert "An older edition: baths are made by it no more since 2025-09-18 18:00." in older
    assert "edition A, 2004" in older
    assert client.get(f"/recipes/{ids['leaflet']}?edition=nothing").status_code == 404


# ---- two side by side


def test_two_editions_of_one_leaflet_differ_six_times(house: Opened) -> None:
    """2 teaspoons a gallon, then 60 g: 6.1 times, by the common table of traps."""
    ids = put_up(house, "leaflet")
    reprint(house, ids["leaflet"], "leaflet", **EDITION_B)
    there = f"/recipes/compare?one={ids['leaflet']}.{ids['leaflet']}&other={ids['leaflet']}"
    page = see(house.client("kahu"), there)

    assert "The second is 6.1 times as strong as the first." in page
    assert (
        "If both meant the same, a level US teaspoon of it would weigh 30 g; 3.7 to 6.7 g is "
        "usual. They do not mean the same." in page
    )
    assert "The first cloth leaflet, edition A, 2004" in page
    assert "The second cloth leaflet, edition B, 2011" in page
    assert "As written ≠ differs 2 tsp per gallon 60 g per gallon" in page


def test_the_same_dose_is_said_in_the_others_salt(house: Opened) -> None:
    ids = put_up(house, "weighed", "potash")
    there = f"/recipes/compare?one={ids['weighed']}&other={ids['potash']}"
    page = see(house.client("kahu"), there)

    assert "They come to the same strength." in page
    assert (
        "40 g/L of aluminium sulfate hold as much aluminium as 64 g/L of potash alum." in page
    )
    assert "Of ≠ differs aluminium sulfate potash alum" in page


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("size", "weighed", "The first makes size, the second alum: not to be compared."),
        ("by_cloth", "weighed", "One goes by the weight of the cloth"),
        ("leaflet", "weighed", "The first is for fabric, the second for paper."),
        ("size", "concentrate", "The first rests 12 hours, the second as long as its powder"),
        ("size", "concentrate", "never used past 10 days, the second past the house's days."),
        ("old", "potash", "by 31.3 g/L of aluminium sulfate, by the second by the house's"),
        ("old", "leaflet", "by the second by no strength, as nobody said how strong."),
        ("old", "leaflet", "not judged: nobody said how strong"),
        ("potash", "leaflet", "judged by the house's strength, by the second by no strength,"),
        ("old", "weighed", "a level US tablespoon of it weighs 18.9 g; 11 to 20 g is usual."),
    ],
)
def test_what_differs_is_said_in_one_sentence_each(
    house: Opened, one: str, other: str, said: str
) -> None:
    ids = put_up(house, one, other)

    there = f"/recipes/compare?one={ids[one]}&other={ids[other]}"
    assert said in see(house.client("kahu"), there)


def test_nothing_is_compared_until_both_are_chosen(house: Opened) -> None:
    ids = put_up(house, "old")
    client = house.client("kahu")

    for query in ("", f"?one={ids['old']}", f"?one={ids['old']}&other=nothing"):
        assert "What differs" not in see(client, f"/recipes/compare{query}")


@pytest.mark.parametrize("lang", ["en", "tr"])
def test_every_card_can_be_laid_beside_every_other(house: Opened, lang: str) -> None:
    """No pair of kinds, salts, goods or measures is without its words."""
    ids = put_up(house)
    client = house.client("kahu")
    client.set_cookie("coop-lang", lang)

    for one in ids.values():
        assert client.get(f"/recipes/{one}").status_code == 200
        for other in ids.values():
            there = f"/recipes/compare?one={one}&other={other}"
            assert client.get(there).status_code == 200


@pytest.mark.parametrize("warmth_c", [-4, 60])
def test_a_frosty_or_a_hot_store_takes_no_page_away(house: Opened, warmth_c: int) -> None:
    """Tables of what dissolves reach from 0 to 40 °C, the places of studios further."""
    ids = put_up(house, "weighed", "potash")
    described(house, store_coldest=quantity(warmth_c, "celsius"))
    client = house.client("kahu")

    for there in (
        "/recipes", f"/recipes/{ids['potash']}",
        f"/recipes/compare?one={ids['weighed']}&other={ids['potash']}",
    ):  # fmt: skip
        said = "of what dissolves at 0 °C" in see(client, there)
        assert said == (warmth_c < 0), there


# ---- in a browser


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_screens_are_for_everybody_and_answer_while_one_types(
    house: Opened, live: Any, pages: Pages, scheme: Any
) -> None:
    ids = put_up(house)
    reprint(house, ids["leaflet"], "leaflet", **EDITION_B)
    origin = live(house.app())
    for shape, page in (
        ("phone", pages.phone(origin, color_scheme=scheme)),
        ("desk", pages.desk(origin, color_scheme=scheme)),
    ):
        page.goto("/sign-in")
        page.fill("[name=sign_in_name]", "kahu")
        page.fill("[name=password]", PASSWORD)
        page.click("main button.main")
        for name, there in (
            ("recipes", "/recipes"),
            ("recipe", f"/recipes/{ids['old']}"),
            ("recipe-by-cloth", f"/recipes/{ids['by_cloth']}"),
            ("recipe-edition", f"/recipes/{ids['leaflet']}?edition={ids['leaflet']}"),
            ("recipe-compare", f"/recipes/compare?one={ids['old']}&other={ids['potash']}"),
        ):
            page.goto(there)
            assert_accessible(page)
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wide <= 0, there
            hidden = page.evaluate(
                "[...document.querySelectorAll('.roll:has(.salts)')]"
                ".map((one) => one.scrollWidth - one.clientWidth)"
            )
            assert max(hidden, default=0) <= 0, there
            screenshot(page, f"{name}-{shape}-{scheme}")
        page.goto(f"/recipes/{ids['old']}")
        page.fill("[name=ten]", "111")
        page.wait_for_selector("text=The card's spoons come to 23 g/L.")
