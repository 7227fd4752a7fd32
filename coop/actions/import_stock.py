"""
Take in an opening stock from a table: every line is a lot, all of them or none.

The same file twice writes nothing twice: an entry's id is made of what its line says, however
its cells spell it, and of how many lines before it say the same.
"""

import csv
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from fractions import Fraction
from hashlib import sha256
from io import StringIO
from math import floor
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from coop.actions.write import Clash, Draft, Who, Written, judge
from coop.ids import RANDOM_BYTES, EntryId, Subject, uuid7
from coop.ledger import kinds
from coop.ledger.canon import canonical
from coop.ledger.entries import Entry
from coop.ledger.ports import Admission, Journal
from coop.ledger.schema import Refused, Slip, faults_of
from coop.ledger.states import LedgerState
from coop.ledger.table import LEDGER
from coop.units.fault import NotUnderstood
from coop.units.number import NUMBER_MAX, read_number, wire
from coop.units.table import MASS, UNITS, VOLUME

LINES_MAX = 400
CELL_MAX = 200
BYTES_MAX = 200_000
NOON = time(12)
WEIGHED, POURED, SHEETS, PIECES = "weight", "volume", "sheet_count", "piece_count"
COUNTED = MappingProxyType({"sheets": SHEETS, "pieces": PIECES})
UNITS_TAKEN = ("g", "kg", "lb", "oz", "ml", "l", "sheets", "pieces")
PICKED = frozenset({"missing", "not-a-choice", "not-known"})
"""Refusals of a cell that takes one of a list of words."""

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "studio": "studio",
        "what": "what",
        "of": "of",
        "name": "name",
        "packs": "pack_count",
        "amount": "amount",
        "unit": "unit",
        "left": "left",
        "supplier": "supplier",
        "received": "received",
        "best before": "best_before",
        "opened": "opened",
        "tare g": "tare",
    }
)
"""The columns of the file, and the field of the entry that each says."""

NEEDED = ("studio", "what", "name", "amount", "unit")
"""Columns that a file must have; a line may leave any other empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """
    What is wrong in a line: where it stands, what stands there, and why it cannot be.

    `offered` are the words that would be right there, where there is a list of them.
    """

    line: int
    column: str
    cell: str
    refused: Refused
    offered: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """
    A line that reads as a lot.

    Attributes:
        already: Whether the ledger has it, from this file before.
    """

    line: int
    cells: Mapping[str, str]
    drafts: tuple[Draft, ...]
    already: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A file as it reads: nothing of it is taken in while there is a fault."""

    lines: tuple[StockLine, ...]
    faults: tuple[Fault, ...]

    @property
    def new_count(self) -> int:
        return sum(not one.already for one in self.lines)


