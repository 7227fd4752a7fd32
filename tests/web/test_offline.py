"""The page that opens without a signal: what stands in it, and that its forms say the same."""

import gzip
import json
import re
import secrets
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask, current_app
from flask.testing import FlaskClient
from playwright.sync_api import Page

from coop.actions.see_device import HELD_DAYS, see_device
from coop.app import create_app
from coop.cli.invented import prepare
from coop.ledger.canon import canonical
from coop.ledger.kinds import SHEETS_MAX
from coop.ledger.schema import LIMITS
from coop.rules.reasons import Word
from coop.settings import from_environment
from coop.store import devices
from coop.store.tokens import new_token
from coop.web.instruments import FORMS
from coop.web.jar_forms import RinseForm
from coop.web.pages.mend import MendForm
from coop.web.pages.mishaps import MishapForm
from coop.web.pages.mix import MixForm
from coop.web.pages.neutralise import PhForm, TreatForm
from coop.web.pages.offline import SLIPS
from coop.web.pages.sheets import SheetsForm
from coop.web.pages.stop import CareForm, FinishForm, StopForm
from tests.support.browser import Pages
from tests.support.enrolled import enrolled, post_push
from tests.support.files import ROOT
from tests.support.opened import Opened, mixed, quantity
from tests.support.queries import counted
from tests.support.server import serving
from tests.support.tray import OFFLINE, body_of, in_use, open_page, with_old
from tests.web.test_measures import choose

A_MONDAY = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
DOCUMENT_BYTES_MAX = 30_000
SCRIPT_BYTES_MAX = 13_000
STATEMENTS_MAX = 40


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return in_use(tmp_path)


def shown(client: FlaskClient, **headers: str) -> str:
    answer = client.get(OFFLINE, headers=headers)
    assert answer.status_code == 200
    text: str = answer.text
    return text


def test_a_browser_that_is_no_device_gets_nothing(house: Opened) -> None:
    """A session opens no device's page, and none opens it for a device that is over."""
    _, client = enrolled(house)
    stranger = house.client("kahu")

    assert stranger.get(OFFLINE).status_code == 401
    house.say("device.revoked", "amina", device=_device_of(house), reason="lost")
    assert client.get(OFFLINE).status_code == 401


def _device_of(house: Opened) -> str:
    with house.desk() as desk:
        return str(desk.journal.listed("device")[0].id)


def test_the_page_is_the_devices_and_nobodys(house: Opened) -> None:
    """What the phone keeps holds no name, no address, no token of a form, no session."""
    _, client = enrolled(house)
    before = shown(client)
    signed_in = house.client("amina")
    cookie = client.get_cookie("coop-device", path="/device/")
    assert cookie is not None
    signed_in.set_cookie("coop-device", cookie.value, path="/device/")

    assert shown(signed_in) == before
    for name in ("Amina", "Kahu", "Oluwaseun", "csrf", "@"):
        assert name not in before
    assert "KR writes" in before
    assert client.get(OFFLINE).headers["Cache-Control"] == "no-store"
    assert "Set-Cookie" not in client.get(OFFLINE).headers


def test_nothing_on_it_is_said_to_be_good_now(house: Opened) -> None:
    """The tag on the tub says more than a phone that was in a pocket."""
    _, client = enrolled(house)
    text = re.sub(r"<time[^>]*>|</time>", "", shown(client))

    assert "was good 2025-09-17 18:00" in text
    assert "Not heard since: read the tag on the tub." in text
    assert not re.search(r">\s*good\s*<", text)
    assert re.search(r"Stopped by OA, 2025-09-17 18:00", text)
    assert not re.search(r"\b(yesterday|today|tomorrow|ago)\b", text)


def test_the_word_of_a_bath_holds_two_weeks_at_most(house: Opened) -> None:
    """Nobody reckons further ahead for a phone; what is stopped makes no promise to break."""
    _, client = enrolled(house)
    with house.desk() as desk:
        device = desk.journal.listed("device")[0]
        kept = see_device(desk.journal, device, now=house.moment)

    good, stopped = kept.studios[0].baths
    assert good.turns_at == house.moment + timedelta(days=HELD_DAYS)
    assert good.turns_to is Word.LOOK_AGAIN
    assert (stopped.turns_at, stopped.turns_to) == (None, Word.DO_NOT_USE)
    assert shown(client).count("data-turns-at=") == 1


