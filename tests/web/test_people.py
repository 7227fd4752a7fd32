"""People: who is in, inviting, roles, leaving, a lost phone, an erased card; one's own page."""

import re
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.ids import MemberId
from coop.ledger.states import MemberState
from coop.store import invites, mail, members, sessions
from tests.support.enrolled import enrolled, post_push
from tests.support.forms import Typed, form_of, forms_of, send
from tests.support.opened import PASSWORD, Opened

JOINING: Typed = {
    "member_name": "Ines L.",
    "initials": "IL",
    "sign_in_name": "ines",
    "password": "another long sentence",
}
NEW_PASSWORD = "yet another sentence"


def invite(client: FlaskClient, *roles: str) -> str:
    """Invite somebody by the page; return the address that it shows."""
    answer = send(client, "/people/invite", {"roles": list(roles)})
    assert answer.status_code == 200, answer.text
    found = re.search(r"http://localhost(/join/[\w-]+)", answer.text)
    assert found, answer.text
    return found[1]


def member(house: Opened, first: str) -> MemberId:
    return house.members[first].member


def state(house: Opened, first: str) -> MemberState:
    found: MemberState = house.state("member", member(house, first))
    return found


def act(client: FlaskClient, who: str, what: str, said: Typed | None = None) -> Any:
    """Send one of the forms of a member's page."""
    return send(client, f"/people/{who}", said, action=f"/people/{who}/{what}")


# --- who is in --------------------------------------------------------------------------


def test_everybody_sees_who_is_in_and_in_which_roles(house: Opened) -> None:
    page = house.client("kahu").get("/people").text

    assert "Amina K." in page
    assert "member, coordinator" in page
    assert "since 2025-09-17" in page
    assert "Invite a member" not in page


def test_one_is_told_where_oneself_was_seen_and_not_where_others_were(house: Opened) -> None:
    """Nobody's comings and goings are for the others."""
    house.client("amina")
    client = house.client("kahu")
    page = client.get("/people").text

    assert page.count("last seen") == 1
    assert "you, signed in on 1 browser" in page


def test_people_are_for_members(house: Opened) -> None:
    assert house.client().get("/people").status_code == 302


@pytest.mark.parametrize("there", ["/people", "/people/invite", "/me"])
def test_the_pages_speak_turkish(house: Opened, there: str) -> None:
    client = house.client("amina")
    client.set_cookie("coop-lang", "tr")

    assert client.get(there).status_code == 200


# --- inviting ---------------------------------------------------------------------------


def test_an_invitation_is_an_address_that_is_shown_once(house: Opened) -> None:
    client = house.client("amina")
    there = invite(client, "member", "teacher")
    page = client.get("/people").text

    assert there not in page
    assert "Somebody new: member, teacher" in page
    assert "until 2025-10-01 18:00" in page
    assert house.client().get(there).status_code == 200


def test_the_address_is_taken_off_the_list_once_it_is_used(house: Opened) -> None:
    client = house.client("amina")
    there = invite(client, "member")
    send(house.client(), there, JOINING)
    page = client.get("/people").text

    assert "Ines L." in page
    assert "Addresses that still open" not in page


def test_an_invitation_wants_a_role(house: Opened) -> None:
    answer = send(house.client("amina"), "/people/invite", {"roles": []})

    assert answer.status_code == 422
    assert "This is needed." in answer.text


def test_an_invitation_taken_back_does_not_open_and_is_not_awaited(house: Opened) -> None:
    client = house.client("amina")
    there = invite(client, "member")
    house.later(minutes=1)
    close = re.search(r'action="(/people/[^"]+/take-back)"', client.get("/people").text)
    assert close
    answer = send(client, "/people", action=close[1])

    assert answer.status_code == 303
    assert house.client().get(there).status_code == 404
    assert "Addresses that still open" not in client.get("/people").text


def test_whose_address_ran_out_gets_a_new_one(house: Opened) -> None:
    """Two weeks go by fast; the roles stay what they were."""
    late = invite(house.client("amina"), "member", "treasurer")
    house.later(days=15)
    client = house.client("amina")
    page = client.get("/people").text
    renew = re.search(r'action="(/people/[^"]+/new-address)"', page)
    assert "Their address ran out." in page
    assert renew
    shown = send(client, "/people", action=renew[1]).text
    there = re.search(r"/join/[\w-]+", shown)
    assert there

    assert house.client().get(late).status_code in (404, 410)
    joined = house.client()
    assert send(joined, there[0], JOINING).status_code == 303
    assert "member, treasurer" in joined.get("/me").text