class NotTaken(Exception):
    """Raised to leave everything as it was when a line is refused at the last moment."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(f"line {fault.line}: {fault.refused.code}")
        self.fault = fault


def text_of(data: bytes) -> str:
    """
    Return a file's text.

    Raises:
        Slip: It is no text in UTF-8, or longer than is taken.
    """
    if len(data) > BYTES_MAX:
        raise Slip("file", "too-long", longest=BYTES_MAX)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Slip("file", "not-text") from None


def read_stock(journal: Journal, who: Who, text: str, *, now: datetime) -> Stock:
    """
    Read a table of lots and hold each line against the ledger; nothing is written.

    Raises:
        Slip: It is no such table: `file` is empty, too long or broken, or a column is
            `missing`, `unknown-field` or twice there (`key-twice`).
    """
    lines: list[StockLine] = []
    faults: list[Fault] = []
    before: Counter[bytes] = Counter()
    names = _Names.of(journal)
    for number, cells in _rows(text):
        said, odd = names.lot(cells)
        try:
            if not odd:
                key = _key(said, cells)
                drafts = _drafts(journal, said, cells, key + b"%d" % before[key])
                before[key] += 1
                lines.append(_held(journal, who, number, cells, drafts, now))
        except Slip as slip:
            odd = (slip.refused,)
        faults += [_fault(number, cells, one, names) for one in odd]
    return Stock(lines=tuple(lines), faults=tuple(faults))


def _rows(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """Give the lines that are not empty, each with its number and its cells by column."""
    heading = text.partition("\n")[0]
    delimiter = max(",;\t", key=heading.count)
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    columns: list[str] = []
    count, first = 0, 1
    try:
        for row in reader:
            cells = [_plain(cell) for cell in row]
            if not columns:
                columns = _columns(cells)
            elif any(cells):
                count += 1
                if count > LINES_MAX:
                    raise Slip("file", "too-many", high=LINES_MAX)
                yield first, _by_column(columns, cells)
            first = reader.line_num + 1
    except csv.Error:
        raise Slip("file", "not-a-list") from None
    if not columns or not count:
        raise Slip("file", "empty")


def _plain(cell: str) -> str:
    """Return a cell as it was meant: the apostrophe against formulas is not part of it."""
    text = cell.strip()
    return text[1:] if text[:1] == "'" and text[1:2] in tuple("=+-@") else text


def _columns(cells: Sequence[str]) -> list[str]:
    found = [cell.casefold() for cell in cells]
    for column in NEEDED:
        if column not in found:
            raise Slip(column, "missing")
    for place, column in enumerate(found):
        if column and column not in COLUMNS:
            raise Slip(column[:CELL_MAX], "unknown-field")
        if column in found[:place]:
            raise Slip(column, "key-twice")
    return found


def _by_column(columns: Sequence[str], cells: Sequence[str]) -> dict[str, str]:
    """Return what stands in a line; a cell without a heading stands under nothing."""
    padded = [*cells, *[""] * (len(columns) - len(cells))]
    found = dict(zip(columns, padded, strict=False))
    if any(padded[len(columns) :]):
        found[""] = next(cell for cell in padded[len(columns) :] if cell)
    return found


_Named = tuple[str, Subject]
"""A thing's name as it is spelled, and the thing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Names:
    """What lines may name, by the name as people write it."""

    studios: Mapping[str, _Named]
    papers: Mapping[str, _Named]
    supplies: Mapping[tuple[str, str], _Named]
    suppliers: Mapping[str, _Named]

    @classmethod
    def of(cls, journal: Journal) -> "_Names":
        described = [one for one in journal.listed("supply") if one.name]
        return cls(
            studios=_by_name(journal.listed("studio")),
            papers=_by_name(journal.listed("paper")),
            supplies={
                (one.what, one.name.casefold()): (
                    one.name,
                    Subject(one.id.partition(":")[2]),
                )
                for one in described
            },
            suppliers=_by_name(journal.listed("supplier")),
        )

    def lot(self, cells: Mapping[str, str]) -> tuple[dict[str, Any], tuple[Refused, ...]]:
        """Return the body of a lot as a line says it, and all cells that cannot be read."""
        body: dict[str, Any] = {}
        odd: list[Refused] = []
        for read in (_columns_kept, self._where, self._kind, _name, _amount, _packs, _tare,
                     _best_before, self._supplier, _left, _days):  # fmt: skip
            try:
                body |= read(cells)
            except Slip as slip:
                odd.append(slip.refused)
        told = {one.field for one in odd}
        faults = (one for one in faults_of(kinds.LotReceived, body) if one.code != "missing")
        odd += [one for one in faults if one.field not in told]
        return body, tuple(odd)

    def _where(self, cells: Mapping[str, str]) -> dict[str, Any]:
        return {"studio": _one_of(self.studios, cells, "studio")}

    def _kind(self, cells: Mapping[str, str]) -> dict[str, Any]:
        what = self._what(cells)
        return {"what": what} | self._of(what, cells)

    def _what(self, cells: Mapping[str, str]) -> str:
        what = _code(_needed(cells, "what"))
        if what in kinds.OTHER_SUPPLIES or what in kinds.LOTS:
            return what if what in kinds.LOTS else "supply"
        raise Slip("what", "not-a-choice")

    def _of(self, what: str, cells: Mapping[str, str]) -> dict[str, Any]:
        match what:
            case "alum":
                return {"salt": _code(_needed(cells, "of"))}
            case "paper":
                return {"paper": _one_of(self.papers, cells, "of")}
            case "supply":
                return {"supply": _one_of(self._of_kind(cells), cells, "of")}
            case "carrageenan":
                return {"carrageenan": _code(cells.get("of") or "not_known")}
            case _:
                return {}

    def _of_kind(self, cells: Mapping[str, str]) -> Mapping[str, _Named]:
        """Return the supplies of the kind that a line says, by name; gloves are no bleach."""
        kind = _code(cells["what"])
        return {
            name: supply
            for (what, name), supply in self.supplies.items()
            if kind in (what, "supply")
        }

    def _supplier(self, cells: Mapping[str, str]) -> dict[str, Any]:
        """Return who sold it: a supplier that is described, else the name as typed."""
        name = cells.get("supplier", "")
        known = self.suppliers.get(name.casefold())
        if known is not None:
            return {"sold_by": known[1]}
        return {"supplier": name} if name else {}

    def offered(self, column: str, cells: Mapping[str, str]) -> tuple[str, ...]:
        """Return the words that a column takes; none where any will do."""
        match column:
            case "studio":
                return _spelled(self.studios)
            case "what":
                return kinds.SUPPLIES
            case "unit":
                return UNITS_TAKEN
            case "of":
                return self._offered_of(_code(cells.get("what", "")), cells)
            case _:
                return ()

    def _offered_of(self, what: str, cells: Mapping[str, str]) -> tuple[str, ...]:
        match what:
            case "alum":
                return kinds.SALTS
            case "paper":
                return _spelled(self.papers)
            case "carrageenan":
                return kinds.CARRAGEENANS
            case _:
                return _spelled(self._of_kind(cells))


