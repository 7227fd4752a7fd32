"""
A whole journal as lines of JSON, and an empty ledger filled from them.

One record a line, in UTF-8: first what it is, then every entry, every seal and every
attachment with what each is called, last how many there were and the SHA-256 (FIPS 180-4) of
all bytes before. Entries and seals stand as they were said, so their canonical form (RFC 8785)
gives the digests they are called by. Passwords, sessions and phones are not in it.
"""

import base64
import hashlib
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final, NoReturn

from sqlalchemy import Connection, Select, insert, select

from coop.ids import Digest, LedgerId, NodeId, is_uuid
from coop.ledger import canon
from coop.ledger.digest import state_digest
from coop.ledger.entries import read_entry, read_seal
from coop.ledger.ports import ATTACHMENT_BYTES_MAX, BATCH_MAX
from coop.ledger.table import TOUCH_VERSION
from coop.store import settings_table, tables
from coop.store.folds import move_of
from coop.store.journal import SqlJournal
from coop.store.rebuild import every_entry
from coop.store.verify import UNREADABLE

FORM: Final = "coop journal"
VERSION: Final = 1
LINE_BYTES_MAX: Final = 2 * ATTACHMENT_BYTES_MAX
"""Longer than any line can be: an attachment grows by a third in base64."""
PART: Final = 1_000

Counts = dict[str, int]


class Faulty(Exception):
    """A line of an export that is not as it must be: its number, from one, and what of it."""

    def __init__(self, line: int, code: str, where: str = "") -> None:
        super().__init__(f"line {line}: {code}{f': {where}' if where else ''}")
        self.line = line
        self.code = code
        self.where = where


# --- out ------------------------------------------------------------------------------


def write_out(
    connection: Connection, ledger: LedgerId, write: Callable[[bytes], Any]
) -> Counts:
    """
    Write a whole journal; return how many entries, seals and attachments that were.

    Args:
        connection: One reading view, so that what is written meanwhile is not in it.
        write: Takes the lines, one after another.
    """
    seen = hashlib.sha256()
    counts = {"entries": 0, "seals": 0, "attachments": 0}

    def put(record: Mapping[str, Any]) -> None:
        line = _line(record)
        seen.update(line)
        write(line)

    put({"form": FORM, "v": VERSION, "ledger": ledger})
    for name, record in _records(connection):
        counts[name] += 1
        put(record)
    write(_line({"end": counts, "sha256": seen.hexdigest()}))
    return counts


def _line(record: Mapping[str, Any]) -> bytes:
    text = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
    return text.encode() + b"\n"


def _records(connection: Connection) -> Iterator[tuple[str, Mapping[str, Any]]]:
    entry, seal = tables.entry.c, tables.seal.c
    for row in _rows(connection, select(entry.digest, entry.bytes).order_by(entry.digest)):
        yield "entries", {"digest": row.digest, "entry": json.loads(bytes(row.bytes))}
    in_order = select(seal.digest, seal.bytes).order_by(seal.node, seal.seq, seal.digest)
    for row in _rows(connection, in_order):
        yield "seals", {"digest": row.digest, "seal": json.loads(bytes(row.bytes))}
    for row in _rows(connection, _attachments()):
        yield "attachments", _attachment_record(row)


def _attachments() -> Select[Any]:
    named, held = tables.attachment, tables.attachment_bytes
    return (
        select(named, held.c.salt, held.c.bytes)
        .join_from(named, held, held.c.name == named.c.name, isouter=True)
        .order_by(named.c.name)
    )


def _attachment_record(row: Any) -> Mapping[str, Any]:
    """Say an attachment; of an erased one only its name is left."""
    said = {"attachment": row.name, "content_type": row.content_type, "reach": row.reach}
    if row.salt is None:
        return said
    data = base64.b64encode(bytes(row.bytes)).decode()
    return said | {"salt": bytes(row.salt).hex(), "bytes": data}


def _rows(connection: Connection, rows: Select[Any]) -> Iterator[Any]:
    for part in connection.execute(rows, execution_options={"yield_per": PART}).partitions():
        yield from part


# --- in -------------------------------------------------------------------------------


