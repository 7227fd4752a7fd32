"""What others did lately, told in a line for each bath."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType

from babel.lists import format_list

from coop.actions.see_since import Doings, Settled, Turned, What
from coop.ids import MemberId
from coop.ledger.entries import Entry
from coop.ledger.force import InForce
from coop.ledger.kinds import EntryCorrected, LotReceived
from coop.web import reasons
from coop.web import words as say
from coop.web.i18n import N_, Words
from coop.web.page import desk, face, now, words
from coop.web.told import Names, told

WEEKDAY_FOR = timedelta(days=6)

# In the order in which they are told.
DONE: Mapping[str, str] = MappingProxyType(
    {
        "bath.mixed": N_("mixed"),
        "bath.topped_up": N_("topped up"),
        "bath.split": N_("poured apart"),
        "bath.joined": N_("poured together"),
        "bath.carried": N_("carried"),
        "bath.kept_for": N_("kept"),
        "reading.taken": N_("tested"),
        "bath.cared": N_("cared for"),
        "bath.stopped": N_("stopped"),
        "bath.cleared": N_("allowed again"),
        "bath.finished": N_("finished"),
    }
)

TOLD = ("lot.", "order.", "jar.", "waste.", "mishap.", "rules.")
"""How the kinds begin that are told in full, with what they name."""


def done_line(one: Doings) -> str:
    """Say 'R-A4: 60 half sheets, topped up, by ML and KR'."""
    return words().gettext(
        "%(bath)s: %(what)s, by %(who)s",
        bath=one.bath.name,
        what=what(words(), one.what),
        who=_named(one.by),
    )


def news_line(one: Doings | InForce | Entry) -> str:
    """Say 'R-A4: 60 half sheets, KR, just now'."""
    if isinstance(one, Doings):
        return words().gettext(
            "%(bath)s: %(what)s, %(who)s, %(ago)s",
            bath=one.bath.name,
            what=what(words(), one.what),
            who=_named(one.by),
            ago=say.ago(words(), one.at, now()),
        )
    at = one.at if isinstance(one, InForce) else one.happened_at
    return words().gettext(
        "%(what)s, %(who)s, %(ago)s",
        what=_beside(one),
        who=_named((one.author,)),
        ago=say.ago(words(), at, now(), one.precision),
    )


def _beside(one: InForce | Entry) -> str:
    """Say what was done that is about no bath."""
    if isinstance(one.content, EntryCorrected):
        return words().gettext("an older line was put right")
    if isinstance(one.content, LotReceived):
        return words().gettext("received %(lot)s", lot=one.content.name)
    if one.kind.startswith(TOLD):
        return told(words(), Names(desk().journal), one.content)
    return say.kind(words(), one.kind)


def what(words: Words, done: What) -> str:
    """Say what was done in a few words: '60 half sheets, topped up'."""
    return ", ".join(_parts(words, done))


def _parts(words: Words, done: What) -> Iterator[str]:
    for sheet_format, count in done.sheets:
        yield say.sheets(words, count, sheet_format)
    counts = dict(done.kinds)
    for kind, text in DONE.items():
        if kind in counts:
            yield words.gettext(text)
    for kind, _ in done.kinds:
        if kind not in DONE:
            yield say.kind(words, kind)


def _named(members: tuple[MemberId, ...]) -> str:
    initials = [face(one).initials for one in members]
    return format_list(initials, locale=words().lang)


def _day(at: datetime) -> str:
    """Say which day: its name within a week, else its date."""
    near = now() - at < WEEKDAY_FOR
    return words().weekday(at) if near else words().day(at)


def settled_line(one: Settled) -> str:
    """Say what a person made of something that was written on a phone."""
    done = what(words(), one.what)
    told = {
        "what": f"{one.bath.name}: {done}" if one.bath else done,
        "day": _day(one.written_at),
        "who": face(one.by).name,
    }
    if one.outcome == "sealed":
        return words().gettext(
            "What you wrote on a phone on %(day)s now counts (%(what)s): %(who)s looked at it.",
            **told,
        )
    return words().gettext(
        "What you wrote on a phone on %(day)s was left out (%(what)s): %(why)s. "
        "%(who)s looked at it.",
        why=say.choice(words(), "settle_reason", one.reason),
        **told,
    )


def turned_line(one: Turned) -> str:
    """Say what late arrivals made of a bath's word."""
    return words().ngettext(
        "%(bath)s: %(num)d line written on %(written)s arrived %(arrived)s and made "
        "“%(before)s” into “%(after)s”",
        "%(bath)s: %(num)d lines, the last written on %(written)s, arrived %(arrived)s and "
        "made “%(before)s” into “%(after)s”",
        one.late.count,
        bath=one.bath.name,
        written=_day(one.at),
        arrived=say.when(words(), one.late.admitted_at, now()),
        before=reasons.word(words(), one.late.before),
        after=reasons.word(words(), one.late.after),
    )
