"""A temperature with its scale, where it lies in what a studio has: "68 F", "20 °C"."""

from fractions import Fraction
from typing import Final

from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.names import ENGLISH, Language
from coop.units.quantity import Quantity
from coop.units.table import TEMPERATURE, UNITS

LOW_C: Final = 5
HIGH_C: Final = 40
"""What rooms, baths and sizes have; a size at 20 F is ice: common practice, no source."""
_OTHER = {"celsius": "fahrenheit", "fahrenheit": "celsius"}


def read_temperature(
    typed: str, low_c: float = LOW_C, high_c: float = HIGH_C, *, words: Language = ENGLISH
) -> Quantity:
    """
    Read a temperature, which must name its scale.

    Args:
        typed: At most 80 characters.
        low_c: The lowest that makes sense here [degree Celsius].
        high_c: The highest.
        words: The tongue it is written in.

    Raises:
        NotUnderstood: "other-scale" where it makes no sense, and the same number on the
            other scale would; "too-cold-or-hot" where neither does; "which-unit" where no
            scale is named.

    >>> read_temperature("68 F").base
    Fraction(20, 1)
    """
    try:
        found = read_amount(typed, None, TEMPERATURE, words=words)
    except NotUnderstood as fault:
        if fault.code != "unit-missing":
            raise
        raise NotUnderstood("which-unit", fault.part, fault.where, tuple(_OTHER)) from None
    if not low_c <= found.base <= high_c:
        raise _implausible(found, low_c, high_c)
    return found


def _implausible(found: Quantity, low_c: float, high_c: float) -> NotUnderstood:
    """Say what it is on the other scale, and what would be right."""
    other = _OTHER[found.unit]
    swapped = Quantity("", found.n, other)
    where, is_other = (0, len(found.typed)), _text(found.base, other)
    if low_c <= swapped.base <= high_c:
        meant = _text(swapped.base, other)
        return NotUnderstood("other-scale", found.typed, where, (is_other, meant))
    limits = (_text(Fraction(limit), found.unit) for limit in (low_c, high_c))
    return NotUnderstood("too-cold-or-hot", found.typed, where, (is_other, *limits))


def _text(base_c: Fraction, unit: str) -> str:
    scale = UNITS[unit]
    return f"{round(float((base_c - scale.offset) / scale.factor), 1):g} {scale.one}"
