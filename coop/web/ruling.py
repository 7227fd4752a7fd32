"""The rules of a studio as pages show them: a pack, its rules, and what others would change."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from coop.actions.see_rules import Liquid, OldChange, WouldChange
from coop.actions.sites import Site
from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.ledger.states import DisposalState, PermissionState
from coop.rules.packs import words as codes
from coop.rules.packs.changes import Change, Silenced
from coop.rules.packs.decisions import Decision
from coop.rules.packs.evaluation import CHECK_EVERY_DAYS
from coop.rules.packs.schema import Pack, Rule
from coop.web import words as say
from coop.web.drain_words import choice
from coop.web.drains import heading, source, told
from coop.web.i18n import Words
from coop.web.page import faces
from coop.web.rule_words import rule_sentence, rule_source
from coop.web.told import bath_names


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleShown:
    """A rule in a sentence; `says` its own words, `evidence` whether somebody read it."""

    sentence: str
    says: str
    source: str
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackShown:
    """
    An edition of a pack.

    Attributes:
        facts: (label, text) of whose it is, since when, when it was checked.
        notes: What to know of it.
        due: Why somebody should look at its source again; empty where nobody has to.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    due: str
    rules: tuple[RuleShown, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeShown:
    """What another answer would be: of a bath, a jar, or a line of the log."""

    name: str
    url: str
    before: str
    after: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequence:
    """What would change: for what is open, and for lines of the log, which stay as they are."""

    asked_count: int
    now: tuple[ChangeShown, ...]
    before: tuple[ChangeShown, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SilencedShown:
    """Wastes at an outlet that would lose their answer, and the lines that speak of them."""

    told: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidShown:
    """What a bath or a jar would be told at the studio's drain."""

    name: str
    url: str
    outcome: str
    heading: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Whom somebody asked, and what they said."""

    told: str
    conditions: str


def pack_shown(words: Words, pack: Pack, *, today: date) -> PackShown:
    """Return an edition of a pack with every rule in a sentence."""
    return PackShown(
        title=pack.title,
        facts=tuple(_facts(words, pack)),
        notes=tuple(_notes(words, pack, today)),
        due=_due(words, pack, today),
        rules=tuple(_rule(words, one) for one in pack.rules),
    )


def _facts(words: Words, pack: Pack) -> Iterator[tuple[str, str]]:
    yield words.gettext("Whose"), pack.authority
    yield words.gettext("Reach"), choice(words, "tier", pack.tier)
    yield words.gettext("Its figures"), choice(words, "evidence", pack.evidence)
    yield words.gettext("Edition"), str(pack.edition)
    yield words.gettext("Holds from"), words.day(pack.valid_from)
    if pack.valid_until:
        yield words.gettext("No longer from"), words.day(pack.valid_until)
    yield words.gettext("Last checked"), words.day(pack.checked_on)
    yield words.gettext("Check again"), words.day(pack.review_on)


def _notes(words: Words, pack: Pack, today: date) -> Iterator[str]:
    if not pack.in_force(today):
        yield words.gettext("It is not in force today.")
    if pack.tier not in codes.LOCAL_TIERS:
        yield words.gettext(
            "It can only make an answer stricter: no drain is better than “ask first” by it."
        )
    elif pack.evidence == codes.RECALLED:
        yield words.gettext(
            "Nobody read it at its source: no drain is better than “ask first” by it."
        )


def _due(words: Words, pack: Pack, today: date) -> str:
    if today >= pack.review_on:
        return words.gettext(
            "Since %(day)s it should be held against its source again.",
            day=words.day(pack.review_on),
        )
    if today > pack.checked_on + timedelta(days=CHECK_EVERY_DAYS):
        return words.gettext("It was last held against its source over 12 months ago.")
    return ""


def _rule(words: Words, rule: Rule) -> RuleShown:
    return RuleShown(
        sentence=rule_sentence(words, rule),
        says=rule.says,
        source=rule_source(rule),
        evidence=choice(words, "evidence", rule.cite.evidence),
    )


# ---- what is told, and what would change


def liquids_shown(
    words: Words, liquids: tuple[Liquid, ...], decisions: dict[Subject, Decision]
) -> tuple[LiquidShown, ...]:
    """Return what the rules of today say of each bath and jar."""
    named = names_of(liquids)
    return tuple(
        LiquidShown(
            name=named[str(one.id)][0],
            url=named[str(one.id)][1],
            outcome=str(decisions[one.id].outcome),
            heading=heading(words, decisions[one.id]),
            why=told(words, decisions[one.id]).why,
        )
        for one in liquids
    )


def names_of(liquids: Iterable[Liquid]) -> dict[str, tuple[str, str]]:
    """Return name and address of each bath and jar, by its id."""
    every = tuple(liquids)
    baths = [one.bath for one in every if one.bath]
    names = bath_names(baths)
    found = {str(one.id): (names[one.id], f"/drain/bath/{one.id}") for one in baths}
    jars = [one.jar for one in every if one.jar]
    return found | {str(one.id): (one.name, f"/drain/jar/{one.id}") for one in jars}


def consequence(words: Words, liquids: tuple[Liquid, ...], found: WouldChange) -> Consequence:
    """Return what would change, in words."""
    named = names_of(liquids)
    return Consequence(
        asked_count=len(liquids),
        now=tuple(_change(words, one, *named[one.name]) for one in found.now),
        before=tuple(_grouped(words, found.before)),
    )


def silenced_shown(
    words: Words, packs: Iterable[Pack], found: Iterable[Silenced]
) -> tuple[SilencedShown, ...]:
    """Return the wastes that would lose their answer, those of the same lines together."""
    texts = {
        (pack.id, one.id): rule_sentence(words, one) for pack in packs for one in pack.rules
    }
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for one in found:
        lines = tuple(dict.fromkeys(texts[said] for said in one.rules if said in texts))
        alike.setdefault((one.outlet, lines), []).append(one.waste)
    return tuple(
        SilencedShown(
            told=words.gettext(
                "%(outlet)s: %(wastes)s",
                outlet=say.choice(words, "outlet", outlet),
                wastes=", ".join(say.choice(words, "waste", one) for one in wastes),
            ),
            lines=lines,
        )
        for (outlet, lines), wastes in alike.items()
    )


def _change(words: Words, change: Change, name: str, url: str) -> ChangeShown:
    speaking = [one for one in change.newly if one.outcome is change.after]
    sources = (source(words, one) for one in speaking or change.newly)
    return ChangeShown(
        name=name,
        url=url,
        before=say.choice(words, "outcome_of_drain", change.before),
        after=say.choice(words, "outcome_of_drain", change.after),
        why=tuple(dict.fromkeys(one for one in sources if one)),
    )


def _grouped(words: Words, found: Iterable[OldChange]) -> Iterator[ChangeShown]:
    """Give lines of the log that change alike as one, those of the last days first."""
    alike: dict[tuple[object, ...], list[OldChange]] = {}
    for one in sorted(found, key=lambda one: (one.line.at, one.line.id), reverse=True):
        shown = _change(words, one.change, "", "")
        alike.setdefault((one.line.waste, shown), []).append(one)
    for group in alike.values():
        name = _lines_said(words, [one.line for one in group])
        yield _change(words, group[0].change, name, "")


def _lines_said(words: Words, lines: list[DisposalState]) -> str:
    """Say which lines of the log they are, the newest first: their days and their waste."""
    first, last = words.day(lines[-1].on), words.day(lines[0].on)
    day = first
    if first != last:
        day = words.gettext("%(first)s to %(last)s", first=first, last=last)
    waste = lines[0].waste
    what = say.choice(words, "waste", waste) if waste else words.gettext("not said of what")
    if len(lines) == 1:
        return words.gettext("%(day)s, %(what)s", day=day, what=what)
    return words.ngettext(
        "%(day)s, %(num)d time: %(what)s",
        "%(day)s, %(num)d times: %(what)s",
        len(lines),
        day=day,
        what=what,
    )


def asked_of(words: Words, journal: Journal, site: Site) -> tuple[Asked, ...]:
    """Return whom somebody asked about a studio's drain, the newest first."""
    found: tuple[PermissionState, ...] = journal.listed("permission", home=site.studio.id)
    newest = sorted(found, key=lambda one: (one.asked_on, one.id), reverse=True)
    return tuple(
        Asked(
            told=words.gettext(
                "%(about)s: %(answer)s. Asked %(whom)s, %(day)s; written down by %(who)s",
                about=say.choice(words, "permission", one.about),
                answer=say.choice(words, "answer", one.answer),
                whom=one.asked,
                day=words.day(one.asked_on),
                who=faces(journal).of(one.recorded_by).name,
            ),
            conditions=one.conditions,
        )
        for one in newest
    )
