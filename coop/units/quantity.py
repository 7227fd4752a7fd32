"""A quantity: what was typed, its exact number, its unit; and its form on the wire."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final, Self

from coop.units.fault import NotUnderstood
from coop.units.number import unwire, wire
from coop.units.stream import TEXT_MAX
from coop.units.table import TEMPERATURE, UNITS

UNSAID: Final = ""
LEVEL: Final = "level"
HEAPED: Final = "heaped"
ROUNDED: Final = "rounded"
SCANT: Final = "scant"
HEAPS: Final = frozenset({UNSAID, LEVEL, HEAPED, ROUNDED, SCANT})
FRACTION_SHOWN_MAX: Final = 16
"""The largest lower number of a fraction that is shown as one, though decimals say it too."""
_FRACTION = re.compile(r"[0-9]\s*/\s*[0-9]|[\u00bc-\u00be\u2150-\u215e]")
WIRE_KEYS: Final = frozenset({"typed", "n", "unit", "heap"})


@dataclass(frozen=True, slots=True)
class Quantity:
    """
    `n` of `unit` (a code of the table), as typed; `heap` is one of `HEAPS`.

    A heap does not change `base`: how much more a heaped spoon holds is no exact figure.
    """

    typed: str
    n: Fraction
    unit: str
    heap: str = UNSAID
    _base: Fraction | None = field(default=None, init=False, repr=False, compare=False)

    @property
    def dimension(self) -> str:
        """What is measured: volume, mass, length, area, temperature, count or ratio."""
        return UNITS[self.unit].dimension

    @property
    def base(self) -> Fraction:
        """The number in the dimension's base unit (mL, g, mm, m2, degree Celsius ...)."""
        if self._base is not None:
            return self._base
        unit = UNITS[self.unit]
        scaled = self.n * unit.factor
        base = scaled + unit.offset if unit.offset else scaled
        object.__setattr__(self, "_base", base)  # a fold asks for it four times an entry
        return base

    def to_wire(self) -> dict[str, str]:
        """Return the strings that are stored; what is empty is left out."""
        said = {
            "typed": self.typed,
            "n": wire(self.n),
            "unit": self.unit,
            "heap": self.heap,
        }
        return {key: value for key, value in said.items() if value}

    @classmethod
    def from_wire(cls, raw: Mapping[str, object]) -> Self:
        """
        Return the quantity that `to_wire` wrote.

        Raises:
            NotUnderstood: "not-on-the-wire", with the key in question as its part;
                "negative" for anything below nothing but a temperature.
        """
        said: dict[str, str] = {}
        for key, value in raw.items():
            if key not in WIRE_KEYS or not isinstance(value, str) or not value:
                raise _not_on_the_wire(str(key))
            said[key] = value
        unit, heap, typed = said.get("unit", ""), said.get("heap", ""), said.get("typed", "")
        if unit not in UNITS:
            raise _not_on_the_wire("unit")
        if heap not in HEAPS:
            raise _not_on_the_wire("heap")
        if len(typed) > TEXT_MAX or not typed.isprintable():
            raise _not_on_the_wire("typed")
        n = unwire(said.get("n", ""))
        if n < 0 and UNITS[unit].dimension != TEMPERATURE:
            raise NotUnderstood("negative", said["n"], (0, len(said["n"])))
        return cls(typed, n, unit, heap)


def _not_on_the_wire(key: str) -> NotUnderstood:
    return NotUnderstood("not-on-the-wire", key[:TEXT_MAX], (0, 0), tuple(sorted(WIRE_KEYS)))


def text(quantity: Quantity) -> str:
    """
    Return a quantity in metric symbols and English names, one form for each.

    >>> text(Quantity("8 T.", Fraction(8), "us_tbsp", "heaped"))
    '8 heaped US tablespoons'
    """
    unit = UNITS[quantity.unit]
    name = unit.one if abs(quantity.n) <= 1 else unit.many
    return " ".join(part for part in (_figure(quantity), quantity.heap, name) if part)


def _figure(quantity: Quantity) -> str:
    """Return the number as a fraction where it was typed as one: '1/4', '2 1/2'."""
    n = quantity.n
    if not _FRACTION.search(quantity.typed) or not 1 < n.denominator <= FRACTION_SHOWN_MAX:
        return number_text(n)
    return _mixed(n)


def range_text(quantity: Quantity, upto: Quantity | None) -> str:
    """
    Return a quantity, or a range of them, its unit said once where it is the same.

    >>> gram = Quantity("60", Fraction(60), "g")
    >>> range_text(gram, Quantity("70", Fraction(70), "g")), range_text(gram, None)
    ('60 to 70 g', '60 g')
    """
    if upto is None:
        return text(quantity)
    alike = (quantity.unit, quantity.heap) == (upto.unit, upto.heap)
    return f"{_figure(quantity) if alike else text(quantity)} to {text(upto)}"


def number_text(n: Fraction) -> str:
    """
    Return a number for people: '0.5', '2 2/3', never one that may be taken for thousands.

    >>> number_text(Fraction(8, 3)), number_text(Fraction('1.375'))
    ('2 2/3', '1.3750')
    """
    written = wire(n)
    if "/" in written:
        return _mixed(n)
    before, _, decimals = written.partition(".")
    grouped = len(decimals) == 3 and 1 <= len(before.lstrip("-")) <= 3
    return f"{written}0" if grouped and before.lstrip("-") != "0" else written


def _mixed(n: Fraction) -> str:
    whole, rest = divmod(abs(n), 1)
    sign = "-" if n < 0 else ""
    return f"{sign}{int(whole)} {rest}" if whole else f"{sign}{rest}"
