"""
The least and the most of what can be in a waste, from what was put in and its litres.

Where a local rule has a figure for it, such bounds can save a laboratory: a most under the
limit keeps to it, a least over it does not. They are as good as the ends that come in, and no
better. What goes where is for local rules and licensed advice.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from coop.science import alum, neutralising
from coop.science.defaults import default
from coop.science.neutralising import VOLUME_MAX_L, VOLUME_MIN_L

CONTENT_MAX_MG_PER_ML: Final = 10_000.0
"""No colour weighs more: red lead is about 9 g/mL, from memory."""
COLOUR_MAX_ML: Final = 100_000.0
SETTLES_SULFATE: Final = "lime"

OXYGEN_DEFAULTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "carrageenan": "carrageenan_oxygen_g_per_g",
        "methylcellulose": "methylcellulose_oxygen_g_per_g",
        "tragacanth": "gum_oxygen_g_per_g",
        "gum": "gum_oxygen_g_per_g",
    }
)
"""What a size is made of, and the default of the oxygen that a gram of it takes."""


class Content(NamedTuple):
    """The least and the most in a litre [mg/L]."""

    least_mg_per_l: float
    most_mg_per_l: float


class AlumBath(NamedTuple):
    """What is in an alum bath; aluminium is None where it is not reckoned."""

    aluminium: Content | None
    sulfate: Content


def alum_bath(
    *,
    salt: str,
    least_g: float,
    most_g: float,
    least_l: float,
    most_l: float,
    base: str = "",
) -> AlumBath:
    """
    Return the aluminium and the sulfate of an old alum bath.

    Args:
        salt: Which salt [one of alum.SALTS].
        least_g: Salt in it at least [g], 0 to 1000000.
        most_g: Salt in it at most [g], 0 to 1000000.
        least_l: Litres of it as it stands, at least [L], 0.1 to 1000.
        most_l: Litres of it as it stands, at most [L], 0.1 to 1000.
        base: What it was treated with [one of neutralising.BASES], empty for nothing.

    Returns:
        Bounds [AlumBath, mg/L]: aluminium as Al, None of a treated bath; sulfate as SO4.
        ValueError outside the ranges, for a least over its most or for an unknown code.

    Valid for:
        What was weighed in. How much aluminium a base leaves in the water is for a
        laboratory. Sodas leave all the sulfate; lime settles a part of it as gypsum, so its
        least is then 0.

    Source:
        Computed from atomic masses: 5.69 % of potash alum are aluminium, 40.5 % sulfate.

    Example:
        >>> bath = alum_bath(salt="potash_alum", least_g=300, most_g=300, least_l=10, most_l=12)
        >>> [round(one) for one in (*bath.aluminium, *bath.sulfate)]
        [1422, 1706, 10125, 12149]
    """
    if salt not in alum.SALTS:
        raise ValueError(f"salt: must be one of {', '.join(alum.SALTS)}, is {salt}")
    if base and base not in neutralising.BASES:
        known = ", ".join(neutralising.BASES)
        raise ValueError(f"base: must be empty or one of {known}, is {base}")
    of_salt = _content(least_g, most_g, least_l, most_l)
    row = alum.SALTS[salt]
    per_salt = row.mmol_al_per_g * neutralising.SULFATE_PER_AL[salt] / 1000
    sulfate = _times(of_salt, per_salt * neutralising.SULFATE_G_PER_MOL)
    if not base:
        return AlumBath(_times(of_salt, row.al_fraction), sulfate)
    if base == SETTLES_SULFATE:
        sulfate = sulfate._replace(least_mg_per_l=0.0)
    return AlumBath(None, sulfate)


def size_oxygen(
    *, gum: str, least_g: float, most_g: float, least_l: float, most_l: float
) -> Content:
    """
    Return the chemical oxygen demand of the gum of a fresh size.

    Args:
        gum: What it was made of [one of OXYGEN_DEFAULTS].
        least_g: Gum in it at least [g], 0 to 1000000.
        most_g: Gum in it at most [g], 0 to 1000000.
        least_l: Litres of it at least [L], 0.1 to 1000.
        most_l: Litres of it at most [L], 0.1 to 1000.

    Returns:
        Bounds [Content, mg O2/L]. ValueError outside the ranges, for a least over its most or
        for an unknown gum.

    Valid for:
        The gum alone. Colour, gall and spirit add to it, so the most is that of a size nobody
        has marbled on; one that sours loses some of it, so the least is that of a fresh one.

    Source:
        Oxygen to burn a gram, by formula: carrageenan_oxygen_g_per_g,
        methylcellulose_oxygen_g_per_g, gum_oxygen_g_per_g.

    Example:
        >>> demand = size_oxygen(gum="carrageenan", least_g=50, most_g=50, least_l=10,
        ...     most_l=10)
        >>> [round(one) for one in demand]
        [2500, 5950]
    """
    if gum not in OXYGEN_DEFAULTS:
        raise ValueError(f"gum: must be one of {', '.join(OXYGEN_DEFAULTS)}, is {gum}")
    of_gum = _content(least_g, most_g, least_l, most_l)
    demand = default(OXYGEN_DEFAULTS[gum])
    return Content(of_gum.least_mg_per_l * demand.low, of_gum.most_mg_per_l * demand.high)


def _content(least_g: float, most_g: float, least_l: float, most_l: float) -> Content:
    _ends("_g", least_g, most_g, 0, alum.WEIGHT_MAX_G)
    _ends("_l", least_l, most_l, VOLUME_MIN_L, VOLUME_MAX_L)
    return Content(1000 * least_g / most_l, 1000 * most_g / least_l)


def _times(content: Content, fraction: float) -> Content:
    return Content(content.least_mg_per_l * fraction, content.most_mg_per_l * fraction)


def colour_metal(*, content_mg_per_ml: float, most_ml: float, least_l: float) -> Content:
    """
    Return a metal that one colour can have brought into a waste.

    Args:
        content_mg_per_ml: Metal in the colour as its maker declares it, at most [mg/mL], 0 to
            10000.
        most_ml: Colour that can have come into it [mL], 0 to 100000.
        least_l: Litres of the waste at least [L], 0.1 to 1000.

    Returns:
        Bounds [Content, mg/L of the metal], the least 0: most of a colour goes home on the
        paper. ValueError outside the ranges.

    Valid for:
        All of the metal, dissolved or not. Several colours: `amount` and `mixed`.

    Source:
        Mass balance.

    Example:
        >>> colour_metal(content_mg_per_ml=40, most_ml=5, least_l=10)
        Content(least_mg_per_l=0.0, most_mg_per_l=20.0)
    """
    _within("content_mg_per_ml", content_mg_per_ml, 0, CONTENT_MAX_MG_PER_ML)
    _within("most_ml", most_ml, 0, COLOUR_MAX_ML)
    _within("least_l", least_l, VOLUME_MIN_L, VOLUME_MAX_L)
    return Content(0.0, content_mg_per_ml * most_ml / least_l)


def _ends(unit: str, least: float, most: float, low: float, high: float) -> None:
    _within(f"least{unit}", least, low, high)
    _within(f"most{unit}", most, low, high)
    if least > most:
        raise ValueError(f"least{unit}: must be at most {most:g}, is {least:g}")


def _within(name: str, number: float, low: float, high: float) -> None:
    if not low <= number <= high:
        raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")
