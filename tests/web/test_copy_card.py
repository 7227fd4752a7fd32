"""Copy the card: the rows of a tally card come in with one save, or not at all."""

import re
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask.testing import FlaskClient
from playwright.sync_api import Page, expect

from coop.ids import EntryId
from tests.support.browser import Pages, assert_accessible
from tests.support.forms import Form, form_of
from tests.support.opened import PASSWORD, Opened, mixed, quantity, sized
from tests.support.queries import counted
from tests.support.server import serving, sign_in
from tests.support.tray import with_size

WEDNESDAY, THURSDAY, FRIDAY = "2025-09-17", "2025-09-18", "2025-09-19"
BERLIN = ZoneInfo("Europe/Berlin")
STATEMENTS_MAX = 30


@pytest.fixture
def bath(house: Opened) -> str:
    """A bath mixed on Wednesday at 18:00; it is Friday, 20:00."""
    found = mixed(house)
    house.later(days=2, hours=2)
    return found


def initials_of(house: Opened, first: str) -> str:
    return str(house.members[first].member)


def sheets(house: Opened, bath: str, count: int, *, who: str = "kahu", **back: float) -> str:
    """Let somebody write sheets through on a phone, so long ago."""
    return house.say(
        "sheets.through",
        who,
        at=house.moment - timedelta(**back) if back else None,
        bath=bath,
        sheet_count=str(count),
        sheet_format="half",
        method="dip",
        lot=house.made["parcel"],
    )


def filled(client: FlaskClient, bath: str, *rows: dict[str, str], **whole: str) -> Form:
    """Open the card and fill in its rows, the first one first."""
    form = form_of(client.get(there(bath)).text, there(bath))
    fill(
        form,
        {f"line-{n}-{key}": one for n, row in enumerate(rows, 1) for key, one in row.items()},
    )
    return fill(form, whole)


def fill(form: Form, typed: dict[str, str]) -> Form:
    for name, value in typed.items():
        assert name in form.names, sorted(form.names)
        form.fields[name] = [value]
    return form


def there(bath: str) -> str:
    return f"/baths/{bath}/card"


def send(client: FlaskClient, bath: str, form: Form) -> Any:
    return client.post(there(bath), data=form.fields)


def row(
    house: Opened, count: int, day: str = "", part: str = "", who: str = ""
) -> dict[str, str]:
    """Return a row; what is left out is left as the page has it: as above."""
    said = {"sheet_count": str(count), "day": day, "part": part}
    said |= {"by": initials_of(house, who)} if who else {}
    return {key: one for key, one in said.items() if one}


def told(client: FlaskClient, answer: Any) -> str:
    """Return what is said back once it is written."""
    assert answer.status_code == 303, answer.text
    return "".join(
        re.findall(r'role="status">.*?<p>(.*?)</p>', client.get(answer.location).text)
    )


def problems(answer: Any) -> list[str]:
    assert answer.status_code == 422
    return re.findall(r'<li><a href="#line-[^"]*">(.*?)</a></li>', answer.text)


def through(house: Opened, bath: str) -> list[tuple[str, int]]:
    return [
        (one.at.astimezone(BERLIN).strftime("%d %H:%M:%S"), one.sheet_count)
        for one in house.state("bath", bath).through
    ]


def entry(house: Opened, entry_id: str) -> Any:
    with house.desk() as desk:
        return desk.journal.by_id(EntryId(entry_id))[0].entry


