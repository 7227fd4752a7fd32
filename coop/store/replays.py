"""Replay kept decisions about a drain from the documents of the rules as published."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import msgspec
from sqlalchemy import Connection, Row, select

from coop.ids import Subject
from coop.ledger.ports import Attachment
from coop.rules.packs.decisions import EVALUATOR, Decision, thaw
from coop.rules.packs.documents import CONTENT_TYPE, pack_in
from coop.rules.packs.evaluation import replay
from coop.rules.packs.schema import Pack
from coop.store import tables
from coop.store.folds import folded_of
from coop.store.journal import SqlJournal

PART = 200

UNREADABLE = "unreadable"
RULES_MISSING = "rules-missing"
DIFFERS = "differs"
MADE_BEFORE = "made-before"

# What reading spoilt bytes, or judging by facts that cannot be, may raise.
UNFIT = (ValueError, KeyError, TypeError, AttributeError, AssertionError)


class Replayed(NamedTuple):
    """
    A decision that was kept with a line of a log, replayed.

    Attributes:
        line: The line's subject.
        came_to: Empty where it comes to the same; `UNREADABLE`, `RULES_MISSING` where the
            document of rules that it names is not here, `DIFFERS`, or `MADE_BEFORE` by an
            evaluation of before, which cannot be done again.
    """

    line: Subject
    came_to: str = ""
    detail: str = ""


def replays(connection: Connection, journal: SqlJournal) -> Iterator[Replayed]:
    """
    Give every decision that is here, replayed with the facts and the day it was frozen with.

    The rules are those of the documents that were published, whatever is in force by now.
    """
    packs = _published(connection)
    for named in _lines(connection):
        there = journal.attachments(set(named.values()))
        for line, name in named.items():
            if name in there:
                yield _replayed(line, there[name], packs)


def _published(connection: Connection) -> Mapping[str, Pack]:
    """Return every pack of which the document is here, by its digest."""
    kept, held = tables.attachment.c, tables.attachment_bytes.c
    rows = (
        select(kept.name, held.bytes)
        .join_from(tables.attachment, tables.attachment_bytes, kept.name == held.name)
        .where(kept.content_type == CONTENT_TYPE)
    )
    found: dict[str, Pack] = {}
    for row in connection.execute(rows, execution_options={"yield_per": PART}):
        try:
            pack = pack_in(bytes(row.bytes), name=row.name, demo=True)
        except ValueError:
            continue  # another document, as a decision is
        found[pack.digest] = pack
    return found


def _lines(connection: Connection) -> Iterator[Mapping[Subject, str]]:
    """Give the lines of all logs that name a decision, in parts, with its name."""
    fold = tables.fold.c
    rows = select(tables.fold).where(fold.sort == "disposal").order_by(fold.subject)
    found = connection.execute(rows, execution_options={"yield_per": PART})
    for part in found.partitions():
        named = ((Subject(row.subject), _named_by(row)) for row in part if not row.stale)
        yield {line: decision for line, decision in named if decision}


def _named_by(row: Row[Any]) -> str:
    """Return the decision that a line names; a fold that is spoilt is told of elsewhere."""
    try:
        state = folded_of(row).state
    except UNFIT:
        return ""
    return str(getattr(state, "decision", ""))


def _replayed(line: Subject, kept: Attachment, packs: Mapping[str, Pack]) -> Replayed:
    try:
        decision = thaw(msgspec.json.decode(kept.data))
    except ValueError as why:
        return Replayed(line, UNREADABLE, str(why))
    if decision.evaluator != EVALUATOR:
        return Replayed(line, MADE_BEFORE)
    missing = [one.id for one in decision.packs if one.digest not in packs]
    if missing:
        return Replayed(line, RULES_MISSING, ", ".join(missing))
    anew = replay(decision, packs)
    return (
        Replayed(line) if anew == decision else Replayed(line, DIFFERS, _told(decision, anew))
    )


def _told(before: Decision, anew: Decision) -> str:
    """Say how two decisions differ: by their answers, or by what led to them."""
    if before.outcome is not anew.outcome:
        return f"{before.outcome.value} was kept, {anew.outcome.value} comes of it"
    return f"{before.outcome.value} comes of it too, by other rules or steps"
