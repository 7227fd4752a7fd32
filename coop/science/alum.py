"""
The salts called alum: aluminium, equal strength, chalk and soda, solubility, density.

Alum is several salts. A strength is held as grams of the salt named and as mmol of
aluminium, and never passes from one salt to another unasked. Acidity (pH) is no measure of
strength and is not read here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, hypot, inf, log, sqrt
from types import MappingProxyType
from typing import Final, NamedTuple

from coop.science import defaults, water

Atoms = Mapping[str, float]

ATOMIC_MASSES_G_PER_MOL: Final[Mapping[str, float]] = MappingProxyType(
    {
        "H": 1.008,
        "C": 12.011,
        "N": 14.007,
        "O": 15.999,
        "Na": 22.990,
        "Al": 26.982,
        "S": 32.06,
        "K": 39.098,
        "Ca": 40.078,
    }
)
"""Standard atomic masses, abridged, from memory."""

OH_PER_AL: Final = 3.0
"""Alkali that one aluminium takes: Al3+ + 3 OH- -> Al(OH)3."""

ALKALINITY_MG_PER_MEQ: Final = 50.04
"""Alkalinity is printed as mg of chalk: half a mole of CaCO3 takes one mole of acid."""

STRENGTH_MAX_G_PER_L: Final = 2_000.0
WEIGHT_MAX_G: Final = 1_000_000.0
ALKALINITY_MAX_MG_PER_L: Final = 1_000.0


class GravityRefused(ValueError):
    """A hydrometer reading that is no strength; `code` says why."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(f"{code}: {detail}")
        self.code = code
        self.detail = detail


@dataclass(frozen=True, slots=True, kw_only=True)
class Salt:
    """A salt in a tub: what it is, grams per mole, aluminium in it, names it goes by."""

    code: str
    formula: str
    cas: str
    names: tuple[str, ...]
    molar_mass_g_per_mol: float
    anhydrous_fraction: float
    al_fraction: float
    mmol_al_per_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """A substance that meets alum: grams per mole, moles for each mole of aluminium."""

    code: str
    formula: str
    molar_mass_g_per_mol: float
    mol_per_mol_al: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SolubilityTable:
    """Anhydrous salt in 100 g of total water by temperature, from one named source."""

    code: str
    points: tuple[tuple[float, float], ...]
    source: str
    mark: str


class GravityStrength(NamedTuple):
    """
    Strength from a hydrometer and its standard deviation, both in g/L of the salt.

    `lasting_sd_g_per_l` is the part of it that all readings with one hydrometer share.
    """

    strength_g_per_l: float
    sd_g_per_l: float
    lasting_sd_g_per_l: float


def molar_mass_g_per_mol(*, atoms: Atoms) -> float:
    """
    Return the mass of a mole from its atoms.

    Args:
        atoms: How many of each element [count by element symbol]; part counts are allowed,
            trade salts are given as 14.3 waters.

    Returns:
        Molar mass [g/mol]. KeyError for an element that is not in the table.

    Valid for:
        H, C, N, O, Na, Al, S, K, Ca.

    Source:
        Standard atomic masses, from memory; older masses move the third decimal.

    Example:
        >>> round(molar_mass_g_per_mol(atoms={"H": 2, "O": 1}), 3)
        18.015
    """
    return sum(ATOMIC_MASSES_G_PER_MOL[element] * count for element, count in atoms.items())


_WATER_G_PER_MOL: Final = molar_mass_g_per_mol(atoms={"H": 2, "O": 1})
_POTASH: Final[Atoms] = {"K": 1, "Al": 1, "S": 2, "O": 8}
_AMMONIUM: Final[Atoms] = {"N": 1, "H": 4, "Al": 1, "S": 2, "O": 8}
_SULFATE: Final[Atoms] = {"Al": 2, "S": 3, "O": 12}


def _salt(
    code: str, formula: str, cas: str, anhydrous: Atoms, waters: float, *names: str
) -> Salt:
    anhydrous_g = molar_mass_g_per_mol(atoms=anhydrous)
    whole_g = anhydrous_g + waters * _WATER_G_PER_MOL
    return Salt(
        code=code,
        formula=formula,
        cas=cas,
        names=names,
        molar_mass_g_per_mol=whole_g,
        anhydrous_fraction=anhydrous_g / whole_g,
        al_fraction=anhydrous["Al"] * ATOMIC_MASSES_G_PER_MOL["Al"] / whole_g,
        mmol_al_per_g=1000 * anhydrous["Al"] / whole_g,
    )


