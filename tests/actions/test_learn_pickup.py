"""Pairs of level readings: what lies between them decides whether they teach anything."""

from typing import Any

import pytest

from coop.actions.learn_pickup import see_pickups
from coop.ledger.ports import Admission
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    LEDGER,
    NODE,
    PAPER,
    an_id,
    corrected,
    described,
    mixed,
    on,
    q,
    say,
    through,
    topped_up,
)

OTHER_PAPER = an_id(70)
FLOOR_M2 = 0.74 * 0.54
TOOK_L = 131 * 10.5 / 1000


def level(n: int, litres: float, hour: int, minute: int = 0) -> Any:
    depth = q(f"{litres / FLOOR_M2:g}", "mm")
    return say("reading.taken", an_id(n), at=on(18, hour, minute), bath=BATH,
               instrument="dipstick", depth=depth)  # fmt: skip


def found(*between: Any, after: float = 12 - TOOK_L) -> dict[str, int]:
    """Return how many pairs each method has, with entries between two readings."""
    journal = MemoryJournal(ledger=LEDGER, node=NODE)
    other = say("paper.described", OTHER_PAPER, at=on(2), name="P-40", length=q(700, "mm"),
                width=q(500, "mm"), weight_g_per_m2="100", chalk="none")  # fmt: skip
    entries = [*described(), other, mixed(at=on(18, 8)), level(50, 12, 9), *between,
               level(51, after, 11)]  # fmt: skip
    journal.append(entries, Admission(at=on(29), by=AMINA))
    looks = see_pickups(journal, journal.state("paper", PAPER))
    return {one.method: one.pair_count for one in looks}


SHEETS = through(an_id(60), 60, at=on(18, 10))
FOREIGN = say("sheets.through", an_id(61), at=on(18, 10, 5), bath=BATH, sheet_count="9",
              sheet_format="half", method="dip", paper=OTHER_PAPER)  # fmt: skip


def test_two_levels_with_sheets_of_one_paper_between_them_are_a_pair() -> None:
    assert found(SHEETS) == {"dip": 1}


def test_two_entries_of_the_same_sheets_are_one_pair() -> None:
    half = [through(an_id(60 + n), 30, at=on(18, 10, n)) for n in range(2)]

    assert found(*half) == {"dip": 1}


def test_what_moves_no_liquid_may_lie_between() -> None:
    """A lid, a claim, a strip print: the level is as it was."""
    lid = say("bath.cared", an_id(61), at=on(18, 10, 5), bath=BATH, care="covered")
    strip = say("reading.taken", an_id(62), at=on(18, 10, 6), bath=BATH,
                instrument="strip_print", outcome="sharp")  # fmt: skip

    assert found(SHEETS, lid, strip) == {"dip": 1}


@pytest.mark.parametrize(
    "between",
    [
        [],
        [SHEETS, FOREIGN],
        [SHEETS, through(an_id(61), 9, at=on(18, 10, 5), method="sponge")],
        [SHEETS, topped_up(an_id(61), at=on(18, 10, 5), water=q(1, "l"))],
        [SHEETS, say("bath.split", an_id(61), at=on(18, 10, 5), bath=BATH,
                     parts=[{"vessel": an_id(98), "name": "R-A9", "litres": q(1, "l")}])],
        [SHEETS, say("bath.carried", an_id(61), at=on(18, 10, 5), bath=BATH,
                     vessel=an_id(98))],
        [SHEETS, corrected(an_id(61), SHEETS, "void", at=on(19))],
    ],
    ids=["nothing", "another paper", "another method", "water", "poured off", "carried",
         "taken back"],
)  # fmt: skip
def test_anything_else_between_them_teaches_nothing(between: list[Any]) -> None:
    assert found(*between) == {"dip": 0}


def test_a_reading_that_was_not_believed_makes_no_pair() -> None:
    """Half the tub is gone: something was not written down."""
    assert found(SHEETS, after=3) == {"dip": 0}
