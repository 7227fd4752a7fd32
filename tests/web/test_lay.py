"""Lay sheets of a stack on a size: what is offered, what is written, what is asked."""

import html
import json
import re
from typing import Any

import pytest

from coop.ledger.liquids import LiquidState
from coop.ledger.states import StackState
from tests.support.opened import Opened, mixed, post, quantity
from tests.support.queries import counted
from tests.support.tray import with_size


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


def size_of(house: Opened) -> LiquidState:
    state: LiquidState = house.state("bath", house.made["size"])
    return state


@pytest.fixture
def there(house: Opened) -> str:
    """The page of a size that may be used; 60 half sheets of Kahu's wait since this morning."""
    size = with_size(house)
    house.made["bath"] = mixed(house)
    house.made["stack"] = stack(house, house.made["bath"])
    house.later(hours=5)
    return f"/liquids/{size}/lay"


def picks(page: str) -> list[str]:
    """Return the words on the buttons for the stack."""
    return re.findall(r'name="stack"[^>]*>\s*<span>([^<]+)</span>', page)


def test_sheets_are_laid_and_said_back_with_an_undo(house: Opened, there: str):
    """The stack has fewer, the size too; what was just written can be taken out again."""
    client = house.client("kahu")
    before = size_of(house)
    answer = post(client, there, stack=house.made["stack"], sheet_count="23", damp="no")

    assert answer.status_code == 303, answer.text
    assert stack_of(house, house.made["stack"]).left_count == 37
    laid = size_of(house).laid[-1]
    assert (laid.stack, laid.sheet_count, laid.damp) == (house.made["stack"], 23, False)
    page = client.get(answer.location).text
    assert "Written: 23 half sheets laid." in page
    assert "23 half sheets laid on R-S1" in page
    undo = re.search(r'role="status".*?action="(/entries/[^"]+/undo)"', page, re.DOTALL)
    assert undo
    undone = post(client, answer.location, undo[1])
    assert undone.location == f"/stacks/{house.made['stack']}"
    assert stack_of(house, house.made["stack"]).left_count == 60
    assert size_of(house).laid_m2 == before.laid_m2


def test_size_leaves_with_the_sheets_by_their_own_area(house: Opened, there: str):
    """
    The stack knows its paper: 40 half sheets of 700 x 500 mm are 7 m2, by 0.35 L/m2.

    0.35 L/m2 (0.2 to 0.8) is our own estimate, no source.
    """
    before = size_of(house)
    post(house.client("kahu"), there, stack=house.made["stack"], sheet_count="40", damp="no")
    after = size_of(house)

    assert after.laid_m2 == pytest.approx(40 * 0.7 * 0.5 / 2)
    lost_ml = before.volume_ml - after.volume_ml
    dried_up_ml = lost_ml - 0.35 * 1000 * after.laid_m2
    assert dried_up_ml == pytest.approx(0, abs=1)


def test_all_that_is_left_is_one_tap(house: Opened, there: str):
    """It needs no script; a stack that was kept damp is laid damp."""
    house.say("stack.binned", stack=house.made["stack"], sheet_count="4", reason="damp")
    house.say("stack.put_away", stack=house.made["stack"], state="damp")
    client = house.client("kahu")
    page = client.get(there).text
    form = page.split('class="form again"')[1].split("</form>")[0]
    assert "All 56 half sheets of R-A1, yours, today 18:00" in form
    hidden = dict(re.findall(r'name="([^"]+)"[^>]*value="([^"]*)"', form))
    answer = client.post(there, data=hidden)

    assert answer.status_code == 303, answer.text
    assert stack_of(house, house.made["stack"]).left_count == 0
    assert size_of(house).laid[-1].damp


def test_own_stacks_come_first_and_those_going_stale_are_named(house: Opened, there: str):
    """Of others the one that keeps least; what is past every use stands last."""
    bath = house.made["bath"]
    fresh = stack(house, bath, "amina", sheet_count="9")
    house.later(hours=30)
    own = stack(house, bath, sheet_count="5")
    page = house.client("kahu").get(there).text
    ids = re.findall(r'name="stack" type="radio" value="([^"]+)"', page)

    assert ids == [house.made["stack"], own, fresh]
    assert [one.split(",")[1].strip() for one in picks(page)] == ["yours", "yours", "Amina K."]
    assert page.count("Going stale.") == 2
    assert "5 of 5 half sheets left. P-31, lies open. Use by" in " ".join(page.split())


