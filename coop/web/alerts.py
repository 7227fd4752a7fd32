"""A stopped bath: whom it concerns, who has seen it and who has not, in sentences."""

from dataclasses import dataclass

from coop.actions.follow import Alert, at_risk
from coop.ledger.states import Stop
from coop.web import words as say
from coop.web.page import face, faces, who, words
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
