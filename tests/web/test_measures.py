"""Measures of each member: how amounts are shown, and what a bare name of a measure means."""

from typing import Any

from coop.store import measures
from coop.store.measures import Measures
from tests.support.forms import send
from tests.support.opened import Opened, mixed, post


def choose(house: Opened, who: str = "kahu", **chosen: str) -> Any:
    fields = {"shown": "metric", "gallon": "", "cup": "", "spoon": ""} | chosen
    return post(house.client(who), "/me", "/me/measures", **fields)


def kept(house: Opened, who: str = "kahu") -> Measures:
    with house.desk() as desk:
        return measures.chosen(desk.connection, house.members[who].member)


def test_who_chose_us_measures_is_shown_gallons_and_nobody_else_is(house: Opened) -> None:
    """Twelve litres are 3.17 US gallons; who mixed them by the litre still reads litres."""
    bath = mixed(house)

    assert choose(house, shown="us").status_code == 303

    own, other = (house.client(who).get(f"/baths/{bath}").text for who in ("kahu", "amina"))
    assert "US gal" in own
    assert "US gal" not in other
    assert " L" in other


def test_a_choice_changes_nothing_that_is_written(house: Opened) -> None:
    """It is a way of reading: the bath is the same to the last digit."""
    bath = mixed(house)
    before = house.state("bath", bath)

    choose(house, shown="us", gallon="imp")

    assert house.state("bath", bath) == before


def test_nothing_chosen_is_what_the_house_says(house: Opened) -> None:
    """The house may change its mind, and who never chose goes along."""
    assert kept(house) == Measures()
    choose(house, gallon="imp")
    assert kept(house) == Measures(gallon="imp")
    choose(house)
    assert kept(house) == Measures()


def test_an_unknown_measure_is_refused_beside_its_field(house: Opened) -> None:
    answer = choose(house, gallon="wine")

    assert answer.status_code == 422
    assert kept(house) == Measures()


def test_a_members_own_gallon_is_read_and_named_as_theirs(house: Opened) -> None:
    """1 lb to 3 imperial gallons is 33 g/L, to three US ones 40."""
    there = f"/mix/{house.made['tub']}/reckoned"
    card = {"recipe": "typed", "dose": "1 lb makes 3 gal", "much": "12", "measure": "l"}
    by_house = house.client("kahu").get(there, query_string=card).get_json()
    choose(house, gallon="imp")
    by_own = house.client("kahu").get(there, query_string=card).get_json()

    assert any("house" in note for note in by_house["notes"])
    assert any("your own kind" in note for note in by_own["notes"])
    assert any("40" in line for line in by_house["understood"])
    assert any("33" in line for line in by_own["understood"])


def test_one_tap_beside_the_dose_reads_it_in_another_gallon(house: Opened) -> None:
    """The tap counts for this text; the note says so, and the question is shown at once."""
    there = f"/mix/{house.made['tub']}/reckoned"
    card = {"recipe": "typed", "dose": "1 lb makes 3 gal", "much": "12", "measure": "l"}

    tapped = card | {"read_gallon": "imp"}
    answer = house.client("kahu").get(there, query_string=tapped).get_json()

    assert answer["gallon"] is True
    assert answer["spoon"] is False
    assert any("as chosen here" in note for note in answer["notes"])


def test_what_was_tapped_is_remembered_once_the_card_is_published(house: Opened) -> None:
    """Next time that member's gallon is the imperial one; the house's stays what it was."""
    fields = {
        "name": "Old card",
        "dose": "1 lb makes 3 gal",
        "read_gallon": "imp",
        "what": "alum",
        "salt": "aluminium_sulfate_14",
        "judged_by": "card",
    }
    answer = post(house.client("amina"), "/house/recipes/new", **fields)

    assert answer.status_code == 303
    assert kept(house, "amina") == Measures(gallon="imp")
    assert kept(house) == Measures()
    with house.desk() as desk:
        units = {one.name: one.per_unit for one in desk.journal.listed("recipe")}
    assert units["Old card"] == "imp_gallon"


def test_a_gallon_that_the_text_names_is_nothing_to_remember(house: Opened) -> None:
    fields = {
        "name": "Old card",
        "dose": "1 lb makes 3 US gal",
        "read_gallon": "imp",
        "what": "alum",
        "salt": "aluminium_sulfate_14",
        "judged_by": "card",
    }
    post(house.client("amina"), "/house/recipes/new", **fields)

    assert kept(house, "amina") == Measures()


def test_who_leaves_is_forgotten(house: Opened) -> None:
    """Nothing of a person stays where it serves nobody."""
    choose(house, shown="us")
    member = house.members["kahu"].member
    post(house.client("amina"), f"/people/{member}", f"/people/{member}/left")

    assert kept(house) == Measures()


def test_a_card_stays_as_it_was_read_whoever_opens_it(house: Opened) -> None:
    """To Amina a gallon is imperial; what was published by US gallons must not change."""
    fields = {
        "name": "Old card",
        "dose": "1 lb makes 3 gal",
        "what": "alum",
        "salt": "aluminium_sulfate_14",
        "judged_by": "card",
    }
    post(house.client("amina"), "/house/recipes/new", **fields)
    choose(house, "amina", gallon="imp")
    with house.desk() as desk:
        (before,) = [one for one in desk.journal.listed("recipe") if one.name == "Old card"]
    there = f"/house/recipes/{before.id}"

    client = house.client("amina")
    assert "as chosen here" in client.get(there).text
    answer = send(client, there)

    assert answer.status_code == 303
    after = house.state("recipe", before.id)
    assert (after.per_unit, after.target_g_per_l) == ("us_gallon", before.target_g_per_l)
    assert kept(house, "amina").gallon == "imp", "nobody tapped anything"
