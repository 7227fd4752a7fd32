"""Shelf: what is left of everything, how long it lasts, and every lot there ever was."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from coop.actions.see_counts import GapLook, open_gaps
from coop.actions.see_orders import OrderLine, see_order_lines
from coop.actions.see_shelf import LotLook, StudioShelf, look_at_lots, see_shelf
from coop.ids import Subject
from coop.ledger.states import LotState, StudioState
from coop.rules.storage import STORAGE
from coop.web.i18n import N_
from coop.web.lots import LotSaid, house_spoon, lot_said
from coop.web.page import desk, needs, now, show, words, zone
from coop.web.stock import amount_text, supply_name
from coop.web.storing import standing_apart

pages = Blueprint("shelf", __name__)

GROUP_SHOWN: Final = 12
"""Of so many lots of one group in a studio all are shown at once."""
LOTS_SHOWN: Final = 50
WEEKS_TOLD_MAX: Final = 104
"""What lasts longer than this many weeks is said to last for years."""

GROUPS: Final = (
    ("alum", N_("Alum")),
    ("powders", N_("Powders")),
    ("paper", N_("Paper")),
    ("others", N_("Other supplies")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lots of one kind in a studio; `more` are folded away."""

    title: str
    lots: tuple[LotSaid, ...]
    more: tuple[LotSaid, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRows:
    """One studio's shelf; `apart` says what must not stand together there."""

    id: str
    name: str
    groups: tuple[Group, ...]
    apart: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyRow:
    """A supply in all studios together, and how long it lasts."""

    name: str
    url: str
    left: str
    lasts: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfPage:
    studios: tuple[StudioRows, ...]
    supplies: tuple[SupplyRow, ...]


@pages.get("/shelf")
@needs("read")
def shelf() -> Response:
    journal = desk().journal
    shelves = see_shelf(journal)
    looks = [look for one in shelves for look in one.every]
    gaps = {one.lot.id: one for one in open_gaps(journal, [look.lot for look in looks])}
    spoon = house_spoon()
    page = ShelfPage(
        studios=tuple(_studio(one, gaps, spoon) for one in shelves),
        supplies=_supplies(looks),
    )
    return show("shelf.html", page=page, nav="shelf")


def _studio(one: StudioShelf, gaps: Mapping[Subject, GapLook], spoon: str) -> StudioRows:
    groups = []
    for name, title in GROUPS:
        looks: tuple[LotLook, ...] = getattr(one, name)
        said = tuple(
            lot_said(words(), look, spoon=spoon, gap=gaps.get(look.lot.id)) for look in looks
        )
        if said:
            title = words().gettext(title)
            lots, more = said[:GROUP_SHOWN], said[GROUP_SHOWN:]
            groups.append(Group(title=title, lots=lots, more=more))
    whats = {look.what for look in one.every} & STORAGE.keys()
    return StudioRows(
        id=one.studio.id,
        name=one.studio.name,
        groups=tuple(groups),
        apart=standing_apart(words(), whats),
    )


def _supplies(looks: Iterable[LotLook]) -> tuple[SupplyRow, ...]:
    """Say of each supply that is on a shelf how much there is of it, and how long it lasts."""
    found = {look.supply.id: look.supply for look in looks if look.supply is not None}
    lines = see_order_lines(desk().journal, tuple(found.values()), now=now(), zone=zone())
    return tuple(sorted((_supply(line) for line in lines), key=lambda row: row.name.casefold()))


def _supply(line: OrderLine) -> SupplyRow:
    supply, left = line.supply, line.facts.on_hand
    return SupplyRow(
        name=supply_name(words(), supply, line.paper),
        url=f"/supplies/{supply.id}",
        left=amount_text(words(), supply.what, supply.measure, left),
        lasts=_lasts(line, left),
    )


def _lasts(line: OrderLine, left: int) -> str:
    """Say how many weeks it lasts by the use of the last weeks, booked sessions apart."""
    per_week = line.use.per_week
    if per_week <= 0 or left <= 0:
        return ""
    supply, weeks = line.supply, left / per_week
    rate = amount_text(words(), supply.what, supply.measure, round(per_week))
    if weeks > WEEKS_TOLD_MAX:
        return words().gettext("for years at %(rate)s a week", rate=rate)
    if weeks < 1:
        return words().gettext("less than a week at %(rate)s a week", rate=rate)
    return words().ngettext(
        "about %(num)d week at %(rate)s a week",
        "about %(num)d weeks at %(rate)s a week",
        round(weeks),
        rate=rate,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AllLotsPage:
    """Lots of every age, the newest first, used up ones too; addresses of the other pages."""

    lots: tuple[LotSaid, ...]
    studios: tuple[tuple[str, str, bool], ...]
    newer: str
    older: str


@pages.get("/shelf/lots")
@needs("read")
def lots() -> Response:
    journal = desk().journal
    studios: tuple[StudioState, ...] = journal.listed("studio")
    chosen = request.args.get("studio", "")
    at = max(1, request.args.get("page", 1, type=int))
    every: Iterable[LotState] = journal.listed("lot", live=False)
    found = sorted(
        (lot for lot in every if chosen in ("", lot.studio)),
        key=lambda lot: (lot.received_at, lot.id),
        reverse=True,
    )
    start = (at - 1) * LOTS_SHOWN
    looks = look_at_lots(journal, tuple(found[start : start + LOTS_SHOWN]))
    spoon = house_spoon()
    page = AllLotsPage(
        lots=tuple(lot_said(words(), look, spoon=spoon) for look in reversed(looks)),
        studios=(
            (words().gettext("All studios"), _page_of("", 1), not chosen),
            *((one.name, _page_of(one.id, 1), one.id == chosen) for one in studios),
        ),
        newer=_page_of(chosen, at - 1) if at > 1 else "",
        older=_page_of(chosen, at + 1) if len(found) > start + LOTS_SHOWN else "",
    )
    return show("lots.html", page=page, nav="shelf")


def _page_of(studio: str, number: int) -> str:
    return f"/shelf/lots?studio={studio}&page={number}"
