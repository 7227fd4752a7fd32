"""Every default carries where it is from, and stands where the printed figures put it."""

import dataclasses
from math import isfinite

import pytest

from coop.science import defaults
from tests.science.handbook import rows

AGREED = {
    "pickup_dip_ml_per_m2": (140, 110, 180),
    "pickup_sponge_ml_per_m2": (80, 60, 110),
    "pickup_brush_ml_per_m2": (90, 60, 130),
    "bath_factor": (1, 0.85, 1.15),
    "fibre_al_mg_per_g": (0.2, 0, 0.7),
    "alum_g_per_us_tbsp": (14.8, 11, 20),
    "heaped_factor": (1.5, 1.125, 1.875),
    "rounded_factor": (1.25, 1, 1.5),
    "scant_factor": (0.9, 0.81, 0.99),
    "evaporation_mm_per_day": (2, 1, 4.5),
    "size_with_sheet_ml_per_m2": (350, 200, 800),
    "size_rest_carrageenan_h": (12, 4, 24),
    "size_rest_methylcellulose_h": (1, 0.5, 4),
    "size_rest_tragacanth_h": (24, 12, 72),
    "alum_carried_damp_fraction": (0.02, 0, 0.1),
}

DOUBTS = {
    "water_measured_fraction": 0.02,
    "weighed_fraction": 0.03,
    "lot_spoon_fraction": 0.05,
    "guess_fraction": 0.5,
    "gravity_sg": 0.001,
    "gravity_curve_fraction": 0.03,
    "thermometer_c": 1,
    "level_mm": 2,
    "run_out_s": 0.5,
}


@pytest.mark.parametrize("row", defaults.DEFAULTS.values(), ids=lambda row: row.name)
def test_a_default_has_unit_range_source_and_a_known_mark(row):
    """A figure without them cannot be argued with."""
    assert row.unit
    assert row.source
    assert row.mark in defaults.MARKS
    assert all(isfinite(figure) for figure in (row.low, row.value, row.high))
    assert row.low <= row.value <= row.high


@pytest.mark.parametrize(("name", "figures"), AGREED.items())
def test_a_default_is_the_agreed_middle_and_range(name, figures):
    row = defaults.default(name)

    assert (row.value, row.low, row.high) == pytest.approx(figures)


@pytest.mark.parametrize(("name", "half_width"), DOUBTS.items())
def test_a_doubt_is_its_half_width_both_ways(name, half_width):
    row = defaults.default(name)

    assert (row.low, row.value, row.high) == (-half_width, half_width, half_width)


def test_defaults_cannot_be_changed_by_the_way():
    """A house changes its limits by an entry, never by writing into the table."""
    row = defaults.default("room_c")

    with pytest.raises(TypeError):
        defaults.DEFAULTS["room_c"] = row  # type: ignore[index]
    with pytest.raises(dataclasses.FrozenInstanceError):
        row.value = 25  # type: ignore[misc]


def test_an_unknown_default_is_named():
    with pytest.raises(KeyError, match="pickup_mop"):
        defaults.value("pickup_mop")


@pytest.mark.parametrize("row", rows("alum_spoon"), ids=lambda row: row["what"])
def test_printed_spoons_of_alum_lie_in_the_spoon_range(row):
    """Bulk densities and trade spoons, to the whole gram: a spoon is not a weight."""
    spoon = defaults.default("alum_g_per_us_tbsp")
    grams = {"g/mL": 14.79, "g": 1}[row["unit"]]
    low_g, high_g = float(row["low"]) * grams, float(row["high"]) * grams

    assert low_g == pytest.approx(float(row["g_per_tbsp_low"]), abs=0.06)
    assert high_g == pytest.approx(float(row["g_per_tbsp_high"]), abs=0.06)
    assert spoon.low <= round(low_g) <= round(high_g) <= spoon.high


def test_the_lines_of_a_bath_stand_in_order():
    """Do not use lies under look again, and look again under the target."""
    assert defaults.value("do_not_use_fraction") < defaults.value("look_again_fraction") < 1
    assert (
        defaults.value("size_look_again_warm_days")
        < defaults.value("size_do_not_use_warm_days")
        < defaults.value("size_cap_days")
    )


def test_the_lines_of_a_drop_and_of_a_stack_stand_in_order():
    """A drop that is good is never one to stop at, and a bag outlasts open air."""
    drop = ("drop_hold_low_mm", "drop_good_low_mm", "drop_good_high_mm", "drop_hold_high_mm")
    stack = ("stack_damp_days", "stack_open_days", "stack_bagged_days", "stack_hard_stop_days")

    for names in (drop, stack):
        figures = [defaults.value(name) for name in names]
        assert figures == sorted(set(figures))


def test_mixing_water_is_never_hotter_than_hands_or_jugs_bear():
    """45 C for hands, 60 C for HDPE; no house may set more."""
    assert defaults.default("hand_hot_water_c").high == 45
    assert defaults.default("hdpe_hot_c").high == 60
