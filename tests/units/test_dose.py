"""Doses as people write them, against recipes in print and sums done by hand."""

import json
from fractions import Fraction

import pytest

from coop.science.defaults import default
from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.plain import plain_dose, plain_fault
from coop.units.strength import Bulk
from tests.science.handbook import as_printed
from tests.units.house import ALUM, IMPERIAL, METRIC, PAGES, US

# Alum recipes of instruction pages, as printed: common practice, no source.
# Row, text, mL/L, then g/L middle, low, high as printed in a comparison of them at 1.00 g/mL
# (0.753 to 1.278). A dash: not printed, or printed for several recipes at once.
RECIPES = [
    ("1", "1 tsp per cup = 1/3 cup per gallon", "20.8", "20.8", "15.7", "26.6"),
    ("2a", "8 tbsp per gallon", "31.3", "31.3", "23.5", "39.9"),
    ("2a by weight", "1 lb per 3 gal", "-", "39.9", "39.9", "39.9"),
    ("2b", "1/3 cup per gallon", "20.8", "20.8", "15.7", "26.6"),
    ("2c", "2 tsp in 2 cups", "20.8", "20.8", "15.7", "26.6"),
    ("3", "1 heaped tbsp per cup hot", "62.5", "94", "-", "-"),
    ("3, level", "1 level tbsp per cup hot", "62.5", "62", "47", "80"),
    ("3b, once", "1 tbsp per cup", "62.5", "62.5", "47", "80"),
    ("3b, twice", "2 tbsp per cup", "125", "125", "-", "160"),
    ("4", "1 tbsp per cup", "62.5", "62.5", "47", "80"),
    ("5", "2 tbsp per pint, hot soft water", "62.5", "62.5", "47", "80"),
    ("5, imperial", "2 imperial tbsp per imperial pint", "62.5", "62.5", "47", "80"),
    ("6, weak", "1/2 tbsp per cup", "31.3", "31.3", "23.5", "-"),
    ("6, then", "1/2 tbsp per 1/2 cup", "62.5", "62.5", "-", "80"),
    ("7, if a gallon", "1/4 cup into a gallon", "15.6", "15.6", "11.8", "20"),
    ("8, two", "2 tsp per pint", "20.8", "20.8", "-", "26.6"),
    ("8, one and a half", "1.5 tsp per pint", "15.6", "15.6", "11.8", "-"),
    ("9", "3 tbsp per quart hot", "46.9", "46.9", "35", "60"),
    ("10", "2 tsp per quart", "10.4", "10.4", "7.8", "13.3"),
    ("11", "1/8 cup per 2 cups", "62.5", "62.5", "47", "80"),
    ("12", "1 tbsp (15 g) per 2 cups (475 mL)", "31.3", "31.6", "31.6", "31.6"),
    ("F1", "2 tsp per gallon", "2.6", "2.6", "2.0", "3.3"),
    ("F2", "4 tbsp / 60 g per gallon", "15.6", "15.9", "15.9", "15.9"),
    ("F3", "2 tbsp per quart", "31.3", "31.3", "23.5", "40"),
    ("F4", "50 g in 600 mL hot", "-", "83.3", "83.3", "83.3"),
    ("W", "10 g per gallon", "-", "2.64", "2.64", "2.64"),
]

# The comparison has a spoon of alum at 1.00 g/mL. The house's default is its rounded 14.8 g to
# 14.787 mL, a thousandth more: pages say 20.9 for "1 tsp per cup" where it says 20.8.

