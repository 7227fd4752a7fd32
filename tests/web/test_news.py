"""What is new while a page is open: asked for every few seconds, so at next to no cost."""

import re
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.actions.see_news import NEWS_SHOWN
from coop.store import sessions, visits
from coop.store.engines import count_queries
from tests.support.opened import Opened, mixed, post, quantity, sized

NOTHING_NEW_BYTES_MAX = 600  # of the body
ONE_LINE_BYTES_MAX = 2_000
POLL_STATEMENTS = 4  # who asks, the ledger, the member, and what is new


def head(house: Opened) -> int:
    with house.desk() as desk:
        return desk.journal.head()[0]


def ask(client: FlaskClient, after: object) -> Any:
    return client.get(f"/news?after={after}", headers={"Accept": "application/json"})


def lines(house: Opened, first: str, after: int) -> list[str]:
    found: list[str] = ask(house.client(first), after).get_json()["lines"]
    return found


def through(house: Opened, bath: str, count: int, who: str = "kahu") -> str:
    return house.say(
        "sheets.through", who, bath=bath, sheet_count=str(count), sheet_format="half",
        method="dip", lot=house.made["parcel"],
    )  # fmt: skip


def test_what_others_wrote_is_told_in_a_line_and_ones_own_is_not(house: Opened) -> None:
    """Whoever wrote it knows; the number moves on for them all the same."""
    bath = mixed(house)
    after = head(house)
    through(house, bath, 60)

    told = ask(house.client("amina"), after).get_json()
    assert told == {
        "head": after + 1,
        "lines": ["R-A1: 60 half sheets, KR, just now"],
        "more": 0,
    }
    own = ask(house.client("kahu"), after).get_json()
    assert own == {"head": after + 1, "lines": [], "more": 0}


def test_what_was_done_to_one_bath_is_one_line(house: Opened) -> None:
    bath = mixed(house)
    after = head(house)
    through(house, bath, 40)
    house.say("bath.topped_up", bath=bath, water=quantity(1, "l"), reason="level_only")
    through(house, bath, 20, "amina")
    house.later(minutes=25)

    assert lines(house, "oluwaseun", after) == [
        "R-A1: 60 half sheets, topped up, AK and KR, 25 min ago"
    ]


LIMITS: dict[str, Any] = {
    "look_again_fraction": "0.75",
    "do_not_use_fraction": "0.625",
    "strip_print_days": "28",
    "laying_depth_mm": "15",
    "gallon": "us",
    "cup": "us",
    "spoon": "us",
}


def test_what_is_about_no_bath_is_told_by_itself(house: Opened) -> None:
    after = head(house)
    house.say(
        "lot.received", "kahu", studio=house.made["studio"], what="alum", name="AS-25",
        salt="aluminium_sulfate_14", weight=quantity(2, "kg"),
    )  # fmt: skip
    house.say("limits.set", **LIMITS)

    assert lines(house, "oluwaseun", after) == [
        "set the house limits, AK, just now",
        "received AS-25, KR, just now",
    ]


def test_what_somebody_ordered_is_told_with_who_did(house: Opened) -> None:
    """Any member may order: whoever looks after the shelf sees that it was done."""
    after = head(house)
    order = house.say("order.placed", "kahu", what="carrageenan", packs="2",
                      pack=quantity(454, "g"))  # fmt: skip
    house.say("order.cancelled", "kahu", order=order, reason="too_late")

    assert lines(house, "amina", after) == [
        "the rest of what was ordered will not come: carrageenan "
        "(would come too late), KR, just now",
        "ordered 2 packs of 454 g: carrageenan, KR, just now",
    ]


def test_a_mishap_and_a_jar_that_went_are_told_once(house: Opened) -> None:
    """Whoever comes in next ought to know; of a bath it is told with what was done to it."""
    bath, studio = mixed(house), house.made["studio"]
    jar = house.say("waste.started", studio=studio, name="Alum jar", sort="jar",
                    holds=quantity(10, "l"), wastes=["alum_bath"])  # fmt: skip
    house.later(minutes=1)
    house.say("waste.added", studio=studio, jar=jar, waste="alum_bath", litres=quantity(3, "l"))
    house.later(minutes=1)
    after = head(house)
    house.say("waste.collected", "kahu", studio=studio, jar=jar, by="Weir Haulage",
              litres=quantity(1, "l"))  # fmt: skip
    house.say("mishap.noted", "kahu", studio=studio, what="spill", litres=quantity(2, "l"))
    house.say("mishap.noted", "kahu", studio=studio, bath=bath, what="foamed_over")

    assert lines(house, "amina", after) == [
        "R-A1: noted a mishap, KR, just now",
        "mishap: spilled, 2 L, KR, just now",
        "Alum jar collected by Weir Haulage: 1 L, KR, just now",
    ]


def test_what_is_done_to_a_size_is_told_like_what_is_done_to_alum(house: Opened) -> None:
    bath, size = mixed(house), sized(house)
    stack = through(house, bath, 20)
    after = head(house)
    house.say("sheets.through", "kahu", size=size, stack=stack, sheet_count="20",
              sheet_format="half", reason="test_sheets")  # fmt: skip
    house.say("bath.kept_for", "kahu", bath=size, session="Saturday")
    house.say("jug.found", "kahu", studio=house.made["studio"], where="stairs", look="clear")

    assert lines(house, "amina", after) == [
        "found a jug nobody knows, KR, just now",
        "R-S1: 20 half sheets, kept, KR, just now",
    ]


