"""Read a dose as people write it, with the house's kinds and a lot's own spoon."""

from fractions import Fraction

from coop.ledger.measure import US_TBSP_ML
from coop.ledger.states import HouseState, LotState
from coop.science.defaults import default, value
from coop.units.dose import DoseReading, read_dose
from coop.units.kinds import Kinds
from coop.units.strength import Bulk


def understand(
    typed: str, house: HouseState | None, lot: LotState | None = None
) -> DoseReading:
    """
    Return what a dose means here.

    Args:
        typed: As people write it, "8 tbsp per gallon".
        house: Its kinds of gallon, cup and spoon; None returns every reading and asks.
        lot: The tub the powder comes from; with a weighed spoon it narrows the range.

    Raises:
        NotUnderstood: Some part of it cannot be read.
    """
    return read_dose(typed, kinds_of(house), bulk_of(lot))


def kinds_of(house: HouseState | None) -> Kinds | None:
    """Return the house's kinds of measure; None while nobody has said."""
    if house is None:
        return None
    return Kinds(gallon=house.gallon, cup=house.cup, spoon=house.spoon)  # type: ignore[arg-type]  # closed choices


def bulk_of(lot: LotState | None) -> Bulk:
    """
    Return the bulk density of a powder: the lot's own, or the published range.

    Source: `alum_g_per_us_tbsp` (11 to 20 g, middle 14.8) and `lot_spoon_fraction` (+-5 %)
    of `coop.science.defaults`.
    """
    if lot is not None and lot.spoon is not None:
        middle = lot.spoon.g_per_ml
        doubt = value("lot_spoon_fraction")
        return _bulk(middle * (1 - doubt), middle, middle * (1 + doubt))
    spoon = default("alum_g_per_us_tbsp")
    return _bulk(spoon.low / US_TBSP_ML, spoon.value / US_TBSP_ML, spoon.high / US_TBSP_ML)


def _bulk(low: float, middle: float, high: float) -> Bulk:
    places = 10**6
    exact = [Fraction(round(one * places), places) for one in (low, middle, high)]
    return Bulk(*exact)
