"""Stacks of alumed sheets: which are going stale, and what is done to one."""

import re
from typing import Any

import pytest

from coop.actions.follow import alert_of, at_risk, follow_bath
from coop.ledger.states import StackState
from tests.support.forms import send
from tests.support.opened import Opened, mixed, post, quantity
from tests.support.queries import counted
from tests.support.tray import with_size

FACE_TO_FACE = "face to face between blotters and boards, under weight"


def stack(house: Opened, bath: str, who: str = "kahu", **changes: Any) -> str:
    """Put 60 half sheets through a bath, unless told otherwise."""
    body: dict[str, Any] = {
        "bath": bath,
        "sheet_count": "60",
        "sheet_format": "half",
        "method": "dip",
        "lot": house.made["parcel"],
    }
    return house.say("sheets.through", who, **(body | changes))


def stack_of(house: Opened, subject: str) -> StackState:
    state: StackState = house.state("stack", subject)
    return state


def page_of(house: Opened, there: str, who: str = "kahu") -> str:
    answer = house.client(who).get(there)
    assert answer.status_code == 200, answer.text
    return str(answer.text)


def articles(page: str) -> list[str]:
    """Return each stack of the list as text without marks."""
    found = re.findall(r"<article.*?</article>", page, re.DOTALL)
    return [" ".join(re.sub(r"<[^>]+>", " ", one).split()) for one in found]


# ---- the list


def test_a_stack_says_whose_from_where_and_how_many(house: Opened):
    bath = mixed(house)
    made = stack(house, bath)
    page = page_of(house, "/stacks", "amina")
    (card,) = articles(page)

    assert "Kahu R. 60 of 60 half sheets left Alum R-A1" in card
    assert "Use by 2025-09-19 18:00." in card
    assert "lies open; 0 laid, 0 sorted" in card
    assert "The mark is on the bare side: lay the side without a mark." in card
    assert 'class="word good"' in page
    assert f'href="/baths/{bath}"' in page
    assert f'href="/stacks/{made}#put-away"' in page
    assert f'href="/stacks/{made}/sorting"' in page
    assert 'href="/stacks" aria-current="page"' in page


def test_those_going_stale_stand_first(house: Opened):
    """Open sheets keep two days: whoever comes on Friday looks at Wednesday's first."""
    bath = mixed(house)
    old = stack(house, bath, sheet_count="11")
    house.say("stack.put_away", stack=old, state="bagged")
    house.later(hours=20)
    stack(house, bath, sheet_count="22")
    house.later(hours=30)
    stack(house, bath, sheet_count="33")
    page = page_of(house, "/stacks")

    assert [card.split(" of ")[0].split()[-1] for card in articles(page)] == ["22", "33", "11"]
    assert page.index("Going stale") < page.index("Good for now")


def test_what_is_past_every_use_and_what_is_all_laid_stand_last(house: Opened):
    """Nobody saves sheets of last summer; the others wait for their owner alone."""
    bath = mixed(house)
    laid = stack(house, bath, sheet_count="10", size=with_size(house))
    past = stack(house, bath, sheet_count="20")
    house.later(days=61)
    fresh = stack(house, bath, sheet_count="30", reason="test_sheets")
    page = page_of(house, "/stacks")
    order = [page.index(f'href="/stacks/{one}"') for one in (fresh, past, laid)]

    assert order == sorted(order)
    assert "Alumed 61.0 days ago: not to be used from 60 days on" in page
    assert "All laid, waiting to be sorted" in page
    assert "Use by" not in articles(page)[2]


def test_a_stack_that_is_sorted_is_in_nobodys_way(house: Opened):
    made = stack(house, mixed(house))
    house.say("sheets.sorted", stack=made, good="60")

    assert "No alumed sheets wait here." in page_of(house, "/stacks")


