"""
Read the whole database and name what is not as it must be; nothing is changed.

Memory is bounded: rows are read in parts. The kept entries are decoded anew, nothing that
the process remembers is believed.
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sqlalchemy import Connection, Row, Select, func, or_, select, union_all

from coop.ids import Digest, EntryId, LedgerId, NodeId, Subject
from coop.ledger import accounts, canon
from coop.ledger.baths import BathState
from coop.ledger.canon import NotCanonical
from coop.ledger.digest import REL_TOLERANCE, differences
from coop.ledger.entries import Entry, Seal, Sealed, read_entry, read_seal
from coop.ledger.folding import FOLD_VERSION, Folded
from coop.ledger.liquids import LiquidState
from coop.ledger.schema import Slip
from coop.ledger.states import StackState
from coop.ledger.view import FOLDS, View, family_changes, touches_within
from coop.science.bath import Account
from coop.store import replays, tables
from coop.store.folds import IS_WRITTEN_ON, Folds, finding_of, folded_of, in_parts, move_of
from coop.store.journal import SqlJournal
from coop.store.migrate import guards_present

PART = 200
PROBLEMS_MAX = 1_000
OVER_THE_COUNT = frozenset({"sorted-over-the-count", "laid-over-the-count"})

# What reading spoilt bytes may raise; whatever else it is, is a fault of ours.
UNREADABLE = (NotCanonical, Slip, ValueError, KeyError, TypeError, AttributeError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """
    One thing that is not as it must be.

    Attributes:
        code: What is wrong, from the list in DEVELOPERS.md.
        where: The row: its table and key.
    """

    code: str
    where: str
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """
    What was found, and how much was looked at.

    Attributes:
        problems: At most `PROBLEMS_MAX`; `counts["problems"]` tells how many there are.
        counts: Rows looked at, by what they are.
    """

    problems: tuple[Problem, ...]
    counts: Mapping[str, int]

    @property
    def clean(self) -> bool:
        return not self.problems


@dataclass(slots=True)
class _Notes:
    problems: list[Problem] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def add(self, code: str, where: str, detail: str = "") -> None:
        self.counts["problems"] += 1
        if len(self.problems) < PROBLEMS_MAX:
            self.problems.append(Problem(code=code, where=where, detail=detail))


def verify(connection: Connection, ledger: LedgerId) -> Report:
    """Look at guards, entries, seals, attachments, rows and folds; use one reading view."""
    notes = _Notes()
    for name in guards_present(connection):
        notes.add("guard-missing", name)
    _check_entries(connection, ledger, notes)
    _check_seals(connection, ledger, notes)
    _check_attachments(connection, notes)
    _check_moves(connection, notes)
    journal = SqlJournal(connection, ledger=ledger, node=NodeId(""))
    _check_touches(connection, journal, notes)
    _check_arrivals(connection, notes)
    _check_folds(connection, journal, notes)
    _check_decisions(connection, journal, notes)
    return Report(problems=tuple(notes.problems), counts=dict(notes.counts))


def _parts(connection: Connection, rows: Select[Any]) -> Iterator[Sequence[Row[Any]]]:
    yield from connection.execute(rows, execution_options={"yield_per": PART}).partitions()


# --- the journal ----------------------------------------------------------------------


def _check_entries(connection: Connection, ledger: LedgerId, notes: _Notes) -> None:
    entry = tables.entry.c
    for part in _parts(connection, select(entry.digest, entry.id, entry.bytes)):
        for row in part:
            notes.counts["entries"] += 1
            _check_entry(row, ledger, notes)
    unsealed = (
        select(entry.digest)
        .join_from(tables.entry, tables.seal, tables.seal.c.entry == entry.digest, isouter=True)
        .where(tables.seal.c.digest.is_(None))
    )
    for digest in connection.scalars(unsealed):
        notes.add("entry-not-sealed", f"entry {digest}")


def _check_entry(row: Row[Any], ledger: LedgerId, notes: _Notes) -> None:
    data, where = bytes(row.bytes), f"entry {row.digest}"
    if canon.digest(data) != row.digest:
        notes.add("entry-digest", where)
    try:
        entry = read_entry(canon.parse(data))
    except UNREADABLE as fault:
        notes.add("entry-not-understood", where, str(fault))
        return
    if entry.data != data:
        notes.add("entry-not-canonical", where)
    if entry.id != row.id:
        notes.add("entry-id", where, f"{row.id} stands beside it, {entry.id} in it")
    if entry.ledger != ledger:
        notes.add("entry-other-ledger", where, entry.ledger)


def _check_seals(connection: Connection, ledger: LedgerId, notes: _Notes) -> None:
    seal, entry = tables.seal.c, tables.entry.c
    rows = (
        select(tables.seal, entry.id.label("entry_id"))
        .join_from(tables.seal, tables.entry, entry.digest == seal.entry, isouter=True)
        .order_by(seal.node, seal.seq, seal.digest)
    )
    before: Row[Any] | None = None
    for part in _parts(connection, rows):
        for row in part:
            notes.counts["seals"] += 1
            made = _check_seal(row, ledger, notes)
            _check_link(before, row, made, notes)
            before = row


def _check_seal(row: Row[Any], ledger: LedgerId, notes: _Notes) -> Seal | None:
    data, where = bytes(row.bytes), _seal_name(row)
    if canon.digest(data) != row.digest:
        notes.add("seal-digest", where)
    if row.entry_id is None:
        notes.add("seal-without-entry", where, row.entry)
    try:
        canonical = canon.canonical(canon.parse(data))
        made = read_seal(data)
    except UNREADABLE as fault:
        notes.add("seal-not-understood", where, str(fault))
        return None
    if canonical != data:
        notes.add("seal-not-canonical", where)
    if (made.entry, made.node, made.seq) != (row.entry, row.node, row.seq):
        notes.add("seal-columns", where)
    if row.entry_id is not None and made.entry_id != row.entry_id:
        notes.add("seal-entry-id", where)
    if made.ledger != ledger:
        notes.add("seal-other-ledger", where, made.ledger)
    return made


def _check_link(
    before: Row[Any] | None, row: Row[Any], made: Seal | None, notes: _Notes
) -> None:
    """Hold a seal against the one before it in its node's chain."""
    first = before is None or before.node != row.node
    wanted_seq = 1 if first or before is None else before.seq + 1
    wanted_prev = "" if first or before is None else before.digest
    if not first and before is not None and before.seq == row.seq:
        notes.add("chain-forked", _seal_name(row))
    elif row.seq != wanted_seq:
        notes.add("chain-gap", _seal_name(row), f"{wanted_seq} is missing")
    elif made is not None and made.prev != wanted_prev:
        notes.add("chain-broken", _seal_name(row))


