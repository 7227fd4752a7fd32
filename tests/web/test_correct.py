"""Correct an entry, take it out, bring it back; undo in one tap; settle what is odd."""

import re
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.ledger.baths import BathState
from coop.ledger.kinds import READ_WITH
from coop.ledger.ways_out import DRAIN_INSTRUMENTS
from coop.web.instruments import FORMS
from coop.web.mendable import READ
from tests.support.opened import Opened, mixed, quantity, sized, token


def sheets(house: Opened, bath: str, count: int = 60, who: str = "kahu") -> str:
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )


def bath_of(house: Opened, bath: str) -> BathState:
    state: BathState = house.state("bath", bath)
    return state


def filled(page: str) -> dict[str, str]:
    """Return what the correction's form holds as it is shown."""
    form = page.split('name="seen"')[0].rsplit("<form", 1)[1] + page.split('name="seen"')[1]
    form = '<input name="seen"' + page.split('name="seen"')[1].split("</form>")[0] + form
    held: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and ('type="radio"' not in tag or "checked" in tag):
            held[name[1]] = value[1] if value else ""
    for name, options in re.findall(
        r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.S
    ):
        chosen = re.search(r'<option selected[^>]*value="([^"]*)"', options)
        held[name] = chosen[1] if chosen else ""
    return held


def send(client: FlaskClient, entry: str, outcome: str = "replace", **changes: Any) -> Any:
    """Send the form as it is shown, with changes (a double underscore is a dot)."""
    there = f"/entries/{entry}/correct"
    held = filled(client.get(there).text)
    typed = {name.replace("__", "."): value for name, value in changes.items()}
    usual = {"outcome": outcome, "reason": "typing_slip"}
    return client.post(there, data=held | usual | typed)


def test_another_count_in_its_place_changes_the_bath(house: Opened):
    """200 for 20 is the usual slip; the first word stays to be seen."""
    bath = mixed(house)
    entry = sheets(house, bath, 200)
    client = house.client("kahu")
    answer = send(client, entry, content__body__sheet_count="20")

    assert answer.status_code == 303
    assert answer.location == f"/baths/{bath}"
    assert bath_of(house, bath).half_count == 20
    page = client.get(answer.location).text
    assert "20 half sheets through, dip, P-31" in page
    assert "<s>200 half sheets through, dip, P-31</s>" in page
    assert "Corrected by Kahu R., today 18:00: a typing slip." in page


def test_taken_out_and_brought_back(house: Opened):
    """Nothing is deleted: the line is struck, and can stand again."""
    bath = mixed(house)
    entry = sheets(house, bath)
    client = house.client("kahu")

    assert send(client, entry, "void", reason="written_twice").status_code == 303
    assert bath_of(house, bath).half_count == 0
    page = client.get(f"/baths/{bath}").text
    assert "<s>60 half sheets through, dip, P-31</s>" in page
    assert "Taken out by Kahu R., today 18:00: written twice." in page

    house.later(minutes=1)
    assert send(client, entry, "restore", reason="other").status_code == 303
    assert bath_of(house, bath).half_count == 60
    assert "Brought back by Kahu R." in client.get(f"/baths/{bath}").text
    earlier = client.get(f"/entries/{entry}/correct").text
    assert earlier.index("Taken out by") < earlier.index("Brought back by")


def test_sheets_are_moved_to_the_bath_they_went_through(house: Opened):
    """The first bath keeps the line, struck, so that nobody looks for it in vain."""
    tub = house.say(
        "vessel.described",
        studio=house.made["studio"],
        name="low tub",
        brim=quantity(16, "l"),
        lidded="yes",
        place="2",
    )
    wrong, right = mixed(house), mixed(house, name="R-A2", vessel=tub)
    entry = sheets(house, wrong)
    client = house.client("kahu")
    answer = send(client, entry, reason="wrong_bath", content__body__bath=right)

    assert answer.location == f"/baths/{right}"
    assert bath_of(house, wrong).half_count == 0
    assert bath_of(house, right).half_count == 60
    assert "Moved to another bath." in client.get(f"/baths/{wrong}").text


def test_the_time_is_mended_to_the_minute(house: Opened):
    bath = mixed(house)
    house.later(hours=5)
    entry = sheets(house, bath)
    client = house.client("kahu")
    answer = send(client, entry, reason="wrong_time", content__happened_at="2025-09-17T20:15")

    assert answer.status_code == 303
    assert bath_of(house, bath).through[-1].at.isoformat() == "2025-09-17T20:15:00+02:00"


