"""A bath that is not alum: may I use this size, and what do I do?"""

import html
import re
from typing import Any

import pytest

from tests.support.opened import HOUSE, Opened, mixed, post, quantity, sized

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"


def page_of(house: Opened, bath: str, who: str = "kahu", query: str = "") -> str:
    answer = house.client(who).get(f"/liquids/{bath}{query}")
    assert answer.status_code == 200
    return html.unescape(answer.text)


def stack(house: Opened, count: int = 20, who: str = "kahu") -> str:
    """Alum some half sheets; return their stack."""
    bath = house.made.get("alum bath") or mixed(house)
    house.made["alum bath"] = bath
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )


def lay(house: Opened, size: str, count: int = 20, **more: Any) -> str:
    """Alum and lay some half sheets; return the entry of the laying."""
    return house.say(
        "sheets.through",
        "kahu",
        size=size,
        stack=stack(house, count),
        sheet_count=str(count),
        sheet_format="half",
        **({"reason": "test_sheets"} | more),
    )


def drop(house: Opened, bath: str, outcome: str = "round", spread_mm: str = "50") -> str:
    return house.say(
        "reading.taken",
        "kahu",
        bath=bath,
        instrument="drop_test",
        outcome=outcome,
        spread_mm=spread_mm,
    )


def test_a_fresh_size_rests_and_says_until_when(house: Opened):
    """Carrageenan rests twelve hours unless its recipe says otherwise (a default)."""
    page = page_of(house, sized(house))

    assert "Size R-S1" in page
    assert "resting</p>" in page
    assert "It rests until tomorrow 06:00." in page
    assert "Rests until" in page
    assert "If nothing is done: good from 2025-09-18 06:00." in page


def test_a_rested_size_says_its_age_thickness_litres_and_what_it_is_made_of(house: Opened):
    """60 g in 12 L are 5 g/L; weighed to 3 % and measured to 2 % that is 4.8 to 5.2."""
    bath = sized(house)
    house.later(days=1)
    page = page_of(house, bath)

    assert "good</p>" in page
    assert "Made yesterday 18:00: like 1.0 warm days of 4." in page
    assert "made Wednesday 2025-09-17 18:00, 1.0 days old: like 1.0 warm days of 4" in page
    assert "about 5.0 g/L (4.8 to 5.2), weighed" in page
    assert "about 12.0 L (11.8 to 12.2)" in page
    assert "<dd>carrageenan</dd>" in page
    assert "By its days alone" in page
    assert f'href="/liquids/{bath}/lay"' in page


def test_days_in_the_cold_count_a_fifth(house: Opened):
    """One day at room and two chilled are 1 + 2 / 5 = 1.4 warm days (computed)."""
    bath = sized(house)
    house.later(days=1)
    house.say("bath.cared", "kahu", bath=bath, care="chilled")
    house.later(days=2)
    page = page_of(house, bath)

    assert "3.0 days old, 2.0 of them chilled: like 1.4 warm days of 4" in page
    assert "It stands cold: it ages slowly." in page
    assert "Brought to the room" in page


def test_the_type_of_carrageenan_is_that_of_its_lot(house: Opened):
    """Kappa and iota set to a gel; who lays sheets wants to know before."""
    lot = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="CG-11",
        weight=quantity(1, "kg"),
        carrageenan="lambda",
    )
    powder = [{"powder": "carrageenan", "lot": lot, "amount": quantity(60, "g")}]

    assert "carrageenan, lambda: it thickens" in page_of(house, sized(house, powder=powder))


def test_the_sheets_left_are_a_hint_and_no_reason(house: Opened):
    """4 L over the laying litres, 0.35 (to 0.8) L/m2 on 0.175 m2: 65, perhaps 28 (computed)."""
    bath = sized(house)
    house.later(days=1)

    assert "at least 28 half sheets, perhaps 65: a hint, never a reason" in page_of(house, bath)


def test_a_size_goes_by_the_laying_depth_of_the_house(house: Opened):
    """Nobody said litres for this tub: 0.48 m2 at 15 mm take 7.2 L (computed)."""
    tub = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="spare tub",
        inside_length=quantity(800, "mm"),
        inside_width=quantity(600, "mm"),
        brim=quantity(20, "l"),
        lidded="yes",
        place="3",
    )
    bath = sized(house, name="R-S7", vessel=tub, water=quantity(4, "l"))
    house.later(days=1)
    page = page_of(house, bath)

    assert "do not use</p>" in page
    assert "Too low: about 4.0 L stand in it, it takes 7.2 L to lay a sheet." in page
    assert "nobody said how many litres" not in page


