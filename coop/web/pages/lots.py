"""A lot's page: what it is, until when it is good, where it went, and what was done with it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from coop.actions.see_counts import GapLook, open_gaps
from coop.actions.see_faults import see_faults
from coop.actions.see_lots import lot_entries, where_it_went
from coop.actions.see_prices import cost_of
from coop.actions.see_shelf import look_at_lots
from coop.ledger.states import LotState, StudioState
from coop.people.may import may
from coop.web import amounts, history
from coop.web.counting import counted_by
from coop.web.fault_charts import FaultsSaid, faults_said
from coop.web.hazard_words import card_url
from coop.web.history import Line
from coop.web.i18n import N_
from coop.web.lots import LotSaid, WentSaid, house_spoon, is_spooned, lot_said, much, went_said
from coop.web.page import desk, known, needs, show, who, words
from coop.web.storing import storing

pages = Blueprint("lots", __name__)

HISTORY_SHOWN: Final = 8
HISTORY_MAX: Final = 200
WAYS_SHOWN: Final = 12
"""So many ways out are told on a lot's own page, the older in one line."""
WAYS_MAX: Final = 1_000

Link = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPage:
    """
    One lot.

    Attributes:
        facts: (label, value); empty values are left out.
        links: What it came from, as (text, address).
        acts: What may be done with it, as (text, address).
        storing: How it is stored, a sentence each.
    """

    lot: LotSaid
    facts: tuple[tuple[str, str], ...]
    links: tuple[Link, ...]
    acts: tuple[Link, ...]
    went: WentSaid
    gone_url: str
    storing: tuple[str, ...]
    faults: FaultsSaid | None
    history: tuple[Line, ...]
    older_count: int


@pages.get("/lots/<lot>")
@needs("read")
def lot(lot: str) -> Response:
    state: LotState = known("lot", lot)
    journal = desk().journal
    (look,) = look_at_lots(journal, (state,))
    gap = _gap(state)
    said = lot_said(words(), look, spoon=house_spoon(), gap=gap)
    entries = history.items_of(lot_entries(journal, state.id))
    shown = entries[: HISTORY_MAX if request.args.get("all") == "1" else HISTORY_SHOWN]
    page = LotPage(
        lot=said,
        facts=tuple(_facts(state, said)),
        links=tuple(_links(state, look.what)),
        acts=tuple(_acts(state, gap)),
        went=went_said(words(), state, where_it_went(journal, state), gap=gap, most=WAYS_SHOWN),
        gone_url=f"/lots/{state.id}/gone",
        storing=storing(words(), look.what) if look.what != "supply" else (),
        faults=_faults(state),
        history=history.lines(shown),
        older_count=len(entries) - len(shown),
    )
    return show("lot.html", page=page, nav="shelf")


def _gap(lot: LotState) -> GapLook | None:
    """Return the open gap of a lot's newest count, if there is one."""
    return next(iter(open_gaps(desk().journal, (lot,))), None)


def _facts(lot: LotState, said: LotSaid) -> Iterator[tuple[str, str]]:
    journal = desk().journal
    studio: StudioState | None = journal.state("studio", lot.studio)
    seller = journal.state("supplier", lot.sold_by)
    yield words().gettext("On hand"), said.left
    yield words().gettext("What"), said.told
    yield words().gettext("Studio"), studio.name if studio else ""
    yield words().gettext("Received"), said.received
    yield words().gettext("Supplier"), seller.name if seller else lot.supplier
    yield words().gettext("Packs"), _packs(lot)
    yield words().gettext("Opened"), words().day(lot.opened_at) if lot.opened_at else ""
    yield words().gettext("Good"), said.good
    yield words().gettext("Empty tub"), _tare(lot)
    yield words().gettext("Last count"), _counted(lot)
    if lot.offcut_m2 is not None:
        yield words().gettext("Offcut"), amounts.area(words(), max(0.0, lot.offcut_m2), 2)
    if may(who().roles, "see-prices"):
        yield words().gettext("Price of all of it"), _price(lot)


