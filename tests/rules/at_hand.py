"""A bath and a house to begin with: 12 L at 40 g/L, weighed at nine, nothing against it."""

from datetime import UTC, datetime, timedelta
from typing import Any

from coop.rules.limits import Limits
from coop.rules.use import HowKnown, Known, Outcome, Stop, StripPrint, UseFacts

SULFATE = "aluminium_sulfate_14"
POTASH = "potash_alum"
NOW = datetime(2025, 9, 20, 9, 0, tzinfo=UTC)
MIXED = NOW - timedelta(days=1)
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
