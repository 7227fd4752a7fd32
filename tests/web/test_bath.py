"""A bath's page: may I use it, and what do I do?"""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask

from tests.support.browser import Pages
from tests.support.opened import HOUSE, PASSWORD, START, Opened, mixed, post, quantity
from tests.support.queries import counted
from tests.support.server import sign_in

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"


def sheets(house: Opened, bath: str, count: int, who: str = "kahu", **more: Any) -> str:
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
        **more,
    )


def page_of(house: Opened, bath: str, who: str = "kahu", query: str = "") -> str:
    answer = house.client(who).get(f"/baths/{bath}{query}")
    assert answer.status_code == 200
    return str(answer.text)


def test_a_bath_says_the_word_why_the_numbers_and_how_it_is_known(house: Opened):
    """15 mm over 540 x 740 mm are 6.0 L; 75 and 62.5 % of 40 are 30 and 25 (computed)."""
    page = page_of(house, mixed(house))

    assert "good</p>" in page
    assert "about 40 g/L" in page
    assert "Weighed today 18:00." in page
    assert "look again under 30, not to be used under 25 (house limits)" in page
    assert re.search(r"about 12\.0 L \(1\d\.\d to 12\.\d\)", page)
    assert "By hand, nothing dried up: 40.0 g/L in 12.0 L." in page
    assert "Good for P-31." in page


def test_a_bath_not_to_be_used_says_it_briefly(house: Opened):
    """What is under 25 g/L is under 30 as well, and no day brings it back by itself."""
    bath = mixed(house, salt=[{"lot": house.made["alum"], "amount": quantity(200, "g")}])
    house.later(hours=1)
    page = page_of(house, bath)

    assert "not to be used under 25." in page
    assert "look again under 30." not in page
    assert "Every reason" not in page
    assert "If nothing is done" not in page
    assert page.count(">Mend it</a>") == 1
    assert ">Finish it</a>" in page
    assert ">Get rid of it</a>" in page


def test_a_good_bath_is_offered_each_act_once(house: Opened):
    page = page_of(house, mixed(house))
    texts = re.findall(r'<a class="button[^"]*" href="[^"]*">([^<]+)</a>', page)
    urls = re.findall(r'<a class="button[^"]*" href="([^"]*)">', page)

    assert len(set(texts)) == len(texts)
    assert len(set(urls)) == len(urls)


def test_what_else_can_be_done_stands_before_the_numbers(house: Opened):
    """On a phone nobody scrolls past two charts to put a lid on."""
    page = page_of(house, mixed(house))

    assert page.index("What else?") < page.index("The numbers")


def test_a_bath_says_when_it_turns_by_itself(house: Opened):
    """A strip print is due 28 days after mixing: 17 Sept 18:00 and 28 days."""
    page = page_of(house, mixed(house))

    assert "If nothing is done: look again from 2025-10-15 18:00." in page
    assert "A strip print is due" in page


def test_a_moment_ahead_is_answered(house: Opened):
    """Still good on Saturday in five weeks?"""
    bath = mixed(house)
    page = page_of(house, bath, query="?at=2025-10-18T10:00")

    assert "Saturday 2025-10-18 10:00" in page
    assert "If nothing is done until then" in page
    assert "A strip print is due: mixed 30 days ago" in page
    assert "By the house limits of 2025-09-17" in page


def test_tomorrow_and_saturday_are_one_tap_away(house: Opened):
    """It is Wednesday: what a class on Saturday wants to know is asked by one link."""
    page = page_of(house, mixed(house))
    there = re.findall(r'href="([^"]+)">(?:Tomorrow|Saturday) at ten</a>', page)

    assert [one.split("?at=")[1] for one in there] == [
        "2025-09-18T10:00#asked",
        "2025-09-20T10:00#asked",
    ]
    assert "Saturday 2025-09-20 10:00" in house.client("kahu").get(there[1]).text


def test_the_one_test_that_would_settle_it_stands_beside_the_question(house: Opened):
    page = page_of(house, mixed(house)).split('id="asked"')[1]

    assert "What one test would settle it:" in page
    assert "/test" in page.split("What one test would settle it:")[1].split("</a>")[0]


def test_a_moment_back_is_judged_by_the_edition_of_that_day(house: Opened):
    """Stricter limits set today do not make yesterday's answer worse."""
    bath = mixed(house)
    house.later(days=1)
    strict = {"do_not_use_fraction": "1", "look_again_fraction": "1"}
    house.say("limits.set", **(HOUSE | strict))
    page = page_of(house, bath, query="?at=2025-09-17T19:00").split('id="asked"')[1]

    assert page.count("By the house limits of 2025-09-17") == 2


