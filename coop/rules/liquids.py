"""
May I use this size, gall water, rinse, paste or softener? The word, the reasons, what to do.

Beside an alum bath these are simple: age, what was seen, smelt and tested, litres. What a drop
shows is from Halfer, The Progress of the Marbling Art, 1893, and Adam, Practical Bookbinding;
what a look or a smell shows, and what mends it, is common practice, no source.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coop.rules.limits import Limits
from coop.rules.reasons import HOUSE, RECIPE, Reason, Word
from coop.rules.use import (
    ACTS,
    Answer,
    HowKnown,
    Known,
    Stop,
    finished,
    resting,
    stopped,
    too_low,
    under,
    utc,
)
from coop.science.defaults import value

SIZE: Final = "size"
LIQUIDS: Final = (SIZE, "gall_water", "rinse", "paste", "softener")
"""Every kind of bath that is not alum."""

LONG_PAST_FACTOR: Final = 2
"""A liquid of so many times its days is not used any more; our own choice, no source."""


class Drop(StrEnum):
    """How a drop of colour came out on the size."""

    ROUND = "round"
    RAGGED = "ragged"
    BLOB = "blob"
    CLOUDY_THREAD = "cloudy_thread"


class Look(StrEnum):
    """What a liquid looks like."""

    FINE = "fine"
    SKIN = "skin"
    THREADS = "threads"
    LUMPS = "lumps"
    WATERY = "watery"
    TINTED = "tinted"
    MOULD = "mould"


class Smell(StrEnum):
    """What a liquid smells of."""

    NONE = "none"
    SEA = "sea"
    SHARP = "sharp"
    SOUR = "sour"
    ROTTEN = "rotten"


@dataclass(frozen=True, slots=True)
class DropTest:
    """A drop test: outcome, spread [mm, None if not measured], the warm days of then."""

    outcome: Drop
    spread_mm: float | None
    at: datetime
    warm_days_then: float


@dataclass(frozen=True, slots=True)
class Looked:
    """What somebody saw."""

    outcome: Look
    at: datetime


@dataclass(frozen=True, slots=True)
class Smelled:
    """What somebody smelt."""

    outcome: Smell
    at: datetime


@dataclass(frozen=True, slots=True)
class Warmth:
    """A temperature [deg C] that somebody read."""

    temperature_c: float
    at: datetime


@dataclass(frozen=True, slots=True)
class RunOut:
    """A run-out time [s] of a funnel, and its times of good days; both None: no line yet."""

    run_out_s: float
    funnel: str
    low_s: float | None
    high_s: float | None
    at: datetime

    def __post_init__(self) -> None:
        assert (self.low_s is None) == (self.high_s is None), "both ends of the line or none"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFor:
    """The member (id) or session (name) that a bath is kept for, and until when."""

    member: str = ""
    session: str = ""
    until: datetime | None = None

    def __post_init__(self) -> None:
        assert self.member or self.session, "kept for a member or a session"


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeps:
    """How long a size keeps by its recipe [days]; what is None the house says."""

    look_again_warm_days: float | None = None
    do_not_use_warm_days: float | None = None
    cap_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidFacts:
    """
    What is known of one liquid at one moment.

    `age_days` counts from the making, of the oldest part where several were poured together;
    `warm_days` and `chilled_days` are of size alone. `volume_l` and `laying_l` are None where
    nobody can say. `drop`, `look`, `smell` and `run_out` are the newest of their kind since
    the liquid was last thinned, thickened or joined. `alum_carried_g` is the least and the
    most that damp sheets may have brought in. `chilled` says that size stands cold now,
    `warmth` what was read of it last. All times carry a zone.
    """

    kind: str
    mixed_at: datetime
    age_days: float
    warm_days: float = 0.0
    chilled_days: float = 0.0
    volume_l: float | None = None
    laying_l: float | None = None
    finished_at: datetime | None = None
    rest_until: datetime | None = None
    stop: Stop | None = None
    kept_for: KeptFor | None = None
    drop: DropTest | None = None
    look: Looked | None = None
    smell: Smelled | None = None
    run_out: RunOut | None = None
    warmth: Warmth | None = None
    chilled: bool = False
    alum_carried_g: tuple[float, float] | None = None
    recipe: Keeps = Keeps()

    def __post_init__(self) -> None:
        assert self.kind in LIQUIDS, f"{self.kind} is no liquid"
        for figure in (self.age_days, self.warm_days, self.chilled_days):
            assert figure >= 0, "days are 0 or more"
        for litres in (self.volume_l, self.laying_l):
            assert litres is None or litres >= 0, "litres are 0 or more"
        only_size = (self.drop, self.run_out, self.alum_carried_g, self.laying_l, self.warmth)
        assert self.kind == SIZE or only_size == (None,) * 5, "sheets are laid on size alone"


@dataclass(frozen=True, slots=True)
class _Question:
    facts: LiquidFacts
    limits: Limits
    now: datetime


def answer_liquid(facts: LiquidFacts, limits: Limits, now: datetime) -> Answer:
    """
    Return whether a liquid may be used at `now`, why, and what to do.

    The first rule that fires gives the word, all that fire are listed, in the order of
    `coop.rules.reasons.REASONS`; of a finished one only that it is. Younger, cooler, more
    litres, a better drop, look or smell never give a worse word. `now` carries a zone.

    >>> from datetime import UTC
    >>> nine = datetime(2025, 9, 20, 9, tzinfo=UTC)
    >>> size = LiquidFacts(kind="size", mixed_at=nine, age_days=5.0, warm_days=4.2)
    >>> got = answer_liquid(size, Limits(), nine)
    >>> got.word.value, got.reasons[0].code, got.reasons[0].value("line_days")
    ('look-again', 'size-warm-days', 4)
    """
    assert now.utcoffset() is not None, "now carries its zone"
    question = _Question(facts, limits, now)
    reasons = tuple(sorted(found for rule in _RULES if (found := rule(question)) is not None))
    reasons = reasons if facts.finished_at is None else reasons[:1]
    words = [reason.word for reason in reasons if reason.word is not None]
    return Answer(
        at=now,
        word=words[0] if words else Word.GOOD,
        reasons=reasons,
        next_acts=_next_acts(facts, reasons),
        how_known=_how_known(facts),
        settles=_what_would_settle(facts, reasons),
        lines=None,
        usable_l=_usable_l(facts),
        limits_edition=limits.edition,
    )


def _finished(asked: _Question) -> Reason | None:
    return finished(asked.facts.finished_at)


def _resting(asked: _Question) -> Reason | None:
    return resting(asked.facts.rest_until, asked.now)


def _stopped(asked: _Question) -> Reason | None:
    return stopped(asked.facts.stop)


def _past_cap(asked: _Question) -> Reason | None:
    facts = asked.facts
    line_days = _line(facts.recipe.cap_days, asked.limits.size_cap_days)
    if facts.kind != SIZE or under(facts.age_days, line_days):
        return None
    return Reason.of(
        "size-past-cap",
        source=_source(facts.recipe.cap_days),
        age_days=facts.age_days,
        line_days=line_days,
    )


def _line(of_recipe: float | None, of_house: float) -> float:
    return of_house if of_recipe is None else of_recipe


def _source(of_recipe: float | None) -> str:
    return HOUSE if of_recipe is None else RECIPE


def _past_warm_days(asked: _Question) -> Reason | None:
    recipe, house = asked.facts.recipe, asked.limits
    return _warm(
        asked,
        "size-past-warm-days",
        recipe.do_not_use_warm_days,
        house.size_do_not_use_warm_days,
    )


def _warm_days(asked: _Question) -> Reason | None:
    recipe, house = asked.facts.recipe, asked.limits
    return _warm(
        asked,
        "size-warm-days",
        recipe.look_again_warm_days,
        house.size_look_again_warm_days,
    )


def _warm(
    asked: _Question, code: str, of_recipe: float | None, of_house: float
) -> Reason | None:
    facts, line_days = asked.facts, _line(of_recipe, of_house)
    if facts.kind != SIZE or _outranked(facts) or under(facts.warm_days, line_days):
        return None
    return Reason.of(
        code,
        source=_source(of_recipe),
        warm_days=facts.warm_days,
        line_days=line_days,
        age_days=facts.age_days,
        chilled_days=facts.chilled_days,
    )


def _outranked(facts: LiquidFacts) -> bool:
    """Return whether a good drop test still speaks louder than the warm days."""
    drop = facts.drop
    if drop is None or drop.outcome is not Drop.ROUND or _off(drop, _GOOD_MM):
        return False
    return under(facts.warm_days, drop.warm_days_then + value("drop_test_buys_warm_days"))


_GOOD_MM: Final = (value("drop_good_low_mm"), value("drop_good_high_mm"))
_HOLD_MM: Final = (value("drop_hold_low_mm"), value("drop_hold_high_mm"))


def _off(drop: DropTest, between_mm: tuple[float, float]) -> bool:
    low_mm, high_mm = between_mm
    return drop.spread_mm is not None and not low_mm <= drop.spread_mm <= high_mm


def _cloudy_thread(asked: _Question) -> Reason | None:
    return _dropped(asked, Drop.CLOUDY_THREAD, "drop-cloudy-thread")


def _ragged(asked: _Question) -> Reason | None:
    return _dropped(asked, Drop.RAGGED, "drop-ragged")


def _blob(asked: _Question) -> Reason | None:
    return _dropped(asked, Drop.BLOB, "drop-blob")


def _dropped(asked: _Question, outcome: Drop, code: str) -> Reason | None:
    drop = asked.facts.drop
    if drop is None or drop.outcome is not outcome:
        return None
    return Reason.of(code, tested_at=drop.at)


def _spread_far_off(asked: _Question) -> Reason | None:
    return _spread(asked, _HOLD_MM, "drop-spread-far-off")


def _spread_off(asked: _Question) -> Reason | None:
    return _spread(asked, _GOOD_MM, "drop-spread-off")


def _spread(asked: _Question, between_mm: tuple[float, float], code: str) -> Reason | None:
    drop = asked.facts.drop
    if drop is None or drop.spread_mm is None or not _off(drop, between_mm):
        return None
    low_mm, high_mm = between_mm
    return Reason.of(
        code, spread_mm=drop.spread_mm, low_mm=low_mm, high_mm=high_mm, tested_at=drop.at
    )


def _smells_sour(asked: _Question) -> Reason | None:
    return _smells(asked, frozenset({Smell.SOUR, Smell.ROTTEN}), "smells-sour")


def _smells_sharp(asked: _Question) -> Reason | None:
    return _smells(asked, frozenset({Smell.SHARP}), "smells-sharp")


def _smells(asked: _Question, outcomes: frozenset[Smell], code: str) -> Reason | None:
    smell = asked.facts.smell
    if smell is None or smell.outcome not in outcomes:
        return None
    return Reason.of(code, noticed_at=smell.at)


def _mould(asked: _Question) -> Reason | None:
    look = asked.facts.look
    if look is None or look.outcome is not Look.MOULD:
        return None
    return Reason.of("mould", noticed_at=look.at)


def _looks_odd(asked: _Question) -> Reason | None:
    look = asked.facts.look
    if look is None or look.outcome in (Look.FINE, Look.MOULD):
        return None
    return Reason.of("looks-odd", look=look.outcome.value, noticed_at=look.at)


def _long_past_its_days(asked: _Question) -> Reason | None:
    return _aged(asked, "long-past-its-days", LONG_PAST_FACTOR)


def _past_its_days(asked: _Question) -> Reason | None:
    return _aged(asked, "past-its-days", 1)


def _aged(asked: _Question, code: str, factor: int) -> Reason | None:
    facts = asked.facts
    if facts.kind == SIZE:
        return None
    line_days = _days_of(facts.kind, asked.limits) * factor
    if under(facts.age_days, line_days):
        return None
    return Reason.of(code, age_days=facts.age_days, line_days=line_days)


def _days_of(kind: str, limits: Limits) -> int:
    return {
        "gall_water": limits.gall_water_days,
        "rinse": limits.rinse_days,
        "paste": limits.paste_days,
        "softener": limits.softener_days,
    }[kind]


def _too_low(asked: _Question) -> Reason | None:
    return too_low(asked.facts.volume_l, asked.facts.laying_l)


def _temperature_off(asked: _Question) -> Reason | None:
    """Size and room are to be as warm as one another; a reading holds for some hours."""
    warmth = asked.facts.warmth
    if warmth is None or utc(asked.now) >= utc(warmth.at) + _WARMTH_HOLDS:
        return None
    low_c, high_c = value("size_low_c"), value("size_high_c")
    if low_c <= warmth.temperature_c <= high_c:
        return None
    return Reason.of(
        "temperature-off",
        temperature_c=warmth.temperature_c,
        low_c=low_c,
        high_c=high_c,
        read_at=warmth.at,
    )


_WARMTH_HOLDS: Final = timedelta(hours=value("size_temperature_holds_h"))


def _stands_cold(asked: _Question) -> Reason | None:
    facts = asked.facts
    cold = facts.kind == SIZE and facts.chilled and facts.finished_at is None
    return Reason.of("stands-cold") if cold else None


def _run_out(asked: _Question) -> Reason | None:
    run_out = asked.facts.run_out
    if run_out is None or run_out.low_s is None or run_out.high_s is None:
        return None
    if run_out.low_s <= run_out.run_out_s <= run_out.high_s:
        return None
    return Reason.of(
        "run-out-unlike-good-days",
        run_out_s=run_out.run_out_s,
        low_s=run_out.low_s,
        high_s=run_out.high_s,
        funnel=run_out.funnel,
        tested_at=run_out.at,
    )


def _alum_carried(asked: _Question) -> Reason | None:
    if asked.facts.alum_carried_g is None:
        return None
    low_g, high_g = asked.facts.alum_carried_g
    return Reason.of("alum-carried-in", low_g=low_g, high_g=high_g) if high_g > 0 else None


def _kept_for(asked: _Question) -> Reason | None:
    kept = asked.facts.kept_for
    if kept is None or (kept.until is not None and utc(asked.now) >= utc(kept.until)):
        return None
    return Reason.of(
        "kept-for", member=kept.member, session=kept.session, kept_until=kept.until or ""
    )


_RULES: Final[tuple[Callable[[_Question], Reason | None], ...]] = (
    _finished,
    _resting,
    _stopped,
    _past_cap,
    _cloudy_thread,
    _spread_far_off,
    _smells_sour,
    _mould,
    _past_warm_days,
    _long_past_its_days,
    _too_low,
    _warm_days,
    _past_its_days,
    _ragged,
    _blob,
    _spread_off,
    _smells_sharp,
    _looks_odd,
    _temperature_off,
    _run_out,
    _stands_cold,
    _alum_carried,
    _kept_for,
)


TEST_IT: Final = "test-it"
"""Stands for the test of the liquid: a drop test of size, a look at any other."""

_ACTS_FOR: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "resting": ("wait",),
        "stopped": (TEST_IT, "allow-again"),
        "size-past-cap": ("get-rid-of-it",),
        "drop-cloudy-thread": ("stop-it", "get-rid-of-it"),
        "drop-spread-far-off": ("stop-it", TEST_IT, "get-rid-of-it"),
        "smells-sour": ("stop-it", "get-rid-of-it"),
        "mould": ("stop-it", "get-rid-of-it"),
        "size-past-warm-days": (TEST_IT, "get-rid-of-it"),
        "long-past-its-days": ("get-rid-of-it",),
        "too-low": ("mend-it", "read-level", "get-rid-of-it"),
        "size-warm-days": (TEST_IT,),
        "past-its-days": (TEST_IT, "get-rid-of-it"),
        "drop-ragged": (TEST_IT, "get-rid-of-it"),
        "drop-blob": ("thicken-it", TEST_IT),
        "drop-spread-off": (TEST_IT,),
        "smells-sharp": (TEST_IT,),
        "looks-odd": (TEST_IT,),
        "run-out-unlike-good-days": (TEST_IT,),
        "stands-cold": ("bring-to-room",),
        "alum-carried-in": (TEST_IT,),
    }
)
_ACTS_FOR_LOOK: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        Look.SKIN: ("strain-it",),
        Look.THREADS: ("strain-it",),
        Look.LUMPS: ("strain-it",),
        Look.WATERY: ("thicken-it", "get-rid-of-it"),
        Look.TINTED: ("get-rid-of-it",),
    }
)
_ONLY_OF_SIZE: Final = frozenset({"thin-it", "thicken-it", "bring-to-room"})


def _next_acts(facts: LiquidFacts, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    if facts.finished_at is not None:
        return () if facts.volume_l == 0 else ("get-rid-of-it",)
    wanted = {act for reason in reasons for act in _acts_for(facts, reason)}
    if facts.kind == SIZE and facts.laying_l is None:
        wanted.add("say-laying-litres")
    if TEST_IT in wanted:
        wanted.add(_test_of(facts))
    if facts.kind != SIZE:
        wanted -= _ONLY_OF_SIZE
    if facts.stop is not None:
        wanted.discard("stop-it")
    return tuple(act for act in ACTS if act in wanted)


def _acts_for(facts: LiquidFacts, reason: Reason) -> tuple[str, ...]:
    acts = _ACTS_FOR.get(reason.code, ())
    if reason.code in ("drop-spread-off", "drop-spread-far-off"):
        return (*acts, *_mending_spread(facts, reason))
    if reason.code == "looks-odd":
        return (*acts, *_ACTS_FOR_LOOK[str(reason.value("look"))])
    if reason.code == "temperature-off":
        return (*acts, *_mending_warmth(facts))
    return acts


def _mending_spread(facts: LiquidFacts, reason: Reason) -> tuple[str, ...]:
    """Return what mends it: a drop runs wide on thin size, stays small on thick or cold one."""
    spread_mm, high_mm = reason.value("spread_mm"), reason.value("high_mm")
    assert isinstance(spread_mm, float | int)
    assert isinstance(high_mm, float | int)
    if spread_mm > high_mm:
        return ("thicken-it",)
    return ("thin-it", "bring-to-room") if facts.chilled_days > 0 else ("thin-it",)


def _mending_warmth(facts: LiquidFacts) -> tuple[str, ...]:
    """Return what mends it: cold size is brought to the room, warm size may have gone thin."""
    assert facts.warmth is not None
    cold = facts.warmth.temperature_c < value("size_low_c")
    return ("bring-to-room",) if cold else (TEST_IT,)


def _test_of(facts: LiquidFacts) -> str:
    return "drop-test" if facts.kind == SIZE else "look-at-it"


def _how_known(facts: LiquidFacts) -> HowKnown:
    """Return the newest test, else that the days alone speak."""
    tests = [HowKnown(Known.LOOKED_AT, seen.at) for seen in (facts.look, facts.smell) if seen]
    if facts.drop is not None:
        tests.append(HowKnown(Known.DROP_TESTED, facts.drop.at))
    if not tests:
        return HowKnown(Known.BY_DAYS, facts.mixed_at)
    return max(tests, key=lambda known: utc(known.at))


_NO_DOUBT: Final = frozenset(
    {
        "finished",
        "resting",
        "size-past-cap",
        "drop-cloudy-thread",
        "drop-spread-far-off",
        "smells-sour",
        "mould",
        "long-past-its-days",
    }
)


def _what_would_settle(facts: LiquidFacts, reasons: tuple[Reason, ...]) -> str | None:
    """Return the one test that would settle it; None where nothing is in doubt."""
    codes = {reason.code for reason in reasons}
    if codes & _NO_DOUBT:
        return None
    if _outranked(facts) and all(reason.word is None for reason in reasons):
        return None
    return "read-level" if "too-low" in codes else _test_of(facts)


def _usable_l(facts: LiquidFacts) -> float | None:
    if facts.volume_l is None or facts.laying_l is None:
        return None
    return max(0.0, facts.volume_l - facts.laying_l)


def turning_points(facts: LiquidFacts, limits: Limits, now: datetime) -> tuple[datetime, ...]:
    """
    Return the moments at which a rule about age or rest fires or falls silent by itself.

    `facts` are those of `now`. Warm days pass at their own pace and have no such moment:
    `coop.rules.use.turns_at` finds it by asking day by day.
    """
    if facts.kind == SIZE:
        lines = [_line(facts.recipe.cap_days, limits.size_cap_days)]
    else:
        days = _days_of(facts.kind, limits)
        lines = [days, days * LONG_PAST_FACTOR]
    ages = tuple(utc(now) + timedelta(days=line - facts.age_days) for line in lines)
    lapses = () if facts.warmth is None else (facts.warmth.at + _WARMTH_HOLDS,)
    rests = () if facts.rest_until is None else (facts.rest_until,)
    return (*rests, *lapses, *ages)
