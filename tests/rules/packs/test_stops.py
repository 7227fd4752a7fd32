"""What must never come together: chemistry, with any pack or none."""

from dataclasses import replace

import pytest

from coop.rules.packs.words import OUTLETS
from tests.rules.packs.at_hand import DISTRICT_A, bath, decided, ph, said


@pytest.mark.parametrize(
    ("contents", "adding", "stop"),
    [
        ("alum", "bleach", "stop-chlorine-gas"),
        ("bleach", "vinegar", "stop-chlorine-gas"),
        ("bleach", "acid", "stop-chlorine-gas"),
        ("ammonia", "bleach", "stop-chloramine-gas"),
        ("sulfide_pigment", "alum", "stop-hydrogen-sulfide"),
        ("alum", "sulfide_pigment", "stop-hydrogen-sulfide"),
        ("sulfide_pigment", "vinegar", "stop-hydrogen-sulfide"),
        ("ammonium_alum", "soda", "stop-ammonia-gas"),
        ("ammonium_alum", "lime", "stop-ammonia-gas"),
    ],
)
def test_each_pair_is_stopped_from_either_side(contents, adding, stop):
    """Common practice and 40 CFR 265 appendix V, group 5: read in a secondary summary."""
    for one, other in ((contents, adding), (adding, contents)):
        told = decided(bath(ph("7"), contents=(one,), adding=(other,), closed="no"), DISTRICT_A)
        assert told.outcome == "not_down_here"
        assert said(told, stop).verdict == "fails"
        assert "stop_mix" in told.duties


@pytest.mark.parametrize("outlet", OUTLETS)
def test_a_stop_holds_at_every_outlet_without_any_pack(outlet):
    both = bath(outlet=outlet, contents=("alum", "bleach"))

    assert decided(both).outcome == "not_down_here"


@pytest.mark.parametrize(
    ("closed", "outcome"),
    [("no", "nothing_forbids"), ("", "ask_first"), ("yes", "not_down_here")],
)
def test_soda_meets_alum_only_in_an_open_vessel(closed, outcome):
    """Carbon dioxide bursts what is closed: common practice."""
    bucket = bath(ph("7"), contents=("alum",), adding=("soda",), closed=closed)

    assert decided(bucket, DISTRICT_A).outcome == outcome


def test_lime_gives_no_gas_with_alum_in_a_closed_vessel():
    """It is no carbonate."""
    bucket = bath(ph("7"), contents=("alum",), adding=("lime",), closed="yes")

    assert decided(bucket, DISTRICT_A).outcome == "nothing_forbids"


def test_adding_to_what_nobody_named_is_asked_first():
    told = decided(bath(ph("7"), contents=None, adding=("soda",)), DISTRICT_A)

    assert told.outcome == "ask_first"
    assert said(told, "stop-not-known").facts == ("contents",)


def test_at_a_waste_jar_somebody_says_whether_its_lid_stays_off():
    """An alum bath with soda in it may still fizz: a jar with its lid on bursts."""
    jar = bath(outlet="jar", contents=("alum", "soda"))
    told = decided(jar)

    assert told.outcome == "ask_first"
    assert said(told, "stop-gas-in-closed-vessel").facts == ("closed",)
    assert decided(replace(jar, closed="no")).outcome == "nothing_forbids"
    assert decided(replace(jar, closed="yes")).outcome == "not_down_here"
