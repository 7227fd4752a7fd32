"""
Look at what must still go from a studio, and what may become of it at its own drain.

Whatever came out of a tub is in use, gone, or stands here. The same list, looked at for the
end of a day and for what is carried to another studio.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from coop.actions.drain_facts import WASTE_OF, Asked
from coop.actions.liquid_rows import stood_ml
from coop.actions.see_baths import gather_around
from coop.actions.see_drain import ask_drain
from coop.actions.see_jars import coming
from coop.actions.see_jugs import by_themselves
from coop.actions.see_liquids import liquids_of, look_at_liquids
from coop.actions.sites import Site, see_site
from coop.actions.tallies import by_entry, moved, ways_out
from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import SIZE, LiquidState
from coop.ledger.ports import Journal
from coop.ledger.states import (
    DisposalState,
    JarState,
    JugState,
    RulesState,
    StackState,
    StudioState,
    VesselState,
)
from coop.ledger.table import HOUSE
from coop.ledger.wastes import LITTLE_G, RINSE_ML_PER_SHEET, is_filled, log_home
from coop.ledger.ways_out import LITTLE_ML, to_go
from coop.rules.baths import limits_of
from coop.rules.liquid_looks import LiquidLook
from coop.rules.needs import DRAINS_ASKED
from coop.rules.neutralising import is_going_on
from coop.rules.packs import words
from coop.rules.packs.decisions import Decision
from coop.rules.packs.words import Outcome
from coop.rules.reasons import Word

BATH: Final = "bath"
JAR: Final = "jar"
JUG: Final = "jug"
RINSE: Final = "rinse"
FLOC: Final = "floc"
RINSE_WATER: Final = "rinse_water"
WENT: Final = ("disposal.done", "waste.added")
"""The lines by which rinse water is told of."""
LINES_DAYS: Final = 31
"""Floc is looked for in the log of this month and of the month so many days ago."""
EVENING: Final = (SIZE, "rinse")
"""Baths that are got rid of when the day is over: common practice, no source."""
STRAINED: Final = "strain_through_cloth"
THINNED: Final = "thin_until_it_runs"
DONE_AT_ONCE: Final = frozenset({STRAINED, THINNED, "solids_stay_out"})
"""Steps that whoever stands at the sink has done; any other one needs its time."""
SAID: Final = {"lumps": words.NO, "runs": words.YES, "metal_pigments": words.NO}
"""What whoever taps says of it."""
STACK: Final = accounts.account("stack", Subject(""))
WANTED: Final = frozenset({Word.GOOD, Word.RESTING})
GOES: Final = frozenset({Outcome.NOTHING_FORBIDS, Outcome.AFTER_STEPS})
STAYS: Final = frozenset({Outcome.ASK_FIRST, Outcome.KEEP_IN_JAR, Outcome.NOT_DOWN_HERE})
"""Answers with which something is carried elsewhere, where it is no use to treat it first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """
    Something that must still go.

    Attributes:
        sort: What it stands in: `BATH`, `JAR` or `JUG`; `RINSE` of today, or `FLOC`.
        id: Of the bath, jar or jug; of floc where it came from; None of rinse water.
        since: The day from which on it waits, in the zone of `now`.
        volume_ml, weight_g: How much; None where nobody said.
        vessel: The name of what a bath stands in; may be empty.
        taken_away: Of a jar that is said to be gone: what was written of it is at odds.
        going_on: Whether it is just being neutralised.
        decision: What may happen at the studio's own drain; None where it has none.
        outcome: The same as a code, also where there is no drain to ask about.
    """

    sort: str
    id: Subject | None
    waste: str
    name: str
    since: date
    outcome: Outcome
    decision: Decision | None
    volume_ml: float | None = None
    weight_g: float | None = None
    sheet_count: int = 0
    vessel: str = ""
    by: date | None = None
    taken_away: bool = False
    going_on: bool = False

    @property
    def is_carried(self) -> bool:
        """Whether the ledger knows how to carry it: a bath, or a jar that is here."""
        return self.sort in (BATH, JAR) and not self.taken_away


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioWaste:
    """A studio, its outlet (empty for none), and what waits there, the oldest first."""

    site: Site
    outlet: str
    waiting: tuple[Waiting, ...]

    @property
    def studio(self) -> StudioState:
        return self.site.studio


