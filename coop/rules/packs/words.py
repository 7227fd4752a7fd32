"""The closed words of rules and facts: outlets, wastes, readings, verdicts, outcomes."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from coop.ledger import kinds


class Outcome(StrEnum):
    """The answer to "may this go down this drain now?", from mild to strict."""

    NOTHING_FORBIDS = "nothing_forbids"
    AFTER_STEPS = "after_steps"
    ASK_FIRST = "ask_first"
    MEASURE_FIRST = "measure_first"
    NOT_YET = "not_yet"
    KEEP_IN_JAR = "keep_in_jar"
    NOT_DOWN_HERE = "not_down_here"

    @property
    def rank(self) -> int:
        """
        Return how strict the outcome is [0 to 6].

        >>> Outcome.AFTER_STEPS.rank < Outcome.ASK_FIRST.rank < Outcome.NOT_YET.rank
        True
        """
        return tuple(Outcome).index(self)


class Verdict(StrEnum):
    """What a rule says of the facts."""

    HOLDS = "holds"
    FAILS = "fails"
    UNKNOWN = "unknown"


def strictest(outcomes: tuple[Outcome, ...]) -> Outcome:
    """Return the strictest of them; nothing forbids where there are none."""
    return max(outcomes, key=lambda one: one.rank, default=Outcome.NOTHING_FORBIDS)


LIMIT: Final = "LIMIT"
BAN: Final = "BAN"
CLASSIFY: Final = "CLASSIFY"
TOTAL: Final = "TOTAL"
CLOCK: Final = "CLOCK"
LABEL: Final = "LABEL"
KEEP: Final = "KEEP"
KINDS: Final = (LIMIT, BAN, CLASSIFY, TOTAL, CLOCK, LABEL, KEEP)

FLOOR: Final = "floor"
REGION: Final = "region"
DISTRICT: Final = "district"
SITE_PERMIT: Final = "site_permit"
HOUSE: Final = "house"
TIERS: Final = (FLOOR, REGION, DISTRICT, SITE_PERMIT, HOUSE)
LOCAL_TIERS: Final = frozenset({DISTRICT, SITE_PERMIT})
"""The tiers without which no drain is better than "ask first"."""

READ: Final = "read"
RECALLED: Final = "recalled"
INVENTED: Final = "invented"
EVIDENCES: Final = (READ, RECALLED, INVENTED)

SEWER: Final = "sewer"
SEPTIC: Final = "septic"
STORM: Final = "storm"
GROUND: Final = "ground"
BIN: Final = "bin"
HAULED: Final = "hauled"
JAR: Final = "jar"
OUTLETS: Final = kinds.OUTLETS
ASKED_OUTLETS: Final = frozenset({SEWER, SEPTIC, BIN, HAULED})
"""The outlets that somebody is in charge of, who has to be asked."""
NEVER_OUTLETS: Final = frozenset({STORM, GROUND})

STUDIO_AREA: Final = "studio-"
"""How the narrowest part of an area begins that is one studio alone."""

NOT_KNOWN: Final = "not_known"
WASTES: Final = kinds.WASTES
PERMISSION_FOR: Final[Mapping[str, str]] = MappingProxyType(
    {"alum_bath": "alum_bath", "size": "size", "rinse_water": "rinse_water"}
)
"""What a permission must name for a waste, else all of it."""
ALL_OF_IT: Final = "all_of_it"

AT_LEAST: Final = "at_least"
OVER: Final = "over"
AT_MOST: Final = "at_most"
UNDER: Final = "under"
WITHIN: Final = "within"
OUTSIDE: Final = "outside"
IS: Final = "is"
HOLDS_IF: Final = (AT_LEAST, OVER, AT_MOST, UNDER, WITHIN, OUTSIDE, IS)
ENDS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        AT_LEAST: ("low",),
        OVER: ("low",),
        AT_MOST: ("high",),
        UNDER: ("high",),
        WITHIN: ("low", "high"),
        OUTSIDE: ("low", "high"),
        IS: (),
    }
)
"""The figures that each way of holding needs; for the last two, which end belongs to it too."""

INSTANT: Final = "instant"
DAY: Final = "day"
CALENDAR_MONTH: Final = "calendar_month"
ROLLING_DAYS: Final = "rolling_days"
ON_HAND: Final = "on_hand"
LIMIT_SPANS: Final = (INSTANT, DAY)
TOTAL_SPANS: Final = (DAY, CALENDAR_MONTH, ROLLING_DAYS, ON_HAND)

POURED: Final = "poured"
HAZARDOUS_MADE: Final = "hazardous_made"
ACUTE_MADE: Final = "acute_made"
HAZARDOUS_ON_HAND: Final = "hazardous_on_hand"
SUMS: Final = (POURED, HAZARDOUS_MADE, ACUTE_MADE, HAZARDOUS_ON_HAND)

PLANT_INLET: Final = "plant_inlet"
POINTS: Final = ("tap", "tub", "end_of_pipe", PLANT_INLET, "container")

ANALYTES: Final = kinds.ANALYTES
LOOKS: Final = ("lumps", "runs", "floating_oil", "colour_after_dilution", "smells")
"""What is answered yes or no at home; `lumps` are what a 13 mm screen holds back."""

TOTAL_BASIS: Final = "total"
AS_N: Final = "as_n"
AS_NH3: Final = "as_nh3"
LEACHED: Final = "leached"
DISSOLVED: Final = "dissolved"
BASES: Final = (TOTAL_BASIS, DISSOLVED, LEACHED, AS_N, AS_NH3)

STRIP: Final = "strip"
METER: Final = "meter"
THERMOMETER: Final = "thermometer"
LABORATORY: Final = "laboratory"
SAFETY_SHEET: Final = "safety_sheet"
SCALE: Final = "scale"
DIPSTICK: Final = "dipstick"
EYE: Final = "eye"
DEVICES: Final = (
    STRIP,
    METER,
    THERMOMETER,
    LABORATORY,
    SAFETY_SHEET,
    SCALE,
    DIPSTICK,
    EYE,
)

AS_READ: Final = "read"
NOT_DETECTED: Final = "not_detected"
RECKONED: Final = "reckoned"
HOW_KNOWN: Final = (AS_READ, NOT_DETECTED, RECKONED)

STEPS: Final = kinds.DRAIN_STEPS
DUTIES: Final = ("label", "date_it", "start_clock", "notify", "keep_record", "stop_mix")

SHOWN: Final = (
    "name",
    "hazard",
    "hazardous_waste",
    "contents",
    "started_on",
    "full_by",
    "studio",
    "emergency_number",
)
"""What can stand on a label."""
STARTED_ON: Final = "started_on"
RECORDS: Final = ("readings", "decisions", "handovers", "waste_determinations", "exposure")
STARTS: Final = ("first_drop", "full", "over_55_us_gallons", "over_1000_kg")

SUBSTANCES: Final = kinds.SUBSTANCES
BASES_ADDED: Final = frozenset({"soda", "lime"})

YES: Final = "yes"
NO: Final = "no"
FACTS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "premises": kinds.PREMISES,
        "salt": kinds.SALTS,
        "acid_put_in": (YES, NO),
        "metal_pigments": (YES, NO),
        "tags": kinds.HAZARD_TAGS,
        "acute": (YES, NO),
        "immediate_use": (YES, NO),
        "jar_area": kinds.JAR_AREAS,
    }
)
"""What a condition may ask, and the answers; what a rule sets comes to them in its pack."""
