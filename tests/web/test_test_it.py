"""Test it: only what is in the drawer, and what a reading did to the estimate."""

import html
from fractions import Fraction
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from coop.ids import EntryId
from tests.support.opened import Opened, mixed, post, quantity


@pytest.fixture
def there(house: Opened) -> str:
    return f"/baths/{mixed(house)}/test"


def write(house: Opened, there: str, by: str, **fields: str) -> Any:
    """Write a reading; return the page that follows."""
    client = house.client("kahu")
    answer = post(client, f"{there}?by={by}", **fields)
    assert answer.status_code == 303, answer.text
    return client.get(answer.headers["Location"])


def gravity(typed: str, temperature: str = "20", unit: str = "celsius") -> dict[str, str]:
    return {
        "gravity": typed,
        "temperature.typed": temperature,
        "temperature.unit": unit,
    }


def test_a_strip_print_is_offered_first(house: Opened, there: str) -> None:
    page = house.client("kahu").get(there).text

    assert 'name="outcome"' in page
    assert "pH is never read as strength" in page


def test_only_what_is_in_this_studios_drawer_is_offered(house: Opened) -> None:
    """A studio without a hydrometer must not be asked for one."""
    studio = house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick", "thermometer"],
        emergency="112",
        poison="0555 0100",
    )
    tub = house.say(
        "vessel.described",
        studio=studio,
        name="low tub",
        brim=quantity(10, "l"),
        lidded="yes",
        place="1",
    )
    bath = mixed(house, studio=studio, vessel=tub, water=quantity(8, "l"))

    page = house.client("kahu").get(f"/baths/{bath}/test").text

    assert 'name="depth.typed"' in page
    assert "hydrometer" not in page
    assert "strip print" not in page


@pytest.mark.parametrize(
    ("outcome", "says"), [("sharp", "the bath works"), ("failed", "do not use it")]
)
def test_a_strip_print_moves_no_figure(
    house: Opened, there: str, outcome: str, says: str
) -> None:
    """It is a rule of the answer, not a measurement."""
    page = write(house, there, "strip_print", outcome=outcome).text

    assert says in page
    assert "Before:" not in page


def test_a_hydrometer_says_before_and_after(house: Opened, there: str) -> None:
    """1.0227 is 40 g/L of aluminium sulfate (Laliberte and Cooper 2004, computed)."""
    page = write(house, there, "hydrometer", **gravity("1.0227")).text

    assert "Before: about 40 g/L" in page
    assert "Now: about 40 g/L" in page
    assert "It fits what was reckoned" in page


@pytest.mark.parametrize(
    ("typed", "temperature", "unit"),
    [("1,0227", "20", "celsius"), ("1.0227", "68", "fahrenheit"), ("1.023", "20", "celsius")],
)
def test_a_gravity_is_read_with_comma_or_point_and_in_either_scale(
    house: Opened, there: str, typed: str, temperature: str, unit: str
) -> None:
    """20 C is 68 F; three decimals of a gravity are no thousands."""
    page = write(house, there, "hydrometer", **gravity(typed, temperature, unit)).text

    assert "It fits what was reckoned" in page


def test_a_reading_that_disagrees_is_kept_with_what_to_look_for(
    house: Opened, there: str
) -> None:
    """Plain water where 40 g/L was weighed in."""
    page = write(house, there, "hydrometer", **gravity("1.000")).text

    assert "kept and not believed yet" in page
    assert "Still about 40 g/L" in page
    assert "not written?" in page
    assert "zero checked in plain tap water?" in page


