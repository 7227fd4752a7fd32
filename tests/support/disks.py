"""
Disks that say no: real faults, each for as long as its block lasts.

Nothing stands in for SQLite here: its file may not grow, files may not grow, another process
holds the writer, the disk is full, or the calls to the kernel fail.
"""

import os
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from coop.store.engines import Engines

HOLDER = """
import sqlite3, sys
holding = sqlite3.connect(sys.argv[1], isolation_level=None)
holding.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.readline()
"""
WAITS_MS = 50
FILL_BYTES = 64 * 1024


@contextmanager
def no_more_pages(engines: Engines) -> Iterator[None]:
    """Let the database take what its pages have room for, and then say that it is full."""
    before = _pragma(engines, "max_page_count")
    _pragma(engines, "max_page_count=1")  # no smaller than it is, says SQLite
    try:
        yield
    finally:
        _pragma(engines, f"max_page_count={before}")


@contextmanager
def no_longer_files(engines: Engines) -> Iterator[None]:
    """Let no file of this process grow beyond the database's log (EFBIG)."""
    log = Path(f"{engines.writer.url.database}-wal")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (log.stat().st_size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def held(engines: Engines) -> Iterator[None]:
    """Let another process hold the writer for longer than anybody waits."""
    before = _pragma(engines, "busy_timeout")
    _pragma(engines, f"busy_timeout={WAITS_MS}")
    command = [sys.executable, "-c", HOLDER, str(engines.writer.url.database)]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, text=True) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        try:
            yield
        finally:
            holder.communicate("go\n")
            _pragma(engines, f"busy_timeout={before}")


@contextmanager
def failing(error: str, calls: str = "pwrite64") -> Iterator[None]:
    """Let these calls of this process fail: strace answers them in the kernel's place."""
    traced = ["strace", "-f", "-p", str(os.getpid()), "-e", f"trace={calls}"]
    command = [*traced, "-e", f"inject={calls}:error={error}", "-o", os.devnull]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as strace:
        assert strace.stderr is not None
        said = strace.stderr.readline()
        assert "attached" in said, said
        try:
            yield
        finally:
            strace.send_signal(signal.SIGINT)
            strace.communicate()


@contextmanager
def small_disk(folder: Path, size: str) -> Iterator[Path]:
    """Give an empty disk of so many bytes, as mount(8) says them; needs the right to mount."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    subprocess.run(mount, check=True, capture_output=True)
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True, capture_output=True)


@contextmanager
def filled(disk: Path) -> Iterator[None]:
    """Leave not a byte on a disk."""
    filler = disk / "filler"
    descriptor = os.open(filler, os.O_CREAT | os.O_WRONLY)
    try:
        _fill(descriptor)
        yield
    finally:
        os.close(descriptor)
        filler.unlink()


def _fill(descriptor: int) -> None:
    for size in (FILL_BYTES, 1):
        try:
            while os.write(descriptor, bytes(size)):
                pass
        except OSError:  # that is what is wanted: no room for so much any more
            continue


def _pragma(engines: Engines, said: str) -> int:
    """Say a pragma to the writer; return what it answers."""
    connection = engines.writer.raw_connection()
    try:
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA {said}")
        return int((cursor.fetchone() or (0,))[0])
    finally:
        connection.close()
