"""Look at stacks of alumed sheets: which may be used, which go stale, what was done to one."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coop.ids import EntryId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.entries import Sealed
from coop.ledger.force import InForce, Struck, resolve
from coop.ledger.kinds import EntryCorrected
from coop.ledger.ports import Journal
from coop.ledger.states import LotState, PaperState, StackState, StudioState
from coop.ledger.table import HOUSE, judged
from coop.rules.baths import limits_of, stop_of
from coop.rules.limits import Limits
from coop.rules.stacks import Kept, StackFacts, answer_stack, going_stale, use_by
from coop.rules.use import Answer, Outcome, Stop, StripPrint

USUAL_SIDE = "mark_on_bare_side"
"""The side rule where no studio said one: common practice, no source."""
WASHED_OFF = frozenset({"strip_print_failed", "washed_off"})
"""Reasons to stop a bath that speak of the sheets it alumed as well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StackLook:
    """
    A stack of alumed sheets at a moment; what is None is not known here.

    Attributes:
        use_by: Until when it is good, as it lies now.
        stale: Whether sheets are left that are within a day of that, or past it.
        side: The side rule it was alumed by: its own, else its studio's.
    """

    state: StackState
    answer: Answer
    use_by: datetime
    stale: bool
    side: str
    bath: AnyBath | None
    studio: StudioState | None
    lot: LotState | None
    paper: PaperState | None


def see_stacks(journal: Journal, *, now: datetime) -> tuple[StackLook, ...]:
    """Return the stacks of which sheets are neither sorted nor thrown away, by use-by."""
    looks = look_at_stacks(journal, journal.listed("stack"), now=now)
    return tuple(sorted(looks, key=lambda look: (look.use_by, look.state.id)))


def see_stack(journal: Journal, stack: StackState, *, now: datetime) -> StackLook:
    """Return one stack as it is now."""
    (look,) = look_at_stacks(journal, [stack], now=now)
    return look


def look_at_stacks(
    journal: Journal, stacks: Iterable[StackState], *, now: datetime
) -> tuple[StackLook, ...]:
    """Look at several stacks, with what stands around them read once."""
    wanted = tuple(stacks)
    if not wanted:
        return ()
    baths: Mapping[Subject, AnyBath] = journal.states("bath", {one.alum for one in wanted})
    studios = {one.id: one for one in journal.listed("studio")}
    lots = journal.states("lot", {one.lot for one in wanted if one.lot})
    papers = {one.id: one for one in journal.listed("paper", live=False)}
    limits = limits_of(journal.state("house", HOUSE))
    found = []
    for one in wanted:
        bath = baths.get(one.alum)
        lot = lots.get(one.lot) if one.lot else None
        of = lot.paper if lot else one.paper
        around = {
            "bath": bath,
            "studio": studios.get(bath.studio) if bath else None,
            "lot": lot,
            "paper": papers.get(of) if of else None,
        }
        found.append(_look(one, limits, now, around))
    return tuple(found)


def _look(
    stack: StackState, limits: Limits, now: datetime, around: dict[str, Any]
) -> StackLook:
    facts = facts_of(stack, around["bath"])
    return StackLook(
        state=stack,
        answer=answer_stack(facts, limits, now),
        use_by=use_by(facts, limits),
        stale=going_stale(facts, limits, now),
        side=stack.side or side_rule(around["studio"]),
        **around,
    )


def facts_of(stack: StackState, bath: AnyBath | None) -> StackFacts:
    """Return what the rules ask for of a stack."""
    return StackFacts(
        alumed_at=stack.alumed_at,
        kept=Kept(stack.state),
        kept_since=stack.state_at or stack.alumed_at,
        sheet_count=stack.sheet_count,
        left_count=stack.left_count,
        binned_count=stack.binned_count,
        bath_stop=_stop(stack, bath),
        strip_print=_print(stack),
        alumed_again=stack.again is not None,
    )


def _stop(stack: StackState, bath: AnyBath | None) -> Stop | None:
    """Return the stop of a bath that says something of the sheets it alumed, too."""
    if bath is None or bath.stop is None or bath.stop.reason not in WASHED_OFF:
        return None
    since = bath.stop.poured_in_at
    return stop_of(bath.stop) if since is None or since <= stack.alumed_at else None


def _print(stack: StackState) -> StripPrint | None:
    if stack.printed is None:
        return None
    return StripPrint(Outcome(stack.printed.outcome), stack.printed.at)


def side_rule(studio: StudioState | None) -> str:
    """Return which side the pencil mark is on, as a studio says it."""
    return studio.side_rule if studio else USUAL_SIDE


@dataclass(frozen=True, slots=True, kw_only=True)
class StackHistory:
    """
    A stack's entries in force, those a correction took out, and what is odd.

    Attributes:
        corrections: All corrections of its entries, by their ids.
        odd: (code, entry) of what is odd and nobody has judged.
    """

    in_force: tuple[InForce, ...]
    struck: tuple[Struck, ...]
    corrections: dict[EntryId, Sealed]
    odd: tuple[tuple[str, EntryId], ...]


def see_stack_history(journal: Journal, stack: Subject) -> StackHistory:
    """Return what was done to a stack, its aluming first."""
    sealed = journal.touching(stack)
    resolved = resolve(sealed)
    judgement = journal.state("judgement", judged(stack))
    seen = judgement.seen if judgement else ()
    return StackHistory(
        in_force=tuple(one for one in resolved.in_force if ("stack", stack) in one.touches),
        struck=resolved.struck,
        corrections={
            one.entry.id: one for one in sealed if isinstance(one.entry.content, EntryCorrected)
        },
        odd=tuple(
            (one.code, one.entry)
            for one in journal.folded("stack", stack).findings
            if (one.code, one.entry) not in seen
        ),
    )