def test_mine_and_one_studios_stacks_are_found_by_links(house: Opened):
    bath = mixed(house)
    stack(house, bath, "kahu", sheet_count="12")
    house.later(minutes=5)
    stack(house, bath, "amina", sheet_count="34")
    barn = house.say(
        "studio.described", name="Orchard Barn", letter="B", drain="septic",
        emergency="112", poison="0555 0100", side_rule="mark_on_alumed_side",
    )  # fmt: skip
    tub = house.say(
        "vessel.described", studio=barn, name="low tub", brim=quantity(16, "l"),
        lidded="yes", place="1",
    )  # fmt: skip
    stack(house, mixed(house, name="B-A1", studio=barn, vessel=tub), "amina", sheet_count="56")
    links = re.findall(r'href="(/stacks\?[^"]+)"', page_of(house, "/stacks"))
    counts = [re.findall(r"(\d+) of \d+ half", page_of(house, there)) for there in links]

    assert counts == [["12"], ["56"], ["12", "34"]]  # mine, Orchard Barn, Ropewalk
    assert "The mark is on the alumed side: lay the side with the mark." in page_of(
        house, links[1]
    )


def test_a_bath_stopped_because_colour_washed_off_speaks_of_its_stacks(house: Opened):
    """One that looks wrong today says nothing of yesterday's sheets."""
    bath = mixed(house)
    stack(house, bath)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    assert "Its bath was stopped" not in page_of(house, "/stacks")

    house.later(minutes=5)
    house.say("bath.cleared", bath=bath, reason="mistake")
    house.later(minutes=5)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="washed_off")
    page = page_of(house, "/stacks")
    assert "Its bath was stopped by Oluwaseun A." in page
    assert re.findall(r'id="heap-([a-z]+)"', page) == ["look"]
    assert "/test?by=strip_print" not in page
    (there,) = set(re.findall(r'href="(/stacks/[^"]+/test)"', page))
    post(house.client("kahu"), there, there, outcome="sharp")
    (card,) = articles(page_of(house, "/stacks"))
    assert "Its bath was stopped, today 18:10; a strip print of a corner was sharp" in card
    assert card.startswith("good ")


def test_the_list_asks_the_same_of_many_stacks_as_of_one(house: Opened):
    """And it is limited: what is not shown is said."""
    bath = mixed(house)
    asked, page = [], ""
    for count in (1, 61):
        for _ in range(count):
            stack(house, bath, sheet_count="1", sheet_format="quarter")
        client = house.client("kahu")
        client.get("/stacks")
        with counted(house.store) as statements:
            page = client.get("/stacks").text
        asked.append(len(statements))

    assert asked[0] == asked[1]
    assert asked[0] <= 20
    assert len(articles(page)) == 60
    assert "2 more are not shown." in page


def test_the_list_is_reached_from_every_page(house: Opened):
    assert '<a href="/stacks">Stacks</a>' in page_of(house, "/shelf")


# ---- one stack


def test_a_stack_is_shown_whole(house: Opened):
    bath = mixed(house)
    made = stack(house, bath)
    size = with_size(house)
    page = page_of(house, f"/stacks/{made}")

    assert "<h1>60 half sheets of R-A1</h1>" in page
    assert f'href="/baths/{bath}"' in page
    assert bath in page.split('class="ribbon"')[1].split("</div>")[0]
    assert "By its days alone" in page
    assert "open 2, damp 1, in a closed bag 14" in page
    assert f'href="/liquids/{size}/lay?stack={made}"' in page
    assert f'href="/follow?stack={made}"' in page
    assert "60 half sheets through, dip, P-31" in page
    assert "alumed face to alumed face" in page
    assert "A warm iron soon browns alum on fabric" in page


ACTS: list[Any] = [
    ("dry", {"how": "blotters"}, f"drying {FACE_TO_FACE}"),
    ("flatten", {"how": "weight"}, "flattened under weight"),
    ("put-away", {"state": "bagged", "place": "top shelf"}, "put away bagged, top shelf"),
    ("bin", {"sheet_count": "7", "reason": "brown"}, "threw 7 sheets away: brown or brittle"),
]


