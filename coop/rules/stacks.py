"""
May I use this stack of alumed sheets, and which stacks are going stale?

Alumed paper keeps two days in the open, longer in a closed bag, and turns brittle in the end:
the days are the house's, their sources stand in `coop.science.defaults`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coop.rules.limits import Limits
from coop.rules.reasons import Reason, Word
from coop.rules.use import Answer, HowKnown, Known, Outcome, Stop, StripPrint, stopped, utc

GOING_STALE_DAYS: Final = 1
"""A stack is going stale so long before its use-by."""

_DAY: Final = timedelta(days=1)


class Kept(StrEnum):
    """How a stack lies."""

    OPEN = "open"
    DAMP = "damp"
    BAGGED = "bagged"


@dataclass(frozen=True, slots=True, kw_only=True)
class StackFacts:
    """
    What is known of one stack of alumed sheets at one moment.

    It lies as it is `kept` since `kept_since`. `left_count` sheets of `sheet_count` are
    neither used nor thrown away, `binned_count` were thrown away before any colour.
    `bath_stop` stands while the bath it came from is stopped because a strip print failed or
    colour washed off. `strip_print` is the one of a corner of its sheets that counts.
    `alumed_at` is the second time of a stack that was `alumed_again`; there is no third. All
    times carry a zone.
    """

    alumed_at: datetime
    kept: Kept
    kept_since: datetime
    sheet_count: int
    left_count: int
    binned_count: int = 0
    bath_stop: Stop | None = None
    strip_print: StripPrint | None = None
    alumed_again: bool = False

    def __post_init__(self) -> None:
        assert self.left_count >= 0, "a count is 0 or more"
        assert self.binned_count >= 0, "a count is 0 or more"


@dataclass(frozen=True, slots=True)
class _Question:
    facts: StackFacts
    limits: Limits
    now: datetime


def answer_stack(facts: StackFacts, limits: Limits, now: datetime) -> Answer:
    """
    Return whether a stack may be used at `now`, why, and what to do; a code of `ACTS` each.

    A later aluming, more sheets left, no stop never give a worse word. `now` carries a zone.

    >>> from datetime import UTC
    >>> nine = datetime(2025, 9, 20, 9, tzinfo=UTC)
    >>> stack = StackFacts(alumed_at=nine, kept=Kept.OPEN, kept_since=nine, sheet_count=60,
    ...     left_count=12)
    >>> got = answer_stack(stack, Limits(), nine + timedelta(days=3))
    >>> got.word.value, got.reasons[0].code, got.next_acts
    ('look-again', 'stack-past-use-by', ('strip-print', 're-alum', 'bin-it'))
    """
    assert now.utcoffset() is not None, "now carries its zone"
    question = _Question(facts, limits, now)
    reasons = tuple(sorted(found for rule in _RULES if (found := rule(question)) is not None))
    word = reasons[0].word if reasons else None
    return Answer(
        at=now,
        word=word or Word.GOOD,
        reasons=reasons,
        next_acts=_next_acts(question, reasons),
        how_known=_how_known(facts),
        settles=None if word in (Word.FINISHED, Word.DO_NOT_USE) else "strip-print",
        lines=None,
        usable_l=None,
        limits_edition=limits.edition,
    )


def _how_known(facts: StackFacts) -> HowKnown:
    if facts.strip_print is None:
        return HowKnown(Known.BY_DAYS, facts.alumed_at)
    return HowKnown(Known.CORNER_PRINTED, facts.strip_print.at)


def _none_left(asked: _Question) -> Reason | None:
    facts = asked.facts
    if facts.left_count > 0:
        return None
    return Reason.of(
        "none-left", sheet_count=facts.sheet_count, binned_count=facts.binned_count
    )


def _print_failed(asked: _Question) -> Reason | None:
    return _printed(asked, Outcome.FAILED, "strip-print-failed")


def _printed(asked: _Question, outcome: Outcome, code: str) -> Reason | None:
    done = asked.facts.strip_print
    if done is None or done.outcome is not outcome:
        return None
    return Reason.of(code, printed_at=done.at)


def _hard_stop(asked: _Question) -> Reason | None:
    line_days = asked.limits.stack_hard_stop_days
    if utc(asked.now) < _stops_at(asked.facts, asked.limits):
        return None
    return Reason.of("stack-hard-stop", age_days=_age_days(asked), line_days=line_days)


def _stops_at(facts: StackFacts, limits: Limits) -> datetime:
    return utc(facts.alumed_at) + limits.stack_hard_stop_days * _DAY


def _age_days(asked: _Question) -> float:
    return (utc(asked.now) - utc(asked.facts.alumed_at)) / _DAY


def _print_soft(asked: _Question) -> Reason | None:
    return _printed(asked, Outcome.SOFT, "strip-print-soft")


def _bath_was_stopped(asked: _Question) -> Reason | None:
    """A sharp print made since speaks of these very sheets, the stop of their bath alone."""
    if _sharp_since_stop(asked.facts):
        return None
    return stopped(asked.facts.bath_stop, "its-bath-was-stopped")


def _sharp_since_stop(facts: StackFacts) -> bool:
    stop, done = facts.bath_stop, facts.strip_print
    if stop is None or done is None or done.outcome is not Outcome.SHARP:
        return False
    return utc(done.at) >= utc(stop.at)


def _past_use_by(asked: _Question) -> Reason | None:
    until = use_by(asked.facts, asked.limits)
    if utc(asked.now) < utc(until):
        return None
    kept = _kept_as(asked.facts, asked.limits)
    return Reason.of(
        "stack-past-use-by",
        kept=kept.value,
        use_by=until,
        age_days=_age_days(asked),
        line_days=_days_of(kept, asked.limits),
    )


def use_by(facts: StackFacts, limits: Limits) -> datetime:
    """
    Return until when a stack is good, in the zone it was alumed in.

    The days count from the aluming, by how the stack lies now. A bag keeps what is left: one
    that was closed after the days in the open were over brings nothing back.

    >>> from datetime import UTC
    >>> nine = datetime(2025, 9, 20, 9, tzinfo=UTC)
    >>> stack = StackFacts(alumed_at=nine, kept=Kept.BAGGED, kept_since=nine, sheet_count=60,
    ...     left_count=60)
    >>> (use_by(stack, Limits()) - nine).days
    14
    """
    days = _days_of(_kept_as(facts, limits), limits)
    return (utc(facts.alumed_at) + days * _DAY).astimezone(facts.alumed_at.tzinfo)


def _kept_as(facts: StackFacts, limits: Limits) -> Kept:
    """Return the way of keeping whose days count."""
    open_until = utc(facts.alumed_at) + limits.stack_open_days * _DAY
    too_late = facts.kept is Kept.BAGGED and utc(facts.kept_since) >= open_until
    return Kept.OPEN if too_late else facts.kept


def _days_of(kept: Kept, limits: Limits) -> int:
    return {
        Kept.OPEN: limits.stack_open_days,
        Kept.DAMP: limits.stack_damp_days,
        Kept.BAGGED: limits.stack_bagged_days,
    }[kept]


def _print_sharp(asked: _Question) -> Reason | None:
    """Tell of a sharp print, and of the stop of its bath that it outdoes."""
    facts = asked.facts
    if facts.strip_print is None or facts.strip_print.outcome is not Outcome.SHARP:
        return None
    over = facts.bath_stop if _sharp_since_stop(facts) else None
    return Reason.of(
        "corner-print-sharp",
        printed_at=facts.strip_print.at,
        stopped_at=over.at if over else "",
    )


_RULES: Final[tuple[Callable[[_Question], Reason | None], ...]] = (
    _none_left,
    _print_failed,
    _hard_stop,
    _print_soft,
    _bath_was_stopped,
    _past_use_by,
    _print_sharp,
)

ACTS: Final = ("bag-it", "strip-print", "re-alum", "bin-it")
"""Every next act of a stack; the strip print is made of a corner of one of its sheets."""

_ACTS_FOR: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "strip-print-failed": ("re-alum", "bin-it"),
        "stack-hard-stop": ("bin-it",),
        "strip-print-soft": ("strip-print", "re-alum", "bin-it"),
        "its-bath-was-stopped": ("strip-print", "re-alum", "bin-it"),
        "stack-past-use-by": ("strip-print", "re-alum", "bin-it"),
    }
)


def _next_acts(asked: _Question, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    codes = {reason.code for reason in reasons}
    if "none-left" in codes:
        return ()
    if "stack-hard-stop" in codes:
        return _ACTS_FOR["stack-hard-stop"]
    wanted = {act for code in codes for act in _ACTS_FOR.get(code, ())}
    if "strip-print-failed" in codes:
        wanted.discard("strip-print")
    elif asked.facts.kept is Kept.OPEN and "stack-past-use-by" not in codes:
        wanted.add("bag-it")
    if asked.facts.alumed_again:
        wanted.discard("re-alum")
    return tuple(act for act in ACTS if act in wanted)


def going_stale(facts: StackFacts, limits: Limits, now: datetime) -> bool:
    """Return whether sheets are left that are within a day of their use-by, or past it."""
    warned_at = utc(use_by(facts, limits)) - GOING_STALE_DAYS * _DAY
    return facts.left_count > 0 and utc(now) >= warned_at


def turning_points(facts: StackFacts, limits: Limits) -> tuple[datetime, ...]:
    """Return the moments at which the word of a stack changes by itself."""
    return use_by(facts, limits), _stops_at(facts, limits)
