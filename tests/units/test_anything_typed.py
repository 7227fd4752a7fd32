"""Whatever is typed: it is understood to the last sign, or asked about; nothing between."""

import unicodedata

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coop.units.amount import read_amount
from coop.units.day import read_day
from coop.units.dose import DoseReading, read_dose
from coop.units.fault import ENGLISH, NotUnderstood
from coop.units.goods import read_goods_dose
from coop.units.gravity import read_gravity
from coop.units.kinds import FAMILIES, QUESTIONS, Kinds
from coop.units.names import ENGLISH as WORDS
from coop.units.sheets import read_sheets
from coop.units.soda import read_soda
from coop.units.stream import TEXT_MAX
from coop.units.table import UNITS
from coop.units.temperature import read_temperature
from tests.units import (
    test_amount,
    test_day,
    test_dose,
    test_goods,
    test_gravity,
    test_number,
    test_sheets,
    test_soda,
    test_temperature,
)
from tests.units.house import ALUM, US

PIECES = [
    "8", "1/3", "½", "2 1/2", "0,5", "1,000", "one", "half", "a", "tbsp", "cup", "gallon", "oz",
    "g", "kg", "lb", "L", "mL", "%", "T", "c", "US", "imperial", "UK", "metric", "heaped",
    "level", "(", ")", "=", "/", "-", ",", ":", ";", "+", "per", "to", "in", "makes", "or",
    "and", "of", "water", "alum", "hot", "the", "weight", "fluid", "60-70", "pinch", "frob",
    "w/v", "°C", "m2", "w/w", "1:8", "part", "parts", "by", "rounded", "scant", "dry", "owg",
    "cloth", "%3", "concentrate", "then", "dilute",
]  # fmt: skip
TEXTS_OF_THE_LONG_TIER = 50_000
UNDERSTOOD = [
    "8 tbsp per gallon",
    "8 tbsp (1/3 cup) per gallon",
    "1 tsp per cup = 1/3 cup per gallon",
    "1 tbsp (15 g) per 2 cups (475 mL)",
    "4 oz (weight) per gallon of hot water",
    "2 1/2 heaped US tbsp to the quart",
    "1 lb 4 oz per 8 gal",
    "60-70 g per 10 L",
    "3 % w/v",
    "1 oz (weight) per quart concentrate",
]

kinds = st.one_of(
    st.none(),
    st.builds(
        Kinds,
        gallon=st.sampled_from(QUESTIONS["gallon"]),
        cup=st.sampled_from(QUESTIONS["cup"]),
        spoon=st.sampled_from(QUESTIONS["spoon"]),
        ounce=st.sampled_from(["ask", *QUESTIONS["ounce"]]),
    ),
)
sentences = st.builds(
    lambda pieces, blank: blank.join(pieces),
    st.lists(st.sampled_from(PIECES), max_size=12),
    st.sampled_from([" ", " ", ""]),
)
words_of_others = st.builds(
    " ".join,
    st.lists(
        st.sampled_from(
            [
                "2.9",
                "1.021",
                "68",
                "480",
                "15 %",
                "Be",
                "SG",
                "Tw",
                "°",
                "F",
                "C",
                "ream",
                "of",
                "quires",
                "sheets",
                "(",
                ")",
                "washing",
                "baking",
                "soda",
                "crystals",
                "lye",
                "dry",
                "weight",
                "owg",
                "cloth",
                "04/10",
                "2025-10-04",
                "-",
            ]
        ),
        max_size=5,
    ),
)
doses = st.builds(
    "{} {} {} {}{}".format,
    st.sampled_from(["8", "½", "2-3", "1/3", "0,5", "one and a half"]),
    st.sampled_from(["tbsp", "heaped tsp", "oz", "g", "US cup", "lb", "fl oz", "tbsp (15 g)"]),
    st.sampled_from(["per", "/", "to the", "in", "makes"]),
    st.sampled_from(["gallon", "2 cups", "imperial pint", "10 L", "quart (950 mL)", "8 oz"]),
    st.sampled_from(["", " of water", " hot", " = 30 g/L", " (3 %)", " (heaped)"]),
)


def understood(typed: str, house: Kinds | None) -> DoseReading | None:
    try:
        return read_dose(typed, house, ALUM)
    except NotUnderstood:
        return None


def check_that_nothing_is_dropped(typed: str, house: Kinds | None) -> None:
    """Nothing but `NotUnderstood` is ever raised, and no word is dropped in silence."""
    reading = understood(typed, house)
    if reading is None:
        return  # asked about; three in four of the `doses` are understood

    assert reading.typed == unicodedata.normalize("NFC", typed)
    taken = {at for span in reading.spans for at in range(span.start, span.end)}
    left = {at for at, sign in enumerate(reading.typed) if not sign.isspace()} - taken
    assert left == set()
    assert len({span.start for span in reading.spans}) == len(reading.spans)


texts = st.one_of(st.text(max_size=90), sentences, doses)


@given(texts, kinds)
def test_every_sign_of_a_dose_that_is_understood_was_taken_for_something(typed, house):
    check_that_nothing_is_dropped(typed, house)


