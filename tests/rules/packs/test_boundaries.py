"""
At each limit, just under it and just over it; and what a reading must do to count.

Limits as their rules cite them, with the mark that stands there; the invented ones are ours.
"""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from coop.rules.packs.facts import Added, Tally
from tests.rules.packs.at_hand import (
    DISTRICT_A,
    FLOOR,
    NOW,
    ROPEWALK,
    TODAY,
    WASTE,
    bath,
    decided,
    metal,
    pack,
    ph,
    read,
    reckoned,
    said,
    stating,
    strip,
)

AT_ROPEWALK = ("us", "ropewalk")


@pytest.mark.parametrize(
    ("rule", "reading", "verdict"),
    [
        ("ph", ph("5.99"), "fails"),
        ("ph", ph("6"), "holds"),
        ("ph", ph("6.01"), "holds"),
        ("ph", ph("9.49"), "holds"),
        ("ph", ph("9.5"), "holds"),
        ("ph", ph("9.51"), "fails"),
        ("heat", read("temperature", "64.9", "celsius"), "holds"),
        ("heat", read("temperature", "65", "celsius"), "holds"),
        ("heat", read("temperature", "65.1", "celsius"), "fails"),
        ("aluminium", metal("aluminium", "49.9"), "holds"),
        ("aluminium", metal("aluminium", "50"), "holds"),
        ("aluminium", metal("aluminium", "50.1"), "fails"),
        ("copper", metal("copper", "0.999"), "holds"),
        ("copper", metal("copper", "1.0"), "holds"),
        ("copper", metal("copper", "1.001"), "fails"),
        ("cadmium", metal("cadmium", "0.11"), "holds"),
        ("cadmium", metal("cadmium", "0.1101"), "fails"),
        ("lead", metal("lead", "0.5"), "holds"),
        ("lead", metal("lead", "0.501"), "fails"),
    ],
)
def test_a_limit_holds_up_to_its_line_and_not_past_it(rule, reading, verdict):
    """District A, invented; both ends of its pH belong to what it takes."""
    known = bath(reading) if rule == "ph" else bath(ph("7"), reading)

    assert said(decided(known, DISTRICT_A), rule).verdict == verdict


@pytest.mark.parametrize(
    ("n", "unit", "verdict"),
    [
        ("59.9", "celsius", "fails"),
        ("60", "celsius", "holds"),
        ("60.1", "celsius", "holds"),
        ("139", "fahrenheit", "fails"),
        ("140", "fahrenheit", "holds"),
    ],
)
def test_the_floor_bans_a_flash_point_under_60_degrees(n, unit, verdict):
    """40 CFR 403.5(b)(1), read: under 60 C, which is 140 F."""
    rinse = stating(bath(ph("7"), read("flash_point", n, unit)), tags="flammable")

    assert said(decided(rinse, FLOOR), "sewer-flash-point").verdict == verdict


def test_a_flash_point_is_asked_only_of_what_can_burn():
    """Who marbles with water has none; a blank about tags is asked, not passed."""
    plain = decided(bath(ph("7")), FLOOR, DISTRICT_A)
    blank = bath(ph("7"), stated=(("premises", ("business",)),))

    assert said(plain, "sewer-flash-point").why == "no-reading-needed"
    assert plain.outcome == "nothing_forbids"
    told = decided(blank, FLOOR, DISTRICT_A)
    assert told.outcome == "measure_first"
    assert said(told, "sewer-flash-point").facts == ("tags",)


LUMPS = (
    'id = "lumps"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "yes_no"\n'
    'of = "lumps"\nholds_if = "is"\nvalue = "no"'
)


@pytest.mark.parametrize(
    ("readings", "acid", "outcome", "why"),
    [
        ((), "no", "nothing_forbids", "no-reading-needed"),
        ((), "yes", "measure_first", "missing"),
        ((ph("7", ago_h=48),), "no", "nothing_forbids", "no-reading-needed"),
        ((ph("4.9", ago_h=48),), "no", "measure_first", "failed-before"),
        ((ph("4.9"),), "no", "not_yet", ""),
        ((ph("7"),), "no", "nothing_forbids", ""),
    ],
)
def test_a_ph_is_demanded_where_acid_was_put_in_and_counts_wherever_it_was_read(
    readings, acid, outcome, why
):
    """A size without alum or vinegar needs no strip each evening; one that reads 4.9 does."""
    size = stating(bath(*readings, waste="size"), acid_put_in=acid)
    told = decided(size, FLOOR, pack(LUMPS))

    assert (told.outcome, said(told, "sewer-ph").why) == (outcome, why)


