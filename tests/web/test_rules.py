"""The rules of a studio: copied from a letter or taken from a file, shown, then published."""

import os
import re
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.actions.see_drain import kept
from coop.app import create_app
from coop.rules.packs import letter as letters
from coop.rules.packs.faults import ENGLISH
from coop.rules.packs.tables import BYTES_MAX
from coop.settings import from_environment
from coop.web.letter_form import (
    FAULT_TEXTS,
    LINE_TITLES,
    NOT_A_DAY,
    NOT_COME,
    TOO_FAR,
    name_for,
)
from coop.web.pack_faults import PACK_FAULTS
from coop.web.pages.rules import SHIPPED
from tests.support.forms import Form, Typed, forms_of
from tests.support.opened import QUICK, Opened, furnished, mixed, quantity, token
from tests.support.photos import taken
from tests.support.wastes import RULES, decision, permit, publish

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
HEAD: Typed = {
    "authority": "Sewer board",
    "title": "What the sewer board wrote",
    "reference": "SB 12/3",
    "letter_on": "2025-09-01",
    "tier": "district",
}
PH: Typed = {
    "lines-0-says": "ph",
    "lines-0-wastes": ["alum_bath"],
    "lines-0-outlets": ["sewer"],
    "lines-0-low": "6",
    "lines-0-high": "10",
    "lines-0-text": "pH of 6 to 10",
    "lines-0-section": "1",
}
DISTRICT = """
id = "{id}"
edition = {edition}
title = "Sewer rules"
authority = "Sewer board"
area = ["us", "elsewhere-a"]
tier = "district"
evidence = "read"
valid_from = 2025-01-01
checked_on = 2025-09-01
review_on = 2026-09-01

[[rules]]
id = "ph"
kind = "LIMIT"
outlets = ["sewer"]
quantity = "ph"
holds_if = "within"
low = 6.0
high = {high}
unit = "ph"
cite = {{ document = "bylaw", section = "4", evidence = "read" }}
"""


@pytest.fixture
def demo(tmp_path: Path) -> Opened:
    """The same studio in a demo ledger."""
    house = furnished(tmp_path)
    settings = from_environment({"COOP_DATA": str(tmp_path), "COOP_DEMO": "yes"})
    app = create_app(settings, clock=house.clock, store=house.store, passwords=QUICK)
    app.testing = True
    house._app = app
    return house


def there(house: Opened, page: str = "") -> str:
    return f"/studios/{house.made['studio']}/rules{page}"


