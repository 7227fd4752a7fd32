"""Sheets that washed off are noticed, followed, and told to the people they concern."""

from datetime import timedelta
from fractions import Fraction
from math import comb
from pathlib import Path
from typing import Any

import pytest

from coop.actions.follow import (
    ASK_AFTER,
    ASK_UNTIL,
    Alert,
    alert_of,
    at_risk,
    follow_back,
    follow_bath,
    follow_lot,
    to_sort,
    to_sort_count,
)
from coop.actions.see_faults import Unusual, see_faults, see_kept, unusual
from coop.actions.see_room import Room, see_room
from coop.actions.see_stacks import StackLook, see_stack
from coop.ledger.states import StackState
from tests.support.opened import Opened, furnished, mixed, quantity


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A ledger with a Saturday member too."""
    house = furnished(tmp_path)
    house.join("Dariusz W.", "member")
    house.made["tub2"] = tub(house, "low tub", "2")
    return house


def tub(house: Opened, name: str, place: str, studio: str = "") -> str:
    return house.say(
        "vessel.described",
        studio=studio or house.made["studio"],
        name=name,
        brim=quantity(20, "l"),
        lidded="yes",
        place=place,
    )


def through(house: Opened, bath: str, count: int, who: str = "kahu", **more: Any) -> str:
    said = {
        "bath": bath,
        "sheet_count": str(count),
        "sheet_format": "half",
        "method": "dip",
        "lot": house.made["parcel"],
        "reason": "already_done",
    } | more
    house.later(minutes=1)
    return house.say("sheets.through", who, **{k: v for k, v in said.items() if v is not None})


def lay(house: Opened, stack: str, count: int, tray: str, who: str = "kahu") -> str:
    """Lay sheets of a stack on a size."""
    said: dict[str, Any] = {
        "stack": stack,
        "size": tray,
        "sheet_count": str(count),
        "sheet_format": "half",
    }
    house.later(minutes=1)
    return house.say("sheets.through", who, reason="already_done", **said)


def came_out(house: Opened, stack: str, who: str = "kahu", **counts: Any) -> str:
    said: dict[str, Any] = {key: str(value) for key, value in counts.items()}
    house.later(minutes=1)
    return house.say("sheets.sorted", who, stack=stack, **said)


def size(house: Opened, **more: Any) -> str:
    """Mix a size of carrageenan in a tray of its own."""
    name = str(more.pop("name", "R-S3"))
    said = {
        "what": "size",
        "name": name,
        "studio": house.made["studio"],
        "vessel": tub(house, f"tray {name}", "9"),
        "water": quantity(17, "l"),
        "powder": [{"powder": "carrageenan", "amount": quantity(85, "g")}],
    }
    return house.say("bath.mixed", **(said | more))


def stack_of(house: Opened, stack: str) -> StackState:
    state: StackState = house.state("stack", stack)
    return state


def unusual_of(house: Opened, stack: str) -> tuple[Unusual, ...]:
    state = stack_of(house, stack)
    with house.desk() as desk:
        return unusual(desk.journal, state, state.parts[-1])


def look_of(house: Opened, stack: str) -> StackLook:
    with house.desk() as desk:
        return see_stack(desk.journal, stack_of(house, stack), now=house.moment)


def alert(house: Opened, bath: str) -> Alert | None:
    with house.desk() as desk:
        return alert_of(desk.journal, desk.journal.state("bath", bath))  # type: ignore[arg-type]


def room(house: Opened, first: str) -> Room:
    with house.desk() as desk:
        return see_room(desk.journal, house.members[first].member, now=house.moment)


SORTED_BEFORE = ((40, 4), (60, 5), (36, 4), (48, 6), (50, 3), (30, 2), (30, 2))
"""Sheets and spoiled ones of the weeks before: 294 sheets, none of them washed off."""


def weeks_before(house: Opened) -> None:
    bath = mixed(house, vessel=house.made["tub2"], water=quantity(18, "l"))
    for sheet_count, spoiled in SORTED_BEFORE:
        stack = through(house, bath, sheet_count, "amina")
        came_out(house, stack, "amina", good=sheet_count - spoiled, patch=spoiled)
    house.later(days=1)


def weak_bath(house: Opened) -> str:
    """Mix 266 g where 454 g were believed, in 11.4 L: 23 g/L in place of 40."""
    return mixed(
        house,
        name="R-A2",
        water=quantity("11.4", "l"),
        salt=[{"lot": house.made["alum"], "amount": quantity(266, "g")}],
    )


def thursday(house: Opened, bath: str) -> str:
    """Put 40 half sheets through; 7 wash off."""
    stack = through(house, bath, 40, "kahu")
    house.later(days=1)
    came_out(house, stack, "kahu", good=33, washed_off=7)
    return stack


def saturday(house: Opened, bath: str) -> str:
    """Put 46 half sheets through, after 3 L of water alone; 31 wash off."""
    house.say("bath.topped_up", "kahu", bath=bath, water=quantity(3, "l"), reason="level_only")
    house.later(days=1)
    stack = through(house, bath, 46, "dariusz")
    came_out(house, stack, "dariusz", good=15, washed_off=31)
    return stack


def test_seven_of_forty_that_washed_off_are_warned_of_on_thursday(house: Opened) -> None:
    """
    Two days before 31 of 46 wash off, somebody could have made a strip print.

    The chance is that of a hypergeometric distribution, worked out here from binomial
    coefficients alone (R. A. Fisher, The Design of Experiments, 1935, chapter II).
    """
    weeks_before(house)
    stack = thursday(house, weak_bath(house))
    (found,) = unusual_of(house, stack)
    chance = Fraction(comb(40, 7), comb(334, 7))

    assert (found.word, found.fault_count, found.sorted_count) == ("washed_off", 7, 40)
    assert (found.rest_fault_count, found.rest_sheet_count) == (0, 294)
    assert found.compared.chance == pytest.approx(float(chance), rel=1e-9)
    assert found.compared.usual_count == 0
    assert found.compared.speaks


def test_saturday_stands_out_against_thursday_too(house: Opened) -> None:
    weeks_before(house)
    bath = weak_bath(house)
    thursday(house, bath)
    (found,) = unusual_of(house, saturday(house, bath))

    assert (found.fault_count, found.sorted_count) == (31, 46)
    assert (found.rest_fault_count, found.rest_sheet_count) == (7, 334)
    assert found.compared.speaks


def test_both_people_of_eighty_six_half_sheets_are_told(house: Opened) -> None:
    """Kahu's forty were sorted on Friday; what came out good may wash off yet."""
    weeks_before(house)
    bath = weak_bath(house)
    thursday(house, bath)
    saturday(house, bath)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="strip_print_failed")
    found = alert(house, bath)
    assert found is not None

    members = [house.members[one].member for one in ("kahu", "dariusz")]
    assert sorted(found.people) == sorted((one, False) for one in members)
    assert sum(stack.sheet_count for stack in found.stacks) == 86
    with house.desk() as desk:
        record = see_faults(desk.journal, "bath", found.bath.id)
    assert (record.sorted_count, record.spoiled_count) == (86, 38)
    assert record.spoiled == (("washed_off", 38),)
    assert [one.good for one in room(house, "kahu").warned] == [(("half", 33),)]
    assert [one.good for one in room(house, "dariusz").warned] == [(("half", 15),)]
    assert room(house, "amina").warned == ()
    assert room(house, "oluwaseun").warned == ()


