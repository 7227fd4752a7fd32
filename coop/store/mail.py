"""
Mails to members: written down first, then claimed, sent, and marked when they have gone.

A member gets one a day at most. One that could not be sent waits for the next time, unless
by then it says what is no longer so; after some tries it is given up, and that is told.
Whoever sends claims each mail first, so that two who run at once send it once.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, and_, delete, func, select, update

from coop.ids import MemberId
from coop.store.tables import digest_choice, mail, member_secret
from coop.store.tokens import new_token

WAITING, SENT, GIVEN_UP = "waiting", "sent", "given_up"
TRIES_MAX = 5
KEPT = timedelta(days=30)
"""So long mails that have gone, or were given up, are kept."""
CLAIMED_FOR = timedelta(minutes=30)
"""So long a mail is its sender's: longer than one takes that waits for every answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanting:
    """A member who wants to be told by mail, and in which language."""

    member: MemberId
    address: str
    lang: str


@dataclass(frozen=True, slots=True)
class Letter:
    """What a mail says: its subject, one line, and its body."""

    subject: str
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mail:
    """A mail that waits to be sent; `id` is its lasting name, `try_count` tries that failed."""

    id: str
    member: MemberId
    address: str
    letter: Letter
    written_at: datetime
    try_count: int


def _is_free(now: datetime) -> Any:
    """Select what waits and is in nobody's hands; a claim ends with who was killed over it."""
    unclaimed = mail.c.claimed_at.is_(None) | (mail.c.claimed_at < now - CLAIMED_FOR)
    return and_(mail.c.state == WAITING, unclaimed)


def choose(connection: Connection, member: MemberId, lang: str | None) -> None:
    """Let a member be told by mail, in a language; None for no more."""
    connection.execute(delete(digest_choice).where(digest_choice.c.member == member))
    if lang is None:
        of_member = (mail.c.member == member) & (mail.c.state == WAITING)
        connection.execute(delete(mail).where(of_member))
    else:
        connection.execute(digest_choice.insert().values(member=member, lang=lang))


def chosen(connection: Connection, member: MemberId) -> bool:
    """Say whether a member wants to be told by mail."""
    where = digest_choice.c.member == member
    return connection.scalar(select(digest_choice.c.lang).where(where)) is not None


def forget(connection: Connection, member: MemberId) -> None:
    """Forget the choice and the mails of a member who left."""
    for table in (digest_choice, mail):
        connection.execute(delete(table).where(table.c.member == member))


def wanting(connection: Connection) -> tuple[Wanting, ...]:
    """Return who wants to be told by mail and has an address, by age of membership."""
    rows = connection.execute(
        select(digest_choice, member_secret.c.mail)
        .join(member_secret, member_secret.c.member == digest_choice.c.member)
        .where(member_secret.c.mail.is_not(None))
        .order_by(digest_choice.c.member)
    )
    return tuple(
        Wanting(member=MemberId(row.member), address=row.mail, lang=row.lang) for row in rows
    )


def write(
    connection: Connection, letters: Mapping[MemberId, Letter], *, today: date, now: datetime
) -> int:
    """
    Write today's letters down to be sent; return how many are new.

    Who got one today gets no second. What still waits from before is said anew by today's,
    its failed tries kept, or dropped when nothing is due any more; not what is being sent.
    """
    connection.execute(
        delete(mail).where(mail.c.state != WAITING, mail.c.written_at < now - KEPT)
    )
    connection.execute(delete(mail).where(_is_free(now), mail.c.member.not_in(letters)))
    had = {row.member: row for row in connection.execute(_open_or_of(today))}
    for member, letter in letters.items():
        row = had.get(member)
        says = {"subject": letter.subject, "body": letter.body, "day": today.isoformat()}
        if row is None:
            made = {"id": new_token(), "member": member, "written_at": now}
            stands = {"try_count": 0, "state": WAITING}
            connection.execute(mail.insert().values(made | says | stands))
        else:
            still = (mail.c.id == row.id) & _is_free(now)
            connection.execute(update(mail).where(still).values(says))
    return len(letters.keys() - had.keys())


def _open_or_of(today: date) -> Any:
    of_today = mail.c.day == today.isoformat()
    return select(mail).where((mail.c.state == WAITING) | of_today)


def waiting(connection: Connection) -> tuple[Mail, ...]:
    """Return what is to be sent, the oldest first, each to its member's address of now."""
    rows = connection.execute(
        select(mail, member_secret.c.mail)
        .join(member_secret, member_secret.c.member == mail.c.member)
        .where(mail.c.state == WAITING, member_secret.c.mail.is_not(None))
        .order_by(mail.c.written_at, mail.c.member)
    )
    return tuple(
        Mail(
            id=row.id,
            member=MemberId(row.member),
            address=row.mail,
            letter=Letter(row.subject, row.body),
            written_at=row.written_at,
            try_count=row.try_count,
        )
        for row in rows
    )


def claim(connection: Connection, one: Mail, *, now: datetime) -> bool:
    """
    Take a mail in hand to send it; False when somebody has it, or has tried it meanwhile.

    Who is killed between the sending and the marking leaves it claimed: it is sent once
    more, under the same Message-ID, by a run after `CLAIMED_FOR`.
    """
    same = (mail.c.id == one.id) & (mail.c.try_count == one.try_count)
    claimed = update(mail).where(same, _is_free(now)).values(claimed_at=now)
    return connection.execute(claimed).rowcount == 1


def mark_sent(connection: Connection, one: Mail) -> None:
    """Write that a mail has gone; what it said is not kept."""
    _mark(connection, one, {"state": SENT, "subject": "", "body": ""})


def mark_failed(connection: Connection, one: Mail) -> bool:
    """Write that a mail could not be sent; True when it is given up by that."""
    tries = one.try_count + 1
    state = GIVEN_UP if tries >= TRIES_MAX else WAITING
    marked = _mark(connection, one, {"state": state, "try_count": tries})
    return marked and state == GIVEN_UP


def _mark(connection: Connection, one: Mail, values: Mapping[str, object]) -> bool:
    """Let go of a mail; False when it waits no more, as one that somebody else has sent."""
    waits = (mail.c.id == one.id) & (mail.c.state == WAITING)
    marked = update(mail).where(waits).values(claimed_at=None, **values)
    return connection.execute(marked).rowcount == 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How mails stand: who wants any, what waits to be sent, what was given up lately."""

    wanting_count: int
    waiting_count: int
    given_up_count: int


def standing(connection: Connection) -> Standing:
    """Return how mails stand."""
    rows = connection.execute(select(mail.c.state, func.count()).group_by(mail.c.state))
    states: dict[str, int] = {state: count for state, count in rows}
    wanted = connection.scalar(select(func.count()).select_from(digest_choice))
    return Standing(
        wanting_count=wanted or 0,
        waiting_count=states.get(WAITING, 0),
        given_up_count=states.get(GIVEN_UP, 0),
    )
