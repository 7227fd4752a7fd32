"""
A typed text as a row of tokens, every one of which must be taken for something.

Positions are those of the NFC form of the text. What is taken leaves a `Span` with its role,
so that nothing typed can be dropped without a trace.
"""

import re
import unicodedata
from collections.abc import Container
from dataclasses import dataclass
from typing import Final

from coop.units.fault import NotUnderstood
from coop.units.names import ENGLISH, WORDS_LONGEST, Language, Words

TEXT_MAX: Final = 80
"""The longest text that is read, in characters."""

VULGAR: Final = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞⅒"
NUMERAL: Final = "numeral"
FRACTION_SIGN: Final = "fraction sign"
WORD: Final = "word"
SIGN: Final = "sign"

_SIGNS = frozenset("/-()=:;,+&%")
_DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d"
_SLASHES = "\u2044\u2215\uff0f"
_DEGREES = "\u00ba\u02da"
_APOSTROPHES = "\u2019\u02bc"
_ALIKE = str.maketrans(
    dict.fromkeys(_DASHES, "-")
    | dict.fromkeys(_SLASHES, "/")
    | dict.fromkeys(_DEGREES, "°")
    | dict.fromkeys(_APOSTROPHES, "'")
)
_TOKEN = re.compile(
    rf"(?P<numeral>[0-9]+(?:[.,][0-9]+)*|(?<![^\s(/-])\.[0-9]+)"
    rf"|(?P<fraction>[{VULGAR}])"
    rf"|(?P<word>c?m2\b|°\s?[CcFf]\b|(?:(?![{VULGAR}])[^\W\d_])+\.?)"
    r"|(?P<sign>\S)"
)
_KINDS = {"numeral": NUMERAL, "fraction": FRACTION_SIGN, "word": WORD, "sign": SIGN}


@dataclass(frozen=True, slots=True)
class Token:
    """
    One numeral, fraction sign, word or other sign, at `start` to `end` of the text.

    `bare` is a word in the case it was typed in, without its dot, `word` in lower case without
    blanks, in the letters of its tongue; "" for anything else.
    """

    kind: str
    text: str
    start: int
    end: int
    bare: str
    word: str


@dataclass(frozen=True, slots=True)
class Span:
    """What `text[start:end]` was taken for: number, unit, separator, aside ..."""

    start: int
    end: int
    role: str


class Stream:
    """
    The tokens of one text, taken from left to right, with a way back.

    `single`: the text is one amount, so that C and F are degrees and "in" is an inch.
    `degrees`: it is a temperature, so that c and f are degrees too.
    """

    def __init__(
        self,
        typed: str,
        *,
        words: Language = ENGLISH,
        single: bool = False,
        degrees: bool = False,
    ) -> None:
        self.typed = unicodedata.normalize("NFC", typed[: TEXT_MAX * 4])
        self.words = words
        self.single = single
        self.degrees = degrees
        self.spans: list[Span] = []
        self._at = 0
        if len(typed) > TEXT_MAX or len(self.typed) > TEXT_MAX:
            raise NotUnderstood("too-long", self.typed[:20], (0, TEXT_MAX), (str(TEXT_MAX),))
        self._tokens = tuple(
            self._token(found) for found in _TOKEN.finditer(self.typed.translate(_ALIKE))
        )
        if not self._tokens:
            raise NotUnderstood("empty", "", (0, 0))

    def _token(self, found: re.Match[str]) -> Token:
        kind = _KINDS[str(found.lastgroup)]
        bare = found[0].removesuffix(".") if kind == WORD else ""
        word = "".join(bare.translate(self.words.letters).lower().split())
        return Token(kind, found[0], found.start(), found.end(), bare, word)

    def ended(self) -> bool:
        """Whether every token is taken."""
        return self._at >= len(self._tokens)

    def peek(self, ahead: int = 0) -> Token | None:
        """Return the token that comes next, or the one `ahead` of it."""
        at = self._at + ahead
        return self._tokens[at] if at < len(self._tokens) else None

    def word(self, ahead: int = 0) -> str:
        """Return the word that comes next in lower case, or "" if it is none."""
        token = self.peek(ahead)
        return token.word if token else ""

    def last_word(self) -> str:
        """Return the word that was taken last, or "" if it was none."""
        return self._tokens[self._at - 1].word if self._at else ""

    def sees(self, sign: str, ahead: int = 0) -> bool:
        """Say whether this sign comes next."""
        token = self.peek(ahead)
        return token is not None and token.kind == SIGN and token.text == sign

    def take(self, role: str, count: int = 1) -> Token:
        """Take tokens for what `role` says; return the first."""
        taken = self._tokens[self._at : self._at + count]
        assert taken, "nothing left to take"
        self.spans.extend(Span(token.start, token.end, role) for token in taken)
        self._at += count
        return taken[0]

    def phrase(self, known: Container[Words]) -> Words:
        """Return the longest known phrase that comes next, or ()."""
        for count in range(WORDS_LONGEST, 0, -1):
            words = tuple(self.word(ahead) for ahead in range(count))
            if words in known:
                return words
        return ()

    def mark(self) -> tuple[int, int]:
        """Return a place to come back to."""
        return self._at, len(self.spans)

    def rewind(self, mark: tuple[int, int]) -> None:
        """Go back to a place; what was taken since is untaken."""
        self._at = mark[0]
        del self.spans[mark[1] :]

    def start(self) -> int:
        """Return where the next token starts, or the end of the text."""
        token = self.peek()
        return token.start if token else len(self.typed)

    def end(self) -> int:
        """Return where the last taken token ended."""
        return self._tokens[self._at - 1].end if self._at else 0

    def fault(
        self, code: str, *options: str, start: int | None = None, end: int | None = None
    ) -> NotUnderstood:
        """Return the error for a stretch of the text; by default, for the next token."""
        token = self.peek()
        first = self.start() if start is None else start
        last = (token.end if token else len(self.typed)) if end is None else end
        return NotUnderstood(code, self.typed[first:last], (first, last), options)

    def unknown(self) -> NotUnderstood:
        """Return the error for a next token that fits nowhere."""
        token = self.peek()
        assert token is not None
        if token.kind in (NUMERAL, FRACTION_SIGN):
            return self.fault("two-numbers")
        if token.kind == SIGN:
            return self.fault("does-not-fit" if token.text in _SIGNS else "unknown-sign")
        if token.word in self.words.no_fixed_size:
            return self.fault("no-fixed-size")
        if token.word in self.words.heap_unsure:
            return self.fault("heap-unsure", "level", "heaped")
        if self._knows(token.word):
            return self.fault("does-not-fit")
        unsure = self.words.unsure
        options = unsure.get(token.bare, ()) or unsure.get(token.word, ())
        return self.fault("which-unit" if options else "unknown-word", *options)

    def _knows(self, word: str) -> bool:
        words = self.words
        phrases = (words.units, words.separators, words.systems, words.by_weight)
        return any((word,) in phrase for phrase in phrases) or word in (
            words.articles
            | words.each
            | words.or_words
            | words.and_words
            | words.asides
            | words.dilute
        )
