"""
When a supply is to be ordered, and how much of it.

Amounts are whole numbers in the supply's own unit: micrograms, microlitres, quarters of a
parent sheet, or pieces. Use is taken off in whole units too, so that the sum in the sentence
can be done again by hand: on hand - use - booked + on the way = left.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from itertools import pairwise
from math import ceil, isfinite
from statistics import median
from typing import Final

from coop.ids import Subject
from coop.ledger.states import SessionState
from coop.science.defaults import value

LOOK_AHEAD_DAYS: Final = 365
"""An order due later than this is not told of."""

LEAD_MAX_DAYS: Final = 365
REVIEW_MAX_DAYS: Final = 365
LEARNED_FROM: Final = 5
"""So many of the last orders say how long the next one takes."""

SURE_FROM: Final = 3
"""From so many orders on their median is reckoned with."""

OVER_AFTER: Final = timedelta(hours=12)
"""A session without an end lasts no longer: a day's class and its clearing up; our choice."""

_WEEK_DAYS: Final = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Booking:
    """What a session planned for a day will still draw; `head_count` None if nobody said."""

    day: date
    amount: int
    name: str
    head_count: int | None
    session: Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTheWay:
    """
    What an order will bring on the day it is expected; one that is late counts as here.

    One that `is_overdue` is no more than a hope: whoever gathers facts leaves it out.
    """

    day: date
    amount: int
    order: Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyFacts:
    """
    What is known of one supply on a day.

    Stock is `on_hand`, without what is spoiled, under zero where more was drawn than had come
    in; it is to stay over `floor`. `per_week` is used besides what is booked. An order takes
    `lead_days` to arrive, the list is looked at every `review_days`. It is bought in packs of
    `pack`, None if any amount can be had, and keeps `keeps_days` from arrival, None if for
    ever.
    """

    on_hand: int
    floor: int
    per_week: float
    lead_days: int
    review_days: int
    pack: int | None
    keeps_days: int | None
    bookings: tuple[Booking, ...]
    on_the_way: tuple[OnTheWay, ...]

    def __post_init__(self) -> None:
        assert self.floor >= 0, "a floor is 0 or more"
        assert isfinite(self.per_week), "a use is finite"
        assert self.per_week >= 0, "a use is 0 or more"
        assert 0 <= self.lead_days <= LEAD_MAX_DAYS, "an order arrives within a year"
        assert 0 <= self.review_days <= REVIEW_MAX_DAYS, "a list is looked at every year"
        assert self.pack is None or self.pack > 0, "a pack holds something"
        assert self.keeps_days is None or self.keeps_days > 0, "a supply keeps for some days"
        assert all(one.amount >= 0 for one in self.bookings), "an amount is 0 or more"
        assert all(one.amount >= 0 for one in self.on_the_way), "an amount is 0 or more"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPlan:
    """
    When to order and how much; of today if it is due or never will be, else of `order_by`.

    `left` will stand on hand at the end of `covers_until` if nothing is ordered, `short` of
    it is missing to the floor. Between today and that day `used_in_span` is used, `counted`
    are the bookings and `on_the_way_in_span` is what arrives. `amount` is `packs` whole
    packs; `packs` is 0 where the supply has no pack. `limited_by_keeping` says that more of
    it would not be used up while it keeps, or that one pack alone will not: what is there
    when it arrives is used first.

    On `runs_out_on` nothing is left, None if that is further off than a year.
    """

    order_by: date | None
    due: bool
    covers_until: date
    left: int
    short: int
    packs: int
    amount: int
    limited_by_keeping: bool
    runs_out_on: date | None
    counted: tuple[Booking, ...]
    used_in_span: int
    on_the_way_in_span: int


