"""`coop serve FOLDER`: the web server. One process, several threads."""

import errno
import os
import signal
import socket
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from threading import Thread
from typing import Any
from wsgiref.types import WSGIApplication

from coop.cli.common import (
    FAILED,
    FINE,
    Stopped,
    add_folder,
    origin_of,
    parser,
    port,
    say,
    settings_for,
)
from coop.settings import ANY_ADDRESS, LOOPBACK_NAMES, Settings

THREADS = 16  # a dozen half-sent requests of phones that lost the signal must not stop it
ANSWERS_WITHIN_S = 30.0
LOOKS_EVERY_S = 0.05
STOPS_WITHIN_S = 10  # then even a request that never ends is given up
EPILOG = (
    "Other addresses than loopback are served without encryption, so anybody near could\n"
    "read passwords: put a server with TLS in front, or say --plain-http if that is meant."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Serve until stopped."""
    asked = parser(
        command, "Serve the ledger of a folder until stopped (Ctrl-C).", epilog=EPILOG
    )
    add_folder(asked)
    asked.add_argument("--host", help="address to listen on (default 127.0.0.1)")
    asked.add_argument("--port", type=port, help="port to listen on (default 8080)")
    asked.add_argument(
        "--name",
        action="append",
        metavar="studio.example",
        help="name by which browsers open it; may be said again; any other name is refused",
    )
    asked.add_argument(
        "--plain-http",
        action="store_true",
        help="serve other addresses than loopback without encryption; pages say so",
    )
    given = asked.parse_args(arguments)
    more = {
        "COOP_HOST": given.host,
        "COOP_PORT": None if given.port is None else str(given.port),
        "COOP_HOST_NAMES": ",".join(given.name) if given.name else None,
        "COOP_PLAIN_HTTP": "yes" if given.plain_http else None,
    }
    _refuse_nameless(given.host, more["COOP_HOST_NAMES"])
    settings = settings_for(given.folder, **{k: v for k, v in more.items() if v is not None})
    check(settings)
    return serve(settings, lambda: say(f"Serving {origin_of(settings)} (Ctrl-C stops it)"))


def _refuse_nameless(host: str | None, names: str | None) -> None:
    named = names or os.environ.get("COOP_HOST_NAMES", "").strip()
    if host is not None and host.strip("[]") in ANY_ADDRESS and not named:
        raise Stopped(
            f"{host}: say by which name browsers reach this server, as --name studio.example"
        )


def check(settings: Settings) -> None:
    """Stop before the start where the server could not, or should not, answer."""
    from coop.cli.ledgers import opened
    from coop.settings import read_key

    if settings.host not in LOOPBACK_NAMES and not settings.plain_http:
        raise Stopped(
            f"{settings.host} is not a loopback address: anybody near could read passwords; "
            "say --plain-http if that is meant"
        )
    with opened(settings):
        read_key(settings)
    refuse_taken(settings.host, settings.port)


def refuse_taken(host: str, number: int) -> None:
    """Stop where something listens already."""
    if not is_free(host, number):
        raise Stopped(
            f"port {number} of {host} is taken; stop what listens there, or choose another "
            "with --port"
        )


def is_free(host: str, port: int) -> bool:
    """
    Say whether a server could listen there.

    Raises:
        Stopped: The address is none of this machine's.
    """
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        with closing(socket.socket(family, kind, protocol)) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except OSError as why:
        if why.errno == errno.EADDRINUSE:
            return False
        raise Stopped(f"{host}: cannot listen there: {why.strerror}") from why
    return True


def serve(settings: Settings, answers: Callable[[], None]) -> int:
    """
    Serve until SIGINT, SIGTERM or SIGHUP; requests that are under way are answered first.

    Args:
        settings: Reach the worker, which is another process, by the environment.
        answers: Called once, when the server has answered for the first time.
    """
    os.environ.update(
        COOP_DATA=str(settings.data),
        COOP_DATABASE=settings.database,
        COOP_HOST=settings.host,
        COOP_PORT=str(settings.port),
        COOP_HOST_NAMES=",".join(sorted(settings.host_names)),
        COOP_PLAIN_HTTP="yes" if settings.plain_http else "no",
        COOP_DEMO="yes" if settings.demo else "no",
    )
    try:
        _server(settings, answers).serve()
    except SystemExit as end:
        if end.code != FAILED:
            raise
        return FAILED  # the worker has ended by itself, and has said why
    return FINE


def _server(settings: Settings, answers: Callable[[], None]) -> Any:
    from granian import Granian
    from granian.constants import Interfaces
    from granian.log import LogLevels

    class Server(Granian):  # type: ignore[misc,valid-type]  # it has two forms
        def startup(self, *loaders: Any) -> None:
            super().startup(*loaders)
            signal.signal(signal.SIGHUP, self.signal_handler_interrupt)  # its terminal closed
            Thread(target=_watch, args=(settings, answers), daemon=True).start()

    return Server(
        "coop.cli.serve:application",
        address=settings.host,
        port=settings.port,
        interface=Interfaces.WSGI,
        factory=True,
        workers=1,
        workers_kill_timeout=STOPS_WITHIN_S,
        blocking_threads=THREADS,
        websockets=False,
        log_access=False,
        log_level=LogLevels.error,
    )


def _watch(settings: Settings, answers: Callable[[], None]) -> None:
    """Ask the server until it answers; then say so."""
    host = "localhost" if settings.host in ANY_ADDRESS else settings.host
    until = time.monotonic() + ANSWERS_WITHIN_S
    while time.monotonic() < until:
        asking = HTTPConnection(host, settings.port, timeout=ANSWERS_WITHIN_S)
        try:
            asking.request("GET", "/sign-in")
            asking.getresponse().read()
        except (OSError, HTTPException):
            time.sleep(LOOKS_EVERY_S)
        else:
            answers()
            return
        finally:
            asking.close()


def application() -> WSGIApplication:
    """Make the application as the environment says; the server's worker starts here."""
    from coop.app import from_environment
    from coop.settings import from_environment as read_settings
    from coop.web import faults

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_DFL)  # until the worker listens, a signal ends it
    app = from_environment()
    faults.install(app, sys.stderr, read_settings(os.environ).log_level)
    return app