def test_another_moment_is_told_by_dates(house: Opened):
    """Asked on Wednesday, "today" of a Saturday is no day that anybody means."""
    bath = sized(house)
    rests = page_of(house, bath, query="?at=2025-09-17T19:00").split('id="asked"')[1]
    rests = rests.split("</section>")[0]
    assert "It rests until 2025-09-18" in rests
    assert "Made 2025-09-17 18:00" in rests

    for there in ("?at=2025-09-18T12:00", "?at=2025-09-20T10:00"):
        answer = page_of(house, bath, query=there).split('id="asked"')[1].split("</section>")[0]
        assert "Made 2025-09-17 18:00" in answer
        assert "today" not in answer
        assert "yesterday" not in answer


def test_a_drop_test_is_a_reason_with_what_to_do(house: Opened):
    bath = sized(house)
    house.later(days=1)
    drop(house, bath, "ragged", "45")
    page = page_of(house, bath)

    assert "look again</p>" in page
    assert "Drop test today 18:00: ragged, the size is too old." in page
    assert "ragged edge, 45 mm (today 18:00, Kahu R.)" in page
    assert f'href="/liquids/{bath}/test?by=drop_test"' in page


def test_a_good_drop_test_speaks_louder_than_the_days(house: Opened):
    """Five warm days are over four, but a round drop of 50 mm buys a day."""
    bath = sized(house)
    house.later(days=5)
    assert "look again</p>" in page_of(house, bath)
    drop(house, bath)
    page = page_of(house, bath)

    assert "good</p>" in page
    assert "Drop test today 18:00." in page


def test_a_bath_not_to_be_used_says_every_reason_with_its_source(house: Opened):
    bath = sized(house)
    house.later(days=7)
    house.say("bath.stopped", bath=bath, reason="smells_sour")
    page = page_of(house, bath)

    assert "do not use</p>" in page
    assert "Stopped by Amina K." in page
    assert "7.0 warm days, not to be used from 6 on" in page
    assert "(house limits)" in page
    assert "If nothing is done" not in page
    assert f'href="/baths/{bath}/allow"' in page


def run_out(house: Opened, bath: str, seconds: str, **more: Any) -> str:
    return house.say(
        "reading.taken",
        "kahu",
        bath=bath,
        instrument="funnel",
        funnel="brass",
        seconds=seconds,
        **more,
    )


def test_a_run_out_time_has_no_line_before_five_good_ones(house: Opened):
    """No band from elsewhere fits this funnel; until it has its own, nothing is judged."""
    bath = sized(house)
    house.later(days=1)
    run_out(house, bath, "24", water_seconds="12", temperature=quantity(20, "celsius"))
    page = page_of(house, bath)

    assert "24 s through brass (today 18:00)" in page
    assert "2.0 times water" in page
    assert "no line yet: 0 of 5 readings on sizes that printed well" in page
    assert "Run-out time over time: brass" in page


def test_a_run_out_time_is_set_beside_the_good_days(house: Opened):
    """The middle half of 20, 22, 24, 26, 28 is 22 to 26 (type 7 of Hyndman and Fan 1996)."""
    bath = sized(house)
    house.later(days=1)
    for seconds in ("20", "22", "24", "26", "28"):
        house.later(minutes=1)
        run_out(house, bath, seconds)
    laid = stack(house)
    house.say("sheets.through", "kahu", size=bath, stack=laid, sheet_count="20",
              sheet_format="half")  # fmt: skip
    house.say("sheets.sorted", "kahu", stack=laid, size=bath, good="20")
    page = page_of(house, bath)

    assert "on your good days 22 to 26" in page
    house.later(minutes=1)
    run_out(house, bath, "24")
    assert "like your good days" in page_of(house, bath)