def said_on(answer: Any) -> str:
    body = str(answer.text).split("<main", 1)[1].split("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def page_of(house: Opened, page: str = "", who: str = "kahu") -> str:
    answer = house.client(who).get(there(house, page))
    assert answer.status_code == 200, answer.text
    return said_on(answer)


def form_with(answer: Any, name: str) -> Form:
    """Return the form of a page that has a field."""
    return next(one for one in forms_of(answer.text) if name in one.names)


def step(
    house: Opened, act: str, said: Typed, *, to: str = "/letter", who: str = "oluwaseun"
) -> Any:
    """Open the letter's form, type into it and press one of its buttons."""
    client = house.client(who)
    form = form_with(client.get(there(house, to)), "authority")
    return client.post(there(house, to), data={**form.fields, **said, "act": act})


def pressed(house: Opened, page: Any, act: str, who: str = "oluwaseun", **more: Any) -> Any:
    """Press a button of a preview, in a browser that was closed and opened since."""
    client = house.client(who)
    form = form_with(page, "carried")
    fields = {name: said for name, said in form.fields.items() if name != "letter"}
    fields["csrf_token"] = [token(client.get(there(house, "/file")).text)]
    return client.post(
        form.action, data={**fields, "act": act, **more}, content_type="multipart/form-data"
    )


def copied(house: Opened, *, to: str = "/letter", **more: Any) -> Any:
    """Copy a letter and publish it."""
    answer = pressed(house, step(house, "preview", {**HEAD, **PH, **more}, to=to), "publish")
    assert answer.status_code == 303, answer.text
    return answer


def rules_of(house: Opened) -> Any:
    with house.desk() as desk:
        (one,) = desk.journal.listed("rules", home=house.made["studio"], live=False)  # type: ignore[arg-type]
        return one


def chosen(house: Opened, text: str | bytes, to: str = "/file") -> Any:
    """Choose a file of rules."""
    client = house.client("oluwaseun")
    page = client.get(there(house, to)).text
    data = text.encode() if isinstance(text, str) else text
    form = {"csrf_token": token(page), "act": "preview", "file": (BytesIO(data), "rules.toml")}
    return client.post(there(house, to), data=form, content_type="multipart/form-data")


def of_district(edition: int = 1, high: str = "9.5", id: str = "sewer-rules") -> str:
    return DISTRICT.format(edition=edition, high=high, id=id)


# ---- a letter


def test_a_letter_is_shown_as_it_will_be_told_and_then_published(house: Opened) -> None:
    """Nothing is in the ledger before somebody saw what each line comes to."""
    house.made["bath"] = mixed(house)

    preview = step(house, "preview", {**HEAD, **PH})

    assert preview.status_code == 200
    told = said_on(preview)
    assert "Alum bath, town sewer: pH 6.0 to 10.0." in told
    assert "Sewer board, 2025-09-01, SB 12/3 1; read at its source" in told
    assert "R-A1 : ask first becomes measure first" in told
    assert "No rules yet" in page_of(house)

    assert pressed(house, preview, "publish").status_code == 303
    page = page_of(house)
    assert "What the sewer board wrote" in page
    assert "Edition 1 , 2025-09-17, Oluwaseun A." in page
    assert "R-A1 : Measure first" in page
    assert "Your local authority decides." in page


def soda_in(house: Opened) -> None:
    """Put soda into the bath: without it alum has no pH of 7."""
    house.later(minutes=5)
    house.say("disposal.treated", studio=house.made["studio"], bath=house.made["bath"],
              step="base_in", base="crystals", weight=quantity(255, "g"))  # fmt: skip
    house.later(minutes=5)


def test_a_letter_alone_is_not_enough_somebody_has_to_have_been_asked(house: Opened) -> None:
    """A rule of the district and a recorded answer: both, or the drain is asked about."""
    house.made["bath"] = mixed(house)
    copied(house)
    soda_in(house)
    house.say("reading.taken", bath=house.made["bath"], instrument="ph_strip", ph="7.0",
              step="0.5")  # fmt: skip
    assert decision(house, demo=False, bath=house.made["bath"]).outcome == "ask_first"

    permit(house)

    told = decision(house, demo=False, bath=house.made["bath"])
    assert told.outcome == "nothing_forbids"
    page = page_of(house)
    assert "R-A1 : Nothing you recorded forbids it" in page
    assert "yes. Asked the town's drains office, 2025-08-18" in page


def test_a_line_more_and_a_line_less_lose_nothing_that_was_typed(house: Opened) -> None:
    """The buttons post the form, so that it works without script."""
    wrong: Typed = {**HEAD, **PH, "lines-0-high": "ten"}
    two = step(house, "add", wrong)
    form = form_with(two, "authority")
    assert two.status_code == 200
    assert form.fields["authority"] == ["Sewer board"]
    assert form.fields["lines-0-high"] == ["ten"]
    assert form.fields["lines-0-wastes"] == ["alum_bath"]
    assert form.fields["lines-1-text"] == [""]

    client = house.client("oluwaseun")
    form.fields["csrf_token"] = [token(client.get(there(house, "/letter")).text)]
    second = {**form.fields, "lines-1-text": "no lumps", "act": "remove lines-0"}
    one = form_with(client.post(there(house, "/letter"), data=second), "authority")
    assert [one.fields[name] for name in one.names if name.endswith("-text")] == [["no lumps"]]


def test_there_are_so_many_lines_and_no_more(house: Opened) -> None:
    many: Typed = {f"lines-{n}-text": str(n) for n in range(letters.LINES_MAX + 5)}
    full = step(house, "add", {**HEAD, **many})
    texts = [one for one in form_with(full, "authority").names if one.endswith("-text")]

    assert len(texts) == letters.LINES_MAX
    assert "At most 40 lines." in said_on(full)


def test_the_longest_letter_there_can_be_is_published(house: Opened) -> None:
    """Forty lines of three hundred signs each that a browser sends as six."""
    many: Typed = {}
    for n in range(letters.LINES_MAX):
        many |= {
            f"lines-{n}-says": "a_day",
            f"lines-{n}-outlets": ["sewer", "septic"],
            f"lines-{n}-wastes": ["alum_bath", "size", "rinse_water"],
            f"lines-{n}-high": str(n + 1),
            f"lines-{n}-unit": "l",
            f"lines-{n}-text": "ğ" * 300,
            f"lines-{n}-section": str(n),
        }
    preview = step(house, "preview", {**HEAD, **many})
    assert preview.status_code == 200

    sent = pressed(house, preview, "publish", letter=(BytesIO(taken()), "letter.jpg"))

    assert sent.status_code == 303
    assert page_of(house).count("poured a day.") == letters.LINES_MAX


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"lines-0-high": ""}, None),
        ({"lines-0-low": "", "lines-0-high": ""}, "Line 1, To, or at most: This is needed."),
        ({"lines-0-high": "5"}, "Line 1, To, or at most: This must come after the one before"),
        ({"lines-0-high": "15"}, "Line 1, To, or at most: That is outside of what can be"),
        ({"lines-0-high": "1/3"}, "Line 1, To, or at most: At most six decimals, please."),
        ({"lines-0-high": "lots"}, "Line 1, To, or at most: A number, please"),
        ({"lines-0-of": "copper"}, "Line 1, Of which substance?: A line that says this"),
        ({"lines-0-outlets": []}, "Line 1, Where?: This is needed."),
        ({"lines-0-says": []}, "Line 1, What does it say?: Choose one"),
        ({"lines-0-text": " "}, "Line 1, The letter's own words: This is needed."),
        ({"lines-0-text": "x" * 301}, "Line 1, The letter's own words: Shorter, please."),
        ({"authority": ""}, "Who wrote it?: This is needed."),
        ({"tier": []}, "Whom is it for?: Choose one"),
        ({"letter_on": "soon"}, "The letter's day: A day, please"),
        ({"letter_on": ""}, "The letter's day: This is needed."),
        ({"checked_on": "2025-09-18"}, "Held against the letter on: That day has not come"),
        ({"letter_on": "2025-09-18"}, "Held against the letter on: This must come after"),
        ({"review_on": "2025-09-17"}, "Hold it against the letter again on: This must come"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_beside_its_field(
    house: Opened, typed: Typed, told: str | None
) -> None:
    """An open upper end is none: the first case passes."""
    answer = step(house, "preview", {**HEAD, **PH, **typed})

    assert answer.status_code == (200 if told is None else 422)
    if told is not None:
        assert told in said_on(answer)
        assert form_with(answer, "authority").fields["lines-0-section"] == ["1"]


def test_a_second_send_writes_nothing_twice(house: Opened) -> None:
    """Somebody taps twice: the same edition, the same document, the same picture."""
    preview = step(house, "preview", {**HEAD, **PH})
    first = pressed(house, preview, "publish", letter=(BytesIO(taken()), "letter.jpg"))
    again = pressed(house, preview, "publish", letter=(BytesIO(taken()), "letter.jpg"))

    assert (first.status_code, again.status_code) == (303, 303)
    assert len(rules_of(house).editions) == 1


def test_the_picture_of_the_letter_stands_beside_its_figures(house: Opened) -> None:
    """The next edition keeps it until another is taken."""
    preview = step(house, "preview", {**HEAD, **PH})
    pressed(house, preview, "publish", letter=(BytesIO(taken()), "letter.jpg"))
    name = rules_of(house).last.letter
    client = house.client("kahu")

    assert name
    assert f'href="/photo/{name}"' in client.get(there(house)).text
    assert f'src="/photo/{name}"' in client.get(there(house, f"/{rules_of(house).id}")).text
    assert client.get(f"/photo/{name}").mimetype == "image/jpeg"

    copied(house, to=f"/letter?of={rules_of(house).id}")
    assert rules_of(house).last.letter == name


def test_what_is_no_picture_is_told_beside_it(house: Opened) -> None:
    preview = step(house, "preview", {**HEAD, **PH})
    answer = pressed(house, preview, "publish", letter=(BytesIO(b"%PDF-1.7"), "letter.pdf"))

    assert answer.status_code == 422
    assert "A picture of the letter" in said_on(answer)
    assert "One thing to put right" in said_on(answer)
    assert "No rules yet" in page_of(house)


def test_from_the_preview_one_can_go_back_and_change_something(house: Opened) -> None:
    preview = step(house, "preview", {**HEAD, **PH})

    back = pressed(house, preview, "change")

    form = form_with(back, "authority")
    assert form.fields["title"] == ["What the sewer board wrote"]
    assert form.fields["lines-0-outlets"] == ["sewer"]


def test_a_carried_letter_that_somebody_tampered_with_is_asked_for_again(
    house: Opened,
) -> None:
    preview = step(house, "preview", {**HEAD, **PH})
    for carried in ("[]", "{", "7", '{"lines-0-says": 1}', '{"lines-²-says": ["ph"]}'):
        answer = pressed(house, preview, "publish", carried=carried)
        assert answer.status_code == 422, carried


def test_a_new_edition_starts_from_the_last(house: Opened) -> None:
    """The letter was amended: its figures stand in the form, and one of them is changed."""
    copied(house)
    rules = rules_of(house).id
    house.later(days=100)
    client = house.client("oluwaseun")
    form = form_with(client.get(there(house, f"/letter?of={rules}")), "authority")
    assert form.fields["lines-0-low"] == ["6"]
    assert form.fields["reference"] == ["SB 12/3"]
    assert form.fields["checked_on"] == ["2025-12-26"]

    fields = {**form.fields, "lines-0-low": "6.5", "act": "preview"}
    preview = client.post(there(house, f"/letter?of={rules}"), data=fields)
    assert "It takes the place of: What the sewer board wrote." in said_on(preview)
    pressed(house, preview, "publish")

    found = rules_of(house)
    assert found.id == rules
    assert [one.edition for one in found.editions] == [1, 2]
    assert "pH 6.5 to 10.0." in page_of(house)
    assert "pH 6.0 to 10.0." in page_of(house, f"/{rules}/1")
    assert "Another edition stands now, or none." in page_of(house, f"/{rules}/1")
    assert "pH 6.5 to 10.0." in page_of(house, f"/{rules}")


def test_two_who_copy_it_at_a_time_do_not_write_over_each_other(house: Opened) -> None:
    copied(house)
    to = f"/letter?of={rules_of(house).id}"
    mine, other = (step(house, "preview", {**HEAD, **PH}, to=to) for _ in range(2))
    house.later(minutes=1)
    assert pressed(house, other, "publish").status_code == 303
    house.later(minutes=1)

    late = pressed(house, mine, "publish")

    assert late.status_code == 422
    assert "Somebody else changed this meanwhile." in said_on(late)
    assert pressed(house, late, "publish").status_code == 303
    assert [one.edition for one in rules_of(house).editions] == [1, 2, 3]


def test_letters_of_one_title_are_told_apart() -> None:
    taken_names = ["what-they-wrote", "what-they-wrote-2"]
    assert name_for("What they wrote!", taken_names) == "what-they-wrote-3"
    assert name_for("手紙", []) == "letter"
    assert len(name_for("x" * 200, ["x" * 36])) <= 40


def test_in_a_demo_a_copied_letter_is_an_invented_one(demo: Opened) -> None:
    """Nobody takes a figure that was tried out there for one of a real town."""
    preview = step(demo, "preview", {**HEAD, **PH})
    assert "invented, to try things out" in said_on(preview)
    assert "read at its source" not in said_on(preview)

    assert pressed(demo, preview, "publish").status_code == 303
    assert "Alum bath, town sewer: pH 6.0 to 10.0." in page_of(demo)
    invented = chosen(demo, (RULES / "orchard-barn-septic.toml").read_text())
    assert "septic tank: not down here." in said_on(invented)


# ---- a file


def test_a_file_of_the_district_is_taken_for_this_studio(house: Opened) -> None:
    """Its own area may be named in any way; here it speaks of the studio it is taken in for."""
    house.made["bath"] = mixed(house)
    preview = chosen(house, of_district())
    assert "pH 6.0 to 9.5." in said_on(preview)
    assert "R-A1 : ask first becomes measure first" in said_on(preview)

    assert pressed(house, preview, "publish").status_code == 303

    assert rules_of(house).pack == "sewer-rules"
    assert "R-A1 : Measure first" in page_of(house)


def test_a_file_is_the_same_after_a_browser_sent_it_once_more(house: Opened) -> None:
    """Two signs at each line's end: a file of the full size would be too long by them."""
    text = of_district() + "# x\n" * ((BYTES_MAX - len(of_district())) // 4)
    preview = chosen(house, text)
    carried = form_with(preview, "carried").fields["carried"][0]

    sent = pressed(house, preview, "publish", carried=carried.replace("\n", "\r\n"))

    assert sent.status_code == 303


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            of_district().replace('unit = "ph"', 'unit = "litres"'),
            "Line 21: unit = litres: this unit",
        ),
        (of_district().replace("high =", "hihg ="), "Line 20: hihg: there is no such key here"),
        (of_district().replace("edition = 1", "edition = ?"), "Line 3: The file is no TOML:"),
        (of_district().replace("2026-09-01", "2025-08-01"), "review_on: must come after"),
        (of_district(id="x" * 41), "is over 40 signs long."),
        ("# " + "x" * 70_000, "over 65536 bytes"),
        (b"\xff\xfe\x00", "The file is no text in UTF-8."),
        ("", "is missing."),
    ],
)
def test_what_is_wrong_with_a_file_is_told_with_its_line(
    house: Opened, text: str | bytes, told: str
) -> None:
    answer = chosen(house, text)

    assert answer.status_code == 422
    assert told in said_on(answer)
    assert "Nothing was published." in said_on(answer)


