"""`coop doctor FOLDER`: how a ledger stands, one line each; nothing is changed."""

import platform
import shlex
import shutil
import sqlite3
import stat
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path

from coop import __version__
from coop.app import clock
from coop.cli.cert import CA_CERT, CA_KEY, TLS_FOLDER
from coop.cli.certificates import (
    ENDS_SOON_DAYS,
    Shown,
    read_certificates,
    refuse_unfit,
    served_names,
    shown_by,
)
from coop.cli.common import FAILED, FINE, Stopped, as_json, origin_of, parser, say
from coop.cli.ledgers import refuse_unready, told
from coop.cli.serve import ask_where, is_free, refuse_bare, settings_of
from coop.settings import (
    LOOPBACK_NAMES,
    Settings,
    SettingsError,
    read_key,
    read_smtp_password,
)
from coop.store import mail, migrate
from coop.store.backups import Copy, last_copy, second_place, vector
from coop.store.engines import Engines, checked_address, open_engines, sqlite_file

OK, LOOK, WRONG = "ok", "look", "wrong"
BACKUP_OLD_AFTER = timedelta(days=7)
FREE_BYTES_WRONG = 100 * 10**6
FREE_BYTES_LOOK = 10**9
COPIES_THAT_FIT = 3  # an upgrade and a restore each copy the database beside itself
OTHERS = 0o077
EVERYBODY = 0o007
EPILOG = (
    "Say the same about where it listens as to coop serve. Ends with 0 when nothing is wrong,\n"
    "1 otherwise; what is only to be looked at is not wrong. The server may run."
)


@dataclass(frozen=True, slots=True)
class Line:
    """
    What was found about one thing.

    Attributes:
        word: ok, look (worth a look) or wrong.
        do: What would put it right; empty where nothing is to be done.
    """

    word: str
    about: str
    told: str
    do: str = ""


def run(command: str, arguments: Sequence[str]) -> int:
    """Look at everything; print one line each."""
    asked = parser(
        command, "Say how a ledger stands and whether phones work offline.", epilog=EPILOG
    )
    ask_where(asked)
    asked.add_argument("--json", action="store_true", help="one JSON object")
    given = asked.parse_args(arguments)
    lines = looked(settings_of(given), clock())
    is_fine = all(one.word != WRONG for one in lines)
    if given.json:
        say(as_json({"fine": is_fine, "lines": [asdict(one) for one in lines]}))
    else:
        for one in lines:
            say(f"{one.word:<5}  {one.about}: {one.told}{'; ' if one.do else ''}{one.do}")
    return FINE if is_fine else FAILED


def looked(settings: Settings, now: datetime) -> list[Line]:
    """Return what was found, the ledger first, then how browsers reach it, then the machine."""
    return [
        *_ledger(settings, now),
        *_files(settings),
        _address(settings),
        *_reached(settings, now),
        _disk(settings),
        Line(OK, "versions", _versions()),
    ]


def _tried(about: str, look: Callable[[], Line]) -> Line:
    """Turn what would stop another command into a line."""
    try:
        return look()
    except (Stopped, SettingsError) as why:
        return Line(WRONG, about, str(why))


# --- the ledger ----------------------------------------------------------------------


def _ledger(settings: Settings, now: datetime) -> Iterator[Line]:
    database = _tried("database", lambda: _database(settings))
    yield database
    if database.word == WRONG:
        return
    engines = open_engines(settings.database)
    try:
        yield _tried("guards", lambda: _guards(engines))
        yield _tried("ledger", lambda: _opened(engines, settings))
        yield _tried("backup", lambda: _backup(engines, settings, now))
        yield _tried("mail", lambda: _mail(engines, settings))
    finally:
        engines.close()


def _database(settings: Settings) -> Line:
    refuse_unready(settings)
    kind = "PostgreSQL" if _database_file(settings) is None else "SQLite"
    step = migrate.newest(settings.database)
    return Line(OK, "database", f"{kind}, at step {step}, the newest")


def _database_file(settings: Settings) -> Path | None:
    return sqlite_file(checked_address(settings.database))


