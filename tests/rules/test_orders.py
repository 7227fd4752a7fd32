"""When a supply is to be ordered, and how much: by the shelf and by the calendar."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import EntryId, MemberId, Subject
from coop.ledger.states import SessionState
from coop.rules import orders
from coop.rules.orders import (
    Booking,
    OnTheWay,
    OrderPlan,
    SupplyFacts,
    cover_weeks,
    is_due_within,
    is_over,
    is_overdue,
    lead_days_learned,
    plan_order,
)
from coop.science.defaults import OUR_OWN, default, value

TODAY = date(2025, 10, 1)
SATURDAY = date(2025, 10, 4)
DAY = timedelta(days=1)


def class_of(heads: int, amount: int, day: date = SATURDAY, session: str = "class") -> Booking:
    return Booking(
        day=day, amount=amount, name="Class", head_count=heads, session=Subject(session)
    )


def coming(amount: int, day: date) -> OnTheWay:
    return OnTheWay(day=day, amount=amount, order=Subject("order"))


def order_line(facts: SupplyFacts) -> int:
    """Return the stock under which an order is due today, by the trade's own sum."""
    span_days = facts.lead_days + facts.review_days
    until = TODAY + span_days * DAY
    booked = sum(one.amount for one in facts.bookings if one.day <= until)
    came = sum(one.amount for one in facts.on_the_way if one.day <= until)
    return facts.floor + round(facts.per_week * span_days / 7) + booked - came


def carrageenan(**changes: Any) -> SupplyFacts:
    """
    A gum of which 130 g go in a week, in whole grams.

    The worked story of the trade's own map: 8 days to arrive, 3 to the next look, at least
    150 g on the shelf, pound packs of 454 g. Invented, and reckoned by hand.
    """
    facts = SupplyFacts(
        on_hand=577,
        floor=150,
        per_week=130,
        lead_days=8,
        review_days=3,
        pack=454,
        keeps_days=None,
        bookings=(),
        on_the_way=(),
    )
    return replace(facts, **changes)


def plan(facts: SupplyFacts) -> OrderPlan:
    return plan_order(facts, today=TODAY)


def test_a_class_of_twelve_makes_the_order_due_on_the_day():
    """577 - 204 used in eleven days - 240 for the class = 133 left on 12 Oct, floor 150."""
    got = plan(carrageenan(bookings=(class_of(12, 240),)))

    assert (got.due, got.order_by, got.covers_until) == (True, TODAY, date(2025, 10, 12))
    assert (got.used_in_span, got.left, got.short) == (204, 133, 17)
    assert [(one.head_count, one.amount) for one in got.counted] == [(12, 240)]
    assert (got.packs, got.amount, got.limited_by_keeping) == (2, 908, False)


def test_a_class_of_nine_leaves_the_order_for_another_day():
    """577 - 204 - 180 = 193; at 130 g a week the floor is reached two to three days on."""
    got = plan(carrageenan(bookings=(class_of(9, 180),)))

    assert (got.due, got.order_by) == (False, date(2025, 10, 4))
    assert (got.covers_until, got.left) == (date(2025, 10, 15), 577 - 260 - 180)
    assert order_line(carrageenan(bookings=(class_of(9, 180),))) < 577


@pytest.mark.parametrize(("bookings", "line"), [((), 354), ((class_of(12, 240),), 594)])
def test_the_order_line_looks_at_the_calendar(bookings, line):
    """Floor + eleven days of use, and with a class of twelve within them 240 g more."""
    facts = carrageenan(bookings=bookings)

    assert order_line(facts) == line
    assert not plan(replace(facts, on_hand=line)).due
    assert plan(replace(facts, on_hand=line - 1)).due


def test_micrograms_give_the_same_answer():
    """The ledger's own unit: the line is 354.29 g, said as 354."""
    scale = 1_000_000
    facts = carrageenan(
        on_hand=577 * scale,
        floor=150 * scale,
        per_week=130.0 * scale,
        pack=454 * scale,
        bookings=(class_of(12, 240 * scale),),
    )
    got = plan(facts)

    assert (got.due, got.packs, round(got.left / scale)) == (True, 2, 133)
    assert order_line(replace(facts, bookings=())) == 354_285_714


