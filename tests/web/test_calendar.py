"""A member's calendar for other programs, and the page on which its address is made."""

import re
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from icalendar import Calendar

from coop.actions.calendar import BACK_DAYS
from coop.ids import NodeId
from coop.ledger.kinds import NEEDS
from coop.store.copies import back_up
from coop.store.desk import open_store
from coop.store.restore import restore
from coop.store.throttle import ADDRESS_SIGN_INS_MAX, WINDOW
from coop.web.errands import ERRANDS
from coop.web.feed import zone_rules
from tests.support.forms import send
from tests.support.opened import Opened, mixed, quantity, sized

BERLIN = ZoneInfo("Europe/Berlin")
SATURDAY = datetime(2025, 10, 4, 10, 0, tzinfo=BERLIN)
OCTETS_MAX = 75
ADDRESS = re.compile(r"http://localhost(/calendar/[\w-]{43}\.ics)")


def subscribed(house: Opened, first: str = "amina", lang: str = "en") -> str:
    """Make an address on the page; return its path."""
    client = house.client(first)
    client.set_cookie("coop-lang", lang)
    answer = send(client, "/me/calendar", action="/me/calendar")
    found = ADDRESS.search(answer.text)
    assert found, answer.text
    return found[1]


def fetched(house: Opened, path: str) -> bytes:
    """Return the calendar as a program gets it that has no cookie."""
    answer = house.app().test_client().get(path)
    assert answer.status_code == 200, answer.text
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.headers["Cache-Control"] == "no-store"
    return bytes(answer.data)


def events(text: bytes) -> dict[str, Any]:
    """Return events as the library reads them, by what they say first."""
    return {str(one["SUMMARY"]): one for one in Calendar.from_ical(text).walk("VEVENT")}


def event(house: Opened, path: str, summary: str) -> Any:
    found = events(fetched(house, path))
    assert summary in found, found.keys()
    return found[summary]


def booked(house: Opened, **changes: Any) -> str:
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "name": "Saturday class",
        "starts": SATURDAY.isoformat(),
        "ends": (SATURDAY + timedelta(hours=6)).isoformat(),
        "head_count": "12",
        "under_16": "no",
        "needs": [{"what": "carrageenan", "amount": quantity(240, "g")}],
    }
    return house.say("session.planned", **(body | changes))


# --- what stands in it -------------------------------------------------------------------


def test_a_booked_session_stands_in_it_with_what_it_needs(house: Opened) -> None:
    session = booked(house)
    one = event(house, subscribed(house, "kahu"), "Saturday class")

    assert one.decoded("dtstart") == SATURDAY
    assert one.decoded("dtend") == SATURDAY + timedelta(hours=6)
    assert one["LOCATION"] == "Ropewalk"
    assert one["DESCRIPTION"] == "12 people come.\nIt takes 240 g of carrageenan."
    assert (one["STATUS"], one["TRANSP"]) == ("CONFIRMED", "OPAQUE")
    assert one["URL"] == f"http://localhost/sessions/{session}"
    assert one["UID"] == f"{session}-session@{house.store.ledger}"


