"""A photo is shown to members, to nobody else, and to nobody once it was erased."""

import os

import pytest

from coop.actions.write import card, note, photo
from coop.ledger.ports import Attachment
from tests.support.opened import Opened
from tests.support.photos import CAMERA, opened, taken


def kept(house: Opened, attachment: Attachment | None) -> str:
    """Keep an attachment in the ledger; return where its photo would be shown."""
    assert attachment is not None
    with house.store.writing() as desk:
        desk.journal.keep(attachment)
    return f"/photo/{attachment.name}"


@pytest.fixture
def there(house: Opened) -> str:
    return kept(house, photo(taken(), salt=os.urandom(16)))


def test_a_member_sees_a_photo_as_it_is_kept(house: Opened, there: str) -> None:
    answer = house.client("kahu").get(there)

    assert answer.status_code == 200
    assert answer.mimetype == "image/jpeg"
    assert answer.headers["Content-Disposition"] == "inline"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert opened(answer.data).size == (1200, 1600)
    assert CAMERA.encode() not in answer.data


def test_nobody_else_sees_it(house: Opened, there: str) -> None:
    """Whoever finds the address in a browser's history is asked to sign in."""
    answer = house.client().get(there)

    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in")


def test_a_browser_keeps_it_but_asks_each_time(house: Opened, there: str) -> None:
    """RFC 9111, 5.2.2.4: no-cache may be kept, and is asked for before it is shown again."""
    client = house.client("kahu")
    first = client.get(there)
    again = client.get(there, headers={"If-None-Match": first.headers["ETag"]})

    assert first.headers["Cache-Control"] == "private, no-cache"
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["Cache-Control"] == "private, no-cache"


def test_an_erased_photo_is_gone_even_for_who_has_it(house: Opened, there: str) -> None:
    """A person in the picture may ask for it; what a browser kept is no longer confirmed."""
    client = house.client("kahu")
    tag = client.get(there).headers["ETag"]
    with house.store.writing() as desk:
        desk.journal.erase(there.rpartition("/")[2])
    answer = client.get(there, headers={"If-None-Match": tag})

    assert answer.status_code == 404
    assert answer.headers["Cache-Control"] == "no-store"


def test_what_is_no_photo_is_not_found(house: Opened) -> None:
    """A note or a name card is read on its own page only."""
    client = house.client("kahu")
    salt = os.urandom(16)

    for other in (note("gall smells", salt=salt), card(name="A", initials="A", salt=salt)):
        assert client.get(kept(house, other)).status_code == 404
    assert client.get(f"/photo/{'0' * 64}").status_code == 404
    assert client.get("/photo/door").status_code == 404


def test_a_photo_is_a_personal_attachment(house: Opened) -> None:
    """So that it can be erased; its name tells nothing, not even that two are the same."""
    one, other = (photo(taken(), salt=bytes([n]) * 16) for n in (1, 2))

    assert (one.content_type, one.reach) == ("image/jpeg", "personal")
    assert one.data == other.data
    assert one.name != other.name
