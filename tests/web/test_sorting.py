"""How did they come out? Sorted in parts by anyone, with a photo, and one worth keeping."""

import re
from io import BytesIO
from typing import Any

from flask.testing import FlaskClient

from coop.actions.photos import PHOTO_BYTES_MAX
from coop.ledger.states import StackState
from tests.support.opened import Opened, mixed, post, quantity, token
from tests.support.photos import CAMERA, taken


def through(house: Opened, bath: str, count: int = 40, who: str = "kahu", **more: Any) -> str:
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


def size(house: Opened, name: str = "R-S3", place: str = "8") -> str:
    tray = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name=f"tray {name}",
        brim=quantity(20, "l"),
        lidded="yes",
        place=place,
    )
    return house.say(
        "bath.mixed",
        what="size",
        name=name,
        studio=house.made["studio"],
        vessel=tray,
        water=quantity(17, "l"),
        powder=[{"powder": "carrageenan", "amount": quantity(85, "g")}],
    )


def lay(house: Opened, stack: str, count: int, tray: str) -> None:
    house.later(minutes=1)
    house.say(
        "sheets.through",
        "kahu",
        stack=stack,
        size=tray,
        sheet_count=str(count),
        sheet_format="half",
        reason="already_done",
    )


def stack_of(house: Opened, stack: str) -> StackState:
    state: StackState = house.state("stack", stack)
    return state


def sort_in(house: Opened, client: FlaskClient, stack: str, **fields: Any) -> Any:
    house.later(minutes=1)
    return post(client, f"/stacks/{stack}/sorting", **fields)


def picture(data: bytes | None = None) -> tuple[BytesIO, str]:
    return BytesIO(taken() if data is None else data), "sheet.jpg"


def test_all_good_is_one_tap(house: Opened):
    """The button sends what is left; it needs no script and no field."""
    stack = through(house, mixed(house))
    client = house.client("kahu")
    page = client.get(f"/stacks/{stack}/sorting").text
    again = page.split('class="form again"')[1].split("</form>")[0]
    assert "All good: 40 half sheets" in again

    hidden = dict(re.findall(r'name="([^"]+)"[^>]*value="([^"]*)"', again))
    answer = client.post(f"/stacks/{stack}/sorting", data=hidden)
    assert answer.status_code == 303
    assert stack_of(house, stack).good == 40
    after = client.get(answer.location).text
    assert "All sheets of this stack are sorted." in after
    assert "Written." in after


def test_some_are_spoiled_by_six_words_and_other_in_parts(house: Opened):
    """Anyone sorts: whoever takes the sheets off the line."""
    stack = through(house, mixed(house))
    sort_in(
        house, house.client("amina"), stack, good="10", washed_off="2", bubble="1", other="1"
    )
    page = house.client("kahu").get(f"/stacks/{stack}/sorting").text
    assert "26 half sheets not sorted yet." in page
    assert "10 good, 2 washed off, 1 bubble, 1 other" in page

    sort_in(house, house.client("kahu"), stack, good="20", patch="2", stripe="1", ragged="2",
            wrong_side="1")  # fmt: skip
    state = stack_of(house, stack)
    assert state.good == 30
    assert dict(state.spoiled) == {
        "washed_off": 2, "bubble": 1, "other": 1, "patch": 2, "stripe": 1, "ragged": 2,
        "wrong_side": 1,
    }  # fmt: skip


def test_what_was_written_can_be_undone_at_once(house: Opened):
    stack = through(house, mixed(house))
    client = house.client("kahu")
    answer = sort_in(house, client, stack, good="40")
    page = client.get(answer.location).text
    undo = re.search(r'role="status".*?action="(/entries/[^"]+/undo)"', page, re.DOTALL)
    assert undo
    client.post(undo[1], data={"csrf_token": token(page)})

    assert stack_of(house, stack).sorted_count == 0


def test_no_more_are_sorted_than_there_are_and_what_was_typed_stays(house: Opened):
    stack = through(house, mixed(house))
    answer = sort_in(
        house, house.client("kahu"), stack, good="30", washed_off="11", colours="ochre"
    )

    assert answer.status_code == 422
    assert "There are only 40 left. Count again." in answer.text
    for kept in ('value="30"', 'value="11"', 'value="ochre"'):
        assert kept in answer.text
    assert stack_of(house, stack).sorted_count == 0


def test_nothing_counted_is_said_beside_the_count(house: Opened):
    stack = through(house, mixed(house))
    answer = sort_in(house, house.client("kahu"), stack)

    assert answer.status_code == 422
    assert "Count at least one sheet." in answer.text


def test_words_for_a_number_are_refused_in_words(house: Opened):
    stack = through(house, mixed(house))
    answer = sort_in(house, house.client("kahu"), stack, good="most")

    assert answer.status_code == 422
    assert "A number, please: 12, 0.5, 0,5 or 1/2." in answer.text


