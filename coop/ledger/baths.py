"""
The fold of an alum bath: its entries in order, through the estimator, to what is believed now.

What people moved is posted in rows; what the bath lost by itself stays in the estimate's own
accounts. Nothing a person did is refused here: what cannot fit is a finding.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, NamedTuple, TypeVar

from coop.ids import EntryId, MemberId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.measure import (
    SaltGrams,
    area_of_m2,
    binding_of,
    habit_name,
    in_salt,
    level_of,
    pickup_of,
    salt_grams,
    zero_of,
)
from coop.ledger.states import (
    DrainReading,
    Hands,
    KeptFor,
    LotState,
    PaperState,
    PutIn,
    Seen,
    Stop,
    StripPrint,
    Through,
    Treated,
)
from coop.ledger.table import part_of
from coop.ledger.twins import Recent, looked_at
from coop.ledger.ways_out import (
    DRAIN_INSTRUMENTS,
    LITTLE_ML,
    PARTING,
    TREATED_KEPT,
    alum_in,
    base_moves,
    base_of,
    belongs_after_the_end,
    drain_reading,
    leaves,
    listed_under,
    put_in_by,
    treated,
    way_out,
    with_put_in,
    with_reading,
)
from coop.science import alum, bath
from coop.science.bath import BathEstimate, Measured, SaltPart
from coop.science.bath_belief import ML_PER_L, VOLUME_MIN_ML
from coop.science.bath_readings import GRAVITY, ReadingOutcome, gravity_read, level_read
from coop.science.defaults import Z_90, value
from coop.units.quantity import Quantity

LAST_KEPT = 5
OPEN_HOURS_LN_SD = bath.OPEN_HOURS.ln_sd
DISAGREES = "reading-disagrees"
SHARP = "sharp"
SALT_UNKNOWN = "aluminium_sulfate_14"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """
    A reading that disagreed and waits for another.

    Attributes:
        read: What it read: g/L with a hydrometer, else L; nine in ten lie in `low` to `high`.
        reckoned: What it should have read by all that was written.
        off_sigma: How far it lay from that, in standard deviations.
    """

    entry: EntryId
    instrument: str
    at: datetime
    off_sigma: float
    read: float
    low: float
    high: float
    reckoned: float


@dataclass(frozen=True, kw_only=True)  # no slots: see `changed`
class BathState:
    """
    An alum bath after its last entry.

    Attributes:
        estimate: What is believed, at `at`.
        open: Whether it stands without a lid until somebody covers it.
        open_hours_due: Hours it still stands open after the last sheets.
        how: weighed, spoon-weighed, spooned or guessed: the worst of what went in.
        bare_lots: Lots taken by the spoon that nobody has weighed a spoon of.
        prints: Strip prints since salt was last added.
        water_only_count: Top-ups with water alone since the last test.
        salts_in: Every salt of alum that ever went in; `salt` is what it is reckoned as.
        put_in: What went in after the mixing, and when.
        gone_at: When the last of it was got rid of.
        again: Stacks that were alumed once more in it.
        recent: What was done lately, to know a twin by.
    """

    id: Subject
    name: str
    studio: Subject
    vessel: Subject
    salt: str
    recipe: Subject | None
    dose: str
    mixed_at: datetime
    mixed_by: MemberId
    at: datetime
    estimate: BathEstimate
    open: bool
    hands: Hands
    chilled: bool = False
    kept_for: KeptFor | None = None
    temperature_c: float | None = None
    temperature_at: datetime | None = None
    looked: Seen | None = None
    smelled: Seen | None = None
    how: str
    how_at: datetime
    open_hours_due: float = 0.0
    bare_lots: tuple[Subject, ...] = ()
    prints: tuple[StripPrint, ...] = ()
    passed_at: datetime | None = None
    gravity_at: datetime | None = None
    kept: tuple[Kept, ...] = ()
    water_only_count: int = 0
    stopped_sheet_count: int = 0
    stop: Stop | None = None
    finished_at: datetime | None = None
    finish_reason: str = ""
    full_count: int = 0
    half_count: int = 0
    quarter_count: int = 0
    through: tuple[Through, ...] = ()
    again: tuple[Subject, ...] = ()
    recent: tuple[Recent, ...] = ()
    drain_readings: tuple[DrainReading, ...] = ()
    treated: tuple[Treated, ...] = ()
    salts_in: tuple[str, ...] = ()
    put_in: tuple[PutIn, ...] = ()
    gone_at: datetime | None = None

    @property
    def what(self) -> str:
        """What kind of bath it is, as `bath.mixed` says it."""
        return "alum"


class Step(NamedTuple):
    """A bath just after one of its entries, with what became of a reading."""

    entry: InForce
    before: BathEstimate | None
    state: BathState
    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()
    reading: ReadingOutcome | None = None


class Sheet(NamedTuple):
    """What one sheet of a paper is to the science, by its format and method."""

    area_m2: float
    pickup_ml_per_m2: bath.Spread
    binds: bath.Paper
    habit: str


class Looked:
    """The inputs of one fold, each looked up once: they stay as they are meanwhile."""

    def __init__(self, inputs: Inputs) -> None:
        self._inputs = inputs
        self._states: dict[tuple[str, Subject | None], Any] = {}
        self._sheets: dict[tuple[Subject | None, Subject | None, str, str], Sheet] = {}

    def state(self, sort: str, subject: Subject | None) -> Any:
        """Return the state of a subject, or None when nothing is known of it."""
        key = sort, subject
        try:
            return self._states[key]
        except KeyError:
            found = self._states[key] = self._inputs.state(sort, subject)
            return found

    def given(self, giver: Subject, entry: EntryId) -> Any:
        """Return a bath's state just before one of its entries, or None."""
        return self._inputs.given(giver, entry)

    def sheet(self, said: kinds.SheetsThrough) -> Sheet:
        """Return what a sheet is by its lot, its paper, its format and method."""
        key = said.lot, said.paper, said.sheet_format, said.method
        if key not in self._sheets:
            lot: LotState | None = self.state("lot", said.lot)
            paper: PaperState | None = self.state("paper", lot.paper if lot else said.paper)
            self._sheets[key] = Sheet(
                area_of_m2(paper, said.sheet_format),
                pickup_of(paper, said.method),
                binding_of(paper, said.method, lot),
                habit_name(paper, said.method),
            )
        return self._sheets[key]


