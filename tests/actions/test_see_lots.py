"""Where a lot went: every way in and out, and the lines always add up."""

import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.actions.see_lots import WhereItWent, lots_alike, plan_cut, where_it_went
from coop.ids import Subject
from coop.ledger import accounts
from tests.support.opened import Opened, furnished, mixed, quantity

GRAMS = st.integers(1, 300)
ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("mix"), GRAMS),
        st.tuples(st.just("move"), GRAMS),
        st.tuples(st.just("into"), GRAMS),
        st.tuples(st.sampled_from(["lost", "class", "spoiled", "moved"]), GRAMS),
        st.tuples(st.just("found"), GRAMS),
        st.tuples(st.just("undo"), st.integers(0, 6)),
    ),
    min_size=1,
    max_size=7,
)


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


class Stock:
    """Two tubs of carrageenan in two studios, and what is done with the first."""

    def __init__(self, folder: Path) -> None:
        self.house = furnished(folder)
        self.barn = self.house.say(
            "studio.described",
            name="Barn",
            letter="B",
            drain="septic",
            emergency="112",
            poison="0555 0100",
        )
        self.lots = [self.receive(self.house.made["studio"]), self.receive(self.barn)]
        self.size = self.house.say(
            "bath.mixed",
            name="R-S1",
            what="size",
            studio=self.house.made["studio"],
            vessel=self.house.made["tub"],
            water=quantity(10, "l"),
            powder=[self.part(50)],
        )
        self.written: list[str] = []

    def receive(self, studio: str) -> str:
        return self.house.say(
            "lot.received",
            studio=studio,
            what="carrageenan",
            name="K-3",
            carrageenan="lambda",
            weight=quantity(1, "kg"),
        )

    def do(self, act: str, much: int) -> None:
        self.house.later(minutes=1)
        if act == "undo":
            self.undo(much)
        elif act == "mix":
            self.written.append(self.mix(much))
        else:
            self.written.append(self.house.say(*self.entry(act), **self.body(act, much)))

    def entry(self, act: str) -> tuple[str]:
        return ("lot.moved" if act in ("move", "into") else "lot.adjusted",)

    def body(self, act: str, much: int) -> dict[str, Any]:
        body: dict[str, Any] = {"lot": self.lots[0], "amount": quantity(much, "g")}
        if act in ("move", "into"):
            to = {"into": self.lots[1]} if act == "into" else {}
            return body | {"studio": self.barn} | to
        way = "in" if act == "found" else "out"
        return body | {"way": way, "cause": "other" if act == "found" else act}

    def mix(self, much: int) -> str:
        """Thicken the size with so much of the first tub."""
        return self.house.say("bath.topped_up", bath=self.size, powder=[self.part(much)])

    def part(self, much: int) -> dict[str, Any]:
        return {"powder": "carrageenan", "lot": self.lots[0], "amount": quantity(much, "g")}

    def undo(self, place: int) -> None:
        if not self.written:
            return
        target = self.written.pop(place % len(self.written))
        self.house.say("entry.corrected", target=target, outcome="void", reason="undone")

    def went(self) -> list[tuple[WhereItWent, int]]:
        """Return every lot's ways with what its account holds."""
        with self.house.desk() as desk:
            journal = desk.journal
            held = journal.holding("lot")
            return [
                (where_it_went(journal, one), held.get((f"lot:{one.id}", one.substance), 0))
                for one in journal.listed("lot")
                if one.what == "carrageenan"
            ]


