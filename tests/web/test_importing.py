"""An opening stock from a table: shown first, then all of it or nothing, and never twice."""

from io import BytesIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from coop.actions.import_stock import COLUMNS, LINES_MAX, NEEDED, _plain, read_stock
from coop.actions.see_shelf import lots_on_hand
from coop.ledger.schema import Slip
from coop.web.csv_out import safe
from coop.web.pages.importing import ABOUT, FILE_FAULTS
from tests.support.opened import Opened, quantity, token

HEADING = "studio,what,of,name,packs,amount,unit,supplier,received,best before,opened,tare g"
ALUM = "Ropewalk,alum,aluminium_sulfate_14,AS-30,,5,kg,Supplier A,2025-09-01,,2025-09-03,212"
SIZE = "Ropewalk,carrageenan,lambda,CG-09,2,454,g,,2025-09-02,2027-06-30,,"
PAPER = "Ropewalk,paper,P-31,P-31 c,2,480,sheets,,2025-09-02,,,"


def send(house: Opened, text: str | bytes, who: str = "amina", **more: str) -> TestResponse:
    """Choose a file on the page."""
    client = house.client(who)
    data = text.encode() if isinstance(text, str) else text
    form: dict[str, Any] = {"csrf_token": token(client.get("/shelf/import").text), **more}
    form["file"] = (BytesIO(data), "stock.csv")
    return client.post("/shelf/import", data=form, content_type="multipart/form-data")


def confirm(house: Opened, text: str, who: str = "amina") -> TestResponse:
    """Take in what was shown."""
    client = house.client(who)
    form = {"csrf_token": token(client.get("/shelf/import").text), "text": text}
    return client.post("/shelf/import", data=form, follow_redirects=True)


def on_hand(house: Opened) -> dict[str, int]:
    with house.desk() as desk:
        return {look.lot.name: look.left for look in lots_on_hand(desk.journal)}


def table(*lines: str) -> str:
    return "\r\n".join((HEADING, *lines)) + "\r\n"


def test_what_it_says_is_shown_before_anything_is_written(house: Opened) -> None:
    before = on_hand(house)

    page = send(house, table(ALUM, SIZE))

    assert page.status_code == 200
    assert "Receive 2 lots" in page.text
    assert "AS-30" in page.text
    assert on_hand(house) == before


def test_every_lot_comes_in_as_it_was_bought(house: Opened) -> None:
    house.say(
        "paper.described",
        name="P-31",
        length=quantity(700, "mm"),
        width=quantity(500, "mm"),
        chalk="none",
    )

    page = confirm(house, table(ALUM, SIZE, PAPER))

    assert "3 lots received." in page.text
    found = on_hand(house)
    assert found["AS-30"] == 5_000_000_000
    assert found["CG-09"] == 908_000_000
    assert found["P-31 c"] == 2 * 480 * 4


def test_dates_tare_and_the_opened_tub_are_kept(house: Opened) -> None:
    confirm(house, table(ALUM, SIZE))

    with house.desk() as desk:
        lots = {look.lot.name: look.lot for look in lots_on_hand(desk.journal)}
    alum, size = lots["AS-30"], lots["CG-09"]
    assert alum.tare_g == 212
    assert alum.supplier == "Supplier A"
    assert alum.received_at.isoformat()[:10] == "2025-09-01"
    assert alum.opened_at is not None
    assert alum.opened_at.isoformat()[:10] == "2025-09-03"
    assert (size.pack_count, str(size.best_before)) == (2, "2027-06-30")


def test_the_same_file_twice_writes_nothing_twice(house: Opened) -> None:
    """Somebody taps twice, or takes it in again a week later, or another does."""
    house.join("Teodor V.", "member", "coordinator")
    confirm(house, table(ALUM, SIZE))
    before = on_hand(house)
    house.later(days=7)

    again, other = confirm(house, table(ALUM, SIZE)), confirm(house, table(SIZE), "teodor")

    assert "Every lot of this file was here already." in again.text
    assert "Every lot of this file was here already." in other.text
    assert on_hand(house) == before
    assert "there is nothing to take in" in send(house, table(ALUM)).text


SPELT_OTHERWISE = [
    SIZE.replace("454", "454.0"),
    SIZE.replace("454", "454,0").replace(",", ";").replace("454;0", "454,0"),
    SIZE.replace("lambda", "Lambda"),
    SIZE.replace("2025-09-02", "20250902"),
    SIZE.replace(",2,454", ",2.0,454"),
    SIZE.replace("Ropewalk,carrageenan", "ropewalk,Carrageenan"),
]


