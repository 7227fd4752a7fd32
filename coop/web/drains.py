"""A decision about a drain in sentences: the outcome, why, what to do, what each rule said."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor, log10
from typing import Final, TypeVar

from coop.rules.packs import whys
from coop.rules.packs import words as codes
from coop.rules.packs.amounts import (
    MASS_PER_VOLUME,
    MEASURES,
    PH,
    VOLUME,
    YES_NO,
    gap_in_base,
)
from coop.rules.packs.decisions import Decision, PackUsed, RuleSaid
from coop.rules.packs.facts import Reading
from coop.rules.packs.schema import Rule
from coop.rules.packs.stops import ACIDS, CARBONATES
from coop.rules.packs.words import Outcome, Verdict
from coop.web import amounts
from coop.web import drain_words as texts
from coop.web.drain_words import choice
from coop.web.i18n import DIGITS_MAX, N_, Words

T = TypeVar("T")

CLOSE_ENOUGH: Final = Fraction(1, 10_000)
"""How far a figure without an end, as a mean of three, may be off as it is shown."""

SIGNIFICANT: Final = 3
"""The digits of what is reckoned: nobody measures finer."""

_STEPPED: Final = frozenset(
    {codes.AT_LEAST, codes.OVER, codes.AT_MOST, codes.UNDER, codes.WITHIN}
)
"""The limits that a reading has to clear by a step of its scale."""

LEAST_LEFT_ML: Final = 100
"""Under this much, nothing more is said to go by a sum: a jug shows no less."""

_KEPT: Final = frozenset({Outcome.KEEP_IN_JAR, Outcome.NOT_DOWN_HERE})
"""The outcomes after which it is kept in something."""

_FIGURES: Final[Mapping[tuple[bool, bool, bool], str]] = {
    (False, False, True): N_("%(what)s %(found)s, needs %(limit)s."),
    (False, False, False): N_("%(what)s: needs %(limit)s."),
    (False, True, True): N_("%(what)s %(found)s; this class means %(limit)s."),
    (False, True, False): N_("%(what)s: this class means %(limit)s."),
    (True, False, True): N_("%(what)s Found %(found)s, needs %(limit)s."),
    (True, False, False): N_("%(what)s Needs %(limit)s."),
    (True, True, True): N_("%(what)s Found %(found)s; this class means %(limit)s."),
    (True, True, False): N_("%(what)s This class means %(limit)s."),
}
"""By whether it is a look, whether the rule is a class, and whether anything was found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureSaid:
    """
    What is to be measured or looked at.

    Attributes:
        what: Its title; of a look, the question.
        devices: What it can be read with, each with its article: 'a thermometer'.
        test: How a look is done at home; empty for what is measured.
    """

    what: str
    devices: tuple[str, ...]
    test: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionSaid:
    """What somebody has to say first: the fact's code, the question, (code, text) answers."""

    fact: str
    question: str
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLine:
    """
    One rule that spoke.

    Attributes:
        verdict: Code of the verdict: holds, fails, unknown.
        word: The verdict in a word; of a class, whether it is one.
        sentence: Why, with the figure as read, the limit and the unit.
        readings: Each reading it went by, with device and time.
        says: The pack's own words, as somebody copied them; may be empty.
        source: Document and section.
        evidence: Whether the source was read, recalled or invented.
        pack: Title of its pack; empty for what holds with any pack or none.
        advice: Whether it holds somewhere else and is only advice at this outlet.
    """

    verdict: str
    word: str
    sentence: str
    readings: tuple[str, ...]
    says: str
    source: str
    evidence: str
    pack: str
    advice: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLine:
    """A pack that was in force: who made it, and whether it is due to be checked again."""

    title: str
    authority: str
    edition: int
    tier: str
    evidence: str
    review_due: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainSaid:
    """
    A decision, all of it text for a page.

    Attributes:
        outcome: Code of `Outcome`, for a shape beside the word.
        heading: The outcome in the words of every page.
        why: The rule that decides, in a sentence with its figure.
        next: What to do next; empty where there is nothing.
        stops: What must never come together; stands before all else.
        measure, questions: What is missing before more can be said.
        steps, duties: Sentences, in the order in which they are done.
        conditions: Those of the permission, as somebody wrote them; may be empty.
        classes: What the waste was found to be.
        rules: Every rule that spoke, strictest first.
        recalled: The sources that nobody read: title of the pack and place.
        packs: Every pack that was in force.
        closing: Who decides; ends every decision.
    """

    outcome: str
    heading: str
    why: str
    next: str
    stops: tuple[str, ...]
    measure: tuple[MeasureSaid, ...]
    questions: tuple[QuestionSaid, ...]
    steps: tuple[str, ...]
    duties: tuple[str, ...]
    conditions: str
    classes: tuple[str, ...]
    rules: tuple[RuleLine, ...]
    recalled: tuple[str, ...]
    packs: tuple[PackLine, ...]
    closing: str


