"""What one rule says of the facts: holds, fails or unknown, and why."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.rules.packs import amounts, whys, words
from coop.rules.packs.facts import Facts, Reading, Tally
from coop.rules.packs.schema import Rule
from coop.rules.packs.words import Verdict

HOLDS, FAILS, UNKNOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.UNKNOWN

TREATMENTS: Final = frozenset({"soda", "lime", "alum"})
"""What puts a failed reading right; water does not, nor any other liquid."""
ALWAYS_STARTED: Final = "first_drop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """
    What a rule says, and why where it is not plain.

    `used` are the readings it went by, `total` the sum in the first unit of its quantity,
    `started_on` and `due_on` the days of its clock, `missing` what its label lacks.
    """

    verdict: Verdict
    why: str = ""
    used: tuple[Reading, ...] = ()
    total: Fraction | None = None
    started_on: date | None = None
    due_on: date | None = None
    missing: tuple[str, ...] = ()


def judged(rule: Rule, facts: Facts, *, day: date, now: datetime) -> Judged:
    """
    Return what a rule says of the facts, whether or not it applies.

    Args:
        rule: Any rule; a BAN always fails, a KEEP always holds.
        day: The site's own date.
        now: With its zone; a reading of later than that is none.
    """
    if rule.sum_of:
        return _total(rule, facts, day)
    if rule.quantity:
        return _limit(rule, facts, day, now)
    return _PLAIN[rule.kind](rule, facts, day)


def _total(rule: Rule, facts: Facts, day: date) -> Judged:
    """Sum over the span; what is over the limit is over it whatever else is not known."""
    parts = [_amount(rule, one) for one in facts.tallies if _counts(rule, one, day)]
    if rule.sum_of == words.POURED:
        parts.append(facts.mass_g if rule.quantity == amounts.MASS else facts.volume_ml)
    counted = _is_counted(rule, facts, day)
    if not counted:
        parts.append(None)
    known = sum((one for one in parts if one is not None), Fraction(0))
    most = known + (amounts.MEASURES[rule.quantity].high if None in parts else 0)
    verdict = _of_ends(rule, known, most, Fraction(0))
    why = whys.AMOUNT_MISSING if counted else whys.NOT_COUNTED
    return Judged(verdict=verdict, why=why if verdict is UNKNOWN else "", total=known)


def _is_counted(rule: Rule, facts: Facts, day: date) -> bool:
    """Whether somebody summed this up, over all of the rule's span."""
    first = {
        words.DAY: day,
        words.CALENDAR_MONTH: day.replace(day=1),
        words.ROLLING_DAYS: day - timedelta(days=max(0, rule.span_days - 1)),
    }.get(rule.span, day)
    reaches = facts.counted_since is None or facts.counted_since <= first
    return rule.sum_of in facts.counted and reaches


def _amount(rule: Rule, tally: Tally) -> Fraction | None:
    return tally.mass_g if rule.quantity == amounts.MASS else tally.volume_ml


def _counts(rule: Rule, tally: Tally, day: date) -> bool:
    if tally.what != rule.sum_of or (rule.wastes and tally.waste not in rule.wastes):
        return False
    if rule.sum_of == words.POURED and tally.outlet not in rule.outlets:
        return False
    match rule.span:
        case words.DAY:
            return tally.on == day
        case words.CALENDAR_MONTH:
            return (tally.on.year, tally.on.month) == (day.year, day.month)
        case words.ROLLING_DAYS:
            return day - timedelta(days=rule.span_days) < tally.on <= day
    return tally.on <= day


def _limit(rule: Rule, facts: Facts, day: date, now: datetime) -> Judged:
    """
    Go by the newest reading that stands, else by what was reckoned, if that counts.

    A sample that failed once is not argued away by the recipe, only by another sample.
    """
    of_it = [one for one in facts.readings if _is_of(rule, one) and one.read_at <= now]
    measured = [one for one in of_it if one.how != words.RECKONED]
    diluted = _failed_before_water(rule, facts, measured, now)
    if diluted:
        return Judged(verdict=FAILS, why=whys.DILUTED, used=diluted)
    fresh = [one for one in measured if _stands(rule, facts, one, now)]
    if rule.span == words.DAY:
        fresh = _mean(rule, [one for one in fresh if one.read_at.date() == day])
    if fresh:
        return _worst(rule, _newest(fresh))
    reckoned = [one for one in of_it if one.how == words.RECKONED]
    if rule.bounds_count and reckoned:
        told = _worst(rule, _newest(reckoned))
        before = _worst(rule, _newest(measured)).verdict if measured else told.verdict
        if {before, told.verdict} != {HOLDS, FAILS} or told.verdict is _bad(rule):
            return told
    if measured:
        return Judged(verdict=UNKNOWN, why=_why_old(rule, measured), used=_newest(measured))
    return Judged(verdict=UNKNOWN, why=whys.MISSING)