class Brought(NamedTuple):
    """What time alone changed of a bath, up to the moment of an entry."""

    at: datetime
    estimate: BathEstimate
    open_hours_due: float


def fold_bath(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Fold a bath; what came before its mixing is folded just after it, with a finding."""
    last: BathState | None = None
    moves: list[Move] = []
    findings: list[Finding] = []
    for step in bath_steps(subject, entries, inputs):
        last = step.state
        moves += step.moves
        findings += step.findings
    if last is None:
        return NOTHING
    return _folded(last, moves, still_odd(last, findings), inputs)


def still_odd(state: BathState, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings without those of readings that later ones settled or set aside."""
    waiting = {one.entry for one in state.kept}
    return tuple(one for one in findings if one.code != DISAGREES or one.entry in waiting)


def resume_bath(state: BathState, one: InForce, inputs: Inputs) -> Folded | None:
    """
    Take one entry more, later than all the bath has seen; None when it is not.

    None also for a reading after which another no longer waits: a finding goes with that.
    """
    if one.at <= max(state.hands.at, state.at) or one.kind == "bath.mixed":
        return None
    step = _next(state, one, Looked(inputs))
    if not {kept.entry for kept in state.kept} <= {kept.entry for kept in step.state.kept}:
        return None
    return _folded(step.state, step.moves, step.findings, inputs)


def _folded(
    state: BathState, moves: Iterable[Move], findings: Iterable[Finding], inputs: Inputs
) -> Folded:
    vessel = inputs.state("vessel", state.vessel)
    return Folded(
        state=state,
        moves=tuple(moves),
        findings=tuple(findings),
        home=listed_under(state),
        live=state.finished_at is None,
        place=vessel.place if vessel else 0,
    )


def bath_steps(
    subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[Step]:
    """Give the bath after each of its entries, the mixing first."""
    maker, looked = maker_of(subject, entries), Looked(inputs)
    step = _start(subject, maker, looked) if maker else None
    if maker is None or step is None:
        return
    yield step
    for one in in_turn(maker, entries)[1:]:
        early = one.at < maker.at
        step = _next(step.state, one, looked)
        if early:
            odd = Finding(code="before-the-mix", entry=one.id)
            step = step._replace(findings=(odd, *step.findings))
        yield step


def in_turn(maker: InForce, entries: Iterable[InForce]) -> list[InForce]:
    """Return the entries as they are folded: what was before the making comes after it."""
    return [maker, *[one for one in entries if one.id != maker.id]]


def maker_of(subject: Subject, entries: Iterable[InForce]) -> InForce | None:
    """Return the entry that makes a bath: it was mixed, or poured off from another."""
    for one in entries:
        match one.content:
            case kinds.BathMixed():
                return one
            case kinds.BathSplit(bath=giver) if giver != subject:
                return one
            case _:
                pass
    return None


def _start(subject: Subject, maker: InForce, inputs: Looked) -> Step | None:
    if isinstance(maker.content, kinds.BathMixed):
        return _mixed(subject, maker, inputs)
    return _poured_off(subject, maker, inputs)


def _next(state: BathState, one: InForce, inputs: Looked) -> Step:
    after_end = state.finished_at is not None
    now = _brought_to(state, one.at, inputs)
    match one.content:
        case kinds.BathToppedUp():
            step = _topped_up(state, now, one, one.content, inputs)
        case kinds.SheetsThrough(bath=bath_id) if bath_id == state.id:
            step = _through(state, now, one, one.content, inputs)
        case kinds.SheetsThrough():
            odd = Finding(code="not-a-size", entry=one.id)
            step = _done(state, now, one, findings=(odd,))
        case kinds.ReadingTaken():
            step = _read(state, now, one, one.content, inputs)
        case kinds.BathSplit() | kinds.BathJoined() | kinds.BathCarried():
            step = _handed_over(state, now, one, inputs)
        case said if isinstance(said, PARTING):
            step = _parted(state, now, one, inputs)
        case _:
            step = _marked(state, now, one)
    if after_end and (state.gone_at or not belongs_after_the_end(one.content)):
        odd = Finding(code="after-the-finish", entry=one.id)
        step = step._replace(findings=(odd, *step.findings))
    return step


def _handed_over(state: BathState, now: Brought, one: InForce, inputs: Looked) -> Step:
    """Take an entry by which liquid goes from one vessel to another."""
    match one.content:
        case kinds.BathSplit() as said:
            return _split(state, now, one, said)
        case kinds.BathJoined() as said:
            return _joined(state, now, one, said, inputs)
        case kinds.BathCarried(vessel=vessel):
            return _carried(state, now, one, vessel, inputs)
        case _:
            raise AssertionError(one.kind)


def _parted(state: BathState, now: Brought, one: InForce, inputs: Looked) -> Step:
    """Take what is done to a bath on its way out."""
    match one.content:
        case kinds.DisposalTreated() as said:
            to = accounts.account("bath", state.id)
            return _done(
                state,
                now,
                one,
                moves=base_moves(one, said, inputs, to),
                treated=(*state.treated, treated(one, said))[-TREATED_KEPT:],
                put_in=with_put_in(state.put_in, *put_in_by(one, said, alum_in(state.salt))),
                **over_now(state, one, "neutralised"),
            )
        case kinds.WasteCarried(studio=studio):
            return _done(state, now, one, studio=studio)
        case said if leaves(said):
            return _gone(state, now, one, said.litres)
        case _:
            return _marked(state, now, one)


def _gone(state: BathState, now: Brought, one: InForce, litres: Quantity | None) -> Step:
    """Let litres go for good, or all there is: then the bath is over and nothing is left."""
    given = handed(now.estimate, float(litres.base) if litres else None)
    left = _without(now.estimate, given)
    ended: dict[str, Any] = {}
    if litres is None or left.belief.volume_ml < LITTLE_ML:
        ended = {"gone_at": state.gone_at or one.at, **over_now(state, one, "got_rid_of")}
    odd = _over_what_stood(now.estimate, one, base_of(litres))
    moves = _handover_moves(state, one, given, accounts.account("bath", state.id), way_out(one))
    return _done(state, now, one, moves=moves, findings=odd, estimate=left, **ended)


def over_now(state: Any, one: InForce, reason: str) -> dict[str, Any]:
    """Return what says that a bath is out of use: as it was said before, else why now."""
    if state.finished_at is not None:
        return {}
    return {"finished_at": one.at, "finish_reason": reason}


def _marked(state: BathState, now: Brought, one: InForce) -> Step:
    """Take an entry that moves no liquid: a lid, a stop, an end."""
    match one.content:
        case kinds.BathCared(care=care):
            return _done(state, now, one, **cared(care))
        case kinds.BathKeptFor():
            return _done(state, now, one, kept_for=kept_for(one))
        case kinds.BathStopped(reason=reason, note=note):
            stop = Stop(entry=one.id, by=one.author, at=one.at, reason=reason, note=note)
            return _done(state, now, one, stop=state.stop or stop)
        case kinds.BathCleared():
            return _done(state, now, one, stop=None)
        case kinds.BathFinished(reason=reason):
            return _done(state, now, one, finished_at=one.at, finish_reason=reason)
        case _:
            return Step(entry=one, before=now.estimate, state=changed(state, now._asdict()))


def cared(care: str) -> dict[str, Any]:
    """Return what a care changes of a bath's lid and of where it stands."""
    match care:
        case "covered":
            return {"open": False}
        case "uncovered":
            return {"open": True}
        case "chilled":
            return {"open": False, "chilled": True}
        case "brought_to_room":
            return {"chilled": False}
        case _:
            return {}


def kept_for(one: InForce) -> KeptFor | None:
    """Return for whom a bath is kept from now on; None for nobody."""
    said = one.content
    assert isinstance(said, kinds.BathKeptFor)
    if said.member is None and not said.session:
        return None
    return KeptFor(
        by=one.author,
        at=one.at,
        member=MemberId(said.member) if said.member else None,
        session=said.session,
        until=said.until,
    )


S = TypeVar("S")


def changed(state: S, changes: dict[str, Any]) -> S:
    """Do what `replace` does, at a tenth of its cost: a fold does it for each entry."""
    made = object.__new__(type(state))
    object.__setattr__(made, "__dict__", state.__dict__ | changes)
    assert len(made.__dict__) == len(state.__dict__)
    return made


def _done(
    state: BathState,
    now: Brought,
    one: InForce,
    *,
    moves: tuple[Move, ...] = (),
    findings: Iterable[Finding] = (),
    **changes: Any,
) -> Step:
    at, estimate, open_hours_due = now
    recent, twin = looked_at(state.recent, one)
    after = {
        "at": at,
        "estimate": estimate,
        "open_hours_due": open_hours_due,
        "hands": Hands(one.id, one.hand, one.at, one.kind, one.precision),
        "recent": recent,
        **changes,
    }
    return Step(one, estimate, changed(state, after), moves, (*twin, *findings))


def _mixed(subject: Subject, one: InForce, inputs: Looked) -> Step:
    said = one.content
    assert isinstance(said, kinds.BathMixed)
    parts, odd = _parts(said.salt, one, inputs, guessed=said.guessed == "yes")
    salt = _salt_of(said.salt[0].lot, inputs)
    vessel = inputs.state("vessel", said.vessel)
    estimate = bath.mixed(
        water_ml=float(said.water.base),
        salt_parts=[_science(part, salt, inputs) for part in parts],
        salt=salt,
        at_h=_hours(one.at),
    )
    state = BathState(
        id=subject,
        name=said.name,
        studio=said.studio,
        vessel=said.vessel,
        salt=salt,
        salts_in=_all_salts((), said.salt, inputs),
        recipe=said.recipe,
        dose=said.dose,
        mixed_at=one.at,
        mixed_by=one.author,
        at=one.at,
        estimate=estimate,
        open=vessel is not None and not vessel.lidded,
        hands=Hands(entry=one.id, by=one.author, at=one.at, kind=one.kind),
        how=_worst(part.how for part in parts),
        how_at=one.at,
        bare_lots=tuple(part.lot for part in parts if part.how == "spooned"),
    )
    moves = (*_water(subject, one, said.water), *_salt_moves(subject, one, parts, inputs))
    odd += _over_the_brim(estimate, one, vessel)
    return Step(entry=one, before=None, state=state, moves=moves, findings=tuple(odd))


def _poured_off(subject: Subject, one: InForce, inputs: Looked) -> Step | None:
    """Start a bath from what another gave; None when nothing is known of that one."""
    said = one.content
    assert isinstance(said, kinds.BathSplit)
    giver: BathState | None = inputs.given(said.bath, one.id)
    place = _place_of(subject, one.id, said)
    if not isinstance(giver, BathState) or place is None:
        return None
    now, part = _brought_to(giver, one.at, inputs), said.parts[place]
    given, _ = tuple(_poured(now.estimate, said))[place]
    vessel = inputs.state("vessel", part.vessel)
    estimate = _begun_with(given, giver.salt, _hours(one.at))
    state = replace(
        giver,
        id=subject,
        name=part.name,
        studio=vessel.studio if vessel else giver.studio,
        vessel=part.vessel,
        mixed_at=min(giver.mixed_at, one.at),
        at=one.at,
        estimate=estimate,
        open=vessel is not None and not vessel.lidded,
        chilled=False,
        open_hours_due=0.0,
        hands=Hands(entry=one.id, by=one.author, at=one.at, kind=one.kind),
        kept_for=None,
        kept=(),
        full_count=0,
        half_count=0,
        quarter_count=0,
        through=(),
        recent=(),
        finished_at=None,
        gone_at=None,
        finish_reason="",
    )
    odd = _over_the_brim(estimate, one, vessel)
    return Step(entry=one, before=None, state=state, findings=tuple(odd))


def _begun_with(given: bath.Solution, salt: str, at_h: float) -> BathEstimate:
    """Return the estimate of a vessel with nothing in it but what another bath gave."""
    held = given._replace(volume_ml=max(given.volume_ml, VOLUME_MIN_ML))
    return bath.mixed(water_ml=0.0, salt_parts=(), salt=salt, at_h=at_h, solutions=[held])


def _place_of(subject: Subject, entry: EntryId, said: kinds.BathSplit) -> int | None:
    places = {part_of(entry, place): place for place in range(len(said.parts))}
    return places.get(subject)


def _poured(
    estimate: BathEstimate, said: kinds.BathSplit
) -> Iterator[tuple[bath.Solution, BathEstimate]]:
    """Give what each part takes in turn, and what is left when it has."""
    for part in said.parts:
        given = handed(estimate, float(part.litres.base))
        estimate = _without(estimate, given)
        yield given, estimate


def handed(estimate: BathEstimate, volume_ml: float | None) -> bath.Solution:
    """Return measured litres of a bath, or all but what clings, as they are handed over."""
    if volume_ml is not None:
        return bath.poured(estimate=estimate, liquid_ml=volume_ml)
    there_ml = estimate.belief.volume_ml - VOLUME_MIN_ML
    return bath.handover(estimate=estimate, volume_ml=there_ml, sd_ml=estimate.belief.vv**0.5)


def _without(estimate: BathEstimate, given: bath.Solution) -> BathEstimate:
    return bath.poured_out(
        estimate=estimate,
        volume_ml=given.volume_ml,
        sd_ml=given.volume_sd_ml,
        said_ml=given.said_ml,
    )


def _split(state: BathState, now: Brought, one: InForce, said: kinds.BathSplit) -> Step:
    """Pour off parts: what leaves is posted with the bath it leaves."""
    estimate, moves = now.estimate, list[Move]()
    for place, (given, left) in enumerate(_poured(estimate, said)):
        estimate = left
        ends = (accounts.account("bath", one) for one in (state.id, part_of(one.id, place)))
        moves += _handover_moves(state, one, given, *ends)
    asked_ml = float(sum(part.litres.base for part in said.parts))
    odd = _over_what_stood(now.estimate, one, asked_ml)
    return _done(state, now, one, moves=tuple(moves), findings=odd, estimate=estimate)


def _over_what_stood(estimate: BathEstimate, one: InForce, asked_ml: float) -> list[Finding]:
    """Say so when more was poured off than can have stood there, nine times in ten."""
    belief = estimate.belief
    part = alum.water_fraction(strength_g_per_l=belief.strength_g_per_l, salt=estimate.salt)
    if asked_ml * part <= belief.volume_ml + Z_90 * belief.vv**0.5:
        return []
    return [Finding(code="more-than-stood-there", entry=one.id)]


def _handover_moves(
    state: BathState, one: InForce, given: bath.Solution, giver: str, taker: str
) -> tuple[Move, ...]:
    """Post what went from one account to another, water and salt."""
    salt_g = given.volume_ml * given.strength_g_per_l / ML_PER_L
    rows = (
        (accounts.WATER, given.volume_ml * accounts.UL_PER_ML, given.volume_sd_ml * 1_000),
        (accounts.salt(state.salt), salt_g * accounts.UG_PER_G, salt_g * given.ln_sd * 1e6),
    )
    return accounts.posted(
        *(
            accounts.row(
                entry=one.id,
                at=one.at,
                substance=substance,
                from_account=giver,
                to_account=taker,
                amount=round(amount),
                doubt=round(sd * Z_90),
            )
            for substance, amount, sd in rows
        )
    )


def _joined(
    state: BathState, now: Brought, one: InForce, said: kinds.BathJoined, inputs: Looked
) -> Step:
    volume_ml = float(said.litres.base) if said.litres else None
    if said.giver == state.id:
        estimate = _without(now.estimate, handed(now.estimate, volume_ml))
        ended: dict[str, Any] = {}
        if said.litres is None:
            ended = {"finished_at": one.at, "finish_reason": "poured_together"}
        odd = _over_what_stood(now.estimate, one, volume_ml or 0.0)
        return _done(state, now, one, findings=odd, estimate=estimate, **ended)
    giver = inputs.given(said.giver, one.id)
    if not isinstance(giver, BathState):
        return _done(state, now, one, findings=(not_from(giver, one, said),))
    given = handed(_brought_to(giver, one.at, inputs).estimate, volume_ml)
    return _poured_in(state, now, one, giver, given, inputs)


def not_from(giver: object, one: InForce, said: kinds.BathJoined) -> Finding:
    """Say why nothing came in: the giver is not known, or it is a bath of another kind."""
    if giver is None:
        return Finding(code="giver-not-known", entry=one.id, detail=said.giver)
    return Finding(code="giver-of-another-kind", entry=one.id, detail=said.giver)


def _poured_in(
    state: BathState,
    now: Brought,
    one: InForce,
    giver: BathState,
    given: bath.Solution,
    inputs: Looked,
) -> Step:
    """Take in liquid of another bath, with what is against it: a stop goes on with it."""
    per_gram = 1.0
    if giver.salt != state.salt:
        per_gram = alum.same_strength_g(weight_g=1.0, salt=giver.salt, other_salt=state.salt)
    strength = given.strength_g_per_l * per_gram
    estimate = bath.topped_up(
        estimate=now.estimate, solutions=[given._replace(strength_g_per_l=strength)]
    )
    findings = _over_the_brim(estimate, one, inputs.state("vessel", state.vessel))
    if giver.salt != state.salt:
        findings.append(Finding(code="other-salt", entry=one.id))
    ends = (accounts.account("bath", each.id) for each in (giver, state))
    return _done(
        state,
        now,
        one,
        moves=_handover_moves(giver, one, given, *ends),
        findings=findings,
        estimate=estimate,
        stop=state.stop or poured_in_with(giver.stop, giver.name, one),
        how=_worst((state.how, giver.how)),
        how_at=max(state.how_at, giver.how_at),
        gravity_at=_both_read(state, giver),
        bare_lots=tuple(dict.fromkeys((*state.bare_lots, *giver.bare_lots))),
        water_only_count=max(state.water_only_count, giver.water_only_count),
        salts_in=tuple(dict.fromkeys((*state.salts_in, *giver.salts_in))),
        put_in=with_put_in(state.put_in, *giver.put_in, PutIn("water", one.at)),
        treated=(*state.treated, *giver.treated)[-TREATED_KEPT:],
        stopped_sheet_count=max(state.stopped_sheet_count, giver.stopped_sheet_count),
        **_proofs(state, giver, strength - now.estimate.belief.strength_g_per_l),
    )


def poured_in_with(stop: Stop | None, giver: str, one: InForce) -> Stop | None:
    """Return the stop of a giver as it stands on what it was poured into, from then on."""
    if stop is None:
        return None
    return replace(stop, poured_from=stop.poured_from or giver, poured_in_at=one.at)


def _both_read(state: BathState, giver: BathState) -> datetime | None:
    """Return since when a mixture's strength was read: not before that of both was."""
    if state.gravity_at is None or giver.gravity_at is None:
        return None
    return min(state.gravity_at, giver.gravity_at)


def _proofs(state: BathState, giver: BathState, stronger_g_per_l: float) -> dict[str, Any]:
    """
    Return what strip prints of two baths say of the mixture, and since when it stands.

    A print that was bad holds on unless the mixture is stronger than what it was made of; one
    that was sharp shows nothing of the other liquid. The mixture stands since the older of
    the two was mixed, or last had its sharp print.
    """
    bad = [one for one in state.prints if stronger_g_per_l <= 0 and one.outcome != SHARP]
    bad += [one for one in giver.prints if stronger_g_per_l >= 0 and one.outcome != SHARP]
    older = min(_proof(state), _proof(giver))
    return {
        "prints": tuple(sorted(bad, key=lambda one: one.at))[-LAST_KEPT:],
        "mixed_at": min(state.mixed_at, giver.mixed_at),
        "passed_at": older if older in (state.passed_at, giver.passed_at) else None,
    }


def _proof(state: BathState) -> datetime:
    return max(state.mixed_at, state.passed_at or state.mixed_at)


def _carried(
    state: BathState, now: Brought, one: InForce, vessel_id: Subject, inputs: Looked
) -> Step:
    """Stand a bath in another vessel; what clings to the old one is too little to tell."""
    vessel = inputs.state("vessel", vessel_id)
    odd = _over_the_brim(now.estimate, one, vessel)
    return _done(
        state,
        now,
        one,
        findings=odd,
        vessel=vessel_id,
        studio=vessel.studio if vessel else state.studio,
        open=vessel is not None and not vessel.lidded,
        chilled=False,
        open_hours_due=0.0,
    )


def _topped_up(
    state: BathState, now: Brought, one: InForce, said: kinds.BathToppedUp, inputs: Looked
) -> Step:
    parts, odd = _parts(said.salt, one, inputs, guessed=False)
    for part in parts:
        if _salt_of(part.lot, inputs) != state.salt:
            odd.append(Finding(code="other-salt", entry=one.id))
    estimate = bath.topped_up(
        estimate=now.estimate,
        water_ml=float(said.water.base) if said.water else 0.0,
        salt_parts=[_science(part, state.salt, inputs) for part in parts],
    )
    bare = tuple(part.lot for part in parts if part.how == "spooned")
    water = _water(state.id, one, said.water) if said.water else ()
    odd += _over_the_brim(estimate, one, inputs.state("vessel", state.vessel))
    return _done(
        state,
        now,
        one,
        moves=(*water, *_salt_moves(state.id, one, parts, inputs)),
        findings=odd,
        estimate=estimate,
        how=_worst([state.how, *(part.how for part in parts)]),
        how_at=one.at if parts else state.how_at,
        bare_lots=tuple(dict.fromkeys((*state.bare_lots, *bare))),
        prints=() if parts else state.prints,
        water_only_count=state.water_only_count + (0 if parts else 1),
        salts_in=_all_salts(state.salts_in, said.salt, inputs),
        put_in=with_put_in(state.put_in, *_topped_with(one, said, inputs)),
    )


def _all_salts(
    there: tuple[str, ...], parts: tuple[kinds.SaltPart, ...], inputs: Looked
) -> tuple[str, ...]:
    found = (_salt_of(part.lot, inputs) for part in parts)
    return tuple(dict.fromkeys((*there, *found)))


def _topped_with(one: InForce, said: kinds.BathToppedUp, inputs: Looked) -> Iterator[PutIn]:
    if said.water is not None:
        yield PutIn("water", one.at)
    for part in said.salt:
        yield PutIn(alum_in(_salt_of(part.lot, inputs)), one.at)
    if said.powder:
        yield PutIn("other", one.at)


def _through(
    state: BathState, now: Brought, one: InForce, said: kinds.SheetsThrough, inputs: Looked
) -> Step:
    sheet = inputs.sheet(said)
    measured, said_ml = _took(said, now.estimate)
    estimate = bath.sheets_through(
        estimate=now.estimate,
        sheet_area_m2=sheet.area_m2,
        sheet_count=said.sheet_count,
        pickup_ml_per_m2=sheet.pickup_ml_per_m2,
        paper=sheet.binds,
        measured=measured,
        said_ml=said_ml,
        lasts=sheet.habit,
    )
    hours = said.open_hours
    open_hours = bath.OPEN_HOURS.middle if hours is None else float(hours)
    lot: LotState | None = inputs.state("lot", said.lot)
    paper = lot.paper if lot else said.paper
    sheets = said.sheet_count, said.sheet_format, said.method
    last = Through(one.id, one.hand, one.at, *sheets, said.lot, paper)
    counter = f"{said.sheet_format}_count"
    odd = (Finding(code="used-while-stopped", entry=one.id),) if state.stop else ()
    return _done(
        state,
        now,
        one,
        moves=paper_moves(one, said, lot),
        findings=odd,
        estimate=estimate,
        open_hours_due=max(now.open_hours_due, open_hours),
        stopped_sheet_count=state.stopped_sheet_count + (said.sheet_count if state.stop else 0),
        through=(*state.through, last)[-LAST_KEPT:],
        again=state.again if said.stack is None else (*state.again, said.stack),
        **{counter: getattr(state, counter) + said.sheet_count},
    )


def _took(
    said: kinds.SheetsThrough, before: BathEstimate
) -> tuple[Measured | None, float | None]:
    """
    Return what is gone by 'took out, put back', as water and as it was measured [mL].

    Each of the two was measured to +-2 %.
    """
    if said.took_out is None or said.put_back is None:
        return None, None
    out, back = float(said.took_out.base), float(said.put_back.base)
    part = alum.water_fraction(
        strength_g_per_l=before.belief.strength_g_per_l, salt=before.salt
    )
    sd_ml = bath.WATER_SD_FRACTION * (out**2 + back**2) ** 0.5
    return Measured((out - back) * part, sd_ml * part), out - back


def _read(
    state: BathState, now: Brought, one: InForce, said: kinds.ReadingTaken, inputs: Looked
) -> Step:
    match said.instrument:
        case "strip_print":
            return _printed(state, now, one, said)
        case "hydrometer":
            return _gravity(state, now, one, said, inputs)
        case "thermometer" | "look" | "smell" | "funnel" | "drop_test":
            return _done(state, now, one, **felt(one, said), **for_drain(state, one, said))
        case instrument if instrument in DRAIN_INSTRUMENTS:
            return _done(state, now, one, **for_drain(state, one, said))
        case _:
            return _level(state, now, one, said, inputs)


def for_drain(state: Any, one: InForce, said: kinds.ReadingTaken) -> dict[str, Any]:
    """Return what a reading that tells something for the drain is remembered as."""
    if said.instrument not in DRAIN_INSTRUMENTS | {"thermometer"}:
        return {}
    return {"drain_readings": with_reading(state.drain_readings, drain_reading(one, said))}


def felt(one: InForce, said: kinds.ReadingTaken) -> dict[str, Any]:
    """Return what a temperature, a look or a smell is remembered as."""
    match said.instrument:
        case "thermometer":
            assert said.temperature is not None
            return {"temperature_c": float(said.temperature.base), "temperature_at": one.at}
        case "look" | "smell":
            seen = Seen(at=one.at, by=one.author, outcome=said.outcome or "")
            return {"looked" if said.instrument == "look" else "smelled": seen}
        case _:
            return {}


def _printed(state: BathState, now: Brought, one: InForce, said: kinds.ReadingTaken) -> Step:
    made = StripPrint(at=one.at, by=one.author, outcome=said.outcome or "")
    passed = said.outcome == SHARP
    return _done(
        state,
        now,
        one,
        prints=(*state.prints, made)[-LAST_KEPT:],
        passed_at=one.at if passed else state.passed_at,
        water_only_count=0,
        stopped_sheet_count=0,
    )


def _gravity(
    state: BathState, now: Brought, one: InForce, said: kinds.ReadingTaken, inputs: Looked
) -> Step:
    assert said.gravity is not None
    assert said.temperature is not None
    studio = inputs.state("studio", state.studio)
    try:
        read = alum.gravity_strength_g_per_l(
            reading_sg=float(said.gravity),
            liquid_c=float(said.temperature.base),
            zero_offset_sg=zero_of(studio, said, one.at),
            scale_c=studio.hydrometer_scale_c if studio else value("hydrometer_scale_c"),
            salt=state.salt,
        )
    except ValueError as refused:  # no curve for this salt, or outside of it: kept, not applied
        code = getattr(refused, "code", "outside-density-curve")
        return _done(state, now, one, findings=(Finding(code=code, entry=one.id),))
    strength_g_per_l = alum.strength_of_water_g_per_l(
        strength_g_per_l=read.strength_g_per_l, salt=state.salt
    )
    estimate, outcome = gravity_read(
        estimate=now.estimate,
        strength_g_per_l=strength_g_per_l,
        sd_g_per_l=read.sd_g_per_l,
        lasting_sd_g_per_l=read.lasting_sd_g_per_l,
        label=one.id,
    )
    changes: dict[str, Any] = {"estimate": estimate}
    if outcome.outcome != "kept":
        changes |= {
            "gravity_at": one.at,
            "water_only_count": 0,
            "stopped_sheet_count": 0,
        }
    step = _done(state, now, one, **changes)
    return _with_outcome(step, said.instrument, outcome, (strength_g_per_l, read.sd_g_per_l))


def _level(
    state: BathState, now: Brought, one: InForce, said: kinds.ReadingTaken, inputs: Looked
) -> Step:
    measured = level_of(said, inputs.state("vessel", state.vessel))
    if measured is None:
        odd = Finding(code="floor-not-known", entry=one.id)
        return _done(state, now, one, findings=(odd,))
    part = alum.water_fraction(
        strength_g_per_l=now.estimate.belief.strength_g_per_l, salt=state.salt
    )
    estimate, outcome = level_read(
        estimate=now.estimate,
        volume_ml=measured.volume_ml * part,
        sd_ml=measured.sd_ml * part,
        label=one.id,
    )
    outcome = outcome._replace(before=outcome.before / part, after=outcome.after / part)
    step = _done(state, now, one, estimate=estimate)
    return _with_outcome(step, said.instrument, outcome, measured)


def _with_outcome(
    step: Step, instrument: str, outcome: ReadingOutcome, read: tuple[float, float]
) -> Step:
    waiting = {kept.label for kept in step.state.estimate.pending}
    kept = tuple(one for one in step.state.kept if one.entry in waiting)
    findings = step.findings
    if outcome.outcome == "kept":
        kept = (*kept, _kept(step.entry, instrument, outcome, read))
        findings = (*findings, Finding(code="reading-disagrees", entry=step.entry.id))
    state = step.state if kept == step.state.kept else changed(step.state, {"kept": kept})
    return step._replace(state=state, findings=findings, reading=outcome)


def _kept(
    one: InForce, instrument: str, outcome: ReadingOutcome, read: tuple[float, float]
) -> Kept:
    unit = 1.0 if outcome.quantity == GRAVITY else ML_PER_L
    value, sd = read
    return Kept(
        entry=one.id,
        instrument=instrument,
        at=one.at,
        off_sigma=outcome.sigma,
        read=max(0.0, value) / unit,
        low=max(0.0, value - Z_90 * sd) / unit,
        high=max(0.0, value + Z_90 * sd) / unit,
        reckoned=outcome.before / unit,
    )


def _brought_to(state: BathState, at: datetime, inputs: Looked) -> Brought:
    """Let time pass up to an entry; an entry before the last one stands still."""
    vessel = inputs.state("vessel", state.vessel)
    return _passed(state, at, vessel.area_m2 if vessel else None)


def brought_to(state: BathState, at: datetime, *, area_m2: float | None) -> BathState:
    """
    Return a bath at a later moment, when nothing is done to it.

    A tub whose floor is not known loses nothing to the air here: its doubt alone grows.
    """
    return changed(state, _passed(state, at, area_m2)._asdict())


def _passed(state: BathState, at: datetime, area_m2: float | None) -> Brought:
    hours = _hours(at) - state.estimate.at_h
    if hours <= 0 or state.finished_at is not None:
        return Brought(state.at, state.estimate, state.open_hours_due)
    open_hours = hours if state.open else min(hours, state.open_hours_due)
    estimate = bath.time_passed(
        estimate=state.estimate,
        hours=hours,
        open_hours=open_hours,
        area_m2=area_m2 or 0.0,
        open_hours_ln_sd=0.0 if state.open else OPEN_HOURS_LN_SD,
    )
    return Brought(at, estimate, max(0.0, state.open_hours_due - hours))


def _hours(at: datetime) -> float:
    return at.timestamp() / 3600


def _parts(
    said: tuple[kinds.SaltPart, ...], one: InForce, inputs: Looked, *, guessed: bool
) -> tuple[list[SaltGrams], list[Finding]]:
    parts, odd = [], []
    for part in said:
        lot: LotState | None = inputs.state("lot", part.lot)
        if lot is None:
            odd.append(Finding(code="lot-not-known", entry=one.id))
        parts.append(salt_grams(part, lot, guessed=guessed))
    return parts, odd


def _salt_of(lot: Subject, inputs: Looked) -> str:
    state: LotState | None = inputs.state("lot", lot)
    return state.salt if state and state.salt else SALT_UNKNOWN


def _science(part: SaltGrams, salt: str, inputs: Looked) -> SaltPart:
    grams = in_salt(part, lot_salt=_salt_of(part.lot, inputs), bath_salt=salt)
    return SaltPart(grams, part.ln_sd, part.lot if "spoon" in part.how else "")


def _worst(hows: Any) -> str:
    order = ("weighed", "spoon-weighed", "spooned", "guessed")
    return max(hows, key=order.index, default="weighed")


def _over_the_brim(estimate: BathEstimate, one: InForce, vessel: Any) -> list[Finding]:
    if vessel is None or estimate.belief.volume_ml <= vessel.brim_ml:
        return []
    return [Finding(code="over-the-brim", entry=one.id)]


def _water(bath_id: Subject, one: InForce, water: Any) -> tuple[Move, ...]:
    ml = water.base
    amount = round(ml * accounts.UL_PER_ML)
    doubt = round(float(ml) * value("water_measured_fraction") * accounts.UL_PER_ML)
    return accounts.posted(_move(one, accounts.WATER, accounts.TAP, bath_id, amount, doubt))


def _salt_moves(
    bath_id: Subject, one: InForce, parts: list[SaltGrams], inputs: Looked
) -> tuple[Move, ...]:
    return accounts.posted(
        *(
            _move(
                one,
                accounts.salt(_salt_of(part.lot, inputs)),
                accounts.account("lot", part.lot),
                bath_id,
                round(part.weight_g * accounts.UG_PER_G),
                round(part.weight_g * part.ln_sd * Z_90 * accounts.UG_PER_G),
            )
            for part in parts
        )
    )


def _move(
    one: InForce, substance: str, giver: str, bath_id: Subject, amount: int, doubt: int
) -> Move:
    return accounts.row(
        entry=one.id,
        at=one.at,
        substance=substance,
        from_account=giver,
        to_account=accounts.account("bath", bath_id),
        amount=amount,
        doubt=doubt,
        session=drawn_for(one.content),
    )


def drawn_for(said: kinds.Content) -> Subject | None:
    """Return the booked session that what is drawn from a lot is for."""
    match said:
        case kinds.BathMixed(session=session) | kinds.SheetsThrough(session=session):
            return session
        case _:
            return None


def paper_moves(
    one: InForce, said: kinds.SheetsThrough, lot: LotState | None
) -> tuple[Move, ...]:
    """Draw paper once, from the lot to the stack; what is alumed once more draws none."""
    if said.stack is not None:
        return ()
    if said.lot is None:
        giver, substance = accounts.OWN_PAPER, accounts.paper(said.paper)
    else:
        giver = accounts.account("lot", said.lot)
        substance = accounts.paper(lot.paper if lot else None)
    taker = accounts.account("stack", Subject(one.id))
    quarters = said.sheet_count * accounts.QUARTERS[said.sheet_format]
    drawn = accounts.row(
        entry=one.id,
        at=one.at,
        substance=substance,
        from_account=giver,
        to_account=taker,
        amount=quarters,
        session=said.session,
    )
    return (drawn,)
