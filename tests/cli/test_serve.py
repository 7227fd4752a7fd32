"""`coop serve`: refuses in one line, and stops without leaving anybody unanswered."""

import os
import re
import signal
import socket
import ssl
import threading
import time
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
    load_pem_private_key,
)

from coop.app import clock
from coop.cli import demo
from coop.cli.cert import LIFE, certify
from coop.cli.certificates import Shown, read_certificates
from coop.cli.common import FAILED, Stopped, origin_of
from coop.cli.serve import is_free
from coop.settings import from_environment
from coop.store import migrate
from coop.store.backups import two_places
from coop.store.engines import open_engines
from tests.cli.said import here
from tests.support.commands import first_line, free_port, running
from tests.support.opened import opened

WITHIN_S = 30.0
Capture = pytest.CaptureFixture[str]
PAIR = {"COOP_TLS_CERT": "studio.crt", "COOP_TLS_KEY": "studio.key"}
NAME = "studio.example"


@pytest.fixture(autouse=True)
def no_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Start in a folder of the test, with nothing said in the environment."""
    for name in [name for name in os.environ if name.startswith("COOP_")]:
        monkeypatch.delenv(name)
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """The folder of a ledger that is open."""
    (tmp_path / "ledger").mkdir()
    opened(tmp_path / "ledger").store.close()
    return tmp_path / "ledger"


@pytest.mark.parametrize(("number", "group"), [(signal.SIGTERM, False), (signal.SIGINT, True)])
def test_a_request_under_way_is_answered_before_the_server_stops(
    number: signal.Signals, group: bool, ledger: Path
) -> None:
    """
    A form half sent when the operator stops the server is taken in all the same.

    The writer is held, so that the request waits in the middle of its work until after the
    signal; Ctrl-C reaches the worker as well as the server.
    """
    port = free_port()
    with running(ledger, "serve", ".", "--port", str(port)) as process:
        first_line(process, "Serving")
        engines = open_engines(f"sqlite:///{ledger / 'coop.db'}")
        answered: list[int] = []
        with engines.writing():
            asking = threading.Thread(target=lambda: answered.append(try_password(port)))
            asking.start()
            time.sleep(0.5)
            (os.killpg if group else os.kill)(process.pid, number)
            time.sleep(0.5)
            assert not answered
        asking.join(WITHIN_S)
        engines.close()
        out, err = process.communicate(timeout=WITHIN_S)

    assert answered == [401]
    assert process.returncode == 0
    assert out == ""
    assert re.fullmatch(
        r"\S+Z WARNING sign-in-refused: POST /sign-in 401 from 127\.0\.0\.1 by - about \S+\n",
        err,
    )


def try_password(port: int) -> int:
    """Post a wrong password; return the status."""
    connection = HTTPConnection("127.0.0.1", port, timeout=WITHIN_S)
    connection.request("GET", "/sign-in")
    page = connection.getresponse()
    token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page.read().decode())
    assert token
    cookie = str(page.getheader("Set-Cookie")).partition(";")[0]
    body = f"csrf_token={token[1]}&sign_in_name=amina&password=wrong"
    kind = {"Content-Type": "application/x-www-form-urlencoded", "Cookie": cookie}
    connection.request("POST", "/sign-in", body, kind)
    status = connection.getresponse().status
    connection.close()
    return status


def test_a_fault_is_one_line_without_what_was_typed(ledger: Path) -> None:
    """The path may hold a one-use token, a database's complaint what somebody typed."""
    port = free_port()
    with running(ledger, "serve", ".", "--port", str(port)) as process:
        first_line(process, "Serving")
        engines = open_engines(f"sqlite:///{ledger / 'coop.db'}")
        with engines.writing() as connection:
            connection.exec_driver_sql("DROP TABLE invite")
        engines.close()
        asking = HTTPConnection("127.0.0.1", port, timeout=WITHIN_S)
        asking.request("GET", "/join/only-for-one-visitor")
        status = asking.getresponse().status
        asking.close()
        process.send_signal(signal.SIGTERM)
        _, err = process.communicate(timeout=WITHIN_S)

    assert status == 500
    assert re.fullmatch(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ ERROR GET /join/<token>: OperationalError "
        r"at coop/store/invites\.py:\d+ in \w+\n",
        err,
    )


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("nowhere",), "holds no ledger; coop init makes one"),
        (("ledger", "--host", "0.0.0.0"), "say by which name browsers reach this server"),
        (("ledger", "--host", "192.0.2.7"), "anybody near could read passwords; name a cert"),
        (("ledger", "--host", "192.0.2.7", "--plain-http"), "cannot listen there"),
        (("ledger", "--port", "0"), "must be a whole number from 1 to 65535"),
        (("ledger", "--name", "http://x"), "must be a name or address alone"),
    ],
)
def test_what_cannot_be_served_says_what_would_do(
    arguments: tuple[str, ...], told: str, ledger: Path, capsys: Capture
) -> None:
    """One line, at once, and nothing is started. 192.0.2.0/24 is nobody's (RFC 5737)."""
    said = here(capsys, "serve", *arguments)

    assert said.code == FAILED
    assert said.err.startswith("coop: ")
    assert said.err.count("\n") == 1
    assert told in said.err


