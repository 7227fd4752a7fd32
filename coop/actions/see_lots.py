"""Look at one lot: where it went, with no blank, what was done with it, what can be cut."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from coop.actions.see_entries import BathEntries, entries_of
from coop.actions.see_shelf import look_at_lots, lots_on_hand
from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.accounts import Move
from coop.ledger.lots import grain_of_cut
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState
from coop.rules.one_tub import NOT_KNOWN, are_alike
from coop.science.paper import sheets_out_of

NAMED: Mapping[str, str] = MappingProxyType(
    {"bath": "bath", "stack": "stack", "lot": "lot", accounts.CUT: "lot"}
)
"""Ways that lead to a thing with a page of its own, and which sort of thing it is."""

OWN = "lot."
"""How the kinds of entries begin that are about a lot itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """
    What came to a lot, or went out of it, by one way.

    Attributes:
        sort: What stands on the other end: supplier, bath, stack, lot, cut, used or gap.
        other: The bath, stack or lot; of sheets that were cut the lot of their parents, of
            parents the lot of what they were cut to; empty for any other.
        cause: Why it was put right, where it was.
        amount: In the unit of the lot's rows, above zero.
        last_at: When the last of them happened.
    """

    sort: str
    other: Subject
    cause: str
    amount: int
    last_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereItWent:
    """
    Where a lot came from and where it went: all of `came` is `went` and what is left.

    `named` are the baths, stacks and lots on the other end, by (sort, id), and the baths that
    the stacks were alumed in.
    """

    came: tuple[Way, ...]
    went: tuple[Way, ...]
    named: dict[tuple[str, Subject], Any]

    def state_of(self, way: Way) -> Any:
        """Return the bath, stack or lot on the other end of a way; None for any other."""
        return self.named.get((NAMED.get(way.sort, ""), way.other))

    def offcut_m2(self, way: Way) -> float:
        """Return what cutting left over of the sheets that went this way [m2]."""
        if way.sort != accounts.CUT:
            return 0.0
        made: LotState | None = self.state_of(way)
        return max(0.0, made.offcut_m2 or 0.0) if made else 0.0

    @property
    def came_in(self) -> int:
        return sum(way.amount for way in self.came)

    @property
    def left(self) -> int:
        """What must be left of it; under nothing where more was written out than came."""
        return self.came_in - sum(way.amount for way in self.went)


def where_it_went(journal: Journal, lot: LotState) -> WhereItWent:
    """Return every way in and out of a lot; those that were used first come first."""
    account = accounts.account("lot", lot.id)
    moves = sorted(
        (move for move in journal.moves(account) if move.substance == lot.substance),
        key=lambda move: (move.at, move.entry),
    )
    came = tuple(
        _ways((_giver(lot, move), move) for move in moves if move.to_account == account)
    )
    went = tuple(_ways((_taker(move), move) for move in moves if move.from_account == account))
    return WhereItWent(came=came, went=went, named=_named(journal, (*came, *went)))


def _giver(lot: LotState, move: Move) -> str:
    """Return what a row came from: of cut sheets the lot of their parents."""
    if move.from_account == accounts.CUT:
        return accounts.account(accounts.CUT, lot.cut_from or Subject(""))
    return move.from_account


def _taker(move: Move) -> str:
    """Return where a row went: of parents that were cut the lot of the sheets made."""
    if move.to_account == accounts.CUT:
        return accounts.account(accounts.CUT, Subject(move.entry))
    return move.to_account


def _ways(rows: Iterable[tuple[str, Move]]) -> Iterator[Way]:
    """Sum up rows by what stands on their other end."""
    gathered: dict[str, list[Move]] = {}
    for other, move in rows:
        gathered.setdefault(other, []).append(move)
    for other, moves in gathered.items():
        sort, _, rest = other.partition(":")
        yield Way(
            sort=sort,
            other=Subject(rest if sort in NAMED else ""),
            cause="" if sort in NAMED else rest,
            amount=sum(move.amount for move in moves),
            last_at=moves[-1].at,
        )


def _named(journal: Journal, ways: Iterable[Way]) -> dict[tuple[str, Subject], Any]:
    wanted: dict[str, set[Subject]] = {}
    for way in ways:
        if way.other:
            wanted.setdefault(NAMED[way.sort], set()).add(way.other)
    found: dict[tuple[str, Subject], Any] = {}
    for sort in ("stack", "bath", "lot"):
        states = journal.states(sort, wanted.get(sort, ()))
        found |= {(sort, subject): state for subject, state in states.items()}
        if sort == "stack":
            wanted.setdefault("bath", set()).update(one.bath for one in states.values())
    return found


def lot_entries(journal: Journal, lot: Subject) -> BathEntries:
    """Return what was written of a lot itself; what was drawn stands with its taker."""
    found = entries_of(journal, lot, sort="lot")
    return replace(
        found,
        here=tuple(one for one in found.here if one.kind.startswith(OWN)),
        struck=tuple(one for one in found.struck if one.original.entry.kind.startswith(OWN)),
        moved=(),
    )


def lots_alike(journal: Journal, lot: LotState, *, today: date) -> tuple[LotState, ...]:
    """
    Return the other lots that a lot may be put to, the oldest first.

    They are the same by supply and make and not used up, and none is past its day.
    """
    (own,) = look_at_lots(journal, (lot,))
    if own.is_past(today):
        return ()
    return tuple(
        look.lot
        for look in lots_on_hand(journal, {lot.substance})
        if look.lot.id != lot.id
        and look.left > 0
        and are_alike(look.lot, lot)
        and not look.is_past(today)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """
    What comes out of one parent sheet of a lot, cut one way round.

    Attributes:
        paper: The sheets that it is cut to.
        turned: Whether their long side lies across the parent's long side; a square has but
            one way.
        grain: How the grain runs in them, one of `kinds.GRAINS`.
        count: So many come out of one parent sheet.
        offcut_m2: What is left over of each [m2]; `offcut_part` as a part of it, 0 to 1.
    """

    paper: PaperState
    turned: bool
    grain: str
    count: int
    offcut_m2: float
    offcut_part: float


def plan_cut(journal: Journal, lot: LotState) -> tuple[CutPlan, ...]:
    """Return to which papers a lot can be cut, and which way round, the least offcut first."""
    parent: PaperState | None = journal.state("paper", lot.paper)
    if parent is None:
        return ()
    others = (one for one in journal.listed("paper") if one.id != parent.id)
    found = [_cut_to(parent, one, lot, turned) for one in others for turned in _ways_round(one)]
    return tuple(
        sorted(
            (one for one in found if one.count > 0),
            key=lambda one: (one.offcut_part, one.paper.name, one.turned),
        )
    )


def _ways_round(sheet: PaperState) -> tuple[bool, ...]:
    return (False,) if sheet.length_mm == sheet.width_mm else (False, True)


def _cut_to(parent: PaperState, sheet: PaperState, lot: LotState, turned: bool) -> CutPlan:
    count, offcut_m2 = sheets_out_of(
        parent_mm=(parent.length_mm, parent.width_mm),
        sheet_mm=(sheet.length_mm, sheet.width_mm),
        turned=turned,
    )
    return CutPlan(
        paper=sheet,
        turned=turned,
        grain=grain_of_cut(lot.grain, turned="yes" if turned else "no") or NOT_KNOWN,
        count=count,
        offcut_m2=offcut_m2,
        offcut_part=offcut_m2 / parent.area_m2,
    )
