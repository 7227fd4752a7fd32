"""
A stopped bath: whom it concerns, who has seen it and who has not, in sentences.

And a bath whose sheets came out badly, until it is tested.
"""

from dataclasses import dataclass

from coop.actions.follow import Alert, at_risk
from coop.actions.see_warnings import see_warnings
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import LiquidState
from coop.ledger.states import Stop
from coop.web import came_out, reasons
from coop.web import words as say
from coop.web.page import desk, face, faces, who, words
from coop.web.told import telling


@dataclass(frozen=True, slots=True, kw_only=True)
class AlertSaid:
    """Who has seen that a bath was stopped, and who has not; `mine` if the reader has not."""

    id: str
    text: str
    seen: str
    unseen: str
    mine: bool


def alert_said(alert: Alert) -> AlertSaid:
    """Say who has seen that a bath was stopped, and who has not."""
    stop = alert.bath.stop
    assert stop is not None
    faces().gather((stop.by, *(member for member, _ in alert.people)))
    risk = sum(sum(at_risk(stack, alert.bath)) for stack in alert.stacks)
    concerned = words().ngettext(
        "%(num)d sheet is concerned.", "%(num)d sheets are concerned.", risk
    )
    return AlertSaid(
        id=alert.bath.id,
        text=f"{_stopped(alert.bath.name, stop)} {concerned}",
        seen=", ".join(face(member).name for member, seen in alert.people if seen),
        unseen=", ".join(face(member).name for member in alert.unseen_by),
        mine=bool(alert.unseen(who().member)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WarningSaid:
    """What the sheets of a bath warn of, and the test that answers it with its address."""

    text: str
    act: tuple[str, str]


def warning_said(bath: AnyBath) -> WarningSaid | None:
    """Say what sorted sheets warn of; None where nothing is, or it was tested since."""
    found = see_warnings(desk().journal, (bath,)).get(bath.id)
    if found is None:
        return None
    if isinstance(bath, LiquidState):
        text, _ = reasons.act(words(), "drop-test", bath.id)
        act = text, f"/liquids/{bath.id}/test?by=drop_test"
    else:
        act = reasons.act(words(), "strip-print", bath.id)
    return WarningSaid(
        text=came_out.warned(words(), found, bath, when=telling().when(found.at)), act=act
    )


def _stopped(name: str, stop: Stop) -> str:
    told = {
        "name": name,
        "who": face(stop.by).name,
        "when": telling().when(stop.at),
        "why": say.choice(words(), "stop_reason", stop.reason),
    }
    if stop.poured_in_at is None:
        return words().gettext("%(name)s was stopped by %(who)s, %(when)s: %(why)s.", **told)
    return words().gettext(
        "%(name)s is not to be used since %(bath)s was poured in, %(since)s. "
        "%(who)s stopped %(bath)s, %(when)s: %(why)s.",
        bath=stop.poured_from,
        since=telling().when(stop.poured_in_at),
        **told,
    )
