"""Stop a bath, allow it again, finish it, care for it."""

import pytest

from coop.ledger.baths import BathState
from tests.support.opened import Opened, mixed, post, quantity, sized

ACTS = ("stop", "allow", "finish", "care")


def bath_of(house: Opened, bath: str) -> BathState:
    state: BathState = house.state("bath", bath)
    return state


def stopped(house: Opened, who: str = "oluwaseun") -> str:
    bath = mixed(house)
    house.say("bath.stopped", who, bath=bath, reason="washed_off")
    return bath


def test_a_member_stops_a_bath_and_is_sent_to_hang_the_tag(house: Opened):
    """The tub, not the phone, is what the next member sees."""
    bath = mixed(house)
    client = house.client("kahu")
    answer = post(client, f"/baths/{bath}/stop", reason="looks_wrong", note="pink threads")

    assert answer.status_code == 303
    stop = bath_of(house, bath).stop
    assert stop is not None
    assert stop.reason == "looks_wrong"
    page = client.get(answer.location).text
    assert "hang the do-not-use tag on the tub" in page
    assert "do not use</p>" in page


def test_stopping_asks_for_a_reason_and_keeps_the_note(house: Opened):
    bath = mixed(house)
    answer = post(house.client("kahu"), f"/baths/{bath}/stop", note="pink threads")

    assert answer.status_code == 422
    assert "This is needed." in answer.text
    assert "pink threads" in answer.text
    assert bath_of(house, bath).stop is None


def test_a_stopped_bath_is_not_stopped_twice(house: Opened):
    bath = stopped(house)
    client = house.client("kahu")

    assert "This bath is stopped already." in client.get(f"/baths/{bath}/stop").text


def test_a_member_allows_again_what_another_member_stopped(house: Opened):
    bath = stopped(house, "amina")
    house.later(minutes=1)
    client = house.client("kahu")
    answer = post(client, f"/baths/{bath}/allow", reason="strip_print_sharp")

    assert answer.status_code == 303
    assert bath_of(house, bath).stop is None
    assert "turn the tag on the tub round" in client.get(answer.location).text


def test_who_stopped_it_may_take_back_a_mis_tap_for_ten_minutes_only(house: Opened):
    bath = stopped(house, "kahu")
    client = house.client("kahu")
    assert "Why may it be used again?" in client.get(f"/baths/{bath}/allow").text

    house.later(minutes=11)
    assert "You stopped it yourself" in client.get(f"/baths/{bath}/allow").text


@pytest.mark.parametrize(("who", "may"), [("kahu", False), ("amina", True)])
def test_a_safety_officers_stop_is_not_for_a_member_to_lift(house: Opened, who: str, may: bool):
    bath = stopped(house, "oluwaseun")
    house.later(hours=1)
    client = house.client(who)
    page = client.get(f"/baths/{bath}/allow").text
    assert ("A safety officer stopped it" in page) is not may

    form = client.get(f"/baths/{bath}/care").text
    token = form.split('name="csrf_token"')[1].split('value="')[1].split('"')[0]
    entry = form.split('name="entry_id"')[1].split('value="')[1].split('"')[0]
    answer = client.post(
        f"/baths/{bath}/allow",
        data={"csrf_token": token, "entry_id": entry, "reason": "mistake"},
    )
    assert answer.status_code == (303 if may else 422)
    assert (bath_of(house, bath).stop is None) is may


def test_a_bath_that_is_not_stopped_cannot_be_allowed_again(house: Opened):
    bath = mixed(house)

    assert "This bath is not stopped." in house.client("kahu").get(f"/baths/{bath}/allow").text


def test_finishing_says_that_the_litres_stay_and_whom_to_ask(house: Opened):
    """Out of use is not got rid of; local rules come before any drain."""
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/finish").text
    assert "About 12.2 L stay to be got rid of" in page, "as a jug measures it"
    assert "never down the drain before the local rules are asked" in page
    assert "0555 0100" in page

    answer = post(client, f"/baths/{bath}/finish", reason="tinted")
    assert answer.status_code == 303
    assert bath_of(house, bath).finish_reason == "tinted"
    assert "This bath is finished." in client.get(f"/baths/{bath}/finish").text


def test_the_lid_is_put_on_with_one_tap_on_the_baths_own_page(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    answer = post(client, f"/baths/{bath}", to=f"/baths/{bath}/care", care="uncovered")

    assert answer.status_code == 303
    assert bath_of(house, bath).open
    page = client.get(answer.location).text
    assert "Written: lid taken off." in page
    assert "It stands open: it dries up." in page


def test_care_asks_what_was_done(house: Opened):
    bath = mixed(house)
    answer = post(house.client("kahu"), f"/baths/{bath}/care", care="stirred")

    assert answer.status_code == 422
    assert "Choose one of these." in answer.text


def test_a_time_to_come_is_refused_and_stays_typed(house: Opened):
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/stop",
        reason="other",
        happened_at="2025-12-24T18:00",
    )

    assert answer.status_code == 422
    assert "This has not happened yet." in answer.text
    assert "2025-12-24T18:00" in answer.text


@pytest.mark.parametrize("act", ACTS)
def test_every_act_has_its_page_its_guard_and_its_languages(house: Opened, act: str):
    bath = mixed(house)
    client = house.client("kahu")
    nobody = bath[:-4] + "0000"

    assert client.get(f"/baths/{bath}/{act}").status_code == 200
    assert client.get(f"/baths/{nobody}/{act}").status_code == 404
    assert client.put(f"/baths/{bath}/{act}").status_code in (400, 405)
    assert house.client().get(f"/baths/{bath}/{act}").status_code == 302
    client.set_cookie("coop-lang", "tr")
    assert client.get(f"/baths/{bath}/{act}").status_code == 200


@pytest.mark.parametrize(
    ("what", "offered", "left_out"),
    [
        ("size", {"skimmed", "chilled", "brought_to_room", "covered"}, set()),
        ("rinse", {"skimmed", "strained", "uncovered"}, {"chilled", "brought_to_room"}),
    ],
)
def test_a_bath_is_cared_for_as_fits_it(
    house: Opened, what: str, offered: set[str], left_out: set[str]
):
    """Nobody skims alum or puts the rinse drum into the cold."""
    powder = {"powder": [{"powder": "gum", "amount": quantity(9, "g")}]}
    bath = sized(house, what=what, **powder)
    page = house.client("kahu").get(f"/baths/{bath}/care").text

    assert all(f'value="{care}"' in page for care in offered)
    assert not any(f'value="{care}"' in page for care in left_out)


def test_alum_is_not_skimmed(house: Opened):
    page = house.client("kahu").get(f"/baths/{mixed(house)}/care").text

    assert 'value="chilled"' in page
    assert 'value="skimmed"' not in page


def test_after_an_act_on_a_size_its_own_page_follows(house: Opened):
    bath = sized(house)
    answer = post(house.client("kahu"), f"/baths/{bath}/care", care="chilled")

    assert answer.location.startswith(f"/liquids/{bath}?written=")
    assert house.state("bath", bath).chilled
