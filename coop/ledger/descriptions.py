"""Folds of what is described by editions: ledger, members, studios, tubs, papers, house."""

from dataclasses import replace
from fractions import Fraction

from coop.ids import MemberId, Subject
from coop.ledger import kinds
from coop.ledger.folding import NOTHING, Folded, Inputs
from coop.ledger.force import Finding, InForce
from coop.ledger.states import (
    DeviceState,
    HouseState,
    JudgementState,
    LedgerState,
    MemberState,
    PaperState,
    RecipeState,
    StudioState,
    VesselState,
    Zero,
)
from coop.science.defaults import value
from coop.units.number import wire

HYDROMETER_SCALE_C = value("hydrometer_scale_c")


def fold_ledger(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The first `ledger.opened` counts; another one is a finding."""
    opened = [one for one in entries if isinstance(one.content, kinds.LedgerOpened)]
    if not opened:
        return NOTHING
    said = opened[0].content
    assert isinstance(said, kinds.LedgerOpened)
    state = LedgerState(
        name=said.name,
        zone=said.zone,
        coordinator=MemberId(said.coordinator),
        opened_at=opened[0].at,
    )
    again = tuple(Finding(code="opened-twice", entry=one.id) for one in opened[1:])
    return Folded(state=state, findings=again, live=True)


def fold_member(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Roles come with the invitation (or with opening) and change by `member.role_set`."""
    state = MemberState(id=MemberId(subject))
    for one in entries:
        match one.content:
            case kinds.LedgerOpened():
                state = replace(state, roles=("member", "coordinator"))
            case kinds.MemberInvited(roles=roles) | kinds.MemberRoleSet(roles=roles):
                state = replace(state, roles=roles)
            case kinds.MemberJoined(card=card):
                state = replace(state, card=card, joined_at=one.at)
            case kinds.MemberLeft():
                state = replace(state, left_at=one.at, roles=())
            case _:
                pass
    return Folded(state=state, live=state.left_at is None)


def fold_device(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Whoever enrolled a device writes on it; others are added and removed; revoked is over."""
    enrolled = [one for one in entries if isinstance(one.content, kinds.DeviceEnrolled)]
    if not enrolled:
        return NOTHING
    first = enrolled[0]
    said = first.content
    assert isinstance(said, kinds.DeviceEnrolled)
    state = DeviceState(
        id=subject,
        name=said.name,
        shared=said.shared == "yes",
        enrolled_by=first.author,
        enrolled_at=first.at,
        members=(first.author,),
    )
    for one in entries:
        match one.content:
            case kinds.DeviceMemberAdded(member=member):
                members = (*state.members, MemberId(member))
                state = replace(state, members=tuple(dict.fromkeys(members)))
            case kinds.DeviceMemberRemoved(member=member):
                left = tuple(each for each in state.members if each != MemberId(member))
                state = replace(state, members=left)
            case kinds.DeviceRevoked(reason=reason) if state.revoked_at is None:
                state = replace(state, revoked_at=one.at, revoked_reason=reason)
            case _:
                pass
    return Folded(state=state, live=state.revoked_at is None)


def fold_studio(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts; the hydrometer's zeros are gathered beside it."""
    edition, findings = _edition(entries, kinds.StudioDescribed)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.StudioDescribed)
    zeros = tuple(_zero(one) for one in entries if one.kind == "instrument.checked")
    scale = said.hydrometer_scale
    state = StudioState(
        id=subject,
        edition=edition.id,
        name=said.name,
        letter=said.letter,
        premises=said.premises,
        drain=said.drain,
        drain_note=said.drain_note,
        hardness_mg_per_l=_float(said.hardness_mg_per_l),
        instruments=said.instruments,
        hydrometer_scale_c=float(scale.base) if scale else HYDROMETER_SCALE_C,
        emergency=said.emergency,
        poison=said.poison,
        zeros=zeros,
    )
    return Folded(state=state, findings=findings, live=True)


def _zero(one: InForce) -> Zero:
    said = one.content
    assert isinstance(said, kinds.InstrumentChecked)
    return Zero(
        at=one.at,
        by=one.author,
        gravity=float(said.gravity),
        water_c=float(said.temperature.base),
    )


def fold_vessel(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts; the last bath mixed in it is remembered."""
    edition, findings = _edition(entries, kinds.VesselDescribed)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.VesselDescribed)
    area = None
    if said.inside_length and said.inside_width:
        area = float(said.inside_length.base * said.inside_width.base) / 1e6
    baths = [one for one in entries if one.kind == "bath.mixed"]
    state = VesselState(
        id=subject,
        edition=edition.id,
        studio=said.studio,
        name=said.name,
        area_m2=area,
        brim_ml=float(said.brim.base),
        laying_ml=float(said.laying.base) if said.laying else None,
        lidded=said.lidded == "yes",
        place=said.place,
        in_use=said.in_use == "yes",
        last_bath=Subject(baths[-1].id) if baths else None,
    )
    return Folded(
        state=state,
        findings=findings,
        home=said.studio,
        live=state.in_use,
        place=said.place,
    )


def fold_paper(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = _edition(entries, kinds.PaperDescribed)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.PaperDescribed)
    state = PaperState(
        id=subject,
        edition=edition.id,
        name=said.name,
        length_mm=float(said.length.base),
        width_mm=float(said.width.base),
        weight_g_per_m2=_float(said.weight_g_per_m2),
        chalk=said.chalk,
        chalk_g_per_m2=_float(said.chalk_g_per_m2),
        floor_g_per_l=_float(said.floor_g_per_l),
        floor_salt=said.floor_salt,
    )
    return Folded(state=state, findings=findings, live=True)


def fold_recipe(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = _edition(entries, kinds.RecipePublished)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.RecipePublished)
    state = RecipeState(
        id=subject,
        edition=edition.id,
        name=said.name,
        dose=said.dose,
        amount_n=wire(said.amount.n),
        amount_unit=said.amount.unit,
        amount_heap=said.amount.heap,
        per_n=wire(said.per.n),
        per_unit=said.per.unit,
        salt=said.salt,
        target_g_per_l=_float(said.target_g_per_l),
        source=said.source,
    )
    return Folded(state=state, findings=findings, live=True)


def fold_house(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = _edition(entries, kinds.LimitsSet)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.LimitsSet)
    state = HouseState(
        edition=edition.id,
        set_at=edition.at,
        target_g_per_l=_float(said.target_g_per_l),
        target_salt=said.target_salt,
        look_again_fraction=float(said.look_again_fraction),
        do_not_use_fraction=float(said.do_not_use_fraction),
        strip_print_days=said.strip_print_days,
        laying_depth_mm=said.laying_depth_mm,
        gallon=said.gallon,
        cup=said.cup,
        spoon=said.spoon,
    )
    return Folded(state=state, findings=findings, live=True)


def fold_judgement(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Gather which findings a person has judged."""
    seen = tuple(
        (one.content.code, str(one.content.entry))
        for one in entries
        if isinstance(one.content, kinds.FindingJudged)
    )
    return Folded(state=JudgementState(seen=seen))


def _edition(
    entries: tuple[InForce, ...], cls: type[kinds.Content]
) -> tuple[InForce | None, tuple[Finding, ...]]:
    """Return the edition in force; two that supersede the same one are a finding."""
    editions = [one for one in entries if isinstance(one.content, cls)]
    if not editions:
        return None, ()
    superseded = [one.content.supersedes for one in editions]  # type: ignore[union-attr]  # editions have it
    left = [one for one in editions if one.id not in superseded]
    findings: tuple[Finding, ...] = ()
    if len(left) > 1:
        findings = (Finding(code="editions-disagree", entry=left[-1].id),)
    return (left or editions)[-1], findings


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
