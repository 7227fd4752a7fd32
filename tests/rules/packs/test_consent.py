"""Nothing better than "ask first" without a local rule that was read and somebody's yes."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from tests.rules.packs.at_hand import (
    BARN,
    DISTRICT_A,
    FLOOR,
    ROPEWALK,
    bath,
    decided,
    look,
    pack,
    permission,
    ph,
    said,
    stating,
    strip,
)

PH = 'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\nholds_if = "at_least"\n'
PH += 'low = 6\nunit = "ph"'
GOOD = bath(ph("7"))


@pytest.mark.parametrize("tier", ["district", "site_permit"])
def test_a_local_pack_that_was_read_and_a_yes_open_the_drain(tier):
    assert decided(GOOD, pack(PH, tier=tier, evidence="read")).outcome == "nothing_forbids"


@pytest.mark.parametrize("tier", ["floor", "region", "house"])
def test_no_other_tier_opens_it(tier):
    told = decided(GOOD, pack(PH, tier=tier, evidence="read"))

    assert told.outcome == "ask_first"
    assert said(told, "local-rule").why == "no-local-pack"


@pytest.mark.parametrize(("demo", "outcome"), [(True, "nothing_forbids"), (False, "ask_first")])
def test_invented_figures_count_in_a_demo_alone(demo, outcome):
    """A pack that came in some other way than by a file is held back here too."""
    assert decided(GOOD, pack(PH), demo=demo).outcome == outcome


@pytest.mark.parametrize("demo", [True, False])
def test_recalled_figures_never_count(demo):
    told = decided(GOOD, pack(PH, evidence="recalled"), demo=demo)

    assert told.outcome == "ask_first"
    assert [one.rule for one in told.recalled] == ["ph"]


def test_a_local_pack_that_says_nothing_of_a_waste_leaves_it_to_be_asked():
    """Ropewalk's letter speaks of alum, size and rinse water; paste is another thing."""
    paste = bath(ph("7"), waste="paste", area=("us", "ropewalk"))
    told = decided(paste, ROPEWALK)

    assert told.outcome == "ask_first"
    assert said(told, "local-rule").why == "local-pack-silent"


def test_advice_about_the_plant_is_not_speaking_of_the_sink():
    heat = (
        'id = "heat"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "temperature"\n'
        'holds_if = "at_most"\nhigh = 40\nunit = "celsius"\npoint = "plant_inlet"'
    )

    assert said(decided(GOOD, pack(heat)), "local-rule").why == "local-pack-silent"


@pytest.mark.parametrize(
    ("said_so", "outcome"),
    [
        (("yes",), "nothing_forbids"),
        (("with_conditions",), "after_steps"),
        (("no",), "not_down_here"),
        (("yes", "no"), "not_down_here"),
        ((), "ask_first"),
    ],
)
def test_what_they_said_decides(said_so, outcome):
    """Of two answers on one day the stricter one stands."""
    asked = replace(GOOD, permissions=tuple(permission(one) for one in said_so))

    assert decided(asked, DISTRICT_A).outcome == outcome


def test_the_newest_answer_stands_and_its_conditions_are_shown():
    asked = replace(
        GOOD,
        permissions=(
            permission("no", asked_on=date(2026, 3, 1)),
            permission("with_conditions", conditions="in the morning"),
        ),
    )
    told = decided(asked, DISTRICT_A)

    assert (told.outcome, told.conditions) == ("after_steps", "in the morning")


@pytest.mark.parametrize(
    "other",
    [
        {"about": "size"},
        {"outlet": "septic"},
        {"asked_on": date(2026, 11, 28)},
    ],
)
def test_an_answer_about_something_else_is_none(other):
    """About the size, the other drain, or given tomorrow."""
    asked = replace(GOOD, permissions=(permission(**other),))

    assert decided(asked, DISTRICT_A).outcome == "ask_first"


def test_a_jug_nobody_knows_stays_in_its_jar_whatever_the_figures():
    """It waits for a person who vouches for it, not for a reading."""
    jug = replace(GOOD, waste="not_known")

    assert decided(jug, DISTRICT_A).outcome == "keep_in_jar"
    assert decided(replace(jug, outlet="jar")).outcome == "keep_in_jar", (
        "no shared jar takes it"
    )


def test_a_pack_past_its_review_is_told_of_and_still_speaks():
    """A year after it was checked, or on the day somebody set."""
    on = date(2027, 9, 1)
    (due,) = decided(GOOD, DISTRICT_A, day=on).packs
    (fresh,) = decided(GOOD, DISTRICT_A).packs

    assert (fresh.review_due, due.review_due) == (False, True)


