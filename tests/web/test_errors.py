"""Errors: what went wrong, that nothing is lost, what to do; as a page or for a script."""

from typing import Any

import pytest
from flask import Flask, abort
from werkzeug.exceptions import RequestEntityTooLarge

from coop.store.engines import Busy
from coop.web.errors import TOLD
from coop.web.page import PUBLIC, needs
from tests.support.opened import Opened

CODES = sorted(code for code in TOLD if isinstance(code, int))


@pytest.fixture
def app(house: Opened) -> Flask:
    """The application with pages that fail in each way, answering as for the public."""
    app = house.app()
    app.testing = False

    @needs(PUBLIC)
    def fail(code: int) -> Any:
        if code == 500:
            raise RuntimeError("a fault of the program")
        if code == 503:
            raise Busy("writing")
        abort(code)

    app.add_url_rule("/fail/<int:code>", "fail", fail)
    return app


@pytest.mark.parametrize("code", CODES)
def test_every_error_is_told_in_words_with_a_way_on(app: Flask, code: int) -> None:
    """Never a bare number, never the program's own words."""
    answer = app.test_client().get(f"/fail/{code}")

    assert answer.status_code == code
    assert TOLD[code].title.replace("'", "&#39;") in answer.text
    assert 'href="/"' in answer.text
    assert "Traceback" not in answer.text
    assert "a fault of the program" not in answer.text


@pytest.mark.parametrize("code", CODES)
def test_every_error_speaks_turkish(app: Flask, code: int) -> None:
    client = app.test_client()
    client.set_cookie("coop-lang", "tr")
    answer = client.get(f"/fail/{code}")

    assert answer.status_code == code
    assert '<html lang="tr"' in answer.text


@pytest.mark.parametrize("code", CODES)
def test_a_script_gets_an_error_as_it_can_read_it(app: Flask, code: int) -> None:
    """RFC 9457, problem details: title, status, detail."""
    answer = app.test_client().get(f"/fail/{code}", headers={"Accept": "application/json"})
    told = answer.get_json()

    assert answer.status_code == code
    assert answer.mimetype == "application/problem+json"
    assert (told["status"], told["title"]) == (code, TOLD[code].title)


def test_a_page_open_too_long_says_that_nothing_is_lost(house: Opened) -> None:
    """The token is gone with the browser's cookies: what was typed is still in the browser."""
    answer = house.client("kahu").post("/language", data={"lang": "tr"})

    assert answer.status_code == 400
    assert "This page was open too long" in answer.text
    assert "Nothing is lost" in answer.text


def test_a_busy_writer_says_when_to_come_back(app: Flask) -> None:
    """RFC 9110, 10.2.3: Retry-After in seconds."""
    answer = app.test_client().get("/fail/503")

    assert int(answer.headers["Retry-After"]) > 0
    assert "Nothing is lost" in answer.text


def test_a_wrong_method_says_which_are_right(house: Opened) -> None:
    """RFC 9110, 15.5.6: the answer carries Allow."""
    answer = house.client("kahu").get("/sign-out")

    assert answer.status_code == 405
    assert "POST" in answer.headers["Allow"]


def test_a_body_that_is_too_big_is_told(house: Opened) -> None:
    answer = house.client("kahu").post("/language", data={"lang": "x" * 100_000})

    assert answer.status_code == RequestEntityTooLarge.code
    assert "too much at once" in answer.text


def test_a_strangers_name_gets_a_page_without_anything_of_the_ledger(house: Opened) -> None:
    answer = house.client("kahu").get("/", base_url="http://else.example")

    assert answer.status_code == 421
    assert "Kahu" not in answer.text


def test_who_is_signed_in_keeps_the_way_around_on_an_error_page(house: Opened) -> None:
    answer = house.client("kahu").get("/no-such-page")

    assert answer.status_code == 404
    assert "Kahu R." in answer.text
    assert 'href="/shelf"' in answer.text


def test_an_error_page_needs_no_database(app: Flask, house: Opened) -> None:
    """When it is the database that fails, its page must not ask it again."""
    house.store.close()
    for file in house.folder.glob("coop.db*"):
        file.unlink()
    answer = app.test_client().get("/")

    assert answer.status_code == 500
    assert "Something went wrong on the server" in answer.text