def test_a_moment_back_is_answered_by_what_was_known_and_by_what_is_known(house: Opened):
    """A top-up written a day late was in the tub all the same."""
    bath = mixed(house)
    poured = house.later(hours=2)
    house.later(days=1)
    house.say(
        "bath.topped_up",
        at=poured,
        bath=bath,
        water=quantity(3, "l"),
        reason="level_only",
    )
    page = page_of(house, bath, query="?at=2025-09-17T21:00")
    then, now = page.split("What it said then")[1].split("By what we know now")

    assert "12.0 L, about 40 g/L" in then
    assert "15.0 L, about 32 g/L" in now


def test_before_it_was_mixed_there_is_nothing_to_say(house: Opened):
    page = page_of(house, mixed(house), query="?at=2025-09-17T09:00")

    assert page.count("It was not mixed yet.") == 2


@pytest.mark.parametrize(
    "asked", ["soon", "2125-09-17T09:00", "2025-13-40", "0001-01-01T00:00"]
)
def test_an_odd_moment_is_put_right_in_words(house: Opened, asked: str):
    page = page_of(house, mixed(house), query=f"?at={asked}")

    assert "A date and a time within a year of now, please" in page
    assert f'value="{asked}"' in page


def test_where_the_water_and_the_alum_went_adds_up(house: Opened):
    """What came in, less what went, with what readings could not explain, is what is left."""
    bath = mixed(house)
    house.later(hours=1)
    sheets(house, bath, 60)
    house.later(hours=20)
    house.say("reading.taken", bath=bath, instrument="dipstick", depth=quantity(25, "mm"))
    went = page_of(house, bath).split('id="went"')[1].split("</table>")[0]
    rows = re.findall(r'<th scope="row">(.*?)</th><td.*?>(.*?)</td><td.*?>(.*?)</td>', went)
    water = {name: float(litres) for name, litres, _ in rows}
    lost = sum(
        water[name] for name in ("off with sheets", "dried up", "bound by paper and chalk")
    )

    assert water["put in"] == 12.0
    assert water["unexplained by readings"] != 0
    assert water["put in"] - lost + water["unexplained by readings"] == pytest.approx(
        water["left"], abs=0.03
    )


def test_the_charts_show_readings_stops_and_lines(house: Opened):
    """The picture has its numbers in a table underneath."""
    bath = mixed(house)
    house.later(hours=3)
    house.say(
        "reading.taken",
        bath=bath,
        instrument="hydrometer",
        gravity="1.0225",
        temperature=quantity(20, "celsius"),
    )
    for _ in range(8):
        house.later(minutes=1)
        house.say("sheets.through", bath=bath, sheet_count="1", sheet_format="half",
                  method="dip", lot=house.made["parcel"])  # fmt: skip
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    house.later(hours=3)
    page = page_of(house, bath)

    assert "Strength over time" in page
    assert "Level over time" in page
    assert re.search(r'<text class="chart-small" x="[\d.]+" y="9">g/L</text>', page)
    assert re.search(r"\d more moments? without words here: under The numbers", page)
    assert 'class="chart-mark applied"' in page
    assert "chart-line do-not-use" in page
    assert "2025-09-17 21:08</span> stopped" in page


def test_a_reading_that_disagrees_is_drawn_apart(house: Opened):
    bath = mixed(house)
    house.later(hours=3)
    house.say(
        "reading.taken",
        bath=bath,
        instrument="hydrometer",
        gravity="1.010",
        temperature=quantity(20, "celsius"),
    )
    page = page_of(house, bath)

    assert "reading kept apart" in page
    assert re.search(
        r"The hydrometer \(today 21:00\) says about 1\d g/L \(1\d to \d+\); "
        r"from what was written it should be about 40\. A second reading settles it\.",
        page,
    )
    assert "times its doubt" not in page
    assert "This reading does not agree with what went in." in page
    assert "Take a second reading" in page


def test_a_settled_disagreement_is_odd_no_longer(house: Opened):
    """Two readings that agree are both believed; nobody has to judge the first any more."""
    bath = mixed(house)
    for _ in range(2):
        house.later(hours=3)
        house.say(
            "reading.taken",
            bath=bath,
            instrument="hydrometer",
            gravity="1.010",
            temperature=quantity(20, "celsius"),
        )

    assert "does not agree with what went in" not in page_of(house, bath)
    with house.desk() as desk:
        assert list(desk.journal.findings()) == []


