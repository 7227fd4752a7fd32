"""What is asked before something is written about baths, jars and jugs on their way out."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

import msgspec

from coop.actions.ask_about import refused
from coop.actions.see_drain import decided
from coop.ledger import kinds
from coop.ledger.baths import BathState
from coop.ledger.entries import Entry
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Refused
from coop.ledger.states import JarState, JugState
from coop.ledger.ways_out import DRAIN_INSTRUMENTS, LITTLE_ML, NOTHING_LEFT, leaves
from coop.rules.packs.decisions import Decision, thaw
from coop.rules.packs.words import Outcome
from coop.science import alum
from coop.science.defaults import Z_90

FREE = (Outcome.NOTHING_FORBIDS, Outcome.AFTER_STEPS)
"""After these answers nobody is asked why it went all the same."""
SORTS = {"bath": "bath", "jar": "jar", "from_jar": "jar", "jug": "jug", "lot": "lot"}
"""The fields that name what something is done to, and the sort of each."""

Judged = kinds.DisposalJudged | kinds.DisposalDone
ANSWERED = ("decision", "outcome")
GIVEN_OF = ("studio", "waste", "outlet", "bath", "jar", "jug", "lot")
"""The fields that say what an answer was given of."""

OfWaste = (
    kinds.DisposalJudged
    | kinds.DisposalTreated
    | kinds.DisposalDone
    | kinds.WasteAdded
    | kinds.WasteCollected
    | kinds.WasteCarried
)


def about_waste(
    journal: Journal, entry: Entry, attached: Iterable[Attachment]
) -> Refused | None:
    """Return what must be put right before a line about wastes is written from a page."""
    match entry.content:
        case kinds.ReadingTaken(instrument=instrument) as said:
            for_drain = instrument in DRAIN_INSTRUMENTS or said.jar is not None
            return _nothing_left(journal, said, entry.happened_at) if for_drain else None
        case (
            kinds.DisposalJudged()
            | kinds.DisposalTreated()
            | kinds.DisposalDone()
            | kinds.WasteAdded()
            | kinds.WasteCollected()
            | kinds.WasteCarried()
        ) as said:
            return (
                _nothing_left(journal, said, entry.happened_at)
                or _elsewhere(journal, said)
                or _too_much(journal, said)
                or _not_as_judged(journal, said, attached)
                or _unfit(journal, said)
            )
        case _:
            return None


def _nothing_left(journal: Journal, said: kinds.Content, at: datetime) -> Refused | None:
    """Refuse what is done to something that was gone by then."""
    for field, state in _named(journal, said):
        if isinstance(state, JarState):
            if state.ended_at is not None and state.ended_at <= at:
                return Refused(field=field, code="jar-taken-away")
        elif _is_gone(state, at):
            return Refused(field=field, code="nothing-left")
    return None


def _named(journal: Journal, said: kinds.Content) -> Iterator[tuple[str, Any]]:
    for field, sort in SORTS.items():
        subject = getattr(said, field, None)
        if subject is not None:
            yield field, journal.state(sort, subject)


def _is_gone(state: Any, at: datetime) -> bool:
    gone_at: datetime | None = getattr(state, "gone_at", None)
    if gone_at is not None:
        return gone_at <= at
    over_at: datetime | None = getattr(state, "finished_at", None)
    return over_at is not None and over_at <= at and state.finish_reason in NOTHING_LEFT


def _elsewhere(journal: Journal, said: OfWaste) -> Refused | None:
    """Refuse a studio in which the thing does not stand: it has to be carried there first."""
    studio = said.from_studio if isinstance(said, kinds.WasteCarried) else said.studio
    for field, state in _named(journal, said):
        if state.studio != studio:
            return Refused(field=field, code="stands-elsewhere")
    return None


def _too_much(journal: Journal, said: OfWaste) -> Refused | None:
    """Refuse more litres than can be left, nine times in ten."""
    litres = said.litres if isinstance(said, kinds.WasteCollected) or leaves(said) else None
    if litres is None:
        return None
    for field, state in _named(journal, said):
        is_taker = field == "jar" and isinstance(said, kinds.WasteAdded)
        most_ml = None if is_taker else _most_ml(state)
        if most_ml is not None and float(litres.base) > most_ml + LITTLE_ML:
            return refused("litres", "more-than-is-left", left=f"{most_ml / 1000:.1f} L")
    return None


def _most_ml(state: Any) -> float | None:
    """Return the most that can be left of something [mL]; None where nobody knows."""
    if isinstance(state, BathState):
        belief = state.estimate.belief
        part = alum.water_fraction(
            strength_g_per_l=belief.strength_g_per_l, salt=state.estimate.salt
        )
        return float((belief.volume_ml + Z_90 * belief.vv**0.5) / part)
    if isinstance(state, JugState) or not hasattr(state, "volume_sd_ml"):
        return None  # a jug's litres were seen from outside, a lot has none
    return float(state.volume_ml + Z_90 * state.volume_sd_ml)


def _not_as_judged(
    journal: Journal, said: kinds.Content, attached: Iterable[Attachment]
) -> Refused | None:
    """Hold a line against the answer that is kept with it, where that is here."""
    if not isinstance(said, Judged) or not said.decision:
        return None
    try:
        then = _decision(journal, said.decision, attached)
    except ValueError:
        return Refused(field="decision", code="not-as-judged")
    if then is None:
        return None
    facts = then.facts
    source, subject = _source(said)
    pairs = (
        ("outcome", said.outcome, then.outcome),
        ("waste", said.waste, facts.waste),
        ("outlet", said.outlet, facts.outlet),
        ("studio", f"studio-{said.studio}", facts.area[-1]),
        (source, subject, facts.subject),
    )
    return next(
        (Refused(field=name, code="not-as-judged") for name, one, two in pairs if one != two),
        None,
    )


def _source(said: Judged) -> tuple[str, str]:
    """Return the field that names a bath, jar or jug, and its id; empty for none."""
    there = ((name, getattr(said, name)) for name in ("bath", "jar", "jug"))
    return next(((name, subject) for name, subject in there if subject), ("bath", ""))


def _decision(journal: Journal, name: str, attached: Iterable[Attachment]) -> Decision | None:
    """
    Return an answer that comes with a line, or was kept before; None where it is not here.

    Raises:
        ValueError: It is no answer.
    """
    coming = next((one for one in attached if one.name == name), None)
    return decided(journal, name) if coming is None else thaw(msgspec.json.decode(coming.data))


def about_judged_again(again: kinds.Content, before: kinds.Content) -> Refused | None:
    """
    Hold what is put in place of a line against the answer that is kept with it.

    The answer itself and its outcome are never mended, nor what it was given of.
    """
    if not isinstance(again, Judged) or not isinstance(before, Judged):
        return None
    fixed = (*ANSWERED, *GIVEN_OF) if before.decision else ANSWERED
    for name in fixed:
        if getattr(again, name) != getattr(before, name):
            return Refused(field=name, code="not-as-judged")
    return _without_reason(again)


def _unfit(journal: Journal, said: OfWaste) -> Refused | None:
    """Ask that only alum is treated, and why something went against the answer."""
    if isinstance(said, kinds.DisposalTreated) and said.bath is not None:
        bath = journal.state("bath", said.bath)
        return None if isinstance(bath, BathState) else Refused(field="bath", code="not-alum")
    return _without_reason(said)


def _without_reason(said: kinds.Content) -> Refused | None:
    """Ask why something went against the answer."""
    if isinstance(said, kinds.DisposalDone) and said.outcome and not said.reason:
        free = Outcome(said.outcome) in FREE
        return None if free else Refused(field="reason", code="reason-needed")
    return None
