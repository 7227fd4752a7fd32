"""Counts against what is written: the moment of the count decides, and one cause closes it."""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.count import put_right
from coop.actions.see_counts import (
    GapLook,
    causes,
    gaps_on_hand,
    look_ahead,
    see_gap,
    see_gaps,
)
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.entries import Entry, read_content
from coop.ledger.ports import Journal
from coop.ledger.table import KINDS
from coop.rules.gaps import Moved, NotWrittenDown, PackSize, WrittenTwice
from tests.support.opened import Opened, furnished, quantity
from tests.support.opened import sized as size_of
from tests.support.queries import counted as asked_of
from tests.support.sayings import (
    AMINA,
    BATH,
    GUM,
    KAHU,
    LONG_AGO,
    PAPER,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    sized,
    through,
    with_size,
)
from tests.support.stock import (
    BARN,
    COUNT,
    PART,
    PUT_RIGHT,
    adjusted,
    counted,
    left,
    lot_of,
    moved,
    received,
    shelf,
)

NOON = on(20, 12)
REAMS, THERE = Subject(an_id(80)), Subject(an_id(81))
SHEET, GRAM = 4, 1_000_000
OPENED = say(
    "ledger.opened",
    an_id(30),
    at=LONG_AGO,
    by=AMINA,
    name="Test",
    zone="Europe/Berlin",
    coordinator=AMINA,
)
EMPTY_LEDGER = [OPENED, *described(), *with_size(), mixed(at=on(10))]


def reams(id: str = REAMS, **body: Any) -> Entry:
    """Return two reams that were written as 500 sheets each."""
    usual = {"what": "paper", "name": "P-80", "paper": PAPER, "sheet_count": "500"}
    return received(id, **(usual | {"pack_count": "2"} | body))


def sheets(n: int, full: int, *, at: datetime, **more: Any) -> Entry:
    """Return full sheets of the reams that went through the bath."""
    return through(an_id(n), full, at=at, lot=REAMS, sheet_format="full", **more)


def with_reams(*entries: Entry) -> Journal:
    return shelf([*EMPTY_LEDGER, reams(), *entries])


def look(journal: Journal, lot: str = REAMS) -> GapLook:
    found = see_gap(journal, lot_of(journal, lot))
    assert found is not None
    return found


def offered(journal: Journal, lot: str = REAMS) -> tuple[Any, ...]:
    one = look(journal, lot)
    return causes(journal, (one,), gaps_on_hand(journal))[one.lot.id]


def righted(journal: Journal, cause: str = "lost", lot: str = REAMS) -> Entry:
    """Return the entry that puts the newest count of a lot right."""
    body = put_right(look(journal, lot)) | {"cause": cause}
    return adjusted(PUT_RIGHT, body.pop("lot"), at=on(25), **body)


# --- expected, seen ---------------------------------------------------------------------


def test_a_lot_that_nobody_counted_has_no_gap() -> None:
    journal = with_reams()

    assert see_gap(journal, lot_of(journal, REAMS)) is None
    assert gaps_on_hand(journal) == ()


def test_what_went_out_after_the_count_is_no_part_of_the_gap() -> None:
    """531.5 sheets expected, 491.5 seen, 40 short; sixty more went two days later."""
    journal = with_reams(
        sheets(82, 468, at=on(18)),
        through(an_id(83), 1, at=on(18, 10), lot=REAMS),
        counted(COUNT, REAMS, at=NOON, packs="0", loose="491.5"),
        sheets(84, 60, at=on(22)),
    )
    gap = look(journal).gap

    assert (gap.expected, gap.seen, gap.difference) == (2_126, 1_966, -40 * SHEET)


def test_what_comes_late_and_tells_of_before_changes_what_was_expected() -> None:
    """A phone without a signal wrote sixty sheets that went before the count."""
    one = counted(COUNT, REAMS, at=NOON, packs="1", loose="440")

    assert look(with_reams(one)).gap.difference == -60 * SHEET
    assert look(with_reams(one, sheets(82, 60, at=on(19)))).gap.difference == 0


def test_only_the_newest_count_asks() -> None:
    """Whoever counts again has the word."""
    journal = with_reams(
        counted(COUNT, REAMS, at=NOON, packs="1", loose="400"),
        counted(PART, REAMS, at=on(21), packs="1", loose="500"),
    )

    assert Subject(look(journal).count.entry) == PART
    assert gaps_on_hand(journal) == ()


def tub(*entries: Entry) -> Journal:
    """A tub of 1 kg of carrageenan, of which 400 g were seen at noon."""
    one = counted(COUNT, GUM, at=NOON, weight=q(400, "g"))
    return shelf([OPENED, *described(), *with_size(), *entries, one])


def drawn(amount: dict[str, str]) -> Entry:
    part = {"powder": "carrageenan", "lot": GUM, "amount": amount}
    return sized(at=on(18), powder=[part])


def drawn_later(amount: dict[str, str]) -> Entry:
    part = {"powder": "carrageenan", "lot": GUM, "amount": amount}
    return sized(an_id(95), at=on(22), powder=[part])


