"""
What can be in a waste, against formula masses that were worked out apart from this code.

Figures of an alum bath and of carrageenan are computed from formula masses with M = 474.4 for
potash alum; those of single formulas are asked of the periodictable library where it is.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, neutralising, waste_bounds
from coop.science.defaults import default
from coop.science.waste_bounds import Content
from tests.science.handbook import as_printed

LITRES = st.floats(0.1, 1000)
GRAMS = st.floats(0, 1_000_000)
SALTS = st.sampled_from(sorted(alum.SALTS))
BASES = st.sampled_from(sorted(neutralising.BASES))
GUMS = st.sampled_from(sorted(waste_bounds.OXYGEN_DEFAULTS))
SODAS = [code for code in neutralising.BASES if code != "lime"]


def two(of):
    return st.tuples(of, of).map(sorted)


def bath(g: float, litres: float = 1, salt: str = "potash_alum", **more: Any):
    return waste_bounds.alum_bath(
        salt=salt, least_g=g, most_g=g, least_l=litres, most_l=litres, **more
    )


def oxygen(gum: str, g: float, litres: float = 1) -> Content:
    return waste_bounds.size_oxygen(gum=gum, least_g=g, most_g=g, least_l=litres, most_l=litres)


def mass(formula: str) -> float:
    """Return grams of a mole, or skip where the library is not."""
    library = pytest.importorskip(
        "periodictable", reason="periodictable comes with phreeqpython, for Linux x86-64 only"
    )
    return float(library.formula(formula).mass)


def known(content: Content | None) -> Content:
    assert content is not None
    return content


# Alum baths


@pytest.mark.parametrize(
    ("g_per_l", "aluminium", "sulfate"),
    [
        (10, "569", "4.05e3"),
        (30, "1706", "1.215e4"),
        (60, "3413", "2.430e4"),
        (100, "5688", "4.050e4"),
    ],
)
def test_a_strength_of_potash_alum_is_so_much_aluminium_and_sulfate(
    g_per_l, aluminium, sulfate
):
    """Computed from formula masses: 5.69 % of it are aluminium, 40.5 % sulfate."""
    found = bath(g_per_l)

    assert as_printed(known(found.aluminium).most_mg_per_l, aluminium)
    assert as_printed(found.sulfate.most_mg_per_l, sulfate)
    assert found.sulfate.least_mg_per_l == found.sulfate.most_mg_per_l


@pytest.mark.parametrize(
    ("limit_mg_per_l", "g_per_l"),
    [(50, "0.88"), (20, "0.35"), (5, "0.088")],
)
def test_the_strength_that_just_meets_a_limit_on_aluminium_is_next_to_nothing(
    limit_mg_per_l, g_per_l
):
    """Computed from formula masses; the limits are such as towns set."""
    most = known(bath(1).aluminium).most_mg_per_l

    assert as_printed(limit_mg_per_l / most, g_per_l)


@pytest.mark.parametrize(
    ("limit_mg_per_l", "g_per_l"), [(1500, "3.7"), (1000, "2.5"), (600, "1.5")]
)
def test_the_strength_that_just_meets_a_limit_on_sulfate_is_a_tenth_of_a_bath(
    limit_mg_per_l, g_per_l
):
    """Computed from formula masses; and no soda takes sulfate out."""
    for base in ("", *SODAS):
        most = bath(1, base=base).sulfate.most_mg_per_l
        assert as_printed(limit_mg_per_l / most, g_per_l)


def test_a_spent_bath_of_twelve_litres_holds_2275_mg_of_aluminium_a_litre():
    """480 g of potash alum, computed from formula masses."""
    assert bath(480, 12).aluminium == pytest.approx([2275, 2275], rel=2e-4)


@pytest.mark.parametrize(
    ("salt", "formula", "aluminium", "sulfate"),
    [
        ("potash_alum", "KAl(SO4)2(H2O)12", 1, 2),
        ("ammonium_alum", "NH4Al(SO4)2(H2O)12", 1, 2),
        ("aluminium_sulfate_14", "Al2(SO4)3(H2O)14", 2, 3),
        ("aluminium_sulfate_18", "Al2(SO4)3(H2O)18", 2, 3),
    ],
)
def test_what_is_in_a_salt_is_what_a_library_of_atomic_masses_says(
    salt, formula, aluminium, sulfate
):
    """periodictable, with the masses of IUPAC: to a part in ten thousand."""
    found = bath(1, salt=salt)
    whole = mass(formula)

    assert known(found.aluminium).most_mg_per_l == pytest.approx(
        1000 * aluminium * mass("Al") / whole, rel=1e-4
    )
    assert found.sulfate.most_mg_per_l == pytest.approx(
        1000 * sulfate * mass("SO4") / whole, rel=1e-4
    )


@given(salt=SALTS, grams=two(st.floats(1, 1_000_000)), litres=two(LITRES), base=BASES)
def test_of_a_treated_bath_the_aluminium_is_not_reckoned(salt, grams, litres, base):
    """What is left in the water is for a laboratory; the sulfate is all there, but for lime."""
    ends = {"least_g": grams[0], "most_g": grams[1], "least_l": litres[0], "most_l": litres[1]}
    fresh = waste_bounds.alum_bath(salt=salt, **ends)
    treated = waste_bounds.alum_bath(salt=salt, base=base, **ends)

    assert fresh.aluminium is not None
    assert treated.aluminium is None
    assert treated.sulfate.most_mg_per_l == fresh.sulfate.most_mg_per_l
    least = 0 if base == "lime" else fresh.sulfate.least_mg_per_l
    assert treated.sulfate.least_mg_per_l == least


@given(salt=SALTS, g=st.floats(1, 100_000), litres=st.floats(60, 1000))
def test_the_sulfate_is_the_one_that_the_walk_of_neutralising_tells(salt, g, litres):
    """Two pages that say different figures of one bucket would be believed by nobody."""
    told = neutralising.sulfate_left_mg_per_l(salt_g=g, salt=salt, volume_l=litres)

    assert bath(g, litres, salt, base="anhydrous").sulfate == pytest.approx([told, told])


@given(
    salt=SALTS,
    grams=two(GRAMS),
    litres=two(LITRES),
    inside=st.tuples(st.floats(0, 1), st.floats(0, 1)),
)
def test_every_bath_within_the_ends_lies_within_the_bounds(salt, grams, litres, inside):
    """Whatever grams and litres it really has; a bound that is none would open a drain."""
    g, in_l = (
        low + part * (high - low)
        for part, (low, high) in zip(inside, (grams, litres), strict=True)
    )
    found = waste_bounds.alum_bath(
        salt=salt, least_g=grams[0], most_g=grams[1], least_l=litres[0], most_l=litres[1]
    )

    whole = bath(min(g, grams[1]), min(in_l, litres[1]), salt)
    for bounds, really in zip(map(known, found), map(known, whole), strict=True):
        assert bounds.least_mg_per_l <= really.least_mg_per_l * (1 + 1e-9)
        assert really.most_mg_per_l <= bounds.most_mg_per_l * (1 + 1e-9)


# Size


OXYGEN = (
    ("carrageenan", "C12H17NaO12S", 12, "0.94"),
    ("carrageenan", "C12H16Na2O15S2", 12, "0.75"),
    ("carrageenan", "C12H17Na3O19S3", 12, "0.61"),
    ("carrageenan", "C12H22O11", 12, "1.12"),
    ("carrageenan", "C6H10O5", 6, "1.18"),
    ("methylcellulose", "C6H10O5", 6, "1.18"),
    ("tragacanth", "C6H8O6", 5, "0.91"),
    ("tragacanth", "C5H8O4", 5, "1.21"),
    ("gum", "C6H7NaO6", 5, "0.81"),
    ("gum", "C6H10O5", 6, "1.18"),
)
"""
Kappa, iota and lambda carrageenan, sugar and starch they are cut with, cellulose, uronic acid,
arabinose, alginate: moles of O2 to CO2, water and salts, by hand; then g O2/g, where 0.94 and
1.18 are the figures that were computed from formula masses apart from this.
"""
METHYLATED = ((0.275, "1.46"), (0.315, "1.50"))
"""Methoxyl in methylcellulose, by weight: pharmacopoeias, from memory; then g O2/g."""


@pytest.mark.parametrize(
    ("gum", "g_per_g"),
    [(gum, g) for gum, _, _, g in OXYGEN] + [("methylcellulose", g) for _, g in METHYLATED],
)
def test_no_gum_that_a_size_is_made_of_lies_outside_its_bounds(gum, g_per_g):
    """As weighed it may hold water: 12 % at most in carrageenan, from memory."""
    found = oxygen(gum, 1)
    dry = 1000 * float(g_per_g)

    assert found.least_mg_per_l <= 0.88 * dry < dry + 5 <= found.most_mg_per_l


@pytest.mark.parametrize(("formula", "o2_mol", "g_per_g"), [one[1:] for one in OXYGEN])
def test_a_gum_takes_the_oxygen_of_its_formula(formula, o2_mol, g_per_g):
    """The figures above, by the library's masses."""
    assert as_printed(o2_mol * mass("O2") / mass(formula), g_per_g)


