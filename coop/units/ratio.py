"""
Parts of powder to parts of water: "1:8", "1 part to 8 parts by weight".

    ratio = number, ( ":" | {"parts"}, separator ), number, {"parts"}, {kind} ;
    kind = "by weight" | "w/w" | "w/v" | "by volume" | "v/v" ;

Parts of weight are grams to millilitres of water, parts of volume millilitres of level powder
to millilitres of water; a ratio that says neither is asked about.
"""

from fractions import Fraction

from coop.units.kinds import BY_VOLUME, BY_WEIGHT, PART, Name
from coop.units.number import take_number
from coop.units.said import Part, Said, separates
from coop.units.stream import Stream

_SHORT = {("w", "w"): BY_WEIGHT, ("w", "v"): BY_WEIGHT, ("v", "v"): BY_VOLUME}


def take_ratio(stream: Stream) -> tuple[Said, Said] | None:
    """Take parts of powder and parts of water; None, with nothing taken, if it is no ratio."""
    mark, start = stream.mark(), stream.start()
    powder = take_number(stream)
    said_parts = _take_part_word(stream)
    middle = stream.end()
    if powder is None or not _take_to(stream, said_parts):
        stream.rewind(mark)
        return None
    water_start = stream.start()
    water = take_number(stream)
    said_parts = _take_part_word(stream) or said_parts
    if water is None or not _ends_here(stream):
        stream.rewind(mark)
        return None
    end = stream.end()
    kind = _take_kind(stream)
    return (
        _said(stream, powder, Name(PART, kind), start, middle),
        _said(stream, water, Name("ml"), water_start, end),
    )


def _take_part_word(stream: Stream) -> bool:
    """Take "parts", and the name of the powder or "of water" behind it."""
    if stream.word() not in stream.words.parts:
        return False
    stream.take("unit")
    _take_asides(stream)
    return True


def _take_to(stream: Stream, said_parts: bool) -> bool:
    """Take ":", or behind "parts" a word like "to"."""
    if stream.sees(":"):
        stream.take("separator")
        return True
    if not said_parts or not (separates(stream) or stream.sees(",")):
        return False
    stream.take("separator", len(stream.phrase(stream.words.separators)) or 1)
    return True


def _ends_here(stream: Stream) -> bool:
    """Say whether no unit and no further number follows."""
    token = stream.peek()
    if token is None or _kind(stream)[0]:
        return True
    ends = any(stream.sees(sign) for sign in "()=;,")
    words = stream.words
    diluted = words.concentrate | words.dilute | words.then
    return ends or token.word in words.or_words | words.asides | diluted


def _kind(stream: Stream) -> tuple[str, int]:
    """Return what the parts are of, and how many tokens say so; ("", 0) if nothing does."""
    words = stream.words
    for known, kind in ((words.by_weight, BY_WEIGHT), (words.by_volume, BY_VOLUME)):
        if phrase := stream.phrase(known):
            return kind, len(phrase)
    if stream.sees("/", 1):
        kind = _SHORT.get((stream.word(), stream.word(2)), "")
        return (kind, 3) if kind else ("", 0)
    return "", 0


def _take_kind(stream: Stream) -> str:
    """Take the words behind a ratio, and return what they say it is of; "" for nothing."""
    _take_asides(stream)
    mark, bracket = stream.mark(), stream.sees("(")
    if bracket:
        stream.take("bracket")
    kind, count = _kind(stream)
    if not kind or (bracket and not stream.sees(")", count)):
        stream.rewind(mark)
        return ""
    stream.take("kind", count)
    if bracket:
        stream.take("bracket")
    _take_asides(stream)
    return kind


def _take_asides(stream: Stream) -> None:
    while stream.word() in stream.words.asides:
        stream.take("aside")


def _said(stream: Stream, n: Fraction, name: Name, start: int, end: int) -> Said:
    return Said((Part(n, name, ""),), stream.typed[start:end], start, end)
