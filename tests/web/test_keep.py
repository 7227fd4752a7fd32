"""Keep a bath for somebody or for a session, and give it free again."""

import html
from collections.abc import Callable
from typing import Any

import pytest

from coop.actions.write import Written
from coop.ledger.schema import Refused
from tests.support.opened import Opened, mixed, post, sized

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
MAKERS = {"alum": mixed, "size": sized}
Make = Callable[[Opened], str]


@pytest.fixture(params=MAKERS)
def bath(house: Opened, request: pytest.FixtureRequest) -> str:
    return MAKERS[request.param](house)


def keep(house: Opened, bath: str, **fields: str) -> Any:
    return post(house.client("kahu"), f"/baths/{bath}/keep", **fields)


def test_it_is_kept_for_a_member_until_a_moment(house: Opened, bath: str):
    """The time typed is the studio's: ten there is eight in UTC in September."""
    amina = str(house.members["amina"].member)
    answer = keep(house, bath, member=amina, until="2025-09-20T10:00")
    assert answer.status_code == 303
    kept = house.state("bath", bath).kept_for

    assert kept.member == amina
    assert kept.until.isoformat() == "2025-09-20T10:00:00+02:00"
    page = html.unescape(house.client("oluwaseun").get(answer.location).text)
    assert "Kept for Amina K. until 2025-09-20 10:00." in page


def test_it_is_kept_for_a_session_with_no_end(house: Opened, bath: str):
    assert keep(house, bath, session="Saturday's class").status_code == 303
    kept = house.state("bath", bath).kept_for

    assert kept.session == "Saturday's class"
    assert kept.until is None


def test_it_is_given_free_with_one_tap(house: Opened, bath: str):
    keep(house, bath, session="Saturday's class")
    page = html.unescape(house.client("kahu").get(f"/baths/{bath}/keep").text)
    assert "Kept for Saturday's class." in page

    house.later(minutes=1)
    assert keep(house, bath, free="1").status_code == 303
    assert house.state("bath", bath).kept_for is None
    assert (
        "Free for everybody again" not in house.client("kahu").get(f"/baths/{bath}/keep").text
    )


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"until": "2025-09-20T10:00"}, "Choose a member, or write down the session."),
        ({"session": "class", "until": "2025-09-16T10:00"}, "That is over already."),
        ({"session": "class", "until": "on Saturday"}, "A date and a time, please"),
        ({"session": "c" * 41}, "Shorter, please."),
        ({"member": NOBODY + "x"}, "Choose one from the list."),
    ],
)
def test_what_is_missing_or_over_is_said_and_what_was_typed_stays(
    house: Opened, fields: dict[str, str], says: str
):
    bath = mixed(house)
    answer = keep(house, bath, **fields)

    assert answer.status_code == 422
    assert says in html.unescape(answer.text)
    assert house.state("bath", bath).kept_for is None
    for typed in set(fields) - {"member"}:
        assert f'value="{fields[typed]}"' in answer.text


def test_whoever_uses_a_kept_bath_is_asked_why(house: Opened, bath: str):
    """It is not locked: what is done anyway is written with its reason."""
    keep(house, bath, session="Saturday's class")
    house.later(days=1)
    alum = bath if house.state("bath", bath).what == "alum" else mixed(house)
    laid = {"size": bath} if alum != bath else {}
    through: dict[str, Any] = {
        "bath": alum,
        "sheet_count": "5",
        "sheet_format": "half",
        "method": "dip",
        **laid,
    }
    refused = house.try_say("sheets.through", "kahu", **through)
    assert isinstance(refused, Refused)
    assert refused.code == "reason-needed"

    written = house.try_say("sheets.through", "kahu", **through, reason="only_a_few")
    assert isinstance(written, Written)


def test_only_members_who_are_here_are_offered(house: Opened):
    house.join("Noor T.", "member")
    house.say("member.left", member=house.members["noor"].member)
    page = house.client("kahu").get(f"/baths/{mixed(house)}/keep").text

    assert "Kahu R. (me)" in page
    assert "Oluwaseun A." in page
    assert "Noor T." not in page


def test_a_finished_bath_is_kept_for_nobody_and_an_unknown_one_is_not_found(house: Opened):
    bath = sized(house)
    house.say("bath.finished", bath=bath, reason="used_up")
    client = house.client("kahu")

    assert "This bath is finished." in client.get(f"/baths/{bath}/keep").text
    assert 'name="session"' not in client.get(f"/baths/{bath}/keep").text
    assert client.get(f"/baths/{NOBODY}/keep").status_code == 404
    assert house.client().get(f"/baths/{bath}/keep").status_code == 302