def test_a_strip_print_that_falls_due_sooner_is_said(house: Opened) -> None:
    """Twenty days after the mix there are eight left of the house's twenty-eight."""
    enrolled(house)
    house.later(days=20)
    with house.desk() as desk:
        device = desk.journal.listed("device")[0]
        kept = see_device(desk.journal, device, now=house.moment)

    good = kept.studios[0].baths[0]
    assert good.turns_at == house.moment + timedelta(days=8)
    assert good.turns_to is Word.LOOK_AGAIN


def test_a_shared_tablet_has_all_initials_and_checks_of_digits(house: Opened) -> None:
    """Who has set none has no check, and is told so by the script."""
    phone, client = enrolled(house, "amina", shared=True)
    house.say("device.member_added", device=phone.id, member=house.members["kahu"].member)
    with house.store.writing() as desk:
        devices.set_pin(
            desk.connection,
            device_id=phone.id,  # type: ignore[arg-type]  # an id
            member=house.members["kahu"].member,
            digits="4711",
            salt=bytes(range(16)),
            now=house.moment,
        )

    text = shown(client)
    buttons = re.findall(r"<button[^>]*data-writer[^>]*>[^<]*", text)
    assert [one[-2:] for one in buttons] == ["AK", "KR"]
    assert "data-hash" not in buttons[0]
    assert f'data-salt="{bytes(range(16)).hex()}" data-rounds="200000"' in buttons[1]
    assert 'data-author=""' in text
    assert "tablet.js" in text


def test_a_phone_of_ones_own_has_one_author_and_no_digits(house: Opened) -> None:
    """Whoever owns it writes on it."""
    _, client = enrolled(house)
    text = shown(client)

    assert f'data-author="{house.members["kahu"].member}"' in text
    assert "data-writer" not in text
    assert "tablet.js" not in text


def test_a_member_who_left_writes_on_no_tablet(house: Opened) -> None:
    """The ledger remembers who was added; the page shows who is here."""
    phone, client = enrolled(house, "amina", shared=True)
    kahu = house.members["kahu"].member
    house.say("device.member_added", device=phone.id, member=kahu)
    house.say("member.left", member=kahu)

    assert kahu not in shown(client)


def test_who_left_looks_into_the_room_no_more_and_hands_in_what_waits(house: Opened) -> None:
    """A phone stays in a pocket; what is on it is the co-operative's all the same."""
    phone, client = enrolled(house, "kahu", shared=True)
    house.say("member.left", member=house.members["kahu"].member)

    assert client.get(OFFLINE).status_code == 401
    phone.write("bath.stopped", now=house.moment, bath=house.made["bath"], reason="looks_wrong")
    answer = post_push(client, phone.message(now=house.moment))
    assert answer.status_code == 200
    assert answer.get_json()["answers"][0]["outcome"] in ("sealed", "waiting")


def test_what_may_be_written_again_is_offered_whatever_the_shelf_counts(house: Opened) -> None:
    """My own last sheets came out of a parcel that is used up; another went through since."""
    _, client = enrolled(house, "kahu")
    made = house.made
    few = house.say(
        "lot.received", what="paper", name="P-99", studio=made["studio"],
        paper=made["paper"], sheet_count="5",
    )  # fmt: skip
    sheets: Any = {"bath": made["bath"], "sheet_count": "5", "sheet_format": "full"}
    house.later(minutes=1)
    house.say("sheets.through", "kahu", method="dip", lot=few, **sheets)
    house.later(minutes=1)
    house.say("sheets.through", "oluwaseun", method="dip", **sheets)

    text = shown(client)
    assert "5 full sheets, dip, P-99" in text
    assert f'name="lot" value="{few}"' in text