@pytest.mark.parametrize(("act", "fields", "told"), ACTS)
def test_what_is_done_is_told_and_can_be_undone(
    house: Opened, act: str, fields: dict[str, str], told: str
):
    """One tap each, and a wet finger taps beside."""
    made = stack(house, mixed(house))
    before = stack_of(house, made)
    client = house.client("kahu")
    answer = post(client, f"/stacks/{made}", f"/stacks/{made}/{act}", **fields)

    assert answer.status_code == 303, answer.text
    assert stack_of(house, made) != before
    page = client.get(answer.location).text
    assert told in page
    undo = re.search(r'role="status".*?action="(/entries/[^"]+/undo)"', page, re.DOTALL)
    assert undo
    undone = post(client, f"/stacks/{made}", undo[1])
    assert undone.location == f"/stacks/{made}"
    assert stack_of(house, made) == before
    assert f"<s>{told}</s>" in client.get(f"/stacks/{made}").text


def test_what_was_laid_is_corrected_from_the_stacks_page(house: Opened):
    """And the page that corrected it leads back here."""
    made = stack(house, mixed(house))
    laid = house.say(
        "sheets.through", "kahu", stack=made, size=with_size(house), sheet_count="40",
        sheet_format="half", lot=house.made["parcel"],
    )  # fmt: skip
    client = house.client("kahu")
    assert f'href="/entries/{laid}/correct"' in client.get(f"/stacks/{made}").text

    answer = send(client, f"/entries/{laid}/correct", {
        "content.body.sheet_count": "4", "reason": "typing_slip", "outcome": "replace",
    })  # fmt: skip
    assert (answer.status_code, answer.location) == (303, f"/stacks/{made}")
    page = client.get(f"/stacks/{made}").text
    assert "56 of 60 half sheets left" in page
    assert "<s>40 half sheets laid on R-S1</s>" in page


def test_what_happened_earlier_can_be_said_later(house: Opened):
    """A bag that was closed on the first evening, written down on the third."""
    made = stack(house, mixed(house))
    house.later(days=3)
    client = house.client("kahu")
    there = f"/stacks/{made}"
    answer = post(
        client, there, f"{there}/put-away", state="bagged", happened_at="2025-09-17T21:00"
    )

    assert answer.status_code == 303
    assert "Use by 2025-10-01 18:00." in client.get(there).text


@pytest.mark.parametrize(
    ("act", "fields", "said"),
    [
        ("dry", {}, "This is needed."),
        ("dry", {"how": "oven"}, "Choose one of these."),
        ("flatten", {"how": "steam"}, "Choose one of these."),
        ("put-away", {"state": "bagged", "place": "x" * 41}, "At most 40 characters, please."),
        ("bin", {"sheet_count": "61", "reason": "stale"}, "There are only 60 left."),
        ("bin", {"sheet_count": "many", "reason": "stale"}, "A number, please"),
        ("bin", {"sheet_count": "3"}, "This is needed."),
    ],
)
def test_a_slip_says_what_would_be_right_and_keeps_what_was_typed(
    house: Opened, act: str, fields: dict[str, str], said: str
):
    made = stack(house, mixed(house))
    before = stack_of(house, made)
    client = house.client("kahu")
    answer = post(
        client, f"/stacks/{made}", f"/stacks/{made}/{act}",
        happened_at="2025-09-17T18:00", **fields,
    )  # fmt: skip

    assert answer.status_code == 422
    assert said in answer.text
    assert answer.text.count('value="2025-09-17T18:00"') == 1
    assert 'value="many"' in answer.text or fields.get("sheet_count") != "many"
    assert stack_of(house, made) == before


