"""The security log: each thing at the doors is a line, and no line says more than it may."""

import logging
import re
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from flask import Flask

from coop.ids import is_uuid
from coop.web import faults, security_log
from tests.support.enrolled import enrolled, post_push
from tests.support.forms import Typed, send
from tests.support.opened import PASSWORD, Opened, furnished, mixed, post
from tests.support.pushed import PROBLEM

NEW = "yet another sentence"
LINE = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ (?P<level>INFO|WARNING) (?P<event>[a-z._-]+): "
    r"(?P<method>[A-Z]+|-) (?P<route>\S+) (?P<status>\d{3}) from (?P<address>\S+) "
    r"by (?P<who>\S+) about (?P<about>\S+)"
)


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


@pytest.fixture
def log() -> Iterator[StringIO]:
    """Give what the server writes of its doors while a test runs."""
    stream = StringIO()
    logger = logging.getLogger(security_log.LOGGER)
    before = (list(logger.handlers), logger.level, logger.propagate)
    security_log.write_to(stream, "INFO")
    yield stream
    logger.handlers, logger.level, logger.propagate = before


def events(log: StringIO) -> list[tuple[str, str, str, str]]:
    """Return event, status, who and whom of each line; each must have the one form."""
    found = [LINE.fullmatch(line) for line in log.getvalue().splitlines()]
    assert all(found), log.getvalue()
    return [(one["event"], one["status"], one["who"], one["about"]) for one in found if one]


def of(house: Opened, first: str) -> str:
    return str(house.members[first].member)


def test_a_wrong_password_and_a_right_one_are_each_a_line(house: Opened, log: StringIO) -> None:
    """ASVS 5.0, 16.3.1 (from memory): every attempt, good or not."""
    post(house.client(), "/sign-in", sign_in_name="kahu", password="wrong")
    post(house.client(), "/sign-in", sign_in_name="nobody", password="wrong")
    client = house.client("kahu")
    send(client, "/me", action="/sign-out")
    kahu = of(house, "kahu")

    assert events(log) == [
        ("sign-in-refused", "401", "-", kahu),
        ("sign-in-refused", "401", "-", "-"),
        ("signed-in", "302", kahu, kahu),
        ("signed-out", "302", "-", kahu),
    ]


def test_guessing_is_a_line_when_it_is_stopped(house: Opened, log: StringIO) -> None:
    for _ in range(11):
        post(house.client(), "/sign-in", sign_in_name="kahu", password="wrong")

    assert [one[0] for one in events(log)] == ["sign-in-refused"] * 10 + ["too-often"]


def test_what_was_not_allowed_is_a_line_with_its_route(house: Opened, log: StringIO) -> None:
    """ASVS 5.0, 16.3.2 and 16.3.3 (from memory): refusals of rights, and tries to go around."""
    client = house.client("kahu")
    log.truncate(0)
    log.seek(0)
    client.get("/people/invite")
    client.post("/me/mail", data={"mail": "x@studio.example"})
    client.get("/", headers={"Host": "rebound.example"})
    client.get("/join/no-such-token")
    client.get(f"/calendar/{'a' * 43}.ics")
    client.post("/device/push", json={}, headers={"Sec-Fetch-Site": "cross-site"})
    client.post("/device/push", json={}, headers={"Sec-Fetch-Site": "same-origin"})
    kahu = of(house, "kahu")

    assert events(log) == [
        ("not-allowed", "403", kahu, "-"),
        ("form-token-wrong", "400", kahu, "-"),
        ("name-unknown", "421", "-", "-"),
        ("address-unknown", "404", kahu, "-"),
        ("calendar-unknown", "404", kahu, "-"),
        ("not-allowed", "403", kahu, "-"),
        ("device-unknown", "401", kahu, "-"),
    ]
    assert "/join/<token>" in log.getvalue()


def test_whatever_changes_rights_is_a_line_saying_who_and_whose(
    house: Opened, log: StringIO
) -> None:
    """Roles, leaving, ended sessions and switched-off phones: by id, whoever was meant."""
    client, kahu, amina = house.client("amina"), of(house, "kahu"), of(house, "amina")
    phone, _ = enrolled(house)
    there = f"/people/{kahu}"
    log.truncate(0)
    log.seek(0)
    send(client, there, {"roles": ["teacher"]}, action=f"{there}/roles")
    send(client, there, action=f"{there}/sessions/end")
    send(client, there, action=f"{there}/new-address")
    send(
        client, f"/devices/{phone.id}", {"reason": "lost"}, action=f"/devices/{phone.id}/revoke"
    )
    send(client, there, action=f"{there}/left")

    assert [(event, who, about) for event, _, who, about in events(log)] == [
        ("member.role_set", amina, kahu),
        ("sessions-ended", amina, kahu),
        ("address-made", amina, kahu),
        ("device.revoked", amina, phone.id),
        ("member.left", amina, kahu),
    ]


def test_a_new_password_is_a_line(house: Opened, log: StringIO) -> None:
    client, kahu = house.client("kahu"), of(house, "kahu")
    said: Typed = {"old_password": PASSWORD, "password": NEW}
    assert send(client, "/me", said, action="/me/password").status_code == 303

    assert events(log)[-1] == ("password-changed", "303", kahu, kahu)