def test_an_address_shown_is_made_of_the_name_by_which_the_browser_came(house: Opened) -> None:
    answer = send(house.client("amina"), "/people/invite", {"roles": ["member"]})

    assert re.search(r"http://localhost/join/[\w-]{43}\b", answer.text)
    assert answer.headers["Cache-Control"] == "no-store"


# --- a member's page ---------------------------------------------------------------------


def test_a_coordinator_sets_roles_and_they_hold_at_once(house: Opened) -> None:
    kahu = house.client("kahu")
    assert kahu.get("/house/limits").status_code == 403
    house.later(minutes=1)
    answer = act(
        house.client("amina"),
        member(house, "kahu"),
        "roles",
        {"roles": ["member", "coordinator"]},
    )

    assert answer.status_code == 303
    assert state(house, "kahu").roles == ("member", "coordinator")
    assert kahu.get("/house/limits").status_code == 200


def test_somebody_must_stay_coordinator(house: Opened) -> None:
    """Or nobody could ever set anything up again."""
    answer = act(house.client("amina"), member(house, "amina"), "roles", {"roles": ["member"]})

    assert answer.status_code == 422
    assert "Somebody must stay coordinator." in answer.text
    assert "coordinator" in state(house, "amina").roles


def test_the_last_coordinator_does_not_leave(house: Opened) -> None:
    client = house.client("amina")
    act(client, member(house, "amina"), "left")

    assert "Somebody must stay coordinator." in client.get("/people").text
    assert state(house, "amina").left_at is None


def test_who_has_left_is_signed_out_everywhere_and_does_not_come_back_in(
    house: Opened,
) -> None:
    kahu = house.client("kahu")
    coordinator = house.client("amina")
    house.later(minutes=1)
    answer = act(coordinator, member(house, "kahu"), "left")

    assert answer.status_code == 303
    assert kahu.get("/").status_code == 302
    again = send(house.client(), "/sign-in", {"sign_in_name": "kahu", "password": PASSWORD})
    assert again.status_code == 401
    page = coordinator.get("/people").text
    assert "left 2025-09-17" in page


def test_the_own_phones_of_who_leaves_are_switched_off_with_them(house: Opened) -> None:
    """Nobody remembers a pocket phone on the day; the studio's tablet is not theirs to end."""
    phone, client = enrolled(house)
    tablet, _ = enrolled(house, shared=True, name="tablet")
    other, _ = enrolled(house, "amina")
    assert act(house.client("amina"), member(house, "kahu"), "left").status_code == 303

    seen = house.state("device", phone.id)
    assert (seen.revoked_at, seen.revoked_reason) == (house.moment, "member_left")
    assert house.state("device", tablet.id).revoked_at is None
    assert house.state("device", other.id).revoked_at is None
    assert post_push(client, phone.message(now=house.moment)).status_code == 401


def test_a_lost_phone_is_signed_out_by_a_coordinator(house: Opened) -> None:
    phone = house.client("kahu")
    house.client("kahu")
    coordinator = house.client("amina")
    page = act(coordinator, member(house, "kahu"), "sessions/end")

    assert page.status_code == 303
    assert phone.get("/").status_code == 302
    assert "Signed out on 2 browsers." in coordinator.get("/people").text


def test_a_coordinator_who_signs_out_everywhere_stays_signed_in_here(house: Opened) -> None:
    other = house.client("amina")
    client = house.client("amina")
    act(client, member(house, "amina"), "sessions/end")

    assert other.get("/").status_code == 302
    assert client.get("/").status_code == 200


def test_a_coordinator_makes_an_address_for_a_forgotten_password(house: Opened) -> None:
    client = house.client("amina")
    shown = act(client, member(house, "kahu"), "new-address").text
    there = re.search(r"/join/[\w-]+", shown)
    assert there
    assert "Kahu R. sets a new password by it." in shown
    assert "A new password for Kahu R." in client.get("/people").text

    renewed = house.client()
    assert send(renewed, there[0], {"password": NEW_PASSWORD}).status_code == 303
    assert "Kahu R." in renewed.get("/").text


def test_a_newer_address_for_a_password_closes_the_one_before(house: Opened) -> None:
    client = house.client("amina")
    first, second = (
        re.findall(r"/join/[\w-]+", act(client, member(house, "kahu"), "new-address").text)[0]
        for _ in range(2)
    )

    assert house.client().get(first).status_code == 404
    assert house.client().get(second).status_code == 200