def _code(cell: str) -> str:
    """
    Return a code however its words are joined.

    >>> _code("Aluminium sulfate 14")
    'aluminium_sulfate_14'
    """
    return cell.casefold().replace(" ", "_").replace("-", "_")


def _by_name(states: Sequence[Any]) -> dict[str, _Named]:
    return {one.name.casefold(): (one.name, one.id) for one in states}


def _spelled(names: Mapping[str, _Named]) -> tuple[str, ...]:
    return tuple(sorted(name for name, _ in names.values()))


def _needed(cells: Mapping[str, str], column: str) -> str:
    cell = cells.get(column, "")
    if not cell:
        raise Slip(column, "missing")
    return cell


def _one_of(names: Mapping[str, _Named], cells: Mapping[str, str], column: str) -> Subject:
    found = names.get(_needed(cells, column).casefold())
    if found is None:
        raise Slip(column, "not-known")
    return found[1]


def _columns_kept(cells: Mapping[str, str]) -> dict[str, Any]:
    if cells.get(""):
        raise Slip("", "unknown-field")
    return {}


def _name(cells: Mapping[str, str]) -> dict[str, Any]:
    return {"name": _needed(cells, "name")}


def _amount(cells: Mapping[str, str]) -> dict[str, Any]:
    """Return what one pack holds, by the unit it is said in."""
    return _held_in(_needed(cells, "amount"), "amount", _unit(cells))


def _unit(cells: Mapping[str, str]) -> str:
    unit = _needed(cells, "unit").casefold()
    if unit not in UNITS_TAKEN:
        raise Slip("unit", "not-a-choice")
    return unit


