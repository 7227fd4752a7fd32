"""Folds of lots and stacks."""

from dataclasses import replace

from coop.ids import Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.states import LotState, SpoonWeight, StackState
from coop.units.table import UNITS


def fold_lot(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """What came in, and the newest spoon weight; what went out stands with its taker."""
    received = [one for one in entries if isinstance(one.content, kinds.LotReceived)]
    if not received:
        return NOTHING
    state, move = _received(subject, received[0])
    for one in entries:
        if isinstance(one.content, kinds.LotSpoonWeighed):
            state = replace(state, spoon=_spoon(one, one.content))
    return Folded(state=state, moves=accounts.posted(move), home=state.studio, live=True)


def _received(subject: Subject, one: InForce) -> tuple[LotState, Move]:
    said = one.content
    assert isinstance(said, kinds.LotReceived)
    grams = said.weight.base if said.weight else 0
    quarters = (said.sheet_count or 0) * accounts.QUARTERS["full"]
    state = LotState(
        id=subject,
        studio=said.studio,
        what=said.what,
        name=said.name,
        salt=said.salt,
        paper=said.paper,
        supplier=said.supplier,
        received_at=one.at,
        received_by=one.author,
        received_ug=round(grams * accounts.UG_PER_G),
        received_quarters=quarters,
    )
    move = Move(
        entry=one.id,
        substance=accounts.salt(said.salt) if said.salt else accounts.paper(said.paper),
        from_account=accounts.SUPPLIER,
        to_account=accounts.account("lot", subject),
        amount=state.received_ug or quarters,
        doubt=0,
        week=accounts.week(one.at),
    )
    return state, move


def _spoon(one: InForce, said: kinds.LotSpoonWeighed) -> SpoonWeight:
    spoon_ml = float(UNITS[said.spoon].factor) * said.spoon_count
    return SpoonWeight(at=one.at, by=one.author, g_per_ml=float(said.weight.base) / spoon_ml)


def fold_stack(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """A stack is made by sheets through; sorted sheets move from it to good or spoiled."""
    made = [one for one in entries if isinstance(one.content, kinds.SheetsThrough)]
    if not made:
        return NOTHING
    said = made[0].content
    assert isinstance(said, kinds.SheetsThrough)
    state = StackState(
        id=subject,
        bath=said.bath,
        by=made[0].author,
        at=made[0].at,
        sheet_count=said.sheet_count,
        sheet_format=said.sheet_format,
        method=said.method,
        lot=said.lot,
        paper=said.paper,
    )
    lot = inputs.state("lot", said.lot)
    substance = accounts.paper(lot.paper if lot else said.paper)
    moves: list[Move] = []
    findings: list[Finding] = []
    for one in entries:
        if isinstance(one.content, kinds.SheetsSorted):
            state = _sorted(state, one.content)
            moves += _sorted_moves(subject, one, one.content, substance, state.sheet_format)
            if state.sorted_count > state.sheet_count:
                findings.append(Finding(code="sorted-over-the-count", entry=one.id))
    left = state.sorted_count < state.sheet_count
    return Folded(
        state=state,
        moves=tuple(moves),
        findings=tuple(findings),
        home=said.bath,
        live=left,
    )


def _sorted(state: StackState, said: kinds.SheetsSorted) -> StackState:
    spoiled = dict(state.spoiled)
    for word in kinds.FAULTS:
        count = getattr(said, word)
        if count:
            spoiled[word] = spoiled.get(word, 0) + count
    return replace(state, good=state.good + said.good, spoiled=tuple(sorted(spoiled.items())))


def _sorted_moves(
    stack: Subject, one: InForce, said: kinds.SheetsSorted, substance: str, sheet_format: str
) -> list[Move]:
    spoiled = sum(getattr(said, word) for word in kinds.FAULTS)
    return [
        Move(
            entry=one.id,
            substance=substance,
            from_account=accounts.account("stack", stack),
            to_account=to,
            amount=count * accounts.QUARTERS[sheet_format],
            doubt=0,
            week=accounts.week(one.at),
        )
        for to, count in ((accounts.GOOD, said.good), (accounts.SPOILED, spoiled))
        if count
    ]
