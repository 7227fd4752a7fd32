"""What a decision about a drain says: plain values, and lines for people made of them."""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.cli.reckoning import Answer
from coop.rules.packs import whys, words
from coop.rules.packs.amounts import MEASURES
from coop.rules.packs.decisions import Decision, PackUsed, RuleSaid
from coop.rules.packs.facts import Reading
from coop.rules.packs.words import Outcome

AUTHORITY_DECIDES: Final = "your local authority decides"

OUTCOMES: Final[Mapping[Outcome, str]] = MappingProxyType(
    {
        Outcome.NOTHING_FORBIDS: "Nothing you recorded forbids it",
        Outcome.AFTER_STEPS: "Nothing forbids it, after these steps",
        Outcome.ASK_FIRST: "Ask first",
        Outcome.MEASURE_FIRST: "Measure first",
        Outcome.NOT_YET: "Not yet: treat it, then measure again",
        Outcome.KEEP_IN_JAR: "Keep in the waste jar",
        Outcome.NOT_DOWN_HERE: "Not down here",
    }
)
WHYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        whys.MISSING: "not measured",
        whys.STALE: "the reading is too old, or something was put in since",
        whys.FAILED_BEFORE: "it failed when it was last measured",
        whys.NOT_NEEDED: "no reading is needed: nothing of the kind was put in",
        whys.TOO_NEAR: "it does not clear the limit by one step of its scale",
        whys.BOUNDS: "reckoned from what was put in it can be on either side",
        whys.NOT_FINE_ENOUGH: "not detected, but the method does not see that fine",
        whys.NOT_CHECKED: "nobody checked the meter",
        whys.DOUBTED: "alum without a base reads 3 to 4: read it again",
        whys.TOO_FEW: "too few readings of today",
        whys.AMOUNT_MISSING: "an amount is missing",
        whys.NOT_COUNTED: "nobody summed it up over all of its days",
        whys.DILUTED: "water after a reading that failed is dilution: treat it, measure again",
        whys.OVERDUE: "its day has passed",
        whys.NO_START: "the day it was started is missing",
        whys.NOT_STARTED: "its clock has not begun",
        whys.MAY_APPLY: "it may apply",
        whys.DOCUMENT_MISSING: "some of the place's rules are not here or cannot be read",
        whys.NO_LOCAL_PACK: "no rule of the place that was read and is in force",
        whys.LOCAL_SILENT: "the rule of the place says nothing of this waste here",
        whys.OTHER_COUNTRY: "the country of the studio was changed since",
        whys.NO_PERMISSION: "nobody wrote down whom you asked and what they said",
        whys.SAID_NO: "they said no",
        whys.CONDITIONS: "they set conditions",
        whys.DRAINS_TO_NATURE: "it runs into a stream or the soil",
        whys.NOBODY_KNOWS_IT: "nobody knows what it is; it waits closed, with a tag",
        whys.CONTENTS_NOT_SAID: "what is in it is not said",
        whys.CLOSED_NOT_SAID: "whether the vessel stays open is not said",
    }
)
STEPS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "strain_through_cloth": "strain it through cloth",
        "thin_until_it_runs": "thin it until it runs",
        "settle_overnight": "let it settle overnight",
        "cool": "let it cool",
        "solids_stay_out": "keep the solids out of the drain",
    }
)
DUTIES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "label": "label it",
        "date_it": "write the day it was started on it",
        "start_clock": "watch its day",
        "notify": "tell the authority in writing",
        "keep_record": "keep the record",
        "stop_mix": "stop: do not put these together; fresh air, help if somebody is unwell",
    }
)
DEVICES: Final[Mapping[str, str]] = MappingProxyType(
    {
        words.STRIP: "a pH strip in half steps",
        words.METER: "a meter checked today",
        words.THERMOMETER: "a thermometer",
        words.LABORATORY: "a laboratory",
        words.SAFETY_SHEET: "the supplier's own sheet",
        words.SCALE: "a scale",
        words.DIPSTICK: "a dipstick",
        words.EYE: "your eyes",
    }
)
LOOKS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lumps": "lumps that a 13 mm screen holds back",
        "runs": "whether it runs",
        "floating_oil": "oil floating on it",
        "colour_after_dilution": "colour after the dilution of the rule",
        "smells": "smell",
    }
)
UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "": "",
        "ph": "",
        "celsius": " °C",
        "fahrenheit": " °F",
        "mg_per_l": " mg/L",
        "ug_per_l": " µg/L",
        "g_per_l": " g/L",
        "g_per_m3": " g/m³",
        "percent_by_mass": " % by mass",
        "percent_by_volume": " % by volume",
        "ml": " mL",
        "l": " L",
        "m3": " m³",
        "us_gallon": " US gallons",
        "imp_gallon": " imperial gallons",
        "g": " g",
        "mg": " mg",
        "kg": " kg",
        "lb": " lb",
        "oz": " oz",
    }
)
_CLASSES: Final = MappingProxyType({"holds": "it is", "fails": "it is not"})
_DIGITS: Final = 6


def answer(decision: Decision) -> Answer:
    """Return the whole decision as plain values, codes beside words."""
    return {
        "outcome": str(decision.outcome),
        "outcome_text": outcome_text(decision),
        "waste": decision.facts.waste,
        "outlet": decision.facts.outlet,
        "day": decision.day.isoformat(),
        "ask": list(decision.authorities),
        "steps": list(decision.steps),
        "conditions": decision.conditions,
        "duties": list(decision.duties),
        "measure": measure(decision),
        "say": facts_wanted(decision),
        "classes": [" ".join(one) for one in decision.classes],
        "rules": [_rule(one) for one in decision.spoken],
        "recalled": [place(one) for one in decision.recalled],
        "packs": [_pack(one) for one in decision.packs],
        "how_known": f"as given; {AUTHORITY_DECIDES}",
    }


