"""
The sentence of a dose: so much powder, a word like "per", so much water; said once or more.

    sentence = rate, {joiner, rate}, [dilution] ;
    rate = amounts, separator, water, {bracket} | amounts, ",", water, "water", {bracket}
         | [separator], water, ["takes"], amounts, {bracket} | weight, "=", water
         | percent | ratio ;
    amounts = amount, {"(" amount ")" | "or" amount | "=" amount} ;
    bracket = "(" ( amount | rate | asides, [dilution] ) ")" ;
    joiner = "=" | ";" | "," | "or" ;
    dilution = [ "," | ";" ], ["then"], "dilute", anything ;

Water comes first where it is marked: by an ending, by the word behind it, or by "per".

An amount in a bracket after the water restates the amount or the water, whichever it is
within a factor of two of; if neither or both, it is refused. How often a dose is said is
limited by the length of the text.
"""

from dataclasses import dataclass, replace
from typing import Final

from coop.units.fault import NotUnderstood
from coop.units.goods import take_goods
from coop.units.kinds import HEAPABLE, Kinds
from coop.units.ratio import take_ratio
from coop.units.said import Said, is_water, ranged, take_said
from coop.units.stream import Stream

DILUTION: Final = "dilution"
"""The role of the words that say that a dose is one to be diluted."""
PERCENT_OF_WATER = {("w", "v"), ("m", "v")}
PERCENT_OF_WHOLE = {("w", "w"), ("m", "m")}
_SIZES = Kinds(gallon="us", cup="us", spoon="us", ounce="fluid")


@dataclass(frozen=True, slots=True)
class Rate:
    """
    Amounts of powder that say the same, in waters that say the same; none for percent.

    `bare_ounces` tells that ounces of water were said without "fluid", `of_whole` that the
    percentage is one of powder and water together.
    """

    amounts: tuple[Said, ...]
    separator: str
    water: tuple[Said, ...]
    bare_ounces: bool = False
    of_whole: bool = False


def take_rates(stream: Stream) -> tuple[Rate, ...]:
    """
    Take the whole text as one or more rates.

    Raises:
        NotUnderstood: Anything in it is not understood.
    """
    rates = list(_take_rate(stream))
    while not (stream.ended() or _take_dilution(stream)):
        joined = _take_joiner(stream)
        _take_asides(stream)
        if stream.ended() and joined:
            break
        if not joined:
            raise stream.unknown()
        rates.extend(_take_rate(stream))
    return tuple(rates)


def _take_dilution(stream: Stream) -> bool:
    """Take "then dilute to taste", to the end or to a bracket's: how far, nobody reads."""
    words, mark = stream.words, stream.mark()
    if stream.sees(",") or stream.sees(";"):
        stream.take("joiner")
    while stream.word() in words.then:
        stream.take(DILUTION)
    if stream.word() not in words.dilute:
        stream.rewind(mark)
        return False
    while not (stream.ended() or stream.sees(")")):
        stream.take(DILUTION)
    return True


def _take_joiner(stream: Stream) -> bool:
    sign = any(stream.sees(sign) for sign in "=;,")
    if sign or stream.word() in stream.words.or_words:
        stream.take("joiner")
        return True
    return False


def _take_asides(stream: Stream) -> bool:
    """Take words that change no number; say whether one of them was "water"."""
    water, words = False, stream.words
    while True:
        if stream.word() in words.concentrate:
            stream.take(DILUTION)
        elif stream.word() in words.asides and len(stream.phrase(words.units)) < 2:
            water = stream.take("aside").word in words.water or water
        else:
            return water


def _take_rate(stream: Stream) -> tuple[Rate, ...]:
    """Take one rate, and the rates in brackets behind it."""
    if first := _take_water_named_first(stream):
        amounts = _take_amounts(stream, True)
        return _take_brackets(stream, Rate(amounts, "", (first,)))
    _take_opening(stream)
    if ratio := take_ratio(stream):
        _take_asides(stream)
        return _take_brackets(stream, Rate(ratio[:1], ":", ratio[1:]))
    water = _take_water_first(stream)
    amounts = _take_amounts(stream, water is not None)
    if water is not None:
        return _take_brackets(stream, Rate(amounts, "", (water,)))
    if amounts[0].dimension == "ratio":
        return (_percent(stream, amounts),)
    if _makes(stream, amounts):
        return (Rate(amounts[:1], "=", amounts[1:]),)
    separator, water = _take_per(stream)
    while _separates(stream):
        amounts = _more_amounts(stream, amounts, separator, water)
        separator, water = _take_per(stream)
    rate = Rate(amounts, separator, (water,))
    return _take_brackets(stream, rate)


