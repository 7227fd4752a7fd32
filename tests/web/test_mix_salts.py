"""Mix by another salt, in a cold store, with hard water, for cloth, and with a hot start."""

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.mix import Asked, plan_bath, statement_of, water_for
from coop.actions.on_hand import OnHand, alum_on_hand
from coop.ids import Subject
from coop.science import alum
from coop.store import measures
from coop.store.measures import Measures
from tests.support.opened import Opened, furnished, mixed, post, quantity

STUDIO: dict[str, Any] = {
    "name": "Ropewalk",
    "letter": "R",
    "drain": "septic",
    "emergency": "112",
    "poison": "0555 0100",
}


@pytest.fixture
def tub(house: Opened) -> str:
    return f"/mix/{house.made['tub']}"


def card(
    house: Opened, dose_g: object = 40, salt: str = "aluminium_sulfate_14", **more: Any
) -> str:
    """Publish a recipe of so much alum to a litre."""
    said = {
        "name": f"card of {dose_g}",
        "dose": f"{dose_g} g/L",
        "amount": quantity(dose_g, "g"),
        "per": quantity(1, "l"),
        "salt": salt,
    }
    return house.say("recipe.published", **(said | more))


def potash(house: Opened, kg: int = 10) -> str:
    """Receive potash alum, later than what stands there."""
    house.later(minutes=1)
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="PA-7",
        salt="potash_alum",
        weight=quantity(kg, "kg"),
    )


def put_in(lot: str, grams: int, litres: int) -> dict[str, str]:
    """Return what the form of what was put in sends."""
    return {
        "name": "R-A1",
        "water.typed": str(litres),
        "water.unit": "l",
        "salt.0.lot": lot,
        "salt.0.amount.typed": str(grams),
        "salt.0.amount.unit": "g",
        "salt.0.amount.heap": "level",
        "salt.1.lot": "",
        "salt.1.amount.unit": "g",
        "salt.1.amount.heap": "level",
        "guessed": "no",
    }


def described(house: Opened, **more: Any) -> None:
    """Describe the studio anew, with more said of it."""
    studio = house.made["studio"]
    edition = house.state("studio", studio).edition
    house.say("studio.described", studio=studio, supersedes=edition, **STUDIO, **more)


def in_us_measures(house: Opened, who: str) -> None:
    with house.store.writing() as desk:
        measures.choose(desk.connection, house.members[who].member, Measures(shown="us"))


# --- another salt ---------------------------------------------------------------------


def test_another_salt_stands_for_the_cards_by_equal_aluminium(house: Opened, tub: str) -> None:
    """
    480 g of the sulfate in 12 L are 766 g of potash alum: 1.60 times as much, and said.

    Source of the check: aluminium sulfate 14-hydrate carries 1.60 times the aluminium of
    potash alum by weight (computed from atomic masses; formula weights 594.3 and 474.4).
    """
    other, recipe = potash(house), card(house, target_g_per_l="40")
    there = f"{tub}?recipe={recipe}&much=12&measure=l"
    client = house.client("kahu")

    own = client.get(there).text
    instead = client.get(f"{there}&instead={other}").text

    assert "Weigh 480 g of AS-24" in own
    assert "PA-7, 10.0 kg left, potash alum" in own
    assert "Weigh 766 g of PA-7" in instead
    said = "766 g of potash alum do what 480 g of aluminium sulfate do: the same aluminium."
    assert said in instead
    assert "It is judged by the recipe&#39;s 64 g/L." in instead


def test_what_is_written_carries_the_other_lot_and_is_judged_by_aluminium(
    house: Opened, tub: str
) -> None:
    other, recipe = potash(house), card(house, target_g_per_l="40")
    there = f"{tub}?recipe={recipe}&much=12&measure=l&instead={other}"
    answer = post(house.client("kahu"), there, **put_in(other, 766, 12))

    assert answer.status_code == 303, answer.text
    bath = house.state("bath", answer.headers["Location"].removeprefix("/baths/"))
    assert bath.salt == "potash_alum"
    assert bath.estimate.belief.strength_g_per_l == pytest.approx(63.8, abs=0.1)
    page = house.client("kahu").get(f"/baths/{bath.id}").text
    assert 'class="word good' in page


