"""Random histories of a shelf, and what they come to by adding up entry by entry."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from coop.ledger import kinds
from coop.ledger.entries import Entry, read_content
from coop.ledger.table import KINDS
from tests.support.sayings import (
    GUM,
    LOT,
    PAPER,
    PAPER_LOT,
    SIZE,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    sized,
    through,
    topped_up,
    with_size,
)
from tests.support.stock import (
    BARN,
    BOXES,
    GLOVES,
    SMALL_PAPER,
    TUB,
    adjusted,
    counted,
    cut,
    moved,
    received,
    small_paper,
)

UG_PER_G, QUARTERS = 1_000_000, {"full": 4, "half": 2, "quarter": 1}
COUNTS_KEPT = 6
BOOKED = an_id(90)
CAME = {"powder": (GUM, TUB), "paper": (PAPER_LOT,), "pieces": (BOXES,), "salt": (LOT,)}
SUBSTANCES = {
    "powder": "powder:carrageenan",
    "paper": f"paper:{PAPER}",
    "small": f"paper:{SMALL_PAPER}",
    "pieces": f"supply:{GLOVES}",
    "salt": "salt:aluminium_sulfate_14",
}
USED_BY = ("used", "class", "not_written_down", "spoiled", "sold")

days, hours = st.integers(10, 27), st.sampled_from((0, 6, 12, 18))
causes = st.sampled_from(kinds.GAP_CAUSES)
amounts = st.integers(1, 400)


@dataclass
class Drawing:
    """A history that is being drawn: the lots of each group so far, and what was counted."""

    draw: st.DrawFn
    lots: dict[str, list[str]]
    counts: list[tuple[str, str]]

    def at(self) -> datetime:
        return on(self.draw(days), self.draw(hours))

    def lot(self, group: str) -> str:
        return self.draw(st.sampled_from(self.lots[group]))

    def group(self) -> str:
        return self.draw(st.sampled_from(sorted(self.lots)))

    def group_of(self, lot: str) -> str:
        return next(name for name, lots in self.lots.items() if lot in lots)

    def amount(self, group: str) -> dict[str, Any]:
        """Draw how much is said: grams, sheets in quarters, or pieces."""
        much = self.draw(amounts)
        if group in ("powder", "salt"):
            return {"amount": q(much, "g")}
        if group == "pieces":
            return {"count": str(much)}
        whole, part = divmod(much, 4)
        return {"count": f"{whole}{('', '.25', '.5', '.75')[part]}"}


def _move(made: Drawing, id: str) -> Entry:
    group = made.group()
    lot = made.lot(group)
    if made.draw(st.integers(0, 4)) == 0:
        return moved(id, lot, at=made.at())
    others = [one for one in made.lots[group] if one != lot]
    into = made.draw(st.sampled_from([None, *others]))
    if into is not None:
        return moved(id, lot, at=made.at(), into=into, **made.amount(group))
    made.lots[group].append(id)  # a part of this lot is one to draw from, later or before
    return moved(id, lot, at=made.at(), **made.amount(group))


def _count(made: Drawing, id: str) -> Entry:
    lot = made.lot(made.group())
    made.counts.append((lot, id))
    return counted(id, lot, at=made.at(), level=str(made.draw(st.integers(0, 4))))


def _adjust(made: Drawing, id: str) -> Entry:
    """Draw that a lot was put right, as a rule after one of its counts."""
    lot = made.lot(made.group())
    more: dict[str, Any] = {}
    if len(made.counts) > 0 and made.draw(st.booleans()):
        lot, of_count = made.draw(st.sampled_from(made.counts))
        more = {"counted": of_count}
    way = made.draw(st.sampled_from(("out", "in")))
    return adjusted(id, lot, at=made.at(), way=way, cause=made.draw(causes), **more,
                    **made.amount(made.group_of(lot)))  # fmt: skip


def _cut(made: Drawing, id: str) -> Entry:
    made.lots.setdefault("small", []).append(id)
    return cut(id, made.lot("paper"), at=made.at(), sheet_count=str(made.draw(amounts)),
               made_count=str(made.draw(amounts)))  # fmt: skip


def _dip(made: Drawing, id: str) -> Entry:
    session: dict[str, Any] = {"session": BOOKED} if made.draw(st.booleans()) else {}
    sheet_format = made.draw(st.sampled_from(sorted(QUARTERS)))
    return through(id, made.draw(amounts), at=made.at(), lot=made.lot("paper"),
                   sheet_format=sheet_format, **session)  # fmt: skip


def _pour(made: Drawing, id: str) -> Entry:
    part = {"lot": made.lot("powder"), **made.amount("powder"), "powder": "carrageenan"}
    return topped_up(id, at=made.at(), bath=SIZE, powder=[part])


def _strengthen(made: Drawing, id: str) -> Entry:
    part = {"lot": made.lot("salt"), **made.amount("salt")}
    return topped_up(id, at=made.at(), salt=[part])


def _mix(made: Drawing, id: str) -> Entry:
    part = {"lot": made.lot("powder"), **made.amount("powder"), "powder": "carrageenan"}
    session = {"session": BOOKED} if made.draw(st.booleans()) else {}
    return sized(id, at=made.at(), powder=[part], **session)


def _mend(made: Drawing, id: str, target: Entry) -> Entry:
    """Draw a correction: struck out, or another amount or lot in its place."""
    at = on(28, made.draw(hours))
    if made.draw(st.booleans()):
        return corrected(id, target, "void", at=at)
    changes: dict[str, Any] = {}
    said = target.content
    if isinstance(said, kinds.LotReceived):
        changes["pack_count"] = str(made.draw(st.integers(1, 5)))
    elif isinstance(said, kinds.LotMoved | kinds.LotAdjusted):
        lot = made.lot(made.group_of(said.lot))
        changes["lot"] = said.lot if lot == getattr(said, "into", None) else lot
    elif isinstance(said, kinds.SheetsThrough):
        changes["sheet_count"] = str(made.draw(amounts))
    return corrected(id, target, "replace", at=at, content=instead(target, **changes))


STEPS = (_move, _move, _count, _adjust, _adjust, _cut, _dip, _pour, _strengthen, _mix)


@st.composite
def shelves(draw: st.DrawFn, most: int = 12) -> list[Entry]:
    """Draw what was said about lots of five supplies, corrections of it included."""
    lots = {group: [str(one) for one in came] for group, came in CAME.items()}
    made = Drawing(draw=draw, lots=lots, counts=[])
    entries = [
        *described(), *with_size(), small_paper(), mixed(at=on(9)), sized(at=on(9)),
        received(pack_count="2", weight=q(454, "g"), what="carrageenan"),
        received(BOXES, what="supply", supply=GLOVES, piece_count="50", pack_count="4"),
        say("studio.described", BARN, at=on(1), name="Barn", letter="B", drain="septic",
            emergency="112", poison="115"),
    ]  # fmt: skip
    for n in range(draw(st.integers(1, most))):
        entries.append(draw(st.sampled_from(STEPS))(made, an_id(500 + n)))
    mendable = [one for one in entries if one.kind in MENDABLE]
    targets = draw(st.lists(st.sampled_from(mendable), max_size=4, unique_by=_id))
    return entries + [_mend(made, an_id(700 + n), one) for n, one in enumerate(targets)]


def _id(entry: Entry) -> str:
    return entry.id


MENDABLE = (
    "lot.received", "lot.moved", "lot.counted", "lot.adjusted", "lot.cut", "bath.mixed",
    "bath.topped_up", "sheets.through",
)  # fmt: skip


@dataclass(frozen=True)
class Row:
    """Something went from one account to another, at a moment."""

    giver: str
    taker: str
    amount: int
    at: datetime
    substance: str
    session: str = ""

    @property
    def week(self) -> str:
        return f"{self.at:%G-W%V}"

    @property
    def is_use(self) -> bool:
        to = self.taker.partition(":")[0]
        return self.giver.startswith("lot:") and to not in ("lot", "gap")


class AddedUp:
    """What entries come to, one by one: no fold, no kept sum, no order of arrival."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        self.said: dict[str, tuple[datetime, datetime, Any]] = {}
        entries = list(entries)
        for one in entries:
            self.said[one.id] = one.happened_at, one.written_at, one.content
        for one in entries:
            if isinstance(one.content, kinds.EntryCorrected):
                del self.said[one.id]
                self._mend(one.content)
        self.rows = [row for id in self.said for row in self._rows(id)]

    def _mend(self, mend: kinds.EntryCorrected) -> None:
        _, written_at, content = self.said.pop(mend.target)
        if mend.content is not None:
            kind = KINDS[_kind_of(content)]
            anew = read_content(kind, mend.content.body, "body")
            self.said[mend.target] = mend.content.happened_at, written_at, anew

    def group(self, lot: str, seen: tuple[str, ...] = ()) -> str | None:
        """Return what a lot is of; None when it is not there, or began nowhere."""
        if lot in seen or lot not in self.said:
            return None
        match self.said[lot][2]:
            case kinds.LotReceived(what=what):
                return {"alum": "salt", "paper": "paper", "supply": "pieces"}.get(
                    what, "powder"
                )
            case kinds.LotMoved(lot=giver, into=None) as said if _much(said) is not None:
                return self.group(giver, (*seen, lot))
            case kinds.LotCut(lot=giver):
                return "small" if self.group(giver, (*seen, lot)) == "paper" else None
            case _:
                return None

    def held(self) -> dict[tuple[str, str], int]:
        """Return what each lot holds, what is empty left out."""
        return _not_nothing(
            sum_of
            for row in self.rows
            for sum_of in (
                (row.taker, row.substance, row.amount),
                (row.giver, row.substance, -row.amount),
            )
            if sum_of[0].startswith("lot:")
        )

    def since(self, moments: dict[str, datetime]) -> dict[tuple[str, str], int]:
        return _not_nothing(
            (account, row.substance, sign * row.amount)
            for row in self.rows
            for account, sign in ((row.taker, 1), (row.giver, -1))
            if account in moments and row.at > moments[account]
        )

    def drawn(self, week: str) -> dict[tuple[str, str, str], int]:
        """Return what was used of the supplies since a week."""
        found: Counter[tuple[str, str, str]] = Counter()
        for row in self.rows:
            if row.is_use and row.week >= week and row.substance in SUBSTANCES.values():
                found[row.substance, row.week, row.session] += row.amount
        return dict(found)

    def first_drawn(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for substance, week, session in sorted(self.drawn("")):
            if not session:
                found.setdefault(substance, week)
        return found

    def _rows(self, id: str) -> Iterator[Row]:
        at, _, said = self.said[id]
        match said:
            case kinds.LotReceived():
                yield self._row("supplier", f"lot:{id}", _pack(said) * said.pack_count, at, id)
            case kinds.LotMoved(lot=lot) if _much(said) is not None and self.group(lot):
                taker = said.into or id
                if taker != lot:
                    amount = self._amount(lot, said)
                    yield self._row(f"lot:{lot}", f"lot:{taker}", amount, at, lot)
            case kinds.LotAdjusted(lot=lot) if self.group(lot):
                yield self._put_right(id, said)
            case kinds.LotCut(lot=lot) if self.group(lot) == "paper":
                yield self._row(f"lot:{lot}", "cut", 4 * said.sheet_count, at, lot)
                yield self._row("cut", f"lot:{id}", 4 * said.made_count, at, id)
            case _:
                yield from self._drawn_by(id)

    def _drawn_by(self, id: str) -> Iterator[Row]:
        at, _, said = self.said[id]
        match said:
            case kinds.BathMixed():
                yield from self._poured(id, said, at, said.session or "")
            case kinds.BathToppedUp(bath=bath) if bath in self.said:
                yield from self._poured(bath, said, at, "")
            case kinds.SheetsThrough(lot=lot):
                amount = said.sheet_count * QUARTERS[said.sheet_format]
                session = said.session or ""
                yield self._row(f"lot:{lot}", f"stack:{id}", amount, at, str(lot), session)
            case _:
                pass

    def _poured(self, bath: str, said: Any, at: datetime, session: str) -> Iterator[Row]:
        for part in (*said.salt, *said.powder):
            amount = int(part.amount.base * UG_PER_G)
            yield self._row(f"lot:{part.lot}", f"bath:{bath}", amount, at, part.lot, session)

    def _put_right(self, id: str, said: kinds.LotAdjusted) -> Row:
        cause = f"{'used' if said.cause in USED_BY else 'gap'}:{said.cause}"
        ends = (f"lot:{said.lot}", cause)
        giver, taker = ends if said.way == "out" else ends[::-1]
        amount = self._amount(said.lot, said)
        session = "class" if said.cause == "class" else ""
        return self._row(giver, taker, amount, self._counted_at(id, said), said.lot, session)

    def _counted_at(self, id: str, said: kinds.LotAdjusted) -> datetime:
        """Return when the count was made that is put right, if the lot still has it."""
        own = (*self.said[id][:2], id)
        before = sorted(
            (at, written_at, other)
            for other, (at, written_at, what) in self.said.items()
            if isinstance(what, kinds.LotCounted) and what.lot == said.lot
            if (at, written_at, other) < own
        )
        kept = {other: at for at, _, other in before[-COUNTS_KEPT:]}
        return kept.get(str(said.counted), own[0])

    def _amount(self, lot: str, said: Any) -> int:
        much = _much(said)
        assert much is not None
        unit = {"paper": 4, "small": 4, "pieces": 1}.get(self.group(lot) or "", UG_PER_G)
        return int(much * unit)

    def _row(
        self, giver: str, taker: str, amount: int, at: datetime, lot: str, session: str = ""
    ) -> Row:
        group = self.group(lot) or self._unknown(lot)
        return Row(giver, taker, amount, at, SUBSTANCES.get(group, group), session)

    def _unknown(self, lot: str) -> str:
        """Return how rows name what was mixed out of a lot that is not there."""
        for _, _, said in self.said.values():
            if isinstance(said, kinds.BathMixed | kinds.BathToppedUp):
                for group in ("powder", "salt"):
                    if any(part.lot == lot for part in getattr(said, group)):
                        return group
        return "not known"


def _kind_of(content: Any) -> str:
    return next(code for code, kind in KINDS.items() if kind.content is type(content))


def _much(said: Any) -> Fraction | None:
    if said.amount is not None:
        return Fraction(said.amount.base)
    return None if said.count is None else Fraction(said.count)


def _pack(said: kinds.LotReceived) -> int:
    if said.sheet_count is not None:
        return 4 * said.sheet_count
    if said.piece_count is not None:
        return said.piece_count
    assert said.weight is not None
    return int(said.weight.base * UG_PER_G)


def _not_nothing(sums: Iterable[tuple[str, str, int]]) -> dict[tuple[str, str], int]:
    found: Counter[tuple[str, str]] = Counter()
    for account, substance, amount in sums:
        found[account, substance] += amount
    return {key: amount for key, amount in found.items() if amount}
