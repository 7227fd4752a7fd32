"""A subject is of one sort: asking for it as another finds nothing."""

from pathlib import Path

import pytest

from coop.actions.see_entries import entries_of
from coop.actions.see_stacks import see_stack_history
from coop.ids import EntryId, Subject
from coop.ledger.entries import draft, read_entry
from coop.ledger.ports import Admission
from tests.support.opened import Opened, furnished, mixed, sized

WRONG = {
    "stack.binned": ("stack", {"sheet_count": "3", "reason": "stale"}),
    "sheets.sorted": ("stack", {"good": "3"}),
    "jug.known": ("jug", {"made_it": "no"}),
    "bath.cared": ("bath", {"care": "covered"}),
}


def take_in(house: Opened, kind: str, named: str) -> str:
    """Take in an entry as another server gives it: nobody asks what it names."""
    field, body = WRONG[kind]
    amina = house.members["amina"].member
    id = house.new_id()
    with house.store.writing() as desk:
        entry = draft(
            ledger=desk.journal.ledger,
            id=EntryId(id),
            kind=kind,
            body={field: named, **body},
            author=amina,
            happened_at=house.moment,
            written_at=house.moment,
            said=None,
        )
        desk.journal.append([read_entry(entry)], Admission(at=house.moment, by=amina))
    return id


def test_a_tub_is_no_bath_though_a_bath_was_mixed_in_it(tmp_path: Path):
    """Mixing touches the tub and the lot too; neither becomes a bath by it."""
    house = furnished(tmp_path)
    bath = mixed(house)

    assert house.state("bath", bath).name == "R-A1"
    assert house.state("bath", house.made["tub"]) is None
    assert house.state("bath", house.made["alum"]) is None
    assert house.state("stack", bath) is None


@pytest.mark.parametrize("kind", ["stack.binned", "sheets.sorted", "jug.known"])
def test_what_takes_a_bath_for_something_else_is_none_of_its_entries(tmp_path: Path, kind: str):
    """Its page shows what was done to it, and is shown whatever another server sends."""
    house = furnished(tmp_path)
    alum, size = mixed(house), sized(house)
    for bath in (alum, size):
        take_in(house, kind, bath)
    amina = house.client("amina")

    assert amina.get(f"/baths/{alum}").status_code == 200
    assert amina.get(f"/liquids/{size}").status_code == 200
    with house.desk() as desk:
        found = entries_of(desk.journal, Subject(alum))
    assert [one.id for one in found.here] == [alum]
    assert found.moved == ()


def test_what_takes_a_stack_for_a_bath_is_none_of_its_entries(tmp_path: Path):
    house = furnished(tmp_path)
    stack = house.say("sheets.through", bath=mixed(house), lot=house.made["parcel"],
                      sheet_count="5", sheet_format="half", method="dip")  # fmt: skip
    take_in(house, "bath.cared", stack)

    with house.desk() as desk:
        found = see_stack_history(desk.journal, Subject(stack))
    assert [one.id for one in found.in_force] == [stack]
    assert house.client("amina").get(f"/stacks/{stack}").status_code == 200
