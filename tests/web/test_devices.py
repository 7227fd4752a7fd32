"""Phones and tablets: what each still holds, what never came, switching one off."""

import re
from datetime import timedelta

import pytest

from coop import __version__
from coop.ids import Subject
from coop.store import devices
from tests.support.browser import assert_accessible, screenshot
from tests.support.enrolled import enrolled, over, post_push
from tests.support.forms import send
from tests.support.opened import PASSWORD, Opened, mixed
from tests.support.queries import counted
from tests.support.server import sign_in

FACT = re.compile(r"<dt>([^<]*)</dt><dd>([^<]*)</dd>")


def facts(house: Opened, device: str, who: str = "kahu") -> dict[str, str]:
    page = house.client(who).get(f"/devices/{device}").text
    return {label: value.replace("&#39;", "'") for label, value in FACT.findall(page)}


def sheets(phone, house, bath, count="20", **more):
    return phone.write(
        "sheets.through",
        now=house.moment,
        bath=bath,
        sheet_count=count,
        sheet_format="half",
        method="dip",
        **more,
    )


def lose(phone, *written):
    """Forget what was written, as a phone does whose store is wiped."""
    for one in written:
        del phone.records[one]


# --- what it holds ----------------------------------------------------------------------


def test_a_phone_that_was_never_heard_says_so(house: Opened):
    phone, _ = enrolled(house, name="Kahu's phone")
    page = house.client("oluwaseun").get("/devices").text

    assert "Kahu&#39;s phone" in page
    assert "Kahu R.&#39;s own" in page
    assert "not heard yet" in page
    assert f'href="/devices/{phone.id}"' in page


