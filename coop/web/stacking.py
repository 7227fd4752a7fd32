"""Stacks of alumed sheets in sentences: which, how many are left, how they lie, which side."""

from collections.abc import Mapping
from types import MappingProxyType

from coop.actions.see_stacks import StackLook
from coop.ledger.part_of_day import MINUTE
from coop.ledger.states import KeptFor, StackState
from coop.rules.reasons import Reason
from coop.web import reasons
from coop.web import words as say
from coop.web.i18n import N_
from coop.web.page import face, who, words
from coop.web.reasons import Telling
from coop.web.told import Names, paper

SIDES: Mapping[str, str] = MappingProxyType(
    {
        "mark_on_bare_side": N_("The mark is on the bare side: lay the side without a mark."),
        "mark_on_alumed_side": N_(
            "The mark is on the alumed side: lay the side with the mark."
        ),
        "both_sides": N_("Both sides are alumed: lay either."),
    }
)
MARKS: Mapping[str, str] = MappingProxyType(
    {
        "mark_on_bare_side": N_("The mark goes on the bare side: alum the other one."),
        "mark_on_alumed_side": N_("The mark goes on the side that is alumed."),
        "both_sides": N_("Both sides are alumed, whichever has the mark."),
    }
)
LIES: Mapping[str, str] = MappingProxyType(
    {
        "open": N_("lies open"),
        "bagged": N_("in a closed bag"),
        "damp": N_("kept damp"),
    }
)


SHARP = "corner-print-sharp"


def name(look: StackLook) -> str:
    """Name a stack: '60 half sheets of R-A1'."""
    return words().gettext(
        "%(sheets)s of %(bath)s",
        sheets=say.sheets(words(), look.state.sheet_count, look.state.sheet_format),
        bath=look.bath.name if look.bath else "—",
    )


def side_to_lay(side: str) -> str:
    """Say where the mark is, and which side is laid on the size."""
    return words().gettext(SIDES[side])


def side_to_alum(side: str) -> str:
    """Say which side goes into the alum."""
    return words().gettext(MARKS[side])


def whose(state: StackState) -> str:
    """Say whose a stack is: 'Yours', or a member's name."""
    return words().gettext("Yours") if state.by == who().member else face(state.by).name


def left(state: StackState) -> str:
    """Say what is left of a stack: '23 of 60 half sheets left'."""
    return words().gettext(
        "%(left)s of %(sheets)s left",
        left=state.left_count,
        sheets=say.sheets(words(), state.sheet_count, state.sheet_format),
    )


def as_said(state: StackState) -> dict[str, str]:
    """Return what is said of laid sheets that their stack knows: format and paper."""
    also = {"sheet_format": state.sheet_format}
    if state.lot is not None:
        also["lot"] = state.lot
    elif state.paper is not None:
        also["paper"] = state.paper
    return also


def gone(state: StackState) -> str:
    """Say what became of the others: '30 laid, 7 sorted, 2 thrown away'."""
    counts = [
        words().gettext("%(count)s laid", count=state.laid_count),
        words().gettext("%(count)s sorted", count=state.sorted_count),
    ]
    if state.binned_count:
        counts.append(words().gettext("%(count)s thrown away", count=state.binned_count))
    return ", ".join(counts)


def lies(state: StackState) -> str:
    """Say how a stack was dried and flattened, and how it lies: 'dried on the rack, bagged'."""
    parts = []
    if state.dried:
        how = say.choice(words(), "drying", state.dried)
        parts.append(words().gettext("dried %(how)s", how=how))
    if state.flattened:
        how = say.choice(words(), "flattening", state.flattened)
        parts.append(words().gettext("flattened %(how)s", how=how))
    parts.append(words().gettext(LIES[state.state]))
    if state.place:
        parts.append(state.place)
    return ", ".join(parts)


def how_known(tell: Telling, look: StackLook) -> str:
    """Say how it is known that a stack may be laid; since a day, where only that was said."""
    known, state = look.answer.how_known, look.state
    exact = state.alumed_precision if known.at == state.alumed_at else MINUTE
    return reasons.how_known(tell, known, exact)


def use_by(tell: Telling, look: StackLook) -> str:
    """Say until when a stack is good; empty where nothing is left of it."""
    if look.state.left_count == 0:
        return ""
    when = tell.when(look.use_by, look.state.alumed_precision)
    if look.use_by <= tell.now:
        return words().gettext("Use-by was %(when)s.", when=when)
    return words().gettext("Use by %(when)s.", when=when)


def paper_of(names: Names, state: StackState) -> str:
    """Say of which paper a stack is."""
    return paper(words(), names, state.lot, state.paper)


def kept_for(tell: Telling, kept: KeptFor) -> str:
    """Say for whom a bath is kept, and until when."""
    found = Reason.of(
        "kept-for",
        member=kept.member or "",
        session=kept.session,
        kept_until=kept.until or "",
    )
    return reasons.reason(tell, found)


def why(tell: Telling, look: StackLook) -> str:
    """Say why, and a sharp print beside it; empty for a stack that is simply good."""
    found = reasons.telling_reasons(look.answer)
    said = (*found[:1], *(one for one in found[1:] if one.code == SHARP))
    return " ".join(reasons.reason(tell, one) for one in said)


def came_out(state: StackState) -> str:
    """Say how the sheets came out that were sorted: '31 good, 7 washed off'; else nothing."""
    counts = [("good", state.good), *state.spoiled]
    return ", ".join(
        words().gettext("%(count)s %(how)s", count=count, how=_how(code))
        for code, count in counts
        if count
    )


def _how(code: str) -> str:
    return words().gettext("good") if code == "good" else say.choice(words(), "fault", code)
