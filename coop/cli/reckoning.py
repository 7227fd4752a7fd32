"""What the questions of `coop reckon` share: the question, readers of figures and amounts."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.number import read_number
from coop.units.quantity import Quantity

Answer = dict[str, Any]
DECIMALS = 4


class Question(NamedTuple):
    """A thing to reckon: what it is, its arguments, its sum, its cautions, its lines."""

    told: str
    ask: Callable[[ArgumentParser], None]
    answer: Callable[[Namespace], Answer]
    act: str
    tell: Callable[[Answer], list[str]]


def figure(low: float, high: float) -> Callable[[str], float]:
    """Return a reader of numbers from `low` to `high`, with comma or point."""

    def read(typed: str) -> float:
        try:
            least, most = Fraction(str(low)), Fraction(str(high))
            return float(read_number(typed, low=least, high=most))
        except NotUnderstood as why:
            if why.code == "out-of-range":
                raise ArgumentTypeError(str(why)) from why
            raise ArgumentTypeError(f"{why}; a number from {low:g} to {high:g}") from why

    return read


def whole(low: int, high: int) -> Callable[[str], int]:
    """Return a reader of whole numbers from `low` to `high`."""

    def read(typed: str) -> int:
        if typed.isascii() and typed.isdigit() and low <= int(typed[:9]) <= high:
            return int(typed)
        raise ArgumentTypeError(f"{typed!r} is no whole number from {low} to {high}")

    return read


def amount(given: Namespace, name: str, dimension: str) -> Quantity:
    """Read an argument as people write amounts; a bare gallon wants --kinds."""
    typed = getattr(given, name)
    try:
        return read_amount(typed, getattr(given, "kinds", None), dimension)
    except NotUnderstood as why:
        hint = "; say --kinds" if why.code == "which-kind" else ""
        raise ValueError(f"--{name.replace('_', '-')}: {why}{hint}") from why


def in_ml(given: Namespace, name: str) -> float:
    """Read an argument as a volume [mL]."""
    return float(amount(given, name, "volume").base)


def in_celsius(given: Namespace, name: str) -> float:
    """Read an argument as a temperature [deg C]."""
    return float(amount(given, name, "temperature").base)


def rounded(number: float) -> float:
    """Return a figure with as many decimals as an answer carries."""
    return round(number, DECIMALS)
