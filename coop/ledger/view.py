"""Folding on request: now, as of a moment, and as it was known at a moment."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from coop.ids import EntryId, Subject
from coop.ledger.any_bath import Run, fold_any_bath, givers, resume_any_bath
from coop.ledger.descriptions import (
    fold_device,
    fold_house,
    fold_judgement,
    fold_jug,
    fold_ledger,
    fold_member,
    fold_paper,
    fold_recipe,
    fold_studio,
    fold_vessel,
)
from coop.ledger.entries import Entry, Sealed, read_content
from coop.ledger.folding import Fold, Folded, Resume
from coop.ledger.force import InForce, Resolved, resolve
from coop.ledger.kinds import EntryCorrected
from coop.ledger.lots import fold_lot, giver_of
from coop.ledger.schema import Slip
from coop.ledger.stacks import fold_stack
from coop.ledger.supplies import (
    fold_order,
    fold_permission,
    fold_put_off,
    fold_session,
    fold_supplier,
    fold_supply,
)
from coop.ledger.table import DEVICE_COUNT, KINDS, Kind, Touch
from coop.ledger.wastes import fold_disposal, fold_jar, fold_rules

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
        "device": fold_device,
        "bath": fold_any_bath,
        "jug": fold_jug,
        "supply": fold_supply,
        "supplier": fold_supplier,
        "order": fold_order,
        "session": fold_session,
        "put_off": fold_put_off,
        "permission": fold_permission,
        "jar": fold_jar,
        "disposal": fold_disposal,
        "rules": fold_rules,
    }
)

# What a fold may ask for; of other sorts nobody need be told that they changed.
INPUTS = frozenset(
    {"ledger", "studio", "vessel", "paper", "lot", "recipe", "stack", "bath", "jug"}
)

RESUMES: Mapping[str, Resume] = MappingProxyType({"bath": resume_any_bath})

OPEN_MAX = 20
"""With more folds open than this, the lots that one was a part of are folded in turn."""

ASIDE: Touch = ("bath", Subject(""))
Given = tuple[Subject, EntryId]
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
        self._folded: dict[Touch, Folded] = {}
        self._inputs: dict[Touch, set[Subject]] = {}
        self._open: list[Touch] = []
        self._given: dict[Given, Any] = {}
        self._runs: dict[Subject, Run] = {}

    def state(self, sort: str, subject: Subject | None) -> Any:
        """Return a subject's state, or None; within a fold this makes it an input."""
        if subject is None:
            return None
        if self._open:
            assert sort in INPUTS, f"{sort} is no input of a fold"
            self._inputs[self._open[-1]].add(subject)
            if (sort, subject) in self._open:
                return None  # lots that are said to be parts of one another began nowhere
            if sort == "lot" and len(self._open) > OPEN_MAX:
                self._root_first(subject)
        return self.folded(sort, subject).state

    def _root_first(self, lot: Subject) -> None:
        """Fold the lots that one was a part of, the oldest first: no chain is too long."""
        chain: dict[Subject, None] = {}
        above: Subject | None = lot
        while above is not None and above not in chain and not self._is_folded(above):
            chain[above] = None
            above = giver_of(above, self._in_force(above, "lot"))
        with self._aside():
            for one in reversed(chain):
                self.folded("lot", one)

    def _is_folded(self, lot: Subject) -> bool:
        """Say whether a lot's fold is there, kept, or being worked out."""
        key = ("lot", lot)
        return key in self._folded or key in self._open or self._cached(*key) is not None

    def given(self, giver: Subject, entry: EntryId) -> Any:
        """
        Return a bath's state just before one of its entries, or None.

        Everything a chain of handovers hangs on is folded first, the earliest at first, so
        that no chain is too long. What that asks for is an input of the giver's own fold.
        """
        if self._open:
            self._inputs[self._open[-1]].add(giver)
        if (giver, entry) not in self._given:
            with self._aside():
                for key in self._chain(giver, entry):
                    self._given[key] = self._run(key[0]).before(key[1])
        return self._given[giver, entry]

    @contextmanager
    def _aside(self) -> Iterator[None]:
        """Ask for what is no input of the fold that is open."""
        self._open.append(ASIDE)
        self._inputs[ASIDE] = set()
        try:
            yield
        finally:
            self._open.pop()

    def _chain(self, giver: Subject, entry: EntryId) -> list[Given]:
        """Return the handovers that one hangs on, itself the last, in turn."""
        wanted, found = [(giver, entry)], dict[Given, Any]()
        while wanted:
            key = wanted.pop()
            if key in self._given or key in found:
                continue
            run = self._run(key[0])
            found[key] = run.order(key[1])
            wanted += givers(key[0], run.new_before(key[1]))
        return sorted(found, key=lambda key: (found[key], key))

    def _run(self, bath: Subject) -> Run:
        """Return a bath's entries as they are gone through, once in this view."""
        if bath not in self._runs:
            self._runs[bath] = Run(bath, self._in_force(bath, "bath"), self)
        return self._runs[bath]

    def _in_force(self, subject: Subject, sort: str) -> tuple[InForce, ...]:
        sealed = _without_named(tuple(self._touching(subject)), sort)
        return self._resolved(sealed, subject, None, sort=sort).in_force

    def folded(self, sort: str, subject: Subject) -> Folded:
        """Return a subject's fold: kept, or worked out now."""
        key = sort, subject
        if key not in self._folded:
            kept = self._cached(sort, subject)
            self._folded[key] = kept or self._fold(sort, subject, None)
        return self._folded[key]

    def resumed(self, sort: str, subject: Subject, sealed: Sealed) -> Folded | None:
        """
        Return a kept fold with one entry more at its end, or None: then fold it anew.

        The state is whole; moves and findings are those of this entry alone. Nothing else
        here may have the entry's id or correct it.
        """
        kept = self._cached(sort, subject) if sort in RESUMES else None
        if kept is None or kept.state is None:
            return None
        (one,) = resolve([sealed], known=self._known).in_force
        with self._asking(sort, subject):
            return RESUMES[sort](kept.state, one, self)

    def see(self, sort: str, subject: Subject, *, at: datetime) -> Folded:
        """Return a subject's fold over what had happened by `at`; its inputs as known."""
        return self._fold(sort, subject, at)

    def resolved(self, subject: Subject, *, at: datetime | None = None) -> Resolved:
        """
        Return what is in force for a subject, up to `at`.

        What is odd about an entry's corrections is told once: with its first subject.
        """
        return self._resolved(tuple(self._touching(subject)), subject, at, sort=None)

    def _resolved(
        self,
        sealed: tuple[Sealed, ...],
        subject: Subject,
        at: datetime | None,
        *,
        sort: str | None,
    ) -> Resolved:
        resolved = resolve(sealed, known=self._known)
        keep = tuple(
            one
            for one in resolved.in_force
            if (at is None or one.at <= at) and _concerns(one, sort, subject)
        )
        if not resolved.findings:
            return replace(resolved, in_force=keep)
        first = _first_subjects(sealed, resolved)
        odd = tuple(one for one in resolved.findings if first.get(one.entry) == subject)
        return Resolved(in_force=keep, struck=resolved.struck, findings=odd)

    def inputs_of(self, sort: str, subject: Subject) -> frozenset[Subject]:
        """Return the subjects that a fold asked for in this view."""
        return frozenset(self._inputs.get((sort, subject), ()))

    def _fold(self, sort: str, subject: Subject, at: datetime | None) -> Folded:
        sealed = _without_named(tuple(self._touching(subject)), sort)
        resolved = self._resolved(sealed, subject, at, sort=sort)
        with self._asking(sort, subject):
            folded = FOLDS[sort](subject, resolved.in_force, self)
        if not resolved.findings:
            return folded
        return replace(folded, findings=resolved.findings + folded.findings)

    @contextmanager
    def _asking(self, sort: str, subject: Subject) -> Iterator[None]:
        """Note what a fold asks for as its inputs."""
        key = sort, subject
        assert key not in self._open, f"a circle of inputs through {sort} {subject}"
        self._open.append(key)
        self._inputs[key] = set()
        try:
            yield
        finally:
            self._open.pop()