def test_a_time_left_as_it_was_stays_to_the_second(house: Opened):
    """The box shows minutes; what was not touched must not move."""
    bath = mixed(house)
    house.later(hours=1, seconds=37)
    entry = sheets(house, bath)
    before = bath_of(house, bath).through[-1].at
    send(house.client("kahu"), entry, content__body__sheet_count="30")

    assert bath_of(house, bath).through[-1].at == before
    assert before.second == 37


def test_a_mix_is_put_right_with_its_salt(house: Opened):
    """11 L, not 12: the bath was 43.6 g/L all along (480 / 11, computed)."""
    bath = mixed(house)
    answer = send(
        house.client("amina"),
        bath,
        **{
            "content__body__water__typed": "11",
            "content__body__salt__0__amount__typed": "480,0",
        },
    )

    assert answer.status_code == 303
    assert round(bath_of(house, bath).estimate.belief.strength_g_per_l, 1) == 43.6


def test_a_heaped_spoon_stays_heaped(house: Opened):
    """What the form does not ask is kept as it was said."""
    bath = mixed(
        house,
        salt=[{"lot": house.made["alum"], "amount": quantity(24, "us_tbsp", heap="heaped")}],
    )
    client = house.client("amina")
    answer = send(client, bath, content__body__water__typed="11")

    assert answer.status_code == 303
    assert "24 heaped US tablespoons" in client.get(f"/baths/{bath}").text


def test_a_note_is_kept_through_a_correction(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    there = f"/baths/{bath}/stop"
    held = {
        "csrf_token": token(client.get(there).text),
        "entry_id": house.new_id(),
        "reason": "other",
        "note": "pink threads",
    }
    entry = client.post(there, data=held).location.split("written=")[1]
    send(client, entry, content__body__reason="looks_wrong")

    stop = bath_of(house, bath).stop
    assert stop is not None
    assert stop.reason == "looks_wrong"
    assert "pink threads" in client.get(f"/baths/{bath}").text


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("content__body__sheet_count", "sixty", "A number, please"),
        ("content__body__sheet_count", "0", "From 1 to 2000, please."),
        ("content__happened_at", "2025-12-24T18:00", "This has not happened yet."),
        ("reason", "", "This is needed."),
        ("content__body__took_out__typed", "0.5", "This is needed."),
    ],
)
def test_a_slip_is_said_and_keeps_what_was_typed(
    house: Opened, field: str, typed: str, said: str
):
    bath = mixed(house)
    entry = sheets(house, bath)
    answer = send(house.client("kahu"), entry, **{field: typed})

    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{typed}"' in answer.text or not typed
    assert bath_of(house, bath).half_count == 60


