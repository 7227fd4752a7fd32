"""In the room: what may I use?"""

import html
import re
from datetime import timedelta

import pytest

from coop.actions.see_since import SINCE_SHOWN
from coop.actions.settle_draft import Settling, settle_draft
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.schema import Refused
from coop.store.waiting import SqlShelf
from coop.sync.outbox import name_of
from coop.sync.ports import Held
from tests.support.enrolled import enrolled
from tests.support.opened import Opened, mixed, quantity, sized
from tests.support.phone import Phone
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
    line = f'href="/entries/{entry}/correct">R-A1: This is said to have happened before'
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


# --- since you were last here -----------------------------------------------------------


def came(house: Opened, first: str) -> str:
    """Open the room as a member does; the visit is noted once the answer has gone."""
    answer = house.client(first).get("/")
    answer.close()
    return answer.text


def missed(page: str) -> list[str]:
    """Return the lines under "Since you were last here"."""
    part = page.partition('aria-labelledby="since"')[2].partition("</section>")[0]
    lines = re.findall(r"<(?:p|li)[^>]*>(?:<p>)?(.*?)</p>", part, re.DOTALL)
    return [html.unescape(re.sub(r"<[^>]*>", "", one)).strip() for one in lines]


def test_who_comes_for_the_first_time_is_not_told_the_whole_history(house: Opened):
    sheets(house, mixed(house), 40, "amina")

    assert missed(came(house, "kahu")) == []


def test_a_member_is_told_what_others_did_to_each_bath_since(house: Opened):
    """Counted, the newest first, with the way to its history; one's own is left out."""
    first = mixed(house)
    second = mixed(house, name="R-A2", vessel=tub(house, "low tub", 2))
    came(house, "kahu")
    house.later(hours=20)
    sheets(house, first, 40, "amina")
    house.say("bath.topped_up", bath=second, water=quantity(1, "l"), reason="level_only")
    sheets(house, first, 20, "oluwaseun")
    sheets(house, first, 7, "kahu")
    house.say("bath.topped_up", bath=first, water=quantity(1, "l"), reason="level_only")
    page = came(house, "kahu")

    assert missed(page) == [
        "R-A1: 60 half sheets, topped up, by AK and OA",
        "R-A2: topped up, by AK",
    ]
    assert f'<a href="/baths/{first}#history">R-A1: 60 half sheets' in page


def test_what_is_new_stays_new_during_the_whole_visit(house: Opened):
    """Who looks again an hour later must still find it; the next visit does not have it."""
    bath = mixed(house)
    came(house, "kahu")
    house.later(hours=20)
    sheets(house, bath, 40, "amina")
    line = ["R-A1: 40 half sheets, by AK"]
    for _ in range(3):
        assert missed(came(house, "kahu")) == line
        house.later(hours=1)

    house.later(hours=4)
    assert missed(came(house, "kahu")) == []


def test_what_a_phone_hands_in_later_is_new_although_it_happened_before(house: Opened):
    """It is the server that had not heard of it."""
    bath = mixed(house)
    house.later(hours=1)
    happened = house.moment
    house.later(hours=1)
    came(house, "kahu")
    house.later(hours=20)
    house.say(
        "sheets.through", "amina", at=happened, bath=bath, sheet_count="40",
        sheet_format="half", method="dip", lot=house.made["parcel"],
    )  # fmt: skip

    assert missed(came(house, "kahu")) == ["R-A1: 40 half sheets, by AK"]


def test_what_was_undone_is_not_told(house: Opened):
    bath = mixed(house)
    came(house, "kahu")
    house.later(hours=20)
    entry = sheets(house, bath, 40, "amina")
    house.say("entry.corrected", target=entry, outcome="void", reason="undone")

    assert missed(came(house, "kahu")) == []


def test_a_bath_finished_meanwhile_is_told_of_and_one_long_over_is_not(house: Opened):
    """Whose hands a finished bath remembers hears what comes in late."""
    over = mixed(house)
    house.say("bath.finished", bath=over, reason="used_up")
    finished = mixed(house, name="R-A2")
    mine = mixed(house, name="R-A3", vessel=tub(house, "low tub", 2))
    sheets(house, mine, 5, "kahu")
    house.later(hours=1)
    before = house.moment
    house.say("bath.finished", bath=mine, reason="used_up")
    for who in ("kahu", "oluwaseun"):
        came(house, who)
    house.later(hours=20)
    house.say("bath.finished", bath=finished, reason="too_weak")
    for bath in (over, mine):
        house.say("bath.cared", at=before, bath=bath, care="strained")

    asked = "How did your 5 half sheets come out?"
    told = ["R-A3: cared for, by AK", "R-A2: finished, by AK"]
    assert missed(came(house, "kahu")) == [asked, *told]
    assert missed(came(house, "oluwaseun")) == ["R-A2: finished, by AK"]


