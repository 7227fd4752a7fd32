"""
What a recipe's card comes to, whom it fits, how two differ, and what if something else holds.

Doses and strengths are those of instruction pages and leaflets for marbling, converted with US
measures of NIST Handbook 44, appendix C, and 14.8 g to a level US tablespoon of alum; the
common table of them, with its own figures to the decimal given, was made from the pages.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.read_dose import goods_of_card
from coop.actions.recipes import (
    Card,
    Difference,
    by_spoon,
    caveats_of,
    differences,
    fits,
    implied_spoon,
    in_every_salt,
    other_kinds,
    powder_for_cloth_g,
    read_card,
    takes,
)
from coop.actions.see_recipes import (
    bench_of,
    edition_named,
    listed_recipes,
    look_at_recipes,
    see_recipe,
)
from coop.ids import EntryId, Subject
from coop.ledger.states import HouseState, RecipeState
from coop.ledger.table import HOUSE
from coop.rules.limits import Target
from coop.rules.reasons import RECIPE
from coop.science.alum import SALTS
from tests.support.cards import CARDS, EDITION_B, POTASH, SULFATE, put_up, reprint
from tests.support.opened import Opened, furnished, quantity


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Opened]:
    """A ledger with one studio, a tub, alum, paper and limits."""
    made = furnished(tmp_path)
    yield made
    made.store.close()


def recipe(
    dose: str, amount: tuple[str, str], per: tuple[str, str], **more: Any
) -> RecipeState:
    """Return a recipe of alum for paper, unless told otherwise."""
    said: dict[str, Any] = {"salt": SULFATE, "target_g_per_l": None, "source": ""}
    return RecipeState(
        id=Subject("one"), edition=EntryId("one"), name="a card", dose=dose, amount_heap="",
        amount_n=amount[0], amount_unit=amount[1], per_n=per[0], per_unit=per[1],
        **(said | more),
    )  # fmt: skip


def card(dose: str, amount: tuple[str, str], per: tuple[str, str], **more: Any) -> Card:
    return read_card(recipe(dose, amount, per, **more), None)


def codes(found: tuple[Difference, ...]) -> list[str]:
    return [one.code for one in found]


EDITION_A_CARD = card("2 tsp per gallon", ("2", "us_tsp"), ("1", "us_gallon"))
EDITION_B_CARD = card("60 g per gallon", ("60", "g"), ("1", "us_gallon"))
OLD = card("8 tbsp (1/3 cup) per gallon", ("8", "us_tbsp"), ("1", "us_gallon"))


# ---- what a card comes to


@pytest.mark.parametrize(
    ("dose", "amount", "per", "g_per_l"),
    [
        ("1 tsp per cup", ("1", "us_tsp"), ("1", "us_cup"), 20.8),
        ("8 tbsp per gallon", ("8", "us_tbsp"), ("1", "us_gallon"), 31.3),
        ("1/3 cup per gallon", ("1/3", "us_cup"), ("1", "us_gallon"), 20.8),
        ("1 tbsp per cup", ("1", "us_tbsp"), ("1", "us_cup"), 62.5),
        ("2 tbsp per pint", ("2", "us_tbsp"), ("1", "us_pint"), 62.5),
        ("3 tbsp per quart", ("3", "us_tbsp"), ("1", "us_quart"), 46.9),
        ("2 tsp per quart", ("2", "us_tsp"), ("1", "us_quart"), 10.4),
        ("1/8 cup per 2 cups", ("0.125", "us_cup"), ("2", "us_cup"), 62.5),
        ("2 tsp per gallon", ("2", "us_tsp"), ("1", "us_gallon"), 2.6),
        ("2 tbsp per quart", ("2", "us_tbsp"), ("1", "us_quart"), 31.3),
        ("60 g per gallon", ("60", "g"), ("1", "us_gallon"), 15.9),
        ("50 g in 600 mL", ("50", "g"), ("600", "ml"), 83.3),
        ("10 g per gallon", ("10", "g"), ("1", "us_gallon"), 2.64),
        ("1 lb makes 3 gallons", ("1", "lb"), ("3", "us_gallon"), 39.9),
    ],
)
def test_a_card_comes_to_the_strength_of_the_common_table(
    dose: str, amount: tuple[str, str], per: tuple[str, str], g_per_l: float
) -> None:
    """The table's own figures, at a bulk density of 1.00 g/mL."""
    found = card(dose, amount, per).g_per_l

    assert found is not None
    assert found.middle == pytest.approx(g_per_l, abs=0.06)