# Sizes of instruction pages: common practice, no source. Carrageenan of 8.4 g a level US
# tablespoon, by "2 level tbsp per gallon" and "1 lb makes about 27 gal"; methylcellulose of
# 0.40 g/mL. Text, kinds, g/L as printed: the middle, or both ends of a range.
SPOON = Bulk.of_us_tablespoon(*[Fraction("8.4")] * 3)
LIGHT = Bulk(*[Fraction("0.4")] * 3)
AUSTRALIAN = Kinds(gallon="imp", cup="metric", spoon="au")
SIZES = [
    ("1 tsp per litre", US, SPOON, ("2.8",)),
    ("1.5 - 2.5 tbsp per gallon", US, SPOON, ("3.3", "5.5")),
    ("2 level tbsp per gallon", US, SPOON, ("4.4",)),
    ("1 lb makes about 27 gal", US, SPOON, ("4.4",)),
    ("1 lb makes about 20 gal", US, SPOON, ("6.0",)),
    ("1 flat tbsp per 2 L", METRIC, SPOON, ("4.3",)),
    ("1 tbsp per 2 quarts", US, SPOON, ("4.4",)),
    ("2 tbsp per 14 cups", US, SPOON, ("5.1",)),
    ("1 tbsp + 1 tsp per half gallon", US, SPOON, ("5.9",)),
    ("2 tsp per 4 cups", US, SPOON, ("5.9",)),
    ("1 tbsp per 1.3 L", US, SPOON, ("6.5",)),
    ("1 tbsp per 1.3 L", AUSTRALIAN, SPOON, ("8.7",)),
    ("1/4 cup per gallon", US, SPOON, ("8.9",)),
    ("1 tbsp per 4 cups", US, SPOON, ("8.9",)),
    ("1 oz (weight) per quart", US, SPOON, ("30",)),
    ("4 tbsp per gallon", US, LIGHT, ("6.3",)),
    ("20-40 g per 3 L", US, LIGHT, ("6.7", "13.3")),
    ("1:100 by weight", US, LIGHT, ("10",)),
]


@pytest.mark.parametrize(("row", "typed", "ml_per_l", "middle", "low", "high"), RECIPES)
def test_a_recipe_in_print_is_read_as_strong_as_it_is(row, typed, ml_per_l, middle, low, high):
    """The same words make baths of 10 to 125 g/L; a rounded half digit counts."""
    reading = read_dose(typed, US, PAGES)

    assert reading.contradiction is None
    assert reading.g_per_l is not None
    for computed, printed in zip(
        (reading.g_per_l.middle, reading.g_per_l.low, reading.g_per_l.high),
        (middle, low, high),
        strict=True,
    ):
        assert printed == "-" or as_printed(float(computed), printed, digits=1.2)
    first = reading.statements[0].ml_per_l
    assert (first is None) == (ml_per_l == "-")
    assert first is None or as_printed(float(first.middle), ml_per_l)


@pytest.mark.parametrize(("typed", "kinds", "bulk", "printed"), SIZES)
def test_a_size_in_print_is_read_as_thick_as_it_is(typed, kinds, bulk, printed):
    """From 2.8 g/L to a concentrate of 30: a spoon of the wrong country is a third more."""
    found = read_dose(typed, kinds, bulk).g_per_l

    assert found is not None
    ends = (found.low, found.high) if len(printed) > 1 else (found.middle,)
    for computed, figure in zip(ends, printed, strict=True):
        assert as_printed(float(computed), figure)


def test_a_heaped_spoon_of_the_heaviest_powder_is_as_strong_as_printed():
    """Row 3: up to 120 g/L, near what dissolves in a cold store."""
    heaviest = Bulk(*[PAGES.high_g_per_ml] * 3)
    found = read_dose("1 heaped tbsp per cup hot", US, heaviest).g_per_l

    assert found is not None
    assert as_printed(float(found.middle), "120")


def test_a_leaflet_and_its_other_edition_are_six_times_apart():
    """Rows F1 and F2: 2.6 and 15.9 g/L, the second weighed."""
    first = read_dose("2 tsp per gallon", US, PAGES).g_per_l
    second = read_dose("4 tbsp / 60 g per gallon", US, PAGES).g_per_l

    assert first is not None
    assert second is not None
    assert as_printed(float(second.middle / first.middle), "6.1")


@pytest.mark.parametrize(
    "typed", ["4 tbsp per gallon + 1 tbsp ammonia", "25 g/L + 1 tbsp borax"]
)
def test_a_second_thing_in_the_water_is_never_counted_as_powder(typed):
    with pytest.raises(NotUnderstood):
        read_dose(typed, US, LIGHT)


def test_the_recipe_that_says_two_things_cannot_be_used_until_a_person_picks():
    """Rows 2a and 2b stand on one line: half a cup and a third of a cup."""
    reading = read_dose("8 tablespoons (1/3 cup) per gallon", US, PAGES)

    assert reading.g_per_l is None
    assert [one.typed for one in reading.statements] == [
        "8 tablespoons per gallon",
        "1/3 cup per gallon",
    ]
    assert reading.contradiction is not None
    assert reading.contradiction.apart == Fraction(1, 3)
    picked = reading.picked(1)
    assert picked.g_per_l is not None
    assert as_printed(float(picked.g_per_l.middle), "20.8")
    assert picked.typed == reading.typed


