"""Anhydrous alum grows hot in water: what must be said wherever it is handled."""

from collections.abc import Callable

import pytest

from coop.rules.cautions import GROWS_HOT
from coop.web.cautions import TEXTS
from tests.support.enrolled import enrolled
from tests.support.opened import Opened, mixed, quantity
from tests.support.tray import OFFLINE

SAID = TEXTS[GROWS_HOT]
ANHYDROUS, HYDRATE = "aluminium_sulfate_anhydrous", "aluminium_sulfate_18"


@pytest.fixture
def lot_of(house: Opened) -> Callable[[str], str]:
    """Receive ten kilos of a salt, and return the lot."""

    def received(salt: str) -> str:
        return house.say(
            "lot.received",
            studio=house.made["studio"],
            what="alum",
            name="DRY-1",
            salt=salt,
            weight=quantity(10, "kg"),
        )

    return received


@pytest.mark.parametrize(("salt", "says"), [(ANHYDROUS, True), (HYDRATE, False)])
def test_whoever_mixes_tops_up_or_opens_it_is_warned(
    house: Opened, lot_of: Callable[[str], str], salt: str, *, says: bool
) -> None:
    """The usual lines speak of cold and hand-hot water; nothing in them says that it spits."""
    lot = lot_of(salt)

    def warned(there: str) -> bool:
        page = house.client("kahu").get(there)
        assert page.status_code == 200, there
        return SAID in page.text

    assert warned(f"/mix/{house.made['tub']}") is says
    assert warned(f"/lots/{lot}/open") is says
    assert warned(f"/baths/{mixed(house)}/mend") is says


@pytest.mark.parametrize(("salt", "says"), [(ANHYDROUS, True), (HYDRATE, False)])
def test_a_phone_without_a_signal_warns_too(
    house: Opened, lot_of: Callable[[str], str], salt: str, *, says: bool
) -> None:
    """At the tray nobody looks up the card of the powder."""
    lot_of(salt)
    _, client = enrolled(house)

    assert (SAID in client.get(OFFLINE).text) is says


def test_who_receives_alum_is_warned_where_that_salt_is_chosen(house: Opened) -> None:
    """The salt is read off the tub there, before anybody has it in hand."""
    page = house.client("kahu").get("/shelf/receive/alum").text

    before, _, _ = page.partition(SAID)
    assert f'data-beside="salt={ANHYDROUS}"' in before
    assert page.count(SAID) == 1


@pytest.mark.parametrize(("salt", "says"), [(ANHYDROUS, True), (HYDRATE, False)])
def test_its_safety_card_says_so(house: Opened, salt: str, *, says: bool) -> None:
    """The card hangs where it is weighed."""
    assert (SAID in house.client("kahu").get(f"/safety/{salt}").text) is says