def test_three_rows_come_in_with_one_save(house: Opened, bath: str) -> None:
    """What is left open in a row is as in the row above it, as people write it on a card."""
    client = house.client("kahu")
    form = filled(
        client,
        bath,
        row(house, 60, THURSDAY, "evening", "kahu"),
        row(house, 20),
        row(house, 10, FRIDAY),
    )
    answer = send(client, bath, form)

    said = told(client, answer)
    assert "Written. 3 lines: 90 half sheets through R-A1, 2025-09-18 to 2025-09-19." in said
    assert re.search(r"Before: 12\.0 L, about 40 g/L \(.*?\)\. Now: \S+ L, about \d+ g/L", said)
    assert through(house, bath) == [
        ("18 19:00:01", 60), ("18 19:00:02", 20), ("19 12:00:03", 10),
    ]  # fmt: skip
    first = entry(house, form.fields["line-1-entry_id"][0])
    assert (first.said.typed, first.said.precision) == ("2025-09-18 evening", "part_of_day")
    last = entry(house, form.fields["line-3-entry_id"][0])
    assert (last.said.typed, last.said.precision) == ("2025-09-19", "day")
    assert last.content.lot == house.made["parcel"]


def test_a_card_sent_twice_is_written_once(house: Opened, bath: str) -> None:
    """The answer was lost and the button tapped again; what the first wrote is no twin."""
    client = house.client("kahu")
    form = filled(client, bath, row(house, 60, THURSDAY, "", "amina"), row(house, 60))
    told(client, send(client, bath, form))

    assert "Already written." in told(client, send(client, bath, form))
    assert house.state("bath", bath).half_count == 120


def test_one_wrong_row_keeps_all_of_them_out_and_what_was_typed(
    house: Opened, bath: str
) -> None:
    client = house.client("kahu")
    form = filled(
        client,
        bath,
        row(house, 60, THURSDAY, "evening", "kahu"),
        row(house, 20) | {"sheet_count": "tweny", "note": "two were torn"},
    )
    answer = send(client, bath, form)

    assert problems(answer) == [
        "Line 2, “How many sheets?”: A number, please: 12, 0.5, 0,5 or 1/2."
    ]
    assert house.state("bath", bath).half_count == 0
    kept = form_of(answer.text, there(bath)).fields
    assert kept["line-1-sheet_count"] == ["60"]
    assert kept["line-1-day"] == [THURSDAY]
    assert kept["line-2-sheet_count"] == ["tweny"]
    assert kept["line-2-note"] == ["two were torn"]
    assert kept["line-1-entry_id"] == form.fields["line-1-entry_id"]


def test_too_many_sheets_in_one_row_are_refused_by_the_ledger_beside_that_row(
    house: Opened, bath: str
) -> None:
    client = house.client("kahu")
    rows = row(house, 60, THURSDAY, "evening", "kahu"), row(house, 2001)

    answer = send(client, bath, filled(client, bath, *rows))

    assert problems(answer) == ["Line 2, “How many sheets?”: From 1 to 2000, please."]
    assert house.state("bath", bath).half_count == 0


def test_the_first_row_wants_a_day_and_initials(house: Opened, bath: str) -> None:
    """There is no row above it."""
    client = house.client("kahu")

    without = send(client, bath, filled(client, bath, row(house, 60)))
    nobody = send(client, bath, filled(client, bath, row(house, 60, THURSDAY)))
    other = filled(client, bath, row(house, 60, "other", "", "kahu"))

    assert problems(without) == ["Line 1, “Day”: This is needed."]
    assert problems(nobody) == ["Line 1, “Initials”: This is needed."]
    assert problems(send(client, bath, other)) == [
        "Line 1, “Which other day?”: This is needed."
    ]
    fill(other, {"line-1-other_day": "12 Sept"})
    assert problems(send(client, bath, other)) == [
        "Line 1, “Which other day?”: A day, please: 2026-11-25."
    ]


def test_a_day_before_the_mixing_or_to_come_is_said_at_its_row(
    house: Opened, bath: str
) -> None:
    """It is the card of another bath, or a slip: such a row would count for nothing."""
    client = house.client("kahu")
    early = row(house, 60, "other", "", "kahu") | {"other_day": "2025-09-16"}
    late = row(house, 20, "other") | {"other_day": "2025-09-20"}
    old = row(house, 20, "other") | {"other_day": "2015-09-19"}

    answer = send(client, bath, filled(client, bath, early, late, old))

    assert problems(answer) == [
        "Line 1, “Which other day?”: This bath was mixed only 2025-09-17 18:00. "
        "Is it the card of another one?",
        "Line 2, “Which other day?”: This has not happened yet.",
        "Line 3, “Which other day?”: That is more than a year ago. Is the year right?",
    ]


