"""Setting up a phone or a shared tablet: cookies, entries, who may, digits, taking it off."""

from dataclasses import dataclass
from typing import Any

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC
from flask.testing import FlaskClient
from werkzeug.http import parse_cookie

from coop.actions.ask import MEMBERS_OF_DEVICE_MAX
from coop.app import create_app
from coop.ids import is_uuid
from coop.ledger.states import DeviceState
from coop.settings import from_environment
from coop.store import devices
from tests.support.enrolled import post_push
from tests.support.forms import Typed, form_of, forms_of, send
from tests.support.opened import PASSWORD, QUICK, Opened, mixed, post
from tests.support.phone import Phone

ENROL = "/device/enrol"
DIGITS = "/device/digits"
OWN: Typed = {"shared": "no", "name": "pocket"}
SHARED: Typed = {"shared": "yes", "name": "cellar tablet"}
SEE_OTHER, UNKNOWN, FORBIDDEN, CONFLICT, UNFIT = 303, 401, 403, 409, 422


def set_cookies(answer: Any) -> dict[str, str]:
    """Return the Set-Cookie lines of an answer by the cookie's name."""
    lines = answer.headers.getlist("Set-Cookie")
    return {line.partition("=")[0]: line for line in lines}


def state_of(house: Opened, client: FlaskClient) -> DeviceState:
    """Return the device that a browser says it is."""
    cookie = client.get_cookie("coop-phone")
    assert cookie is not None
    found: DeviceState = house.state("device", cookie.value)
    return found


def set_up(client: FlaskClient, said: Typed) -> Any:
    answer = send(client, ENROL, said)
    assert answer.status_code == SEE_OTHER, answer.text
    return answer


def tablet_in_use(house: Opened) -> FlaskClient:
    """Return the studio's tablet, set up by Amina, on which Kahu is signed in now."""
    client = house.client("amina")
    set_up(client, SHARED)
    client.post("/sign-out", data={"csrf_token": token_of(client)})
    post(client, "/sign-in", "/sign-in", sign_in_name="kahu", password=PASSWORD)
    house.later(minutes=1)
    return client


def token_of(client: FlaskClient) -> str:
    return forms_of(client.get("/me").text)[0].fields["csrf_token"][0]


# --- setting up -------------------------------------------------------------------------


def test_a_phone_is_proposed_by_the_members_name_and_as_ones_own(house: Opened) -> None:
    fields = form_of(house.client("kahu").get(ENROL).text).fields

    assert fields["name"] == ["Kahu's phone"]
    assert fields["shared"] == ["no"]


def test_setting_up_writes_who_may_write_on_it_and_opens_the_door(house: Opened) -> None:
    client = house.client("kahu")
    set_up(client, OWN)

    state = state_of(house, client)
    with house.desk() as desk:
        row = devices.all_of(desk.connection).get(state.id)

    assert (state.name, state.shared) == ("pocket", False)
    assert state.members == (house.members["kahu"].member,)
    assert row is not None
    assert row.made_at == house.moment
    assert post_push(client, {}).status_code == UNFIT  # it is known: only the message is wrong


def test_the_secret_goes_to_the_devices_addresses_only_and_no_script_sees_it(
    house: Opened,
) -> None:
    """RFC 6265bis: Path, HttpOnly, SameSite=Strict; the other cookie is no secret."""
    given = set_cookies(set_up(house.client("kahu"), OWN))

    assert "Path=/device/" in given["coop-device"]
    assert "HttpOnly" in given["coop-device"]
    assert "SameSite=Strict" in given["coop-device"]
    assert "Path=/;" in given["coop-phone"] + ";"
    assert "SameSite=Lax" in given["coop-phone"]
    assert is_uuid(parse_cookie(given["coop-phone"])["coop-phone"])
    for line in (given["coop-device"], given["coop-phone"]):
        assert "Secure" not in line  # a loopback address has no TLS
        assert "Max-Age=34560000" in line


@dataclass
class Elsewhere:
    """A browser that comes by another name than loopback."""

    client: FlaskClient
    base: str

    def get(self, there: str) -> Any:
        return self.client.get(there, base_url=self.base)

    def send(self, there: str, **typed: str) -> Any:
        """Open a page and send its own form, as it stands and with what is typed."""
        return self.post(there, **form_of(self.get(there).text).fields, **typed)

    def post(self, there: str, **fields: Any) -> Any:
        headers = {"Referer": self.base + there}
        return self.client.post(there, base_url=self.base, headers=headers, data=fields)