def test_a_change_keeps_the_name_and_raises_the_number(house: Opened) -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4: so a program moves the event, and makes no second."""
    session = booked(house)
    path = subscribed(house)
    before = event(house, path, "Saturday class")
    house.later(hours=1)
    later = (SATURDAY + timedelta(hours=1)).isoformat()
    booked(house, session=session, supersedes=session, starts=later)
    after = event(house, path, "Saturday class")

    assert after["UID"] == before["UID"]
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert before.decoded("last-modified") == house.moment - timedelta(hours=1)
    assert after.decoded("last-modified") == after.decoded("dtstamp") == house.moment


def test_what_does_not_change_stays_the_same_to_the_octet(house: Opened) -> None:
    """Asking again is no change; a program that compares finds nothing new."""
    booked(house)
    path = subscribed(house)
    first = fetched(house, path)
    house.later(minutes=30)

    assert fetched(house, path) == first


def test_a_session_that_is_called_off_says_so(house: Opened) -> None:
    """RFC 5545, 3.8.1.11: gone without a word, it would stay in many a calendar."""
    session = booked(house)
    path = subscribed(house)
    fetched(house, path)
    booked(house, session=session, supersedes=session, called_off="yes")
    one = event(house, path, "Saturday class")

    assert (one["STATUS"], one["TRANSP"], one["SEQUENCE"]) == ("CANCELLED", "TRANSPARENT", 1)


def test_a_session_of_long_ago_is_over(house: Opened) -> None:
    booked(house)
    house.later(days=17 + BACK_DAYS - 1)
    path = subscribed(house)
    assert "Saturday class" in events(fetched(house, path))

    house.later(days=1)
    assert "Saturday class" not in events(fetched(house, path))


def test_days_on_which_something_falls_due_last_all_day(house: Opened) -> None:
    """An order that is expected, a lot that goes off; they keep nobody from other things."""
    order = house.say(
        "order.placed", what="carrageenan", packs="2", pack=quantity(454, "g"),
        expected="2025-09-25",
    )  # fmt: skip
    one = event(house, subscribed(house), "Should arrive: carrageenan")

    assert one.decoded("dtstart") == date(2025, 9, 25)
    assert "DTEND" not in one
    assert one["TRANSP"] == "TRANSPARENT"
    assert one["URL"] == f"http://localhost/orders/{order}"


def test_a_rest_is_over_at_a_moment(house: Opened) -> None:
    size = sized(house)
    until = house.state("bath", size).rest_until
    one = event(house, subscribed(house), "R-S1 has rested")

    assert one.decoded("dtstart") == until
    assert one.decoded("dtstart").utcoffset() == timedelta(hours=2)


def test_all_that_is_to_be_counted_in_a_studio_is_one_event(house: Opened) -> None:
    """Nobody counts one tub a day."""
    house.later(days=20)

    found = events(fetched(house, subscribed(house)))
    card = f"http://localhost/shelf/count?studio={house.made['studio']}"
    assert found["Count 2 lots on the shelf of Ropewalk"]["URL"] == card


def test_each_line_names_what_it_is_about(house: Opened) -> None:
    """A calendar is read far from the shelf: "the gap" alone would say nothing."""
    house.say("lot.counted", lot=house.made["alum"], weight=quantity(3, "kg"))
    house.later(minutes=1)
    house.say(
        "lot.received", studio=house.made["studio"], what="gall", name="G-3",
        volume=quantity(500, "ml"), best_before="2025-09-28",
    )  # fmt: skip
    house.say(
        "supply.described", what="alum", salt="aluminium_sulfate_14", floor=quantity(4, "kg")
    )
    house.say(
        "sheets.through", bath=mixed(house),
        sheet_count="20", sheet_format="half", method="dip", lot=house.made["parcel"],
    )  # fmt: skip

    assert {
        "Find out about the gap: AS-24, alum",
        "Last good day of G-3, gall",
        "Last good day of 20 half sheets of R-A1",
        "Order aluminium sulfate",
    } <= set(events(fetched(house, subscribed(house))))


def test_a_line_says_in_which_studio_a_lot_stands(house: Opened) -> None:
    """Both studios have gloves of August; a calendar shows no address beside them."""
    gloves = house.say("supply.described", what="gloves", name="Gloves, pairs",
                       measure="pieces")  # fmt: skip
    barn = house.say("studio.described", name="Orchard Barn", letter="B", drain="none",
                     instruments=[], emergency="112", poison="0555 0100")  # fmt: skip
    for studio in (house.made["studio"], barn):
        house.say("lot.received", studio=studio, what="supply", supply=gloves,
                  name="Gloves, August", piece_count="50",
                  best_before="2025-09-28")  # fmt: skip

    assert {
        "Last good day of Gloves, August (Ropewalk)",
        "Last good day of Gloves, August (Orchard Barn)",
    } <= set(events(fetched(house, subscribed(house))))


def test_what_is_put_off_stands_on_the_day_it_was_put_off_to(house: Opened) -> None:
    path = subscribed(house)
    before = event(house, path, "Ask who is in charge of the drain: Ropewalk")
    house.say(
        "need.put_off", need="permission", about=house.made["studio"], until="2025-09-24",
        reason="other",
    )  # fmt: skip
    after = event(house, path, "Ask who is in charge of the drain: Ropewalk")

    assert before.decoded("dtstart") == date(2025, 9, 17)
    assert after.decoded("dtstart") == date(2025, 9, 24)
    assert after["SEQUENCE"] == 1


def test_each_member_sees_what_their_roles_are_asked(house: Opened) -> None:
    """Orders are the coordinators'; a member's calendar holds no work of theirs."""
    house.say("order.placed", what="carrageenan", packs="2", expected="2025-09-25")
    booked(house)

    assert set(events(fetched(house, subscribed(house, "kahu")))) == {"Saturday class"}
    assert "Should arrive: carrageenan" in events(fetched(house, subscribed(house, "amina")))


def test_it_names_no_member_and_tells_no_note(house: Opened) -> None:
    """The address may go astray; it tells nothing of who did what."""
    booked(house)
    mixed(house)
    sized(house)
    house.later(days=25)
    text = fetched(house, subscribed(house)).decode()

    assert len(events(text.encode())) > 3
    for name in ("Amina", "Kahu", "Oluwaseun", *(one.member for one in house.members.values())):
        assert name not in text


def test_it_speaks_the_language_its_address_was_made_in(house: Opened) -> None:
    """A program asks without a cookie: the language is kept with the address."""
    booked(house)
    text = fetched(house, subscribed(house, lang="tr"))

    one = events(text)["Saturday class"]
    assert one["SUMMARY"].params["LANGUAGE"] == "tr"


def test_every_need_there_is_can_stand_in_a_calendar() -> None:
    """Whoever adds one writes its line here too; counts are told together."""
    assert set(ERRANDS) == set(NEEDS) - {"count"}


# --- the octets --------------------------------------------------------------------------


def lines(text: bytes) -> list[bytes]:
    """Return content lines as they stand on the wire."""
    assert text.endswith(b"\r\n")
    return text[:-2].split(b"\r\n")


def test_lines_are_folded_and_ended_as_the_standard_says(house: Opened) -> None:
    """RFC 5545, 3.1: CRLF, 75 octets a line, and no sign of UTF-8 cut in two by our text."""
    name = "Ebru at Ropewalk: ığüşöç ığüşöç ışığı"
    for hour in range(3):
        booked(house, name=name, starts=(SATURDAY + timedelta(hours=hour)).isoformat())
    text = fetched(house, subscribed(house))

    found = lines(text)
    assert max(map(len, found)) <= OCTETS_MAX
    assert b"\n" not in b"".join(found)
    assert b"\r" not in b"".join(found)
    assert all(line.decode() for line in found)
    unfolded = text.replace(b"\r\n ", b"")
    assert f"SUMMARY;LANGUAGE=en:{name}\r\n".encode() in unfolded


def test_signs_of_the_syntax_are_escaped(house: Opened) -> None:
    """RFC 5545, 3.3.11: a comma, a semicolon and a backslash of ours end no value."""
    booked(house, name="Paste, size; and a \\ stroke")
    text = fetched(house, subscribed(house)).replace(b"\r\n ", b"")

    assert b"SUMMARY;LANGUAGE=en:Paste\\, size\\; and a \\\\ stroke\r\n" in text
    assert (
        b"DESCRIPTION;LANGUAGE=en:12 people come.\\nIt takes 240 g of carrageenan.\r\n" in text
    )


def test_a_calendar_has_what_the_standards_ask_for(house: Opened) -> None:
    """RFC 5545, 3.6 and 3.6.1, for all calendars; RFC 7986, 5.1 and 5.7, for followed ones."""
    booked(house)
    text = fetched(house, subscribed(house))
    found = lines(text.replace(b"\r\n ", b""))

    assert found[0] == b"BEGIN:VCALENDAR"
    assert found[-1] == b"END:VCALENDAR"
    for wanted in (
        b"VERSION:2.0",
        b"CALSCALE:GREGORIAN",
        b"NAME:Test studio",
        b"REFRESH-INTERVAL;VALUE=DURATION:PT6H",
    ):
        assert found.count(wanted) == 1, wanted
    assert sum(line.startswith(b"PRODID:") for line in found) == 1
    assert not any(line.startswith(b"METHOD:") for line in found)
    for one in Calendar.from_ical(text).walk("VEVENT"):
        assert {"UID", "DTSTAMP", "DTSTART"} <= set(one)
        assert one.errors == []
    uids = [str(one["UID"]) for one in Calendar.from_ical(text).walk("VEVENT")]
    assert len(uids) == len(set(uids)) > 1


def test_times_carry_the_zone_and_its_rules_stand_in_the_calendar(house: Opened) -> None:
    """RFC 5545, 3.2.19: each TZID has a VTIMEZONE; read here by another library's reader."""
    booked(house)
    text = fetched(house, subscribed(house))
    assert b"DTSTART;TZID=Europe/Berlin:20251004T100000\r\n" in text.replace(b"\r\n ", b"")

    zone = tzical(StringIO(_rules(text.decode()))).get("Europe/Berlin")
    for moment in _moments():
        assert (
            moment.replace(tzinfo=zone).utcoffset() == moment.replace(tzinfo=BERLIN).utcoffset()
        ), moment


