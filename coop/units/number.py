"""Numbers as people write them, exact; and their one form on the wire."""

import re
import unicodedata
from fractions import Fraction
from typing import Final

from coop.units.fault import NotUnderstood
from coop.units.stream import FRACTION_SIGN, NUMERAL, Stream, Token

NUMBER_MAX: Final = 1_000_000
"""The largest number that is read."""
DIGITS_MAX: Final = 12
"""The most digits of one numeral."""
FRACTION_MAX: Final = 100
"""The largest whole number above or below a fraction's line."""
WIRE_DECIMALS: Final = 6
"""The most decimals on the wire; what needs more is written as a fraction."""
_WIRE = re.compile(r"-?[0-9]{1,15}(?:\.[0-9]{1,6}|/[0-9]{1,15})?")
_ONE = Fraction(1)
_HALF = Fraction(1, 2)


def read_number(
    typed: str, *, low: Fraction | int = 0, high: Fraction | int = NUMBER_MAX
) -> Fraction:
    """
    Read a number: decimals with comma or point, fractions, `1½`, words from one to twelve.

    A group of three digits after one comma or point ("1,000", "1.250") may be thousands or
    decimals: it is taken when only one of the two lies from `low` to `high`, else asked.

    Raises:
        NotUnderstood: It is no number, or not from `low` to `high`.

    >>> read_number("2 1/2"), read_number("0,5"), read_number("one and a half")
    (Fraction(5, 2), Fraction(1, 2), Fraction(3, 2))
    """
    stream = Stream(typed)
    negative = take_minus(stream)
    limits = (-Fraction(high), -Fraction(low)) if negative else (Fraction(low), Fraction(high))
    found = take_number(stream, limits)
    if found is None:
        raise stream.unknown() if not stream.ended() else stream.fault("number-missing")
    if not stream.ended():
        raise stream.unknown()
    number = -found if negative else found
    if number < 0 <= low:
        raise stream.fault("negative", start=0)
    if not low <= number <= high:
        limits_said = f"{wire(Fraction(low))} to {wire(Fraction(high))}"
        raise stream.fault("out-of-range", limits_said, start=0)
    return number


def take_minus(stream: Stream) -> bool:
    """Take a minus sign that stands before a number."""
    if not stream.sees("-"):
        return False
    stream.take("number")
    return True


def take_number(
    stream: Stream, limits: tuple[Fraction, Fraction] = (Fraction(0), Fraction(NUMBER_MAX))
) -> Fraction | None:
    """
    Take a number off the stream; None, with nothing taken, if there is none.

    Raises:
        NotUnderstood: It begins like a number and is none, or could be two.
    """
    start = stream.start()
    found = _take_figures(stream, limits)
    if found is None:
        found = _take_words(stream)
    if found is None:
        return None
    if found < 1:
        _take_half_a(stream)
    if abs(found) > NUMBER_MAX:
        raise stream.fault("out-of-range", f"0 to {NUMBER_MAX}", start=start, end=stream.end())
    return found


def _take_figures(stream: Stream, limits: tuple[Fraction, Fraction]) -> Fraction | None:
    fraction = _take_fraction(stream)
    token = stream.peek()
    if fraction is not None or token is None or token.kind != NUMERAL:
        return fraction
    whole = _numeral(stream, token, limits)
    stream.take("number")
    if not token.text.isdigit():
        return whole
    return whole + _take_rest(stream)


def _take_fraction(stream: Stream) -> Fraction | None:
    """Take `1/3` or `⅓`."""
    token, below = stream.peek(), stream.peek(2)
    if token is None:
        return None
    if token.kind == FRACTION_SIGN:
        stream.take("number")
        return Fraction(unicodedata.numeric(token.text)).limit_denominator(16)
    if token.kind != NUMERAL or not stream.sees("/", 1) or below is None:
        return None
    if below.kind != NUMERAL:
        return None
    start = token.start
    stream.take("number", 3)
    if not (token.text.isdigit() and below.text.isdigit()):
        raise stream.fault("odd-fraction", str(FRACTION_MAX), start=start, end=below.end)
    return _divided(stream, token, below)


def _divided(stream: Stream, above: Token, below: Token) -> Fraction:
    long = max(len(above.text), len(below.text)) > DIGITS_MAX
    if long or int(above.text) > FRACTION_MAX or not 0 < int(below.text) <= FRACTION_MAX:
        raise stream.fault("odd-fraction", str(FRACTION_MAX), start=above.start, end=below.end)
    return Fraction(int(above.text), int(below.text))


def _take_rest(stream: Stream) -> Fraction:
    """Take the fraction of a mixed number, as in `2 1/2`, `2-1/2`, `2½`, `2 and a half`."""
    if stream.word() in stream.words.and_a_half:
        stream.take("number")
        return _HALF
    mark, start = stream.mark(), stream.start()
    joined = _take_and(stream)
    rest = _take_fraction(stream)
    if rest is None and joined:
        rest = _take_word_fraction(stream)
    if rest is None:
        stream.rewind(mark)
        return Fraction(0)
    if rest >= 1:
        raise stream.fault("two-numbers", start=start, end=stream.end())
    return rest