SALTS: Final[Mapping[str, Salt]] = MappingProxyType(
    {
        row.code: row
        for row in (
            _salt(
                "aluminium_sulfate_14",
                "Al2(SO4)3.14H2O",
                "16828-12-9",
                _SULFATE,
                14,
                "aluminium sulfate 14-hydrate",
                "papermaker's alum",
                "filter alum",
            ),
            _salt(
                "aluminium_sulfate_14_3",
                "Al2(SO4)3.14.3H2O",
                "",
                _SULFATE,
                14.3,
                "aluminium sulfate, technical, 17 % alumina",
                "dry alum",
            ),
            _salt(
                "aluminium_sulfate_16",
                "Al2(SO4)3.16H2O",
                "16828-11-8",
                _SULFATE,
                16,
                "aluminium sulfate 16-hydrate",
            ),
            _salt(
                "aluminium_sulfate_18",
                "Al2(SO4)3.18H2O",
                "7784-31-8",
                _SULFATE,
                18,
                "aluminium sulfate 18-hydrate",
            ),
            _salt(
                "aluminium_sulfate_anhydrous",
                "Al2(SO4)3",
                "10043-01-3",
                _SULFATE,
                0,
                "aluminium sulfate, anhydrous",
            ),
            _salt(
                "potash_alum",
                "KAl(SO4)2.12H2O",
                "7784-24-9",
                _POTASH,
                12,
                "potash alum",
                "potassium alum",
                "pickling alum",
            ),
            _salt(
                "ammonium_alum",
                "NH4Al(SO4)2.12H2O",
                "7784-26-1",
                _AMMONIUM,
                12,
                "ammonium alum",
            ),
        )
    }
)
"""The closed list of salts. CAS numbers of potash alum and of anhydrous aluminium sulfate
were read, the others are from memory; the technical salt, sold by its alumina, has none."""


def _substance(code: str, formula: str, mol_per_mol_al: float, atoms: Atoms) -> Substance:
    return Substance(
        code=code,
        formula=formula,
        molar_mass_g_per_mol=molar_mass_g_per_mol(atoms=atoms),
        mol_per_mol_al=mol_per_mol_al,
    )


SUBSTANCES: Final[Mapping[str, Substance]] = MappingProxyType(
    {
        row.code: row
        for row in (
            _substance("sodium_bicarbonate", "NaHCO3", 3, {"Na": 1, "H": 1, "C": 1, "O": 3}),
            _substance("sodium_carbonate", "Na2CO3", 1.5, {"Na": 2, "C": 1, "O": 3}),
            _substance(
                "sodium_carbonate_1", "Na2CO3.H2O", 1.5, {"Na": 2, "C": 1, "O": 4, "H": 2}
            ),
            _substance(
                "sodium_carbonate_10", "Na2CO3.10H2O", 1.5, {"Na": 2, "C": 1, "O": 13, "H": 20}
            ),
            _substance("calcium_hydroxide", "Ca(OH)2", 1.5, {"Ca": 1, "O": 2, "H": 2}),
            _substance("calcium_oxide", "CaO", 1.5, {"Ca": 1, "O": 1}),
            _substance("sodium_hydroxide", "NaOH", 3, {"Na": 1, "O": 1, "H": 1}),
            _substance("calcium_carbonate", "CaCO3", 1.5, {"Ca": 1, "C": 1, "O": 3}),
            _substance("aluminium_hydroxide", "Al(OH)3", 1, {"Al": 1, "O": 3, "H": 3}),
            _substance("aluminium_hydroxide_3", "Al(OH)3.3H2O", 1, {"Al": 1, "O": 6, "H": 9}),
            _substance("alumina", "Al2O3", 0.5, {"Al": 2, "O": 3}),
            _substance("carbon_dioxide", "CO2", 3, {"C": 1, "O": 2}),
        )
    }
)
"""What takes alum's acid, what is left, and the gas when bicarbonate takes it.

Per mole of aluminium for Al3+ + 3 OH- -> Al(OH)3, carbonate ending as CO2 that has been
stirred out. Real floc forms from 2.5 hydroxides on, so a full dose can overshoot."""