@settings(max_examples=40, deadline=None)
@given(acts=ACTS)
def test_every_way_of_every_lot_adds_up_to_what_came_in(acts: list[tuple[str, int]]):
    """Whatever is drawn, moved, put right and taken back: no gram is without an answer."""
    with tempfile.TemporaryDirectory() as folder:
        stock = Stock(Path(folder))
        for act, much in acts:
            stock.do(act, much)
        found = stock.went()
        stock.house.store.close()

    ways: Counter[str] = Counter()
    for one, held in found:
        assert one.came_in - sum(way.amount for way in one.went) == held == one.left
        assert all(way.amount > 0 for way in (*one.came, *one.went))
        for way in one.came:
            ways[way.sort] -= way.amount
        for way in one.went:
            ways[way.sort] += way.amount
    assert ways["supplier"] == -2_000 * accounts.UG_PER_G
    assert ways["lot"] == 0, "what one lot gave another took"
    assert sum(ways.values()) == -sum(held for _, held in found)


def test_draws_of_one_bath_are_one_way(house: Opened):
    """Mixed and strengthened twice: a bath is named once, with all it took."""
    bath = mixed(house)
    for _ in range(2):
        house.later(minutes=1)
        house.say(
            "bath.topped_up",
            bath=bath,
            salt=[{"lot": house.made["alum"], "amount": quantity(10, "g")}],
        )
    with house.desk() as desk:
        lot = desk.journal.state("lot", Subject(house.made["alum"]))
        found = where_it_went(desk.journal, lot)

    (way,) = found.went
    assert (way.sort, way.other) == ("bath", bath)
    assert way.amount == 500 * accounts.UG_PER_G
    assert found.state_of(way).name == "R-A1"


@pytest.fixture
def small(house: Opened) -> str:
    return house.say(
        "paper.described",
        name="a quarter",
        length=quantity(250, "mm"),
        width=quantity(350, "mm"),
        chalk="not_known",
    )


def test_cut_sheets_lead_to_their_parents_and_back(house: Opened, small: str):
    made = house.say(
        "lot.cut",
        lot=house.made["parcel"],
        sheet_count="10",
        paper=small,
        made_count="39",
        name="quarters",
    )
    with house.desk() as desk:
        parents, sheets = (
            desk.journal.state("lot", Subject(one)) for one in (house.made["parcel"], made)
        )
        gave = where_it_went(desk.journal, parents)
        got = where_it_went(desk.journal, sheets)

    assert gave.state_of(gave.went[0]).id == made
    assert gave.offcut_m2(gave.went[0]) == pytest.approx(0.0875)
    assert got.state_of(got.came[0]).id == house.made["parcel"]
    assert (gave.left, got.left) == (990 * 4, 39 * 4)


def test_what_comes_out_of_a_parent_is_told_with_the_least_offcut_first(
    house: Opened, small: str
):
    """P-31 is 500 by 700 mm: four quarters without offcut, one A2 (ISO 216) with a third."""
    for name, sides in (("A2", (594, 420)), ("wall", (2_000, 1_000))):
        house.say(
            "paper.described",
            name=name,
            length=quantity(sides[0], "mm"),
            width=quantity(sides[1], "mm"),
            chalk="not_known",
        )
    with house.desk() as desk:
        lot = desk.journal.state("lot", Subject(house.made["parcel"]))
        plans = plan_cut(desk.journal, lot)

    assert [(one.paper.name, one.count, one.turned) for one in plans] == [
        ("a quarter", 4, False),
        ("A2", 1, False),
        ("a quarter", 2, True),
    ]
    assert plans[1].offcut_part == pytest.approx(1 - 594 * 420 / (500 * 700))


def test_only_lots_of_the_same_supply_with_something_left_are_alike(tmp_path: Path):
    """What is used up, or another thing, takes nothing in."""
    stock = Stock(tmp_path)
    today = stock.house.moment.date()
    with stock.house.desk() as desk:
        lot = desk.journal.state("lot", Subject(stock.lots[0]))
        alike = [one.id for one in lots_alike(desk.journal, lot, today=today)]
        alum = desk.journal.state("lot", Subject(stock.house.made["alum"]))
        none = lots_alike(desk.journal, alum, today=today)

    assert alike == [stock.lots[1]]
    assert none == ()