def _held_in(typed: str, column: str, unit: str) -> dict[str, Any]:
    if unit in COUNTED:
        return {COUNTED[unit]: wire(_number(typed, column))}
    field = {MASS: WEIGHED, VOLUME: POURED}[UNITS[unit].dimension]
    return {field: _quantity(typed, column, unit)}


def _packs(cells: Mapping[str, str]) -> dict[str, Any]:
    typed = cells.get("packs", "")
    return {"pack_count": wire(_number(typed, "packs"))} if typed else {}


def _tare(cells: Mapping[str, str]) -> dict[str, Any]:
    typed = cells.get("tare g", "")
    return {"tare": _quantity(typed, "tare g", "g")} if typed else {}


def _best_before(cells: Mapping[str, str]) -> dict[str, Any]:
    typed = cells.get("best before", "")
    return {"best_before": typed} if typed else {}


def _left(cells: Mapping[str, str]) -> dict[str, Any]:
    """
    Return what is left of a lot, as one pack of so much, where that is not all of its packs.

    Paper is received in full sheets: what is less than one is left out.
    """
    typed = cells.get("left", "")
    try:
        packs = _number(cells.get("packs") or "1", "packs")
        each, unit = _number(_needed(cells, "amount"), "amount"), _unit(cells)
    except Slip:
        return {}  # told already by whoever reads these cells
    if not typed or _number(typed, "left") == packs * each:
        return {}
    whole = str(floor(_number(typed, "left"))) if unit == "sheets" else typed
    held = _held_in(whole, "left", unit)
    for one in faults_of(kinds.LotReceived, held):
        if one.field in held:
            raise Slip("left", one.code, **dict(one.limits))
    return held | {"pack_count": "1"}


def _days(cells: Mapping[str, str]) -> dict[str, Any]:
    """Say nothing of a lot's body: its days stand beside it, and must be days."""
    came, begun = _day(cells, "received"), _day(cells, "opened")
    if came is not None and begun is not None and begun < came:
        raise Slip("opened", "ends-before-it-starts")
    return {}


def _quantity(typed: str, column: str, unit: str) -> dict[str, str]:
    """Return a quantity; less than nothing is refused as nothing is, with what it may be."""
    n = max(_number(typed, column), Fraction(0))
    return {"typed": typed, "n": wire(n), "unit": unit}


def _number(typed: str, column: str) -> Fraction:
    try:
        return read_number(typed, low=-NUMBER_MAX)
    except NotUnderstood as fault:
        if fault.code == "thousands-or-decimals":
            raise Slip(column, fault.code, written=" / ".join(fault.options)) from None
        raise Slip(column, "not-a-number") from None


def _key(body: Mapping[str, Any], cells: Mapping[str, str]) -> bytes:
    """
    Return what a line says, whichever way its numbers, codes and days are typed.

    A supplier is its name: it may be described between one import and the next.
    """
    said: dict[str, Any] = {"pack_count": "1"} | {
        name: {"n": value["n"], "unit": value["unit"]} if isinstance(value, dict) else value
        for name, value in body.items()
        if name not in ("sold_by", "supplier")
    }
    said["supplier"] = cells.get("supplier", "").casefold()
    for column in ("received", "opened"):
        day = _day(cells, column)
        said[column] = day.isoformat() if day else ""
    return canonical(said)


def _drafts(
    journal: Journal, body: Mapping[str, Any], cells: Mapping[str, str], key: bytes
) -> tuple[Draft, ...]:
    """Return a lot as it would be written, and that it was opened where the line says so."""
    opened: LedgerState = journal.state("ledger", LEDGER)
    zone = ZoneInfo(opened.zone)
    came = _noon(cells, "received", zone)
    lot = _draft(journal, "lot.received", body, key, came or opened.opened_at)
    if came is not None:
        lot = _said(lot, cells["received"])
    begun = _noon(cells, "opened", zone)
    if begun is None:
        return (lot,)
    first = _draft(journal, "lot.opened", {"lot": lot.id}, key, begun)
    return lot, _said(first, cells["opened"])