def _within(name: str, number: float, low: float, high: float) -> None:
    if not low <= number <= high:
        raise ValueError(f"{name}: must be from {low:g} to {high:.9g}, is {number:g}")


def _salt_of(code: str) -> Salt:
    if code not in SALTS:
        raise ValueError(f"salt: must be one of {', '.join(SALTS)}, is {code}")
    return SALTS[code]


def mmol_al_per_l(*, strength_g_per_l: float, salt: str) -> float:
    """
    Return the aluminium in a bath.

    Args:
        strength_g_per_l: Strength [g/L of the salt], 0 to 2000.
        salt: Which salt it is [one of SALTS].

    Returns:
        Aluminium [mmol Al/L]. ValueError outside the range or for an unknown salt.

    Valid for:
        Pure salts; technical grades are sold by their alumina.

    Source:
        Computed from atomic masses.

    Example:
        >>> round(mmol_al_per_l(strength_g_per_l=40, salt="aluminium_sulfate_14"), 1)
        134.6
    """
    _within("strength_g_per_l", strength_g_per_l, 0, STRENGTH_MAX_G_PER_L)
    return strength_g_per_l * _salt_of(salt).mmol_al_per_g


def strength_from_al_g_per_l(*, al_mmol_per_l: float, salt: str) -> float:
    """
    Return the strength, in grams of a salt, that holds an amount of aluminium.

    Args:
        al_mmol_per_l: Aluminium [mmol Al/L], 0 to 10000.
        salt: Which salt to say it in [one of SALTS].

    Returns:
        Strength [g/L of the salt]. ValueError outside the range or for an unknown salt.

    Valid for:
        Pure salts.

    Source:
        Computed from atomic masses.

    Example:
        >>> round(strength_from_al_g_per_l(al_mmol_per_l=100, salt="potash_alum"), 1)
        47.4
    """
    _within("al_mmol_per_l", al_mmol_per_l, 0, 10_000)
    return al_mmol_per_l / _salt_of(salt).mmol_al_per_g


def same_strength_g(*, weight_g: float, salt: str, other_salt: str) -> float:
    """
    Return the weight of another salt that holds the same aluminium.

    Args:
        weight_g: Weight of the first salt [g], 0 to 1000000.
        salt: The salt that was weighed [one of SALTS].
        other_salt: The salt to take in its place [one of SALTS].

    Returns:
        Weight of the other salt [g]. ValueError outside the range or for an unknown salt.

    Valid for:
        On request only; makers report both better and equal results from the other salt.

    Source:
        Computed from atomic masses: aluminium sulfate 14-hydrate carries 1.60 times the
        aluminium of potash alum by weight.

    Example:
        >>> round(same_strength_g(weight_g=100, salt="aluminium_sulfate_14",
        ...     other_salt="potash_alum"))
        160
    """
    _within("weight_g", weight_g, 0, WEIGHT_MAX_G)
    return weight_g * _salt_of(salt).mmol_al_per_g / _salt_of(other_salt).mmol_al_per_g


def substance_g_per_g(*, salt: str, substance: str) -> float:
    """
    Return the grams of a substance that go with each gram of a salt.

    Args:
        salt: Which alum [one of SALTS].
        substance: Chalk or soda that takes its acid, or what is left [one of SUBSTANCES].

    Returns:
        Grams of the substance [g/g of the salt]. ValueError for an unknown code.

    Valid for:
        Full neutralising to Al(OH)3. Add about four fifths, stir the gas out in an open
        vessel in a well aired room, measure, then trim; goggles on. Never ammonium alum with
        strong alkali: it gives off ammonia. Local rules for drains come first.

    Source:
        Computed from atomic masses; Davis, Water and Wastewater Engineering, eq. 6-8, has
        the reaction.

    Example:
        >>> round(substance_g_per_g(salt="potash_alum", substance="calcium_carbonate"), 4)
        0.3165
    """
    if substance not in SUBSTANCES:
        raise ValueError(f"substance: must be one of {', '.join(SUBSTANCES)}, is {substance}")
    row = SUBSTANCES[substance]
    mol_al_per_g = _salt_of(salt).mmol_al_per_g / 1000
    return mol_al_per_g * row.mol_per_mol_al * row.molar_mass_g_per_mol