def test_a_class_past_the_days_to_arrive_does_not_count_yet():
    """It counts on the day from which an order could be late for it."""
    booked = class_of(12, 240, TODAY + 12 * DAY)
    got = plan(carrageenan(bookings=(booked,)))

    assert (got.due, got.order_by, got.counted) == (False, TODAY + DAY, (booked,))


def test_what_is_on_the_way_counts_from_the_day_it_is_expected():
    """Two bags on 9 Oct are enough; a day after the span they come too late."""
    booked = (class_of(12, 240),)
    in_time = plan(carrageenan(bookings=booked, on_the_way=(coming(908, date(2025, 10, 9)),)))
    too_late = plan(carrageenan(bookings=booked, on_the_way=(coming(908, TODAY + 12 * DAY),)))
    overdue = plan(carrageenan(bookings=booked, on_the_way=(coming(908, TODAY - 3 * DAY),)))

    assert (in_time.due, in_time.left) == (False, 577 - 240 - in_time.used_in_span + 908)
    assert in_time.on_the_way_in_span == overdue.on_the_way_in_span == 908
    assert too_late.due
    assert too_late.on_the_way_in_span == 0
    assert not overdue.due


def test_what_nobody_uses_is_never_due():
    """Nothing to order: no day, no packs; under the floor it is due all the same."""
    idle = plan(carrageenan(per_week=0.0))
    low = plan(carrageenan(per_week=0.0, on_hand=149))

    assert (idle.order_by, idle.due, idle.packs, idle.amount) == (None, False, 0, 0)
    assert (idle.runs_out_on, idle.left, idle.covers_until) == (None, 577, TODAY + 11 * DAY)
    assert (low.due, low.packs, low.amount) == (True, 1, 454)


def test_an_order_is_looked_for_up_to_a_year():
    """A day in fourteen months is nothing to put on a list."""
    last = plan(carrageenan(per_week=0.0, bookings=(class_of(1, 500, TODAY + 376 * DAY),)))
    past = plan(carrageenan(per_week=0.0, bookings=(class_of(1, 500, TODAY + 377 * DAY),)))

    assert (last.order_by, past.order_by) == (TODAY + 365 * DAY, None)


def test_the_day_it_runs_out_is_the_first_on_which_nothing_is_left():
    """577 g at 130 a week are gone after 31.07 days; a class of 577 takes all of it."""
    assert plan(carrageenan()).runs_out_on == TODAY + 32 * DAY
    assert plan(carrageenan(bookings=(class_of(12, 577),))).runs_out_on == SATURDAY
    assert plan(carrageenan(on_hand=-3)).runs_out_on == TODAY
    assert plan(carrageenan(per_week=7.0, on_hand=365)).runs_out_on == TODAY + 365 * DAY
    assert plan(carrageenan(per_week=7.0, on_hand=366)).runs_out_on is None


@pytest.mark.parametrize(
    ("pack", "packs", "amount"), [(454, 2, 908), (25, 22, 550), (None, 0, 537)]
)
def test_an_order_fills_up_to_the_floor_and_four_weeks_of_use(pack, packs, amount):
    """150 + 4 x 130 - 133 left = 537 g, in whole packs where there are packs."""
    got = plan(carrageenan(pack=pack, bookings=(class_of(12, 240),)))

    assert value("order_cover_weeks") == 4
    assert (got.packs, got.amount) == (packs, amount)


@pytest.mark.parametrize(
    ("keeps_days", "packs", "limited"), [(60, 2, False), (40, 1, True), (7, 1, True)]
)
def test_no_more_is_ordered_than_is_used_while_it_keeps(keeps_days, packs, limited):
    """
    188 g are there when it comes and go first. Of what comes, 60 days use 1114 - 188 g: two
    packs; 40 days 743 - 188: one; 7 days none, and it says so.
    """
    got = plan(carrageenan(keeps_days=keeps_days, bookings=(class_of(12, 240),)))

    assert (got.packs, got.limited_by_keeping) == (packs, limited)


