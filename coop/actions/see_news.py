"""Look at what others wrote after a page was shown."""

from dataclasses import dataclass

from coop.actions.see_since import Doings, bath_of, baths_of, doings
from coop.ids import MemberId, Subject
from coop.ledger.entries import Entry
from coop.ledger.force import InForce, resolve
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Journal

READ_MAX = 50
NEWS_SHOWN = 3

# What is told although it is about no bath: it changes what stands on the shelf or the house.
BESIDE = frozenset(
    {
        "lot.received", "lot.moved", "lot.adjusted", "lot.cut", "lot.spoon_weighed",
        "order.placed", "order.cancelled",
        "instrument.checked", "sheets.sorted", "studio.described", "vessel.described",
        "paper.described", "recipe.published", "limits.set", "jug.found", "jug.known",
        "jar.vouched", "waste.collected", "mishap.noted", "rules.published",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """
    What is new.

    Attributes:
        head: The number of the newest entry, one's own ones counted.
        told: What others did, the newest first: to a bath, or in one entry about none; an
            entry that corrects an older one stands as it is.
        more_count: How many there are besides.
    """

    head: int
    told: tuple[Doings | InForce | Entry, ...] = ()
    more_count: int = 0


def see_news(journal: Journal, member: MemberId, *, after: int) -> News:
    """Return what others wrote after a number of this node's chain; often that is nothing."""
    sealed = journal.after(after, most=READ_MAX)
    if not sealed:
        return News(head=after)
    resolved = resolve(sealed)
    others = [one for one in resolved.in_force if one.author != member]
    found: list[tuple[int, Doings | InForce | Entry]] = [
        (one.seq, one) for one in doings(others, baths_of(journal, map(bath_of, others)))
    ]
    found += [
        (one.original.first.seq, one)
        for one in others
        if one.kind in BESIDE and bath_of(one) is None
    ]
    new = {Subject(one.entry.id) for one in sealed if one.entry.author != member}
    found += [
        (one.first.seq, one.entry)
        for one in sealed
        if isinstance(one.entry.content, EntryCorrected)
        and one.entry.author != member
        and one.entry.content.target not in new
    ]
    found.sort(key=lambda one: one[0], reverse=True)
    told = tuple(one for _, one in found)
    return News(
        head=sealed[0].first.seq,
        told=told[:NEWS_SHOWN],
        more_count=len(told[NEWS_SHOWN:]),
    )