def test_a_bath_nobody_knows_is_refused(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    answer = send(house.client("kahu"), entry, content__body__bath=bath[:-4] + "0000")

    assert answer.status_code == 422
    assert "The ledger does not know this one." in answer.text


def test_two_who_correct_at_once_do_not_overrule_each_other_unseen(house: Opened):
    """The second is shown what the first one made of it."""
    bath = mixed(house)
    entry = sheets(house, bath)
    kahu, amina = house.client("kahu"), house.client("amina")
    there = f"/entries/{entry}/correct"
    early = filled(kahu.get(there).text)
    send(amina, entry, content__body__sheet_count="50")
    house.later(minutes=1)
    late = early | {
        "outcome": "replace",
        "reason": "typing_slip",
        "content.body.sheet_count": "40",
    }
    answer = kahu.post(there, data=late)

    assert answer.status_code == 422
    assert "Somebody else corrected this in the meantime." in answer.text
    assert bath_of(house, bath).half_count == 50
    again = filled(answer.text) | {"outcome": "replace", "reason": "typing_slip"}
    assert again["content.body.sheet_count"] == "40"
    assert kahu.post(there, data=again).status_code == 303
    assert bath_of(house, bath).half_count == 40


def test_a_second_post_of_the_same_form_changes_nothing(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    client = house.client("kahu")
    there = f"/entries/{entry}/correct"
    held = filled(client.get(there).text) | {
        "outcome": "replace",
        "reason": "typing_slip",
        "content.body.sheet_count": "40",
    }

    assert client.post(there, data=held).status_code == 303
    again = client.post(there, data=held)
    assert again.status_code == 303
    assert "Already written." in client.get(again.location).text
    assert bath_of(house, bath).half_count == 40


def test_somebody_elses_entry_is_for_them_or_a_coordinator(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath, who="kahu")
    other = house.client("oluwaseun")
    there = f"/entries/{entry}/correct"
    page = other.get(there)
    assert page.status_code == 200
    assert "Somebody else wrote it" in page.text
    held = {"csrf_token": token(page.text), "entry_id": house.new_id(), "outcome": "void"}
    assert other.post(there, data=held | {"reason": "other"}).status_code == 403
    assert bath_of(house, bath).half_count == 60

    assert send(house.client("amina"), entry, "void").status_code == 303
    assert bath_of(house, bath).half_count == 0


def test_ones_own_is_mended_for_fourteen_days(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    house.later(days=14)
    assert send(house.client("kahu"), entry, content__body__sheet_count="50").status_code == 303

    house.later(minutes=1)
    page = house.client("kahu").get(f"/entries/{entry}/correct").text
    assert "It is older than 14 days" in page
    assert "Put this in its place" not in page


def test_a_description_is_not_corrected_but_described_anew(house: Opened):
    page = house.client("amina").get(f"/entries/{house.made['tub']}/correct")

    assert page.status_code == 200
    assert "write a new one" in page.text


def undo(client: FlaskClient, entry: str) -> Any:
    return client.post(
        f"/entries/{entry}/undo", data={"csrf_token": token(client.get("/baths").text)}
    )


def test_undo_takes_out_what_was_just_written(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    house.later(minutes=10)
    client = house.client("kahu")

    assert f"/entries/{entry}/undo" in client.get(f"/baths/{bath}").text
    answer = undo(client, entry)
    assert answer.status_code == 303
    assert bath_of(house, bath).half_count == 0
    assert "Taken out." in client.get(answer.location).text
    undo(client, entry)
    assert "It was taken out already." in client.get(f"/baths/{bath}").text


def test_undo_is_over_after_ten_minutes(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    house.later(minutes=11)
    client = house.client("kahu")

    assert f"/entries/{entry}/undo" not in client.get(f"/baths/{bath}").text
    answer = undo(client, entry)
    assert answer.location == f"/entries/{entry}/correct"
    assert "The ten minutes for undoing are over" in client.get(answer.location).text
    assert bath_of(house, bath).half_count == 60


def test_nobody_undoes_what_somebody_else_wrote(house: Opened):
    """Not even a coordinator in one tap: they give a reason."""
    bath = mixed(house)
    entry = sheets(house, bath, who="kahu")

    assert undo(house.client("amina"), entry).status_code == 403
    assert bath_of(house, bath).half_count == 60


def test_a_coordinator_settles_what_is_odd(house: Opened):
    bath = mixed(house)
    odd = house.say(
        "reading.taken", bath=bath, instrument="hydrometer", gravity="1.2",
        temperature=quantity(20, "celsius"),
    )  # fmt: skip
    client = house.client("amina")
    page = client.get(f"/entries/{odd}/correct").text
    assert "This gravity is no strength of this salt." in page
    assert "What about it?" not in house.client("kahu").get(f"/entries/{odd}/correct").text

    form = page.split(f'action="/entries/{odd}/judge"')[1].split("</form>")[0]
    held = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form))
    for name in ("csrf_token", "entry_id", "subject", "code"):
        assert held[name]
    silent = {name: held[name] for name in ("csrf_token", "entry_id", "subject", "code")}
    answer = client.post(f"/entries/{odd}/judge", data=silent | {"reason": "seen"})
    assert answer.location == f"/baths/{bath}"
    assert "no strength of this salt" not in client.get(f"/entries/{odd}/correct").text


def test_a_member_settles_nothing(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    answer = client.post(
        f"/entries/{bath}/judge", data={"csrf_token": token(client.get("/baths").text)}
    )

    assert answer.status_code == 403


KINDS: dict[str, dict[str, Any]] = {
    "bath.topped_up": {"water": quantity(1, "l"), "reason": "level_only"},
    "bath.cared": {"care": "strained"},
    "bath.stopped": {"reason": "looks_wrong"},
    "bath.finished": {"reason": "tinted"},
    "reading.taken": {"instrument": "dipstick", "depth": quantity(28, "mm")},
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_sent_back_as_it_stands(house: Opened, kind: str):
    """A correction that changes nothing must change nothing in the bath."""
    bath = mixed(house)
    house.later(hours=1)
    entry = house.say(kind, "kahu", bath=bath, **KINDS[kind])
    before = bath_of(house, bath)
    answer = send(house.client("kahu"), entry)

    assert answer.status_code == 303
    assert bath_of(house, bath) == before


def test_what_belongs_to_the_shelf_is_mended_too(house: Opened):
    answer = send(house.client("amina"), house.made["alum"], content__body__weight__typed="4.5")

    assert answer.status_code == 303
    assert answer.location == f"/lots/{house.made['alum']}"
    assert house.state("lot", house.made["alum"]).received == 4_500_000_000


def test_unknown_entry_wrong_method_signed_out_and_turkish(house: Opened):
    bath = mixed(house)
    entry = sheets(house, bath)
    client = house.client("kahu")

    assert client.get(f"/entries/{bath[:-4]}0000/correct").status_code == 404
    assert client.get(f"/entries/{entry}/undo").status_code == 405
    assert client.delete(f"/entries/{entry}/correct").status_code in (400, 405)
    assert house.client().get(f"/entries/{entry}/correct").status_code == 302
    client.set_cookie("coop-lang", "tr")
    assert client.get(f"/entries/{entry}/correct").status_code == 200


def reading(house: Opened, bath: str, **said: Any) -> str:
    return house.say("reading.taken", "kahu", bath=bath, **said)


def test_a_reading_is_put_right_in_the_terms_of_its_instrument(house: Opened):
    """Who dropped colour on a size is not asked for a strip print."""
    size = sized(house)
    drop = reading(house, size, instrument="drop_test", outcome="ragged", spread_mm="45")
    client = house.client("kahu")
    form = client.get(f"/entries/{drop}/correct").text
    assert "a cloudy thread to the bottom" in form
    assert "the colour washes off" not in form

    answer = send(client, drop, content__body__outcome="round", content__body__spread_mm="54")
    assert answer.status_code == 303
    last = house.state("bath", size).drops[-1]
    assert (last.outcome, last.spread_mm) == ("round", 54)


@pytest.mark.parametrize(
    ("said", "typed", "told"),
    [
        (
            {"instrument": "funnel", "funnel": "brass", "seconds": "24"},
            {"content__body__seconds": "22"},
            "22.0 s through brass",
        ),
        (
            {"instrument": "thermometer", "temperature": quantity(12, "celsius")},
            {"content__body__temperature__typed": "21"},
            "thermometer: 21 °C",
        ),
        (
            {"instrument": "look", "outcome": "skin"},
            {"content__body__outcome": "fine"},
            "look: looks as it should",
        ),
        (
            {"instrument": "smell", "tag_read": "yes", "outcome": "sour"},
            {"content__body__outcome": "sea"},
            "smell: smells of the sea",
        ),
        (
            {"instrument": "tape_line", "litres": quantity(9, "l")},
            {"content__body__litres__typed": "11"},
            "tape line on the tub: 11 L",
        ),
    ],
)
def test_each_reading_of_a_size_can_be_put_right(
    house: Opened, said: dict[str, Any], typed: dict[str, str], told: str
):
    size = sized(house)
    entry = reading(house, size, **said)
    client = house.client("kahu")

    assert send(client, entry, **typed).status_code == 303
    assert told in client.get(f"/liquids/{size}").text


def test_the_powder_of_a_size_is_put_right(house: Opened):
    """85 g for 60: at 12 L that is 7.1 g/L and not 5 (computed)."""
    size = sized(house)
    typed = {"content__body__powder__0__amount__typed": "85"}
    assert send(house.client("amina"), size, **typed).status_code == 303

    assert house.state("bath", size).powder_g == 85


def test_sheets_laid_on_a_size_are_put_right_with_it(house: Opened):
    bath, first = mixed(house), sized(house)
    tray = house.say("vessel.described", studio=house.made["studio"], name="other tray",
                     brim=quantity(20, "l"), lidded="yes", place="3")  # fmt: skip
    second = sized(house, name="R-S2", vessel=tray)
    stack = sheets(house, bath)
    laid = house.say("sheets.through", "kahu", size=first, stack=stack, sheet_count="40",
                     sheet_format="half", reason="test_sheets")  # fmt: skip
    typed = {"content__body__size": second, "content__body__sheet_count": "30"}
    assert send(house.client("kahu"), laid, **typed).status_code == 303

    assert house.state("bath", first).laid == ()
    assert [one.sheet_count for one in house.state("bath", second).laid] == [30]
    assert house.state("stack", stack).left_count == 30


def test_sheets_are_not_laid_on_alum_by_a_correction(house: Opened):
    """Sorted, they would blame the alum; the list offers only what sheets are laid on."""
    bath, size = mixed(house), sized(house)
    laid = house.say("sheets.through", "kahu", size=size, stack=sheets(house, bath),
                     sheet_count="40", sheet_format="half", reason="test_sheets")  # fmt: skip
    client = house.client("kahu")
    assert f'value="{bath}"' not in client.get(f"/entries/{laid}/correct").text
    answer = send(client, laid, content__body__size=bath)

    assert answer.status_code == 422
    assert "This is another kind of bath" in answer.text
    assert [one.sheet_count for one in house.state("bath", size).laid] == [40]


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("reading.taken", {"instrument": "strip_print", "outcome": "sharp"}),
        ("bath.topped_up", {"water": quantity(1, "l"), "salt": "alum"}),
        ("bath.joined", {"giver": "second"}),
    ],
)
def test_what_is_done_to_alum_is_not_moved_to_a_size(
    house: Opened, kind: str, said: dict[str, Any]
):
    """By a slip of the list a size would have alum in it, or be tested as alum is."""
    tub = house.say("vessel.described", studio=house.made["studio"], name="low tub",
                    brim=quantity(16, "l"), lidded="yes", place="3")  # fmt: skip
    bath, size = mixed(house, water=quantity(6, "l")), sized(house)
    if "salt" in said:
        said = said | {"salt": [{"lot": house.made["alum"], "amount": quantity(40, "g")}]}
    if "giver" in said:
        said = said | {"giver": mixed(house, name="R-A2", vessel=tub, water=quantity(2, "l"))}
    entry = house.say(kind, "kahu", bath=bath, **said)
    answer = send(house.client("kahu"), entry, content__body__bath=size)

    assert answer.status_code == 422
    assert "This is another kind of bath" in answer.text


def test_what_was_poured_off_is_put_right(house: Opened):
    bath = mixed(house)
    jug = house.say("vessel.described", studio=house.made["studio"], name="jug",
                    brim=quantity(5, "l"), lidded="yes", place="4")  # fmt: skip
    parts = [{"vessel": jug, "name": "R-A2", "litres": quantity(2, "l")}]
    split = house.say("bath.split", "kahu", bath=bath, parts=parts)
    typed = {"content__body__parts__0__litres__typed": "3"}
    assert send(house.client("kahu"), split, **typed).status_code == 303

    assert house.state("bath", split).estimate.plain.volume_ml == pytest.approx(3000)


@pytest.mark.parametrize(
    ("kind", "said", "typed", "field", "is_now"),
    [
        ("stack.dried", {"how": "rack"}, {"how": "blotters"}, "dried", "blotters"),
        ("stack.put_away", {"state": "damp"}, {"state": "bagged"}, "state", "bagged"),
        (
            "stack.binned",
            {"sheet_count": "9", "reason": "stale"},
            {"sheet_count": "6"},
            "binned_count",
            6,
        ),
    ],
)
def test_what_was_done_to_a_stack_is_put_right(
    house: Opened,
    kind: str,
    said: dict[str, Any],
    typed: dict[str, str],
    field: str,
    is_now: Any,
):
    stack = sheets(house, mixed(house))
    entry = house.say(kind, "kahu", stack=stack, **said)
    changes = {f"content__body__{name}": value for name, value in typed.items()}
    assert send(house.client("kahu"), entry, **changes).status_code == 303

    assert getattr(house.state("stack", stack), field) == is_now


def test_every_reading_has_its_form_and_can_be_put_right():
    """
    An instrument of the ledger that a page forgets could never be read or mended.

    What a drain asks for has a page of its own.
    """
    assert set(READ) == set(READ_WITH)
    assert set(FORMS) == set(READ_WITH) - DRAIN_INSTRUMENTS