def _price(lot: LotState) -> str:
    """Say what all of a lot cost; who sees prices and writes none reads who does."""
    cost = cost_of(desk().journal, lot)
    if cost is None:
        writes = may(who().roles, "lot.priced")
        return "" if writes else words().gettext("not written yet: the treasurer writes it")
    price = words().number(float(cost.price), 2)
    if cost.shared_of is None:
        return price
    return words().gettext(
        "%(price)s, its share of %(lot)s", price=price, lot=cost.shared_of.name
    )


def _packs(lot: LotState) -> str:
    if lot.pack_count == 1:
        return ""
    return words().gettext(
        "%(count)s of %(pack)s", count=lot.pack_count, pack=much(words(), lot, lot.pack)
    )


def _tare(lot: LotState) -> str:
    if lot.tare_g is None:
        return ""
    return amounts.weight(words(), lot.tare_g, 1)


def _counted(lot: LotState) -> str:
    if not lot.counts:
        return ""
    last = lot.counts[-1]
    return words().gettext(
        "%(much)s, %(counted)s",
        much=much(words(), lot, last.seen),
        counted=counted_by(last),
    )


def _links(lot: LotState, what: str) -> Iterator[Link]:
    """Give what a lot was a part of, was cut from, was ordered by, and its safety card."""
    of = desk().journal.states("lot", [one for one in (lot.part_of, lot.cut_from) if one])
    if lot.part_of in of:
        name = of[lot.part_of].name
        yield words().gettext("Part of %(lot)s", lot=name), f"/lots/{lot.part_of}"
    if lot.cut_from in of:
        name = of[lot.cut_from].name
        yield words().gettext("Cut from %(lot)s", lot=name), f"/lots/{lot.cut_from}"
    if lot.order:
        yield words().gettext("The order it came by"), f"/orders/{lot.order}"
    yield words().gettext("Its supply"), f"/supplies/{lot.substance}"
    card = card_url(what, salt=lot.salt, soda=lot.soda)
    if card:
        yield words().gettext("Safety card"), card


ACTS: Final = (
    ("open", "lot.opened", N_("Open it")),
    ("count", "lot.counted", N_("Count it")),
    ("spoons", "lot.spoon_weighed", N_("Weigh ten level spoons")),
    ("move", "lot.moved", N_("Move it")),
    ("cut", "lot.cut", N_("Cut sheets of it")),
    ("adjust", "set-up", N_("Put right what is left")),
    ("price", "lot.priced", N_("Write its price")),
)


def _acts(lot: LotState, gap: GapLook | None) -> Iterator[Link]:
    """Give what this person may do with this lot; what a count left open comes first."""
    if gap is not None:
        yield words().gettext("Say why the count differs"), f"/lots/{lot.id}/gap"
    left_out = {
        "open": lot.opened_at is not None or lot.what == "paper",
        "spoons": not is_spooned(lot),
        "cut": lot.what != "paper",
    }
    for code, act, text in ACTS:
        if may(who().roles, act) and not left_out.get(code, False):
            yield words().gettext(text), f"/lots/{lot.id}/{code}"


def _faults(lot: LotState) -> FaultsSaid | None:
    """Say how the sheets of a paper lot came out."""
    if lot.what != "paper":
        return None
    return faults_said(words(), see_faults(desk().journal, "lot", lot.id))


@dataclass(frozen=True, slots=True, kw_only=True)
class GonePage:
    """Every single way in and out of a lot."""

    lot: LotSaid
    went: WentSaid
    gone_url: str


@pages.get("/lots/<lot>/gone")
@needs("read")
def gone(lot: str) -> Response:
    state: LotState = known("lot", lot)
    journal = desk().journal
    (look,) = look_at_lots(journal, (state,))
    found = where_it_went(journal, state)
    page = GonePage(
        lot=lot_said(words(), look, spoon=house_spoon()),
        went=went_said(words(), state, found, gap=_gap(state), most=WAYS_MAX),
        gone_url="",
    )
    return show("lot_gone.html", page=page, nav="shelf")
