"""
What is asked before something is written from a page: about what is still to be done.

What a person did already is never refused for being unwise; it is asked for a reason where
one is needed to read the history later. Drafts from devices are not asked: their moment has
passed, and what is odd in them becomes a finding.
"""

from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from coop.actions.see_baths import see_bath
from coop.ids import EntryId, MemberId, Subject
from coop.ledger import kinds
from coop.ledger.baths import BathState
from coop.ledger.entries import Entry
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused
from coop.ledger.states import DeviceState
from coop.ledger.table import KINDS
from coop.people.may import Stopper, may_clear, may_correct
from coop.rules.reasons import Word

BRIM_SLACK_ML = 50.0  # what one decimal of a litre cannot show
MEMBERS_OF_DEVICE_MAX = 40
EARLY_MAX = timedelta(minutes=10)
WANT_REASON = frozenset({Word.DO_NOT_USE, Word.RESTING, Word.FINISHED})


def ask(
    journal: Journal, entry: Entry, roles: frozenset[str], *, now: datetime
) -> Refused | None:
    """Return what must be answered or put right first; None when all is well."""
    if entry.happened_at > now + EARLY_MAX:
        return Refused(field="happened_at", code="in-the-future")
    unknown = _unknown(journal, entry)
    if unknown is not None:
        return unknown
    if isinstance(entry.content, kinds.EntryCorrected):
        return _correct(journal, entry, entry.content, roles, now)
    if isinstance(entry.content, kinds.BathCleared):
        return _clear(journal, entry, entry.content, roles, now)
    return (
        _about_bath(journal, entry.content, now)
        or _people(journal, entry)
        or _device(journal, entry.content)
    )


def _about_bath(journal: Journal, said: kinds.Content, now: datetime) -> Refused | None:
    match said:
        case kinds.BathMixed():
            return _mix(journal, said)
        case kinds.BathToppedUp():
            return _top_up(journal, said, now)
        case kinds.SheetsThrough():
            return _sheets(journal, said, now)
        case kinds.BathStopped():
            return _stop(journal, said)
        case _:
            return None


def _unknown(journal: Journal, entry: Entry) -> Refused | None:
    """Refuse a page's entry that names something the ledger does not know."""
    for sort, subject in KINDS[entry.kind].touches(entry.id, entry.content):
        known = sort in ("ledger", "house", "entry", "judgement", "attachment", "draft")
        if known or subject == Subject(entry.id) or sort == "member":
            continue
        if journal.state(sort, subject) is None:
            return Refused(field=sort, code="not-known")
    return None


def _mix(journal: Journal, said: kinds.BathMixed) -> Refused | None:
    vessel = journal.state("vessel", said.vessel)
    if vessel.last_bath is not None:
        last: BathState | None = journal.state("bath", vessel.last_bath)
        if last is not None and last.finished_at is None and last.vessel == said.vessel:
            return _refused("vessel", "vessel-in-use", bath=last.name)
    return _brim(vessel, float(said.water.base), "water")


def _top_up(journal: Journal, said: kinds.BathToppedUp, now: datetime) -> Refused | None:
    bath: BathState = journal.state("bath", said.bath)
    if bath.finished_at is not None:
        return Refused(field="bath", code="finished")
    for place, part in enumerate(said.salt):
        lot = journal.state("lot", part.lot)
        if lot.salt != bath.salt:
            return Refused(field=f"salt.{place}.lot", code="lot-of-other-salt")
    if not said.salt and not said.reason:
        return Refused(field="reason", code="water-only")
    if said.water is None:
        return None
    look = see_bath(journal, bath, now=now)
    after = look.strength.volume_l * 1000 + float(said.water.base)
    return _brim(journal.state("vessel", bath.vessel), after, "water")


def _brim(vessel: Any, volume_ml: float, field: str) -> Refused | None:
    if vessel is None or volume_ml <= vessel.brim_ml + BRIM_SLACK_ML:
        return None
    return _refused(
        field,
        "over-the-brim",
        brim_l=_litres(vessel.brim_ml),
        would_l=_litres(volume_ml),
    )


def _litres(volume_ml: float) -> str:
    return f"{volume_ml / 1000:.1f}"


def _sheets(journal: Journal, said: kinds.SheetsThrough, now: datetime) -> Refused | None:
    bath: BathState = journal.state("bath", said.bath)
    word = see_bath(journal, bath, now=now).answer.word
    if word in WANT_REASON and not said.reason:
        return Refused(field="reason", code="reason-needed")
    if said.paper is not None and journal.state("paper", said.paper) is None:
        return Refused(field="paper", code="not-known")
    return None


def _stop(journal: Journal, said: kinds.BathStopped) -> Refused | None:
    bath: BathState = journal.state("bath", said.bath)
    return Refused(field="bath", code="already-stopped") if bath.stop else None


def _clear(
    journal: Journal,
    entry: Entry,
    said: kinds.BathCleared,
    roles: frozenset[str],
    now: datetime,
) -> Refused | None:
    bath: BathState = journal.state("bath", said.bath)
    if bath.stop is None:
        return Refused(field="bath", code="not-stopped")
    stopper = stopper_of(journal, bath, entry.author, now=now)
    if not may_clear(roles, stopper):
        return Refused(field="bath", code="not-allowed")
    return None


def stopper_of(
    journal: Journal, bath: BathState, member: MemberId, *, now: datetime
) -> Stopper:
    """Return who stopped a bath, as the rule about allowing it again needs it."""
    assert bath.stop is not None
    state = journal.state("member", Subject(bath.stop.by))
    return Stopper(
        own=bath.stop.by == member,
        by_safety_officer=state is not None and "safety_officer" in state.roles,
        age=now - bath.stop.at,
    )


def _correct(
    journal: Journal,
    entry: Entry,
    said: kinds.EntryCorrected,
    roles: frozenset[str],
    now: datetime,
) -> Refused | None:
    targets = journal.by_id(EntryId(said.target))
    if not targets or isinstance(targets[0].entry.content, kinds.EntryCorrected):
        return Refused(field="target", code="not-known")  # a target is an original
    first = targets[0]
    allowed = may_correct(
        roles,
        first.entry.kind,
        own=first.entry.author == entry.author,
        age=now - first.first.admitted_at,
        undo=False,
    )
    return None if allowed else Refused(field="target", code="too-late")


def _people(journal: Journal, entry: Entry) -> Refused | None:
    """Keep a coordinator in the house."""
    said = entry.content
    if isinstance(said, kinds.MemberRoleSet) and "coordinator" in said.roles:
        return None
    if not isinstance(said, kinds.MemberRoleSet | kinds.MemberLeft):
        return None
    others = [
        one
        for one in journal.listed("member")
        if one.id != said.member and "coordinator" in one.roles and one.joined_at
    ]
    return None if others else Refused(field="roles", code="last-coordinator")


def _device(journal: Journal, said: kinds.Content) -> Refused | None:
    """Add nobody to a device that is over, nor more than it can show."""
    if not isinstance(said, kinds.DeviceMemberAdded):
        return None
    device: DeviceState = journal.state("device", said.device)
    if device.revoked_at is not None:
        return Refused(field="device", code="device-revoked")
    if len(device.members) >= MEMBERS_OF_DEVICE_MAX:
        return _refused("device", "too-many", high=str(MEMBERS_OF_DEVICE_MAX))
    return None


def _refused(field: str, code: str, **limits: str | Fraction) -> Refused:
    return Refused(field=field, code=code, limits=tuple((k, str(v)) for k, v in limits.items()))
