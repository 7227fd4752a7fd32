"""Follow a sheet: back from a fault, forward to sheets at risk, and who has seen it."""

import re
from typing import Any

import pytest

from coop.ledger.states import StackState
from tests.support.forms import forms_of
from tests.support.opened import Opened, mixed, post, quantity, token


def through(house: Opened, bath: str, count: int, who: str = "kahu", **more: Any) -> str:
    house.later(minutes=1)
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
        reason="already_done",
        **more,
    )


def size(house: Opened) -> str:
    tray = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="tray R1",
        brim=quantity(20, "l"),
        lidded="yes",
        place="8",
    )
    return house.say(
        "bath.mixed",
        what="size",
        name="R-S3",
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(17, "l"),
        powder=[{"powder": "carrageenan", "amount": quantity(85, "g")}],
    )


def stop(house: Opened, bath: str, who: str = "oluwaseun") -> str:
    house.later(minutes=1)
    return house.say("bath.stopped", who, bath=bath, reason="strip_print_failed")


@pytest.fixture
def two_stacks(house: Opened) -> dict[str, str]:
    """R-A2: Kahu's 40 and Dariusz's 46, and a stop on Sunday."""
    house.join("Dariusz W.", "member")
    bath = mixed(house, name="R-A2")
    thursday = through(house, bath, 40, "kahu")
    house.later(days=2)
    saturday = through(house, bath, 46, "dariusz")
    house.say("sheets.sorted", "dariusz", stack=saturday, good="15", washed_off="31")
    house.later(days=1)
    stop(house, bath)
    return {"bath": bath, "thursday": thursday, "saturday": saturday}


def text_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))


def test_a_stopped_bath_leads_to_eighty_six_sheets_and_two_people(
    house: Opened, two_stacks: dict[str, str]
):
    """Whose, how many wait for colour, were laid, and how they came out."""
    page = house.client("amina").get(f"/follow?bath={two_stacks['bath']}").text
    told = text_of(page)

    assert "86 half sheets in 2 stacks: 31 spoiled, 15 good, 40 not sorted." in told
    assert "15 good, 31 washed off; 46 of 46 sorted" in told
    assert "Not seen yet by: Kahu R., Dariusz W." in told
    for stack in ("thursday", "saturday"):
        assert f'href="/follow?stack={two_stacks[stack]}"' in page


def test_it_leaves_the_room_with_one_tap_and_others_see_who_has_seen_it(
    house: Opened, two_stacks: dict[str, str]
):
    """A warning that stays for ever is read no more; one that goes unseen is asked about."""
    kahu = house.client("kahu")
    before = kahu.get("/").text
    assert "R-A2 was stopped" in before
    assert "Your 40 half sheets went through it: look at your stack" in before
    there = house.client("amina").get("/").text
    assert "R-A2 was stopped: not seen yet by Kahu R., Dariusz W." in there

    (form,) = [one for one in forms_of(before) if one.action == "/follow/seen"]
    assert kahu.post(form.action, data=form.fields).status_code == 303

    assert "was stopped" not in kahu.get("/").text
    amina = house.client("amina")
    assert "R-A2 was stopped: not seen yet by Dariusz W." in amina.get("/").text
    told = text_of(amina.get(f"/follow?bath={two_stacks['bath']}").text)
    assert "Seen by: Kahu R." in told
    assert "Not seen yet by: Dariusz W." in told


def test_seen_twice_is_written_once(house: Opened, two_stacks: dict[str, str]):
    kahu = house.client("kahu")
    page = kahu.get("/").text
    data = {"csrf_token": token(page), "bath": two_stacks["bath"]}
    for _ in range(2):
        assert kahu.post("/follow/seen", data=data).status_code == 303

    state: StackState = house.state("stack", two_stacks["thursday"])
    assert len(state.seen) == 1
    assert "Already written." in kahu.get("/").text


def test_it_can_be_seen_on_the_page_that_follows_it_too(
    house: Opened, two_stacks: dict[str, str]
):
    kahu = house.client("kahu")
    there = f"/follow?bath={two_stacks['bath']}"
    (form,) = [one for one in forms_of(kahu.get(there).text) if one.action == "/follow/seen"]
    answer = kahu.post(form.action, data=form.fields)

    assert answer.location == there
    after = kahu.get(there).text
    assert "Seen by: Kahu R." in after
    assert 'action="/follow/seen"' not in after