def test_what_is_used_to_the_last_gram_is_ordered_whole():
    """Sixty days use 1114 g, 4 of them the old ones: just two packs of 555."""
    two, one = (
        plan(carrageenan(keeps_days=60, pack=pack, bookings=(class_of(12, 424),)))
        for pack in (555, 556)
    )

    assert (two.left, two.packs, two.limited_by_keeping) == (-51, 2, False)
    assert (one.packs, one.limited_by_keeping) == (1, True)


def test_what_is_there_when_it_comes_is_used_first():
    """
    Four weeks use 400 g, 250 of them the old ones: of new packs of 50 g three are used.

    350 - 100 used in a week = 250 left on the day it comes; eleven would bring the floor back.
    """
    got = plan(
        carrageenan(
            on_hand=350,
            floor=300,
            per_week=100,
            lead_days=7,
            review_days=7,
            pack=50,
            keeps_days=28,
        )
    )

    assert (got.left, got.short) == (150, 150)
    assert (got.packs, got.limited_by_keeping) == (3, True)


@pytest.mark.parametrize(("days", "packs"), [(7, 1), (8, 2), (48, 2), (49, 1)])
def test_a_class_counts_from_the_day_of_arrival_to_the_day_it_spoils(days, packs):
    """Ordered today it is here in eight days and keeps for forty."""
    one = class_of(12, 200), class_of(12, 240, TODAY + days * DAY, "next")
    got = plan(carrageenan(on_hand=300, keeps_days=40, bookings=one))

    assert (got.due, got.packs) == (True, packs)


def test_what_keeps_for_no_use_at_all_is_ordered_up_to_the_floor():
    """Bought loose, and nothing of it is used while it keeps: what is short is ordered."""
    got = plan(carrageenan(on_hand=200, per_week=70, pack=None, keeps_days=1))

    assert (got.left, got.amount, got.limited_by_keeping) == (90, 60, True)


def test_a_class_after_arrival_uses_up_what_would_spoil():
    """Fifty days of use alone, 929 - 188 g, are one pack; with a class of 240 g two."""
    soon, later = class_of(12, 240), class_of(12, 240, date(2025, 10, 20), "next")
    alone, got = (
        plan(carrageenan(keeps_days=50, bookings=booked)) for booked in ((soon,), (later, soon))
    )

    assert (alone.packs, alone.limited_by_keeping) == (1, True)
    assert (got.packs, got.limited_by_keeping) == (2, False)
    assert [one.day for one in got.counted] == [SATURDAY]


@pytest.mark.parametrize(
    ("late_days", "overdue"), [(-9, False), (0, False), (14, False), (15, True)]
)
def test_an_order_counts_for_two_weeks_after_its_day(late_days, overdue):
    """A parcel may be late; one that is three weeks late may never come. Our own choice."""
    assert default("order_overdue_days").mark == OUR_OWN
    assert is_overdue(TODAY - late_days * DAY, today=TODAY) == overdue


@pytest.mark.parametrize(
    ("ends", "hours", "over"),
    [(4, 3, False), (4, 4, True), (None, 11, False), (None, 12, True), (60, 59, False)],
)
def test_a_session_is_over_at_its_end_or_half_a_day_after_its_start(ends, hours, over):
    """A class without an end is over by night; a weekend course lasts as long as it says."""
    starts = datetime(2025, 10, 4, 10, tzinfo=UTC)
    session = SessionState(
        id=Subject("class"),
        edition=EntryId("edition"),
        edition_count=1,
        studio=Subject("studio"),
        name="Class",
        starts_at=starts,
        ends_at=None if ends is None else starts + timedelta(hours=ends),
        head_count=12,
        under_16=False,
        needs=(),
        called_off=False,
        planned_by=MemberId("amina"),
    )

    assert is_over(session, now=starts + timedelta(hours=hours)) == over