def test_the_printed_pound_settles_the_recipe_that_says_two_things():
    """1 lb makes 3 gallons: 39.9 g/L, and 18.9 g for each of its 24 tablespoons."""
    reading = read_dose("8 tbsp per gallon, 1 lb makes 3 gallons", US, ALUM)

    assert reading.g_per_l is not None
    assert as_printed(float(reading.g_per_l.middle), "39.9")
    implied = next(one for one in reading.notes if one.code == "implied-spoon")
    assert as_printed(float(dict(implied.fields)["g_per_spoon"]), "18.9")


@pytest.mark.parametrize(
    ("typed", "first_ml_per_l", "second_ml_per_l"),
    [
        ("8 tbsp (1/3 cup) per gallon", "31.3", "20.8"),
        ("1/3 cup (8 tbsp) per gallon", "20.8", "31.3"),
        ("8 tbsp or 1/3 cup per gallon", "31.3", "20.8"),
        ("8 tbsp = 1/3 cup per gallon", "31.3", "20.8"),
        ("1/3 cup per gallon (8 tbsp)", "20.8", "31.3"),
        ("8 tbsp per gallon (1/3 cup per gallon)", "31.3", "20.8"),
        ("6 tablespoons (1/4 cup) per gallon", "23.4", "15.6"),
    ],
)
def test_however_two_things_are_said_they_are_compared(typed, first_ml_per_l, second_ml_per_l):
    reading = read_dose(typed, US, ALUM)
    spreads = [one.ml_per_l for one in reading.statements]

    assert reading.contradiction is not None
    assert spreads[0] is not None
    assert spreads[1] is not None
    assert as_printed(float(spreads[0].middle), first_ml_per_l)
    assert as_printed(float(spreads[1].middle), second_ml_per_l)


@pytest.mark.parametrize(
    "typed",
    [
        "8 tbsp (1/2 cup) per gallon",
        "1 tsp per cup (20.8 mL/L)",
        "30 g/L (3 %)",
        "60-70 g per 10 L = 6.5 g/L",
        "20 g/L or 19 g/L",
        "1 heaped tbsp (1 1/2 tbsp) per cup",
        "8 tbsp per gallon (3.8 L)",
        "2 tsp to 1 pint of water (16 oz)",
        "1 tsp (5 g) alum per 8 oz (240 mL) water",
    ],
)
def test_saying_the_same_twice_is_no_contradiction(typed):
    """Up to and with 5 % of the larger."""
    reading = read_dose(typed, US, ALUM)

    assert len(reading.statements) == 2
    assert reading.contradiction is None


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("20 g/L or 18.99 g/L", "statements-disagree"),
        ("1 tbsp (25 g) per 2 cups", "statements-disagree"),
        ("1 tbsp (15 g) per 2 cups (500 mL)", "waters-disagree"),
        ("8 tbsp per gallon (4.5 L)", "statements-disagree"),
        ("60-70 g per 10 L = 8 g/L", "statements-disagree"),
    ],
)
def test_more_than_five_percent_apart_is_a_contradiction(typed, code):
    reading = read_dose(typed, US, ALUM)

    assert reading.contradiction is not None
    assert reading.contradiction.code == code