def test_whether_acid_was_put_in_has_to_be_stated():
    told = decided(bath(waste="size"), FLOOR)

    assert said(told, "sewer-ph").why == "missing"
    assert said(told, "sewer-ph").facts == ("acid_put_in",)


@pytest.mark.parametrize(
    ("code", "metal_name", "level"),
    [
        ("D004", "arsenic", "5"),
        ("D005", "barium", "100"),
        ("D006", "cadmium", "1"),
        ("D007", "chromium", "5"),
        ("D008", "lead", "5"),
        ("D009", "mercury", "0.2"),
        ("D010", "selenium", "1"),
        ("D011", "silver", "5"),
    ],
)
def test_a_metal_makes_a_hazardous_waste_at_its_level_and_over(code, metal_name, level):
    """40 CFR 261.24 table 1: the first four read, the others as in part 266 appendix VII."""
    under = str(Fraction(level) - Fraction(1, 100))

    def of(n):
        told = decided(
            stating(bath(ph("7"), metal(metal_name, n, basis="leached")), metal_pigments="yes"),
            WASTE,
        )
        return ("waste_code", code) in told.classes

    assert (of(under), of(level)) == (False, True)


def test_the_whole_of_a_metal_bounds_what_can_leach_and_never_shows_that_it_does():
    """No more can be dissolved than there is; whether it is dissolved is another question."""
    little = stating(bath(ph("7"), metal("lead", "4.9")), metal_pigments="yes")
    much = stating(bath(ph("7"), metal("lead", "5.1")), metal_pigments="yes")

    assert said(decided(little, WASTE), "toxic-lead").verdict == "fails"
    assert said(decided(much, WASTE), "toxic-lead").verdict == "unknown"


@pytest.mark.parametrize(
    ("n", "outcome"),
    [
        ("5.5", "not_yet"),
        ("6.0", "measure_first"),
        ("6.5", "after_steps"),
        ("9.5", "after_steps"),
        ("10.0", "measure_first"),
        ("10.5", "not_yet"),
    ],
)
def test_a_strip_in_half_steps_has_to_clear_the_line_by_one(n, outcome):
    """Against 6.0 it must read 6.5. Ropewalk's letter, invented: strained, pH 6.0 to 10.0."""
    told = decided(bath(strip(n), area=AT_ROPEWALK), FLOOR, ROPEWALK)

    assert told.outcome == outcome


@pytest.mark.parametrize(
    ("n", "off", "verdict", "why"),
    [
        ("6.1", "0.05", "holds", ""),
        ("6.1", "0.2", "unknown", "too-near"),
        ("6.1", None, "unknown", "meter-not-checked"),
        ("5.9", None, "fails", ""),
    ],
)
def test_a_meter_counts_by_its_last_check(n, off, verdict, why):
    """The step of its display says little about how true it is."""
    meter = ph(
        n, device="meter", step=Fraction(1, 100), off_at_check=Fraction(off) if off else None
    )
    found = said(decided(bath(meter), DISTRICT_A), "ph")

    assert (found.verdict, found.why) == (verdict, why)


def test_a_step_in_fahrenheit_is_smaller_than_one_in_celsius():
    """A difference has no zero: 2 F are 10/9 C, so 147 F (63.9 C) clears 65 C and just so."""
    near = read(
        "temperature", "147", "fahrenheit", device="thermometer", step=Fraction(2)
    )  # fmt: skip
    nearer = replace(near, low=Fraction("147.1"), high=Fraction("147.1"))

    assert said(decided(bath(ph("7"), near), DISTRICT_A), "heat").verdict == "holds"
    assert said(decided(bath(ph("7"), nearer), DISTRICT_A), "heat").verdict == "unknown"