def test_an_old_bath_stands_there_with_its_walk(house: Opened) -> None:
    """The bucket stands where no signal is: by every base, and with what was done already."""
    old = with_old(house)
    _, client = enrolled(house)
    first = shown(client)
    house.say(
        "disposal.treated", "kahu", studio=house.made["studio"], bath=old, step="base_in",
        base="crystals", weight=quantity(255, "g"),
    )  # fmt: skip
    house.later(minutes=40)
    house.say("reading.taken", bath=old, instrument="ph_strip", ph="5.5", step="0.5")
    text = re.sub(r"<time[^>]*>|</time>", "", shown(client))

    assert "5.8 L, 232 g of" in first
    assert "An open bucket of 18 L for one go. Keep back 0.29 L." in first
    assert (
        "soda crystals (10-hydrate): 255 g, then 21 g, 21 g, 21 g; with the cup 17 g" in first
    )
    assert first.count("; with the cup ") == 5
    assert text.count("; with the cup ") == 1, "what is in there decides"
    assert "base put in, 255 g, soda crystals (10-hydrate): KR, 2025-09-19 18:00" in text
    assert "pH 5.5, pH strip: AK, 2025-09-19 18:40" in text
    assert "Without a signal there is no answer: ask before it is poured." in text
    assert not re.search(r"\b(yesterday|today|tomorrow|ago)\b", text)


def test_what_comes_next_stands_on_the_card_of_an_old_bath(house: Opened) -> None:
    """And it is chosen in the form: nobody picks it out of four steps and five sodas."""
    old, studio = with_old(house), house.made["studio"]
    said: dict[str, Any] = {"studio": studio, "bath": old}
    soda = {"base": "crystals", "weight.typed": "255", "weight.unit": "g"}
    cup = {"step": "kept_back", "litres.typed": "290", "litres.unit": "ml"}
    _, client = enrolled(house)

    assert "Next: Read it before anything goes in." in shown(client)
    house.say("reading.taken", bath=old, instrument="ph_strip", ph="3.5", step="0.5")
    assert "Next: Keep back a cup, 0.29 L." in shown(client)
    assert next_of(shown(client))[""] == cup
    house.later(minutes=1)
    house.say("disposal.treated", "kahu", step="kept_back", litres=quantity(290, "ml"), **said)
    assert "Next: The first part, " in shown(client)
    supply = house.say("supply.described", what="soda", name="washing soda", measure="weight")
    house.say(
        "lot.received", studio=studio, what="supply", supply=supply,
        name="SO-3", soda="crystals", weight=quantity(1, "kg"),
    )  # fmt: skip
    text = shown(client)
    assert "Next: The first part, 255 g of soda crystals (10-hydrate)." in text
    assert next_of(text)[""] == {"step": "base_in", **soda}
    assert "<li>On the shelf: soda crystals (10-hydrate): 255 g, then" in text
    assert text.index("On the shelf: soda crystals") < text.index("anhydrous soda: ")
    assert 'data-shelf="crystals"' in text
    house.later(minutes=1)
    house.say(
        "disposal.treated", "kahu", step="base_in", base="crystals",
        weight=quantity(255, "g"), **said,
    )  # fmt: skip
    text = shown(client)
    assert "Next: Stir, then read." in text
    assert f'<a class="button main" href="#ph/{old}">' in text


def test_what_comes_next_is_filled_in_ones_own_measures(house: Opened) -> None:
    """
    The line above says 8.99 oz, and a box that says 255 g is read as another amount.

    290 mL are 9.8 US fl oz of 29.5735 mL, 255 g 8.99 oz of 28.3495 g (NIST Handbook 44,
    appendix C, from memory).
    """
    old, studio = with_old(house), house.made["studio"]
    said: dict[str, Any] = {"studio": studio, "bath": old}
    _, client = enrolled(house)
    choose(house, shown="us")
    house.say("reading.taken", bath=old, instrument="ph_strip", ph="3.5", step="0.5")
    cup = {"step": "kept_back", "litres.typed": "9.8", "litres.unit": "us_fl_oz"}

    assert next_of(shown(client))[""] == cup
    house.later(minutes=1)
    house.say("disposal.treated", "kahu", step="kept_back", litres=quantity(290, "ml"), **said)
    soda = next_of(shown(client))[""]
    weighed = f"{soda['weight.typed']} oz"
    assert soda["weight.unit"] == "oz"
    assert f"Next: The first part, {weighed} of " in shown(client)


