"""Mend it: seen before it is poured, and water alone never by accident."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.actions.mend import Remedy
from coop.web.i18n import Words, read_catalogues
from coop.web.mending import remedy_said
from tests.support.opened import Opened, mixed, post, quantity


@pytest.fixture
def weak(house: Opened) -> str:
    """12 L at 30 g/L where the house wants 40."""
    salt = [{"lot": house.made["alum"], "amount": quantity(360, "g")}]
    return mixed(house, salt=salt)


def rows(house: Opened, **changes: str) -> dict[str, str]:
    fields = {
        "water.typed": "",
        "water.unit": "l",
        "salt.0.lot": house.made["alum"],
        "salt.0.amount.typed": "",
        "salt.0.amount.unit": "g",
        "salt.0.amount.heap": "level",
        "salt.1.lot": "",
        "salt.1.amount.typed": "",
        "salt.1.amount.unit": "g",
        "salt.1.amount.heap": "level",
    }
    return fields | changes


def strength(house: Opened, bath: str) -> Any:
    return house.state("bath", bath).estimate.belief.strength_g_per_l


def potash(house: Opened) -> str:
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AP-3",
        salt="potash_alum",
        weight=quantity(2, "kg"),
    )


def test_what_brings_it_back_is_offered_in_grams(house: Opened, weak: str) -> None:
    """12 L x (40 - 30) g/L = 120 g."""
    page = house.client("kahu").get(f"/baths/{weak}/mend").text

    assert "120 g of alum, no water: then 40 g/L in 12.0 L" in page
    assert "Its target is 40 g/L" in page


def test_spoons_are_of_the_baths_own_weighed_lot(house: Opened) -> None:
    """120 g are 8 spoons of 14.8 g; an older lot that nobody weighed is not spoken of."""
    house.later(days=1)
    own = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AS-26",
        salt="aluminium_sulfate_14",
        weight=quantity(5, "kg"),
    )
    house.say(
        "lot.spoon_weighed",
        lot=own,
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(148, "g"),
    )
    bath = mixed(house, salt=[{"lot": own, "amount": quantity(360, "g")}])
    client = house.client("kahu")

    for there in (f"/baths/{bath}", f"/baths/{bath}/mend"):
        page = client.get(there).text
        assert "8 level US tablespoons of AS-26, weighed at 14.8 g each" in page
        assert "tablespoons of AS-24" not in page
    filled = client.get(f"/baths/{bath}/mend?way=0").text
    assert f'<option selected value="{own}">' in filled


def test_it_is_filled_in_by_a_link(house: Opened, weak: str) -> None:
    """Works without script: the address fills the form."""
    page = house.client("kahu").get(f"/baths/{weak}/mend?way=0").text

    assert 'value="120"' in page
    assert "Now about 30 g/L" in page
    assert "then about 40 g/L" in page


def test_after_sheets_the_water_it_lost_is_offered_too(house: Opened, weak: str) -> None:
    """At the litres it was mixed with, within the brim."""
    house.say(
        "sheets.through",
        bath=weak,
        sheet_count="60",
        sheet_format="half",
        method="dip",
        paper=house.made["paper"],
    )

    page = house.client("kahu").get(f"/baths/{weak}/mend").text

    assert "then 40 g/L in 12.0 L" in page
    assert "L of water: then" in page


def test_alum_brings_it_back(house: Opened, weak: str) -> None:
    client = house.client("kahu")

    answer = post(
        client, f"/baths/{weak}/mend", **rows(house, **{"salt.0.amount.typed": "120"})
    )

    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/baths/{weak}"
    assert strength(house, weak) == pytest.approx(40, abs=0.1)


def test_spoons_of_the_lot_are_taken_by_its_own_weight(house: Opened, weak: str) -> None:
    """10 spoons of 11.1 g are 111 g: (360 + 111) / 12 = 39.25 g/L."""
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(111, "g"),
    )
    spooned = {"salt.0.amount.typed": "10", "salt.0.amount.unit": "us_tbsp"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **spooned))

    assert answer.status_code == 303
    assert strength(house, weak) == pytest.approx(39.25, abs=0.1)


def test_water_alone_is_warned_of_before_it_is_written(house: Opened, weak: str) -> None:
    """360 g in 15 L are 24 g/L, and the house stops using at 25."""
    client = house.client("kahu")

    answer = post(
        client,
        f"/baths/{weak}/mend",
        **rows(house, **{"water.typed": "3"}),
        reason="level_only",
    )

    assert answer.status_code == 422
    assert "this would bring it to about 24 g/L, not to be used under 25" in answer.text
    assert 'data-live-shown="reason">' in answer.text
    assert strength(house, weak) == pytest.approx(30, abs=0.1)


def test_why_water_alone_is_asked_while_it_is_typed(house: Opened, weak: str) -> None:
    """
    The live answer says so, shows the reasons and keeps which water was warned of: who saw it
    and tapped a reason is not asked twice.
    """
    client = house.client("kahu")
    there = f"/baths/{weak}/mend"
    typed = rows(house, **{"water.typed": "3"})

    page = client.get(there).text
    said = client.get(f"{there}/ahead", query_string=typed).get_json()
    salted = typed | {"salt.0.amount.typed": "200"}
    with_alum = client.get(f"{there}/ahead", query_string=salted).get_json()

    assert 'data-live-shown="reason" hidden' in page
    assert said["reason"] == "A reason will be asked."
    assert with_alum["reason"] == with_alum["warned"] == ""
    answer = post(client, there, **typed, warned=said["warned"], reason="level_only")
    assert answer.status_code == 303


def test_water_alone_wants_a_reason(house: Opened, weak: str) -> None:
    warned = {"water.typed": "3", "warned": "3 l"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **warned))

    assert answer.status_code == 422
    assert "Water alone makes it weaker" in answer.text


def test_water_alone_with_a_reason_is_written(house: Opened, weak: str) -> None:
    """What a person means to do is not refused, only asked for."""
    warned = {"water.typed": "3", "warned": "3 l", "reason": "level_only"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **warned))

    assert answer.status_code == 303
    assert house.state("bath", weak).water_only_count == 1


def test_another_amount_of_water_is_warned_of_again(house: Opened, weak: str) -> None:
    """The warning was for 1 L, not for 4."""
    warned = {"water.typed": "4", "warned": "1 l", "reason": "level_only"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **warned))

    assert answer.status_code == 422
    assert "not to be used under 25" in answer.text


def test_water_with_alum_needs_no_reason(house: Opened, weak: str) -> None:
    both = {"water.typed": "2", "salt.0.amount.typed": "200", "reason": "level_only"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **both))

    assert answer.status_code == 303


def test_nothing_goes_past_the_brim(house: Opened, weak: str) -> None:
    over = {"water.typed": "5", "salt.0.amount.typed": "300"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **over))

    assert answer.status_code == 422
    assert "16.0 L fit, it would be 17.0 L" in answer.text
    assert 'value="300"' in answer.text


def test_another_salt_is_refused_with_the_figure_of_equal_strength(
    house: Opened, weak: str
) -> None:
    """
    Aluminium sulfate 14-hydrate carries 1.60 times the aluminium of potash alum by weight
    (computed from atomic masses): 160 g of potash alum are as strong as 100 g of it.
    """
    other = {"salt.0.lot": potash(house), "salt.0.amount.typed": "160"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **other))

    assert answer.status_code == 422
    assert "another salt than the one in the bath" in answer.text
    assert "as strong as 100 g" in answer.text


def test_strength_and_level_are_said_while_one_types(house: Opened, weak: str) -> None:
    client = house.client("kahu")
    typed = rows(house, **{"water.typed": "3"})

    said = client.get(f"/baths/{weak}/mend/ahead", query_string=typed).get_json()
    nothing = client.get(f"/baths/{weak}/mend/ahead", query_string=rows(house)).get_json()

    assert "then about 24 g/L" in said["figure"]
    assert said["level"] == "Now 12.0 L, then 15.0 L in the tub"
    assert "not to be used under 25" in said["warnings"][0]
    assert not any(nothing.values())


def test_a_bath_that_is_strong_enough_is_offered_nothing(house: Opened) -> None:
    bath = mixed(house)

    page = house.client("kahu").get(f"/baths/{bath}/mend").text

    assert "Bring it back" not in page


def test_without_a_target_the_page_says_so(house: Opened, weak: str) -> None:
    """A house that never said how strong is told nothing, rather than something made up."""
    house.later(minutes=1)
    house.say(
        "limits.set",
        look_again_fraction="0.75",
        do_not_use_fraction="0.625",
        strip_print_days="28",
        laying_depth_mm="15",
        gallon="us",
        cup="us",
        spoon="us",
    )

    page = house.client("kahu").get(f"/baths/{weak}/mend").text

    assert "Nobody said how strong it should be" in page
    assert "Bring it back" not in page


def test_a_finished_bath_is_not_mended(house: Opened, weak: str) -> None:
    house.say("bath.finished", bath=weak, reason="too_weak")
    client = house.client("kahu")

    page = client.get(f"/baths/{weak}/mend").text

    assert "This bath is finished" in page
    assert 'name="water.typed"' not in page


def test_the_safety_card_stands_before_the_amounts(house: Opened, weak: str) -> None:
    """It stays open when a way is filled in: that is when the alum is weighed."""
    client = house.client("kahu")

    first = client.get(f"/baths/{weak}/mend").text
    filled = client.get(f"/baths/{weak}/mend?way=0").text

    assert first.index('<details class="sheet care" open>') < first.index("120 g of alum")
    assert filled.index('<details class="sheet care" open>') < filled.index(
        'name="water.typed"'
    )
    assert "Emergency: 112. Poison centre: 0555 0100." in filled


def test_a_bad_field_keeps_what_was_typed(house: Opened, weak: str) -> None:
    wrong = {"salt.0.amount.typed": "some", "water.typed": "2"}

    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house, **wrong))

    assert answer.status_code == 422
    assert 'value="some"' in answer.text
    assert "A number, please" in answer.text


def test_nothing_typed_is_not_written(house: Opened, weak: str) -> None:
    answer = post(house.client("kahu"), f"/baths/{weak}/mend", **rows(house))

    assert answer.status_code == 422


def test_nobody_mends_without_signing_in(house: Opened, weak: str) -> None:
    assert house.client().get(f"/baths/{weak}/mend").status_code == 302
    assert house.client().get(f"/baths/{weak}/mend/ahead").status_code == 302


def test_an_unknown_bath_is_not_found(house: Opened) -> None:
    assert house.client("kahu").get(f"/baths/{house.made['paper']}/mend").status_code == 404


def test_a_wrong_method_is_refused(house: Opened, weak: str) -> None:
    assert house.client("kahu").put(f"/baths/{weak}/mend").status_code in (400, 405)


def test_it_is_said_in_turkish(house: Opened, weak: str) -> None:
    client = house.client("kahu")
    client.set_cookie("coop-lang", "tr")

    page = client.get(f"/baths/{weak}/mend?way=0")

    assert page.status_code == 200
    assert 'lang="tr"' in page.text


def test_an_odd_way_back_is_no_fault_of_the_server(house: Opened, weak: str) -> None:
    for way in ("9", "x", "-1", "²"):
        assert house.client("kahu").get(f"/baths/{weak}/mend?way={way}").status_code == 200


def test_what_is_not_on_hand_is_told_beside_what_is(house: Opened):
    """Half a remedy is worth knowing: somebody may have the rest."""
    remedy = Remedy(salt_g=60.0, water_ml=0.0, shares=(), missing_g=17.0,
                    strength_g_per_l=40.0, volume_ml=12_000.0)  # fmt: skip
    english = Words("en", ZoneInfo("UTC"), read_catalogues()["en"])

    assert remedy_said(english, remedy).lines == (
        "By the ledger 43 g of it is on hand; 17 g is not.",
    )
