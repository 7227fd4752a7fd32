"""What chalk in a paper may take out of an alum bath: none of it reached, and all of it."""

from dataclasses import dataclass

from coop.science import alum, bath
from coop.science.bath import PICKUP_DIP_ML_PER_M2, BathEstimate, Paper, Spread

CHALK = "calcium_carbonate"
AREA_MAX_M2 = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ChalkLimits:
    """
    Both ends for some sheets of a paper with chalk.

    Attributes:
        least_g: Salt that the chalk takes if none of it is reached [g]: 0.
        most_g: The same if all of it is reached; at most 0.9 of what there is, as the
            estimate has it [g].
        now_g_per_l: Middle strength before [g/L].
        low_g_per_l: Middle strength after, all of it reached; high_g_per_l, none [g/L].
    """

    least_g: float
    most_g: float
    now_g_per_l: float
    low_g_per_l: float
    high_g_per_l: float


def chalk_takes_g(*, area_m2: float, chalk_g_per_m2: float, salt: str) -> float:
    """
    Return the salt that chalk would destroy if all of it were reached.

    Args:
        area_m2: Area of the sheets, one side [m2], 0 to 10,000.
        chalk_g_per_m2: Chalk in the paper [g/m2], not under 0.
        salt: Which alum [one of alum.SALTS].

    Returns:
        Salt [g]. ValueError outside the ranges or for an unknown salt.

    Valid for:
        A wet bath and time enough: a dip of a minute reaches less, nobody knows how much.

    Source:
        1.5 mol of CaCO3 for each mol of aluminium, computed from atomic masses; Davis, Water
        and Wastewater Engineering, eq. 6-8, has the reaction.

    Example:
        >>> round(chalk_takes_g(area_m2=10.5, chalk_g_per_m2=2, salt="aluminium_sulfate_14"))
        42
    """
    if not 0 <= area_m2 <= AREA_MAX_M2:
        raise ValueError(f"area_m2: must be from 0 to {AREA_MAX_M2:g}, is {area_m2:g}")
    if not 0 <= chalk_g_per_m2 < float("inf"):
        raise ValueError(f"chalk_g_per_m2: must not be under 0, is {chalk_g_per_m2:g}")
    return area_m2 * chalk_g_per_m2 / alum.substance_g_per_g(salt=salt, substance=CHALK)


def chalk_limits(
    *,
    estimate: BathEstimate,
    sheet_area_m2: float,
    sheet_count: int,
    paper: Paper,
    pickup_ml_per_m2: Spread = PICKUP_DIP_ML_PER_M2,
) -> ChalkLimits:
    """
    Return what a dip of sheets may take of a bath by their chalk, and how strong it is then.

    Args:
        estimate: The bath before [BathEstimate].
        sheet_area_m2: Area of one side of a sheet [m2], over 0.
        sheet_count: Sheets [count], 1 to 2000.
        paper: What the sheets bind, with their chalk [Paper].
        pickup_ml_per_m2: Liquid that they take with them [Spread, mL/m2].

    Returns:
        Both limits [ChalkLimits, g and g/L]. ValueError outside the ranges.

    Valid for:
        A dip; what fibre binds is in both strengths at its middle.

    Source:
        coop.science.bath.sheets_through with none and with all of the chalk reached.

    Example:
        >>> mix = bath.mixed(water_ml=12_000, salt_parts=[bath.SaltPart(480, 0.02)],
        ...     salt="aluminium_sulfate_14", at_h=0)
        >>> found = chalk_limits(estimate=mix, sheet_area_m2=0.175, sheet_count=60,
        ...     paper=Paper(chalk_g_per_m2=2))
        >>> round(found.most_g), round(found.low_g_per_l), round(found.high_g_per_l)
        (42, 36, 40)
    """

    def after(reached: float) -> BathEstimate:
        return bath.sheets_through(
            estimate=estimate,
            sheet_area_m2=sheet_area_m2,
            sheet_count=sheet_count,
            pickup_ml_per_m2=pickup_ml_per_m2,
            paper=paper._replace(chalk_reached=reached, chalk_reached_sd=0.0),
        )

    none, all_of_it = after(0.0), after(1.0)
    return ChalkLimits(
        least_g=0.0,
        most_g=max(0.0, all_of_it.salt_g.bound - none.salt_g.bound),
        now_g_per_l=estimate.belief.strength_g_per_l,
        low_g_per_l=all_of_it.belief.strength_g_per_l,
        high_g_per_l=none.belief.strength_g_per_l,
    )
