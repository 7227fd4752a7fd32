"""Evaporation: the scaled default, and the printed formulas that give it its range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import defaults, evaporation
from tests.science.handbook import as_printed, half_digit, rows

FORMULAS = ("shah", "shah_floor", "ashrae", "air_speed")
PER_HOUR = {"kg/s": 1 / 3600, "kg/h": 1.0, "kg/day": 24.0}


def scaled(water_c: float, room_c: float, room_rh: float) -> float:
    return evaporation.evaporation_mm_per_day(
        water_c=water_c,
        room_c=room_c,
        room_rh=room_rh,
        base_mm_per_day=defaults.value("evaporation_mm_per_day"),
    )


@pytest.mark.parametrize("row", rows("evaporation_examples"), ids=lambda row: row["printed"])
def test_the_worked_examples_of_the_air_speed_rule_come_out(row):
    rate = evaporation.air_speed_kg_per_h(
        area_m2=float(row["area_m2"]),
        air_m_per_s=float(row["air_m_per_s"]),
        surface_kg_per_kg=float(row["surface_kg_per_kg"]),
        room_kg_per_kg=float(row["room_kg_per_kg"]),
    )

    assert as_printed(rate * PER_HOUR[row["unit"]], row["printed"])


@pytest.mark.parametrize(
    "row", rows("evaporation_still_air"), ids=lambda r: f"{r['water_c']}-{r['room_rh']}"
)
def test_the_still_air_formulas_give_their_table(row):
    """To half the last digit and 0.2 %, which another gas constant or vapour formula moves."""
    rates = evaporation.still_air_mm_per_day(
        water_c=float(row["water_c"]),
        room_c=float(row["room_c"]),
        room_rh=float(row["room_rh"]),
    )

    assert set(rates) == set(FORMULAS)
    for name in FORMULAS:
        if row[name]:
            off = half_digit(row[name]) + 0.002 * rates[name]
            assert rates[name] == pytest.approx(float(row[name]), abs=off), name


def test_the_ashrae_form_is_the_same_in_both_its_units():
    """(42.6 + 37.6 v) mmHg, kJ/kg, kg/h is (0.0888 + 0.0783 v) W/(m2 Pa)."""
    per_pa = 1 / 133.322 * 1000 / 3600

    assert as_printed(42.6 * per_pa, "0.0888")
    assert as_printed(37.6 * per_pa, "0.0783")


def test_the_default_and_its_range_hold_the_formulas():
    """Nine vessels in ten lie where the formulas do: Shah 2.0 to air speed 4.5."""
    rates = evaporation.still_air_mm_per_day(water_c=20, room_c=20, room_rh=0.5)
    row = defaults.default("evaporation_mm_per_day")

    assert row.value == pytest.approx(rates["shah"], abs=0.05)
    assert row.low < min(rates.values())
    assert max(rates.values()) < row.high


def test_an_open_class_tray_loses_half_a_litre_a_day():
    """60 x 45 cm at 2 mm a day: 0.54 L."""
    lost = evaporation.evaporated_ml(
        area_m2=0.60 * 0.45, open_hours=24, rate_mm_per_day=scaled(20, 20, 0.5)
    )

    assert as_printed(lost / 1000, "0.54")


def test_a_vessel_that_was_not_open_loses_nothing():
    assert evaporation.evaporated_ml(area_m2=1, open_hours=0, rate_mm_per_day=2) == 0


def test_a_room_that_wets_the_bath_adds_no_water():
    """Dew is not written into a bath: the loss stops at nothing."""
    assert scaled(10, 28, 0.95) == 0


@given(room_rh=st.floats(0, 0.95), drier=st.floats(0.01, 0.5), c=st.floats(5, 35))
def test_a_drier_room_takes_more(room_rh, drier, c):
    assert scaled(c, c, max(0.0, room_rh - drier)) >= scaled(c, c, room_rh)


@given(c=st.floats(5, 34), warmer=st.floats(0.1, 10))
def test_a_warmer_bath_loses_more(c, warmer):
    assert scaled(c + warmer, 20, 0.5) >= scaled(c, 20, 0.5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: scaled(20, 20, 55), "room_rh: must be from 0 to 1, is 55"),
        (lambda: scaled(68, 20, 0.5), "air_c: must be from -20 to 50, is 68"),
        (
            lambda: evaporation.evaporation_mm_per_day(
                water_c=20, room_c=20, room_rh=0.5, base_mm_per_day=200
            ),
            "base_mm_per_day: must be from 0 to 50, is 200",
        ),
        (
            lambda: evaporation.evaporated_ml(area_m2=1, open_hours=-1, rate_mm_per_day=2),
            "open_hours: must be from 0 to 8784, is -1",
        ),
        (
            lambda: evaporation.air_speed_kg_per_h(
                area_m2=1, air_m_per_s=50, surface_kg_per_kg=0.02, room_kg_per_kg=0.01
            ),
            "air_m_per_s: must be from 0 to 5, is 50",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
