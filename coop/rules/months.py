"""
What a site poured and made in a calendar month, and what follows from it.

Months are of the site's own dates: of the pouring or making, never of the writing down. What
is written late therefore counts where it belongs, as if it had been written in time. A
category, a clock or a duty follows only where a pack says so.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction

from coop.rules.packs import words
from coop.rules.packs.decisions import Decision, RuleSaid
from coop.rules.packs.evaluation import evaluate
from coop.rules.packs.facts import Facts, Tally
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Sum:
    """
    What was measured, summed: litres [mL], mass [g].

    `no_volume` and `no_mass` count the entries of which nobody took it: there is more.
    """

    volume_ml: Fraction = Fraction(0)
    mass_g: Fraction = Fraction(0)
    no_volume: int = 0
    no_mass: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """What went down one outlet of one waste."""

    outlet: str
    waste: str
    sum: Sum


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """
    A site's calendar month, by its first day.

    `hazardous_made` and `acute_made` are of that month; `on_hand` is what lay there at its
    end. None of the three goes into another.
    """

    month: date
    poured: tuple[Poured, ...]
    hazardous_made: Sum
    acute_made: Sum
    on_hand: Sum


def month_of(day: date) -> date:
    """Return the first day of a day's month."""
    return day.replace(day=1)


def last_day(month: date) -> date:
    """
    Return the last day of a month.

    >>> last_day(date(2028, 2, 1)).isoformat()
    '2028-02-29'
    """
    return month_of(month.replace(day=28) + timedelta(days=4)) - timedelta(days=1)


def totals(tallies: Iterable[Tally], month: date) -> Month:
    """
    Return the sums of a site's month, the same whatever the order of its tallies.

    Args:
        tallies: All of one site; never of several.
        month: Any day of it.
    """
    rows = tuple(tallies)
    here = [one for one in rows if month_of(one.on) == month_of(month)]
    poured = [one for one in here if one.what == words.POURED]
    until = [one for one in rows if one.on <= last_day(month)]
    return Month(
        month=month_of(month),
        poured=tuple(
            Poured(
                outlet=outlet,
                waste=waste,
                sum=_sum(one for one in poured if (one.outlet, one.waste) == (outlet, waste)),
            )
            for outlet, waste in sorted({(one.outlet, one.waste) for one in poured})
        ),
        hazardous_made=_sum(one for one in here if one.what == words.HAZARDOUS_MADE),
        acute_made=_sum(one for one in here if one.what == words.ACUTE_MADE),
        on_hand=_sum(one for one in until if one.what == words.HAZARDOUS_ON_HAND),
    )


