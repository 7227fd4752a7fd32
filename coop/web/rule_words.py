"""A rule of a drain in a sentence: of what, where, what has to hold, when, and its source."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from coop.rules.packs import words as codes
from coop.rules.packs.amounts import YES_NO
from coop.rules.packs.schema import Condition, Rule
from coop.rules.packs.words import Outcome
from coop.web import drain_words as texts
from coop.web.drain_words import choice
from coop.web.drains import limit, what
from coop.web.i18n import N_, Words

_SUMS: Final[Mapping[str, str]] = MappingProxyType(
    {
        codes.POURED: N_("poured"),
        codes.HAZARDOUS_MADE: N_("made as hazardous waste"),
        codes.ACUTE_MADE: N_("made as acutely hazardous waste"),
        codes.HAZARDOUS_ON_HAND: N_("standing here as hazardous waste"),
    }
)
_STARTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "first_drop": N_("the first drop in it"),
        "full": N_("the day it is full"),
        "over_55_us_gallons": N_("the day there are over 55 US gallons of it"),
        "over_1000_kg": N_("the day there are over 1000 kg of it"),
    }
)
_POINTS: Final[Mapping[str, str]] = MappingProxyType(
    {codes.PLANT_INLET: N_("At the works, not at your sink.")}
)


def rule_sentence(words: Words, rule: Rule) -> str:
    """Return a rule as it will be told: 'Alum bath, town sewer: pH 6.0 to 10.0.'"""
    said = words.gettext(
        "%(about)s: %(demand)s.", about=_about(words, rule), demand=_demand(words, rule)
    )
    return " ".join([said, *_besides(words, rule)])


def rule_source(rule: Rule) -> str:
    """Return where a rule stands written."""
    return f"{rule.cite.document} {rule.cite.section}".strip()


def _about(words: Words, rule: Rule) -> str:
    """Say of what and where."""
    wastes = _list(words, "waste", rule.wastes) or words.gettext("everything")
    every = len(rule.outlets) == len(codes.OUTLETS)
    outlets = words.gettext("wherever it goes") if every else None
    about = words.gettext(
        "%(wastes)s, %(outlets)s",
        wastes=wastes,
        outlets=outlets or _list(words, "outlet", rule.outlets),
    )
    return about[:1].upper() + about[1:]


def _list(words: Words, group: str, found: Iterable[str]) -> str:
    return ", ".join(choice(words, group, one) for one in found)


def _demand(words: Words, rule: Rule) -> str:
    """Say what has to hold, by the kind of the rule."""
    match rule.kind:
        case codes.BAN if rule.if_fails is Outcome.ASK_FIRST:
            return words.gettext("ask first")
        case codes.BAN:
            return words.gettext("not down here")
        case codes.CLASSIFY:
            return _class(words, rule)
        case codes.TOTAL:
            return _total(words, rule)
        case codes.CLOCK:
            return words.ngettext(
                "to be gone %(num)d day after %(start)s",
                "to be gone %(num)d days after %(start)s",
                rule.days,
                start=words.gettext(_STARTS[rule.starts]),
            )
        case codes.LABEL:
            shown = _list(words, "shown", rule.shows)
            return words.gettext("its label shows: %(shown)s", shown=shown)
        case codes.KEEP:
            return words.ngettext(
                "%(records)s to be kept for %(num)d year",
                "%(records)s to be kept for %(num)d years",
                rule.keep_years,
                records=_list(words, "record", rule.records),
            )
    return _measured(words, rule)


def _measured(words: Words, rule: Rule) -> str:
    """Say what is measured or looked at, and what it needs."""
    text = N_("%(what)s Needs %(limit)s") if rule.quantity == YES_NO else "%(what)s %(limit)s"
    return words.gettext(text, what=what(words, rule), limit=limit(words, rule))


def _class(words: Words, rule: Rule) -> str:
    """Say what a waste is found to be, and by which figure."""
    sets = ", ".join(_set(words, *one) for one in rule.sets)
    if not rule.holds_if:
        return sets
    return words.gettext(
        "%(sets)s, where this holds: %(figure)s",
        sets=sets,
        figure=_total(words, rule) if rule.sum_of else _measured(words, rule),
    )


def _set(words: Words, fact: str, value: str) -> str:
    known = texts.CLASS_VALUES.get(value)
    said = words.gettext(known) if known else value
    text = texts.CLASSES.get(fact)
    return words.gettext(text, value=said) if text else f"{fact.replace('_', ' ')}: {said}"


def _total(words: Words, rule: Rule) -> str:
    return words.gettext(
        "%(limit)s %(sum)s %(span)s",
        limit=limit(words, rule),
        sum=words.gettext(_SUMS[rule.sum_of]),
        span=_span(words, rule),
    ).strip()


def _span(words: Words, rule: Rule) -> str:
    match rule.span:
        case codes.DAY:
            return words.gettext("a day")
        case codes.CALENDAR_MONTH:
            return words.gettext("a calendar month")
        case codes.ROLLING_DAYS:
            return words.ngettext(
                "in the last %(num)d day", "in the last %(num)d days", rule.span_days
            )
    return ""


def _besides(words: Words, rule: Rule) -> Iterable[str]:
    """Give the sentences that stand after what a rule demands."""
    if rule.when.op != "all" or rule.when.parts:
        yield words.gettext("Only where %(when)s.", when=_when(words, rule.when))
    if rule.needed_when.op != "all" or rule.needed_when.parts:
        when = _when(words, rule.needed_when)
        yield words.gettext("A reading is asked for only where %(when)s.", when=when)
    if rule.bounds_count:
        yield words.gettext("What was put in may stand for a measurement.")
    if rule.point in _POINTS:
        yield words.gettext(_POINTS[rule.point])
    yield from (choice(words, "step", one) for one in rule.steps)
    yield from (choice(words, "duty", one) for one in rule.duties)


def _when(words: Words, one: Condition) -> str:
    """Say a condition, however deep its parts lie; answers to one question stand together."""
    match one.op:
        case "all":
            return words.gettext(" and ").join(_when(words, part) for part in one.parts)
        case "any" if _one_question(one.parts):
            return _said(words, one.parts[0], one.parts)
        case "any":
            either = words.gettext(" or ").join(_when(words, part) for part in one.parts)
            return f"({either})"
        case "not":
            inner = _when(words, one.parts[0])
            return words.gettext("this does not hold: (%(what)s)", what=inner)
    return _said(words, one, (one,))


def _one_question(parts: tuple[Condition, ...]) -> bool:
    """Say whether all parts are answers to one question, any of which will do."""
    return {part.op for part in parts} == {codes.IS} and len({part.fact for part in parts}) == 1


def _said(words: Words, first: Condition, every: Iterable[Condition]) -> str:
    """Say which answers to a question are asked for; of a class, what it is found to be."""
    question = texts.CHOICES["fact"].get(first.fact)
    if question is None:
        said = words.gettext(" or ").join(_set(words, one.fact, one.value) for one in every)
        return said if first.op == codes.IS else words.gettext("not %(what)s", what=said)
    text = (
        N_("“%(question)s” is answered with: %(answers)s")
        if first.op == codes.IS
        else N_("“%(question)s” is not answered with: %(answers)s")
    )
    answers = texts.ANSWERS[first.fact]
    said = words.gettext(" or ").join(words.gettext(answers[one.value]) for one in every)
    return words.gettext(text, question=words.gettext(question), answers=said)
