"""
A studio's log of wastes: one month, line by line, with its sums and what came in late.

Litres and grams are those of the rows of the accounts, never those that somebody typed: but
for a cup kept back and poured back, which never leaves and stands in no row.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any, NamedTuple

import msgspec

from coop.actions.liquid_rows import liquid_ml, stood_ml
from coop.actions.see_baths import gather_around
from coop.actions.sites import Site
from coop.actions.tallies import Moves, by_entry, day_of, moved, tallies_of_log, ways_out
from coop.ids import EntryId, Subject
from coop.ledger import accounts
from coop.ledger.entries import Sealed, put_right
from coop.ledger.ports import Attachment, Journal
from coop.ledger.states import (
    DisposalState,
    DrainReading,
    JarState,
    StudioState,
    Treated,
)
from coop.ledger.wastes import jar_states, log_home
from coop.rules.months import Month, last_day, month_of, totals
from coop.rules.packs.decisions import Decision, thaw
from coop.rules.packs.facts import Tally

YEAR_FIRST, YEAR_LAST = 2000, 2100
"""The years of which there can be a log."""
LEAVING = ("disposal.done", "waste.added", "waste.collected", "waste.carried")
"""The lines with which something went, each told with its pH."""
CUPS = ("kept_back", "cup_back")
"""The steps of neutralising that are of a cup of the bath itself."""
JUST_BEFORE = timedelta(microseconds=1)
"""The least step of a clock here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine:
    """
    A line of a month.

    Attributes:
        on: Its day by the studio's clock.
        volume_ml, weight_g: What moved, by the accounts; of what was carried, what it held; of
            a cup, what was kept back. None where nothing moved, or nobody knows how much.
        came_in: Whether it was carried here from another studio.
        before, after: The last pH before a base went in, and the last one before it went.
        bases: Each base that went in, and how much of it [g].
        late_on: The day it came in, or was put right, where that was after its own.
        put_right: Whether it is late because it was put right.
    """

    said: DisposalState
    on: date
    volume_ml: float | None = None
    weight_g: float | None = None
    came_in: bool = False
    before: DrainReading | None = None
    after: DrainReading | None = None
    bases: tuple[tuple[str, float], ...] = ()
    decision: Decision | None = None
    answer_unreadable: bool = False
    late_on: date | None = None
    put_right: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WasteLog:
    """
    A studio's month.

    Attributes:
        lines: In the order in which they happened.
        collected_ml, collected_g: What was taken away in jars, by litres and as weighed.
        spilled_ml: What went astray.
        touched: All entries that any of it hangs on, by what they concern.
    """

    studio: StudioState
    month: date
    lines: tuple[LogLine, ...]
    totals: Month
    tallies: tuple[Tally, ...]
    collected_ml: float
    collected_g: float
    spilled_ml: float
    touched: Mapping[Subject, tuple[Sealed, ...]]


def month_said(typed: str, today: date) -> date | None:
    """
    Return the first day of a month written as 2025-10, or None; nothing is today's month.

    >>> month_said("2025-10", date(2025, 11, 3)), month_said("", date(2025, 11, 3))
    (datetime.date(2025, 10, 1), datetime.date(2025, 11, 1))
    """
    if not typed:
        return month_of(today)
    try:
        month = datetime.strptime(typed, "%Y-%m").date()  # noqa: DTZ007  # a month has no zone
    except ValueError:
        return None
    return month if YEAR_FIRST <= month.year <= YEAR_LAST and month <= today else None


def month_before(month: date) -> date:
    """Return the first day of the month before."""
    return month_of(month_of(month) - timedelta(days=1))


def month_after(month: date) -> date:
    """Return the first day of the month after."""
    return last_day(month) + timedelta(days=1)


def begins(day: date, zone: tzinfo | None) -> datetime:
    """Return the moment at which a day begins in a studio's zone."""
    return datetime.combine(day, time.min, zone)