def test_what_was_picked_holds_and_the_other_reading_stays_beside_it() -> None:
    """Eight tablespoons are half a cup: the bracket says a third less."""
    assert OLD.contradicts
    assert OLD.picked is not None
    assert (OLD.picked.amount.unit, float(OLD.picked.amount.n)) == ("us_tbsp", 8.0)
    (other,) = OLD.others
    assert (other.amount.unit, other.amount.n) == ("us_cup", Fraction(1, 3))


def test_a_card_is_read_as_it_was_published_whatever_the_house_says_now(house: Opened) -> None:
    """A house that changes to imperial gallons must not weaken its old cards."""
    state = house.state("house", "house")
    assert isinstance(state, HouseState)
    imperial = replace(state, gallon="imp", spoon="au")

    published = read_card(OLD.recipe, imperial)

    assert published.g_per_l == OLD.g_per_l
    assert published.kinds.gallon == "us"


def test_a_heaped_spoon_is_half_as_much_again() -> None:
    """1 heaped tablespoon a cup: 62.5 level, about 94 heaped, by the common table."""
    said = recipe("1 heaped tbsp per cup", ("1", "us_tbsp"), ("1", "us_cup"))
    found = read_card(replace(said, amount_heap="heaped"), None).g_per_l

    assert found is not None
    assert found.middle == pytest.approx(94, abs=0.3)
    assert found.low < 62.5 < found.high


def test_a_range_keeps_both_its_ends() -> None:
    found = card("6-8 tbsp per gallon", ("7", "us_tbsp"), ("1", "us_gallon"))

    assert found.picked is not None
    assert found.picked.amount_upto is not None
    assert found.others == ()


def test_what_cannot_be_read_any_more_keeps_the_reading_that_was_picked() -> None:
    """A card of another tongue or an older reader: its numbers are in the ledger."""
    found = card("as grandmother did", ("30", "g"), ("1", "l"))

    assert found.reading is None
    assert found.g_per_l is not None
    assert found.g_per_l.middle == 30


def test_a_dose_by_cloth_is_no_strength() -> None:
    """15 % of 500 g cotton is 75 g, whatever the litres; silk takes 8 %: instruction page."""
    cotton = card(
        "15 % of the dry weight", ("15", "g"), ("100", "g"), made_for="fabric", salt=POTASH
    )
    silk = card("8 % owg", ("8", "g"), ("100", "g"), made_for="fabric", salt=POTASH)

    assert cotton.g_per_l is None
    assert cotton.al_mmol_per_l is None
    assert powder_for_cloth_g(cotton, 500) == pytest.approx(75)
    assert powder_for_cloth_g(silk, 500) == pytest.approx(40)
    assert powder_for_cloth_g(OLD, 500) is None


# ---- whom it fits, and what to know before


@pytest.mark.parametrize("made_for", ["paper", "fabric", "rinse_water"])
@pytest.mark.parametrize("goods", ["paper", "fabric", "rinse_water"])
def test_a_recipe_fits_what_it_is_for_and_nothing_else(made_for: str, goods: str) -> None:
    """2.6 or 15.9 g/L for cloth stand beside 20 to 60 for paper under one name."""
    found = fits(recipe("30 g/L", ("30", "g"), ("1", "l"), made_for=made_for), goods)

    assert found == ("" if made_for == goods else f"for-{made_for}")


def caveats(found: Card, **more: float) -> dict[str, dict[str, float]]:
    return {one.code: dict(one.numbers) for one in caveats_of(found, **more)}


