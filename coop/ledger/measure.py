"""From what was said to what the science takes: grams of salt, areas of sheets, levels."""

from datetime import datetime
from math import log
from typing import NamedTuple

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.states import LotState, PaperState, StudioState, VesselState
from coop.science import alum, bath
from coop.science.bath import Measured
from coop.science.bath_readings import volume_by_area
from coop.science.defaults import Z_90, Default, default, value
from coop.science.paper import sheet_area_m2
from coop.units.quantity import LEVEL, UNSAID, Quantity
from coop.units.table import UNITS

US_TBSP_ML = float(UNITS["us_tbsp"].factor)
FRACTION_OF_PARENT = {"full": 1.0, "half": 0.5, "quarter": 0.25}
PICKUPS = bath.PICKUPS
SPOONS = {
    "alum": "alum_g_per_us_tbsp",
    "carrageenan": "carrageenan_g_per_us_tbsp",
    "methylcellulose": "methylcellulose_g_per_us_tbsp",
    "gall": "gall_g_per_us_tbsp",
    "softener": "softener_g_per_us_tbsp",
}
LINE_FRACTION = 0.02
CACO3_G_PER_MOL = alum.SUBSTANCES["calcium_carbonate"].molar_mass_g_per_mol
HOW = ("weighed", "spoon-weighed", "spooned", "guessed")


class SaltGrams(NamedTuple):
    """Salt of one part: middle [g], spread on the logarithm, and how it is known."""

    weight_g: float
    ln_sd: float
    how: str
    lot: Subject


def salt_grams(part: kinds.SaltPart, lot: LotState | None, *, guessed: bool) -> SaltGrams:
    """
    Return the grams of a part: weighed as said, spooned by the lot's spoon or the range.

    Doubts (90 %): weighed +-3 %, a lot's own spoon +-5 %, a bare spoon 11 to 20 g a US
    tablespoon, heaped 1.5 x +-25 % on top, a guess +-50 %: see `coop.science.defaults`.
    """
    weight, ln_sd, how = _grams(part.amount, lot, "alum", guessed=guessed)
    return SaltGrams(weight_g=weight, ln_sd=ln_sd, how=how, lot=part.lot)


def powder_grams(
    part: kinds.PowderPart, lot: LotState | None, *, guessed: bool
) -> tuple[float, float, str]:
    """
    Return the grams of a powder that went in, their spread on the logarithm, how it is known.

    Doubts as of `salt_grams`; a bare spoon by the published range of that powder.
    """
    return _grams(part.amount, lot, part.powder, guessed=guessed)


def _grams(
    amount: Quantity, lot: LotState | None, what: str, *, guessed: bool
) -> tuple[float, float, str]:
    if amount.dimension == "mass":
        weight, ln_sd, how = float(amount.base), value("weighed_fraction") / Z_90, "weighed"
    else:
        density, ln_sd, how = _bulk(lot) if lot else bare_spoon(what)
        weight = float(amount.base) * density
        if amount.heap not in (UNSAID, LEVEL):
            heap = default(f"{amount.heap}_factor")
            weight *= heap.value
            heap_sd = (heap.high - heap.low) / 2 / heap.value / Z_90
            ln_sd = (ln_sd**2 + heap_sd**2) ** 0.5
    if guessed:
        ln_sd, how = value("guess_fraction") / Z_90, "guessed"
    return weight, ln_sd, how


def _bulk(lot: LotState) -> tuple[float, float, str]:
    """Return g/mL of a powder, its spread on the logarithm, and how that is known."""
    if lot.spoon is not None:
        return lot.spoon.g_per_ml, value("lot_spoon_fraction") / Z_90, "spoon-weighed"
    return bare_spoon(lot.what)


def bare_spoon(what: str) -> tuple[float, float, str]:
    """Return g/mL of a powder nobody has weighed a spoon of: the published range."""
    spoon = spoon_default(what)
    ln_sd = (log(spoon.high) - log(spoon.low)) / 2 / Z_90
    return spoon.value / US_TBSP_ML, ln_sd, "spooned"


def spoon_default(what: str) -> Default:
    """Return what a level US tablespoon of a powder weighs [g] by the published range."""
    return default(SPOONS.get(what, "powder_g_per_us_tbsp"))


