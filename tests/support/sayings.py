"""What people say, made short: entries with counted ids for tests of the ledger."""

import json
from copy import deepcopy
from datetime import datetime, timedelta, timezone
from typing import Any

from coop.ids import EntryId, LedgerId, MemberId, NodeId, Subject, uuid7
from coop.ledger.entries import Entry, Seal, Sealed, draft, make_seal, read_entry
from tests.support.files import ROOT

SUMMER = timezone(timedelta(hours=2))
WEDNESDAY = datetime(2025, 9, 17, 18, 0, tzinfo=SUMMER)
LONG_AGO = datetime(2025, 9, 1, 9, 0, tzinfo=SUMMER)
WIRE = ROOT / "fixtures" / "wire" / "v1"


def an_id(n: int) -> str:
    """Return the n-th identifier of a test."""
    return uuid7(now_ms=1_758_124_800_000, random=n.to_bytes(10, "big"))


LEDGER = LedgerId(an_id(1))
NODE = NodeId(an_id(2))
AMINA, KAHU, PRIYA = (MemberId(an_id(n)) for n in (3, 4, 5))
STUDIO, VESSEL, PAPER, LOT, PAPER_LOT, BATH = (Subject(an_id(n)) for n in range(10, 16))
TRAY, GUM, SIZE, STACK = (Subject(an_id(n)) for n in range(16, 20))


def on(day: int, hour: int = 9, minute: int = 0) -> datetime:
    """Return a moment of September 2025 in the studio's summer time."""
    return datetime(2025, 9, day, hour, minute, tzinfo=SUMMER)


def q(n: object, unit: str, **more: str) -> dict[str, str]:
    """Return a quantity as it stands on the wire."""
    return {"typed": str(n), "n": str(n), "unit": unit, **more}


def wire(kind: str) -> dict[str, Any]:
    """Return the record of a kind that was shipped with version 1, to be changed at will."""
    record: dict[str, Any] = json.loads((WIRE / f"{kind}.json").read_bytes())
    return deepcopy(record)


def say(
    kind: str,
    id: str,
    *,
    at: datetime = WEDNESDAY,
    by: str = AMINA,
    written: datetime | None = None,
    typed: str = "",
    **body: Any,
) -> Entry:
    """Return an entry; `typed` makes its time a said one."""
    said = {"typed": typed, "precision": "minute"} if typed else None
    return read_entry(
        draft(
            ledger=LEDGER,
            id=EntryId(id),
            kind=kind,
            body=body,
            author=MemberId(by),
            happened_at=at,
            written_at=written or at,
            said=said,
        )
    )


def sealed(
    entry: Entry,
    *,
    at: datetime,
    seq: int = 1,
    prev: str = "",
    offset_ms: int = 0,
    node: NodeId = NODE,
) -> Sealed:
    """Return an entry with one seal."""
    return Sealed(entry=entry, seals=(seal(entry, at, seq, prev, offset_ms, node),))


def seal(entry: Entry, at: datetime, seq: int, prev: str, offset_ms: int, node: NodeId) -> Seal:
    return make_seal(
        entry=entry,
        node=node,
        seq=seq,
        prev=prev,
        admitted_at=at,
        admitted_by=AMINA,
        offset_ms=offset_ms,
    )


def fetched(id: str, *, at: datetime, **body: Any) -> Entry:
    """Return that a truck took what was in a waste jar; its `by` is no member."""
    usual = {"studio": STUDIO, "by": "the county's truck"}
    return read_entry(
        draft(
            ledger=LEDGER,
            id=EntryId(id),
            kind="waste.collected",
            body=usual | body,
            author=AMINA,
            happened_at=at,
            written_at=at,
        )
    )


def described(at: datetime = LONG_AGO) -> list[Entry]:
    """Return what stands in the studio: a tub, a paper, a tub of alum powder, a parcel."""
    return [
        say("studio.described", STUDIO, at=at, name="Ropewalk", letter="R", drain="sewer",
            emergency="112", poison="115"),
        say("vessel.described", VESSEL, at=at, studio=STUDIO, name="alum tub",
            inside_length=q(740, "mm"), inside_width=q(540, "mm"), brim=q(16, "l"),
            lidded="yes", place="1"),
        say("paper.described", PAPER, at=at, name="P-31", length=q(700, "mm"),
            width=q(500, "mm"), weight_g_per_m2="100", chalk="not_known"),
        say("lot.received", LOT, at=at, studio=STUDIO, what="alum", name="AS-24",
            salt="aluminium_sulfate_14", weight=q(5, "kg")),
        say("lot.received", PAPER_LOT, at=at, studio=STUDIO, what="paper", name="P-31",
            paper=PAPER, sheet_count="960"),
    ]  # fmt: skip