@pytest.mark.parametrize(
    ("days", "learned"),
    [
        ([], None),
        ([8], 8),
        ([8, 9], 9),
        ([9, 8], 9),
        ([9, 8, 8], 8),
        ([30, 8, 8, 9, 7, 8], 8),
        ([3, 3, 3, 12, 12, 12], 12),
        ([400], 365),
    ],
)
def test_days_to_arrive_are_learned_from_the_last_five_orders(days, learned):
    """The median: one parcel lost for a month changes nothing; of two the longer."""
    assert lead_days_learned(days) == learned


@pytest.mark.parametrize(
    ("days", "learned"), [([], None), ([3], 10), ([3, 4], 10), ([3, 14], 14), ([3, 4, 5], 4)]
)
def test_a_quick_parcel_or_two_do_not_outdo_what_is_written(days, learned):
    """Ten days are written: from three orders on their own count."""
    assert lead_days_learned(days, written=10) == learned


@pytest.mark.parametrize(
    ("per_week", "floor", "weeks"), [(130, 150, 891 / 130), (0, 150, 0), (130, 5_000, 0)]
)
def test_what_is_ordered_covers_some_weeks_over_the_floor(per_week, floor, weeks):
    """133 g left and 908 g come, 150 g stay: 891 g are seven weeks at 130 g."""
    facts = carrageenan(bookings=(class_of(12, 240),))
    ordered = plan(facts)
    assert (ordered.left, ordered.amount) == (133, 908)
    assert cover_weeks(replace(facts, per_week=per_week, floor=floor), ordered) == weeks


def test_what_is_not_ordered_covers_nothing():
    facts = carrageenan(on_hand=577_000)
    assert cover_weeks(facts, plan(facts)) == 0


@pytest.mark.parametrize(
    "wrong",
    [
        {"floor": -1},
        {"per_week": float("nan")},
        {"per_week": -1.0},
        {"lead_days": orders.LEAD_MAX_DAYS + 1},
        {"review_days": orders.REVIEW_MAX_DAYS + 1},
        {"pack": 0},
        {"keeps_days": 0},
        {"bookings": (class_of(12, -1),)},
        {"on_the_way": (coming(-1, TODAY),)},
    ],
    ids=lambda wrong: next(iter(wrong)),
)
def test_facts_outside_their_bounds_are_a_slip_of_the_caller(wrong):
    with pytest.raises(AssertionError):
        carrageenan(**wrong)


AMOUNTS = st.integers(0, 1_000)
DAYS = st.integers(-5, 60).map(lambda days: TODAY + timedelta(days=days))
BOOKINGS = st.lists(
    st.builds(class_of, st.just(12), AMOUNTS, DAYS, st.uuids().map(str)), max_size=5
).map(tuple)
ARRIVALS = st.lists(st.builds(coming, AMOUNTS, DAYS), max_size=3).map(tuple)
FACTS = st.builds(
    SupplyFacts,
    on_hand=st.integers(-500, 3_000),
    floor=AMOUNTS,
    per_week=st.floats(0, 700),
    lead_days=st.integers(0, 60),
    review_days=st.integers(0, 14),
    pack=st.none() | st.integers(1, 1_000),
    keeps_days=st.none() | st.integers(1, 1_500),
    bookings=BOOKINGS,
    on_the_way=ARRIVALS,
)


def no_later(worse: SupplyFacts, facts: SupplyFacts) -> bool:
    """Say whether the order of the worse facts is due on the same day or before."""
    first, second = plan(worse).order_by, plan(facts).order_by
    return second is None or (first is not None and first <= second)


@given(FACTS, st.integers(0, 500), st.integers(-5, 60))
def test_less_on_hand_a_higher_floor_or_more_booked_never_puts_an_order_off(
    facts, amount, days
):
    booked = class_of(12, amount, TODAY + timedelta(days=days))

    assert no_later(replace(facts, on_hand=facts.on_hand - amount), facts)
    assert no_later(replace(facts, floor=facts.floor + amount), facts)
    assert no_later(replace(facts, bookings=(*facts.bookings, booked)), facts)
    assert no_later(replace(facts, per_week=facts.per_week + amount), facts)