@pytest.mark.parametrize(("ago_h", "verdict"), [(24, "holds"), (24.01, "unknown")])
def test_a_ph_stands_for_a_day_at_most(ago_h, verdict):
    found = said(decided(bath(ph("7", ago_h=ago_h)), DISTRICT_A), "ph")

    assert found.verdict == verdict
    assert found.why == ("" if verdict == "holds" else "stale")
    assert found.devices == (() if verdict == "holds" else ("strip", "meter"))


def test_a_pack_may_ask_first_for_what_is_missing_and_measure_what_is_old():
    """Whoever never had a laboratory asks; whoever had one once has it done again."""
    rule = (
        'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\nunit = "ph"\n'
        'holds_if = "at_least"\nlow = 6\nif_unknown = "ask_first"\nif_stale = "measure_first"'
    )

    assert said(decided(bath(), pack(rule)), "ph").outcome == "ask_first"
    assert said(decided(bath(ph("7", ago_h=48)), pack(rule)), "ph").outcome == "measure_first"
    assert said(decided(bath(ph("5", ago_h=48)), pack(rule)), "ph").outcome == "measure_first"


def test_a_reading_stands_until_something_is_put_in():
    """Even soda, which can only have helped."""
    stirred = bath(ph("7"), added=(Added(what="soda", at=NOW - timedelta(minutes=5)),))

    assert said(decided(stirred, DISTRICT_A), "ph").why == "stale"


def test_the_newest_reading_that_stands_is_the_one_that_counts():
    """And of two at one moment the worse; one of tomorrow is none."""
    two = bath(ph("3.4", ago_h=3), ph("7", ago_h=1))
    torn = bath(ph("7", ago_h=1), ph("5.5", ago_h=1))
    ahead = bath(ph("7", ago_h=-2))

    assert said(decided(two, DISTRICT_A), "ph").verdict == "holds"
    assert said(decided(torn, DISTRICT_A), "ph").verdict == "fails"
    assert said(decided(ahead, DISTRICT_A), "ph").why == "missing"


@pytest.mark.parametrize(
    ("under", "verdict"), [("0.05", "holds"), ("0.11", "holds"), ("0.2", "unknown")]
)
def test_not_detected_passes_only_where_the_method_sees_fine_enough(under, verdict):
    """Not detected under 0.2 says nothing about a limit of 0.11 mg/L."""
    found = metal("cadmium", under, how="not_detected")
    told = decided(bath(ph("7"), replace(found, low=Fraction(0))), DISTRICT_A)

    assert said(told, "cadmium").verdict == verdict
    assert said(told, "cadmium").why == ("" if verdict == "holds" else "method-not-fine-enough")


def test_a_figure_of_the_recipe_counts_only_where_the_rule_takes_it():
    """A rule that wants a sample wants a sample."""
    sampled = pack(MEAN.replace('span = "day"\nreadings_min = 2\n', ""))
    told = decided(bath(reckoned("copper", "0", "0")), sampled)

    assert said(told, "copper-a-day").why == "missing"


def test_what_was_measured_outranks_what_was_reckoned():
    """After the soda the recipe's aluminium lies on the bottom of the bucket."""
    told = decided(
        bath(ph("7"), reckoned("aluminium", "2000", "2275"), metal("aluminium", "1")),
        DISTRICT_A,
    )

    assert said(told, "aluminium").verdict == "holds"


def test_a_sample_that_failed_is_not_argued_away_by_the_recipe():
    """However old it is: 30 mg/L came from somewhere. One that passed leaves the recipe be."""
    failed = bath(ph("7"), reckoned("copper", "0", "0.9"), metal("copper", "30", ago_h=3000))
    passed = bath(ph("7"), reckoned("copper", "0", "0.9"), metal("copper", "0.1", ago_h=3000))

    richer = bath(ph("7"), reckoned("copper", "5", "9"), metal("copper", "0.1", ago_h=3000))

    assert said(decided(failed, DISTRICT_A), "copper").why == "failed-before"
    assert said(decided(passed, DISTRICT_A), "copper").verdict == "holds"
    assert said(decided(richer, DISTRICT_A), "copper").verdict == "fails"


AMMONIA = """id = "ammonia"
kind = "LIMIT"
outlets = ["sewer"]
quantity = "mass_per_volume"
of = "ammonia"
basis = "as_n"
holds_if = "at_most"
high = 10
unit = "mg_per_l"
"""


