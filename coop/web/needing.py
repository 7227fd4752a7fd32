"""What needs somebody, in words: what it is about, the sentence, where to go, what to do."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
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
from coop.actions.see_sessions import Find
from coop.actions.see_shelf import LotLook
from coop.actions.see_stacks import StackLook
from coop.actions.waste_needs import OldBath, OldRules, WantingJar
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.states import HouseState, PaperState, PutOffState, StudioState
from coop.rules import retention
from coop.rules.liquid_looks import LiquidLook
from coop.web import ordering, reasons
from coop.web import words as say
from coop.web.counting import gap_text
from coop.web.good_until import good_until_text
from coop.web.i18n import N_, Words
from coop.web.late_said import changed_said
from coop.web.naming import lot_told, supply_told, with_kind
from coop.web.reasons import Telling
from coop.web.stock import amount_text

SHORT_SAID = 3
"""So many supplies of a session are named; the others are counted."""

ACTS: Mapping[str, str] = MappingProxyType(
    {
        "order": N_("Order it"),
        "arrival": N_("Receive it"),
        "expiring": N_("Look at it"),
        "look-at-bath": N_("Look at it"),
        "resting-over": N_("Look at it"),
        "stack-stale": N_("Look at it"),
        "count": N_("Count it"),
        "gap": N_("Say why"),
        "zero": N_("Read it in tap water"),
        "permission": N_("Ask about it"),
        "limits": N_("Look them over"),
        "session-short": N_("What is short"),
        "jar-must-not-meet": N_("Look at it"),
        "jar-overdue": N_("Hand it over"),
        "jar-not-started": N_("Look at it"),
        "jar-no-label": N_("Print its label"),
        "jar-due-soon": N_("Hand it over"),
        "jar-full-soon": N_("Look at it"),
        "waste-waiting": N_("What may happen to it"),
        "waste-late": N_("Look at it"),
        "rules-review": N_("Look them over"),
    }
)
"""What is done about each kind of need."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedText:
    """
    A need as it is told.

    Attributes:
        name: What it is about; `text` the sentence why it needs somebody.
        url: Where that is; `act` and `act_url` what is done about it.
        not_today_url: Where it is put off; empty for several at once.
        word: The word of a bath, else empty.
        put_off: Until when it was put off, by whom and why; empty when it was not.
    """

    name: str
    text: str
    url: str
    act: str
    act_url: str
    not_today_url: str = ""
    word: str = ""
    put_off: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """
    Names by which things are told apart.

    Attributes:
        baths: Names of baths; those read alike with hour and initials.
        studios: Names of studios, empty where there is only one.
    """

    baths: Mapping[Subject, str] = field(default_factory=dict)
    studios: Mapping[Subject, str] = field(default_factory=dict)


def studio_names(studios: Iterable[StudioState]) -> Mapping[Subject, str]:
    """Return the names of studios; nothing where there is only one, which needs no name."""
    found = {one.id: one.name for one in studios}
    return found if len(found) > 1 else {}


def in_lines(needs: Iterable[Need]) -> tuple[tuple[Need, ...], ...]:
    """Put needs into lines: all counts of a studio are one, where the first of them stands."""
    lines: dict[tuple[str, str], list[Need]] = {}
    for one in needs:
        about = one.about
        if isinstance(one.of, Count) and one.of.look.left >= 0:
            about = one.of.look.lot.studio
        lines.setdefault((one.code, about), []).append(one)
    return tuple(tuple(line) for line in lines.values())


def line_text(telling: Telling, line: Sequence[Need], called: Called) -> NeedText:
    """Return how a line is told: a need, or all that is to be counted in a studio."""
    first = line[0]
    if len(line) == 1 or not isinstance(first.of, Count):
        return need_text(telling, first, called)
    words, studio = telling.words, first.of.look.lot.studio
    where = called.studios.get(studio, "")
    name = words.ngettext("Count %(num)d lot", "Count %(num)d lots", len(line))
    if where:
        name = words.gettext("%(what)s, %(studio)s", what=name, studio=where)
    due = words.day(min(one.due for one in line))
    url = f"/shelf/count?{urlencode({'studio': studio})}"
    return NeedText(
        name=name,
        text=words.gettext("Due since %(day)s.", day=due),
        url=url,
        act=words.gettext("Count them"),
        act_url=url,
    )


