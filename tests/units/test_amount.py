"""Single amounts as people write them."""

from fractions import Fraction

import pytest

from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.kinds import Kinds
from tests.units.house import IMPERIAL, METRIC, US


@pytest.mark.parametrize(
    ("typed", "n", "unit", "heap"),
    [
        ("½ cup", "1/2", "us_cup", ""),
        ("0,5 kg", "1/2", "kg", ""),
        ("1 lb 4 oz", "20", "oz", ""),
        ("1 lb, 4 oz", "20", "oz", ""),
        ("1lb4oz", "20", "oz", ""),
        ("1 lb and 4 oz", "20", "oz", ""),
        ("1 kg 200 g", "1200", "g", ""),
        ("1 gal 2 qt", "6", "us_quart", ""),
        ("1 cup plus 2 tbsp", "18", "us_tbsp", ""),
        ("60 g", "60", "g", ""),
        ("60 grammes", "60", "g", ""),
        ("2 heaped tbsp", "2", "us_tbsp", "heaped"),
        ("2 tbsp, heaped", "2", "us_tbsp", "heaped"),
        ("2 tbsp (heaped)", "2", "us_tbsp", "heaped"),
        ("heaping 2 tbsp", "2", "us_tbsp", "heaped"),
        ("3 level tsp", "3", "us_tsp", "level"),
        ("1 flat tbsp", "1", "us_tbsp", "level"),
        ("2 rounded tbsp", "2", "us_tbsp", "rounded"),
        ("a scant cup", "1", "us_cup", "scant"),
        ("scant 1/2 cup", "1/2", "us_cup", "scant"),
        ("1 tsp (rounded)", "1", "us_tsp", "rounded"),
        ("8 Tbsp.", "8", "us_tbsp", ""),
        ("8 tbs", "8", "us_tbsp", ""),
        ("12 L", "12", "l", ""),
        ("1,5 L", "3/2", "l", ""),
        ("12 litres", "12", "l", ""),
        ("250 ML", "250", "ml", ""),
        ("3 fl oz", "3", "us_fl_oz", ""),
        ("3 fl. oz.", "3", "us_fl_oz", ""),
        ("4 oz (fluid)", "4", "us_fl_oz", ""),
        ("4 oz (weight)", "4", "oz", ""),
        ("4 oz by weight", "4", "oz", ""),
        ("2 apothecary ounces", "2", "apoth_oz", ""),
        ("1½ cup", "3/2", "us_cup", ""),
        ("2 1/2 tbsp", "5/2", "us_tbsp", ""),
        ("half a cup", "1/2", "us_cup", ""),
        ("a quarter of a gallon", "1/4", "us_gallon", ""),
        ("one-half pint", "1/2", "us_pint", ""),
        ("a gallon", "1", "us_gallon", ""),
        ("1 US gallon", "1", "us_gallon", ""),
        ("1 gallon (US)", "1", "us_gallon", ""),
        ("1 U.S. gallon", "1", "us_gallon", ""),
        ("2 imperial pints", "2", "imp_pint", ""),
        ("2 UK pints", "2", "imp_pint", ""),
        ("1 metric cup", "1", "metric_cup", ""),
        ("1 Australian tablespoon", "1", "au_tbsp", ""),
        ("1 imperial tbsp", "1", "imp_tbsp", ""),
        ("20 C", "20", "celsius", ""),
        ("20 °C", "20", "celsius", ""),
        ("20º C", "20", "celsius", ""),
        ("68 F", "68", "fahrenheit", ""),
        ("-5 degrees C", "-5", "celsius", ""),
        ("350 mm", "350", "mm", ""),
        ("20 in", "20", "inch", ""),
        ('20"', "20", "inch", ""),
        ("1,2 m²", "6/5", "m2", ""),
        ("12 sheets", "12", "sheet", ""),
        ("3 %", "3", "percent", ""),
    ],
)
def test_an_amount_is_read_as_written(typed, n, unit, heap):
    found = read_amount(typed, US)

    assert (found.n, found.unit, found.heap) == (Fraction(n), unit, heap)
    assert found.typed == typed


