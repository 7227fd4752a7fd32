"""A file of waiting lines, handed in on a signed-in page: each line answered for itself."""

import json
import re

import pytest

from coop.actions.hand_in import lines_of
from coop.ids import EntryId
from coop.ledger.schema import Slip
from coop.store.waiting import SqlShelf
from coop.sync.limits import RESCUE_BYTES_MAX, RESCUE_LINES_MAX
from tests.support.browser import assert_accessible, screenshot
from tests.support.enrolled import enrolled, over
from tests.support.opened import PASSWORD, Opened, mixed, token
from tests.support.queries import counted
from tests.support.server import sign_in

BOUNDARY = "a-line-that-stands-in-no-file"


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


def saved(phone) -> str:
    """Return the file that a phone saves: a line for each thing that waits."""
    waiting = phone.in_state("waiting", "refused", "needs")
    return "".join(one.text + "\n" for one in waiting)


def hand_in(house: Opened, text: str | bytes, who: str = "kahu"):
    client = house.client(who)
    data = text.encode() if isinstance(text, str) else text
    parts = (
        part("csrf_token", token(client.get("/rescue").text).encode()),
        part("file", data, '; filename="coop-waiting-20250917-1800.jsonl"'),
    )
    return client.post(
        "/rescue",
        data=b"".join(parts) + f"--{BOUNDARY}--\r\n".encode(),
        content_type=f"multipart/form-data; boundary={BOUNDARY}",
    )


def part(name: str, data: bytes, more: str = "") -> bytes:
    """Write one part of a form (RFC 7578); the test client would make a file of a big one."""
    head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"{more}\r\n\r\n'
    return head.encode() + data + b"\r\n"


def waiting(house: Opened):
    with house.desk() as desk:
        return [(one.id, one.refused.code) for one in SqlShelf(desk.connection).waiting()]


def test_every_line_goes_in_once_however_often_the_file_is_handed_in(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    for count in ("5", "7"):
        sheets(phone, house, bath, count)
    file = saved(phone)

    first, second = hand_in(house, file), hand_in(house, file, "amina")

    assert "2 lines went in." in first.text
    assert "The studio has every line of this file." in first.text
    assert "2 lines were here already." in second.text
    assert house.state("bath", bath).half_count == 12
    phone.push(over(client), now=house.moment)
    assert house.state("bath", bath).half_count == 12


def test_who_handed_it_in_is_written_down(house: Opened):
    phone, _ = enrolled(house)
    written = sheets(phone, house, mixed(house))
    hand_in(house, saved(phone), "amina")

    with house.desk() as desk:
        (found,) = desk.journal.by_id(EntryId(written))
    assert found.first.admitted_by == house.members["amina"].member
    assert found.entry.author == house.members["kahu"].member


def test_a_line_in_anothers_name_waits_for_a_person(house: Opened):
    """Whoever can save a file can put any name into it."""
    phone, _ = enrolled(house)
    bath = mixed(house)
    written = sheets(phone, house, bath)

    answer = hand_in(house, saved(phone), "oluwaseun")

    assert "1 line waits for a coordinator: the studio has it." in answer.text
    assert waiting(house) == [(written, "handed-in")]
    assert house.state("bath", bath).half_count == 0


def test_a_bad_line_is_named_with_its_number_and_spoils_no_other(house: Opened):
    phone, _ = enrolled(house)
    bath = mixed(house)
    good = sheets(phone, house, bath, "5")
    sheets(phone, house, bath, "2001")
    lines = saved(phone).splitlines()

    answer = hand_in(house, "\n".join([lines[0], "", "shopping list", lines[1]]))

    assert "1 line went in." in answer.text
    assert "2 lines were not taken. Keep the file." in answer.text
    assert "<b>Line 3</b></p><p>This is no line of such a file" in answer.text
    assert "<b>Line 4</b></p><p>sheet_count: From 1 to 2000, please." in answer.text
    assert "shopping list" in answer.text
    with house.desk() as desk:
        assert desk.journal.by_id(EntryId(good))
    assert waiting(house) == []


def test_lines_of_a_phone_switched_off_wait_for_a_person(house: Opened):
    phone, _ = enrolled(house)
    written = sheets(phone, house, mixed(house))
    house.later(minutes=1)
    house.say("device.revoked", "kahu", device=phone.id, reason="lost")

    answer = hand_in(house, saved(phone))

    assert "1 line waits for a coordinator: the studio has it." in answer.text
    assert "Nothing is taken from this phone or tablet any more." in answer.text
    assert "R-A1: 20 half sheets through, dip, own paper, Kahu R." in answer.text
    assert waiting(house) == [(written, "device-revoked")]


def test_lines_of_a_phone_nobody_knows_wait_for_a_person(house: Opened):
    phone, _ = enrolled(house)
    phone.id = house.new_id()
    written = sheets(phone, house, mixed(house))

    assert "1 line waits for a coordinator" in hand_in(house, saved(phone)).text
    assert waiting(house) == [(written, "not-on-this-device")]


def test_a_file_gives_nobody_the_roles_of_another(house: Opened):
    """Names stand in it as its maker wrote them: a coordinator's acts wait for one."""
    phone, _ = enrolled(house, "amina")
    bath = mixed(house)
    theirs = house.say("bath.cared", "amina", bath=bath, care="covered")
    forged = [
        phone.write("entry.corrected", now=house.moment, target=theirs, outcome="void",
                    reason="other"),
        phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended"),
    ]  # fmt: skip

    hand_in(house, saved(phone), "kahu")

    assert sorted(waiting(house)) == sorted(
        zip(forged, ("handed-in", "needs-a-page"), strict=True)
    )
    with house.desk() as desk:
        assert not desk.journal.by_id(EntryId(forged[0]))
    assert "1 line went in." in hand_in(house, saved(phone), "amina").text
    with house.desk() as desk:
        assert desk.journal.by_id(EntryId(forged[0])), "she may do it herself"


def test_what_a_coordinator_left_out_is_said_to_be(house: Opened):
    phone, _ = enrolled(house)
    phone.id = house.new_id()
    sheets(phone, house, mixed(house))
    hand_in(house, saved(phone))
    with house.store.writing() as desk:
        shelf = SqlShelf(desk.connection)
        (held,) = shelf.waiting()
        shelf.settle(held, "left_out")

    assert "1 line was left out by a coordinator before." in hand_in(house, saved(phone)).text


def test_another_ledgers_file_is_refused_in_words(house: Opened):
    phone, _ = enrolled(house)
    phone.ledger = house.new_id()
    sheets(phone, house, mixed(house))

    answer = hand_in(house, saved(phone))

    assert "This was written for another co-operative&#39;s ledger." in answer.text


def test_a_line_of_a_later_release_is_told_so(house: Opened):
    phone, _ = enrolled(house)
    line = json.loads(saved_one(phone, house))
    line["entry"]["v"] = 9

    answer = hand_in(house, json.dumps(line))

    assert "It was written by a newer release." in answer.text


def saved_one(phone, house) -> str:
    sheets(phone, house, mixed(house))
    return saved(phone)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "Choose the file that was saved on the phone."),
        (b"\n \n", "Choose the file that was saved on the phone."),
        (b"\xff\xfe\x00", "This is no file of waiting lines"),
        (b"{}\n" * (RESCUE_LINES_MAX + 1), f"At most {RESCUE_LINES_MAX} lines at once"),
    ],
)
def test_a_file_of_another_sort_is_said_to_be(house: Opened, data, told):
    answer = hand_in(house, data)

    assert answer.status_code == 422
    assert told in answer.text