def _noon(cells: Mapping[str, str], column: str, zone: ZoneInfo) -> datetime | None:
    """Return noon of a day that a cell says; None for an empty one."""
    day = _day(cells, column)
    return datetime.combine(day, NOON, zone) if day else None


def _day(cells: Mapping[str, str], column: str) -> date | None:
    typed = cells.get(column, "")
    if not typed:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise Slip(column, "not-a-day") from None


def _draft(
    journal: Journal,
    kind: str,
    body: Mapping[str, Any],
    key: bytes,
    at: datetime,
) -> Draft:
    said = canonical({"ledger": journal.ledger, "kind": kind})
    made = sha256(said + key).digest()[:RANDOM_BYTES]
    id_ = EntryId(uuid7(now_ms=int(at.timestamp() * 1000), random=made))
    return Draft(id=id_, kind=kind, body=body, happened_at=at, written_at=at)


def _said(draft: Draft, typed: str) -> Draft:
    return Draft(
        id=draft.id,
        kind=draft.kind,
        body=draft.body,
        happened_at=draft.happened_at,
        written_at=draft.written_at,
        typed=typed,
        precision="day",
    )


def _held(
    journal: Journal,
    who: Who,
    number: int,
    cells: Mapping[str, str],
    drafts: tuple[Draft, ...],
    now: datetime,
) -> StockLine:
    """
    Hold a line against the ledger.

    Raises:
        Slip: It would be refused.
    """
    found = judge(journal, who, drafts[0], now=now)
    if isinstance(found, Refused):
        raise Slip(found.field, found.code, **dict(found.limits))
    there = isinstance(found, Written | Clash)
    return StockLine(line=number, cells=cells, drafts=drafts, already=there)


def _fault(number: int, cells: Mapping[str, str], refused: Refused, names: _Names) -> Fault:
    """Return a fault with the column that its field stands in."""
    stem = refused.field.partition(".")[0]
    much = "unit" if refused.code in ("missing", "not-with-this") else "amount"
    of_field = {field: column for column, field in COLUMNS.items()} | {
        "salt": "of",
        "paper": "of",
        "supply": "of",
        "carrageenan": "of",
        **dict.fromkeys((WEIGHED, POURED, SHEETS, PIECES), much),
        "happened_at": "received",
    }
    column = stem if stem in COLUMNS else of_field.get(stem, stem)
    return Fault(
        line=number,
        column=column,
        cell=cells.get(column, ""),
        refused=refused,
        offered=names.offered(column, cells) if refused.code in PICKED else (),
    )


def take_in(journal: Journal, who: Who, text: str, *, now: datetime) -> int:
    """
    Write every lot of a file that is not here yet, and return how many there were.

    Raises:
        NotTaken: A line cannot be taken; nothing was written.
        Slip: The file is no such table.
    """
    stock = read_stock(journal, who, text, now=now)
    if stock.faults:
        raise NotTaken(stock.faults[0])
    new = [one for one in stock.lines if not one.already]
    admission = Admission(at=now, by=who.member)
    lots = [_entry(journal, who, one, one.drafts[0], now) for one in new]
    if lots:
        journal.append(lots, admission)
    opened = [_entry(journal, who, one, draft, now) for one in new for draft in one.drafts[1:]]
    if opened:
        journal.append(opened, admission)
    return len(new)


def _entry(journal: Journal, who: Who, line: StockLine, draft: Draft, now: datetime) -> Entry:
    """
    Return the entry that is to be sealed.

    Raises:
        NotTaken: It is refused.
    """
    found = judge(journal, who, draft, now=now)
    if isinstance(found, Entry):
        return found
    if isinstance(found, Written | Clash):
        refused = Refused(field="name", code="came-already")
    else:
        refused = found
    raise NotTaken(_fault(line.line, line.cells, refused, _Names.of(journal)))
