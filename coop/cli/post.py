"""Sending mails by SMTP (RFC 5321), each as plain text in its own envelope."""

import smtplib
import ssl
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from itertools import chain

from coop.settings import Smtp, read_smtp_password
from coop.store.mail import Mail

WAIT_S = 30


def send(
    smtp: Smtp, mails: Iterator[Mail], *, name: str, now: datetime
) -> Iterator[tuple[Mail, str | None]]:
    """
    Send mails over one connection; give each with why it could not be sent, None if it was.

    Args:
        mails: Each is asked for just before it is sent; without any nothing is connected.
        name: The name of the ledger, as the sender's.
        now: When they are sent.
    """
    password = read_smtp_password(smtp)
    first = next(mails, None)
    if first is None:
        return
    mails = chain([first], mails)
    try:
        server = _connected(smtp, password)
    except OSError as why:  # that of smtplib is one
        yield from ((one, _reason(why)) for one in mails)
        return
    for one in mails:
        yield one, _refusal(server, smtp, one, name, now)
    with suppress(OSError):  # they have gone: how it says goodbye changes nothing
        server.quit()


def _connected(smtp: Smtp, password: str) -> smtplib.SMTP:
    """Return a connection that is encrypted as the settings say, and signed in."""
    safe = ssl.create_default_context()
    server: smtplib.SMTP
    if smtp.security == "tls":
        server = smtplib.SMTP_SSL(smtp.host, smtp.port, timeout=WAIT_S, context=safe)
    else:
        server = smtplib.SMTP(smtp.host, smtp.port, timeout=WAIT_S)
    try:
        if smtp.security == "starttls":
            server.starttls(context=safe)
        if smtp.user:
            server.login(smtp.user, password)
    except OSError:
        server.close()
        raise
    return server


def _refusal(
    server: smtplib.SMTP, smtp: Smtp, one: Mail, name: str, now: datetime
) -> str | None:
    try:
        server.send_message(message(smtp, one, name=name, now=now))
    except (OSError, MessageError, ValueError) as why:
        return _reason(why)
    return None


def _reason(why: Exception) -> str:
    """Say why in a few words, never with an address or what the server quotes of it."""
    match why:
        case smtplib.SMTPRecipientsRefused():
            codes = {str(code) for code, _ in why.recipients.values()}
            return f"address refused, {', '.join(sorted(codes))}"
        case smtplib.SMTPResponseException():
            return f"the server answered {why.smtp_code}"
        case OSError(strerror=str(text)):
            return text
        case _:
            return type(why).__name__


def message(smtp: Smtp, one: Mail, *, name: str, now: datetime) -> EmailMessage:
    """
    Return a mail as it is sent (RFC 5322); it says that no person wrote it (RFC 3834).

    Its Message-ID stays the same however often it is tried.
    """
    made = EmailMessage()
    made["From"] = Address(display_name=name, addr_spec=smtp.sender)
    made["To"] = Address(addr_spec=one.address)
    made["Subject"] = one.letter.subject
    made["Date"] = now
    made["Message-ID"] = f"<{one.id}@{smtp.sender.rpartition('@')[2]}>"
    made["Auto-Submitted"] = "auto-generated"
    made.set_content(one.letter.body)
    return made