def outlet_of(studio: StudioState) -> str:
    """Return the outlet that a studio's drain is; empty where it has none, or nobody knows."""
    return studio.drain if studio.drain in DRAINS_ASKED else ""


def see_waste(
    journal: Journal, studio: StudioState, *, now: datetime, demo: bool
) -> StudioWaste:
    """
    Return all that must still go from a studio, the oldest first.

    Args:
        now: In the zone of the studio.
        demo: Whether invented rules count.
    """
    site = see_site(journal, studio, now=now, demo=demo)
    found = [*_baths(journal, site), *_jars(journal, site), *_jugs(journal, site)]
    found += [*_rinse(journal, site), *_floc(journal, site)]
    found.sort(key=lambda one: (one.since, one.sort, one.name))
    return StudioWaste(site=site, outlet=outlet_of(studio), waiting=tuple(found))


def _judged(journal: Journal, site: Site, **asked: object) -> tuple[Outcome, Decision | None]:
    """Return what may happen at the studio's own drain; without one it goes nowhere here."""
    outlet = outlet_of(site.studio)
    if not outlet:
        nowhere = site.studio.drain == "none"
        return (Outcome.NOT_DOWN_HERE if nowhere else Outcome.ASK_FIRST), None
    said = Asked(studio=site.studio.id, outlet=outlet, **asked)  # type: ignore[arg-type]  # fields
    decision = ask_drain(journal, site, said)
    return decision.outcome, decision


def _baths(journal: Journal, site: Site) -> Iterator[Waiting]:
    """Give the baths that are over and not gone."""
    old: tuple[AnyBath, ...] = journal.listed_in("bath", (to_go(site.studio.id),))
    gather_around(journal, old)
    for bath in old:
        outcome, decision = _judged(journal, site, bath=bath.id)
        yield Waiting(
            sort=BATH,
            id=bath.id,
            waste=WASTE_OF[bath.what],
            name=bath.name,
            since=_day(bath.finished_at or bath.at, site),
            outcome=outcome,
            decision=decision,
            volume_ml=stood_ml(bath),
            vessel=_vessel(journal, bath),
            going_on=is_going_on(bath.treated),
        )


def _vessel(journal: Journal, bath: AnyBath) -> str:
    vessel: VesselState | None = journal.state("vessel", bath.vessel)
    return vessel.name if vessel else ""


def _day(moment: datetime, site: Site) -> date:
    return moment.astimezone(site.now.tzinfo).date()


def _jars(journal: Journal, site: Site) -> Iterator[Waiting]:
    """Give the waste jars in which something is, by what was written late also of old ones."""
    here = site.studio.id
    jars: tuple[JarState, ...] = (
        *journal.listed("jar", home=here),
        *journal.listed_in("jar", (to_go(here),)),
    )
    for jar in jars:
        if not is_filled(jar):
            continue
        outcome, decision = _judged(journal, site, jar=jar.id)
        yield Waiting(
            sort=JAR,
            id=jar.id,
            waste=decision.facts.waste if decision else jar.wastes[0],
            name=jar.name,
            since=jar.first_on or _day(jar.started_at, site),
            outcome=outcome,
            decision=decision,
            volume_ml=jar.volume_ml if jar.volume_ml >= LITTLE_ML else None,
            weight_g=jar.weight_g if jar.weight_g >= LITTLE_G else None,
            vessel=jar.name,
            taken_away=jar.ended_at is not None,
            by=_jar_by(journal, jar),
            going_on=is_going_on(jar.treated) and jar.ended_at is None,
        )


def _jar_by(journal: Journal, jar: JarState) -> date | None:
    """Return the day by which a jar is to be gone: one that was set, or of old rinse water."""
    days = [one for one in (jar.collect_by, jar.full_by) if one]
    if RINSE_WATER in jar.wastes and jar.first_on:
        rinse_days = limits_of(journal.state("house", HOUSE)).rinse_days
        days.append(jar.first_on + timedelta(days=rinse_days))
    return min(days, default=None)


