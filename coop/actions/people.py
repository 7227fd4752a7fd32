"""Members: who there is, joining by an invitation, erasing a card."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from coop.actions.write import Draft, Outcome, Who, Written, write
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.kinds import AttachmentErased
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.states import DeviceState, MemberState

NAME_MAX = 60
INITIALS_MAX = 4


class ErasingJournal(Journal, Protocol):
    """A journal that can let go of an attachment's bytes."""

    def erase(self, name: str) -> None:
        """Remove an attachment's bytes; its name stays."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Roster:
    """Who is in, who was invited and has not come yet, who has left; the oldest first."""

    members: tuple[MemberState, ...]
    invited: tuple[MemberState, ...]
    left: tuple[MemberState, ...]


def roster(journal: Journal) -> Roster:
    """Return everybody the ledger knows."""
    everybody: Iterable[MemberState] = journal.listed("member", live=False)
    by_age = sorted(everybody, key=_age)
    return Roster(
        members=tuple(one for one in by_age if one.joined_at and not one.left_at),
        invited=tuple(one for one in by_age if not one.joined_at and not one.left_at),
        left=tuple(one for one in by_age if one.joined_at and one.left_at),
    )


def _age(one: MemberState) -> tuple[bool, float, str]:
    """Sort by joining; who was only invited comes last."""
    joined = one.joined_at.timestamp() if one.joined_at else 0.0
    return one.joined_at is None, joined, one.id


def join(
    journal: Journal,
    invited: MemberId,
    *,
    entry_id: EntryId,
    card: Attachment,
    now: datetime,
) -> Outcome:
    """Write that an invited member has joined, with a card; once, and not after leaving."""
    state: MemberState | None = journal.state("member", Subject(invited))
    if state is None or not state.roles or state.joined_at is not None:
        return Refused(field="member", code="not-known")
    journal.keep(card)
    return write(
        journal,
        Who(member=invited, roles=frozenset({"invited"})),
        Draft(id=entry_id, kind="member.joined", body={"member": invited, "card": card.name}),
        now=now,
    )


def switch_off_phones(
    journal: Journal, who: Who, left: MemberId, *, new_id: Callable[[], EntryId], now: datetime
) -> tuple[Subject, ...]:
    """Write that nothing is taken from the own phones of who left; return which those are."""
    on: Iterable[DeviceState] = journal.listed("device")
    own = [one.id for one in on if not one.shared and one.enrolled_by == left]
    for device in own:
        body = {"device": device, "reason": "member_left"}
        said = Draft(id=new_id(), kind="device.revoked", body=body)
        outcome = write(journal, who, said, now=now)
        assert isinstance(outcome, Written), outcome
    return tuple(own)


def erased(journal: ErasingJournal, outcome: Outcome) -> None:
    """Remove an attachment's bytes once the entry that says so stands."""
    if isinstance(outcome, Written):
        said = outcome.sealed.entry.content
        assert isinstance(said, AttachmentErased)
        journal.erase(said.attachment)
