"""
The fold of a bath that is not alum: size, gall water, rinse, paste, softener.

A simple account: litres with their doubt, grams of powder, hours at room and chilled, area
laid, and what people saw of it. Nothing a person did is refused here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any, NamedTuple

from coop.ids import EntryId, MemberId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.baths import (
    Looked,
    cared,
    changed,
    drawn_for,
    felt,
    for_drain,
    in_turn,
    kept_for,
    maker_of,
    not_from,
    over_now,
    paper_moves,
    poured_in_with,
)
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.measure import HOW, area_of_m2, level_of, powder_grams, salt_grams
from coop.ledger.part_of_day import MINUTE
from coop.ledger.states import (
    DrainReading,
    Hands,
    KeptFor,
    LotState,
    PaperState,
    PutIn,
    RecipeState,
    Seen,
    StackState,
    Stop,
    Through,
    Treated,
)
from coop.ledger.table import part_of
from coop.ledger.twins import Recent, looked_at
from coop.ledger.ways_out import (
    DRAIN_INSTRUMENTS,
    LITTLE_ML,
    TREATED_KEPT,
    alum_in,
    base_moves,
    belongs_after_the_end,
    leaves,
    listed_under,
    put_in_by,
    treated,
    way_out,
    with_put_in,
)
from coop.science import bath, estimate
from coop.science.bath_belief import ML_PER_L, VOLUME_MIN_ML
from coop.science.defaults import Z_90, default, value
from coop.science.estimate import ln_sd_of_range
from coop.units.quantity import Quantity

LAST_KEPT = 5
RUN_OUTS_KEPT = 12
LAID_KEPT = 200
"""So many lots of sheets laid on one size are remembered one by one."""
SIZE = "size"
MEASURED = value("water_measured_fraction")
WITH_SHEET = default("size_with_sheet_ml_per_m2")
WITH_SHEET_LN_SD = ln_sd_of_range(low=WITH_SHEET.low, high=WITH_SHEET.high)
REST_H: Mapping[str, str] = MappingProxyType(
    {
        "carrageenan": "size_rest_carrageenan_h",
        "methylcellulose": "size_rest_methylcellulose_h",
        "tragacanth": "size_rest_tragacanth_h",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropTest:
    """A drop of colour on a sample: how it lay, how far it spread, how old the size was."""

    at: datetime
    by: MemberId
    outcome: str
    spread_mm: float | None
    room_h: float
    chilled_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOut:
    """Seconds a size took through a funnel; water through the same one where it was timed."""

    at: datetime
    by: MemberId
    funnel: str
    seconds: float
    water_seconds: float | None
    temperature_c: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Sheets of a stack that were laid on a size."""

    entry: EntryId
    stack: Subject
    by: MemberId
    at: datetime
    sheet_count: int
    sheet_format: str
    damp: bool
    precision: str = MINUTE


