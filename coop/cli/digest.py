"""`coop digest FOLDER`: a mail to each member who wants one and whom something needs today."""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from coop.actions.see_needs import needs
from coop.app import clock
from coop.cli.common import FINE, Stopped, add_folder, complain, parser, say, settings_for
from coop.cli.ledgers import opened, told
from coop.cli.post import send
from coop.ids import MemberId, Subject
from coop.ledger.states import LedgerState, MemberState
from coop.ledger.table import LEDGER
from coop.people.faces import Faces
from coop.settings import Settings
from coop.store import mail
from coop.store.desk import Desk, Store
from coop.store.mail import Letter, Mail, Wanting
from coop.web.digest import letter
from coop.web.i18n import Words, read_catalogues
from coop.web.needing import Called, studio_names
from coop.web.reasons import Telling

EPILOG = (
    "Run it once a day, in the morning, by cron or a timer. Who wants a mail says so on their\n"
    "own page; each gets one a day at most, and none when nothing is due. What cannot be sent\n"
    "is tried again the next time. Ends with 1 when a mail could not be sent."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Write down who is told what today, then send it."""
    given = _asked(command).parse_args(arguments)
    settings = settings_for(given.folder)
    if settings.smtp is None and not given.dry_run:
        raise Stopped(
            "COOP_SMTP_HOST: is empty; name the server that sends mails, see README, Mails"
        )
    now = clock()
    with opened(settings) as store, told():
        with store.reading() as desk:
            ledger = _ledger(desk, settings)
            found = _letters(desk, ledger, settings, now)
        if given.dry_run:
            return _shown(found)
        today = now.astimezone(ZoneInfo(ledger.zone)).date()
        letters = {one.member: text for one, text in found.items()}
        with store.writing() as desk:
            mail.write(desk.connection, letters, today=today, now=now)
        return _sent(store, ledger, settings, now)


def _asked(command: str) -> argparse.ArgumentParser:
    asked = parser(command, "Tell members by mail what needs them today.", epilog=EPILOG)
    add_folder(asked)
    asked.add_argument(
        "--dry-run", action="store_true", help="print the mails; write and send nothing"
    )
    return asked


def _ledger(desk: Desk, settings: Settings) -> LedgerState:
    state: LedgerState | None = desk.journal.state("ledger", LEDGER)
    if state is None:
        raise Stopped(f"{settings.data}: nobody has opened the ledger yet")
    return state


def _letters(
    desk: Desk, ledger: LedgerState, settings: Settings, now: datetime
) -> Mapping[Wanting, Letter]:
    """Return what each member is to be told; who has nothing to do is left out."""
    found = {
        one: _letter(desk, one, ledger, settings, now) for one in mail.wanting(desk.connection)
    }
    return {one: text for one, text in found.items() if text is not None}


def _letter(
    desk: Desk, one: Wanting, ledger: LedgerState, settings: Settings, now: datetime
) -> Letter | None:
    member: MemberState | None = desk.journal.state("member", Subject(one.member))
    if member is None or member.left_at is not None:
        return None
    due = needs(desk.journal, one.member, frozenset(member.roles), now=now, demo=settings.demo)
    if not due:
        return None
    faces = Faces(desk.journal)
    telling = Telling(
        words=Words(one.lang, ZoneInfo(ledger.zone), read_catalogues()[one.lang]),
        now=now,
        name_of=lambda who: faces.of(MemberId(who)).initials,
    )
    called = Called(studios=studio_names(desk.journal.listed("studio")))
    return letter(telling, due, called, name=ledger.name, address=settings.address)


def _shown(found: Mapping[Wanting, Letter]) -> int:
    for one, text in found.items():
        say(f"To: {one.address}\nSubject: {text.subject}\n\n{text.body}")
    say(f"Mails that would be sent: {len(found)}")
    return FINE


def _sent(store: Store, ledger: LedgerState, settings: Settings, now: datetime) -> int:
    """
    Send what waits, each mail claimed and marked by itself: what has gone is not sent again.

    Two runs at once send each mail once. Killed between the sending and the marking, it is
    sent once more, under the same Message-ID, by a run after `mail.CLAIMED_FOR`.
    """
    assert settings.smtp is not None, "asked for at the start"
    with store.reading() as desk:
        waiting = mail.waiting(desk.connection)
    sent_count, given_up_count = 0, 0
    reasons: list[str] = []
    claimed = _claimed(store, waiting)
    for one, reason in send(settings.smtp, claimed, name=ledger.name, now=now):
        with store.writing() as desk:
            if reason is None:
                mail.mark_sent(desk.connection, one)
                sent_count += 1
            else:
                given_up_count += mail.mark_failed(desk.connection, one)
                reasons.append(reason)
    say(f"Mails sent: {sent_count}")
    return _complained(reasons, given_up_count)


def _claimed(store: Store, waiting: Sequence[Mail]) -> Iterator[Mail]:
    """Give those mails that nobody else is sending, each claimed when it is asked for."""
    for one in waiting:
        with store.writing() as desk:
            ours = mail.claim(desk.connection, one, now=clock())
        if ours:
            yield one


def _complained(reasons: Sequence[str], given_up_count: int) -> int:
    """Say how many mails were not sent, by why each was not; return the exit code."""
    left_count = len(reasons)
    if not left_count:
        return FINE
    text = f"mails not sent: {left_count} ({', '.join(sorted(set(reasons)))})"
    again_count = left_count - given_up_count
    if again_count:
        text += f"; to be tried again: {again_count}"
    if given_up_count:
        text += f"; given up after {mail.TRIES_MAX} tries: {given_up_count}"
    return complain(text)
