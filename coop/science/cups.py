"""
Flow cups: seconds to mm2/s and back by the printed formulas, inside their windows only.

Size is shear-thinning and the formulas are made for liquids that are not: of a size, mm2/s is
indicative. What is kept and compared is the run-out time with its cup and its warmth.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from types import MappingProxyType
from typing import Final

from coop.science.defaults import value

RUN_OUT_MIN_S: Final = 1.0
RUN_OUT_MAX_S: Final = 900.0

ISO_C: Final = 23.0
ASTM_C: Final = 25.0
DIN_C: Final = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """
    A cup of a standard: mm2/s = slope x (seconds - shift) - over / seconds.

    Attributes:
        name: What it is called.
        standard: Whose formula it is.
        slope_mm2_per_s2: Factor of the seconds [mm2/s2].
        shift_s: Seconds taken off first [s]; 0 in the ISO and DIN forms.
        over_mm2: Divided by the seconds and taken off [mm2]; 0 in the ASTM forms.
        low_s: Shortest run-out time for which it holds [s].
        high_s: Longest [s].
        at_c: Temperature at which the figures hold [deg C].
    """

    name: str
    standard: str
    slope_mm2_per_s2: float
    shift_s: float
    over_mm2: float
    low_s: float
    high_s: float
    at_c: float

    def formula_mm2_per_s(self, *, run_out_s: float) -> float:
        """
        Return what the formula alone gives, also outside its window.

        Args:
            run_out_s: Run-out time [s], over 0.

        Returns:
            Kinematic viscosity [mm2/s].

        Valid for:
            Checks against printed tables; a reading goes through `cup_viscosity_mm2_per_s`.

        Source:
            The cup's standard.

        Example:
            >>> round(CUPS["iso-4"].formula_mm2_per_s(run_out_s=120), 2)
            162.73
        """
        shifted_s = run_out_s - self.shift_s
        return self.slope_mm2_per_s2 * shifted_s - self.over_mm2 / run_out_s


def _iso(hole_mm: int, slope: float, over: float) -> Cup:
    return Cup(
        name=f"ISO cup {hole_mm} mm",
        standard="ISO 2431",
        slope_mm2_per_s2=slope,
        shift_s=0,
        over_mm2=over,
        low_s=30,
        high_s=100,
        at_c=ISO_C,
    )


def _astm(
    name: str, standard: str, slope: float, shift_s: float, low_s: float, high_s: float
) -> Cup:
    return Cup(
        name=name,
        standard=standard,
        slope_mm2_per_s2=slope,
        shift_s=shift_s,
        over_mm2=0,
        low_s=low_s,
        high_s=high_s,
        at_c=ASTM_C,
    )


def _ford(number: int, slope: float, shift_s: float, low_s: float = 20) -> Cup:
    return _astm(f"Ford cup {number}", "ASTM D1200", slope, shift_s, low_s, 100)


def _zahn(number: int, slope: float, shift_s: float, low_s: float = 20) -> Cup:
    return _astm(f"Zahn cup {number}", "ASTM D4212", slope, shift_s, low_s, 80)


def _shell(number: str, slope: float, shift_s: float) -> Cup:
    return _astm(f"Shell cup {number}", "ASTM D4212", slope, shift_s, 20, 80)


CUPS: Final[Mapping[str, Cup]] = MappingProxyType(
    {
        "iso-3": _iso(3, 0.443, 200),
        "iso-4": _iso(4, 1.37, 200),
        "iso-5": _iso(5, 3.28, 220),
        "iso-6": _iso(6, 6.90, 570),
        "ford-1": _ford(1, 0.49, 35.0, 55),
        "ford-2": _ford(2, 1.44, 18.0, 40),
        "ford-3": _ford(3, 2.31, 6.58),
        "ford-4": _ford(4, 3.85, 4.49),
        "ford-5": _ford(5, 12.1, 2.0),
        "zahn-1": _zahn(1, 1.1, 29, 35),
        "zahn-2": _zahn(2, 3.5, 14),
        "zahn-3": _zahn(3, 11.7, 7.5),
        "zahn-4": _zahn(4, 14.8, 5),
        "zahn-5": _zahn(5, 23, 0),
        "shell-1": _shell("1", 0.226, 13),
        "shell-2": _shell("2", 0.576, 5),
        "shell-2.5": _shell("2.5", 0.925, 3),
        "shell-3": _shell("3", 1.51, 2),
        "shell-3.5": _shell("3.5", 2.17, 1.5),
        "shell-4": _shell("4", 3.45, 1),
        "shell-5": _shell("5", 6.5, 1),
        "shell-6": _shell("6", 16.2, 0.5),
        "din-4": Cup(
            name="DIN cup 4 mm",
            standard="DIN 53211 (withdrawn in 1996)",
            slope_mm2_per_s2=4.57,
            shift_s=0,
            over_mm2=452,
            low_s=25,
            high_s=150,
            at_c=DIN_C,
        ),
    }
)
"""Cups by their code. Zahn, Shell, Ford 1 and 2: a calibration page that cites the standards,
the same figures in an instrument manual after Patton, Paint Flow and Pigment Dispersion, 2nd
ed. 1979, p. 82. Ford 3 to 5, ISO and DIN: an open-source conversion table that cites them.
Windows of the Ford cups: ASTM D1200, 11.2. At 25 C by the same page; the 23 C of ISO and the
20 C of DIN are from memory."""


def cup_viscosity_mm2_per_s(*, cup: str, run_out_s: float) -> float:
    """
    Return the kinematic viscosity that a run-out time of a standard cup stands for.

    Args:
        cup: Code of the cup [one of CUPS].
        run_out_s: Run-out time [s], inside the cup's window.

    Returns:
        Kinematic viscosity [mm2/s], within 4 % of calibration oils. ValueError for an
        unknown cup and outside its window, naming the window.

    Valid for:
        Liquids that flow like oil, at the cup's own temperature. Size is shear-thinning: of
        a size the figure is indicative, and only one cup is compared with itself.

    Source:
        ISO 2431, ASTM D1200, ASTM D4212, DIN 53211; where each was read stands at CUPS.

    Example:
        >>> cup_viscosity_mm2_per_s(cup="iso-4", run_out_s=50)
        64.5
    """
    found = _cup(cup)
    if not found.low_s <= run_out_s <= found.high_s:
        raise ValueError(
            f"run_out_s: {found.name} holds from {found.low_s:g} to {found.high_s:g} s, "
            f"is {run_out_s:g}"
        )
    return found.formula_mm2_per_s(run_out_s=run_out_s)


def cup_run_out_s(*, cup: str, viscosity_mm2_per_s: float) -> float:
    """
    Return the run-out time of a liquid from a standard cup: the exact inverse.

    Args:
        cup: Code of the cup [one of CUPS].
        viscosity_mm2_per_s: Kinematic viscosity [mm2/s], such that the time lies inside
            the cup's window.

    Returns:
        Run-out time [s]. ValueError for an unknown cup and outside its window, naming the
        viscosities that the cup is good for.

    Valid for:
        Liquids that flow like oil, at the cup's own temperature.

    Source:
        The positive root of slope t2 - (nu + slope shift) t - over = 0.

    Example:
        >>> round(cup_run_out_s(cup="iso-4", viscosity_mm2_per_s=50), 3)
        40.134
    """
    found = _cup(cup)
    low, high = cup_window_mm2_per_s(cup=cup)
    if not low <= viscosity_mm2_per_s <= high:
        raise ValueError(
            f"viscosity_mm2_per_s: {found.name} holds from {low:.4g} to {high:.4g} mm2/s, "
            f"is {viscosity_mm2_per_s:g}"
        )
    slope = found.slope_mm2_per_s2
    middle = viscosity_mm2_per_s + slope * found.shift_s
    return (middle + sqrt(middle * middle + 4 * slope * found.over_mm2)) / (2 * slope)


def cup_window_mm2_per_s(*, cup: str) -> tuple[float, float]:
    """
    Return what a cup can measure.

    Args:
        cup: Code of the cup [one of CUPS].

    Returns:
        Lowest and highest kinematic viscosity [mm2/s, mm2/s]. ValueError for an unknown cup.

    Valid for:
        As `cup_viscosity_mm2_per_s`.

    Source:
        The formula at both ends of the cup's window.

    Example:
        >>> low, high = cup_window_mm2_per_s(cup="iso-5")
        >>> round(low), round(high)
        (91, 326)
    """
    found = _cup(cup)
    return (
        found.formula_mm2_per_s(run_out_s=found.low_s),
        found.formula_mm2_per_s(run_out_s=found.high_s),
    )


def _cup(code: str) -> Cup:
    if code not in CUPS:
        raise ValueError(f"cup: must be one of {', '.join(CUPS)}, is {code}")
    return CUPS[code]


def water_ratio(*, run_out_s: float, water_s: float, liquid_c: float) -> float:
    """
    Return how many times longer than water a size runs out of a funnel.

    Args:
        run_out_s: Run-out time of the size [s], 1 to 900.
        water_s: Run-out time of plain water from the same funnel [s], 1 to 900.
        liquid_c: Temperature of both [deg C], 18 to 22 by the defaults run_out_low_c and
            run_out_high_c.

    Returns:
        Ratio to water [1]. ValueError outside the ranges.

    Valid for:
        One funnel against itself; two studios' funnels are never compared.

    Source:
        Division; that cooler or warmer readings do not compare is common practice, no source.

    Example:
        >>> water_ratio(run_out_s=18, water_s=12, liquid_c=20)
        1.5
    """
    for name, number, low, high in (
        ("run_out_s", run_out_s, RUN_OUT_MIN_S, RUN_OUT_MAX_S),
        ("water_s", water_s, RUN_OUT_MIN_S, RUN_OUT_MAX_S),
        ("liquid_c", liquid_c, value("run_out_low_c"), value("run_out_high_c")),
    ):
        if not low <= number <= high:
            raise ValueError(f"{name}: must be from {low:g} to {high:g}, is {number:g}")
    return run_out_s / water_s