def test_a_clearing_recipe_and_one_for_fabric_say_so() -> None:
    clearing = card("10 g per gallon", ("10", "g"), ("1", "us_gallon"), made_for="rinse_water")
    fabric = card("2 tsp per gallon", ("2", "us_tsp"), ("1", "us_gallon"), made_for="fabric")

    assert list(caveats(clearing)) == ["for-rinse_water"]
    assert list(caveats(fabric)) == ["for-fabric"]
    assert caveats(EDITION_B_CARD) == {}


def test_an_ounce_to_a_quart_of_carrageenan_is_a_concentrate() -> None:
    """30 g/L 'then dilute' stands beside sizes of 4 to 9 g/L: instruction pages."""
    more: dict[str, Any] = {"what": "size", "powder": "carrageenan", "salt": None}
    thick = card("1 oz (weight) per quart", ("1", "oz"), ("1", "us_quart"), **more)
    usual = card("5 g/L", ("5", "g"), ("1", "l"), **more)

    assert caveats(thick)["concentrate"]["times"] == pytest.approx(29.96 / 5, abs=0.01)
    assert caveats(usual) == {}


def test_so_much_softener_is_asked_about_and_a_paste_is_no_mordant() -> None:
    """15 g to 0.95 L stands on a page; washing soda at that passes pH 11, from memory."""
    softener = card(
        "15 g per 0.95 L", ("15", "g"), ("0.95", "l"),
        what="softener", powder="softener", salt=None,
    )  # fmt: skip
    little = card(
        "1 g/L", ("1", "g"), ("1", "l"), what="softener", powder="softener", salt=None
    )
    paste = card("100 g/L", ("100", "g"), ("1", "l"), what="paste", powder="starch", salt=None)

    assert list(caveats(softener)) == ["softener-strong"]
    assert caveats(little) == {}
    assert list(caveats(paste)) == ["paste-no-mordant"]


def test_strong_potash_alum_is_warned_of_and_the_sooner_the_colder_the_store() -> None:
    """125 g/L does not dissolve at 20 C, where about 114 g/L does; 62.5 is near it at 10 C."""
    strong = card("125 g/L", ("125", "g"), ("1", "l"), salt=POTASH)
    middling = card("62.5 g/L", ("62.5", "g"), ("1", "l"), salt=POTASH)

    assert caveats(strong)["near-solubility"]["fraction"] > 1
    assert "near-solubility" not in caveats(middling)
    assert "near-solubility" in caveats(middling, store_c=10)


# ---- how two differ


def test_the_second_edition_of_the_leaflet_is_six_times_as_strong() -> None:
    """Fabric, edition A 2.6 g/L, edition B 15.9 g/L: 6.1 times, by the common table."""
    first, spoon = differences(EDITION_A_CARD, EDITION_B_CARD)

    assert first.code == "second-stronger"
    assert first.said["times"] == pytest.approx(6.1, abs=0.05)
    assert spoon.code == "spoon-does-not-fit"
    assert spoon.said["g_per_spoon"] == pytest.approx(30, abs=0.1)


def test_a_leaflet_that_says_spoons_and_grams_implies_its_spoon() -> None:
    """4 tbsp are 60 g a gallon by one leaflet: 15 g a tablespoon, 1.01 g/mL."""
    spooned = card("4 tbsp per gallon", ("4", "us_tbsp"), ("1", "us_gallon"))
    found = implied_spoon(spooned, EDITION_B_CARD)

    assert found is not None
    assert found.code == "spoon-fits"
    assert found.said["g_per_spoon"] == pytest.approx(15, abs=0.01)


def test_the_same_dose_of_the_other_salt_is_not_the_same_strength() -> None:
    """Gram for gram aluminium sulfate carries 1.60 times the aluminium of potash alum."""
    sulfate = card("40 g/L", ("40", "g"), ("1", "l"))
    potash = card("40 g/L", ("40", "g"), ("1", "l"), salt=POTASH)
    ratio, there, back = differences(sulfate, potash)

    assert ratio.code == "first-stronger"
    assert ratio.said["times"] == pytest.approx(1.60, abs=0.005)
    assert there.said["other_g_per_l"] == pytest.approx(64, abs=0.2)
    assert back.said["other_g_per_l"] == pytest.approx(25, abs=0.1)