def see_log(journal: Journal, site: Site, month: date) -> WasteLog:
    """Return a studio's log of one month, the month given by any day of it."""
    studio = site.studio
    said, came = _lines_of(journal, site, month)
    every = (*said, *came)
    touched = journal.touching_any(dict.fromkeys(_hangs_on(every)))
    moves = _moves(journal, studio, every, month, site.now.tzinfo)
    for sort, subjects in _of(every).items():
        found = journal.states(sort, subjects)  # at once: each is asked for again by itself
        if sort == "bath":
            gather_around(journal, found.values())
    told = _Telling(journal, moves, touched, site.now.tzinfo)
    decisions = journal.attachments({one.decision for one in every if one.decision})
    lines = [told.line(one, came_in=one.to_studio == studio.id) for one in every]
    lines = [
        _with_answer(one, decisions.get(one.said.decision))
        for one in lines
        if not _is_empty(one)
    ]
    tallies = tuple(tallies_of_log(said, moves, site.now.tzinfo))
    return WasteLog(
        studio=studio,
        month=month_of(month),
        lines=tuple(sorted(lines, key=lambda one: (one.said.at, one.said.id))),
        totals=totals(tallies, month),
        tallies=tallies,
        collected_ml=_volume_to(accounts.collected(studio.id), moves),
        collected_g=sum(
            one.weight_g or 0.0 for one in lines if one.said.kind == "waste.collected"
        ),
        spilled_ml=_volume_to(accounts.spill(studio.id), moves),
        touched=touched,
    )


def _is_empty(line: LogLine) -> bool:
    """Say whether an empty jar was carried: no waste went anywhere."""
    return line.said.kind == "waste.carried" and not (line.volume_ml or line.weight_g)


def _with_answer(line: LogLine, answer: Attachment | None) -> LogLine:
    """Add the answer as it was frozen; one that cannot be read is told of."""
    if answer is None:
        return line
    try:
        return replace(line, decision=thaw(msgspec.json.decode(answer.data)))
    except ValueError:
        return replace(line, answer_unreadable=True)


def _lines_of(
    journal: Journal, site: Site, month: date
) -> tuple[tuple[DisposalState, ...], tuple[DisposalState, ...]]:
    """Return a studio's own lines of a month, and what others carried to it."""
    here = site.studio.id
    every: tuple[StudioState, ...] = journal.listed("studio", live=False)
    homes = [log_home(one.id, month) for one in every]
    found: tuple[DisposalState, ...] = journal.listed_in("disposal", homes)
    own = tuple(one for one in found if one.studio == here)
    came = tuple(one for one in found if one.to_studio == here and one.studio != here)
    return own, came


def _of(lines: Iterable[DisposalState]) -> dict[str, set[Subject]]:
    """Return the baths, jars and jugs that lines are of or went into."""
    found: dict[str, set[Subject]] = {"bath": set(), "jar": set(), "jug": set()}
    for one in lines:
        found["bath"] |= {one.bath} if one.bath else set()
        found["jar"] |= {each for each in (one.jar, one.from_jar) if each}
        found["jug"] |= {one.jug} if one.jug else set()
    return found


def _hangs_on(lines: Iterable[DisposalState]) -> Iterator[Subject]:
    """Give the lines, and what each of them is of or went into."""
    for one in lines:
        yield one.id
        yield from (each for each in (one.bath, one.jar, one.from_jar, one.jug) if each)


def _moves(
    journal: Journal,
    studio: StudioState,
    lines: Collection[DisposalState],
    month: date,
    zone: tzinfo | None,
) -> Moves:
    """Return the rows of each line; a day more on both sides holds those of another zone."""
    rows = journal.moved_to(
        ways_out(studio.id, lines),
        since=begins(month_of(month), zone) - timedelta(days=1),
        until=begins(month_after(month), zone) + timedelta(days=1),
    )
    return by_entry(rows, {EntryId(one.id) for one in lines})


def _volume_to(account: str, moves: Moves) -> float:
    return sum(
        liquid_ml(row for row in each if row.to_account == account) for each in moves.values()
    )


class _Held(NamedTuple):
    """What a bath or a jar held as something went: litres [mL], and what was weighed [g]."""

    readings: tuple[DrainReading, ...]
    treated: tuple[Treated, ...]
    volume_ml: float
    weight_g: float = 0.0


