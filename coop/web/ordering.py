"""Orders in words: when and how much to order and why, what was ordered, what is late."""

from collections.abc import Iterator, Mapping
from datetime import date
from functools import lru_cache
from types import MappingProxyType

from babel.dates import format_date

from coop.actions.see_orders import OrderLine
from coop.ledger.states import OrderState
from coop.rules.orders import LEARNED_FROM, SURE_FROM, Booking, cover_weeks, is_overdue
from coop.web.i18n import N_, Words
from coop.web.stock import WEEKS_TOLD_MAX, amount_text, lasts_text, pack_text

BOOKINGS_SAID = 3
"""So many booked sessions are named in a sentence; the others are summed."""

LEAD_BY: Mapping[str, str] = MappingProxyType(
    {
        "supply": N_("The days to arrive are those written for it."),
        "supplier": N_("The days to arrive are those its supplier takes."),
        "default": N_(
            "Nobody has written how long it takes to arrive: common practice, no source."
        ),
    }
)
"""Who says how long an order takes; what was learned is said with a number."""


def short_day(words: Words, day: date, today: date) -> str:
    """Return a day as a sentence says it: '4 Oct', with the year when it is another one."""
    pattern = "d MMM" if day.year == today.year else "d MMM y"
    return _said(day, pattern, words.lang)


@lru_cache(maxsize=512)
def _said(day: date, pattern: str, lang: str) -> str:
    """Write a day out; three hundred supplies say the same few."""
    return format_date(day, pattern, locale=lang)


def when_to_order(words: Words, line: OrderLine, today: date) -> str:
    """Say when to order: 'Order today', 'Order by 24 Nov'."""
    assert line.plan is not None, "without a floor nobody knows when"
    if line.plan.order_by is None:
        return words.gettext("Not within a year")
    if line.plan.due:
        return words.gettext("Order today")
    return words.gettext("Order by %(day)s", day=short_day(words, line.plan.order_by, today))


def how_much(words: Words, line: OrderLine) -> str:
    """Say how much to order: '2 packs of 454 g'; empty where nothing is to be ordered."""
    if line.plan is None or line.plan.order_by is None:
        return ""
    if not line.plan.packs:
        return _much(words, line, line.plan.amount)
    pack = pack_text(words, line.supply.what, line.supply.measure, line.facts.pack or 0)
    return packs_text(words, line.plan.packs, pack)


def covers(words: Words, line: OrderLine) -> str:
    """Say for how long what is ordered is enough; empty where nobody can say."""
    weeks = round(cover_weeks(line.facts, line.plan)) if line.plan else 0
    if not weeks:
        return ""
    if weeks > WEEKS_TOLD_MAX:
        return words.gettext("enough for years over the floor")
    return words.ngettext(
        "enough for about %(num)d week over the floor",
        "enough for about %(num)d weeks over the floor",
        weeks,
    )


def packs_text(words: Words, packs: int, pack: str) -> str:
    """Say packs: '2 packs of 454 g'; '2 packs' where nobody said what is in one."""
    if not pack:
        return words.ngettext("%(num)d pack", "%(num)d packs", packs)
    return words.ngettext("%(num)d pack of %(pack)s", "%(num)d packs of %(pack)s", packs,
                          pack=pack)  # fmt: skip


def _much(words: Words, line: OrderLine, amount: float) -> str:
    return amount_text(words, line.supply.what, line.supply.measure, round(amount))


def why(words: Words, line: OrderLine, today: date) -> str:
    """
    Say why in one line, so that the sum can be done again by hand.

    'class of 12 on 4 Oct takes 240 g; 8 days to arrive, 3 to review; 133 g left on 12 Oct,
    floor 150 g'.
    """
    return "; ".join(_reasons(words, line, today))


def _reasons(words: Words, line: OrderLine, today: date) -> Iterator[str]:
    assert line.plan is not None, "without a floor there is no plan"
    counted = line.plan.counted
    for one in counted[:BOOKINGS_SAID]:
        yield _takes(words, line, one, today)
    others = counted[BOOKINGS_SAID:]
    if others:
        yield words.ngettext(
            "%(num)d more booking takes %(amount)s",
            "%(num)d more bookings take %(amount)s",
            len(others),
            amount=_much(words, line, sum(one.amount for one in others)),
        )
    if line.plan.on_the_way_in_span:
        amount = _much(words, line, line.plan.on_the_way_in_span)
        yield words.gettext("%(amount)s on the way", amount=amount)
    yield words.ngettext(
        "%(num)d day to arrive, %(review)s to review",
        "%(num)d days to arrive, %(review)s to review",
        line.facts.lead_days,
        review=words.number(line.facts.review_days),
    )
    yield _left(words, line, today)


def _takes(words: Words, line: OrderLine, one: Booking, today: date) -> str:
    day, amount = short_day(words, one.day, today), _much(words, line, one.amount)
    if one.head_count is None:
        return words.gettext(
            "%(name)s on %(day)s takes %(amount)s", name=one.name, day=day, amount=amount
        )
    return words.gettext(
        "class of %(heads)s on %(day)s takes %(amount)s",
        heads=words.number(one.head_count),
        day=day,
        amount=amount,
    )


def _left(words: Words, line: OrderLine, today: date) -> str:
    assert line.plan is not None, "without a floor there is no plan"
    left = line.plan.left
    day = short_day(words, line.plan.covers_until, today)
    amount, floor = _much(words, line, abs(left)), _much(words, line, line.facts.floor)
    if left < 0:
        there = words.gettext("%(amount)s missing by %(day)s", amount=amount, day=day)
    elif line.plan.short and amount == floor:
        there = words.gettext("just under %(amount)s left on %(day)s", amount=amount, day=day)
    else:
        there = words.gettext("%(amount)s left on %(day)s", amount=amount, day=day)
    if line.supply.floor is None:
        return words.gettext("%(there)s, nobody has set a floor", there=there)
    return words.gettext("%(there)s, floor %(floor)s", there=there, floor=floor)