def test_spoons_that_nobody_weighed_widen_what_counts_as_noise() -> None:
    """Thirty spoons out of a tub: nobody can tell within 2 %."""
    spoons, grams = (look(tub(drawn(one)), GUM) for one in (q(30, "us_tbsp"), q(300, "g")))

    assert spoons.gap.doubt > 20 * GRAM
    assert grams.gap.doubt < spoons.gap.doubt / 4


def test_what_was_spooned_before_the_last_count_put_right_is_known_now() -> None:
    """A doubt ends where a scale has spoken."""
    spoons = drawn(q(30, "us_tbsp"))
    before = tub(spoons)
    righted_then = righted(before, lot=GUM)
    again = counted(an_id(90), GUM, at=on(27), weight=q(200, "g"))

    assert look(before, GUM).gap.doubt > 20 * GRAM
    assert look(tub(spoons, righted_then, again), GUM).gap.doubt == 0


def test_what_was_spooned_after_the_count_makes_it_no_less_sure() -> None:
    """Ten spoons before the count, thirty after: only the ten can be wrong in it."""
    before, after = drawn(q(10, "us_tbsp")), drawn_later(q(30, "us_tbsp"))
    plain, more = look(tub(before), GUM).gap, look(tub(before, after), GUM).gap

    assert plain.doubt > 5 * GRAM
    assert (more.doubt, more.expected) == (plain.doubt, plain.expected)


def test_the_day_of_a_count_is_that_of_the_co_operative() -> None:
    """Counted half past eleven at night by a clock in UTC: in Berlin it is the next day."""
    late = datetime(2025, 9, 20, 23, 30, tzinfo=UTC)

    assert look(with_reams(counted(COUNT, REAMS, at=late, loose="9"))).day == date(2025, 9, 21)


def test_many_gaps_ask_no_more_of_the_database_than_a_few(tmp_path: Path) -> None:
    """After a day of counting the room is read by everybody, with every gap of it."""
    house = furnished(tmp_path)
    spooned_and_counted(house)
    few = gaps_and_questions(house)
    for _ in range(4):
        spooned_and_counted(house)
    many = gaps_and_questions(house)

    assert (few[0], many[0]) == (2, 10)
    assert few[1] == many[1]


def spooned_and_counted(house: Opened) -> None:
    """Take ten spoons out of two tubs, and find a third of each gone besides."""
    body: dict[str, Any] = {"studio": house.made["studio"], "what": "carrageenan"}
    lots = [
        house.say("lot.received", name="K-3", weight=quantity(1, "kg"), **body) for _ in "ab"
    ]
    spoons = quantity(10, "us_tbsp")
    parts = [{"powder": "carrageenan", "lot": lot, "amount": spoons} for lot in lots]
    house.say("bath.finished", bath=size_of(house, powder=parts), reason="used_up")
    house.later(hours=1)
    for lot in lots:
        house.say("lot.counted", lot=lot, weight=quantity(600, "g"))


def gaps_and_questions(house: Opened) -> tuple[int, int]:
    """Return how many gaps there are, all of them with a doubt, and what they ask."""
    with house.desk() as desk, asked_of(house.store) as statements:
        found = gaps_on_hand(desk.journal)
    assert all(one.gap.doubt for one in found)
    return len(found), len(statements)


# --- put right --------------------------------------------------------------------------

draws = st.lists(
    st.tuples(st.integers(1, 60), st.integers(11, 24), st.booleans()), min_size=0, max_size=6
)
"""Full sheets, the day of September, and whether it came in before anybody put it right."""


def written(drawn: Iterable[tuple[int, int, bool]], *, late: bool) -> list[Entry]:
    return [
        sheets(100 + n, full, at=on(day))
        for n, (full, day, in_time) in enumerate(drawn)
        if late or in_time
    ]


@given(draws, st.integers(0, 4_400))
def test_a_count_put_right_is_what_was_seen_whatever_went_before_or_after(
    drawn: list[tuple[int, int, bool]], quarters: int
) -> None:
    """Draws told of late, of days before the count too, come in before the cause is said."""
    entries = written(drawn, late=True)
    loose = f"{quarters / SHEET:g}"
    entries.append(counted(COUNT, REAMS, at=NOON, loose=loose))
    before = with_reams(*entries)
    if look(before).gap.difference:
        entries.append(righted(before))
    after = with_reams(*entries)
    since = sum(full for full, day, _ in drawn if day > NOON.day)

    assert look(after).gap.expected == look(after).gap.seen == quarters
    assert left(after, REAMS) == quarters - since * SHEET
    assert gaps_on_hand(after) == ()


@given(draws, st.integers(0, 4_400))
def test_what_comes_in_after_it_was_put_right_shows_again_to_the_sheet(
    drawn: list[tuple[int, int, bool]], quarters: int
) -> None:
    """It explains a part of what was written off: nothing does that in silence."""
    one = counted(COUNT, REAMS, at=NOON, loose=f"{quarters / SHEET:g}")
    before = with_reams(*written(drawn, late=False), one)
    mended = [righted(before)] if look(before).gap.difference else []
    after = with_reams(*written(drawn, late=True), one, *mended)
    late = sum(full for full, day, in_time in drawn if day < NOON.day + 1 and not in_time)

    assert look(after).gap.difference == late * SHEET


