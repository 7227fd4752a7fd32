"""Whether a rule applies, in three values, and what the rules of a pack classify."""

from collections.abc import Callable, Iterable, Mapping

from coop.rules.packs.facts import Facts
from coop.rules.packs.schema import Condition, Pack, Rule
from coop.rules.packs.words import CLASSIFY, Verdict

HOLDS, FAILS, UNKNOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.UNKNOWN
Ask = Callable[[str, str], Verdict]
Test = Callable[[Rule], Verdict]


def together(verdicts: Iterable[Verdict]) -> Verdict:
    """
    Return whether all hold: a sure failure outranks an unknown, an unknown a pass.

    Source:
        The strong three-valued logic of Kleene, Introduction to Metamathematics (1952),
        section 64 (from memory).

    >>> str(together([Verdict.HOLDS, Verdict.UNKNOWN])), str(together([]))
    ('unknown', 'holds')
    """
    found = set(verdicts)
    return FAILS if FAILS in found else UNKNOWN if UNKNOWN in found else HOLDS


def reverse(verdict: Verdict) -> Verdict:
    """Return whether it does not hold."""
    return {HOLDS: FAILS, FAILS: HOLDS, UNKNOWN: UNKNOWN}[verdict]


def applies(condition: Condition, ask: Ask) -> Verdict:
    """Return whether a condition holds; `ask` says whether a fact has a value."""
    match condition.op:
        case "is":
            return ask(condition.fact, condition.value)
        case "is_not":
            return reverse(ask(condition.fact, condition.value))
    parts = [applies(one, ask) for one in condition.parts]
    match condition.op:
        case "all":
            return together(parts)
        case "any":
            return reverse(together(map(reverse, parts)))
    (only,) = parts
    return reverse(only)


def asked_of(condition: Condition) -> tuple[str, ...]:
    """Return the facts that a condition asks, each once, in order of names."""
    if condition.fact:
        return (condition.fact,)
    return tuple(sorted({fact for one in condition.parts for fact in asked_of(one)}))


def is_about(rule: Rule, facts: Facts) -> bool:
    """Return whether a rule is about this waste and this outlet at all."""
    return facts.outlet in rule.outlets and (not rule.wastes or facts.waste in rule.wastes)


def classified(pack: Pack, facts: Facts, test: Test) -> Mapping[str, Verdict]:
    """
    Return what each CLASSIFY rule of a pack comes to, by the rule's id.

    All begin as unknown; a verdict only ever turns from unknown to sure, so it ends, and in
    the same place whatever the order of the rules. What is circular stays unknown. A rule
    sees what its own pack sets and nothing of others: no pack can lift another's rule.
    """
    rules = [rule for rule in pack.rules if rule.kind == CLASSIFY]
    found = dict.fromkeys((rule.id for rule in rules), UNKNOWN)
    tested = {rule.id: test(rule) if is_about(rule, facts) else FAILS for rule in rules}
    while True:
        ask = asking(pack, facts, found)
        now = {one.id: together([tested[one.id], applies(one.when, ask)]) for one in rules}
        if now == found:
            return found
        found = now


def asking(pack: Pack, facts: Facts, found: Mapping[str, Verdict]) -> Ask:
    """Return what says whether a fact has a value: stated by people, or set in the pack."""
    stated = dict(facts.stated)
    setting = [rule for rule in pack.rules if rule.sets]

    def ask(fact: str, value: str) -> Verdict:
        if fact in stated:
            return HOLDS if value in stated[fact] else FAILS
        setters = [found[rule.id] for rule in setting if (fact, value) in rule.sets]
        if not setters:
            return UNKNOWN
        return reverse(together(map(reverse, setters)))

    return ask