def need_text(telling: Telling, need: Need, called: Called) -> NeedText:
    """Return how a need is told."""
    name, text, url, act_url = TOLD[need.code](telling, need)
    act, word, of = telling.words.gettext(ACTS[need.code]), "", need.of
    if isinstance(of, AnyLook):
        word = of.answer.word.value
        name = say.bath_name(
            telling.words, of.state.what, called.baths.get(of.state.id, of.state.name)
        )
    if (look := lot_of(of)) is not None:
        where = called.studios.get(look.lot.studio, "")
        name = lot_told(telling.words, look.lot, what=look.what, studio=where)
    if need.code == "look-at-bath":
        act, act_url = _act(telling, of, act, url)
    return NeedText(
        name=name,
        text=text,
        url=url,
        act=act,
        act_url=act_url,
        not_today_url=f"/needs/put-off?{urlencode({'need': need.code, 'about': need.about})}",
        word=word,
        put_off=_put_off(telling, need.put_off) if need.put_off else "",
    )


def lot_of(of: Of) -> LotLook | None:
    """Return the lot that a need is about, if it is about one."""
    return of.look if isinstance(of, Count | Expiring | Differing) else None


def _put_off(telling: Telling, said: PutOffState) -> str:
    """Say until when something was put off, by whom and why."""
    return telling.words.gettext(
        "Put off until %(day)s by %(who)s: %(why)s.",
        day=telling.words.day(said.until),
        who=telling.name_of(said.by),
        why=say.choice(telling.words, "put_off_reason", said.reason),
    )


_Parts = tuple[str, str, str, str]


def _today(telling: Telling) -> date:
    return telling.now.astimezone(telling.words.zone).date()


def _bath(telling: Telling, need: Need) -> _Parts:
    look = need.of
    assert isinstance(look, AnyLook)
    name = say.bath_name(telling.words, look.state.what, look.state.name)
    url = _bath_url(look.state)
    return name, reasons.why(telling, look), url, url


def _bath_url(bath: AnyBath) -> str:
    sort = "baths" if isinstance(bath, BathState) else "liquids"
    return f"/{sort}/{bath.id}"


def _act(telling: Telling, look: object, act: str, url: str) -> tuple[str, str]:
    """Return the first next act of a bath, as its own page has it."""
    assert isinstance(look, AnyLook)
    if not look.answer.next_acts:
        return act, url
    text, there = reasons.act(telling.words, look.answer.next_acts[0], look.state.id)
    for page in ("/test", "/mend"):
        there = there.replace(f"/baths/{look.state.id}{page}", f"{url}{page}")
    return text, there


def _rested(telling: Telling, need: Need) -> _Parts:
    name, _, url, act_url = _bath(telling, need)
    look = need.of
    assert isinstance(look, LiquidLook)
    until = look.state.rest_until
    assert until is not None, "it rests"
    told = telling.when(until)
    if until > telling.now:
        text = telling.words.gettext("Its rest is over %(when)s.", when=told)
    else:
        text = telling.words.gettext("Its rest has been over since %(when)s.", when=told)
    return name, text, url, act_url


def _stack(telling: Telling, need: Need) -> _Parts:
    look = need.of
    assert isinstance(look, StackLook)
    words = telling.words
    name = words.gettext(
        "%(sheets)s of %(bath)s",
        sheets=say.sheets(words, look.state.sheet_count, look.state.sheet_format),
        bath=look.bath.name if look.bath else "—",
    )
    when = telling.when(look.use_by, look.state.alumed_precision)
    numbers = {"left": words.number(look.state.left_count), "when": when}
    if look.use_by <= telling.now:
        text = words.gettext("%(left)s left, use-by was %(when)s.", **numbers)
    else:
        text = words.gettext("%(left)s left, use by %(when)s.", **numbers)
    url = f"/stacks/{look.state.id}"
    return name, text, url, url


def _order(telling: Telling, need: Need) -> _Parts:
    line = need.of
    assert isinstance(line, OrderLine)
    today = _today(telling)
    text = telling.words.gettext(
        "%(when)s: %(amount)s; %(why)s.",
        when=ordering.when_to_order(telling.words, line, today),
        amount=ordering.how_much(telling.words, line),
        why=ordering.why(telling.words, line, today),
    )
    url = f"/orders/place?{urlencode({'supply': line.supply.id})}"
    return supply_told(telling.words, line.supply, line.paper), text, "/orders", url