def _take_water_named_first(stream: Stream) -> Said | None:
    """Take the water of "per gallon 8 tbsp" and "12 pints take 1 lb"; else None."""
    mark = stream.mark()
    leads = bool(stream.phrase(stream.words.separators))
    try:
        if leads:
            _take_separator(stream)
        said = take_said(stream, one_unsaid=leads, alone=leads)
        water = _with_asides(stream, said)
    except NotUnderstood:
        stream.rewind(mark)
        return None
    takes = stream.word() in stream.words.takes
    if stream.sees(",") or stream.sees(":") or takes:
        stream.take("separator")
    if not (leads or takes) or water.dimension != "volume" or stream.ended():
        stream.rewind(mark)
        return None
    return replace(water, water=True)


def _take_opening(stream: Stream) -> None:
    mark = stream.mark()
    if take_goods(stream) and _percent_follows(stream):
        raise stream.fault("by-weight-of-goods", start=0, end=len(stream.typed))
    stream.rewind(mark)
    water = _take_asides(stream)
    if stream.sees(":") and stream.end():
        stream.take("punctuation")
    bare = _separates(stream) and stream.word() not in stream.words.articles
    if stream.ended() or bare:
        raise stream.fault("water-missing" if water else "amount-missing", start=0)


def _percent_follows(stream: Stream) -> bool:
    """Say whether "15 %", ": 15 %" or "%15" comes next."""
    named = stream.word() in stream.words.percent_first
    return named or any(stream.sees("%", ahead) for ahead in range(3))


def _take_water_first(stream: Stream) -> Said | None:
    """Take water that says so by its ending or the word behind it; None for anything else."""
    if not stream.words.datives:
        return None
    mark = stream.mark()
    while stream.word() in stream.words.each:
        stream.take("separator")
    try:
        said = take_said(stream, one_unsaid=True)
    except NotUnderstood:
        stream.rewind(mark)
        return None
    if not is_water(stream):
        stream.rewind(mark)
        return None
    _take_asides(stream)
    if stream.word() in stream.words.postpositions:
        stream.take("separator")
        _take_asides(stream)
    return replace(said, water=True)


def _take_amounts(stream: Stream, water_said: bool) -> tuple[Said, ...]:
    amounts = [_with_asides(stream, take_said(stream))]
    while (again := _take_restated(stream, water_said)) is not None:
        amounts.append(again)
    return tuple(amounts)


def _with_asides(stream: Stream, said: Said) -> Said:
    return replace(said, water=_take_asides(stream) or said.water)


def _take_restated(stream: Stream, water_said: bool) -> Said | None:
    """Take "(1/3 cup)", "or 1/3 cup", "= 1/3 cup" behind an amount, if it is no whole rate."""
    mark = stream.mark()
    if stream.sees("("):
        start = stream.start()
        stream.take("bracket")
        said = _with_asides(stream, take_said(stream))
        _take_closing(stream, start)
        return replace(said, water=_take_asides(stream) or said.water)
    if stream.sees("=") or stream.word() in stream.words.or_words:
        stream.take("joiner")
        again = _with_asides(stream, take_said(stream))
        rate = again.dimension == "ratio" or _separates(stream) or is_water(stream)
        if not (water_said and rate):
            return again
        stream.rewind(mark)
    return None


def _take_closing(stream: Stream, start: int) -> None:
    if not stream.sees(")"):
        raise stream.fault("bracket", start=start)
    stream.take("bracket")


def _percent(stream: Stream, amounts: tuple[Said, ...]) -> Rate:
    """Return percent as a rate: grams in 100 mL of water, or with "w/w" in 100 g of it all."""
    of = (stream.word(), stream.word(2)) if stream.sees("/", 1) else ("", "")
    if of in PERCENT_OF_WATER | PERCENT_OF_WHOLE:
        stream.take("kind", 3)
        _take_asides(stream)
    before = frozenset(stream.typed[amounts[0].end : stream.end()].lower().split())
    code = "by-weight-of-goods" if take_goods(stream, before) else "percent-of-what"
    more = not stream.ended() and not (stream.sees(")") or _joins(stream))
    if len(amounts) > 1 or more or code != "percent-of-what":
        raise stream.fault(code, start=amounts[0].start, end=len(stream.typed))
    return Rate(amounts, "", (), of_whole=of in PERCENT_OF_WHOLE)


def _joins(stream: Stream) -> bool:
    return any(stream.sees(sign) for sign in "=;,") or stream.word() in stream.words.or_words


def _separates(stream: Stream) -> bool:
    """Say whether a word like "per", a "/", or the "a" of "a gallon" comes next."""
    words = stream.words
    return (
        stream.sees("/")
        or bool(stream.phrase(words.separators))
        or stream.word() in words.articles
    )


