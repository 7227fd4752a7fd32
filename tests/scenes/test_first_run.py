"""From an empty folder to the house set up, by pages alone and without script."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from coop.app import create_app
from coop.settings import from_environment
from coop.store.members import Passwords
from tests.support.files import ROOT
from tests.support.forms import Typed, send

QUICK = Passwords(time_cost=1, memory_kib=8)
OPENING: Typed = {
    "name": "Test studio",
    "zone": "Europe/Berlin",
    "member_name": "Amina K.",
    "initials": "AK",
    "sign_in_name": "Amina",
    "password": "a long enough sentence",
}
STUDIO: Typed = {
    "name": "Ropewalk",
    "letter": "R",
    "drain": "sewer",
    "instruments": ["strip_print", "dipstick"],
    "emergency": "112",
    "poison": "0555 0100",
}
TUB: Typed = {
    "name": "big tub",
    "inside_length.typed": "740",
    "inside_width.typed": "540",
    "brim.typed": "16",
    "lidded": "yes",
}
PAPER: Typed = {
    "name": "P-31",
    "length.typed": "70",
    "width.typed": "50",
    "sheet_unit": "cm",
    "basis_weight_lb": "80",
    "grade": "text",
    "chalk": "not_known",
}
LIMITS: Typed = {"gallon": "us", "cup": "us", "spoon": "us"}
CARD: Typed = {
    "name": "the old card",
    "dose": "8 tbsp per gallon",
    "salt": "aluminium_sulfate_14",
}
ALUM: Typed = {
    "name": "AS-24",
    "salt": "aluminium_sulfate_14",
    "weight.typed": "5",
}


def join_token(text: str) -> str:
    found = re.search(r"/join/([\w-]+)", text)
    assert found, text
    return found[0]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "ledger"


@pytest.fixture
def address(folder: Path) -> str:
    """What the command line hands to whoever runs it."""
    ran = subprocess.run(
        [sys.executable, "-m", "coop", "init", str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return join_token(ran.stdout)


@pytest.fixture
def app(folder: Path, address: str) -> Flask:
    app = create_app(from_environment({"COOP_DATA": str(folder)}), passwords=QUICK)
    app.testing = True
    return app


def steps(client: FlaskClient) -> list[str]:
    """Return where the links of "still to do" lead, in their order."""
    page = client.get("/house").text
    listed = re.search(r'id="to-do".*?</ol>', page, re.DOTALL)
    found = re.findall(r'href="([^"]+)"', listed[0]) if listed else []
    return [re.sub(r"[0-9a-f-]{36}", "ID", one) for one in found]


def test_from_an_empty_folder_to_a_house_that_can_answer(app: Flask, address: str) -> None:
    """Whoever starts alone on an evening must find the next step on the page, every time."""
    client = app.test_client()
    assert client.get("/").headers["Location"] == "/not-open"

    opened = send(client, address, OPENING)
    assert (opened.status_code, opened.headers["Location"]) == (303, "/house")
    assert steps(client) == [
        "/house/studios/new",
        "/house/tubs/new",
        "/house/papers/new",
        "/house/limits",
        "/house/recipes/new",
        "/shelf/receive/alum",
        "/people/invite",
    ]

    for there, typed in (
        ("/house/studios/new", STUDIO),
        ("/house/tubs/new", TUB),
        ("/house/papers/new", PAPER),
        ("/house/limits", LIMITS),
        ("/house/recipes/new", CARD),
    ):
        assert send(client, there, typed).status_code == 303, there
    assert steps(client) == ["/shelf/receive/alum", "/people/invite"]

    studio = re.search(r"/house/studios/([0-9a-f-]{36})", client.get("/house").text)
    assert studio
    assert send(client, "/shelf/receive/alum", ALUM | {"studio": studio[1]}).status_code == 303
    assert steps(client) == ["/lots/ID/spoons", "/people/invite"]


def test_an_invited_member_joins_by_the_address_and_the_list_is_done(
    app: Flask, address: str
) -> None:
    """Two browsers, one address passed from hand to hand."""
    client = app.test_client()
    send(client, address, OPENING)

    shown = send(client, "/people/invite", {"roles": ["member"]})
    assert shown.status_code == 200
    newcomer = app.test_client()
    joined = send(
        newcomer,
        join_token(shown.text),
        {
            "member_name": "Kahu R.",
            "initials": "KR",
            "sign_in_name": "kahu",
            "password": "another long sentence",
        },
    )

    assert (joined.status_code, joined.headers["Location"]) == (303, "/")
    assert "Kahu R." in newcomer.get("/").text
    assert "/people/invite" not in steps(client)
    assert "to-do" not in newcomer.get("/house").text