def _why_old(rule: Rule, measured: list[Reading]) -> str:
    if rule.span == words.DAY:
        return whys.TOO_FEW
    failed = _worst(rule, _newest(measured)).verdict is _bad(rule)
    return whys.FAILED_BEFORE if failed else whys.STALE


def _bad(rule: Rule) -> Verdict:
    """Return the verdict that closes a drain: to fail a limit, or to be of a class."""
    return HOLDS if rule.kind == words.CLASSIFY else FAILS


def _is_of(rule: Rule, reading: Reading) -> bool:
    if (reading.quantity, reading.of) != (rule.quantity, rule.of):
        return False
    nitrogen = {words.AS_N, words.AS_NH3}
    if nitrogen & {reading.basis, rule.basis}:
        return {reading.basis, rule.basis} <= nitrogen
    return reading.basis in (rule.basis, words.TOTAL_BASIS)


def _failed_before_water(
    rule: Rule, facts: Facts, measured: list[Reading], now: datetime
) -> tuple[Reading, ...]:
    """Return the reading that failed before it was thinned, if nothing since put it right."""
    if rule.kind != words.LIMIT or rule.quantity not in amounts.DILUTABLE:
        return ()
    waters = [one.at for one in facts.added if one.what not in TREATMENTS]
    if set(facts.adding) - TREATMENTS:
        waters.append(now)
    treated = max((one.at for one in facts.added if one.what in TREATMENTS), default=None)
    for at in waters:
        before = _newest(one for one in measured if one.read_at <= at)
        failed = bool(before) and _worst(rule, before).verdict is FAILS
        if failed and (treated is None or treated <= at):
            return before
    return ()


def _stands(rule: Rule, facts: Facts, reading: Reading, now: datetime) -> bool:
    """Whether a reading is young enough, and nothing went in since, nor at the same moment."""
    young = now - reading.read_at <= timedelta(hours=rule.fresh_h)
    return young and all(one.at < reading.read_at for one in facts.added)