def _seal_name(row: Row[Any]) -> str:
    return f"seal {row.digest} ({row.node}, {row.seq})"


def _check_attachments(connection: Connection, notes: _Notes) -> None:
    held = tables.attachment_bytes.c
    notes.counts["attachments"] = _count(connection, tables.attachment)
    for part in _parts(connection, select(held.name, held.salt, held.bytes)):
        for row in part:
            if hashlib.sha256(bytes(row.salt) + bytes(row.bytes)).hexdigest() != row.name:
                notes.add("attachment-digest", f"attachment {row.name}")


def _count(connection: Connection, table: Any) -> int:
    return connection.scalar(select(func.count()).select_from(table)) or 0


_REPLAYED = {
    replays.UNREADABLE: "decision-unreadable",
    replays.RULES_MISSING: "decision-without-rules",
    replays.DIFFERS: "decision-differs",
}


def _check_decisions(connection: Connection, journal: SqlJournal, notes: _Notes) -> None:
    """Replay the decisions; those that an evaluation of before made are only counted."""
    for one in replays.replays(connection, journal):
        notes.counts["decisions"] += 1
        if one.came_to == replays.MADE_BEFORE:
            notes.counts["decisions not replayed"] += 1
        elif one.came_to:
            notes.add(_REPLAYED[one.came_to], f"disposal {one.line}", one.detail)


# --- what was worked out --------------------------------------------------------------


_ENDS = union_all(
    select(tables.move.c.to_account, tables.move.c.substance, tables.move.c.amount),
    select(tables.move.c.from_account, tables.move.c.substance, -tables.move.c.amount),
    select(tables.balance.c.account, tables.balance.c.substance, -tables.balance.c.amount),
).subquery()
# Accounts whose kept balance is not the sum of their rows.
_UNBALANCED = (
    select(_ENDS.c[0], _ENDS.c[1])
    .group_by(_ENDS.c[0], _ENDS.c[1])
    .having(func.sum(_ENDS.c[2]) != 0)
)