def test_on_the_day_of_the_mixing_a_row_counts_after_it(house: Opened, bath: str) -> None:
    """Noon is only what a day stands for; nothing goes through a bath that is not mixed yet."""
    client = house.client("kahu")
    rows = row(house, 60, "other", "", "kahu") | {"other_day": WEDNESDAY}, row(house, 20)

    told(client, send(client, bath, filled(client, bath, *rows)))

    assert through(house, bath) == [("17 18:00:01", 60), ("17 18:00:02", 20)]
    with house.desk() as desk:
        assert not [odd for _, odd in desk.journal.findings()]


def test_today_counts_no_later_than_now(house: Opened, bath: str) -> None:
    """At ten in the morning noon has not come, but "today" is right; the evening is not."""
    house.later(hours=14)
    client = house.client("kahu")
    today = filled(client, bath, row(house, 60, "2025-09-20", "", "kahu"))
    told(client, send(client, bath, today))
    evening = filled(client, bath, row(house, 20, "2025-09-20", "evening", "kahu"))

    assert through(house, bath) == [("20 09:59:49", 60)]
    assert problems(send(client, bath, evening)) == [
        "Line 1, “Day”: This has not happened yet."
    ]


def test_the_sheets_are_whose_initials_stand_there(house: Opened, bath: str) -> None:
    """Who writes is who copies; the paper says whose stack it is, and whom to ask of it."""
    client = house.client("kahu")
    form = filled(
        client,
        bath,
        row(house, 60, THURSDAY, "", "amina") | {"note": "two torn"},
        row(house, 20, THURSDAY, "", "kahu"),
        row(house, 30, THURSDAY) | {"by": "other", "initials": "Q.Z."},
        row(house, 5, THURSDAY) | {"by": "not_readable"},
    )
    answer = send(client, bath, form)
    page = client.get(answer.location).text

    notes = re.findall(r'<p class="kept">(.*?)</p>', page)
    assert notes == [
        "From the card; nobody can read the initials.",
        "From the card: Q.Z.",
        "two torn",
    ]
    assert "60 half sheets through, dip, P-31, done by Amina" in page
    assert house.state("stack", form.fields["line-1-entry_id"][0]).by == (
        house.members["amina"].member
    )
    authors = {entry(house, form.fields[f"line-{n}-entry_id"][0]).author for n in range(1, 5)}
    assert authors == {house.members["kahu"].member}


def test_what_somebody_wrote_on_a_phone_is_asked_about_once(house: Opened, bath: str) -> None:
    """The same forty twice would make it weaker than it is; nothing is dropped unasked."""
    sheets(house, bath, 40, hours=26)
    client = house.client("amina")
    page = client.get(there(bath)).text
    assert "Thursday 2025-09-18</b>: 18:00, KR: 40 half sheets" in page
    rows = row(house, 40, THURSDAY, "evening", "kahu"), row(house, 20)

    asked = send(client, bath, filled(client, bath, *rows))
    assert problems(asked) == ["Line 1: The same as 18:00, KR: 40 half sheets?"]
    assert house.state("bath", bath).half_count == 40
    form = fill(form_of(asked.text, there(bath)), {"line-1-twin": "out"})
    said = told(client, send(client, bath, form))

    assert "Written. 1 line: 20 half sheets through R-A1, 2025-09-18." in said
    assert "1 line was left out: it stands there already." in said
    assert house.state("bath", bath).half_count == 60


