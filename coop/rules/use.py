"""
May I use this alum bath? The word, every reason, and what to do next.

A bath is known by plain numbers and times (`UseFacts`); `answer` puts the house's limits to
them. Beside the word stands how we know; the two are never mixed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coop.rules.limits import Limits, Strength, Target, al_mmol_per_l, g_per_l_of, target_of
from coop.rules.reasons import Reason, Word
from coop.science.alum import SALTS
from coop.science.defaults import value

HORIZON_MAX_DAYS: Final = 366
SAME: Final = 1e-9
"""Two figures closer than this, relative to the line, are the same figure."""

_DAY: Final = timedelta(days=1)
_MINUTE: Final = timedelta(minutes=1)


class Known(StrEnum):
    """How a strength is known, or what else a liquid or a stack is judged by."""

    WEIGHED = "weighed"
    SPOON_WEIGHED = "spoon-weighed"
    SPOONED = "spooned"
    GUESSED = "guessed"
    TESTED = "tested"
    DROP_TESTED = "drop-tested"
    LOOKED_AT = "looked-at"
    CORNER_PRINTED = "corner-printed"
    BY_DAYS = "by-days"


class Outcome(StrEnum):
    """How a strip print came out."""

    FAILED = "failed"
    SOFT = "soft"
    SHARP = "sharp"


@dataclass(frozen=True, slots=True)
class HowKnown:
    """How it is known and since when."""

    kind: Known
    at: datetime


@dataclass(frozen=True, slots=True)
class Stop:
    """
    Who stopped a bath, when, and the code of the reason tapped.

    Where another bath was stopped and poured into this one: its name, and when that was.
    """

    by: str
    at: datetime
    reason: str
    poured_from: str = ""
    poured_in_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class StripPrint:
    """A strip print made from a bath."""

    outcome: Outcome
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """
    A reading kept, not applied: `off_sigma` standard deviations from what was `reckoned`.

    It `read` so much, `low` to `high` nine times in ten: g/L with a hydrometer, else L.
    """

    instrument: str
    at: datetime
    off_sigma: float
    read: float
    low: float
    high: float
    reckoned: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UseFacts:
    """
    What is known of one alum bath at one moment.

    `strength_g_per_l` is the middle, `strength_low_g_per_l` the figure it lies under with a
    chance of `Limits.weak_chance`, both in grams of `salt`; None if nobody can say.
    `strip_prints` are those made since salt was last added; `passed_strip_print_at` is the
    last sharp one of all. `laying_l` is what must stand in the vessel to lay a sheet, None if
    nobody said. `water_only_count` and `sheets_while_stopped_count` count since the last
    test. `only_spooned`: salt came by the spoon from a tub whose spoon nobody weighed, and no
    test has been made since. `gravity_readable`: the studio has a hydrometer and the salt a
    density curve. All times carry a zone.
    """

    mixed_at: datetime
    how_known: HowKnown
    volume_l: float
    salt: str
    strength_g_per_l: float | None = None
    strength_low_g_per_l: float | None = None
    recipe_target: Strength | None = None
    for_paper: bool = True
    laying_l: float | None = None
    finished_at: datetime | None = None
    rest_until: datetime | None = None
    stop: Stop | None = None
    strip_prints: tuple[StripPrint, ...] = ()
    passed_strip_print_at: datetime | None = None
    disagreements: tuple[Disagreement, ...] = ()
    water_only_count: int = 0
    sheets_while_stopped_count: int = 0
    only_spooned: bool = False
    gravity_readable: bool = False

    def __post_init__(self) -> None:
        assert self.salt in SALTS, f"{self.salt} is no salt"
        assert self.volume_l >= 0, "litres are 0 or more"
        assert self.laying_l is None or self.laying_l >= 0, "litres are 0 or more"
        assert self.water_only_count >= 0, "a count is 0 or more"
        assert self.sheets_while_stopped_count >= 0, "a count is 0 or more"
        low, middle = self.strength_low_g_per_l, self.strength_g_per_l
        assert (low is None) == (middle is None), "middle and low figure go together"
        if low is not None and middle is not None:
            assert 0 <= low <= middle * (1 + SAME), "the low figure is not over the middle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The strengths a bath is judged by, in grams of the salt in the tub, and who said so."""

    salt: str
    target_g_per_l: float
    look_again_g_per_l: float
    do_not_use_g_per_l: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """
    The word with every reason that fired, the deciding one first, notes last.

    `next_acts` are codes of `ACTS` in order, `settles` the one test that would settle it.
    `usable_l` is what stands over the laying depth, None where that is not known. `lines` is
    None where nobody said how strong the bath should be.
    """

    at: datetime
    word: Word
    reasons: tuple[Reason, ...]
    next_acts: tuple[str, ...]
    how_known: HowKnown
    settles: str | None
    lines: Lines | None
    usable_l: float | None
    limits_edition: str


