"""Signing in, signing out, the language."""

import pytest

from tests.support.forms import forms_of, send
from tests.support.opened import PASSWORD, Opened


def test_signing_in_leads_to_the_page_that_was_asked_for(house: Opened) -> None:
    """A link in the members' chat opens what it names."""
    client = house.client()
    asked = client.get("/shelf?studio=R")
    answer = send(
        client, asked.headers["Location"], {"sign_in_name": "kahu", "password": PASSWORD}
    )

    assert answer.headers["Location"] == "/shelf?studio=R"


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://else.example/",
        "//else.example",
        "/\\else.example",
        "else",
        "///else.example",
        "/\t/else.example",
        "\t//else.example",
        "https:else.example",
        "javascript:alert(1)",
    ],
)
def test_signing_in_never_leads_elsewhere(house: Opened, elsewhere: str) -> None:
    """CWE-601: an address that sends people to a stranger's page after signing in."""
    client = house.client()
    token = forms_of(client.get("/sign-in").text)[0].fields["csrf_token"]
    answer = client.post(
        "/sign-in",
        query_string={"next": elsewhere},
        data={"csrf_token": token, "sign_in_name": "kahu", "password": PASSWORD},
    )

    assert answer.headers["Location"] == "/"


def test_a_wrong_name_and_a_wrong_password_are_told_alike(house: Opened) -> None:
    """OWASP ASVS 5.0, 6.3.8: nobody learns who is a member."""
    client = house.client()
    wrong = [
        send(client, "/sign-in", {"sign_in_name": name, "password": "x"}).text
        for name in ("kahu", "nobody")
    ]

    assert all("The name or the password is wrong." in page for page in wrong)


def test_what_is_left_empty_is_asked_for_and_the_name_is_kept(house: Opened) -> None:
    answer = send(house.client(), "/sign-in", {"sign_in_name": "kahu"})

    assert "This is needed." in answer.text
    assert 'value="kahu"' in answer.text


def test_who_is_signed_in_is_not_asked_again(house: Opened) -> None:
    answer = house.client("kahu").get("/sign-in?next=/house")

    assert (answer.status_code, answer.headers["Location"]) == (302, "/house")


def test_who_forgot_the_password_is_told_whom_to_ask(house: Opened) -> None:
    assert "A coordinator gives you an address" in house.client().get("/sign-in").text


def test_signing_out_leads_to_the_door_and_says_so(house: Opened) -> None:
    client = house.client("kahu")
    answer = send(client, "/", action="/sign-out")

    assert answer.headers["Location"] == "/sign-in"
    assert "Signed out." in client.get("/sign-in").text
    assert client.get("/").status_code == 302


def test_a_language_is_chosen_on_the_page_where_one_stands(house: Opened) -> None:
    client = house.client("kahu")
    token = forms_of(client.get("/house").text)[0].fields["csrf_token"]
    answer = client.post(
        "/language",
        data={"csrf_token": token, "lang": "tr"},
        headers={"Referer": "http://localhost/house?x=1#limits"},
    )

    assert answer.headers["Location"] == "/house?x=1"
    assert '<html lang="tr"' in client.get("/house").text


def test_a_language_that_is_not_spoken_changes_nothing(house: Opened) -> None:
    client = house.client("kahu")
    token = forms_of(client.get("/house").text)[0].fields["csrf_token"]
    client.post("/language", data={"csrf_token": token, "lang": "xx"})

    assert '<html lang="en"' in client.get("/house").text


def test_choosing_a_language_never_leads_elsewhere(house: Opened) -> None:
    """The page one came from may have an address with two slashes."""
    client = house.client("kahu")
    token = forms_of(client.get("/house").text)[0].fields["csrf_token"]
    answer = client.post(
        "/language",
        data={"csrf_token": token, "lang": "tr"},
        headers={"Referer": "http://localhost//else.example/"},
    )

    assert answer.headers["Location"] == "/"


def test_the_way_in_to_a_tablet_leads_to_what_is_on_it(house):
    """On the studio's tablet nobody is signed in: its room and four digits are the way in."""
    client = house.app().test_client()
    assert "Open what is on it" not in client.get("/sign-in").text

    client.set_cookie("coop-phone", house.new_id())

    assert 'href="/device/offline">Open what is on it' in client.get("/sign-in").text
