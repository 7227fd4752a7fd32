"""The environment, read once into one frozen object."""

import os
import stat
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from secrets import token_hex
from urllib.parse import urlsplit

KEY_BYTES = 32
KEY_MODE = 0o600
FOLDER_MODE = 0o700
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
ANY_ADDRESS = frozenset({"0.0.0.0", "::"})  # noqa: S104 - recognised, not bound
LOG_LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR")
PROXIES_MAX = 4
SMTP_PORTS = {"starttls": "587", "tls": "465", "none": "25"}  # RFC 6409, RFC 8314, RFC 5321
PASSWORD_BYTES_MAX = 1_000


class SettingsError(ValueError):
    """A setting that cannot be used; the text says which, what it is and what would do."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One environment variable: its name, what stands without it, and what it means."""

    name: str
    default: str
    meaning: str


SETTINGS = (
    Setting("COOP_DATA", "data", "folder of the database, the key and the backups"),
    Setting(
        "COOP_DATABASE",
        "",
        "database address, postgresql://... ; empty: SQLite in the data folder",
    ),
    Setting("COOP_HOST", "127.0.0.1", "address to listen on"),
    Setting("COOP_PORT", "8080", "port to listen on, 1 to 65535"),
    Setting(
        "COOP_HOST_NAMES",
        "",
        "names and addresses by which browsers open the studio's server, separated by commas; "
        "any other is refused",
    ),
    Setting("COOP_PROXIES", "0", "how many trusted proxies stand in front, 0 to 4"),
    Setting(
        "COOP_PLAIN_HTTP",
        "no",
        "yes: names other than the loopback ones are served without TLS, with a banner, "
        "without enrolment and offline use",
    ),
    Setting(
        "COOP_TLS_CERT",
        "",
        "file of the certificate, PEM, its chain after it; with COOP_TLS_KEY the server speaks "
        "TLS itself",
    ),
    Setting("COOP_TLS_KEY", "", "file of the certificate's key, PEM, without a password"),
    Setting("COOP_KEY", "", "file of the key that signs forms; empty: `key` in COOP_DATA"),
    Setting(
        "COOP_ADDRESS",
        "",
        "address by which members open the ledger, for links in mails: "
        "https://studio.example; empty: mails hold none",
    ),
    Setting("COOP_SMTP_HOST", "", "name of the server that sends mails; empty: none are sent"),
    Setting(
        "COOP_SMTP_PORT", "", "its port; empty: 587 for starttls, 465 for tls, 25 for none"
    ),
    Setting(
        "COOP_SMTP_SECURITY",
        "starttls",
        "starttls, tls or none; none is for a server on this machine",
    ),
    Setting("COOP_SMTP_USER", "", "name to sign in there; empty: without signing in"),
    Setting("COOP_SMTP_PASSWORD_FILE", "", "file of the password for that, its owner's only"),
    Setting("COOP_SMTP_FROM", "", "mail address that mails come from"),
    Setting("COOP_DEMO", "no", "yes: a demo ledger; every page says so"),
    Setting("COOP_LOG_LEVEL", "INFO", "DEBUG, INFO, WARNING or ERROR"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Smtp:
    """
    The server that sends mails, and who signs in there; the password stays in its file.

    Attributes:
        security: starttls, tls or none.
        sender: The mail address that mails come from.
    """

    host: str
    port: int
    security: str
    user: str
    password_file: Path | None
    sender: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the operator chose; `host_names` are lower-case, without ports and brackets."""

    data: Path
    database: str
    host: str
    port: int
    host_names: frozenset[str]
    proxy_count: int
    plain_http: bool
    tls_cert: Path | None
    tls_key: Path | None
    key_file: Path
    address: str
    smtp: Smtp | None
    demo: bool
    log_level: str

    @property
    def is_tls(self) -> bool:
        """Whether the server speaks TLS itself."""
        return self.tls_cert is not None

    @property
    def allowed_names(self) -> frozenset[str]:
        """The names a request may ask for: loopback, configured, and the one listened on."""
        return LOOPBACK_NAMES | self.host_names | ({self.host.lower()} - ANY_ADDRESS)


def from_environment(env: Mapping[str, str]) -> Settings:
    """Read the settings; raises SettingsError for the first that cannot be used."""
    values = {one.name: env.get(one.name, "").strip() or one.default for one in SETTINGS}
    data = Path(values["COOP_DATA"]).expanduser().absolute()
    settings = Settings(
        data=data,
        database=values["COOP_DATABASE"] or f"sqlite:///{data / 'coop.db'}",
        host=values["COOP_HOST"].strip("[]"),
        port=_whole("COOP_PORT", values["COOP_PORT"], least=1, most=65_535),
        host_names=_names(values["COOP_HOST_NAMES"]),
        proxy_count=_whole("COOP_PROXIES", values["COOP_PROXIES"], least=0, most=PROXIES_MAX),
        plain_http=_yes("COOP_PLAIN_HTTP", values["COOP_PLAIN_HTTP"]),
        tls_cert=_file(values["COOP_TLS_CERT"]),
        tls_key=_file(values["COOP_TLS_KEY"]),
        key_file=_file(values["COOP_KEY"]) or data / "key",
        address=_address(values["COOP_ADDRESS"]),
        smtp=_smtp(values),
        demo=_yes("COOP_DEMO", values["COOP_DEMO"]),
        log_level=_one_of("COOP_LOG_LEVEL", values["COOP_LOG_LEVEL"].upper(), LOG_LEVELS),
    )
    if settings.host in ANY_ADDRESS and not settings.host_names:
        raise SettingsError(
            f"COOP_HOST_NAMES: must name how browsers reach this server "
            f"when COOP_HOST is {settings.host}, for example studio.example"
        )
    _check_tls(settings)
    return settings


def _check_tls(settings: Settings) -> None:
    """Refuse half a pair of files, and encryption that the operator also said there is not."""
    if (settings.tls_cert is None) != (settings.tls_key is None):
        missing = "COOP_TLS_CERT" if settings.tls_cert is None else "COOP_TLS_KEY"
        raise SettingsError(f"{missing}: is empty; name the certificate's file and its key's")
    if settings.is_tls and settings.plain_http:
        raise SettingsError(
            "COOP_PLAIN_HTTP: is yes although there is a certificate; say only one of the two"
        )


def _file(text: str) -> Path | None:
    return Path(text).expanduser().absolute() if text else None


def _whole(name: str, text: str, *, least: int, most: int) -> int:
    if text.isascii() and text.isdigit() and least <= int(text) <= most:
        return int(text)
    raise SettingsError(f"{name}: {text!r} must be a whole number from {least} to {most}")


def _yes(name: str, text: str) -> bool:
    return _one_of(name, text.lower(), ("yes", "no")) == "yes"


def _one_of(name: str, text: str, allowed: tuple[str, ...]) -> str:
    if text in allowed:
        return text
    raise SettingsError(f"{name}: {text!r} must be one of {', '.join(allowed)}")


def _names(text: str) -> frozenset[str]:
    names = frozenset(part.strip().lower().strip("[]") for part in text.split(",")) - {""}
    for name in names:
        if any(character in name for character in "/@* ") or name.count(":") == 1:
            raise SettingsError(
                f"COOP_HOST_NAMES: {name!r} must be a name or address alone, "
                "without scheme, port or star"
            )
    return names


def _address(text: str) -> str:
    """Return an address of a server without the slash at its end."""
    parts = urlsplit(text)
    whole = parts.scheme in ("http", "https") and parts.hostname
    more = parts.path.strip("/") or parts.query or parts.fragment or parts.username
    if text and (not whole or more):
        raise SettingsError(
            f"COOP_ADDRESS: {text!r} must be the address of the ledger's first page, "
            "for example https://studio.example"
        )
    return text.rstrip("/")


def _smtp(values: Mapping[str, str]) -> Smtp | None:
    if not values["COOP_SMTP_HOST"]:
        return None
    security = _one_of(
        "COOP_SMTP_SECURITY", values["COOP_SMTP_SECURITY"].lower(), tuple(SMTP_PORTS)
    )
    port = values["COOP_SMTP_PORT"] or SMTP_PORTS[security]
    smtp = Smtp(
        host=values["COOP_SMTP_HOST"].lower(),
        port=_whole("COOP_SMTP_PORT", port, least=1, most=65_535),
        security=security,
        user=values["COOP_SMTP_USER"],
        password_file=_file(values["COOP_SMTP_PASSWORD_FILE"]),
        sender=values["COOP_SMTP_FROM"],
    )
    _check_smtp(smtp)
    return smtp


def _check_smtp(smtp: Smtp) -> None:
    """Refuse mails from nobody, half a sign-in, and a password that anybody could read."""
    name, _, host = smtp.sender.rpartition("@")
    if not name or not host or " " in smtp.sender:
        raise SettingsError(
            f"COOP_SMTP_FROM: {smtp.sender!r} must be the mail address that mails come from, "
            "for example ledger@studio.example"
        )
    if bool(smtp.user) != (smtp.password_file is not None):
        missing = "COOP_SMTP_PASSWORD_FILE" if smtp.user else "COOP_SMTP_USER"
        raise SettingsError(f"{missing}: is empty; name both the user and the password's file")
    if smtp.user and smtp.security == "none" and smtp.host not in LOOPBACK_NAMES:
        raise SettingsError(
            "COOP_SMTP_SECURITY: must be starttls or tls where a password is sent to another "
            "machine"
        )


def read_smtp_password(smtp: Smtp) -> str:
    """
    Return the password to sign in with; empty where nobody signs in.

    Raises SettingsError when its file is not there, empty, too long, or others may read it.
    """
    file = smtp.password_file
    if file is None:
        return ""
    if not file.is_file():
        raise SettingsError(f"COOP_SMTP_PASSWORD_FILE: {file} is not there")
    _refuse_readable(file, "the password")
    if file.stat().st_size > PASSWORD_BYTES_MAX:
        raise SettingsError(f"COOP_SMTP_PASSWORD_FILE: {file} is no password, it is too long")
    password = file.read_text(encoding="utf-8").strip()
    if not password:
        raise SettingsError(f"COOP_SMTP_PASSWORD_FILE: {file} is empty")
    return password


def _refuse_readable(file: Path, what: str) -> None:
    if stat.S_IMODE(file.stat().st_mode) & 0o077:
        raise SettingsError(f"{file}: others may read {what}; run chmod 600 on it")


def make_data_folder(settings: Settings) -> None:
    """Make the data folder, its owner's only."""
    settings.data.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)


def read_key(settings: Settings) -> str:
    """
    Return the key that signs forms, making its file when there is none.

    Raises SettingsError when others may read the file or it holds too little.
    """
    file = settings.key_file
    if not file.exists():
        _make_key(file)
    _refuse_readable(file, "the key")
    key = file.read_text(encoding="ascii").strip()
    if len(key) < 2 * KEY_BYTES:
        raise SettingsError(f"{file}: holds no whole key; remove it and a new one is made")
    return key


def _make_key(file: Path) -> None:
    """Write it beside and link it in: of two starting processes both read the first's key."""
    draft = file.with_name(f"{file.name}.{token_hex(8)}")
    descriptor = os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, KEY_MODE)
    with os.fdopen(descriptor, "w", encoding="ascii") as stream:
        stream.write(token_hex(KEY_BYTES) + "\n")
        stream.flush()
        os.fsync(stream.fileno())
    with suppress(FileExistsError):
        os.link(draft, file)
    draft.unlink()