def _guards(engines: Engines) -> Line:
    with told(), engines.reading() as connection:
        missing = migrate.guards_present(connection)
    if missing:
        return Line(
            WRONG,
            "guards",
            f"what keeps entries from being changed is gone: {', '.join(missing)}",
            "bring back a backup, and find out who changed the database",
        )
    return Line(OK, "guards", "nothing that was written down can be changed")


def _opened(engines: Engines, settings: Settings) -> Line:
    with told(), engines.reading() as connection:
        sealed = sum(vector(connection).values())
    if not sealed:
        do = f"coop init {_folder(settings)} gives the address for the first coordinator"
        return Line(LOOK, "ledger", "nobody has opened it yet", do)
    return Line(OK, "ledger", f"open, {sealed} entries")


def _backup(engines: Engines, settings: Settings, now: datetime) -> Line:
    with told(), engines.reading() as connection:
        here, last, place = vector(connection), last_copy(connection), second_place(connection)
    do = f"coop backup {_folder(settings)} FOLDER, a folder on another disk"
    if _database_file(settings) is None:
        do = "copy it with pg_dump, to another machine"
    if last is None:
        return Line(LOOK, "backup", "none was made yet", do)
    since = sum(seq - min(seq, last.vector.get(node, 0)) for node, seq in here.items())
    old = now - last.at > BACKUP_OLD_AFTER and since
    made = f"made {last.at:%Y-%m-%d %H:%M} UTC; entries since: {since}"
    without = _without_place(place)
    if old or without:
        return Line(LOOK, "backup", made + without, do)
    return Line(OK, "backup", made)


def _without_place(place: Copy | None) -> str:
    """Say why nothing is kept in two places; empty where something is."""
    if place is None:
        return "; on the disk of the ledger itself, so nothing is kept in two places"
    if place.gone or not place.is_there:
        return f"; {place.file} is not as it was, so nothing is kept in two places"
    return ""


def _mail(engines: Engines, settings: Settings) -> Line:
    """Say whether mails are sent, and whether any could not be; nothing is tried."""
    with told(), engines.reading() as connection:
        found = mail.standing(connection)
    if settings.smtp is None:
        if not found.wanting_count:
            return Line(OK, "mail", "not set up, and nobody asked for any")
        said = f"not set up; members who want mails: {found.wanting_count}"
        return Line(LOOK, "mail", said, "COOP_SMTP_HOST and the others; see README, Mails")
    read_smtp_password(settings.smtp)
    by = f"by {settings.smtp.host}, port {settings.smtp.port}, {settings.smtp.security}"
    said = f"{by}; members who want mails: {found.wanting_count}"
    if found.waiting_count or found.given_up_count:
        said += f"; waiting: {found.waiting_count}, given up lately: {found.given_up_count}"
        return Line(LOOK, "mail", said, f"coop digest {_folder(settings)} says why")
    return Line(OK, "mail", said)


def _folder(settings: Settings) -> str:
    return shlex.quote(str(settings.data))


# --- files ---------------------------------------------------------------------------


def _files(settings: Settings) -> Iterator[Line]:
    yield _tried("key", lambda: _key(settings))
    ca_key = settings.data / TLS_FOLDER / CA_KEY
    private = [(_database_file_or_none(settings), OTHERS), (ca_key, OTHERS)]
    private.append((settings.tls_key, EVERYBODY))  # a group of its own is a usual way
    for file, too_many in private:
        if file and file.exists() and stat.S_IMODE(file.stat().st_mode) & too_many:
            yield Line(WRONG, "files", f"{file}: others may read it", f"chmod 600 {file}")


def _database_file_or_none(settings: Settings) -> Path | None:
    try:
        with told():
            return _database_file(settings)
    except Stopped:
        return None  # the line about the database has said why


def _key(settings: Settings) -> Line:
    """Look at the key that signs forms; never make one."""
    if not settings.key_file.exists():
        return Line(
            LOOK,
            "key",
            f"{settings.key_file} is not there; the next start makes a new one, and pages that "
            "are open must be loaded again",
        )
    read_key(settings)
    return Line(OK, "key", "its owner's only")


# --- how browsers reach it -----------------------------------------------------------


def _address(settings: Settings) -> Line:
    def look() -> Line:
        is_there = not is_free(settings.host, settings.port)
        now = "something listens there now" if is_there else "nothing listens there now"
        return Line(OK, "address", f"{settings.host}, port {settings.port}; {now}")

    return _tried("address", look)


