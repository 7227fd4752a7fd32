"""
What lets a member in: sign-in name, password hash, mail address. Never in the ledger.

Argon2id (RFC 9106) with t=2, 19 MiB, p=1: a row of the OWASP password storage cheat sheet.
"""

import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import VerifyMismatchError
from sqlalchemy import Connection, delete, select, update

from coop.ids import MemberId
from coop.store.common_passwords import is_common
from coop.store.engines import Busy
from coop.store.tables import member_secret
from coop.store.tokens import new_token

TIME_COST = 2
MEMORY_KIB = 19_456
PARALLELISM = 1
HASHES_AT_A_TIME = 2
HASH_WAIT_S = 10.0

NAME_CHARACTERS_MAX = 60
MAIL_CHARACTERS_MAX = 254  # RFC 3696, erratum 1690
PASSWORD_CHARACTERS_MIN = 10  # over the 8 of OWASP ASVS 5.0, 6.2.1
PASSWORD_CHARACTERS_MAX = 200  # ASVS 5.0, 6.2.9 asks for at least 64


class HashingBusy(Busy):
    """Too many passwords are being checked at this moment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberSecret:
    """What this server keeps of a member beside the ledger; the name is folded."""

    member: MemberId
    sign_in_name: str
    mail: str | None
    password_hash: str
    changed_at: datetime


class Passwords:
    """
    Hashes and checks passwords, at most two at a time, so that a small machine stays usable.

    An unknown name costs the same work as a known one: it is checked against a stand-in.
    """

    def __init__(self, *, time_cost: int = TIME_COST, memory_kib: int = MEMORY_KIB) -> None:
        self._hasher = PasswordHasher(
            time_cost=time_cost, memory_cost=memory_kib, parallelism=PARALLELISM
        )
        self._turns = BoundedSemaphore(HASHES_AT_A_TIME)
        self._stand_in = self._hasher.hash(new_token())

    def hash(self, password: str) -> str:
        with self._turn():
            return self._hasher.hash(_composed(password))

    def check(self, stored: str | None, password: str) -> bool:
        """Say whether a password belongs to a stored hash; None for an unknown name."""
        with self._turn():
            try:
                self._hasher.verify(stored or self._stand_in, _composed(password))
            except VerifyMismatchError:
                return False
        return stored is not None

    def is_outdated(self, stored: str) -> bool:
        """Say whether a hash was made with other parameters and should be made anew."""
        return self._hasher.check_needs_rehash(stored)

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._turns.acquire(timeout=HASH_WAIT_S):
            raise HashingBusy("checking passwords")
        try:
            yield
        finally:
            self._turns.release()


def _composed(password: str) -> bytes:
    """Give one form to what keyboards type in several; the limit bounds the work."""
    composed = unicodedata.normalize("NFC", password[: PASSWORD_CHARACTERS_MAX + 1])
    return composed.encode("utf-8", "surrogatepass")


def password_refusal(password: str, *, sign_in_name: str) -> str | None:
    """Say why a new password will not do, as a code; None when it will."""
    if len(password) < PASSWORD_CHARACTERS_MIN:
        return "password-too-short"
    if len(password) > PASSWORD_CHARACTERS_MAX:
        return "password-too-long"
    if folded(password) == folded(sign_in_name):
        return "password-is-the-name"
    return "password-is-common" if is_common(password) else None


def folded(sign_in_name: str) -> str:
    """Return the one form under which a sign-in name is kept and looked up."""
    composed = unicodedata.normalize("NFKC", sign_in_name[: NAME_CHARACTERS_MAX + 1])
    return unicodedata.normalize("NFKC", composed.casefold()).strip()


def name_refusal(sign_in_name: str) -> str | None:
    """Say why a new sign-in name will not do, as a code; None when it will."""
    name = folded(sign_in_name)
    if not name:
        return "sign-in-name-missing"
    if len(sign_in_name) > NAME_CHARACTERS_MAX or len(name) > NAME_CHARACTERS_MAX:
        return "sign-in-name-too-long"
    return None if name.isprintable() else "sign-in-name-unprintable"


def add(connection: Connection, secret: MemberSecret) -> bool:
    """Let a new member in; False, with nothing written, when the name is taken."""
    if find_by_name(connection, secret.sign_in_name) is not None:
        return False
    values = {name: getattr(secret, name) for name in MemberSecret.__dataclass_fields__}
    values["sign_in_name"] = folded(secret.sign_in_name)
    connection.execute(member_secret.insert().values(values))
    return True


def find_by_name(connection: Connection, sign_in_name: str) -> MemberSecret | None:
    """Return the member of a sign-in name, however it is written."""
    where = member_secret.c.sign_in_name == folded(sign_in_name)
    row = connection.execute(select(member_secret).where(where)).first()
    return None if row is None else MemberSecret(**row._asdict())


def is_anybody(connection: Connection) -> bool:
    """Say whether anybody can sign in."""
    return connection.scalar(select(member_secret.c.member).limit(1)) is not None


def find(connection: Connection, member: MemberId) -> MemberSecret | None:
    """Return what this server keeps of a member."""
    where = member_secret.c.member == member
    row = connection.execute(select(member_secret).where(where)).first()
    return None if row is None else MemberSecret(**row._asdict())


def rename(
    connection: Connection, member: MemberId, sign_in_name: str, *, now: datetime
) -> bool:
    """Change a member's sign-in name; False, with nothing written, when it is taken."""
    holder = find_by_name(connection, sign_in_name)
    if holder is not None and holder.member != member:
        return False
    _change(connection, member, now, sign_in_name=folded(sign_in_name))
    return True


def _change(
    connection: Connection, member: MemberId, now: datetime, **values: str | None
) -> None:
    where = member_secret.c.member == member
    connection.execute(update(member_secret).where(where).values(changed_at=now, **values))


def set_password_hash(
    connection: Connection, member: MemberId, password_hash: str, *, now: datetime
) -> None:
    """Put a new password hash in place of the old; ending sessions is the caller's."""
    _change(connection, member, now, password_hash=password_hash)


def renew_hash(connection: Connection, secret: MemberSecret, password_hash: str) -> None:
    """Store the same password under newer parameters, unless it was changed meanwhile."""
    connection.execute(
        update(member_secret)
        .where(
            member_secret.c.member == secret.member,
            member_secret.c.password_hash == secret.password_hash,
        )
        .values(password_hash=password_hash)
    )


def set_mail(
    connection: Connection, member: MemberId, mail: str | None, *, now: datetime
) -> None:
    """Set or take away a member's mail address."""
    _change(connection, member, now, mail=mail)


def remove(connection: Connection, member: MemberId) -> None:
    """Forget what let a member in; what they wrote stays in the ledger."""
    connection.execute(delete(member_secret).where(member_secret.c.member == member))
