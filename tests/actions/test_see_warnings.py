"""What sorted sheets warn of is told to everybody, until somebody has tested the bath."""

from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_warnings import see_warnings
from tests.support.opened import Opened, furnished, mixed, quantity, sized


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A bath in which 100 sheets came out good, all sorted: what is usual here."""
    house = furnished(tmp_path)
    house.made["good"] = mixed(house)
    came_out(house, through(house, house.made["good"], 100), good=100)
    house.say("bath.finished", bath=house.made["good"], reason="used_up")
    house.made["bath"] = mixed(house, name="R-A2")
    return house


def through(house: Opened, bath: str, count: int) -> str:
    house.later(minutes=1)
    return house.say("sheets.through", "kahu", bath=bath, sheet_count=str(count),
                     sheet_format="half", method="dip", lot=house.made["parcel"],
                     reason="already_done")  # fmt: skip


def came_out(house: Opened, stack: str, **counts: Any) -> None:
    house.later(minutes=1)
    said: dict[str, Any] = {name: str(value) for name, value in counts.items()}
    house.say("sheets.sorted", "kahu", stack=stack, **said)


def warned(house: Opened, bath: str) -> list[tuple[str, int, int]]:
    state = house.state("bath", bath)
    with house.desk() as desk:
        found = see_warnings(desk.journal, (state,)).get(state.id)
    return (
        [(found.found.word, found.found.fault_count, found.found.sorted_count)] if found else []
    )


def test_seven_of_ten_washed_off_warn_of_their_alum_until_a_strip_print(house: Opened):
    """Who comes next has not sorted the sheets, and would use the bath as it is."""
    bath = house.made["bath"]
    came_out(house, through(house, bath, 10), good=3, washed_off=7)
    assert warned(house, bath) == [("washed_off", 7, 10)]

    house.later(minutes=1)
    house.say("reading.taken", bath=bath, instrument="strip_print", outcome="sharp")
    assert warned(house, bath) == []


def test_a_strip_print_before_the_sorting_answers_nothing(house: Opened):
    bath = house.made["bath"]
    stack = through(house, bath, 10)
    house.later(minutes=1)
    house.say("reading.taken", bath=bath, instrument="strip_print", outcome="sharp")
    came_out(house, stack, good=3, washed_off=7)

    assert warned(house, bath) == [("washed_off", 7, 10)]


def test_sheets_alumed_once_more_warn_of_both_their_baths(house: Opened):
    """Nobody can tell which of them failed."""
    first, tub = house.made["bath"], house.say(
        "vessel.described", studio=house.made["studio"], name="low tub",
        brim=quantity(16, "l"), lidded="yes", place="4",
    )  # fmt: skip
    second = mixed(house, name="R-A3", vessel=tub)
    stack = through(house, first, 10)
    house.later(minutes=1)
    house.say("sheets.through", "kahu", bath=second, stack=stack, sheet_count="10",
              sheet_format="half", method="dip")  # fmt: skip
    came_out(house, stack, good=3, washed_off=7)

    assert warned(house, first) == warned(house, second) == [("washed_off", 7, 10)]


def test_small_parts_of_one_stack_add_up(house: Opened):
    bath = house.made["bath"]
    stack = through(house, bath, 10)
    came_out(house, stack, good=1, washed_off=3)
    assert warned(house, bath) == []

    came_out(house, stack, good=2, washed_off=4)
    assert warned(house, bath) == [("washed_off", 7, 10)]


def test_what_is_usual_and_what_is_finished_warns_of_nothing(house: Opened):
    bath = house.made["bath"]
    came_out(house, through(house, bath, 10), good=9, washed_off=1)
    assert warned(house, bath) == []

    came_out(house, through(house, bath, 10), good=3, washed_off=7)
    house.say("bath.finished", bath=bath, reason="used_up")
    assert warned(house, bath) == []


def test_ragged_sheets_warn_of_their_size_until_a_drop_test(house: Opened):
    """The alum they went through is not what made them ragged."""
    bath, size = house.made["bath"], sized(house)
    stack = through(house, bath, 10)
    house.later(minutes=1)
    house.say("sheets.through", "kahu", stack=stack, size=size, sheet_count="10",
              sheet_format="half", reason="already_done")  # fmt: skip
    came_out(house, stack, good=3, ragged=7, size=size)
    assert warned(house, bath) == []
    assert warned(house, size) == [("ragged", 7, 10)]

    house.later(minutes=1)
    house.say("reading.taken", bath=size, instrument="drop_test", outcome="round")
    assert warned(house, size) == []