def test_seven_of_forty_washed_off_leads_to_a_strip_print(house: Opened):
    """Two days before 31 of 46 wash off, the page says what to do and where."""
    good = mixed(house)
    before = through(house, good, 294, "amina")
    sort_in(house, house.client("amina"), before, good="274", washed_off="20")
    house.say("bath.finished", bath=good, reason="used_up")
    bath = mixed(house, name="R-A2")
    stack = through(house, bath)
    client = house.client("kahu")
    answer = sort_in(house, client, stack, good="33", washed_off="7")
    page = client.get(answer.location).text

    assert (
        "7 of 40 washed off; about 3 is usual; so many by chance one time in 34. "
        "Make a strip print before anyone uses R-A2."
    ) in page
    assert f'href="/baths/{bath}/test?by=strip_print"' in page
    assert f'href="/follow?stack={stack}"' in page


def test_what_never_was_is_told_by_what_else_was_sorted(house: Opened):
    """About none is no figure to speak of: how many others there are says more."""
    good = mixed(house)
    sort_in(house, house.client("amina"), through(house, good, 100, "amina"), good="100")
    stack = through(house, good)
    client = house.client("kahu")
    page = client.get(sort_in(house, client, stack, good="30", stripe="10").location).text

    assert "10 of 40 stripe; 0 of the 100 others sorted here; so many by chance" in page


def test_a_usual_count_is_no_alarm_and_its_causes_stand_there_all_the_same(house: Opened):
    stack = through(house, mixed(house))
    client = house.client("kahu")
    page = client.get(sort_in(house, client, stack, good="38", bubble="2").location).text

    assert "by chance" not in page
    assert "opposite corners, one roll, no pause" in page


def test_ragged_sheets_lead_to_a_drop_test_of_their_size(house: Opened):
    """Incident E: the drop test would have shown it."""
    stack, tray = through(house, mixed(house)), size(house)
    lay(house, stack, 40, tray)
    client = house.client("kahu")
    page = client.get(sort_in(house, client, stack, good="26", ragged="14").location).text

    assert f'href="/liquids/{tray}/test?by=drop_test"' in page


def test_a_stack_laid_on_two_sizes_asks_on_which(house: Opened):
    """On one size there is nothing to ask; another one is not in the list."""
    bath = mixed(house)
    stack, old, new = through(house, bath), size(house), size(house, "R-S4", "9")
    lay(house, stack, 30, old)
    client = house.client("kahu")
    assert "On which size" not in client.get(f"/stacks/{stack}/sorting").text

    lay(house, stack, 10, new)
    assert "On which size" in client.get(f"/stacks/{stack}/sorting").text
    refused = sort_in(house, client, stack, good="5", size=bath)
    assert refused.status_code == 422
    assert "Choose one from the list." in refused.text
    sort_in(house, client, stack, good="5", size=new)
    assert stack_of(house, stack).parts[-1].size == new


def test_a_photo_is_kept_small_and_without_what_the_camera_wrote(house: Opened):
    stack = through(house, mixed(house))
    client = house.client("kahu")
    answer = sort_in(house, client, stack, good="39", patch="1", photo=picture())
    page = client.get(answer.location).text
    shown = re.search(r'href="(/photo/[0-9a-f]{64})"', page)
    assert shown
    data = client.get(shown[1]).data

    assert data.startswith(b"\xff\xd8")
    assert CAMERA.encode() not in data
    assert len(data) < PHOTO_BYTES_MAX / 10


def test_a_second_post_with_its_photo_writes_once(house: Opened):
    """A bad signal: the answer was lost, and the browser sent the form again."""
    stack = through(house, mixed(house))
    client = house.client("kahu")
    page = client.get(f"/stacks/{stack}/sorting").text
    form = page.split('enctype="multipart/form-data"')[1]
    entry = re.search(r'name="entry_id"[^>]*value="([^"]+)"', form)
    assert entry
    fields = {"csrf_token": token(page), "entry_id": entry[1], "good": "5"}
    first, again = (
        client.post(f"/stacks/{stack}/sorting", data=fields | {"photo": picture()})
        for _ in range(2)
    )

    assert (first.status_code, again.status_code) == (303, 303)
    assert stack_of(house, stack).good == 5
    assert "Already written." in client.get(again.location).text


def test_what_is_no_photo_is_refused_beside_its_field(house: Opened):
    stack = through(house, mixed(house))
    answer = sort_in(house, house.client("kahu"), stack, good="5", photo=picture(b"not one"))

    assert answer.status_code == 422
    assert "A whole photo, please: JPEG, PNG or WebP." in answer.text
    assert 'value="5"' in answer.text
    assert stack_of(house, stack).sorted_count == 0