def plan_order(facts: SupplyFacts, *, today: date) -> OrderPlan:
    """
    Return when to order a supply and how much of it.

    An order is due on the first day from which stock would fall under the floor before an
    order of the day after the next look could arrive: on that day + days to arrive + days
    between looks. It fills up to the floor and `order_cover_weeks` of use (common practice,
    no source; `coop.science.defaults`).

    Less on hand, a higher floor, more booked never put the day off, nor do more days to
    arrive unless what is on the way comes within them.

    >>> facts = SupplyFacts(on_hand=577, floor=150, per_week=130, lead_days=8, review_days=3,
    ...     pack=454, keeps_days=None, on_the_way=(), bookings=(Booking(day=date(2025, 10, 4),
    ...     amount=240, name="Saturday class", head_count=12, session=Subject("c")),))
    >>> plan = plan_order(facts, today=date(2025, 10, 1))
    >>> plan.due, plan.left, plan.covers_until.isoformat(), plan.packs
    (True, 133, '2025-10-12', 2)
    """
    span_days = facts.lead_days + facts.review_days
    course = _course(facts, today)
    past_days = LOOK_AHEAD_DAYS + 1
    due_days = course.first_under(facts.floor, span_days, span_days + past_days)
    ahead_days = None if due_days is None else due_days - span_days
    until_days = (ahead_days or 0) + span_days
    until = today + timedelta(days=until_days)
    left = course.stock(until_days)
    packs, amount, limited = 0, 0, False
    if ahead_days is not None:
        usable = _used_while_it_keeps(course, ahead_days + facts.lead_days)
        packs, amount, limited = _quantity(facts, left, usable)
    out_days = course.first_under(1, 0, past_days)
    return OrderPlan(
        order_by=None if ahead_days is None else today + timedelta(days=ahead_days),
        due=ahead_days == 0,
        covers_until=until,
        left=left,
        short=max(0, facts.floor - left),
        packs=packs,
        amount=amount,
        limited_by_keeping=limited,
        runs_out_on=None if out_days is None else today + timedelta(days=out_days),
        counted=_counted(facts, until),
        used_in_span=_used(facts, until_days),
        on_the_way_in_span=sum(one.amount for one in facts.on_the_way if one.day <= until),
    )


def is_due_within(facts: SupplyFacts, *, today: date, days: int) -> bool:
    """Say whether an order is due within so many days, as `plan_order` says by its day."""
    span_days = facts.lead_days + facts.review_days
    course = _course(facts, today)
    return course.first_under(facts.floor, span_days, span_days + days + 1) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """The stock at the end of each day if none is ordered; `changes` are by days from today."""

    facts: SupplyFacts
    changes: tuple[tuple[int, int], ...]

    def stock(self, days: int) -> int:
        changed = sum(amount for on, amount in self.changes if on <= days)
        return self.facts.on_hand + changed - _used(self.facts, days)

    def booked(self, first: int, last: int) -> int:
        """Return what is booked from one day to another, both included."""
        return -sum(amount for on, amount in self.changes if amount < 0 and first <= on <= last)

    def first_under(self, line: int, first: int, past: int) -> int | None:
        """
        Return the first of some days on which stock is under a line.

        Between two changes stock only falls: each stretch is halved, not walked.
        """
        changed = sorted({on for on, _ in self.changes if first < on < past})
        for begin, end in pairwise((first, *changed, past)):
            spare = self.stock(begin) + _used(self.facts, begin) - line
            if spare < _used(self.facts, end - 1):
                days = range(begin, end)
                key = partial(_used, self.facts)
                return days[bisect_right(days, spare, key=key)]
        return None


def _course(facts: SupplyFacts, today: date) -> _Course:
    coming = [((one.day - today).days, one.amount) for one in facts.on_the_way]
    booked = [((one.day - today).days, -one.amount) for one in facts.bookings]
    changes = ((max(0, days), amount) for days, amount in (*coming, *booked))
    return _Course(facts=facts, changes=tuple(changes))


def _used(facts: SupplyFacts, days: int) -> int:
    return round(facts.per_week * days / _WEEK_DAYS)


