"""What a late entry changed of a total, and what follows, in sentences."""

from collections.abc import Iterator
from dataclasses import dataclass

from coop.actions.late_waste import Changed
from coop.rules.months import Follows, Month, Standing, Sum
from coop.rules.packs import words as codes
from coop.rules.packs.decisions import RuleSaid
from coop.rules.packs.words import Verdict
from coop.web import amounts, drains
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.drain_words import choice
from coop.web.i18n import Words

MADE = ("hazardous_made", "acute_made", "on_hand")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedSaid:
    """
    A total that came out otherwise.

    Attributes:
        of: The day or the month it is of.
        lines: Each total that changed: what it was known to be, and what it is now.
        follows: What follows from it, in one sentence.
        quiet: Whether nothing follows.
    """

    of: str
    lines: tuple[str, ...]
    follows: str
    quiet: bool


def changed_said(words: Words, one: Changed) -> ChangedSaid:
    """Say what a late entry changed, and what follows from that."""
    day = one.day or one.follows.month
    new = tuple(_newly(words, one.follows))
    return ChangedSaid(
        of=words.day(day) if one.day else f"{day:%Y-%m}",
        lines=tuple(_totals(words, one.follows)),
        follows=_follows(words, new),
        quiet=not new,
    )


def _totals(words: Words, follows: Follows) -> Iterator[str]:
    was, now = _poured(follows.total_before), _poured(follows.total_after)
    for outlet, waste in sorted(was.keys() | now.keys()):
        before, after = (each.get((outlet, waste), Sum()) for each in (was, now))
        if before != after:
            title = words.gettext(
                "%(waste)s, %(outlet)s",
                waste=say.choice(words, "waste", waste),
                outlet=say.choice(words, "gone_to", outlet),
            )
            yield _before_and_now(words, title, before, after)
    for what in MADE:
        before, after = (
            getattr(each, what) for each in (follows.total_before, follows.total_after)
        )
        if before != after:
            yield _before_and_now(words, made_title(words, what), before, after)


def _poured(month: Month) -> dict[tuple[str, str], Sum]:
    return {(one.outlet, one.waste): one.sum for one in month.poured}


def made_title(words: Words, what: str) -> str:
    """Return the title of a sum of hazardous waste."""
    return {
        "hazardous_made": words.gettext("hazardous waste made"),
        "acute_made": words.gettext("acutely hazardous waste made"),
        "on_hand": words.gettext("hazardous waste standing here"),
    }[what]


def _before_and_now(words: Words, title: str, before: Sum, after: Sum) -> str:
    return words.gettext(
        "%(what)s: %(before)s before, %(after)s now",
        what=title,
        before=sum_said(words, before),
        after=sum_said(words, after),
    )


def sum_said(words: Words, total: Sum) -> str:
    """Say a sum: litres, what was weighed, and of how many lines nobody knows how much."""
    parts = []
    if total.volume_ml:
        parts.append(amounts.volume(words, float(total.volume_ml)))
    if total.mass_g:
        parts.append(amounts.weight(words, float(total.mass_g)))
    unknown = min(total.no_volume, total.no_mass)
    if unknown:
        parts.append(
            words.ngettext(
                "%(num)d line of which nobody knows how much",
                "%(num)d lines of which nobody knows how much",
                unknown,
            )
        )
    return ", ".join(parts) or words.gettext("nothing")


def _newly(words: Words, follows: Follows) -> Iterator[str]:
    """Give what newly follows: categories, totals that are over, duties."""
    for one in follows.after.categories:
        if one not in follows.before.categories:
            yield category(words, *one)
    yield from (_over(words, one) for one in follows.newly if _is_over(one))
    yield from (choice(words, "duty", one).rstrip(".") for one in follows.duties)


def _follows(words: Words, new: tuple[str, ...]) -> str:
    """Say in one sentence what follows."""
    if not new:
        return words.gettext("Nothing more follows from it by the rules that are kept here.")
    return words.gettext("It follows: %(what)s.", what="; ".join(dict.fromkeys(new)))


def _is_over(one: RuleSaid) -> bool:
    return one.kind == codes.TOTAL and one.verdict is Verdict.FAILS


def _over(words: Words, rule: RuleSaid) -> str:
    """Say which total is over its line, and where the line stands written."""
    return words.gettext(
        "over the line (%(limit)s; %(source)s)",
        limit=rule.says or drains.limit(words, rule),
        source=drains.source(words, rule),
    )


def category(words: Words, fact: str, value: str) -> str:
    """Say what a pack makes of a month's sums; what somebody's own pack sets, as it is."""
    known = texts.CLASS_VALUES.get(value)
    said = words.gettext(known) if known else value
    text = texts.CLASSES.get(fact)
    return words.gettext(text, value=said) if text else f"{fact.replace('_', ' ')}: {said}"


def standing_said(words: Words, standing: Standing, month: Month) -> tuple[str, ...]:
    """Say a month's category, sums and duties; nothing where no pack in force asks."""
    if not standing.categories:
        return ()
    sums = ((what, getattr(month, what)) for what in MADE)
    return (
        *(category(words, *one) for one in standing.categories),
        *(
            f"{made_title(words, what)}: {sum_said(words, one)}"
            for what, one in sums
            if one != Sum()
        ),
        *(choice(words, "duty", one) for one in standing.duties),
    )