def in_salt(grams: SaltGrams, *, lot_salt: str, bath_salt: str) -> float:
    """Return a part's grams as grams of the bath's salt, by equal aluminium."""
    if lot_salt == bath_salt:
        return grams.weight_g
    return alum.same_strength_g(weight_g=grams.weight_g, salt=lot_salt, other_salt=bath_salt)


def area_of_m2(paper: PaperState | None, sheet_format: str) -> float:
    """Return the area of one sheet [m2]; paper not described is 500 x 700 mm in full."""
    if paper is None:
        return sheet_area_m2(sheet_format=sheet_format)
    return paper.area_m2 * FRACTION_OF_PARENT[sheet_format]


def pickup_of(paper: PaperState | None, method: str) -> bath.Spread:
    """Return the liquid a paper takes by a method [mL/m2]: learned, else the default."""
    for one in paper.pickups if paper else ():
        if one.method == method:
            return bath.Spread(one.ml_per_m2, one.low_ml_per_m2, one.high_ml_per_m2)
    return PICKUPS[method]


def binding_of(
    paper: PaperState | None, method: str, lot: LotState | None = None
) -> bath.Paper:
    """
    Return what sheets of a paper bind from the tub; chalk by their lot where that is known.

    Chalk that is there but was never measured counts as the reserve of ISO 9706, 0.4 mol
    acid per kg, which is 20 g of CaCO3 per kg of paper.
    """
    if method != "dip":
        return bath.BINDS_NOTHING
    if paper is None:
        return bath.UNKNOWN_PAPER
    weight = paper.weight_g_per_m2 or value("paper_g_per_m2")
    known = paper if lot is None or lot.chalk is None else lot
    chalk = known.chalk_g_per_m2 or 0.0
    if known.chalk == "some" and known.chalk_g_per_m2 is None:
        reserve_g_per_kg = value("chalk_reserve_mol_acid_per_kg") * CACO3_G_PER_MOL / 2
        chalk = weight * reserve_g_per_kg / 1000
    return bath.UNKNOWN_PAPER._replace(weight_g_per_m2=weight, chalk_g_per_m2=chalk)


def habit_name(paper: PaperState | None, method: str) -> str:
    """Return the name of what a paper drinks by a method; empty when nobody knows the paper."""
    return f"{paper.id} {method}" if paper else ""


def level_of(said: kinds.ReadingTaken, vessel: VesselState | None) -> Measured | None:
    """
    Return volume and its standard deviation [mL] of a level reading.

    Dipstick: depth times the inside floor; tape line: the litres written at it. Both are
    read to +-2 mm; where the floor is not known, a line is good to +-2 % (our own choice).
    None when a depth was read in a tub whose floor is not known.
    """
    area = vessel.area_m2 if vessel else None
    if said.instrument == "tape_line" and said.litres is not None:
        volume = float(said.litres.base)
        if area is None:
            return Measured(volume, max(1.0, volume * LINE_FRACTION / Z_90))
        return Measured(volume, volume_by_area(level_mm=0, area_m2=area).sd_ml)
    if area is None or said.depth is None:
        return None
    return volume_by_area(level_mm=float(said.depth.base), area_m2=area)


def zero_of(studio: StudioState | None, said: kinds.ReadingTaken, at: datetime) -> float:
    """
    Return the hydrometer's offset [SG] at a reading: the last check before it, else the first.

    Offset: reading in plain tap water less what that water reads on a true instrument.
    """
    if studio is None or not studio.zeros:
        return 0.0
    before = [zero for zero in studio.zeros if zero.at <= at]
    zero = before[-1] if before else studio.zeros[0]
    return alum.hydrometer_zero(
        reading_sg=zero.gravity, water_c=zero.water_c, scale_c=studio.hydrometer_scale_c
    )


def laying_ml(vessel: VesselState | None, *, depth_mm: float) -> float | None:
    """Return what must stand in a tub to lay a sheet [mL]; None when nobody said."""
    if vessel is None:
        return None
    if vessel.laying_ml is not None:
        return vessel.laying_ml
    return vessel.area_m2 * depth_mm * 1000 if vessel.area_m2 else None