# Sums by hand, from the exact definitions.
@pytest.mark.parametrize(
    ("typed", "g_per_l"),
    [
        ("30 g/L", "30"),
        ("30 grams per litre of water", "30"),
        ("3 %", "30"),
        ("3 % w/v", "30"),
        ("3 percent", "30"),
        ("0,5 kg in 20 l", "25"),
        ("0.5 kg dissolved in 20 l", "25"),
        ("60-70 g per 10 L", "6.5"),
        ("60 to 70 g per 10 L", "6.5"),
        ("60 g - 70 g per 10 L", "6.5"),
        ("60 g to 70 g per 10 L", "6.5"),
        ("1 lb makes 3 gallons", "39.9421"),
        ("1 lb 4 oz per 8 gal", "18.7229"),
        ("4 oz (weight) per gallon", "29.9566"),
        ("4 oz by weight per gallon", "29.9566"),
        ("4 oz (weight) per imperial gallon", "24.9441"),
        ("30 g per kg of water", "30"),
        ("10 L of water to 300 g", "30"),
        ("1 US gallon of water to 1 lb", "119.8264"),
        ("1 apothecary ounce to 1 L", "31.1035"),
        ("1:8 by weight", "125"),
        ("1 part to 8 parts by weight", "125"),
        ("alum 1 part to 8 parts of water (by weight)", "125"),
        ("1:100 w/v", "10"),
        ("%3", "30"),
        ("3 % w/w", "30.9278"),
        ("3 % m/m", "30.9278"),
    ],
)
def test_a_weighed_dose_has_no_doubt_but_its_own_range(typed, g_per_l):
    reading = read_dose(typed, US, ALUM)

    assert reading.g_per_l is not None
    assert as_printed(float(reading.g_per_l.middle), g_per_l)
    ranged = "70" in typed
    assert (reading.g_per_l.low < reading.g_per_l.middle < reading.g_per_l.high) is ranged


def test_a_percentage_of_the_whole_leaves_less_water():
    """3 g in 97 mL and 4 g in 96 mL: 30.93 and 41.67 g/L of water put in."""
    found = read_dose("3-4 % w/w", US, ALUM).g_per_l

    assert found is not None
    assert (found.low, found.high) == (Fraction(3000, 97), Fraction(4000, 96))
    assert set(notes("3 % w/w")) == {"percent-read-as-g-per-100-g"}
    assert set(notes("3 %; 3 % w/w")) == {
        "percent-read-as-g-per-100-g",
        "percent-read-as-g-per-100-ml",
    }


@pytest.mark.parametrize("typed", ["1:8", "1 part to 8", "1 part alum to 8 parts water"])
def test_parts_are_asked_about(typed):
    """By weight 1 g to 8 mL; by volume 1 mL of level powder, which weighs what it weighs."""
    reading = read_dose(typed, US, Bulk(*[Fraction("0.8")] * 3))

    assert [(one.question, one.options) for one in reading.asks] == [
        ("parts", ("mass", "fluid"))
    ]
    weighed, poured = (one.reading.g_per_l for one in reading.alternatives)
    assert weighed is not None
    assert poured is not None
    assert weighed.middle == 125
    assert poured.middle == 100


def test_parts_that_are_said_are_not_asked_about():
    poured = read_dose("1:8 by volume", US, Bulk(*[Fraction("0.8")] * 3))

    assert poured.asks == ()
    assert poured.g_per_l is not None
    assert poured.g_per_l.middle == 100
    assert set(notes("1:8 by volume")) == {"parts-read-as-fluid"}
    assert set(notes("1:8 by weight")) == {"parts-read-as-mass"}
    settled = Kinds(gallon="us", cup="us", spoon="us", parts="mass")
    assert set(notes("1:8", settled)) == {"parts-read-as-mass"}


@pytest.mark.parametrize(
    "typed",
    [
        "8 tbsp per gallon",
        "8 tbsp/gal",
        "8 Tbsp. per gal.",
        "8 tablespoons to the gallon",
        "eight tablespoons to the gallon",
        "8 tbsp a gallon",
        "8 tbsp for each gallon",
        "8 tbsp of alum in 1 gallon of hot water",
        "alum: 8 tbsp per gallon",
        "add 8 tbsp alum to 1 gallon water",
        "½ cup per gallon",
        "half a cup per gallon",
        "1/2 cup to a gallon",
        "8 tbsp (level) per gallon",
        "8 tbsp per half gallon of water = 16 tbsp per gallon",
        "4 tbsp per half a gallon",
        "2 tbsp/quart",
        "1 tablespoon per pint",
        "1 gallon of water to 8 tbsp",
        "8\u00a0tbsp per\u2009gallon",
        "8 US tbsp per US gallon",
    ],
)
def test_one_dose_in_many_words(typed):
    """Half a cup in a gallon is 31.25 mL/L, and 16 tablespoons twice that."""
    reading = read_dose(typed, US, ALUM)
    spread = reading.statements[0].ml_per_l

    assert spread is not None
    assert spread.middle == Fraction("31.25") * (2 if "16" in typed else 1)


