"""The order list: what is on hand, used, booked and on the way, and when to order."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.actions.see_orders import OrderLine, OrderList, order_list
from coop.ids import Subject
from coop.web import ordering
from coop.web.i18n import Words, read_catalogues
from tests.support.opened import Opened, furnished, quantity, sized
from tests.support.queries import counted
from tests.support.story import BERLIN, at, opened_at

MOSS = Subject("powder:carrageenan")
G = 1_000_000
SATURDAY = datetime(2025, 10, 4, 8, 0, tzinfo=UTC)
"""When the class of these tests begins: two weeks and a half after they start."""


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with 600 g of carrageenan, floor 150 g; 8 days to arrive, 3 to review."""
    house = furnished(tmp_path)
    house.made["moss"] = received(house, 600)
    house.made["described"] = house.say(
        "supply.described",
        what="carrageenan",
        floor=quantity(150, "g"),
        pack=quantity(454, "g"),
        days_to_arrive="8",
        review_days="3",
    )
    return house


def received(house: Opened, grams: int, **more: Any) -> str:
    body = {
        "studio": house.made["studio"],
        "what": "carrageenan",
        "name": "K-3",
        "carrageenan": "lambda",
        "weight": quantity(grams, "g"),
    }
    return house.say("lot.received", **(body | more))


def second_studio(house: Opened) -> str:
    return house.say(
        "studio.described",
        name="Tannery",
        letter="T",
        drain="sewer",
        emergency="112",
        poison="0555 0100",
    )


def used(house: Opened, grams: float, **more: Any) -> str:
    part = {
        "powder": "carrageenan",
        "lot": house.made["moss"],
        "amount": quantity(grams, "g"),
    }
    size = sized(house, powder=[part], **more)
    house.say("bath.finished", bath=size, reason="used_up")
    return size


def put_right(house: Opened, grams: int, cause: str) -> None:
    """Write that so much less is there than the ledger says, and why."""
    house.say(
        "lot.adjusted",
        lot=house.made["moss"],
        way="out",
        amount=quantity(grams, "g"),
        cause=cause,
    )


def booked(house: Opened, grams: int, **more: Any) -> str:
    need = {"what": "carrageenan", "amount": quantity(grams, "g")}
    body = {
        "studio": house.made["studio"],
        "name": "Saturday class",
        "starts": SATURDAY.isoformat(),
        "head_count": "12",
        "under_16": "no",
        "needs": [need] if grams else [],
    }
    return house.say("session.planned", **(body | more))


def listed(house: Opened) -> OrderList:
    with house.desk() as desk:
        return order_list(desk.journal, now=house.moment, zone=BERLIN)


def line_of(house: Opened, supply: str = MOSS) -> OrderLine:
    (line,) = [one for one in listed(house).every if one.supply.id == supply]
    return line


def moss_of_the_demo(folder: Path, now: datetime) -> tuple[OrderLine, str]:
    """Return the demo's carrageenan on the list, and why in words."""
    words = Words("en", BERLIN, read_catalogues()["en"])
    found = listed(opened_at(folder, now))
    (line,) = [one for one in found.lines if one.supply.id == MOSS]
    return line, ordering.why(words, line, found.today)


def test_the_demos_first_of_october_wants_an_order(tmp_path: Path) -> None:
    """The sum by hand: 577 - 240 - 130 x 11 / 7 = 133 g left, under the floor of 150 g."""
    line, why = moss_of_the_demo(tmp_path, at("2025-10-01 09:15"))

    assert line.use.weekly.per_week == pytest.approx(132.6 * G)
    assert (line.facts.on_hand, line.use.per_week) == (577 * G, 130 * G)
    assert line.due
    assert line.plan is not None
    assert (line.plan.packs, line.plan.amount) == (2, 908 * G)
    assert why == (
        "class of 12 on 4 Oct takes 240 g; 8 days to arrive, 3 to review; "
        "133 g left on 12 Oct, floor 150 g"
    )


def test_an_order_on_the_way_is_not_ordered_again(tmp_path: Path) -> None:
    """Half an hour later it was ordered: 908 g come, and the list says so."""
    line, why = moss_of_the_demo(tmp_path, at("2025-10-01 10:00"))

    assert not line.due
    assert [one.amount for one in line.facts.on_the_way] == [908 * G]
    assert "908 g on the way" in why


