"""What needs somebody: in the room, the whole list, and "not today, because"."""

import re
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest

from coop.ledger.kinds import NEEDS
from coop.web.needing import ACTS, TOLD
from tests.support.forms import send
from tests.support.opened import HOUSE, Opened, furnished, mixed, post, quantity, sized
from tests.support.queries import counted

MOSS = "powder:carrageenan"


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with 100 g of carrageenan where 150 are to stay, and a bath that is stopped."""
    house = furnished(tmp_path)
    house.join("Ines L.", "member", "teacher")
    house.made["moss"] = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(100, "g"),
        best_before="2025-09-25",
    )
    house.say("supply.described", what="carrageenan", floor=quantity(150, "g"),
              pack=quantity(454, "g"), days_to_arrive="8")  # fmt: skip
    house.made["bath"] = mixed(house)
    house.say("bath.stopped", "kahu", bath=house.made["bath"], reason="looks_wrong")
    return house


def page_of(house: Opened, who: str, there: str = "/needs") -> str:
    answer = house.client(who).get(there)
    assert answer.status_code == 200, answer.text
    return str(answer.text).split("<main", 1)[1]


def lines_of(page: str, section: str) -> list[str]:
    """Return the lines of one section of the page, without their tags."""
    part = page.split(f'id="{section}"')[1].split("</section>")[0]
    found = re.findall(r"<li.*?</li>", part, re.DOTALL)
    return [" ".join(unescape(re.sub(r"<[^>]+>", " ", one)).split()) for one in found]


def put_off_url(page: str, need: str) -> str:
    found = re.search(rf'href="(/needs/put-off\?need={need}&amp;[^"]+)"', page)
    assert found, page
    return unescape(found[1])


def test_every_kind_of_need_has_its_sentence_and_its_act():
    assert set(ACTS) == set(TOLD) == set(NEEDS)


def test_the_room_lists_what_needs_a_coordinator_by_urgency(house: Opened) -> None:
    """A stopped tub before the order, the order before what expires, each with its act."""
    lines = lines_of(page_of(house, "amina", "/"), "wanted")

    assert lines[0].startswith("Alum R-A1 do not use Stopped by Kahu R.")
    assert lines[1].startswith(
        "carrageenan Order today: 1 pack of 454 g; 8 days to arrive, 3 to review; "
    )
    assert lines[1].endswith("Order it Not today")
    assert lines[2].startswith(
        "K-3, carrageenan 100 g left, good until 2025-09-25 by its label."
    )
    assert lines[3].startswith("Hydrometer, Ropewalk Nobody has read its hydrometer")
    assert lines[4].startswith("Drain, Ropewalk Nobody has written down yet")


def test_a_member_whom_nothing_concerns_sees_no_list(house: Opened) -> None:
    assert 'id="wanted"' not in page_of(house, "kahu", "/")
    assert "Nothing needs you today." in page_of(house, "kahu")


def test_a_member_is_told_of_the_own_stack_that_goes_stale(house: Opened) -> None:
    house.say("sheets.through", "kahu", bath=house.made["bath"], sheet_count="60",
              sheet_format="half", method="dip", lot=house.made["parcel"],
              reason="already_done")  # fmt: skip
    house.later(hours=30)
    (line,) = lines_of(page_of(house, "kahu", "/"), "wanted")

    assert line.startswith("60 half sheets of R-A1 60 left, use by today 18:00.")
    assert lines_of(page_of(house, "amina"), "today")[0] != line


def test_a_teacher_is_told_what_saturday_will_be_short_of(house: Opened) -> None:
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Saturday class",
        starts="2025-09-27T10:00+02:00",
        head_count="12",
        under_16="no",
        needs=[
            {"what": "carrageenan", "amount": quantity(240, "g")},
            {"what": "paper", "paper": house.made["paper"], "count": "38"},
        ],
    )
    (line,) = lines_of(page_of(house, "ines", "/"), "wanted")

    assert line == (
        "Saturday class, 2025-09-27 Short: carrageenan, 140 g of 240 g. What is short Not today"
    )


def test_that_nobody_said_how_long_records_are_kept_is_told_with_a_way_there(
    house: Opened,
) -> None:
    house.say("limits.set", supersedes=house.state("house", "house").edition,
              **(HOUSE | {"records_kept": "ask"}))  # fmt: skip
    page = house.client("amina").get("/needs").text

    assert "Nobody has answered yet how long records are kept" in page
    assert 'href="/house/limits"' in page


def test_a_year_later_every_kind_says_why_it_needs_somebody(house: Opened) -> None:
    """Each sentence carries its day or its figure, so that nobody has to look it up."""
    house.say("order.placed", what="carrageenan", packs="2", pack=quantity(454, "g"),
              expected="2026-09-20")  # fmt: skip
    house.say("lot.counted", lot=house.made["alum"], weight=quantity(4, "kg"))
    house.say("instrument.checked", studio=house.made["studio"], instrument="hydrometer",
              gravity="1.000", temperature=quantity(20, "celsius"))  # fmt: skip
    house.say("permission.recorded", studio=house.made["studio"], about="all_of_it",
              asked="Town water office", asked_on="2025-09-01", answer="yes",
              review_on="2026-09-01")  # fmt: skip
    house.later(days=370)
    lines = lines_of(page_of(house, "amina"), "today")

    for said in (
        "carrageenan 2 packs of 454 g, expected 2 days ago. Receive it",
        "K-3, carrageenan 100 g left, past its label's day, 2025-09-25. Look at it",
        "AS-24, alum Counted 2025-09-17 18:00. Expected 4520 g, seen 4000 g: 520 g less.",
        "AS-24, alum Last counted 2025-09-17. Count it",
        "P-31, paper Not counted since it came in, 2025-09-17. Count it",
        "Hydrometer, Ropewalk Its hydrometer was last read in plain tap water on 2025-09-17.",
        "Drain, Ropewalk What was said about the drain is to be asked again on 2026-09-01.",
        "The house limits They were set on 2025-09-17: do they still hold? Look them over",
    ):
        assert any(line.startswith(said) for line in lines), "\n".join([said, *lines])


def test_a_size_that_has_rested_is_told_to_its_maker(house: Opened) -> None:
    recipe = house.say("recipe.published", what="size", name="five", dose="5 g/L",
                       powder="carrageenan", rest_hours="12", amount=quantity(5, "g"),
                       per=quantity(1, "l"))  # fmt: skip
    sized(house, who="kahu", recipe=recipe)
    house.later(hours=13)
    (line,) = lines_of(page_of(house, "kahu", "/"), "wanted")

    assert line.startswith("Size R-S1 good Its rest has been over since today 06:00.")


def test_a_few_of_each_kind_stand_in_the_room_and_the_rest_in_the_list(house: Opened) -> None:
    """Twenty lots past their day would push the baths off the page."""
    for n in range(5):
        house.say("lot.received", studio=house.made["studio"], what="paper", name=f"P-{n}",
                  paper=house.made["paper"], sheet_count="500",
                  best_before="2025-09-20")  # fmt: skip
    room = lines_of(page_of(house, "amina", "/"), "wanted")
    listed = lines_of(page_of(house, "amina"), "today")

    assert len([line for line in room if "by its label" in line]) == 2
    assert len([line for line in room if "Not today" in line]) == 5
    assert len(listed) == 10
    assert room[-1] == "5 things more need somebody"


def test_all_that_is_to_be_counted_in_a_studio_is_one_line_of_the_room(house: Opened) -> None:
    """Nobody counts one tub a day; the line leads to the count card of its studio."""
    house.say("lot.received", studio=_barn(house), what="gall", name="G-3",
              volume=quantity(500, "ml"))  # fmt: skip
    house.say("lot.counted", lot=house.made["moss"], weight=quantity(100, "g"))
    house.later(days=31)
    page = page_of(house, "amina", "/")
    listed = [line for line in lines_of(page_of(house, "amina"), "today") if "Count it" in line]

    assert "Count 3 lots, Ropewalk Due since 2025-10-17. Count them" in lines_of(page, "wanted")
    assert f'href="/shelf/count?studio={house.made["studio"]}"' in page
    assert len(listed) == 4


def test_a_lot_below_zero_stands_by_itself_in_the_room(house: Opened) -> None:
    """It is no usual count of a shelf: something was written wrong."""
    house.say("lot.adjusted", lot=house.made["alum"], way="out", cause="lost",
              amount=quantity(9_999, "g"))  # fmt: skip
    page = page_of(house, "amina", "/")

    assert "More was written out than came in. Count it, and say why." in page
    assert f"/lots/{house.made['alum']}/count" in page


def _barn(house: Opened) -> str:
    return house.say("studio.described", name="Orchard Barn", letter="B", drain="none",
                     instruments=[], emergency="112", poison="0555 0100")  # fmt: skip


def test_a_lot_says_what_it_is_and_where_it_stands(house: Opened) -> None:
    """Two studios have gloves of August, and nobody knows by heart what "G-3" was."""
    gloves = house.say("supply.described", what="gloves", name="Gloves, pairs",
                       measure="pieces")  # fmt: skip
    house.say("supply.described", what="colour", name="Titan", measure="volume",
              floor=quantity(1, "l"))  # fmt: skip
    barn = _barn(house)
    for studio in (house.made["studio"], barn):
        house.say("lot.received", studio=studio, what="supply", supply=gloves,
                  name="Gloves, August", piece_count="50",
                  best_before="2025-09-20")  # fmt: skip
    house.say("lot.received", studio=barn, what="gall", name="G-3",
              volume=quantity(500, "ml"), best_before="2025-09-20")  # fmt: skip
    lines = lines_of(page_of(house, "amina"), "today")

    for said in (
        "Gloves, August (Ropewalk) 50 pieces left",
        "Gloves, August (Orchard Barn) 50 pieces left",
        "G-3, gall (Orchard Barn) 500 mL left",
        "Titan, colour Order today",
    ):
        assert any(line.startswith(said) for line in lines), "\n".join([said, *lines])


def test_an_opening_stock_was_seen_on_the_day_it_was_written_down(house: Opened) -> None:
    """Who has just weighed every tub for a list is not sent back to weigh it again."""
    came = house.moment - timedelta(days=300)
    house.say("lot.received", at=came, studio=house.made["studio"], what="gall", name="G-3",
              volume=quantity(500, "ml"))  # fmt: skip
    assert "G-3, gall Not counted" not in str(lines_of(page_of(house, "amina"), "today"))
    house.later(days=30)
    lines = lines_of(page_of(house, "amina"), "today")

    said = "G-3, gall Not counted since it was written down, 2025-09-17. Count it"
    assert any(line.startswith(said) for line in lines), lines


def test_what_is_put_off_is_counted_in_the_room_and_shown_in_the_list(house: Opened) -> None:
    """Nothing vanishes: who put it off, until when and why stands there for all it concerns."""
    there = put_off_url(page_of(house, "amina", "/"), "order")
    client = house.client("amina")
    answer = send(client, there, {"reason": "shop_closed", "until": "2025-09-20"})
    room = client.get("/").text

    assert (answer.status_code, answer.location) == (303, "/")
    assert "carrageenan is put off." in room
    assert "1 thing was put off" in room
    assert "Order it" not in room
    (line,) = lines_of(page_of(house, "amina"), "put-off")
    assert "Put off until 2025-09-20 by Amina K.: the shop is closed." in line
    house.later(days=3)
    assert "Order it" in page_of(house, "amina", "/")


def test_what_was_put_off_is_done_today_after_all(house: Opened) -> None:
    """The shop was open: one tap, and it asks again, however often it was put off."""
    for until in ("2025-09-20", "2025-09-24"):
        house.say("need.put_off", need="order", about=MOSS, until=until,
                  reason="shop_closed")  # fmt: skip
    client = house.client("amina")
    assert "Order it" not in client.get("/").text
    answer = send(client, "/needs", {}, action="/needs/today")

    assert (answer.status_code, answer.location) == (303, "/needs")
    assert "carrageenan is to be done today after all." in client.get("/needs").text
    assert "Order it" in client.get("/").text
    assert post(client, "/me", "/needs/today", need="order", about=MOSS).status_code == 303


def test_what_somebody_else_put_off_stays_for_them_or_a_coordinator(house: Opened) -> None:
    house.say("need.put_off", need="permission", about=house.made["studio"],
              until="2025-09-20", reason="asked_somebody")  # fmt: skip
    client = house.client("oluwaseun")
    page = client.get("/needs").text
    said = {"need": "permission", "about": house.made["studio"]}
    answer = post(client, "/me", "/needs/today", **said)

    assert "was asked" in page
    assert "Today after all" not in page
    assert answer.status_code == 303
    assert "Drain, Ropewalk stays put off by somebody else." in client.get("/needs").text
    assert "Today after all" in page_of(house, "amina")


def test_the_reasons_offered_fit_what_is_put_off(house: Opened) -> None:
    """No closed shop keeps anybody from looking at a tub."""
    page = page_of(house, "amina")
    order = page_of(house, "amina", put_off_url(page, "order"))
    bath = page_of(house, "amina", put_off_url(page, "look-at-bath"))

    assert "the shop is closed" in order
    assert "the shop is closed" not in bath
    assert "no money" not in bath
    assert "it can wait" in bath


def test_a_reason_and_a_day_are_wanted(house: Opened) -> None:
    """What was chosen stays chosen."""
    there = put_off_url(page_of(house, "amina", "/"), "order")
    answer = send(house.client("amina"), there, {"reason": "no_money"})

    assert answer.status_code == 422
    assert "Until when?: This is needed." in answer.text
    assert re.search(r'checked[^>]*value="no_money"', answer.text)


@pytest.mark.parametrize("until", ["2025-09-17", "2025-10-19", "next week", "2029-01-01"])
def test_nothing_is_put_off_for_ever_or_into_the_past(house: Opened, until: str) -> None:
    there = put_off_url(page_of(house, "amina", "/"), "order")
    answer = send(house.client("amina"), there, {"reason": "no_money", "until": until})

    assert answer.status_code == 422
    assert "Order it" in page_of(house, "amina", "/")


@pytest.mark.parametrize(
    "there",
    [
        "/needs/put-off",
        f"/needs/put-off?need=order&about={MOSS}x",
        f"/needs/put-off?need=nothing&about={MOSS}",
    ],
)
def test_only_what_needs_somebody_can_be_put_off(house: Opened, there: str) -> None:
    assert house.client("amina").get(there).status_code == 404


def test_what_concerns_others_is_not_put_off_by_a_member(house: Opened) -> None:
    there = put_off_url(page_of(house, "amina", "/"), "order")

    assert house.client("kahu").get(there).status_code == 404


def test_the_list_is_only_looked_at_and_wants_a_sign_in(house: Opened) -> None:
    assert house.client("amina").post("/needs").status_code in (400, 405)
    answer = house.client().get("/needs")
    assert answer.status_code == 302
    assert answer.location.startswith("/sign-in")


def test_putting_off_is_told_and_put_right_like_any_entry(house: Opened) -> None:
    entry = house.say("need.put_off", need="order", about=MOSS, until="2025-09-20",
                      reason="shop_closed")  # fmt: skip
    page = page_of(house, "amina", f"/entries/{entry}/correct")

    assert "put off until 2025-09-20: the shop is closed" in page
    send(house.client("amina"), f"/entries/{entry}/correct",
         {"content.body.until": "2025-09-18", "reason": "typing_slip"})  # fmt: skip
    assert "Put off until 2025-09-18" in page_of(house, "amina")


def test_the_room_of_a_member_asks_the_same_whatever_stands_on_the_shelf(house: Opened) -> None:
    client = house.client("kahu")
    client.get("/")
    with counted(house.store) as few:
        client.get("/")
    for n in range(20):
        house.say("lot.received", studio=house.made["studio"], what="paper",
                  name=f"P-{n}", paper=house.made["paper"], sheet_count="500")  # fmt: skip
    with counted(house.store) as many:
        client.get("/")

    assert len(many) == len(few) < 22
    assert not [one for one in many if "FROM balance" in one]


def test_only_what_concerns_the_member_is_taken_back(house: Opened) -> None:
    house.say("need.put_off", need="order", about=MOSS, until="2025-09-20",
              reason="shop_closed")  # fmt: skip
    for who, about in (("kahu", MOSS), ("amina", "nothing")):
        client = house.client(who)
        answer = post(client, "/me", "/needs/today", need="order", about=about)
        assert answer.status_code == 404
    assert "Order it" not in page_of(house, "amina", "/")