def test_invented_figures_are_refused_outside_a_demo(house: Opened) -> None:
    answer = chosen(house, (RULES / "ropewalk-sewer.toml").read_text())

    assert answer.status_code == 422
    assert "Invented figures belong into a demo only." in said_on(answer)


def test_a_changed_file_is_a_new_edition(house: Opened) -> None:
    pressed(house, chosen(house, of_district()), "publish")
    to = f"/file?of={rules_of(house).id}"

    same = chosen(house, of_district(high="9.0"), to=to)
    other = chosen(house, of_district(edition=2, id="others"), to=to)
    next_one = chosen(house, of_district(edition=2, high="9.0"), to=to)

    assert "Give the changed file edition 2." in said_on(same)
    assert "Its id is “others”" in said_on(other)
    assert pressed(house, next_one, "publish").status_code == 303
    assert "pH 6.0 to 9.0." in page_of(house)
    assert f"/file?of={rules_of(house).id}" in house.client("amina").get(there(house)).text


def test_old_decisions_are_told_otherwise_but_stay(house: Opened) -> None:
    """What was poured by the letter of its day is not rewritten by a stricter one."""
    bath = house.made["bath"] = mixed(house)
    copied(house)
    permit(house)
    soda_in(house)
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="7.0", step="0.5")
    _pour(house, bath)

    preview = step(
        house, "preview", {**HEAD, **PH, "lines-0-low": "8"},
        to=f"/letter?of={rules_of(house).id}",
    )  # fmt: skip

    told = said_on(preview)
    assert "Decided before, and told otherwise today They stay as they were." in told
    assert "2025-09-17, alum bath : nothing recorded forbids it becomes not yet" in told


