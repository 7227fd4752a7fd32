"""
The words people use, one `Language` for each tongue.

A name leads to a family: either a unit's code, or one of the names that several units share
(gallon, quart, pint, cup, fl_oz, tbsp, tsp, ounce). `coop.units.kinds` picks the unit.
A new tongue is one more `Language`; nothing else has to change.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

Words = tuple[str, ...]

WORDS_LONGEST: Final = 2
"""No name here has more words than this."""


REAMS: Final = ("480", "500", "516")
"""Sheets of a ream: of the old trade, of today, of printers (from memory)."""
QUIRES: Final = ("24", "25")
"""Sheets of a quire: a twentieth of the ream of 480 and of that of 500 (from memory)."""
WASHING_SODAS: Final = ("anhydrous", "monohydrate", "crystals")
BAKING_SODA: Final = "bicarbonate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """
    The words of one tongue, lower-case and without dots, but for `unsure` and `exact_case`.

    `unsure` words are never guessed: each lists what it might mean. `asides` are words that
    are read, reported and change no number. `goods` are the cloth that a dose may be a part of.
    `takes` stand between water that is said first and its powder.
    `concentrate` and `dilute` say that a dose is one to be diluted; `then` stands before the
    latter. `datives` end the water of a dose that may come first, as do the `postpositions`
    behind it; `suffixes` follow an apostrophe; other letters are read as `letters` has them.
    `sodas` are what each word leaves of the forms of soda; `no_soda` words are another thing.
    """

    letters: Mapping[int, int]
    units: Mapping[Words, str]
    exact_case: Mapping[str, str]
    unsure: Mapping[str, tuple[str, ...]]
    systems: Mapping[Words, str]
    heaps: Mapping[str, str]
    heap_unsure: frozenset[str]
    by_weight: frozenset[Words]
    by_volume: frozenset[Words]
    separators: frozenset[Words]
    datives: frozenset[str]
    postpositions: frozenset[str]
    suffixes: frozenset[str]
    to: str
    parts: frozenset[str]
    or_words: frozenset[str]
    and_words: frozenset[str]
    of: frozenset[str]
    articles: frozenset[str]
    each: frozenset[str]
    water: frozenset[str]
    goods: frozenset[str]
    of_goods: frozenset[str]
    weight: frozenset[str]
    dry: str
    packs_of_sheets: Mapping[str, tuple[str, ...]]
    sodas: Mapping[str, tuple[str, ...]]
    no_soda: frozenset[Words]
    asides: frozenset[str]
    concentrate: frozenset[str]
    dilute: frozenset[str]
    takes: frozenset[str]
    then: frozenset[str]
    no_fixed_size: frozenset[str]
    wholes: Mapping[str, int]
    fractions: Mapping[str, Fraction]
    word_fractions: Mapping[Words, Fraction]
    and_a_half: frozenset[str]
    percent_first: frozenset[str]


def _units(spellings: Mapping[str, str]) -> Mapping[Words, str]:
    names: dict[Words, str] = {}
    for family, written in spellings.items():
        for name in written.split(", "):
            names[tuple(name.split())] = family
    return MappingProxyType(names)


def _phrases(written: str) -> frozenset[Words]:
    return frozenset(tuple(name.split()) for name in written.split(", "))


def _set(written: str) -> frozenset[str]:
    return frozenset(written.split())


def _numbered(written: str) -> Mapping[str, int]:
    return MappingProxyType({name: n for n, name in enumerate(written.split(), start=1)})


ENGLISH: Final = Language(
    letters=MappingProxyType({}),
    units=_units(
        {
            "ml": "ml, mls, cc, millilitre, millilitres, milliliter, milliliters",
            "cl": "cl, centilitre, centilitres, centiliter, centiliters",
            "dl": "dl, decilitre, decilitres, deciliter, deciliters",
            "l": "l, lt, ltr, ltrs, litre, litres, liter, liters",
            "gallon": "gal, gals, gallon, gallons",
            "quart": "qt, qts, quart, quarts",
            "pint": "pt, pts, pint, pints",
            "cup": "cup, cups, cupful, cupfuls",
            "fl_oz": "fl oz, fl ozs, floz, fl ounce, fl ounces, fluid oz, fluid ounce, "
            "fluid ounces, liquid oz, liquid ounce, liquid ounces",
            "tr_cup": "turkish glass, turkish glasses",
            "tbsp": "tbsp, tbsps, tbs, tblsp, tblsps, tablespoon, tablespoons, "
            "tablespoonful, tablespoonfuls",
            "tsp": "tsp, tsps, teaspoon, teaspoons, teaspoonful, teaspoonfuls",
            "ounce": "oz, ozs, ounce, ounces",
            "oz": "avoirdupois oz, avoirdupois ounce, avoirdupois ounces",
            "apoth_oz": "apothecary ounce, apothecary ounces, apothecary oz, "
            "apothecaries ounce, apothecaries ounces, troy ounce, troy ounces, troy oz",
            "mg": "mg, milligram, milligrams, milligramme, milligrammes",
            "g": "g, gm, gms, gram, grams, gramme, grammes",
            "kg": "kg, kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes",
            "lb": "lb, lbs, pound, pounds",
            "mm": "mm, millimetre, millimetres, millimeter, millimeters",
            "cm": "cm, centimetre, centimetres, centimeter, centimeters",
            "m": "m, metre, metres, meter, meters",
            "inch": "inch, inches, in, ins",
            "m2": "m2, m², sq m, square metre, square metres, square meter, square meters",
            "cm2": "cm2, cm², sq cm",
            "celsius": "°c, degc, celsius, centigrade, deg c, degrees c, degrees celsius",
            "fahrenheit": "°f, degf, fahrenheit, deg f, degrees f, degrees fahrenheit",
            "sheet": "sheet, sheets",
            "percent": "percent, per cent, pct",
        }
    ),
    exact_case=MappingProxyType({"C": "celsius", "F": "fahrenheit"}),
    unsure=MappingProxyType(
        {
            "t": ("tsp", "tbsp"),
            "T": ("tsp", "tbsp"),
            "ts": ("tsp", "tbsp"),
            "tb": ("tsp", "tbsp"),
            "Tb": ("tsp", "tbsp"),
            "spoon": ("tsp", "tbsp"),
            "spoons": ("tsp", "tbsp"),
            "spoonful": ("tsp", "tbsp"),
            "spoonfuls": ("tsp", "tbsp"),
            "c": ("cup", "celsius"),
            "C": ("cup", "celsius"),
            "G": ("g", "gallon"),
            "gr": ("g", "grain"),
            "grs": ("g", "grain"),
            "degrees": ("celsius", "fahrenheit"),
            "deg": ("celsius", "fahrenheit"),
            "°": ("celsius", "fahrenheit"),
        }
    ),
    systems=MappingProxyType(
        {
            ("us",): "us",
            ("u", "s"): "us",
            ("usa",): "us",
            ("american",): "us",
            ("imperial",): "imp",
            ("imp",): "imp",
            ("uk",): "uk",
            ("u", "k"): "uk",
            ("british",): "uk",
            ("metric",): "metric",
            ("australian",): "au",
            ("aus",): "au",
            ("au",): "au",
        }
    ),
    heaps=MappingProxyType(
        {"heaped": "heaped", "heaping": "heaped", "level": "level", "levelled": "level"}
        | {"leveled": "level", "flat": "level", "rounded": "rounded", "scant": "scant"}
    ),
    heap_unsure=frozenset({"generous", "full", "packed"}),
    by_weight=_phrases("weight, by weight, wt, av, avdp, avoirdupois"),
    by_volume=_phrases("fluid, fl, liquid, by volume"),
    separators=_phrases(
        "per, in, into, to, on, for, with, makes, make, to make, dissolved in, added to, "
        "for each"
    ),
    datives=frozenset(),
    postpositions=frozenset(),
    suffixes=frozenset(),
    to="to",
    parts=frozenset({"part", "parts"}),
    or_words=frozenset({"or"}),
    and_words=frozenset({"and", "plus"}),
    of=frozenset({"of"}),
    articles=frozenset({"a", "an"}),
    each=frozenset({"the", "each", "every"}),
    water=frozenset({"water"}),
    goods=_set("owg owf wof goods cloth fabric fibre fiber cotton linen silk wool yarn"),
    of_goods=_set("of on the"),
    weight=_set("weight wt"),
    dry="dry",
    packs_of_sheets=MappingProxyType(
        dict.fromkeys(("ream", "reams"), REAMS) | dict.fromkeys(("quire", "quires"), QUIRES)
    ),
    sodas=MappingProxyType(
        dict.fromkeys(("soda", "sodium", "of", "powder"), (*WASHING_SODAS, BAKING_SODA))
        | dict.fromkeys(("washing", "carbonate"), WASHING_SODAS)
        | dict.fromkeys(("baking", "bicarbonate", "bicarb", "cooking"), (BAKING_SODA,))
        | dict.fromkeys(("ash", "anhydrous", "calcined"), ("anhydrous",))
        | {"monohydrate": ("monohydrate",)}
        | dict.fromkeys(("crystals", "crystal", "decahydrate", "sal"), ("crystals",))
    ),
    no_soda=_phrases("caustic, lye, hydroxide, percarbonate, bleach, baking powder"),
    asides=_set(
        "alum aluminium aluminum ammonium potash potassium sulfate sulphate carrageenan "
        "powder powdered crystals granules dry water hot warm cold soft tap distilled boiling "
        "lukewarm add use dissolve stir mix about approx approximately roughly of the"
    ),
    concentrate=_set("concentrate concentrated"),
    dilute=_set("dilute diluted dilutes diluting"),
    takes=_set("take takes need needs want wants"),
    then=_set("then and"),
    no_fixed_size=_set(
        "dessertspoon dessertspoons "
        "pinch pinches dash handful handfuls scoop scoops scoopful drop drops capful capfuls "
        "bucket buckets jug jugs jar jars tub tubs bowl bowls pan pans pot pots tray trays "
        "ream reams quire quires pack packs bag bags box boxes glass glasses mug mugs"
    ),
    wholes=_numbered("one two three four five six seven eight nine ten eleven twelve"),
    fractions=MappingProxyType(
        {"half": Fraction(1, 2), "halves": Fraction(1, 2)}
        | {"third": Fraction(1, 3), "thirds": Fraction(1, 3)}
        | {"quarter": Fraction(1, 4), "quarters": Fraction(1, 4)}
        | {"fourth": Fraction(1, 4), "fourths": Fraction(1, 4)}
        | {"eighth": Fraction(1, 8), "eighths": Fraction(1, 8)}
    ),
    word_fractions=MappingProxyType({}),
    and_a_half=frozenset(),
    percent_first=frozenset(),
)
