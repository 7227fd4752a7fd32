"""Folding on request: now, as of a moment, and as it was known at a moment."""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any

from coop.ids import EntryId, Subject
from coop.ledger.baths import fold_bath
from coop.ledger.descriptions import (
    fold_house,
    fold_judgement,
    fold_ledger,
    fold_member,
    fold_paper,
    fold_recipe,
    fold_studio,
    fold_vessel,
)
from coop.ledger.entries import Entry, Sealed, read_content
from coop.ledger.folding import Fold, Folded
from coop.ledger.force import Resolved, resolve
from coop.ledger.kinds import EntryCorrected
from coop.ledger.lots import fold_lot, fold_stack
from coop.ledger.schema import Slip
from coop.ledger.table import KINDS, Touch

FOLDS: Mapping[str, Fold] = MappingProxyType(
    {
        "ledger": fold_ledger,
        "member": fold_member,
        "studio": fold_studio,
        "vessel": fold_vessel,
        "paper": fold_paper,
        "recipe": fold_recipe,
        "house": fold_house,
        "judgement": fold_judgement,
        "lot": fold_lot,
        "stack": fold_stack,
        "bath": fold_bath,
    }
)

Touching = Callable[[Subject], Iterable[Sealed]]
Cached = Callable[[str, Subject], Folded | None]


def nothing_cached(sort: str, subject: Subject) -> Folded | None:
    """Answer that no fold is kept."""
    return None


class View:
    """
    The folds of a set of entries, each worked out once, with the inputs it asked for.

    Args:
        touching: Gives the sealed entries that concern a subject, corrections included.
        cached: Gives a kept fold that is not stale, or None.
        known: Leave out what was sealed after this moment.
    """

    def __init__(
        self,
        touching: Touching,
        *,
        cached: Cached = nothing_cached,
        known: datetime | None = None,
    ) -> None:
        self._touching = touching
        self._cached = cached if known is None else nothing_cached
        self._known = known
        self._folded: dict[Subject, Folded] = {}
        self._inputs: dict[Subject, set[tuple[str, Subject]]] = {}
        self._open: list[Subject] = []

    def state(self, sort: str, subject: Subject | None) -> Any:
        """Return a subject's state, or None; within a fold this makes it an input."""
        if subject is None:
            return None
        if self._open:
            self._inputs[self._open[-1]].add((sort, subject))
        return self.folded(sort, subject).state

    def folded(self, sort: str, subject: Subject) -> Folded:
        """Return a subject's fold: kept, or worked out now."""
        if subject not in self._folded:
            kept = self._cached(sort, subject)
            self._folded[subject] = kept or self._fold(sort, subject, None)
        return self._folded[subject]

    def see(self, sort: str, subject: Subject, *, at: datetime) -> Folded:
        """Return a subject's fold over what had happened by `at`; its inputs as known."""
        return self._fold(sort, subject, at)

    def resolved(self, subject: Subject, *, at: datetime | None = None) -> Resolved:
        """Return what is in force for a subject, up to `at`."""
        resolved = resolve(self._touching(subject), known=self._known)
        keep = tuple(
            one
            for one in resolved.in_force
            if (at is None or one.at <= at) and any(s == subject for _, s in one.touches)
        )
        return Resolved(in_force=keep, struck=resolved.struck, findings=resolved.findings)

    def inputs_of(self, subject: Subject) -> frozenset[Subject]:
        """Return the subjects that the fold of `subject` asked for in this view."""
        return frozenset(subject for _, subject in self._inputs.get(subject, ()))

    def _fold(self, sort: str, subject: Subject, at: datetime | None) -> Folded:
        assert subject not in self._open, f"a circle of inputs through {subject}"
        resolved = self.resolved(subject, at=at)
        self._open.append(subject)
        self._inputs[subject] = set()
        try:
            folded = FOLDS[sort](subject, resolved.in_force, self)
        finally:
            self._open.pop()
        if not resolved.findings:
            return folded
        return Folded(
            state=folded.state,
            moves=folded.moves,
            findings=resolved.findings + folded.findings,
            home=folded.home,
            live=folded.live,
            place=folded.place,
        )


def family_touches(family: Iterable[Entry]) -> tuple[Touch, ...]:
    """
    Return everything that the entries of one id, with their corrections, are folded into.

    Args:
        family: All entries with one id, and all corrections that name it as their target.
    """
    members = tuple(family)
    kinds: dict[EntryId, str] = {
        one.id: one.kind for one in members if not isinstance(one.content, EntryCorrected)
    }
    touches: dict[Touch, None] = {}
    for one in members:
        touches.update(dict.fromkeys(one.touches))
        said = one.content
        if isinstance(said, EntryCorrected) and said.content is not None:
            kind = KINDS.get(kinds.get(EntryId(said.target), ""))
            if kind is not None:
                touches.update(dict.fromkeys(_replacement_touches(kind.code, said)))
    return tuple(touches)


def _replacement_touches(code: str, said: EntryCorrected) -> tuple[Touch, ...]:
    assert said.content is not None
    try:
        content = read_content(KINDS[code], said.content.body, "content.body")
    except Slip:
        return ()  # the fold names it as a finding
    return tuple(KINDS[code].touches(EntryId(said.target), content))