def elsewhere(house: Opened, scheme: str, **environment: str) -> Elsewhere:
    """Return Kahu's browser at studio.example, signed in."""
    settings = from_environment(
        {"COOP_DATA": str(house.folder), "COOP_HOST_NAMES": "studio.example"} | environment
    )
    app = create_app(settings, clock=house.clock, store=house.store, passwords=QUICK)
    browser = Elsewhere(app.test_client(), f"{scheme}://studio.example")
    token = form_of(browser.get("/sign-in").text).fields["csrf_token"]
    said = {"csrf_token": token, "sign_in_name": "kahu", "password": PASSWORD}
    assert browser.post("/sign-in", **said).status_code == 302
    return browser


def test_over_tls_both_cookies_are_secure_and_say_so_in_their_names(house: Opened) -> None:
    """RFC 6265bis 4.1.3: __Secure- for one path, __Host- for the whole site."""
    browser = elsewhere(house, "https", COOP_PROXIES="1")

    given = set_cookies(browser.send(ENROL))

    assert {"__Secure-coop-device", "__Host-coop-phone"} <= set(given)
    for name in ("__Secure-coop-device", "__Host-coop-phone"):
        assert "Secure;" in given[name]
    assert 'data-phone="' in browser.get("/").text


def test_in_the_clear_nothing_is_set_up_and_the_page_says_why(house: Opened) -> None:
    """Secure Contexts (W3C): no worker and no lasting store for a page over plain http."""
    browser = elsewhere(house, "http", COOP_PLAIN_HTTP="yes")
    page = browser.get(ENROL)
    token = page.text.partition('name="csrf_token" value="')[2].partition('"')[0]
    answer = browser.post(ENROL, csrf_token=token, shared="no", name="pocket")

    assert page.status_code == 200
    assert "Until then all forms work as before" in page.text
    assert 'name="shared"' not in page.text
    assert answer.status_code == CONFLICT
    assert not {"coop-device", "coop-phone"} & set(set_cookies(answer))
    with house.desk() as desk:
        assert devices.all_of(desk.connection) == {}


@pytest.mark.parametrize("there", ["/me", "/device/offline"])
def test_in_the_clear_no_page_sends_anybody_to_set_a_phone_up(
    house: Opened, there: str
) -> None:
    """The way there ends at a page that says no; it is said at once, and why."""
    in_the_clear = elsewhere(house, "http", COOP_PLAIN_HTTP="yes").get(there).text

    assert "This page came without encryption" in in_the_clear
    assert "its https address" in in_the_clear
    assert ENROL not in in_the_clear
    assert "Set it up anew" not in in_the_clear


def test_a_phone_that_is_not_known_is_told_so_in_the_words_of_its_own_page(
    house: Opened,
) -> None:
    answer = house.client("kahu").get("/device/offline")

    assert answer.status_code == UNKNOWN
    assert "This phone or tablet is not known here" in answer.text
    assert "Set it up anew" in answer.text


def test_a_slip_is_said_beside_its_field_and_nothing_is_set_up(house: Opened) -> None:
    client = house.client("kahu")
    answer = send(client, ENROL, {"shared": "no", "name": "x" * 41})

    assert answer.status_code == UNFIT
    assert "At most 40 characters" in answer.text
    assert "x" * 41 in answer.text
    assert client.get_cookie("coop-phone") is None


def test_the_same_form_sent_twice_is_one_phone_with_one_open_door(house: Opened) -> None:
    """A double tap: the second secret takes the place of the first."""
    client, other = house.client("kahu"), house.client("kahu")
    fields = form_of(client.get(ENROL).text).fields
    client.post(ENROL, data=fields)
    other.set_cookie("coop-form", client.get_cookie("coop-form").value)  # type: ignore[union-attr]
    other.post(ENROL, data=fields)

    with house.desk() as desk:
        assert len(devices.all_of(desk.connection)) == 1
    assert post_push(client, {}).status_code == UNKNOWN
    assert post_push(other, {}).status_code == UNFIT


def test_nobody_sets_up_a_phone_without_signing_in(house: Opened) -> None:
    for there in (ENROL, DIGITS):
        answer = house.client().get(there)

        assert answer.status_code == 302
        assert answer.headers["Location"].startswith("/sign-in?next=")


def _waits_since_before(house: Opened, client: FlaskClient) -> str:
    """Return what a browser's phone of before wrote, and forget the phone's secret there."""
    bath = mixed(house)
    before = Phone(
        id=state_of(house, client).id,
        ledger=house.store.ledger,
        author=house.members["kahu"].member,
        new_id=house.new_id,
    )
    body = {"bath": bath, "sheet_count": "20", "sheet_format": "half", "method": "dip"}
    written = before.write("sheets.through", now=house.later(minutes=1), **body)
    client.delete_cookie("coop-device", path="/device/")
    return before.records[written].text


