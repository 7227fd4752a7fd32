"""
Look at what needs somebody: of the baths, the shelf, the drain and the booked sessions.

Whoever asks is shown what their roles and their own baths and stacks want of them; what they
are not asked is not looked up. What was put off is told apart until its day.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from types import MappingProxyType
from zoneinfo import ZoneInfo

from coop.actions.late_waste import LateLog, late_logs
from coop.actions.see_baths import look_at_every
from coop.actions.see_counts import GapLook, open_gaps
from coop.actions.see_devices import judged_pairs
from coop.actions.see_orders import OrderLine, OrderList, expected_on, order_list
from coop.actions.see_sessions import Find, finds, lines_for, sessions_ahead
from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.actions.see_stacks import StackLook, facts_of, look_at_stacks
from coop.actions.waste_needs import (
    OldBath,
    OldRules,
    WantingJar,
    baths_to_go,
    old_baths,
    rules_to_review,
    wanting_jars,
)
from coop.ids import EntryId, MemberId, Subject
from coop.ledger.accounts import account
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import (
    HouseState,
    LedgerState,
    OrderState,
    PermissionState,
    PutOffState,
    SessionState,
    StackState,
    StudioState,
)
from coop.ledger.table import HOUSE, LEDGER, needed
from coop.rules.baths import BathLook, limits_of, look_at, turns_at
from coop.rules.counting import count_due, seen_on
from coop.rules.expiry import GoodUntil
from coop.rules.impossible import LOT_BELOW_ZERO
from coop.rules.liquid_looks import LiquidLook, liquid_turns_at, look_at_liquid
from coop.rules.needs import (
    EXPIRING_DAYS,
    RESTED_DAYS,
    SHORT_DAYS,
    WANTED_OF,
    Asked,
    limits_due,
    permission_due,
    urgency,
    zero_due,
)
from coop.rules.reasons import Word
from coop.rules.stacks import GOING_STALE_DAYS, use_by
from coop.science.defaults import value

WANTED_WORDS = frozenset({Word.DO_NOT_USE, Word.LOOK_AGAIN})
HYDROMETER = "hydrometer"
GATHERED = ("studio", "paper", "order", "supply", "permission", "jar", "rules")
"""Lists that are read for whoever is asked more than what is their own."""

AnyLook = BathLook | LiquidLook


@dataclass(frozen=True, slots=True, kw_only=True)
class Expiring:
    """A lot of which some is left, and until when it is good."""

    look: LotLook
    until: GoodUntil


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """An order that is open; `line` None where its supply is not on the order list."""

    order: OrderState
    line: OrderLine | None
    expected: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """A studio, and what was asked about its drain, the newest last."""

    studio: StudioState
    asked: tuple[PermissionState, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortSession:
    """A booked session, and what it will find too little of."""

    session: SessionState
    finds: tuple[Find, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """A lot that is to be counted, and the day on which somebody last saw how much is there."""

    look: LotLook
    seen_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Differing:
    """A lot, and its count that differs from what was written."""

    look: LotLook
    gap: GapLook


Of = (
    AnyLook
    | StackLook
    | OrderLine
    | Arrival
    | Expiring
    | Count
    | Differing
    | Drain
    | StudioState
    | HouseState
    | ShortSession
    | OldBath
    | WantingJar
    | OldRules
    | LateLog
)
"""What the sentence of a need is made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """
    Something that needs somebody.

    Attributes:
        code: One of `kinds.NEEDS`.
        about: The subject it is about, as `need.put_off` names it.
        due: The day it falls due, in the ledger's zone; what is going stale or expiring is
            told of before. Of a bath whose word has turned already: today.
        roles: Whose roles it wants; `members` are asked whatever their roles.
        of: What its sentence is made of: by code, see `Of`.
        hard: Whether it comes before all others.
        put_off: What somebody said, while it is put off.
    """

    code: str
    about: str
    due: date
    roles: frozenset[str]
    members: frozenset[MemberId]
    of: Of
    hard: bool = False
    put_off: PutOffState | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """What needs a member, the most pressing first; `put_off` what waits for its day."""

    open: tuple[Need, ...] = ()
    put_off: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """
    The open baths and the stacks not yet sorted, as they are now.

    `to_go` are the old baths that must still go, where they were read already.
    """

    looks: tuple[AnyLook, ...]
    stacks: tuple[StackState, ...]
    to_go: tuple[AnyBath, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Question:
    """Who asks, and up to when; `now` is in the ledger's zone."""

    journal: Journal
    member: MemberId
    now: datetime
    by: datetime
    zone: tzinfo
    scene: Scene
    orders: OrderList | None
    lots: tuple[LotLook, ...]
    demo: bool

    @property
    def today(self) -> date:
        return self.now.date()

    def day(self, moment: datetime) -> date:
        return moment.astimezone(self.zone).date()

    def in_time(self, day: date) -> bool:
        return day <= self.by.date()


def needs(
    journal: Journal,
    member: MemberId,
    roles: frozenset[str],
    *,
    now: datetime,
    ahead_days: int = 0,
    demo: bool = False,
) -> tuple[Need, ...]:
    """
    Return what needs a member and is not put off, the most pressing first.

    Args:
        ahead_days: What falls due within so many days is told as well, 0 or more.
        demo: Whether invented rules of a drain count.
    """
    found = see_needs(journal, member, roles, now=now, ahead_days=ahead_days, demo=demo)
    return found.open


def see_needs(
    journal: Journal,
    member: MemberId,
    roles: frozenset[str],
    *,
    now: datetime,
    ahead_days: int = 0,
    scene: Scene | None = None,
    demo: bool = False,
) -> Needs:
    """
    Return what needs a member, and what of it was put off.

    Args:
        ahead_days: What falls due within so many days is told as well, 0 or more.
        scene: Baths and stacks, where they were looked at already.
        demo: Whether invented rules of a drain count.
    """
    assert ahead_days >= 0, "what is past is due already"
    if roles & _ASKED_MORE:
        journal.gather(GATHERED)
    ledger: LedgerState = journal.state("ledger", LEDGER)
    zone = ZoneInfo(ledger.zone)
    question = _Question(
        journal=journal,
        member=member,
        now=now.astimezone(zone),
        by=now.astimezone(zone) + timedelta(days=ahead_days),
        zone=zone,
        scene=scene or look_around(journal, now=now),
        orders=(
            order_list(journal, now=now, zone=zone, within_days=ahead_days)
            if roles & _ORDERING
            else None
        ),
        lots=lots_on_hand(journal) if roles & WANTED_OF["count"] else (),
        demo=demo,
    )
    found = [
        need
        for finder, wanted in _FINDERS.items()
        if not wanted or wanted & roles
        for need in finder(question)
        if need.roles & roles or member in need.members
    ]
    return _sorted_out(journal, found, question.today)


def look_around(journal: Journal, *, now: datetime) -> Scene:
    """Return the open baths and the stacks not yet sorted."""
    return Scene(
        looks=look_at_every(journal, journal.listed("bath"), now=now),
        stacks=journal.listed("stack"),
    )


def _sorted_out(journal: Journal, found: list[Need], today: date) -> Needs:
    """Put needs in order, and tell apart what was put off to a later day."""
    subjects = [needed(one.code, one.about) for one in found]
    said: dict[Subject, PutOffState] = journal.states("put_off", subjects) if found else {}
    waiting = [
        replace(one, put_off=off)
        if (off := said.get(subject)) is not None and off.until > today
        else one
        for one, subject in zip(found, subjects, strict=True)
    ]
    ordered = sorted(
        waiting, key=lambda one: (*urgency(one.code, one.due, hard=one.hard), one.about)
    )
    return Needs(
        open=tuple(one for one in ordered if one.put_off is None),
        put_off=tuple(one for one in ordered if one.put_off is not None),
    )


def _need(code: str, about: str, due: date, of: Of, *members: MemberId) -> Need:
    return Need(
        code=code,
        about=about,
        due=due,
        roles=WANTED_OF[code],
        members=frozenset(members),
        of=of,
    )


def _baths(asked: _Question) -> Iterator[Need]:
    """Find the baths whose word asks for somebody, now or in time."""
    for one in asked.scene.looks:
        look = one if one.answer.word in WANTED_WORDS else _turned(asked, one)
        if look is None:
            continue
        need = _need(
            "look-at-bath", look.state.id, asked.day(look.at), look, look.state.mixed_by
        )
        roles = need.roles | ({"safety_officer"} if look.state.stop else frozenset())
        yield replace(need, roles=roles, hard=look.answer.word is Word.DO_NOT_USE)


def _turned(asked: _Question, look: AnyLook) -> AnyLook | None:
    """Return a bath as it will be when its word turns in time to one that asks for somebody."""
    days = (asked.by - asked.now).days
    if not days:
        return None
    if isinstance(look, BathLook):
        turn = turns_at(look.state, look.around, now=look.at, within_days=days)
    else:
        turn = liquid_turns_at(look.state, look.around, now=look.at, within_days=days)
    if turn is None or turn[1].word not in WANTED_WORDS:
        return None
    if isinstance(look, BathLook):
        return look_at(look.state, look.around, at=turn[0])
    return look_at_liquid(look.state, look.around, at=turn[0])


def _rested(asked: _Question) -> Iterator[Need]:
    """Find the sizes whose rest is over, or will be in time, and that nobody has touched."""
    for look in asked.scene.looks:
        if not isinstance(look, LiquidLook) or look.state.rest_until is None:
            continue
        until = look.state.rest_until
        over = until <= asked.now
        if until > asked.by or asked.now - until > timedelta(days=RESTED_DAYS):
            continue
        if over and (look.state.hands.at > until or look.answer.word is not Word.GOOD):
            continue
        yield _need("resting-over", look.state.id, asked.day(until), look, look.state.mixed_by)


def _stacks(asked: _Question) -> Iterator[Need]:
    """Find the member's own stacks that are going stale."""
    own = [one for one in asked.scene.stacks if one.by == asked.member and one.left_count > 0]
    if not own:
        return
    limits = limits_of(asked.journal.state("house", HOUSE))
    told = timedelta(days=GOING_STALE_DAYS)
    stale = [one for one in own if use_by(facts_of(one, None), limits) - told <= asked.by]
    for look in look_at_stacks(asked.journal, stale, now=asked.now):
        yield _need("stack-stale", look.state.id, asked.day(look.use_by), look, look.state.by)


def _orders(asked: _Question) -> Iterator[Need]:
    """Find the supplies that are to be ordered."""
    assert asked.orders is not None, "who orders has the list"
    for line in asked.orders.lines:
        due = line.plan.order_by if line.plan else None
        if due is not None and asked.in_time(due):
            yield _need("order", line.supply.id, due, line)


def _lines_of(orders: OrderList) -> dict[Subject, OrderLine]:
    """Return the lines of the order list by supply, those not ordered any more too."""
    return {line.supply.id: line for line in (*orders.every, *orders.coming)}


def _arrivals(asked: _Question) -> Iterator[Need]:
    """Find the orders that should have come."""
    assert asked.orders is not None, "who orders has the list"
    lines = _lines_of(asked.orders)
    for order in asked.journal.listed("order"):
        line = lines.get(order.supply)
        lead_days = line.facts.lead_days if line else round(value("order_lead_days"))
        expected = expected_on(order, lead_days, asked.zone)
        if asked.in_time(expected):
            of = Arrival(order=order, line=line, expected=expected)
            yield _need("arrival", order.id, expected, of)


def _expiring(asked: _Question) -> Iterator[Need]:
    """Find the lots of which some is left and that will not be good much longer."""
    told = timedelta(days=EXPIRING_DAYS)
    for look in asked.lots:
        days = [one for one in (look.good_until, look.open_pack_until) if one]
        until = min(days, key=lambda one: one.day, default=None)
        if look.left > 0 and until is not None and asked.in_time(until.day - told):
            yield _need("expiring", look.lot.id, until.day, Expiring(look=look, until=until))


def _counts(asked: _Question) -> Iterator[Need]:
    """Find the lots that are to be counted: it is time, or more was taken than came in."""
    by, zone = asked.by.date(), asked.zone
    for look in _below_zero(asked):
        of = Count(look=look, seen_on=seen_on(look.lot, zone=zone))
        yield _need("count", look.lot.id, asked.today, of)
    for look, known_at in _written_down(asked):
        late_days = count_due(look.lot, look.supply, today=by, zone=zone, known_at=known_at)
        if late_days is not None:
            seen = seen_on(look.lot, zone=zone, known_at=known_at)
            due = by - timedelta(days=late_days)
            yield _need("count", look.lot.id, due, Count(look=look, seen_on=seen))


def _written_down(asked: _Question) -> Iterator[tuple[LotLook, datetime | None]]:
    """Give the lots that may be due, with when they were written down if never counted."""
    by, zone = asked.by.date(), asked.zone
    due = [
        look
        for look in asked.lots
        if look.left >= 0 and count_due(look.lot, look.supply, today=by, zone=zone) is not None
    ]
    sealed = asked.journal.by_ids(EntryId(one.lot.id) for one in due if not one.lot.counts)
    for look in due:
        same = sealed.get(EntryId(look.lot.id), ())
        yield look, min((one.first.admitted_at for one in same), default=None)


def _below_zero(asked: _Question) -> Iterator[LotLook]:
    """Give the lots that cannot be as written, as Sort it out has them."""
    below = {account("lot", look.lot.id): look for look in asked.lots if look.left < 0}
    if not below:
        return
    doubts, judged = asked.journal.doubts(below), judged_pairs(asked.journal)
    for name, look in below.items():
        sure = look.left < -doubts.get((name, str(look.lot.substance)), 0)
        if sure and (LOT_BELOW_ZERO, str(look.lot.id)) not in judged:
            yield look


def _gaps(asked: _Question) -> Iterator[Need]:
    """Find the lots of which a count saw another amount than is written, beyond noise."""
    looks = {look.lot.id: look for look in asked.lots}
    lots = [look.lot for look in asked.lots]
    for gap in open_gaps(asked.journal, lots, held=asked.journal.holding("lot")):
        of = Differing(look=looks[gap.lot.id], gap=gap)
        yield _need("gap", gap.lot.id, asked.day(gap.count.at), of)


def _zeros(asked: _Question) -> Iterator[Need]:
    """Find the hydrometers that are to be read in tap water."""
    for studio in asked.journal.listed("studio"):
        if HYDROMETER not in studio.instruments:
            continue
        last = max((one.at for one in studio.zeros), default=None)
        due = zero_due(asked.day(last) if last else None, today=asked.today)
        if asked.in_time(due):
            yield _need("zero", studio.id, due, studio)


def _permissions(asked: _Question) -> Iterator[Need]:
    """Find the studios about whose drain somebody is to ask, for the first time or again."""
    recorded: dict[Subject, list[PermissionState]] = defaultdict(list)
    for one in asked.journal.listed("permission"):
        recorded[one.studio].append(one)
    for studio in asked.journal.listed("studio"):
        said = sorted(recorded[studio.id], key=lambda one: (one.asked_on, one.id))
        due = permission_due(
            studio.drain,
            [
                Asked(about=one.about, asked_on=one.asked_on, review_on=one.review_on)
                for one in said
            ],
            today=asked.today,
        )
        if due is not None and asked.in_time(due):
            yield _need("permission", studio.id, due, Drain(studio=studio, asked=tuple(said)))


def _limits(asked: _Question) -> Iterator[Need]:
    """Find whether the house limits are to be looked over, or leave a question open."""
    house: HouseState | None = asked.journal.state("house", HOUSE)
    if house is None:
        return
    due = limits_due(asked.day(house.set_at), records_kept=house.records_kept)
    if asked.in_time(due):
        yield _need("limits", HOUSE, due, house)


def _short(asked: _Question) -> Iterator[Need]:
    """Find the booked sessions that will find too little on the shelf."""
    assert asked.orders is not None, "who books has the list"
    told = timedelta(days=SHORT_DAYS)
    days = (asked.by + told - asked.now).days
    sessions = sessions_ahead(asked.journal, now=asked.now, zone=asked.zone, days=days)
    lines = _lines_of(asked.orders)
    others = {need.supply for one in sessions for need in one.needs} - lines.keys()
    lines |= lines_for(asked.journal, others, now=asked.now, zone=asked.zone)
    found = finds(lines, sessions, today=asked.today, zone=asked.zone)
    for session in sessions:
        short = tuple(one for one in found[session.id] if one.share.short)
        if short:
            of = ShortSession(session=session, finds=short)
            due = asked.day(session.starts_at) - told
            yield _need("session-short", session.id, due, of)


def _waiting(asked: _Question) -> Iterator[Need]:
    """Find the old baths that have waited too long to be got rid of."""
    baths = asked.scene.to_go
    if baths is None:
        baths = baths_to_go(asked.journal)
    for one in old_baths(baths, zone=asked.zone):
        if asked.in_time(one.due):
            yield _need("waste-waiting", one.bath.id, one.due, one, one.bath.mixed_by)


def _jars(asked: _Question) -> Iterator[Need]:
    """Find what waste jars need."""
    for one in wanting_jars(asked.journal, now=asked.now, demo=asked.demo):
        yield _need(one.code, one.seen.state.id, one.due, one)


def _late_logs(asked: _Question) -> Iterator[Need]:
    """Find the studios of whose last month something came in that changed its total."""
    for one in late_logs(asked.journal, now=asked.now, demo=asked.demo):
        yield _need("waste-late", one.studio.id, asked.today, one)


def _reviews(asked: _Question) -> Iterator[Need]:
    """Find the rules of drains that are to be held against their source again."""
    for one in rules_to_review(asked.journal):
        if asked.in_time(one.due):
            yield _need("rules-review", one.rules.id, one.due, one)


Finder = Callable[[_Question], Iterator[Need]]
_EVERYBODY: frozenset[str] = frozenset()
_ASKED_MORE = frozenset[str]().union(*WANTED_OF.values())
"""Who is asked more than what is their own."""
_ORDERING = WANTED_OF["order"] | WANTED_OF["session-short"]
"""Who is asked something for which the order list is read."""

_FINDERS: MappingProxyType[Finder, frozenset[str]] = MappingProxyType(
    {
        _baths: _EVERYBODY,
        _rested: _EVERYBODY,
        _stacks: _EVERYBODY,
        _orders: WANTED_OF["order"],
        _arrivals: WANTED_OF["arrival"],
        _expiring: WANTED_OF["expiring"],
        _counts: WANTED_OF["count"],
        _gaps: WANTED_OF["gap"],
        _zeros: WANTED_OF["zero"],
        _permissions: WANTED_OF["permission"],
        _limits: WANTED_OF["limits"],
        _short: WANTED_OF["session-short"],
        _waiting: WANTED_OF["waste-waiting"],
        _jars: WANTED_OF["jar-overdue"],
        _late_logs: WANTED_OF["waste-late"],
        _reviews: WANTED_OF["rules-review"],
    }
)
"""How each need is found, and for which roles it is looked up; nobody's roles: everybody's."""