def test_sixty_four_of_the_one_are_forty_of_the_other() -> None:
    sulfate = card("40 g/L", ("40", "g"), ("1", "l"))
    potash = card("64 g/L", ("64", "g"), ("1", "l"), salt=POTASH)

    assert differences(sulfate, potash)[0].code == "as-strong"


def test_what_cannot_be_compared_is_said_not_reckoned() -> None:
    """Powders are not equally thick, and cloth says nothing of litres."""
    size: dict[str, Any] = {"what": "size", "salt": None}
    moss = card("5 g/L", ("5", "g"), ("1", "l"), powder="carrageenan", **size)
    other = card("6 g/L", ("6", "g"), ("1", "l"), powder="methylcellulose", **size)
    cloth = card("15 % owg", ("15", "g"), ("100", "g"), made_for="fabric")

    assert codes(differences(moss, other)) == ["powder"]
    assert codes(differences(moss, OLD))[0] == "what"
    assert codes(differences(cloth, OLD)) == ["cloth-and-litres", "made-for"]


def test_two_doses_by_cloth_are_compared_by_their_aluminium() -> None:
    cotton = card("15 % owg", ("15", "g"), ("100", "g"), made_for="fabric", salt=POTASH)
    silk = card("8 % owg", ("8", "g"), ("100", "g"), made_for="fabric", salt=POTASH)
    (found,) = differences(cotton, silk)

    assert found.code == "first-stronger"
    assert found.said["times"] == pytest.approx(15 / 8)


def test_rest_days_side_and_target_are_told_where_they_differ() -> None:
    one = card(
        "5 g/L", ("5", "g"), ("1", "l"),
        what="size", powder="carrageenan", salt=None, rest_hours=12.0, cap_days=10,
    )  # fmt: skip
    other = read_card(replace(one.recipe, rest_hours=24.0, cap_days=None), None)
    marked = card("30 g/L", ("30", "g"), ("1", "l"), side="both_sides", target_g_per_l=30.0)
    bare = card("30 g/L", ("30", "g"), ("1", "l"), side="mark_on_bare_side")

    assert codes(differences(one, other)) == ["as-strong", "rest_hours", "cap_days"]
    assert codes(differences(marked, bare)) == ["as-strong", "side", "target"]


@pytest.mark.parametrize("salt", sorted(SALTS))
def test_no_strength_that_can_be_published_is_too_strong_to_be_looked_at(salt: str) -> None:
    """900 g/L of the anhydrous salt are 2490 of potash alum: more than any table knows."""
    for amount in ("900", "9000"):
        found = card("900 g/L", (amount, "g"), ("1", "l"), salt=salt)
        every = in_every_salt(found, None, store_c=0)

        assert all(one.near_solubility for one in every if (one.dose_g_per_l or 0) > 2000), (
            amount
        )
        assert every[0].near_solubility
        assert "near-solubility" in caveats(found, store_c=0)


def test_a_range_by_the_cloth_keeps_both_its_ends() -> None:
    found = card("10 to 20 % of the dry weight", ("15", "g"), ("100", "g"), made_for="fabric")
    goods = goods_of_card(found.recipe)
    other = goods_of_card(replace(found.recipe, amount_n="12"))

    assert (goods.low, goods.high) == (Fraction(1, 10), Fraction(1, 5))
    assert (other.low, other.high) == (Fraction(12, 100), Fraction(12, 100))


def test_a_card_for_cloth_is_judged_by_no_strength_of_the_house(house: Opened) -> None:
    """The house's strength is for paper: beside such a card one for cloth has none."""
    paper = card("30 g/L", ("30", "g"), ("1", "l"))
    cloth = read_card(replace(paper.recipe, made_for="fabric"), None)
    limits: HouseState = house.state("house", HOUSE)

    assert codes(differences(paper, paper, limits)) == ["as-strong"]
    *_, target = differences(paper, cloth, limits)
    assert target.code == "target"
    assert target.said["first"].g_per_l == limits.target_g_per_l
    assert target.said["second"] is None


def test_a_card_beside_itself_differs_in_nothing() -> None:
    for one in (EDITION_A_CARD, EDITION_B_CARD, OLD):
        assert codes(differences(one, one)) == ["as-strong"]