def al_spent_mmol_per_l(*, alkalinity_mg_per_l: float) -> float:
    """
    Return the aluminium that the alkalinity of the water spends.

    Args:
        alkalinity_mg_per_l: Alkalinity of the water [mg/L as CaCO3], 0 to 1000.

    Returns:
        Aluminium spent [mmol Al/L]. ValueError outside the range.

    Valid for:
        Full reaction; a model in open air spends 0.83 of it at 5 g/L and 0.63 at 30 g/L.

    Source:
        Three equivalents per aluminium (computed); 50.04 mg of chalk an equivalent.

    Example:
        >>> round(al_spent_mmol_per_l(alkalinity_mg_per_l=150), 2)
        1.0
    """
    _within("alkalinity_mg_per_l", alkalinity_mg_per_l, 0, ALKALINITY_MAX_MG_PER_L)
    return alkalinity_mg_per_l / ALKALINITY_MG_PER_MEQ / OH_PER_AL


def _per_100_g_water(*mass_percents: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    return tuple((c, 100 * percent / (100 - percent)) for c, percent in mass_percents)


_AMMONIUM_SUPPLIER: Final = ((0.0, 2.6), (20.0, 6.59), (40.0, 12.36), (60.0, 21.1))
_AMMONIUM_KEY_G_PER_100_G: Final = 5.651
"""107 g/L of the hydrate in a saturated solution of 1.0464 g/mL, as anhydrous salt."""

SOLUBILITY: Final[Mapping[str, SolubilityTable]] = MappingProxyType(
    {
        row.code: row
        for row in (
            SolubilityTable(
                code="potash_handbook",
                points=(
                    (0, 3.00),
                    (10, 3.99),
                    (20, 5.90),
                    (30, 8.39),
                    (40, 11.70),
                    (50, 17.0),
                    (60, 24.75),
                ),
                source="Perry's Chemical Engineers' Handbook",
                mark=defaults.FROM_MEMORY,
            ),
            SolubilityTable(
                code="potash_supplier",
                points=((0, 2.96), (20, 6.01), (40, 13.6), (60, 33.3)),
                source="a reagent supplier's table, whose 'dodecahydrate' is anhydrous",
                mark=defaults.PUBLISHED,
            ),
            SolubilityTable(
                code="ammonium_key",
                points=tuple(
                    (c, g * _AMMONIUM_KEY_G_PER_100_G / 6.59) for c, g in _AMMONIUM_SUPPLIER
                ),
                source="ECHA dossier 13568 key value 107 g/L at 20 C, with the course over "
                "temperature of the reagent supplier's table",
                mark=defaults.COMPUTED,
            ),
            SolubilityTable(
                code="ammonium_supplier",
                points=_AMMONIUM_SUPPLIER,
                source="a reagent supplier's table",
                mark=defaults.PUBLISHED,
            ),
            SolubilityTable(
                code="sulfate_crc",
                points=_per_100_g_water(
                    (0, 27.5), (25, 27.8), (30, 28.2), (40, 29.2), (50, 30.7), (60, 32.6)
                ),
                source="CRC Handbook of Chemistry and Physics, 98th edition",
                mark=defaults.PUBLISHED,
            ),
            SolubilityTable(
                code="sulfate_older",
                points=((0, 31.2), (10, 33.5), (20, 36.4), (30, 40.4), (40, 45.8), (60, 59.2)),
                source="older handbook set; 0 and 20 C were read, the others are remembered",
                mark=defaults.FROM_MEMORY,
            ),
        )
    }
)
"""Sources that disagree stand side by side; none is averaged."""

SOLUBILITY_TABLES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "potash_alum": ("potash_handbook", "potash_supplier"),
        "ammonium_alum": ("ammonium_key", "ammonium_supplier"),
    }
    | {
        code: ("sulfate_crc", "sulfate_older")
        for code in SALTS
        if code.startswith("aluminium_sulfate")
    }
)
"""Tables of a salt, the one used first in front."""