def test_nothing_is_due_while_the_shelf_is_full(house: Opened) -> None:
    """Without any use the stock stays as it is, for ever."""
    plan = line_of(house).plan

    assert plan is not None
    assert (plan.order_by, plan.runs_out_on, plan.packs) == (None, None, 0)


def test_a_supply_without_a_floor_stands_apart(house: Opened) -> None:
    """Nobody can say when to order what may run out."""
    found = listed(house)

    assert [one.supply.id for one in found.lines] == [MOSS]
    assert {one.supply.what for one in found.without_floor} == {"alum", "paper"}
    assert all(one.plan is None for one in found.without_floor)


def test_a_booking_alone_makes_an_order_without_a_floor(house: Opened) -> None:
    """5 kg of alum stand there and a class takes 6: whoever orders is to hear it."""
    need = {"what": "alum", "salt": "aluminium_sulfate_14", "amount": quantity(6, "kg")}
    booked(house, 0, needs=[need], starts="2025-09-24T10:00+02:00")
    found = listed(house)
    (line,) = found.due

    assert line.supply.what == "alum"
    assert line.plan is not None
    assert (line.plan.left, line.plan.amount) == (-1_000 * G, 5_000 * G)
    assert [one.supply.what for one in found.without_floor] == ["paper"]


def test_a_booking_that_finds_enough_makes_no_order_without_a_floor(house: Opened) -> None:
    need = {"what": "alum", "salt": "aluminium_sulfate_14", "amount": quantity(5, "kg")}
    booked(house, 0, needs=[need], starts="2025-09-24T10:00+02:00")

    assert not listed(house).due


def test_what_lies_under_nothing_unused_asks_for_no_order(house: Opened) -> None:
    """Gum written out beyond what came in is to be counted: nobody uses or booked it."""
    gum: dict[str, Any] = {"what": "gum", "name": "G-1", "weight": quantity(100, "g")}
    lot = house.say("lot.received", studio=house.made["studio"], **gum)
    house.say("lot.adjusted", lot=lot, way="out", amount=quantity(101, "g"), cause="pack_size")

    assert line_of(house, "powder:gum").plan is None


def test_kappa_and_iota_are_no_stock_for_marbling(house: Opened) -> None:
    """They set to a jelly: 600 g of lambda are on hand, whatever else stands there."""
    received(house, 500, name="K-8", carrageenan="kappa")
    received(house, 408, name="K-9", carrageenan="iota")
    line = line_of(house)

    assert (line.facts.on_hand, line.gelling, line.spoiled) == (600 * G, 908 * G, 0)


def test_what_is_not_ordered_any_more_is_not_on_the_list(house: Opened) -> None:
    edition = house.state("supply", MOSS).edition
    house.say("supply.described", what="carrageenan", supersedes=edition, ordered="no")

    assert MOSS not in [one.supply.id for one in listed(house).every]


def test_what_is_on_the_way_is_seen_though_it_is_not_ordered_again(house: Opened) -> None:
    """The last tub ever ordered still has to be waited for."""
    placed = order(house)
    edition = house.state("supply", MOSS).edition
    house.say("supply.described", what="carrageenan", supersedes=edition, ordered="no")
    found = listed(house)

    assert MOSS not in [one.supply.id for one in found.every]
    assert [one.id for line in found.coming for one in line.coming] == [placed]


def test_what_stands_in_two_studios_is_one_stock(house: Opened) -> None:
    """One list for all studios: what stands in one can be carried to the other."""
    other = second_studio(house)
    received(house, 200, studio=other)

    assert line_of(house).facts.on_hand == 800 * G


def test_a_booked_class_is_counted_once_whether_drawn_or_not(house: Opened) -> None:
    """What was drawn for it is gone from the shelf, so that much is booked no more."""
    class_ = booked(house, 240)
    before = line_of(house).facts
    used(house, 100, session=class_)
    after = line_of(house).facts

    assert [one.amount for one in before.bookings] == [240 * G]
    assert [one.amount for one in after.bookings] == [140 * G]
    assert after.on_hand == before.on_hand - 100 * G


def test_more_drawn_for_a_class_than_booked_books_nothing(house: Opened) -> None:
    class_ = booked(house, 240)
    used(house, 250, session=class_)

    assert line_of(house).facts.bookings == ()