@pytest.mark.parametrize(
    ("outcome", "word", "told"),
    [
        ("sharp", "good", "strip print of a corner: sharp edge, the colour holds"),
        ("soft", "look-again", "strip print of a corner: soft or pale"),
        ("failed", "do-not-use", "strip print of a corner: the colour washes off"),
    ],
)
def test_a_strip_print_of_a_corner_is_the_stacks_own_and_can_be_undone(
    house: Opened, outcome: str, word: str, told: str
):
    """It turned a good bath to "do not use" once, and a stale stack's sharp one renewed it."""
    bath = mixed(house)
    made = stack(house, bath)
    before = house.state("bath", bath)
    client = house.client("kahu")
    there = f"/stacks/{made}/test"
    answer = post(client, there, there, outcome=outcome)

    assert answer.status_code == 303, answer.text
    page = client.get(answer.location).text
    assert f'class="word {word} big"' in page
    assert told in page
    assert "Strip print of a corner today 18:00." in page
    assert house.state("bath", bath) == before
    undo = re.search(r'role="status".*?action="(/entries/[^"]+/undo)"', page, re.DOTALL)
    assert undo
    post(client, f"/stacks/{made}", undo[1])
    assert stack_of(house, made).printed is None


def test_a_strip_print_without_an_outcome_or_of_nothing_left(house: Opened):
    """How it is done stands there; a slip is said, and of no sheets there is no corner."""
    made = stack(house, mixed(house))
    client = house.client("kahu")
    there = f"/stacks/{made}/test"

    assert "off the corner of one sheet" in page_of(house, there)
    for fields in ({}, {"outcome": "blue"}):
        answer = post(client, there, there, **fields)
        assert answer.status_code == 422
        assert 'role="alert"' in answer.text
    house.say("stack.binned", stack=made, sheet_count="60", reason="brown")
    assert "No alumed sheets of it are left." in page_of(house, there)


def test_a_stale_stack_is_alumed_once_more_through_good_alum(house: Opened):
    """The same sheets, through a bath that may be used; no paper is drawn, no stack is made."""
    tub = house.say(
        "vessel.described", studio=house.made["studio"], name="low tub", brim=quantity(16, "l"),
        lidded="yes", place="4",
    )  # fmt: skip
    weak, good = mixed(house), mixed(house, name="R-A2", vessel=tub)
    made = stack(house, weak)
    house.say("stack.put_away", stack=made, state="bagged", place="shelf")
    house.say("stack.tested", stack=made, outcome="failed")
    house.say("bath.stopped", "oluwaseun", bath=weak, reason="washed_off")
    house.later(minutes=5)
    client = house.client("kahu")
    there = f"/stacks/{made}/alum-again"
    assert f'href="{there}"' in page_of(house, "/stacks")
    page = page_of(house, there)
    assert f'value="{good}"' in page
    assert f'value="{weak}"' not in page

    assert post(client, there, there, bath=weak, method="dip").status_code == 422
    answer = post(client, there, there, bath=good, method="dip")
    assert answer.status_code == 303, answer.text
    page = client.get(answer.location).text
    assert 'class="word good big"' in page
    assert "60 half sheets of R-A2" in page
    assert "60 half sheets through once more, dip, P-31" in page
    after = stack_of(house, made)
    assert (after.state, after.printed, after.alum, after.bath) == ("open", None, good, weak)
    assert len(articles(page_of(house, "/stacks"))) == 1

    with house.desk() as desk:
        assert alert_of(desk.journal, house.state("bath", weak)) is None
        forward = follow_bath(desk.journal, house.state("bath", good))
        assert [one.id for one in forward.stacks] == [made]

    house.later(days=3)
    assert "alum-again" not in page_of(house, "/stacks")
    assert "not a third time" in page_of(house, there)
    assert post(client, f"/stacks/{made}", there, bath=good, method="dip").status_code == 422


def test_a_second_aluming_is_put_right_like_any_other_line(house: Opened):
    """Forty of sixty went through: the rest is as old as it was, and so is the stack."""
    bath = mixed(house)
    made = stack(house, bath)
    house.later(days=3)
    client, there = house.client("kahu"), f"/stacks/{made}/alum-again"
    answer = post(client, there, there, bath=bath, method="brush")
    entry = answer.location.partition("written=")[2]
    assert stack_of(house, made).again is not None

    corrected = send(client, f"/entries/{entry}/correct", {
        "content.body.sheet_count": "40", "reason": "typing_slip", "outcome": "replace",
    })  # fmt: skip
    assert corrected.status_code == 303, corrected.text
    assert stack_of(house, made).again is None
    assert stack_of(house, made).left_count == 60


