"""
The traps of the trade's recipes, each with what is caught here.

All are common practice, no source: contradictions between instruction pages. Where the
catching is another part's work, the test holds what that part needs from the reading.
"""

from fractions import Fraction

import pytest

from coop.units.amount import read_amount
from coop.units.dose import DoseReading, read_dose
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from coop.units.strength import Bulk
from tests.science.handbook import as_printed
from tests.units.house import ALUM, IMPERIAL, US


def middle(typed: str, kinds: Kinds = US, bulk: Bulk = ALUM) -> float:
    reading = read_dose(typed, kinds, bulk)
    assert reading.g_per_l is not None
    return float(reading.g_per_l.middle)


def codes(reading: DoseReading) -> set[str]:
    return {note.code for note in reading.notes}


def trap_1_two_halves_of_a_recipe_disagree() -> bool:
    found = read_dose("8 tablespoons (1/3 cup) per gallon", US, ALUM).contradiction
    # 118 against 79 mL: half as much again, a third of the larger.
    return found is not None and found.apart == Fraction(1, 3)


def trap_2_look_alikes_stand_side_by_side() -> bool:
    rows = read_dose("1 tsp per cup", US, ALUM).look_alikes
    per_cup, per_gallon, spoon_per_cup = (float(row.g_per_l.middle) for row in rows)
    return (
        spoon_per_cup == pytest.approx(3 * per_cup)
        and per_cup == pytest.approx(16 / 3 * per_gallon)
        and per_cup < middle("8 tbsp per gallon") < spoon_per_cup
    )


def trap_3_nobody_said_level_or_heaped() -> bool:
    unsaid = read_dose("1 tbsp per cup", US, ALUM)
    said = read_dose("1 level tbsp per cup", US, ALUM)
    return "level-unsaid" in codes(unsaid) and "level-unsaid" not in codes(said)


def trap_4_a_tablespoon_is_no_weight() -> bool:
    found = read_dose("1 tbsp per cup", US, ALUM).g_per_l
    return found is not None and as_printed(float(found.high / found.low), "1.82")


def trap_5_the_powder_is_the_callers() -> bool:
    pulverised = Bulk(*[Fraction("0.75")] * 3)
    lump = Bulk(*[Fraction("0.88")] * 3)
    return as_printed(
        middle("1 tbsp per cup", bulk=lump) / middle("1 tbsp per cup", bulk=pulverised), "1.17"
    )


def trap_6_the_name_of_the_salt_changes_no_number_and_is_reported() -> bool:
    found = read_dose("30 g/L potash alum", US, ALUM)
    return found.asides == ("potash", "alum") and middle("30 g/L potash alum") == 30


def trap_7_a_strong_dose_is_given_for_the_solubility_check() -> bool:
    # 125 g/L against 114 to 116 g/L of potash alum at 20 C.
    sure = Bulk(*[Fraction(1)] * 3)
    return middle("2 tbsp per cup", bulk=sure) == 125


def trap_8_an_unsaid_gallon_is_noted_and_a_said_one_kept() -> bool:
    noted = "gallon-read-as-us" in codes(read_dose("1 lb per 3 gal", US, ALUM))
    us, imperial = middle("1 lb per 3 gal"), middle("1 lb per 3 gal", IMPERIAL)
    return noted and as_printed(us / imperial, "1.20")


def trap_9_pint_quart_and_cup_carry_their_kind() -> bool:
    litres = [
        read_amount(typed, None).base
        for typed in ("1 US pint", "1 imperial pint", "1 US quart", "1 imperial quart")
    ]
    cups = [
        read_amount(typed, None).base
        for typed in ("1 US cup", "1 metric cup", "1 imperial cup")
    ]
    printed = ("473", "568", "946", "1137", "237", "250", "284")
    return all(
        as_printed(float(ml), text) for ml, text in zip(litres + cups, printed, strict=True)
    )


def trap_10_a_tablespoon_carries_its_kind() -> bool:
    # Carrageenan, 8.5 g a US tablespoon: one in 1.3 L is 6.5 g/L; Australian, 8.8.
    powder = Bulk.of_us_tablespoon(*[Fraction("8.5")] * 3)
    australian = Kinds(gallon="imp", cup="metric", spoon="au")
    us = middle("1 tbsp in 1.3 L", bulk=powder)
    au = middle("1 tbsp in 1.3 L", australian, powder)
    return as_printed(us, "6.5") and as_printed(au / us, "1.35")


def trap_11_a_teaspoon_carries_its_kind() -> bool:
    spoons = [f"1 {system} tsp" for system in ("US", "metric", "imperial")]
    printed = ("4.93", "5.00", "5.92")
    return all(
        as_printed(float(read_amount(typed, None).base), text)
        for typed, text in zip(spoons, printed, strict=True)
    )


def trap_12_an_ounce_is_asked_about_and_old_ones_are_noted() -> bool:
    asks = read_dose("4 oz per gallon", US, ALUM).asks
    old = read_dose("4 apothecary ounces per gallon", US, ALUM)
    return [one.question for one in asks] == ["ounce"] and "apothecary-ounce" in codes(old)


def trap_13_grams_per_litre_of_water_stay_as_entered() -> bool:
    return middle("62.5 g/L") == 62.5


def trap_20_water_without_litres_is_refused() -> bool:
    with pytest.raises(NotUnderstood) as caught:
        read_dose("1/4 cup into water", US, ALUM)
    return caught.value.code == "water-missing" and caught.value.part == "into water"


def trap_40_decimals_with_comma_and_point_are_one() -> bool:
    return read_amount("0,5 kg", US).base == read_amount("0.5 kg", US).base == 500


TRAPS = [
    trap_1_two_halves_of_a_recipe_disagree,
    trap_2_look_alikes_stand_side_by_side,
    trap_3_nobody_said_level_or_heaped,
    trap_4_a_tablespoon_is_no_weight,
    trap_5_the_powder_is_the_callers,
    trap_6_the_name_of_the_salt_changes_no_number_and_is_reported,
    trap_7_a_strong_dose_is_given_for_the_solubility_check,
    trap_8_an_unsaid_gallon_is_noted_and_a_said_one_kept,
    trap_9_pint_quart_and_cup_carry_their_kind,
    trap_10_a_tablespoon_carries_its_kind,
    trap_11_a_teaspoon_carries_its_kind,
    trap_12_an_ounce_is_asked_about_and_old_ones_are_noted,
    trap_13_grams_per_litre_of_water_stay_as_entered,
    trap_20_water_without_litres_is_refused,
    trap_40_decimals_with_comma_and_point_are_one,
]


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.__name__)
def test_a_trap_of_the_trade_is_caught(trap):
    assert trap()