def test_another_one_is_written_as_well(house: Opened, bath: str) -> None:
    sheets(house, bath, 40, hours=26)
    client = house.client("amina")
    asked = send(client, bath, filled(client, bath, row(house, 40, THURSDAY, "", "kahu")))
    form = fill(form_of(asked.text, there(bath)), {"line-1-twin": "both"})

    told(client, send(client, bath, form))
    assert house.state("bath", bath).half_count == 80


def test_an_answer_is_about_the_twin_that_was_shown(house: Opened, bath: str) -> None:
    """Something else came in meanwhile: it is asked about anew."""
    client = house.client("amina")
    first = sheets(house, bath, 40, hours=26)
    asked = send(client, bath, filled(client, bath, row(house, 40, THURSDAY, "", "kahu")))
    form = fill(form_of(asked.text, there(bath)), {"line-1-twin": "both"})
    house.say("entry.corrected", "amina", target=first, outcome="void", reason="written_twice")
    sheets(house, bath, 40, hours=30)

    again = send(client, bath, form)

    assert problems(again) == ["Line 1: The same as 14:00, KR: 40 half sheets?"]
    assert house.state("bath", bath).half_count == 40


def test_a_card_that_two_people_copy_is_asked_about_row_by_row(
    house: Opened, bath: str
) -> None:
    """The second one finds what the first noted, initials and all."""
    rows = row(house, 40, THURSDAY, "evening", "kahu"), row(house, 40), row(house, 20)
    amina, seun = house.client("amina"), house.client("oluwaseun")
    told(amina, send(amina, bath, filled(amina, bath, *rows)))

    asked = send(seun, bath, filled(seun, bath, *rows))

    assert problems(asked) == [
        "Line 1: The same as evening, KR: 40 half sheets?",
        "Line 2: The same as evening, KR: 40 half sheets?",
        "Line 3: The same as evening, KR: 20 half sheets?",
    ]
    form = form_of(asked.text, there(bath))
    fill(form, {f"line-{n}-twin": "out" for n in (1, 2, 3)})
    said = told(seun, send(seun, bath, form))
    assert "Already written. 3 lines were left out: they stand there already." in said
    assert house.state("bath", bath).half_count == 100


def test_other_hands_other_counts_and_other_days_are_no_twins(house: Opened, bath: str) -> None:
    sheets(house, bath, 40, hours=26)
    client = house.client("amina")
    rows = (
        row(house, 40, THURSDAY, "", "oluwaseun"),
        row(house, 41, THURSDAY, "", "kahu"),
        row(house, 40, FRIDAY, "", "kahu"),
        row(house, 40, THURSDAY, "", "kahu") | {"sheet_format": "full"},
    )
    told(client, send(client, bath, filled(client, bath, *rows)))

    assert house.state("bath", bath).half_count == 161
    assert house.state("bath", bath).full_count == 40


def test_water_and_alum_stand_on_a_card_too(house: Opened, bath: str) -> None:
    """The sheets above made room for it: it is held against the brim after them."""
    client = house.client("kahu")
    pour = {
        "what": "bath.topped_up", "day": FRIDAY, "water.typed": "4,5", "water.unit": "l",
    }  # fmt: skip
    alone = filled(client, bath, pour | {"by": initials_of(house, "kahu")})
    over = send(client, bath, alone)
    assert len(problems(over)) == 1
    rows = row(house, 60, THURSDAY, "", "kahu"), pour | {"water.typed": "1"}
    salted = pour | {
        "water.typed": "2", "salt.0.amount.typed": "80", "salt.0.amount.unit": "g",
    }  # fmt: skip

    said = told(client, send(client, bath, filled(client, bath, *rows, salted)))

    assert "3 lines: 60 half sheets through R-A1, topped up 2 times" in said
    page = client.get(f"/baths/{bath}").text
    assert "topped up with 1 L of water alone (already done)" in page
    assert "topped up: 2 L of water, 80 g AS-24" in page


