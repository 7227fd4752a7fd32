"""Look at booked sessions: when they are, what each takes, and what it will find."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from typing import Final

from coop.actions.see_orders import LASTS_MAX_DAYS, OrderLine, see_order_lines
from coop.actions.see_shelf import lots_on_hand
from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.ports import Journal
from coop.ledger.states import Needed, PaperState, SessionState, SupplyState
from coop.ledger.supplies import months_of
from coop.rules.needs import Share, shares
from coop.rules.orders import Booking, SupplyFacts, is_over
from coop.science.defaults import value

AHEAD_DAYS: Final = 366
"""So far ahead booked sessions are looked for."""

NEAR_DAYS: Final = 14
"""What is mixed or alumed may be for a session so many days before or after."""

DRAWN_BEFORE_DAYS: Final = 35
"""What was drawn for a session so long before it counts."""

_DAY: Final = timedelta(days=1)


def sessions_in(
    journal: Journal, first: date, last: date, *, zone: tzinfo
) -> tuple[SessionState, ...]:
    """Return the sessions that start from one day to another, called off or not, by start."""
    # A start written in another zone may be listed under the month of the day beside it.
    months = months_of(first - _DAY, last + _DAY)
    found: tuple[SessionState, ...] = journal.listed_in("session", months)
    return tuple(
        sorted((one for one in found if first <= day_of(one, zone) <= last), key=_by_start)
    )


def day_of(session: SessionState, zone: tzinfo) -> date:
    """Return the day on which a session starts, in the co-operative's own zone."""
    return session.starts_at.astimezone(zone).date()


def _by_start(session: SessionState) -> tuple[datetime, Subject]:
    return session.starts_at, session.id


def sessions_ahead(
    journal: Journal, *, now: datetime, zone: tzinfo, days: int = AHEAD_DAYS
) -> tuple[SessionState, ...]:
    """Return the booked sessions that are not over and start within some days, by start."""
    today = now.astimezone(zone).date()
    first = today - LASTS_MAX_DAYS * _DAY
    found = sessions_in(journal, first, today + days * _DAY, zone=zone)
    return tuple(one for one in found if not one.called_off and not is_over(one, now=now))


def sessions_near(
    journal: Journal, *, now: datetime, zone: tzinfo, studio: Subject | None = None
) -> tuple[SessionState, ...]:
    """Return the sessions that something done now may be for: this studio's, the next first."""
    today = now.astimezone(zone).date()
    span = NEAR_DAYS * _DAY
    found = sessions_in(journal, today - span, today + span, zone=zone)
    return tuple(
        sorted(
            (one for one in found if not one.called_off),
            key=lambda one: (one.studio != studio, abs(one.starts_at - now), one.id),
        )
    )


