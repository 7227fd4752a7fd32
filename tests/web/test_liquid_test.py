"""Test a size: a drop first, the run-out time, a look, a smell with a tag, the level."""

import html
from typing import Any

import pytest

from tests.support.opened import DRAWER, Opened, post, quantity, sized

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"


@pytest.fixture
def size(house: Opened) -> str:
    """A size that has rested."""
    bath = sized(house)
    house.later(days=1)
    return bath


def send(house: Opened, bath: str, query: str, **fields: str) -> Any:
    return post(house.client("kahu"), f"/liquids/{bath}/test?{query}", **fields)


def write(house: Opened, bath: str, query: str, **fields: str) -> str:
    """Write a test; return the page that follows."""
    answer = send(house, bath, query, **fields)
    assert answer.status_code == 303, answer.text
    return html.unescape(house.client("kahu").get(answer.location).text)


def test_a_drop_on_a_sample_comes_first(house: Opened, size: str):
    """The drop test outranks the calendar; the colour never goes into the tray."""
    page = house.client("kahu").get(f"/liquids/{size}/test").text

    assert 'value="cloudy_thread"' in page
    assert "never a drop into the tray" in page
    assert 'name="spread_mm"' in page
    assert "by=funnel" not in page  # the drawer has none


def test_a_good_drop_is_said_to_change_nothing(house: Opened, size: str):
    page = write(house, size, "by=drop_test", outcome="round", spread_mm="52,5")

    assert "As before:" in page
    assert "good</p>" in page
    assert house.state("bath", size).drops[-1].spread_mm == 52.5


def test_a_bad_drop_says_how_the_answer_moved_and_what_to_do(house: Opened, size: str):
    page = write(house, size, "by=drop_test", outcome="cloudy_thread")

    assert "Before:" in page
    assert "do not use</p>" in page
    assert "cloudy thread, the size is sour" in page
    assert f'href="/baths/{size}/stop"' in page


def test_a_wide_drop_asks_for_thicker_size(house: Opened, size: str):
    """Good is 40 to 60 mm, held 25 to 80: common practice, no source."""
    page = write(house, size, "by=drop_test", outcome="round", spread_mm="70")

    assert "the drop spread to 70 mm, good is 40 to 60" in page
    assert "look again</p>" in page
    assert f'href="/liquids/{size}/mend"' in page


def test_a_funnel_is_offered_where_the_drawer_has_one(house: Opened, size: str):
    house.say(
        "studio.described",
        studio=house.made["studio"],
        supersedes=house.state("studio", house.made["studio"]).edition,
        name="Ropewalk",
        letter="R",
        drain="sewer",
        instruments=[*DRAWER, "funnel"],
        emergency="112",
        poison="0555 0100",
    )

    assert "by=funnel" in house.client("kahu").get(f"/liquids/{size}/test").text


def test_a_run_out_time_is_written_with_water_first_and_its_funnel(house: Opened, size: str):
    timed = {"funnel": "brass", "water_seconds": "12", "seconds": "21,6",
             "temperature.typed": "20", "temperature.unit": "celsius"}  # fmt: skip
    page = write(house, size, "by=funnel", **timed)

    assert "21.6 s through brass" in page
    assert "1.8 times water" in page
    assert "no line yet: 0 of 5 readings" in page
    assert 'value="brass"' in page
    read = house.state("bath", size).run_outs[-1]
    assert (read.seconds, read.water_seconds, read.temperature_c) == (21.6, 12, 20)


def test_a_level_says_litres_before_and_after(house: Opened, size: str):
    page = write(house, size, "by=tape_line", **{"litres.typed": "11", "litres.unit": "l"})

    assert "Before: about 12.0 L. Now: about 11." in page


@pytest.mark.parametrize(
    ("outcome", "word", "says"),
    [("fine", "good", "As before:"), ("mould", "do not use", "Mould was seen on it")],
)
def test_a_look_is_written_by_one_tap(
    house: Opened, size: str, outcome: str, word: str, says: str
):
    page = write(house, size, "by=look", outcome=outcome)

    assert f"{word}</p>" in page
    assert says in page


def test_nobody_is_asked_to_smell_before_the_tag_was_read(house: Opened, size: str):
    """What is in a jug without a tag may hurt whoever sniffs it."""
    client = house.client("kahu")
    page = client.get(f"/liquids/{size}/test?by=smell").text
    assert "Can its tag be read?" in page
    assert "Smell only a bath whose tag you can read" in page
    assert "No sniffing" not in page
    assert "Close it, hang the unknown tag on it" in page
    assert 'href="/jugs"' in page
    assert 'name="outcome"' not in page

    assert 'value="sour"' in client.get(f"/liquids/{size}/test?by=smell&tag=yes").text


def test_a_smell_without_the_tag_is_not_taken(house: Opened, size: str):
    client = house.client("kahu")
    there = f"/liquids/{size}/test?by=smell"
    answer = post(client, f"{there}&tag=yes", to=there, outcome="sour", tag_read="yes")
    assert answer.status_code == 422
    assert house.state("bath", size).smelled is None

    forged = post(client, f"{there}&tag=yes", outcome="sour", tag_read="no")
    assert forged.status_code == 422
    assert "Read the tag first." in forged.text


def test_a_smell_with_the_tag_read_counts(house: Opened, size: str):
    page = write(house, size, "by=smell&tag=yes", outcome="sour", tag_read="yes")

    assert "It smelled sour or rotten" in page
    assert "do not use</p>" in page


def test_a_temperature_stands_among_the_numbers(house: Opened, size: str):
    read = {"temperature.typed": "19", "temperature.unit": "celsius"}
    write(house, size, "by=thermometer", **read)

    page = html.unescape(house.client("kahu").get(f"/liquids/{size}").text)
    assert "19 °C when it was read last" in page


@pytest.mark.parametrize(
    ("query", "fields", "says"),
    [
        ("by=drop_test", {"spread_mm": "50"}, "This field is required."),
        ("by=drop_test", {"outcome": "round", "spread_mm": "wide"}, "A number, please"),
        ("by=drop_test", {"outcome": "round", "spread_mm": "900"}, "From 1 to 300, please."),
        ("by=funnel", {"funnel": "brass"}, "This is needed."),
        ("by=funnel", {"seconds": "20"}, "This is needed."),
        ("by=look", {"outcome": "lovely"}, "Not a valid choice"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_kept(
    house: Opened, size: str, query: str, fields: dict[str, str], says: str
):
    answer = send(house, size, query, **fields)
    page = html.unescape(answer.text)

    assert answer.status_code == 422
    assert says in page
    for typed in fields.keys() - {"outcome"}:
        assert f'value="{fields[typed]}"' in page


def test_other_baths_have_neither_drop_nor_funnel(house: Opened):
    bath = sized(house, what="rinse", name="R-R1",
                 powder=[{"powder": "gum", "amount": quantity(1, "g")}])  # fmt: skip
    client = house.client("kahu")
    page = client.get(f"/liquids/{bath}/test").text

    assert "by=drop_test" not in page
    assert 'value="mould"' in page
    assert client.get(f"/liquids/{bath}/test?by=drop_test").status_code == 404


def test_who_is_not_signed_in_and_what_nobody_knows(house: Opened, size: str):
    client = house.client("kahu")

    assert house.client().get(f"/liquids/{size}/test").status_code == 302
    assert client.get(f"/liquids/{NOBODY}/test").status_code == 404
    assert client.get(f"/liquids/{size}/test?by=hydrometer").status_code == 404
    assert client.get(f"/liquids/{size}/test?read={NOBODY}").status_code == 200