def hydrate_g_per_kg_water(
    *, anhydrous_g_per_kg_water: float, anhydrous_fraction: float
) -> float:
    """
    Return the hydrate that dissolves in added water, from a table of anhydrous salt.

    Args:
        anhydrous_g_per_kg_water: Anhydrous salt [g/kg of all the water], 0 to 1000.
        anhydrous_fraction: Part of the hydrate that is anhydrous salt [fraction], 0 to 1.

    Returns:
        Hydrate [g/kg of added water]. ValueError where the hydrate's own water would do.

    Valid for:
        Solubility tables, many of which print anhydrous salt without saying so: a factor
        of two.

    Source:
        Mass balance: h = s / (f - s (1 - f)).

    Example:
        >>> round(hydrate_g_per_kg_water(anhydrous_g_per_kg_water=59,
        ...     anhydrous_fraction=SALTS["potash_alum"].anhydrous_fraction))
        114
    """
    _within("anhydrous_g_per_kg_water", anhydrous_g_per_kg_water, 0, 1000)
    share = anhydrous_g_per_kg_water / 1000
    left = anhydrous_fraction - share * (1 - anhydrous_fraction)
    if left <= 0:
        raise ValueError("anhydrous_g_per_kg_water: the hydrate melts in its own water")
    return anhydrous_g_per_kg_water / left


def solubility_g_per_kg_water(*, salt: str, liquid_c: float, table: str = "") -> float:
    """
    Return how much of a salt dissolves in added water.

    Args:
        salt: Which salt [one of SALTS].
        liquid_c: Temperature of the liquid [deg C], 0 to 60.
        table: Source to use [one of SOLUBILITY_TABLES of the salt, empty for the first].

    Returns:
        Salt as it comes from the tub [g/kg of added water]; between the points of the table
        straight on the logarithm. ValueError outside the range or for an unknown code.

    Valid for:
        Clean water, time and stirring; sources differ by a few per cent at 20 C and by more
        above 30 C.

    Source:
        SOLUBILITY names each table's source and mark.

    Example:
        >>> round(solubility_g_per_kg_water(salt="potash_alum", liquid_c=20))
        114
    """
    fraction = _salt_of(salt).anhydrous_fraction
    known = SOLUBILITY_TABLES[salt]
    if table and table not in known:
        raise ValueError(f"table: must be one of {', '.join(known)}, is {table}")
    points = SOLUBILITY[table or known[0]].points
    _within("liquid_c", liquid_c, points[0][0], points[-1][0])
    per_100_g = interpolated(points=points, at=liquid_c)
    return hydrate_g_per_kg_water(
        anhydrous_g_per_kg_water=10 * per_100_g, anhydrous_fraction=fraction
    )


def interpolated(*, points: tuple[tuple[float, float], ...], at: float) -> float:
    """
    Return a figure between the points of a printed table.

    Args:
        points: Pairs, the first of each rising [deg C, any unit], the second over 0.
        at: Where to read it [deg C], from the first point to the last.

    Returns:
        The figure [unit of the table]. StopIteration past the last point.

    Valid for:
        Solubilities, which grow by about the same factor for each degree.

    Source:
        Straight on the logarithm.

    Example:
        >>> round(interpolated(points=((0, 1), (20, 4)), at=10), 6)
        2.0
    """
    above = next(place for place, (c, _) in enumerate(points) if at <= c)
    if points[above][0] == at:
        return points[above][1]
    (low_c, low_g), (high_c, high_g) = points[above - 1], points[above]
    part = (at - low_c) / (high_c - low_c)
    return exp((1 - part) * log(low_g) + part * log(high_g))


def g_per_l_of_solution(*, dose_g_per_kg_water: float, solution_kg_per_m3: float) -> float:
    """
    Return the grams in a litre of finished solution.

    Args:
        dose_g_per_kg_water: Salt [g/kg of added water], 0 to 2000.
        solution_kg_per_m3: Density of the solution [kg/m3], 900 to 1500.

    Returns:
        Strength [g/L of solution]. ValueError outside the ranges.

    Valid for:
        Recipes give grams per litre of water put in; a litre of the solution holds 1 to 4 %
        less at the strengths of the trade.

    Source:
        Mass balance.

    Example:
        >>> round(g_per_l_of_solution(dose_g_per_kg_water=52.63, solution_kg_per_m3=1023.77), 1)
        51.2
    """
    _within("dose_g_per_kg_water", dose_g_per_kg_water, 0, STRENGTH_MAX_G_PER_L)
    _within("solution_kg_per_m3", solution_kg_per_m3, 900, 1500)
    return dose_g_per_kg_water * solution_kg_per_m3 / (1000 + dose_g_per_kg_water)


