"""The journal on SQL: entries and seals added to, folds kept beside them."""

from collections import Counter, OrderedDict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Table, bindparam, delete, func, insert, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite

from coop.ids import Digest, EntryId, LedgerId, NodeId, Subject
from coop.ledger.accounts import Move
from coop.ledger.canon import parse
from coop.ledger.entries import Entry, Sealed, make_seal, read_entry, read_seal, seal_order
from coop.ledger.folding import FOLD_VERSION, Folded
from coop.ledger.force import Finding
from coop.ledger.ports import BATCH_MAX, REFOLD_MAX, Admission, Attachment
from coop.ledger.table import Touch, target
from coop.ledger.view import View, family_touches
from coop.store import states, tables

ENTRIES_KEPT = 20_000
VARIABLES_MAX = 500

_TOUCHING = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.touch, tables.entry, tables.entry.c.digest == tables.touch.c.entry)
    .join(tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.touch.c.subject == bindparam("subject"))
)
_BY_ID = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.entry, tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.entry.c.id == bindparam("id"))
)


class EntryMemory:
    """
    Entries and seals already read, by their bytes; they never change.

    One for the process, made with the application. Bounded; safe between threads, as at
    worst the same bytes are read twice.
    """

    def __init__(self, most: int = ENTRIES_KEPT) -> None:
        self._most = most
        self._kept: OrderedDict[bytes, Any] = OrderedDict()

    def entry(self, data: bytes) -> Entry:
        return self._read(data, lambda: read_entry(parse(data)))  # type: ignore[no-any-return]  # by its key

    def seal(self, data: bytes) -> Any:
        return self._read(data, lambda: read_seal(data))

    def _read(self, data: bytes, read: Any) -> Any:
        kept = self._kept.get(data)
        if kept is None:
            kept = self._kept[data] = read()
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return kept


