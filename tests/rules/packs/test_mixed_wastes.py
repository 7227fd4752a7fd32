"""Several wastes in one jar: each is judged, and the strictest of all of it is the answer."""

from dataclasses import replace

from coop.rules.packs.decisions import freeze, thaw
from coop.rules.packs.evaluation import replay
from tests.rules.packs.at_hand import bath, decided, pack, permission, ph, said

ALUM = 'id = "alum"\nkind = "LIMIT"\noutlets = ["sewer"]\nwastes = ["alum_bath"]\n'
ALUM += 'quantity = "ph"\nholds_if = "at_least"\nlow = 6\nunit = "ph"'
RINSE = 'id = "rinse"\nkind = "LIMIT"\noutlets = ["sewer"]\nwastes = ["rinse_water"]\n'
RINSE += 'quantity = "yes_no"\nof = "lumps"\nholds_if = "is"\nvalue = "no"\n'
RINSE += 'steps = ["strain_through_cloth"]'
LETTER = pack(ALUM, RINSE)
WATER = bath(waste="rinse_water")
MIXED = replace(WATER, mixed_with=("alum_bath",))


def test_thin_water_over_an_alum_bath_is_still_an_alum_bath():
    assert decided(WATER, LETTER).outcome == "after_steps"
    assert decided(MIXED, LETTER).outcome == "measure_first"
    assert (
        decided(
            replace(bath(ph("3"), waste="rinse_water"), mixed_with=("alum_bath",)), LETTER
        ).outcome
        == "not_yet"
    )


def test_what_each_asks_to_be_done_is_asked_of_both():
    told = decided(replace(bath(ph("7")), mixed_with=("rinse_water",)), LETTER)

    assert told.outcome == "after_steps"
    assert told.steps == ("strain_through_cloth",)
    assert said(told, "alum").verdict == "holds"


def test_a_waste_of_which_no_rule_speaks_is_asked_about():
    told = decided(replace(WATER, mixed_with=("paste",)), LETTER)

    assert said(told, "local-rule").why == "local-pack-silent"


def test_a_no_to_one_of_them_is_a_no_to_both_and_all_conditions_are_told():
    no = (permission(), permission("no", about="alum_bath"))
    some = (
        permission("with_conditions", about="alum_bath", conditions="cold"),
        permission("with_conditions", about="rinse_water", conditions="thin"),
    )

    assert decided(replace(MIXED, permissions=no), LETTER).outcome == "not_down_here"
    assert decided(replace(MIXED, permissions=some), LETTER).conditions == "thin; cold"


def test_what_was_decided_of_a_mixture_is_kept_and_comes_out_the_same():
    told = decided(MIXED, LETTER)

    assert thaw(freeze(told)) == told
    assert replay(told, {LETTER.digest: LETTER}) == told