@pytest.mark.parametrize(
    ("switched_off", "became"),
    [(False, ("sealed", None)), (True, ("waiting", "device-revoked"))],
)
def test_what_waited_before_a_phone_was_set_up_anew_is_handed_in(
    house: Opened, switched_off: bool, became: tuple[str, str | None]
) -> None:
    """The page promises it. What was switched off may have been stolen: a person looks."""
    client = house.client("kahu")
    set_up(client, OWN)
    text = _waits_since_before(house, client)
    if switched_off:
        device = state_of(house, client).id
        house.say("device.revoked", "kahu", device=device, reason="lost")
    page = client.get(ENROL).text
    assert "Where it had been switched off, or where somebody else sets it up" in page

    set_up(client, OWN)
    phone = Phone(id="", ledger="", author="", new_id=house.new_id)
    message = phone.message(now=house.moment) | {"drafts": [text]}
    (answer,) = post_push(client, message).get_json()["answers"]
    assert (answer["outcome"], answer.get("code")) == became


# --- what an enrolled browser shows -----------------------------------------------------


def test_an_enrolled_browser_sees_which_phone_it_is(house: Opened) -> None:
    client = house.client("kahu")
    set_up(client, OWN)
    page = client.get(ENROL).text

    assert "<h1>pocket</h1>" in page
    assert "Only Kahu R. writes on it" in page
    assert 'name="shared"' not in page


def test_a_phone_in_use_is_never_forgotten_by_its_browser(house: Opened) -> None:
    """A cookie lives for 400 days at most (RFC 6265bis 5.5): from the last visit, then."""
    client = house.client("kahu")
    before = set_cookies(set_up(client, OWN))
    house.later(days=300)
    phone = Phone(
        id=state_of(house, client).id,
        ledger=house.store.ledger,
        author=house.members["kahu"].member,
        new_id=house.new_id,
    )
    after = set_cookies(post_push(client, phone.message(now=house.moment)))
    again = set_cookies(post_push(client, phone.message(now=house.moment)))

    assert again == {}
    for name in ("coop-device", "coop-phone"):
        assert parse_cookie(after[name])[name] == parse_cookie(before[name])[name]
        assert "Max-Age=34560000" in after[name]


def test_only_an_enrolled_browser_loads_the_scripts_of_a_phone(house: Opened) -> None:
    """A first visit stays light; and whoever makes the cookie up gets scripts, nothing else."""
    client = house.client("kahu")
    before = client.get("/").text
    client.set_cookie("coop-phone", "no-id-of-ours")
    odd = client.get("/").text
    client.set_cookie("coop-phone", house.new_id())
    after = client.get("/").text

    for page in (before, odd):
        assert "data-phone=" not in page
        assert "outbox.js" not in page
    assert "data-phone=" in after
    assert "phone.js" in after
    assert client.get(ENROL).text.count('name="shared"') == 2


def test_what_waits_is_said_on_the_page_of_signing_in_too(house: Opened) -> None:
    """Signing out keeps what is on the phone, and who signed out can see it."""
    client = house.client("kahu")
    set_up(client, OWN)
    client.post("/sign-out", data={"csrf_token": token_of(client)})

    assert "On this phone" in client.get("/sign-in").text
    assert post_push(client, {}).status_code == UNFIT  # still this phone


# --- the tablet of several --------------------------------------------------------------


def test_a_member_joins_the_tablet_by_setting_digits(house: Opened) -> None:
    client = tablet_in_use(house)
    answer = send(client, DIGITS, {"digits": "7049"})
    state = state_of(house, client)
    kahu = house.members["kahu"].member
    with house.desk() as desk:
        kept = devices.pins(desk.connection, state.id)

    assert answer.status_code == SEE_OTHER
    assert state.members == (house.members["amina"].member, kahu)
    # RFC 8018 5.2 (PBKDF2), as the reference library reckons it.
    key = PBKDF2HMAC(hashes.SHA256(), 32, kept[kahu].salt, kept[kahu].rounds).derive(b"7049")
    assert kept[kahu].hash == key