def test_a_weak_bath_is_told_what_to_add_in_grams_and_in_its_tubs_spoons(house: Opened):
    """10 L at 20 g/L lack 200 g for 40 g/L; at 12.5 g a spoon that is 16 (computed)."""
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(125, "g"),
    )
    bath = mixed(
        house,
        water=quantity(10, "l"),
        salt=[{"lot": house.made["alum"], "amount": quantity(200, "g")}],
    )
    page = page_of(house, bath)

    assert "200 g of alum, no water: then 40 g/L in 10.0 L" in page
    assert "16 level US tablespoons of AS-24" in page


def test_the_history_tells_who_did_what_with_the_note(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    answer = post(
        client,
        f"/baths/{bath}/stop",
        reason="looks_wrong",
        note="pink threads at the bottom",
    )
    assert answer.status_code == 303
    page = client.get(f"/baths/{bath}").text

    assert "mixed: 12 L of water, 480 g AS-24" in page
    assert "stopped: it looks wrong" in page
    assert "pink threads at the bottom" in page
    assert "Kahu R." in page


def test_a_stopped_bath_offers_to_allow_it_to_those_who_may(house: Opened):
    """Not the one who stopped it, once ten minutes have passed."""
    bath = mixed(house)
    house.say("bath.stopped", "kahu", bath=bath, reason="looks_wrong")
    house.later(minutes=11)

    assert f"/baths/{bath}/allow" not in page_of(house, bath, "kahu")
    assert f"/baths/{bath}/allow" in page_of(house, bath, "oluwaseun")


@pytest.mark.parametrize(
    ("who", "acts"),
    [
        ("kahu", ["Make a strip print", "Open history"]),
        ("oluwaseun", ["Allow it again", "Make a strip print"]),
    ],
)
def test_a_weak_bath_that_was_stopped_asks_for_proof_first(
    house: Opened, who: str, acts: list[str]
):
    """To pour alum into it is not for whoever comes by: a person stopped it."""
    bath = mixed(
        house,
        salt=[{"lot": house.made["alum"], "amount": quantity(200, "g")}],
    )
    house.say("bath.stopped", "kahu", bath=bath, reason="looks_wrong")
    house.later(minutes=11)
    shown = page_of(house, bath, who).split('class="acts"')[1].split("</p>")[0]

    assert re.findall(r">([^<>]+)</a>", shown) == acts


def test_a_bath_to_look_at_again_is_good_for_no_paper_yet(house: Opened):
    """Strong enough, but nobody has made a strip print for a month."""
    bath = mixed(house)
    assert "Good for P-31." in page_of(house, bath)
    house.later(days=30)

    assert "Good for" not in page_of(house, bath)
    assert "For P-31: look again first." in page_of(house, bath)


def test_a_bath_not_to_be_used_is_good_for_no_paper(house: Opened):
    """Strong enough, but stopped; and once it is finished nobody asks any more."""
    bath = mixed(house)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    stopped = page_of(house, bath)
    house.say("bath.finished", bath=bath, reason="tinted")

    assert "Good for" not in stopped
    assert "For P-31: not now." in stopped
    assert "P-31: " not in page_of(house, bath).split('id="history"')[0]


def test_a_finished_bath_is_looked_at_only(house: Opened):
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="tinted")
    page = page_of(house, bath)

    assert "finished</p>" in page
    assert "still has to be got rid of" in page
    assert f"/baths/{bath}/sheets" not in page


def test_a_finished_bath_goes_by_the_limits_of_its_finish(house: Opened):
    """Stricter limits of later days do not change how it was judged."""
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="tinted")
    house.later(days=1)
    house.say("limits.set", **(HOUSE | {"do_not_use_fraction": "0.7"}))
    page = page_of(house, bath)

    assert "not to be used under 25" in page
    assert "Sheets left" not in page
    assert "Still good at another time?" not in page


def test_all_baths_are_listed_finished_ones_too(house: Opened):
    old = mixed(house)
    house.say("bath.finished", bath=old, reason="tinted")
    new = mixed(house, name="R-A2")
    page = house.client("kahu").get("/baths").text

    assert "good</p>" in page
    assert page.index(f"/baths/{new}") < page.index("Finished") < page.index(f"/baths/{old}")
    assert "tinted or linty" in page


