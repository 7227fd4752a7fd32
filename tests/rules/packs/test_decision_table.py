"""
Whole decisions, each with what is known and what must come out.

The figures of the federal rules are those of 40 CFR as each rule's own mark says: 403.5(b)
read in a state text that repeats it, 261.21 and 261.22 read, the rest as marked. District A
and all its figures are invented.
"""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from coop.rules.packs.facts import Added, Tally
from coop.rules.packs.faults import Refused
from coop.rules.packs.reading import read_pack
from coop.science import alum
from tests.rules.packs.at_hand import (
    DISTRICT_A,
    FLOOR,
    FOLDER,
    NOW,
    WASTE,
    bath,
    decided,
    look,
    metal,
    pack,
    ph,
    read,
    reckoned,
    said,
    spoke,
    stating,
    without,
)

SPENT = bath(ph("3.4"), reckoned("aluminium", "2000", "2275"))


def test_a_working_bath_is_not_yet_for_the_drain_and_is_no_corrosive_waste():
    """12 L at 40 g/L: pH 3.4 fails floor and district, the aluminium of the recipe too."""
    told = decided(SPENT, FLOOR, DISTRICT_A, WASTE)

    assert told.outcome == "not_yet"
    assert spoke(told, "fails") == {
        ("us-federal-floor", "sewer-ph"),
        ("demo-district-a", "ph"),
        ("demo-district-a", "aluminium"),
    }
    assert told.classes == ()


def test_the_aluminium_of_the_recipe_is_that_of_the_formula():
    """Potash alum at 40 g/L: 2,275 mg/L of aluminium, reckoned apart from formula masses."""
    molar = Fraction("26.98")
    mmol_per_l = alum.mmol_al_per_l(strength_g_per_l=40, salt="potash_alum")

    assert float(molar) * mmol_per_l == pytest.approx(2275, rel=1e-3)


def test_a_bare_upper_bound_over_a_limit_asks_for_a_measurement():
    """That no more than so much can be in it does not show that so much is."""
    told = decided(bath(ph("7"), reckoned("aluminium", "0", "2275")), FLOOR, DISTRICT_A)

    assert told.outcome == "measure_first"
    assert said(told, "aluminium").why == "bounds-too-wide"
    assert said(told, "aluminium").devices == ("laboratory",)


def test_a_missing_ph_is_asked_for_though_all_else_passes():
    told = decided(bath(metal("aluminium", "10")), FLOOR, DISTRICT_A)

    assert told.outcome == "measure_first"
    assert spoke(told, "unknown") == {
        ("us-federal-floor", "sewer-ph"),
        ("demo-district-a", "ph"),
    }
    assert said(told, "ph").devices == ("strip", "meter")


@pytest.mark.parametrize(
    ("n", "packs", "outcome"),
    [
        ("5.0", (FLOOR,), "ask_first"),
        ("4.99", (FLOOR,), "not_yet"),
        ("5.01", (FLOOR,), "ask_first"),
        ("5.0", (FLOOR, DISTRICT_A), "not_yet"),
        ("5.99", (FLOOR, DISTRICT_A), "not_yet"),
        ("6.0", (FLOOR, DISTRICT_A), "nothing_forbids"),
    ],
)
def test_a_ph_on_the_line_of_the_floor_is_not_under_it(n, packs, outcome):
    """40 CFR 403.5(b)(2), read: under 5.0 is banned. District A begins at 6.0."""
    assert decided(bath(ph(n)), *packs).outcome == outcome


def test_weak_spirit_is_no_ignitable_waste_and_still_never_for_the_sewer():
    """40 CFR 261.21(a)(1), read: under 24 % of alcohol; 403.5(b)(1), read, has no such way."""
    rinse = stating(
        bath(
            ph("7"),
            read("flash_point", "29", "celsius"),
            read("volume_fraction", "20", "percent_by_volume", of="alcohol"),
            read("mass_fraction", "75", "percent_by_mass", of="water"),
            waste="colour_rinse",
        ),
        tags="flammable",
    )
    told = decided(rinse, FLOOR, DISTRICT_A, WASTE)

    assert told.outcome == "not_down_here"
    assert spoke(told, "fails") >= {("us-federal-floor", "sewer-flash-point")}
    assert ("waste_code", "D001") not in told.classes

    jar = decided(stating(replace(rinse, outlet="jar"), immediate_use="no"), FLOOR, WASTE)
    assert jar.outcome == "after_steps"
    assert said(jar, "label-at-work").shows == ("name", "hazard")


def test_spirit_is_an_ignitable_waste_from_24_percent_or_without_the_water():
    """The same, one figure changed at a time: the class follows through two others."""
    rinse = stating(
        bath(
            ph("7"),
            read("flash_point", "29", "celsius"),
            read("volume_fraction", "24", "percent_by_volume", of="alcohol"),
            read("mass_fraction", "75", "percent_by_mass", of="water"),
        ),
        tags="flammable",
    )
    dry = bath(
        *without(rinse, "mass_fraction", "water").readings,
        read("mass_fraction", "49", "percent_by_mass", of="water"),
    )
    weak = replace(
        stating(dry, tags="flammable"),
        readings=(
            *without(dry, "volume_fraction", "alcohol").readings,
            read("volume_fraction", "20", "percent_by_volume", of="alcohol"),
        ),
    )

    assert ("waste_code", "D001") in decided(rinse, WASTE).classes
    assert ("waste_code", "D001") in decided(weak, WASTE).classes


