"""Still good on Saturday at ten? A bath at another moment; what one test would settle it."""

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from flask import request

from coop.actions.see_baths import see_any, see_past
from coop.actions.see_liquids import see_liquid_past
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import LiquidState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.web import amounts, reasons
from coop.web.back import LOCAL_MINUTE
from coop.web.page import desk, now, words, zone
from coop.web.reasons import Telling
from coop.web.told import telling

AHEAD_MAX = timedelta(days=366)
TEN = time(10)
SATURDAY = 5
DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A bath at one moment, as one way of looking at it tells; `by` names the edition."""

    label: str
    word: str
    why: str
    numbers: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    The question about another moment, and its answers.

    `offers` are moments often asked about, each with its address; `settles` is the one test
    that would settle what is known now, and its address. Of what is `over` only the past is
    asked.
    """

    url: str
    typed: str
    over: bool
    offers: tuple[tuple[str, str], ...]
    settles: tuple[str, str] | None
    title: str = ""
    problem: str = ""
    answers: tuple[Moment, ...] = ()


def asked(look: BathLook | LiquidLook) -> Asked:
    """Answer for the moment in `?at=`: ahead if nothing is done, or back in both views."""
    kind = "liquids" if isinstance(look, LiquidLook) else "baths"
    url, typed = f"/{kind}/{look.state.id}", request.args.get("at", "").strip()
    shown = typed or now().astimezone(zone()).strftime(LOCAL_MINUTE)
    over = look.state.finished_at is not None
    question = Asked(
        url=url,
        typed=shown,
        over=over,
        offers=() if over else _offers(url),
        settles=_settles(look),
    )
    if not typed:
        return question
    at = _moment(typed)
    if at is None or abs(at - now()) > AHEAD_MAX:
        problem = words().gettext(
            "A date and a time within a year of now, please: 2025-09-20T10:00."
        )
        return replace(question, problem=problem)
    title = words().gettext(
        "%(weekday)s %(moment)s", weekday=words().weekday(at), moment=words().moment(at)
    )
    return replace(question, title=title, answers=_answers(look.state, at))


def _offers(url: str) -> tuple[tuple[str, str], ...]:
    """Offer tomorrow and the next Saturday, at ten."""
    today = now().astimezone(zone()).date()
    to_saturday = (SATURDAY - today.weekday()) % DAYS_A_WEEK or DAYS_A_WEEK
    days = {1: words().gettext("Tomorrow at ten")}
    days[to_saturday] = words().gettext("Saturday at ten")
    return tuple(
        (text, f"{url}?at={_at_ten(today + timedelta(days=ahead))}#asked")
        for ahead, text in days.items()
    )


def _at_ten(day: date) -> str:
    return datetime.combine(day, TEN).strftime(LOCAL_MINUTE)


def _settles(look: BathLook | LiquidLook) -> tuple[str, str] | None:
    code = look.answer.settles
    return None if code is None else reasons.act(words(), code, look.state.id)


def _moment(typed: str) -> datetime | None:
    try:
        local = datetime.fromisoformat(typed)
    except ValueError:
        return None
    return local if local.tzinfo else local.replace(tzinfo=zone())


def _answers(state: AnyBath, at: datetime) -> tuple[Moment, ...]:
    if at >= now():
        label = words().gettext("If nothing is done until then")
        return (_told(label, see_any(desk().journal, state, now=at)),)
    return (
        _told(words().gettext("What it said then"), _back(state, at, known=True)),
        _told(words().gettext("By what we know now"), _back(state, at, known=False)),
    )


def _back(state: AnyBath, at: datetime, *, known: bool) -> BathLook | LiquidLook | None:
    see = see_liquid_past if isinstance(state, LiquidState) else see_past
    return see(desk().journal, state.id, at=at, known=known)


def _told(label: str, look: BathLook | LiquidLook | None) -> Moment:
    if look is None:
        why = words().gettext("It was not mixed yet.")
        return Moment(label=label, word="", why=why, numbers="", by="")
    then = replace(telling(), dated=True)
    return Moment(
        label=label,
        word=look.answer.word.value,
        why=reasons.why(then, look),
        numbers=_numbers(then, look),
        by=_by(look),
    )


def _numbers(then: Telling, look: BathLook | LiquidLook) -> str:
    if isinstance(look, LiquidLook):
        return words().gettext(
            "%(litres)s. %(age)s",
            litres=amounts.volume(words(), look.state.volume_ml),
            age=reasons.age(then, look),
        )
    known = look.strength
    return words().gettext(
        "%(litres)s, %(strength)s",
        litres=amounts.volume(words(), known.volume_l * 1000),
        strength=amounts.strength(
            words(), known.middle_g_per_l, known.low_g_per_l, known.high_g_per_l
        ),
    )


def _by(look: BathLook | LiquidLook) -> str:
    """Name the edition of the house limits that an answer goes by."""
    house = look.around.house
    if house is None:
        return words().gettext("By the ledger's own limits: the house had set none.")
    return words().gettext(
        "By the house limits of %(moment)s.", moment=words().moment(house.set_at)
    )