def test_a_class_that_is_called_off_or_over_takes_nothing(house: Opened) -> None:
    """Nor does one of which nothing was written: it is over, and a count will tell."""
    class_ = booked(house, 240)
    house.later(days=18)
    assert line_of(house).facts.bookings == ()

    house.moment -= timedelta(days=18)
    booked(house, 240, session=class_, supersedes=class_, called_off="yes")
    assert line_of(house).facts.bookings == ()


def test_a_class_of_this_morning_still_stands_in_the_list(house: Opened) -> None:
    """Its size may be mixed at noon; without an end it is over half a day after its start."""
    booked(house, 240)
    house.moment = SATURDAY + timedelta(hours=11, minutes=59)
    assert line_of(house).facts.bookings

    house.later(minutes=2)
    assert not line_of(house).facts.bookings


def test_a_class_that_has_ended_is_not_booked_any_more(house: Opened) -> None:
    """At four the class is over and what it did not take is free again."""
    booked(house, 240, ends=(SATURDAY + timedelta(hours=6)).isoformat())
    house.moment = SATURDAY + timedelta(hours=5, minutes=59)
    assert line_of(house).facts.bookings

    house.later(minutes=2)
    assert not line_of(house).facts.bookings


def test_what_a_count_says_that_a_class_used_is_booked_no_more(house: Opened) -> None:
    """Counted during the class: 600 g less 200 for it, of 240 booked 40 are left."""
    booked(house, 240, ends=(SATURDAY + timedelta(hours=6)).isoformat())
    house.moment = SATURDAY + timedelta(hours=5)
    put_right(house, 200, "class")
    facts = line_of(house).facts

    assert facts.on_hand == 400 * G
    assert [one.amount for one in facts.bookings] == [40 * G]


def test_a_count_of_one_class_is_not_taken_off_the_next(house: Opened) -> None:
    """What Thursday's class used is counted: Saturday's needs all of its own."""
    thursday = SATURDAY - timedelta(days=2)
    booked(house, 200, starts=thursday.isoformat())
    booked(house, 240)
    house.moment = thursday + timedelta(hours=6)
    put_right(house, 200, "class")
    assert [one.amount for one in line_of(house).facts.bookings] == [240 * G]

    house.moment = SATURDAY + timedelta(hours=1)
    assert [one.amount for one in line_of(house).facts.bookings] == [240 * G]


def test_a_weekend_course_over_a_months_end_is_booked_to_its_last_hour(house: Opened) -> None:
    """Friday to Sunday, the first two days of another month: it is listed under its first."""
    friday = datetime(2025, 10, 31, 8, tzinfo=UTC)
    sunday = datetime(2025, 11, 2, 17, tzinfo=UTC)
    booked(house, 240, starts=friday.isoformat(), ends=sunday.isoformat())
    house.moment = sunday - timedelta(hours=1)
    assert [one.amount for one in line_of(house).facts.bookings] == [240 * G]

    house.later(hours=1)
    assert line_of(house).facts.bookings == ()


def test_what_classes_use_is_told_apart_and_is_no_weekly_use(house: Opened) -> None:
    """A class is booked; reckoned into the week as well it would count twice."""
    used(house, 100)
    used(house, 200, session=booked(house, 240))
    use = line_of(house).use

    assert (use.short, use.long) == (100 * G, 100 * G)
    assert (use.booked_short, use.booked_long) == (200 * G, 200 * G)
    assert use.per_week == 100 * G


def test_what_a_count_says_that_a_class_used_stands_with_the_classes(house: Opened) -> None:
    """Gloves are counted after a class; the next class books its own."""
    put_right(house, 24, "class")
    use = line_of(house).use

    assert (use.long, use.booked_long, use.per_week) == (0, 24 * G, 0)


@pytest.mark.parametrize("cause", ["used", "spoiled", "not_written_down"])
def test_what_a_count_says_was_used_is_weekly_use(house: Opened, cause: str) -> None:
    put_right(house, 24, cause)

    assert line_of(house).use.long == 24 * G


@pytest.mark.parametrize("cause", ["lost", "pack_size", "counting_noise"])
def test_what_was_never_there_is_no_use(house: Opened, cause: str) -> None:
    put_right(house, 24, cause)

    assert line_of(house).use.long == 0