@pytest.mark.parametrize("n", ["2", "1.9", "12.5", "12.6"])
def test_a_liquid_is_corrosive_on_both_lines_and_past_them(n):
    """40 CFR 261.22(a)(1), read: pH 2 or less, 12.5 or more."""
    assert ("waste_code", "D002") in decided(bath(ph(n)), WASTE).classes


@pytest.mark.parametrize("n", ["2.01", "3.2", "7", "12.49"])
def test_a_liquid_between_them_is_not(n):
    assert decided(bath(ph(n)), WASTE).classes == ()


def test_a_strip_one_step_off_the_line_of_a_class_does_not_rule_it_out():
    """For a class the careful answer is the other way round: 2.5 by a strip may be 2.0."""
    near = bath(ph("2.25", device="strip", step=Fraction(1, 2)))
    told = decided(near, WASTE)

    assert said(told, "corrosive").verdict == "unknown"
    assert said(told, "corrosive").why == "too-near"


EURO = pack(
    'id = "heat"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "temperature"\n'
    'holds_if = "at_most"\nhigh = 35\nunit = "celsius"\nsteps = ["cool"]',
    id="euro-demo",
)


def test_heat_at_the_works_is_advice_at_the_sink():
    """40 CFR 403.5(b)(5), read: 40 C at the plant; invented ones at the pipe, 65 and 35 C."""
    warm = bath(ph("7"), read("temperature", "45", "celsius"), waste="size")
    told = decided(warm, FLOOR, DISTRICT_A)

    assert said(told, "plant-heat").verdict == "fails"
    assert said(told, "plant-heat").advice
    assert told.outcome == "nothing_forbids"

    cooler = decided(warm, FLOOR, DISTRICT_A, EURO)
    assert cooler.outcome == "not_yet"
    assert cooler.steps == ("cool",)


@pytest.mark.parametrize(("n", "verdict"), [("149", "holds"), ("150", "fails")])
def test_fahrenheit_has_its_own_zero(n, verdict):
    """149 F are 65 C, 150 F 65.6 C and not 83 C (NIST SP 811, from memory)."""
    warm = bath(ph("7"), read("temperature", n, "fahrenheit"))

    assert said(decided(warm, DISTRICT_A), "heat").verdict == verdict


JAR = stating(
    bath(
        ph("1"),
        outlet="jar",
        shown=("name", "hazard", "hazardous_waste"),
        tallies=(
            Tally(
                what="hazardous_made",
                waste="colour_rinse",
                on=NOW.date(),
                mass_g=Fraction(200_000),
            ),
        ),
    ),
    jar_area="central",
)


def test_a_waste_jar_without_its_date_gets_one_before_it_is_closed():
    """40 CFR 262.16(b)(6), recalled: words, hazard and the day it was started."""
    told = decided(JAR, WASTE)

    assert told.outcome != "nothing_forbids"
    assert said(told, "label-central").shows == ("started_on",)
    assert {"label", "date_it"} <= set(told.duties)


def test_a_cup_of_acid_left_on_the_bench_needs_its_label():
    """29 CFR 1910.1200(f)(8), read: only who filled it may use it unlabelled, and at once."""
    cup = stating(
        bath(waste="leftover", outlet="jar", shown=()), tags="irritant", immediate_use="no"
    )
    told = decided(cup, WASTE)

    assert "label" in told.duties
    assert said(told, "label-at-work").verdict == "fails"
    assert "label-at-work" not in {
        one.rule for one in decided(stating(cup, immediate_use="yes"), WASTE).spoken
    }


def test_a_septic_tank_takes_nothing_of_a_trade_whatever_its_figures():
    """40 CFR 144.3 and 144.80(e), read."""
    told = decided(bath(ph("7.2"), outlet="septic"), FLOOR)

    assert told.outcome == "not_down_here"
    assert spoke(told, "fails") == {("us-federal-floor", "septic-sanitary-only")}


def test_a_household_has_to_be_stated_before_it_counts():
    """40 CFR 403.5 binds all but domestic users; 144.3 speaks of sanitary waste."""
    tank = bath(ph("7.2"), outlet="septic", stated=())
    told = decided(tank, FLOOR)

    assert told.outcome == "ask_first"
    assert said(told, "septic-sanitary-only").facts == ("premises",)
    assert decided(stating(tank, premises="household"), FLOOR).outcome == "ask_first"