def _makes(stream: Stream, amounts: tuple[Said, ...]) -> bool:
    """Say whether "1 lb = 3 gal" is all there is: a weight, and more than spoons hold."""
    if not stream.ended() or [one.dimension for one in amounts] != ["mass", "volume"]:
        return False
    between = stream.typed[amounts[0].end : amounts[1].start]
    return "=" in between and all(one.family not in HEAPABLE for one in amounts[1].names)


def _take_separator(stream: Stream) -> str:
    if stream.ended():
        raise stream.fault("water-missing", start=0)
    if not _separates(stream):
        raise stream.unknown()
    if stream.word() in stream.words.articles:
        return ""  # it is the "one" of the water
    start = stream.start()
    stream.take("separator", len(stream.phrase(stream.words.separators)) or 1)
    while stream.word() in stream.words.each:
        stream.take("separator")
    return stream.typed[start : stream.end()]


def _take_per(stream: Stream) -> tuple[str, Said]:
    start, mark = stream.start(), stream.mark()
    if stream.sees(","):
        stream.take("joiner")
    water = _take_water_first(stream)
    if water is None:
        stream.rewind(mark)
        water = _take_water_by_name(stream)
    if water is not None:
        return "", water
    stream.rewind(mark)
    return _take_separator(stream), _take_water(stream, start)


def _take_water_by_name(stream: Stream) -> Said | None:
    """Take ", 1 gallon of water"; None where no water is named."""
    if not stream.sees(","):
        return None
    stream.take("joiner")
    try:
        said = _with_asides(stream, take_said(stream))
    except NotUnderstood:
        return None
    return said if said.water and said.dimension == "volume" else None


def _take_water(stream: Stream, start: int) -> Said:
    water = _take_asides(stream)
    if stream.ended() or _joins(stream) or stream.sees(")"):
        raise stream.fault("water-missing", start=start, end=max(start, stream.end()))
    said = _with_asides(stream, take_said(stream, one_unsaid=True))
    return replace(said, water=water or said.water)


def _more_amounts(
    stream: Stream, amounts: tuple[Said, ...], separator: str, said: Said
) -> tuple[Said, ...]:
    """Return the amounts, now that what looked like water was one: "4 tbsp / 60 g per ..."."""
    if separator == "/":
        return (*amounts, said)
    if separator == stream.words.to and len(amounts) == 1:
        return (ranged(stream, amounts[0], said),)
    raise stream.unknown()


def _take_brackets(stream: Stream, rate: Rate) -> tuple[Rate, ...]:
    more: list[Rate] = []
    while stream.sees("("):
        start = stream.start()
        stream.take("bracket")
        if _take_no_number(stream) and stream.sees(")"):
            stream.take("bracket")
            continue
        again = _amount_before_bracket(stream)
        if again is None:
            more.extend(_take_rate(stream))
        else:
            rate = _restate(stream, rate, again)
        _take_closing(stream, start)
        _take_asides(stream)
    return (rate, *more)


def _take_no_number(stream: Stream) -> bool:
    """Take words that change no number; say whether there were any."""
    mark = stream.mark()
    _take_asides(stream)
    _take_dilution(stream)
    return stream.mark() != mark


def _amount_before_bracket(stream: Stream) -> Said | None:
    """Take an amount that fills the bracket; None, with nothing taken, for a whole rate."""
    mark = stream.mark()
    said = _with_asides(stream, take_said(stream))
    if stream.sees(")") and said.dimension != "ratio":
        return said
    stream.rewind(mark)
    return None


def _restate(stream: Stream, rate: Rate, again: Said) -> Rate:
    """Add a bracket's amount to the powder or to the water, whichever it is close to."""
    weighed = again.dimension == "mass" and not again.water
    to_amount = weighed or any(_close(again, one) for one in rate.amounts)
    to_water = not weighed and (again.water or _close(again, rate.water[0]))
    if to_amount == to_water:
        raise _which_bracket(stream, again)
    if to_amount:
        return replace(rate, amounts=(*rate.amounts, again))
    return replace(rate, water=(*rate.water, again))


def _which_bracket(stream: Stream, again: Said) -> NotUnderstood:
    return stream.fault("bracket", start=again.start, end=again.end)


def _close(one: Said, other: Said) -> bool:
    """Say whether two volumes are within a factor of two; bare ounces count as fluid ones."""
    first, second = (said.quantity(_SIZES) for said in (one, other))
    if {first.dimension, second.dimension} != {"volume"}:
        return False
    return max(first.base, second.base) <= 2 * min(first.base, second.base)
