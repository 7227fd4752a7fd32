"""Fifty phones find a signal at the same moment, as after a workshop in a cellar."""

import os
import random
import sys
from collections import Counter
from pathlib import Path
from urllib.parse import urlsplit

from coop.store.verify import verify
from tests.support.opened import furnished, mixed
from tests.support.pushers import lost, push_for, pushers
from tests.support.server import serving

PHONES = 50
SECONDS = 10.0


def test_fifty_phones_at_once_lose_nothing(tmp_path: Path) -> None:
    """No answer is a fault of the server; one that has to wait is told for how long."""
    seed = int(os.environ.get("COOP_TEST_SEED", random.SystemRandom().randrange(2**32)))
    house = furnished(tmp_path)
    bath = mixed(house)
    phones = pushers(house, PHONES, bath, seed, house.clock)
    with serving(house.app()) as origin:
        port = urlsplit(origin).port
        assert port is not None
        push_for(phones, port, SECONDS)
        statuses = sum((one.statuses for one in phones), Counter[int]())
        for one in phones:
            one.drain(port)

    times = sorted(ms for one in phones for ms in one.times_ms)
    p50, p95 = (times[int(share * len(times))] for share in (0.5, 0.95))
    sys.stdout.write(f"seed {seed}: {dict(statuses)}, p50 {p50:.0f} ms, p95 {p95:.0f} ms\n")
    assert set(statuses) <= {200, 503}, f"seed {seed}: {statuses}"
    assert not any(one.without_retry for one in phones), seed
    assert not lost(house.store, phones), seed
    assert all(set(one.written) == one.acknowledged for one in phones), seed
    assert house.state("bath", bath).half_count == sum(len(one.written) for one in phones)
    with house.desk() as desk:
        assert verify(desk.connection, house.store.ledger).clean
