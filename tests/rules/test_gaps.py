"""A count that differs from what was written: noise, or a cause to be asked about."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import EntryId, Subject
from coop.ledger.kinds import MEASURES
from coop.rules import gaps
from coop.rules.gaps import (
    Counted,
    Gap,
    Moved,
    NotWrittenDown,
    PackSize,
    Suggestion,
    Twin,
    WrittenTwice,
    suggestions,
    within_noise,
)
from coop.science.defaults import COMMON_PRACTICE, default

DAY = date(2025, 10, 19)
ROPEWALK, BARN = Subject("ropewalk"), Subject("barn")
SHEET = 4
G = 1_000_000
POUND_UG = 453_592_370


def gap(measure: str, expected: int, seen: int, doubt: int = 0) -> Gap:
    return Gap(measure=measure, expected=expected, seen=seen, doubt=doubt)


def counted(
    one: Gap, studio: Subject = ROPEWALK, days_ago: int = 0, lot: str = "lot"
) -> Counted:
    return Counted(lot=Subject(lot), studio=studio, day=DAY - timedelta(days=days_ago), gap=one)


def offered(one: Gap, **said: Any) -> tuple[Suggestion, ...]:
    """What is offered for a gap of a lot that came as one pack of an unusual size."""
    asked = {"pack": 777 * G, "pack_count": 1, "others": (), "twins": (), **said}
    return suggestions(counted(one), **asked)


def codes(found: tuple[Suggestion, ...]) -> list[str]:
    return [one.code for one in found]


@pytest.mark.parametrize(
    ("measure", "expected", "noise"),
    [
        ("weight", 1_000 * G, 20 * G),
        ("volume", 500_000, 10_000),
        ("sheets", 100 * SHEET, 5 * SHEET),
        ("sheets", 1_000 * SHEET, 20 * SHEET),
        ("pieces", 30, 5),
        ("pieces", 400, 8),
    ],
)
def test_two_in_a_hundred_or_five_sheets_are_counting_noise(measure, expected, noise):
    """Common practice, no source; either way, and whichever is the more."""
    for sign in (1, -1):
        assert within_noise(gap(measure, expected, expected + sign * noise))
        assert not within_noise(gap(measure, expected, expected + sign * (noise + 1)))
    assert default("count_noise_fraction").mark == COMMON_PRACTICE
    assert default("count_noise_count").mark == COMMON_PRACTICE


def test_a_rough_count_forgives_its_own_doubt():
    """A bottle read in quarters cannot tell an eighth of it."""
    assert not within_noise(gap("volume", 400_000, 360_000))
    assert within_noise(gap("volume", 400_000, 360_000, doubt=40_000))


def test_noise_is_offered_no_cause():
    assert (
        offered(gap("weight", 1_000 * G, 981 * G), twins=[Twin(entry=EntryId("e"), amount=1)])
        == ()
    )


def test_two_reams_typed_as_five_hundred_are_reams_of_four_hundred_and_eighty():
    """Expected 531.5, seen 491.5: short 40 is twice 20. A ream was 480 sheets; from memory."""
    short = gap("sheets", 2_126, 1_966)
    found = offered(short, pack=500 * SHEET, pack_count=2)

    assert found == (
        PackSize(pack_count=2, typed=500 * SHEET, likely=480 * SHEET),
        NotWrittenDown(amount=40 * SHEET),
    )


@pytest.mark.parametrize(
    ("typed", "count", "difference", "likely"),
    [
        (500, 1, -20, 480),
        (500, 3, -60, 480),
        (500, 3, 48, 516),
        (480, 2, 40, 500),
        (516, 2, -32, 500),
        (516, 2, -72, 480),
    ],
)
def test_a_gap_of_whole_reams_of_another_size_is_known(typed, count, difference, likely):
    """From memory: 500 today, 480 in the old trade, 516 for a printer."""
    there = gap("sheets", 400 * SHEET, (400 + difference) * SHEET)
    found = offered(there, pack=typed * SHEET, pack_count=count)

    assert found[0] == PackSize(pack_count=count, typed=typed * SHEET, likely=likely * SHEET)


@pytest.mark.parametrize(("count", "short"), [(2, 20), (2, 60), (1, 40), (3, 40)])
def test_a_gap_that_is_no_whole_number_of_reams_asks_for_no_pack_size(count, short):
    """Twenty sheets a ream, for every ream of the lot."""
    there = gap("sheets", 531 * SHEET, (531 - short) * SHEET)

    assert codes(offered(there, pack=500 * SHEET, pack_count=count)) == ["not_written_down"]


def test_a_parcel_of_another_size_than_a_ream_is_never_a_ream():
    """A hundred sheets are a hundred sheets in every trade."""
    there = gap("sheets", 200 * SHEET, 160 * SHEET)

    assert codes(offered(there, pack=100 * SHEET, pack_count=2)) == ["not_written_down"]


@pytest.mark.parametrize(
    ("typed", "count", "difference_g", "likely"),
    [
        (500 * G, 2, -92, POUND_UG),
        (500 * G, 2, -93, POUND_UG),
        (454 * G, 2, 92, 500 * G),
        (250 * G, 3, -70, POUND_UG // 2),
        (5_000 * G, 1, -464, 10 * POUND_UG),
    ],
)
def test_a_pound_and_half_a_kilogram_are_taken_for_one_another(
    typed, count, difference_g, likely
):
    """1 lb = 0.45359237 kg exactly: international yard and pound agreement, 1959."""
    there = gap("weight", 800 * G, (800 + difference_g) * G)
    found = offered(there, pack=typed, pack_count=count)

    assert found[0] == PackSize(pack_count=count, typed=typed, likely=likely)


def test_bottles_and_boxes_have_no_usual_size():
    """Nothing is guessed where the trade has no two sizes for one name."""
    assert codes(offered(gap("volume", 500, 400), pack=500, pack_count=1)) == [
        "not_written_down"
    ]
    assert codes(offered(gap("pieces", 500, 480), pack=500, pack_count=1)) == [
        "not_written_down"
    ]


@pytest.mark.parametrize("days_ago", [14, 6, 0, -14])
def test_what_is_short_here_and_over_there_was_perhaps_moved(days_ago):
    """Fifty grams short at one studio, forty-six over at the other, two weeks apart at most."""
    barn = counted(gap("weight", 100 * G, 146 * G), BARN, days_ago=days_ago)
    found = offered(gap("weight", 500 * G, 450 * G), others=[barn])

    assert found == (Moved(other=barn), NotWrittenDown(amount=50 * G))


@pytest.mark.parametrize(
    "other",
    [
        counted(gap("weight", 100 * G, 146 * G), ROPEWALK),
        counted(gap("weight", 100 * G, 146 * G), BARN, days_ago=15),
        counted(gap("weight", 100 * G, 146 * G), BARN, days_ago=-15),
        counted(gap("weight", 146 * G, 100 * G), BARN),
        counted(gap("weight", 100 * G, 120 * G), BARN),
        counted(gap("weight", 3_000 * G, 3_050 * G), BARN),
        counted(gap("volume", 100 * G, 146 * G), BARN),
    ],
    ids=["same studio", "long ago", "much later", "short too", "unlike", "noise", "volume"],
)
def test_a_count_that_mirrors_nothing_is_not_offered(other):
    found = offered(gap("weight", 500 * G, 450 * G), others=[other])

    assert codes(found) == ["not_written_down"]


def test_the_nearest_mirrors_are_offered_and_no_more_than_three():
    mirrors = [
        counted(gap("weight", 100 * G, (100 + over) * G), BARN, lot=f"lot {over}")
        for over in (57, 52, 49, 44, 50)
    ]
    found = offered(gap("weight", 500 * G, 450 * G), others=mirrors)
    lots = [one.other.lot for one in found if isinstance(one, Moved)]

    assert lots == ["lot 50", "lot 49", "lot 52"]


def test_more_than_was_written_may_be_a_draw_written_twice():
    """160 g went in once, stands twice, and nobody has judged the two yet."""
    twin = Twin(entry=EntryId("later"), amount=160 * G)
    over = gap("weight", 5_374 * G, 5_530 * G)
    far_off = Twin(entry=EntryId("other"), amount=400 * G)

    assert offered(over, twins=[far_off, twin]) == (
        WrittenTwice(twin=twin),
        NotWrittenDown(amount=-156 * G),
    )


def test_a_lot_that_is_short_was_not_drawn_from_twice():
    """A twin makes the books too low, never the shelf."""
    twin = Twin(entry=EntryId("later"), amount=160 * G)

    assert codes(offered(gap("weight", 5_374 * G, 5_214 * G), twins=[twin])) == [
        "not_written_down"
    ]


def test_a_large_stock_s_noise_explains_no_small_gap():
    """Two in a hundred of twenty kilograms are 400 g: 800 g over are not a twin of 1,150 g."""
    over = gap("weight", 20_000 * G, 20_800 * G)

    assert codes(offered(over, twins=[Twin(entry=EntryId("e"), amount=1_150 * G)])) == [
        "not_written_down"
    ]
    assert "written_twice" in codes(
        offered(over, twins=[Twin(entry=EntryId("e"), amount=1_000 * G)])
    )


def test_causes_stand_in_one_order():
    """The most telling first, what anybody would say last."""
    over = gap("sheets", 400 * SHEET, 440 * SHEET)
    barn = counted(gap("sheets", 100 * SHEET, 60 * SHEET), BARN)
    twin = Twin(entry=EntryId("later"), amount=40 * SHEET)
    found = offered(over, pack=480 * SHEET, pack_count=2, others=[barn], twins=[twin])

    assert tuple(codes(found)) == gaps.CODES


AMOUNTS = st.integers(0, 4_000)
GAPS = st.builds(
    gap,
    st.sampled_from(MEASURES),
    AMOUNTS | st.integers(-100, 0),
    AMOUNTS,
    st.integers(0, 200),
)
COUNTS = st.builds(
    counted, GAPS, st.sampled_from([ROPEWALK, BARN]), st.integers(-20, 20), st.uuids().map(str)
)
TWINS = st.builds(Twin, entry=st.uuids().map(str), amount=st.integers(1, 2_000))


def explained_by(cause: Suggestion) -> int:
    """How much more than was written a cause says should be there."""
    match cause:
        case PackSize():
            return (cause.likely - cause.typed) * cause.pack_count
        case Moved():
            return -cause.other.gap.difference
        case WrittenTwice():
            return cause.twin.amount
        case NotWrittenDown():
            return -cause.amount


@given(
    GAPS,
    st.integers(1, 3_000),
    st.integers(1, 5),
    st.lists(COUNTS, max_size=6),
    st.lists(TWINS, max_size=6),
)
def test_whatever_is_offered_explains_the_gap(one, pack, pack_count, others, twins):
    """Each cause by itself leaves less than it found, and nothing but noise is without one."""
    found = suggestions(
        counted(one), pack=pack, pack_count=pack_count, others=others, twins=twins
    )

    assert (found == ()) == within_noise(one)
    assert codes(found) == sorted(codes(found), key=gaps.CODES.index)
    for cause in found:
        assert abs(one.difference - explained_by(cause)) < abs(one.difference)


@pytest.mark.parametrize(
    ("measure", "seen", "doubt"), [("mass", 1, 0), ("weight", -1, 0), ("weight", 1, -1)]
)
def test_a_gap_outside_its_bounds_is_a_slip_of_the_caller(measure, seen, doubt):
    with pytest.raises(AssertionError):
        gap(measure, 1, seen, doubt)


@pytest.mark.parametrize(("pack", "pack_count"), [(0, 1), (1, 0)])
def test_a_lot_without_packs_is_a_slip_of_the_caller(pack, pack_count):
    with pytest.raises(AssertionError):
        offered(gap("pieces", 100, 50), pack=pack, pack_count=pack_count)