def test_many_pours_that_would_be_told_alike_are_one_line(house: Opened) -> None:
    """Forty lines one after another hide what they have in common, and the button below."""
    house.made["bath"] = mixed(house)
    copied(house)
    permit(house)
    for _ in range(3):
        house.later(days=1)
        house.say("disposal.treated", studio=house.made["studio"], bath=house.made["bath"],
                  step="base_in", base="crystals", weight=quantity(80, "g"))  # fmt: skip
        house.later(hours=12)
        house.say("reading.taken", bath=house.made["bath"], instrument="ph_strip", ph="7.0",
                  step="0.5")  # fmt: skip
        _pour(house, house.made["bath"], litres=quantity(1, "l"))

    preview = step(
        house, "preview", {**HEAD, **PH, "lines-0-low": "8"},
        to=f"/letter?of={rules_of(house).id}",
    )  # fmt: skip

    told = said_on(preview)
    assert (
        "2025-09-19 to 2025-09-22, 3 times: alum bath : "
        "nothing recorded forbids it becomes not yet" in told
    )
    assert told.count("alum bath : nothing recorded forbids it") == 1


def test_a_letter_says_of_which_wastes_it_says_nothing(house: Opened) -> None:
    """Each local pack has to speak of a waste; one that does not takes away its answer."""
    permit(house)
    everything: Typed = {**HEAD, **PH, "lines-0-wastes": [], "title": "All of it"}
    district: dict[str, Any] = {
        "lines-0-wastes": ["size", "alum_bath"],
        "title": "What the district wrote",
    }
    copied(house, **district)

    alone = step(house, "preview", {**HEAD, **PH, "title": "The permit", "tier": "site_permit"})
    told = said_on(alone)

    assert "These would lose their answer" in told
    lost = told.split("These would lose their answer")[1].split("So it will be told")[0]
    assert "town sewer: old size" in lost
    assert "Copy these lines too" in lost
    assert "pH 6.0 to 10.0" in lost
    assert "alum bath" not in lost.split("Copy these lines too")[0]
    assert "lose their answer" not in said_on(step(house, "preview", everything))


