"""What every route answers with, whoever asks; and asking changes nothing."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import func, select
from werkzeug.routing import Rule

from coop.store import tables
from coop.web import security
from tests.support.opened import Opened, furnished
from tests.web.test_matrix import address, ask, routes, signed_in

PEOPLE = ("", "amina", "kahu")
TLS = "https://localhost"
KEPT_BY_GET = (
    tables.entry, tables.seal, tables.attachment, tables.member_secret, tables.session,
    tables.invite, tables.device, tables.waiting_draft,
)  # fmt: skip


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    return furnished(Path(tmp_path_factory.mktemp("headers")))


@pytest.fixture(scope="module")
def app(house: Opened) -> Flask:
    return house.app()


def answers(house: Opened, app: Flask, first: str) -> Iterator[tuple[str, Any]]:
    """Ask every route in every way it takes as one person; tell where, and the answer."""
    client, token = signed_in(house, app, first)
    for rule, method in routes(app):
        there = address(app, rule)
        yield f"{method} {there} as {first or 'nobody'}", ask(client, token, there, method)
        if "sign-out" in there or client.get_cookie("coop-session") is None:
            client, token = signed_in(house, app, first)


@pytest.mark.parametrize("first", PEOPLE)
def test_every_route_answers_with_the_headers(house: Opened, app: Flask, first: str) -> None:
    """ASVS 5.0, 3.4.3 to 3.4.6, 4.1.1 and 14.3.2 (from memory): a refusal is an answer too."""
    asked = 0
    for told, answer in answers(house, app, first):
        headers = answer.headers
        assert {name: headers[name] for name in security.HEADERS} == security.HEADERS, told
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin", told
        assert headers["Cache-Control"] in ("no-store", "private, no-cache"), told
        assert answer.mimetype, told
        if answer.mimetype.startswith("text/"):
            assert answer.mimetype_params["charset"] == "utf-8", told
        assert not {"Server", "X-Powered-By", "Access-Control-Allow-Origin"} & set(headers), (
            told
        )
        asked += 1

    assert asked > 150


@pytest.mark.parametrize("first", PEOPLE)
def test_whatever_cookie_a_route_sets_no_script_and_no_other_site_has_it(
    house: Opened, app: Flask, first: str
) -> None:
    """ASVS 5.0, 3.3.1 to 3.3.4 (from memory); Secure and its prefix: see test_security.py."""
    lines = [
        line
        for _, answer in answers(house, app, first)
        for line in answer.headers.getlist("Set-Cookie")
    ]

    assert lines
    for line in lines:
        flags = {part.partition("=")[0] for part in line.split("; ")[1:]}
        forgotten = "Max-Age=0" in line
        assert {"HttpOnly", "Path"} <= flags, line
        assert "SameSite" in flags or forgotten, line
        assert "Domain" not in flags, line


def test_the_way_out_is_on_every_page_of_a_member(house: Opened, app: Flask) -> None:
    """ASVS 5.0, 7.4.4 (from memory); sheets that are printed have no ways at all."""
    pages = [
        (told, answer.text)
        for told, answer in answers(house, app, "kahu")
        if answer.status_code == 200 and answer.mimetype == "text/html"
    ]

    assert len(pages) > 25
    assert [told for told, text in pages if 'action="/sign-out"' not in text] == []


def limits(app: Flask) -> list[tuple[Rule, int]]:
    """Return each route that takes a body, with the most it takes [bytes]."""
    found = []
    for rule, method in routes(app):
        if method == "POST":
            view = app.view_functions[rule.endpoint]
            own = getattr(view, "coop_body_bytes_max", security.FORM_BYTES_MAX)
            found.append((rule, own))
    return found


def test_no_route_reads_more_than_its_limit(house: Opened, app: Flask) -> None:
    """ASVS 5.0, 2.4.1 and 5.2.1 (from memory): said by the length, and refused unread."""
    client, token = signed_in(house, app, "amina")
    most = {
        ask_over(client, token, address(app, rule), limit): limit for rule, limit in limits(app)
    }

    assert set(most) == {413}
    assert all(limit <= 64 * 1024 * 1024 for _, limit in limits(app))


def ask_over(client: FlaskClient, token: str, there: str, limit: int) -> int:
    """Announce a body one byte over a limit; return the status."""
    headers = {
        "X-CSRFToken": token,
        "Content-Type": "application/x-www-form-urlencoded",
        "Sec-Fetch-Site": "same-origin",
    }
    answer = client.post(
        there, headers=headers, environ_overrides={"CONTENT_LENGTH": str(limit + 1)}
    )
    return answer.status_code


def kept(house: Opened) -> dict[str, Any]:
    """Return how many rows there are of what must not change by asking."""
    with house.desk() as desk:
        return {
            table.name: desk.connection.scalar(select(func.count()).select_from(table))
            for table in KEPT_BY_GET
        }


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_asking_for_a_page_changes_nothing(house: Opened, app: Flask, method: str) -> None:
    """ASVS 5.0, 3.5.3 (from memory): a link in a mail or a picture on a page cannot act."""
    client, _ = signed_in(house, app, "amina")
    before = kept(house)
    for rule, allowed in routes(app):
        if allowed == "GET":
            answer = client.open(address(app, rule), method=method)
            assert method == "GET" or answer.get_data() == b""

    assert kept(house) == before