def next_of(text: str) -> dict[str, dict[str, str]]:
    found = re.search(r"data-next='([^']*)'", text)
    assert found
    said: dict[str, dict[str, str]] = json.loads(found[1])
    return said


def drum(house: Opened) -> str:
    """Set up the drum of the studio that takes rinse water, with a little in it."""
    studio = house.made["studio"]
    jar = house.say("waste.started", studio=studio, name="rinse drum", sort="drum",
                    holds=quantity(60, "l"), wastes=["rinse_water"])  # fmt: skip
    house.say("waste.added", studio=studio, jar=jar, waste="rinse_water", sheet_count="10",
              metal_pigments="no")  # fmt: skip
    house.say("waste.started", studio=studio, name="floc bucket", sort="bucket",
              holds=quantity(20, "l"), wastes=["floc"])  # fmt: skip
    return jar


def test_the_drum_that_takes_rinse_water_stands_there(house: Opened) -> None:
    """No other jar does: what goes into those is asked about first."""
    jar = drum(house)

    text = shown(enrolled(house)[1])

    assert f'href="#rinse/{jar}"' in text
    assert text.count('href="#rinse/') == 1
    assert "15.0 L of 60.0 L in it" in text
    assert """data-fields='[["metal_pigments", "no"]]'""" in text


def test_an_old_bath_of_ammonium_alum_has_no_walk(house: Opened) -> None:
    """A base sets ammonia free from its salts: common practice, no source."""
    made = house.made
    lot = house.say(
        "lot.received", studio=made["studio"], what="alum", name="AA-1",
        salt="ammonium_alum", weight=quantity(2, "kg"),
    )  # fmt: skip
    salt = [{"lot": lot, "amount": quantity(90, "g")}]
    old = mixed(house, name="R-A9", vessel=made["empty"], water=quantity(4, "l"), salt=salt)
    house.say("bath.finished", bath=old, reason="too_weak")
    text = shown(enrolled(house)[1])

    assert "never soda or lime with it" in text
    assert f"#soda/{old}" not in text
    assert f"#ph/{old}" in text


def test_the_page_speaks_the_language_of_the_cookie(house: Opened) -> None:
    """It is the same for whoever holds the phone."""
    _, client = enrolled(house)
    client.set_cookie("coop-lang", "tr")

    assert '<html lang="tr">' in shown(client)


def test_the_document_of_the_demo_is_light(tmp_path: Path) -> None:
    """It is fetched again after each contact: two studios, four tubs, all forms."""
    app = demo(tmp_path)
    client = device_of(app)
    text = shown(client)

    assert text.count('<section class="stack" aria-labelledby="studio-') == 2
    assert len(gzip.compress(text.encode())) < DOCUMENT_BYTES_MAX


def demo(folder: Path) -> Flask:
    settings = from_environment({"COOP_DATA": str(folder), "COOP_DEMO": "yes"})
    prepare(settings, ["kahu"], now=A_MONDAY, random=secrets.token_bytes)
    return create_app(settings, clock=lambda: A_MONDAY)


def device_of(app: Flask) -> FlaskClient:
    """Enrol a device of the first member of an application's ledger."""
    from coop.actions.write import Draft, Who, Written, write
    from coop.ids import EntryId, Subject, uuid7

    store = app.extensions["coop"].store
    entry = EntryId(
        uuid7(now_ms=int(A_MONDAY.timestamp() * 1000), random=secrets.token_bytes(10))
    )
    token = new_token()
    with store.writing() as desk:
        member = desk.journal.listed("member")[0]
        who = Who(member=member.id, roles=frozenset(member.roles))
        said = Draft(id=entry, kind="device.enrolled", body={"name": "p", "shared": "no"})
        assert isinstance(write(desk.journal, who, said, now=A_MONDAY), Written)
        devices.enrol(
            desk.connection, device_id=Subject(entry), token=token, agent="", now=A_MONDAY
        )
    client = app.test_client()
    client.set_cookie("coop-device", token, path="/device/")
    return client