def solubility_fraction(*, dose_g_per_l_water: float, salt: str, liquid_c: float) -> float:
    """
    Return how near a dose is to what dissolves.

    Args:
        dose_g_per_l_water: Salt [g/L of water put in], 0 to 2000.
        salt: Which salt [one of SALTS].
        liquid_c: Temperature of the store [deg C], 0 to 40.

    Returns:
        Dose over solubility [fraction]; over 1 it does not dissolve; the default
        solubility_warn_fraction 0.6 is where to warn. ValueError outside the ranges.

    Valid for:
        The first table of the salt.

    Source:
        SOLUBILITY, and the water's density.

    Example:
        >>> round(solubility_fraction(dose_g_per_l_water=62.5, salt="potash_alum",
        ...     liquid_c=20), 2)
        0.55
    """
    _within("dose_g_per_l_water", dose_g_per_l_water, 0, STRENGTH_MAX_G_PER_L)
    kg_per_l = water.density_kg_per_m3(water_c=liquid_c) / 1000
    return (
        dose_g_per_l_water / kg_per_l / solubility_g_per_kg_water(salt=salt, liquid_c=liquid_c)
    )


class _Curve(NamedTuple):
    """c = linear x + square x2 in g/L of `salt`, x = SG20/20 - 1, up to `max_g_per_l`."""

    salt: str
    linear: float
    square: float
    max_g_per_l: float


_POTASH_CURVE: Final = _Curve("potash_alum", 1981.4, 674.0, 110.0)
_SULFATE_CURVE: Final = _Curve("aluminium_sulfate_14", 1754.7, 456.0, 90.0)

SG_FLOOR: Final = 0.997
"""A corrected gravity further under water's than three times its doubt is no reading."""
READING_MAX_SG: Final = 2.0

ROOM_AT_G_PER_L: Final = 40.0
"""Strength at which the room that a salt takes in water is worked out."""


def _curve_of(salt: str) -> tuple[_Curve, float]:
    """Return the curve and the grams of the curve's salt in a gram of `salt`."""
    row = _salt_of(salt)
    if salt == "potash_alum":
        return _POTASH_CURVE, 1.0
    if salt.startswith("aluminium_sulfate"):
        return _SULFATE_CURVE, row.mmol_al_per_g / SALTS[_SULFATE_CURVE.salt].mmol_al_per_g
    raise GravityRefused("no-density-curve", f"no density curve for {salt}")


def specific_gravity(*, strength_g_per_l: float, salt: str) -> float:
    """
    Return the specific gravity of a clean bath at 20 C.

    Args:
        strength_g_per_l: Strength [g/L of solution], 0 to 110 of potash alum (saturated) or
            the aluminium of 90 of aluminium sulfate 14-hydrate.
        salt: Which salt [one of SALTS with a curve: not ammonium_alum].

    Returns:
        Density over water's, both at 20 C [ratio, SG20/20]; the curve is good to +-3 % of
        the strength. GravityRefused without a curve or outside it, ValueError for an
        unknown salt.

    Valid for:
        Clean baths; size, paint and gall raise the gravity. Other hydrates of aluminium
        sulfate by equal aluminium.

    Source:
        Fits (computed) to the model of Laliberte and Cooper 2004, J. Chem. Eng. Data
        49:1141: c = 1981.4 x + 674 x2 for potash alum, c = 1754.7 x + 456 x2 for aluminium
        sulfate 14-hydrate. Hendricks, appendix F, lies 3.5 % lower at 1.020.

    Example:
        >>> round(specific_gravity(strength_g_per_l=40, salt="aluminium_sulfate_14"), 4)
        1.0227
    """
    curve, grams = _curve_of(salt)
    on_curve = strength_g_per_l * grams
    if not 0 <= on_curve <= curve.max_g_per_l:
        raise GravityRefused(
            "outside-density-curve",
            f"strength_g_per_l must be from 0 to {curve.max_g_per_l / grams:g}, "
            f"is {strength_g_per_l:g}",
        )
    root = sqrt(curve.linear**2 + 4 * curve.square * on_curve)
    return 1 + (root - curve.linear) / (2 * curve.square)


def density_kg_per_m3(*, strength_g_per_l: float, salt: str, liquid_c: float) -> float:
    """
    Return the density of a clean bath.

    Args:
        strength_g_per_l: Strength [g/L of solution], as for `specific_gravity`.
        salt: Which salt [one of SALTS with a curve: not ammonium_alum].
        liquid_c: Temperature of the bath [deg C], 0 to 40.

    Returns:
        Density [kg/m3]; at 15 and 25 C up to 0.3 off the model it was fitted to. Errors as
        for `specific_gravity`.

    Valid for:
        A bath that widens with warmth as water does.

    Source:
        `specific_gravity` times water's density (computed).

    Example:
        >>> round(density_kg_per_m3(strength_g_per_l=30.4, salt="potash_alum", liquid_c=20), 1)
        1013.4
    """
    gravity_sg = specific_gravity(strength_g_per_l=strength_g_per_l, salt=salt)
    return gravity_sg * water.density_kg_per_m3(water_c=liquid_c)