def test_taking_an_address_for_a_password_back_leaves_the_member_in(house: Opened) -> None:
    client = house.client("amina")
    act(client, member(house, "kahu"), "new-address")
    house.later(minutes=1)
    send(client, "/people", action=f"/people/{member(house, 'kahu')}/take-back")

    assert state(house, "kahu").left_at is None
    with house.desk() as desk:
        assert invites.open_ones(desk.connection, house.moment) == []


def test_an_erased_card_is_gone_and_a_dash_stands_in_its_place(house: Opened) -> None:
    """The bytes go; what was written stays, and so does the chain over it."""
    card = state(house, "kahu").card
    coordinator = house.client("amina")
    answer = act(coordinator, member(house, "kahu"), "card/erase")

    assert answer.status_code == 303
    with house.desk() as desk:
        assert desk.journal.attachment(card) is None
    page = coordinator.get("/people").text
    assert "Kahu" not in page
    assert "—" in page
    assert state(house, "kahu").joined_at is not None


def test_what_only_coordinators_do_is_not_offered_to_others(house: Opened) -> None:
    client = house.client("kahu")
    page = client.get(f"/people/{member(house, 'amina')}").text

    own = {form.action for form in forms_of(page)}
    assert own == {"/sign-out", "/language"}


@pytest.mark.parametrize("what", ["roles", "left", "sessions/end", "new-address", "card/erase"])
def test_what_only_coordinators_do_is_refused_to_others(house: Opened, what: str) -> None:
    client = house.client("kahu")
    token = forms_of(client.get("/people").text)[0].fields["csrf_token"]
    there = f"/people/{member(house, 'amina')}/{what}"

    assert client.post(there, data={"csrf_token": token}).status_code == 403
    assert client.get(there).status_code == 405


@pytest.mark.parametrize(
    "what", ["roles", "left", "sessions/end", "new-address", "card/erase", "take-back"]
)
def test_nothing_is_done_to_somebody_the_ledger_does_not_know(house: Opened, what: str) -> None:
    client = house.client("amina")
    token = forms_of(client.get("/people").text)[0].fields["csrf_token"]
    with house.desk() as desk:
        before = desk.journal.head()
    answer = client.post(f"/people/{house.new_id()}/{what}", data={"csrf_token": token})

    assert answer.status_code == 404
    assert client.get(f"/people/{house.new_id()}").status_code == 404
    with house.desk() as desk:
        assert desk.journal.head() == before


# --- one's own page ----------------------------------------------------------------------


def own(client: FlaskClient, what: str, said: Typed) -> Any:
    return send(client, "/me", said, action=f"/me/{what}")


def test_one_sees_ones_card_and_where_one_is_signed_in(house: Opened) -> None:
    house.client("kahu")
    page = house.client("kahu").get("/me").text

    assert "Kahu R." in page
    assert page.count('since <span class="at">2025-09-17 18:00') == 2
    assert page.count("this one") == 1
    assert page.count("Sign out there") == 1


def test_a_new_password_wants_the_old_one_and_signs_out_elsewhere(house: Opened) -> None:
    """A phone left open on a table is not enough to take an account."""
    other = house.client("kahu")
    client = house.client("kahu")
    answer = own(client, "password", {"old_password": PASSWORD, "password": NEW_PASSWORD})

    assert answer.status_code == 303
    assert other.get("/").status_code == 302
    assert client.get("/").status_code == 200
    fresh = send(house.client(), "/sign-in", {"sign_in_name": "kahu", "password": NEW_PASSWORD})
    assert fresh.status_code == 302


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("not this one at all", NEW_PASSWORD, "This is not your password."),
        (PASSWORD, "short", "At least 10 characters, please."),
        (PASSWORD, "1234567890", "Many people use this password"),
        ("", NEW_PASSWORD, "This is needed."),
    ],
)
def test_a_password_that_will_not_do_leaves_the_old_one(
    house: Opened, old: str, new: str, told: str
) -> None:
    client = house.client("kahu")
    answer = own(client, "password", {"old_password": old, "password": new})

    assert answer.status_code == 422
    assert told in answer.text
    fresh = send(house.client(), "/sign-in", {"sign_in_name": "kahu", "password": PASSWORD})
    assert fresh.status_code == 302