@pytest.mark.parametrize(("answer", "outcome"), [("yes", "not_yet"), (None, "ask_first")])
def test_lumps_are_strained_out_and_a_blank_is_asked(answer, outcome):
    """40 CFR 403.5(b)(3), read; the screen of 13 mm is an Australian works' (read)."""
    size = bath(ph("7"), waste="size", volume_ml=Fraction(30_000))
    size = without(size, "yes_no", "lumps")
    if answer:
        size = replace(size, readings=(*size.readings, look("lumps", answer)))

    assert decided(size, FLOOR, DISTRICT_A).outcome == outcome


def test_a_district_that_passes_still_wants_somebody_asked():
    told = decided(bath(ph("7"), permissions=()), FLOOR, DISTRICT_A)

    assert told.outcome == "ask_first"
    assert said(told, "permission").why == "no-permission"


def test_invented_figures_are_refused_outside_a_demo():
    with pytest.raises(Refused) as caught:
        read_pack((FOLDER / "demo-district-a.toml").read_text(), name="a.toml", demo=False)

    assert caught.value.code == "invented"
    assert caught.value.line == 9


@pytest.mark.parametrize("outlet", ["sewer", "septic", "bin", "jar"])
def test_bleach_into_an_alum_tray_is_stopped_with_any_pack_or_none(outlet):
    """Bleach and any acid give chlorine: a secondary summary; no tier lifts it."""
    told = decided(
        bath(ph("7"), outlet=outlet, contents=("alum",), adding=("bleach",)), DISTRICT_A
    )

    assert told.outcome == "not_down_here"
    assert told.duties[-1] == "stop_mix"
    assert said(told, "stop-chlorine-gas").verdict == "fails"


def test_water_after_a_failed_reading_is_dilution_and_stays_to_be_treated():
    """12 L made 830 L: 40 CFR 403.6(d), from memory; no reading after it counts."""
    thin = bath(
        ph("3.4", ago_h=5),
        ph("6.5", ago_h=1),
        added=(Added(what="water", at=NOW - timedelta(hours=3)),),
    )
    told = decided(thin, FLOOR, DISTRICT_A)

    assert told.outcome == "not_down_here"
    assert said(told, "ph").why == "diluted"
    assert [one.low for one in said(told, "ph").used] == [Fraction("3.4")]


def test_water_about_to_go_in_after_a_failed_reading_is_stopped_before_it_does():
    """Said before the tap is open it spares a tub of 830 L."""
    about_to = bath(ph("3.4"), contents=("alum",), adding=("water",))

    assert said(decided(about_to, DISTRICT_A), "ph").why == "diluted"
    assert decided(replace(about_to, adding=()), DISTRICT_A).outcome == "not_yet"


def test_what_was_diluted_and_then_treated_is_read_anew():
    """The way out is the same as before the water: soda, and another reading."""
    treated = bath(
        ph("3.4", ago_h=5),
        ph("7.0", ago_h=1),
        added=(
            Added(what="water", at=NOW - timedelta(hours=3)),
            Added(what="soda", at=NOW - timedelta(hours=2)),
        ),
    )

    assert decided(treated, FLOOR, DISTRICT_A).outcome == "nothing_forbids"


def test_soda_before_the_water_does_not_make_the_water_a_treatment():
    """Nobody read between the two what the soda had done."""
    thin = bath(
        ph("3.4", ago_h=5),
        ph("6.5", ago_h=1),
        added=(
            Added(what="soda", at=NOW - timedelta(hours=4)),
            Added(what="water", at=NOW - timedelta(hours=3)),
        ),
    )

    assert said(decided(thin, DISTRICT_A), "ph").why == "diluted"


@pytest.mark.parametrize(
    ("outlet", "outcome"),
    [
        ("sewer", "ask_first"),
        ("septic", "ask_first"),
        ("storm", "not_down_here"),
        ("ground", "not_down_here"),
    ],
)
def test_a_site_without_a_pack_asks_and_gives_nature_nothing(outlet, outcome):
    """Clean Water Act 301(a) and 40 CFR 122.26, from memory; elsewhere common practice."""
    assert decided(bath(ph("7"), outlet=outlet)).outcome == outcome


def test_a_pack_of_another_place_or_another_time_stays_silent():
    elsewhere = bath(ph("7"), area=("us", "ropewalk"))

    assert decided(elsewhere, DISTRICT_A).packs == ()
    assert decided(bath(ph("7")), DISTRICT_A, day=date(2025, 12, 31)).packs == ()
    assert [
        one.id for one in decided(bath(ph("7")), DISTRICT_A, day=date(2026, 1, 1)).packs
    ] == [DISTRICT_A.id]


def test_a_reading_of_the_moment_something_went_in_does_not_stand():
    """Times are typed in whole minutes: which came first, nobody knows."""
    at = NOW - timedelta(minutes=15)
    treated = replace(bath(ph("7")), added=(Added(what="soda", at=at),))

    assert said(decided(treated, DISTRICT_A), "ph").why == "stale"


def test_another_liquid_thins_as_water_does():
    """Joined to something thinner, a bath that failed is not put right."""
    thin = bath(ph("3.3", ago_h=2), ph("7"))
    joined = replace(thin, added=(Added(what="other", at=NOW - timedelta(hours=1)),))

    assert said(decided(joined, DISTRICT_A), "ph").why == "diluted"