def outcome_text(decision: Decision) -> str:
    """Return the outcome, and whom to ask."""
    said = OUTCOMES[decision.outcome]
    if decision.outcome is Outcome.ASK_FIRST and decision.authorities:
        return f"{said}: {', '.join(decision.authorities)}"
    return said


def measure(decision: Decision) -> list[str]:
    """Return what is to be measured, and with what, each once."""
    found = (
        f"{what(one)} (with {' or '.join(DEVICES[device] for device in one.devices)})"
        for one in decision.spoken
        if one.devices and one.kind != words.CLASSIFY and not one.advice
    )
    return list(dict.fromkeys(found))


def facts_wanted(decision: Decision) -> list[str]:
    """Return the facts that nobody stated and a rule asks for, each once."""
    return list(dict.fromkeys(fact for one in decision.spoken for fact in one.facts))


def _rule(rule: RuleSaid) -> dict[str, str]:
    return {
        "rule": place(rule),
        "kind": rule.kind,
        "verdict": str(rule.verdict),
        "outcome": str(rule.outcome),
        "why": rule.why,
        "demands": limit(rule),
        "found": ", ".join(map(figure_of, rule.used)),
        "sum": _total(rule),
        "due_on": rule.due_on.isoformat() if rule.due_on else "",
        "still_to_show": ", ".join(rule.shows),
        "is_advice": "yes" if rule.advice else "no",
        "says": rule.says,
        "cite": f"{rule.document} {rule.section}".strip(),
        "evidence": rule.evidence,
    }


def _total(rule: RuleSaid) -> str:
    if rule.total is None:
        return ""
    factor, _ = MEASURES[rule.quantity].units[rule.unit]
    return _figure(rule.total / factor, rule.unit)


def place(rule: RuleSaid) -> str:
    """Return a rule's name, with its pack's."""
    return f"{rule.pack}/{rule.rule}" if rule.pack else rule.rule


def what(rule: RuleSaid) -> str:
    """Return what a rule measures."""
    if rule.quantity == "yes_no":
        return LOOKS[rule.of]
    name = {"ph": "pH"}.get(rule.quantity, rule.quantity.replace("_", " "))
    basis = "" if rule.basis in ("", words.TOTAL_BASIS) else f", {rule.basis}"
    of = rule.of.replace("_", " ")
    return f"{of} ({name}{basis})" if of else name


def limit(rule: RuleSaid) -> str:
    """Return what a rule demands of a figure, or for a class what makes it one."""
    if not rule.holds_if:
        return ""
    low, high = (_figure(one, rule.unit) for one in (rule.low, rule.high))
    said = {
        words.AT_LEAST: f"at least {low}",
        words.OVER: f"over {low}",
        words.AT_MOST: f"at most {high}",
        words.UNDER: f"under {high}",
        words.WITHIN: f"from {low} to {high}",
        words.OUTSIDE: f"outside {low} to {high}",
        words.IS: rule.value,
    }[rule.holds_if]
    return f"{what(rule)}: {said}"


def figure_of(reading: Reading) -> str:
    """Return a reading as it was read, with how it is known where it was not."""
    if reading.answer:
        return reading.answer
    low, high = (_figure(one, reading.unit) for one in (reading.low, reading.high))
    match reading.how:
        case words.NOT_DETECTED:
            return f"not detected under {high}"
        case words.RECKONED:
            return f"reckoned {low} to {high}"
    return high


def _figure(number: Fraction | None, unit: str) -> str:
    return "" if number is None else f"{float(number):.{_DIGITS}g}{UNITS[unit]}"


def _pack(used: PackUsed) -> dict[str, str | int | bool]:
    return {
        "id": used.id,
        "edition": used.edition,
        "title": used.title,
        "tier": used.tier,
        "evidence": used.evidence,
        "digest": used.digest,
        "review_due": used.review_due,
    }


def lines(told: Answer) -> list[str]:
    """Return what to do, what to measure, and each rule that spoke, strictest first."""
    return [
        f"{told['outcome_text']}.",
        *_listed("steps", [STEPS[one] for one in told["steps"]]),
        *_listed("conditions", [told["conditions"]] if told["conditions"] else []),
        *_listed("duties", [DUTIES[one] for one in told["duties"]]),
        *_listed("measure", told["measure"]),
        *_listed("say", told["say"]),
        *_listed("found to be", told["classes"]),
        *map(_line, told["rules"]),
        *_listed("recalled, nobody read them", told["recalled"]),
        *_listed("to be checked again", [p["title"] for p in told["packs"] if p["review_due"]]),
    ]


def _listed(heading: str, said: list[str]) -> list[str]:
    return [f"{heading}: {'; '.join(said)}"] if said else []


def _line(rule: Mapping[str, str]) -> str:
    said = rule["verdict"]
    if rule["kind"] == words.CLASSIFY:
        said = _CLASSES.get(said, said)
    parts = [
        f"{said}: {rule['rule']}",
        rule["demands"],
        rule["found"] and f"found {rule['found']}",
        rule["sum"] and f"together {rule['sum']}",
        WHYS.get(rule["why"], ""),
        "advice at the sink" if rule["is_advice"] == "yes" else "",
        rule["due_on"] and f"due {rule['due_on']}",
        rule["still_to_show"] and f"still to show: {rule['still_to_show']}",
        f"{rule['cite']} ({rule['evidence']})",
    ]
    return "; ".join(one for one in parts if one)
