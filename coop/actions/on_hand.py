"""What alum or powder stands on a studio's shelf, by lot, and how lots are taken in turn."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from coop.actions.read_dose import bulk_of
from coop.actions.reckon import Range, spoons_for
from coop.actions.see_shelf import LotLook, lots_on_hand
from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.ledger.states import HouseState, LotState
from coop.rules.expiry import GoodUntil
from coop.units.kinds import FAMILIES


@dataclass(frozen=True, slots=True, kw_only=True)
class OnHand:
    """
    A lot of alum or powder and what the ledger says is left [g]; may be under nothing.

    `past` is until when it was good, where that day is over.
    """

    lot: LotState
    left_g: float
    past: GoodUntil | None = None


def salts_on_hand(lots: Iterable[OnHand]) -> frozenset[str]:
    """Return the salts of alum of which something is left."""
    return frozenset(one.lot.salt for one in lots if one.lot.salt and one.left_g > 0)


def alum_on_hand(journal: Journal, studio: Subject, *, today: date) -> tuple[OnHand, ...]:
    """
    Return a studio's lots of alum: those with something left first, of these the usable ones
    before those that are past their day, each by age; of equal age one whose spoon was weighed
    first.
    """
    return _on_hand(journal, studio, "alum", today)


def powder_on_hand(
    journal: Journal, studio: Subject, powder: str, *, today: date
) -> tuple[OnHand, ...]:
    """Return a studio's lots of a powder, in the order of `alum_on_hand`."""
    return _on_hand(journal, studio, powder, today)


def _on_hand(journal: Journal, studio: Subject, what: str, today: date) -> tuple[OnHand, ...]:
    return in_turn(
        (
            look
            for look in lots_on_hand(journal)
            if look.lot.what == what and look.lot.studio == studio
        ),
        today=today,
    )


def in_turn(looks: Iterable[LotLook], *, today: date) -> tuple[OnHand, ...]:
    """Return lots in the order they are taken, see `alum_on_hand`."""
    return tuple(sorted((_on_day(look, today) for look in looks), key=_by_age))


def _on_day(look: LotLook, today: date) -> OnHand:
    until = look.good_until
    past = until if until is not None and until.past(today) else None
    return OnHand(lot=look.lot, left_g=look.left_g, past=past)


def _by_age(one: OnHand) -> tuple[bool, bool, datetime, bool, Subject]:
    lot = one.lot
    return (one.left_g <= 0, one.past is not None, lot.received_at, lot.spoon is None, lot.id)


def to_mend_with(
    lots: tuple[OnHand, ...], *, own: frozenset[Subject], salt_g: float
) -> tuple[OnHand, ...]:
    """
    Return lots in the order a bath is mended from.

    The bath's own lot comes first if enough is left of it, then one whose spoon was weighed,
    then the oldest: what is in the tub is added to, and no spoon is guessed needlessly. What
    is past its day waits for all that is not.

    Args:
        own: Lots the bath was made of.
        salt_g: What is to be added [g].
    """

    def rank(one: OnHand) -> tuple[bool, bool]:
        enough = one.past is None and one.left_g > 0 and one.left_g >= salt_g
        weighed = one.lot.spoon is not None
        return (not (one.lot.id in own and enough), not (weighed and enough))

    return tuple(sorted(lots, key=lambda one: (*rank(one), *_by_age(one))))


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """
    What to take out of one lot.

    Attributes:
        salt_g: To be weighed [g].
        spoons: The same in level spoons of `spoon`: a narrow range where ten were weighed.
        spoon_g: What one of them weighs [g]; None where nobody weighed any.
        past: Until when the lot was good, where that day is over.
    """

    lot: LotState
    salt_g: float
    spoons: Range
    spoon: str
    spoon_g: float | None
    past: GoodUntil | None = None


def share_out(
    salt_g: float, lots: tuple[OnHand, ...], house: HouseState | None
) -> tuple[tuple[Share, ...], float]:
    """Return what to take from each lot in turn, and what is then still missing [g]."""
    shares = []
    for one in lots:
        part = min(salt_g, max(0.0, one.left_g))
        if part > 0:
            shares.append(replace(share(part, one.lot, house), past=one.past))
        salt_g -= part
    return tuple(shares), salt_g


def share(salt_g: float, lot: LotState, house: HouseState | None) -> Share:
    """Return so much of a lot, in grams and in the house's tablespoons."""
    spoon = FAMILIES["tbsp"][house.spoon if house else "us"]
    bulk = bulk_of(lot)
    one_spoon = spoons_for(1.0, spoon=spoon, bulk=bulk).middle
    return Share(
        lot=lot,
        salt_g=salt_g,
        spoons=spoons_for(salt_g, spoon=spoon, bulk=bulk),
        spoon=spoon,
        spoon_g=1 / one_spoon if lot.spoon is not None else None,
    )
