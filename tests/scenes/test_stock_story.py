"""
The shelf of the invented co-operative, through its pages: an order due, paper short, a move.

Told until the moment that matters; from there on people do what they do, form by form.
"""

import re
from pathlib import Path
from typing import Any

from coop.ids import Subject
from tests.support.forms import forms_of, send
from tests.support.opened import Opened
from tests.support.story import AFTERWARDS, at, opened_at

MOSS = "powder:carrageenan"
WHY = (
    "class of 12 on 4 Oct takes 240 g; 8 days to arrive, 3 to review; "
    "133 g left on 12 Oct, floor 150 g"
)


def page_of(house: Opened, there: str, who: str = "amina") -> str:
    answer = house.client(who).get(there)
    assert answer.status_code == 200, answer.text
    return str(answer.text)


def due_of(house: Opened) -> str:
    """Return what the order list says is to be ordered today."""
    page = page_of(house, "/orders")
    return page.split('id="due"')[1].split("</section>")[0]


def lot_of(house: Opened, name: str, studio: str = "Ropewalk") -> str:
    """Return the one lot of a name in a studio."""
    with house.desk() as desk:
        journal = desk.journal
        (found,) = [
            str(one.id)
            for one in journal.listed("lot")
            if one.name == name and journal.state("studio", one.studio).name == studio
        ]
    return found


def left(house: Opened, lot: str) -> int:
    with house.desk() as desk:
        return sum(desk.journal.held([f"lot:{lot}"]).values())


def count(house: Opened, who: str, lot: str, **typed: str) -> Any:
    """Type what was seen, have it said back, write it."""
    client, there = house.client(who), f"/lots/{lot}/count"
    back = send(client, there, dict(typed))
    form = next(one for one in forms_of(back.text) if "warned" in one.names)
    return client.post(there, data=form.fields)


def test_a_class_of_nine_needs_no_order_and_a_class_of_twelve_needs_one_that_day(
    tmp_path: Path,
) -> None:
    """The day before nothing was due; the sentence can be done again by hand."""
    before, after = tmp_path / "before", tmp_path / "after"
    before.mkdir()
    after.mkdir()

    assert "carrageenan" not in due_of(opened_at(before, at("2025-09-30 18:30"))).lower()
    due = due_of(opened_at(after, at("2025-10-01 09:15")))
    assert "Order today: 2 packs of 454 g" in due
    assert WHY in due


def test_what_was_ordered_arrives_and_is_ordered_no_more(tmp_path: Path) -> None:
    """Ordered on the first, here on the ninth: the next order reckons with eight days."""
    house = opened_at(tmp_path, at("2025-10-01 09:15"))
    placed = send(house.client("amina"), f"/orders/place?supply={MOSS}")
    order = placed.headers["Location"].rsplit("/", 1)[1]
    state = house.state("order", order)

    assert placed.status_code == 303
    assert (state.packs, state.pack, state.expected.isoformat()) == (
        2, 454_000_000, "2025-10-09",
    )  # fmt: skip
    assert "carrageenan" not in due_of(house).lower()

    house.moment = at("2025-10-09 11:00")
    with house.desk() as desk:
        studio = next(one for one in desk.journal.listed("studio") if one.letter == "R")
    came = send(
        house.client("amina"), f"/shelf/receive/powder?order={order}",
        {"name": "CG-11", "carrageenan": "lambda", "studio": studio.id},
    )  # fmt: skip
    assert came.status_code == 303, came.text
    assert house.state("order", order).open_packs == 0
    assert left(house, lot_of(house, "CG-11")) == 908_000_000
    assert house.state("supply", MOSS).arrival_days == (8,)


def test_paper_is_40_short_and_the_ream_was_480(tmp_path: Path) -> None:
    """Mateus counts, is asked whether a ream holds 480, and Amina puts the lot right."""
    house = opened_at(tmp_path, at("2025-10-19 14:30"))
    lot = lot_of(house, "P-31")
    answer = count(house, "mateus", lot, loose="491.5")
    gap = page_of(house, answer.headers["Location"], "mateus")

    assert "Expected 531.5 full sheets, seen 491.5: 40 fewer." in gap
    assert "Does a pack hold 480 full sheets, not 500 full sheets?" in gap
    assert left(house, lot) == 531.5 * 4

    amina, there = house.client("amina"), f"/entries/{lot}/correct"
    forms = forms_of(amina.get(there).text)
    form = next(one for one in forms if "content.body.sheet_count" in one.names)
    typed = {"content.body.sheet_count": "480", "reason": "typing_slip", "outcome": "replace"}
    mended = amina.post(there, data={**form.fields, **typed})

    assert mended.status_code == 303, mended.text
    assert left(house, lot) == 491.5 * 4
    assert "Nothing is left to be asked about it." in page_of(house, f"/lots/{lot}/gap")


def test_a_box_that_is_missing_here_and_over_there_was_carried(tmp_path: Path) -> None:
    """One tap writes the move; nothing is made or lost by it, and both gaps close."""
    house = opened_at(tmp_path, AFTERWARDS, demo=True)
    name = "Gloves, August"
    here, there = lot_of(house, name), lot_of(house, name, "Orchard Barn")
    before = left(house, here) + left(house, there)
    gap = page_of(house, f"/lots/{here}/gap", "kahu")

    assert re.search(r"In Orchard Barn 50 \S.* too many were counted on .*: moved\?", gap)
    moved = send(house.client("kahu"), f"/lots/{here}/gap", action=f"/lots/{here}/gap/moved")
    assert moved.status_code == 303, moved.text
    assert left(house, here) + left(house, there) == before
    assert left(house, there) == 100
    for lot in (here, there):
        assert "Nothing is left to be asked about it." in page_of(house, f"/lots/{lot}/gap")


def test_a_visitor_of_the_demo_finds_a_shelf_that_is_lived_in(tmp_path: Path) -> None:
    """An order due for Saturday's class, one that is late, gall that will not keep."""
    house = opened_at(tmp_path, AFTERWARDS, demo=True)
    orders = page_of(house, "/orders")
    shelf = page_of(house, "/shelf", "kahu")

    assert "class of 12 on 22 Nov takes 195 g" in due_of(house)
    assert "White" in orders
    for name in ("CG-11", "AS-24", "P-31", "G-3", "K-8", "Strips, August"):
        assert name in shelf
    with house.desk() as desk:
        (session,) = desk.journal.listed_in("session", [Subject("2025-11")])[1:]
        permissions = desk.journal.listed("permission")
    assert (session.head_count, session.starts_at.isoweekday()) == (12, 6)
    asked = {(one.answer, one.asked_on.isoformat()) for one in permissions}
    assert asked == {("with_conditions", "2025-08-18"), ("no", "2025-08-18")}