def _arrival(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, Arrival)
    words, order = telling.words, of.order
    _, measure = kind_of(order.supply, of.line)
    text = words.gettext(
        "%(amount)s, %(when)s.",
        amount=ordering.ordered_text(words, measure, order),
        when=ordering.expected_text(words, of.expected, _today(telling)),
    )
    name = supply_text(words, order.supply, of.line)
    url = f"/orders/{order.id}"
    return name, text, url, url


def supply_text(
    words: Words, supply: Subject, line: OrderLine | None, paper: PaperState | None = None
) -> str:
    """Return what a supply is called, whether it ever came or not."""
    if line is not None:
        return supply_told(words, line.supply, line.paper)
    if paper is not None:
        return with_kind(words, paper.name, "paper")
    what, _ = kind_of(supply, line)
    sort, _, code = supply.partition(":")
    if sort == "salt":
        return say.choice(words, "salt_short", code)
    return words.gettext("a supply") if what == "supply" else say.choice(words, "supply", what)


def _expiring(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, Expiring)
    words, lot = telling.words, of.look.lot
    text = words.gettext(
        "%(amount)s left, %(until)s.",
        amount=amount_text(words, of.look.what, lot.measure, of.look.left),
        until=good_until_text(words, of.until, over=of.until.past(_today(telling))),
    )
    url = f"/lots/{lot.id}"
    return lot.name, text, url, url


def _count(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, Count)
    words, lot = telling.words, of.look.lot
    day = words.day(of.seen_on)
    if of.look.left < 0:
        text = words.gettext("More was written out than came in. Count it, and say why.")
    elif lot.counts:
        text = words.gettext("Last counted %(day)s.", day=day)
    elif of.seen_on == lot.received_at.astimezone(words.zone).date():
        text = words.gettext("Not counted since it came in, %(day)s.", day=day)
    else:
        text = words.gettext("Not counted since it was written down, %(day)s.", day=day)
    return lot.name, text, f"/lots/{lot.id}", f"/lots/{lot.id}/count"


def _gap(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, Differing)
    lot = of.look.lot
    text = telling.words.gettext(
        "Counted %(when)s. %(gap)s",
        when=telling.when(of.gap.count.at),
        gap=gap_text(telling.words, lot, of.gap.gap),
    )
    return lot.name, text, f"/lots/{lot.id}", f"/lots/{lot.id}/gap"


def _zero(telling: Telling, need: Need) -> _Parts:
    studio = need.of
    assert isinstance(studio, StudioState)
    words = telling.words
    last = max((one.at for one in studio.zeros), default=None)
    if last is None:
        text = words.gettext("Nobody has read its hydrometer in plain tap water yet.")
    else:
        text = words.gettext(
            "Its hydrometer was last read in plain tap water on %(day)s.", day=words.day(last)
        )
    name = words.gettext("Hydrometer, %(studio)s", studio=studio.name)
    return name, text, "/house", f"/studios/{studio.id}/hydrometer"


def _permission(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, Drain)
    words = telling.words
    if not of.asked:
        text = words.gettext(
            "Nobody has written down yet what may go down the drain: %(drain)s.",
            drain=say.choice(words, "drain", of.studio.drain),
        )
    else:
        text = words.gettext(
            "What was said about the drain is to be asked again on %(day)s.",
            day=words.day(need.due),
        )
    url = f"/studios/{of.studio.id}/permission"
    return words.gettext("Drain, %(studio)s", studio=of.studio.name), text, url, url


def _jar(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, WantingJar)
    words, jar = telling.words, of.seen.state
    text = words.gettext(JAR_TEXTS[need.code], day=words.day(need.due))
    name = words.gettext(
        "Waste jar %(name)s, %(studio)s", name=jar.name, studio=of.seen.studio.name
    )
    url = f"/jars/{jar.id}"
    return name, text, url, url + JAR_PAGES.get(need.code, "")


JAR_TEXTS: Mapping[str, str] = MappingProxyType(
    {
        "jar-must-not-meet": N_(
            "What must never come together is in it: put nothing to it, keep away from it, "
            "and call for help if somebody is unwell."
        ),
        "jar-overdue": N_("It should have been handed over by %(day)s."),
        "jar-not-started": N_("Something is in it, and nobody wrote down since when."),
        "jar-no-label": N_("Its label does not show all that the rules ask for."),
        "jar-due-soon": N_("To be handed over by %(day)s."),
        "jar-full-soon": N_("It is full, or soon will be."),
    }
)
"""For what a waste jar needs somebody."""
JAR_PAGES: Mapping[str, str] = MappingProxyType(
    {"jar-overdue": "/collect", "jar-due-soon": "/collect", "jar-no-label": "/label"}
)
"""The page of a jar where that is done; else the jar's own."""


