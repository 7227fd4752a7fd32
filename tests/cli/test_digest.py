"""`coop digest`: who is told what, once a day, and what becomes of a mail that fails."""

import asyncio
import os
import re
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

from coop.app import clock
from coop.cli import digest
from coop.cli.cert import certify
from coop.cli.common import FAILED, FINE
from coop.store import mail, members
from coop.store.mail import TRIES_MAX
from tests.cli.said import Said, here
from tests.support.commands import free_port
from tests.support.opened import START, Opened, furnished, quantity

Capture = pytest.CaptureFixture[str]
HOST = "127.0.0.1"
USER, PASSWORD = "ledger", "open sesame"


@dataclass
class Mailbox:
    """What a mail server took in; it refuses all mail to `refused`."""

    mails: list[EmailMessage] = field(default_factory=list)
    to: list[str] = field(default_factory=list)
    refused: str = ""
    over_tls: list[bool] = field(default_factory=list)
    signed_in: list[bool] = field(default_factory=list)
    meanwhile: Callable[[], object] | None = None
    """What is done once while the first mail is taken in."""

    async def handle_RCPT(
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        if address == self.refused:
            return "550 5.1.1 nobody of that name"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        meanwhile, self.meanwhile = self.meanwhile, None
        if meanwhile is not None:
            await asyncio.to_thread(meanwhile)
        made = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(made, EmailMessage)
        self.mails.append(made)
        self.to += envelope.rcpt_tos
        self.over_tls.append(server.transport.get_extra_info("sslcontext") is not None)
        self.signed_in.append(session.authenticated is True)
        return "250 OK"


@pytest.fixture
def box(monkeypatch: pytest.MonkeyPatch) -> Iterator[Mailbox]:
    """A mail server on this machine, and the settings that name it."""
    box = Mailbox()
    server = Controller(box, hostname=HOST, port=free_port())
    server.start()
    name_server(monkeypatch, server.port)
    yield box
    server.stop()


def name_server(monkeypatch: pytest.MonkeyPatch, port: int, **more: str) -> None:
    for name in [name for name in os.environ if name.startswith("COOP_")]:
        monkeypatch.delenv(name)
    values = {
        "COOP_SMTP_HOST": HOST,
        "COOP_SMTP_PORT": str(port),
        "COOP_SMTP_SECURITY": "none",
        "COOP_SMTP_FROM": "ledger@studio.example",
        "COOP_ADDRESS": "https://studio.example",
    }
    for name, value in (values | more).items():
        monkeypatch.setenv(name, value)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Opened]:
    """A studio whose drain nobody asked about; amina and kahu have mail addresses."""
    house = furnished(tmp_path)
    with house.store.writing() as desk:
        for first in ("amina", "kahu"):
            member = house.members[first].member
            address = f"{first}@studio.example"
            members.set_mail(desk.connection, member, address, now=START)
    yield house
    house.store.close()


def want(house: Opened, first: str, lang: str | None = "en") -> None:
    with house.store.writing() as desk:
        mail.choose(desk.connection, house.members[first].member, lang)


def coordinates(house: Opened, first: str) -> None:
    """Let a member be asked what coordinators are."""
    house.later(minutes=1)  # what is said at one moment has no order
    house.say("member.role_set", member=house.members[first].member, roles=["coordinator"])
    house.later(minutes=1)


@pytest.fixture
def run(house: Opened, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Said]:
    """Run the command at the ledger's own time."""
    monkeypatch.setattr(digest, "clock", house.clock)
    return lambda *more: here(capsys, "digest", str(house.folder), *more)