def hydrometer_zero(*, reading_sg: float, water_c: float, scale_c: float) -> float:
    """
    Return what a hydrometer shows too much, from a reading in plain tap water.

    Args:
        reading_sg: Reading in tap water [SG of the scale], over 0, at most 2.
        water_c: Temperature of the water [deg C], 0 to 40.
        scale_c: Temperature of the scale [deg C], 0 to 40; 20 unless printed on it.

    Returns:
        Offset to take from later readings [SG]. ValueError outside the ranges.

    Valid for:
        The instrument that was checked, for about a month.

    Source:
        The reading less water's density there over water's at the scale's temperature.

    Example:
        >>> round(hydrometer_zero(reading_sg=1.001, water_c=20, scale_c=20), 4)
        0.001
    """
    _within("reading_sg", reading_sg, 1e-9, READING_MAX_SG)
    there = water.density_kg_per_m3(water_c=water_c)
    return reading_sg - there / water.density_kg_per_m3(water_c=scale_c)


def gravity_at_20_sg(
    *, reading_sg: float, liquid_c: float, zero_offset_sg: float, scale_c: float
) -> float:
    """
    Return a hydrometer reading as density over water's, both at 20 C.

    Args:
        reading_sg: Reading in the bath [SG of the scale], over 0, at most 2.
        liquid_c: Temperature of the bath [deg C], 0 to 40.
        zero_offset_sg: What the instrument shows too much [SG], from `hydrometer_zero`.
        scale_c: Temperature of the scale [deg C], 0 to 40.

    Returns:
        Specific gravity [SG20/20]. ValueError outside the ranges.

    Valid for:
        Baths that widen with warmth as water does: 0.0002 off at 100 g/L, 5 C from 20.

    Source:
        Water's density at the scale's over that at the bath's temperature.

    Example:
        >>> round(gravity_at_20_sg(reading_sg=1.0200, liquid_c=25, zero_offset_sg=0,
        ...     scale_c=20), 4)
        1.0212
    """
    _within("reading_sg", reading_sg, 1e-9, READING_MAX_SG)
    at_scale = water.density_kg_per_m3(water_c=scale_c)
    return (reading_sg - zero_offset_sg) * at_scale / water.density_kg_per_m3(water_c=liquid_c)


def gravity_strength_g_per_l(
    *, reading_sg: float, liquid_c: float, zero_offset_sg: float, scale_c: float, salt: str
) -> GravityStrength:
    """
    Return the strength of a bath from a hydrometer and a thermometer.

    Args:
        reading_sg: Reading in the bath [SG of the scale], over 0, at most 2.
        liquid_c: Temperature of the bath [deg C], 0 to 40.
        zero_offset_sg: What the instrument shows too much [SG], from `hydrometer_zero`.
        scale_c: Temperature of the scale [deg C], 0 to 40.
        salt: Which salt is in the bath [one of SALTS with a curve: not ammonium_alum].

    Returns:
        Strength, never below 0, and its standard deviation [g/L of the salt, g/L]; doubts
        are the defaults gravity_sg (of this reading, and of the one in plain water behind the
        offset), thermometer_c and gravity_curve_fraction; the second and the last are shared
        by all readings with one hydrometer [GravityStrength]. GravityRefused
        with code no-density-curve or outside-density-curve, ValueError outside the ranges.

    Valid for:
        Clean baths as for `specific_gravity`; 0.001 is 2.0 g/L of potash alum and 1.76 of
        aluminium sulfate 14-hydrate.

    Source:
        The curves of `specific_gravity`; doubts joined as independent (GUM).

    Example:
        >>> reading = gravity_strength_g_per_l(reading_sg=1.0200, liquid_c=20,
        ...     zero_offset_sg=0, scale_c=20, salt="potash_alum")
        >>> round(reading.strength_g_per_l, 1), round(reading.sd_g_per_l, 2)
        (39.9, 1.89)
    """
    curve, grams = _curve_of(salt)
    gravity_sg = gravity_at_20_sg(
        reading_sg=reading_sg,
        liquid_c=liquid_c,
        zero_offset_sg=zero_offset_sg,
        scale_c=scale_c,
    )
    x = gravity_sg - 1
    on_curve = curve.linear * x + curve.square * x * x
    if gravity_sg < SG_FLOOR or on_curve > curve.max_g_per_l:
        raise GravityRefused(
            "outside-density-curve",
            f"a gravity of {gravity_sg:.4f} at 20 C is no strength of {salt}",
        )
    slope = curve.linear + 2 * curve.square * x
    own_sd = _reading_sd_g_per_l(slope, gravity_sg, liquid_c)
    lasting_sd = _lasting_sd_g_per_l(slope, on_curve)
    return GravityStrength(
        max(0.0, on_curve) / grams, hypot(own_sd, lasting_sd) / grams, lasting_sd / grams
    )