def test_a_later_edition_speaks_from_its_day_and_the_earlier_one_before():
    """The day of the pouring counts, not the day of writing it down."""
    stricter = PH.replace("low = 6", "low = 8")
    both = (pack(PH, edition=1), pack(stricter, edition=2))

    assert decided(GOOD, *both).outcome == "not_yet"
    assert [one.edition for one in decided(GOOD, *both).packs] == [2]
    with pytest.raises(ValueError, match="two packs of edition 1"):
        decided(GOOD, pack(PH), pack(stricter))


@pytest.mark.parametrize(
    ("day", "packs"), [(date(2025, 12, 31), 0), (date(2026, 1, 1), 1), (date(2026, 11, 26), 1),
                       (date(2026, 11, 27), 0)],
)  # fmt: skip
def test_a_pack_that_ran_out_opens_no_drain(day, packs):
    """The day it is valid until is the first day without it."""
    until = replace(DISTRICT_A, valid_until=date(2026, 11, 27))

    assert len(decided(GOOD, until, day=day).packs) == packs


AT_ROPEWALK = ("us", "ropewalk")


def test_ropewalk_takes_its_three_wastes_after_their_steps():
    """The letter, invented: alum and rinse strained, size strained and thinned."""
    alum = bath(strip("7"), area=AT_ROPEWALK)
    size = bath(ph("7"), waste="size", area=AT_ROPEWALK, volume_ml=Fraction(60_000))
    rinse = bath(ph("7"), waste="rinse_water", area=AT_ROPEWALK)

    assert decided(alum, FLOOR, ROPEWALK).steps == ("strain_through_cloth", "solids_stay_out")
    assert decided(size, FLOOR, ROPEWALK).steps == (
        "strain_through_cloth",
        "thin_until_it_runs",
    )
    assert decided(rinse, FLOOR, ROPEWALK).steps == ("strain_through_cloth",)
    assert {decided(one, FLOOR, ROPEWALK).outcome for one in (alum, size, rinse)} == {
        "after_steps"
    }


def test_ropewalk_takes_no_rinse_with_metal_in_it_and_no_day_over_60_litres_of_size():
    rinse = stating(
        bath(ph("7"), waste="rinse_water", area=AT_ROPEWALK), metal_pigments="yes"
    )  # fmt: skip
    size = bath(ph("7"), waste="size", area=AT_ROPEWALK, volume_ml=Fraction(60_001))

    assert decided(rinse, FLOOR, ROPEWALK).outcome == "not_down_here"
    assert decided(size, FLOOR, ROPEWALK).outcome == "not_yet"


def test_thick_size_is_thinned_with_water_and_that_is_no_dilution():
    """Thickness is what water treats; a pH or a concentration it only hides."""
    thick = bath(ph("7"), look("runs", "no"), waste="size", area=AT_ROPEWALK)
    told = decided(replace(thick, adding=("water",), contents=("other",)), FLOOR, ROPEWALK)

    assert told.outcome == "not_yet"
    assert {one.why for one in told.spoken} & {"diluted"} == set()


def test_the_barn_takes_nothing_from_marbling():
    for waste in ("alum_bath", "size", "rinse_water", "colour_rinse"):
        tank = bath(ph("7"), waste=waste, outlet="septic", area=("us", "orchard-barn"))
        assert decided(tank, FLOOR, BARN).outcome == "not_down_here"


def class_of(id, fact, other):
    return (
        f'id = "{id}"\nkind = "CLASSIFY"\noutlets = ["sewer"]\nsets = {{ {fact} = "yes" }}\n'
        f'when = {{ fact = "{other}", op = "is_not", value = "yes" }}'
    )


def test_what_is_circular_stays_unknown_and_what_hangs_on_it_is_asked():
    """Neither of two classes that exclude one another is picked by the order of lines."""
    ban = (
        'id = "ban"\nkind = "BAN"\noutlets = ["sewer"]\n'
        'when = { fact = "one", op = "is", value = "yes" }'
    )
    told = decided(GOOD, pack(class_of("a", "one", "two"), class_of("b", "two", "one"), ban))

    assert {said(told, rule).verdict for rule in ("a", "b", "ban")} == {"unknown"}
    assert told.outcome == "ask_first"


def test_a_pack_does_not_see_what_another_classifies():
    """Else one could lift the other's rule by a name they have in common."""
    sets = 'id = "sets"\nkind = "CLASSIFY"\noutlets = ["sewer"]\nsets = { small = "yes" }'
    never = (
        'id = "sets"\nkind = "CLASSIFY"\noutlets = ["sewer"]\nsets = { small = "yes" }\n'
        'when = { fact = "premises", op = "is", value = "household" }'
    )
    ban = (
        'id = "ban"\nkind = "BAN"\noutlets = ["sewer"]\n'
        'when = { fact = "small", op = "is_not", value = "yes" }'
    )

    assert decided(GOOD, pack(sets, ban)).outcome == "ask_first"
    assert decided(GOOD, pack(never, ban), pack(sets, id="b-pack")).outcome == "not_down_here"