def test_nobody_gets_a_mail_who_did_not_ask(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """Off by default: a mail address was not given for this."""
    assert run() == Said(FINE, "Mails sent: 0\n", "")
    assert box.mails == []


def test_who_asked_is_told_what_needs_them(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    want(house, "amina")

    assert run() == Said(FINE, "Mails sent: 1\n", "")
    (one,) = box.mails
    text = one.get_content()
    assert box.to == ["amina@studio.example"]
    assert one["Subject"] == "Test studio: 2 things need you"
    assert "Today, 2025-09-17, these need you:" in text
    assert "Nobody has written down yet what may go down the drain" in text
    assert "https://studio.example" in text
    assert "You can turn it off on your own page" in text


def test_who_has_nothing_to_do_gets_no_mail(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """The drain is the coordinators' to ask about."""
    want(house, "kahu")

    assert run().out == "Mails sent: 0\n"


def test_one_a_day_and_another_the_next(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """By the co-operative's own calendar: at 22:00 UTC its next day has begun."""
    want(house, "amina")
    run()
    house.later(hours=5)
    assert run().out == "Mails sent: 0\n"
    house.later(hours=1)

    assert run().out == "Mails sent: 1\n"
    assert len({one["Message-ID"] for one in box.mails}) == 2


def test_a_mail_names_studios_and_tells_counts_of_one_together(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """Far from the shelf nobody knows where "G-3" stands, nor what it is."""
    want(house, "amina")
    barn = house.say("studio.described", name="Orchard Barn", letter="B", drain="none",
                     instruments=[], emergency="112", poison="0555 0100")  # fmt: skip
    house.say("lot.received", studio=barn, what="gall", name="G-3",
              volume=quantity(500, "ml"), best_before="2025-10-20")  # fmt: skip
    house.later(days=31)
    run()
    text = box.mails[0].get_content()

    assert "- G-3, gall (Orchard Barn): 500 mL left" in text
    assert "- Count 2 lots, Ropewalk: Due since 2025-10-17." in text
    assert "- G-3, gall (Orchard Barn): Not counted since it came in" in text


def test_what_was_put_off_is_not_told(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    want(house, "amina")
    for need in ("permission", "zero"):
        house.say(
            "need.put_off", need=need, about=house.made["studio"], until="2025-09-24",
            reason="other",
        )  # fmt: skip

    assert run().out == "Mails sent: 0\n"


def test_a_mail_has_the_headers_of_one_that_no_person_wrote(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """RFC 5322, 3.6: Date, From, Message-ID; RFC 3834, 5: what answers by itself keeps off."""
    want(house, "amina")
    run()

    (one,) = box.mails
    assert one["Auto-Submitted"] == "auto-generated"
    assert one["Date"].datetime == START
    assert str(one["From"]) == "Test studio <ledger@studio.example>"
    assert str(one["To"]) == "amina@studio.example"
    assert re.fullmatch(r"<[\w-]{43}@studio\.example>", one["Message-ID"])
    assert one.get_content_type() == "text/plain"


def test_a_mail_comes_in_the_language_it_was_asked_for_in(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """Letters beyond ASCII arrive as they were written, in subject and body."""
    want(house, "amina", "tr")
    house.say("studio.described", studio=house.made["studio"],
              supersedes=house.made["studio"], name="Ebru Evi, ğüşöçİ", letter="R",
              drain="sewer", instruments=["tape_line"], emergency="112",
              poison="0555 0100")  # fmt: skip
    run()

    assert "Ebru Evi, ğüşöçİ" in box.mails[0].get_content()


def test_no_name_of_another_member_is_sent(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """Mail goes over other people's machines: initials say enough."""
    want(house, "amina")
    bath = house.say(
        "bath.mixed", "amina", name="R-A1", studio=house.made["studio"],
        vessel=house.made["tub"], water=quantity(12, "l"),
        salt=[{"lot": house.made["alum"], "amount": quantity(480, "g")}],
    )  # fmt: skip
    house.say("bath.stopped", "kahu", bath=bath, reason="other")
    run()

    text = box.mails[0].get_content()
    assert "R-A1" in text
    assert "Kahu" not in text


def test_a_dry_run_prints_the_mails_and_sends_none(
    house: Opened, run: Callable[..., Said]
) -> None:
    """It needs no mail server either."""
    want(house, "amina")
    said = run("--dry-run")

    assert said.code == FINE
    assert "To: amina@studio.example\nSubject: Test studio: 2 things need you\n" in said.out
    assert said.out.endswith("Mails that would be sent: 1\n")
    with house.desk() as desk:
        assert mail.standing(desk.connection).waiting_count == 0


def test_without_a_mail_server_it_says_which_setting_is_missing(
    house: Opened, run: Callable[..., Said], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COOP_SMTP_HOST", raising=False)
    said = run()

    assert said.code == FAILED
    assert "COOP_SMTP_HOST: is empty" in said.err


def test_a_folder_without_a_ledger_is_said(
    tmp_path: Path, box: Mailbox, capsys: Capture
) -> None:
    said = here(capsys, "digest", str(tmp_path / "nowhere"))

    assert (said.code, said.out) == (FAILED, "")
    assert "holds no ledger" in said.err


@pytest.mark.parametrize("refused", ["", "amina@studio.example"])
def test_two_runs_at_once_send_each_mail_once(
    house: Opened, box: Mailbox, run: Callable[..., Said], refused: str
) -> None:
    """A timer and a hand: whoever has a mail in hand sends it, the other leaves it alone."""
    coordinates(house, "kahu")
    want(house, "amina")
    want(house, "kahu")
    box.refused = refused
    box.meanwhile = lambda: digest.run("digest", [str(house.folder)])

    run()
    box.refused = ""
    house.later(minutes=5)
    run()

    assert sorted(box.to) == ["amina@studio.example", "kahu@studio.example"]


# --- what fails --------------------------------------------------------------------------


def test_what_could_not_be_sent_is_sent_the_next_time(
    house: Opened, box: Mailbox, run: Callable[..., Said], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written down first, sent afterwards: a server that is away loses nothing."""
    want(house, "amina")
    port = os.environ["COOP_SMTP_PORT"]
    monkeypatch.setenv("COOP_SMTP_PORT", str(free_port()))
    said = run()
    assert (said.code, said.out) == (FAILED, "Mails sent: 0\n")
    assert "mails not sent: 1 (Connection refused); to be tried again: 1" in said.err

    monkeypatch.setenv("COOP_SMTP_PORT", port)
    house.later(hours=1)
    assert run() == Said(FINE, "Mails sent: 1\n", "")


def test_one_address_that_is_refused_keeps_no_other_mail_back(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """What is said of it names nobody: the output stands in a log."""
    coordinates(house, "kahu")
    want(house, "amina")
    want(house, "kahu")
    box.refused = "amina@studio.example"
    said = run()

    refused = "coop: mails not sent: 1 (address refused, 550); to be tried again: 1\n"
    assert said == Said(FAILED, "Mails sent: 1\n", refused)
    assert "amina" not in said.err
    assert box.to == ["kahu@studio.example"]


def test_after_some_days_it_is_given_up_and_said(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    want(house, "amina")
    box.refused = "amina@studio.example"
    errors = []
    for _ in range(TRIES_MAX):
        errors.append(run().err)
        house.later(hours=1)

    assert all("to be tried again: 1" in one for one in errors[:-1])
    assert f"given up after {TRIES_MAX} tries: 1" in errors[-1]
    assert run() == Said(FINE, "Mails sent: 0\n", "")
    box.refused = ""
    house.later(days=1)
    assert run().out == "Mails sent: 1\n"


def test_who_has_left_is_told_nothing(
    house: Opened, box: Mailbox, run: Callable[..., Said]
) -> None:
    """Even where only the entry came in, and nobody closed the door here."""
    coordinates(house, "kahu")
    want(house, "kahu")
    house.say("member.left", "amina", member=house.members["kahu"].member)

    assert run().out == "Mails sent: 0\n"


# --- encryption --------------------------------------------------------------------------


@dataclass
class Guarded:
    """A mail server with TLS and a password."""

    box: Mailbox
    authority: Path


@pytest.fixture(params=["starttls", "tls"])
def guarded(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Guarded]:
    folder = tmp_path / "authority"
    certify(folder, [HOST], clock())
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(*sorted(certificates(folder)))
    box = Mailbox()
    implicit = request.param == "tls"
    server = Controller(
        box, hostname=HOST, port=free_port(), authenticator=_known,
        ssl_context=context if implicit else None,
        tls_context=None if implicit else context,
        require_starttls=not implicit, auth_required=not implicit,
        auth_require_tls=not implicit,
    )  # fmt: skip
    password = tmp_path / "password"
    password.write_text(PASSWORD)
    password.chmod(0o600)
    monkeypatch.setenv("SSL_CERT_FILE", str(folder / "ca.crt"))
    server.start()
    name_server(
        monkeypatch, server.port, COOP_SMTP_SECURITY=request.param, COOP_SMTP_USER=USER,
        COOP_SMTP_PASSWORD_FILE=str(password),
    )  # fmt: skip
    yield Guarded(box, folder / "ca.crt")
    server.stop()


def certificates(folder: Path) -> Iterator[str]:
    """Return the server's certificate and its key."""
    yield from (str(one) for one in folder.iterdir() if not one.name.startswith("ca."))


def _known(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
    assert isinstance(data, LoginPassword)
    fine = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
    return AuthResult(success=fine, handled=False)


def test_a_mail_goes_encrypted_and_signed_in(
    house: Opened, guarded: Guarded, run: Callable[..., Said]
) -> None:
    want(house, "amina")

    assert run() == Said(FINE, "Mails sent: 1\n", "")
    assert (guarded.box.over_tls, guarded.box.signed_in) == ([True], [True])


def test_a_server_that_nobody_vouches_for_gets_neither_password_nor_mail(
    house: Opened,
    guarded: Guarded,
    run: Callable[..., Said],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """RFC 8314, 3: the certificate is checked; whoever sits in between learns nothing."""
    want(house, "amina")
    monkeypatch.setenv("SSL_CERT_FILE", str(tmp_path / "none"))
    said = run()

    assert said.code == FAILED
    assert "mails not sent: 1" in said.err
    assert guarded.box.mails == []


def test_a_wrong_password_is_said_without_saying_it(
    house: Opened, guarded: Guarded, run: Callable[..., Said]
) -> None:
    want(house, "amina")
    Path(os.environ["COOP_SMTP_PASSWORD_FILE"]).write_text("wrong words")
    said = run()

    assert "the server answered 535" in said.err
    assert "wrong words" not in said.err + said.out