def told(words: Words, decision: Decision) -> DrainSaid:
    """
    Return a decision in sentences, whether made just now or thawed.

    Times are given as dates and never as "today": a decision is shown long after it was made.
    """
    spoken = decision.spoken
    return DrainSaid(
        outcome=str(decision.outcome),
        heading=heading(words, decision),
        why=_why(words, decision),
        next=_next(words, decision),
        stops=_each(words.gettext(texts.STOPS[one.rule]) for one in spoken if _is_stop(one)),
        measure=_each(_measure(words, one) for one in spoken if _is_wanted(one)),
        questions=_each(_question(words, fact) for one in spoken for fact in one.facts),
        steps=tuple(choice(words, "step", one) for one in decision.steps),
        duties=tuple(choice(words, "duty", one) for one in decision.duties),
        conditions=decision.conditions,
        classes=tuple(_class(words, *one) for one in decision.classes),
        rules=tuple(_line(words, decision, one) for one in spoken),
        recalled=_recalled(words, decision),
        packs=tuple(_pack(words, one) for one in decision.packs),
        closing=words.gettext(texts.CLOSING),
    )


def _each(found: Iterable[T]) -> tuple[T, ...]:
    """Return each once, in the order in which they come."""
    return tuple(dict.fromkeys(found))


def heading(words: Words, decision: Decision) -> str:
    """Return the outcome in words; of "ask first", with whom."""
    text = texts.HEADINGS[decision.outcome]
    if decision.outcome is not Outcome.ASK_FIRST:
        return words.gettext(text)
    return words.gettext(text, whom=_whom(words, decision))


def _whom(words: Words, decision: Decision) -> str:
    whom = ", ".join(_authorities(decision))
    return whom or words.gettext(texts.WHOM.get(decision.facts.outlet, texts.ANYBODY))


def _is_unknown(decision: Decision) -> bool:
    """Whether nobody knows what it is, and nothing stricter is said of it."""
    keeps = decision.outcome is Outcome.KEEP_IN_JAR
    return keeps and any(one.why == whys.NOBODY_KNOWS_IT for one in decision.spoken)


def _authorities(decision: Decision) -> tuple[str, ...]:
    """Return whom to ask: of the bin and the truck, no board whose rule is silent of them."""
    if decision.facts.outlet in (codes.SEWER, codes.SEPTIC):
        return decision.authorities
    silent = {one.pack for one in decision.spoken if one.why == whys.LOCAL_SILENT}
    spoke = {one.authority for one in decision.packs if one.id not in silent}
    return tuple(one for one in decision.authorities if one in spoke)


def _why(words: Words, decision: Decision) -> str:
    """Return the sentence of the rule that decides; one without a figure in its own words."""
    rule = _deciding(decision)
    if rule is None:
        return words.gettext("No rule that spoke is against it.")
    sentence = _sentence(words, decision, rule)
    if rule.holds_if or not rule.says:
        return sentence
    return words.gettext(
        "%(sentence)s It is written: %(says)s.", sentence=sentence, says=rule.says
    )


def _next(words: Words, decision: Decision) -> str:
    """Return what to do; what was thinned can still be treated, what must not meet waits."""
    rule = _deciding(decision)
    if rule is not None and rule.why == whys.DILUTED:
        return words.gettext(texts.NEXT[Outcome.NOT_YET])
    if rule is not None and _is_stop(rule) and rule.duties:
        return " ".join(choice(words, "duty", one) for one in rule.duties)
    if is_answered_here(decision):
        return _look_first(words, decision)
    total = over_its_sum(decision)
    if total is not None:
        return _in_parts(words, decision, total)
    return _plainly_next(words, decision)