@dataclass(frozen=True, kw_only=True)  # no slots: see `changed`
class LiquidState:
    """
    A bath that is not alum, after its last entry.

    Attributes:
        what: size, gall_water, rinse, paste or softener.
        of: What it was made of, the first powder; empty for water alone.
        carrageenan: The type of its carrageenan, where the lot says it.
        volume_sd_ml: Standard deviation of the litres.
        powder_g: Powder in it at the middle.
        rest_until: Not to be used before.
        chilled: Whether it stands cold now; `room_h` and `chilled_h` count up to `at`.
        drops, run_outs: Tests since it was last thinned, thickened or joined.
        damp_m2: Area laid from stacks said to be damp.
    """

    what: str
    id: Subject
    name: str
    studio: Subject
    vessel: Subject
    of: str
    carrageenan: str | None
    recipe: Subject | None
    dose: str
    mixed_at: datetime
    mixed_by: MemberId
    at: datetime
    volume_ml: float
    volume_sd_ml: float
    powder_g: float
    how: str
    rest_until: datetime | None
    open: bool
    hands: Hands
    chilled: bool = False
    room_h: float = 0.0
    chilled_h: float = 0.0
    kept_for: KeptFor | None = None
    temperature_c: float | None = None
    temperature_at: datetime | None = None
    looked: Seen | None = None
    smelled: Seen | None = None
    drops: tuple[DropTest, ...] = ()
    run_outs: tuple[RunOut, ...] = ()
    laid: tuple[Laid, ...] = ()
    laid_m2: float = 0.0
    damp_m2: float = 0.0
    stop: Stop | None = None
    finished_at: datetime | None = None
    finish_reason: str = ""
    through: tuple[Through, ...] = ()
    recent: tuple[Recent, ...] = ()
    drain_readings: tuple[DrainReading, ...] = ()
    treated: tuple[Treated, ...] = ()
    put_in: tuple[PutIn, ...] = ()
    gone_at: datetime | None = None

    @property
    def dose_g_per_l(self) -> float | None:
        """Powder by the litre; None of a bath without powder or litres."""
        if not self.powder_g or self.volume_ml <= 0:
            return None
        return ML_PER_L * self.powder_g / self.volume_ml


class Step(NamedTuple):
    """A bath after one of its entries."""

    state: LiquidState
    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidStep:
    """A bath just after one of its entries, as its history shows it."""

    entry: InForce
    state: LiquidState
    findings: tuple[Finding, ...] = ()


