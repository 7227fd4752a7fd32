"""Folds of lots: what came in, what was seen, moved, put right and cut."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.measure import bare_spoon
from coop.ledger.states import LotCount, LotState, PaperState, SpoonWeight
from coop.ledger.table import supply_of
from coop.units.quantity import Quantity
from coop.units.table import MASS, UNITS

COUNTS_KEPT = 6
LEVELS = 4
QUARTERS_OF_A_SHEET = accounts.QUARTERS["full"]
CENTS = Decimal("0.01")
_ACROSS = MappingProxyType({"long": "short", "short": "long"})


def fold_lot(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """
    A lot is received, cut from another's sheets, or a part of another that was moved.

    What goes out of it into baths and stacks stands with its taker. The spoon weighed last
    counts for all that was said by the spoon or by volume, before it and after.
    """
    made = next((one for one in entries if Subject(one.id) == subject), None)
    spoon = _last_spoon(entries)
    state, moves, findings = _made(subject, made, inputs, spoon) if made else (None, (), ())
    if state is None:
        return NOTHING
    if spoon is not None:
        state = replace(state, spoon=spoon)
    rows = list(moves)
    for one in entries:
        state = _after(state, one)
        rows += _moved_by(state, one)
    return Folded(
        state=state,
        moves=accounts.posted(*rows),
        findings=(*findings, *_without_count(entries)),
        home=state.studio,
        live=True,
    )


def giver_of(subject: Subject, entries: tuple[InForce, ...]) -> Subject | None:
    """Return the lot that a lot was a part of, or cut from; None for one that came in."""
    made = next((one for one in entries if Subject(one.id) == subject), None)
    match made.content if made else None:
        case kinds.LotMoved(lot=lot) | kinds.LotCut(lot=lot):
            return lot
        case _:
            return None


def _last_spoon(entries: tuple[InForce, ...]) -> SpoonWeight | None:
    """Return the spoon of the lot itself that was weighed last."""
    weighed = [one for one in entries if isinstance(one.content, kinds.LotSpoonWeighed)]
    return _spoon(weighed[-1]) if weighed else None


def _spoon(one: InForce) -> SpoonWeight:
    said = one.content
    assert isinstance(said, kinds.LotSpoonWeighed)
    spoon_ml = float(UNITS[said.spoon].factor) * said.spoon_count
    return SpoonWeight(at=one.at, by=one.author, g_per_ml=float(said.weight.base) / spoon_ml)


def _without_count(entries: tuple[InForce, ...]) -> Iterator[Finding]:
    """Say which entries put a count right that was taken back since."""
    counts = {Subject(one.id) for one in entries if isinstance(one.content, kinds.LotCounted)}
    for one in entries:
        match one.content:
            case kinds.LotAdjusted(counted=counted) if counted and counted not in counts:
                yield Finding(code="put-right-without-count", entry=one.id)
            case _:
                pass


Made = tuple[LotState | None, tuple[Move, ...], tuple[Finding, ...]]


def _made(subject: Subject, one: InForce, inputs: Inputs, spoon: SpoonWeight | None) -> Made:
    """Return a lot as it began, with the rows that brought it."""
    match one.content:
        case kinds.LotReceived() as said:
            state = _received(subject, one, said, spoon)
            came = accounts.row(
                entry=one.id,
                at=one.at,
                substance=state.substance,
                from_account=accounts.SUPPLIER,
                to_account=accounts.account("lot", subject),
                amount=state.received,
            )
            return state, (came,), ()
        case kinds.LotMoved() as said:
            return _part(subject, one, said, inputs), (), ()
        case kinds.LotCut() as said:
            return _cut(subject, one, said, inputs)
        case _:
            return None, (), ()


def _received(
    subject: Subject, one: InForce, said: kinds.LotReceived, spoon: SpoonWeight | None
) -> LotState:
    measure, pack = pack_of(said, spoon)
    return LotState(
        id=subject,
        studio=said.studio,
        what=said.what,
        name=said.name,
        salt=said.salt,
        paper=said.paper,
        substance=supply_of(said),
        measure=measure,
        supplier=said.supplier,
        sold_by=said.sold_by,
        order=said.order,
        received_at=one.at,
        received_by=one.author,
        pack_count=said.pack_count,
        pack=pack,
        received=pack * said.pack_count,
        carrageenan=said.carrageenan,
        chalk=said.chalk,
        chalk_g_per_m2=None if said.chalk_g_per_m2 is None else float(said.chalk_g_per_m2),
        grain=said.grain,
        soda=said.soda,
        tare_g=float(said.tare.base) if said.tare else None,
        best_before=said.best_before,
        opened_days=said.opened_days,
    )


def pack_of(said: kinds.LotReceived, spoon: SpoonWeight | None = None) -> tuple[str, int]:
    """Return the measure of a lot and what one pack of it holds, in the unit of its rows."""
    density = spoon.g_per_ml if spoon else None
    if said.sheet_count is not None and said.what == "paper":
        return "sheets", base_amount(said.what, None, said.sheet_count)
    if said.piece_count is not None:
        return "pieces", said.piece_count
    held = said.weight or said.volume
    by_volume = said.what == "supply" and said.weight is None and said.volume is not None
    pack = base_amount(said.what, held, None, g_per_ml=density)
    return "volume" if by_volume else "weight", pack


def base_amount(
    what: str,
    amount: Quantity | None,
    count: Fraction | int | None,
    *,
    g_per_ml: float | None = None,
) -> int:
    """
    Return an amount in the unit of its rows.

    Micrograms of what is weighed, microlitres of what is poured, quarters of a full sheet,
    or pieces. A powder that was said by volume is reckoned by its spoon.

    Args:
        what: What it is of [one of kinds.LOTS].
        g_per_ml: The lot's own spoon [g/mL]; None for the published range's middle.
    """
    if amount is None:
        whole = Fraction(count or 0)
        return round(whole * QUARTERS_OF_A_SHEET) if what == "paper" else round(whole)
    if amount.dimension == MASS:
        return round(amount.base * accounts.UG_PER_G)
    if what == "supply":
        return round(amount.base * accounts.UL_PER_ML)
    density = bare_spoon(what)[0] if g_per_ml is None else g_per_ml
    return round(float(amount.base) * density * accounts.UG_PER_G)


def _part(
    subject: Subject, one: InForce, said: kinds.LotMoved, inputs: Inputs
) -> LotState | None:
    """Return the part of a lot that now stands in another studio: of the same age and kind."""
    giver: LotState | None = inputs.state("lot", said.lot)
    amount = amount_of(giver, said) if giver else 0
    if giver is None or amount <= 0:
        return None
    return replace(
        giver,
        id=subject,
        studio=said.studio,
        opened_at=_opened_before(giver, one),
        part_of=giver.id,
        order=None,
        pack_count=1,
        pack=amount,
        received=amount,
        put_to=0,
        price=None,
        counts=(),
    )


def _opened_before(giver: LotState, one: InForce) -> datetime | None:
    """Return when a lot was opened, if a part of it was taken out of the open pack."""
    opened = giver.opened_at
    return opened if opened is not None and opened <= one.at else None


def amount_of(lot: LotState, said: kinds.LotMoved | kinds.LotAdjusted) -> int:
    """Return how much of a lot an entry about it moves, in the unit of its rows."""
    return _said_of(lot, said.amount, said.count)


def thrown_of(lot: LotState, amount: Quantity) -> int:
    """
    Return how much of a lot an amount of it is, in the unit of its rows.

    0 where it cannot be said: sheets and pieces have no grams here, and what is kept by weight
    has no litres but by a spoon.
    """
    by_weight = amount.dimension == MASS
    if lot.measure == "volume":
        return 0 if by_weight else _said_of(lot, amount, None)
    if lot.measure == "weight" and (by_weight or lot.what != "supply"):
        return _said_of(lot, amount, None)
    return 0


def _said_of(lot: LotState, amount: Quantity | None, count: Fraction | int | None) -> int:
    """Return an amount said of a lot in the unit of its rows."""
    density = lot.spoon.g_per_ml if lot.spoon else None
    return base_amount(lot.what, amount, count, g_per_ml=density)


def _cut(subject: Subject, one: InForce, said: kinds.LotCut, inputs: Inputs) -> Made:
    """Return the lot of sheets cut from another's, with both rows and what was odd."""
    giver: LotState | None = inputs.state("lot", said.lot)
    if giver is None or giver.what != "paper":
        return None, (), ()
    took = base_amount("paper", None, said.sheet_count)
    made = base_amount("paper", None, said.made_count)
    offcut_m2 = _offcut_m2(giver, said, inputs)
    state = replace(
        giver,
        id=subject,
        name=said.name,
        paper=said.paper,
        substance=Subject(accounts.paper(said.paper)),
        grain=grain_of_cut(giver.grain, turned=said.turned),
        order=None,
        opened_at=_opened_before(giver, one),
        cut_from=giver.id,
        offcut_m2=offcut_m2,
        pack_count=1,
        pack=made,
        received=made,
        put_to=0,
        price=None,
        counts=(),
    )
    moves = (
        _cut_row(one, giver, accounts.account("lot", giver.id), accounts.CUT, took),
        _cut_row(one, state, accounts.CUT, accounts.account("lot", subject), made),
    )
    over = offcut_m2 is not None and offcut_m2 < 0
    odd = (Finding(code="cut-over-the-sheet", entry=one.id),) if over else ()
    return state, moves, odd