def test_who_has_no_sheets_in_it_is_not_asked(house: Opened, two_stacks: dict[str, str]):
    for first in ("amina", "oluwaseun"):
        page = house.client(first).get(f"/follow?bath={two_stacks['bath']}").text
        assert 'action="/follow/seen"' not in page
        assert "look at your stack" not in house.client(first).get("/").text


def test_members_are_not_told_who_has_not_seen_it_in_the_room(
    house: Opened, two_stacks: dict[str, str]
):
    """The room of a coordinator is where somebody is asked to ring them up."""
    assert "not seen yet by" not in house.client("kahu").get("/").text


def test_a_fault_is_followed_back(house: Opened):
    """What it said then, what is known now, lots, size with its age, and hands."""
    bath = mixed(house, salt=[{"lot": house.made["alum"], "amount": quantity(24, "us_tbsp")}])
    tray = size(house)
    house.later(minutes=1)
    house.say(
        "reading.taken", bath=tray, instrument="drop_test", outcome="round", spread_mm="48"
    )
    house.later(days=1)
    stack = through(house, bath, 40, size=tray)
    house.later(days=1)
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(111, "g"),
    )
    page = house.client("amina").get(f"/follow?stack={stack}").text
    told = text_of(page)

    then, known = re.findall(r"[Aa]bout (\d+) g/L \(\d+ to \d+\)", told)[:2]
    assert int(then) > 1.2 * int(known)
    assert "What it said then" in told
    assert "By what we know now" in told
    assert "Drop spread then: 48 mm." in told
    assert re.search(r"Made 2025-09-\d\d \d\d:\d\d: like 1.0 warm days", told)
    assert "AS-24" in told
    assert "mixed: 12 L of water" in told
    for there in (f"/lots/{house.made['parcel']}", f"/liquids/{tray}", f"/baths/{bath}",
                  f"/follow?bath={tray}", f"/follow?lot={house.made['alum']}"):  # fmt: skip
        assert f'href="{there}"' in page


def test_a_lot_is_followed_forward(house: Opened):
    bath = mixed(house)
    stack = through(house, bath, 10)
    client = house.client("kahu")
    for lot in ("alum", "parcel"):
        page = client.get(f"/follow?lot={house.made[lot]}").text
        assert f'href="/follow?stack={stack}"' in page


def test_a_size_that_nobody_laid_on_says_so(house: Opened):
    page = house.client("kahu").get(f"/follow?size={size(house)}").text
    assert "No sheets." in page


def test_with_nothing_chosen_the_newest_stacks_are_offered(house: Opened):
    client = house.client("kahu")
    assert "All sheets are sorted." in client.get("/follow").text
    stack = through(house, mixed(house), 10)

    assert f'href="/follow?stack={stack}"' in client.get("/follow").text


def test_unknown_ones_wrong_method_and_signed_out(house: Opened):
    client = house.client("kahu")
    for way in ("stack", "bath", "size", "lot"):
        assert client.get(f"/follow?{way}={house.made['studio']}").status_code == 404
    assert client.get("/follow/seen").status_code == 405
    assert post(client, "/", "/follow/seen", bath="nobody").status_code == 404
    assert house.client().get("/follow").status_code == 302


def test_the_room_asks_how_own_sheets_came_out_next_day(house: Opened):
    """Three are named, the others counted; who sorted them is asked no more."""
    bath = mixed(house)
    stacks = [through(house, bath, count) for count in (60, 5, 6, 7, 8)]
    client = house.client("kahu")
    assert "come out?" not in client.get("/").text
    house.later(hours=13)
    page = client.get("/").text

    assert "How did your 60 half sheets come out?" in page
    assert f'href="/stacks/{stacks[0]}/sorting"' in page
    assert len(re.findall(r"How did your \d+ half sheets come out\?", page)) == 3
    assert "2 stacks more wait to be sorted." in page
    assert "come out?" not in house.client("oluwaseun").get("/").text

    house.say("sheets.sorted", "amina", stack=stacks[0], good="60")
    assert "How did your 60" not in client.get("/").text