def test_who_has_seen_it_is_told_no_more_until_more_goes_through(house: Opened) -> None:
    """A stop made anew, or a stack more, is another warning."""
    bath = mixed(house)
    stack = through(house, bath, 40)
    stop = house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    assert room(house, "kahu").warned[0].unsorted == (("half", 40),)

    house.say("stack.warning_seen", "kahu", stack=stack, about=stop)
    assert room(house, "kahu").warned == ()
    found = alert(house, bath)
    assert found is not None
    assert found.unseen_by == ()

    house.later(hours=1)
    through(house, bath, 5)
    assert room(house, "kahu").warned[0].unsorted == (("half", 5),)


def test_a_stop_is_told_after_the_bath_is_finished(house: Opened) -> None:
    """It was got rid of on Monday; whose sheets lie dry comes on Thursday."""
    bath = mixed(house)
    through(house, bath, 40)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    house.say("bath.finished", bath=bath, reason="too_weak")

    assert [one.alert.bath.id for one in room(house, "kahu").warned] == [bath]


def test_a_stop_that_was_poured_in_concerns_later_sheets_alone(house: Opened) -> None:
    """
    What lay a day before the bad litre came in cannot be spoiled by it.

    Who stopped the other bath is told too: somebody else poured it in here.
    """
    other, bath = mixed(house, vessel=house.made["tub2"]), mixed(house, name="R-A6")
    before = through(house, bath, 20)
    house.say("bath.stopped", "amina", bath=other, reason="washed_off")
    house.later(days=1)
    house.say("bath.joined", bath=bath, giver=other, litres=quantity(1, "l"))
    house.later(minutes=1)
    assert alert(house, bath) is None
    after = through(house, bath, 5, "amina", reason="already_done")
    found = alert(house, bath)
    with house.desk() as desk:
        onward = follow_bath(desk.journal, desk.journal.state("bath", other))  # type: ignore[arg-type]

    assert found is not None
    assert [one.id for one in found.stacks] == [after]
    assert found.unseen_by == (house.members["amina"].member,)
    assert look_of(house, before).answer.reasons == ()
    assert [one.code for one in look_of(house, after).answer.reasons] == [
        "its-bath-was-stopped"
    ]
    assert [one.id for one in onward.baths] == [other, bath]
    assert [one.id for one in onward.stacks] == [after]