class _Telling:
    """Tells lines of a log: what moved, what was read and put in, and whether it is late."""

    def __init__(
        self,
        journal: Journal,
        moves: Moves,
        touched: Mapping[Subject, tuple[Sealed, ...]],
        zone: tzinfo | None,
    ) -> None:
        self._journal = journal
        self._moves = moves
        self._touched = touched
        self._zone = zone
        self._jars: dict[Subject, tuple[tuple[datetime, JarState], ...]] = {}

    def line(self, said: DisposalState, *, came_in: bool) -> LogLine:
        volume_ml, weight_g = moved(said, self._moves)
        late_on, put_right = self._late(said)
        line = LogLine(
            said=said,
            on=day_of(said, self._zone),
            volume_ml=volume_ml,
            weight_g=weight_g,
            came_in=came_in,
            late_on=late_on,
            put_right=put_right,
        )
        if said.step in CUPS:
            return replace(line, volume_ml=self._cup_ml(said))
        return self._with_readings(line) if said.kind in LEAVING else line

    def _cup_ml(self, said: DisposalState) -> float | None:
        """Return what a cup held: as said, or as it was kept back; None for not known [mL]."""
        held = self._as_it_went(said)
        steps = held.treated if held else ()
        kept = [one for one in steps if one.step == "kept_back" and one.at <= said.at]
        return said.amount_ml or (kept[-1].volume_ml if kept else None)

    def _late(self, said: DisposalState) -> tuple[date | None, bool]:
        """Return the day it came in or was put right, where that was after its own."""
        came = [
            (one.first.admitted_at.astimezone(self._zone).date(), str(one.entry.id) != said.id)
            for one in self._touched.get(said.id, ())
        ]
        late = [(day, mended) for day, mended in came if day > day_of(said, self._zone)]
        if not late:
            return None, False
        return max(late)[0], all(mended for _, mended in late)

    def _with_readings(self, line: LogLine) -> LogLine:
        """Add the pH before a base went in and before it went, and the bases."""
        held = self._as_it_went(line.said)
        if held is None:
            return line
        with_ph = [one for one in held.readings if one.ph and one.at <= line.said.at]
        base_in = [one for one in held.treated if one.base and one.at <= line.said.at]
        first = base_in[0].at if base_in else line.said.at
        before = [one for one in with_ph if base_in and one.at <= first]
        after = [one for one in with_ph if not base_in or one.at > first]
        carried = line.said.kind == "waste.carried"
        return replace(
            line,
            volume_ml=held.volume_ml if carried else line.volume_ml,
            weight_g=held.weight_g or None if carried else line.weight_g,
            before=before[-1] if before else None,
            after=after[-1] if after else None,
            bases=_summed(base_in),
        )

    def _as_it_went(self, said: DisposalState) -> _Held | None:
        """Return what was read of a bath or jar and put in, and what it held, as it went."""
        jar = said.from_jar if said.kind == "waste.added" else said.jar
        subject, sort = (said.bath, "bath") if said.bath else (jar, "jar")
        if subject is None:
            return None
        state: Any = self._state_then(said, sort, subject)
        if state is None:
            return None
        if isinstance(state, JarState):
            return _Held(state.readings, state.treated, state.volume_ml, state.weight_g)
        return _Held(state.drain_readings, state.treated, stood_ml(state))

    def _state_then(self, said: DisposalState, sort: str, subject: Subject) -> Any:
        if sort == "jar":
            return self._jar_then(subject, said.at)
        if said.kind == "waste.carried":
            return self._journal.view().see(sort, subject, at=said.at - JUST_BEFORE).state
        return self._journal.state(sort, subject)

    def _jar_then(self, jar: Subject, at: datetime) -> JarState | None:
        """Return a jar as it was just before a moment; its history is gone through once."""
        if jar not in self._jars:
            view = self._journal.view()
            of_it = [one for one in view.resolved(jar).in_force if ("jar", jar) in one.touches]
            states = jar_states(jar, tuple(of_it), view)
            self._jars[jar] = tuple((one.at, state) for one, state in states)
        return next((state for when, state in reversed(self._jars[jar]) if when < at), None)


def _summed(base_in: Iterable[Treated]) -> tuple[tuple[str, float], ...]:
    total: dict[str, float] = {}
    for one in base_in:
        total[one.base] = total.get(one.base, 0.0) + one.weight_g
    return tuple(total.items())


def see_line_moved(journal: Journal, said: DisposalState) -> float | None:
    """Return the litres that one line moved, by the accounts; None for none [mL]."""
    rows = journal.moved_to(
        ways_out(said.studio, (said,)), since=said.at, until=said.at + JUST_BEFORE
    )
    volume_ml, _ = moved(said, by_entry(rows, {EntryId(said.id)}))
    return volume_ml


def happened_at(entry: Sealed) -> datetime:
    """Return when something happened, by a clock that was put right."""
    one = entry.entry
    return one.happened_at if one.said else put_right(one.happened_at, entry.first.offset_ms)
