"""`coop serve FOLDER`: the web server. One process, several threads."""

import errno
import os
import signal
import socket
import ssl
import sys
import time
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Sequence
from contextlib import closing
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from threading import Thread
from typing import Any
from wsgiref.types import WSGIApplication

from coop.cli.common import (
    FAILED,
    FINE,
    Stopped,
    add_folder,
    complain,
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
    "Without --tls nothing is encrypted, and anybody near could read passwords; so other\n"
    "addresses than loopback need --tls, a server with TLS in front, or --plain-http if that\n"
    "is meant. Phones work offline over TLS only. coop doctor tells how it stands."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Serve until stopped."""
    asked = parser(
        command, "Serve the ledger of a folder until stopped (Ctrl-C).", epilog=EPILOG
    )
    ask_where(asked)
    settings = settings_of(asked.parse_args(arguments))
    check(settings)
    return serve(settings, lambda: say(f"Serving {origin_of(settings)} (Ctrl-C stops it)"))


def ask_where(asked: ArgumentParser) -> None:
    """Ask for the folder, and where and how the server listens."""
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
        "--tls",
        nargs=2,
        metavar=("CERT", "KEY"),
        help="speak TLS with this certificate (PEM, its chain after it) and its key",
    )
    asked.add_argument(
        "--plain-http",
        action="store_true",
        help="serve other addresses than loopback without encryption; pages say so",
    )


def settings_of(given: Namespace) -> Settings:
    """Return the environment's settings, with what was said on the command line over them."""
    cert, key = given.tls or (None, None)
    more = {
        "COOP_HOST": given.host,
        "COOP_PORT": None if given.port is None else str(given.port),
        "COOP_HOST_NAMES": ",".join(given.name) if given.name else None,
        "COOP_TLS_CERT": cert,
        "COOP_TLS_KEY": key,
        "COOP_PLAIN_HTTP": "yes" if given.plain_http else None,
    }
    _refuse_nameless(given.host, more["COOP_HOST_NAMES"])
    return settings_for(given.folder, **{k: v for k, v in more.items() if v is not None})


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
    from coop.store.backups import look_for_place

    refuse_bare(settings)
    if settings.is_tls:
        _check_certificate(settings)
    with opened(settings) as store, store.writing() as desk:
        read_key(settings)
        missed = look_for_place(desk.connection)
    if missed is not None:
        complain(
            f"{missed.file} is not as it was: nothing counts as kept in two places until it is "
            "back and the server starts again, or until the next coop backup"
        )
    refuse_taken(settings.host, settings.port)


def refuse_bare(settings: Settings) -> None:
    """Stop where passwords would be read along the way, unless that was said to be meant."""
    if not (settings.host in LOOPBACK_NAMES or settings.plain_http or settings.is_tls):
        raise Stopped(
            f"{settings.host} is not a loopback address: anybody near could read passwords; "
            "name a certificate with --tls, or say --plain-http if that is meant"
        )


def _check_certificate(settings: Settings) -> None:
    from coop.app import clock
    from coop.cli.certificates import ENDS_SOON_DAYS, refuse_unfit, served_names, shown_by

    shown, now = shown_by(settings), clock()
    refuse_unfit(shown, served_names(settings), now)
    days = shown.days_left(now)
    if days <= ENDS_SOON_DAYS:
        complain(
            f"{shown.file} ends on {shown.ends_at:%Y-%m-%d}, days left: {days}; "
            "renew it, then start again"
        )


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
        COOP_TLS_CERT=str(settings.tls_cert or ""),
        COOP_TLS_KEY=str(settings.tls_key or ""),
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
    from granian.constants import Interfaces, SSLProtocols
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
        ssl_cert=settings.tls_cert,
        ssl_key=settings.tls_key,
        ssl_protocol_min=SSLProtocols.tls12,  # tablets of a studio are old
        log_access=False,
        log_level=LogLevels.error,
    )


def _watch(settings: Settings, answers: Callable[[], None]) -> None:
    """Ask the server until it answers; then say so."""
    host = "localhost" if settings.host in ANY_ADDRESS else settings.host
    until = time.monotonic() + ANSWERS_WITHIN_S
    while time.monotonic() < until:
        asking = _connection(settings, host)
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


def _connection(settings: Settings, host: str) -> HTTPConnection:
    """Return one to our own server, whose certificate is for names, not for this address."""
    if not settings.is_tls:
        return HTTPConnection(host, settings.port, timeout=ANSWERS_WITHIN_S)
    unasked = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    unasked.check_hostname = False
    unasked.verify_mode = ssl.CERT_NONE
    return HTTPSConnection(host, settings.port, timeout=ANSWERS_WITHIN_S, context=unasked)


def application() -> WSGIApplication:
    """Make the application as the environment says; the server's worker starts here."""
    from coop.app import from_environment
    from coop.settings import from_environment as read_settings
    from coop.web import faults, security_log

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_DFL)  # until the worker listens, a signal ends it
    app, settings = from_environment(), read_settings(os.environ)
    faults.install(app, sys.stderr, settings.log_level)
    if not settings.demo:  # its passwords stand on the screen
        security_log.write_to(sys.stderr, settings.log_level)
    return app