def _waiting(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, OldBath)
    words = telling.words
    text = words.gettext(
        "It is over since %(day)s, and nobody said yet where it went.", day=words.day(of.since)
    )
    name = say.bath_name(words, of.bath.what, of.bath.name)
    return name, text, _bath_url(of.bath), f"/drain/bath/{of.bath.id}"


def _late_log(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, LateLog)
    words = telling.words
    said = changed_said(words, of.changed)
    name = words.gettext(
        "Log of wastes, %(studio)s, %(month)s", studio=of.studio.name, month=said.of
    )
    text = words.gettext(
        "Something came in late. %(totals)s. %(follows)s",
        totals="; ".join(said.lines),
        follows=said.follows,
    )
    url = f"/waste/{of.studio.id}/log?month={said.of}"
    return name, text, url, url


def _review(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, OldRules)
    words, last = telling.words, of.rules.last
    text = words.gettext(
        "They were checked on %(day)s: hold them against their source again.",
        day=words.day(last.checked_on),
    )
    name = words.gettext("Rules of the drain, %(studio)s", studio=of.studio.name)
    url = f"/studios/{of.studio.id}/rules"
    return name, text, url, url


def _limits(telling: Telling, need: Need) -> _Parts:
    house = need.of
    assert isinstance(house, HouseState)
    if retention.is_answered(house.records_kept):
        text = telling.words.gettext(
            "They were set on %(day)s: do they still hold?",
            day=telling.words.day(house.set_at),
        )
    else:
        text = telling.words.gettext(
            "Nobody has answered yet how long records are kept: until then all of them are."
        )
    return telling.words.gettext("The house limits"), text, "/house", "/house/limits"


def _short(telling: Telling, need: Need) -> _Parts:
    of = need.of
    assert isinstance(of, ShortSession)
    words = telling.words
    lines = [short_text(telling, one) for one in of.finds[:SHORT_SAID]]
    more = len(of.finds) - SHORT_SAID
    if more > 0:
        lines.append(words.ngettext("%(num)d supply more", "%(num)d supplies more", more))
    name = words.gettext(
        "%(session)s, %(day)s", session=of.session.name, day=words.day(of.session.starts_at)
    )
    text = words.gettext("Short: %(what)s.", what="; ".join(lines))
    url = f"/sessions/{of.session.id}"
    return name, text, url, url


def short_text(telling: Telling, find: Find) -> str:
    """Say what a session will find too little of: 'carrageenan, 40 g of 240 g'."""
    words = telling.words
    what, measure = kind_of(find.supply, find.line)
    supply = supply_text(words, find.supply, find.line)
    amount = amount_text(words, what, measure, find.share.booking.amount)
    if not find.share.there:
        return words.gettext("%(supply)s, all of %(amount)s", supply=supply, amount=amount)
    short = amount_text(words, what, measure, find.share.short)
    return words.gettext(
        "%(supply)s, %(short)s of %(amount)s", supply=supply, short=short, amount=amount
    )


def kind_of(supply: Subject, line: OrderLine | None) -> tuple[str, str]:
    """Return what a supply is and how it is measured, whether it ever came or not."""
    if line is not None:
        return line.supply.what, line.supply.measure
    sort, _, code = supply.partition(":")
    match sort:
        case "paper":
            return "paper", "sheets"
        case "salt":
            return "alum", "weight"
        case "powder":
            return code, "weight"
        case _:
            return "supply", "pieces"


TOLD: Mapping[str, Callable[[Telling, Need], _Parts]] = MappingProxyType(
    {
        "look-at-bath": _bath,
        "resting-over": _rested,
        "stack-stale": _stack,
        "order": _order,
        "arrival": _arrival,
        "expiring": _expiring,
        "count": _count,
        "gap": _gap,
        "zero": _zero,
        "permission": _permission,
        "limits": _limits,
        "session-short": _short,
        **dict.fromkeys(JAR_TEXTS, _jar),
        "waste-waiting": _waiting,
        "waste-late": _late_log,
        "rules-review": _review,
    }
)