def _check_moves(connection: Connection, notes: _Notes) -> None:
    move = tables.move.c
    notes.counts["moves"] = _count(connection, tables.move)
    lopsided = or_(move.from_account == move.to_account, move.amount <= 0, move.doubt < 0)
    for row in connection.execute(select(move.owner, move.n).where(lopsided)):
        notes.add("move-lopsided", f"move {row.owner} {row.n}")
    lost = (
        select(move.owner)
        .distinct()
        .where(move.owner.not_in(select(tables.fold.c.subject).scalar_subquery()))
    )
    for owner in connection.scalars(lost):
        notes.add("move-without-fold", f"move {owner}")
    for account, substance in connection.execute(_UNBALANCED):
        notes.add("balance-differs", f"balance {account} {substance}")


def _check_touches(connection: Connection, journal: SqlJournal, notes: _Notes) -> None:
    entry, touch = tables.entry.c, tables.touch.c
    rows = select(entry.bytes, tables.seal.c.bytes).join_from(
        tables.entry, tables.seal, tables.seal.c.entry == entry.digest
    )
    for part in _parts(connection, rows.order_by(entry.digest)):
        sealed = _readable(part, journal)
        try:
            _check_touched(connection, journal, sealed, notes)
        except UNREADABLE as fault:
            notes.add("touches-not-checked", "touch", str(fault))
    notes.counts["touches"] = _count(connection, tables.touch)
    lost = (
        select(touch.entry)
        .distinct()
        .where(touch.entry.not_in(select(entry.digest).scalar_subquery()))
    )
    for digest in connection.scalars(lost):
        notes.add("touch-without-entry", f"touch {digest}")


_ARRIVALS = union_all(
    select(tables.touch.c.subject, func.count())
    .where(IS_WRITTEN_ON)
    .group_by(tables.touch.c.subject),
    select(tables.arrival.c.subject, -tables.arrival.c.entry_count),
).subquery()
# Devices whose kept count is not that of their touches.
_MISCOUNTED = (
    select(_ARRIVALS.c[0]).group_by(_ARRIVALS.c[0]).having(func.sum(_ARRIVALS.c[1]) != 0)
)


def _check_arrivals(connection: Connection, notes: _Notes) -> None:
    for subject in connection.scalars(_MISCOUNTED):
        notes.add("arrival-differs", f"arrival {subject}")


def _readable(rows: Iterable[Row[Any]], journal: SqlJournal) -> list[Sealed]:
    """Return what can be read; what cannot was named when the journal was looked at."""
    found: list[Sealed] = []
    for row in rows:
        try:
            found += journal.sealed([row])
        except UNREADABLE:
            continue
    return found


def _check_touched(
    connection: Connection, journal: SqlJournal, sealed: Sequence[Sealed], notes: _Notes
) -> None:
    """Hold the stored touches of some entries, and the folds there must be, against them."""
    families = journal.families([one.entry for one in sealed])
    wanted: dict[Digest, set[Subject]] = {}
    changed: set[Subject] = set()
    for one in sealed:
        family = _family(one.entry, families)
        wanted[one.entry.digest] = {subject for _, subject in touches_within(one.entry, family)}
        changed |= {subject for _, subject in family_changes(family)}
    stored: dict[Digest, set[Subject]] = {digest: set() for digest in wanted}
    touch, fold = tables.touch.c, tables.fold.c
    for part in in_parts(wanted):
        rows = select(touch.entry, touch.subject).where(touch.entry.in_(part))
        for digest, subject in connection.execute(rows):
            stored[digest].add(subject)
    for digest, subjects in wanted.items():
        if stored[digest] != subjects:
            notes.add("touches-differ", f"touch {digest}")
    there: set[str] = set()
    for some in in_parts(changed):
        there.update(connection.scalars(select(fold.subject).where(fold.subject.in_(some))))
    for subject in changed - there:
        notes.add("fold-missing", f"fold {subject}")


def _family(entry: Entry, families: Mapping[EntryId, tuple[Sealed, ...]]) -> list[Entry]:
    target = getattr(entry.content, "target", entry.id)
    return [one.entry for one in families.get(EntryId(target), ())] or [entry]