def test_late_lines_that_changed_the_word_are_told_plainly(house: Opened):
    """Whoever relied on "good" must hear that it was not."""
    weak = {"water": quantity("11.36", "l")}
    salt = [{"lot": house.made["alum"], "amount": quantity(400, "g")}]
    bath = mixed(house, **weak, salt=salt)
    house.later(days=3)
    saturday = house.moment
    assert f"{saturday:%A}" == "Saturday"
    house.later(days=1)
    came(house, "kahu")
    house.later(hours=20)
    for n in range(3):
        house.say(
            "bath.topped_up",
            at=saturday + timedelta(minutes=n),
            bath=bath,
            water=quantity("1.2", "l"),
            reason="level_only",
        )
    told = missed(came(house, "kahu"))

    assert told[0].startswith("R-A1: 1 line written on Saturday arrived today 14:00 and made")
    assert "“good” into “look again”" in " ".join(told)


def test_what_a_person_settled_of_my_phone_is_told_to_me_alone(house: Opened):
    """Nobody should have to ask what became of what they wrote."""
    bath = mixed(house)
    phone, _ = enrolled(house)
    draft = phone.write(
        "sheets.through", now=house.moment, bath=bath, sheet_count="60",
        sheet_format="half", method="dip",
    )  # fmt: skip
    hold(house, phone, draft)
    for who in ("kahu", "oluwaseun"):
        came(house, who)
    house.later(days=9)
    settle(house, draft, "left_out", "written_twice")

    assert missed(came(house, "kahu")) == [
        "What you wrote on a phone on 2025-09-17 was left out (R-A1: 60 half sheets): "
        "written twice. Amina K. looked at it."
    ]
    assert missed(came(house, "oluwaseun")) == []


def test_what_a_person_let_in_of_my_phone_is_told_to_me(house: Opened):
    bath = mixed(house)
    phone, _ = enrolled(house)
    draft = phone.write("bath.cared", now=house.moment, bath=bath, care="strained")
    hold(house, phone, draft)
    came(house, "kahu")
    house.later(hours=20)
    settle(house, draft, "sealed", "right_as_it_is")

    assert missed(came(house, "kahu"))[0] == (
        "What you wrote on a phone on Wednesday now counts (R-A1: cared for): "
        "Amina K. looked at it."
    )


def hold(house: Opened, phone: Phone, draft: str) -> None:
    """Put what a phone wrote on the shelf of what waits for a person."""
    text = phone.records[draft].text
    held = Held(
        id=draft,
        digest=name_of(text),
        sender=Subject(phone.id),
        device=Subject(phone.id),
        device_seq=1,
        text=text,
        refused=Refused(field="author", code="not-on-this-device"),
        received_at=house.moment,
        offset_ms=0,
    )
    with house.store.writing() as desk:
        SqlShelf(desk.connection).hold(held)


def settle(house: Opened, draft: str, outcome: str, reason: str) -> None:
    """Let Amina decide."""
    with house.store.writing() as desk:
        shelf = SqlShelf(desk.connection)
        (held,) = shelf.held(draft)
        settling = Settling(id=house.new_id(), outcome=outcome, reason=reason)
        done = settle_draft(
            desk.journal, shelf, house.members["amina"], held, settling, now=house.moment
        )
    assert isinstance(done, Written), done


def test_only_the_newest_baths_stand_there_and_the_rest_are_counted(house: Opened):
    baths = [
        mixed(house, name=f"R-B{n}", vessel=tub(house, f"tub {n}", n + 2))
        for n in range(SINCE_SHOWN + 2)
    ]
    came(house, "kahu")
    house.later(hours=20)
    for bath in baths:
        sheets(house, bath, 5, "amina")
    told = missed(came(house, "kahu"))

    assert len(told) == SINCE_SHOWN + 1
    assert told[0] == f"R-B{SINCE_SHOWN + 1}: 5 half sheets, by AK"
    assert told[-1] == "Something was done to 2 baths more."


@pytest.mark.parametrize("first", ["kahu", "amina"])
def test_what_came_in_since_costs_the_same_however_much_it_is(house: Opened, first: str):
    """A member back from a month away opens the page as quickly as another."""
    baths = [mixed(house)]
    baths += [mixed(house, name="R-A2", vessel=tub(house, "low tub", 2))]
    client = house.client(first)
    counts = []
    for rounds in (0, 1, 40):
        for n in range(rounds):
            sheets(house, baths[n % 2], 1, "oluwaseun" if n % 3 else "kahu")
        with counted(house.store) as asked:
            client.get("/").close()
        counts.append(len(asked))
        house.later(hours=5)

    assert counts[1] == counts[2]
    assert counts[2] <= counts[0] + 2