def test_a_photo_that_was_sent_with_a_slip_is_asked_for_again(house: Opened):
    """A browser cannot put a file back into its field."""
    stack = through(house, mixed(house))
    answer = sort_in(house, house.client("kahu"), stack, good="50", photo=picture())

    assert answer.status_code == 422
    assert "Browsers let go of a photo: choose it once more." in answer.text


def test_a_body_larger_than_any_photo_is_not_read(house: Opened):
    stack = through(house, mixed(house))
    answer = house.client("kahu").post(
        f"/stacks/{stack}/sorting",
        data=bytes(PHOTO_BYTES_MAX + 200_000),
        content_type="multipart/form-data; boundary=part",
    )

    assert answer.status_code == 413


def test_a_sheet_is_kept_and_can_be_made_again(house: Opened):
    """What a beauty came from, on its stack and among all kept ones."""
    bath, tray = mixed(house), size(house)
    house.say(
        "reading.taken", bath=tray, instrument="drop_test", outcome="round", spread_mm="48"
    )
    house.later(days=2)
    stack = through(house, bath)
    lay(house, stack, 40, tray)
    client = house.client("kahu")
    answer = sort_in(
        house, client, stack, good="1", keep="y", colours="black, ochre, white",
        note="combed twice", photo=picture(),
    )  # fmt: skip

    for there in (answer.location, "/kept"):
        page = client.get(there).text
        for told in ("black, ochre, white", "2.0 days", "48 mm", "combed twice", "Kahu R."):
            assert told in page, there
        for again in (bath, tray):
            assert f'href="/make?again={again}"' in page
        assert re.search(r'<img class="kept-photo" src="/photo/', page)


def test_the_stacks_history_tells_that_one_was_kept(house: Opened):
    stack = through(house, mixed(house))
    client = house.client("kahu")
    sort_in(house, client, stack, good="3", keep="y")

    assert "sorted: 3 good, one kept" in client.get(f"/stacks/{stack}").text


def test_an_erased_photo_is_no_longer_shown(house: Opened):
    """A person in the picture asked for it; the sheet is kept all the same."""
    stack = through(house, mixed(house))
    client = house.client("kahu")
    sort_in(house, client, stack, good="1", keep="y", photo=picture())
    name = stack_of(house, stack).parts[0].photo
    with house.store.writing() as desk:
        desk.journal.erase(name)

    for there in ("/kept", f"/stacks/{stack}/sorting"):
        page = client.get(there).text
        assert "Kept" in page
        assert "/photo/" not in page


def test_nothing_kept_yet_says_how_to_keep_one(house: Opened):
    assert "Nobody kept a sheet yet." in house.client("kahu").get("/kept").text


def test_unknown_stack_wrong_method_and_signed_out(house: Opened):
    stack = through(house, mixed(house))
    client = house.client("kahu")
    nobody = stack[:-4] + "0000"

    assert client.get(f"/stacks/{nobody}/sorting").status_code == 404
    assert client.delete(f"/stacks/{stack}/sorting").status_code in (400, 405)
    assert house.client().get(f"/stacks/{stack}/sorting").status_code == 302
    assert client.post("/kept").status_code in (400, 405)


def test_what_washed_off_is_told_in_the_room_and_on_the_bath_until_it_is_tested(house: Opened):
    """Whoever comes next did not sort those sheets."""
    bath = mixed(house)
    sort_in(house, house.client("amina"), through(house, bath, 100, "amina"), good="100")
    sort_in(house, house.client("kahu"), through(house, bath, 10), good="3", washed_off="7")
    told = "Make a strip print before anyone uses R-A1."
    client = house.client("oluwaseun")
    room = client.get("/").text
    page = client.get(f"/baths/{bath}").text

    assert room.count(told) == page.count(told) == 1
    assert "7 of 10 washed off" in room
    assert f'<a class="button main" href="/baths/{bath}/test">Test it</a>' in room
    assert f'<a class="button main" href="/baths/{bath}/test?by=strip_print">' in page
    assert page.index(told) < page.index("Sheets through")

    house.later(minutes=5)
    house.say("reading.taken", bath=bath, instrument="strip_print", outcome="sharp")
    assert told not in client.get("/").text
    assert told not in client.get(f"/baths/{bath}").text


def test_ragged_sheets_are_told_on_the_page_of_their_size(house: Opened):
    bath, tray = mixed(house), size(house)
    sort_in(house, house.client("amina"), through(house, bath, 100, "amina"), good="100")
    stack = through(house, bath, 10)
    lay(house, stack, 10, tray)
    sort_in(house, house.client("kahu"), stack, good="3", ragged="7", size=tray)
    page = house.client("oluwaseun").get(f"/liquids/{tray}").text

    assert "Make a drop test before anyone uses R-S3." in page
    assert f'href="/liquids/{tray}/test?by=drop_test"' in page
