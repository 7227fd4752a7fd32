"""Recipes: the card as written, the reading that was picked, what its baths are judged by."""

import re
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.actions.mix import statement_of
from coop.ledger.states import RecipeState
from coop.units.number import unwire
from tests.support.browser import Pages
from tests.support.forms import Typed, form_of, send, send_again
from tests.support.opened import PASSWORD, Opened
from tests.support.photos import CAMERA, drawn, saved, taken

NEW = "/house/recipes/new"
CARD: Typed = {
    "name": "the old card",
    "dose": "8 tbsp per gallon",
    "salt": "aluminium_sulfate_14",
    "source": "a card in the drawer",
}
TWO_THINGS = "6 tbsp per gallon or 1 tbsp per cup"


def publish(house: Opened, client: FlaskClient, said: Typed) -> RecipeState:
    answer = send(client, NEW, said)
    assert answer.status_code == 303, answer.text
    return newest(house)


def newest(house: Opened) -> RecipeState:
    with house.desk() as desk:
        recipes: tuple[RecipeState, ...] = desk.journal.listed("recipe")
    return max(recipes, key=lambda one: one.edition)


def chips(page: str, name: str) -> list[str]:
    """Return the values of a row of chips."""
    return re.findall(rf'<input[^>]*name="{name}"[^>]*value="([^"]*)"', page)


def test_a_card_is_published_with_what_it_was_read_as(house: Opened) -> None:
    """Eight level US tablespoons to a US gallon; 14.8 g a spoon, in 3.785 L: 31.3 g/L."""
    made = publish(house, house.client("amina"), CARD)

    assert (made.name, made.dose, made.salt) == (CARD["name"], CARD["dose"], CARD["salt"])
    assert (made.amount_n, made.amount_unit) == ("8", "us_tbsp")
    assert (made.per_n, made.per_unit) == ("1", "us_gallon")
    assert made.target_g_per_l == pytest.approx(8 * 14.8 / 3.785411784, abs=0.05)
    assert made.source == "a card in the drawer"


def test_what_was_published_is_said_with_its_strength(house: Opened) -> None:
    client = house.client("amina")
    publish(house, client, CARD)
    page = client.get("/house").text

    assert "the old card is published: about 31 g/L" in page
    assert "judged by 31.3 g/L" in page


def test_a_weighed_card_has_no_doubt(house: Opened) -> None:
    made = publish(house, house.client("amina"), CARD | {"dose": "30 g/L"})

    assert (made.amount_n, made.amount_unit, made.per_n, made.per_unit) == (
        "30",
        "g",
        "1",
        "l",
    )
    assert made.target_g_per_l == 30


def test_a_card_that_contradicts_itself_is_stopped_until_one_reading_is_picked(
    house: Opened,
) -> None:
    """6 tbsp to a gallon is 23 mL/L, 1 tbsp to a cup 62.5 mL/L: nobody may guess."""
    client = house.client("amina")
    stopped = send(client, NEW, CARD | {"dose": TWO_THINGS})

    assert stopped.status_code == 422
    assert "The card says two things" in stopped.text
    assert "Pick the reading that holds." in stopped.text
    keys = chips(stopped.text, "pick")
    assert len(keys) == 2
    assert form_of(stopped.text).fields["name"] == ["the old card"]
    with house.desk() as desk:
        assert desk.journal.listed("recipe") == ()

    answer = send_again(client, NEW, stopped.text, {"pick": keys[1]})
    assert answer.status_code == 303
    made = newest(house)
    assert (made.amount_n, made.per_unit) == ("1", "us_cup")
    assert made.dose == TWO_THINGS


def test_a_reading_picked_for_another_text_does_not_hold(house: Opened) -> None:
    """Whoever changes the text after picking is asked again."""
    client = house.client("amina")
    stopped = send(client, NEW, CARD | {"dose": TWO_THINGS})
    keys = chips(stopped.text, "pick")
    other: Typed = {"dose": "7 tbsp per gallon or 1 tbsp per cup", "pick": keys[0]}

    assert send_again(client, NEW, stopped.text, other).status_code == 422


def test_without_kinds_of_measure_every_reading_is_offered(bare: Opened) -> None:
    """Nobody said which gallon: the ledger asks instead of taking one."""
    client = bare.client("amina")
    asked = send(client, NEW, CARD)

    assert asked.status_code == 422
    assert "Which gallon is meant?" in asked.text
    keys = chips(asked.text, "pick")
    assert len(keys) > 2
    chosen = next(key for key in keys if "imp_gallon" in key and "us_tbsp" in key)
    assert send_again(client, NEW, asked.text, {"pick": chosen}).status_code == 303
    assert newest(bare).per_unit == "imp_gallon"


