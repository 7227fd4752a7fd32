"""
What is asked before something is written from a page: about what is still to be done.

What a person did already is never refused for being unwise; it is asked for a reason where
one is needed to read the history later. Drafts from devices are not asked: their moment has
passed, and what is odd in them becomes a finding.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from types import MappingProxyType

from coop.actions.ask_about import (
    about_handover,
    about_laying,
    about_sheets,
    brim,
    in_use,
    refused,
    volume_now_ml,
)
from coop.actions.ask_about_mending import (
    BODY,
    about_author,
    about_stock_again,
    as_it_would_stand,
    is_known,
    standing_of,
)
from coop.actions.ask_about_stock import about_stock
from coop.actions.ask_about_waste import about_judged_again, about_waste
from coop.actions.see_baths import see_any
from coop.actions.see_stacks import see_stack
from coop.ids import EntryId, MemberId, Subject
from coop.ledger import kinds
from coop.ledger.accounts import other
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.entries import Entry
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Refused, Slip
from coop.ledger.states import DeviceState, KeptFor, LotState, StackState
from coop.ledger.table import KINDS
from coop.people.may import Stopper, may_clear, may_correct
from coop.rules.reasons import Word

MEMBERS_OF_DEVICE_MAX = 40
EARLY_MAX = timedelta(minutes=10)
NEEDS_NO_STATE = frozenset(
    {
        "ledger",
        "house",
        "entry",
        "judgement",
        "attachment",
        "draft",
        "member",
        "put_off",
    }
)
"""Sorts of which an entry may be the first word."""
OTHER = other(Subject(""))
WANT_REASON = frozenset({Word.DO_NOT_USE, Word.RESTING, Word.FINISHED})


def ask(
    journal: Journal,
    entry: Entry,
    roles: frozenset[str],
    *,
    now: datetime,
    attached: Iterable[Attachment] = (),
) -> Refused | None:
    """
    Return what must be answered or put right first; None when all is well.

    Args:
        attached: What comes with the entry and is kept once it is sealed.
    """
    if entry.happened_at > now + EARLY_MAX:
        return Refused(field="happened_at", code="in-the-future")
    unknown = _unknown(journal, entry) or _unnamed(journal, entry.content)
    if unknown is not None:
        return unknown
    if isinstance(entry.content, kinds.EntryCorrected):
        return _correct(journal, entry, entry.content, roles, now)
    if isinstance(entry.content, kinds.BathCleared):
        return _clear(journal, entry, entry.content, roles, now)
    return (
        _about_bath(journal, entry, now)
        or about_stock(journal, entry, roles)
        or about_waste(journal, entry, attached)
        or _jug(journal, entry.author, entry.content)
        or _people(journal, entry)
        or _device(journal, entry.content)
    )


def _about_bath(journal: Journal, entry: Entry, now: datetime) -> Refused | None:
    match entry.content:
        case kinds.BathMixed() as said:
            return _mix(journal, said)
        case kinds.BathToppedUp() as said:
            return _top_up(journal, said, now)
        case kinds.SheetsThrough() as said:
            return _sheets(journal, entry.author, said, now)
        case kinds.BathStopped() as said:
            return _stop(journal, said)
        case said:
            return about_handover(journal, said, now) or about_sheets(journal, said)


def _unknown(journal: Journal, entry: Entry) -> Refused | None:
    """Refuse a page's entry that names something the ledger does not know."""
    for sort, subject in KINDS[entry.kind].touches(entry.id, entry.content):
        made = entry.id in subject.split(":")
        if sort in NEEDS_NO_STATE or made or is_by_use(sort, subject):
            continue
        if journal.state(sort, subject) is None:
            return Refused(field=sort, code="not-known")
    return None


def is_by_use(sort: str, subject: Subject) -> bool:
    """Say whether it is a salt, powder or paper: a supply whether described or not."""
    return sort == "supply" and not subject.startswith(OTHER)