@pytest.mark.parametrize("line", SPELT_OTHERWISE)
def test_a_line_that_says_the_same_in_other_signs_is_here_already(
    house: Opened, line: str
) -> None:
    """A table saved by another program writes its numbers and days in its own way."""
    confirm(house, table(SIZE))
    before = on_hand(house)
    heading = HEADING.replace(",", ";") if ";" in line else HEADING

    page = confirm(house, f"{heading}\n{line}\n")

    assert "Every lot of this file was here already." in page.text
    assert on_hand(house) == before


def test_what_a_cell_leaves_open_is_what_it_says_of_it(house: Opened) -> None:
    """An empty type is one not known, an empty number of packs is one pack."""
    confirm(house, table(SIZE.replace("lambda", "").replace(",2,454", ",,454")))

    spelt = SIZE.replace("lambda", "not known").replace(",2,454", ",1,454")

    assert "Every lot of this file was here already." in confirm(house, table(spelt)).text


def test_a_supplier_described_meanwhile_makes_no_second_lot(house: Opened) -> None:
    confirm(house, table(ALUM))
    house.say("supplier.described", name="Supplier A")

    assert "Every lot of this file was here already." in confirm(house, table(ALUM)).text


def test_a_supply_of_another_kind_is_not_found_by_its_name(house: Opened) -> None:
    """Gloves taken in as bleach would be counted on where bleach is needed."""
    house.say("supply.described", what="gloves", name="gloves", measure="pieces")
    line = "Ropewalk,bleach,gloves,G-1,,100,pieces,,,,,"

    page = send(house, table(line))

    assert page.status_code == 422
    assert "Line 2, column “of”" in page.text
    confirmed = confirm(house, table(line.replace("bleach", "gloves")))
    assert "1 lot received." in confirmed.text


def test_two_tubs_that_read_alike_are_two(house: Opened) -> None:
    """Nobody names every bottle; two lines are two lots, also when sent once more."""
    confirm(house, table(SIZE, SIZE))
    confirm(house, table(SIZE, SIZE))

    with house.desk() as desk:
        names = [look.lot.name for look in lots_on_hand(desk.journal)]
    assert names.count("CG-09") == 2


def test_a_line_more_in_the_same_file_is_all_that_is_new(house: Opened) -> None:
    confirm(house, table(ALUM))

    assert "1 lot received." in confirm(house, table(ALUM, SIZE)).text


def test_one_bad_line_keeps_all_out_and_is_named(house: Opened) -> None:
    before = on_hand(house)
    bad = SIZE.replace("454", "lots")

    page = send(house, table(ALUM, bad))
    forced = confirm(house, table(ALUM, bad))

    assert page.status_code == 422
    assert "Line 3, column “amount”" in page.text
    assert "A number, please" in page.text
    assert "lots" in page.text
    assert forced.status_code == 422
    assert on_hand(house) == before


BAD = [
    (ALUM.replace("Ropewalk", "Attic"), "studio"),
    (ALUM.replace("alum,", "flour,", 1), "what"),
    (ALUM.replace("aluminium_sulfate_14", "table salt"), "of"),
    (ALUM.replace("aluminium_sulfate_14", ""), "of"),
    (ALUM.replace("AS-30", ""), "name"),
    (ALUM.replace("AS-30", "x" * 41), "name"),
    (ALUM.replace(",5,", ",,"), "amount"),
    (ALUM.replace(",5,", ",5000,"), "amount"),
    (ALUM.replace("kg", "stone"), "unit"),
    (ALUM.replace("kg", "pieces"), "unit"),
    (ALUM.replace(",,5", ",0,5"), "packs"),
    (ALUM.replace(",,5", ",1.5,5"), "packs"),
    (ALUM.replace("2025-09-01", "1 Sept"), "received"),
    (ALUM.replace("2025-09-01", "2031-09-01").replace("2025-09-03", ""), "received"),
    (ALUM.replace("2025-09-03", "2025-08-03"), "opened"),
    (ALUM.replace("212", "a tub"), "tare g"),
    (SIZE.replace("2027-06-30", "June"), "best before"),
    (SIZE.replace("lambda", "red"), "of"),
    (PAPER.replace("P-31,", "P-99,", 1), "of"),
    ("Ropewalk,gloves,Gloves,M,1,100,pieces,,,,,", "of"),
    (ALUM + ",more", ""),
]