@pytest.mark.parametrize(
    ("n", "basis", "verdict"),
    [
        ("10", "as_n", "holds"),
        ("12.15", "as_nh3", "holds"),
        ("12.17", "as_nh3", "fails"),
        ("9", "total", "unknown"),
    ],
)
def test_ammonia_as_nitrogen_is_another_figure_than_as_ammonia(n, basis, verdict):
    """17.031 / 14.007 = 1.216 (IUPAC atomic weights, from memory): 10 as N are 12.16."""
    told = decided(bath(metal("ammonia", n, basis=basis)), pack(AMMONIA))

    assert said(told, "ammonia").verdict == verdict


@pytest.mark.parametrize(
    ("n", "unit", "verdict"),
    [
        ("50", "g_per_m3", "holds"),
        ("50000", "ug_per_l", "holds"),
        ("50001", "ug_per_l", "fails"),
        ("0.05", "g_per_l", "holds"),
        ("0.051", "g_per_l", "fails"),
    ],
)
def test_grams_per_cubic_metre_are_milligrams_per_litre(n, unit, verdict):
    found = read("mass_per_volume", n, unit, of="aluminium")

    assert said(decided(bath(ph("7"), found), DISTRICT_A), "aluminium").verdict == verdict


def a_day(unit: str, n: str) -> str:
    return (
        'id = "a-day"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
        f'holds_if = "at_most"\nhigh = {n}\nunit = "{unit}"\nsum_of = "poured"\nspan = "day"'
    )


@pytest.mark.parametrize(
    ("unit", "verdict"), [("us_gallon", "fails"), ("imp_gallon", "holds"), ("l", "fails")]
)
def test_an_imperial_gallon_holds_more_than_a_us_one(unit, verdict):
    """5 US gallons are 18.93 L, 5 imperial ones 22.73 L; 20 L are to go."""
    told = decided(bath(volume_ml=Fraction(20_000)), pack(a_day(unit, "5")))

    assert said(told, "a-day").verdict == verdict


@pytest.mark.parametrize(
    ("poured_l", "verdict"), [("7.999", "holds"), ("8", "holds"), ("8.001", "fails")]
)
def test_what_was_poured_today_counts_with_what_is_to_go(poured_l, verdict):
    """Ropewalk's letter, invented: of alum 20 L a day; 12 L are to go."""
    before = Tally(
        what="poured",
        waste="alum_bath",
        outlet="sewer",
        on=TODAY,
        volume_ml=Fraction(poured_l) * 1000,
    )
    told = decided(bath(strip("7"), area=AT_ROPEWALK, tallies=(before,)), ROPEWALK)

    assert said(told, "alum-a-day").verdict == verdict


def test_what_went_another_way_or_another_day_does_not_count():
    """Another drain, another waste, yesterday."""
    poured = Tally(
        what="poured", waste="alum_bath", outlet="sewer", on=TODAY, volume_ml=Fraction(9_000)
    )
    others = (
        replace(poured, outlet="hauled"),
        replace(poured, waste="size"),
        replace(poured, on=TODAY - timedelta(days=1)),
        replace(poured, what="hazardous_made"),
    )
    told = decided(bath(strip("7"), area=AT_ROPEWALK, tallies=others), ROPEWALK)

    assert said(told, "alum-a-day").total == 12_000


MEAN = """id = "copper-a-day"
kind = "LIMIT"
outlets = ["sewer"]
quantity = "mass_per_volume"
of = "copper"
holds_if = "at_most"
high = 1.0
unit = "mg_per_l"
span = "day"
readings_min = 2
"""


def test_the_mean_of_a_day_needs_its_readings():
    """Two grabs at 0.5 and 1.4 mg/L are 0.95 in the mean; one of them is no mean."""
    some = pack(MEAN)
    both = bath(metal("copper", "0.5", ago_h=2), metal("copper", "1.4", ago_h=1))
    one = bath(metal("copper", "0.5"))
    yesterday = bath(metal("copper", "0.5"), metal("copper", "1.4", ago_h=20))

    assert said(decided(both, some), "copper-a-day").verdict == "holds"
    assert said(decided(one, some), "copper-a-day").verdict == "unknown"
    assert said(decided(one, some), "copper-a-day").why == "too-few-readings"
    assert said(decided(yesterday, some), "copper-a-day").why == "too-few-readings"
