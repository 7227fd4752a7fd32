"""The table of units against legal definitions, handbook figures and pint's own list."""

import ast
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

import coop.units
from coop.units.fault import NotUnderstood
from coop.units.quantity import Quantity
from coop.units.registry import DEFINITIONS, convert
from coop.units.table import BASE_UNITS, UNITS
from tests.science.handbook import as_printed

PACKAGE = Path(coop.units.__file__).parent

# NIST Handbook 44, appendix C, tables of units (from memory); exact where all digits are given.
HANDBOOK_44 = [
    ("us_gallon", "3785.411784"),
    ("us_quart", "946.352946"),
    ("us_pint", "473.176473"),
    ("us_cup", "236.588"),
    ("us_fl_oz", "29.57353"),
    ("us_tbsp", "14.78676"),
    ("us_tsp", "4.928922"),
    ("lb", "453.59237"),
    ("oz", "28.349523125"),
    ("apoth_oz", "31.1034768"),
    ("inch", "25.4"),
]

# Weights and Measures Act 1985, schedule 1 (from memory).
IMPERIAL_ACT = [
    ("imp_gallon", "4546.09"),
    ("imp_quart", "1136.5225"),
    ("imp_pint", "568.26125"),
    ("imp_fl_oz", "28.4130625"),
]

# Common practice, no source: kitchen measures.
KITCHEN = [
    ("imp_cup", "284"),
    ("imp_tbsp", "17.8"),
    ("imp_tsp", "5.92"),
    ("metric_cup", "250"),
    ("tr_cup", "200"),
    ("metric_tbsp", "15"),
    ("metric_tsp", "5"),
    ("au_tbsp", "20"),
]

# Our code, and the name in the list that pint ships.
PINTS_OWN = {
    "ml": "milliliter", "cl": "centiliter", "dl": "deciliter", "l": "liter",
    "us_gallon": "gallon", "us_quart": "quart", "us_pint": "pint", "us_cup": "cup",
    "us_fl_oz": "fluid_ounce", "us_tbsp": "tablespoon", "us_tsp": "teaspoon",
    "imp_gallon": "imperial_gallon", "imp_quart": "imperial_quart",
    "imp_pint": "imperial_pint", "imp_cup": "imperial_cup",
    "imp_fl_oz": "imperial_fluid_ounce",
    "mg": "milligram", "g": "gram", "kg": "kilogram", "lb": "pound", "oz": "ounce",
    "apoth_oz": "apothecary_ounce",
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "inch": "inch",
    "cm2": "centimeter ** 2", "m2": "meter ** 2",
}  # fmt: skip


@pytest.fixture(scope="module")
def pints_own() -> pint.UnitRegistry[Fraction]:
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(("code", "printed"), HANDBOOK_44 + IMPERIAL_ACT + KITCHEN)
def test_a_unit_is_what_the_handbook_prints(code, printed):
    assert as_printed(float(UNITS[code].factor), printed)


@pytest.mark.parametrize("code", [code for code, _ in IMPERIAL_ACT])
def test_imperial_units_are_exact(code):
    assert UNITS[code].factor == Fraction(dict(IMPERIAL_ACT)[code])


@pytest.mark.parametrize("code", PINTS_OWN)
def test_a_unit_is_what_pint_itself_says(code, pints_own):
    """Written down by other people, from the same definitions."""
    base = PINTS_OWN.get(BASE_UNITS[UNITS[code].dimension])
    theirs = pints_own.Quantity(Fraction(1), PINTS_OWN[code]).m_as(base)

    assert theirs == UNITS[code].factor


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (68, 20), (98.6, 37)]
)
def test_fahrenheit_meets_celsius_at_the_known_points(fahrenheit, celsius):
    """Freezing and boiling water by definition of the scale (NIST SP 811, from memory)."""
    typed = Quantity("", Fraction(str(fahrenheit)), "fahrenheit")

    assert typed.base == Fraction(str(celsius)) == convert(typed, "celsius")


@given(st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)), st.fractions(0, 1000))
def test_pint_and_the_table_say_the_same_of_every_pair(one, other, n):
    """Two ways of writing the definitions down; a slip in either shows."""
    if UNITS[one].dimension == UNITS[other].dimension:
        assert Quantity("", convert(Quantity("", n, one), other), other).base == (
            Quantity("", n, one).base
        )
    else:
        with pytest.raises(NotUnderstood, match="kind of measure"):
            convert(Quantity("", n, one), other)


def test_conversions_from_many_threads_are_all_right():
    """A registry with contexts is known to mix threads up; ours has none."""
    typed = Quantity("", Fraction(8), "us_tbsp")

    with ThreadPoolExecutor(4) as pool:
        found = set(pool.map(lambda _: convert(typed, "us_gallon"), range(2000)))

    assert found == {Fraction(1, 32)}


def test_every_unit_is_defined_for_pint_and_nothing_more():
    defined = {line.split(" = ")[0] for line in DEFINITIONS}

    assert defined - set(UNITS) == {"kelvin", "one"}
    assert set(UNITS) <= defined


def test_no_reader_of_typed_text_can_reach_pint():
    """pint evaluates what it is given: `9**9**9 g` never comes back."""
    reaching = {
        path.name
        for path in PACKAGE.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in [getattr(node, "module", None) or "", *(one.name for one in node.names)]
        if name.partition(".")[0] == "pint" or name.endswith("registry")
    }

    assert reaching == {"registry.py"}


def test_a_code_names_its_own_unit():
    assert all(code == unit.code for code, unit in UNITS.items())
    assert {unit.dimension for unit in UNITS.values()} == set(BASE_UNITS)
