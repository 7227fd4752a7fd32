"""What needs a member, in a few words and with its day: for a calendar and for a mail."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import assert_never
from urllib.parse import urlencode

from coop.actions.late_waste import LateLog
from coop.actions.see_needs import (
    AnyLook,
    Arrival,
    Count,
    Differing,
    Drain,
    Expiring,
    Need,
    Of,
    ShortSession,
)
from coop.actions.see_orders import OrderLine
from coop.actions.see_stacks import StackLook
from coop.actions.waste_needs import OldBath, OldRules, WantingJar
from coop.ids import Subject
from coop.ledger.states import HouseState, StudioState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.web import words as say
from coop.web.i18n import N_, Words
from coop.web.naming import lot_told, supply_told
from coop.web.needing import studio_names

COUNT = "count"
RESTED = "resting-over"
Wastes = OldBath | OldRules | WantingJar | LateLog
Named = AnyLook | Drain | StudioState | HouseState | ShortSession | Count | Wastes
LAST_GOOD_DAY = N_("Last good day of %(what)s")
HARD = N_("Not to be used: %(what)s")
ERRANDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "order": (N_("Order %(what)s"), "/orders"),
        "arrival": (N_("Should arrive: %(what)s"), "/orders/{about}"),
        "expiring": (LAST_GOOD_DAY, "/lots/{about}"),
        "look-at-bath": (N_("Look at %(what)s"), "/baths/{about}"),
        "resting-over": (N_("%(what)s has rested"), "/baths/{about}"),
        "stack-stale": (LAST_GOOD_DAY, "/stacks/{about}"),
        "gap": (N_("Find out about the gap: %(what)s"), "/lots/{about}"),
        "zero": (
            N_("Read the hydrometer in tap water: %(what)s"),
            "/studios/{about}/hydrometer",
        ),
        "permission": (
            N_("Ask who is in charge of the drain: %(what)s"),
            "/studios/{about}/permission",
        ),
        "limits": (N_("Look over the house limits"), "/house"),
        "jar-must-not-meet": (N_("Must not stay together: %(what)s"), "/jars/{about}"),
        "jar-overdue": (N_("Should have been handed over: %(what)s"), "/jars/{about}"),
        "jar-not-started": (N_("Write down since when: %(what)s"), "/jars/{about}"),
        "jar-no-label": (N_("Label %(what)s"), "/jars/{about}"),
        "jar-due-soon": (N_("Hand over %(what)s"), "/jars/{about}"),
        "jar-full-soon": (N_("Full soon: %(what)s"), "/jars/{about}"),
        "waste-waiting": (N_("Get rid of %(what)s"), "/drain/bath/{about}"),
        "waste-late": (
            N_("What came in late changed the log of wastes: %(what)s"),
            "/waste/{about}/log?month={month}",
        ),
        "rules-review": (
            N_("Look over the rules of the drain: %(what)s"),
            "/studios/{studio}/rules",
        ),
        "session-short": (N_("Too little on the shelf for %(what)s"), "/sessions/{about}"),
    }
)
"""By the code of a need, what is to be done on its day, and the page that tells more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Errand:
    """
    What is to be done on a day; `code` and `about` tell it from all others.

    `path` is that of the page that tells more; `at` the moment, where it is one.
    """

    code: str
    about: str
    day: date
    text: str
    path: str
    at: datetime | None = None


def errands(
    words: Words,
    dated: Iterable[tuple[date, Need]],
    studios: Mapping[Subject, StudioState],
) -> tuple[Errand, ...]:
    """Return needs as errands, in the same order; the counts of a studio come last, as one."""
    found = []
    names = studio_names(studios.values())
    counts: dict[Subject, list[date]] = {}
    for day, need in dated:
        if isinstance(need.of, Count):
            counts.setdefault(need.of.look.lot.studio, []).append(day)
        else:
            found.append(_errand(words, day, need, names))
    return (*found, *_counts(words, counts, studios))


def _errand(words: Words, day: date, need: Need, names: Mapping[Subject, str]) -> Errand:
    text, path = ERRANDS[need.code]
    return Errand(
        code=need.code,
        about=need.about,
        day=day,
        text=words.gettext(HARD if need.hard else text, what=_what(words, need.of, names)),
        path=path.format(
            about=need.about, studio=_studio_of(need.of), month=_month_of(need.of)
        ),
        at=_moment(need),
    )


def _studio_of(of: Of) -> str:
    """Return the studio whose page it is, where a need is about something without its own."""
    return of.studio.id if isinstance(of, OldRules) else ""


def _month_of(of: Of) -> str:
    """Return the month whose log is told of, as its page takes it."""
    return f"{of.changed.follows.month:%Y-%m}" if isinstance(of, LateLog) else ""


def _moment(need: Need) -> datetime | None:
    """Return when a rest is over; all else falls on a day."""
    of = need.of
    return of.state.rest_until if need.code == RESTED and isinstance(of, LiquidLook) else None


def _counts(
    words: Words,
    counts: Mapping[Subject, list[date]],
    studios: Mapping[Subject, StudioState],
) -> Iterator[Errand]:
    """Tell of all that is to be counted in a studio at once: nobody counts one tub a day."""
    for studio, due in counts.items():
        text = words.ngettext(
            "Count %(num)d lot on the shelf of %(studio)s",
            "Count %(num)d lots on the shelf of %(studio)s",
            len(due),
            studio=studios[studio].name if studio in studios else "—",
        )
        path = f"/shelf/count?{urlencode({'studio': studio})}"
        yield Errand(code=COUNT, about=studio, day=min(due), text=text, path=path)


def _what(words: Words, of: Of, names: Mapping[Subject, str]) -> str:
    """Name what a need is about, short; lots with the studio where there are several."""
    match of:
        case StackLook(state=state):
            sheets = say.sheets(words, state.left_count, state.sheet_format)
            bath = of.bath.name if of.bath else "—"
            return words.gettext("%(sheets)s of %(bath)s", sheets=sheets, bath=bath)
        case Expiring(look=look) | Differing(look=look):
            where = names.get(look.lot.studio, "")
            return lot_told(words, look.lot, what=look.what, studio=where)
        case OrderLine(supply=supply, paper=paper):
            return supply_told(words, supply, paper)
        case Arrival(line=OrderLine(supply=supply, paper=paper)):
            return supply_told(words, supply, paper)
        case Arrival(order=order):
            return kind_name(words, order.what) or "—"
        case _:
            return _name(of)


def kind_name(words: Words, what: str) -> str:
    """Say what sort a lot or an order is of; empty for what only its own name tells."""
    return "" if what == "supply" else say.choice(words, "supply", what)


def _name(of: Named) -> str:
    """Return the name of what has one of its own; house limits have none."""
    match of:
        case BathLook(state=state) | LiquidLook(state=state) | OldBath(bath=state):
            return state.name
        case Drain(studio=studio):
            return studio.name
        case ShortSession(session=session):
            return session.name
        case StudioState() | WantingJar() | OldRules() | LateLog():
            return of.name
        case HouseState() | Count():
            return ""
        case _:
            assert_never(of)
