"""A size asked about at another moment: ahead if nothing is done, back in both views."""

import re

from tests.support.opened import Opened, sized


def page_of(house: Opened, bath: str, query: str = "") -> str:
    answer = house.client("kahu").get(f"/liquids/{bath}{query}")
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.text.split('id="asked"')[1].split("</section>")[0])


def test_a_size_good_today_is_asked_about_on_monday(house: Opened):
    """Made on Wednesday at 18:00, it is five warm days old on Monday at 18:00: over four."""
    bath = sized(house)
    house.later(days=1)
    told = page_of(house, bath, "?at=2025-09-22T18:00")

    assert "Monday 2025-09-22 18:00" in told
    assert "If nothing is done until then" in told
    assert "look again</p>" in told
    assert "like 5.0 warm days of 4" in told
    assert "By the house limits of 2025-09-17" in told


def test_a_size_is_seen_as_it_was_then_and_as_it_is_known_now(house: Opened):
    """A drop test written a day late was made all the same."""
    bath = sized(house)
    tested = house.later(hours=20)
    house.later(days=1)
    house.say(
        "reading.taken",
        "kahu",
        at=tested,
        bath=bath,
        instrument="drop_test",
        outcome="ragged",
        tag_read="yes",
    )
    told = page_of(house, bath, "?at=2025-09-18T20:00")
    then, now = told.split("What it said then")[1].split("By what we know now")

    assert "good</p>" in then
    assert "look again</p>" in now
    assert "ragged" in now


def test_before_a_size_was_made_there_is_nothing_to_say(house: Opened):
    told = page_of(house, sized(house), "?at=2025-09-17T09:00")

    assert told.count("It was not mixed yet.") == 2


def test_more_than_a_year_ahead_is_refused_with_a_sentence(house: Opened):
    bath = sized(house)

    assert "within a year of now, please" in page_of(house, bath, "?at=2026-09-19T18:00")
    assert "within a year" not in page_of(house, bath, "?at=2026-09-17T18:00")


def test_the_test_that_would_settle_a_size_is_one_tap_away(house: Opened):
    """Of one that has rested: until then nothing is in doubt."""
    bath = sized(house)
    house.later(days=2)
    told = page_of(house, bath)

    assert "What one test would settle it:" in told
    assert "Make a drop test" in told
