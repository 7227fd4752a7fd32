"""One-use addresses: opening the ledger, joining, a new password."""

from datetime import timedelta
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from coop.app import create_app
from coop.ids import EntryId, LedgerId, NodeId
from coop.settings import from_environment
from coop.store import invites, members, migrate
from coop.store.desk import start_ledger
from tests.support.forms import Typed, form_of, forms_of, send, send_again
from tests.support.opened import PASSWORD, QUICK, Opened

OPENING: Typed = {
    "name": "Test studio",
    "zone": "Europe/Istanbul",
    "member_name": "Amina K.",
    "initials": "AK",
    "sign_in_name": "Amina",
    "password": "a long enough sentence",
}
JOINING: Typed = {
    "member_name": "Ines L.",
    "initials": "IL",
    "sign_in_name": "ines",
    "password": "another long sentence",
}


@pytest.fixture
def unopened(tmp_path: Path) -> Opened:
    """A ledger as the command line leaves it, with the address `/join/first`."""
    url = f"sqlite:///{tmp_path / 'coop.db'}"
    migrate.upgrade(url)
    made = Opened(store=None, folder=tmp_path)  # type: ignore[arg-type]  # set in the next line
    made.store = start_ledger(url, ledger=LedgerId(made.new_id()), node=NodeId(made.new_id()))
    with made.store.writing() as desk:
        invites.make(desk.connection, token="first", purpose="first", now=made.moment)
    return made


def invited(house: Opened, *roles: str, token: str = "come") -> str:
    """Invite somebody; return the address."""
    entry = EntryId(house.say("member.invited", "amina", roles=list(roles or ("member",))))
    return address_for(house, entry, token)


def address_for(house: Opened, entry: EntryId, token: str = "come") -> str:
    with house.store.writing() as desk:
        invites.make(
            desk.connection, token=token, purpose="member", now=house.moment, entry=entry
        )
    return f"/join/{token}"


def test_opening_writes_signs_in_and_leads_to_the_house(unopened: Opened) -> None:
    client = unopened.client()
    answer = send(client, "/join/first", OPENING)

    assert (answer.status_code, answer.headers["Location"]) == (303, "/house")
    page = client.get("/house").text
    assert "Amina K." in page
    assert "Still to do" in page


def test_a_ledger_that_is_not_open_sends_everybody_to_a_page_that_says_so(
    unopened: Opened,
) -> None:
    client = unopened.client()

    assert client.get("/house").headers["Location"] == "/not-open"
    assert client.get("/sign-in").headers["Location"] == "/not-open"
    assert client.get("/not-open").status_code == 503


def test_times_are_told_in_the_zone_that_was_chosen(unopened: Opened) -> None:
    """16:00 UTC is 19:00 in Istanbul, UTC+3 all year: IANA time zone database."""
    client = unopened.client()
    send(client, "/join/first", OPENING)

    assert 'since <span class="at">2025-09-17 19:00</span>' in client.get("/me").text


def test_no_zone_is_chosen_for_anybody(unopened: Opened) -> None:
    """It cannot be changed later, so nobody gets one by not looking."""
    form = form_of(unopened.client().get("/join/first").text)

    assert form.fields["zone"] == [""]


def test_sending_the_opening_twice_opens_once_and_signs_in(unopened: Opened) -> None:
    """A double tap: the second answer is the one the browser shows."""
    client = unopened.client()
    page = client.get("/join/first").text
    first = send_again(client, "/join/first", page, OPENING)
    again = send_again(client, "/join/first", page, OPENING)

    assert (first.status_code, again.status_code) == (303, 303)
    assert client.get("/house").status_code == 200
    with unopened.desk() as desk:
        assert desk.journal.head()[0] == 2


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"name": ""}, "This is needed."),
        ({"name": "x" * 61}, "Shorter, please."),
        ({"zone": "Europe/Atlantis"}, "Choose one of these."),
        ({"initials": "AMINA"}, "Shorter, please."),
        ({"password": "too short"}, "At least 10 characters"),
        ({"password": "x" * 201}, "At most 200 characters"),
        ({"sign_in_name": "amina amina", "password": "Amina Amina"}, "alone is no password"),
        ({"sign_in_name": "am\u0007ina"}, "Letters, digits and punctuation only"),
    ],
)
def test_a_slip_is_told_beside_its_field_and_what_was_typed_is_kept(
    unopened: Opened, wrong: Typed, told: str
) -> None:
    """Nothing is written, and the address still opens."""
    client = unopened.client()
    answer = send(client, "/join/first", OPENING | wrong)

    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="Amina K."' in answer.text
    with unopened.desk() as desk:
        assert desk.journal.head()[0] == 0
    assert send(client, "/join/first", OPENING).status_code == 303


def test_joining_writes_signs_in_and_leads_to_the_room(house: Opened) -> None:
    client = house.client()
    answer = send(client, invited(house, "member", "teacher"), JOINING)

    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "Ines L." in client.get("/").text
    assert "member, teacher" in client.get("/me").text


def test_the_page_to_join_says_as_what(house: Opened) -> None:
    page = house.client().get(invited(house, "member", "safety_officer")).text

    assert "member, safety officer" in page


def test_looking_at_the_address_does_not_use_it_up(house: Opened) -> None:
    """Chat programs open links to show what is behind them."""
    there = invited(house)
    house.client().get(there)

    assert send(house.client(), there, JOINING).status_code == 303


def test_a_name_that_another_member_signs_in_with_is_refused_and_nothing_written(
    house: Opened,
) -> None:
    """However it is written: capitals do not make it another name."""
    there = invited(house)
    with house.desk() as desk:
        before = desk.journal.head()[0]
    answer = send(house.client(), there, JOINING | {"sign_in_name": "KAHU"})

    assert answer.status_code == 422
    assert "Another member signs in with this name." in answer.text
    with house.desk() as desk:
        assert desk.journal.head()[0] == before
    assert send(house.client(), there, JOINING).status_code == 303