def _sum(tallies: Iterable[Tally]) -> Sum:
    rows = tuple(tallies)
    volumes = [one.volume_ml for one in rows if one.volume_ml is not None]
    masses = [one.mass_g for one in rows if one.mass_g is not None]
    return Sum(
        volume_ml=sum(volumes, Fraction(0)),
        mass_g=sum(masses, Fraction(0)),
        no_volume=len(rows) - len(volumes),
        no_mass=len(rows) - len(masses),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """
    What packs say of a site's month.

    Attributes:
        categories: What they set by the month's sums, as fact and value; more than one value
            of a fact where several hold. Empty where no pack asks.
        said: Every total, clock, label and keeping that speaks, strictest first.
    """

    categories: tuple[tuple[str, str], ...]
    said: tuple[RuleSaid, ...]

    @property
    def duties(self) -> tuple[str, ...]:
        """Return the duties of all that speaks, in the order of `words.DUTIES`."""
        found = {duty for one in self.said for duty in one.duties}
        return tuple(one for one in words.DUTIES if one in found)


_FOLLOWS = frozenset({words.TOTAL, words.CLOCK, words.LABEL, words.KEEP})


def standing(
    packs: Iterable[Pack], site: Facts, *, month: date, today: date, now: datetime, demo: bool
) -> Standing:
    """
    Return what packs say of a site's month, at its end, or today while it lasts.

    Args:
        packs: All there are.
        site: What is known of the site: its area, what is stated, its tallies and starts;
            waste and outlet are of no matter.
        month: Any day of it, not after today.
        today: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.
    """
    day = min(last_day(month), today)
    told = [
        evaluate(tuple(packs), one, day=day, now=now, demo=demo) for one in _asked(site, month)
    ]
    said = [one for decision in told for one in decision.spoken if one.kind in _FOLLOWS]
    said.sort(key=lambda one: (-one.outcome.rank, one.pack, one.rule))
    return Standing(
        categories=tuple(sorted({pair for one in told for pair in categories(one)})),
        said=tuple(dict.fromkeys(said)),
    )


def _asked(site: Facts, month: date) -> Iterator[Facts]:
    """Give the facts of each drain used that month, and of the jars; nothing more goes in."""
    here = [one for one in site.tallies if month_of(one.on) == month_of(month)]
    pairs = {(one.waste, one.outlet or words.JAR) for one in here}
    pairs |= {(waste, words.JAR) for waste, _ in pairs} or {(site.waste, words.JAR)}
    for waste, outlet in sorted(pairs):
        yield replace(
            site,
            waste=waste,
            mixed_with=(),
            outlet=outlet,
            volume_ml=Fraction(0),
            mass_g=Fraction(0),
        )


def categories(decision: Decision) -> Iterator[tuple[str, str]]:
    """Give what packs set by sums alone, as fact and value."""
    for one in decision.spoken:
        if one.kind == words.CLASSIFY and one.verdict is Verdict.HOLDS:
            yield from one.sets if one.total is not None else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Follows:
    """
    What a late entry changes in one month.

    `newly` are the rules that speak only now, or come to another verdict; `duties` those that
    nothing asked before.
    """

    month: date
    total_before: Month
    total_after: Month
    before: Standing
    after: Standing

    @property
    def newly(self) -> tuple[RuleSaid, ...]:
        """Return what speaks only now, strictest first."""
        known = {(one.pack, one.rule, one.verdict) for one in self.before.said}
        return tuple(
            one for one in self.after.said if (one.pack, one.rule, one.verdict) not in known
        )

    @property
    def duties(self) -> tuple[str, ...]:
        """Return the duties that newly apply, by the rules that newly speak."""
        asked = {(one.pack, one.rule, duty) for one in self.before.said for duty in one.duties}
        found = {
            duty
            for one in self.after.said
            for duty in one.duties
            if (one.pack, one.rule, duty) not in asked
        }
        return tuple(one for one in words.DUTIES if one in found)


def follows(
    packs: Iterable[Pack],
    site: Facts,
    late: Iterable[Tally],
    *,
    today: date,
    now: datetime,
    demo: bool,
) -> tuple[Follows, ...]:
    """
    Return what entries written late change, for each month of theirs, the oldest first.

    What is on hand stays on hand, so an entry of that changes this month as well.

    Args:
        packs: All there are; with none there are totals alone.
        site: As for `standing`, with the tallies of before.
        late: What was written since; of no day after today.
        today: The site's own date.
        now: With its zone.
        demo: Whether invented figures count.
    """
    new, shelf = tuple(late), tuple(packs)
    lying = any(one.what == words.HAZARDOUS_ON_HAND for one in new)
    months = {month_of(one.on) for one in new} | ({month_of(today)} if lying else set())
    after = replace(site, tallies=(*site.tallies, *new))

    def told(facts: Facts, month: date) -> Standing:
        return standing(shelf, facts, month=month, today=today, now=now, demo=demo)

    return tuple(
        Follows(
            month=month,
            total_before=totals(site.tallies, month),
            total_after=totals(after.tallies, month),
            before=told(site, month),
            after=told(after, month),
        )
        for month in sorted(months)
    )