def test_a_spoon_carries_the_doubt_of_the_powder():
    """11 to 20 g a tablespoon, 14.8 in the middle; eight of them in 3.785 L."""
    reading = read_dose("8 tbsp per gallon", US, ALUM)

    assert reading.g_per_l is not None
    grams = [8 * Fraction(spoon) / Fraction("3.785411784") for spoon in ("11", "14.8", "20")]
    assert [reading.g_per_l.low, reading.g_per_l.middle, reading.g_per_l.high] == grams


def test_a_weighed_spoon_takes_the_doubt_of_the_powder_away():
    lot = Bulk.of_us_tablespoon(*[Fraction("11.1")] * 3)
    reading = read_dose("8 tbsp per gallon", US, lot)

    assert reading.g_per_l is not None
    assert reading.g_per_l.low == reading.g_per_l.high
    # 24 level spoons of a light powder are 266.4 g, where the card meant a pound.
    water_l = 3 * Fraction("3.785411784")
    assert reading.g_per_l.times(water_l).middle == Fraction("266.4")


def test_a_heap_is_half_as_much_again_give_or_take_a_quarter():
    """Joined with the powder's doubt on the logarithm, not added to it."""
    sure = Bulk.of_us_tablespoon(*[Fraction("14.8")] * 3)
    level = read_dose("1 level tbsp per cup", US, sure).g_per_l
    heaped = read_dose("1 heaped tbsp per cup", US, sure).g_per_l
    both = read_dose("1 heaped tbsp per cup", US, ALUM).g_per_l

    assert level is not None
    assert heaped is not None
    assert both is not None
    assert heaped.middle == level.middle * Fraction(3, 2)
    assert heaped.low == heaped.middle * Fraction(3, 4)
    assert heaped.high == heaped.middle * Fraction(5, 4)
    # exp(hypot(ln 20/14.8, ln 5/4)) = exp(hypot(0.30111, 0.22314)) = exp(0.37478) = 1.4547
    assert float(both.high / both.middle) == pytest.approx(1.4547, abs=5e-5)


@pytest.mark.parametrize(
    ("heap", "times", "give_or_take"),
    [("heaped", "1.5", "0.25"), ("rounded", "1.25", "0.2"), ("scant", "0.9", "0.1")],
)
def test_a_spoon_that_is_not_level_is_so_many_level_ones(heap, times, give_or_take):
    """Our own figures, no source; the sums of a bath go by the same."""
    sure = Bulk.of_us_tablespoon(*[Fraction("14.8")] * 3)
    reading = read_dose(f"1 {heap} tbsp per L", US, sure)
    found = reading.g_per_l

    assert found is not None
    assert found.middle == Fraction("14.8") * Fraction(times)
    assert found.high / found.middle == 1 + Fraction(give_or_take)
    assert found.low / found.middle == 1 - Fraction(give_or_take)
    (note,) = (one for one in reading.notes if one.code == f"{heap}-read-as")
    assert dict(note.fields) == {
        "times": Fraction(times),
        "give_or_take": Fraction(give_or_take),
    }
    row = default(f"{heap}_factor")
    high = row.value * (1 + float(give_or_take))
    assert (row.value, row.high) == pytest.approx((float(times), high))


def test_a_dose_of_nobodys_kinds_gives_every_reading_and_asks():
    reading = read_dose("8 tbsp per gallon", None, ALUM)

    assert [(one.question, one.options) for one in reading.asks] == [
        ("gallon", ("us", "imp")),
        ("spoon", ("us", "metric", "imp", "au")),
    ]
    assert len(reading.alternatives) == 8
    assert reading.g_per_l is None
    strengths = {
        one.answers: float(one.reading.g_per_l.middle)
        for one in reading.alternatives
        if one.reading.g_per_l is not None
    }
    assert len(strengths) == 8
    american = strengths[("gallon", "us"), ("spoon", "us")]
    imperial_gallon = strengths[("gallon", "imp"), ("spoon", "us")]
    australian = strengths[("gallon", "imp"), ("spoon", "au")]
    assert as_printed(american / imperial_gallon, "1.20")
    assert as_printed(australian / imperial_gallon, "1.35")


def test_a_dose_that_names_its_kinds_asks_nobody():
    for typed in ("30 g/L", "8 US tbsp per imperial gallon", "3 %"):
        reading = read_dose(typed, None, ALUM)
        assert reading.asks == ()
        assert reading.g_per_l is not None