@dataclass(frozen=True, slots=True)
class _Question:
    facts: UseFacts
    limits: Limits
    lines: Lines | None
    now: datetime


def answer(facts: UseFacts, limits: Limits, now: datetime) -> Answer:
    """
    Return whether a bath may be used at `now`, why, and what to do.

    The first rule that fires gives the word, all that fire are listed, in the order of
    `coop.rules.reasons.REASONS`; of a finished bath only that it is. Stronger, more litres,
    later dates, fewer marks against a bath never give a worse word. `now` carries a zone.

    >>> nine = datetime(2025, 9, 20, 9, tzinfo=UTC)
    >>> bath = UseFacts(mixed_at=nine, how_known=HowKnown(Known.WEIGHED, nine), volume_l=12.0,
    ...     salt="aluminium_sulfate_14", strength_g_per_l=28.0, strength_low_g_per_l=27.5)
    >>> house = Limits(target_g_per_l=40.0, target_salt="aluminium_sulfate_14")
    >>> got = answer(bath, house, nine)
    >>> got.word.value, got.reasons[0].code, got.reasons[0].value("line_g_per_l")
    ('look-again', 'under-look-again-line', 30.0)
    """
    assert now.utcoffset() is not None, "now carries its zone"
    question = _Question(facts, limits, lines_of(facts, limits), now)
    reasons = tuple(sorted(found for rule in _RULES if (found := rule(question)) is not None))
    reasons = reasons if facts.finished_at is None else reasons[:1]
    words = [reason.word for reason in reasons if reason.word is not None]
    return Answer(
        at=now,
        word=words[0] if words else Word.GOOD,
        reasons=reasons,
        next_acts=_next_acts(facts, reasons),
        how_known=facts.how_known,
        settles=what_would_settle(facts),
        lines=question.lines,
        usable_l=None if facts.laying_l is None else max(0.0, facts.volume_l - facts.laying_l),
        limits_edition=limits.edition,
    )


def lines_of(facts: UseFacts, limits: Limits) -> Lines | None:
    """Return target and lines [g/L of the salt in the tub]; None without a target."""
    target: Target | None = target_of(
        facts.recipe_target, limits.target, for_paper=facts.for_paper
    )
    if target is None:
        return None
    target_g_per_l = target.in_salt(facts.salt)
    return Lines(
        salt=facts.salt,
        target_g_per_l=target_g_per_l,
        look_again_g_per_l=target_g_per_l * limits.look_again_fraction,
        do_not_use_g_per_l=target_g_per_l * limits.do_not_use_fraction,
        source=target.source,
    )


def _finished(asked: _Question) -> Reason | None:
    return finished(asked.facts.finished_at)


def finished(finished_at: datetime | None) -> Reason | None:
    """Return the reason of what was taken out of use."""
    return None if finished_at is None else Reason.of("finished", finished_at=finished_at)


def _resting(asked: _Question) -> Reason | None:
    return resting(asked.facts.rest_until, asked.now)


def resting(rest_until: datetime | None, now: datetime) -> Reason | None:
    """Return the reason of what rests still; at the very minute it is over."""
    if rest_until is None or utc(now) >= utc(rest_until):
        return None
    return Reason.of("resting", rest_until=rest_until)


def _stopped(asked: _Question) -> Reason | None:
    return stopped(asked.facts.stop)


