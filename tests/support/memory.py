"""A journal in memory: small, real, and held to the same specification as the one on SQL."""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from coop.ids import Digest, EntryId, LedgerId, NodeId, Subject
from coop.ledger.accounts import Move, balances, is_use, session_of
from coop.ledger.entries import Entry, Sealed, make_seal
from coop.ledger.folding import Folded
from coop.ledger.force import Finding
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import BATCH_MAX, Admission, Attachment, Drawn, Late
from coop.ledger.view import FOLDS, View, family_touches, touches_within


class MemoryJournal:
    """Entries in a list; every fold worked out when it is asked for."""

    def __init__(self, *, ledger: LedgerId, node: NodeId) -> None:
        self.ledger = ledger
        self.node = node
        self._sealed: dict[Digest, Sealed] = {}
        self._by_subject: dict[Subject, list[Sealed]] = {}
        self._attachments: dict[str, Attachment] = {}
        self._late: dict[tuple[EntryId, Subject], Late] = {}

    def append(
        self, entries: Sequence[Entry], admission: Admission, *, fold: bool = True
    ) -> tuple[Sealed, ...]:
        assert len(entries) <= BATCH_MAX
        assert all(entry.ledger == self.ledger for entry in entries)
        new = []
        self._by_subject = {}
        for entry in entries:
            if entry.digest in self._sealed:
                continue
            seq, prev = self.head()
            seal = make_seal(
                entry=entry,
                node=self.node,
                seq=seq + 1,
                prev=prev,
                admitted_at=admission.at,
                admitted_by=admission.by,
                offset_ms=admission.offset_ms,
            )
            self._sealed[entry.digest] = Sealed(entry=entry, seals=(seal,))
            new.append(self._sealed[entry.digest])
        return tuple(new)

    def everything(self) -> tuple[Sealed, ...]:
        return tuple(self._sealed.values())

    def copy(self) -> "MemoryJournal":
        """Return a journal with the same entries, which goes its own way from here."""
        twin = MemoryJournal(ledger=self.ledger, node=self.node)
        twin._sealed = dict(self._sealed)
        twin._attachments = dict(self._attachments)
        twin._late = dict(self._late)
        return twin

    def take_over(self, sealed: Iterable[Sealed]) -> None:
        """Take entries in with the seals they have."""
        self._sealed |= {one.entry.digest: one for one in sealed}
        self._by_subject = {}

    def by_id(self, entry_id: EntryId) -> tuple[Sealed, ...]:
        return tuple(one for one in self._sealed.values() if one.entry.id == entry_id)

    def by_ids(self, ids: Iterable[EntryId]) -> dict[EntryId, tuple[Sealed, ...]]:
        found = {entry_id: self.by_id(entry_id) for entry_id in ids}
        return {entry_id: sealed for entry_id, sealed in found.items() if sealed}

    def touching(self, subject: Subject) -> tuple[Sealed, ...]:
        return tuple(self._index().get(subject, ()))

    def touching_any(self, subjects: Iterable[Subject]) -> dict[Subject, tuple[Sealed, ...]]:
        return {subject: self.touching(subject) for subject in subjects}

    def after(self, seq: int, *, most: int) -> tuple[Sealed, ...]:
        found = [
            (seal.seq, one)
            for one in self._sealed.values()
            for seal in one.seals
            if seal.node == self.node and seal.seq > seq
        ]
        found.sort(key=lambda pair: pair[0], reverse=True)
        return tuple(one for _, one in found[:most])

    def _index(self) -> dict[Subject, list[Sealed]]:
        """Return the entries by the subjects they concern; made once after each append."""
        if not self._by_subject:
            for family in self._families():
                for one in family:
                    reached = touches_within(one.entry, [each.entry for each in family])
                    for _, subject in reached:
                        self._by_subject.setdefault(subject, []).append(one)
        return self._by_subject

    def _families(self) -> Iterator[list[Sealed]]:
        families: dict[str, list[Sealed]] = {}
        for one in self._sealed.values():
            said = one.entry.content
            origin = said.target if isinstance(said, EntryCorrected) else one.entry.id
            families.setdefault(origin, []).append(one)
        yield from families.values()

    def _subjects(self) -> list[tuple[str, Subject]]:
        touches = dict.fromkeys(
            touch for family in self._families() for touch in _touches(family)
        )
        return [(sort, subject) for sort, subject in touches if sort in FOLDS]

    def view(self, *, known: datetime | None = None) -> View:
        return View(self.touching, known=known)

    def listed(
        self, sort: str, *, home: Subject | None = None, live: bool = True
    ) -> tuple[Any, ...]:
        return self._states(
            sort, lambda one: (one.live or not live) and (home is None or one.home == home)
        )

    def gather(self, sorts: Iterable[str], *, live: bool = True) -> None:
        """All of it is at hand already."""

    def listed_in(self, sort: str, homes: Collection[Subject]) -> tuple[Any, ...]:
        return self._states(sort, lambda one: one.home in homes)

    def _states(self, sort: str, wanted: Callable[[Folded], bool]) -> tuple[Any, ...]:
        view = self.view()
        found = [
            (view.folded(sort, subject), subject)
            for its_sort, subject in self._subjects()
            if its_sort == sort
        ]
        states = [
            (folded.place, subject, folded.state)
            for folded, subject in found
            if folded.state is not None and wanted(folded)
        ]
        return tuple(state for _, _, state in sorted(states, key=lambda one: one[:2]))

    def state(self, sort: str, subject: Subject | None) -> Any:
        return self.view().state(sort, subject)

    def states(self, sort: str, subjects: Iterable[Subject]) -> dict[Subject, Any]:
        found = ((subject, self.state(sort, subject)) for subject in subjects)
        return {subject: state for subject, state in found if state is not None}

    def folded(self, sort: str, subject: Subject) -> Folded:
        return self.view().folded(sort, subject)

    def findings(self, *, codes: Iterable[str] = ()) -> tuple[tuple[Subject, Finding], ...]:
        wanted = tuple(codes)
        view = self.view()
        found = [
            (subject, finding)
            for sort, subject in self._subjects()
            for finding in view.folded(sort, subject).findings
            if not wanted or finding.code in wanted
        ]
        return tuple(sorted(found, key=lambda one: one[0]))

    def moves(self, account: str) -> tuple[Move, ...]:
        return tuple(
            move for move in self._moves() if account in (move.from_account, move.to_account)
        )

    def _moves(self) -> list[Move]:
        view = self.view()
        return [
            move
            for sort, subject in self._subjects()
            for move in view.folded(sort, subject).moves
        ]

    def held(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        wanted = set(accounts)
        return {
            key: amount
            for key, amount in balances(self._moves()).items()
            if key[0] in wanted and amount
        }

    def holding(self, sort: str) -> dict[tuple[str, str], int]:
        return {
            key: amount
            for key, amount in balances(self._moves()).items()
            if key[0].startswith(f"{sort}:") and amount
        }

    def since(self, moments: Mapping[str, datetime]) -> dict[tuple[str, str], int]:
        found: Counter[tuple[str, str]] = Counter()
        for move in self._moves():
            for account, sign in ((move.to_account, 1), (move.from_account, -1)):
                if account in moments and move.at > moments[account]:
                    found[account, move.substance] += sign * move.amount
        return {key: amount for key, amount in found.items() if amount}

    def moved_to(
        self, accounts: Iterable[str], *, since: datetime, until: datetime
    ) -> tuple[Move, ...]:
        wanted = set(accounts)
        found = [one for one in self._moves() if one.to_account in wanted]
        return tuple(one for one in found if since <= one.at < until)

    def drawn(self, substances: Iterable[str], *, week: str) -> tuple[Drawn, ...]:
        found: Counter[tuple[str, str, str]] = Counter()
        for move in self._used(substances):
            if move.week >= week:
                found[move.substance, move.week, session_of(move)] += move.amount
        return tuple(
            Drawn(substance=substance, week=its_week, session=session, amount=amount)
            for (substance, its_week, session), amount in sorted(found.items())
        )

    def first_drawn(self, substances: Iterable[str]) -> dict[str, str]:
        weeks: dict[str, list[str]] = {}
        for move in self._used(substances):
            if not session_of(move):
                weeks.setdefault(move.substance, []).append(move.week)
        return {substance: min(its_weeks) for substance, its_weeks in weeks.items()}

    def _used(self, substances: Iterable[str]) -> list[Move]:
        wanted = set(substances)
        return [one for one in self._moves() if one.substance in wanted and is_use(one)]

    def doubts(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        wanted = set(accounts)
        found: Counter[tuple[str, str]] = Counter()
        for move in self._moves():
            if move.from_account in wanted and move.doubt:
                found[move.from_account, move.substance] += move.doubt
        return dict(found)

    def keep(self, attachment: Attachment) -> None:
        self._attachments.setdefault(attachment.name, attachment)

    def attachment(self, name: str) -> Attachment | None:
        return self._attachments.get(name)

    def attachments(self, names: Iterable[str]) -> dict[str, Attachment]:
        return {name: self._attachments[name] for name in names if name in self._attachments}

    def note_late(self, late: Late) -> None:
        self._late.setdefault((late.entry, late.bath), late)

    def late(self, *, since: datetime) -> tuple[Late, ...]:
        found = [one for one in self._late.values() if one.admitted_at >= since]
        found.sort(key=lambda one: one.entry)
        return tuple(sorted(found, key=lambda one: one.admitted_at, reverse=True))

    def head(self) -> tuple[int, Digest | str]:
        seals = [
            seal
            for one in self._sealed.values()
            for seal in one.seals
            if seal.node == self.node
        ]
        if not seals:
            return 0, ""
        last = max(seals, key=lambda seal: seal.seq)
        return last.seq, last.digest


def _touches(family: Sequence[Sealed]) -> tuple[tuple[str, Subject], ...]:
    return family_touches(one.entry for one in family)
