"""In the room: what may I use?"""

import re

from tests.support.opened import Opened, mixed, quantity
from tests.support.queries import counted


def sheets(house: Opened, bath: str, count: int, who: str = "kahu") -> str:
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )


def tub(house: Opened, name: str, place: int) -> str:
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name=name,
        brim=quantity(16, "l"),
        lidded="yes",
        place=str(place),
    )


def test_a_good_bath_is_offered_with_why_how_litres_sheets_and_hands(house: Opened):
    """480 g weighed into 12 L are 40 g/L; the last one to touch it is named."""
    bath = mixed(house)
    house.later(hours=2)
    page = house.client("kahu").get("/").text

    assert "About 40 g/L" in page
    assert "target 40." in page
    assert "Weighed today 18:00." in page
    assert "12.0 L" in page
    assert re.search(r"about \d+ half sheets left", page)
    assert "Amina K., 2 h ago" in page
    assert f'href="/baths/{bath}/sheets"' in page


def test_a_bath_not_to_be_used_stands_in_the_line_and_not_among_the_cards(house: Opened):
    """266.4 g in 11.36 L are 23.5 g/L; two water-only top-ups later 18.2 (computed)."""
    bath = mixed(
        house,
        water=quantity("11.36", "l"),
        salt=[{"lot": house.made["alum"], "amount": quantity("266.4", "g")}],
    )
    for _ in range(2):
        house.say("bath.topped_up", bath=bath, water=quantity("1.64", "l"), reason="level_only")
    member = house.client("kahu").get("/").text
    coordinator = house.client("amina").get("/").text

    assert "Not to be used:" in member
    assert f'<li><a href="/baths/{bath}">R-A1</a></li>' in member
    assert f"/baths/{bath}/sheets" not in member
    assert "Needs somebody" not in member
    assert (
        "Two water-only top-ups since the last test: about 18 g/L, not to be used under 25."
        in coordinator
    )
    assert f'href="/baths/{bath}/mend"' in coordinator


def test_a_weak_bath_is_to_be_mended_and_an_old_one_to_be_tested(house: Opened):
    """The big button is what this word asks for."""
    weak = mixed(house, salt=[{"lot": house.made["alum"], "amount": quantity(340, "g")}])
    page = house.client("kahu").get("/").text
    assert f'<a class="button main" href="/baths/{weak}/mend">' in page

    house.say("bath.finished", bath=weak, reason="replaced")
    old = mixed(house, name="R-A2")
    house.later(days=29)
    page = house.client("kahu").get("/").text
    assert "A strip print is due: mixed 29 days ago" in page
    assert f'<a class="button main" href="/baths/{old}/test">' in page


def test_a_member_is_told_that_a_bath_their_sheets_went_through_was_stopped(house: Opened):
    """The tag tells who stands at the tub; the stack may already be at home."""
    bath = mixed(house)
    sheets(house, bath, 40)
    stack = sheets(house, bath, 20)
    sheets(house, bath, 7, "amina")
    house.say("sheets.sorted", "kahu", stack=stack, good="20")
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="washed_off")
    page = house.client("kahu").get("/").text

    assert "R-A1 was stopped, today 18:00." in page
    assert "Your 40 half sheets went through it: look at your stack" in page
    assert "Your 7 half sheets" in house.client("amina").get("/").text
    assert "was stopped" not in house.client("oluwaseun").get("/").text


def test_baths_stand_in_the_order_of_the_room(house: Opened):
    """People look for a tub where it stands."""
    far = tub(house, "window tub", 7)
    mixed(house, name="R-Z9", vessel=house.made["tub"])
    mixed(house, name="R-A2", vessel=far)
    page = house.client("kahu").get("/").text

    assert page.index("Alum R-Z9") < page.index("Alum R-A2")


def test_the_studio_where_a_member_worked_last_comes_first(house: Opened):
    barn = house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=[],
        emergency="112",
        poison="0555 0100",
    )
    bath = mixed(house)
    first = house.client("kahu").get("/").text
    assert first.index("Use tonight: Barn") < first.index("Use tonight: Ropewalk")
    assert f"/mix?studio={barn}" in first

    sheets(house, bath, 5)
    then = house.client("kahu").get("/").text
    assert then.index("Use tonight: Ropewalk") < then.index("Use tonight: Barn")


def test_a_coordinator_sees_what_is_odd_until_somebody_settles_it(house: Opened):
    """More water than the brim holds is possible, and nobody is stopped for it."""
    bath = mixed(house)
    entry = house.say(
        "reading.taken", bath=bath, instrument="dipstick", depth=quantity(30, "mm")
    )
    house.say(
        "entry.corrected",
        target=entry,
        outcome="replace",
        reason="typing_slip",
        content={
            "author": house.members["amina"].member,
            "happened_at": "2025-09-10T10:00:00+00:00",
            "body": {
                "bath": bath,
                "instrument": "dipstick",
                "depth": quantity(31, "mm"),
            },
        },
    )
    line = f'<a href="/entries/{entry}/correct">R-A1: This is said to have happened before'
    assert line in house.client("amina").get("/").text
    assert line not in house.client("kahu").get("/").text

    house.say("finding.judged", subject=bath, code="before-the-mix", entry=entry, reason="seen")
    assert line not in house.client("amina").get("/").text


def test_an_empty_ledger_says_who_begins(bare: Opened):
    """The first page a new co-operative sees must say what comes next."""
    assert 'href="/house"' in bare.client("amina").get("/").text.split("<main", 1)[1]
    assert "A coordinator begins" in bare.client("kahu").get("/").text


def test_a_studio_without_a_bath_offers_to_mix_one(house: Opened):
    page = house.client("kahu").get("/").text

    assert "No bath stands here yet." in page
    assert f"/mix?studio={house.made['studio']}" in page


def test_who_is_not_signed_in_is_asked_to(house: Opened):
    answer = house.client().get("/")

    assert answer.status_code == 302
    assert answer.location.startswith("/sign-in")


def test_the_room_is_only_looked_at(house: Opened):
    assert house.client("kahu").post("/").status_code in (400, 405)


def test_the_room_speaks_turkish(house: Opened):
    mixed(house)
    client = house.client("amina")
    client.set_cookie("coop-lang", "tr")

    answer = client.get("/")
    assert answer.status_code == 200
    assert '<html lang="tr"' in answer.text


def test_the_room_asks_no_more_of_a_long_history_than_of_a_short_one(house: Opened):
    """A year of sheets must not slow the page that everybody opens."""
    bath = mixed(house)
    sheets(house, bath, 1)
    client = house.client("amina")
    client.get("/")
    with counted(house.store) as few:
        client.get("/")
    for _ in range(25):
        sheets(house, bath, 1)
    with counted(house.store) as many:
        client.get("/")

    assert 0 < len(many) == len(few) < 40