def fill(connection: Connection, lines: Iterable[bytes], *, node: NodeId) -> Counts:
    """
    Fill an empty, migrated database with an export; nothing is folded yet.

    All in the caller's transaction: on any fault it must be rolled back.

    Args:
        node: As which the ledger seals from now on; one that nobody had before.

    Raises:
        Faulty: A line is damaged, missing, twice there or not of this ledger.
    """
    reader = _Reader(lines)
    ledger = reader.head()
    settings_table.write(connection, settings_table.LEDGER_ID, ledger)
    settings_table.write(connection, settings_table.NODE_ID, node)
    settings_table.write(connection, settings_table.TOUCHES, TOUCH_VERSION)
    waiting: dict[str, list[dict[str, Any]]] = {name: [] for name in _TABLES}
    for table, row in reader.rows(ledger):
        waiting[table].append(row)
        if len(waiting[table]) >= _MOST.get(table, BATCH_MAX):
            _insert(connection, waiting)
    _insert(connection, waiting)
    return reader.counts


def ledger_of(lines: Iterable[bytes]) -> LedgerId:
    """
    Return whose journal an export is.

    Raises:
        Faulty: Its first line is not that of an export.
    """
    return _Reader(lines).head()


_TABLES: Final = {
    "entry": tables.entry,
    "seal": tables.seal,
    "attachment": tables.attachment,
    "attachment_bytes": tables.attachment_bytes,
}


_MOST: Final = {"attachment_bytes": 20}
"""Rows of a table that are held in memory at most, where not `BATCH_MAX`."""


def _insert(connection: Connection, waiting: Mapping[str, list[dict[str, Any]]]) -> None:
    """Insert what waits, in the order of the tables: bytes after what they are of."""
    for table, rows in waiting.items():
        if rows:
            connection.execute(insert(_TABLES[table]), rows)
            rows.clear()