@pytest.mark.parametrize("dose", ["a handful", "8 tbsp", "30 kg/L", "x" * 81])
def test_what_is_not_understood_is_said_beside_the_card_and_kept(
    house: Opened, dose: str
) -> None:
    answer = send(house.client("amina"), NEW, CARD | {"dose": dose})

    assert answer.status_code == 422
    assert 'id="dose-error"' in answer.text
    assert form_of(answer.text).fields["dose"] == [dose]


def test_all_slips_are_told_at_once(house: Opened) -> None:
    """Nobody wants to be sent back three times, and to choose the picture each time."""
    said: Typed = {
        "dose": TWO_THINGS,
        "judged_by": "figure",
        "dated": "04/10/1998",
        "printed": "third printing, " * 3,
    }
    answer = send(house.client("amina"), NEW, said | picture(taken()))

    for field in ("name", "salt", "pick", "target_g_per_l", "dated", "printed", "card"):
        assert answer.text.count(f'id="{field}-error"') == 1, field
    assert "7 things to put right" in answer.text


def test_its_own_strength_is_taken_in_either_measure(house: Opened) -> None:
    """4 oz to the US gallon are 29.96 g/L: NIST Handbook 44, appendix C."""
    client = house.client("amina")
    said: Typed = {"judged_by": "figure", "target_g_per_l": "4 oz wt/US gal"}
    made = publish(house, client, CARD | said)

    assert made.target_g_per_l == pytest.approx(29.96, abs=0.005)


@pytest.mark.parametrize(
    ("said", "target"),
    [
        ({"judged_by": "house"}, None),
        ({"judged_by": "figure", "target_g_per_l": "27,5"}, 27.5),
        ({"judged_by": "card", "target_g_per_l": "99"}, 31.3),
    ],
)
def test_a_person_says_what_its_baths_are_judged_by(
    house: Opened, said: Typed, target: float | None
) -> None:
    made = publish(house, house.client("amina"), CARD | said)

    assert made.target_g_per_l == target


def test_of_a_range_the_middle_is_kept(house: Opened) -> None:
    """So that what is mixed by the card is what its baths are judged by."""
    made = publish(house, house.client("amina"), CARD | {"dose": "6-8 tbsp per gallon"})

    assert (made.amount_n, made.amount_unit) == ("7", "us_tbsp")
    assert float(statement_of(made).g_per_l.middle) == pytest.approx(
        made.target_g_per_l, abs=0.05
    )


def test_an_apothecary_ounce_is_kept_in_grams(house: Opened) -> None:
    """480 grains of 64.79891 mg are 31.1035 g: NIST Handbook 44, appendix C."""
    made = publish(house, house.client("amina"), CARD | {"dose": "1 troy ounce per litre"})

    assert made.amount_unit == "g"
    assert unwire(made.amount_n) == pytest.approx(Fraction("31.1034768"), abs=1e-4)


@pytest.mark.parametrize(
    ("said", "judged_by"),
    [
        ({}, "card"),
        ({"judged_by": "house"}, "house"),
        ({"judged_by": "figure", "target_g_per_l": "27.5"}, "figure"),
    ],
)
def test_changing_a_card_shows_what_stands(house: Opened, said: Typed, judged_by: str) -> None:
    client = house.client("amina")
    made = publish(house, client, CARD | said)
    there = f"/house/recipes/{made.id}"
    shown = form_of(client.get(there).text).fields
    house.later(minutes=5)
    answer = send(client, there, {"source": "a book"})

    assert shown["dose"] == ["8 tbsp per gallon"]
    assert shown["judged_by"] == [judged_by]
    assert answer.status_code == 303
    after: RecipeState = house.state("recipe", made.id)
    assert (after.source, after.target_g_per_l) == ("a book", made.target_g_per_l)
    assert after.edition != made.edition


def test_the_picked_reading_is_still_picked_when_a_card_is_changed(house: Opened) -> None:
    client = house.client("amina")
    stopped = send(client, NEW, CARD | {"dose": TWO_THINGS})
    keys = chips(stopped.text, "pick")
    send_again(client, NEW, stopped.text, {"pick": keys[1]})
    made = newest(house)
    page = client.get(f"/house/recipes/{made.id}").text

    assert form_of(page).fields["pick"] == [keys[1]]
    house.later(minutes=5)
    assert send(client, f"/house/recipes/{made.id}").status_code == 303
    assert house.state("recipe", made.id).per_unit == "us_cup"


