"""Folds of what is described by editions: ledger, members, studios, tubs, papers, house."""

from collections.abc import Iterator
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
    JugState,
    LedgerState,
    MemberState,
    PaperState,
    Pickup,
    RecipeState,
    StudioState,
    VesselState,
    Zero,
)
from coop.ledger.table import part_of
from coop.science.defaults import value
from coop.units.number import wire

HYDROMETER_SCALE_C = value("hydrometer_scale_c")
WHOLE_DAYS = (
    "size_cap_days",
    "gall_water_days",
    "rinse_days",
    "paste_days",
    "softener_days",
    "stack_open_days",
    "stack_damp_days",
    "stack_bagged_days",
    "stack_hard_stop_days",
)


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
    edition, findings = edition_of(entries, kinds.StudioDescribed)
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
        store_coldest_c=float(said.store_coldest.base) if said.store_coldest else None,
        hydrometer_scale_c=float(scale.base) if scale else HYDROMETER_SCALE_C,
        emergency=said.emergency,
        poison=said.poison,
        side_rule=said.side_rule,
        country=said.country.lower(),
        premises_are=said.premises_are or "",
        rinse_way=said.rinse_way,
        rinse_agreed=said.rinse_agreed,
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
    edition, findings = edition_of(entries, kinds.VesselDescribed)
    if edition is None:
        return NOTHING
    said = edition.content
    assert isinstance(said, kinds.VesselDescribed)
    area = None
    if said.inside_length and said.inside_width:
        area = float(said.inside_length.base * said.inside_width.base) / 1e6
    baths = [bath for one in entries for bath in _brought(one, subject)]
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
        last_bath=baths[-1] if baths else None,
    )
    return Folded(
        state=state,
        findings=findings,
        home=said.studio,
        live=state.in_use,
        place=said.place,
    )


def _brought(one: InForce, vessel: Subject) -> Iterator[Subject]:
    """Give the baths that an entry put into a vessel."""
    match one.content:
        case kinds.BathMixed():
            yield Subject(one.id)
        case kinds.BathSplit(parts=parts):
            for place, part in enumerate(parts):
                if part.vessel == vessel:
                    yield part_of(one.id, place)
        case kinds.BathCarried(bath=bath):
            yield bath
        case _:
            pass


def fold_paper(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = edition_of(entries, kinds.PaperDescribed)
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
        pickups=_pickups(entries),
    )
    return Folded(state=state, findings=findings, live=True)


def _pickups(entries: tuple[InForce, ...]) -> tuple[Pickup, ...]:
    """Return what was last taken over for each method."""
    found = {}
    for one in entries:
        said = one.content
        if isinstance(said, kinds.PickupLearned):
            found[said.method] = Pickup(
                method=said.method,
                ml_per_m2=float(said.ml_per_m2),
                low_ml_per_m2=float(said.low_ml_per_m2),
                high_ml_per_m2=float(said.high_ml_per_m2),
                pair_count=said.pair_count,
                at=one.at,
                by=one.author,
            )
    return tuple(found[method] for method in sorted(found))


def fold_recipe(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = edition_of(entries, kinds.RecipePublished)
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
        what=said.what,
        powder=said.powder,
        rest_hours=_float(said.rest_hours),
        look_again_warm_days=_float(said.look_again_warm_days),
        do_not_use_warm_days=_float(said.do_not_use_warm_days),
        cap_days=said.cap_days,
        made_for=said.made_for,
        printed=said.printed,
        dated=said.dated,
        side=said.side,
        card=said.card,
    )
    return Folded(state=state, findings=findings, live=True)


def fold_house(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """The last edition counts."""
    edition, findings = edition_of(entries, kinds.LimitsSet)
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
        records_kept=said.records_kept or "",
        cup=said.cup,
        spoon=said.spoon,
        size_look_again_warm_days=_float(said.size_look_again_warm_days),
        size_do_not_use_warm_days=_float(said.size_do_not_use_warm_days),
        **{name: getattr(said, name) for name in WHOLE_DAYS},
    )
    return Folded(state=state, findings=findings, live=True)


def fold_jug(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """A jug is nobody's until a person says what is in it; the last word counts."""
    found = [one for one in entries if isinstance(one.content, kinds.JugFound)]
    if not found:
        return NOTHING
    said = found[0].content
    assert isinstance(said, kinds.JugFound)
    state = JugState(
        id=subject,
        studio=said.studio,
        where=said.where,
        volume_ml=float(said.litres.base) if said.litres else None,
        look=said.look,
        found_at=found[0].at,
        found_by=found[0].author,
        note=said.note,
    )
    for one in entries:
        if isinstance(one.content, kinds.JugKnown):
            state = replace(
                state,
                bath=one.content.bath,
                made_it=one.content.made_it == "yes",
                known_at=one.at,
                known_by=one.author,
            )
        else:
            state = _jug_later(state, one)
    return Folded(state=state, home=said.studio, live=_is_open(state))


def _jug_later(state: JugState, one: InForce) -> JugState:
    """Take that somebody vouched for what is in a jug, or that it is gone."""
    match one.content:
        case kinds.JarVouched() as said:
            return replace(
                state,
                bath=said.bath,
                made_it=said.made_it == "yes",
                known_at=one.at,
                known_by=one.author,
                waste=said.waste,
                substances=said.substances,
                metal_pigments=said.metal_pigments,
                volume_ml=float(said.litres.base) if said.litres else state.volume_ml,
            )
        case kinds.DisposalDone() | kinds.WasteAdded():
            return replace(state, gone_at=one.at)
        case _:
            return state


def _is_open(state: JugState) -> bool:
    """Say whether a jug still asks for somebody: not known, or not got rid of."""
    if state.gone_at is not None:
        return False
    return state.bath is None or state.waste != ""


def fold_judgement(subject: Subject, entries: tuple[InForce, ...], inputs: Inputs) -> Folded:
    """Gather which findings a person has judged."""
    seen = tuple(
        (one.content.code, str(one.content.entry))
        for one in entries
        if isinstance(one.content, kinds.FindingJudged)
    )
    return Folded(state=JudgementState(seen=seen))


def edition_of(
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