def test_what_was_timed_in_the_cold_draws_no_line(house: Opened):
    """A cold size runs slower, however good it is."""
    bath = sized(house)
    house.later(days=1)
    for seconds in ("40", "42", "44", "46", "48"):
        house.later(minutes=1)
        run_out(house, bath, seconds, temperature=quantity(9, "celsius"))
    laid = stack(house)
    house.say("sheets.through", "kahu", size=bath, stack=laid, sheet_count="20",
              sheet_format="half")  # fmt: skip
    house.say("sheets.sorted", "kahu", stack=laid, size=bath, good="20")

    assert "no line yet: 0 of 5 readings" in page_of(house, bath)


def test_a_ratio_to_water_in_the_cold_says_that_it_does_not_compare(house: Opened):
    bath = sized(house)
    house.later(days=1)
    run_out(house, bath, "30", water_seconds="12", temperature=quantity(9, "celsius"))

    assert "2.5 times water, at 9 °C: comparable at 18 to 22 °C only" in page_of(house, bath)


def test_what_was_laid_is_listed_with_its_area_and_the_damp_is_said(house: Opened):
    """20 half sheets of 500 x 700 mm are 3.5 m2 (computed)."""
    bath = sized(house)
    house.later(days=1)
    lay(house, bath, damp="yes")
    page = page_of(house, bath)

    assert "3.50 m²" in page
    assert "20 half sheets, damp" in page
    assert 'href="/stacks/' in page
    assert "g, with damp sheets" in page


def test_whoever_it_is_kept_for_is_named(house: Opened):
    bath = sized(house)
    house.say(
        "bath.kept_for",
        bath=bath,
        member=house.members["kahu"].member,
        until="2025-09-20T10:00:00+02:00",
    )
    page = page_of(house, bath, "amina")

    assert "Kept for Kahu R. until 2025-09-20 10:00." in page
    house.later(days=5)
    assert "Kept for" not in page_of(house, bath, "amina")


def test_other_liquids_keep_by_their_age(house: Opened):
    """A gall water is looked at again from 14 days on, and not used from 28 (defaults)."""
    gall = [{"powder": "gall", "amount": quantity(20, "g")}]
    bath = sized(house, what="gall_water", name="R-G1", water=quantity(1, "l"), powder=gall)
    page = page_of(house, bath)
    assert "Gall water R-G1" in page
    assert (
        "look again from 14 days on (house limits), not to be used at twice that, 28 days"
        in page
    )
    assert "Lay sheets" not in page
    assert "<dd>gall</dd>" in page

    house.later(days=15)
    page = page_of(house, bath)
    assert "15.0 days old: look again from 14 days on." in page
    assert f'href="/liquids/{bath}/test?by=look"' in page


def test_its_pictures_have_a_title_a_sentence_and_a_table(house: Opened):
    bath = sized(house)
    house.later(days=1)
    house.say("bath.topped_up", bath=bath, water=quantity(3, "l"))
    house.say("reading.taken", bath=bath, instrument="thermometer",
              temperature=quantity(21, "celsius"))  # fmt: skip
    page = page_of(house, bath)

    for title in ("Thickness over time", "Level over time", "Temperature over time"):
        assert f"<caption>{title}," in page or "<caption>Readings, °C</caption>" in page
        assert title in page
    assert "From about 5.0 to about 4.0 g/L of powder." in page
    assert "Read once: 21 °C." in page
    assert "style=" not in page


def test_its_history_is_told_and_mended_as_that_of_alum(house: Opened):
    bath = sized(house)
    entry = drop(house, bath, "blob", "20")
    page = page_of(house, bath)

    assert "drop test: a blob on the bottom, 20 mm" in page
    assert f'href="/entries/{entry}/correct"' in page
    answer = post(house.client("kahu"), f"/entries/{entry}/correct", outcome="void",
                  reason="typing_slip", seen="")  # fmt: skip
    assert answer.status_code == 303
    assert "Taken out by Kahu R." in page_of(house, bath)


def test_another_moment_is_answered_on_its_page(house: Opened):
    """Four warm days after Wednesday 18:00 is Sunday; on Saturday at ten it still serves."""
    bath = sized(house)
    page = page_of(house, bath, query="?at=2025-09-20T10:00")

    assert "Saturday 2025-09-20 10:00" in page
    assert "good</p>" in page
    assert "look again</p>" in page_of(house, bath, query="?at=2025-09-22T10:00")