@pytest.mark.parametrize(("line", "column"), BAD)
def test_a_cell_that_cannot_be_is_named_by_its_column(
    house: Opened, line: str, column: str
) -> None:
    with house.desk() as desk:
        stock = read_stock(
            desk.journal, house.members["amina"], table(ALUM, line), now=house.moment
        )

    assert [(one.line, one.column) for one in stock.faults] == [(3, column)]
    assert send(house, table(line)).status_code == 422


def faults_of(house: Opened, line: str) -> dict[str, Any]:
    with house.desk() as desk:
        stock = read_stock(desk.journal, house.members["amina"], table(line), now=house.moment)
    return {one.column: one for one in stock.faults}


def test_all_cells_of_a_line_that_cannot_be_are_told_at_once(house: Opened) -> None:
    """Forty lines with two slips each are two tries, not forty."""
    line = "Attic,flour,,,0,-5,stone,,1 Sept,June,,a tub"

    found = faults_of(house, line)

    assert set(found) == {
        "studio", "what", "name", "packs", "unit", "received", "best before", "tare g",
    }  # fmt: skip
    page = send(house, table(line))
    assert page.text.count("Line 2, column") == len(found)


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        (ALUM.replace("Ropewalk", "Attic"), "Here that is: Ropewalk"),
        (ALUM.replace("alum,", "flour,", 1), "Here that is: alum, paper, carrageenan"),
        (ALUM.replace("kg", "stone"), "Here that is: g, kg, lb"),
        (ALUM.replace("aluminium_sulfate_14", "salt"), "Here that is: aluminium_sulfate_14"),
        (SIZE.replace("lambda", "red"), "Here that is: lambda, kappa"),
        (PAPER.replace("P-31,", "P-99,", 1), "Here that is: P-31"),
    ],
)
def test_a_word_that_is_not_known_is_told_with_those_that_are(
    house: Opened, line: str, offered: str
) -> None:
    """'Choose one of these' without these is no help to somebody in a spreadsheet."""
    assert offered in send(house, table(line)).text


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (ALUM.replace(",5,", ",-5,"), "More than 0 and at most"),
        (SIZE.replace(",2,", ",-2,", 1), "From 1 to 1000, please."),
        (ALUM.replace(",5,", ',"1,250",'), "Thousands or decimals?"),
    ],
)
def test_a_number_that_cannot_be_is_told_with_what_may_be(
    house: Opened, line: str, told: str
) -> None:
    """Minus five is a number: what it should be is above nothing."""
    assert told in send(house, table(line)).text


def test_what_was_understood_is_shown_not_what_was_typed(house: Opened) -> None:
    """2,5 in a cell may be anything until somebody says five kilograms in all."""
    line = ALUM.replace(",,5,kg", ',2,"2,5",kg')

    page = send(house, table(line, SIZE)).text

    assert "aluminium sulfate, 14-hydrate" in page
    assert "2 of 2.5 kg: 5 kg in all" in page
    assert "came 2025-09-01; opened 2025-09-03; the empty tub weighs 212 g" in page
    assert "carrageenan, lambda" in page
    assert "2 of 454 g: 908 g in all" in page
    assert "best before 2027-06-30" in page


LEFT = HEADING.replace("unit,", "unit,left,")


@pytest.mark.parametrize(
    ("line", "comes"),
    [
        (ALUM.replace("kg,", "kg,3.5,"), (1, 3_500_000_000)),
        (ALUM.replace("kg,", "kg,,"), (1, 5_000_000_000)),
        (SIZE.replace("454,g,", "454,g,908,"), (2, 908_000_000)),
        (SIZE.replace("454,g,", "454,g,500,"), (1, 500_000_000)),
        (PAPER.replace("sheets,", "sheets,700.5,"), (1, 700 * 4)),
    ],
)
def test_what_is_left_is_what_comes_in(
    house: Opened, line: str, comes: tuple[int, int]
) -> None:
    """What is gone went before the ledger began: it was never drawn here."""
    confirm(house, f"{LEFT}\r\n{line}\r\n")
    name = line.split(",")[3]

    with house.desk() as desk:
        (lot,) = (one.lot for one in lots_on_hand(desk.journal) if one.lot.name == name)
    assert (lot.pack_count, lot.received) == comes