def test_weeks_before_the_first_use_say_nothing(house: Opened) -> None:
    """In the second week of a supply the use of a week is that of two, not of eight."""
    used(house, 100)
    house.later(weeks=1)
    used(house, 50)
    weekly = line_of(house).use.weekly

    assert (weekly.per_week, weekly.week_count) == (75 * G, 2)


def test_a_first_use_long_ago_makes_all_eight_weeks_count(house: Opened) -> None:
    """Used half a year ago and once since: it is used now and then, not every week."""
    used(house, 100)
    house.later(weeks=26)
    used(house, 80)
    use = line_of(house).use

    assert (use.weekly.week_count, use.weekly.used_week_count) == (8, 1)
    assert use.weekly.by == "fading"
    assert use.long == 80 * G
    assert use.per_week < 40 * G


def test_use_before_the_last_four_weeks_is_in_the_eight_alone(house: Opened) -> None:
    used(house, 100)
    house.later(weeks=4)
    assert (line_of(house).use.short, line_of(house).use.long) == (0, 100 * G)

    house.later(weeks=4)
    assert line_of(house).use.long == 0


def order(house: Opened, **more: Any) -> str:
    body = {"what": "carrageenan", "packs": "2", "pack": quantity(454, "g")}
    return house.say("order.placed", **(body | more))


def test_what_came_of_an_order_is_on_the_way_no_more(house: Opened) -> None:
    """One of two tubs came: it is on hand, and one is still to come."""
    placed = order(house, expected="2025-09-25")
    house.later(days=8)
    received(house, 454, order=placed)
    line = line_of(house)

    assert line.facts.on_hand == (600 + 454) * G
    assert [(one.day, one.amount) for one in line.facts.on_the_way] == [
        (date(2025, 9, 25), 454 * G)
    ]
    assert [one.arrived_packs for one in line.coming] == [1]


def test_what_came_in_packs_of_another_size_is_reckoned_by_amount(house: Opened) -> None:
    """Four packs of 250 g were ordered, and one of 1 kg came: nothing is to come."""
    placed = order(house, packs="4", pack=quantity(250, "g"))
    received(house, 1_000, order=placed)

    assert line_of(house).facts.on_hand == 1_600 * G
    assert sum(one.amount for one in line_of(house).facts.on_the_way) == 0


def test_an_order_long_overdue_is_not_waited_for(house: Opened) -> None:
    """Expected on 25 Sept: two weeks it may be late; after that the list orders again."""
    edition = house.made["described"]
    house.say("supply.described", what="carrageenan", supersedes=edition,
              floor=quantity(700, "g"), days_to_arrive="8")  # fmt: skip
    placed = order(house)
    house.later(days=8 + 14)
    line = line_of(house)
    assert (len(line.facts.on_the_way), line.overdue, line.due) == (1, (), False)

    house.later(days=1)
    line = line_of(house)
    assert (line.facts.on_the_way, line.due) == ((), True)
    assert [one.id for one in line.overdue] == [one.id for one in line.coming] == [placed]


def test_what_is_past_its_day_is_not_on_hand(house: Opened) -> None:
    """1,000 g stand there, 400 of them past their label's day: 600 are left."""
    received(house, 400, best_before="2025-09-20")
    house.later(days=3)
    assert (line_of(house).facts.on_hand, line_of(house).spoiled) == (1_000 * G, 0)

    house.later(days=1)
    assert (line_of(house).facts.on_hand, line_of(house).spoiled) == (600 * G, 400 * G)


def test_a_cancelled_rest_is_not_waited_for(house: Opened) -> None:
    placed = order(house)
    house.say("order.cancelled", order=placed, reason="not_to_be_had")

    assert line_of(house).facts.on_the_way == ()
    assert line_of(house).coming == ()


def test_an_order_without_a_day_is_expected_by_the_days_to_arrive(house: Opened) -> None:
    order(house)
    (coming,) = line_of(house).facts.on_the_way

    assert coming.day == date(2025, 9, 17) + timedelta(days=8)


def test_days_to_arrive_are_learned_before_what_is_written(house: Opened) -> None:
    """Written are 8 days; the last three orders took 5, 6 and 30, and one late one misleads."""
    assert (line_of(house).facts.lead_days, line_of(house).lead_by) == (8, "supply")
    for days in (5, 6, 30):
        placed = order(house, packs="1")
        house.later(days=days)
        received(house, 454, order=placed)

    assert (line_of(house).facts.lead_days, line_of(house).lead_by) == (6, "learned")


