"""
Folds of what is got rid of: waste jars, the lines of a studio's log, its rules of the drain.

What leaves a bath is posted with the bath, what leaves a jar with the jar, and what comes from
neither with the log's own line; so the litres of every way out stand in the accounts once.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from coop.ids import Subject
from coop.ledger import accounts, kinds, liquids
from coop.ledger.accounts import Move
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState, brought_to, handed
from coop.ledger.descriptions import edition_of
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.lots import thrown_of
from coop.ledger.states import (
    DisposalState,
    Hands,
    JarPart,
    JarState,
    JugState,
    LedgerState,
    LotState,
    PackEdition,
    PutIn,
    RulesState,
    VesselState,
)
from coop.ledger.table import LEDGER
from coop.ledger.ways_out import (
    AMMONIUM_ALUM,
    DRAIN_INSTRUMENTS,
    LITTLE_ML,
    TREATED_KEPT,
    alum_in,
    base_moves,
    base_of,
    drain_reading,
    from_nowhere,
    leaves,
    put_in_by,
    to_go,
    treated,
    way_out,
    with_put_in,
    with_reading,
)
from coop.science.bath import WATER_SD_FRACTION
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import Z_90, value
from coop.units.quantity import Quantity

Grams = tuple[tuple[str, float], ...]

PARTS_KEPT = 100
EDITIONS_KEPT = 50
LITTLE_G = 1.0
"""With less than this of what was weighed in it a jar counts as empty of it."""
RINSE_ML_PER_SHEET = ML_PER_L * value("rinse_l_per_sheet")


# ---- jars


@dataclass(frozen=True, slots=True)
class _Step:
    """A jar after one of its entries."""

    state: JarState
    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()


def fold_jar(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """
    Fold a waste jar: what went in, what went out, what was read of it.

    One that was taken away and has something in it all the same, by what was written late, is
    listed with what must still go.
    """
    steps = [step for _, step in _steps(subject, entries, inputs)]
    if not steps:
        return replace(NOTHING, findings=tuple(_of_no_jar(subject, entries)))
    state = steps[-1].state
    is_over = state.ended_at is not None
    return Folded(
        state=state,
        moves=tuple(move for one in steps for move in one.moves),
        findings=tuple(found for one in steps for found in one.findings),
        home=to_go(state.studio) if is_over and is_filled(state) else state.studio,
        live=not is_over,
    )


def jar_states(
    subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[tuple[InForce, JarState]]:
    """Give each entry of a jar, the one that set it up first, with the jar after it."""
    return ((one, step.state) for one, step in _steps(subject, entries, inputs))


def _steps(
    subject: Subject, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[tuple[InForce, _Step]]:
    begun = next((one for one in entries if Subject(one.id) == subject), None)
    if begun is None or not isinstance(begun.content, kinds.WasteStarted):
        return
    state = _started(begun, begun.content)
    yield begun, _Step(state)
    for one in entries:
        if one.id == begun.id:
            continue
        step = _jar_next(state, one, inputs)
        late = state.ended_at is not None and isinstance(one.content, MOVING)
        odd = (Finding(code="after-the-finish", entry=one.id),) if late else ()
        state = replace(step.state, hands=Hands(one.id, one.author, one.at, one.kind))
        yield one, _Step(state, step.moves, (*odd, *step.findings))


def is_filled(jar: JarState) -> bool:
    """Say whether something is in a jar."""
    return jar.volume_ml >= LITTLE_ML or jar.weight_g >= LITTLE_G


MOVING = (kinds.WasteAdded, kinds.DisposalDone, kinds.WasteCollected, kinds.WasteCarried)
"""What cannot be done to a jar that was taken away."""


def _of_no_jar(subject: Subject, entries: Iterable[InForce]) -> Iterator[Finding]:
    """Tell what is said of a jar that nobody set up, or not yet."""
    for one in entries:
        match one.content:
            case kinds.WasteAdded(jar=jar) if jar == subject:
                yield Finding(code="taker-not-known", entry=one.id, detail=subject)
            case kinds.WasteCollected():
                yield Finding(code="giver-not-known", entry=one.id, detail=subject)
            case said if leaves(said):
                yield Finding(code="giver-not-known", entry=one.id, detail=subject)
            case _:
                pass


def _started(one: InForce, said: kinds.WasteStarted) -> JarState:
    return JarState(
        id=Subject(one.id),
        studio=said.studio,
        name=said.name,
        sort=said.sort,
        holds_ml=float(said.holds.base),
        wastes=said.wastes,
        place=said.place,
        area=said.area or "",
        tags=said.tags,
        started_at=one.at,
        started_by=one.author,
        full_by=said.full_by,
        collect_by=said.collect_by,
        hands=Hands(one.id, one.author, one.at, one.kind),
    )


def _jar_next(state: JarState, one: InForce, inputs: Inputs) -> _Step:
    match one.content:
        case kinds.WasteAdded(jar=jar) as said if jar == state.id:
            return _put_in(state, one, said, inputs)
        case kinds.WasteAdded() | kinds.DisposalDone() as said:
            return _taken(state, one, way_out(one), litres=said.litres, weight=said.weight)
        case kinds.MishapNoted(litres=litres) if litres is not None:
            return _taken(state, one, way_out(one), litres=litres)
        case kinds.WasteCollected() as said:
            return _collected(state, one, said)
        case kinds.WasteCarried(studio=studio):
            return _Step(replace(state, studio=studio, place=""))
        case kinds.DisposalTreated() as said:
            step = treated(one, said)
            moves = base_moves(one, said, inputs, accounts.account("jar", state.id))
            kept = (*state.treated, step)[-TREATED_KEPT:]
            put_in = with_put_in(state.put_in, *put_in_by(one, said, _alum_of(state)))
            return _Step(replace(state, treated=kept, put_in=put_in), moves)
        case kinds.ReadingTaken() as said:
            return _jar_read(state, one, said, inputs)
        case _:
            return _Step(state)


def _alum_of(state: JarState) -> str:
    """Return the alum in a jar; ammonium alum where any is."""
    return max((alum_in(salt) for salt, _ in state.salts), key=len, default="alum")


def _put_in(state: JarState, one: InForce, said: kinds.WasteAdded, inputs: Inputs) -> _Step:
    """Take something in; of a bath it is posted there."""
    volume_ml, sd_ml, salts = _brought(one, said, inputs)
    part = JarPart(
        entry=one.id,
        at=one.at,
        by=one.author,
        waste=said.waste,
        volume_ml=volume_ml,
        weight_g=base_of(said.weight),
        metal_pigments=said.metal_pigments,
        hazardous=said.hazardous,
        acute=said.acute == "yes",
        bath=said.bath,
        substances=said.substances,
    )
    now_ml = state.volume_ml + volume_ml
    is_full = said.full == "yes" or now_ml >= state.holds_ml
    today = day_of(one, inputs)
    first = min(day for day in (said.since, state.first_on, today) if day)
    after = replace(
        state,
        volume_ml=now_ml,
        volume_sd_ml=(state.volume_sd_ml**2 + sd_ml**2) ** 0.5,
        weighed=_with(state.weighed, dict(_weighed(said, inputs))),
        salts=_with(state.salts, salts),
        first_on=first,
        full_on=state.full_on or (today if is_full else None),
        parts=(*state.parts, part)[-PARTS_KEPT:],
        emptied_at=None,
        **_all_in_all(state, one, said, salts),
    )
    over = now_ml > state.holds_ml + Z_90 * after.volume_sd_ml
    odd = (Finding(code="over-the-brim", entry=one.id),) if over else ()
    return _Step(after, _from_nowhere(one, said, volume_ml, inputs), odd)


def _all_in_all(
    state: JarState, one: InForce, said: kinds.WasteAdded, salts: dict[str, float]
) -> dict[str, Any]:
    """Return what is known of everything in a jar, with what goes in now."""
    substances = [*said.substances, *map(alum_in, salts)]
    more = [PutIn(what, one.at) for what in ("water", *dict.fromkeys(substances))]
    wastes = (said.waste, *said.wastes)
    has_alum = "alum_bath" in wastes or {"alum", AMMONIUM_ALUM} & set(said.substances)
    return {
        "salts_known": state.salts_known and bool(salts or not has_alum),
        "wastes_in": _also(state.wastes_in, *wastes),
        "substances_in": _also(state.substances_in, *substances),
        "metal_pigments": _worse_of(state.metal_pigments, said.metal_pigments),
        "hazardous": _worse_of(state.hazardous, said.hazardous),
        "acute": state.acute or said.acute == "yes",
        "put_in": with_put_in(state.put_in, *more),
    }


def _also(there: tuple[str, ...], *more: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*there, *more)))


def _worse_of(one: str, other: str) -> str:
    """Return yes if one of two is, else that it is not known if one is not, else no."""
    return next((each for each in ("yes", "not_known") if each in (one, other)), "no")


def _brought(
    one: InForce, said: kinds.WasteAdded, inputs: Inputs
) -> tuple[float, float, dict[str, float]]:
    """Return litres with their sd, and grams of each salt, that something brings along [mL]."""
    if not leaves(said):
        return 0.0, 0.0, {}
    if said.bath is not None:
        return _of_bath(inputs.given(said.bath, one.id), one, said.litres, inputs)
    volume_ml = said_ml(said.litres, said.sheet_count)
    if volume_ml is None:
        jug: JugState | None = inputs.state("jug", said.jug)
        volume_ml = (jug.volume_ml if jug else None) or 0.0
    return volume_ml, volume_ml * WATER_SD_FRACTION, {}


def _of_bath(
    bath: AnyBath | None, one: InForce, litres: Quantity | None, inputs: Inputs
) -> tuple[float, float, dict[str, float]]:
    """Return what a bath gave, as it stood when it gave it."""
    if bath is None:
        volume_ml = base_of(litres)
        return volume_ml, volume_ml * WATER_SD_FRACTION, {}
    vessel: VesselState | None = inputs.state("vessel", bath.vessel)
    area_m2 = vessel.area_m2 if vessel else None
    if isinstance(bath, BathState):
        then = brought_to(bath, one.at, area_m2=area_m2).estimate
        given = handed(then, base_of(litres) if litres else None)
        salt_g = given.volume_ml * given.strength_g_per_l / ML_PER_L
        return given.volume_ml, given.volume_sd_ml, {bath.salt: salt_g}
    liquid = liquids.brought_to(bath, one.at, area_m2=area_m2)
    volume_ml = min(base_of(litres), liquid.volume_ml) if litres else liquid.volume_ml
    return volume_ml, liquid.volume_sd_ml, {}


def said_ml(litres: Quantity | None, sheet_count: int | None) -> float | None:
    """Return litres as said, or as so many sheets are rinsed with; None where neither [mL]."""
    if litres is not None:
        return float(litres.base)
    return None if sheet_count is None else sheet_count * RINSE_ML_PER_SHEET


def _weighed(said: kinds.WasteAdded, inputs: Inputs) -> Iterator[tuple[str, float]]:
    """Give the grams of what was weighed into a jar, with the name its rows have."""
    if said.weight is not None:
        lot: LotState | None = inputs.state("lot", said.lot)
        own = lot.substance if lot and _keeps_its_name(lot, said) else ""
        yield own or accounts.waste(said.waste), base_of(said.weight)


def _with(held: Grams, more: dict[str, float]) -> Grams:
    total = dict(held)
    for name, grams in more.items():
        total[name] = total.get(name, 0.0) + grams
    return tuple(sorted(total.items()))


def _from_nowhere(
    one: InForce, said: kinds.WasteAdded, volume_ml: float, inputs: Inputs
) -> tuple[Move, ...]:
    """Return the rows of what came from no bath and no other jar, or was weighed by itself."""
    of_bath = said.bath is not None and leaves(said)
    if of_bath or said.from_jar is not None:
        return ()
    return _rows(one, said, volume_ml, way_out(one), inputs)


def _rows(
    one: InForce,
    said: kinds.WasteAdded | kinds.DisposalDone,
    volume_ml: float | None,
    to: str,
    inputs: Inputs,
) -> tuple[Move, ...]:
    """
    Return the rows of something weighed or poured that stood in no bath or jar.

    What leaves a lot in another measure than the lot's turns into so many grams or litres of
    waste, or leaves nothing where nobody knows how much that was.
    """
    lot: LotState | None = inputs.state("lot", said.lot)
    thrown = said.weight or said.litres
    if lot is None or thrown is None:
        giver = accounts.TAP if said.weight is None else accounts.MADE
        return _as_waste(one, said, volume_ml, giver, to)
    itself = to if _keeps_its_name(lot, said) else accounts.MADE
    gone = _row(
        one, lot.substance, accounts.account("lot", lot.id), itself, thrown_of(lot, thrown)
    )
    return (
        (*gone, *_as_waste(one, said, volume_ml, accounts.MADE, to)) if itself != to else gone
    )


def _keeps_its_name(lot: LotState, said: kinds.WasteAdded | kinds.DisposalDone) -> bool:
    """Say whether something is still what its lot is of: both are weighed."""
    return lot.measure == "weight" and said.weight is not None


def _as_waste(
    one: InForce,
    said: kinds.WasteAdded | kinds.DisposalDone,
    volume_ml: float | None,
    giver: str,
    to: str,
) -> tuple[Move, ...]:
    if said.weight is not None:
        amount = round(said.weight.base * accounts.UG_PER_G)
        return _row(one, accounts.waste(said.waste), giver, to, amount)
    return _row(one, accounts.WATER, giver, to, round((volume_ml or 0.0) * accounts.UL_PER_ML))


def _row(one: InForce, substance: str, giver: str, taker: str, amount: int) -> tuple[Move, ...]:
    return accounts.posted(
        accounts.row(
            entry=one.id,
            at=one.at,
            substance=substance,
            from_account=giver,
            to_account=taker,
            amount=amount,
        )
    )


class _Going(NamedTuple):
    """What leaves a jar: litres with their sd, the share of salts and of what was weighed."""

    volume_ml: float
    sd_ml: float
    share: float
    weighed_share: float


def _taken(
    state: JarState,
    one: InForce,
    to: str,
    *,
    litres: Quantity | None = None,
    weight: Quantity | None = None,
) -> _Step:
    """Let litres go, or grams, or without either all there is; an empty jar begins anew."""
    going = _going(state, litres, weight)
    moves = _jar_rows(state, one, to, going)
    odd = _more_than_there(state, one, base_of(litres), base_of(weight))
    left = replace(
        state,
        volume_ml=max(0.0, state.volume_ml - going.volume_ml),
        volume_sd_ml=(state.volume_sd_ml**2 + going.sd_ml**2) ** 0.5,
        salts=_less(state.salts, going.share),
        weighed=_less(state.weighed, going.weighed_share),
    )
    if not is_filled(left):
        return _Step(_emptied(state, one), moves, odd)
    return _Step(left, moves, odd)


def _going(state: JarState, litres: Quantity | None, weight: Quantity | None) -> _Going:
    """
    Return what leaves a jar: with litres goes their share of all that is in it.

    Litres went as they are said to have gone, also where fewer are known of.
    """
    if weight is not None:
        there_g = state.weight_g
        return _Going(0.0, 0.0, 0.0, min(1.0, base_of(weight) / there_g) if there_g else 0.0)
    if litres is None:
        return _Going(state.volume_ml, state.volume_sd_ml, 1.0, 1.0)
    gone_ml = base_of(litres)
    share = min(1.0, gone_ml / state.volume_ml) if state.volume_ml > 0 else 0.0
    return _Going(gone_ml, gone_ml * WATER_SD_FRACTION, share, share)


def _less(held: Grams, share: float) -> Grams:
    return tuple((name, grams * (1 - share)) for name, grams in held)


def _more_than_there(
    state: JarState, one: InForce, asked_ml: float, asked_g: float
) -> tuple[Finding, ...]:
    over_ml = asked_ml > state.volume_ml + Z_90 * state.volume_sd_ml + LITTLE_ML
    over_g = asked_g > state.weight_g + LITTLE_G
    return (Finding(code="more-than-stood-there", entry=one.id),) if over_ml or over_g else ()


def _emptied(state: JarState, one: InForce) -> JarState:
    return replace(
        state,
        volume_ml=0.0,
        volume_sd_ml=0.0,
        salts=(),
        weighed=(),
        first_on=None,
        full_on=None,
        parts=(),
        readings=(),
        treated=(),
        salts_known=True,
        wastes_in=(),
        substances_in=(),
        metal_pigments="",
        hazardous="",
        acute=False,
        put_in=(),
        emptied_at=one.at,
    )


def _jar_rows(state: JarState, one: InForce, to: str, going: _Going) -> tuple[Move, ...]:
    weighed = [(accounts.salt(salt), grams * going.share) for salt, grams in state.salts]
    weighed += [(name, grams * going.weighed_share) for name, grams in state.weighed]
    rows = [
        (accounts.WATER, going.volume_ml * accounts.UL_PER_ML, going.sd_ml * accounts.UL_PER_ML)
    ]
    rows += [(substance, grams * accounts.UG_PER_G, 0.0) for substance, grams in weighed]
    return accounts.posted(
        *(
            accounts.row(
                entry=one.id,
                at=one.at,
                substance=substance,
                from_account=accounts.account("jar", state.id),
                to_account=to,
                amount=round(amount),
                doubt=round(sd * Z_90),
            )
            for substance, amount, sd in rows
        )
    )


def _collected(state: JarState, one: InForce, said: kinds.WasteCollected) -> _Step:
    """Let go what was fetched; with the jar goes all that is in it."""
    to = accounts.collected(state.studio)
    if said.jar_gone == "no":
        return _taken(state, one, to, litres=said.litres)
    step = _taken(state, one, to)
    return replace(step, state=replace(step.state, ended_at=state.ended_at or one.at))


def _jar_read(state: JarState, one: InForce, said: kinds.ReadingTaken, inputs: Inputs) -> _Step:
    """Take a reading: litres seen stand for what was reckoned."""
    if said.instrument == "tape_line":
        return _levelled(state, one, base_of(said.litres), day_of(one, inputs))
    if said.instrument not in DRAIN_INSTRUMENTS | {"thermometer"}:
        return _Step(state, findings=(Finding(code="says-nothing-here", entry=one.id),))
    readings = with_reading(state.readings, drain_reading(one, said))
    return _Step(replace(state, readings=readings))


def _levelled(state: JarState, one: InForce, volume_ml: float, day: date) -> _Step:
    """Post what is there beyond what was written, or what is lost of it."""
    more_ml = volume_ml - state.volume_ml
    jar = accounts.account("jar", state.id)
    ends = (accounts.MADE, jar) if more_ml > 0 else (jar, accounts.cause("lost"))
    moves = _row(one, accounts.WATER, *ends, round(abs(more_ml) * accounts.UL_PER_ML))
    seen = replace(
        state,
        volume_ml=volume_ml,
        volume_sd_ml=volume_ml * WATER_SD_FRACTION,
        first_on=state.first_on or day,
        emptied_at=None,
    )
    return _Step(seen, moves)


# ---- the log


def fold_disposal(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """A line of a studio's log; what stood in no bath and no jar is posted here."""
    one = next((each for each in entries if Subject(each.id) == subject), None)
    line = None if one is None else _line(one, inputs)
    if one is None or line is None:
        return NOTHING
    moves: tuple[Move, ...] = ()
    match one.content:
        case kinds.DisposalDone(jar=None) as said if said.bath is None or not leaves(said):
            jug: JugState | None = inputs.state("jug", said.jug)
            volume_ml = said_ml(said.litres, said.sheet_count)
            if volume_ml is None and jug is not None:
                volume_ml = jug.volume_ml
            moves = _rows(one, said, volume_ml, way_out(one), inputs)
        case kinds.MishapNoted(bath=None, jar=None, litres=litres) if litres:
            moves = from_nowhere(one, litres, accounts.TAP)
        case _:
            pass
    home = log_home(line.studio, line.on)
    return Folded(state=line, moves=moves, home=home)


