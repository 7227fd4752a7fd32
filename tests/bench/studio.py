"""A seeded studio of any size: baths mixed, used up, followed by the next, year after year."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from time import perf_counter
from typing import Any

from coop.ids import EntryId, LedgerId, MemberId, NodeId, uuid7
from coop.ledger.entries import Entry, draft, read_entry
from coop.ledger.ports import BATCH_MAX, Admission
from coop.store.desk import Store, open_store, start_ledger
from coop.store.migrate import upgrade
from coop.store.rebuild import refold_all
from tests.support.sayings import SUMMER, q

TUBS = 5
ENTRIES_PER_BATH = 100
CROWD = 40
LONG = 500
START = datetime(2015, 1, 5, 9, 0, tzinfo=SUMMER)
BUSY = datetime(2025, 9, 1, 9, 0, tzinfo=SUMMER)


@dataclass
class Studio:
    """Gives what happens in it, entry by entry; the same seed gives the same history."""

    seed: int = 1
    now: datetime = START
    ledger: LedgerId = field(init=False)
    member: MemberId = field(init=False)
    chance: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.chance = random.Random(self.seed)
        self.ledger = LedgerId(self.new_id())
        self.member = MemberId(self.new_id())

    def new_id(self) -> EntryId:
        ms = int(self.now.timestamp() * 1000)
        return EntryId(uuid7(now_ms=ms, random=self.chance.randbytes(10)))

    def say(self, kind: str, **body: Any) -> Entry:
        self.now += timedelta(minutes=self.chance.randint(5, 60))
        return read_entry(
            draft(
                ledger=self.ledger,
                id=self.new_id(),
                kind=kind,
                body=body,
                author=self.member,
                happened_at=self.now,
                written_at=self.now,
            )
        )

    def entries(self) -> Iterator[Entry]:
        """Give a history without end."""
        studio = self.say("studio.described", name="Ropewalk", letter="R", drain="sewer",
                          emergency="112", poison="115")  # fmt: skip
        paper = self.say("paper.described", name="P-31", length=q(700, "mm"),
                         width=q(500, "mm"), chalk="not_known")  # fmt: skip
        tubs = [self.tub(studio.id, place) for place in range(1, TUBS + 1)]
        yield from (studio, paper, *tubs)
        while True:
            alum = self.say("lot.received", studio=studio.id, what="alum", name="AS",
                            salt="aluminium_sulfate_14", weight=q(25, "kg"))  # fmt: skip
            sheets = self.say("lot.received", studio=studio.id, what="paper", name="P-31",
                              paper=paper.id, sheet_count="2000")  # fmt: skip
            yield from (alum, sheets)
            yield from self.round(studio.id, tubs, alum.id, sheets.id)

    def crowd(self) -> Iterator[Entry]:
        """Give a week with many open baths, alum and size in turn; two of them much used."""
        studio = self.say("studio.described", name="Ropewalk", letter="R", drain="sewer",
                          emergency="112", poison="115")  # fmt: skip
        paper = self.say("paper.described", name="P-31", length=q(700, "mm"),
                         width=q(500, "mm"), chalk="not_known")  # fmt: skip
        alum = self.say("lot.received", studio=studio.id, what="alum", name="AS",
                        salt="aluminium_sulfate_14", weight=q(25, "kg"))  # fmt: skip
        gum = self.say("lot.received", studio=studio.id, what="carrageenan", name="CG",
                       weight=q(5, "kg"))  # fmt: skip
        sheets = self.say("lot.received", studio=studio.id, what="paper", name="P-31",
                          paper=paper.id, sheet_count="2000")  # fmt: skip
        tubs = [self.tub(studio.id, place) for place in range(1, CROWD + 1)]
        yield from (studio, paper, alum, gum, sheets, *tubs)
        powder = [{"powder": "carrageenan", "lot": gum.id, "amount": q(60, "g")}]
        stuff: tuple[dict[str, Any], ...] = (
            {"salt": [{"lot": alum.id, "amount": q(480, "g")}]},
            {"what": "size", "powder": powder},
        )
        baths = [
            self.say("bath.mixed", name=f"R-{n}", studio=studio.id, vessel=tub.id,
                     water=q(12, "l"), **stuff[n % 2])
            for n, tub in enumerate(tubs)
        ]  # fmt: skip
        yield from baths
        for _ in range(LONG // 2):
            yield from self.through_both(baths[0].id, baths[1].id, sheets.id)

    def through_both(self, bath: str, size: str, lot: str) -> Iterator[Entry]:
        """Give a sheet that is alumed and laid, with a test of each bath."""
        alumed = self.say("sheets.through", bath=bath, sheet_format="quarter", lot=lot,
                          sheet_count="1", method="dip")  # fmt: skip
        yield alumed
        yield self.say("sheets.through", stack=alumed.id, size=size, sheet_count="1",
                       sheet_format="quarter")  # fmt: skip
        yield self.say("reading.taken", bath=bath, instrument="strip_print", outcome="sharp")
        yield self.say("reading.taken", bath=size, instrument="drop_test", outcome="round",
                       spread_mm="50")  # fmt: skip

    def tub(self, studio: str, place: int) -> Entry:
        return self.say("vessel.described", studio=studio, name=f"tub {place}",
                        inside_length=q(740, "mm"), inside_width=q(540, "mm"),
                        brim=q(16, "l"), lidded="yes", place=str(place))  # fmt: skip

    def round(self, studio: str, tubs: list[Entry], alum: str, sheets: str) -> Iterator[Entry]:
        """Give one bath in each tub, side by side, from mixing to the end."""
        salt = [{"lot": alum, "amount": q(480, "g")}]
        baths = [
            self.say("bath.mixed", name=f"R-A{n}", studio=studio, vessel=tub.id,
                     water=q(12, "l"), salt=salt)
            for n, tub in enumerate(tubs, 1)
        ]  # fmt: skip
        yield from baths
        for _ in range(ENTRIES_PER_BATH):
            for bath in baths:
                yield from self.use(bath.id, alum, sheets)
        for bath in baths:
            yield self.say("bath.finished", bath=bath.id, reason="used_up")

    def use(self, bath: str, alum: str, sheets: str) -> Iterator[Entry]:
        turn = self.chance.random()
        if turn < 0.05:
            salt = [{"lot": alum, "amount": q(120, "g")}]
            yield self.say("bath.topped_up", bath=bath, water=q(3, "l"), salt=salt)
        elif turn < 0.1:
            yield self.say("reading.taken", bath=bath, instrument="strip_print",
                           outcome="sharp")  # fmt: skip
        else:
            through = self.say("sheets.through", bath=bath, sheet_format="half",
                               sheet_count=str(self.chance.randint(1, 10)), method="dip",
                               lot=sheets)  # fmt: skip
            yield through
            if turn > 0.6:
                yield self.say("sheets.sorted", stack=through.id, good="1")


@dataclass(frozen=True)
class Grown:
    """A ledger that was filled, with how long the two halves of that took [s]."""

    store: Store
    studio: Studio
    count: int
    taken_in_s: float
    folded_s: float
    folds: int


def grow(folder: Path, count: int, seed: int = 1) -> Grown:
    """Fill a new ledger with so many entries: batches marked stale, then all folded."""
    studio = Studio(seed)
    return filled(folder / f"studio-{seed}-{count}.db", studio, studio.entries(), count)


def crowded(folder: Path, seed: int = 1) -> Grown:
    """Fill a new ledger with `CROWD` open baths, an alum bath and a size of them `LONG`."""
    studio = Studio(seed, now=BUSY)
    entries = list(studio.crowd())
    return filled(folder / f"crowd-{seed}.db", studio, iter(entries), len(entries))


def filled(file: Path, studio: Studio, entries: Iterator[Entry], count: int) -> Grown:
    """Fill a new ledger with the first entries of a history."""
    url = f"sqlite:///{file}"
    upgrade(url)
    store = start_ledger(url, ledger=studio.ledger, node=NodeId(studio.new_id()))
    left, taken_in_s = count, 0.0
    while left > 0:
        batch = list(islice(entries, min(BATCH_MAX, left)))
        left -= len(batch)
        began = perf_counter()
        with store.writing() as desk:
            admission = Admission(at=studio.now, by=studio.member)
            desk.journal.append(batch, admission, fold=False)
        taken_in_s += perf_counter() - began
    began = perf_counter()
    folds = refold_all(store)
    return Grown(
        store=store,
        studio=studio,
        count=count,
        taken_in_s=taken_in_s,
        folded_s=perf_counter() - began,
        folds=folds,
    )


def reopened(store: Store) -> Store:
    """Open a ledger anew, with nothing remembered."""
    return open_store(store.engines.writer.url.render_as_string(hide_password=False))
