"""
A phone without a browser: the Python twin of the outbox, for tests of what a device may do.

It keeps texts under counts of its own, pushes over any transport, and settles answers by the
same rules as the script: nothing that is not acknowledged is ever let go.
"""

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from coop import __version__
from coop.ledger.table import KINDS

BATCH = 200
KEPT_PART = 500
KEPT_FOR = timedelta(days=30)
NOT_UNDERSTOOD = {"unknown-kind", "unknown-version", "unknown-outbox-version"}

Transport = Callable[[dict[str, Any]], dict[str, Any] | None]


@dataclass(frozen=True)
class Record:
    """One thing written, as the phone keeps it."""

    id: str
    device_seq: int
    text: str
    state: str = "waiting"
    code: str = ""
    digest: str = ""
    seal: tuple[str, int] | None = None
    acked_at: datetime | None = None
    refused_by: str = ""


@dataclass
class Phone:
    """
    A phone with its outbox.

    `ahead` is how far its clock runs ahead of the true time.
    """

    id: str
    ledger: str
    author: str
    new_id: Callable[[], str]
    ahead: timedelta = timedelta()
    keeps: bool = True
    records: dict[str, Record] = field(default_factory=dict)
    last_seq: int = 0
    heard: dict[str, int] = field(default_factory=dict)
    behind: bool = False

    def write(self, kind: str, *, now: datetime, author: str = "", **body: Any) -> str:
        """Keep something under the next count; return its id."""
        self.last_seq += 1
        entry_id = self.new_id()
        clock = (now + self.ahead).isoformat()
        entry = {
            "ledger": self.ledger,
            "id": entry_id,
            "kind": kind,
            "v": KINDS[kind].v if kind in KINDS else 1,
            "body": body,
            "author": author or self.author,
            "device": self.id,
            "device_seq": self.last_seq,
            "happened_at": clock,
            "written_at": clock,
        }
        text = json.dumps({"v": 1, "entry": entry}, ensure_ascii=False)
        self.records[entry_id] = Record(id=entry_id, device_seq=self.last_seq, text=text)
        return entry_id

    def state(self, entry_id: str) -> str:
        return self.records[entry_id].state

    def in_state(self, *states: str) -> list[Record]:
        found = [one for one in self.records.values() if one.state in states]
        return sorted(found, key=lambda one: one.device_seq)

    def message(self, *, now: datetime, release: str = __version__, most: int = BATCH) -> Any:
        """Return the next push."""
        waiting = [one for one in self.in_state("waiting") if one.refused_by != release]
        kept = self.in_state("studio")
        offered = kept[:KEPT_PART] if self.behind else []
        return {
            "v": 1,
            "now": (now + self.ahead).isoformat(),
            "release": release,
            "last_seq": self.last_seq,
            "unsent": [one.device_seq for one in self.in_state("waiting", "refused")],
            "heard": self.heard,
            "kept_count": len(kept),
            "kept": [[one.id, one.digest] for one in offered],
            "asked": [one.id for one in self.in_state("needs")][:BATCH],
            "offline": True,
            "stored": False,
            "drafts": [one.text for one in waiting[:most]],
            "given_up": [one.text for one in self.in_state("giving-up")][:BATCH],
        }

    def push(self, transport: Transport, *, now: datetime, release: str = __version__) -> bool:
        """Push once and settle; False when no answer came, and then nothing has changed."""
        message = self.message(now=now, release=release)
        answer = transport(message)
        if answer is None:
            return False
        self.settle(message, answer, now=now)
        return True

    def settle(self, message: Any, answer: Any, *, now: datetime) -> None:
        """Take an answer in: what it does not speak of stays as it is."""
        sent = [json.loads(text)["entry"]["id"] for text in message["drafts"]]
        for entry_id, told in zip(sent, answer["answers"], strict=True):
            self._take(entry_id, told, answer["release"], now)
        for told in answer["settled"]:
            self._take(told["id"], told, answer["release"], now)
        for entry_id in answer["lacks"]:
            self.records[entry_id] = replace(self.records[entry_id], state="waiting")
        self.behind = answer["behind"] and not message["kept"]
        if not self.behind:
            self.heard = answer["vector"]
        self._let_go(answer["two_places"], now)

    def _take(self, entry_id: str, told: Any, release: str, now: datetime) -> None:
        one = self.records[entry_id]
        match told["outcome"]:
            case "sealed" | "already":
                seal = tuple(told["seal"])
                one = replace(one, state="studio", digest=told["digest"], seal=seal)
                one = replace(one, acked_at=now, code="")
            case "waiting":
                one = replace(one, state="needs", code=told["code"])
            case "given-up":
                one = replace(one, state="given-up")
            case _ if told["code"] in NOT_UNDERSTOOD:
                one = replace(one, code=told["code"], refused_by=release)
            case _:
                one = replace(one, state="refused", code=told["code"])
        self.records[entry_id] = one

    def _let_go(self, two_places: dict[str, int], now: datetime) -> None:
        """Let go of what is in two places, or was acknowledged thirty days ago."""
        for one in self.in_state("studio"):
            assert one.seal is not None
            assert one.acked_at is not None
            node, seq = one.seal
            if (
                two_places.get(node, 0) >= seq
                or now - one.acked_at > KEPT_FOR
                or not self.keeps
            ):
                del self.records[one.id]