def _take_and(stream: Stream) -> bool:
    """Take "and", "&", or a hyphen with nothing around it."""
    token, after = stream.peek(), stream.peek(1)
    if token is None or after is None:
        return False
    hyphen = stream.sees("-") and stream.end() == token.start and token.end == after.start
    if hyphen or stream.sees("&") or token.word in stream.words.and_words:
        stream.take("number")
        return True
    return False


def _numeral(stream: Stream, token: Token, limits: tuple[Fraction, Fraction]) -> Fraction:
    digits = re.sub(r"[.,]", "", token.text)
    if len(digits) > DIGITS_MAX:
        raise stream.fault("out-of-range", f"0 to {NUMBER_MAX}")
    *groups, last = re.split(r"[.,]", token.text)
    if not groups:
        return Fraction(last)
    marks = [sign for sign in token.text if sign in ".,"]
    if len(marks) == 1:
        decimal = Fraction(f"{groups[0] or 0}.{last}")
        if len(last) != 3 or not 1 <= len(groups[0]) <= 3 or groups[0].startswith("0"):
            return decimal
        return _asked(stream, decimal, Fraction(digits), limits)
    if not _grouped(groups, last, marks):
        raise stream.fault("odd-number")
    if marks[-1] == marks[0]:
        return Fraction(digits)
    return Fraction(f"{''.join(groups)}.{last}")


def _grouped(groups: list[str], last: str, marks: list[str]) -> bool:
    """Say whether `1.000,5`, `1,000.5` or `1.000.000` is grouped as it should be."""
    thousands = groups[1:] + ([last] if marks[-1] == marks[0] else [])
    alike = len(set(marks[:-1])) == 1
    leads = 1 <= len(groups[0]) <= 3 and not groups[0].startswith("0")
    return alike and leads and all(len(group) == 3 for group in thousands)


def _asked(
    stream: Stream, decimal: Fraction, thousands: Fraction, limits: tuple[Fraction, Fraction]
) -> Fraction:
    low, high = limits
    fitting = [number for number in (decimal, thousands) if low <= number <= high]
    if len(fitting) == 1:
        return fitting[0]
    raise stream.fault("thousands-or-decimals", f"{float(decimal):g}", str(thousands))


def _take_words(stream: Stream) -> Fraction | None:
    fraction = _take_word_fraction(stream)
    if fraction is not None:
        return fraction
    word = stream.word()
    if word in stream.words.articles:
        stream.take("number")
        return _ONE
    if word not in stream.words.wholes:
        return None
    stream.take("number")
    return stream.words.wholes[word] + _take_rest(stream)


def _take_word_fraction(stream: Stream) -> Fraction | None:
    """Take "half", "a third", "three quarters", "one-half"."""
    words = stream.words
    if phrase := stream.phrase(words.word_fractions):
        stream.take("number", len(phrase))
        return words.word_fractions[phrase]
    if stream.word() in words.fractions:
        return words.fractions[stream.take("number").word]
    many = 1 if stream.word() in words.articles else words.wholes.get(stream.word(), 0)
    hyphen = stream.sees("-", 1)
    part = words.fractions.get(stream.word(2 if hyphen else 1))
    if not many or part is None:
        return None
    stream.take("number", 3 if hyphen else 2)
    return many * part


def _take_half_a(stream: Stream) -> None:
    """Take the "a" of "half a cup", the "of a" of "a third of a cup"."""
    articles = stream.words.articles
    if stream.word() in stream.words.of and stream.word(1) in articles:
        stream.take("number", 2)
    elif stream.word() in articles:
        stream.take("number")


def wire(number: Fraction) -> str:
    """
    Return the one written form of an exact number: '60', '0.5', '8/3'.

    A decimal with a point where at most six decimals say it exactly, else lowest terms.

    >>> wire(Fraction(60)), wire(Fraction(1, 2)), wire(Fraction(8, 3))
    ('60', '0.5', '8/3')
    """
    million = 10**WIRE_DECIMALS
    if number.denominator == 1:
        return str(number.numerator)
    if million % number.denominator:
        return f"{number.numerator}/{number.denominator}"
    whole, rest = divmod(abs(number) * million, million)
    decimals = f"{int(rest):0{WIRE_DECIMALS}d}".rstrip("0")
    return f"{'-' if number < 0 else ''}{int(whole)}.{decimals}"


def unwire(written: str) -> Fraction:
    """
    Return the number of its written form, and of that form alone.

    Raises:
        NotUnderstood: "not-on-the-wire".

    >>> unwire('8/3')
    Fraction(8, 3)
    """
    where = (0, len(written))
    if not _WIRE.fullmatch(written):
        raise NotUnderstood("not-on-the-wire", written[:40], where)
    above, _, below = written.partition("/")
    if below and not int(below):
        raise NotUnderstood("not-on-the-wire", written[:40], where)
    number = Fraction(above) / (int(below) if below else 1)
    if wire(number) != written:
        raise NotUnderstood("not-on-the-wire", written[:40], where, (wire(number),))
    return number