def test_a_port_that_is_taken_is_named(ledger: Path, capsys: Capture) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        said = here(capsys, "serve", "ledger", "--port", str(port))

    assert said.code == FAILED
    assert said.err.startswith(f"coop: port {port} of 127.0.0.1 is taken")


def test_an_older_database_is_not_served(tmp_path: Path, capsys: Capture) -> None:
    migrate.upgrade(f"sqlite:///{tmp_path / 'coop.db'}", "0001")

    said = here(capsys, "serve", ".")

    assert said.code == FAILED
    assert "run coop upgrade first" in said.err


def test_a_newer_database_is_not_touched(ledger: Path, capsys: Capture) -> None:
    """A folder carried back to a machine with last year's release."""
    engines = open_engines(f"sqlite:///{ledger / 'coop.db'}")
    with engines.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    engines.close()

    for command in ("serve", "init", "upgrade", "verify", "rebuild"):
        said = here(capsys, command, "ledger")
        assert said.code == FAILED
        assert "made by a newer release of coop" in said.err


def test_the_demo_takes_the_next_port_that_is_free() -> None:
    """8080 is often taken; asked for by number it is not swapped in silence."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        assert not is_free("127.0.0.1", port)
        with pytest.raises(Stopped, match=f"port {port} of 127.0.0.1 is taken"):
            demo._port(port)
    assert demo._port(None) >= demo.PORT
    assert is_free("127.0.0.1", demo._port(0))


@pytest.mark.parametrize(
    ("values", "origin"),
    [
        ({}, "http://127.0.0.1:8080"),
        ({"COOP_HOST": "::1", "COOP_PORT": "81"}, "http://[::1]:81"),
        (
            {"COOP_HOST": "0.0.0.0", "COOP_HOST_NAMES": "studio.example"},
            "http://studio.example:8080",
        ),
        (
            {"COOP_HOST_NAMES": "studio.example", "COOP_PORT": "443", **PAIR},
            "https://studio.example:443",
        ),
        ({"COOP_HOST": "192.0.2.7", **PAIR}, "https://192.0.2.7:8080"),
    ],
)
def test_the_address_told_is_one_that_a_browser_can_open(
    values: dict[str, str], origin: str
) -> None:
    assert origin_of(from_environment(values)) == origin


# --- TLS -----------------------------------------------------------------------------


@pytest.fixture
def tls(tmp_path: Path) -> Path:
    """A certificate of the studio's own for studio.example, made now."""
    certify(tmp_path / "tls", [NAME], clock())
    return tmp_path / "tls"


def with_tls(folder: Path, cert: str = "studio.crt", key: str = "studio.key") -> list[str]:
    return ["--name", NAME, "--tls", str(folder / cert), str(folder / key)]


@pytest.mark.parametrize("newest", [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3])
def test_over_tls_another_address_than_loopback_is_served(
    newest: ssl.TLSVersion, ledger: Path, tls: Path
) -> None:
    """
    The certificate is looked at as a tablet does that took in the studio's CA.

    All addresses of this machine are listened on, without --plain-http; old tablets know no
    more than TLS 1.2.
    """
    port = free_port()
    where = ["--host", "0.0.0.0", "--port", str(port), *with_tls(tls)]
    with running(ledger, "serve", ".", *where) as process:
        told = first_line(process, "Serving")
        trusting = ssl.create_default_context(cafile=tls / "ca.crt")
        trusting.maximum_version = newest
        connection = HTTPSConnection("127.0.0.1", port, timeout=WITHIN_S)
        plain = socket.create_connection(("127.0.0.1", port), WITHIN_S)
        connection.sock = trusting.wrap_socket(plain, server_hostname=NAME)
        connection.request("GET", "/sign-in", headers={"Host": f"{NAME}:{port}"})
        answer = connection.getresponse()
        cookie = str(answer.getheader("Set-Cookie"))
        process.send_signal(signal.SIGTERM)
        connection.close()
        out, err = process.communicate(timeout=WITHIN_S)

    assert f"https://{NAME}:{port} " in told
    assert answer.status == 200
    assert answer.getheader("Strict-Transport-Security")
    assert cookie.startswith("__Host-coop-form=")
    assert "; Secure" in cookie
    assert (process.returncode, out, err) == (0, "", "")