@pytest.mark.parametrize("left", ["-3", "0", "some"])
def test_what_is_left_must_be_something(house: Opened, left: str) -> None:
    text = f"{LEFT}\r\n{ALUM.replace('kg,', f'kg,{left},')}\r\n"

    page = send(house, text)

    assert page.status_code == 422
    assert "Line 2, column “left”" in page.text


def test_a_shelf_that_was_taken_out_is_taken_in_again(house: Opened) -> None:
    """A co-operative that parts, or begins anew, takes its shelf with it."""
    house.say("lot.adjusted", lot=house.made["alum"], way="out", amount=quantity("480", "g"),
              cause="spoiled")  # fmt: skip
    house.say("lot.received", studio=house.made["studio"], what="gall", name="G-1",
              volume=quantity(500, "ml"))  # fmt: skip
    made = house.say("supply.described", what="gloves", name="Gloves M", measure="pieces")
    house.say("lot.received", studio=house.made["studio"], what="supply", supply=made,
              name="=box", piece_count="100")  # fmt: skip
    text = house.client("amina").get("/shelf.csv").get_data(as_text=True)

    assert "4 lots received." in confirm(house, text).text
    with house.desk() as desk:
        looks = lots_on_hand(desk.journal)
    for name in ("AS-24", "P-31", "G-1", "=box"):
        first, second = (look.left for look in looks if look.lot.name == name)
        assert first == second


FILES = [
    ("", "empty"),
    (HEADING, "empty"),
    (HEADING + "\r\n,,,\r\n", "empty"),
    (b"\xff\xfe\x00", "not-text"),
    ("x" * 200_001, "too-long"),
    (HEADING + "\r\n" + (ALUM + "\r\n") * (LINES_MAX + 1), "too-many"),
    (HEADING + '\r\n"never closed', "not-a-list"),
    (HEADING.replace("studio,", ""), "missing"),
    (HEADING + ",colour\r\n" + ALUM, "unknown-field"),
    (HEADING + ",unit\r\n" + ALUM, "key-twice"),
]


@pytest.mark.parametrize(("data", "code"), FILES)
def test_a_file_that_is_no_such_table_is_refused(
    house: Opened, data: str | bytes, code: str
) -> None:
    page = send(house, data)

    assert page.status_code == 422
    assert FILE_FAULTS[code].partition("%")[0].partition("“")[0] in page.text


def test_every_fault_of_a_file_has_its_sentence_and_is_reached_above() -> None:
    assert {code for _, code in FILES} == set(FILE_FAULTS)


def test_every_column_is_told_of_and_the_empty_table_has_them(house: Opened) -> None:
    answer = house.client("amina").get("/shelf/import/template.csv")

    assert answer.get_data(as_text=True).strip("\ufeff\r\n") == ",".join(COLUMNS)
    assert set(ABOUT) == set(COLUMNS) > set(NEEDED)


@pytest.mark.parametrize("sign", [";", "\t"])
def test_semicolons_and_tabs_read_as_commas_do(house: Opened, sign: str) -> None:
    """A spreadsheet that writes decimals with a comma parts cells by a semicolon."""
    text = table(ALUM.replace(",5,kg", ",2.5,kg")).replace(",", sign).replace("2.5", "2,5")

    confirm(house, text)

    assert on_hand(house)["AS-30"] == 2_500_000_000


def test_a_described_supply_is_found_by_its_name_whatever_its_case(house: Opened) -> None:
    made = house.say("supply.described", what="gloves", name="Gloves M", measure="pieces")

    confirm(house, table("ropewalk,gloves,gloves m,M box,3,100,pieces,,,,,"))

    with house.desk() as desk:
        (lot,) = (one.lot for one in lots_on_hand(desk.journal) if one.lot.name == "M box")
    assert (lot.substance, lot.received, lot.measure) == (f"supply:{made}", 300, "pieces")


@given(st.text(max_size=30))
def test_a_cell_that_was_written_safe_reads_as_it_was(typed: str) -> None:
    """An apostrophe of our own is taken off again; somebody's own stays."""
    cell = typed.strip()

    if not cell.startswith("'"):
        assert _plain(safe(cell)) == cell


def test_a_broken_table_says_so_to_code_too(house: Opened) -> None:
    with house.desk() as desk, pytest.raises(Slip, match="missing"):
        read_stock(desk.journal, house.members["amina"], "name\r\nx", now=house.moment)