def stopped(stop: Stop | None, code: str = "stopped") -> Reason | None:
    """Return the reason of what a person stopped."""
    if stop is None:
        return None
    return Reason.of(
        code,
        stopped_by=stop.by,
        stopped_at=stop.at,
        stop_reason=stop.reason,
        poured_from=stop.poured_from,
        poured_in_at=stop.poured_in_at or "",
    )


def _strip_print_failed(asked: _Question) -> Reason | None:
    return _printed(asked, Outcome.FAILED, "strip-print-failed")


def _strip_print_soft(asked: _Question) -> Reason | None:
    return _printed(asked, Outcome.SOFT, "strip-print-soft")


def _printed(asked: _Question, outcome: Outcome, code: str) -> Reason | None:
    times = [done.at for done in asked.facts.strip_prints if done.outcome is outcome]
    return Reason.of(code, printed_at=max(times, key=utc)) if times else None


def _under_do_not_use(asked: _Question) -> Reason | None:
    if asked.lines is None:
        return None
    return _weak(asked, asked.lines.do_not_use_g_per_l, "under-do-not-use-line")


def _under_look_again(asked: _Question) -> Reason | None:
    if asked.lines is None:
        return None
    return _weak(asked, asked.lines.look_again_g_per_l, "under-look-again-line")


def _weak(asked: _Question, line_g_per_l: float, code: str) -> Reason | None:
    middle = asked.facts.strength_g_per_l
    if asked.lines is None or middle is None or not under(middle, line_g_per_l):
        return None
    return Reason.of(
        code,
        source=asked.lines.source,
        c_g_per_l=middle,
        line_g_per_l=line_g_per_l,
        water_only_count=asked.facts.water_only_count,
    )


def _may_be_weak(asked: _Question) -> Reason | None:
    low = asked.facts.strength_low_g_per_l
    if asked.lines is None or low is None or not under(low, asked.lines.do_not_use_g_per_l):
        return None
    return Reason.of(
        "may-be-under-do-not-use-line",
        source=asked.lines.source,
        low_g_per_l=low,
        line_g_per_l=asked.lines.do_not_use_g_per_l,
        chance=asked.limits.weak_chance,
    )


def _too_low(asked: _Question) -> Reason | None:
    return too_low(asked.facts.volume_l, asked.facts.laying_l)


def too_low(volume_l: float | None, laying_l: float | None) -> Reason | None:
    """Return the reason of what stands too low to lay a sheet [both L, None if not known]."""
    if volume_l is None or laying_l is None or not under(volume_l, laying_l):
        return None
    return Reason.of("too-low", volume_l=volume_l, laying_l=laying_l)


def _reading_disagrees(asked: _Question) -> Reason | None:
    if not asked.facts.disagreements:
        return None
    newest = max(asked.facts.disagreements, key=lambda reading: utc(reading.at))
    return Reason.of(
        "reading-disagrees",
        reading_count=len(asked.facts.disagreements),
        instrument=newest.instrument,
        read_at=newest.at,
        read=newest.read,
        read_low=newest.low,
        read_high=newest.high,
        reckoned=newest.reckoned,
        off_sigma=newest.off_sigma,
        line_sigma=value("disagree_sigma"),
    )


def _water_only(asked: _Question) -> Reason | None:
    count, line_count = asked.facts.water_only_count, asked.limits.water_only_top_ups_count
    if count < line_count:
        return None
    return Reason.of("water-only-top-ups", water_only_count=count, line_count=line_count)


def _used_while_stopped(asked: _Question) -> Reason | None:
    count = asked.facts.sheets_while_stopped_count
    return Reason.of("used-while-stopped", sheet_count=count) if count else None


def _strip_print_due(asked: _Question) -> Reason | None:
    since, since_at = _last_proof(asked.facts)
    gone = utc(asked.now) - utc(since_at)
    if gone < asked.limits.strip_print_days * _DAY:
        return None
    return Reason.of(
        "strip-print-due",
        days=gone // _DAY,
        line_days=asked.limits.strip_print_days,
        since=since,
        since_at=since_at,
    )