def test_a_file_beyond_the_limit_is_answered_before_it_is_read(house: Opened):
    answer = hand_in(house, b"x" * (RESCUE_BYTES_MAX + 100_000))

    assert answer.status_code == 413
    assert "in parts" in answer.text


def test_lines_are_told_by_their_ends_and_by_nothing_else():
    """U+2028 may stand inside a note; a mark of byte order and carriage returns are no harm."""
    text = '\ufeff{"a": "one\u2028two"}\r\n\r\n{"b": 1}'

    assert lines_of(text.encode()) == ((1, '{"a": "one\u2028two"}'), (3, '{"b": 1}'))
    with pytest.raises(Slip, match="empty"):
        lines_of(b"")


def test_a_phone_that_is_not_known_any_more_is_shown_the_way(house: Opened):
    """Its own page answers 401; what it keeps is handed in here."""
    phone, client = enrolled(house)
    house.say("device.revoked", "kahu", device=phone.id, reason="lost")

    answer = client.get("/device/offline", headers={"Accept": "text/html"})

    assert answer.status_code == 401
    assert 'href="/rescue"' in answer.text


def test_two_thousand_lines_are_taken_in_parts(house: Opened):
    phone, _ = enrolled(house)
    bath = mixed(house)
    for _ in range(RESCUE_LINES_MAX):
        sheets(phone, house, bath, "1")
        house.later(minutes=40)

    answer = hand_in(house, saved(phone))

    assert f"{RESCUE_LINES_MAX} lines went in." in answer.text
    assert house.state("bath", bath).half_count == RESCUE_LINES_MAX


def test_a_long_answer_costs_no_more_questions_of_the_reader_than_a_short_one(house: Opened):
    phone, _ = enrolled(house)
    phone.id = house.new_id()
    bath = mixed(house)

    def asked(count: int) -> int:
        for _ in range(count):
            sheets(phone, house, bath)
        file = saved(phone)
        with counted(house.store) as found:
            hand_in(house, file)
        return len(found)

    assert asked(2) == asked(30)


@pytest.mark.browser
@pytest.mark.parametrize(("shape", "scheme"), [("phone", "dark"), ("desk", "light")])
def test_the_screen_is_for_everybody(house: Opened, pages, live, tmp_path, shape, scheme):
    phone, _ = enrolled(house)
    bath = mixed(house)
    sheets(phone, house, bath)
    sheets(phone, house, bath, "2001")
    phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")
    file = tmp_path / "coop-waiting-20250917-1800.jsonl"
    file.write_text(saved(phone) + "not of such a file\n")
    page = getattr(pages, shape)(live(house.app()), color_scheme=scheme)
    sign_in(page, "kahu", PASSWORD)
    page.goto("/rescue")
    assert_accessible(page)
    page.get_by_label("The file", exact=True).set_input_files(file)
    page.get_by_role("button", name="Hand it in").click()
    page.get_by_role("heading", name="What became of it").wait_for()

    screenshot(page, f"rescue-{shape}")
    assert_accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert re.search(r"1 line went in", page.content())
