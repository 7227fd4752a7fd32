"""A lot in words: what it is, what is left of it, and every way it went."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from coop.actions.see_counts import GapLook
from coop.actions.see_lots import Way, WhereItWent
from coop.actions.see_shelf import LotLook
from coop.ids import Subject
from coop.ledger.states import LotState, StackState, StudioState
from coop.ledger.table import HOUSE
from coop.units.kinds import FAMILIES
from coop.units.table import UNITS
from coop.web import amounts
from coop.web import words as say
from coop.web.adding_up import Printer, adding_up, printer
from coop.web.good_until import good_until_text
from coop.web.i18n import N_, Words
from coop.web.page import desk, face, today
from coop.web.powder import LIQUID
from coop.web.stock import amount_text, supply_name
from coop.web.told import bath_url


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSaid:
    """
    A lot as the shelf and its own page say it.

    Attributes:
        left: What is left, of what came in.
        share: What is left of what came in [percent], 0 to 100.
        good: Until when it is good, and the open one of several packs; `past` says that a
            day of these is over.
        gap: That a count differs and nobody has said why.
        unweighed: Whether a spoon of it should be weighed and was not.
    """

    id: str
    name: str
    told: str
    left: str
    share: int
    received: str
    good: str
    past: bool
    gap: str
    spoon: str
    unweighed: bool


def lot_said(words: Words, look: LotLook, *, spoon: str, gap: GapLook | None = None) -> LotSaid:
    """Return a lot in words; `spoon` is the house's tablespoon, `gap` its open count."""
    lot = look.lot
    days = [one for one in (look.good_until, look.open_pack_until) if one]
    return LotSaid(
        id=lot.id,
        name=lot.name,
        told=_told(words, look),
        left=_left(words, look),
        share=max(0, min(100, round(100 * look.left / max(1, lot.came_in)))),
        received=say.day_by(words, lot.received_at, face(lot.received_by).name),
        good="; ".join(good_until_text(words, one, over=one.past(today())) for one in days),
        past=any(one.past(today()) for one in days),
        gap=gap_text(words, gap) if gap else "",
        spoon=spoon_text(words, lot, spoon),
        unweighed=is_spooned(lot) and lot.spoon is None,
    )


def house_spoon() -> str:
    """Return which tablespoon the house means."""
    house = desk().journal.state("house", HOUSE)
    return house.spoon if house else "us"


def much(words: Words, lot: LotState, amount: int) -> str:
    """Say an amount of a lot."""
    return amount_text(words, lot.what, lot.measure, amount)


def is_spooned(lot: LotState) -> bool:
    """Say whether a lot is a powder that is taken by the spoon."""
    return lot.measure == "weight" and lot.what not in ("supply", LIQUID)


def _left(words: Words, look: LotLook) -> str:
    if look.left < 0:
        return words.gettext(
            "%(over)s more was written out than came in", over=much(words, look.lot, -look.left)
        )
    left = much(words, look.lot, look.left)
    received = much(words, look.lot, look.lot.came_in)
    number, _, unit = left.partition(" ")
    if unit == received.partition(" ")[2]:
        left = number
    return words.gettext("%(left)s of %(received)s left", left=left, received=received)


def _told(words: Words, look: LotLook) -> str:
    """Say what a lot is of, and what of that its label says."""
    lot = look.lot
    parts = [_name(words, look)]
    if lot.carrageenan:
        parts.append(say.choice(words, "carrageenan", lot.carrageenan))
    if lot.soda:
        parts.append(say.choice(words, "soda", lot.soda))
    if lot.chalk_g_per_m2:
        chalk = words.number(lot.chalk_g_per_m2, 1)
        parts.append(words.gettext("%(chalk)s g/m² of chalk", chalk=chalk))
    elif lot.chalk:
        parts.append(say.choice(words, "chalk", lot.chalk))
    if lot.grain and lot.grain != "not_known":
        grain = say.choice(words, "grain", lot.grain)
        parts.append(words.gettext("grain %(grain)s", grain=grain))
    return ", ".join(part for part in parts if part)


def _name(words: Words, look: LotLook) -> str:
    if look.supply is not None:
        return supply_name(words, look.supply, look.paper)
    return look.paper.name if look.paper else say.choice(words, "supply", look.lot.what)