def sessions_of_month(
    journal: Journal, month: date, *, zone: tzinfo
) -> tuple[SessionState, ...]:
    """Return the sessions that start in the month of a day, called off or not, by start."""
    first = month.replace(day=1)
    last = (first + 31 * _DAY).replace(day=1) - _DAY
    return sessions_in(journal, first, last, zone=zone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Find:
    """What a booked session will find of a supply; `line` None of one that never came."""

    supply: Subject
    line: OrderLine | None
    share: Share

    @property
    def coming(self) -> int:
        """What orders bring until the day, in the unit of the supply's rows."""
        orders = self.line.facts.on_the_way if self.line else ()
        return sum(one.amount for one in orders if one.day <= self.share.booking.day)


def finds(
    lines: Mapping[Subject, OrderLine],
    sessions: Iterable[SessionState],
    *,
    today: date,
    zone: tzinfo,
) -> Mapping[Subject, tuple[Find, ...]]:
    """
    Return what each session will find of what it still takes, by session.

    Args:
        lines: Supplies as the order list has them; of one that is not there nothing is left.
    """
    wanted = {one.id: one for one in sessions}
    found: dict[Subject, list[Find]] = {one: [] for one in wanted}
    for supply in sorted({need.supply for one in wanted.values() for need in one.needs}):
        line = lines.get(supply)
        facts = line.facts if line else _none_of(supply, wanted.values(), zone)
        for share in shares(facts, today=today):
            if share.booking.session in wanted:
                found[share.booking.session].append(Find(supply=supply, line=line, share=share))
    return {session: tuple(several) for session, several in found.items()}


def _none_of(supply: Subject, sessions: Iterable[SessionState], zone: tzinfo) -> SupplyFacts:
    """Return what is known of a supply that never came."""
    return SupplyFacts(
        on_hand=0,
        floor=0,
        per_week=0.0,
        lead_days=round(value("order_lead_days")),
        review_days=round(value("order_review_days")),
        pack=None,
        keeps_days=None,
        on_the_way=(),
        bookings=tuple(
            Booking(
                day=day_of(one, zone),
                amount=amount,
                name=one.name,
                head_count=one.head_count,
                session=one.id,
            )
            for one in sessions
            if (amount := _amount_of(one, supply))
        ),
    )


def _amount_of(session: SessionState, supply: Subject) -> int:
    """Return what a session takes of a supply, in the unit of its rows."""
    return sum(need.amount for need in session.needs if need.supply == supply)


def lines_for(
    journal: Journal, supplies: Iterable[Subject], *, now: datetime, zone: tzinfo
) -> Mapping[Subject, OrderLine]:
    """Return supplies as the order list has them; one that never came is left out."""
    wanted = set(supplies)
    if not wanted:
        return {}
    known: Mapping[Subject, SupplyState] = journal.states("supply", wanted)
    lines = see_order_lines(journal, tuple(known.values()), now=now, zone=zone)
    return {line.supply.id: line for line in lines}


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedLook:
    """
    What a session takes of a supply, in the unit of its rows.

    Attributes:
        line: The supply as the order list has it; None of one that never came.
        paper: The paper, of paper.
        here: What stands in the session's own studio; `on_hand` in all of them. What is past
            its day or sets to a jelly is neither.
        drawn: What was drawn for the session already.
        find: What it will find of the rest; None once all of it is drawn, or it is over.
    """

    supply: Subject
    amount: int
    line: OrderLine | None
    paper: PaperState | None
    here: int
    on_hand: int
    drawn: int
    find: Find | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionLook:
    """A booked session, with what it takes and what was drawn for it besides."""

    session: SessionState
    over: bool
    needs: tuple[NeedLook, ...]
    besides: tuple[tuple[SupplyState, PaperState | None, int], ...]


def see_session(
    journal: Journal, session: SessionState, *, now: datetime, zone: tzinfo
) -> SessionLook:
    """Return one session with what it takes, what there is, and what was drawn for it."""
    today = now.astimezone(zone).date()
    supplies: Mapping[Subject, SupplyState] = {
        one.id: one for one in journal.listed("supply", live=False)
    }
    wanted = {need.supply for need in session.needs}
    papers = {one.id: one for one in journal.listed("paper", live=False)}
    lines = lines_for(journal, wanted, now=now, zone=zone)
    over = session.called_off or is_over(session, now=now)
    found = () if over else finds(lines, [session], today=today, zone=zone)[session.id]
    drawn = drawn_for(journal, session, wanted | supplies.keys(), zone=zone)
    here = _held_in(journal, session.studio, wanted, today=today)
    return SessionLook(
        session=session,
        over=over,
        needs=tuple(
            NeedLook(
                supply=need.supply,
                amount=need.amount,
                line=(line := lines.get(need.supply)),
                paper=papers.get(Subject(need.supply.partition(":")[2])),
                here=here.get(need.supply, 0),
                on_hand=line.facts.on_hand if line else 0,
                drawn=drawn.get(need.supply, 0),
                find=next((one for one in found if one.supply == need.supply), None),
            )
            for need in _merged(session.needs)
        ),
        besides=tuple(
            (one, papers.get(one.paper) if one.paper else None, drawn[supply])
            for supply, one in supplies.items()
            if drawn.get(supply) and supply not in wanted
        ),
    )


def _merged(needs: Iterable[Needed]) -> tuple[Needed, ...]:
    """Return needs with those of one supply taken together, in their order."""
    found: dict[Subject, Needed] = {}
    for one in needs:
        there = found.get(one.supply)
        found[one.supply] = replace(one, amount=there.amount + one.amount) if there else one
    return tuple(found.values())


def drawn_for(
    journal: Journal, session: SessionState, supplies: Iterable[Subject], *, zone: tzinfo
) -> Mapping[Subject, int]:
    """Return what was drawn of supplies for a session, in the units of their rows."""
    first = session.starts_at.astimezone(zone) - DRAWN_BEFORE_DAYS * _DAY
    found: dict[Subject, int] = defaultdict(int)
    for one in journal.drawn(sorted(supplies), week=accounts.week(first)):
        if one.session == session.id:
            found[Subject(one.substance)] += one.amount
    return found


def _held_in(
    journal: Journal, studio: Subject, supplies: Collection[Subject], *, today: date
) -> Mapping[Subject, int]:
    """Return what a studio's lots hold of supplies that can be used."""
    found: dict[Subject, int] = defaultdict(int)
    for look in lots_on_hand(journal, supplies):
        if look.lot.studio == studio:
            found[look.lot.substance] += look.usable(today)
    return found
