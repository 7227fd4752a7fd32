"""What every page needs: the site, who asks, one desk per request, and the shell around it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import wraps
from typing import Any, ParamSpec, Protocol, TypeVar
from zoneinfo import ZoneInfo

from flask import Flask, abort, current_app, g, redirect, render_template, request, url_for
from flask_wtf.csrf import generate_csrf
from jinja2 import pass_context
from jinja2.runtime import Context
from werkzeug.wrappers import Response

from coop import __version__
from coop.actions.write import SALT_BYTES, Who
from coop.ids import RANDOM_BYTES, EntryId, MemberId, Subject, is_uuid, uuid7
from coop.ledger.baths import BathState
from coop.ledger.liquids import LiquidState
from coop.ledger.ports import Journal
from coop.ledger.states import LedgerState, MemberState
from coop.ledger.table import LEDGER
from coop.people.faces import Face, Faces
from coop.people.may import may
from coop.store.desk import Desk, Store
from coop.store.measures import US
from coop.web import amounts
from coop.web.i18n import Words
from coop.web.security import cookie_name, is_loopback

EXTENSION = "coop"
PHONE_COOKIE = "coop-phone"
PUBLIC = "public"

P = ParamSpec("P")
R = TypeVar("R")


class Manner(Protocol):
    """The settings that pages show or keep to."""

    @property
    def demo(self) -> bool:
        """Whether this is the demo."""

    @property
    def plain_http(self) -> bool:
        """Whether other names than loopback are served without TLS."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What the wiring hands to the pages: store, clock, randomness, settings."""

    store: Store
    clock: Callable[[], datetime]
    random: Callable[[int], bytes]
    settings: Manner


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """
    What stands around a page.

    `phone` is the id of the phone or tablet that this browser says it is, `member` that of who
    is signed in; empty for none.
    """

    ledger_name: str
    member_name: str
    roles: frozenset[str]
    signed_in: bool
    demo: bool
    lang: str
    plain_http_banner: bool
    nav_here: str
    phone: str = ""
    member: str = ""
    zone: str = ""
    shown_at: datetime | None = None
    release: str = __version__

    def csrf_token(self) -> str:
        return str(generate_csrf())


def install(app: Flask, site: Site) -> None:
    """Give every request its desk, who asks, and the ledger's own zone."""
    app.extensions[EXTENSION] = site
    app.jinja_env.filters.update(
        {name: _in_words(said) for name, said in amounts.FILTERS.items()}
    )
    app.before_request(_take_place)
    app.before_request(_guard)
    app.teardown_request(_put_away)


def site() -> Site:
    """Return what the wiring handed over."""
    found: Site = current_app.extensions[EXTENSION]
    return found


def _in_words(said: Callable[..., str]) -> Callable[..., str]:
    """Return a filter that says an amount in the words of the request, each time anew."""

    @pass_context  # else the template keeps what an amount written in it was said as first
    def told(_context: Context, amount: Any, *digits: Any) -> str:
        return said(words(), amount, *digits)

    return told


def now() -> datetime:
    """Return the time of this request: one moment for all that it does."""
    if "now" not in g:
        g.now = site().clock()
    moment: datetime = g.now
    return moment


def words() -> Words:
    """Return the words of this request."""
    found: Words = g.words
    return found


def desk() -> Desk:
    """Return this request's reading desk, opened when first asked for."""
    if "desk" not in g:
        g.desk_context = site().store.reading()
        g.desk = g.desk_context.__enter__()
    found: Desk = g.desk
    return found


@contextmanager
def writing() -> Iterator[Desk]:
    """Give the writer; the reading desk is put away first, as it would see the past."""
    _put_away(None)
    with site().store.writing() as found:
        yield found


def _put_away(error: BaseException | None) -> None:
    context = g.pop("desk_context", None)
    g.pop("desk", None)
    g.pop("faces", None)  # they read from that desk
    if context is not None:
        context.__exit__(None, None, None)


def new_id() -> EntryId:
    """Return a fresh entry id."""
    ms = int(now().timestamp() * 1000)
    return EntryId(uuid7(now_ms=ms, random=site().random(RANDOM_BYTES)))


def salt() -> bytes:
    """Return the random bytes of an attachment's name."""
    return site().random(SALT_BYTES)


