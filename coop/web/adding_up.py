"""Amounts printed so that the lines of a table add up: one unit, the same decimals."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from coop.ledger.accounts import QUARTERS, UG_PER_G, UL_PER_ML
from coop.ledger.measure import bare_spoon
from coop.ledger.states import LotState
from coop.web.amounts import VOLUMES, WEIGHTS, Scale, largest
from coop.web.i18n import N_, Words
from coop.web.powder import LIQUID

MINUS = "\u2212"
DECIMALS_MAX: Mapping[str, int] = MappingProxyType(
    {"weight": 1, "volume": 1, "sheets": 2, "pieces": 0}
)
"""By the measure of a lot: a tenth of a gram or mL, a quarter of a sheet."""


def adding_up(amounts: Iterable[Fraction]) -> Iterator[int]:
    """
    Give each amount as a whole number, so that all come to their rounded sum.

    What rounding leaves over of the lines before is carried on, so none is off by one.

    >>> list(adding_up([Fraction(1, 3), Fraction(1, 3), Fraction(1, 3)]))
    [0, 1, 0]
    """
    total, said = Fraction(0), 0
    for amount in amounts:
        total += amount
        upto = round(total)
        yield upto - said
        said = upto


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """
    Prints amounts of a lot in the last decimal of one unit: grams, mL, sheets, pieces.

    `scale` is the unit of a member who chose US measures, of what is weighed or poured.
    """

    words: Words
    lot: LotState
    decimals: int
    scale: Scale | None

    def scaled(self, amount: int) -> Fraction:
        """Return an amount in the unit of the lot's rows in that of the last decimal."""
        one = Fraction(self.scale.one) if self.scale else 1
        return _in_unit(self.lot, amount) / one * int(10**self.decimals)

    def text(self, figure: int) -> str:
        """Say a whole number of the last decimal: '87.3 g', with a minus under zero."""
        sign = MINUS if figure < 0 else ""
        return sign + self._text(abs(figure) / 10**self.decimals)

    def _text(self, number: float) -> str:
        said = self.words.number(number, self.decimals)
        if self.scale is not None:
            return self.words.gettext(self.scale.text, n=said)
        match self.lot.measure:
            case "sheets":
                form = 1 if number == 1 else 2
                return self.words.ngettext(
                    "%(count)s full sheet", "%(count)s full sheets", form, count=said
                )
            case "pieces":
                return self.words.ngettext("%(num)d piece", "%(num)d pieces", int(number))
            case _:
                unit = _scales(self.lot)[1]
                return self.words.gettext(unit, n=said)


def printer(words: Words, lot: LotState, amounts: Iterable[int]) -> Printer:
    """Return what prints these amounts of a lot with as few decimals as they need."""
    numbers = [_in_unit(lot, amount) for amount in amounts]
    if words.us and lot.measure in ("weight", "volume"):
        biggest = max((abs(one) for one in numbers), default=Fraction(0))
        scale = largest(_scales(lot)[0], float(biggest))
        return Printer(words=words, lot=lot, decimals=scale.digits, scale=scale)
    most = DECIMALS_MAX[lot.measure]
    enough = (
        few for few in range(most) if all((one * 10**few).denominator == 1 for one in numbers)
    )
    return Printer(words=words, lot=lot, decimals=next(enough, most), scale=None)


def _scales(lot: LotState) -> tuple[tuple[Scale, ...], str]:
    """Return the US units of what is weighed or poured, and how its metric one is said."""
    if lot.measure == "weight" and lot.what != LIQUID:
        return WEIGHTS, N_("%(n)s g")
    return VOLUMES, N_("%(n)s mL")


def _in_unit(lot: LotState, amount: int) -> Fraction:
    match lot.measure:
        case "sheets":
            return Fraction(amount, QUARTERS["full"])
        case "volume":
            return Fraction(amount, UL_PER_ML)
        case "weight" if lot.what == LIQUID:
            return Fraction(amount, UG_PER_G) / Fraction(bare_spoon(lot.what)[0])
        case "weight":
            return Fraction(amount, UG_PER_G)
        case _:
            return Fraction(amount)
