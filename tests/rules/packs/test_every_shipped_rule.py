"""
Every rule of the shipped packs, at its line and on either side of it.

Federal figures as each rule's own mark says, those of Ropewalk and of the Barn are invented.
District A, and what is not here of the federal classes, stand with the boundaries, totals and
clocks.
"""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from typing import NamedTuple

import pytest

from coop.rules.packs.decisions import Decision
from coop.rules.packs.facts import Facts, Start, Tally
from coop.rules.packs.schema import Pack
from tests.rules.packs.at_hand import (
    BARN,
    FLOOR,
    ROPEWALK,
    TODAY,
    WASTE,
    bath,
    decided,
    look,
    metal,
    ph,
    read,
    said,
    stating,
)

SILENT = "silent"


class Line(NamedTuple):
    """What is known, and what a rule says of it; silent where it has no cause to speak."""

    pack: Pack
    rule: str
    facts: Facts
    verdict: str


def at_ropewalk(*readings, waste="alum_bath", volume_l="12"):
    return bath(
        *(readings or (ph("7"),)),
        waste=waste,
        area=("us", "ropewalk"),
        volume_ml=Fraction(volume_l) * 1000,
    )


def tagged(facts: Facts, tag: str) -> Facts:
    return stating(facts, tags=tag)


def warm(n: str, unit: str = "celsius") -> Facts:
    return bath(ph("7"), read("temperature", n, unit))


def flashing(n: str) -> Facts:
    return tagged(bath(ph("7"), read("flash_point", n, "celsius")), "flammable")


def thick(waste: str, runs: str) -> Facts:
    return bath(ph("7"), look("runs", runs), waste=waste)


def to(outlet: str, area: tuple[str, ...] = ("us",), **stated: str) -> Facts:
    return stating(bath(ph("7"), outlet=outlet, area=area), **stated)


GOOD = bath(ph("7"))
LUMPY = bath(ph("7"), look("lumps", "yes"))
RINSE = at_ropewalk(waste="rinse_water")
METAL = stating(RINSE, metal_pigments="yes")
AT_BARN = ("us", "orchard-barn")

LINES = (
    Line(FLOOR, "sewer-flash-point", flashing("59.99"), "fails"),
    Line(FLOOR, "sewer-flash-point", flashing("60"), "holds"),
    Line(FLOOR, "sewer-flash-point", flashing("60.01"), "holds"),
    Line(FLOOR, "sewer-ph", bath(ph("4.99")), "fails"),
    Line(FLOOR, "sewer-ph", bath(ph("5")), "holds"),
    Line(FLOOR, "sewer-ph", bath(ph("5.01")), "holds"),
    Line(FLOOR, "sewer-lumps", LUMPY, "fails"),
    Line(FLOOR, "sewer-lumps", GOOD, "holds"),
    Line(FLOOR, "sewer-thickness", thick("size", "no"), "fails"),
    Line(FLOOR, "sewer-thickness", thick("size", "yes"), "holds"),
    Line(FLOOR, "sewer-thickness", thick("paste", "no"), "fails"),
    Line(FLOOR, "sewer-thickness", thick("alum_bath", "no"), SILENT),
    Line(FLOOR, "plant-heat", warm("39.99"), "holds"),
    Line(FLOOR, "plant-heat", warm("40"), "holds"),
    Line(FLOOR, "plant-heat", warm("40.01"), "fails"),
    Line(FLOOR, "plant-heat", warm("104", "fahrenheit"), "holds"),
    Line(FLOOR, "plant-heat", warm("104.1", "fahrenheit"), "fails"),
    Line(FLOOR, "sewer-mineral-oil", tagged(GOOD, "mineral_oil"), "fails"),
    Line(FLOOR, "sewer-mineral-oil", tagged(GOOD, "irritant"), SILENT),
    Line(FLOOR, "sewer-gas", tagged(GOOD, "gives_gas"), "fails"),
    Line(FLOOR, "sewer-gas", tagged(GOOD, "irritant"), SILENT),
    Line(FLOOR, "hauled", to("hauled"), "fails"),
    Line(FLOOR, "hauled", GOOD, SILENT),
    Line(FLOOR, "septic-sanitary-only", to("septic"), "fails"),
    Line(FLOOR, "septic-sanitary-only", to("septic", premises="household"), SILENT),
    Line(FLOOR, "storm-and-ground", to("storm"), "fails"),
    Line(FLOOR, "storm-and-ground", to("ground"), "fails"),
    Line(FLOOR, "storm-and-ground", to("storm", premises="household"), "fails"),
    Line(FLOOR, "storm-and-ground", GOOD, SILENT),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("5.99")), "fails"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("6")), "holds"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("6.01")), "holds"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("9.99")), "holds"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("10")), "holds"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("10.01")), "fails"),
    Line(ROPEWALK, "alum-ph", at_ropewalk(ph("3.4"), waste="size"), SILENT),
    Line(ROPEWALK, "alum-a-day", at_ropewalk(volume_l="19.999"), "holds"),
    Line(ROPEWALK, "alum-a-day", at_ropewalk(volume_l="20"), "holds"),
    Line(ROPEWALK, "alum-a-day", at_ropewalk(volume_l="20.001"), "fails"),
    Line(ROPEWALK, "size-runs", at_ropewalk(look("runs", "no"), waste="size"), "fails"),
    Line(ROPEWALK, "size-runs", at_ropewalk(look("runs", "yes"), waste="size"), "holds"),
    Line(ROPEWALK, "size-a-day", at_ropewalk(waste="size", volume_l="59.999"), "holds"),
    Line(ROPEWALK, "size-a-day", at_ropewalk(waste="size", volume_l="60"), "holds"),
    Line(ROPEWALK, "size-a-day", at_ropewalk(waste="size", volume_l="60.001"), "fails"),
    Line(ROPEWALK, "size-a-day", at_ropewalk(volume_l="61"), SILENT),
    Line(ROPEWALK, "rinse-lumps", RINSE, "holds"),
    Line(
        ROPEWALK,
        "rinse-lumps",
        at_ropewalk(look("lumps", "yes"), waste="rinse_water"),
        "fails",
    ),
    Line(ROPEWALK, "rinse-metals", METAL, "fails"),
    Line(ROPEWALK, "rinse-metals", RINSE, SILENT),
    Line(ROPEWALK, "rinse-metals", replace(METAL, waste="size"), SILENT),
    Line(BARN, "nothing-from-marbling", to("septic", AT_BARN), "fails"),
    Line(BARN, "nothing-from-marbling", to("septic", AT_BARN, premises="household"), "fails"),
    Line(BARN, "nothing-from-marbling", to("jar", AT_BARN), SILENT),
)


