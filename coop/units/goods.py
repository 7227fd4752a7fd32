"""
A dose by the weight of the cloth: "15 % of the dry weight", "8 % owg".

It is no dose in water: how much powder it comes to, the dry cloth says, whatever the litres.
"""

from dataclasses import dataclass
from fractions import Fraction

from coop.units.kinds import Kinds
from coop.units.names import ENGLISH, Language
from coop.units.quantity import Quantity
from coop.units.said import Said, take_said
from coop.units.stream import Stream
from coop.units.table import RATIO

_NO_KINDS = Kinds(gallon="us", cup="us", spoon="us")
GOODS_MAX_PERCENT = 100
"""A heavier dose than the cloth itself is a slip of the pen: our own choice."""


@dataclass(frozen=True, slots=True)
class GoodsDose:
    """Grams of powder for a gram of dry cloth, from `low` to `high`, more than 0 to 1."""

    typed: str
    low: Fraction
    high: Fraction

    @property
    def middle(self) -> Fraction:
        """Half way from low to high."""
        return (self.low + self.high) / 2

    def powder_g(self, goods: Quantity) -> Fraction:
        """
        Return the grams of powder for so much dry cloth, by the middle of the range.

        >>> cotton = Quantity("500 g", Fraction(500), "g")
        >>> read_goods_dose("15 % of the dry weight").powder_g(cotton)
        Fraction(75, 1)
        """
        return self.middle * goods.base


def read_goods_dose(typed: str, *, words: Language = ENGLISH) -> GoodsDose:
    """
    Read a dose by the weight of the cloth.

    Args:
        typed: At most 80 characters.
        words: The tongue it is written in.

    Raises:
        NotUnderstood: It is none; "percent-of-what" for a percentage of something else.

    >>> read_goods_dose("8 % owg").middle
    Fraction(2, 25)
    """
    stream = Stream(typed, words=words)
    before = take_goods(stream)
    while stream.word() in words.asides:
        stream.take("aside")
    if stream.sees(":") and stream.end():
        stream.take("punctuation")
    said = take_said(stream)
    if said.dimension != RATIO:
        raise stream.fault("wrong-dimension", RATIO, start=said.start, end=said.end)
    if not take_goods(stream) and not before:
        raise stream.fault("percent-of-what", start=said.start, end=len(stream.typed))
    if not stream.ended():
        raise stream.unknown()
    return _dose(stream, said)


def take_goods(stream: Stream, before: frozenset[str] = frozenset()) -> bool:
    """
    Take words like "of the dry weight of the cloth"; nothing is taken if they are not.

    `before` are words that were taken already.
    """
    words, mark = stream.words, stream.mark()
    known = words.goods | words.of_goods | words.weight | words.asides
    said = set(before)
    while stream.word() in known:
        said.add(stream.take("goods").word)
    dry_weight = words.dry in said and not said.isdisjoint(words.weight)
    if said.isdisjoint(words.goods) and not dry_weight:
        stream.rewind(mark)
        return False
    return True


def _dose(stream: Stream, said: Said) -> GoodsDose:
    low, high = (one.quantity(_NO_KINDS).base for one in (said, said.upto or said))
    if not 0 < low <= high <= Fraction(GOODS_MAX_PERCENT, 100):
        limits = f"0 to {GOODS_MAX_PERCENT}"
        raise stream.fault("out-of-range", limits, start=said.start, end=said.end)
    return GoodsDose(stream.typed, low, high)