amounts = st.integers(min_value=1, max_value=60)


salts_of_two = st.tuples(*[st.sampled_from([SULFATE, POTASH])] * 2)


@given(first=amounts, second=amounts, salts=salts_of_two)
def test_whichever_card_stands_first_the_stronger_one_is_the_same(
    first: int, second: int, salts: tuple[str, str]
) -> None:
    one = card("1 g/L", (str(first), "g"), ("1", "l"), salt=salts[0])
    other = card("1 g/L", (str(second), "g"), ("1", "l"), salt=salts[1])
    there, back = differences(one, other)[0], differences(other, one)[0]
    turned = {"first-stronger": "second-stronger", "second-stronger": "first-stronger"}

    assert turned.get(there.code, there.code) == back.code
    assert there.said.get("times") == back.said.get("times")


# ---- what if


def test_every_salt_is_offered_with_the_cards_own_first() -> None:
    """Computed from atomic masses: the factors of `coop.science.alum`."""
    target = Target(40.0, SULFATE, RECIPE)
    rows = in_every_salt(card("40 g/L", ("40", "g"), ("1", "l")), target)
    by_salt = {one.salt: one for one in rows}

    assert rows[0].own
    assert rows[0].salt == SULFATE
    assert len(rows) == 7
    assert by_salt[POTASH].dose_g_per_l == pytest.approx(63.9, abs=0.1)
    assert by_salt[POTASH].target_g_per_l == by_salt[POTASH].dose_g_per_l
    assert by_salt["aluminium_sulfate_18"].dose_g_per_l == pytest.approx(44.9, abs=0.1)
    assert by_salt["aluminium_sulfate_anhydrous"].dose_g_per_l == pytest.approx(23.0, abs=0.1)


def test_a_strength_that_one_salt_holds_may_be_near_what_another_dissolves() -> None:
    """45 g/L of the sulfate are 72 of potash alum, of which about 114 dissolve at 20 C."""
    rows = in_every_salt(card("45 g/L", ("45", "g"), ("1", "l")), None)

    assert {one.salt for one in rows if one.near_solubility} >= {POTASH}
    assert not rows[0].near_solubility


def test_a_size_has_no_salts() -> None:
    size = card("5 g/L", ("5", "g"), ("1", "l"), what="size", powder="carrageenan", salt=None)

    assert in_every_salt(size, None) == ()


def test_an_imperial_gallon_makes_it_weaker_and_an_australian_spoon_stronger() -> None:
    """4.546 L for 3.785 L and 20 mL for 14.8 mL: NIST Handbook 44; the spoon from memory."""
    found = {(one.question, one.kind): one for one in other_kinds(OLD)}

    assert found["gallon", "us"].taken
    ratio = found["gallon", "imp"].g_per_l / found["gallon", "us"].g_per_l
    assert ratio == pytest.approx(3.785411784 / 4.54609)
    assert found["spoon", "au"].g_per_l / found["spoon", "us"].g_per_l == pytest.approx(
        20 / 14.78676478125
    )


def test_a_cup_that_the_reading_does_not_use_is_no_question() -> None:
    """The bracket's cup was not picked: whichever it is, the bath stays the same."""
    assert {one.question for one in other_kinds(OLD)} == {"gallon", "spoon"}
    assert other_kinds(EDITION_B_CARD) != ()
    assert other_kinds(card("40 g/L", ("40", "g"), ("1", "l"))) == ()


@pytest.mark.parametrize(("g_per_ml", "g_per_l"), [(0.753, 23.5), (1.0, 31.25), (1.28, 40.0)])
def test_the_cards_spoons_come_to_what_the_powder_weighs(
    g_per_ml: float, g_per_l: float
) -> None:
    """Pulverised alum 0.753, a supplier's 1.28 g/mL: 23.5 to 39.9 g/L in the common table."""
    found = by_spoon(OLD, g_per_ml=g_per_ml, spoon="us_tbsp")

    assert found is not None
    assert found.g_per_l == pytest.approx(g_per_l, abs=0.15)
    assert found.g_per_spoon == pytest.approx(g_per_ml * 14.7868, abs=0.001)
    assert found.spoons_per_l is None


