"""Amounts in a row of tokens: number, heap, system, unit; compounds and ranges of them."""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from coop.units.fault import NotUnderstood
from coop.units.kinds import (
    FAMILIES,
    FLUID_OUNCE,
    HEAPABLE,
    OUNCE,
    SPOONS,
    Kinds,
    Name,
)
from coop.units.names import Words
from coop.units.number import take_minus, take_number
from coop.units.quantity import UNSAID, Quantity
from coop.units.stream import NUMERAL, SIGN, Span, Stream
from coop.units.table import TEMPERATURE, UNITS

_WEIGHED = frozenset({"oz", "lb", "g", "kg"})
_SIGNS = {"%": "percent", '"': "inch", "″": "inch"}
PARTS_MAX: Final = 4
"""The most units that add up to one amount, as in "1 lb 4 oz"."""
_ADDED = (
    frozenset({"lb", "oz"}),
    frozenset({"kg", "g", "mg"}),
    frozenset({"l", "dl", "cl", "ml"}),
    frozenset({"m", "cm", "mm"}),
    frozenset(FAMILIES) | SPOONS,
)
"""Families whose amounts are said together, as in "1 lb 4 oz" or "1 gal 2 qt"."""
_COMMA_PAIRS = frozenset({("lb", "oz"), ("kg", "g")})
_SIZES = Kinds(gallon="us", cup="us", spoon="us", ounce="mass")


@dataclass(frozen=True, slots=True)
class Part:
    """A number of one named unit."""

    n: Fraction
    name: Name
    heap: str


@dataclass(frozen=True, slots=True)
class Said:
    """
    An amount as said, its kinds not settled: parts that add up, `upto` the end of a range.

    `water` tells that the words after it said "water".
    """

    parts: tuple[Part, ...]
    typed: str
    start: int
    end: int
    upto: "Said | None" = None
    water: bool = False

    @property
    def dimension(self) -> str:
        """The dimension of the first part."""
        return self.parts[0].name.dimension

    @property
    def names(self) -> tuple[Name, ...]:
        """Every name in it."""
        return tuple(part.name for part in self.parts) + (self.upto.names if self.upto else ())

    def quantity(self, kinds: Kinds) -> Quantity:
        """Return its quantity; several parts are one number of the smallest, the last."""
        last = self.parts[-1].name.unit(kinds)
        if len(self.parts) == 1:
            return Quantity(self.typed, self.parts[0].n, last, self.parts[0].heap)
        base = sum(
            (part.n * UNITS[part.name.unit(kinds)].factor for part in self.parts), Fraction(0)
        )
        return Quantity(self.typed, base / UNITS[last].factor, last)


def take_said(stream: Stream, *, one_unsaid: bool = False, alone: bool = False) -> Said:
    """
    Take an amount or a range; with `one_unsaid` a bare "gallon" is one gallon.

    With `alone` no further unit is added to it: "gallon 8 tbsp" are two amounts.

    Raises:
        NotUnderstood: There is none, or it has a flaw.
    """
    start = stream.start()
    heap = _take_heap(stream)
    negative = take_minus(stream)
    percent = _take_percent_first(stream)
    n = take_number(stream)
    if n is None and one_unsaid and not negative:
        n = Fraction(1)
    if n is None:
        raise _no_number(stream)
    top = _take_top(stream)
    n = -n if negative else n
    part = Part(n, Name("percent"), heap) if percent else _take_part(stream, n, heap)
    _take_suffix(stream)
    _refuse_negative(stream, part, start)
    if top is not None:
        low = Said((part,), stream.typed[start : stream.end()], start, stream.end())
        return _ranged(stream, low, replace(low, parts=(replace(part, n=top),)))
    return _take_more(stream, part, start, 1 if alone else PARTS_MAX)


def _take_percent_first(stream: Stream) -> bool:
    """Take the sign of "%3", or the word, as some tongues write it."""
    following = stream.peek(1)
    first = stream.sees("%") or stream.word() in stream.words.percent_first
    if not first or following is None or following.kind != NUMERAL:
        return False
    stream.take("unit")
    return True


def _no_number(stream: Stream) -> NotUnderstood:
    if stream.ended() or stream.sees("/") or stream.sees("-"):
        return stream.fault("number-missing")
    known = stream.phrase(stream.words.systems) or stream.phrase(stream.words.units)
    return stream.fault("number-missing") if known else stream.unknown()


def _refuse_negative(stream: Stream, part: Part, start: int) -> None:
    if part.n < 0 and part.name.dimension != TEMPERATURE:
        raise stream.fault("negative", start=start, end=stream.end())


