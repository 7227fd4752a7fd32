"""A dose as people write it: every way it is said, what it comes to, and what is open."""

from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Final

from coop.units.kinds import ASK, QUESTIONS, Kinds
from coop.units.names import ENGLISH, Language
from coop.units.notes import DILUTED_TO_WHAT, LookAlike, Note, look_alikes_of, notes_of
from coop.units.quantity import Quantity
from coop.units.sentence import DILUTION, Rate, take_rates
from coop.units.statements import (
    Contradiction,
    checked,
    contradiction_of,
    questions_of,
    refuse_too_strong,
    statements_of,
)
from coop.units.stream import Span, Stream
from coop.units.strength import WEIGHED, Bulk, Spread, Statement

_ANY_KINDS: Final = Kinds(gallon="us", cup="us", spoon="us", ounce="mass")


@dataclass(frozen=True, slots=True)
class Ask:
    """A question the text leaves open: gallon, cup, spoon or ounce, with its kinds."""

    question: str
    options: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DoseReading:
    """
    What was understood of a dose.

    `g_per_l` is the strength in g per litre of water put in: the first weighed statement,
    else the first; None while a contradiction or a question is open. With questions open
    `statements` is empty and `alternatives` holds one reading for each set of answers.
    `spans` says for every character of `typed` (NFC) what it was taken for; `asides` are the
    words that change no number.
    """

    typed: str
    statements: tuple[Statement, ...]
    g_per_l: Spread | None
    contradiction: Contradiction | None
    asks: tuple[Ask, ...]
    alternatives: tuple["Alternative", ...]
    notes: tuple[Note, ...]
    look_alikes: tuple[LookAlike, ...]
    asides: tuple[str, ...]
    spans: tuple[Span, ...]

    @property
    def understood(self) -> tuple[tuple[Quantity, Quantity], ...]:
        """Powder and water of each statement."""
        return tuple((one.amount, one.water) for one in self.statements)

    def picked(self, index: int) -> "DoseReading":
        """Return the reading with one of its statements, the one a person chose."""
        one = self.statements[index]
        return replace(self, statements=(one,), g_per_l=one.g_per_l, contradiction=None)


@dataclass(frozen=True, slots=True)
class Alternative:
    """The reading if the open questions are answered so: (question, kind) for each."""

    answers: tuple[tuple[str, str], ...]
    reading: DoseReading


@dataclass(frozen=True, slots=True)
class _Text:
    """A text taken apart, to be read in one set of kinds or another."""

    stream: Stream
    rates: tuple[Rate, ...]
    questions: tuple[str, ...]
    bulk: Bulk

    def statements(self, kinds: Kinds) -> tuple[Statement, ...]:
        return statements_of(self.stream, self.rates, kinds, self.bulk)


def read_dose(
    typed: str, kinds: Kinds | None, bulk: Bulk, *, words: Language = ENGLISH
) -> DoseReading:
    """
    Read a dose of a powder in water.

    Args:
        typed: At most 80 characters.
        kinds: What bare names mean in this house; None: nobody said, every reading is given.
        bulk: The powder's bulk density. To judge a printed recipe hand in the published
            spread, to reckon grams that of the lot.
        words: The tongue it is written in.

    Raises:
        NotUnderstood: What, where, and what would be right.

    >>> from fractions import Fraction
    >>> house = Kinds(gallon="us", cup="us", spoon="us")
    >>> alum = Bulk.of_us_tablespoon(Fraction(11), Fraction("14.8"), Fraction(20))
    >>> reading = read_dose("30 g/L", house, alum)
    >>> reading.g_per_l.middle
    Fraction(30, 1)
    """
    stream = Stream(typed, words=words)
    rates = tuple(checked(stream, rate) for rate in take_rates(stream))
    parsed = _Text(stream, rates, questions_of(rates), bulk)
    unanswered = [
        question for question in parsed.questions if kinds is None or kinds.of(question) == ASK
    ]
    if unanswered:
        return _asking(parsed, kinds, tuple(unanswered))
    return _settled(parsed, kinds, kinds or _ANY_KINDS)


def _asking(parsed: _Text, kinds: Kinds | None, unanswered: tuple[str, ...]) -> DoseReading:
    """Return the reading with its questions, and one reading for each set of answers."""
    found: dict[tuple[Statement, ...], Alternative] = {}
    for choice in product(*(QUESTIONS[question] for question in unanswered)):
        answers = tuple(zip(unanswered, choice, strict=True))
        changes: dict[str, Any] = dict(answers)
        reading = _settled(parsed, kinds, replace(kinds or _ANY_KINDS, **changes), unanswered)
        found.setdefault(reading.statements, Alternative(answers, reading))
    return replace(
        _bare(parsed.stream),
        asks=tuple(Ask(question, QUESTIONS[question]) for question in unanswered),
        alternatives=tuple(found.values()),
    )


def _settled(
    parsed: _Text, given: Kinds | None, kinds: Kinds, answered: tuple[str, ...] = ()
) -> DoseReading:
    """Return the reading in settled kinds; what was just answered needs no note."""
    statements = parsed.statements(kinds)
    refuse_too_strong(parsed.stream, statements)
    contradiction = contradiction_of(parsed.rates, statements)
    unsaid = [question for question in parsed.questions if question not in answered]
    bare = _bare(parsed.stream)
    notes = notes_of(parsed.rates, statements, kinds, unsaid, parsed.statements)
    return replace(
        bare,
        statements=statements,
        g_per_l=None if contradiction else _foremost(statements).g_per_l,
        contradiction=contradiction,
        notes=(*notes, *bare.notes),
        look_alikes=look_alikes_of(statements, given and kinds, parsed.bulk),
    )


def _bare(stream: Stream) -> DoseReading:
    spans = tuple(stream.spans)
    asides = tuple(
        stream.typed[one.start : one.end].rstrip(".") for one in spans if one.role == "aside"
    )
    diluted = any(one.role == DILUTION for one in spans)
    notes = (Note(DILUTED_TO_WHAT),) if diluted else ()
    return DoseReading(stream.typed, (), None, None, (), (), notes, (), asides, spans)


def _foremost(statements: tuple[Statement, ...]) -> Statement:
    return next((one for one in statements if one.how == WEIGHED), statements[0])