def _jugs(journal: Journal, site: Site) -> Iterator[Waiting]:
    """Give the jugs that wait by themselves; those nobody vouched for stay closed."""
    jugs: tuple[JugState, ...] = journal.listed("jug", home=site.studio.id)
    for jug in by_themselves(journal, jugs):
        outcome, decision = _judged(journal, site, jug=jug.id)
        yield Waiting(
            sort=JUG,
            id=jug.id,
            waste=jug.waste or words.NOT_KNOWN,
            name=jug.where,
            since=_day(jug.found_at, site),
            outcome=outcome,
            decision=decision,
            volume_ml=jug.volume_ml,
        )


def _rinse(journal: Journal, site: Site) -> Iterator[Waiting]:
    """Give today's rinse water of which nobody said where it went."""
    count = rinse_sheet_count(journal, site)
    if count <= 0:
        return
    volume_ml = count * RINSE_ML_PER_SHEET
    outcome, decision = _judged(journal, site, waste=RINSE_WATER, volume_ml=volume_ml)
    yield Waiting(
        sort=RINSE,
        id=None,
        waste=RINSE_WATER,
        name="",
        since=site.day,
        outcome=outcome,
        decision=decision,
        volume_ml=volume_ml,
        sheet_count=count,
    )


def rinse_sheet_count(journal: Journal, site: Site) -> int:
    """
    Return the sheets rinsed today of whose water nobody said where it went, 0 or more.

    Sheets are rinsed when they were laid; of sheets whose laying nobody wrote down, when they
    were sorted. Litres of rinse water that came from no jar, and from no bath that was over
    before today, count as sheets.
    """
    rinsed = _rinsed(journal, site)
    if not rinsed:
        return 0
    lines = [
        one
        for one in _log(journal, site)
        if one.on == site.day and one.waste == RINSE_WATER and one.kind in WENT
    ]
    told = sum(_sheets_told(one) for one in lines)
    told += sum(map(_sheets_in, _out_of_baths(journal, site, lines)))
    return max(0, rinsed - told)


def _rinsed(journal: Journal, site: Site) -> int:
    stacks: dict[Subject, StackState] = {one.id: one for one in journal.listed("stack")}
    rows = journal.moved_to(
        (accounts.GOOD, accounts.SPOILED),
        since=_begun(site),
        until=site.now + timedelta(seconds=1),
    )
    named = {Subject(one.from_account.removeprefix(STACK)) for one in rows}
    stacks |= journal.states("stack", named - stacks.keys())
    touched = [one for one in stacks.values() if _today_count(one, site)]
    of_sheets = {bath for one in touched for bath in _where(one)}
    studios = {bath.id: bath.studio for bath in journal.states("bath", of_sheets).values()}
    here = site.studio.id
    return sum(_today_count(one, site) for one in touched if here in _at(one, studios))


def _begun(site: Site) -> datetime:
    """Return when today began by the studio's clock."""
    return datetime.combine(site.day, time.min, tzinfo=site.now.tzinfo)


def _today_count(stack: StackState, site: Site) -> int:
    """Return the sheets of a stack that were laid today, or sorted without having been laid."""
    laid = sum(one.sheet_count for one in stack.laid if _day(one.at, site) == site.day)
    found = sum(one.sheet_count for one in stack.parts if _day(one.at, site) == site.day)
    never_laid = stack.sorted_count - sum(one.sheet_count for one in stack.laid)
    return laid + max(0, min(found, never_laid))


def _where(stack: StackState) -> tuple[Subject, ...]:
    """Return what a stack was laid on, the last first; else the bath it went through."""
    sizes = [one.size for one in stack.laid] + [one.size for one in stack.parts if one.size]
    return tuple(reversed(sizes)) or (stack.alum,)


def _at(stack: StackState, studios: dict[Subject, Subject]) -> tuple[Subject, ...]:
    """Return the studio where a stack was marbled last; none where its size is not known."""
    return tuple(studios[one] for one in _where(stack)[:1] if one in studios)


def _log(journal: Journal, site: Site) -> tuple[DisposalState, ...]:
    """Return the studio's log of this month and the last one."""
    days = (site.day, site.day - timedelta(days=LINES_DAYS))
    homes = dict.fromkeys(log_home(site.studio.id, one) for one in days)
    lines: tuple[DisposalState, ...] = journal.listed_in("disposal", tuple(homes))
    return lines