def test_a_stack_of_another_studio_says_where_it_lies_and_of_which_paper(
    house: Opened, there: str
):
    """Nobody carries a stack from the Barn because a list left out that it lies there."""
    barn = house.say(
        "studio.described", name="Orchard Barn", letter="B", drain="septic",
        emergency="112", poison="0555 0100",
    )  # fmt: skip
    tub = house.say(
        "vessel.described", studio=barn, name="low tub", brim=quantity(16, "l"),
        lidded="yes", place="1",
    )  # fmt: skip
    far = house.say(
        "sheets.through", bath=mixed(house, name="B-A1", studio=barn, vessel=tub),
        sheet_count="9", sheet_format="half", method="dip",
    )  # fmt: skip
    house.say("stack.put_away", stack=far, state="bagged", place="top shelf")
    page = house.client("kahu").get(there).text
    near, other = re.findall(r'<p class="soft" id="[^"]+-more">(.*?)</p>', page)

    assert "60 of 60 half sheets left. P-31, lies open." in near
    assert "own paper, in a closed bag, top shelf, at Orchard Barn." in other


def test_the_stack_a_link_names_is_chosen(house: Opened, there: str):
    """From the stack's own page."""
    house.later(minutes=5)
    other = stack(house, house.made["bath"], "amina")
    page = house.client("kahu").get(f"{there}?stack={other}").text

    checked = re.search(r'<input[^>]*checked[^>]*name="stack"[^>]*value="([^"]+)"', page)
    assert checked
    assert checked[1] == other


def test_a_stack_out_of_a_stopped_bath_is_said_and_laid_all_the_same(house: Opened, there: str):
    house.say("bath.stopped", "oluwaseun", bath=house.made["bath"], reason="washed_off")
    client = house.client("kahu")

    assert "Its bath was stopped by Oluwaseun A." in client.get(there).text
    answer = post(client, there, stack=house.made["stack"], sheet_count="3", damp="no")
    assert answer.status_code == 303


def test_a_size_not_to_be_used_asks_for_a_reason_and_writes_all_the_same(
    house: Opened, there: str
):
    """What a person did is written down; only why is asked."""
    house.say("bath.stopped", "oluwaseun", bath=house.made["size"], reason="smells_sour")
    client = house.client("kahu")
    page = client.get(there).text
    assert "Not to be used:" in page
    assert 'class="form again"' not in page
    assert "a drop test just now was good" in page
    assert "strip print just now" not in page

    said = {"stack": house.made["stack"], "sheet_count": "20", "damp": "no"}
    refused = post(client, there, **said)
    assert refused.status_code == 422
    assert "Tap a reason." in refused.text
    assert post(client, there, **said, reason="test_sheets").status_code == 303
    assert size_of(house).laid[-1].sheet_count == 20


def test_a_size_that_rests_is_not_yet_to_be_used(house: Opened, there: str):
    """Nothing is wrong with it, it only wants its hours."""
    made = house.made
    tray = house.say(
        "vessel.described", studio=made["studio"], name="new tray", brim=quantity(10, "l"),
        lidded="no", place="8",
    )  # fmt: skip
    fresh = house.say(
        "bath.mixed", name="R-S9", what="size", studio=made["studio"], vessel=tray,
        water=quantity(8, "l"),
        powder=[{"powder": "carrageenan", "lot": made["moss"], "amount": quantity(45, "g")}],
    )  # fmt: skip
    page = house.client("kahu").get(f"/liquids/{fresh}/lay").text

    assert re.search(r"Not yet:</h2><p>It rests until", page)
    assert "Not to be used:" not in page


def test_a_stack_not_to_be_used_asks_for_a_reason_too(house: Opened, there: str):
    """Sixty days are over; the size is fresh."""
    house.later(days=61)
    house.made["tray"] = house.say(
        "vessel.described", studio=house.made["studio"], name="new tray",
        brim={"typed": "10", "n": "10", "unit": "l"}, lidded="no", place="8",
    )  # fmt: skip
    size = with_size(house)
    client, there = house.client("kahu"), f"/liquids/{size}/lay"
    page = client.get(there).text
    assert "not to be used from 60 days on" in page
    assert "Sheets that are not to be used: why use them anyway?" in page
    assert 'class="form again"' not in page

    said = {"stack": house.made["stack"], "sheet_count": "20", "damp": "no"}
    refused = post(client, there, **said)
    assert refused.status_code == 422
    assert "<details open><summary>Sheets that are not" in refused.text
    assert post(client, there, **said, reason="test_sheets").status_code == 303