def test_a_letter_is_looked_at_again_within_a_year(house: Opened) -> None:
    """29 February is a day more; two years are not what the hint says."""
    said: Typed = {**HEAD, **PH, "checked_on": "2025-09-17"}

    far = step(house, "preview", {**said, "review_on": "2028-01-01"})

    assert far.status_code == 422
    assert "At most a year after it was held against the letter." in said_on(far)
    for day in ("2026-09-17", "2026-09-18"):
        assert step(house, "preview", {**said, "review_on": day}).status_code == 200


def _pour(house: Opened, bath: str, **more: Any) -> None:
    """Pour half of a bath, the decision kept with it."""
    attachment = kept(decision(house, demo=False, bath=bath), salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(attachment)
    house.say(
        "disposal.done", studio=house.made["studio"], bath=bath, waste="alum_bath",
        outlet="sewer", outcome="nothing_forbids", decision=attachment.name,
        **{"litres": quantity(6, "l"), **more},
    )  # fmt: skip


# ---- what comes with the ledger


def in_country(house: Opened, country: str) -> None:
    state = house.state("studio", house.made["studio"])
    house.say(
        "studio.described", studio=state.id, supersedes=state.edition, name=state.name,
        letter=state.letter, drain="sewer", instruments=list(state.instruments),
        emergency="112", poison="0555 0100", country=country,
        premises_are="business",
    )  # fmt: skip


def test_the_federal_floor_is_offered_where_it_is_law_and_nowhere_else(house: Opened) -> None:
    there_now = house.client("oluwaseun").get(there(house)).text
    assert "shipped=" not in there_now

    in_country(house, "us")

    page = house.client("oluwaseun").get(there(house))
    assert "United States federal floor for drains" in said_on(page)
    assert "They can only make an answer stricter" in said_on(page)
    assert house.client("oluwaseun").get(there(house, "/file?shipped=../x")).status_code == 404


def test_the_federal_floor_can_only_make_an_answer_stricter(house: Opened) -> None:
    """40 CFR 403.5(b)(2): under pH 5.0 nothing goes; over it, the town is still to be asked."""
    in_country(house, "us")
    house.made["bath"] = mixed(house)
    client = house.client("oluwaseun")
    preview = client.get(there(house, "/file?shipped=us-federal-floor"))
    assert "no drain is better than “ask first” by it." in said_on(preview)
    assert "pH at least 5.0." in said_on(preview)

    assert pressed(house, preview, "publish").status_code == 303

    house.later(minutes=5)
    bath = house.made["bath"]
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="3.3", step="0.5")
    assert decision(house, demo=False, bath=bath).outcome == "not_yet"
    soda_in(house)
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="7.0", step="0.5")
    assert decision(house, demo=False, bath=bath, lumps="no", tags=()).outcome == "ask_first"


