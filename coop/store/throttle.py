"""
How often something may be tried: a count per key and window, over all processes.

The key is stored as a hash: people type passwords into the name field by mistake.
The limits are common practice, no source.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from ipaddress import IPv6Address, ip_address, ip_network
from math import ceil

from sqlalchemy import Connection, delete, select, update

from coop.store.tables import throttle

WINDOW = timedelta(minutes=15)
ACCOUNT_SIGN_INS_MAX = 10
ADDRESS_SIGN_INS_MAX = 30
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ONE_HOUSEHOLD_BITS = 64  # one subscriber holds at least a /64: RFC 6177


@dataclass(frozen=True, slots=True)
class Throttled:
    """Tried too often; the same may be tried again after a while."""

    retry_after_s: int


@dataclass(frozen=True, slots=True)
class Try:
    """One thing that is counted: its key and how often a window allows it."""

    key: str
    most: int


def by_account(sign_in_name: str) -> Try:
    """Count sign-ins to one account, given the folded name; it need not exist."""
    return Try(_hashed("account", sign_in_name), ACCOUNT_SIGN_INS_MAX)


def by_address(address: str) -> Try:
    """Count sign-ins from one network address; an IPv6 one by its first 64 bits."""
    return Try(_hashed("address", _household(address)), ADDRESS_SIGN_INS_MAX)


def by_calendar_address(address: str) -> Try:
    """Count wrong secrets of calendars from one network address, as sign-ins are."""
    return Try(_hashed("calendar", _household(address)), ADDRESS_SIGN_INS_MAX)


def _hashed(sort: str, text: str) -> str:
    return sha256(f"{sort}\0{text}".encode("utf-8", "surrogatepass")).hexdigest()


def _household(address: str) -> str:
    try:
        parsed = ip_address(address)
    except ValueError:
        return address
    if not isinstance(parsed, IPv6Address):
        return str(parsed)
    if parsed.ipv4_mapped is not None:
        return str(parsed.ipv4_mapped)
    return str(ip_network((int(parsed), _ONE_HOUSEHOLD_BITS), strict=False))


def count_try(connection: Connection, one: Try, now: datetime) -> Throttled | None:
    """
    Count one try before it is made; returns a refusal, which counts nothing.

    Runs in a unit of work that is kept either way, so two at once cannot both be the last.
    """
    start = _window_start(now)
    connection.execute(delete(throttle).where(throttle.c.window_start < start))
    refused = tried_too_often(connection, one, now)
    if refused is not None:
        return refused
    row = (throttle.c.key == one.key, throttle.c.window_start == start)
    counted = connection.execute(
        update(throttle).where(*row).values(count=throttle.c.count + 1)
    )
    if counted.rowcount == 0:
        values = {"key": one.key, "window_start": start, "count": 1}
        connection.execute(throttle.insert().values(values))
    return None


def tried_too_often(connection: Connection, one: Try, now: datetime) -> Throttled | None:
    """Say whether no try is left in this window; counts nothing and needs no writer."""
    start = _window_start(now)
    row = (throttle.c.key == one.key, throttle.c.window_start == start)
    count = connection.scalar(select(throttle.c.count).where(*row)) or 0
    if count < one.most:
        return None
    return Throttled(retry_after_s=ceil((start + WINDOW - now).total_seconds()))


def _window_start(now: datetime) -> datetime:
    return now - (now - _EPOCH) % WINDOW


def give_back(connection: Connection, one: Try, now: datetime) -> None:
    """Take a try off the count again: it was a good one."""
    connection.execute(
        update(throttle)
        .where(
            throttle.c.key == one.key,
            throttle.c.window_start == _window_start(now),
            throttle.c.count > 0,
        )
        .values(count=throttle.c.count - 1)
    )