@pytest.mark.parametrize(("methoxyl_fraction", "g_per_g"), METHYLATED)
def test_methyl_groups_take_more_oxygen_than_cellulose_does(methoxyl_fraction, g_per_g):
    """Each CH2 takes 1.5 O2."""
    unit, group, methyl = mass("C6H10O5"), mass("CH3O"), mass("CH2")
    groups = methoxyl_fraction * unit / (group - methoxyl_fraction * methyl)

    per_g = (6 + 1.5 * groups) * mass("O2") / (unit + groups * methyl)
    assert as_printed(per_g, g_per_g)


def test_five_grams_of_kappa_a_litre_are_4700_mg_of_oxygen():
    """Computed from formula masses: many times what towns take, and so is a tenth of it."""
    middle = 5 * 1000 * default("carrageenan_oxygen_g_per_g").value
    found = oxygen("carrageenan", 50, 10)

    assert as_printed(middle, "4.7e3")
    assert found.least_mg_per_l < middle < found.most_mg_per_l


@given(gum=GUMS, grams=two(GRAMS), litres=two(LITRES))
def test_no_size_takes_less_than_its_least_or_more_than_its_most(gum, grams, litres):
    least, most = waste_bounds.size_oxygen(
        gum=gum, least_g=grams[0], most_g=grams[1], least_l=litres[0], most_l=litres[1]
    )

    assert 0 <= least <= most
    assert least <= oxygen(gum, grams[0], litres[1]).least_mg_per_l * (1 + 1e-9)
    assert most >= oxygen(gum, grams[1], litres[0]).most_mg_per_l * (1 - 1e-9)