@pytest.mark.parametrize(
    ("by", "fields", "read", "reckoned"),
    [
        ("hydrometer", gravity("1.0132"), "hydrometer says about 23 g/L (21 to 26)", "40."),
        (
            "dipstick",
            {"depth.typed": "50", "depth.unit": "mm"},
            "dipstick says about 20.0 L (19.2 to 20.8)",
            "12.0.",
        ),
    ],
)
def test_a_reading_that_disagrees_says_what_it_read(
    house: Opened, there: str, by: str, fields: dict[str, str], read: str, reckoned: str
) -> None:
    """
    1.0132 at 20 C is 23 g/L of aluminium sulfate (Laliberte and Cooper 2004, computed), read to
    0.001 twice, in the bath and in the water behind its zero, where 40 were weighed in; 50 mm,
    read to 2 mm, over 0.3996 m2 are 20.0 L where there were 12.
    """
    page = write(house, there, by, **fields).text

    assert read in page
    assert f"from what was written it should be about {reckoned}" in page
    assert "usual doubt" not in page


def test_a_second_reading_that_agrees_settles_it(house: Opened, there: str) -> None:
    write(house, there, "hydrometer", **gravity("1.010"))
    house.later(minutes=20)

    page = write(house, there, "hydrometer", **gravity("1.010")).text

    assert "agrees with an earlier reading" in page


def test_litres_at_the_tape_line_move_the_level(house: Opened, there: str) -> None:
    page = write(house, there, "tape_line", **{"litres.typed": "11,3", "litres.unit": "l"}).text

    assert "Before: about 12.0 L" in page
    assert "Now: about 11.9 L" in page


def test_a_dipstick_is_read_in_millimetres(house: Opened, there: str) -> None:
    """30 mm over 0.3996 m2 are 12.0 L."""
    page = write(house, there, "dipstick", **{"depth.typed": "30", "depth.unit": "mm"}).text

    assert "It fits what was reckoned" in page


def test_a_depth_in_a_tub_without_a_floor_says_what_is_missing(house: Opened) -> None:
    """The person did read it; the ledger only cannot turn it into litres."""
    tub = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="bucket",
        brim=quantity(16, "l"),
        lidded="yes",
        place="2",
    )
    bath = mixed(house, vessel=tub)

    page = write(
        house, f"/baths/{bath}/test", "dipstick", **{"depth.typed": "30", "depth.unit": "mm"}
    ).text

    assert "The floor of this tub is not known" in page


def test_ammonium_alum_is_not_read_as_strength(house: Opened) -> None:
    """There is no density curve for it."""
    lot = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AM-1",
        salt="ammonium_alum",
        weight=quantity(2, "kg"),
    )
    bath = mixed(house, salt=[{"lot": lot, "amount": quantity(480, "g")}])

    page = house.client("kahu").get(f"/baths/{bath}/test?by=hydrometer").text

    assert "not read as strength" in page
    assert 'name="gravity"' not in page


def test_a_hydrometer_never_checked_is_said(house: Opened, there: str) -> None:
    page = house.client("kahu").get(f"{there}?by=hydrometer").text

    assert "was never checked" in page
    assert f"/studios/{house.made['studio']}/hydrometer" in page


def test_a_hydrometers_zero_is_written_and_due_after_a_month(house: Opened, there: str) -> None:
    """It shows 0.001 too much in tap water of 20 C."""
    client = house.client("kahu")
    check = f"/studios/{house.made['studio']}/hydrometer"

    answer = post(client, check, **gravity("1.001"))
    fresh = client.get(f"{there}?by=hydrometer").text
    house.later(days=31)
    old = house.client("kahu").get(f"{there}?by=hydrometer").text

    assert answer.status_code == 303
    assert "it shows 0.0010 too much" in fresh
    assert "due every 30 days" not in fresh
    assert "due every 30 days" in old


def test_after_the_check_one_is_back_at_the_bath(house: Opened, there: str) -> None:
    bath = there.split("/")[2]
    check = f"/studios/{house.made['studio']}/hydrometer?bath={bath}"

    answer = post(house.client("kahu"), check, **gravity("1.000"))

    assert answer.headers["Location"] == f"{there}?by=hydrometer"


def test_a_bad_field_keeps_what_was_typed(house: Opened, there: str) -> None:
    answer = post(house.client("kahu"), f"{there}?by=hydrometer", **gravity("40"))

    assert answer.status_code == 422
    assert 'value="40"' in answer.text
    assert "“40”: on which scale? Write 40 °Bé or 40 °Tw." in answer.text