def _rules(text: str) -> str:
    found = re.search(r"BEGIN:VTIMEZONE.*?END:VTIMEZONE\r\n", text, re.S)
    assert found
    return found[0]


def _moments() -> Iterator[datetime]:
    """Give hours about the changes of the clocks, without those that are there twice or not."""
    for day in (datetime(2025, 3, 30), datetime(2025, 10, 26), datetime(2026, 3, 29)):  # noqa: DTZ001 - the zones under test are put to them
        yield from (day + timedelta(hours=hour) for hour in (-10, 0, 1, 3.5, 4, 12))


def test_clocks_go_forward_when_the_standards_own_example_says() -> None:
    """RFC 5545, 3.6.5: New York, from -0500 to -0400 at 02:00 of 2007-03-11, back on 11-04."""
    text = zone_rules("America/New_York", 2007, 2008).to_ical().decode()

    assert "BEGIN:DAYLIGHT\r\nDTSTART:20070311T020000\r\n" in text
    assert "BEGIN:STANDARD\r\nDTSTART:20071104T020000\r\n" in text
    assert "TZOFFSETFROM:-0500\r\nTZOFFSETTO:-0400\r\n" in text


@pytest.mark.parametrize("zone", ["Asia/Tokyo", "Australia/Lord_Howe", "Africa/Casablanca"])
def test_other_zones_are_told_as_they_are(zone: str) -> None:
    """One without changes, one of half an hour, one that goes back in spring."""
    text = zone_rules(zone, 2025, 2027).to_ical().decode()
    read = tzical(StringIO(text)).get(zone)
    noon = datetime(2025, 2, 1, 12)  # noqa: DTZ001 - the zones under test are put to it
    for moment in (noon + timedelta(days=day) for day in range(0, 690, 5)):
        wanted = moment.replace(tzinfo=ZoneInfo(zone)).utcoffset()
        assert moment.replace(tzinfo=read).utcoffset() == wanted, moment