def test_a_count_far_over_what_is_left_is_asked_about_once(house: Opened, bath: str) -> None:
    """A wet finger makes 700 of 70; who means it taps once more, and nobody is refused."""
    client = house.client("kahu")
    rows = row(house, 60, THURSDAY, "", "kahu"), row(house, 700)
    form = filled(client, bath, *rows)
    live = client.post(f"{there(bath)}/read", data=form.fields).get_json()["warnings"]

    asked = send(client, bath, form)

    assert len(problems(asked)) == 1
    assert re.fullmatch(
        r"Line 2: By the ledger about \d+ half sheets are left in this bath: "
        r"did 700 go through\?",
        problems(asked)[0],
    )
    assert live == problems(asked)
    assert house.state("bath", bath).half_count == 0
    insisting = form_of(asked.text, there(bath))
    another = fill(form_of(asked.text, there(bath)), {"line-2-sheet_count": "900"})
    assert "did 900 go" in problems(send(client, bath, another))[0]
    assert "760 half sheets" in told(client, send(client, bath, insisting))
    assert "Already written." in told(client, send(client, bath, form))


def test_rows_of_one_card_hand_and_day_stand_as_one_among_the_stacks(
    house: Opened, bath: str
) -> None:
    """Nobody laid seven and nine sheets apart; what is laid of one row parts it from them."""
    size = with_size(house)
    client = house.client("kahu")
    rows = (
        row(house, 7, THURSDAY, "evening", "kahu"),
        row(house, 9),
        row(house, 15),
        row(house, 8, FRIDAY),
        row(house, 6, THURSDAY, "evening", "amina"),
    )
    form = filled(client, bath, *rows)
    told(client, send(client, bath, form))
    page = client.get("/stacks").text
    seventh = form.fields["line-1-entry_id"][0]

    assert "31 half sheets, 3 rows of a card" in page
    assert f'<a href="/stacks/{seventh}">7 of 7 half sheets left</a>' in page
    assert page.count('<article class="bath">') == 3
    house.say(
        "sheets.through", size=size, stack=seventh, sheet_count="3", sheet_format="half",
        lot=house.made["parcel"],
    )  # fmt: skip
    page = client.get("/stacks").text
    assert "24 half sheets, 2 rows of a card" in page
    assert "4 of 7 half sheets left" in page


def undo_of(page: str) -> str:
    """Return where the button goes that takes out the card just copied; empty without one."""
    found = re.search(r'action="(/baths/[^"]+/card/[^"]+/undo)"', page)
    return found[1] if found else ""


def test_a_card_copied_to_the_wrong_bath_is_undone_in_one_tap(house: Opened, bath: str) -> None:
    """Eleven lines had eleven buttons; those that somebody took out already stay out."""
    sheets(house, bath, 40, hours=1)
    client = house.client("kahu")
    pour = {"what": "bath.topped_up", "water.typed": "1", "water.unit": "l"}
    rows = row(house, 60, THURSDAY, "evening", "kahu"), row(house, 20), row(house, 10), pour
    page = client.get(send(client, bath, filled(client, bath, *rows)).location).text
    assert "Undo all 4 lines of this card" in page
    out = undo_of(page)
    only = form_of(page, out).fields

    other = house.client("amina")
    token = form_of(other.get(there(bath)).text, there(bath)).fields["csrf_token"]
    other.post(out, data={"csrf_token": token})
    assert house.state("bath", bath).half_count == 130
    first = out.split("/")[-2]
    client.post(f"/entries/{first}/undo", data=only)
    client.get(f"/baths/{bath}")  # says that one is out
    said = client.get(client.post(out, data=only).location).text

    assert "3 lines taken out. They stay in the history, struck through." in said
    assert house.state("bath", bath).half_count == 40
    assert not undo_of(client.get(f"/baths/{bath}?card={first}").text)
    assert "taken out already" in client.get(client.post(out, data=only).location).text