def fold_liquid(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Fold a bath that is not alum; what came before its mixing is folded just after it."""
    last: LiquidState | None = None
    moves: list[Move] = []
    findings: list[Finding] = []
    for _, step in _steps(subject, entries, inputs):
        last = step.state
        moves += step.moves
        findings += step.findings
    if last is None:
        return NOTHING
    vessel = inputs.state("vessel", last.vessel)
    return Folded(
        state=last,
        moves=tuple(moves),
        findings=tuple(findings),
        home=listed_under(last),
        live=last.finished_at is None,
        place=vessel.place if vessel else 0,
    )


def liquid_steps(
    subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[LiquidStep]:
    """Give the bath after each of its entries, the mixing first."""
    for one, step in _steps(subject, entries, inputs):
        yield LiquidStep(entry=one, state=step.state, findings=step.findings)


def _steps(
    subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[tuple[InForce, Step]]:
    maker, looked = maker_of(subject, entries), Looked(inputs)
    step = _start(subject, maker, looked) if maker else None
    if maker is None or step is None:
        return
    yield maker, step
    for one in in_turn(maker, entries)[1:]:
        state = step.state
        odd = [Finding(code=code, entry=one.id) for code in _out_of_turn(state, one, maker)]
        step = _next(state, one, looked)
        if odd:
            step = step._replace(findings=(*odd, *step.findings))
        yield one, step


def _out_of_turn(state: LiquidState, one: InForce, maker: InForce) -> list[str]:
    codes = ["before-the-mix"] if one.at < maker.at else []
    late = state.gone_at or not belongs_after_the_end(one.content)
    return codes + (["after-the-finish"] if state.finished_at is not None and late else [])


def _start(subject: Subject, maker: InForce, inputs: Inputs) -> Step | None:
    if isinstance(maker.content, kinds.BathMixed):
        return _mixed(subject, maker, maker.content, inputs)
    return _poured_off(subject, maker, inputs)


def _mixed(subject: Subject, one: InForce, said: kinds.BathMixed, inputs: Inputs) -> Step:
    vessel = inputs.state("vessel", said.vessel)
    water_ml = float(said.water.base)
    powder_g, how, moves = _powders(subject, one, said.powder, inputs, said.guessed == "yes")
    first = said.powder[0] if said.powder else None
    lot: LotState | None = inputs.state("lot", first.lot) if first else None
    of = first.powder if first else ""
    state = LiquidState(
        what=said.what,
        id=subject,
        name=said.name,
        studio=said.studio,
        vessel=said.vessel,
        of=of,
        carrageenan=lot.carrageenan if lot else None,
        recipe=said.recipe,
        dose=said.dose,
        mixed_at=one.at,
        mixed_by=one.author,
        at=one.at,
        volume_ml=water_ml,
        volume_sd_ml=water_ml * bath.WATER_SD_FRACTION,
        powder_g=powder_g,
        how=how,
        rest_until=rests_until(one.at, said.what, of, inputs.state("recipe", said.recipe)),
        open=vessel is not None and not vessel.lidded,
        hands=_hands(one),
    )
    return Step(state, (*_water(subject, one, water_ml), *moves), _over(state, one, vessel))


def rests_until(
    at: datetime, what: str, of: str, recipe: RecipeState | None
) -> datetime | None:
    """Return when a size has rested: by its recipe, else by what it is made of."""
    if recipe is not None and recipe.rest_hours is not None:
        return at + timedelta(hours=recipe.rest_hours)
    if what != SIZE:
        return None
    return at + timedelta(hours=value(REST_H.get(of, "size_rest_other_h")))


def _powders(
    subject: Subject,
    one: InForce,
    parts: tuple[kinds.PowderPart, ...],
    inputs: Inputs,
    guessed: bool,
) -> tuple[float, str, tuple[Move, ...]]:
    """Return grams of powder, how they are known, and the rows out of their lots."""
    total_g, how, moves = 0.0, "weighed", list[Move]()
    for part in parts:
        lot: LotState | None = inputs.state("lot", part.lot)
        weight_g, ln_sd, known = powder_grams(part, lot, guessed=guessed)
        total_g += weight_g
        how = max(how, known, key=HOW.index)
        if part.lot is not None:
            substance = accounts.powder(part.powder)
            if lot is not None and lot.what != "paper":
                substance = lot.substance
            ends = accounts.account("lot", part.lot), accounts.account("bath", subject)
            weight_ug = weight_g * accounts.UG_PER_G
            moves.append(_move(one, substance, *ends, weight_ug, Z_90 * ln_sd))
    return total_g, how, accounts.posted(*moves)


def _water(subject: Subject, one: InForce, water_ml: float) -> tuple[Move, ...]:
    to = accounts.account("bath", subject)
    amount = water_ml * accounts.UL_PER_ML
    return accounts.posted(_move(one, accounts.WATER, accounts.TAP, to, amount, MEASURED))


def _move(
    one: InForce, substance: str, giver: str, taker: str, amount: float, fraction: float
) -> Move:
    return accounts.row(
        entry=one.id,
        at=one.at,
        substance=substance,
        from_account=giver,
        to_account=taker,
        amount=round(amount),
        doubt=round(amount * fraction),
        session=drawn_for(one.content),
    )


def _hands(one: InForce) -> Hands:
    return Hands(one.id, one.hand, one.at, one.kind, one.precision)


def _over(state: LiquidState, one: InForce, vessel: Any) -> tuple[Finding, ...]:
    if vessel is None or state.volume_ml <= vessel.brim_ml:
        return ()
    return (Finding(code="over-the-brim", entry=one.id),)


def _poured_off(subject: Subject, one: InForce, inputs: Inputs) -> Step | None:
    """Start a bath from what another gave: as old, of the same powder, under its own name."""
    said = one.content
    assert isinstance(said, kinds.BathSplit)
    giver = inputs.given(said.bath, one.id)
    places = {part_of(one.id, place): place for place in range(len(said.parts))}
    if not isinstance(giver, LiquidState) or subject not in places:
        return None
    now = brought_to(giver, one.at, area_m2=_area(giver, inputs))
    part, given = said.parts[places[subject]], tuple(_poured(now, said))[places[subject]]
    vessel = inputs.state("vessel", part.vessel)
    state = replace(
        now,
        id=subject,
        name=part.name,
        studio=vessel.studio if vessel else now.studio,
        vessel=part.vessel,
        mixed_at=min(now.mixed_at, one.at),
        at=one.at,
        volume_ml=given.volume_ml,
        volume_sd_ml=given.sd_ml,
        powder_g=given.powder_g,
        open=vessel is not None and not vessel.lidded,
        chilled=False,
        hands=_hands(one),
        kept_for=None,
        laid=(),
        laid_m2=0.0,
        damp_m2=given.damp_m2,
        finished_at=None,
        finish_reason="",
        gone_at=None,
        through=(),
        recent=(),
    )
    return Step(state, findings=_over(state, one, vessel))


class Given(NamedTuple):
    """Liquid that one bath gives: litres with their sd, powder, what damp sheets left."""

    volume_ml: float
    sd_ml: float
    powder_g: float
    damp_m2: float
    left: LiquidState


def _poured(now: LiquidState, said: kinds.BathSplit) -> Iterator[Given]:
    """Give what each part takes in turn."""
    left = now
    for part in said.parts:
        given = _given(left, float(part.litres.base))
        left = given.left
        yield given


def _given(now: LiquidState, asked_ml: float | None) -> Given:
    """Return measured litres of a bath, or all that is in it, and what is left of it."""
    volume_ml = now.volume_ml if asked_ml is None else min(asked_ml, now.volume_ml)
    sd_ml = now.volume_sd_ml if asked_ml is None else volume_ml * bath.WATER_SD_FRACTION
    share = _share(volume_ml, now.volume_ml)
    powder_g, damp_m2 = now.powder_g * share, now.damp_m2 * share
    left = replace(
        now,
        volume_ml=now.volume_ml - volume_ml,
        volume_sd_ml=(now.volume_sd_ml**2 + sd_ml**2) ** 0.5,
        powder_g=now.powder_g - powder_g,
        damp_m2=now.damp_m2 - damp_m2,
    )
    return Given(volume_ml, sd_ml, powder_g, damp_m2, left)


def _share(part_ml: float, whole_ml: float) -> float:
    return min(1.0, part_ml / whole_ml) if whole_ml > 0 else 0.0


def _next(state: LiquidState, one: InForce, inputs: Inputs) -> Step:
    now = brought_to(state, one.at, area_m2=_area(state, inputs))
    match one.content:
        case kinds.BathToppedUp() as said:
            return _topped_up(now, one, said, inputs)
        case kinds.SheetsThrough(size=size) as said if size == now.id:
            return _laid(now, one, said, inputs)
        case kinds.SheetsThrough() as said:
            odd = Finding(code="not-alum", entry=one.id)
            lot = inputs.state("lot", said.lot)
            return _done(now, one, moves=paper_moves(one, said, lot), findings=(odd,))
        case kinds.ReadingTaken() as said:
            return _read(now, one, said, inputs)
        case kinds.BathSplit() as said:
            return _split(now, one, said)
        case kinds.BathJoined() as said:
            return _joined(now, one, said, inputs)
        case kinds.BathCarried(vessel=vessel):
            return _carried(now, one, vessel, inputs)
        case _:
            return _parted(now, one, inputs)


def _parted(now: LiquidState, one: InForce, inputs: Inputs) -> Step:
    """Take what is done to a bath on its way out, or what moves no liquid."""
    match one.content:
        case kinds.DisposalTreated() as said:
            kept = (*now.treated, treated(one, said))[-TREATED_KEPT:]
            moves = base_moves(one, said, inputs, accounts.account("bath", now.id))
            ended = over_now(now, one, "neutralised")
            put_in = with_put_in(now.put_in, *put_in_by(one, said, "other"))
            return _done(now, one, moves=moves, treated=kept, put_in=put_in, **ended)
        case kinds.WasteCarried(studio=studio):
            return _done(now, one, studio=studio)
        case said if leaves(said):
            return _gone(now, one, said.litres)
        case _:
            return _marked(now, one)


def _gone(now: LiquidState, one: InForce, litres: Quantity | None) -> Step:
    """Let litres go for good, or all there is: then the bath is over and nothing is left."""
    asked_ml = float(litres.base) if litres else None
    given = _given(now, asked_ml)
    ended: dict[str, Any] = {}
    if asked_ml is None or given.left.volume_ml < LITTLE_ML:
        ended = {"gone_at": now.gone_at or one.at, **over_now(now, one, "got_rid_of")}
    return _done(
        given.left,
        one,
        moves=_handed(now, one, way_out(one), given),
        findings=_over_what_stood(now, one, asked_ml or 0.0),
        **ended,
    )


def _area(state: LiquidState, inputs: Inputs) -> float | None:
    vessel = inputs.state("vessel", state.vessel)
    return vessel.area_m2 if vessel else None


def brought_to(state: LiquidState, at: datetime, *, area_m2: float | None) -> LiquidState:
    """Return a bath at a later moment, when nothing is done to it but ageing and drying up."""
    hours = (at - state.at).total_seconds() / 3600
    if hours <= 0 or state.finished_at is not None:
        return state
    clock = "chilled_h" if state.chilled else "room_h"
    aged = {"at": at, clock: getattr(state, clock) + hours}
    if not state.open or not area_m2:
        return changed(state, aged)
    rate = bath.EVAPORATION_MM_PER_DAY
    lost_ml = min(state.volume_ml, ML_PER_L * area_m2 * rate.middle * hours / 24)
    sd_ml = (state.volume_sd_ml**2 + (lost_ml * rate.ln_sd) ** 2) ** 0.5
    aged |= {"volume_ml": state.volume_ml - lost_ml, "volume_sd_ml": sd_ml}
    return changed(state, aged)


def _done(
    now: LiquidState,
    one: InForce,
    *,
    moves: tuple[Move, ...] = (),
    findings: tuple[Finding, ...] = (),
    **changes: Any,
) -> Step:
    recent, twin = looked_at(now.recent, one)
    state = changed(now, {"hands": _hands(one), "recent": recent, **changes})
    return Step(state, moves, (*twin, *findings))


def _marked(now: LiquidState, one: InForce) -> Step:
    """Take an entry that moves no liquid: a lid, a stop, somebody's claim, an end."""
    match one.content:
        case kinds.BathCared(care=care):
            return _done(now, one, **cared(care))
        case kinds.BathKeptFor():
            return _done(now, one, kept_for=kept_for(one))
        case kinds.BathStopped(reason=reason, note=note):
            stop = Stop(entry=one.id, by=one.author, at=one.at, reason=reason, note=note)
            return _done(now, one, stop=now.stop or stop)
        case kinds.BathCleared():
            return _done(now, one, stop=None)
        case kinds.BathFinished(reason=reason):
            return _done(now, one, finished_at=one.at, finish_reason=reason)
        case _:
            return Step(now)


def _topped_up(
    now: LiquidState, one: InForce, said: kinds.BathToppedUp, inputs: Inputs
) -> Step:
    """Thin with water or thicken with powder: what tests showed before holds no longer."""
    water_ml = float(said.water.base) if said.water else 0.0
    powder_g, how, moves = _powders(now.id, one, said.powder, inputs, guessed=False)
    odd = (Finding(code="alum-in-no-alum", entry=one.id),) if said.salt else ()
    step = _done(
        now,
        one,
        moves=(*_water(now.id, one, water_ml), *moves, *_salts(now.id, one, said, inputs)),
        findings=odd,
        volume_ml=now.volume_ml + water_ml,
        volume_sd_ml=(now.volume_sd_ml**2 + (water_ml * bath.WATER_SD_FRACTION) ** 2) ** 0.5,
        of=now.of or (said.powder[0].powder if said.powder else ""),
        powder_g=now.powder_g + powder_g,
        how=max(now.how, how, key=HOW.index),
        drops=(),
        run_outs=(),
        put_in=with_put_in(now.put_in, *_topped_with(one, said, inputs)),
    )
    vessel = inputs.state("vessel", now.vessel)
    return step._replace(findings=(*step.findings, *_over(step.state, one, vessel)))


def _topped_with(one: InForce, said: kinds.BathToppedUp, inputs: Inputs) -> Iterator[PutIn]:
    if said.water is not None:
        yield PutIn("water", one.at)
    for part in said.salt:
        lot: LotState | None = inputs.state("lot", part.lot)
        yield PutIn(alum_in(lot.salt or "" if lot else ""), one.at)
    if said.powder:
        yield PutIn("other", one.at)


def _salts(
    subject: Subject, one: InForce, said: kinds.BathToppedUp, inputs: Inputs
) -> tuple[Move, ...]:
    """Return the rows by which alum that was poured into no alum left its lots."""
    moves = list[Move]()
    for part in said.salt:
        lot: LotState | None = inputs.state("lot", part.lot)
        if lot is not None and lot.salt is not None:
            ends = accounts.account("lot", part.lot), accounts.account("bath", subject)
            grams = salt_grams(part, lot, guessed=False)
            weight_ug = grams.weight_g * accounts.UG_PER_G
            moves.append(
                _move(one, accounts.salt(lot.salt), *ends, weight_ug, Z_90 * grams.ln_sd)
            )
    return accounts.posted(*moves)


def _laid(now: LiquidState, one: InForce, said: kinds.SheetsThrough, inputs: Inputs) -> Step:
    """Lay sheets: size leaves with the sheet and the skimming strip, all but what clings."""
    said = _as_its_stack(said, inputs)
    area_m2 = said.sheet_count * area_of_m2(_paper(said, inputs), said.sheet_format)
    lost_ml = min(max(0.0, now.volume_ml - VOLUME_MIN_ML), area_m2 * WITH_SHEET.value)
    damp = said.damp == "yes"
    laid = Laid(
        entry=one.id,
        stack=said.stack or Subject(one.id),
        by=one.hand,
        at=one.at,
        sheet_count=said.sheet_count,
        sheet_format=said.sheet_format,
        damp=damp,
        precision=one.precision,
    )
    odd = (Finding(code="used-while-stopped", entry=one.id),) if now.stop else ()
    return _done(
        now,
        one,
        findings=odd,
        volume_ml=now.volume_ml - lost_ml,
        volume_sd_ml=(now.volume_sd_ml**2 + (lost_ml * WITH_SHEET_LN_SD) ** 2) ** 0.5,
        powder_g=now.powder_g * (1 - _share(lost_ml, now.volume_ml)),
        laid=(*now.laid, laid)[-LAID_KEPT:],
        laid_m2=now.laid_m2 + area_m2,
        damp_m2=now.damp_m2 + (area_m2 if damp else 0.0),
        through=(*now.through, _through(one, said))[-LAST_KEPT:],
    )


def _as_its_stack(said: kinds.SheetsThrough, inputs: Inputs) -> kinds.SheetsThrough:
    """Return sheets in the format of the stack they come from, whatever was said."""
    stack: StackState | None = inputs.state("stack", said.stack)
    if stack is None or stack.sheet_format == said.sheet_format:
        return said
    return replace(said, sheet_format=stack.sheet_format)


def _paper(said: kinds.SheetsThrough, inputs: Inputs) -> PaperState | None:
    """Return the paper of sheets: what the entry says, else what their stack is of."""
    of = said if said.lot or said.paper else inputs.state("stack", said.stack)
    if of is None:
        return None
    lot: LotState | None = inputs.state("lot", of.lot)
    paper: PaperState | None = inputs.state("paper", lot.paper if lot else of.paper)
    return paper


def _through(one: InForce, said: kinds.SheetsThrough) -> Through:
    return Through(
        entry=one.id,
        by=one.hand,
        at=one.at,
        sheet_count=said.sheet_count,
        sheet_format=said.sheet_format,
        method=said.method,
        lot=said.lot,
        paper=said.paper,
    )


def _read(now: LiquidState, one: InForce, said: kinds.ReadingTaken, inputs: Inputs) -> Step:
    match said.instrument:
        case "drop_test":
            return _done(now, one, drops=(*now.drops, _drop(now, one, said))[-LAST_KEPT:])
        case "funnel":
            run_outs = (*now.run_outs, _run_out(one, said))[-RUN_OUTS_KEPT:]
            return _done(now, one, run_outs=run_outs)
        case "thermometer" | "look" | "smell":
            return _done(now, one, **felt(one, said), **for_drain(now, one, said))
        case instrument if instrument in DRAIN_INSTRUMENTS:
            return _done(now, one, **for_drain(now, one, said))
        case "dipstick" | "tape_line":
            return _levelled(now, one, said, inputs)
        case _:
            odd = Finding(code="says-nothing-here", entry=one.id)
            return _done(now, one, findings=(odd,))


def _levelled(now: LiquidState, one: InForce, said: kinds.ReadingTaken, inputs: Inputs) -> Step:
    """Read a level: what is missing went with sheets, so its powder went along."""
    measured = level_of(said, inputs.state("vessel", now.vessel))
    if measured is None:
        odd = Finding(code="floor-not-known", entry=one.id)
        return _done(now, one, findings=(odd,))
    level = estimate.kalman_updated(
        mean=now.volume_ml,
        variance=now.volume_sd_ml**2,
        reading=measured.volume_ml,
        reading_variance=measured.sd_ml**2,
    )
    volume_ml = max(0.0, level.mean)
    return _done(
        now,
        one,
        volume_ml=volume_ml,
        volume_sd_ml=level.variance**0.5,
        powder_g=volume_ml * now.dose_g_per_l / ML_PER_L if now.dose_g_per_l else now.powder_g,
    )


def _drop(now: LiquidState, one: InForce, said: kinds.ReadingTaken) -> DropTest:
    return DropTest(
        at=one.at,
        by=one.author,
        outcome=said.outcome or "",
        spread_mm=None if said.spread_mm is None else float(said.spread_mm),
        room_h=now.room_h,
        chilled_h=now.chilled_h,
    )


def _run_out(one: InForce, said: kinds.ReadingTaken) -> RunOut:
    assert said.seconds is not None
    return RunOut(
        at=one.at,
        by=one.author,
        funnel=said.funnel,
        seconds=float(said.seconds),
        water_seconds=None if said.water_seconds is None else float(said.water_seconds),
        temperature_c=float(said.temperature.base) if said.temperature else None,
    )


def _split(now: LiquidState, one: InForce, said: kinds.BathSplit) -> Step:
    moves = list[Move]()
    left = now
    for place, given in enumerate(_poured(now, said)):
        left = given.left
        taker = accounts.account("bath", part_of(one.id, place))
        moves += _handed(now, one, taker, given)
    asked_ml = float(sum(part.litres.base for part in said.parts))
    return _done(left, one, moves=tuple(moves), findings=_over_what_stood(now, one, asked_ml))


def _over_what_stood(now: LiquidState, one: InForce, asked_ml: float) -> tuple[Finding, ...]:
    """Say so when more was poured off than can have stood there, nine times in ten."""
    if asked_ml <= now.volume_ml + Z_90 * now.volume_sd_ml:
        return ()
    return (Finding(code="more-than-stood-there", entry=one.id),)


def _handed(giver: LiquidState, one: InForce, taker: str, given: Given) -> tuple[Move, ...]:
    ends = accounts.account("bath", giver.id), taker
    fraction = Z_90 * given.sd_ml / given.volume_ml if given.volume_ml > 0 else 0.0
    water_ul = given.volume_ml * accounts.UL_PER_ML
    water = _move(one, accounts.WATER, *ends, water_ul, fraction)
    if not giver.of:
        return accounts.posted(water)
    powder_ug = given.powder_g * accounts.UG_PER_G
    powder = _move(one, accounts.powder(giver.of), *ends, powder_ug, fraction)
    return accounts.posted(water, powder)


def _joined(now: LiquidState, one: InForce, said: kinds.BathJoined, inputs: Inputs) -> Step:
    """Take in another bath, or be taken: the mixture is as old as the older of the two."""
    asked_ml = float(said.litres.base) if said.litres else None
    if said.giver == now.id:
        left = _given(now, asked_ml).left
        ended: dict[str, Any] = {}
        if asked_ml is None:
            ended = {"finished_at": one.at, "finish_reason": "poured_together"}
        return _done(left, one, findings=_over_what_stood(now, one, asked_ml or 0.0), **ended)
    giver = inputs.given(said.giver, one.id)
    if not isinstance(giver, LiquidState):
        return _done(now, one, findings=(not_from(giver, one, said),))
    other = brought_to(giver, one.at, area_m2=_area(giver, inputs))
    return _poured_in(now, one, other, _given(other, asked_ml), inputs)


def _poured_in(
    now: LiquidState, one: InForce, other: LiquidState, given: Given, inputs: Inputs
) -> Step:
    """Take in liquid of another bath, with what is against it: a stop goes on with it."""
    findings: tuple[Finding, ...] = ()
    if (other.what, other.of) != (now.what, now.of):
        findings = (Finding(code="other-liquid", entry=one.id),)
    older = max(now, other, key=_warm_h)
    rests = [until for until in (now.rest_until, other.rest_until) if until is not None]
    step = _done(
        now,
        one,
        moves=_handed(other, one, accounts.account("bath", now.id), given),
        findings=findings,
        volume_ml=now.volume_ml + given.volume_ml,
        volume_sd_ml=(now.volume_sd_ml**2 + given.sd_ml**2) ** 0.5,
        of=now.of or other.of,
        powder_g=now.powder_g + given.powder_g,
        damp_m2=now.damp_m2 + given.damp_m2,
        how=max(now.how, other.how, key=HOW.index),
        mixed_at=min(now.mixed_at, other.mixed_at),
        rest_until=max(rests, default=None),
        room_h=older.room_h,
        chilled_h=older.chilled_h,
        looked=_worse(now.looked, other.looked, kinds.LOOKS),
        smelled=_worse(now.smelled, other.smelled, kinds.SMELLS),
        stop=now.stop or poured_in_with(other.stop, other.name, one),
        drops=(),
        run_outs=(),
        put_in=with_put_in(now.put_in, *other.put_in, PutIn("water", one.at)),
        treated=(*now.treated, *other.treated)[-TREATED_KEPT:],
    )
    vessel = inputs.state("vessel", now.vessel)
    return step._replace(findings=(*step.findings, *_over(step.state, one, vessel)))


def _warm_h(state: LiquidState) -> float:
    return state.room_h + value("chilled_fraction") * state.chilled_h


def _worse(mine: Seen | None, other: Seen | None, turn: tuple[str, ...]) -> Seen | None:
    """Return the worse of what was seen, fine things first in turn; fine wants both seen."""
    seen = [one for one in (mine, other) if one is not None]
    worst = max(seen, key=lambda one: turn.index(one.outcome), default=None)
    if worst is None or (len(seen) == 1 and worst.outcome == turn[0]):
        return None
    return worst


def _carried(now: LiquidState, one: InForce, vessel_id: Subject, inputs: Inputs) -> Step:
    vessel = inputs.state("vessel", vessel_id)
    return _done(
        now,
        one,
        findings=_over(now, one, vessel),
        vessel=vessel_id,
        studio=vessel.studio if vessel else now.studio,
        open=vessel is not None and not vessel.lidded,
        chilled=False,
    )