def is_answered_here(decision: Decision) -> bool:
    """Return whether only a look, a reading or an answer is wanting to what says "ask"."""
    asking = _asking(decision)
    return bool(asking) and all(_is_wanted(one) or one.facts for one in asking)


def _asking(decision: Decision) -> list[RuleSaid]:
    if decision.outcome is not Outcome.ASK_FIRST:
        return []
    return [one for one in decision.spoken if one.outcome is decision.outcome]


def _look_first(words: Words, decision: Decision) -> str:
    """Say what is to be done before anybody is asked, and whom to ask if it cannot be."""
    asking = _asking(decision)
    if any(one.facts and not one.pack for one in asking):
        return words.gettext("Answer what is asked here, then look again.")
    told_with = {"whom": _whom(words, decision)}
    if any(_is_wanted(one) and one.quantity != YES_NO for one in asking):
        return words.gettext(
            "Measure first; if it cannot be measured, ask: %(whom)s.", **told_with
        )
    if any(_is_wanted(one) for one in asking):
        return words.gettext("Look first; if it cannot be said, ask: %(whom)s.", **told_with)
    return words.gettext("Answer first; if it cannot be said, ask: %(whom)s.", **told_with)


def over_its_sum(decision: Decision) -> RuleSaid | None:
    """Return the rule of so many litres in a time of which least is left, if only such fail."""
    if decision.outcome is not Outcome.NOT_YET or decision.facts.volume_ml is None:
        return None
    failing = [one for one in decision.spoken if one.outcome is decision.outcome]
    if not all(_is_sum(one) for one in failing):
        return None
    return min(failing, key=lambda one: _left_ml(decision, one))


def _is_sum(rule: RuleSaid) -> bool:
    is_sum = bool(rule.span) and rule.quantity == VOLUME and rule.high is not None
    return is_sum and rule.verdict is Verdict.FAILS and not rule.advice


def _left_ml(decision: Decision, rule: RuleSaid) -> Fraction:
    """Return what may still go by a sum [mL]; under 0 where too much went already."""
    factor, _ = MEASURES[VOLUME].units[rule.unit]
    assert rule.total is not None
    assert rule.high is not None
    assert decision.facts.volume_ml is not None
    least = Fraction(int(rule.holds_if == codes.UNDER), 1000)
    return rule.high * factor - least - (rule.total - decision.facts.volume_ml)


def _in_parts(words: Words, decision: Decision, rule: RuleSaid) -> str:
    """Say how much may still go and when the rest; rounded down, as a jug is read."""
    left_ml = float(_left_ml(decision, rule))
    later = words.gettext(texts.LATER.get(rule.span, texts.ON_A_LATER_DAY))
    if left_ml < LEAST_LEFT_ML:
        said = words.gettext(
            "Nothing more on %(day)s: pour it %(later)s, or carry it.",
            day=words.day(decision.day),
            later=later,
        )
    else:
        said = words.gettext(
            "Of it %(left)s may still go by its litres on %(day)s, the rest %(later)s; or "
            "carry it.",
            left=amounts.volume_down(words, left_ml),
            day=words.day(decision.day),
            later=later,
        )
    if any(_is_wanted(one) for one in decision.spoken):
        return f"{said} {words.gettext(texts.NEXT[Outcome.MEASURE_FIRST])}"
    return said


def _plainly_next(words: Words, decision: Decision) -> str:
    """Return what to do by the outcome; what may still give off gas is closed up nowhere."""
    if _is_unknown(decision):
        return words.gettext(texts.NOT_KNOWN_NEXT)
    inside = set(decision.facts.contents or ())
    said = texts.NEXT[decision.outcome]
    if decision.outcome in _KEPT and inside & ACIDS and inside & CARBONATES:
        return f"{words.gettext(texts.STILL_FIZZING)} {words.gettext(said)}"
    return words.gettext(said)