@given(st.integers(0, 4_400), st.integers(0, 900))
def test_what_is_said_back_is_what_the_count_then_comes_to(quarters: int, full: int) -> None:
    """Nobody writes a figure other than the one that was shown."""
    body = {"lot": str(REAMS), "loose": f"{quarters / SHEET:g}"}
    said = read_content(KINDS["lot.counted"], body, "")
    assert isinstance(said, kinds.LotCounted)
    gone = [sheets(82, full, at=on(18))] if full else []
    before = with_reams(*gone)

    ahead = look_ahead(before, lot_of(before, REAMS), said, at=NOON)

    loose = body["loose"]
    assert look(with_reams(*gone, counted(COUNT, REAMS, at=NOON, loose=loose))).gap == ahead


def test_many_lots_are_asked_for_at_once() -> None:
    """Each against its own count, none against another's."""
    journal = with_reams(
        reams(THERE, studio=BARN),
        sheets(82, 100, at=on(18)),
        counted(COUNT, REAMS, at=NOON, packs="1", loose="380"),
        counted(PART, THERE, at=on(15), packs="2"),
    )
    lots = journal.states("lot", [REAMS, THERE]).values()

    found = {one.lot.id: one.gap.difference for one in see_gaps(journal, lots)}
    assert found == {REAMS: -20 * SHEET, THERE: 0}


# --- causes -----------------------------------------------------------------------------


def test_the_pack_size_is_seen_over_those_that_were_opened() -> None:
    both = with_reams(counted(COUNT, REAMS, at=NOON, packs="0", loose="960"))
    one = with_reams(counted(COUNT, REAMS, at=NOON, packs="1", loose="478"))

    assert offered(both)[0] == PackSize(pack_count=2, typed=2_000, likely=1_920)
    assert offered(one)[0] == PackSize(pack_count=1, typed=2_000, likely=1_920)


def test_a_pack_size_put_right_leaves_nothing_to_ask() -> None:
    one = counted(COUNT, REAMS, at=NOON, packs="0", loose="960")
    content = instead(reams(), sheet_count="480")
    mend = corrected(an_id(90), reams(), "replace", at=on(26), content=content)

    assert look(with_reams(one)).gap.difference == -40 * SHEET
    assert look(with_reams(one, mend)).gap.difference == 0


def test_a_part_that_was_carried_over_came_in_no_pack() -> None:
    """Five hundred sheets were counted into the car; nobody's label is wrong."""
    journal = with_reams(
        moved(PART, REAMS, at=on(15), count="500"),
        counted(COUNT, PART, at=NOON, loose="480"),
    )

    assert [type(one) for one in offered(journal, PART)] == [NotWrittenDown]


def test_a_mirror_in_another_studio_is_seen_and_a_move_closes_both() -> None:
    """Forty are missing here and forty too many there."""
    entries = [
        reams(THERE, studio=BARN),
        counted(COUNT, REAMS, at=NOON, packs="1", loose="460"),
        counted(PART, THERE, at=on(22), packs="2", loose="40"),
    ]
    journal = with_reams(*entries)
    (found,) = [one for one in offered(journal) if isinstance(one, Moved)]

    assert (found.other.lot, found.other.studio) == (THERE, BARN)
    carried = moved(an_id(90), REAMS, at=NOON, into=THERE, count="40")
    assert gaps_on_hand(with_reams(*entries, carried)) == ()


@pytest.mark.parametrize("judged", [False, True])
def test_an_open_twin_is_offered_until_somebody_has_judged_it(judged: bool) -> None:
    """Amina and Kahu wrote the same sixty; after "both are right" that is no cause."""
    entries = [
        sheets(82, 60, at=on(18)),
        sheets(83, 60, at=on(18, 9, 5), by=KAHU),
        counted(COUNT, REAMS, at=NOON, packs="1", loose="440"),
    ]
    if judged:
        entries.append(
            say(
                "finding.judged",
                an_id(91),
                at=on(21),
                subject=BATH,
                code="likely-twin",
                entry=an_id(83),
                reason="both_right",
            )
        )
    found = [one for one in offered(with_reams(*entries)) if isinstance(one, WrittenTwice)]

    assert [(one.twin.entry, one.twin.amount) for one in found] == (
        [] if judged else [(EntryId(an_id(83)), 60 * SHEET)]
    )


def test_a_twin_of_after_the_count_is_no_cause() -> None:
    """What was written for a later day took nothing from what was expected then."""
    journal = with_reams(
        sheets(82, 60, at=on(22)),
        sheets(83, 60, at=on(22, 9, 5), by=KAHU),
        counted(COUNT, REAMS, at=NOON, packs="2", loose="60"),
    )

    assert [type(one) for one in offered(journal)] == [NotWrittenDown]
