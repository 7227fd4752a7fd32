"""Shelf: what is left of everything, how long it lasts, and every lot there ever was."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, abort, request
from werkzeug.wrappers import Response

from coop.actions.see_counts import open_gaps
from coop.actions.see_orders import Use, see_uses
from coop.actions.see_shelf import LotLook, StudioShelf, look_at_lots, see_shelf
from coop.ids import Subject
from coop.ledger.states import LotState, SupplyState
from coop.rules.storage import STORAGE
from coop.web.i18n import N_
from coop.web.lots import LotSaid, house_spoon, lot_said
from coop.web.page import desk, needs, show, today, words
from coop.web.stock import amount_text, lasts_text, supply_name
from coop.web.storing import standing_apart

pages = Blueprint("shelf", __name__)

GROUP_SHOWN: Final = 12
"""Of so many lots of one group in a studio all are shown at once."""
LOTS_SHOWN: Final = 50

GROUPS: Final = (
    ("alum", N_("Alum")),
    ("powders", N_("Powders")),
    ("paper", N_("Paper")),
    ("others", N_("Other supplies")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lots of one kind in a studio, the oldest first; `more_url` has those left out."""

    title: str
    lots: tuple[LotSaid, ...]
    more_count: int
    more_url: str


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
    """The shelves; `supplies` are those of the lots that are shown."""

    studios: tuple[StudioRows, ...]
    supplies: tuple[SupplyRow, ...]


@pages.get("/shelf")
@needs("read")
def shelf() -> Response:
    shelves = see_shelf(desk().journal)
    every = [look for one in shelves for look in one.every]
    shown = [look for one in shelves for name, _ in GROUPS for look in _of(one, name)]
    say = _sayer(shown)
    page = ShelfPage(
        studios=tuple(_studio(one, say) for one in shelves),
        supplies=_supplies(shown, every),
    )
    return show("shelf.html", page=page, nav="shelf")


def _of(shelf: StudioShelf, group: str) -> tuple[LotLook, ...]:
    """Return the lots of a group that are shown at once."""
    looks: tuple[LotLook, ...] = getattr(shelf, group)
    return looks[:GROUP_SHOWN]


def _sayer(looks: Sequence[LotLook]) -> Callable[[LotLook], LotSaid]:
    """Return what says these lots, their open counts read at once."""
    gaps = open_gaps(desk().journal, [look.lot for look in looks])
    by_lot = {one.lot.id: one for one in gaps}
    spoon = house_spoon()
    return lambda look: lot_said(words(), look, spoon=spoon, gap=by_lot.get(look.lot.id))


def _studio(one: StudioShelf, say: Callable[[LotLook], LotSaid]) -> StudioRows:
    whats = {look.what for look in one.every} & STORAGE.keys()
    groups = tuple(
        Group(
            title=words().gettext(title),
            lots=tuple(say(look) for look in _of(one, name)),
            more_count=len(getattr(one, name)) - len(_of(one, name)),
            more_url=f"/shelf/lots?studio={one.studio.id}&of={name}",
        )
        for name, title in GROUPS
        if getattr(one, name)
    )
    return StudioRows(
        id=one.studio.id,
        name=one.studio.name,
        groups=groups,
        apart=standing_apart(words(), whats),
    )


def _supplies(shown: Iterable[LotLook], every: Iterable[LotLook]) -> tuple[SupplyRow, ...]:
    """Say of each supply that is shown how much there is of it, and how long it lasts."""
    of = {look.supply.id: look for look in shown if look.supply is not None}
    left: dict[Subject, int] = dict.fromkeys(of, 0)
    usable: dict[Subject, int] = dict.fromkeys(of, 0)
    for look in every:
        if look.lot.substance in left:
            left[look.lot.substance] += look.left
            usable[look.lot.substance] += look.usable(today())
    uses = see_uses(desk().journal, tuple(of), today=today())
    rows = (_supply(look, left[one], usable[one], uses[one]) for one, look in of.items())
    return tuple(sorted(rows, key=lambda row: row.name.casefold()))


def _supply(look: LotLook, left: int, usable: int, use: Use) -> SupplyRow:
    supply = look.supply
    assert supply is not None
    return SupplyRow(
        name=supply_name(words(), supply, look.paper),
        url=f"/supplies/{supply.id}",
        left=amount_text(words(), supply.what, supply.measure, left),
        lasts=_lasts(supply, left, usable, use.per_week),
    )


def _lasts(supply: SupplyState, left: int, usable: int, per_week: float) -> str:
    """Say how long it lasts, and how much of it counts where some is spoiled or gels."""
    lasts = lasts_text(words(), supply, usable, per_week)
    if usable == left:
        return lasts
    amount = amount_text(words(), supply.what, supply.measure, usable)
    if not lasts:
        return words().gettext("%(amount)s of it can be used", amount=amount)
    return words().gettext(
        "%(amount)s of it can be used: %(lasts)s", amount=amount, lasts=lasts
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LotsPage:
    """
    Lots of one studio or all, page by page, and the addresses of the other pages.

    Attributes:
        title: Which lots these are: those of a group that are not used up, or all.
        studios: (name, address, whether it is this one) of what may be looked at.
    """

    title: str
    lots: tuple[LotSaid, ...]
    studios: tuple[tuple[str, str, bool], ...]
    before: str
    after: str


@pages.get("/shelf/lots")
@needs("read")
def lots() -> Response:
    """Show the lots of a group that are not used up; without a group all there ever were."""
    studio, group = request.args.get("studio", ""), request.args.get("of", "")
    if group not in ("", *dict(GROUPS)):
        abort(404)
    at = max(1, request.args.get("page", 1, type=int))
    count, looks = _open_lots(studio, group, at) if group else _all_lots(studio, at)
    say = _sayer(looks)
    here = {"studio": studio, "of": group}
    page = LotsPage(
        title=words().gettext(dict(GROUPS)[group])
        if group
        else words().gettext("All lots, used up ones too"),
        lots=tuple(say(look) for look in looks),
        studios=tuple(
            (name, _url(here | {"studio": one}, 1), one == studio)
            for one, name in (
                ("", words().gettext("All studios")),
                *((one.id, one.name) for one in desk().journal.listed("studio")),
            )
        ),
        before=_url(here, at - 1) if at > 1 else "",
        after=_url(here, at + 1) if count > at * LOTS_SHOWN else "",
    )
    return show("lots.html", page=page, nav="shelf")


def _open_lots(studio: str, group: str, at: int) -> tuple[int, tuple[LotLook, ...]]:
    """Return how many lots of a group are not used up, and a page of them, the oldest first."""
    found = [
        look
        for one in see_shelf(desk().journal)
        if studio in ("", one.studio.id)
        for look in getattr(one, group)
    ]
    return len(found), tuple(found[(at - 1) * LOTS_SHOWN : at * LOTS_SHOWN])


def _all_lots(studio: str, at: int) -> tuple[int, tuple[LotLook, ...]]:
    """Return how many lots there ever were, and a page of them, the newest first."""
    journal = desk().journal
    every: Iterable[LotState] = journal.listed("lot", live=False)
    found = sorted(
        (lot for lot in every if studio in ("", lot.studio)),
        key=lambda lot: (lot.received_at, lot.id),
        reverse=True,
    )
    looks = look_at_lots(journal, tuple(found[(at - 1) * LOTS_SHOWN : at * LOTS_SHOWN]))
    return len(found), looks[::-1]


def _url(asked: Mapping[str, str], number: int) -> str:
    said = {key: one for key, one in asked.items() if one} | {"page": str(number)}
    return f"/shelf/lots?{urlencode(said)}"
