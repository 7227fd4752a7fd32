"""What is asked before other content is put in an entry's place: no less than at first."""

from collections.abc import Iterable
from dataclasses import replace

from coop.actions.ask_about_stock import about_stock
from coop.ids import EntryId, MemberId, Subject
from coop.ledger import kinds
from coop.ledger.entries import Entry, read_content
from coop.ledger.force import Resolved, resolve
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused
from coop.ledger.states import MemberState
from coop.ledger.table import KINDS, target

BODY = "content.body"


def standing_of(journal: Journal, said: kinds.EntryCorrected) -> Resolved:
    """Return what is to be corrected as it stands, or that it is struck."""
    corrections = (
        one
        for one in journal.touching(target(said.target))
        if isinstance(one.entry.content, kinds.EntryCorrected)
    )
    return resolve((*journal.by_id(EntryId(said.target)), *corrections))


def as_it_would_stand(said: kinds.EntryCorrected, original: Entry) -> Entry:
    """
    Return the entry that a replacement or a restoration makes of the original.

    Raises:
        Slip: The body is not in the form of its kind.
    """
    if said.content is None:
        return original
    return replace(
        original,
        content=read_content(KINDS[original.kind], said.content.body, BODY),
        author=MemberId(said.content.author),
        happened_at=said.content.happened_at,
    )


def about_author(
    journal: Journal,
    said: kinds.EntryCorrected,
    targets: Iterable[Entry],
    roles: frozenset[str],
) -> Refused | None:
    """Keep an entry its author's; only a coordinator says that it was another member."""
    if said.content is None:
        return None
    author = said.content.author
    if author in {Subject(one.author) for one in targets} or author in _named(
        journal, said.target
    ):
        return None
    may_say = "coordinator" in roles and is_known(journal.state("member", author))
    return None if may_say else Refused(field="content.author", code="not-allowed")


def _named(journal: Journal, entry: Subject) -> set[Subject]:
    """Return who was named as the author by corrections that are sealed."""
    said = (one.entry.content for one in journal.touching(target(entry)))
    return {
        one.content.author
        for one in said
        if isinstance(one, kinds.EntryCorrected) and one.content is not None
    }


def is_known(state: object) -> bool:
    """Say whether there is such a thing; a member is, once invited."""
    if isinstance(state, MemberState):
        return bool(state.roles) or state.joined_at is not None
    return state is not None


def about_stock_again(
    journal: Journal, again: Entry, before: kinds.Content | None, roles: frozenset[str]
) -> Refused | None:
    """
    Ask of what is put in place what its first writing was asked.

    Args:
        before: What stands now; None where it is struck, so that stock is without it.
    """
    match again.content, before:
        case kinds.LotAdjusted() as said, kinds.LotAdjusted() as first:
            return _adjusted_again(journal, again, replace(said, note=first.note), first, roles)
        case kinds.OrderCancelled() as said, kinds.OrderCancelled() as first:
            same = said.order == first.order  # its own cancelling has closed it
            return None if same else about_stock(journal, again, roles)
        case kinds.SupplyDescribed() as said, _:
            return about_stock(journal, replace(again, content=_edition(again, said)), roles)
        case _:
            return about_stock(journal, again, roles)


def _adjusted_again(
    journal: Journal,
    again: Entry,
    said: kinds.LotAdjusted,
    first: kinds.LotAdjusted,
    roles: frozenset[str],
) -> Refused | None:
    """Let a member take noise out and write it anew: while it stands there is no gap."""
    if "coordinator" in roles:
        return about_stock(journal, again, roles)
    field = "amount" if said.count is None else "count"
    return None if said == first else Refused(field=field, code="not-allowed")


def _edition(again: Entry, said: kinds.SupplyDescribed) -> kinds.SupplyDescribed:
    """Name the supply that a first edition made, so that it is held to its measure."""
    made = said.what in kinds.OTHER_SUPPLIES and said.supply is None
    return replace(said, supply=Subject(again.id)) if made else said