def _last_proof(facts: UseFacts) -> tuple[str, datetime]:
    sharp = [done.at for done in facts.strip_prints if done.outcome is Outcome.SHARP]
    if facts.passed_strip_print_at is not None:
        sharp.append(facts.passed_strip_print_at)
    newest = max([facts.mixed_at, *sharp], key=utc)
    return ("mixed" if newest == facts.mixed_at else "strip-print"), newest


def _not_judged(asked: _Question) -> Reason | None:
    return Reason.of("not-judged") if asked.lines is None else None


def _strength_not_known(asked: _Question) -> Reason | None:
    if asked.facts.strength_g_per_l is not None:
        return None
    return Reason.of("strength-not-known")


_RULES: Final[tuple[Callable[[_Question], Reason | None], ...]] = (
    _finished,
    _resting,
    _stopped,
    _strip_print_failed,
    _under_do_not_use,
    _too_low,
    _under_look_again,
    _may_be_weak,
    _reading_disagrees,
    _water_only,
    _used_while_stopped,
    _strip_print_soft,
    _strip_print_due,
    _not_judged,
    _strength_not_known,
)


def under(figure: float, line: float) -> bool:
    """Return whether a figure lies under a line and not on it."""
    return figure < line * (1 - SAME)


def utc(moment: datetime) -> datetime:
    """Return a moment in UTC; else two times of one zone compare by the clock on the wall."""
    assert moment.utcoffset() is not None, "a time carries its zone"
    return moment.astimezone(UTC)


ACTS: Final = (
    "mend-it",
    "thin-it",
    "thicken-it",
    "strain-it",
    "bring-to-room",
    "stop-it",
    "wait",
    "second-reading",
    "read-level",
    "weigh-ten-spoons",
    "specific-gravity",
    "strip-print",
    "drop-test",
    "look-at-it",
    "allow-again",
    "say-target",
    "say-laying-litres",
    "get-rid-of-it",
)
"""Every next act there is, in the order in which they are offered."""

_ACTS_FOR: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "resting": ("wait",),
        "stopped": ("strip-print", "allow-again"),
        "strip-print-failed": ("mend-it", "stop-it", "get-rid-of-it"),
        "under-do-not-use-line": ("mend-it", "stop-it", "get-rid-of-it"),
        "too-low": ("mend-it", "read-level", "get-rid-of-it"),
        "under-look-again-line": ("mend-it", "get-rid-of-it"),
        "reading-disagrees": ("second-reading",),
        "water-only-top-ups": ("strip-print",),
        "used-while-stopped": ("strip-print",),
        "strip-print-soft": ("mend-it", "strip-print"),
        "strip-print-due": ("strip-print",),
        "not-judged": ("say-target",),
    }
)
_WANT_STRENGTH: Final = frozenset({"may-be-under-do-not-use-line", "strength-not-known"})