def _take_place() -> None:
    """Find the ledger and the member; words speak in the ledger's zone."""
    g.ledger = None
    g.member = None
    if request.blueprint == "assets":
        return
    journal = desk().journal
    g.ledger = journal.state("ledger", LEDGER)
    if g.ledger is not None:
        us = g.who is not None and g.who.measures.shown == US
        g.words = replace(g.words, zone=ZoneInfo(g.ledger.zone), us=us)
    if g.who is not None and g.ledger is not None:
        member: MemberState | None = journal.state("member", Subject(g.who.member))
        if member is not None and member.roles and member.left_at is None:
            g.member = member


def _guard() -> Response | None:
    """Let only those in whom the route's act allows; a route without an act is a mistake."""
    if request.endpoint is None:
        return None
    act = getattr(current_app.view_functions[request.endpoint], "coop_act", None)
    if act == PUBLIC or request.blueprint == "assets":
        return None
    assert act is not None, f"{request.endpoint} does not say who may"
    if g.ledger is None:
        return redirect(url_for("opening.closed"))
    if g.member is None:
        there = request.full_path.rstrip("?") if request.method == "GET" else "/"
        return redirect(url_for("doors.sign_in", next=there))
    if not may(frozenset(g.member.roles), act):
        abort(403)
    return None


def needs(act: str) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Say which act of the table a route is: a kind of entry, an act, or PUBLIC."""

    def mark(view: Callable[P, R]) -> Callable[P, R]:
        @wraps(view)
        def marked(*args: P.args, **kwargs: P.kwargs) -> R:
            return view(*args, **kwargs)

        marked.coop_act = act  # type: ignore[attr-defined]  # read by the guard
        return marked

    return mark


def who() -> Who:
    """Return the member who asks; the guard has made sure there is one."""
    member: MemberState = g.member
    return Who(member=member.id, roles=frozenset(member.roles))


def ledger() -> LedgerState:
    """Return the co-operative; the guard has made sure it is open."""
    found: LedgerState = g.ledger
    return found


def zone() -> ZoneInfo:
    """Return the ledger's zone."""
    return words().zone


def today() -> date:
    """Return the day of this request in the ledger's zone."""
    return now().astimezone(zone()).date()


def faces(journal: Journal | None = None) -> Faces:
    """Return names and initials of members, read once per request."""
    if "faces" not in g:
        g.faces = Faces(journal or desk().journal)
    found: Faces = g.faces
    return found


def face(member: MemberId) -> Face:
    """Return the name and initials of one member."""
    return faces().of(member)


def known(sort: str, subject: str) -> Any:
    """Return a subject's state, or answer 404."""
    state = desk().journal.state(sort, Subject(subject))
    if state is None:
        abort(404)
    return state


def known_alum(bath: str, page: str = "") -> BathState:
    """Return a bath of alum; the page of another kind of bath has its own address."""
    state = known("bath", bath)
    if isinstance(state, BathState):
        return state
    query = f"?{request.query_string.decode()}" if request.query_string else ""
    abort(redirect(f"/liquids/{state.id}{page}{query}", 303))


def known_liquid(bath: str) -> LiquidState:
    """Return a bath that is not alum, or answer 404."""
    state = known("bath", bath)
    if not isinstance(state, LiquidState):
        abort(404)
    return state


def show(template: str, *, page: Any, nav: str = "", status: int = 200) -> Response:
    """Render a page from its one frozen class, within the shell."""
    text = render_template(template, page=page, shell=shell(nav))
    return Response(text, status=status, mimetype="text/html")


def shell(nav: str = "") -> Shell:
    """Return what stands around this request's page."""
    member: MemberState | None = g.get("member")
    opened: LedgerState | None = g.get("ledger")
    settings = site().settings
    return Shell(
        ledger_name=opened.name if opened else words().gettext("Studio ledger"),
        member_name=face(member.id).name if member else "",
        roles=frozenset(member.roles) if member else frozenset(),
        signed_in=member is not None,
        demo=settings.demo,
        lang=words().lang,
        plain_http_banner=settings.plain_http and not is_loopback(),
        nav_here=nav,
        phone=phone(),
        member=member.id if member else "",
        zone=str(words().zone),
        shown_at=now(),
    )


def phone() -> str:
    """Return what the browser says it is: whoever lies gets a few scripts more, no more."""
    said = request.cookies.get(cookie_name(PHONE_COOKIE), "")
    return said if is_uuid(said) else ""
