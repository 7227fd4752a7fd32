"""The count card: a whole studio on one page; all lines are written, or none."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from playwright.sync_api import expect

from tests.support.browser import Pages, assert_accessible
from tests.support.forms import Form, forms_of
from tests.support.opened import PASSWORD, Opened, quantity
from tests.support.server import serving, sign_in

UNKNOWN = "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"


@pytest.fixture
def moss(house: Opened) -> str:
    """A tub of carrageenan on the shelf."""
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(600, "g"),
        tare=quantity(85, "g"),
    )


def there(house: Opened) -> str:
    return f"/shelf/count?studio={house.made['studio']}"


def card_of(page: str) -> Form:
    return next(one for one in forms_of(page) if "counted_with" in one.names)


def save(house: Opened, typed: dict[str, str], client: FlaskClient | None = None) -> Any:
    """Type into the card, and save it."""
    client = client or house.client("amina")
    form = card_of(client.get(there(house)).text)
    for name, value in typed.items():
        assert name in form.names, sorted(form.names)
        form.fields[name] = [value]
    return client.post(there(house), data=form.fields)


def line(lot: str, field: str) -> str:
    return f"lot-{lot}-{field}"


def counts(house: Opened, lot: str) -> Any:
    return house.state("lot", lot).counts


def test_every_lot_of_the_studio_stands_on_it_with_what_can_be_said(
    house: Opened, moss: str
) -> None:
    """Alum and moss go on the scale, paper is counted."""
    page = house.client("kahu").get(there(house))
    form = card_of(page.text)

    assert page.status_code == 200
    assert line(house.made["alum"], "weight.typed") in form.names
    assert form.fields[line(moss, "tare.typed")] == ["85"]
    assert line(house.made["parcel"], "loose") in form.names
    assert line(house.made["parcel"], "weight.typed") not in form.names
    assert page.text.count("Never counted.") == 3


def test_one_save_counts_what_was_typed_and_nothing_else(house: Opened, moss: str) -> None:
    """Two went round together; the parcel was not looked at."""
    kahu = house.members["kahu"].member

    client = house.client("amina")
    answer = save(
        house,
        {
            "counted_with": kahu,
            line(moss, "weight.typed"): "683",
            line(house.made["alum"], "weight.typed"): "5000",
        },
        client,
    )

    assert answer.headers["Location"] == "/shelf"
    assert "2 lots counted." in client.get("/shelf").text
    assert counts(house, moss)[-1].seen == 598_000_000
    assert counts(house, moss)[-1].counted_with == kahu
    assert counts(house, moss)[-1].put_right is not None
    assert counts(house, house.made["alum"])[-1].put_right is None
    assert counts(house, house.made["parcel"]) == ()


def test_one_gap_leads_to_its_cause_and_several_to_the_list(house: Opened, moss: str) -> None:
    parcel = house.made["parcel"]
    one = save(house, {line(parcel, "loose"): "900"})
    assert one.headers["Location"] == f"/lots/{parcel}/gap"

    house.later(hours=1)
    two = save(house, {line(parcel, "loose"): "900", line(moss, "weight.typed"): "400"})
    assert two.headers["Location"] == "/sort-it-out#counts"


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("loose", "some", "A number, please"),
        ("packs", "1.5", "whole number"),
        ("loose", "900000", "From 0 to"),
    ],
)
def test_one_bad_line_keeps_all_that_was_typed_and_says_which(
    house: Opened, moss: str, field: str, value: str, told: str
) -> None:
    """Nobody counts forty lots twice for one slip."""
    parcel = house.made["parcel"]
    typed = {line(moss, "weight.typed"): "683", line(parcel, field): value}

    answer = save(house, typed)

    assert answer.status_code == 422
    assert f'<a href="#{line(parcel, field)}">P-31: ' in answer.text
    assert told in answer.text
    form = card_of(answer.text)
    for name, kept in typed.items():
        assert form.fields[name] == [kept]
    assert counts(house, moss) == ()


def test_what_the_ledger_refuses_undoes_the_whole_card(house: Opened, moss: str) -> None:
    """The scale showed less than the tub: seen only when it is written."""
    alum = house.made["alum"]
    typed = {line(alum, "weight.typed"): "4900", line(moss, "weight.typed"): "80"}

    answer = save(house, typed | {line(moss, "tare.typed"): ""})

    assert answer.status_code == 422
    assert "K-3: " in answer.text
    assert counts(house, alum) == ()
    assert card_of(answer.text).fields[line(alum, "weight.typed")] == ["4900"]


def test_a_card_without_a_line_is_not_a_count(house: Opened) -> None:
    answer = save(house, {})

    assert answer.status_code == 422
    assert "Nothing was typed: no lot is counted." in answer.text


def test_saved_twice_it_is_written_once(house: Opened, moss: str) -> None:
    client = house.client("amina")
    form = card_of(client.get(there(house)).text)
    form.fields[line(moss, "weight.typed")] = ["683"]

    for _ in range(2):
        assert client.post(there(house), data=form.fields).status_code == 303

    assert len(counts(house, moss)) == 1


def test_a_lot_that_was_used_up_meanwhile_keeps_its_line(house: Opened, moss: str) -> None:
    """What somebody has typed is never dropped in silence."""
    client = house.client("amina")
    form = card_of(client.get(there(house)).text)
    form.fields[line(moss, "weight.typed")] = ["145"]
    house.say("lot.adjusted", lot=moss, way="out", amount=quantity(600, "g"), cause="spoiled")

    assert client.post(there(house), data=form.fields).status_code == 303

    assert counts(house, moss)[-1].seen == 60_000_000


def test_another_studio_has_a_card_of_its_own(house: Opened) -> None:
    barn = house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )
    page = house.client("amina").get(f"/shelf/count?studio={barn}").text

    assert "Nothing stands on this shelf." in page
    assert there(house) in page
    first = house.client("amina").get(f"/shelf/count?studio={UNKNOWN}").text
    assert "Count card, Ropewalk" in first


@pytest.mark.parametrize(
    ("part", "shown"),
    [("", 50), ("1", 50), ("2", 3), ("9", 3), ("0", 50), ("-1", 50), ("x", 50)],
)
def test_a_full_shelf_is_counted_card_by_card(house: Opened, part: str, shown: int) -> None:
    """A phone opens fifty lines, not two hundred."""
    for n in range(51):
        house.say(
            "lot.received",
            studio=house.made["studio"],
            what="carrageenan",
            name=f"K-{n}",
            weight=quantity(600, "g"),
        )

    page = house.client("amina").get(f"{there(house)}&part={part}").text

    assert page.count("Never counted.") == shown
    assert f"Card {2 if shown == 3 else 1} of 2" in page
    assert f"part={1 if shown == 3 else 2}" in page


def test_nobody_counts_who_is_not_signed_in(house: Opened) -> None:
    assert house.client().get("/shelf/count").headers["Location"].startswith("/sign-in")
    assert house.client("amina").delete("/shelf/count").status_code in (400, 405)


def test_only_what_is_on_it_is_cautioned_of(house: Opened, moss: str) -> None:
    """Soda hurts where there is soda; a shelf of moss and alum has none."""
    client = house.client("kahu")
    assert "alum can damage eyes" in client.get(there(house)).text
    assert "burns eyes and skin" not in client.get(there(house)).text

    soda = house.say("supply.described", what="soda", measure="weight", name="washing soda")
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="supply",
        supply=soda,
        name="WS-1",
        weight=quantity(1, "kg"),
    )

    assert "burns eyes and skin" in client.get(there(house)).text


def test_a_line_is_folded_until_it_says_something(house: Opened, moss: str) -> None:
    """Sixteen lots unfolded are eleven screens of a phone; a slip is unfolded."""
    empty = house.client("amina").get(there(house)).text
    slip = save(house, {line(moss, "weight.typed"): "a lot"}).text

    assert empty.count("data-line>") == 3
    assert slip.count("data-line>") == 2
    assert f'id="line-{moss}" data-line open>' in slip


def test_on_paper_it_is_a_table_to_write_into(house: Opened, moss: str) -> None:
    """Who reads what should be there sees that; so nothing of it stands on the paper."""
    page = house.client("amina").get(there(house)).text
    paper = page.partition('class="print-only"')[2].partition("</table>")[0]

    assert paper.count("<tr>") == 1 + 3
    assert "<select" not in paper
    assert "600" not in paper
    assert "1000" not in paper
    for name in ("K-3", "AS-24", "P-31", "Remarks", "Counted by ____", " and ____"):
        assert name in paper
    assert 'class="form count-card screen-only"' in page


@pytest.mark.browser
def test_how_many_lines_are_filled_in_is_said_while_they_are(
    house: Opened, pages: Pages, moss: str
) -> None:
    """Folded lines hide what was typed: each says it again, and their number stands below."""
    with serving(house.app()) as origin:
        page = pages.phone(origin)
        sign_in(page, "amina", PASSWORD)
        page.goto(there(house))
        folded = page.locator(f"#line-{moss}")
        expect(page.get_by_text("0 of 3 lots filled in")).to_be_visible()

        folded.locator("summary").click()
        folded.get_by_label("Unopened packs").fill("2")

        expect(page.get_by_text("1 of 3 lots filled in")).to_be_visible()
        expect(folded.locator("summary")).to_contain_text("2")
        assert_accessible(page)