def test_two_baths_of_one_name_are_told_apart(house: Opened) -> None:
    """By date and hour: it is read on another day, where nobody can look anything up."""
    house.later(hours=1)
    mixed(house, name="r-a1", vessel=house.made["empty"], water=quantity(8, "l"))

    text = shown(enrolled(house)[1])

    assert "<h3>Alum R-A1, mixed 2025-09-17 18:00 by AK</h3>" in text
    assert "<h3>Alum r-a1, mixed 2025-09-17 19:00 by AK</h3>" in text
    assert "<h3>Alum R-A2</h3>" in text


def test_the_page_asks_little_of_the_database(house: Opened) -> None:
    """Every contact of every phone fetches it."""
    _, client = enrolled(house)
    shown(client)
    with counted(house.store) as asked:
        shown(client)

    assert len(asked) <= STATEMENTS_MAX, "\n".join(asked)


def test_what_the_script_may_refuse_is_what_the_ledger_refuses() -> None:
    """The same codes with the same limits; another sentence would need another place."""
    assert {code: LIMITS[code] for code in SLIPS} == SLIPS


def test_the_scripts_of_the_page_are_small() -> None:
    """They come over a phone's signal once."""
    folder = ROOT / "coop" / "web" / "static"
    found = [gzip.compress((folder / name).read_bytes()) for name in ("body.js", "offline.js")]

    assert sum(map(len, found)) < SCRIPT_BYTES_MAX


def test_script_says_nothing_by_itself() -> None:
    """Every sentence comes out of the catalogue: each name it says stands in the document."""
    folder = ROOT / "coop" / "web"
    script = "".join(
        (folder / "static" / name).read_text() for name in ("offline.js", "tablet.js")
    )
    document = (folder / "templates" / "offline.html").read_text()
    named = set(re.findall(r"""(?:say|warn)\("([\w-]+)\"""", script))

    assert len(named) > 10
    for name in named:
        assert f'data-say="{name}"' in document, name


def test_whatever_a_script_refuses_has_a_sentence() -> None:
    """A bare code says nothing to a person with wet hands."""
    folder = ROOT / "coop" / "web"
    names = ("wire.js", "body.js", "outbox.js", "offline.js")
    script = "".join((folder / "static" / name).read_text() for name in names)
    document = (folder / "templates" / "offline.html").read_text()
    thrown = set(re.findall(r"""[sS]lip\([^,()]*, "([\w-]+)\"""", script))

    assert {"not-refused", "written-already", "in-the-future", "missing"} <= thrown
    for code in thrown - set(SLIPS):
        assert f'data-say="{code}"' in document, code


# ---- the same bytes


@pytest.fixture(scope="module")
def tray(
    tmp_path_factory: pytest.TempPathFactory, chromium: Any
) -> Iterator[tuple[Opened, Page]]:
    """The page of a phone, open in a browser for all the forms below."""
    house = in_use(Path(tmp_path_factory.mktemp("tray")))
    with_old(house)
    house.made["drum"] = drum(house)
    _, client = enrolled(house)
    pages = Pages(chromium)
    with serving(house.app()) as origin:
        page = pages.phone(origin)
        page.clock.install(time=house.moment)  # or it would load anew what is a year old
        yield house, open_page(page, client)
        assert pages.close() == []