class _Reader:
    """The lines of an export, each held against what it is called by."""

    def __init__(self, lines: Iterable[bytes]) -> None:
        self.counts = {"entries": 0, "seals": 0, "attachments": 0}
        self._lines = iter(lines)
        self._number = 0
        self._seen = hashlib.sha256()
        self._before: tuple[str | int, ...] = ()

    def head(self) -> LedgerId:
        """Read what the file is; return whose journal."""
        record = self._record(self._next())
        ledger = record.get("ledger")
        if record.get("form") != FORM or not isinstance(ledger, str) or not is_uuid(ledger):
            self._refuse("not-an-export")
        if record.get("v") != VERSION:
            self._refuse("of-a-newer-release", str(record.get("v")))
        return LedgerId(ledger)

    def rows(self, ledger: LedgerId) -> Iterator[tuple[str, dict[str, Any]]]:
        """Read all other lines, down to the last, as rows of the tables."""
        while True:
            line = self._next(seen=False)
            record = self._record(line)
            if "end" in record:
                self._end(record)
                return
            self._seen.update(line)
            sort = next((one for one in _SORTS if one in record), "")
            if not sort:
                self._refuse("not-a-record")
            yield from getattr(self, f"_{sort}")(record, ledger)

    def _next(self, *, seen: bool = True) -> bytes:
        self._number += 1
        line = next(self._lines, b"")
        if not line.endswith(b"\n"):
            self._refuse("cut-off")
        if len(line) > LINE_BYTES_MAX:
            self._refuse("too-long")
        if seen:
            self._seen.update(line)
        return line

    def _record(self, line: bytes) -> dict[str, Any]:
        try:
            record = json.loads(line)
            same = isinstance(record, dict) and _line(record) == line
        except (ValueError, RecursionError):
            self._refuse("not-json")
        if not same:
            self._refuse("not-as-written")
        return dict(record)

    def _in_order(self, sort: str, *name: str | int) -> None:
        """Hold the lines to their order, so that none of them is there twice."""
        place = (_SORTS.index(sort), *name)
        if place <= self._before:
            self._refuse("twice-or-out-of-order", " ".join(map(str, (sort, name[-1]))))
        self._before = place

    def _entry(self, record: dict[str, Any], ledger: LedgerId) -> Iterator[Any]:
        where = f"entry {record.get('digest')}"
        data = self._canonical(record, "entry", where)
        try:
            entry = read_entry(canon.parse(data))
        except UNREADABLE as fault:
            self._refuse("entry-not-understood", f"{where}: {fault}")
        if entry.ledger != ledger:
            self._refuse("entry-other-ledger", where)
        self._in_order("entry", entry.digest)
        self.counts["entries"] += 1
        yield "entry", {"digest": entry.digest, "id": entry.id, "bytes": data}

    def _seal(self, record: dict[str, Any], ledger: LedgerId) -> Iterator[Any]:
        where = f"seal {record.get('digest')}"
        data = self._canonical(record, "seal", where)
        try:
            seal = read_seal(data)
        except UNREADABLE as fault:
            self._refuse("seal-not-understood", f"{where}: {fault}")
        if seal.ledger != ledger:
            self._refuse("seal-other-ledger", where)
        self._in_order("seal", seal.node, seal.seq, seal.digest)
        self.counts["seals"] += 1
        row = {"digest": seal.digest, "entry": seal.entry, "node": seal.node, "seq": seal.seq}
        yield "seal", row | {"bytes": data}

    def _canonical(self, record: dict[str, Any], sort: str, where: str) -> bytes:
        """Return a record's canonical bytes, which must give the digest beside it."""
        try:
            data = canon.canonical(record[sort])
        except (canon.NotCanonical, AttributeError, TypeError):
            self._refuse(f"{sort}-not-canonical", where)
        if canon.digest(data) != record.get("digest"):
            self._refuse(f"{sort}-digest", f"{where}, by what is in it {canon.digest(data)}")
        return data

    def _attachment(self, record: dict[str, Any], ledger: LedgerId) -> Iterator[Any]:
        name, reach = str(record["attachment"]), record.get("reach")
        where = f"attachment {name[:64]}"
        content_type = record.get("content_type")
        if reach not in ("personal", "public") or not _NAME.fullmatch(name):
            self._refuse("attachment-not-understood", where)
        if not isinstance(content_type, str) or not _CONTENT_TYPE.fullmatch(content_type):
            self._refuse("attachment-not-understood", where)
        self._in_order("attachment", name)
        self.counts["attachments"] += 1
        yield "attachment", {"name": name, "content_type": content_type, "reach": reach}
        if "bytes" in record:
            yield "attachment_bytes", self._bytes(record, where)

    def _bytes(self, record: dict[str, Any], where: str) -> dict[str, Any]:
        try:
            salt = bytes.fromhex(record["salt"])
            data = base64.b64decode(record["bytes"], validate=True)
        except (KeyError, TypeError, ValueError):
            self._refuse("attachment-not-understood", where)
        if len(salt) != SALT_BYTES or len(data) > ATTACHMENT_BYTES_MAX:
            self._refuse("attachment-not-understood", where)
        if hashlib.sha256(salt + data).hexdigest() != record["attachment"]:
            self._refuse("attachment-digest", where)
        return {"name": record["attachment"], "salt": salt, "bytes": data}

    def _end(self, record: dict[str, Any]) -> None:
        if record["end"] != self.counts:
            self._refuse(
                "lines-missing", f"{record['end']} were written, {self.counts} are here"
            )
        if record.get("sha256") != self._seen.hexdigest():
            self._refuse("changed-since")
        if next(self._lines, None) is not None:
            self._number += 1
            self._refuse("after-the-end")

    def _refuse(self, code: str, where: str = "") -> NoReturn:
        raise Faulty(self._number, code, where)


_SORTS: Final = ("entry", "seal", "attachment")
_NAME: Final = re.compile(r"[0-9a-f]{64}")
_CONTENT_TYPE: Final = re.compile(r"[a-z]{1,20}/[a-z0-9.+-]{1,60}")
SALT_BYTES: Final = 16


# --- what it comes to -----------------------------------------------------------------


def digest_of(connection: Connection, ledger: LedgerId) -> Digest:
    """Return the digest of what a ledger comes to, the same on every engine and node."""
    journal = SqlJournal(connection, ledger=ledger, node=NodeId(""))
    sealed = [one for part in every_entry(connection, journal) for one in part]
    moves = [move_of(row) for row in _rows(connection, select(tables.move))]
    return state_digest(sealed, moves)