def day_of(one: InForce, inputs: Inputs) -> date:
    """Return the day of an entry by the clock of the ledger, wherever it was written."""
    ledger: LedgerState | None = inputs.state("ledger", LEDGER)
    return one.at.astimezone(ZoneInfo(ledger.zone)).date() if ledger else one.at.date()


def log_home(studio: Subject, day: date) -> Subject:
    """
    Return the subject under which a studio's log of a month is listed.

    >>> log_home(Subject("r"), date(2025, 10, 8))
    'r:2025-10'
    """
    return Subject(f"{studio}:{day:%Y-%m}")


def _line(one: InForce, inputs: Inputs) -> DisposalState | None:
    said: Any = one.content
    studio = _studio_of(said, inputs)
    if studio is None:
        return None
    fields = {name: getattr(said, name) for name in _SAME if hasattr(said, name)}
    return DisposalState(
        id=Subject(one.id),
        kind=one.kind,
        studio=studio,
        at=one.at,
        on=day_of(one, inputs),
        by=one.author,
        amount_ml=_or_none(getattr(said, "litres", None)),
        weight_g=_or_none(getattr(said, "weight", None)),
        acute=getattr(said, "acute", "no") == "yes",
        **{name: found for name, found in fields.items() if found is not None},
        **dict(_named_otherwise(said)),
    )


