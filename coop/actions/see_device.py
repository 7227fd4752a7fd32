"""What a phone keeps of the room to open without a signal: baths, tubs, shelf, recipes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from coop.actions.log_sheets import last_through
from coop.actions.mix import Tub, last_names, name_after
from coop.actions.on_hand import OnHand, in_turn
from coop.actions.see_baths import look_at_all
from coop.actions.see_liquids import alum_of, liquids_of, look_at_liquids
from coop.actions.see_neutralising import (
    Old,
    base_begun,
    jars_among,
    least_bucket_l,
    of_look,
    plan_of,
    window_of,
)
from coop.actions.see_room import StudioRoom, by_studio
from coop.actions.see_shelf import LotLook, StudioShelf, look_at_lots, see_shelf
from coop.actions.sites import see_site
from coop.actions.take_reading import drawer_of
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import SIZE
from coop.ledger.ports import Journal
from coop.ledger.states import (
    DeviceState,
    HouseState,
    JarState,
    MemberState,
    PaperState,
    RecipeState,
    StackState,
    StudioState,
    Through,
    VesselState,
)
from coop.ledger.table import HOUSE
from coop.ledger.ways_out import to_go
from coop.rules.baths import NO_CURVE, BathLook, turns_at
from coop.rules.liquid_looks import LiquidLook, liquid_turns_at
from coop.rules.neutralising import Stand, Window
from coop.rules.reasons import Word
from coop.rules.use import Answer
from coop.science.neutralising import BASES, Walk

STACKS_KEPT = 30
OLD_KEPT = 12
"""So many old baths of a studio stand on a phone."""
RINSE = "rinse_water"
LEVELS = ("dipstick", "tape_line")
HELD_DAYS = 14
"""So long a phone says what it heard last without "look again": our own choice, no source."""
PROMISES = frozenset({Word.GOOD, Word.RESTING})
TURN = PROMISES | {Word.LOOK_AGAIN}


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptBath:
    """
    A bath as a phone keeps it.

    Attributes:
        turns_at: When its word holds no longer even if nobody does anything; None for a word
            that is no promise.
        turns_to: What is said from then on: look again, or do not use; never good.
        last: What to offer as "the same as last time".
        drawer: What it can be tested with.
    """

    look: BathLook
    turns_at: datetime | None
    turns_to: Word
    last: Through | None
    drawer: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLiquid:
    """A bath that is not alum as a phone keeps it; its turn as a bath of alum has it."""

    look: LiquidLook
    turns_at: datetime | None
    turns_to: Word
    drawer: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOld:
    """
    An old alum bath as a phone keeps it.

    Attributes:
        walks: By each base, those of the shelf first; none where there is none.
        shelf: The bases that stand on the shelf.
        stand: Where the walk by the first of them stands.
    """

    state: BathState
    old: Old
    walks: tuple[tuple[str, Walk], ...]
    shelf: tuple[str, ...]
    stand: Stand | None
    window: Window


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptStudio:
    """
    A studio: baths as they stand, tubs in use, lots as they are taken, the next name.

    `old` are alum baths that still have to be got rid of, `drums` the jars that take the water
    in which sheets were rinsed.
    """

    studio: StudioState
    baths: tuple[KeptBath, ...]
    liquids: tuple[KeptLiquid, ...]
    old: tuple[KeptOld, ...]
    drums: tuple[JarState, ...]
    tubs: tuple[Tub, ...]
    alum: tuple[OnHand, ...]
    next_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRoom:
    """
    All that a phone keeps; `writers` are the members who write on it.

    `stacks` are those with sheets left to lay, the owner's own first, then the oldest; the
    names of their baths stand beside them.
    """

    writers: tuple[MemberId, ...]
    studios: tuple[KeptStudio, ...]
    shelf: tuple[StudioShelf, ...]
    stacks: tuple[tuple[StackState, str], ...]
    paper: tuple[LotLook, ...]
    papers: tuple[PaperState, ...]
    recipes: tuple[RecipeState, ...]
    house: HouseState | None


def see_device(
    journal: Journal, device: DeviceState, *, now: datetime, demo: bool = False
) -> KeptRoom:
    """
    Return what a device keeps; on a phone of one's own as its owner needs it.

    Args:
        now: In the zone of the studios.
        demo: Whether invented rules of drains count.
    """
    writers = tuple(one for one in device.members if _is_here(journal, one))
    own = writers[0] if writers and not device.shared else None
    every = journal.listed("bath")
    looks = look_at_all(journal, alum_of(every), now=now)
    liquids = look_at_liquids(journal, liquids_of(every), now=now)
    shelf = see_shelf(journal)
    names = last_names(journal)
    tubs: tuple[VesselState, ...] = journal.listed("vessel")
    rooms = by_studio(journal, looks, own, liquids)
    old = _old(journal, [one.studio for one in rooms], shelf, now, demo)
    drums = _drums(journal)
    studios = tuple(
        replace(
            _studio(one, shelf, tubs, names, own, now.date()),
            old=old.get(one.studio.id, ()),
            drums=tuple(each for each in drums if each.studio == one.studio.id),
        )
        for one in rooms
    )
    return KeptRoom(
        writers=writers,
        studios=studios,
        shelf=shelf,
        stacks=_stacks(journal, own),
        paper=_paper(journal, shelf, studios),
        papers=journal.listed("paper"),
        recipes=journal.listed("recipe"),
        house=journal.state("house", HOUSE),
    )


def _is_here(journal: Journal, member: MemberId) -> bool:
    state: MemberState | None = journal.state("member", Subject(member))
    return state is not None and state.left_at is None


def _old(
    journal: Journal,
    studios: Iterable[StudioState],
    shelf: tuple[StudioShelf, ...],
    now: datetime,
    demo: bool,
) -> Mapping[Subject, tuple[KeptOld, ...]]:
    """Return the alum baths of each studio that still have to be got rid of."""
    there = {one.id: one for one in studios}
    baths = journal.listed_in("bath", tuple(to_go(one) for one in there))
    found: dict[Subject, tuple[KeptOld, ...]] = {}
    windows: dict[Subject, Window] = {}
    lots = [look for one in shelf for look in one.every]
    for look in look_at_all(journal, alum_of(baths), now=now) if baths else ():
        old = of_look(look)
        if old.studio not in windows:
            site = see_site(journal, there[old.studio], now=now, demo=demo)
            windows[old.studio] = window_of(site)
        bases = tuple(dict.fromkeys(one.base for one in jars_among(lots, old.studio)))
        kept = _kept_old(look.state, old, bases, windows[old.studio])
        found[old.studio] = (*found.get(old.studio, ()), kept)[:OLD_KEPT]
    return found


def _drums(journal: Journal) -> tuple[JarState, ...]:
    jars: tuple[JarState, ...] = journal.listed("jar")
    return tuple(one for one in jars if RINSE in one.wastes)


def _kept_old(state: BathState, old: Old, shelf: tuple[str, ...], window: Window) -> KeptOld:
    begun = base_begun(old)
    bases = [begun] if begun else dict.fromkeys((*shelf, *BASES))
    found = []
    for base in bases if old.enough else ():
        plan = plan_of(old, base, least_bucket_l(old), window)
        found += [(base, plan.walk, plan.stand)] if plan.walk is not None else []
    return KeptOld(
        state=state,
        old=old,
        walks=tuple((base, walk) for base, walk, _ in found),
        shelf=shelf,
        stand=found[0][2] if found else None,
        window=window,
    )


def _studio(
    room: StudioRoom,
    shelf: tuple[StudioShelf, ...],
    tubs: tuple[VesselState, ...],
    names: tuple[str, ...],
    own: MemberId | None,
    today: date,
) -> KeptStudio:
    holds: dict[Subject, AnyBath] = {look.state.vessel: look.state for look in room.baths}
    holds |= {look.state.vessel: look.state for look in room.liquids}
    alum = next((one.alum for one in shelf if one.studio.id == room.studio.id), ())
    return KeptStudio(
        studio=room.studio,
        baths=tuple(_bath(look, own) for look in room.baths),
        liquids=tuple(_liquid(look) for look in room.liquids),
        old=(),
        drums=(),
        tubs=tuple(
            Tub(vessel=one, holds=holds.get(one.id))
            for one in tubs
            if one.studio == room.studio.id and one.in_use
        ),
        alum=in_turn((one for one in alum if one.lot.salt), today=today),
        next_name=name_after(names, room.studio),
    )


def _bath(look: BathLook, own: MemberId | None) -> KeptBath:
    turn = _turn(look)
    drawer = drawer_of(look.around.studio)
    return KeptBath(
        look=look,
        turns_at=turn[0] if turn else None,
        turns_to=turn[1] if turn else look.answer.word,
        last=last_through(look.state, own),
        drawer=tuple(
            one for one in drawer if one != "hydrometer" or look.state.salt not in NO_CURVE
        ),
    )


def _liquid(look: LiquidLook) -> KeptLiquid:
    turn = _turn(look)
    return KeptLiquid(
        look=look,
        turns_at=turn[0] if turn else None,
        turns_to=turn[1] if turn else look.answer.word,
        drawer=liquid_drawer(look),
    )


def liquid_drawer(look: LiquidLook) -> tuple[str, ...]:
    """Return what a bath that is not alum is tested with; its smell is for a page alone."""
    drawer = look.around.studio.instruments if look.around.studio else ()
    drops = ("drop_test",) if look.state.what == SIZE else ()
    return (*drops, "look", *(code for code in LEVELS if code in drawer))


def _stacks(journal: Journal, own: MemberId | None) -> tuple[tuple[StackState, str], ...]:
    stacks: tuple[StackState, ...] = journal.listed("stack")
    left = sorted(
        (one for one in stacks if one.left_count > 0),
        key=lambda one: (one.by != own, one.at, one.id),
    )[:STACKS_KEPT]
    baths = journal.states("bath", {one.alum for one in left})
    return tuple((one, baths[one.alum].name if one.alum in baths else "") for one in left)


def _turn(look: BathLook | LiquidLook) -> tuple[datetime, Word] | None:
    """Return when a word is no longer said, and the worse one that is said from then on."""
    word = look.answer.word
    if word not in TURN:
        return None
    found = _turns_at(look)
    if found and found[1].word is Word.DO_NOT_USE:
        return found[0], Word.DO_NOT_USE
    if word not in PROMISES:
        return None
    return found[0] if found else look.at + timedelta(days=HELD_DAYS), Word.LOOK_AGAIN


def _turns_at(look: BathLook | LiquidLook) -> tuple[datetime, Answer] | None:
    if isinstance(look, LiquidLook):
        return liquid_turns_at(look.state, look.around, now=look.at, within_days=HELD_DAYS)
    return turns_at(look.state, look.around, now=look.at, within_days=HELD_DAYS)


def _paper(
    journal: Journal, shelf: tuple[StudioShelf, ...], studios: tuple[KeptStudio, ...]
) -> tuple[LotLook, ...]:
    """
    Return parcels with sheets left, and those that may be "the same as last time".

    The latter are offered whatever the ledger counts: used up, they stand on no shelf.
    """
    lasts = (bath.last for one in studios for bath in one.baths)
    used = {last.lot for last in lasts if last is not None and last.lot is not None}
    left = [one for studio in shelf for one in studio.paper if one.left > 0]
    gone = journal.states("lot", used - {one.lot.id for one in left})
    return (*left, *look_at_lots(journal, tuple(gone.values())))
