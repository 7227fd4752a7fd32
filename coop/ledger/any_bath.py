"""A bath of whatever it is: which fold it has, and from which others it was given."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice
from typing import Any

from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.accounts import MADE, Move, account
from coop.ledger.baths import (
    BathState,
    bath_steps,
    fold_bath,
    in_turn,
    maker_of,
    paper_moves,
    resume_bath,
)
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.liquids import LiquidState, fold_liquid, liquid_steps
from coop.ledger.ways_out import base_moves, from_nowhere, leaves

ALUM = "alum"
AnyBath = BathState | LiquidState


def fold_any_bath(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Fold a bath of alum by its estimate, any other by its simpler account."""
    maker = maker_of(subject, entries)
    if maker is None:
        return _not_written_down(subject, entries, inputs)
    alum = _is_alum(maker, inputs)
    if alum is None:
        assert isinstance(maker.content, kinds.BathSplit)
        odd = Finding(code="giver-not-known", entry=maker.id, detail=maker.content.bath)
        rest = _not_written_down(subject, entries, inputs)
        return replace(rest, findings=(odd, *rest.findings))
    return (fold_bath if alum else fold_liquid)(subject, entries, inputs)


def _not_written_down(subject: Subject, entries: Iterable[InForce], inputs: Inputs) -> Folded:
    """
    Fold what is said of a bath that nobody wrote down, or not yet.

    Paper that went through it was drawn all the same, and a base that was put in; litres that
    somebody got rid of went that way all the same. What was poured into it is told, and what
    came out of it.
    """
    moves: list[Move] = []
    findings: list[Finding] = []
    for one in entries:
        match one.content:
            case kinds.SheetsThrough(bath=bath) as said if bath == subject:
                moves += paper_moves(one, said, inputs.state("lot", said.lot))
            case kinds.DisposalTreated() as said:
                moves += base_moves(one, said, inputs, account("bath", subject))
            case kinds.BathJoined(bath=taker) if taker == subject:
                findings.append(Finding(code="taker-not-known", entry=one.id, detail=subject))
            case said if leaves(said):
                moves += from_nowhere(one, said.litres, MADE)
                findings.append(Finding(code="giver-not-known", entry=one.id, detail=subject))
            case _:
                pass
    return replace(NOTHING, moves=tuple(moves), findings=tuple(findings))


class Run:
    """A bath's entries, gone through as far as somebody asks: its state before each."""

    def __init__(self, bath: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> None:
        maker = maker_of(bath, entries)
        self._turn = [] if maker is None else in_turn(maker, entries)
        self._places = {one.id: place for place, one in enumerate(self._turn)}
        self._states: list[AnyBath] = []
        self._steps = _states(bath, maker, entries, inputs) if maker else iter(())
        self._scanned = 0

    def order(self, entry: EntryId) -> Any:
        """Return what an entry is folded by; entries not here come first."""
        place = self._places.get(entry)
        return () if place is None else self._turn[place].order

    def new_before(self, entry: EntryId) -> tuple[InForce, ...]:
        """Return the entries before one that nobody has asked for yet."""
        place = self._place(entry)
        new = tuple(self._turn[self._scanned : place])
        self._scanned = max(self._scanned, place)
        return new

    def _place(self, entry: EntryId) -> int:
        """Return how many entries go before one; none before what poured the bath off."""
        place = self._places.get(entry, 0)
        maker = self._turn[0] if self._turn else None
        if maker is None or isinstance(maker.content, kinds.BathMixed):
            return place
        return place if maker.order < self._turn[place].order else 0

    def before(self, entry: EntryId) -> AnyBath | None:
        """Return the bath's state just before an entry; None where there was no bath yet."""
        place = self._place(entry)
        if place == 0:
            return None
        self._states += islice(self._steps, max(0, place - len(self._states)))
        return self._states[place - 1] if len(self._states) >= place else None


def _states(
    bath: Subject, maker: InForce, entries: tuple[InForce, ...], inputs: Inputs
) -> Iterator[AnyBath]:
    if _is_alum(maker, inputs):
        yield from (step.state for step in bath_steps(bath, entries, inputs))
    else:
        yield from (step.state for step in liquid_steps(bath, entries, inputs))


def _is_alum(maker: InForce, inputs: Inputs) -> bool | None:
    """Say whether a bath is of alum; None when what gave it is not known."""
    if isinstance(maker.content, kinds.BathMixed):
        return maker.content.what == ALUM
    assert isinstance(maker.content, kinds.BathSplit)
    giver = inputs.given(maker.content.bath, maker.id)
    return None if giver is None else isinstance(giver, BathState)


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