def _reached(settings: Settings, now: datetime) -> Iterator[Line]:
    """Say how what goes over the air is kept secret, and what follows for phones."""
    encryption = _tried("encryption", lambda: _encryption(settings, now))
    yield encryption
    if encryption.word == WRONG:
        yield Line(LOOK, "offline", "does not work before that is put right")
    else:
        yield _tried("offline", lambda: _offline(settings))


def _offline(settings: Settings) -> Line:
    """Say whether phones work offline, for a server that would start."""
    if settings.plain_http:
        told = "does not work: without encryption browsers keep no page for later"
        do = "a public name and a certificate, then coop serve --tls; see README, Deploy it"
        return Line(LOOK, "offline", told, do)
    if settings.is_tls and settings.host not in LOOPBACK_NAMES:
        return _offline_over_tls(settings)
    if settings.proxy_count:
        told = f"works at https://{min(settings.host_names)} when the proxy speaks TLS there"
        return Line(OK, "offline", f"{told} and passes the original Host on")
    told = f"works on this machine at {origin_of(settings)}; phones cannot reach it there"
    do = "another --host with --tls, or a proxy with TLS in front; see README, Deploy it"
    return Line(LOOK, "offline", told, do)


def _encryption(settings: Settings, now: datetime) -> Line:
    refuse_bare(settings)
    if settings.is_tls:
        return _certificate(settings, now)
    if settings.plain_http:
        told = "none (plain http): anybody near can read passwords"
        return Line(LOOK, "encryption", told, "coop serve --tls CERT KEY")
    if not settings.proxy_count:
        return Line(OK, "encryption", "none, and none needed: only this machine reaches it")
    if not settings.host_names:
        return Line(
            WRONG,
            "encryption",
            "behind a proxy, but the name that browsers open is not known and is refused",
            "COOP_HOST_NAMES or --name, as --name studio.example",
        )
    return Line(
        OK, "encryption", f"left to the proxy in front ({settings.proxy_count} trusted)"
    )


def _certificate(settings: Settings, now: datetime) -> Line:
    shown = shown_by(settings)
    refuse_unfit(shown, served_names(settings), now)
    days = shown.days_left(now)
    told = f"TLS, a certificate for {', '.join(shown.names)}"
    told += f" until {shown.ends_at:%Y-%m-%d}, days left: {days}"
    if days <= ENDS_SOON_DAYS:
        return Line(LOOK, "encryption", told, "renew it, then start the server again")
    return Line(OK, "encryption", told)


def _offline_over_tls(settings: Settings) -> Line:
    origin = origin_of(settings)
    if _is_of_own_ca(shown_by(settings), settings.data / TLS_FOLDER / CA_CERT):
        return Line(
            LOOK,
            "offline",
            f"works at {origin} on the studio's tablets that took in {CA_CERT}; on members' "
            "phones it does not",
            "for those a public name with an ordinary certificate; see README, Deploy it",
        )
    return Line(OK, "offline", f"works at {origin} where the browser trusts the certificate")


def _is_of_own_ca(shown: Shown, ca: Path) -> bool:
    return ca.exists() and read_certificates(ca)[0].subject == shown.issuer


# --- the machine ---------------------------------------------------------------------


def _disk(settings: Settings) -> Line:
    if not settings.data.is_dir():
        return Line(WRONG, "disk", f"{settings.data} is no folder")
    free = shutil.disk_usage(settings.data).free
    file = _database_file_or_none(settings)
    used = file.stat().st_size if file and file.exists() else 0
    told = f"{free // 10**6} MB free, the database takes {used / 10**6:.1f} MB"
    if free < FREE_BYTES_WRONG:
        return Line(WRONG, "disk", told, "make room, or nothing can be written down any more")
    if free < max(FREE_BYTES_LOOK, COPIES_THAT_FIT * used):
        return Line(LOOK, "disk", told, "make room for backups and upgrades")
    return Line(OK, "disk", told)


def _versions() -> str:
    python, sqlite = platform.python_version(), sqlite3.sqlite_version
    return f"coop {__version__}, Python {python}, SQLite {sqlite}"