def test_a_weighed_card_says_how_many_spoons_it_is() -> None:
    """40 g of a powder of 1 g/mL are 40 mL: 2.7 US tablespoons."""
    found = by_spoon(card("40 g/L", ("40", "g"), ("1", "l")), g_per_ml=1.0, spoon="us_tbsp")

    assert found is not None
    assert found.g_per_l is None
    assert found.spoons_per_l == pytest.approx(40 / 14.78676478125)


# ---- the ledger's own


def test_the_list_goes_by_what_is_made_what_it_is_for_and_the_name(house: Opened) -> None:
    put_up(house, "paste", "size", "leaflet", "weighed", "potash")
    with house.desk() as desk:
        found = listed_recipes(desk.journal)

    assert [one.name for one in found] == [
        "by weight", "pickling alum", "cloth leaflet", "house size", "wheat paste",
    ]  # fmt: skip


def test_editions_stand_with_who_published_them_and_when(house: Opened) -> None:
    (leaflet,) = put_up(house, "leaflet").values()
    first_at = house.moment
    second = reprint(house, leaflet, "leaflet", **EDITION_B)
    with house.desk() as desk:
        (look,) = look_at_recipes(desk.journal, listed_recipes(desk.journal))

    assert [one.recipe.printed for one in look.editions] == ["edition B", "edition A"]
    assert [one.at for one in look.editions] == [house.moment, first_at]
    assert look.in_force
    assert look.shown.recipe.edition == second
    assert {one.by for one in look.editions} == {house.members["amina"].member}


def test_the_edition_in_force_is_the_one_nothing_supersedes(house: Opened) -> None:
    """A clock that was put back writes the newer edition under an earlier time."""
    (leaflet,) = put_up(house, "leaflet").values()
    second = reprint(house, leaflet, "leaflet", **EDITION_B)
    house.moment -= timedelta(hours=20)
    body = CARDS["leaflet"] | {"recipe": leaflet, "supersedes": second, "printed": "edition C"}
    third = house.say("recipe.published", **body)
    with house.desk() as desk:
        look = see_recipe(desk.journal, Subject(leaflet))

    assert house.state("recipe", leaflet).edition == third
    assert look is not None
    assert look.in_force
    assert [one.recipe.printed for one in look.editions] == [
        "edition C", "edition B", "edition A",
    ]  # fmt: skip


def test_an_older_edition_is_looked_at_by_its_own_words(house: Opened) -> None:
    (leaflet,) = put_up(house, "leaflet").values()
    reprint(house, leaflet, "leaflet", **EDITION_B)
    with house.desk() as desk:
        older = edition_named(desk.journal, f"{leaflet}.{leaflet}")
        newest = edition_named(desk.journal, leaflet)

    assert older is not None
    assert newest is not None
    assert not older.in_force
    assert older.card.recipe.dose == "2 tsp per gallon"
    assert differences(older.card, newest.card)[0].said["times"] == pytest.approx(6.1, abs=0.05)


def test_an_edition_nobody_published_is_not_there(house: Opened) -> None:
    (leaflet,) = put_up(house, "leaflet").values()
    with house.desk() as desk:
        assert see_recipe(desk.journal, Subject(leaflet), "another") is None
        assert see_recipe(desk.journal, Subject("nothing")) is None
        assert edition_named(desk.journal, "") is None


def test_the_bench_holds_what_is_on_the_shelf_of_that_salt(house: Opened) -> None:
    ids = put_up(house, "old", "potash")
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(152, "g"),
    )
    with house.desk() as desk:
        old = bench_of(desk.journal, desk.journal.state("recipe", Subject(ids["old"])))
        potash = bench_of(desk.journal, desk.journal.state("recipe", Subject(ids["potash"])))

    assert [one.id for one in old.weighed] == [house.made["alum"]]
    assert potash.own == ()
    assert [one.id for one in potash.alum] == [house.made["alum"]]
    assert all(takes(one, OLD.recipe) for one in old.own)