def _check_folds(connection: Connection, journal: SqlJournal, notes: _Notes) -> None:
    """Fold everything anew from entries and inputs, and hold it against what is kept."""
    for part in _parts(connection, select(tables.fold).order_by(tables.fold.c.subject)):
        notes.counts["folds"] += len(part)
        notes.counts["stale"] += sum(1 for row in part if row.stale)
        for row in part:
            if row.sort not in FOLDS:
                notes.add("fold-sort", f"fold {row.subject}", row.sort)
            elif row.stale not in (0, 1):
                notes.add("fold-stale-mark", f"fold {row.subject}", str(row.stale))
            elif row.fold_version != FOLD_VERSION and not row.stale:
                notes.add("fold-version", f"fold {row.subject}")
        kept = [row for row in part if row.sort in FOLDS and not row.stale]
        kept = [row for row in kept if row.fold_version == FOLD_VERSION]
        _check_kept(connection, journal, kept, notes)


def _check_kept(
    connection: Connection, journal: SqlJournal, rows: Sequence[Row[Any]], notes: _Notes
) -> None:
    folds = Folds(connection)
    subjects = [Subject(row.subject) for row in rows]
    touching = _touching(journal, subjects)
    owned = {
        table: folds.owned(table, subjects)
        for table in (tables.move, tables.finding, tables.fold_input)
    }
    for row, subject in zip(rows, subjects, strict=True):
        view = View(
            lambda one: touching[one] if one in touching else journal.touching(one),
            cached=_but(folds, subject),
        )
        try:
            kept = replace(
                folded_of(row),
                moves=tuple(map(move_of, owned[tables.move][subject])),
                findings=tuple(map(finding_of, owned[tables.finding][subject])),
            )
            odd = _compared(kept, view.folded(row.sort, subject))
        except UNREADABLE as fault:
            notes.add("fold-not-checked", f"fold {subject}", str(fault))
            continue
        inputs = {one.input for one in owned[tables.fold_input][subject]}
        if inputs != view.inputs_of(row.sort, subject):
            odd.append("inputs")
        if odd:
            notes.add("fold-differs", f"fold {subject}", ", ".join(odd))


def _touching(
    journal: SqlJournal, subjects: list[Subject]
) -> Mapping[Subject, tuple[Sealed, ...]]:
    try:
        return journal.touching_any(subjects)
    except UNREADABLE:
        return {}  # each is then read by itself, and the one that cannot be is named


def _but(folds: Folds, subject: Subject) -> Any:
    """Give kept folds, but not the one that is looked at."""
    return lambda sort, one: None if one == subject else folds.fresh(sort, one)


def _compared(kept: Folded, anew: Folded) -> list[str]:
    odd = [f"state.{place}" for place in differences(kept.state, anew.state)]
    for name in ("moves", "findings", "home", "live", "place"):
        if getattr(kept, name) != getattr(anew, name):
            odd.append(name)
    if not adds_up(anew):
        odd.append("balance")
    return odd


def adds_up(folded: Folded) -> bool:
    """
    Say whether a fold's own sums come to what it says is left.

    A bath of alum has accounts of its water and salt, a stack its rows. Any other bath has
    neither of what left with sheets: there is only never less than nothing in it.
    """
    match folded.state:
        case BathState() as state:
            return _accounts_add_up(state)
        case StackState() as state:
            return _rows_add_up(state, folded)
        case LiquidState() as state:
            return min(state.volume_ml, state.volume_sd_ml, state.powder_g) >= 0
        case _:
            return True


def _rows_add_up(state: StackState, folded: Folded) -> bool:
    """Say whether what was counted out of a stack is in its rows, and no more than it had."""
    sheets = {
        accounts.GOOD: state.good,
        accounts.SPOILED: state.sorted_count - state.good,
        accounts.BINNED: state.binned_count,
    }
    quarters: Counter[str] = Counter()
    for move in folded.moves:
        if move.from_account == accounts.account("stack", state.id):
            quarters[move.to_account] += move.amount
    by_sheet = accounts.QUARTERS[state.sheet_format]
    over = sum(sheets.values()) > state.sheet_count
    said = not OVER_THE_COUNT.isdisjoint(one.code for one in folded.findings)
    posted = {to: count * by_sheet for to, count in sheets.items() if count}
    return quarters == posted and (said or not over)


def _accounts_add_up(state: BathState) -> bool:
    """Say whether a bath's own accounts of water and salt come to what is left in it."""
    estimate = state.estimate
    return all(
        abs(_left(account) - left) <= max(1.0, account.came_in) * REL_TOLERANCE * 1e3
        for account, left in (
            (estimate.water_ml, estimate.belief.volume_ml),
            (estimate.salt_g, estimate.belief.salt_g),
        )
    )


def _left(account: Account) -> float:
    gone = account.off_with_sheets + account.to_air + account.bound + account.poured_out
    return account.came_in - gone + account.unexplained
