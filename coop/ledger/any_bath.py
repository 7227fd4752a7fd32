"""A bath of whatever it is: which fold it has, and from which others it was given."""

from collections.abc import Iterable, Iterator

from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.baths import BathState, fold_bath, maker_of, resume_bath
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.liquids import LiquidState, fold_liquid

ALUM = "alum"
AnyBath = BathState | LiquidState


def fold_any_bath(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Fold a bath of alum by its estimate, any other by its simpler account."""
    maker = maker_of(subject, entries)
    if maker is None:
        return NOTHING
    if isinstance(maker.content, kinds.BathMixed):
        fold = fold_bath if maker.content.what == ALUM else fold_liquid
        return fold(subject, entries, inputs)
    assert isinstance(maker.content, kinds.BathSplit)
    match inputs.given(maker.content.bath, maker.id):
        case BathState():
            return fold_bath(subject, entries, inputs)
        case LiquidState():
            return fold_liquid(subject, entries, inputs)
        case _:
            odd = Finding(code="giver-not-known", entry=maker.id, detail=maker.content.bath)
            return Folded(state=None, findings=(odd,))


def resume_any_bath(state: AnyBath, one: InForce, inputs: Inputs) -> Folded | None:
    """Take one entry more of a bath of alum; another one is soon folded from the start."""
    return resume_bath(state, one, inputs) if isinstance(state, BathState) else None


def givers(subject: Subject, entries: Iterable[InForce]) -> Iterator[tuple[Subject, EntryId]]:
    """Give the baths that a bath's entries say it was poured from, each with the entry."""
    for one in entries:
        match one.content:
            case kinds.BathSplit(bath=giver) if giver != subject:
                yield giver, one.id
            case kinds.BathJoined(bath=taker, giver=giver) if taker == subject:
                yield giver, one.id
            case _:
                pass