def test_what_a_phone_said_of_itself_is_told_in_plain_words(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    sheets(phone, house, bath)
    for count in ("nine", "ten", "eleven"):
        sheets(phone, house, bath, count)
    assert phone.push(over(client), now=house.moment)
    phone.ahead = timedelta(hours=3, minutes=2)
    post_push(client, phone.message(now=house.moment))

    told = facts(house, phone.id)

    assert told["Heard"] == "last heard today 18:00"
    assert told["Still on it"] == "3 lines wait on it"
    assert told["Kept on it"] == "1 line that the studio has, until it is in two places"
    assert told["Its clock"] == "3 h ahead"
    assert told["Without a signal"] == "opens; its browser did not promise to keep what waits"
    assert told["Its page"].startswith(__version__)
    assert "Never arrived" not in told


@pytest.mark.parametrize(
    ("ahead", "told"),
    [
        (timedelta(seconds=59), "right"),
        (timedelta(minutes=-12), "12 min behind"),
        (timedelta(hours=26), "26 h ahead"),
        (timedelta(days=-3650), "3650 days behind"),
    ],
)
def test_a_clock_is_named_when_it_is_over_a_minute_off(house: Opened, ahead, told):
    phone, client = enrolled(house)
    phone.ahead = ahead
    post_push(client, phone.message(now=house.moment))

    assert facts(house, phone.id)["Its clock"] == told


def test_the_list_says_which_phones_open_without_a_signal(house: Opened):
    """'Which phones work in the cellar?' is asked of this page."""
    phone, client = enrolled(house)
    phone.ahead = timedelta(hours=-5)
    message = phone.message(now=house.moment)
    post_push(client, message)
    page = house.client("kahu").get("/devices").text
    assert "opens without a signal · its clock is 5 h behind" in page

    post_push(client, message | {"offline": False})

    assert "does not open without a signal yet" in house.client("kahu").get("/devices").text


@pytest.mark.parametrize(
    ("by", "told"),
    [
        (timedelta(days=1), "last heard yesterday 18:00"),
        (timedelta(days=3), "not heard since Wednesday"),
        (timedelta(days=30), "not heard since 2025-09-17"),
    ],
)
def test_a_phone_that_is_silent_is_named_by_its_last_day(house: Opened, by, told):
    """START is a Wednesday."""
    phone, client = enrolled(house)
    post_push(client, phone.message(now=house.moment))
    house.moment += by

    assert told in house.client("kahu").get("/devices").text


def test_a_shared_tablet_is_told_by_the_initials_of_who_writes_on_it(house: Opened):
    phone, _ = enrolled(house, "amina", shared=True, name="by the sink")
    house.say(
        "device.member_added", "kahu", device=phone.id, member=house.members["kahu"].member
    )

    page = house.client("kahu").get("/devices").text

    assert "the studio&#39;s: AK, KR" in page


# --- what never came --------------------------------------------------------------------


def test_counts_that_never_came_are_named_and_what_is_held_or_waits_is_not(house: Opened):
    """1 came; 2, 3 and 5 are lost with the store; 4 is refused and held, 6 needs a person."""
    phone, client = enrolled(house)
    bath = mixed(house)
    sheets(phone, house, bath)
    lost = [sheets(phone, house, bath) for _ in range(2)]
    sheets(phone, house, bath, "nine")
    lost.append(sheets(phone, house, bath))
    phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")
    lose(phone, *lost)

    assert phone.push(over(client), now=house.moment)

    told = facts(house, phone.id)
    assert told["Never arrived"] == "3 lines never arrived: numbers 2 to 3, 5"
    assert told["Still on it"] == "1 line waits on it"
    assert "something is missing" in house.client("kahu").get("/devices").text


def test_what_arrives_after_all_is_missing_no_more(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    late = sheets(phone, house, bath)
    sheets(phone, house, bath)
    kept = phone.records.pop(late)
    phone.push(over(client), now=house.moment)
    assert facts(house, phone.id)["Never arrived"] == "1 line never arrived: number 1"

    phone.records[late] = kept
    phone.push(over(client), now=house.moment)

    assert "Never arrived" not in facts(house, phone.id)


def test_a_correction_on_another_phone_fills_no_gap(house: Opened):
    """It concerns the same bath and the same entry, but is no count of this phone."""
    phone, client = enrolled(house)
    bath = mixed(house)
    first = sheets(phone, house, bath)
    lose(phone, sheets(phone, house, bath))
    phone.push(over(client), now=house.moment)
    house.say("entry.corrected", "kahu", target=first, outcome="void", reason="undone")

    assert facts(house, phone.id)["Never arrived"] == "1 line never arrived: number 2"


def test_one_count_for_two_lines_is_said(house: Opened):
    """A phone brought back from its own backup counts on from there."""
    phone, client = enrolled(house)
    bath = mixed(house)
    sheets(phone, house, bath, "5")
    phone.push(over(client), now=house.moment)
    phone.last_seq = 0
    sheets(phone, house, bath, "7")
    phone.push(over(client), now=house.moment)

    assert (
        facts(house, phone.id)["One number twice"] == "number 1 stands for two different lines"
    )


def test_a_count_of_astronomic_size_costs_nothing(house: Opened):
    """A device may say anything; what is missing is kept as its first and last."""
    phone, client = enrolled(house)
    message = phone.message(now=house.moment) | {"last_seq": 2**53 - 1}
    assert post_push(client, message).status_code == 200

    assert facts(house, phone.id)["Never arrived"].endswith(f"numbers 1 to {2**53 - 1}")


# --- switching off, taking off ----------------------------------------------------------


def test_a_phone_switched_off_is_let_in_no_more_and_what_it_held_is_remembered(house: Opened):
    phone, client = enrolled(house)
    sheets(phone, house, mixed(house), "nine")
    phone.push(over(client), now=house.moment)
    there = f"/devices/{phone.id}"

    answer = send(house.client("amina"), there, {"reason": "lost"}, action=f"{there}/revoke")

    assert answer.status_code == 303
    assert post_push(client, phone.message(now=house.moment)).status_code == 401
    told = facts(house, phone.id)
    assert told["Switched off"] == "switched off today 18:00: it is lost"
    assert told["Still on it"] == "1 line waits on it"
    assert "Switched off" in house.client("kahu").get("/devices").text


def test_its_owner_may_switch_a_phone_off_and_another_member_may_not(house: Opened):
    phone, _ = enrolled(house)
    there = f"/devices/{phone.id}"
    own, other = house.client("kahu"), house.client("oluwaseun")

    assert "Switch it off" in own.get(there).text
    assert "Switch it off" not in other.get(there).text
    answer = other.post(f"{there}/revoke", data={"csrf_token": _token(other), "reason": "lost"})
    assert answer.status_code == 403
    assert send(own, there, {"reason": "replaced"}, f"{there}/revoke").status_code == 303


def _token(client):
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', client.get("/me").text)
    assert found
    return found[1]


def test_switching_off_wants_a_reason(house: Opened):
    phone, client = enrolled(house)
    there = f"/devices/{phone.id}"

    answer = send(house.client("kahu"), there, action=f"{there}/revoke")

    assert answer.status_code == 422
    assert "This is needed." in answer.text
    assert post_push(client, phone.message(now=house.moment)).status_code == 200


def test_a_member_is_taken_off_a_tablet_and_their_digits_with_them(house: Opened):
    phone, _ = enrolled(house, "amina", shared=True)
    kahu = house.members["kahu"].member
    house.say("device.member_added", "kahu", device=phone.id, member=kahu)
    with house.store.writing() as desk:
        devices.set_pin(
            desk.connection, device_id=Subject(phone.id), member=kahu, digits="4711",
            salt=b"s" * 16, now=house.moment,
        )  # fmt: skip
    there, client = f"/devices/{phone.id}", house.client("kahu")
    house.later(minutes=1)

    answer = send(client, there, action=f"{there}/remove")

    assert answer.status_code == 303
    assert kahu not in house.state("device", phone.id).members
    with house.desk() as desk:
        assert devices.pins(desk.connection, Subject(phone.id)) == {}


def test_a_member_cannot_take_another_off(house: Opened):
    phone, _ = enrolled(house, "amina", shared=True)
    there, client = f"/devices/{phone.id}", house.client("kahu")

    answer = client.post(
        f"{there}/remove",
        data={
            "csrf_token": _token(client),
            "entry_id": house.new_id(),
            "member": house.members["amina"].member,
        },
        follow_redirects=True,
    )

    assert "by themselves or a coordinator" in answer.text
    assert house.members["amina"].member in house.state("device", phone.id).members


# --- cost and looks ---------------------------------------------------------------------


def test_many_phones_cost_no_more_questions_than_few(house: Opened):
    bath = mixed(house)
    client = house.client("amina")

    def asked(there: str) -> int:
        with counted(house.store) as found:
            assert client.get(there).status_code == 200
        return len(found)

    def add(count: int) -> str:
        phone = None
        for _ in range(count):
            phone, its = enrolled(house)
            lose(phone, sheets(phone, house, bath))
            sheets(phone, house, bath)
            phone.push(over(its), now=house.moment)
        assert phone is not None
        return phone.id

    few = add(2)
    before = asked("/devices"), asked(f"/devices/{few}")
    many = add(12)

    assert (asked("/devices"), asked(f"/devices/{many}")) == before
    assert max(before) <= 20


def test_the_list_of_people_reads_no_entry_of_a_phone_for_a_member(house: Opened):
    """A gap takes all entries of a phone to name: that is for who can settle it."""
    phone, client = enrolled(house, name="tablet", shared=True)
    bath = mixed(house)
    lose(phone, sheets(phone, house, bath))
    sheets(phone, house, bath)
    phone.push(over(client), now=house.moment)
    pages = {}
    for first in ("kahu", "amina"):
        browser = house.client(first)
        with counted(house.store) as asked:
            pages[first] = browser.get("/people").text
        reads = any("json_extract" in one for one in asked)
        assert reads == (first == "amina")
        assert not any("count(" in one and "touch" in one for one in asked)

    assert "never arrived" in pages["amina"]
    assert "tablet" in pages["kahu"]
    assert "never arrived" not in pages["kahu"]
    assert "never arrived" in house.client("kahu").get("/devices").text


@pytest.mark.browser
@pytest.mark.parametrize(("shape", "scheme"), [("phone", "dark"), ("desk", "light")])
def test_the_screens_are_for_everybody(house: Opened, pages, live, shape, scheme):
    bath = mixed(house)
    phone, client = enrolled(house, name="Kahu's phone")
    sheets(phone, house, bath)
    lose(phone, sheets(phone, house, bath))
    sheets(phone, house, bath, "nine")
    phone.push(over(client), now=house.moment)
    tablet, its = enrolled(house, "amina", shared=True, name="tablet by the sink")
    house.say(
        "device.member_added", "kahu", device=tablet.id, member=house.members["kahu"].member
    )
    post_push(its, tablet.message(now=house.moment))
    gone, _ = enrolled(house, name="old phone")
    house.say("device.revoked", "kahu", device=gone.id, reason="replaced")
    page = getattr(pages, shape)(live(house.app()), color_scheme=scheme)
    sign_in(page, "amina", PASSWORD)

    screens = {"devices": "/devices", "device": f"/devices/{phone.id}"}
    screens |= {"tablet": f"/devices/{tablet.id}", "people": "/people"}
    for name, there in screens.items():
        page.goto(there)
        page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
        screenshot(page, f"{name}-{shape}")
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
