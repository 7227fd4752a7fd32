"""What baths and waste jars have in common on their way out: readings, treatments, accounts."""

from fractions import Fraction
from typing import Any, TypeGuard

from coop.ids import Subject
from coop.ledger import accounts, kinds
from coop.ledger.accounts import Move
from coop.ledger.folding import Inputs
from coop.ledger.force import InForce
from coop.ledger.lots import thrown_of
from coop.ledger.states import DrainReading, LotState, PutIn, Treated
from coop.units.number import wire
from coop.units.quantity import Quantity

READINGS_KEPT = 12
"""So many readings of each thing that is read are remembered."""
TREATED_KEPT = 60
PUT_IN_KEPT = 60
LITTLE_ML = 50.0
"""With less than this in it a bath or a jar counts as empty."""
NOTHING_LEFT = frozenset({"used_up", "poured_together", "got_rid_of"})
"""Why a bath is over and there is nothing of it to get rid of."""
AMMONIUM_ALUM = "ammonium_alum"
DRAIN_INSTRUMENTS = frozenset({"ph_strip", "ph_meter", "screen", "laboratory"})
PARTING = (
    kinds.DisposalJudged,
    kinds.DisposalTreated,
    kinds.DisposalDone,
    kinds.WasteAdded,
    kinds.WasteCarried,
    kinds.MishapNoted,
)
"""What is said of a bath on its way out."""


def belongs_after_the_end(content: kinds.Content) -> bool:
    """Say whether something is done to a bath that is out of use, and is not odd then."""
    if isinstance(content, kinds.ReadingTaken):
        return content.instrument in DRAIN_INSTRUMENTS | {"thermometer"}
    if isinstance(content, kinds.BathCared):
        return content.care == "strained"
    return isinstance(content, PARTING)


def listed_under(state: Any) -> Subject:
    """
    Return under what a bath is listed: its studio, or the studio's list of what must still go.

    A bath that was used up or poured into another left nothing.
    """
    if state.finished_at is None or state.gone_at is not None:
        return Subject(state.studio)
    if state.finish_reason in NOTHING_LEFT:
        return Subject(state.studio)
    return to_go(state.studio)


def to_go(studio: Subject) -> Subject:
    """
    Return the subject under which a studio's old baths are listed that must still go.

    >>> to_go(Subject("r"))
    'r:to-go'
    """
    return Subject(f"{studio}:to-go")


def drain_reading(one: InForce, said: kinds.ReadingTaken) -> DrainReading:
    """Return what a reading says of a liquid's way out, its figures as exact text."""
    return DrainReading(
        entry=one.id,
        at=one.at,
        by=one.author,
        instrument=said.instrument,
        ph=_text(said.ph),
        step=_text(said.step),
        off_at_check=_text(said.off_at_check),
        lumps=said.lumps or "",
        runs=said.runs or "",
        of=said.of or "",
        mg_per_l=_text(said.mg_per_l),
        not_detected=said.not_detected == "yes",
        celsius=_text(said.temperature.base) if said.temperature else "",
    )


def _text(figure: Fraction | None) -> str:
    return "" if figure is None else wire(figure)


def alum_in(salt: str) -> str:
    """
    Return the substance of a salt of alum, as what must not meet is told by it.

    >>> alum_in("potash_alum"), alum_in("ammonium_alum")
    ('alum', 'ammonium_alum')
    """
    return AMMONIUM_ALUM if salt == AMMONIUM_ALUM else "alum"


def with_reading(
    found: tuple[DrainReading, ...], reading: DrainReading
) -> tuple[DrainReading, ...]:
    """Return readings with one more, the last of each thing that is read."""
    alike = [one for one in found if _tells(one) == _tells(reading)]
    over = set(alike[: max(0, len(alike) + 1 - READINGS_KEPT)])
    return (*(one for one in found if one not in over), reading)


def _tells(one: DrainReading) -> tuple[bool, bool, bool, bool, str]:
    return bool(one.ph), bool(one.celsius), bool(one.lumps), bool(one.runs), one.of


def with_put_in(found: tuple[PutIn, ...], *more: PutIn) -> tuple[PutIn, ...]:
    """
    Return what went in with what goes in now: of each thing the last times.

    No moment is forgotten for another thing's sake: a reading is held against each.
    """
    kept = found
    for one in more:
        alike = [each for each in kept if each.what == one.what]
        over = set(alike[: max(0, len(alike) + 1 - PUT_IN_KEPT)])
        kept = (*(each for each in kept if each not in over), one)
    return kept


def put_in_by(one: InForce, said: kinds.DisposalTreated, of: str) -> tuple[PutIn, ...]:
    """Return what a step of neutralising puts in: a base, the cup of old bath kept back."""
    found = []
    if said.step == "cup_back":
        found.append(PutIn(of, one.at))
    if said.base is not None:
        found.append(PutIn("lime" if said.base == "lime" else "soda", one.at))
    return tuple(found)


def treated(one: InForce, said: kinds.DisposalTreated) -> Treated:
    """Return a step of neutralising as it is remembered."""
    return Treated(
        entry=one.id,
        at=one.at,
        by=one.author,
        step=said.step,
        base=said.base or "",
        weight_g=base_of(said.weight),
        volume_ml=base_of(said.litres),
    )


def base_of(amount: Quantity | None) -> float:
    """Return an amount in the unit of its kind; none is nothing [mL or g]."""
    return float(amount.base) if amount else 0.0


def base_moves(
    one: InForce, said: kinds.DisposalTreated, inputs: Inputs, to: str
) -> tuple[Move, ...]:
    """Return the row by which a weighed base left its lot, one that is kept by weight."""
    lot: LotState | None = inputs.state("lot", said.lot)
    if lot is None or said.weight is None:
        return ()
    return accounts.posted(
        accounts.row(
            entry=one.id,
            at=one.at,
            substance=lot.substance,
            from_account=accounts.account("lot", lot.id),
            to_account=to,
            amount=thrown_of(lot, said.weight),
        )
    )


def leaves(
    content: kinds.Content,
) -> TypeGuard[kinds.DisposalDone | kinds.WasteAdded | kinds.MishapNoted]:
    """
    Say whether liquid leaves a bath or a jar by an entry.

    What came of it and was weighed by itself leaves the liquid there; so does a mishap of which
    nobody says how much went.
    """
    if isinstance(content, kinds.MishapNoted):
        return content.litres is not None
    if isinstance(content, kinds.DisposalDone | kinds.WasteAdded):
        return content.weight is None
    return False


def from_nowhere(one: InForce, litres: Quantity | None, giver: str) -> tuple[Move, ...]:
    """Return the row of litres that stood in nothing that is written down."""
    return accounts.posted(
        accounts.row(
            entry=one.id,
            at=one.at,
            substance=accounts.WATER,
            from_account=giver,
            to_account=way_out(one),
            amount=round(base_of(litres) * accounts.UL_PER_ML),
        )
    )


def way_out(one: InForce) -> str:
    """Return the account to which an entry says that something went; empty for none."""
    match one.content:
        case kinds.DisposalDone() as said:
            return accounts.drain(said.studio, said.outlet, said.waste)
        case kinds.WasteAdded(jar=jar):
            return accounts.account("jar", jar)
        case kinds.MishapNoted(outlet=None) as said:
            return accounts.spill(said.studio)
        case kinds.MishapNoted() as said:
            outlet, waste = said.outlet or "", said.waste or "not_known"
            return accounts.drain(said.studio, outlet, waste)
        case _:
            return ""
