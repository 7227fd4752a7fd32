"""
The disk says no, and pages say so: nothing half-written, nothing typed lost, reading goes on.

The statuses are RFC 9110 15.6.4 (503, with Retry-After) and RFC 4918 11.5 (507).
"""

import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from html import unescape
from io import BytesIO, StringIO
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from playwright.sync_api import expect
from werkzeug.test import TestResponse

from coop.store.engines import NoRoom
from coop.store.verify import verify
from coop.web import faults
from coop.web.errors import NO_ROOM, NOT_WRITABLE, SECRETS, TOLD
from coop.web.page import PUBLIC, needs
from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.disks import (
    failing,
    filled,
    held,
    no_longer_files,
    no_more_pages,
    small_disk,
)
from tests.support.enrolled import enrolled, over, post_push
from tests.support.files import python_files
from tests.support.opened import PASSWORD, Opened, furnished, mixed, post, token
from tests.support.phone import Phone
from tests.support.server import sign_in

Fault = Callable[[Opened], AbstractContextManager[None]]

TRIES_MAX = 100
NOTE = 'was "here" & <there>\r\nand ' + "so on " * 30
BUSY = 503
FAULTS: dict[str, tuple[Fault, int | str]] = {
    "no more pages": (lambda house: no_more_pages(house.store.engines), NO_ROOM),
    "no longer files": (lambda house: no_longer_files(house.store.engines), NOT_WRITABLE),
    "held by another": (lambda house: held(house.store.engines), BUSY),
}
CALLS_FAIL = {"ENOSPC": NO_ROOM, "EROFS": NOT_WRITABLE, "EIO": NOT_WRITABLE}


def go_through(house: Opened, fault: Fault, told: int | str) -> None:
    """Write until a fault is told; see what is left of it, and that it passes."""
    bath = mixed(house)
    client = house.client("kahu")
    phone, device = enrolled(house)
    with fault(house):
        answer = refused_page(house, client, bath)
        assert_told(answer, told)
        count = half_count(house, bath)
        house.later(minutes=30)  # a visit is due to be noted, and cannot be
        assert_readable(house, client, bath)
        waiting = refused_push(house, phone, device, bath)
        pushed = half_count(house, bath)
        assert_sound(house)
    typed = hidden(answer.text)
    assert (typed["sheet_count"], typed["note"]) == ("1", NOTE)
    assert client.post(f"/baths/{bath}/sheets", data=typed).status_code == 303
    assert half_count(house, bath) == pushed + 1, f"{count} by hand"
    assert phone.push(over(device), now=house.moment)
    assert phone.state(waiting) == "studio"
    assert half_count(house, bath) == pushed + 2
    assert_sound(house)


def refused_page(house: Opened, client: FlaskClient, bath: str) -> TestResponse:
    """Send sheets from one page after the other; return the first answer that is no."""
    for kept in range(TRIES_MAX):
        page = client.get(f"/baths/{bath}/sheets").text
        (entry_id,) = set(re.findall(r'name="entry_id"[^>]*value="([^"]+)"', page))
        typed = {"sheet_count": "1", "sheet_format": "half", "method": "dip", "note": NOTE}
        more = {"csrf_token": token(page), "entry_id": entry_id, "lot": house.made["parcel"]}
        answer = client.post(f"/baths/{bath}/sheets", data=typed | more)
        if answer.status_code != 303:
            assert half_count(house, bath) == kept
            return answer
    raise AssertionError("it was never full")


def refused_push(house: Opened, phone: Phone, device: FlaskClient, bath: str) -> str:
    """Push line after line; return the first that the phone must keep."""
    for _ in range(TRIES_MAX):
        said = {"bath": bath, "sheet_count": "1", "sheet_format": "half", "method": "dip"}
        written = phone.write("sheets.through", now=house.moment, **said)
        before = half_count(house, bath)
        if not phone.push(over(device), now=house.moment):
            assert phone.state(written) == "waiting"
            assert half_count(house, bath) == before
            return written
    raise AssertionError("it was never full")


def assert_told(answer: TestResponse, told: int | str) -> None:
    """Hold an answer to its page: the status, and words that say what to do."""
    assert answer.status_code == (BUSY if told == BUSY else 507)
    assert TOLD[told].title.replace("'", "&#39;") in answer.text
    assert ("Retry-After" in answer.headers) == (told == BUSY)
    assert answer.headers["Cache-Control"] == "no-store"
    assert "Traceback" not in answer.text


def assert_readable(house: Opened, client: FlaskClient, bath: str) -> None:
    for there in ("/", f"/baths/{bath}", f"/baths/{bath}/sheets", "/shelf", "/recipes"):
        assert client.get(there, buffered=True).status_code == 200, there


def assert_sound(house: Opened) -> None:
    with house.desk() as desk:
        found = verify(desk.connection, house.store.ledger)
    assert found.clean, found.problems


def half_count(house: Opened, bath: str) -> int:
    count: int = house.state("bath", bath).half_count
    return count


def hidden(page: str) -> dict[str, str]:
    """Return what the form of an error page holds."""
    form = page.split('<form method="post"')[1].split("</form>")[0]
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', form)
    return {unescape(name): unescape(value) for name, value in found}


@pytest.mark.parametrize("name", FAULTS)
def test_what_the_disk_does_not_take_is_told_and_can_be_sent_again(
    house: Opened, name: str
) -> None:
    """By hand from the page that says no, by the phone on its own; once each, and no more."""
    go_through(house, *FAULTS[name])