def test_what_comes_with_the_ledger_is_there_and_reads() -> None:
    for names in SHIPPED.values():
        for name in names:
            assert (RULES / f"{name}.toml").is_file()


def test_a_file_of_another_country_is_not_taken(house: Opened) -> None:
    answer = chosen(house, (RULES / "us-federal-floor.toml").read_text())

    assert answer.status_code == 422
    assert "It speaks of “us”" in said_on(answer)


# ---- out of use, and prompts


def test_rules_are_put_out_of_use_after_what_that_changes_was_shown(house: Opened) -> None:
    house.made["bath"] = mixed(house)
    copied(house)
    rules = rules_of(house).id
    client = house.client("amina")
    page = client.get(there(house, f"/{rules}/withdraw"))
    assert "R-A1 : measure first becomes ask first" in said_on(page)

    form = form_with(page, "supersedes")
    assert client.post(there(house, f"/{rules}/withdraw"), data=form.fields).status_code == 303

    assert "R-A1 : Ask first" in page_of(house)
    assert "put out of use: 2025-09-17, Amina K." in page_of(house)
    assert "pH 6.0 to 10.0." in page_of(house, f"/{rules}/1")
    assert "Out of use" in page_of(house)


def test_a_file_that_was_put_out_of_use_can_be_taken_in_again(house: Opened) -> None:
    """As it was; changed, it is a new edition."""
    pressed(house, chosen(house, of_district()), "publish")
    client = house.client("amina")
    away = there(house, f"/{rules_of(house).id}/withdraw")
    client.post(away, data=form_with(client.get(away), "supersedes").fields)

    assert chosen(house, of_district(high="9.0")).status_code == 422
    assert pressed(house, chosen(house, of_district()), "publish").status_code == 303
    assert rules_of(house).last.in_use


