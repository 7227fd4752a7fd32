"""The kept folds: what was worked out from the journal, and what it was worked out from."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import (
    BindParameter,
    Connection,
    Row,
    Table,
    and_,
    bindparam,
    delete,
    func,
    insert,
    literal_column,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from coop.ids import EntryId, Subject
from coop.ledger.accounts import Move
from coop.ledger.entries import Entry
from coop.ledger.folding import FOLD_VERSION, Folded
from coop.ledger.force import Finding
from coop.ledger.table import Touch, written_on
from coop.store import states, tables

VARIABLES_MAX = 500
T = TypeVar("T")

# Said as a literal, or the partial index on what is stale would not be used.
IS_STALE = tables.fold.c.stale == literal_column("1")

IS_WRITTEN_ON = tables.touch.c.subject.startswith(written_on(""))

_WANTED: BindParameter[Any] = bindparam("wanted", expanding=True)
_ONE = select(tables.fold).where(tables.fold.c.subject == bindparam("subject"))
_SOME = select(tables.fold).where(tables.fold.c.subject.in_(_WANTED))
_STALE = select(tables.fold.c.subject, tables.fold.c.sort, tables.fold.c.place).where(IS_STALE)
_STALE_FEW = _STALE.limit(bindparam("most"))
_FRESH = select(tables.fold).where(
    tables.fold.c.sort == bindparam("sort"),
    tables.fold.c.stale == 0,
    tables.fold.c.fold_version == FOLD_VERSION,
)
_FRESH_LIVE = _FRESH.where(tables.fold.c.live == 1)
_HOME = tables.fold.c.home == bindparam("home")
_IN_HOMES = _FRESH.where(tables.fold.c.live.in_((0, 1)), tables.fold.c.home.in_(_WANTED))
_LISTS = {
    (live, home): (_FRESH_LIVE if live else _FRESH).where(*([_HOME] if home else []))
    for live in (False, True)
    for home in (False, True)
}
_GATHERED = {
    live: select(tables.fold).where(
        tables.fold.c.sort.in_(_WANTED),
        tables.fold.c.stale == 0,
        tables.fold.c.fold_version == FOLD_VERSION,
        *([tables.fold.c.live == 1] if live else []),
    )
    for live in (False, True)
}
_USERS = select(tables.fold_input.c.subject).where(tables.fold_input.c.input.in_(_WANTED))
_SET_STALE = update(tables.fold).where(tables.fold.c.subject.in_(_WANTED)).values(stale=1)
_STORE = (
    update(tables.fold)
    .where(tables.fold.c.subject == bindparam("key"))
    .values({name: bindparam(name) for name in ("home", "live", "place", "state")})
    .values(fold_version=FOLD_VERSION, stale=0)
)
_OWNED = (
    (tables.fold_input, tables.fold_input.c.subject),
    (tables.move, tables.move.c.owner),
    (tables.finding, tables.finding.c.owner),
)
_OF = {
    table: select(table).where(key.in_(_WANTED)).order_by(*table.primary_key)
    for table, key in _OWNED
}
_LAST = {
    table: select(func.max(table.c.n)).where(table.c.owner == bindparam("owner"))
    for table in (tables.move, tables.finding)
}
_TAKE_OUT = {
    table: delete(table).where(
        and_(*(column == bindparam(f"the_{column.name}") for column in table.primary_key))
    )
    for table, _ in _OWNED
}
_EMPTIED = delete(tables.balance).where(
    tables.balance.c.account.in_(_WANTED), tables.balance.c.amount == 0
)
_PUT_IN = {table: insert(table) for table, _ in _OWNED}


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A fold to be kept, with the subjects it asked for; a `new` one has no rows yet."""

    sort: str
    subject: Subject
    folded: Folded
    inputs: frozenset[Subject]
    new: bool = False


class Waiting(NamedTuple):
    """A subject to be folded again; a `new` one for the first time."""

    sort: str
    new: bool