def test_after_ten_minutes_a_card_is_no_longer_undone_in_one_tap(
    house: Opened, bath: str
) -> None:
    """By then somebody else may have gone by it: each line is corrected, with a reason."""
    client = house.client("kahu")
    rows = row(house, 60, THURSDAY, "evening", "kahu"), row(house, 20)
    answer = send(client, bath, filled(client, bath, *rows))
    page = client.get(answer.location).text
    house.later(minutes=11)

    late = client.post(undo_of(page), data=form_of(page, undo_of(page)).fields)

    assert "ten minutes for undoing are over" in client.get(late.location).text
    assert not undo_of(client.get(answer.location).text)
    assert house.state("bath", bath).half_count == 80


def test_water_that_names_its_own_unit_is_read_by_that(house: Opened, bath: str) -> None:
    """On a card it stands as somebody wrote it, whatever unit is chosen beside the box."""
    client = house.client("kahu")
    pour = {"what": "bath.topped_up", "water.typed": "500 ml", "water.unit": "l"}
    rows = row(house, 60, THURSDAY, "", "kahu"), pour

    answer = send(client, bath, filled(client, bath, *rows))

    told(client, answer)
    assert "topped up with 500 mL of water alone" in client.get(f"/baths/{bath}").text


def test_sheets_and_water_in_one_line_are_two_lines(house: Opened, bath: str) -> None:
    """They stand side by side on the card; what is not written down makes a bath too strong."""
    client = house.client("kahu")
    both = row(house, 60, THURSDAY, "", "kahu") | {"water.typed": "2"}

    answer = send(client, bath, filled(client, bath, both))
    poured = send(client, bath, filled(client, bath, both | {"what": "bath.topped_up"}))

    said = "Line 1, “What was it?”: Sheets and topping up are two lines: leave one out here."
    assert problems(answer) == [said]
    assert problems(poured) == [said]
    assert form_of(answer.text, there(bath)).fields["line-1-water.typed"] == ["2"]
    assert house.state("bath", bath).half_count == 0


def test_a_button_and_something_else_typed_beside_it_are_asked_about(
    house: Opened, bath: str
) -> None:
    """Nobody can say which of the two was meant, so neither is written."""
    client = house.client("kahu")
    first = row(house, 60, FRIDAY, "", "kahu")
    days = filled(client, bath, first | {"other_day": THURSDAY})
    hands = filled(client, bath, first | {"initials": "AO"})
    nobody = filled(client, bath, first | {"by": "not_readable", "initials": "AO"})
    agreed = filled(client, bath, first | {"other_day": FRIDAY, "initials": "k.r."})

    assert problems(send(client, bath, days)) == [
        "Line 1, “Day”: 2025-09-18 is typed as another day: tap that, or empty it."
    ]
    told_hands = "Line 1, “Initials”: AO is typed as other initials: tap that, or empty it."
    assert problems(send(client, bath, hands)) == [told_hands]
    assert problems(send(client, bath, nobody)) == [told_hands]
    assert "60 half sheets" in told(client, send(client, bath, agreed))


def test_a_bath_that_was_stopped_since_asks_nobody_why(house: Opened, bath: str) -> None:
    """What stands on the card was done, and before the stop at that."""
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="washed_off")
    house.later(hours=1)
    client = house.client("kahu")

    told(client, send(client, bath, filled(client, bath, row(house, 60, THURSDAY, "", "kahu"))))

    state = house.state("bath", bath)
    assert (state.half_count, state.stopped_sheet_count) == (60, 0)
    page = client.get(f"/baths/{bath}").text
    assert "60 half sheets through, dip, P-31, already done" in page


def test_the_card_of_a_bath_that_is_over_is_copied_all_the_same(
    house: Opened, bath: str
) -> None:
    """It comes off the tub when the tub is emptied; the same day counts before that."""
    house.say("bath.finished", bath=bath, reason="used_up")
    house.later(hours=1)
    client = house.client("kahu")

    told(
        client,
        send(client, bath, filled(client, bath, row(house, 60, FRIDAY, "evening", "kahu"))),
    )

    assert through(house, bath) == [("19 19:00:01", 60)]
    with house.desk() as desk:
        assert "after-the-finish" not in {odd.code for _, odd in desk.journal.findings()}


