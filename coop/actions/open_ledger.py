"""Prepare an empty database for a ledger, and open the ledger on the first visit."""

from datetime import datetime

from coop.actions.write import Draft, Outcome, Who, write
from coop.ids import EntryId, MemberId
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.table import LEDGER


def open_ledger(
    journal: Journal,
    *,
    entry_ids: tuple[EntryId, EntryId],
    member: MemberId,
    name: str,
    zone: str,
    card: Attachment,
    now: datetime,
) -> Outcome:
    """
    Write the first two entries: the ledger is opened, its first coordinator has joined.

    Args:
        entry_ids: Ids of the two entries, made when the page was shown.
        card: The coordinator's card, see `coop.actions.write.card`.
    """
    if journal.state("ledger", LEDGER) is not None:
        return Refused(field="name", code="opened-already")
    first = Who(member=member, roles=frozenset({"opening"}))
    opened = write(
        journal,
        first,
        Draft(
            id=entry_ids[0],
            kind="ledger.opened",
            body={"name": name, "zone": zone, "coordinator": member},
        ),
        now=now,
    )
    if isinstance(opened, Refused):
        return opened
    journal.keep(card)
    return write(
        journal,
        first,
        Draft(
            id=entry_ids[1],
            kind="member.joined",
            body={"member": member, "card": card.name},
        ),
        now=now,
    )
