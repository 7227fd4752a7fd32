"""What needs somebody: when it falls due, what comes first, and which sessions are short."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger.kinds import NEEDS, ROLES
from coop.rules.needs import (
    WANTED_OF,
    Asked,
    limits_due,
    permission_due,
    shares,
    urgency,
    zero_due,
)
from coop.rules.orders import Booking, OnTheWay, SupplyFacts

TODAY = date(2025, 10, 1)
DAY = timedelta(days=1)


def booking(amount: int, day: date, session: str = "class") -> Booking:
    return Booking(
        day=day, amount=amount, name="Class", head_count=12, session=Subject(session)
    )


def facts(on_hand: int, *bookings: Booking, per_week: float = 0.0, **more: int) -> SupplyFacts:
    """Return a supply in whole grams that nothing is on the way of."""
    return SupplyFacts(
        on_hand=on_hand,
        floor=more.get("floor", 0),
        per_week=per_week,
        lead_days=8,
        review_days=3,
        pack=454,
        keeps_days=None,
        bookings=bookings,
        on_the_way=(),
    )


def test_every_kind_of_need_says_whom_it_wants_and_where_it_stands():
    """A need that nobody is asked about would never be seen."""
    assert set(WANTED_OF) == set(NEEDS)
    assert {role for roles in WANTED_OF.values() for role in roles} <= set(ROLES)
    assert len({urgency(code, TODAY) for code in NEEDS}) == len(NEEDS)


def test_a_bath_not_to_be_used_comes_before_all_else():
    """It ruins sheets tonight; a count can wait."""
    hard = urgency("look-at-bath", TODAY, hard=True)

    assert all(hard < urgency(code, TODAY - 365 * DAY) for code in NEEDS)
    assert urgency("order", TODAY - DAY) < urgency("order", TODAY)


def test_a_hydrometer_that_was_never_read_in_tap_water_is_due_today():
    """The month is common practice, no source."""
    assert zero_due(None, today=TODAY) == TODAY
    assert zero_due(TODAY - 30 * DAY, today=TODAY) == TODAY
    assert zero_due(TODAY - 29 * DAY, today=TODAY) == TODAY + DAY


def test_house_limits_are_looked_over_once_a_year():
    assert limits_due(date(2024, 10, 1), records_kept="members_only") == TODAY


@pytest.mark.parametrize(
    ("drain", "due"),
    [("sewer", TODAY), ("septic", TODAY), ("none", None), ("not_known", None)],
)
def test_a_drain_that_is_somebody_elses_is_asked_about(drain, due):
    """A sewer is the town's, a septic tank has a firm that empties it."""
    assert permission_due(drain, (), today=TODAY) == due


def test_the_last_answer_about_each_liquid_says_when_to_ask_again():
    """An old answer that was renewed asks for nobody any more."""
    old = Asked(about="size", asked_on=TODAY - 400 * DAY, review_on=TODAY - 35 * DAY)
    new = replace(old, asked_on=TODAY - 30 * DAY, review_on=TODAY + 335 * DAY)
    other = Asked(about="alum_bath", asked_on=TODAY - 10 * DAY, review_on=TODAY + 20 * DAY)
    for_good = Asked(about="size", asked_on=TODAY, review_on=None)

    assert permission_due("sewer", [old], today=TODAY) == TODAY - 35 * DAY
    assert permission_due("sewer", [new, old], today=TODAY) == TODAY + 335 * DAY
    assert permission_due("sewer", [old, new, other], today=TODAY) == TODAY + 20 * DAY
    assert permission_due("sewer", [old, for_good], today=TODAY) is None


def test_what_is_used_until_the_day_is_not_there_for_the_class():
    """577 g, 130 g a week: in three days 56 g go, 521 are there; a class of 600 is 79 short."""
    (got,) = shares(
        facts(577, booking(600, TODAY + 3 * DAY), per_week=130, floor=150), today=TODAY
    )

    assert (got.there, got.short) == (521, 79)


def test_the_earlier_session_draws_first():
    first, second = booking(60, TODAY + DAY, "a"), booking(60, TODAY + 2 * DAY, "b")
    got = shares(facts(100, second, first), today=TODAY)

    assert [(one.booking.session, one.there, one.short) for one in got] == [
        ("a", 60, 0),
        ("b", 40, 20),
    ]


def test_what_arrives_on_the_day_itself_is_there():
    def coming(day: date) -> SupplyFacts:
        on_the_way = (OnTheWay(day=day, amount=454, order=Subject("order")),)
        return replace(facts(0, booking(240, TODAY + 3 * DAY)), on_the_way=on_the_way)

    assert shares(coming(TODAY + 3 * DAY), today=TODAY)[0].short == 0
    assert shares(coming(TODAY + 4 * DAY), today=TODAY)[0].short == 240


def test_below_zero_nothing_is_there():
    """More was written out than came in: the class finds nothing, not less than nothing."""
    (got,) = shares(facts(-50, booking(10, TODAY)), today=TODAY)

    assert (got.there, got.short) == (0, 10)


amounts = st.integers(0, 1_000)
bookings = st.lists(st.tuples(amounts, st.integers(0, 60)), min_size=1, max_size=5)


@given(bookings, amounts, amounts, st.floats(0, 500), st.integers(1, 500))
def test_more_on_hand_or_a_smaller_class_never_leaves_more_short(
    booked, on_hand, more, per_week, heads
):
    """Whatever else is booked, counted over all sessions; and none gets more than it asks."""
    them = [booking(much, TODAY + n * DAY, f"{at}") for at, (much, n) in enumerate(booked)]
    usual = shares(facts(on_hand, *them, per_week=per_week), today=TODAY)
    richer = shares(facts(on_hand + more, *them, per_week=per_week), today=TODAY)
    larger = [replace(them[0], amount=them[0].amount + heads), *them[1:]]
    fuller = shares(facts(on_hand, *larger, per_week=per_week), today=TODAY)

    assert sum(one.short for one in richer) <= sum(one.short for one in usual)
    assert sum(one.short for one in fuller) >= sum(one.short for one in usual)
    assert all(0 <= one.there <= one.booking.amount for one in usual)
    assert sum(one.there for one in usual) <= on_hand