def _sheets_told(line: DisposalState) -> int:
    """Return the sheets of whose rinse water, out of no bath, a line tells where it went."""
    if line.sheet_count is not None:
        return line.sheet_count
    from_somewhere = line.bath or line.from_jar or (line.kind == "disposal.done" and line.jar)
    if from_somewhere or line.amount_ml is None:
        return 0
    return _sheets_in(line.amount_ml)


def _sheets_in(volume_ml: float) -> int:
    return round(volume_ml / RINSE_ML_PER_SHEET)


def _out_of_baths(
    journal: Journal, site: Site, lines: Iterable[DisposalState]
) -> Iterator[float]:
    """Give what lines moved out of rinses that were in use today [mL]."""
    named = [one for one in lines if one.bath and one.sheet_count is None]
    if not named:
        return
    rows = journal.moved_to(
        ways_out(site.studio.id, named),
        since=_begun(site),
        until=site.now + timedelta(seconds=1),
    )
    moves = by_entry(rows, {EntryId(one.id) for one in named})
    journal.states("bath", {one.bath for one in named if one.bath})
    for one in named:
        bath: AnyBath | None = journal.state("bath", one.bath)
        over_at = bath.finished_at if bath else None
        if over_at is None or _day(over_at, site) == site.day:
            yield moved(one, moves)[0] or 0.0


def floc_left(journal: Journal, site: Site) -> Mapping[Subject, DisposalState]:
    """
    Return the floc that went nowhere since it was strained off, by its bath or jar.

    Floc of which nobody said where it came from is the oldest that is there.
    """
    lines = sorted(_log(journal, site), key=lambda one: (one.at, one.id))
    open_ones: dict[Subject | None, DisposalState] = {}
    for line in lines:
        source = line.bath or (line.jar if line.kind != "waste.added" else line.from_jar)
        if line.kind == "disposal.treated" and line.step == "strained":
            open_ones[source] = line
        elif line.waste == FLOC:
            open_ones.pop(source or next(iter(open_ones), None), None)
    return {source: line for source, line in open_ones.items() if source is not None}


def _floc(journal: Journal, site: Site) -> Iterator[Waiting]:
    """Give the floc that was strained off a bath or a jar, and that went nowhere since."""
    left = floc_left(journal, site)
    names = _names(journal, left)
    for source, line in left.items():
        outcome, decision = _judged(journal, site, waste=FLOC)
        yield Waiting(
            sort=FLOC,
            id=source,
            waste=FLOC,
            name=names.get(source, ""),
            since=line.on,
            outcome=outcome,
            decision=decision,
            volume_ml=line.amount_ml,
            weight_g=line.weight_g,
        )


def _names(journal: Journal, wanted: Iterable[Subject | None]) -> dict[Subject, str]:
    ids = {one for one in wanted if one is not None}
    if not ids:
        return {}
    both = {**journal.states("bath", ids), **journal.states("jar", ids)}
    return {subject: state.name for subject, state in both.items()}


# ---- the end of the day


@dataclass(frozen=True, slots=True, kw_only=True)
class Evening:
    """
    A size, a rinse or today's rinse water when the day is over.

    Attributes:
        bath: None of rinse water that stands in nothing.
        decision: As if it were strained, ran, and had no metal colour in it; None where the
            studio has no drain.
        jar: Where rinse water goes by the studio's own custom; None for a drain.
        look: May it be used? None of what is not in use.
    """

    bath: AnyBath | None
    waste: str
    volume_ml: float
    sheet_count: int
    outcome: Outcome
    decision: Decision | None
    jar: JarState | None = None
    look: LiquidLook | None = None

    @property
    def is_wanted(self) -> bool:
        """Whether it is wanted tomorrow: it is good or resting, or kept for somebody."""
        return self.look is not None and (
            self.look.answer.word in WANTED or self._is_kept(self.look)
        )

    @staticmethod
    def _is_kept(look: LiquidLook) -> bool:
        kept = look.state.kept_for
        return kept is not None and (kept.until is None or kept.until > look.at)

    @property
    def goes(self) -> bool:
        """Whether nothing forbids the drain, and all that is asked before is done at once."""
        if self.decision is None or self.outcome not in GOES:
            return False
        return DONE_AT_ONCE.issuperset(self.decision.steps)

    @property
    def steps(self) -> tuple[str, ...]:
        """What whoever taps says that they did, in the order in which it is done."""
        done = {STRAINED, *(self.decision.steps if self.decision else ())}
        if self.waste == SIZE:
            done.add(THINNED)
        return tuple(one for one in kinds.DRAIN_STEPS if one in done)