def _take_top(stream: Stream) -> Fraction | None:
    """Take the "-70" or "to 70" of a range whose unit comes only once."""
    if not (stream.sees("-") or stream.word() == stream.words.to):
        return None
    mark = stream.mark()
    stream.take("range")
    top = take_number(stream)
    if top is None:
        stream.rewind(mark)
    return top


def _ranged(stream: Stream, low: Said, high: Said) -> Said:
    if low.dimension != high.dimension or _size(low) >= _size(high):
        raise stream.fault("range-backwards", start=low.start, end=high.end)
    typed = stream.typed[low.start : high.end]
    return replace(low, typed=typed, end=high.end, upto=replace(high, typed=typed))


def ranged(stream: Stream, low: Said, high: Said) -> Said:
    """Return the range from one amount to another, for "60 g to 70 g"."""
    if low.upto or high.upto:
        raise stream.fault("range-backwards", start=low.start, end=high.end)
    return _ranged(stream, low, high)


def _size(said: Said) -> Fraction:
    return said.quantity(_SIZES).base


def _take_more(stream: Stream, first: Part, start: int, most: int) -> Said:
    """Take the further parts of a compound, and the far end of "60 g - 70 g"."""
    parts = [first]
    while len(parts) < most and not is_water(stream):
        following = _take_next_part(stream, parts[-1])
        if following is None:
            break
        parts.append(following)
    end = stream.end()
    said = Said(tuple(parts), stream.typed[start:end], start, end)
    if stream.sees("-"):
        stream.take("range")
        return ranged(stream, said, take_said(stream))
    return said


def _take_next_part(stream: Stream, before: Part) -> Part | None:
    mark, start = stream.mark(), stream.start()
    comma = stream.sees(",")
    joined = comma or stream.sees("+") or stream.sees("&")
    joined = joined or stream.word() in stream.words.and_words
    if joined:
        stream.take("joiner")
    heap = _take_heap(stream)
    n = None if stream.word() in stream.words.articles else take_number(stream)
    if n is None:
        stream.rewind(mark)
        return None
    part = _take_part(stream, n, heap)
    _take_suffix(stream)
    if is_water(stream):
        stream.rewind(mark)
        return None
    if part.name.family == OUNCE and before.name.dimension == "mass":
        part = replace(part, name=Name("oz"))
    if comma and (before.name.family, part.name.family) not in _COMMA_PAIRS:
        stream.rewind(mark)
        return None
    _refuse_sum(stream, before, part, start)
    return part


def _refuse_sum(stream: Stream, before: Part, part: Part, start: int) -> None:
    """Refuse what does not add up: two kinds of measure, the smaller first, heaps."""
    families = {before.name.family, part.name.family}
    alike = any(families <= group for group in _ADDED)
    if not alike or before.heap or part.heap or _unit_size(before) <= _unit_size(part):
        raise stream.fault("not-one-amount", start=start, end=stream.end())


def is_water(stream: Stream) -> bool:
    """Say whether the end of an amount, or the word behind it, makes it the water of a dose."""
    words = stream.words
    if not words.datives:
        return False
    ahead = 1 if stream.word() in words.water else 0
    ends = {stream.last_word(), stream.word() if ahead else ""} & words.datives
    return bool(ends) or stream.word(ahead) in words.postpositions


def _take_suffix(stream: Stream) -> None:
    """Take the "'ye" of "L'ye"."""
    if stream.sees("'") and stream.word(1) in stream.words.suffixes:
        stream.take("joiner", 2)


def _unit_size(part: Part) -> Fraction:
    return UNITS[part.name.unit(_SIZES)].factor


def _take_part(stream: Stream, n: Fraction, heap: str) -> Part:
    """Take heap, system and unit after a number, and what follows to say which is meant."""
    heap = heap or _take_heap(stream)
    system = _take_system(stream)
    heap = heap or _take_heap(stream)
    start = stream.start()
    name = Name(_take_family(stream), "")
    name = _take_ounce(stream, name)
    system = system or _take_bracket_system(stream)
    name = _with_system(stream, name, system, start)
    heap = heap or _take_late_heap(stream)
    if heap and name.family not in HEAPABLE:
        raise stream.fault("heap-on-what", start=start, end=stream.end())
    return Part(n, name, heap)


def _take_heap(stream: Stream) -> str:
    heap = stream.words.heaps.get(stream.word(), UNSAID)
    if heap:
        stream.take("heap")
    return heap


def _take_system(stream: Stream) -> str:
    phrase = stream.phrase(stream.words.systems)
    if phrase:
        stream.take("system", len(phrase))
    return stream.words.systems.get(phrase, "")


