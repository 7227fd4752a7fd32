"""Look at supplies: what the house says of each, and what an order learned of it."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coop.actions.see_shelf import lots_on_hand
from coop.actions.set_up import content_of
from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.kinds import POWDERS, SALTS, SUPPLIES, OrderPlaced, SupplyDescribed
from coop.ledger.ports import Journal
from coop.ledger.states import OrderState, PaperState, SupplierState, SupplyState
from coop.ledger.supplies import group_of, measure_of
from coop.rules.orders import lead_days_learned


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyLook:
    """
    A supply, with the paper and the supplier that it names.

    `lead_days` is how long it takes to arrive by its last orders, None before the first.
    """

    supply: SupplyState
    paper: PaperState | None
    supplier: SupplierState | None

    @property
    def lead_days(self) -> int | None:
        return lead_days_learned(self.supply.arrival_days, written=self.written_days)

    @property
    def written_days(self) -> int | None:
        """How long it takes to arrive as somebody wrote, of it or of its supplier."""
        own = self.supply.days_to_arrive
        return self.supplier.days_to_arrive if own is None and self.supplier else own

    @property
    def group(self) -> str:
        """What its lots are of: alum, paper, a powder, or `supply`."""
        return group_of(self.supply.what)


def see_supplies(journal: Journal) -> tuple[SupplyLook, ...]:
    """Return every supply that came in, was ordered or was described: alum first."""
    papers = {one.id: one for one in journal.listed("paper", live=False)}
    suppliers = {one.id: one for one in journal.listed("supplier", live=False)}
    looks = [
        SupplyLook(
            supply=one,
            paper=papers.get(one.paper) if one.paper else None,
            supplier=suppliers.get(one.sold_by) if one.sold_by else None,
        )
        for one in journal.listed("supply")
    ]
    return tuple(sorted(looks, key=_place))


def _place(look: SupplyLook) -> tuple[int, str, str]:
    supply = look.supply
    name = look.paper.name if look.paper else supply.name
    return SUPPLIES.index(supply.what), name.casefold(), supply.id


def see_supply(journal: Journal, key: str) -> SupplyLook | None:
    """
    Return a supply by its key, None where there is none.

    A salt, a powder or a paper is one before anybody said anything of it.
    """
    state: SupplyState | None = journal.state("supply", Subject(key)) or _by_name(journal, key)
    if state is None:
        return None
    return SupplyLook(
        supply=state,
        paper=journal.state("paper", state.paper),
        supplier=journal.state("supplier", state.sold_by),
    )


def _by_name(journal: Journal, key: str) -> SupplyState | None:
    of = Subject(key.partition(":")[2])
    unsaid = _unsaid(of, journal.state("paper", of) if key == accounts.paper(of) else None)
    return next((one for one in unsaid if one.id == key), None)


def _unsaid(of: str, paper: PaperState | None) -> Iterator[SupplyState]:
    """Give the salt, the powder and the paper that go by a name, as nobody has said more."""
    if of in SALTS:
        yield _plain(accounts.salt(of), "alum", salt=of)
    if of in POWDERS:
        yield _plain(accounts.powder(of), of)
    if paper is not None:
        yield _plain(accounts.paper(paper.id), "paper", paper=paper.id)


def _plain(
    key: str, what: str, *, salt: str | None = None, paper: Subject | None = None
) -> SupplyState:
    return SupplyState(
        id=Subject(key), what=what, salt=salt, paper=paper, measure=measure_of(what)
    )


def not_yet_there(journal: Journal) -> tuple[SupplyLook, ...]:
    """Return salts, powders and papers of which nothing came in or was said yet."""
    papers: tuple[PaperState, ...] = journal.listed("paper")
    looks = [
        SupplyLook(supply=supply, paper=paper, supplier=None)
        for of, paper in (
            *((code, None) for code in (*SALTS, *POWDERS)),
            *(("", one) for one in papers),
        )
        for supply in _unsaid(of, paper)
    ]
    there = journal.states("supply", [look.supply.id for look in looks])
    return tuple(look for look in looks if look.supply.id not in there)


def said_of_supply(journal: Journal, supply: SupplyState) -> SupplyDescribed | None:
    """Return the edition of a supply as it was typed; None while there is none."""
    if supply.edition is None:
        return None
    said = content_of(journal, supply.id, supply.edition)
    assert isinstance(said, SupplyDescribed)
    return said


def said_of_order(journal: Journal, order: OrderState) -> OrderPlaced:
    """Return an order as it was typed."""
    in_force = journal.view().resolved(order.id).in_force
    said = next(one.content for one in in_force if Subject(one.id) == order.id)
    assert isinstance(said, OrderPlaced)
    return said


def whats_on_hand(journal: Journal) -> Mapping[Subject, frozenset[str]]:
    """Return what stands in each studio, as codes of `coop.ledger.kinds.SUPPLIES`."""
    looks = lots_on_hand(journal)
    others = [look.lot.substance for look in looks if look.lot.what == "supply"]
    described = journal.states("supply", others)
    found: dict[Subject, set[str]] = defaultdict(set)
    for look in looks:
        lot = look.lot
        of = described.get(lot.substance)
        found[lot.studio].add(of.what if of else lot.what)
    return {studio: frozenset(whats) for studio, whats in found.items()}