def _used_while_it_keeps(course: _Course, arrives: int) -> int | None:
    """
    Return how much of what arrives in some days is used while it keeps; None if for ever.

    What is there before is used up first, and what a session of the day itself takes is taken
    of both.
    """
    facts = course.facts
    if facts.keeps_days is None:
        return None
    there = course.stock(arrives) + course.booked(arrives, arrives)
    booked = course.booked(arrives, arrives + facts.keeps_days)
    return max(0, _used(facts, facts.keeps_days) + booked - max(0, there))


def _quantity(facts: SupplyFacts, left: int, usable: int | None) -> tuple[int, int, bool]:
    """Return packs, amount, and whether keeping bounds them; `left` is under the floor."""
    cover = _used(facts, round(value("order_cover_weeks") * _WEEK_DAYS))
    pack = facts.pack or 1
    count = _packs_for(facts.floor + cover - left, pack)
    limited = usable is not None and count * pack > usable
    if usable is not None and limited:
        count = max(usable // pack, 1 if facts.pack else facts.floor - left)
    return count if facts.pack else 0, count * pack, limited


def _packs_for(amount: int, pack: int) -> int:
    """Round up without a float: micrograms run past what one holds."""
    return -(-amount // pack)


def _counted(facts: SupplyFacts, until: date) -> tuple[Booking, ...]:
    counted = (one for one in facts.bookings if one.day <= until)
    return tuple(sorted(counted, key=lambda one: (one.day, one.session)))


def is_overdue(expected: date, *, today: date) -> bool:
    """
    Say whether an order is so late that nobody can count on it any more.

    Our own choice: `order_overdue_days` of `coop.science.defaults` after the day it was
    expected. Until then it counts as if it came today.

    >>> is_overdue(date(2025, 10, 1), today=date(2025, 10, 15))
    False
    >>> is_overdue(date(2025, 10, 1), today=date(2025, 10, 16))
    True
    """
    return (today - expected).days > value("order_overdue_days")


def is_over(session: SessionState, *, now: datetime) -> bool:
    """
    Say whether a session has ended, so that it takes nothing more.

    One of which nobody wrote an end is over `OVER_AFTER` its start.
    """
    return now >= (session.ends_at or session.starts_at + OVER_AFTER)


def lead_days_learned(days: Sequence[int], *, written: int | None = None) -> int | None:
    """
    Return the days to arrive to reckon with, from what orders took, the oldest first.

    The median of the last five, rounded up; while fewer than three have arrived, the longest
    of them and of the days `written` of the supply or its supplier: one quick parcel is no
    promise. A year at most; None if none has arrived yet. Our own choice.

    >>> lead_days_learned([8, 8, 30, 7, 9, 8])
    8
    >>> lead_days_learned([3], written=10)
    10
    """
    assert all(one >= 0 for one in days), "no order arrives before it was placed"
    if not days:
        return None
    if len(days) < SURE_FROM:
        return min(LEAD_MAX_DAYS, max(*days, written or 0))
    return min(LEAD_MAX_DAYS, ceil(median(days[-LEARNED_FROM:])))


def cover_weeks(facts: SupplyFacts, plan: OrderPlan) -> float:
    """
    Return for how many weeks after `covers_until` what is ordered keeps stock over the floor.

    By weekly use alone, without what is booked later; 0 where nothing is ordered, where it
    does not reach the floor, or where none is used.

    >>> facts = SupplyFacts(on_hand=337, floor=150, per_week=130, lead_days=8, review_days=3,
    ...     pack=454, keeps_days=None, on_the_way=(), bookings=())
    >>> plan = plan_order(facts, today=date(2025, 10, 1))
    >>> plan.left, plan.amount, round(cover_weeks(facts, plan), 1)
    (133, 908, 6.9)
    """
    if not plan.amount or not facts.per_week:
        return 0.0
    return max(0, plan.left + plan.amount - facts.floor) / facts.per_week
