"""
How heavy a liquid is, as a hydrometer says it: specific gravity, degrees Baume or Twaddell.

A number of degrees is worth nothing without its scale: 2.9 is 1.021 in Baume and 1.0145 in
Twaddell. At which temperature it was read is for the caller; Baume goes by 60 F.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.units.names import ENGLISH, Language, Words
from coop.units.number import take_number
from coop.units.quantity import number_text
from coop.units.stream import Stream

SG: Final = "sg"
BAUME: Final = "baume"
TWADDELL: Final = "twaddell"
GRAVITY_MIN: Final = Fraction("0.98")
GRAVITY_MAX: Final = Fraction("1.4")
"""
No liquid of a studio lies outside: warm water a little under 1, alum liquor of the trade 1.335
(Hendricks, Fundamentals of Water Treatment Unit Processes, appendix F). Our own choice.
"""
BAUME_MODULUS: Final = 145
"""Degrees Baume of what is heavier than water: SG = 145 / (145 - Be), 60 F (from memory)."""
TWADDELL_DEGREES: Final = 200
"""Degrees Twaddell: SG = 1 + Tw / 200 (from memory)."""
SCALE_NAMES: Final[Mapping[Words, str]] = MappingProxyType(
    {
        ("sg",): SG,
        ("s", "g"): SG,
        ("sp", "gr"): SG,
        ("specific", "gravity"): SG,
        ("gravity",): SG,
        ("ozgul", "agirlik"): SG,
        ("yogunluk",): SG,
        ("be",): BAUME,
        ("bé",): BAUME,
        ("baume",): BAUME,
        ("baumé",): BAUME,
        ("bome",): BAUME,
        ("tw",): TWADDELL,
        ("twaddell",): TWADDELL,
        ("twaddle",): TWADDELL,
    }
)
_DEGREES = frozenset({"degree", "degrees", "deg", "derece"})
_WRITTEN = MappingProxyType({SG: "SG {}", BAUME: "{} °Bé", TWADDELL: "{} °Tw"})
_LIKE_GRAVITY = re.compile(r"[.,][0-9]{2}")
_LIMITS = (Fraction(0), Fraction(100))


@dataclass(frozen=True, slots=True)
class Gravity:
    """A reading of a hydrometer: `n` on its scale, one of `SG`, `BAUME`, `TWADDELL`."""

    typed: str
    n: Fraction
    scale: str

    @property
    def sg(self) -> Fraction:
        """
        The specific gravity, exactly.

        >>> round(float(Gravity("36.4 Be", Fraction("36.4"), "baume").sg), 3)
        1.335
        """
        return _sg(self.n, self.scale)


def on_scale(sg: Fraction, scale: str) -> Fraction:
    """
    Return a specific gravity in the degrees of a scale.

    >>> round(float(on_scale(Fraction("1.021"), "baume")), 1)
    3.0
    >>> on_scale(Fraction("1.021"), "twaddell")
    Fraction(21, 5)
    """
    if scale == BAUME:
        return BAUME_MODULUS * (1 - 1 / sg)
    return (sg - 1) * TWADDELL_DEGREES if scale == TWADDELL else sg


def _sg(n: Fraction, scale: str) -> Fraction:
    if scale == BAUME:
        return BAUME_MODULUS / (BAUME_MODULUS - n)
    return 1 + n / TWADDELL_DEGREES if scale == TWADDELL else n


def read_gravity(typed: str, *, words: Language = ENGLISH) -> Gravity:
    """
    Read a hydrometer's number with its scale: "1.021", "SG 1.021", "2.9 Be", "4.2 °Tw".

    A bare number with two decimals or more from 0.98 to 1.4 is a specific gravity.

    Raises:
        NotUnderstood: "which-scale" for another bare number; "out-of-range" for what no
            liquid of a studio has.

    >>> read_gravity("2.9 Bé").scale
    'baume'
    """
    stream = Stream(typed, words=words)
    scale = _take_scale(stream)
    n = take_number(stream, _LIMITS)
    if n is None:
        raise stream.fault("number-missing") if stream.ended() else stream.unknown()
    if not scale:
        scale = _take_scale(stream)
    if not stream.ended():
        raise stream.unknown()
    scale = scale or _scale_of_bare(stream, n)
    if not _plausible(n, scale):
        raise stream.fault("out-of-range", _limits(scale), start=0, end=len(stream.typed))
    return Gravity(stream.typed, n, scale)


def _take_scale(stream: Stream) -> str:
    """Take "SG", "°Bé", "degrees Twaddell"; "" if no scale is named."""
    mark = stream.mark()
    if stream.sees("°") or stream.word() in _DEGREES:
        stream.take("unit")
    phrase = stream.phrase(SCALE_NAMES)
    if not phrase:
        stream.rewind(mark)
        return ""
    stream.take("unit", len(phrase))
    return SCALE_NAMES[phrase]


def _scale_of_bare(stream: Stream, n: Fraction) -> str:
    if _LIKE_GRAVITY.search(stream.typed) and _plausible(n, SG):
        return SG
    fitting = [scale for scale in _WRITTEN if _plausible(n, scale)]
    if not fitting:
        raise stream.fault("out-of-range", _limits(SG), start=0, end=len(stream.typed))
    options = (_WRITTEN[scale].format(number_text(n)) for scale in fitting)
    raise stream.fault("which-scale", *options, start=0, end=len(stream.typed))


def _plausible(n: Fraction, scale: str) -> bool:
    return n < BAUME_MODULUS and GRAVITY_MIN <= _sg(n, scale) <= GRAVITY_MAX


def _limits(scale: str) -> str:
    low, high = on_scale(GRAVITY_MIN, scale), on_scale(GRAVITY_MAX, scale)
    return _WRITTEN[scale].format(f"{max(0, round(float(low), 2)):g} to {float(high):.3g}")