def test_days_to_arrive_are_the_suppliers_else_common_practice(house: Opened) -> None:
    """Nobody wrote them for alum; the default is marked as having no source."""
    alum = Subject("salt:aluminium_sulfate_14")
    assert (line_of(house, alum).facts.lead_days, line_of(house, alum).lead_by) == (
        10,
        "default",
    )

    supplier = house.say("supplier.described", name="Supplier A", days_to_arrive="6")
    house.say("supply.described", what="alum", salt="aluminium_sulfate_14", sold_by=supplier)
    assert (line_of(house, alum).facts.lead_days, line_of(house, alum).lead_by) == (
        6,
        "supplier",
    )


def test_a_pack_nobody_wrote_is_that_of_the_newest_lot(house: Opened) -> None:
    """A part that was carried to another studio is no pack of its supplier."""
    alum = Subject("salt:aluminium_sulfate_14")
    assert line_of(house, alum).facts.pack == 5_000 * G

    other = second_studio(house)
    house.later(days=1)
    house.say("lot.moved", lot=house.made["alum"], studio=other, amount=quantity(700, "g"))
    assert line_of(house, alum).facts.pack == 5_000 * G


def test_paper_is_reckoned_in_quarters_of_a_sheet(house: Opened) -> None:
    """So half and quarter sheets of a class add up to the parents that are bought."""
    paper = house.made["paper"]
    house.say("supply.described", what="paper", paper=paper, floor_count="100",
              pack_count="500")  # fmt: skip
    line = line_of(house, f"paper:{paper}")

    assert (line.facts.on_hand, line.facts.floor, line.facts.pack) == (4_000, 400, 2_000)
    assert line.paper is not None
    assert line.paper.name == "P-31"


def test_lines_stand_by_the_day_to_order(house: Opened) -> None:
    """What is due today comes first, what is never due last."""
    house.say("supply.described", what="alum", salt="aluminium_sulfate_14",
              floor=quantity(6, "kg"))  # fmt: skip
    used(house, 100)
    house.say("supply.described", what="paper", paper=house.made["paper"], floor_count="1")
    found = listed(house)

    assert [one.supply.what for one in found.lines] == ["alum", "carrageenan", "paper"]
    assert [one.supply.what for one in found.due] == ["alum"]


GRAMS = st.integers(min_value=0, max_value=2_000)


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(one=GRAMS, other=GRAMS)
def test_a_larger_class_never_needs_less(house: Opened, one: int, other: int) -> None:
    """Asked through the ledger: more needed never puts the day off, nor orders less on it."""
    if "class" not in house.made:
        house.made["class"] = booked(house, 240)
    first = house.made["class"]
    plans = []
    for grams in sorted((one, other)):
        edition = house.state("session", first).edition
        booked(house, grams, session=first, supersedes=edition)
        plan = line_of(house).plan
        assert plan is not None
        plans.append(plan)
    small, large = plans

    assert (large.order_by or date.max) <= (small.order_by or date.max)
    if small.order_by is not None and large.order_by == small.order_by:
        assert large.amount >= small.amount
        assert large.left <= small.left


def supplied(house: Opened, count: int) -> None:
    """Describe so many colours, each with a lot, an order and a place in a class."""
    needs = []
    for number in range(count):
        colour = house.say(
            "supply.described",
            what="colour",
            name=f"Colour {number}",
            measure="volume",
            floor=quantity(100, "ml"),
        )
        of: dict[str, Any] = {"what": "supply", "supply": colour}
        house.say(
            "lot.received",
            studio=house.made["studio"],
            name=f"C-{number}",
            volume=quantity(500, "ml"),
            **of,
        )
        house.say("order.placed", packs="1", pack=quantity(500, "ml"), **of)
        needs.append({**of, "amount": quantity(10, "ml")})
    booked(house, 0, needs=needs[:12])


def test_the_list_asks_the_same_of_the_database_whatever_its_length(house: Opened) -> None:
    """Three hundred supplies are read as quickly as three: no question is asked for each."""
    asked = []
    for more in (1, 20):
        supplied(house, more)
        with counted(house.store) as statements:
            found = listed(house)
        asked.append(len(statements))
        assert len(found.every) > more

    assert asked[0] == asked[1]
    assert asked[1] <= 20