def known_of(words: Words, line: OrderLine, today: date) -> Iterator[str]:
    """Say what the plan rests on: stock, use, how the use was found, days, how it keeps."""
    yield _stock(words, line, today)
    yield from _not_counted(words, line)
    yield _used(words, line)
    if line.use.weekly.week_count:
        yield _rate(words, line)
    if line.plan is None or line.plan.order_by is None:
        return
    yield _lead(words, line)
    if line.plan.limited_by_keeping and line.facts.keeps_days is not None:
        yield words.ngettext(
            "It keeps %(num)d day: more would not be used up by then.",
            "It keeps %(num)d days: more would not be used up by then.",
            line.facts.keeps_days,
        )


def _stock(words: Words, line: OrderLine, today: date) -> str:
    on_hand = _much(words, line, line.facts.on_hand)
    if line.facts.on_hand < 0:
        missing = _much(words, line, -line.facts.on_hand)
        return words.gettext(
            "%(amount)s more was drawn than had come in: count it.", amount=missing
        )
    lasts = lasts_text(words, line.supply, line.facts.on_hand, line.facts.per_week)
    there = words.gettext("%(amount)s on hand.", amount=on_hand)
    if lasts:
        there = words.gettext("%(amount)s on hand: %(lasts)s.", amount=on_hand, lasts=lasts)
    return f"{there} {_until(words, line, today)}".rstrip()


def _until(words: Words, line: OrderLine, today: date) -> str:
    """Say until when it is enough by all that is known; empty where nothing is there."""
    if line.plan is None or line.facts.on_hand <= 0:
        return ""
    if line.plan.runs_out_on is None:
        return words.gettext("It is enough for a year.")
    return words.gettext(
        "With what is booked and on the way it is enough until %(day)s.",
        day=short_day(words, line.plan.runs_out_on, today),
    )


def not_on_hand(words: Words, line: OrderLine) -> Iterator[str]:
    """Say what stands on the shelf and is not counted as on hand."""
    if line.spoiled:
        yield words.gettext(
            "Past its day and not counted: %(amount)s.",
            amount=_much(words, line, line.spoiled),
        )
    if line.gelling:
        yield words.gettext(
            "Kappa and iota, which set to a jelly, are not counted: %(amount)s.",
            amount=_much(words, line, line.gelling),
        )


def _not_counted(words: Words, line: OrderLine) -> Iterator[str]:
    """Say what neither counts as on hand nor as on the way."""
    yield from not_on_hand(words, line)
    if line.overdue:
        yield words.ngettext(
            "%(num)d order is long overdue and does not count: ask, or cancel it.",
            "%(num)d orders are long overdue and do not count: ask, or cancel them.",
            len(line.overdue),
        )


def _used(words: Words, line: OrderLine) -> str:
    use = line.use
    if not use.long + use.booked_long:
        return words.gettext("None was used in the last eight weeks.")
    used = words.gettext(
        "Used in the last four weeks %(short)s, in eight %(long)s.",
        short=_much(words, line, use.short),
        long=_much(words, line, use.long),
    )
    if not use.booked_long:
        return used
    booked = words.gettext(
        "Classes besides: %(short)s and %(long)s.",
        short=_much(words, line, use.booked_short),
        long=_much(words, line, use.booked_long),
    )
    return f"{used} {booked}"


def _rate(words: Words, line: OrderLine) -> str:
    per_week = _much(words, line, line.use.per_week)
    if line.use.weekly.by == "fading":
        return words.gettext(
            "It is used now and then: reckoned with %(amount)s a week by fading use.",
            amount=per_week,
        )
    return words.ngettext(
        "Reckoned with %(amount)s a week, the mean of %(num)d week.",
        "Reckoned with %(amount)s a week, the mean of %(num)d weeks.",
        line.use.weekly.week_count,
        amount=per_week,
    )


def _lead(words: Words, line: OrderLine) -> str:
    if line.lead_by != "learned":
        return words.gettext(LEAD_BY[line.lead_by])
    count = len(line.supply.arrival_days)
    if count < SURE_FROM:
        return words.ngettext(
            "The days to arrive are the longer of what its only order took and what is "
            "written: few orders are no promise.",
            "The days to arrive are the longest of what its %(num)d orders took and what is "
            "written: few orders are no promise.",
            count,
        )
    return words.ngettext(
        "The days to arrive are the middle of the last %(num)d order.",
        "The days to arrive are the middle of the last %(num)d orders.",
        min(LEARNED_FROM, count),
    )


def ordered_text(words: Words, measure: str, order: OrderState) -> str:
    """Say what was ordered: '2 packs of 454 g'."""
    known = order.pack is not None
    pack = pack_text(words, order.what, measure, order.pack or 0) if known else ""
    return packs_text(words, order.packs, pack)


def expected_text(words: Words, expected: date, today: date) -> str:
    """
    Say when an order should come: 'expected 2025-10-09', 'expected 3 days ago', and of one
    that nobody counts on any more what to do.
    """
    late_days = (today - expected).days
    if is_overdue(expected, today=today):
        return words.ngettext(
            "expected %(num)d day ago: ask, or cancel it",
            "expected %(num)d days ago: ask, or cancel it",
            late_days,
        )
    if late_days > 0:
        return words.ngettext(
            "expected %(num)d day ago", "expected %(num)d days ago", late_days
        )
    if late_days == 0:
        return words.gettext("expected today")
    return words.gettext("expected %(day)s", day=words.day(expected))