def test_four_ounces_may_be_weighed_or_poured():
    """28.35 g each, or 29.57 mL: alike only for a powder as heavy as water."""
    reading = read_dose("4 oz per gallon", US, ALUM)

    assert [one.question for one in reading.asks] == ["ounce"]
    weighed, poured = (one.reading.statements[0] for one in reading.alternatives)
    assert weighed.amount.unit == "oz"
    assert as_printed(float(weighed.g_per_l.middle), "29.957")
    assert poured.amount.unit == "us_fl_oz"
    assert poured.ml_per_l is not None
    assert poured.ml_per_l.middle == Fraction("31.25")
    settled = Kinds(gallon="us", cup="us", spoon="us", ounce="fluid")
    assert read_dose("4 oz per gallon", settled, ALUM).statements == (poured,)


def test_eight_ounces_of_water_are_poured():
    reading = read_dose("2 tsp per 8 oz", US, ALUM)

    assert reading.statements[0].water.unit == "us_fl_oz"
    assert "ounce-read-as-fluid" in {note.code for note in reading.notes}


def notes(typed: str, kinds: Kinds = US) -> dict[str, dict[str, Fraction | str]]:
    return {note.code: dict(note.fields) for note in read_dose(typed, kinds, ALUM).notes}


def test_an_unsaid_gallon_is_noted_with_what_the_other_would_make():
    """4.546 L in place of 3.785 L: a sixth weaker."""
    found = notes("1 lb per 3 gallons")["gallon-read-as-us"]

    assert as_printed(float(found["imp"]), "-0.167")
    other = notes("1 lb per 3 gallons", IMPERIAL)["gallon-read-as-imp"]
    assert as_printed(float(other["us"]), "0.201")


def test_unsaid_cups_and_spoons_are_noted():
    """A US against a metric cup (250 mL) of water: 5 % weaker; an Australian spoon: + 35 %."""
    found = notes("1 tbsp per cup")

    assert as_printed(float(found["cup-read-as-us"]["metric"]), "-0.05")
    assert as_printed(float(found["spoon-read-as-us"]["au"]), "0.35")
    assert found["level-unsaid"] == {"heaped_times": Fraction(3, 2)}
    assert "gallon-read-as-us" not in found
    assert "spoon-read-as-metric" in notes("1 tbsp per cup", METRIC)


def test_what_is_said_is_not_noted():
    assert notes("8 level US tbsp per US gallon") == {}
    assert notes("30 g/L") == {}
    assert set(notes("3 %")) == {"percent-read-as-g-per-100-ml"}
    assert set(notes("30 g per kg of water")) == {"water-read-as-1-g-per-ml"}
    assert set(notes("1 apothecary ounce per 1 L")) == {"apothecary-ounce"}
    assert set(notes("1 heaped US tbsp per L")) == {"heaped-read-as"}


@pytest.mark.parametrize(
    ("typed", "entered", "g_per_l"),
    [
        ("1 tsp per cup", "teaspoon-per-cup", ("20.9", "3.9", "62.6")),
        ("1 tbsp per gallon", "tablespoon-per-gallon", ("20.9", "3.9", "62.6")),
        ("1 tbsp per cup", "tablespoon-per-cup", ("20.9", "3.9", "62.6")),
        ("8 tbsp per gallon", "tablespoon-per-gallon", ("166.8", "31.3", "500.4")),
    ],
)
def test_three_doses_that_look_alike_are_shown_side_by_side(typed, entered, g_per_l):
    """Sixteen cups to a gallon, three teaspoons to a tablespoon; 14.8 g of it."""
    rows = read_dose(typed, US, ALUM).look_alikes

    assert [row.code for row in rows if row.entered] == [entered]
    assert len(rows) == 3
    for row, printed in zip(rows, g_per_l, strict=True):
        assert as_printed(float(row.g_per_l.middle), printed)


@pytest.mark.parametrize("typed", ["30 g/L", "2 tbsp per quart", "1/3 cup per gallon"])
def test_other_doses_have_no_look_alikes(typed):
    assert read_dose(typed, US, ALUM).look_alikes == ()


