"""`coop serve` dies in the middle of pushes: what a phone was told is kept is kept."""

import os
import random
import signal
import sys
import threading
from collections import Counter
from pathlib import Path

import pytest

from coop.app import clock
from coop.store.desk import open_store
from coop.store.verify import verify
from tests.support.commands import first_line, free_port, running
from tests.support.opened import furnished, mixed
from tests.support.pushers import Pusher, lost, push_for, pushers

PHONES = 4
ALIVE_S = (0.2, 1.5)
ASKS_S = 0.3
"""How long phones go on asking after the server is gone: nothing answers them."""


def assert_kept(folder: Path, phones: list[Pusher], seed: int) -> None:
    store = open_store(f"sqlite:///{folder / 'coop.db'}")
    with store.reading() as desk:
        found = verify(desk.connection, store.ledger)
    gone = lost(store, phones)
    store.close()
    assert not gone, f"seed {seed}: acknowledged and lost: {gone}"
    assert found.clean, f"seed {seed}: {found.problems[:3]}"


def kill_often(folder: Path, *, times: int) -> None:
    seed = int(os.environ.get("COOP_TEST_SEED", random.SystemRandom().randrange(2**32)))
    chance = random.Random(seed)
    house = furnished(folder)
    phones = pushers(house, PHONES, mixed(house), seed, clock)
    house.store.close()
    port = free_port()
    for _ in range(times):
        with running(folder, "serve", ".", "--port", str(port)) as process:
            first_line(process, "Serving")
            alive_s = chance.uniform(*ALIVE_S)
            dies = threading.Timer(alive_s, os.killpg, (process.pid, signal.SIGKILL))
            dies.start()
            push_for(phones, port, alive_s + ASKS_S)
            dies.join()
        assert_kept(folder, phones, seed)
    with running(folder, "serve", ".", "--port", str(port)) as process:
        first_line(process, "Serving")
        for one in phones:
            one.drain(port)
    assert_kept(folder, phones, seed)
    statuses = sum((one.statuses for one in phones), Counter[int]())
    sys.stdout.write(f"seed {seed}: {times} kills, {dict(statuses)}\n")
    assert all(set(one.written) == one.acknowledged for one in phones), seed
    assert statuses[0] >= times, f"seed {seed}: none was cut off"
    assert statuses[200] > times, f"seed {seed}: too few got in"


def test_five_deaths_lose_nothing_that_a_phone_was_told_is_kept(tmp_path: Path) -> None:
    kill_often(tmp_path, times=5)


@pytest.mark.long
def test_fifty_deaths_lose_nothing_that_a_phone_was_told_is_kept(tmp_path: Path) -> None:
    kill_often(tmp_path, times=50)