def test_two_baths_of_one_name_are_told_apart_in_the_room(house: Opened):
    """Who reads that R-A1 is not to be used must know which of the two."""
    first = mixed(house)
    house.later(hours=1)
    low = tub(house, "low tub", 2)
    weak = mixed(house, name="r-a1", vessel=low, water=quantity(15, "l"),
                 salt=[{"lot": house.made["alum"], "amount": quantity(150, "g")}])  # fmt: skip
    mixed(house, name="R-A3", vessel=tub(house, "third tub", 3))

    page = house.client("kahu").get("/").text

    assert f'href="/baths/{first}">Alum R-A1, mixed 2025-09-17 18:00 by AK</a>' in page
    assert f'href="/baths/{weak}">r-a1, mixed 2025-09-17 19:00 by AK</a>' in page
    assert ">Alum R-A3</a>" in page


def test_a_size_stands_after_alum_with_what_it_is_for(house: Opened):
    """Word, why, how known, litres, a hint of sheets, hands, and the button of its kind."""
    bath = mixed(house)
    size = sized(house)
    house.later(days=1)
    page = html.unescape(house.client("kahu").get("/").text)

    assert page.index("Alum R-A1") < page.index("Size R-S1")
    assert "Made yesterday 18:00: like 1.0 warm days of 4." in page
    assert "By its days alone" in page
    assert "at least 28 half sheets left, perhaps 65, a hint" in page
    assert f'<a class="button main" href="/liquids/{size}/lay">' in page
    assert f'<a class="button main" href="/baths/{bath}/sheets">' in page
    assert f'<h3><a href="/liquids/{size}">' in page


def test_an_old_size_is_to_be_tested_and_a_sour_one_stands_in_the_line(house: Opened):
    size = sized(house)
    house.later(days=5)
    page = house.client("kahu").get("/").text
    assert f'<a class="button main" href="/liquids/{size}/test">' in page

    house.say("reading.taken", bath=size, instrument="drop_test", outcome="cloudy_thread")
    page = house.client("kahu").get("/").text
    assert f'<li><a href="/liquids/{size}">R-S1</a></li>' in page
    assert f"/liquids/{size}/lay" not in page
    wanted = house.client("amina").get("/").text
    assert "cloudy thread, the size is sour" in wanted


def test_a_good_paste_has_no_button_but_its_page(house: Opened):
    """Nothing is laid on it; whoever wants to use it takes it."""
    paste = [{"powder": "starch", "amount": quantity(50, "g")}]
    bath = sized(house, what="paste", name="R-P1", water=quantity(1, "l"), powder=paste)
    page = house.client("kahu").get("/").text

    assert "Paste R-P1" in page
    assert f"/liquids/{bath}/lay" not in page
    assert "a hint" not in page


def test_whom_a_bath_is_kept_for_stands_on_its_card(house: Opened):
    """A kept bath is not taken by mistake; both kinds say it."""
    for bath in (mixed(house), sized(house)):
        house.say("bath.kept_for", bath=bath, session="Saturday's class")
    page = html.unescape(house.client("kahu").get("/").text)

    assert page.count("Kept for Saturday's class.") == 2


def test_the_room_asks_no_more_for_forty_baths_than_for_four(house: Opened):
    """One question for each bath would be felt on a full day."""

    def fill(first: int, last: int) -> None:
        for number in range(first, last):
            vessel = tub(house, f"tub {number}", number)
            if number % 2:
                sized(house, name=f"R-S{number}", vessel=vessel)
            else:
                mixed(house, name=f"R-A{number}", vessel=vessel,
                      salt=[{"lot": sack, "amount": quantity(300, "g")}])  # fmt: skip
            house.say("bath.kept_for", bath=house.state("vessel", vessel).last_bath,
                      member=house.members["kahu"].member)  # fmt: skip

    sack = house.say("lot.received", studio=house.made["studio"], what="alum", name="AS-30",
                     salt="aluminium_sulfate_14", weight=quantity(25, "kg"))  # fmt: skip
    seen = []
    for first, last in ((3, 7), (7, 43)):
        fill(first, last)
        client = house.client("kahu")
        with counted(house.store) as asked:
            cards = client.get("/").text.count('<article class="bath">')
        seen.append((cards, len(asked)))

    few, many = seen
    assert (few[0], many[0]) == (4, 40)
    assert few[1] == many[1]