def test_a_stopped_size_that_was_poured_in_concerns_what_was_laid_after(house: Opened) -> None:
    """Of 20 sheets 12 were laid before and 8 since: 8 are concerned, then those not sorted."""
    stack = through(house, mixed(house), 20)
    tray, other = size(house), size(house, name="R-S4", water=quantity(2, "l"))
    lay(house, stack, 12, tray)
    house.say("bath.stopped", "amina", bath=other, reason="smells_sour")
    house.later(minutes=1)
    house.say("bath.joined", bath=tray, giver=other)
    assert alert(house, tray) is None

    lay(house, stack, 8, tray)
    state = house.state("bath", tray)
    assert at_risk(stack_of(house, stack), state) == (8, 0)
    came_out(house, stack, size=tray, good=15)
    assert at_risk(stack_of(house, stack), state) == (5, 3)


def test_a_bath_allowed_again_concerns_nobody(house: Opened) -> None:
    bath = mixed(house)
    through(house, bath, 40)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="looks_wrong")
    house.later(hours=1)
    house.say("bath.cleared", "amina", bath=bath, reason="strip_print_sharp")

    assert alert(house, bath) is None
    assert room(house, "kahu").warned == ()


def test_sheets_all_spoiled_concern_nobody(house: Opened) -> None:
    bath = mixed(house)
    came_out(house, through(house, bath, 4), washed_off=4)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="washed_off")

    assert alert(house, bath) is None


def test_a_stopped_size_concerns_who_alumed_and_who_laid(house: Opened) -> None:
    bath, tray = mixed(house), size(house)
    stack = through(house, bath, 40, "kahu")
    lay(house, stack, 25, tray, "dariusz")
    house.say("bath.stopped", "oluwaseun", bath=tray, reason="smells_sour")
    found = alert(house, tray)
    assert found is not None

    names = {house.members[one].member for one in ("kahu", "dariusz")}
    assert {member for member, _ in found.people} == names
    assert room(house, "dariusz").warned[0].unsorted == (("half", 25),)


def test_nothing_is_compared_before_anything_else_was_sorted(house: Opened) -> None:
    """The first stack of a new studio is its own measure of what is usual."""
    stack = through(house, mixed(house), 20)
    came_out(house, stack, washed_off=20)

    assert unusual_of(house, stack) == ()


