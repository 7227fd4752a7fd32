"""
Writes entries one after the other and says each id once it is kept: for tests that kill it.

What the disk did not take is said as ``refused ID SORT``, and the next one is tried.

Started as a process of its own: ``python -m tests.support.writer ADDRESS SEED [COUNT [SYNC]]``.
After COUNT entries it ends as if it were killed; SYNC is SQLite's synchronous, where a test
wants to see what a weaker one loses.
"""

import itertools
import os
import random
import sys
from datetime import datetime, timedelta

from coop.actions.write import Draft, Who, Written, write
from coop.ids import EntryId, uuid7
from coop.store.desk import Store, open_store
from coop.store.engines import Unkept
from tests.support.sayings import AMINA, BATH, LOT, PAPER_LOT, on, q

WHO = Who(member=AMINA, roles=frozenset({"member", "coordinator"}))


def main(address: str, seed: int, count: int | None = None, sync: str = "") -> None:
    chance = random.Random(seed)
    sys.stdin.readline()  # all is loaded by now; the first line says go
    store = open_store(address)
    if sync:
        connection = store.engines.writer.raw_connection()
        connection.cursor().execute(f"PRAGMA synchronous={sync}")
        connection.close()
    with store.reading() as desk:
        now = on(18) + timedelta(minutes=desk.journal.head()[0])
    sys.stdout.write("writing\n")
    sys.stdout.flush()
    for _ in itertools.count() if count is None else range(count):
        now += timedelta(minutes=1)
        draft = _draft(chance, now)
        sys.stdout.write(f"{_written(store, draft, now)}\n")
        sys.stdout.flush()
    os._exit(0)  # closing the database would write all of it down


def _written(store: Store, draft: Draft, now: datetime) -> str:
    try:
        with store.writing() as desk:
            outcome = write(desk.journal, WHO, draft, now=now)
    except Unkept as why:
        return f"refused {draft.id} {type(why).__name__}"
    assert isinstance(outcome, Written), outcome
    return str(draft.id)


def _draft(chance: random.Random, now: datetime) -> Draft:
    id = EntryId(uuid7(now_ms=int(now.timestamp() * 1000), random=chance.randbytes(10)))
    if chance.random() < 0.2:
        salt = [{"lot": LOT, "amount": q(20, "g")}]
        body = {"bath": BATH, "water": q("0.5", "l"), "salt": salt}
        return Draft(id=id, kind="bath.topped_up", body=body)
    body = {
        "bath": BATH,
        "sheet_count": str(chance.randint(1, 20)),
        "sheet_format": "half",
        "method": "dip",
        "lot": PAPER_LOT,
        "reason": "test_sheets",
    }
    at = now - timedelta(minutes=chance.choice((0, 0, 0, 45)))
    return Draft(id=id, kind="sheets.through", body=body, happened_at=at)


if __name__ == "__main__":
    address, seed, *more = sys.argv[1:]
    main(address, int(seed), int(more[0]) if more else None, "".join(more[1:]))