def test_without_a_target_or_a_floor_nothing_is_made_up(bare: Opened):
    """Nobody said how strong or how deep: the page says so and asks."""
    studio = bare.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        emergency="112",
        poison="0555 0100",
    )
    tub = bare.say(
        "vessel.described",
        studio=studio,
        name="tub",
        brim=quantity(16, "l"),
        lidded="yes",
        place="1",
    )
    lot = bare.say(
        "lot.received",
        studio=studio,
        what="alum",
        name="AS",
        salt="potash_alum",
        weight=quantity(1, "kg"),
    )
    bath = bare.say(
        "bath.mixed",
        name="B-A1",
        studio=studio,
        vessel=tub,
        water=quantity(10, "l"),
        salt=[{"lot": lot, "amount": quantity(400, "g")}],
    )
    page = page_of(bare, bath)

    assert "nobody said how strong it should be" in page
    assert "nobody said how deep it must stand" in page
    assert "Say how strong it should be" in page
    assert 'href="/house"' in page


def test_an_unknown_bath_is_said_in_words(house: Opened):
    answer = house.client("kahu").get(f"/baths/{NOBODY}")

    assert answer.status_code == 404
    assert "There is no such page" in answer.text


def test_a_bath_is_only_looked_at(house: Opened):
    assert house.client("kahu").post(f"/baths/{mixed(house)}").status_code in (400, 405)


def test_who_is_not_signed_in_is_asked_to(house: Opened):
    assert house.client().get(f"/baths/{mixed(house)}").status_code == 302


def test_the_page_speaks_turkish(house: Opened):
    bath = mixed(house)
    sheets(house, bath, 20)
    client = house.client("kahu")
    client.set_cookie("coop-lang", "tr")

    assert client.get(f"/baths/{bath}?at=2025-09-18T10:00").status_code == 200
    assert client.get("/baths").status_code == 200


def test_a_long_history_is_shown_in_part_and_asks_no_more_queries(house: Opened):
    """Forty lines first; the rest one tap away."""
    bath = mixed(house)
    sheets(house, bath, 1)
    client = house.client("kahu")
    client.get(f"/baths/{bath}")
    with counted(house.store) as few:
        client.get(f"/baths/{bath}")
    for _ in range(45):
        house.later(minutes=1)
        sheets(house, bath, 1)
    with counted(house.store) as many:
        page = client.get(f"/baths/{bath}").text

    assert 0 < len(many) <= len(few) < 40
    assert "Show 7 older ones" in page
    assert page.count("1 half sheet through") == 40
    everything = client.get(f"/baths/{bath}?all=1").text
    assert everything.count("1 half sheet through") == 46


def test_a_bath_mixed_this_minute_can_be_drawn(house: Opened):
    """A chart needs some width of time, whatever the clock says."""
    bath = mixed(house)
    assert house.moment == START
    house.moment = START - timedelta(minutes=5)

    assert "Strength over time" in page_of(house, bath)


def weak_week(house: Opened) -> str:
    """
    A bath of 24 bare level spoons in 11.36 L, watered, used, and its spoon weighed on Sunday.

    An invented week: ten spoons weigh 111 g, so 24 are 266.4 g and 23.5 g/L (computed), not
    the 31 that usual spoons make.
    """
    bath = mixed(
        house,
        water=quantity("11.36", "l"),
        salt=[
            {"lot": house.made["alum"], "amount": quantity(24, "us_tbsp", heap="level")},
        ],
    )
    house.later(hours=16)
    first = sheets(house, bath, 40)
    poured = house.later(hours=7)
    house.later(hours=14, minutes=40)
    house.say(
        "bath.topped_up", at=poured, bath=bath, water=quantity(3, "l"), reason="level_only"
    )
    house.later(days=1)
    sheets(house, bath, 46, "oluwaseun", reason="already_done")
    house.say("sheets.sorted", stack=first, good="2", washed_off="38")
    house.later(days=1)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="strip_print_failed")
    house.later(minutes=5)
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(111, "g"),
    )
    return bath


def test_what_was_said_before_a_spoon_was_weighed_stays_in_sight(house: Opened):
    """Nobody is left to wonder why the figure on the page is another than last week's."""
    bath = weak_week(house)
    page = page_of(house, bath)
    said = re.search(
        r"Until (\S+ \S+) this page said about (\d+) g/L \((\d+) to (\d+)\), then (\d+)\.", page
    )

    assert said, page
    assert said[1] == "2025-09-21 07:45"
    first, low, high, then = map(int, said.groups()[1:])
    assert (first, low < 26, high > 36) == (31, True, True)
    assert then == pytest.approx(24, abs=1)
    back = re.findall(r'href="(/baths/[^"]+\?at=[^"]+)#asked">What it said', page)
    assert len(back) == 2
    assert "about 31 g/L" in house.client("kahu").get(back[0]).text.split('id="asked"')[1]


