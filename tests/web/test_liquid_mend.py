"""Thin or thicken: seen before it is poured, and never dry powder into a ready size."""

import re
from typing import Any

import pytest

from tests.support.forms import forms_of
from tests.support.opened import Opened, mixed, post, quantity
from tests.web.test_measures import choose


@pytest.fixture
def lot(house: Opened) -> str:
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(500, "g"),
    )


@pytest.fixture
def size(house: Opened, lot: str) -> str:
    """9 L at 6 g/L in a tub of 16 L."""
    return sized(house, lot, "R-S1", house.made["tub"], grams=54, litres=9)


def sized(house: Opened, lot: str, name: str, tub: str, *, grams: int, litres: int) -> str:
    return house.say(
        "bath.mixed",
        name=name,
        what="size",
        studio=house.made["studio"],
        vessel=tub,
        water=quantity(litres, "l"),
        powder=[{"powder": "carrageenan", "lot": lot, "amount": quantity(grams, "g")}],
    )


def jug(house: Opened, place: int = 2) -> str:
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name=f"jug {place}",
        brim=quantity(10, "l"),
        lidded="yes",
        place=str(place),
    )


def rows(lot: str = "", **changes: str) -> dict[str, str]:
    fields = {
        "water.typed": "",
        "water.unit": "l",
        "powder.0.powder": "carrageenan",
        "powder.0.lot": lot,
        "powder.0.amount.typed": "",
        "powder.0.amount.unit": "g",
        "powder.0.amount.heap": "level",
        "powder.1.powder": "carrageenan",
        "powder.1.lot": "",
        "powder.1.amount.typed": "",
        "powder.1.amount.unit": "g",
        "powder.1.amount.heap": "level",
    }
    return fields | changes


def state(house: Opened, bath: str) -> Any:
    return house.state("bath", bath)


def blend_of(client: Any, there: str, **typed: str) -> dict[str, str]:
    """Return the fields of the second form of the page as a browser would send them."""
    form = next(
        one for one in forms_of(client.get(there).text) if one.action.endswith("/blend")
    )
    return {name: said[-1] for name, said in form.fields.items()} | typed


def test_water_for_a_thinner_size_is_computed(house: Opened, size: str) -> None:
    """
    9 L at 6 g/L want 1.8 L of water to be 5 g/L: 54 g in 10.8 L.

    Source: mass balance, by hand.
    """
    page = house.client("kahu").get(f"/liquids/{size}/mend?wanted=5").text

    assert "9.0 L, about 6.0 g/L" in page
    assert "1.8 L of water: then 10.8 L" in page
    assert "Half of it first, stir, and try a drop" in page


def test_who_reads_ounces_wants_ounces_and_fills_in_gallons(house: Opened, size: str) -> None:
    """
    54 g in 0.5 oz wt/US gal (3.745 g/L) are 14.42 L: 5.42 L more, 1.43 US gallons.

    Source: mass balance, by hand; the units by NIST Handbook 44 appendix C, from memory.
    """
    choose(house, shown="us")

    page = house.client("kahu").get(f"/liquids/{size}/mend?wanted=0.5").text

    assert "1.43 US gal of water: then 3.81 US gal" in page
    assert "water.typed=1.43&amp;water.unit=us_gallon" in page


def test_what_would_run_over_is_said(house: Opened, size: str) -> None:
    """
    54 g at 3 g/L are 18 L, and 16 fit: 8 L of it with 8 L of water, so 1 L comes out first.

    Source: mass balance, by hand.
    """
    page = house.client("kahu").get(f"/liquids/{size}/mend?wanted=3").text

    assert "8.0 L of water: then 16.0 L" in page
    assert "There is no room for it: take 1.0 L out first" in page


def test_a_way_is_filled_in_by_a_link(house: Opened, size: str) -> None:
    """Works without script."""
    client = house.client("kahu")
    page = client.get(f"/liquids/{size}/mend?wanted=5").text
    url = re.search(r'href="(/liquids/[^"]*water[^"]*)"', page)
    assert url
    filled = client.get(url[1].replace("&amp;", "&")).text

    assert 'value="1.8"' in filled
    assert "Now about 6.0 g/L, then about 5.0 g/L" in filled
    assert "Now 9.0 L, then 10.8 L in the tub" in filled


def test_a_thicker_size_that_stands_there_is_offered(
    house: Opened, size: str, lot: str
) -> None:
    """
    9 L at 6 g/L want 9 L x (8 - 6) / (14 - 8) = 3 L of 14 g/L to be 8 g/L.

    Source: mass balance, by hand: 54 g + 42 g in 12 L.
    """
    thick = sized(house, lot, "R-S2", jug(house), grams=56, litres=4)
    page = house.client("kahu").get(f"/liquids/{size}/mend?wanted=8").text

    assert "3.0 L of R-S2 (about 14.0 g/L): then 12.0 L" in page
    assert f"giver={thick}" in page


