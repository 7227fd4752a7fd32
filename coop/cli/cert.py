"""`coop cert FOLDER NAME...`: a certificate for the studio's own tablets."""

import ipaddress
import os
import re
import shlex
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from secrets import token_hex
from typing import NamedTuple

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from coop.app import clock
from coop.cli.certificates import names_of, read_bytes, read_certificates
from coop.cli.common import FINE, Stopped, parser, say, settings_for
from coop.cli.ledgers import standing_of
from coop.settings import FOLDER_MODE, KEY_MODE, Settings
from coop.store.standing import Standing

TLS_FOLDER = "tls"
CA_CERT, CA_KEY = "ca.crt", "ca.key"
CERT, KEY = "studio.crt", "studio.key"
CERT_MODE = 0o644
# CA/Browser Forum, baseline requirements 6.3.2, from memory: 397 days, a day of 86,400 s.
LIFE = timedelta(days=397)
CA_LIFE = timedelta(days=3650)
EARLIER = timedelta(days=1)  # for a tablet whose clock is behind
INSTANT = timedelta(seconds=1)  # RFC 5280 4.1.2.5: the last second is part of the life
NAMES_MAX = 20
NAME_CHARS_MAX = 253  # RFC 1035 2.3.4, as text
COMMON_NAME_CHARS_MAX = 64  # RFC 5280, appendix A.1, ub-common-name
LABEL = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)")  # RFC 1123 2.1
EVERY_ADDRESS = ("0.0.0.0/0", "::/0")
NO_NAME = "invalid"  # RFC 2606 2: never anybody's
SUBJECT = "Studio ledger"
EPILOG = (
    "For the studio's own tablets only. Members are never asked to take it into their own\n"
    "phones: a public name with an ordinary certificate comes first, see README, Deploy it.\n"
    "Run again, with or without names, it makes a new certificate under the same CA, and\n"
    "tablets need nothing new."
)
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class Authority(NamedTuple):
    """The studio's own CA; `is_new` when it was made just now."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey
    is_new: bool


def run(command: str, arguments: Sequence[str]) -> int:
    """Make the certificate, with its CA when there is none."""
    asked = parser(
        command, "Make a certificate for the studio's own tablets, or renew it.", epilog=EPILOG
    )
    asked.add_argument("folder", type=Path, help="folder of the ledger")
    asked.add_argument(
        "names",
        nargs="*",
        metavar="name",
        help="name or address by which tablets open the ledger (default: those of the last)",
    )
    given = asked.parse_args(arguments)
    settings = settings_for(given.folder)
    if standing_of(settings) is Standing.EMPTY:
        raise Stopped(f"{settings.data}: holds no ledger; coop init makes one")
    folder = settings.data / TLS_FOLDER
    authority, leaf = certify(folder, given.names, clock())
    _tell(settings, authority, leaf)
    return FINE


def certify(
    folder: Path, typed: Sequence[str], now: datetime
) -> tuple[Authority, x509.Certificate]:
    """
    Write a certificate for these names; without names for those of the one before.

    The key stays when there is one, so that a crash leaves no certificate without its key.
    """
    names = checked_names(typed or _names_before(folder))
    folder.mkdir(mode=FOLDER_MODE, exist_ok=True)
    authority = _authority(folder, names, now)
    key = _read_key(folder / KEY) if (folder / KEY).exists() else _new_key()
    leaf = _leaf(authority, key, names, now)
    _refuse_strangers(authority, leaf, names, folder, now)
    _write_key(folder / KEY, key)
    _write(folder / CERT, leaf.public_bytes(Encoding.PEM), CERT_MODE)
    return authority, leaf


def _names_before(folder: Path) -> Sequence[str]:
    if not (folder / CERT).exists():
        raise Stopped(
            "say by which names tablets open the ledger, as: coop cert FOLDER studio.example"
        )
    return names_of(read_certificates(folder / CERT)[0])


def checked_names(typed: Sequence[str]) -> list[x509.GeneralName]:
    """Return names and addresses as certificates hold them, each once, in their order."""
    if len(typed) > NAMES_MAX:
        raise Stopped(f"{len(typed)} names are too many; up to {NAMES_MAX} go in")
    return list(dict.fromkeys(_checked_name(one) for one in typed))


def _checked_name(typed: str) -> x509.GeneralName:
    name = typed.strip().strip("[]").lower().removesuffix(".")
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        pass  # then it is a name
    labels = name.split(".")
    if len(name) > NAME_CHARS_MAX or not all(map(LABEL.fullmatch, labels)):
        raise Stopped(
            f"{typed!r} is neither a name nor an address; one alone would do, as "
            "studio.example or 192.0.2.7, without scheme, port or star, and xn--... "
            "for other letters"
        )
    # A CA for "example" could speak for every name under it (RFC 5280 4.2.1.10).
    if len(labels) == 1 and name != "localhost":
        raise Stopped(f"{typed!r} is a name without a dot; say it whole, as {name}.example")
    return x509.DNSName(name)


# --- the CA --------------------------------------------------------------------------


def _authority(folder: Path, names: Sequence[x509.GeneralName], now: datetime) -> Authority:
    """Read the CA of the folder; make it, for these names, when there is none."""
    if (folder / CA_CERT).exists():
        certificate = read_certificates(folder / CA_CERT)[0]
        if certificate.not_valid_after_utc <= now:
            raise Stopped(
                f"{folder / CA_CERT}: ended on {certificate.not_valid_after_utc:%Y-%m-%d}; "
                f"move {folder} away, and a new one is made for tablets to take in"
            )
        signs = _read_key(folder / CA_KEY)
        if signs.public_key() != certificate.public_key():
            raise Stopped(
                f"{folder / CA_KEY}: is not the key of {CA_CERT}; put the right one back"
            )
        return Authority(certificate, signs, is_new=False)
    key = _new_key()
    certificate = _ca(key, names, now)
    _write_key(folder / CA_KEY, key)
    _write(folder / CA_CERT, certificate.public_bytes(Encoding.PEM), CERT_MODE)
    return Authority(certificate, key, is_new=True)


def _ca(
    key: ec.EllipticCurvePrivateKey, names: Sequence[x509.GeneralName], now: datetime
) -> x509.Certificate:
    subject = _subject(f"{SUBJECT} CA for {names[0].value}"[:COMMON_NAME_CHARS_MAX])
    return (
        _begun(subject, subject, key, now - EARLIER, now + CA_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(_only(names), critical=True)
        .sign(key, hashes.SHA256())
    )


def _only(names: Sequence[x509.GeneralName]) -> x509.NameConstraints:
    """
    Let the CA speak for these alone (RFC 5280 4.2.1.10).

    A sort that no constraint mentions would be free, so the sort that is not among them is
    shut: names by permitting one that is nobody's, addresses by excluding all.
    """
    permitted: list[x509.GeneralName] = [
        x509.IPAddress(ipaddress.ip_network(one.value))
        if isinstance(one, x509.IPAddress)
        else one
        for one in names
    ]
    if not any(isinstance(one, x509.DNSName) for one in names):
        permitted.append(x509.DNSName(NO_NAME))
    excluded = None
    if not any(isinstance(one, x509.IPAddress) for one in names):
        excluded = [x509.IPAddress(ipaddress.ip_network(every)) for every in EVERY_ADDRESS]
    return x509.NameConstraints(permitted, excluded)


# --- the certificate -----------------------------------------------------------------


def _leaf(
    authority: Authority,
    key: ec.EllipticCurvePrivateKey,
    names: Sequence[x509.GeneralName],
    now: datetime,
) -> x509.Certificate:
    ca, starts_at = authority.certificate, now - EARLIER
    ends_at = min(starts_at + LIFE - INSTANT, ca.not_valid_after_utc)
    identifier = ca.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    issued_by = x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier)
    return (
        _begun(_subject(SUBJECT), ca.subject, key, starts_at, ends_at)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(issued_by, critical=False)
        .sign(authority.key, hashes.SHA256())
    )


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    starts_at: datetime,
    ends_at: datetime,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder(subject_name=subject, issuer_name=issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(starts_at)
        .not_valid_after(ends_at)
        .add_extension(
            x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False
        )
    )


def _subject(common_name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common_name)])


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _refuse_strangers(
    authority: Authority,
    leaf: x509.Certificate,
    names: Sequence[x509.GeneralName],
    folder: Path,
    now: datetime,
) -> None:
    """Look at the new certificate as a tablet will, before it takes the place of the last."""
    policy = PolicyBuilder().store(Store([authority.certificate])).time(now)
    for name in names:
        assert isinstance(name, x509.DNSName | x509.IPAddress), "no other sort is made here"
        try:
            policy.build_server_verifier(name).verify(leaf, [])
        except VerificationError as why:
            raise Stopped(
                f"{folder / CA_CERT} speaks for {_spoken_for(authority.certificate)} only; "
                f"for other names move {folder} away, and a new one is made for tablets to "
                "take in"
            ) from why


def _spoken_for(ca: x509.Certificate) -> str:
    limits = ca.extensions.get_extension_for_class(x509.NameConstraints).value
    names = [str(one.value) for one in limits.permitted_subtrees or ()]
    return ", ".join(name.partition("/")[0] for name in names if name != NO_NAME)


# --- files ---------------------------------------------------------------------------


def _new_key() -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


def _read_key(file: Path) -> ec.EllipticCurvePrivateKey:
    try:
        key = load_pem_private_key(read_bytes(file), None)
    except (TypeError, ValueError, UnsupportedAlgorithm) as why:
        raise Stopped(
            f"{file}: holds no key that was made here; put the right one back"
        ) from why
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise Stopped(f"{file}: holds no key that was made here; put the right one back")
    return key


def _write_key(file: Path, key: ec.EllipticCurvePrivateKey) -> None:
    form = (Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    _write(file, key.private_bytes(*form), KEY_MODE)


def _write(file: Path, data: bytes, mode: int) -> None:
    """Write it beside and put it in place: nobody ever reads half of it."""
    draft = file.with_name(f"{file.name}.{token_hex(8)}")
    descriptor = os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    draft.replace(file)


# --- what is said --------------------------------------------------------------------


def _tell(settings: Settings, authority: Authority, leaf: x509.Certificate) -> None:
    folder, names = settings.data / TLS_FOLDER, names_of(leaf)
    say(f"A certificate for {', '.join(names)}, until {leaf.not_valid_after_utc:%Y-%m-%d}.")
    say("Serve with it (a server that runs takes it at its next start):")
    named = " ".join(f"--name {name}" for name in names)
    files = f"--tls {shlex.quote(str(folder / CERT))} {shlex.quote(str(folder / KEY))}"
    say(f"  coop serve {shlex.quote(str(settings.data))} --host 0.0.0.0 {named} {files}")
    if not authority.is_new:
        say("It stands under the same CA as the one before: tablets need nothing new.")
        return
    print_ = authority.certificate.fingerprint(hashes.SHA256()).hex(":").upper()
    say(
        "\nThis is for the studio's own tablets only. Never ask members to take it into their\n"
        "own phones: for those get a public name and an ordinary certificate, see README.\n"
        "On each tablet of the studio, once:\n"
        f"  1. Carry {folder / CA_CERT} over by cable or stick; never {CA_KEY}.\n"
        "  2. Open the tablet's settings for security or certificates and take the file in as\n"
        "     a CA certificate. Some tablets then ask to trust it for web pages as well.\n"
        f"  3. Compare its SHA-256 fingerprint:\n     {print_}\n"
        f"  4. Open https://{names[0]} with the server's port.\n"
        f"Who gets hold of {folder / CA_KEY} can pose as this server before those tablets;\n"
        "for other names than these and those under them it is worth nothing."
    )
