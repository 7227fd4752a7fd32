"""
A dose said back: what was understood, what contradicts itself, what is open, what is mistaken.

The readers give codes and numbers; each closed set of them has its table here. Nothing here
works out a strength.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from coop.actions.read_dose import ASKED_ONCE, Meant, choices_of, settle, understand
from coop.units.dose import DoseReading
from coop.units.fault import NotUnderstood
from coop.units.notes import DILUTED_TO_WHAT, LookAlike, Note
from coop.units.number import wire
from coop.units.quantity import HEAPED, LEVEL, ROUNDED, SCANT, UNSAID, Quantity
from coop.units.statements import Contradiction
from coop.units.strength import Spread, Statement
from coop.units.table import UNITS
from coop.web import amounts
from coop.web.i18n import N_, Words

DOSE_LENGTH_MAX = 80
DECIMALS_MAX = 4
SMALL_G_PER_L = 10
WORTH_SAYING = Fraction(3, 100)
"""By so much another kind of measure must change a dose to be named: our own choice."""
DECIMAL_UNITS = frozenset(
    {
        "ml",
        "cl",
        "dl",
        "l",
        "mg",
        "g",
        "kg",
        "mm",
        "cm",
        "m",
        "celsius",
        "fahrenheit",
        "percent",
    }
)
"""Units that people write with decimals, all others with fractions."""

UNIT_NAMES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "ml": (N_("mL"), N_("mL")),
        "cl": (N_("cL"), N_("cL")),
        "dl": (N_("dL"), N_("dL")),
        "l": (N_("L"), N_("L")),
        "us_gallon": (N_("US gallon"), N_("US gallons")),
        "us_quart": (N_("US quart"), N_("US quarts")),
        "us_pint": (N_("US pint"), N_("US pints")),
        "us_cup": (N_("US cup"), N_("US cups")),
        "us_fl_oz": (N_("US fluid ounce"), N_("US fluid ounces")),
        "us_tbsp": (N_("US tablespoon"), N_("US tablespoons")),
        "us_tsp": (N_("US teaspoon"), N_("US teaspoons")),
        "imp_gallon": (N_("imperial gallon"), N_("imperial gallons")),
        "imp_quart": (N_("imperial quart"), N_("imperial quarts")),
        "imp_pint": (N_("imperial pint"), N_("imperial pints")),
        "imp_cup": (N_("imperial cup"), N_("imperial cups")),
        "imp_fl_oz": (N_("imperial fluid ounce"), N_("imperial fluid ounces")),
        "imp_tbsp": (N_("imperial tablespoon"), N_("imperial tablespoons")),
        "imp_tsp": (N_("imperial teaspoon"), N_("imperial teaspoons")),
        "metric_cup": (N_("metric cup"), N_("metric cups")),
        "tr_cup": (N_("Turkish glass"), N_("Turkish glasses")),
        "metric_tbsp": (N_("metric tablespoon"), N_("metric tablespoons")),
        "metric_tsp": (N_("metric teaspoon"), N_("metric teaspoons")),
        "au_tbsp": (N_("Australian tablespoon"), N_("Australian tablespoons")),
        "mg": (N_("mg"), N_("mg")),
        "g": (N_("g"), N_("g")),
        "kg": (N_("kg"), N_("kg")),
        "lb": (N_("lb"), N_("lb")),
        "oz": (N_("oz (weight)"), N_("oz (weight)")),
        "apoth_oz": (N_("apothecary ounce"), N_("apothecary ounces")),
        "mm": (N_("mm"), N_("mm")),
        "cm": (N_("cm"), N_("cm")),
        "m": (N_("m"), N_("m")),
        "inch": (N_("inch"), N_("inches")),
        "cm2": (N_("cm²"), N_("cm²")),
        "m2": (N_("m²"), N_("m²")),
        "celsius": (N_("°C"), N_("°C")),
        "fahrenheit": (N_("°F"), N_("°F")),
        "sheet": (N_("sheet"), N_("sheets")),
        "percent": ("%", "%"),
    }
)
"""One and many of each unit, by its code."""

HEAPS: Mapping[str, str] = MappingProxyType(
    {
        UNSAID: N_("%(number)s %(unit)s"),
        LEVEL: N_("%(number)s level %(unit)s"),
        HEAPED: N_("%(number)s heaped %(unit)s"),
        ROUNDED: N_("%(number)s rounded %(unit)s"),
        SCANT: N_("%(number)s scant %(unit)s"),
    }
)
"""A number of spoons, cups or other units, by how they are filled."""

CONTRADICTIONS: Mapping[str, str] = MappingProxyType(
    {
        "statements-disagree": N_(
            "The card says two things: %(one)s, and %(other)s. They are %(apart)s apart."
        ),
        "waters-disagree": N_(
            "The card says two amounts of water: %(one)s, and %(other)s. "
            "They are %(apart)s apart."
        ),
    }
)

NOTES: Mapping[str, str] = MappingProxyType(
    {
        "gallon-read-as-us": N_("Gallon read as US"),
        "gallon-read-as-imp": N_("Gallon read as imperial"),
        "cup-read-as-us": N_("Cup read as US"),
        "cup-read-as-metric": N_("Cup read as metric"),
        "cup-read-as-imp": N_("Cup read as imperial"),
        "spoon-read-as-us": N_("Spoon read as US"),
        "spoon-read-as-metric": N_("Spoon read as metric"),
        "spoon-read-as-imp": N_("Spoon read as imperial"),
        "spoon-read-as-au": N_("Spoon read as Australian"),
        "ounce-read-as-mass": N_("Ounce read as one of weight."),
        "ounce-read-as-fluid": N_("Ounces of water read as fluid ounces."),
        "parts-read-as-mass": N_("Parts read by weight: grams of powder to mL of water."),
        "parts-read-as-fluid": N_("Parts read by volume: mL of level powder to mL of water."),
        "level-unsaid": N_(
            "Level or heaped is not said: read as level. Heaped would be about "
            "%(heaped_times)s times as much."
        ),
        "heaped-read-as": N_(
            "A heaped spoon is read as %(times)s level ones, give or take "
            "%(give_or_take)s %%. Level is surer, weighing surest."
        ),
        "rounded-read-as": N_(
            "A rounded spoon is read as %(times)s level ones, give or take "
            "%(give_or_take)s %%. Level is surer, weighing surest."
        ),
        "scant-read-as": N_(
            "A scant spoon is read as %(times)s of a level one, give or take "
            "%(give_or_take)s %%. Level is surer, weighing surest."
        ),
        "implied-spoon": N_(
            "Both together make a level %(unit)s of this powder weigh %(g_per_spoon)s g."
        ),
        "percent-read-as-g-per-100-ml": N_("Percent read as grams in 100 mL of water."),
        "percent-read-as-g-per-100-g": N_(
            "Percent w/w read as grams in 100 g of powder and water together."
        ),
        "water-read-as-1-g-per-ml": N_("Weighed water read as 1 g for 1 mL."),
        "apothecary-ounce": N_(
            "An apothecary ounce is 31.1 g, a tenth more than the usual one."
        ),
        "concentrate": N_(
            "No size is laid over %(over_g_per_l)s g/L: this is a concentrate, to be diluted "
            "first. Say to what."
        ),
        DILUTED_TO_WHAT: N_(
            "A concentrate, to be diluted: to what? This is the dose of the concentrate. Where "
            "the bath is meant, write the dose it is used at."
        ),
    }
)

WHOSE: Mapping[str, str] = MappingProxyType(
    {
        "house": N_("the house's kind"),
        "own": N_("your own kind"),
        "here": N_("as chosen here"),
    }
)

OTHER_KINDS: Mapping[tuple[str, str], tuple[str, str]] = MappingProxyType(
    {
        ("gallon", "us"): (
            N_("US would be %(percent)s %% weaker."),
            N_("US would be %(percent)s %% stronger."),
        ),
        ("gallon", "imp"): (
            N_("Imperial would be %(percent)s %% weaker."),
            N_("Imperial would be %(percent)s %% stronger."),
        ),
        ("cup", "us"): (
            N_("US would be %(percent)s %% weaker."),
            N_("US would be %(percent)s %% stronger."),
        ),
        ("cup", "metric"): (
            N_("Metric would be %(percent)s %% weaker."),
            N_("Metric would be %(percent)s %% stronger."),
        ),
        ("cup", "imp"): (
            N_("Imperial would be %(percent)s %% weaker."),
            N_("Imperial would be %(percent)s %% stronger."),
        ),
        ("spoon", "us"): (
            N_("US would be %(percent)s %% weaker."),
            N_("US would be %(percent)s %% stronger."),
        ),
        ("spoon", "metric"): (
            N_("Metric would be %(percent)s %% weaker."),
            N_("Metric would be %(percent)s %% stronger."),
        ),
        ("spoon", "imp"): (
            N_("Imperial would be %(percent)s %% weaker."),
            N_("Imperial would be %(percent)s %% stronger."),
        ),
        ("spoon", "au"): (
            N_("Australian would be %(percent)s %% weaker."),
            N_("Australian would be %(percent)s %% stronger."),
        ),
        ("ounce", "mass"): (
            N_("By weight it would be %(percent)s %% weaker."),
            N_("By weight it would be %(percent)s %% stronger."),
        ),
        ("ounce", "fluid"): (
            N_("By volume it would be %(percent)s %% weaker."),
            N_("By volume it would be %(percent)s %% stronger."),
        ),
        ("parts", "mass"): (
            N_("By weight it would be %(percent)s %% weaker."),
            N_("By weight it would be %(percent)s %% stronger."),
        ),
        ("parts", "fluid"): (
            N_("By volume it would be %(percent)s %% weaker."),
            N_("By volume it would be %(percent)s %% stronger."),
        ),
    }
)
"""How a kind that was not taken would differ: weaker, stronger."""

ASKS: Mapping[str, str] = MappingProxyType(
    {
        "gallon": N_("Which gallon is meant?"),
        "cup": N_("Which cup is meant?"),
        "spoon": N_("Which spoon is meant?"),
        "ounce": N_("An ounce of weight, or a fluid ounce?"),
        "parts": N_("Parts by weight, or by volume?"),
    }
)

FAULTS: Mapping[str, str] = MappingProxyType(
    {
        "empty": N_("Nothing is written yet."),
        "too-long": N_("Too long: at most %(options)s characters."),
        "unknown-word": N_(
            "“%(part)s” is not understood. Write for example: 30 g/L, or 8 tbsp per gallon."
        ),
        "does-not-fit": N_("“%(part)s” does not fit at this place."),
        "unknown-sign": N_("The character “%(part)s” is not understood."),
        "which-unit": N_("“%(part)s” can mean several measures: %(options)s. Write it out."),
        "which-kind": N_("There are several of “%(part)s”: %(options)s. Say which."),
        "no-such-unit": N_("There is no “%(part)s”. There is: %(options)s."),
        "no-fixed-size": N_("“%(part)s” has no fixed size. Weigh it, measure it or count it."),
        "thousands-or-decimals": N_("“%(part)s”: thousands or decimals? Write %(options)s."),
        "two-numbers": N_("“%(part)s”: two numbers in a row. Which one?"),
        "odd-number": N_("“%(part)s” is not how a number is written. Write 12, 0.5 or 2 1/2."),
        "odd-fraction": N_(
            "“%(part)s”: a fraction has whole numbers of at most %(options)s, the lower not 0."
        ),
        "out-of-range": N_("“%(part)s” must lie from %(options)s."),
        "negative": N_("“%(part)s” cannot be less than nothing."),
        "zero": N_("“%(part)s” cannot be nothing."),
        "number-missing": N_("How many?"),
        "unit-missing": N_("“%(part)s” of what? Write g, tbsp, cups ..."),
        "wrong-dimension": N_(
            "“%(part)s” is another kind of measure. Right here: %(options)s."
        ),
        "water-missing": N_(
            "“%(part)s” to how much water? Write for example: per gallon, or /L."
        ),
        "amount-missing": N_("How much of the powder, to “%(part)s”?"),
        "ratio-of-what": N_("“%(part)s”: parts of what? Write for example %(options)s."),
        "range-backwards": N_("“%(part)s”: a range goes from the smaller to the larger."),
        "heap-unsure": N_("“%(part)s” is neither level nor heaped: %(options)s?"),
        "heap-on-what": N_("“%(part)s”: only a spoon or a cup of powder is level or heaped."),
        "not-one-amount": N_("“%(part)s”: these two do not add up to one amount."),
        "wrong-way-round": N_("The powder comes first, then the water: %(options)s."),
        "water-by-weight": N_(
            "Is “%(part)s” water by weight? Write “of water” behind it, or give litres."
        ),
        "percent-of-what": N_(
            "“%(part)s”: percent is read as grams in 100 mL of water, or with w/w of it all. "
            "Write for example 3 %%."
        ),
        "by-weight-of-goods": N_(
            "“%(part)s” goes by the weight of the cloth, not by litres of water. Weigh the dry "
            "cloth: 15 %% of 500 g is 75 g of powder."
        ),
        "too-strong": N_(
            "That is stronger than anything dissolves: at most %(options)s g/L. A slip?"
        ),
        "bracket": N_("“%(part)s”: a bracket is not closed, or holds nothing that fits here."),
        "which-scale": N_("“%(part)s”: on which scale? Write %(options)s."),
        "other-scale": N_("“%(part)s” is %(first)s. Is %(second)s meant?"),
        "too-cold-or-hot": N_(
            "“%(part)s” is %(first)s. It must lie from %(second)s to %(third)s."
        ),
        "which-ream": N_("“%(part)s”: of how many sheets, %(options)s?"),
        "not-whole": N_("“%(part)s” comes to a part of a sheet."),
        "which-soda": N_("“%(part)s”: which soda, %(options)s? Read it on the jar."),
        "no-soda": N_("“%(part)s” is another thing than soda, and may be dangerous here."),
        "which-day": N_(
            "“%(part)s” may be %(options)s. Write the year, then the month, then the day."
        ),
        "no-day": N_("“%(part)s” is no day. Write it as %(options)s."),
        "not-on-the-wire": N_("“%(part)s” could not be read."),
    }
)
"""Every code of `NotUnderstood`."""

_OPTIONS: Mapping[str, str] = MappingProxyType(
    {
        "volume": N_("a volume"),
        "mass": N_("a weight"),
        "length": N_("a length"),
        "area": N_("an area"),
        "temperature": N_("a temperature"),
        "count": N_("a count"),
        "ratio": N_("a percentage"),
        "level": N_("level"),
        "heaped": N_("heaped"),
        "anhydrous": N_("anhydrous washing soda"),
        "monohydrate": N_("washing soda monohydrate"),
        "crystals": N_("washing soda crystals"),
        "bicarbonate": N_("baking soda"),
    }
)
_APART: Mapping[Fraction, str] = MappingProxyType(
    {
        Fraction(1, 2): N_("a half"),
        Fraction(1, 3): N_("a third"),
        Fraction(1, 4): N_("a quarter"),
        Fraction(2, 3): N_("two thirds"),
        Fraction(3, 4): N_("three quarters"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseSaid:
    """A reading in sentences; what there is none of is empty."""

    understood: tuple[str, ...]
    contradictions: tuple[str, ...]
    asks: tuple[str, ...]
    notes: tuple[str, ...]
    look_alikes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseReader:
    """
    What a field for a dose shows beneath itself.

    Attributes:
        said: The reading in sentences; None where nothing is written or understood.
        fault: What was not understood, and what would be right.
        questions: Which kinds of measure the text leaves to who reads: gallon, cup, spoon.
        choices: (key, sentence) of the readings to pick from; empty when nothing is open.
        picked: The key that was picked, if it is among the choices.
        statement: What holds: the only reading, or the picked one; None while it is open.
    """

    typed: str
    said: DoseSaid | None = None
    fault: str = ""
    questions: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    picked: str = ""
    statement: Statement | None = None

    @property
    def open(self) -> bool:
        """Whether a person must say something before this can be mixed by."""
        return bool(self.typed) and self.statement is None

    def live(self) -> dict[str, Any]:
        """Return what the box under the field shows, by the names of its parts."""
        said = self.said
        return {
            "fault": self.fault,
            "contradictions": [*said.contradictions, *said.asks] if said else [],
            "understood": said.understood if said and not said.contradictions else [],
            "notes": said.notes if said else [],
            "look_alikes": said.look_alikes if said else [],
            "choices": [{"key": key, "text": text} for key, text in self.choices],
            **{question: question in self.questions for question in ASKED_ONCE},
        }


def read_typed(
    words: Words, typed: str, meant: Meant, *, pick: str = "", of: str = "alum"
) -> DoseReader:
    """
    Read a dose as a person types it, for a field and for its live answer alike.

    Args:
        typed: As people write it; empty gives an empty reader.
        meant: What a bare gallon, cup and spoon is to who reads; where nobody said, it asks.
        pick: The key of the reading that a person picked, of an earlier answer.
        of: What it is a dose of: alum or a powder.
    """
    typed = typed.strip()
    if not typed:
        return DoseReader(typed="")
    try:
        reading = understand(typed, meant.kinds, of=of, tongue=words.lang)
    except NotUnderstood as fault:
        return DoseReader(typed=typed, fault=fault_text(words, fault))
    choices = choices_of(reading)
    return DoseReader(
        typed=typed,
        said=dose_said(words, reading, meant),
        questions=_questions(reading),
        choices=tuple((one.key, statement_text(words, one.statement)) for one in choices),
        picked=pick if pick in {one.key for one in choices} else "",
        statement=settle(reading, pick),
    )


def _questions(reading: DoseReading) -> tuple[str, ...]:
    """Return which kinds of measure the text leaves to whoever reads it."""
    read_as = (one.code.partition("-read-as-")[0] for one in reading.notes)
    asked = (one.question for one in reading.asks)
    return tuple(dict.fromkeys(one for one in (*read_as, *asked) if one in ASKED_ONCE))


def dose_said(words: Words, reading: DoseReading, meant: Meant) -> DoseSaid:
    """Say a reading in sentences."""
    odd = reading.contradiction
    asks = [words.gettext(ASKS[one.question]) for one in reading.asks]
    diluted = [one for one in reading.notes if one.code == DILUTED_TO_WHAT]
    return DoseSaid(
        understood=tuple(statement_text(words, one) for one in reading.statements),
        contradictions=(contradiction_text(words, reading, odd),) if odd else (),
        asks=(*asks, *(note_text(words, one, meant) for one in diluted)),
        notes=tuple(
            note_text(words, one, meant) for one in reading.notes if one not in diluted
        ),
        look_alikes=_look_alikes(words, reading.look_alikes),
    )


def open_text(words: Words, reader: DoseReader) -> str:
    """Say that a reading must be picked: of two things said, or of one that can mean two."""
    if reader.said is not None and reader.said.contradictions:
        return words.gettext("The card says two things. Pick the reading that holds.")
    return words.gettext("This can mean more than one thing. Pick the one that is meant.")


def statement_text(words: Words, one: Statement) -> str:
    """Say one way of a dose: '6 US tablespoons to 1 US gallon: 23.4 mL/L, about 23 g/L ...'."""
    return words.gettext(
        "%(dose)s: %(strength)s", dose=dose_text(words, one), strength=_is(words, one)
    )


def dose_text(words: Words, one: Statement) -> str:
    """Say how much powder goes to how much water: '6 US tablespoons to 1 US gallon'."""
    return words.gettext(
        "%(amount)s to %(water)s",
        amount=_ranged(words, one.amount, one.amount_upto),
        water=_ranged(words, one.water, one.water_upto),
    )


def _ranged(words: Words, low: Quantity, high: Quantity | None) -> str:
    if high is None:
        return quantity_text(words, low)
    if low.unit == high.unit:
        return f"{_number(words, low)}-{quantity_text(words, high)}"
    return f"{quantity_text(words, low)} - {quantity_text(words, high)}"


def _is(words: Words, one: Statement) -> str:
    grams = strength_text(words, one.g_per_l)
    if one.ml_per_l is None:
        return grams
    return words.gettext(
        "%(ml)s mL/L, %(grams)s", ml=words.number(float(one.ml_per_l.middle), 1), grams=grams
    )


def strength_text(words: Words, spread: Spread) -> str:
    """Say a strength: exact ones as '30 g/L', others as 'about 23 g/L (17 to 32)'."""
    if spread.low == spread.high:
        return _strength(words, spread.middle)
    return words.gettext(
        "about %(middle)s (%(low)s to %(high)s)",
        middle=_strength(words, spread.middle),
        low=_g_per_l(words, spread.low),
        high=_g_per_l(words, spread.high),
    )


def _strength(words: Words, g_per_l: Fraction) -> str:
    """Say one strength with its unit."""
    return amounts.with_strength_unit(words, _g_per_l(words, g_per_l))


def _g_per_l(words: Words, figure: Fraction) -> str:
    return amounts.strength_figure(words, float(figure), 1 if figure < SMALL_G_PER_L else 0)


def quantity_text(words: Words, quantity: Quantity) -> str:
    """Say an amount with the kind of its unit: '8 heaped US tablespoons', '0.5 kg'."""
    one, many = UNIT_NAMES[quantity.unit]
    unit = words.gettext(one if abs(quantity.n) <= 1 else many)
    number = _number(words, quantity)
    return words.gettext(HEAPS[quantity.heap], number=number, unit=unit)


def _number(words: Words, quantity: Quantity) -> str:
    return number_text(words, quantity.n, fractions=quantity.unit not in DECIMAL_UNITS)


def number_text(words: Words, n: Fraction, *, fractions: bool = False) -> str:
    """
    Say an exact number, with `fractions` halves, thirds, quarters and eighths as such.

    Three decimals are never written: they may be taken for thousands.
    """
    if fractions and n.denominator in (2, 3, 4, 8):
        whole, rest = divmod(abs(n), 1)
        sign = "-" if n < 0 else ""
        return f"{sign}{int(whole)} {rest}" if whole else f"{sign}{rest}"
    decimals = len(wire(n).partition(".")[2]) if "/" not in wire(n) else 2
    if decimals == 3:
        decimals = 4
    return words.number(float(n), min(decimals, DECIMALS_MAX))


def contradiction_text(words: Words, reading: DoseReading, odd: Contradiction) -> str:
    """Say what two statements make of a dose, and how far apart they are."""
    first, second = (reading.statements[place] for place in odd.between)
    if odd.code == "waters-disagree":
        one, other = (quantity_text(words, found.water) for found in (first, second))
    else:
        one, other = _sides(words, first, second)
    apart = apart_text(words, odd.apart)
    return words.gettext(CONTRADICTIONS[odd.code], one=one, other=other, apart=apart)


def _sides(words: Words, first: Statement, second: Statement) -> tuple[str, str]:
    """Say both sides in what they can be compared by: mL/L if both are spooned, else g/L."""
    if first.ml_per_l is None or second.ml_per_l is None:
        return statement_text(words, first), statement_text(words, second)
    sides = []
    for one in (first, second):
        assert one.ml_per_l is not None
        sides.append(
            words.gettext(
                "%(dose)s is %(ml)s mL/L",
                dose=dose_text(words, one),
                ml=words.number(float(one.ml_per_l.middle), 1),
            )
        )
    return sides[0], sides[1]


def apart_text(words: Words, apart: Fraction) -> str:
    """Say a part of a whole: 'a third', '12 %'."""
    if apart in _APART:
        return words.gettext(_APART[apart])
    return words.gettext("%(percent)s %%", percent=words.number(100 * float(apart)))


def note_text(words: Words, note: Note, meant: Meant) -> str:
    """Say a note with its numbers; a kind of measure with what the others would be."""
    fields = dict(note.fields)
    question, taken, _ = note.code.partition("-read-as-")
    if taken and question in ASKS:
        read = words.gettext(NOTES[note.code])
        if question in meant.whose:
            whose = words.gettext(WHOSE[meant.whose[question]])
            read = words.gettext("%(read)s, %(whose)s.", read=read, whose=whose)
        return " ".join([read, *_others(words, question, note.fields)])
    said: dict[str, str] = {}
    for name, value in fields.items():
        if isinstance(value, str):
            said[name] = words.gettext(UNIT_NAMES[value][0])
        elif name == "give_or_take":
            said[name] = words.number(100 * float(value))
        else:
            said[name] = words.number(float(value), 1)
    return words.gettext(NOTES[note.code], **said)


def _others(
    words: Words, question: str, fields: tuple[tuple[str, Fraction | str], ...]
) -> list[str]:
    found = []
    for kind, change in fields:
        assert isinstance(change, Fraction)
        if abs(change) >= WORTH_SAYING:
            percent = words.number(100 * abs(float(change)))
            weaker, stronger = OTHER_KINDS[question, kind]
            found.append(words.gettext(weaker if change < 0 else stronger, percent=percent))
    return found


def _look_alikes(words: Words, found: tuple[LookAlike, ...]) -> tuple[str, ...]:
    """Say three doses that are mistaken for one another, under a line that says so."""
    if not found:
        return ()
    head = words.gettext("Easily mistaken for one another:")
    return (head, *(_look_alike(words, one) for one in found))


def _look_alike(words: Words, one: LookAlike) -> str:
    """Say one of three doses that are mistaken for one another; the typed one is marked."""
    values = {
        "amount": quantity_text(words, one.amount),
        "water": quantity_text(words, one.water),
        "strength": _strength(words, one.g_per_l.middle),
    }
    if one.entered:
        return words.gettext("%(amount)s to %(water)s, as written: %(strength)s", **values)
    return words.gettext("%(amount)s to %(water)s: %(strength)s", **values)


def fault_text(words: Words, fault: NotUnderstood) -> str:
    """Say what was not understood, and what would be right."""
    said = [_option(words, one) for one in fault.options]
    options = words.gettext(" or ").join(said)
    single = dict(zip(("first", "second", "third"), said, strict=False))
    return words.gettext(FAULTS[fault.code], part=fault.part, options=options, **single)


def _option(words: Words, option: str) -> str:
    if option in UNITS:
        return words.gettext(UNIT_NAMES[option][0])
    return words.gettext(_OPTIONS[option]) if option in _OPTIONS else option


def spoons_text(words: Words, count: float, unit: str) -> str:
    """Say level spoons to the half: '32 1/2 level US tablespoons'."""
    halves = Fraction(round(count * 2), 2)
    return quantity_text(words, Quantity("", halves, unit, LEVEL))