def read(client: FlaskClient, dose: str) -> Any:
    filled = form_of(client.get(NEW).text).fields
    return client.get("/house/recipes/read", query_string=filled | {"dose": dose}).get_json()


def test_the_reader_answers_while_one_types(house: Opened) -> None:
    client = house.client("amina")

    assert "about 31 g/L" in " ".join(read(client, "8 tbsp per gallon")["understood"])
    assert read(client, TWO_THINGS)["contradictions"]
    assert read(client, "a handful")["fault"]
    assert not read(client, "")["fault"]


def test_only_a_coordinator_publishes(house: Opened) -> None:
    client = house.client("kahu")

    assert client.get(NEW).status_code == 403
    assert house.client().get(NEW).status_code == 302


def test_a_card_is_read_in_turkish_without_a_stumble(house: Opened) -> None:
    client = house.client("amina")
    client.set_cookie("coop-lang", "tr")

    assert send(client, NEW, CARD | {"dose": TWO_THINGS}).status_code == 422
    assert send(client, NEW, CARD).status_code == 303


SIZE_CARD: Typed = {
    "what": "size",
    "powder": "carrageenan",
    "name": "house size",
    "dose": "2 level tbsp per gallon",
    "rest_hours": "12",
    "look_again_warm_days": "4",
    "do_not_use_warm_days": "6",
    "cap_days": "10",
}


def test_a_recipe_of_size_says_powder_rest_and_days(house: Opened) -> None:
    """
    Two level tablespoons of carrageenan to a US gallon are 4.4 g/L.

    Source: 8.4 g a tablespoon by an instruction page's '1 lb makes 27 gallons at 2
    tablespoons a gallon'.
    """
    client = house.client("amina")
    made = publish(house, client, SIZE_CARD)

    assert (made.what, made.powder, made.salt, made.target_g_per_l) == (
        "size", "carrageenan", None, None,
    )  # fmt: skip
    assert (made.rest_hours, made.cap_days) == (12, 10)
    assert (made.look_again_warm_days, made.do_not_use_warm_days) == (4, 6)
    assert "house size is published: about 4.4 g/L" in client.get("/house").text


def test_what_is_of_alum_is_left_out_of_a_size(house: Opened) -> None:
    """Whoever ticks a salt first and then size has said a size."""
    typed = SIZE_CARD | {"salt": "potash_alum", "judged_by": "figure", "target_g_per_l": "30"}
    made = publish(house, house.client("amina"), typed)

    assert (made.salt, made.target_g_per_l) == (None, None)


def test_what_is_of_size_is_left_out_of_alum(house: Opened) -> None:
    made = publish(house, house.client("amina"), SIZE_CARD | CARD | {"what": "alum"})

    assert (made.what, made.powder, made.rest_hours, made.cap_days) == (
        "alum", None, None, None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("what", "powder"), [("gall_water", "gall"), ("paste", "starch"), ("softener", "softener")]
)
def test_the_other_baths_have_one_powder_each(house: Opened, what: str, powder: str) -> None:
    typed: Typed = {"what": what, "name": "the drum", "dose": "15 g/L"}
    made = publish(house, house.client("amina"), typed)

    assert (made.what, made.powder, made.cap_days) == (what, powder, None)


def test_a_card_of_gall_may_be_in_parts(house: Opened) -> None:
    """1 part gall to 7 parts water stands so on an instruction page."""
    client = house.client("amina")
    made = publish(house, client, {"what": "gall_water", "name": "veins", "dose": "1:7"})
    there = f"/make?what=gall_water&vessel={house.made['tub']}&recipe={made.id}"

    assert (made.amount_n, made.amount_unit, made.per_n, made.per_unit) == (
        "1",
        "ml",
        "7",
        "ml",
    )
    assert "Measure 100 mL of gall" in client.get(f"{there}&much=700&measure=ml").text
    assert "1:7" in client.get(f"/house/recipes/{made.id}").text


def test_a_size_of_nothing_and_an_alum_of_no_salt_are_asked_for_it(house: Opened) -> None:
    client = house.client("amina")
    size = send(client, NEW, SIZE_CARD | {"powder": []})
    alum = send(client, NEW, CARD | {"salt": []})

    assert (size.status_code, alum.status_code) == (422, 422)
    assert "Of which powder: This is needed." in size.text
    assert "Of which salt: This is needed." in alum.text


