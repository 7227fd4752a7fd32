"""A server that dies while it writes: what it said it kept is kept, and nothing is half."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from coop.ids import EntryId
from coop.store.verify import verify
from tests.support.files import ROOT
from tests.support.ledgers import SqlBook, sqlite_book, take_in
from tests.support.sayings import LEDGER, described, mixed, on

ALIVE_S = (0.02, 0.35)


def writer(book: SqlBook, seed: int) -> subprocess.Popen[str]:
    """Start a process that is ready to write; the next one loads while this one is at it."""
    address = book.store.engines.writer.url.render_as_string(hide_password=False)
    command = [sys.executable, "-m", "tests.support.writer", address, str(seed)]
    pipe = subprocess.PIPE
    return subprocess.Popen(command, cwd=ROOT, text=True, stdin=pipe, stdout=pipe)


def killed(process: subprocess.Popen[str], alive_s: float) -> list[str]:
    """Let a process write for a while, kill it, and return the ids it said were kept."""
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("go\n")
    process.stdin.flush()
    assert process.stdout.readline() == "writing\n"
    time.sleep(alive_s)
    process.send_signal(signal.SIGKILL)
    said, _ = process.communicate()
    assert process.returncode == -signal.SIGKILL
    return said.split("\n")[:-1]


def assert_kept(book: SqlBook, acknowledged: list[str], seed: int) -> None:
    with book.store.reading() as desk:
        lost = [one for one in acknowledged if not desk.journal.by_id(EntryId(one))]
        found = verify(desk.connection, LEDGER)
    assert not lost, f"seed {seed}: acknowledged and lost: {lost}"
    assert found.clean, f"seed {seed}: {found.problems}"


def kill_often(template: Path, folder: Path, *, times: int) -> None:
    seed = int(os.environ.get("COOP_TEST_SEED", random.SystemRandom().randrange(2**32)))
    chance = random.Random(seed)
    acknowledged: list[str] = []
    with sqlite_book(template, folder, sync=True) as book:
        take_in(book, [*described(), mixed(at=on(17))])
        coming = writer(book, seed)
        for n in range(1, times + 1):
            process, coming = coming, writer(book, seed + n)
            acknowledged += killed(process, chance.uniform(*ALIVE_S))
            assert_kept(book, acknowledged, seed)
        coming.kill()
        coming.communicate()
    assert len(acknowledged) > times, f"seed {seed}: too little was written to mean anything"


def test_twenty_deaths_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    """A plug pulled, a process killed for its memory: the phone was told 'kept'."""
    kill_often(sqlite_template, tmp_path, times=20)


@pytest.mark.long
def test_two_hundred_deaths_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    kill_often(sqlite_template, tmp_path, times=200)
