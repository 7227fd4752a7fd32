"""
A bath, a size, a stack and a house to begin with: nothing is against any of them.

The bath is 12 L at 40 g/L, weighed at nine.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

from coop.rules.limits import Limits
from coop.rules.liquids import (
    Drop,
    DropTest,
    KeptFor,
    LiquidFacts,
    Look,
    Looked,
    RunOut,
    Smell,
    Smelled,
    Warmth,
)
from coop.rules.stacks import Kept, StackFacts
from coop.rules.use import HowKnown, Known, Outcome, Stop, StripPrint, UseFacts

SULFATE = "aluminium_sulfate_14"
POTASH = "potash_alum"
NOW = datetime(2025, 9, 20, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
MIXED = NOW - DAY
HOUSE = Limits(
    target_g_per_l=40.0,
    target_salt=SULFATE,
    look_again_fraction=0.75,
    do_not_use_fraction=0.625,
    edition="second",
)
STOP = Stop("oluwaseun", MIXED, "washed_off")


def bath(**changes: Any) -> UseFacts:
    """Return the bath at hand with changes; a strength alone is exactly known."""
    usual: dict[str, Any] = {
        "mixed_at": MIXED,
        "how_known": HowKnown(Known.WEIGHED, MIXED),
        "volume_l": 12.0,
        "laying_l": 6.0,
        "salt": SULFATE,
        "strength_g_per_l": 40.0,
    }
    said = usual | changes
    said.setdefault("strength_low_g_per_l", said["strength_g_per_l"])
    return UseFacts(**said)


def printed(outcome: Outcome, *, days_ago: float = 0.5) -> StripPrint:
    """Return a strip print of some days ago."""
    return StripPrint(outcome, NOW - timedelta(days=days_ago))


def size(**changes: Any) -> LiquidFacts:
    """Return a size of two days, never chilled, 9 L where 3 L lay a sheet."""
    usual: dict[str, Any] = {
        "kind": "size",
        "mixed_at": NOW - 2 * DAY,
        "age_days": 2.0,
        "warm_days": 2.0,
        "volume_l": 9.0,
        "laying_l": 3.0,
    }
    return LiquidFacts(**(usual | changes))


def other(kind: str, **changes: Any) -> LiquidFacts:
    usual: dict[str, Any] = {"kind": kind, "mixed_at": NOW - DAY, "age_days": 1.0}
    return LiquidFacts(**(usual | changes))


def drop(outcome: Drop = Drop.ROUND, spread_mm: float | None = 50.0, then: float = 0.0):
    return DropTest(outcome, spread_mm, MIXED, then)


def stack(*, days_ago: float = 1.0, **changes: Any) -> StackFacts:
    """Return 60 sheets alumed some days ago that lie open since."""
    alumed_at = NOW - days_ago * DAY
    usual: dict[str, Any] = {
        "alumed_at": alumed_at,
        "kept": Kept.OPEN,
        "kept_since": alumed_at,
        "sheet_count": 60,
        "left_count": 60,
    }
    return StackFacts(**(usual | changes))


SEEN = NOW - timedelta(hours=2)
FIRE_LIQUIDS: dict[str, LiquidFacts] = {
    "finished": size(finished_at=NOW),
    "resting": size(rest_until=NOW + timedelta(minutes=1)),
    "stopped": size(stop=STOP),
    "size-past-cap": size(age_days=10.0),
    "drop-cloudy-thread": size(drop=drop(Drop.CLOUDY_THREAD)),
    "drop-spread-far-off": size(drop=drop(spread_mm=90.0)),
    "smells-sour": size(smell=Smelled(Smell.SOUR, SEEN)),
    "mould": other("paste", look=Looked(Look.MOULD, SEEN)),
    "size-past-warm-days": size(warm_days=6.0),
    "long-past-its-days": other("gall_water", age_days=28.0),
    "too-low": size(volume_l=2.0),
    "size-warm-days": size(warm_days=4.0),
    "past-its-days": other("rinse", age_days=7.0),
    "drop-ragged": size(drop=drop(Drop.RAGGED, None)),
    "drop-blob": size(drop=drop(Drop.BLOB, None)),
    "drop-spread-off": size(drop=drop(spread_mm=30.0), chilled_days=1.0),
    "smells-sharp": other("softener", smell=Smelled(Smell.SHARP, SEEN)),
    "looks-odd": size(look=Looked(Look.SKIN, SEEN)),
    "run-out-unlike-good-days": size(run_out=RunOut(30.0, "Funnel 2", 20.0, 24.0, SEEN)),
    "temperature-off": size(warmth=Warmth(9.0, SEEN)),
    "stands-cold": size(chilled=True),
    "alum-carried-in": size(alum_carried_g=(0.0, 1.2)),
    "kept-for": size(kept_for=KeptFor(session="Saturday class")),
}
"""For each code of a liquid's rules, facts in which it is the first to fire."""

FIRE_STACKS: dict[str, StackFacts] = {
    "none-left": stack(left_count=0),
    "strip-print-failed": stack(strip_print=StripPrint(Outcome.FAILED, SEEN)),
    "stack-hard-stop": stack(days_ago=60),
    "strip-print-soft": stack(strip_print=StripPrint(Outcome.SOFT, SEEN)),
    "its-bath-was-stopped": stack(bath_stop=STOP),
    "stack-past-use-by": stack(days_ago=2),
    "corner-print-sharp": stack(strip_print=StripPrint(Outcome.SHARP, SEEN)),
}
"""For each code of a stack's rules, facts in which it is the first to fire."""