def test_the_days_of_a_size_come_in_order(house: Opened) -> None:
    """Not to be used before it is even looked at again: one of the two is a slip."""
    answer = send(house.client("amina"), NEW, SIZE_CARD | {"do_not_use_warm_days": "3"})

    assert answer.status_code == 422
    assert "Not before the days after which it is looked at again." in answer.text


def test_a_recipe_of_size_is_shown_as_it_was_typed(house: Opened) -> None:
    client = house.client("amina")
    made = publish(house, client, SIZE_CARD)
    fields = form_of(client.get(f"/house/recipes/{made.id}").text).fields

    for name, said in SIZE_CARD.items():
        assert fields[name] == [said], name


def test_only_alum_is_judged_by_a_strength(house: Opened) -> None:
    """The house's strength is one of alum; a size goes by its days."""
    client = house.client("amina")
    publish(house, client, SIZE_CARD)

    assert "judged by" not in client.get("/house").text


def test_a_rinse_has_no_recipe(house: Opened) -> None:
    """It is water alone."""
    assert "rinse" not in chips(house.client("amina").get(NEW).text, "what")


CLOTH: Typed = CARD | {
    "name": "cotton by weight",
    "dose": "15 % of the dry weight",
    "made_for": "fabric",
    "salt": "potash_alum",
    "judged_by": "figure",
    "target_g_per_l": "30",
}


def test_a_card_says_what_it_is_for_its_edition_date_and_side(house: Opened) -> None:
    """Two editions of one leaflet were six times apart: which one is it?"""
    said: Typed = {
        "made_for": "fabric",
        "printed": "edition B",
        "dated": "2011-04",
        "side": "both_sides",
    }
    client = house.client("amina")
    made = publish(house, client, CARD | said)
    shown = form_of(client.get(f"/house/recipes/{made.id}").text).fields

    assert (made.made_for, made.printed, made.dated, made.side) == tuple(said.values())
    assert {name: shown[name] for name in said} == {name: [one] for name, one in said.items()}


def test_a_card_that_says_none_of_it_is_for_paper(house: Opened) -> None:
    made = publish(house, house.client("amina"), CARD)

    assert (made.made_for, made.printed, made.dated, made.side) == ("paper", "", "", None)


def test_a_date_that_may_be_two_days_is_sent_back(house: Opened) -> None:
    """04/10 is the fourth of October here and the tenth of April there."""
    answer = send(house.client("amina"), NEW, CARD | {"dated": "04/10/2011"})

    assert answer.status_code == 422
    assert form_of(answer.text).fields["dated"] == ["04/10/2011"]
    assert "2019-04" in answer.text


def test_a_dose_by_the_cloth_is_published_without_a_strength(house: Opened) -> None:
    """15 % of the dry weight stands on an instruction page; no litre is in it."""
    client = house.client("amina")
    made = publish(house, client, CLOTH)
    there = f"/house/recipes/{made.id}"

    assert made.by_cloth
    assert (made.amount_n, made.amount_unit, made.per_n, made.per_unit) == (
        "15", "g", "100", "g",
    )  # fmt: skip
    assert made.target_g_per_l is None
    assert "15 g to 100 g of dry cloth: 15 % of its weight" in client.get(there).text
    house.later(minutes=5)
    assert send(client, there, {"source": "a book"}).status_code == 303
    assert house.state("recipe", made.id).by_cloth


def test_of_a_range_by_the_cloth_both_ends_are_said_and_the_middle_is_kept(
    house: Opened,
) -> None:
    client = house.client("amina")
    dose: Typed = {"dose": "8-15 % owg"}
    made = publish(house, client, CLOTH | dose)

    assert made.amount_n == "11.5"
    for there in (f"/house/recipes/{made.id}", f"/recipes/{made.id}"):
        assert "8 to 15 % of its weight" in client.get(there).text


def test_only_cloth_is_dosed_by_its_weight(house: Opened) -> None:
    """A percentage of a weight says nothing of paper: the sheet is not weighed."""
    answer = send(house.client("amina"), NEW, CLOTH | {"made_for": "paper"})

    assert answer.status_code == 422
    assert "goes by the weight of the cloth, not by litres of water" in answer.text
    assert form_of(answer.text).fields["dose"] == [CLOTH["dose"]]