def test_a_form_refused_is_no_line(house: Opened, log: StringIO) -> None:
    """Nothing has changed then."""
    client = house.client("kahu")
    before = log.getvalue()
    send(client, "/me", {"old_password": PASSWORD, "password": "1"}, action="/me/password")

    assert log.getvalue() == before


@pytest.mark.parametrize(
    "address", ["192.0.2.5", "2001:db8::1", "192.0.2.5\nINFO signed-in", "<b>", "x" * 5_000, ""]
)
def test_nobody_writes_a_line_of_their_own(house: Opened, log: StringIO, address: str) -> None:
    """ASVS 5.0, 16.4.1 (from memory): behind a proxy, the address is what somebody sent."""
    client = house.client()
    client.get("/", headers={"Host": "rebound.example"}, environ_base={"REMOTE_ADDR": address})

    (found,) = [LINE.fullmatch(line) for line in log.getvalue().splitlines()]
    assert found
    assert found["address"] in {address, "-"}
    assert "\n" not in found["address"]


def test_a_line_has_as_many_words_whatever_was_asked(house: Opened, log: StringIO) -> None:
    """A route may be written with spaces, a method be anything at all."""
    client = house.client()
    client.post("/shelf/receive/alum/read")
    client.open("/no/such/page", method="TELL'ME", headers={"Host": "rebound.example"})

    assert [one[0] for one in events(log)] == ["form-token-wrong", "name-unknown"]
    assert "/shelf/receive/<any(alum,powder," in log.getvalue()
    assert "TELL" not in log.getvalue()


def test_without_a_stream_nothing_is_written(
    house: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    """Commands that only use the pages' code print what they are asked for and no more."""
    post(house.client(), "/sign-in", sign_in_name="kahu", password="wrong")

    assert capsys.readouterr() == ("", "")


def secrets_of(house: Opened, app: Flask) -> set[str]:
    """Go through a day at the doors; return all that no log may hold."""
    post(house.client(), "/sign-in", sign_in_name="Secret word typed above", password="wrong")
    client = house.client("amina")
    mail = "amina@studio.example"
    send(client, "/me", {"mail": mail}, action="/me/mail")
    calendar = re.search(
        r"/calendar/([\w-]+)\.ics", send(client, "/me/calendar", action="/me/calendar").text
    )
    shown = send(client, "/people/invite", {"roles": ["member"]}).text
    joining = re.search(r"/join/([\w-]+)", shown)
    assert calendar
    assert joining
    house.client().get(f"/calendar/{calendar[1]}.ics")
    person = {
        "member_name": "Ines Lindqvist",
        "initials": "IL",
        "sign_in_name": "ines of the lane",
        "password": "the password of ines",
    }
    assert send(house.client(), f"/join/{joining[1]}", {**person}).status_code == 303
    bath = mixed(house)
    note = {"reason": "looks_wrong", "note": "a note of nobody else's business"}
    assert send(client, f"/baths/{bath}/stop", {**note}).status_code in (302, 303)
    phone, carrier = enrolled(house)
    assert post_push(carrier, phone.message(now=house.moment)).status_code == 200
    cookie = carrier.get_cookie("coop-device", path="/device/")
    session, form = (client.get_cookie(one) for one in ("coop-session", "coop-form"))
    assert cookie
    assert session
    assert form
    said: Typed = {"old_password": PASSWORD, "password": NEW}
    assert send(client, "/me", said, action="/me/password").status_code == 303
    return {
        mail, calendar[1], joining[1], *person.values(), note["note"], PASSWORD, NEW,
        cookie.value, session.value, form.value, str(app.secret_key), "Secret word",
        "Amina", "amina", "Kahu", "kahu", "R-A1",
    } - {"IL"}  # fmt: skip


def test_a_whole_day_leaves_no_secret_and_no_body_in_any_log(
    house: Opened, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    """ASVS 5.0, 16.2.5 (from memory): every logger of every library, at its most talkative."""
    app, stream = house.app(), StringIO()
    faults.install(app, stream, "DEBUG")
    logger = logging.getLogger(security_log.LOGGER)
    before = (list(logger.handlers), logger.level, logger.propagate)
    caplog.set_level(logging.DEBUG)
    security_log.write_to(stream, "DEBUG")
    try:
        secrets = secrets_of(house, app)
    finally:
        logger.handlers, logger.level, logger.propagate = before
    written = stream.getvalue() + caplog.text + "".join(capfd.readouterr())

    assert len(stream.getvalue().splitlines()) > 8
    assert not [one for one in secrets if one in written]


def test_a_page_that_breaks_is_a_line_of_the_other_log(house: Opened, log: StringIO) -> None:
    """Faults and doors are told apart; what was noted before the fault says how it ended."""
    app = house.app()
    app.config["PROPAGATE_EXCEPTIONS"] = False
    client = house.client("kahu")
    with house.store.writing() as desk:
        desk.connection.exec_driver_sql("DROP TABLE invite")
    stream = StringIO()
    faults.install(app, stream, "INFO")
    before = log.getvalue()

    answer = client.get("/join/only-for-one", headers={"Accept": "application/json"})

    assert (answer.status_code, answer.mimetype) == (500, PROBLEM)
    assert "OperationalError" in stream.getvalue()
    assert log.getvalue() == before


def test_every_id_in_it_is_an_id(house: Opened, log: StringIO) -> None:
    house.client("kahu")

    assert all(is_uuid(one) or one == "-" for _, _, *both in events(log) for one in both)