@pytest.mark.parametrize(
    ("typed", "us", "imperial", "metric"),
    [
        ("1 gallon", "us_gallon", "imp_gallon", "imp_gallon"),
        ("1 quart", "us_quart", "imp_quart", "imp_quart"),
        ("1 pint", "us_pint", "imp_pint", "imp_pint"),
        ("1 fl oz", "us_fl_oz", "imp_fl_oz", "imp_fl_oz"),
        ("1 cup", "us_cup", "imp_cup", "metric_cup"),
        ("1 tbsp", "us_tbsp", "imp_tbsp", "metric_tbsp"),
        ("1 tsp", "us_tsp", "imp_tsp", "metric_tsp"),
        ("1 US cup", "us_cup", "us_cup", "us_cup"),
    ],
)
def test_a_bare_name_means_what_the_house_means(typed, us, imperial, metric):
    found = [read_amount(typed, kinds).unit for kinds in (US, IMPERIAL, METRIC)]

    assert found == [us, imperial, metric]


def test_an_australian_tablespoon_is_a_third_larger_than_a_us_one():
    """Common practice, no source: 20 mL against 14.8 mL, +35 %."""
    house = Kinds(gallon="imp", cup="metric", spoon="au")

    assert read_amount("1 tbsp", house).base == 20
    assert read_amount("1 tsp", house).base == 5


def test_what_is_wanted_settles_an_ounce_and_a_degree():
    assert read_amount("4 oz", US, "mass").unit == "oz"
    assert read_amount("4 oz", US, "volume").unit == "us_fl_oz"
    assert read_amount("20 c", US, "temperature").unit == "celsius"


def test_a_house_may_settle_its_ounces_for_good():
    house = Kinds(gallon="imp", cup="metric", spoon="metric", ounce="fluid")

    assert read_amount("4 oz", house).unit == "imp_fl_oz"


@pytest.mark.parametrize(
    ("typed", "code", "part", "options"),
    [
        ("2 T", "which-unit", "T", ("tsp", "tbsp")),
        ("2 t", "which-unit", "t", ("tsp", "tbsp")),
        ("2 c", "which-unit", "c", ("cup", "celsius")),
        ("2 spoons", "which-unit", "spoons", ("tsp", "tbsp")),
        ("30 gr", "which-unit", "gr", ("g", "grain")),
        ("30 G", "which-unit", "G", ("g", "gallon")),
        ("20 degrees", "which-unit", "degrees", ("celsius", "fahrenheit")),
        ("4 oz", "which-kind", "4 oz", ("oz", "us_fl_oz")),
        ("1 UK tbsp", "which-kind", "tbsp", ("metric_tbsp", "imp_tbsp")),
        ("1 metric pint", "no-such-unit", "pint", ("us_pint", "imp_pint")),
        ("1 US gram", "no-such-unit", "gram", ("g",)),
        ("2 reams", "no-fixed-size", "reams", ()),
        ("a pinch", "no-fixed-size", "pinch", ()),
        ("1 packed cup", "heap-unsure", "packed", ("level", "heaped")),
        ("2 heaped lb", "heap-on-what", "lb", ()),
        ("1 lb 4 cups", "not-one-amount", "4 cups", ()),
        ("4 oz (weight) 1 lb", "not-one-amount", "1 lb", ()),
        ("2 cups 475 mL", "not-one-amount", "475 mL", ()),
        ("60-70 g", "two-numbers", "60-70 g", ()),
        ("1,000 g", "thousands-or-decimals", "1,000", ("1", "1000")),
        ("-3 g", "negative", "-3 g", ()),
        ("g", "number-missing", "g", ()),
        ("60", "unit-missing", "60", ()),
        ("60 g/L", "does-not-fit", "/", ()),
        ("60 g per litre", "does-not-fit", "per", ()),
        ("60 grobbles", "unknown-word", "grobbles", ()),
        ("1:8", "ratio-of-what", "1:8", ("1 g to 8 mL", "8 g/L")),
    ],
)
def test_what_is_not_understood_is_asked_about_with_its_part(typed, code, part, options):
    with pytest.raises(NotUnderstood) as caught:
        read_amount(typed, US)

    fault = caught.value
    assert (fault.code, fault.part, fault.options) == (code, part, options)
    assert typed[slice(*fault.where)] == part
    assert part in str(fault)


def test_a_bare_cup_in_no_house_is_asked_about():
    with pytest.raises(NotUnderstood) as caught:
        read_amount("2 cups", None)

    assert caught.value.code == "which-kind"
    assert caught.value.options == ("us_cup", "metric_cup", "imp_cup")


def test_the_wrong_kind_of_measure_is_refused():
    with pytest.raises(NotUnderstood) as caught:
        read_amount("60 g", US, "volume")

    assert (caught.value.code, caught.value.options) == ("wrong-dimension", ("volume",))