def grain_of_cut(grain: str | None, *, turned: str) -> str | None:
    """
    Return how the grain runs in sheets cut from others: along their long or short side.

    Args:
        grain: That of the parents; None where nobody said.
        turned: Whether the sheets' long side lay across the parents' long side.
    """
    return _ACROSS.get(grain, grain) if grain and turned == "yes" else grain


def _cut_row(one: InForce, lot: LotState, come: str, go: str, amount: int) -> Move:
    return accounts.row(
        entry=one.id,
        at=one.at,
        substance=lot.substance,
        from_account=come,
        to_account=go,
        amount=amount,
    )


def _offcut_m2(giver: LotState, said: kinds.LotCut, inputs: Inputs) -> float | None:
    """Return the area that cutting leaves over [m2]; None when a paper is not described."""
    parent: PaperState | None = inputs.state("paper", giver.paper)
    sheet: PaperState | None = inputs.state("paper", said.paper)
    if parent is None or sheet is None:
        return None
    return said.sheet_count * parent.area_m2 - said.made_count * sheet.area_m2


def _after(state: LotState, one: InForce) -> LotState:
    """Return a lot after one of its entries."""
    match one.content:
        case kinds.LotOpened(tare=tare):
            tare_g = float(tare.base) if tare else state.tare_g
            return replace(state, opened_at=state.opened_at or one.at, tare_g=tare_g)
        case kinds.LotCounted() as said:
            counts = (*state.counts, _count(state, one, said))[-COUNTS_KEPT:]
            return replace(state, counts=counts)
        case kinds.LotMoved(lot=lot, amount=None, count=None) as said if lot == state.id:
            return replace(state, studio=said.studio)
        case kinds.LotMoved(into=into) as said if into == state.id:
            return replace(state, put_to=state.put_to + amount_of(state, said))
        case kinds.LotAdjusted() as said:
            more = amount_of(state, said) if said.way == "in" else 0
            counts = _put_right(state, said.counted, one.id)
            return replace(state, put_to=state.put_to + more, counts=counts)
        case kinds.LotPriced(price=price):
            cents = Decimal(price.numerator) / Decimal(price.denominator)
            return replace(state, price=cents.quantize(CENTS))
        case _:
            return state