@pytest.mark.parametrize(
    ("typed", "code", "part"),
    [
        ("", "empty", ""),
        ("1/4 cup into water", "water-missing", "into water"),
        ("1/4 cup", "water-missing", "1/4 cup"),
        ("60 g per", "water-missing", "per"),
        ("per gallon", "amount-missing", "per"),
        ("1:8:9", "ratio-of-what", "1:8:9"),
        ("1:8 gallons", "ratio-of-what", "1:8 gallons"),
        ("1 to 8", "ratio-of-what", "1 to 8"),
        ("1 in 8", "ratio-of-what", "1 in 8"),
        ("2 T per gallon", "which-unit", "T"),
        ("2 t per gallon", "which-unit", "t"),
        ("8 UK tbsp per UK gallon", "which-kind", "tbsp"),
        ("1 metric pint per 10 L", "no-such-unit", "pint"),
        ("1 pinch per cup", "no-fixed-size", "pinch"),
        ("60 g per bucket", "no-fixed-size", "bucket"),
        ("1,000 g per 20 L", "thousands-or-decimals", "1,000"),
        ("8 8 tbsp per gallon", "two-numbers", "8"),
        ("8,,5 g/L", "does-not-fit", ","),
        ("1,2,3 g/L", "odd-number", "1,2,3"),
        ("1/0 cup per gallon", "odd-fraction", "1/0"),
        ("5000000 g/L", "out-of-range", "5000000"),
        ("-3 g/L", "negative", "-3 g"),
        ("0 g/L", "zero", "0 g"),
        ("3 g/0 L", "zero", "0 L"),
        ("0 %", "zero", "0 %"),
        ("tbsp per gallon", "number-missing", "tbsp"),
        ("8 per gallon", "ratio-of-what", "8 per gallon"),
        ("8", "unit-missing", "8"),
        ("3 inches per gallon", "wrong-dimension", "3 inches"),
        ("3 g per 10 inches", "wrong-dimension", "10 inches"),
        ("70-60 g per 10 L", "range-backwards", "70-60 g"),
        ("60 g - 70 mL per 10 L", "range-backwards", "60 g - 70 mL"),
        ("1 generous tbsp per cup", "heap-unsure", "generous"),
        ("1 tbsp per heaped cup", "heap-on-what", "heaped cup"),
        ("1 cup 2 lb per gallon", "not-one-amount", "2 lb"),
        ("3 gallons per lb", "wrong-way-round", "3 gallons"),
        ("30 g per kg", "water-by-weight", "kg"),
        ("15 % of dry weight", "by-weight-of-goods", "15 % of dry weight"),
        ("8 % owg", "by-weight-of-goods", "8 % owg"),
        ("dry weight: 15 %", "by-weight-of-goods", "dry weight: 15 %"),
        ("cotton 15 %", "by-weight-of-goods", "cotton 15 %"),
        ("cotton 8 tbsp per gallon", "unknown-word", "cotton"),
        ("15 % of weight", "percent-of-what", "15 % of weight"),
        ("3 % by weight", "percent-of-what", "3 % by weight"),
        ("60 % w/w", "too-strong", "60 %"),
        ("3 % per gallon", "percent-of-what", "3 % per gallon"),
        ("1 cup per tsp", "too-strong", "1 cup per tsp"),
        ("8 tbsp (1/3 cup per gallon", "bracket", "(1/3 cup per"),
        ("8 tbsp per gallon (1 pint)", "bracket", "1 pint"),
        ("8 tbsp per gallon per day", "does-not-fit", "per"),
        ("8 tbsp per gallon daily", "unknown-word", "daily"),
        ("9**9**9 g/L", "unknown-sign", "*"),
        ("nan g/L", "unknown-word", "nan"),
        ("inf g/L", "unknown-word", "inf"),
        ("8 tbsp " * 20, "too-long", None),
    ],
)
def test_what_is_not_understood_is_said_with_its_part(typed, code, part):
    with pytest.raises(NotUnderstood) as caught:
        read_dose(typed, US, ALUM)

    fault = caught.value
    assert fault.code == code
    assert part is None or (fault.part, typed[slice(*fault.where)]) == (part, part)
    assert str(fault).startswith(f'"{fault.part}"' if fault.part else "nothing")
    assert json.loads(json.dumps(plain_fault(fault)))["code"] == code