Typed = dict[str, str]
SALT = {"salt.0.lot": "{alum}", "salt.0.amount.typed": "480", "salt.0.amount.unit": "g"}
MIX = {
    "vessel": "{empty}", "recipe": "{recipe}", "name": " R-A3 ", "water.typed": "8",
    "guessed": "no", **SALT,
}  # fmt: skip
OF_OLD = ("soda", "ph", "gone")
OF_NONE = ("mix", "mishap")
CASES: list[tuple[str, Any, Typed]] = [
    ("sheets", SheetsForm, {"sheet_count": "60"}),
    ("sheets", SheetsForm, {"sheet_count": " 12 ", "sheet_format": "quarter"}),
    ("sheets", SheetsForm, {"sheet_count": "5", "lot": "own", "paper": "{paper}"}),
    ("sheets", SheetsForm, {"sheet_count": "5", "lot": "own", "paper": ""}),
    ("sheets", SheetsForm, {"sheet_count": "5", "lot": "{parcel}", "paper": "{paper}"}),
    (
        "sheets",
        SheetsForm,
        {
            "sheet_count": "7", "method": "sponge", "took_out.typed": "1,5",
            "put_back.typed": "800", "put_back.unit": "ml", "open_hours": "2 1/2",
        },
    ),
    ("top-up", MendForm, SALT),
    ("top-up", MendForm, {"water.typed": "1/3", "water.unit": "us_gallon", **SALT}),
    ("top-up", MendForm, {"water.typed": "1", "reason": "level_only"}),
    ("top-up", MendForm, {"water.typed": "1", "reason": "level_only", **SALT}),
    (
        "top-up",
        MendForm,
        {
            **SALT, "salt.0.amount.typed": "2½", "salt.0.amount.unit": "us_tbsp",
            "salt.0.amount.heap": "heaped", "salt.1.lot": "{alum}",
            "salt.1.amount.typed": "0,5", "salt.1.amount.unit": "kg",
        },
    ),
    ("top-up", MendForm, {"water.typed": "2", "salt.1.lot": "{alum}", **SALT}),
    ("test", FORMS["strip_print"], {"instrument": "strip_print", "outcome": "soft"}),
    ("test", FORMS["tape_line"], {"instrument": "tape_line", "litres.typed": "11,2"}),
    (
        "test",
        FORMS["dipstick"],
        {"instrument": "dipstick", "depth.typed": "1 1/8", "depth.unit": "inch"},
    ),
    (
        "test",
        FORMS["hydrometer"],
        {"instrument": "hydrometer", "gravity": "1,021", "temperature.typed": "-2"},
    ),
    (
        "test",
        FORMS["hydrometer"],
        {
            "instrument": "hydrometer", "gravity": "1.0215", "temperature.typed": "68",
            "temperature.unit": "fahrenheit",
        },
    ),
    ("stop", StopForm, {"reason": "looks_wrong"}),
    ("care", CareForm, {"care": "covered"}),
    ("finish", FinishForm, {"reason": "used_up"}),
    ("soda", TreatForm, {"step": "kept_back", "litres.typed": "290", "litres.unit": "ml"}),
    (
        "soda",
        TreatForm,
        {
            "step": "base_in", "base": "crystals", "weight.typed": "255",
            "litres.typed": "",  # of the cup, which stood chosen
        },
    ),
    ("ph", PhForm, {"instrument": "ph_strip", "ph": "6,5", "step": "0.5"}),
    ("ph", PhForm, {"instrument": "ph_meter", "ph": "6.8", "step": "0.1", "off_at_check": "0"}),
    ("rinse", RinseForm, {"sheet_count": "36"}),
    ("rinse", RinseForm, {"sheet_count": " 5 ", "metal_pigments": "not_known"}),
    ("mishap", MishapForm, {"what": "spill", "called": "112"}),
    (
        "mishap",
        MishapForm,
        {
            "what": "wrong_drain", "waste": "alum_bath", "outlet": "storm",
            "litres.typed": "2,5", "called": "the yard office",
        },
    ),
    ("mix", MixForm, MIX),
    ("mix", MixForm, {**MIX, "guessed": "yes", "salt.0.amount.unit": "us_cup"}),
]  # fmt: skip


def opened_form(house: Opened, page: Page, form: str) -> None:
    there = f"#{form}" if form in OF_NONE else f"#{form}/{_bath(house, form)}"
    page.evaluate("there => { location.hash = '#room'; }", None)
    page.locator('[data-view="room"]').wait_for()
    page.evaluate("there => { location.hash = there }", there)
    page.locator(f'[data-view="{form}"]').wait_for()


def _bath(house: Opened, form: str) -> str:
    if form == "rinse":
        return house.made["drum"]
    return house.made["old" if form in OF_OLD else "bath"]


