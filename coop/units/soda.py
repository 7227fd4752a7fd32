"""Which soda a jar holds: baking soda, or one of three washing sodas."""

from typing import Final

from coop.units.fault import NotUnderstood
from coop.units.names import BAKING_SODA, ENGLISH, WASHING_SODAS, Language
from coop.units.stream import Stream

SODA_FORMS: Final = (*WASHING_SODAS, BAKING_SODA)
"""
What a jar of soda may hold. 2.70 g of crystals (decahydrate) or 1.59 g of baking soda do what
1 g of the anhydrous form does.
"""


def read_soda(typed: str, *, words: Language = ENGLISH) -> str:
    """
    Return one of `SODA_FORMS`.

    Every word narrows what is meant: "soda" is any, "washing soda" is three, "washing soda
    crystals" is one.

    Raises:
        NotUnderstood: "which-soda" with what is left to choose from, all of them where words
            contradict each other; "no-soda" for lye, baking powder and their like.

    >>> read_soda("baking soda"), read_soda("soda ash")
    ('bicarbonate', 'anhydrous')
    """
    stream = Stream(typed, words=words)
    left = set(SODA_FORMS)
    while not stream.ended():
        word = stream.word()
        if stream.phrase(words.no_soda):
            raise stream.fault("no-soda", start=0, end=len(stream.typed))
        if word not in words.sodas and not stream.sees("-"):
            raise stream.unknown()
        left &= set(words.sodas.get(word, SODA_FORMS))
        stream.take("unit")
    if len(left) == 1:
        return left.pop()
    options = tuple(form for form in SODA_FORMS if form in left) or SODA_FORMS
    raise NotUnderstood("which-soda", stream.typed, (0, len(stream.typed)), options)