# --- the address -------------------------------------------------------------------------


def status(house: Opened, path: str) -> int:
    return house.app().test_client().get(path).status_code


def test_an_address_is_shown_once(house: Opened) -> None:
    path = subscribed(house, "kahu")
    page = house.client("kahu").get("/me/calendar").text

    assert path not in page
    assert "There is one, made" in page


def test_a_new_address_shuts_the_old_one(house: Opened) -> None:
    old = subscribed(house, "kahu")
    new = subscribed(house, "kahu")

    assert (status(house, old), status(house, new)) == (404, 200)


def test_a_closed_address_a_wrong_one_and_none_at_all_look_alike(house: Opened) -> None:
    """Nobody learns whether an address was ever any good."""
    path = subscribed(house, "kahu")
    client = house.client("kahu")
    assert send(client, "/me/calendar", action="/me/calendar/end").status_code == 303
    pages = [
        house.app().test_client().get(one)
        for one in (path, path.replace(path[12:20], "A" * 8), "/calendar/x.ics")
    ]

    assert [one.status_code for one in pages] == [404, 404, 404]
    assert len({re.sub(r'value="[^"]{50,}"', "", one.text) for one in pages}) == 1
    assert "There is none." in client.get("/me/calendar").text


def test_of_who_has_left_no_calendar_stays(house: Opened) -> None:
    path = subscribed(house, "kahu")
    fetched(house, path)
    kahu = house.members["kahu"].member
    send(house.client("amina"), f"/people/{kahu}", action=f"/people/{kahu}/left")

    assert status(house, path) == 404
    with house.desk() as desk:
        for table in ("calendar_feed", "calendar_event"):
            rows = desk.connection.exec_driver_sql(f"SELECT member FROM {table}").all()
            assert kahu not in {member for (member,) in rows}