def _newest(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Return those of the newest moment."""
    kept = tuple(readings)
    last = max((one.read_at for one in kept), default=None)
    return tuple(one for one in kept if one.read_at == last)


def _mean(rule: Rule, readings: list[Reading]) -> list[Reading]:
    """Return the mean of a day as one reading in the rule's unit; none from too few."""
    count = len(readings)
    if count < rule.readings_min:
        return []
    ends = [_ends(rule, one) for one in readings]
    gaps = [_margin(one) for one in readings]
    mean = Reading(
        quantity=rule.quantity,
        of=rule.of,
        basis=rule.basis,
        read_at=max(one.read_at for one in readings),
        low=sum((low for low, _ in ends), Fraction(0)) / count,
        high=sum((high for _, high in ends), Fraction(0)) / count,
        unit=next(iter(amounts.MEASURES[rule.quantity].units)),
        device=words.METER if None in gaps else "",
        step=max((gap for gap in gaps if gap is not None), default=Fraction(0)),
        doubted=any(one.doubted for one in readings),
    )
    return [mean]


def _worst(rule: Rule, readings: tuple[Reading, ...]) -> Judged:
    """Return what readings of one moment say together."""
    said = [_of_reading(rule, one) for one in readings]
    bad = _bad(rule)
    return min(said, key=lambda one: (one.verdict is not bad, one.verdict is not UNKNOWN))


def _of_reading(rule: Rule, reading: Reading) -> Judged:
    used = (reading,)
    if rule.quantity == amounts.YES_NO:
        verdict = HOLDS if reading.answer == rule.value else FAILS
        return Judged(verdict=verdict, used=used)
    low, high = _ends(rule, reading)
    margin = _margin(reading)
    verdict = _of_ends(rule, low, high, margin)
    why = ""
    if verdict is UNKNOWN:
        why = _why_unknown(reading, margin)
    return Judged(verdict=verdict, why=why, used=used)


def _why_unknown(reading: Reading, margin: Fraction | None) -> str:
    if reading.doubted:
        return whys.DOUBTED
    if reading.how != words.AS_READ:
        return whys.BOUNDS if reading.how == words.RECKONED else whys.NOT_FINE_ENOUGH
    return whys.NOT_CHECKED if margin is None else whys.TOO_NEAR


def _ends(rule: Rule, reading: Reading) -> tuple[Fraction, Fraction]:
    """Return the ends of a reading in the first unit and the rule's basis."""
    unit = reading.unit
    low, high = (
        amounts.in_base(one, quantity=rule.quantity, unit=unit)
        for one in (reading.low, reading.high)
    )
    match reading.basis, rule.basis:
        case words.AS_NH3, words.AS_N:
            return low / amounts.AMMONIA_G_PER_G_N, high / amounts.AMMONIA_G_PER_G_N
        case words.AS_N, words.AS_NH3:
            return low * amounts.AMMONIA_G_PER_G_N, high * amounts.AMMONIA_G_PER_G_N
        case words.TOTAL_BASIS, words.DISSOLVED | words.LEACHED:
            return Fraction(0), high  # of a liquid, no more can be dissolved than there is
    return low, high


def _margin(reading: Reading) -> Fraction | None:
    """Return one step of the scale, or how far off at its check; None for one in doubt."""
    if reading.doubted:
        return None
    if reading.how != words.AS_READ:
        return Fraction(0)
    if reading.device == words.METER and reading.off_at_check is None:
        return None
    gap = max(reading.step, abs(reading.off_at_check or Fraction(0)))
    return amounts.gap_in_base(gap, quantity=reading.quantity, unit=reading.unit)


def _of_ends(rule: Rule, low: Fraction, high: Fraction, margin: Fraction | None) -> Verdict:
    """
    Return what ends in the first unit say.

    The mild answer needs a step's room: a limit holds, or a class does not, only if the
    reading clears it by the margin. The strict answer goes by the reading as it stands.
    """
    measure = amounts.MEASURES[rule.quantity]
    all_in, none_in = _TESTS[rule.holds_if]
    bad = _bad(rule)
    room = margin if margin is not None else measure.high
    wide = max(low - room, min(low, measure.low)), high + room
    bare = low, high
    if all_in(_line(rule), *(bare if bad is HOLDS else wide)):
        return HOLDS
    if none_in(_line(rule), *(bare if bad is FAILS else wide)):
        return FAILS
    return UNKNOWN


@dataclass(frozen=True, slots=True)
class _Line:
    low: Fraction
    high: Fraction
    low_in: bool
    high_in: bool

    def over(self, at: Fraction) -> bool:
        return at > self.low or (self.low_in and at == self.low)

    def under(self, at: Fraction) -> bool:
        return at < self.high or (self.high_in and at == self.high)


def _line(rule: Rule) -> _Line:
    low, high = (
        amounts.in_base(one or Fraction(0), quantity=rule.quantity, unit=rule.unit)
        for one in (rule.low, rule.high)
    )
    return _Line(low, high, rule.low_in, rule.high_in)


_Ends = Callable[[_Line, Fraction, Fraction], bool]
_TESTS: Final[Mapping[str, tuple[_Ends, _Ends]]] = MappingProxyType(
    {
        words.AT_LEAST: (lambda at, low, _: low >= at.low, lambda at, _, high: high < at.low),
        words.OVER: (lambda at, low, _: low > at.low, lambda at, _, high: high <= at.low),
        words.AT_MOST: (lambda at, _, high: high <= at.high, lambda at, low, _: low > at.high),
        words.UNDER: (lambda at, _, high: high < at.high, lambda at, low, _: low >= at.high),
        words.WITHIN: (
            lambda at, low, high: at.over(low) and at.under(high),
            lambda at, low, high: not at.over(high) or not at.under(low),
        ),
        words.OUTSIDE: (
            lambda at, low, high: _below(at, high) or _above(at, low),
            lambda at, low, high: not _below(at, low) and not _above(at, high),
        ),
    }
)
"""For each way of holding: whether all from low to high is in it, and whether none is."""


def _below(line: _Line, at: Fraction) -> bool:
    return at < line.low or (line.low_in and at == line.low)


def _above(line: _Line, at: Fraction) -> bool:
    return at > line.high or (line.high_in and at == line.high)


def _ban(rule: Rule, facts: Facts, day: date) -> Judged:
    return Judged(verdict=FAILS)


def _holds(rule: Rule, facts: Facts, day: date) -> Judged:
    return Judged(verdict=HOLDS)


def _clock(rule: Rule, facts: Facts, day: date) -> Judged:
    """The oldest start counts; what was put together keeps its oldest date."""
    starts = [one.on for one in facts.starts if one.event == rule.starts]
    if not starts:
        if rule.starts == ALWAYS_STARTED:
            return Judged(verdict=UNKNOWN, why=whys.NO_START)
        return Judged(verdict=HOLDS, why=whys.NOT_STARTED)
    started_on = min(starts)
    due_on = started_on + timedelta(days=rule.days - int(rule.first_day_counts))
    late = day > due_on
    return Judged(
        verdict=FAILS if late else HOLDS,
        why=whys.OVERDUE if late else "",
        started_on=started_on,
        due_on=due_on,
    )


def _label(rule: Rule, facts: Facts, day: date) -> Judged:
    """What nobody said is on the label is not on it."""
    missing = tuple(one for one in rule.shows if one not in facts.shown)
    return Judged(verdict=FAILS if missing else HOLDS, missing=missing)


_PLAIN: Final[Mapping[str, Callable[[Rule, Facts, date], Judged]]] = MappingProxyType(
    {
        words.BAN: _ban,
        words.CLASSIFY: _holds,
        words.CLOCK: _clock,
        words.LABEL: _label,
        words.KEEP: _holds,
    }
)
