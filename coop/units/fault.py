"""The one error of the readers: what was not understood, where, and what would be right."""

from types import MappingProxyType
from typing import Final

ENGLISH: Final = MappingProxyType(
    {
        "empty": "nothing is written",
        "too-long": "too long: at most {options} characters",
        "unknown-word": "this word is not known",
        "does-not-fit": "this does not fit here",
        "unknown-sign": "this character is not known",
        "which-unit": "this can mean several measures: {options}",
        "which-kind": "there are several of this name: {options}",
        "no-such-unit": "there is no such measure; there are: {options}",
        "no-fixed-size": "this has no fixed size: weigh, measure or count it",
        "thousands-or-decimals": "thousands or decimals? Write {options}",
        "two-numbers": "two numbers in a row",
        "odd-number": "this is not how a number is written",
        "odd-fraction": "a fraction has whole numbers of at most {options}, the lower not 0",
        "out-of-range": "must lie from {options}",
        "negative": "cannot be less than nothing",
        "zero": "cannot be nothing",
        "number-missing": "how many?",
        "unit-missing": "a number of what?",
        "wrong-dimension": "this is not the kind of measure asked for ({options})",
        "water-missing": "how much water?",
        "amount-missing": "how much of the powder?",
        "ratio-of-what": "parts of what? Write for example {options}",
        "range-backwards": "a range goes from the smaller to the larger",
        "heap-unsure": "this is neither level nor heaped: {options}?",
        "heap-on-what": "only a spoon or a cup of powder is level or heaped",
        "not-one-amount": "these two do not add up to one amount",
        "wrong-way-round": "the powder comes first, then the water: {options}",
        "water-by-weight": "is this weight water? Say 'of water', or give litres",
        "percent-of-what": "percent is read as grams in 100 mL of water, or w/w",
        "by-weight-of-goods": "a part of the weight of cloth: no dose in water",
        "too-strong": "stronger than anything dissolves: at most {options} g/L",
        "bracket": "a bracket is not closed, or holds nothing that fits here",
        "which-scale": "on which scale was this read: {options}?",
        "other-scale": "that is {0}; is {1} meant?",
        "too-cold-or-hot": "that is {0}; it must lie from {1} to {2}",
        "which-ream": "of how many sheets: {options}?",
        "not-whole": "this comes to a part of a sheet",
        "which-soda": "which soda: {options}?",
        "no-soda": "this is another thing than soda, and may be dangerous here",
        "which-day": "this may be {options}: write year, month, day",
        "no-day": "a day is written as {options}",
        "not-on-the-wire": "this is not the written form of a quantity",
    }
)
"""Every code of `NotUnderstood` with its English text."""


class NotUnderstood(ValueError):
    """
    Raised for every text, and only for texts, that a reader cannot take.

    `code` is a key of `ENGLISH`; `part` the words in question; `where` their (start, end)
    in the NFC form of the text; `options` what would be right, as codes or numbers,
    but first what a temperature is on the other scale.
    """

    def __init__(
        self, code: str, part: str, where: tuple[int, int], options: tuple[str, ...] = ()
    ) -> None:
        super().__init__(code, part, where, options)
        self.code = code
        self.part = part
        self.where = where
        self.options = options

    def __str__(self) -> str:
        said = ENGLISH[self.code].format(*self.options, options=" or ".join(self.options))
        return f'"{self.part}": {said}' if self.part else said