def test_another_studio_is_not_what_is_usual_here(house: Opened) -> None:
    """Hard water and another paper: its sheets say nothing of these."""
    weeks_before(house)
    barn = house.say(
        "studio.described",
        name="Orchard Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )
    bath = mixed(house, studio=barn, vessel=tub(house, "barn tub", "1", barn), name="B-A1")
    stack = through(house, bath, 40)
    came_out(house, stack, good=33, washed_off=7)

    assert unusual_of(house, stack) == ()


def test_three_sheets_of_a_word_are_not_spoken_of(house: Opened) -> None:
    """Few are few, however seldom that word falls."""
    weeks_before(house)
    stack = through(house, weak_bath(house), 40)
    came_out(house, stack, good=37, washed_off=3)

    assert unusual_of(house, stack) == ()


def test_a_stack_sorted_in_small_parts_hides_nothing(house: Opened) -> None:
    """Two of ten each time are no alarm; eight of forty are one."""
    weeks_before(house)
    stack = through(house, weak_bath(house), 40)
    for _ in range(4):
        came_out(house, stack, good=8, washed_off=2)

    (found,) = unusual_of(house, stack)
    assert (found.fault_count, found.sorted_count) == (8, 40)


def test_only_words_of_the_newest_part_are_spoken_of(house: Opened) -> None:
    """What was said on writing the first part is not said again with the next."""
    weeks_before(house)
    stack = through(house, weak_bath(house), 40)
    came_out(house, stack, good=10, washed_off=8)
    came_out(house, stack, good=22)

    assert unusual_of(house, stack) == ()


def test_faults_are_counted_out_of_what_was_sorted(house: Opened) -> None:
    """31 of 46 sorted, 15 not yet: what nobody has looked at is neither good nor bad."""
    bath = mixed(house)
    stack = through(house, bath, 46)
    came_out(house, stack, good=21, washed_off=8, patch=2)
    with house.desk() as desk:
        record = see_faults(desk.journal, "bath", stack_of(house, stack).bath)

    assert (record.sorted_count, record.waiting_count) == (31, 15)
    assert record.spoiled == (("washed_off", 8), ("patch", 2))


def test_faults_of_a_lot_a_paper_and_a_member_are_of_their_stacks(house: Opened) -> None:
    """The same sheets are seen from three sides; a member's own paper is of no lot."""
    bath = mixed(house)
    paper = house.made["paper"]
    came_out(house, through(house, bath, 20, "kahu"), good=18, patch=2)
    came_out(house, through(house, bath, 10, "dariusz"), good=10)
    own = through(house, bath, 5, "dariusz", lot=None, paper=paper)
    came_out(house, own, good=4, stripe=1)
    with house.desk() as desk:
        journal = desk.journal
        of = {
            "lot": see_faults(journal, "lot", house.made["parcel"]),  # type: ignore[arg-type]
            "paper": see_faults(journal, "paper", paper),  # type: ignore[arg-type]
            "member": see_faults(journal, "member", house.members["dariusz"].member),
        }

    assert {one: (record.sorted_count, record.spoiled_count) for one, record in of.items()} == {
        "lot": (30, 2),
        "paper": (35, 3),
        "member": (15, 1),
    }


def test_faults_of_a_size_are_of_the_sheets_laid_on_it(house: Opened) -> None:
    """A stack laid on two sizes is parted as it was sorted."""
    bath, old, new = mixed(house), size(house), size(house, name="R-S4")
    stack = through(house, bath, 40)
    for tray, count in ((old, 30), (new, 10)):
        lay(house, stack, count, tray)
    came_out(house, stack, good=16, ragged=14, size=old)
    with house.desk() as desk:
        of_old = see_faults(desk.journal, "size", old)  # type: ignore[arg-type]  # an id
        of_new = see_faults(desk.journal, "size", new)  # type: ignore[arg-type]  # an id

    assert (of_old.sorted_count, of_old.spoiled) == (30, (("ragged", 14),))
    assert (of_new.sorted_count, of_new.waiting_count) == (0, 10)


def test_a_fault_is_followed_back_to_bath_lots_paper_size_and_hands(house: Opened) -> None:
    """As the ledger said it was then, and by what is known since a spoon was weighed."""
    bath = mixed(house, salt=[{"lot": house.made["alum"], "amount": quantity(24, "us_tbsp")}])
    tray = size(house)
    house.say(
        "reading.taken", bath=tray, instrument="drop_test", outcome="round", spread_mm="52"
    )
    house.later(days=1)
    stack = through(house, bath, 40, size=tray)
    house.later(days=1)
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(111, "g"),
    )
    with house.desk() as desk:
        found = follow_back(desk.journal, stack_of(house, stack))

    assert found.said is not None
    assert found.known is not None
    assert found.said.strength.middle_g_per_l > 1.2 * found.known.strength.middle_g_per_l
    assert [lot.id for lot in found.lots] == [house.made["alum"]]
    assert found.paper_lot is not None
    assert found.paper_lot.id == house.made["parcel"]
    (laid,) = found.laid
    assert laid.look is not None
    assert laid.look.age_days == pytest.approx(1, abs=0.01)
    assert laid.look.state.drops[-1].spread_mm == 52
    assert [one.author for one in found.entries] == [house.members["amina"].member]