def test_rules_read_over_a_year_ago_prompt(house: Opened) -> None:
    later = of_district().replace("review_on = 2026-09-01", "review_on = 2027-09-17")
    pressed(house, chosen(house, later), "publish")
    assert "over 12 months ago" not in page_of(house)
    house.later(days=366)
    assert "It was last held against its source over 12 months ago." in page_of(house)
    house.later(days=365)
    assert "Since 2027-09-17 it should be held against its source again." in page_of(house)


def test_a_document_that_cannot_be_read_here_is_said_to_be_so(house: Opened) -> None:
    """An invented letter, outside of a demo: nothing of it is believed."""
    publish(house, "ropewalk-sewer")
    rules = rules_of(house).id

    assert "Its document is not here yet, or cannot be read here." in page_of(house)
    assert "cannot be read here" in page_of(house, f"/{rules}/1")
    assert "what would change cannot be shown" in page_of(house, f"/{rules}/withdraw", "amina")


def test_without_a_drain_there_is_nothing_to_ask(house: Opened) -> None:
    state = house.state("studio", house.made["studio"])
    mixed(house)
    house.say(
        "studio.described", studio=state.id, supersedes=state.edition, name=state.name,
        letter=state.letter, drain="not_known", instruments=list(state.instruments),
        emergency="112", poison="0555 0100",
    )  # fmt: skip

    assert "Nobody said yet where the sink drains to" in page_of(house)