def _count(state: LotState, one: InForce, said: kinds.LotCounted) -> LotCount:
    seen, doubt = seen_of(state, said)
    alone = said.counted_with == Subject(one.author)
    return LotCount(
        entry=one.id,
        at=one.at,
        by=one.author,
        counted_with=None if alone else said.counted_with,
        packs=said.packs or 0,
        seen=seen,
        doubt=doubt,
        note=said.note,
    )


def seen_of(state: LotState, said: kinds.LotCounted) -> tuple[int, int]:
    """
    Return what was seen of a lot and its doubt, in the unit of its rows.

    The scale shows the tub too: its tare is taken off, as said or as written on the lot. A
    level in quarters is good to half a quarter.
    """
    seen = (said.packs or 0) * state.pack
    seen += _said_of(state, said.volume, said.loose)
    if said.weight is not None:
        tare_g = float(said.tare.base) if said.tare else state.tare_g or 0.0
        net_ug = round((float(said.weight.base) - tare_g) * accounts.UG_PER_G)
        seen += max(0, net_ug)
    if said.level is None:
        return seen, 0
    return seen + state.pack * said.level // LEVELS, state.pack // LEVELS // 2


def _put_right(
    state: LotState, counted: Subject | None, entry: EntryId
) -> tuple[LotCount, ...]:
    return tuple(
        replace(one, put_right=entry) if Subject(one.entry) == counted else one
        for one in state.counts
    )


def _moved_by(state: LotState, one: InForce) -> list[Move]:
    """Return the rows by which a lot gives a part away or is put right."""
    match one.content:
        case kinds.LotMoved(lot=lot) as said if lot == state.id:
            amount = amount_of(state, said)
            taker = said.into or Subject(one.id)
            ends = accounts.account("lot", lot), accounts.account("lot", taker)
            at = one.at
        case kinds.LotAdjusted() as said:
            amount = amount_of(state, said)
            ends = accounts.account("lot", state.id), accounts.cause(said.cause)
            ends = ends if said.way == "out" else (ends[1], ends[0])
            at = _counted_at(state, said.counted) or one.at
        case _:
            return []
    if ends[0] == ends[1]:
        return []
    return [
        accounts.row(
            entry=one.id,
            at=at,
            substance=state.substance,
            from_account=ends[0],
            to_account=ends[1],
            amount=amount,
        )
    ]


def _counted_at(state: LotState, counted: Subject | None) -> datetime | None:
    """Return when a count was made: what puts it right belongs to that moment."""
    return next((one.at for one in state.counts if Subject(one.entry) == counted), None)