def test_a_sharp_print_of_a_stale_stack_is_said_beside_its_days(house: Opened):
    """It does not bring the days back; who looks again wants to know of it."""
    made = stack(house, mixed(house))
    house.later(days=3)
    house.say("stack.tested", stack=made, outcome="sharp")
    (card,) = articles(page_of(house, "/stacks"))

    assert card.startswith("look again")
    assert "in the open it keeps 2. A strip print of a corner was sharp, today 18:00." in card


def test_sheets_laid_before_a_second_aluming_stay_with_the_first_bath(house: Opened):
    """They went through the weak one; the rest is out of danger."""
    tub = house.say(
        "vessel.described", studio=house.made["studio"], name="low tub", brim=quantity(16, "l"),
        lidded="yes", place="4",
    )  # fmt: skip
    weak, good = mixed(house), mixed(house, name="R-A2", vessel=tub)
    made = stack(house, weak)
    house.later(minutes=5)
    laid: dict[str, Any] = {"stack": made, "sheet_format": "half", "lot": house.made["parcel"]}
    house.say("sheets.through", size=with_size(house), sheet_count="20", **laid)
    house.later(minutes=5)
    house.say("sheets.through", bath=good, sheet_count="40", method="dip", **laid)
    house.say("bath.stopped", "oluwaseun", bath=weak, reason="washed_off")

    state = stack_of(house, made)
    assert at_risk(state, house.state("bath", weak)) == (20, 0)
    assert at_risk(state, house.state("bath", good)) == (40, 0)


def test_a_good_stack_and_a_room_without_good_alum_ask_for_no_second_aluming(house: Opened):
    bath = mixed(house)
    made = stack(house, bath)
    assert "It does not want aluming again." in page_of(house, f"/stacks/{made}/alum-again")

    house.say("stack.tested", stack=made, outcome="soft")
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    assert "No alum may be used now" in page_of(house, f"/stacks/{made}/alum-again")


def test_four_forms_on_one_page_have_names_of_their_own_for_labels(house: Opened):
    """Their fields share names, and a label must not lead to another form's field."""
    page = page_of(house, f"/stacks/{stack(house, mixed(house))}")
    ids = re.findall(r'\sid="([^"]+)"', page)

    assert len(ids) == len(set(ids))
    assert set(re.findall(r'<label for="([^"]+)"', page)) <= set(ids)


@pytest.mark.parametrize("act", [act for act, _, _ in ACTS])
def test_an_address_of_an_act_shows_the_stack(house: Opened, act: str):
    """Where a slip was said and the page is loaded again."""
    made = stack(house, mixed(house))

    assert "<h1>60 half sheets of R-A1</h1>" in page_of(house, f"/stacks/{made}/{act}")
    assert f'id="{act}"' in page_of(house, f"/stacks/{made}")


def test_nothing_left_leaves_nothing_to_do_but_sort(house: Opened):
    made = stack(house, mixed(house), size=with_size(house))
    page = page_of(house, f"/stacks/{made}")

    assert 'class="word finished big"' in page
    assert "All its 60 sheets are used or thrown away." in page
    assert "Throw it away" not in page
    assert f'href="/stacks/{made}/sorting"' in page
    assert "No size may be used now" not in page


def test_unknown_stack_signed_out_and_wrong_method(house: Opened):
    made = stack(house, mixed(house))
    client = house.client("kahu")
    nobody = made[:-4] + "0000"

    for act in ("", "/dry", "/flatten", "/put-away", "/bin", "/test", "/alum-again"):
        assert client.get(f"/stacks/{nobody}{act}").status_code == 404
        assert house.client().get(f"/stacks/{made}{act}").status_code == 302
        assert client.delete(f"/stacks/{made}{act}").status_code in (400, 405)
    assert house.client().get("/stacks").status_code == 302
    client.set_cookie("coop-lang", "tr")
    assert client.get(f"/stacks/{made}").status_code == 200