def test_a_size_kept_for_somebody_asks_others_for_a_reason(house: Opened, there: str):
    amina = house.members["amina"].member
    house.say("bath.kept_for", bath=house.made["size"], member=amina)
    said = {"stack": house.made["stack"], "sheet_count": "20", "damp": "no"}
    kahu, keeper = house.client("kahu"), house.client("amina")
    assert "Kept for Amina K." in kahu.get(there).text
    assert post(kahu, there, **said).status_code == 422
    assert "Why use it anyway?" not in keeper.get(there).text
    assert post(keeper, there, **said).status_code == 303


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"sheet_count": "61"}, "There are only 60 left. Count again."),
        ({"sheet_count": "sixty"}, "A number, please"),
        ({"sheet_count": ""}, "This is needed."),
        ({"stack": ""}, "This is needed."),
        ({"stack": "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"}, "does not know this one"),
        ({"damp": "soaked"}, "Choose one of these."),
        ({"happened_at": "2030-01-01T10:00"}, "This has not happened yet."),
    ],
)
def test_a_slip_says_what_would_be_right_and_keeps_what_was_typed(
    house: Opened, there: str, changes: dict[str, str], said: str
):
    usual = {"stack": house.made["stack"], "sheet_count": "20", "damp": "no"}
    answer = post(house.client("kahu"), there, **(usual | {"note": "for the class"} | changes))

    assert answer.status_code == 422
    assert said in answer.text
    assert "for the class" in answer.text
    assert stack_of(house, house.made["stack"]).left_count == 60


def test_a_second_post_of_the_same_page_writes_once(house: Opened, there: str):
    """The answer was lost and the button tapped again."""
    client = house.client("kahu")
    page = client.get(there).text
    form = page.split('class="form again"')[1].split("</form>")[0]
    hidden = dict(re.findall(r'name="([^"]+)"[^>]*value="([^"]*)"', form)) | {
        "sheet_count": "9"
    }

    assert client.post(there, data=hidden).status_code == 303
    assert client.post(there, data=hidden).status_code == 303
    assert stack_of(house, house.made["stack"]).left_count == 51


def test_what_a_phone_keeps_of_the_form_is_what_the_studio_writes(house: Opened, there: str):
    """A choice carries the format and the paper of its stack."""
    page = house.client("kahu").get(there).text
    also = re.search(r'data-also="([^"]+)"', page)

    assert also
    assert json.loads(html.unescape(also[1])) == {
        "sheet_format": "half",
        "lot": house.made["parcel"],
    }
    assert page.count('data-outbox="sheets.through"') == 2
    assert page.count(f'name="size" value="{house.made["size"]}"') == 2


def test_the_side_rule_is_shown_once_where_all_share_it(house: Opened, there: str):
    lay_bare = "lay the side without a mark"
    page = house.client("kahu").get(there).text
    assert page.count(lay_bare) == 1

    stack(house, house.made["bath"], side="both_sides")
    page = house.client("kahu").get(there).text
    assert (page.count(lay_bare), page.count("lay either")) == (1, 1)


def test_the_pad_holds_my_last_counts(house: Opened, there: str):
    client = house.client("kahu")
    for count in ("7", "3"):
        house.later(minutes=5)
        post(client, there, stack=house.made["stack"], sheet_count=count, damp="no")
    pad = [int(count) for count in re.findall(r'data-fill="(\d+)"', client.get(there).text)]

    assert pad == [3, 5, 7, 10, 20, 30, 40, 50, 60]


def test_without_alumed_sheets_the_page_says_where_they_come_from(house: Opened):
    page = house.client("kahu").get(f"/liquids/{with_size(house)}/lay").text

    assert "No alumed sheets wait to be laid." in page
    assert "Write it" not in page


def test_the_page_asks_the_same_of_many_stacks_as_of_one(house: Opened, there: str):
    """Only the first dozen are offered."""
    bath, asked = house.made["bath"], []
    for _ in range(2):
        client = house.client("kahu")
        client.get(there)
        with counted(house.store) as statements:
            page = client.get(there).text
        asked.append(len(statements))
        for _ in range(20):
            stack(house, bath, sheet_count="1")

    assert asked[0] == asked[1]
    assert asked[0] <= 30
    page = house.client("kahu").get(there).text
    assert len(picks(page)) == 12


def test_nothing_is_laid_on_gall_water_nor_on_alum(house: Opened, there: str):
    client = house.client("kahu")
    gall = house.say(
        "bath.mixed", name="R-G1", what="gall_water", studio=house.made["studio"],
        vessel=house.say(
            "vessel.described", studio=house.made["studio"], name="jug",
            brim={"typed": "1", "n": "1", "unit": "l"}, lidded="yes", place="7",
        ),
        water={"typed": "0.5", "n": "0.5", "unit": "l"},
        powder=[{"powder": "gall", "amount": {"typed": "70", "n": "70", "unit": "ml"}}],
    )  # fmt: skip

    assert client.get(f"/liquids/{gall}/lay").status_code == 404
    assert client.get(f"/liquids/{house.made['bath']}/lay").status_code == 404
    size = house.made["size"]
    assert client.get(f"/baths/{size}/sheets").location == f"/liquids/{size}/lay"


def test_unknown_size_wrong_method_signed_out_and_turkish(house: Opened, there: str):
    client = house.client("kahu")

    assert client.get(f"/liquids/{house.made['stack']}/lay").status_code == 404
    assert client.delete(there).status_code in (400, 405)
    assert house.client().get(there).status_code == 302
    client.set_cookie("coop-lang", "tr")
    assert client.get(there).status_code == 200