def test_no_date_is_broken_at_its_hyphens_on_a_narrow_screen(
    house: Opened, pages: Pages, live: Callable[[Flask], str]
) -> None:
    """Browsers break 2025-09-17 after 2025- where it does not fit."""
    bath = mixed(house)
    house.later(days=3)
    page = pages.phone(live(house.app()), viewport={"width": 320, "height": 700})
    sign_in(page, "kahu", PASSWORD)

    for there in (f"/baths/{bath}", "/me"):
        page.goto(there)
        lines = page.locator(".at").evaluate_all(
            "all => all.map(one => { one.parentElement.style.maxWidth = '7em';"
            " return [one.textContent, one.getClientRects().length]; })"
        )
        assert any(re.search(r"\d{4}-\d\d-\d\d", text) for text, _ in lines), there
        assert [text for text, count in lines if count > 1] == []


def test_one_spoon_is_not_said_as_several(house: Opened):
    """A kitchen scale may weigh one by itself."""
    bath = weak_week(house)
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="1",
        spoon="us_tbsp",
        weight=quantity(12, "g"),
    )

    assert "weighed 1 level spoon of AS-24: 12 g" in page_of(house, bath)


def test_the_weighed_spoon_of_its_lot_stands_in_a_baths_history(house: Opened):
    page = page_of(house, weak_week(house)).split('id="history"')[1]

    assert "weighed 10 level spoons of AS-24: 111 g" in page
    assert "11.1 g each; every figure since the mixing was reckoned anew." in page


def test_a_spoon_weighed_before_the_mixing_changed_nothing(house: Opened):
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(111, "g"),
    )
    house.later(hours=1)
    page = page_of(house, mixed(house))

    assert "this page said" not in page
    assert "level spoons of" not in page.split('id="history"')[1]


def test_an_entry_that_came_in_late_says_when(house: Opened):
    """Written on a phone without a net: it happened at 17:00 and arrived next morning."""
    page = page_of(house, weak_week(house)).split('id="history"')[1]

    assert page.count("arrived ") == 1
    assert "arrived 2025-09-19 07:40" in page


@pytest.mark.parametrize("who", ["kahu", "oluwaseun", "amina"])
def test_everybody_sees_what_went_through_a_bath(house: Opened, who: str):
    page = page_of(house, weak_week(house), who).split('id="stacks"')[1].split("<h2")[0]

    assert "2 of 86 good; 38 of 86 washed off; sorted 40 of 86" in page
    assert "40 half sheets: 2 of 40 good; 38 of 40 washed off; sorted 40 of 40" in page
    assert "46 half sheets: sorted 0 of 46" in page
    assert "Kahu R." in page
    assert page.count("Look at your stack") == {"kahu": 1, "oluwaseun": 1, "amina": 0}[who]


def test_a_stack_of_a_bath_in_use_needs_no_look(house: Opened):
    bath = mixed(house)
    sheets(house, bath, 20)
    page = page_of(house, bath)

    assert "20 half sheets: sorted 0 of 20" in page
    assert "Look at your stack" not in page


def test_a_stack_from_before_a_stop_was_poured_in_needs_no_look(house: Opened):
    """The bad litre came after it; the bath says since when it is not to be used."""
    tub = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="low tub",
        brim=quantity(16, "l"),
        lidded="yes",
        place="2",
    )
    bath, other = mixed(house), mixed(house, name="R-A7", vessel=tub, water=quantity(4, "l"))
    sheets(house, bath, 20)
    house.say("bath.stopped", "amina", bath=other, reason="washed_off")
    house.later(days=1)
    house.say("bath.joined", "amina", bath=bath, giver=other, litres=quantity(1, "l"))
    page = page_of(house, bath)

    assert "Not to be used since R-A7 was poured in, today 18:00." in page
    assert "20 half sheets: sorted 0 of 20" in page
    assert "Look at your stack" not in page
    assert "concerned" not in page


def test_a_print_says_its_day(house: Opened):
    """On paper, today and yesterday have no day of their own."""
    bath = mixed(house)
    house.later(days=3)
    page = house.client("kahu").get(f"/baths/{bath}").text

    assert "As it stood on Saturday 2025-09-20 18:00: “today” is that day." in page