def test_what_was_undone_at_once_is_not_told_and_an_older_line_put_right_is(
    house: Opened,
) -> None:
    """The second takes back what a page may have said a minute ago."""
    bath = mixed(house)
    after = head(house)
    entry = through(house, bath, 60)
    told_at = head(house)
    house.say("entry.corrected", "kahu", target=entry, outcome="void", reason="undone")

    assert lines(house, "amina", after) == []
    assert lines(house, "amina", told_at) == ["an older line was put right, KR, just now"]


def test_phones_and_people_are_no_news(house: Opened) -> None:
    """They change nothing of what stands in the room."""
    after = head(house)
    house.say("device.enrolled", "kahu", name="pocket", shared="no")

    assert ask(house.client("amina"), after).get_json() == {
        "head": after + 1,
        "lines": [],
        "more": 0,
    }


def test_only_a_few_lines_are_told_and_the_rest_counted(house: Opened) -> None:
    after = head(house)
    for n in range(NEWS_SHOWN + 2):
        tub = house.say(
            "vessel.described", studio=house.made["studio"], name=f"tub {n}",
            brim=quantity(16, "l"), lidded="yes", place=str(n + 2),
        )  # fmt: skip
        mixed(house, name=f"R-B{n}", vessel=tub)
    told = ask(house.client("kahu"), after).get_json()

    assert len(told["lines"]) == NEWS_SHOWN
    assert told["lines"][0] == f"R-B{NEWS_SHOWN + 1}: mixed, AK, just now"
    assert told["more"] == 2 * (NEWS_SHOWN + 2) - NEWS_SHOWN


@pytest.mark.parametrize("after", ["", "x", "-1", "1.5", "1000000000"])
def test_a_number_that_is_none_is_refused_in_words(house: Opened, after: str) -> None:
    answer = ask(house.client("kahu"), after)

    assert answer.status_code == 422
    assert answer.get_json()["field"] == "after"
    assert re.search(r"0 to 999.?999.?999", answer.get_json()["detail"])


def test_who_is_signed_out_meanwhile_is_sent_away(house: Opened) -> None:
    """The page takes any redirect as its word to stop."""
    assert ask(house.client(), 1).status_code == 302


def test_the_answer_is_kept_by_nobody(house: Opened) -> None:
    assert ask(house.client("kahu"), 1).headers["Cache-Control"] == "no-store"


def test_nothing_new_is_a_short_answer_and_one_line_a_little_longer(house: Opened) -> None:
    """A phone asks seven hundred times an hour."""
    bath = mixed(house)
    client = house.client("amina")
    after = head(house)
    nothing = ask(client, after)
    through(house, bath, 60)
    something = ask(client, after)

    assert nothing.get_json() == {"head": after, "lines": [], "more": 0}
    assert len(nothing.get_data()) < NOTHING_NEW_BYTES_MAX
    assert len(something.get_data()) < ONE_LINE_BYTES_MAX


def test_asking_costs_one_question_more_than_knowing_who_asks(house: Opened) -> None:
    """However long the ledger is."""
    bath = mixed(house)
    client = house.client("amina")
    for _ in range(2):
        after = head(house)
        with count_queries(house.store.engines.reader) as asked:
            ask(client, after)
        assert len(asked.statements) == POLL_STATEMENTS, asked.statements
        for _ in range(30):
            through(house, bath, 1)


def test_asking_is_no_visit(house: Opened) -> None:
    """A page left open on a desk over night must not hide what came in."""
    client = house.client("kahu")
    client.get("/").close()
    house.later(hours=9)
    ask(client, 1).close()

    with house.store.reading() as desk:
        member = house.members["kahu"].member
        seen = visits.look(desk.connection, node=desk.journal.node, member=member)
        (session,) = sessions.list_of(desk.connection, member, house.moment)
    assert seen.last is not None
    assert (house.moment - seen.last.at).total_seconds() == 9 * 3600
    assert (house.moment - session.last_seen_at).total_seconds() == 9 * 3600


@pytest.mark.parametrize("there", ["/", "/shelf", "/me"])
def test_a_page_says_up_to_which_number_it_knows(house: Opened, there: str) -> None:
    """Nothing falls between what the page shows and what it asks for."""
    page = house.client("kahu").get(there).text

    assert f'data-seen-seq="{head(house)}"' in page
    assert 'data-news="/news"' in page


def test_a_page_of_nobody_asks_for_nothing(house: Opened) -> None:
    page = house.client().get("/sign-in").text

    assert "data-seen-seq" not in page
    assert "live.js" not in page


def test_a_page_that_refuses_a_form_offers_the_empty_form_and_not_to_send_it_again(
    house: Opened,
) -> None:
    """Loading the answer to a form again would send what was typed."""
    bath = mixed(house)
    client = house.client("kahu")
    there = f"/baths/{bath}/sheets"
    page = client.get(f"{there}?again=1").text
    assert f'href="{there}?again=1" data-question' in page

    form = dict(
        re.findall(r'<input[^>]*name="(csrf_token|entry_id)"[^>]*value="([^"]*)"', page)
    )
    answer = client.post(f"{there}?again=1", data=form | {"sheet_count": "x"})
    assert answer.status_code == 422
    assert f'href="{there}" data-question' in answer.text


def test_the_answer_to_a_button_offers_nothing_new_where_its_address_is_no_page(
    house: Opened,
) -> None:
    """An address that opens once is shown once: loading it anew would be no page."""
    kahu = house.members["kahu"].member
    answer = post(house.client("amina"), f"/people/{kahu}", f"/people/{kahu}/new-address")

    assert answer.status_code == 200
    assert "/join/" in answer.text
    assert "data-news" not in answer.text


@pytest.mark.parametrize("there", ["/sign-out", "/no-such-page"])
def test_an_address_that_is_no_page_offers_nothing_new(house: Opened, there: str) -> None:
    """What is new would be looked for there, and there is nothing to see."""
    assert "data-news" not in house.client("kahu").get(there).text