def _deciding(decision: Decision) -> RuleSaid | None:
    """Return the rule to be told first: a stop, what fails for sure, what has a figure."""
    kinds = (codes.CLASSIFY, codes.KEEP)
    deciding = [
        one
        for one in decision.spoken
        if one.outcome is decision.outcome and not one.advice and one.kind not in kinds
    ]
    if decision.outcome is Outcome.NOTHING_FORBIDS:
        deciding = [one for one in deciding if _has_figure(one)]
    return min(
        deciding,
        key=lambda one: (
            not _is_stop(one),
            one.verdict is not Verdict.FAILS,
            not _has_figure(one),
        ),
        default=None,
    )


def _has_figure(rule: RuleSaid) -> bool:
    return bool(rule.used) or rule.total is not None


def _is_stop(rule: RuleSaid) -> bool:
    return not rule.pack and rule.rule in texts.STOPS


def _is_wanted(rule: RuleSaid) -> bool:
    """Whether another reading settles what a rule asks of this outlet."""
    return bool(rule.devices) and rule.kind != codes.CLASSIFY and not rule.advice


def _measure(words: Words, rule: RuleSaid) -> MeasureSaid:
    looked = rule.quantity == YES_NO
    return MeasureSaid(
        what=what(words, rule),
        devices=tuple(words.gettext(texts.MEASURE_WITH[one]) for one in rule.devices),
        test=words.gettext(texts.LOOK_TESTS[rule.of]) if looked else "",
    )


def what(words: Words, rule: RuleSaid | Rule) -> str:
    """Return the title of what a rule measures or looks at: 'pH', 'Copper (dissolved)'."""
    if rule.quantity == YES_NO:
        return choice(words, "look", rule.of)
    if not rule.of:
        return choice(words, "quantity", rule.quantity)
    title = choice(words, "analyte", rule.of)
    if rule.quantity != MASS_PER_VOLUME or rule.basis == codes.TOTAL_BASIS:
        return title
    return words.gettext(
        "%(what)s (%(basis)s)", what=title, basis=choice(words, "basis", rule.basis)
    )


def _question(words: Words, fact: str) -> QuestionSaid:
    match fact:
        case "contents":
            answers = texts.choices(words, "substance")
        case "closed":
            answers = texts.yes_no(words)
        case _:
            answers = texts.answers(words, fact)
    return QuestionSaid(fact=fact, question=choice(words, "fact", fact), answers=tuple(answers))


def _class(words: Words, fact: str, value: str) -> str:
    """Say what the waste was found to be; what a pack of somebody's own sets, as it is."""
    known = texts.CLASS_VALUES.get(value)
    said = words.gettext(known) if known else value
    text = texts.CLASSES.get(fact)
    return words.gettext(text, value=said) if text else f"{fact.replace('_', ' ')}: {said}"


def _line(words: Words, decision: Decision, rule: RuleSaid) -> RuleLine:
    named = texts.CLASS_VERDICTS if rule.kind == codes.CLASSIFY else texts.VERDICTS
    titles = {one.id: one.title for one in decision.packs}
    return RuleLine(
        verdict=str(rule.verdict),
        word=words.gettext(named[rule.verdict]),
        sentence=_sentence(words, decision, rule),
        readings=tuple(_reading(words, one, rule) for one in rule.used),
        says=rule.says,
        source=source(words, rule),
        evidence=choice(words, "evidence", rule.evidence),
        pack=titles.get(rule.pack, ""),
        advice=rule.advice,
    )


def _sentence(words: Words, decision: Decision, rule: RuleSaid) -> str:
    """Say what a rule found, and why that is not plain; never empty."""
    parts = [_found(words, decision, rule), _because(words, rule)]
    if rule.advice:
        parts.append(words.gettext("At this drain it is only advice."))
    return " ".join(one for one in parts if one)


def _found(words: Words, decision: Decision, rule: RuleSaid) -> str:
    """Say what a rule found, by what it goes by: figures, days, a label, or nothing."""
    if rule.holds_if:
        return _figures(words, rule)
    match rule.kind:
        case codes.CLOCK:
            return _clock(words, decision, rule)
        case codes.LABEL:
            return _label(words, rule)
        case codes.KEEP:
            return _keep(words, rule)
        case codes.CLASSIFY:
            return words.gettext("By what is known of it.")
    return _ban(words, rule)