def test_digits_set_anew_take_the_place_of_the_old_and_write_nothing(house: Opened) -> None:
    client = tablet_in_use(house)
    send(client, DIGITS, {"digits": "7049"})
    device = state_of(house, client).id
    with house.desk() as desk:
        (before,) = devices.pins(desk.connection, device).values()
    send(client, DIGITS, {"digits": "9407"})

    with house.desk() as desk:
        (after,) = devices.pins(desk.connection, device).values()
        written = sorted(desk.journal.touching(device), key=lambda one: one.seals[0].seq)
    assert before.hash != after.hash
    assert [one.entry.kind for one in written] == ["device.enrolled", "device.member_added"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0000", "Everybody tries these first"),
        ("7777", "Everybody tries these first"),
        ("1234", "Everybody tries these first"),
        ("123", "Four digits, please"),
        ("12345", "Four digits, please"),
        ("12a4", "Four digits, please"),
        ("\u0661\u0662\u0664\u0663", "Four digits, please"),
        ("", "This is needed"),
    ],
)
def test_digits_that_are_none_or_that_everybody_tries_are_refused(
    house: Opened, typed: str, said: str
) -> None:
    client = tablet_in_use(house)
    answer = send(client, DIGITS, {"digits": typed})

    assert answer.status_code == UNFIT
    assert said in answer.text
    assert len(state_of(house, client).members) == 1


def test_whoever_leaves_the_tablet_takes_the_digits_along(house: Opened) -> None:
    client = tablet_in_use(house)
    send(client, DIGITS, {"digits": "7049"})
    house.later(minutes=1)
    answer = send(client, DIGITS, action="/device/leave")
    state = state_of(house, client)

    assert answer.status_code == SEE_OTHER
    assert state.members == (house.members["amina"].member,)
    with house.desk() as desk:
        assert devices.pins(desk.connection, state.id) == {}


def test_a_phone_of_ones_own_and_any_other_browser_have_no_digits(house: Opened) -> None:
    plain, own = house.client("kahu"), house.client("kahu")
    set_up(own, OWN)

    assert "is not the studio's tablet" in plain.get(DIGITS).text
    assert "needs no digits" in own.get(DIGITS).text
    for client in (plain, own):
        answer = client.post(DIGITS, data={"csrf_token": token_of(client), "digits": "7049"})
        assert answer.status_code == CONFLICT


def test_a_full_tablet_says_so(house: Opened) -> None:
    client = tablet_in_use(house)
    device = state_of(house, client).id
    for _ in range(MEMBERS_OF_DEVICE_MAX - 1):
        member = house.say("member.invited", roles=["member"])
        house.say("device.member_added", device=device, member=member)
    answer = send(client, DIGITS, {"digits": "7049"})

    assert answer.status_code == UNFIT
    assert "At most 40 of these" in answer.text
    with house.desk() as desk:
        assert devices.pins(desk.connection, device) == {}


# --- taking it off ----------------------------------------------------------------------


def test_a_phone_taken_off_is_a_browser_like_any_other(house: Opened) -> None:
    client = house.client("kahu")
    set_up(client, OWN)
    device = state_of(house, client).id
    answer = send(client, ENROL, action="/device/off")

    assert answer.status_code == SEE_OTHER
    assert house.state("device", device).revoked_at == house.moment
    assert client.get_cookie("coop-phone") is None
    assert client.get_cookie("coop-device", path="/device/") is None
    assert "data-phone=" not in client.get(ENROL).text


def test_the_door_is_closed_to_the_old_secret_at_once(house: Opened) -> None:
    client = house.client("kahu")
    set_up(client, OWN)
    cookie = client.get_cookie("coop-device", path="/device/")
    assert cookie is not None
    send(client, ENROL, action="/device/off")
    client.set_cookie("coop-device", cookie.value, path="/device/")

    assert post_push(client, {}).status_code == UNKNOWN
    assert client.post("/device/off", data={"csrf_token": token_of(client)}).status_code == 401


def test_the_tablet_is_taken_off_by_who_set_it_up_or_a_coordinator(house: Opened) -> None:
    """People.may says who; the page offers it to nobody else."""
    client = house.client("oluwaseun")
    set_up(client, SHARED)
    device = state_of(house, client).id
    offered = {}
    for first in ("kahu", "oluwaseun", "amina"):
        client.post("/sign-out", data={"csrf_token": token_of(client)})
        post(client, "/sign-in", "/sign-in", sign_in_name=first, password=PASSWORD)
        offered[first] = 'action="/device/off"' in client.get(ENROL).text
        if first == "kahu":
            said = {"csrf_token": token_of(client), "entry_id": house.new_id()}
            answer = client.post("/device/off", data=said)
            assert answer.status_code == FORBIDDEN

    assert offered == {"kahu": False, "oluwaseun": True, "amina": True}
    assert house.state("device", device).revoked_at is None