def test_a_reading_is_plain_data_with_units_in_its_keys():
    reading = read_dose("1 tbsp (15 g) per 2 cups (475 mL)", US, ALUM)
    plain = json.loads(json.dumps(plain_dose(reading)))

    assert plain["usable"] is True
    assert plain["g_per_l"]["middle"] == pytest.approx(31.578947)
    spooned, weighed = plain["statements"]
    assert spooned["typed"] == "1 tbsp per 2 cups"
    assert spooned["amount"] == {
        "typed": "1 tbsp",
        "n": "1",
        "unit": "us_tbsp",
        "text": "1 US tablespoon",
        "ml": 14.786765,
    }
    assert spooned["ml_per_l"]["middle"] == 31.25
    assert weighed["ml_per_l"] is None
    assert plain["contradiction"] is None
    assert {"code": "level-unsaid", "fields": {"heaped_times": 1.5}} in plain["notes"]


def test_an_open_question_is_plain_data_too():
    plain = json.loads(json.dumps(plain_dose(read_dose("8 tbsp/gal", None, ALUM))))

    assert plain["usable"] is False
    assert plain["g_per_l"] is None
    assert plain["asks"][0] == {"question": "gallon", "options": ["us", "imp"]}
    assert plain["alternatives"][0]["answers"] == {"gallon": "us", "spoon": "us"}
    assert plain["alternatives"][0]["reading"]["usable"] is True


@pytest.mark.parametrize(
    "typed",
    [
        "30 g/L concentrate",
        "30 g/L concentrate, dilute 1:4",
        "30 g per litre, then dilute to taste",
        "30 g/L (concentrate, then dilute)",
        "concentrate: 30 g/L",
    ],
)
def test_a_dose_to_be_diluted_is_read_and_asked_how_far(typed):
    """
    Cards of sizes say it beside sizes ready to use: common practice, no source. How far it is
    diluted is said in too many ways to be guessed, so a person says it.
    """
    reading = read_dose(typed, US, ALUM)

    assert reading.g_per_l is not None
    assert reading.g_per_l.middle == 30
    assert [one.code for one in reading.notes] == ["diluted-to-what"]


@pytest.mark.parametrize("typed", ["1 oz per quart concentrate", "1:8, then dilute"])
def test_a_concentrate_is_said_even_where_something_else_is_asked(typed):
    """An ounce or a part of what is asked first; the dilution must not be lost meanwhile."""
    reading = read_dose(typed, US, ALUM)

    assert reading.asks
    assert [one.code for one in reading.notes] == ["diluted-to-what"]
    assert all(
        "diluted-to-what" in {one.code for one in way.reading.notes}
        for way in reading.alternatives
    )


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("\u2153 c. / gal", "1/3 cup per gallon"),
        ("1 C per gallon", "1 cup per gallon"),
        ("1 oz (fl) per qt", "1 fl oz per quart"),
        ("1 cup alum, 1 gallon water", "1 cup per gallon"),
        ("1 lb = 3 gal", "1 lb per 3 gal"),
        ("1 lb on 2 gal", "1 lb per 2 gal"),
        ("per gallon 8 tbsp", "8 tbsp per gallon"),
        ("per gallon: 8 tbsp", "8 tbsp per gallon"),
        ("to 1 gallon of water add 8 tbsp", "8 tbsp per gallon"),
        ("12 pints take 1 lb", "1 lb per 12 pints"),
    ],
)
def test_words_of_cards_are_read_as_the_plain_sentence(typed, plain):
    """Invented wordings after those of cards; nothing in a dose is a temperature."""
    found, meant = read_dose(typed, US, ALUM), read_dose(plain, US, ALUM)

    assert found.g_per_l == meant.g_per_l is not None
    assert len(found.statements) == 1


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("1 lb = 24 tbsp", "water-missing"),
        ("per gallon", "amount-missing"),
        ("1 cup alum, 1 gallon", "does-not-fit"),
        ("12 pints 1 lb", "not-one-amount"),
        ("2 dessertspoons per gallon", "no-fixed-size"),
    ],
)
def test_what_only_looks_like_such_a_card_is_not_guessed(typed, code):
    """A pound of 24 spoons says how heavy a spoon is, and nothing of water."""
    with pytest.raises(NotUnderstood) as caught:
        read_dose(typed, US, ALUM)

    assert caught.value.code == code