@pytest.mark.long
@settings(max_examples=TEXTS_OF_THE_LONG_TIER)
@given(texts, kinds)
def test_so_is_every_sign_of_fifty_thousand_texts(typed, house):
    """The ordinary run draws 200; what is rarer than that shows here."""
    check_that_nothing_is_dropped(typed, house)


@pytest.mark.parametrize(
    "reader",
    [read_goods_dose, read_gravity, read_temperature, read_sheets, read_soda, read_day],
)
@given(st.one_of(st.text(max_size=90), sentences, words_of_others))
def test_any_text_is_read_or_not_understood_by_every_reader(reader, typed):
    try:
        assert reader(typed)
    except NotUnderstood as caught:
        fault = caught
    else:
        return
    start, end = fault.where
    assert 0 <= start <= end
    assert str(fault)


@given(doses, kinds)
def test_a_reading_has_a_strength_or_says_why_not(typed, house):
    reading = understood(typed, house)
    assume(reading is not None)
    assert reading is not None

    usable = reading.g_per_l is not None
    assert usable is (not reading.asks and reading.contradiction is None)
    assert usable or reading.asks or reading.contradiction
    for one in [
        *reading.statements,
        *[s for a in reading.alternatives for s in a.reading.statements],
    ]:
        assert 0 < one.g_per_l.low <= one.g_per_l.middle <= one.g_per_l.high


@given(st.one_of(st.text(max_size=90), sentences), kinds, st.sampled_from([None, "mass"]))
def test_any_text_is_an_amount_or_not_understood(typed, house, want):
    try:
        found = read_amount(typed, house, want)
    except NotUnderstood as caught:
        fault = caught
    else:
        assert found.unit in UNITS
        assert want is None or found.dimension == want
        return
    start, end = fault.where
    assert 0 <= start <= end
    assert fault.code == "too-long" or end <= len(unicodedata.normalize("NFC", typed))


@given(st.sampled_from(UNDERSTOOD), st.integers(0, 12), st.sampled_from(["frob", "§", "daily"]))
def test_a_foreign_word_anywhere_is_never_passed_over(typed, place, word):
    words = typed.split()
    words.insert(place, word)
    text = " ".join(words)

    with pytest.raises(NotUnderstood) as caught:
        read_dose(text, US, ALUM)

    assert caught.value.code != "too-long"
    assert len(text) <= TEXT_MAX


@given(st.sampled_from(UNDERSTOOD), st.integers(0, 12), st.sampled_from(["7", "⅞", "seven"]))
def test_a_further_number_anywhere_is_refused_or_counts(typed, place, number):
    words = typed.split()
    words.insert(place, number)
    before, after = understood(typed, US), understood(" ".join(words), US)

    assert before is not None
    assert after is None or after.statements != before.statements


@given(st.sampled_from(UNDERSTOOD), st.sampled_from(["\u00a0", "\u2009", "  ", "\t"]))
def test_blanks_of_any_kind_are_blanks(typed, blank):
    before, after = understood(typed, US), understood(typed.replace(" ", blank), US)

    assert before is not None
    assert after is not None
    assert [one.g_per_l for one in before.statements] == [
        one.g_per_l for one in after.statements
    ]


@pytest.mark.parametrize("typed", [typed for typed in UNDERSTOOD if " g" not in typed[:-8]])
def test_capitals_change_nothing_but_where_one_letter_is_the_unit(typed):
    """T, C and G are asked about; a label in capitals is read all the same."""
    before, after = understood(typed, US), understood(typed.upper(), US)

    assert before is not None
    assert after is not None
    assert [one.g_per_l for one in before.statements] == [
        one.g_per_l for one in after.statements
    ]


def test_a_dose_may_be_said_as_often_as_its_length_allows():
    """Eight rates fill 80 characters; teaspoons are alike in metric and Australian kitchens."""
    typed = "=".join(["1 oz/gal", "1 tsp/cup"] * 4)
    reading = read_dose(typed, None, ALUM)

    assert len(reading.alternatives) == 2 * 3 * 3 * 2
    assert {len(one.reading.statements) for one in reading.alternatives} == {8}


def test_every_code_of_not_understood_is_met_in_a_test():
    """A code nobody can meet needs no text in three languages."""
    met = {
        code
        for module in (
            test_amount,
            test_day,
            test_dose,
            test_goods,
            test_gravity,
            test_number,
            test_sheets,
            test_soda,
            test_temperature,
        )
        for test in vars(module).values()
        for mark in getattr(test, "pytestmark", [])
        if mark.name == "parametrize" and "code" in mark.args[0]
        for row in mark.args[1]
        for code in row
        if isinstance(code, str)
    }

    assert set(ENGLISH) - met == {"not-on-the-wire"}


def test_every_name_leads_to_a_unit():
    for family in WORDS.units.values():
        assert family in UNITS or family in FAMILIES or family == "ounce"
    assert {code for units in FAMILIES.values() for code in units.values()} <= set(UNITS)