_SAME = (
    "waste", "outlet", "bath", "jar", "from_jar", "jug", "lot", "sheet_count", "step", "base",
    "steps", "without", "outcome", "decision", "reason", "what", "done", "to", "reference",
    "hazardous", "photo", "note",
)  # fmt: skip


def _named_otherwise(said: Any) -> Iterator[tuple[str, Any]]:
    match said:
        case kinds.WasteCollected(by=by):
            yield "who", by
        case kinds.MishapNoted(called=called):
            yield "who", called
        case kinds.WasteCarried(studio=studio, carried_in=vessel):
            yield "to_studio", studio
            yield "to", vessel
        case _:
            pass


def _or_none(amount: Quantity | None) -> float | None:
    return None if amount is None else float(amount.base)


def _studio_of(said: Any, inputs: Inputs) -> Subject | None:
    """Return the studio whose log a line stands in: of what is carried, where it stood."""
    match said:
        case kinds.WasteCarried(from_studio=studio):
            return studio
        case kinds.JarVouched(jug=jug):
            found: JugState | None = inputs.state("jug", jug)
            return found.studio if found else None
        case _:
            return Subject(said.studio)


# ---- rules of the drain


def fold_rules(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The editions of a studio's rules, the newest last; a later one never alters another."""
    newest, findings = edition_of(entries, kinds.RulesPublished)
    if newest is None:
        return NOTHING
    last = newest.content
    assert isinstance(last, kinds.RulesPublished)
    others = [one for one in entries if one.id != newest.id]
    state = RulesState(
        id=subject,
        studio=last.studio,
        pack=last.pack,
        editions=tuple(_editions([*others, newest]))[-EDITIONS_KEPT:],
    )
    live = last.in_use == "yes"
    return Folded(state=state, findings=findings, home=last.studio, live=live)


def _editions(published: Iterable[InForce]) -> Iterator[PackEdition]:
    for one in published:
        said = one.content
        if not isinstance(said, kinds.RulesPublished):
            continue
        yield PackEdition(
            entry=one.id,
            at=one.at,
            by=one.author,
            edition=said.pack_edition,
            document=said.document,
            checked_on=said.checked_on,
            review_on=said.review_on,
            letter=said.letter,
            in_use=said.in_use == "yes",
        )