def _ban(words: Words, rule: RuleSaid) -> str:
    """Say what a rule without figures comes to; a permission is the only one that holds."""
    if _is_stop(rule):
        return words.gettext(texts.STOPS[rule.rule])
    if rule.why:
        return ""
    if rule.verdict is Verdict.HOLDS:
        return words.gettext("They were asked, and said yes.")
    return words.gettext("It is not taken here.")


def _figures(words: Words, rule: RuleSaid) -> str:
    found = [_figure_of(words, one, rule) for one in rule.used]
    title = "" if rule.total is not None else what(words, rule)
    if rule.total is not None:
        title = words.gettext("Together")
        factor, _ = MEASURES[rule.quantity].units[rule.unit]
        found = [_figure(words, rule.unit, _rounded(rule, rule.total / factor))]
    shape = rule.quantity == YES_NO, rule.kind == codes.CLASSIFY, bool(found)
    return words.gettext(
        _FIGURES[shape], what=title, found=", ".join(found), limit=limit(words, rule)
    )


def _rounded(rule: RuleSaid, reckoned: Fraction) -> Fraction:
    """
    Return what was reckoned to as many digits as anybody measures.

    It has more where it would else stand on the other side of the limit, or on it.
    """
    if not reckoned:
        return reckoned
    ends = [one for one in (rule.low, rule.high) if one is not None]
    least = SIGNIFICANT - 1 - floor(log10(abs(reckoned)))
    tries = (round(reckoned, digits) for digits in range(max(0, least), DIGITS_MAX))
    same = (
        one for one in tries if all(_side(one, end) == _side(reckoned, end) for end in ends)
    )
    return next(same, reckoned)


def _side(value: Fraction, end: Fraction) -> int:
    return (value > end) - (value < end)


def _figure_of(words: Words, reading: Reading, rule: RuleSaid) -> str:
    """Return a reading as it was read, or how it is known where it was not."""
    if reading.answer:
        return _answer(words, reading.answer)
    if reading.how == codes.RECKONED and reading.unit == rule.unit:
        reading = replace(
            reading, low=_rounded(rule, reading.low), high=_rounded(rule, reading.high)
        )
    high = _figure(words, reading.unit, reading.high)
    match reading.how:
        case codes.NOT_DETECTED:
            return words.gettext("not found (under %(high)s)", high=high)
        case codes.RECKONED if reading.low:
            both = _figure(words, reading.unit, reading.low, reading.high)
            return words.gettext("reckoned at %(range)s", range=both)
        case codes.RECKONED:
            return words.gettext("reckoned at no more than %(high)s", high=high)
    return high


def _answer(words: Words, code: str) -> str:
    return dict(texts.yes_no(words))[code]


def _figure(words: Words, unit: str, *ends: Fraction) -> str:
    """Return a figure or a range, with its unit once: '3.3', '6.0 to 10.0', '20 L'."""
    least = 1 if unit == PH else 0
    shown = [words.number(float(one), max(least, _digits(one))) for one in ends]
    n = shown[0]
    if len(shown) > 1:
        n = words.gettext("%(low)s to %(high)s", low=shown[0], high=shown[1])
    return words.gettext(texts.UNITS[unit], n=n)


def _digits(value: Fraction) -> int:
    """Return the fewest decimals that show a figure as it is, or nearly if it has no end."""
    exact = (value * 10**DIGITS_MAX).denominator == 1
    off = 0 if exact else abs(value) * CLOSE_ENOUGH
    enough = (one for one in range(DIGITS_MAX) if abs(round(value, one) - value) <= off)
    return next(enough, DIGITS_MAX)


def limit(words: Words, rule: RuleSaid | Rule) -> str:
    """Return what a rule demands of a figure: 'at most 20 L', '6.0 to 10.0', 'no'."""
    values = {}
    if rule.value:
        values["value"] = _answer(words, rule.value)
    if rule.low is not None:
        values["low"] = _figure(words, rule.unit, rule.low)
    if rule.high is not None:
        values["high"] = _figure(words, rule.unit, rule.high)
    if rule.low is not None and rule.high is not None:
        values["range"] = _figure(words, rule.unit, rule.low, rule.high)
    return words.gettext(texts.LIMITS[rule.holds_if], **values)