# Colours


@given(content=st.floats(0, 10_000), ml=st.floats(0, 100_000), litres=LITRES)
def test_a_metal_is_no_more_than_was_in_the_bottle_and_may_be_none(content, ml, litres):
    """How much of a colour went home on paper nobody knows."""
    found = waste_bounds.colour_metal(content_mg_per_ml=content, most_ml=ml, least_l=litres)

    assert found.least_mg_per_l == 0
    assert found.most_mg_per_l * litres == pytest.approx(content * ml)


def test_a_drop_of_cadmium_colour_is_over_a_strict_limit():
    """0.1 mL at 200 mg/mL in 20 L: 1 mg/L, the federal level of D006 (40 CFR 261.24, read)."""
    found = waste_bounds.colour_metal(content_mg_per_ml=200, most_ml=0.1, least_l=20)

    assert found == pytest.approx((0, 1.0))


# What is out of range

BATH: dict[str, Any] = {
    "salt": "potash_alum",
    "least_g": 1,
    "most_g": 2,
    "least_l": 1,
    "most_l": 2,
}
SIZE: dict[str, Any] = {"gum": "gum", "least_g": 1, "most_g": 2, "least_l": 1, "most_l": 2}
COLOUR: dict[str, Any] = {"content_mg_per_ml": 1, "most_ml": 1, "least_l": 1}


@pytest.mark.parametrize(
    ("name", "good", "wrong", "told"),
    [
        ("alum_bath", BATH, {"salt": "gold"}, "salt: must be one of"),
        ("alum_bath", BATH, {"base": "sand"}, "base: must be empty or one of bicarbonate"),
        ("alum_bath", BATH, {"least_g": -1}, "least_g: must be from 0"),
        ("alum_bath", BATH, {"most_g": 2e6}, "most_g: must be from 0 to 1e"),
        ("alum_bath", BATH, {"least_g": 3}, "least_g: must be at most 2, is 3"),
        ("alum_bath", BATH, {"least_l": 0}, "least_l: must be from 0.1 to 1000, is 0"),
        ("alum_bath", BATH, {"most_l": float("nan")}, "most_l: must be from"),
        ("size_oxygen", SIZE, {"gum": "sand"}, "gum: must be one of carrageenan"),
        ("size_oxygen", SIZE, {"least_l": 3}, "least_l: must be at most 2, is 3"),
        ("colour_metal", COLOUR, {"content_mg_per_ml": 1e5}, "content_mg_per_ml: must be"),
        ("colour_metal", COLOUR, {"most_ml": -1}, "most_ml: must be from 0"),
        ("colour_metal", COLOUR, {"least_l": 0}, "least_l: must be from 0.1"),
    ],
)
def test_figures_out_of_range_are_told_with_what_would_be_right(name, good, wrong, told):
    asked = getattr(waste_bounds, name)
    asked(**good)

    with pytest.raises(ValueError, match=told):
        asked(**(good | wrong))