@pytest.mark.parametrize(
    ("typed", "sg"), [("2.9 Be", "1.0204"), ("4.2 Tw", "1.021"), ("SG 1.021", "1.021")]
)
def test_degrees_of_a_hydrometer_are_read_by_their_scale(
    house: Opened, there: str, typed: str, sg: str
) -> None:
    """SG = 145 / (145 - Be) and 1 + Tw / 200 (from memory), by hand."""
    answer = post(house.client("kahu"), f"{there}?by=hydrometer", **gravity(typed))
    read = parse_qs(urlsplit(answer.headers["Location"]).query)["read"][0]

    with house.desk() as desk:
        (found,) = desk.journal.by_id(EntryId(read))
    assert getattr(found.entry.content, "gravity", None) == Fraction(sg)


@pytest.mark.parametrize("typed", ["2.9", "4,2"])
def test_bare_degrees_are_asked_for_their_scale(house: Opened, there: str, typed: str) -> None:
    """2.9 is 1.020 by Baume and 1.0145 by Twaddell: a half less alum."""
    answer = post(house.client("kahu"), f"{there}?by=hydrometer", **gravity(typed))

    assert answer.status_code == 422
    assert "on which scale?" in answer.text


def test_nothing_chosen_is_asked_for(house: Opened, there: str) -> None:
    assert post(house.client("kahu"), there).status_code == 422


def test_the_caution_says_not_to_sniff(house: Opened, there: str) -> None:
    page = house.client("kahu").get(there).text

    assert "No sniffing" in page
    assert "Poison centre: 0555 0100" in page


def test_nobody_tests_without_signing_in(house: Opened, there: str) -> None:
    check = f"/studios/{house.made['studio']}/hydrometer"

    assert house.client().get(there).status_code == 302
    assert house.client().get(check).status_code == 302


def test_unknown_things_are_not_found(house: Opened, there: str) -> None:
    client = house.client("kahu")

    assert client.get(f"/baths/{house.made['paper']}/test").status_code == 404
    assert client.get(f"/studios/{house.made['tub']}/hydrometer").status_code == 404
    assert client.get(f"{there}?by=nose").status_code == 404
    assert client.get(f"{there}?read=nothing").status_code == 200


def test_a_wrong_method_is_refused(house: Opened, there: str) -> None:
    assert house.client("kahu").delete(there).status_code in (400, 405)


@pytest.mark.parametrize("by", ["strip_print", "tape_line", "dipstick", "hydrometer"])
def test_it_is_said_in_turkish(house: Opened, there: str, by: str) -> None:
    client = house.client("kahu")
    client.set_cookie("coop-lang", "tr")

    page = client.get(f"{there}?by={by}")

    assert page.status_code == 200
    assert 'lang="tr"' in page.text


def test_a_temperature_moves_no_figure_and_stands_among_the_numbers(
    house: Opened, there: str
) -> None:
    page = write(
        house,
        there,
        "thermometer",
        **{"temperature.typed": "64", "temperature.unit": "fahrenheit"},
    ).text

    assert "It moves no figure" in page
    bath = html.unescape(house.client("kahu").get(there.removesuffix("/test")).text)
    assert "18 °C when it was read last" in bath
    assert "Temperature over time" in bath


def test_a_look_takes_no_instrument(house: Opened, there: str) -> None:
    """Whoever sees mould in a tub can write it down with an empty drawer."""
    page = write(house, there, "look", outcome="mould").text
    assert "It moves no figure" in page

    bath = house.client("kahu").get(there.removesuffix("/test")).text
    assert "look: mould" in bath


def test_a_thermometer_is_not_offered_where_the_drawer_has_none(house: Opened) -> None:
    bare = house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )
    tub = house.say("vessel.described", studio=bare, name="low tub", brim=quantity(10, "l"),
                    lidded="yes", place="1")  # fmt: skip
    bath = mixed(house, studio=bare, vessel=tub, water=quantity(8, "l"))

    assert "by=thermometer" not in house.client("kahu").get(f"/baths/{bath}/test").text