class SqlJournal:
    """The `Journal` of one unit of work on one connection."""

    def __init__(
        self,
        connection: Connection,
        *,
        ledger: LedgerId,
        node: NodeId,
        memory: EntryMemory | None = None,
    ) -> None:
        self.ledger = ledger
        self.node = node
        self._connection = connection
        self._memory = memory or EntryMemory()
        self._view: View | None = None

    # --- reading ---

    def by_id(self, entry_id: EntryId) -> tuple[Sealed, ...]:
        return self._sealed(self._connection.execute(_BY_ID, {"id": entry_id}))

    def touching(self, subject: Subject) -> tuple[Sealed, ...]:
        return self._sealed(self._connection.execute(_TOUCHING, {"subject": subject}))

    def _sealed(self, rows: Iterable[Any]) -> tuple[Sealed, ...]:
        found: dict[Digest, tuple[Entry, list[Any]]] = {}
        for entry_bytes, seal_bytes in rows:
            entry = self._memory.entry(bytes(entry_bytes))
            seals = found.setdefault(entry.digest, (entry, []))[1]
            seals.append(self._memory.seal(bytes(seal_bytes)))
        return tuple(
            Sealed(entry=entry, seals=tuple(sorted(seals, key=seal_order)))
            for entry, seals in found.values()
        )

    def view(self, *, known: datetime | None = None) -> View:
        if known is not None:
            return View(self.touching, known=known)
        if self._view is None:
            self._view = View(self.touching, cached=self._kept)
        return self._view

    def state(self, sort: str, subject: Subject | None) -> Any:
        return self.view().state(sort, subject)

    def folded(self, sort: str, subject: Subject) -> Folded:
        return self.view().folded(sort, subject)

    def _kept(self, sort: str, subject: Subject) -> Folded | None:
        row = self._connection.execute(
            select(tables.fold).where(tables.fold.c.subject == subject)
        ).one_or_none()
        if row is None or _stale(row):
            return None
        return self._from_row(row)

    def _from_row(self, row: Any) -> Folded:
        return Folded(
            state=states.load(row.sort, row.state),
            home=row.home or "",
            live=bool(row.live),
            place=row.place or 0,
        )

    def listed(
        self, sort: str, *, home: Subject | None = None, live: bool = True
    ) -> tuple[Any, ...]:
        fold = tables.fold.c
        wanted = [fold.sort == sort]
        if live:
            wanted.append(or_(fold.live == 1, fold.stale == 1))
        if home is not None:
            wanted.append(or_(fold.home == home, fold.stale == 1))
        found = []
        for row in self._connection.execute(select(tables.fold).where(*wanted)):
            folded = self.folded(sort, row.subject) if _stale(row) else self._from_row(row)
            if folded.state is None or (live and not folded.live):
                continue
            if home is None or folded.home == home:
                found.append((folded.place, row.subject, folded.state))
        return tuple(state for _, _, state in sorted(found, key=lambda one: one[:2]))

    def findings(self, *, codes: Iterable[str] = ()) -> tuple[tuple[Subject, Finding], ...]:
        wanted = tuple(codes)
        rows = select(tables.finding).order_by(tables.finding.c.owner, tables.finding.c.n)
        if wanted:
            rows = rows.where(tables.finding.c.code.in_(wanted))
        stale = self._stale_subjects()
        found = [
            (Subject(row.owner), Finding(code=row.code, entry=row.entry, detail=row.detail))
            for row in self._connection.execute(rows)
            if row.owner not in stale
        ]
        for subject, sort in stale.items():
            found += [
                (subject, finding)
                for finding in self.folded(sort, subject).findings
                if not wanted or finding.code in wanted
            ]
        return tuple(found)

    def moves(self, account: str) -> tuple[Move, ...]:
        return tuple(self._moves([account]))

    def held(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        wanted = tuple(accounts)
        held: dict[tuple[str, str], int] = {}
        stale = self._stale_subjects()
        for place in range(0, len(wanted), VARIABLES_MAX):
            self._sum(wanted[place : place + VARIABLES_MAX], held, stale=bool(stale))
        for subject, sort in stale.items():
            for one in self.folded(sort, subject).moves:
                for account, amount in (
                    (one.from_account, -one.amount),
                    (one.to_account, one.amount),
                ):
                    if account in wanted:
                        key = account, one.substance
                        held[key] = held.get(key, 0) + amount
        return held

    def _sum(
        self, accounts: tuple[str, ...], held: dict[tuple[str, str], int], *, stale: bool
    ) -> None:
        """Add up stored rows; those of stale owners are left to the caller."""
        move = tables.move.c
        for column, sign in ((move.from_account, -1), (move.to_account, 1)):
            rows = (
                select(column, move.substance, func.sum(move.amount))
                .where(column.in_(accounts))
                .group_by(column, move.substance)
            )
            if stale:
                rows = rows.where(move.owner.not_in(_stale_owners()))
            for account, substance, amount in self._connection.execute(rows):
                key = account, substance
                held[key] = held.get(key, 0) + sign * int(amount)

    def _moves(self, accounts: list[str]) -> list[Move]:
        move = tables.move.c
        stale = self._stale_subjects()
        rows = select(tables.move).where(
            or_(move.from_account.in_(accounts), move.to_account.in_(accounts))
        )
        found = [
            Move(
                entry=row.entry,
                substance=row.substance,
                from_account=row.from_account,
                to_account=row.to_account,
                amount=row.amount,
                doubt=row.doubt,
                week=row.week,
            )
            for row in self._connection.execute(rows.order_by(move.owner, move.n))
            if row.owner not in stale
        ]
        for subject, sort in stale.items():
            found += [
                one
                for one in self.folded(sort, subject).moves
                if one.from_account in accounts or one.to_account in accounts
            ]
        return found

    def _stale_subjects(self) -> dict[Subject, str]:
        rows = self._connection.execute(
            select(tables.fold.c.subject, tables.fold.c.sort).where(_is_stale())
        )
        return {Subject(row.subject): row.sort for row in rows}

    def head(self) -> tuple[int, Digest | str]:
        row = self._connection.execute(
            select(tables.seal.c.seq, tables.seal.c.digest)
            .where(tables.seal.c.node == self.node)
            .order_by(tables.seal.c.seq.desc())
            .limit(1)
        ).one_or_none()
        return (0, "") if row is None else (row.seq, row.digest)

    def attachment(self, name: str) -> Attachment | None:
        there, held = tables.attachment.c, tables.attachment_bytes.c
        row = self._connection.execute(
            select(there.name, there.content_type, there.reach, held.salt, held.bytes)
            .join_from(tables.attachment, tables.attachment_bytes, there.name == held.name)
            .where(there.name == name)
        ).one_or_none()
        if row is None:
            return None
        return Attachment(
            name=row.name,
            content_type=row.content_type,
            reach=row.reach,
            salt=bytes(row.salt),
            data=bytes(row.bytes),
        )

    # --- writing ---

    def append(
        self, entries: Sequence[Entry], admission: Admission, *, fold: bool = True
    ) -> tuple[Sealed, ...]:
        assert len(entries) <= BATCH_MAX
        seq, prev = self.head()
        entry_rows, seal_rows, sealed = [], [], []
        here = self._here([entry.digest for entry in entries])
        for entry in entries:
            assert entry.ledger == self.ledger
            if entry.digest in here:
                continue
            here.add(entry.digest)
            seq += 1
            seal = make_seal(
                entry=entry,
                node=self.node,
                seq=seq,
                prev=prev,
                admitted_at=admission.at,
                admitted_by=admission.by,
                offset_ms=admission.offset_ms,
            )
            prev = seal.digest
            sealed.append(Sealed(entry=entry, seals=(seal,)))
            entry_rows.append({"digest": entry.digest, "id": entry.id, "bytes": entry.data})
            seal_rows.append(
                {
                    "digest": seal.digest,
                    "entry": entry.digest,
                    "node": self.node,
                    "seq": seq,
                    "bytes": seal.data,
                }
            )
        if sealed:
            new = [one.entry for one in sealed]
            crowded = self._crowded(new)
            self._connection.execute(insert(tables.entry), entry_rows)
            self._connection.execute(insert(tables.seal), seal_rows)
            self._mark_touched(self._link(new, crowded))
            if fold:
                self.refold()
        return tuple(sealed)

    def _here(self, digests: list[Digest]) -> set[Digest]:
        here: set[Digest] = set()
        for place in range(0, len(digests), VARIABLES_MAX):
            part = digests[place : place + VARIABLES_MAX]
            rows = select(tables.entry.c.digest).where(tables.entry.c.digest.in_(part))
            here.update(self._connection.scalars(rows))
        return here

    def _crowded(self, entries: Sequence[Entry]) -> set[EntryId]:
        """Return ids that more than one of these entries, or one already here, belongs to."""
        origins = [_origin(entry) for entry in entries]
        crowded = {origin for origin, count in Counter(origins).items() if count > 1}
        for place in range(0, len(origins), VARIABLES_MAX):
            part = origins[place : place + VARIABLES_MAX]
            crowded.update(
                self._connection.scalars(
                    select(tables.entry.c.id).where(tables.entry.c.id.in_(part))
                )
            )
            waiting = select(tables.touch.c.subject).where(
                tables.touch.c.subject.in_([target(origin) for origin in part])
            )
            named = set(self._connection.scalars(waiting))
            crowded.update(origin for origin in part if target(origin) in named)
        return crowded

    def _link(self, entries: list[Entry], crowded: set[EntryId]) -> dict[Touch, None]:
        """Write down which subjects the entries concern, and return those."""
        touched: dict[Touch, None] = {}
        rows = []
        for entry in entries:
            family = {entry.digest: entry}
            if _origin(entry) in crowded:
                family |= {one.entry.digest: one.entry for one in self._family(entry)}
            touches = family_touches(family.values())
            touched.update(dict.fromkeys(touches))
            rows += [
                {"subject": subject, "entry": digest}
                for digest in family
                for _, subject in touches
            ]
        self._ignore_twice(tables.touch, rows)
        return touched

    def _family(self, entry: Entry) -> tuple[Sealed, ...]:
        """Return all entries with this one's id, or its target's, and their corrections."""
        origin = _origin(entry)
        return self.by_id(origin) + self.touching(target(origin))

    def _mark_touched(self, touched: Iterable[Touch]) -> None:
        folded = [(sort, subject) for sort, subject in touched if sort in states.TYPES]
        self._mark([subject for _, subject in folded], folded)
        self._view = None

    def _ignore_twice(self, table: Table, rows: list[dict[str, Any]]) -> None:
        dialect = postgresql if self._connection.dialect.name == "postgresql" else sqlite
        self._connection.execute(dialect.insert(table).on_conflict_do_nothing(), rows)

    def _mark(self, subjects: list[Subject], touched: list[Touch]) -> None:
        """Mark subjects, and everything their states are an input of, as stale."""
        rows = [
            {
                "subject": subject,
                "sort": sort,
                "home": None,
                "live": 0,
                "place": None,
                "state": None,
                "fold_version": FOLD_VERSION,
                "stale": 1,
            }
            for sort, subject in touched
        ]
        if rows:
            self._ignore_twice(tables.fold, rows)
        reached, edge = set(subjects), list(subjects)
        while edge:
            part, edge = edge[:VARIABLES_MAX], edge[VARIABLES_MAX:]
            users = self._connection.scalars(
                select(tables.fold_input.c.subject).where(tables.fold_input.c.input.in_(part))
            )
            new = set(users) - reached
            reached |= new
            edge += list(new)
        self._set_stale(list(reached))

    def _set_stale(self, subjects: list[Subject]) -> None:
        for place in range(0, len(subjects), VARIABLES_MAX):
            part = subjects[place : place + VARIABLES_MAX]
            self._connection.execute(
                update(tables.fold).where(tables.fold.c.subject.in_(part)).values(stale=1)
            )

    def refold(self, most: int = REFOLD_MAX) -> int:
        """Fold up to `most` stale subjects and keep them; return how many that were."""
        rows = self._connection.execute(
            select(tables.fold.c.subject, tables.fold.c.sort).where(_is_stale()).limit(most)
        ).all()
        view = View(self.touching, cached=self._kept)
        for row in rows:
            subject = Subject(row.subject)
            self._store(row.sort, subject, view.folded(row.sort, subject), view)
        self._view = None
        return len(rows)

    def _store(self, sort: str, subject: Subject, folded: Folded, view: View) -> None:
        execute = self._connection.execute
        execute(
            update(tables.fold)
            .where(tables.fold.c.subject == subject)
            .values(
                home=folded.home,
                live=int(folded.live),
                place=folded.place,
                state=states.dump(folded.state),
                fold_version=FOLD_VERSION,
                stale=0,
            )
        )
        execute(delete(tables.fold_input).where(tables.fold_input.c.subject == subject))
        inputs = [{"subject": subject, "input": one} for one in view.inputs_of(subject)]
        if inputs:
            execute(insert(tables.fold_input), inputs)
        execute(delete(tables.move).where(tables.move.c.owner == subject))
        if folded.moves:
            execute(insert(tables.move), _move_rows(subject, folded.moves))
        execute(delete(tables.finding).where(tables.finding.c.owner == subject))
        if folded.findings:
            execute(
                insert(tables.finding),
                [
                    {"owner": subject, "n": n, "code": one.code, "entry": one.entry,
                     "detail": one.detail}
                    for n, one in enumerate(folded.findings)
                ],
            )  # fmt: skip

    def keep(self, attachment: Attachment) -> None:
        self._ignore_twice(
            tables.attachment,
            [
                {
                    "name": attachment.name,
                    "content_type": attachment.content_type,
                    "reach": attachment.reach,
                }
            ],
        )
        self._ignore_twice(
            tables.attachment_bytes,
            [{"name": attachment.name, "salt": attachment.salt, "bytes": attachment.data}],
        )

    def erase(self, name: str) -> None:
        """Remove an attachment's bytes; its name stays."""
        self._connection.execute(
            delete(tables.attachment_bytes).where(tables.attachment_bytes.c.name == name)
        )


def _stale(row: Any) -> bool:
    return bool(row.stale) or row.fold_version != FOLD_VERSION


def _is_stale() -> Any:
    return tables.fold.c.stale == 1


def _origin(entry: Entry) -> EntryId:
    """Return the id that an entry, or a correction's target, goes by."""
    return EntryId(getattr(entry.content, "target", entry.id))


def mark_old_folds(connection: Connection) -> None:
    """Mark folds of another version as stale; done once at start, before anything reads."""
    connection.execute(
        update(tables.fold).where(tables.fold.c.fold_version != FOLD_VERSION).values(stale=1)
    )


def _stale_owners() -> Any:
    return select(tables.fold.c.subject).where(_is_stale()).scalar_subquery()


def _move_rows(owner: Subject, moves: Sequence[Move]) -> list[dict[str, Any]]:
    return [
        {
            "owner": owner,
            "n": n,
            "entry": one.entry,
            "substance": one.substance,
            "from_account": one.from_account,
            "to_account": one.to_account,
            "amount": one.amount,
            "doubt": one.doubt,
            "week": one.week,
        }
        for n, one in enumerate(moves)
    ]