def test_who_has_left_by_an_entry_from_elsewhere_reads_no_more(house: Opened) -> None:
    """The page that closes the door may never have been opened here."""
    path = subscribed(house, "kahu")
    house.later(minutes=1)
    house.say("member.left", "amina", member=house.members["kahu"].member)

    assert status(house, path) == 404


def test_a_calendar_goes_on_after_the_ledger_was_brought_back(house: Opened) -> None:
    """Nobody has to subscribe anew, and no number falls."""
    session = booked(house)
    path = subscribed(house)
    fetched(house, path)
    booked(house, session=session, supersedes=session, called_off="yes")
    before = event(house, path, "Saturday class")
    file, copy = house.folder / "coop.db", house.folder / "kept.db"
    made = back_up(house.store, file, copy, now=house.moment)
    back = house.folder / "back" / "coop.db"
    back.parent.mkdir()
    node = NodeId(house.new_id())
    assert restore(made.file, back, node=node, now=house.moment, aside=None).clean

    house.store, house.folder = open_store(f"sqlite:///{back}"), back.parent
    house.forget_app()
    assert before["SEQUENCE"] == 1
    assert event(house, path, "Saturday class") == before


def test_guessing_is_stopped_after_some_tries(house: Opened) -> None:
    """As at the door: then not even a good one opens, until the window is over."""
    path = subscribed(house, "kahu")
    tried = [status(house, f"/calendar/{n}.ics") for n in range(ADDRESS_SIGN_INS_MAX)]
    assert set(tried) == {404}

    answer = house.app().test_client().get(path)
    assert answer.status_code == 429
    assert 0 < int(answer.headers["Retry-After"]) <= WINDOW.total_seconds()
    house.later(seconds=WINDOW.total_seconds())
    assert status(house, path) == 200


def test_a_good_address_is_never_counted(house: Opened) -> None:
    """A program asks as often as it likes; so do all phones behind one studio's address."""
    path = subscribed(house, "kahu")

    assert {status(house, path) for _ in range(ADDRESS_SIGN_INS_MAX + 2)} == {200}


def test_asking_again_takes_no_writer(house: Opened) -> None:
    """Dozens of phones ask every few hours, while somebody writes at the tray."""
    booked(house)
    path = subscribed(house)
    fetched(house, path)

    with house.store.writing():
        assert status(house, path) == 200


def test_the_page_is_for_who_is_signed_in(house: Opened) -> None:
    client = house.client()

    assert client.get("/me/calendar").headers["Location"].startswith("/sign-in")
    assert house.client("kahu").post("/me/calendar/end").status_code == 400  # no form's token
