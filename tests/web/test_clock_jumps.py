"""The server's clock jumps between requests: a flat battery, a wrong zone, a typing slip."""

from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from coop.store import visits
from coop.store.verify import verify
from tests.support.enrolled import enrolled, over
from tests.support.opened import Opened, mixed, post

DAY, TEN_YEARS = timedelta(days=1), timedelta(days=3653)
JUMPS = [
    pytest.param((-DAY,), id="a day back"),
    pytest.param((TEN_YEARS,), id="ten years on"),
    pytest.param((-DAY, DAY), id="a day back and right again"),
    pytest.param((TEN_YEARS, -TEN_YEARS), id="ten years on and right again"),
    pytest.param((TEN_YEARS, -TEN_YEARS - DAY), id="ten years on and a day too far back"),
]
PAGES = (
    "/",
    "/shelf",
    "/recipes",
    "/needs",
    "/sessions",
    "/me",
    "/baths/{}",
    "/baths/{}/sheets",
)
SHEETS = {"sheet_count": "1", "sheet_format": "half", "method": "dip"}


def signed_in(house: Opened, client: FlaskClient) -> FlaskClient:
    """Return the browser, signed in anew where the clock has ended the session."""
    return client if client.get("/").status_code == 200 else house.client("kahu")


@pytest.mark.parametrize("jumps", JUMPS)
def test_after_a_jump_pages_are_shown_and_what_is_sent_counts_once(
    house: Opened, jumps: tuple[timedelta, ...]
) -> None:
    """By hand and by the phone, which measures its clock against the server's."""
    bath, client = mixed(house), house.client("kahu")
    phone, device = enrolled(house)
    for n, jump in enumerate((timedelta(0), *jumps)):
        house.moment += jump
        client = signed_in(house, client)
        shown = {there: client.get(there.format(bath)).status_code for there in PAGES}
        assert set(shown.values()) == {200}, shown
        sent = post(client, f"/baths/{bath}/sheets", **SHEETS, lot=house.made["parcel"])
        assert sent.status_code == 303
        written = phone.write("sheets.through", now=house.moment, bath=bath, **SHEETS)
        assert phone.push(over(device), now=house.moment)
        assert phone.state(written) == "studio"
        assert house.state("bath", bath).half_count == 2 * (n + 1)
        house.later(minutes=10)
    with house.desk() as desk:
        found = verify(desk.connection, house.store.ledger)
    assert found.clean, found.problems


def test_a_session_begun_by_a_wrong_clock_does_not_last_ten_years(house: Opened) -> None:
    """ASVS 5 7.3.2: a session has an end, and the clock's mistake does not put it off."""
    house.moment += TEN_YEARS
    client = house.client("kahu")
    assert client.get("/").status_code == 200
    house.moment -= TEN_YEARS
    answer = client.get("/")

    assert answer.status_code == 302
    assert "/sign-in" in answer.location


def test_a_clock_put_right_by_a_day_signs_nobody_out(house: Opened) -> None:
    client = house.client("kahu")
    house.moment -= DAY

    assert client.get("/").status_code == 200


def test_a_visit_by_a_wrong_clock_is_forgotten_by_the_next(house: Opened) -> None:
    """Or for ten years everything would be new to this member at each visit."""
    visit(house)
    house.moment += TEN_YEARS
    visit(house)
    house.moment -= TEN_YEARS - DAY
    mixed(house)
    visit(house)
    here = head(house)
    house.later(hours=9)

    assert since(house) == here


def visit(house: Opened) -> None:
    """Look into the room, as far as the answer goes and what is done after it."""
    assert house.client("kahu").get("/", buffered=True).status_code == 200


def head(house: Opened) -> int:
    with house.desk() as desk:
        return desk.journal.head()[0]


def since(house: Opened) -> int | None:
    """Return how far the ledger reached when the member was last here, None for never."""
    with house.desk() as desk:
        member = house.members["kahu"].member
        found = visits.look(desk.connection, node=desk.journal.node, member=member)
    point = found.since(house.moment)
    return None if point is None else point.seq
