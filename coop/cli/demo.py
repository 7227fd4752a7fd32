"""`coop demo`: a ledger of its own each time, with invented people, baths and figures."""

import secrets
import signal
import socket
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from types import FrameType
from typing import NoReturn

from coop.cli.common import (
    FINE,
    TERMINATED,
    Stopped,
    origin_of,
    parser,
    port,
    say,
    settings_for,
)
from coop.cli.serve import is_free, refuse_taken, serve
from coop.settings import Settings

SIGN_INS = {"kahu": "a member", "amina": "a coordinator"}
LOOPBACK = "127.0.0.1"
PORT = 8080
PORTS_TRIED = 100
ANY_PORT = 0
ENDS = (signal.SIGTERM, signal.SIGHUP)
EPILOG = (
    "Everything in it is invented. It lies in a temporary folder that is removed when the\n"
    "command is stopped, and only this machine can open it."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Make the demo in a temporary folder, serve it, and say how to sign in."""
    asked = parser(
        command, "Start a ledger with invented people, baths and figures.", epilog=EPILOG
    )
    asked.add_argument(
        "--port",
        type=port,
        help="port to listen on; 0 takes any (default 8080, or the next that is free)",
    )
    asked.add_argument(
        "--prepare", action="store_true", help="make it, say so, and stop without serving"
    )
    given = asked.parse_args(arguments)
    with _ends_tidily(), tempfile.TemporaryDirectory(prefix="coop-demo-") as folder:
        settings = settings_for(
            Path(folder),
            COOP_DEMO="yes",
            COOP_DATABASE="",
            COOP_KEY="",
            COOP_HOST=LOOPBACK,
            COOP_HOST_NAMES="",
            COOP_PROXIES="",
            COOP_PLAIN_HTTP="",
            COOP_PORT=str(_port(given.port)),
        )
        with _signals_wait():
            passwords = _prepared(settings)
        if given.prepare:
            say("The demo was made, and is removed again.")
            return FINE
        return serve(settings, lambda: _welcome(settings, passwords))


@contextmanager
def _ends_tidily() -> Iterator[None]:
    """Let a signal end the command from within, so that the folder is removed."""
    before = {number: signal.signal(number, _end) for number in ENDS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _end(number: int, frame: FrameType | None) -> NoReturn:
    sys.exit(TERMINATED)


@contextmanager
def _signals_wait() -> Iterator[None]:
    """Hold signals back for the second of the making: none may end it in mid-statement."""
    held = (*ENDS, signal.SIGINT)
    signal.pthread_sigmask(signal.SIG_BLOCK, held)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, held)


def _port(asked: int | None) -> int:
    """Return the port that was asked for, or the first free one from 8080 on."""
    if asked == ANY_PORT:
        with closing(socket.socket()) as probe:
            probe.bind((LOOPBACK, ANY_PORT))
            free: int = probe.getsockname()[1]
            return free
    if asked is not None:
        refuse_taken(LOOPBACK, asked)
        return asked
    tried = range(PORT, PORT + PORTS_TRIED)
    found = next((one for one in tried if is_free(LOOPBACK, one)), None)
    if found is None:
        raise Stopped(f"ports {tried[0]} to {tried[-1]} are taken; choose one with --port")
    return found


def _prepared(settings: Settings) -> Mapping[str, str]:
    say("Making the demo ...")
    from coop.app import clock  # loading what makes it takes longest, so it is said before
    from coop.cli.invented import prepare

    return prepare(settings, SIGN_INS, now=clock(), random=secrets.token_bytes)


def _welcome(settings: Settings, passwords: Mapping[str, str]) -> None:
    lines = [f"The demo is open at {origin_of(settings)}"]
    for name, told in SIGN_INS.items():
        lines.append(f"  {told:<14} sign-in name {name:<6} password {passwords[name]}")
    say("\n".join([*lines, "Ctrl-C stops it and removes everything."]))