def test_where_the_cards_salt_is_used_up_the_other_is_offered_in_words(
    house: Opened, tub: str
) -> None:
    """Never silently: the fold stands open, and nothing is taken until somebody taps it."""
    other = potash(house)
    recipe = card(house, salt="ammonium_alum")
    page = house.client("kahu").get(f"{tub}?recipe={recipe}&much=1&measure=l").text

    assert "No ammonium alum is on hand in this studio." in page
    assert "AS-24 is another salt:" in page
    assert re.search(r"<details open><summary>Another salt", page)
    assert f'value="{other}"' in page
    assert "Weigh 40 g<" in page


@given(
    dose_g=st.integers(1, 300),
    salt=st.sampled_from(sorted(alum.SALTS)),
    other=st.sampled_from(sorted(alum.SALTS)),
)
def test_a_plan_holds_the_same_aluminium_whichever_salt_is_taken(
    planned: Any, dose_g: int, salt: str, other: str
) -> None:
    plan = planned(dose_g, salt, other)

    mmol = alum.mmol_al_per_l(strength_g_per_l=plan.aim_g_per_l.middle, salt=plan.salt)
    wanted = alum.mmol_al_per_l(strength_g_per_l=dose_g, salt=salt)
    assert plan.salt == other
    assert mmol == pytest.approx(wanted, rel=1e-9)
    assert plan.salt_g / 10 == pytest.approx(plan.aim_g_per_l.middle)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a planner of 10 L by a card of one salt, out of a lot of another."""
    house = furnished(tmp_path_factory.mktemp("salts"))
    recipe = house.state("recipe", card(house))
    vessel = house.state("vessel", house.made["tub"])
    with house.desk() as desk:
        lot = alum_on_hand(
            desk.journal, Subject(house.made["studio"]), today=house.moment.date()
        )[0]
    water = water_for(Fraction(10), "l", vessel, None)
    assert water is not None

    def plan(dose_g: int, salt: str, other: str) -> Any:
        by = replace(recipe, salt=salt, amount_n=str(dose_g))
        of = OnHand(lot=replace(lot.lot, salt=other), left_g=1e6)
        return plan_bath(
            Asked(statement=statement_of(by), recipe=by, water=water, lots=(of,), house=None)
        )

    return plan


# --- cold stores and hard water -------------------------------------------------------


def test_a_studio_says_how_cold_it_gets(house: Opened) -> None:
    """46.4 F are 8 C (exact)."""
    described(house, store_coldest=quantity("46.4", "fahrenheit"))

    assert house.state("studio", house.made["studio"]).store_coldest_c == 8
    assert "8 °C" in house.client("kahu").get("/house").text
    in_us_measures(house, "kahu")
    assert "46 °F" in house.client("kahu").get("/house").text


def test_what_crystallises_in_a_cold_store_is_said_and_what_to_do(
    house: Opened, tub: str
) -> None:
    """
    Of 85 g/L of potash alum about 14 crystallise at 8 C, and nothing down to about 13.

    Source of the check: potash alum 39.9 g/kg water anhydrous-free table at 10 C is 76 g of
    the 12-hydrate to a litre, the first table of `coop.science.alum.SOLUBILITY`; between its
    points straight on the logarithm (computed).
    """
    potash(house)
    recipe = card(house, 85, salt="potash_alum")
    there = f"{tub}?recipe={recipe}&much=10&measure=l&by=card"
    client = house.client("kahu")
    unsaid = client.get(there).text
    described(house, store_coldest=quantity(8, "celsius"))
    cold = client.get(there).text

    assert "% of what dissolves at 20 °C" in unsaid
    found = re.search(
        r"About (\d+) g/L will crystallise at 8 °C\. It stays dissolved down to (\d+) °C\.",
        cold,
    )
    assert found, cold
    assert (int(found[1]), int(found[2])) == (14, 13)
    assert "Mix it weaker or keep it warmer" in cold
    assert re.search(r"<details open><summary>Hot start", cold)


def test_a_usual_dose_needs_no_hot_start(house: Opened, tub: str) -> None:
    """The default stays hand-hot: the fold is shut."""
    page = house.client("kahu").get(f"{tub}?recipe={card(house)}&much=12&measure=l").text

    assert "<details><summary>Hot start" in page
    assert "45 °C at most, into a plastic jug" in page
    assert "crystallise" not in page


def test_hard_water_says_what_it_takes_of_a_weak_dose(house: Opened, tub: str) -> None:
    """
    150 mg/L take 0.474 g of potash alum from a litre: 1.6 % of 30 g/L, 0.8 % of 60.

    Source: alkalinity of 3.0 meq/L uses 1.0 mmol Al, 0.474 g of potash alum (stoichiometry of
    3 HCO3 to 1 Al, as in Davis, Water and Wastewater Engineering, equation 6-8).
    """
    potash(house)
    described(house, hardness_mg_per_l="150")
    client = house.client("kahu")
    weak, strong = (
        client.get(
            f"{tub}?recipe={card(house, dose, salt='potash_alum')}&much=10&measure=l&by=card"
        ).text
        for dose in (30, 60)
    )

    assert "this tap water takes up to 2 % of the alum (0.5 g/L)" in weak
    assert "this tap water takes" not in strong


def test_a_bath_says_what_the_coldest_night_does_to_it(house: Opened, tub: str) -> None:
    """The studio may say so later; it is a note, and changes no word."""
    lot = potash(house)
    salt = [{"lot": lot, "amount": quantity(1000, "g")}]
    bath = mixed(house, salt=salt, water=quantity(12, "l"))
    client = house.client("kahu")
    before = client.get(f"/baths/{bath}").text
    described(house, store_coldest=quantity(5, "celsius"))
    after = client.get(f"/baths/{bath}").text

    assert "In the coldest night" not in before
    assert re.search(r"About \d+ g/L will crystallise at 5 °C", after)
    word = re.compile(r'class="word ([a-z-]+)')
    assert word.findall(before) == word.findall(after)


# --- a hot start ----------------------------------------------------------------------


def test_a_hot_start_says_how_much_hot_to_how_much_cold(house: Opened, tub: str) -> None:
    """
    1 L at 95 C into 3 L at 15 C are 34.4 C together, in a jug that bears 95.

    Source: heat balance by mass (computed); litres alone would say 35.0.
    """
    asked = "&hot=95&cold=15&together=34.4&jug=95"
    page = house.client("kahu").get(f"{tub}?recipe={card(house)}&much=4&measure=l{asked}").text

    said = (
        "Cold water first: 3.0 L at 15 °C. Then 1.00 L at 95 °C slowly into it: 34 °C together."
    )
    assert said in page
    assert "an HDPE jug bears 60 °C at most" in page


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("hot=61", "61 °C is too hot for this jug, which bears 60 °C"),
        ("jug=101&hot=99", "What a jug bears lies from 40 °C to 100 °C."),
        ("cold=50", "Both together lie between the cold water"),
        ("together=56", "Both together lie between the cold water"),
        ("hot=warm", "A number, please"),
        ("hot=", ""),
        ("hot=140+F", "60 °C slowly into it"),
    ],
)
def test_what_does_not_go_together_is_said(
    house: Opened, tub: str, asked: str, told: str
) -> None:
    """Nothing over what the jug bears; and an amount names its own scale."""
    there = f"{tub}/reckoned?recipe={card(house)}&much=4&measure=l&{asked}"
    hot = house.client("kahu").get(there).get_json()["hot"]

    assert told in " ".join(hot)
    assert bool(hot) == bool(told)


def test_the_steps_are_those_of_the_start_that_was_chosen(house: Opened, tub: str) -> None:
    """Two procedures on one page, and one pours the hot water that the other forbids."""
    there = f"{tub}?recipe={card(house)}&much=4&measure=l"
    client = house.client("kahu")

    def steps(page: str) -> str:
        return page[page.index('id="how"') :]

    usual, hot = steps(client.get(there).text), steps(client.get(f"{there}&hot=58").text)

    assert "A litre of hand-hot tap water" in usual
    assert "Cold water first" not in usual
    assert "Cold water first" in hot
    assert "A litre of hand-hot tap water" not in hot


@pytest.mark.parametrize(
    ("together", "hands", "tub_too"),
    [("45", False, False), ("60", True, False), ("70", True, True)],
)
def test_too_warm_for_hands_and_for_the_tub_is_said(
    house: Opened, tub: str, together: str, hands: bool, tub_too: bool
) -> None:
    """Hands to 45 C (common practice, no source); HDPE to 60 C, as its makers print."""
    asked = f"&hot=95&jug=100&together={together}"
    there = f"{tub}/reckoned?recipe={card(house)}&much=4&measure=l{asked}"
    hot = " ".join(house.client("kahu").get(there).get_json()["hot"])

    assert ("That is over hand-hot (45 °C): hands stay out" in hot) == hands
    assert ("An HDPE tub bears 60 °C at most" in hot) == tub_too


@pytest.mark.parametrize(
    ("together", "refused"), [("45", True), ("55", False), ("60", False), ("70", False)]
)
def test_what_dissolves_over_forty_degrees_is_not_refused(
    house: Opened, tub: str, together: str, refused: bool
) -> None:
    """
    Potash alum: 238 g to the kilogram of water at 40 C, 364 at 50, 574 at 60 (Perry's
    Chemical Engineers' Handbook, from memory, as hydrate); beyond 60 C no table is known.
    """
    dose = "recipe=typed&dose=300+g/L&by=card&lot=" + potash(house)
    there = f"{tub}/reckoned?{dose}&much=4&measure=l&hot=95&jug=100&together={together}"
    hot = " ".join(house.client("kahu").get(there).get_json()["hot"])

    assert ("So much alum will not dissolve in it" in hot) == refused


# --- for cloth, and unlike the rest ---------------------------------------------------


@pytest.mark.parametrize("lang", ["en", "tr"])
def test_a_dose_by_the_cloth_is_read_in_either_tongue(
    house: Opened, tub: str, lang: str
) -> None:
    """15 % of the cloth, in the tongue of the card, whichever that of the page."""
    client = house.client("kahu")
    client.set_cookie("coop-lang", lang)
    typed = {"recipe": "typed", "much": "5", "measure": "l", "cloth": "500"}

    figures = [
        client.get(f"{tub}/reckoned", query_string=typed | {"dose": dose}).get_json()["figure"]
        for dose in ("15 % owg", "kumasin %15'i")
    ]

    assert "75 g" in figures[0]
    assert figures[0] == figures[1]


def test_a_dose_by_the_cloth_asks_for_its_weight(house: Opened, tub: str) -> None:
    """
    15 % of 500 g of cotton are 75 g, whatever the litres; in 5 L that is 15 g/L.

    Source: trade table of doses by the weight of goods, common practice.
    """
    client = house.client("kahu")
    typed = {"recipe": "typed", "dose": "15 % of the dry weight", "much": "5", "measure": "l"}

    asked = client.get(f"{tub}/reckoned", query_string=typed).get_json()
    page = client.get(tub, query_string=typed | {"cloth": "500"}).text
    ounces = client.get(tub, query_string=typed | {"cloth": "1 lb 2 oz"}).text

    assert asked["asks_cloth"] is True
    assert asked["figure"] == ""
    assert asked["understood"] == ["15.0 % of the weight of the dry cloth, whatever the water"]
    assert "Weigh 75 g of AS-24" in page
    assert "about 15 g/L" in page
    assert "By which do you mix?" not in page
    assert "Weigh 77 g of AS-24" in ounces  # 18 oz are 510.3 g


def test_a_recipe_by_the_cloth_is_mixed_and_written(house: Opened, tub: str) -> None:
    recipe = card(
        house,
        dose="15 % of the dry weight",
        amount=quantity(15, "g"),
        per=quantity(100, "g"),
        made_for="fabric",
    )
    there = f"{tub}?recipe={recipe}&much=5&measure=l&cloth=500"
    client = house.client("kahu")
    page = client.get(there).text

    assert "Weigh 75 g of AS-24" in page
    assert "Is that meant?" not in page.split('data-live-shown="asks_cloth"')[1]
    answer = post(client, there, **put_in(house.made["alum"], 75, 5))
    assert answer.status_code == 303, answer.text


@pytest.mark.parametrize("cloth", ["", "0", "-5", "heavy", "9e9", "2000000"])
def test_a_cloth_without_a_weight_is_not_mixed_for(house: Opened, tub: str, cloth: str) -> None:
    typed = {"recipe": "typed", "dose": "15 % owg", "much": "5", "cloth": cloth}
    page = house.client("kahu").get(tub, query_string=typed)

    assert page.status_code == 200
    assert 'name="water.typed"' not in page.text


def test_more_cloth_than_water_is_a_slip(house: Opened, tub: str) -> None:
    typed = {"recipe": "typed", "dose": "50 % owg", "much": "1", "cloth": "5000"}

    assert (
        "stronger than anything dissolves"
        in house.client("kahu").get(tub, query_string=typed).text
    )


@pytest.mark.parametrize(
    ("made_for", "asked"),
    [("fabric", "This card is for fabric"), ("rinse_water", "This card clears rinse water")],
)
def test_a_card_that_is_not_for_paper_is_asked_about_once(
    house: Opened, tub: str, made_for: str, asked: str
) -> None:
    """2.6 g/L are a mordant for cloth, or clear waste water; paper takes ten times as much."""
    there = f"{tub}?recipe={card(house, '2.6', made_for=made_for)}&much=10&measure=l"
    client = house.client("kahu")

    first = client.get(there).text
    meant = client.get(f"{there}&meant_so=yes").text

    assert asked in first
    assert 'name="water.typed"' not in first
    assert asked not in meant
    assert "It will not be judged: the house&#39;s strength is for paper." in meant
    assert 'name="water.typed"' in meant


def test_a_dose_unlike_any_card_for_paper_is_warned_of(house: Opened, tub: str) -> None:
    """2.6 and 15.9 g/L are for cloth: common practice, no source; paper takes 10 to 94."""
    client = house.client("kahu")

    def warned(dose: str) -> bool:
        page = client.get(f"{tub}?recipe=typed&dose={dose}&much=10&measure=l&by=card").text
        return "Cards of alum for paper mean" in page

    assert [warned(dose) for dose in ("2.6+g/L", "15.9+g/L", "94+g/L", "120+g/L")] == [
        True, False, False, True,
    ]  # fmt: skip


def test_own_recipes_widen_the_band_and_never_narrow_it(house: Opened, tub: str) -> None:
    """
    A tablespoon a cup, 62.6 g/L, is a card for paper like others (common practice, no
    source), however weak the house's own three are; one own card of 100 g/L makes room for
    119 g/L, a fifth more.
    """
    client = house.client("kahu")

    def said(dose: str) -> str:
        there = f"{tub}?recipe=typed&dose={dose}&much=10&measure=l&by=card"
        return client.get(there).text

    for dose in (30, 35, 40):
        card(house, dose)
    usual, strong = said("1 tbsp per cup"), said("119 g/L")
    card(house, 100)
    stronger = said("119 g/L")

    assert "Weigh 626 g" in usual
    assert "Cards of alum for paper mean" not in usual
    assert "Cards of alum for paper mean 10 to 94 g/L; this one means 119.0 g/L." in strong
    assert "Cards of alum for paper mean" not in stronger


# --- a member's own measures ----------------------------------------------------------


def test_who_chose_us_measures_plans_and_writes_in_them(house: Opened, tub: str) -> None:
    """3 US gallons are 11.36 L; 40 g/L in them are 454 g, a pound (computed)."""
    in_us_measures(house, "kahu")
    recipe = card(house, target_g_per_l="40")
    client = house.client("kahu")
    page = client.get(f"{tub}?recipe={recipe}&much=3").text

    assert "Weigh 1.00 lb of AS-24" in page
    assert "into 3.00 US gal of water" in page
    assert re.search(r'name="water.typed"[^>]*value="3"', page)
    assert re.search(r'<option selected value="us_gallon">', page)
    assert re.search(r'name="salt.0.amount.typed"[^>]*value="16.02"', page)
    assert re.search(r'<option selected value="oz">', page)
    assert 'value="131"' in page  # 55 C in the box of hot water
    assert (
        " g/L" not in re.sub(r"<[^>]+>", "", page).split("Work it out")[0].split("How much?")[1]
    )


def test_imperial_measures_change_the_plan_and_are_remembered(house: Opened, tub: str) -> None:
    """A gallon of 4.546 L for one of 3.785 makes 6 oz a gallon 37.4 g/L, not 44.9."""
    there = f"{tub}?recipe=typed&dose=6+oz+(weight)+per+gallon&much=10&measure=l&by=card"
    client = house.client("kahu")

    usual = client.get(there).text
    imperial = client.get(f"{there}&read_gallon=imp").text

    assert "Weigh 449 g of AS-24" in usual
    assert "Weigh 374 g of AS-24" in imperial
    answer = post(client, f"{there}&read_gallon=imp", **put_in(house.made["alum"], 374, 10))
    assert answer.status_code == 303, answer.text
    with house.desk() as desk:
        kept = measures.chosen(desk.connection, house.members["kahu"].member)
    assert kept.gallon == "imp"