@pytest.mark.parametrize("what", ["size", "softener", "paste"])
def test_only_alum_is_dosed_by_the_weight_of_cloth(house: Opened, what: str) -> None:
    """Nothing can be made by such a card: a size is laid in litres, whatever lies on it."""
    said: Typed = {"what": what, "powder": "carrageenan"}
    answer = send(house.client("amina"), NEW, CLOTH | said)

    assert answer.status_code == 422
    assert "goes by the weight of the cloth, not by litres of water" in answer.text


def picture(data: bytes) -> Any:
    return {"card": (BytesIO(data), "card.jpg")}


def test_the_picture_of_a_card_is_shrunk_kept_and_shown(house: Opened) -> None:
    """A card is no personal thing: it is public, and stands beside every reading of it."""
    client = house.client("amina")
    made = publish(house, client, CARD | picture(taken()))
    with house.desk() as desk:
        kept = desk.journal.attachment(made.card)

    assert kept is not None
    assert kept.reach == "public"
    assert CAMERA.encode() not in kept.data
    assert f'src="/photo/{made.card}"' in client.get(f"/recipes/{made.id}").text
    assert house.client("kahu").get(f"/photo/{made.card}").status_code == 200


def test_without_another_picture_the_one_before_stays(house: Opened) -> None:
    client = house.client("amina")
    made = publish(house, client, CARD | picture(taken()))
    there = f"/house/recipes/{made.id}"
    house.later(minutes=5)
    send(client, there, {"source": "a book"})
    same = house.state("recipe", made.id).card
    house.later(minutes=5)
    send(client, there, picture(saved(drawn())))

    assert same == made.card
    assert house.state("recipe", made.id).card not in ("", made.card)


def test_a_picture_is_left_out_of_the_next_edition(house: Opened) -> None:
    """A hand or a face may be on it: whoever is asked to take it away can."""
    client = house.client("amina")
    made = publish(house, client, CARD | picture(taken()))
    house.later(minutes=5)
    answer = send(client, f"/house/recipes/{made.id}", {"no_card": "y"})

    assert answer.status_code == 303, answer.text
    assert house.state("recipe", made.id).card == ""
    page = client.get(f"/recipes/{made.id}").text
    assert f'src="/photo/{made.card}"' not in page


def test_what_is_no_picture_is_sent_back_with_all_that_was_typed(house: Opened) -> None:
    answer = send(house.client("amina"), NEW, CARD | picture(b"no picture"))

    assert answer.status_code == 422
    assert form_of(answer.text).fields["dose"] == [CARD["dose"]]
    with house.desk() as desk:
        assert desk.journal.listed("recipe") == ()


def test_a_good_picture_beside_a_slip_has_to_be_chosen_once_more(house: Opened) -> None:
    answer = send(house.client("amina"), NEW, CARD | picture(taken()) | {"dated": "yesterday"})

    assert answer.status_code == 422
    (summary,) = re.findall(r'<section class="mistakes".*?</section>', answer.text, re.DOTALL)
    assert "Browsers let go of a photo: choose it once more." in summary


def test_whoever_publishes_sees_the_card_as_it_now_stands(house: Opened) -> None:
    client = house.client("amina")
    answer = send(client, NEW, CARD)

    assert answer.headers["Location"] == f"/recipes/{newest(house).id}"
    assert "the old card is published: about 31 g/L" in client.get(answer.location).text


# ---- in a browser


def test_a_card_is_settled_while_it_is_typed_and_keeps_its_picture(
    house: Opened, live: Any, pages: Pages, tmp_path: Path
) -> None:
    """A browser sends a picture once: who has to settle the card first would lose it."""
    photo = tmp_path / "card.jpg"
    photo.write_bytes(taken())
    page = pages.phone(live(house.app()))
    page.goto("/sign-in")
    page.fill("[name=sign_in_name]", "amina")
    page.fill("[name=password]", PASSWORD)
    page.click("main button.main")
    page.goto(NEW)
    page.fill("[name=name]", "the drawer's card")
    page.fill("[name=dose]", TWO_THINGS)
    page.get_by_label(re.compile("6 US tablespoons to 1 US gallon")).check(force=True)
    page.locator('[name=salt][value="aluminium_sulfate_14"]').check(force=True)
    page.set_input_files("[name=card]", photo)
    with page.expect_response("**/house/recipes/read*"):
        page.fill("[name=source]", "the drawer")
    page.get_by_role("button", name="Publish it").click()
    page.wait_for_selector("text=the drawer's card is published")

    made = newest(house)
    assert made.card
    assert (made.amount_n, made.amount_unit) == ("6", "us_tbsp")