def test_what_was_poured_off_and_together_is_followed_back_to_every_lot(
    house: Opened,
) -> None:
    """Whose sheets washed off wants the lots of the alum, whichever tub it was mixed in."""
    second = house.say("lot.received", studio=house.made["studio"], what="alum",
                       name="AS-25", salt="aluminium_sulfate_14",
                       weight=quantity(5, "kg"))  # fmt: skip
    part = {"lot": second, "amount": quantity(480, "g")}
    first, other = mixed(house), mixed(house, vessel=house.made["tub2"], salt=[part])
    house.later(minutes=1)
    house.say("bath.joined", bath=other, giver=first, litres=quantity(1, "l"))
    parts = [{"name": "R-A9", "vessel": tub(house, "jug", "3"), "litres": quantity(4, "l")}]
    poured = house.say("bath.split", bath=other, parts=parts)
    stack = through(house, poured, 5)
    with house.desk() as desk:
        found = follow_back(desk.journal, stack_of(house, stack))

    assert {lot.id for lot in found.lots} == {house.made["alum"], second}


def test_a_lot_is_followed_to_all_that_was_poured_on(house: Opened) -> None:
    """Alum of a bad lot is in a bath, in what was poured off it, and in both's sheets."""
    bath = mixed(house)
    first = through(house, bath, 10)
    parts = [{"name": "R-A9", "vessel": house.made["tub2"], "litres": quantity(4, "l")}]
    poured = house.say("bath.split", bath=bath, parts=parts)
    second = through(house, poured, 5)
    with house.desk() as desk:
        lot = desk.journal.state("lot", house.made["alum"])  # type: ignore[arg-type]  # an id
        found = follow_lot(desk.journal, lot)

    assert [one.id for one in found.baths] == [bath, poured]
    assert {one.id for one in found.stacks} == {first, second}


def test_a_lot_of_paper_is_followed_to_its_stacks(house: Opened) -> None:
    bath = mixed(house)
    stack = through(house, bath, 10)
    through(house, bath, 5, lot=None)
    with house.desk() as desk:
        lot = desk.journal.state("lot", house.made["parcel"])  # type: ignore[arg-type]
        found = follow_lot(desk.journal, lot)

    assert [one.id for one in found.stacks] == [stack]


def test_a_bath_is_followed_to_its_stacks_the_newest_first(house: Opened) -> None:
    bath = mixed(house)
    first = through(house, bath, 10)
    house.later(hours=1)
    second = through(house, bath, 10)
    with house.desk() as desk:
        found = follow_bath(desk.journal, desk.journal.state("bath", bath))  # type: ignore[arg-type]

    assert [one.id for one in found.stacks] == [second, first]


def test_sheets_are_asked_for_when_they_are_dry_and_not_for_ever(house: Opened) -> None:
    """Twelve hours after the last of them was put through or laid; not after two months."""
    stack = stack_of(house, through(house, mixed(house), 60))
    kahu, amina = (house.members[one].member for one in ("kahu", "amina"))
    minute = timedelta(minutes=1)

    assert to_sort([stack], kahu, now=stack.at + ASK_AFTER - minute) == ()
    assert to_sort([stack], kahu, now=stack.at + ASK_AFTER) == (stack,)
    assert to_sort([stack], kahu, now=stack.at + ASK_UNTIL + minute) == ()
    assert to_sort([stack], amina, now=stack.at + ASK_AFTER) == ()


def test_only_what_was_laid_is_asked_for(house: Opened) -> None:
    """Of 60 alumed sheets 20 have colour: nobody can say how the others came out."""
    bath, tray = mixed(house), size(house)
    stack = through(house, bath, 60)
    lay(house, stack, 20, tray)
    assert to_sort_count(stack_of(house, stack)) == 20

    came_out(house, stack, good=20)
    assert to_sort_count(stack_of(house, stack)) == 0


def test_a_kept_sheet_tells_the_size_as_it_was_when_it_was_laid(house: Opened) -> None:
    """A drop test made later, and thinning it, do not change what it was laid on."""
    bath, tray = mixed(house), size(house)
    drop: dict[str, Any] = {"instrument": "drop_test", "outcome": "round"}
    house.say("reading.taken", bath=tray, spread_mm="48", **drop)
    house.later(days=2)
    stack = through(house, bath, 10, size=tray)
    house.later(days=1)
    house.say("bath.topped_up", bath=tray, water=quantity(1, "l"))
    house.say("reading.taken", bath=tray, spread_mm="60", **drop)
    came_out(house, stack, good=10, keep="yes", colours="black, ochre, white")
    with house.desk() as desk:
        (kept,), every = see_kept(desk.journal, most=5)

    assert every == 1
    assert kept.size is not None
    assert kept.size.id == tray
    assert kept.age_days == pytest.approx(2, abs=0.01)
    assert kept.spread_mm == 48
    assert kept.part.colours == "black, ochre, white"
