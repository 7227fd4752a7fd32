"""What needs somebody: each kind of need, of whom it wants what, and what was put off."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_needs import Expiring, Need, Needs, needs, see_needs
from coop.ids import MemberId
from coop.ledger.kinds import NEEDS
from tests.support.opened import HOUSE, Opened, furnished, mixed, quantity, sized
from tests.support.queries import counted

MOSS = "powder:carrageenan"


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """One studio with a sewer; amina coordinates, ines teaches, noor keeps the money."""
    made = furnished(tmp_path)
    made.join("Noor T.", "member", "treasurer")
    made.join("Ines L.", "member", "teacher")
    return made


def see(house: Opened, who: str, ahead_days: int = 0) -> Needs:
    member = house.members[who]
    with house.desk() as desk:
        return see_needs(
            desk.journal,
            member.member,
            member.roles,
            now=house.moment,
            ahead_days=ahead_days,
        )


def of(house: Opened, who: str, code: str, ahead_days: int = 0) -> list[Need]:
    return [one for one in see(house, who, ahead_days).open if one.code == code]


def moss(house: Opened, grams: int = 577, **more: Any) -> str:
    """Receive carrageenan, with a floor of 150 g."""
    lot = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(grams, "g"),
        **more,
    )
    house.say(
        "supply.described",
        what="carrageenan",
        floor=quantity(150, "g"),
        pack=quantity(454, "g"),
        days_to_arrive="8",
    )
    return lot


def planned(house: Opened, grams: int = 240, day: str = "2025-09-27", **more: Any) -> str:
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "name": "Saturday class",
        "starts": f"{day}T10:00+02:00",
        "head_count": "12",
        "under_16": "no",
        "needs": [{"what": "carrageenan", "amount": quantity(grams, "g")}],
    }
    return house.say("session.planned", **(body | more))


def permitted(house: Opened, **more: Any) -> str:
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "about": "all_of_it",
        "asked": "Town water office",
        "asked_on": "2025-09-01",
        "answer": "yes",
    }
    return house.say("permission.recorded", **(body | more))


def test_a_bath_to_be_looked_at_wants_a_coordinator_and_whoever_mixed_it(house: Opened) -> None:
    """The others have the word on the tub; they are not asked to do anything about it."""
    bath = mixed(house)
    house.say("reading.taken", "kahu", bath=bath, instrument="strip_print",
              outcome="soft")  # fmt: skip

    assert [one.about for one in of(house, "amina", "look-at-bath")] == [bath]
    assert of(house, "kahu", "look-at-bath") == []
    assert of(house, "oluwaseun", "look-at-bath") == []


def test_a_stopped_bath_wants_the_safety_officer_and_stands_first(house: Opened) -> None:
    moss(house, 100)
    bath = mixed(house)
    house.say("bath.stopped", "kahu", bath=bath, reason="looks_wrong")

    (need,) = of(house, "oluwaseun", "look-at-bath")
    assert (need.about, need.hard) == (bath, True)
    assert see(house, "amina").open[0].about == bath


def test_a_word_that_turns_in_time_is_told_ahead_with_its_day(house: Opened) -> None:
    """A calendar shows it before; the room only when it has come."""
    bath = mixed(house)
    (ahead,) = [one for one in of(house, "amina", "look-at-bath", 40) if one.about == bath]

    assert of(house, "amina", "look-at-bath") == []
    assert ahead.due == date(2025, 10, 15)
    house.later(days=28)
    assert [one.about for one in of(house, "amina", "look-at-bath")] == [bath]


def test_a_rest_that_is_over_wants_its_maker_until_somebody_touches_it(house: Opened) -> None:
    """Size must rest over night: next morning whoever made it is told."""
    house.say(
        "recipe.published",
        what="size",
        name="five",
        dose="5 g/L",
        powder="carrageenan",
        rest_hours="12",
        amount=quantity(5, "g"),
        per=quantity(1, "l"),
    )
    size = sized(house, who="kahu", recipe=_recipe_of(house))
    assert of(house, "kahu", "resting-over") == []
    (ahead,) = of(house, "kahu", "resting-over", 1)
    assert (ahead.about, ahead.due) == (size, date(2025, 9, 18))

    house.later(hours=13)
    assert [one.about for one in of(house, "kahu", "resting-over")] == [size]
    assert [one.about for one in of(house, "amina", "resting-over")] == [size]
    assert of(house, "oluwaseun", "resting-over") == []

    house.say("bath.cared", "amina", bath=size, care="skimmed")
    assert of(house, "kahu", "resting-over") == []


def _recipe_of(house: Opened) -> str:
    with house.desk() as desk:
        return str(desk.journal.listed("recipe")[-1].id)


def test_a_stack_going_stale_is_its_members_alone(house: Opened) -> None:
    """A coordinator sees everything but the stacks of others."""
    bath = mixed(house)
    stack = house.say("sheets.through", "kahu", bath=bath, sheet_count="60",
                      sheet_format="half", method="dip", lot=house.made["parcel"])  # fmt: skip
    assert of(house, "kahu", "stack-stale") == []
    house.later(hours=30)

    (need,) = of(house, "kahu", "stack-stale")
    assert (need.about, need.due) == (stack, date(2025, 9, 19))
    assert of(house, "amina", "stack-stale") == []


def test_what_is_to_be_ordered_wants_a_coordinator(house: Opened) -> None:
    moss(house, 100)

    assert [one.about for one in of(house, "amina", "order")] == [MOSS]
    for other in ("kahu", "ines", "noor", "oluwaseun"):
        assert of(house, other, "order") == []


def test_a_class_that_takes_more_than_there_is_is_an_order_without_a_floor(
    house: Opened,
) -> None:
    """5 kg of alum stand there and Saturday takes 6: nobody set a floor, it is told all the
    same.
    """
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Saturday class",
        starts=(house.moment + timedelta(days=3)).isoformat(),
        head_count="12",
        under_16="no",
        needs=[{"what": "alum", "salt": "aluminium_sulfate_14", "amount": quantity(6, "kg")}],
    )

    assert "salt:aluminium_sulfate_14" in [one.about for one in of(house, "amina", "order")]


def test_an_order_that_has_not_come_is_told_on_its_day(house: Opened) -> None:
    order = house.say("order.placed", what="carrageenan", packs="2", expected="2025-09-24")
    house.later(days=6)
    assert of(house, "amina", "arrival") == []
    assert [one.about for one in of(house, "amina", "arrival", 1)] == [order]
    house.later(days=1)
    (need,) = of(house, "amina", "arrival")
    assert (need.about, need.due) == (order, date(2025, 9, 24))


def test_an_order_of_what_is_not_ordered_again_is_expected_when_the_order_list_says(
    house: Opened,
) -> None:
    """Forty days to arrive are written for it: on the twentieth nobody is asked to look."""
    house.say("supply.described", what="carrageenan", floor=quantity(150, "g"),
              pack=quantity(454, "g"), days_to_arrive="40", ordered="no")  # fmt: skip
    house.say("order.placed", what="carrageenan", packs="1", pack=quantity(454, "g"))
    house.later(days=20)
    assert of(house, "amina", "arrival") == []

    house.later(days=20)
    assert [one.due for one in of(house, "amina", "arrival")] == [date(2025, 10, 27)]


def test_an_order_long_overdue_covers_no_class(house: Opened) -> None:
    """Half a year late: the class of tomorrow is short, and the supply is to be ordered."""
    house.say("supply.described", what="carrageenan", floor=quantity(150, "g"),
              pack=quantity(454, "g"), days_to_arrive="8")  # fmt: skip
    house.say("order.placed", what="carrageenan", packs="1", pack=quantity(454, "g"))
    house.later(days=200)
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Saturday class",
        starts="2026-04-06T10:00+02:00",
        head_count="8",
        under_16="no",
        needs=[{"what": "carrageenan", "amount": quantity(240, "g")}],
    )

    assert of(house, "amina", "session-short")
    assert of(house, "amina", "order")


def test_a_day_of_the_open_pack_is_told_while_the_sealed_ones_are_good(house: Opened) -> None:
    """Four bottles of gall, one opened: it is asked after, and only it."""
    lot = house.say("lot.received", studio=house.made["studio"], what="gall", name="G",
                    weight=quantity(100, "g"), pack_count="4", opened_days="30")  # fmt: skip
    house.say("lot.opened", lot=lot)
    house.later(days=40)
    (need,) = of(house, "amina", "expiring")

    assert isinstance(need.of, Expiring)
    assert (need.of.until.by, need.due) == ("open_pack", date(2025, 10, 17))


def test_what_expires_is_told_two_weeks_before(house: Opened) -> None:
    lot = moss(house, best_before="2025-10-02")
    assert of(house, "amina", "expiring") == []
    house.later(days=1)

    (need,) = of(house, "amina", "expiring")
    assert (need.about, need.due) == (lot, date(2025, 10, 2))


def test_what_was_not_counted_for_a_month_is_to_be_counted(house: Opened) -> None:
    assert of(house, "amina", "count") == []
    assert {one.due for one in of(house, "amina", "count", 31)} == {date(2025, 10, 17)}
    house.later(days=31)

    due = of(house, "amina", "count")
    assert {one.about for one in due} == {house.made["alum"], house.made["parcel"]}
    house.say("lot.counted", lot=house.made["parcel"], packs="2")
    assert [one.about for one in of(house, "amina", "count")] == [house.made["alum"]]


def test_a_lot_below_zero_is_to_be_counted_today(house: Opened) -> None:
    """It cannot be: whoever looks at it finds what was written wrong."""
    out: dict[str, Any] = {"way": "out", "amount": quantity(9_999, "g"), "cause": "lost"}
    house.say("lot.adjusted", lot=house.made["alum"], **out)

    (need,) = of(house, "amina", "count")
    assert (need.about, need.due) == (house.made["alum"], house.moment.date())
    assert of(house, "noor", "count") == []

    house.say("finding.judged", subject=house.made["alum"], code="lot-below-zero",
              entry=house.made["alum"], reason="seen")  # fmt: skip
    assert of(house, "amina", "count") == []


def test_a_count_beyond_noise_wants_a_coordinator(house: Opened) -> None:
    house.say("lot.counted", lot=house.made["parcel"], packs="0", loose="900")

    assert [one.about for one in of(house, "amina", "gap")] == [house.made["parcel"]]
    assert of(house, "noor", "gap") == []


def test_a_hydrometer_is_to_be_read_in_tap_water_once_a_month(house: Opened) -> None:
    studio = house.made["studio"]
    assert [one.about for one in of(house, "amina", "zero")] == [studio]
    house.say("instrument.checked", studio=studio, instrument="hydrometer", gravity="1.000",
              temperature=quantity(20, "celsius"))  # fmt: skip
    assert of(house, "amina", "zero") == []
    house.later(days=30)
    assert [one.about for one in of(house, "amina", "zero")] == [studio]


def test_a_drain_nobody_asked_about_wants_coordinator_and_safety_officer(house: Opened) -> None:
    studio = house.made["studio"]
    for who in ("amina", "oluwaseun"):
        assert [one.about for one in of(house, who, "permission")] == [studio]
    assert of(house, "kahu", "permission") == []

    permitted(house, review_on="2025-09-20")
    assert of(house, "oluwaseun", "permission") == []
    house.later(days=3)
    (need,) = of(house, "oluwaseun", "permission")
    assert need.due == date(2025, 9, 20)


def test_house_limits_a_year_old_are_looked_over(house: Opened) -> None:
    assert of(house, "amina", "limits") == []
    house.later(days=365)
    assert [one.about for one in of(house, "amina", "limits")] == ["house"]
    house.say("limits.set", supersedes=house.state("house", "house").edition, **HOUSE)
    assert of(house, "amina", "limits") == []


def test_how_long_records_are_kept_is_asked_until_a_coordinator_answers(
    house: Opened,
) -> None:
    """That nobody has answered is no answer: nothing may be purged by it."""
    asked = HOUSE | {"records_kept": "ask"}
    for open_still in (asked, {key: asked[key] for key in asked if key != "records_kept"}):
        house.say("limits.set", supersedes=house.state("house", "house").edition, **open_still)
        (need,) = of(house, "amina", "limits")
        assert (need.about, need.due) == ("house", date(2025, 9, 17))
        assert of(house, "kahu", "limits") == []

    house.say("limits.set", supersedes=house.state("house", "house").edition, **HOUSE)
    assert of(house, "amina", "limits") == []


def test_a_session_that_will_be_short_wants_the_teacher(house: Opened) -> None:
    """100 g are there, 240 are needed; two weeks before, it is told."""
    moss(house, 100)
    session = planned(house)

    for who in ("ines", "amina"):
        (need,) = of(house, who, "session-short")
        assert (need.about, need.due) == (session, date(2025, 9, 13))
    assert of(house, "kahu", "session-short") == []


def test_a_session_of_what_never_came_is_short_of_all_of_it(house: Opened) -> None:
    session = planned(house)

    assert [one.about for one in of(house, "ines", "session-short")] == [session]


def test_a_session_called_off_or_far_ahead_is_not_short(house: Opened) -> None:
    planned(house, day="2025-10-12")
    called_off = planned(house)
    house.say("session.planned", "ines", session=called_off, supersedes=called_off,
              studio=house.made["studio"], name="Saturday class",
              starts="2025-09-27T10:00+02:00", head_count="12", under_16="no",
              called_off="yes")  # fmt: skip

    assert of(house, "ines", "session-short") == []


def test_what_was_drawn_for_a_session_is_not_missed_again(house: Opened) -> None:
    """240 g were put into its size already: 60 g more are there than it still takes."""
    lot = moss(house, 300)
    session = planned(house)
    powder = [{"powder": "carrageenan", "lot": lot, "amount": quantity(240, "g")}]
    sized(house, session=session, powder=powder, water=quantity(18, "l"))

    assert of(house, "ines", "session-short") == []


def test_what_was_put_off_waits_until_its_day_for_everybody(house: Opened) -> None:
    """It is told apart, with who put it off and why; on its day it is back."""
    moss(house, 100)
    house.say("need.put_off", need="order", about=MOSS, until="2025-09-20",
              reason="shop_closed")  # fmt: skip
    seen = see(house, "amina")

    assert [one.code for one in seen.put_off] == ["order"]
    assert seen.put_off[0].put_off is not None
    assert seen.put_off[0].put_off.reason == "shop_closed"
    assert "order" not in [one.code for one in seen.open]
    house.later(days=3)
    assert [one.about for one in of(house, "amina", "order")] == [MOSS]


def test_one_thing_put_off_leaves_the_others_of_its_kind(house: Opened) -> None:
    house.later(days=31)
    house.say("need.put_off", need="count", about=house.made["alum"], until="2025-10-25",
              reason="not_needed")  # fmt: skip

    assert [one.about for one in of(house, "amina", "count")] == [house.made["parcel"]]


def test_every_need_is_a_kind_of_the_ledger(house: Opened) -> None:
    moss(house, 100, best_before="2025-09-30")
    planned(house)
    house.later(days=370)
    found = see(house, "amina", 30).open

    assert {one.code for one in found} <= set(NEEDS)
    assert all(one.roles or one.members for one in found)
    with house.desk() as desk:
        one = house.members["amina"]
        same = needs(desk.journal, one.member, one.roles, now=house.moment, ahead_days=30)
    assert same == found


def test_a_member_does_not_pay_for_the_coordinators_list(house: Opened) -> None:
    """No lot, order, supply or session is read for somebody who is not asked about any."""
    moss(house, 100)
    mixed(house)
    nobody = MemberId(house.members["kahu"].member)
    with counted(house.store) as asked, house.desk() as desk:
        see_needs(desk.journal, nobody, frozenset({"member"}), now=house.moment)

    assert not [one for one in asked if "FROM balance" in one or "FROM move" in one]
    assert len(asked) < 12


def test_what_it_costs_does_not_grow_with_lots_and_sessions(house: Opened) -> None:
    """The room asks the same number of questions for thirty lots as for one."""
    planned(house)

    def cost() -> int:
        with counted(house.store) as asked:
            see(house, "amina")
        return len(asked)

    few = cost()
    for n in range(30):
        moss_of: dict[str, Any] = {
            "studio": house.made["studio"],
            "what": "carrageenan",
            "name": f"K-{n}",
        }
        house.say("lot.received", carrageenan="lambda", weight=quantity(10, "g"), **moss_of)
        planned(house, day=f"2025-09-{18 + n % 10}")

    assert cost() <= few + 2