def see_evening(journal: Journal, site: Site) -> tuple[Evening, ...]:
    """Return every size and rinse of a studio in use or over, and today's rinse water."""
    here = site.studio.id
    every: tuple[AnyBath, ...] = (
        *journal.listed("bath", home=here),
        *journal.listed_in("bath", (to_go(here),)),
    )
    gather_around(journal, every)
    liquids = [one for one in liquids_of(every) if one.what in EVENING]
    in_use = [one for one in liquids if one.finished_at is None]
    looks = {one.state.id: one for one in look_at_liquids(journal, in_use, now=site.now)}
    found = [_tonight(journal, site, one, looks.get(one.id)) for one in liquids]
    if count := rinse_sheet_count(journal, site):
        found.append(rinse_tonight(journal, site, count))
    return tuple(found)


def bath_tonight(journal: Journal, site: Site, bath: LiquidState) -> Evening:
    """Return a size or a rinse when the day is over."""
    in_use = [bath] if bath.finished_at is None else []
    look = next(iter(look_at_liquids(journal, in_use, now=site.now)), None)
    return _tonight(journal, site, bath, look)


def _tonight(
    journal: Journal, site: Site, bath: LiquidState, look: LiquidLook | None
) -> Evening:
    outcome, decision = _judged(journal, site, bath=bath.id, **SAID)
    return Evening(
        bath=bath,
        waste=WASTE_OF[bath.what],
        volume_ml=stood_ml(bath),
        sheet_count=0,
        outcome=outcome,
        decision=decision,
        look=look,
    )


def rinse_tonight(journal: Journal, site: Site, sheet_count: int) -> Evening:
    """Return the rinse water of so many sheets; into the jar where that is the custom."""
    volume_ml = sheet_count * RINSE_ML_PER_SHEET
    outcome, decision = _judged(journal, site, waste=RINSE_WATER, volume_ml=volume_ml, **SAID)
    return Evening(
        bath=None,
        waste=RINSE_WATER,
        volume_ml=volume_ml,
        sheet_count=sheet_count,
        outcome=outcome,
        decision=decision,
        jar=_rinse_jar(journal, site, volume_ml),
    )


def _rinse_jar(journal: Journal, site: Site, volume_ml: float) -> JarState | None:
    """Return the jar for rinse water with the most room, enough of it, where one is used."""
    if site.studio.rinse_way != JAR:
        return None
    jars: tuple[JarState, ...] = journal.listed("jar", home=site.studio.id)
    room = {one.holds_ml - one.volume_ml: one for one in jars if RINSE_WATER in one.wastes}
    most_ml = max(room, default=0.0)
    return room[most_ml] if room and most_ml >= volume_ml else None


def into_jar(journal: Journal, site: Site, evening: Evening) -> dict[str, str]:
    """Return what is written of rinse water that goes into a jar, besides how much."""
    asked = Asked(
        studio=site.studio.id,
        outlet=words.JAR,
        waste=evening.waste,
        volume_ml=evening.volume_ml,
        metal_pigments=words.NO,
    )
    found = coming(journal, site, asked)
    return {
        "waste": evening.waste,
        "metal_pigments": words.NO,
        "hazardous": found.hazardous,
        "acute": words.YES if found.acute else words.NO,
    }


# ---- carried elsewhere


def to_carry(waste: StudioWaste) -> tuple[Waiting, ...]:
    """
    Return what is to be carried from a studio to another one.

    All of it where the drain is no sewer; else what its drain does not take, or not yet.
    """
    found = (one for one in waste.waiting if one.is_carried)
    return tuple(one for one in found if waste.outlet != words.SEWER or one.outcome in STAYS)


def takers(journal: Journal, studio: StudioState) -> tuple[StudioState, ...]:
    """Return the other studios whose drain is a sewer with rules written down."""
    rules: tuple[RulesState, ...] = journal.listed("rules")
    ruled = {one.studio for one in rules}
    every: tuple[StudioState, ...] = journal.listed("studio")
    return tuple(
        one
        for one in every
        if one.id != studio.id and one.drain == words.SEWER and one.id in ruled
    )
