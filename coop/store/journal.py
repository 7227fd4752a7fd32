"""The journal on SQL: entries and seals added to, folds kept beside them."""

from collections import Counter, OrderedDict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    Text,
    and_,
    bindparam,
    case,
    column,
    delete,
    func,
    insert,
    literal,
    not_,
    or_,
    select,
    union_all,
    values,
)

from coop.ids import Digest, EntryId, LedgerId, NodeId, Subject
from coop.ledger.accounts import CLASS, Move, balances, cause, is_use, session_of
from coop.ledger.entries import (
    Entry,
    Sealed,
    make_seal,
    read_seal,
    seal_order,
    stored_entry,
)
from coop.ledger.folding import Folded
from coop.ledger.force import Finding
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import BATCH_MAX, REFOLD_MAX, Admission, Attachment, Drawn, Late
from coop.ledger.table import Touch, target
from coop.ledger.view import RESUMES, View, family_changes, family_touches
from coop.store import tables
from coop.store.folds import (
    IS_STALE,
    Folds,
    Kept,
    Waiting,
    count_arrivals,
    finding_of,
    ignore_twice,
    in_parts,
    move_of,
)

ENTRIES_KEPT = 20_000
TOUCHED_KEPT = 500
"""Of so many subjects a unit of work remembers what concerns them."""
REFOLD_PART = 50
ROWS_OF_SINCE = 200

_WANTED: BindParameter[Any] = bindparam("wanted", expanding=True)
_TOUCHING = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.touch, tables.entry, tables.entry.c.digest == tables.touch.c.entry)
    .join(tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.touch.c.subject == bindparam("subject"))
)
_TOUCHING_ANY = (
    select(tables.touch.c.subject, tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.touch, tables.entry, tables.entry.c.digest == tables.touch.c.entry)
    .join(tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.touch.c.subject.in_(_WANTED))
)
_BY_ID = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.entry, tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.entry.c.id == bindparam("id"))
)
_AFTER = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.seal, tables.entry, tables.entry.c.digest == tables.seal.c.entry)
    .where(tables.seal.c.node == bindparam("node"), tables.seal.c.seq > bindparam("seq"))
    .order_by(tables.seal.c.seq.desc())
    .limit(bindparam("most"))
)
_BY_IDS = (
    select(tables.entry.c.bytes, tables.seal.c.bytes)
    .join_from(tables.entry, tables.seal, tables.seal.c.entry == tables.entry.c.digest)
    .where(tables.entry.c.id.in_(_WANTED))
)
_HERE = select(tables.entry.c.digest).where(tables.entry.c.digest.in_(_WANTED))
_HEAD = (
    select(tables.seal.c.seq, tables.seal.c.digest)
    .where(tables.seal.c.node == bindparam("node"))
    .order_by(tables.seal.c.seq.desc())
    .limit(1)
)
# Ids that several entries have, and ids that corrections name.
_CROWDED = union_all(
    select(tables.entry.c.id)
    .where(tables.entry.c.id.in_(_WANTED))
    .group_by(tables.entry.c.id)
    .having(func.count() > 1),
    select(tables.touch.c.subject).where(
        tables.touch.c.subject.in_(bindparam("targets", expanding=True))
    ),
)
_FINDINGS = select(tables.finding).order_by(tables.finding.c.owner, tables.finding.c.n)
_FRESH_OWNER = tables.move.c.owner.not_in(
    select(tables.fold.c.subject).where(IS_STALE).scalar_subquery()
)
_MOVES = (
    select(tables.move)
    .where(
        or_(
            tables.move.c.from_account == bindparam("account"),
            tables.move.c.to_account == bindparam("account"),
        ),
        _FRESH_OWNER,
    )
    .order_by(tables.move.c.owner, tables.move.c.n)
)
_MOVED_TO = (
    select(tables.move)
    .where(
        tables.move.c.to_account.in_(_WANTED),
        tables.move.c.at >= bindparam("since"),
        tables.move.c.at < bindparam("until"),
        _FRESH_OWNER,
    )
    .order_by(tables.move.c.at, tables.move.c.owner, tables.move.c.n)
)
LOT_FROM, LOT_TO = "lot:", "lot;"
GAP_FROM, GAP_TO = "gap:", "gap;"
"""Accounts of a sort lie between its name with ':' and the same with the next sign."""

