"""What other packs would change: for what is open now, and for what was decided before."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from coop.rules.packs import whys, words
from coop.rules.packs.decisions import Decision, Plain, RuleSaid, thaw
from coop.rules.packs.evaluation import evaluate, in_force
from coop.rules.packs.facts import Facts
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """
    One liquid whose outcome is another under other packs.

    `newly` are the rules that speak only after, or otherwise than before; `silent` those of
    before that no longer do. A rule that is only cited or worded anew is in neither. `name`
    is the caller's own.
    """

    name: str
    before: Outcome
    after: Outcome
    newly: tuple[RuleSaid, ...]
    silent: tuple[RuleSaid, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Silenced:
    """
    A waste at an outlet that has a local answer, and would have none under other packs.

    `rules` are those by which it has one, as pack and rule.
    """

    waste: str
    outlet: str
    rules: tuple[tuple[str, str], ...]


def silenced(
    sites: Iterable[Facts],
    *,
    before: Iterable[Pack],
    after: Iterable[Pack],
    day: date,
    now: datetime,
    demo: bool,
) -> tuple[Silenced, ...]:
    """
    Return what would be asked about because a local pack says nothing of it, or none is left.

    Args:
        sites: A waste at an outlet each, with what is known of the site.
        before, after: All packs there are, without and with the new edition.
        day: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.
    """
    old, new = tuple(before), tuple(after)
    local = {one.id for one in old if one.tier in words.LOCAL_TIERS}
    found = []
    for facts in sites:
        was = evaluate(old, facts, day=day, now=now, demo=demo)
        will = evaluate(new, facts, day=day, now=now, demo=demo)
        if _says_nothing(will) and not _says_nothing(was):
            said = [(one.pack, one.rule) for one in was.spoken if one.pack in local]
            rules = tuple(dict.fromkeys(said))
            found.append(Silenced(waste=facts.waste, outlet=facts.outlet, rules=rules))
    return tuple(found)


def _says_nothing(decision: Decision) -> bool:
    """Say whether a local pack is wanting, or silent."""
    return any(one.why in (whys.NO_LOCAL_PACK, whys.LOCAL_SILENT) for one in decision.spoken)


def changes(
    named: Mapping[str, Facts],
    *,
    before: Iterable[Pack],
    after: Iterable[Pack],
    day: date,
    now: datetime,
    demo: bool,
) -> tuple[Change, ...]:
    """
    Return what would change for each liquid whose outcome differs, the strictest first.

    Args:
        named: The facts of open baths and jars, by a name of the caller's.
        before, after: All packs there are, without and with the new edition.
        day: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.
    """
    old, new = tuple(before), tuple(after)
    return _differing(
        (
            name,
            evaluate(old, facts, day=day, now=now, demo=demo),
            evaluate(new, facts, day=day, now=now, demo=demo),
        )
        for name, facts in named.items()
    )


def differing(
    frozen: Mapping[str, Mapping[str, Plain]], packs: Iterable[Pack], *, today: date
) -> tuple[Change, ...]:
    """
    Return the decisions whose outcome would be another if today's packs had held then.

    Their facts, day and moment stay as they were: readings have not grown old since. What was
    decided stays as it was frozen.

    Args:
        frozen: Decisions as `coop.rules.packs.decisions.freeze` left them, by a name.
        packs: All there are; of each the edition in force today.
        today: The site's own date.

    Raises:
        ValueError: One of them is no decision.
    """
    shelf = tuple(packs)
    then = {name: thaw(one) for name, one in frozen.items()}
    return _differing((name, one, _again(one, shelf, today)) for name, one in then.items())


def _again(decision: Decision, packs: tuple[Pack, ...], today: date) -> Decision:
    """Decide anew; what was published since a studio moved counts as if it had lain there."""
    facts, day = decision.facts, decision.day
    known = {one.digest for one in decision.packs}
    held = [
        replace(one, area=facts.area)
        if one.digest not in known and one.is_from_elsewhere(facts.area)
        else one
        for one in as_if_held(packs, facts, today=today, since=day)
    ]
    return evaluate(held, facts, day=day, now=decision.now, demo=decision.demo)


def as_if_held(
    packs: Iterable[Pack], facts: Facts, *, today: date, since: date
) -> tuple[Pack, ...]:
    """Return the packs in force today at a site, as if they had been since an earlier day."""
    return tuple(
        replace(one, valid_from=min(one.valid_from, since), valid_until=None)
        for one in in_force(packs, facts, today)
    )


def _differing(pairs: Iterable[tuple[str, Decision, Decision]]) -> tuple[Change, ...]:
    found = [
        Change(
            name=name,
            before=before.outcome,
            after=after.outcome,
            newly=_only_in(after, before),
            silent=_only_in(before, after),
        )
        for name, before, after in pairs
        if before.outcome is not after.outcome
    ]
    return tuple(sorted(found, key=lambda one: (-one.after.rank, one.name)))


def _only_in(one: Decision, other: Decision) -> tuple[RuleSaid, ...]:
    there = {_meant(said) for said in other.spoken}
    return tuple(said for said in one.spoken if _meant(said) not in there)


def _meant(said: RuleSaid) -> RuleSaid:
    """Return what a rule says without how it is cited and worded."""
    return replace(said, document="", section="", says="", evidence=words.RECALLED)