def _next_acts(facts: UseFacts, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    if facts.finished_at is not None:
        return ("get-rid-of-it",) if facts.volume_l > 0 else ()
    codes = {reason.code for reason in reasons}
    wanted = {act for code in codes for act in _ACTS_FOR.get(code, ())}
    if codes & _WANT_STRENGTH:
        wanted.add(_strength_test(facts))
    if facts.only_spooned:
        wanted.add("weigh-ten-spoons")
    if facts.laying_l is None:
        wanted.add("say-laying-litres")
    if facts.stop is not None:
        wanted.discard("stop-it")
    return tuple(act for act in ACTS if act in wanted)


def _strength_test(facts: UseFacts) -> str:
    return "specific-gravity" if facts.gravity_readable else "strip-print"


def what_would_settle(facts: UseFacts) -> str | None:
    """
    Return the one test that would settle whether the bath is good; a code of `ACTS`.

    None where nothing is in doubt: the bath is finished, or a strip print failed and no salt
    went in since.
    """
    if facts.finished_at is not None:
        return None
    if any(done.outcome is Outcome.FAILED for done in facts.strip_prints):
        return None
    if facts.disagreements:
        return "second-reading"
    if facts.laying_l is not None and under(facts.volume_l, facts.laying_l):
        return "read-level"
    if facts.only_spooned:
        return "weigh-ten-spoons"
    if facts.strength_g_per_l is None or facts.how_known.kind is Known.GUESSED:
        return _strength_test(facts)
    return "strip-print"


@dataclass(frozen=True, slots=True)
class PaperFloor:
    """A paper and the strength under which it does not take alum well, None if any will do."""

    paper: str
    floor: Strength | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperAnswer:
    """
    Whether a bath is strong enough for one paper; `good` is None where nobody knows.

    Both figures are in grams of the salt in the tub; `reason` stands where it is not good.
    """

    paper: str
    good: bool | None
    c_g_per_l: float | None
    floor_g_per_l: float | None
    reason: Reason | None = None


def for_papers(facts: UseFacts, papers: tuple[PaperFloor, ...]) -> tuple[PaperAnswer, ...]:
    """
    Return for each paper whether the bath reaches its floor, compared by aluminium.

    This judges the floor alone; whether the bath may be used at all is `answer`'s.

    >>> nine = datetime(2025, 9, 20, 9, tzinfo=UTC)
    >>> bath = UseFacts(mixed_at=nine, how_known=HowKnown(Known.WEIGHED, nine), volume_l=12.0,
    ...     salt="aluminium_sulfate_14", strength_g_per_l=23.0, strength_low_g_per_l=22.0)
    >>> chalky = PaperFloor("P-31", (30.0, "aluminium_sulfate_14"))
    >>> [(got.paper, got.good) for got in for_papers(bath, (PaperFloor("P-30"), chalky))]
    [('P-30', True), ('P-31', False)]
    """
    return tuple(_for_paper(facts, paper) for paper in papers)


def _for_paper(facts: UseFacts, paper: PaperFloor) -> PaperAnswer:
    middle = facts.strength_g_per_l
    if paper.floor is None:
        return PaperAnswer(paper=paper.paper, good=True, c_g_per_l=middle, floor_g_per_l=None)
    floor = g_per_l_of(al_mmol_per_l(*paper.floor), facts.salt)
    good = None if middle is None else not under(middle, floor)
    reason = None
    if middle is not None and not good:
        reason = Reason.of(
            "under-paper-floor", paper=paper.paper, c_g_per_l=middle, floor_g_per_l=floor
        )
    return PaperAnswer(
        paper=paper.paper, good=good, c_g_per_l=middle, floor_g_per_l=floor, reason=reason
    )


def turning_points(facts: UseFacts, limits: Limits) -> tuple[datetime, ...]:
    """Return the moments at which a rule about time fires or falls silent by itself."""
    due = utc(_last_proof(facts)[1]) + limits.strip_print_days * _DAY
    return (due,) if facts.rest_until is None else (facts.rest_until, due)


def turns_at(
    answer_at: Callable[[datetime], Answer],
    now: datetime,
    candidates: tuple[datetime, ...],
    horizon_days: int,
) -> tuple[datetime, Answer] | None:
    """
    Return when the word changes if nobody does anything, with the answer from then on.

    Looks at every candidate and every day ahead, and between two of them halves down to a
    minute. None if the word holds for `horizon_days` [1 to 366]. The moment is in `now`'s zone.
    """
    assert 0 < horizon_days <= HORIZON_MAX_DAYS, f"1 to {HORIZON_MAX_DAYS} days ahead"
    start = utc(now)
    days = [start + day * _DAY for day in range(1, horizon_days + 1)]
    known = [utc(moment) for moment in candidates if start < utc(moment) <= days[-1]]
    word, before = answer_at(now).word, start
    for moment in sorted({*days, *known}):
        then = answer_at(moment.astimezone(now.tzinfo))
        if then.word is not word:
            return _first_minute(answer_at, now, (before, moment), then)
        before = moment
    return None


def _first_minute(
    answer_at: Callable[[datetime], Answer],
    now: datetime,
    between: tuple[datetime, datetime],
    then: Answer,
) -> tuple[datetime, Answer]:
    word, (before, after) = answer_at(now).word, between
    while after - before > _MINUTE:
        middle = before + (after - before) / 2
        got = answer_at(middle.astimezone(now.tzinfo))
        if got.word is word:
            before = middle
        else:
            after, then = middle, got
    return after.astimezone(now.tzinfo), then