def strength_of_water_g_per_l(*, strength_g_per_l: float, salt: str) -> float:
    """
    Return a strength per litre of solution as strength per litre of water put in.

    Args:
        strength_g_per_l: Strength [g/L of solution], within the curve of `specific_gravity`.
        salt: Which salt [one of SALTS with a curve: not ammonium_alum].

    Returns:
        Strength [g/L of water put in], as recipes and baths are reckoned; 1 to 4 % more.
        Errors as for `specific_gravity`.

    Valid for:
        Salt with its crystal water, dissolved in water at 20 C.

    Source:
        Mass balance: a litre of solution holds its density less the salt of water
        (computed); 51.19 g/L of potash alum is 52.63 g/kg of water, Laliberte-Cooper.

    Example:
        >>> round(strength_of_water_g_per_l(strength_g_per_l=51.19, salt="potash_alum"), 1)
        52.5
    """
    solution = density_kg_per_m3(strength_g_per_l=strength_g_per_l, salt=salt, liquid_c=20)
    water_g = solution - strength_g_per_l
    return strength_g_per_l * water.density_kg_per_m3(water_c=20) / water_g


def water_fraction(*, strength_g_per_l: float, salt: str) -> float:
    """
    Return the part of a bath's litres that is the water put in.

    Args:
        strength_g_per_l: Strength [g/L of water put in], not under 0.
        salt: Which salt [one of SALTS].

    Returns:
        Water over liquid [1], over 0, at most 1. ValueError for an unknown salt or a strength
        under 0.

    Valid for:
        Salt with its crystal water at 20 C: a gram takes the room it has at 40 g/L.
        Ammonium alum, which has no curve, is taken for potash alum (our own choice).

    Source:
        Mass balance on the curves of `specific_gravity` (computed); 52.63 g/kg of potash alum
        in water is 51.19 g/L, Laliberte-Cooper.

    Example:
        >>> round(water_fraction(strength_g_per_l=52.5, salt="potash_alum"), 3)
        0.974
    """
    _within("strength_g_per_l", strength_g_per_l, 0, inf)
    curved = "potash_alum" if _salt_of(salt).code == "ammonium_alum" else salt
    put_in = strength_of_water_g_per_l(strength_g_per_l=ROOM_AT_G_PER_L, salt=curved)
    l_per_g = 1 / ROOM_AT_G_PER_L - 1 / put_in
    return 1 / (1 + strength_g_per_l * l_per_g)


def _reading_sd_g_per_l(slope: float, gravity_sg: float, liquid_c: float) -> float:
    low_c = max(water.WATER_MIN_C, liquid_c - 0.5)
    high_c = min(water.WATER_MAX_C, liquid_c + 0.5)
    low_kg = water.density_kg_per_m3(water_c=low_c)
    high_kg = water.density_kg_per_m3(water_c=high_c)
    sg_per_c = gravity_sg * log(low_kg / high_kg) / (high_c - low_c)
    half_width = slope * hypot(
        defaults.value("gravity_sg"), sg_per_c * defaults.value("thermometer_c")
    )
    return half_width / defaults.Z_90


def _lasting_sd_g_per_l(slope: float, strength_g_per_l: float) -> float:
    half_width = hypot(
        slope * defaults.value("gravity_sg"),
        max(0.0, strength_g_per_l) * defaults.value("gravity_curve_fraction"),
    )
    return half_width / defaults.Z_90