def _clock(words: Words, decision: Decision, rule: RuleSaid) -> str:
    if rule.started_on is None or rule.due_on is None:
        return ""
    said = words.gettext(
        "Started %(started)s, due %(due)s.",
        started=words.day(rule.started_on),
        due=words.day(rule.due_on),
    )
    soon = rule.warn_on is not None and rule.warn_on <= decision.day <= rule.due_on
    return f"{said} {words.gettext('That is soon.')}" if soon else said


def _label(words: Words, rule: RuleSaid) -> str:
    if not rule.shows:
        return words.gettext("Its label shows all that is asked.")
    missing = ", ".join(choice(words, "shown", one) for one in rule.shows)
    return words.gettext("Still to write on its label: %(missing)s.", missing=missing)


def _keep(words: Words, rule: RuleSaid) -> str:
    records = ", ".join(choice(words, "record", one) for one in rule.records)
    return words.ngettext(
        "To be kept for %(num)d year: %(records)s.",
        "To be kept for %(num)d years: %(records)s.",
        rule.keep_years,
        records=records,
    )


def _because(words: Words, rule: RuleSaid) -> str:
    """Say why a rule does not plainly hold or fail; empty where it does."""
    if rule.why == whys.MISSING and rule.quantity == YES_NO:
        return words.gettext("Nobody looked.")
    if rule.why == whys.MAY_APPLY and rule.facts:
        asked = " ".join(choice(words, "fact", one) for one in rule.facts)
        return words.gettext(
            "Whether this rule counts here hangs on an answer: “%(questions)s”.",
            questions=asked,
        )
    said = words.gettext(texts.WHYS[rule.why]) if rule.why else ""
    if rule.why == whys.TOO_NEAR and rule.holds_if in _STEPPED:
        return f"{said} {_has_to_read(words, rule)}"
    return said


def _has_to_read(words: Words, rule: RuleSaid) -> str:
    """Say what the same scale would have to show, one step within the limits."""
    factor, _ = MEASURES[rule.quantity].units[rule.unit]
    gap = max(_gap(one) for one in rule.used) / factor
    low = None if rule.low is None else rule.low + gap
    high = None if rule.high is None else rule.high - gap
    if low is not None and high is not None and low >= high:
        if low > high:
            return words.gettext("This scale is too coarse for it: use a finer one.")
        return words.gettext(
            "On this scale it has to read %(limit)s.", limit=_figure(words, rule.unit, low)
        )
    shifted = replace(rule, low=low, high=high)
    return words.gettext("On this scale it has to read %(limit)s.", limit=limit(words, shifted))


def _gap(reading: Reading) -> Fraction:
    gap = max(reading.step, abs(reading.off_at_check or Fraction(0)))
    return gap_in_base(gap, quantity=reading.quantity, unit=reading.unit)


def _reading(words: Words, reading: Reading, rule: RuleSaid) -> str:
    """Say what was read, with what, on which scale and when."""
    said = [_figure_of(words, reading, rule)]
    if reading.device:
        said.append(choice(words, "device", reading.device))
    if reading.step:
        step = _figure(words, reading.unit, reading.step)
        said.append(words.gettext("one step is %(step)s", step=step))
    return ", ".join((*said, words.moment(reading.read_at)))


def source(words: Words, rule: RuleSaid) -> str:
    """Return document and section; what the rules themselves say, in this language."""
    ours = rule.document in texts.SOURCES
    document = words.gettext(rule.document) if ours else rule.document
    return f"{document} {rule.section}".strip()


def _recalled(words: Words, decision: Decision) -> tuple[str, ...]:
    """Name the sources nobody read; that rules are silent or missing stands in none."""
    titles = {one.id: one.title for one in decision.packs}
    return _each(f"{titles[one.pack]}, {source(words, one)}" for one in decision.recalled)


def _pack(words: Words, used: PackUsed) -> PackLine:
    return PackLine(
        title=used.title,
        authority=used.authority,
        edition=used.edition,
        tier=choice(words, "tier", used.tier),
        evidence=choice(words, "evidence", used.evidence),
        review_due=used.review_due,
    )