_HOLDING = select(tables.balance).where(
    tables.balance.c.account >= bindparam("first"), tables.balance.c.account < bindparam("past")
)
_IS_USE = and_(
    tables.move.c.from_account.between(LOT_FROM, LOT_TO),
    not_(tables.move.c.to_account.between(LOT_FROM, LOT_TO)),
    not_(tables.move.c.to_account.between(GAP_FROM, GAP_TO)),
    _FRESH_OWNER,
)
_SESSION = case(
    (tables.move.c.to_account == cause(CLASS), literal(CLASS)), else_=tables.move.c.session
)
_DRAWN = (
    select(
        tables.move.c.substance,
        tables.move.c.week,
        _SESSION.label("for_session"),
        func.sum(tables.move.c.amount).label("amount"),
    )
    .where(
        tables.move.c.substance.in_(_WANTED),
        tables.move.c.week >= bindparam("since"),
        _IS_USE,
    )
    .group_by(tables.move.c.substance, tables.move.c.week, "for_session")
)
# The first week of use: one look into the index for each supply, which all have a fold.
_FIRST_DRAWN = select(
    tables.fold.c.subject.label("substance"),
    select(tables.move.c.week)
    .where(tables.move.c.substance == tables.fold.c.subject, _SESSION == "", _IS_USE)
    .order_by(tables.move.c.week)
    .limit(1)
    .correlate(tables.fold)
    .scalar_subquery()
    .label("week"),
).where(tables.fold.c.subject.in_(_WANTED))
_HELD = select(tables.balance).where(tables.balance.c.account.in_(_WANTED))
_DOUBTS = (
    select(
        tables.move.c.from_account,
        tables.move.c.substance,
        func.sum(tables.move.c.doubt).label("doubt"),
    )
    .where(tables.move.c.from_account.in_(_WANTED), _FRESH_OWNER)
    .group_by(tables.move.c.from_account, tables.move.c.substance)
)
_OWNED_BY = select(tables.move).where(tables.move.c.owner.in_(_WANTED))
_ATTACHMENTS = (
    select(
        tables.attachment.c.name,
        tables.attachment.c.content_type,
        tables.attachment.c.reach,
        tables.attachment_bytes.c.salt,
        tables.attachment_bytes.c.bytes,
    )
    .join_from(
        tables.attachment,
        tables.attachment_bytes,
        tables.attachment.c.name == tables.attachment_bytes.c.name,
    )
    .where(tables.attachment.c.name.in_(_WANTED))
)
_INSERT_ENTRY = insert(tables.entry)
_INSERT_SEAL = insert(tables.seal)


def _since(moments: Iterable[tuple[str, datetime]]) -> Any:
    """Make the statement for what came to each account after its moment, less what went."""
    columns = column("account", Text), column("since", tables.UtcTime)
    asked = values(*columns).data(list(moments)).cte("asked")
    move = tables.move.c
    ends = [
        select(asked.c.account, move.substance, (sign * move.amount).label("amount"))
        .join_from(asked, tables.move, and_(own == asked.c.account, move.at > asked.c.since))
        .where(_FRESH_OWNER)
        for own, sign in ((move.to_account, 1), (move.from_account, -1))
    ]
    both = union_all(*ends).subquery()
    return select(
        both.c.account, both.c.substance, func.sum(both.c.amount).label("amount")
    ).group_by(both.c.account, both.c.substance)