@given(FACTS, st.integers(0, 365))
def test_whether_it_is_due_in_time_is_asked_without_the_plan(facts, days):
    """The room asks it of three hundred supplies; the list says the same."""
    by = plan(facts).order_by

    assert is_due_within(facts, today=TODAY, days=days) == (
        by is not None and (by - TODAY).days <= days
    )


@given(FACTS, st.integers(0, 300))
def test_more_days_to_arrive_never_put_an_order_off(facts, days):
    """But for what is on the way past the shorter days: that is not the longer order's lack."""
    until = TODAY + timedelta(days=facts.lead_days + facts.review_days)
    here = tuple(one for one in facts.on_the_way if one.day <= until)
    facts = replace(facts, on_the_way=here)

    assert no_later(replace(facts, lead_days=facts.lead_days + days), facts)


@given(FACTS, st.integers(0, 500))
def test_a_larger_class_never_needs_less(facts, more):
    """A higher line, and of two orders placed on one day the larger for the larger class."""
    small = class_of(9, 180)
    large = replace(small, head_count=12, amount=180 + more)
    for_small = replace(facts, bookings=(*facts.bookings, small))
    for_large = replace(facts, bookings=(*facts.bookings, large))
    lines = [order_line(one) for one in (for_small, for_large)]
    first, second = plan(for_small), plan(for_large)

    assert lines == sorted(lines)
    assert no_later(for_large, for_small)
    if first.order_by == second.order_by:
        assert first.amount <= second.amount
        assert first.short <= second.short
        assert first.packs <= second.packs


@given(FACTS)
def test_an_order_brings_stock_back_to_the_floor_or_says_what_limits_it(facts):
    got = plan(facts)

    if got.order_by is None:
        assert got.amount == got.packs == 0
    else:
        assert got.limited_by_keeping or got.left + got.amount >= facts.floor
        assert got.amount > 0
        assert got.amount == got.packs * facts.pack if facts.pack else got.packs == 0
    assert facts.keeps_days is not None or not got.limited_by_keeping


@given(FACTS)
def test_the_sum_of_the_sentence_can_be_done_again(facts):
    """On hand - used - booked + on the way = left, in whole units."""
    got = plan(facts)
    booked = sum(one.amount for one in got.counted)

    assert got.left == facts.on_hand - got.used_in_span - booked + got.on_the_way_in_span
    assert got.short == max(0, facts.floor - got.left)
    assert got.due == (facts.on_hand < order_line(facts))
    if got.order_by is not None:
        assert got.left < facts.floor


def the_next_day(facts: SupplyFacts, day: date) -> SupplyFacts:
    """A day on: a seventh of the week is used, what was booked is drawn, what came is here."""
    drawn = sum(one.amount for one in facts.bookings if one.day <= day)
    came = sum(one.amount for one in facts.on_the_way if one.day <= day)
    return replace(
        facts,
        on_hand=facts.on_hand - round(facts.per_week / 7) - drawn + came,
        bookings=tuple(one for one in facts.bookings if one.day > day),
        on_the_way=tuple(one for one in facts.on_the_way if one.day > day),
    )


@given(FACTS, st.integers(0, 60))
def test_asked_once_for_a_year_or_every_morning_the_answer_is_the_same(facts, each_day):
    """The list of Monday and the list of Friday must not tell two stories."""
    facts = replace(facts, per_week=7.0 * each_day)
    got, day, asked = plan(facts), TODAY, facts
    while not plan_order(asked, today=day).due and day < TODAY + timedelta(days=365):
        asked, day = the_next_day(asked, day), day + DAY
    there = plan_order(asked, today=day)

    assert got.order_by == (day if there.due else None)
    if there.due:
        assert (there.left, there.amount) == (got.left, got.amount)
