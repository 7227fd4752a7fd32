"""What is asked before baths are poured together or apart, and before sheets are moved."""

from datetime import datetime
from typing import Any

from coop.actions.see_baths import see_any, volume_ml, water_part
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import SIZE, LiquidState
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused
from coop.ledger.states import StackState, VesselState

BRIM_SLACK_ML = 50.0  # what one decimal of a litre cannot show


def volume_now_ml(journal: Journal, bath: AnyBath, now: datetime) -> float:
    """Return the litres believed to be in a bath now [mL]."""
    return volume_ml(see_any(journal, bath, now=now))


def in_use(journal: Journal, vessel: VesselState) -> Refused | None:
    """Refuse a vessel in which a bath stands."""
    if vessel.last_bath is None:
        return None
    last: AnyBath | None = journal.state("bath", vessel.last_bath)
    if last is None or last.finished_at is not None or last.vessel != vessel.id:
        return None
    return refused("vessel", "vessel-in-use", bath=last.name)


def brim(vessel: Any, volume_ml: float, field: str) -> Refused | None:
    """Refuse what would run over."""
    if vessel is None or volume_ml <= vessel.brim_ml + BRIM_SLACK_ML:
        return None
    return refused(
        field,
        "over-the-brim",
        brim_l=_litres(vessel.brim_ml),
        would_l=_litres(volume_ml),
    )


def _litres(volume_ml: float) -> str:
    return f"{volume_ml / 1000:.1f}"


def refused(field: str, code: str, **limits: str) -> Refused:
    """Return a refusal with its limits."""
    return Refused(field=field, code=code, limits=tuple(limits.items()))


def about_handover(journal: Journal, said: kinds.Content, now: datetime) -> Refused | None:
    """Ask about baths that are to be poured apart, together, or carried."""
    match said:
        case kinds.BathSplit():
            return _split(journal, said, now)
        case kinds.BathJoined():
            return _join(journal, said, now)
        case kinds.BathCarried():
            return _carry(journal, said, now)
        case _:
            return None


def _split(journal: Journal, said: kinds.BathSplit, now: datetime) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    if bath.finished_at is not None:
        return Refused(field="bath", code="finished")
    left_ml = _liquid_ml(journal, bath, now)
    taken: set[Subject] = set()
    for place, part in enumerate(said.parts):
        where = f"parts.{place}"
        vessel: VesselState = journal.state("vessel", part.vessel)
        odd = in_use(journal, vessel) or brim(vessel, float(part.litres.base), "litres")
        if odd is not None:
            return Refused(field=f"{where}.{odd.field}", code=odd.code, limits=odd.limits)
        if part.vessel in taken:
            return refused(f"{where}.vessel", "vessel-in-use", bath=said.parts[0].name)
        taken.add(part.vessel)
        left_ml -= float(part.litres.base)
        if left_ml < -BRIM_SLACK_ML:
            left = _litres(left_ml + float(part.litres.base))
            return refused(f"{where}.litres", "more-than-is-left", left=f"{left} L")
    return None


def _liquid_ml(journal: Journal, bath: AnyBath, now: datetime) -> float:
    """Return the litres as they would be measured; a bath is reckoned in water put in."""
    look = see_any(journal, bath, now=now)
    return volume_ml(look) / water_part(look)


def _join(journal: Journal, said: kinds.BathJoined, now: datetime) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    giver: AnyBath = journal.state("bath", said.giver)
    for field, one in (("bath", bath), ("giver", giver)):
        if one.finished_at is not None:
            return Refused(field=field, code="finished")
    if not alike(bath, giver):
        return Refused(field="giver", code="another-kind-of-bath")
    there_ml = _liquid_ml(journal, giver, now)
    given_ml = float(said.litres.base) if said.litres else there_ml
    if given_ml > there_ml + BRIM_SLACK_ML:
        return refused("litres", "more-than-is-left", left=f"{_litres(there_ml)} L")
    after_ml = volume_now_ml(journal, bath, now) + given_ml
    return brim(journal.state("vessel", bath.vessel), after_ml, "litres")


def alike(bath: AnyBath, giver: AnyBath) -> bool:
    """Say whether one bath may be poured into another: the same kind, the same salt."""
    if isinstance(bath, BathState) and isinstance(giver, BathState):
        return bath.salt == giver.salt
    if isinstance(bath, LiquidState) and isinstance(giver, LiquidState):
        return (bath.what, bath.of) == (giver.what, giver.of)
    return False


def _carry(journal: Journal, said: kinds.BathCarried, now: datetime) -> Refused | None:
    bath: AnyBath = journal.state("bath", said.bath)
    if bath.finished_at is not None:
        return Refused(field="bath", code="finished")
    vessel: VesselState = journal.state("vessel", said.vessel)
    return in_use(journal, vessel) or brim(vessel, volume_now_ml(journal, bath, now), "vessel")


def about_laying(journal: Journal, said: kinds.SheetsThrough) -> Refused | None:
    """Ask that sheets go through alum and are laid on size, and no more than there are."""
    odd = another_kind(journal, said)
    if odd is not None or said.stack is None:
        return odd
    stack: StackState = journal.state("stack", said.stack)
    if said.sheet_format != stack.sheet_format:
        return Refused(field="sheet_format", code="not-with-this")
    return _enough(stack.left_count, said.sheet_count)


def another_kind(journal: Journal, said: kinds.Content) -> Refused | None:
    """Refuse a bath to which what is said cannot have been done, by what the bath is."""
    match said:
        case kinds.SheetsThrough():
            return _alum(journal, said.bath) or _size(journal, said.size)
        case kinds.SheetsSorted():
            return _size(journal, said.size)
        case kinds.ReadingTaken(instrument="strip_print" | "hydrometer"):
            return _alum(journal, said.bath)
        case kinds.ReadingTaken(instrument="drop_test" | "funnel"):
            return _size(journal, said.bath, "bath")
        case kinds.BathToppedUp():
            alum = isinstance(journal.state("bath", said.bath), BathState)
            return _another("bath") if (said.powder if alum else said.salt) else None
        case kinds.BathJoined():
            bath, giver = (journal.state("bath", one) for one in (said.bath, said.giver))
            return None if alike(bath, giver) else _another("giver")
        case _:
            return None


def _alum(journal: Journal, bath: Subject | None) -> Refused | None:
    if bath is None or isinstance(journal.state("bath", bath), BathState):
        return None
    return _another("bath")


def _size(journal: Journal, size: Subject | None, field: str = "size") -> Refused | None:
    if size is None:
        return None
    state: AnyBath = journal.state("bath", size)
    return None if state.what == SIZE else _another(field)


def _another(field: str) -> Refused:
    return Refused(field=field, code="another-kind-of-bath")


def about_sheets(journal: Journal, said: kinds.Content) -> Refused | None:
    """Ask that no more sheets are sorted or thrown away than wait for it."""
    match said:
        case kinds.SheetsSorted():
            stack: StackState = journal.state("stack", said.stack)
            wanted = said.good + sum(getattr(said, word) for word in kinds.FAULTS)
            left = stack.sheet_count - stack.binned_count - stack.sorted_count
            if wanted == 0:
                return Refused(field="good", code="nothing-counted")
            return _enough(left, wanted, "good")
        case kinds.StackBinned():
            stack = journal.state("stack", said.stack)
            return _enough(stack.left_count, said.sheet_count)
        case _:
            return None


def _enough(left: int, wanted: int, field: str = "sheet_count") -> Refused | None:
    if wanted <= left:
        return None
    return refused(field, "more-than-is-left", left=str(left))
