"""
The answer: every rule that speaks, in three values, and the strictest outcome of them.

An answer better than "ask first" needs the consent of somebody in charge of the outlet: a
pack of the district or the site's own permit, read at its source, that speaks of this waste
there; and a recorded permission. Every other pack can only make it stricter.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Final

from coop.rules.packs import amounts, verdicts, whys, words
from coop.rules.packs.conditions import Ask, applies, asked_of, asking, classified, is_about
from coop.rules.packs.decisions import EVALUATOR, Decision, PackUsed, RuleSaid
from coop.rules.packs.facts import Facts, Permission
from coop.rules.packs.schema import Pack, Rule
from coop.rules.packs.stops import stops
from coop.rules.packs.verdicts import Judged
from coop.rules.packs.words import Outcome, Verdict

CHECK_EVERY_DAYS: Final = 365
"""A pack nobody checked for a year is told of: our own choice, no source."""

_WAIVED: Final = frozenset({whys.MISSING, whys.STALE})
"""What is no matter where a rule demands no reading; one that failed before always is."""
_OLD: Final = frozenset({whys.STALE, whys.FAILED_BEFORE})
_SPEAKS: Final = frozenset({words.LIMIT, words.BAN, words.TOTAL})


def evaluate(
    packs: Iterable[Pack], facts: Facts, *, day: date, now: datetime, demo: bool
) -> Decision:
    """
    Return what may happen to a liquid at an outlet.

    Args:
        packs: All there are; those of another area, or not in force that day, stay silent.
        facts: What is known; what is not in them is not known.
        day: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.

    Returns:
        The decision, the same whatever the order of the packs.

    Raises:
        ValueError: Two packs of one name and edition that are not the same.
    """
    assert now.utcoffset() is not None, "now has a zone"
    used = in_force(packs, facts, day)
    wastes = facts.each_waste
    spoken = (said for one in wastes for said in _of_waste(used, one, day, now, demo))
    found = list(dict.fromkeys((*stops(facts), *spoken)))
    found.sort(key=lambda one: (-one.outcome.rank, one.advice, one.pack, one.rule))
    outcome = words.strictest(tuple(one.outcome for one in found))
    asked = [permission for one in wastes if (permission := permission_for(one, day))]
    return Decision(
        outcome=outcome,
        spoken=tuple(found),
        duties=_in_turn(words.DUTIES, [duty for one in found for duty in one.duties]),
        steps=_in_turn(words.STEPS, [step for one in found for step in one.steps]),
        conditions="; ".join(dict.fromkeys(one.conditions for one in asked if one.conditions)),
        packs=tuple(_used(pack, day) for pack in used),
        facts=facts,
        day=day,
        now=now,
        demo=demo,
    )


def in_force(packs: Iterable[Pack], facts: Facts, day: date) -> tuple[Pack, ...]:
    """
    Return the packs of the site's area in force that day, the newest edition of each.

    From its first day on an edition ends the one before, and for good: where it has lapsed
    itself, nothing of that pack is in force.
    """
    kept: dict[str, Pack] = {}
    for pack in sorted(packs, key=lambda one: (one.id, one.edition, one.digest)):
        before = kept.get(pack.id)
        if before and before.edition == pack.edition and before.digest != pack.digest:
            raise ValueError(
                f"{pack.id}: there are two packs of edition {pack.edition}; "
                "a change is a new edition"
            )
        if pack.valid_from <= day and pack.speaks_of(facts.area):
            kept[pack.id] = pack
    return tuple(one for one in kept.values() if one.in_force(day))


def _of_waste(
    used: tuple[Pack, ...], facts: Facts, day: date, now: datetime, demo: bool
) -> Iterator[RuleSaid]:
    """Give all that is said of one waste: by packs, by nature, by whom has to be asked."""
    found = [said for pack in used for said in _of_pack(pack, facts, day, now)]
    yield from found
    yield from _everywhere(facts)
    yield from _consent(used, found, facts, day, demo)


def _of_pack(pack: Pack, facts: Facts, day: date, now: datetime) -> Iterator[RuleSaid]:
    """Give what each rule of a pack says that is about this waste and outlet, and applies."""

    def test(rule: Rule) -> Verdict:
        return verdicts.judged(rule, facts, day=day, now=now).verdict

    classes = classified(pack, facts, test)
    ask = asking(pack, facts, classes)
    for rule in pack.rules:
        if not is_about(rule, facts):
            continue
        applied = applies(rule.when, ask)
        if applied is Verdict.FAILS:
            continue
        judged = verdicts.judged(rule, facts, day=day, now=now)
        if rule.kind == words.CLASSIFY:
            judged = replace(judged, verdict=classes[rule.id])
        elif applied is Verdict.UNKNOWN and judged.verdict is Verdict.FAILS:
            judged = replace(judged, verdict=Verdict.UNKNOWN, why=whys.MAY_APPLY)
        elif judged.why in _WAIVED and applies(rule.needed_when, ask) is Verdict.FAILS:
            judged = Judged(verdict=Verdict.HOLDS, why=whys.NOT_NEEDED)
        yield _rule_said(pack, rule, judged, _not_stated(rule, judged, facts, ask))


def _not_stated(rule: Rule, judged: Judged, facts: Facts, ask: Ask) -> tuple[str, ...]:
    """Return what somebody has to state before it is known whether a rule applies."""
    if judged.verdict is not Verdict.UNKNOWN:
        return ()
    conditions = (rule.when, rule.needed_when) if judged.why in _WAIVED else (rule.when,)
    open_facts = words.FACTS.keys() - dict(facts.stated).keys()
    asked = (one for one in conditions if applies(one, ask) is Verdict.UNKNOWN)
    found = (fact for one in asked for fact in asked_of(one) if fact in open_facts)
    return tuple(dict.fromkeys(found))


def _rule_said(pack: Pack, rule: Rule, judged: Judged, wanted: tuple[str, ...]) -> RuleSaid:
    advice = rule.point == words.PLANT_INLET
    return RuleSaid(
        rule=rule.id,
        kind=rule.kind,
        verdict=judged.verdict,
        outcome=Outcome.NOTHING_FORBIDS if advice else _outcome(rule, judged),
        pack=pack.id,
        why=judged.why,
        document=rule.cite.document,
        section=rule.cite.section,
        evidence=rule.cite.evidence,
        says=rule.says,
        advice=advice,
        quantity=rule.quantity,
        of=rule.of,
        basis=rule.basis if rule.quantity == amounts.MASS_PER_VOLUME else "",
        holds_if=rule.holds_if,
        low=rule.low,
        high=rule.high,
        value=rule.value,
        unit=rule.unit,
        used=judged.used,
        total=judged.total,
        span=rule.span if rule.sum_of == words.POURED else "",
        devices=_devices(rule, judged),
        facts=wanted,
        shows=judged.missing,
        steps=rule.steps,
        duties=_duties(rule, judged),
        sets=rule.sets,
        started_on=judged.started_on,
        due_on=judged.due_on,
        warn_on=judged.due_on and judged.due_on - timedelta(days=rule.warn_days),
        keep_years=rule.keep_years,
        records=rule.records,
    )


def _outcome(rule: Rule, judged: Judged) -> Outcome:
    if rule.kind in (words.CLASSIFY, words.KEEP):
        return Outcome.NOTHING_FORBIDS
    if judged.why == whys.DILUTED:
        return Outcome.NOT_DOWN_HERE
    match judged.verdict:
        case Verdict.FAILS:
            return rule.if_fails
        case Verdict.UNKNOWN:
            return rule.if_stale if judged.why in _OLD else rule.if_unknown
    return Outcome.AFTER_STEPS if rule.steps else Outcome.NOTHING_FORBIDS


def _devices(rule: Rule, judged: Judged) -> tuple[str, ...]:
    """Return what the reading that is wanted can be read with."""
    if judged.verdict is Verdict.UNKNOWN and rule.quantity and judged.why in whys.TO_READ:
        return amounts.MEASURES[rule.quantity].devices
    return ()


def _duties(rule: Rule, judged: Judged) -> tuple[str, ...]:
    """Return the duties of what does not plainly hold, and of labels, clocks and keeping."""
    found = () if judged.verdict is Verdict.HOLDS else rule.duties
    match rule.kind:
        case words.LABEL if judged.missing:
            dated = ("date_it",) if words.STARTED_ON in judged.missing else ()
            return (*found, "label", *dated)
        case words.CLOCK if judged.why != whys.NOT_STARTED:
            return (*found, "start_clock" if judged.started_on else "date_it")
        case words.KEEP:
            return ("keep_record",)
    return found


def _everywhere(facts: Facts) -> Iterator[RuleSaid]:
    """Give what holds with any pack or none: nature takes nothing, nor does a drain jugs."""
    if facts.outlet in words.NEVER_OUTLETS:
        yield RuleSaid(
            rule="nothing-into-nature",
            kind=words.BAN,
            verdict=Verdict.FAILS,
            outcome=Outcome.NOT_DOWN_HERE,
            why=whys.DRAINS_TO_NATURE,
            document="Clean Water Act; elsewhere common practice",
            section="301(a), 40 CFR 122.26",
        )
    if facts.waste == words.NOT_KNOWN:
        yield RuleSaid(
            rule="nobody-knows-it",
            kind=words.BAN,
            verdict=Verdict.FAILS,
            outcome=Outcome.KEEP_IN_JAR,
            why=whys.NOBODY_KNOWS_IT,
            document="common practice: what nobody knows stays closed, with a tag",
            duties=("label",),
        )


def _consent(
    used: tuple[Pack, ...], found: list[RuleSaid], facts: Facts, day: date, demo: bool
) -> Iterator[RuleSaid]:
    """Give what is wanting of a local rule and of a permission."""
    if facts.outlet not in words.ASKED_OUTLETS:
        return
    every = [pack for pack in used if _is_local(pack, demo)]
    local = [pack for pack in every if not pack.is_from_elsewhere(facts.area)]
    if not every:
        yield _asking("local-rule", whys.NO_LOCAL_PACK)
    for pack in every:
        if pack not in local:
            yield replace(_asking("local-rule", whys.OTHER_COUNTRY), pack=pack.id)
    for name in facts.rules_missing:
        yield replace(_asking("local-rule", whys.DOCUMENT_MISSING), pack=name)
    spoke = {one.pack for one in found if one.kind in _SPEAKS and not one.advice}
    for pack in local:
        if pack.id not in spoke:
            yield replace(_asking("local-rule", whys.LOCAL_SILENT), pack=pack.id)
    yield _permitted(permission_for(facts, day))


def _is_local(pack: Pack, demo: bool) -> bool:
    counts = pack.evidence == words.READ or (demo and pack.evidence == words.INVENTED)
    return counts and pack.tier in words.LOCAL_TIERS


def _asking(rule: str, why: str) -> RuleSaid:
    return RuleSaid(
        rule=rule,
        kind=words.BAN,
        verdict=Verdict.UNKNOWN,
        outcome=Outcome.ASK_FIRST,
        why=why,
        document="the authority's own rule comes first: common practice, no source",
    )


def permission_for(facts: Facts, day: date) -> Permission | None:
    """
    Return the newest permission for this waste and outlet; of one day, the strictest.

    What was said of the waste itself stands until that waste is asked about again: a later
    word on all of it can only be stricter.
    """
    itself = words.PERMISSION_FOR.get(facts.waste, words.ALL_OF_IT)
    own, general = (_newest(facts, about, day) for about in (itself, words.ALL_OF_IT))
    if own is None or general is None or own.asked_on > general.asked_on:
        return own or general
    return max((general, own), key=_strictness)


def _newest(facts: Facts, about: str, day: date) -> Permission | None:
    found = [
        one
        for one in facts.permissions
        if (one.about, one.outlet) == (about, facts.outlet) and one.asked_on <= day
    ]
    return max(found, key=lambda one: (one.asked_on, _strictness(one)), default=None)


def _strictness(permission: Permission) -> int:
    return ("yes", "with_conditions", "no").index(permission.answer)


def _permitted(permission: Permission | None) -> RuleSaid:
    if permission is None:
        return _asking("permission", whys.NO_PERMISSION)
    if permission.elsewhere and permission.answer != "no":
        return _asking("permission", whys.OTHER_COUNTRY)
    said = RuleSaid(
        rule="permission",
        kind=words.BAN,
        verdict=Verdict.HOLDS,
        outcome=Outcome.NOTHING_FORBIDS,
        document=f"{permission.asked}, {permission.asked_on}",
        section=permission.reference,
        evidence=words.READ,
        says=permission.conditions,
    )
    match permission.answer:
        case "no":
            return replace(
                said, verdict=Verdict.FAILS, outcome=Outcome.NOT_DOWN_HERE, why=whys.SAID_NO
            )
        case "with_conditions":
            return replace(said, outcome=Outcome.AFTER_STEPS, why=whys.CONDITIONS)
    return said


def _in_turn(order: tuple[str, ...], found: list[str]) -> tuple[str, ...]:
    return tuple(one for one in order if one in found)


def _used(pack: Pack, day: date) -> PackUsed:
    old = day > pack.checked_on + timedelta(days=CHECK_EVERY_DAYS)
    return PackUsed(
        id=pack.id,
        edition=pack.edition,
        digest=pack.digest,
        tier=pack.tier,
        evidence=pack.evidence,
        title=pack.title,
        authority=pack.authority,
        review_due=old or day >= pack.review_on,
    )


def replay(decision: Decision, packs: Mapping[str, Pack]) -> Decision:
    """
    Return the decision anew from its frozen facts and the packs it names.

    Args:
        decision: As it was frozen, of this evaluation.
        packs: By their digest; a later edition among them changes nothing.

    Raises:
        ValueError: A pack it went by is not there, or another evaluation made it.
    """
    if decision.evaluator != EVALUATOR:
        raise ValueError(f"made by evaluation {decision.evaluator}, this is {EVALUATOR}")
    missing = [one.id for one in decision.packs if one.digest not in packs]
    if missing:
        raise ValueError(f"the packs are not there: {', '.join(missing)}")
    return evaluate(
        [packs[one.digest] for one in decision.packs],
        decision.facts,
        day=decision.day,
        now=decision.now,
        demo=decision.demo,
    )
