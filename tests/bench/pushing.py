"""
What a phone that comes back costs: a month of drafts in pushes of 200, then nothing new.

Times are of the application alone, without the network, from the request to durable and
folded. Each statement's share and plan are looked at, so that none reads a whole table.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import cycle
from time import perf_counter, process_time
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import event

from coop.store.desk import Store
from tests.bench.figures import at, line, timed
from tests.bench.studio import Grown
from tests.support.enrolled import enrolled, post_push
from tests.support.opened import Opened
from tests.support.phone import KEPT_PART, Phone

DRAFTS = 1_000
BATHS = 5
QUIET = 60
BODY_MOST = 600  # bytes of a push with nothing new, and of its answer
BY_ID = "WHERE entry.id "
SHOWN = 5


@dataclass
class Asked:
    """What a store was asked meanwhile: how often, and how long that took [ms]."""

    count: Counter[str] = field(default_factory=Counter)
    ms: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    began: float = 0.0


@contextmanager
def asked_of(store: Store) -> Iterator[Asked]:
    """Time every statement of reader and writer inside the block."""
    found = Asked()

    def before(*_: Any) -> None:
        found.began = perf_counter()

    def after(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        found.count[statement] += 1
        found.ms[statement] += (perf_counter() - found.began) * 1000

    engines = (store.engines.reader, store.engines.writer)
    hooks = (("before_cursor_execute", before), ("after_cursor_execute", after))
    listening = [(engine, *hook) for engine in engines for hook in hooks]
    for one in listening:
        event.listen(*one)
    try:
        yield found
    finally:
        for one in listening:
            event.remove(*one)


def measure(house: Opened, grown: Grown) -> None:
    """Push a month of one phone into a ledger, then push with nothing new."""
    house.moment = grown.studio.now = max(house.moment, grown.studio.now)
    phone, client = enrolled(house, "kahu")
    write_a_month(house, phone)
    with asked_of(house.store) as asked:
        times, busy = push_all(house, phone, client)
    where = f"ledger of {grown.count:,}"
    line(f"{DRAFTS:,} drafts pushed, {where}", f"{sum(times) / DRAFTS:.2f} ms", "for each")
    line("  a push of 200", f"{at(0.5, times):.0f} / {max(times):.0f} ms", "p50 / longest")
    line("  of the processor", f"{at(0.5, busy):.0f} / {max(busy):.0f} ms", "the same")
    total = sum(asked.count.values())
    line("  statements of a push", f"{total / len(times):.0f}")
    slowest = sorted(asked.ms.items(), key=lambda one: -one[1])
    for statement, ms in slowest[:SHOWN]:
        share = f"{ms / sum(times):.0%} in {asked.count[statement] / len(times):.0f}"
        line(f"    {_short(statement)}", share)
    by_id = sum(ms for statement, ms in asked.ms.items() if BY_ID in statement)
    line("  asking for what an id stands for", f"{by_id / sum(times):.0%}", "under 30 %")
    nothing_new(house, phone, client, where)
    set_back(house, phone, client, where)
    scans(house.store, asked)
    grown.studio.now = house.moment


def write_a_month(house: Opened, phone: Phone) -> None:
    """Keep sheets, cares and readings of five baths, most of them sheets."""
    with house.desk() as desk:
        baths = [one.id for one in desk.journal.listed("bath")][-BATHS:]
    for n, bath in zip(range(DRAFTS), cycle(baths), strict=False):
        house.later(minutes=40)
        if n % 10 == 0:
            phone.write("bath.cared", now=house.moment, bath=bath, care="strained")
        else:
            phone.write("sheets.through", now=house.moment, bath=bath,
                        sheet_count="1", sheet_format="half", method="dip")  # fmt: skip


def push_all(
    house: Opened, phone: Phone, client: FlaskClient
) -> tuple[list[float], list[float]]:
    """Push until nothing waits; return milliseconds of each push, by the wall and by CPU."""
    times, busy = [], []
    while phone.in_state("waiting"):
        message = phone.message(now=house.moment)
        began = process_time()
        with timed() as clock:
            answer = post_push(client, message)
        busy.append((process_time() - began) * 1000)
        times.append(clock.ms)
        phone.settle(message, answer.get_json(), now=house.moment)
    assert len(phone.in_state("studio")) == DRAFTS
    return times, busy


def nothing_new(house: Opened, phone: Phone, client: FlaskClient, where: str) -> None:
    """Push as a phone does every half minute while its page is open."""
    message = phone.message(now=house.moment)
    times = []
    for _ in range(QUIET):
        house.moment += timedelta(seconds=30)
        with timed() as clock:
            post_push(client, message)
        times.append(clock.ms)
    with asked_of(house.store) as asked:
        answer = post_push(client, message)
    sizes = len(json.dumps(message, separators=(",", ":"))), len(answer.data)
    figure = f"{at(0.5, times):.1f} / {at(0.95, times):.1f} ms"
    line(f"a push with nothing new, {where}", figure, "p50 / p95")
    line("  bytes of it and of its answer", f"{sizes[0]} / {sizes[1]}", f"under {BODY_MOST}")
    line("  statements", str(sum(asked.count.values())))


def set_back(house: Opened, phone: Phone, client: FlaskClient, where: str) -> None:
    """Push as after the server was set back: all that is kept is offered, in parts."""
    kept = [[one.id, one.digest] for one in phone.in_state("studio")[:KEPT_PART]]
    message = phone.message(now=house.moment) | {"kept": kept}
    with asked_of(house.store) as asked, timed() as clock:
        answer = post_push(client, message)
    assert answer.get_json()["lacks"] == []
    line(f"a push that offers {KEPT_PART} kept, {where}", f"{clock.ms:.0f} ms")
    line("  statements", str(sum(asked.count.values())))


def scans(store: Store, asked: Asked) -> None:
    """Name the statements that read a whole table."""
    with store.engines.reader.connect() as connection:
        for statement in asked.count:
            if statement.startswith(("SELECT", "WITH", "UPDATE", "DELETE")):
                raw = connection.connection.cursor()
                holes = [None] * statement.count("?")
                raw.execute(f"EXPLAIN QUERY PLAN {statement}", holes)
                plan = [row[3] for row in raw.fetchall() if row[3].startswith("SCAN")]
                if plan:
                    line(f"  reads to the end: {_short(statement)}", "; ".join(plan))


def _short(statement: str) -> str:
    words = " ".join(statement.split())
    start = words.find("FROM ") if words.startswith("SELECT") else 0
    return words[max(start, 0) :][:52]