def test_the_addresses_of_alum_lead_here_with_what_was_asked(house: Opened):
    bath = sized(house)
    client = house.client("kahu")

    assert client.get(f"/baths/{bath}?written=x").location == f"/liquids/{bath}?written=x"
    assert client.get(f"/baths/{bath}/test?by=look").location == f"/liquids/{bath}/test?by=look"


def test_alum_and_what_nobody_knows_are_not_found_here(house: Opened):
    client = house.client("kahu")

    assert client.get(f"/liquids/{mixed(house)}").status_code == 404
    assert client.get(f"/liquids/{NOBODY}").status_code == 404
    assert house.client().get(f"/liquids/{NOBODY}").status_code == 302
    assert client.post(f"/liquids/{NOBODY}").status_code in (400, 405)


def test_a_finished_bath_has_no_buttons_and_its_litres_stay(house: Opened):
    bath = sized(house)
    house.say("bath.finished", bath=bath, reason="sour")
    page = page_of(house, bath)

    assert "finished</p>" in page
    assert "What else?" not in page
    assert "still has to be got rid of" in page


def test_a_finished_size_goes_by_the_limits_of_its_finish(house: Opened):
    """What was said of it stays said; nobody asks how long it is still good."""
    bath = sized(house)
    limits = {"size_look_again_warm_days": "3", "size_do_not_use_warm_days": "6"}
    house.later(minutes=1)
    house.say("limits.set", **(HOUSE | limits))
    house.later(days=5)
    house.say("bath.finished", bath=bath, reason="sour")
    house.later(days=1)
    house.say("limits.set", **(HOUSE | limits | {"size_look_again_warm_days": "5"}))
    page = page_of(house, bath)

    assert "like 5.0 warm days of 3" in page
    assert "Still good at another time?" not in page
    assert "Saturday at ten" not in page
    assert "What did it say before?" in page
    assert "half sheets, perhaps" not in page


@pytest.mark.parametrize("care", ["chilled", "uncovered", "skimmed", "strained"])
def test_it_is_cared_for_with_one_tap_and_undone(house: Opened, care: str):
    bath = sized(house)
    client = house.client("kahu")
    answer = post(client, f"/liquids/{bath}", to=f"/baths/{bath}/care", care=care)
    assert answer.status_code == 303
    there = answer.location
    page = client.get(there).text

    assert there.startswith(f"/liquids/{bath}?written=")
    assert re.search(r'action="/entries/[0-9a-f-]+/undo"', page)


def test_all_baths_are_listed_with_their_words(house: Opened):
    """Both kinds, those in use and those that are finished."""
    alum, size = mixed(house), sized(house)
    client = house.client("kahu")
    page = client.get("/baths").text
    assert f'<a href="/baths/{alum}"><b>Alum R-A1</b></a>' in page
    assert f'<a href="/liquids/{size}"><b>Size R-S1</b></a>' in page
    assert "resting</p>" in page

    house.say("bath.finished", bath=size, reason="sour")
    page = client.get("/baths").text
    assert "finished 2025-09-17 (sour or spoiled)" in page
    assert "resting</p>" not in page


def test_a_chilled_size_says_to_bring_it_to_the_room_first(house: Opened):
    """It keeps in the cold; a sheet is laid on it at the warmth of the room."""
    size = sized(house)
    house.later(days=1)
    house.say("bath.cared", bath=size, care="chilled")
    page, room = page_of(house, size), house.client("kahu").get("/").text
    told = "It stands chilled: bring it to room warmth before anything is laid on it."
    first = f'<a class="button main" href="/baths/{size}/care">Bring it to room warmth</a>'

    for text in (page, html.unescape(room)):
        assert told in text
        assert first in text
    assert "Lay sheets" not in room

    house.later(minutes=1)
    house.say("bath.cared", bath=size, care="brought_to_room")
    assert told not in page_of(house, size)
    assert "Lay sheets" in house.client("kahu").get("/").text


def test_a_size_that_was_read_cold_is_looked_at_again(house: Opened):
    size = sized(house)
    house.later(days=1)
    house.say("reading.taken", bath=size, instrument="thermometer",
              temperature=quantity(9, "celsius"))  # fmt: skip

    told = "It was at 9 °C, today 18:00: size is laid on at 14 to 27 °C."
    assert told in page_of(house, size)
    house.later(hours=3)
    assert told not in page_of(house, size)