def heard(decision: Decision, rule: str) -> str:
    found = [one.verdict for one in decision.spoken if one.rule == rule]
    return found[0] if found else SILENT


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.rule}-{line.verdict}")
def test_a_rule_turns_at_its_line_and_nowhere_else(line):
    assert heard(decided(line.facts, line.pack), line.rule) == line.verdict


@pytest.mark.parametrize("pack", [FLOOR, ROPEWALK, BARN], ids=lambda pack: pack.id)
def test_no_rule_of_these_packs_is_left_out_and_each_is_seen_to_turn(pack):
    """A rule that is added to a pack has to be put into the table above."""
    verdicts: dict[str, set[str]] = {rule.id: set() for rule in pack.rules}
    for line in LINES:
        if line.pack is pack:
            verdicts[line.rule].add(line.verdict)

    assert [rule for rule, both in verdicts.items() if "fails" not in both] == []
    assert [rule for rule, both in verdicts.items() if len(both) < 2] == []


@pytest.mark.parametrize(
    ("facts", "outcome"),
    [
        (tagged(GOOD, "mineral_oil"), "ask_first"),
        (tagged(GOOD, "gives_gas"), "not_down_here"),
        (to("hauled"), "ask_first"),
        (bath(ph("7"), look("runs", "no"), waste="paste"), "not_yet"),
    ],
)
def test_what_the_floor_forbids_without_a_figure_is_asked_or_is_not_for_here(facts, outcome):
    """40 CFR 403.5(b)(3), (6), (7) and (8), read: how much is too much only the works say."""
    assert decided(facts, FLOOR).outcome == outcome


@pytest.mark.parametrize("reading", [ph("3.4"), read("flash_point", "20", "celsius")])
def test_the_floor_of_sewers_is_silent_about_a_household(reading):
    """40 CFR 403.5, read, binds all but domestic users; somebody is still asked."""
    home = tagged(stating(bath(reading), premises="household"), "flammable")
    told = decided(home, FLOOR)

    assert {one.verdict for one in told.spoken if one.pack == FLOOR.id} == set()
    assert told.outcome == "ask_first"


# Classes, clocks and labels of the federal waste rules


def spirit(*, flash: str = "20", alcohol: str = "30", water: str = "60") -> Facts:
    return tagged(
        bath(
            ph("7"),
            read("flash_point", flash, "celsius"),
            read("volume_fraction", alcohol, "percent_by_volume", of="alcohol"),
            read("mass_fraction", water, "percent_by_mass", of="water"),
            waste="colour_rinse",
        ),
        "flammable",
    )