def test_a_page_that_says_no_sends_again_at_one_tap(
    house: Opened, live: Callable[[Flask], str], pages: Pages
) -> None:
    """In a browser with script, wet fingers and all: nothing is typed a second time."""
    bath = mixed(house)
    page = pages.phone(live(house.app()))
    sign_in(page, "kahu", PASSWORD)
    page.goto(f"/baths/{bath}/sheets")
    page.locator('main input[name="sheet_count"]').first.fill("17")
    page.locator('main [name="sheet_format"][value="half"]').check(force=True)
    pages.expect(r"status of 503")
    with held(house.store.engines):
        page.get_by_role("main").get_by_role("button", name="Write it", exact=True).click()
        expect(page.get_by_role("heading", level=1)).to_have_text("The ledger is busy")
        assert_accessible(page)
        screenshot(page, "busy")
        page.get_by_role("button", name="Send it again").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("The ledger is busy")
    page.get_by_role("button", name="Send it again").click()
    expect(page.locator(".flash.written")).to_contain_text("Written: 17")

    assert half_count(house, bath) == 17


@pytest.mark.long
@pytest.mark.parametrize("error", CALLS_FAIL)
def test_calls_that_fail_are_told_and_can_be_sent_again(house: Opened, error: str) -> None:
    """EROFS is a disk that turned read-only under a server that runs."""
    go_through(house, lambda _: failing(error), CALLS_FAIL[error])


@pytest.mark.long
def test_a_full_disk_is_told_and_can_be_sent_again(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", "12m") as disk:
        house = furnished(disk)
        go_through(house, lambda _: filled(disk), NO_ROOM)
        house.store.close()


def test_a_script_gets_a_problem_it_can_read(house: Opened) -> None:
    """RFC 9457: type, title, status, detail; the phone keeps what it sent (507 is no 500)."""
    phone, device = enrolled(house)
    phone.write("sheets.through", now=house.moment, bath=mixed(house), sheet_count="1")
    with no_longer_files(house.store.engines):
        answer = post_push(device, phone.message(now=house.moment))

    assert answer.status_code == 507
    told = answer.get_json()
    assert told["title"] == "The server's disk takes nothing"
    assert "What you sent was not taken" in told["detail"]


def test_who_runs_the_server_finds_it_in_the_log(house: Opened) -> None:
    """One line for each, with the sort of fault, without anything of what was typed."""
    said = StringIO()
    faults.install(house.app(), said, "INFO")
    client, bath = house.client("kahu"), mixed(house)
    with no_longer_files(house.store.engines):
        refused_page(house, client, bath)

    (line,) = said.getvalue().splitlines()
    assert "POST /baths/<bath>/sheets: NotWritable at coop/" in line


def test_a_secret_is_never_written_into_a_page_again(house: Opened) -> None:
    """What was typed as a password is typed once more."""
    client = house.client("kahu")
    with held(house.store.engines):
        answer = post(
            client, "/me", "/me/password", old_password=PASSWORD, password="another sentence"
        )

    assert answer.status_code == BUSY
    assert "<form method" not in answer.text.split("<main")[1]
    assert "another sentence" not in answer.text
    assert "go back and send it again" in answer.text


def test_every_field_of_a_password_counts_as_a_secret() -> None:
    pages = "".join(file.read_text() for file in python_files("coop/web"))
    assert set(re.findall(r"(\w+) = PasswordField", pages)) == SECRETS


def test_a_stranger_gets_nothing_back_that_was_sent(house: Opened) -> None:
    """Only a member's form is given back: a form of somebody else's making ends here."""

    @needs(PUBLIC)
    def full() -> str:
        raise NoRoom("coop.db")

    house.app().add_url_rule("/full", "full", full, methods=["POST"])
    answers = [
        post(house.client(), "/sign-in", "/full", said="<b>"),
        post(house.client("kahu"), "/me", "/full", said="<b>"),
    ]

    assert [one.status_code for one in answers] == [507, 507]
    assert ['name="said"' in one.text for one in answers] == [False, True]
    assert "<b>" not in answers[1].text


def test_a_file_stays_with_the_browser(house: Opened) -> None:
    """A page cannot hold a file for its asker: they are told to go back, where it still is."""
    client = house.client("kahu")
    sent = {"csrf_token": token(client.get("/rescue").text)}
    with held(house.store.engines):
        answer = client.post("/rescue", data=sent | {"file": (BytesIO(b"{}\n"), "lines.txt")})

    assert answer.status_code == BUSY
    assert "<form method" not in answer.text.split("<main")[1]
    assert "go back and send it again" in answer.text


def test_a_form_whose_file_was_left_out_comes_back_as_it_was_sent(house: Opened) -> None:
    client, bath = house.client("kahu"), mixed(house)
    with no_longer_files(house.store.engines):
        page = client.get(f"/baths/{bath}/sheets").text
        sent = {"csrf_token": token(page), "note": NOTE, "sheet_count": "2"}
        more = {"sheet_format": "half", "method": "dip", "entry_id": house.new_id()}
        nothing = {"photo": (BytesIO(b""), "")}
        answer = client.post(f"/baths/{bath}/sheets", data=sent | more | nothing)

    assert answer.status_code == 507
    assert 'enctype="multipart/form-data"' in answer.text
    assert hidden(answer.text) == sent | more
