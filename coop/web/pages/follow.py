"""Follow a sheet: back from a fault, forward to sheets at risk, and who has seen it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flask import Blueprint, flash, redirect, request
from werkzeug.wrappers import Response

from coop.actions.follow import (
    Backward,
    Forward,
    LaidThen,
    alert_of,
    follow_back,
    follow_bath,
    follow_lot,
)
from coop.actions.write import Draft, Written, write
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.force import InForce
from coop.ledger.states import LotState, StackState
from coop.rules.baths import BathLook
from coop.web import amounts, came_out, reasons
from coop.web import words as say
from coop.web.alerts import AlertSaid, alert_said
from coop.web.page import (
    desk,
    face,
    faces,
    known,
    needs,
    new_id,
    now,
    show,
    who,
    words,
    writing,
)
from coop.web.reasons import Telling
from coop.web.told import Names, bath_url, paper, telling, told

STACKS_SHOWN = 60
ENTRIES_SHOWN = 20
OFFERED = 20
WAYS = ("stack", "bath", "size", "lot")

pages = Blueprint("follow", __name__)

Link = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Then:
    """The alum at the moment the sheets went through, as one way of looking tells."""

    label: str
    word: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeThen:
    """What sheets were laid on, and what it was like then."""

    link: Link
    laid: str
    word: str
    age: str
    spread: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """What somebody did to the alum before the sheets."""

    text: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BackSaid:
    """What a stack came from."""

    out: str
    sorting: Link
    alum: Link | None
    then: tuple[Then, ...]
    lots: tuple[Link, ...]
    paper: str
    paper_url: str
    sizes: tuple[SizeThen, ...]
    hands: tuple[Hand, ...]
    more_hands: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskRow:
    """A stack at risk: whose, how many wait for colour or were laid, how they came out."""

    who: str
    when: str
    url: str
    sheets: str
    waiting: str
    out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ForwardSaid:
    """All that holds something of what is followed."""

    total: str
    baths: tuple[Link, ...]
    rows: tuple[RiskRow, ...]
    more_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowPage:
    """
    One way followed, back or forward; with none chosen, what can be followed.

    `forward_of` leads on from a stack to all that its alum, sizes and lots went to.
    """

    title: str
    about: Link | None = None
    alerts: tuple[AlertSaid, ...] = ()
    back: BackSaid | None = None
    forward: ForwardSaid | None = None
    forward_of: tuple[Link, ...] = ()
    offered: tuple[Link, ...] = ()


@pages.get("/follow")
@needs("read")
def follow() -> Response:
    way = next((one for one in WAYS if request.args.get(one)), "")
    subject = request.args.get(way, "")
    page = _chosen(way, subject) if way else _to_choose()
    return show("follow.html", page=page, nav="stacks")


def _to_choose() -> FollowPage:
    stacks: tuple[StackState, ...] = desk().journal.listed("stack")
    newest = sorted(stacks, key=lambda stack: (stack.at, stack.id), reverse=True)[:OFFERED]
    faces().gather(stack.by for stack in newest)
    return FollowPage(
        title=words().gettext("Follow a sheet"),
        offered=tuple((_stack_text(stack), f"/follow?stack={stack.id}") for stack in newest),
    )


def _stack_text(stack: StackState) -> str:
    """Say '40 half sheets, 2025-09-18, Kahu R.'"""
    return words().gettext(
        "%(sheets)s, %(day_by)s",
        sheets=say.sheets(words(), stack.sheet_count, stack.sheet_format),
        day_by=say.day_by(words(), stack.at, face(stack.by).name),
    )


def _chosen(way: str, subject: str) -> FollowPage:
    if way == "stack":
        return _of_stack(known("stack", subject))
    if way == "lot":
        lot: LotState = known("lot", subject)
        title = words().gettext("Sheets that hold something of %(lot)s", lot=lot.name)
        return FollowPage(
            title=title,
            about=(lot.name, f"/lots/{lot.id}"),
            forward=_forward(follow_lot(desk().journal, lot)),
        )
    bath: AnyBath = known("bath", subject)
    alert = alert_of(desk().journal, bath)
    return FollowPage(
        title=words().gettext("Sheets that %(bath)s touched", bath=bath.name),
        about=(say.bath_name(words(), bath.what, bath.name), bath_url(bath)),
        alerts=(alert_said(alert),) if alert else (),
        forward=_forward(follow_bath(desk().journal, bath)),
    )


def _of_stack(stack: StackState) -> FollowPage:
    found = follow_back(desk().journal, stack)
    faces().gather(one.author for one in found.entries)
    stopped = _baths_of(found)
    alerts = (alert_of(desk().journal, bath) for bath in stopped)
    return FollowPage(
        title=words().gettext("Where these sheets come from"),
        about=(_stack_text(stack), f"/stacks/{stack.id}"),
        alerts=tuple(alert_said(one) for one in alerts if one is not None),
        back=_back(found),
        forward_of=tuple(_onward(found)),
    )


def _baths_of(found: Backward) -> list[AnyBath]:
    """Return the alum and the sizes of a stack as they are now."""
    sizes = desk().journal.states("bath", {one.laid.size for one in found.laid})
    return [*((found.bath,) if found.bath else ()), *sizes.values()]


def _onward(found: Backward) -> Iterator[Link]:
    for bath in _baths_of(found):
        yield say.bath_name(words(), bath.what, bath.name), f"/follow?bath={bath.id}"
    for lot in (*found.lots, *((found.paper_lot,) if found.paper_lot else ())):
        yield lot.name, f"/follow?lot={lot.id}"


def _back(found: Backward) -> BackSaid:
    stack, tell = found.stack, telling()
    names = Names(desk().journal)
    shown = found.entries[:ENTRIES_SHOWN]
    return BackSaid(
        out=_out(stack),
        sorting=(words().gettext("How did they come out?"), f"/stacks/{stack.id}/sorting"),
        alum=(found.bath.name, bath_url(found.bath)) if found.bath else None,
        then=tuple(_thens(tell, found)),
        lots=tuple((lot.name, f"/lots/{lot.id}") for lot in found.lots),
        paper=paper(words(), names, stack.lot, stack.paper),
        paper_url=f"/lots/{stack.lot}" if found.paper_lot else "",
        sizes=tuple(_size_then(replace(tell, dated=True), names, one) for one in found.laid),
        hands=tuple(_hand(names, one) for one in shown),
        more_hands=len(found.entries) - len(shown),
    )


def _out(stack: StackState) -> str:
    """Say '33 good, 7 washed off; 40 of 40 sorted'."""
    done = words().gettext(
        "%(count)s of %(every)s sorted",
        count=stack.sorted_count,
        every=stack.sheet_count - stack.binned_count,
    )
    if not stack.sorted_count:
        return done
    return f"{came_out.counts(words(), stack.good, stack.spoiled)}; {done}"


def _thens(tell: Telling, found: Backward) -> Iterator[Then]:
    labels = (
        (words().gettext("What it said then"), found.said),
        (words().gettext("By what we know now"), found.known),
    )
    for label, look in labels:
        if look is None:
            yield Then(label=label, word="", why=words().gettext("It was not mixed yet."))
        else:
            yield _then(replace(tell, dated=True), label, look)


def _then(tell: Telling, label: str, look: BathLook) -> Then:
    why = reasons.why(tell, look)
    about = reasons.strength(tell.words, look)
    return Then(
        label=label,
        word=look.answer.word.value,
        why=why if why == about else f"{why} {about}",
    )


def _size_then(tell: Telling, names: Names, one: LaidThen) -> SizeThen:
    laid, look = one.laid, one.look
    spreads = [drop.spread_mm for drop in look.state.drops if drop.spread_mm] if look else []
    return SizeThen(
        link=(names.of("bath", laid.size), f"/liquids/{laid.size}"),
        laid=words().gettext(
            "%(count)s laid %(when)s by %(who)s",
            count=laid.sheet_count,
            when=say.moment(words(), laid.at, laid.precision),
            who=face(laid.by).name,
        ),
        word=look.answer.word.value if look else "",
        age=reasons.age(tell, look) if look else "",
        spread=amounts.length(words(), spreads[-1]) if spreads else "",
    )


def _hand(names: Names, one: InForce) -> Hand:
    return Hand(
        text=told(words(), names, one.content),
        by=words().gettext(
            "%(when)s, %(who)s",
            when=say.moment(words(), one.at, one.precision),
            who=face(one.author).name,
        ),
    )


def _forward(found: Forward) -> ForwardSaid:
    shown = found.stacks[:STACKS_SHOWN]
    faces().gather(stack.by for stack in shown)
    return ForwardSaid(
        total=_total(found.stacks),
        baths=tuple(
            (say.bath_name(words(), one.what, one.name), bath_url(one)) for one in found.baths
        ),
        rows=tuple(_row(stack) for stack in shown),
        more_count=len(found.stacks) - len(shown),
    )


def _total(stacks: tuple[StackState, ...]) -> str:
    """Say '86 half sheets in 2 stacks: 38 spoiled, 48 good, 0 not sorted yet.'"""
    counts: dict[str, int] = {}
    for stack in stacks:
        counts[stack.sheet_format] = counts.get(stack.sheet_format, 0) + stack.sheet_count
    if not counts:
        return words().gettext("No sheets.")
    bad = sum(count for stack in stacks for _, count in stack.spoiled)
    return words().ngettext(
        "%(sheets)s in %(num)d stack: %(bad)s spoiled, %(good)s good, %(left)s not sorted.",
        "%(sheets)s in %(num)d stacks: %(bad)s spoiled, %(good)s good, %(left)s not sorted.",
        len(stacks),
        sheets=", ".join(say.sheets(words(), n, one) for one, n in sorted(counts.items())),
        bad=bad,
        good=sum(stack.good for stack in stacks),
        left=sum(
            max(0, one.sheet_count - one.binned_count - one.sorted_count) for one in stacks
        ),
    )


def _row(stack: StackState) -> RiskRow:
    return RiskRow(
        who=face(stack.by).name,
        when=say.moment(words(), stack.at, stack.precision),
        url=f"/follow?stack={stack.id}",
        sheets=say.sheets(words(), stack.sheet_count, stack.sheet_format),
        waiting=words().gettext(
            "%(left)s wait for colour, %(laid)s are laid",
            left=stack.left_count,
            laid=stack.laid_count,
        ),
        out=_out(stack),
    )


@pages.post("/follow/seen")
@needs("stack.warning_seen")
def seen() -> Response:
    """Note that the reader has seen a stop, for each of their stacks that it concerns."""
    bath: AnyBath = known("bath", request.form.get("bath", ""))
    with writing() as place:
        alert = alert_of(place.journal, bath)
        stacks = alert.unseen(who().member) if alert else ()
        for stack in stacks:
            assert bath.stop is not None
            said = Draft(
                id=new_id(),
                kind="stack.warning_seen",
                body={"stack": stack.id, "about": bath.stop.entry},
            )
            outcome = write(place.journal, who(), said, now=now())
            assert isinstance(outcome, Written), "anyone may say that they saw it"
    told_now = words().gettext("Written: you have seen it.")
    flash(told_now if stacks else words().gettext("Already written."), "written")
    return redirect(_back_to(bath.id), 303)


def _back_to(bath: Subject) -> str:
    return f"/follow?bath={bath}" if request.form.get("here") else "/"