Named = tuple[tuple[str, str], ...]
NAMED: Mapping[type[kinds.Content], Named] = MappingProxyType(
    {
        kinds.BathMixed: (("recipe", "recipe"), ("session", "session")),
        kinds.BathKeptFor: (("member", "member"),),
        kinds.SheetsThrough: (("session", "session"), ("member", "hands")),
        kinds.SheetsSorted: (("bath", "size"),),
        kinds.JugFound: (("studio", "studio"),),
        kinds.JugKnown: (("bath", "bath"),),
        kinds.SupplyDescribed: (("paper", "paper"), ("supplier", "sold_by")),
        kinds.LotReceived: (("studio", "studio"), ("paper", "paper"), ("supplier", "sold_by")),
        kinds.LotCounted: (("member", "counted_with"),),
        kinds.LotMoved: (("studio", "studio"),),
        kinds.LotCut: (("paper", "paper"),),
        kinds.OrderPlaced: (("paper", "paper"), ("supplier", "sold_by")),
        kinds.SessionPlanned: (("studio", "studio"),),
        kinds.RulesPublished: (("studio", "studio"),),
        kinds.JarVouched: (("bath", "bath"),),
        kinds.DisposalJudged: (("studio", "studio"), ("lot", "lot")),
        kinds.DisposalTreated: (("studio", "studio"),),
        kinds.DisposalDone: (("studio", "studio"),),
        kinds.WasteStarted: (("studio", "studio"),),
        kinds.WasteAdded: (("studio", "studio"),),
        kinds.WasteCollected: (("studio", "studio"),),
        kinds.WasteCarried: (("studio", "from_studio"), ("studio", "studio")),
        kinds.MishapNoted: (("studio", "studio"),),
    }
)
"""What is named without being touched: its sort, and the field it stands in."""


def _unnamed(journal: Journal, said: kinds.Content) -> Refused | None:
    """Refuse a name of something unknown that the entry does not touch."""
    if isinstance(said, kinds.StackWarningSeen):
        known = bool(journal.by_id(EntryId(said.about)))
        return None if known else Refused(field="about", code="not-known")
    for sort, field in NAMED.get(type(said), ()):
        subject: Subject | None = getattr(said, field)
        if subject is not None and not is_known(journal.state(sort, subject)):
            return Refused(field=field, code="not-known")
    return None


def _jug(journal: Journal, author: MemberId, said: kinds.Content) -> Refused | None:
    """Let only who made a bath, or had it last, say that they made what is in a jug."""
    if not isinstance(said, kinds.JugKnown | kinds.JarVouched):
        return None
    if said.made_it != "yes" or said.bath is None:
        return None
    bath: AnyBath = journal.state("bath", said.bath)
    own = author in (bath.mixed_by, bath.hands.by)
    return None if own else Refused(field="bath", code="not-allowed")


def _mix(journal: Journal, said: kinds.BathMixed) -> Refused | None:
    if journal.state("studio", said.studio) is None:
        return Refused(field="studio", code="not-known")
    vessel = journal.state("vessel", said.vessel)
    return (
        _of_nothing(said)
        or _lots(journal, said)
        or in_use(journal, vessel)
        or brim(vessel, float(said.water.base), "water")
    )


def _of_nothing(said: kinds.BathMixed) -> Refused | None:
    """Want what gives a bath its name; only a rinse is water alone."""
    empty = said.what != "rinse" and not said.salt and not said.powder
    return Refused(field="powder", code="missing") if empty else None


def _lots(journal: Journal, said: kinds.BathMixed | kinds.BathToppedUp) -> Refused | None:
    """Refuse alum out of a lot that is no alum, and a powder out of a lot of another."""
    for place, part in enumerate(said.salt):
        if journal.state("lot", part.lot).salt is None:
            return Refused(field=f"salt.{place}.lot", code="not-a-choice")
    for place, powder in enumerate(said.powder):
        lot: LotState | None = journal.state("lot", powder.lot)
        if lot is not None and lot.what != powder.powder:
            return Refused(field=f"powder.{place}.lot", code="not-a-choice")
    return None


def _top_up(journal: Journal, said: kinds.BathToppedUp, now: datetime) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    if bath.finished_at is not None:
        return Refused(field="bath", code="finished")
    odd = _lots(journal, said) or _added(journal, bath, said)
    if odd is not None or said.water is None:
        return odd
    after = volume_now_ml(journal, bath, now) + float(said.water.base)
    return brim(journal.state("vessel", bath.vessel), after, "water")


def _added(journal: Journal, bath: AnyBath, said: kinds.BathToppedUp) -> Refused | None:
    """Return what is wrong with what goes into a bath besides water."""
    if not isinstance(bath, BathState):
        return Refused(field="salt", code="another-kind-of-bath") if said.salt else None
    if said.powder:
        return Refused(field="powder", code="another-kind-of-bath")
    for place, part in enumerate(said.salt):
        if journal.state("lot", part.lot).salt != bath.salt:
            return Refused(field=f"salt.{place}.lot", code="lot-of-other-salt")
    if not said.salt and not said.reason:
        return Refused(field="reason", code="water-only")
    return None