def mixed(
    id: str = BATH, *, at: datetime = WEDNESDAY, grams: object = 480, **more: Any
) -> Entry:
    """Return 12 litres of a bath, weighed."""
    body: dict[str, Any] = {
        "name": "R-A2",
        "studio": STUDIO,
        "vessel": VESSEL,
        "water": q(12, "l"),
        "salt": [{"lot": LOT, "amount": q(grams, "g")}],
    }
    return say("bath.mixed", id, at=at, **(body | more))


def with_size(at: datetime = LONG_AGO) -> list[Entry]:
    """Return what a size needs besides: a lidded tray of half sheets, a tub of carrageenan."""
    return [
        say("vessel.described", TRAY, at=at, studio=STUDIO, name="half tray",
            brim=q(11, "l"), laying=q(3, "l"), lidded="yes", place="2"),
        say("lot.received", GUM, at=at, studio=STUDIO, what="carrageenan", name="CG-07",
            carrageenan="lambda", weight=q(1240, "g")),
    ]  # fmt: skip


def sized(
    id: str = SIZE, *, at: datetime = WEDNESDAY, grams: object = 45, **more: Any
) -> Entry:
    """Return 9 litres of a size at 5 g/L, weighed."""
    body: dict[str, Any] = {
        "name": "R-S1",
        "what": "size",
        "studio": STUDIO,
        "vessel": TRAY,
        "water": q(9, "l"),
        "powder": [{"powder": "carrageenan", "lot": GUM, "amount": q(grams, "g")}],
    }
    return say("bath.mixed", id, at=at, **(body | more))


def laid(
    id: str, count: int, *, at: datetime, stack: str = STACK, size: str = SIZE, **more: Any
) -> Entry:
    """Return half sheets of a stack that were laid on a size."""
    body = {
        "stack": stack, "size": size, "sheet_count": str(count), "sheet_format": "half",
    }  # fmt: skip
    return say("sheets.through", id, at=at, **(body | more))


def spooned(id: str = BATH, *, at: datetime = WEDNESDAY, by: str = PRIYA) -> Entry:
    """Return the bath of a card: 24 level spoons to 3 US gallons, here 11.36 L."""
    salt = [{"lot": LOT, "amount": q(24, "us_tbsp", heap="level")}]
    return mixed(id, at=at, water=q("11.36", "l"), salt=salt)


def through(
    id: str,
    count: int,
    *,
    at: datetime,
    bath: str = BATH,
    written: datetime | None = None,
    typed: str = "",
    **more: Any,
) -> Entry:
    """Return half sheets dipped in a bath."""
    body = {
        "bath": bath,
        "sheet_count": str(count),
        "sheet_format": "half",
        "method": "dip",
        "lot": PAPER_LOT,
    }
    return say("sheets.through", id, at=at, written=written, typed=typed, **(body | more))


def topped_up(id: str, *, at: datetime, bath: str = BATH, **body: Any) -> Entry:
    """Return something poured into a bath; water alone has its reason."""
    reason = {} if "salt" in body else {"reason": "level_only"}
    return say("bath.topped_up", id, at=at, bath=bath, **(reason | body))


def corrected(
    id: str,
    target: Entry | str,
    outcome: str,
    *,
    at: datetime,
    by: str = AMINA,
    sees: tuple[str, ...] = (),
    content: dict[str, Any] | None = None,
) -> Entry:
    """Return a correction."""
    name = target if isinstance(target, str) else target.id
    body: dict[str, Any] = {"target": name, "outcome": outcome, "reason": "typing_slip"}
    if sees:
        body["supersedes"] = list(sees)
    if content is not None:
        body["content"] = content
    return say("entry.corrected", id, at=at, by=by, **body)


def instead(entry: Entry, *, at: datetime | None = None, **changes: Any) -> dict[str, Any]:
    """Return an entry's content as a replacement, with a body changed here and there."""
    record = json.loads(entry.data)
    return {
        "author": record["author"],
        "happened_at": at.isoformat() if at else record["happened_at"],
        "body": record["body"] | changes,
    }
