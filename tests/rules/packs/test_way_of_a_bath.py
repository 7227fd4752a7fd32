"""
One spent bath from its recipe to the drain: bounds, dose, gas, and what is then not known.

12 L at 40 g/L of potash alum, worked out apart from this code with M = 474.4 and 24.06 L/mol;
district A is invented.
"""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest

from coop.rules.packs.facts import Added, Reading
from coop.science import neutralising
from coop.science.defaults import value
from coop.science.waste_bounds import Content, alum_bath
from tests.rules.packs.at_hand import (
    DISTRICT_A,
    FLOOR,
    NOW,
    bath,
    decided,
    metal,
    pack,
    ph,
    reckoned,
    said,
    without,
)
from tests.science.handbook import as_printed

SALT_G, VOLUME_L = 480, 12
PUT_IN: dict[str, Any] = {
    "salt": "potash_alum",
    "least_g": 0.97 * SALT_G,
    "most_g": 1.03 * SALT_G,
    "least_l": VOLUME_L,
    "most_l": VOLUME_L,
}
SULFATE = pack(
    'id = "sulfate"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "mass_per_volume"\n'
    'of = "sulfate"\nholds_if = "at_most"\nhigh = 1500\nunit = "mg_per_l"\n'
    "bounds_count = true",
    id="river-city",
)


def by_recipe(of: str, content: Content | None) -> Reading:
    assert content is not None
    return reckoned(of, *(f"{one:.3f}" for one in content))


SPENT = bath(ph("3.4", ago_h=30), by_recipe("aluminium", alum_bath(**PUT_IN).aluminium))
TREATED = replace(
    without(SPENT, "mass_per_volume", "aluminium"),
    readings=(
        *without(SPENT, "mass_per_volume", "aluminium").readings,
        ph("7.2", ago_h=1),
    ),
    added=(Added(what="soda", at=NOW - timedelta(hours=16)),),
)


def test_the_recipe_alone_shows_that_the_aluminium_is_too_much():
    """2,275 mg/L, three in a hundred either way: over 50 at its least, so nobody measures."""
    told = decided(replace(SPENT, added=()), FLOOR, DISTRICT_A)

    assert told.outcome == "not_yet"
    assert said(told, "aluminium").verdict == "fails"
    used = said(told, "aluminium").used[0]
    assert used.low < Fraction(2275) < used.high


def test_it_takes_255_grams_of_baking_soda_and_gives_73_litres_of_gas():
    """Four fifths of it are 204 g; with one cup in twenty kept back, 194 g go in first."""
    dose_g = neutralising.full_dose(
        salt_g=SALT_G, salt="potash_alum", base="bicarbonate"
    ).middle_g
    gas_l = neutralising.gas_l(salt_g=SALT_G, salt="potash_alum", base="bicarbonate", room_c=20)
    parts = neutralising.weighed_parts(dose_g=dose_g)

    assert as_printed(dose_g, "255")
    assert as_printed(gas_l, "73")
    assert as_printed(value("first_dose_fraction") * dose_g, "204")
    assert parts.first_g == 194
    assert parts.first_g + sum(parts.rest_g) + parts.cup_share_g == parts.dose_g == 255


def test_after_the_soda_the_recipe_says_nothing_more_of_the_aluminium():
    """The pH has come right; what is left in the water is not known, and does not pass."""
    told = decided(TREATED, FLOOR, DISTRICT_A)

    assert alum_bath(**PUT_IN, base="bicarbonate").aluminium is None
    assert said(told, "ph").verdict == "holds"
    assert told.outcome == "measure_first"
    assert said(told, "aluminium").devices == ("laboratory",)


@pytest.mark.parametrize(
    ("mg_per_l", "outcome"),
    [("49", "nothing_forbids"), ("50", "nothing_forbids"), ("51", "not_yet")],
)
def test_a_sample_of_the_clear_liquid_decides(mg_per_l, outcome):
    """District A, invented: up to 50 mg/L."""
    sampled = metal("aluminium", mg_per_l, ago_h=1)
    told = decided(replace(TREATED, readings=(*TREATED.readings, sampled)), FLOOR, DISTRICT_A)

    assert told.outcome == outcome


@pytest.mark.parametrize(
    ("base", "verdict"), [("bicarbonate", "fails"), ("anhydrous", "fails"), ("lime", "unknown")]
)
def test_no_soda_takes_the_sulfate_out(base, verdict):
    """16 g/L against 1,500 mg/L, invented: sodas leave it all, lime may settle some of it."""
    sulfate = alum_bath(**PUT_IN, base=base).sulfate
    known = replace(TREATED, readings=(*TREATED.readings, by_recipe("sulfate", sulfate)))

    assert said(decided(known, SULFATE), "sulfate").verdict == verdict
