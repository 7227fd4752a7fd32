"""Phones that push to a real server over a socket, each from a thread of its own."""

import json
import random
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from http.client import HTTPConnection, HTTPException
from threading import Event, Thread
from typing import Any

from coop.ids import EntryId
from coop.store.desk import Store
from tests.support.enrolled import PUSH, SAME, enrolled
from tests.support.opened import Opened
from tests.support.phone import Phone

ANSWERS_WITHIN_S = 30.0
RESTS_S = 0.2
AT_ONCE_MAX = 3
TRIES_MAX = 100


@dataclass
class Pusher:
    """
    One phone, and what its server said to it.

    Attributes:
        written: Ids that were kept on the phone; `acknowledged` those the server has.
        statuses: How often it was answered what; 0 counts pushes without an answer.
        times_ms: How long an answer of 200 took.
    """

    phone: Phone
    token: str
    bath: str
    chance: random.Random
    now: Callable[[], datetime]
    written: list[str] = field(default_factory=list)
    acknowledged: set[str] = field(default_factory=set)
    statuses: Counter[int] = field(default_factory=Counter)
    times_ms: list[float] = field(default_factory=list)
    without_retry: int = 0

    def write(self) -> None:
        """Keep one to three things on the phone."""
        for _ in range(self.chance.randint(1, AT_ONCE_MAX)):
            said = {"bath": self.bath, "sheet_count": "1", "sheet_format": "half"}
            self.written.append(
                self.phone.write("sheets.through", now=self.now(), method="dip", **said)
            )

    def push(self, port: int) -> bool:
        """Push once, and settle what was answered; say whether anything was."""
        message = self.phone.message(now=self.now())
        began = time.perf_counter()
        status, told = self._send(port, message)
        self.statuses[status] += 1
        if status != 200:
            return False
        self.times_ms.append((time.perf_counter() - began) * 1000)
        self.phone.settle(message, told, now=self.now())
        self.acknowledged |= {
            one["id"] for one in told["answers"] if one["outcome"] in ("sealed", "already")
        }
        return True

    def _send(self, port: int, message: Any) -> tuple[int, Any]:
        connection = HTTPConnection("127.0.0.1", port, timeout=ANSWERS_WITHIN_S)
        cookie = {"Cookie": f"coop-device={self.token}", "Content-Type": "application/json"}
        try:
            connection.request("POST", PUSH, json.dumps(message), SAME | cookie)
            answer = connection.getresponse()
            told = json.loads(answer.read())
        except (OSError, HTTPException, ValueError):
            return 0, None
        finally:
            connection.close()
        self.without_retry += answer.status == 503 and not answer.getheader("Retry-After")
        return answer.status, told

    def drain(self, port: int) -> None:
        """Push until nothing waits any more."""
        for _ in range(TRIES_MAX):
            if not self.phone.in_state("waiting"):
                return
            if not self.push(port):
                time.sleep(RESTS_S)
        raise AssertionError(f"still waiting: {self.statuses}")


def pushers(
    house: Opened, count: int, bath: str, seed: int, now: Callable[[], datetime]
) -> list[Pusher]:
    """Enrol so many phones."""
    made = []
    for n in range(count):
        phone, client = enrolled(house, "kahu", name=f"phone {n}")
        cookie = client.get_cookie("coop-device", path="/device/")
        assert cookie is not None
        chance = random.Random(f"{seed}-{n}")
        made.append(Pusher(phone, cookie.value, bath, chance, now))
    return made


def push_for(phones: Sequence[Pusher], port: int, seconds: float) -> None:
    """Let every phone write and push as fast as it is answered, all at once."""
    over = Event()

    def work(one: Pusher) -> None:
        while not over.is_set():
            one.write()
            if not one.push(port):
                over.wait(RESTS_S)

    threads = [Thread(target=work, args=(one,)) for one in phones]
    for thread in threads:
        thread.start()
    time.sleep(seconds)
    over.set()
    for thread in threads:
        thread.join()


def lost(store: Store, phones: Sequence[Pusher]) -> list[str]:
    """Return what a phone was told is kept and is not there exactly once."""
    with store.reading() as desk:
        return [
            one
            for phone in phones
            for one in sorted(phone.acknowledged)
            if len(desk.journal.by_id(EntryId(one))) != 1
        ]
