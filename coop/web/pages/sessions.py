"""Booked sessions: those ahead and those past, one with what it takes, and planning one."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar, Final

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response

from coop.actions.correct_entry import see_entry
from coop.actions.plan_session import Plan, propose
from coop.actions.see_sessions import (
    Find,
    NeedLook,
    SessionLook,
    finds,
    lines_for,
    see_session,
    sessions_ahead,
    sessions_of_month,
)
from coop.actions.set_up import content_of
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.kinds import SessionPlanned
from coop.ledger.states import SessionState, StudioState
from coop.people.may import may
from coop.rules.cautions import UNDER_16
from coop.rules.orders import is_over
from coop.web import needing, ordering
from coop.web import words as say
from coop.web.cautions import cautions
from coop.web.editions import EditionForm, publish
from coop.web.forms import written
from coop.web.page import desk, face, faces, known, needs, now, show, who, words, zone
from coop.web.planning import SessionForm, shown_of, whens
from coop.web.stock import amount_text, supply_name
from coop.web.told import telling

KIND: Final = "session.planned"
PROPOSE: Final = "propose"
FIRST_YEAR: Final = 1970
LAST_YEAR: Final = 9998
"""Years in which the ledger knows moments (`coop.ledger.schema`)."""

pages = Blueprint("sessions", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionRow:
    """A session in a list; `short` says what it will find too little of, empty for nothing."""

    url: str
    name: str
    told: str
    short: str = ""
    called_off: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionsPage:
    """The sessions ahead, and those of one month; `months` lead to the months beside it."""

    ahead: tuple[SessionRow, ...]
    month: str
    of_month: tuple[SessionRow, ...]
    months: tuple[tuple[str, str], ...]
    may_plan: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedRow:
    """What a session takes of a supply; `short` is empty when there is enough."""

    name: str
    url: str
    takes: str
    there: tuple[str, ...]
    short: str
    enough: str
    order: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPage:
    """One session; `call_off` is the form that calls it off, or says that it is held."""

    id: str
    name: str
    when: str
    called_off: bool
    over: bool
    facts: tuple[tuple[str, str], ...]
    needs: tuple[NeedRow, ...]
    besides: tuple[str, ...]
    cautions: tuple[str, ...]
    may_plan: bool
    call_off: "CallOffForm"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """Planning a session; `name` is empty for a new one."""

    id: str
    name: str
    form: SessionForm
    no_studio: bool
    cautions: tuple[str, ...]
    missing: tuple[str, ...]


class CallOffForm(EditionForm):
    """The same plan once more, called off or held after all; the button says which."""

    kind: ClassVar[str] = KIND
    said: dict[str, Any]

    def body(self) -> dict[str, Any]:
        return self.said


@pages.get("/sessions")
@needs("read")
def sessions() -> Response:
    today = now().astimezone(zone()).date()
    month = _month(today)
    ahead = sessions_ahead(desk().journal, now=now(), zone=zone())
    past = [
        one
        for one in sessions_of_month(desk().journal, month, zone=zone())
        if one.called_off or is_over(one, now=now())
    ]
    found = _finds(ahead, today)
    page = SessionsPage(
        ahead=tuple(_row(one, found.get(one.id, ())) for one in ahead),
        month=month.strftime("%Y-%m"),
        of_month=tuple(_row(one, ()) for one in reversed(past)),
        months=_beside(month),
        may_plan=may(who().roles, KIND),
    )
    return show("sessions.html", page=page, nav="room")


def _month(today: date) -> date:
    """Return the first day of the month that was asked for, or of this one."""
    try:
        asked = date.fromisoformat(f"{request.args.get('month', '')}-01")
    except ValueError:
        asked = today.replace(day=1)
    return asked if FIRST_YEAR <= asked.year <= LAST_YEAR else today.replace(day=1)


def _beside(month: date) -> tuple[tuple[str, str], ...]:
    before = (month - timedelta(days=1)).strftime("%Y-%m")
    after = (month + timedelta(days=31)).strftime("%Y-%m")
    return tuple((one, url_for("sessions.sessions", month=one)) for one in (before, after))


def _finds(ahead: tuple[SessionState, ...], today: date) -> dict[Subject, tuple[Find, ...]]:
    wanted = {need.supply for one in ahead for need in one.needs}
    lines = lines_for(desk().journal, wanted, now=now(), zone=zone())
    return dict(finds(lines, ahead, today=today, zone=zone()))


def _row(one: SessionState, found: tuple[Find, ...]) -> SessionRow:
    short = [needing.short_text(telling(), find) for find in found if find.share.short]
    return SessionRow(
        url=f"/sessions/{one.id}",
        name=one.name,
        told=words().gettext(
            "%(when)s, %(studio)s, %(people)s",
            when=whens(one),
            studio=_studio_name(one),
            people=_people(one),
        ),
        short="; ".join(short),
        called_off=one.called_off,
    )


def _studio_name(one: SessionState) -> str:
    studio: StudioState | None = desk().journal.state("studio", one.studio)
    return studio.name if studio else "—"


def _people(one: SessionState) -> str:
    heads = words().ngettext("%(num)d person", "%(num)d people", one.head_count)
    if not one.under_16:
        return heads
    return words().gettext("%(people)s, some under 16", people=heads)


@pages.get("/sessions/<session>")
@needs("read")
def session(session: str) -> Response:
    state: SessionState = known("session", session)
    look = see_session(desk().journal, state, now=now(), zone=zone())
    faces().gather([state.planned_by])
    page = SessionPage(
        id=state.id,
        name=state.name,
        when=whens(state),
        called_off=state.called_off,
        over=look.over,
        facts=(
            (words().gettext("When"), whens(state)),
            (words().gettext("Where"), _studio_name(state)),
            (words().gettext("People"), _people(state)),
            (words().gettext("Planned by"), face(state.planned_by).name),
        ),
        needs=tuple(_need_row(one, look) for one in look.needs),
        besides=tuple(
            words().gettext(
                "%(amount)s of %(supply)s",
                amount=amount_text(words(), supply.what, supply.measure, amount),
                supply=supply_name(words(), supply, paper),
            )
            for supply, paper, amount in look.besides
        ),
        cautions=cautions(words(), UNDER_16) if state.under_16 else (),
        may_plan=may(who().roles, KIND),
        call_off=CallOffForm(formdata=None, data={"supersedes": state.edition}),
    )
    return show("session.html", page=page, nav="room")


def _need_row(need: NeedLook, look: SessionLook) -> NeedRow:
    what, measure = needing.kind_of(need.supply, need.line)

    def much(amount: int) -> str:
        return amount_text(words(), what, measure, amount)

    short = need.find.share.short if need.find else 0
    there = []
    if need.drawn:
        there.append(
            words().gettext("%(amount)s drawn for it already.", amount=much(need.drawn))
        )
    if not look.over:
        there.append(_on_hand(need, much(need.on_hand), much(need.here)))
    if need.line and not look.over:
        there.extend(ordering.not_on_hand(words(), need.line))
    if need.find and (coming := need.find.coming):
        there.append(words().gettext("%(amount)s on the way.", amount=much(coming)))
    return NeedRow(
        name=needing.supply_text(words(), need.supply, need.line, need.paper),
        url=f"/supplies/{need.supply}" if need.line else "",
        takes=much(need.amount),
        there=tuple(there),
        short=words().gettext("short by %(amount)s", amount=much(short)) if short else "",
        enough="" if short or look.over else words().gettext("enough"),
        order=_order_by(need) if short else "",
    )


def _on_hand(need: NeedLook, all_of_it: str, here: str) -> str:
    if need.on_hand == need.here:
        return words().gettext("%(amount)s on hand.", amount=all_of_it)
    return words().gettext(
        "%(amount)s on hand, %(here)s of it in this studio.", amount=all_of_it, here=here
    )


def _order_by(need: NeedLook) -> str:
    """Say by when what is short has to be ordered to be there."""
    assert need.find is not None, "only what is short is ordered"
    lead_days = need.line.facts.lead_days if need.line else None
    if lead_days is None:
        return words().gettext("It never came to this shelf: nobody knows how long it takes.")
    today = now().astimezone(zone()).date()
    day = need.find.share.booking.day - timedelta(days=lead_days)
    if day == today:
        return words().gettext("Order it today.")
    if day < today:
        return words().ngettext(
            "Ordered today it comes too late: it takes %(num)d day to arrive.",
            "Ordered today it comes too late: it takes %(num)d days to arrive.",
            lead_days,
        )
    return words().gettext("Order it by %(day)s.", day=ordering.short_day(words(), day, today))


@pages.route("/sessions/new", methods=["GET", "POST"])
@needs(KIND)
def new_session() -> Response:
    return _plan(SessionForm(), None)


@pages.route("/sessions/<session>/change", methods=["GET", "POST"])
@needs(KIND)
def change_session(session: str) -> Response:
    state: SessionState = known("session", session)
    said = content_of(desk().journal, state.id, state.edition)
    assert isinstance(said, SessionPlanned)
    return _plan(SessionForm(data=shown_of(said) | {"supersedes": state.edition}), state)


def _plan(form: SessionForm, state: SessionState | None) -> Response:
    studios: tuple[StudioState, ...] = desk().journal.listed("studio")
    form.offer(studios)
    missing: tuple[str, ...] = ()
    status = 422 if form.is_submitted() else 200
    if PROPOSE in request.form:
        plan = _proposed(form)
        if plan is not None:
            form.take_over(plan)
            missing, status = _left_out(plan), 200
    elif form.validate_on_submit():
        fixed = {"session": state.id} if state else {}
        outcome = publish(form, "session", state.id if state else None, **fixed)
        if written(outcome, words().gettext("%(name)s is planned.", name=form.name.data)):
            assert isinstance(outcome, Written)
            session = state.id if state else outcome.sealed.entry.id
            return redirect(f"/sessions/{session}", 303)
    page = PlanPage(
        id=state.id if state else "",
        name=state.name if state else "",
        form=form,
        no_studio=not studios,
        cautions=cautions(words(), UNDER_16) if form.under_16.data == "yes" else (),
        missing=missing,
    )
    return show("session_form.html", page=page, nav="room", status=status)


def _left_out(plan: Plan) -> tuple[str, ...]:
    """Say what was not proposed, and why."""
    missing = (
        words().gettext(
            "The house has no %(what)s among its supplies, so none was proposed.",
            what=say.choice(words(), "supply", what),
        )
        for what in plan.missing
    )
    unsure = (
        words().gettext(
            "There is more than one %(what)s: choose which, and it is proposed.",
            what=say.choice(words(), "supply", what),
        )
        for what in plan.unsure
    )
    return (*missing, *unsure)


def _proposed(form: SessionForm) -> Plan | None:
    """Return what so many people take; None where what was typed does not say it."""
    asked = form.asked()
    if asked is None:
        return None
    return propose(desk().journal, asked)


@pages.post("/sessions/<session>/call-off")
@needs(KIND)
def call_off(session: str) -> Response:
    state: SessionState = known("session", session)
    form = CallOffForm()
    standing = see_entry(desk().journal, state.edition)
    assert standing is not None, "an edition in force is an entry"
    form.said = standing.body() | {
        "session": state.id,
        "supersedes": state.edition,
        "called_off": "no" if state.called_off else "yes",
    }
    told = (
        words().gettext("It is held after all.")
        if state.called_off
        else (
            words().gettext(
                "%(name)s is called off. Tell whoever was to come.", name=state.name
            )
        )
    )
    if form.validate_on_submit():
        written(publish(form, "session", state.id), told)
    return redirect(f"/sessions/{state.id}", 303)