def _concerns(one: InForce, sort: str | None, subject: Subject) -> bool:
    """Say whether an entry concerns a subject, as one of a sort or, with None, as any."""
    if sort is not None:
        return (sort, subject) in one.touches
    return any(subject == its for _, its in one.touches)


def _without_named(sealed: tuple[Sealed, ...], sort: str) -> tuple[Sealed, ...]:
    """Leave out entries that only name the sort, but for such as share an id with others."""
    read = {one.entry.id for one in sealed if sort not in KINDS[one.entry.kind].names}
    return tuple(
        one for one in sealed if one.entry.id in read or sort not in KINDS[one.entry.kind].names
    )


def _first_subjects(sealed: Iterable[Sealed], resolved: Resolved) -> dict[EntryId, Subject]:
    """Return the first subject of each original, also under the ids of its corrections."""
    originals = [one.original for one in resolved.in_force]
    originals += [one.original for one in resolved.struck]
    first = {one.entry.id: one.entry.touches[0][1] for one in originals}
    for one in sealed:
        said = one.entry.content
        target = said.target if isinstance(said, EntryCorrected) else ""
        if EntryId(target) in first:
            first[one.entry.id] = first[EntryId(target)]
    return first


def family_touches(family: Iterable[Entry]) -> tuple[Touch, ...]:
    """
    Return everything that the entries of one id, with their corrections, concern.

    Where each was typed is its own: a correction made elsewhere is no count of that device.

    Args:
        family: All entries with one id, and all corrections that name it as their target.
    """
    shared = (touch for _, touch in _family(family) if touch[0] != DEVICE_COUNT)
    return tuple(dict.fromkeys(shared))


def touches_within(entry: Entry, family: Iterable[Entry]) -> tuple[Touch, ...]:
    """Return everything that one entry of a family concerns."""
    return tuple(dict.fromkeys((*family_touches(family), *entry.touches)))


def family_changes(family: Iterable[Entry]) -> dict[Touch, bool]:
    """Return whose state such entries change, and whether another fold may read that."""
    changes: dict[Touch, bool] = {}
    for kind, touch in _family(family):
        sort, _ = touch
        if sort in FOLDS and sort not in kind.names:
            read = sort in INPUTS and sort not in kind.keeps
            changes[touch] = changes.get(touch, False) or read
    return changes


def _family(family: Iterable[Entry]) -> Iterator[tuple[Kind, Touch]]:
    members = tuple(family)
    kinds: dict[EntryId, Kind] = {
        one.id: KINDS[one.kind]
        for one in members
        if not isinstance(one.content, EntryCorrected)
    }
    for one in members:
        for touch in one.touches:
            yield KINDS[one.kind], touch
        said = one.content
        if isinstance(said, EntryCorrected) and said.content is not None:
            kind = kinds.get(EntryId(said.target))
            if kind is not None:
                for touch in _replacement_touches(kind, said):
                    yield kind, touch


def _replacement_touches(kind: Kind, said: EntryCorrected) -> tuple[Touch, ...]:
    assert said.content is not None
    try:
        content = read_content(kind, said.content.body, "content.body")
    except Slip:
        return ()  # the fold names it as a finding
    return tuple(kind.touches(EntryId(said.target), content))