class EntryMemory:
    """
    Entries and seals already read, by their bytes; they never change.

    One for the process, made with the application. Bounded: what came in first goes first,
    read again meanwhile or not. Safe between threads, as at worst the same bytes are read
    twice.
    """

    def __init__(self, most: int = ENTRIES_KEPT) -> None:
        self._most = most
        self._kept: OrderedDict[bytes, Any] = OrderedDict()

    def entry(self, data: bytes) -> Entry:
        return self._read(data, lambda: stored_entry(data))  # type: ignore[no-any-return]  # by its key

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
        self._folds = Folds(connection)
        self._view: View | None = None
        self._waiting: Mapping[Subject, Waiting] | None = None
        self._holding: dict[str, dict[tuple[str, str], int]] = {}
        self._touched: OrderedDict[Subject, tuple[Sealed, ...]] = OrderedDict()

    # --- reading ---

    def by_id(self, entry_id: EntryId) -> tuple[Sealed, ...]:
        return self.sealed(self._connection.execute(_BY_ID, {"id": entry_id}))

    def by_ids(self, ids: Iterable[EntryId]) -> dict[EntryId, tuple[Sealed, ...]]:
        """Return all entries with each of many ids; those that are not here are left out."""
        found: dict[EntryId, tuple[Sealed, ...]] = {}
        for part in in_parts(dict.fromkeys(ids)):
            for one in self.sealed(self._connection.execute(_BY_IDS, {"wanted": part})):
                found[one.entry.id] = (*found.get(one.entry.id, ()), one)
        return found

    def touching(self, subject: Subject) -> tuple[Sealed, ...]:
        found = self._touched.get(subject)
        if found is None:
            found = self.sealed(self._connection.execute(_TOUCHING, {"subject": subject}))
            self._remember({subject: found})
        return found

    def _remember(self, touched: Mapping[Subject, tuple[Sealed, ...]]) -> None:
        self._touched |= touched
        while len(self._touched) > TOUCHED_KEPT:
            self._touched.popitem(last=False)

    def touching_any(self, subjects: Iterable[Subject]) -> dict[Subject, tuple[Sealed, ...]]:
        """Return the entries that concern each of many subjects."""
        rows: dict[Subject, list[Any]] = {subject: [] for subject in subjects}
        for part in in_parts(rows):
            for subject, *both in self._connection.execute(_TOUCHING_ANY, {"wanted": part}):
                rows[subject].append(both)
        found = {subject: self.sealed(both) for subject, both in rows.items()}
        self._remember(found)
        return found

    def after(self, seq: int, *, most: int) -> tuple[Sealed, ...]:
        wanted = {"node": self.node, "seq": seq, "most": most}
        return self.sealed(self._connection.execute(_AFTER, wanted))

    def sealed(self, rows: Iterable[Any]) -> tuple[Sealed, ...]:
        """Return what rows of (bytes of an entry, bytes of a seal of it) hold."""
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
            self._view = View(self.touching, cached=self._folds.fresh)
        return self._view

    def state(self, sort: str, subject: Subject | None) -> Any:
        return self.view().state(sort, subject)

    def states(self, sort: str, subjects: Iterable[Subject]) -> dict[Subject, Any]:
        there = self._folds.look_up(set(subjects))
        found = ((subject, self.state(sort, subject)) for subject in there)
        return {subject: state for subject, state in found if state is not None}

    def folded(self, sort: str, subject: Subject) -> Folded:
        return self._folds.whole(sort, subject) or self.view().folded(sort, subject)

    def listed(
        self, sort: str, *, home: Subject | None = None, live: bool = True
    ) -> tuple[Any, ...]:
        return self._with_stale(
            sort,
            self._folds.listed(sort, home, live=live),
            lambda one: (one.live or not live) and (home is None or one.home == home),
        )

    def gather(self, sorts: Iterable[str], *, live: bool = True) -> None:
        self._folds.gather(sorts, live=live)

    def listed_in(self, sort: str, homes: Collection[Subject]) -> tuple[Any, ...]:
        found = self._folds.listed_in(sort, homes)
        return self._with_stale(sort, found, lambda one: one.home in homes)

    def _with_stale(
        self,
        sort: str,
        fresh: Iterable[tuple[Subject, Folded]],
        wanted: Callable[[Folded], bool],
    ) -> tuple[Any, ...]:
        """Add what waits to be folded again, take what is wanted, and put it in order."""
        found = list(fresh)
        found += [
            (subject, self.view().folded(sort, subject))
            for subject, waiting in self._stale().items()
            if waiting.sort == sort
        ]
        states = [
            (folded.place, subject, folded.state)
            for subject, folded in found
            if folded.state is not None and wanted(folded)
        ]
        return tuple(state for _, _, state in sorted(states, key=lambda one: one[:2]))

    def _stale(self) -> Mapping[Subject, Waiting]:
        """Return what waits to be folded again; asked for once, until something is written."""
        if self._waiting is None:
            self._waiting = self._folds.stale()
        return self._waiting

    def findings(self, *, codes: Iterable[str] = ()) -> tuple[tuple[Subject, Finding], ...]:
        wanted = tuple(codes)
        rows = _FINDINGS.where(tables.finding.c.code.in_(wanted)) if wanted else _FINDINGS
        stale = self._stale()
        found = [
            (Subject(row.owner), finding_of(row))
            for row in self._connection.execute(rows)
            if row.owner not in stale
        ]
        for subject, (sort, _) in stale.items():
            found += [
                (subject, finding)
                for finding in self.view().folded(sort, subject).findings
                if not wanted or finding.code in wanted
            ]
        return tuple(sorted(found, key=lambda one: one[0]))

    def moves(self, account: str) -> tuple[Move, ...]:
        rows = self._connection.execute(_MOVES, {"account": account})
        waiting = (
            one
            for one in self._waiting_moves()
            if account in (one.from_account, one.to_account)
        )
        return (*(move_of(row) for row in rows), *waiting)

    def _waiting_moves(self) -> list[Move]:
        """Return the rows that what is stale comes to."""
        return [
            one
            for subject, (sort, _) in self._stale().items()
            for one in self.view().folded(sort, subject).moves
        ]

    def held(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        wanted = set(accounts)
        held: Counter[tuple[str, str]] = Counter()
        for part in in_parts(wanted):
            for row in self._connection.execute(_HELD, {"wanted": part}):
                held[row.account, row.substance] += int(row.amount)
        self._as_if_folded(held)
        return {key: amount for key, amount in held.items() if key[0] in wanted and amount}

    def holding(self, sort: str) -> dict[tuple[str, str], int]:
        if sort not in self._holding:
            self._holding[sort] = self._all_held(sort)
        return dict(self._holding[sort])

    def _all_held(self, sort: str) -> dict[tuple[str, str], int]:
        wanted = {"first": f"{sort}:", "past": f"{sort};"}
        held: Counter[tuple[str, str]] = Counter()
        for row in self._connection.execute(_HOLDING, wanted):
            held[row.account, row.substance] += int(row.amount)
        self._as_if_folded(held)
        own = wanted["first"]
        return {
            key: amount for key, amount in held.items() if amount and key[0].startswith(own)
        }

    def _as_if_folded(self, held: Counter[tuple[str, str]]) -> None:
        """Put what stale folds come to in the place of their rows."""
        for owners in in_parts(self._stale()):
            rows = self._connection.execute(_OWNED_BY, {"wanted": owners})
            held.subtract(balances(move_of(row) for row in rows))
        held.update(balances(self._waiting_moves()))

    def since(self, moments: Mapping[str, datetime]) -> dict[tuple[str, str], int]:
        found: Counter[tuple[str, str]] = Counter()
        for part in in_parts(moments.items(), ROWS_OF_SINCE):
            for row in self._connection.execute(_since(part)):
                found[row.account, row.substance] += int(row.amount)
        for move in self._waiting_moves():
            for account, sign in ((move.to_account, 1), (move.from_account, -1)):
                if account in moments and move.at > moments[account]:
                    found[account, move.substance] += sign * move.amount
        return {key: amount for key, amount in found.items() if amount}

    def moved_to(
        self, accounts: Iterable[str], *, since: datetime, until: datetime
    ) -> tuple[Move, ...]:
        wanted = set(accounts)
        found: list[Move] = []
        for part in in_parts(wanted):
            asked = {"wanted": part, "since": since, "until": until}
            found += [move_of(row) for row in self._connection.execute(_MOVED_TO, asked)]
        found += [
            one
            for one in self._waiting_moves()
            if one.to_account in wanted and since <= one.at < until
        ]
        return tuple(found)

    def drawn(self, substances: Iterable[str], *, week: str) -> tuple[Drawn, ...]:
        wanted = set(substances)
        found: Counter[tuple[str, str, str]] = Counter()
        for part in in_parts(wanted):
            for row in self._connection.execute(_DRAWN, {"wanted": part, "since": week}):
                found[row.substance, row.week, row.for_session] += int(row.amount)
        for move in self._waiting_moves():
            if move.substance in wanted and move.week >= week and is_use(move):
                found[move.substance, move.week, session_of(move)] += move.amount
        return tuple(
            Drawn(substance=substance, week=in_week, session=session, amount=amount)
            for (substance, in_week, session), amount in sorted(found.items())
        )

    def first_drawn(self, substances: Iterable[str]) -> dict[str, str]:
        wanted = set(substances)
        found: dict[str, str] = {}
        for part in in_parts(wanted):
            for row in self._connection.execute(_FIRST_DRAWN, {"wanted": part}):
                if row.week is not None:
                    found[row.substance] = row.week
        for move in self._waiting_moves():
            if move.substance in wanted and not session_of(move) and is_use(move):
                found[move.substance] = min(found.get(move.substance, move.week), move.week)
        return found

    def doubts(self, accounts: Iterable[str]) -> dict[tuple[str, str], int]:
        wanted = set(accounts)
        found: Counter[tuple[str, str]] = Counter()
        for part in in_parts(wanted):
            for row in self._connection.execute(_DOUBTS, {"wanted": part}):
                found[row.from_account, row.substance] += int(row.doubt)
        for move in self._waiting_moves():
            if move.from_account in wanted:
                found[move.from_account, move.substance] += move.doubt
        return {key: doubt for key, doubt in found.items() if doubt}

    def late(self, *, since: datetime) -> tuple[Late, ...]:
        kept = tables.late_arrival
        rows = self._connection.execute(
            select(kept)
            .where(kept.c.admitted_at >= since)
            .order_by(kept.c.admitted_at.desc(), kept.c.entry)
        )
        return tuple(
            Late(
                entry=EntryId(row.entry),
                bath=Subject(row.bath),
                count=row.entry_count,
                before=row.before,
                after=row.after,
                admitted_at=row.admitted_at,
            )
            for row in rows
        )

    def head(self) -> tuple[int, Digest | str]:
        row = self._connection.execute(_HEAD, {"node": self.node}).one_or_none()
        return (0, "") if row is None else (row.seq, row.digest)

    def attachment(self, name: str) -> Attachment | None:
        return self.attachments([name]).get(name)

    def attachments(self, names: Iterable[str]) -> dict[str, Attachment]:
        return {
            row.name: Attachment(
                name=row.name,
                content_type=row.content_type,
                reach=row.reach,
                salt=bytes(row.salt),
                data=bytes(row.bytes),
            )
            for part in in_parts(names)
            for row in self._connection.execute(_ATTACHMENTS, {"wanted": part})
        }

    # --- writing ---

    def append(
        self, entries: Sequence[Entry], admission: Admission, *, fold: bool = True
    ) -> tuple[Sealed, ...]:
        assert len(entries) <= BATCH_MAX
        assert all(entry.ledger == self.ledger for entry in entries)
        sealed = self._seal(self._new(entries), admission)
        if sealed:
            self._connection.execute(_INSERT_ENTRY, [_entry_row(one.entry) for one in sealed])
            self._connection.execute(_INSERT_SEAL, [_seal_row(one) for one in sealed])
            count_arrivals(self._connection, (one.entry for one in sealed))
            self.link(sealed, fold=fold)
        return sealed

    def _new(self, entries: Sequence[Entry]) -> list[Entry]:
        """Return those that are not here, each once."""
        new = {entry.digest: entry for entry in entries}
        for part in in_parts(list(new)):
            for digest in self._connection.scalars(_HERE, {"wanted": part}):
                del new[digest]
        return list(new.values())

    def _seal(self, entries: Sequence[Entry], admission: Admission) -> tuple[Sealed, ...]:
        seq, prev = self.head()
        sealed = []
        for entry in entries:
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
        return tuple(sealed)

    def link(self, sealed: Sequence[Sealed], *, fold: bool) -> None:
        """
        Write down which subjects entries concern, and mark stale what they change.

        With `fold` on, what is stale is folded and kept; a fold to which one entry was
        added at its end is continued, not done anew.
        """
        self._write_touches({one.entry.digest: one.entry.touches for one in sealed})
        families = self.families([one.entry for one in sealed])
        changes: dict[Touch, bool] = {}
        made: set[Touch] = set()
        for one in sealed:
            family = families.get(_origin(one.entry), (one,))
            for touch, passed_on in family_changes(each.entry for each in family).items():
                changes[touch] = changes.get(touch, False) or passed_on
            made |= _made(family)
            if len(family) > 1:
                reached = family_touches(each.entry for each in family)
                self._write_touches({each.entry.digest: reached for each in family})
        self._forget()
        alone = sealed[0] if fold and len(sealed) == 1 and not families else None
        self._mark(changes, made, alone)
        self._forget()
        if fold:
            self.refold()

    def _forget(self) -> None:
        """Forget what was worked out before something changed."""
        self._view = None
        self._waiting = None
        self._holding = {}

    def _write_touches(self, touches: Mapping[Digest, tuple[Touch, ...]]) -> None:
        rows = [
            {"subject": subject, "entry": digest}
            for digest, reached in touches.items()
            for _, subject in reached
        ]
        ignore_twice(self._connection, tables.touch, rows)
        self._touched.clear()

    def families(self, entries: Sequence[Entry]) -> dict[EntryId, tuple[Sealed, ...]]:
        """
        Return, for ids that several entries have or corrections name, all of those.

        A correction that names another correction is no part of what that one corrects.
        """
        origins = dict.fromkeys(_origin(entry) for entry in entries)
        crowded: set[str] = set()
        for part in in_parts(origins):
            named = {target(origin): origin for origin in part}
            wanted = {"wanted": part, "targets": list(named)}
            found = self._connection.scalars(_CROWDED, wanted)
            crowded.update(named.get(Subject(one), one) for one in found)
        return {
            origin: tuple(
                one
                for one in self.by_id(origin) + self.touching(target(origin))
                if _origin(one.entry) == origin
            )
            for origin in origins
            if origin in crowded
        }

    def _mark(
        self, changes: Mapping[Touch, bool], made: set[Touch], alone: Sealed | None
    ) -> None:
        """Mark as stale what changed and what asked for it, or continue it with one entry."""
        passed_on = [subject for (_, subject), others_read in changes.items() if others_read]
        users = self._folds.users(passed_on)
        going_on = {
            (sort, subject)
            for sort, subject in changes
            if alone is not None and sort in RESUMES and subject not in users
        }
        self._folds.place(changes.keys() - going_on, made)
        self._folds.set_stale(users)
        if alone is not None:
            left = [touch for touch in going_on if not self._resume(*touch, alone)]
            self._folds.place(left, made)

    def _resume(self, sort: str, subject: Subject, one: Sealed) -> bool:
        """Continue a kept fold with one entry, and keep it; say whether that could be done."""
        view = self.view()
        folded = view.resumed(sort, subject, one)
        if folded is None:
            return False
        inputs = view.inputs_of(sort, subject)
        self._folds.store_resumed(
            Kept(sort=sort, subject=subject, folded=folded, inputs=inputs)
        )
        return True

    def refold(self, most: int = REFOLD_MAX) -> int:
        """Fold up to `most` stale subjects and keep them; return how many that were."""
        stale = self._folds.stale(most)
        for part in in_parts(stale, REFOLD_PART):
            self._refold({subject: stale[subject] for subject in part})
        self._forget()
        return len(stale)

    def _refold(self, stale: Mapping[Subject, Waiting]) -> None:
        touching = self.touching_any(stale)
        self._look_up_laid(touching)

        def entries(subject: Subject) -> tuple[Sealed, ...]:
            return touching[subject] if subject in touching else self.touching(subject)

        def cached(sort: str, subject: Subject) -> Folded | None:
            return None if subject in stale else self._folds.fresh(sort, subject)

        view = View(entries, cached=cached)
        self._folds.store(
            [
                Kept(
                    sort=sort,
                    subject=subject,
                    folded=view.folded(sort, subject),
                    inputs=view.inputs_of(sort, subject),
                    new=new,
                )
                for subject, (sort, new) in stale.items()
            ]
        )

    def _look_up_laid(self, touching: Mapping[Subject, Iterable[Sealed]]) -> None:
        """Read in one question the stacks that were laid on a size: its fold asks for each."""
        stacks = {
            subject
            for sealed in touching.values()
            for one in sealed
            for sort, subject in one.entry.touches
            if sort == "stack" and subject != Subject(one.entry.id)
        }
        self._folds.look_up(stacks - touching.keys())

    def keep(self, attachment: Attachment) -> None:
        """Keep an attachment; one that was erased is not brought back by a later copy of it."""
        named = select(tables.attachment.c.name).where(
            tables.attachment.c.name == attachment.name
        )
        if self._connection.scalar(named) is not None:
            return
        self._connection.execute(
            insert(tables.attachment).values(
                name=attachment.name,
                content_type=attachment.content_type,
                reach=attachment.reach,
            )
        )
        self._connection.execute(
            insert(tables.attachment_bytes).values(
                name=attachment.name, salt=attachment.salt, bytes=attachment.data
            )
        )

    def note_late(self, late: Late) -> None:
        row = {
            "entry": late.entry,
            "bath": late.bath,
            "entry_count": late.count,
            "before": late.before,
            "after": late.after,
            "admitted_at": late.admitted_at,
        }
        ignore_twice(self._connection, tables.late_arrival, [row])

    def erase(self, name: str) -> None:
        """Remove an attachment's bytes; its name stays."""
        self._connection.execute(
            delete(tables.attachment_bytes).where(tables.attachment_bytes.c.name == name)
        )


def _entry_row(entry: Entry) -> dict[str, Any]:
    return {"digest": entry.digest, "id": entry.id, "bytes": entry.data}


def _seal_row(one: Sealed) -> dict[str, Any]:
    seal = one.first
    return {
        "digest": seal.digest,
        "entry": seal.entry,
        "node": seal.node,
        "seq": seal.seq,
        "bytes": seal.data,
    }


def _origin(entry: Entry) -> EntryId:
    """Return the id that an entry, or a correction's target, goes by."""
    said = entry.content
    return EntryId(said.target) if isinstance(said, EntryCorrected) else entry.id


def _made(family: Sequence[Sealed]) -> set[Touch]:
    """Return what the entry in force among those of one id makes: it has that id."""
    originals = [one for one in family if not isinstance(one.entry.content, EntryCorrected)]
    if not originals:
        return set()
    entry = min(originals, key=lambda one: seal_order(one.first)).entry
    return {touch for touch in entry.touches if touch[1].partition(":")[0] == entry.id}