def spoon_text(words: Words, lot: LotState, spoon: str) -> str:
    """Say what a level spoon of the lot weighs; empty for what nobody takes by the spoon."""
    if not is_spooned(lot):
        return ""
    if lot.spoon is None:
        return words.gettext("Nobody has weighed a spoon of it.")
    unit = FAMILIES["tbsp"][spoon]
    weight_g = lot.spoon.g_per_ml * float(UNITS[unit].factor)
    return words.gettext(
        "%(weight)s a level %(spoon)s, weighed %(day)s by %(who)s",
        weight=amounts.weight(words, weight_g, 1),
        spoon=say.unit(words, unit),
        day=words.day(lot.spoon.at),
        who=face(lot.spoon.by).name,
    )


def gap_text(words: Words, look: GapLook) -> str:
    """Say that a count differs from what is written."""
    difference = look.gap.difference
    told = {
        "day": words.day(look.count.at),
        "much": much(words, look.lot, abs(difference)),
    }
    if difference < 0:
        return words.gettext(
            "Counted %(day)s: %(much)s less than written, and nobody has said why.", **told
        )
    return words.gettext(
        "Counted %(day)s: %(much)s more than written, and nobody has said why.", **told
    )


IN: Mapping[str, str] = MappingProxyType(
    {
        "supplier": N_("from the supplier"),
        "lot": N_("out of %(name)s"),
        "cut": N_("cut from %(name)s"),
        "put_right": N_("put right: %(cause)s"),
    }
)
OUT: Mapping[str, str] = MappingProxyType(
    {
        "bath": N_("into %(name)s"),
        "stack": N_("alumed in %(name)s"),
        "lot": N_("to %(name)s"),
        "cut": N_("cut to %(name)s"),
        "put_right": N_("put right: %(cause)s"),
    }
)
SUMMED_IN: Mapping[str, str] = MappingProxyType(
    {
        "supplier": N_("came in"),
        "lot": N_("came from other lots"),
        "cut": N_("cut from parent sheets"),
        "put_right": N_("put right, more was there"),
    }
)
SUMMED_OUT: Mapping[str, str] = MappingProxyType(
    {
        "bath": N_("into baths"),
        "stack": N_("alumed"),
        "lot": N_("moved to other lots"),
        "cut": N_("cut to smaller sheets"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaySaid:
    """One way in or out: how much, by what, and the page of it, if it has one."""

    amount: str
    text: str
    url: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WentSaid:
    """
    Every way in and out of a lot; the lines add up as they are printed.

    Attributes:
        sums: What came, what went by each sort of way, and what is left, as (what, amount).
        came, went: The newest last.
        older_count: How many older ways stand in the first line of `went`.
        odd: That a count says otherwise, or that more went than came, each with the address
            of the page that asks about it.
    """

    sums: tuple[tuple[str, str], ...]
    came: tuple[WaySaid, ...]
    went: tuple[WaySaid, ...]
    older_count: int
    odd: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """
    The ways of a lot, each with the figure it is printed with; they add up with `left`.

    `studios` are the names of studios by their ids, where other lots are among the ways.
    """

    lot: LotState
    found: WhereItWent
    out: Printer
    came: tuple[tuple[Way, int], ...]
    went: tuple[tuple[Way, int], ...]
    left: int
    studios: Mapping[Subject, str]


def went_said(
    words: Words, lot: LotState, found: WhereItWent, *, gap: GapLook | None, most: int
) -> WentSaid:
    """Say where a lot came from and went; of more than `most` ways out the older are summed."""
    tally = _tally(words, lot, found)
    newest = sorted(tally.went, key=lambda one: (one[0].last_at, one[0].sort, one[0].other))
    older, shown = newest[:-most], newest[-most:]
    return WentSaid(
        sums=(
            *_summed(words, tally, tally.came, SUMMED_IN, 1),
            *_summed(words, tally, tally.went, SUMMED_OUT, -1),
            (words.gettext("left"), tally.out.text(tally.left)),
        ),
        came=tuple(_in(words, tally, *one) for one in tally.came),
        went=(*_older(words, tally, older), *(_out(words, tally, *one) for one in shown)),
        older_count=len(older),
        odd=tuple(_odd(words, lot, found, gap)),
    )


def _tally(words: Words, lot: LotState, found: WhereItWent) -> Tally:
    """Return the figures of all ways; what is left is said as it is said elsewhere."""
    ways = (*found.came, *found.went)
    out = printer(words, lot, (found.left, *(way.amount for way in ways)))
    came = adding_up(out.scaled(way.amount) for way in found.came)
    left, *went = adding_up(map(out.scaled, (found.left, *(way.amount for way in found.went))))
    return Tally(
        lot=lot,
        found=found,
        out=out,
        came=tuple(zip(found.came, came, strict=True)),
        went=tuple(zip(found.went, went, strict=True)),
        left=left,
        studios=_studios(found),
    )


def _studios(found: WhereItWent) -> Mapping[Subject, str]:
    """Return the names of all studios, read once, where other lots are among the ways."""
    if not any(sort == "lot" for sort, _ in found.named):
        return {}
    states: tuple[StudioState, ...] = desk().journal.listed("studio")
    return {one.id: one.name for one in states}


def _odd(
    words: Words, lot: LotState, found: WhereItWent, gap: GapLook | None
) -> Iterator[tuple[str, str]]:
    if gap is not None:
        yield gap_text(words, gap), f"/lots/{lot.id}/gap"
    if found.left < 0:
        over = words.gettext("More was written out than came in. Count it, and say why.")
        yield over, f"/lots/{lot.id}/count"


def _summed(
    words: Words,
    tally: Tally,
    ways: Iterable[tuple[Way, int]],
    texts: Mapping[str, str],
    sign: int,
) -> tuple[tuple[str, str], ...]:
    """Return ways of one sort as one line: what it is, and how much."""
    totals: dict[str, int] = {}
    for way, figure in ways:
        key = texts.get(way.sort) or texts.get("put_right") or _cause(way)
        totals[key] = totals.get(key, 0) + sign * figure
    return tuple(
        (words.gettext(text), tally.out.text(figure)) for text, figure in totals.items()
    )


def _cause(way: Way) -> str:
    return say.CHOICES["gap_cause"][way.cause]


def _older(words: Words, tally: Tally, ways: Sequence[tuple[Way, int]]) -> tuple[WaySaid, ...]:
    """Return one line for many ways, so that the lines still add up."""
    if not ways:
        return ()
    amount = tally.out.text(-sum(figure for _, figure in ways))
    text = words.ngettext("by %(num)d older way", "by %(num)d older ways", len(ways))
    return (WaySaid(amount=amount, text=text),)


def _in(words: Words, tally: Tally, way: Way, figure: int) -> WaySaid:
    text, url = _way(words, tally, way, IN)
    return WaySaid(amount=tally.out.text(figure), text=text, url=url)


def _out(words: Words, tally: Tally, way: Way, figure: int) -> WaySaid:
    text, url = _way(words, tally, way, OUT)
    offcut_m2 = tally.found.offcut_m2(way)
    if offcut_m2:
        area = amounts.area(words, offcut_m2, 2)
        text = words.gettext("%(way)s, %(area)s of it offcut", way=text, area=area)
    return WaySaid(amount=tally.out.text(-figure), text=text, url=url)


def _way(words: Words, tally: Tally, way: Way, texts: Mapping[str, str]) -> tuple[str, str]:
    """Return what a way is, and the page of what stands on its other end."""
    if way.cause:
        return words.gettext(texts["put_right"], cause=words.gettext(_cause(way))), ""
    state = tally.found.state_of(way)
    match state:
        case None:
            return words.gettext(texts[way.sort], name="\u2014"), ""
        case LotState():
            name, url = _other_lot(words, tally, state), f"/lots/{state.id}"
        case StackState():
            bath = tally.found.named.get(("bath", state.bath))
            name = _stack(words, state, bath.name if bath else "\u2014")
            url = f"/stacks/{state.id}"
        case _:
            name, url = state.name, bath_url(state)
    return words.gettext(texts[way.sort], name=name), url


def _other_lot(words: Words, tally: Tally, other: LotState) -> str:
    """Name a lot; one that is called the same, a part of it, by where it stands."""
    if other.name != tally.lot.name:
        return other.name
    studio = tally.studios.get(other.studio, "\u2014")
    return words.gettext("another lot of it, %(studio)s", studio=studio)


def _stack(words: Words, stack: StackState, bath: str) -> str:
    return words.gettext(
        "%(bath)s, stack of %(who)s, %(when)s",
        bath=bath,
        who=face(stack.by).name,
        when=words.moment(stack.at),
    )