@pytest.mark.parametrize(
    ("rule", "facts", "verdict"),
    [
        ("little-alcohol", spirit(alcohol="23.99"), "holds"),
        ("little-alcohol", spirit(alcohol="24"), "fails"),
        ("little-alcohol", spirit(alcohol="24.01"), "fails"),
        ("mostly-water", spirit(water="49.99"), "fails"),
        ("mostly-water", spirit(water="50"), "holds"),
        ("mostly-water", spirit(water="50.01"), "holds"),
        ("ignitable", spirit(flash="59.99"), "holds"),
        ("ignitable", spirit(flash="60"), "fails"),
        ("ignitable", spirit(flash="60.01"), "fails"),
    ],
)
def test_an_ignitable_waste_turns_on_three_figures(rule, facts, verdict):
    """40 CFR 261.21(a)(1), read; water from 50 % by mass recalled (85 FR 40594)."""
    assert heard(decided(facts, WASTE), rule) == verdict


def test_the_alcohol_of_a_recipe_counts_as_its_most():
    """A cup of spirit in a litre is no more than so much, whatever has evaporated since."""
    most = read("volume_fraction", "23.9", "percent_by_volume", of="alcohol", how="reckoned")
    little = replace(most, low=Fraction(0), device="")
    kept = [one for one in spirit().readings if one.of != "alcohol"]
    weak = replace(spirit(), readings=(*kept, little))

    assert heard(decided(weak, WASTE), "little-alcohol") == "holds"
    assert ("waste_code", "D001") not in decided(weak, WASTE).classes


def of_month(kg: str, *more: Tally, area: str = "central", starts=()) -> Facts:
    made = Tally(
        what="hazardous_made", waste="colour_rinse", on=TODAY, mass_g=Fraction(kg) * 1000
    )
    jar = bath(ph("1"), waste="colour_rinse", outlet="jar", shown=(), starts=starts)
    return stating(replace(jar, tallies=(made, *more)), jar_area=area)


def on_hand(kg: str) -> Tally:
    held = Fraction(kg) * 1000
    return Tally(what="hazardous_on_hand", waste="colour_rinse", on=TODAY, mass_g=held)


@pytest.mark.parametrize(
    ("kg", "verdict"), [("5999.999", "holds"), ("6000", "holds"), ("6000.001", "fails")]
)
def test_a_small_generator_has_so_much_on_hand_and_no_more(kg, verdict):
    """40 CFR 262.16(b)(1), recalled: 6,000 kg at any time."""
    assert heard(decided(of_month("200", on_hand(kg)), WASTE), "small-on-hand") == verdict


@pytest.mark.parametrize(
    ("rule", "kg", "event", "days", "verdict"),
    [
        ("central-large", "1000", "first_drop", 89, "holds"),
        ("central-large", "1000", "first_drop", 90, "holds"),
        ("central-large", "1000", "first_drop", 91, "fails"),
        ("central-large", "999", "first_drop", 91, SILENT),
        ("very-small-over-1000-kg", "50", "over_1000_kg", 179, "holds"),
        ("very-small-over-1000-kg", "50", "over_1000_kg", 180, "holds"),
        ("very-small-over-1000-kg", "50", "over_1000_kg", 181, "fails"),
        ("very-small-over-1000-kg", "101", "over_1000_kg", 181, SILENT),
    ],
)
def test_the_clock_of_a_category_is_over_the_day_after_its_last(rule, kg, event, days, verdict):
    """40 CFR 262.17(a) and 262.14(a)(4), read in state texts: 90 and 180 days."""
    started = Start(event=event, on=TODAY - timedelta(days=days))

    assert heard(decided(of_month(kg, starts=(started,)), WASTE), rule) == verdict


def test_a_satellite_jar_shows_two_things_and_its_day_only_later():
    """40 CFR 262.15(a)(5), recalled; the day once 55 gallons are passed."""
    jar = of_month("200", area="satellite")

    assert said(decided(jar, WASTE), "label-satellite").shows == ("hazard", "hazardous_waste")
    assert heard(decided(jar, WASTE), "label-central") == SILENT
    labelled = replace(jar, shown=("hazardous_waste", "hazard"))
    assert heard(decided(labelled, WASTE), "label-satellite") == "holds"


@pytest.mark.parametrize(("kg", "years"), [("100", []), ("100.001", [3]), ("1000", [3])])
def test_a_determination_is_kept_three_years_from_the_second_category_on(kg, years):
    """40 CFR 262.11(f) and 262.40(a), recalled."""
    told = decided(of_month(kg), WASTE)

    assert [one.keep_years for one in told.spoken if one.rule == "keep-determinations"] == years


@pytest.mark.parametrize("code", ["copper", "zinc", "nickel", "cobalt", "aluminium", "boron"])
def test_a_metal_in_no_federal_list_makes_no_federal_waste(code):
    """40 CFR 261.24, read, has none of them: a local limit alone can catch them."""
    much = stating(bath(ph("7"), metal(code, "9000", basis="leached")), metal_pigments="yes")

    assert decided(much, WASTE).classes == ()
