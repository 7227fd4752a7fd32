"""Commands that serve, run as their own process beside a test."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.cli.said import environment


def free_port() -> int:
    """Return a loopback port on which nothing listens just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running(folder: Path, *arguments: str) -> Iterator[subprocess.Popen[str]]:
    """Run a command that serves, in a group of its own; end it whatever happens."""
    command = [sys.executable, "-P", "-m", "coop", *arguments]
    process = subprocess.Popen(
        command, cwd=folder, env=environment({"TMPDIR": str(folder)}), text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    try:
        yield process
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def first_line(process: subprocess.Popen[str], wanted: str) -> str:
    """Read the output up to the line that holds this."""
    assert process.stdout is not None
    for line in process.stdout:
        if wanted in line:
            return line
    raise AssertionError(f"never said {wanted!r}: {process.communicate()}")