class Folds:
    """The kept folds on one connection."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._read: dict[Subject, tuple[str, Folded]] = {}
        self._lists: dict[
            tuple[str, Subject | None, bool], tuple[tuple[Subject, Folded], ...]
        ] = {}
        self._homes: dict[tuple[str, Subject], list[tuple[Subject, Folded]]] = {}

    def fresh(self, sort: str, subject: Subject) -> Folded | None:
        """Return a kept fold without its rows, or None when it is not here or stale."""
        found = self._read.get(subject)
        if found is None:
            row = self._connection.execute(_ONE, {"subject": subject}).one_or_none()
            if row is None or not _is_fresh(row):
                return None
            found = self._read[subject] = row.sort, folded_of(row)
        return found[1] if found[0] == sort else None

    def look_up(self, subjects: Collection[Subject]) -> set[Subject]:
        """Read folds that will be asked for in one question; return those that are there."""
        there = self._read.keys() & subjects
        for part in in_parts(set(subjects) - there):
            for row in self._connection.execute(_SOME, {"wanted": part}):
                there.add(Subject(row.subject))
                if _is_fresh(row):
                    self._read[Subject(row.subject)] = row.sort, folded_of(row)
        return there

    def whole(self, sort: str, subject: Subject) -> Folded | None:
        """Return a kept fold with its moves and findings, or None when it is stale."""
        kept = self.fresh(sort, subject)
        if kept is None:
            return None
        moves, findings = (
            self.owned(table, [subject])[subject] for table in (tables.move, tables.finding)
        )
        return replace(
            kept, moves=tuple(map(move_of, moves)), findings=tuple(map(finding_of, findings))
        )

    def owned(self, table: Table, owners: Iterable[Subject]) -> dict[Subject, list[Row[Any]]]:
        """Return the rows of moves, findings or inputs that belong to each of these folds."""
        rows: dict[Subject, list[Row[Any]]] = {owner: [] for owner in owners}
        for part in in_parts(list(rows)):
            for row in self._connection.execute(_OF[table], {"wanted": part}):
                rows[row[0]].append(row)
        return rows

    def listed(
        self, sort: str, home: Subject | None, *, live: bool
    ) -> tuple[tuple[Subject, Folded], ...]:
        """Return the folds of one sort that are not stale; read once, until one is written."""
        found = self._lists.get((sort, home, live))
        if found is None:
            found = self._lists[sort, home, live] = self._list(sort, home, live=live)
            self._remember(sort, found)
        return found

    def _list(
        self, sort: str, home: Subject | None, *, live: bool
    ) -> tuple[tuple[Subject, Folded], ...]:
        """Pick what is at home somewhere out of the whole list, where that was read."""
        whole = self._lists.get((sort, None, live))
        if whole is not None:
            return tuple(one for one in whole if one[1].home == home)
        wanted = {"sort": sort} | ({"home": home} if home is not None else {})
        rows = self._connection.execute(_LISTS[live, home is not None], wanted)
        return tuple((Subject(row.subject), folded_of(row)) for row in rows)

    def gather(self, sorts: Iterable[str], *, live: bool) -> None:
        """Read the lists of several sorts in one question."""
        wanted = [sort for sort in sorts if (sort, None, live) not in self._lists]
        if not wanted:
            return
        found: dict[str, list[tuple[Subject, Folded]]] = {sort: [] for sort in wanted}
        for row in self._connection.execute(_GATHERED[live], {"wanted": wanted}):
            found[row.sort].append((Subject(row.subject), folded_of(row)))
        for sort, folds in found.items():
            self._lists[sort, None, live] = tuple(folds)
            self._remember(sort, folds)

    def _remember(self, sort: str, folds: Iterable[tuple[Subject, Folded]]) -> None:
        """Keep what a list has read, for whoever asks for one of them by itself."""
        for subject, folded in folds:
            self._read.setdefault(subject, (sort, folded))

    def listed_in(
        self, sort: str, homes: Collection[Subject]
    ) -> Iterator[tuple[Subject, Folded]]:
        """Give the folds of one sort that belong to any of these; each home is read once."""
        every = dict.fromkeys(homes)
        wanted = [home for home in every if (sort, home) not in self._homes]
        for part in in_parts(wanted):
            self._homes |= {(sort, home): [] for home in part}
            for row in self._connection.execute(_IN_HOMES, {"sort": sort, "wanted": part}):
                one = Subject(row.subject), folded_of(row)
                self._homes[sort, row.home].append(one)
                self._remember(sort, [one])
        for home in every:
            yield from self._homes[sort, home]

    def stale(self, most: int | None = None) -> dict[Subject, Waiting]:
        """Return the subjects that wait to be folded again."""
        if most is None:
            rows = self._connection.execute(_STALE)
        else:
            rows = self._connection.execute(_STALE_FEW, {"most": most})
        return {
            Subject(row.subject): Waiting(sort=row.sort, new=row.place is None) for row in rows
        }

    def place(self, touches: Iterable[Touch], made: Collection[Touch]) -> None:
        """Give subjects a row, stale; what an entry made has the sort it was made as."""
        upserts = _UPSERTS[self._connection.dialect.name]
        rows: dict[bool, list[dict[str, Any]]] = {False: [], True: []}
        for sort, subject in touches:
            rows[(sort, subject) in made].append(_empty_row(sort, subject))
            self._forget(subject)
        for is_made, some in rows.items():
            if some:
                self._connection.execute(upserts[is_made], some)

    def users(self, subjects: Iterable[Subject]) -> set[Subject]:
        """Return everything whose fold asked for these subjects, through and through."""
        edge = list(subjects)
        reached: set[Subject] = set()
        while edge:
            part, edge = edge[:VARIABLES_MAX], edge[VARIABLES_MAX:]
            found = set(self._connection.scalars(_USERS, {"wanted": part})) - reached
            reached |= found
            edge += list(found)
        return reached

    def set_stale(self, subjects: Iterable[Subject]) -> None:
        for part in in_parts(subjects):
            self._connection.execute(_SET_STALE, {"wanted": part})
            for subject in part:
                self._forget(subject)

    def store(self, folds: Sequence[Kept]) -> None:
        """Keep whole folds with their rows; rows that are right already are left alone."""
        if not folds:
            return
        self._connection.execute(_STORE, [_stored_row(one) for one in folds])
        rows: dict[Table, list[tuple[Any, ...]]] = {table: [] for table, _ in _OWNED}
        for one in folds:
            rows[tables.fold_input] += [(one.subject, given) for given in one.inputs]
            rows[tables.move] += _move_rows(one.subject, one.folded.moves, 0)
            rows[tables.finding] += _finding_rows(one.subject, one.folded.findings, 0)
            self._forget(one.subject)
        owners = [one.subject for one in folds if not one.new]
        for table, wanted in rows.items():
            self._make(table, owners, wanted)

    def _make(self, table: Table, owners: list[Subject], wanted: list[tuple[Any, ...]]) -> None:
        """Make the rows of these owners be the wanted ones."""
        there = {tuple(row) for rows in self.owned(table, owners).values() for row in rows}
        names = table.columns.keys()
        keys = [f"the_{column.name}" for column in table.primary_key]
        out = there - set(wanted)
        if out:
            gone = [dict(zip(keys, row, strict=False)) for row in out]
            self._connection.execute(_TAKE_OUT[table], gone)
            self._book(table, (dict(zip(names, row, strict=True)) for row in out), -1)
        self._put_in(table, [row for row in wanted if row not in there])

    def _put_in(self, table: Table, rows: Iterable[tuple[Any, ...]]) -> None:
        named = [dict(zip(table.columns.keys(), row, strict=True)) for row in rows]
        if named:
            self._connection.execute(_PUT_IN[table], named)
            self._book(table, named, 1)

    def _book(self, table: Table, rows: Iterable[dict[str, Any]], sign: int) -> None:
        """Bring what accounts hold in step with rows put in (1) or taken out (-1)."""
        if table is not tables.move:
            return
        sums: Counter[tuple[str, str]] = Counter()
        for row in rows:
            sums[row["to_account"], row["substance"]] += sign * row["amount"]
            sums[row["from_account"], row["substance"]] -= sign * row["amount"]
        booked = [
            {"account": account, "substance": substance, "amount": amount}
            for (account, substance), amount in sums.items()
            if amount
        ]
        if booked:
            self._connection.execute(_BOOKING[self._connection.dialect.name], booked)
        for part in in_parts({row["account"] for row in booked}):
            self._connection.execute(_EMPTIED, {"wanted": part})

    def store_resumed(self, one: Kept) -> None:
        """Keep a fold that was taken up at its end: its moves and findings are added."""
        self._connection.execute(_STORE, _stored_row(one))
        self._forget(one.subject)
        inputs = [{"subject": one.subject, "input": given} for given in one.inputs]
        ignore_twice(self._connection, tables.fold_input, inputs)
        if one.folded.moves:
            n = self._next(tables.move, one.subject)
            self._put_in(tables.move, _move_rows(one.subject, one.folded.moves, n))
        if one.folded.findings:
            n = self._next(tables.finding, one.subject)
            self._put_in(tables.finding, _finding_rows(one.subject, one.folded.findings, n))

    def _forget(self, subject: Subject) -> None:
        """Forget what was read of a fold that is written, and every list it may stand in."""
        self._read.pop(subject, None)
        self._lists.clear()
        self._homes.clear()

    def _next(self, table: Table, owner: Subject) -> int:
        last = self._connection.scalar(_LAST[table], {"owner": owner})
        return 0 if last is None else last + 1


def ignore_twice(connection: Connection, table: Table, rows: list[dict[str, Any]]) -> None:
    """Insert rows; one whose key is there already is left as it is."""
    if rows:
        connection.execute(_IGNORING[connection.dialect.name, table], rows)


def _upsert(dialect: Any, *taken: str) -> Any:
    """Make the statement for a stale row; of one that is there it takes over some columns."""
    insert = dialect.insert(tables.fold)
    return insert.on_conflict_do_update(
        index_elements=[tables.fold.c.subject],
        set_={name: insert.excluded[name] for name in taken},
    )


_UPSERTS = {
    name: {False: _upsert(dialect, "stale"), True: _upsert(dialect, "stale", "sort")}
    for name, dialect in (("sqlite", sqlite), ("postgresql", postgresql))
}
_IGNORING = {
    (name, table): dialect.insert(table).on_conflict_do_nothing()
    for name, dialect in (("sqlite", sqlite), ("postgresql", postgresql))
    for table in tables.metadata.tables.values()
}


def _booking(dialect: Any) -> Any:
    """Make the statement that adds to what an account holds."""
    insert = dialect.insert(tables.balance)
    return insert.on_conflict_do_update(
        index_elements=[tables.balance.c.account, tables.balance.c.substance],
        set_={"amount": tables.balance.c.amount + insert.excluded.amount},
    )


_BOOKING = {"sqlite": _booking(sqlite), "postgresql": _booking(postgresql)}


def _arriving(dialect: Any) -> Any:
    """Make the statement that adds to how many entries of a device are here."""
    insert = dialect.insert(tables.arrival)
    return insert.on_conflict_do_update(
        index_elements=[tables.arrival.c.subject],
        set_={"entry_count": tables.arrival.c.entry_count + insert.excluded.entry_count},
    )


_ARRIVING = {"sqlite": _arriving(sqlite), "postgresql": _arriving(postgresql)}


def count_arrivals(connection: Connection, entries: Iterable[Entry]) -> None:
    """Add entries that are new here to the counts of the devices they were written on."""
    counts = Counter(written_on(one.device) for one in entries if one.device is not None)
    rows = [{"subject": key, "entry_count": counts[key]} for key in sorted(counts)]
    if rows:
        connection.execute(_ARRIVING[connection.dialect.name], rows)


def recount_arrivals(connection: Connection) -> None:
    """Count the entries of each device anew from what concerns whom."""
    touch = tables.touch.c
    counted = select(touch.subject, func.count()).where(IS_WRITTEN_ON).group_by(touch.subject)
    connection.execute(insert(tables.arrival).from_select(["subject", "entry_count"], counted))


def in_parts(whole: Iterable[T], most: int = VARIABLES_MAX) -> Iterator[list[T]]:
    """Cut what goes into one statement to the number of variables it may have."""
    parts = iter(whole)
    while part := list(islice(parts, most)):
        yield part


def mark_old_folds(connection: Connection) -> None:
    """Mark folds of another version as stale; done once at start, before anything reads."""
    connection.execute(
        update(tables.fold).where(tables.fold.c.fold_version != FOLD_VERSION).values(stale=1)
    )


def _is_fresh(row: Row[Any]) -> bool:
    return not row.stale and row.fold_version == FOLD_VERSION


def move_of(row: Row[Any]) -> Move:
    """Return a stored row as a move."""
    return Move(
        entry=EntryId(row.entry),
        substance=row.substance,
        from_account=row.from_account,
        to_account=row.to_account,
        amount=row.amount,
        doubt=row.doubt,
        week=row.week,
        at=row.at,
        session=row.session,
    )


def finding_of(row: Row[Any]) -> Finding:
    """Return a stored row as a finding."""
    return Finding(code=row.code, entry=EntryId(row.entry), detail=row.detail)


def folded_of(row: Row[Any]) -> Folded:
    """Return a stored fold, without its moves and findings."""
    return Folded(
        state=states.load(row.sort, row.state),
        home=row.home or "",
        live=bool(row.live),
        place=row.place or 0,
    )


def _empty_row(sort: str, subject: Subject) -> dict[str, Any]:
    return {
        "subject": subject,
        "sort": sort,
        "home": None,
        "live": 0,
        "place": None,
        "state": None,
        "fold_version": FOLD_VERSION,
        "stale": 1,
    }


def _stored_row(one: Kept) -> dict[str, Any]:
    return {
        "key": one.subject,
        "home": one.folded.home,
        "live": int(one.folded.live),
        "place": one.folded.place,
        "state": states.dump(one.folded.state),
    }


def _move_rows(owner: Subject, moves: Iterable[Move], first: int) -> list[tuple[Any, ...]]:
    return [
        (owner, n, one.entry, one.substance, one.from_account, one.to_account,
         one.amount, one.doubt, one.week, one.at, one.session)
        for n, one in enumerate(moves, first)
    ]  # fmt: skip


def _finding_rows(
    owner: Subject, findings: Iterable[Finding], first: int
) -> list[tuple[Any, ...]]:
    return [
        (owner, n, one.code, one.entry, one.detail) for n, one in enumerate(findings, first)
    ]
