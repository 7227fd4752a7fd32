"""What the questions of `coop reckon` share: the question, readers of figures and amounts."""

import re
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from typing import Any, NamedTuple

from coop.actions.read_dose import settle
from coop.actions.reckon import Range
from coop.actions.spoons import is_no_powder
from coop.cli.read import add_kinds
from coop.science import alum, water
from coop.science.defaults import value
from coop.units.amount import read_amount
from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.number import read_number
from coop.units.quantity import Quantity
from coop.units.strength import Bulk, Statement
from coop.units.table import UNITS

Answer = dict[str, Any]
DECIMALS = 4
PICKS_MAX = 20
SPOONS_MAX_G = 1_000


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


def in_bath_celsius(given: Namespace, name: str) -> float:
    """Read an argument as a temperature at which a hydrometer is read [deg C]."""
    found = in_celsius(given, name)
    low_c, high_c = water.WATER_MIN_C, water.WATER_MAX_C
    if not low_c <= found <= high_c:
        raise ValueError(
            f"--{name.replace('_', '-')}: must be from {low_c:g} to {high_c:g} C, "
            f"is {found:.4g} C"
        )
    return found


def add_salt(
    asked: ArgumentParser, name: str = "--salt", *, told: str = "which salt", default: str = ""
) -> None:
    """Ask for a salt by its code."""
    usual = f" (default: {default})" if default else ""
    asked.add_argument(
        name, choices=tuple(alum.SALTS), required=not default, default=default or None,
        metavar="SALT", help=f"{told}: {', '.join(alum.SALTS)}{usual}",
    )  # fmt: skip


def add_dose(asked: ArgumentParser, *, required: bool) -> None:
    """Ask for a dose as people write it, and how it is to be read."""
    asked.add_argument("--dose", required=required, help='as written: "8 tbsp per gallon"')
    asked.add_argument(
        "--pick", type=whole(1, PICKS_MAX), metavar="NUMBER",
        help="which reading of a card that says two things, from 1",
    )  # fmt: skip
    add_kinds(asked)


def stated(given: Namespace, bulk: Bulk) -> Statement:
    """Return what the dose says, of a powder of this bulk density."""
    reading = read_dose(given.dose, given.kinds, bulk)
    if given.pick is not None:
        if given.pick > len(reading.statements):
            raise ValueError(f"--pick: this dose has {len(reading.statements)} readings")
        reading = reading.picked(given.pick - 1)
    statement = settle(reading, "")
    if statement is None:
        raise ValueError(f"{given.dose}: not settled; see coop read, then --kinds or --pick")
    return statement


def bulk_of_spoons(ten_spoons_g: float, spoon: str) -> Bulk:
    """
    Return the bulk density of a powder of which ten level spoons were weighed.

    Raises:
        ValueError: No powder weighs so much.
    """
    if is_no_powder(ten_spoons_g / 10, spoon):
        each, name = f"{ten_spoons_g / 10:g}", UNITS[spoon].one
        raise ValueError(
            f"--ten-spoons-g: no powder weighs {each} g a level {name}. Ten spoons, or one? "
            "In grams?"
        )
    exact = Fraction(ten_spoons_g).limit_denominator(10**6) / 10 / UNITS[spoon].factor
    density = exact.limit_denominator(10**6)
    doubt = Fraction(str(value("lot_spoon_fraction")))
    return Bulk(density * (1 - doubt), density, density * (1 + doubt))


@contextmanager
def options(**named: str) -> Iterator[None]:
    """Say the arguments of a sum that was refused, `hot_c`, by their options, `--hot`."""
    try:
        yield
    except ValueError as why:
        told = (
            f"--{named[word]}" if word in named else word
            for word in re.split(r"(\W+)", str(why))
        )
        raise ValueError("".join(told)) from why


def ranged(found: Range) -> Answer:
    """Return a figure with its 90 % interval, rounded."""
    return {
        "low": rounded(found.low),
        "middle": rounded(found.middle),
        "high": rounded(found.high),
    }


def rounded(number: float) -> float:
    """Return a figure with as many decimals as an answer carries."""
    return round(number, DECIMALS)
