"""Open the ledger on the first visit: the first two entries."""

from datetime import datetime
from zoneinfo import available_timezones

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
        zone: A name of the IANA time zone database: every time is told in it.
        card: The coordinator's card, see `coop.actions.write.card`.

    On a refusal of the second entry the first is written already: undo the unit of work.
    """
    if journal.state("ledger", LEDGER) is not None:
        return Refused(field="name", code="opened-already")
    if zone not in available_timezones():
        return Refused(field="zone", code="not-a-choice")
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
