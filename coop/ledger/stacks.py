"""Folds of stacks: alumed sheets that wait for colour, and how they came out."""

from collections import Counter
from dataclasses import replace

from coop.ids import Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.states import AlumedAgain, CornerPrint, LaidOn, Sorted, StackState


def fold_stack(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """
    A stack is made by sheets through, laid on sizes, and sorted.

    Sorted sheets move from it to good or spoiled; what was thrown away before any colour
    leaves it too.
    """
    made = next((one for one in entries if _makes(one, subject)), None)
    if made is None:
        return NOTHING
    state = _made(subject, made)
    lot = inputs.state("lot", state.lot)
    substance = accounts.paper(lot.paper if lot else state.paper)
    moves: list[Move] = []
    findings: list[Finding] = []
    for one in entries:
        state = _after(state, one)
        moves += _out_of(state, one, substance)
        odd = _over_the_count(state, one), _of_another_format(state, one)
        findings += [found for found in odd if found is not None]
    gone = state.sorted_count + state.binned_count
    return Folded(
        state=state,
        moves=tuple(moves),
        findings=tuple(findings),
        home=state.bath,
        live=gone < state.sheet_count,
    )


def _makes(one: InForce, stack: Subject) -> bool:
    said = one.content
    through = isinstance(said, kinds.SheetsThrough) and said.bath is not None
    return through and Subject(one.id) == stack


def _made(subject: Subject, one: InForce) -> StackState:
    said = one.content
    assert isinstance(said, kinds.SheetsThrough)
    assert said.bath is not None
    return StackState(
        id=subject,
        bath=said.bath,
        by=one.hand,
        at=one.at,
        precision=one.precision,
        sheet_count=said.sheet_count,
        sheet_format=said.sheet_format,
        method=said.method,
        lot=said.lot,
        paper=said.paper,
        side=said.side,
    )


def _after(state: StackState, one: InForce) -> StackState:
    """Return a stack after one of its entries."""
    match one.content:
        case kinds.SheetsThrough(size=size, sheet_count=count) if size is not None:
            laid = LaidOn(
                entry=one.id,
                size=size,
                by=one.hand,
                at=one.at,
                sheet_count=count,
                precision=one.precision,
            )
            return replace(state, laid=(*state.laid, laid))
        case kinds.SheetsThrough(stack=stack, bath=bath) if stack == state.id and bath:
            return _alumed_again(state, one, one.content)
        case kinds.SheetsSorted() as said:
            return _sorted(state, one, said)
        case kinds.StackBinned(sheet_count=count):
            return replace(state, binned_count=state.binned_count + count)
        case kinds.StackWarningSeen(about=about):
            seen = (*state.seen, (one.author, str(about)))
            return replace(state, seen=tuple(dict.fromkeys(seen)))
        case _:
            return _kept(state, one)


def _alumed_again(state: StackState, one: InForce, said: kinds.SheetsThrough) -> StackState:
    """Return a stack of which all that is left was alumed; a part of it makes nothing new."""
    assert said.bath is not None
    if not 0 < state.left_count <= said.sheet_count:
        return state
    again = AlumedAgain(
        entry=one.id,
        bath=said.bath,
        at=one.at,
        sheet_count=state.left_count,
        precision=one.precision,
    )
    return replace(
        state,
        again=again,
        method=said.method,
        state="open",
        state_at=None,
        place="",
        dried="",
        dried_at=None,
        flattened="",
        flattened_at=None,
        printed=None,
    )


def _sorted(state: StackState, one: InForce, said: kinds.SheetsSorted) -> StackState:
    counts = {word: getattr(said, word) for word in kinds.FAULTS}
    part = Sorted(
        entry=one.id,
        by=one.author,
        at=one.at,
        good=said.good,
        spoiled=tuple((word, count) for word, count in counts.items() if count),
        size=said.size or _only_size(state),
        keep=said.keep == "yes",
        colours=said.colours,
        photo=said.photo,
        note=said.note,
    )
    spoiled = Counter(dict(state.spoiled))
    spoiled.update(dict(part.spoiled))
    return replace(
        state,
        good=state.good + said.good,
        spoiled=tuple(sorted(spoiled.items())),
        parts=(*state.parts, part),
    )


def _only_size(state: StackState) -> Subject | None:
    sizes = {one.size for one in state.laid}
    return sizes.pop() if len(sizes) == 1 else None


def _kept(state: StackState, one: InForce) -> StackState:
    """Return a stack after what leaves its count as it is."""
    match one.content:
        case kinds.StackDried(how=how):
            return replace(state, dried=how, dried_at=one.at)
        case kinds.StackFlattened(how=how):
            return replace(state, flattened=how, flattened_at=one.at)
        case kinds.StackPutAway() as said:
            return replace(state, state=said.state, state_at=one.at, place=said.place)
        case kinds.StackTested(outcome=outcome):
            return _tested(state, CornerPrint(at=one.at, by=one.author, outcome=outcome))
        case _:
            return state


def _tested(state: StackState, printed: CornerPrint) -> StackState:
    """Return a stack after a strip print; one that failed is outdone by no later one."""
    failed = state.printed is not None and state.printed.outcome == "failed"
    return state if failed else replace(state, printed=printed)


def _over_the_count(state: StackState, one: InForce) -> Finding | None:
    """Return what is odd when more was sorted, laid or thrown away than there was."""
    match one.content:
        case kinds.SheetsSorted():
            if state.sorted_count + state.binned_count > state.sheet_count:
                return Finding(code="sorted-over-the-count", entry=one.id)
        case kinds.SheetsThrough() | kinds.StackBinned():
            if state.laid_count + state.binned_count > state.sheet_count:
                return Finding(code="laid-over-the-count", entry=one.id)
        case _:
            pass
    return None


def _of_another_format(state: StackState, one: InForce) -> Finding | None:
    """Return what is odd when sheets are said to be of another format than their stack."""
    match one.content:
        case kinds.SheetsThrough(stack=stack, sheet_format=said) if stack == state.id:
            if said != state.sheet_format:
                return Finding(code="other-format", entry=one.id)
        case _:
            pass
    return None


def _out_of(state: StackState, one: InForce, substance: str) -> list[Move]:
    """Return the rows by which sheets leave a stack for good."""
    match one.content:
        case kinds.SheetsSorted() as said:
            spoiled = sum(getattr(said, word) for word in kinds.FAULTS)
            counts = [(accounts.GOOD, said.good), (accounts.SPOILED, spoiled)]
        case kinds.StackBinned(sheet_count=count):
            counts = [(accounts.BINNED, count)]
        case _:
            return []
    return [
        accounts.row(
            entry=one.id,
            at=one.at,
            substance=substance,
            from_account=accounts.account("stack", state.id),
            to_account=to,
            amount=count * accounts.QUARTERS[state.sheet_format],
        )
        for to, count in counts
        if count
    ]