def test_a_line_can_have_its_own_format_method_and_paper(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    rows = (
        row(house, 60, THURSDAY, "", "kahu"),
        row(house, 7) | {"sheet_format": "full", "method": "sponge", "lot": "own"},
    )
    whole = {"sheet_format": "quarter", "method": "brush", "lot": house.made["parcel"]}

    told(client, send(client, bath, filled(client, bath, *rows, **whole)))

    first, second = house.state("bath", bath).through
    assert (first.sheet_format, first.method, first.lot) == (
        "quarter", "brush", house.made["parcel"],
    )  # fmt: skip
    assert (second.sheet_format, second.method, second.lot) == ("full", "sponge", None)


def test_an_empty_card_writes_nothing(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    answer = send(client, bath, filled(client, bath))

    assert answer.status_code == 422
    assert "Nothing was typed: nothing is written." in answer.text


def test_sheets_of_a_stack_laid_on_a_size(house: Opened) -> None:
    """The card of a size: the same rows; each says which sheets, as above where left open."""
    size = with_size(house)
    bath = mixed(house)
    stack = sheets(house, bath, 60)
    house.later(hours=26)
    client = house.client("kahu")
    page = client.get(there(size)).text
    assert "sheets laid" in page
    first = row(house, 23, THURSDAY, "", "kahu") | {"stack": stack, "day": "2025-09-20"}

    answer = send(client, size, filled(client, size, first, row(house, 30)))

    assert "2 lines: 53 half sheets laid on R-S1, 2025-09-20" in told(client, answer)
    assert house.state("stack", stack).left_count == 7
    assert [one.sheet_count for one in house.state("bath", size).laid] == [23, 30]
    over = send(client, size, filled(client, size, first | {"sheet_count": "4"}, row(house, 4)))
    assert problems(over) == ["Line 2, “How many sheets?”: There are only 3 left. Count again."]
    assert house.state("stack", stack).left_count == 7


def test_other_liquids_have_no_tally_card(house: Opened) -> None:
    moss = {"powder": "carrageenan", "amount": quantity(1, "g")}
    rinse = sized(house, what="rinse", name="R-R1", powder=[moss])
    client = house.client("kahu")
    nobody = rinse[:-4] + "0000"

    assert client.get(there(rinse)).status_code == 404
    assert client.get(there(nobody)).status_code == 404
    assert house.client().get(there(rinse)).status_code == 302


def test_what_the_lines_come_to_is_read_back_while_they_are_typed(
    house: Opened, bath: str
) -> None:
    """Before anything is written; a line half typed is left out of it."""
    sheets(house, bath, 40, hours=26)
    client = house.client("amina")
    rows = row(house, 40, THURSDAY, "", "kahu"), row(house, 20, FRIDAY), {"sheet_count": "x"}
    form = filled(client, bath, *rows)

    answer = client.post(f"{there(bath)}/read", data=form.fields).json

    assert answer == {
        "figure": "2 lines: 60 half sheets through R-A1, 2025-09-18 to 2025-09-19",
        "warnings": ["Line 1: The same as 18:00, KR: 40 half sheets?"],
    }
    assert house.state("bath", bath).half_count == 40


def test_a_line_whose_id_is_taken_by_something_else_is_told_and_kept(
    house: Opened, bath: str
) -> None:
    client = house.client("kahu")
    form = filled(client, bath, row(house, 60, THURSDAY, "", "kahu"))
    told(client, send(client, bath, form))

    other = fill(form, {"line-1-sheet_count": "40"})
    answer = send(client, bath, other)
    assert "Something else was written from this line already." in problems(answer)[0]
    told(client, send(client, bath, form_of(answer.text, there(bath))))
    assert house.state("bath", bath).half_count == 100


def test_two_lines_of_one_id_are_no_page_of_ours(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    form = filled(client, bath, row(house, 60, THURSDAY, "", "kahu"), row(house, 20))
    form.fields["line-2-entry_id"] = form.fields["line-1-entry_id"]

    assert len(problems(send(client, bath, form))) == 1
    assert house.state("bath", bath).half_count == 0


def test_twelve_rows_ask_little_of_the_database(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    rows = [row(house, 10 + n, THURSDAY, "", "amina") for n in range(12)]
    form = filled(client, bath, *rows)
    with counted(house.store) as found:
        client.get(there(bath))
    assert len(found) <= STATEMENTS_MAX

    with counted(house.store) as found:
        told(client, send(client, bath, form))
    assert len(found) <= 3 * STATEMENTS_MAX


def test_a_day_is_told_as_a_day_wherever_it_is_told(house: Opened, bath: str) -> None:
    """Noon is what it is reckoned by; nobody said noon."""
    client = house.client("kahu")
    rows = row(house, 60, THURSDAY, "evening", "kahu"), row(house, 20, FRIDAY)
    form = filled(client, bath, *rows)
    told(client, send(client, bath, form))
    evening, day = (form.fields[f"line-{n}-entry_id"][0] for n in (1, 2))

    pages = (
        f"/baths/{bath}", f"/follow?bath={bath}", f"/stacks/{evening}", f"/stacks/{day}",
        f"/follow?stack={evening}", "/", f"/entries/{evening}/correct", there(bath),
    )  # fmt: skip
    texts = {one: client.get(one).text for one in pages}

    for one, text in texts.items():
        assert not re.search(r"(?<!T)(19|12):00", text), one
    assert "yesterday, evening" in texts[f"/baths/{bath}"]
    assert "yesterday, evening" in texts[f"/stacks/{evening}"]
    assert "2025-09-18, evening" in texts[f"/follow?bath={bath}"]
    assert re.search(r"Kahu R\., today<", texts["/"])


def test_a_day_on_which_sheets_were_laid_is_told_as_a_day(house: Opened) -> None:
    size = with_size(house)
    stack = sheets(house, mixed(house), 60)
    house.later(hours=26)
    client = house.client("kahu")
    laid = row(house, 23, "2025-09-20", "morning", "kahu") | {"stack": stack}
    told(client, send(client, size, filled(client, size, laid)))

    page = client.get(f"/liquids/{size}").text

    assert "today, morning" in page
    assert "today 09:00" not in page
    assert "2025-09-20, morning" in client.get(f"/follow?stack={stack}").text


@pytest.mark.browser
def test_a_card_is_copied_by_tapping(house: Opened, bath: str, pages: Pages) -> None:
    """On a phone: one line is open at a time, and what it says stands beside its name."""
    sheets(house, bath, 40, hours=26)
    pages.expect(r"422 .*/card")  # asks about the twin
    with serving(house.app()) as origin:
        page: Page = pages.phone(origin)
        sign_in(page, "amina", PASSWORD)
        page.goto(there(bath))
        first, second = page.locator("#line-1"), page.locator("#line-2")
        first.get_by_role("button", name="40", exact=True).click()
        first.get_by_text("yesterday", exact=True).click()
        expect(first.get_by_text("Written already: 18:00, KR: 40 half sheets")).to_be_visible()
        first.get_by_text("KR", exact=True).click()
        first.get_by_role("button", name="Next line").click()
        expect(first).to_contain_text("40, yesterday, KR")
        second.get_by_role("button", name="20", exact=True).click()
        expect(page.get_by_text("2 lines: 60 half sheets through R-A1")).to_be_visible()
        assert_accessible(page)
        page.get_by_role("button", name="Write all lines").click()
        page.locator("#line-1").get_by_text("the same: leave it out").click()
        assert_accessible(page)
        page.get_by_role("button", name="Write all lines").click()
        expect(page.get_by_text("Written. 1 line: 20 half sheets")).to_be_visible()