def test_joining_by_an_address_twice_lets_only_the_first_in(house: Opened) -> None:
    there = invited(house)
    send(house.client(), there, JOINING)
    late = house.client()
    sign_in = forms_of(late.get("/sign-in").text)[0].fields["csrf_token"][0]
    answer = late.post(
        there,
        data=JOINING | {"csrf_token": sign_in, "sign_in_name": "x", "member_name": "Somebody"},
    )

    assert answer.status_code == 410
    assert "used already" in answer.text


@pytest.mark.parametrize(
    ("days", "status", "told"), [(0, 200, "You were invited"), (14, 410, "too old")]
)
def test_an_address_opens_for_fourteen_days(
    house: Opened, days: int, status: int, told: str
) -> None:
    there = invited(house)
    house.moment += timedelta(days=days)
    answer = house.client().get(there)

    assert answer.status_code == status
    assert told in answer.text


def test_an_address_that_nobody_made_says_what_to_do(house: Opened) -> None:
    answer = house.client().get("/join/made-up")

    assert answer.status_code == 404
    assert "ask a coordinator" in answer.text


def test_who_was_taken_back_does_not_get_in(house: Opened) -> None:
    entry = EntryId(house.say("member.invited", "amina", roles=["member"]))
    there = address_for(house, entry)
    house.later(minutes=1)
    house.say("member.left", "amina", member=entry)

    assert house.client().get(there).status_code == 404


def new_password_client(house: Opened) -> tuple[FlaskClient, str]:
    member = EntryId(house.members["kahu"].member)
    return house.client(), address_for(house, member)


def test_a_forgotten_password_is_set_anew_by_an_address(house: Opened) -> None:
    """The old one does not let anybody in any more, the new one does."""
    client, there = new_password_client(house)
    answer = send(client, there, {"password": "yet another sentence"})

    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "Kahu R." in client.get("/").text
    old = send(house.client(), "/sign-in", {"sign_in_name": "kahu", "password": PASSWORD})
    new = send(
        house.client(), "/sign-in", {"sign_in_name": "kahu", "password": "yet another sentence"}
    )
    assert (old.status_code, new.status_code) == (401, 302)


def test_a_new_password_signs_out_whoever_knew_the_old_one(house: Opened) -> None:
    """That is why one sets a new one."""
    elsewhere = house.client("kahu")
    client, there = new_password_client(house)
    send(client, there, {"password": "yet another sentence"})

    assert elsewhere.get("/").status_code == 302
    assert client.get("/").status_code == 200


def test_an_address_for_a_password_writes_no_entry_and_changes_no_name(house: Opened) -> None:
    """The name in its form is there for the browser's memory, and is not believed."""
    with house.desk() as desk:
        before = desk.journal.head()[0]
    client, there = new_password_client(house)
    send(client, there, {"password": "yet another sentence", "sign_in_name": "amina"})

    with house.desk() as desk:
        assert desk.journal.head()[0] == before
        secret = members.find(desk.connection, house.members["kahu"].member)
    assert secret is not None
    assert secret.sign_in_name == "kahu"


def test_a_password_that_will_not_do_keeps_the_address_good(house: Opened) -> None:
    client, there = new_password_client(house)
    answer = send(client, there, {"password": "short"})

    assert answer.status_code == 422
    assert "At least 10 characters" in answer.text
    assert send(client, there, {"password": "yet another sentence"}).status_code == 303


def unsigned_client(house: Opened) -> tuple[FlaskClient, str]:
    """A member who joined and has nothing to sign in with, as most people of the demo."""
    with house.store.writing() as desk:
        members.remove(desk.connection, house.members["kahu"].member)
    return new_password_client(house)


def test_who_joined_and_has_no_sign_in_name_sets_one_by_an_address(house: Opened) -> None:
    """A coordinator makes the address on a member's page; it must open for all of them."""
    client, there = unsigned_client(house)
    assert "readonly" not in client.get(there).text
    made: Typed = {"sign_in_name": "Kahu", "password": "yet another sentence"}
    answer = send(client, there, made)

    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "Kahu R." in client.get("/").text
    assert send(house.client(), "/sign-in", made).status_code == 302
    assert house.client().get(there).status_code == 410


def test_a_taken_name_leaves_the_address_of_who_has_none_good(house: Opened) -> None:
    client, there = unsigned_client(house)
    made: Typed = {"sign_in_name": "amina", "password": "yet another sentence"}
    answer = send(client, there, made)

    assert answer.status_code == 422
    assert "Another member signs in with this name." in answer.text
    assert send(client, there, made | {"sign_in_name": "kahu"}).status_code == 303


def test_the_pages_speak_turkish(house: Opened) -> None:
    client = house.client()
    client.set_cookie("coop-lang", "tr")

    assert client.get(invited(house)).status_code == 200
    assert client.get("/join/made-up").status_code == 404


def test_the_zones_are_told_in_the_members_language(unopened: Opened) -> None:
    """Names of countries and places: Unicode CLDR."""
    client = unopened.client()
    english = client.get("/join/first").text
    client.set_cookie("coop-lang", "tr")
    turkish = client.get("/join/first").text

    assert "Germany, Berlin" in english
    assert "Almanya, Berlin" in turkish


def test_the_application_opens_by_itself_what_the_settings_name(unopened: Opened) -> None:
    settings = from_environment({"COOP_DATA": str(unopened.folder)})
    client = create_app(settings, clock=unopened.clock, passwords=QUICK).test_client()

    assert client.get("/join/first").status_code == 200
