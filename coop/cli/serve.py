"""`coop serve FOLDER`: the web server. One process, several threads."""

import os
from collections.abc import Sequence

from coop.cli.common import FINE, SettingsError, add_folder, complain, parser, settings_for
from coop.settings import LOOPBACK_NAMES, Settings
from coop.store import migrate

THREADS = 16  # a dozen half-sent requests of phones that lost the signal must not stop it


def run(command: str, arguments: Sequence[str]) -> int:
    """Serve until stopped."""
    asked = parser(command, "Serve the ledger of a folder until stopped (Ctrl-C).")
    add_folder(asked)
    asked.add_argument("--host", help="address to listen on (default 127.0.0.1)")
    asked.add_argument("--port", help="port to listen on (default 8080)")
    asked.add_argument(
        "--plain-http",
        action="store_true",
        help="serve other addresses than loopback without encryption; pages say so",
    )
    given = asked.parse_args(arguments)
    more = {"COOP_HOST": given.host, "COOP_PORT": given.port}
    if given.plain_http:
        more["COOP_PLAIN_HTTP"] = "yes"
    try:
        settings = settings_for(given.folder, **{k: v for k, v in more.items() if v})
    except SettingsError as why:
        return complain(why)
    if settings.host not in LOOPBACK_NAMES and not settings.plain_http:
        return complain(
            f"{settings.host} is not a loopback address: anybody near could read passwords. "
            "Say --plain-http if that is meant"
        )
    if migrate.needs_upgrade(settings.database):
        return complain(f"{settings.data}: run coop upgrade first, or coop init for a new one")
    serve(settings)
    return FINE


def serve(settings: Settings) -> None:
    """Start the server with these settings; returns when it is stopped."""
    from granian import Granian
    from granian.constants import Interfaces
    from granian.log import LogLevels

    os.environ.update(
        COOP_DATA=str(settings.data),
        COOP_DATABASE=settings.database,
        COOP_HOST=settings.host,
        COOP_PORT=str(settings.port),
        COOP_PLAIN_HTTP="yes" if settings.plain_http else "no",
        COOP_DEMO="yes" if settings.demo else "no",
    )
    print(f"Serving http://{settings.host}:{settings.port} (Ctrl-C stops it)", flush=True)
    Granian(
        "coop.app:from_environment",
        address=settings.host,
        port=settings.port,
        interface=Interfaces.WSGI,
        factory=True,
        workers=1,
        blocking_threads=THREADS,
        websockets=False,
        log_access=False,
        log_level=LogLevels.error,
    ).serve()
