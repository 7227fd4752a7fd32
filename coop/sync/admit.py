"""Whether what a device sends is taken in, by the one table that judges forms as well."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from coop.ids import MemberId
from coop.ledger.entries import Entry
from coop.ledger.schema import Refused
from coop.ledger.states import DeviceState
from coop.ledger.table import KINDS
from coop.people.may import may

OFFSET_MAX = timedelta(days=40 * 366)
CLOCK_OFF = timedelta(minutes=1)
"""A device whose clock is further off than this is named."""


def offset_ms(device_now: datetime, now: datetime) -> int:
    """
    Return how far a device's clock is ahead [ms]; beyond forty years as forty.

    A wrong clock is said, never a reason to refuse.
    """
    ahead = min(max(device_now - now, -OFFSET_MAX), OFFSET_MAX)
    return round(ahead / timedelta(milliseconds=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearer:
    """
    Who hands lines in, and answers for those that name others as their authors.

    Attributes:
        members: Whose own lines need no answering for.
        roles: What they may do: only who may sort out what waits brings lines of others.
    """

    members: frozenset[MemberId]
    roles: frozenset[str]


def why_it_waits(
    entry: Entry,
    device: DeviceState | None,
    roles: frozenset[str],
    *,
    own: bool,
    corrected: Iterable[str] = (),
    bearer: Bearer | None = None,
) -> Refused | None:
    """
    Say why an entry of a device's queue needs a person first; None lets it in.

    Args:
        device: Where it was written, as this server knows it; None when it does not.
        roles: What its author may do now; empty for who is unknown or has left.
        own: Whether it concerns only what is its author's own.
        corrected: The kinds of what it corrects: a correction asks no less than its target.
        bearer: Who handed it in, where that may be another than its author.
    """
    if any(KINDS[kind].signed_in_only for kind in (entry.kind, *corrected)):
        return Refused(field="kind", code="needs-a-page")
    if device is not None and device.revoked_at is not None:
        return Refused(field="device", code="device-revoked")
    if device is None or entry.author not in device.members:
        return Refused(field="author", code="not-on-this-device")
    if not roles:
        return Refused(field="author", code="has-left")
    if not may(roles, entry.kind, own=own):
        return Refused(field="kind", code="not-allowed")
    if bearer is not None and _is_beyond(bearer, entry):
        return Refused(field="author", code="handed-in")
    return None


def _is_beyond(bearer: Bearer, entry: Entry) -> bool:
    """Say whether it is another's, whose name anybody could have put there."""
    return entry.author not in bearer.members and not may(bearer.roles, "sort-out")