def test_guessing_at_the_old_password_is_slowed_down(house: Opened) -> None:
    """Ten tries in a quarter of an hour, as at the door: OWASP ASVS 5.0, 6.3.1."""
    client = house.client("kahu")
    said: Typed = {"old_password": "not this one at all", "password": NEW_PASSWORD}
    answers = [own(client, "password", said).status_code for _ in range(11)]

    assert answers[:10] == [422] * 10
    assert answers[10] == 429


def test_one_signs_in_with_another_name_from_now_on(house: Opened) -> None:
    answer = own(house.client("kahu"), "sign-in-name", {"sign_in_name": "Kahu of Ropewalk"})

    assert answer.status_code == 303
    fresh = send(
        house.client(), "/sign-in", {"sign_in_name": "kahu of ropewalk", "password": PASSWORD}
    )
    assert fresh.status_code == 302


def test_a_name_of_another_member_is_refused(house: Opened) -> None:
    answer = own(house.client("kahu"), "sign-in-name", {"sign_in_name": "AMINA"})

    assert answer.status_code == 422
    assert "Another member signs in with this name." in answer.text


def test_a_mail_address_is_seen_by_oneself_and_coordinators_alone(house: Opened) -> None:
    address = "kahu@studio.example"
    mine = house.client("kahu")
    assert own(mine, "mail", {"mail": address}).status_code == 303
    there = f"/people/{member(house, 'kahu')}"

    assert address in mine.get("/me").text
    assert address in house.client("amina").get(there).text
    assert address not in house.client("oluwaseun").get(there).text


@pytest.mark.parametrize("wrong", ["kahu", "@studio", "kahu @studio.example", "x" * 255 + "@a"])
def test_what_is_no_mail_address_is_refused_and_kept_on_the_page(
    house: Opened, wrong: str
) -> None:
    answer = own(house.client("kahu"), "mail", {"mail": wrong})

    assert answer.status_code == 422
    assert wrong in answer.text
    with house.desk() as desk:
        secret = members.find(desk.connection, member(house, "kahu"))
    assert secret is not None
    assert secret.mail is None


def test_one_signs_out_a_browser_of_ones_own_and_of_nobody_else(house: Opened) -> None:
    other, client = house.client("kahu"), house.client("kahu")
    foreign = house.client("amina")
    with house.desk() as desk:
        theirs = sessions.list_of(desk.connection, member(house, "amina"), house.moment)
    page = client.get("/me").text
    token = forms_of(page)[0].fields["csrf_token"]
    end = re.search(r'action="(/me/sessions/[^"]+/end)"', page)
    assert end
    client.post(end[1], data={"csrf_token": token})
    client.post(f"/me/sessions/{theirs[0].id_hash}/end", data={"csrf_token": token})

    assert other.get("/").status_code == 302
    assert client.get("/").status_code == 200
    assert foreign.get("/").status_code == 200


def test_ones_own_page_is_for_oneself(house: Opened) -> None:
    assert house.client().get("/me").status_code == 302
    assert house.client("kahu").get("/me/password").status_code == 405


# --- mails -------------------------------------------------------------------------------


def wants_mails(house: Opened, first: str) -> bool:
    with house.desk() as desk:
        return mail.chosen(desk.connection, member(house, first))


def test_mails_come_to_who_ticks_the_box_and_to_nobody_else(house: Opened) -> None:
    """Off by default: a mail address was given for other things."""
    client = house.client("kahu")
    assert not wants_mails(house, "kahu")

    assert send(client, "/me", {"wanted": "y"}, action="/me/digest").status_code == 303
    assert wants_mails(house, "kahu")
    assert "A mail comes on days when something needs you." in client.get("/me").text
    form = form_of(client.get("/me").text, "/me/digest")
    assert form.fields["wanted"] == ["y"]

    fields = {name: values for name, values in form.fields.items() if name != "wanted"}
    assert client.post("/me/digest", data=fields).status_code == 303
    assert not wants_mails(house, "kahu")


def test_who_wants_mails_is_told_that_an_address_is_needed(house: Opened) -> None:
    client = house.client("kahu")
    assert "It needs a mail address: write yours above." in client.get("/me").text

    send(client, "/me", {"mail": "kahu@studio.example"}, action="/me/mail")
    assert "It needs a mail address" not in client.get("/me").text


def test_who_left_gets_no_mails(house: Opened) -> None:
    send(house.client("kahu"), "/me", {"wanted": "y"}, action="/me/digest")
    act(house.client("amina"), member(house, "kahu"), "left")

    assert not wants_mails(house, "kahu")