@pytest.mark.browser
@pytest.mark.parametrize(("form", "server_form", "typed"), CASES)
def test_a_form_says_the_same_bytes_as_the_studios_own(
    tray: tuple[Opened, Page], form: str, server_form: Any, typed: Typed
) -> None:
    """What stands in the fields goes through both; the drafts must have one digest."""
    house, page = tray
    filled = {name: value.format(**house.made) for name, value in typed.items()}
    opened_form(house, page, form)

    said = body_of(page, form, filled)

    assert "code" not in said, said
    with house.app().test_request_context(method="POST", data=dict(said["fields"])):
        current_app.preprocess_request()
        body = server_form(meta={"csrf": False}).body()
        assert said["kind"] == server_form.kind
    assert canonical(said["body"]) == canonical(body | _fixed(house, form))


def _fixed(house: Opened, form: str) -> dict[str, str]:
    """Return what the studio's own page knows and its form does not ask."""
    made = house.made
    if form == "rinse":
        return {"studio": made["studio"], "jar": made["drum"], "waste": "rinse_water"}
    if form == "mishap":
        return {}
    if form != "mix":
        return {"bath": _bath(house, form)}
    return {
        "studio": made["studio"],
        "vessel": made["empty"],
        "recipe": made["recipe"],
        "dose": "8 tbsp per gallon",
    }


WRONG: list[tuple[str, Typed, str, str]] = [
    ("sheets", {}, "sheet_count", "missing"),
    ("sheets", {"sheet_count": "sixty-ish"}, "sheet_count", "not-a-number"),
    ("sheets", {"sheet_count": "0"}, "sheet_count", "not-a-whole-number"),
    ("sheets", {"sheet_count": "2,5"}, "sheet_count", "not-a-whole-number"),
    ("sheets", {"sheet_count": str(SHEETS_MAX + 1)}, "sheet_count", "not-a-whole-number"),
    ("sheets", {"sheet_count": "1", "open_hours": "73"}, "open_hours", "out-of-range"),
    ("sheets", {"sheet_count": "1", "word": "do-not-use"}, "reason", "missing"),
    ("top-up", {}, "salt.0.amount.typed", "missing"),
    ("top-up", {"water.typed": "1"}, "reason", "missing"),
    ("top-up", {"water.typed": "1,250"}, "water.typed", "thousands-or-decimals"),
    ("top-up", {"water.typed": "1001"}, "water.typed", "out-of-reach"),
    ("top-up", {**SALT, "salt.0.amount.typed": "0"}, "salt.0.amount.typed", "out-of-reach"),
    ("test", {"instrument": "strip_print"}, "outcome", "missing"),
    ("test", {"instrument": "tape_line"}, "litres.typed", "missing"),
    (
        "test",
        {"instrument": "hydrometer", "gravity": "2", "temperature.typed": "20"},
        "gravity",
        "not-a-number",
    ),
    ("stop", {}, "reason", "missing"),
    ("soda", {"step": "kept_back", "litres.typed": ""}, "litres.typed", "missing"),
    ("soda", {"step": "base_in", "weight.typed": "255"}, "base", "missing"),
    ("soda", {"step": "base_in", "base": "lime"}, "weight.typed", "missing"),
    ("ph", {"instrument": "ph_strip"}, "ph", "missing"),
    ("gone", {}, "outlet", "missing"),
    ("mishap", {}, "what", "missing"),
    ("mishap", {"what": "wrong_drain"}, "outlet", "missing"),
    ("mishap", {"what": "spill", "litres.typed": "lots"}, "litres.typed", "not-a-number"),
    ("rinse", {}, "sheet_count", "missing"),
    ("mix", {**MIX, "water.typed": ""}, "water.typed", "missing"),
    ("mix", {**MIX, "name": "a name of more than twenty"}, "name", "too-long"),
]


@pytest.mark.browser
@pytest.mark.parametrize(("form", "typed", "field", "code"), WRONG)
def test_what_is_not_right_is_named_before_it_is_kept(
    tray: tuple[Opened, Page], form: str, typed: Typed, field: str, code: str
) -> None:
    """With the same codes and the same numbers as the studio's."""
    house, page = tray
    filled = {name: value.format(**house.made) for name, value in typed.items()}
    opened_form(house, page, form)

    said = body_of(page, form, filled)

    assert (said.get("field"), said.get("code")) == (field, code)
    assert set(SLIPS[code]) <= set(said["limits"])