def test_a_file_that_is_not_what_it_should_be_is_named(
    ledger: Path, tls: Path, capsys: Capture
) -> None:
    """One line each, before anything is started."""
    certify(tls / "other", [NAME], clock())
    (tls / "empty").touch()
    locked = (Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"kitchen scales"))
    (tls / "locked.key").write_bytes(
        load_pem_private_key((tls / "studio.key").read_bytes(), None).private_bytes(*locked)
    )
    wrong = {
        ("missing.crt", "studio.key"): "missing.crt: cannot be read: No such file",
        ("studio.crt", "missing.key"): "missing.key: cannot be read: No such file",
        ("empty", "studio.key"): "empty: holds no certificate; a PEM file would do",
        ("studio.crt", "empty"): "empty: holds no key; a PEM file would do",
        ("studio.key", "studio.crt"): "studio.key: holds no certificate",
        ("studio.crt", "locked.key"): "locked.key: is locked by a password",
        ("studio.crt", "other/studio.key"): "does not belong to the first certificate in",
    }
    for (cert, key), told in wrong.items():
        said = here(capsys, "serve", "ledger", *with_tls(tls, cert, key))
        assert (said.code, said.err.count("\n"), said.out) == (FAILED, 1, ""), said
        assert told in said.err


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (clock() - LIFE, r"studio\.crt: ended on \d{4}-\d\d-\d\d; renew it first"),
        (clock() + timedelta(days=9), r"studio\.crt: begins only on .* machine's clock says"),
    ],
)
def test_a_certificate_out_of_its_time_is_not_served(
    made: datetime, told: str, ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Browsers would turn every member away, with less of a reason."""
    certify(tmp_path / "tls", [NAME], made)

    said = here(capsys, "serve", "ledger", *with_tls(tmp_path / "tls"))

    assert said.code == FAILED
    assert re.search(told, said.err)


@pytest.mark.parametrize(
    ("where", "name"),
    [
        (["--name", "other.example"], "other.example"),
        (["--name", NAME, "--name", "192.0.2.7"], "192.0.2.7"),
        (["--host", "127.0.0.1"], "127.0.0.1"),
    ],
)
def test_a_name_that_the_certificate_lacks_is_said(
    where: list[str], name: str, ledger: Path, tls: Path, capsys: Capture
) -> None:
    said = here(capsys, "serve", "ledger", *where, *with_tls(tls)[2:])

    assert said.code == FAILED
    assert f"coop: {name}: is not in {tls}/studio.crt, which is for {NAME}; " in said.err


@pytest.mark.parametrize(("days", "is_told"), [(29, True), (31, False)])
def test_a_certificate_that_ends_soon_is_said_at_the_start(
    days: int, is_told: bool, ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Thirty days are time enough; the port is taken, so that the start ends there."""
    certify(tmp_path / "tls", [NAME], clock() - LIFE + timedelta(days=days + 1, hours=1))
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        said = here(capsys, "serve", "ledger", "--port", port, *with_tls(tmp_path / "tls"))

    assert "is taken" in said.err
    assert (f"days left: {days}; renew it" in said.err) is is_told


def test_a_second_place_that_is_gone_is_said_at_the_start(
    ledger: Path, tmp_path: Path, capsys: Capture
) -> None:
    """Phones let go of what is in two places; a stick that was taken home is none."""
    here(capsys, "backup", "ledger", "kept.db", "--counts")
    (tmp_path / "kept.db").rename(tmp_path / "elsewhere.db")
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        said = here(capsys, "serve", "ledger", "--port", str(other.getsockname()[1]))

    assert "kept.db is not as it was: nothing counts as kept in two places" in said.err
    engines = open_engines(f"sqlite:///{ledger / 'coop.db'}")
    with engines.reading() as connection:
        assert two_places(connection) == {}
    engines.close()


@pytest.mark.parametrize(
    ("shown", "name", "right"),
    [
        ("studio.example", "studio.example", True),
        ("studio.example", "ledger.studio.example", False),
        ("*.studio.example", "ledger.studio.example", True),
        ("*.studio.example", "studio.example", False),
        ("*.studio.example", "a.b.studio.example", False),
        ("192.0.2.7", "192.0.2.7", True),
        ("192.0.2.7", "192.0.2.8", False),
        ("2001:db8::5", "2001:db8:0:0:0:0:0:5", True),
        ("*", "studio", False),
        ("*", "192.0.2.7", False),
    ],
)
def test_names_are_held_against_a_certificate_as_browsers_do(
    shown: str, name: str, right: bool, tls: Path
) -> None:
    """RFC 9525 6.3 and 6.4: a star is one whole label, the first; an address is no name."""
    moment = datetime(2026, 3, 1, tzinfo=UTC)
    (leaf,) = read_certificates(tls / "studio.crt")
    certificate = Shown(
        file=tls, names=(shown,), starts_at=moment, ends_at=moment, issuer=leaf.issuer
    )

    assert certificate.is_for(name) is right