def _take_family(stream: Stream) -> str:
    """Take the name of a unit; words that may be several are refused, not guessed."""
    if stream.sees("-") and stream.end() == stream.start():
        stream.take("joiner")
    token = stream.peek()
    if token is None:
        raise _end_after_number(stream)
    if token.kind == SIGN and token.text in _SIGNS:
        stream.take("unit")
        return _SIGNS[token.text]
    phrase = _unit_phrase(stream)
    bare = token.bare.upper() if stream.degrees else token.bare
    exact = stream.words.exact_case.get(bare) if stream.single else None
    if exact is not None:
        stream.take("unit")
        return exact
    if len(phrase) < 2 and (sure := _sure(stream, token.bare or token.text)):
        stream.take("unit")
        return sure
    if not phrase:
        raise _no_unit(stream)
    stream.take("unit", len(phrase))
    return stream.words.units[phrase]


def _unit_phrase(stream: Stream) -> Words:
    """Return the words of a unit; in a dose "in" is no inch."""
    phrase = stream.phrase(stream.words.units)
    return () if phrase in stream.words.separators and not stream.single else phrase


def _sure(stream: Stream, bare: str) -> str:
    """Return what an unsure word means in a dose, where nothing is a temperature; else ask."""
    unsure = stream.words.unsure
    options = unsure.get(bare) or unsure.get(bare.lower()) or unsure.get(stream.word()) or ()
    if not stream.single:
        options = tuple(one for one in options if one not in ("celsius", "fahrenheit"))
    if len(options) > 1:
        raise stream.fault("which-unit", *options)
    return options[0] if options else ""


def _no_unit(stream: Stream) -> NotUnderstood:
    if stream.sees(":") or stream.word() in stream.words.parts or separates(stream):
        return _ratio(stream)
    if stream.sees("/") or stream.sees(")"):
        return stream.fault("unit-missing")
    return stream.unknown()


def _end_after_number(stream: Stream) -> NotUnderstood:
    *_, before, _ = (Span(0, 0, ""), *stream.spans)
    if stream.typed[before.start : before.end].lower() == stream.words.to:
        return _ratio(stream)
    return stream.fault("unit-missing", start=0)


def _ratio(stream: Stream) -> NotUnderstood:
    return stream.fault("ratio-of-what", "1 g to 8 mL", "8 g/L", start=0, end=len(stream.typed))


def separates(stream: Stream) -> bool:
    """Say whether a word like "per" comes next."""
    return bool(stream.phrase(stream.words.separators))


def _take_ounce(stream: Stream, name: Name) -> Name:
    """Take what says whether an ounce is one of weight or of volume."""
    bracket = 1 if stream.sees("(") else 0
    mark = stream.mark()
    if bracket:
        stream.take("bracket")
    weight = stream.phrase(stream.words.by_weight)
    volume = stream.phrase(stream.words.by_volume)
    fits = name.family == OUNCE or (weight and name.family in _WEIGHED)
    if not (weight or volume) or not fits:
        stream.rewind(mark)
        return name
    stream.take("kind", len(weight or volume))
    if bracket and not stream.sees(")"):
        raise stream.fault("bracket")
    if bracket:
        stream.take("bracket")
    if name.family != OUNCE:
        return name
    return Name("oz" if weight else FLUID_OUNCE)


def _take_bracket_system(stream: Stream) -> str:
    """Take "(US)" after a unit."""
    if not stream.sees("("):
        return ""
    mark = stream.mark()
    stream.take("bracket")
    system = _take_system(stream)
    if system and stream.sees(")"):
        stream.take("bracket")
        return system
    stream.rewind(mark)
    return ""


def _take_late_heap(stream: Stream) -> str:
    """Take "heaped", ", heaped" or "(heaped)" after a unit."""
    heaps = stream.words.heaps
    bracket, comma = stream.sees("("), stream.sees(",")
    if bracket and stream.word(1) in heaps and stream.sees(")", 2):
        heap = heaps[stream.word(1)]
        stream.take("heap", 3)
        return heap
    if comma and stream.word(1) in heaps:
        stream.take("heap")
    return _take_heap(stream)


def _with_system(stream: Stream, name: Name, system: str, start: int) -> Name:
    """Give a name its system, if there is such a unit."""
    if not system:
        return name
    if name.family == OUNCE and system in FAMILIES[FLUID_OUNCE]:
        return Name(OUNCE, system)
    units = FAMILIES.get(name.family, {})
    if system in units:
        return Name(name.family, system)
    if system == "uk" and units:
        raise stream.fault(
            "which-kind", units["metric"], units["imp"], start=start, end=stream.end()
        )
    options = tuple(dict.fromkeys(units.values())) or (name.family,)
    raise stream.fault("no-such-unit", *options, start=start, end=stream.end())
