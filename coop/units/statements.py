"""From the rates of a sentence to statements: what is powder, what is water, in which kinds."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, product
from typing import Final

from coop.units.kinds import FLUID_OUNCE, OUNCE, QUESTIONS, Kinds, Name
from coop.units.quantity import Quantity
from coop.units.said import Part, Said
from coop.units.sentence import Rate
from coop.units.stream import Stream
from coop.units.strength import DISAGREE_OVER, Bulk, Statement, apart, state
from coop.units.table import MASS, RATIO, VOLUME

STRENGTH_MAX_G_PER_L: Final = 1000
"""Above this a dose is a slip of the pen: aluminium sulfate dissolves at 870 g/L (20 C,
ILO ICSC 1191), and nothing in the studio dissolves better."""
STATEMENTS_DISAGREE: Final = "statements-disagree"
WATERS_DISAGREE: Final = "waters-disagree"
CONTRADICTIONS: Final = frozenset({STATEMENTS_DISAGREE, WATERS_DISAGREE})
"""Every code of a `Contradiction`."""
PERCENT_ML: Final = 100
"""Percent is read as grams in this much water."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """
    Two statements that do not say the same.

    `code` is one of `CONTRADICTIONS`; `between` are the indices of the
    two furthest apart; `apart` is |a - b| / the larger, more than `DISAGREE_OVER`.
    """

    code: str
    between: tuple[int, int]
    apart: Fraction


def checked(stream: Stream, rate: Rate) -> Rate:
    """
    Return the rate with powder and water the right way round and its water a volume.

    Raises:
        NotUnderstood: It is no dose of a powder in water.
    """
    if rate.water and rate.amounts[0].water and not rate.water[0].water:
        rate = Rate(rate.water, rate.separator, rate.amounts)
    if rate.water and all(_is_mass(one) for one in rate.water) and _is_volume(rate.amounts[0]):
        options = (f"{rate.water[0].typed} {rate.separator} {rate.amounts[0].typed}",)
        raise _fault(stream, "wrong-way-round", rate.amounts[0], *options)
    for said in (*rate.amounts, *rate.water):
        _refuse_zero(stream, said)
    for said in rate.amounts:
        _refuse_no_powder(stream, said, rate)
        _refuse_no_water(stream, said, rate)
    bare = any(name.family == OUNCE for said in rate.water for name in said.names)
    water = tuple(_as_water(stream, said) for said in rate.water)
    return replace(rate, water=water, bare_ounces=bare)


def _fault(stream: Stream, code: str, said: Said, *options: str) -> Exception:
    return stream.fault(code, *options, start=said.start, end=said.end)


def _is_mass(said: Said) -> bool:
    return said.dimension == MASS


def _is_volume(said: Said) -> bool:
    return said.dimension == VOLUME


def _refuse_zero(stream: Stream, said: Said) -> None:
    if not sum(part.n for part in said.parts):
        raise _fault(stream, "zero", said)


def _refuse_no_powder(stream: Stream, said: Said, rate: Rate) -> None:
    if said.dimension not in (MASS, VOLUME, "mass or volume", RATIO):
        raise _fault(stream, "wrong-dimension", said, MASS, VOLUME)
    if said.dimension == RATIO and rate.water:
        raise _fault(stream, "percent-of-what", said)


def _refuse_no_water(stream: Stream, said: Said, rate: Rate) -> None:
    """Refuse a percentage of the whole that leaves more powder than water."""
    most = (said.upto or said).parts[0].n
    if rate.of_whole and 2 * most > PERCENT_ML:
        raise _fault(stream, "too-strong", said, str(STRENGTH_MAX_G_PER_L))


def _as_water(stream: Stream, said: Said) -> Said:
    """Return water as a volume: ounces are fluid, grams are millilitres if "water" is said."""
    heaps = any(part.heap for part in said.parts)
    if heaps:
        raise _fault(stream, "heap-on-what", said)
    if said.dimension == MASS and not said.water:
        raise _fault(stream, "water-by-weight", said)
    if said.dimension not in (MASS, VOLUME, "mass or volume"):
        raise _fault(stream, "wrong-dimension", said, VOLUME)
    parts = tuple(_fluid(part) for part in said.parts)
    upto = _as_water(stream, replace(said.upto, water=said.water)) if said.upto else None
    return replace(said, parts=parts, upto=upto)


def _fluid(part: Part) -> Part:
    if part.name.family != OUNCE:
        return part
    return replace(part, name=Name(FLUID_OUNCE, part.name.system))


def questions_of(rates: Iterable[Rate]) -> tuple[str, ...]:
    """Return which of the `QUESTIONS` the names in the rates leave open, in their order."""
    names = [
        name for rate in rates for said in (*rate.amounts, *rate.water) for name in said.names
    ]
    asked = {question for name in names for question in name.questions}
    return tuple(question for question in QUESTIONS if question in asked)


def statements_of(
    stream: Stream, rates: Iterable[Rate], kinds: Kinds, bulk: Bulk
) -> tuple[Statement, ...]:
    """Return every way in which the dose is said, in these kinds."""
    return tuple(
        _statement(stream, rate, amount, water, kinds, bulk)
        for rate in rates
        for amount, water in _pairs(rate)
    )


def refuse_too_strong(stream: Stream, statements: Iterable[Statement]) -> None:
    """
    Refuse what is stronger than anything dissolves.

    Raises:
        NotUnderstood: "too-strong".
    """
    if any(one.g_per_l.middle > STRENGTH_MAX_G_PER_L for one in statements):
        limit = str(STRENGTH_MAX_G_PER_L)
        raise stream.fault("too-strong", limit, start=0, end=len(stream.typed))


def _pairs(rate: Rate) -> Iterable[tuple[Said, Said | None]]:
    """Pair amounts with waters: one to one if as many of each are said, else each with each."""
    if not rate.water:
        return [(amount, None) for amount in rate.amounts]
    if len(rate.amounts) == len(rate.water):
        return zip(rate.amounts, rate.water, strict=True)
    return product(rate.amounts, rate.water)


def _statement(
    stream: Stream, rate: Rate, amount: Said, water: Said | None, kinds: Kinds, bulk: Bulk
) -> Statement:
    powder, powder_upto = _ends(amount, kinds)
    if water is None:
        grams, grams_upto = _grams(powder), _grams(powder_upto)
        assert grams is not None
        per, per_upto = _percent_water(rate, grams, grams_upto)
        return state(amount.typed, grams, grams_upto, per, per_upto, bulk)
    liquid, liquid_upto = (_millilitres(one) for one in _ends(water, kinds))
    assert powder is not None
    assert liquid is not None
    typed = _typed(stream, rate, amount, water)
    return state(typed, powder, powder_upto, liquid, liquid_upto, bulk)


def _ends(said: Said, kinds: Kinds) -> tuple[Quantity | None, Quantity | None]:
    return said.quantity(kinds), said.upto.quantity(kinds) if said.upto else None


def _grams(percent: Quantity | None) -> Quantity | None:
    return percent and replace(percent, unit="g")


def _percent_water(
    rate: Rate, grams: Quantity, upto: Quantity | None
) -> tuple[Quantity, Quantity | None]:
    """Return the water of a percentage; of a range of the whole, from little to much."""
    per = Quantity("", Fraction(PERCENT_ML), "ml")
    if not rate.of_whole:
        return per, None
    most = replace(per, n=per.n - grams.n)
    return (replace(per, n=per.n - upto.n), most) if upto else (most, None)


def _millilitres(water: Quantity | None) -> Quantity | None:
    """Return weighed water as a volume, at 1 g/mL (0.2 % off at 20 C)."""
    if water is None or water.dimension == VOLUME:
        return water
    return Quantity(water.typed, water.base, "ml")


def _typed(stream: Stream, rate: Rate, amount: Said, water: Said) -> str:
    if len(rate.amounts) == len(rate.water) == 1:
        start, end = min(amount.start, water.start), max(amount.end, water.end)
        return stream.typed[start:end]
    return " ".join(part for part in (amount.typed, rate.separator, water.typed) if part)


def contradiction_of(
    rates: Iterable[Rate], statements: tuple[Statement, ...]
) -> Contradiction | None:
    """Return the worst disagreement over 5 %, None if all say the same."""
    pairs = list(combinations(range(len(statements)), 2))
    found = [(STATEMENTS_DISAGREE, pair, apart(*_two(statements, pair))) for pair in pairs]
    zipped = any(len(rate.water) == len(rate.amounts) > 1 for rate in rates)
    if zipped:
        restated = [pair for pair in pairs if _restates_water(rates, statements, pair)]
        found += [
            (WATERS_DISAGREE, pair, _waters_apart(*_two(statements, pair))) for pair in restated
        ]
    code, between, gap = max(found, key=lambda one: one[2], default=("", (0, 0), Fraction(0)))
    return Contradiction(code, between, gap) if gap > DISAGREE_OVER else None


def _two(
    statements: tuple[Statement, ...], pair: tuple[int, int]
) -> tuple[Statement, Statement]:
    return statements[pair[0]], statements[pair[1]]


def _restates_water(
    rates: Iterable[Rate], statements: tuple[Statement, ...], pair: tuple[int, int]
) -> bool:
    """Say whether one rate gives the waters of both statements."""
    waters = {statement.water.typed for statement in _two(statements, pair)}
    return any(
        len(rate.water) > 1 and waters <= {said.typed for said in rate.water} for rate in rates
    )


def _waters_apart(one: Statement, other: Statement) -> Fraction:
    little, much = sorted((one.water.base, other.water.base))
    return (much - little) / much