# ---- who may, and what is not there


def test_an_empty_jar_is_told_nothing(house: Opened) -> None:
    """Nothing of it goes anywhere; it would stand between what does."""
    copied(house)
    jar = house.say(
        "waste.started",
        studio=house.made["studio"],
        name="spare drum",
        sort="drum",
        holds=quantity(60, "l"),
        wastes=["size"],
    )
    assert "spare drum" not in page_of(house)

    house.say("waste.added", studio=house.made["studio"], jar=jar, waste="size",
              litres=quantity(5, "l"), metal_pigments="no")  # fmt: skip
    assert "spare drum" in page_of(house)


def test_members_read_and_do_not_write(house: Opened) -> None:
    copied(house)
    client = house.client("kahu")
    page = client.get(there(house)).text

    assert "/rules/letter" not in page
    assert "/withdraw" not in page
    for what in ("/letter", "/file", f"/{rules_of(house).id}/withdraw"):
        assert client.get(there(house, what)).status_code == 403


def test_what_is_not_there_is_said_to_be_so(house: Opened) -> None:
    copied(house)
    client = house.client("amina")
    for what in (f"/{NOBODY}", f"/{rules_of(house).id}/7", f"/letter?of={NOBODY}"):
        assert client.get(there(house, what)).status_code == 404
    assert client.get(f"/studios/{NOBODY}/rules").status_code == 404


def test_every_fault_and_every_line_has_its_words() -> None:
    assert set(FAULT_TEXTS) == {*letters.FAULTS, NOT_COME, NOT_A_DAY, TOO_FAR}
    assert tuple(LINE_TITLES) == letters.LINES
    assert set(PACK_FAULTS) == set(ENGLISH)
    for code, text in PACK_FAULTS.items():
        for english, ours in (("{part}", "%(part)s"), ("{options}", "%(options)s")):
            assert english in ENGLISH[code] or ours not in text


ODD = st.sampled_from(
    (
        "", " ", "<b>zq", "½", "-1", "9" * 40, "1e9", "ph", "copper", "litres", "2025-02-30",
        "\t\n", "x" * 500, "\u202e", "{{ 7*7 }}", "%(part)s",
    )
)  # fmt: skip
FIELDS = (*HEAD, *PH, "checked_on", "lines-1-says", "lines-0-steps", "lines-99-of")


@settings(max_examples=25, suppress_health_check=list(HealthCheck), deadline=None)
@given(said=st.dictionaries(st.sampled_from(FIELDS), ODD, max_size=4))
def test_whatever_is_typed_is_answered(house: Opened, said: Typed) -> None:
    """Shown as it will be told, or asked for again; never broken, never taken for markup."""
    answer = step(house, "preview", {**HEAD, **PH, **said})

    assert answer.status_code in (200, 422)
    assert "<b>zq" not in answer.text


@settings(max_examples=25, suppress_health_check=list(HealthCheck), deadline=None)
@given(at=st.integers(0, len(of_district())), odd=ODD)
def test_whatever_stands_in_a_file_is_answered(house: Opened, at: int, odd: str) -> None:
    text = of_district()
    answer = chosen(house, text[:at] + odd + text[at + 1 :])

    assert answer.status_code in (200, 422)
    assert "<b>zq" not in answer.text