def _sheets(
    journal: Journal, author: MemberId, said: kinds.SheetsThrough, now: datetime
) -> Refused | None:
    odd = about_laying(journal, said)
    if odd is not None:
        return odd
    if not said.reason and _wants_reason(journal, author, said, now):
        return Refused(field="reason", code="reason-needed")
    if said.paper is not None and journal.state("paper", said.paper) is None:
        return Refused(field="paper", code="not-known")
    return None


def _wants_reason(
    journal: Journal, author: MemberId, said: kinds.SheetsThrough, now: datetime
) -> bool:
    """Ask why what may not be used is used all the same, or a bath kept for somebody else."""
    for subject in (said.bath, said.size):
        bath: AnyBath | None = journal.state("bath", subject)
        if bath is None:
            continue
        if see_any(journal, bath, now=now).answer.word in WANT_REASON:
            return True
        if is_kept(bath.kept_for, now, besides=author):
            return True
    stack: StackState | None = journal.state("stack", said.stack)
    if stack is None or said.bath is not None:
        return False  # what may not be used is alumed once more so that it may
    return see_stack(journal, stack, now=now).answer.word in WANT_REASON


def is_kept(kept: KeptFor | None, now: datetime, *, besides: MemberId) -> bool:
    """Return whether a bath is kept for another member, or for a session."""
    if kept is None or (kept.until is not None and kept.until <= now):
        return False
    return kept.member != besides


def _stop(journal: Journal, said: kinds.BathStopped) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    return Refused(field="bath", code="already-stopped") if bath.stop else None


def _clear(
    journal: Journal,
    entry: Entry,
    said: kinds.BathCleared,
    roles: frozenset[str],
    now: datetime,
) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    if bath.stop is None:
        return Refused(field="bath", code="not-stopped")
    stopper = stopper_of(journal, bath, entry.author, now=now)
    if not may_clear(roles, stopper):
        return Refused(field="bath", code="not-allowed")
    return None


def stopper_of(journal: Journal, bath: AnyBath, member: MemberId, *, now: datetime) -> Stopper:
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
    if not allowed:
        return Refused(field="target", code="too-late")
    whose = about_author(journal, said, (one.entry for one in targets), roles)
    return whose or _mend(journal, said, roles, now)


def _mend(
    journal: Journal, said: kinds.EntryCorrected, roles: frozenset[str], now: datetime
) -> Refused | None:
    """Ask of what is to stand what it would be asked if it were written now."""
    if said.outcome == "void":
        return None
    stands = standing_of(journal, said)
    before = stands.in_force[0] if stands.in_force else None
    original = before.original if before else stands.struck[0].original
    try:
        again = as_it_would_stand(said, original.entry)
    except Slip as slip:
        return slip.refused
    if said.outcome == "replace" and again.happened_at > now + EARLY_MAX:
        return Refused(field="content.happened_at", code="in-the-future")
    if before and (before.content, before.at) == (again.content, again.happened_at):
        return None
    unknown = _unknown(journal, again) or _unnamed(journal, again.content)
    if unknown is not None:
        return _in_body(unknown) if said.outcome == "replace" else None
    odd = (
        _judged_again(said, again, before.content if before else original.entry.content)
        or about_stock_again(journal, again, before.content if before else None, roles)
        or _taken_out(journal, again.content)
        or _jug(journal, again.author, again.content)
        or _people(journal, again)
    )
    return _in_body(odd) if odd else None


def _judged_again(
    said: kinds.EntryCorrected, again: Entry, before: kinds.Content
) -> Refused | None:
    return about_judged_again(again.content, before) if said.outcome == "replace" else None


def _taken_out(journal: Journal, said: kinds.Content) -> Refused | None:
    """Ask that a bath is of what its lots hold, and that its tub held it."""
    if isinstance(said, kinds.BathMixed):
        vessel = journal.state("vessel", said.vessel)
        return (
            _of_nothing(said)
            or _lots(journal, said)
            or brim(vessel, float(said.water.base), "water")
        )
    return _lots(journal, said) if isinstance(said, kinds.BathToppedUp) else None


def _in_body(odd: Refused) -> Refused:
    return replace(odd, field=f"{BODY}.{odd.field}")


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
        return refused("device", "too-many", high=str(MEMBERS_OF_DEVICE_MAX))
    return None
