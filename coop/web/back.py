"""A bath looked back at, in sentences: what was said before, and the stacks it made."""

from dataclasses import dataclass
from datetime import datetime

from coop.actions.look_back import Before, Said
from coop.ledger.states import StackState
from coop.web import amounts
from coop.web import words as say
from coop.web.page import face, who, words
from coop.web.reasons import Telling

LOCAL_MINUTE = "%Y-%m-%dT%H:%M"
STACKS_SHOWN = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeSaid:
    """What a page said until more was known, with the moments to look at."""

    text: str
    views: tuple[tuple[str, str], ...]


def before_said(bath: str, found: Before | None) -> BeforeSaid | None:
    """Say what a bath's page said before a spoon was weighed."""
    if found is None:
        return None
    first, last = found.first.strength, found.last.strength
    numbers = {
        "until": words().moment(found.until),
        "first": amounts.strength(
            words(), first.middle_g_per_l, first.low_g_per_l, first.high_g_per_l
        ),
    }
    then = amounts.strength_figure(words(), last.middle_g_per_l)
    if then == amounts.strength_figure(words(), first.middle_g_per_l):
        text = words().gettext("Until %(until)s this page said %(first)s.", **numbers)
        return BeforeSaid(text=text, views=(_view(bath, found.last),))
    text = words().gettext(
        "Until %(until)s this page said %(first)s, then %(then)s.", then=then, **numbers
    )
    return BeforeSaid(text=text, views=(_view(bath, found.first), _view(bath, found.last)))


def _view(bath: str, said: Said) -> tuple[str, str]:
    at = said.at.astimezone(words().zone)
    text = words().gettext("What it said %(moment)s", moment=words().moment(at))
    return text, f"/baths/{bath}?at={at.strftime(LOCAL_MINUTE)}#asked"


@dataclass(frozen=True, slots=True, kw_only=True)
class StackSaid:
    """One stack: how many of whom and when, how it came out, and what its owner should do."""

    text: str
    when: str
    by: str
    out: str
    look: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StacksSaid:
    total: str
    stacks: tuple[StackSaid, ...]
    more_count: int


def stacks_said(
    tell: Telling, stacks: tuple[StackState, ...], *, stopped: datetime | None
) -> StacksSaid | None:
    """Say what went through a bath, and what a stop concerns from when on; None if nothing."""
    if not stacks:
        return None
    return StacksSaid(
        total=_came_out(stacks) if len(stacks) > 1 else "",
        stacks=tuple(_stack(tell, one, stopped=stopped) for one in stacks[:STACKS_SHOWN]),
        more_count=max(0, len(stacks) - STACKS_SHOWN),
    )


def _stack(tell: Telling, one: StackState, *, stopped: datetime | None) -> StackSaid:
    concerned = stopped is not None and one.at >= stopped
    to_look_at = one.good > 0 or one.sorted_count < one.sheet_count
    return StackSaid(
        text=say.sheets(words(), one.sheet_count, one.sheet_format),
        when=tell.when(one.at, one.precision),
        by=face(one.by).name,
        out=_came_out((one,)),
        look=concerned and to_look_at and one.by == who().member,
    )


def _came_out(stacks: tuple[StackState, ...]) -> str:
    """Say '38 of 86 washed off; sorted 86 of 86'; nothing spoiled is left out."""
    every = sum(one.sheet_count for one in stacks)
    counts = {"good": sum(one.good for one in stacks)}
    for one in stacks:
        for code, count in one.spoiled:
            counts[code] = counts.get(code, 0) + count
    parts = [
        words().gettext(
            "%(count)s of %(every)s %(how)s", count=count, every=every, how=_how(code)
        )
        for code, count in counts.items()
        if count
    ]
    done = words().gettext(
        "sorted %(count)s of %(every)s",
        count=sum(one.sorted_count for one in stacks),
        every=every,
    )
    return "; ".join([*parts, done])


def _how(code: str) -> str:
    return words().gettext("good") if code == "good" else say.choice(words(), "fault", code)