def test_a_thicker_one_of_which_too_little_stands_there_says_so(
    house: Opened, size: str, lot: str
) -> None:
    sized(house, lot, "R-S2", jug(house), grams=28, litres=2)

    page = house.client("kahu").get(f"/liquids/{size}/mend?wanted=8").text

    assert "Only 2.0 L of it stand there." in page


def test_another_powder_is_never_blended_in(house: Opened, size: str) -> None:
    house.say(
        "bath.mixed",
        name="R-S2",
        what="size",
        studio=house.made["studio"],
        vessel=jug(house),
        water=quantity(4, "l"),
        powder=[{"powder": "gum", "amount": quantity(100, "g")}],
    )

    assert "R-S2" not in house.client("kahu").get(f"/liquids/{size}/mend?wanted=8").text


def test_a_concentrate_is_made_in_a_jug(house: Opened, size: str) -> None:
    """
    Of 16 g/L, twice what is wanted: 9 L x 2 / 8 = 2.25 L with 36 g; then 90 g in 11.25 L.

    Source: mass balance, by hand.
    """
    client = house.client("kahu")
    page = client.get(f"/liquids/{size}/mend?wanted=8").text
    other = client.get(f"/liquids/{size}/mend?wanted=8&thicker=26").text

    assert "36 g of carrageenan in 2.3 L of water, about 16.0 g/L" in page
    assert "26 g of carrageenan in 1.0 L of water, about 26.0 g/L" in other


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("wanted=thin", "A number, please"),
        ("wanted=8 oz", "to how much water?"),
        ("wanted=59.9", "No vessel holds what that would make."),
        ("wanted=90", "must lie from"),
        ("wanted=8&thicker=7", "must be thicker than what is wanted"),
        ("wanted=6", "It is so already."),
    ],
)
def test_a_slip_in_the_wanted_dose_is_said(
    house: Opened, size: str, asked: str, told: str
) -> None:
    page = house.client("kahu").get(f"/liquids/{size}/mend?{asked}").text

    assert told in page


def test_water_is_written(house: Opened, size: str) -> None:
    client = house.client("kahu")
    answer = post(client, f"/liquids/{size}/mend", **rows(**{"water.typed": "1.8"}))

    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/liquids/{size}"
    assert state(house, size).volume_ml == pytest.approx(10_800)
    assert state(house, size).dose_g_per_l == pytest.approx(5)


def test_dry_powder_into_a_ready_size_is_warned_of(house: Opened, size: str, lot: str) -> None:
    """
    It clumps, and the lumps do not dissolve: common practice, no source. Where it is in
    already, the ledger takes it: what happened is never refused.
    """
    client = house.client("kahu")
    dry = rows(lot, **{"powder.0.amount.typed": "20"})
    answer = post(client, f"/liquids/{size}/mend", **dry)

    assert answer.status_code == 422
    assert "Dry powder clumps in a ready size." in answer.text
    assert 'value="20"' in answer.text
    assert state(house, size).powder_g == pytest.approx(54)

    form = next(one for one in forms_of(answer.text) if "warned" in one.names)
    assert client.post(form.action, data=form.fields).status_code == 303
    assert state(house, size).powder_g == pytest.approx(74)


def test_a_concentrate_out_of_a_jug_is_written(house: Opened, size: str, lot: str) -> None:
    wet = rows(lot, **{"water.typed": "2.25", "powder.0.amount.typed": "36"})
    answer = post(house.client("kahu"), f"/liquids/{size}/mend", **wet)

    assert answer.status_code == 303
    assert state(house, size).dose_g_per_l == pytest.approx(8)
    assert "410 g" in house.client("kahu").get(f"/lots/{lot}").text


def test_nothing_at_all_is_not_written(house: Opened, size: str) -> None:
    answer = post(house.client("kahu"), f"/liquids/{size}/mend", **rows())

    assert answer.status_code == 422
    assert "Water: This is needed." in answer.text


def test_nothing_is_poured_over_the_brim(house: Opened, size: str) -> None:
    answer = post(house.client("kahu"), f"/liquids/{size}/mend", **rows(**{"water.typed": "8"}))

    assert answer.status_code == 422
    assert "over the brim" in answer.text
    assert state(house, size).volume_ml == pytest.approx(9000)


def test_some_of_another_size_is_blended_in(house: Opened, size: str, lot: str) -> None:
    thick = sized(house, lot, "R-S2", jug(house), grams=56, litres=4)
    client = house.client("kahu")
    there = f"/liquids/{size}/mend"
    fields = blend_of(client, there, giver=thick, **{"litres.typed": "3"})

    answer = client.post(f"{there}/blend", data=fields)

    assert answer.status_code == 303
    assert state(house, size).dose_g_per_l == pytest.approx(8)
    assert state(house, thick).volume_ml == pytest.approx(1000)


def test_more_than_the_other_one_has_is_refused(house: Opened, size: str, lot: str) -> None:
    thick = sized(house, lot, "R-S2", jug(house), grams=56, litres=4)
    client = house.client("kahu")
    there = f"/liquids/{size}/mend"
    fields = blend_of(client, there, giver=thick, **{"litres.typed": "5"})

    answer = client.post(f"{there}/blend", data=fields)

    assert answer.status_code == 422
    assert "There are only 4.0 L left." in answer.text
    assert 'value="5"' in answer.text


def test_without_a_choice_nothing_is_blended(house: Opened, size: str, lot: str) -> None:
    sized(house, lot, "R-S2", jug(house), grams=56, litres=4)
    client = house.client("kahu")
    there = f"/liquids/{size}/mend"

    assert client.post(f"{there}/blend", data=blend_of(client, there)).status_code == 422
    assert client.get(f"{there}/blend").status_code == 405


def test_the_answer_comes_while_one_types(house: Opened, size: str, lot: str) -> None:
    thick = sized(house, lot, "R-S2", jug(house), grams=56, litres=4)
    client = house.client("kahu")
    there = f"/liquids/{size}/mend"

    def said(page: str, **typed: str) -> Any:
        return client.get(f"{there}/{page}", query_string=typed).get_json()

    ahead = said("ahead", **rows(**{"water.typed": "1.8"}))
    blended = said("blended", giver=thick, **{"litres.typed": "3", "litres.unit": "l"})

    assert ahead["figure"] == "Now about 6.0 g/L, then about 5.0 g/L"
    assert blended["figure"] == "Now about 6.0 g/L, then about 8.0 g/L"
    assert blended["level"] == "Now 9.0 L, then 12.0 L in the tub"
    assert said("ways", wanted="5")["lines"][0] == "1.8 L of water: then 10.8 L"
    assert said("ahead", **rows(**{"water.typed": "9"}))["warnings"] == [
        "That is 2.0 L over the brim. It does not fit."
    ]
    half_typed = rows(**{"water.typed": "1.x"})
    assert said("ahead", **half_typed)["level"] == ""
    assert said("blended", giver=thick)["level"] == ""


def test_the_recipes_dose_stands_in_the_field(house: Opened, lot: str) -> None:
    recipe = house.say(
        "recipe.published",
        name="House size",
        dose="5 g/L",
        amount=quantity(5, "g"),
        per=quantity(1, "l"),
        what="size",
        powder="carrageenan",
    )
    size = house.say(
        "bath.mixed",
        name="R-S1",
        what="size",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        recipe=recipe,
        water=quantity(9, "l"),
        powder=[{"powder": "carrageenan", "lot": lot, "amount": quantity(54, "g")}],
    )

    page = house.client("kahu").get(f"/liquids/{size}/mend").text

    assert "1.8 L of water: then 10.8 L" in page


def test_a_rinse_is_only_topped_up(house: Opened) -> None:
    """Water alone has no dose to aim at."""
    rinse = house.say(
        "bath.mixed",
        name="R-R1",
        what="rinse",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        water=quantity(8, "l"),
    )
    client = house.client("kahu")
    page = client.get(f"/liquids/{rinse}/mend").text

    assert "Top up Rinse R-R1" in page
    assert 'name="wanted"' not in page
    assert 'name="powder.0.amount.typed"' not in page
    fields = {"water.typed": "2", "water.unit": "l"}
    assert post(client, f"/liquids/{rinse}/mend", **fields).status_code == 303
    assert state(house, rinse).volume_ml == pytest.approx(10_000)


def test_what_is_finished_is_not_topped_up(house: Opened, size: str) -> None:
    house.say("bath.finished", bath=size, reason="used_up")
    page = house.client("kahu").get(f"/liquids/{size}/mend").text

    assert "This one is finished." in page
    assert 'name="water.typed"' not in page


def test_the_other_cares_are_a_tap_away(house: Opened, size: str) -> None:
    page = house.client("kahu").get(f"/liquids/{size}/mend").text

    assert f'href="/baths/{size}/care"' in page
    assert "Powder: dust mask on" in page


def test_alum_and_what_nobody_knows_are_not_found(house: Opened) -> None:
    alum = mixed(house)
    client = house.client("kahu")

    assert client.get(f"/liquids/{alum}/mend").status_code == 404
    assert client.get(f"/liquids/{house.made['tub']}/mend").status_code == 404


def test_who_is_not_signed_in_is_sent_to_the_door(house: Opened, size: str) -> None:
    assert house.client().get(f"/liquids/{size}/mend").status_code == 302
